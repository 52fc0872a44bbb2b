//! A measured number with its unit. Leaves out what the number means: that is the reading's own fields.

use std::fmt;
use std::str::FromStr;

use storypole_units::Decimal;

/// The unit a reading is taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// A-weighted sound pressure level, dB re 20 µPa.
    DbA,
    /// C-weighted sound pressure level, dB re 20 µPa.
    DbC,
    /// Unweighted sound pressure level, dB re 20 µPa.
    DbZ,
    /// A difference of two levels.
    Db,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Degrees Celsius.
    Celsius,
    /// Percent: relative humidity or wood moisture content.
    Percent,
    /// Cubic feet a minute.
    Cfm,
    /// Cubic metres an hour.
    CubicMetresPerHour,
    /// Pascal.
    Pascal,
    /// Lux.
    Lux,
    /// Watt per square metre.
    WattPerSquareMetre,
    /// Square metre kelvin per watt.
    SquareMetreKelvinPerWatt,
    /// Seconds, as of a reverberation time.
    Second,
    /// Metres a second.
    MetrePerSecond,
    /// A plain count, as of spots where smoke moved.
    Count,
}

/// Unit, symbol printed, other spellings read, least and greatest value taken at the door.
///
/// The level limits are the usual working range of hand-held meters; the others are wide physical bounds
/// (common practice, no source): they catch a slipped digit, not a strange house.
const UNITS: &[(Unit, &str, &[&str], i64, i64)] = &[
    (Unit::DbA, "dBA", &["dB(A)", "dBa"], 0, 140),
    (Unit::DbC, "dBC", &["dB(C)", "dBc"], 0, 140),
    (Unit::DbZ, "dBZ", &["dB(Z)", "dBz"], 0, 140),
    (Unit::Db, "dB", &["db"], -60, 140),
    (Unit::Fahrenheit, "°F", &["F", "degF"], -100, 500),
    (Unit::Celsius, "°C", &["C", "degC"], -75, 260),
    (Unit::Percent, "%", &["percent", "%RH", "% RH"], 0, 100),
    (Unit::Cfm, "cfm", &["ft3/min"], 0, 100_000),
    (Unit::CubicMetresPerHour, "m3/h", &["m³/h"], 0, 200_000),
    (Unit::Pascal, "Pa", &["pa"], -1_000, 1_000),
    (Unit::Lux, "lx", &["lux"], 0, 200_000),
    (Unit::WattPerSquareMetre, "W/m2", &["W/m²"], -2_000, 2_000),
    (Unit::SquareMetreKelvinPerWatt, "m2K/W", &["m²K/W"], 0, 100),
    (Unit::Second, "s", &["sec"], 0, 60),
    (Unit::MetrePerSecond, "m/s", &["mps"], 0, 60),
    (Unit::Count, "count", &["spots", "pieces"], 0, 1_000_000),
];

/// Text that names no unit known here.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{0}\" is not a unit known here: sound is in dBA, dBC, dBZ or dB; the others are °F °C % s cfm m3/h Pa m/s lx W/m2 m2K/W count"
)]
pub struct UnknownUnit(pub String);

impl Unit {
    /// Every unit.
    pub fn all() -> impl Iterator<Item = Self> {
        UNITS.iter().map(|row| row.0)
    }

    fn row(self) -> &'static (Unit, &'static str, &'static [&'static str], i64, i64) {
        UNITS.iter().find(|row| row.0 == self).expect("every unit has a row")
    }

    /// The symbol as stored and printed.
    pub fn symbol(self) -> &'static str {
        self.row().1
    }

    /// Least and greatest value taken at the door.
    pub fn range(self) -> (i64, i64) {
        (self.row().3, self.row().4)
    }

    /// Whether this is a temperature.
    pub fn is_temperature(self) -> bool {
        matches!(self, Self::Fahrenheit | Self::Celsius)
    }

    /// Whether this is a sound pressure level (not a difference of two).
    pub fn is_level(self) -> bool {
        matches!(self, Self::DbA | Self::DbC | Self::DbZ)
    }
}

impl FromStr for Unit {
    type Err = UnknownUnit;

