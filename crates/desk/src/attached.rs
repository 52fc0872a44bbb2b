//! Files that records name: which of them are here, which are missing, and in what order to fetch those.
//!
//! A file is *wanted* while a record that is not struck names it, *named* as long as anything in the log does. One
//! that nothing names is an *orphan*: a browser may have sent it before the draft that pins it, so it is listed and
//! never removed by itself. Leaves out fetching.

use std::cmp::Reverse;
use std::collections::{BTreeMap, HashSet};

use storypole_journal::{RecordId, WrittenAt};
use storypole_notebook::Book;
use storypole_notebook::book::Meta;
use storypole_store::Reader;
use storypole_store::attachments::{AttachmentError, Checked};

use crate::view::past;
use crate::{Desk, DeskError};

/// How the content of a file stands on this device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileState {
    /// It is here.
    Here,
    /// It is not here.
    Missing,
    /// It is on its way: so many of its bytes are here.
    Arriving { held_bytes: u64 },
    /// It changed on the disk and was moved aside: a whole copy has to come from elsewhere.
    Damaged,
}

impl FileState {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Here => "here",
            Self::Missing => "missing",
            Self::Arriving { .. } => "arriving",
            Self::Damaged => "damaged",
        }
    }
}

/// Which files a device fetches by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FilesPolicy {
    /// Every file that is wanted.
    #[default]
    All,
    /// Those that a person opens.
    Asked,
}

/// The setting that holds the policy.
const POLICY: &str = "files";

impl FilesPolicy {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Asked => "asked",
        }
    }

    /// Reads the word.
    pub fn parse(word: &str) -> Option<Self> {
        [Self::All, Self::Asked].into_iter().find(|policy| policy.word() == word)
    }
}

/// A file that records want.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attached {
    /// Its hash.
    pub hash: [u8; 32],
    /// How it stands here.
    pub state: FileState,
    /// Its size, as the records say; none where they say nothing or differ.
    pub bytes: Option<u64>,
    /// Kind and id of each record that names it, in order.
    pub named_by: Vec<(&'static str, RecordId)>,
    /// When the last of them was written first.
    pub written_at: Option<WrittenAt>,
}

/// What a check of every file found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FilesCheck {
    /// Files that were read to their end.
    pub files: u64,
    /// Their bytes.
    pub bytes: u64,
    /// Those that are not what was kept.
    pub damaged: Vec<[u8; 32]>,
    /// Those that nothing in the log names, with their bytes.
    pub orphans: Vec<([u8; 32], u64)>,
    /// Those that a record wants and that are not here.
    pub missing: Vec<[u8; 32]>,
}

/// A file that a record names, and the size that the record says.
pub type NamedFile = ([u8; 32], Option<u64>);

impl Desk {
    /// How the content of a file stands here.
    pub fn file_state(&self, hash: &[u8; 32]) -> FileState {
        let files = self.attachments();
        if files.has(hash) {
            return FileState::Here;
        }
        match files.arriving_bytes(hash) {
            Some(held_bytes) => FileState::Arriving { held_bytes },
            None if files.is_damaged(hash) => FileState::Damaged,
            None => FileState::Missing,
        }
    }

    /// Every file that records want, in the order in which to fetch them: small ones first, by doublings of size
    /// from 256 KiB on, and the newest first among those of about one size.
    ///
    /// # Errors
    /// The database failed.
    pub fn attached(&self) -> Result<Vec<Attached>, DeskError> {
        let mut attached: Vec<Attached> = wanted(&*self.book()?)
            .into_iter()
            .map(|(hash, named)| Attached {
                hash,
                state: self.file_state(&hash),
                bytes: named.size(),
                written_at: named.written_at,
                named_by: named.by,
            })
            .collect();
        attached.sort_by_key(|file| {
            (size_class(file.bytes), Reverse(file.written_at.map(|at| at.unix_ms)), file.hash)
        });
        Ok(attached)
    }

    /// Of these hashes, those that a record names now, struck or not, with the size it says; in the order asked.
    ///
    /// # Errors
    /// The database failed.
    pub fn named_files(&self, hashes: &[[u8; 32]]) -> Result<Vec<NamedFile>, DeskError> {
        let book = self.book()?;
        let mut named: BTreeMap<[u8; 32], Named> =
            hashes.iter().map(|hash| (*hash, Named::default())).collect();
        each_named(&book, |hash, kind, id, bytes, meta| {
            if let Some(named) = named.get_mut(&hash) {
                named.add(kind, id, bytes, meta);
            }
        });
        let is_named =
            |hash: &[u8; 32]| Some((*hash, named.get(hash).filter(|named| !named.by.is_empty())?.size()));
        Ok(hashes.iter().filter_map(is_named).collect())
    }

    /// Short name of the device on which a file was pinned, where a record names it: that one should have it.
    ///
    /// # Errors
    /// The database failed.
    pub fn kept_on(&self, hash: &[u8; 32]) -> Result<Option<String>, DeskError> {
        self.read_with_book(|reader, book| {
            let mut by = None;
            each_named(book, |named, _, id, _, _| {
                if named == *hash && by.is_none() {
                    by = Some(id);
                }
            });
            let Some(record) = by else { return Ok(None) };
            let written = reader.history(record)?.into_iter().find(|item| item.field == "hash");
            Ok(written.map(|item| past::device(book, item.device)))
        })
    }

