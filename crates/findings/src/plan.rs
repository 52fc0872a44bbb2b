//! How many positions and repeats would show a wanted change, and in which order to take them.
