//! Results side by side: bench fills in their own table, changes by pair of families, level differences by family.
//!
//! Never mixes states, never mixes bench rigs and walls, keeps walls limited by an opening apart, and says how many jobs
//! stand behind a row. Leaves out averages over jobs: see [`crate::across`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::Parts;

use crate::bench_rig::BenchFinding;
use crate::budget::Interval;
use crate::change::{self, Change, Claim};
use crate::flags::{self, Flag};
use crate::grade::Letter;
use crate::set_finding::Estimate;
use crate::test_finding::TestFinding;
use crate::{Findings, print};

/// The property assemblies are compared by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Axis {
    /// What fills the cavity.
    Fill,
    /// How the leaves are tied.
    Coupling,
}

impl Axis {
    /// The axis by its word.
    pub fn parse(word: &str) -> Option<Self> {
        match word {
            "fill" => Some(Self::Fill),
            "coupling" => Some(Self::Coupling),
            _ => None,
        }
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Fill => "fill",
            Self::Coupling => "coupling",
        }
    }
}

/// Which line of a table a result stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Line {
    /// Grades A and B.
    Main,
    /// Grade C.
    Second,
    /// Grade D: shown, never pooled.
    Never,
}

impl Line {
    /// The line a grade stands in.
    pub fn of(grade: Letter) -> Self {
        match grade {
            Letter::A | Letter::B => Self::Main,
            Letter::C => Self::Second,
            Letter::D => Self::Never,
        }
    }
}

/// One job and assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeRow {
    /// The job.
    pub job: Option<RecordId>,
    /// Label of the job.
    pub job_label: String,
    /// Labels of the assemblies before and after.
    pub assemblies: (String, String),
    /// Labels of the sets before and after.
    pub sets: (String, String),
    /// Which way the sound went.
    pub direction: String,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// The change.
    pub value: Estimate,
    /// Its interval.
    pub interval: Option<Interval>,
    /// Whether it may be claimed.
    pub claim: Claim,
    /// Its grade.
    pub grade: Letter,
    /// The line it stands in.
    pub line: Line,
    /// Parts that changed together.
    pub bundle: Vec<&'static str>,
}

/// Changes from one family to another, in one state.
#[derive(Debug, Clone, PartialEq)]
pub struct PairPool {
    /// Family before.
    pub before: String,
    /// Family after.
    pub after: String,
    /// State of the walls before and after.
    pub states: (String, String),
    /// Weighting.
    pub unit: Option<Unit>,
    /// Whether an opening limits these walls.
    pub apart: bool,
    /// One row for each job and assembly.
    pub rows: Vec<ChangeRow>,
    /// How many jobs stand in the main and second line.
    pub jobs: usize,
    /// What may be said.
    pub words: String,
}

/// One level difference.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelRow {
    /// Label of the job.
    pub job_label: String,
    /// Label of the assembly.
    pub assembly: String,
    /// Label of the set.
    pub set: String,
    /// Which way the sound went.
    pub direction: String,
    /// The level difference.
    pub value: Estimate,
}

/// Level differences of one family in one state.
#[derive(Debug, Clone, PartialEq)]
pub struct FamilyPool {
    /// The family.
    pub family: String,
    /// State of the walls.
    pub state: String,
    /// Weighting.
    pub unit: Option<Unit>,
    /// Whether an opening limits these walls.
    pub apart: bool,
    /// The rows.
    pub rows: Vec<LevelRow>,
    /// How many jobs stand in the main and second line.
    pub jobs: usize,
    /// What may be said.
    pub words: String,
}

/// A bench test in a comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchTable {
    /// Label of the test.
    pub test_label: String,
    /// Its results.
    pub finding: BenchFinding,
}

/// Results compared by one property.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The property.
    pub axis: Axis,
    /// Bench rigs, each its own table.
    pub bench: Vec<BenchTable>,
    /// Changes of walls by pair of families.
    pub changes: Vec<PairPool>,
    /// Level differences of walls by family.
    pub levels: Vec<FamilyPool>,
    /// What to know beside the tables.
    pub notes: Vec<String>,
}

/// One job and assembly over all tests.
#[derive(Debug, Clone, PartialEq)]
pub struct AcrossRow {
    /// The family after the change, or the design the versions count as.
    pub design: String,
    /// The row.
    pub row: ChangeRow,
    /// Whether an opening limits the wall.
    pub apart: bool,
    /// How many jobs have a row of this design and weighting in the main or second line.
    pub jobs: usize,
    /// What may be said.
    pub words: String,
}

