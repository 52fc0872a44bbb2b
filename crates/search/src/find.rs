//! Matching and ranking. Leaves out how text is read (`wording`) and what is searchable (`document`).

use std::cmp::Reverse;

use storypole_journal::RecordId;

use crate::columns::KindSet;
use crate::scan::{Ask, ScanHit, Scored, Wanted};
use crate::snippet::snippet;
use crate::view::{At, View};
use crate::wording::{self, Clause, Sequence, Wording};
use crate::{Index, SearchError};

/// What a person asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Query {
    /// The words: all must match; `"a phrase"` and `-word` are understood.
    pub words: String,
    /// Kinds of records to look for, by name; `None` is every kind.
    pub kinds: Option<Vec<String>>,
    /// How many hits at most.
    pub limit: usize,
}

/// One record found.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit {
    /// The record.
    pub record: RecordId,
    /// Its kind.
    pub kind: String,
    /// Label and name, title or question.
    pub title: String,
    /// How well it matches; only good for comparing hits of one search.
    pub score: f32,
    /// Whether all of the words matched.
    pub matched: Matched,
    /// A stretch of what the record says with the matching words told apart; `None` when only its title or the
    /// names of its site, job or people match.
    pub snippet: Option<Vec<Piece>>,
    /// Label of its site.
    pub site: Option<String>,
    /// Label of its job.
    pub job: Option<String>,
    /// Its day, `2025-03-04`.
    pub date: Option<String>,
}

/// How much of what was asked a search matched. The same for all hits of one search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matched {
    /// Every word.
    All,
    /// No record has every word; these have some.
    Any,
}

/// A part of a snippet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// The text.
    pub text: String,
    /// Whether it is what was looked for.
    pub is_match: bool,
}

impl Index {
    /// Finds records by words, best first; of equal ones the newer first.
    ///
    /// Any text is read as something: without a word to look for nothing is found, and that is no error.
    ///
    /// # Errors
    /// [`SearchError`] when the index cannot be read; it is made anew at the next following.
    pub fn find(&self, query: &Query) -> Result<Vec<Hit>, SearchError> {
        let found = find(&self.view(), query);
        if matches!(found, Err(SearchError::Index { .. } | SearchError::Unreadable)) {
            self.distrust();
        }
        found
    }
}

fn find(view: &View, query: &Query) -> Result<Vec<Hit>, SearchError> {
    let wording = wording::read(&query.words);
    if wording.wanted.is_empty() || query.limit == 0 {
        return Ok(Vec::new());
    }
    let all = search(view, query, &wording, Matched::All)?;
    if !all.is_empty() {
        return Ok(all);
    }
    search(view, query, &wording, Matched::Any)
}

fn search(view: &View, query: &Query, wording: &Wording, matched: Matched) -> Result<Vec<Hit>, SearchError> {
    let mut best = Best { view, limit: query.limit, kept: Vec::new() };
    view.scan(&ask(query, wording, matched), &mut |hit| best.see(hit))?;
    let marked = sequences(wording);
    best.sorted().into_iter().map(|(score, at)| shown(view, at, score, matched, &marked)).collect()
}

fn shown(view: &View, at: At, score: f32, matched: Matched, marked: &[Sequence]) -> Result<Hit, SearchError> {
    let stored = view.document(at)?;
    Ok(Hit {
        record: stored.record,
        kind: stored.kind,
        title: stored.title,
        score,
        matched,
        snippet: snippet(&stored.texts.join(" · "), marked),
        site: stored.site,
        job: stored.job,
        date: stored.date,
    })
}

/// The best hits seen so far.
struct Best<'v> {
    view: &'v View,
    limit: usize,
    /// Rank and place, up to twice the limit.
    kept: Vec<(Rank, At)>,
}

/// What hits are ordered by: score in thousandths, day, time the record was made, its id.
type Rank = (u32, u64, u64, RecordId);

impl Best<'_> {
    fn see(&mut self, hit: &ScanHit<'_>) {
        // Scores that differ by the order of a sum alone are equal.
        let score = (hit.score * hit.columns.weight() * 1_000.0).round() as u32;
        let rank = (score, hit.columns.day_number(), self.view.made(hit.at), self.view.record(hit.at));
        self.kept.push((rank, hit.at));
        if self.kept.len() >= self.limit.saturating_mul(2) {
            self.kept.select_nth_unstable_by_key(self.limit - 1, |(rank, _)| Reverse(*rank));
            self.kept.truncate(self.limit);
        }
    }

    fn sorted(mut self) -> Vec<(f32, At)> {
        self.kept.sort_unstable_by_key(|(rank, _)| Reverse(*rank));
        self.kept.truncate(self.limit);
        self.kept.into_iter().map(|((score, ..), at)| (score as f32 / 1_000.0, at)).collect()
    }
}

fn ask(query: &Query, wording: &Wording, matched: Matched) -> Ask {
    let only_little = wording.wanted.iter().all(|clause| clause.is_little);
    let wanted = match matched {
        Matched::All => wording
            .wanted
            .iter()
            .flat_map(|clause| all_of(clause, clause.is_little && !only_little))
            .collect(),
        Matched::Any => {
            let clauses = wording.wanted.iter().filter(|clause| only_little || !clause.is_little);
            clauses.flat_map(Clause::parts).flat_map(|part| all_of(&part, true)).collect()
        }
    };
    let kinds = query.kinds.as_ref().map(|kinds| KindSet::of(kinds.iter().map(String::as_str)));
    Ask { wanted, unwanted: wording.unwanted.clone(), kinds, days: None, scored: Scored::Yes, least: None }
}

/// A clause as things that must each match: where synonyms stand for several words, any of them stands for each, and
/// counts its share.
fn all_of(clause: &Clause, is_optional: bool) -> Vec<Wanted> {
    let share = 1.0 / clause.all_of.len() as f32;
    let each = clause.all_of.iter().map(|sequence| {
        let others = clause.or_any.iter().map(|other| (other.clone(), share));
        Wanted { any_of: [(sequence.clone(), 1.0)].into_iter().chain(others).collect(), is_optional }
    });
    each.collect()
}

/// Everything a snippet marks: what was asked for and its synonyms, little words left out.
fn sequences(wording: &Wording) -> Vec<Sequence> {
    let clauses = wording.wanted.iter().filter(|clause| !clause.is_little);
    let mut found: Vec<Sequence> =
        clauses.flat_map(|clause| clause.all_of.iter().chain(&clause.or_any)).cloned().collect();
    found.sort();
    found.dedup();
    found
}
