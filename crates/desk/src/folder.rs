//! The data folder: `notebook.db`, `attachments/`, `index/`, `device.key`, and the lock on it.
//!
//! One process at a time holds a folder. The key never leaves it and is in no backup.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use storypole_journal::DeviceKey;

/// A data folder held by this process.
#[derive(Debug)]
pub struct DataFolder {
    path: PathBuf,
    // Held for its lock, which the system releases when the process ends, however it ends; none while only reading.
    _lock: Option<File>,
}

/// How long a command waits for another one to finish.
const PATIENCE: Duration = Duration::from_secs(3);
const PAUSE: Duration = Duration::from_millis(50);

/// The key of the device that this copy is about to become.
const NEXT_KEY: &str = "device.key.next";

/// Why a data folder cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// There is no notebook in it.
    #[error(
        "there is no notebook in {0}: start one with `storypole init`, or name another folder with --data"
    )]
    NoNotebook(PathBuf),
    /// There is one already.
    #[error("there is already a notebook in {0}: open it, or name another folder with --data")]
    AlreadyThere(PathBuf),
    /// Another process holds it.
    #[error(
        "{path} is in use by another process{holder}: close that one first; where it is `storypole serve`, stop it with Ctrl-C, or write in its browser"
    )]
    InUse { path: PathBuf, holder: String },
    /// The key is missing.
    #[error(
        "{0} is missing: this copy cannot write without its key; join the notebook anew from another device, or restore a backup into a new folder"
    )]
    NoKey(PathBuf),
    /// The key file is damaged.
    #[error("{0} does not hold a device key: put the original back, or join the notebook anew")]
    BadKey(PathBuf),
    /// Reading or writing failed.
    #[error(
        "{path} cannot be read or written by you: check its permissions, or name another folder with --data"
    )]
    NotAllowed { path: PathBuf, source: io::Error },
    /// A file lies where the folder should be.
    #[error("{0} is a file, not a folder: name a folder with --data")]
    NotAFolder(PathBuf),
    /// Reading or writing failed in another way.
    #[error("{path} could not be read or written: check the disk, or name another folder with --data")]
    Io { path: PathBuf, source: io::Error },
}

impl FolderError {
    /// Whether nothing but space is missing.
    pub fn is_disk_full(&self) -> bool {
        matches!(self, Self::Io { source, .. } if crate::desk::no_space(source))
    }
}

impl DataFolder {
    /// Takes a folder, waiting a moment for another process to finish with it.
    ///
    /// # Errors
    /// As [`Self::take`].
    pub fn take_patiently(path: &Path) -> Result<Self, FolderError> {
        let pauses = PATIENCE.as_millis() / PAUSE.as_millis();
        for _ in 0..pauses {
            match Self::take(path) {
                Err(FolderError::InUse { .. }) => std::thread::sleep(PAUSE),
                taken => return taken,
            }
        }
        Self::take(path)
    }

    /// A folder to read from only: nothing is locked and nothing written.
    pub fn look_at(path: &Path) -> Self {
        Self { path: path.to_owned(), _lock: None }
    }

    /// Takes a folder, making it when it is not there, and locks it.
    ///
    /// # Errors
    /// [`FolderError::InUse`] when another process holds it.
    pub fn take(path: &Path) -> Result<Self, FolderError> {
        if path.is_file() {
            return Err(FolderError::NotAFolder(path.to_owned()));
        }
        fs::create_dir_all(path).map_err(|source| failed(path, source))?;
        let lock_path = path.join("lock");
        let mut lock = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&lock_path)
            .map_err(|source| failed(&lock_path, source))?;
        match lock.try_lock() {
            Ok(()) => (),
            Err(TryLockError::WouldBlock) => {
                let mut holder = String::new();
                // Who holds it is a courtesy; that it cannot be read does not change the answer.
                let _ = lock.read_to_string(&mut holder);
                let holder = holder.trim();
                let holder = if holder.is_empty() { String::new() } else { format!(" (process {holder})") };
                return Err(FolderError::InUse { path: path.to_owned(), holder });
            }
            Err(TryLockError::Error(source)) => return Err(failed(&lock_path, source)),
        }
        // The number helps the next one who asks; on a full disk the lock holds without it.
        let _ = lock
            .set_len(0)
            .and_then(|()| lock.rewind())
            .and_then(|()| write!(lock, "{}", std::process::id()));
        Ok(Self { path: path.to_owned(), _lock: Some(lock) })
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The database.
    pub fn database(&self) -> PathBuf {
        self.path.join("notebook.db")
    }

    /// The attachments.
    pub fn attachments(&self) -> PathBuf {
        self.path.join("attachments")
    }

    /// The index, which can be deleted at any time.
    pub fn index(&self) -> PathBuf {
        self.path.join("index")
    }

    fn key_path(&self) -> PathBuf {
        self.path.join("device.key")
    }

    /// Whether it holds a notebook.
    pub fn holds_notebook(&self) -> bool {
        self.database().exists()
    }

    /// Reads the device's key.
    ///
    /// # Errors
    /// [`FolderError::NoKey`], [`FolderError::BadKey`].
    pub fn read_key(&self) -> Result<DeviceKey, FolderError> {
        let path = self.key_path();
        match fs::read(&path) {
            Ok(bytes) => {
                let secret: [u8; 32] = bytes.try_into().map_err(|_| FolderError::BadKey(path))?;
                Ok(DeviceKey::from_bytes(&secret))
            }
            Err(source) if source.kind() == io::ErrorKind::NotFound => Err(FolderError::NoKey(path)),
            Err(source) => Err(failed(&path, source)),
        }
    }

