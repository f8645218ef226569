//! Survey folders that are in order: what their sheets become.

use std::path::Path;

use coldjacket::register::{
    Coating, Correction, Cycling, Faults, Register, Service, Setting, Shape, ShellMaterial, Side, Source, Sun,
    TemperatureScale, open,
};
use tempfile::TempDir;

pub const SURVEY: &str = "title = \"Autumn walk\"\nplant = \"North cold store\"\ndate = \"2026-03-04\"\n";

/// Cells of one row, by heading.
pub type Cells<'a> = &'a [(&'a str, &'a str)];

/// An asset in order.
pub const ASSET: Cells = &[
    ("asset", "V-101"),
    ("shape", "horizontal-cylinder"),
    ("outside_diameter_mm", "1800"),
    ("length_mm", "6000"),
    ("insulation", "pir"),
    ("insulation_thickness_mm", "150"),
    ("jacket", "pvc"),
    ("service_temperature_c", "-33"),
    ("setting", "indoor"),
];

/// A frame in order.
pub const FRAME: Cells = &[
    ("file", "images/a.tif"),
    ("asset", "V-101"),
    ("temperature_scale", "centikelvin"),
    ("air_temperature_c", "18"),
];

/// A survey folder on disk that goes when it is dropped.
pub struct Folder(TempDir);

impl Folder {
    /// A folder in order, with one asset and one frame.
    pub fn new() -> Self {
        let folder = Self(TempDir::new().unwrap());
        folder.write("survey.toml", SURVEY).asset(&[]).frame(&[]);
        folder
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) -> &Self {
        std::fs::write(self.path().join(name), text).unwrap();
        self
    }

    pub fn remove(&self, name: &str) -> &Self {
        std::fs::remove_file(self.path().join(name)).unwrap();
        self
    }

    /// assets.csv of one asset in order, but for these cells; [`GONE`] takes a column away.
    pub fn asset(&self, changes: Cells) -> &Self {
        self.write("assets.csv", sheet(&changed(ASSET, changes)))
    }

    /// frames.csv of one frame in order, but for these cells.
    pub fn frame(&self, changes: Cells) -> &Self {
        self.write("frames.csv", sheet(&changed(FRAME, changes)))
    }

    pub fn open(&self) -> Result<Register, Faults> {
        open(self.path())
    }

    pub fn faults(&self) -> String {
        self.open().unwrap_err().to_string()
    }
}

/// Takes a column out of a row in order.
pub const GONE: &str = "\0gone";

/// A row in order, but for these cells.
pub fn changed(base: Cells, changes: Cells) -> Vec<(String, String)> {
    let mut cells: Vec<(String, String)> = base.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    for (heading, value) in changes {
        match cells.iter_mut().find(|(name, _)| name == heading) {
            Some((_, cell)) => (*value).clone_into(cell),
            None => cells.push(((*heading).to_owned(), (*value).to_owned())),
        }
    }
    cells.retain(|(_, value)| value != GONE);
    cells
}

fn sheet(cells: &[(String, String)]) -> String {
    let quoted = |text: &String| format!("\"{}\"", text.replace('"', "\"\""));
    let headings: Vec<&str> = cells.iter().map(|(heading, _)| heading.as_str()).collect();
    let values: Vec<String> = cells.iter().map(|(_, value)| quoted(value)).collect();
    format!("{}\n{}\n", headings.join(","), values.join(","))
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "found {found}, expected {expected}");
}

