//! What earlier runs into the same result folder came to: an interrupted survey goes on where it was, and a frame whose
//! image, rows, settings and program are the same is not computed again.
//!
//! It lies in `.coldjacket-kept-NAME` beside the folder NAME, a file for each frame, picture and page figure, named by the
//! digest of all that it depends on; so nothing in it can be out of date, and to take it away only costs time. Each file
//! states the digest of its content: a torn or altered one counts as not there. Pictures share their bytes with the
//! result folder where the file system can. Only the run that has the turn for NAME comes here.

use std::collections::HashSet;
use std::ffi::OsStr;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::UNIX_EPOCH;

use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use crate::digest::hex;
use crate::inspect::{Inspection, Outcome, OutcomeOf};
use crate::record::picture;
use crate::record::shot::{self, Shot};
use crate::record::staging::{Staging, Written};
use crate::register::Register;

/// Bytes of a digest.
const DIGEST: usize = 32;

/// What becomes of what earlier runs kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Past {
    /// It is used where it fits.
    Used,
    /// It is taken away first.
    Forgotten,
}

/// The store of one result folder.
#[derive(Debug)]
pub struct Kept {
    folder: PathBuf,
    /// What the program is told by: another build may compute otherwise.
    program: String,
    /// The files that this run used or wrote, by [`mark`].
    used: Mutex<HashSet<u128>>,
    frames_reused: AtomicUsize,
    trouble: Mutex<Option<io::Error>>,
}

/// The digest of all that a frame's result depends on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FrameKey(String);

/// What a run that is done says of the store.
#[derive(Debug)]
pub struct Closed {
    /// Frames that were taken as they were.
    pub frames_reused: usize,
    /// What kept something from being kept.
    pub trouble: Option<io::Error>,
}

impl Kept {
    /// Opens the store beside a result folder.
    ///
    /// # Errors
    /// What was kept cannot be taken away.
    pub fn beside(target: &Path, past: Past) -> io::Result<Self> {
        let name = target.file_name().unwrap_or_default().to_string_lossy();
        let folder = target.with_file_name(format!(".coldjacket-kept-{name}"));
        if past == Past::Forgotten {
            match fs::remove_dir_all(&folder) {
                Err(problem) if problem.kind() != io::ErrorKind::NotFound => return Err(problem),
                _ => {}
            }
        }
        Ok(Self {
            folder,
            program: program(),
            used: Mutex::default(),
            frames_reused: AtomicUsize::new(0),
            trouble: Mutex::default(),
        })
    }

    /// The key of a frame: its image's digest, and that of the sheets' rows, thresholds and version.
    #[must_use]
    pub fn frame_key(&self, image_sha256: &str, inputs: &str) -> FrameKey {
        FrameKey(digest(&[&self.program, image_sha256, inputs]))
    }

    /// What a frame gave; `index` is where it stands in the register now.
    #[must_use]
    pub fn frame(&self, key: &FrameKey, register: &Register, index: usize) -> Option<Outcome> {
        let outcome: Outcome = self.get(&format!("{}.frame", key.0))?;
        let outcome = outcome.placed(register, index)?;
        self.frames_reused.fetch_add(1, Ordering::Relaxed);
        Some(outcome)
    }

    /// Keeps what a frame gave.
    pub fn keep_frame(&self, key: &FrameKey, inspection: &Inspection) {
        self.put(&format!("{}.frame", key.0), &OutcomeOf::from(inspection));
    }

    /// Puts a frame's kept picture into the results; whether there was one.
    pub fn place_picture(&self, key: &str, staging: &Staging, name: &Path) -> bool {
        let Some(sha256) = self.get::<String>(&format!("{key}.picture")) else {
            return false;
        };
        let path = self.folder.join(format!("{key}.png"));
        let placed = staging
            .take_shared(name, &path, &sha256)
            .is_ok_and(|taken| taken.is_some());
        if placed {
            self.note(&format!("{key}.png"));
        }
        placed
    }

