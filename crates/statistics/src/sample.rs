//! Mean, spread and median of a handful of values, without losing digits.

use crate::absent::{Absent, Known};

/// Deviations below this share of the values' size come from binary rounding and not from the values.
const ROUNDING: f64 = 16.0 * f64::EPSILON;

/// Why values cannot be used at all.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SampleError {
    /// Without a value there is no result.
    #[error("no values were given")]
    Empty,
    /// Correct the value at `index` or leave it out.
    #[error("value {index} is {value}, not a finite number")]
    NotFinite { index: usize, value: f64 },
    /// Values that belong in pairs come in equal number.
    #[error("{first} values were to be paired with {second}")]
    UnequalLengths { first: usize, second: usize },
}

/// Mean and spread of a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// How many values.
    pub n: usize,
    /// Their arithmetic mean.
    pub mean: f64,
    /// Standard deviation with n - 1; exactly 0 where the values differ by binary rounding only.
    pub sd: Known<f64>,
}

impl Moments {
    /// Standard error of the mean, `s/√n`.
    pub fn se(&self) -> Known<f64> {
        self.sd.map(|sd| sd / (self.n as f64).sqrt())
    }

    /// Standard error, absent as well where there is no spread to build an interval on.
    pub(crate) fn spread_se(&self) -> Known<f64> {
        self.se().and_then(|se| if se > 0.0 { Ok(se) } else { Err(Absent::ZeroSpread) })
    }
}

/// Computes mean and standard deviation, `s² = Σ(xᵢ - x̄)²/(n - 1)`.
///
/// # Units and shape
/// `values`: n ≥ 1 in one unit; results in the same.
///
/// # Errors
/// [`SampleError::Empty`], [`SampleError::NotFinite`].
///
/// # Source
/// Definition; centred before squaring, so constant leading digits do no harm.
pub fn moments(values: &[f64]) -> Result<Moments, SampleError> {
    check(values)?;
    Ok(moments_of(values, largest(values)))
}

/// Returns the median.
///
/// # Errors
/// [`SampleError::Empty`], [`SampleError::NotFinite`].
pub fn median(values: &[f64]) -> Result<f64, SampleError> {
    check(values)?;
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        Ok(sorted[middle])
    } else {
        Ok(f64::midpoint(sorted[middle - 1], sorted[middle]))
    }
}

/// Lets through at least one value, all finite.
pub(crate) fn check(values: &[f64]) -> Result<(), SampleError> {
    match values.iter().position(|value| !value.is_finite()) {
        Some(index) => Err(SampleError::NotFinite { index, value: values[index] }),
        None if values.is_empty() => Err(SampleError::Empty),
        None => Ok(()),
    }
}

/// Lets through two lists of equal length, at least one pair, all finite.
pub(crate) fn check_pairs(first: &[f64], second: &[f64]) -> Result<(), SampleError> {
    if first.len() != second.len() {
        return Err(SampleError::UnequalLengths { first: first.len(), second: second.len() });
    }
    check(first)?;
    check(second)
}

/// [`moments`] of checked values. `size` is that of the numbers they were computed from: a difference inherits the
/// rounding of its two terms, however small it is itself.
pub(crate) fn moments_of(values: &[f64], size: f64) -> Moments {
    let n = values.len();
    let mean = mean_of(values);
    let farthest = values.iter().map(|value| (value - mean).abs()).fold(0.0, f64::max);
    let sd = if n < 2 {
        Err(Absent::TooFewPositions { found: n, needed: 2 })
    } else if is_rounding(farthest, size) {
        Ok(0.0)
    } else {
        Ok((sum_of_squares(values, mean) / (n - 1) as f64).sqrt())
    };
    Moments { n, mean, sd }
}

/// Mean of checked values: centred on one of them, then on itself, so the error grows with the spread only.
pub(crate) fn mean_of(values: &[f64]) -> f64 {
    let first = values[0];
    let count = values.len() as f64;
    let rough = first + values.iter().map(|value| value - first).sum::<f64>() / count;
    rough + values.iter().map(|value| value - rough).sum::<f64>() / count
}

pub(crate) fn sum_of_squares(values: &[f64], mean: f64) -> f64 {
    values.iter().map(|value| (value - mean) * (value - mean)).sum()
}

/// The largest absolute value.
pub(crate) fn largest(values: &[f64]) -> f64 {
    values.iter().map(|value| value.abs()).fold(0.0, f64::max)
}

/// Whether a deviation is nothing but binary rounding of numbers of that size.
pub(crate) fn is_rounding(deviation: f64, size: f64) -> bool {
    deviation <= ROUNDING * size
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leading_digits_do_no_harm() {
        // NIST StRD univariate sets "NumAcc3" and "NumAcc4": 1001 values that alternate around a large constant. Certified
        // standard deviation 0.1, certified mean as below (pattern and values from memory).
        for (constant, tolerance) in [(1_000_000.2, 1e-9), (10_000_000.2, 1e-8)] {
            let values: Vec<f64> = std::iter::once(constant)
                .chain((0..500).flat_map(|_| [constant - 0.1, constant + 0.1]))
                .collect();
            let got = moments(&values).unwrap();
            assert!((got.mean - constant).abs() < 1e-8, "{got:?}");
            assert!((got.sd.unwrap() - 0.1).abs() < tolerance, "{got:?}");
        }
    }

    #[test]
    fn one_value_has_no_spread() {
        let one = moments(&[6.0]).unwrap();
        assert_eq!(one.mean, 6.0);
        assert_eq!(one.sd, Err(Absent::TooFewPositions { found: 1, needed: 2 }));
        assert!(one.se().is_err());
    }

    #[test]
    fn binary_rounding_is_no_spread() {
        // 0.1 + 0.2 is not 0.3 in binary; as readings they are equal.
        let equal = moments(&[0.3, 0.1 + 0.2, 0.3]).unwrap();
        assert_eq!(equal.sd, Ok(0.0));
        assert_eq!(equal.spread_se(), Err(Absent::ZeroSpread));
    }

    #[test]
    fn medians_match() {
        // By definition.
        assert_eq!(median(&[3.0, 1.0, 2.0]), Ok(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Ok(2.5));
    }

    #[test]
    fn bad_values_are_refused() {
        assert_eq!(moments(&[]), Err(SampleError::Empty));
        assert!(matches!(moments(&[1.0, f64::INFINITY]), Err(SampleError::NotFinite { index: 1, .. })));
        let unequal = SampleError::UnequalLengths { first: 1, second: 0 };
        assert_eq!(check_pairs(&[1.0], &[]), Err(unequal));
    }
}
