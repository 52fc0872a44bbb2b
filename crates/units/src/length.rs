//! Lengths as people in the trade write them, held as whole nanometres.
//!
//! One nanometre divides the inch (25,400,000) and its sixty-fourth (396,875), so feet and inches and metric
//! are both exact. A unit is always written, nothing is rounded, and `13/64"` is never read as `1 3/64"`.
//! Left out: negative lengths, yards and miles, thirds and tenths of an inch as fractions.

use std::fmt;

use crate::decimal::{CountError, Decimal, DecimalParseError, count_smallest};
use crate::quoted::Quoted;

/// One inch: 25.4 mm exactly, by the international yard and pound agreement of 1959.
pub const NM_PER_INCH: i64 = 25_400_000;
/// One foot: twelve inches.
pub const NM_PER_FOOT: i64 = 12 * NM_PER_INCH;
/// The finest mark on a tape: 1/64 in.
pub const NM_PER_SIXTY_FOURTH: i64 = NM_PER_INCH / 64;
/// One millimetre.
pub const NM_PER_MM: i64 = 1_000_000;

/// A length from 0 to 1000 km, in whole nanometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length {
    nm: i64,
}

/// Why a count of nanometres is no length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LengthRangeError {
    /// Below zero.
    #[error("a length of {nm} nm is below zero: give zero or more")]
    Negative {
        /// What was given.
        nm: i64,
    },
    /// Beyond [`Length::MAX`].
    #[error("a length of {nm} nm is beyond 1000 km: check the unit")]
    TooLong {
        /// What was given.
        nm: i64,
    },
}

/// Why a text is no length. Nothing is rounded or guessed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LengthParseError {
    /// Nothing was written.
    #[error("the length is missing: write a number and a unit, such as 7 3/4 in or 2520 mm")]
    Empty,
    /// It starts with a minus.
    #[error("\"{text}\" is negative: write a length of zero or more")]
    Negative {
        /// What was written.
        text: Quoted,
    },
    /// No number where one was expected.
    #[error(
        "\"{text}\" does not start with a number: write a number and a unit, such as 7 3/4 in or 2520 mm"
    )]
    NoNumber {
        /// What was written.
        text: Quoted,
    },
    /// The number itself cannot be read.
    #[error(transparent)]
    Number(#[from] DecimalParseError),
    /// A number without a unit.
    #[error("\"{text}\" has no unit{}: write {number} in, {number} ft{}", after(text, number), or_mm(number))]
    NoUnit {
        /// What was written.
        text: Quoted,
        /// The number that lacks a unit.
        number: Quoted,
    },
    /// After feet, a number without an inch mark.
    #[error("\"{text}\" has no unit after {number}: write {number} in or {number}\" behind the feet")]
    NoInchMark {
        /// What was written.
        text: Quoted,
        /// The number that lacks a unit.
        number: Quoted,
    },
    /// A unit that lengths do not have.
    #[error("\"{text}\" has an unknown unit \"{unit}\": write in, ft, mm, cm or m")]
    UnknownUnit {
        /// What was written.
        text: Quoted,
        /// The unit.
        unit: Quoted,
    },
    /// A fraction that is not on a tape.
    #[error(
        "\"{text}\" has a fraction that is not on a tape: write halves, 4ths, 8ths, 16ths, 32nds or 64ths, or a decimal"
    )]
    Denominator {
        /// What was written.
        text: Quoted,
    },
    /// A fraction of one or more.
    #[error(
        "\"{text}\" has a fraction that is not below one: write the whole part first, such as 1 3/4 in for 7/4"
    )]
    FractionNotBelowOne {
        /// What was written.
        text: Quoted,
    },
    /// A decimal number followed by a fraction.
    #[error("\"{text}\" mixes a decimal and a fraction: write 3.5 in or 3 1/2 in")]
    DecimalAndFraction {
        /// What was written.
        text: Quoted,
    },
    /// A fraction of a metric unit.
    #[error("\"{text}\" has a fraction of a metric unit: write a decimal, such as 12.5 mm")]
    MetricFraction {
        /// What was written.
        text: Quoted,
    },
    /// Feet that are not whole, followed by inches.
    #[error(
        "\"{text}\" has inches after feet that are not whole: write whole feet before inches, such as 8' 6\""
    )]
    FeetNotWhole {
        /// What was written.
        text: Quoted,
    },
    /// Twelve inches or more after feet.
    #[error("\"{text}\" has 12 inches or more after the feet: carry them, such as 9' 1\" for 8' 13\"")]
    InchesNotBelowTwelve {
        /// What was written.
        text: Quoted,
    },
    /// A second length, in whatever unit, where only inches after feet may follow.
    #[error("\"{text}\" has two units: write one, or feet followed by inches such as 8' 3 1/2\"")]
    TwoUnits {
        /// What was written.
        text: Quoted,
    },
    /// Something is left over behind the length.
    #[error("\"{text}\" has \"{rest}\" left over behind the length: write one length, such as 8' 3 1/2\"")]
    Unread {
        /// What was written.
        text: Quoted,
        /// What is left over.
        rest: Quoted,
    },
    /// More digits than whole nanometres hold.
    #[error("\"{text}\" is finer than a whole nanometre: write fewer decimals")]
    NotWholeNanometres {
        /// What was written.
        text: Quoted,
    },
    /// Beyond [`Length::MAX`].
    #[error("\"{text}\" is beyond 1000 km: check the number and the unit")]
    TooLong {
        /// What was written.
        text: Quoted,
    },
}

