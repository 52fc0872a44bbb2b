//! The folder of the index: which of its parts counts, taking turns, and swapping in a new one.
//!
//! `documents-<n>` hold an index each; the highest counts. One that is being made lies in `building-<process>` until it
//! is complete, so that a crash leaves what was there before. Leaves out what is inside: see `main_part`.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::SearchError;

const DOCUMENTS: &str = "documents-";
const BUILDING: &str = "building-";
/// The name that the first version of this program used.
const OLD_DOCUMENTS: &str = "documents";

/// Where the documents of this number lie.
pub(super) fn documents(folder: &Path, number: u64) -> PathBuf {
    folder.join(format!("{DOCUMENTS}{number}"))
}

/// The highest number of documents there are; `None` without any.
pub(super) fn highest(folder: &Path) -> Option<u64> {
    names(folder).iter().filter_map(|name| number_of(name)).max()
}

/// Whether there is anything that was an index once.
pub(super) fn has_any(folder: &Path) -> bool {
    names(folder).iter().any(|name| is_documents(name))
}

/// An empty folder to make an index in. Call it while holding the lock.
pub(super) fn begin(folder: &Path) -> Result<PathBuf, SearchError> {
    let path = folder.join(format!("{BUILDING}{}", std::process::id()));
    remove(&path);
    fs::create_dir_all(&path).map_err(|source| failed(&path, source))?;
    Ok(path)
}

/// Makes what was built count, and returns its number. Call it while holding the lock.
pub(super) fn complete(folder: &Path, building: &Path) -> Result<u64, SearchError> {
    let number = highest(folder).unwrap_or(0) + 1;
    let path = documents(folder, number);
    fs::rename(building, &path).map_err(|source| failed(&path, source))?;
    // The new name must last before the old ones go.
    File::open(folder).and_then(|folder| folder.sync_all()).map_err(|source| failed(folder, source))?;
    Ok(number)
}

/// Removes everything but the documents of this number. What cannot be removed is left for the next time.
/// Call it while holding the lock.
pub(super) fn tidy(folder: &Path, number: u64) {
    for name in names(folder) {
        if (is_documents(&name) && number_of(&name) != Some(number)) || name.starts_with(BUILDING) {
            remove(&folder.join(name));
        }
    }
}

/// Waits until nobody else writes, in this process or another; the lock ends with the file.
pub(super) fn lock(folder: &Path) -> Result<File, SearchError> {
    let path = folder.join("lock");
    // The folder may have been deleted, which is allowed at any time.
    fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
    let file = File::create(&path).map_err(|source| failed(&path, source))?;
    file.lock().map_err(|source| failed(&path, source))?;
    Ok(file)
}

pub(super) fn failed(path: &Path, source: io::Error) -> SearchError {
    SearchError::Folder { path: path.to_owned(), source }
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.filter_map(|entry| entry.file_name().into_string().ok()).collect()
}

fn number_of(name: &str) -> Option<u64> {
    name.strip_prefix(DOCUMENTS)?.parse().ok()
}

fn is_documents(name: &str) -> bool {
    name == OLD_DOCUMENTS || number_of(name).is_some()
}

fn remove(path: &Path) {
    let removed = if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) };
    // Somebody may still have it open where that hinders; it counts no more.
    drop(removed);
}
