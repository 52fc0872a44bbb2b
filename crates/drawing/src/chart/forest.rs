//! Jobs below each other with their intervals, the average, and what to expect of the next job.
//!
//! Reading order: [`Forest`] and its rows; then `layout` finds room for rows and draws them, `words` says it in a text. Leaves out
//! the average itself: it comes worked out.

use super::frame::{Frame, finite};
use super::gains::{self, Print};
use super::{Bound, Value};
use crate::picture::{ChartError, Look, Picture, Room};

mod layout;
#[cfg(test)]
mod tests;
mod words;

use layout::Plan;

/// Results of several jobs, or several results to set side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Forest {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// What the axis shows, such as `Change of the level difference`.
    pub quantity: String,
    /// Its unit, such as `dB`.
    pub unit: String,
    /// Whether results are changes, from nothing up and down; otherwise they are numbers of walls as they stand.
    pub is_change: bool,
    /// The results.
    pub rows: Vec<ForestRow>,
    /// The average with its range; never of results that are only shown.
    pub average: Option<Value>,
    /// What to expect of the next job.
    pub next_job: Option<(f64, f64)>,
}

/// One result.
#[derive(Debug, Clone, PartialEq)]
pub struct ForestRow {
    /// Its job, such as `J3 party wall`.
    pub label: String,
    /// What was done, such as `sealed, damped second board`.
    pub detail: String,
    /// The result.
    pub value: Value,
    /// Its grade.
    pub grade: Option<char>,
    /// Its part of the average, 0 to 1; `None` for one that is only shown.
    pub weight: Option<f64>,
    /// Whether it may be claimed; one that may not is drawn hollow.
    pub claimed: bool,
}

impl Forest {
    /// Draws it.
    ///
    /// Zero is always on the axis. A range far wider than the rest is cut at an arrow; its numbers stand beside it. Where the
    /// height is short the first rows are drawn, and a line says how many are not.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        check(self)?;
        let mut frame = Frame::begin(&self.title, &self.finding, room)?;
        let print = print(self);
        let plan = Plan::of(self, &frame, print);
        let bottom = plan.draw(self, &mut frame, print);
        Ok(frame.finish(&self.title, &words::alt(self, print), bottom, look))
    }
}

fn check(forest: &Forest) -> Result<(), ChartError> {
    if forest.rows.is_empty() {
        return Err(ChartError::Nothing);
    }
    for row in &forest.rows {
        gains::check(row.value, &format!("the result of {}", row.label))?;
        finite(row.weight.unwrap_or_default(), || format!("the weight of {}", row.label))?;
    }
    if let Some(average) = forest.average {
        gains::check(average, "the average")?;
    }
    let (from, to) = forest.next_job.unwrap_or_default();
    [from, to].into_iter().try_for_each(|end| finite(end, || "what to expect of the next job".to_owned()))
}

/// All ranges there are.
fn ranges(forest: &Forest) -> Vec<(f64, f64)> {
    let rows = forest.rows.iter().filter_map(|row| row.value.shown_interval());
    let average = forest.average.and_then(|average| average.shown_interval());
    rows.chain(average).chain(next_job(forest).and_then(|next| next.shown_interval())).collect()
}

/// What to expect of the next job, around the average; a bound where the average is one.
fn next_job(forest: &Forest) -> Option<Value> {
    let (from, to) = forest.next_job?;
    let average =
        forest.average.unwrap_or(Value { value: (from + to) / 2.0, interval: None, bound: Bound::Exact });
    Some(Value { interval: forest.next_job, ..average })
}

/// All numbers there are, without their ranges.
fn values(forest: &Forest) -> Vec<f64> {
    forest.rows.iter().map(|row| row.value).chain(forest.average).map(|value| value.value).collect()
}

fn print(forest: &Forest) -> Print {
    let print = Print::of(values(forest));
    if forest.is_change { print } else { print.unsigned() }
}
