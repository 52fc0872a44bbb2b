//! A framed wall seen from one side, to scale: its wood, its cells with numbers and sizes, its openings.
//!
//! Reading order: [`Elevation`] and its boxes, [`elevation()`]; then `labels` finds room for numbers, `listing` and
//! `table` write what stands under the drawing, `finding` says it in words, `check` refuses what cannot be drawn. Leaves out
//! framing itself: rectangles come as they were worked out, and need not tile the face.

use storypole_units::Length;

use crate::LengthStyle;
use crate::canvas::{Canvas, MARGIN, Stroke, WIDTH};
use crate::dimension::{self, BARS};
use crate::hatch::Hatch;
use crate::picture::{ChartError, Look, Picture, Room};
use crate::text::{Area, SMALL, width};

mod check;
mod finding;
mod labels;
mod listing;
mod phone;
mod table;
#[cfg(test)]
mod tests;

use check::check;
pub use check::{ElevationError, MOST_CELLS, MOST_WOOD, Shape};
use labels::Labels;

/// A wall to draw. All positions count from its lower left corner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Elevation {
    /// Over the drawing.
    pub title: String,
    /// From end to end.
    pub length: Length,
    /// From floor to ceiling.
    pub height: Length,
    /// Studs, plates, headers.
    pub wood: Vec<WoodBox>,
    /// Cavities.
    pub cells: Vec<CellBox>,
    /// Doors, windows, hatches.
    pub openings: Vec<OpeningBox>,
    /// How sizes are printed.
    pub style: LengthStyle,
}

/// A piece of wood on the face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub struct WoodBox {
    pub left: Length,
    pub bottom: Length,
    pub width: Length,
    pub height: Length,
    pub kind: WoodKind,
}

/// What a piece of wood does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WoodKind {
    /// Along the floor or the ceiling.
    Plate,
    /// At an end of the wall.
    EndStud,
    /// On the layout.
    Stud,
    /// Full height beside an opening.
    King,
    /// Under the header.
    Jack,
    /// Over an opening.
    Header,
    /// Under an opening.
    Sill,
    /// Short, over a header or under a sill.
    Cripple,
    /// Between studs.
    Blocking,
    /// Wood that fills what is left beside a header.
    Filler,
}

/// A cavity on the face.
#[derive(Debug, Clone, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub struct CellBox {
    pub left: Length,
    pub bottom: Length,
    pub width: Length,
    pub height: Length,
    /// As people call it; no two cells share one.
    pub number: u32,
    pub place: CellPlace,
    /// Pieces of insulation that it takes, where they were counted.
    pub pieces: Option<u32>,
    /// For the table under the drawing, such as how a batt is cut.
    pub note: Option<String>,
}

/// Where a cavity lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CellPlace {
    /// From plate to plate.
    Full,
    /// Between a plate or blocking and blocking.
    Part,
    /// Between a header and the top plates.
    Above,
    /// Between the bottom plate and a sill.
    Below,
}

/// An opening on the face.
#[derive(Debug, Clone, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub struct OpeningBox {
    pub left: Length,
    pub bottom: Length,
    pub width: Length,
    pub height: Length,
    /// What it is, such as `door`.
    pub word: String,
}

impl WoodKind {
    /// Returns the trade's word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Plate => "plate",
            Self::EndStud => "end stud",
            Self::Stud => "stud",
            Self::King => "king stud",
            Self::Jack => "jack stud",
            Self::Header => "header",
            Self::Sill => "sill",
            Self::Cripple => "cripple stud",
            Self::Blocking => "blocking",
            Self::Filler => "filler",
        }
    }

    fn hatch(self) -> Hatch {
        match self {
            Self::Plate => Hatch::Grey,
            Self::EndStud => Hatch::Rising,
            Self::Stud => Hatch::Plain,
            Self::King => Hatch::Falling,
            Self::Jack => Hatch::Level,
            Self::Header => Hatch::Crossed,
            Self::Sill => Hatch::Upright,
            Self::Cripple => Hatch::Dots,
            Self::Blocking => Hatch::Teeth,
            Self::Filler => Hatch::FineDots,
        }
    }
}

impl CellPlace {
    /// Returns where a cavity lies in plain words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Full => "full height",
            Self::Part => "part of a bay",
            Self::Above => "over an opening",
            Self::Below => "under an opening",
        }
    }
}

/// Draws a wall from one side and returns the SVG.
///
/// Every cell has its number in the drawing or at a leader beside it, and a row with its clear size in the table below. A
/// number that finds no room at all is named under the drawing.
///
/// # Errors
/// [`ElevationError`] for a wall without a size, a shape without a size or outside the wall, or too much to draw.
pub fn elevation(wall: &Elevation) -> Result<String, ElevationError> {
    Ok(wall.draw(Look::LIGHT)?.svg)
}

