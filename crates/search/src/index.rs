//! Opening the folder of the index and following the log.
//!
//! Beside its documents the index on disk keeps where the log stood when they were written. What changed since is
//! looked up in the log, and every document that shows a changed record is made anew, in memory: it is found at once,
//! and masks the one on disk. Now and then what is in memory is put on disk ([`Index::settle`]). A crash loses what is
//! in memory, which the log still holds. After anything else (another database, tables that changed without a new change
//! in the log, an index that is damaged or of another version) all of it is made anew beside the old one
//! ([`Index::rebuild`]), which answers until then.
//!
//! Of two locks, the one on the folder (one writes, in all processes) is always taken before the one on the follower.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use storypole_journal::RecordId;
use storypole_notebook::{Book, KindSpec};
use storypole_store::Reader;
use tantivy::{DocId, Term};

use crate::SearchError;
use crate::columns::Sites;
use crate::document::{self, Agreement, Shelf};
use crate::mark::{MOST_CHANGES, Mark, Payload, Standing, touched_since};
use crate::pending::Pending;
use crate::view::{Part, View, each_with};

pub(crate) mod fields;
mod folder;
mod main_part;

use main_part::{Batch, Look, MainPart};

/// With more records than that in memory it is time to [`Index::settle`]: each following takes longer with each of them
/// (measured here: a tenth of a millisecond for each, beside three for the first).
const MANY_PENDING: usize = 200;

/// The index of one notebook on this device. Any number of threads search and follow.
pub struct Index {
    folder: PathBuf,
    follower: Mutex<Follower>,
    view: RwLock<Arc<View>>,
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
    /// How many records wait in memory.
    pub pending: usize,
    /// Whether the index can only answer as it did before, until it is made anew: call [`Index::rebuild`].
    pub needs_rebuild: bool,
}

impl Followed {
    /// Whether it is time to call [`Index::settle`].
    pub fn should_settle(&self) -> bool {
        self.pending > MANY_PENDING
    }
}

/// What to do when the index has to be made anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Patience {
    /// Make it anew now.
    Wait,
    /// Leave the old answers and say so.
    Answer,
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
    /// It cannot be read, or is of another version: it is to be made anew.
    Unreadable,
}

impl Index {
    /// Opens the index in a folder. One that is damaged, foreign or absent is no error: it is empty until it is made
    /// anew. One of an older version answers until then, where its documents can still be read.
    ///
    /// # Errors
    /// [`SearchError::Folder`] when the folder cannot be made.
    pub fn open(folder: &Path) -> Result<Self, SearchError> {
        fs::create_dir_all(folder).map_err(|source| folder::failed(folder, source))?;
        let mut follower = Follower::open(folder)?;
        let view = RwLock::new(Arc::new(follower.view()?));
        Ok(Self { folder: folder.to_owned(), follower: Mutex::new(follower), view })
    }

    /// Looks how the index in a folder stands to the log, and changes nothing.
    ///
    /// # Errors
    /// The log cannot be read.
    pub fn state(folder: &Path, reader: &Reader) -> Result<IndexState, SearchError> {
        if !folder::has_any(folder) {
            return Ok(IndexState::Absent);
        }
        Follower::open(folder)?.state(reader)
    }

    /// How the index stands to the log.
    ///
    /// # Errors
    /// The log cannot be read.
    pub fn standing(&self, reader: &Reader) -> Result<IndexState, SearchError> {
        self.follower().state(reader)
    }

