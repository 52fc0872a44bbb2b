//! What can be asked of a record beside its words: fill, frame, state, grade, reduction, cost.