#[test]
fn a_folder_in_order_is_read_whole() {
    let folder = Folder::new();
    folder.write(
        "survey.toml",
        "title = \"Autumn walk\"\nplant = \"North\"\ndate = 2026-03-04T08:00:00\ninspector = \"A. Person\"\n\
         [site]\naltitude_m = 500\n[uncertainty]\nwind_pct = 40\n[energy]\nprice_per_kwh = 0.2\ncurrency = \"EUR\"\ncop = 2.5\n\
         [cameras.long]\nband_um = [7.5, 13.0]\nnoise_k = 0.05\naccuracy_k = 2\na_um = 10.0\nb_um_k = 20\nc = 1e6\n",
    );
    folder.asset(&[
        ("emissivity", "0.9"),
        ("coldest_metal_c", "-40"),
        ("warmest_metal_c", "20"),
        ("insulated_year", "1998"),
        ("shell_material", "carbon-steel"),
        ("coating", "unknown"),
        ("cycling", "yes"),
        ("consequence", "4"),
        ("insulation_conductivity_w_mk", "0.024"),
    ]);
    folder.frame(&[
        ("file", "images\\a.tif"),
        ("temperature_scale", "sensor"),
        ("camera", "long"),
        ("relative_humidity_pct", "70"),
        ("wind_m_s", "0.5"),
        ("reflected_temperature_c", "-20"),
        ("distance_m", "4"),
        ("transmittance", "0.98"),
        ("sun", "overcast"),
        ("facing_clock", "9"),
        ("datum_side", "right"),
        ("view_start_mm", "-250"),
        ("vessel_outline_px", "0 0 10 0 10 10.5"),
        ("captured_at", "2026-03-04T09:15:00Z"),
        ("no_data", "0"),
        ("already_corrected", "yes"),
        ("file_emissivity", "0.95"),
    ]);
    let register = folder.open().unwrap();
    assert_eq!(register.warnings, Vec::<String>::new());
    assert_eq!(register.survey.date, "2026-03-04T08:00:00");
    assert_eq!(register.survey.inspector.as_deref(), Some("A. Person"));
    // ICAO standard atmosphere at 500 m: 95.46 kPa (from memory, not confirmed).
    assert!(
        (register.site.barometer_kpa.value - 95.46).abs() < 0.02,
        "{:?}",
        register.site
    );
    assert_eq!(register.site.barometer_kpa.source, Source::Stated);
    assert_eq!(
        (register.uncertainty.wind_pct, register.uncertainty.air_temperature_k),
        (40.0, 0.5)
    );
    assert_eq!(register.energy.as_ref().map(|energy| energy.cop), Some(2.5));
    let camera = &register.cameras["long"];
    assert_eq!(
        (camera.band_um, camera.noise_k, camera.accuracy_k),
        ((7.5, 13.0), Some(0.05), Some(2.0))
    );
    let asset = &register.assets[0];
    assert_eq!(
        asset.shape,
        Shape::HorizontalCylinder {
            diameter_m: 1.8,
            length_m: 6.0
        }
    );
    assert_eq!(
        (asset.insulation.key(), asset.jacket.key(), asset.setting),
        ("pir", "pvc", Setting::Indoor)
    );
    assert_eq!(
        (asset.insulation_thickness_m, asset.stated_conductivity_w_mk),
        (0.15, Some(0.024))
    );
    assert_eq!((asset.emissivity.value, asset.emissivity.source), (0.9, Source::Stated));
    assert_eq!(asset.service, Service::Stated { temperature_c: -33.0 });
    assert_eq!((asset.coldest_metal_c, asset.warmest_metal_c), (-40.0, 20.0));
    assert_eq!(
        (asset.insulated_year, asset.consequence, asset.row),
        (Some(1998), Some(4), 2)
    );
    assert_eq!(asset.shell_material, Some(ShellMaterial::CarbonSteel));
    assert_eq!(
        (asset.coating, asset.cycling),
        (Some(Coating::Unknown), Some(Cycling::Cycles))
    );
    let frame = &register.frames[0];
    assert_eq!((frame.file.as_str(), frame.asset, frame.row), ("images/a.tif", 0, 2));
    assert_eq!(Some(frame.stored.scale), camera.signal.map(TemperatureScale::Sensor));
    assert_eq!(
        frame.stored.correction,
        Correction::Corrected {
            emissivity: Some(0.95),
            reflected_c: None
        }
    );
    let conditions = &frame.conditions;
    assert_eq!(
        (conditions.air_c, conditions.relative_humidity_pct, conditions.wind_m_s),
        (18.0, Some(70.0), Some(0.5))
    );
    assert_eq!(
        (conditions.reflected_c, conditions.distance_m, conditions.transmittance),
        (Some(-20.0), Some(4.0), Some(0.98))
    );
    assert_eq!((conditions.sun, frame.stored.no_data), (Some(Sun::Overcast), Some(0.0)));
    assert_eq!(
        (frame.view.facing_clock, frame.view.datum_side),
        (Some(9.0), Some(Side::Right))
    );
    assert_eq!(frame.view.view_start_m, Some(-0.25));
    assert_eq!(
        frame.view.outline_px.as_deref(),
        Some(&[[0.0, 0.0], [10.0, 0.0], [10.0, 10.5]][..])
    );
    assert_eq!(frame.captured_at.as_deref(), Some("2026-03-04T09:15:00Z"));
}

