//! Building acoustics as plain numbers: slices of levels in, values out.
//!
//! A tour in reading order: [`levels`] averages and adds decibels, [`background`] decides what a room's own noise
//! leaves of a reading, [`bounds`] carries "at least" through sums, [`difference`] turns two levels and a receiving
//! room into the field quantities, [`composite`] joins parts of one wall, and [`absorption`] says what a softer room
//! does by itself.
//!
//! Levels are plain `f64` in dB re 20 µPa with names that end in `_db`; every door refuses what is not finite, so no
//! function returns NaN. The crate knows no record, reading or unit of the notebook.

pub mod absorption;
pub mod background;
pub mod bounds;
pub mod composite;
pub mod difference;
pub mod levels;

pub use background::{Background, BackgroundRule, Regime};
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
