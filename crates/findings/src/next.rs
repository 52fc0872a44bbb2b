//! The test that would tell most for its cost.
