//! Level differences by frequency band, with a rating's curve and the bands that decide it.
//!
//! Reading order: [`Bands`] and its curves; then `layout` draws them, `words` names bands and says it in a text. Leaves out the
//! rating itself: curve and number come worked out.

use std::collections::BTreeSet;

use super::frame::{Frame, finite};
use crate::picture::{ChartError, Look, Picture, Room};

mod layout;
#[cfg(test)]
mod tests;
mod words;

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
    /// Octaves are equally far apart. A band that is missing leaves a gap; one of which only a least value is known has an arrow.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        check(self)?;
        let mut frame = Frame::begin(&self.title, &self.finding, room)?;
        let bottom = layout::draw(self, &mut frame);
        Ok(frame.finish(&self.title, &words::alt(self), bottom, look))
    }

    /// The value of a band; `None` where it is missing.
    fn value(values: &[Option<f64>], index: usize) -> Option<f64> {
        values.get(index).copied().flatten()
    }

    /// Bands that decide the rating, each once, those that exist.
    fn deciding(&self) -> Vec<usize> {
        let all = self.contour.iter().flat_map(|contour| contour.deciding.iter().copied());
        let all: BTreeSet<usize> = all.filter(|&index| index < self.centres_hz.len()).collect();
        all.into_iter().collect()
    }
}

impl BandCurve {
    /// Whether only a least value of a band is known.
    fn is_least(&self, index: usize) -> bool {
        self.at_least.get(index).copied().unwrap_or(false)
    }
}

fn check(bands: &Bands) -> Result<(), ChartError> {
    let curves = || bands.before.iter().chain([&bands.after]);
    let any =
        curves().any(|curve| (0..bands.centres_hz.len()).any(|at| Bands::value(&curve.values, at).is_some()));
    if !any {
        return Err(ChartError::Nothing);
    }
    for (index, &centre) in bands.centres_hz.iter().enumerate() {
        let what = || format!("the centre of band {} on a scale of octaves", index + 1);
        finite(if centre > 0.0 { centre } else { f64::NAN }, what)?;
    }
    let contour = bands.contour.iter().map(|contour| (&contour.label, &contour.values));
    let all = curves().map(|curve| (&curve.label, &curve.values)).chain(contour);
    for (label, values) in all {
        for (value, &centre) in values.iter().zip(&bands.centres_hz) {
            finite(value.unwrap_or_default(), || format!("{label} at {} Hz", words::band(centre)))?;
        }
    }
    Ok(())
}