/// The fill of an assembly, `empty`, or `unknown`.
pub fn fill_of(assembly: Option<&Assembly>) -> String {
    let Some(assembly) = assembly else { return "unknown".to_owned() };
    if assembly.cavity.as_deref().is_none_or(|cavity| cavity == "unknown") {
        return "unknown".to_owned();
    }
    match Parts::of(assembly) {
        Ok(parts) => parts.fill().map_or_else(|| "empty".to_owned(), |fill| fill.kind.clone()),
        Err(_) => "unknown".to_owned(),
    }
}

/// The family of an assembly: how its leaves are tied, and what fills it where fills are compared.
pub fn family_of(assembly: Option<&Assembly>, axis: Axis) -> String {
    let coupling =
        assembly.and_then(|assembly| Parts::of(assembly).ok()).map(|parts| parts.coupling().words());
    let coupling = coupling.unwrap_or("unknown");
    match axis {
        Axis::Fill => format!("{coupling}, {}", fill_of(assembly)),
        Axis::Coupling => coupling.to_owned(),
    }
}

fn state_of(assembly: Option<&Assembly>) -> String {
    assembly.and_then(|assembly| assembly.state.clone()).unwrap_or_else(|| "unknown".to_owned())
}

/// What may be said of so many jobs.
pub fn jobs_words(jobs: usize) -> String {
    match jobs {
        0 => "No job graded well enough yet.".to_owned(),
        1 => "One job so far. It shows what can happen, not what usually happens.".to_owned(),
        more => format!("{more} jobs, one by one. What they give together: storypole compare walls."),
    }
}

