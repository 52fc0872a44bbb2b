//! What each position showed before and after, side by side on one scale.

use crate::picture::{ChartError, Look, Picture, Room};

/// Levels or level differences by position, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Positions {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence: stands under the title and in the text for those who cannot see.
    pub finding: String,
    /// What the axis shows, such as `Level difference`.
    pub quantity: String,
    /// Its unit, such as `dBA`.
    pub unit: String,
    /// What the two states are called, such as `T01, before` and `T05, after`.
    pub states: (String, String),
    /// The positions, in the order they stand in the room.
    pub rows: Vec<PositionRow>,
    /// The averages, where there are any, in a row of their own.
    pub average: (Option<f64>, Option<f64>),
    /// More is better, as with a level difference; otherwise less is.
    pub more_is_better: bool,
}

/// One position.
#[derive(Debug, Clone, PartialEq)]
pub struct PositionRow {
    /// Its label.
    pub label: String,
    /// What was read before; `None` where it was not taken.
    pub before: Option<f64>,
    /// What was read after.
    pub after: Option<f64>,
    /// Why to look twice: far from the others, corrected, not taken.
    pub note: Option<String>,
}

impl Positions {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
