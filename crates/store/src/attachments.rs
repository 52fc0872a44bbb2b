//! Files by their BLAKE3 hash, in a folder beside the database. Streamed in and out, never held in memory.
//!
//! A file is written under a temporary name, synced, renamed, and the folder synced: what is there under its
//! hash is whole. It is verified when it is read; of files that are read in many pieces it is remembered for as
//! long as the program runs and the file system says that nothing has touched them.
//!
//! Reading order: this file (keeping and giving), [`parts`] (what proves a piece of a file by itself), `arriving`
//! (files that come from another device), `damaged` (those that changed on the disk).

use std::collections::{HashMap, HashSet};
use std::fs::{self, File, Metadata};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};

mod arriving;
mod damaged;
pub mod parts;

pub use arriving::{ArriveError, Arrived, Claim};
pub use damaged::Checked;
pub use parts::{ListError, PART_BYTES, Parts};

/// Largest file taken, bytes: a long video of a day's work still fits.
pub const MAX_BYTES: u64 = 64 << 30;

/// How many verified files are remembered.
const REMEMBERED: usize = 4_096;

/// A file touched less than this before it was verified is not remembered: the clock of a file system may be too
/// coarse to show that it was touched again. The coarsest in use counts in two seconds (FAT).
const SETTLED: Duration = Duration::from_secs(3);

/// The folder that holds the files. Clones share what is remembered.
#[derive(Debug, Clone)]
pub struct Attachments {
    folder: PathBuf,
    shared: Arc<Shared>,
}

#[derive(Debug, Default)]
struct Shared {
    /// How verified files looked to the file system.
    verified: Mutex<HashMap<[u8; 32], Look>>,
    /// Held while a file gets its name.
    naming: Mutex<()>,
    /// Files on their way in.
    arrivals: arriving::Arrivals,
    /// Files that somebody fetches.
    claims: Mutex<HashSet<[u8; 32]>>,
}

impl Shared {
    fn claims(&self) -> MutexGuard<'_, HashSet<[u8; 32]>> {
        self.claims.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Numbers temporary files, over all folders of this process.
static INCOMING: AtomicU64 = AtomicU64::new(0);

/// Why a file could not be kept or given back.
#[derive(Debug, thiserror::Error)]
pub enum AttachmentError {
    /// It is larger than what is taken.
    #[error("the file is larger than {limit} bytes: keep it elsewhere and pin a smaller copy")]
    TooLarge { limit: u64 },
    /// It is empty.
    #[error("the file is empty: check that it was copied whole")]
    Empty,
    /// It is not held at this device.
    #[error("the file is not on this device yet: sync with a device that has it")]
    Missing,
    /// Its content is not what its hash says.
    #[error(
        "the file has changed on the disk since it was kept: fetch it again from another device or a backup"
    )]
    Altered,
    /// A list of its parts is not taken.
    #[error(transparent)]
    List(ListError),
    /// What was to be kept stopped coming.
    #[error("the file could not be read to its end: send it again")]
    CutOff { source: io::Error },
    /// Reading or writing failed.
    #[error("{path} could not be read or written: check the disk and its permissions")]
    Io { path: PathBuf, source: io::Error },
}

impl AttachmentError {
    /// Whether nothing but space is missing.
    pub fn is_disk_full(&self) -> bool {
        matches!(self, Self::Io { source, .. } if crate::error::no_space(source))
    }
}

/// A file that was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Its hash, which is its name from now on.
    pub hash: [u8; 32],
    /// Its size.
    pub bytes: u64,
    /// Whether nothing stood under that name before.
    pub new: bool,
}

