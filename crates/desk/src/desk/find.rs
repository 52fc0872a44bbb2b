//! Asking the desk about past work: plain questions, suggestions, walls built alike. Leaves out what is found and how: see `search`.

use jiff::civil::Date;
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_notebook::matching::MatchLevel;
use storypole_search::suggest::Suggestion;
use storypole_search::{Patience, Search, SearchError};
use storypole_store::Reader;

use super::{Desk, DeskError};
use crate::{finder, shelf, view};

impl Desk {
    /// Answers a plain question about past work, as the log stands now. Questions are answered side by side.
    ///
    /// An index that has to be made anew is waited for, or answers as it was and is made anew on a thread beside: see [`Patience`].
    ///
    /// # Errors
    /// The database failed, or the index cannot be written; it can be deleted and is made anew.
    pub fn find(
        &self,
        search: &Search,
        today: Date,
        patience: Patience,
    ) -> Result<view::found::Told, DeskError> {
        self.with_index(patience, |looking, making| {
            let answer = storypole_search::answer(search, &looking.basis(today))?;
            let mut told = view::found::told(&search.text, &answer, &looking.looked(), making);
            told.notes.extend(looking.own.1.iter().cloned());
            Ok(told)
        })
    }

    /// How a question that is being typed might go on, at most `most` ways.
    ///
    /// # Errors
    /// As [`Self::find`].
    pub fn suggest(&self, typed: &str, most: usize, today: Date) -> Result<Vec<Suggestion>, DeskError> {
        self.with_index(Patience::Answer, |looking, _| {
            Ok(storypole_search::suggest::suggest(typed, most, &looking.basis(today))?)
        })
    }

    /// Walls built like one wall: a page of them, from so many on, so many at most.
    ///
    /// # Errors
    /// The database failed, or nothing can be said of the wall.
    pub fn alike(
        &self,
        wall: RecordId,
        level: MatchLevel,
        page: (usize, usize),
    ) -> Result<view::alike::AlikeTold, DeskError> {
        let (_, book, shelf::Worked { kept, facts }) = self.shelf.findings(&self.readers)?;
        let findings = Findings::of(&book, &kept);
        let looked = view::found::Looked { book: &book, findings: &findings, facts: &facts };
        Ok(view::alike::told(&looked, wall, level, page)?)
    }

    /// Brings the index to where the log stands, on disk.
    ///
    /// # Errors
    /// As [`Self::find`].
    pub fn index(&self) -> Result<(), DeskError> {
        let (at, book) = self.book_and_position()?;
        Ok(self.finder.settle(&at, &book, || Ok(Reader::open(&self.folder.database())?))?)
    }

    /// Asks the index, which first follows the log. One that fails is trusted no more and made anew, and asked once again.
    fn with_index<T>(
        &self,
        patience: Patience,
        ask: impl Fn(&finder::Looking<'_>, Option<&'static str>) -> Result<T, DeskError>,
    ) -> Result<T, DeskError> {
        let (at, book, shelf::Worked { kept, facts }) = self.shelf.findings(&self.readers)?;
        let findings = Findings::of(&book, &kept);
        let reader = || Ok(Reader::open(&self.folder.database())?);
        let mut again = true;
        loop {
            let found = self.finder.view(&at, &book, patience, reader).map_err(DeskError::from).and_then(
                |(view, making)| {
                    let own = self.finder.vocabulary();
                    ask(
                        &finder::Looking {
                            view: &view,
                            book: &book,
                            findings: &findings,
                            facts: &facts,
                            own: &own,
                        },
                        making,
                    )
                },
            );
            match found {
                Err(DeskError::Search(SearchError::Index { .. } | SearchError::Unreadable)) if again => {
                    again = false;
                    self.finder.distrust();
                }
                found => return found,
            }
        }
    }
}
