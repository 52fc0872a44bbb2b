//! Puts the files of a write-up into a folder of their own: all of them, or none.
//!
//! They are written beside their place, made durable and moved there in one step. A folder that holds anything is left alone; with
//! leave to replace, only one whose every file stands in its own list of hashes. Leaves out what the files hold.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// The list of hashes, by which a folder is known as one of ours.
pub const HASHES: &str = "SHA256SUMS";

/// What a half-written folder of a process that was killed is given before the next one removes it.
const STALE: Duration = Duration::from_secs(3600);

/// Why files could not be handed out. Nothing was left behind and nothing that was there has changed.
#[derive(Debug, thiserror::Error)]
pub enum HandoutError {
    /// Something is there.
    #[error("{0} is there already; it is as it was")]
    Taken(PathBuf),
    /// There is something in the folder that no write-up put there.
    #[error("{folder} holds {file}, which is not of the write-up there, so it is not replaced")]
    Foreign { folder: PathBuf, file: String },
    /// The disk is full.
    #[error("the disk with {0} is full")]
    Full(PathBuf),
    /// Not allowed.
    #[error("{0} may not be written by you")]
    NotAllowed(PathBuf),
    /// Anything else.
    #[error("{path} could not be written: {source}")]
    Failed { path: PathBuf, source: io::Error },
}

impl HandoutError {
    /// What to do about it.
    pub fn next_step(&self) -> &'static str {
        match self {
            Self::Taken(_) => "choose another place or title, or replace what is there with --force",
            Self::Foreign { .. } => "move that file away, or choose another place",
            Self::Full(_) => "free some space, or choose another disk",
            Self::NotAllowed(_) => "check its permissions, or choose another folder",
            Self::Failed { .. } => "check the disk, or choose another folder",
        }
    }
}

/// Writes files into the folder `name` of `parent`, which is made where it is missing. A file's path is relative, with `/`.
///
/// # Errors
/// [`HandoutError`]; then nothing was left behind.
pub fn into_folder<'a>(
    parent: &Path,
    name: &str,
    files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
    replace: bool,
) -> Result<PathBuf, HandoutError> {
    let target = parent.join(name);
    let failed = |path: &Path| failed_at(path.to_owned());
    let is_taken = look(&target, replace)?;
    fs::create_dir_all(parent).map_err(failed(parent))?;
    sweep(parent, name);
    let beside = parent.join(format!(".{name}.{}.part", std::process::id()));
    let written = write_all(&beside, files).and_then(|()| put(&beside, &target, is_taken));
    if let Err(error) = written {
        // What is half written is of no use to anyone; that it cannot be removed changes nothing about the refusal.
        let _ = fs::remove_dir_all(&beside);
        return Err(failed_at(target)(error));
    }
    sync_folder(parent).map_err(failed(parent))?;
    Ok(target)
}

/// Writes one file, whole or not at all.
///
/// # Errors
/// [`HandoutError`]; then nothing was left behind.
pub fn into_file(path: &Path, bytes: &[u8], replace: bool) -> Result<(), HandoutError> {
    if path.is_dir() || (path.exists() && !replace) {
        return Err(HandoutError::Taken(path.to_owned()));
    }
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let failed = |error| failed_at(path.to_owned())(error);
    fs::create_dir_all(parent).map_err(failed)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = parent.join(format!(".{name}.{}.part", std::process::id()));
    let written = write_file(&beside, bytes).and_then(|()| fs::rename(&beside, path));
    if let Err(error) = written {
        let _ = fs::remove_file(&beside);
        return Err(failed(error));
    }
    sync_folder(parent).map_err(failed)
}

fn failed_at(path: PathBuf) -> impl FnOnce(io::Error) -> HandoutError {
    move |source| match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => HandoutError::Full(path),
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => HandoutError::NotAllowed(path),
        _ => HandoutError::Failed { path, source },
    }
}

/// Whether something is there that may be replaced.
fn look(target: &Path, replace: bool) -> Result<bool, HandoutError> {
    let failed = |error| failed_at(target.to_owned())(error);
    match fs::symlink_metadata(target) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(failed(error)),
        Ok(found) if !found.is_dir() => return Err(HandoutError::Taken(target.to_owned())),
        Ok(_) => (),
    }
    let mut there = Vec::new();
    gather(target, "", &mut there).map_err(failed)?;
    if there.is_empty() {
        return Ok(true);
    }
    if !replace {
        return Err(HandoutError::Taken(target.to_owned()));
    }
    let hashes = fs::read_to_string(target.join(HASHES)).unwrap_or_default();
    let own: BTreeSet<&str> = hashes
        .lines()
        .filter_map(|line| line.split_once("  "))
        .map(|(_, path)| path)
        .chain([HASHES])
        .collect();
    match there.into_iter().find(|file| !own.contains(file.as_str())) {
        Some(file) => Err(HandoutError::Foreign { folder: target.to_owned(), file }),
        None => Ok(true),
    }
}

/// Paths of everything in a folder that is no folder.
fn gather(folder: &Path, before: &str, into: &mut Vec<String>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let path = format!("{before}{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            gather(&entry.path(), &format!("{path}/"), into)?;
        } else {
            into.push(path);
        }
    }
    into.sort();
    Ok(())
}

