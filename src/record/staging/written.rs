//! What has been written into a result folder, with the digest of each file.

/// A file of a result folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Written {
    /// Path within the folder, with forward slashes.
    pub path: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// How many bytes.
    pub bytes: u64,
}

/// What has been written, its texts end to end: many small ones, held while pictures come and go, would keep memory from
/// being given back.
#[derive(Debug, Default)]
pub(super) struct List {
    texts: String,
    files: Vec<Listed>,
}

/// Where the path and the digest of a file end in the texts, and its bytes.
#[derive(Debug)]
struct Listed {
    path_end: usize,
    sha256_end: usize,
    bytes: u64,
}

impl List {
    pub(super) fn push(&mut self, written: &Written) {
        self.texts.push_str(&written.path);
        let path_end = self.texts.len();
        self.texts.push_str(&written.sha256);
        self.files.push(Listed {
            path_end,
            sha256_end: self.texts.len(),
            bytes: written.bytes,
        });
    }

    pub(super) fn sorted(&self) -> Vec<Written> {
        let starts = std::iter::once(0).chain(self.files.iter().map(|file| file.sha256_end));
        let mut written: Vec<Written> = starts
            .zip(&self.files)
            .map(|(start, file)| Written {
                path: self.texts[start..file.path_end].to_owned(),
                sha256: self.texts[file.path_end..file.sha256_end].to_owned(),
                bytes: file.bytes,
            })
            .collect();
        written.sort();
        written
    }
}
