//! Clutter of one kind at a time, so that a study can tell the kinds apart.

use super::upright;
use crate::random::Prng;
use crate::scene::*;

/// A kind of thing that looks like moisture and is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClutterKind {
    /// Supports of an upright vessel, legs that lap over the shell.
    Legs,
    /// Saddles of a level vessel.
    Saddles,
    /// Bare metal nozzles, white with frost.
    FrostedNozzles,
    /// Bare metal nozzles without frost.
    BareNozzles,
    /// Insulated nozzles.
    InsulatedNozzles,
    /// A bare level column, frosted or not.
    BareLevelColumn,
    /// An insulated level column.
    InsulatedLevelColumn,
    /// Sight glasses.
    SightGlasses,
    /// A ladder in front.
    Ladder,
    /// Pipes in front.
    PipesInFront,
    /// Hangers of a pipe run.
    Hangers,
    /// Laps of the jacket lengthwise.
    Seams,
    /// Bands round the jacket.
    Bands,
    /// A nameplate on a stand-off.
    Nameplate,
    /// Inspection ports.
    InspectionPorts,
    /// Frost patches on dry jacket.
    FrostPatches,
    /// A top warmed by an overcast sky.
    SunWarmedTop,
    /// A clear cold sky above.
    ColdSky,
    /// A person mirrored in the jacket.
    WarmPerson,
    /// A lamp mirrored in the jacket.
    WarmLamp,
    /// The level of boiling liquid inside an upright vessel.
    LiquidLevel,
    /// Air much warmer above than below.
    StratifiedRoom,
    /// Readings that fall towards the picture's corners.
    Vignetting,
    /// Columns of the camera that read differently.
    ColumnNoise,
}

impl ClutterKind {
    /// Every kind.
    pub const ALL: [Self; 24] = [
        Self::Saddles,
        Self::Legs,
        Self::FrostedNozzles,
        Self::BareNozzles,
        Self::InsulatedNozzles,
        Self::BareLevelColumn,
        Self::InsulatedLevelColumn,
        Self::SightGlasses,
        Self::Ladder,
        Self::PipesInFront,
        Self::Hangers,
        Self::Seams,
        Self::Bands,
        Self::Nameplate,
        Self::InspectionPorts,
        Self::FrostPatches,
        Self::SunWarmedTop,
        Self::ColdSky,
        Self::WarmPerson,
        Self::WarmLamp,
        Self::LiquidLevel,
        Self::StratifiedRoom,
        Self::Vignetting,
        Self::ColumnNoise,
    ];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Saddles => "saddles",
            Self::Legs => "legs",
            Self::FrostedNozzles => "nozzles, frosted",
            Self::BareNozzles => "nozzles, bare",
            Self::InsulatedNozzles => "nozzles, insulated",
            Self::BareLevelColumn => "level column, bare",
            Self::InsulatedLevelColumn => "level column, insulated",
            Self::SightGlasses => "sight glasses",
            Self::Ladder => "ladder in front",
            Self::PipesInFront => "pipes in front",
            Self::Hangers => "hangers of a pipe run",
            Self::Seams => "jacket seams",
            Self::Bands => "jacket bands",
            Self::Nameplate => "nameplate on stand-off",
            Self::InspectionPorts => "inspection ports",
            Self::FrostPatches => "frost patches",
            Self::SunWarmedTop => "sun-warmed top",
            Self::ColdSky => "cold sky reflected",
            Self::WarmPerson => "warm person reflected",
            Self::WarmLamp => "lamp reflected",
            Self::LiquidLevel => "liquid level",
            Self::StratifiedRoom => "stratified room",
            Self::Vignetting => "vignetting",
            Self::ColumnNoise => "column noise",
        }
    }

    /// Whether the kind occurs on an asset of this posture.
    pub fn suits(self, posture: Posture) -> bool {
        match self {
            Self::Saddles | Self::Hangers => posture == Posture::HorizontalCylinder,
            Self::Legs | Self::LiquidLevel => posture == Posture::VerticalCylinder,
            Self::Ladder
            | Self::PipesInFront
            | Self::Seams
            | Self::Bands
            | Self::Nameplate
            | Self::InspectionPorts
            | Self::FrostPatches
            | Self::WarmPerson
            | Self::WarmLamp
            | Self::StratifiedRoom
            | Self::Vignetting
            | Self::ColumnNoise => true,
            _ => posture != Posture::Flat,
        }
    }

    /// Whether the kind needs an open sky, so that the asset stands outdoors.
    pub fn is_outdoor(self) -> bool {
        matches!(self, Self::SunWarmedTop | Self::ColdSky)
    }
}

