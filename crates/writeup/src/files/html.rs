//! A write-up as one page for a browser.

use super::{File, FileError};
use crate::document::Document;

/// The page, at `index.html`.
///
/// # Errors
/// [`FileError`] where a figure cannot be drawn.
pub fn page(_document: &Document) -> Result<File, FileError> {
    Ok(File { path: "index.html".to_owned(), media_type: "text/html; charset=utf-8", bytes: Vec::new() })
}
