//! The meter on a signal made from a description, so that it can be checked without a file.

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[];
