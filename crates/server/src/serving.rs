//! `serving.json`: where the server of a data folder is, for commands of the same person on the same computer.
//!
//! A command cannot write while the server holds the folder, so it asks the server instead. The key in the file is a
//! keeper's session that lives in the server's memory alone: it is void when the server ends, however it ends, and the
//! file is readable by its owner only.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

/// The name of the file in the data folder.
const NAME: &str = "serving.json";

/// Where a server is, and the key to it.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Serving {
    /// Where it listens.
    pub address: String,
    /// The address to ask, `http://localhost:8417`.
    pub url: String,
    /// What a command shows to be let in: name and value of the cookie.
    pub key: String,
    /// SHA-256 of the certificate to trust there, hexadecimal; none over plain HTTP.
    pub pin: Option<String>,
}

/// The key must not get into a log.
impl std::fmt::Debug for Serving {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Serving").field("url", &self.url).finish_non_exhaustive()
    }
}

/// The file while a server runs; it goes with this.
#[derive(Debug)]
pub struct Told {
    path: PathBuf,
    serving: Serving,
}

impl Serving {
    /// Writes the file, whole or not at all, readable by its owner only. What a server that crashed left is replaced.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn tell(self, folder: &Path) -> io::Result<Told> {
        let (path, new) = (folder.join(NAME), folder.join("serving.json.new"));
        match fs::remove_file(&new) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => (),
        }
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            options.mode(0o600);
        }
        let mut file = options.open(&new)?;
        let json = serde_json::to_vec(&self).expect("texts are JSON");
        // It is void after a crash, so it need not survive one.
        file.write_all(&json)?;
        fs::rename(&new, &path)?;
        Ok(Told { path, serving: self })
    }

    /// Reads the file; none where no server told where it is, or it was cut off.
    ///
    /// # Errors
    /// It is there and cannot be read.
    pub fn read(folder: &Path) -> io::Result<Option<Self>> {
        match fs::read(folder.join(NAME)) {
            Ok(bytes) => Ok(serde_json::from_slice(&bytes).ok()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }
}

impl Drop for Told {
    fn drop(&mut self) {
        let folder = self.path.parent().unwrap_or(Path::new("."));
        // Another server may have told its own place since; a file that stays is noticed by whoever reads it.
        if Serving::read(folder).is_ok_and(|told| told.as_ref() == Some(&self.serving)) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn serving(key: &str) -> Serving {
        let (address, url) = ("127.0.0.1:8417".to_owned(), "http://localhost:8417".to_owned());
        Serving { address, url, key: key.to_owned(), pin: None }
    }

    #[test]
    fn the_file_is_its_owner_s_and_goes_with_the_server() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(Serving::read(folder.path()).unwrap(), None);
        fs::write(folder.path().join("serving.json.new"), "what a crash left").unwrap();
        let told = serving("secret").tell(folder.path()).unwrap();
        assert_eq!(Serving::read(folder.path()).unwrap(), Some(serving("secret")));
        assert!(!format!("{told:?}").contains("secret"));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(folder.path().join(NAME)).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        let next = serving("another").tell(folder.path()).unwrap();
        drop(told);
        assert_eq!(Serving::read(folder.path()).unwrap(), Some(serving("another")), "only its own goes");
        drop(next);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn what_was_cut_off_tells_nothing() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(NAME), "{\"address\":\"127.0").unwrap();
        assert_eq!(Serving::read(folder.path()).unwrap(), None);
    }
}
