//! Exact decimal numbers as people write them: `48.20` keeps its two places and still equals `48.2`.
//!
//! Left out on purpose: exponents, thousands separators, NaN and infinities, and any rounding that was not
//! asked for by name, except past the 28th digit.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

use rust_decimal::RoundingStrategy::MidpointAwayFromZero;

use crate::quoted::Quoted;

/// The most digits a number holds, before and after the point together, leading zeros aside.
pub const MAX_DIGITS: u32 = 28;

/// The first mantissa that needs more than [`MAX_DIGITS`].
const MANTISSA_LIMIT: u128 = 10u128.pow(MAX_DIGITS);

/// An exact decimal number of at most 28 digits, at most 28 of them after the point.
///
/// Equality, order and hash are numeric (`69.1 == 69.10`), printing keeps the places as written. There is
/// no negative zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Decimal(rust_decimal::Decimal);

/// Why a text is no decimal number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DecimalParseError {
    /// Nothing was written.
    #[error("the number is missing: write digits, such as 48.20")]
    Empty,
    /// A minus or a point without digits.
    #[error("\"{text}\" has no digits: write a number such as 48.20")]
    NoDigits {
        /// What was written.
        text: Quoted,
    },
    /// The point has no digit on one side.
    #[error("\"{text}\" has a point without digits on both sides: write 0.5 or 5.0")]
    BarePoint {
        /// What was written.
        text: Quoted,
    },
    /// A second point.
    #[error("\"{text}\" has two points: write one number with at most one point, such as 48.20")]
    TwoPoints {
        /// What was written.
        text: Quoted,
    },
    /// A comma, which means thousands to some readers and a point to others.
    #[error(
        "\"{text}\" has a comma: write a point before decimals and nothing between thousands, such as 1250.50"
    )]
    Comma {
        /// What was written.
        text: Quoted,
    },
    /// Two runs of digits with a space between them.
    #[error("\"{text}\" has a space inside the number: write the digits together, such as 48.20")]
    SpaceInside {
        /// What was written.
        text: Quoted,
    },
    /// A plus, or a minus that is not the first character.
    #[error("\"{text}\" has a sign that cannot be read: write nothing for plus and one - in front for minus")]
    Sign {
        /// What was written.
        text: Quoted,
    },
    /// Scientific notation.
    #[error("\"{text}\" has an exponent: write all digits, such as 1500 for 1.5e3")]
    Exponent {
        /// What was written.
        text: Quoted,
    },
    /// Anything else that is not a digit.
    #[error("\"{text}\" has '{character}' in the number: write digits and at most one point, such as 48.20")]
    NotADigit {
        /// What was written.
        text: Quoted,
        /// The first character that cannot stand in a number.
        character: char,
    },
    /// More digits than a number holds.
    #[error("\"{text}\" has {digits} digits: write at most {MAX_DIGITS}")]
    TooManyDigits {
        /// What was written.
        text: Quoted,
        /// How many digits it has, leading zeros before the point aside.
        digits: usize,
    },
}

/// Why a mantissa and a scale are no decimal number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DecimalRangeError {
    /// The mantissa has more than [`MAX_DIGITS`] digits.
    #[error("the mantissa {mantissa} has more than {MAX_DIGITS} digits: give at most {MAX_DIGITS}")]
    Mantissa {
        /// What was given.
        mantissa: i128,
    },
    /// More than [`MAX_DIGITS`] places after the point.
    #[error("a scale of {scale} is too fine: give at most {MAX_DIGITS} places after the point")]
    Scale {
        /// What was given.
        scale: u32,
    },
}

impl Decimal {
    /// Nothing, without places.
    pub const ZERO: Self = Self(rust_decimal::Decimal::ZERO);

