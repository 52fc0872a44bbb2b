//! Quantities of the trade, each with its unit: parsed once at the door, exact inside, printed at the window.
//!
//! Reading order: [`decimal`] is the exact number under all that was typed; [`length`] and [`area`] are whole
//! nanometres; [`temperature`] and [`density`] keep what was typed and its unit; [`money`] adds a currency;
//! [`level`] is the one measured, inexact quantity. Left out: storage formats, wire formats, rounding for
//! screens beyond [`Decimal::from_f64_rounded`], and any guess at a unit that was not written.

pub mod area;
pub mod decimal;
pub mod density;
pub mod length;
pub mod level;
pub mod money;
mod quoted;
pub mod temperature;

pub use area::Area;
pub use decimal::Decimal;
pub use density::{Density, MassPerArea};
pub use length::Length;
pub use level::Level;
pub use money::{Currency, Money};
pub use quoted::Quoted;
pub use temperature::Temperature;
