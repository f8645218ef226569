//! Files put into the survey folder without ever overwriting one.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::Error;

/// A file to be put in place, by its path within the survey folder.
pub(super) struct Item {
    pub(super) path: PathBuf,
    pub(super) content: Content,
}

/// What it holds.
pub(super) enum Content {
    Bytes(Vec<u8>),
    CopyOf(PathBuf),
}

/// Puts the files into a new folder at once, or into one that is there one by one, images first; where one cannot be
/// put, those that were are taken away again.
pub(super) fn put(folder: &Path, items: &[Item]) -> Result<(), Error> {
    let absolute = std::path::absolute(folder).map_err(system(folder, "cannot tell where it is"))?;
    if absolute.exists() {
        return put_into(&absolute, items);
    }
    let parent = absolute.parent().unwrap_or(&absolute).to_path_buf();
    fs::create_dir_all(&parent).map_err(system(&parent, "cannot make the folder"))?;
    let beside = tempfile::Builder::new()
        .prefix(".coldjacket-unfinished-")
        .tempdir_in(&parent)
        .map_err(system(&absolute, "cannot make a folder beside it"))?;
    put_into(beside.path(), items)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A temporary folder is private; failing here only leaves it so, which its owner can see and change.
        let _ = fs::set_permissions(beside.path(), fs::Permissions::from_mode(0o755));
    }
    fs::rename(beside.path(), &absolute).map_err(system(&absolute, "cannot put the folder in place"))?;
    // It has its own name now, and nothing is left to clean up.
    let _ = beside.keep();
    Ok(())
}

fn put_into(folder: &Path, items: &[Item]) -> Result<(), Error> {
    let mut made: Vec<PathBuf> = Vec::new();
    for item in items {
        if let Err(error) = one(folder, item, &mut made) {
            // Latest first, so that a folder is empty when its turn comes.
            for path in made.iter().rev() {
                let _ = if path.is_dir() {
                    fs::remove_dir(path)
                } else {
                    fs::remove_file(path)
                };
            }
            return Err(error);
        }
    }
    Ok(())
}

fn one(folder: &Path, item: &Item, made: &mut Vec<PathBuf>) -> Result<(), Error> {
    let path = folder.join(&item.path);
    make_folders(folder, &item.path, made)?;
    let mut file = File::create_new(&path).map_err(|problem| match problem.kind() {
        io::ErrorKind::AlreadyExists => Error::Stands { path: path.clone() },
        _ => system(&path, "cannot write")(problem),
    })?;
    made.push(path.clone());
    match &item.content {
        Content::Bytes(bytes) => file.write_all(bytes).map_err(system(&path, "cannot write")),
        Content::CopyOf(source) => {
            let mut from = File::open(source).map_err(system(source, "cannot be read"))?;
            io::copy(&mut from, &mut file)
                .map(drop)
                .map_err(system(&path, "cannot write"))
        }
    }
}

/// Makes the folders that a path within `folder` needs, noting those that were not there.
fn make_folders(folder: &Path, path: &Path, made: &mut Vec<PathBuf>) -> Result<(), Error> {
    let mut wanted: Vec<&Path> = path.ancestors().skip(1).filter(|p| !p.as_os_str().is_empty()).collect();
    wanted.reverse();
    for inner in wanted {
        let inner = folder.join(inner);
        if !inner.is_dir() {
            fs::create_dir(&inner).map_err(system(&inner, "cannot make the folder"))?;
            made.push(inner);
        }
    }
    Ok(())
}

fn system(path: &Path, action: &'static str) -> impl Fn(io::Error) -> Error + use<> {
    let path = path.to_path_buf();
    move |problem| Error::System {
        path: path.clone(),
        action,
        problem,
    }
}
