//! Going through all that matches: what counts, how often each value of a filter stands in it, and the best of each kind.
//!
//! One pass tells totals, filters and a page of every kind. Leaves out what a question means.

mod tally;

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use storypole_journal::RecordId;

use super::ask::{About, Asked, Demands};
use super::filters::{Counts, Resolved};
use super::{Basis, Found, HitGroup, Search};
use crate::SearchError;
use crate::columns::{Columns, KindSet};
use crate::facts::Facts;
use crate::scan::{Ask, ScanHit, Scored, Wanted};
use crate::snippet::{marked, snippet};
use crate::view::At;
use tally::{Fails, Tally, Told};

/// The order of what is found, within each kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// Best match first; of equal ones the newer first.
    #[default]
    Match,
    /// Newest first.
    Date,
    /// Largest reduction first, then what has none; what may not be claimed apart, at the end.
    Reduction,
}

impl Order {
    /// Reads `match`, `date` or `reduction`.
    pub fn parse(word: &str) -> Option<Self> {
        Some(match word {
            "match" => Self::Match,
            "date" => Self::Date,
            "reduction" => Self::Reduction,
            _ => return None,
        })
    }

    /// The word for programs.
    pub fn word(self) -> &'static str {
        match self {
            Self::Match => "match",
            Self::Date => "date",
            Self::Reduction => "reduction",
        }
    }
}

/// Where a hit stands among those of its kind; greater comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    main: i64,
    day: u64,
    record: RecordId,
}

/// Where a page ended. Handed back, it begins the next one behind the same record, wherever that stands by then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cursor(Place);

impl fmt::Display for Cursor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}.{}", self.0.main, self.0.day, self.0.record)
    }
}

/// A text that is no cursor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("this is not where a page ended")]
pub struct NoCursor;

impl FromStr for Cursor {
    type Err = NoCursor;

    fn from_str(text: &str) -> Result<Self, NoCursor> {
        let mut parts = text.splitn(3, '.');
        let mut next = || parts.next().ok_or(NoCursor);
        Ok(Self(Place {
            main: next()?.parse().map_err(|_| NoCursor)?,
            day: next()?.parse().map_err(|_| NoCursor)?,
            record: next()?.parse().map_err(|_| NoCursor)?,
        }))
    }
}

/// Records with results that are looked at for their grade alone; above it the filter is not offered (convention of this
/// project: working out findings takes about a millisecond each).
const MOST_GRADED: usize = 400;

/// What matches.
pub(super) struct Gathered {
    pub(super) total: usize,
    counts: Counts,
    kinds: Vec<OfKind>,
}

