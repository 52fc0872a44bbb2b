//! Tests as planned and as far as they are.

use std::collections::BTreeMap;

use super::called::Called;
use super::change::{Claim, Letter};
use super::number::Estimate;
use super::record::{FieldValue, Record};
use super::set::{BackgroundRule, SetFinding};
use super::test::TestFinding;
use super::word::{Day, Head, Id, Moment};

answers! {
    /// A set in the list of tests.
    struct SetInRow {
        /// The set.
        set: Called,
        /// Its stage.
        stage: Option<String>,
        /// Its day.
        date: Option<Day>,
        /// Which way the sound went, in words.
        direction: Option<String>,
        /// How many readings.
        readings: u64,
        /// Whether it takes part in results.
        is_in_results: bool,
    }
    /// A test in the list of tests.
    struct TestRow {
        /// The test.
        test: Called,
        /// What is measured.
        measures: Option<String>,
        /// The job that planned it.
        job: Option<Called>,
        /// Whether it is a bench rig.
        bench_rig: bool,
        /// Day it was planned.
        planned: Option<Day>,
        /// Its sets.
        sets: Vec<SetInRow>,
        /// What it shows, in its first sentence.
        sentence: Option<String>,
        /// Whether its change may be claimed.
        claim: Option<Claim>,
        /// How good the comparison was.
        grade: Option<Letter>,
        /// Its change, dB.
        change: Option<Estimate>,
        /// Weighting of the readings.
        unit: Option<String>,
    }
    /// How the positions of one change scatter.
    struct ScatterOf {
        /// Weighting.
        unit: String,
        /// Positions compared.
        positions: u64,
        /// Standard deviation, dB.
        sd_db: f64,
    }
    /// Level differences of sets that repeat each other.
    struct RepeatsOf {
        /// Weighting.
        unit: String,
        /// Level differences, dB.
        values_db: Vec<f64>,
    }
    /// What one test gives to the spreads that are pooled over the notebook.
    struct SpreadOf {
        /// The test.
        test: Id,
        /// Change by change.
        scatter: Vec<ScatterOf>,
        /// Wall by wall.
        repeats: Vec<RepeatsOf>,
    }
    /// Every test, newest first, and what a device needs to judge one without the notebook.
    struct Tests {
        /// Test by test.
        tests: Vec<TestRow>,
        /// The rule for the room's own noise.
        background_rule: BackgroundRule,
        /// What the tests give to the pooled spreads, used yet or not.
        spreads: Vec<SpreadOf>,
    }
    /// A condition as found in one set.
    struct FoundIn {
        /// The set.
        set: Called,
        /// As found; null where nobody noted it.
        found: Option<Record>,
    }
    /// A variable to hold constant, with how it was found.
    struct ConditionRow {
        /// The condition.
        condition: Record,
        /// Set by set.
        found: Vec<FoundIn>,
    }
    /// A reading as it stands, with its position.
    struct ReadingRow {
        /// The record.
        id: Id,
        /// Its kind: `reading`.
        kind: String,
        /// Its short name.
        label: Option<String>,
        /// What it belongs to.
        name: Option<String>,
        /// What stands in its fields, by field.
        fields: BTreeMap<String, FieldValue>,
        /// Fields whose value this version cannot read.
        unreadable: Vec<String>,
        /// Why it was struck; null where it stands.
        struck: Option<String>,
        /// The writes that stand on being struck.
        struck_heads: Vec<Head>,
        /// When it was first written.
        written_at: Option<Moment>,
        /// Who wrote it first.
        author: Option<Called>,
        /// Where it was taken.
        position: Option<Called>,
    }
    /// A set with its readings and what it shows.
    struct SetSheet {
        /// The set.
        set: Record,
        /// The assembly version under test.
        assembly: Option<Called>,
        /// Its readings; struck ones are left out.
        readings: Vec<ReadingRow>,
        /// What it shows.
        finding: Option<SetFinding>,
    }
    /// A test in full.
    struct TestSheet {
        /// The test.
        test: Record,
        /// The job that planned it.
        job: Option<Called>,
        /// Its conditions.
        conditions: Vec<ConditionRow>,
        /// Its positions: source first, then receive, by label.
        positions: Vec<Record>,
        /// Its sets, by day.
        sets: Vec<SetSheet>,
        /// What it shows.
        finding: Option<TestFinding>,
    }
}
