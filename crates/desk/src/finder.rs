//! The open search index, kept for the next who searches. Leaves out what is searched: see `search`.

use std::path::PathBuf;
use std::sync::{Arc, PoisonError, RwLock};

use storypole_notebook::Book;
use storypole_search::{Hit, Index, Patience, Query, SearchError};
use storypole_store::Reader;
use storypole_store::read::Position;

/// The index in one folder: one follows the log at a time, any number search.
pub(crate) struct Finder {
    folder: PathBuf,
    open: RwLock<Option<(Position, Index)>>,
}

impl Finder {
    pub(crate) fn new(folder: PathBuf) -> Self {
        Self { folder, open: RwLock::new(None) }
    }

    /// Searches the index, which first follows the log to where it stood when the book was read.
    ///
    /// An index that fails is opened once more: its folder may have been deleted, which is allowed at any time.
    pub(crate) fn find(
        &self,
        query: &Query,
        at: &Position,
        book: &Arc<Book>,
        reader: impl Fn() -> Result<Reader, SearchError>,
    ) -> Result<Vec<Hit>, SearchError> {
        let mut again = true;
        loop {
            match self.follow(at, book, &reader).and_then(|()| self.search(query)) {
                Err(SearchError::Index { .. } | SearchError::Unreadable) if again => {
                    again = false;
                    *self.open.write().unwrap_or_else(PoisonError::into_inner) = None;
                }
                found => return found,
            }
        }
    }

    fn follow(
        &self,
        at: &Position,
        book: &Book,
        reader: impl Fn() -> Result<Reader, SearchError>,
    ) -> Result<(), SearchError> {
        let is_there =
            |open: &Option<(Position, Index)>| open.as_ref().is_some_and(|(shown, _)| shown.reaches(at));
        if is_there(&self.open.read().unwrap_or_else(PoisonError::into_inner)) {
            return Ok(());
        }
        let mut open = self.open.write().unwrap_or_else(PoisonError::into_inner);
        if is_there(&open) {
            return Ok(());
        }
        let index = match open.take() {
            Some((_, index)) => index,
            None => Index::open(&self.folder)?,
        };
        index.follow(&reader()?, book, Patience::Wait)?;
        *open = Some((*at, index));
        Ok(())
    }

    fn search(&self, query: &Query) -> Result<Vec<Hit>, SearchError> {
        match &*self.open.read().unwrap_or_else(PoisonError::into_inner) {
            Some((_, index)) => index.find(query),
            // Someone else's failure has closed it between.
            None => Err(SearchError::Unreadable),
        }
    }
}
