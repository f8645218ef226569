//! How it was done, what is uncertain, what could not be seen: in plain words.

use super::{Entry, Material};

/// A paragraph each.
pub(super) fn words(material: &Material) -> Vec<Entry> {
    let half = &material.register.uncertainty;
    let units = material.units;
    vec![
        Entry::new(
            "Method",
            "Each frame's stored values become apparent temperatures, and those the jacket's own, by the radiometric \
             measurement equation over the camera's band. The asset's known shape and size are fitted to the picture, so that \
             each pixel has a place on it. A zone is a place that stands out from sound jacket beside it by more than the \
             jacket's own unevenness, over at least 3 × 3 pixels. A heat balance at the jacket turns the contrast into how \
             much better than dry insulation the zone conducts.",
        ),
        Entry::new(
            "Uncertainty",
            units.sentence(&format!(
                "Intervals are 95 %. They rest on what the sheets state or take: air ±{:.1} K, reflected temperature ±{:.1} K, \
                 emissivity ±{:.2}, service ±{:.1} K, wind ±{:.0} % (at least 0.2 m/s), humidity ±{:.0} points, insulation \
                 thickness ±{:.0} %, tabulated conductivity ±{:.0} %, camera ±{:.1} K. A zone is judged by its contrast within \
                 one frame, in which the camera's offset has no say. Only 'all over the jacket' rests on absolute \
                 temperatures, and its interval is wide for that.",
                half.air_temperature_k,
                half.reflected_temperature_k,
                half.emissivity,
                half.service_temperature_k,
                half.wind_pct,
                half.relative_humidity_pct,
                half.insulation_thickness_pct,
                half.conductivity_pct,
                half.camera_accuracy_k
            )),
        ),
        Entry::new(
            "Least detectable zone",
            "Each frame tells the least contrast and the smallest zone that it would have called. What is smaller or fainter, \
             lies on jacket that was not usefully seen (hatched on the unrolled jacket), has not yet changed the jacket's \
             temperature, or is seen at more than 60° from square on, is not in this record.",
        ),
        Entry::new(
            "Least moisture",
            "The least evenly spread water that could explain the ratio, after the law of ISO 10456 (as quoted in secondary \
             sources; coefficients partly from memory, not confirmed). Water that has run together or frozen conducts more. \
             Beyond the law nothing is claimed: soaked, frozen, missing or bridged.",
        ),
        Entry::new(
            "Priority",
            "0 to 100, the sum of named parts, each of which only rises with what it stands for. The weights are this \
             program's own judgement, no standard's.",
        ),
        Entry::new(
            "Verdicts",
            "An inspector's verdict goes before the program's. What is rejected leaves the list and stays in the record, \
             struck and signed. Rank numbers are those of findings.json, so a gap in them is a rejected zone.",
        ),
    ]
}
