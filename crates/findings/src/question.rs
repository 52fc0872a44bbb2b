//! A question in plain words answered from the notebook: "cellulose against glass fibre in 2x4 walls, boarded".
//!
//! The answer is the interval of the difference and one of "clearly better", "probably better" and "cannot tell", never a bare
//! ranking. Leaves out pools of one kind of wall: see [`crate::across`].
//!
//! Reading order: `lexicon` (words), `part` (parts of a wall), `parse` (the question), `sides` (which rows stand on which
//! side), `traits` (what else differs), `weigh` (the difference), `beside` (published, predicted, cost), `bench`, `answer`, `words`.

mod answer;
mod bench;
mod beside;
mod lexicon;
mod parse;
mod part;
mod sides;
#[cfg(test)]
mod tests;
mod traits;
mod weigh;
mod words;

pub use answer::{Answer, Average, Pair, Ranked, Side};
pub use bench::BenchVerdict;
pub use beside::{PairCost, Range, SideCost};
pub use parse::{EXAMPLE, Question, QuestionError, Selection};
pub use part::{Axis, Holes, Part};
pub use sides::{LeftOut, ShownApart};
pub use weigh::{Basis, Contrast, Verdict, Why};
