//! How deep the cavities of an assembly are and how deep they are filled. Leaves out their faces: see `framing`.

use storypole_notebook::Book;
use storypole_notebook::assembly::{Cavity, Coupling, Fill, Frame, Leaf, Milli, Via};
use storypole_notebook::kinds::Assembly;
use storypole_takeoff::fit::{DepthError, DepthFit, depth_fit};
use storypole_units::Length;

use super::framing::frame_part;

/// Depths are written in whole millimetres: a difference up to this is rounding.
pub(super) const SMALL_GAP_NM: i64 = 2_000_000;

/// The depth of the cavities of one frame, and the fill that is written for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Depth {
    /// Between the faces of the frame; of studs in two rows on one plate, that of the plate.
    pub(super) clear: Length,
    /// The fill as written, all frames together.
    written: Option<Length>,
    /// Between two frames.
    gap: Length,
}

impl Depth {
    /// The depth of an assembly. Where no frame is written, it is the clear depth of the cavity without what channel takes
    /// of it.
    pub(super) fn of(book: &Book, one: &Assembly) -> Option<Self> {
        let frame = frame_part(book, one.id);
        let Milli(um) = match &frame {
            Some(Frame::Studs {
                arrangement: Coupling::Staggered,
                studs,
                plate_mm: Some((_, plate)),
                ..
            }) => studs.depth_mm.max(*plate),
            Some(Frame::Studs { studs, .. }) => studs.depth_mm,
            _ => between_channels(one)?,
        };
        let gap = match frame {
            Some(Frame::Studs { arrangement: Coupling::Double, gap_mm: Some(gap), .. }) => length(gap),
            _ => None,
        };
        let written = written_fill(one).and_then(|fill| length(fill.thickness_mm));
        Some(Self {
            clear: length(Milli(um))?,
            written: written.filter(|thickness| *thickness > Length::ZERO),
            gap: gap.unwrap_or(Length::ZERO),
        })
    }

    /// How deep loose fill lies in one frame.
    pub(super) fn loose(self) -> Length {
        self.written.map_or(self.clear, |written| written.min(self.clear))
    }

    /// What loose fill takes of the gap between two frames: as far as it is written thicker than both.
    pub(super) fn loose_in_gap(self) -> Length {
        let written_nm = self.written.map_or(0, Length::nm);
        let beyond = Length::from_nm(written_nm - 2 * self.clear.nm()).unwrap_or(Length::ZERO);
        beyond.min(self.gap)
    }

    /// How batts fill one frame: no deeper than is written, and no less than one batt.
    pub(super) fn batts(self, thickness: Length) -> Result<DepthFit, DepthError> {
        let filled = self.written.map_or(self.clear, |written| written.max(thickness).min(self.clear));
        let fitted = depth_fit(filled, thickness)?;
        let open = self.clear.checked_sub(filled).and_then(|open| open.checked_add(fitted.gap));
        Ok(DepthFit { gap: open.unwrap_or(fitted.gap), ..fitted })
    }

    /// How thick the fill is written, where that is less than so much, or with `exactly` more.
    pub(super) fn written_otherwise(self, counted_nm: i64, exactly: bool) -> Option<Length> {
        self.written.filter(|written| {
            let over_nm = written.nm() - counted_nm;
            over_nm < -SMALL_GAP_NM || (exactly && over_nm > SMALL_GAP_NM)
        })
    }
}

fn length(Milli(um): Milli) -> Option<Length> {
    Length::from_nm(um.checked_mul(1_000)?).ok()
}

fn between_channels(one: &Assembly) -> Option<Milli> {
    let Cavity::Space { clear_mm: Some(Milli(clear)), .. } = Cavity::parse(one.cavity.as_deref()?).ok()?
    else {
        return None;
    };
    let channel = |leaf: &Option<String>| match Leaf::parse(leaf.as_deref()?).ok()? {
        Leaf::Boards { via: Via::Channel { depth_mm, .. }, .. } => Some(depth_mm.0),
        _ => None,
    };
    let channels: i64 = [&one.leaf_a, &one.leaf_b].into_iter().filter_map(channel).sum();
    Some(Milli(clear - channels)).filter(|depth| depth.0 > 0)
}

fn written_fill(one: &Assembly) -> Option<Fill> {
    match Cavity::parse(one.cavity.as_deref()?).ok()? {
        Cavity::Space { fill, .. } => fill,
        _ => None,
    }
}
