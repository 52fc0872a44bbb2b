//! What goes with boards: screws and how long they are, tape for the joints, damping compound between two layers.
//!
//! Leaves out joint compound, which varies with the finish (read the label), and every listed assembly: a wall that has
//! to hold back fire is screwed as its listing says.

use storypole_units::{Area, Length};

use crate::waste::{Waste, divided_up};

mod screw_length;

pub use screw_length::{Onto, ScrewLength, ScrewLengthError, screw_length};

/// Most between two screws of a row on a wall, 16 in.
///
/// # Source
/// Residential code table of board fastening, from memory, edition not checked: local code decides.
pub const WALL_SCREW_SPACING_IN: u32 = 16;
/// Most between two screws of a row on a ceiling, 12 in.
///
/// # Source
/// As [`WALL_SCREW_SPACING_IN`].
pub const CEILING_SCREW_SPACING_IN: u32 = 12;
/// Tubes of 28 or 29 fl oz to a sheet of 32 ft². Common practice, no source; the maker's label decides.
pub const DAMPING_TUBES_PER_32_FT2: u32 = 2;

/// Most screws in a sheet. Convention of this project: more are a slip of the unit.
const MOST_PER_SHEET: i128 = 100_000;
/// One square foot in square nanometres.
const NM2_PER_FT2: i128 = 304_800_000 * 304_800_000;

/// Boards to screw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ScrewNeed {
    /// Sheets of all layers.
    pub sheets: u32,
    /// Across the sheet, the side that spans the studs.
    pub sheet_width: Length,
    /// Along the studs.
    pub sheet_length: Length,
    /// How they are set.
    pub pattern: Pattern,
    /// Added for waste.
    pub waste: Waste,
    /// Screws in a box, read from its label.
    pub per_box: u32,
}

/// How screws are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// About one to a square foot. Common practice, no source.
    OnePerFt2,
    /// In rows, one row on every stud under the sheet, both edges included.
    Rows {
        /// From stud to stud.
        studs: Length,
        /// The most between two screws of a row; see [`WALL_SCREW_SPACING_IN`].
        screws: Length,
    },
}

/// What to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screws {
    /// In one sheet.
    pub per_sheet: u32,
    /// In all sheets, with waste, before rounding up.
    pub needed: f64,
    /// In all sheets, with waste, rounded up.
    pub screws: u32,
    /// Whole boxes.
    pub boxes: u32,
}

/// Why screws cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ScrewsError {
    /// A sheet has a face.
    #[error("a sheet {width} by {length} has no face: measure both")]
    NoSheet { width: Length, length: Length },
    /// Rows are some way apart.
    #[error("studs or screws at a spacing of 0 are endless: measure from centre to centre")]
    NoSpacing,
    /// A box holds something.
    #[error("a box without screws: read their count from the label")]
    EmptyBox,
    /// A count is beyond what is counted.
    #[error("the screws are more than can be counted: check the sizes and their units")]
    TooMany,
}

/// Joints to tape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TapeNeed {
    /// All joints between boards, and the corners that are taped too.
    pub joints: Length,
    /// What a roll holds.
    pub roll: Length,
    /// Added for waste.
    pub waste: Waste,
}

/// What to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tape {
    /// Rolls with waste, before rounding up.
    pub needed: f64,
    /// Whole rolls.
    pub rolls: u32,
}

/// Why tape cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TapeError {
    /// A roll holds something.
    #[error("a roll without tape: read its length from the label")]
    NoRoll,
    /// A count is beyond what is counted.
    #[error("the rolls are more than can be counted: check the lengths and their units")]
    TooMany,
}

/// A layer that gets damping compound on its back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DampingNeed {
    /// The boards to spread it on.
    pub area: Area,
    /// Tubes to 32 ft²; see [`DAMPING_TUBES_PER_32_FT2`].
    pub tubes_per_32_ft2: u32,
    /// Added for waste.
    pub waste: Waste,
}

