//! How a length is printed in a drawing.
//!
//! Leaves out parsing. A drawing is read at arm's length: what is finer than a tape shows is rounded, and the drawing
//! says so.

use storypole_units::Length;
use storypole_units::length::{NM_PER_INCH, NM_PER_SIXTY_FOURTH};

/// A sixteenth of an inch, to which lengths off the tape are rounded.
const SIXTEENTH_NM: i64 = NM_PER_INCH / 16;
/// A tenth of a millimetre, the same in metric.
const TENTH_MM_NM: i64 = 100_000;

/// The units of a drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum LengthStyle {
    /// Feet, inches and fractions; parts of a wall in inches alone, as batts and boards are sold.
    #[default]
    FeetInches,
    /// Millimetres.
    Metric,
}

impl LengthStyle {
    /// Prints the size of a part: `92 5/8"` or `2352.7 mm`.
    pub(crate) fn part(self, length: Length) -> String {
        match self {
            Self::FeetInches => inches(length),
            Self::Metric => millimetres(length),
        }
    }

    /// Prints the size of a whole in these units and the other: `12' 6" (3810 mm)`.
    pub(crate) fn whole(self, length: Length) -> String {
        match self {
            Self::FeetInches => format!("{} ({})", self.first(length), millimetres(length)),
            Self::Metric => format!("{} ({})", self.first(length), feet_inches(length)),
        }
    }

    /// Prints the size of a whole in these units alone: `12' 6"`.
    pub(crate) fn first(self, length: Length) -> String {
        match self {
            Self::FeetInches => feet_inches(length),
            Self::Metric => millimetres(length),
        }
    }

    /// Whether printing loses anything.
    pub(crate) fn rounds(self, length: Length) -> bool {
        match self {
            Self::FeetInches => length.nm() % NM_PER_SIXTY_FOURTH != 0,
            Self::Metric => length.nm() % TENTH_MM_NM != 0,
        }
    }

    /// What is said where something was rounded.
    pub(crate) fn rounding_note(self) -> &'static str {
        match self {
            Self::FeetInches => "Sizes off the tape are rounded to 1/16 in.",
            Self::Metric => "Sizes are rounded to 0.1 mm.",
        }
    }
}

fn feet_inches(length: Length) -> String {
    let tape = on_tape(length);
    tape.feet_inches().unwrap_or_else(|| tape.metric())
}

/// Prints inches without feet: `92 5/8"`.
fn inches(length: Length) -> String {
    let tape = on_tape(length);
    let whole = tape.nm() / NM_PER_INCH;
    let below = Length::from_nm(tape.nm() % NM_PER_INCH).expect("a part of an inch is a length");
    match (whole, below.feet_inches()) {
        (_, None) => tape.metric(),
        (0, Some(fraction)) => fraction,
        (_, Some(_)) if below == Length::ZERO => format!("{whole}\""),
        (_, Some(fraction)) => format!("{whole} {fraction}"),
    }
}

fn millimetres(length: Length) -> String {
    rounded(length, TENTH_MM_NM).metric()
}

/// Keeps sixty-fourths and rounds all else to sixteenths.
fn on_tape(length: Length) -> Length {
    if LengthStyle::FeetInches.rounds(length) { rounded(length, SIXTEENTH_NM) } else { length }
}

/// Rounds to the nearest step, halves up; what would become nothing stays as it is.
fn rounded(length: Length, step_nm: i64) -> Length {
    let nm = (length.nm() + step_nm / 2) / step_nm * step_nm;
    if nm == 0 { length } else { Length::from_nm(nm).unwrap_or(length) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: read off a tape, and 25.4 mm to the inch by hand.
    #[test]
    fn prints_what_a_tape_shows() {
        let cases = [
            ("92.625 in", "92 5/8\"", "7' 8 5/8\" (2352.7 mm)", "2352.7 mm"),
            ("150 in", "150\"", "12' 6\" (3810 mm)", "3810 mm"),
            ("3/4 in", "3/4\"", "3/4\" (19.1 mm)", "19.1 mm"),
            // 89 mm are 3.5039 in.
            ("89 mm", "3 1/2\"", "3 1/2\" (89 mm)", "89 mm"),
            ("1/64 in", "1/64\"", "1/64\" (0.4 mm)", "0.4 mm"),
            ("0 in", "0\"", "0\" (0 mm)", "0 mm"),
            // Less than half a sixteenth is not printed as nothing.
            ("0.5 mm", "0.5 mm", "0.5 mm (0.5 mm)", "0.5 mm"),
        ];
        for (text, part, whole, metric) in cases {
            let length = Length::parse(text).unwrap();
            assert_eq!(LengthStyle::FeetInches.part(length), part, "{text}");
            assert_eq!(LengthStyle::FeetInches.whole(length), whole, "{text}");
            assert_eq!(LengthStyle::Metric.part(length), metric, "{text}");
        }
        let length = Length::parse("150 in").unwrap();
        assert_eq!(LengthStyle::Metric.whole(length), "3810 mm (12' 6\")");
    }

    #[test]
    fn rounding_is_told() {
        let rounds = |style: LengthStyle, text| style.rounds(Length::parse(text).unwrap());
        assert!(rounds(LengthStyle::FeetInches, "89 mm") && rounds(LengthStyle::Metric, "3/4 in"));
        assert!(!rounds(LengthStyle::FeetInches, "13/64 in") && !rounds(LengthStyle::Metric, "3.5 in"));
    }
}
