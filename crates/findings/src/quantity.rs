//! Tests of other quantities than sound, in one frame: states, changes with what makes them uncertain, what stands beside.
//!
//! Air leakage, surface temperature, thermal resistance, indoor temperature, moisture, light and whatever else was read are each
//! worked out in a file of their own; order, claims, grades and words are the same for all. Leaves out sound: see
//! [`mod@crate::test_finding`].

mod air;
mod beside;
mod daily;
mod factor;
mod frame;
mod light;
mod means;
mod moisture;
mod oddity;
mod readings;
mod resistance;
mod scatter;
mod verdict;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::kinds::Test;

use crate::Findings;
use crate::budget::Interval;
use crate::change::SetRef;
use crate::grade::Grade;

pub use air::{ASSUMED_EXPONENT, FAN_RELATIVE_U, REFERENCE_PA};
pub use factor::METER_LIMIT_K;
pub use moisture::{NEAR_POINTS, PIN_LIMIT_POINTS};
pub use oddity::{Odd, Oddity};
pub use resistance::{FT2_H_F_PER_BTU, RESISTANCE_ERRORS};
pub use verdict::places;

/// What a test measures, other than sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum QuantityKind {
    /// Flow of a fan over the pressure it makes.
    AirLeakage,
    /// A surface temperature freed of the weather.
    SurfaceFactor,
    /// Resistance of a built wall to heat, from days of readings.
    Resistance,
    /// Temperature of a room, freed of the weather by daily means.
    Temperature,
    /// Moisture content of wood.
    Moisture,
    /// Light on a grid of spots.
    Light,
    /// Means of whatever was read.
    Other,
}

impl QuantityKind {
    /// The kind a test's own word stands for; `None` for a level difference.
    pub fn of(measures: &str) -> Option<Self> {
        Some(match measures {
            "level-difference" => return None,
            "air-leakage" => Self::AirLeakage,
            "thermal" => Self::SurfaceFactor,
            "thermal-resistance" => Self::Resistance,
            "temperature" => Self::Temperature,
            "moisture" => Self::Moisture,
            "light" => Self::Light,
            _ => Self::Other,
        })
    }

    /// Its word, as in tests.
    pub fn word(self) -> &'static str {
        match self {
            Self::AirLeakage => "air-leakage",
            Self::SurfaceFactor => "thermal",
            Self::Resistance => "thermal-resistance",
            Self::Temperature => "temperature",
            Self::Moisture => "moisture",
            Self::Light => "light",
            Self::Other => "other",
        }
    }
}

/// Why a number is absent, with what would bring it.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum Missing {
    /// Nothing of the kind was read.
    #[error("no reading of {what}")]
    NoReadings { what: &'static str },
    /// A flow is only a rate of air changes with the volume it changes.
    #[error("the volume of the site is not noted: write down the volume inside its air barrier")]
    NoVolume,
    /// A flow per area wants the area.
    #[error("the area of the envelope is not noted: write it down with the site")]
    NoEnvelope,
    /// Neither the set nor the test names a job with a site.
    #[error("neither set nor test names a job with a site: name the job")]
    NoSite,
    /// One pressure gives no exponent.
    #[error("one pressure does not tell it: read the flow at five pressures or more")]
    OnePressure,
    /// A factor divides by the difference of inside and outside.
    #[error("inside and outside were equally warm: measure when they are 10 K apart")]
    EquallyWarm,
    /// The rules for ending a run are about hours and days.
    #[error("the times of the readings are not noted: write down when each was taken")]
    NoTimes,
    /// Windows of whole days take evenly spaced readings.
    #[error("the readings are not evenly spaced through the day: average them to hours")]
    Uneven,
    /// There was nothing to pair or subtract.
    #[error("only one of the two states has the number")]
    OneState,
    /// The work cannot be told from the weather.
    #[error("these days do not tell the work from the weather: take several days before and several after")]
    TooFewDays,
    /// A share of nothing is no number.
    #[error("there was no light at any spot")]
    Dark,
    /// What was read does not bear the number.
    #[error("{0}")]
    Statistics(storypole_statistics::Absent),
    /// Digits slipped.
    #[error("the result is too large to be written: check the readings")]
    OutOfRange,
}

