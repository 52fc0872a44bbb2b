//! What cannot be cut, refused in words.
//!
//! Leaves out whether studs of two rows meet: rows are drawn as given.

use std::fmt;

use storypole_units::Length;

use super::{LeafBox, Section, Via};
use crate::markup::plain;

/// The most layers on a side, rows of studs, plates or fills. Convention of this project: beyond it nothing can be read.
const MOST_PARTS: usize = 12;
/// The most studs across the drawing, by the same convention.
const MOST_STUDS: i64 = 200;
/// Sizes in a notation of whole millimetres may differ by this much and still fit.
const ROUNDED_NM: i64 = 1_000_000;

/// Why an assembly cannot be cut.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SectionError {
    /// A drawing is about something.
    #[error("a drawing without a title: say which assembly it shows")]
    NoTitle,
    /// A side is a room or the outside.
    #[error("side {side} has no name: say which room it is")]
    NoSideName { side: Side },
    /// Neither boards nor studs.
    #[error("an assembly without boards and studs is nothing to draw: give a leaf or a frame")]
    Nothing,
    /// A layer has a word and a thickness.
    #[error("layer {} of side {side} has no word or no thickness: read both from the board", .index + 1)]
    Layer { side: Side, index: usize },
    /// Channel or clips take room.
    #[error("the channel of side {side} has no depth: measure it from the stud to its face")]
    NoChannelDepth { side: Side },
    /// A stud has a section and a spacing.
    #[error("row {} of studs has no width, depth or spacing: measure all three", .index + 1)]
    NoStud { index: usize },
    /// Studs of one row stand apart.
    #[error("row {} has studs {face} wide every {spacing}, so they meet: measure both", .index + 1)]
    StudsMeet { index: usize, face: Length, spacing: Length },
    /// A row is far finer than the rest.
    #[error("row {} of studs is too dense to draw beside the others: check its spacing", .index + 1)]
    TooDense { index: usize },
    /// Something needs more depth than there is.
    #[error("{part} reaches to {reach} from side A, and the cavity is {cavity} deep: measure the cavity")]
    TooDeep { part: Part, reach: Length, cavity: Length },
    /// Channel needs more room than the studs leave.
    #[error("the channel of side {side} is {depth} deep, and the studs leave {room}: measure the cavity")]
    NoRoomForChannel { side: Side, depth: Length, room: Length },
    /// A fill or a plate has a word or a size.
    #[error("{part} has no word or no thickness: say what it is and measure it")]
    NoPart { part: Part },
    /// A share of bays.
    #[error("{part} fills {percent} percent of the bays: give a share from 1 to 100")]
    Coverage { part: Part, percent: u8 },
    /// More than can be read.
    #[error("{count} layers, rows or fills are too many for one drawing: at most {MOST_PARTS} of a kind")]
    TooMany { count: usize },
}

/// One of the two sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Side {
    A,
    B,
}

/// Something in the cavity; `index` counts from 0, the words from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Part {
    Row { index: usize },
    Plate { index: usize },
    Fill { index: usize },
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::B => "B",
        })
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Row { index } => write!(f, "row {} of studs", index + 1),
            Self::Plate { index } => write!(f, "plate {}", index + 1),
            Self::Fill { index } => write!(f, "fill {}", index + 1),
        }
    }
}

pub(super) fn check(assembly: &Section) -> Result<(), SectionError> {
    if plain(&assembly.title).is_empty() {
        return Err(SectionError::NoTitle);
    }
    for (side, name) in [(Side::A, &assembly.side_a), (Side::B, &assembly.side_b)] {
        if plain(name).is_empty() {
            return Err(SectionError::NoSideName { side });
        }
    }
    let (a, b, frame) = (&assembly.leaf_a, &assembly.leaf_b, &assembly.frame);
    let counts = [a.layers.len(), b.layers.len(), frame.rows.len(), frame.plates.len(), assembly.fills.len()];
    if let Some(count) = counts.into_iter().find(|&count| count > MOST_PARTS) {
        return Err(SectionError::TooMany { count });
    }
    if a.layers.is_empty() && b.layers.is_empty() && frame.rows.is_empty() {
        return Err(SectionError::Nothing);
    }
    check_leaf(a, Side::A)?;
    check_leaf(b, Side::B)?;
    check_rows(assembly)?;
    check_fills(assembly)?;
    check_depths(assembly)
}

