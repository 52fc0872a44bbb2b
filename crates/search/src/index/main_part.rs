//! The part of the index that lies on disk: opening it with a look at every byte, writing it whole, and bringing it up
//! to date. Leaves out when that is done: see `index`.

use std::path::Path;
use std::sync::Arc;

use storypole_notebook::Book;
use tantivy::index::IndexSettings;
use tantivy::merge_policy::{LogMergePolicy, NoMergePolicy};
use tantivy::{IndexWriter, ReloadPolicy, Searcher, TantivyDocument, Term};

use super::fields::Fields;
use super::folder;
use crate::columns::Sites;
use crate::document::{self, Shelf};
use crate::mark::{Mark, Payload, Version};
use crate::pending::Changed;
use crate::view::SegmentColumns;
use crate::{SearchError, analyse};

/// Memory for documents not yet written, bytes a thread: little more than the least that tantivy takes for what
/// changes now and then, more for all of them at once.
const FEW_BYTES: usize = 16_000_000;
const ALL_BYTES: usize = 48_000_000;

/// How many threads write all documents: one reads records meanwhile, and searches go on.
const THREADS: usize = 2;

/// A segment with a larger share of replaced documents is written anew when something is committed (convention of this
/// project).
const MOST_REPLACED: f32 = 0.2;

/// An open index on disk, as it was committed once.
#[derive(Clone)]
pub(super) struct MainPart {
    /// Of its folder; 0 when there is none.
    pub(super) number: u64,
    index: tantivy::Index,
    pub(super) fields: Fields,
    pub(super) searcher: Searcher,
    pub(super) columns: Vec<Arc<SegmentColumns>>,
    /// What it was committed with; `None` for none, and for one of an older version, which can only answer.
    pub(super) payload: Option<Payload>,
}

/// How closely an index is looked at when it is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    /// Every byte: someone else may have written it, or something may have damaged it.
    Close,
    /// It was written here, just now.
    Quick,
}

impl MainPart {
    /// One without documents, that lies nowhere.
    pub(super) fn none() -> Result<Self, SearchError> {
        let (schema, fields) = Fields::schema();
        Self::ready(tantivy::Index::create_in_ram(schema), fields, 0)
    }

    /// The index of this number, if all of it can be read and its documents have the fields of this version.
    pub(super) fn open(folder: &Path, number: u64, look: Look) -> Option<Self> {
        let (schema, fields) = Fields::schema();
        let index = tantivy::Index::open_in_dir(folder::documents(folder, number)).ok()?;
        if index.schema() != schema || *index.settings() != IndexSettings::default() {
            return None;
        }
        if look == Look::Close && !index.validate_checksum().is_ok_and(|damaged| damaged.is_empty()) {
            return None;
        }
        let version = Payload::read(index.load_metas().ok()?.payload.as_deref()?)?;
        let mut main = Self::ready(index, fields, number).ok()?;
        if let Version::This(payload) = version {
            main.payload = Some(payload);
        }
        let is_whole = main.payload.as_ref().is_none_or(|payload| payload.count == main.searcher.num_docs());
        is_whole.then_some(main)
    }

    fn ready(index: tantivy::Index, fields: Fields, number: u64) -> Result<Self, SearchError> {
        index.tokenizers().register(analyse::NAME, analyse::analyser());
        let reader: tantivy::IndexReader =
            index.reader_builder().reload_policy(ReloadPolicy::Manual).try_into()?;
        let searcher = reader.searcher();
        let columns = SegmentColumns::of(&searcher)?;
        Ok(Self { number, index, fields, searcher, columns, payload: None })
    }

    /// The payload that lies on disk now under the same number.
    pub(super) fn payload_on_disk(&self) -> Option<Payload> {
        match Payload::read(self.index.load_metas().ok()?.payload.as_deref()?)? {
            Version::This(payload) => Some(payload),
            Version::Other => None,
        }
    }

    /// Where the log stood when it was committed.
    pub(super) fn mark(&self) -> Option<Mark> {
        self.payload.as_ref().map(|payload| payload.mark)
    }

    /// Makes an index of every document of a book and lets it count. Call it while holding the lock.
    pub(super) fn make(
        folder: &Path,
        book: &Book,
        mark: Mark,
        progress: &dyn Fn(usize, usize),
    ) -> Result<Self, SearchError> {
        let building = folder::begin(folder)?;
        let (schema, fields) = Fields::schema();
        let index = tantivy::Index::create_in_dir(&building, schema)?;
        index.tokenizers().register(analyse::NAME, analyse::analyser());
        let mut writer = index.writer_with_num_threads(THREADS, THREADS * ALL_BYTES)?;
        // Segments are joined once, below. A policy of its own would join some of them at the same time, and take them away from
        // under it: seen with a million documents.
        writer.set_merge_policy(Box::new(NoMergePolicy));
        let (count, sites) = fill(&mut writer, &fields, book, progress)?;
        commit(&mut writer, &Payload { mark, count, sites: sites.ids().to_vec() })?;
        join_segments(&index, &mut writer)?;
        writer.wait_merging_threads()?;
        drop(index);
        let number = folder::complete(folder, &building)?;
        Self::open(folder, number, Look::Quick).ok_or(SearchError::Unreadable)
    }

    /// Puts what changed on disk and opens the outcome. Call it while holding the lock.
    pub(super) fn commit(&self, folder: &Path, batch: Batch) -> Result<Self, SearchError> {
        let mut sites = Sites::new(batch.payload.sites.clone());
        let mut writer: IndexWriter = self.index.writer_with_num_threads(1, FEW_BYTES)?;
        let mut policy = LogMergePolicy::default();
        policy.set_del_docs_ratio_before_merge(MOST_REPLACED);
        writer.set_merge_policy(Box::new(policy));
        for (record, document) in &batch.changed {
            writer.delete_term(Term::from_field_bytes(self.fields.record, record.as_bytes()));
            if let Some(document) = document {
                writer.add_document(self.fields.written(document, &mut sites))?;
            }
        }
        commit(&mut writer, &batch.payload)?;
        writer.wait_merging_threads()?;
        Self::open(folder, self.number, Look::Quick).ok_or(SearchError::Unreadable)
    }
}

/// What is to be put on disk.
pub(super) struct Batch {
    /// Every record that changed, with its document as it is now, if it has one.
    pub(super) changed: Changed,
    pub(super) payload: Payload,
}

fn fill(
    writer: &mut IndexWriter,
    fields: &Fields,
    book: &Book,
    progress: &dyn Fn(usize, usize),
) -> Result<(u64, Sites), SearchError> {
    let shelf = Shelf::new(book);
    let all = document::count(&shelf);
    let mut sites = Sites::default();
    let mut done = 0;
    for document in document::all(&shelf) {
        let document: TantivyDocument = fields.written(&document, &mut sites);
        writer.add_document(document)?;
        done += 1;
        progress(done, all);
    }
    Ok((done as u64, sites))
}

fn commit(writer: &mut IndexWriter, payload: &Payload) -> Result<(), SearchError> {
    let mut commit = writer.prepare_commit()?;
    commit.set_payload(&payload.print());
    commit.commit()?;
    Ok(())
}

/// Joins all segments: a word is then looked up once.
fn join_segments(index: &tantivy::Index, writer: &mut IndexWriter) -> Result<(), SearchError> {
    let segments = index.searchable_segment_ids()?;
    if segments.len() > 1 {
        writer.merge(&segments).wait()?;
    }
    Ok(())
}
