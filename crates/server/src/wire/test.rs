//! What a test shows: its sets by direction and weighting, bench rigs.

use super::called::Called;
use super::change::{Change, Claim, Letter, PartChanged};
use super::number::{Amount, Estimate, Interval, Number};
use super::quantity::QuantityFinding;
use super::set::SetFinding;
use super::word::{Day, Id};

words! {
    /// Tells a test's finding from others.
    enum OfTest {
        /// A test.
        Test = "test",
    }
}

answers! {
    /// A set's level difference on the positions that all sets have.
    struct OnSharedSet {
        /// The set.
        set: Id,
        /// Its label.
        label: String,
        /// Level difference on the shared positions, dB.
        level_difference: Estimate,
    }
    /// Level differences on the positions that all sets have.
    struct OnShared {
        /// The positions, by label.
        positions: Vec<String>,
        /// Set by set.
        sets: Vec<OnSharedSet>,
    }
    /// The sets of one direction and weighting.
    struct Group {
        /// Which way the sound went, in words.
        direction: String,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Its sets, oldest first.
        sets: Vec<SetFinding>,
        /// Level differences on the shared positions, where the sets do not have the same.
        on_shared_positions: Option<OnShared>,
        /// The changes from set to set.
        changes: Vec<Change>,
        /// The change from the first to the last set.
        headline: Option<Change>,
        /// The last set less the first of the same assembly, dB.
        drift: Option<Number>,
    }
    /// The change in one direction.
    struct Way {
        /// Which way the sound went, in words.
        direction: String,
        /// The change, dB.
        change: Number,
    }
    /// What belongs to the wall and what to a room that fill in open studs made softer.
    struct Parted {
        /// Change of the wall, dB.
        wall: Number,
        /// Its uncertainty at 95 %, dB either way.
        wall_within: Number,
        /// What belongs to the room, dB.
        room: Number,
        /// Its uncertainty at 95 %, dB either way.
        room_within: Number,
    }
    /// A rebuild measured both ways.
    struct BothWays {
        /// One way.
        there: Way,
        /// The other way.
        back: Way,
        /// How far they lie apart, dB.
        apart: Number,
        /// Whether they agree.
        agree: bool,
        /// Wall and room apart, where studs were open.
        parted: Option<Parted>,
        /// In a sentence.
        sentence: String,
    }
    /// Two results side by side.
    struct Apart {
        /// The difference, unrounded, dB.
        value: f64,
        /// Rounded, with its sign.
        printed: String,
        /// Its interval, dB.
        interval: Option<Interval>,
        /// Least difference that is told apart, dB.
        least_told_apart: Number,
        /// Whether the two can be told apart.
        told_apart: bool,
    }
    /// One state of a bench rig.
    struct BenchRow {
        /// The set.
        set: Called,
        /// The panel.
        assembly: Option<Called>,
        /// What fills it.
        fill: String,
        /// How many runs.
        runs: u64,
        /// Mean of the runs, dB.
        mean: Number,
        /// Standard deviation of the runs, dB.
        spread: Option<Number>,
        /// Against the first state.
        to_first: Option<Apart>,
    }
    /// Two states of a bench rig side by side.
    struct BenchPair {
        /// Label of the first.
        first: Option<String>,
        /// Label of the second.
        second: Option<String>,
        /// Second less first.
        difference: Apart,
    }
    /// The first state measured again.
    struct FirstAgain {
        /// Label of the first set.
        first: String,
        /// Label of the set that repeats it.
        again: String,
        /// Again less first, dB.
        difference: Number,
        /// Whether it held.
        held: bool,
    }
    /// What a bench rig shows. A small panel is never compared with walls.
    struct BenchFinding {
        /// The test.
        test: Called,
        /// Its states.
        rows: Vec<BenchRow>,
        /// Its states, each against each.
        pairs: Vec<BenchPair>,
        /// Standard deviation of the runs of all states, dB.
        pooled_spread: Option<Number>,
        /// The first state measured again.
        first_state_again: Option<FirstAgain>,
        /// What it shows, in sentences.
        sentences: Vec<String>,
    }
    /// One state of a thermal test.
    struct ThermalState {
        /// The set.
        set: Called,
        /// Its day.
        date: Option<Day>,
        /// Label of the assembly.
        assembly: String,
        /// Air inside, °C.
        inside_c: Option<Number>,
        /// Air outside, °C.
        outside_c: Option<Number>,
        /// Mean of the surface, °C.
        surface_c: Option<Number>,
        /// How many spots of the surface were read.
        spots: u64,
        /// Surface less outside, of inside less outside; no unit.
        surface_factor: Option<Number>,
        /// Why there is none.
        absent: Option<String>,
        /// Places where smoke was drawn in, a count.
        smoke_paths: Option<Number>,
        /// Moisture of the wood, %.
        moisture_percent: Option<Number>,
    }
    /// What a thermal test shows.
    struct ThermalFinding {
        /// The test.
        test: Called,
        /// Its states, oldest first.
        states: Vec<ThermalState>,
        /// Change of the surface factor; no unit.
        surface_factor_change: Option<Number>,
        /// How much warmer it was outside the second time, K.
        outside_difference_k: Option<Number>,
        /// In a sentence.
        sentence: String,
    }
    /// A change in short.
    struct Figure {
        /// The change, dB.
        change: Option<Estimate>,
        /// Its interval, dB.
        interval: Option<Interval>,
        /// Whether it may be claimed.
        claim: Claim,
        /// How good the comparison was.
        grade: Letter,
    }
    /// One wall of a rebuild, as measured.
    struct RebuildStep {
        /// The set that stands for the wall.
        set: Option<Called>,
        /// Its stage.
        stage: Option<String>,
        /// The wall.
        assembly: Option<Called>,
        /// Day of the set.
        date: Option<Day>,
        /// Parts that differ from the step before.
        parts_changed: Vec<PartChanged>,
        /// Level difference, dB.
        level_difference: Option<Estimate>,
        /// Against the first wall.
        to_first: Option<Figure>,
        /// Against the wall before.
        to_before: Option<Figure>,
        /// What the test's jobs had spent by the end of that day.
        spent_so_far: Option<Amount>,
        /// What of that was spent since the step before.
        spent_for_it: Option<Amount>,
        /// In words.
        sentence: String,
    }
    /// A rebuild step by step, in one direction and weighting.
    struct Stages {
        /// Which way the sound went, in words.
        direction: String,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Wall by wall, in the order they were measured.
        steps: Vec<RebuildStep>,
        /// What the steps are and are not.
        sentence: String,
    }
    /// A set that is out of results.
    struct SetOut {
        /// Label of the set.
        set: String,
        /// Why.
        because: Vec<String>,
    }
    /// What a test shows.
    struct TestFinding {
        /// The test.
        id: Id,
        /// Always `test`.
        kind: OfTest,
        /// Its label.
        label: String,
        /// The question it asks.
        question: String,
        /// What is measured: one of the choices of the field in `/api/kinds`.
        measures: String,
        /// Why it was struck; null where it stands.
        struck: Option<String>,
        /// What it shows, in sentences.
        sentences: Vec<String>,
        /// The change that answers it.
        headline: Option<Change>,
        /// Its sets by direction and weighting.
        groups: Vec<Group>,
        /// The rebuild step by step.
        stages: Vec<Stages>,
        /// Untouched walls measured beside it.
        untouched: Vec<Group>,
        /// Rebuilds measured both ways.
        both_ways: Vec<BothWays>,
        /// What it shows as a bench rig.
        bench_rig: Option<BenchFinding>,
        /// What it shows where it measures another quantity than sound.
        quantity: Option<QuantityFinding>,
        /// Surface temperatures, smoke and moisture of such a test by state; `quantity` holds all that it shows.
        thermal: Option<ThermalFinding>,
        /// Sets that are out of results.
        out: Vec<SetOut>,
        /// Sets that were struck.
        struck_sets: Vec<SetOut>,
    }
}
