//! What a test of another quantity than sound shows: air leakage, surfaces, resistance, temperature, moisture, light, anything else.

use super::called::Called;
use super::change::{Claim, Grade, SetRef};
use super::number::{Interval, Number};
use super::word::Day;

words! {
    /// What a test measures, other than sound.
    enum Measures {
        /// Flow of a fan over the pressure it makes.
        AirLeakage = "air-leakage",
        /// A surface temperature freed of the weather.
        Thermal = "thermal",
        /// Resistance of a built wall to heat, from days of readings.
        ThermalResistance = "thermal-resistance",
        /// Temperature of a room, freed of the weather by daily means.
        Temperature = "temperature",
        /// Moisture content of wood.
        Moisture = "moisture",
        /// Light on a grid of spots.
        Light = "light",
        /// Means of whatever was read.
        Other = "other",
    }
    /// What the numbers of a test count.
    enum Counted {
        /// Settings of a fan.
        Points = "points",
        /// Days.
        Days = "days",
        /// Places read at.
        Spots = "spots",
    }
    /// What is odd about a state.
    enum OddityName {
        /// Fewer points than the method asks for.
        FewPoints = "few-points",
        /// One pressure only, so the exponent was assumed.
        SinglePoint = "single-point",
        /// The exponent is not that of a leak.
        ExponentOdd = "exponent-odd",
        /// The points lie far from their line.
        PoorFit = "poor-fit",
        /// The house is under pressure with the fan off.
        RestingPressure = "resting-pressure",
        /// Wind moves the pressures.
        Windy = "windy",
        /// Inside and outside lie close together, so their difference is badly known.
        SmallDifference = "small-difference",
        /// A run ended before its rules were kept.
        RunNotEnded = "run-not-ended",
        /// Readings of a run lie far apart.
        SparseReadings = "sparse-readings",
        /// Wood is wet.
        WetWood = "wet-wood",
        /// Nobody wrote down the sky or the lamps.
        SkyNotNoted = "sky-not-noted",
        /// The sky or the lamps were not the same.
        OtherSky = "other-sky",
        /// Readings were left out.
        ReadingLeftOut = "reading-left-out",
        /// The dates contradict the stages.
        DatesOdd = "dates-odd",
    }
}

