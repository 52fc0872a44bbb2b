//! What a picture is: how it is painted, how much room it has, and what comes of it.
//!
//! Leaves out what is drawn.

/// What a picture lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Ground {
    /// Paper.
    #[default]
    Light,
    /// A dark screen.
    Dark,
}

/// How a picture is painted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Look {
    /// What it lies on.
    pub ground: Ground,
    /// Nothing is painted behind it, so that what it is laid over shows through.
    pub clear: bool,
}

impl Look {
    /// On paper.
    pub const LIGHT: Self = Self { ground: Ground::Light, clear: false };
    /// On a dark screen.
    pub const DARK: Self = Self { ground: Ground::Dark, clear: false };
}

/// The part a colour has in a picture. Shape, pattern or a word always says the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Tone {
    /// Words and outlines.
    Ink,
    /// Leaders, grid lines, words of less weight.
    Soft,
    /// Behind everything.
    Paper,
    /// A shade that carries no meaning of its own.
    Pale,
    /// What was measured before.
    Before,
    /// What was measured after, and whatever stands first.
    After,
    /// What to look at twice: a bound, a limit, something left out.
    Odd,
}

impl Tone {
    const ALL: [Self; 7] =
        [Self::Ink, Self::Soft, Self::Paper, Self::Pale, Self::Before, Self::After, Self::Odd];

    /// Its letter in a text that is not painted yet.
    pub(crate) fn letter(self) -> char {
        match self {
            Self::Ink => 'i',
            Self::Soft => 's',
            Self::Paper => 'p',
            Self::Pale => 'g',
            Self::Before => 'b',
            Self::After => 'a',
            Self::Odd => 'o',
        }
    }

    /// The tone of a letter.
    pub(crate) fn of(letter: char) -> Option<Self> {
        Self::ALL.into_iter().find(|tone| tone.letter() == letter)
    }

    /// Its colour on a ground. All but `Pale` stand at 7:1 or more on `Paper`.
    pub(crate) fn colour(self, ground: Ground) -> &'static str {
        match (self, ground) {
            (Self::Ink, Ground::Light) => "#1a1a1a",
            (Self::Soft, Ground::Light) => "#595959",
            (Self::Paper, Ground::Light) => "#ffffff",
            (Self::Pale, Ground::Light) => "#e8e8e8",
            (Self::Before, Ground::Light) => "#7c4300",
            (Self::After, Ground::Light) => "#1d3f5e",
            (Self::Odd, Ground::Light) => "#7a1f0e",
            (Self::Ink, Ground::Dark) => "#eceee9",
            (Self::Soft, Ground::Dark) => "#b9c0b9",
            (Self::Paper, Ground::Dark) => "#13171a",
            (Self::Pale, Ground::Dark) => "#2b3338",
            (Self::Before, Ground::Dark) => "#f2b56b",
            (Self::After, Ground::Dark) => "#a9cdf0",
            (Self::Odd, Ground::Dark) => "#ffb59c",
        }
    }
}

/// How much room a picture has, in its own units; small text is 12 of them high. A phone is about 400 wide, a sheet 800.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Exactly so wide.
    pub width: f64,
    /// At most so high, and as much as it needs where nothing is said. A picture that has more to show than fits shows the most
    /// telling part and says how much more there is.
    pub height: Option<f64>,
}

impl Room {
    /// A sheet.
    pub const SHEET: Self = Self { width: 800.0, height: None };
    /// A phone.
    pub const PHONE: Self = Self { width: 400.0, height: None };
    /// Narrowest that a chart is drawn in.
    pub const LEAST_WIDTH: f64 = 320.0;
    /// Narrowest that a drawing of a wall is laid out in as on a sheet.
    pub const LEAST_SHEET: f64 = 640.0;
    /// Lowest that a chart is drawn in.
    pub const LEAST_HEIGHT: f64 = 220.0;
}

/// A picture that was drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The SVG. It holds its title and its finding in words.
    pub svg: String,
    /// Width in its units.
    pub width: f64,
    /// Height in its units.
    pub height: f64,
    /// Its title.
    pub title: String,
    /// What it shows in words, numbers included, for whoever cannot see it.
    pub alt: String,
}

/// Why there is no picture.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChartError {
    /// There is nothing to draw.
    #[error("there is nothing to draw: measure first")]
    Nothing,
    /// A number that is none.
    #[error("{what} is no finite number")]
    NotFinite {
        /// Which.
        what: String,
    },
    /// Too little room.
    #[error("a chart needs at least {} by {} units", Room::LEAST_WIDTH, Room::LEAST_HEIGHT)]
    NoRoom,
    /// The wall cannot be drawn.
    #[error("the wall cannot be drawn")]
    Elevation(#[from] crate::ElevationError),
    /// The assembly cannot be drawn.
    #[error("the assembly cannot be drawn")]
    Section(#[from] crate::SectionError),
}

#[cfg(test)]
mod tests {
    use super::*;

    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    /// Source: contrast ratio of WCAG 2.2, success criterion 1.4.6 (7:1).
    #[test]
    fn every_tone_can_be_read_on_its_ground() {
        for ground in [Ground::Light, Ground::Dark] {
            let paper = luminance(Tone::Paper.colour(ground));
            for tone in Tone::ALL.into_iter().filter(|tone| !matches!(tone, Tone::Paper | Tone::Pale)) {
                let own = luminance(tone.colour(ground));
                let contrast = (paper.max(own) + 0.05) / (paper.min(own) + 0.05);
                assert!(contrast >= 7.0, "{tone:?} on {ground:?}: {contrast}");
            }
        }
    }

    #[test]
    fn letters_of_tones_differ() {
        for tone in Tone::ALL {
            assert_eq!(Tone::of(tone.letter()), Some(tone));
        }
        assert_eq!(Tone::of('x'), None);
    }
}
