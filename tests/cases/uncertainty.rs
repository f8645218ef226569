//! The first-order interval of a zone's conductivity ratio against a Monte Carlo of the whole heat balance (JCGM 101): the
//! sheet's values, the camera's contrast and the film drawn from their stated spreads, nothing linear assumed.

use coldjacket::assess::Extent;
use coldjacket::assess::inputs::{COVERAGE_95, Inputs, Quantity};
use coldjacket::batch::{self, Run};
use coldjacket::clock::Clock;
use coldjacket::inspect::FrameReport;
use coldjacket::rank::Ranked;
use coldjacket::record::Survey;
use coldjacket::record::staging::Staging;
use coldjacket::register::{self, Register};
use coldjacket::settings::Settings;
use coldjacket::statistic;
use coldjacket_simulator::random::Prng;

use super::command::samples;

/// Draws a zone: the ends of a 95 % interval are then known to about 0.02 standard uncertainties.
const DRAWS: usize = 20_000;
const SEED: u64 = 20_260_303;
/// Standard uncertainty of the film at one place against the body's mean, as a share of the contrast: as stated in `assess`.
const LOCAL_FILM: f64 = 0.05;
/// Standard uncertainty of what sideways conduction takes from the contrast of a zone as wide as its insulation is thick, as a
/// share of it, and the most it is: as stated in `assess`.
const SIDEWAYS: f64 = 0.15;
const MOST_SIDEWAYS: f64 = 0.18;
/// Standard uncertainty for what the sound jacket about the zone departs from the rest by, as a share of the contrast, where
/// that departure is large against its own distance from the air: as stated in `assess`.
const UNEVEN: f64 = 0.6;
/// Most by which either end of the interval may differ, in standard uncertainties of ln ratio. JCGM
/// 101 clause 8.1 (from memory, not confirmed) takes half a unit of the last significant digit of the standard uncertainty,
/// one digit being enough here: for 0.04 to 0.09, as these are, that is 0.06 to 0.12 of it; the draws add 0.02.
const TOLERANCE: f64 = 0.15;
/// Nearness of a zone to the dew point, K, within which that is not asked. There the balance bends, because moisture starts
/// to condense on the zone (the dew point itself is known to about half a kelvin), and no first-order interval can follow a
/// bend: an end may lie a third of a standard uncertainty off.
const NEAR_DEW_K: f64 = 1.0;
/// Share of the draws that every interval must hold all the same.
const CONTENT: std::ops::RangeInclusive<f64> = 0.93..=0.98;

fn survey(register: &Register) -> Survey {
    let room = tempfile::tempdir().unwrap();
    let staging = Staging::begin(&room.path().join("out"), &samples()).unwrap();
    batch::run(&Run {
        folder: &samples(),
        register,
        settings: &Settings::default(),
        look: None,
        shots: None,
        staging: &staging,
        progress: &|_| {},
        watch: &|_| {},
        given: None,
        kept: None,
        clock: &Clock::default(),
    })
    .unwrap()
    .whole()
    .unwrap()
}

/// ln ratio, drawn.
fn draws(zone: &Ranked, survey: &Survey, register: &Register, prng: &mut Prng) -> Vec<f64> {
    let frame = zone.sightings[0].frame;
    let row = &register.frames[frame];
    let asset = &register.assets[row.asset];
    let stated = Inputs::new(asset, &row.conditions, register.site.barometer_kpa.value);
    let spread = stated.standard_uncertainties(asset, &row.conditions, &register.uncertainty);
    let seen = &zone.finding.zone;
    let width_m = seen.area_m2 / seen.length_m.max(seen.arc_m);
    let sideways = (SIDEWAYS * stated.get(Quantity::Thickness) / width_m).min(MOST_SIDEWAYS);
    let uneven = uneven(zone, &survey.frames[frame], stated.get(Quantity::Air));
    let one = |prng: &mut Prng| {
        let inputs = (0..Inputs::COUNT).fold(stated, |inputs, k| inputs.moved(k, spread[k] * prng.normal()));
        // The same emissivity that enters the balance stretches what the camera read.
        let stretch = stated.get(Quantity::Emissivity) / inputs.get(Quantity::Emissivity);
        let film = 1.0 + LOCAL_FILM * prng.normal();
        let width = 1.0 + sideways * prng.normal();
        let about = 1.0 + uneven * prng.normal();
        let contrast_k = seen.peak_contrast_k * stretch * film * width * about + seen.contrast_u_k * prng.normal();
        let surface_c = inputs.surface_c(1.0).unwrap() + contrast_k;
        let ratio = inputs.conductivity_w_mk(surface_c).unwrap() / inputs.dry_w_mk(surface_c);
        ratio.max(1e-3).ln()
    };
    (0..DRAWS).map(|_| one(prng)).collect()
}

