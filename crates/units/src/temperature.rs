//! Temperatures as they were read: the number and the unit stay as written.
//!
//! Left out: differences of temperature (a change of 10 °F is not 10 °F on a thermometer).

use std::fmt;

use crate::decimal::{Decimal, DecimalParseError, split_number};
use crate::quoted::Quoted;

/// The unit a temperature was read in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TemperatureUnit {
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Degrees Celsius.
    Celsius,
    /// Kelvin.
    Kelvin,
}

/// A temperature at or above absolute zero, exact in the unit it was written in.
///
/// Equality is of what was written: 68 °F and 20 °C are the same heat but not equal here. To compare heat,
/// convert first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Temperature {
    value: Decimal,
    unit: TemperatureUnit,
}

/// Why a text or a number is no temperature.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TemperatureError {
    /// Nothing was written.
    #[error("the temperature is missing: write a number and a unit, such as 68 F or 20 C")]
    Empty,
    /// No number in front.
    #[error("\"{text}\" does not start with a number: write a number and a unit, such as 68 F or 20 C")]
    NoNumber {
        /// What was written.
        text: Quoted,
    },
    /// The number itself cannot be read.
    #[error(transparent)]
    Number(#[from] DecimalParseError),
    /// A number without a unit.
    #[error("\"{text}\" has no unit: write {text} F or {text} C")]
    NoUnit {
        /// What was written.
        text: Quoted,
    },
    /// A unit that temperatures do not have.
    #[error("\"{unit}\" is no unit of temperature that is known here: write F, C or K")]
    UnknownUnit {
        /// The unit.
        unit: Quoted,
    },
    /// Colder than anything can be.
    #[error("{value} {unit} is below absolute zero: write {} {unit} or more", unit.absolute_zero())]
    BelowAbsoluteZero {
        /// The number.
        value: Decimal,
        /// Its unit.
        unit: TemperatureUnit,
    },
}

impl TemperatureUnit {
    /// Returns absolute zero in this unit: -459.67 °F, -273.15 °C, 0 K.
    ///
    /// # Source
    /// The kelvin and degree Celsius of the SI; for Fahrenheit NIST SP 811 Appendix B (from memory).
    pub fn absolute_zero(self) -> Decimal {
        let (mantissa, scale) = match self {
            Self::Fahrenheit => (-45_967, 2),
            Self::Celsius => (-27_315, 2),
            Self::Kelvin => (0, 0),
        };
        Decimal::from_parts(mantissa, scale).expect("five digits fit")
    }
}

impl Temperature {
    /// Takes a number in a unit.
    ///
    /// # Errors
    /// [`TemperatureError::BelowAbsoluteZero`].
    pub fn new(value: Decimal, unit: TemperatureUnit) -> Result<Self, TemperatureError> {
        if value < unit.absolute_zero() {
            return Err(TemperatureError::BelowAbsoluteZero { value, unit });
        }
        Ok(Self { value, unit })
    }

    /// Reads `68 F`, `68 °F`, `20.5 C`, `-5 °C` or `293 K`.
    ///
    /// # Errors
    /// [`TemperatureError`] says what cannot be read; a missing unit is never guessed.
    pub fn parse(text: &str) -> Result<Self, TemperatureError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(TemperatureError::Empty);
        }
        let (number, unit) = split_number(text);
        if number.is_empty() {
            return Err(TemperatureError::NoNumber { text: Quoted::new(text) });
        }
        let value = Decimal::parse(number)?;
        let unit = match unit {
            "F" | "°F" => TemperatureUnit::Fahrenheit,
            "C" | "°C" => TemperatureUnit::Celsius,
            "K" => TemperatureUnit::Kelvin,
            "" => return Err(TemperatureError::NoUnit { text: Quoted::new(text) }),
            _ => return Err(TemperatureError::UnknownUnit { unit: Quoted::new(unit) }),
        };
        Self::new(value, unit)
    }

    /// Returns the number as written, in [`unit`](Self::unit).
    pub fn value(self) -> Decimal {
        self.value
    }

    /// Returns the unit as written.
    pub fn unit(self) -> TemperatureUnit {
        self.unit
    }

    /// Returns degrees Celsius.
    ///
    /// # Source
    /// t/°C = (t/°F - 32) / 1.8 and t/°C = T/K - 273.15: NIST SP 811 Appendix B (from memory).
    pub fn to_celsius(self) -> f64 {
        let value = self.value.to_f64();
        match self.unit {
            TemperatureUnit::Fahrenheit => (value - 32.0) / 1.8,
            TemperatureUnit::Celsius => value,
            TemperatureUnit::Kelvin => value - 273.15,
        }
    }

    /// Returns degrees Fahrenheit.
    pub fn to_fahrenheit(self) -> f64 {
        match self.unit {
            TemperatureUnit::Fahrenheit => self.value.to_f64(),
            TemperatureUnit::Celsius | TemperatureUnit::Kelvin => self.to_celsius() * 1.8 + 32.0,
        }
    }

    /// Returns kelvin.
    pub fn to_kelvin(self) -> f64 {
        match self.unit {
            TemperatureUnit::Kelvin => self.value.to_f64(),
            TemperatureUnit::Fahrenheit | TemperatureUnit::Celsius => self.to_celsius() + 273.15,
        }
    }
}

