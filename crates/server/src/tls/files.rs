//! Certificates and keys on disk: PEM (RFC 7468), read whole, written whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};

use super::TlsError;

/// Who may read a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readers {
    Owner,
    All,
}

/// Reads a file.
pub fn read(path: &Path) -> Result<Vec<u8>, TlsError> {
    fs::read(path).map_err(|source| TlsError::Read { path: path.to_owned(), source })
}

/// The certificates in the bytes of a file, of which there is at least one.
pub fn chain(path: &Path, bytes: &[u8]) -> Result<Vec<CertificateDer<'static>>, TlsError> {
    let chain: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(bytes).collect();
    let bad = || TlsError::NoCertificate(path.to_owned());
    chain.ok().filter(|chain| !chain.is_empty()).ok_or_else(bad)
}

/// The private key in the bytes of a file.
pub fn key(path: &Path, bytes: &[u8]) -> Result<PrivateKeyDer<'static>, TlsError> {
    PrivateKeyDer::from_pem_slice(bytes).map_err(|_| TlsError::NoKey(path.to_owned()))
}

/// Makes the folder that holds keys, for its owner only.
pub fn make_folder(folder: &Path) -> Result<(), TlsError> {
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    match builder.create(folder) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        made => made.map_err(|source| TlsError::Write { path: folder.to_owned(), source }),
    }
}

/// Writes a file beside its place and moves it there, durably.
pub fn write(path: &Path, bytes: &[u8], readers: Readers) -> Result<(), TlsError> {
    write_beside(path, bytes, readers).map_err(|source| TlsError::Write { path: path.to_owned(), source })
}

fn write_beside(path: &Path, bytes: &[u8], readers: Readers) -> io::Result<()> {
    let new = path.with_extension("new");
    match fs::remove_file(&new) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
        _ => (),
    }
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(if readers == Readers::Owner { 0o600 } else { 0o644 });
    }
    let mut file = options.open(&new)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    fs::rename(&new, path)?;
    if let Some(folder) = path.parent() {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Says so where others than the owner can read a key.
#[cfg(unix)]
pub fn warn_if_open(path: &Path) {
    use std::os::unix::fs::PermissionsExt;
    if fs::metadata(path).is_ok_and(|file| file.permissions().mode() & 0o077 != 0) {
        let path = path.display();
        tracing::warn!("other users of this computer can read the key {path}: make it readable by you only");
    }
}

/// Says so where others than the owner can read a key: not known on this system.
#[cfg(not(unix))]
pub fn warn_if_open(_: &Path) {}