/// Adds clutter of one kind to a scene that it suits.
pub fn add_kind(scene: &mut Scene, prng: &mut Prng, kind: ClutterKind) {
    match kind {
        ClutterKind::Saddles | ClutterKind::Legs => add_supports(scene, prng),
        ClutterKind::FrostedNozzles => add_nozzles(scene, prng, NozzleState::Frosted),
        ClutterKind::BareNozzles => add_nozzles(scene, prng, NozzleState::Bare),
        ClutterKind::InsulatedNozzles => add_nozzles(scene, prng, NozzleState::Insulated),
        ClutterKind::BareLevelColumn => {
            let state = [NozzleState::Frosted, NozzleState::Bare][prng.index(2)];
            add_level_column(scene, prng, state);
        }
        ClutterKind::InsulatedLevelColumn => add_level_column(scene, prng, NozzleState::Insulated),
        ClutterKind::Ladder | ClutterKind::PipesInFront | ClutterKind::Hangers => add_in_front(scene, prng, kind),
        ClutterKind::Seams | ClutterKind::Bands => add_laps(scene, prng, kind),
        ClutterKind::WarmPerson | ClutterKind::WarmLamp => add_mirrored(scene, prng, kind),
        ClutterKind::SightGlasses
        | ClutterKind::Nameplate
        | ClutterKind::InspectionPorts
        | ClutterKind::FrostPatches => add_spots(scene, prng, kind),
        _ => add_all_over(scene, prng, kind),
    }
}

/// A stretch along the axis that is in view, m.
fn in_view_m(scene: &Scene) -> (f64, f64) {
    let camera = &scene.camera;
    let long_px = if upright(scene) { camera.height } else { camera.width };
    let reach_m = 0.5 * long_px as f64 / camera.pixels_per_metre;
    let low_m = (camera.aim_m.0 - reach_m).max(0.0);
    (low_m, (camera.aim_m.0 + reach_m).min(scene.vessel.length_m))
}

/// An axial place in view, the given share of it away from either end.
fn along_m(scene: &Scene, prng: &mut Prng, margin: f64) -> f64 {
    let (low_m, high_m) = in_view_m(scene);
    low_m + prng.between(margin, 1.0 - margin) * (high_m - low_m)
}

/// Second coordinate of a place on the side seen: degrees from the facing line, or m above a flat's bottom edge.
fn round(scene: &Scene, prng: &mut Prng) -> f64 {
    match scene.vessel.posture {
        Posture::Flat => prng.between(0.1, 0.9) * scene.vessel.height_m,
        _ => prng.between(-55.0, 55.0),
    }
}

/// A place across the picture on the asset, m from the axis or above a flat's bottom edge.
fn across_m(scene: &Scene, prng: &mut Prng) -> f64 {
    match scene.vessel.posture {
        Posture::Flat => prng.between(0.15, 0.85) * scene.vessel.height_m,
        _ => prng.between(-0.7, 0.7) * 0.5 * scene.vessel.diameter_m,
    }
}

fn add_supports(scene: &mut Scene, prng: &mut Prng) {
    let radius_m = 0.5 * scene.vessel.diameter_m;
    let bare = |f: &Fixture| !matches!(f, Fixture::Saddle { .. } | Fixture::Leg { .. } | Fixture::Skirt { .. });
    scene.fixtures.retain(bare);
    if upright(scene) {
        let (spread, width_m) = (prng.between(0.3, 0.85), prng.between(0.1, 0.25));
        for share in [-spread, 0.05 * spread, spread] {
            let across_m = share * radius_m;
            scene.fixtures.push(Fixture::Leg { across_m, width_m });
        }
    } else {
        let width_m = prng.between(0.15, 0.35);
        for margin in [0.1, 0.6] {
            let (low_m, high_m) = in_view_m(scene);
            let axial_m = low_m + (margin + prng.between(0.0, 0.3)) * (high_m - low_m);
            scene.fixtures.push(Fixture::Saddle { axial_m, width_m });
        }
    }
}

