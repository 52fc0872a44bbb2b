//! One state of the index, to be searched while the index moves on: what is on disk, what changed since, and which
//! documents on disk that masks.
//!
//! Leaves out how a view comes about (`index`) and how it is searched (`scan`).

use std::collections::BTreeSet;
use std::sync::Arc;

use storypole_journal::RecordId;
use storypole_store::read::Position;
use tantivy::columnar::{Cardinality, ColumnValues};
use tantivy::schema::{Field, IndexRecordOption, Value};
use tantivy::{DocAddress, DocId, DocSet, Searcher, SegmentReader, TERMINATED, TantivyDocument, Term};

use crate::SearchError;
use crate::columns::Columns;
use crate::index::fields::{Fields, KEY, MADE, PLACE};
use crate::mark::Mark;
use crate::statistics::Sums;

/// One state of the index. It answers the same as long as it is held, whatever is written meanwhile.
pub struct View {
    pub(crate) fields: Fields,
    /// What is on disk.
    pub(crate) main: Part,
    /// What changed since.
    pub(crate) memory: Option<Part>,
    /// The sites by number.
    pub(crate) sites: Arc<[RecordId]>,
    pub(crate) mark: Option<Mark>,
}

/// Where a document stands in a view; it means nothing in another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct At {
    pub(crate) part: WhichPart,
    pub(crate) segment: u32,
    pub(crate) document: DocId,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum WhichPart {
    Main,
    Memory,
}

/// What the index keeps of a document, to show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// The record.
    pub record: RecordId,
    /// Its kind.
    pub kind: String,
    /// Label and name, title or question.
    pub title: String,
    /// What else it says, part by part.
    pub texts: Vec<String>,
    /// Label of its site.
    pub site: Option<String>,
    /// Label of its job.
    pub job: Option<String>,
    /// Its day, `2025-03-04`.
    pub date: Option<String>,
}

impl View {
    /// Number of the last change it knows of; `None` for an index that is of no use yet, or of an older version.
    pub fn last(&self) -> Option<i64> {
        Some(self.mark?.last())
    }

    /// Whether it shows all that stood in the log at `position`.
    pub fn reaches(&self, position: &Position) -> bool {
        self.mark.is_some_and(|mark| mark.reaches(position))
    }

    /// How many documents there are.
    pub fn count(&self) -> u64 {
        self.parts().map(|(_, part)| part.count()).sum()
    }

    /// How many documents have a word, as the analyser reads it; those that were replaced lately may count twice.
    ///
    /// # Errors
    /// The index is damaged.
    pub fn doc_count_of(&self, word: &str) -> Result<u64, SearchError> {
        let term = Term::from_field_text(self.fields.words, word);
        Ok(tantivy::query::Bm25StatisticsProvider::doc_freq(&self.statistics(), &term)?)
    }

    /// Whether any document has these words next to each other; documents that were replaced lately count too.
    ///
    /// # Errors
    /// The index is damaged.
    pub(crate) fn has(&self, sequence: &[String]) -> Result<bool, SearchError> {
        for word in sequence {
            if self.doc_count_of(word)? == 0 {
                return Ok(false);
            }
        }
        Ok(!sequence.is_empty())
    }

    /// The field of words as they are spelt, for looking up what is spelt alike or begins alike.
    pub(crate) fn said_field(&self) -> Field {
        self.fields.said
    }

    /// The site of a number that columns tell.
    pub(crate) fn site(&self, number: u64) -> Option<RecordId> {
        let number = usize::try_from(number).ok()?;
        self.sites.get(number.checked_sub(1)?).copied()
    }

    /// The record of a document.
    pub fn record(&self, at: At) -> RecordId {
        self.columns_at(at).record(at.document)
    }

    /// The time a document's record was made, as the first half of its id; it grows with time.
    pub fn made(&self, at: At) -> u64 {
        self.columns_at(at).made.get_val(at.document)
    }

