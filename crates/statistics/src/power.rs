//! How many positions a test needs: to show a difference, or to know it to within some width.
//!
//! Plan on the width: "not shown" is not "no difference". Leaves out repeats, costs and the choice of the next test,
//! which is [`planning`](crate::planning).

use crate::distributions::{coverage_factor, normal_cdf, t_quantile};
use crate::quadrature::{Bend, integral};
use crate::scale::{Confidence, Dof, Probability, Sides};

/// A search gives up beyond this many positions.
pub const MOST_POSITIONS: usize = 10_000_000;

/// Below this chance of a false alarm the quantiles of t at few degrees of freedom lose their digits.
const LEAST_ALPHA: f64 = 1e-9;

/// A chi value farther from √ν has no probability left, 10^-14 at most.
const CHI_REACH: f64 = 8.0;

/// Why there is no power or number of positions.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum PowerError {
    /// The spread of differences between positions is finite and above zero.
    #[error("a standard deviation of {sd} is not a number above zero")]
    Sd { sd: f64 },
    /// The difference in standard deviations is finite.
    #[error("a difference of {difference} is no finite number, or far too many standard deviations")]
    Difference { difference: f64 },
    /// A chance of a false alarm, usually 0.05.
    #[error("a chance of a false alarm of {alpha} is too small to compute with, give at least 1e-9")]
    Alpha { alpha: f64 },
    /// A paired test has at least two positions.
    #[error("{n} positions make no test, give from 2 to {MOST_POSITIONS}")]
    Positions { n: usize },
    /// The half width is finite and above zero.
    #[error("a half width of {half_width} is not a number above zero")]
    HalfWidth { half_width: f64 },
    /// Look on the other side, or for a difference that is one.
    #[error("no number of positions shows a difference of {difference} on that side")]
    NothingToShow { difference: f64 },
    /// Ask for less.
    #[error("even {MOST_POSITIONS} positions do not reach that")]
    TooMany,
}

/// What a paired test looks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    difference: f64,
    sd: f64,
    alpha: Probability,
    sides: Sides,
}

/// How likely a test shows its difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power {
    /// The probability.
    pub power: f64,
    /// Noncentrality, `δ√n/σ`.
    pub noncentrality: f64,
    /// Degrees of freedom, n - 1.
    pub dof: usize,
}

impl Aim {
    /// Takes in the true difference, the standard deviation of differences between positions, the chance of a false alarm and
    /// whether a change to either side counts. [`Sides::One`] looks for a positive difference.
    ///
    /// # Errors
    /// [`PowerError::Difference`], [`PowerError::Sd`], [`PowerError::Alpha`].
    pub fn new(difference: f64, sd: f64, alpha: Probability, sides: Sides) -> Result<Self, PowerError> {
        if !(sd.is_finite() && sd > 0.0) {
            return Err(PowerError::Sd { sd });
        }
        if !(difference / sd * (MOST_POSITIONS as f64).sqrt()).is_finite() {
            return Err(PowerError::Difference { difference });
        }
        if alpha.value() < LEAST_ALPHA {
            return Err(PowerError::Alpha { alpha: alpha.value() });
        }
        Ok(Self { difference, sd, alpha, sides })
    }

    /// Computes the power of a paired t test, `P(T' > t_c) + P(T' < -t_c)` with T' noncentral t.
    ///
    /// `∫ χ_ν(x)·[Φ(ncp - t_c·x/√ν) + Φ(-t_c·x/√ν - ncp)] dx`; one side keeps the first term and its own t_c.
    ///
    /// # Units and shape
    /// `n`: positions, 2 to [`MOST_POSITIONS`].
    ///
    /// # Errors
    /// [`PowerError::Positions`].
    ///
    /// # Source
    /// Definition of the noncentral t distribution as a normal value over a chi value; Cohen 1988 for its use.
    pub fn power(&self, n: usize) -> Result<Power, PowerError> {
        if !(2..=MOST_POSITIONS).contains(&n) {
            return Err(PowerError::Positions { n });
        }
        let dof = n - 1;
        let noncentrality = self.difference / self.sd * (n as f64).sqrt();
        let tail = match self.sides {
            Sides::Two => self.alpha.value() / 2.0,
            Sides::One => self.alpha.value(),
        };
        let tail = Probability::new(tail).expect("half of a probability");
        let nu = dof as f64;
        let critical = -t_quantile(tail, Dof::new(nu).expect("at least one degree of freedom"));
        let per_x = critical / nu.sqrt();
        let other_side = match self.sides {
            Sides::Two => 1.0,
            Sides::One => 0.0,
        };
        let shown = |x: f64| {
            normal_cdf(noncentrality - per_x * x) + other_side * normal_cdf(-per_x * x - noncentrality)
        };
        Ok(Power { power: over_chi(nu, noncentrality, per_x, shown).min(1.0), noncentrality, dof })
    }

