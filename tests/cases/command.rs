//! Running the command as a person does, on a survey folder of one asset and one good frame.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

/// Columns of assets.csv as [`Trial`] writes it.
const ASSET_HEADING: &str = "asset,shape,outside_diameter_mm,length_mm,insulation,insulation_thickness_mm,\
                             insulation_conductivity_w_mk,jacket,emissivity,service_temperature_c,setting";
/// Columns of frames.csv as [`Trial`] writes it.
const FRAME_HEADING: &str = "file,asset,temperature_scale,air_temperature_c,relative_humidity_pct,wind_m_s,\
                             reflected_temperature_c,distance_m,facing_clock";

/// The command, not yet run.
pub fn coldjacket() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldjacket"));
    command.env("NO_COLOR", "1");
    command
}

/// What a run said.
#[derive(Debug)]
pub struct Said {
    pub status: i32,
    pub out: String,
    pub err: String,
}

/// Runs a command to its end; a panic of the program fails the test whatever it expects.
#[track_caller]
pub fn said(command: &mut Command) -> Said {
    let output = command.output().unwrap();
    let said = Said {
        status: output.status.code().expect("ended by a signal"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    };
    assert!(!said.err.contains("panicked"), "{}", said.err);
    said
}

/// Every file under a folder by its path within it; folders stand with None.
pub fn contents(folder: &Path) -> BTreeMap<PathBuf, Option<Vec<u8>>> {
    let mut all = BTreeMap::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(&next).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(folder).unwrap().to_path_buf();
            if path.is_dir() {
                all.insert(name, None);
                open.push(path);
            } else {
                all.insert(name, Some(std::fs::read(path).unwrap()));
            }
        }
    }
    all
}

/// What is kept beside a result folder for the next run; see `resume`.
pub const KEPT: &str = ".coldjacket-kept-";

/// Names of what stands in a folder, but for what is kept beside results.
pub fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.starts_with(KEPT))
        .collect();
    names.sort();
    names
}

/// The folder of sample images.
pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images")
}

/// findings.json of a result folder.
pub fn findings(results: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(results.join("findings.json")).unwrap()).unwrap()
}

/// A folder with `survey` in it, and room for results at `out`; gone when dropped.
pub struct Trial(TempDir);

impl Trial {
    /// One asset and one frame that can be used.
    pub fn new() -> Self {
        let trial = Self(TempDir::new().unwrap());
        std::fs::create_dir_all(trial.survey().join("images")).unwrap();
        std::fs::copy(samples().join("images/sa-101.tif"), trial.survey().join("images/a.tif")).unwrap();
        trial
            .write(
                "survey.toml",
                "title = \"Trial\"\nplant = \"Simulated\"\ndate = \"2026-03-03\"\n",
            )
            .assets(&["SA-101,horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor"])
            .frames(&["images/a.tif,SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3"]);
        trial
    }

    pub fn root(&self) -> &Path {
        self.0.path()
    }

    pub fn survey(&self) -> PathBuf {
        self.root().join("survey")
    }

    pub fn out(&self) -> PathBuf {
        self.root().join("out")
    }

    /// Writes a file of the survey folder.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> &Self {
        std::fs::write(self.survey().join(name), bytes).unwrap();
        self
    }

    pub fn remove(&self, name: &str) -> &Self {
        std::fs::remove_file(self.survey().join(name)).unwrap();
        self
    }

    /// assets.csv of these rows.
    pub fn assets(&self, rows: &[&str]) -> &Self {
        self.write("assets.csv", format!("{ASSET_HEADING}\n{}\n", rows.join("\n")))
    }

    /// frames.csv of these rows.
    pub fn frames(&self, rows: &[&str]) -> &Self {
        self.write("frames.csv", format!("{FRAME_HEADING}\n{}\n", rows.join("\n")))
    }

    /// `coldjacket survey SURVEY --out OUT` with further arguments, not yet run.
    pub fn command(&self, further: &[&str]) -> Command {
        self.command_of("survey", further)
    }

    /// The same with another command that takes the survey and `--out`.
    fn command_of(&self, name: &str, further: &[&str]) -> Command {
        let mut command = coldjacket();
        command
            .arg(name)
            .arg(self.survey())
            .arg("--out")
            .arg(self.out())
            .args(further);
        command
    }

    /// Runs the survey; whatever comes of it, the survey folder must stay as it is.
    #[track_caller]
    pub fn run(&self, further: &[&str]) -> Said {
        self.run_command("survey", further)
    }

    /// The same with another command.
    #[track_caller]
    pub fn run_command(&self, name: &str, further: &[&str]) -> Said {
        let before = contents(&self.survey());
        let said = said(&mut self.command_of(name, further));
        assert!(before == contents(&self.survey()), "the survey folder has changed");
        said
    }

    /// What is said of a survey that must be refused: status 2, nothing on standard output, nothing written anywhere.
    #[track_caller]
    pub fn refusal(&self) -> String {
        let before = names(self.root());
        let said = self.run(&[]);
        assert_eq!(said.status, 2, "{said:?}");
        assert_eq!(said.out, "");
        assert_eq!(names(self.root()), before, "something was written");
        said.err.trim_end().to_owned()
    }

    /// Runs a survey whose only frame cannot be used: status 1, the frame listed, no zone; its reason.
    #[track_caller]
    pub fn unusable(&self) -> String {
        let said = self.run(&["--no-pictures"]);
        assert_eq!(said.status, 1, "{said:?}");
        let found = findings(&self.out());
        assert_eq!(found["frames"].as_array().unwrap().len(), 1);
        assert_eq!(found["frames"][0]["usability"], "unusable");
        assert_eq!(
            found["zones"].as_array().unwrap().len() + found["set_aside"].as_array().unwrap().len(),
            0
        );
        assert_eq!(found["assets"][0]["usable_m2"], 0.0);
        let reason = found["frames"][0]["reasons"][0].as_str().unwrap().to_owned();
        let file = found["frames"][0]["file"].as_str().unwrap();
        let told = said
            .out
            .lines()
            .find(|line| line.starts_with(file))
            .expect("the frame is not named");
        assert!(told.contains("unusable") && told.contains(&reason), "{told}");
        assert!(said.out.contains("1 unusable"), "{}", said.out);
        reason
    }
}
