//! What a chart of costs and gains says in words.
//!
//! Leaves out the finding, which is given, but for standing first.

use super::{Worth, WorthRow};
use crate::chart::axis::printed;
use crate::chart::gains::Print;
use crate::markup::plain;

/// Up to so many jobs are named one by one.
const NAMED: usize = 8;

/// Returns how gains are printed.
pub(super) fn print(worth: &Worth) -> Print {
    Print::of(worth.rows.iter().map(|row| row.gain.value))
}

/// Prints a cost with its currency, in whole units where all are whole.
fn cost(worth: &Worth, value: f64) -> String {
    let whole = worth.rows.iter().all(|row| row.cost.fract() == 0.0);
    format!("{} {}", printed(value, if whole { 0 } else { 2 }), worth.currency)
}

/// Says one job, `J3 sealed: 14 USD, +3.5, 2.1 to 4.9`.
pub(super) fn row(worth: &Worth, row: &WorthRow) -> String {
    let claimed = if row.claimed { "" } else { " (not claimed)" };
    let gain = print(worth).value(row.gain);
    format!("{}{claimed}: {}, {gain}", row.label, cost(worth, row.cost))
}

/// Says the whole chart in words.
pub(super) fn alt(worth: &Worth) -> String {
    let all = |indices: &[usize]| {
        let named = indices.iter().map(|&index| row(worth, &worth.rows[index]));
        named.collect::<Vec<_>>().join("; ")
    };
    let line = worth.line();
    let off: Vec<usize> = (0..worth.rows.len()).filter(|index| !worth.rows[*index].on_line).collect();
    let mut alt = format!("{} {} in {} against {}.", worth.finding, worth.gain, worth.unit, worth.cost);
    match line.as_slice() {
        [] => (),
        [first, .., last] if line.len() > NAMED => {
            let ends =
                format!("from {} to {}", row(worth, &worth.rows[*first]), row(worth, &worth.rows[*last]));
            alt.push_str(&format!(" Nothing cheaper gained as much as {} jobs, {ends}.", line.len()));
        }
        some => {
            alt.push_str(&format!(" Nothing cheaper gained as much as, from the cheapest on: {}.", all(some)))
        }
    }
    match off.len() {
        0 => (),
        few if few <= NAMED => alt.push_str(&format!(" Off the line: {}.", all(&off))),
        many => alt.push_str(&format!(" {many} jobs are off the line.")),
    }
    plain(&alt)
}