fn add_nozzles(scene: &mut Scene, prng: &mut Prng, state: NozzleState) {
    for _ in 0..1 + prng.index(3) {
        let side = if prng.chance(0.5) { 90.0 } else { -90.0 };
        let angle_deg = if prng.chance(0.4) {
            side
        } else {
            prng.between(-60.0, 60.0)
        };
        let axial_m = along_m(scene, prng, 0.1);
        let diameter_m = prng.between(0.06, 0.2).min(0.4 * scene.vessel.diameter_m);
        scene.fixtures.push(Fixture::Nozzle {
            axial_m,
            angle_deg,
            diameter_m,
            projection_m: prng.between(0.12, 0.3),
            state,
        });
    }
}

fn add_level_column(scene: &mut Scene, prng: &mut Prng, state: NozzleState) {
    let (length_m, radius_m) = (scene.vessel.length_m, 0.5 * scene.vessel.diameter_m);
    let diameter_m = prng.between(0.06, 0.15).min(0.4 * radius_m);
    let column = if upright(scene) {
        let side = if prng.chance(0.5) { 1.0 } else { -1.0 };
        // Beside the vessel, or before it.
        let away_m = if prng.chance(0.5) {
            radius_m + prng.between(0.12, 0.3)
        } else {
            prng.between(0.1, 0.7) * radius_m
        };
        Fixture::LevelColumn {
            span_m: (prng.between(0.1, 0.25) * length_m, prng.between(0.7, 0.9) * length_m),
            at_m: side * away_m,
            diameter_m,
            state,
        }
    } else {
        Fixture::LevelColumn {
            span_m: (-prng.between(0.7, 1.3) * radius_m, prng.between(0.4, 0.9) * radius_m),
            at_m: along_m(scene, prng, 0.1),
            diameter_m,
            state,
        }
    };
    scene.fixtures.push(column);
}

fn add_in_front(scene: &mut Scene, prng: &mut Prng, kind: ClutterKind) {
    let air_c = scene.conditions.air_c;
    if kind == ClutterKind::Ladder {
        let middle_m = if upright(scene) {
            across_m(scene, prng)
        } else {
            along_m(scene, prng, 0.15)
        };
        scene.fixtures.push(Fixture::Ladder {
            middle_m,
            width_m: prng.between(0.36, 0.48),
            apparent_c: air_c + prng.between(-0.8, 0.8),
        });
        return;
    }
    if kind == ClutterKind::Hangers {
        let (axial_m, width_m) = (along_m(scene, prng, 0.15), prng.between(0.04, 0.1));
        scene.fixtures.push(Fixture::Hanger { axial_m, width_m });
        return;
    }
    for _ in 0..1 + prng.index(3) {
        let (axial_m, side_m) = (along_m(scene, prng, 0.1), across_m(scene, prng));
        let slant_m = prng.between(-1.0, 1.0);
        let (from_m, to_m) = if prng.chance(0.5) {
            ((axial_m - slant_m, -20.0), (axial_m + slant_m, 20.0))
        } else {
            ((-20.0, side_m - slant_m), (20.0, side_m + slant_m))
        };
        scene.fixtures.push(Fixture::Pipe {
            from_m,
            to_m,
            diameter_m: prng.between(0.04, 0.16).min(0.3 * scene.vessel.diameter_m),
            apparent_c: air_c + prng.between(-5.0, 3.0),
            layer: Layer::Front,
        });
    }
}