impl fmt::Display for TemperatureUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Fahrenheit => "°F",
            Self::Celsius => "°C",
            Self::Kelvin => "K",
        })
    }
}

impl fmt::Display for Temperature {
    /// Prints the number with its places as written: `20.50 °C`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Source: freezing and boiling point of water, -40 where both scales meet, absolute zero (handbook
    /// values, from memory); 68 °F = 20 °C, the reference temperature of ISO 1.
    #[test]
    fn reads_and_converts() {
        let cases = [
            ("32 F", 0.0, 32.0, 273.15),
            ("212 °F", 100.0, 212.0, 373.15),
            ("68 F", 20.0, 68.0, 293.15),
            ("68F", 20.0, 68.0, 293.15),
            ("-40 C", -40.0, -40.0, 233.15),
            ("-40 °F", -40.0, -40.0, 233.15),
            ("20.5 °C", 20.5, 68.9, 293.65),
            ("293.15 K", 20.0, 68.0, 293.15),
            ("0 K", -273.15, -459.67, 0.0),
            ("-459.67 F", -273.15, -459.67, 0.0),
            ("-273.15 C", -273.15, -459.67, 0.0),
        ];
        for (text, celsius, fahrenheit, kelvin) in cases {
            let temperature = Temperature::parse(text).unwrap();
            assert!((temperature.to_celsius() - celsius).abs() < 1e-12, "{text}");
            assert!((temperature.to_fahrenheit() - fahrenheit).abs() < 1e-12, "{text}");
            assert!((temperature.to_kelvin() - kelvin).abs() < 1e-12, "{text}");
        }
        assert_eq!(Temperature::parse("20.50 C").unwrap().to_string(), "20.50 °C");
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            ("", "the temperature is missing: write a number and a unit, such as 68 F or 20 C"),
            ("68", "\"68\" has no unit: write 68 F or 68 C"),
            ("68 f", "\"f\" is no unit of temperature that is known here: write F, C or K"),
            ("293 °K", "\"°K\" is no unit of temperature that is known here: write F, C or K"),
            (
                "warm",
                "\"warm\" does not start with a number: write a number and a unit, such as 68 F or 20 C",
            ),
            ("-459.68 F", "-459.68 °F is below absolute zero: write -459.67 °F or more"),
            ("-273.16 C", "-273.16 °C is below absolute zero: write -273.15 °C or more"),
            ("-0.1 K", "-0.1 K is below absolute zero: write 0 K or more"),
            ("6 8 F", "\"6 8\" has a space inside the number: write the digits together, such as 48.20"),
        ];
        for (text, reason) in cases {
            assert_eq!(Temperature::parse(text).unwrap_err().to_string(), reason, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".*", near in "[-0-9. ]{0,12}°?[FCK]") {
            for text in [text, near] {
                if let Ok(temperature) = Temperature::parse(&text) {
                    prop_assert_eq!(Temperature::parse(&temperature.to_string()), Ok(temperature), "{}", text);
                }
            }
        }
    }
}
