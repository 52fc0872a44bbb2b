//! A recording second by second, with what was cut out of it.

use crate::picture::{ChartError, Look, Picture, Room};

/// Levels over time.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// Unit of the levels, such as `dBA`.
    pub unit: String,
    /// One level for each step, in order; `None` where nothing was recorded.
    pub levels: Vec<Option<f64>>,
    /// Seconds from one level to the next.
    pub step_s: f64,
    /// What was cut out, from and to in seconds, with the reason.
    pub cuts: Vec<CutOut>,
    /// Average of what was kept.
    pub average_db: Option<f64>,
    /// The room's own noise.
    pub background_db: Option<f64>,
}

/// A stretch that does not count.
#[derive(Debug, Clone, PartialEq)]
pub struct CutOut {
    /// Where it begins, s.
    pub from_s: f64,
    /// Where it ends, s.
    pub to_s: f64,
    /// Why it was cut out.
    pub reason: String,
}

impl History {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
