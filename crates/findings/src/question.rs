//! A question about two kinds of walls in plain words, and its answer.
