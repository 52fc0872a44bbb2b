//! A framed wall, ceiling or floor by its face: where its wood lies, and the cavities between.
//!
//! Studs are taken as measured, not as named. Leaves out wiring and chases, and every question of load.

use storypole_units::{Area, Length};

mod blocking;
mod check;
mod fault;
mod layout;
mod wood;

pub use fault::{BlockingFault, OpeningFault, WallError};
use layout::{bays, layout_studs, low_places, members};

/// A wall as measured, sizes on its face; or a ceiling or floor, by [`Surface::Joists`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wall {
    /// What is framed.
    pub surface: Surface,
    /// From end to end, across the studs.
    pub length: Length,
    /// From floor to ceiling, plates included. Along the joists: from rim to rim, both included, or between the
    /// supports where no rim is counted.
    pub height: Length,
    /// Thickness of studs, plates and jacks.
    pub stud: Length,
    /// Horizontal plates within the height: one at the bottom, all others at the top. Mostly 3; for joists the
    /// rims, 2 or none.
    pub plates: u32,
    /// From the centre of one stud to the centre of the next.
    pub spacing: Length,
    /// The end that the spacing was measured from.
    pub layout_from: End,
    /// Centre of the first stud of the layout, from that end; the spacing where `None`.
    pub first: Option<Length>,
    /// Centres of the studs as measured, from the left end, in any order and without the end studs. Where there
    /// are any, they stand for the even layout, and `spacing` and `first` are not looked at.
    pub studs_at: Vec<Length>,
    /// Equal frames, one behind another: 1, or 2 in a double wall.
    pub frames: u32,
    /// Doors and windows, in any order.
    pub openings: Vec<Opening>,
    /// Rows of blocking, in any order.
    pub blocking: Vec<Blocking>,
}

/// What is framed.
///
/// A ceiling or floor is read like a wall that lies down: its near end is the floor of the wall, its joists are the
/// studs, and a hatch is a window. The header at its far edge has the depth of the opening's header, at its near edge
/// stand as many headers as the sill has plates, and jacks and kings are the doubled trimmers, which run through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Surface {
    /// Studs between plates.
    #[default]
    Wall,
    /// Joists of a ceiling or floor.
    Joists,
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

/// A row of blocking. It divides every full-height bay that lies wholly between its ends, and no cell above or below
/// an opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Blocking {
    /// Its centre, from the floor.
    pub centre: Length,
    /// Height of a block on the face; mostly the thickness of a stud.
    pub depth: Length,
    /// Where the row begins, from the left end of the wall; that end where `None`.
    pub left: Option<Length>,
    /// Where the row ends, from the left end of the wall; the other end where `None`.
    pub right: Option<Length>,
}

/// A framed wall: its wood and its cavities.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// Between the plates.
    pub cavity_height: Length,
    /// Members that reach from the bottom plate past the heads, from the left; none overlap. With the full-height
    /// bays and the openings they make up the wall's length.
    pub members: Vec<Member>,
    /// Short studs above headers and below sills, each counted once.
    pub cripple_studs: u32,
    /// Cavities: full-height bays from the left, parts of one from the bottom up, then opening by opening from the
    /// left those above it, those below it.
    pub cells: Vec<Cell>,
    /// All wood on the face. With the cells and the openings it covers the face, and nothing overlaps.
    pub wood: Vec<Wood>,
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
    /// Its lower side, from the floor.
    pub bottom: Length,
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
    /// Between those plates too, in a bay that blocking divides.
    Part,
    /// Between a header and the top plates.
    Above { opening: usize },
    /// Between the bottom plate and a sill.
    Below { opening: usize },
}

/// A piece of wood, as a rectangle on the face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Wood {
    /// What it does.
    pub role: WoodRole,
    /// Its left side, from the left end of the wall.
    pub left: Length,
    /// Its lower side, from the floor.
    pub bottom: Length,
    /// From left to right.
    pub width: Length,
    /// From bottom to top.
    pub height: Length,
}

/// What a piece of wood does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WoodRole {
    /// The lowest plate, left out across a door; for joists the near rim.
    BottomPlate,
    /// A plate at the top, one piece for each; for joists the far rim.
    TopPlate,
    /// A stud flush with an end.
    End,
    /// A stud on the layout.
    Layout,
    /// A stud of full height beside an opening.
    King,
    /// Under the header of a wall; beside a hatch, a trimmer of full length.
    Jack,
    /// Above the end of a header, over the jack, up to the top plates.
    Filler,
    /// Above an opening. In a wall it rests on the jacks; at a hatch it lies between the trimmers, at either edge.
    Header,
    /// A plate under a window, one piece for each.
    Sill,
    /// A short stud above a header or below a sill.
    Cripple,
    /// A block between two studs.
    Block,
}