answers! {
    /// The same number in the unit the crew typed its readings in.
    struct InTyped {
        /// The number.
        value: Number,
        /// Its interval.
        interval: Option<Interval>,
        /// The unit: `°F`, `cfm`, `cfm/ft2`, `in2`.
        unit: String,
    }
    /// Something a reader has to know about a state.
    struct Oddity {
        /// Which.
        flag: OddityName,
        /// The one effect it has on changes of the state, in words.
        effect: String,
        /// What was seen, in words.
        words: String,
    }
    /// A number a state was worked out from.
    struct StateInput {
        /// What it is.
        name: String,
        /// Its mean.
        value: Number,
        /// Its unit; empty for a plain number.
        unit: String,
        /// The same as the crew reads it; null where that is the same unit.
        as_typed: Option<InTyped>,
        /// Readings in it.
        readings: u64,
    }
    /// A number of a state.
    struct StateValue {
        /// What it is.
        name: String,
        /// Its unit; empty for a plain number.
        unit: String,
        /// The number.
        value: Option<Number>,
        /// Its interval, in the same unit; null where nothing tells how far off it is.
        interval: Option<Interval>,
        /// The same as the crew reads it; null where that is the same unit.
        as_typed: Option<InTyped>,
        /// Its standard uncertainty, in the same unit.
        u: Option<f64>,
        /// Degrees of freedom of that; null is without limit, or there is no uncertainty.
        degrees_of_freedom: Option<Number>,
        /// Spots, points or days behind it.
        count: u64,
        /// Why there is no number.
        absent: Option<String>,
    }
    /// A rule of the method.
    struct RuleKept {
        /// The rule, with the number it was judged by.
        rule: String,
        /// Whether it was kept.
        kept: bool,
    }
    /// One state of what was tested.
    struct QuantityState {
        /// Label of its set, or those of the first and the last.
        label: String,
        /// Every set in it.
        sets: Vec<Called>,
        /// Day of the first set.
        date: Option<Day>,
        /// Its stage.
        stage: Option<String>,
        /// The assembly version.
        assembly: Option<Called>,
        /// Whether a person included it in spite of its flags.
        included_by_a_person: bool,
        /// What it was worked out from.
        inputs: Vec<StateInput>,
        /// What it shows, the number the test asks for first.
        values: Vec<StateValue>,
        /// Rules of the method.
        rules: Vec<RuleKept>,
        /// What is odd about it.
        flags: Vec<Oddity>,
    }
    /// One source of uncertainty.
    struct QuantityShare {
        /// What it stands for.
        name: String,
        /// Its standard uncertainty, in the unit of the change; of a ratio as a share of one.
        u: f64,
        /// Its share of the squared uncertainty, 0 to 1.
        share: f64,
    }
    /// What lies between two states.
    struct QuantityChange {
        /// What changed.
        name: String,
        /// The earlier state.
        from: SetRef,
        /// The later state.
        to: SetRef,
        /// Whether both show the same wall, so that the second repeats the first.
        measured_again: bool,
        /// Before, on what was compared.
        before: Option<Number>,
        /// After, on what was compared.
        after: Option<Number>,
        /// Unit of these two; empty for a plain number.
        unit_of_ends: String,
        /// After less before.
        change: Option<Number>,
        /// Its interval.
        interval: Option<Interval>,
        /// Unit of change and interval; empty for a plain number.
        unit: String,
        /// Before, as the crew reads it; null where that is the same unit.
        before_as_typed: Option<InTyped>,
        /// After, as the crew reads it; null where that is the same unit.
        after_as_typed: Option<InTyped>,
        /// The change, as the crew reads it; null where that is the same unit.
        change_as_typed: Option<InTyped>,
        /// The change in percent of before, where that says more; the claim is on it then.
        percent: Option<Number>,
        /// Interval of that.
        percent_interval: Option<Interval>,
        /// Why there is no number.
        absent: Option<String>,
        /// Standard uncertainty of the change, in its unit.
        u: Option<f64>,
        /// Degrees of freedom of that; null is without limit, or there is no uncertainty.
        degrees_of_freedom: Option<Number>,
        /// What makes it uncertain.
        shares: Vec<QuantityShare>,
        /// Spots, points or days behind it, the fewer of both states.
        count: u64,
        /// Whether it is made from pairs at the same spots.
        paired: bool,
        /// Spots compared, by label.
        compared_on: Vec<String>,
        /// Spots only one state has, by label.
        left_off: Vec<String>,
        /// Least change that repeats allow to claim; null without repeats.
        least_claimed: Option<Number>,
        /// Whether it may be claimed.
        claim: Claim,
        /// Why it may not, in words.
        no_claim_because: Vec<String>,
        /// How good the comparison was.
        grade: Grade,
        /// What to know about this one comparison.
        notes: Vec<String>,
        /// In plain words.
        sentence: String,
    }
    /// A quantity read along with the one the test asks for.
    struct QuantityBeside {
        /// What it is.
        name: String,
        /// Its unit.
        unit: String,
        /// In the first state that has it.
        before: Option<Number>,
        /// In the last state, where that is another.
        after: Option<Number>,
        /// Before, as the crew reads it; null where that is the same unit.
        before_as_typed: Option<InTyped>,
        /// After, as the crew reads it; null where that is the same unit.
        after_as_typed: Option<InTyped>,
        /// Spots looked at before, for counts of spots.
        spots_before: Option<u64>,
        /// Spots looked at after, for counts of spots.
        spots_after: Option<u64>,
        /// In plain words.
        sentence: String,
    }
    /// What a test of another quantity than sound shows.
    struct QuantityFinding {
        /// The test.
        test: Called,
        /// What it measures.
        measures: Measures,
        /// What its numbers count.
        counted: Counted,
        /// The answer in sentences.
        sentences: Vec<String>,
        /// States in the order they were taken.
        states: Vec<QuantityState>,
        /// Every later state against the first, and against the one before it where that is another.
        changes: Vec<QuantityChange>,
        /// The change that answers the question.
        headline: Option<QuantityChange>,
        /// What was read along with it.
        beside: Vec<QuantityBeside>,
        /// What is odd, over all states.
        flags: Vec<Oddity>,
        /// What a reader should not take from it.
        cautions: Vec<String>,
        /// How it was worked out, and what would make it better.
        notes: Vec<String>,
    }
}
