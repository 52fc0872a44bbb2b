//! Records that changed since the index was put on disk, with their documents as they are now.
//!
//! Their documents on disk no longer count: they are masked. Leaves out how the documents are searched: see `view`.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use storypole_journal::RecordId;
use tantivy::directory::RamDirectory;
use tantivy::index::{IndexBuilder, IndexSettings};
use tantivy::tokenizer::TokenizerManager;
use tantivy::{ReloadPolicy, SingleSegmentIndexWriter};

use crate::columns::Sites;
use crate::document::Document;
use crate::index::fields::Fields;
use crate::view::Part;
use crate::{SearchError, analyse};

/// Records that changed, with their documents as they are now, if they have one.
pub(crate) type Changed = Vec<(RecordId, Option<Arc<Document>>)>;

/// Documents that wait for being put on disk.
#[derive(Default)]
pub(crate) struct Pending {
    waiting: BTreeMap<RecordId, Waiting>,
    /// Grows with every change.
    turn: u64,
}

struct Waiting {
    /// The turn at which it came.
    turn: u64,
    /// Its document; `None` when it has none any more.
    document: Option<Arc<Document>>,
}

impl Pending {
    pub(crate) fn len(&self) -> usize {
        self.waiting.len()
    }

    pub(crate) fn put(&mut self, record: RecordId, document: Option<Document>) {
        self.turn += 1;
        let document = document.map(Arc::new);
        self.waiting.insert(record, Waiting { turn: self.turn, document });
    }

    /// The records that wait.
    pub(crate) fn records(&self) -> impl Iterator<Item = RecordId> {
        self.waiting.keys().copied()
    }

    /// Whether a record waits.
    pub(crate) fn has(&self, record: RecordId) -> bool {
        self.waiting.contains_key(&record)
    }

    /// How many of them have a document.
    pub(crate) fn document_count(&self) -> usize {
        self.documents().count()
    }

    /// Waiting records whose documents draw on one of these.
    pub(crate) fn that_show(&self, ids: &BTreeSet<RecordId>) -> impl Iterator<Item = RecordId> {
        let documents = self.documents().filter(|document| !document.shows.is_disjoint(ids));
        documents.map(|document| document.record)
    }

    fn documents(&self) -> impl Iterator<Item = &Arc<Document>> {
        self.waiting.values().filter_map(|waiting| waiting.document.as_ref())
    }

    /// Everything that waits now, and the turn by which to let go of it once it is on disk.
    pub(crate) fn frozen(&self) -> (Changed, u64) {
        let all = self.waiting.iter().map(|(record, waiting)| (*record, waiting.document.clone()));
        (all.collect(), self.turn)
    }

    /// Lets go of what has not changed again since a turn.
    pub(crate) fn let_go(&mut self, turn: u64) {
        self.waiting.retain(|_, waiting| waiting.turn > turn);
    }

    /// The documents as an index in memory, in one piece and without threads; `None` without documents.
    pub(crate) fn index(&self, fields: &Fields, sites: &mut Sites) -> Result<Option<Part>, SearchError> {
        if self.document_count() == 0 {
            return Ok(None);
        }
        let (schema, _) = Fields::schema();
        let settings =
            IndexSettings { docstore_compress_dedicated_thread: false, ..IndexSettings::default() };
        let index = IndexBuilder::new().schema(schema).settings(settings);
        let mut writer: SingleSegmentIndexWriter = index
            .tokenizers(tokenizers())
            .single_segment_index_writer(RamDirectory::create(), MEMORY_BYTES)?;
        for document in self.documents() {
            writer.add_document(fields.written(document, sites))?;
        }
        let reader: tantivy::IndexReader =
            writer.finalize()?.reader_builder().reload_policy(ReloadPolicy::Manual).try_into()?;
        Ok(Some(Part::new(reader.searcher())?))
    }
}

fn tokenizers() -> TokenizerManager {
    let tokenizers = TokenizerManager::default();
    tokenizers.register(analyse::NAME, analyse::analyser());
    tokenizers
}

/// Decides how large a table of words tantivy begins with, bytes.
const MEMORY_BYTES: usize = 1_000_000;
