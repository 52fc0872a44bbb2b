//! Batts for the cavities of a frame, counted in whole pieces.
//!
//! Every cell is filled with full strips side by side; a remainder of one full-height strip may fill the next. Leaves out
//! batts split lengthwise, and remainders of bays that go above a door: the site often does better than the count.

use storypole_units::{Area, Length};

use crate::wall::{CellKind, Frame};
use crate::waste::divided_up;

/// A batt by its face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Batt {
    /// Across the bay.
    pub width: Length,
    /// Up the bay.
    pub length: Length,
}

/// What the cells of a frame take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batts {
    /// Pieces of each cell, in the order of [`Frame::cells`].
    pub cells: Vec<u32>,
    /// Their sum, one frame, every cell from whole batts.
    pub pieces: u32,
    /// The same for all frames.
    pub pieces_all_frames: u32,
    /// What the full-height bays take when remainders are used again; `None` where whole batts fit the height, or
    /// no full-height bay gets a batt.
    pub length_reuse: Option<LengthReuse>,
}

/// Full-height bays of one frame, with the remainder of one batt used in the next strips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct LengthReuse {
    /// Strips in full-height bays.
    pub strips: u32,
    /// What each strip needs beyond whole batts.
    pub remainder: Length,
    /// Remainders cut from one batt; with 1 there is nothing to gain.
    pub remainders_per_batt: u32,
    /// Pieces for all strips.
    pub pieces: u32,
}

/// Why pieces cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BattsError {
    /// A batt has a width.
    #[error("the batt has no width: measure it across")]
    NoWidth,
    /// A batt has a length.
    #[error("the batt has no length: measure it along")]
    NoLength,
    /// The count passes 32 bits.
    #[error("the wall takes more than four thousand million pieces: check the unit of the batt")]
    TooManyPieces,
}

impl Batt {
    /// Returns the face of `pieces` batts.
    pub fn coverage(self, pieces: u32) -> Option<Area> {
        let nm2 = Area::of(self.width, self.length).nm2().checked_mul(i128::from(pieces))?;
        Area::from_nm2(nm2)
    }

    fn check(self) -> Result<(), BattsError> {
        match self {
            Self { width: Length::ZERO, .. } => Err(BattsError::NoWidth),
            Self { length: Length::ZERO, .. } => Err(BattsError::NoLength),
            _ => Ok(()),
        }
    }
}

/// Counts the batts of every cell.
///
/// A cell takes `⌈width / batt width⌉` strips of `⌈height / batt length⌉` batts; none where it is narrower than
/// `min_bay_width`, since what is ripped off elsewhere fills it. With reuse, n strips of height h = k·L + r take
/// `n·k + ⌈n / ⌊L/r⌋⌉` batts of length L.
///
/// # Units and shape
/// `min_bay_width`: commonly 3 in or 75 mm. Returns counts, one per cell.
///
/// # Errors
/// [`BattsError`].
///
/// # Source
/// Common practice, no source.
pub fn batts(frame: &Frame, batt: Batt, min_bay_width: Length) -> Result<Batts, BattsError> {
    batt.check()?;
    let strips = |width: Length| if width < min_bay_width { 0 } else { pieces_along(width, batt.width) };
    let mut cells = Vec::with_capacity(frame.cells.len());
    let (mut pieces, mut full_strips) = (0, 0);
    for cell in &frame.cells {
        let strips = strips(cell.width);
        // Two lengths at most: a product stays below 10^30.
        let in_cell = strips * pieces_along(cell.height, batt.length);
        if cell.kind == CellKind::Full {
            full_strips += strips;
        }
        pieces += in_cell;
        cells.push(count(in_cell)?);
    }
    Ok(Batts {
        cells,
        pieces: count(pieces)?,
        pieces_all_frames: count(pieces * i128::from(frame.frames))?,
        length_reuse: length_reuse(full_strips, frame.cavity_height, batt.length)?,
    })
}

fn length_reuse(strips: i128, height: Length, batt: Length) -> Result<Option<LengthReuse>, BattsError> {
    let (whole, remainder_nm) = (height.nm() / batt.nm(), height.nm() % batt.nm());
    if remainder_nm == 0 || strips == 0 {
        return Ok(None);
    }
    let per_batt = i128::from(batt.nm() / remainder_nm);
    Ok(Some(LengthReuse {
        strips: count(strips)?,
        remainder: Length::from_nm(remainder_nm).expect("a remainder is shorter than the height"),
        // A remainder of some nanometres; whatever the count beyond this, one batt gives enough.
        remainders_per_batt: u32::try_from(per_batt).unwrap_or(u32::MAX),
        pieces: count(strips * i128::from(whole) + divided_up(strips, per_batt))?,
    }))
}

fn pieces_along(extent: Length, piece: Length) -> i128 {
    divided_up(i128::from(extent.nm()), i128::from(piece.nm()))
}

