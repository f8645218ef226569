//! Figures placed in pictures made for the purpose.

use ndarray::Array2;

use super::figure::DatumEnd;
use super::*;
use crate::register::Side;

const VESSEL: Shape = Shape::HorizontalCylinder {
    diameter_m: 1.2,
    length_m: 3.0,
};
const WALL: Shape = Shape::Flat {
    width_m: 3.0,
    height_m: 1.5,
};
const NOISE_K: f64 = 0.05;

/// A generator of small pseudo-random numbers of mean 0 and standard deviation 1 (the sum of twelve).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f32 {
        let mut sum = -6.0;
        for _ in 0..12 {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            sum += (self.0 >> 40) as f32 / (1u64 << 24) as f32;
        }
        sum
    }
}

/// An oriented picture of a figure 1.5 K colder than a wall with a slow gradient; edges as a camera mixes them.
fn picture(figure: &Figure, (columns, rows): (usize, usize), seed: u64) -> Array2<f32> {
    let mut noise = Noise(seed);
    Array2::from_shape_fn((rows, columns), |(v, u)| {
        let mut covered = 0.0f32;
        for (i, j) in (0..16).map(|k| (k / 4, k % 4)) {
            let at = |px: usize, k: i32| px as f64 + (f64::from(k) - 1.5) / 4.0;
            let (axial, across) = figure.local(at(u, i), at(v, j));
            covered += if figure.covers(axial, across) { 1.0 / 16.0 } else { 0.0 };
        }
        18.0 + 0.6 * u as f32 / columns as f32 - 1.5 * covered + NOISE_K as f32 * noise.next()
    })
}

/// A picture of a wall: noise, a slow gradient and courses of joints.
fn bare_wall((columns, rows): (usize, usize), joint_k: f32) -> Array2<f32> {
    let mut noise = Noise(5);
    Array2::from_shape_fn((rows, columns), |(v, u)| {
        let joint = if v % 29 < 2 { joint_k } else { 0.0 };
        18.0 + 0.4 * u as f32 / columns as f32 + joint + NOISE_K as f32 * noise.next()
    })
}

fn figure(
    shape: &Shape,
    head_depth_m: f64,
    (scale_px_m, tilt_rad): (f64, f64),
    (anchor_u, anchor_v): (f64, f64),
) -> Figure {
    let size = Size::from(shape);
    let anchor_axial_m = size.length_m / 2.0;
    Figure {
        size,
        head_depth_m,
        datum_end: DatumEnd::Head,
        skirt_m: 0.0,
        stretch: 1.0,
        anchor_u,
        anchor_v,
        anchor_axial_m,
        tilt_rad,
        taper_per_m: 0.0,
        scale_px_m,
    }
}

/// Farthest distance in px of the true outline's points from the found outline, along the normal.
fn farthest(truth: &Figure, found: &Figure) -> f64 {
    let (found, truth) = (found.outline(0.25), truth.outline(4.0));
    let distance = |p: &figure::OutlinePoint| {
        found
            .iter()
            .map(|q| (p.u - q.u).hypot(p.v - q.v))
            .fold(f64::INFINITY, f64::min)
    };
    truth.iter().map(distance).fold(0.0, f64::max)
}

fn view(map: &Array2<f32>, shape: &Shape, hint: ViewHint) -> Result<View, Error> {
    locate(map, NOISE_K, (shape, &hint), &Settings::default())
}

#[test]
fn vessels_of_several_sizes_and_tilts_are_found_within_a_pixel() {
    let cases = [
        ((320, 240), 40.0, 0.0, 0.3),
        ((320, 240), 72.0, 0.05, 0.3),
        ((384, 288), 60.0, -0.06, 0.2),
        ((640, 480), 120.0, 0.03, 0.3),
        ((640, 512), 90.0, -0.02, 0.6),
        ((384, 288), 70.0, 0.02, 0.0),
    ];
    for (index, ((columns, rows), scale, tilt, head)) in cases.into_iter().enumerate() {
        let truth = figure(
            &VESSEL,
            head,
            (scale, tilt),
            (columns as f64 * 0.48, rows as f64 * 0.53),
        );
        let found = view(
            &picture(&truth, (columns, rows), index as u64),
            &VESSEL,
            ViewHint::default(),
        )
        .unwrap();
        let off_px = farthest(&truth, &found.figure);
        assert!(
            off_px < 1.0,
            "{columns} x {rows}, {scale} px/m, {tilt} rad: {off_px} px, {:?}",
            found.figure
        );
        assert_eq!(
            (found.footing, found.axial_footing),
            (Footing::Fitted, AxialFooting::Known)
        );
    }
}

