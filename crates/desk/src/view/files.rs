//! Photos and files pinned to a record. Leaves out their content.

use std::fmt::Write;

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Photo;

use crate::attached::FileState;

/// What is pinned to a record, oldest first; struck ones left out.
pub fn pinned(book: &Book, about: RecordId) -> impl Iterator<Item = &Photo> {
    book.photos.live().filter(move |photo| photo.about == Some(about))
}

/// What is pinned to a record as JSON; `state` says how the content of a hash stands on this device.
pub fn json(book: &Book, about: RecordId, state: &dyn Fn(&[u8; 32]) -> FileState) -> Value {
    json!({ "files": pinned(book, about).map(|photo| file(photo, state)).collect::<Value>() })
}

fn file(photo: &Photo, state: &dyn Fn(&[u8; 32]) -> FileState) -> Value {
    let state = photo.hash.map_or(FileState::Missing, |hash| state(&hash));
    let held_bytes = match state {
        FileState::Here => photo.bytes.and_then(|bytes| u64::try_from(bytes).ok()).unwrap_or(0),
        FileState::Arriving { held_bytes } => held_bytes,
        FileState::Missing | FileState::Damaged => 0,
    };
    json!({
        "id": photo.id.to_string(),
        "name": photo.name,
        "bytes": photo.bytes,
        "caption": photo.caption,
        "media_type": photo.media_type,
        "cover_up": photo.cover_up,
        "held": state == FileState::Here,
        "state": state.word(),
        "held_bytes": held_bytes,
        "hash": photo.hash.map(|hash| hex(&hash)),
    })
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("writing to a text cannot fail");
        text
    })
}