#[test]
fn what_is_left_out_is_assumed_or_left_open() {
    let register = Folder::new().open().unwrap();
    let asset = &register.assets[0];
    assert_eq!(
        (asset.emissivity.value, asset.emissivity.source),
        (asset.jacket.emissivity(), Source::Assumed)
    );
    assert_eq!((asset.coldest_metal_c, asset.warmest_metal_c), (-33.0, -33.0));
    assert_eq!(register.site.barometer_kpa.source, Source::Assumed);
    assert!(register.warnings.is_empty() && register.energy.is_none());
    let frame = &register.frames[0];
    assert_eq!(frame.stored.correction, Correction::Apparent);
    assert_eq!(
        frame.conditions.relative_humidity_pct.or(frame.conditions.wind_m_s),
        None
    );
}

#[test]
fn shapes_take_their_own_sizes() {
    let folder = Folder::new();
    let upright = folder.asset(&[("shape", "vertical-cylinder")]).open().unwrap();
    assert_eq!(
        upright.assets[0].shape,
        Shape::VerticalCylinder {
            diameter_m: 1.8,
            length_m: 6.0
        }
    );
    let flat = folder
        .asset(&[("shape", "flat"), ("outside_diameter_mm", ""), ("height_mm", "2500")])
        .open()
        .unwrap();
    assert_eq!(
        flat.assets[0].shape,
        Shape::Flat {
            width_m: 6.0,
            height_m: 2.5
        }
    );
}

#[test]
fn twins_are_converted() {
    let folder = Folder::new();
    folder.asset(&[
        ("outside_diameter_mm", GONE),
        ("outside_diameter_in", "72"),
        ("length_mm", GONE),
        ("length_in", "240"),
        ("insulation_thickness_mm", GONE),
        ("insulation_thickness_in", "6"),
        ("service_temperature_c", GONE),
        ("service_temperature_f", "-40"),
    ]);
    folder.frame(&[
        ("air_temperature_c", GONE),
        ("air_temperature_f", "68"),
        ("wind_mph", "10"),
        ("distance_ft", "10"),
        ("view_start_in", "-10"),
    ]);
    let register = folder.open().unwrap();
    let Shape::HorizontalCylinder { diameter_m, length_m } = register.assets[0].shape else {
        panic!("no cylinder")
    };
    close(diameter_m, 1.8288);
    close(length_m, 6.096);
    close(register.assets[0].insulation_thickness_m, 0.1524);
    close(register.assets[0].service.temperature_c(), -40.0);
    let frame = &register.frames[0];
    close(frame.conditions.air_c, 20.0);
    close(frame.conditions.wind_m_s.unwrap(), 4.4704);
    close(frame.conditions.distance_m.unwrap(), 3.048);
    close(frame.view.view_start_m.unwrap(), -0.254);
    assert_eq!(register.warnings, Vec::<String>::new());
}

#[test]
fn suction_pressures_become_saturation_temperatures() {
    let folder = Folder::new();
    folder.write("survey.toml", format!("{SURVEY}[site]\nbarometer_kpa = 101.325\n"));
    for (column, value, absolute_kpa) in [
        ("suction_pressure_kpa_gauge", "-30", 71.325),
        ("suction_pressure_psig", "10", 101.325 + 68.947_572_931_68),
        ("suction_pressure_inhg_vacuum", "10", 101.325 - 33.863_89),
    ] {
        folder.asset(&[("service_temperature_c", ""), (column, value)]);
        let register = folder.open().unwrap();
        let Service::SaturatedAmmonia {
            absolute_kpa: found,
            temperature_c,
        } = register.assets[0].service
        else {
            panic!("not saturated");
        };
        close(found, absolute_kpa);
        let expected_c = coldjacket::heat::ammonia::saturation_temperature_c(absolute_kpa).unwrap();
        close(temperature_c, expected_c);
        close(register.assets[0].coldest_metal_c, expected_c);
        assert_eq!(register.warnings, Vec::<String>::new());
    }
}

#[test]
fn sea_level_is_assumed_aloud() {
    let folder = Folder::new();
    folder.asset(&[("service_temperature_c", ""), ("suction_pressure_kpa_gauge", "0")]);
    let register = folder.open().unwrap();
    // Normal boiling point of ammonia: −33.3 °C.
    assert!((register.assets[0].service.temperature_c() + 33.3).abs() < 0.1);
    let expected = "survey.toml: neither site.altitude_m nor site.barometer_kpa is given, so gauge pressures are taken at \
                    sea level (101.325 kPa)";
    assert_eq!(register.warnings, [expected]);
}

