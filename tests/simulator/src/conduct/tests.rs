use std::f64::consts::{PI, TAU};

use super::*;
use crate::film::{expose, film};
use crate::scene::{Patch, Scene};

fn solve(scene: &Scene) -> Solution {
    let shape = Shape::of(&scene.vessel);
    let wetness = Wetness::of(scene, &shape, 3);
    conduct(scene, &shape, &wetness, None)
}

/// Far from the heads a uniform shell is a pure cylinder: the flux through the jacket that the solver found must be
/// what ln(r_o/r_i) gives between the metal and that jacket temperature.
#[test]
fn uniform_dry_shell_is_a_cylinder_in_its_middle() {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.length_m = 6.0;
    scene.vessel.conductivity.slope_per_k = 0.0;
    scene.conditions.film_unevenness = 0.0;
    let solution = solve(&scene);
    let jacket_c = solution.jacket_c(3.0, 0.3);
    let (outer_m, inner_m) = (0.8_f64, 0.7_f64);
    let flux_w_m2 = 0.0235 * (jacket_c + 33.0) / (outer_m * (outer_m / inner_m).ln());
    let shape = Shape::of(&scene.vessel);
    let exposure = expose(&scene, &shape, &shape.station(3.0), 0.3);
    let supplied_w_m2 = film(&scene, &shape, &exposure, jacket_c).flux_w_m2(jacket_c);
    assert!(
        (supplied_w_m2 / flux_w_m2 - 1.0).abs() < 1e-3,
        "film {supplied_w_m2} W/m², conduction {flux_w_m2} W/m² at {jacket_c} °C"
    );
}

/// With a film so strong that the jacket is at air temperature, heat in hemispherical shell plus cylinder is exact:
/// 4πλΔT/(1/r_i − 1/r_o) + 2πλLΔT/ln(r_o/r_i).
#[test]
fn fixed_outer_temperature_gives_the_analytic_heat_of_a_capsule() {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.head = crate::scene::Head::Hemispherical;
    scene.vessel.conductivity.slope_per_k = 0.0;
    scene.conditions.wind_m_s = 1e9;
    let solution = solve(&scene);
    let (outer_m, inner_m, length_m, rise_k) = (0.8_f64, 0.7_f64, 3.6, 53.0);
    let ends_w = 4.0 * PI * 0.0235 * rise_k / (1.0 / inner_m - 1.0 / outer_m);
    let body_w = TAU * 0.0235 * length_m * rise_k / (outer_m / inner_m).ln();
    let expected_w = ends_w + body_w;
    assert!(
        (solution.inner_w / expected_w - 1.0).abs() < 5e-3,
        "{} W against {expected_w} W",
        solution.inner_w
    );
}

#[test]
fn heat_in_is_heat_out_for_wet_scenes_with_plastic_and_metal_jackets() {
    for in_plane_w_k in [1e-4, 0.02, 0.11] {
        let mut scene = Scene::plain_horizontal();
        scene.vessel.jacket.in_plane_w_k = in_plane_w_k;
        scene.patches = vec![
            Patch::ellipse(1.0, 20.0, (0.3, 0.25), 5.0),
            Patch::ellipse(3.5, -40.0, (0.3, 0.25), 2.0),
        ];
        let solution = solve(&scene);
        assert!(
            (solution.inner_w / solution.outer_w - 1.0).abs() < 1e-3,
            "{in_plane_w_k}: {} W in, {} W out after {} passes",
            solution.outer_w,
            solution.inner_w,
            solution.sweeps
        );
    }
}

/// Largest movement of the jacket temperature, K, between a grid and one half as fine again in every direction, at places
/// whose distance from the patch's centre in half-widths lies in the given span.
fn movement_k(scene: &Scene, span: std::ops::Range<f64>) -> f64 {
    let mut finer = scene.clone();
    finer.grid = Grid {
        radial: scene.grid.radial * 3 / 2,
        round: scene.grid.round * 3 / 2,
        along: scene.grid.along * 3 / 2,
    };
    let (coarse, fine) = (solve(scene), solve(&finer));
    let patch = &scene.patches[0];
    let mut largest_k = 0.0_f64;
    for k in 0..120 {
        for j in 0..60 {
            let run_m = -0.3 + 2.6 * f64::from(k) / 119.0;
            let angle_deg = -88.0 + 176.0 * f64::from(j) / 59.0;
            let u = (run_m - patch.axial_m) / patch.half_length_m;
            let v = 0.8 * f64::to_radians(angle_deg - patch.angle_deg) / patch.half_arc_m;
            if span.contains(&u.hypot(v)) {
                let round = f64::to_radians(angle_deg);
                let moved_k = coarse.jacket_c(run_m, round) - fine.jacket_c(run_m, round);
                largest_k = largest_k.max(moved_k.abs());
            }
        }
    }
    largest_k
}

#[test]
fn a_finer_grid_moves_the_jacket_by_less_than_20_mk() {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.length_m = 2.0;
    scene.grid = Grid {
        radial: 12,
        round: 120,
        along: 200,
    };
    let mut patch = Patch::ellipse(1.0, 10.0, (0.4, 0.4), 4.0);
    patch.soft_edge_m = 0.30;
    scene.patches = vec![patch.clone()];
    let soft_k = movement_k(&scene, 0.0..9.0);
    assert!(soft_k < 0.02, "soft edge: {soft_k} K");
    patch.soft_edge_m = 0.04;
    scene.patches = vec![patch];
    let inside_k = movement_k(&scene, 0.0..0.8);
    let outside_k = movement_k(&scene, 1.2..9.0);
    assert!(inside_k < 0.02 && outside_k < 0.02, "{inside_k} K, {outside_k} K");
    // On a sharp outline the jacket falls by kelvins within a few cells; there the grid places it within millimetres.
    let outline_k = movement_k(&scene, 0.8..1.2);
    assert!(outline_k < 0.25, "on the outline: {outline_k} K");
}