impl Length {
    /// No length.
    pub const ZERO: Self = Self { nm: 0 };
    /// The longest length, 1000 km: beyond any job, and two of them multiply without overflow.
    pub const MAX: Self = Self { nm: 1_000_000_000_000_000 };

    /// Takes whole nanometres.
    ///
    /// # Errors
    /// [`LengthRangeError`] below zero or beyond 1000 km.
    pub const fn from_nm(nm: i64) -> Result<Self, LengthRangeError> {
        match nm {
            ..0 => Err(LengthRangeError::Negative { nm }),
            _ if nm > Self::MAX.nm => Err(LengthRangeError::TooLong { nm }),
            _ => Ok(Self { nm }),
        }
    }

    /// Reads a length with its unit: `7 3/4 in`, `7-3/4"`, `8' 3 1/2"`, `8 ft 3½ in`, `97.125 in`, `2520 mm`,
    /// `13 cm`, `1.3 m`. Straight and typographic marks both count.
    ///
    /// # Errors
    /// [`LengthParseError`] names the first thing that cannot be read; nothing is rounded.
    pub fn parse(text: &str) -> Result<Self, LengthParseError> {
        Reader { text: text.trim(), rest: text.trim() }.length()
    }

    /// Returns whole nanometres.
    pub fn nm(self) -> i64 {
        self.nm
    }

    /// Returns millimetres.
    pub fn to_mm_f64(self) -> f64 {
        self.nm as f64 / NM_PER_MM as f64
    }

    /// Returns metres.
    pub fn to_m_f64(self) -> f64 {
        self.nm as f64 / 1e9
    }

    /// Returns inches.
    pub fn to_in_f64(self) -> f64 {
        self.nm as f64 / NM_PER_INCH as f64
    }

    /// Returns feet.
    pub fn to_ft_f64(self) -> f64 {
        self.nm as f64 / NM_PER_FOOT as f64
    }

