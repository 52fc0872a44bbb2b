//! Short ways to write quantities and walls in tests.

use storypole_units::{Decimal, Length};

use crate::wall::{End, Opening, Surface, Wall};
use crate::waste::Waste;

/// A length in inches, written as a decimal.
pub(crate) fn inches(number: &str) -> Length {
    Length::parse(&format!("{number} in")).unwrap()
}

/// A length in millimetres.
pub(crate) fn mm(number: &str) -> Length {
    Length::parse(&format!("{number} mm")).unwrap()
}

pub(crate) fn decimal(number: &str) -> Decimal {
    Decimal::parse(number).unwrap()
}

/// An allowance as a fraction.
pub(crate) fn waste(fraction: &str) -> Waste {
    Waste::from_fraction(decimal(fraction)).unwrap()
}

/// A wall 97 1/8 in high of 1 1/2 in studs at 16 in with three plates, one frame, without openings.
pub(crate) fn wall(length_in: &str) -> Wall {
    Wall {
        surface: Surface::Wall,
        length: inches(length_in),
        height: inches("97.125"),
        stud: inches("1.5"),
        plates: 3,
        spacing: inches("16"),
        layout_from: End::Left,
        first: None,
        studs_at: Vec::new(),
        frames: 1,
        openings: Vec::new(),
        blocking: Vec::new(),
    }
}

/// A door, all in inches.
pub(crate) fn door(left: &str, width: &str, head: &str, header_depth: &str) -> Opening {
    Opening {
        left: inches(left),
        width: inches(width),
        head: inches(head),
        header_depth: inches(header_depth),
        sill: None,
    }
}

/// The worked example with a door: 144 in, opening 38 1/2 by 82 1/2 in from 60 in, header 5 1/2 in.
pub(crate) fn wall_with_door() -> Wall {
    Wall { openings: vec![door("60", "38.5", "82.5", "5.5")], ..wall("144") }
}
