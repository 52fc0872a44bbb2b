//! Wood and the air around it: the moisture it settles at, whether it has, and how long that takes.
//!
//! What a meter reads is taken as it is; a pin meter is good to a point or two.

use crate::absent::{Absent, Known};
use crate::line;
use crate::sample::SampleError;

/// Temperatures the formula is taken for, °C. Its tables run from about -1 °C up (from memory); below and above it bends away.
const TEMPERATURES_C: (f64, f64) = (-30.0, 120.0);

/// Why a question about moisture has no answer.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum MoistureError {
    /// The formula of equilibrium holds in a range.
    #[error("{temperature_c} °C is outside -30 to 120 °C")]
    Temperature { temperature_c: f64 },
    /// Relative humidity is a percentage.
    #[error("a relative humidity of {rh_percent} % is outside 0 to 100 %")]
    Humidity { rh_percent: f64 },
    /// Readings come in order of time.
    #[error("reading {index} is not later than the one before it")]
    Order { index: usize },
    /// Limits and time constants are above zero.
    #[error("{value} is not above zero")]
    NotPositive { value: f64 },
    /// A list is empty, uneven or not finite.
    #[error(transparent)]
    Sample(#[from] SampleError),
}

/// Returns the moisture content that wood settles at, % of dry mass.
///
/// `M = (1800/W)·[x/(1-x) + (K₁x + 2K₁K₂x²)/(1 + K₁x + K₁K₂x²)]` with x = K·RH/100 and polynomials of temperature.
///
/// # Units and shape
/// °C from -30 to 120, relative humidity from 0 to 100 %.
///
/// # Errors
/// [`MoistureError::Temperature`], [`MoistureError::Humidity`].
///
/// # Source
/// Simpson 1998, Forest Products Laboratory, in its metric form (also the Wood Handbook's chapter on moisture).
pub fn equilibrium_percent(temperature_c: f64, rh_percent: f64) -> Result<f64, MoistureError> {
    if !(TEMPERATURES_C.0..=TEMPERATURES_C.1).contains(&temperature_c) {
        return Err(MoistureError::Temperature { temperature_c });
    }
    if !(0.0..=100.0).contains(&rh_percent) {
        return Err(MoistureError::Humidity { rh_percent });
    }
    let t = temperature_c;
    let w = 349.0 + 1.29 * t + 0.0135 * t * t;
    let k = 0.805 + 0.000736 * t - 0.00000273 * t * t;
    let k1 = 6.27 - 0.00938 * t - 0.000303 * t * t;
    let k2 = 1.91 + 0.0407 * t - 0.000293 * t * t;
    let x = k * rh_percent / 100.0;
    let (first, second) = (k1 * x, k1 * k2 * x * x);
    Ok(1800.0 / w * (x / (1.0 - x) + (first + 2.0 * second) / (1.0 + first + second)))
}

/// How far wood still is from where it settles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acclimation {
    /// Change of moisture content, points a day.
    pub slope_per_day: Known<f64>,
    /// Its standard uncertainty.
    pub slope_u: Known<f64>,
    /// Last reading less the target, points.
    pub gap_points: f64,
    /// Whether it moves no faster than the limit; absent where the slope is.
    pub steady: Known<bool>,
    /// Whether the last reading is near enough to the target.
    pub within: bool,
}

impl Acclimation {
    /// Whether it is both steady and near enough.
    pub fn acclimated(&self) -> bool {
        self.within && self.steady == Ok(true)
    }
}

/// Judges readings of moisture content against a target, by the slope through them and the last of them.
///
/// # Units and shape
/// `days` ascending, `mean_percent` one mean reading each, usually the last three; limits above zero: 2 points and 0.1 point
/// a day are usual here.
///
/// # Errors
/// [`MoistureError`].
///
/// # Source
/// Convention of this project; the line is ordinary least squares.
pub fn acclimation(
    days: &[f64],
    mean_percent: &[f64],
    target_percent: f64,
    limit_points: f64,
    slope_limit_per_day: f64,
) -> Result<Acclimation, MoistureError> {
    crate::sample::check(&[target_percent])?;
    let (limit_points, slope_limit) = (positive(limit_points)?, positive(slope_limit_per_day)?);
    let line = line::fit(days, mean_percent)?;
    if let Some(index) = days.windows(2).position(|pair| pair[1] <= pair[0]) {
        return Err(MoistureError::Order { index: index + 1 });
    }
    let slope_per_day = line.map(|line| line.slope);
    let gap_points = mean_percent[mean_percent.len() - 1] - target_percent;
    Ok(Acclimation {
        slope_per_day,
        slope_u: line.and_then(|line| line.slope_u()),
        gap_points,
        steady: slope_per_day.map(|slope| at_most(slope.abs(), slope_limit)),
        within: at_most(gap_points.abs(), limit_points),
    })
}