#[test]
fn blank_cells_take_defaults_in_either_unit() {
    let folder = Folder::new();
    folder.write(
        "survey.toml",
        format!(
            "{SURVEY}[defaults]\nasset = \"V-101\"\ntemperature_scale = \"celsius\"\nair_temperature_f = 50\n\
             already_corrected = true\nbar_box_px = [1, 2, 3, 4]\n"
        ),
    );
    folder.write(
        "frames.csv",
        "file,air_temperature_c,temperature_scale\na.tif,,\nb.tif,18,kelvin\n",
    );
    let register = folder.open().unwrap();
    let [first, second] = register.frames.as_slice() else {
        panic!("two frames")
    };
    close(first.conditions.air_c, 10.0);
    close(second.conditions.air_c, 18.0);
    assert_eq!(
        (first.stored.scale, second.stored.scale),
        (TemperatureScale::Celsius, TemperatureScale::Kelvin)
    );
    assert_eq!(
        first.stored.correction,
        Correction::Corrected {
            emissivity: None,
            reflected_c: None
        }
    );
    assert_eq!(register.warnings, Vec::<String>::new());
}

#[test]
fn scales_take_what_they_need() {
    let folder = Folder::new();
    let scale = |changes: Cells| folder.frame(changes).open().unwrap().frames[0].stored.scale;
    let linear = scale(&[
        ("temperature_scale", "linear"),
        ("scale_gain_k", "0.04"),
        ("scale_offset_f", "-459.67"),
    ]);
    let TemperatureScale::Linear { gain_k, offset_c } = linear else {
        panic!("not linear")
    };
    close(gain_k, 0.04);
    close(offset_c, -273.15);
    let bar = scale(&[
        ("temperature_scale", "colour-bar"),
        ("bar_low_c", "5"),
        ("bar_high_c", "20"),
        ("bar_box_px", "1 2 3 4"),
    ]);
    assert_eq!(
        bar,
        TemperatureScale::ColourBar {
            ends_c: Some([5.0, 20.0]),
            box_px: Some([1, 2, 3, 4])
        }
    );
}

#[test]
fn semicolons_and_decimal_commas_read_like_commas_and_points() {
    let folder = Folder::new();
    let with_commas = folder
        .frame(&[("air_temperature_c", "18.5"), ("note", "a;b")])
        .open()
        .unwrap();
    let text = "\u{feff}file;asset;temperature_scale;air_temperature_c;note\r\n\r\n# remark;;;;\r\n;;;;\r\nimages/a.tif;V-101;centikelvin;18,5;\"a;b\"\r\n";
    let with_semicolons = folder.write("frames.csv", text).open().unwrap();
    let mut frames = with_semicolons.frames;
    assert_eq!(frames[0].row, 5);
    frames[0].row = 2;
    assert_eq!(frames, with_commas.frames);
}

#[test]
fn warnings_name_what_is_not_read() {
    let folder = Folder::new();
    folder.write(
        "survey.toml",
        format!("plnat = 3\n{SURVEY}[site]\naltitud_ft = 0\n[cameras.a]\ncolour = \"grey\"\n"),
    );
    folder.asset(&[
        ("coatings", "sound"),
        ("weight_kg", "3"),
        ("Insulated Year", "1990"),
        ("height_mm", "5"),
    ]);
    folder.frame(&[
        ("facing_bearing_deg", "90"),
        ("bar_low_c", "3"),
        ("relative_humidity_pct", "0.65"),
        ("air_temperature_c", "-40"),
    ]);
    let register = folder.open().unwrap();
    assert_eq!(register.assets[0].insulated_year, Some(1990));
    assert_eq!(
        register.warnings,
        [
            "survey.toml: key \"plnat\" is not known and is not read; did you mean \"plant\"?",
            "survey.toml: key \"site.altitud_ft\" is not known and is not read; did you mean \"altitude_ft\"?",
            "survey.toml: key \"cameras.a.colour\" is not known and is not read",
            "assets.csv: column \"Insulated Year\" is read as insulated_year",
            "assets.csv: column \"coatings\" is not known and is not read; did you mean \"coating\"?",
            "assets.csv: column \"weight_kg\" is not known and is not read",
            "assets.csv row 2: height_mm \"5\" is not used, because the asset is a cylinder",
            "frames.csv row 2: bar_low_c \"3\" is not used, because temperature_scale is not colour-bar",
            "frames.csv row 2: relative_humidity_pct is 1 % or less, which looks like a fraction where per cent belong",
            "frames.csv row 2: facing_bearing_deg \"90\" is not used, because the asset is a horizontal cylinder, which \
             faces by facing_clock",
            "frames.csv row 2: V-101 at -33 °C is warmer than the air at -40 °C: it is judged as a warm asset",
        ]
    );
}
