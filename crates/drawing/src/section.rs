//! A level cut through an assembly, seen from above: side A on top, thicknesses to scale, every layer named.
//!
//! Reading order: [`Section`] and its boxes, [`section()`]; then `layers` says what lies where in the depth, `picture`
//! draws it, `captions` writes the words beside it, `check` refuses what cannot be. Leaves out ratings, and whether what
//! is drawn is a good idea.

use storypole_units::Length;

use crate::LengthStyle;
use crate::canvas::{Canvas, MARGIN, WIDTH};
use crate::dimension::{self, BARS};
use crate::hatch::Hatch;
use crate::picture::{ChartError, Look, Picture, Room};
use crate::text::{LINE, SMALL, width};

mod captions;
mod check;
mod layers;
mod phone;
mod picture;
#[cfg(test)]
mod tests;

pub use check::{Part, SectionError, Side};
use layers::Depths;
use picture::Cut;

/// An assembly to cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Over the drawing.
    pub title: String,
    /// The room above.
    pub side_a: String,
    /// The room below.
    pub side_b: String,
    /// The boards above.
    pub leaf_a: LeafBox,
    /// Between the boards; nothing stands in a cavity without rows.
    pub frame: FrameBox,
    /// From board to board, or from board to the far face of the studs where one leaf is missing. Zero without a frame.
    pub cavity_depth: Length,
    /// What lies in the cavity.
    pub fills: Vec<FillBox>,
    /// The boards below.
    pub leaf_b: LeafBox,
    /// How sizes are printed.
    pub style: LengthStyle,
}

/// The boards on one side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeafBox {
    /// From the room inward; none where the studs are open.
    pub layers: Vec<LayerBox>,
    /// What is spread between them, such as `damping compound`.
    pub between: Option<String>,
    /// How they are held.
    pub via: Via,
    /// Round the edge; `None` where nobody looked.
    pub seal: Option<Seal>,
}

/// A board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerBox {
    /// What it is, such as `gypsum board, type X`.
    pub word: String,
    /// Of one.
    pub thickness: Length,
    /// How it is hatched.
    pub kind: LayerKind,
}

/// What a board is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LayerKind {
    /// Gypsum board or plaster.
    Gypsum,
    /// Plywood, fibreboard, solid wood.
    Wood,
    /// Masonry, concrete, cement board, tile.
    Masonry,
    /// Anything else.
    Other,
}

/// How boards are held to the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Via {
    /// Screwed to the studs.
    Direct,
    /// On resilient channel.
    Channel { depth: Length, spacing: Option<Length> },
    /// On channel held by isolation clips.
    Clips { depth: Length, spacing: Option<Length> },
}

/// What closes the edge of a leaf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Seal {
    /// Nothing.
    None,
    /// So many beads of sealant.
    Beads(u8),
    /// A gasket.
    Gasket,
}

/// Studs and the plates they stand on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FrameBox {
    /// Side by side in depth: one row, two staggered ones, two of a double frame.
    pub rows: Vec<StudRow>,
    /// Drawn behind the cut; may be left out.
    pub plates: Vec<PlateBox>,
}

/// A row of equal studs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct StudRow {
    /// What they are.
    pub kind: StudKind,
    /// Width of a stud along the wall.
    pub face: Length,
    /// Depth of a stud into the wall.
    pub depth: Length,
    /// From centre to centre.
    pub spacing: Length,
    /// From the left edge of the drawing to the centre of a stud.
    pub offset: Length,
    /// From the boards of side A to the studs.
    pub from_a: Length,
}

/// What studs are made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum StudKind {
    Wood,
    Steel,
}

/// A plate under studs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PlateBox {
    /// From the boards of side A to the plate.
    pub from_a: Length,
    /// Into the wall.
    pub depth: Length,
}

/// A fill in the cavity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FillBox {
    /// What it is, such as `glass fibre`.
    pub word: String,
    /// How it is hatched.
    pub kind: FillKind,
    /// From the boards of side A to the fill.
    pub from_a: Length,
    /// As it lies in the cavity.
    pub thickness: Length,
    /// Share of the bays that hold it, percent, where known.
    pub coverage_percent: Option<u8>,
}

