//! One number for each of several frequency bands, in a short notation a person can type and read.
//!
//! `third dBZ: 100 45.2, 125 44.1` or `octave s: 250 0.48, 500 0.45`: how wide the bands are, the unit, then label and
//! number, from low to high. Levels are unweighted, so that a weighting can be put on later and none is taken off.
//! Stored in its canonical form, so that equal bands are equal values. Leaves out all computing: see the acoustics crate.

use std::fmt;

use storypole_units::Decimal;

/// How wide the bands are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Width {
    /// One octave.
    Octave,
    /// A third of an octave.
    Third,
}

/// What the numbers are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Of {
    /// Unweighted sound pressure levels, dB re 20 µPa.
    Level,
    /// Reverberation times, s.
    Time,
}

/// One number for each of several bands, ascending, each band once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bands {
    /// How wide they are.
    pub width: Width,
    /// What the numbers are.
    pub of: Of,
    values: Vec<(Decimal, Decimal)>,
}

/// Why bands are refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BandsError {
    /// Not in the notation.
    #[error(
        "\"{0}\" cannot be read as bands: write them like third dBZ: 100 45.2, 125 44.1 or octave s: 500 0.45"
    )]
    Notation(String),
    /// Not the label of a band of this width.
    #[error("\"{given}\" is not the middle of {width} band: the labels go {known}")]
    Label { given: String, width: &'static str, known: &'static str },
    /// Bands go from low to high, each once.
    #[error("{0} Hz does not come after a lower band: write each band once, from low to high")]
    Order(Decimal),
    /// Not a plain number.
    #[error("\"{given}\" at {hz} Hz is not a plain number, like 45.2")]
    Number { hz: Decimal, given: String },
    /// Outside what such a number can be.
    #[error("{given} at {hz} Hz is outside {low} to {high} {unit}: check it and type it again")]
    Range { hz: Decimal, given: Decimal, low: i64, high: i64, unit: &'static str },
}

/// First digits of the labels of thirds in a decade, times 100, from the one at 1 kHz up. The R10 series of ISO 266.
const LABELS: [i64; 10] = [100, 125, 160, 200, 250, 315, 400, 500, 630, 800];

/// Index of a label among the thirds, 0 at 1 kHz; `None` where it is no label.
fn index(hz: Decimal) -> Option<i64> {
    // From 10 Hz to 20 kHz.
    (-20..=13).find(|index: &i64| {
        let (decade, place) = (index.div_euclid(10), index.rem_euclid(10));
        let digits = LABELS[usize::try_from(place).expect("a remainder of ten is 0 to 9")];
        // 100 times the first digits, at 10^(3 + decade) Hz.
        let scale = 10i64.pow(u32::try_from(decade + 3).expect("the lowest label is 10 Hz"));
        hz.checked_mul(Decimal::from_int(100)) == Some(Decimal::from_int(digits * scale))
    })
}

impl Width {
    fn word(self) -> &'static str {
        match self {
            Self::Octave => "octave",
            Self::Third => "third",
        }
    }

    fn has(self, hz: Decimal) -> bool {
        index(hz).is_some_and(|index| self == Self::Third || index % 3 == 0)
    }

    fn label_error(self, given: &str) -> BandsError {
        let (width, known) = match self {
            Self::Octave => ("an octave", "16 31.5 63 125 250 ... 16000"),
            Self::Third => ("a third-octave", "10 12.5 16 20 25 31.5 40 50 63 80 100 125 160 ... 20000"),
        };
        BandsError::Label { given: given.to_owned(), width, known }
    }
}

impl Of {
    /// The unit as written.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Level => "dBZ",
            Self::Time => "s",
        }
    }

    /// What is taken at the door: a slipped digit is caught, a strange room is not.
    fn limits(self) -> (i64, i64) {
        match self {
            Self::Level => (-60, 160),
            Self::Time => (0, 60),
        }
    }
}

impl Bands {
    /// Takes labels, Hz, and numbers.
    ///
    /// # Errors
    /// [`BandsError`] for a label that is none, bands out of order, a number out of range, no bands at all.
    pub fn new(width: Width, of: Of, values: Vec<(Decimal, Decimal)>) -> Result<Self, BandsError> {
        if values.is_empty() {
            return Err(BandsError::Notation(String::new()));
        }
        let (low, high) = of.limits();
        for (place, (hz, value)) in values.iter().enumerate() {
            if !width.has(*hz) {
                return Err(width.label_error(&hz.to_string()));
            }
            if place > 0 && *hz <= values[place - 1].0 {
                return Err(BandsError::Order(*hz));
            }
            let is_time = of == Of::Time && *value <= Decimal::from_int(0);
            if *value < Decimal::from_int(low) || *value > Decimal::from_int(high) || is_time {
                return Err(BandsError::Range { hz: *hz, given: *value, low, high, unit: of.unit() });
            }
        }
        Ok(Self { width, of, values })
    }