/// What matches of one kind.
struct OfKind {
    kind: &'static str,
    count: usize,
    /// How many stand on the page that was asked for and on those behind it.
    ahead: usize,
    best: f32,
    /// The worst on top.
    kept: BinaryHeap<Reverse<(Place, Kept)>>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Kept {
    at: At,
    score: f32,
}

impl Eq for Kept {}

impl PartialOrd for Kept {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Kept {
    /// No two hits stand at one place, so what is kept of them never decides.
    fn cmp(&self, _: &Self) -> std::cmp::Ordering {
        std::cmp::Ordering::Equal
    }
}

/// Looks at all that matches.
pub(super) fn gather(
    (wanted, least): &(Vec<Wanted>, Option<usize>),
    asked: &Asked,
    chosen: &Resolved,
    search: &Search,
    basis: &Basis<'_, '_>,
) -> Result<Gathered, SearchError> {
    let scored = if wanted.is_empty() || search.order != Order::Match { Scored::No } else { Scored::Yes };
    let ask = Ask {
        wanted: wanted.clone(),
        least: *least,
        unwanted: asked.unwanted.clone(),
        kinds: kinds_scanned(&asked.demands, search),
        days: (asked.demands.days != (None, None)).then_some(asked.demands.days),
        scored,
    };
    let mut gathering = Gathering::new(&asked.demands, chosen, search, basis);
    gathering.exact = asked.exact;
    if let Some(page) = &search.page {
        gathering.after = Some(gathering.now(page.after, &ask)?);
    }
    basis.view.scan(&ask, &mut |hit| gathering.take(hit))?;
    Ok(gathering.done())
}

/// Kinds that can meet the demands at all.
fn kinds_scanned(demands: &Demands, search: &Search) -> Option<KindSet> {
    if let Some(page) = &search.page {
        return Some(KindSet::of([page.kind.as_str()]));
    }
    if let Some(kind) = demands.kind {
        return Some(KindSet::of([kind]));
    }
    // What has no day of its own was written down some day, which is no answer to when something was done.
    let dated = KindSet::of(["job", "entry", "assembly", "test", "set", "receipt", "task", "photo"]);
    let with_facts = KindSet::of(["assembly", "job", "test", "set", "receipt", "material"]);
    let asks_facts = !demands.quantities.is_empty() || !demands.grades.is_empty();
    let asks_days = demands.days != (None, None);
    match (asks_facts, asks_days) {
        (false, false) => None,
        (true, false) => Some(with_facts),
        (false, true) => Some(dated),
        (true, true) => Some(with_facts.both(dated)),
    }
}

struct Gathering<'a, 'b> {
    demands: &'a Demands,
    chosen: &'a Resolved,
    search: &'a Search,
    basis: &'a Basis<'a, 'b>,
    /// Whether facts that rest on findings are looked at for every record.
    is_whole: bool,
    /// Records with results that pass all filters but that of grades, where facts are not looked at anyway.
    graded: Vec<(&'static str, RecordId)>,
    tally: Tally,
    total: usize,
    kinds: Vec<OfKind>,
    /// Where the page before ended.
    after: Option<Place>,
    /// The record whose label was typed alone.
    exact: Option<RecordId>,
}

impl<'a, 'b> Gathering<'a, 'b> {
    fn new(demands: &'a Demands, chosen: &'a Resolved, search: &'a Search, basis: &'a Basis<'a, 'b>) -> Self {
        let is_whole = !demands.quantities.is_empty()
            || !demands.grades.is_empty()
            || !chosen.grades.is_empty()
            || search.order == Order::Reduction;
        let of_kind = |kind| OfKind { kind, count: 0, ahead: 0, best: 0.0, kept: BinaryHeap::new() };
        let kinds = KindSet::ALL.names().map(of_kind).collect();
        let (graded, tally) = (Vec::new(), Tally::default());
        Self {
            demands,
            chosen,
            search,
            basis,
            is_whole,
            graded,
            tally,
            total: 0,
            kinds,
            after: None,
            exact: None,
        }
    }

    /// Where the last record of the page before stands now: every note that is written moves the scores of all others a little.
    /// Where it is gone it stays where it stood.
    fn now(&self, after: Cursor, ask: &Ask) -> Result<Place, SearchError> {
        let Cursor(mut place) = after;
        self.basis.view.scan(ask, &mut |hit| {
            if self.basis.view.record(hit.at) == after.0.record {
                let kind = hit.columns.kind();
                let facts = (self.is_whole && has_facts(kind)).then(|| self.facts(kind, after.0.record));
                let score = weighed(hit, self.exact == Some(after.0.record));
                place.main = main(self.search.order, score, &hit.columns, facts.as_deref());
                place.day = hit.columns.day_number();
            }
        })?;
        Ok(place)
    }

    fn take(&mut self, hit: &ScanHit<'_>) {
        let columns = &hit.columns;
        if !self.is_at(columns) {
            return;
        }
        let kind = columns.kind();
        let record = has_facts(kind).then(|| self.basis.view.record(hit.at));
        let facts = record.filter(|_| self.is_whole).map(|record| self.facts(kind, record));
        if !self.meets(facts.as_deref()) {
            return;
        }
        let told = self.told(kind, record, facts.as_deref());
        let fails = self.fails(columns, &told);
        self.tally.take(columns, &told, fails);
        if fails != Fails::NONE {
            return;
        }
        if let Some(record) = record.filter(|_| !self.is_whole && self.graded.len() <= MOST_GRADED) {
            self.graded.push((kind, record));
        }
        self.keep(hit, facts.as_deref());
    }

    fn facts(&self, kind: &str, record: RecordId) -> Arc<Facts> {
        self.basis.facts.facts(self.basis.book, self.basis.findings, kind, record)
    }

    fn told(&self, kind: &str, record: Option<RecordId>, facts: Option<&Facts>) -> Told {
        match (facts, record) {
            (Some(facts), _) => {
                Told { names: [facts.fills, facts.frames, facts.states], grade: facts.grade_letter() }
            }
            (None, Some(record)) => {
                let names = self.basis.facts.built(self.basis.book, self.basis.findings, kind, record);
                Told { names, grade: None }
            }
            (None, None) => Told::default(),
        }
    }