fn check_leaf(leaf: &LeafBox, side: Side) -> Result<(), SectionError> {
    let lacks = |layer: &super::LayerBox| layer.thickness == Length::ZERO || plain(&layer.word).is_empty();
    if let Some(index) = leaf.layers.iter().position(lacks) {
        return Err(SectionError::Layer { side, index });
    }
    if leaf.via != Via::Direct && leaf.via.depth() == Length::ZERO {
        return Err(SectionError::NoChannelDepth { side });
    }
    Ok(())
}

fn check_rows(assembly: &Section) -> Result<(), SectionError> {
    let rows = &assembly.frame.rows;
    let widest = rows.iter().map(|row| row.spacing.nm()).max().unwrap_or(0);
    for (index, row) in rows.iter().enumerate() {
        if [row.face, row.depth, row.spacing].contains(&Length::ZERO) {
            return Err(SectionError::NoStud { index });
        }
        if row.face >= row.spacing {
            return Err(SectionError::StudsMeet { index, face: row.face, spacing: row.spacing });
        }
        if widest / row.spacing.nm() > MOST_STUDS / 4 {
            return Err(SectionError::TooDense { index });
        }
    }
    match assembly.frame.plates.iter().position(|plate| plate.depth == Length::ZERO) {
        Some(index) => Err(SectionError::NoPart { part: Part::Plate { index } }),
        None => Ok(()),
    }
}

fn check_fills(assembly: &Section) -> Result<(), SectionError> {
    for (index, fill) in assembly.fills.iter().enumerate() {
        let part = Part::Fill { index };
        if fill.thickness == Length::ZERO || plain(&fill.word).is_empty() {
            return Err(SectionError::NoPart { part });
        }
        if let Some(percent) = fill.coverage_percent.filter(|percent| !(1..=100).contains(percent)) {
            return Err(SectionError::Coverage { part, percent });
        }
    }
    Ok(())
}

/// Everything in the cavity fits into it, channel included.
fn check_depths(assembly: &Section) -> Result<(), SectionError> {
    let cavity = assembly.cavity_depth;
    let rows = assembly.frame.rows.iter().enumerate();
    let rows = rows.map(|(index, row)| (Part::Row { index }, row.from_a, row.depth));
    let plates = assembly.frame.plates.iter().enumerate();
    let plates = plates.map(|(index, plate)| (Part::Plate { index }, plate.from_a, plate.depth));
    let fills = assembly.fills.iter().enumerate();
    let fills = fills.map(|(index, fill)| (Part::Fill { index }, fill.from_a, fill.thickness));
    for (part, from_a, depth) in rows.chain(plates).chain(fills) {
        let reach = from_a.checked_add(depth).unwrap_or(Length::MAX);
        if reach.nm() - cavity.nm() > ROUNDED_NM {
            return Err(SectionError::TooDeep { part, reach, cavity });
        }
    }
    let rows = &assembly.frame.rows;
    let before = rows.iter().map(|row| row.from_a).min().unwrap_or(cavity);
    let end = rows.iter().map(|row| row.from_a.nm() + row.depth.nm()).max().unwrap_or(0);
    let behind = Length::from_nm((cavity.nm() - end).max(0)).expect("less than the cavity");
    for (side, leaf, room) in [(Side::A, &assembly.leaf_a, before), (Side::B, &assembly.leaf_b, behind)] {
        let depth = leaf.via.depth();
        if depth.nm() - room.nm() > ROUNDED_NM {
            return Err(SectionError::NoRoomForChannel { side, depth, room });
        }
    }
    Ok(())
}
