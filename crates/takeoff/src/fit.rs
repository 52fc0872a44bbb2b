//! From the cavities of a frame to the batts to cut for them: how wide, how long, and how many deep.
//!
//! Friction holds a batt, so it is cut a little wider than its bay. Leaves out how pieces are cut out of whole batts
//! ([`cuts`](crate::cuts) does that), wires and boxes in the way, and what a squeezed batt loses of its resistance.

use storypole_units::Length;

use crate::batts::Batt;
use crate::cuts::Size;
use crate::wall::Cell;
use crate::waste::divided_up;

/// More pieces than a person cuts for one frame; a unit was wrong.
const MOST_PARTS: i128 = 10_000;

/// How pieces are cut to their cavities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fit {
    /// Added to the width of the bay where a batt is ripped.
    pub oversize_width: Length,
    /// Added to the height of the cavity where a batt is cut to length: 0 to 1/2 in, more for stiff batts.
    pub oversize_length: Length,
    /// A batt wider than its bay, or longer than its cavity, by no more than this is left as it is.
    pub uncut_up_to: Length,
    /// A narrower cell gets no piece: rip waste fills it. What whole batts leave of a wider one is always cut, however narrow.
    pub min_bay_width: Length,
}

/// What the cells of one frame take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fitted {
    /// One for each piece, cell by cell, from the left and from below.
    pub parts: Vec<Part>,
    /// Cells that get no piece.
    pub slivers: Vec<Sliver>,
    /// Where the batt is shorter than every cell with a piece: how many stand end to end in the tallest.
    pub end_to_end: Option<u32>,
}

/// A piece of a batt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Part {
    /// As cut, across the bay.
    pub width: Length,
    /// As cut, up the bay.
    pub height: Length,
    /// Where it goes: an index into the cells that were given.
    pub cell: usize,
    /// It is ripped; otherwise it is as wide as the batt.
    pub cut_width: bool,
    /// It is cut across; otherwise it is as long as the batt.
    pub cut_length: bool,
}

/// A cell without a piece of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Sliver {
    /// An index into the cells that were given.
    pub cell: usize,
    /// Why it gets none.
    pub why: Narrow,
}

/// Why a cell below [`Fit::min_bay_width`] gets no piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum Narrow {
    /// It is no wider than what is added for friction, either.
    #[error("the bay is narrower than the friction fit: fill it with what is ripped off elsewhere")]
    ThanOversize,
    /// It would hold a piece, but not one worth cutting.
    #[error("the bay is too narrow for a piece of its own: fill it with what is ripped off elsewhere")]
    ThanPiece,
}

/// Why pieces cannot be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum FitError {
    /// A batt has a width.
    #[error("the batt has no width: measure it across")]
    NoWidth,
    /// A batt has a length.
    #[error("the batt has no length: measure it along")]
    NoLength,
    /// A batt is wider than what friction takes.
    #[error(
        "{oversize} for friction is as much as the batt is wide, {width}: it is commonly 1/2 in or 12 mm"
    )]
    OversizeTooWide { oversize: Length, width: Length },
    /// A batt is longer than what is added to its length.
    #[error(
        "{oversize} added to the length is as much as the batt is long, {length}: it is at most 1/2 in or 12 mm"
    )]
    OversizeTooLong { oversize: Length, length: Length },
    /// More pieces than a person cuts.
    #[error("the cells take more than 10000 pieces: check the size of the batt and its unit")]
    TooManyParts,
}

/// How batts fill a cavity from face to face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DepthFit {
    /// Batts, or slices of them, one behind another.
    pub batts_deep: u32,
    /// Slices that one batt is split into, 1 where it stays whole.
    pub slices_per_batt: u32,
    /// What they measure together before the cavity squeezes them; `None` where nothing is squeezed.
    pub squeezed_from: Option<Length>,
    /// What stays open in the depth.
    pub gap: Length,
}

/// Why a depth cannot be filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DepthError {
    /// A cavity has a depth.
    #[error("the cavity has no depth: measure the studs from face to face")]
    NoDepth,
    /// A batt has a thickness.
    #[error("the batt has no thickness: read it from the label")]
    NoThickness,
    /// The count passes 32 bits.
    #[error("the cavity takes more batts than can be counted: check the unit of both depths")]
    TooMany,
}

