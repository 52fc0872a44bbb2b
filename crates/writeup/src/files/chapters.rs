//! Chapters of films: WebVTT, and a list of time marks to paste under a film.

use super::File;
use crate::document::Document;

/// Two files for each film, at `chapters/`.
pub fn chapters(_document: &Document) -> Vec<File> {
    Vec::new()
}