    /// Reads an optional minus, digits, and optionally a point and more digits; spaces around them are dropped.
    ///
    /// # Errors
    /// [`DecimalParseError`] names the first thing that cannot be read; nothing is rounded or guessed.
    pub fn parse(text: &str) -> Result<Self, DecimalParseError> {
        let number = text.trim();
        let quoted = || Quoted::new(number);
        check_characters(number)?;
        let unsigned = number.strip_prefix('-').unwrap_or(number);
        let (whole, places) = match unsigned.split_once('.') {
            Some((whole, places)) if whole.is_empty() != places.is_empty() => {
                return Err(DecimalParseError::BarePoint { text: quoted() });
            }
            Some(parts) => parts,
            None => (unsigned, ""),
        };
        if whole.is_empty() {
            return Err(DecimalParseError::NoDigits { text: quoted() });
        }
        let whole = whole.trim_start_matches('0');
        let digits = whole.len() + places.len();
        if digits > MAX_DIGITS as usize {
            return Err(DecimalParseError::TooManyDigits { text: quoted(), digits });
        }
        let size =
            whole.bytes().chain(places.bytes()).fold(0, |sum, digit| sum * 10 + i128::from(digit - b'0'));
        let mantissa = if number.starts_with('-') { -size } else { size };
        Ok(Self::from_parts(mantissa, places.len() as u32).expect("digits were counted above"))
    }

    /// Builds `mantissa / 10^scale`.
    ///
    /// # Errors
    /// [`DecimalRangeError`] if the mantissa has more than 28 digits or the scale passes 28.
    pub fn from_parts(mantissa: i128, scale: u32) -> Result<Self, DecimalRangeError> {
        if scale > MAX_DIGITS {
            return Err(DecimalRangeError::Scale { scale });
        }
        if mantissa.unsigned_abs() >= MANTISSA_LIMIT {
            return Err(DecimalRangeError::Mantissa { mantissa });
        }
        Ok(Self(rust_decimal::Decimal::from_i128_with_scale(mantissa, scale)))
    }

    /// Takes a whole number.
    pub fn from_int(value: i64) -> Self {
        Self(rust_decimal::Decimal::from(value))
    }

    /// Rounds a computed number to `places` after the point, half away from zero; the result has exactly
    /// that many places (`3.0` for 3 and one place).
    ///
    /// What is rounded is the shortest decimal expansion that reads back as the same float, so 2.675 gives
    /// 2.68 although the float nearest to it lies a hair below. `None` when the value is not finite, does not
    /// fit 28 digits with that many places, or `places` passes 28.
    pub fn from_f64_rounded(value: f64, places: u32) -> Option<Self> {
        if !value.is_finite() || places > MAX_DIGITS {
            return None;
        }
        // `d.ddde-n` has at most 17 digits, so the mantissa cannot overflow.
        let scientific = format!("{:e}", value.abs());
        let (digits, exponent) = scientific.split_once('e').expect("a finite float prints with an exponent");
        let (first, rest) = digits.split_once('.').unwrap_or((digits, ""));
        let size: u128 = format!("{first}{rest}").parse().expect("a float prints as digits");
        let exponent: i64 = exponent.parse().expect("a float's exponent is a small integer");
        let excess_places = rest.len() as i64 - exponent - i64::from(places);
        let rounded = if excess_places > 0 {
            drop_digits_half_away(size, excess_places.unsigned_abs())
        } else {
            size.checked_mul(10u128.checked_pow(u32::try_from(-excess_places).ok()?)?)?
        };
        let size = i128::try_from(rounded).ok()?;
        Self::from_parts(if value < 0.0 { -size } else { size }, places).ok()
    }

    /// Returns all digits as one signed whole number: 4820 for `48.20`.
    pub fn mantissa(self) -> i128 {
        self.0.mantissa()
    }

    /// Returns the count of places after the point: 2 for `48.20`.
    pub fn scale(self) -> u32 {
        self.0.scale()
    }

    /// Returns the nearest float.
    pub fn to_f64(self) -> f64 {
        // Through text, because the standard library promises correct rounding there.
        self.to_string().parse().expect("a decimal prints as a number")
    }