impl Findings<'_> {
    /// Every test with walls.
    fn wall_tests(&self) -> Vec<Arc<TestFinding>> {
        let tests = self.book.tests.live().filter_map(|test| self.test(test.id));
        tests.filter(|test| test.bench.is_none() && test.thermal.is_none()).collect()
    }

    fn row(&self, change: &Change) -> Option<ChangeRow> {
        let found = self.book.assemblies.of(change.to.assembly).and_then(|wall| wall.replaces);
        let spans_jobs = change.from.job != change.to.job && found != change.from.assembly;
        let job_label = match (self.job_label(change.from.job), self.job_label(change.to.job)) {
            (first, last) if spans_jobs => format!("{first} + {last}"),
            (_, last) => last,
        };
        Some(ChangeRow {
            job: change.to.job,
            job_label,
            assemblies: (change.from.assembly_label.clone(), change.to.assembly_label.clone()),
            sets: (change.from.label.clone(), change.to.label.clone()),
            direction: change.direction.words.clone(),
            unit: change.unit,
            value: change.value?,
            interval: change.interval,
            claim: change.claim.clone(),
            grade: change.grade.letter,
            line: Line::of(change.grade.letter),
            bundle: change.bundle.iter().map(|part| part.part).collect(),
        })
    }

    /// Results compared by one property of the assemblies.
    pub fn compare(&self, axis: Axis) -> Comparison {
        let bench = self.book.tests.live().filter(|test| test.bench_rig == Some(true)).filter_map(|test| {
            let finding = self.test(test.id)?.bench.clone()?;
            Some(BenchTable { test_label: test.label.clone().unwrap_or_default(), finding })
        });
        let tests = self.wall_tests();
        Comparison {
            axis,
            bench: bench.collect(),
            changes: self.pair_pools(&tests, axis),
            levels: self.family_pools(&tests, axis),
            notes: NOTES.iter().map(|note| (*note).to_owned()).collect(),
        }
    }

    fn pair_pools(&self, tests: &[Arc<TestFinding>], axis: Axis) -> Vec<PairPool> {
        type Key = (String, String, (String, String), Option<Unit>, bool);
        let mut pools: BTreeMap<Key, Vec<ChangeRow>> = BTreeMap::new();
        for change in self.steps(tests) {
            let of = |assembly| self.book.assemblies.of(assembly);
            let (before, after) = (of(change.from.assembly), of(change.to.assembly));
            let families = (family_of(before, axis), family_of(after, axis));
            let states = (state_of(before), state_of(after));
            let key = (families.0, families.1, states, change.unit, change.is_apart());
            if let Some(row) = self.row(change) {
                pools.entry(key).or_default().push(row);
            }
        }
        pools
            .into_iter()
            .map(|((before, after, states, unit, apart), rows)| {
                let jobs = jobs(rows.iter().filter(|row| row.line != Line::Never).map(|row| row.job));
                PairPool { before, after, states, unit, apart, rows, jobs, words: jobs_words(jobs) }
            })
            .collect()
    }

    /// Steps from wall to wall: each wall against the version it replaced, or else against the one measured before it.
    fn steps<'t>(&self, tests: &'t [Arc<TestFinding>]) -> Vec<&'t Change> {
        let mut steps = Vec::new();
        for group in tests.iter().flat_map(|test| &test.groups) {
            let order: Vec<RecordId> = group.usable().map(|set| set.set).collect();
            let place = |set: RecordId| order.iter().position(|one| *one == set);
            let rank = |change: &Change| {
                let found = self.book.assemblies.of(change.to.assembly).and_then(|wall| wall.replaces);
                let is_exact = change.value.is_some_and(|value| value.bound == Sense::Exact);
                let from_replaced = found.is_some() && change.from.assembly == found;
                (is_exact, place(change.to.set), from_replaced, place(change.from.set))
            };
            // A wall measured twice gives one step, to the set that answers for it.
            let mut by_wall: BTreeMap<Option<RecordId>, &Change> = BTreeMap::new();
            for change in &group.changes {
                let best = by_wall.entry(change.to.assembly).or_insert(change);
                if rank(change) > rank(best) {
                    *best = change;
                }
            }
            steps.extend(by_wall.into_values());
        }
        steps
    }

    fn family_pools(&self, tests: &[Arc<TestFinding>], axis: Axis) -> Vec<FamilyPool> {
        type Key = (String, String, Option<Unit>, bool);
        // Its job, whether it counts, and the row.
        let mut pools: BTreeMap<Key, Vec<(Option<RecordId>, bool, LevelRow)>> = BTreeMap::new();
        for set in tests.iter().flat_map(|test| &test.groups).flat_map(|group| group.usable()) {
            let Some(value) = set.level_difference else { continue };
            let assembly = self.book.assemblies.of(set.assembly);
            let apart = flags::has(&set.flags, Flag::OpeningLimited);
            let row = LevelRow {
                job_label: self.job_label(set.job),
                assembly: set.assembly_label.clone(),
                set: set.label.clone(),
                direction: set.direction.words.clone(),
                value,
            };
            let key = (family_of(assembly, axis), state_of(assembly), set.unit, apart);
            // Compared with itself, so that positions, background and conditions are judged as in a change.
            let grade = change::between(self, set, set, None).grade.letter;
            pools.entry(key).or_default().push((set.job, Line::of(grade) != Line::Never, row));
        }
        pools
            .into_iter()
            .map(|((family, state, unit, apart), rows)| {
                let jobs = jobs(rows.iter().filter(|(_, counts, _)| *counts).map(|(job, ..)| *job));
                let rows = rows.into_iter().map(|(.., row)| row).collect();
                FamilyPool { family, state, unit, apart, rows, jobs, words: jobs_words(jobs) }
            })
            .collect()
    }

    /// Changes over jobs: one row for each job and design, from how the job found the wall to how it left it.
    pub fn across_jobs(&self) -> Vec<AcrossRow> {
        let mut rows: Vec<AcrossRow> = Vec::new();
        for job in self.book.jobs.live() {
            let Some(finding) = self.job(job.id) else { continue };
            for own in finding.groups.iter().filter_map(|group| group.own.as_ref()) {
                let assembly = self.book.assemblies.of(own.to.assembly);
                let design = assembly.and_then(|assembly| assembly.design.clone());
                let Some(row) = self.row(own) else { continue };
                rows.push(AcrossRow {
                    design: design.unwrap_or_else(|| family_of(assembly, Axis::Fill)),
                    row: ChangeRow { job: Some(job.id), job_label: finding.label.clone(), ..row },
                    apart: own.is_apart(),
                    jobs: 0,
                    words: String::new(),
                });
            }
        }
        type Alike = (String, bool, Option<Unit>);
        let alike = |row: &AcrossRow| -> Alike { (row.design.clone(), row.apart, row.row.unit) };
        let mut counted: BTreeMap<Alike, Vec<Option<RecordId>>> = BTreeMap::new();
        for row in rows.iter().filter(|row| row.row.line != Line::Never) {
            counted.entry(alike(row)).or_default().push(row.row.job);
        }
        let counted: BTreeMap<Alike, usize> =
            counted.into_iter().map(|(alike, own)| (alike, jobs(own.into_iter()))).collect();
        for row in &mut rows {
            row.jobs = counted.get(&alike(row)).copied().unwrap_or(0);
            row.words = jobs_words(row.jobs);
        }
        rows
    }
}

const NOTES: &[&str] = &[
    "Walls were not assigned at random: read jobs with, not because of.",
    "Decibels of parts measured apart do not add up.",
    crate::bench_rig::NOT_A_RATING,
];

fn jobs(jobs: impl Iterator<Item = Option<RecordId>>) -> usize {
    jobs.flatten().collect::<BTreeSet<_>>().len()
}