#[test]
fn a_camera_that_looks_up_or_along_sees_a_taper_and_the_vessel_is_found_within_two_pixels() {
    // One end up to a fifth farther off than the other.
    for (seed, taper_per_m) in [(31, -0.06), (32, -0.02), (33, 0.03), (34, 0.06)] {
        let truth = Figure {
            taper_per_m,
            ..figure(&VESSEL, 0.3, (120.0, 0.02), (310.0, 250.0))
        };
        let found = view(&picture(&truth, (640, 480), seed), &VESSEL, ViewHint::default()).unwrap();
        let off_px = farthest(&truth, &found.figure);
        assert!(off_px < 2.0, "{taper_per_m} per m: {off_px} px, {:?}", found.figure);
        let right = (found.figure.taper_per_m - taper_per_m).abs() < 0.25 * taper_per_m.abs() + 0.004;
        assert!(right, "{taper_per_m} per m: {:?}", found.figure);
    }
}

/// From near by, most of the asset lies beyond the picture: what is not in view must not count against it.
#[test]
fn heads_warmer_than_the_shell_are_found_though_the_tangent_lines_are_the_clearer_edges() {
    for (seed, head_k) in [(1, 1.1), (2, 1.2)] {
        let truth = figure(&VESSEL, 0.3, (70.0, 0.01), (190.0, 140.0));
        let mut map = picture(&truth, (384, 288), seed);
        for ((v, u), t) in map.indexed_iter_mut() {
            let (axial, across) = truth.local(u as f64, v as f64);
            if truth.covers(axial, across) && !(0.0..=truth.size.length_m).contains(&axial) {
                *t += head_k;
            }
        }
        let found = view(&map, &VESSEL, ViewHint::default()).unwrap();
        let off_px = farthest(&truth, &found.figure);
        assert!(off_px < 2.0, "{head_k}: {off_px} px, {:?}", found.figure);
    }
}

#[test]
fn a_near_picture_of_one_end_is_found() {
    const LONG: Shape = Shape::HorizontalCylinder {
        diameter_m: 2.0,
        length_m: 6.0,
    };
    for (scale_px_m, start_m) in [(95.0, -0.7), (80.0, 1.2)] {
        let size = Size::from(&LONG);
        let truth = Figure {
            size,
            head_depth_m: 0.5,
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch: 1.0,
            anchor_u: -0.5,
            anchor_v: 118.0,
            anchor_axial_m: start_m,
            tilt_rad: 0.01,
            taper_per_m: 0.0,
            scale_px_m,
        };
        let hint = ViewHint {
            view_start_m: Some(start_m),
            ..ViewHint::default()
        };
        let found = view(&picture(&truth, (320, 240), 11), &LONG, hint).unwrap();
        let scale = found.figure.scale_px_m / scale_px_m;
        assert!((scale - 1.0).abs() < 0.01, "{start_m} m: {scale}");
        let (_, across_m) = found.figure.local(200.0, 118.0);
        let (_, true_m) = truth.local(200.0, 118.0);
        assert!((across_m - true_m).abs() < 0.02, "{start_m} m: {across_m} {true_m}");
    }
}

#[test]
fn a_flat_wall_panel_is_found_within_a_pixel() {
    let truth = figure(&WALL, 0.0, (80.0, 0.02), (160.0, 125.0));
    let found = view(&picture(&truth, (320, 240), 7), &WALL, ViewHint::default()).unwrap();
    assert!(farthest(&truth, &found.figure) < 1.0, "{:?}", found.figure);
}

#[test]
fn a_picture_turned_over_its_diagonal_gives_the_same_figure() {
    let truth = figure(&VESSEL, 0.3, (70.0, 0.04), (150.0, 120.0));
    let map = picture(&truth, (320, 240), 3);
    let turned = map.t().as_standard_layout().into_owned();
    let at = |side| ViewHint {
        datum_side: Some(side),
        ..ViewHint::default()
    };
    let (left, top) = (
        view(&map, &VESSEL, at(Side::Left)).unwrap(),
        view(&turned, &VESSEL, at(Side::Top)).unwrap(),
    );
    assert_eq!(left.figure, top.figure);
    let flipped: Vec<[f64; 2]> = top.outline_px().iter().map(|p| [p[1], p[0]]).collect();
    assert_eq!(left.outline_px(), flipped);
}