    /// Finds the fewest positions with at least this power, and the power they have.
    ///
    /// # Errors
    /// [`PowerError::NothingToShow`] for no difference on the side looked at, [`PowerError::TooMany`].
    ///
    /// # Source
    /// Search from two positions; power grows with each.
    pub fn positions_for(&self, power: Probability) -> Result<(usize, Power), PowerError> {
        let none = match self.sides {
            Sides::Two => self.difference == 0.0,
            Sides::One => self.difference <= 0.0,
        };
        if none {
            return Err(PowerError::NothingToShow { difference: self.difference });
        }
        let n = fewest(|n| self.power(n).is_ok_and(|got| got.power >= power.value()))?;
        Ok((n, self.power(n)?))
    }
}

/// Averages a probability over the chi distribution; it bends where ±ncp meets `per_x`·x.
fn over_chi(nu: f64, noncentrality: f64, per_x: f64, probability: impl Fn(f64) -> f64) -> f64 {
    let (low, high) = ((nu.sqrt() - CHI_REACH).max(0.0), nu.sqrt() + CHI_REACH);
    // With α above one half the one-sided t_c is below zero, and 0 at one half: no bend there.
    let bends: Vec<Bend> = if per_x == 0.0 {
        Vec::new()
    } else {
        let middle = noncentrality / per_x;
        [middle, -middle].map(|middle| Bend { middle, width: 1.0 / per_x.abs() }).to_vec()
    };
    let density = |x: f64| chi_density(nu, x);
    // Both integrals miss the same constant.
    integral(low, high, &bends, |x| density(x) * probability(x)) / integral(low, high, &bends, density)
}

/// `x^(ν-1)·exp(-x²/2)` relative to its highest value.
fn chi_density(nu: f64, x: f64) -> f64 {
    let power = nu - 1.0;
    if power < 0.5 {
        return (-0.5 * x * x).exp();
    }
    let off = x / power.sqrt() - 1.0;
    (power * (off.ln_1p() - off - 0.5 * off * off)).exp()
}

/// Finds the fewest positions whose interval reaches at most `half_width` to each side, and what they reach,
/// `t(n-1)·σ/√n`.
///
/// # Units and shape
/// `sd`: standard deviation of differences between positions, same unit as the half width, both above zero.
///
/// # Errors
/// [`PowerError::Sd`], [`PowerError::HalfWidth`], [`PowerError::TooMany`].
///
/// # Source
/// Half width of the t interval, Student 1908.
pub fn positions_for_half_width(
    sd: f64,
    half_width: f64,
    confidence: Confidence,
) -> Result<(usize, f64), PowerError> {
    if !(sd.is_finite() && sd > 0.0) {
        return Err(PowerError::Sd { sd });
    }
    if !(half_width.is_finite() && half_width > 0.0) {
        return Err(PowerError::HalfWidth { half_width });
    }
    let reached = |n: usize| {
        let dof = Dof::of_mean(n).expect("a search from two positions");
        coverage_factor(confidence, dof) * (sd / (n as f64).sqrt())
    };
    let n = fewest(|n| reached(n) <= half_width)?;
    Ok((n, reached(n)))
}

