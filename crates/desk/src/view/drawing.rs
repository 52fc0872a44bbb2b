//! Drawings of walls as SVG, by record.

use storypole_journal::RecordId;
use storypole_ledger::takeoff::Sheet;
use storypole_notebook::Book;
use storypole_writeup::sketch::{self, SketchError};

/// The first wall of a take-off with its bays; a further one by its number from 1.
///
/// # Errors
/// There is no such wall, or it cannot be drawn.
pub fn elevation(book: &Book, sheet: &Sheet, wall: usize) -> Result<String, SketchError> {
    let walls = sheet.runs.len();
    sketch::wall(book, sheet, wall.checked_sub(1).ok_or(SketchError::NoSuchWall { walls })?)
}

/// A section of an assembly.
///
/// # Errors
/// It is not held, a part cannot be read, or it cannot be drawn.
pub fn section(book: &Book, assembly: RecordId) -> Result<String, SketchError> {
    sketch::section(book, assembly)
}
