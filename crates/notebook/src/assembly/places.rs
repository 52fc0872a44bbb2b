//! Lengths along a wall in a notation a person can type: `15 1/4 in; 31 in; 47 in`.
//!
//! Leaves out what they mean: centres of studs, or the walls a closet is made of, is for the field to say.

use std::fmt;

use storypole_units::Length;

use super::notation::{PLACES, PartError, refuse};

/// Lengths above zero, in the order they were written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Places(pub Vec<Length>);

/// More than stand in any wall.
const MOST: usize = 1_000;

impl Places {
    /// Reads lengths, each with its unit, apart by semicolons.
    ///
    /// # Errors
    /// [`PartError`] names the piece that is no length above zero.
    pub fn parse(text: &str) -> Result<Self, PartError> {
        let pieces: Vec<&str> = text.trim().trim_end_matches(';').split(';').collect();
        if pieces.len() > MOST {
            return Err(refuse(PLACES, pieces[MOST]));
        }
        let read = |piece: &&str| {
            let length = Length::parse(piece.trim()).ok().filter(|length| *length > Length::ZERO);
            length.ok_or_else(|| refuse(PLACES, piece))
        };
        Ok(Self(pieces.iter().map(read).collect::<Result<_, _>>()?))
    }
}

impl fmt::Display for Places {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, length) in self.0.iter().enumerate() {
            write!(f, "{}{}", if index == 0 { "" } else { "; " }, length.canonical())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_and_printed_again() {
        for text in ["15 1/4 in; 31 in; 47 in", "64 in;36 in;", "400 mm", "5 ft 4 in; 3'"] {
            let places = Places::parse(text).unwrap();
            assert_eq!(Places::parse(&places.to_string()), Ok(places), "{text}");
        }
        let inches = |count: i64| Length::from_nm(count * storypole_units::length::NM_PER_INCH).unwrap();
        assert_eq!(Places::parse("64 in; 3 ft").unwrap().0, [inches(64), inches(36)]);
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for (text, piece) in [
            ("64", "64"),
            ("64 in; ; 3 ft", ""),
            ("64 in, 36 in", "64 in, 36 in"),
            ("-2 in", "-2 in"),
            ("", ""),
        ] {
            let refused = Places::parse(text).unwrap_err();
            assert_eq!(refused.piece, piece);
            assert!(!refused.to_string().contains("12.7"), "{refused}");
        }
    }
}