    /// Whether the site is one that was asked for.
    fn is_at(&self, columns: &Columns<'_>) -> bool {
        let Demands { sites, unwanted_sites, .. } = self.demands;
        if sites.is_empty() && unwanted_sites.is_empty() {
            return true;
        }
        let site = columns.site();
        let is = |list: &[RecordId]| site.is_some_and(|site| list.contains(&site));
        (sites.is_empty() || is(sites)) && !is(unwanted_sites)
    }

    fn meets(&self, facts: Option<&Facts>) -> bool {
        let Demands { quantities, grades, .. } = self.demands;
        if quantities.is_empty() && grades.is_empty() {
            return true;
        }
        facts.is_some_and(|facts| {
            quantities.iter().all(|asked| facts.satisfies(asked))
                && grades.iter().all(|(best, worst)| facts.is_graded(*best, *worst))
        })
    }

    fn fails(&self, columns: &Columns<'_>, told: &Told) -> Fails {
        let Resolved { kinds, sites, fills, frames, states, grades, years } = self.chosen;
        let mut fails = Fails::NONE;
        let mut note = |one, is_chosen: bool, passes: &dyn Fn() -> bool| {
            if is_chosen && !passes() {
                fails = fails.and(one);
            }
        };
        note(Fails::KIND, !kinds.is_empty(), &|| kinds.has(columns.kind()));
        note(Fails::SITE, !sites.is_empty(), &|| columns.site().is_some_and(|site| sites.contains(&site)));
        for (at, wanted) in [fills, frames, states].into_iter().enumerate() {
            note(Fails::NAMES[at], !wanted.is_empty(), &|| wanted.meets(told.names[at]));
        }
        note(Fails::GRADE, !grades.is_empty(), &|| told.grade.is_some_and(|grade| grades.contains(&grade)));
        note(Fails::YEAR, !years.is_empty(), &|| {
            columns.day().is_some_and(|day| years.contains(&day.year()))
        });
        fails
    }

    fn keep(&mut self, hit: &ScanHit<'_>, facts: Option<&Facts>) {
        self.total += 1;
        let of_kind = &mut self.kinds[hit.columns.kind_number()];
        of_kind.count += 1;
        let is_exact = self.exact.is_some_and(|exact| self.basis.view.record(hit.at) == exact);
        let score = weighed(hit, is_exact);
        of_kind.best = of_kind.best.max(score);
        let (main, day) = (main(self.search.order, score, &hit.columns, facts), hit.columns.day_number());
        // Taken back below where it stands on a page before.
        of_kind.ahead += 1;
        let is_full = of_kind.kept.len() > self.search.limit;
        let worst = of_kind.kept.peek().filter(|_| is_full).map(|Reverse((worst, _))| *worst);
        // Most hits end here, before anything more of them is read.
        if worst.is_some_and(|worst| (main, day) < (worst.main, worst.day)) {
            return;
        }
        let place = Place { main, day, record: self.basis.view.record(hit.at) };
        let is_before = self.after.is_some_and(|after| place >= after);
        if is_before {
            of_kind.ahead -= 1;
            return;
        }
        if worst.is_some_and(|worst| place < worst) {
            return;
        }
        of_kind.kept.push(Reverse((place, Kept { at: hit.at, score })));
        if is_full {
            of_kind.kept.pop();
        }
    }

    fn done(self) -> Gathered {
        let grades = self.grades();
        let counts = self.tally.counts(self.basis.view, grades);
        Gathered { total: self.total, counts, kinds: self.kinds }
    }