    /// Adds. `None` beyond 1000 km.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        Self::from_nm(self.nm.checked_add(other.nm)?).ok()
    }

    /// Subtracts. `None` below zero.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        Self::from_nm(self.nm.checked_sub(other.nm)?).ok()
    }

    /// Prints feet, inches and a reduced fraction, such as `8' 3 1/2"`, `7 3/4"` or `8'`. `None` unless the
    /// length is a whole number of 1/64 in.
    pub fn feet_inches(self) -> Option<String> {
        if self.nm % NM_PER_SIXTY_FOURTH != 0 {
            return None;
        }
        let (feet, below_foot) = (self.nm / NM_PER_FOOT, self.nm % NM_PER_FOOT);
        let (inches, below_inch) = (below_foot / NM_PER_INCH, below_foot % NM_PER_INCH);
        let fraction = reduced(below_inch / NM_PER_SIXTY_FOURTH);
        let inches = match (inches, fraction) {
            (0, None) => None,
            (0, Some((over, under))) => Some(format!("{over}/{under}\"")),
            (_, None) => Some(format!("{inches}\"")),
            (_, Some((over, under))) => Some(format!("{inches} {over}/{under}\"")),
        };
        Some(match (feet, inches) {
            (0, None) => "0\"".to_owned(),
            (0, Some(inches)) => inches,
            (_, None) => format!("{feet}'"),
            (_, Some(inches)) => format!("{feet}' {inches}"),
        })
    }

    /// Prints inches alone with a reduced fraction, such as `13 3/4"` or `92 5/8"`, as bays and cuts are called out on
    /// site. `None` unless the length is a whole number of 1/64 in.
    pub fn inches(self) -> Option<String> {
        if self.nm % NM_PER_SIXTY_FOURTH != 0 {
            return None;
        }
        let (whole, below) = (self.nm / NM_PER_INCH, self.nm % NM_PER_INCH);
        Some(match (whole, reduced(below / NM_PER_SIXTY_FOURTH)) {
            (whole, None) => format!("{whole}\""),
            (0, Some((over, under))) => format!("{over}/{under}\""),
            (whole, Some((over, under))) => format!("{whole} {over}/{under}\""),
        })
    }

    /// Prints millimetres exactly, with as many decimals as it takes (at most six): `2520 mm`, `3.175 mm`.
    pub fn metric(self) -> String {
        let mm = Decimal::from_parts(i128::from(self.nm), 6).expect("a length has at most 16 digits");
        format!("{} mm", mm.normalized())
    }

    /// Prints a text that [`parse`](Self::parse) reads back as the same length: feet and inches where they
    /// are exact on 1/64 in, else millimetres.
    pub fn canonical(self) -> String {
        self.feet_inches().unwrap_or_else(|| self.metric())
    }
}

impl fmt::Display for Length {
    /// Prints [`Length::canonical`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.canonical())
    }
}

/// Reduces `count` sixty-fourths below one; `None` for none.
fn reduced(count: i64) -> Option<(i64, i64)> {
    (count != 0).then(|| {
        let shared = 1 << count.trailing_zeros();
        (count / shared, 64 / shared)
    })
}

fn after(text: &Quoted, number: &Quoted) -> String {
    if text == number { String::new() } else { format!(" after {number}") }
}

fn or_mm(number: &Quoted) -> String {
    // A fraction of a millimetre would be refused in its turn.
    let decimal = number.as_str().chars().all(|character| character.is_ascii_digit() || character == '.');
    if decimal { format!(" or {number} mm") } else { String::new() }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Inch,
    Foot,
    Millimetre,
    Centimetre,
    Metre,
}

impl Unit {
    fn nm(self) -> i64 {
        match self {
            Self::Inch => NM_PER_INCH,
            Self::Foot => NM_PER_FOOT,
            Self::Millimetre => NM_PER_MM,
            Self::Centimetre => 10 * NM_PER_MM,
            Self::Metre => 1000 * NM_PER_MM,
        }
    }

    fn is_metric(self) -> bool {
        !matches!(self, Self::Inch | Self::Foot)
    }

    fn from_mark(mark: char) -> Option<Self> {
        match mark {
            '"' | '″' | '“' | '”' => Some(Self::Inch),
            '\'' | '′' | '‘' | '’' => Some(Self::Foot),
            _ => None,
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        match word {
            "in" | "inch" | "inches" => Some(Self::Inch),
            "ft" | "foot" | "feet" => Some(Self::Foot),
            "mm" => Some(Self::Millimetre),
            "cm" => Some(Self::Centimetre),
            "m" => Some(Self::Metre),
            _ => None,
        }
    }
}

/// A number as written, before its unit.
struct Quantity<'a> {
    text: &'a str,
    whole: Decimal,
    sixty_fourths: Option<i64>,
}

