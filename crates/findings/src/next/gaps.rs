//! Results that are missing or spoilt: walls about to change, tests half taken, bounds, sets that are out.
//!
//! A wall that was rebuilt cannot be measured again, so only walls that stand are named. Leaves out averages over jobs.

use std::collections::{BTreeMap, BTreeSet};

use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::kinds::{Assembly, Job, Test};

use super::classes::{Class, class_of, pools};
use super::{Candidate, Effort, Expected, Kind, effort, new_variance, words};
use crate::Findings;
use crate::across::Row;
use crate::plan::numbers::FEWEST_RECEIVE;
use crate::set_finding::SetFinding;
use crate::test_finding::{Group, groups, is_other_wall};

/// What is known beside one test when its gaps are looked for.
struct Around<'r> {
    /// Walls another version replaced.
    replaced: BTreeSet<RecordId>,
    /// Versions that replaced a wall, by that wall.
    replaced_by: BTreeMap<RecordId, RecordId>,
    /// Walls with a set that holds readings.
    read: BTreeSet<RecordId>,
    /// Averages by class: variance now and after one more test of the weighting.
    known: BTreeMap<Class, (Option<f64>, f64)>,
    /// Class of the row that a set stands behind.
    class_of_set: BTreeMap<RecordId, &'r Row>,
}

