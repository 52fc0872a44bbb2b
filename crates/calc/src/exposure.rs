//! Noise dose.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
