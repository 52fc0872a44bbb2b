//! Answers: a question with the filters a person chose, over one view of the index.
//!
//! Reading order: [`Search`] (what is asked), [`Answer`], `answer::ask` (from the parts of a question to what is scanned for),
//! `answer::gather` (counting, filtering and ordering what matches), `answer::filters` (what it can be narrowed by).
//!
//! Every record of an answer meets every demand of the question: quantities, days, sites, grades, filters. Only words are
//! given up when no record has them all, and the answer says so. Leaves out how records are named and printed.

mod ask;
pub mod filters;
mod gather;

use std::sync::Arc;

use jiff::civil::Date;
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_units::Currency;

use crate::SearchError;
use crate::facts::{FactBook, Facts};
use crate::find::{Matched, Piece};
use crate::question::{Names, Question, Reading};
use crate::view::View;
use crate::vocabulary::Vocabulary;

pub use filters::{Chosen, Filter, FilterName, FilterValue, UnknownFilter, kind_title, name_words};
pub use gather::{Cursor, Order};

/// Whether the last word may still be growing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Typing {
    /// It is as it stands.
    #[default]
    Done,
    /// A person is still typing: words that begin like the last one count too.
    Open,
}

/// What a person asks.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Search {
    /// The question as typed.
    pub text: String,
    /// Whether it is still being typed.
    pub typing: Typing,
    /// Filters chosen beside it.
    pub chosen: Chosen,
    /// The order within a kind.
    pub order: Order,
    /// Most hits of a kind.
    pub limit: usize,
    /// The page of one kind that is asked for; `None` is the first page of every kind.
    pub page: Option<PageOf>,
}

/// A page of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageOf {
    /// The kind.
    pub kind: String,
    /// Where the page before ended.
    pub after: Cursor,
}

/// What an answer is made from, all of one state of the notebook.
pub struct Basis<'a, 'b> {
    /// The index.
    pub view: &'a View,
    /// Every record.
    pub book: &'b Book,
    /// What they show.
    pub findings: &'a Findings<'b>,
    /// What can be asked of them beside words.
    pub facts: &'a FactBook,
    /// Words that mean the same.
    pub vocabulary: &'a Vocabulary,
    /// The day it is.
    pub today: Date,
    /// Currency of amounts without one.
    pub currency: Currency,
}

/// What is found.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The question as it was understood, with words that no record has as they are spelt nearest to them.
    pub question: Question,
    /// What to know about parts of it, by number.
    pub part_notes: Vec<(usize, String)>,
    /// What to know about the answer.
    pub notes: Vec<String>,
    /// Whether each hit has all words.
    pub matched: Matched,
    /// How many records there are.
    pub total: usize,
    /// The order within a kind.
    pub order: Order,
    /// Kind by kind.
    pub groups: Vec<HitGroup>,
    /// What it can be narrowed by.
    pub filters: Vec<Filter>,
    /// Number of the part that asks for one kind of record.
    pub kind_part: Option<usize>,
    /// Filters that were left out because they mean nothing here.
    pub unknown_filters: Vec<UnknownFilter>,
    /// The names it was read by.
    pub names: Names,
}

impl Answer {
    /// What a part of the question was taken for, in a word: the name of a kind among other words is a word.
    pub fn kind_of(&self, part: usize) -> &'static str {
        match self.question.parts[part].kind() {
            "kind" if self.kind_part != Some(part) => "word",
            kind => kind,
        }
    }
}

/// What was found of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct HitGroup {
    /// The kind.
    pub kind: &'static str,
    /// How many there are.
    pub count: usize,
    /// How many stand behind this page.
    pub more: usize,
    /// A page of them.
    pub hits: Vec<Found>,
    /// Where the next page begins.
    pub next: Option<Cursor>,
}

/// A record that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The record.
    pub record: RecordId,
    /// Its kind.
    pub kind: String,
    /// Label and name, title or question, with what was looked for told apart.
    pub title: Vec<Piece>,
    /// A stretch of what it says; `None` where only its title or names match.
    pub snippet: Option<Vec<Piece>>,
    /// Its site.
    pub site: Option<RecordId>,
    /// Its day, `2025-03-04`.
    pub date: Option<String>,
    /// How well it matches; only good for comparing hits of one answer.
    pub score: f32,
    /// What is known of it beside words.
    pub facts: Arc<Facts>,
    /// Whether it stands apart, at the end, because its result may not be claimed.
    pub is_apart: bool,
}

