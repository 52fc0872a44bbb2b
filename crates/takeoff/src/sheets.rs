//! Board on one side of a wall, piece by piece: where the sheets break, what is cut from which sheet, how long the joints are.
//!
//! Sheets stand upright side by side from the left end, or lie in rows from the floor. A board runs past a small opening,
//! which is cut out of it; a large one splits it into rectangles, where a site would often cut an L. Leaves out staggered
//! joints, edges that must land on a stud, screws, and the second layer.

use storypole_units::{Area, Length};

use crate::boards::{BoardNeed, BoardsError, Cutout, Layers, boards};
use crate::cuts::{self, CutError, CutPlan, Size, Stock};
use crate::waste::Waste;

/// 4 by 4 ft, 16 ft2: a larger opening splits the board. Common practice, no source.
const SIDE_OF_SPLIT_OVER_NM: i64 = 1_219_200_000;

/// A face to cover with one layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetNeed {
    /// From end to end.
    pub length: Length,
    /// From the lower edge of the board to the upper.
    pub board_height: Length,
    /// Doors and windows, in any order.
    pub openings: Vec<BoardOpening>,
    /// One sheet; its length is the way the paper runs.
    pub sheet: Size,
    /// How sheets are set.
    pub way: Way,
    /// Lost between two parts of a sheet: nothing where board is scored and snapped.
    pub kerf: Length,
    /// Whether openings larger than 16 ft2 split the board; else it runs past all of them.
    pub deduct_openings: bool,
    /// Added in the count by area.
    pub waste: Waste,
}

/// An opening in the board, from the left end and from the lower edge of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub struct BoardOpening {
    pub left: Length,
    pub width: Length,
    pub bottom: Length,
    pub top: Length,
}

/// How sheets are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Way {
    /// Their length goes up the wall.
    Upright,
    /// Their length goes along the wall.
    Sideways,
}

/// A layer of board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheets {
    /// Pieces on the wall; a placement's part is an index into these.
    pub pieces: Vec<BoardPiece>,
    /// Openings that are cut out of a board that runs past: indexes into the openings.
    pub cut_outs: Vec<usize>,
    /// Which sheet gives which piece, and what is left.
    pub plan: CutPlan,
    /// Where pieces meet, to be taped; corners and edges at openings are not in it.
    pub joint_length: Length,
    /// Sheets by area with waste, for comparison.
    pub by_area: u32,
}

/// A piece of board on the wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct BoardPiece {
    /// From the left end.
    pub left: Length,
    /// From the lower edge of the board.
    pub bottom: Length,
    /// Along the wall.
    pub width: Length,
    /// Up the wall.
    pub height: Length,
}

/// Why sheets cannot be laid out; openings count from 0, the messages from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SheetError {
    /// A sheet has a face.
    #[error("a sheet of {width} by {length} has no face: it is commonly 4 by 8 ft")]
    NoSheet { width: Length, length: Length },
    /// An opening has a face.
    #[error("opening {} is {width} wide from {bottom} to {top}, which is nothing: measure it again", .index + 1)]
    EmptyOpening { index: usize, width: Length, bottom: Length, top: Length },
    /// An opening lies within the board.
    #[error("opening {} does not lie within the board: check where it begins and ends", .index + 1)]
    OpeningOutside { index: usize },
    /// Openings lie apart.
    #[error("openings {} and {} overlap: check where they begin and end", .first + 1, .second + 1)]
    OpeningsOverlap { first: usize, second: usize },
    /// More pieces than are planned.
    #[error("the wall takes more than 10000 pieces of board: check the sizes and their units")]
    TooManyPieces,
    /// The count by area says why.
    #[error(transparent)]
    Area(#[from] BoardsError),
    /// The cuts say why.
    #[error(transparent)]
    Cuts(#[from] CutError),
}

/// Lays one layer of sheets out and plans their cuts.
///
/// The wall is divided into bands as wide as a sheet, from the left when upright and from the floor when sideways; a band
/// is parted where a large opening begins or ends, and broken at every sheet's length, so that a wall higher than the
/// sheet gets a strip on top. The pieces are then cut by [`cuts::plan`], none of them turned.
///
/// # Units and shape
/// Joints: the sum over pairs of pieces of the edge that they share.
///
/// # Errors
/// [`SheetError`].
///
/// # Source
/// Common practice, no source.
pub fn sheets(need: &SheetNeed) -> Result<Sheets, SheetError> {
    check(need)?;
    let by_area = by_area(need)?;
    let splits = |opening: &BoardOpening| need.deduct_openings && opening.is_large();
    let holes: Vec<Span2> = need
        .openings
        .iter()
        .filter(|opening| splits(opening))
        .map(|opening| opening.span(need.way))
        .collect();
    let faces = bands(need, &holes)?;
    let parts: Vec<Size> = faces
        .iter()
        .map(|face| Size { width: length(face.across.extent()), length: length(face.along.extent()) })
        .collect();
    let Size { width, length } = need.sheet;
    let plan = cuts::plan(&parts, Stock { width, length, kerf: need.kerf }, &[])?;
    Ok(Sheets {
        joint_length: joints(&faces)?,
        pieces: faces.into_iter().map(|face| face.piece(need.way)).collect(),
        cut_outs: (0..need.openings.len()).filter(|&index| !splits(&need.openings[index])).collect(),
        plan,
        by_area,
    })
}

/// From one position to another, nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Span {
    from: i64,
    to: i64,
}

