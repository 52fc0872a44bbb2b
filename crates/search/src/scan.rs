//! Going through every document that matches. Leaves out how a question becomes what is asked here, and the order of
//! answers: who scans sees every hit once and keeps what it needs.

use std::borrow::Cow;
use std::ops::Bound;

use jiff::civil::Date;
use tantivy::columnar::ColumnValues;
use tantivy::fastfield::AliveBitSet;
use tantivy::query::{
    AllQuery, BooleanQuery, BoostQuery, ConstScoreQuery, EmptyQuery, EnableScoring, InvertedIndexRangeQuery,
    Occur, PhraseQuery, Query, TermQuery, Weight,
};
use tantivy::schema::{Field, IndexRecordOption};
use tantivy::{DocId, Score, Term};

use crate::SearchError;
use crate::columns::{Columns, KindSet, day_number_of, day_range, kind_of};
use crate::view::{At, Part, Segment, View, WhichPart};
use crate::wording::Sequence;

/// What is looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// What must match, all of it. Where all of it is optional, some must. Without any, every document matches.
    pub wanted: Vec<Wanted>,
    /// How many of those that are not optional must match at least, where not all must; `None` is all of them.
    pub least: Option<usize>,
    /// What must not match.
    pub unwanted: Vec<Vec<String>>,
    /// Which kinds; `None` is every kind.
    pub kinds: Option<KindSet>,
    /// The first and the last day; documents without a day are then left out. An end may be open.
    pub days: Option<(Option<Date>, Option<Date>)>,
    /// Whether hits are to have a score.
    pub scored: Scored,
}

/// One thing that must match, or may.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Any of these: words that stand next to each other, as the analyser reads them, and how much they count.
    pub any_of: Vec<(Vec<String>, f32)>,
    /// Whether it may be missing.
    pub is_optional: bool,
}

/// Whether hits have a score.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scored {
    /// They do.
    Yes,
    /// Their score is 0, and finding them is faster.
    No,
}

/// A document that matches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScanHit<'v> {
    /// Its kind, site and day.
    pub columns: Columns<'v>,
    /// How well it matches: the sum over what was wanted (BM25), once more for what stands in the title.
    pub score: f32,
    /// Where it stands.
    pub at: At,
}

/// Where kinds have less than this share of the documents, the others are not even looked at (measured here: below it,
/// going through two lists at once is faster than reading the kind of every hit).
const SMALL_SHARE: u64 = 8;

