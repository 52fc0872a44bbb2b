//! Rectangles cut out of equal rectangles with a knife and a straightedge: batts, boards, and lengths of lumber or channel.
//!
//! A piece of stock is cut across into blocks, each block is ripped into strips, a strip is cut across again into parts,
//! and a part narrower than its strip is trimmed. Nothing is turned: fibre and paper run along the length. Leaves out
//! other ways of cutting, defects in the stock, and prices.

use storypole_units::{Area, Length};

mod bound;
mod draws;
mod exact;
mod first_fit;
mod improve;
mod layout;
mod offcuts;
mod search;

use layout::{Blank, Item};

/// More parts than a person cuts; a unit was wrong.
pub const MOST_PARTS: usize = 10_000;

/// 1 km: no piece is longer, and areas of as many as there may be are still counted exactly.
const LONGEST_NM: i64 = 1_000_000_000_000;

/// The sides of a part, or of a piece at hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Size {
    /// Across.
    pub width: Length,
    /// Along: the way fibre or paper runs.
    pub length: Length,
}

/// What is bought, in equal pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Stock {
    /// Across.
    pub width: Length,
    /// Along.
    pub length: Length,
    /// Lost between two parts: nothing for a knife, about 1/8 in or 3 mm for a saw (common practice, no source).
    pub kerf: Length,
}

/// How to cut the parts, and how many pieces to buy for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutPlan {
    /// What is cut: first what lies at hand, then what is bought. Every part stands in one of them.
    pub pieces: Vec<CutPiece>,
    /// Pieces to buy.
    pub bought: u32,
    /// The fewest pieces that any way of cutting could do with, even one that no knife can follow.
    pub bound: u32,
    /// No plan with these cuts buys fewer.
    pub proven: bool,
    /// How the plan was found.
    pub method: &'static str,
    /// What plain first-fit decreasing would buy, for comparison.
    pub first_fit: u32,
    /// Of the parts.
    pub parts_area: Area,
    /// Of the offcuts.
    pub offcut_area: Area,
    /// Of all that is neither a part nor an offcut.
    pub waste_area: Area,
}

/// One piece and what is cut from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutPiece {
    /// Where it comes from.
    pub from: Source,
    /// Its size.
    pub size: Size,
    /// Its parts, from below and from the left.
    pub placements: Vec<Placement>,
    /// What is left, the largest first. They can be cut without touching a part, and measure 3 in or 75 mm at least
    /// both ways; of a piece narrower than that, they are as wide as the piece.
    pub offcuts: Vec<Offcut>,
}

/// Where a piece comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Source {
    /// Bought.
    Stock,
    /// There already; an index into what lies at hand.
    #[expect(missing_docs, reason = "the field is named above")]
    Hand { index: usize },
}

/// Where a part lies in its piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Placement {
    /// An index into the parts.
    pub part: usize,
    /// From the left side of the piece.
    pub left: Length,
    /// From the lower end of the piece.
    pub bottom: Length,
    /// Of the part.
    pub width: Length,
    /// Of the part, along the piece.
    pub height: Length,
}

/// A rectangle that is left of a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Offcut {
    /// From the left side of the piece.
    pub left: Length,
    /// From the lower end of the piece.
    pub bottom: Length,
    /// Across.
    pub width: Length,
    /// Along.
    pub height: Length,
}

/// Why cuts cannot be planned; parts and pieces count from 0, the messages from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum CutError {
    /// Stock has a face.
    #[error("a piece of {width} by {length} has no face: measure both sides")]
    EmptyStock { width: Length, length: Length },
    /// Longer than any piece is made.
    #[error("a piece of {width} by {length} is longer than 1 km: check the units")]
    StockTooLarge { width: Length, length: Length },
    /// A cut takes less than the piece.
    #[error(
        "a cut that takes {kerf} leaves nothing of {width} by {length}: a saw takes about 1/8 in or 3 mm"
    )]
    KerfTooLarge { kerf: Length, width: Length, length: Length },
    /// A part has a face.
    #[error("part {} of {width} by {length} has no face: measure both sides", .part + 1)]
    EmptyPart { part: usize, width: Length, length: Length },
    /// A part does not come out of one piece.
    #[error("part {} is {width} wide, the stock {stock}: split the part or take wider stock", .part + 1)]
    TooWide { part: usize, width: Length, stock: Length },
    /// A part does not come out of one piece.
    #[error("part {} is {length} long, the stock {stock}: split the part or take longer stock", .part + 1)]
    TooLong { part: usize, length: Length, stock: Length },
    /// More than [`MOST_PARTS`].
    #[error("{count} parts are more than 10000: check the sizes and their units")]
    TooManyParts { count: usize },
    /// More than [`MOST_PARTS`].
    #[error("{count} pieces at hand are more than 10000: leave out the small ones")]
    TooManyAtHand { count: usize },
}

impl Stock {
    /// Returns its sides.
    pub fn size(self) -> Size {
        Size { width: self.width, length: self.length }
    }
}

impl Offcut {
    /// Returns its sides, as a piece at hand for the next plan.
    pub fn size(self) -> Size {
        Size { width: self.width, length: self.height }
    }
}

impl CutPlan {
    /// Counts the pieces at hand that are cut.
    pub fn from_hand(&self) -> usize {
        self.pieces.iter().filter(|piece| piece.from != Source::Stock).count()
    }
}

