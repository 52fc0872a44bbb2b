//! A cost over an effect, and how far off it may be.
//!
//! A ratio whose denominator may be 0 has no mean and perhaps no limit, so its range takes one of several kinds. Leaves
//! out whether the ratio is worth telling; where the effect is unclear, [`frontier`](crate::frontier) has a better measure.

use crate::distributions::{coverage_factor, normal_cdf, normal_quantile};
use crate::quadrature::{Bend, integral};
use crate::scale::{Confidence, Dof, Interval, Probability};

/// Quantiles nearer to 0 or 1 than this are beyond the digits of the integral.
pub const LEAST_TAIL: f64 = 1e-6;

/// A normal value farther out has no probability left, 10^-18 at most.
const NORMAL_REACH: f64 = 9.0;

/// Why there is no range of a ratio.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RatioError {
    /// Numerator and denominator are finite.
    #[error("{numerator} over {denominator} is no ratio of finite numbers")]
    NotFinite { numerator: f64, denominator: f64 },
    /// Variances and standard deviations are finite and not negative.
    #[error("a spread of {spread} is not finite, or below zero")]
    Spread { spread: f64 },
    /// A covariance is at most the product of both standard deviations.
    #[error("a covariance of {covariance} is more than both variances allow")]
    Covariance { covariance: f64 },
    /// Values of the size of measurements have squares.
    #[error("values this large have no squares to compute with")]
    TooLarge,
    /// A known denominator of 0 divides nothing.
    #[error("the denominator is known to be zero")]
    ZeroDenominator,
    /// Ask for a quantile between.
    #[error("a probability of {probability} is not between {LEAST_TAIL} and 1 - {LEAST_TAIL}")]
    Tail { probability: f64 },
}

/// Numerator and denominator with their variances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioParts {
    /// C, such as a cost.
    pub numerator: f64,
    /// E, such as a reduction.
    pub denominator: f64,
    /// Variance of the numerator.
    pub var_numerator: f64,
    /// Variance of the denominator.
    pub var_denominator: f64,
    /// Covariance of both.
    pub covariance: f64,
}

/// The ratios that agree with what was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RatioRange {
    /// From end to end.
    Bounded(Interval),
    /// Up to one, from the other on, and nothing between; a side that is `None` is not there.
    Outside {
        /// Every ratio up to this.
        below: Option<f64>,
        /// Every ratio from this on.
        above: Option<f64>,
    },
    /// Every ratio: nothing can be said.
    All,
}

/// A ratio with Fieller's range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fieller {
    /// C/E; `None` over 0.
    pub ratio: Option<f64>,
    /// t, how many standard deviations the range spans.
    pub t: f64,
    /// `t²·v_E/E²`: from 1 on the denominator is not clear of 0. `None` for a denominator of 0.
    pub g: Option<f64>,
    /// The range.
    pub range: RatioRange,
}

/// Finds the ratios R for which `C - R·E` is within t standard deviations of 0.
///
/// With `A = E² - t²v_E`, `B = CE - t²cov`, `K = C² - t²v_C`, Δ = B² - AK: for A > 0 the range is `(B ± √Δ)/A`; for A ≤ 0 and
/// Δ > 0 all outside these roots; else every ratio.
///
/// # Units and shape
/// `dof`: those of the denominator, infinite for known variances.
///
/// # Errors
/// [`RatioError`].
///
/// # Source
/// Fieller 1954.
pub fn fieller(parts: &RatioParts, dof: Dof, confidence: Confidence) -> Result<Fieller, RatioError> {
    let RatioParts { numerator: c, denominator: e, var_numerator, var_denominator, covariance } = *parts;
    check(c, e, [var_numerator, var_denominator])?;
    // A share of 10⁻¹² more is rounding of a correlation of one.
    let most = var_numerator * var_denominator * (1.0 + 1e-12);
    if !covariance.is_finite() || covariance * covariance > most {
        return Err(RatioError::Covariance { covariance });
    }
    let t = coverage_factor(confidence, dof);
    let t2 = t * t;
    let a = e * e - t2 * var_denominator;
    let b = c * e - t2 * covariance;
    let k = c * c - t2 * var_numerator;
    if ![a, k, b * b, a * k].iter().all(|part| part.is_finite()) {
        return Err(RatioError::TooLarge);
    }
    Ok(Fieller {
        ratio: (e != 0.0).then(|| c / e),
        t,
        g: (e != 0.0).then(|| t2 * var_denominator / (e * e)),
        range: range(a, b, k),
    })
}

