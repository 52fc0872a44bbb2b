//! A short text to post with a film or a page.

use super::File;
use crate::document::Document;

/// The text, at `post.txt`.
pub fn post(_document: &Document) -> File {
    File { path: "post.txt".to_owned(), media_type: "text/plain; charset=utf-8", bytes: Vec::new() }
}