impl Findings<'_> {
    pub(super) fn next_gaps(&self, rows: &[Row]) -> Vec<Candidate> {
        let around = self.gaps_around(rows);
        let mut found = Vec::new();
        for test in self.book.tests.live() {
            let is_level = test.measures.as_deref().is_none_or(|measures| measures == "level-difference");
            if !is_level || test.bench_rig == Some(true) {
                continue;
            }
            if self.sets_of_test(test.id).next().is_none() {
                found.extend(self.gap_begin(test));
                continue;
            }
            let mut said = BTreeSet::new();
            for group in groups(self, test.id) {
                for candidate in self.gaps_of_group(&around, test.id, &group) {
                    // Both ways and both weightings of one wall are one visit.
                    if said.insert((candidate.kind, candidate.assembly)) {
                        found.push(candidate);
                    }
                }
            }
        }
        found.extend(self.walls_unmeasured(&around));
        found
    }

    fn gaps_around<'r>(&self, rows: &'r [Row]) -> Around<'r> {
        let links = self.book.assemblies.live().filter_map(|wall| Some((wall.replaces?, wall.id)));
        let replaced_by: BTreeMap<RecordId, RecordId> = links.collect();
        let mut variances: BTreeMap<Unit, Option<f64>> = BTreeMap::new();
        let mut known = BTreeMap::new();
        for pool in pools(rows) {
            let unit = pool.unit();
            let v_new = *variances.entry(unit).or_insert_with(|| new_variance(&self.sound_spread(unit)));
            if let Some(next) = v_new.and_then(|v_new| pool.next(v_new)) {
                known.insert(pool.class, (next.variance_now, next.variance_after));
            }
        }
        Around {
            replaced: replaced_by.keys().copied().collect(),
            replaced_by,
            read: self.sets().filter(|set| set.is_read()).filter_map(|set| set.assembly).collect(),
            known,
            class_of_set: rows
                .iter()
                .flat_map(|row| row.set_ids.iter().map(move |set| (*set, row)))
                .collect(),
        }
    }

    fn is_control_set(&self, set: &SetFinding) -> bool {
        self.book.sets.get(set.set).is_some_and(|record| record.control == Some(true))
    }

    fn gaps_of_group(&self, around: &Around<'_>, test: RecordId, group: &Group) -> Vec<Candidate> {
        let sets: Vec<&SetFinding> =
            group.sets.iter().map(AsRef::as_ref).filter(|set| !self.is_control_set(set)).collect();
        let usable: Vec<&SetFinding> =
            sets.iter().copied().filter(|set| set.is_in() && set.receive.is_some()).collect();
        let mut found = Vec::new();
        if let Some(first) = usable.first()
            && usable.iter().all(|set| !is_other_wall(first, set))
        {
            found.extend(self.gap_only_before(around, test, first, usable.len()));
        }
        found.extend(sets.iter().filter_map(|set| self.gap_spoilt(around, test, set, &usable)));
        found
    }

    /// A test that shows one wall so far.
    fn gap_only_before(
        &self,
        around: &Around<'_>,
        test: RecordId,
        first: &SetFinding,
        sets: usize,
    ) -> Option<Candidate> {
        let wall = first.assembly?;
        let newest = newest(&around.replaced_by, wall);
        if newest != wall {
            let record = self.book.assemblies.get(newest)?;
            // Bare studs or one side open: the finished wall is still to come, but this state goes with the next board.
            let kind = if is_open(record) { Kind::BeforeItIsClosed } else { Kind::After };
            return (!around.read.contains(&newest))
                .then(|| self.gap_candidate(kind, Some(test), record, first.job, Expected::unknown()));
        }
        let record = self.book.assemblies.get(wall)?;
        let is_open_job = self.book.jobs.of(first.job).is_some_and(is_open_job);
        if !is_open_job {
            // The job is done and nobody wrote a new version down: either the set after was never taken, or nothing was built. A wall
            // that was measured as it stands waits for nothing.
            let waits = first.stage.as_deref() == Some("before");
            return first.job.filter(|_| waits).map(|_| {
                self.gap_candidate(Kind::After, Some(test), record, first.job, Expected::unknown())
            });
        }
        (sets == 1).then(|| {
            self.gap_candidate(Kind::FirstStateAgain, Some(test), record, first.job, Expected::unknown())
        })
    }

    /// A bound, or a set that is out, of a wall that stands and that nothing else shows.
    fn gap_spoilt(
        &self,
        around: &Around<'_>,
        test: RecordId,
        set: &SetFinding,
        usable: &[&SetFinding],
    ) -> Option<Candidate> {
        let wall = set.assembly?;
        let is_exact =
            |set: &SetFinding| set.level_difference.is_some_and(|value| value.bound == Sense::Exact);
        let shown = usable.iter().any(|other| {
            other.set != set.set
                && other.assembly == Some(wall)
                && !is_other_wall(set, other)
                && is_exact(other)
        });
        if shown || around.replaced.contains(&wall) || !set.is_read() {
            return None;
        }
        let record = self.book.assemblies.get(wall)?;
        let is_left_out = self.book.sets.get(set.set)?.left_out == Some(true);
        let kind = match (set.is_in(), set.level_difference) {
            (true, Some(value)) if value.bound != Sense::Exact => Kind::InQuiet,
            (false, _) if !is_left_out => Kind::OutAgain,
            _ => return None,
        };
        let row = around.class_of_set.get(&set.set).and_then(|row| class_of(row));
        let known = row.and_then(|class| around.known.get(&class)).copied();
        let expected = known.map_or(Expected::unknown(), |(now, after)| Expected {
            variance_now: now,
            variance_after: Some(after),
            ..Expected::unknown()
        });
        let mut found = self.gap_candidate(kind, Some(test), record, set.job, expected);
        found.sentence = words::spoilt(&found, set);
        Some(found)
    }

    /// Walls of open jobs without any set.
    fn walls_unmeasured(&self, around: &Around<'_>) -> Vec<Candidate> {
        let tested: BTreeSet<RecordId> =
            self.sets().filter_map(|set| set.assembly).map(|wall| oldest(self, wall)).collect();
        let mut found = Vec::new();
        for wall in self.book.assemblies.live() {
            let is_wall = matches!(wall.element.as_deref(), Some("wall" | "ceiling" | "floor"));
            let is_newest = !around.replaced.contains(&wall.id);
            let open_job = wall.job.filter(|job| self.book.jobs.get(*job).is_some_and(is_open_job));
            // A wall whose earlier versions stand in a test is named there.
            let is_new = !around.read.contains(&wall.id) && !tested.contains(&oldest(self, wall.id));
            if let (true, true, true, Some(job)) = (is_wall, is_newest, is_new, open_job) {
                let kind = if is_open(wall) { Kind::BeforeItIsClosed } else { Kind::BeforeItChanges };
                found.push(self.gap_candidate(kind, None, wall, Some(job), Expected::unknown()));
            }
        }
        found
    }

    fn gap_candidate(
        &self,
        kind: Kind,
        test: Option<RecordId>,
        wall: &Assembly,
        job: Option<RecordId>,
        expected: Expected,
    ) -> Candidate {
        let site = self.book.sites.of(self.book.jobs.of(job).and_then(|job| job.site));
        let mut found = Candidate {
            kind,
            what: words::what(kind, wall.label.as_deref().unwrap_or_default()),
            job,
            job_label: self.job_label(job),
            site: site.and_then(|site| site.name.clone()).unwrap_or_default(),
            assembly: Some(wall.id),
            test,
            limited: false,
            expected,
            effort: self.gap_effort(test),
            sentence: String::new(),
        };
        let test = self.book.tests.of(test).and_then(|test| test.label.clone());
        found.sentence = words::gap(&found, wall, test.as_deref());
        found
    }

    /// A planned test without a set, unless its job is done.
    fn gap_begin(&self, test: &Test) -> Option<Candidate> {
        let job = self.book.jobs.of(test.job);
        if job.is_some_and(|job| !is_open_job(job)) {
            return None;
        }
        let site = self.book.sites.of(job.and_then(|job| job.site));
        let label = test.label.clone().unwrap_or_default();
        let mut found = Candidate {
            kind: Kind::Begin,
            what: words::what(Kind::Begin, &label),
            job: test.job,
            job_label: self.job_label(test.job),
            site: site.and_then(|site| site.name.clone()).unwrap_or_default(),
            assembly: None,
            test: Some(test.id),
            limited: false,
            expected: Expected::unknown(),
            effort: self.gap_effort(Some(test.id)),
            sentence: String::new(),
        };
        found.sentence = words::begin(&found, &label);
        Some(found)
    }

    /// One set at the positions the test has, or at the usual number.
    fn gap_effort(&self, test: Option<RecordId>) -> Effort {
        let sets = test.into_iter().flat_map(|test| self.sets_of_test(test));
        let positions = sets.filter_map(|set| set.receive.as_ref()).map(|side| side.positions.len()).max();
        effort(1, positions.unwrap_or(FEWEST_RECEIVE))
    }
}

