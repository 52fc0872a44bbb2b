//! What was paid against what was gained, with the line of what nothing else beats.

use super::Value;
use crate::picture::{ChartError, Look, Picture, Room};

/// Costs against gains.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// What the cost is of, such as `Cost for each m2, own labour counted`.
    pub cost: String,
    /// Its currency, such as `USD`.
    pub currency: String,
    /// What the gain is, such as `Change of the level difference`.
    pub gain: String,
    /// Its unit, such as `dB`.
    pub unit: String,
    /// The jobs.
    pub rows: Vec<WorthRow>,
}

/// One job.
#[derive(Debug, Clone, PartialEq)]
pub struct WorthRow {
    /// What it is called.
    pub label: String,
    /// What it cost.
    pub cost: f64,
    /// What it gained.
    pub gain: Value,
    /// Nothing cheaper gained as much: it stands on the line.
    pub on_line: bool,
    /// Whether its gain may be claimed; one that may not is drawn hollow.
    pub claimed: bool,
}

impl Worth {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
