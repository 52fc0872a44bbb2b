//! What kinds of walls gave over several jobs: the average, the next job, the spread between jobs, and what was left out.

pub mod rows;

pub use rows::{Aside, Measure, Row, Span, Wall};
