//! How boards are laid out and cut: which sheet gives which piece, what is left over, how long the joints are.
//!
//! The count by area buys; this says how far it goes. Leaves out staggered joints and edges that must land on a stud.

use storypole_journal::RecordId;
use storypole_takeoff::Waste;
use storypole_takeoff::cuts::{self, CutPlan, Size, Stock};
use storypole_takeoff::sheets::{BoardOpening, BoardPiece, SheetError, SheetNeed, Way, sheets};
use storypole_takeoff::wall::Surface;
use storypole_units::Length;
use storypole_units::length::NM_PER_INCH;

use super::framing::Run;

/// What board leaves free at the floor, and what the board of the ceiling takes at the top of a wall: 1/2 in and 5/8 in.
/// Common practice, no source.
const AT_FLOOR_NM: i64 = NM_PER_INCH / 2;
const AT_CEILING_NM: i64 = NM_PER_INCH * 5 / 8;

/// How the boards of one kind are cut.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardPlan {
    /// The material; `None` where none of the notebook is meant for sure.
    pub material: Option<RecordId>,
    /// What it is called.
    pub name: String,
    /// One sheet.
    pub sheet: Size,
    /// Layers of it.
    pub layers: u32,
    /// Pieces of one layer, wall by wall: the wall, from 0, and where the piece lies on it.
    pub pieces: Vec<(usize, BoardPiece)>,
    /// The cuts of all layers; a placement's part is an index into the pieces, layer after layer.
    pub cuts: CutPlan,
    /// Where pieces of one layer meet, to be taped.
    pub joints: Length,
}

/// What [`plan`] finds, as in [`BoardPlan`].
pub(super) struct Laid {
    pub(super) pieces: Vec<(usize, BoardPiece)>,
    pub(super) cuts: CutPlan,
    pub(super) joints: Length,
}

/// Lays boards out upright on every wall and plans the cuts of all layers together.
///
/// # Errors
/// [`SheetError`] where a wall cannot be laid out.
pub(super) fn plan(runs: &[Run], sheet: Size, layers: u32) -> Result<Laid, SheetError> {
    let (mut pieces, mut joints_nm) = (Vec::new(), 0i64);
    for (index, run) in runs.iter().enumerate() {
        let laid = sheets(&need(run, sheet))?;
        pieces.extend(laid.pieces.iter().map(|piece| (index, *piece)));
        joints_nm = joints_nm.saturating_add(laid.joint_length.nm());
    }
    let one = |(_, piece): &(usize, BoardPiece)| Size { width: piece.width, length: piece.height };
    let parts: Vec<Size> = (0..layers).flat_map(|_| pieces.iter().map(one)).collect();
    let stock = Stock { width: sheet.width, length: sheet.length, kerf: Length::ZERO };
    let cuts = cuts::plan(&parts, stock, &[])?;
    Ok(Laid { pieces, cuts, joints: Length::from_nm(joints_nm).unwrap_or(Length::MAX) })
}

fn need(run: &Run, sheet: Size) -> SheetNeed {
    let wall = &run.wall;
    let (at_floor, taken) = match wall.surface {
        Surface::Wall => (AT_FLOOR_NM, AT_FLOOR_NM + AT_CEILING_NM),
        Surface::Joists => (0, 0),
    };
    let board_height = nm(wall.height.nm() - taken);
    let opening = |opening: &storypole_takeoff::Opening| BoardOpening {
        left: opening.left,
        width: opening.width,
        bottom: nm(opening.bottom().nm() - at_floor),
        top: nm((opening.head.nm() - at_floor).min(board_height.nm())),
    };
    SheetNeed {
        length: wall.length,
        board_height,
        openings: wall.openings.iter().map(opening).collect(),
        sheet,
        way: Way::Upright,
        kerf: Length::ZERO,
        deduct_openings: true,
        waste: Waste::NONE,
    }
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm.max(0)).unwrap_or(Length::ZERO)
}
