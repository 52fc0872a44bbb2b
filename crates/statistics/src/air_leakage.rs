//! How leaky a house is, from a fan in the door: the power law of flow over pressure, and what follows from it.
//!
//! The fit sees scatter only. Wind and the fan's calibration are terms for a budget beside it, and flows come in corrected
//! for air density and for the pressure at no flow.

use crate::absent::{Absent, Known};
use crate::distributions::coverage_factor;
use crate::line::{self, Line};
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// Cubic metres an hour in one cubic foot a minute, by the international foot.
pub const M3_PER_H_PER_CFM: f64 = 0.3048 * 0.3048 * 0.3048 * 60.0;

/// Exponents of real leaks lie here, ends included; outside is an error or an envelope that changed under way.
pub const PLAUSIBLE_EXPONENTS: (f64, f64) = (0.5, 1.0);

/// Fewer readings than this are told, as in ASTM E779 and ISO 9972 (from memory).
pub const FEWEST_READINGS: usize = 5;

/// A fit with an r² below this is told, as in ISO 9972 (from memory).
pub const LEAST_R2: f64 = 0.98;

/// A relative uncertainty beyond this is a slip of the pen, and its square no number any more.
const LARGEST_RELATIVE_U: f64 = 1e6;

/// Why readings of a leakage test cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum LeakageError {
    /// A list is empty, uneven or not finite.
    #[error(transparent)]
    Sample(#[from] SampleError),
    /// Logarithms take pressures above zero; a zero-flow reading is subtracted and not fitted.
    #[error("pressure {index} is {pressure_pa} Pa, give it above zero and without its sign")]
    Pressure { index: usize, pressure_pa: f64 },
    /// Logarithms take flows above zero.
    #[error("flow {index} is {flow}, give it above zero")]
    Flow { index: usize, flow: f64 },
    /// Pressures, volumes, densities and areas are above zero.
    #[error("{value} is not above zero")]
    NotPositive { value: f64 },
    /// Uncertainties and correlations have their ranges.
    #[error("an uncertainty of {u} or a correlation of {correlation} cannot be")]
    Doubt { u: f64, correlation: f64 },
    /// The result leaves what can be written as a number.
    #[error("the result is too large to be written, check the values")]
    OutOfRange,
}

/// A quantity fitted as its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// The quantity.
    pub value: f64,
    /// Its natural logarithm.
    pub ln: f64,
    /// Standard uncertainty of that logarithm, about the relative one of the quantity.
    pub ln_u: Known<f64>,
    /// Interval of the quantity.
    pub interval: Known<Interval>,
}

/// The fitted power law `Q = C·ΔP^n`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leakage {
    /// How many readings.
    pub count: usize,
    /// Exponent n.
    pub exponent: f64,
    /// Its standard uncertainty.
    pub exponent_u: Known<f64>,
    /// Its interval.
    pub exponent_interval: Known<Interval>,
    /// C, flow at 1 Pa, in the unit of the flows.
    pub coefficient: Fitted,
    /// Flow at the reference pressure, in the unit of the flows.
    pub reference: Fitted,
    /// r² in logarithms.
    pub r2: Known<f64>,
    /// Whether the reference lies outside the pressures that were measured.
    pub extrapolated: bool,
}

impl Leakage {
    /// Whether the exponent can be that of a leak.
    pub fn plausible(&self) -> bool {
        (PLAUSIBLE_EXPONENTS.0..=PLAUSIBLE_EXPONENTS.1).contains(&self.exponent)
    }
}

/// Fits `Q = C·ΔP^n` by least squares of ln Q on ln ΔP.
///
/// `s_lnC = s·√(1/N + x̄²/Sxx)`, `s_lnQ = s·√(1/N + (ln ΔP₀ - x̄)²/Sxx)`, intervals with t(N - 2), then exp.
///
/// # Units and shape
/// `pressure_pa`, `flow`: one pair per reading, at least two, pressures without sign and less the one at no flow, flows in
/// any one unit. Absent where all pressures are equal; intervals absent with two readings or with no scatter.
///
/// # Errors
/// [`LeakageError`].
///
/// # Source
/// Layout of ASTM E779 and ISO 9972 (from memory).
pub fn fit(
    pressure_pa: &[f64],
    flow: &[f64],
    reference_pa: f64,
    confidence: Confidence,
) -> Result<Known<Leakage>, LeakageError> {
    sample::check_pairs(pressure_pa, flow)?;
    let not_positive = |values: &[f64]| values.iter().position(|value| *value <= 0.0);
    if let Some(index) = not_positive(pressure_pa) {
        return Err(LeakageError::Pressure { index, pressure_pa: pressure_pa[index] });
    }
    if let Some(index) = not_positive(flow) {
        return Err(LeakageError::Flow { index, flow: flow[index] });
    }
    let reference_pa = positive(reference_pa)?;
    let ln = |values: &[f64]| values.iter().map(|value| value.ln()).collect::<Vec<f64>>();
    let line = match line::fit(&ln(pressure_pa), &ln(flow))? {
        Ok(line) => line,
        Err(reason) => return Ok(Err(reason)),
    };
    let factor = line.residual_sd.and_then(|sd| match sd {
        0.0 => Err(Absent::ZeroSpread),
        _ => Ok(coverage_factor(confidence, Dof::new((line.n - 2) as f64).expect("three readings or more"))),
    });
    let leakage = Leakage {
        count: line.n,
        exponent: line.slope,
        exponent_u: line.slope_u(),
        exponent_interval: factor.and_then(|k| Ok(Interval::around(line.slope, k * line.slope_u()?))),
        coefficient: fitted(&line, 0.0, factor),
        reference: fitted(&line, reference_pa.ln(), factor),
        r2: line.r2,
        extrapolated: pressure_pa.iter().all(|pressure| *pressure > reference_pa)
            || pressure_pa.iter().all(|pressure| *pressure < reference_pa),
    };
    let in_range = [leakage.coefficient, leakage.reference].iter().all(Fitted::is_finite);
    if in_range { Ok(Ok(leakage)) } else { Err(LeakageError::OutOfRange) }
}