impl Attachments {
    /// Opens the folder, making it when it is not there, and clears temporary files a crash left. Files on their
    /// way in stay, to be taken up again.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn open(folder: &Path) -> Result<Self, AttachmentError> {
        let incoming = folder.join("incoming");
        fs::create_dir_all(&incoming).map_err(|source| failed(&incoming, source))?;
        for path in listed(&incoming)? {
            fs::remove_file(&path).map_err(|source| failed(&path, source))?;
        }
        Ok(Self::look_at(folder))
    }

    /// The folder as it is, to read from only.
    pub fn look_at(folder: &Path) -> Self {
        Self { folder: folder.to_owned(), shared: Arc::default() }
    }

    /// Where the file of a hash lies. Paths are made of hash digits only, never of what a user typed.
    fn path(&self, hash: &[u8; 32]) -> PathBuf {
        let name = blake3::Hash::from_bytes(*hash).to_hex();
        self.folder.join(&name[..2]).join(&name[2..])
    }

    /// Whether the file is here.
    pub fn has(&self, hash: &[u8; 32]) -> bool {
        self.path(hash).is_file()
    }

    /// How many bytes lie under a hash; verified by nobody.
    pub fn bytes_of(&self, hash: &[u8; 32]) -> Option<u64> {
        fs::metadata(self.path(hash)).ok().filter(Metadata::is_file).map(|file| file.len())
    }

    /// Keeps what `source` gives. The same content again changes nothing. Any number may be kept at once.
    ///
    /// # Errors
    /// [`AttachmentError`]; nothing is left behind.
    pub fn keep(&self, source: &mut dyn Read) -> Result<Kept, AttachmentError> {
        self.keep_at_most(source, MAX_BYTES)
    }

    /// Keeps what `source` gives, if that is not more than `limit` bytes.
    ///
    /// # Errors
    /// As [`Self::keep`].
    pub fn keep_at_most(&self, source: &mut dyn Read, limit: u64) -> Result<Kept, AttachmentError> {
        let number = INCOMING.fetch_add(1, Ordering::Relaxed);
        let temporary = self.folder.join("incoming").join(format!("{}-{number}", std::process::id()));
        let result = self.keep_as(&temporary, source, limit);
        if result.is_err() {
            // The temporary file is of no use; that it cannot be removed is noticed when the folder opens next.
            let _ = fs::remove_file(&temporary);
        }
        result
    }

    fn keep_as(&self, temporary: &Path, source: &mut dyn Read, limit: u64) -> Result<Kept, AttachmentError> {
        let io = |source| failed(temporary, source);
        let mut file = File::create_new(temporary).map_err(io)?;
        let (hash, bytes) = copy_hashed(source, &mut file, limit).map_err(|fault| match fault {
            CopyFault::Source(source) => AttachmentError::CutOff { source },
            CopyFault::Sink(source) => failed(temporary, source),
        })?;
        if bytes == 0 {
            return Err(AttachmentError::Empty);
        }
        if bytes > limit {
            return Err(AttachmentError::TooLarge { limit });
        }
        let place = self.path(&hash);
        // A file that is there but altered is put right by the same content.
        if place.is_file() && self.verify(&hash).is_ok() {
            fs::remove_file(temporary).map_err(io)?;
            self.sync_folders(&place)?;
            return Ok(Kept { hash, bytes, new: false });
        }
        file.sync_all().map_err(io)?;
        let folder = place.parent().expect("a file lies in a folder");
        fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
        let new = {
            // Of two that keep the same content at once, one is told that it is new.
            let _naming = self.shared.naming.lock().unwrap_or_else(PoisonError::into_inner);
            let new = !place.is_file();
            fs::rename(temporary, &place).map_err(|source| failed(&place, source))?;
            new
        };
        self.sync_folders(&place)?;
        Ok(Kept { hash, bytes, new })
    }

    /// Makes the name of a file durable, also when another call made it a moment ago.
    fn sync_folders(&self, place: &Path) -> Result<(), AttachmentError> {
        let folder = place.parent().expect("a file lies in a folder");
        for folder in [folder, &self.folder] {
            File::open(folder).and_then(|open| open.sync_all()).map_err(|source| failed(folder, source))?;
        }
        Ok(())
    }

    /// Gives the file of a hash to `sink`, after its content was verified.
    ///
    /// # Errors
    /// [`AttachmentError::Missing`], [`AttachmentError::Altered`] (nothing was given), [`AttachmentError::Io`].
    pub fn give(&self, hash: &[u8; 32], sink: &mut dyn Write) -> Result<u64, AttachmentError> {
        let (file, bytes) = self.verified(hash)?;
        io::copy(&mut file.take(bytes), sink).map_err(|source| failed(&self.path(hash), source))
    }

    /// Opens the file of a hash to read from any place in it, and says its size. Its content is verified unless
    /// it was before and the file system says that nothing has touched it since.
    ///
    /// # Errors
    /// As [`Self::give`].
    pub fn open_verified(&self, hash: &[u8; 32]) -> Result<(File, u64), AttachmentError> {
        let path = self.path(hash);
        let file = open(&path)?;
        let look = Look::of(&file.metadata().map_err(|source| failed(&path, source))?);
        if look.is_some() && self.remembered().get(hash) == look.as_ref() {
            let bytes = look.map_or(0, |look| look.bytes);
            return Ok((file, bytes));
        }
        self.remembered().remove(hash);
        let (file, bytes) = self.verify_open(hash, file)?;
        self.remember(hash, look, &file)?;
        Ok((file, bytes))
    }

    /// Lists the parts of a file, which verifies it.
    ///
    /// # Errors
    /// As [`Self::give`].
    pub fn parts(&self, hash: &[u8; 32]) -> Result<Parts, AttachmentError> {
        let path = self.path(hash);
        let mut file = open(&path)?;
        let look = Look::of(&file.metadata().map_err(|source| failed(&path, source))?);
        let (actual, parts) = Parts::read(&mut file).map_err(|source| failed(&path, source))?;
        if actual != *hash {
            return Err(AttachmentError::Altered);
        }
        self.remember(hash, look, &file)?;
        Ok(parts)
    }

    /// Gives one part of a file; nothing of a part that is not there.
    ///
    /// # Errors
    /// As [`Self::give`].
    pub fn part(&self, hash: &[u8; 32], index: u64) -> Result<Vec<u8>, AttachmentError> {
        let (mut file, _) = self.open_verified(hash)?;
        let mut part = Vec::new();
        file.seek(SeekFrom::Start(index.saturating_mul(PART_BYTES)))
            .and_then(|_| file.take(PART_BYTES).read_to_end(&mut part))
            .map_err(|source| failed(&self.path(hash), source))?;
        Ok(part)
    }

    /// The first bytes of a file, at most `most`, verified by nobody: to tell what it is.
    ///
    /// # Errors
    /// [`AttachmentError::Missing`], [`AttachmentError::Io`].
    pub fn beginning(&self, hash: &[u8; 32], most: u64) -> Result<Vec<u8>, AttachmentError> {
        let path = self.path(hash);
        let mut first = Vec::new();
        let read = open(&path)?.take(most).read_to_end(&mut first);
        read.map(|_| first).map_err(|source| failed(&path, source))
    }

    /// Remembers a file that was verified just now, if it looks as it did before and was left alone for a while.
    fn remember(&self, hash: &[u8; 32], before: Option<Look>, file: &File) -> Result<(), AttachmentError> {
        let after = Look::of(&file.metadata().map_err(|source| failed(&self.path(hash), source))?);
        if let Some(look) = before.filter(|look| Some(look) == after.as_ref() && look.is_settled()) {
            let mut remembered = self.remembered();
            if remembered.len() >= REMEMBERED {
                remembered.clear();
            }
            remembered.insert(*hash, look);
        }
        Ok(())
    }

    fn remembered(&self) -> MutexGuard<'_, HashMap<[u8; 32], Look>> {
        self.shared.verified.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Opens the file of a hash, verified and at its beginning.
    fn verified(&self, hash: &[u8; 32]) -> Result<(File, u64), AttachmentError> {
        self.verify_open(hash, open(&self.path(hash))?)
    }

    fn verify_open(&self, hash: &[u8; 32], mut file: File) -> Result<(File, u64), AttachmentError> {
        let path = self.path(hash);
        let copied = copy_hashed(&mut file, &mut io::sink(), u64::MAX);
        let (actual, bytes) = copied.map_err(|fault| match fault {
            CopyFault::Source(source) | CopyFault::Sink(source) => failed(&path, source),
        })?;
        if actual != *hash {
            return Err(AttachmentError::Altered);
        }
        file.rewind().map_err(|source| failed(&path, source))?;
        Ok((file, bytes))
    }

    /// Every hash held here, in order.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn all(&self) -> Result<Vec<[u8; 32]>, AttachmentError> {
        let mut hashes = Vec::new();
        for folder in listed(&self.folder)?.into_iter().filter(|path| path.is_dir()) {
            let start = folder.file_name().and_then(|name| name.to_str()).unwrap_or_default().to_owned();
            for file in listed(&folder)? {
                let end = file.file_name().and_then(|name| name.to_str()).unwrap_or_default();
                if let Ok(hash) = blake3::Hash::from_hex(format!("{start}{end}")) {
                    hashes.push(*hash.as_bytes());
                }
            }
        }
        hashes.sort_unstable();
        Ok(hashes)
    }

    /// Verifies one file.
    ///
    /// # Errors
    /// As [`Self::give`].
    pub fn verify(&self, hash: &[u8; 32]) -> Result<u64, AttachmentError> {
        Ok(self.verified(hash)?.1)
    }
}

