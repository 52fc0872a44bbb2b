//! Matching and ranking. Leaves out how text is read (`wording`) and what is searchable (`document`).

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use storypole_journal::RecordId;
use tantivy::collector::{DocSetCollector, TopDocs};
use tantivy::columnar::ColumnValues;
use tantivy::index::SegmentId;
use tantivy::query::{BooleanQuery, ConstScoreQuery, Occur, PhraseQuery, Query as Asked, TermQuery};
use tantivy::schema::{Field, IndexRecordOption, Value};
use tantivy::{DocAddress, DocId, Score, Searcher, SegmentReader, TantivyDocument, Term};

use crate::index::{DAY, MADE, WEIGHT};
use crate::snippet::snippet;
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
    /// [`SearchError`] when the index cannot be read.
    pub fn find(&self, query: &Query) -> Result<Vec<Hit>, SearchError> {
        let wording = wording::read(&query.words);
        if wording.wanted.is_empty() || query.limit == 0 {
            return Ok(Vec::new());
        }
        let all = self.search(query, &wording, Matched::All)?;
        if !all.is_empty() {
            return Ok(all);
        }
        self.search(query, &wording, Matched::Any)
    }

    fn search(&self, query: &Query, wording: &Wording, matched: Matched) -> Result<Vec<Hit>, SearchError> {
        let searcher = self.searcher();
        let asked = self.asked(query, wording, matched);
        // No index holds more than that, and the collector keeps room for twice the limit.
        let limit = query.limit.min(usize::try_from(searcher.num_docs()).unwrap_or(usize::MAX).max(1));
        let unwanted = self.unwanted(&searcher, wording)?;
        let collector = TopDocs::with_limit(limit)
            .tweak_score(move |segment: &SegmentReader| ranking(segment, &unwanted));
        let ranked: Vec<(Rank, DocAddress)> = searcher.search(&asked, &collector)?;
        let marked = sequences(wording);
        ranked
            .into_iter()
            .filter_map(|(rank, at)| Some((rank?, at)))
            .map(|((score, ..), at)| self.hit(&searcher.doc(at)?, score, matched, &marked))
            .collect()
    }

    /// The documents that must not be found, by segment.
    ///
    /// They are looked up on their own: tantivy 0.27 moves an excluded phrase backwards inside a query, against
    /// its own contract, and panics in builds with assertions.
    fn unwanted(&self, searcher: &Searcher, wording: &Wording) -> Result<Unwanted, SearchError> {
        let mut unwanted = Unwanted::new();
        for sequence in &wording.unwanted {
            for at in searcher.search(&adjacent(self.fields.words, sequence), &DocSetCollector)? {
                let segment = searcher.segment_reader(at.segment_ord).segment_id();
                unwanted.entry(segment).or_default().insert(at.doc_id);
            }
        }
        Ok(unwanted)
    }

    fn asked(&self, query: &Query, wording: &Wording, matched: Matched) -> BooleanQuery {
        let mut parts: Vec<(Occur, Box<dyn Asked>)> = Vec::new();
        let only_little = wording.wanted.iter().all(|clause| clause.is_little);
        match matched {
            Matched::All => parts.extend(wording.wanted.iter().map(|clause| {
                let occur = if clause.is_little && !only_little { Occur::Should } else { Occur::Must };
                (occur, self.clause(clause))
            })),
            Matched::Any => {
                let clauses = wording.wanted.iter().filter(|clause| only_little || !clause.is_little);
                let alone = clauses.flat_map(Clause::parts).map(|part| self.clause(&part)).collect();
                parts.push((Occur::Must, any(alone)));
            }
        }
        if let Some(kinds) = &query.kinds {
            let terms = kinds.iter().map(|kind| term(self.fields.kind, kind)).collect();
            // Being of an asked kind says nothing about how well a record matches.
            parts.push((Occur::Must, Box::new(ConstScoreQuery::new(any(terms), 0.0))));
        }
        BooleanQuery::new(parts)
    }

    /// A clause matches anywhere; in the title it counts once more.
    fn clause(&self, clause: &Clause) -> Box<dyn Asked> {
        let everywhere = one_clause(self.fields.words, clause);
        let title = one_clause(self.fields.title, clause);
        Box::new(BooleanQuery::new(vec![(Occur::Must, everywhere), (Occur::Should, title)]))
    }

    fn hit(
        &self,
        document: &TantivyDocument,
        score: Score,
        matched: Matched,
        marked: &[Sequence],
    ) -> Result<Hit, SearchError> {
        let text =
            |field: Field| document.get_first(field).and_then(|value| value.as_str()).map(str::to_owned);
        Ok(Hit {
            record: self.record_of(document)?,
            kind: text(self.fields.kind).ok_or(SearchError::Unreadable)?,
            title: text(self.fields.title).ok_or(SearchError::Unreadable)?,
            score,
            matched,
            snippet: text(self.fields.body).and_then(|body| snippet(&body, marked)),
            site: text(self.fields.site),
            job: text(self.fields.job),
            date: text(self.fields.date),
        })
    }
}

/// Score, day, time the record was made: what hits are ordered by. `None`, after all others, is unwanted.
type Rank = Option<(Score, u64, u64)>;

type Unwanted = HashMap<SegmentId, HashSet<DocId>>;

/// Weighs the score by kind and rounds it, so that scores that differ by the order of a sum alone are equal.
fn ranking(segment: &SegmentReader, unwanted: &Unwanted) -> impl Fn(DocId, Score) -> Rank + use<> {
    let unwanted = unwanted.get(&segment.segment_id()).cloned().unwrap_or_default();
    let column = |name| segment.fast_fields().u64(name).ok().map(|column| column.first_or_default_col(0));
    let (day, made, weight) = (column(DAY), column(MADE), column(WEIGHT));
    move |document, score| {
        if unwanted.contains(&document) {
            return None;
        }
        let value = |column: &Option<Arc<dyn ColumnValues<u64>>>| {
            column.as_ref().map_or(0, |column| column.get_val(document))
        };
        let weighed = score * value(&weight) as Score / 1_000.0;
        Some(((weighed * 1_000.0).round() / 1_000.0, value(&day), value(&made)))
    }
}

fn one_clause(field: Field, clause: &Clause) -> Box<dyn Asked> {
    let all = clause.all_of.iter().map(|sequence| adjacent(field, sequence)).collect();
    if clause.or_any.is_empty() {
        return every(all);
    }
    let others = clause.or_any.iter().map(|sequence| adjacent(field, sequence));
    any(std::iter::once(every(all)).chain(others).collect())
}

/// One word, or several that stand next to each other.
fn adjacent(field: Field, sequence: &Sequence) -> Box<dyn Asked> {
    match &sequence[..] {
        [word] => term(field, word),
        words => {
            Box::new(PhraseQuery::new(words.iter().map(|word| Term::from_field_text(field, word)).collect()))
        }
    }
}

fn term(field: Field, text: &str) -> Box<dyn Asked> {
    Box::new(TermQuery::new(Term::from_field_text(field, text), IndexRecordOption::WithFreqs))
}

fn every(queries: Vec<Box<dyn Asked>>) -> Box<dyn Asked> {
    Box::new(BooleanQuery::intersection(queries))
}

fn any(queries: Vec<Box<dyn Asked>>) -> Box<dyn Asked> {
    Box::new(BooleanQuery::union(queries))
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
