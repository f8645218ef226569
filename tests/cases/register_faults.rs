//! Survey folders that are not in order: each fault in the words in which it is told.

use super::register::{Cells, Folder, GONE, SURVEY};

/// The only fault of an asset row with these cells.
#[track_caller]
fn asset_fault(changes: Cells, expected: &str) {
    assert_eq!(
        Folder::new().asset(changes).faults(),
        format!("error: assets.csv {expected}")
    );
}

/// The only fault of a frame row with these cells.
#[track_caller]
fn frame_fault(changes: Cells, expected: &str) {
    assert_eq!(
        Folder::new().frame(changes).faults(),
        format!("error: frames.csv {expected}")
    );
}

/// The only fault of a survey.toml with these lines after its head.
#[track_caller]
fn survey_fault(lines: &str, expected: &str) {
    let folder = Folder::new();
    folder.write("survey.toml", format!("{SURVEY}{lines}"));
    assert_eq!(folder.faults(), format!("error: survey.toml{expected}"));
}

/// The only fault of a frames.csv with this text.
#[track_caller]
fn sheet_fault(text: impl AsRef<[u8]>, expected: &str) {
    assert_eq!(
        Folder::new().write("frames.csv", text).faults(),
        format!("error: frames.csv{expected}")
    );
}

#[test]
fn words_of_assets() {
    asset_fault(
        &[("insulation", "pirr")],
        "row 2, column insulation: \"pirr\" is not an insulation material (accepted: pir, pur, xps, eps, phenolic, \
         cellular-glass, mineral-wool, elastomeric, cork)\n  hint: did you mean \"pir\"?",
    );
    asset_fault(
        &[("jacket", "gold")],
        "row 2, column jacket: \"gold\" is not a jacket material (accepted: pvc, mastic, painted-metal, \
         weathered-aluminium, bright-aluminium, stainless, galvanised)",
    );
    asset_fault(
        &[("shape", "sphere")],
        "row 2, column shape: \"sphere\" is not a shape (accepted: horizontal-cylinder, vertical-cylinder, flat)",
    );
    asset_fault(
        &[("setting", "outdoors")],
        "row 2, column setting: \"outdoors\" is not a setting (accepted: indoor, outdoor)\n  hint: did you mean \"outdoor\"?",
    );
    asset_fault(
        &[("cycling", "often")],
        "row 2, column cycling: \"often\" is not an answer (accepted: yes, no)",
    );
}

#[test]
fn numbers_of_assets() {
    asset_fault(
        &[("outside_diameter_mm", "1.8")],
        "row 2, column outside_diameter_mm: \"1.8\" is not possible (accepted: 20 to 30000 mm)\n  hint: looks like metres: \
         1.8 m would be 1800",
    );
    asset_fault(
        &[("insulation_thickness_mm", "4")],
        "row 2, column insulation_thickness_mm: \"4\" is not possible (accepted: 5 to 1000 mm)\n  hint: looks like inches: \
         4 in would be 101.6",
    );
    asset_fault(
        &[("length_mm", "6 m")],
        "row 2, column length_mm: \"6 m\" is not a number (accepted: 50 to 200000 mm)\n  hint: write 6 alone: the unit \
         stands in the column's name",
    );
    asset_fault(
        &[("length_mm", GONE), ("length_in", "6000,5")],
        "row 2, column length_in: \"6000,5\" is not a number (accepted: 1.9685 to 7874.02 in)\n  hint: write 6000.5",
    );
    asset_fault(
        &[("emissivity", "95")],
        "row 2, column emissivity: \"95\" is not possible (accepted: above 0, up to 1)\n  hint: looks like per cent: 95 % \
         would be 0.95",
    );
    asset_fault(
        &[("insulation_conductivity_w_mk", "24")],
        "row 2, column insulation_conductivity_w_mk: \"24\" is not possible (accepted: 0.005 to 0.5 W/(m K))",
    );
    asset_fault(
        &[("consequence", "2.5")],
        "row 2, column consequence: \"2.5\" is not possible (accepted: 1 to 5, whole)",
    );
    asset_fault(
        &[("insulated_year", "2027")],
        "row 2, column insulated_year: \"2027\" is not possible (accepted: 1900 to 2026, whole)",
    );
    asset_fault(
        &[("insulation_thickness_mm", "900")],
        "row 2, column insulation_thickness_mm: \"900\" leaves no room for the vessel inside the outside diameter \
         (accepted: less than the radius, 900 mm)\n  hint: state the diameter over the jacket, not over the bare metal",
    );
}

