//! `validate [--share SHARE] [--keep] [--out FOLDER] [--only PART] [--draw N]`: runs the study and writes its tables and plots.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use coldjacket_validation::case::Case;
use coldjacket_validation::figures::{self, by_row};
use coldjacket_validation::plot::Chart;
use coldjacket_validation::run::{How, Problem, run};
use coldjacket_validation::score::FrameScore;
use coldjacket_validation::study::{choice, clutter, colour, detection, factors, plots, whole};
use coldjacket_validation::table::Table;

const USAGE: &str = "usage: validate [--share SHARE] [--keep] [--out FOLDER] [--only PART] [--rows START] [--draw N]
  --share SHARE  share of the frames of a full study, such as 0.25; the first ones of each row
  --keep         keep the simulated surveys, with their sheets and truth, in FOLDER/surveys
  --out FOLDER   where tables and plots go (target/validation)
  --only PART    one part: plain, crowded, alone, detection, factors, all-over, refusals or colour; or, never run
                 but so, contenders: the figures that outlines of plain and crowded scenes are chosen from
  --rows START   only rows of the tables whose name starts so, such as blur
  --draw N       another draw of all scenes, 0 to 9999 (0, the study's own): what holds on scenes nobody has looked at";
/// Seed of the errors of sheets and cameras.
const SHEET_SEED: u64 = 71;
/// Seeds from one draw of all scenes to the next; the parts of a draw lie closer together.
const DRAW_APART: u64 = 100_000;

/// What was asked for.
struct Asked {
    folder: PathBuf,
    share: f64,
    keep: bool,
    only: Option<String>,
    rows: Option<String>,
    draw: u64,
}

impl Asked {
    fn parse(mut words: impl Iterator<Item = String>) -> Option<Self> {
        let mut asked = Self {
            folder: PathBuf::from("target/validation"),
            share: 1.0,
            keep: false,
            only: None,
            rows: None,
            draw: 0,
        };
        while let Some(word) = words.next() {
            match word.as_str() {
                "--share" => asked.share = words.next()?.parse().ok().filter(|share| *share > 0.0)?,
                "--keep" => asked.keep = true,
                "--out" => asked.folder = words.next()?.into(),
                "--only" => asked.only = Some(words.next()?),
                "--rows" => asked.rows = Some(words.next()?),
                "--draw" => asked.draw = words.next()?.parse().ok().filter(|draw| *draw < 10_000)?,
                _ => return None,
            }
        }
        Some(asked)
    }

    fn wants(&self, part: &str) -> bool {
        self.only.as_ref().is_none_or(|only| only == part)
    }

    /// Frames of a part or row, of which a full study has so many.
    fn count(&self, full: usize) -> usize {
        (self.share * full as f64).ceil() as usize
    }

    /// The seed of a part in the draw asked for, from that of the study's own.
    fn seed(&self, own: u64) -> u64 {
        own + DRAW_APART * self.draw
    }
}

fn main() -> ExitCode {
    let Some(asked) = Asked::parse(std::env::args().skip(1)) else {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    };
    match Study::begin(asked).and_then(Study::run) {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

struct Study {
    asked: Asked,
    begun: Instant,
    frames: usize,
    text: String,
}

impl Study {
    fn begin(asked: Asked) -> Result<Self, Problem> {
        std::fs::create_dir_all(&asked.folder)?;
        Ok(Self {
            asked,
            begun: Instant::now(),
            frames: 0,
            text: String::new(),
        })
    }

    fn run(mut self) -> Result<(), Problem> {
        if self.asked.only.as_deref() == Some("contenders") {
            return self.contenders();
        }
        let count = |full| self.asked.count(full);
        let (plain, crowded) = (count(96), count(96));
        let (alone, detection, factors, all_over, refusals) = (count(12), count(40), count(16), count(8), count(6));
        let plain = self.part("plain", &whole::plain(self.asked.seed(3000), plain))?;
        let crowded = self.part("crowded", &clutter::crowded(self.asked.seed(2000), crowded))?;
        self.overall(&plain, &crowded)?;
        self.detection(detection)?;
        self.clutter(&crowded, alone)?;
        self.by_circumstance(factors)?;
        self.answers(all_over, refusals)?;
        let colour = self.colour(self.asked.count(98))?;
        self.worst(&[&plain, &crowded, &colour]);
        self.finish()
    }

    /// Writes what the weights of the choice are fitted to.
    fn contenders(self) -> Result<(), Problem> {
        let count = self.asked.count(96);
        let mut cases = whole::plain(self.asked.seed(3000), count);
        cases.extend(clutter::crowded(self.asked.seed(2000), count));
        let how = How {
            sheet_seed: self.asked.seed(SHEET_SEED),
            keep: None,
        };
        choice::table_contenders(&cases, how)?.write_csv(&self.asked.folder)?;
        eprintln!("written to {}", self.asked.folder.display());
        Ok(())
    }

    fn overall(&mut self, plain: &[FrameScore], crowded: &[FrameScore]) -> Result<(), Problem> {
        let sets = [("plain", plain), ("every clutter on", crowded)];
        let there = sets.into_iter().filter(|(_, scores)| !scores.is_empty());
        let rows = there
            .clone()
            .map(|(name, scores)| (name.to_owned(), scores.iter().collect()));
        let title = "Figures of plain and of crowded scenes";
        self.table(&figures::table("figures", title, rows))?;
        let outlines: Vec<(&str, &[FrameScore])> = there.collect();
        self.plot("outlines", &plots::outlines(&outlines))?;
        self.plot("errors", &plots::errors(plain))
    }

    /// Runs the cases of a part, if it is wanted.
    fn part(&mut self, name: &str, cases: &[Case]) -> Result<Vec<FrameScore>, Problem> {
        if !self.asked.wants(name) {
            return Ok(Vec::new());
        }
        let kept = self.asked.folder.join("surveys");
        let how = How {
            sheet_seed: self.asked.seed(SHEET_SEED),
            keep: self.asked.keep.then_some(kept.as_path()),
        };
        let start = self.asked.rows.as_deref().unwrap_or_default();
        let wanted: Vec<Case> = cases
            .iter()
            .filter(|case| case.row.starts_with(start))
            .cloned()
            .collect();
        let scores = run(&wanted, how)?;
        self.frames += scores.len();
        eprintln!(
            "{name}: {} frames, {:.0} s",
            scores.len(),
            self.begun.elapsed().as_secs_f64()
        );
        Ok(scores)
    }

    fn table(&mut self, table: &Table) -> Result<(), Problem> {
        if !table.rows.is_empty() {
            table.write_csv(&self.asked.folder)?;
            self.text += &table.to_markdown();
        }
        Ok(())
    }

    fn plot(&self, name: &str, chart: &Chart) -> Result<(), Problem> {
        if chart.series.iter().all(|series| series.points.is_empty()) {
            return Ok(());
        }
        chart.write(&self.asked.folder.join(format!("{name}.png")))
    }

    fn detection(&mut self, count: usize) -> Result<(), Problem> {
        let scores = self.part("detection", &detection::cases(self.asked.seed(4000), count))?;
        let sets = by_row(&scores);
        self.table(&detection::table_curves(&sets))?;
        self.table(&detection::table_classes(&sets))?;
        self.plot("detection", &plots::detection(&sets))
    }

    fn clutter(&mut self, crowded: &[FrameScore], count: usize) -> Result<(), Problem> {
        if !crowded.is_empty() {
            let title = "Things in crowded scenes: called findings, set aside, or absorbed";
            self.table(&clutter::table_things("things_crowded", title, crowded))?;
        }
        let alone = self.part("alone", &clutter::alone(self.asked.seed(1000), count))?;
        if !alone.is_empty() {
            let title = "Things in scenes with one kind of clutter each";
            self.table(&clutter::table_alone(&alone))?;
            self.table(&clutter::table_things("things_alone", title, &alone))?;
        }
        Ok(())
    }

    fn by_circumstance(&mut self, count: usize) -> Result<(), Problem> {
        let scores = self.part("factors", &factors::cases(self.asked.seed(5000), count))?;
        let title = "One circumstance changed at a time, plain scenes otherwise";
        self.table(&figures::table("circumstances", title, by_row(&scores)))?;
        self.table(&factors::table_edges(&by_row(&scores)))
    }

    fn answers(&mut self, all_over: usize, refusals: usize) -> Result<(), Problem> {
        let scores = self.part("all-over", &whole::all_over(self.asked.seed(6000), all_over))?;
        self.table(&whole::table_all_over(&by_row(&scores)))?;
        let scores = self.part("refusals", &whole::refusals(self.asked.seed(7000), refusals))?;
        self.table(&whole::table_refusals(&by_row(&scores)))
    }

    fn colour(&mut self, count: usize) -> Result<Vec<FrameScore>, Problem> {
        let cases = colour::cases(self.asked.seed(8000), count);
        let scores = self.part("colour", &cases)?;
        let readings = self.part("colour", &colour::as_readings(&cases))?;
        if !scores.is_empty() {
            let all = [
                ("the same from readings".to_owned(), readings.iter().collect()),
                ("all pictures".to_owned(), scores.iter().collect()),
            ];
            let rows = all.into_iter().chain(by_row(&scores));
            let title = "Plain scenes through the colour bar of a screen's picture";
            self.table(&figures::table("colour", title, rows))?;
        }
        Ok(scores)
    }

    /// Names the frames in which something went wrong.
    fn worst(&mut self, sets: &[&[FrameScore]]) {
        self.text += "### Frames with a fault\n\n";
        for score in sets.iter().copied().flatten().filter(|s| clutter::badness(s) > 0) {
            let _ = writeln!(self.text, "- {}", clutter::said(score));
        }
    }

    fn finish(self) -> Result<(), Problem> {
        let head = format!(
            "# Validation on simulated scenes\n\n{} frames in {:.0} s. Seeds stand in the frames' names; the sheets' errors \
             are drawn from seed {}.\n\n",
            self.frames,
            self.begun.elapsed().as_secs_f64(),
            self.asked.seed(SHEET_SEED)
        );
        let text = head + &self.text;
        std::fs::write(self.asked.folder.join("study.md"), &text)?;
        println!("{text}");
        eprintln!("written to {}", self.asked.folder.display());
        Ok(())
    }
}
