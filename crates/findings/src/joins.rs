//! The records joined once, so that many questions can be asked of them.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use storypole_acoustics::BackgroundRule;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Check, Condition, Found, Position, Reading, Set};

use crate::control::Controls;
use crate::costs::Costs;
use crate::set_finding::{self, SetFinding};
use crate::spreads::Spreads;

/// What only the history of records tells, so that a book does not hold it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Told {
    /// Why a person left a set out.
    pub left_out: BTreeMap<RecordId, String>,
    /// Readings replaced at once, within their round, and not corrected since.
    pub retaken: BTreeSet<RecordId>,
}

/// Findings of one book: every set is worked out at the start, the rest when asked.
///
/// Sharing is by reference, so a book cannot change under it; make a new one after new records.
pub struct Findings<'a> {
    pub(crate) book: &'a Book,
    pub(crate) told: Told,
    pub(crate) costs: Costs,
    pub(crate) rule: BackgroundRule,
    readings: BTreeMap<RecordId, Vec<&'a Reading>>,
    founds: BTreeMap<RecordId, Vec<&'a Found>>,
    conditions: BTreeMap<RecordId, Vec<&'a Condition>>,
    positions: BTreeMap<RecordId, Vec<&'a Position>>,
    checks: BTreeMap<RecordId, Vec<&'a Check>>,
    /// Levels by the content of the recording they were taken from.
    recorded: BTreeMap<[u8; 32], Vec<&'a Reading>>,
    sets: BTreeMap<RecordId, SetFinding>,
    of_test: BTreeMap<RecordId, Vec<RecordId>>,
    pub(crate) spreads: OnceCell<Spreads>,
    controls: OnceCell<Controls>,
}

/// Records by what they belong to.
fn grouped<'a, T, K: Ord>(
    records: impl Iterator<Item = &'a T>,
    of: impl Fn(&T) -> Option<K>,
) -> BTreeMap<K, Vec<&'a T>> {
    let mut groups: BTreeMap<K, Vec<&'a T>> = BTreeMap::new();
    for record in records {
        if let Some(key) = of(record) {
            groups.entry(key).or_default().push(record);
        }
    }
    groups
}

/// Whether a reading is of a level, and not of a room's decay, which stands beside the levels of its set.
pub(crate) fn is_level(reading: &Reading) -> bool {
    reading.subject.as_deref() != Some("reverberation")
}

/// The content of the recording a reading was taken from.
pub(crate) fn recording_of(book: &Book, reading: &Reading) -> Option<[u8; 32]> {
    book.photos.of(reading.recording)?.hash
}

impl<'a> Findings<'a> {
    /// Joins the records of a book and works out every set.
    pub fn new(book: &'a Book) -> Self {
        Self::with(book, Told::default())
    }

    /// As [`Self::new`], with what the history of the records tells.
    pub fn with(book: &'a Book, told: Told) -> Self {
        let mut joined = Self {
            book,
            told,
            costs: Costs::default(),
            rule: set_finding::rule(book),
            readings: grouped(book.readings.live(), |reading| reading.set),
            founds: grouped(book.founds.live(), |found| found.set),
            conditions: grouped(book.conditions.live(), |condition| condition.test),
            positions: grouped(book.positions.live(), |position| position.test),
            checks: grouped(book.checks.live(), |check| check.meter),
            recorded: grouped(book.readings.live().filter(|reading| is_level(reading)), |reading| {
                recording_of(book, reading)
            }),
            sets: BTreeMap::new(),
            of_test: BTreeMap::new(),
            spreads: OnceCell::new(),
            controls: OnceCell::new(),
        };
        for set in book.sets.all() {
            let finding = set_finding::find(&joined, set);
            if let Some(test) = set.test.filter(|_| set.meta.struck.is_none()) {
                joined.of_test.entry(test).or_default().push(set.id);
            }
            joined.sets.insert(set.id, finding);
        }
        joined
    }

    /// With what the jobs cost, for results that are weighed against money.
    #[must_use]
    pub fn costed(mut self, costs: Costs) -> Self {
        self.costs = costs;
        self
    }

    /// What a set shows, struck ones too.
    pub fn set(&self, set: RecordId) -> Option<&SetFinding> {
        self.sets.get(&set)
    }

    /// Every set that was not struck, oldest first.
    pub fn sets(&self) -> impl Iterator<Item = &SetFinding> {
        self.of_test.values().flatten().filter_map(|set| self.sets.get(set))
    }

    pub(crate) fn sets_of_test(&self, test: RecordId) -> impl Iterator<Item = &SetFinding> {
        self.of_test.get(&test).into_iter().flatten().filter_map(|set| self.sets.get(set))
    }

    /// Sets of untouched walls, sorted out once.
    pub(crate) fn controls(&self) -> &Controls {
        self.controls.get_or_init(|| Controls::of(self))
    }

    pub(crate) fn readings_of(&self, set: RecordId) -> &[&'a Reading] {
        self.readings.get(&set).map_or(&[], Vec::as_slice)
    }

    /// Every level that was taken from this recording, by its content.
    pub(crate) fn recorded_as(&self, content: [u8; 32]) -> &[&'a Reading] {
        self.recorded.get(&content).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn positions_of(&self, test: RecordId) -> &[&'a Position] {
        self.positions.get(&test).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn checks_of(&self, meter: RecordId) -> &[&'a Check] {
        self.checks.get(&meter).map_or(&[], Vec::as_slice)
    }

    /// Every condition of a set's test with what was found in the set.
    pub(crate) fn conditions_of(&self, set: &Set) -> Vec<(&'a Condition, Option<&'a Found>)> {
        let conditions = set.test.and_then(|test| self.conditions.get(&test)).map_or(&[][..], Vec::as_slice);
        let founds = self.founds.get(&set.id).map_or(&[][..], Vec::as_slice);
        let found = |condition: &Condition| {
            founds.iter().rev().find(|found| found.condition == Some(condition.id)).copied()
        };
        conditions.iter().map(|condition| (*condition, found(condition))).collect()
    }

    pub(crate) fn room_name(&self, room: Option<RecordId>) -> Option<&'a str> {
        self.book.rooms.of(room)?.name.as_deref()
    }

    pub(crate) fn assembly_label(&self, assembly: Option<RecordId>) -> String {
        self.book.assemblies.of(assembly).and_then(|assembly| assembly.label.clone()).unwrap_or_default()
    }

    pub(crate) fn job_label(&self, job: Option<RecordId>) -> String {
        self.book.jobs.of(job).and_then(|job| job.label.clone()).unwrap_or_default()
    }
}
