use super::*;
use crate::draw::{Wish, random_scene};
use crate::random::Prng;

fn folder(name: &str) -> std::path::PathBuf {
    std::env::temp_dir().join(format!("coldjacket-simulator-{name}-{}", std::process::id()))
}

#[test]
fn a_survey_is_whole_and_repeats_byte_for_byte() {
    let mut prng = Prng::new(77);
    let scenes = (0..2).map(|_| random_scene(&mut prng, &Wish::default())).collect();
    let plan = SurveyPlan::of_scenes(scenes, SheetErrors::Drawn(5), 900);
    let (first, second) = (folder("first"), folder("second"));
    let mut offsets_k = Vec::new();
    write_survey_with(&first, &plan, |entry, _| offsets_k.push(entry.scene.camera.offset_k)).unwrap();
    write_survey(&second, &plan).unwrap();
    assert!(offsets_k.iter().all(|k| *k != 0.0 && k.abs() < 6.0));
    for file in [
        "survey.toml",
        "assets.csv",
        "frames.csv",
        "truth.json",
        "images/t-001.tif",
        "images/t-002.tif",
    ] {
        let bytes = fs::read(first.join(file)).unwrap();
        assert_eq!(bytes, fs::read(second.join(file)).unwrap(), "{file}");
    }
    let frames = fs::read_to_string(first.join("frames.csv")).unwrap();
    assert_eq!(frames.lines().count(), 3);
    assert!(frames.starts_with("file,asset,temperature_scale,air_temperature_c"));
    fs::remove_dir_all(first).unwrap();
    fs::remove_dir_all(second).unwrap();
}
