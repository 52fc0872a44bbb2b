//! Which way the sound goes: each path's share of it.

use crate::picture::{ChartError, Look, Picture, Room};

/// Shares of the sound, of one wall or of the same wall before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Paths {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// One or two states, each with its paths.
    pub walls: Vec<WallPaths>,
}

/// Paths of one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct WallPaths {
    /// What it is called, such as `A03, before`.
    pub label: String,
    /// What the formula gives for all paths together, dB: least and most.
    pub together_db: Option<(f64, f64)>,
    /// The paths; their shares add up to 1.
    pub paths: Vec<PathShare>,
}

/// One path.
#[derive(Debug, Clone, PartialEq)]
pub struct PathShare {
    /// What it is, such as `hollow-core door, 1.65 m2`.
    pub label: String,
    /// Its share of the sound, 0 to 1.
    pub share: f64,
    /// What it loses by itself, dB.
    pub loss_db: Option<f64>,
}

impl Paths {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
