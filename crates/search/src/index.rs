//! Opening the folder of the index and following the log.
//!
//! Beside its documents the index keeps where the log stood when they were written. What changed since is looked
//! up in the log, and every document that shows a changed record is made anew; after anything else (another
//! database, tables that changed without a new change in the log, an index of another version) all of them are.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use storypole_journal::RecordId;
use storypole_notebook::{Book, KindSpec};
use storypole_store::Reader;
use tantivy::collector::DocSetCollector;
use tantivy::query::TermSetQuery;
use tantivy::schema::{
    FAST, Field, IndexRecordOption, STORED, STRING, Schema, TextFieldIndexing, TextOptions, Value,
};
use tantivy::{IndexReader, ReloadPolicy, TantivyDocument, Term};

use crate::document::{Document, Shelf};
use crate::mark::{Mark, Standing, touched_since};
use crate::{SearchError, analyse, document};

/// Memory for documents not yet written, bytes: little more than the least that tantivy takes.
const WRITER_BYTES: usize = 20_000_000;

/// The index of one notebook on this device.
pub struct Index {
    folder: PathBuf,
    inner: tantivy::Index,
    reader: IndexReader,
    pub(crate) fields: Fields,
}

/// What following the log has done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Followed {
    /// Number of the last change the index shows.
    pub last: i64,
    /// How many documents were written.
    pub written: usize,
    /// Whether all of them were.
    pub whole: bool,
}

/// How an index stands to the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IndexState {
    /// There is none yet.
    Absent,
    /// It shows the log as it stands.
    Current,
    /// It follows at the next search.
    Behind,
    /// It cannot be read, or is of another version: the next search makes it anew.
    Unreadable,
}

/// The fields of a document in the index.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fields {
    pub(crate) record: Field,
    pub(crate) kind: Field,
    /// Ids of every record the document drew on.
    pub(crate) shows: Field,
    pub(crate) title: Field,
    /// What the document says, for snippets.
    pub(crate) body: Field,
    /// Everything it is found by.
    pub(crate) words: Field,
    pub(crate) site: Field,
    pub(crate) job: Field,
    pub(crate) date: Field,
    /// Day as a number, 20250304; 0 without one.
    pub(crate) day: Field,
    /// First half of the record's id, which begins with the time it was made.
    pub(crate) made: Field,
    /// How much the kind weighs when ranking, thousandths.
    pub(crate) weight: Field,
}

/// Names of the fields that ranking reads.
pub(crate) const DAY: &str = "day";
pub(crate) const MADE: &str = "made";
pub(crate) const WEIGHT: &str = "weight";

impl Fields {
    fn schema() -> (Schema, Self) {
        let mut schema = Schema::builder();
        let indexing = TextFieldIndexing::default()
            .set_tokenizer(analyse::NAME)
            .set_index_option(IndexRecordOption::WithFreqsAndPositions);
        let text = TextOptions::default().set_indexing_options(indexing);
        let fields = Self {
            record: schema.add_text_field("record", STRING | STORED),
            kind: schema.add_text_field("kind", STRING | STORED),
            shows: schema.add_text_field("shows", STRING),
            title: schema.add_text_field("title", text.clone().set_stored()),
            body: schema.add_text_field("body", STORED),
            words: schema.add_text_field("words", text),
            site: schema.add_text_field("site", STORED),
            job: schema.add_text_field("job", STORED),
            date: schema.add_text_field("date", STORED),
            day: schema.add_u64_field(DAY, FAST),
            made: schema.add_u64_field(MADE, FAST),
            weight: schema.add_u64_field(WEIGHT, FAST),
        };
        (schema.build(), fields)
    }

    fn written(&self, document: &Document) -> TantivyDocument {
        let mut written = TantivyDocument::new();
        written.add_text(self.record, document.record.to_string());
        written.add_text(self.kind, document.kind);
        for id in &document.shows {
            written.add_text(self.shows, id.to_string());
        }
        written.add_text(self.title, &document.title);
        // Each part is a value of its own, so that no phrase reaches from one into the next.
        for text in [&document.title].into_iter().chain(&document.texts).chain(&document.names) {
            written.add_text(self.words, text);
        }
        written.add_text(self.body, document.texts.join(" · "));
        for (field, text) in
            [(self.site, &document.site), (self.job, &document.job), (self.date, &document.date)]
        {
            if let Some(text) = text {
                written.add_text(field, text);
            }
        }
        written.add_u64(self.day, document.date.as_deref().map_or(0, day_number));
        let (half, _) = document.record.as_bytes().split_at(8);
        written.add_u64(self.made, half.iter().fold(0, |number, byte| number << 8 | u64::from(*byte)));
        written.add_u64(self.weight, weight(document.kind));
        written
    }
}

