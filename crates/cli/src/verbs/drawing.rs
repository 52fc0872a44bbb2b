//! Drawings written to files, beside what is printed.

use std::path::{Path, PathBuf};

use storypole_desk::view::drawing;
use storypole_ledger::takeoff::Sheet;
use storypole_notebook::Book;

use crate::refused::{Outcome, Refused, plain};

/// Writes the framed walls and the section of a take-off; an assembly of several walls gives a file for each.
///
/// # Errors
/// Something cannot be drawn, or a file cannot be written.
pub fn write(book: &Book, sheet: &Sheet, walls: Option<&Path>, section: Option<&Path>) -> Outcome {
    if let Some(path) = walls {
        let several = sheet.runs.len() > 1;
        for wall in 1..=sheet.runs.len() {
            let path = if several { numbered(path, wall) } else { path.to_owned() };
            save(&path, &drawing::elevation(book, sheet, wall)?)?;
        }
    }
    match section {
        Some(path) => save(path, &drawing::section(book, sheet.assembly)?),
        None => Ok(()),
    }
}

/// `wall.svg` of the second wall is `wall-2.svg`.
fn numbered(path: &Path, wall: usize) -> PathBuf {
    let stem = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let ending = path.extension().map_or_else(String::new, |ending| format!(".{}", ending.to_string_lossy()));
    path.with_file_name(format!("{stem}-{wall}{ending}"))
}

fn save(path: &Path, svg: &str) -> Outcome {
    std::fs::write(path, svg).map_err(|error| {
        Refused::new(
            format!("{} could not be written: {}", path.display(), plain(&error)),
            "name another file",
        )
    })?;
    eprintln!("drawn: {}", path.display());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn walls_are_numbered_before_the_ending() {
        assert_eq!(numbered(Path::new("a/wall.svg"), 2), Path::new("a/wall-2.svg"));
        assert_eq!(numbered(Path::new("wall"), 1), Path::new("wall-1"));
    }
}
