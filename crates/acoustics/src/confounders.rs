//! What looks like a better wall and is not: absorption, direction, flanking.