/// A pool in one line, for lists.
pub fn pool_line(pool: &PairPool) -> String {
    let values: Vec<String> = pool
        .rows
        .iter()
        .map(|row| format!("{} {} dB", row.job_label, print::signed(row.value.value, 1)))
        .collect();
    format!("{} to {}: {}. {}", pool.before, pool.after, print::list(&values), pool.words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn pools_keep_states_and_openings_apart() {
        // Demo scenario, invented: the wall behind the door never stands beside the party wall, bare studs never beside
        // finished walls.
        let book = fixture::demo();
        let comparison = crate::compare(&book, Axis::Coupling);
        for pool in &comparison.levels {
            let walls: BTreeSet<&str> = pool.rows.iter().map(|row| row.assembly.as_str()).collect();
            for (one, other) in
                [("A04", "A07"), ("A02", "A01"), ("A11", "A08"), ("A02", "A03"), ("A11", "A12")]
            {
                assert!(!(walls.contains(one) && walls.contains(other)), "{one} beside {other}: {pool:?}");
            }
            assert!(
                walls.iter().all(|wall| !wall.starts_with("A13") && !wall.starts_with("A14")),
                "bench rigs stay out"
            );
        }
        assert!(comparison.levels.iter().any(|pool| pool.apart && pool.family == "resilient"));
        assert_eq!(comparison.bench.len(), 2);
    }

    #[test]
    fn one_job_is_said_to_be_one_job() {
        let book = fixture::demo();
        let comparison = crate::compare(&book, Axis::Fill);
        let pool = comparison
            .changes
            .iter()
            .find(|pool| {
                pool.before == "single-wood, empty" && pool.after == "single-wood, cellulose" && !pool.apart
            })
            .unwrap();
        assert_eq!(pool.rows.len(), 1);
        assert_eq!((pool.rows[0].job_label.as_str(), pool.rows[0].line, pool.jobs), ("J4", Line::Main, 1));
        assert_eq!(print::signed(pool.rows[0].value.value, 1), "+3.9");
        assert!(pool_line(pool).contains("One job so far"), "{}", pool_line(pool));
        assert_eq!(jobs_words(0), "No job graded well enough yet.");
        assert!(jobs_words(3).contains("storypole compare walls"));
    }

    #[test]
    fn level_differences_of_grade_d_count_no_job() {
        // Conventions of this project: one position is grade D, and grade D never counts.
        let mut builder = fixture::builder();
        builder.job("J9");
        builder.test("Q9", false);
        let wall = [
            "gypsum 12.7 x1, 8.1 kg/m2",
            "single wood 38x89@406",
            "89 clear, empty",
            "gypsum 12.7 x1, 8.1 kg/m2",
        ];
        let [leaf, studs, cavity, other] = wall;
        builder.assembly("A90", "wall", [leaf, studs, cavity, other, "none", "none"], "finished", None);
        builder.set(&fixture::SetRow {
            test: "Q9",
            label: "T90",
            job: "J9",
            stage: "before",
            date: "2025-06-01",
            assembly: "A90",
            from: "R6",
            to: "R7",
            unit: "dBA",
            source: "90.0 90.0 90.0",
            receive: "60.0",
            background: "20.0",
        });
        let comparison = crate::compare(&builder.book, Axis::Fill);
        let pool =
            comparison.levels.iter().find(|pool| pool.rows.iter().any(|row| row.set == "T90")).unwrap();
        assert!(pool.rows.iter().any(|row| row.set == "T14"), "shown beside J4: {pool:?}");
        assert_eq!(pool.jobs, 1, "{pool:?}");
    }

    #[test]
    fn across_jobs_has_one_row_for_each_job_and_direction() {
        let book = fixture::demo();
        let rows: Vec<(String, String, String, bool)> = crate::across_jobs(&book)
            .into_iter()
            .map(|row| {
                let sets = format!("{} {}", row.row.sets.0, row.row.sets.1);
                (row.row.job_label, sets, print::signed(row.row.value.value, 1), row.apart)
            })
            .collect();
        // Demo scenario, invented.
        let expected = [
            ("J1", "T01 T04", "+0.8", true),
            ("J2", "T04 T05", "+10.4", true),
            ("J3", "T10 T13", "+5.9", false),
            ("J4", "T14 T16", "+6.7", false),
            ("J5", "T17 T18", "+0.1", true),
        ];
        let expected: Vec<_> =
            expected.iter().map(|(a, b, c, d)| (a.to_string(), b.to_string(), c.to_string(), *d)).collect();
        assert_eq!(rows, expected);
    }
}
