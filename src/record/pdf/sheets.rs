//! Which PDFs there are, and what each is filled with.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::{ThreadPool, ThreadPoolBuildError, ThreadPoolBuilder};
use serde_json::{Value, json};

use super::legible;
use super::world::{Engine, Files};
use super::{Error, Taken};
use crate::record::book::{AssetPage, Book, FigureView, ZoneView, names};

/// The folder of the PDFs within the record.
const FOLDER: &str = "pdf";

/// Bytes of the stack that a document is set on, of which the system gives only what is used: the layout engine is not
/// optimised and nests deep.
const STACK: usize = 64 * 1024 * 1024;

/// Makes every PDF. A finished one is handed on at once: what memory holds of them does not follow their number.
///
/// Each worker has a pool of one thread. In a pool that they shared, a thread that waits within one document would take up
/// another meanwhile, on the same stack, and that as often as there are documents.
pub(super) fn write(book: &Book, taken: Taken) -> Result<(), Error> {
    let engine = Engine::new();
    let head = head(book);
    // The survey's, which is the longest, is begun first.
    let next = AtomicUsize::new(0);
    let set_next = || {
        let (data, template, name) = match next.fetch_add(1, Ordering::Relaxed) {
            0 => (Data::of_survey(book), "survey.typ", names::survey_pdf(&book.date)),
            number => match book.assets.get(number - 1) {
                Some(page) => (Data::of_asset(book, number - 1, page), "asset.typ", page.pdf.clone()),
                None => return Ok(false),
            },
        };
        let (path, bytes) = data.set(&engine, &head, (template, &name))?;
        taken(&path, &bytes)?;
        Ok::<bool, Error>(true)
    };
    let pools =
        (0..rayon::current_num_threads()).map(|_| ThreadPoolBuilder::new().num_threads(1).stack_size(STACK).build());
    let pools: Vec<ThreadPool> = pools
        .collect::<Result<_, _>>()
        .map_err(|problem: ThreadPoolBuildError| Error::Threads(problem.to_string()))?;
    let work = |pool: &ThreadPool| {
        pool.install(|| {
            while set_next()? {}
            Ok(())
        })
    };
    std::thread::scope(|scope| {
        let workers: Vec<_> = pools.iter().map(|pool| scope.spawn(|| work(pool))).collect();
        workers
            .into_iter()
            .try_for_each(|worker| worker.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })
}

/// What every document is told of the survey.
fn head(book: &Book) -> Value {
    json!({
        "title": book.title, "plant": book.plant, "date": book.date, "inspector": book.inspector,
        "made_by": book.made_by, "paper": book.paper, "cautions": book.cautions, "method": book.method,
        "summary": book.summary, "warnings": book.warnings,
    })
}

/// What one document is filled with.
struct Data<'a> {
    fields: Value,
    /// Figures and pictures by the name that the data calls them by.
    files: BTreeMap<&'a str, (&'static str, &'a [u8])>,
}

impl<'a> Data<'a> {
    fn of_asset(book: &'a Book, index: usize, page: &'a AssetPage) -> Self {
        let zones: Vec<&ZoneView> = book.zones.iter().filter(|zone| zone.asset_index == index).collect();
        let mut files = BTreeMap::new();
        let mut take = |name: &'a str, ending: &'static str, bytes: Option<&'a [u8]>| {
            files.extend(bytes.map(|bytes| (name, (ending, bytes))));
        };
        let figure = |view: &'a FigureView| book.figures.get(&view.name).map(|figure| figure.svg.as_bytes());
        let figures = page.frames.iter().filter_map(|frame| frame.figure.as_ref());
        for view in figures.chain(&page.sound).chain([&page.unrolled]) {
            take(&view.name, "svg", figure(view));
        }
        let picture = |name: &'a str| book.pictures.get(name).map(Vec::as_slice);
        for name in zones.iter().filter_map(|zone| zone.thumbnail.as_deref()) {
            take(name, "png", picture(name));
        }
        let photos = page.frames.iter().filter_map(|frame| frame.photo.as_deref());
        let walk = page.observations.iter().filter_map(|seen| seen.photo.as_deref());
        for name in photos.chain(walk) {
            take(name, "jpg", picture(name));
        }
        let is_mine = |path: &str| {
            let photo = |given: &Option<String>| given.as_deref() == Some(path);
            let of_frames = page.frames.iter().any(|f| f.file == path || photo(&f.photo_file));
            of_frames || page.observations.iter().any(|seen| photo(&seen.photo_file))
        };
        let inputs = book.provenance.inputs.iter();
        let inputs: Vec<_> = inputs.filter(|i| i.kind == "sheet" || is_mine(&i.path)).collect();
        let mut page = json!(page);
        // Readings for the pointer are no business of a sheet of paper.
        for frame in page["frames"].as_array_mut().into_iter().flatten() {
            frame["values"] = Value::Null;
        }
        Self {
            fields: json!({"page": page, "zones": zones, "inputs": inputs}),
            files,
        }
    }

    fn of_survey(book: &'a Book) -> Self {
        let (inputs, settings) = (&book.provenance.inputs, &book.provenance.settings);
        Self {
            fields: json!({"zones": book.zones, "inputs": inputs, "settings": settings}),
            files: BTreeMap::new(),
        }
    }

    /// Sets the document.
    fn set(
        mut self,
        engine: &Engine,
        head: &Value,
        (template, name): (&str, &str),
    ) -> Result<(PathBuf, Vec<u8>), Error> {
        let has = |c: char| engine.has(c);
        let mut files = Files::default();
        let mut names = serde_json::Map::new();
        for (index, (name, (ending, bytes))) in self.files.iter().enumerate() {
            // Numbered: the engine never forgets a name, and there may be many records.
            let file = format!("{index}.{ending}");
            let bytes = match std::str::from_utf8(bytes) {
                Ok(svg) if *ending == "svg" => legible::legible(svg, &has).into_bytes(),
                _ => bytes.to_vec(),
            };
            files.add(&file, bytes);
            names.insert((*name).to_owned(), Value::String(file));
        }
        self.fields["book"] = head.clone();
        legible::value(&mut self.fields, &has);
        // Names are keys, not texts: they stay as they are, as do the fields that name them.
        let mut named = serde_json::Map::new();
        for (name, file) in names {
            named.insert(legible::legible(&name, &has), file);
        }
        self.fields["files"] = Value::Object(named);
        files.add("data.json", self.fields.to_string().into_bytes());
        let path = Path::new(FOLDER).join(name);
        match engine.set(template, files) {
            Ok(pdf) => Ok((path, pdf)),
            Err(problem) => Err(Error::Unset { file: path, problem }),
        }
    }
}
