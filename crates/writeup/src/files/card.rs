//! Cards to show in a film, as PNG.

use std::collections::BTreeSet;

use storypole_drawing::Look;

use super::{CardShape, File, FileError};
use crate::document::Document;

/// One card for each headline, shape and look, at `cards/`.
///
/// # Errors
/// [`FileError`].
pub fn cards(
    _document: &Document,
    _shapes: &BTreeSet<CardShape>,
    _looks: &[Look],
) -> Result<Vec<File>, FileError> {
    Ok(Vec::new())
}
