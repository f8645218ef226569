//! `record.html`: the whole record as one page that needs nothing but a browser.
//!
//! The page is a template filled from the [`Book`]: every text is escaped by the template engine, figures come in as they
//! were drawn, pictures as bytes within the page. Its policy forbids it to load anything, and to run any script but its own.

use std::collections::BTreeMap;

use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context};
use sha2::{Digest, Sha256};

use super::base64;
use super::book::Book;

const PAGE: &str = include_str!("pages/templates/record.html");
const PARTS: &str = include_str!("pages/templates/parts.html");
const STYLE: &str = include_str!("pages/templates/record.css");
const SCRIPT: &str = include_str!("pages/templates/record.js");

/// The page.
///
/// # Errors
/// A mistake in the template; none that a survey could cause.
pub fn html(book: &Book) -> Result<String, minijinja::Error> {
    let mut environment = environment()?;
    environment.add_template("parts.html", PARTS)?;
    environment.add_template("record.html", PAGE)?;
    let figures: BTreeMap<String, Value> = book
        .figures
        .iter()
        .map(|(name, figure)| (name.clone(), Value::from_safe_string(figure.svg.clone())))
        .collect();
    // Base64 holds nothing that needs escaping, and escaping its slashes would swell the page.
    let pictures: BTreeMap<String, Value> = book
        .pictures
        .iter()
        .map(|(name, bytes)| {
            let address = base64::data_url(media_type(name), bytes);
            (name.clone(), Value::from_safe_string(address))
        })
        .collect();
    let zones: BTreeMap<String, Value> = book
        .zones
        .iter()
        .map(|zone| (zone.id.clone(), Value::from(Serde(zone))))
        .collect();
    environment.get_template("record.html")?.render(context! {
        book => Value::from(Serde(book)),
        zone_by_id => zones,
        figures => figures,
        pictures => pictures,
        style => Value::from_safe_string(STYLE.to_owned()),
        script => Value::from_safe_string(SCRIPT.to_owned()),
        script_hash => base64::encode(&Sha256::digest(SCRIPT.as_bytes())),
        causes => words(book, |zone| &zone.cause),
        actions => words(book, |zone| &zone.action),
    })
}

/// The template engine as every page uses it: templates named `.html` escape what is filled in.
///
/// # Errors
/// None that is known: the syntax is the engine's own.
pub fn environment() -> Result<Environment<'static>, minijinja::Error> {
    let mut environment = Environment::new();
    // A name that is misspelt in the template must not end as a blank in a record.
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_syntax(SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build()?);
    Ok(environment)
}

/// The words that the list holds of a kind, each once, in alphabetical order.
fn words(book: &Book, of: impl Fn(&super::book::ZoneView) -> &String) -> Vec<String> {
    let mut words: Vec<String> = book.listed().map(|zone| of(zone).clone()).collect();
    words.sort_unstable();
    words.dedup();
    words
}

fn media_type(name: &str) -> &'static str {
    if name.ends_with(".png") {
        "image/png"
    } else {
        "image/jpeg"
    }
}
