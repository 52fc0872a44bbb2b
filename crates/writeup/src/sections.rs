//! The sections of a write-up: one function for each, from records and findings to blocks of plain text.
//!
//! Leaves out their order (`compose`) and how files write them ([`crate::markdown`]).

mod bands;
mod built;
mod compared;
mod conditions;
mod cost;
mod data;
mod frame;
mod left_out;
mod levels;
mod method;
pub(crate) mod numbers;
mod others;
mod quantity;
mod results;

pub(crate) use built::built;
pub(crate) use conditions::{Held, conditions, found, held};
pub(crate) use cost::{cost, jobs_between, walls_between};
pub(crate) use data::data;
pub(crate) use frame::{answers, cautions, disclosure, house_count, houses, limits, question, versions};
pub(crate) use left_out::left_out;
pub(crate) use method::method;
pub(crate) use others::others;
pub(crate) use quantity::shown_places;
pub(crate) use results::results;