    /// Keeps a picture that stands in the results as `written`.
    pub fn keep_picture(&self, key: &str, staging: &Staging, written: &Written) {
        let path = self.folder.join(format!("{key}.png"));
        let kept = fs::create_dir_all(&self.folder).and_then(|()| {
            match fs::remove_file(&path) {
                Err(problem) if problem.kind() != io::ErrorKind::NotFound => return Err(problem),
                _ => {}
            }
            staging.share(Path::new(&written.path), &path)
        });
        match kept {
            Ok(()) => {
                self.note(&format!("{key}.png"));
                self.put(&format!("{key}.picture"), &written.sha256);
            }
            Err(problem) => self.complain(problem),
        }
    }

    /// What the record shows of a frame.
    #[must_use]
    pub fn shot(&self, key: &str, index: usize) -> Option<Shot> {
        let shot: Shot = self.get(&format!("{key}.shot"))?;
        Some(Shot { frame: index, ..shot })
    }

    /// Keeps what the record shows of a frame.
    pub fn keep_shot(&self, key: &str, shot: &Shot) {
        self.put(&format!("{key}.shot"), shot);
    }

    /// Takes away what this run had no use for.
    #[must_use]
    pub fn close(self) -> Closed {
        let used = self.used.into_inner().unwrap_or_else(PoisonError::into_inner);
        let mut trouble = self.trouble.into_inner().unwrap_or_else(PoisonError::into_inner);
        if let Ok(entries) = fs::read_dir(&self.folder) {
            for entry in entries
                .flatten()
                .filter(|entry| !used.contains(&mark(&entry.file_name())))
            {
                if let Err(problem) = fs::remove_file(entry.path()) {
                    trouble.get_or_insert(problem);
                }
            }
        }
        Closed {
            frames_reused: self.frames_reused.into_inner(),
            trouble,
        }
    }

    /// A file's content, where it is there and whole.
    fn get<T: DeserializeOwned>(&self, name: &str) -> Option<T> {
        let bytes = fs::read(self.folder.join(name)).ok()?;
        let (stated, content) = bytes.split_at_checked(DIGEST)?;
        if Sha256::digest(content).as_slice() != stated {
            return None;
        }
        let value = ciborium::from_reader(content).ok()?;
        self.note(name);
        Some(value)
    }

    /// Writes a file, whole or not at all.
    fn put<T: Serialize>(&self, name: &str, value: &T) {
        let written = || {
            let mut content = Vec::new();
            ciborium::into_writer(value, &mut content).map_err(io::Error::other)?;
            fs::create_dir_all(&self.folder)?;
            let mut file = tempfile::NamedTempFile::new_in(&self.folder)?;
            file.write_all(&Sha256::digest(&content))?;
            file.write_all(&content)?;
            file.persist(self.folder.join(name))?;
            Ok(())
        };
        match written() {
            Ok(()) => self.note(name),
            Err(problem) => self.complain(problem),
        }
    }

    fn note(&self, name: &str) {
        hold(&self.used).insert(mark(OsStr::new(name)));
    }

    /// Keeping is for later runs: that it fails must not fail this one.
    fn complain(&self, problem: io::Error) {
        hold(&self.trouble).get_or_insert(problem);
    }
}

/// How the pictures of a frame are drawn, and of which zones.
#[derive(Debug, Clone, Copy)]
pub struct Drawing<'a> {
    /// Digest of the asset's zones.
    pub zones: &'a str,
    /// How annotated pictures are drawn.
    pub look: Option<picture::Look>,
    /// How the record's are.
    pub shots: Option<shot::Look>,
}

impl Drawing<'_> {
    /// The key of a frame's annotated picture.
    #[must_use]
    pub fn picture_key(&self, frame: &FrameKey) -> String {
        digest(&[&frame.0, self.zones, &format!("{:?}", self.look)])
    }

    /// The key of what the record shows of a frame.
    #[must_use]
    pub fn shot_key(&self, frame: &FrameKey) -> String {
        digest(&[&frame.0, self.zones, &format!("{:?}", self.shots)])
    }
}