/// The R with `A·R² - 2B·R + K ≤ 0`.
fn range(a: f64, b: f64, k: f64) -> RatioRange {
    let delta = b * b - a * k;
    if a == 0.0 && b != 0.0 {
        let end = k / (2.0 * b);
        return if b > 0.0 {
            RatioRange::Outside { below: None, above: Some(end) }
        } else {
            RatioRange::Outside { below: Some(end), above: None }
        };
    }
    if a <= 0.0 && delta <= 0.0 || a == 0.0 {
        return RatioRange::All;
    }
    // For A > 0 the ratio itself is in the range, so only rounding makes Δ negative. The sum never cancels.
    let sum = b + delta.max(0.0).sqrt().copysign(b);
    let roots = if sum == 0.0 { (0.0, 0.0) } else { (sum / a, k / sum) };
    let (low, high) = (roots.0.min(roots.1), roots.0.max(roots.1));
    if a > 0.0 {
        RatioRange::Bounded(Interval { low, high })
    } else {
        RatioRange::Outside { below: Some(low), above: Some(high) }
    }
}

fn check(numerator: f64, denominator: f64, spreads: [f64; 2]) -> Result<(), RatioError> {
    if !(numerator.is_finite() && denominator.is_finite()) {
        return Err(RatioError::NotFinite { numerator, denominator });
    }
    match spreads.into_iter().find(|spread| !(spread.is_finite() && *spread >= 0.0)) {
        Some(spread) => Err(RatioError::Spread { spread }),
        None => Ok(()),
    }
}

/// The distribution of a ratio of two independent normal values.
///
/// Computed where others draw random numbers: the same digits on every device. It has a median and no mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalRatio {
    numerator: f64,
    denominator: f64,
    sd_numerator: f64,
    sd_denominator: f64,
}

impl NormalRatio {
    /// Takes in both means and standard deviations; a standard deviation of 0 is a value that is known.
    ///
    /// # Errors
    /// [`RatioError`].
    pub fn new(
        numerator: f64,
        denominator: f64,
        sd_numerator: f64,
        sd_denominator: f64,
    ) -> Result<Self, RatioError> {
        check(numerator, denominator, [sd_numerator, sd_denominator])?;
        if denominator == 0.0 && sd_denominator == 0.0 {
            return Err(RatioError::ZeroDenominator);
        }
        Ok(Self { numerator, denominator, sd_numerator, sd_denominator })
    }

    /// Returns the chance that the denominator is 0 or below. Above 2.5 % no upper limit of the ratio is worth printing.
    pub fn chance_denominator_not_positive(&self) -> f64 {
        if self.sd_denominator == 0.0 {
            return if self.denominator > 0.0 { 0.0 } else { 1.0 };
        }
        normal_cdf(-self.denominator / self.sd_denominator)
    }

    /// Returns the ratio that is not exceeded with probability `p`.
    ///
    /// # Errors
    /// [`RatioError::Tail`] outside [`LEAST_TAIL`] to 1 - [`LEAST_TAIL`].
    ///
    /// # Source
    /// Inversion of `P(X/Y ≤ r) = ∫ φ(y)·Φ(±(r·y - μ_X)/σ_X) dy`, the sign that of y; Hinkley 1969 has it in closed form.
    pub fn quantile(&self, p: Probability) -> Result<f64, RatioError> {
        let probability = p.value();
        if !(LEAST_TAIL..=1.0 - LEAST_TAIL).contains(&probability) {
            return Err(RatioError::Tail { probability });
        }
        if self.sd_denominator == 0.0 {
            let spread = self.sd_numerator / self.denominator.abs();
            return Ok(self.numerator / self.denominator + normal_quantile(p) * spread);
        }
        if self.numerator == 0.0 && self.sd_numerator == 0.0 {
            return Ok(0.0);
        }
        Ok(self.invert(probability))
    }

    fn invert(&self, probability: f64) -> f64 {
        // A typical size: both parts at what they usually reach.
        let size =
            (self.numerator.abs() + self.sd_numerator) / self.denominator.abs().max(self.sd_denominator);
        let (mut low, mut high) = (-size, size);
        while self.cdf(low) > probability {
            low *= 2.0;
        }
        while self.cdf(high) < probability {
            high *= 2.0;
        }
        loop {
            let middle = f64::midpoint(low, high);
            if high - low <= 1e-13 * (high.abs() + low.abs()) || middle <= low || middle >= high {
                return middle;
            }
            if self.cdf(middle) < probability {
                low = middle;
            } else {
                high = middle;
            }
        }
    }

