//! The machinery hall and the cold room.

use super::{Shot, furnish, level_camera};
use crate::encode::Format;
use crate::scene::*;
use crate::survey::{Given, Service};

pub(super) fn shots() -> Vec<Shot> {
    let mut shots = suction_accumulator();
    shots.extend(vertical_accumulator());
    shots.push(recirculator());
    shots.push(intercooler());
    shots.extend(surge_drum());
    shots.push(sound_line());
    shots.push(cold_wall());
    shots
}

fn nozzle(axial_m: f64, angle_deg: f64, diameter_m: f64) -> Fixture {
    Fixture::Nozzle {
        axial_m,
        angle_deg,
        diameter_m,
        projection_m: 0.2,
        state: NozzleState::Frosted,
    }
}

/// SA-101: two wet patches; once whole, once as two overlapping halves.
fn suction_accumulator() -> Vec<Shot> {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 1.5;
    scene.vessel.length_m = 3.4;
    furnish(&mut scene, 21.0, 48.0, 19.2);
    scene.background.floor = Some((1.2, 18.6));
    let mut low = Patch::ellipse(0.95, 35.0, (0.32, 0.24), 4.2);
    low.shape = PatchShape::Blob {
        phase_three: 0.6,
        phase_five: 2.0,
    };
    let mut side = Patch::ellipse(2.45, -12.0, (0.22, 0.18), 2.6);
    side.shape = PatchShape::RoundedRectangle;
    scene.patches = vec![low, side];
    scene.fixtures = vec![
        Fixture::Saddle {
            axial_m: 0.6,
            width_m: 0.22,
        },
        Fixture::Saddle {
            axial_m: 2.8,
            width_m: 0.22,
        },
        nozzle(1.1, -90.0, 0.17),
        nozzle(2.3, -90.0, 0.11),
        Fixture::Nameplate {
            axial_m: 1.7,
            angle_deg: 5.0,
            size_m: (0.22, 0.14),
        },
    ];
    let halves = [("left", 0.55), ("right", 2.85)].map(|(half, aim_m)| {
        let mut part = scene.clone();
        part.camera = level_camera(104.0, (aim_m, 0.05));
        Shot::new(part, "SA-101", &format!("sa-101_{half}"))
            .format(if half == "left" {
                Format::TiffCentikelvin
            } else {
                Format::PngCentikelvin
            })
            .frame_cell("facing_clock", "3")
            .frame_cell(
                "captured_at",
                if half == "left" {
                    "2026-03-03T09:14:00"
                } else {
                    "2026-03-03T09:15:00"
                },
            )
            .frame_cell("note", "simulated")
    });
    scene.camera = level_camera(66.0, (1.7, 0.1));
    let whole = Shot::new(scene, "SA-101", "sa-101")
        .history("2004", "none", "yes", "4")
        .frame_cell("facing_clock", "3")
        .frame_cell("captured_at", "2026-03-03T09:12:00")
        .frame_cell("note", "simulated");
    std::iter::once(whole).chain(halves).collect()
}

/// VA-102: one patch on the south side, the north side sound, a liquid level; and a file cut short.
fn vertical_accumulator() -> Vec<Shot> {
    let mut scene = Scene::plain_vertical();
    scene.vessel.diameter_m = 1.2;
    scene.vessel.length_m = 2.6;
    scene.service_c = -36.0;
    furnish(&mut scene, 22.0, 45.0, 20.6);
    scene.background.floor = Some((0.75, 19.8));
    scene.liquid_level = Some(LiquidLevel {
        axial_m: 1.0,
        vapour_warmer_k: 5.0,
    });
    scene.camera.pixels_per_metre = 74.0;
    scene.camera.aim_m = (1.28, 0.0);
    let legs = [-0.36, 0.36].map(|across_m| Fixture::Leg {
        across_m,
        width_m: 0.13,
    });
    scene.fixtures = legs.to_vec();
    scene.fixtures.push(nozzle(2.2, 90.0, 0.15));
    scene.patches = vec![Patch::ellipse(1.75, -18.0, (0.3, 0.22), 3.4)];
    let mut north = scene.clone();
    north.patches[0].angle_deg += 180.0;
    north.fixtures.pop();
    north.fixtures.push(nozzle(2.2, -90.0, 0.15));
    let shot = |scene: &Scene, name: &str, bearing: &str| {
        let mut shot = Shot::new(scene.clone(), "VA-102", name)
            .history("2011", "unknown", "no", "3")
            .frame_cell("facing_bearing_deg", bearing)
            .frame_cell("note", "simulated");
        shot.sheet.service = Service::SuctionPressure;
        shot
    };
    vec![
        shot(&scene, "va-102_south", "180").frame_cell("captured_at", "2026-03-03T09:31:00"),
        shot(&north, "va-102_north", "0").frame_cell("captured_at", "2026-03-03T09:36:00"),
        shot(&north, "va-102_broken", "0").format(Format::BrokenTiff),
    ]
}

