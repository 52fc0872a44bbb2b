//! Whether all that is stored is whole: the database, every attached file, the index, the folder itself; and the
//! same of a backup. Looks only: nothing is mended here, and nothing is written.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::Path;

use storypole_notebook::Book;
use storypole_search::{Index, IndexState};
use storypole_store::Reader;
use storypole_store::attachments::AttachmentError;
use storypole_store::read::WhyAside;
use storypole_store::verify::Verification;

use crate::backup::{NamedFile, Scratch, named_files};
use crate::{Desk, DeskError};

mod packed;

pub use packed::{PackedCheckup, PackedError, check_up};

/// Hears how many attached files of how many were read.
pub type Heard<'a> = dyn FnMut(u64, u64) + 'a;

/// What was looked at, and what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Checkup {
    /// The database: chain, signatures, tables.
    pub database: Verification,
    /// Changes that are kept and do not count: by membership or of a branch.
    pub set_aside: u64,
    /// Changes that wait for a signature.
    pub not_signed: u64,
    /// Files that records name, each with its state here.
    pub files: Vec<(NamedFile, FileState)>,
    /// Bytes of all attached files that are whole.
    pub file_bytes: u64,
    /// Files that no record names any more, or not yet; they do no harm.
    pub unnamed: Vec<[u8; 32]>,
    /// Of these, the ones that have changed on the disk.
    pub unnamed_altered: Vec<[u8; 32]>,
    /// The index.
    pub index: IndexState,
    /// Files with a secret that others on this computer can read, by name.
    pub open_secrets: Vec<String>,
    /// What an interrupted command left, by name; it does no harm.
    pub leftovers: Vec<String>,
}

/// How an attached file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileState {
    /// Here, and what was kept.
    Held,
    /// Not here: it never came, or was deleted.
    Missing,
    /// Not what was kept.
    Altered,
    /// The disk does not give it.
    Unread,
}

impl FileState {
    /// The word for people and programs.
    pub fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Missing => "missing",
            Self::Altered => "altered",
            Self::Unread => "cannot be read",
        }
    }
}

impl Checkup {
    /// Whether something that is stored is not what was stored.
    pub fn is_damaged(&self) -> bool {
        let is_bad = |state: &FileState| matches!(state, FileState::Altered | FileState::Unread);
        !self.database.faults.is_empty() || self.files.iter().any(|(_, state)| is_bad(state))
    }

    /// Files that are named and not held.
    pub fn missing(&self) -> usize {
        self.files.iter().filter(|(_, state)| *state == FileState::Missing).count()
    }
}

impl Desk {
    /// Looks at everything, also while another process works with the notebook.
    ///
    /// # Errors
    /// The database cannot be read at all.
    pub fn check_up(&self, heard: &mut Heard<'_>) -> Result<Checkup, DeskError> {
        let reader = self.reader()?;
        let database = reader.verify()?;
        let book = self.book()?;
        let aside = self.read(Reader::set_aside)?;
        let not_signed = aside.iter().filter(|change| change.why == WhyAside::Unsigned).count() as u64;
        let mut found = Checkup {
            database,
            set_aside: aside.len() as u64 - not_signed,
            not_signed,
            files: Vec::new(),
            file_bytes: 0,
            unnamed: Vec::new(),
            unnamed_altered: Vec::new(),
            index: Index::state(&self.path().join("index"), &reader)?,
            open_secrets: open_secrets(self.path()),
            leftovers: leftovers(self.path()),
        };
        self.look_at_files(&book, &mut found, heard)?;
        Ok(found)
    }

    fn look_at_files(
        &self,
        book: &Book,
        found: &mut Checkup,
        heard: &mut Heard<'_>,
    ) -> Result<(), DeskError> {
        let named = named_files(book);
        let hashes: BTreeSet<[u8; 32]> = named.iter().map(|named| named.hash).collect();
        let here = match self.attachments().all() {
            Ok(here) => here,
            // A folder that nobody has put a file in.
            Err(AttachmentError::Io { source, .. }) if source.kind() == io::ErrorKind::NotFound => Vec::new(),
            Err(error) => return Err(error.into()),
        };
        let strange: Vec<[u8; 32]> = here.into_iter().filter(|hash| !hashes.contains(hash)).collect();
        let of = (named.len() + strange.len()) as u64;
        let mut done = 0;
        for file in named {
            let (state, bytes) = self.state_of(&file.hash);
            found.files.push((file, state));
            found.file_bytes += bytes;
            done += 1;
            heard(done, of);
        }
        for hash in strange {
            let (state, bytes) = self.state_of(&hash);
            let list = if state == FileState::Held { &mut found.unnamed } else { &mut found.unnamed_altered };
            list.push(hash);
            found.file_bytes += bytes;
            done += 1;
            heard(done, of);
        }
        Ok(())
    }

    fn state_of(&self, hash: &[u8; 32]) -> (FileState, u64) {
        match self.attachments().verify(hash) {
            Ok(bytes) => (FileState::Held, bytes),
            Err(AttachmentError::Missing) => (FileState::Missing, 0),
            Err(AttachmentError::Altered) => (FileState::Altered, 0),
            Err(_) => (FileState::Unread, 0),
        }
    }
}

/// Names in the data folder; none where it cannot be listed, which other checks notice.
fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok()).collect();
    names.sort_unstable();
    names
}

/// Files with a secret that others than the owner can read.
#[cfg(unix)]
fn open_secrets(folder: &Path) -> Vec<String> {
    use std::os::unix::fs::PermissionsExt;
    let is_secret = |name: &String| name.ends_with(".key") || name == "serving.json";
    let is_open = |name: &String| {
        fs::metadata(folder.join(name)).is_ok_and(|file| file.permissions().mode() & 0o077 != 0)
    };
    names(folder).into_iter().filter(|name| is_secret(name) && is_open(name)).collect()
}

/// Files with a secret that others than the owner can read: not known on this system.
#[cfg(not(unix))]
fn open_secrets(_: &Path) -> Vec<String> {
    Vec::new()
}

/// What an interrupted command left beside the notebook.
fn leftovers(folder: &Path) -> Vec<String> {
    let endings = [".next", ".new", ".new-wal", ".new-shm", ".new-journal", ".part", ".part.db"];
    let is_left = |name: &String| endings.iter().any(|ending| name.ends_with(ending));
    names(folder).into_iter().filter(is_left).collect()
}
