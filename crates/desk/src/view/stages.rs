//! A rebuild step by step, and an untouched wall beside it.

use serde_json::{Value, json};
use storypole_findings::Findings;
use storypole_findings::change::Change;
use storypole_findings::control::Controlled;
use storypole_findings::stages::{Stages, Step};
use storypole_journal::RecordId;
use storypole_notebook::Book;

use super::{amount, called, change, day, estimate, interval};

/// The steps of a test as JSON, by direction and weighting.
pub fn json(book: &Book, findings: &Findings<'_>, test: RecordId) -> Value {
    findings.stages(test).iter().map(|one| stages(book, one)).collect()
}

fn stages(book: &Book, stages: &Stages) -> Value {
    json!({
        "direction": stages.direction.words,
        "unit": stages.unit.map(|unit| unit.symbol()),
        "steps": stages.steps.iter().map(|one| step(book, one)).collect::<Value>(),
        "sentence": stages.words,
    })
}

fn step(book: &Book, step: &Step) -> Value {
    json!({
        "set": called::json(book, "set", Some(step.set)),
        "stage": step.stage,
        "assembly": called::json(book, "assembly", step.assembly),
        "date": day(step.date),
        "parts_changed": change::parts(&step.what_changed),
        "level_difference": step.level_difference.as_ref().map(|level| estimate(level, false)),
        "to_first": step.to_first.as_ref().map(figure),
        "to_before": step.to_before.as_ref().map(figure),
        "spent_so_far": step.spent_so_far.map(amount),
        "spent_for_it": step.spent_since_before.map(amount),
        "sentence": step.words,
    })
}

/// A change in short: what a table of steps holds.
fn figure(change: &Change) -> Value {
    json!({
        "change": change.value.as_ref().map(|value| estimate(value, true)),
        "interval": change.interval.as_ref().map(interval),
        "claim": change.claim.word(),
        "grade": change.grade.letter.to_string(),
    })
}

/// An untouched wall beside a change.
pub fn control(book: &Book, control: &Controlled) -> Value {
    json!({
        "from": change::set_ref(book, &control.from),
        "to": change::set_ref(book, &control.to),
        "direction": control.direction.words,
        "moved": estimate(&control.control_change, true),
        "moved_interval": control.control_interval.as_ref().map(interval),
        "change_less_it": estimate(&control.effect, true),
        "interval": control.interval.as_ref().map(interval),
        "find_out_first": control.investigate,
        "looked_at": control.looked_at,
        "sentence": control.sentence,
    })
}
