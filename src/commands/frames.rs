//! `coldjacket frames --list FOLDER...` and `coldjacket frames < LIST > LINES`.

use std::collections::HashMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::ExitCode;

use anyhow::Context;
use rayon::prelude::*;
use serde::Serialize;

use crate::batch::alone::Alone;
use crate::batch::line::{SCHEMA, Wanted};
use crate::cli::FramesArgs;
use crate::clock::Clock;
use crate::settings::Settings;
use crate::tell;

/// Lines that are worked on at once.
const AT_ONCE: usize = 32;
/// Bytes of the longest line of a list.
const LONGEST: u64 = 64 * 1024;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// With `--list` sheets at fault; standard input or output that breaks.
pub fn run(args: &FramesArgs) -> anyhow::Result<ExitCode> {
    if !args.list.is_empty() {
        return list(args);
    }
    let settings = Settings {
        limits: args.reading.limits(),
        ..Settings::default()
    };
    let threads = rayon::ThreadPoolBuilder::new()
        .num_threads(args.threads)
        .build()
        .context("cannot start the worker threads; hint: try --threads 1")?;
    let clock = Clock::default();
    let mut work = Work {
        settings: &settings,
        clock: &clock,
        folders: HashMap::new(),
        failed: 0,
    };
    let began = std::time::Instant::now();
    let count = threads.install(|| work.through(std::io::stdin().lock()))?;
    if args.timing {
        tell::timing_table(&clock, count, began.elapsed().as_secs_f64());
    }
    Ok(if work.failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}

/// Writes the frame lists of survey folders.
fn list(args: &FramesArgs) -> anyhow::Result<ExitCode> {
    let mut text = String::new();
    for folder in &args.list {
        let alone = Alone::open(folder).with_context(|| folder.display().to_string())?;
        for wanted in alone.list() {
            text.push_str(&serde_json::to_string(&wanted).context("a line could not be made")?);
            text.push('\n');
        }
    }
    tell::text(&text);
    Ok(ExitCode::SUCCESS)
}

/// What stands in place of a line that cannot be answered.
#[derive(Serialize)]
struct Refusal<'a> {
    schema: &'static str,
    line: usize,
    error: &'a str,
}

/// A line of the list, understood or not.
type Asked = (usize, Result<(String, usize), String>);

/// Frames being answered.
struct Work<'a> {
    settings: &'a Settings,
    clock: &'a Clock,
    folders: HashMap<String, Result<Alone, String>>,
    failed: usize,
}

impl Work<'_> {
    /// Answers every line in its turn; how many there were.
    fn through(&mut self, input: impl Read) -> anyhow::Result<usize> {
        let mut reader = BufReader::new(input);
        let mut number = 0;
        let mut asked: Vec<Asked> = Vec::new();
        loop {
            let mut text = Vec::new();
            let read = (&mut reader)
                .take(LONGEST)
                .read_until(b'\n', &mut text)
                .context("standard input cannot be read")?;
            if read > 0 {
                number += 1;
                let text = String::from_utf8_lossy(&text);
                if !text.trim().is_empty() {
                    asked.push((number, self.understand(text.trim())));
                }
            }
            if asked.len() >= AT_ONCE || read == 0 {
                self.answer(&asked)?;
                asked.clear();
            }
            if read == 0 {
                return Ok(number);
            }
        }
    }

    fn understand(&mut self, text: &str) -> Result<(String, usize), String> {
        let wanted: Wanted = serde_json::from_str(text).map_err(|problem| {
            format!("is no frame of a list ({problem}); hint: write the list with coldjacket frames --list FOLDER")
        })?;
        let folder = self.folders.entry(wanted.survey.clone()).or_insert_with(|| {
            let opened = Alone::open(Path::new(&wanted.survey)).map_err(|problem| problem.to_string());
            if let Ok(alone) = &opened {
                alone.warnings().iter().for_each(|warning| tell::warning(warning));
            }
            opened
        });
        let alone = folder
            .as_ref()
            .map_err(|problem| format!("{}: {problem}", wanted.survey))?;
        let index = alone.find(&wanted).ok_or_else(|| {
            let Wanted { survey, file, asset } = &wanted;
            format!("{survey}: its sheet frames has no row of {file} and {asset}")
        })?;
        Ok((wanted.survey, index))
    }

    /// Answers some lines side by side, and writes the answers in their order.
    fn answer(&mut self, asked: &[Asked]) -> anyhow::Result<()> {
        let this = &*self;
        let answers: Vec<Result<String, String>> = asked.par_iter().map(|(_, one)| this.one(one)).collect();
        let mut text = String::new();
        for ((line, _), answer) in asked.iter().zip(answers) {
            match answer {
                Ok(answer) => text.push_str(&answer),
                Err(error) => {
                    self.failed += 1;
                    tell::failed(&format!("line {line}: {error}"));
                    let refusal = Refusal {
                        schema: SCHEMA,
                        line: *line,
                        error: &error,
                    };
                    text.push_str(&serde_json::to_string(&refusal).context("a line could not be made")?);
                }
            }
            text.push('\n');
        }
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes())
            .and_then(|()| out.flush())
            .context("standard output cannot be written")
    }

    fn one(&self, asked: &Result<(String, usize), String>) -> Result<String, String> {
        let (survey, index) = asked.as_ref().map_err(Clone::clone)?;
        match self.folders.get(survey) {
            Some(Ok(alone)) => alone
                .line(*index, self.settings, self.clock)
                .map_err(|problem| problem.to_string()),
            Some(Err(problem)) => Err(problem.clone()),
            None => Err(format!("{survey}: was not opened")),
        }
    }
}
