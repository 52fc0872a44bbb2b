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
use tantivy::{DocId, Score, SegmentReader, Term};

use crate::SearchError;
use crate::columns::{Columns, KindSet, day_number_of, day_range, kind_of};
use crate::view::{At, Part, Segment, View};
use crate::wording::Sequence;

mod one_word;

use one_word::OneWord;

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
    /// How well it matches: the sum over what was wanted (BM25), where words of the title count more.
    pub score: f32,
    /// Where it stands.
    pub at: At,
}

/// How many hits are told together: as many as tantivy keeps in a block.
const BLOCK: usize = 128;

/// Where kinds have less than this share of the documents, the others are not even looked at (measured here: below it,
/// going through two lists at once is faster than reading the kind of every hit).
const SMALL_SHARE: u64 = 8;

/// From so many days on a range of them is not looked up but read from every document (measured here: four times faster
/// for the same number of documents).
const MANY_DAYS: u64 = 1_000;

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
        let statistics = self.statistics();
        match self.way(ask)? {
            Way::OneWord(word) => self.each_segment(
                ask,
                &keep,
                each,
                |_| Ok(&word),
                |word, reader, teller| word.scan(reader, teller),
            ),
            Way::Any(query) => {
                let weight = |part: &Part| {
                    query.weight(match ask.scored {
                        Scored::Yes => {
                            EnableScoring::enabled_from_statistics_provider(&statistics, &part.searcher)
                        }
                        Scored::No => EnableScoring::disabled_from_searcher(&part.searcher),
                    })
                };
                self.each_segment(ask, &keep, each, weight, |weight, reader, teller| match ask.scored {
                    Scored::Yes => {
                        let mut block = Block::new();
                        weight
                            .for_each(reader, &mut |document, score| block.push(document, score, teller))?;
                        block.flush(teller);
                        Ok(())
                    }
                    Scored::No => weight.for_each_no_score(reader, &mut |documents| {
                        documents
                            .chunks(BLOCK)
                            .for_each(|some| teller.tell_block(some, &[0.0; BLOCK][..some.len()]));
                    }),
                })
            }
        }
    }

    /// Goes through every segment of both parts, with what is made ready once for each part.
    fn each_segment<R>(
        &self,
        ask: &Ask,
        keep: &Keep,
        each: &mut dyn FnMut(&ScanHit<'_>),
        ready: impl Fn(&Part) -> tantivy::Result<R>,
        scan: impl Fn(&R, &SegmentReader, &mut Teller<'_, '_>) -> tantivy::Result<()>,
    ) -> Result<(), SearchError> {
        for (which, part) in self.parts() {
            let ready = ready(part)?;
            let unwanted = self.unwanted(ask, part)?;
            for ((number, segment), reader) in (0..).zip(&part.segments).zip(part.searcher.segment_readers())
            {
                let mut teller = Teller {
                    hidden: Hidden::new(segment, reader, &unwanted)?,
                    alive: reader.alive_bitset(),
                    place: &*segment.columns.place,
                    keep,
                    view: self,
                    at: At { part: which, segment: number, document: 0 },
                    each: &mut *each,
                };
                scan(&ready, reader, &mut teller)?;
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

    fn way(&self, ask: &Ask) -> Result<Way, SearchError> {
        let filter = self.filter(ask)?;
        if let ([Wanted { any_of, .. }], None) = (&ask.wanted[..], &filter)
            && let [(sequence, boost)] = &any_of[..]
            && let [word] = &sequence[..]
        {
            let term = Term::from_field_text(self.fields.words, word);
            return Ok(Way::OneWord(OneWord::new(term, *boost, ask.scored, &self.statistics())?));
        }
        let mut parts: Vec<(Occur, Box<dyn Query>)> =
            ask.wanted.iter().map(|wanted| (occur(wanted), any_of(self.fields.words, wanted))).collect();
        if let Some(least) = ask.least {
            parts = at_least(parts, least);
        }
        if !parts.is_empty() && parts.iter().all(|(occur, _)| *occur == Occur::Should) {
            parts = vec![(Occur::Must, Box::new(BooleanQuery::new(parts)))];
        }
        parts.extend(filter.map(|query| (Occur::Must, query)));
        Ok(Way::Any(match parts.len() {
            0 => Box::new(AllQuery),
            1 => parts.remove(0).1,
            _ => Box::new(BooleanQuery::new(parts)),
        }))
    }

    /// What leaves documents out without looking at them. Everything else is left out by what its columns say.
    fn filter(&self, ask: &Ask) -> Result<Option<Box<dyn Query>>, SearchError> {
        let mut parts: Vec<Box<dyn Query>> = Vec::new();
        let has_words = !ask.wanted.is_empty();
        if let Some(kinds) = ask.kinds {
            let (query, count) = self.of_kinds(kinds)?;
            if !has_words || count < self.count() / SMALL_SHARE {
                parts.push(query);
            }
        }
        // With words, the day of each hit is read anyway; and reading the day of every document is faster than joining
        // the lists of many days.
        if let Some((from, to)) = ask.days.map(|(from, to)| day_range(from, to))
            && !has_words
            && to.saturating_sub(from) < MANY_DAYS
        {
            parts.push(self.in_days(from, to));
        }
        Ok(match parts.len() {
            0 | 1 => parts.pop(),
            _ => Some(Box::new(BooleanQuery::intersection(parts))),
        })
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

    fn in_days(&self, from: u64, to: u64) -> Box<dyn Query> {
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

/// How documents are gone through.
enum Way {
    OneWord(OneWord),
    Any(Box<dyn Query>),
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
    /// Tells documents, in order; at most a block of them.
    fn tell_block(&mut self, documents: &[DocId], scores: &[Score]) {
        let mut packed = [0; BLOCK];
        let packed = &mut packed[..documents.len()];
        // Reading values together costs a fraction of reading one by one.
        self.place.get_vals(documents, packed);
        for ((document, score), packed) in documents.iter().zip(scores).zip(packed) {
            let document = *document;
            let is_gone =
                self.alive.is_some_and(|alive| !alive.is_alive(document)) || self.hidden.has(document);
            if !is_gone && self.keep.keeps(*packed) {
                let columns = Columns::new(*packed, &self.view.sites);
                (self.each)(&ScanHit { columns, score: *score, at: At { document, ..self.at } });
            }
        }
    }
}

/// Documents with their scores, to be told a block at a time.
struct Block {
    documents: [DocId; BLOCK],
    scores: [Score; BLOCK],
    count: usize,
}

impl Block {
    fn new() -> Self {
        Self { documents: [0; BLOCK], scores: [0.0; BLOCK], count: 0 }
    }

    fn push(&mut self, document: DocId, score: Score, teller: &mut Teller<'_, '_>) {
        self.documents[self.count] = document;
        self.scores[self.count] = score;
        self.count += 1;
        if self.count == BLOCK {
            self.flush(teller);
        }
    }

    fn flush(&mut self, teller: &mut Teller<'_, '_>) {
        teller.tell_block(&self.documents[..self.count], &self.scores[..self.count]);
        self.count = 0;
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
        reader: &SegmentReader,
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
