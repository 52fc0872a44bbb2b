//! What was read along with the quantity a test asks for: spots where smoke moved, wood moisture, light, whatever else.
//!
//! Numbers before and after without a verdict: a test that asks for them is one of its own.

use std::collections::BTreeSet;

use storypole_notebook::Unit;

use super::Beside;
use super::frame::At;
use super::means::{mean_words, plain, with_unit};
use super::readings::{Read, mean_of, spots};
use crate::print;

/// Everything but the subjects of the test itself.
pub(super) fn of(ats: &[At<'_, '_>], own: &[&str]) -> Vec<Beside> {
    let takes_all = own.is_empty();
    let keys: BTreeSet<(&str, Unit)> = ats
        .iter()
        .flat_map(|at| at.readings.subjects().map(|(key, _)| *key))
        .filter(|(subject, _)| if takes_all { *subject == "smoke-paths" } else { !own.contains(subject) })
        .collect();
    // Smoke first: it says where, the rest says how much.
    let mut keys: Vec<(&str, Unit)> = keys.into_iter().collect();
    keys.sort_by_key(|(subject, _)| (*subject != "smoke-paths", *subject));
    keys.into_iter().filter_map(|key| one(ats, key)).collect()
}

/// One subject over all states: its first and its last.
fn one(ats: &[At<'_, '_>], key: (&str, Unit)) -> Option<Beside> {
    let mut found = ats.iter().filter_map(|at| {
        let reads = at.readings.subjects().find(|(known, _)| **known == key)?.1;
        if key.0 == "smoke-paths" {
            smoke(reads)
        } else {
            Some((mean_of(&spots(at.joins, reads))?.mean, None))
        }
    });
    let first = found.next()?;
    let last = found.next_back();
    let of = (first.1, last.and_then(|last| last.1));
    let (before, after) = (first.0, last.map(|last| last.0));
    Some(Beside {
        name: plain(key.0),
        unit: key.1.symbol(),
        before: Some(before),
        after,
        of,
        sentence: sentence(key, before, after, of),
    })
}

/// Spots where smoke moved, and spots looked at where each was written down by itself.
fn smoke(reads: &[Read<'_>]) -> Option<(f64, Option<usize>)> {
    let by_spot: BTreeSet<_> = reads.iter().filter_map(|read| read.reading.position).collect();
    if by_spot.is_empty() {
        let counts: Vec<f64> = reads.iter().map(|read| read.value).collect();
        let mean = storypole_statistics::sample::moments(&counts).ok()?.mean;
        return Some((mean, None));
    }
    let moving: BTreeSet<_> =
        reads.iter().filter(|read| read.value > 0.0).filter_map(|read| read.reading.position).collect();
    Some((moving.len() as f64, Some(by_spot.len())))
}

fn sentence(
    (subject, unit): (&str, Unit),
    before: f64,
    after: Option<f64>,
    of: (Option<usize>, Option<usize>),
) -> String {
    if subject == "smoke-paths" {
        let spots = |moving: f64, of: Option<usize>| {
            let moving = print::decimals(moving, 0);
            match of {
                Some(of) => format!("{moving} of {of} spots"),
                None if moving == "1" => "1 spot".to_owned(),
                None => format!("{moving} spots"),
            }
        };
        return match after {
            Some(after) => format!("Smoke moved at {}, then at {}.", spots(before, of.0), spots(after, of.1)),
            None => format!("Smoke moved at {}.", spots(before, of.0)),
        };
    }
    match after {
        Some(after) if subject == "moisture" => {
            format!("Wood moisture was {}, then {}.", with_unit(before, unit), with_unit(after, unit))
        }
        Some(after) => format!("{}.", mean_words(subject, unit, (before, after))),
        None => format!("Mean {}: {}, in one state.", plain(subject), with_unit(before, unit)),
    }
}