    /// Writes a new device's key, readable by its owner only: whole or not at all, and durable.
    ///
    /// # Errors
    /// [`FolderError::AlreadyThere`] when there is a notebook, whose key is never overwritten; [`FolderError::Io`].
    pub fn write_key(&self, key: &DeviceKey) -> Result<(), FolderError> {
        if self.holds_notebook() {
            return Err(FolderError::AlreadyThere(self.path.clone()));
        }
        self.write_private("device.key", &key.to_bytes())
    }

    /// Writes the key that is to replace this device's, beside it.
    ///
    /// # Errors
    /// [`FolderError::Io`].
    pub fn write_next_key(&self, key: &DeviceKey) -> Result<(), FolderError> {
        self.write_private(NEXT_KEY, &key.to_bytes())
    }

    /// The key that was to replace this device's, if that was not finished; half of one is none.
    ///
    /// # Errors
    /// [`FolderError::Io`].
    pub fn read_next_key(&self) -> Result<Option<DeviceKey>, FolderError> {
        let path = self.path.join(NEXT_KEY);
        match fs::read(&path) {
            Ok(bytes) => Ok(bytes.try_into().ok().map(|secret: [u8; 32]| DeviceKey::from_bytes(&secret))),
            Err(source) if source.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(failed(&path, source)),
        }
    }

    /// Puts the next key in the place of this device's, durably.
    ///
    /// # Errors
    /// [`FolderError::Io`].
    pub fn keep_next_key(&self) -> Result<(), FolderError> {
        let (next, place) = (self.path.join(NEXT_KEY), self.key_path());
        fs::rename(&next, &place).map_err(|source| failed(&place, source))?;
        self.sync()
    }

    /// Drops the next key.
    ///
    /// # Errors
    /// [`FolderError::Io`].
    pub fn drop_next_key(&self) -> Result<(), FolderError> {
        remove_if_there(&self.path.join(NEXT_KEY))
    }

    /// Writes a small file, readable by its owner only: whole or not at all, and durable.
    fn write_private(&self, name: &str, bytes: &[u8]) -> Result<(), FolderError> {
        let (path, new) = (self.path.join(name), self.path.join(format!("{name}.new")));
        remove_if_there(&new)?;
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            options.mode(0o600);
        }
        let mut file = options.open(&new).map_err(|source| failed(&new, source))?;
        file.write_all(bytes).and_then(|()| file.sync_all()).map_err(|source| failed(&new, source))?;
        fs::rename(&new, &path).map_err(|source| failed(&path, source))?;
        self.sync()
    }

    /// Where a database is made before it is the notebook; what an earlier attempt left is removed.
    ///
    /// # Errors
    /// [`FolderError::Io`].
    pub fn clear_new_database(&self) -> Result<PathBuf, FolderError> {
        let new = self.path.join("notebook.db.new");
        for end in ["", "-wal", "-shm"] {
            remove_if_there(&self.path.join(format!("notebook.db.new{end}")))?;
        }
        Ok(new)
    }

    /// Makes the finished new database the notebook, durably.
    ///
    /// # Errors
    /// [`FolderError::Io`].
    pub fn keep_new_database(&self) -> Result<(), FolderError> {
        let (new, place) = (self.path.join("notebook.db.new"), self.database());
        File::open(&new).and_then(|file| file.sync_all()).map_err(|source| failed(&new, source))?;
        fs::rename(&new, &place).map_err(|source| failed(&place, source))?;
        self.sync()
    }

    fn sync(&self) -> Result<(), FolderError> {
        for folder in [Some(self.path.as_path()), self.path.parent()].into_iter().flatten() {
            let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
            File::open(folder).and_then(|open| open.sync_all()).map_err(|source| failed(folder, source))?;
        }
        Ok(())
    }

    /// Whether others than the owner can read the key.
    #[cfg(unix)]
    pub fn key_is_open(&self) -> bool {
        use std::os::unix::fs::PermissionsExt;
        fs::metadata(self.key_path()).is_ok_and(|file| file.permissions().mode() & 0o077 != 0)
    }

    /// Whether others than the owner can read the key: not known on this system.
    #[cfg(not(unix))]
    pub fn key_is_open(&self) -> bool {
        false
    }
}

fn remove_if_there(path: &Path) -> Result<(), FolderError> {
    match fs::remove_file(path) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => Err(failed(path, source)),
        _ => Ok(()),
    }
}

fn failed(path: &Path, source: io::Error) -> FolderError {
    let path = path.to_owned();
    match source.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            FolderError::NotAllowed { path, source }
        }
        _ => FolderError::Io { path, source },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_in_use_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let held = DataFolder::take(folder.path()).unwrap();
        let refused = DataFolder::take(folder.path()).unwrap_err().to_string();
        assert!(
            refused.contains("in use by another process")
                && refused.contains(&std::process::id().to_string())
        );
        drop(held);
        DataFolder::take(folder.path()).unwrap();
    }

    #[test]
    fn the_key_is_kept_once_and_private() {
        let folder = tempfile::tempdir().unwrap();
        let held = DataFolder::take(folder.path()).unwrap();
        assert!(matches!(held.read_key(), Err(FolderError::NoKey(_))));
        let key = DeviceKey::from_bytes(&[7; 32]);
        held.write_key(&key).unwrap();
        assert_eq!(held.read_key().unwrap().to_bytes(), [7; 32]);
        assert!(!held.key_is_open());
        fs::write(folder.path().join("notebook.db"), b"a notebook").unwrap();
        assert!(held.write_key(&key).is_err(), "the key of a notebook is never overwritten");
        fs::write(folder.path().join("device.key"), b"short").unwrap();
        assert!(matches!(held.read_key(), Err(FolderError::BadKey(_))));
    }
}