/// LR-201: three patches, a level column and a ladder; hardly to be told from the wall, so its outline is given by hand.
fn recirculator() -> Shot {
    let mut scene = Scene::plain_vertical();
    scene.vessel.diameter_m = 1.8;
    scene.vessel.length_m = 3.2;
    scene.vessel.head = Head::Torispherical;
    scene.vessel.insulation_thickness_m = 0.125;
    scene.vessel.jacket = Jacket {
        emissivity: 0.91,
        in_plane_w_k: 0.02,
    };
    scene.service_c = -40.0;
    furnish(&mut scene, 20.0, 50.0, 18.9);
    scene.background.floor = Some((0.8, 18.2));
    scene.camera = Camera::facing(288, 384, 76.0, (1.5, 0.1));
    scene.camera.datum_side = DatumSide::Bottom;
    scene.camera.perspective_m = Some(14.0);
    scene.patches = vec![
        Patch::ellipse(0.7, 22.0, (0.3, 0.35), 5.2),
        Patch::ellipse(1.75, 30.0, (0.2, 0.24), 3.0),
        Patch::ellipse(2.6, 8.0, (0.18, 0.26), 2.4),
    ];
    scene.patches[0].shape = PatchShape::Blob {
        phase_three: 2.0,
        phase_five: 0.3,
    };
    scene.fixtures = vec![
        Fixture::Skirt { height_m: 0.75 },
        nozzle(2.7, 90.0, 0.2),
        Fixture::LevelColumn {
            span_m: (0.4, 2.4),
            at_m: 1.12,
            diameter_m: 0.1,
            state: NozzleState::Frosted,
        },
        Fixture::Ladder {
            middle_m: -0.45,
            width_m: 0.42,
            apparent_c: 20.1,
        },
        Fixture::Band {
            axial_m: 1.3,
            width_m: 0.02,
            emissivity: 0.5,
        },
        Fixture::Band {
            axial_m: 2.25,
            width_m: 0.02,
            emissivity: 0.5,
        },
    ];
    let mut shot = Shot::new(scene, "LR-201", "lr-201")
        .format(Format::PngCentikelvin)
        .history("1998", "failed", "no", "5")
        .frame_cell("facing_bearing_deg", "90")
        .frame_cell("captured_at", "2026-03-03T09:52:00")
        // The jacket stands within a few tenths of a kelvin of the wall behind: this outline is marked by hand.
        .frame_cell(
            "vessel_outline_px",
            "67 302 67 60 85 44 136 37 187 44 205 60 205 302 187 319 136 326 85 319",
        )
        .frame_cell("note", "simulated");
    shot.sheet.jacket = "painted-metal".into();
    shot.sheet.service = Service::SuctionPressure;
    shot
}

/// IC-301: a sound intercooler, its conductivity left to the table.
fn intercooler() -> Shot {
    let mut scene = Scene::plain_vertical();
    scene.vessel.diameter_m = 1.0;
    scene.vessel.length_m = 2.2;
    scene.vessel.insulation_thickness_m = 0.06;
    scene.service_c = -10.0;
    furnish(&mut scene, 23.0, 42.0, 22.3);
    scene.background.floor = Some((0.7, 21.5));
    scene.camera = Camera::facing(240, 320, 84.0, (1.05, 0.0));
    scene.camera.datum_side = DatumSide::Bottom;
    let legs = [-0.3, 0.3].map(|across_m| Fixture::Leg {
        across_m,
        width_m: 0.12,
    });
    scene.fixtures = legs.to_vec();
    scene.fixtures.push(nozzle(1.8, -90.0, 0.12));
    scene.fixtures.push(Fixture::InspectionPort {
        axial_m: 1.0,
        angle_deg: -20.0,
        diameter_m: 0.08,
    });
    let mut shot = Shot::new(scene, "IC-301", "ic-301")
        .format(Format::CsvSemicolon)
        .history("2019", "sound", "no", "2")
        .frame_cell("facing_bearing_deg", "180")
        .frame_cell("captured_at", "2026-03-03T10:08:00")
        .frame_cell("note", "simulated");
    shot.sheet.conductivity = Given::Tabulated;
    shot
}

