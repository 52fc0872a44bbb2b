//! A straight line through points by least squares, with what its scatter says about slope and height.
//!
//! All error lies in y. Points are equal in weight; logarithms, where a law asks for them, are the caller's.

use crate::absent::{Absent, Known};
use crate::sample::{self, SampleError};

/// A fitted line, `y = intercept + slope·x`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// How many points.
    pub n: usize,
    /// Change of y per unit of x.
    pub slope: f64,
    /// y at x = 0.
    pub intercept: f64,
    /// r², the share of the scatter of y that the line explains; absent where y does not vary.
    pub r2: Known<f64>,
    /// Standard deviation of the points about the line, n - 2; exactly 0 where they lie on it but for rounding.
    pub residual_sd: Known<f64>,
    x_mean: f64,
    sxx: f64,
}

impl Line {
    /// Returns the standard uncertainty of the slope, `s/√Sxx`.
    pub fn slope_u(&self) -> Known<f64> {
        self.residual_sd.map(|sd| sd / self.sxx.sqrt())
    }

    /// Returns the height of the line at an x.
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// Returns the standard uncertainty of that height, `s·√(1/n + (x - x̄)²/Sxx)`.
    pub fn u_at(&self, x: f64) -> Known<f64> {
        let leverage = 1.0 / self.n as f64 + (x - self.x_mean).powi(2) / self.sxx;
        self.residual_sd.map(|sd| sd * leverage.sqrt())
    }
}

/// Fits a line by least squares.
///
/// # Units and shape
/// `x`, `y`: one pair per point, n ≥ 1. The line is absent with one point or without any spread in x; the scatter about
/// it is absent with two.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Ordinary least squares (Gauss), as in ASTM E779 annex on the flow equation.
pub fn fit(x: &[f64], y: &[f64]) -> Result<Known<Line>, SampleError> {
    sample::check_pairs(x, y)?;
    let n = x.len();
    if n < 2 {
        return Ok(Err(Absent::TooFewPoints { found: n, needed: 2 }));
    }
    let (x_mean, y_mean) = (sample::mean_of(x), sample::mean_of(y));
    let farthest = x.iter().map(|x| (x - x_mean).abs()).fold(0.0, f64::max);
    if sample::is_rounding(farthest, sample::largest(x)) {
        return Ok(Err(Absent::CannotSeparate));
    }
    let sxx = sample::sum_of_squares(x, x_mean);
    let sxy: f64 = x.iter().zip(y).map(|(x, y)| (x - x_mean) * (y - y_mean)).sum();
    let slope = sxy / sxx;
    let residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| (y - y_mean) - slope * (x - x_mean)).collect();
    let rounds_to_zero = sample::is_rounding(
        sample::largest(&residuals),
        sample::largest(y).max(slope.abs() * sample::largest(x)),
    );
    let rss = if rounds_to_zero { 0.0 } else { sample::sum_of_squares(&residuals, 0.0) };
    let y_spread = sample::moments(y)?.sd;
    let syy = sample::sum_of_squares(y, y_mean);
    Ok(Ok(Line {
        n,
        slope,
        intercept: y_mean - slope * x_mean,
        r2: y_spread
            .and_then(|sd| if sd > 0.0 { Ok((1.0 - rss / syy).max(0.0)) } else { Err(Absent::ZeroSpread) }),
        residual_sd: if n > 2 {
            Ok((rss / (n - 2) as f64).sqrt())
        } else {
            Err(Absent::TooFewPoints { found: n, needed: 3 })
        },
        x_mean,
        sxx,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_matches() {
        // Computed independently with scipy 1.17, linregress.
        let line = fit(&[0.0, 2.0, 5.0], &[9.4, 9.2, 9.1]).unwrap().unwrap();
        assert!((line.slope - -0.0578947368421).abs() < 1e-12, "{line:?}");
        assert!((line.slope_u().unwrap() - 0.0182321137638831).abs() < 1e-12, "{line:?}");
    }

    #[test]
    fn points_on_a_line_have_no_scatter_and_two_points_no_doubt() {
        let x = [1.0, 2.0, 3.0, 4.0];
        let exact = fit(&x, &x.map(|x| 0.3 + 0.1 * x)).unwrap().unwrap();
        assert_eq!(exact.residual_sd, Ok(0.0));
        assert_eq!(exact.r2, Ok(1.0));
        let two = fit(&[1.0, 2.0], &[3.0, 5.0]).unwrap().unwrap();
        assert_eq!(two.residual_sd, Err(Absent::TooFewPoints { found: 2, needed: 3 }));
        assert!((two.at(0.0) - 1.0).abs() < 1e-12);
        assert_eq!(fit(&x, &[7.0; 4]).unwrap().unwrap().r2, Err(Absent::ZeroSpread));
    }

    #[test]
    fn no_line_without_two_places() {
        assert_eq!(fit(&[1.0], &[2.0]), Ok(Err(Absent::TooFewPoints { found: 1, needed: 2 })));
        assert_eq!(fit(&[0.1, 0.1, 0.1], &[2.0, 3.0, 4.0]), Ok(Err(Absent::CannotSeparate)));
        assert!(fit(&[1.0, 2.0], &[2.0]).is_err());
        assert!(fit(&[1.0, f64::NAN], &[2.0, 1.0]).is_err());
    }
}
