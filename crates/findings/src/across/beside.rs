//! What laboratories and the model say of the walls of a pool, to stand beside what was measured.
//!
//! Neither is a measurement in this house, and the sentence says so.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::matching::Parts;

use super::rows::{Row, Wall};
use crate::{Findings, Interval, paths, prediction, print};

/// Published ranges and the model's numbers for the walls of a pool.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Published laboratory ratings of the walls before, least to greatest, dB.
    pub published_before: Option<Interval>,
    /// Of the walls, or the walls after.
    pub published: Option<Interval>,
    /// What the model gives for A-weighted pink noise: change, or level difference, least to greatest over the rows, dB.
    pub model_db: Option<Interval>,
    /// Rows whose walls the model says nothing about.
    pub without_model: usize,
    /// Both in words, with what they are; empty where there is neither.
    pub sentence: String,
}

/// What was predicted for assemblies already, so that no wall is predicted twice.
#[derive(Default)]
pub(super) struct Predicted {
    pink_db: BTreeMap<RecordId, Option<f64>>,
}

impl Predicted {
    fn pink_db(&mut self, findings: &Findings<'_>, wall: &Wall) -> Option<f64> {
        *self.pink_db.entry(wall.assembly).or_insert_with(|| {
            let assembly = findings.book.assemblies.get(wall.assembly)?;
            prediction::predict(assembly).ok().map(|predicted| predicted.pink_db)
        })
    }
}

pub(super) fn beside(findings: &Findings<'_>, rows: &[Row], predicted: &mut Predicted) -> Beside {
    let published = |walls: &mut dyn Iterator<Item = &Wall>| {
        let ranges = walls.filter_map(|wall| {
            let parts = Parts::of(findings.book.assemblies.get(wall.assembly)?).ok()?;
            paths::wall_range(&parts).map(|range| Interval { low: range.low_db, high: range.high_db })
        });
        ranges.reduce(spanned)
    };
    let mut model: Vec<f64> = Vec::new();
    // The model's number is of A-weighted pink noise.
    for row in rows.iter().filter(|row| row.unit == Some(Unit::DbA)) {
        let after = predicted.pink_db(findings, &row.after);
        model.extend(match &row.before {
            None => after,
            Some(before) => {
                after.zip(predicted.pink_db(findings, before)).map(|(after, before)| after - before)
            }
        });
    }
    let model_db = model.iter().map(|value| Interval { low: *value, high: *value }).reduce(spanned);
    let mut found = Beside {
        published_before: published(&mut rows.iter().filter_map(|row| row.before.as_ref())),
        published: published(&mut rows.iter().map(|row| &row.after)),
        model_db,
        without_model: rows.len() - model.len(),
        sentence: String::new(),
    };
    found.sentence = sentence(&found, rows.iter().any(|row| row.before.is_some()));
    found
}

fn spanned(one: Interval, other: Interval) -> Interval {
    Interval { low: one.low.min(other.low), high: one.high.max(other.high) }
}

fn sentence(beside: &Beside, is_change: bool) -> String {
    let range = |range: &Interval| {
        let (low, high) = (print::decimals(range.low, 0), print::decimals(range.high, 0));
        if low == high { low } else { format!("{low} to {high}") }
    };
    let mut said = Vec::new();
    match (&beside.published_before, &beside.published) {
        (Some(before), Some(after)) if is_change => said.push(format!(
            "published walls like these rate {} before and {} after in the laboratory, without their openings",
            range(before),
            range(after)
        )),
        (_, Some(after)) if !is_change => said.push(format!(
            "published walls like these rate {} in the laboratory, without their openings",
            range(after)
        )),
        _ => (),
    }
    said.extend(beside.model_db.as_ref().map(|model| {
        let what = if is_change { "a change of " } else { "" };
        format!("the model gives {what}{} dB for pink noise (A-weighted)", range(model))
    }));
    if said.is_empty() {
        return String::new();
    }
    format!("Not of this house: {}.", said.join("; "))
}
