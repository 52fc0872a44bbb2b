//! Reverberation times from decay curves, and decay curves from recordings.
//!
//! A tour in reading order: [`curve`] fits lines to a smooth decay and says why a time is absent. [`impulse`] turns a
//! clap, a burst balloon or an impulse response into such a curve by integrating backwards, [`interrupted`] does it with
//! noise that is switched off, and [`sweep`] turns a recorded sweep into an impulse response. [`recording`] joins them:
//! samples in, times by band out, each with what makes it [suspect](quality). [`positions`] averages over a room.
//!
//! Leaves out files and calibration: a decay time needs neither a level re 20 µPa nor to know where samples came from.

pub mod curve;
pub mod impulse;
pub mod positions;
pub mod quality;
pub mod sweep;

pub use curve::{DecayTimes, Fit, NoFit, Range};
pub use quality::Flag;

mod floor;
#[cfg(test)]
mod synthetic;
