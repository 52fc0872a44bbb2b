//! What a wall takes: bays and cells, batts and packs, boards, sealant, loose fill, channel, and what it costs.
//!
//! Reading order: [`wall`] frames a wall and finds its cavities, [`batts`] fills them piece by piece, [`waste`] adds
//! the allowance and rounds up to what is sold whole. [`packs`], [`boards`], [`sealant`], [`loose_fill`] and [`channel`]
//! are one purchase each; [`cost`] adds up a receipt and what is left of it. [`fit`] makes pieces of cavities, [`sheets`]
//! pieces of a layer of board, and [`cuts`] plans how they come out of what is bought. [`fasteners`] are screws, tape and
//! compound that go with boards. [`thermal`] is what the wall resists as built.
//!
//! Lengths, areas and money are exact from end to end; only volumes are floats. Left out: drawings, and structure: headers
//! and studs are taken as measured, and whether they carry the load is for local code and licensed practice.

pub mod batts;
pub mod boards;
pub mod channel;
pub mod cost;
pub mod cuts;
pub mod fasteners;
pub mod fit;
#[cfg(test)]
mod fixture;
pub mod loose_fill;
pub mod packs;
pub mod sealant;
pub mod sheets;
pub mod thermal;
pub mod wall;
pub mod waste;

pub use batts::Batt;
pub use wall::{Blocking, Frame, Opening, Sill, Surface, Wall, Wood};
pub use waste::Waste;
