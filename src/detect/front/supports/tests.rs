use ndarray::Array2;

use super::*;
use crate::detect::fixtures;
use crate::detect::grow::Region;
use crate::locate::figure::{Figure, Size, Surface};

/// An upright vessel of 1 m radius and 6 m, its lower end towards smaller columns; the part from `start_m` on in view.
struct Upright {
    jacket: Jacket,
    map: Array2<f32>,
    figure: Figure,
}

fn upright(start_m: f32) -> Upright {
    let (columns, rows) = (300, 200);
    let cells = columns * rows;
    let figure = fixtures::lying([0.0, 99.5]);
    let size = Size {
        half_width_m: 1.0,
        length_m: 6.0,
        ..figure.size
    };
    Upright {
        jacket: Jacket {
            share: (0..cells).map(|at| ((at / columns) as f32 - 99.5) / 100.0).collect(),
            axial_m: (0..cells).map(|at| start_m + (at % columns) as f32 / 100.0).collect(),
            half_width_m: 1.0,
            surface: Surface::Round,
            ..fixtures::even_jacket((columns, rows))
        },
        map: Array2::from_elem((rows, columns), 10.0),
        figure: Figure {
            size,
            head_depth_m: 0.5,
            anchor_axial_m: f64::from(start_m),
            ..figure
        },
    }
}

/// Two regions 20 px wide across and of one level, from `foot_px` to 60 px further.
fn two_regions(foot_px: usize) -> Vec<Region> {
    let region = |middle: usize| Region {
        pixels: (middle - 10..middle + 10)
            .flat_map(|row| (foot_px..foot_px + 60).map(move |column| row * 300 + column))
            .collect(),
        peak_k: -3.0,
        spread_k: 0.0,
    };
    vec![region(60), region(140)]
}

fn held(upright: &Upright, regions: &[Region]) -> bool {
    let scene = Scene {
        map: &upright.map,
        figure: &upright.figure,
        noise_k: 0.05,
        lower: Part::DatumEnd,
    };
    let beside = Beside::new(&upright.jacket, &[], |_| 0.0);
    Supports::new(&upright.jacket, &scene, &[]).holds(&upright.jacket, 0, regions, &beside)
}

#[test]
fn two_legs_of_one_level_are_supports() {
    assert!(held(&upright(0.0), &two_regions(5)));
}

#[test]
fn a_patch_far_colder_than_a_leg_of_its_level_is_none() {
    let mut regions = two_regions(5);
    regions[0].peak_k = -8.5;
    assert!(!held(&upright(0.0), &regions));
    regions[1].peak_k = -4.0;
    assert!(held(&upright(0.0), &regions));
}

#[test]
fn two_patches_at_the_edge_of_a_picture_that_shows_no_lower_end_are_none() {
    assert!(!held(&upright(2.5), &two_regions(5)));
}

#[test]
fn two_patches_that_do_not_come_down_to_the_lower_end_are_none() {
    assert!(!held(&upright(0.0), &two_regions(50)));
}

/// A vessel of 1 m radius on its side, lower towards larger rows, in a picture of 300 × 200 px.
fn crowned(regions: &[Region]) -> bool {
    let upright = upright(0.0);
    let scene = Scene {
        map: &upright.map,
        figure: &upright.figure,
        noise_k: 0.05,
        lower: Part::FarSide,
    };
    Supports::new(&upright.jacket, &scene, &[]).crowned(&upright.jacket, 0, regions)
}

/// A region 40 px long and 20 px high whose top lies so far above the lower side.
fn low_region(middle: usize, top_px: usize, peak_k: f64) -> Region {
    let top = 199 - top_px;
    Region {
        pixels: (top..top + 20)
            .flat_map(|row| (middle - 20..middle + 20).map(move |column| row * 300 + column))
            .collect(),
        peak_k,
        spread_k: 0.0,
    }
}

#[test]
fn two_faint_places_of_one_level_crown_supports_that_do_not_show() {
    assert!(crowned(&[low_region(80, 50, -0.5), low_region(220, 52, -0.4)]));
}

#[test]
fn a_faint_place_alone_or_beside_one_that_is_higher_or_stronger_crowns_nothing() {
    let place = || low_region(80, 50, -0.5);
    assert!(!crowned(&[place()]));
    assert!(!crowned(&[place(), low_region(220, 65, -0.5)]));
    assert!(!crowned(&[place(), low_region(220, 50, -2.0)]));
    assert!(!crowned(&[low_region(80, 50, -2.0), low_region(220, 50, -2.0)]));
}

/// Whether the first region is taken for jacket that a support cools, the picture below the vessel as given.
fn cooled(regions: &[Region], below: impl Fn(usize) -> f32) -> bool {
    let upright = upright(0.0);
    // The lower side lies at row 199.5.
    let map = Array2::from_shape_fn((240, 300), |(row, column)| if row < 200 { 10.0 } else { below(column) });
    let scene = Scene {
        map: &map,
        figure: &upright.figure,
        noise_k: 0.05,
        lower: Part::FarSide,
    };
    Supports::new(&upright.jacket, &scene, &[])
        .with_footprints(&upright.jacket, &scene)
        .cools(&upright.jacket, 0, regions)
}

#[test]
fn jacket_over_what_stands_below_is_cooled_by_it() {
    let saddle = |column: usize| if (60..100).contains(&column) { 16.0 } else { 14.0 };
    let place = |peak_k: f64| [low_region(80, 50, peak_k)];
    assert!(cooled(&place(-2.0), saddle));
    assert!(!cooled(&place(-2.0), |_| 14.0));
    // Colder than a support makes it, beside what stands there, and higher up than one comes.
    assert!(!cooled(&place(-4.0), saddle));
    assert!(!cooled(&[low_region(130, 50, -2.0)], saddle));
    assert!(!cooled(&[low_region(80, 90, -2.0)], saddle));
}

#[test]
fn two_places_as_wide_and_as_far_up_are_cooled_by_a_pair_of_supports() {
    let pair = |top_px: usize, peak_k: f64| [low_region(80, 50, -2.0), low_region(220, top_px, peak_k)];
    assert!(cooled(&pair(51, -1.3), |_| 14.0));
    assert!(!cooled(&pair(56, -1.3), |_| 14.0));
    assert!(!cooled(&pair(51, -0.8), |_| 14.0));
}
