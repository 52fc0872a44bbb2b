//! power_design and cost_effectiveness: how many readings, and what an effect costs.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