impl Opening {
    /// Returns its lower edge, from the floor; a door stands on it.
    pub fn bottom(self) -> Length {
        self.sill.map_or(Length::ZERO, |sill| sill.height)
    }

    /// Returns its clear height; none where the sill is above the head.
    pub fn height(self) -> Length {
        self.head.checked_sub(self.bottom()).unwrap_or(Length::ZERO)
    }

    /// Returns its clear face.
    pub fn area(self) -> Area {
        Area::of(self.width, self.height())
    }
}

impl Frame {
    /// Lists the full-height cells, from the left.
    pub fn full_height_bays(&self) -> impl Iterator<Item = &Cell> {
        self.cells.iter().filter(|cell| cell.kind == CellKind::Full)
    }
}

/// Frames a wall, or a ceiling or floor.
///
/// End studs stand flush with the ends. Layout studs are centred on the first place and every spacing from there, as
/// long as they do not reach into the end stud, or on the places given. Every opening has a jack just outside each edge
/// and a king outside the jack; a layout stud that would touch into these or the opening is dropped, and where it lies
/// wholly inside the opening it becomes a cripple above the header and below the sill. Where a king meets the end stud
/// or the king of the next opening, one serves as both. What lies above a jack is wood.
///
/// When a stud is centred, half of an odd count of nanometres is rounded towards the end where the layout begins; when
/// a block is, down. Nothing else is rounded.
///
/// # Errors
/// [`WallError`] says which measure cannot be, and what to look at.
///
/// # Source
/// Common practice of light framing, no source.
pub fn frame(wall: &Wall) -> Result<Frame, WallError> {
    let inside = check::inside(wall)?;
    let holes = check::holes(wall, inside)?;
    let rows = blocking::rows(wall, inside)?;
    let studs = layout_studs(wall);
    let members = members(wall, &holes, &studs);
    let bays = bays(wall, &holes, &members);
    blocking::check_bays(wall, &rows, &bays)?;

    let low = low_places(wall, &holes, inside, &studs);
    let mut cells = blocking::cells(&bays, &rows, inside);
    cells.extend(low.iter().flat_map(|place| place.cells()));
    let cripple_studs: usize = low.iter().map(|place| place.cripples.len()).sum();
    let mut wood = wood::around(wall, &holes, &members, inside);
    wood.extend(low.iter().flat_map(|place| place.wood()));
    wood.extend(blocking::wood(&bays, &rows));

    let (net_area, net_area_all_frames) = net_areas(&cells, wall.frames)?;
    Ok(Frame {
        cavity_height: within_wall(inside.1 - inside.0),
        members,
        cripple_studs: u32::try_from(cripple_studs).expect("a checked wall has few studs"),
        cells,
        wood,
        net_area,
        net_area_all_frames,
        gross_area: Area::of(wall.length, wall.height),
        frames: wall.frames,
    })
}

/// Adds up the cells of one frame, and of all.
fn net_areas(cells: &[Cell], frames: u32) -> Result<(Area, Area), WallError> {
    let net_nm2 = cells.iter().map(|cell| Area::of(cell.width, cell.height).nm2()).sum();
    let one = Area::from_nm2(net_nm2).expect("cells of a wall do not overlap");
    let all = net_nm2.checked_mul(i128::from(frames)).and_then(Area::from_nm2);
    Ok((one, all.ok_or(WallError::TooManyFrames { frames })?))
}

/// From one place to another, nm.
type Span = (i64, i64);

fn cell(kind: CellKind, across: Span, up: Span) -> Cell {
    Cell {
        kind,
        left: within_wall(across.0),
        bottom: within_wall(up.0),
        width: within_wall(across.1 - across.0),
        height: within_wall(up.1 - up.0),
    }
}

/// A position or a distance inside a checked wall.
fn within_wall(nm: i64) -> Length {
    Length::from_nm(nm).expect("nothing in a wall is longer than the wall")
}

#[cfg(test)]
pub(crate) mod properties;
#[cfg(test)]
mod tests;