/// SD-401: wet all over, seen from both sides.
fn surge_drum() -> Vec<Shot> {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 0.95;
    scene.vessel.length_m = 2.4;
    scene.vessel.head = Head::Hemispherical;
    scene.vessel.insulation_thickness_m = 0.075;
    scene.vessel.overall_ratio = 3.6;
    scene.service_c = -33.0;
    furnish(&mut scene, 19.0, 40.0, 17.2);
    scene.background.floor = Some((0.95, 16.8));
    scene.camera = level_camera(82.0, (1.2, 0.1));
    scene.fixtures = vec![
        Fixture::Saddle {
            axial_m: 0.45,
            width_m: 0.18,
        },
        Fixture::Saddle {
            axial_m: 1.95,
            width_m: 0.18,
        },
        nozzle(1.2, -90.0, 0.15),
    ];
    let mut far = scene.clone();
    far.camera.datum_side = DatumSide::Right;
    far.fixtures.push(Fixture::Pipe {
        from_m: (1.5, -30.0),
        to_m: (1.6, 30.0),
        diameter_m: 0.09,
        apparent_c: 18.6,
        layer: Layer::Front,
    });
    let near = Shot::new(scene, "SD-401", "sd-401_near")
        .format(Format::TiffCelsius)
        .history("1993", "none", "yes", "4")
        .frame_cell("facing_clock", "3")
        .frame_cell("captured_at", "2026-03-03T10:20:00")
        .frame_cell("note", "simulated");
    let far = Shot::new(far, "SD-401", "sd-401_far")
        .frame_cell("facing_clock", "9")
        .frame_cell("captured_at", "2026-03-03T10:24:00")
        .frame_cell("note", "simulated");
    vec![near, far]
}

/// SL-502: a sound suction line, only partly in view.
fn sound_line() -> Shot {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 0.34;
    scene.vessel.length_m = 6.0;
    scene.vessel.head = Head::Flat;
    scene.vessel.insulation_thickness_m = 0.075;
    scene.service_c = -33.0;
    scene.grid = Grid {
        radial: 10,
        round: 60,
        along: 240,
    };
    furnish(&mut scene, 21.0, 46.0, 20.1);
    scene.camera = level_camera(140.0, (3.0, 0.05));
    scene.fixtures = [2.2, 3.9]
        .map(|axial_m| Fixture::Hanger { axial_m, width_m: 0.05 })
        .to_vec();
    Shot::new(scene, "SL-502", "sl-502")
        .format(Format::CsvComma)
        .history("2015", "unknown", "no", "2")
        .frame_cell("facing_clock", "9")
        .frame_cell("captured_at", "2026-03-03T10:41:00")
        .frame_cell("note", "simulated")
}

/// CW-601: a cold room's wall with one wet place near its foot.
fn cold_wall() -> Shot {
    let mut scene = Scene::plain_flat();
    scene.vessel.length_m = 3.6;
    scene.vessel.height_m = 2.6;
    scene.vessel.insulation_thickness_m = 0.12;
    scene.vessel.jacket = Jacket {
        emissivity: 0.9,
        in_plane_w_k: 0.025,
    };
    scene.service_c = -24.0;
    furnish(&mut scene, 16.0, 55.0, 15.6);
    scene.background.clutter = 0;
    scene.background.floor = Some((0.0, 14.9));
    scene.camera = level_camera(78.0, (1.8, 1.25));
    let mut foot = Patch::ellipse(2.5, 0.0, (0.32, 0.24), 4.5);
    foot.height_m = 0.55;
    foot.shape = PatchShape::Blob {
        phase_three: 1.1,
        phase_five: 4.0,
    };
    scene.patches = vec![foot];
    scene.fixtures = [1.2, 2.4]
        .map(|axial_m| Fixture::Band {
            axial_m,
            width_m: 0.012,
            emissivity: 0.75,
        })
        .to_vec();
    let mut shot = Shot::new(scene, "CW-601", "cw-601")
        .asset_cell("insulated_year", "2008")
        .frame_cell("facing_bearing_deg", "270")
        .frame_cell("captured_at", "2026-03-03T11:02:00")
        .frame_cell("note", "simulated");
    shot.sheet.jacket = "painted-metal".into();
    shot
}
