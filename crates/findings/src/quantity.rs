//! Tests that are not of sound, in the same frame: states, change, interval, claim, grade.
