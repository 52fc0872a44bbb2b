//! The open search index, kept for the next who searches, and the threads that put it on disk or make it anew.
//! Leaves out what is searched: see `search`.

use std::borrow::Cow;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use jiff::civil::Date;
use storypole_findings::Findings;
use storypole_notebook::Book;
use storypole_search::answer::Basis;
use storypole_search::facts::FactBook;
use storypole_search::vocabulary::{LineProblem, Vocabulary};
use storypole_search::{Index, Patience, SearchError, View};
use storypole_store::Reader;
use storypole_store::read::Position;

use crate::view::found::Looked;

/// Said while the index is made anew and answers come from what there was.
pub(crate) const MAKING: &str = "The search index is being made anew; until it is done some records may be missing or answered as they were.";

/// File of the notebook's folder with the crew's own words.
const OWN_WORDS: &str = "words.txt";

/// All that a question is answered from, of one state of the notebook.
pub(crate) struct Looking<'a> {
    pub(crate) view: &'a View,
    pub(crate) book: &'a Book,
    pub(crate) findings: &'a Findings<'a>,
    pub(crate) facts: &'a FactBook,
    pub(crate) own: &'a OwnWords,
}

/// The vocabulary with the crew's own words, and a sentence for each line of theirs that was left out.
pub(crate) type OwnWords = (Cow<'static, Vocabulary>, Vec<String>);

impl Looking<'_> {
    pub(crate) fn basis(&self, today: Date) -> Basis<'_, '_> {
        Basis {
            view: self.view,
            book: self.book,
            findings: self.findings,
            facts: self.facts,
            vocabulary: &self.own.0,
            today,
            currency: self.book.currency(),
        }
    }

    pub(crate) fn looked(&self) -> Looked<'_, '_> {
        Looked { book: self.book, findings: self.findings, facts: self.facts }
    }
}

/// The index in one folder: one follows the log at a time, any number search.
pub(crate) struct Finder {
    data: PathBuf,
    folder: PathBuf,
    open: Mutex<Option<Arc<Index>>>,
    /// Whether a thread puts the index on disk or makes it anew.
    is_busy: Arc<AtomicBool>,
    /// When such a thread failed last.
    failed: Arc<Mutex<Option<Instant>>>,
}

/// How long a question waits for the very first index.
const FIRST_WAIT: Duration = Duration::from_secs(3);

/// After a failure a thread is not begun again before so long: a full disk does not become free by trying.
const WAIT_AFTER_FAILURE: Duration = Duration::from_secs(30);

/// One thread's turn, given back when it ends, in whatever way.
struct Busy {
    is_busy: Arc<AtomicBool>,
    failed: Arc<Mutex<Option<Instant>>>,
}

impl Busy {
    fn begin(is_busy: &Arc<AtomicBool>, failed: &Arc<Mutex<Option<Instant>>>) -> Option<Self> {
        let last = *failed.lock().unwrap_or_else(PoisonError::into_inner);
        let waits = last.is_some_and(|at| at.elapsed() < WAIT_AFTER_FAILURE);
        let is_free = !waits && !is_busy.swap(true, Ordering::AcqRel);
        is_free.then(|| Self { is_busy: Arc::clone(is_busy), failed: Arc::clone(failed) })
    }

    fn fails(&self) {
        *self.failed.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        self.is_busy.store(false, Ordering::Release);
    }
}

impl Finder {
    pub(crate) fn new(data: PathBuf, folder: PathBuf) -> Self {
        Self { data, folder, open: Mutex::new(None), is_busy: Arc::default(), failed: Arc::default() }
    }

    /// The index at where the log stood when the book was read, or later. Where it has to be made anew and one does not wait, what it
    /// was, and a sentence about it.
    pub(crate) fn view(
        &self,
        at: &Position,
        book: &Book,
        patience: Patience,
        reader: impl Fn() -> Result<Reader, SearchError>,
    ) -> Result<(Arc<View>, Option<&'static str>), SearchError> {
        let index = self.index()?;
        let view = index.view();
        if view.reaches(at) && index.is_trusted() {
            return Ok((view, None));
        }
        let followed = index.follow(&reader()?, book, patience)?;
        if followed.needs_rebuild {
            self.beside(&index, reader, |index, reader| index.rebuild(reader, &|_, _| ()).map(drop))?;
            // Most notebooks are small: rather a moment late than an answer that says nothing.
            let begun = Instant::now();
            while view.last().is_none()
                && self.is_busy.load(Ordering::Acquire)
                && begun.elapsed() < FIRST_WAIT
            {
                std::thread::sleep(Duration::from_millis(10));
            }
            let view = index.view();
            let is_done = view.reaches(at) && index.is_trusted();
            return Ok((view, (!is_done).then_some(MAKING)));
        }
        // Who waits has it on disk already.
        if followed.should_settle() {
            self.beside(&index, reader, |index, _| index.settle())?;
        }
        Ok((index.view(), None))
    }

    /// Brings the index to where the log stands, on disk.
    pub(crate) fn settle(
        &self,
        at: &Position,
        book: &Book,
        reader: impl Fn() -> Result<Reader, SearchError>,
    ) -> Result<(), SearchError> {
        self.view(at, book, Patience::Wait, reader)?;
        self.index()?.settle()
    }

    /// After a failure while searching: the index is made anew at the next question.
    pub(crate) fn distrust(&self) {
        if let Some(index) = &*self.open.lock().unwrap_or_else(PoisonError::into_inner) {
            index.distrust();
        }
    }

    /// The vocabulary with the crew's own words, and lines of theirs that were left out.
    pub(crate) fn vocabulary(&self) -> OwnWords {
        match std::fs::read_to_string(self.data.join(OWN_WORDS)) {
            Ok(own) => {
                let (vocabulary, left_out) = Vocabulary::with_own(&own);
                let told = |problem: &LineProblem| {
                    format!("Line {} of {OWN_WORDS} was left out: {}.", problem.line, problem.why)
                };
                (Cow::Owned(vocabulary), left_out.iter().map(told).collect())
            }
            Err(error) => {
                let is_there = error.kind() != std::io::ErrorKind::NotFound;
                let said =
                    format!("The words of {OWN_WORDS} are not used, because it cannot be read: {error}.");
                (Cow::Borrowed(Vocabulary::built_in()), is_there.then_some(said).into_iter().collect())
            }
        }
    }

    fn index(&self) -> Result<Arc<Index>, SearchError> {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(index) = &*open {
            return Ok(Arc::clone(index));
        }
        let index = Arc::new(Index::open(&self.folder)?);
        *open = Some(Arc::clone(&index));
        Ok(index)
    }

    /// Works on the index on a thread of its own, one at a time.
    fn beside(
        &self,
        index: &Arc<Index>,
        reader: impl Fn() -> Result<Reader, SearchError>,
        work: fn(&Index, &Reader) -> Result<(), SearchError>,
    ) -> Result<(), SearchError> {
        let (index, reader) = (Arc::clone(index), reader()?);
        let Some(busy) = Busy::begin(&self.is_busy, &self.failed) else { return Ok(()) };
        std::thread::spawn(move || {
            if work(&index, &reader).is_err() {
                busy.fails();
            }
        });
        Ok(())
    }
}