#[test]
fn service_of_assets() {
    asset_fault(
        &[("service_temperature_c", "")],
        "row 2, column service_temperature_c: is blank, and no suction pressure is given either (accepted: one of \
         service_temperature_c, suction_pressure_kpa_gauge, suction_pressure_inhg_vacuum)",
    );
    asset_fault(
        &[("suction_pressure_psig", "10")],
        "row 2, column suction_pressure_psig: \"10\" stands beside service_temperature_c, and either alone states the \
         service temperature (accepted: one of service_temperature_c, suction_pressure_kpa_gauge, \
         suction_pressure_inhg_vacuum)",
    );
    asset_fault(
        &[("service_temperature_c", ""), ("suction_pressure_kpa_gauge", "-101.4")],
        "row 2, column suction_pressure_kpa_gauge: \"-101.4\" lies below a full vacuum, -0.075 kPa absolute (accepted: \
         about 6 to 2614 kPa absolute, which is −77.6 to 60 °C)",
    );
    asset_fault(
        &[("service_temperature_c", ""), ("suction_pressure_inhg_vacuum", "29")],
        "row 2, column suction_pressure_inhg_vacuum: \"29\" is no pressure at which ammonia is saturated under cold \
         insulation, 3.11972 kPa absolute (accepted: about 6 to 2614 kPa absolute, which is −77.6 to 60 °C)",
    );
    asset_fault(
        &[("service_temperature_c", "-120")],
        "row 2, column service_temperature_c: \"-120\" is not possible (accepted: -90 to 60 °C)",
    );
    asset_fault(
        &[("coldest_metal_c", "10"), ("warmest_metal_c", "-10")],
        "row 2, column warmest_metal_c: \"-10\" is colder than the coldest metal (accepted: at least 10 °C)",
    );
    asset_fault(
        &[("coldest_metal_c", "-10")],
        "row 2, column coldest_metal_c: \"-10\" is warmer than the service temperature, which is the warmest metal \
         (accepted: up to -33 °C)",
    );
}

#[test]
fn what_every_asset_needs() {
    asset_fault(
        &[("length_mm", "")],
        "row 2, column length_mm: is blank, but every row needs it (accepted: 50 to 200000 mm)",
    );
    asset_fault(
        &[("outside_diameter_mm", GONE)],
        "row 2, column outside_diameter_mm: is blank, but a cylinder needs it (accepted: 20 to 30000 mm)",
    );
    asset_fault(
        &[("shape", "flat")],
        "row 2, column height_mm: is blank, but a flat asset needs it (accepted: 50 to 200000 mm)",
    );
    asset_fault(
        &[("length_mm", GONE), ("lenght_mm", "6000")],
        "row 1, column length_mm: is missing from the heading (accepted: length_mm or length_in)\n  hint: rename the \
         column \"lenght_mm\"",
    );
    let folder = Folder::new();
    let text = std::fs::read_to_string(folder.path().join("assets.csv")).unwrap();
    let row = text.lines().nth(1).unwrap();
    folder.write("assets.csv", format!("{text}{row}\n"));
    assert_eq!(
        folder.faults(),
        "error: assets.csv row 3, column asset: \"V-101\" stands already in row 2 (accepted: a tag that stands once)"
    );
}

#[test]
fn both_twins_in_one_sheet() {
    asset_fault(
        &[("length_in", "240")],
        "row 1, column length_in: stands beside length_mm, which says the same in another unit\n  hint: keep one of \
         length_mm and length_in",
    );
    frame_fault(
        &[("wind_mph", "1"), ("wind_m_s", "1")],
        "row 1, column wind_m_s: stands beside wind_mph, which says the same in another unit\n  hint: keep one of \
         wind_mph and wind_m_s",
    );
    sheet_fault(
        "file,asset,temperature_scale,air_temperature_c,file\na,V-101,celsius,1,b\n",
        " row 1, column file: stands twice in the heading",
    );
    survey_fault(
        "[defaults]\nair_temperature_c = 1\nair_temperature_f = 40\n",
        " line 6, key defaults.air_temperature_f: says again what defaults.air_temperature_c says in another unit\n  \
         hint: keep one of the two",
    );
}

