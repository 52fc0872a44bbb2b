//! A question in plain words, read part by part.
//!
//! Leaves out the answer so far.

mod lexicon;
mod parse;
mod part;

pub use parse::{EXAMPLE, Question, QuestionError, Selection};
pub use part::{Axis, Holes, Part};