impl Fit {
    /// Returns what is usual in inches: 1/2 in added to the width, 3/4 in left uncut, no piece for a cell below 3 in.
    ///
    /// A batt of 15 in goes uncut into bays of 14 1/2 and 14 1/4 in; for a bay of 13 3/4 in it is cut to 14 1/4 in.
    ///
    /// # Source
    /// Common practice, no source.
    pub fn inches() -> Self {
        let [oversize_width, uncut_up_to, min_bay_width] = [12_700_000, 19_050_000, 76_200_000].map(length);
        Self { oversize_width, oversize_length: Length::ZERO, uncut_up_to, min_bay_width }
    }

    /// Returns what is usual in millimetres: 12 added to the width, 20 left uncut, no piece for a cell below 75.
    ///
    /// # Source
    /// Common practice, no source.
    pub fn millimetres() -> Self {
        let [oversize_width, uncut_up_to, min_bay_width] = [12_000_000, 20_000_000, 75_000_000].map(length);
        Self { oversize_width, oversize_length: Length::ZERO, uncut_up_to, min_bay_width }
    }
}

impl Part {
    /// Returns its sides, as a part to cut.
    pub fn size(self) -> Size {
        Size { width: self.width, length: self.height }
    }
}

impl Fitted {
    /// Returns the pieces of `times` equal fillings: frames one behind another, or batts one behind another in a cavity.
    ///
    /// # Errors
    /// [`FitError::TooManyParts`].
    pub fn repeated(&self, times: u32) -> Result<Vec<Part>, FitError> {
        if self.parts.len() as i128 * i128::from(times) > MOST_PARTS {
            return Err(FitError::TooManyParts);
        }
        let times = if self.parts.is_empty() { 0 } else { times };
        Ok((0..times).flat_map(|_| self.parts.iter().copied()).collect())
    }
}

impl DepthFit {
    /// Returns the batts to buy for `pieces` of one slice each, `⌈pieces / slices⌉`.
    ///
    /// `pieces` already counts every batt of the depth, as from [`Fitted::repeated`].
    pub fn batts(self, pieces: u32) -> u32 {
        pieces.div_ceil(self.slices_per_batt)
    }
}

/// Fits pieces of a batt to the cells of one frame.
///
/// A cell of width b takes `⌊b / w⌋` batts of width w side by side and a strip of the rest; one of height h takes `⌊h / l⌋`
/// batts of length l end to end and a remainder. A rest r is cut to `r + oversize`, never beyond the batt; where the
/// batt is wider or longer than r by no more than [`Fit::uncut_up_to`], it stays uncut. No rest is too small for a piece,
/// so a cell takes as many pieces as [`batts`](crate::batts::batts) counts for it.
///
/// # Units and shape
/// Cells as [`Frame::cells`](crate::wall::Frame::cells) has them. A low cell is filled however low it is.
///
/// # Errors
/// [`FitError`].
///
/// # Source
/// Common practice, no source.
pub fn fit(cells: &[Cell], batt: Batt, fit: Fit) -> Result<Fitted, FitError> {
    check(batt, fit)?;
    let mut fitted = Fitted { parts: Vec::new(), slivers: Vec::new(), end_to_end: None };
    let (mut tallest, mut is_short) = (0, true);
    for (cell, size) in cells.iter().enumerate().filter(|(_, cell)| cell.height > Length::ZERO) {
        if let Some(why) = narrow(size.width, fit) {
            fitted.slivers.push(Sliver { cell, why });
            continue;
        }
        let across = Run::new(size.width, batt.width, fit.oversize_width, fit);
        let up = Run::new(size.height, batt.length, fit.oversize_length, fit);
        let room = MOST_PARTS - fitted.parts.len() as i128;
        if across.count().saturating_mul(up.count()) > room {
            return Err(FitError::TooManyParts);
        }
        fitted.fill(cell, &across, &up);
        (tallest, is_short) = (tallest.max(up.count()), is_short && size.height > batt.length);
    }
    let end_to_end = is_short && tallest > 0;
    fitted.end_to_end = end_to_end.then(|| u32::try_from(tallest).expect("at most MOST_PARTS"));
    Ok(fitted)
}

