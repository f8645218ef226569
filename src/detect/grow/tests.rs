//! Regions on departures made for the purpose.

use super::*;
use crate::detect::fixtures;
use crate::detect::jacket::Cover;

const SIZE: (usize, usize) = (160, 90);
const GROWTH: Growth = Growth {
    core_k: 0.35,
    least_pixels: 9,
    fringe_px: 6.0,
};

fn jacket() -> Jacket {
    fixtures::even_jacket(SIZE)
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

#[test]
fn lines_drawn_over_a_patch_leave_it_one_zone() {
    let mut jacket = jacket();
    let mut departures = departures(-1.5);
    // A cross-hair over the patch, three pixels wide, without a reading.
    for (at, (departure, cover)) in departures.iter_mut().zip(&mut jacket.cover).enumerate() {
        let (u, v) = (at % SIZE.0, at / SIZE.0);
        if (84..=86).contains(&u) || (44..=46).contains(&v) {
            *cover = Cover::Blank;
            *departure = f32::NAN;
        }
    }
    let cut = |found: &[Region]| found.iter().filter(|r| (r.peak_k + 1.5).abs() < 0.3).count();
    let found = regions(&jacket, &departures, GROWTH, -1.0);
    assert!(cut(&found) > 1, "{}", cut(&found));
    assert_eq!(cut(&bridged(&jacket, found)), 1);
}

#[test]
fn a_patch_far_larger_than_a_stronger_spot_in_it_is_more_than_its_rim() {
    // The fringe of a spot of 4 K more goes some 17 px further, past the patch's long sides and one of its ends.
    let departures: Vec<f32> = (0..SIZE.0 * SIZE.1)
        .map(|at| {
            let (u, v) = (at % SIZE.0, at / SIZE.0);
            let spot = (u as f32 - 80.0).hypot(v as f32 - 45.0) < 4.0;
            let patch = (62..115).contains(&u) && (35..55).contains(&v);
            f32::from(u8::from(spot)) * -4.0 + f32::from(u8::from(patch)) * -1.5
        })
        .collect();
    let found = regions(&jacket(), &departures, GROWTH, -1.0);
    let told: Vec<_> = found.iter().map(|r| (r.peak_k, r.pixels.len())).collect();
    // 53 × 20 pixels less the spot's 49.
    let whole = found.iter().find(|r| (r.peak_k + 1.5).abs() < 0.01);
    assert!(whole.is_some_and(|r| r.pixels.len() > 1000), "{told:?}");
}

/// Departures in K of a metal spot of 6 px radius in a sharp picture, and of a patch of 20 × 26 px that it touches.
fn touching(spot_k: f32, patch_k: f32) -> Vec<f32> {
    (0..SIZE.0 * SIZE.1)
        .map(|at| {
            let (u, v) = (at % SIZE.0, at / SIZE.0);
            let from = (u as f32 - 60.0).hypot(v as f32 - 50.0);
            let beyond = (from - 6.0).max(0.0);
            let patch = (66..86).contains(&u) && (30..56).contains(&v);
            // Coldest in its middle: every place of one temperature could start a region.
            let fringe = spot_k * (-beyond / 1.5).exp() * (1.0 - from / 1000.0);
            if patch { fringe.min(patch_k) } else { fringe }
        })
        .collect()
}

#[test]
fn a_small_patch_that_touches_metal_is_a_region() {
    let sharp = Growth {
        fringe_px: 3.0,
        ..GROWTH
    };
    let found = regions(&jacket(), &touching(-25.0, -5.0), sharp, -1.0);
    let told: Vec<_> = found.iter().map(|r| (r.peak_k, r.pixels.len())).collect();
    // 520 pixels, less those within about six of the spot.
    let patch = found.iter().find(|r| (r.peak_k + 5.0).abs() < 0.5);
    assert!(patch.is_some_and(|r| (350..520).contains(&r.pixels.len())), "{told:?}");
    let alone = regions(&jacket(), &touching(-25.0, 0.0), sharp, -1.0);
    let told: Vec<_> = alone.iter().map(|r| (r.peak_k, r.pixels.len())).collect();
    assert_eq!(alone.len(), 1, "{told:?}");
}

/// A patch of 40 × 40 px at −3 K, a rung of `rung_px` before its middle.
fn behind_a_rung(rung_px: usize) -> Vec<Region> {
    let departures: Vec<f32> = (0..SIZE.0 * SIZE.1)
        .map(|at| {
            let (u, v) = (at % SIZE.0, at / SIZE.0);
            let patch = (60..100).contains(&u) && (20..60).contains(&v);
            let rung = (38..38 + rung_px).contains(&v);
            if patch && !rung { -3.0 } else { 0.0 }
        })
        .collect();
    let narrow = Growth {
        fringe_px: 1.0,
        ..GROWTH
    };
    bridged(&jacket(), regions(&jacket(), &departures, narrow, -1.0))
}

#[test]
fn parts_on_either_side_of_a_rung_are_one_zone_and_those_further_apart_are_two() {
    // 5 cm at a hundred pixels a metre.
    for (rung_px, zones) in [(5, 1), (15, 2)] {
        let found = behind_a_rung(rung_px);
        let told: Vec<_> = found.iter().map(|r| (r.peak_k, r.pixels.len())).collect();
        assert_eq!(found.len(), zones, "{rung_px}: {told:?}");
    }
}

#[test]
fn a_weak_patch_across_a_line_from_a_strong_one_is_another() {
    let departures: Vec<f32> = (0..SIZE.0 * SIZE.1)
        .map(|at| {
            let (u, v) = (at % SIZE.0, at / SIZE.0);
            match (u, v) {
                (30..=58, 30..=60) => -4.0,
                (64..=92, 30..=60) => -2.0,
                _ => 0.0,
            }
        })
        .collect();
    let narrow = Growth {
        fringe_px: 1.0,
        ..GROWTH
    };
    let found = bridged(&jacket(), regions(&jacket(), &departures, narrow, -1.0));
    assert_eq!(found.len(), 2);
}

/// Regions with a patch of −3 K left of a thing, which with its blur stands before columns 46 to 68, and another place right of
/// it, each strongest in its middle; before and after what the thing parts is joined.
fn behind_a_thing(right_k: f32, columns: std::ops::Range<usize>, rows: std::ops::Range<usize>) -> (usize, usize) {
    let within = |at: usize, range: &std::ops::Range<usize>| {
        let middle = (range.start + range.end - 1) as f32 / 2.0;
        range.contains(&at).then_some(1.0 - 0.001 * (at as f32 - middle).abs())
    };
    let place = |(u, v): (usize, usize), columns, rows| Some(within(u, columns)? * within(v, rows)?);
    let departures: Vec<f32> = (0..SIZE.0 * SIZE.1)
        .map(|at| {
            let at = (at % SIZE.0, at / SIZE.0);
            let left = place(at, &(30..47), &(20..50)).map(|share| -3.0 * share);
            let right = place(at, &columns, &rows).map(|share| right_k * share);
            left.or(right).unwrap_or(0.0)
        })
        .collect();
    let narrow = Growth {
        fringe_px: 1.0,
        ..GROWTH
    };
    let things: Vec<bool> = (0..SIZE.0 * SIZE.1)
        .map(|at| (46..69).contains(&(at % SIZE.0)))
        .collect();
    let found = regions(&jacket(), &departures, narrow, -1.0);
    (found.len(), bridge::joined_across(&jacket(), found, &things).len())
}

#[test]
fn parts_that_face_each_other_across_a_thing_are_one_zone() {
    assert_eq!(behind_a_thing(-2.8, 68..100, 20..50), (2, 1));
    // Too unlike in contrast; beside each other no more than at a corner; a line.
    assert_eq!(behind_a_thing(-1.5, 68..100, 20..50), (2, 2));
    assert_eq!(behind_a_thing(-2.8, 68..100, 48..80), (2, 2));
    assert_eq!(behind_a_thing(-2.8, 68..71, 15..85), (2, 2));
}