/// How a file looks to the file system: it cannot be written to and look the same, but for clocks that are too
/// coarse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Look {
    bytes: u64,
    written: SystemTime,
    /// Device, inode, and when anything of it changed, where the system tells.
    identity: (u64, u64, i64, i64),
}

impl Look {
    /// `None` where the system does not tell when a file was written.
    fn of(file: &Metadata) -> Option<Self> {
        Some(Self { bytes: file.len(), written: file.modified().ok()?, identity: identity(file) })
    }

    fn is_settled(&self) -> bool {
        let (_, _, changed_s, _) = self.identity;
        let changed = SystemTime::UNIX_EPOCH + Duration::from_secs(u64::try_from(changed_s).unwrap_or(0));
        let touched = self.written.max(changed);
        SystemTime::now().duration_since(touched).is_ok_and(|since| since >= SETTLED)
    }
}

#[cfg(unix)]
fn identity(file: &Metadata) -> (u64, u64, i64, i64) {
    use std::os::unix::fs::MetadataExt;
    (file.dev(), file.ino(), file.ctime(), file.ctime_nsec())
}

#[cfg(not(unix))]
fn identity(_: &Metadata) -> (u64, u64, i64, i64) {
    (0, 0, 0, 0)
}

fn open(path: &Path) -> Result<File, AttachmentError> {
    match File::open(path) {
        Err(source) if source.kind() == io::ErrorKind::NotFound => Err(AttachmentError::Missing),
        opened => opened.map_err(|source| failed(path, source)),
    }
}

