//! Which asset of an earlier survey is which of this one: by tag, by the tag it had before, and what is left over.

use serde::Serialize;

use super::findings::{Asset, Findings};
use super::place::Body;

/// An asset of an earlier survey that this register does not hold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missing {
    /// Its tag then.
    pub asset: String,
    /// The survey that has it.
    pub date: String,
    /// Its zones on the list then, none of which is compared.
    pub zones: Vec<String>,
    /// Asset of this register that is most like it and has no earlier self: perhaps the same one, renamed.
    pub perhaps: Option<String>,
    /// In words, with what to do.
    pub told: String,
}

/// The asset that `present` was in each earlier survey, in their order; None where it was not there.
pub(super) fn former<'a>(present: &'a Asset, earlier: &[&'a Findings]) -> Vec<Option<&'a Asset>> {
    let mut current = present;
    let mut found: Vec<Option<&Asset>> = Vec::with_capacity(earlier.len());
    for survey in earlier.iter().rev() {
        let by_former = current.former_tag.as_deref().and_then(|tag| survey.asset(tag));
        let asset = by_former.or_else(|| survey.asset(&current.asset));
        current = asset.unwrap_or(current);
        found.push(asset);
    }
    found.reverse();
    found
}

/// Assets of earlier surveys that stand for none of this one.
pub(super) fn missing(present: &Findings, earlier: &[&Findings]) -> Vec<Missing> {
    let formers: Vec<Vec<Option<&Asset>>> = present.assets.iter().map(|asset| former(asset, earlier)).collect();
    let unborn: Vec<&Asset> = present
        .assets
        .iter()
        .zip(&formers)
        .filter(|(_, former)| former.iter().all(Option::is_none))
        .map(|(asset, _)| asset)
        .collect();
    let mut all = Vec::new();
    for (index, survey) in earlier.iter().enumerate() {
        for asset in &survey.assets {
            let is_known = formers
                .iter()
                .any(|former| former[index].is_some_and(|known| known.asset == asset.asset));
            if !is_known {
                all.push(told(asset, survey, &unborn));
            }
        }
    }
    all
}

fn told(asset: &Asset, survey: &Findings, unborn: &[&Asset]) -> Missing {
    let zones: Vec<String> = survey
        .zones
        .iter()
        .filter(|zone| zone.asset == asset.asset)
        .map(|zone| zone.id.clone())
        .collect();
    let perhaps = nearest(asset, unborn).map(|like| like.asset.clone());
    let what_to_do = match &perhaps {
        Some(tag) => format!(
            "{tag} has its shape and size and no earlier self: if it is the same asset, write {} under former_tag in the row \
             of {tag} in assets.csv",
            asset.asset
        ),
        None => "no asset without an earlier self has its shape and size: if it was renamed, write its tag under \
                 former_tag of assets.csv; if it was taken down, nothing is to be done"
            .to_owned(),
    };
    Missing {
        told: format!(
            "{} of the survey of {} ({} on its list) is not in this register: {what_to_do}",
            asset.asset,
            survey.survey.date,
            counted(zones.len())
        ),
        asset: asset.asset.clone(),
        date: survey.survey.date.clone(),
        zones,
        perhaps,
    }
}

fn counted(zones: usize) -> String {
    format!("{zones} zone{}", if zones == 1 { "" } else { "s" })
}

/// Relative difference of sizes up to which two assets may be one: drawings and tapes differ by so much (project rule).
const SAME_SIZE: f64 = 0.05;

/// The asset of the same shape whose sizes differ least, within [`SAME_SIZE`].
fn nearest<'a>(asset: &Asset, among: &[&'a Asset]) -> Option<&'a Asset> {
    let mut best: Option<(f64, &Asset)> = None;
    for other in among {
        let Some(off) = difference(asset, other).filter(|off| *off <= SAME_SIZE) else {
            continue;
        };
        if best.is_none_or(|(least, _)| off < least) {
            best = Some((off, other));
        }
    }
    best.map(|(_, other)| other)
}

/// Largest relative difference of two assets' sizes; None where their shapes differ or are not told.
fn difference(a: &Asset, b: &Asset) -> Option<f64> {
    let (one, two) = (Body::of(a)?, Body::of(b)?);
    if std::mem::discriminant(&one) != std::mem::discriminant(&two) {
        return None;
    }
    let off = |x: f64, y: f64| (x - y).abs() / x.max(y).max(1e-9);
    Some(off(one.length_m(), two.length_m()).max(off(one.girth_m(), two.girth_m())))
}
