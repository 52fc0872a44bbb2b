//! Working drawings and charts as SVG text: a framed wall from one side, a cut through an assembly, and what was measured.
//!
//! Reading order: [`mod@elevation`] and [`mod@section`] are drawings of walls, each with the plain sizes it wants;
//! [`LengthStyle`] is how sizes are printed. [`mod@chart`] holds the charts, and one type for every picture there is.
//! [`mod@picture`] says how a picture is painted, how much room it has and what comes of it. Underneath, `canvas` draws and knows
//! where text stands, `dimension` adds sizes and scale bars, `hatch` the patterns, `text` the room that words take, `phone` what both
//! drawings share in a narrow room, `markup` the XML.
//!
//! Every picture has its finding in words (`title` and `desc`), tells things apart by shape, pattern and word and never by
//! colour alone, and holds no script, no style sheet and nothing from outside. The same input gives the same
//! text. Left out: photographs, and any judgement of what is drawn: sizes and numbers are taken as given, and loads are for
//! local code and licensed practice.

mod canvas;
pub mod chart;
mod dimension;
pub mod elevation;
#[cfg(test)]
mod fixture;
mod hatch;
#[cfg(test)]
mod legible;
mod length_style;
mod markup;
mod phone;
pub mod picture;
pub mod section;
mod text;

pub use chart::Chart;
pub use elevation::{
    CellBox, CellPlace, Elevation, ElevationError, OpeningBox, WoodBox, WoodKind, elevation,
};
pub use length_style::LengthStyle;
pub use picture::{ChartError, Ground, Look, Picture, Room};
pub use section::{
    FillBox, FillKind, FrameBox, LayerBox, LayerKind, LeafBox, PlateBox, Seal, Section, SectionError,
    StudKind, StudRow, Via, section,
};