fn add_laps(scene: &mut Scene, prng: &mut Prng, kind: ClutterKind) {
    let count = 1 + prng.index(3);
    for _ in 0..count {
        let emissivity = (scene.vessel.jacket.emissivity - prng.between(0.03, 0.5)).max(0.3);
        let width_m = prng.between(0.015, 0.04);
        scene.fixtures.push(if kind == ClutterKind::Seams {
            Fixture::Seam {
                angle_deg: round(scene, prng),
                width_m,
                emissivity,
            }
        } else {
            Fixture::Band {
                axial_m: along_m(scene, prng, 0.05),
                width_m,
                emissivity,
            }
        });
    }
}

fn add_mirrored(scene: &mut Scene, prng: &mut Prng, kind: ClutterKind) {
    let (half_up_m, half_wide_m, temperature_c) = if kind == ClutterKind::WarmPerson {
        (
            prng.between(0.25, 0.5),
            prng.between(0.1, 0.18),
            prng.between(29.0, 34.0),
        )
    } else {
        (
            prng.between(0.04, 0.1),
            prng.between(0.1, 0.4),
            prng.between(40.0, 70.0),
        )
    };
    let middle_m = (along_m(scene, prng, 0.15), across_m(scene, prng));
    scene.fixtures.push(Fixture::WarmReflection {
        middle_m,
        half_m: if upright(scene) {
            (half_up_m, half_wide_m)
        } else {
            (half_wide_m, half_up_m)
        },
        temperature_c,
    });
}

fn add_spots(scene: &mut Scene, prng: &mut Prng, kind: ClutterKind) {
    for _ in 0..1 + prng.index(3) {
        let (axial_m, angle_deg) = (along_m(scene, prng, 0.1), round(scene, prng));
        scene.fixtures.push(match kind {
            ClutterKind::SightGlasses => Fixture::SightGlass {
                axial_m,
                angle_deg,
                diameter_m: prng.between(0.06, 0.1),
            },
            ClutterKind::Nameplate => Fixture::Nameplate {
                axial_m,
                angle_deg,
                size_m: (prng.between(0.12, 0.3), prng.between(0.08, 0.2)),
            },
            ClutterKind::InspectionPorts => Fixture::InspectionPort {
                axial_m,
                angle_deg,
                diameter_m: prng.between(0.06, 0.1),
            },
            _ => Fixture::FrostPatch {
                axial_m,
                angle_deg,
                radius_m: prng.between(0.04, 0.1),
            },
        });
        if kind == ClutterKind::Nameplate {
            return;
        }
    }
}

fn add_all_over(scene: &mut Scene, prng: &mut Prng, kind: ClutterKind) {
    let (conditions, camera) = (&mut scene.conditions, &mut scene.camera);
    match kind {
        ClutterKind::SunWarmedTop => conditions.sun_w_m2 = prng.between(4.0, 15.0),
        ClutterKind::ColdSky => conditions.overhead_offset_k = prng.between(-35.0, -15.0),
        ClutterKind::StratifiedRoom => conditions.stratification_k_m = prng.between(0.3, 0.8),
        ClutterKind::Vignetting => camera.vignetting_k = prng.between(0.15, 0.5),
        ClutterKind::ColumnNoise => camera.column_noise_k = prng.between(0.01, 0.04),
        ClutterKind::LiquidLevel => {
            let axial_m = along_m(scene, prng, 0.2);
            scene.liquid_level = Some(LiquidLevel {
                axial_m,
                vapour_warmer_k: prng.between(4.0, 15.0),
            });
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::{Wish, random_scene};

    #[test]
    fn every_kind_changes_a_scene_that_it_suits() {
        for kind in ClutterKind::ALL {
            let mut suited = 0;
            for geometry in crate::draw::Geometry::ALL {
                let mut prng = Prng::new(5);
                let wish = Wish {
                    geometry: Some(geometry),
                    ..Wish::default()
                };
                let mut scene = random_scene(&mut prng, &wish);
                if !kind.suits(scene.vessel.posture) {
                    continue;
                }
                suited += 1;
                let before = format!("{scene:?}");
                add_kind(&mut scene, &mut prng, kind);
                assert_ne!(before, format!("{scene:?}"), "{} on {geometry:?}", kind.name());
            }
            assert!(suited > 0, "{} suits nothing", kind.name());
        }
    }
}
