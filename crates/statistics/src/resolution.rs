//! The floor under an uncertainty: a meter that shows steps cannot know better than its step.

use crate::absent::{Absent, Known};
use crate::budget::{self, Term};
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// Returns the standard uncertainty of one reading rounded to `step`, `q/√12`.
///
/// # Source
/// JCGM 100:2008 (GUM) clause F.2.2.1.
pub fn single_u(step: f64) -> f64 {
    step / 12f64.sqrt()
}

/// Returns the standard uncertainty of a difference of two readings rounded to `step`, `q/√6`.
///
/// # Source
/// Two terms of [`single_u`] in quadrature.
pub fn difference_u(step: f64) -> f64 {
    step / 6f64.sqrt()
}

/// A step that cannot be, or values that cannot.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ResolutionError {
    /// The step is what the meter's last digit counts in.
    #[error("a step of {step} is not above zero")]
    Step { step: f64 },
    /// The differences themselves cannot be used.
    #[error(transparent)]
    Sample(#[from] SampleError),
}

/// Uncertainty of a mean difference with the meter's resolution in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResolutionFloor {
    /// Mean of the differences.
    pub mean: f64,
    /// Their standard deviation.
    pub sd: Known<f64>,
    /// What scatter gives, `s/√n`.
    pub scatter_u: Known<f64>,
    /// What resolution adds: `q/√6`, or 0 where the scatter is at least one step and so contains it.
    pub resolution_u: f64,
    /// Both together.
    pub combined_u: Known<f64>,
    /// Degrees of freedom of the two together.
    pub dof: Known<Dof>,
    /// Interval of the mean.
    pub interval: Known<Interval>,
}

/// Sets a floor under the uncertainty of a mean difference, `u² = s²/n + q²/6` while `s < q`.
///
/// Equal readings share one rounding, so its term is not divided by n.
///
/// # Units and shape
/// `differences`: n ≥ 1 differences of two readings; `step`: what the meter's last digit counts in, same unit, above zero.
///
/// # Errors
/// [`ResolutionError`]. One difference leaves all but the mean absent: resolution alone is no uncertainty.
///
/// # Source
/// Convention of this project on top of GUM clause F.2.2.1.
pub fn resolution_floor(
    differences: &[f64],
    step: f64,
    confidence: Confidence,
) -> Result<ResolutionFloor, ResolutionError> {
    if !(step.is_finite() && step > 0.0) {
        return Err(ResolutionError::Step { step });
    }
    let moments = sample::moments(differences)?;
    let scatter_contains_it = moments.sd.is_ok_and(|sd| sd >= step);
    let resolution_u = if scatter_contains_it { 0.0 } else { difference_u(step) };
    let n = moments.n;
    let dof = Dof::of_mean(n).ok_or(Absent::TooFewPositions { found: n, needed: 2 });
    let combined = moments.se().and_then(|scatter_u| {
        let terms = [Term::new(scatter_u, dof?), Term::new(resolution_u, Dof::INFINITE)];
        Ok(budget::combine(&terms).expect("both uncertainties are finite and not negative"))
    });
    Ok(ResolutionFloor {
        mean: moments.mean,
        sd: moments.sd,
        scatter_u: moments.se(),
        resolution_u,
        combined_u: combined.as_ref().map(|combined| combined.u).map_err(|absent| *absent),
        dof: combined.as_ref().map_err(|absent| *absent).and_then(|combined| combined.dof),
        interval: combined.and_then(|combined| combined.interval(moments.mean, confidence)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn floor(differences: &[f64], step: f64) -> ResolutionFloor {
        resolution_floor(differences, step, Confidence::P95).unwrap()
    }

    #[test]
    fn equal_readings_are_not_exact() {
        // Four equal differences on a meter that shows whole decibels: ±0.80 dB. Computed independently with scipy 1.17.
        let got = floor(&[5.0; 4], 1.0);
        assert_eq!((got.sd, got.scatter_u), (Ok(0.0), Ok(0.0)));
        assert!((got.combined_u.unwrap() - 0.408248290464).abs() < 1e-11);
        assert!((got.interval.unwrap().width() / 2.0 - 0.800151946059).abs() < 1e-9);
        assert_eq!(got.dof, Ok(Dof::INFINITE));
    }

    #[test]
    fn small_scatter_and_resolution_add() {
        // Computed independently with scipy 1.17.
        let got = floor(&[5.0, 5.0, 6.0, 5.0], 1.0);
        assert!((got.sd.unwrap() - 0.5).abs() < 1e-12);
        assert!((got.combined_u.unwrap() - 0.478713553878).abs() < 1e-11);
        assert!((got.dof.unwrap().finite().unwrap() - 40.3333333333).abs() < 1e-8);
    }

    #[test]
    fn scatter_of_a_step_or_more_contains_it() {
        let got = floor(&[5.0, 6.0, 7.0], 1.0);
        assert_eq!(got.resolution_u, 0.0);
        assert_eq!(got.combined_u, got.scatter_u);
        assert_eq!(got.dof.unwrap().finite(), Some(2.0));
    }

    #[test]
    fn one_difference_stays_without_uncertainty() {
        let got = floor(&[5.0], 0.1);
        assert_eq!(got.mean, 5.0);
        assert_eq!(got.combined_u, Err(Absent::TooFewPositions { found: 1, needed: 2 }));
        assert!(got.interval.is_err() && got.dof.is_err());
        let bad = ResolutionError::Step { step: 0.0 };
        assert_eq!(resolution_floor(&[5.0], 0.0, Confidence::P95), Err(bad));
        assert!(matches!(resolution_floor(&[], 0.1, Confidence::P95), Err(ResolutionError::Sample(_))));
    }

    #[test]
    fn rounding_uncertainties_match() {
        // GUM clause F.2.2.1 prints 0.29 steps for one reading (from memory; 1/√12).
        assert!((single_u(1.0) - 0.29).abs() < 0.005);
        assert!((difference_u(1.0) - 0.408248290464).abs() < 1e-11);
    }
}
