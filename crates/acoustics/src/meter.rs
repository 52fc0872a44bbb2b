//! A sound level meter for recordings: samples in, block by block; levels, percentiles, bands and a history out.
