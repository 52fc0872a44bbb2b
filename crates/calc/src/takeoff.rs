//! takeoff: what a wall takes, from its cavities to the receipt.
//!
//! Reading order: [`measures`] reads lengths and counts exactly, [`wall`] frames and fills, [`cuts`] and [`sheets`] plan
//! how pieces come out of what is bought, [`cavity`] is the depth and what it resists, [`purchases`], [`boards`] and
//! [`fasteners`] count what is sold whole, [`cost`] adds up the money. Leaves out whether a wall carries a load.

mod boards;
mod cavity;
mod cost;
mod cuts;
mod fasteners;
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
    fasteners::DAMPING,
    cavity::DEPTH_FIT,
    wall::FRAMED_WALL,
    purchases::LOOSE_FILL,
    purchases::PACKS,
    cavity::R_IN_CAVITY,
    fasteners::SCREWS,
    purchases::SEALANT,
    sheets::SHEETS,
    fasteners::TAPE,
    cavity::WHOLE_WALL_R,
];
