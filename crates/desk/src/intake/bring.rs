//! Handing what a file comes to over to the desk, in pieces. Leaves out reading the file, and saying how it went.

use storypole_journal::{Draft, RecordId, WrittenAt};

use super::{Problem, read};
use crate::{Desk, DeskError};

/// Drafts handed over at once: few enough that little is lost when the power goes, many enough to be quick.
pub const CHUNK: usize = 500;

/// A file's name and content.
#[derive(Debug, Clone, Copy)]
pub struct File<'a> {
    /// The name that problems are reported under; its ending tells the format.
    pub name: &'a str,
    /// What it holds.
    pub bytes: &'a [u8],
}

/// What became of a file.
#[derive(Debug, Default)]
pub struct Brought {
    /// Rows taken.
    pub new: usize,
    /// Rows that are held already.
    pub already_held: usize,
    /// Rows that are not taken, and why.
    pub problems: Vec<Problem>,
    /// Drafts that the desk refused, and why.
    pub refused: Vec<DeskError>,
}

/// How far a file is: drafts handed over, of how many.
#[derive(Debug, Clone, Copy)]
pub struct Progress {
    /// Drafts that are on disk or refused.
    pub done: usize,
    /// All that the file comes to.
    pub of: usize,
}

/// Reads a file against what is held and hands it to the desk; `progress` hears of every chunk that is on disk.
///
/// # Errors
/// The database failed; chunks heard of before are written.
pub fn bring(
    desk: &Desk,
    file: &File<'_>,
    author: RecordId,
    now: WrittenAt,
    progress: &mut dyn FnMut(Progress),
) -> Result<Brought, DeskError> {
    let intake = read(file.name, file.bytes, desk, author, now);
    let mut brought =
        Brought { already_held: intake.already_held, problems: intake.problems, ..Brought::default() };
    let of = intake.drafts.len();
    let mut drafts = intake.drafts.into_iter();
    loop {
        let chunk: Vec<Draft> = drafts.by_ref().take(CHUNK).collect();
        if chunk.is_empty() {
            return Ok(brought);
        }
        for outcome in desk.take_all(chunk)? {
            match outcome {
                Ok(_) => brought.new += 1,
                Err(error) => brought.refused.push(error),
            }
        }
        progress(Progress { done: brought.new + brought.refused.len(), of });
    }
}
