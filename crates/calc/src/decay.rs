//! Reverberation times from a decay curve.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
