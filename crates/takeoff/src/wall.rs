//! A framed wall by its face: where its studs stand, and the cavities between them.
//!
//! Studs are taken as measured, not as named. Leaves out blocking, wiring and chases, and every question of load.

use storypole_units::{Area, Length};

mod check;
mod layout;

use check::{Hole, holes};
pub use check::{OpeningFault, WallError};
use layout::{gaps, layout_studs, members};

/// A wall as measured, sizes on its face.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wall {
    /// From end to end.
    pub length: Length,
    /// From floor to ceiling, plates included.
    pub height: Length,
    /// Thickness of studs, plates and jacks.
    pub stud: Length,
    /// Horizontal plates within the height: one at the bottom, all others at the top. Mostly 3.
    pub plates: u32,
    /// From the centre of one stud to the centre of the next.
    pub spacing: Length,
    /// The end that the spacing was measured from.
    pub layout_from: End,
    /// Equal frames, one behind another: 1, or 2 in a double wall.
    pub frames: u32,
    /// Doors and windows, in any order.
    pub openings: Vec<Opening>,
}

/// An end of a wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum End {
    /// Where positions count from.
    #[default]
    Left,
    /// The other end.
    Right,
}

/// A rough opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Opening {
    /// Its left edge, from the left end of the wall.
    pub left: Length,
    /// From left edge to right edge, clear between the jacks.
    pub width: Length,
    /// Its upper edge, from the floor.
    pub head: Length,
    /// Height of the header above it.
    pub header_depth: Length,
    /// What it stands on; `None` for a door.
    pub sill: Option<Sill>,
}

/// The lower edge of a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Sill {
    /// From the floor to the lower edge of the opening.
    pub height: Length,
    /// Horizontal plates under that edge, mostly 1 or 2.
    pub plates: u32,
}

/// A framed wall: its studs and its cavities.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// Between the plates.
    pub cavity_height: Length,
    /// Members that reach from the bottom plate past the heads, from the left; none overlap. With the full-height
    /// bays and the openings they make up the wall's length.
    pub members: Vec<Member>,
    /// Short studs above headers and below sills, each counted once.
    pub cripple_studs: u32,
    /// Cavities: full-height ones from the left, then opening by opening from the left those above it, those below it.
    pub cells: Vec<Cell>,
    /// Sum of the cells of one frame, the narrowest included.
    pub net_area: Area,
    /// Sum of the cells of all frames.
    pub net_area_all_frames: Area,
    /// The wall's face, openings included.
    pub gross_area: Area,
    /// As given.
    pub frames: u32,
}

/// A stud of one frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Member {
    /// What it does.
    pub role: Role,
    /// Its left face, from the left end of the wall.
    pub left: Length,
    /// Its thickness; a king that meets the end stud or another king is what is left of it between them.
    pub width: Length,
}

/// What a stud does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// Flush with an end of the wall.
    End,
    /// On the layout.
    Layout,
    /// Full height beside an opening.
    King,
    /// Under the header, beside an opening.
    Jack,
}

/// A cavity of one frame, clear of wood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Cell {
    /// Where it lies.
    pub kind: CellKind,
    /// Its left side, from the left end of the wall.
    pub left: Length,
    /// Clear width.
    pub width: Length,
    /// Clear height.
    pub height: Length,
}

/// Where a cavity lies; `opening` is an index into [`Wall::openings`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the field is named above")]
pub enum CellKind {
    /// From the bottom plate to the top plates.
    Full,
    /// Between a header and the top plates.
    Above { opening: usize },
    /// Between the bottom plate and a sill.
    Below { opening: usize },
}

impl Frame {
    /// Lists the full-height cells, from the left.
    pub fn full_height_bays(&self) -> impl Iterator<Item = &Cell> {
        self.cells.iter().filter(|cell| cell.kind == CellKind::Full)
    }
}

/// Frames a wall.
///
/// End studs stand flush with the ends. Layout studs are centred on multiples of the spacing and placed as long as they
/// do not reach into the end stud. Every opening has a jack just outside each edge and a king outside the jack; a
/// layout stud that would touch into these or the opening is dropped, and where it lies wholly inside the opening it
/// becomes a cripple above the header and below the sill. Where a king meets the end stud or the king of the next opening,
/// one serves as both.
///
/// Half of an odd count of nanometres is rounded down when a stud is centred; nothing else is rounded.
///
/// # Errors
/// [`WallError`] says which measure cannot be, and what to look at.
///
/// # Source
/// Common practice of light framing, no source.
pub fn frame(wall: &Wall) -> Result<Frame, WallError> {
    let holes = holes(wall)?;
    let studs = layout_studs(wall);
    let members = members(wall, &holes, &studs);
    let cavity_height = check::below_top_plates(wall).and_then(|top| top.checked_sub(wall.stud));
    let cavity_height = cavity_height.expect("a checked wall is higher than its plates");

    let mut cells = full_cells(wall, &holes, &members, cavity_height);
    let mut cripple_studs = 0;
    for hole in &holes {
        let inside: Vec<i64> = studs.iter().copied().filter(|&left| hole.holds(left, wall.stud)).collect();
        let (above, below) =
            (CellKind::Above { opening: hole.index }, CellKind::Below { opening: hole.index });
        for (kind, height) in [(above, hole.above), (below, hole.below)] {
            if height > Length::ZERO {
                let cripples = inside.iter().map(|&left| (left, left + wall.stud.nm()));
                let clear = gaps(hole.left_nm, hole.right_nm, cripples);
                cells.extend(clear.into_iter().map(|gap| cell(kind, gap, height)));
                cripple_studs += u32::try_from(inside.len()).expect("a checked wall has few studs");
            }
        }
    }
    let net_nm2 = cells.iter().map(|cell| Area::of(cell.width, cell.height).nm2()).sum();
    let net_area = Area::from_nm2(net_nm2).expect("cells of a wall do not overlap");
    let all_frames = net_nm2.checked_mul(i128::from(wall.frames)).and_then(Area::from_nm2);
    Ok(Frame {
        cavity_height,
        members,
        cripple_studs,
        cells,
        net_area,
        net_area_all_frames: all_frames.ok_or(WallError::TooManyFrames { frames: wall.frames })?,
        gross_area: Area::of(wall.length, wall.height),
        frames: wall.frames,
    })
}

fn full_cells(wall: &Wall, holes: &[Hole], members: &[Member], height: Length) -> Vec<Cell> {
    let wood = members.iter().map(|member| (member.left.nm(), member.left.nm() + member.width.nm()));
    let mut taken: Vec<(i64, i64)> =
        wood.chain(holes.iter().map(|hole| (hole.left_nm, hole.right_nm))).collect();
    taken.sort_unstable();
    gaps(0, wall.length.nm(), taken).into_iter().map(|gap| cell(CellKind::Full, gap, height)).collect()
}

fn cell(kind: CellKind, (left_nm, right_nm): (i64, i64), height: Length) -> Cell {
    Cell { kind, left: within_wall(left_nm), width: within_wall(right_nm - left_nm), height }
}

/// A position or a distance inside a checked wall.
fn within_wall(nm: i64) -> Length {
    Length::from_nm(nm).expect("nothing in a wall is longer than the wall")
}

#[cfg(test)]
mod tests;
