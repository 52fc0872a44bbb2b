//! Puts the files of a write-up into a folder of their own: all of them, or none.
//!
//! They are written beside their place, made durable and moved there in one step. A folder that holds anything is left alone; with
//! leave to replace, only one whose every file is as its own list of hashes says. Leaves out what the files hold.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};
use std::time::{Duration, SystemTime};

use storypole_writeup::files::sha256;

use crate::folder::sync_folder;

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
    /// There is something in the folder that no write-up put there, or that was changed since.
    #[error("{folder} holds {file}, which is not as the write-up there left it, so nothing is replaced")]
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
    restore(parent, name, &target);
    let is_taken = look(&target, replace)?;
    fs::create_dir_all(parent).map_err(failed(parent))?;
    sweep(parent, name);
    let beside = beside(parent, name);
    fs::create_dir(&beside).map_err(failed(&target))?;
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
    let beside = beside(parent, &path.file_name().unwrap_or_default().to_string_lossy());
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

/// A name beside the place that nobody else takes.
fn beside(parent: &Path, name: &str) -> PathBuf {
    let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
    parent.join(format!(".{name}.{}-{}.part", std::process::id(), now.as_nanos()))
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
    if fs::read_dir(target).map_err(failed)?.next().is_none() {
        return Ok(true);
    }
    if !replace {
        return Err(HandoutError::Taken(target.to_owned()));
    }
    let mut there = Vec::new();
    gather(target, "", &mut there).map_err(failed)?;
    let hashes = fs::read_to_string(target.join(HASHES)).unwrap_or_default();
    let told: BTreeMap<&str, &str> =
        hashes.lines().filter_map(|line| line.split_once("  ")).map(|(hash, path)| (path, hash)).collect();
    let is_as_told = |file: &str| {
        let read =
            || fs::read(target.join(file)).is_ok_and(|bytes| told.get(file) == Some(&&*sha256(&bytes)));
        (file == HASHES && !told.is_empty()) || read()
    };
    match there.into_iter().find(|file| !is_as_told(file)) {
        Some(file) => Err(HandoutError::Foreign { folder: target.to_owned(), file }),
        None => Ok(true),
    }
}

/// Paths of everything in a folder that is no folder, and of folders with nothing in them.
fn gather(folder: &Path, before: &str, into: &mut Vec<String>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let path = format!("{before}{}", entry.file_name().to_string_lossy());
        let has_more = entry.file_type()?.is_dir() && fs::read_dir(entry.path())?.next().is_some();
        if has_more {
            gather(&entry.path(), &format!("{path}/"), into)?;
        } else {
            into.push(path);
        }
    }
    into.sort();
    Ok(())
}

fn write_all<'a>(folder: &Path, files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> io::Result<()> {
    let mut folders: BTreeSet<PathBuf> = BTreeSet::from([folder.to_owned()]);
    for (path, bytes) in files {
        let is_plain = Path::new(path).components().all(|part| matches!(part, Component::Normal(_)));
        if path.is_empty() || !is_plain {
            return Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                format!("\"{path}\" leads out of its folder"),
            ));
        }
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
    // The new one stands; what cannot be removed now is swept away the next time.
    let _ = fs::remove_dir_all(&old);
    Ok(())
}

/// Puts back what a process was about to replace when it was killed between two steps.
fn restore(parent: &Path, name: &str, target: &Path) {
    if fs::symlink_metadata(target).is_ok() {
        return;
    }
    if let Some(old) = left_by(parent, name, ".old").into_iter().next_back() {
        // Where that fails, the place is free, and the old one is still there under its other name.
        let _ = fs::rename(old, target);
    }
}

/// What earlier processes left beside a place.
fn left_by(parent: &Path, name: &str, ending: &str) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(parent) else { return Vec::new() };
    let start = format!(".{name}.");
    let is_left = |path: &PathBuf| {
        let own = path.file_name().unwrap_or_default().to_string_lossy();
        let middle = own.strip_prefix(&start).and_then(|rest| rest.strip_suffix(ending));
        middle.is_some_and(|middle| middle.bytes().all(|letter| letter.is_ascii_digit() || letter == b'-'))
    };
    let mut left: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).filter(is_left).collect();
    left.sort();
    left
}

