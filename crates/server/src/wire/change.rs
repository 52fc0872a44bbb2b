//! What lies between two sets, with what makes it uncertain and how good the comparison was.

use super::bands::BandChange;
use super::called::Called;
use super::number::{Estimate, Interval, Number};

words! {
    /// Whether a change may be claimed.
    enum Claim {
        /// It may, as a number.
        Claimed = "claimed",
        /// It may, as a lower bound.
        AtLeast = "at least",
        /// It may, as an upper bound.
        AtMost = "at most",
        /// It may not; the reasons stand beside it.
        NoClaim = "no claim",
        /// Bounds stand on both sides, so nothing can be said.
        Undetermined = "undetermined",
    }
    /// How good a comparison was; the worst row decides.
    enum Letter {
        /// Nothing to say against it.
        A = "A",
        /// Good practice for a house.
        B = "B",
        /// Shown in a second line only.
        C = "C",
        /// Shown, never pooled.
        D = "D",
    }
    /// What is odd about a set or a comparison.
    enum FlagName {
        /// A reading was corrected with a reason; both values stay in the history.
        ReadingCorrected = "reading-corrected",
        /// Something was cut out of a recording, with a reason.
        EventCutOut = "event-cut-out",
        /// A recording is of a format that loses sound.
        RecordingLossy = "recording-lossy",
        /// Every position was read once, and not as a long average.
        SingleRun = "single-run",
        /// A planned position has no reading.
        MissingPosition = "missing-position",
        /// The room's own noise was not measured.
        BackgroundNotMeasured = "background-not-measured",
        /// A position lies far from the others.
        PositionOutlier = "position-outlier",
        /// Furniture or absorption of a room differed.
        FurnitureDiffers = "furniture-differs",
        /// The room's own noise hid the sound: the result is only a bound.
        BackgroundLowMargin = "background-low-margin",
        /// A critical condition did not hold.
        ConditionDrift = "condition-drift",
        /// Readings of differing frequency weighting stand in one set.
        WeightingMixed = "weighting-mixed",
        /// Readings were averaged in differing ways.
        ResponseMixed = "response-mixed",
        /// Another test sound was played.
        TrackDiffers = "track-differs",
        /// The source was set differently and its room was not measured.
        LevelDiffers = "level-differs",
        /// The meter drifted between its checks.
        CalibrationDrift = "calibration-drift",
        /// A recording was too loud for the recorder: its levels are too low.
        RecordingClipped = "recording-clipped",
        /// One recording stands for two readings, or the test sound itself for a reading.
        RecordingReused = "recording-reused",
        /// The room's own noise reads far louder than the room with the source on.
        BackgroundLouder = "background-louder",
        /// The wall was not in the state its record says.
        StateDiffers = "state-differs",
        /// A door, window or grille was not as planned.
        OpeningsDiffer = "openings-differ",
        /// A value stands in conflict or cannot be read.
        InConflict = "in-conflict",
        /// One opening lets over half of the sound through.
        OpeningLimited = "opening-limited",
    }
}

