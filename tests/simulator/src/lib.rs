//! Forward simulator of thermograms of insulated cold vessels.
//!
//! It shares no formula with the program it serves to test: jacket temperatures come from finite volumes, film coefficients
//! from other correlations, radiance from direct quadrature. Everything it writes is simulated and says so.
#![warn(missing_docs, clippy::unwrap_used, clippy::expect_used)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

pub mod band;
pub mod conduct;
pub mod draw;
pub mod dress;
pub mod encode;
pub mod film;
pub mod lens;
pub mod mask;
pub mod picture;
pub mod random;
pub mod samples;
pub mod scene;
pub mod screen;
pub mod shape;
pub mod survey;
pub mod truth;
pub mod wetness;

pub use picture::{Rendered, render};
pub use scene::Scene;
pub use truth::{ClutterTruth, PatchTruth, Truth};
