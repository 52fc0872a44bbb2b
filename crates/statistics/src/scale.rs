//! Probabilities, confidence levels, degrees of freedom and intervals.

/// A probability strictly between 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Probability(f64);

/// A probability that is not strictly between 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} is not between 0 and 1")]
pub struct BadProbability {
    /// What came in.
    pub value: f64,
}

impl Probability {
    /// Takes in a probability.
    ///
    /// # Errors
    /// [`BadProbability`] for 0, 1 and everything outside.
    pub fn new(value: f64) -> Result<Self, BadProbability> {
        if value > 0.0 && value < 1.0 { Ok(Self(value)) } else { Err(BadProbability { value }) }
    }

    /// The number itself.
    pub fn value(self) -> f64 {
        self.0
    }
}

/// How sure a two-sided interval is to be, such as 0.95.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Confidence(Probability);

impl Confidence {
    /// The level everything is printed at unless it says otherwise.
    pub const P95: Self = Self(Probability(0.95));

    /// Takes in a level strictly between 0 and 1.
    ///
    /// # Errors
    /// [`BadProbability`].
    pub fn new(level: f64) -> Result<Self, BadProbability> {
        Probability::new(level).map(Self)
    }

    /// The level as a number.
    pub fn level(self) -> f64 {
        self.0.0
    }

    /// What is left out on one side, (1 - level)/2.
    pub fn one_tail(self) -> Probability {
        Probability((1.0 - self.level()) / 2.0)
    }
}

/// On which side of the middle something is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// Above or below.
    Two,
    /// On one side that was chosen beforehand.
    One,
}

/// Degrees of freedom: above zero, fractional where effective, infinite where a spread is known outright.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Dof(f64);

/// Degrees of freedom that are not above zero.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} degrees of freedom are not above zero")]
pub struct BadDof {
    /// What came in.
    pub value: f64,
}

impl Dof {
    /// Those of a spread that is known and not estimated.
    pub const INFINITE: Self = Self(f64::INFINITY);

    /// Takes in degrees of freedom; infinity is allowed.
    ///
    /// # Errors
    /// [`BadDof`].
    pub fn new(value: f64) -> Result<Self, BadDof> {
        if value > 0.0 { Ok(Self(value)) } else { Err(BadDof { value }) }
    }

    /// Those of a spread over `n` values around their mean.
    pub(crate) fn of_mean(n: usize) -> Option<Self> {
        (n > 1).then(|| Self((n - 1) as f64))
    }

    /// The number, or `None` where infinite.
    pub fn finite(self) -> Option<f64> {
        self.0.is_finite().then_some(self.0)
    }

    /// The number, infinity included.
    pub(crate) fn raw(self) -> f64 {
        self.0
    }
}

/// A range of values, `low` ≤ `high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Spans `half_width` to both sides of a value.
    pub fn around(middle: f64, half_width: f64) -> Self {
        Self { low: middle - half_width, high: middle + half_width }
    }

    /// From end to end.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }

    /// Whether a value lies in it, ends included.
    pub fn contains(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Whether all of it lies on one side of zero.
    pub fn excludes_zero(&self) -> bool {
        !self.contains(0.0)
    }

    /// The same range moved by `by`.
    pub fn shifted(&self, by: f64) -> Self {
        Self { low: self.low + by, high: self.high + by }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_can_be_is_taken_in() {
        assert_eq!(Probability::new(0.0), Err(BadProbability { value: 0.0 }));
        assert!(Probability::new(1.0).is_err() && Probability::new(f64::NAN).is_err());
        assert_eq!(Dof::new(0.0), Err(BadDof { value: 0.0 }));
        assert!(Dof::new(f64::NAN).is_err());
        assert_eq!(Dof::new(f64::INFINITY), Ok(Dof::INFINITE));
        assert_eq!(Dof::INFINITE.finite(), None);
        assert_eq!(Dof::of_mean(1), None);
        assert_eq!(Dof::of_mean(5).and_then(Dof::finite), Some(4.0));
        assert!((Confidence::P95.one_tail().value() - 0.025).abs() < 1e-15);
    }

    #[test]
    fn intervals_know_their_ends() {
        let interval = Interval::around(1.0, 1.0);
        assert_eq!(interval, Interval { low: 0.0, high: 2.0 });
        assert!(!interval.excludes_zero(), "an end at zero still includes it");
        assert!(interval.shifted(0.1).excludes_zero());
        assert_eq!(interval.width(), 2.0);
    }
}