/// The digest of several texts, in their order.
#[must_use]
pub fn digest(parts: &[&str]) -> String {
    let mut hasher = Sha256::new();
    for part in parts {
        // Each with its length: no two lists of texts run together to the same bytes.
        hasher.update((part.len() as u64).to_le_bytes());
        hasher.update(part);
    }
    hex(&hasher.finalize())
}

/// Half of the digest of a file's name: a whole name a file would be most of what a long run holds.
fn mark(name: &OsStr) -> u128 {
    let digest = Sha256::digest(name.as_encoded_bytes());
    digest
        .iter()
        .take(16)
        .fold(0, |mark, byte| mark << 8 | u128::from(*byte))
}

/// What is locked: a thread that panicked elsewhere has left it as it was.
fn hold<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Version, and size and time of the program's own file: a build that differs is another program.
fn program() -> String {
    let file = std::env::current_exe().and_then(fs::metadata).ok();
    let time = file.as_ref().and_then(|file| file.modified().ok());
    let since = time.and_then(|time| time.duration_since(UNIX_EPOCH).ok());
    format!(
        "{} {:?} {:?}",
        env!("CARGO_PKG_VERSION"),
        file.map(|file| file.len()),
        since
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).map(|entries| {
            entries
                .flatten()
                .map(|entry| entry.file_name().to_string_lossy().into_owned())
                .collect()
        });
        entries.unwrap_or_default()
    }

    #[test]
    fn what_is_kept_comes_back_until_it_is_altered_or_forgotten() {
        let room = tempfile::tempdir().unwrap();
        let target = room.path().join("out");
        let kept = Kept::beside(&target, Past::Used).unwrap();
        assert_eq!(kept.get::<String>("a.frame"), None);
        kept.put("a.frame", &"wet".to_owned());
        kept.put("b.frame", &"dry".to_owned());
        assert_eq!(kept.get::<String>("a.frame").as_deref(), Some("wet"));

        let path = room.path().join(".coldjacket-kept-out/a.frame");
        let mut bytes = fs::read(&path).unwrap();
        let whole = bytes.clone();
        *bytes.last_mut().unwrap() ^= 1;
        fs::write(&path, &bytes).unwrap();
        assert_eq!(kept.get::<String>("a.frame"), None);
        for length in 0..whole.len() {
            fs::write(&path, &whole[..length]).unwrap();
            assert_eq!(kept.get::<String>("a.frame"), None, "{length} bytes");
        }

        let forgotten = Kept::beside(&target, Past::Forgotten).unwrap();
        assert_eq!(forgotten.get::<String>("b.frame"), None);
        assert_eq!(names(room.path()), Vec::<String>::new());
    }

    #[test]
    fn what_a_run_had_no_use_for_is_taken_away() {
        let room = tempfile::tempdir().unwrap();
        let target = room.path().join("out");
        let first = Kept::beside(&target, Past::Used).unwrap();
        first.put("a.frame", &1);
        first.put("b.frame", &2);
        assert!(first.close().trouble.is_none());
        let second = Kept::beside(&target, Past::Used).unwrap();
        assert_eq!(second.get::<i32>("b.frame"), Some(2));
        assert!(second.close().trouble.is_none());
        assert_eq!(names(&room.path().join(".coldjacket-kept-out")), ["b.frame"]);
    }

    #[test]
    fn that_nothing_can_be_kept_is_told_and_fails_nothing() {
        let room = tempfile::tempdir().unwrap();
        // A file stands where the folder would.
        fs::write(room.path().join(".coldjacket-kept-out"), "").unwrap();
        let kept = Kept::beside(&room.path().join("out"), Past::Used).unwrap();
        kept.put("a.frame", &1);
        assert_eq!(kept.get::<i32>("a.frame"), None);
        assert!(kept.close().trouble.is_some());
    }

    #[test]
    fn texts_do_not_run_together() {
        assert_ne!(digest(&["ab", "c"]), digest(&["a", "bc"]));
    }
}