impl Fitted {
    fn is_finite(&self) -> bool {
        self.value.is_finite() && self.interval.map_or(true, |interval| interval.high.is_finite())
    }
}

fn fitted(line: &Line, x: f64, factor: Known<f64>) -> Fitted {
    let (ln, ln_u) = (line.at(x), line.u_at(x));
    let interval = factor.and_then(|k| {
        let half = k * ln_u?;
        Ok(Interval { low: (ln - half).exp(), high: (ln + half).exp() })
    });
    Fitted { value: ln.exp(), ln, ln_u, interval }
}

/// How much tighter a house became.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reduction {
    /// `1 - Q_a/Q_b`; positive: tighter.
    pub share: f64,
    /// Standard uncertainty of ln(Q_a/Q_b).
    pub ln_ratio_u: f64,
    /// Interval of the share, normal; absent without uncertainty.
    pub interval: Known<Interval>,
}

/// Compares two flows by their ratio, `u²(ln ratio) = u_b² + u_a² - 2r·u_b·u_a` with relative uncertainties.
///
/// The same fan's calibration is shared (r = 1 for its part) and cancels.
///
/// # Units and shape
/// Flows in one unit above zero, relative uncertainties as shares (0.03 for 3 %), `correlation` in [-1, 1].
///
/// # Errors
/// [`LeakageError::NotPositive`], [`LeakageError::Doubt`].
///
/// # Source
/// JCGM 100:2008 (GUM) clause 5.2.2 on the logarithm of the ratio.
pub fn reduction(
    (before, before_relative_u): (f64, f64),
    (after, after_relative_u): (f64, f64),
    correlation: f64,
    confidence: Confidence,
) -> Result<Reduction, LeakageError> {
    let ratio = positive(positive(after)? / positive(before)?)?;
    for u in [before_relative_u, after_relative_u] {
        if !((0.0..=LARGEST_RELATIVE_U).contains(&u) && correlation.abs() <= 1.0) {
            return Err(LeakageError::Doubt { u, correlation });
        }
    }
    let shared = 2.0 * correlation * before_relative_u * after_relative_u;
    let ln_ratio_u = (before_relative_u.powi(2) + after_relative_u.powi(2) - shared).max(0.0).sqrt();
    let half = coverage_factor(confidence, Dof::INFINITE) * ln_ratio_u;
    let ends = Interval { low: 1.0 - ratio * half.exp(), high: 1.0 - ratio * (-half).exp() };
    if !ends.low.is_finite() {
        return Err(LeakageError::OutOfRange);
    }
    Ok(Reduction {
        share: 1.0 - ratio,
        ln_ratio_u,
        interval: if half > 0.0 { Ok(ends) } else { Err(Absent::ZeroSpread) },
    })
}

/// Brings one flow to another pressure with an assumed exponent, `Q·(ΔP₀/ΔP)^n`.
///
/// Returns the flow and the relative uncertainty that the assumption adds, `|ln(ΔP₀/ΔP)|·u_n`.
///
/// # Units and shape
/// `exponent`: value and standard uncertainty, 0.65 ± 0.05 where nothing is known (common practice, no source).
///
/// # Errors
/// [`LeakageError::NotPositive`], [`LeakageError::Doubt`], [`LeakageError::OutOfRange`].
///
/// # Source
/// The power law; GUM clause 5.1.2.
pub fn at_pressure(
    flow: f64,
    pressure_pa: f64,
    reference_pa: f64,
    (exponent, exponent_u): (f64, f64),
) -> Result<(f64, f64), LeakageError> {
    if !(exponent.is_finite() && exponent_u.is_finite() && exponent_u >= 0.0) {
        return Err(LeakageError::Doubt { u: exponent_u, correlation: 0.0 });
    }
    let ln_ratio = (positive(reference_pa)? / positive(pressure_pa)?).ln();
    let flow = positive(flow)? * (exponent * ln_ratio).exp();
    let relative_u = ln_ratio.abs() * exponent_u;
    if flow.is_finite() && relative_u.is_finite() {
        Ok((flow, relative_u))
    } else {
        Err(LeakageError::OutOfRange)
    }
}

