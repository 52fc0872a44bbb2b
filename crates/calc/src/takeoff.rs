//! takeoff: what a wall takes, from its cavities to the receipt.
//!
//! Reading order: [`measures`] reads lengths and counts exactly, [`wall`] frames and fills, [`purchases`] and [`sheets`]
//! count what is sold whole, [`cost`] adds up the money. Leaves out cutting plans, and whether a wall carries a load.

mod cost;
mod measures;
mod purchases;
mod sheets;
#[cfg(test)]
mod tests;
mod wall;

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[
    sheets::BOARDS,
    purchases::CHANNEL,
    cost::COST,
    wall::FRAMED_WALL,
    purchases::LOOSE_FILL,
    purchases::PACKS,
    purchases::SEALANT,
];
