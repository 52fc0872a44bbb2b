//! The text as Markdown with its pictures and photographs beside it.

use super::{File, FileError};
use crate::document::Document;
use crate::markdown::markdown as text;

/// `index.md`, the figures at `pictures/` and the photographs at `photos/`.
///
/// # Errors
/// [`FileError`] where a figure cannot be drawn.
pub fn markdown(document: &Document) -> Result<Vec<File>, FileError> {
    let bytes = text(document).into_bytes();
    Ok(vec![File { path: "index.md".to_owned(), media_type: "text/markdown; charset=utf-8", bytes }])
}