/// A number a state was worked out from.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// What it is.
    pub name: String,
    /// Its mean.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Readings in it.
    pub count: usize,
}

/// A number of a state.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// What it is.
    pub name: String,
    /// Its unit; empty for a plain number.
    pub unit: &'static str,
    /// The number, unrounded.
    pub value: Option<f64>,
    /// Its standard uncertainty; absent where nothing tells the scatter.
    pub u: Option<f64>,
    /// Degrees of freedom of that; `None` is without limit, or there is no uncertainty.
    pub dof: Option<f64>,
    /// Its interval.
    pub interval: Option<Interval>,
    /// Spots, points or days behind it.
    pub count: usize,
    /// Why there is no number.
    pub absent: Option<Missing>,
}

impl Measured {
    fn absent(name: impl Into<String>, unit: &'static str, absent: Missing) -> Self {
        Self {
            name: name.into(),
            unit,
            value: None,
            u: None,
            dof: None,
            interval: None,
            count: 0,
            absent: Some(absent),
        }
    }
}

/// A rule a measurement has to keep, and whether it did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// The rule with the number it was judged by.
    pub words: String,
    /// Whether it was kept.
    pub kept: bool,
}

/// One state of what was tested.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// The set, or the first of several that make the state.
    pub set: RecordId,
    /// Every set in it.
    pub sets: Vec<RecordId>,
    /// Label, or those of the first and the last set.
    pub label: String,
    /// Day of the first set.
    pub date: Option<Date>,
    /// Its stage.
    pub stage: Option<String>,
    /// Its assembly version.
    pub assembly: Option<RecordId>,
    /// Label of that.
    pub assembly_label: String,
    /// A person let it in in spite of its flags: nothing waits to be looked at.
    pub included: bool,
    /// What it was worked out from.
    pub inputs: Vec<Input>,
    /// What it shows, the number the test asks for first.
    pub values: Vec<Measured>,
    /// Rules of the method.
    pub rules: Vec<Kept>,
    /// What is odd about it.
    pub flags: Vec<Odd>,
}

/// One term of what makes a change uncertain.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// What it stands for.
    pub name: &'static str,
    /// Its standard uncertainty, in the unit of the change; of a ratio as a share of one.
    pub u: f64,
    /// Its share of the squared uncertainty.
    pub share: f64,
}

/// Why a change is not claimed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum Doubt {
    /// Repeats of one state lie as far apart.
    #[error("under three times the spread of repeats, {limit} {unit}")]
    WithinRepeats { limit: f64, unit: &'static str },
    /// It could be nothing.
    #[error("the interval includes zero")]
    IncludesZero,
    /// Nothing says how far off it is.
    #[error("there is no interval")]
    NoInterval,
    /// A set of the after state is dated before one of the before state.
    #[error("the dates contradict the stages: check them")]
    DatesOdd,
    /// Daylight is the sky's.
    #[error("the sky was not the same")]
    OtherSky,
    /// A run that may not end yet can still move.
    #[error("a run ended before its rules were kept")]
    RunNotEnded,
}

/// Whether a change may be claimed.
#[derive(Debug, Clone, PartialEq)]
pub enum QuantityClaim {
    /// It may.
    Claimed,
    /// It may not, for these reasons.
    NoClaim(Vec<Doubt>),
    /// There is no number.
    Undetermined,
}

impl QuantityClaim {
    /// The verdict in a word, for tables.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Claimed => "claimed",
            Self::NoClaim(_) => "no claim",
            Self::Undetermined => "undetermined",
        }
    }
}

