//! air_leakage, r_value_average, moisture_temperature: other quantities than sound.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
