//! Values far from the rest: flagged, never deleted.
//!
//! A low position is often the finding itself (a gap, an outlet, a flanking path). Leaving a value out is a decision of a
//! person with a reason; here it is only pointed at.

use crate::absent::{Absent, Known};
use crate::distributions::{t_quantile, t_two_sided_p};
use crate::sample::{self, SampleError};
use crate::scale::{Dof, Probability};

pub use crate::scale::Sides;

/// From this modified z on a value is flagged. Iglewicz and Hoaglin 1993.
pub const MODIFIED_Z_LIMIT: f64 = 3.5;

/// 0.6745, the normal quartile, as Iglewicz and Hoaglin print it.
const NORMAL_QUARTILE: f64 = 0.6745;

/// √(π/2): the standard deviation of a normal sample over its mean absolute deviation.
const SD_PER_MEAN_DEVIATION: f64 = 1.253_314;

/// Grubbs' test of the value farthest from the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grubbs {
    /// Index of that value; the first of several.
    pub index: usize,
    /// G, its distance from the mean in standard deviations.
    pub g: f64,
    /// What G may reach by chance, either side.
    pub critical_two_sided: f64,
    /// What G may reach by chance on a side chosen beforehand.
    pub critical_one_sided: f64,
    /// Upper bound of the two-sided p value.
    pub p_two_sided_bound: f64,
    /// Whether G is above the two-sided critical value.
    pub flagged: bool,
}

/// Tests whether the farthest value belongs to the sample, `G = max|dᵢ - d̄|/s`.
///
/// One outlier at a time: repeating it on what is left hides or makes others. Three values can hardly ever be flagged.
///
/// # Units and shape
/// `values`: any number; absent below three or without spread. `alpha`: chance of a false flag, usually 0.05.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Grubbs 1969; critical values from Student t, NIST/SEMATECH e-Handbook section 1.3.5.17.1.
pub fn grubbs(values: &[f64], alpha: Probability) -> Result<Known<Grubbs>, SampleError> {
    let moments = sample::moments(values)?;
    let n = moments.n;
    if n < 3 {
        return Ok(Err(Absent::TooFewPositions { found: n, needed: 3 }));
    }
    let Ok(sd) = moments.sd.and_then(|sd| if sd > 0.0 { Ok(sd) } else { Err(Absent::ZeroSpread) }) else {
        return Ok(Err(Absent::ZeroSpread));
    };
    let distance = |index: usize| (values[index] - moments.mean).abs();
    let index =
        (1..n).fold(0, |farthest, next| if distance(next) > distance(farthest) { next } else { farthest });
    let g = distance(index) / sd;
    let critical = |sides| grubbs_critical(n, alpha, sides).expect("at least three values");
    Ok(Ok(Grubbs {
        index,
        g,
        critical_two_sided: critical(Sides::Two),
        critical_one_sided: critical(Sides::One),
        p_two_sided_bound: p_bound(g, n),
        flagged: g > critical(Sides::Two),
    }))
}

/// Returns the value G stays below with probability 1 - α, `((n-1)/√n)·√(t²/(n-2+t²))`; absent below three values.
///
/// # Source
/// As [`grubbs`].
pub fn grubbs_critical(n: usize, alpha: Probability, sides: Sides) -> Known<f64> {
    if n < 3 {
        return Err(Absent::TooFewPositions { found: n, needed: 3 });
    }
    let count = n as f64;
    let tests = match sides {
        Sides::Two => 2.0 * count,
        Sides::One => count,
    };
    let tail = Probability::new(alpha.value() / tests).expect("a share of a probability");
    let t = t_quantile(tail, dof(n));
    Ok((count - 1.0) / count.sqrt() * (t * t / (count - 2.0 + t * t)).sqrt())
}

fn p_bound(g: f64, n: usize) -> f64 {
    let count = n as f64;
    let left = (count - 1.0).powi(2) - count * g * g;
    // At the largest possible G the rest of the sample is constant.
    if left <= 0.0 {
        return 0.0;
    }
    let t = (count * (count - 2.0) * g * g / left).sqrt();
    (count * t_two_sided_p(t, dof(n))).min(1.0)
}

fn dof(n: usize) -> Dof {
    Dof::new((n - 2) as f64).expect("at least three values")
}

/// What the distances of a [`ModifiedZ`] are measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpreadRule {
    /// The median absolute deviation.
    MedianDeviation,
    /// The mean absolute deviation, where over half of the values are equal.
    MeanDeviation,
    /// Nothing: all values are equal and none is flagged.
    NoSpread,
}

/// Distances from the median that a single outlier cannot hide.
#[derive(Debug, Clone, PartialEq)]
pub struct ModifiedZ {
    /// The median.
    pub median: f64,
    /// The median absolute deviation.
    pub median_deviation: f64,
    /// Which spread was used.
    pub rule: SpreadRule,
    /// One per value, in order; 0 without spread.
    pub z: Vec<f64>,
}

impl ModifiedZ {
    /// Whether each value is farther than [`MODIFIED_Z_LIMIT`].
    pub fn flags(&self) -> Vec<bool> {
        self.z.iter().map(|z| z.abs() > MODIFIED_Z_LIMIT).collect()
    }
}