/// What lies in a folder; nothing of one that is not there.
fn listed(folder: &Path) -> Result<Vec<PathBuf>, AttachmentError> {
    let entries = match fs::read_dir(folder) {
        Err(source) if source.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries.map_err(|source| failed(folder, source))?,
    };
    let paths: Result<Vec<_>, _> = entries.map(|entry| entry.map(|entry| entry.path())).collect();
    paths.map_err(|source| failed(folder, source))
}

fn remove_if_there(path: &Path) -> Result<(), AttachmentError> {
    match fs::remove_file(path) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => Err(failed(path, source)),
        _ => Ok(()),
    }
}

fn failed(path: &Path, source: io::Error) -> AttachmentError {
    AttachmentError::Io { path: path.to_owned(), source }
}

/// Which end of a copy failed.
enum CopyFault {
    Source(io::Error),
    Sink(io::Error),
}

/// Copies and hashes; ends early once more than `limit` bytes have come.
fn copy_hashed(
    source: &mut dyn Read,
    sink: &mut dyn Write,
    limit: u64,
) -> Result<([u8; 32], u64), CopyFault> {
    let mut hasher = blake3::Hasher::new();
    let mut buffer = vec![0; 64 << 10];
    let mut bytes = 0;
    loop {
        let read = match source.read(&mut buffer) {
            Err(fault) if fault.kind() == io::ErrorKind::Interrupted => continue,
            read => read.map_err(CopyFault::Source)?,
        };
        bytes += read as u64;
        if read == 0 || bytes > limit {
            return Ok((*hasher.finalize().as_bytes(), bytes));
        }
        hasher.update(&buffer[..read]);
        sink.write_all(&buffer[..read]).map_err(CopyFault::Sink)?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn opened() -> (tempfile::TempDir, Attachments) {
        let folder = tempfile::tempdir().unwrap();
        let attachments = Attachments::open(folder.path()).unwrap();
        (folder, attachments)
    }

    #[test]
    fn keeps_and_gives_by_hash() {
        let (_folder, attachments) = opened();
        let kept = attachments.keep(&mut &b"abc"[..]).unwrap();
        // BLAKE3 of "abc", from the algorithm's published test vectors as other implementations list it.
        let expected = "6437b3ac38465133ffb63b75273a8db548c558465d79db03fd359c6cd5bd9d85";
        assert_eq!(blake3::Hash::from_bytes(kept.hash).to_hex().as_str(), expected);
        assert!(kept.new);
        let again = attachments.keep(&mut &b"abc"[..]).unwrap();
        assert_eq!(again, Kept { new: false, ..kept }, "the same content again changes nothing");
        let mut given = Vec::new();
        attachments.give(&kept.hash, &mut given).unwrap();
        assert_eq!(given, b"abc");
        assert_eq!(attachments.all().unwrap(), [kept.hash]);
    }

    #[test]
    fn an_altered_file_is_not_given() {
        let (_folder, attachments) = opened();
        let kept = attachments.keep(&mut &b"the wall before"[..]).unwrap();
        fs::write(attachments.path(&kept.hash), b"the wall Before").unwrap();
        let mut given = Vec::new();
        assert!(matches!(attachments.give(&kept.hash, &mut given), Err(AttachmentError::Altered)));
        assert!(given.is_empty());
        attachments.keep(&mut &b"the wall before"[..]).unwrap();
        attachments.give(&kept.hash, &mut given).unwrap();
        assert_eq!(given, b"the wall before", "the same content again mends it");
    }

    #[test]
    fn empty_files_are_refused_and_nothing_is_left() {
        let (folder, attachments) = opened();
        assert!(matches!(attachments.keep(&mut &b""[..]), Err(AttachmentError::Empty)));
        assert_eq!(fs::read_dir(folder.path().join("incoming")).unwrap().count(), 0);
    }

    #[test]
    fn a_limit_is_the_greatest_size_taken() {
        let (folder, attachments) = opened();
        assert_eq!(attachments.keep_at_most(&mut &[7; 10][..], 10).unwrap().bytes, 10);
        let refused = attachments.keep_at_most(&mut &[7; 11][..], 10);
        assert!(matches!(refused, Err(AttachmentError::TooLarge { limit: 10 })));
        // More than one buffer, and a source that would never end.
        let refused = attachments.keep_at_most(&mut io::repeat(1), 1 << 20);
        assert!(matches!(refused, Err(AttachmentError::TooLarge { .. })));
        assert_eq!(fs::read_dir(folder.path().join("incoming")).unwrap().count(), 0);
        assert_eq!(attachments.all().unwrap().len(), 1);
    }

    #[test]
    fn what_stops_coming_is_not_kept() {
        struct Torn;
        impl Read for Torn {
            fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
                Err(io::ErrorKind::ConnectionReset.into())
            }
        }
        let (folder, attachments) = opened();
        let cut = attachments.keep(&mut (&b"the first half"[..]).chain(Torn));
        assert!(matches!(cut, Err(AttachmentError::CutOff { .. })));
        assert_eq!(fs::read_dir(folder.path().join("incoming")).unwrap().count(), 0);
        assert!(attachments.all().unwrap().is_empty());
    }

    #[test]
    fn many_keep_at_once() {
        let (folder, attachments) = opened();
        let kept: Vec<Kept> = std::thread::scope(|scope| {
            let keep = |thread: u8| {
                let attachments = &attachments;
                // Contents 0 to 4, each by every thread, begun at another one.
                let contents = (0..5).map(move |at| vec![(thread + at) % 5; 100_000]);
                scope.spawn(move || {
                    contents.map(|content| attachments.keep(&mut &content[..]).unwrap()).collect::<Vec<_>>()
                })
            };
            let threads: Vec<_> = (0..8).map(keep).collect();
            threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
        });
        assert_eq!(kept.len(), 40);
        assert_eq!(kept.iter().filter(|kept| kept.new).count(), 5, "each content is new once");
        for hash in attachments.all().unwrap() {
            attachments.verify(&hash).unwrap();
        }
        assert_eq!(attachments.all().unwrap().len(), 5);
        assert_eq!(fs::read_dir(folder.path().join("incoming")).unwrap().count(), 0);
    }

    #[test]
    fn a_verified_file_is_remembered_until_it_is_touched() {
        let (_folder, attachments) = opened();
        let hash = attachments.keep(&mut &b"a long video"[..]).unwrap().hash;
        let read = |(mut file, bytes): (File, u64)| {
            let mut content = String::new();
            file.read_to_string(&mut content).unwrap();
            assert_eq!(content.len() as u64, bytes);
            content
        };
        assert_eq!(read(attachments.open_verified(&hash).unwrap()), "a long video");
        assert!(attachments.remembered().is_empty(), "it was written a moment ago");

        let path = attachments.path(&hash);
        let look = Look::of(&fs::metadata(&path).unwrap()).unwrap();
        attachments.remembered().insert(hash, look);
        assert_eq!(read(attachments.open_verified(&hash).unwrap()), "a long video");
        assert_eq!(attachments.remembered().len(), 1);

        fs::write(&path, b"a long Video").unwrap();
        let written = look.written + Duration::from_secs(1);
        File::options().write(true).open(&path).unwrap().set_modified(written).unwrap();
        assert!(matches!(attachments.open_verified(&hash), Err(AttachmentError::Altered)));
        assert!(attachments.remembered().is_empty());
        fs::remove_file(&path).unwrap();
        assert!(matches!(attachments.open_verified(&hash), Err(AttachmentError::Missing)));
    }

    #[test]
    fn only_what_was_left_alone_for_a_while_is_remembered() {
        let now = SystemTime::now();
        let now_s = i64::try_from(now.duration_since(SystemTime::UNIX_EPOCH).unwrap().as_secs()).unwrap();
        let look = |written, changed_s| Look { bytes: 1, written, identity: (0, 0, changed_s, 0) };
        let minute = Duration::from_secs(60);
        assert!(look(now - minute, now_s - 60).is_settled());
        assert!(!look(now, now_s - 60).is_settled(), "written just now");
        assert!(!look(now - minute, now_s).is_settled(), "its time of writing was set back");
        assert!(!look(now + minute, now_s - 60).is_settled(), "written in the future");
    }

    #[test]
    fn a_full_disk_is_told_from_other_failures() {
        let failure = |kind: io::ErrorKind| failed(Path::new("x"), kind.into()).is_disk_full();
        assert!(failure(io::ErrorKind::StorageFull) && failure(io::ErrorKind::QuotaExceeded));
        assert!(!failure(io::ErrorKind::PermissionDenied));
    }

    #[test]
    fn what_a_crash_left_is_cleared() {
        let folder = tempfile::tempdir().unwrap();
        Attachments::open(folder.path()).unwrap();
        fs::write(folder.path().join("incoming/half"), b"half").unwrap();
        Attachments::open(folder.path()).unwrap();
        assert_eq!(fs::read_dir(folder.path().join("incoming")).unwrap().count(), 0);
    }
}