/// What to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Damping {
    /// Tubes with waste, before rounding up.
    pub needed: f64,
    /// Whole tubes.
    pub tubes: u32,
}

/// Why tubes cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DampingError {
    /// Some is spread.
    #[error("no tubes to a sheet: read the coverage from the label, two to 32 ft2 are common")]
    NoTubes,
    /// A count is beyond what is counted.
    #[error("the tubes are more than can be counted: check the sizes and their units")]
    TooMany,
}

/// Counts screws, `sheets · screws in one`, with waste, and boxes of them.
///
/// By area a sheet takes one to a square foot, rounded up; in rows `(⌈width/studs⌉ + 1) · (⌈length/screws⌉ + 1)`.
///
/// # Errors
/// [`ScrewsError`].
///
/// # Source
/// Common practice, no source; spacings are the caller's, from local code.
pub fn screws(need: &ScrewNeed) -> Result<Screws, ScrewsError> {
    let &ScrewNeed { sheet_width, sheet_length, .. } = need;
    if sheet_width == Length::ZERO || sheet_length == Length::ZERO {
        return Err(ScrewsError::NoSheet { width: sheet_width, length: sheet_length });
    }
    if need.per_box == 0 {
        return Err(ScrewsError::EmptyBox);
    }
    let per_sheet = per_sheet(need)?;
    let all = i128::from(need.sheets) * per_sheet;
    let counted = need.waste.count_up(all, 1).ok_or(ScrewsError::TooMany)?;
    Ok(Screws {
        per_sheet: u32::try_from(per_sheet).map_err(|_| ScrewsError::TooMany)?,
        needed: counted.needed,
        screws: counted.whole,
        boxes: counted.whole.div_ceil(need.per_box),
    })
}

fn per_sheet(need: &ScrewNeed) -> Result<i128, ScrewsError> {
    let count = match need.pattern {
        Pattern::OnePerFt2 => divided_up(Area::of(need.sheet_width, need.sheet_length).nm2(), NM2_PER_FT2),
        Pattern::Rows { studs, screws } => {
            if studs == Length::ZERO || screws == Length::ZERO {
                return Err(ScrewsError::NoSpacing);
            }
            marks(need.sheet_width, studs) * marks(need.sheet_length, screws)
        }
    };
    if count > MOST_PER_SHEET { Err(ScrewsError::TooMany) } else { Ok(count) }
}

/// Marks along a length, both ends included, no further apart than the spacing.
fn marks(length: Length, spacing: Length) -> i128 {
    divided_up(i128::from(length.nm()), i128::from(spacing.nm())) + 1
}

/// Counts rolls of tape, `⌈joints · (1 + waste) / roll⌉`.
///
/// # Errors
/// [`TapeError`].
///
/// # Source
/// Common practice, no source.
pub fn tape(need: &TapeNeed) -> Result<Tape, TapeError> {
    if need.roll == Length::ZERO {
        return Err(TapeError::NoRoll);
    }
    let (joints, roll) = (i128::from(need.joints.nm()), i128::from(need.roll.nm()));
    let counted = need.waste.count_up(joints, roll).ok_or(TapeError::TooMany)?;
    Ok(Tape { needed: counted.needed, rolls: counted.whole })
}

/// Counts tubes of damping compound, `⌈area · tubes · (1 + waste) / 32 ft²⌉`.
///
/// # Errors
/// [`DampingError`].
///
/// # Source
/// Common practice, no source.
pub fn damping(need: &DampingNeed) -> Result<Damping, DampingError> {
    if need.tubes_per_32_ft2 == 0 {
        return Err(DampingError::NoTubes);
    }
    let spread = need.area.nm2().checked_mul(i128::from(need.tubes_per_32_ft2));
    let counted = spread.and_then(|spread| need.waste.count_up(spread, 32 * NM2_PER_FT2));
    let counted = counted.ok_or(DampingError::TooMany)?;
    Ok(Damping { needed: counted.needed, tubes: counted.whole })
}

#[cfg(test)]
mod tests;