/// Measures each value from the median, `0.6745·(dᵢ - median)/MAD`.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Iglewicz and Hoaglin 1993; the mean deviation where the median one is 0 is common practice (from memory).
pub fn modified_z(values: &[f64]) -> Result<ModifiedZ, SampleError> {
    let median = sample::median(values)?;
    let deviations: Vec<f64> = values.iter().map(|value| (value - median).abs()).collect();
    let median_deviation = sample::median(&deviations)?;
    let mean_deviation = sample::mean_of(&deviations);
    let size = sample::largest(values);
    let (rule, per_unit) = if !sample::is_rounding(median_deviation, size) {
        (SpreadRule::MedianDeviation, NORMAL_QUARTILE / median_deviation)
    } else if !sample::is_rounding(mean_deviation, size) {
        (SpreadRule::MeanDeviation, 1.0 / (SD_PER_MEAN_DEVIATION * mean_deviation))
    } else {
        (SpreadRule::NoSpread, 0.0)
    };
    let z = values.iter().map(|value| (value - median) * per_unit).collect();
    Ok(ModifiedZ { median, median_deviation, rule, z })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn p(value: f64) -> Probability {
        Probability::new(value).unwrap()
    }

    #[test]
    fn nist_mass_spectrometer_matches() {
        // NIST/SEMATECH e-Handbook section 1.3.5.17.1: G = 2.4687, one-sided critical value 2.032, value 8 is an outlier (from
        // memory, recomputed with scipy 1.17).
        let values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
        let got = grubbs(&values, p(0.05)).unwrap().unwrap();
        assert!((got.g - 2.4687).abs() < 1e-4, "{got:?}");
        assert!((got.critical_one_sided - 2.032).abs() < 5e-4, "{got:?}");
        assert!(got.flagged);
        assert_eq!(got.index, 7);
    }

    #[test]
    fn critical_values_match() {
        // Two-sided 5 %, one-sided 5 %, two-sided 1 %; computed independently with scipy 1.17.
        let rows = [
            (3, 1.15430, 1.15312, 1.15468),
            (4, 1.48125, 1.46250, 1.49625),
            (5, 1.71504, 1.67139, 1.76368),
            (6, 1.88715, 1.82212, 1.97282),
            (7, 2.01997, 1.93813, 2.13911),
            (8, 2.12665, 2.03165, 2.27437),
            (9, 2.21500, 2.10956, 2.38681),
            (10, 2.28995, 2.17607, 2.48208),
            (12, 2.41156, 2.28495, 2.63573),
        ];
        for (n, two_05, one_05, two_01) in rows {
            for (alpha, sides, expected) in
                [(0.05, Sides::Two, two_05), (0.05, Sides::One, one_05), (0.01, Sides::Two, two_01)]
            {
                let got = grubbs_critical(n, p(alpha), sides).unwrap();
                assert!((got - expected).abs() < 6e-6, "{n} {alpha} {sides:?}: {got}");
            }
        }
    }

    #[test]
    fn a_low_position_is_flagged_by_both() {
        // Invented differences; computed independently with scipy 1.17.
        let values = [5.3, 6.1, 4.9, 4.9, 6.3, 1.2];
        let got = grubbs(&values, p(0.05)).unwrap().unwrap();
        assert!((got.g - 1.93378480469).abs() < 1e-10);
        assert!((got.critical_two_sided - 1.88714511778).abs() < 1e-10);
        assert!((got.p_two_sided_bound - 0.024503710087).abs() < 1e-10);
        assert!(got.flagged && got.index == 5);
        let robust = modified_z(&values).unwrap();
        for (z, expected) in robust.z.iter().zip([
            0.224833333333,
            1.124166666667,
            -0.224833333333,
            -0.224833333333,
            1.349,
            -4.38425,
        ]) {
            assert!((z - expected).abs() < 1e-10, "{z}");
        }
        assert_eq!(robust.flags(), [false, false, false, false, false, true]);
        assert_eq!(robust.rule, SpreadRule::MedianDeviation);
    }

    #[test]
    fn few_or_equal_values_are_never_flagged() {
        assert_eq!(grubbs(&[1.0, 9.0], p(0.05)), Ok(Err(Absent::TooFewPositions { found: 2, needed: 3 })));
        assert_eq!(grubbs(&[5.0; 4], p(0.05)), Ok(Err(Absent::ZeroSpread)));
        assert!(!grubbs(&[5.0, 5.2, 5.3], p(0.05)).unwrap().unwrap().flagged);
        let equal = modified_z(&[5.0; 4]).unwrap();
        assert_eq!((equal.rule, equal.flags()), (SpreadRule::NoSpread, vec![false; 4]));
    }

    #[test]
    fn mostly_equal_values_use_the_mean_deviation() {
        // By hand: deviations 0 0 0 0 5, mean 1, z = 5/1.253314.
        let got = modified_z(&[5.0, 5.0, 5.0, 5.0, 10.0]).unwrap();
        assert_eq!(got.rule, SpreadRule::MeanDeviation);
        assert!((got.z[4] - 3.989423241).abs() < 1e-6);
        assert!(got.flags()[4]);
    }

    proptest! {
        #[test]
        fn g_never_exceeds_its_largest_possible_value(values in prop::collection::vec(0.0..10.0f64, 3..12)) {
            if let Ok(got) = grubbs(&values, p(0.05)).unwrap() {
                let count = values.len() as f64;
                prop_assert!(got.g <= (count - 1.0) / count.sqrt() + 1e-9);
                prop_assert!(got.critical_one_sided < got.critical_two_sided);
                prop_assert!((0.0..=1.0).contains(&got.p_two_sided_bound));
            }
        }
    }
}
