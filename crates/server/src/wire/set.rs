//! What one round of readings shows.

use super::bands::SetBands;
use super::called::Called;
use super::change::Flag;
use super::number::{Estimate, Number};
use super::word::{Day, Id};

words! {
    /// Tells a set's finding from others.
    enum OfSet {
        /// A set.
        Set = "set",
    }
    /// The rule for the room's own noise, by standard and edition.
    enum BackgroundRule {
        /// The form of ASTM E336 before its edition of 2019a.
        AstmE336 = "astm_e336",
        /// ISO 16283-1.
        Iso16283 = "iso16283",
        /// ASTM E336-19a.
        AstmE336R19a = "astm_e336_19a",
    }
    /// What the rule did with the level in the receiving room.
    enum BackgroundEffect {
        /// Nothing: the room was quiet enough.
        Clear = "none",
        /// Subtracted the room's own noise by energy.
        Subtracted = "subtracted",
        /// Only a bound is left.
        Limit = "limit",
    }
}

answers! {
    /// The level at one position.
    struct PositionLevel {
        /// The position, where the readings name one.
        id: Option<Id>,
        /// Its label within the test.
        label: String,
        /// Energy mean of its readings, dB.
        level: Number,
        /// How many readings.
        readings: u64,
    }
    /// The readings of one room.
    struct Side {
        /// Energy mean over the positions, dB.
        mean: Number,
        /// Loudest less quietest position, dB.
        loudest_less_quietest: Number,
        /// Position by position.
        positions: Vec<PositionLevel>,
    }
    /// Runs on a bench rig.
    struct Runs {
        /// Level difference of each run, dB.
        values: Vec<f64>,
        /// Their mean, dB.
        mean: Number,
        /// Their standard deviation, dB.
        spread: Option<Number>,
    }
    /// A reading that was corrected.
    struct CorrectedReading {
        /// The reading.
        id: Id,
        /// Label of its position.
        position: String,
        /// The fields that were corrected.
        fields: Vec<String>,
    }
    /// How long a level may be borne: guidance, not a clearance.
    struct Hearing {
        /// The loudest source reading, dBA.
        level: Number,
        /// Hours a day by the limit NIOSH recommends.
        niosh_hours: Number,
        /// Hours a day by the limit of OSHA; absent below what it counts.
        osha_hours: Option<Number>,
        /// In words, with the caution.
        words: String,
    }
    /// What one round of readings shows.
    struct SetFinding {
        /// The set.
        id: Id,
        /// Always `set`.
        kind: OfSet,
        /// Its label.
        label: String,
        /// Its test.
        test: Option<Called>,
        /// The job it was taken in.
        job: Option<Called>,
        /// The assembly version under test.
        assembly: Option<Called>,
        /// Its stage: one of the choices of the field in `/api/kinds`.
        stage: Option<String>,
        /// Its day.
        date: Option<Day>,
        /// Which way the sound went, in words.
        direction: String,
        /// Room of the source.
        from_room: Option<Called>,
        /// Room of the receiver.
        to_room: Option<Called>,
        /// Weighting of its readings: `dBA`, `dBC`, `dB`.
        unit: Option<String>,
        /// How its readings were averaged, when all alike.
        response: Option<String>,
        /// The source room.
        source: Option<Side>,
        /// The receiving room, as read.
        receive: Option<Side>,
        /// The receiving room's own noise, the highest of its readings, dB.
        background: Option<Number>,
        /// Mean of the receiving room less its own noise, dB.
        margin: Option<Number>,
        /// The rule for the room's own noise.
        background_rule: BackgroundRule,
        /// The rule in words.
        background_rule_words: String,
        /// What the rule did.
        background_effect: Option<BackgroundEffect>,
        /// Mean of the receiving room after the rule, dB.
        receive_corrected: Option<Number>,
        /// Mean of the source room less the corrected mean of the receiving room, or the mean of the runs, dB.
        level_difference: Option<Estimate>,
        /// Why there is none.
        absent: Option<String>,
        /// Runs, on a bench rig.
        runs: Option<Runs>,
        /// The same by frequency band, where the readings hold bands.
        bands: Option<SetBands>,
        /// What the source does to ears, where it reads 85 dBA or more.
        hearing: Option<Hearing>,
        /// Planned positions without a reading, by label.
        missing_positions: Vec<String>,
        /// Readings that were corrected.
        corrected_readings: Vec<CorrectedReading>,
        /// What is odd.
        flags: Vec<Flag>,
        /// Whether a person included it in spite of its flags.
        included_by_a_person: bool,
        /// Why, where it was included.
        included_because: Option<String>,
        /// Whether it is of an untouched wall beside the rebuilt one.
        untouched: bool,
        /// Whether it takes part in results.
        is_in_results: bool,
        /// Why it is out of results; empty when it is in.
        out_because: Vec<String>,
        /// The finding in one sentence.
        sentence: String,
    }
}