/// A rectangle by the way sheets are set: across a sheet, and along it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Span2 {
    across: Span,
    along: Span,
}

impl Span {
    fn extent(self) -> i64 {
        self.to - self.from
    }

    /// How much two spans share; nothing where they only touch.
    fn shared(self, other: Self) -> i64 {
        (self.to.min(other.to) - self.from.max(other.from)).max(0)
    }

    fn touches(self, other: Self) -> bool {
        self.to == other.from || other.to == self.from
    }
}

impl Span2 {
    fn of(face: BoardPiece, way: Way) -> Self {
        let span = |from: Length, extent: Length| Span { from: from.nm(), to: from.nm() + extent.nm() };
        let (along_wall, up) = (span(face.left, face.width), span(face.bottom, face.height));
        match way {
            Way::Upright => Self { across: along_wall, along: up },
            Way::Sideways => Self { across: up, along: along_wall },
        }
    }

    fn piece(self, way: Way) -> BoardPiece {
        let (along_wall, up) = match way {
            Way::Upright => (self.across, self.along),
            Way::Sideways => (self.along, self.across),
        };
        let [left, bottom, width, height] =
            [along_wall.from, up.from, along_wall.extent(), up.extent()].map(length);
        BoardPiece { left, bottom, width, height }
    }
}

impl BoardOpening {
    fn height(self) -> Length {
        self.top.checked_sub(self.bottom).unwrap_or(Length::ZERO)
    }

    fn is_large(self) -> bool {
        let side = length(SIDE_OF_SPLIT_OVER_NM);
        Area::of(self.width, self.height()) > Area::of(side, side)
    }

    fn span(self, way: Way) -> Span2 {
        let face =
            BoardPiece { left: self.left, bottom: self.bottom, width: self.width, height: self.height() };
        Span2::of(face, way)
    }
}

/// The pieces, band by band.
fn bands(need: &SheetNeed, holes: &[Span2]) -> Result<Vec<Span2>, SheetError> {
    let whole = BoardPiece {
        left: Length::ZERO,
        bottom: Length::ZERO,
        width: need.length,
        height: need.board_height,
    };
    let whole = Span2::of(whole, need.way);
    let (wide, long) = (need.sheet.width.nm(), need.sheet.length.nm());
    let most = cuts::MOST_PARTS as i64;
    if whole.across.to / wide > most || whole.along.to / long > most {
        return Err(SheetError::TooManyPieces);
    }
    let mut faces = Vec::new();
    for band in broken(whole.across, wide) {
        for (across, free) in parted(band, whole.along, holes) {
            let lengths = free.into_iter().flat_map(|span| broken(span, long));
            faces.extend(lengths.map(|along| Span2 { across, along }));
            if faces.len() > cuts::MOST_PARTS {
                return Err(SheetError::TooManyPieces);
            }
        }
    }
    Ok(faces)
}

/// Breaks a span at every multiple of `step` from its beginning.
fn broken(span: Span, step: i64) -> impl Iterator<Item = Span> {
    let count = (span.extent() + step - 1) / step;
    (0..count).map(move |index| {
        let from = span.from + index * step;
        Span { from, to: span.to.min(from + step) }
    })
}