/// The share for an uneven jacket. Every asset of the samples is colder than the air: metal that no liquid wets shows warm.
fn uneven(zone: &Ranked, report: &FrameReport, air_c: f64) -> f64 {
    let (seen, about_c) = (report.seen.unwrap(), zone.finding.zone.sound_c);
    let off_k = f64::max((about_c - seen.sound_c).abs(), about_c - seen.sound_reach_c[0]);
    let sound_k = air_c - report.expected_sound.unwrap().0;
    UNEVEN * off_k / (off_k + sound_k)
}

/// A first-order interval beside the draws.
struct Comparison {
    /// How far the draws' 2.5 and 97.5 % lie from the interval's ends, in its standard uncertainties.
    off: [f64; 2],
    /// Share of the draws within it.
    content: f64,
}

impl Comparison {
    fn of(interval: [f64; 2], mut draws: Vec<f64>) -> Self {
        let [low, high] = interval.map(f64::ln);
        let standard = (high - low) / (2.0 * COVERAGE_95);
        let within = draws.iter().filter(|log| (low..=high).contains(*log)).count();
        let mut off = |pct, end| (statistic::percentile(&mut draws, pct).unwrap() - end) / standard;
        Self {
            off: [off(2.5, low), off(97.5, high)],
            content: within as f64 / DRAWS as f64,
        }
    }

    fn agrees(&self, away_from_dew_k: f64) -> bool {
        let close = self.off.iter().all(|end| end.abs() <= TOLERANCE);
        (close || away_from_dew_k < NEAR_DEW_K) && CONTENT.contains(&self.content)
    }
}

/// How far a zone's surface, reckoned from sound jacket as expected, lies from the frame's dew point, K.
fn away_from_dew_k(zone: &Ranked, survey: &Survey) -> f64 {
    let report = &survey.frames[zone.sightings[0].frame];
    let surface_c = report.expected_sound.unwrap().0 + zone.finding.zone.peak_contrast_k;
    (surface_c - report.dew_point_c.unwrap()).abs()
}

#[test]
fn first_order_intervals_agree_with_a_monte_carlo() {
    let register = register::open(&samples()).unwrap();
    let survey = survey(&register);
    let wet_all_over: Vec<usize> = survey
        .zones
        .iter()
        .filter(|z| z.finding.extent == Extent::General)
        .map(|z| z.asset)
        .collect();
    let mut prng = Prng::new(SEED);
    let (mut compared, mut apart) = (0, Vec::new());
    for zone in survey.zones.iter().filter(|z| !wet_all_over.contains(&z.asset)) {
        let finding = &zone.finding;
        if finding.cause.is_set_aside() || finding.ratio <= 1.0 {
            continue;
        }
        let interval = finding.ratio_interval;
        let found = Comparison::of(interval, draws(zone, &survey, &register, &mut prng));
        let away_k = away_from_dew_k(zone, &survey);
        println!(
            "{}: ratio {:.2} [{:.2}, {:.2}], {away_k:.1} K from the dew point; holds {:.3} of the draws, ends off by {:+.2?} u",
            zone.id, finding.ratio, interval[0], interval[1], found.content, found.off
        );
        if !found.agrees(away_k) {
            apart.push(format!(
                "{}: ends off by {:?} u, content {}",
                zone.id, found.off, found.content
            ));
        }
        compared += usize::from(away_k >= NEAR_DEW_K);
    }
    assert!(apart.is_empty(), "{apart:#?}");
    assert!(compared >= 5, "only {compared} zones away from the dew point");
}
