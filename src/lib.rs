//! Coldjacket: from a thermal survey of cold insulated vessels and pipes to a ranked follow-up list.
//!
//! Data flows one way: [`register`] → [`read`] → [`calibrate`] → [`locate`] → [`detect`] → `assess` → `rank` → `record`.
//! Physics that several rooms use stands apart: [`heat`], [`radiation`], [`statistic`].

pub mod assess;
pub mod batch;
pub mod calibrate;
pub mod cli;
pub mod clock;
pub mod commands;
pub mod compare;
pub mod detect;
pub mod digest;
pub mod followup;
pub mod heat;
pub mod inspect;
pub mod locate;
pub mod plan;
pub mod radiation;
pub mod rank;
pub mod read;
pub mod record;
pub mod register;
pub mod settings;
pub mod start;
pub mod statistic;
pub mod tell;
pub mod told;
pub mod units;
