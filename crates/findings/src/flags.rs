//! What is odd about a set or a change, and the one effect each oddity has on results.
//!
//! Leaves out when a flag is raised: that is decided where the facts are.

use std::fmt;

/// Something a reader has to know about a set or a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flag {
    /// A reading was corrected with a reason; both values stay in the history.
    ReadingCorrected,
    /// Every position was read once, and not as a long average.
    SingleRun,
    /// Something was cut out of a recording, with a reason.
    EventCutOut,
    /// A recording is of a format that loses sound.
    RecordingLossy,
    /// A planned position has no reading.
    MissingPosition,
    /// The room's own noise was not measured.
    BackgroundNotMeasured,
    /// A position lies far from the others.
    PositionOutlier,
    /// Furniture or absorption of a room differed.
    FurnitureDiffers,
    /// The room's own noise hid the sound: the result is only a bound.
    BackgroundLowMargin,
    /// A critical condition did not hold.
    ConditionDrift,
    /// Readings of differing frequency weighting stand in one set.
    WeightingMixed,
    /// Readings were averaged in differing ways.
    ResponseMixed,
    /// Another test sound was played.
    TrackDiffers,
    /// The source was set differently and its room was not measured.
    LevelDiffers,
    /// The meter drifted between its checks.
    CalibrationDrift,
    /// A recording was too loud for the recorder: its levels are too low.
    RecordingClipped,
    /// One recording stands for two readings, or the test sound itself for a reading.
    RecordingReused,
    /// The room's own noise reads far louder than the room with the source on.
    BackgroundLouder,
    /// The wall was not in the state its record says.
    StateDiffers,
    /// A door, window or grille was not as planned.
    OpeningsDiffer,
    /// A value stands in conflict or cannot be read.
    InConflict,
    /// One opening lets over half of the sound through.
    OpeningLimited,
}

/// What a flag does to results.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Effect {
    /// Said beside the result.
    Note,
    /// Lowers the grade.
    Grade,
    /// Lowers the grade, and nothing is claimed until a person has looked at it.
    Check,
    /// Makes the result a bound.
    Bound,
    /// Keeps the set out of results until a person with a reason includes it.
    Out,
    /// Keeps the result apart from walls without a weak opening.
    Apart,
}

/// Every flag with its name and its one effect.
const FLAGS: &[(Flag, &str, Effect)] = &[
    (Flag::ReadingCorrected, "reading-corrected", Effect::Note),
    (Flag::SingleRun, "single-run", Effect::Note),
    (Flag::EventCutOut, "event-cut-out", Effect::Note),
    (Flag::RecordingLossy, "recording-lossy", Effect::Note),
    (Flag::MissingPosition, "missing-position", Effect::Grade),
    (Flag::BackgroundNotMeasured, "background-not-measured", Effect::Grade),
    (Flag::PositionOutlier, "position-outlier", Effect::Check),
    (Flag::FurnitureDiffers, "furniture-differs", Effect::Grade),
    (Flag::BackgroundLowMargin, "background-low-margin", Effect::Bound),
    (Flag::ConditionDrift, "condition-drift", Effect::Out),
    (Flag::WeightingMixed, "weighting-mixed", Effect::Out),
    (Flag::ResponseMixed, "response-mixed", Effect::Out),
    (Flag::TrackDiffers, "track-differs", Effect::Out),
    (Flag::LevelDiffers, "level-differs", Effect::Out),
    (Flag::CalibrationDrift, "calibration-drift", Effect::Out),
    (Flag::RecordingClipped, "recording-clipped", Effect::Out),
    (Flag::RecordingReused, "recording-reused", Effect::Out),
    (Flag::BackgroundLouder, "background-louder", Effect::Out),
    (Flag::StateDiffers, "state-differs", Effect::Out),
    (Flag::OpeningsDiffer, "openings-differ", Effect::Out),
    (Flag::InConflict, "in-conflict", Effect::Out),
    (Flag::OpeningLimited, "opening-limited", Effect::Apart),
];

impl Flag {
    /// Every flag, in the order of their effects.
    pub fn all() -> impl Iterator<Item = Self> {
        FLAGS.iter().map(|row| row.0)
    }

    fn row(self) -> &'static (Self, &'static str, Effect) {
        FLAGS.iter().find(|row| row.0 == self).expect("every flag has a row")
    }

    /// Its name, as in tables and files.
    pub fn name(self) -> &'static str {
        self.row().1
    }

    /// What it does to results.
    pub fn effect(self) -> Effect {
        self.row().2
    }
}

impl fmt::Display for Flag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl Effect {
    /// The effect in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Note => "said beside the result",
            Self::Grade => "lowers the grade",
            Self::Check => {
                "lowers the grade; nothing is claimed until it is corrected, or the set included with a reason"
            }
            Self::Bound => "the result is only a bound",
            Self::Out => "out of results until a person with a reason includes it",
            Self::Apart => "kept apart from walls without a weak opening",
        }
    }
}

/// A flag with the facts that raised it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Raised {
    /// The flag.
    pub flag: Flag,
    /// The facts, in words.
    pub words: String,
}

impl Raised {
    pub(crate) fn new(flag: Flag, words: impl Into<String>) -> Self {
        Self { flag, words: words.into() }
    }
}

/// Whether a flag is among those raised.
pub fn has(raised: &[Raised], flag: Flag) -> bool {
    raised.iter().any(|one| one.flag == flag)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_flag_has_one_name_and_one_effect() {
        let names: std::collections::BTreeSet<_> = Flag::all().map(Flag::name).collect();
        assert_eq!((names.len(), Flag::all().count()), (22, 22));
        let out = Flag::all().filter(|flag| flag.effect() == Effect::Out).count();
        assert_eq!(out, 12, "twelve flags keep a set out");
        for name in names {
            assert!(name.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-'), "{name}");
        }
    }
}
