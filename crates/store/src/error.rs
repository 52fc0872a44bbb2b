//! Why the database could not do it. Every message says what to do next.

use std::io;
use std::path::PathBuf;

use storypole_journal::{DeviceId, DraftError, DraftId, SeriesError};

/// A failure of the store.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The file is not a notebook of this program.
    #[error(
        "{path} is not a Storypole notebook: check the data folder, or start a new one with `storypole init`"
    )]
    NotANotebook { path: PathBuf },
    /// The file was made by a newer version.
    #[error(
        "{path} was written by a newer version of the program (format {found}, this one reads up to {known}): update this one"
    )]
    Newer { path: PathBuf, found: i64, known: i64 },
    /// The file is damaged.
    #[error(
        "{path} is damaged: keep the folder as it is, and restore a backup or sync into a new folder from another device"
    )]
    Damaged { path: PathBuf, source: rusqlite::Error },
    /// The database has no copy row yet, or already has one.
    #[error("there is already a notebook in {path}: choose another folder")]
    AlreadyThere { path: PathBuf },
    /// The disk is full. The transaction was undone.
    #[error("the disk is full: free some space and send it again; nothing was written by this attempt")]
    DiskFull { source: rusqlite::Error },
    /// Another process holds the database.
    #[error("another program is writing to this notebook: close it and try again")]
    Busy { source: rusqlite::Error },
    /// Any other failure of SQLite.
    #[error("the database failed: run `storypole verify`, and see that the disk is well")]
    Database { source: rusqlite::Error },
    /// The writing thread has ended by a fault of the program.
    #[error(
        "the program hit a fault while writing: start it again; what was not acknowledged is not written"
    )]
    WriterEnded,
    /// A copy cannot become a device that has written before.
    #[error("device {device} has written to this notebook before: make a new id for this copy")]
    DeviceUsed { device: DeviceId },
    /// The clock of a member's device has run so far ahead that no later stamp is left.
    #[error("no later stamp is left, because a device's clock stands at the end of time: revoke that device")]
    NoLaterStamp { source: SeriesError },
    /// What a new series should open with is no legal draft.
    #[error("the note that opens a new series is not legal: correct it and try again")]
    Opening(#[from] DraftError),
    /// Something stored cannot be decoded.
    #[error("{what} stored in the database cannot be read: run `storypole verify`")]
    Undecodable { what: &'static str },
    /// Files beside the database failed.
    #[error("{path} could not be read or written: check the disk and its permissions")]
    File { path: PathBuf, source: io::Error },
}

impl StoreError {
    /// Whether nothing but space is missing: the same again can be done once some is free.
    pub fn is_disk_full(&self) -> bool {
        match self {
            Self::DiskFull { .. } => true,
            Self::File { source, .. } => no_space(source),
            Self::Damaged { source, .. } | Self::Busy { source } | Self::Database { source } => {
                source.sqlite_error_code() == Some(rusqlite::ErrorCode::DiskFull)
            }
            _ => false,
        }
    }
}

/// Whether a file could not be written because there is no space left, on the disk or for this user.
pub(crate) fn no_space(source: &io::Error) -> bool {
    matches!(source.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded)
}

impl From<rusqlite::Error> for StoreError {
    fn from(source: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode;
        match source.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::DiskFull { source },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy { source },
            _ => Self::Database { source },
        }
    }
}

/// Why a draft is not taken into this device's series.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TakeError {
    /// The draft itself is not legal.
    #[error("the draft is not legal: correct it and send it again")]
    Draft(#[from] DraftError),
    /// The clock of a member's device has run so far ahead that no later stamp is left.
    #[error("no later stamp is left, because a device's clock stands at the end of time: revoke that device")]
    NoLaterStamp(#[source] SeriesError),
    /// The id is held already with other content.
    #[error("draft {0} is held already with other content: send this one under a new id")]
    Reused(DraftId),
    /// It was based on writes this device does not hold.
    #[error("draft {0} was based on changes this device does not have yet: sync first, then send it again")]
    SeenUnknown(DraftId),
    /// This device may not write any more, or not at all.
    #[error("this device may not write to the notebook (it is a viewer, or was revoked): ask a keeper")]
    MayNotWrite,
}

/// Why a parcel of another device is not received; what came before it in the parcel is kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReceiveError {
    /// A change does not continue its series.
    #[error("a change of device {device} does not continue its series: sync again, from what is held here")]
    Series { device: DeviceId, source: SeriesError },
    /// A change cannot be decoded.
    #[error(
        "a change cannot be decoded: update this program, or check the other device with `storypole verify`"
    )]
    Undecodable,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_database_that_may_not_grow_is_a_full_disk() {
        let connection = rusqlite::Connection::open_in_memory().unwrap();
        connection.execute_batch("PRAGMA max_page_count = 4; CREATE TABLE filled (bytes BLOB)").unwrap();
        let full = connection.execute("INSERT INTO filled VALUES (zeroblob(100000))", []).unwrap_err();
        assert!(StoreError::from(full).is_disk_full());
        let other = connection.execute("INSERT INTO missing VALUES (1)", []).unwrap_err();
        assert!(!StoreError::from(other).is_disk_full());
        let file = |kind: io::ErrorKind| {
            StoreError::File { path: PathBuf::new(), source: kind.into() }.is_disk_full()
        };
        assert!(file(io::ErrorKind::StorageFull) && !file(io::ErrorKind::NotFound));
    }
}
