//! The stages of one wall, each against the first and against the one before, with what had been spent by then.