impl View {
    /// Tells every document that matches, once, in no order that means anything.
    ///
    /// # Errors
    /// The index is damaged. Some hits may have been told.
    pub fn scan(&self, ask: &Ask, each: &mut dyn FnMut(&ScanHit<'_>)) -> Result<(), SearchError> {
        let keep = Keep::new(ask);
        if keep.kinds.is_empty() {
            return Ok(());
        }
        let query = self.query(ask)?;
        for (which, part) in self.parts() {
            self.scan_part(ask, &*query, &keep, (which, part), each)?;
        }
        Ok(())
    }

    fn scan_part(
        &self,
        ask: &Ask,
        query: &dyn Query,
        keep: &Keep,
        (which, part): (WhichPart, &Part),
        each: &mut dyn FnMut(&ScanHit<'_>),
    ) -> Result<(), SearchError> {
        let statistics = self.statistics();
        let scoring = match ask.scored {
            Scored::Yes => EnableScoring::enabled_from_statistics_provider(&statistics, &part.searcher),
            Scored::No => EnableScoring::disabled_from_searcher(&part.searcher),
        };
        let weight = query.weight(scoring)?;
        let unwanted = self.unwanted(ask, part)?;
        for ((number, segment), reader) in (0..).zip(&part.segments).zip(part.searcher.segment_readers()) {
            let mut teller = Teller {
                hidden: Hidden::new(segment, reader, &unwanted)?,
                alive: reader.alive_bitset(),
                place: &*segment.columns.place,
                keep,
                view: self,
                at: At { part: which, segment: number, document: 0 },
                each: &mut *each,
            };
            match ask.scored {
                Scored::Yes => {
                    weight.for_each(reader, &mut |document, score| teller.tell(document, score))?
                }
                Scored::No => weight.for_each_no_score(reader, &mut |documents| {
                    documents.iter().for_each(|document| teller.tell(*document, 0.0));
                })?,
            }
        }
        Ok(())
    }

    /// What must not match, ready to be looked up in every segment.
    ///
    /// It is looked up on its own: tantivy 0.27 moves an excluded phrase backwards inside a query, against its own
    /// contract, and panics in builds with assertions.
    fn unwanted(&self, ask: &Ask, part: &Part) -> Result<Vec<Box<dyn Weight>>, SearchError> {
        let scoring = EnableScoring::disabled_from_searcher(&part.searcher);
        let queries = ask.unwanted.iter().map(|sequence| adjacent(self.fields.words, sequence));
        Ok(queries.map(|query| query.weight(scoring)).collect::<Result<_, _>>()?)
    }

    fn query(&self, ask: &Ask) -> Result<Box<dyn Query>, SearchError> {
        let mut parts: Vec<(Occur, Box<dyn Query>)> =
            ask.wanted.iter().map(|wanted| (occur(wanted), self.wanted(wanted, ask.scored))).collect();
        if let Some(least) = ask.least {
            parts = at_least(parts, least);
        }
        let has_words = !parts.is_empty();
        if has_words && parts.iter().all(|(occur, _)| *occur == Occur::Should) {
            parts = vec![(Occur::Must, Box::new(BooleanQuery::new(parts)))];
        }
        let kinds = ask.kinds.map(|kinds| self.of_kinds(kinds)).transpose()?;
        if let Some((query, count)) = kinds
            && (!has_words || count < self.count() / SMALL_SHARE)
        {
            parts.push((Occur::Must, query));
        }
        // With words, the day of each hit is read anyway.
        if let Some(days) = ask.days
            && !has_words
        {
            parts.push((Occur::Must, self.in_days(days)));
        }
        Ok(match parts.len() {
            0 => Box::new(AllQuery),
            1 => parts.remove(0).1,
            _ => Box::new(BooleanQuery::new(parts)),
        })
    }

    /// Anywhere, and once more in the title.
    fn wanted(&self, wanted: &Wanted, scored: Scored) -> Box<dyn Query> {
        let everywhere = any_of(self.fields.words, wanted);
        match scored {
            Scored::No => everywhere,
            Scored::Yes => Box::new(BooleanQuery::new(vec![
                (Occur::Must, everywhere),
                (Occur::Should, any_of(self.fields.title, wanted)),
            ])),
        }
    }

    /// Documents of some kinds, and how many there are at most.
    fn of_kinds(&self, kinds: KindSet) -> Result<(Box<dyn Query>, u64), SearchError> {
        let mut count = 0;
        let mut queries: Vec<Box<dyn Query>> = Vec::new();
        for kind in kinds.names() {
            let term = Term::from_field_text(self.fields.kind, kind);
            count += tantivy::query::Bm25StatisticsProvider::doc_freq(&self.statistics(), &term)?;
            queries.push(Box::new(TermQuery::new(term, IndexRecordOption::Basic)));
        }
        Ok((unscored(union(queries)), count))
    }

    fn in_days(&self, (from, to): (Option<Date>, Option<Date>)) -> Box<dyn Query> {
        let (from, to) = day_range(from, to);
        let term = |number| Bound::Included(Term::from_field_u64(self.fields.day(), number));
        Box::new(InvertedIndexRangeQuery::new(term(from), term(to)))
    }
}

/// So many of what must match, in place of all of it.
fn at_least(parts: Vec<(Occur, Box<dyn Query>)>, least: usize) -> Vec<(Occur, Box<dyn Query>)> {
    let (must, mut parts): (Vec<_>, Vec<_>) = parts.into_iter().partition(|(occur, _)| *occur == Occur::Must);
    let some = must.into_iter().map(|(_, query)| (Occur::Should, query)).collect();
    parts.push((Occur::Must, Box::new(BooleanQuery::with_minimum_required_clauses(some, least))));
    parts
}

fn occur(wanted: &Wanted) -> Occur {
    if wanted.is_optional { Occur::Should } else { Occur::Must }
}

fn any_of(field: Field, wanted: &Wanted) -> Box<dyn Query> {
    let sequences = wanted.any_of.iter().filter(|(sequence, _)| !sequence.is_empty());
    let queries = sequences.map(|(sequence, boost)| {
        let query = adjacent(field, sequence);
        // One that counts in full stays what it is, which tantivy goes through faster.
        if *boost == 1.0 { query } else { Box::new(BoostQuery::new(query, *boost)) as Box<dyn Query> }
    });
    union(queries.collect())
}

fn union(mut queries: Vec<Box<dyn Query>>) -> Box<dyn Query> {
    match queries.len() {
        0 => Box::new(EmptyQuery),
        1 => queries.remove(0),
        _ => Box::new(BooleanQuery::union(queries)),
    }
}

/// Being of an asked kind says nothing about how well a record matches.
fn unscored(query: Box<dyn Query>) -> Box<dyn Query> {
    Box::new(ConstScoreQuery::new(query, 0.0))
}

/// One word, or several that stand next to each other.
fn adjacent(field: Field, sequence: &Sequence) -> Box<dyn Query> {
    let mut terms: Vec<Term> = sequence.iter().map(|word| Term::from_field_text(field, word)).collect();
    match terms.len() {
        0 => Box::new(EmptyQuery),
        1 => Box::new(TermQuery::new(terms.remove(0), IndexRecordOption::WithFreqs)),
        _ => Box::new(PhraseQuery::new(terms)),
    }
}

/// Which documents are kept, by what their columns say.
struct Keep {
    kinds: KindSet,
    days: (u64, u64),
}

impl Keep {
    fn new(ask: &Ask) -> Self {
        let days = ask.days.map_or((0, u64::MAX), |(from, to)| day_range(from, to));
        Self { kinds: ask.kinds.unwrap_or(KindSet::ALL), days }
    }

    fn keeps(&self, packed: u64) -> bool {
        let day = day_number_of(packed);
        self.kinds.has_number(kind_of(packed)) && self.days.0 <= day && day <= self.days.1
    }
}

/// Tells the hits of one segment that are not hidden.
struct Teller<'s, 'e> {
    hidden: Hidden<'s>,
    alive: Option<&'s AliveBitSet>,
    place: &'s dyn ColumnValues<u64>,
    keep: &'s Keep,
    view: &'s View,
    at: At,
    each: &'e mut dyn FnMut(&ScanHit<'_>),
}

impl Teller<'_, '_> {
    fn tell(&mut self, document: DocId, score: Score) {
        if self.alive.is_some_and(|alive| !alive.is_alive(document)) || self.hidden.has(document) {
            return;
        }
        let packed = self.place.get_val(document);
        if self.keep.keeps(packed) {
            let columns = Columns::new(packed, &self.view.sites);
            (self.each)(&ScanHit { columns, score, at: At { document, ..self.at } });
        }
    }
}

/// Documents that are masked or unwanted, in order; asked for in order too.
struct Hidden<'s> {
    documents: Cow<'s, [DocId]>,
    next: usize,
}

impl<'s> Hidden<'s> {
    fn new(
        segment: &'s Segment,
        reader: &tantivy::SegmentReader,
        unwanted: &[Box<dyn Weight>],
    ) -> Result<Self, SearchError> {
        let mut documents = Cow::Borrowed(&*segment.masked);
        for weight in unwanted {
            let all = documents.to_mut();
            weight.for_each_no_score(reader, &mut |found| all.extend_from_slice(found))?;
        }
        if let Cow::Owned(all) = &mut documents {
            all.sort_unstable();
            all.dedup();
        }
        Ok(Self { documents, next: 0 })
    }

    fn has(&mut self, document: DocId) -> bool {
        while self.documents.get(self.next).is_some_and(|hidden| *hidden < document) {
            self.next += 1;
        }
        self.documents.get(self.next) == Some(&document)
    }
}