/// What a fill is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum FillKind {
    GlassFibre,
    StoneWool,
    Cellulose,
    Cotton,
    Foam,
    Sand,
    Other,
}

impl LayerKind {
    fn hatch(self) -> Hatch {
        match self {
            Self::Gypsum => Hatch::FineDots,
            Self::Wood => Hatch::Level,
            Self::Masonry => Hatch::Rising,
            Self::Other => Hatch::Plain,
        }
    }
}

impl FillKind {
    fn hatch(self) -> Hatch {
        match self {
            Self::GlassFibre => Hatch::Bows,
            Self::StoneWool => Hatch::Dashes,
            Self::Cellulose => Hatch::Flakes,
            Self::Cotton => Hatch::Teeth,
            Self::Foam => Hatch::Rings,
            Self::Sand => Hatch::Dots,
            Self::Other => Hatch::Falling,
        }
    }
}

impl Via {
    /// Returns the room it takes between boards and studs.
    fn depth(self) -> Length {
        match self {
            Self::Direct => Length::ZERO,
            Self::Channel { depth, .. } | Self::Clips { depth, .. } => depth,
        }
    }
}

/// Draws a cut through an assembly and returns the SVG.
///
/// # Errors
/// [`SectionError`] for nothing to draw, a part without a size, a part that does not fit into the cavity, or too much to
/// draw.
pub fn section(assembly: &Section) -> Result<String, SectionError> {
    Ok(assembly.draw(Look::LIGHT)?.svg)
}

impl Section {
    /// Draws it for a ground; see [`section()`].
    ///
    /// # Errors
    /// [`SectionError`].
    pub fn draw(&self, look: Look) -> Result<Picture, SectionError> {
        draw(self, look)
    }

    /// Draws it for a room: a sheet wide, or as wide as a room narrower than [`Room::LEAST_SHEET`], with numbers in the cut
    /// and the list of parts below it. A sheet is as high as it needs.
    ///
    /// # Errors
    /// [`ChartError::Section`]; [`ChartError::NoRoom`].
    pub fn draw_in(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        if room.width >= Room::LEAST_SHEET {
            return Ok(self.draw(look)?);
        }
        check::check(self)?;
        crate::phone::check(room)?;
        Ok(phone::draw(self, room, look))
    }
}

fn draw(assembly: &Section, look: Look) -> Result<Picture, SectionError> {
    check::check(assembly)?;
    let depths = Depths::of(assembly);
    let mut cut = Cut::fit(assembly, &depths);
    let captions = captions::captions(assembly, &depths, &cut);

    let mut canvas = Canvas::new(WIDTH);
    let top = canvas.heading(&assembly.title) + 8.0;
    let overall = assembly.style.whole(depths.overall());
    // Words beside the cut may need more height than the cut itself, and the names of the sides stand next to it.
    let tallest = cut.height.max(captions.height()).max(width(&overall, SMALL));
    let side_name = SMALL * LINE + 6.0;
    cut.top = top + (tallest - cut.height) / 2.0 + side_name;
    let bottom = top + tallest + 2.0 * side_name;

    picture::draw(&mut canvas, assembly, &depths, &cut);
    picture::name_sides(&mut canvas, assembly, &cut);
    captions.draw(&mut canvas, &cut);
    dimension::upright(&mut canvas, picture::DIMENSION, (cut.top, cut.top + cut.height), &overall);
    dimension::scale_bars(&mut canvas, MARGIN, bottom + 4.0, cut.units_per_nm);
    let mut y = bottom + BARS + 22.0;
    for note in captions::notes(assembly, &depths) {
        y = canvas.paragraph(&note, y) + 4.0;
    }
    let finding = captions.finding(assembly, &overall);
    Ok(canvas.finish(&assembly.title, &finding, y - SMALL * LINE / 2.0, look))
}