    /// The state of the index that is to be searched now.
    pub fn view(&self) -> Arc<View> {
        Arc::clone(&self.view.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// Brings the index to where the log stands, in memory. Does nothing when it is there already.
    ///
    /// `book` holds the records as read from the same database before; where the log has moved on since, they are
    /// read again. With [`Patience::Wait`] it also makes the index anew, or puts it on disk, when that is due.
    ///
    /// # Errors
    /// [`SearchError`]; the index then shows what it showed before.
    pub fn follow(&self, reader: &Reader, book: &Book, patience: Patience) -> Result<Followed, SearchError> {
        let followed = match self.try_follow(reader, book) {
            // Damage that opening did not find.
            Err(SearchError::Index { .. } | SearchError::Unreadable) => {
                self.distrust();
                None
            }
            followed => followed?,
        };
        match (followed, patience) {
            (None, Patience::Wait) => self.rebuild(reader, &|_, _| ()),
            (None, Patience::Answer) => Ok(self.follower().left(true)),
            (Some(followed), Patience::Wait) if followed.should_settle() => {
                self.settle()?;
                Ok(Followed { pending: 0, ..followed })
            }
            (Some(followed), _) => Ok(followed),
        }
    }

    /// Puts what is in memory on disk. Following and searching go on meanwhile.
    ///
    /// # Errors
    /// [`SearchError`]; what is in memory stays there.
    pub fn settle(&self) -> Result<(), SearchError> {
        let _lock = folder::lock(&self.folder)?;
        let Some((main, batch, turn)) = self.freeze()? else { return Ok(()) };
        let settled = main.commit(&self.folder, batch).inspect_err(|error| {
            if matches!(error, SearchError::Index { .. } | SearchError::Unreadable) {
                self.distrust();
            }
        })?;
        let mut follower = self.follower();
        follower.pending.let_go(turn);
        follower.put_main(settled)?;
        self.show(&mut follower)
    }

    /// Makes the index anew beside the old one, which answers until it is swapped. Only follows when someone else has made
    /// it anew between the call and its turn. `progress` hears how many documents are done, and of how
    /// many.
    ///
    /// # Errors
    /// [`SearchError`]; the old index stays.
    pub fn rebuild(&self, reader: &Reader, progress: &dyn Fn(usize, usize)) -> Result<Followed, SearchError> {
        let before = self.follower().main.number;
        let lock = folder::lock(&self.folder)?;
        if self.is_made_meanwhile(before, reader)? {
            drop(lock);
            if let Some(followed) = self.try_follow(reader, &reader.book()?)? {
                return Ok(followed);
            }
            return self.rebuild(reader, progress);
        }
        let now = Standing::read(reader)?;
        // Nothing tells how old a book is that was read before.
        let main = MainPart::make(&self.folder, &reader.book()?, Mark::new(&now), progress)?;
        folder::tidy(&self.folder, main.number);
        let mut follower = self.follower();
        let written = usize::try_from(main.searcher.num_docs()).unwrap_or(usize::MAX);
        follower.adopt(main)?;
        self.show(&mut follower)?;
        Ok(Followed { written, whole: true, ..follower.left(false) })
    }

    /// Notes that the index on disk was found damaged while it was searched: it is made anew at the next occasion.
    pub fn distrust(&self) {
        self.follower().is_distrusted = true;
    }

    /// Follows in memory; `None` when the index has to be made anew.
    fn try_follow(&self, reader: &Reader, book: &Book) -> Result<Option<Followed>, SearchError> {
        let mut follower = self.follower();
        let now = Standing::read(reader)?;
        let mark = Mark::new(&now);
        if follower.stands_at(&mark) {
            return Ok(Some(follower.left(false)));
        }
        let mut touched = follower.touched(&now, reader)?;
        if touched.is_none() && follower.reload(&self.folder)? {
            // Another process has made it anew, or put more on disk.
            self.show(&mut follower)?;
            touched = follower.touched(&now, reader)?;
        }
        let Some(touched) = touched else { return Ok(None) };
        let Some(written) = follower.take_in(&touched, reader, book)? else { return Ok(None) };
        follower.mark = Some(mark);
        self.show(&mut follower)?;
        Ok(Some(Followed { written, ..follower.left(false) }))
    }

    /// Whether there is an index of another number than `before`, and it can follow the log.
    fn is_made_meanwhile(&self, before: u64, reader: &Reader) -> Result<bool, SearchError> {
        let mut follower = self.follower();
        if follower.reload(&self.folder)? {
            self.show(&mut follower)?;
        }
        Ok(follower.main.number != before && follower.touched(&Standing::read(reader)?, reader)?.is_some())
    }

    /// What is to be put on disk now, upon which index, and the turn by which to let go of it then.
    fn freeze(&self) -> Result<Option<(MainPart, Batch, u64)>, SearchError> {
        let mut follower = self.follower();
        if follower.is_distrusted {
            return Ok(None);
        }
        if follower.reload(&self.folder)? {
            self.show(&mut follower)?;
        }
        let frozen = follower.freeze();
        Ok(frozen.map(|(batch, turn)| (follower.main.clone(), batch, turn)))
    }

    /// Lets the follower's state be searched from now on.
    fn show(&self, follower: &mut Follower) -> Result<(), SearchError> {
        let view = Arc::new(follower.view()?);
        *self.view.write().unwrap_or_else(PoisonError::into_inner) = view;
        Ok(())
    }

    fn follower(&self) -> MutexGuard<'_, Follower> {
        // What a panic may have left half done is made good at the next following: the mark is set last.
        self.follower.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The index on disk, what waits beside it, and where the log stands with both.
struct Follower {
    main: MainPart,
    /// Documents on disk that no longer count, by segment.
    masks: Vec<BTreeSet<DocId>>,
    pending: Pending,
    /// What waits, ready to be searched; `None` when it has to be made anew.
    memory: Option<Option<Part>>,
    sites: Sites,
    mark: Option<Mark>,
    is_distrusted: bool,
}

impl Follower {
    fn open(folder: &Path) -> Result<Self, SearchError> {
        let main =
            match folder::highest(folder).and_then(|number| MainPart::open(folder, number, Look::Close)) {
                Some(main) => main,
                None => MainPart::none()?,
            };
        let mut follower = Self {
            masks: Vec::new(),
            pending: Pending::default(),
            memory: None,
            sites: Sites::default(),
            mark: main.mark(),
            is_distrusted: false,
            main,
        };
        follower.put_main(follower.main.clone())?;
        Ok(follower)
    }

    fn state(&self, reader: &Reader) -> Result<IndexState, SearchError> {
        let Some(mark) = self.mark.filter(|_| !self.is_distrusted) else { return Ok(IndexState::Unreadable) };
        let is_current = mark == Mark::new(&Standing::read(reader)?);
        Ok(if is_current { IndexState::Current } else { IndexState::Behind })
    }

    fn stands_at(&self, mark: &Mark) -> bool {
        self.mark == Some(*mark) && !self.is_distrusted
    }

    /// What following leaves when it writes nothing.
    fn left(&self, needs_rebuild: bool) -> Followed {
        let last = self.mark.map_or(0, |mark| mark.last());
        Followed { last, written: 0, whole: false, pending: self.pending.len(), needs_rebuild }
    }

    /// What changed in the log since; `None` when everything may have, or the index cannot follow.
    fn touched(
        &self,
        now: &Standing,
        reader: &Reader,
    ) -> Result<Option<BTreeSet<(&'static str, RecordId)>>, SearchError> {
        match &self.mark {
            Some(mark) if !self.is_distrusted => touched_since(mark, now, reader),
            _ => Ok(None),
        }
    }

    /// Makes the documents anew that show a touched record, and says how many were written; `None` when there are too
    /// many for memory.
    fn take_in(
        &mut self,
        touched: &BTreeSet<(&'static str, RecordId)>,
        reader: &Reader,
        book: &Book,
    ) -> Result<Option<usize>, SearchError> {
        let fresh = rows(reader, touched)?;
        let newer;
        let book = match document::agreement(book, &fresh) {
            Agreement::All => book,
            Agreement::Some => {
                newer = document::patched(book, &fresh);
                &newer
            }
            Agreement::None => {
                newer = reader.book()?;
                &newer
            }
        };
        let shelf = Shelf::new(book);
        let touched: BTreeSet<RecordId> = touched.iter().map(|(_, id)| *id).collect();
        let mut records = self.that_show(&touched)?;
        records.extend(touched.iter().flat_map(|id| document::owners(&shelf, *id)));
        records.extend(touched);
        if records.len() > MOST_CHANGES {
            return Ok(None);
        }
        let mut written = 0;
        for record in records {
            let document = document::of(&shelf, record);
            written += usize::from(document.is_some());
            self.put(record, document)?;
        }
        Ok(Some(written))
    }

    /// Records whose documents, as they are found now, drew on one of these.
    fn that_show(&self, ids: &BTreeSet<RecordId>) -> Result<BTreeSet<RecordId>, SearchError> {
        let mut found: BTreeSet<RecordId> = self.pending.that_show(ids).collect();
        for (columns, segment) in self.main.columns.iter().zip(self.main.searcher.segment_readers()) {
            for id in ids {
                let term = Term::from_field_bytes(self.main.fields.shows, id.as_bytes());
                each_with(segment, &term, |document| {
                    let record = columns.record(document);
                    // A document that waits says itself what it shows.
                    if !self.pending.has(record) {
                        found.insert(record);
                    }
                })?;
            }
        }
        Ok(found)
    }

    fn put(&mut self, record: RecordId, document: Option<document::Document>) -> Result<(), SearchError> {
        let is_known = self.pending.has(record);
        if !is_known && !self.mask(record)? && document.is_none() {
            // Nothing on disk, and nothing now.
            return Ok(());
        }
        self.memory = None;
        self.pending.put(record, document);
        Ok(())
    }

    /// Masks the document of a record on disk, and says whether there is one.
    fn mask(&mut self, record: RecordId) -> Result<bool, SearchError> {
        let term = Term::from_field_bytes(self.main.fields.record, record.as_bytes());
        let mut is_there = false;
        for (mask, segment) in self.masks.iter_mut().zip(self.main.searcher.segment_readers()) {
            each_with(segment, &term, |document| {
                mask.insert(document);
                is_there = true;
            })?;
        }
        Ok(is_there)
    }

    /// Looks whether someone else has written, and takes that over; says whether there was anything.
    fn reload(&mut self, folder: &Path) -> Result<bool, SearchError> {
        let Some(number) = folder::highest(folder) else { return Ok(false) };
        let is_same = number == self.main.number;
        if number < self.main.number || (is_same && self.main.payload_on_disk() == self.main.payload) {
            return Ok(false);
        }
        // Damage under the same number does not go away by being looked at again.
        if is_same && self.is_distrusted {
            return Ok(false);
        }
        let Some(main) = MainPart::open(folder, number, Look::Close) else { return Ok(false) };
        self.adopt(main)?;
        Ok(true)
    }

    /// Goes on from another index. What waits is kept where that index is not yet as far: it covers everything since.
    fn adopt(&mut self, main: MainPart) -> Result<(), SearchError> {
        let is_further = match (self.mark, main.mark()) {
            (Some(ours), Some(theirs)) => ours.continues(&theirs),
            _ => false,
        };
        if !is_further {
            self.pending = Pending::default();
            self.mark = main.mark();
        }
        self.is_distrusted = false;
        self.sites = Sites::default();
        self.put_main(main)
    }

    /// Puts an index in the place of the one on disk, and masks in it what waits.
    fn put_main(&mut self, main: MainPart) -> Result<(), SearchError> {
        self.masks = vec![BTreeSet::new(); main.columns.len()];
        let known = main.payload.as_ref().map_or(&[][..], |payload| &payload.sites);
        if !self.sites.ids().starts_with(known) || self.sites.ids().is_empty() {
            self.sites = Sites::new(known.to_vec());
        }
        self.main = main;
        self.memory = None;
        for record in self.pending.records().collect::<Vec<_>>() {
            self.mask(record)?;
        }
        Ok(())
    }

    /// Everything that waits, as it is to be put on disk; `None` when there is nothing to put, or nowhere.
    fn freeze(&self) -> Option<(Batch, u64)> {
        let (mark, main_mark) = (self.mark?, self.main.mark()?);
        if mark == main_mark {
            return None;
        }
        let (changed, turn) = self.pending.frozen();
        let masked: usize = self.masks.iter().map(BTreeSet::len).sum();
        let count = self.main.searcher.num_docs() + self.pending.document_count() as u64 - masked as u64;
        let payload = Payload { mark, count, sites: self.sites.ids().to_vec() };
        Some((Batch { changed, payload }, turn))
    }

    /// The state that is to be searched.
    fn view(&mut self) -> Result<View, SearchError> {
        let memory = match &self.memory {
            Some(memory) => memory.clone(),
            None => self.pending.index(&self.main.fields, &mut self.sites)?,
        };
        self.memory = Some(memory.clone());
        let main = Part::masked(self.main.searcher.clone(), &self.main.columns, &self.masks);
        let sites = Arc::from(self.sites.ids());
        Ok(View { fields: self.main.fields, main, memory, sites, mark: self.mark })
    }
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
