//! Reasons for a number that does not exist.
//!
//! Bad input is an error of its own kind; an absence is an honest answer to good input.

/// Why a value is missing from a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum Absent {
    /// One position, or one run, has no spread; more would have.
    #[error("{found} positions are too few, {needed} are needed")]
    TooFewPositions { found: usize, needed: usize },
    /// Groups are the days, setups or operators of a repeatability study.
    #[error("{found} groups are too few, {needed} are needed")]
    TooFewGroups { found: usize, needed: usize },
    /// With one job there is no telling how much jobs differ.
    #[error("{found} jobs are too few, {needed} are needed")]
    TooFewJobs { found: usize, needed: usize },
    /// All values agree: an interval of no width would be false precision. The meter's resolution sets the floor.
    #[error("the values show no spread at all")]
    ZeroSpread,
    /// The background is at or above the signal; nothing can be subtracted.
    #[error("the background is at or above the signal")]
    NoSignal,
    /// Signal and background exclude each other within their uncertainties.
    #[error("the readings contradict each other")]
    Contradiction,
    /// Effective degrees of freedom are defined for uncorrelated terms only.
    #[error("the terms are correlated")]
    Correlated,
    /// What was measured leaves this side open: every value beyond is as good.
    #[error("the values set no limit on this side")]
    NoLimit,
    /// A straight line takes two points, its scatter three.
    #[error("{found} readings are too few, {needed} are needed")]
    TooFewPoints { found: usize, needed: usize },
    /// What should tell two effects apart does not vary.
    #[error("the readings do not vary in a way that tells the effects apart")]
    CannotSeparate,
    /// With nothing but bounds, only the bound is known.
    #[error("all readings are bounds, so only \"at least\" can be said")]
    OnlyBounds,
    /// A search ended without an answer.
    #[error("the search for the value did not settle")]
    NotConverged,
    /// Heat went in and out in turn, or not at all, or against the temperatures.
    #[error("the heat flux nearly cancels out or runs against the temperatures")]
    NoSteadyHeatFlow,
    /// A comparison over days wants days.
    #[error("the run is too short for this")]
    RunTooShort,
}

/// A value, or the reason why there is none.
pub type Known<T> = Result<T, Absent>;
