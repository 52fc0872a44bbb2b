//! The last book read, kept for the next who asks. Leaves out what is in a book.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use storypole_notebook::Book;
use storypole_store::read::{ChangedRows, Position};
use storypole_store::{Reader, StoreError};

use crate::readers::Readers;

/// Above so many changed records the whole book is read anew: a row alone takes several times its share of the
/// whole (convention of this project).
pub(crate) const MOST_CHANGED: usize = 2_000;

/// The last book read.
#[derive(Default)]
pub(crate) struct Shelf {
    kept: Mutex<Option<(Position, Arc<Book>)>>,
    /// Held by the one who reads; whoever waits shares what was read, if it is new enough.
    reading: Mutex<()>,
}

impl Shelf {
    /// A book no older than this call, and where the log stood. Only what changed since the last one is read.
    pub(crate) fn book(&self, readers: &Readers) -> Result<(Position, Arc<Book>), StoreError> {
        let asked = readers.read(Reader::position)?;
        if let Some(kept) = self.kept_since(&asked) {
            return Ok(kept);
        }
        let _reading = self.reading.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = self.kept_since(&asked) {
            return Ok(kept);
        }
        let before = self.kept().as_ref().map(|(at, _)| *at);
        let changed = match before {
            Some(at) => readers.read(|reader| reader.rows_after(&at, MOST_CHANGED))?,
            None => None,
        };
        let fresh = match changed {
            Some(changed) => self.updated(changed),
            None => {
                let (at, book) = readers.read(Reader::book_and_position)?;
                (at, Arc::new(book))
            }
        };
        *self.kept() = Some((fresh.0, Arc::clone(&fresh.1)));
        Ok(fresh)
    }

    /// The kept book with changed rows in place. It is taken off the shelf, so that nothing is copied unless
    /// someone still reads in it.
    fn updated(&self, changed: ChangedRows) -> (Position, Arc<Book>) {
        let (_, mut book) =
            self.kept().take().expect("only the one who reads takes it off, and that is this call");
        let position = changed.position;
        bring(Arc::make_mut(&mut book), changed);
        (position, book)
    }

    fn kept_since(&self, asked: &Position) -> Option<(Position, Arc<Book>)> {
        self.kept().as_ref().filter(|(at, _)| at.reaches(asked)).map(|(at, book)| (*at, Arc::clone(book)))
    }

    fn kept(&self) -> MutexGuard<'_, Option<(Position, Arc<Book>)>> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Puts changed rows in place.
pub(crate) fn bring(book: &mut Book, changed: ChangedRows) {
    for (kind, id, row) in changed.rows {
        match row {
            Some(row) => book.insert(row),
            None => book.remove(kind.name, id),
        }
    }
}
