use super::*;
use crate::detect::{Departure, Edge, Zone};
use crate::register::Conditions;

/// A zone colder than the jacket, `length_m` along the axis and `width_m` round it on average.
fn zone(length_m: f64, width_m: f64) -> Zone {
    Zone {
        departure: Departure::Colder,
        footing: Footing::OnJacket,
        pixels: 400,
        image_px: 400,
        axial_m: 1.0,
        angle_deg: 0.0,
        across_m: 0.0,
        top_share: None,
        length_m,
        arc_m: 1.3 * width_m,
        area_m2: length_m * width_m,
        behind_m2: 0.0,
        surface_c: 15.0,
        extreme_c: 14.0,
        sound_c: 18.0,
        contrast_k: -3.0,
        peak_contrast_k: -3.5,
        contrast_to_noise: 30.0,
        contrast_u_k: 0.1,
        edge: None,
        whole_edge: None,
        cut_share: 0.0,
        centroid_px: [50.0, 50.0],
        box_px: [40.0, 40.0, 20.0, 20.0],
        outline_px: Vec::new(),
    }
}

/// The same with an edge so wide, pixels of 5 mm.
fn edged(width_m: f64, zone: Zone) -> Zone {
    let edge = Some(Edge {
        width_m,
        pixel_m: 0.005,
    });
    Zone { edge, ..zone }
}

/// On insulation of 100 mm.
fn judged(ratio: f64, zone: &Zone, setting: Setting) -> Judged {
    of_zone(&Evidence {
        zone,
        ratio,
        ratio_interval: [0.8 * ratio, 1.2 * ratio],
        wet_side: true,
        conditions: &Conditions {
            air_c: 22.0,
            relative_humidity_pct: None,
            wind_m_s: None,
            reflected_c: None,
            distance_m: None,
            transmittance: None,
            sun: None,
        },
        setting,
        least_contrast_k: 0.4,
        service_c: -20.0,
        thickness_m: 0.1,
        settings: &super::super::Settings::default(),
    })
}

#[test]
fn a_line_that_something_in_front_cuts_out_of_a_patch_is_not_told_by_its_shape() {
    // Pixels of 5 mm.
    let whole = Zone {
        pixels: 2400,
        image_px: 2400,
        ..zone(1.2, 0.05)
    };
    let cut = Zone {
        cut_share: 0.5,
        ..whole.clone()
    };
    let mostly_hidden = Zone {
        behind_m2: 1.2 * 0.3,
        ..whole.clone()
    };
    assert_eq!(judged(3.0, &whole, Setting::Indoor).cause, Cause::Penetration);
    for zone in [cut, mostly_hidden] {
        assert_eq!(judged(3.0, &zone, Setting::Indoor).cause, Cause::WetInsulation);
    }
}

