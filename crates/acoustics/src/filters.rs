//! Digital filters: weighting filters and octave and third-octave banks, with their own proof against the masks.
