//! What a notebook shows, as JSON: one shape for command line and server.
//!
//! Built by hand from findings, ledger and records, so that a change of a struct never changes what programs read
//! unnoticed. Field names are those of the records. A computed number comes unrounded as `value`, with the text
//! people see as `printed` beside it. Left out: pages of text, and reading requests.
//!
//! Reading order: [`mod@called`] (what records are called), [`record`] (one of any kind, field by field), [`kinds`];
//! [`set`], [`change`], [`mod@test`], [`quantity`], [`job`], [`assembly`], [`comparison`] (findings); [`plan`] (tests with their
//! readings), [`compare`] (asking for comparisons), [`money`], [`jobs`], [`receipt`], [`stock`], [`marks`]; [`today`],
//! [`entries`], [`task`], [`files`]; [`achieved`] and [`found`] (search); [`past`], [`history`] (what was written
//! when), [`writeup`]; [`sketch`] (an assembly that is not written yet).

use jiff::civil::Date;
use serde_json::{Value, json};
use storypole_findings::{Estimate, Interval, Raised, Sense, print};
use storypole_units::Money;

pub mod achieved;
pub mod across;
pub mod alike;
pub mod assembly;
pub mod bands;
pub mod called;
pub mod cautions;
pub mod change;
pub mod compare;
pub mod comparison;
pub mod cost;
pub mod design;
pub mod drawing;
pub mod entries;
pub mod files;
pub mod found;
pub mod history;
pub mod job;
pub mod jobs;
pub mod kinds;
pub mod marks;
pub mod money;
pub mod next;
pub mod past;
pub mod plan;
pub mod predicted;
pub mod quantity;
pub mod question;
pub mod receipt;
pub mod record;
pub mod set;
pub mod sketch;
pub mod stages;
pub mod stock;
pub mod takeoff;
pub mod task;
pub mod test;
pub mod today;
pub mod writeup;

#[cfg(test)]
mod tests;

pub use called::{Called, called};

/// A computed number and its printed text.
pub fn number(value: f64, places: usize) -> Value {
    json!({ "value": value, "printed": print::decimals(value, places) })
}

/// A computed change and its printed text, with its sign.
pub fn signed(value: f64, places: usize) -> Value {
    json!({ "value": value, "printed": print::signed(value, places) })
}

/// How the true value stands to a stated number, in a word.
pub fn sense(sense: Sense) -> &'static str {
    match sense {
        Sense::Exact => "exact",
        Sense::AtLeast => "at-least",
        Sense::AtMost => "at-most",
        Sense::Undetermined => "undetermined",
    }
}

/// A level difference or change, with whether it is a bound.
pub fn estimate(estimate: &Estimate, is_change: bool) -> Value {
    let printed =
        if is_change { print::signed(estimate.value, 1) } else { print::decimals(estimate.value, 1) };
    json!({ "value": estimate.value, "printed": printed, "bound": sense(estimate.bound) })
}

/// An interval at 95 %.
pub fn interval(interval: &Interval) -> Value {
    json!({ "low": interval.low, "high": interval.high, "printed": print::range(interval, 1) })
}

/// An amount of money: digits as text, so that no program rounds them.
pub fn amount(money: Money) -> Value {
    json!({ "amount": money.amount_text(), "currency": money.currency.code() })
}

/// A calendar day.
pub fn day(date: Option<Date>) -> Value {
    date.map_or(Value::Null, |date| Value::String(date.to_string()))
}

/// Flags with their one effect.
pub fn flags(raised: &[Raised]) -> Value {
    let flag = |raised: &Raised| json!({ "flag": raised.flag.name(), "effect": raised.flag.effect().words(), "words": raised.words });
    raised.iter().map(flag).collect()
}