/// Walls and jobs come first when scores are near (convention of this project), thousandths.
fn weight(kind: &str) -> u64 {
    if matches!(kind, "assembly" | "job") { 1_150 } else { 1_000 }
}

/// `2025-03-04` as 20250304.
fn day_number(day: &str) -> u64 {
    day.replace('-', "").parse().unwrap_or(0)
}

impl Index {
    /// Opens the index in a folder, or makes it. One that is damaged, foreign or of another version is deleted
    /// and made anew, empty until it follows the log.
    ///
    /// # Errors
    /// [`SearchError::Folder`] and [`SearchError::Index`] when the folder cannot be written.
    pub fn open(folder: &Path) -> Result<Self, SearchError> {
        fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
        if let Some(index) = Self::open_present(folder) {
            return Ok(index);
        }
        let _lock = lock(folder)?;
        // Whoever held the lock may have made it.
        Self::open_present(folder).map_or_else(|| Self::make(folder), Ok)
    }

    /// Looks how the index in a folder stands to the log, and changes nothing.
    ///
    /// # Errors
    /// The log cannot be read.
    pub fn state(folder: &Path, reader: &Reader) -> Result<IndexState, SearchError> {
        if !documents(folder).exists() {
            return Ok(IndexState::Absent);
        }
        let Some(index) = Self::open_present(folder) else { return Ok(IndexState::Unreadable) };
        let Ok(mark) = index.mark() else { return Ok(IndexState::Unreadable) };
        let now = Mark::new(&Standing::read(reader)?);
        Ok(if mark == Some(now) { IndexState::Current } else { IndexState::Behind })
    }

    /// The index that is there, if all of it can be read and it is of this version.
    fn open_present(folder: &Path) -> Option<Self> {
        let (schema, fields) = Fields::schema();
        let inner = tantivy::Index::open_in_dir(documents(folder)).ok()?;
        if inner.schema() != schema {
            return None;
        }
        let index = Self::ready(folder, inner, fields).ok()?;
        match index.inner.load_metas().ok()?.payload {
            Some(payload) => Mark::parse(&payload).map(|_| index),
            None => Some(index),
        }
    }