fn count(pieces: i128) -> Result<u32, BattsError> {
    u32::try_from(pieces).map_err(|_| BattsError::TooManyPieces)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{door, inches, mm, wall, wall_with_door};
    use crate::wall::{Blocking, End, Sill, Wall, frame};

    fn counted(wall: &Wall) -> Batts {
        let batt = Batt { width: inches("15"), length: inches("93") };
        batts(&frame(wall).unwrap(), batt, inches("3")).unwrap()
    }

    /// Source: worked examples by rules of common practice, each computed independently on a raster of 1/64 in.
    #[test]
    fn pieces_match_worked_examples() {
        let narrow_door = Wall { openings: vec![door("104", "32.5", "82.5", "3.0")], ..wall("150") };
        let cases = [
            ("no opening", wall("144"), 9),
            ("door", wall_with_door(), 10),
            ("150 in, narrow door", narrow_door.clone(), 12),
            ("the same, laid out from the right", Wall { layout_from: End::Right, ..narrow_door }, 10),
            ("132 in, sliver at the end", wall("132"), 8),
            ("64 in", wall("64"), 4),
            ("36 in", wall("36"), 2),
            ("9 ft ceiling", Wall { height: inches("109.125"), ..wall("144") }, 18),
        ];
        for (name, wall, pieces) in cases {
            assert_eq!(counted(&wall).pieces, pieces, "{name}");
        }
        // The sliver of 1 3/4 in above the door takes none.
        assert_eq!(counted(&wall_with_door()).cells, [1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0]);
    }

    /// Source: computed independently on a raster of 1/64 in, wide cells between two windows' jacks.
    #[test]
    fn wide_cells_take_two_strips() {
        let mut first = door("50", "30.5", "82.5", "5.5");
        first.sill = Some(Sill { height: inches("40.25"), plates: 2 });
        let mut second = door("96", "20", "70", "5.5");
        second.sill = Some(Sill { height: inches("30"), plates: 1 });
        let got = counted(&Wall { openings: vec![second, first], ..wall("144") });
        assert_eq!(got.cells, [1, 1, 1, 1, 1, 1, 1, 2, 1, 2, 2, 1, 2, 1]);
        assert_eq!(got.pieces, 18);
    }

    /// Source: computed independently with exact fractions. Rows: wall, batt, then strips, remainder, remainders per
    /// batt, pieces with and without reuse.
    #[test]
    fn remainders_fill_further_strips() {
        let tall = Wall { height: inches("109.125"), ..wall("144") };
        let wide = Wall { height: inches("97"), plates: 2, spacing: inches("24"), ..wall("96") };
        let cases = [
            (wall("144"), ("15", "93"), (9, "92.625", 1, 9), 9),
            (tall, ("15", "93"), (9, "11.625", 8, 11), 18),
            (wide, ("15", "93"), (8, "1", 93, 9), 16),
        ];
        for (wall, (width, length), (strips, remainder, remainders_per_batt, pieces), without) in cases {
            let batt = Batt { width: inches(width), length: inches(length) };
            let got = batts(&frame(&wall).unwrap(), batt, inches("3")).unwrap();
            let remainder = inches(remainder);
            assert_eq!(
                got.length_reuse,
                Some(LengthReuse { strips, remainder, remainders_per_batt, pieces })
            );
            assert_eq!(got.pieces, without);
        }
        let exact = Batt { width: inches("15"), length: inches("46.3125") };
        let got = batts(&frame(&wall("144")).unwrap(), exact, inches("3")).unwrap();
        assert_eq!((got.pieces, got.length_reuse), (18, None), "two batts are the cavity's height");
    }

    /// Source: by hand. A row at half height makes two cells of 45 9/16 in of each of nine bays, and leaves no bay whose
    /// remainders could be shared.
    #[test]
    fn divided_bays_take_a_piece_for_each_part() {
        let row = Blocking { centre: inches("47.8125"), depth: inches("1.5"), left: None, right: None };
        let got = counted(&Wall { blocking: vec![row], ..wall("144") });
        assert_eq!((got.pieces, got.cells, got.length_reuse), (18, vec![1; 18], None));
    }

    /// Source: computed independently on a raster of 1/2 mm.
    #[test]
    fn metric_wall() {
        let mut opening = door("0", "0", "0", "0");
        (opening.left, opening.width) = (mm("1500"), mm("820"));
        (opening.head, opening.header_depth) = (mm("2060"), mm("140"));
        let metric = Wall {
            length: mm("3600"),
            height: mm("2440"),
            stud: mm("38"),
            spacing: mm("600"),
            frames: 2,
            openings: vec![opening],
            ..wall("144")
        };
        let frame = frame(&metric).unwrap();
        let got = batts(&frame, Batt { width: mm("580"), length: mm("1170") }, mm("75")).unwrap();
        assert_eq!(got.cells, [2, 2, 2, 4, 2, 1, 1]);
        assert_eq!((got.pieces, got.pieces_all_frames), (14, 28));
        assert_eq!(frame.net_area.m2(), 5.799036);
        assert_eq!(frame.net_area_all_frames.m2(), 11.598072);
    }

    #[test]
    fn refuses_with_the_reason() {
        let frame = frame(&wall("144")).unwrap();
        let cases = [
            (("0", "93"), "the batt has no width: measure it across"),
            (("15", "0"), "the batt has no length: measure it along"),
            (
                ("0.001", "0.001"),
                "the wall takes more than four thousand million pieces: check the unit of the batt",
            ),
        ];
        for ((width, length), reason) in cases {
            let batt = Batt { width: inches(width), length: inches(length) };
            assert_eq!(batts(&frame, batt, inches("3")).unwrap_err().to_string(), reason);
        }
    }
}