/// Removes what killed processes left: half-written folders after a while, replaced ones at once.
fn sweep(parent: &Path, name: &str) {
    let is_stale = |path: &PathBuf| {
        let changed = fs::metadata(path).and_then(|found| found.modified());
        changed.is_ok_and(|at| SystemTime::now().duration_since(at).is_ok_and(|age| age > STALE))
    };
    let parts = left_by(parent, name, ".part").into_iter().filter(is_stale);
    for left in parts.chain(left_by(parent, name, ".old")) {
        // One that cannot be removed is in nobody's way.
        let _ = fs::remove_dir_all(left);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut found = Vec::new();
        gather(folder, "", &mut found).unwrap();
        found
    }

    /// Files with the list of their hashes.
    fn files(index: &str) -> Vec<(String, Vec<u8>)> {
        let own = [("index.md", index), ("pictures/a.svg", "<svg/>")];
        let sums: String =
            own.iter().map(|(path, text)| format!("{}  {path}\n", sha256(text.as_bytes()))).collect();
        let all = [(HASHES, sums.as_str())].into_iter().chain(own);
        all.map(|(path, text)| (path.to_owned(), text.as_bytes().to_vec())).collect()
    }

    fn put_into(place: &Path, index: &str, replace: bool) -> Result<PathBuf, HandoutError> {
        let files = files(index);
        let all = files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice()));
        into_folder(place, "wall", all, replace)
    }

    #[test]
    fn files_come_whole_into_a_folder_of_their_own() {
        let place = tempfile::tempdir().unwrap();
        let folder = put_into(&place.path().join("new/posts"), "# One", false).unwrap();
        assert_eq!(names(&folder), ["SHA256SUMS", "index.md", "pictures/a.svg"]);
        assert_eq!(names(&place.path().join("new/posts")).len(), 3, "nothing beside it");
    }

    #[test]
    fn what_is_there_is_replaced_only_where_it_is_a_write_up() {
        let place = tempfile::tempdir().unwrap();
        fs::create_dir(place.path().join("wall")).unwrap();
        let folder = put_into(place.path(), "# One", false).expect("an empty folder is no hindrance");
        let refused = put_into(place.path(), "# Two", false).unwrap_err();
        assert!(matches!(refused, HandoutError::Taken(_)), "{refused}");
        put_into(place.path(), "# Two", true).unwrap();
        assert_eq!(fs::read(folder.join("index.md")).unwrap(), b"# Two");
        assert_eq!(names(place.path()).len(), 3, "nothing beside it");
        // A file of one's own, one that was mended by hand, and a folder that only looks like a write-up.
        fs::write(folder.join("notes.txt"), "mine").unwrap();
        let refused = put_into(place.path(), "# Three", true).unwrap_err().to_string();
        assert!(refused.contains("holds notes.txt, which is not as the write-up there left it"), "{refused}");
        fs::remove_file(folder.join("notes.txt")).unwrap();
        fs::write(folder.join("index.md"), "# Two, mended").unwrap();
        assert!(matches!(put_into(place.path(), "# Three", true), Err(HandoutError::Foreign { .. })));
        assert_eq!(fs::read(folder.join("index.md")).unwrap(), b"# Two, mended");
        fs::create_dir_all(place.path().join("other/wall/empty")).unwrap();
        for replace in [false, true] {
            assert!(put_into(&place.path().join("other"), "# One", replace).is_err());
        }
        assert!(place.path().join("other/wall/empty").exists());
    }

    #[test]
    fn what_a_killed_process_left_is_put_back_or_removed() {
        let place = tempfile::tempdir().unwrap();
        let folder = put_into(place.path(), "# One", false).unwrap();
        fs::rename(&folder, place.path().join(".wall.77-1.old")).unwrap();
        let refused = put_into(place.path(), "# Two", false).unwrap_err();
        assert!(matches!(refused, HandoutError::Taken(_)), "the old one is back: {refused}");
        assert_eq!(fs::read(folder.join("index.md")).unwrap(), b"# One");
        fs::create_dir(place.path().join(".wall.77-2.old")).unwrap();
        put_into(place.path(), "# Two", true).unwrap();
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_file_in_the_way_is_left_alone() {
        let place = tempfile::tempdir().unwrap();
        fs::write(place.path().join("wall"), "mine").unwrap();
        assert!(matches!(put_into(place.path(), "# One", true), Err(HandoutError::Taken(_))));
        assert!(put_into(&place.path().join("wall"), "# One", false).is_err());
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
        for second in ["a/b", "../evil.txt", "/evil.txt", ""] {
            let files: [(&str, &[u8]); 2] = [("a", b"1"), (second, b"2")];
            assert!(into_folder(&place.path().join("posts"), "wall", files, false).is_err(), "{second}");
        }
        assert_eq!(names(place.path()), ["posts"]);
    }
}
