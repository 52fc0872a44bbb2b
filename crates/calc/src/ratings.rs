//! Single numbers from bands.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
