//! Integrals of smooth functions over short stretches, with a finer look where they bend.
//!
//! Leaves out error estimates: its callers integrate normal and chi densities times probabilities, which the steps here
//! resolve to ten digits.

/// Steps on each piece; even, so that Simpson's rule fits.
const STEPS: usize = 4000;

/// A normal probability has reached 0 or 1 this many widths from its middle.
const WIDTHS: f64 = 8.5;

/// Where a function bends: its middle and how wide the bend is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bend {
    pub(crate) middle: f64,
    pub(crate) width: f64,
}

/// Integrates over `low` to `high`, each side of each bend on its own.
pub(crate) fn integral(low: f64, high: f64, bends: &[Bend], function: impl Fn(f64) -> f64) -> f64 {
    if low >= high {
        return 0.0;
    }
    let mut ends = vec![low, high];
    for bend in bends {
        let reach = WIDTHS * bend.width;
        let cuts = [bend.middle - reach, bend.middle, bend.middle + reach];
        ends.extend(cuts.into_iter().filter(|cut| low < *cut && *cut < high));
    }
    ends.sort_by(f64::total_cmp);
    ends.windows(2).map(|piece| simpson(piece[0], piece[1], &function)).sum()
}

fn simpson(low: f64, high: f64, function: impl Fn(f64) -> f64) -> f64 {
    let step = (high - low) / STEPS as f64;
    let inner = |first: usize| -> f64 {
        (first..STEPS).step_by(2).map(|index| function(low + step * index as f64)).sum()
    };
    (function(low) + function(high) + 4.0 * inner(1) + 2.0 * inner(2)) * step / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distributions::normal_cdf;

    #[test]
    fn integrals_match() {
        // By hand: x³ over 0 to 2 is 4; a normal probability over a symmetric stretch is half of it, however narrow its bend.
        assert!((integral(0.0, 2.0, &[], |x| x.powi(3)) - 4.0).abs() < 1e-12);
        for width in [1.0, 1e-3, 1e-9] {
            let bend = Bend { middle: 0.3, width };
            let got = integral(-0.7, 1.3, &[bend], |x| normal_cdf((x - 0.3) / width));
            assert!((got - 1.0).abs() < 1e-12, "{width}: {got}");
        }
        assert_eq!(integral(1.0, 1.0, &[], |x| x), 0.0);
    }
}
