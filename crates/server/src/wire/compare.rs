//! Results side by side.

use super::change::{Change, Claim, Letter};
use super::number::{Estimate, Interval};
use super::set::SetFinding;
use super::test::BenchFinding;

words! {
    /// What results are compared by.
    enum AxisWord {
        /// What fills the cavity.
        Fill = "fill",
        /// How the leaves are tied together.
        Coupling = "coupling",
    }
    /// The line of a table a result stands in.
    enum Line {
        /// Grades A and B.
        Main = "main",
        /// Grade C.
        Second = "second",
        /// Grade D.
        Never = "never pooled",
    }
}

answers! {
    /// One change in a table.
    struct ChangeRow {
        /// Label of the job.
        job: String,
        /// Labels of the assemblies, before and after.
        #[schema(min_items = 2, max_items = 2)]
        assemblies: Vec<String>,
        /// Labels of the sets, before and after.
        #[schema(min_items = 2, max_items = 2)]
        sets: Vec<String>,
        /// Which way the sound went, in words.
        direction: String,
        /// Weighting of the readings.
        unit: Option<String>,
        /// The change, dB.
        change: Estimate,
        /// Its interval, dB.
        interval: Option<Interval>,
        /// Whether it may be claimed.
        claim: Claim,
        /// How good the comparison was.
        grade: Letter,
        /// The line it stands in.
        line: Line,
        /// Parts of the wall that changed.
        parts_changed: Vec<String>,
    }
    /// Changes from one family of walls to another.
    struct PairPool {
        /// Family before, in words.
        before: String,
        /// Family after, in words.
        after: String,
        /// State of the work, before and after.
        #[schema(min_items = 2, max_items = 2)]
        states: Vec<String>,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Whether an opening limits them.
        opening_limited: bool,
        /// How many jobs.
        jobs: u64,
        /// What they say together, in words.
        words: String,
        /// Change by change.
        rows: Vec<ChangeRow>,
    }
    /// One level difference in a table.
    struct LevelRow {
        /// Label of the job.
        job: String,
        /// Label of the assembly.
        assembly: String,
        /// Label of the set.
        set: String,
        /// Which way the sound went, in words.
        direction: String,
        /// Level difference, dB.
        level_difference: Estimate,
    }
    /// Level differences of one family of walls.
    struct FamilyPool {
        /// The family, in words.
        family: String,
        /// State of the work.
        state: String,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Whether an opening limits them.
        opening_limited: bool,
        /// How many jobs.
        jobs: u64,
        /// What they say together, in words.
        words: String,
        /// Level difference by level difference.
        rows: Vec<LevelRow>,
    }
    /// Results compared by one property of the walls.
    struct Comparison {
        /// The property.
        axis: AxisWord,
        /// Bench rigs.
        bench_rig: Vec<BenchFinding>,
        /// What rebuilding walls changed.
        changes: Vec<PairPool>,
        /// What walls let through.
        level_differences: Vec<FamilyPool>,
        /// What to know about these tables.
        notes: Vec<String>,
    }
    /// One row for each job and assembly.
    struct AcrossRow {
        /// Versions that count as one design.
        design: String,
        /// Whether an opening limits it.
        opening_limited: bool,
        /// How many jobs have the design.
        jobs: u64,
        /// What they say together, in words.
        words: String,
        /// The change.
        row: ChangeRow,
    }
    /// Jobs side by side. Listed, not ranked: they start from different walls in different rooms.
    struct AcrossJobs {
        /// Row by row.
        jobs: Vec<AcrossRow>,
    }
    /// Sets and walls side by side.
    struct SideBySide {
        /// Bench rigs with a set that is asked for.
        bench_rig: Vec<BenchFinding>,
        /// The sets.
        sets: Vec<SetFinding>,
        /// The changes between them.
        changes: Vec<Change>,
    }
}
