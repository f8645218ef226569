//! Everything that looks like moisture and is not.

use crate::random::Prng;
use crate::scene::*;

/// Adds clutter to a scene: each kind with its own chance.
pub(super) fn add_clutter(scene: &mut Scene, prng: &mut Prng) {
    add_on_jacket(scene, prng);
    add_in_front(scene, prng);
    add_surroundings(scene, prng);
    scene.camera.column_noise_k = prng.between(0.0, 0.03);
    scene.camera.vignetting_k = prng.between(0.0, 0.4);
    scene.background.clutter += 3;
    scene.background.clutter_k = 2.5;
}

fn place(scene: &Scene, prng: &mut Prng) -> (f64, f64) {
    (
        prng.between(0.1, 0.9) * scene.vessel.length_m,
        prng.between(-55.0, 55.0),
    )
}

fn add_on_jacket(scene: &mut Scene, prng: &mut Prng) {
    if prng.chance(0.6) {
        let (axial_m, angle_deg) = place(scene, prng);
        let size_m = (prng.between(0.15, 0.3), prng.between(0.1, 0.2));
        scene.fixtures.push(Fixture::Nameplate {
            axial_m,
            angle_deg,
            size_m,
        });
    }
    let bands = prng.index(4);
    for k in 0..bands {
        scene.fixtures.push(Fixture::Band {
            axial_m: scene.vessel.length_m * (k as f64 + 0.7) / (bands as f64 + 0.4),
            width_m: prng.between(0.015, 0.03),
            emissivity: prng.between(0.3, 0.8),
        });
    }
    for _ in 0..prng.index(3) {
        let (axial_m, angle_deg) = place(scene, prng);
        scene.fixtures.push(Fixture::InspectionPort {
            axial_m,
            angle_deg,
            diameter_m: prng.between(0.06, 0.1),
        });
    }
    if prng.chance(0.25) {
        let (axial_m, angle_deg) = place(scene, prng);
        scene.fixtures.push(Fixture::SightGlass {
            axial_m,
            angle_deg,
            diameter_m: prng.between(0.06, 0.1),
        });
    }
    if prng.chance(0.25) {
        let (axial_m, angle_deg) = place(scene, prng);
        scene.fixtures.push(Fixture::FrostPatch {
            axial_m,
            angle_deg,
            radius_m: prng.between(0.04, 0.08),
        });
    }
}

fn add_in_front(scene: &mut Scene, prng: &mut Prng) {
    let (length_m, radius_m) = (scene.vessel.length_m, 0.5 * scene.vessel.diameter_m);
    let upright = scene.vessel.posture == Posture::VerticalCylinder;
    if prng.chance(0.4) {
        let middle_m = if upright {
            prng.between(-0.6, 0.6) * radius_m
        } else {
            prng.between(0.15, 0.85) * length_m
        };
        scene.fixtures.push(Fixture::Ladder {
            middle_m,
            width_m: 0.42,
            apparent_c: scene.conditions.air_c + prng.between(-0.6, 0.6),
        });
    }
    if upright && prng.chance(0.5) {
        let side = if prng.chance(0.5) { 1.0 } else { -1.0 };
        scene.fixtures.push(Fixture::LevelColumn {
            span_m: (0.15 * length_m, 0.8 * length_m),
            at_m: side * (radius_m + prng.between(0.15, 0.3)),
            diameter_m: prng.between(0.08, 0.15),
            state: [NozzleState::Frosted, NozzleState::Bare, NozzleState::Insulated][prng.index(3)],
        });
    }
    if prng.chance(0.25) {
        let middle_m = (prng.between(0.2, 0.8) * length_m, prng.between(-0.5, 0.5) * radius_m);
        let tall_m = (prng.between(0.08, 0.15), prng.between(0.2, 0.4));
        scene.fixtures.push(Fixture::WarmReflection {
            middle_m,
            half_m: if upright { (tall_m.1, tall_m.0) } else { tall_m },
            temperature_c: prng.between(30.0, 45.0),
        });
    }
}

fn add_surroundings(scene: &mut Scene, prng: &mut Prng) {
    scene.conditions.stratification_k_m = prng.between(0.0, 0.6);
    match prng.index(5) {
        0 => scene.conditions.sun_w_m2 = prng.between(4.0, 15.0),
        1 => scene.conditions.overhead_offset_k = prng.between(-35.0, -15.0),
        2 => scene.conditions.overhead_offset_k = prng.between(1.0, 4.0),
        _ => {}
    }
    if scene.vessel.posture == Posture::VerticalCylinder && prng.chance(0.4) {
        scene.liquid_level = Some(LiquidLevel {
            axial_m: prng.between(0.25, 0.7) * scene.vessel.length_m,
            vapour_warmer_k: prng.between(4.0, 15.0),
        });
    }
}