    /// Adds; the result has the places of the finer operand. `None` past 28 whole digits.
    ///
    /// A sum that needs more than 28 digits in all is rounded to 28.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let mut sum = fitted(self.0.checked_add(other.0)?)?;
        // The same places whatever the order of the operands, also when one of them is zero.
        if let Some(padded) = sum.padded(self.scale().max(other.scale())) {
            sum = padded;
        }
        Some(sum)
    }

    /// Subtracts; places and limits as in [`checked_add`](Self::checked_add).
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.checked_add(-other)
    }

    /// Multiplies. `None` past 28 whole digits.
    ///
    /// A product that needs more than 28 digits, or more than 28 places, is rounded to what fits.
    pub fn checked_mul(self, other: Self) -> Option<Self> {
        fitted(self.0.checked_mul(other.0)?)
    }

    /// Divides, to at most 28 digits. `None` by zero or past 28 whole digits.
    pub fn checked_div(self, other: Self) -> Option<Self> {
        fitted(self.0.checked_div(other.0)?)
    }

    /// Rounds to at most `places` after the point, half away from zero; fewer places stay as they are.
    ///
    /// # Source
    /// Commercial rounding; common practice, no source.
    pub fn round_half_away(self, places: u32) -> Self {
        if places >= self.scale() {
            return self;
        }
        let size = drop_digits_half_away(self.mantissa().unsigned_abs(), u64::from(self.scale() - places));
        let size = i128::try_from(size).expect("a rounded mantissa is no longer than before");
        let mantissa = if self.is_negative() { -size } else { size };
        Self::from_parts(mantissa, places).expect("a number with fewer places has no more digits")
    }

    /// Appends zeros until there are `places` after the point; more places stay. `None` past 28 digits.
    pub fn padded(self, places: u32) -> Option<Self> {
        let missing = places.saturating_sub(self.scale());
        let mantissa = self.mantissa().checked_mul(10i128.checked_pow(missing)?)?;
        Self::from_parts(mantissa, self.scale() + missing).ok()
    }

    /// Tells whether the number is below zero.
    pub fn is_negative(self) -> bool {
        self.mantissa() < 0
    }

    /// Tells whether the number is zero, with whatever places.
    pub fn is_zero(self) -> bool {
        self.mantissa() == 0
    }

    /// Returns the size without the sign.
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Drops zeros at the end after the point: `48.2` for `48.20`, `10` for `10.00`.
    pub fn normalized(self) -> Self {
        Self(self.0.normalize())
    }
}

/// Refuses whatever is not a minus in front, digits or one point, by the most telling reason.
fn check_characters(number: &str) -> Result<(), DecimalParseError> {
    let text = || Quoted::new(number);
    if number.is_empty() {
        return Err(DecimalParseError::Empty);
    }
    let mut points = 0;
    let mut after_digit = false;
    for (index, character) in number.char_indices() {
        match character {
            '0'..='9' => (),
            '.' if points == 0 => points += 1,
            '.' => return Err(DecimalParseError::TwoPoints { text: text() }),
            '-' if index == 0 => (),
            '-' | '+' | '−' => return Err(DecimalParseError::Sign { text: text() }),
            ',' => return Err(DecimalParseError::Comma { text: text() }),
            'e' | 'E' if after_digit => return Err(DecimalParseError::Exponent { text: text() }),
            _ if character.is_whitespace() => return Err(DecimalParseError::SpaceInside { text: text() }),
            _ => return Err(DecimalParseError::NotADigit { text: text(), character }),
        }
        after_digit = character.is_ascii_digit();
    }
    Ok(())
}

/// Brings a result of the arithmetic underneath, which may have 29 digits or a negative zero, into our range.
fn fitted(mut value: rust_decimal::Decimal) -> Option<Decimal> {
    while value.mantissa().unsigned_abs() >= MANTISSA_LIMIT {
        value = value.round_dp_with_strategy(value.scale().checked_sub(1)?, MidpointAwayFromZero);
    }
    Decimal::from_parts(value.mantissa(), value.scale()).ok()
}

/// Drops the last `count` digits of `size`, rounding half up; the caller carries the sign.
fn drop_digits_half_away(size: u128, count: u64) -> u128 {
    let Some(unit) = u32::try_from(count).ok().and_then(|count| 10u128.checked_pow(count)) else {
        // The unit passes 10^38 and every size here stays below 10^29: less than half a unit.
        return 0;
    };
    let (kept, dropped) = (size / unit, size % unit);
    if dropped >= unit - dropped { kept + 1 } else { kept }
}

/// Why a decimal number of units is not a whole number of the smallest unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CountError {
    /// It falls between two of the smallest units.
    NotWhole,
    /// It is too large to count.
    TooLarge,
}

/// Counts the smallest units in `number` units of `smallest_per_unit` each, exactly.
pub(crate) fn count_smallest(number: Decimal, smallest_per_unit: i128) -> Result<i128, CountError> {
    let power = 10i128.pow(number.scale());
    let shared = greatest_common_divisor(smallest_per_unit, power);
    let divisor = power / shared;
    if number.mantissa() % divisor != 0 {
        return Err(CountError::NotWhole);
    }
    (number.mantissa() / divisor).checked_mul(smallest_per_unit / shared).ok_or(CountError::TooLarge)
}

