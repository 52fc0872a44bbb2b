//! Rows of blocking: which bays they divide, and the blocks themselves.
//!
//! A row divides whole bays only. Leaves out blocking above and below openings, and offsets from block to block for
//! nailing: a block is as wide as its bay.

use storypole_units::Length;

use super::layout::gaps;
use super::{Blocking, BlockingFault, Cell, CellKind, Span, Wall, WallError, Wood, WoodRole};
use super::{cell, within_wall, wood as pieces};

/// Most rows on one wall. Convention of this project: with 10,000 bays they are a million blocks.
const MOST_ROWS: usize = 100;

/// A checked row, nm from the left end of the wall and from the floor.
pub(super) struct Row {
    index: usize,
    across: Span,
    up: Span,
}

impl Row {
    fn divides(&self, bay: Span) -> bool {
        self.across.0 <= bay.0 && bay.1 <= self.across.1
    }
}

/// Checks the rows of a wall and returns them from the bottom up.
pub(super) fn rows(wall: &Wall, inside: Span) -> Result<Vec<Row>, WallError> {
    let count = wall.blocking.len();
    if count > MOST_ROWS {
        return Err(WallError::TooManyRows { surface: wall.surface, count });
    }
    let checked = wall.blocking.iter().enumerate().map(|(index, blocking)| {
        row(wall, inside, index, blocking).map_err(|fault| WallError::Blocking { index, fault })
    });
    let mut rows = checked.collect::<Result<Vec<Row>, WallError>>()?;
    rows.sort_by_key(|row| row.up);
    for (place, lower) in rows.iter().enumerate() {
        // Rows beside each other may be level, so more than the next one is looked at.
        let overlaps = |upper: &&Row| meet(lower.up, upper.up) && meet(lower.across, upper.across);
        if let Some(upper) = rows[place + 1..].iter().find(overlaps) {
            return Err(WallError::BlockingOverlap { lower: lower.index, upper: upper.index });
        }
    }
    Ok(rows)
}

fn row(wall: &Wall, inside: Span, index: usize, blocking: &Blocking) -> Result<Row, BlockingFault> {
    let &Blocking { centre, depth, .. } = blocking;
    let &Wall { surface, length, .. } = wall;
    if depth == Length::ZERO {
        return Err(BlockingFault::NoDepth { surface });
    }
    let low = centre.nm() - depth.nm() / 2;
    let up = (low, low + depth.nm());
    if up.0 < inside.0 || up.1 > inside.1 {
        let (bottom, top) = (within_wall(inside.0), within_wall(inside.1));
        return Err(BlockingFault::OutsideCavity { surface, centre, depth, bottom, top });
    }
    let (left, right) = (blocking.left.unwrap_or(Length::ZERO), blocking.right.unwrap_or(length));
    if left >= right || right > length {
        return Err(BlockingFault::Ends { surface, left, right, length });
    }
    Ok(Row { index, across: (left.nm(), right.nm()), up })
}

fn meet(one: Span, other: Span) -> bool {
    one.0 < other.1 && other.0 < one.1
}

/// Refuses a row whose measured ends hold no whole bay: it would do nothing, unseen.
pub(super) fn check_bays(wall: &Wall, rows: &[Row], bays: &[Span]) -> Result<(), WallError> {
    for row in rows {
        let has_ends = row.across != (0, wall.length.nm());
        if has_ends && !bays.iter().any(|&bay| row.divides(bay)) {
            let (left, right) = (within_wall(row.across.0), within_wall(row.across.1));
            return Err(WallError::Blocking {
                index: row.index,
                fault: BlockingFault::NoBay { left, right },
            });
        }
    }
    Ok(())
}

/// Returns the full-height cavities from the left, those that a row divides as parts from the bottom up.
pub(super) fn cells(bays: &[Span], rows: &[Row], inside: Span) -> Vec<Cell> {
    let mut cells = Vec::with_capacity(bays.len());
    for &bay in bays {
        let mut blocks = rows.iter().filter(|row| row.divides(bay)).map(|row| row.up).peekable();
        let kind = if blocks.peek().is_none() { CellKind::Full } else { CellKind::Part };
        cells.extend(gaps(inside, blocks).into_iter().map(|up| cell(kind, bay, up)));
    }
    cells
}

/// Returns the blocks, bay by bay from the left, from the bottom up.
pub(super) fn wood(bays: &[Span], rows: &[Row]) -> impl Iterator<Item = Wood> {
    bays.iter().flat_map(move |&bay| {
        let blocks = rows.iter().filter(move |row| row.divides(bay));
        blocks.map(move |row| pieces::piece(WoodRole::Block, bay, row.up))
    })
}