    fn from_str(text: &str) -> Result<Self, UnknownUnit> {
        UNITS
            .iter()
            .find(|(_, symbol, others, ..)| *symbol == text || others.contains(&text))
            .map(|row| row.0)
            .ok_or_else(|| UnknownUnit(text.to_owned()))
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// One measured number with its unit, within the unit's range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quantity {
    number: Decimal,
    unit: Unit,
}

/// Why a measured number is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing stands behind the number.
    #[error("\"{0}\" has no unit: write it behind the number, like 69.1 dBA")]
    NoUnit(String),
    /// The unit is not known.
    #[error(transparent)]
    Unit(#[from] UnknownUnit),
    /// The number is written in a form that is not read.
    #[error(transparent)]
    Form(#[from] FormError),
    /// The number cannot be read.
    #[error("\"{0}\" is not one plain number, like 41.5")]
    NotANumber(String),
    /// The number lies outside what the unit allows.
    #[error("{number} {unit} is outside {low} to {high} {unit}: check the display and type it again")]
    OutOfRange { number: Decimal, unit: Unit, low: i64, high: i64 },
    /// More digits behind the point than any meter here shows.
    #[error("{0} has more than six digits behind the point: write what the display shows")]
    TooFine(Decimal),
}

/// A number in a form that other programs read and this one does not, since it may mean two things.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FormError {
    /// A comma among digits, which means thousands to some and a point to others.
    #[error("\"{0}\" has a comma: write the decimal with a point, like 59.0, and nothing between thousands")]
    Comma(String),
    /// A power of ten.
    #[error("\"{0}\" has a power of ten: write all digits, like 100 for 1e2")]
    Exponent(String),
}

/// Looks whether the number that starts a text has a comma or a power of ten.
///
/// # Errors
/// [`FormError`], with what to write instead.
pub fn check_form(text: &str) -> Result<(), FormError> {
    let is_digit = |letter: Option<char>| letter.is_some_and(|letter| letter.is_ascii_digit());
    let digits = text.trim().trim_start_matches(['-', '+']);
    let rest = digits.trim_start_matches(|letter: char| letter.is_ascii_digit() || letter == '.');
    if rest.len() == digits.len() {
        return Ok(());
    }
    let mut letters = rest.chars();
    match letters.next() {
        Some(',') if is_digit(letters.next()) => Err(FormError::Comma(text.to_owned())),
        Some('e' | 'E') if is_digit(letters.as_str().trim_start_matches(['-', '+']).chars().next()) => {
            Err(FormError::Exponent(text.to_owned()))
        }
        _ => Ok(()),
    }
}

impl Quantity {
    /// A number in a unit.
    ///
    /// # Errors
    /// [`QuantityError::OutOfRange`] and [`QuantityError::TooFine`].
    pub fn new(number: Decimal, unit: Unit) -> Result<Self, QuantityError> {
        let (low, high) = unit.range();
        if number < Decimal::from_int(low) || number > Decimal::from_int(high) {
            return Err(QuantityError::OutOfRange { number, unit, low, high });
        }
        if number.scale() > 6 {
            return Err(QuantityError::TooFine(number));
        }
        Ok(Self { number, unit })
    }

    /// Reads `69.1 dBA` or `69.1dBA`.
    ///
    /// # Errors
    /// [`QuantityError`]: no unit, unknown unit, no number, out of range.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let text = text.trim();
        check_form(text)?;
        let end = text
            .find(|letter: char| !(letter.is_ascii_digit() || matches!(letter, '.' | '-' | '+')))
            .unwrap_or(text.len());
        let (number, unit) = text.split_at(end);
        let number = Decimal::parse(number).map_err(|_| QuantityError::NotANumber(text.to_owned()))?;
        if unit.trim().is_empty() {
            return Err(QuantityError::NoUnit(text.to_owned()));
        }
        Self::new(number, unit.trim().parse()?)
    }

    /// The number.
    pub fn number(self) -> Decimal {
        self.number
    }

    /// The unit.
    pub fn unit(self) -> Unit {
        self.unit
    }

    /// The number as floating point, for computing.
    pub fn to_f64(self) -> f64 {
        self.number.to_f64()
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_and_prints() {
        for (input, expected) in [
            ("69.1 dBA", "69.1 dBA"),
            ("68F", "68 °F"),
            ("17.5 %", "17.5 %"),
            ("-3 °C", "-3 °C"),
            ("29.0 dB", "29.0 dB"),
        ] {
            assert_eq!(Quantity::parse(input).unwrap().to_string(), expected);
        }
    }

    #[test]
    fn refuses_with_a_next_step() {
        for (input, expected) in [
            ("69.1", "\"69.1\" has no unit"),
            ("NaN dBA", "not one plain number"),
            ("200 dBA", "outside 0 to 140 dBA"),
            ("-1 dBC", "outside 0 to 140 dBC"),
            ("6.9.1 dBA", "not one plain number"),
            ("70 parsecs", "not a unit known here"),
            ("", "not one plain number"),
            ("1.0000001 dBA", "more than six digits"),
            ("59,0", "write the decimal with a point"),
            ("94,1 dBA", "write the decimal with a point"),
            ("1e2 dBA", "write all digits"),
        ] {
            let error = Quantity::parse(input).unwrap_err().to_string();
            assert!(error.contains(expected), "{input}: {error}");
        }
    }
}