/// Returns the days until wood comes within a limit of its target, `τ·ln(|M₀ - M∞|/L)`; 0 where it already is.
///
/// # Units and shape
/// Moisture contents in %, `limit_points` in points of them, above zero as is `time_constant_days`.
///
/// # Errors
/// [`MoistureError`].
///
/// # Source
/// Exponential approach to equilibrium.
pub fn days_until_within(
    start_percent: f64,
    target_percent: f64,
    time_constant_days: f64,
    limit_points: f64,
) -> Result<f64, MoistureError> {
    crate::sample::check(&[
        start_percent,
        target_percent,
        (start_percent - target_percent) / positive(limit_points)?,
    ])?;
    let days = positive(time_constant_days)? * ((start_percent - target_percent).abs() / limit_points).ln();
    Ok(days.max(0.0))
}

/// A limit counts as kept with binary rounding on either side of it.
fn at_most(value: f64, limit: f64) -> bool {
    value <= limit + 1e-9
}

fn positive(value: f64) -> Result<f64, MoistureError> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(MoistureError::NotPositive { value }) }
}

/// Returns how many independent readings a series is worth, `n·(1 - r₁)/(1 + r₁)`.
///
/// # Units and shape
/// `count` readings, `lag1` their correlation with the ones before, strictly between -1 and 1; absent outside.
///
/// # Source
/// Series that forget like a first-order autoregression (Bartlett).
pub fn effective_count(count: usize, lag1: f64) -> Known<f64> {
    if lag1 > -1.0 && lag1 < 1.0 {
        Ok(count as f64 * (1.0 - lag1) / (1.0 + lag1))
    } else {
        Err(Absent::CannotSeparate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equilibria_match() {
        // Computed independently with numpy 2.4; the Wood Handbook's table prints 7.7 at 21.1 °C and 40 % (from memory).
        let rows = [
            (20.0, 50.0, 9.271140709879791),
            (22.0, 45.0, 8.43743130171589),
            (21.1, 40.0, 7.699250931192593),
            (25.0, 80.0, 15.807842620229343),
            (20.0, 0.0, 0.0),
        ];
        for (temperature_c, rh_percent, expected) in rows {
            let got = equilibrium_percent(temperature_c, rh_percent).unwrap();
            assert!((got - expected).abs() < 1e-10, "{temperature_c} {rh_percent}: {got}");
        }
        assert!(equilibrium_percent(20.0, 101.0).is_err());
        assert!(equilibrium_percent(f64::NAN, 50.0).is_err());
        assert!(equilibrium_percent(200.0, 50.0).is_err());
    }

    #[test]
    fn the_wood_handbooks_row_matches() {
        // Wood Handbook (Forest Products Laboratory), table of equilibrium moisture content, the row of 21.1 °C (70 °F) at 5, 10, ... 95 %
        // (from memory). The table was made in °F, so the last digit may differ by one.
        let row = [
            1.3, 2.5, 3.5, 4.5, 5.4, 6.2, 6.9, 7.7, 8.5, 9.2, 10.1, 11.0, 12.0, 13.1, 14.4, 16.0, 17.9, 20.5,
            23.9,
        ];
        for (place, expected) in (1..).zip(row) {
            let got = equilibrium_percent(21.1, 5.0 * f64::from(place)).unwrap();
            assert!((got - expected).abs() < 0.1, "{} %: {got} instead of {expected}", 5 * place);
        }
    }

    #[test]
    fn acclimation_takes_both_rules() {
        // Slope computed independently with scipy 1.17, linregress.
        let got = acclimation(&[0.0, 2.0, 5.0], &[9.4, 9.2, 9.1], 8.4, 2.0, 0.1).unwrap();
        assert!((got.slope_per_day.unwrap() - -0.05789473684210538).abs() < 1e-12);
        assert!((got.slope_u.unwrap() - 0.01823211376388314).abs() < 1e-12);
        assert!((got.gap_points - 0.7).abs() < 1e-12 && got.acclimated());
        assert!(!acclimation(&[0.0, 2.0], &[9.4, 9.1], 8.4, 2.0, 0.1).unwrap().acclimated());
        assert!(!acclimation(&[0.0, 2.0], &[10.5, 10.5], 8.4, 2.0, 0.1).unwrap().acclimated());
        let one = acclimation(&[0.0], &[8.4], 8.4, 2.0, 0.1).unwrap();
        assert!(one.within && one.steady.is_err() && !one.acclimated());
        assert_eq!(
            acclimation(&[0.0, 2.0, 1.0], &[9.0, 9.0, 9.0], 8.4, 2.0, 0.1),
            Err(MoistureError::Order { index: 2 })
        );
    }

    #[test]
    fn waiting_and_worth_match() {
        // 12·ln(4.1/2) and 48·0.1/1.9, computed independently with numpy 2.4.
        assert!((days_until_within(12.5, 8.4, 12.0, 2.0).unwrap() - 8.6140775178).abs() < 1e-9);
        assert_eq!(days_until_within(8.0, 8.4, 12.0, 2.0), Ok(0.0));
        assert_eq!(days_until_within(8.4, 8.4, 12.0, 2.0), Ok(0.0));
        assert!(days_until_within(8.0, 8.4, 0.0, 2.0).is_err());
        assert!((effective_count(48, 0.9).unwrap() - 2.52631578947).abs() < 1e-10);
        assert!(effective_count(48, 1.0).is_err() && effective_count(48, f64::NAN).is_err());
    }
}