impl Elevation {
    /// Draws it for a ground; see [`elevation()`].
    ///
    /// # Errors
    /// [`ElevationError`].
    pub fn draw(&self, look: Look) -> Result<Picture, ElevationError> {
        draw(self, look)
    }

    /// Draws it for a room: a sheet wide, or as wide as a room narrower than [`Room::LEAST_SHEET`], with the cells in a list
    /// below the face. A sheet is as high as it needs.
    ///
    /// # Errors
    /// [`ChartError::Elevation`]; [`ChartError::NoRoom`].
    pub fn draw_in(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        if room.width >= Room::LEAST_SHEET {
            return Ok(self.draw(look)?);
        }
        check(self)?;
        crate::phone::check(room)?;
        Ok(phone::draw(self, room, look))
    }
}

fn draw(wall: &Elevation, look: Look) -> Result<Picture, ElevationError> {
    check(wall)?;
    let mut canvas = Canvas::new(WIDTH);
    let top = canvas.heading(&wall.title) + 8.0;
    let mut face = Face::fit(wall);
    let labels = Labels::plan(wall, &face);
    // The height is written beside the wall and may be longer than a low wall is high.
    let beside = (width(&wall.style.whole(wall.height), SMALL) - face.area.height).max(0.0) / 2.0;
    face.area.top = top + labels.above().max(beside);

    draw_face(&mut canvas, wall, &face);
    labels.draw(&mut canvas, &face);
    let below = face.area.bottom() + labels.below().max(beside);
    let bottom = draw_sizes(&mut canvas, wall, &face, below);
    let bottom = listing::write(&mut canvas, wall, &labels, bottom);
    Ok(canvas.finish(&wall.title, &finding::words(wall), bottom, look))
}

/// The most room that the face takes.
const FACE_LEFT: f64 = 84.0;
const FACE_HEIGHT: f64 = 420.0;

/// The wall's face on the sheet.
#[derive(Debug)]
struct Face {
    area: Area,
    units_per_nm: f64,
}

impl Face {
    /// Fits a wall into the sheet's width, its top at 0 for now.
    fn fit(wall: &Elevation) -> Self {
        Self::fit_in(wall, (FACE_LEFT, WIDTH - MARGIN), FACE_HEIGHT)
    }

    /// Fits a wall between two sides, no taller than `tallest`, its top at 0 for now.
    fn fit_in(wall: &Elevation, (left, right): (f64, f64), tallest: f64) -> Self {
        let (length, height) = (wall.length.nm() as f64, wall.height.nm() as f64);
        let room = right - left;
        let units_per_nm = (room / length).min(tallest / height);
        let (width, height) = (length * units_per_nm, height * units_per_nm);
        Self { area: Area { left: left + (room - width) / 2.0, top: 0.0, width, height }, units_per_nm }
    }

    /// Places a rectangle given from the lower left corner.
    fn place(&self, left: Length, bottom: Length, width: Length, height: Length) -> Area {
        let units = |length: Length| length.nm() as f64 * self.units_per_nm;
        let (width, height) = (units(width), units(height));
        Area {
            left: self.area.left + units(left),
            top: self.area.bottom() - units(bottom) - height,
            width,
            height,
        }
    }

    fn cell(&self, cell: &CellBox) -> Area {
        self.place(cell.left, cell.bottom, cell.width, cell.height)
    }

    fn opening(&self, opening: &OpeningBox) -> Area {
        self.place(opening.left, opening.bottom, opening.width, opening.height)
    }
}

fn draw_face(canvas: &mut Canvas, wall: &Elevation, face: &Face) {
    for cell in &wall.cells {
        canvas.rect(face.cell(cell), Hatch::Plain, Stroke::Thin);
    }
    for opening in &wall.openings {
        let area = face.opening(opening);
        canvas.rect(area, Hatch::Plain, Stroke::Firm);
        canvas.line(&[(area.left, area.top), (area.right(), area.bottom())], Stroke::Dashed);
        canvas.line(&[(area.left, area.bottom()), (area.right(), area.top)], Stroke::Dashed);
    }
    for wood in &wall.wood {
        let area = face.place(wood.left, wood.bottom, wood.width, wood.height);
        canvas.rect(area, wood.kind.hatch(), Stroke::Firm);
    }
    canvas.frame(face.area, Stroke::Firm);
}

/// Draws the wall's two sizes and the scale below `top`, and returns where the sheet goes on.
fn draw_sizes(canvas: &mut Canvas, wall: &Elevation, face: &Face, top: f64) -> f64 {
    let area = face.area;
    let style = wall.style;
    dimension::upright(canvas, area.left - 22.0, (area.top, area.bottom()), &style.whole(wall.height));
    dimension::level(canvas, (area.left, area.right()), top + 16.0, &style.whole(wall.length));
    let bars = top + 46.0;
    dimension::scale_bars(canvas, MARGIN, bars, face.units_per_nm);
    bars + BARS + 10.0
}