    /// Reads the notation.
    ///
    /// # Errors
    /// [`BandsError`], with an example.
    pub fn parse(text: &str) -> Result<Self, BandsError> {
        let unread = || BandsError::Notation(text.to_owned());
        let (head, rest) = text.split_once(':').ok_or_else(unread)?;
        let mut words = head.split_whitespace();
        let width = match words.next().map(str::to_lowercase).as_deref() {
            Some("third" | "1/3") => Width::Third,
            Some("octave" | "1/1") => Width::Octave,
            _ => return Err(unread()),
        };
        let of = match words.next() {
            Some("dBZ" | "dB" | "dB(Z)") => Of::Level,
            Some("s") => Of::Time,
            _ => return Err(unread()),
        };
        if words.next().is_some() {
            return Err(unread());
        }
        let mut values = Vec::new();
        for pair in rest.split(',') {
            let mut words = pair.split_whitespace();
            let (Some(label), Some(number), None) = (words.next(), words.next(), words.next()) else {
                return Err(unread());
            };
            let hz = Decimal::parse(label).map_err(|_| width.label_error(label))?.normalized();
            let value =
                Decimal::parse(number).map_err(|_| BandsError::Number { hz, given: number.to_owned() })?;
            values.push((hz, value));
        }
        Self::new(width, of, values)
    }

    /// Labels, Hz, with their numbers, from low to high; never empty.
    pub fn values(&self) -> &[(Decimal, Decimal)] {
        &self.values
    }
}

impl fmt::Display for Bands {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}:", self.width.word(), self.of.unit())?;
        for (place, (hz, value)) in self.values.iter().enumerate() {
            write!(f, "{} {hz} {value}", if place == 0 { "" } else { "," })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_notation_is_read_and_printed() {
        for (typed, canonical) in [
            ("third dBZ: 100 45.2, 125 44.1", "third dBZ: 100 45.2, 125 44.1"),
            ("1/3 dB:31.5   -3.25,40 0", "third dBZ: 31.5 -3.25, 40 0"),
            (
                "Octave s: 16 0.5, 31.5 0.6, 63 0.7, 1000 0.4, 16000 0.2",
                "octave s: 16 0.5, 31.5 0.6, 63 0.7, 1000 0.4, 16000 0.2",
            ),
        ] {
            let read = Bands::parse(typed).unwrap();
            assert_eq!(read.to_string(), canonical);
            assert_eq!(Bands::parse(canonical), Ok(read));
        }
    }

    #[test]
    fn every_label_of_the_standard_is_known_and_no_other() {
        // ISO 266, nominal frequencies, 10 Hz to 20 kHz.
        let thirds = "10 12.5 16 20 25 31.5 40 50 63 80 100 125 160 200 250 315 400 500 630 800 1000 1250 1600 2000 2500 \
                      3150 4000 5000 6300 8000 10000 12500 16000 20000";
        let octaves = "16 31.5 63 125 250 500 1000 2000 4000 8000 16000";
        for label in thirds.split(' ') {
            let hz = Decimal::parse(label).unwrap();
            assert!(Width::Third.has(hz), "{label}");
            assert_eq!(Width::Octave.has(hz), octaves.split(' ').any(|octave| octave == label), "{label}");
        }
        for label in ["8", "31", "158.5", "1", "130", "25000", "0", "-100"] {
            assert!(!Width::Third.has(Decimal::parse(label).unwrap()), "{label}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused_with_a_next_step() {
        for (typed, said) in [
            ("", "write them like"),
            ("100 45.2", "write them like"),
            ("fifth dBZ: 100 45.2", "write them like"),
            ("third dBA: 100 45.2", "write them like"),
            ("third dBZ: 100", "write them like"),
            ("third dBZ: 100 45.2,", "write them like"),
            ("third dBZ: 158 45.2", "\"158\" is not the middle of a third-octave band"),
            ("octave dBZ: 160 45.2", "is not the middle of an octave band"),
            ("third dBZ: 125 45.2, 100 44.1", "100 Hz does not come after a lower band"),
            ("third dBZ: 125 45.2, 125 44.1", "write each band once"),
            ("third dBZ: 125 4x", "\"4x\" at 125 Hz is not a plain number"),
            ("third dBZ: 125 452", "452 at 125 Hz is outside -60 to 160 dBZ"),
            ("third s: 125 0", "outside 0 to 60 s"),
        ] {
            let error = Bands::parse(typed).unwrap_err().to_string();
            assert!(error.contains(said), "{typed}: {error}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC{0,60}") {
            if let Ok(bands) = Bands::parse(&text) {
                prop_assert_eq!(Bands::parse(&bands.to_string()), Ok(bands));
            }
        }
    }
}