/// Plans the cuts of all parts out of as few bought pieces as are found.
///
/// Pieces at hand go first. Parts that share a piece with no other part are set aside, the others are laid out by first-fit
/// decreasing, by best fit in several orders, by breaking a few pieces up again and again, and, where there are few of
/// them, by trying every arrangement of these cuts up to a fixed count of steps. It stops as soon as the count is the
/// least possible. The same request always gives the same plan, and never more pieces than first-fit decreasing.
///
/// # Units and shape
/// Placements count parts from 0, in the order given. Lengths of lumber or channel are parts as wide as the stock. A
/// further piece at the end of `at_hand` never makes more pieces bought; of pieces that differ from the stock, the first 60
/// that hold a part are looked at.
///
/// # Errors
/// [`CutError`].
pub fn plan(parts: &[Size], stock: Stock, at_hand: &[Size]) -> Result<CutPlan, CutError> {
    check(parts, stock, at_hand)?;
    let (items, blank) = (items(parts, stock), Blank::new(stock.size(), stock.kerf));
    let hand: Vec<Blank> = at_hand.iter().map(|size| Blank::new(*size, stock.kerf)).collect();
    let found = search::search(&items, blank, &hand);
    Ok(told(parts, stock, at_hand, found))
}

/// Counts the pieces that plain first-fit decreasing buys, as a measure for [`plan`].
///
/// The longest part first, each into the first block that is long enough and has room, else into a new block in the first
/// piece with room, else into a new piece.
///
/// # Errors
/// [`CutError`].
///
/// # Source
/// The level form of first fit in handbooks of two-dimensional packing, from memory.
pub fn first_fit_decreasing(parts: &[Size], stock: Stock) -> Result<u32, CutError> {
    check(parts, stock, &[])?;
    let (items, blank) = (items(parts, stock), Blank::new(stock.size(), stock.kerf));
    Ok(count(first_fit::first_fit(&items, blank, &[]).bought()))
}

fn items(parts: &[Size], stock: Stock) -> Vec<Item> {
    parts.iter().enumerate().map(|(part, size)| Item::new(part, *size, stock)).collect()
}

fn check(parts: &[Size], stock: Stock, at_hand: &[Size]) -> Result<(), CutError> {
    let Stock { width, length, kerf } = stock;
    if width == Length::ZERO || length == Length::ZERO {
        return Err(CutError::EmptyStock { width, length });
    }
    let sizes = at_hand.iter().map(|size| (size.width, size.length)).chain([(width, length)]);
    for (width, length) in sizes {
        if width.nm() > LONGEST_NM || length.nm() > LONGEST_NM {
            return Err(CutError::StockTooLarge { width, length });
        }
    }
    if kerf >= width || kerf >= length {
        return Err(CutError::KerfTooLarge { kerf, width, length });
    }
    if parts.len() > MOST_PARTS {
        return Err(CutError::TooManyParts { count: parts.len() });
    }
    if at_hand.len() > MOST_PARTS {
        return Err(CutError::TooManyAtHand { count: at_hand.len() });
    }
    parts.iter().enumerate().try_for_each(|(part, size)| check_part(part, *size, stock))
}

fn check_part(part: usize, size: Size, stock: Stock) -> Result<(), CutError> {
    let Size { width, length } = size;
    if width == Length::ZERO || length == Length::ZERO {
        return Err(CutError::EmptyPart { part, width, length });
    }
    if width > stock.width {
        return Err(CutError::TooWide { part, width, stock: stock.width });
    }
    if length > stock.length {
        return Err(CutError::TooLong { part, length, stock: stock.length });
    }
    Ok(())
}

/// Turns a layout into placements and offcuts.
fn told(parts: &[Size], stock: Stock, at_hand: &[Size], found: search::Found) -> CutPlan {
    let mut pieces: Vec<CutPiece> = Vec::new();
    for piece in found.layout.pieces.iter().filter(|piece| !piece.blocks.is_empty()) {
        let (from, size) = match piece.hand {
            Some(index) => (Source::Hand { index }, at_hand[index]),
            None => (Source::Stock, stock.size()),
        };
        let placements = piece.placements(parts);
        let offcuts = offcuts::offcuts(&placements, size, stock.kerf);
        pieces.push(CutPiece { from, size, placements, offcuts });
    }
    pieces.sort_by_key(|piece| match piece.from {
        Source::Hand { index } => (0, index),
        Source::Stock => (1, 0),
    });
    let face = |sizes: &mut dyn Iterator<Item = Size>| -> i128 {
        sizes.map(|size| Area::of(size.width, size.length).nm2()).sum()
    };
    let all = face(&mut pieces.iter().map(|piece| piece.size));
    let parts_nm2 = face(&mut parts.iter().copied());
    let offcuts_nm2 =
        face(&mut pieces.iter().flat_map(|piece| piece.offcuts.iter().map(|offcut| offcut.size())));
    CutPlan {
        bought: count(pieces.iter().filter(|piece| piece.from == Source::Stock).count()),
        pieces,
        bound: found.bound,
        proven: found.proven,
        method: found.method,
        first_fit: found.first_fit,
        parts_area: area(parts_nm2),
        offcut_area: area(offcuts_nm2),
        waste_area: area(all - parts_nm2 - offcuts_nm2),
    }
}

fn count(pieces: usize) -> u32 {
    u32::try_from(pieces).expect("no more pieces than parts")
}

fn area(nm2: i128) -> Area {
    Area::from_nm2(nm2).expect("pieces of at most 1 km, and parts within them")
}

#[cfg(test)]
mod tests;