/// Reads one length from the front; `rest` is what is not read yet.
struct Reader<'a> {
    text: &'a str,
    rest: &'a str,
}

impl<'a> Reader<'a> {
    fn length(mut self) -> Result<Length, LengthParseError> {
        if self.text.is_empty() {
            return Err(LengthParseError::Empty);
        }
        if self.text.starts_with(['-', '−']) {
            return Err(LengthParseError::Negative { text: self.quoted() });
        }
        let first = self.quantity()?;
        let Some(unit) = self.unit()? else {
            return Err(LengthParseError::NoUnit { text: self.quoted(), number: Quoted::new(first.text) });
        };
        let nm = self.nm(&first, unit)?;
        if self.rest.is_empty() {
            return self.in_range(nm);
        }
        if unit != Unit::Foot {
            return Err(self.left_over());
        }
        let inches_nm = self.inches_after_feet()?;
        if first.sixty_fourths.is_some() || nm % i128::from(NM_PER_FOOT) != 0 {
            return Err(LengthParseError::FeetNotWhole { text: self.quoted() });
        }
        self.in_range(nm + inches_nm)
    }

    fn inches_after_feet(&mut self) -> Result<i128, LengthParseError> {
        self.rest = after_feet(self.rest);
        if !self.rest.starts_with(starts_number) {
            return Err(self.left_over());
        }
        let inches = self.quantity()?;
        match self.unit()? {
            None => {
                return Err(LengthParseError::NoInchMark {
                    text: self.quoted(),
                    number: Quoted::new(inches.text),
                });
            }
            Some(Unit::Inch) => (),
            Some(_) => return Err(LengthParseError::TwoUnits { text: self.quoted() }),
        }
        if !self.rest.is_empty() {
            return Err(self.left_over());
        }
        let nm = self.nm(&inches, Unit::Inch)?;
        if nm >= i128::from(NM_PER_FOOT) {
            return Err(LengthParseError::InchesNotBelowTwelve { text: self.quoted() });
        }
        Ok(nm)
    }

