//! Boards for the two sides of a wall, by area.
//!
//! Leaves out where sheets break, screws and joint compound. Small openings are not deducted, because the piece cut
//! out of a sheet is waste.

use storypole_units::{Area, Length};

use crate::waste::Waste;

/// A wall to board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoardNeed {
    /// From end to end.
    pub length: Length,
    /// From floor to ceiling.
    pub height: Length,
    /// Doors and windows.
    pub openings: Vec<Cutout>,
    /// An opening is deducted where it is larger than this; commonly 16 ft².
    pub deduct_over: Area,
    /// One side.
    pub side_a: Layers,
    /// The other.
    pub side_b: Layers,
    /// Added for waste.
    pub waste: Waste,
    /// The face of one sheet.
    pub sheet: Area,
}

/// An opening in the boards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Cutout {
    pub width: Length,
    pub height: Length,
}

/// The boards of one side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Layers {
    /// Of one board; boards of one thickness are one type.
    pub thickness: Length,
    /// How many lie on each other; 0 for a side that stays as it is.
    pub count: u32,
}

/// What to buy.
#[derive(Debug, Clone, PartialEq)]
pub struct Boards {
    /// One side, openings included.
    pub gross_area: Area,
    /// Openings that are deducted.
    pub deducted_area: Area,
    /// One side without these.
    pub net_area: Area,
    /// Sheets for the first side, rounded up on its own.
    pub sheets_a: u32,
    /// Sheets for the second side, rounded up on its own.
    pub sheets_b: u32,
    /// Sheets by type, rounded up once per type; may be one less than the sides' sum.
    pub by_type: Vec<BoardCount>,
}

/// Sheets of one type.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoardCount {
    /// Which type.
    pub thickness: Length,
    /// Sheets with waste, before rounding up.
    pub needed: f64,
    /// Whole sheets.
    pub sheets: u32,
}

/// Why boards cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum BoardsError {
    /// A wall has a face.
    #[error("a wall {length} by {height} has no face: measure both")]
    NoWall { length: Length, height: Length },
    /// A sheet has a face.
    #[error("a sheet without a face: a sheet of 4 by 8 ft has 32 ft2")]
    NoSheet,
    /// One opening is larger than the wall; `index` counts from 0, the message from 1.
    #[error("opening {} is {width} by {height}, more than the wall: check both", .index + 1)]
    OpeningTooLarge { index: usize, width: Length, height: Length },
    /// The openings together are larger than the wall.
    #[error("the openings together are larger than the wall: check them one by one")]
    OpeningsTooLarge,
    /// A count is beyond what is counted.
    #[error("the sheets are more than can be counted: check the sizes and their units")]
    TooMany,
}

/// Counts boards, `⌈net area · layers · (1 + waste) / sheet⌉`, for each side and for each type.
///
/// # Errors
/// [`BoardsError`].
///
/// # Source
/// Common practice, no source.
pub fn boards(need: &BoardNeed) -> Result<Boards, BoardsError> {
    let (gross_area, deducted_area) = areas(need)?;
    let net_area = gross_area.checked_sub(deducted_area).ok_or(BoardsError::OpeningsTooLarge)?;
    let count = |layers: Layers| {
        let nm2 = net_area.nm2().checked_mul(i128::from(layers.count)).ok_or(BoardsError::TooMany)?;
        let counted = need.waste.count_up(nm2, need.sheet.nm2()).ok_or(BoardsError::TooMany)?;
        Ok(BoardCount { thickness: layers.thickness, needed: counted.needed, sheets: counted.whole })
    };
    let (side_a, side_b) = (count(need.side_a)?, count(need.side_b)?);
    let by_type = types(need.side_a, need.side_b)?.into_iter().map(count).collect::<Result<_, _>>()?;
    Ok(Boards {
        gross_area,
        deducted_area,
        net_area,
        sheets_a: side_a.sheets,
        sheets_b: side_b.sheets,
        by_type,
    })
}

/// Joins the two sides where they are of one type, and leaves out a side without boards.
fn types(side_a: Layers, side_b: Layers) -> Result<Vec<Layers>, BoardsError> {
    let mut types: Vec<Layers> = Vec::new();
    for side in [side_a, side_b].into_iter().filter(|side| side.count > 0) {
        match types.iter_mut().find(|known| known.thickness == side.thickness) {
            Some(known) => known.count = known.count.checked_add(side.count).ok_or(BoardsError::TooMany)?,
            None => types.push(side),
        }
    }
    Ok(types)
}

