//! The first-order interval of a zone's conductivity ratio against a Monte Carlo of the whole heat balance (JCGM 101): the
//! sheet's values, the camera's contrast and the film drawn from their stated spreads, nothing linear assumed.

use coldjacket::assess::Extent;
use coldjacket::assess::inputs::{COVERAGE_95, Inputs, Quantity};
use coldjacket::batch::{self, Run};
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
/// Most by which either end of the interval may differ, in standard uncertainties of ln ratio. JCGM 101 clause 8.1 (from
/// memory, not confirmed) takes half a unit of the last of one or two significant digits of the standard uncertainty, which
/// is between 0.005 and 0.5 of it: a quarter lies between. It moves the coverage of an end by about one part in a hundred.
const TOLERANCE: f64 = 0.25;

fn survey(register: &Register) -> Survey {
    let room = tempfile::tempdir().unwrap();
    let staging = Staging::begin(&room.path().join("out"), &samples()).unwrap();
    batch::run(&Run {
        folder: &samples(),
        register,
        settings: &Settings::default(),
        look: None,
        staging: &staging,
        progress: &|_| {},
    })
    .unwrap()
}

/// Quantiles 2.5 % and 97.5 % of ln ratio over the draws.
fn drawn(zone: &Ranked, register: &Register, prng: &mut Prng) -> [f64; 2] {
    let row = &register.frames[zone.sightings[0].frame];
    let asset = &register.assets[row.asset];
    let stated = Inputs::new(asset, &row.conditions, register.site.barometer_kpa.value);
    let spread = stated.standard_uncertainties(asset, &row.conditions, &register.uncertainty);
    let seen = &zone.finding.zone;
    let mut logs: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let inputs = (0..Inputs::COUNT).fold(stated, |inputs, k| inputs.moved(k, spread[k] * prng.normal()));
            // The same emissivity that enters the balance stretches what the camera read.
            let stretch = stated.get(Quantity::Emissivity) / inputs.get(Quantity::Emissivity);
            let film = 1.0 + LOCAL_FILM * prng.normal();
            let contrast_k = seen.peak_contrast_k * stretch * film + seen.contrast_u_k * prng.normal();
            let surface_c = inputs.surface_c(1.0).unwrap() + contrast_k;
            let ratio = inputs.conductivity_w_mk(surface_c).unwrap() / inputs.dry_w_mk(surface_c);
            ratio.max(1e-3).ln()
        })
        .collect();
    [2.5, 97.5].map(|pct| statistic::percentile(&mut logs, pct).unwrap())
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
    let mut compared = 0;
    for zone in survey.zones.iter().filter(|z| !wet_all_over.contains(&z.asset)) {
        let finding = &zone.finding;
        if finding.cause.is_set_aside() || finding.ratio <= 1.0 {
            continue;
        }
        let linear = finding.ratio_interval.map(f64::ln);
        let standard = (linear[1] - linear[0]) / (2.0 * COVERAGE_95);
        let draws = drawn(zone, &register, &mut prng);
        let off = [0, 1].map(|end| (draws[end] - linear[end]) / standard);
        println!(
            "{}: ratio {:.2}, 95 % [{:.2}, {:.2}] first order, [{:.2}, {:.2}] drawn; ends off by {:+.2} and {:+.2} u",
            zone.id,
            finding.ratio,
            finding.ratio_interval[0],
            finding.ratio_interval[1],
            draws[0].exp(),
            draws[1].exp(),
            off[0],
            off[1]
        );
        assert!(off.iter().all(|end| end.abs() <= TOLERANCE), "{}: {off:?}", zone.id);
        compared += 1;
    }
    assert!(compared >= 5, "only {compared} zones compared");
}
