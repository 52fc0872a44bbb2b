//! An untouched wall measured beside the rebuilt one: what else changed.
