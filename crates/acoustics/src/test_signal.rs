//! Test sounds that are the same everywhere: band-limited pink noise and exponential sweeps, with their hash.