/// Fills a depth with batts: split where one is at least twice as thick as the cavity is deep, else stacked.
///
/// A batt of thickness t gives `⌊t / d⌋` slices for a depth d when t ≥ 2·d; else `⌈(d - tolerance) / t⌉` batts, at least 1,
/// stand one behind another. The tolerance is 1/2 in: so much may stay open before another batt is pressed in.
///
/// # Units and shape
/// Slices are taken as equally thick, to the nanometre below.
///
/// # Errors
/// [`DepthError`].
///
/// # Source
/// Common practice, no source.
pub fn depth_fit(cavity_depth: Length, batt_thickness: Length) -> Result<DepthFit, DepthError> {
    let (depth_nm, thickness_nm) = (cavity_depth.nm(), batt_thickness.nm());
    match (depth_nm, thickness_nm) {
        (0, _) => return Err(DepthError::NoDepth),
        (_, 0) => return Err(DepthError::NoThickness),
        _ => (),
    }
    let tolerance_nm = 12_700_000;
    let slices = (thickness_nm / depth_nm).max(1);
    let deep = divided_up(i128::from((depth_nm - tolerance_nm).max(1)), i128::from(thickness_nm));
    let together_nm = i128::from(thickness_nm / slices) * deep;
    let over_nm = together_nm - i128::from(depth_nm);
    let in_range = |nm: i128| i64::try_from(nm).ok().and_then(|nm| Length::from_nm(nm).ok());
    Ok(DepthFit {
        batts_deep: u32::try_from(deep).map_err(|_| DepthError::TooMany)?,
        slices_per_batt: u32::try_from(slices).map_err(|_| DepthError::TooMany)?,
        squeezed_from: if over_nm > 0 { in_range(together_nm) } else { None },
        gap: in_range((-over_nm).max(0)).expect("a gap is less than the depth"),
    })
}

/// Pieces in one row: whole batts, then perhaps a cut one.
struct Run {
    whole: i128,
    batt: Length,
    last: Option<Length>,
}

impl Run {
    fn new(extent: Length, batt: Length, oversize: Length, fit: Fit) -> Self {
        let (whole, rest) = (extent.nm() / batt.nm(), extent.nm() % batt.nm());
        let plain = Self { whole: whole.into(), batt, last: None };
        match rest {
            0 => plain,
            _ if batt.nm() - rest <= fit.uncut_up_to.nm() => Self { whole: plain.whole + 1, ..plain },
            _ => Self { last: Some(length((rest + oversize.nm()).min(batt.nm()))), ..plain },
        }
    }

    fn count(&self) -> i128 {
        self.whole + i128::from(self.last.is_some())
    }

    /// The pieces with whether each is cut.
    fn pieces(&self) -> impl Iterator<Item = (Length, bool)> {
        let last = self.last.map(|last| (last, last < self.batt));
        (0..self.whole).map(|_| (self.batt, false)).chain(last)
    }
}

impl Fitted {
    fn fill(&mut self, cell: usize, across: &Run, up: &Run) {
        for (width, cut_width) in across.pieces() {
            for (height, cut_length) in up.pieces() {
                self.parts.push(Part { width, height, cell, cut_width, cut_length });
            }
        }
    }
}

fn check(batt: Batt, fit: Fit) -> Result<(), FitError> {
    if batt.width == Length::ZERO {
        return Err(FitError::NoWidth);
    }
    if batt.length == Length::ZERO {
        return Err(FitError::NoLength);
    }
    if fit.oversize_width >= batt.width {
        return Err(FitError::OversizeTooWide { oversize: fit.oversize_width, width: batt.width });
    }
    if fit.oversize_length >= batt.length {
        return Err(FitError::OversizeTooLong { oversize: fit.oversize_length, length: batt.length });
    }
    Ok(())
}

fn narrow(width: Length, fit: Fit) -> Option<Narrow> {
    // A width of 0 takes nothing, whatever the least is.
    let is_narrow = width < fit.min_bay_width || width == Length::ZERO;
    let why = if width <= fit.oversize_width { Narrow::ThanOversize } else { Narrow::ThanPiece };
    is_narrow.then_some(why)
}

/// A length that is part of one that was given, or a few inches.
fn length(nm: i64) -> Length {
    Length::from_nm(nm).expect("no more than a length that was given")
}

#[cfg(test)]
mod tests;
