//! The sections of a write-up: one function for each, from records and findings to blocks of plain text.
//!
//! Leaves out their order (`compose`) and how files write them ([`crate::markdown`]).

mod built;
mod conditions;
mod cost;
mod frame;
mod left_out;
mod levels;
mod method;
mod numbers;
mod results;

pub(crate) use built::built;
pub(crate) use conditions::conditions;
pub(crate) use cost::cost;
pub(crate) use frame::{answers, cautions, disclosure, limits, question, versions};
pub(crate) use left_out::left_out;
pub(crate) use method::method;
pub(crate) use results::results;
