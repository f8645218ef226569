//! Every threshold in force, room by room; written into the findings so that a reader knows what was asked of the frames.

/// Thresholds of all rooms.
#[derive(Debug, Clone, Copy, Default)]
pub struct Settings {
    /// Limits on files.
    pub limits: crate::read::Limits,
    /// Outline fit.
    pub locate: crate::locate::Settings,
    /// Zones.
    pub detect: crate::detect::Settings,
    /// Usability.
    pub usability: crate::assess::usability::Settings,
    /// Meaning of zones.
    pub assess: crate::assess::Settings,
}