/// Parts a band where holes begin and end, and lists what is free along each part; equal neighbours stay together.
fn parted(band: Span, along: Span, holes: &[Span2]) -> Vec<(Span, Vec<Span>)> {
    let edges = holes.iter().flat_map(|hole| [hole.across.from, hole.across.to]);
    let inside = edges.filter(|&edge| band.from < edge && edge < band.to);
    let mut edges: Vec<i64> = [band.from, band.to].into_iter().chain(inside).collect();
    edges.sort_unstable();
    edges.dedup();
    let mut parts: Vec<(Span, Vec<Span>)> = Vec::new();
    for pair in edges.windows(2) {
        let part = Span { from: pair[0], to: pair[1] };
        let free = free_along(part, along, holes);
        match parts.last_mut() {
            Some((before, same)) if *same == free => before.to = part.to,
            _ => parts.push((part, free)),
        }
    }
    parts
}

/// What no hole takes along a part of a band.
fn free_along(part: Span, along: Span, holes: &[Span2]) -> Vec<Span> {
    let mut taken: Vec<Span> =
        holes.iter().filter(|hole| hole.across.shared(part) > 0).map(|hole| hole.along).collect();
    taken.sort_by_key(|span| span.from);
    let mut free = Vec::new();
    let mut reached = along.from;
    for span in taken.into_iter().chain([Span { from: along.to, to: along.to }]) {
        if span.from > reached {
            free.push(Span { from: reached, to: span.from });
        }
        reached = reached.max(span.to);
    }
    free
}

/// Sums the edges that pieces share.
fn joints(faces: &[Span2]) -> Result<Length, SheetError> {
    let mut sum_nm = 0_i64;
    for (index, one) in faces.iter().enumerate() {
        for other in &faces[..index] {
            if one.across.touches(other.across) {
                sum_nm = sum_nm.saturating_add(one.along.shared(other.along));
            }
            if one.along.touches(other.along) {
                sum_nm = sum_nm.saturating_add(one.across.shared(other.across));
            }
        }
    }
    Length::from_nm(sum_nm).map_err(|_| SheetError::TooManyPieces)
}

fn by_area(need: &SheetNeed) -> Result<u32, SheetError> {
    let side = length(SIDE_OF_SPLIT_OVER_NM);
    let cutout = |opening: &BoardOpening| Cutout { width: opening.width, height: opening.height() };
    let layers = |count| Layers { thickness: Length::ZERO, count };
    let counted = boards(&BoardNeed {
        length: need.length,
        height: need.board_height,
        openings: need.openings.iter().map(cutout).collect(),
        deduct_over: if need.deduct_openings { Area::of(side, side) } else { Area::MAX },
        side_a: layers(1),
        side_b: layers(0),
        waste: need.waste,
        sheet: Area::of(need.sheet.width, need.sheet.length),
    })?;
    Ok(counted.sheets_a)
}

fn check(need: &SheetNeed) -> Result<(), SheetError> {
    let Size { width, length } = need.sheet;
    if width == Length::ZERO || length == Length::ZERO {
        return Err(SheetError::NoSheet { width, length });
    }
    for (index, &opening) in need.openings.iter().enumerate() {
        let BoardOpening { left, width, bottom, top } = opening;
        if width == Length::ZERO || top <= bottom {
            return Err(SheetError::EmptyOpening { index, width, bottom, top });
        }
        if left.checked_add(width).is_none_or(|right| right > need.length) || top > need.board_height {
            return Err(SheetError::OpeningOutside { index });
        }
        let span = opening.span(Way::Upright);
        let overlaps = |other: &BoardOpening| {
            let other = other.span(Way::Upright);
            span.across.shared(other.across) > 0 && span.along.shared(other.along) > 0
        };
        if let Some(first) = need.openings[..index].iter().position(overlaps) {
            return Err(SheetError::OpeningsOverlap { first, second: index });
        }
    }
    Ok(())
}

/// A length within the wall, or the side of a large opening.
fn length(nm: i64) -> Length {
    Length::from_nm(nm).expect("nothing on a wall is longer than the wall")
}

#[cfg(test)]
mod tests;
