//! Findings kept from question to question: a new record works out anew what depends on it, and nothing else.
//!
//! What depends on what stands in `kept/index.rs`. A set is worked out when its records change; a test when it is asked
//! for. Spreads are pooled over all tests, so after a change of theirs tests are worked out anew, each when it is asked for.
//!
//! [`Kept`] owns all it needs but the book, so it can be shared. Leaves out reading the book, and who shares what.

mod grouped;
mod index;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use storypole_acoustics::BackgroundRule;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Check, Condition, Found, Position, Reading, Set};

use crate::Findings;
use crate::joins::Told;
use crate::set_finding::{self, SetFinding};
use crate::spreads::{Share, Spreads};
use crate::test_finding::TestFinding;
use index::{Checked, Dirty, Index, live};

pub(crate) use index::{is_level, recording_of};

/// What an update worked out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Worked {
    /// Sets worked out anew.
    pub sets: usize,
    /// Tests whose own records changed; they are worked out when they are asked for.
    pub tests: usize,
    /// Other tests whose answer was known and is not any more, because the spreads they share changed.
    pub by_spreads: usize,
}

/// Findings of a book, worked out and joined, without the book.
///
/// Everything it answers with is what a new one of the same book would answer with, bit for bit.
#[derive(Debug, Clone)]
pub struct Kept {
    told: Told,
    rule: BackgroundRule,
    index: Index,
    sets: BTreeMap<RecordId, Arc<SetFinding>>,
    tests: BTreeMap<RecordId, KeptTest>,
    spreads: OnceLock<Spreads>,
    /// Answers that hold no more, let go of a few at a time.
    stale: Vec<Arc<TestFinding>>,
}

/// What is known of a test so far.
#[derive(Debug, Clone, Default)]
struct KeptTest {
    share: OnceLock<Share>,
    finding: OnceLock<Arc<TestFinding>>,
}

/// Stale answers let go of by one update: freeing thousands at once would be felt.
const LET_GO: usize = 16;

impl Kept {
    /// Joins the records of a book and works out every set.
    pub fn new(book: &Book, told: Told) -> Self {
        let mut kept = Self {
            told,
            rule: set_finding::rule(book),
            index: Index::of(book),
            sets: BTreeMap::new(),
            tests: book.tests.all().map(|test| (test.id, KeptTest::default())).collect(),
            spreads: OnceLock::new(),
            stale: Vec::new(),
        };
        let view = Findings::of(book, &kept);
        let sets = book.sets.all().map(|set| (set.id, Arc::new(set_finding::find(&view, set))));
        kept.sets = sets.collect();
        kept
    }

    /// Takes in records that were added, changed, struck or removed, by kind and id.
    ///
    /// `book` is the book as it stands now, and `told` what the history tells now; a record that did not change may be
    /// named all the same.
    pub fn update<'k>(
        &mut self,
        book: &Book,
        changed: impl IntoIterator<Item = (&'k str, RecordId)>,
        told: &Told,
    ) -> Worked {
        if set_finding::rule(book) != self.rule {
            *self = Self::new(book, told.clone());
            return Worked { sets: self.sets.len(), tests: self.tests.len(), by_spreads: 0 };
        }
        let mut dirty = Dirty::default();
        for (kind, id) in changed {
            self.index.bring(book, kind, id, &mut dirty);
        }
        self.bring_told(told, &mut dirty);
        for set in &dirty.sets {
            let tests = [self.sets.get(set).and_then(|known| known.test), self.work_out(book, *set)];
            dirty.tests.extend(tests.into_iter().flatten());
        }
        let by_spreads = self.forget(book, &dirty.tests);
        self.let_go();
        Worked { sets: dirty.sets.len(), tests: dirty.tests.len(), by_spreads }
    }

    fn bring_told(&mut self, told: &Told, dirty: &mut Dirty) {
        if self.told == *told {
            return;
        }
        for (held, told) in [(&self.told.left_out, &told.left_out), (&self.told.included, &told.included)] {
            dirty.sets.extend(differing(held, told).chain(differing(told, held)));
        }
        let retaken = self.told.retaken.symmetric_difference(&told.retaken);
        dirty.sets.extend(retaken.filter_map(|reading| self.index.readings.key_of(*reading)));
        self.told = told.clone();
    }

    /// Works out a set, or forgets it where it is gone, and tells its test.
    fn work_out(&mut self, book: &Book, set: RecordId) -> Option<RecordId> {
        self.index.name(book, set);
        let Some(record) = book.sets.get(set) else {
            self.sets.remove(&set);
            return None;
        };
        let finding = set_finding::find(&Findings::of(book, self), record);
        self.sets.insert(set, Arc::new(finding));
        record.test
    }

    /// Forgets tests, and the answers of others where the spreads they rest on are not what they were.
    fn forget(&mut self, book: &Book, tests: &BTreeSet<RecordId>) -> usize {
        let before = self.spreads.take();
        let mut shares_differ = false;
        for test in tests {
            let known = self.tests.remove(test).unwrap_or_default();
            self.stale.extend(known.finding.into_inner());
            let now = KeptTest::default();
            if before.is_some() {
                let share = Share::of(&Findings::of(book, self), *test);
                shares_differ |= known.share.get() != Some(&share);
                now.share.set(share).expect("it was made empty just above");
            }
            if book.tests.get(*test).is_some() {
                self.tests.insert(*test, now);
            }
        }
        let Some(before) = before else { return 0 };
        if !shares_differ {
            self.spreads = OnceLock::from(before);
            return 0;
        }
        let now = Findings::of(book, self).spreads().clone();
        if now == before { 0 } else { self.forget_resting_on(&before, &now) }
    }

