//! Views of a small notebook.
