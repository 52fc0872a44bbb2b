//! "At least" and "at most" carried through sums and differences.
//!
//! A limited receiving level makes a level difference a lower bound and a change between two of them a bound one way,
//! the other way, or nothing at all. The number itself is computed as usual; this says how to read it.

/// How the true value stands to a stated number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sense {
    /// The number is the estimate itself.
    Exact,
    /// The true value is this or more.
    AtLeast,
    /// The true value is this or less.
    AtMost,
    /// Bounds on both sides met: the number says nothing and is not printed.
    Undetermined,
}

impl Sense {
    /// The sense of the negative of a number.
    pub fn negated(self) -> Self {
        match self {
            Self::AtLeast => Self::AtMost,
            Self::AtMost => Self::AtLeast,
            same => same,
        }
    }

    /// The sense of a sum, or of a mean, of two numbers.
    pub fn plus(self, other: Self) -> Self {
        match (self, other) {
            (Self::Exact, sense) | (sense, Self::Exact) => sense,
            (Self::AtLeast, Self::AtLeast) => Self::AtLeast,
            (Self::AtMost, Self::AtMost) => Self::AtMost,
            _ => Self::Undetermined,
        }
    }

    /// The sense of a difference, `self` minus `other`.
    pub fn minus(self, other: Self) -> Self {
        self.plus(other.negated())
    }
}

#[cfg(test)]
mod tests {
    use super::Sense::{AtLeast, AtMost, Exact, Undetermined};

    #[test]
    fn bounds_carry_to_the_change() {
        // Receive levels before and after, sense of D after - D before, where D is source minus receive. Follows from the
        // order of the numbers: a hidden after-level means "improved by at least", a hidden before-level "at most".
        let rows = [
            (Exact, Exact, Exact),
            (Exact, AtMost, AtLeast),
            (AtMost, Exact, AtMost),
            (AtMost, AtMost, Undetermined),
        ];
        for (before, after, change) in rows {
            let (d_before, d_after) = (Exact.minus(before), Exact.minus(after));
            assert_eq!(d_after.minus(d_before), change, "{before:?} to {after:?}");
        }
    }

    #[test]
    fn sums_keep_one_direction_only() {
        let all = [Exact, AtLeast, AtMost, Undetermined];
        for sense in all {
            assert_eq!(sense.plus(Exact), sense);
            assert_eq!(sense.plus(Undetermined), Undetermined);
            assert_eq!(sense.negated().negated(), sense);
            for other in all {
                assert_eq!(sense.plus(other), other.plus(sense));
                assert_eq!(sense.minus(other), other.minus(sense).negated());
            }
        }
        assert_eq!(AtLeast.plus(AtLeast), AtLeast);
        assert_eq!(AtMost.plus(AtLeast), Undetermined);
    }
}
