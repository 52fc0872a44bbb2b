//! What a wall should give, and what a room does by itself.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
