//! Level differences by frequency band, with a rating's curve and the bands that decide it.

use crate::picture::{ChartError, Look, Picture, Room};

/// Curves over frequency bands.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// What the axis shows, such as `Level difference`.
    pub quantity: String,
    /// Its unit, such as `dB`.
    pub unit: String,
    /// Centres of the bands, Hz, rising.
    pub centres_hz: Vec<f64>,
    /// What was measured before, one for each band; `None` where a band is missing.
    pub before: Option<BandCurve>,
    /// What was measured after, or the only state.
    pub after: BandCurve,
    /// The rating's curve for the state after.
    pub contour: Option<Contour>,
}

/// One measured curve.
#[derive(Debug, Clone, PartialEq)]
pub struct BandCurve {
    /// What it is called, such as `T05, after`.
    pub label: String,
    /// One value for each band.
    pub values: Vec<Option<f64>>,
    /// Bands of which only a least value is known.
    pub at_least: Vec<bool>,
}

/// A rating's curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// Its name with its number, such as `Dw 36`.
    pub label: String,
    /// One value for each band; `None` where the rating does not look.
    pub values: Vec<Option<f64>>,
    /// Indices of the bands that decide it.
    pub deciding: Vec<usize>,
}

impl Bands {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, _room: Room, _look: Look) -> Result<Picture, ChartError> {
        Err(ChartError::Nothing)
    }
}
