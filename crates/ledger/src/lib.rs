//! Stock, job money and marks: what a notebook's records add up to, and what a person should look at.
//!
//! Reading order: [`amount`] (which numbers count, and the rounding), [`receipt`] (lines, tax, whether it adds
//! up), [`movement`] (everything that moves stock, in order, with its cost), `condition` and `counted` (sealed,
//! loose, damaged), [`mod@stock`] (what is left where, and what it is worth), [`area`] (the area a job treated),
//! [`job`] (what a job cost), [`spent`] (on which day), [`division`] (for what), [`price`] (what a material was
//! bought for), [`takeoff`] (what a wall takes), [`mark`] (what looks wrong),
//! [`caution`] (what can hurt someone, and who has read it), [`words`] (counts in words).
//!
//! Money is an exact decimal from end to end, never floating point; it is rounded half away from zero, tax once
//! per receipt. Nothing here is stored: every number follows from the records and is computed again when they
//! change. Left out on purpose: what a change in decibels is worth claiming (`findings`).

pub mod amount;
pub mod area;
pub mod caution;
mod condition;
mod counted;
pub mod division;
pub mod job;
pub mod mark;
pub mod movement;
pub mod price;
pub mod receipt;
pub mod spent;
pub mod stock;
pub mod takeoff;
pub mod words;

#[cfg(test)]
mod fixture;

pub use amount::Unread;
pub use area::{per_db, per_ft2, per_m2, treated_area};
pub use caution::{About, CautionRule, Shown, caution_rules, cautions, cautions_together};
pub use division::{DivisionSum, GroupSum, by_division, by_group, division_title};
pub use job::{JobMoney, JobTable, PersonHours, all_jobs, chain_money, job_money};
pub use mark::{Mark, MarkKind, marks};
pub use movement::UnitCost;
pub use price::{PricePoint, PriceSummary, price_history, price_summary};
pub use receipt::{LineSum, PaperSum, ReceiptSum, TaxClass, receipt_sum, receipt_sums};
pub use spent::{spent_by_day, spent_by_job};
pub use stock::{MoveValue, StockRow, StockStep, move_values, past_use_by, stock, stock_over_time};
