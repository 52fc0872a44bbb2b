//! The last book read and what was found in it, kept for the next who asks. Leaves out what is in a book.
//!
//! Findings cost more than a book and many who ask want none, so they are made when first asked for, and then brought to
//! where the book stands by the records that changed since.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use storypole_findings::Kept;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_search::facts::FactBook;
use storypole_store::read::{ChangedRows, Position};
use storypole_store::{Reader, StoreError};

use crate::readers::Readers;
use crate::view::past;

/// Above so many changed records the whole book is read anew: a row alone takes several times its share of the
/// whole (convention of this project).
pub(crate) const MOST_CHANGED: usize = 2_000;

/// How often findings are begun again because the log moved while its history was asked.
const TRIES: usize = 3;

/// The last book read.
#[derive(Default)]
pub(crate) struct Shelf {
    kept: Mutex<Option<(Position, Arc<Book>)>>,
    /// Held by the one who reads; whoever waits shares what was read, if it is new enough.
    reading: Mutex<()>,
    /// Held by the one who works out; whoever waits shares what was found. Taken before the two above it.
    findings: Mutex<Option<(Position, Worked)>>,
    since: Mutex<Option<Since>>,
}

/// What changed, for findings that are behind the book.
struct Since {
    /// Every change after this is noted.
    from: Position,
    /// Kind and id of a record, and the position of a book that first shows its change.
    changes: Vec<(Position, &'static str, RecordId)>,
}

impl Since {
    /// The changes between findings and a book, which are not needed again; `None` where they are not known.
    fn between(&mut self, findings: &Position, book: &Position) -> Option<Vec<Changed>> {
        if !findings.reaches(&self.from) {
            return None;
        }
        let shown = |at: &Position| book.reaches(at);
        let changes =
            self.changes.iter().filter(|(at, ..)| shown(at)).map(|(_, kind, id)| (*kind, *id)).collect();
        self.changes.retain(|(at, ..)| !shown(at));
        if shown(&self.from) {
            self.from = *book;
        }
        Some(changes)
    }
}

/// Kind and id of a record that changed.
type Changed = (&'static str, RecordId);

/// What was worked out of one book: findings, and what can be asked of its records beside words.
#[derive(Clone)]
pub(crate) struct Worked {
    pub(crate) kept: Arc<Kept>,
    pub(crate) facts: Arc<FactBook>,
}

/// A book, what was worked out of it, and where the log stood.
pub(crate) type Found = (Position, Arc<Book>, Worked);

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
                *self.since() = Some(Since { from: at, changes: Vec::new() });
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
        self.note(&changed);
        bring(Arc::make_mut(&mut book), changed);
        (position, book)
    }

    /// A book no older than this call with its findings. Only what changed since the last ones is worked out.
    pub(crate) fn findings(&self, readers: &Readers) -> Result<Found, StoreError> {
        let mut findings = self.findings.lock().unwrap_or_else(PoisonError::into_inner);
        for _ in 0..TRIES {
            let (at, book) = self.book(readers)?;
            // History is of the same state as the book, or it is asked again.
            let worked = readers.read(|reader| {
                if reader.position()? != at {
                    return Ok(None);
                }
                let known = findings.take().and_then(|(of, worked)| Some((worked, self.changes(&of, &at)?)));
                brought(known, &book, reader).map(Some)
            })?;
            if let Some(worked) = worked {
                *findings = Some((at, worked.clone()));
                return Ok((at, book, worked));
            }
        }
        readers.read(|reader| {
            let (at, book) = reader.book_and_position()?;
            let worked = brought(None, &book, reader)?;
            Ok((at, Arc::new(book), worked))
        })
    }

    /// Notes what changed for the findings to come, where it is not too much.
    fn note(&self, changed: &ChangedRows) {
        let (mut since, at) = (self.since(), changed.position);
        let Some(noted) = since.as_mut() else { return };
        noted.changes.extend(changed.rows.iter().map(|(kind, id, _)| (at, kind.name, *id)));
        if noted.changes.len() > MOST_CHANGED {
            *noted = Since { from: at, changes: Vec::new() };
        }
    }

    fn changes(&self, findings: &Position, book: &Position) -> Option<Vec<Changed>> {
        self.since().as_mut()?.between(findings, book)
    }

    fn since(&self) -> MutexGuard<'_, Option<Since>> {
        self.since.lock().unwrap_or_else(PoisonError::into_inner)
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

/// Findings and facts brought to a book by what changed since, or made anew where that is not known.
fn brought(
    known: Option<(Worked, Vec<Changed>)>,
    book: &Book,
    reader: &Reader,
) -> Result<Worked, StoreError> {
    let history = |record| reader.history(record);
    let Some((mut worked, since)) = known else {
        let kept = Arc::new(Kept::new(book, past::told(book, history)?));
        return Ok(Worked { kept, facts: Arc::default() });
    };
    if !since.is_empty() {
        let mut told = worked.kept.told().clone();
        past::retell(&mut told, book, since.iter().copied(), history)?;
        // Nothing is copied unless someone still reads in it.
        Arc::make_mut(&mut worked.facts).update(since.iter().copied());
        Arc::make_mut(&mut worked.kept).update(book, since, &told);
    }
    Ok(worked)
}
