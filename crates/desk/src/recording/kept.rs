//! What a reading from a recording holds, each value in the form in which it is stored.

use storypole_acoustics::{Band, Fraction, Spectrum};
use storypole_notebook::bands::{Bands, Of, Width};
use storypole_notebook::quantity::QuantityError;
use storypole_notebook::{Quantity, Unit};
use storypole_units::Decimal;

/// Why a number is no reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoReading {
    /// Not a number, or infinite.
    #[error("the level is no number")]
    NoNumber,
    /// Out of what its unit takes.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}

impl NoReading {
    /// What to do about it.
    pub fn next_step(&self) -> &'static str {
        match self {
            Self::NoNumber => "look at the recording",
            Self::Quantity(_) => "check what full scale is: the calibration or --full-scale may be far off",
        }
    }
}

/// A measured number as it is kept: levels to a hundredth, times to a thousandth.
///
/// # Errors
/// [`NoReading`].
pub fn number(value: f64, unit: Unit) -> Result<Quantity, NoReading> {
    let places = if unit == Unit::Second { 3 } else { 2 };
    let number = Decimal::from_f64_rounded(value, places).ok_or(NoReading::NoNumber)?;
    Ok(Quantity::new(number, unit)?)
}

/// An averaging time as it is kept, s.
pub fn seconds(duration_s: f64) -> String {
    format!("{duration_s:.1}")
}

/// A spectrum as it is kept, to a hundredth of a dB or a thousandth of a second; bands out of what is taken are left out.
pub fn bands(spectrum: &Spectrum, of: Of) -> Option<Bands> {
    let width = match spectrum.fraction() {
        Fraction::Octave => Width::Octave,
        Fraction::Third => Width::Third,
    };
    let places = if of == Of::Time { 3 } else { 2 };
    let value = |(band, value): &(Band, f64)| {
        let hz = Decimal::from_f64_rounded(band.nominal_hz(), 1)?.normalized();
        let value = Decimal::from_f64_rounded(*value, places)?;
        Bands::new(width, of, vec![(hz, value)]).ok().map(|_| (hz, value))
    };
    Bands::new(width, of, spectrum.values().iter().filter_map(value).collect()).ok()
}