    fn grades(&self) -> Option<BTreeMap<char, usize>> {
        if self.is_whole {
            return Some(self.tally.grades.clone());
        }
        if self.graded.len() > MOST_GRADED {
            return None;
        }
        let mut grades = BTreeMap::new();
        for (kind, record) in &self.graded {
            if let Some(grade) = self.facts(kind, *record).grade_letter() {
                *grades.entry(grade).or_default() += 1;
            }
        }
        Some(grades)
    }
}

/// The score with what its kind weighs. What was called by its label stands before all that only name it.
fn weighed(hit: &ScanHit<'_>, is_exact: bool) -> f32 {
    const EXACT: f32 = 100.0;
    hit.score * hit.columns.weight() * if is_exact { EXACT } else { 1.0 }
}

/// Kinds of records that have facts: see [`Facts`].
fn has_facts(kind: &str) -> bool {
    matches!(kind, "assembly" | "job" | "test" | "set" | "receipt" | "material")
}

/// What decides first where a hit stands.
fn main(order: Order, score: f32, columns: &Columns<'_>, facts: Option<&Facts>) -> i64 {
    match order {
        // Rounded, so that scores that differ by the order of a sum alone are equal.
        Order::Match => (f64::from(score) * 1_000.0).round() as i64,
        Order::Date => i64::try_from(columns.day_number()).unwrap_or(0),
        Order::Reduction => facts.map_or(0, standing),
    }
}

/// What may be claimed stands first, by millidecibels; then what has no number; what may not be claimed is apart, at the end.
fn standing(facts: &Facts) -> i64 {
    const CLASS: i64 = 1 << 40;
    let Some(reduction) = &facts.reduction else { return 2 * CLASS };
    let class = if facts.claimed() { 3 * CLASS } else { CLASS };
    // No level lies outside, so classes never meet.
    class + (reduction.value_db.clamp(-1e6, 1e6) * 1_000.0).round() as i64
}

impl Gathered {
    /// A page of each kind, in the order a person wants them.
    pub(super) fn groups(
        self,
        asked: &Asked,
        search: &Search,
        basis: &Basis<'_, '_>,
    ) -> Result<(Vec<HitGroup>, Counts), SearchError> {
        let mut kinds: Vec<OfKind> = self.kinds.into_iter().filter(|of_kind| of_kind.count > 0).collect();
        kinds.sort_by(|one, other| {
            let by_subject = rank(asked.about, one.kind).cmp(&rank(asked.about, other.kind));
            by_subject.then(other.best.total_cmp(&one.best))
        });
        let groups = kinds.into_iter().map(|of_kind| of_kind.group(asked, search, basis));
        Ok((groups.collect::<Result<_, _>>()?, self.counts))
    }
}

/// Kinds that a question is about come first, in this order; all others by their best match.
fn rank(about: About, kind: &str) -> usize {
    let first: &[&str] = match about {
        About::Walls => &["assembly", "job", "test", "set"],
        About::Money => &["job", "receipt"],
        About::Anything => &[],
    };
    first.iter().position(|first| *first == kind).unwrap_or(first.len())
}

impl OfKind {
    fn group(self, asked: &Asked, search: &Search, basis: &Basis<'_, '_>) -> Result<HitGroup, SearchError> {
        let mut kept: Vec<(Place, Kept)> =
            self.kept.into_sorted_vec().into_iter().map(|Reverse(kept)| kept).collect();
        let has_more = kept.len() > search.limit;
        kept.truncate(search.limit);
        let next = kept.last().filter(|_| has_more).map(|(place, _)| Cursor(*place));
        let hits = kept.iter().map(|(place, kept)| found(place.record, *kept, asked, search, basis));
        let more = self.ahead.saturating_sub(kept.len());
        Ok(HitGroup { kind: self.kind, count: self.count, more, hits: hits.collect::<Result<_, _>>()?, next })
    }
}

fn found(
    record: RecordId,
    kept: Kept,
    asked: &Asked,
    search: &Search,
    basis: &Basis<'_, '_>,
) -> Result<Found, SearchError> {
    let stored = basis.view.document(kept.at)?;
    let facts = basis.facts.facts(basis.book, basis.findings, &stored.kind, record);
    Ok(Found {
        record,
        title: marked(&stored.title, &asked.marked),
        snippet: snippet(&stored.texts.join(" · "), &asked.marked),
        site: basis.view.columns(kept.at).site(),
        date: stored.date,
        score: kept.score,
        is_apart: search.order == Order::Reduction && facts.reduction.is_some() && !facts.claimed(),
        facts,
        kind: stored.kind,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cursors_round_trip_and_other_texts_are_none() {
        let record = RecordId::from_bytes([7; 16]);
        for main in [0, -5, i64::MAX] {
            let cursor = Cursor(Place { main, day: 45_000, record });
            assert_eq!(cursor.to_string().parse(), Ok(cursor));
        }
        for text in ["", "1", "1.2", "a.b.c", "1.2.3", "1.2.\u{202e}"] {
            assert_eq!(text.parse::<Cursor>(), Err(NoCursor), "{text}");
        }
    }

    #[test]
    fn the_subject_of_a_question_comes_first() {
        assert!(rank(About::Walls, "assembly") < rank(About::Walls, "set"));
        assert!(rank(About::Walls, "set") < rank(About::Walls, "receipt"));
        assert!(rank(About::Money, "receipt") < rank(About::Money, "assembly"));
        assert_eq!(rank(About::Anything, "assembly"), rank(About::Anything, "photo"));
    }
}