/// The least n from 2 on that is enough, where more is never less.
fn fewest(is_enough: impl Fn(usize) -> bool) -> Result<usize, PowerError> {
    let mut enough = 2;
    while !is_enough(enough) {
        if enough == MOST_POSITIONS {
            return Err(PowerError::TooMany);
        }
        enough = (2 * enough).min(MOST_POSITIONS);
    }
    let mut too_few = 1;
    while enough - too_few > 1 {
        let middle = usize::midpoint(too_few, enough);
        if is_enough(middle) {
            enough = middle;
        } else {
            too_few = middle;
        }
    }
    Ok(enough)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(value: f64) -> Probability {
        Probability::new(value).unwrap()
    }

    fn aim(difference: f64, sd: f64, alpha: f64, sides: Sides) -> Aim {
        Aim::new(difference, sd, p(alpha), sides).unwrap()
    }

    #[test]
    fn powers_match() {
        // Computed independently twice, scipy 1.17 (noncentral t) and mpmath (the integral), which agree to 12 digits.
        let rows = [
            (2.0, 1.2, 6, 0.05, Sides::Two, 0.898771623845973),
            (-2.0, 1.2, 6, 0.05, Sides::Two, 0.898771623845973),
            (2.0, 1.2, 5, 0.05, Sides::Two, 0.793220235052622),
            (2.0, 1.2, 2, 0.05, Sides::Two, 0.147104330686792),
            (2.0, 1.2, 2, 0.001, Sides::Two, 0.00296183770438418),
            (1.0, 2.0, 34, 0.05, Sides::Two, 0.807777501279274),
            (0.1, 1.0, 1000, 0.05, Sides::Two, 0.884789098890714),
            (2.0, 1.2, 6, 0.05, Sides::One, 0.965644442323637),
            (-2.0, 1.2, 6, 0.05, Sides::One, 5.2255261100343e-8),
            (0.0, 1.0, 5, 0.05, Sides::Two, 0.05),
            (30.0, 1.0, 4, 0.05, Sides::Two, 1.0),
        ];
        for (difference, sd, n, alpha, sides, expected) in rows {
            let got = aim(difference, sd, alpha, sides).power(n).unwrap();
            assert!((got.power - expected).abs() < 1e-10, "{difference} {sd} {n} {alpha}: {got:?}");
        }
        // The integral by mpmath at 30 digits; the noncentral t of scipy 1.17 is off by 1e-5 there.
        let many = aim(0.005, 1.0, 0.05, Sides::Two).power(200_000).unwrap();
        assert!((many.power - 0.60877536193525).abs() < 1e-10, "{many:?}");
    }

    #[test]
    fn numbers_of_positions_match() {
        // For 80 % and 90 % at δ/σ of one half to three; computed independently with scipy 1.17 (noncentral t).
        for (ratio, for_80, for_90) in [(0.5, 34, 44), (1.0, 10, 13), (1.5, 6, 7), (2.0, 5, 5), (3.0, 4, 4)] {
            let aim = aim(ratio, 1.0, 0.05, Sides::Two);
            assert_eq!(aim.positions_for(p(0.8)).unwrap().0, for_80, "{ratio}");
            assert_eq!(aim.positions_for(p(0.9)).unwrap().0, for_90, "{ratio}");
        }
        let (n, power) = aim(2.0, 1.2, 0.05, Sides::One).positions_for(p(0.8)).unwrap();
        assert_eq!(n, 4);
        assert!((power.power - 0.806632700664161).abs() < 1e-10);
        let (n, half_width) = positions_for_half_width(1.2, 1.0, Confidence::P95).unwrap();
        assert_eq!(n, 9);
        assert!((half_width - 0.9224016540816664).abs() < 1e-10);
    }

    #[test]
    fn conventional_effects_match() {
        // Pairs for 80 % at 5 % and Cohen's small, medium and large effects of 0.2, 0.5 and 0.8: 199, 34 and 15, as
        // power programs print them (from memory); powers computed independently with scipy 1.17 (noncentral t).
        let rows = [
            (0.2, 199, 0.8016910240370655, 0.7996983729002213),
            (0.5, 34, 0.8077775012792738, 0.7953658414875041),
            (0.8, 15, 0.8213105387241096, 0.7900877506591865),
        ];
        for (effect, pairs, power, with_one_less) in rows {
            let aim = aim(effect, 1.0, 0.05, Sides::Two);
            let (n, got) = aim.positions_for(p(0.8)).unwrap();
            assert_eq!(n, pairs, "{effect}");
            assert!((got.power - power).abs() < 1e-9, "{effect}: {got:?}");
            assert!((aim.power(n - 1).unwrap().power - with_one_less).abs() < 1e-9, "{effect}");
        }
    }

    #[test]
    fn what_cannot_be_planned_is_refused() {
        let alpha = p(0.05);
        assert_eq!(Aim::new(1.0, 0.0, alpha, Sides::Two), Err(PowerError::Sd { sd: 0.0 }));
        assert!(Aim::new(f64::NAN, 1.0, alpha, Sides::Two).is_err());
        assert!(Aim::new(1e300, 1e-300, alpha, Sides::Two).is_err());
        assert!(Aim::new(1.0, 1.0, p(1e-12), Sides::Two).is_err());
        let aim_two = aim(1.0, 1.0, 0.05, Sides::Two);
        assert_eq!(aim_two.power(1), Err(PowerError::Positions { n: 1 }));
        let nothing = Err(PowerError::NothingToShow { difference: 0.0 });
        assert_eq!(aim(0.0, 1.0, 0.05, Sides::Two).positions_for(p(0.8)), nothing);
        assert!(aim(-1.0, 1.0, 0.05, Sides::One).positions_for(p(0.8)).is_err());
        let tiny = aim(1e-5, 1.0, 0.05, Sides::Two);
        assert_eq!(tiny.positions_for(p(0.8)), Err(PowerError::TooMany));
        let narrow = positions_for_half_width(1.0, 1e-9, Confidence::P95);
        assert_eq!(narrow, Err(PowerError::TooMany));
        assert!(positions_for_half_width(1.0, 0.0, Confidence::P95).is_err());
    }
}
