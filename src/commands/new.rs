//! `coldjacket new FOLDER --images DIR`.

use std::process::ExitCode;

use serde_json::json;

use crate::cli::NewArgs;
use crate::start::{self, Form, Order, Started};
use crate::tell;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// No images, a folder that holds sheets already, output that cannot be written.
pub fn run(args: &NewArgs) -> anyhow::Result<ExitCode> {
    let order = Order {
        folder: &args.folder,
        images: &args.images,
        form: if args.xlsx { Form::Xlsx } else { Form::Csv },
        limits: args.reading.limits(),
    };
    let started = start::begin(&order)?;
    if crate::told::is_json() {
        events(args, &started);
    } else {
        tell::text(&told(args, &started));
    }
    Ok(if started.skipped.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}

fn events(args: &NewArgs, started: &Started) {
    for file in &started.skipped {
        tell::event(&json!({"event": "skipped", "file": file.path, "reason": file.reason}));
    }
    for image in &started.images {
        tell::event(&json!({
            "event": "image", "file": image.file, "proposed_scale": image.proposal.scale,
            "captured_at": image.captured_at, "note": image.proposal.note,
        }));
    }
    tell::event(&json!({
        "event": "new", "images": started.images.len(), "skipped": started.skipped.len(), "copied": started.copied,
        "written": started.written, "written_to": args.folder, "status": i32::from(!started.skipped.is_empty()),
    }));
}

fn told(args: &NewArgs, started: &Started) -> String {
    let (folder, frames) = (
        args.folder.display(),
        if args.xlsx { "frames.xlsx" } else { "frames.csv" },
    );
    let assets = if args.xlsx { "assets.xlsx" } else { "assets.csv" };
    let mut text = String::new();
    for file in &started.skipped {
        text.push_str(&format!("{}: no row: {}\n", file.path, file.reason));
    }
    for image in &started.images {
        let scale = image.proposal.scale.unwrap_or("no scale");
        let when = image.captured_at.as_deref().unwrap_or("time not in the file");
        text.push_str(&format!("{}: {scale} proposed, {when}\n", image.file));
    }
    let count = started.images.len();
    let (noun, verb) = if count == 1 {
        ("image", "was")
    } else {
        ("images", "were")
    };
    let copied = if started.copied {
        format!("{verb} copied to {folder}/images")
    } else {
        "stay where they are".to_owned()
    };
    text.push_str(&format!(
        "\n{count} {noun} {copied}; {} written: {}\n\
         Temperature scales are proposals: confirm each in {frames} and clear its note.\n\
         To fill in: title, plant and date in survey.toml; the register in {assets}; asset and conditions in {frames}. \
         COLUMNS.md explains every column.\n",
        folder,
        started.written.join(", ")
    ));
    text
}
