//! Regions on departures made for the purpose.

use super::*;
use crate::detect::jacket::Cover;
use crate::locate::figure::Surface;

const SIZE: (usize, usize) = (160, 90);
const GROWTH: Growth = Growth {
    core_k: 0.35,
    least_pixels: 9,
    fringe_px: 6.0,
};

/// A plane jacket, all of it usable, a hundred pixels a metre.
fn jacket() -> Jacket {
    let cells = SIZE.0 * SIZE.1;
    Jacket {
        size: SIZE,
        origin: (0, 0),
        surface_c: vec![10.0; cells],
        share: vec![0.0; cells],
        axial_m: (0..cells).map(|at| (at % SIZE.0) as f32 / 100.0).collect(),
        cover: vec![Cover::Usable; cells],
        scale_px_m: 100.0,
        half_width_m: 0.45,
        surface: Surface::Plane,
        pixel_m2: 1e-4,
    }
}

/// Departures in K: bare metal 20 K colder whose fringe decays over 6 px, and a patch of `patch_k` of 18 px radius.
fn departures(patch_k: f32) -> Vec<f32> {
    let far = |at: usize, (u, v): (f32, f32)| ((at % SIZE.0) as f32 - u).hypot((at / SIZE.0) as f32 - v);
    (0..SIZE.0 * SIZE.1)
        .map(|at| {
            let beyond = (far(at, (40.0, 45.0)) - 8.0).max(0.0);
            let patch = 1.0 / (1.0 + ((far(at, (85.0, 45.0)) - 18.0) / 1.5).exp());
            -20.0 * (-beyond / 6.0).exp() + patch_k * patch
        })
        .collect()
}

#[test]
fn a_patch_beside_bare_metal_is_a_region_of_its_own() {
    let found = regions(&jacket(), &departures(-1.5), GROWTH, -1.0);
    assert_eq!(
        found.len(),
        2,
        "{:?}",
        found.iter().map(|r| (r.peak_k, r.pixels.len())).collect::<Vec<_>>()
    );
    let patch = &found[1];
    assert!((patch.peak_k + 1.5).abs() < 0.3, "{}", patch.peak_k);
    // π·18² = 1018 pixels less what lies in the metal's fringe, some 10 px deep; and no ring about the metal.
    assert!((600..1050).contains(&patch.pixels.len()), "{}", patch.pixels.len());
}

#[test]
fn the_fringe_of_bare_metal_is_no_region() {
    let found = regions(&jacket(), &departures(0.0), GROWTH, -1.0);
    assert_eq!(
        found.len(),
        1,
        "{:?}",
        found.iter().map(|r| (r.peak_k, r.pixels.len())).collect::<Vec<_>>()
    );
}