    fn make(folder: &Path) -> Result<Self, SearchError> {
        let path = documents(folder);
        let cleared = if path.is_dir() { fs::remove_dir_all(&path) } else { fs::remove_file(&path) };
        match cleared {
            Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
                return Err(failed(&path, source));
            }
            _ => (),
        }
        fs::create_dir_all(&path).map_err(|source| failed(&path, source))?;
        let (schema, fields) = Fields::schema();
        Self::ready(folder, tantivy::Index::create_in_dir(&path, schema)?, fields)
    }

    fn ready(folder: &Path, inner: tantivy::Index, fields: Fields) -> Result<Self, SearchError> {
        inner.tokenizers().register(analyse::NAME, analyse::analyser());
        let reader = inner.reader_builder().reload_policy(ReloadPolicy::Manual).try_into()?;
        Ok(Self { folder: folder.to_owned(), inner, reader, fields })
    }

    /// Brings the index to where the log stands. Does nothing when it is there already.
    ///
    /// `book` holds the records as read from the same database before; where the log has moved on since, they are
    /// read again. One follower writes at a time: another waits, in this process or another.
    ///
    /// # Errors
    /// [`SearchError`]; the index then shows what it showed before, or is empty.
    pub fn follow(&mut self, reader: &Reader, book: &Book) -> Result<Followed, SearchError> {
        if let Some(followed) = self.there_already(reader)? {
            return Ok(followed);
        }
        let _lock = lock(&self.folder)?;
        if let Some(followed) = self.there_already(reader)? {
            return Ok(followed);
        }
        match self.bring(reader, book) {
            // Damage that opening did not find.
            Err(SearchError::Index { .. }) => {
                *self = Self::make(&self.folder)?;
                self.bring(reader, book)
            }
            followed => followed,
        }
    }

    fn there_already(&mut self, reader: &Reader) -> Result<Option<Followed>, SearchError> {
        self.reader.reload()?;
        let now = Standing::read(reader)?;
        let mark = self.mark()?;
        let there = mark.is_some_and(|mark| mark == Mark::new(&now));
        Ok(there.then_some(Followed { last: now.position.last, written: 0, whole: false }))
    }

    fn mark(&self) -> Result<Option<Mark>, SearchError> {
        Ok(self.inner.load_metas()?.payload.as_deref().and_then(Mark::parse))
    }

    fn bring(&mut self, reader: &Reader, book: &Book) -> Result<Followed, SearchError> {
        let now = Standing::read(reader)?;
        let touched = match self.mark()? {
            Some(mark) => touched_since(&mark, &now, reader)?,
            None => None,
        };
        let current = match &touched {
            Some(touched) => document::agrees(book, &rows(reader, touched)?),
            // Nothing tells how old the book is.
            None => false,
        };
        let read_again;
        let shelf = if current {
            Shelf::new(book)
        } else {
            read_again = reader.book()?;
            Shelf::new(&read_again)
        };
        let mark = Mark::new(&now);
        let written = match &touched {
            Some(touched) => self.write_touched(&shelf, touched.iter().map(|(_, id)| *id), &mark)?,
            None => self.write_all(&shelf, &mark)?,
        };
        Ok(Followed { last: now.position.last, written, whole: touched.is_none() })
    }

    fn write_all(&self, shelf: &Shelf<'_>, mark: &Mark) -> Result<usize, SearchError> {
        self.write(mark, |writer| {
            writer.delete_all_documents()?;
            let mut written = 0;
            for document in document::all(shelf) {
                writer.add_document(self.fields.written(&document))?;
                written += 1;
            }
            Ok(written)
        })
    }

    fn write_touched(
        &self,
        shelf: &Shelf<'_>,
        touched: impl Iterator<Item = RecordId>,
        mark: &Mark,
    ) -> Result<usize, SearchError> {
        let touched: BTreeSet<RecordId> = touched.collect();
        let mut records = self.records_that_show(&touched)?;
        records.extend(touched.iter().flat_map(|id| document::owners(shelf, *id)));
        records.extend(touched);
        self.write(mark, |writer| {
            let mut written = 0;
            for record in &records {
                writer.delete_term(Term::from_field_text(self.fields.record, &record.to_string()));
                for document in document::of(shelf, *record) {
                    writer.add_document(self.fields.written(&document))?;
                    written += 1;
                }
            }
            Ok(written)
        })
    }

    /// Writes, and commits together with where the log stood.
    fn write(
        &self,
        mark: &Mark,
        fill: impl FnOnce(&tantivy::IndexWriter) -> tantivy::Result<usize>,
    ) -> Result<usize, SearchError> {
        let mut writer = self.inner.writer_with_num_threads(1, WRITER_BYTES)?;
        let written = fill(&writer)?;
        let mut commit = writer.prepare_commit()?;
        commit.set_payload(&mark.print());
        commit.commit()?;
        writer.wait_merging_threads()?;
        self.reader.reload()?;
        Ok(written)
    }

    /// Records whose documents, as they stand in the index, drew on one of these.
    fn records_that_show(&self, ids: &BTreeSet<RecordId>) -> Result<BTreeSet<RecordId>, SearchError> {
        let terms = ids.iter().map(|id| Term::from_field_text(self.fields.shows, &id.to_string()));
        let searcher = self.searcher();
        let found = searcher.search(&TermSetQuery::new(terms), &DocSetCollector)?;
        found.into_iter().map(|at| self.record_of(&searcher.doc(at)?)).collect()
    }

    pub(crate) fn record_of(&self, document: &TantivyDocument) -> Result<RecordId, SearchError> {
        let text = document.get_first(self.fields.record).and_then(|value| value.as_str());
        text.and_then(|text| text.parse().ok()).ok_or(SearchError::Unreadable)
    }

    pub(crate) fn searcher(&self) -> tantivy::Searcher {
        self.reader.searcher()
    }
}

/// Tantivy's files have a folder of their own, so that making them anew deletes nothing else.
fn documents(folder: &Path) -> PathBuf {
    folder.join("documents")
}

/// Waits until no other follower writes; the lock ends with the file.
fn lock(folder: &Path) -> Result<File, SearchError> {
    let path = folder.join("lock");
    let file = File::create(&path).map_err(|source| failed(&path, source))?;
    file.lock().map_err(|source| failed(&path, source))?;
    Ok(file)
}

fn failed(path: &Path, source: std::io::Error) -> SearchError {
    SearchError::Folder { path: path.to_owned(), source }
}

/// The rows of these records as the tables hold them now.
fn rows(reader: &Reader, touched: &BTreeSet<(&'static str, RecordId)>) -> Result<Book, SearchError> {
    let mut book = Book::default();
    for (kind, id) in touched {
        let kind = KindSpec::find(kind).expect("only kinds known here are noted as touched");
        if let Some(row) = reader.row(kind, *id)? {
            book.insert(row);
        }
    }
    Ok(book)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_numbers_in_the_order_of_the_calendar() {
        assert_eq!(day_number("2025-03-04"), 20_250_304);
        assert_eq!(day_number("no day"), 0);
    }
}