/// Returns the effective leakage area at 4 Pa, `Q₄·√(ρ/(2·4 Pa))`, m²: the sharp hole that would leak as much.
///
/// # Units and shape
/// `flow_m3_per_h`: flow at 4 Pa; `density`: of the air, kg/m³.
///
/// # Errors
/// [`LeakageError::NotPositive`].
///
/// # Source
/// Bernoulli's equation with a discharge coefficient of 1, as in ASTM E779.
pub fn effective_area_m2(flow_m3_per_h: f64, density: f64) -> Result<f64, LeakageError> {
    positive(positive(flow_m3_per_h)? / 3600.0 * (positive(density)? / 8.0).sqrt())
}

fn positive(value: f64) -> Result<f64, LeakageError> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(LeakageError::NotPositive { value }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64) {
        assert!((got - expected).abs() <= 1e-9 * expected.abs(), "{got} instead of {expected}");
    }

    #[test]
    fn a_course_books_test_matches() {
        // Readings from C. Ghiaus's open course book on energy modelling; computed independently with scipy 1.17.
        let pressure_pa = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0];
        let flow = [237.0, 364.0, 444.0, 625.0, 688.0, 704.0];
        let got = fit(&pressure_pa, &flow, 50.0, Confidence::P95).unwrap().unwrap();
        close(got.exponent, 0.643448788947);
        close(got.exponent_u.unwrap(), 0.0441957842716);
        close(got.exponent_interval.unwrap().low, 0.5207416200356);
        close(got.coefficient.value, 53.395622959);
        close(got.coefficient.ln_u.unwrap(), 0.15258736303);
        close(got.coefficient.interval.unwrap().high, 81.563284246019);
        close(got.reference.value, 661.768131943);
        close(got.reference.ln_u.unwrap(), 0.0350507962744);
        close(got.reference.interval.unwrap().low, 600.40151854165);
        close(got.r2.unwrap(), 0.981478569471);
        assert!(got.plausible() && !got.extrapolated);
        assert!(fit(&pressure_pa, &flow, 4.0, Confidence::P95).unwrap().unwrap().extrapolated);
    }

    #[test]
    fn reductions_areas_and_single_points_match() {
        // Computed independently with scipy 1.17.
        let got = reduction((2100.0, 0.03), (1500.0, 0.04), 0.5, Confidence::P95).unwrap();
        close(got.ln_ratio_u, 0.0360555127546399);
        close(got.interval.unwrap().low, 0.233411195453746);
        close(got.interval.unwrap().high, 0.334448822358364);
        let same_fan = reduction((2100.0, 0.03), (1500.0, 0.03), 1.0, Confidence::P95).unwrap();
        assert_eq!(same_fan.interval, Err(Absent::ZeroSpread));
        let (flow, relative_u) = at_pressure(600.0, 42.0, 50.0, (0.65, 0.05)).unwrap();
        close(flow, 672.0006829788799);
        close(relative_u, 0.008717669357238887);
        close(effective_area_m2(120.0, 1.204).unwrap(), 0.0129314431608);
        // The international foot makes a cubic foot a minute 1.69901 m³/h.
        assert!((M3_PER_H_PER_CFM - 1.69901).abs() < 5e-6);
    }

    #[test]
    fn what_cannot_be_fitted_is_said() {
        let fit = |pressure_pa: &[f64], flow: &[f64]| fit(pressure_pa, flow, 50.0, Confidence::P95);
        assert_eq!(fit(&[50.0, 50.0, 50.0], &[9.0, 8.0, 7.0]), Ok(Err(Absent::CannotSeparate)));
        let exact = fit(&[10.0, 20.0, 40.0], &[10.0, 20.0, 40.0]).unwrap().unwrap();
        assert_eq!(exact.exponent_interval, Err(Absent::ZeroSpread));
        assert!((exact.reference.value - 50.0).abs() < 1e-9);
        assert!(matches!(fit(&[10.0, 0.0], &[9.0, 8.0]), Err(LeakageError::Pressure { index: 1, .. })));
        assert!(matches!(fit(&[10.0, 20.0], &[-9.0, 8.0]), Err(LeakageError::Flow { index: 0, .. })));
        assert!(matches!(fit(&[10.0, 10.1], &[1e-300, 1e300]), Err(LeakageError::OutOfRange)));
        assert!(reduction((0.0, 0.1), (1.0, 0.1), 0.0, Confidence::P95).is_err());
        assert!(reduction((1.0, 0.1), (1.0, 0.1), 1.5, Confidence::P95).is_err());
        assert!(effective_area_m2(100.0, 0.0).is_err());
    }
}
