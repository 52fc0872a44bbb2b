//! Jobs below each other with their intervals, the average, and what to expect of the next job.

use super::Value;
use crate::picture::{ChartError, Look, Picture, Room};

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
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