    /// Kind, site and day of a document.
    pub fn columns(&self, at: At) -> Columns<'_> {
        Columns::new(self.columns_at(at).place.get_val(at.document), &self.sites)
    }

    /// Reads what is kept of a document, to show it.
    ///
    /// # Errors
    /// The index is damaged.
    pub fn document(&self, at: At) -> Result<Stored, SearchError> {
        let searcher = &self.part(at.part).searcher;
        let document: TantivyDocument = searcher.doc(DocAddress::new(at.segment, at.document))?;
        let all =
            |field: Field| document.get_all(field).filter_map(|value| value.as_str()).map(str::to_owned);
        let one = |field: Field| all(field).next();
        Ok(Stored {
            record: self.record(at),
            kind: one(self.fields.kind).ok_or(SearchError::Unreadable)?,
            title: one(self.fields.title).ok_or(SearchError::Unreadable)?,
            texts: all(self.fields.body).collect(),
            site: one(self.fields.site),
            job: one(self.fields.job),
            date: one(self.fields.date),
        })
    }

    /// The searchers of its parts, for who looks into their dictionaries.
    pub(crate) fn searchers(&self) -> Vec<&Searcher> {
        self.parts().map(|(_, part)| &part.searcher).collect()
    }

    pub(crate) fn statistics(&self) -> Sums<'_> {
        Sums(self.searchers())
    }

    pub(crate) fn parts(&self) -> impl Iterator<Item = (WhichPart, &Part)> {
        [(WhichPart::Main, &self.main)]
            .into_iter()
            .chain(self.memory.iter().map(|part| (WhichPart::Memory, part)))
    }

    fn part(&self, which: WhichPart) -> &Part {
        match (which, &self.memory) {
            (WhichPart::Memory, Some(memory)) => memory,
            _ => &self.main,
        }
    }

    fn columns_at(&self, at: At) -> &SegmentColumns {
        &self.part(at.part).segments[at.segment as usize].columns
    }
}

/// One of the two parts of a view.
#[derive(Clone)]
pub(crate) struct Part {
    pub(crate) searcher: Searcher,
    pub(crate) segments: Vec<Segment>,
}

#[derive(Clone)]
pub(crate) struct Segment {
    pub(crate) columns: Arc<SegmentColumns>,
    /// Documents that another part replaces, in order.
    pub(crate) masked: Arc<[DocId]>,
}

impl Part {
    /// A part none of whose documents is masked.
    pub(crate) fn new(searcher: Searcher) -> Result<Self, SearchError> {
        let columns = SegmentColumns::of(&searcher)?;
        Ok(Self::masked(searcher, &columns, &[]))
    }

    /// A part with some documents masked, by segment.
    pub(crate) fn masked(
        searcher: Searcher,
        columns: &[Arc<SegmentColumns>],
        masks: &[BTreeSet<DocId>],
    ) -> Self {
        let masks =
            masks.iter().map(|mask| mask.iter().copied().collect()).chain(std::iter::repeat(Arc::from([])));
        let segments = columns.iter().cloned().zip(masks);
        Self { searcher, segments: segments.map(|(columns, masked)| Segment { columns, masked }).collect() }
    }

    fn count(&self) -> u64 {
        let masked: usize = self.segments.iter().map(|segment| segment.masked.len()).sum();
        self.searcher.num_docs().saturating_sub(masked as u64)
    }
}

/// The columns of one segment, opened once.
pub(crate) struct SegmentColumns {
    pub(crate) place: Arc<dyn ColumnValues<u64>>,
    made: Arc<dyn ColumnValues<u64>>,
    key: Arc<dyn ColumnValues<u64>>,
}

impl SegmentColumns {
    /// The columns of every segment.
    pub(crate) fn of(searcher: &Searcher) -> Result<Vec<Arc<Self>>, SearchError> {
        searcher.segment_readers().iter().map(|segment| Ok(Arc::new(Self::open(segment)?))).collect()
    }

    fn open(segment: &SegmentReader) -> Result<Self, SearchError> {
        let column = |name| {
            let column = segment.fast_fields().u64(name)?;
            // Every document has a value, so that values stand where documents do.
            let is_full = column.get_cardinality() == Cardinality::Full
                && column.values.num_vals() == segment.max_doc();
            if is_full { Ok(column.values) } else { Err(SearchError::Unreadable) }
        };
        Ok(Self { place: column(PLACE)?, made: column(MADE)?, key: column(KEY)? })
    }

    pub(crate) fn record(&self, document: DocId) -> RecordId {
        let halves = [&self.made, &self.key].map(|column| column.get_val(document).to_be_bytes());
        let mut id = [0; 16];
        id.copy_from_slice(halves.as_flattened());
        RecordId::from_bytes(id)
    }
}

/// Calls with every document of a segment that has a term and is not deleted, in order.
pub(crate) fn each_with(
    segment: &SegmentReader,
    term: &Term,
    mut each: impl FnMut(DocId),
) -> tantivy::Result<()> {
    let index = segment.inverted_index(term.field())?;
    let Some(mut postings) = index.read_postings(term, IndexRecordOption::Basic)? else { return Ok(()) };
    while postings.doc() != TERMINATED {
        if !segment.is_deleted(postings.doc()) {
            each(postings.doc());
        }
        postings.advance();
    }
    Ok(())
}
