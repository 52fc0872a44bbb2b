//! Where a database lies: a file of the system, or one of another file system that SQLite was told of.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags};

/// Where a database lies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Location {
    path: PathBuf,
    file_system: Option<String>,
}

impl Location {
    /// A file of the system's.
    pub fn file(path: &Path) -> Self {
        Self { path: path.to_owned(), file_system: None }
    }

    /// A file of a file system that was registered with SQLite under a name (`sqlite3_vfs_register`).
    pub fn on(file_system: &str, path: &Path) -> Self {
        Self { path: path.to_owned(), file_system: Some(file_system.to_owned()) }
    }

    /// Its path.
    pub fn path(&self) -> &Path {
        &self.path
    }

    pub(crate) fn connect(&self, flags: OpenFlags) -> rusqlite::Result<Connection> {
        match &self.file_system {
            None => Connection::open_with_flags(&self.path, flags),
            Some(name) => Connection::open_with_flags_and_vfs(&self.path, flags, name.as_str()),
        }
    }

    /// Whether `std::fs` sees what lies there.
    pub(crate) fn is_of_the_system(&self) -> bool {
        self.file_system.is_none()
    }
}
