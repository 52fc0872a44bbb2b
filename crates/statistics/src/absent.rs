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
}

/// A value, or the reason why there is none.
pub type Known<T> = Result<T, Absent>;