answers! {
    /// Something a reader has to know about a set or a change.
    struct Flag {
        /// Which.
        flag: FlagName,
        /// The one effect it has on results, in words.
        effect: String,
        /// What was seen, in words.
        words: String,
    }
    /// One end of a change.
    struct SetRef {
        /// The set.
        set: Called,
        /// The assembly version it was taken at.
        assembly: Option<Called>,
        /// The job it was taken in.
        job: Option<Called>,
    }
    /// What one position changed.
    struct PositionChange {
        /// Its label.
        position: String,
        /// Before less after, source levels taken off, dB; positive is quieter.
        change: Number,
    }
    /// A change with a position, or without it.
    struct ChangeLine {
        /// By energy, dB.
        change: Number,
        /// Its interval from the positions alone, dB.
        interval: Option<Interval>,
    }
    /// A position that changed unlike the others. It stays in until a person with a reason takes it out.
    struct OddPosition {
        /// Its label.
        position: String,
        /// What it changed, dB.
        change: Number,
        /// How far that is from the middle one of all, dB.
        off_the_others: Number,
        /// The change with it.
        with_it: ChangeLine,
        /// The change without it.
        without_it: ChangeLine,
        /// In words.
        sentence: String,
    }
    /// A position that holds nearly all the sound of a set.
    struct Dominant {
        /// Its label.
        position: String,
        /// Label of the set.
        set: String,
        /// Its share of the energy, 0 to 1.
        share: f64,
        /// In words.
        sentence: String,
    }
    /// A change by resampling its positions: shown beside the interval, never chosen for being narrower.
    struct Resampled {
        /// Mean of the differences by position, dB.
        mean: Number,
        /// Its interval, dB.
        interval: Interval,
        /// In words.
        sentence: String,
    }
    /// Runs behind a change on a bench rig.
    struct RunCounts {
        /// Runs before.
        before: u64,
        /// Runs after.
        after: u64,
    }
    /// One source of uncertainty.
    struct Share {
        /// What it stands for.
        name: String,
        /// Its standard uncertainty, dB.
        u: Number,
        /// Its share of the squared uncertainty, 0 to 1.
        share: f64,
    }
    /// An untouched wall measured around a change: what else changed.
    struct Control {
        /// Its first set.
        from: SetRef,
        /// Its second set.
        to: SetRef,
        /// Which way the sound went through it, in words.
        direction: String,
        /// What it changed, dB.
        moved: Estimate,
        /// Its interval, dB.
        moved_interval: Option<Interval>,
        /// The change less what the untouched wall changed, dB.
        change_less_it: Estimate,
        /// Its interval, dB.
        interval: Option<Interval>,
        /// It moved by more than it may: nothing is claimed before a person has looked.
        find_out_first: bool,
        /// A person has looked, and let its set in with a reason.
        looked_at: bool,
        /// In words.
        sentence: String,
    }
    /// What makes a change uncertain.
    struct Uncertainty {
        /// Standard uncertainty of the change, dB.
        u: Option<Number>,
        /// Degrees of freedom of it.
        degrees_of_freedom: Option<Number>,
        /// Whether the scatter is taken from several tests of the kind together.
        scatter_is_pooled: bool,
        /// Whether setup and day come from the crew's own repeats.
        own_repeats: bool,
        /// What would make it surer.
        advice: Option<String>,
        /// Its sources.
        shares: Vec<Share>,
    }
    /// A part of the wall that differs between two sets.
    struct PartChanged {
        /// Which of the seven parts.
        part: String,
        /// As it was.
        before: String,
        /// As it is.
        after: String,
    }
    /// What the formula for wall and openings gives, dB.
    struct Prediction {
        /// With the low losses.
        low: Number,
        /// With typical losses.
        typical: Number,
        /// With the high losses.
        high: Number,
    }
    /// What the formula gives at both ends of a change.
    struct Predictions {
        /// Before.
        before: Option<Prediction>,
        /// After.
        after: Option<Prediction>,
    }
    /// One row a grade was made from.
    struct GradeRow {
        /// What was judged.
        name: String,
        /// Its letter.
        letter: Letter,
        /// Why.
        why: String,
    }
    /// How good a comparison was.
    struct Grade {
        /// The worst of the rows.
        letter: Letter,
        /// Why it is not better, in words.
        reasons: Vec<String>,
        /// Every row.
        rows: Vec<GradeRow>,
    }
    /// What lies between two sets of one direction and weighting.
    struct Change {
        /// The first set.
        from: SetRef,
        /// The second set.
        to: SetRef,
        /// Which way the sound went, in words.
        direction: String,
        /// Weighting of the readings: `dBA`, `dBC`, `dB`.
        unit: Option<String>,
        /// Level difference of the first set on the compared positions, dB.
        before: Option<Estimate>,
        /// Level difference of the second set on the compared positions, dB.
        after: Option<Estimate>,
        /// After less before, dB; positive is quieter in the receiving room.
        change: Option<Estimate>,
        /// Why there is no number.
        absent: Option<String>,
        /// Mean of the differences by position, dB.
        mean_of_position_differences: Option<Number>,
        /// Whether the two averages differ so much that both are to be shown.
        averages_differ: bool,
        /// What each position changed.
        by_position: Vec<PositionChange>,
        /// A position that changed unlike the others.
        odd_position: Option<OddPosition>,
        /// A position that holds nearly all the sound, so that the average is that position.
        one_position_dominates: Option<Dominant>,
        /// Positions compared, by label.
        compared_on: Vec<String>,
        /// Positions only one of the sets has, by label.
        left_off: Vec<String>,
        /// Runs before and after, on a bench rig.
        runs: Option<RunCounts>,
        /// Standard deviation of the positions' influences on the change, dB.
        scatter: Option<Number>,
        /// The interval from the scatter of these positions alone, dB.
        interval_of_positions_alone: Option<Interval>,
        /// The interval of everything that makes it uncertain, dB.
        interval: Option<Interval>,
        /// The change by frequency band, where both sets have bands.
        bands: Option<BandChange>,
        /// Share of the interval that two more positions would leave, where there are only two; 0 to 1.
        two_more_positions_leave: Option<f64>,
        /// What makes it uncertain.
        uncertainty: Uncertainty,
        /// Least change that is claimed, dB.
        least_claimed: Number,
        /// Whether it may be claimed.
        claim: Claim,
        /// Why it may not, in words.
        no_claim_because: Vec<String>,
        /// Whether the source room was not measured in both sets.
        receive_level_only: bool,
        /// Whether studs were showing in one of the sets, or in both.
        open_studs: bool,
        /// Parts of the wall that differ: the change belongs to all of them together.
        parts_changed: Vec<PartChanged>,
        /// An untouched wall measured around both sets.
        control: Option<Control>,
        /// What the formula for wall and openings gives.
        formula: Predictions,
        /// Whether one opening lets over half of the sound through, so that it is kept apart.
        opening_limited: bool,
        /// Flags of both sets and of the comparison.
        flags: Vec<Flag>,
        /// How good the comparison was.
        grade: Grade,
        /// The headline, in plain words.
        sentence: String,
        /// The numbers in one line.
        numbers: String,
        /// What to know beside it.
        beside: String,
        /// What so many decibels are to the ear; null where the readings are not in dBA.
        heard: Option<String>,
        /// The change by resampling its positions; only where it answers a test or a job and has six positions or more.
        resampled: Option<Resampled>,
    }
}
