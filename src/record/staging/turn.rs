//! One run at a time for a result folder, and what a killed one left behind.
//!
//! A run holds a lock on `.coldjacket-busy-NAME` beside the folder NAME; the system lets go of it however the run ends. So
//! whoever has the lock knows that every unfinished folder for NAME is of a run that is dead.

use std::borrow::Cow;
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// Marks a folder in the making; moves with it, and is taken away last. Holds the name of what is made.
pub(super) const MARK: &str = ".coldjacket-unfinished";

/// The right to write a result folder; given back when dropped.
#[derive(Debug)]
pub(super) struct Turn {
    path: PathBuf,
    _lock: File,
}

/// Why there is no turn.
#[derive(Debug)]
pub(super) enum Refusal {
    /// Another run has it.
    Busy,
    /// The system refused.
    System(io::Error),
}

impl Turn {
    /// Takes the turn for a folder, which need not exist; its parent must.
    pub(super) fn take(target: &Path) -> Result<Self, Refusal> {
        let path = target.with_file_name(format!(".coldjacket-busy-{}", name(target)));
        loop {
            let lock = File::options()
                .create(true)
                .truncate(false)
                .write(true)
                .open(&path)
                .map_err(Refusal::System)?;
            match lock.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Err(Refusal::Busy),
                // A file system without locks: as good as it gets there.
                Err(TryLockError::Error(_)) => return Ok(Self { path, _lock: lock }),
            }
            // The run before takes its file away when it ends: a lock on a file that has no name any more is none.
            if is_same_file(&lock, &path) {
                return Ok(Self { path, _lock: lock });
            }
        }
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        // Still locked: nobody can have come to hold it in between.
        let _ = fs::remove_file(&self.path);
    }
}

#[cfg(unix)]
fn is_same_file(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(a), Ok(b)) => a.ino() == b.ino() && a.dev() == b.dev(),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_same_file(_: &File, path: &Path) -> bool {
    path.exists()
}

fn name(target: &Path) -> Cow<'_, str> {
    target.file_name().unwrap_or_default().to_string_lossy()
}

/// What the names of folders in the making for a target start with; six letters and digits follow.
pub(super) fn prefix(target: &Path) -> String {
    format!(".coldjacket-unfinished-{}.", name(target))
}

/// Clears away what dead runs left; `ours` tells the names that a product may replace. Call it with the turn in hand.
pub(super) fn clear(target: &Path, ours: impl Fn(&str) -> &'static [&'static str]) -> io::Result<()> {
    let Some(parent) = target.parent() else { return Ok(()) };
    let prefix = prefix(target);
    let (mut unfinished, mut former) = (Vec::new(), Vec::new());
    for entry in fs::read_dir(parent)? {
        let entry = entry?;
        let name = entry.file_name();
        let Some(rest) = name.to_str().and_then(|name| name.strip_prefix(&prefix)) else {
            continue;
        };
        let random = rest.strip_suffix(FORMER).unwrap_or(rest);
        if random.len() != 6 || !random.bytes().all(|b| b.is_ascii_alphanumeric()) {
            continue;
        }
        if entry.path().join(MARK).is_file() {
            unfinished.push(entry.path());
        } else {
            former.push(entry.path());
        }
    }
    for folder in &former {
        if !target.exists() {
            if folder.to_string_lossy().ends_with(FORMER) {
                // Killed between putting the former result aside and the new one in place.
                fs::rename(folder, target)?;
            } else {
                // Killed before there was a mark: empty. One that is not is someone's, whose result was taken away since.
                let _ = fs::remove_dir(folder);
            }
            continue;
        }
        // Killed after that: what was not ours in the former result still waits there.
        let product = fs::read_to_string(target.join(MARK)).unwrap_or_default();
        super::keep_foreign(folder, target, ours(&product))?;
        fs::remove_dir_all(folder)?;
    }
    for folder in unfinished {
        fs::remove_dir_all(folder)?;
    }
    match fs::remove_file(target.join(MARK)) {
        Err(problem) if problem.kind() != io::ErrorKind::NotFound && problem.kind() != io::ErrorKind::NotADirectory => {
            Err(problem)
        }
        _ => Ok(()),
    }
}

/// What is added to the name of a former result that was put aside where two folders cannot be exchanged.
pub(super) const FORMER: &str = ".former";

/// Exchanges two folders at once, so that at no moment there is none.
#[cfg(target_os = "linux")]
pub(super) fn exchange(one: &Path, other: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE).map_err(io::Error::from)
}

/// As on Linux, where a system can.
#[cfg(not(target_os = "linux"))]
pub(super) fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::ErrorKind::Unsupported.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_is_one_runs_and_leaves_nothing() {
        let room = tempfile::tempdir().unwrap();
        let target = room.path().join("out");
        let turn = Turn::take(&target).unwrap();
        assert!(matches!(Turn::take(&target), Err(Refusal::Busy)));
        assert!(Turn::take(&room.path().join("out-2")).is_ok());
        drop(turn);
        assert!(Turn::take(&target).is_ok());
        assert_eq!(fs::read_dir(room.path()).unwrap().count(), 0);
    }

    #[test]
    fn only_what_dead_runs_left_for_this_folder_is_cleared() {
        let room = tempfile::tempdir().unwrap();
        let at = |name: &str| room.path().join(name);
        let target = at("out");
        for (name, file) in [
            (".coldjacket-unfinished-out.abc123", MARK),
            (".coldjacket-unfinished-out.b.abc123", MARK),
            (".coldjacket-unfinished-out-2.abc123", MARK),
            (".coldjacket-unfinished-out.xyz789", "letter.txt"),
            (".coldjacket-unfinished-out.xyz789", "findings.json"),
            ("out", MARK),
            ("out", "findings.json"),
        ] {
            fs::create_dir_all(at(name)).unwrap();
            fs::write(at(name).join(file), name).unwrap();
        }
        clear(&target, |_| &["findings.json"]).unwrap();
        let mut left: Vec<String> = fs::read_dir(room.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        left.sort();
        assert_eq!(
            left,
            [
                ".coldjacket-unfinished-out-2.abc123",
                ".coldjacket-unfinished-out.b.abc123",
                "out"
            ]
        );
        assert!(target.join("letter.txt").is_file() && !target.join(MARK).exists());
        assert_eq!(fs::read_to_string(target.join("findings.json")).unwrap(), "out");
    }

    #[test]
    fn a_folder_that_was_only_just_begun_becomes_no_result() {
        let room = tempfile::tempdir().unwrap();
        fs::create_dir(room.path().join(".coldjacket-unfinished-out.abc123")).unwrap();
        clear(&room.path().join("out"), |_| &["findings.json"]).unwrap();
        assert_eq!(fs::read_dir(room.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_former_result_put_aside_comes_back_where_none_stands() {
        let room = tempfile::tempdir().unwrap();
        let aside = room.path().join(".coldjacket-unfinished-out.abc123.former");
        fs::create_dir(&aside).unwrap();
        fs::write(aside.join("findings.json"), "former").unwrap();
        clear(&room.path().join("out"), |_| &["findings.json"]).unwrap();
        assert_eq!(
            fs::read_to_string(room.path().join("out/findings.json")).unwrap(),
            "former"
        );
        assert!(!aside.exists());
    }
}
