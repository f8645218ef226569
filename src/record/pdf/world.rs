//! The layout engine and all that it may see: templates, typefaces and a document's data. No disk, no network, no clock.

use std::collections::HashMap;

use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

const TEMPLATES: [(&str, &str); 3] = [
    ("common.typ", include_str!("../pages/templates/common.typ")),
    ("asset.typ", include_str!("../pages/templates/asset.typ")),
    ("survey.typ", include_str!("../pages/templates/survey.typ")),
];

/// Subsets of DejaVu Sans; their licence stands beside them.
const FACES: [&[u8]; 3] = [
    include_bytes!("../page.ttf"),
    include_bytes!("../page-bold.ttf"),
    include_bytes!("../face.ttf"),
];

/// The engine, set up once for all documents.
pub(super) struct Engine {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

/// The files of one document by name.
#[derive(Default)]
pub(super) struct Files(HashMap<String, Bytes>);

impl Files {
    pub(super) fn add(&mut self, name: &str, bytes: Vec<u8>) {
        self.0.insert(name.to_owned(), Bytes::new(bytes));
    }
}

impl Engine {
    pub(super) fn new() -> Self {
        let fonts: Vec<Font> = FACES
            .into_iter()
            .flat_map(|face| Font::iter(Bytes::new(face)))
            .collect();
        Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
        }
    }

    /// Whether the typefaces of the text have a letter; those of figures have fewer, and fall back on them.
    pub(super) fn has(&self, c: char) -> bool {
        let mut pages = self.fonts.iter().take(2);
        pages.all(|font| font.info().coverage.contains(u32::from(c)))
    }

    /// Sets a document from a template and its files.
    ///
    /// # Errors
    /// What the engine said.
    pub(super) fn set(&self, template: &str, files: Files) -> Result<Vec<u8>, String> {
        let document = Document {
            engine: self,
            main: id(template).ok_or("no such template")?,
            files,
        };
        let pages: PagedDocument = typst::compile(&document).output.map_err(|all| told(&all))?;
        let options = PdfOptions {
            standards: PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
                .map_err(|error| error.message().to_string())?,
            creator: Smart::Custom(Some(concat!("coldjacket ", env!("CARGO_PKG_VERSION")).to_owned())),
            timestamp: None,
            ..PdfOptions::default()
        };
        let pdf = typst_pdf::pdf(&pages, &options).map_err(|all| told(&all))?;
        // What was remembered of one document is no use to the next, and would pile up.
        typst::comemo::evict(0);
        Ok(pdf)
    }
}

fn told(problems: &[SourceDiagnostic]) -> String {
    let messages: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
    messages.join("; ")
}

fn id(name: &str) -> Option<FileId> {
    let path = VirtualPath::new(name).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// One document being set.
struct Document<'a> {
    engine: &'a Engine,
    main: FileId,
    files: Files,
}

impl World for Document<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.engine.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.engine.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let name = id.vpath().get_without_slash();
        let template = TEMPLATES.iter().find(|(known, _)| *known == name);
        let (_, text) = template.ok_or_else(|| FileError::NotFound(name.into()))?;
        Ok(Source::new(id, (*text).to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let name = id.vpath().get_without_slash();
        let file = self.files.0.get(name);
        file.cloned().ok_or_else(|| FileError::NotFound(name.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.engine.fonts.get(index).cloned()
    }

    /// Nothing in a record comes from the clock.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}
