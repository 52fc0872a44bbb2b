//! A, C and Z weighting: the analytic curves, the table of the standard, and weighted sums over bands.
