//! Files by their BLAKE3 hash, in a folder beside the database. Streamed in and out, never held in memory.
//!
//! A file is written under a temporary name, synced, renamed, and the folder synced: what is there under its
//! hash is whole. It is verified when it is read.

use std::fs::{self, File};
use std::io::{self, Read, Seek, Write};
use std::path::{Path, PathBuf};

/// Largest file taken, bytes: a long video of a day's work still fits.
pub const MAX_BYTES: u64 = 64 << 30;

/// The folder that holds the files.
#[derive(Debug, Clone)]
pub struct Attachments {
    folder: PathBuf,
}

/// Why a file could not be kept or given back.
#[derive(Debug, thiserror::Error)]
pub enum AttachmentError {
    /// It is larger than what is taken.
    #[error("the file is larger than {MAX_BYTES} bytes: keep it elsewhere and pin a smaller copy")]
    TooLarge,
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
    /// Reading or writing failed.
    #[error("{path} could not be read or written: check the disk and its permissions")]
    Io { path: PathBuf, source: io::Error },
}

/// A file that was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Its hash, which is its name from now on.
    pub hash: [u8; 32],
    /// Its size.
    pub bytes: u64,
}

impl Attachments {
    /// Opens the folder, making it when it is not there, and clears temporary files a crash left.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn open(folder: &Path) -> Result<Self, AttachmentError> {
        let incoming = folder.join("incoming");
        fs::create_dir_all(&incoming).map_err(|source| failed(&incoming, source))?;
        for entry in fs::read_dir(&incoming).map_err(|source| failed(&incoming, source))? {
            let path = entry.map_err(|source| failed(&incoming, source))?.path();
            fs::remove_file(&path).map_err(|source| failed(&path, source))?;
        }
        Ok(Self { folder: folder.to_owned() })
    }

    /// The folder as it is, to read from only.
    pub fn look_at(folder: &Path) -> Self {
        Self { folder: folder.to_owned() }
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

    /// Keeps what `source` gives. The same content again changes nothing.
    ///
    /// # Errors
    /// [`AttachmentError`]; nothing is left behind.
    pub fn keep(&self, source: &mut dyn Read) -> Result<Kept, AttachmentError> {
        let incoming = self.folder.join("incoming");
        let temporary = incoming.join(format!("{}-{:p}", std::process::id(), &source));
        let result = self.keep_as(&temporary, source);
        if result.is_err() {
            // The temporary file is of no use; that it cannot be removed is noticed when the folder opens next.
            let _ = fs::remove_file(&temporary);
        }
        result
    }

    fn keep_as(&self, temporary: &Path, source: &mut dyn Read) -> Result<Kept, AttachmentError> {
        let io = |source| failed(temporary, source);
        let mut file = File::create(temporary).map_err(io)?;
        let (hash, bytes) = copy_hashed(source, &mut file).map_err(io)?;
        if bytes == 0 {
            return Err(AttachmentError::Empty);
        }
        if bytes > MAX_BYTES {
            return Err(AttachmentError::TooLarge);
        }
        let kept = Kept { hash, bytes };
        let place = self.path(&hash);
        // A file that is there but altered is put right by the same content.
        if place.is_file() && self.verify(&hash).is_ok() {
            fs::remove_file(temporary).map_err(io)?;
            self.sync_folders(&place)?;
            return Ok(kept);
        }
        file.sync_all().map_err(io)?;
        let folder = place.parent().expect("a file lies in a folder");
        fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
        fs::rename(temporary, &place).map_err(|source| failed(&place, source))?;
        self.sync_folders(&place)?;
        Ok(kept)
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
        let path = self.path(hash);
        let io = |source| failed(&path, source);
        let mut file = match File::open(&path) {
            Err(source) if source.kind() == io::ErrorKind::NotFound => return Err(AttachmentError::Missing),
            opened => opened.map_err(io)?,
        };
        let (actual, bytes) = copy_hashed(&mut file, &mut io::sink()).map_err(io)?;
        if actual != *hash {
            return Err(AttachmentError::Altered);
        }
        file.rewind().map_err(io)?;
        io::copy(&mut file.take(bytes), sink).map_err(io)
    }

    /// Every hash held here, in order.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn all(&self) -> Result<Vec<[u8; 32]>, AttachmentError> {
        let mut hashes = Vec::new();
        let list = |folder: &Path| -> Result<Vec<PathBuf>, AttachmentError> {
            let entries = fs::read_dir(folder).map_err(|source| failed(folder, source))?;
            let paths: Result<Vec<_>, _> = entries.map(|entry| entry.map(|entry| entry.path())).collect();
            paths.map_err(|source| failed(folder, source))
        };
        for folder in list(&self.folder)?.into_iter().filter(|path| path.is_dir()) {
            let start = folder.file_name().and_then(|name| name.to_str()).unwrap_or_default().to_owned();
            for file in list(&folder)? {
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
        let path = self.path(hash);
        let mut file = match File::open(&path) {
            Err(source) if source.kind() == io::ErrorKind::NotFound => return Err(AttachmentError::Missing),
            opened => opened.map_err(|source| failed(&path, source))?,
        };
        let (actual, bytes) =
            copy_hashed(&mut file, &mut io::sink()).map_err(|source| failed(&path, source))?;
        if actual == *hash { Ok(bytes) } else { Err(AttachmentError::Altered) }
    }
}

fn failed(path: &Path, source: io::Error) -> AttachmentError {
    AttachmentError::Io { path: path.to_owned(), source }
}

fn copy_hashed(source: &mut dyn Read, sink: &mut dyn Write) -> io::Result<([u8; 32], u64)> {
    let mut hasher = blake3::Hasher::new();
    let mut buffer = vec![0; 64 << 10];
    let mut bytes = 0;
    loop {
        let read = source.read(&mut buffer)?;
        if read == 0 || bytes > MAX_BYTES {
            return Ok((*hasher.finalize().as_bytes(), bytes));
        }
        hasher.update(&buffer[..read]);
        sink.write_all(&buffer[..read])?;
        bytes += read as u64;
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
        assert_eq!(
            attachments.keep(&mut &b"abc"[..]).unwrap(),
            kept,
            "the same content again changes nothing"
        );
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
    fn what_a_crash_left_is_cleared() {
        let folder = tempfile::tempdir().unwrap();
        Attachments::open(folder.path()).unwrap();
        fs::write(folder.path().join("incoming/half"), b"half").unwrap();
        Attachments::open(folder.path()).unwrap();
        assert_eq!(fs::read_dir(folder.path().join("incoming")).unwrap().count(), 0);
    }
}