#[test]
fn partial_views_are_placed_by_where_they_start() {
    // (anchor along, view start): datum end in view, other end in view, both out of view.
    for anchor_u in [215.0, 105.0, 160.0] {
        let scale = if anchor_u == 160.0 { 130.0 } else { 95.0 };
        let truth = figure(&VESSEL, 0.3, (scale, 0.02), (anchor_u, 120.0));
        let start_m = truth.local(-0.5, 120.0).0;
        let hint = ViewHint {
            view_start_m: Some(start_m),
            ..ViewHint::default()
        };
        let found = view(&picture(&truth, (320, 240), 11), &VESSEL, hint).unwrap();
        for (axial, across) in [(1.0, 0.0), (1.5, 0.6), (2.0, -0.6)] {
            let (p, q) = (truth.pixel(axial, across), found.figure.pixel(axial, across));
            let off_px = (p.0 - q.0).hypot(p.1 - q.1);
            assert!(off_px < 2.0, "anchor {anchor_u}: {off_px} px, {:?}", found.figure);
        }
    }
}

#[test]
fn a_pipe_run_longer_than_the_picture_is_measured_from_its_edge() {
    let run = Shape::HorizontalCylinder {
        diameter_m: 0.4,
        length_m: 12.0,
    };
    let truth = figure(&run, 0.0, (220.0, 0.03), (160.0, 130.0));
    let found = view(&picture(&truth, (320, 240), 13), &run, ViewHint::default()).unwrap();
    assert_eq!(found.axial_footing, AxialFooting::FromPictureEdge);
    let scale = found.figure.scale_px_m * found.figure.stretch;
    assert!((scale / 220.0 - 1.0).abs() < 0.01, "{scale}");
}

#[test]
fn two_vessels_alike_are_two_guesses() {
    let at = |anchor_v: f64| picture(&figure(&VESSEL, 0.3, (55.0, 0.0), (160.0, anchor_v)), (320, 240), 21);
    let (mut both, other) = (at(65.0), at(170.0));
    both.zip_mut_with(&other, |t, other| *t = t.min(*other));
    let refused = view(&both, &VESSEL, ViewHint::default());
    assert!(matches!(refused, Err(Error::TwoFit)), "{refused:?}");
}

#[test]
fn pictures_without_the_asset_are_refused() {
    for shape in [VESSEL, WALL] {
        for map in [
            bare_wall((320, 240), 0.0),
            bare_wall((320, 240), -0.4),
            bare_wall((640, 512), -0.2),
            Array2::from_elem((240, 320), 17.3),
            Array2::from_elem((240, 320), f32::NAN),
            Array2::from_elem((2, 3), 17.3),
        ] {
            let refused = view(&map, &shape, ViewHint::default());
            assert!(matches!(refused, Err(Error::NotFound { .. })), "{shape:?} {refused:?}");
        }
    }
}

#[test]
fn an_outline_by_hand_is_taken_as_it_is() {
    let polygon = vec![[40.0, 90.0], [260.0, 90.0], [260.0, 170.0], [40.0, 170.0]];
    let hint = ViewHint {
        outline_px: Some(polygon.clone()),
        ..ViewHint::default()
    };
    let found = view(&bare_wall((320, 240), 0.0), &VESSEL, hint).unwrap();
    assert_eq!((found.footing, found.support), (Footing::ByHand, 1.0));
    assert_eq!(found.outline_px(), polygon);
    let small = vec![[40.0, 90.0], [62.0, 90.0], [62.0, 98.0], [40.0, 98.0]];
    let hint = ViewHint {
        outline_px: Some(small),
        ..ViewHint::default()
    };
    let refused = view(&bare_wall((320, 240), 0.0), &VESSEL, hint);
    assert!(matches!(refused, Err(Error::TooSmall { .. })), "{refused:?}");
}

