//! Which records a set is worked out from, and so which sets and tests a changed record touches.
//!
//! Everything is by id: records themselves stay in the book. Leaves out working anything out.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::book::{Recorded, Table};
use storypole_notebook::kinds::{Check, Reading, Set};

use super::grouped::Grouped;

/// Which set or day a check of a meter speaks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Checked {
    /// One set, whichever meter it names.
    Set(RecordId, RecordId),
    /// Every set of a meter on a day.
    Day(RecordId, Date),
}

impl Checked {
    fn by(check: &Check) -> Option<Self> {
        let meter = check.meter?;
        match (check.set, check.date) {
            (Some(set), _) => Some(Self::Set(meter, set)),
            (None, Some(date)) => Some(Self::Day(meter, date)),
            (None, None) => None,
        }
    }
}

/// What a set names, kept to find what to forget when it names something else.
#[derive(Debug, Clone, Default, PartialEq)]
struct Named {
    records: Vec<RecordId>,
    day: Option<(RecordId, Date)>,
}

impl Named {
    fn by(set: &Set, foreign: impl Iterator<Item = RecordId>) -> Self {
        let fields = [set.test, set.job, set.assembly, set.from_room, set.to_room, set.meter, set.signal];
        let mut records: Vec<RecordId> = fields.into_iter().flatten().chain(foreign).collect();
        records.sort_unstable();
        records.dedup();
        Self { records, day: set.meter.zip(set.date) }
    }
}

/// What to work out anew.
#[derive(Debug, Default)]
pub(super) struct Dirty {
    pub(super) sets: BTreeSet<RecordId>,
    pub(super) tests: BTreeSet<RecordId>,
}

/// Records by what they belong to, and sets by what they name.
#[derive(Debug, Clone)]
pub(super) struct Index {
    pub(super) readings: Grouped<RecordId>,
    pub(super) founds: Grouped<RecordId>,
    pub(super) conditions: Grouped<RecordId>,
    /// Struck ones too: a reading keeps the name of its position.
    pub(super) positions: Grouped<RecordId>,
    pub(super) checks: Grouped<Checked>,
    /// Levels by the content of the recording they were taken from.
    pub(super) recorded: Grouped<[u8; 32]>,
    of_recording: Grouped<RecordId>,
    /// Sets that were not struck, by their test.
    pub(super) of_test: Grouped<RecordId>,
    tests_of_job: Grouped<RecordId>,
    named: BTreeMap<RecordId, Named>,
    named_by: BTreeSet<(RecordId, RecordId)>,
    by_day: BTreeSet<((RecordId, Date), RecordId)>,
}

const FIRST: RecordId = RecordId::from_bytes([0; 16]);
const LAST: RecordId = RecordId::from_bytes([u8::MAX; 16]);

/// A record that was not struck.
pub(super) fn live<T: Recorded>(table: &Table<T>, id: RecordId) -> Option<&T> {
    table.get(id).filter(|record| record.meta().struck.is_none())
}

/// Whether a reading is of a level, and not of a room's decay, which stands beside the levels of its set.
pub(crate) fn is_level(reading: &Reading) -> bool {
    reading.subject.as_deref() != Some("reverberation")
}

/// The content of the recording a reading was taken from.
pub(crate) fn recording_of(book: &Book, reading: &Reading) -> Option<[u8; 32]> {
    book.photos.of(reading.recording)?.hash
}

fn content_of(book: &Book, reading: &Reading) -> Option<[u8; 32]> {
    recording_of(book, reading).filter(|_| is_level(reading))
}

impl Index {
    /// Joins the records of a book.
    pub(super) fn of(book: &Book) -> Self {
        let readings = || book.readings.live();
        let mut index = Self {
            readings: Grouped::of(readings().filter_map(|reading| Some((reading.id, reading.set?)))),
            founds: Grouped::of(book.founds.live().filter_map(|found| Some((found.id, found.set?)))),
            conditions: Grouped::of(book.conditions.live().filter_map(|one| Some((one.id, one.test?)))),
            positions: Grouped::of(book.positions.all().filter_map(|one| Some((one.id, one.test?)))),
            checks: Grouped::of(book.checks.live().filter_map(|check| Some((check.id, Checked::by(check)?)))),
            recorded: Grouped::of(readings().filter_map(|one| Some((one.id, content_of(book, one)?)))),
            of_recording: Grouped::of(readings().filter_map(|one| Some((one.id, one.recording?)))),
            of_test: Grouped::of(book.sets.live().filter_map(|set| Some((set.id, set.test?)))),
            tests_of_job: Grouped::of(book.tests.all().filter_map(|test| Some((test.id, test.job?)))),
            named: BTreeMap::new(),
            named_by: BTreeSet::new(),
            by_day: BTreeSet::new(),
        };
        index.named = book.sets.all().map(|set| (set.id, index.names(book, set))).collect();
        let names = || index.named.iter();
        let pairs = names().flat_map(|(set, named)| named.records.iter().map(|record| (*record, *set)));
        index.named_by = pairs.collect();
        index.by_day = names().filter_map(|(set, named)| Some((named.day?, *set))).collect();
        index
    }

    /// What a set names, with positions of other tests; those of its own are found by the test.
    fn names(&self, book: &Book, set: &Set) -> Named {
        let readings = self.readings.members(set.id).iter().filter_map(|reading| book.readings.get(*reading));
        let is_foreign = |position: &RecordId| {
            let test = book.positions.get(*position).and_then(|position| position.test);
            test.is_none() || test != set.test
        };
        Named::by(set, readings.filter_map(|reading| reading.position).filter(is_foreign))
    }

