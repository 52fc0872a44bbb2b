//! bootstrap_bca, paired_differences, outlier_flags, variance_components: one test.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
