//! A wall step by step: what it gave at each stage, and what each step added.

use super::Value;
use crate::picture::{ChartError, Look, Picture, Room};

/// Stages of one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Stages {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// What the axis shows, such as `Level difference`.
    pub quantity: String,
    /// Its unit, such as `dBA`.
    pub unit: String,
    /// The stages, in the order they were built.
    pub rows: Vec<StageRow>,
    /// What others publish for such a wall, with where that comes from: `(low, high, words)`.
    pub published: Option<(f64, f64, String)>,
}

/// One stage.
#[derive(Debug, Clone, PartialEq)]
pub struct StageRow {
    /// What it is called, such as `A06, sealed`.
    pub label: String,
    /// What it gave; `None` where the set is out of results.
    pub value: Option<Value>,
    /// What the step added, in words, such as `+3.2 from sealing`.
    pub step: Option<String>,
    /// Why it is out of results, or what to look at twice.
    pub note: Option<String>,
}

impl Stages {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
