//! Why a picture gave no temperatures.

/// Why a picture gave no temperatures. Boxes are x y w h in px.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// Nothing in the picture looks like a bar.
    #[error(
        "no colour bar was found in the picture (accepted: one upright or level bar, not cut off); hint: state bar_box_px = x y w h, or use the radiometric file"
    )]
    NoBar,
    /// Several.
    #[error(
        "two colour bars were found, at {} and at {} (accepted: one); hint: state bar_box_px = x y w h of the bar that the limits belong to", told(*first_px), told(*second_px)
    )]
    TwoBars {
        /// The one that explains more of the picture.
        first_px: [usize; 4],
        /// Another.
        second_px: [usize; 4],
    },
    /// One that runs out of the picture.
    #[error(
        "the colour bar at {} runs to the picture's edge: its {end} may be cut off; hint: use the whole picture, or state bar_box_px if the bar is whole", told(*box_px)
    )]
    CutOff {
        /// Where it is.
        box_px: [usize; 4],
        /// Which end.
        end: &'static str,
    },
    /// A stated box beyond the picture.
    #[error(
        "bar_box_px {} reaches beyond the picture of {columns} × {rows} px (accepted: a box inside it); hint: x y w h in px of the upright picture, from its top left", told(*box_px)
    )]
    BoxOutside {
        /// The box.
        box_px: [usize; 4],
        /// Columns of the picture.
        columns: usize,
        /// Rows of the picture.
        rows: usize,
    },
    /// A stated box that holds no bar.
    #[error("bar_box_px {} holds no colour bar: {what}; hint: state the box of the colours alone, without numerals", told(*box_px))]
    BoxIsNoBar {
        /// The box.
        box_px: [usize; 4],
        /// Why.
        what: &'static str,
    },
    /// A stated box that holds only part of a bar.
    #[error(
        "bar_box_px {} holds only part of the bar: its colours go on beyond the box, to {}; hint: state the whole bar, to which the limits belong", told(*box_px), told(*whole_px)
    )]
    BoxCutsBar {
        /// The box.
        box_px: [usize; 4],
        /// How far the bar reaches.
        whole_px: [usize; 4],
    },
    /// A bar of other colours than the picture's.
    #[error(
        "the colours of the bar at {} are not the picture's: only {:.0} % of it lies on them{what} (accepted: at least {:.0} %); hint: state bar_box_px, or use the picture that the bar belongs to", told(*box_px), 100.0 * share, 100.0 * super::LEAST_EXPLAINED
    )]
    DoesNotFit {
        /// Where the bar is.
        box_px: [usize; 4],
        /// Share of the picture that lies on the bar's colours.
        share: f64,
        /// What strikes.
        what: &'static str,
    },
    /// A bar most of whose colours stand for two temperatures.
    #[error(
        "{:.0} % of the picture has colours that the bar at {} shows at two temperatures (accepted: at most {:.0} %); hint: use a palette without repeats, or the radiometric file", 100.0 * share, told(*box_px), 100.0 * super::MOST_AMBIGUOUS
    )]
    Ambiguous {
        /// Where the bar is.
        box_px: [usize; 4],
        /// Share of the picture.
        share: f64,
    },
}

fn told([x, y, w, h]: [usize; 4]) -> String {
    format!("{x} {y} {w} {h}")
}
