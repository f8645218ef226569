//! First-order propagation of uncertainty (JCGM 100) with the budget's parts kept.

use std::borrow::Cow;

use super::inputs::Inputs;

/// One part of a budget.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Part {
    /// The quantity.
    pub quantity: Cow<'static, str>,
    /// Its contribution to the result's standard uncertainty, in the result's unit.
    pub contribution: f64,
}

/// A result with its standard uncertainty and where that comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard_uncertainty: f64,
    /// The parts, in the order of the inputs, then the others.
    pub parts: Vec<Part>,
}

/// `u² = Σ (∂f/∂xᵢ · uᵢ)²`, each derivative from a central difference of one standard uncertainty, so that a bent
/// function is read over the range that matters; `others` are contributions that the inputs do not hold.
#[must_use]
pub fn propagate(
    inputs: &Inputs,
    standard: &[f64; Inputs::COUNT],
    others: &[Part],
    function: impl Fn(&Inputs) -> Option<f64>,
) -> Option<Estimate> {
    let value = function(inputs)?;
    let mut parts = Vec::with_capacity(Inputs::COUNT + others.len());
    for (index, (&u, quantity)) in standard.iter().zip(Inputs::NAMES).enumerate() {
        if u == 0.0 {
            continue;
        }
        let up = function(&inputs.moved(index, u));
        let down = function(&inputs.moved(index, -u));
        let contribution = match (up, down) {
            (Some(up), Some(down)) => (up - down).abs() / 2.0,
            (Some(one), None) | (None, Some(one)) => (one - value).abs(),
            (None, None) => return None,
        };
        parts.push(Part {
            quantity: Cow::Borrowed(quantity),
            contribution,
        });
    }
    parts.extend(others.iter().cloned());
    let variance: f64 = parts.iter().map(|p| p.contribution * p.contribution).sum();
    Some(Estimate {
        value,
        standard_uncertainty: variance.sqrt(),
        parts,
    })
}