    /// Reads `7`, `3.5`, `7 3/4`, `7-3/4`, `3½`, `3 ½`, `3/4` or `½`.
    fn quantity(&mut self) -> Result<Quantity<'a>, LengthParseError> {
        let start = self.rest;
        if !start.starts_with(starts_number) {
            return Err(LengthParseError::NoNumber { text: self.quoted() });
        }
        let text = |reader: &Self| start[..start.len() - reader.rest.len()].trim_end();
        if let Some(sixty_fourths) = self.fraction()? {
            return Ok(Quantity {
                text: text(self),
                whole: Decimal::ZERO,
                sixty_fourths: Some(sixty_fourths),
            });
        }
        let number = self.take_while(|character| character.is_ascii_digit() || ".,".contains(character));
        let whole = Decimal::parse(number)?;
        let without_fraction = self.rest;
        self.rest = after_whole(self.rest);
        let sixty_fourths = self.fraction()?;
        if sixty_fourths.is_none() {
            self.rest = without_fraction;
        } else if whole.scale() > 0 {
            return Err(LengthParseError::DecimalAndFraction { text: self.quoted() });
        }
        Ok(Quantity { text: text(self), whole, sixty_fourths })
    }

    /// Reads a fraction if one stands here, as a count of 1/64; else reads nothing.
    fn fraction(&mut self) -> Result<Option<i64>, LengthParseError> {
        if let Some(sixty_fourths) = self.rest.chars().next().and_then(from_vulgar) {
            self.take_one();
            return Ok(Some(sixty_fourths));
        }
        let start = self.rest;
        let over = self.take_while(|character| character.is_ascii_digit());
        let Some(behind) = self.rest.strip_prefix('/').filter(|_| !over.is_empty()) else {
            self.rest = start;
            return Ok(None);
        };
        self.rest = behind;
        let under = self.take_while(|character| character.is_ascii_digit());
        let under: i64 = match under.parse() {
            Ok(under @ (2 | 4 | 8 | 16 | 32 | 64)) => under,
            _ => return Err(LengthParseError::Denominator { text: self.quoted() }),
        };
        match over.parse::<i64>() {
            Ok(over) if over < under => Ok(Some(over * (64 / under))),
            _ => Err(LengthParseError::FractionNotBelowOne { text: self.quoted() }),
        }
    }

    /// Reads a unit, or nothing where no unit stands.
    fn unit(&mut self) -> Result<Option<Unit>, LengthParseError> {
        let rest = self.rest.trim_start();
        if let Some(unit) = rest.chars().next().and_then(Unit::from_mark) {
            self.rest = rest;
            self.take_one();
            return Ok(Some(unit));
        }
        let end = rest.find(|character: char| !character.is_alphabetic()).unwrap_or(rest.len());
        let (word, behind) = rest.split_at(end);
        if word.is_empty() {
            return Ok(None);
        }
        self.rest = behind;
        match Unit::from_word(word) {
            Some(unit) => Ok(Some(unit)),
            None => Err(LengthParseError::UnknownUnit { text: self.quoted(), unit: Quoted::new(word) }),
        }
    }

    fn nm(&self, quantity: &Quantity<'_>, unit: Unit) -> Result<i128, LengthParseError> {
        if unit.is_metric() && quantity.sixty_fourths.is_some() {
            return Err(LengthParseError::MetricFraction { text: self.quoted() });
        }
        let whole_nm =
            count_smallest(quantity.whole, i128::from(unit.nm())).map_err(|reason| match reason {
                CountError::NotWhole => LengthParseError::NotWholeNanometres { text: self.quoted() },
                CountError::TooLarge => LengthParseError::TooLong { text: self.quoted() },
            })?;
        Ok(whole_nm + i128::from(quantity.sixty_fourths.unwrap_or(0) * (unit.nm() / 64)))
    }

    fn in_range(&self, nm: i128) -> Result<Length, LengthParseError> {
        let too_long = || LengthParseError::TooLong { text: self.quoted() };
        let nm = i64::try_from(nm).map_err(|_| too_long())?;
        Length::from_nm(nm).map_err(|_| too_long())
    }

    /// Tells a second length from other leftovers.
    fn left_over(&self) -> LengthParseError {
        let rest = self.rest.trim_start();
        if rest.starts_with(|character| character != '.' && starts_number(character))
            || rest.chars().next().and_then(Unit::from_mark).is_some()
        {
            return LengthParseError::TwoUnits { text: self.quoted() };
        }
        LengthParseError::Unread { text: self.quoted(), rest: Quoted::new(rest) }
    }

    fn take_while(&mut self, belongs: impl Fn(char) -> bool) -> &'a str {
        let end = self.rest.find(|character| !belongs(character)).unwrap_or(self.rest.len());
        let (taken, rest) = self.rest.split_at(end);
        self.rest = rest;
        taken
    }

    fn take_one(&mut self) {
        let mut characters = self.rest.chars();
        characters.next();
        self.rest = characters.as_str();
    }

    fn quoted(&self) -> Quoted {
        Quoted::new(self.text)
    }
}

fn starts_number(character: char) -> bool {
    character.is_ascii_digit() || character == '.' || from_vulgar(character).is_some()
}

/// Skips what may stand between a whole number and its fraction: spaces, or one hyphen.
fn after_whole(rest: &str) -> &str {
    rest.strip_prefix('-').unwrap_or(rest.trim_start())
}

/// Skips what may stand between feet and inches: spaces, or one hyphen with spaces on both sides or neither.
///
/// A hyphen with a space on one side only could be a minus, so it is not skipped.
fn after_feet(rest: &str) -> &str {
    if let Some(behind) = rest.strip_prefix('-') {
        return behind;
    }
    let trimmed = rest.trim_start();
    match trimmed.strip_prefix('-') {
        Some(behind) if behind.starts_with(char::is_whitespace) => behind.trim_start(),
        _ => trimmed,
    }
}

