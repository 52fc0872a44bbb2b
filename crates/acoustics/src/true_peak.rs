//! Peaks between the samples, by oversampling.