/// Returns the face of one side and what is deducted from it.
fn areas(need: &BoardNeed) -> Result<(Area, Area), BoardsError> {
    let &BoardNeed { length, height, .. } = need;
    let gross = Area::of(length, height);
    if gross == Area::ZERO {
        return Err(BoardsError::NoWall { length, height });
    }
    if need.sheet == Area::ZERO {
        return Err(BoardsError::NoSheet);
    }
    let (mut all, mut deducted) = (0, 0);
    for (index, opening) in need.openings.iter().enumerate() {
        if opening.width > length || opening.height > height {
            return Err(BoardsError::OpeningTooLarge { index, width: opening.width, height: opening.height });
        }
        let face = Area::of(opening.width, opening.height);
        all += face.nm2();
        if all > gross.nm2() {
            return Err(BoardsError::OpeningsTooLarge);
        }
        if face > need.deduct_over {
            deducted += face.nm2();
        }
    }
    Ok((gross, Area::from_nm2(deducted).expect("openings are no larger than the wall")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{inches, waste};

    fn area(text: &str) -> Area {
        Area::parse(text).unwrap()
    }

    fn layers(thickness: &str, count: u32) -> Layers {
        Layers { thickness: inches(thickness), count }
    }

    fn cutout(width: &str, height: &str) -> Cutout {
        Cutout { width: inches(width), height: inches(height) }
    }

    /// 144 by 97 1/8 in with a door, one board of 1/2 in on both sides.
    fn need() -> BoardNeed {
        BoardNeed {
            length: inches("144"),
            height: inches("97.125"),
            openings: vec![cutout("38.5", "82.5")],
            deduct_over: area("16 ft2"),
            side_a: layers("0.5", 1),
            side_b: layers("0.5", 1),
            waste: waste("0.10"),
            sheet: area("32 ft2"),
        }
    }

    /// Source: a worked example, (97.125 - 22.057) x 2 x 1.10 / 32 = 5.16, up to 6 sheets.
    #[test]
    fn boards_match_a_worked_example() {
        let got = boards(&need()).unwrap();
        assert_eq!(format!("{:.3}", got.gross_area.ft2()), "97.125");
        assert_eq!(format!("{:.3}", got.deducted_area.ft2()), "22.057");
        assert_eq!(format!("{:.3}", got.net_area.ft2()), "75.068");
        assert_eq!(format!("{:.2}", got.by_type[0].needed), "5.16");
        assert_eq!((got.by_type.len(), got.by_type[0].sheets), (1, 6));
        assert_eq!((got.sheets_a, got.sheets_b), (3, 3));
    }

    /// Source: computed independently, 75.068 ft2 x layers x 1.10 / 32 = 2.58 a layer.
    #[test]
    fn types_are_rounded_apart() {
        let two_types = BoardNeed { side_b: layers("0.625", 2), ..need() };
        let got = boards(&two_types).unwrap();
        assert_eq!((got.sheets_a, got.sheets_b), (3, 6));
        assert_eq!(got.by_type.iter().map(|kind| kind.sheets).collect::<Vec<_>>(), [3, 6]);
        let shared = BoardNeed { side_a: layers("0.5", 2), side_b: layers("0.5", 3), ..need() };
        let got = boards(&shared).unwrap();
        // 5.16 and 7.74 on their own, 12.90 together.
        assert_eq!((got.sheets_a, got.sheets_b, got.by_type[0].sheets), (6, 8, 13));
        let one_side = boards(&BoardNeed { side_b: layers("0.5", 0), ..need() }).unwrap();
        assert_eq!((one_side.sheets_b, one_side.by_type.len()), (0, 1));
    }

    /// Convention: only an opening larger than 16 ft2 is deducted.
    #[test]
    fn small_openings_stay() {
        for (width, height, deducted) in
            [("48", "48", 0.0), ("48", "48.5", 16.166_666_666_666_668), ("24", "30", 0.0)]
        {
            let got = boards(&BoardNeed { openings: vec![cutout(width, height)], ..need() }).unwrap();
            assert!((got.deducted_area.ft2() - deducted).abs() < 1e-12, "{width} x {height}: {got:?}");
        }
    }

    #[test]
    fn refuses_with_the_reason() {
        let wide = BoardNeed { openings: vec![cutout("38.5", "82.5"), cutout("150", "10")], ..need() };
        let many = BoardNeed { openings: vec![cutout("100", "82"), cutout("100", "82")], ..need() };
        let cases = [
            (
                BoardNeed { length: Length::ZERO, ..need() },
                "a wall 0\" by 8' 1 1/8\" has no face: measure both",
            ),
            (
                BoardNeed { sheet: Area::ZERO, ..need() },
                "a sheet without a face: a sheet of 4 by 8 ft has 32 ft2",
            ),
            (wide, "opening 2 is 12' 6\" by 10\", more than the wall: check both"),
            (many, "the openings together are larger than the wall: check them one by one"),
            (
                BoardNeed { side_a: layers("0.5", u32::MAX), ..need() },
                "the sheets are more than can be counted: check the sizes and their units",
            ),
        ];
        for (need, reason) in cases {
            assert_eq!(boards(&need).unwrap_err().to_string(), reason);
        }
    }
}