    /// P(X/Y ≤ ratio).
    fn cdf(&self, ratio: f64) -> f64 {
        if self.sd_numerator == 0.0 {
            return self.cdf_of_known_numerator(ratio);
        }
        // In standard deviations of the denominator from its mean.
        let zero = -self.denominator / self.sd_denominator;
        let argument = |z: f64| {
            (ratio * (self.denominator + self.sd_denominator * z) - self.numerator) / self.sd_numerator
        };
        let slope = ratio * self.sd_denominator / self.sd_numerator;
        let bends = if slope == 0.0 {
            vec![]
        } else {
            vec![Bend { middle: -argument(0.0) / slope, width: 1.0 / slope.abs() }]
        };
        let over = |low: f64, high: f64, sign: f64| {
            integral(low, high, &bends, |z| normal_density(z) * normal_cdf(sign * argument(z)))
        };
        over(-NORMAL_REACH, zero.min(NORMAL_REACH), -1.0) + over(zero.max(-NORMAL_REACH), NORMAL_REACH, 1.0)
    }

    /// P(c/Y ≤ ratio).
    fn cdf_of_known_numerator(&self, ratio: f64) -> f64 {
        let below = |y: f64| normal_cdf((y - self.denominator) / self.sd_denominator);
        let zero = below(0.0);
        if ratio == 0.0 {
            return if self.numerator > 0.0 { zero } else { 1.0 - zero };
        }
        let at = below(self.numerator / ratio);
        match (self.numerator > 0.0, ratio > 0.0) {
            // A positive c over y is at most a positive ratio for y < 0 and for y ≥ c/ratio, and so on.
            (true, true) => zero + (1.0 - at),
            (true, false) => zero - at,
            (false, true) => 1.0 - zero + at,
            (false, false) => at - zero,
        }
    }
}

fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64) {
        assert!((got - expected).abs() <= 1e-9 * expected.abs(), "{got} instead of {expected}");
    }

    fn parts(denominator: f64, sd_denominator: f64) -> RatioParts {
        RatioParts {
            numerator: 26.0,
            denominator,
            var_numerator: 2.25,
            var_denominator: sd_denominator * sd_denominator,
            covariance: 0.0,
        }
    }

    #[test]
    fn ranges_match() {
        // Invented costs and reductions; the quadratic computed independently with numpy 2.4 and scipy 1.17.
        let four = Dof::new(4.0).unwrap();
        let got = fieller(&parts(5.6, 0.62), four, Confidence::P95).unwrap();
        close(got.ratio.unwrap(), 26.0 / 5.6);
        close(got.g.unwrap(), 0.09448992567234557);
        let RatioRange::Bounded(range) = got.range else { panic!("{got:?}") };
        close(range.low, 3.3681084888796233);
        close(range.high, 6.886569563828927);
        // Normal, with a covariance of 0.3.
        let with_covariance = RatioParts { covariance: 0.3, ..parts(5.6, 0.62) };
        let level = Confidence::new(0.9).unwrap();
        let RatioRange::Bounded(range) = fieller(&with_covariance, Dof::INFINITE, level).unwrap().range
        else {
            panic!("not bounded")
        };
        close(range.low, 3.9332327371347375);
        close(range.high, 5.617452555275171);
    }

    #[test]
    fn a_denominator_near_zero_leaves_no_upper_limit() {
        let four = Dof::new(4.0).unwrap();
        let got = fieller(&parts(5.6, 3.1), four, Confidence::P95).unwrap();
        assert!(got.g.unwrap() > 1.0);
        let RatioRange::Outside { below: Some(below), above: Some(above) } = got.range else {
            panic!("{got:?}")
        };
        close(below, -8.607652000024926);
        close(above, 1.7911888309977602);
        let unclear = RatioParts {
            numerator: 1.0,
            denominator: 0.5,
            var_numerator: 4.0,
            var_denominator: 4.0,
            covariance: 0.0,
        };
        assert_eq!(fieller(&unclear, Dof::INFINITE, Confidence::P95).unwrap().range, RatioRange::All);
        let nothing = RatioParts { denominator: 0.0, ..unclear };
        let got = fieller(&nothing, Dof::INFINITE, Confidence::P95).unwrap();
        assert_eq!((got.ratio, got.g, got.range), (None, None, RatioRange::All));
        // Known parts: by hand, one ratio and no width.
        let known = RatioParts {
            numerator: 6.0,
            denominator: 2.0,
            var_numerator: 0.0,
            var_denominator: 0.0,
            covariance: 0.0,
        };
        let range = fieller(&known, Dof::INFINITE, Confidence::P95).unwrap().range;
        assert_eq!(range, RatioRange::Bounded(Interval { low: 3.0, high: 3.0 }));
    }

    #[test]
    fn half_lines_are_told() {
        // By hand: 0·R² - 2·2·R + 6 ≤ 0 from 1.5 on, and with the other sign up to -1.5.
        assert_eq!(range(0.0, 2.0, 6.0), RatioRange::Outside { below: None, above: Some(1.5) });
        assert_eq!(range(0.0, -2.0, 6.0), RatioRange::Outside { below: Some(-1.5), above: None });
        // R² ≤ 4, and -R² ≤ -4.
        assert_eq!(range(1.0, 0.0, -4.0), RatioRange::Bounded(Interval { low: -2.0, high: 2.0 }));
        assert_eq!(range(-1.0, 0.0, 4.0), RatioRange::Outside { below: Some(-2.0), above: Some(2.0) });
    }

    #[test]
    fn quantiles_match() {
        // Computed independently with scipy 1.17: brentq over quad of the normal densities; the second by a sample of four
        // million ratios as well.
        let rows = [
            (5.6, 1.5, 0.62, 0.025, 3.686090683863645),
            (5.6, 1.5, 0.62, 0.5, 4.642857142857143),
            (5.6, 1.5, 0.62, 0.975, 6.058468275464549),
            (5.6, 1.5, 3.0, 0.025, -13.358706820311795),
            (5.6, 1.5, 3.0, 0.1, 2.5658886993101984),
            (5.6, 1.5, 3.0, 0.5, 4.456160651808991),
            (5.6, 1.5, 3.0, 0.9, 11.651317475178809),
            // A known cost: 26 over the normal quantile of the effect. The median is exact.
            (5.6, 0.0, 0.62, 0.1, 4.065954809631369),
            (5.6, 0.0, 0.62, 0.5, 4.642857142857143),
            (5.6, 0.0, 0.62, 0.9, 5.41053694608773),
            // A known effect: (26 + 1.5·z)/5.6 with z = 1.959963984540.
            (5.6, 1.5, 0.0, 0.975, 5.1678474958589),
        ];
        for (denominator, sd_numerator, sd_denominator, probability, expected) in rows {
            let ratio = NormalRatio::new(26.0, denominator, sd_numerator, sd_denominator).unwrap();
            let got = ratio.quantile(Probability::new(probability).unwrap()).unwrap();
            let tolerance = 1e-8 * expected;
            assert!(
                (got - expected).abs() <= tolerance.abs(),
                "{denominator} {sd_numerator} {sd_denominator} {probability}: {got}"
            );
        }
        let unclear = NormalRatio::new(26.0, 5.6, 1.5, 3.0).unwrap();
        close(unclear.chance_denominator_not_positive(), 0.0309740757067406);
    }

    #[test]
    fn ratios_of_standard_normals_are_cauchy() {
        // Standard Cauchy: the p-quantile is tan(π(p - ½)), for a known numerator too by symmetry of 1/Y.
        let ratio = NormalRatio::new(0.0, 0.0, 1.0, 1.0).unwrap();
        for p in [1e-3, 0.1, 0.4, 0.75, 0.999] {
            let got = ratio.quantile(Probability::new(p).unwrap()).unwrap();
            let expected = (std::f64::consts::PI * (p - 0.5)).tan();
            assert!((got - expected).abs() <= 1e-6 * expected.abs(), "{p}: {got} {expected}");
        }
        // A loss over a known sign: quantiles of -c/Y mirror those of c/Y.
        let (gain, loss) =
            (NormalRatio::new(2.0, 1.0, 0.0, 1.0).unwrap(), NormalRatio::new(-2.0, 1.0, 0.0, 1.0).unwrap());
        for p in [0.05, 0.3, 0.8] {
            let forth = gain.quantile(Probability::new(p).unwrap()).unwrap();
            let back = loss.quantile(Probability::new(1.0 - p).unwrap()).unwrap();
            assert!((forth + back).abs() <= 1e-9 * forth.abs(), "{p}: {forth} {back}");
        }
    }

    #[test]
    fn bad_parts_are_refused() {
        let bad = RatioParts { covariance: 10.0, ..parts(5.6, 0.62) };
        let got = fieller(&bad, Dof::INFINITE, Confidence::P95);
        assert_eq!(got, Err(RatioError::Covariance { covariance: 10.0 }));
        let bad = RatioParts { var_numerator: -1.0, ..parts(5.6, 0.62) };
        assert!(fieller(&bad, Dof::INFINITE, Confidence::P95).is_err());
        let huge = RatioParts { numerator: 1e300, ..parts(5.6, 0.62) };
        assert_eq!(fieller(&huge, Dof::INFINITE, Confidence::P95), Err(RatioError::TooLarge));
        assert_eq!(NormalRatio::new(1.0, 0.0, 1.0, 0.0), Err(RatioError::ZeroDenominator));
        assert!(NormalRatio::new(1.0, f64::NAN, 1.0, 0.0).is_err());
        let ratio = NormalRatio::new(1.0, 1.0, 1.0, 1.0).unwrap();
        assert!(ratio.quantile(Probability::new(1e-9).unwrap()).is_err());
    }
}
