//! gum, decibels and grading_controls: budgets, levels and fairness.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
