//! The yard.

use super::{Shot, furnish, level_camera};
use crate::scene::*;

pub(super) fn shots() -> Vec<Shot> {
    let mut shots = suction_line();
    shots.push(bright_vessel());
    shots.extend(yard_accumulator());
    shots
}

fn yard(scene: &mut Scene, air_c: f64, wind_m_s: f64) {
    furnish(scene, air_c, 70.0, air_c - 0.8);
    scene.conditions.reflected_c = air_c - 2.0;
    scene.conditions.stratification_k_m = 0.0;
    scene.conditions.wind_m_s = wind_m_s;
    scene.background.slope_k_m = (0.05, 0.0);
    scene.background.texture_k = 0.15;
}

/// SL-501: a suction line on hangers with one wet length, seen in two pictures.
fn suction_line() -> Vec<Shot> {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 0.46;
    scene.vessel.length_m = 7.0;
    scene.vessel.head = Head::Flat;
    scene.vessel.jacket = Jacket {
        emissivity: 0.92,
        in_plane_w_k: 8e-4,
    };
    scene.grid = Grid {
        radial: 10,
        round: 72,
        along: 280,
    };
    yard(&mut scene, 12.0, 0.6);
    scene.fixtures = [0.9, 2.7, 4.5, 6.3]
        .map(|axial_m| Fixture::Hanger { axial_m, width_m: 0.06 })
        .to_vec();
    scene.patches = vec![Patch::ellipse(3.55, 14.0, (0.42, 0.2), 4.8)];
    [("a", 2.6), ("b", 4.3)]
        .map(|(part, aim_m)| {
            let mut view = scene.clone();
            view.camera = level_camera(110.0, (aim_m, -0.05));
            let mut shot = Shot::new(view, "SL-501", &format!("sl-501_{part}"))
                .outdoor()
                .history("2001", "none", "yes", "3")
                .frame_cell("facing_clock", "3")
                .frame_cell("sun", "overcast")
                .frame_cell(
                    "captured_at",
                    if part == "a" {
                        "2026-03-03T07:10:00"
                    } else {
                        "2026-03-03T07:12:00"
                    },
                )
                .frame_cell("note", "simulated");
            shot.sheet.jacket = "mastic".into();
            shot
        })
        .into()
}

/// AC-701: a bright aluminium jacket, which a thermogram cannot answer for.
fn bright_vessel() -> Shot {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 1.3;
    scene.vessel.length_m = 2.8;
    scene.vessel.jacket = Jacket {
        emissivity: 0.08,
        in_plane_w_k: 0.11,
    };
    yard(&mut scene, 11.0, 0.8);
    scene.conditions.overhead_offset_k = -32.0;
    scene.background.floor = Some((1.05, 9.0));
    scene.camera = level_camera(72.0, (1.4, 0.1));
    scene.patches = vec![Patch::ellipse(1.9, 20.0, (0.3, 0.25), 4.0)];
    scene.fixtures = vec![
        Fixture::Saddle {
            axial_m: 0.5,
            width_m: 0.2,
        },
        Fixture::Saddle {
            axial_m: 2.3,
            width_m: 0.2,
        },
        Fixture::WarmReflection {
            middle_m: (0.9, 0.15),
            half_m: (0.1, 0.3),
            temperature_c: 29.0,
        },
    ];
    let mut shot = Shot::new(scene, "AC-701", "ac-701")
        .outdoor()
        .history("2009", "unknown", "no", "3")
        .frame_cell("facing_clock", "3")
        .frame_cell("sun", "overcast")
        .frame_cell("captured_at", "2026-03-03T07:25:00")
        .frame_cell("note", "simulated");
    shot.sheet.jacket = "bright-aluminium".into();
    shot
}

/// A level vessel under an open sky with a patch on either side.
fn yard_scene() -> Scene {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 2.0;
    scene.vessel.length_m = 4.2;
    scene.vessel.jacket = Jacket {
        emissivity: 0.9,
        in_plane_w_k: 0.02,
    };
    scene.vessel.head = Head::Torispherical;
    scene.service_c = -38.0;
    scene.grid = Grid {
        radial: 10,
        round: 140,
        along: 200,
    };
    yard(&mut scene, 14.0, 0.9);
    scene.conditions.overhead_offset_k = -9.0;
    scene.background.floor = Some((1.45, 11.5));
    scene.camera = Camera::facing(384, 288, 68.0, (2.1, 0.15));
    scene.patches = vec![
        Patch::ellipse(1.3, 30.0, (0.4, 0.32), 4.4),
        Patch::ellipse(3.1, 176.0, (0.3, 0.3), 5.5),
    ];
    scene.patches[0].shape = PatchShape::Blob {
        phase_three: 4.4,
        phase_five: 1.0,
    };
    scene.patches[1].depth = Depth::OuterShare(0.7);
    let saddles = [0.8, 3.4].map(|axial_m| Fixture::Saddle { axial_m, width_m: 0.28 });
    scene.fixtures = saddles.to_vec();
    scene.fixtures.push(Fixture::Nozzle {
        axial_m: 2.1,
        angle_deg: -90.0,
        diameter_m: 0.22,
        projection_m: 0.2,
        state: NozzleState::Frosted,
    });
    scene
}

/// OA-801: one picture of either side; and the first side again in a gale and sunshine.
fn yard_accumulator() -> Vec<Shot> {
    let scene = yard_scene();
    let mut far = scene.clone();
    far.camera.datum_side = DatumSide::Right;
    // Seen from the other side, angles count from the other facing line, still downwards positive.
    for patch in &mut far.patches {
        patch.angle_deg = 180.0 - patch.angle_deg;
    }
    let mut gale = scene.clone();
    gale.conditions.wind_m_s = 9.0;
    gale.conditions.sun_w_m2 = 180.0;
    gale.conditions.overhead_offset_k = 0.0;
    let shot = |scene: Scene, name: &str, clock: &str, sun: &str, time: &str| {
        let mut shot = Shot::new(scene, "OA-801", name)
            .outdoor()
            .history("2006", "unknown", "yes", "5")
            .frame_cell("facing_clock", clock)
            .frame_cell("sun", sun)
            .frame_cell("captured_at", time)
            .frame_cell("note", "simulated");
        shot.sheet.jacket = "painted-metal".into();
        shot
    };
    vec![
        shot(scene, "oa-801_east", "3", "none", "2026-03-03T06:20:00"),
        shot(far, "oa-801_west", "9", "none", "2026-03-03T06:31:00"),
        shot(gale, "oa-801_gale", "3", "direct", "2026-03-03T13:05:00"),
    ]
}
