//! Photos and files pinned to a record.

use super::word::{Hash, Id};

words! {
    /// How the content of a file stands on a device.
    enum FileState {
        /// It is here.
        Here = "here",
        /// It is not here.
        Missing = "missing",
        /// It is on its way.
        Arriving = "arriving",
        /// It changed on the disk and was moved aside; a whole copy has to come from elsewhere.
        Damaged = "damaged",
    }
}

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
        /// How its content stands on this device.
        state: FileState,
        /// How many of its bytes are on this device.
        held_bytes: u64,
        /// What its content is asked for by, at `/api/attachments`.
        hash: Option<Hash>,
    }
    /// How the content of a file stands on this device.
    struct FileStanding {
        /// Its hash.
        hash: Hash,
        /// How it stands.
        state: FileState,
        /// How many of its bytes are here, in whole parts.
        held_bytes: u64,
        /// Its size, where that is known.
        bytes: Option<u64>,
        /// Whether this device would take it: it is not here whole, and is not left until somebody opens it.
        wanted: bool,
    }
    /// How files stand on this device.
    struct FileStandings {
        /// File by file, in the order asked; those that no record here names are left out.
        files: Vec<FileStanding>,
    }
    /// Photos and files pinned to a record.
    struct PinnedFiles {
        /// File by file.
        files: Vec<PinnedFile>,
    }
}

impl From<storypole_desk::attached::FileState> for FileState {
    fn from(state: storypole_desk::attached::FileState) -> Self {
        use storypole_desk::attached::FileState as Found;
        match state {
            Found::Here => Self::Here,
            Found::Missing => Self::Missing,
            Found::Arriving { .. } => Self::Arriving,
            Found::Damaged => Self::Damaged,
        }
    }
}