    fn forget_resting_on(&mut self, before: &Spreads, now: &Spreads) -> usize {
        let rests = |finding: &Arc<TestFinding>| {
            // A test without a unit of its own may rest on any.
            let differs = |unit| {
                before.scatter.get(unit) != now.scatter.get(unit)
                    || before.repeats.get(unit) != now.repeats.get(unit)
            };
            finding.groups.iter().any(|group| group.unit.as_ref().is_none_or(differs))
        };
        let known = self.stale.len();
        for test in self.tests.values_mut() {
            if test.finding.get().is_some_and(rests) {
                self.stale.extend(test.finding.take());
            }
        }
        self.stale.len() - known
    }

    fn let_go(&mut self) {
        let most = self.stale.len().saturating_sub(LET_GO).min(self.tests.len());
        self.stale.truncate(most);
    }

    /// What history told at the last update.
    pub fn told(&self) -> &Told {
        &self.told
    }

    pub(crate) fn rule(&self) -> BackgroundRule {
        self.rule
    }

    pub(crate) fn set(&self, set: RecordId) -> Option<&Arc<SetFinding>> {
        self.sets.get(&set)
    }

    /// Sets of a test that were not struck, oldest first.
    pub(crate) fn sets_of_test(&self, test: RecordId) -> impl Iterator<Item = &Arc<SetFinding>> {
        self.index.of_test.members(test).iter().filter_map(|set| self.sets.get(set))
    }

    /// Sets that were not struck, test by test.
    pub(crate) fn sets(&self) -> impl Iterator<Item = &Arc<SetFinding>> {
        self.index.of_test.all_members().filter_map(|set| self.sets.get(set))
    }

    /// Sets that name a record and were not struck, in the order of [`Self::sets`].
    pub(crate) fn sets_naming(&self, record: RecordId) -> Vec<&Arc<SetFinding>> {
        let of_test = |set: RecordId| Some((self.index.of_test.key_of(set)?, set));
        let mut sets: Vec<_> = self.index.naming(record).filter_map(of_test).collect();
        sets.sort_unstable();
        sets.into_iter().filter_map(|(_, set)| self.sets.get(&set)).collect()
    }

    pub(crate) fn readings_of<'a>(&self, book: &'a Book, set: RecordId) -> Vec<&'a Reading> {
        self.index.readings.members(set).iter().filter_map(|id| book.readings.get(*id)).collect()
    }

    pub(crate) fn same_recording<'a>(
        &self,
        book: &'a Book,
        reading: RecordId,
    ) -> impl Iterator<Item = &'a Reading> {
        self.index.same_recording(reading).iter().filter_map(|id| book.readings.get(*id))
    }

    pub(crate) fn positions_of<'a>(&self, book: &'a Book, test: RecordId) -> Vec<&'a Position> {
        self.index.positions.members(test).iter().filter_map(|id| live(&book.positions, *id)).collect()
    }

    pub(crate) fn conditions_of<'a>(
        &self,
        book: &'a Book,
        test: RecordId,
    ) -> impl Iterator<Item = &'a Condition> {
        self.index.conditions.members(test).iter().filter_map(|id| book.conditions.get(*id))
    }

    pub(crate) fn founds_of<'a>(&self, book: &'a Book, set: RecordId) -> Vec<&'a Found> {
        self.index.founds.members(set).iter().filter_map(|id| book.founds.get(*id)).collect()
    }

    /// Checks of a set's meter that speak for the set: its own, and those of its day, oldest first.
    pub(crate) fn checks_of<'a>(&self, book: &'a Book, set: &Set) -> Vec<&'a Check> {
        let Some(meter) = set.meter else { return Vec::new() };
        let own = self.index.checks.members(Checked::Set(meter, set.id)).iter();
        let of_day = set.date.map_or(&[][..], |date| self.index.checks.members(Checked::Day(meter, date)));
        let mut checks: Vec<&Check> = own.chain(of_day).filter_map(|id| book.checks.get(*id)).collect();
        checks.sort_by_key(|check| check.id);
        checks
    }

    /// What a test shows, worked out the first time it is asked for.
    pub(crate) fn test(
        &self,
        test: RecordId,
        work_out: impl FnOnce() -> Option<TestFinding>,
    ) -> Option<Arc<TestFinding>> {
        let known = self.tests.get(&test)?;
        if let Some(finding) = known.finding.get() {
            return Some(Arc::clone(finding));
        }
        let finding = Arc::new(work_out()?);
        // Where another asked at the same time, both worked out the same.
        let _ = known.finding.set(Arc::clone(&finding));
        Some(finding)
    }

    /// How many tests are worked out.
    #[cfg(test)]
    pub(crate) fn worked_out(&self) -> usize {
        self.tests.values().filter(|known| known.finding.get().is_some()).count()
    }

    /// What each test gives to the pooled spreads, in the order of their ids; struck ones give nothing.
    pub(crate) fn shares<'k>(
        &'k self,
        view: &'k Findings<'_>,
    ) -> impl Iterator<Item = (RecordId, &'k Share)> {
        self.tests.iter().map(|(test, known)| (*test, known.share.get_or_init(|| Share::of(view, *test))))
    }

    pub(crate) fn spreads(&self, pool: impl FnOnce() -> Spreads) -> &Spreads {
        self.spreads.get_or_init(pool)
    }
}

/// Sets whose reason here is not the reason there.
fn differing<'a>(
    here: &'a BTreeMap<RecordId, String>,
    there: &'a BTreeMap<RecordId, String>,
) -> impl Iterator<Item = RecordId> + 'a {
    here.iter().filter(|(set, why)| there.get(set) != Some(why)).map(|(set, _)| *set)
}

#[cfg(test)]
mod tests;
