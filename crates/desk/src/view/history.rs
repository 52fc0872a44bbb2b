//! The history of a record with what was changed in its parts. One write by itself is in [`super::past`].

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::compose::STRUCK;
use storypole_store::read::HistoryItem;

use super::past::{Step, steps};
use super::{Called, called};

/// Everything that was written on a record.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// The record.
    pub record: Called,
    /// Its writes, oldest first.
    pub steps: Vec<Step>,
    /// Its parts in which something was changed or struck, with these writes only.
    pub changed_parts: Vec<(Called, Vec<Step>)>,
}

/// Looks up the history of a record. `history` gives the writes of one; `field` narrows it to one field.
///
/// What was corrected in a set stands in its readings and conditions, so they are part of its history; so are the
/// lines of a receipt.
///
/// # Errors
/// Whatever `history` fails with.
pub fn of<E>(
    book: &Book,
    kind: &str,
    id: RecordId,
    field: Option<&str>,
    history: impl Fn(RecordId) -> Result<Vec<HistoryItem>, E>,
) -> Result<History, E> {
    let written = |id: RecordId| -> Result<Vec<Step>, E> {
        let mut all = steps(book, &history(id)?);
        all.retain(|step| field.is_none_or(|field| step.field == field));
        Ok(all)
    };
    let own = written(id)?;
    let mut changed_parts = Vec::new();
    for (kind, part) in parts_of(book, kind, id) {
        let mut changed = written(part)?;
        changed.retain(|step| !step.over.is_empty() || step.field == STRUCK);
        if !changed.is_empty() {
            changed_parts.push((called(book, kind, part), changed));
        }
    }
    Ok(History { record: called(book, kind, id), steps: own, changed_parts })
}

/// Readings and conditions of a set, lines of a receipt.
fn parts_of(book: &Book, kind: &str, id: RecordId) -> Vec<(&'static str, RecordId)> {
    match kind {
        "set" => {
            let readings = book.readings.all().filter(|reading| reading.set == Some(id));
            let founds = book.founds.all().filter(|found| found.set == Some(id));
            let readings = readings.map(|reading| ("reading", reading.id));
            readings.chain(founds.map(|found| ("found", found.id))).collect()
        }
        "receipt" => {
            let mut lines: Vec<_> = book.lines.all().filter(|line| line.receipt == Some(id)).collect();
            lines.sort_by_key(|line| line.order());
            lines.into_iter().map(|line| ("line", line.id)).collect()
        }
        _ => Vec::new(),
    }
}

impl History {
    /// As JSON.
    pub fn json(&self) -> Value {
        let list = |steps: &[Step]| steps.iter().map(Step::json).collect::<Value>();
        let part =
            |(record, steps): &(Called, Vec<Step>)| json!({ "record": record.json(), "steps": list(steps) });
        json!({
            "record": self.record.json(),
            "steps": list(&self.steps),
            "changed_parts": self.changed_parts.iter().map(part).collect::<Value>(),
        })
    }
}
