//! Coverage.