fn greatest_common_divisor(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Splits `68 °F` into `68` and `°F`: the number ends at the first character that cannot stand in one.
pub(crate) fn split_number(text: &str) -> (&str, &str) {
    let stands_in_number = |character: char| {
        character.is_ascii_digit() || character.is_whitespace() || ".,-+−".contains(character)
    };
    let end = text.find(|character| !stands_in_number(character)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    (number.trim(), unit.trim())
}

impl fmt::Display for Decimal {
    /// Prints all places as written: `69.10`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

impl Add for Decimal {
    type Output = Self;

    /// Adds. Panics only past 28 whole digits, out of reach for sums of amounts that people write.
    fn add(self, other: Self) -> Self {
        self.checked_add(other).expect("sums stay below 28 whole digits")
    }
}

impl Sub for Decimal {
    type Output = Self;

    /// Subtracts. Panics only past 28 whole digits, as in [`Add`].
    fn sub(self, other: Self) -> Self {
        self.checked_sub(other).expect("differences stay below 28 whole digits")
    }
}

impl Neg for Decimal {
    type Output = Self;

    fn neg(self) -> Self {
        // Through the parts, so that zero stays without a sign.
        Self::from_parts(-self.mantissa(), self.scale()).expect("the sign changes no digit")
    }
}

impl Sum for Decimal {
    fn sum<I: Iterator<Item = Self>>(numbers: I) -> Self {
        numbers.fold(Self::ZERO, Add::add)
    }
}

impl<'a> Sum<&'a Decimal> for Decimal {
    fn sum<I: Iterator<Item = &'a Decimal>>(numbers: I) -> Self {
        numbers.copied().sum()
    }
}

#[cfg(test)]
mod tests {
    use std::hash::{DefaultHasher, Hash, Hasher};

    use proptest::prelude::*;

    use super::*;

    fn decimal(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    #[test]
    fn reads_and_prints_as_written() {
        let cases = [
            ("48.20", "48.20", 4820, 2),
            ("69.10", "69.10", 6910, 2),
            ("-12.07", "-12.07", -1207, 2),
            (" 7 ", "7", 7, 0),
            ("007.50", "7.50", 750, 2),
            ("-0.00", "0.00", 0, 2),
            ("0.0000000000000000000000000001", "0.0000000000000000000000000001", 1, 28),
            ("9999999999999999999999999999", "9999999999999999999999999999", 10i128.pow(28) - 1, 0),
        ];
        for (text, printed, mantissa, scale) in cases {
            let number = decimal(text);
            assert_eq!(number.to_string(), printed, "{text}");
            assert_eq!((number.mantissa(), number.scale()), (mantissa, scale), "{text}");
        }
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            ("", "the number is missing: write digits, such as 48.20"),
            ("   ", "the number is missing: write digits, such as 48.20"),
            ("-", "\"-\" has no digits: write a number such as 48.20"),
            (".", "\".\" has no digits: write a number such as 48.20"),
            (".5", "\".5\" has a point without digits on both sides: write 0.5 or 5.0"),
            ("5.", "\"5.\" has a point without digits on both sides: write 0.5 or 5.0"),
            ("1.2.3", "\"1.2.3\" has two points: write one number with at most one point, such as 48.20"),
            (
                "1,250.00",
                "\"1,250.00\" has a comma: write a point before decimals and nothing between thousands, such as 1250.50",
            ),
            ("4 8", "\"4 8\" has a space inside the number: write the digits together, such as 48.20"),
            (
                "+5",
                "\"+5\" has a sign that cannot be read: write nothing for plus and one - in front for minus",
            ),
            (
                "5-",
                "\"5-\" has a sign that cannot be read: write nothing for plus and one - in front for minus",
            ),
            (
                "--5",
                "\"--5\" has a sign that cannot be read: write nothing for plus and one - in front for minus",
            ),
            ("1e5", "\"1e5\" has an exponent: write all digits, such as 1500 for 1.5e3"),
            ("NaN", "\"NaN\" has 'N' in the number: write digits and at most one point, such as 48.20"),
            ("inf", "\"inf\" has 'i' in the number: write digits and at most one point, such as 48.20"),
            ("4x", "\"4x\" has 'x' in the number: write digits and at most one point, such as 48.20"),
            ("٤", "\"٤\" has '٤' in the number: write digits and at most one point, such as 48.20"),
            (
                "10000000000000000000000000000",
                "\"10000000000000000000000000000\" has 29 digits: write at most 28",
            ),
            (
                "0.00000000000000000000000000001",
                "\"0.00000000000000000000000000001\" has 29 digits: write at most 28",
            ),
        ];
        for (text, reason) in cases {
            assert_eq!(Decimal::parse(text).unwrap_err().to_string(), reason, "{text}");
        }
    }

    #[test]
    fn equality_order_and_hash_are_numeric() {
        let hash = |number: Decimal| {
            let mut hasher = DefaultHasher::new();
            number.hash(&mut hasher);
            hasher.finish()
        };
        for (a, b) in [("69.1", "69.10"), ("0", "-0.000"), ("10", "10.00"), ("-5.50", "-5.5")] {
            assert_eq!(decimal(a), decimal(b));
            assert_eq!(hash(decimal(a)), hash(decimal(b)), "{a} {b}");
        }
        assert!(decimal("9.9") < decimal("10") && decimal("-1") < decimal("0"));
    }

    #[test]
    fn parts_have_limits() {
        let limit = 10i128.pow(28);
        assert_eq!(Decimal::from_parts(limit, 0), Err(DecimalRangeError::Mantissa { mantissa: limit }));
        assert_eq!(
            Decimal::from_parts(i128::MIN, 0),
            Err(DecimalRangeError::Mantissa { mantissa: i128::MIN })
        );
        assert_eq!(Decimal::from_parts(1, 29), Err(DecimalRangeError::Scale { scale: 29 }));
        assert_eq!(Decimal::from_parts(-4820, 2).unwrap(), decimal("-48.20"));
        assert_eq!(Decimal::from_int(i64::MIN).to_string(), "-9223372036854775808");
    }

    /// Goal: sums, products and quotients are exact. Expected: long arithmetic by hand.
    #[test]
    fn calculates_exactly() {
        assert_eq!((decimal("0.1") + decimal("0.2")).to_string(), "0.3");
        assert_eq!((decimal("0.00") + decimal("5")).to_string(), "5.00");
        assert_eq!((decimal("5") + decimal("0.00")).to_string(), "5.00");
        assert_eq!((decimal("10.00") - decimal("10")).to_string(), "0.00");
        assert_eq!((-decimal("0.00")).to_string(), "0.00");
        assert_eq!(decimal("19.99").checked_mul(decimal("0.0825")), Some(decimal("1.649175")));
        assert_eq!(decimal("10").checked_div(decimal("4")), Some(decimal("2.5")));
        assert_eq!(
            decimal("1").checked_div(decimal("3")).unwrap().to_string(),
            "0.3333333333333333333333333333"
        );
        assert_eq!(
            decimal("200").checked_div(decimal("3")).unwrap().to_string(),
            "66.66666666666666666666666667"
        );
        assert_eq!(decimal("1").checked_div(decimal("0.00")), None);
        let greatest = decimal("9999999999999999999999999999");
        assert_eq!(greatest.checked_add(decimal("1")), None);
        assert_eq!(greatest.checked_mul(decimal("10")), None);
        assert_eq!(greatest.checked_add(decimal("0.4")), Some(greatest));
        assert_eq!([decimal("1.50"), decimal("2.5")].iter().sum::<Decimal>().to_string(), "4.00");
    }

    /// Source: half away from zero, common practice, no source; cases by hand.
    #[test]
    fn rounds_half_away_from_zero() {
        let cases = [
            ("2.345", 2, "2.35"),
            ("-2.345", 2, "-2.35"),
            ("2.344999", 2, "2.34"),
            ("0.5", 0, "1"),
            ("-0.5", 0, "-1"),
            ("1.5", 0, "2"),
            ("2.5", 0, "3"),
            ("-0.4", 0, "0"),
            ("48.2", 2, "48.2"),
            ("9.995", 2, "10.00"),
            ("0.9999999999999999999999999999", 27, "1.000000000000000000000000000"),
        ];
        for (text, places, rounded) in cases {
            assert_eq!(decimal(text).round_half_away(places).to_string(), rounded, "{text} to {places}");
        }
        assert_eq!(decimal("48.20").normalized().to_string(), "48.2");
        assert_eq!(decimal("100").normalized().to_string(), "100");
        assert_eq!(decimal("48.2").padded(2).unwrap().to_string(), "48.20");
        assert_eq!(decimal("9999999999999999999999999999").padded(1), None);
        assert_eq!(decimal("-3.20").abs().to_string(), "3.20");
    }

    /// Expected: rounding the printed number by hand; 9.3990 is 101.17 ft2 in m2.
    #[test]
    fn rounds_floats_on_their_decimal_expansion() {
        let cases = [
            (2.675, 2, Some("2.68")),
            (0.15, 1, Some("0.2")),
            (-0.25, 1, Some("-0.3")),
            (2.5, 0, Some("3")),
            (3.0, 1, Some("3.0")),
            (-0.04, 1, Some("0.0")),
            (9.3990005568, 3, Some("9.399")),
            (1e-300, 2, Some("0.00")),
            (5e-3, 2, Some("0.01")),
            (4.9e-3, 2, Some("0.00")),
            (1e27, 0, Some("1000000000000000000000000000")),
            (1e27, 1, None),
            (1e28, 0, None),
            (f64::MAX, 0, None),
            (f64::NAN, 2, None),
            (f64::NEG_INFINITY, 2, None),
            (1.0, 29, None),
        ];
        for (value, places, expected) in cases {
            let printed = Decimal::from_f64_rounded(value, places).map(|number| number.to_string());
            assert_eq!(printed.as_deref(), expected, "{value} to {places}");
        }
    }

    #[test]
    fn floats_are_the_nearest() {
        for (text, value) in [("0.1", 0.1), ("48.20", 48.2), ("-273.15", -273.15), ("0.09290304", 0.09290304)]
        {
            assert_eq!(decimal(text).to_f64(), value);
        }
    }

    fn any_decimal() -> impl Strategy<Value = Decimal> {
        let limit = 10i128.pow(28) - 1;
        (-limit..=limit, 0u32..=28)
            .prop_map(|(mantissa, scale)| Decimal::from_parts(mantissa, scale).unwrap())
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".*", near in "[-+0-9., eE]{0,40}") {
            for text in [text, near] {
                if let Ok(number) = Decimal::parse(&text) {
                    prop_assert_eq!(Decimal::parse(&number.to_string()), Ok(number));
                }
            }
        }

        #[test]
        fn printing_reads_back_with_the_same_places(number in any_decimal()) {
            let again = Decimal::parse(&number.to_string()).unwrap();
            prop_assert_eq!((again.mantissa(), again.scale()), (number.mantissa(), number.scale()));
        }

        #[test]
        fn arithmetic_never_panics_and_stays_in_range(a in any_decimal(), b in any_decimal(), places in 0u32..=40) {
            let results = [a.checked_add(b), a.checked_sub(b), a.checked_mul(b), a.checked_div(b), a.padded(places)];
            for result in results.into_iter().flatten().chain([a.round_half_away(places), a.normalized(), -a]) {
                prop_assert!(result.mantissa().unsigned_abs() < MANTISSA_LIMIT && result.scale() <= MAX_DIGITS);
            }
        }

        /// Expected: whole-number arithmetic on the mantissas.
        #[test]
        fn small_numbers_calculate_exactly(a in -1_000_000_000i128..1_000_000_000, b in -1_000_000_000i128..1_000_000_000) {
            let (x, y) = (Decimal::from_parts(a, 2).unwrap(), Decimal::from_parts(b, 4).unwrap());
            prop_assert_eq!(x.checked_add(y), Some(Decimal::from_parts(a * 100 + b, 4).unwrap()));
            prop_assert_eq!(x.checked_mul(y), Some(Decimal::from_parts(a * b, 6).unwrap()));
            prop_assert_eq!(x.checked_add(y).unwrap().scale(), y.checked_add(x).unwrap().scale());
        }

        #[test]
        fn any_float_rounds_or_is_refused(value in any::<f64>(), places in 0u32..=30) {
            if let Some(number) = Decimal::from_f64_rounded(value, places) {
                prop_assert_eq!(number.scale(), places);
                let half_unit = 0.5 * 10f64.powi(-(places as i32));
                prop_assert!((number.to_f64() - value).abs() <= half_unit + value.abs() * 1e-15);
            }
        }
    }
}