#[test]
fn references_of_frames() {
    frame_fault(
        &[("asset", "V-110")],
        "row 2, column asset: \"V-110\" is not a tag of the asset register (accepted: a tag of the sheet assets)\n  hint: \
         did you mean \"V-101\"?",
    );
    frame_fault(
        &[("camera", "long")],
        "row 2, column camera: \"long\" is not a camera of survey.toml (accepted: none, as survey.toml has no \
         [cameras.NAME])",
    );
    let folder = Folder::new();
    folder.write("survey.toml", format!("{SURVEY}[cameras.long]\n[cameras.short]\n"));
    assert_eq!(
        folder.frame(&[("camera", "lang")]).faults(),
        "error: frames.csv row 2, column camera: \"lang\" is not a camera of survey.toml (accepted: long, short)\n  hint: \
         did you mean \"long\"?"
    );
    assert_eq!(
        folder
            .frame(&[("camera", "long"), ("temperature_scale", "sensor")])
            .faults(),
        "error: frames.csv row 2, column camera: \"long\" has no signal law, but the sensor scale needs it (accepted: a \
         camera of survey.toml with a_um, b_um_k and c)\n  hint: add a_um, b_um_k and c to this camera in survey.toml"
    );
    frame_fault(
        &[("temperature_scale", "sensor")],
        "row 2, column camera: is blank, but the sensor scale needs it (accepted: a camera of survey.toml with a_um, \
         b_um_k and c)",
    );
    sheet_fault(
        "file,asset,temperature_scale,air_temperature_c\nx/a.tif,V-101,celsius,1\nx/./a.tif,V-101,celsius,2\n",
        " row 3, column file: \"x/./a.tif\" stands already in row 2 for the same asset\n  hint: take one of the two rows \
         away",
    );
}

#[test]
fn paths_of_frames() {
    let hint = "(accepted: a path inside the survey folder)\n  hint: write the path from the survey folder, such as \
                images/north.tif";
    for (path, problem) in [
        ("/data/a.tif", "is an absolute path"),
        ("D:\\a.tif", "is an absolute path"),
        ("../a.tif", "leads out of the survey folder"),
        ("images/", "names no file"),
    ] {
        frame_fault(
            &[("file", path)],
            &format!("row 2, column file: {path:?} {problem} {hint}"),
        );
    }
    frame_fault(
        &[("visible_file", "x/../../a.jpg")],
        &format!("row 2, column visible_file: \"x/../../a.jpg\" leads out of the survey folder {hint}"),
    );
}

#[test]
fn scales_of_frames() {
    frame_fault(
        &[("temperature_scale", "centikelvins")],
        "row 2, column temperature_scale: \"centikelvins\" is not a temperature scale (accepted: centikelvin, celsius, \
         kelvin, fahrenheit, decikelvin, linear, sensor, colour-bar)\n  hint: did you mean \"centikelvin\"?",
    );
    frame_fault(
        &[("temperature_scale", "linear"), ("scale_offset_c", "-273.15")],
        "row 2, column scale_gain_k: is blank, but the linear scale needs it (accepted: -1000 to 1000 K)",
    );
    frame_fault(
        &[
            ("temperature_scale", "linear"),
            ("scale_offset_c", "0"),
            ("scale_gain_k", "0"),
        ],
        "row 2, column scale_gain_k: \"0\" makes every count the same temperature (accepted: a number other than 0)",
    );
    let bar = |low, high, box_px| {
        [
            ("temperature_scale", "colour-bar"),
            ("bar_low_c", low),
            ("bar_high_c", high),
            ("bar_box_px", box_px),
        ]
    };
    frame_fault(
        &bar("20", "5", ""),
        "row 2, column bar_high_c: \"5\" is not above the bar's low end (accepted: above 20 °C)",
    );
    frame_fault(
        &bar("5", "5", ""),
        "row 2, column bar_high_c: \"5\" is not above the bar's low end (accepted: above 5 °C)",
    );
    for box_px in ["1 2 3", "1 2 3 0", "-1 2 3 4", "1.5 2 3 4"] {
        frame_fault(
            &bar("1", "5", box_px),
            &format!(
                "row 2, column bar_box_px: {box_px:?} is not a box (accepted: x y w h in whole pixels, w and h above 0)"
            ),
        );
    }
    frame_fault(
        &[("file_emissivity", "0.9")],
        "row 2, column file_emissivity: \"0.9\" is given, but already_corrected is not yes\n  hint: write yes under \
         already_corrected, or leave file_emissivity blank",
    );
}