/// What lies between two states.
#[derive(Debug, Clone, PartialEq)]
pub struct QuantityChange {
    /// What changed.
    pub name: String,
    /// Its unit; empty for a plain number.
    pub unit: &'static str,
    /// The earlier state.
    pub from: SetRef,
    /// The later state.
    pub to: SetRef,
    /// Both show the same wall: the second repeats the first.
    pub again: bool,
    /// Before, on what was compared.
    pub before: Option<f64>,
    /// After, on what was compared.
    pub after: Option<f64>,
    /// After minus before.
    pub value: Option<f64>,
    /// Why there is none.
    pub absent: Option<Missing>,
    /// Its standard uncertainty.
    pub u: Option<f64>,
    /// Degrees of freedom of that; `None` is without limit, or there is no uncertainty.
    pub dof: Option<f64>,
    /// Its interval.
    pub interval: Option<Interval>,
    /// As percent of before, where a ratio says more than a difference.
    pub relative_percent: Option<f64>,
    /// Interval of that.
    pub relative_interval: Option<Interval>,
    /// What makes it uncertain: of the ratio where that is what the claim is on.
    pub shares: Vec<Share>,
    /// Spots, points or days behind it, the fewer of both states.
    pub count: usize,
    /// Whether it is made from pairs at the same spots.
    pub paired: bool,
    /// Spots compared, by label.
    pub shared: Vec<String>,
    /// Spots only one state has, by label.
    pub left_off: Vec<String>,
    /// Least change that repeats allow to claim; `None` without repeats.
    pub limit: Option<f64>,
    /// Whether it may be claimed.
    pub claim: QuantityClaim,
    /// How good the comparison was.
    pub grade: Grade,
    /// What to know about this one comparison.
    pub notes: Vec<String>,
    /// In plain words.
    pub sentence: String,
}

/// A quantity read along with the one the test asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// What it is.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// In the first state that has it.
    pub before: Option<f64>,
    /// In the last state, where that is another.
    pub after: Option<f64>,
    /// Spots looked at before and after, for counts of spots.
    pub of: (Option<usize>, Option<usize>),
    /// In plain words.
    pub sentence: String,
}

/// What a test of another quantity than sound shows.
#[derive(Debug, Clone, PartialEq)]
pub struct QuantityFinding {
    /// The test.
    pub test: RecordId,
    /// What it measures.
    pub quantity: QuantityKind,
    /// States in the order they were taken.
    pub states: Vec<State>,
    /// Every later state against the first, and against the one before it where that is another.
    pub changes: Vec<QuantityChange>,
    /// What was read along with it.
    pub beside: Vec<Beside>,
    /// What is odd, over all states.
    pub flags: Vec<Odd>,
    /// What a reader should not take from it.
    pub cautions: Vec<String>,
    /// How it was worked out, and what would make it better.
    pub notes: Vec<String>,
    /// The answer in plain sentences.
    pub sentences: Vec<String>,
}

impl QuantityFinding {
    /// The change that answers the question: from the first state to the last of another wall.
    pub fn headline(&self) -> Option<&QuantityChange> {
        let first = self.states.first()?.set;
        let from_first = || self.changes.iter().filter(move |change| change.from.set == first);
        let to = from_first().rfind(|change| !change.again).or(from_first().next_back())?.to.set;
        from_first().find(|change| change.to.set == to)
    }
}

/// Works out a test of another quantity; `None` for one of a level difference.
pub(crate) fn find(joins: &Findings<'_>, test: &Test) -> Option<QuantityFinding> {
    let kind = QuantityKind::of(test.measures.as_deref().unwrap_or("level-difference"))?;
    Some(match kind {
        QuantityKind::AirLeakage => frame::work_out(joins, test, kind, &air::Air),
        QuantityKind::SurfaceFactor => frame::work_out(joins, test, kind, &factor::Factor),
        QuantityKind::Resistance => frame::work_out(joins, test, kind, &resistance::HeatRun),
        QuantityKind::Temperature => frame::work_out(joins, test, kind, &daily::Daily),
        QuantityKind::Moisture => frame::work_out(joins, test, kind, &moisture::Pins),
        QuantityKind::Light => frame::work_out(joins, test, kind, &light::Grid),
        QuantityKind::Other => frame::work_out(joins, test, kind, &means::Means),
    })
}

#[cfg(test)]
mod tests;
