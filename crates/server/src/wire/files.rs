//! Photos and files pinned to a record.

use super::word::{Hash, Id};

answers! {
    /// A photo or file.
    struct PinnedFile {
        /// The record that pins it.
        id: Id,
        /// Its file name.
        name: Option<String>,
        /// Its size, bytes.
        bytes: Option<u64>,
        /// What it shows.
        caption: Option<String>,
        /// Its media type.
        media_type: Option<String>,
        /// Whether it was taken before a wall was closed.
        cover_up: Option<bool>,
        /// Whether its content is on this device.
        held: bool,
        /// What its content is asked for by, at `/api/attachments`.
        hash: Option<Hash>,
    }
    /// Photos and files pinned to a record.
    struct PinnedFiles {
        /// File by file.
        files: Vec<PinnedFile>,
    }
}