fn write_all<'a>(folder: &Path, files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> io::Result<()> {
    fs::create_dir(folder)?;
    let mut folders: BTreeSet<PathBuf> = BTreeSet::from([folder.to_owned()]);
    for (path, bytes) in files {
        let file = folder.join(path);
        if let Some(parent) = file.parent()
            && folders.insert(parent.to_owned())
        {
            fs::create_dir_all(parent)?;
        }
        write_file(&file, bytes)?;
    }
    folders.iter().rev().try_for_each(|folder| sync_folder(folder))
}

fn write_file(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Moves the new folder to its place; what was there goes only once the new one is.
fn put(beside: &Path, target: &Path, is_taken: bool) -> io::Result<()> {
    if !is_taken {
        return fs::rename(beside, target);
    }
    let old = beside.with_extension("old");
    fs::rename(target, &old)?;
    if let Err(error) = fs::rename(beside, target) {
        fs::rename(&old, target)?;
        return Err(error);
    }
    fs::remove_dir_all(&old)
}

fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder).and_then(|open| open.sync_all())
}

/// Removes what killed processes left half written.
fn sweep(parent: &Path, name: &str) {
    let Ok(entries) = fs::read_dir(parent) else { return };
    for entry in entries.flatten() {
        let own = entry.file_name().to_string_lossy().into_owned();
        let is_part = own.starts_with(&format!(".{name}.")) && own.ends_with(".part");
        let age = entry.metadata().and_then(|found| found.modified());
        let is_stale = age.is_ok_and(|at| SystemTime::now().duration_since(at).is_ok_and(|age| age > STALE));
        if is_part && is_stale {
            // One that cannot be removed is in nobody's way.
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILES: [(&str, &[u8]); 3] = [
        ("SHA256SUMS", b"0  index.md\n0  pictures/a.svg\n"),
        ("index.md", b"# One"),
        ("pictures/a.svg", b"<svg/>"),
    ];

    fn names(folder: &Path) -> Vec<String> {
        let mut found = Vec::new();
        gather(folder, "", &mut found).unwrap();
        found
    }

    #[test]
    fn files_come_whole_into_a_folder_of_their_own() {
        let place = tempfile::tempdir().unwrap();
        let folder = into_folder(&place.path().join("new/posts"), "wall", FILES, false).unwrap();
        assert_eq!(names(&folder), ["SHA256SUMS", "index.md", "pictures/a.svg"]);
        assert_eq!(names(&place.path().join("new/posts")).len(), 3, "nothing beside it");
    }

    #[test]
    fn what_is_there_is_replaced_only_where_it_is_a_write_up() {
        let place = tempfile::tempdir().unwrap();
        fs::create_dir(place.path().join("wall")).unwrap();
        let folder =
            into_folder(place.path(), "wall", FILES, false).expect("an empty folder is no hindrance");
        let refused = into_folder(place.path(), "wall", FILES, false).unwrap_err();
        assert!(matches!(refused, HandoutError::Taken(_)), "{refused}");
        into_folder(place.path(), "wall", [FILES[0], ("index.md", &b"# Two"[..])], true).unwrap();
        assert_eq!(fs::read(folder.join("index.md")).unwrap(), b"# Two");
        assert_eq!(names(&folder), ["SHA256SUMS", "index.md"]);
        fs::write(folder.join("notes.txt"), "mine").unwrap();
        let refused = into_folder(place.path(), "wall", FILES, true).unwrap_err();
        assert_eq!(
            refused.to_string(),
            format!(
                "{} holds notes.txt, which is not of the write-up there, so it is not replaced",
                folder.display()
            )
        );
        assert_eq!(fs::read(folder.join("index.md")).unwrap(), b"# Two");
        assert_eq!(names(place.path()).len(), 3);
    }

    #[test]
    fn a_file_in_the_way_is_left_alone() {
        let place = tempfile::tempdir().unwrap();
        fs::write(place.path().join("wall"), "mine").unwrap();
        assert!(matches!(into_folder(place.path(), "wall", FILES, true), Err(HandoutError::Taken(_))));
        assert!(into_folder(&place.path().join("wall"), "posts", FILES, false).is_err());
        assert_eq!(fs::read(place.path().join("wall")).unwrap(), b"mine");
        let file = place.path().join("wall.zip");
        into_file(&file, b"one", false).unwrap();
        assert!(matches!(into_file(&file, b"two", false), Err(HandoutError::Taken(_))));
        into_file(&file, b"two", true).unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"two");
    }

    /// A path that leads out of the folder cannot come from a write-up; one that cannot be made leaves nothing behind.
    #[test]
    fn a_failure_in_the_middle_leaves_nothing() {
        let place = tempfile::tempdir().unwrap();
        let files: [(&str, &[u8]); 2] = [("a", b"1"), ("a/b", b"2")];
        assert!(into_folder(place.path(), "wall", files, false).is_err());
        assert_eq!(names(place.path()), [] as [&str; 0]);
    }
}
