//! Numbers as printed: half away from zero, the minus sign only where something is left of the number.
//!
//! Leaves out units and words. Findings keep numbers unrounded; this is the only place that rounds them.

use crate::budget::Interval;
use crate::rules;

/// A number with so many decimals.
///
/// A float is a hair off its decimal (24.95 may be 24.949…), so a billionth is added before rounding half up.
pub fn decimals(value: f64, places: usize) -> String {
    let scale = 10f64.powi(i32::try_from(places).unwrap_or(0));
    let rounded = (value.abs() * scale + 0.5 + 1e-9).floor() / scale;
    let sign = if value < 0.0 && rounded > 0.0 { "-" } else { "" };
    format!("{sign}{rounded:.places$}")
}

/// The whole number at or below a lower bound; a hair of binary rounding does not cost a whole one.
pub fn rounded_down(value: f64) -> String {
    decimals((value + 1e-9).floor(), 0)
}

/// The whole number at or above an upper bound.
pub fn rounded_up(value: f64) -> String {
    decimals((value - 1e-9).ceil(), 0)
}

/// A change with its sign: `+11.2`, `-0.4`, `0.0`.
pub fn signed(value: f64, places: usize) -> String {
    let text = decimals(value, places);
    let is_zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if value < 0.0 || is_zero { text } else { format!("+{text}") }
}

/// Decimals a headline may show: none when the interval is wider than ±1 dB or absent.
pub fn headline_places(interval: Option<&Interval>) -> usize {
    match interval {
        Some(interval) if interval.half_width() <= rules::HEADLINE_HALF_WIDTH_DB => 1,
        _ => 0,
    }
}

/// An interval: `4.7 to 6.3`.
pub fn range(interval: &Interval, places: usize) -> String {
    format!("{} to {}", decimals(interval.low, places), decimals(interval.high, places))
}

/// A share of one as percent, without decimals; nearly all is not printed as all.
pub fn percent(share: f64) -> String {
    if share > 0.99 && share < 1.0 {
        "over 99 %".to_owned()
    } else {
        format!("{} %", decimals(share * 100.0, 0))
    }
}

/// Words joined as in a sentence: `a`, `a and b`, `a, b and c`.
pub fn list<S: AsRef<str>>(words: &[S]) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

/// The text with a capital letter at its start.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_print_half_away_from_zero() {
        for (value, places, expected) in [
            (24.95, 1, "25.0"),
            (24.949, 1, "24.9"),
            (-0.04, 1, "0.0"),
            (-0.05, 1, "-0.1"),
            (0.5, 0, "1"),
            (-2.5, 0, "-3"),
            (0.543_33, 3, "0.543"),
            (1e6, 1, "1000000.0"),
        ] {
            assert_eq!(decimals(value, places), expected, "{value}");
        }
        assert_eq!(
            [11.195, -0.4, 0.01, -0.01].map(|value| signed(value, 1)),
            ["+11.2", "-0.4", "0.0", "0.0"]
        );
    }

    #[test]
    fn headlines_drop_decimals_when_the_interval_is_wide() {
        let around = |half| Interval { low: 5.0 - half, high: 5.0 + half };
        assert_eq!(headline_places(Some(&around(1.0))), 1);
        assert_eq!(headline_places(Some(&around(1.01))), 0);
        assert_eq!(headline_places(None), 0);
    }

    #[test]
    fn bounds_round_to_their_own_side() {
        let down = [11.745, 12.0, 11.999_999_999_99, -3.2].map(rounded_down);
        assert_eq!(down, ["11", "12", "12", "-4"]);
        assert_eq!([3.2, 3.0, 3.000_000_000_01, -3.2].map(rounded_up), ["4", "3", "3", "-3"]);
    }

    #[test]
    fn shares_print_as_percent() {
        assert_eq!([0.0, 0.876, 0.997, 1.0].map(percent), ["0 %", "88 %", "over 99 %", "100 %"]);
    }

    #[test]
    fn words_join() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["a"]), "a");
        assert_eq!(list(&["a", "b", "c"]), "a, b and c");
    }
}