    /// Learns again what a set names, after any of its records changed.
    pub(super) fn name(&mut self, book: &Book, set: RecordId) {
        let now = book.sets.get(set).map(|record| self.names(book, record));
        if self.named.get(&set) == now.as_ref() {
            return;
        }
        if let Some(before) = self.named.remove(&set) {
            for record in before.records {
                self.named_by.remove(&(record, set));
            }
            if let Some(day) = before.day {
                self.by_day.remove(&(day, set));
            }
        }
        if let Some(now) = now {
            self.named_by.extend(now.records.iter().map(|record| (*record, set)));
            self.by_day.extend(now.day.map(|day| (day, set)));
            self.named.insert(set, now);
        }
    }

    /// Every set that names a record, struck ones too, oldest first.
    pub(super) fn naming(&self, record: RecordId) -> impl Iterator<Item = RecordId> {
        self.named_by.range((record, FIRST)..=(record, LAST)).map(|(_, set)| *set)
    }

    /// Levels taken from the same recording as this reading, it among them.
    pub(super) fn same_recording(&self, reading: RecordId) -> &[RecordId] {
        self.recorded.key_of(reading).map_or(&[], |content| self.recorded.members(content))
    }

    /// Takes in a record as it stands now, and marks what it touched before and touches now.
    pub(super) fn bring(&mut self, book: &Book, kind: &str, id: RecordId, dirty: &mut Dirty) {
        match kind {
            "reading" => self.bring_reading(book, id, dirty),
            "found" => {
                let set = live(&book.founds, id).and_then(|found| found.set);
                dirty.sets.extend([self.founds.place(id, set), set].into_iter().flatten());
            }
            "condition" => {
                let test = live(&book.conditions, id).and_then(|condition| condition.test);
                let before = self.conditions.place(id, test);
                self.mark_tests([before, test], dirty);
            }
            "position" => {
                let test = book.positions.get(id).and_then(|position| position.test);
                let before = self.positions.place(id, test);
                self.mark_tests([before, test], dirty);
                dirty.sets.extend(self.naming(id));
            }
            "check" => {
                let now = live(&book.checks, id).and_then(Checked::by);
                let before = self.checks.place(id, now);
                for checked in [before, now].into_iter().flatten() {
                    self.mark_checked(checked, dirty);
                }
            }
            "photo" => {
                for reading in self.of_recording.members(id).to_vec() {
                    self.bring_reading(book, reading, dirty);
                }
            }
            "set" => self.bring_set(book, id, dirty),
            "test" => {
                let job = book.tests.get(id).and_then(|test| test.job);
                self.tests_of_job.place(id, job);
                self.mark_tests([Some(id)], dirty);
            }
            "assembly" | "room" | "meter" | "signal" => dirty.sets.extend(self.naming(id)),
            "job" => self.mark_job(book, id, dirty),
            "site" => {
                for job in book.jobs.all().filter(|job| job.site == Some(id)) {
                    self.mark_job(book, job.id, dirty);
                }
            }
            _ => (),
        }
    }

    fn bring_reading(&mut self, book: &Book, id: RecordId, dirty: &mut Dirty) {
        let reading = live(&book.readings, id);
        let set = reading.and_then(|reading| reading.set);
        dirty.sets.extend([self.readings.place(id, set), set].into_iter().flatten());
        self.of_recording.place(id, reading.and_then(|reading| reading.recording));
        // Others with the same recording say in which set it is used too.
        let content = reading.and_then(|reading| content_of(book, reading));
        let before = self.recorded.place(id, content);
        for content in [before, content].into_iter().flatten() {
            self.mark_sets_of(self.recorded.members(content), dirty);
        }
    }

    fn bring_set(&mut self, book: &Book, id: RecordId, dirty: &mut Dirty) {
        dirty.sets.insert(id);
        let test = live(&book.sets, id).and_then(|set| set.test);
        self.of_test.place(id, test);
        for reading in self.readings.members(id) {
            self.mark_sets_of(self.same_recording(*reading), dirty);
        }
    }

    fn mark_sets_of(&self, readings: &[RecordId], dirty: &mut Dirty) {
        dirty.sets.extend(readings.iter().filter_map(|reading| self.readings.key_of(*reading)));
    }

    fn mark_tests<const N: usize>(&self, tests: [Option<RecordId>; N], dirty: &mut Dirty) {
        for test in tests.into_iter().flatten() {
            dirty.tests.insert(test);
            dirty.sets.extend(self.naming(test));
        }
    }

    fn mark_checked(&self, checked: Checked, dirty: &mut Dirty) {
        match checked {
            Checked::Set(_, set) => {
                dirty.sets.insert(set);
            }
            Checked::Day(meter, date) => {
                let day = (meter, date);
                dirty.sets.extend(self.by_day.range((day, FIRST)..=(day, LAST)).map(|(_, set)| *set));
            }
        }
    }

    /// A job changes no set, but what a test says of its house.
    fn mark_job(&self, book: &Book, job: RecordId, dirty: &mut Dirty) {
        dirty.tests.extend(self.tests_of_job.members(job));
        dirty.tests.extend(self.naming(job).filter_map(|set| book.sets.get(set)?.test));
    }
}
