//! Walls built like another one, either way round, with the differences named.
