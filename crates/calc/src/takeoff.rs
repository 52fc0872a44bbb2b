//! takeoff: what a wall takes, from its cavities to the receipt.
//!
//! Reading order: [`measures`] reads lengths and counts exactly, [`wall`] frames and fills, [`cuts`] and [`sheets`] plan
//! how pieces come out of what is bought, [`purchases`] and [`boards`] count what is sold whole, [`cost`] adds up the
//! money. Leaves out whether a wall carries a load.

mod boards;
mod cost;
mod cuts;
mod measures;
mod purchases;
mod sheets;
#[cfg(test)]
mod tests;
mod wall;

use crate::Calc;

pub(crate) const CALCS: &[Calc] = &[
    cuts::BATT_CUTS,
    boards::BOARDS,
    purchases::CHANNEL,
    cost::COST,
    cuts::CUT_PLAN,
    wall::FRAMED_WALL,
    purchases::LOOSE_FILL,
    purchases::PACKS,
    purchases::SEALANT,
    sheets::SHEETS,
];
