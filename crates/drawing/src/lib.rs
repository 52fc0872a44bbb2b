//! Working drawings as SVG text: a framed wall from one side, and a cut through an assembly.
//!
//! Reading order: [`mod@elevation`] and [`mod@section`] are the two drawings, each with the plain sizes it wants;
//! [`LengthStyle`] is how sizes are printed. Underneath, `canvas` draws and knows where text stands, `dimension` adds
//! sizes and scale bars, `hatch` the patterns, `text` the room that words take, `markup` the XML.
//!
//! Every drawing is 800 units wide, has its finding in words (`title` and `desc`), tells things apart by pattern and
//! word and never by colour, and holds no script, no style sheet and nothing from outside. The same input gives the same
//! text. Left out: charts, photographs, and any judgement of what is drawn: sizes are taken as given, and loads are for
//! local code and licensed practice.

mod canvas;
mod dimension;
pub mod elevation;
#[cfg(test)]
mod fixture;
mod hatch;
mod length_style;
mod markup;
pub mod section;
mod text;

pub use elevation::{
    CellBox, CellPlace, Elevation, ElevationError, OpeningBox, WoodBox, WoodKind, elevation,
};
pub use length_style::LengthStyle;
pub use section::{
    FillBox, FillKind, FrameBox, LayerBox, LayerKind, LeafBox, PlateBox, Seal, Section, SectionError,
    StudKind, StudRow, Via, section,
};
