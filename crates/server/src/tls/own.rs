//! A certificate of the owner's, read again when its files change.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::shown::Shown;
use super::{TlsError, files, sha256};

/// Where it lies, and what was read there last, good or not.
#[derive(Debug)]
pub struct Own {
    certificate: PathBuf,
    key: PathBuf,
    read: Mutex<[[u8; 32]; 2]>,
}

impl Own {
    /// Reads both files.
    pub fn open(certificate: &Path, key: &Path) -> Result<(Self, Shown), TlsError> {
        files::warn_if_open(key);
        let own =
            Self { certificate: certificate.to_owned(), key: key.to_owned(), read: Mutex::new([[0; 32]; 2]) };
        let shown = own.changed()?.expect("no file hashes to nothing but zeros");
        Ok((own, shown))
    }

    /// What the files hold, where that is not what they held when they were looked at last.
    ///
    /// Whoever renews a certificate writes two files, one after the other: between them they do not belong together,
    /// and the second look finds that they changed again.
    pub fn changed(&self) -> Result<Option<Shown>, TlsError> {
        let (chain, key) = (files::read(&self.certificate)?, files::read(&self.key)?);
        let hashes = [sha256(&chain), sha256(&key)];
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if *read == hashes {
            return Ok(None);
        }
        *read = hashes;
        let chain = files::chain(&self.certificate, &chain)?;
        let key = files::key(&self.key, &key)?;
        Shown::new(chain, key, &self.certificate, &self.key).map(Some)
    }
}