#[test]
fn conditions_and_views_of_frames() {
    for (column, value, accepted) in [
        ("air_temperature_c", "68", "-80 to 60 °C"),
        ("relative_humidity_pct", "101", "0 to 100 %"),
        ("wind_m_s", "-1", "0 to 60 m/s"),
        ("wind_mph", "200", "0 to 134.216 mph"),
        ("reflected_temperature_c", "-101", "-100 to 100 °C"),
        ("distance_m", "0", "0.05 to 500 m"),
        ("transmittance", "0.05", "above 0.05, up to 1"),
        ("facing_bearing_deg", "361", "0 to 360 °"),
    ] {
        frame_fault(
            &[(column, value)],
            &format!("row 2, column {column}: {value:?} is not possible (accepted: {accepted})"),
        );
    }
    frame_fault(
        &[("relative_humidity_pct", "n/a")],
        "row 2, column relative_humidity_pct: \"n/a\" is not a number (accepted: 0 to 100 %)\n  hint: leave the cell blank \
         where nobody measured it",
    );
    frame_fault(
        &[("facing_clock", "13")],
        "row 2, column facing_clock: \"13\" is not a clock position (accepted: hours on a clock face, 0 to 12, such as 3, 9 \
         or 10:30)",
    );
    frame_fault(
        &[("captured_at", "4/3/2026")],
        "row 2, column captured_at: \"4/3/2026\" is not an ISO 8601 date (accepted: an ISO 8601 date or date and time, such \
         as 2026-03-04 or 2026-03-04T10:30)",
    );
    let outline = "(accepted: x1 y1 x2 y2 x3 y3 … in pixels, three points or more)";
    for (points, problem) in [
        ("0 0 1 1", "has 2 points"),
        ("0 0 1 1 2", "has 5 numbers, so that one point lacks its y"),
        ("0 0 5 5 9 9", "encloses less than one pixel"),
    ] {
        frame_fault(
            &[("vessel_outline_px", points)],
            &format!("row 2, column vessel_outline_px: {points:?} {problem} {outline}"),
        );
    }
    frame_fault(
        &[("vessel_outline_px", "0,0 5,5 9,0")],
        &format!(
            "row 2, column vessel_outline_px: \"0,0 5,5 9,0\" is not a list of numbers: \"0,0\" is none {outline}\n  hint: \
             write decimals with a point and put blanks between the numbers"
        ),
    );
}

#[test]
fn keys_of_the_survey() {
    survey_fault(
        "[site]\naltitude_m = 100\nbarometer_kpa = 100\n",
        " line 6, key site.barometer_kpa: \"100\" stands beside an altitude, which states the barometer too\n  hint: keep \
         barometer_kpa where it was measured, else the altitude",
    );
    survey_fault(
        "[site]\naltitude_ft = 30000\n",
        " line 5, key site.altitude_ft: \"30000\" is not possible (accepted: -1410.76 to 19685 ft)",
    );
    survey_fault(
        "[energy]\nprice_per_kwh = 0.2\ncop = 3\n",
        ", key energy.currency: is missing, but [energy] needs it (accepted: a text)",
    );
    survey_fault(
        "[uncertainty]\nemissivity = -0.1\n",
        " line 5, key uncertainty.emissivity: \"-0.1\" is not possible (accepted: 0 to 0.5)",
    );
    survey_fault(
        "[cameras.a]\nband_um = [14, 8]\n",
        " line 5, key cameras.a.band_um: \"14 8\" is not a band (accepted: [low, high] in µm, 0.7 to 30, such as [8.0, \
         14.0])",
    );
    survey_fault(
        "[cameras.a]\na_um = 3\nc = 1\n",
        ", key cameras.a.b_um_k: is missing, but a signal law with a_um, b_um_k and c needs it (accepted: -1000000 to \
         1000000 µm K)",
    );
    survey_fault("site = 3\n", " line 4, key site: is not a table (accepted: [site])");
    survey_fault(
        "cameras.a = 3\n",
        " line 4, key cameras.a: is not a table (accepted: [cameras.NAME])",
    );
    survey_fault(
        "[site]\naltitude_m = { x = 1 }\n",
        " line 5, key site.altitude_m: is a table or a list of tables, where a value belongs (accepted: a text, a number, \
         true, false or a list of numbers)",
    );
    survey_fault(
        "[defaults]\nsun = \"bright\"\n",
        " line 5, key defaults.sun: \"bright\" is not a word for the sun (accepted: none, overcast, direct)",
    );
}

#[test]
fn the_survey_head() {
    let folder = Folder::new();
    folder.write("survey.toml", "title = \"x\"\ndate = 10:30:00\n");
    assert_eq!(
        folder.faults(),
        "error: survey.toml, key plant: is missing, but the survey needs it (accepted: a text)\n\
         error: survey.toml line 2, key date: \"10:30:00\" is not an ISO 8601 date (accepted: an ISO 8601 date or date and \
         time, such as 2026-03-04 or 2026-03-04T10:30)"
    );
    folder.write("survey.toml", "title = \"x\"\nplant = \"y\ndate = 3\n");
    let told = folder.faults();
    assert!(
        told.starts_with("error: survey.toml line 2: is not TOML at column 11: "),
        "{told}"
    );
    assert_eq!(told.lines().count(), 1);
}