/// Hits of a kind that have only some of the words: more would bury what was asked for (convention of this project).
const MOST_LENIENT: usize = 3;

/// Names of sites in a book, for reading questions.
fn names(book: &Book) -> Names {
    Names { sites: book.sites.live().map(|site| (site.id, site.label.clone(), site.name.clone())).collect() }
}

/// Answers a question. Total over texts: whatever is typed has an answer, if an empty one.
///
/// # Errors
/// [`SearchError`] when the index cannot be read.
pub fn answer(search: &Search, basis: &Basis<'_, '_>) -> Result<Answer, SearchError> {
    let names = names(basis.book);
    let reading =
        Reading { vocabulary: basis.vocabulary, names: &names, today: basis.today, currency: basis.currency };
    let mut question = Question::read(&search.text, &reading);
    let (mut respelt, first_notes) = (Vec::new(), question.notes.clone());
    if let Some((text, said)) = ask::respelt(&question, basis.view, basis.vocabulary, search.typing)? {
        (question, respelt) = (Question::read(&text, &reading), said);
    }
    let mut asked = ask::read(&question, basis.view, search.typing)?;
    asked.exact = labelled(basis.book, search.text.trim());
    let (chosen, unknown_filters) = filters::resolve(&search.chosen, basis.book);
    let mut notes = respelt;
    notes.extend(first_notes.into_iter().filter(|note| !question.notes.contains(note)));
    notes.extend(question.notes.iter().cloned());
    notes.extend(unknown_filters.iter().map(UnknownFilter::words));
    if asked.is_nothing() && chosen.is_nothing() {
        let nothing = nothing(question, notes, search.order);
        return Ok(Answer { unknown_filters, names, ..nothing });
    }
    let mut matched = Matched::All;
    let mut gathered = gather::gather(&asked.of_all(), &asked, &chosen, search, basis)?;
    if gathered.total == 0
        && let Some(some) = asked.of_some()
    {
        let search = Search { limit: search.limit.min(MOST_LENIENT), ..search.clone() };
        let lenient = gather::gather(&some, &asked, &chosen, &search, basis)?;
        if lenient.total > 0 {
            (gathered, matched) = (lenient, Matched::Any);
        }
    }
    let total = gathered.total;
    if total == 0 && asked.demands.days != (None, None) {
        notes.extend(last_day(basis.book).map(|day| format!("The last line of the day log is of {day}.")));
    }
    let (groups, counts) = gathered.groups(&asked, search, basis)?;
    Ok(Answer {
        part_notes: asked.part_notes,
        notes,
        matched,
        total,
        order: search.order,
        groups,
        filters: counts.filters(&chosen, basis.book),
        kind_part: asked.kind_part,
        unknown_filters,
        question,
        names,
    })
}

/// The record of a label that was typed alone.
fn labelled(book: &Book, text: &str) -> Option<RecordId> {
    if text.is_empty() || text.contains(char::is_whitespace) {
        return None;
    }
    let has_digit = text.contains(|letter: char| letter.is_ascii_digit());
    let is = |label: &Option<String>| label.as_deref().is_some_and(|label| label.eq_ignore_ascii_case(text));
    macro_rules! first_of {
        ($($table:ident),*) => {
            None$(.or_else(|| book.$table.live().find(|record| is(&record.label)).map(|record| record.id)))*
        };
    }
    // The log is by far the longest table, and its few labels are numbers: a plain word does not go through all of it.
    let found: Option<RecordId> =
        first_of!(jobs, assemblies, tests, sets, receipts, tasks, rooms, sites, materials);
    found.or_else(|| if has_digit { first_of!(entries) } else { None })
}

fn last_day(book: &Book) -> Option<Date> {
    book.entries.live().filter_map(|entry| entry.date).max()
}

fn nothing(question: Question, notes: Vec<String>, order: Order) -> Answer {
    Answer {
        question,
        part_notes: Vec::new(),
        notes,
        matched: Matched::All,
        total: 0,
        order,
        groups: Vec::new(),
        filters: Vec::new(),
        kind_part: None,
        unknown_filters: Vec::new(),
        names: Names::default(),
    }
}
