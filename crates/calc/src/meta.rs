//! meta_fixed_random, meta_regression, shrinkage_ranking: several jobs together.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
