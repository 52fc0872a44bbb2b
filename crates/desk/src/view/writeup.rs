//! A job or a test as a document for others to read and check.

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_store::read::HistoryItem;
use storypole_writeup::{Choices, Subject, WriteUpError, document};

use super::past;

/// What can be written up; `None` for a record of another kind.
pub fn subject(kind: &str, id: RecordId) -> Option<Subject> {
    match kind {
        "job" => Some(Subject::Job(id)),
        "test" => Some(Subject::Test(id)),
        _ => None,
    }
}

/// Choices for a write-up of this day with what only the history of records tells: corrections, and why sets were
/// left out. Title and other words are left to the caller.
///
/// # Errors
/// Whatever `history` fails with.
pub fn choices<E>(
    book: &Book,
    date: Date,
    program_version: &str,
    history: impl Fn(RecordId) -> Result<Vec<HistoryItem>, E>,
) -> Result<Choices, E> {
    let corrections = past::corrections(book, &history)?;
    let told = past::told(book, &history)?;
    Ok(Choices { corrections, told, ..Choices::new(date, program_version) })
}

/// The document as Markdown.
///
/// # Errors
/// [`WriteUpError`]: no such job or test, or nothing to write up yet.
pub fn markdown(book: &Book, subject: Subject, choices: &Choices) -> Result<String, WriteUpError> {
    Ok(storypole_writeup::markdown(&document(book, subject, choices)?))
}
