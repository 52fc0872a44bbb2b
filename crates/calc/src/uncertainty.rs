//! gum, decibels and grading_controls: budgets, levels and fairness.

mod decibels;
mod grading;
mod gum;

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[
    decibels::BACKGROUND_CORRECTION,
    decibels::ENERGY_DIFFERENCE,
    decibels::ENERGY_MEAN,
    decibels::RIGHT_CENSORED_NORMAL,
    decibels::SIGNAL_UPPER_BOUND,
    grading::GRADING_CONTROLS,
    grading::DIFFERENCE_IN_DIFFERENCES,
    gum::DIFFERENCE,
    gum::RESOLUTION,
    gum::RESOLUTION_FLOOR,
    gum::WELCH_SATTERTHWAITE,
];