impl Expected {
    /// Nothing is known yet.
    pub(super) fn unknown() -> Self {
        Self { variance_now: None, variance_after: None, worth_db: None, worth: None }
    }
}

fn is_open_job(job: &Job) -> bool {
    job.finished.is_none()
}

/// Whether studs show.
fn is_open(wall: &Assembly) -> bool {
    matches!(wall.state.as_deref(), Some("bare-studs" | "boarded-a"))
}

/// The version that stands now; a circle of versions, which only a slip makes, ends where it began.
fn newest(replaced_by: &BTreeMap<RecordId, RecordId>, wall: RecordId) -> RecordId {
    let (mut newest, mut seen) = (wall, BTreeSet::from([wall]));
    while let Some(next) = replaced_by.get(&newest) {
        if !seen.insert(*next) {
            return wall;
        }
        newest = *next;
    }
    newest
}

/// The first version of a wall.
fn oldest(joins: &Findings<'_>, wall: RecordId) -> RecordId {
    let (mut oldest, mut seen) = (wall, BTreeSet::from([wall]));
    while let Some(earlier) = joins.book.assemblies.get(oldest).and_then(|wall| wall.replaces) {
        if !seen.insert(earlier) {
            return wall;
        }
        oldest = earlier;
    }
    oldest
}
