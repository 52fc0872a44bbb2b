//! Reverberation times from decay curves, and decay curves from recordings.
//!
//! A tour in reading order: [`curve`] fits lines to a smooth decay and says why a time is absent. [`impulse`] turns a
//! clap, a burst balloon or an impulse response into such a curve by integrating backwards, [`interrupted`] does it with
//! noise that is switched off, and [`sweep`] turns a recorded sweep into an impulse response. [`filtering`] takes one band
//! without letting the filter ring into the decay, and [`quality`] says what makes a time suspect. [`recording`] joins
//! them all: samples in, times by band out. [`positions`] averages over a room.
//!
//! Leaves out files and calibration: a decay time needs neither a level re 20 µPa nor to know where samples came from.

pub mod curve;
pub mod filtering;
pub mod impulse;
pub mod interrupted;
pub mod positions;
pub mod quality;
pub mod recording;
pub mod sweep;

mod floor;
#[cfg(test)]
mod synthetic;

pub use curve::{DecayTimes, Fit, NoFit, Range};
pub use quality::Flag;
pub use recording::{BandDecay, Source, reverberation};
