//! Building acoustics as plain numbers: slices of levels in, values out.
//!
//! A tour in reading order: [`levels`] averages and adds decibels, [`bands`] names octaves and thirds, [`weighting`] says
//! what the ear's curve takes off them. [`background`] decides what a room's own noise leaves of a reading, [`bounds`]
//! carries "at least" through sums, [`difference`] and [`isolation`] turn levels and a receiving room into the field
//! quantities, [`ratings`] turns bands into one number, [`composite`] joins parts of one wall, and [`absorption`] says
//! what a softer room does by itself. [`wav`], [`calibration`], [`filters`] and [`meter`] are a sound level meter for
//! recordings; [`test_signal`] and [`true_peak`] write what is played; [`decay`] measures reverberation. [`prediction`]
//! says what a wall should give, [`confounders`] what only looks like a better wall, [`exposure`] how long a level may
//! be borne.
//!
//! Levels are plain `f64` in dB re 20 µPa with names that end in `_db`; every door refuses what is not finite, so no
//! function returns NaN. The crate knows no record, reading or unit of the notebook.

pub mod absorption;
pub mod background;
pub mod bands;
pub mod bounds;
pub mod calibration;
pub mod composite;
pub mod confounders;
pub mod decay;
pub mod difference;
pub mod exposure;
pub mod filters;
pub mod isolation;
mod kaiser;
pub mod levels;
pub mod meter;
pub mod prediction;
pub mod ratings;
pub mod recording;
pub mod test_signal;
pub mod true_peak;
pub mod wav;
pub mod weighting;

pub use background::{Background, BackgroundRule, Regime};
pub use bands::{Band, Fraction, Spectrum};
pub use bounds::Sense;
pub use composite::{Composite, Part};
pub use difference::{FieldQuantities, ReceivingRoom};

/// A number came in that is infinite or not a number. Leave it out or correct it.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} is not a finite number")]
pub struct NotFinite {
    /// What came in.
    pub value: f64,
}

/// Lets a finite number through.
fn finite(value: f64) -> Result<f64, NotFinite> {
    if value.is_finite() { Ok(value) } else { Err(NotFinite { value }) }
}