#[test]
fn a_line_too_narrow_for_moisture_is_set_aside_and_a_patch_as_long_is_not() {
    for (ratio, length_m, width_m, cause) in [
        (30.0, 1.2, 0.12, Cause::Penetration),
        (3.0, 1.2, 0.12, Cause::WetInsulation),
        (3.0, 1.2, 0.05, Cause::Penetration),
        (3.0, 1.2, 0.45, Cause::WetInsulation),
        (30.0, 1.2, 0.6, Cause::ThinOrMissingInsulation),
    ] {
        let judged = judged(ratio, &zone(length_m, width_m), Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {length_m} {width_m} {:?}", judged.because);
    }
}

#[test]
fn a_spot_far_colder_than_wet_insulation_gets_is_metal_up_to_the_size_of_a_flange() {
    for (ratio, side_m, cause) in [
        (12.5, 0.48, Cause::Penetration),
        (12.5, 0.6, Cause::ThinOrMissingInsulation),
        (25.0, 0.6, Cause::Penetration),
        (25.0, 0.7, Cause::ThinOrMissingInsulation),
        (6.0, 0.48, Cause::WetInsulation),
    ] {
        // Round it on average as much less as the fixture adds.
        let judged = judged(ratio, &zone(side_m, side_m / 1.3), Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {side_m} {:?}", judged.because);
    }
}

#[test]
fn what_lies_over_a_support_is_set_aside_and_says_so() {
    let over = Zone {
        footing: Footing::OverSupport,
        ..zone(0.4, 0.3)
    };
    let judged = judged(1.5, &over, Setting::Indoor);
    assert_eq!(judged.cause, Cause::Penetration);
    assert!(judged.because[0].contains("over a support"), "{:?}", judged.because);
}

#[test]
fn a_slight_patch_with_an_edge_sharper_than_moisture_shows_is_set_aside() {
    for (ratio, length_m, edge_m, cause) in [
        (1.6, 0.3, 0.03, Cause::Penetration),
        (1.6, 0.3, 0.05, Cause::WetInsulation),
        (1.6, 0.6, 0.03, Cause::WetInsulation),
        (3.0, 0.3, 0.03, Cause::WetInsulation),
    ] {
        let judged = judged(ratio, &edged(edge_m, zone(length_m, 0.25)), Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {length_m} {edge_m} {:?}", judged.because);
    }
}

#[test]
fn a_small_slight_patch_is_set_aside_by_the_edge_that_all_of_its_border_shows() {
    for (ratio, length_m, edge_m, cause) in [
        (1.6, 0.3, 0.03, Cause::Penetration),
        (1.6, 0.3, 0.05, Cause::WetInsulation),
        (1.6, 0.45, 0.03, Cause::WetInsulation),
        (3.0, 0.3, 0.03, Cause::WetInsulation),
    ] {
        let soft = edged(0.08, zone(length_m, 0.25));
        // Of larger zones the whole edge is not measured.
        assert!(super::super::Settings::default().small_side_m <= crate::detect::WIDEST_TOLD_BY_EDGE_M);
        let whole_edge = Some(Edge {
            width_m: edge_m,
            pixel_m: 0.005,
        });
        let judged = judged(ratio, &Zone { whole_edge, ..soft }, Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {length_m} {edge_m} {:?}", judged.because);
    }
}

#[test]
fn what_large_pixels_cannot_tell_is_not_held_against_a_zone() {
    // As many pixels as a zone of that side has of 25 mm, and many.
    let few = |side_m: f64| (side_m / 0.025).powi(2) as usize;
    for (side_m, pixels, cause) in [
        (0.18, 400, Cause::Penetration),
        (0.18, few(0.18), Cause::WetInsulation),
        (0.16, few(0.16), Cause::Penetration),
    ] {
        let square = Zone {
            pixels,
            arc_m: side_m,
            ..zone(side_m, side_m)
        };
        let judged = judged(1.6, &square, Setting::Indoor);
        assert_eq!(judged.cause, cause, "{side_m} {pixels} {:?}", judged.because);
    }
    // An edge of 30 mm about a zone 0.14 m wide.
    for (pixel_m, cause) in [(0.005, Cause::Penetration), (0.025, Cause::WetInsulation)] {
        let whole_edge = Some(Edge { width_m: 0.03, pixel_m });
        let sharp = Zone {
            whole_edge,
            pixels: (0.3 * 0.14 / (pixel_m * pixel_m)) as usize,
            ..zone(0.3, 0.14)
        };
        let judged = judged(1.6, &sharp, Setting::Indoor);
        assert_eq!(judged.cause, cause, "{pixel_m} {:?}", judged.because);
    }
}

#[test]
fn a_slight_line_is_set_aside_wider_ones_only_where_they_run_aslant() {
    let aslant = Zone {
        arc_m: 1.0,
        ..zone(2.0, 0.2)
    };
    for (ratio, zone, cause) in [
        (1.5, zone(2.0, 0.1), Cause::Penetration),
        (3.0, zone(2.0, 0.1), Cause::WetInsulation),
        (1.5, zone(2.0, 0.2), Cause::WetInsulation),
        (1.5, aslant, Cause::Penetration),
    ] {
        let judged = judged(ratio, &zone, Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {:?}", judged.because);
    }
}

#[test]
fn a_strip_along_the_top_that_fades_gradually_is_the_sky_outdoors_only() {
    let strip = |top_share, edge_m| {
        edged(
            edge_m,
            Zone {
                top_share: Some(top_share),
                ..zone(2.0, 0.3)
            },
        )
    };
    for (setting, zone, cause) in [
        (Setting::Outdoor, strip(0.7, 0.25), Cause::Reflection),
        (Setting::Indoor, strip(0.7, 0.25), Cause::WetInsulation),
        (Setting::Outdoor, strip(-0.2, 0.25), Cause::WetInsulation),
        (Setting::Outdoor, strip(0.7, 0.1), Cause::WetInsulation),
    ] {
        let judged = judged(5.0, &zone, setting);
        assert_eq!(judged.cause, cause, "{setting:?} {:?}", judged.because);
    }
}

/// The same with so wide an edge all round.
fn edged_all_round(width_m: f64, zone: Zone) -> Zone {
    let whole_edge = edged(width_m, zone.clone()).edge;
    Zone { whole_edge, ..zone }
}

#[test]
fn a_sharp_edge_low_on_the_asset_is_a_supports_and_elsewhere_a_wet_place_may_have_it() {
    // Moisture under 100 mm shows some 80 mm.
    for (footing, ratio, edge_m, cause) in [
        (Footing::WhereSupportsStand, 2.8, 0.03, Cause::Penetration),
        (Footing::WhereSupportsStand, 2.8, 0.06, Cause::WetInsulation),
        (Footing::WhereSupportsStand, 3.5, 0.03, Cause::WetInsulation),
        (Footing::OnJacket, 2.8, 0.03, Cause::WetInsulation),
    ] {
        let zone = edged_all_round(
            edge_m,
            Zone {
                footing,
                ..zone(0.4, 0.3)
            },
        );
        let judged = judged(ratio, &zone, Setting::Indoor);
        assert_eq!(judged.cause, cause, "{footing:?} {ratio} {edge_m} {:?}", judged.because);
    }
}

#[test]
fn a_wide_strong_line_is_moisture_though_its_edge_is_sharp() {
    for (ratio, width_m, cause) in [
        (3.0, 0.17, Cause::WetInsulation),
        (1.6, 0.17, Cause::Penetration),
        (3.0, 0.11, Cause::Penetration),
    ] {
        let judged = judged(ratio, &edged(0.04, zone(0.9, width_m)), Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {width_m} {:?}", judged.because);
    }
}

#[test]
fn what_is_mild_and_smaller_or_narrower_than_moisture_spreads_is_set_aside() {
    let slender = |cut_share: f64| Zone {
        cut_share,
        ..zone(0.4, 0.11)
    };
    let small = |edge_m: f64| edged_all_round(edge_m, zone(0.23, 0.18));
    for (ratio, zone, cause) in [
        (2.4, small(0.04), Cause::Penetration),
        (2.4, small(0.05), Cause::WetInsulation),
        (2.8, small(0.04), Cause::WetInsulation),
        (2.4, slender(0.0), Cause::Penetration),
        (2.4, slender(0.5), Cause::WetInsulation),
        (2.8, slender(0.0), Cause::WetInsulation),
    ] {
        let judged = judged(ratio, &zone, Setting::Indoor);
        assert_eq!(judged.cause, cause, "{ratio} {zone:?} {:?}", judged.because);
    }
}