    /// Reads every file to its end. One that is not what was kept is moved aside, to be fetched again, unless this
    /// desk only reads. `progress` hears how many of how many are done.
    ///
    /// # Errors
    /// The database or the disk failed.
    pub fn check_files(&self, progress: &mut dyn FnMut(u64, u64)) -> Result<FilesCheck, DeskError> {
        let hashes = self.attachments().all()?;
        let named = self.read(Reader::hashes_written)?;
        let mut check = FilesCheck::default();
        let mut damaged: HashSet<[u8; 32]> = HashSet::new();
        for (index, hash) in hashes.iter().enumerate() {
            progress(index as u64, hashes.len() as u64);
            match self.check_file(hash)? {
                Checked::Whole(bytes) => {
                    check.files += 1;
                    check.bytes += bytes;
                    if !named.contains(hash) {
                        check.orphans.push((*hash, bytes));
                    }
                }
                Checked::SetAside => {
                    check.files += 1;
                    damaged.insert(*hash);
                }
                // It was removed meanwhile.
                Checked::Missing => (),
            }
        }
        progress(hashes.len() as u64, hashes.len() as u64);
        let not_here = self.attached()?.into_iter().filter(|file| file.state != FileState::Here);
        for file in not_here {
            if file.state == FileState::Damaged {
                damaged.insert(file.hash);
            } else if !damaged.contains(&file.hash) {
                check.missing.push(file.hash);
            }
        }
        check.damaged = damaged.into_iter().collect();
        check.damaged.sort_unstable();
        Ok(check)
    }

    fn check_file(&self, hash: &[u8; 32]) -> Result<Checked, DeskError> {
        let files = self.attachments();
        if self.only_reads() {
            return match files.verify(hash) {
                Err(AttachmentError::Altered) => Ok(Checked::SetAside),
                Err(AttachmentError::Missing) => Ok(Checked::Missing),
                verified => Ok(Checked::Whole(verified?)),
            };
        }
        let checked = files.check(hash)?;
        files.drop_damaged(hash)?;
        Ok(checked)
    }

    /// Which files this device fetches by itself.
    ///
    /// # Errors
    /// The database failed.
    pub fn files_policy(&self) -> Result<FilesPolicy, DeskError> {
        let word = self.read(|reader| reader.setting(POLICY))?;
        // A word of a later version means that somebody chose: nothing is fetched unasked.
        Ok(word.map_or(FilesPolicy::All, |word| FilesPolicy::parse(&word).unwrap_or(FilesPolicy::Asked)))
    }

    /// Sets which files this device fetches by itself.
    ///
    /// # Errors
    /// This desk only reads, or the database failed.
    pub fn set_files_policy(&self, policy: FilesPolicy) -> Result<(), DeskError> {
        Ok(self.writer()?.aside(move |store| store.setting_set(POLICY, policy.word()))?)
    }
}

/// A hash as it is written, in hexadecimal digits.
pub fn hex(hash: &[u8; 32]) -> String {
    blake3::Hash::from_bytes(*hash).to_hex().to_string()
}

/// What records say of one hash.
#[derive(Default)]
struct Named {
    by: Vec<(&'static str, RecordId)>,
    sizes: Vec<u64>,
    written_at: Option<WrittenAt>,
}

impl Named {
    fn add(&mut self, kind: &'static str, id: RecordId, bytes: Option<i64>, meta: &Meta) {
        self.by.push((kind, id));
        self.sizes.extend(bytes.and_then(|bytes| u64::try_from(bytes).ok()));
        let is_later = |at: &WrittenAt| self.written_at.is_none_or(|held| held.unix_ms < at.unix_ms);
        self.written_at = meta.written_at.filter(is_later).or(self.written_at);
    }

    fn size(&self) -> Option<u64> {
        let first = *self.sizes.first()?;
        self.sizes.iter().all(|size| *size == first).then_some(first)
    }
}

fn wanted(book: &Book) -> BTreeMap<[u8; 32], Named> {
    let mut wanted: BTreeMap<[u8; 32], Named> = BTreeMap::new();
    each_named(book, |hash, kind, id, bytes, meta| {
        if meta.struck.is_none() {
            wanted.entry(hash).or_default().add(kind, id, bytes, meta);
        }
    });
    wanted
}

/// Calls `each` with every hash that a record names, and the size it says.
fn each_named(book: &Book, mut each: impl FnMut([u8; 32], &'static str, RecordId, Option<i64>, &Meta)) {
    for photo in book.photos.all() {
        if let Some(hash) = photo.hash {
            each(hash, "photo", photo.id, photo.bytes, &photo.meta);
        }
    }
    for signal in book.signals.all() {
        if let Some(hash) = signal.hash {
            each(hash, "signal", signal.id, None, &signal.meta);
        }
    }
}

/// Doublings of size above 256 KiB; those of unknown size come last.
fn size_class(bytes: Option<u64>) -> u32 {
    const SMALL: u64 = 256 << 10;
    bytes.map_or(u32::MAX, |bytes| bytes.div_ceil(SMALL).max(1).next_power_of_two().trailing_zeros())
}

#[cfg(test)]
mod tests;