/// Returns the 64ths of a one-character fraction.
fn from_vulgar(character: char) -> Option<i64> {
    match character {
        '⅛' => Some(8),
        '¼' => Some(16),
        '⅜' => Some(24),
        '½' => Some(32),
        '⅝' => Some(40),
        '¾' => Some(48),
        '⅞' => Some(56),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Source: international inch of exactly 25.4 mm (agreement of 1959), foot 304.8 mm, mile 1609.344 m,
    /// yard 0.9144 m (NIST SP 811 Appendix B, from memory); multiples of them by hand.
    #[test]
    fn reads_what_people_write() {
        let cases = [
            ("1 in", 25_400_000),
            ("1 ft", 304_800_000),
            ("3 ft", 914_400_000),
            ("5280 ft", 1_609_344_000_000),
            ("1/64\"", 396_875),
            ("7 3/4 in", 196_850_000),
            ("7-3/4\"", 196_850_000),
            ("7 3/4\"", 196_850_000),
            ("7¾ in", 196_850_000),
            ("7 ¾″", 196_850_000),
            ("3.5 in", 88_900_000),
            ("½ in", 12_700_000),
            ("1/2 inch", 12_700_000),
            ("13/64\"", 13 * 396_875),
            ("1 3/64\"", 67 * 396_875),
            ("8'", 2_438_400_000),
            ("8 feet", 2_438_400_000),
            ("8.5'", 2_590_800_000),
            ("8 1/2 ft", 2_590_800_000),
            ("8' 3 1/2\"", 2_527_300_000),
            ("8'-3 1/2\"", 2_527_300_000),
            ("8' - 3 1/2\"", 2_527_300_000),
            ("8'3-1/2\"", 2_527_300_000),
            ("8 ft 3½ in", 2_527_300_000),
            ("8 ft 3.5 in", 2_527_300_000),
            ("8′ 3½″", 2_527_300_000),
            ("8’ 3 1/2”", 2_527_300_000),
            ("8' 0\"", 2_438_400_000),
            ("8' 1/2\"", 2_451_100_000),
            ("97.125 in", 2_466_975_000),
            ("0.015625 in", 396_875),
            ("2520 mm", 2_520_000_000),
            ("12.7 mm", 12_700_000),
            ("12.7mm", 12_700_000),
            ("0.000001 mm", 1),
            ("1.3 m", 1_300_000_000),
            ("13 cm", 130_000_000),
            ("1.300000000000000 m", 1_300_000_000),
            ("0 mm", 0),
            ("  8 ft  ", 2_438_400_000),
            ("1000000 m", Length::MAX.nm),
        ];
        for (text, nm) in cases {
            assert_eq!(Length::parse(text).map(Length::nm), Ok(nm), "{text}");
        }
    }

    #[test]
    fn refuses_without_rounding_or_guessing() {
        let tape =
            "a fraction that is not on a tape: write halves, 4ths, 8ths, 16ths, 32nds or 64ths, or a decimal";
        let not_below_one =
            "a fraction that is not below one: write the whole part first, such as 1 3/4 in for 7/4";
        let carry = "12 inches or more after the feet: carry them, such as 9' 1\" for 8' 13\"";
        let two = "two units: write one, or feet followed by inches such as 8' 3 1/2\"";
        let cases = [
            ("8", "no unit: write 8 in, 8 ft or 8 mm"),
            ("8.5", "no unit: write 8.5 in, 8.5 ft or 8.5 mm"),
            ("7 3/4", "no unit: write 7 3/4 in, 7 3/4 ft"),
            ("13/64", "no unit: write 13/64 in, 13/64 ft"),
            ("8-3 1/2", "no unit after 8: write 8 in, 8 ft or 8 mm"),
            ("8-3 1/2\"", "no unit after 8: write 8 in, 8 ft or 8 mm"),
            ("7 -3/4\"", "no unit after 7: write 7 in, 7 ft or 7 mm"),
            ("8' 3", "no unit after 3: write 3 in or 3\" behind the feet"),
            ("8 ft2", "no unit after 2: write 2 in or 2\" behind the feet"),
            ("8' 13\"", carry),
            ("8' 12\"", carry),
            ("1/3\"", tape),
            ("1/0\"", tape),
            ("1/128\"", tape),
            ("3 1/\"", tape),
            ("1/99999999999999999999\"", tape),
            ("3 5/4\"", not_below_one),
            ("4/4\"", not_below_one),
            ("113/64\"", not_below_one),
            ("99999999999999999999/2\"", not_below_one),
            ("3.5 1/2\"", "mixes a decimal and a fraction: write 3.5 in or 3 1/2 in"),
            ("3 1/2 mm", "a fraction of a metric unit: write a decimal, such as 12.5 mm"),
            (
                "8.5' 3\"",
                "inches after feet that are not whole: write whole feet before inches, such as 8' 6\"",
            ),
            (
                "8½' 3\"",
                "inches after feet that are not whole: write whole feet before inches, such as 8' 6\"",
            ),
            ("8 in 3 ft", two),
            ("8 in 3", two),
            ("8 ft 3 mm", two),
            ("8 ft 3 ft", two),
            ("8''", two),
            ("8 m2", two),
            ("8' 3\" 2\"", two),
            ("1 m 30 cm", two),
            ("8 yd", "an unknown unit \"yd\": write in, ft, mm, cm or m"),
            ("8e3 mm", "an unknown unit \"e\": write in, ft, mm, cm or m"),
            ("8 MM", "an unknown unit \"MM\": write in, ft, mm, cm or m"),
            ("8 in.", "\".\" left over"),
            ("8 in wide", "\"wide\" left over"),
            ("8' -3\"", "\"-3\"\" left over"),
            ("8' tall", "\"tall\" left over"),
            ("-3\"", "is negative: write a length of zero or more"),
            ("tall", "does not start with a number: write a number and a unit, such as 7 3/4 in or 2520 mm"),
            ("in", "does not start with a number"),
            ("", "the length is missing: write a number and a unit, such as 7 3/4 in or 2520 mm"),
            (" ", "the length is missing"),
            ("8,5 in", "a comma: write a point before decimals"),
            ("1.2.3 in", "two points"),
            (".5 in", "a point without digits on both sides: write 0.5 or 5.0"),
            ("0.0000001 mm", "is finer than a whole nanometre: write fewer decimals"),
            ("0.0078125 in", "is finer than a whole nanometre: write fewer decimals"),
            ("0.3333333 ft", "is finer than a whole nanometre: write fewer decimals"),
            ("1000000.000000001 m", "is beyond 1000 km: check the number and the unit"),
            ("9999999999999999999999999999 ft", "is beyond 1000 km"),
        ];
        for (text, reason) in cases {
            let refusal = Length::parse(text).expect_err(text).to_string();
            assert!(refusal.contains(reason), "{text}: {refusal}");
        }
    }

    #[test]
    fn a_refusal_tells_its_kind() {
        let text = Quoted::new;
        assert_eq!(Length::parse("8"), Err(LengthParseError::NoUnit { text: text("8"), number: text("8") }));
        assert_eq!(
            Length::parse("8' 13\""),
            Err(LengthParseError::InchesNotBelowTwelve { text: text("8' 13\"") })
        );
        assert_eq!(
            Length::parse("8").unwrap_err().to_string(),
            "\"8\" has no unit: write 8 in, 8 ft or 8 mm"
        );
    }

    #[test]
    fn prints_exactly() {
        let cases = [
            (0, Some("0\""), "0 mm"),
            (196_850_000, Some("7 3/4\""), "196.85 mm"),
            (2_527_300_000, Some("8' 3 1/2\""), "2527.3 mm"),
            (2_438_400_000, Some("8'"), "2438.4 mm"),
            (2_451_100_000, Some("8' 1/2\""), "2451.1 mm"),
            (396_875, Some("1/64\""), "0.396875 mm"),
            (63 * 396_875, Some("63/64\""), "25.003125 mm"),
            (2_520_000_000, None, "2520 mm"),
            (1, None, "0.000001 mm"),
            (1_000_000_000_000_000, None, "1000000000 mm"),
        ];
        for (nm, feet_inches, metric) in cases {
            let length = Length::from_nm(nm).unwrap();
            assert_eq!(length.feet_inches().as_deref(), feet_inches, "{nm}");
            assert_eq!(length.metric(), metric, "{nm}");
            assert_eq!(length.to_string(), feet_inches.unwrap_or(metric), "{nm}");
        }
    }

    /// Source: NIST SP 811 Appendix B factors (from memory): in 25.4 mm, ft 0.3048 m, mi 1609.344 m.
    #[test]
    fn converts() {
        let mile = Length::parse("5280 ft").unwrap();
        assert_eq!(mile.to_m_f64(), 1609.344);
        assert_eq!(mile.to_mm_f64(), 1_609_344.0);
        assert_eq!(mile.to_ft_f64(), 5280.0);
        assert_eq!(mile.to_in_f64(), 63_360.0);
    }

    #[test]
    fn the_range_is_checked() {
        assert_eq!(Length::from_nm(-1), Err(LengthRangeError::Negative { nm: -1 }));
        let beyond = Length::MAX.nm + 1;
        assert_eq!(Length::from_nm(beyond), Err(LengthRangeError::TooLong { nm: beyond }));
        assert_eq!(Length::MAX.checked_add(Length::from_nm(1).unwrap()), None);
        assert_eq!(Length::ZERO.checked_sub(Length::from_nm(1).unwrap()), None);
        let (foot, inch) = (Length::parse("1 ft").unwrap(), Length::parse("1 in").unwrap());
        assert_eq!(foot.checked_sub(inch).unwrap().to_string(), "11\"");
        assert_eq!(foot.checked_add(inch).unwrap().to_string(), "1' 1\"");
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".*", near in "[0-9 ./'\"½¾′″“”ftinmc-]{0,16}") {
            for text in [text, near] {
                if let Ok(length) = Length::parse(&text) {
                    prop_assert_eq!(Length::parse(&length.to_string()), Ok(length), "{}", text);
                }
            }
        }

        #[test]
        fn printing_reads_back(nm in 0..=Length::MAX.nm, count in 0..=Length::MAX.nm / NM_PER_SIXTY_FOURTH) {
            for nm in [nm, count * NM_PER_SIXTY_FOURTH] {
                let length = Length::from_nm(nm).unwrap();
                prop_assert_eq!(Length::parse(&length.canonical()), Ok(length));
                prop_assert_eq!(Length::parse(&length.metric()), Ok(length));
            }
        }

        /// Expected: sixty-fourths counted by hand, as a tape does.
        #[test]
        fn feet_inches_and_fraction_add_up(feet in 0i64..1000, inches in 0i64..12, power in 1u32..=6, over in 1i64..64) {
            let under = 2i64.pow(power);
            let over = over % under;
            let sixty_fourths = (feet * 12 + inches) * 64 + over * (64 / under);
            let expected = Length::from_nm(sixty_fourths * 396_875).unwrap();
            for text in [
                format!("{feet}' {inches} {over}/{under}\""),
                format!("{feet} ft {inches}-{over}/{under} in"),
                format!("{feet}′-{inches} {over}/{under}″"),
            ] {
                prop_assert_eq!(Length::parse(&text), Ok(expected), "{}", text);
            }
        }

        /// Reading is the inverse of printing also from the text's side: a canonical text prints as itself.
        #[test]
        fn canonical_text_is_stable(feet in 1i64..1000, inches in 1i64..12, odd in 0i64..32) {
            let text = format!("{feet}' {inches} {}/64\"", 2 * odd + 1);
            prop_assert_eq!(Length::parse(&text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn inches_alone_are_what_a_tape_shows() {
        for (text, inches) in [
            ("13.75 in", Some("13 3/4\"")),
            ("97 1/8 in", Some("97 1/8\"")),
            ("12 ft", Some("144\"")),
            ("1/64 in", Some("1/64\"")),
            ("0 in", Some("0\"")),
            ("400 mm", None),
        ] {
            assert_eq!(Length::parse(text).unwrap().inches().as_deref(), inches, "{text}");
        }
    }
}
