//! Where each part begins and ends in the depth of the assembly, from the face of side A.
//!
//! Leaves out units of the drawing.

use storypole_units::Length;

use super::Section;

/// From and to, nanometres from the face of side A.
pub(super) type Span = (i64, i64);

/// The depths of all parts.
#[derive(Debug)]
pub(super) struct Depths {
    /// Boards of side A, from the room inward.
    pub(super) leaf_a: Vec<Span>,
    /// The space between the boards.
    pub(super) cavity: Span,
    /// Boards of side B, from the cavity outward: in the order they are met from side A.
    pub(super) leaf_b: Vec<Span>,
    /// Rows of studs, as given.
    pub(super) rows: Vec<Span>,
    /// Plates, as given.
    pub(super) plates: Vec<Span>,
    /// Fills, as given.
    pub(super) fills: Vec<Span>,
    /// Channel of side A and of side B.
    pub(super) channels: [Option<Span>; 2],
}

impl Depths {
    /// Lays out a checked assembly.
    pub(super) fn of(assembly: &Section) -> Self {
        let leaf_a = stacked(0, assembly.leaf_a.layers.iter().map(|layer| layer.thickness));
        let start = leaf_a.last().map_or(0, |span| span.1);
        let end = start + assembly.cavity_depth.nm();
        let leaf_b = stacked(end, assembly.leaf_b.layers.iter().rev().map(|layer| layer.thickness));
        // A part may pass the cavity by the rounding of its notation, and is drawn up to the boards.
        let inside = |from_a: Length, depth: Length| {
            ((start + from_a.nm()).min(end), (start + from_a.nm() + depth.nm()).min(end))
        };
        let (depth_a, depth_b) = (assembly.leaf_a.via.depth().nm(), assembly.leaf_b.via.depth().nm());
        Self {
            rows: assembly.frame.rows.iter().map(|row| inside(row.from_a, row.depth)).collect(),
            plates: assembly.frame.plates.iter().map(|plate| inside(plate.from_a, plate.depth)).collect(),
            fills: assembly.fills.iter().map(|fill| inside(fill.from_a, fill.thickness)).collect(),
            channels: [
                (depth_a > 0).then_some((start, (start + depth_a).min(end))),
                (depth_b > 0).then_some(((end - depth_b).max(start), end)),
            ],
            leaf_a,
            cavity: (start, end),
            leaf_b,
        }
    }

    /// Returns the whole thickness.
    pub(super) fn overall(&self) -> Length {
        Length::from_nm(self.end_nm()).unwrap_or(Length::MAX)
    }

    /// Returns gaps between rows of studs that stand apart, in the order of depth.
    pub(super) fn gaps(&self) -> Vec<Span> {
        let mut rows = self.rows.clone();
        rows.sort_unstable();
        rows.windows(2).filter(|pair| pair[0].1 < pair[1].0).map(|pair| (pair[0].1, pair[1].0)).collect()
    }

    fn end_nm(&self) -> i64 {
        self.leaf_b.last().map_or(self.cavity.1, |span| span.1)
    }
}

fn stacked(start: i64, thicknesses: impl Iterator<Item = Length>) -> Vec<Span> {
    let mut at = start;
    let spans = thicknesses.map(|thickness| {
        let from = at;
        at += thickness.nm();
        (from, at)
    });
    spans.collect()
}
