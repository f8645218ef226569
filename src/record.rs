//! The files that people and programs read: `findings.json`, `findings.csv`, annotated pictures, all put in place at once.

pub mod annotate;
pub mod findings;
pub mod list;
pub mod palette;
pub mod picture;
pub mod place;
pub mod staging;

use crate::detect::coverage::Coverage;
use crate::inspect::FrameReport;
use crate::rank::Ranked;

/// A survey assessed: all that the record is made from.
#[derive(Debug)]
pub struct Survey {
    /// One report a frame, in the order of the sheet.
    pub frames: Vec<FrameReport>,
    /// Zones in follow-up order, what is set aside last.
    pub zones: Vec<Ranked>,
    /// What was seen of each asset, in the order of the register; None where no frame was usable.
    pub coverage: Vec<Option<Coverage>>,
}
