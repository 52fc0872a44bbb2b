//! The product in process: the whole desk, and the search crate alone with all it needs at hand.

use std::sync::Arc;

use jiff::civil::{Date, date};
use storypole_desk::Desk;
use storypole_findings::{Findings, Kept, Told};
use storypole_notebook::Book;
use storypole_search::answer::Basis;
use storypole_search::facts::FactBook;
use storypole_search::vocabulary::Vocabulary;
use storypole_search::{Index, Patience, Search, View, answer};

use super::Asked;

/// The day on which all is asked.
const TODAY: Date = date(2026, 12, 31);

/// Hits of each kind on a first page, where the one who asks says nothing: the server's convention.
pub const OF_KIND: usize = 5;

fn search(asked: &Asked, of_kind: usize) -> Search {
    Search { text: asked.typed.clone(), limit: of_kind, ..Search::default() }
}

/// The desk, as command line and server ask it.
pub struct Product<'d>(&'d Desk);

impl<'d> Product<'d> {
    pub fn new(desk: &'d Desk) -> Self {
        Self(desk)
    }

    pub fn find(&self, asked: &Asked) -> u64 {
        let told = self.0.find(&search(asked, OF_KIND), TODAY, Patience::Answer).expect("an answer");
        assert_eq!(told.making, None, "the index was made before");
        told.total as u64
    }
}

/// The search crate: records, findings and the view are read once.
pub struct Alone {
    view: Arc<View>,
    book: Arc<Book>,
    kept: Kept,
    facts: FactBook,
}

impl Alone {
    /// Reads the index that the desk has made.
    pub fn new(desk: &Desk) -> Self {
        let view = Index::open(&desk.path().join("index")).expect("its folder").view();
        let book = desk.book().expect("the database answers");
        let kept = Kept::new(&book, Told::default());
        Self { view, book, kept, facts: FactBook::default() }
    }

    /// Shows at most so many hits of each kind.
    pub fn answer(&self, asked: &Asked, of_kind: usize) -> u64 {
        let findings = Findings::of(&self.book, &self.kept);
        let basis = Basis {
            view: &self.view,
            book: &self.book,
            findings: &findings,
            facts: &self.facts,
            vocabulary: Vocabulary::built_in(),
            today: TODAY,
            currency: self.book.currency(),
        };
        answer(&search(asked, of_kind), &basis).expect("an answer").total as u64
    }
}
