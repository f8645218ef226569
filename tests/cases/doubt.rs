//! Where it is doubtful that the outline is the asset's.

use coldjacket::assess::Extent;
use coldjacket::assess::cause::Action;
use coldjacket::batch::{self, Run};
use coldjacket::clock::Clock;
use coldjacket::record::staging::Staging;
use coldjacket::register;
use coldjacket::settings::Settings;

use super::command::samples;

/// With every fitted outline held to be doubtful, the sample survey sends nobody to open a jacket and calls no vessel wet all
/// over. What was outlined by hand is not in doubt.
#[test]
fn a_doubtful_outline_sends_no_crew() {
    let register = register::open(&samples()).unwrap();
    let room = tempfile::tempdir().unwrap();
    let staging = Staging::begin(&room.path().join("out"), &samples()).unwrap();
    let mut settings = Settings::default();
    settings.locate.sure_case = f64::INFINITY;
    let survey = batch::run(&Run {
        folder: &samples(),
        register: &register,
        settings: &settings,
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
    .unwrap();
    let by_hand = |asset: usize| {
        let of_asset = |frame: &&register::FrameRow| frame.asset == asset;
        register
            .frames
            .iter()
            .filter(of_asset)
            .any(|frame| frame.view.outline_px.is_some())
    };
    let listed: Vec<_> = survey
        .zones
        .iter()
        .filter(|zone| zone.rank.is_some() && !by_hand(zone.asset))
        .collect();
    assert!(listed.len() >= 6, "{}", listed.len());
    for zone in listed {
        let finding = &zone.finding;
        assert_eq!(finding.extent, Extent::Local, "{}", zone.id);
        assert_eq!(finding.action, Action::SurveyAgain, "{}", zone.id);
        let said = finding
            .because
            .iter()
            .any(|because| because.contains("vessel_outline_px"));
        assert!(said, "{}: {:?}", zone.id, finding.because);
    }
}
