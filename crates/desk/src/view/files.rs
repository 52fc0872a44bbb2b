//! Photos and files pinned to a record. Leaves out their content.

use std::fmt::Write;

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Photo;

/// What is pinned to a record, oldest first; struck ones left out.
pub fn pinned(book: &Book, about: RecordId) -> impl Iterator<Item = &Photo> {
    book.photos.live().filter(move |photo| photo.about == Some(about))
}

/// What is pinned to a record as JSON; `held` says whether this device has the content of a hash.
pub fn json(book: &Book, about: RecordId, held: &dyn Fn(&[u8; 32]) -> bool) -> Value {
    json!({ "files": pinned(book, about).map(|photo| file(photo, held)).collect::<Value>() })
}

fn file(photo: &Photo, held: &dyn Fn(&[u8; 32]) -> bool) -> Value {
    json!({
        "id": photo.id.to_string(),
        "name": photo.name,
        "bytes": photo.bytes,
        "caption": photo.caption,
        "media_type": photo.media_type,
        "cover_up": photo.cover_up,
        "held": photo.hash.is_some_and(|hash| held(&hash)),
        "hash": photo.hash.map(|hash| hex(&hash)),
    })
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("writing to a text cannot fail");
        text
    })
}
