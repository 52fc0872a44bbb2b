//! A reference contour shifted as high under a set of bands as its rule allows, in whole steps of an integer unit.

/// Bands with the contour that is laid over them, both in one integer unit.
pub(super) struct Fit<'a> {
    pub(super) contour: &'a [i64],
    pub(super) values: &'a [i64],
}

impl Fit<'_> {
    /// How far each band falls short of the contour at a shift; 0 where it does not.
    pub(super) fn deficiencies(&self, shift: i64) -> Vec<i64> {
        let pairs = self.contour.iter().zip(self.values);
        pairs.map(|(contour, value)| (contour + shift - value).max(0)).collect()
    }

    /// The highest multiple of `step` whose deficiencies are allowed. No deficiency at all must be, and large ones not.
    pub(super) fn highest(&self, step: i64, allowed: impl Fn(&[i64]) -> bool) -> i64 {
        let gaps = self.contour.iter().zip(self.values).map(|(contour, value)| value - contour);
        let touching = gaps.min().expect("a rating has bands");
        let mut shift = touching.div_euclid(step) * step;
        while allowed(&self.deficiencies(shift + step)) {
            shift += step;
        }
        shift
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equality_is_allowed_and_one_more_is_not() {
        // By hand: two bands at 0 under a flat contour fall short by the shift each.
        let fit = Fit { contour: &[0, 0], values: &[0, 0] };
        assert_eq!(fit.highest(1, |short| short.iter().sum::<i64>() <= 10), 5);
        assert_eq!(fit.highest(1, |short| short.iter().sum::<i64>() <= 9), 4);
        assert_eq!(fit.highest(10, |short| short.iter().sum::<i64>() <= 19), 0);
        let low = Fit { contour: &[0, 5], values: &[-23, 9] };
        assert_eq!(low.highest(10, |short| short.iter().sum::<i64>() <= 0), -30);
        assert_eq!(low.deficiencies(5), [28, 1]);
    }
}
