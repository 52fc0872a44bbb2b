//! What a forest of results says in words.
//!
//! Leaves out the finding, which is given, but for standing first.

use super::{Forest, ForestRow};
use crate::chart::Value;
use crate::chart::gains::Print;
use crate::markup::plain;

/// Up to so many results are named one by one.
const NAMED: usize = 6;

/// Returns what stands beside a row, `+11.2, 10.1 to 12.3, B`.
pub(super) fn numbers(row: &ForestRow, print: Print) -> String {
    let value = print.value(row.value);
    row.grade.map_or(value.clone(), |grade| format!("{value}, {grade}"))
}

/// Returns what a row is called, and why it does not count like the others.
pub(super) fn label(forest: &Forest, row: &ForestRow) -> String {
    format!("{}{}", row.label, uncounted(forest, row))
}

/// Returns why a row does not count like the others; nothing where it does.
pub(super) fn uncounted(forest: &Forest, row: &ForestRow) -> &'static str {
    let counted = forest.average.is_none() || row.weight.is_some();
    match (row.claimed, counted) {
        (true, true) => "",
        (false, true) => " (not claimed)",
        (true, false) => " (not counted)",
        (false, false) => " (not claimed or counted)",
    }
}

/// Returns how many rows the average counts.
pub(super) fn counted(forest: &Forest) -> usize {
    forest.rows.iter().filter(|row| row.weight.is_some()).count()
}

/// Returns what the average is called.
pub(super) fn average(forest: &Forest) -> String {
    match counted(forest) {
        0 => "Average".to_owned(),
        1 => "Average of 1 result".to_owned(),
        count => format!("Average of {count} results"),
    }
}

/// Returns what to expect of the next job, `4.0 to 9.0`, or of a bound `over 4.0`.
pub(super) fn next_job(next: Value, print: Print) -> String {
    next.interval.map_or_else(String::new, |interval| print.likely(interval, next.bound))
}

/// Says the whole chart in words.
pub(super) fn alt(forest: &Forest, print: Print) -> String {
    let unit = &forest.unit;
    let rows = if forest.rows.len() <= NAMED {
        let named = forest.rows.iter().map(|row| format!("{}: {}", label(forest, row), numbers(row, print)));
        named.collect::<Vec<_>>().join("; ")
    } else {
        let by_gain = |one: &&ForestRow, other: &&ForestRow| one.value.value.total_cmp(&other.value.value);
        let end = |row: Option<&ForestRow>| {
            row.map_or(String::new(), |row| format!("{} ({})", print.signed(row.value.value), row.label))
        };
        let least = end(forest.rows.iter().min_by(by_gain));
        let most = end(forest.rows.iter().max_by(by_gain));
        format!("{} results from {least} to {most}", forest.rows.len())
    };
    let mut alt = format!("{} {}, {unit}. {rows}.", forest.finding, forest.quantity);
    if let Some(value) = forest.average {
        alt.push_str(&format!(" {}: {}.", average(forest), print.value(value)));
    }
    if let Some(next) = super::next_job(forest) {
        alt.push_str(&format!(" Expect of the next job: {}.", next_job(next, print)));
    }
    plain(&alt)
}
