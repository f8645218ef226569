//! `coldjacket plan FOLDER`.

use std::path::Path;
use std::process::ExitCode;

use anyhow::Context;
use serde_json::json;

use crate::cli::PlanArgs;
use crate::plan::{self, Material, Verdict, document, sheet};
use crate::record::findings::CAUTIONS;
use crate::record::staging::{PLANS, Product, Staging};
use crate::register::before;
use crate::settings::Settings;
use crate::tell;
use crate::told;

/// Runs the command; an error means nothing was done (exit status 2).
///
/// # Errors
/// Faults of the sheets, an output folder that cannot be used or written.
pub fn run(args: &PlanArgs) -> anyhow::Result<ExitCode> {
    let before = before::open(&args.folder)?;
    before.warnings.iter().for_each(|warning| tell::warning(warning));
    let asked = args.expected.asked();
    let material = Material {
        before: &before,
        asked: &asked,
        settings: &plan::Settings::default(),
        survey: &Settings::default(),
    };
    let planned = plan::make(&material);
    anyhow::ensure!(
        !planned.assets.is_empty(),
        "{}: no asset of the register stands there (--setting); hint: leave --setting out",
        args.folder.display()
    );
    let staging = Staging::begin_product(Product::Plan, &args.out, &args.folder)?;
    let [json_name, sheet_name] = PLANS;
    let json = document::json(&material, &planned).context("plan.json could not be made")?;
    staging.write(Path::new(json_name), &json)?;
    let html = sheet::html(&material, &planned, args.units).context("field-sheet.html could not be made")?;
    staging.write(Path::new(sheet_name), html.as_bytes())?;
    staging.finish()?;
    if told::is_json() {
        for one in &planned.assets {
            let asset = &before.assets[one.asset];
            tell::event(&json!({
                "event": "asset", "asset": asset.tag, "area": asset.area, "verdict": one.verdict,
                "reasons": one.reasons, "would_help": one.help,
            }));
        }
        let count = |verdict| planned.count(verdict);
        tell::event(&json!({
            "event": "plan", "go": count(Verdict::Go), "marginal": count(Verdict::Marginal), "no-go": count(Verdict::NoGo),
            "written_to": args.out, "status": 0,
        }));
        return Ok(ExitCode::SUCCESS);
    }
    let mut text = sheet::text(&material, &planned, args.units);
    text.push_str(&format!("\n{}\n", sheet::counts(&planned)));
    text.push_str(&format!(
        "written to {}: {json_name}, {sheet_name}\n",
        args.out.display()
    ));
    for caution in CAUTIONS {
        text.push_str(caution);
        text.push('\n');
    }
    tell::text(&text);
    Ok(ExitCode::SUCCESS)
}