#[test]
fn heads_that_a_skirt_and_the_picture_hide_are_as_deep_as_no_usual_one_is_far_from() {
    let standing = Shape::VerticalCylinder {
        diameter_m: 1.2,
        length_m: 3.0,
    };
    // The tangent line stands at u = 80; the other end lies beyond the picture.
    let (scale_px_m, tangent_px) = (100.0, 80.0);
    let truth = Figure {
        datum_end: DatumEnd::Skirt,
        anchor_axial_m: 0.0,
        ..figure(&standing, 0.3, (scale_px_m, 0.0), (tangent_px, 119.5))
    };
    for (seed, skirt_k) in [(1, -0.6), (2, -0.9), (3, 0.7)] {
        let mut map = picture(&truth, (320, 240), seed);
        for ((v, u), t) in map.indexed_iter_mut() {
            let (axial, across) = truth.local(u as f64, v as f64);
            if axial < 0.0 && across.abs() < truth.size.half_width_m {
                *t += skirt_k;
            }
        }
        let hint = ViewHint {
            datum_side: Some(Side::Left),
            view_start_m: Some(-tangent_px / scale_px_m),
            ..ViewHint::default()
        };
        let found = view(&map, &standing, hint).unwrap().figure;
        assert_eq!(found.datum_end, DatumEnd::Skirt, "{skirt_k}");
        assert!(
            (found.head_depth_m / truth.size.half_width_m - 0.7).abs() < 1e-3,
            "{skirt_k}: {}",
            found.head_depth_m
        );
        assert!((found.scale_px_m / scale_px_m - 1.0).abs() < 0.02, "{skirt_k}");
    }
}

#[test]
fn a_skirt_that_begins_below_the_tangent_line_leaves_sides_and_far_end_in_place() {
    let standing = Shape::VerticalCylinder {
        diameter_m: 1.4,
        length_m: 2.6,
    };
    let on_skirt = |skirt_m: f64| Figure {
        datum_end: DatumEnd::Skirt,
        skirt_m,
        ..figure(&standing, 0.35, (80.0, 0.0), (165.0, 119.5))
    };
    for (seed, skirt_m) in [(1, 0.0), (2, 0.12), (3, 0.22)] {
        let truth = on_skirt(skirt_m);
        let mut map = picture(&truth, (320, 240), seed);
        let width_m = 0.7 * (1.0 - (skirt_m / 0.35).powi(2)).sqrt();
        for ((v, u), t) in map.indexed_iter_mut() {
            let (axial, across) = truth.local(u as f64, v as f64);
            if axial < -skirt_m && across.abs() < width_m {
                *t += 1.2;
            }
        }
        let hint = ViewHint {
            datum_side: Some(Side::Left),
            ..ViewHint::default()
        };
        let found = view(&map, &standing, hint).unwrap().figure;
        // How far below the tangent line it begins, and how deep the head behind it is, the picture hardly tells apart.
        let outline = found.outline(0.25);
        let distance = |p: &figure::OutlinePoint| {
            let to = outline.iter().map(|q| (p.u - q.u).hypot(p.v - q.v));
            to.fold(f64::INFINITY, f64::min)
        };
        let seen = truth
            .outline(4.0)
            .into_iter()
            .filter(|p| p.part != figure::Part::DatumEnd);
        let off = seen.map(|p| distance(&p)).fold(0.0, f64::max);
        assert!(off < 2.5, "{skirt_m}: off by {off} px, {found:?}");
    }
}

#[test]
fn a_view_in_coarser_pixels_shows_every_place_where_it_was_in_the_image() {
    let placed = figure(&VESSEL, 0.3, (90.0, 0.03), (163.0, 121.0));
    // Sizes of which three leave a remainder.
    for side in [Side::Left, Side::Right, Side::Bottom, Side::Top] {
        let fine = View {
            orientation: Orientation::new(&VESSEL, Some(side), 641, 512).within([3, 5, 628, 500]),
            figure: Figure {
                taper_per_m: 0.01,
                ..placed
            },
            support: 1.0,
            trust: Trust::Sure,
            footing: Footing::Fitted,
            axial_footing: AxialFooting::Known,
            by_hand_px: None,
            eye: None,
        };
        for times in [1, 2, 3] {
            let coarser = fine.coarser(times);
            assert_eq!(coarser.orientation.grain(), times);
            for (axial_m, share) in [(0.0, -1.0), (0.7, 0.3), (3.0, 1.0)] {
                let in_image = |view: &View| {
                    let (u, v) = view.pixel(axial_m, share);
                    view.orientation.to_image(u, v)
                };
                let (fine, coarse) = (in_image(&fine), in_image(&coarser));
                let apart = (fine[0] - coarse[0]).hypot(fine[1] - coarse[1]);
                assert!(apart < 1e-9, "{side:?} {times} {axial_m} {share}: {fine:?} {coarse:?}");
            }
        }
    }
}
