//! What is odd about a state of another quantity than sound, and what that does to its changes.
//!
//! Leaves out when it is raised: that is decided where the facts are.

use crate::flags::Effect;

/// Something a reader has to know about a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Oddity {
    /// Fewer points than the method asks for.
    FewPoints,
    /// One pressure only, so the exponent was assumed.
    SinglePoint,
    /// The exponent is not that of a leak.
    ExponentOdd,
    /// The points lie far from their line.
    PoorFit,
    /// The house is under pressure with the fan off.
    RestingPressure,
    /// Wind moves the pressures.
    Windy,
    /// Inside and outside lie close together, so their difference is badly known.
    SmallDifference,
    /// A run ended before its rules were kept.
    RunNotEnded,
    /// Readings of a run lie far apart.
    SparseReadings,
    /// Wood is wet.
    WetWood,
    /// Nobody wrote down the sky or the lamps.
    SkyNotNoted,
    /// The sky or the lamps were not the same.
    OtherSky,
    /// Readings were left out.
    ReadingLeftOut,
    /// The dates contradict the stages.
    DatesOdd,
}

/// Every oddity with its name and its one effect.
const ODDITIES: &[(Oddity, &str, Effect)] = &[
    (Oddity::FewPoints, "few-points", Effect::Grade),
    (Oddity::SinglePoint, "single-point", Effect::Grade),
    (Oddity::ExponentOdd, "exponent-odd", Effect::Grade),
    (Oddity::PoorFit, "poor-fit", Effect::Grade),
    (Oddity::RestingPressure, "resting-pressure", Effect::Grade),
    (Oddity::Windy, "windy", Effect::Grade),
    (Oddity::SmallDifference, "small-difference", Effect::Grade),
    (Oddity::RunNotEnded, "run-not-ended", Effect::Check),
    (Oddity::SparseReadings, "sparse-readings", Effect::Note),
    (Oddity::WetWood, "wet-wood", Effect::Note),
    (Oddity::SkyNotNoted, "sky-not-noted", Effect::Grade),
    (Oddity::OtherSky, "other-sky", Effect::Check),
    (Oddity::ReadingLeftOut, "reading-left-out", Effect::Note),
    (Oddity::DatesOdd, "dates-odd", Effect::Check),
];

impl Oddity {
    /// Every oddity.
    pub fn all() -> impl Iterator<Item = Self> {
        ODDITIES.iter().map(|row| row.0)
    }

    fn row(self) -> &'static (Self, &'static str, Effect) {
        ODDITIES.iter().find(|row| row.0 == self).expect("every oddity has a row")
    }

    /// Its name, as in tables and files.
    pub fn name(self) -> &'static str {
        self.row().1
    }

    /// What it does to changes of the state.
    pub fn effect(self) -> Effect {
        self.row().2
    }
}

/// An oddity with the facts that raised it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Odd {
    /// Which.
    pub flag: Oddity,
    /// The facts, in words.
    pub words: String,
}

impl Odd {
    pub(super) fn new(flag: Oddity, words: impl Into<String>) -> Self {
        Self { flag, words: words.into() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_oddity_has_one_name_and_never_takes_a_set_out() {
        let names: std::collections::BTreeSet<_> = Oddity::all().map(Oddity::name).collect();
        assert_eq!(names.len(), Oddity::all().count());
        for oddity in Oddity::all() {
            assert!(matches!(oddity.effect(), Effect::Note | Effect::Grade | Effect::Check), "{oddity:?}");
            assert!(oddity.name().bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-'));
        }
    }
}
