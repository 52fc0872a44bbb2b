//! From a label in a file to the record it means. Leaves out values that are no references.

use storypole_journal::RecordId;
use storypole_notebook::{KindSpec, Value};

use super::held::Held;
use super::plan::Cell;
use super::reason::Reason;

/// The other cells of a row, and what of them is read already: some labels mean something only beside them.
pub(super) struct Beside<'a> {
    pub(super) cells: &'a [Cell],
    pub(super) values: &'a [(&'static str, Value)],
}

impl Beside<'_> {
    fn record(&self, field: &str) -> Option<RecordId> {
        self.values.iter().find(|(name, _)| *name == field).and_then(|(_, value)| as_record(value.clone()))
    }

    fn text(&self, field: &str) -> Option<&str> {
        self.cells.iter().find(|cell| cell.field == field)?.text.as_deref().map(str::trim)
    }
}

/// Finds the record of `kind` that `text` means: an id, or a label.
///
/// An empty kind takes `kind:label`. A position is `Q1/R2` or `Q1/hall/R2` (test, room, own label), a condition
/// `Q1/doors and windows`; beside a set the test is known and left out, and the set's rooms tell which side.
pub(super) fn find(held: &Held<'_>, kind: &str, text: &str, beside: &Beside<'_>) -> Result<RecordId, Reason> {
    let text = text.trim();
    if let Ok(id) = text.parse() {
        return Ok(id);
    }
    match kind {
        "" => {
            let which = || Reason::WhichKind { given: text.to_owned() };
            let (kind, label) = text.split_once(':').ok_or_else(which)?;
            let kind = KindSpec::find(kind.trim()).filter(|kind| !kind.name.is_empty()).ok_or_else(which)?;
            find(held, kind.name, label, beside)
        }
        "position" => one(kind, text, positions(held, text, beside), "write test/room/label, like Q1/R2/S1"),
        "condition" => one(kind, text, conditions(held, text, beside), "write test/variable"),
        _ => one(kind, text, held.labelled(kind, text), "use the record's id"),
    }
}

fn one(kind: &str, label: &str, found: Vec<RecordId>, next: &'static str) -> Result<RecordId, Reason> {
    let (kind, label) = (kind.to_owned(), label.to_owned());
    match found[..] {
        [id] => Ok(id),
        [] => Err(Reason::UnknownLabel { kind, label }),
        _ => Err(Reason::Ambiguous { kind, label, count: found.len(), next }),
    }
}

fn positions(held: &Held<'_>, text: &str, beside: &Beside<'_>) -> Vec<RecordId> {
    let set = beside.record("set");
    let test_of = |set| held.value(set, "set", "test").and_then(as_record);
    if let Some(set) = set
        && let Some(test) = test_of(set)
    {
        let side = if beside.text("role") == Some("source") { "from_room" } else { "to_room" };
        let found = in_room(held, test, text, held.value(set, "set", side).and_then(as_record));
        if !found.is_empty() {
            return found;
        }
    }
    let mut found = if set.is_none() { held.labelled("position", text) } else { Vec::new() };
    for (test, rest) in splits(held, text) {
        found.extend(in_room(held, test, rest, None));
        for (at, _) in rest.match_indices('/') {
            for room in held.labelled("room", &rest[..at]) {
                found.extend(in_room(held, test, &rest[at + 1..], Some(room)));
            }
        }
    }
    found
}

/// Positions of a test by label: where there are several, those in the room.
fn in_room(held: &Held<'_>, test: RecordId, label: &str, room: Option<RecordId>) -> Vec<RecordId> {
    let fields = [("test", Value::Record(test)), ("label", Value::Text(label.to_owned()))];
    let found = held.matching("position", &fields);
    let Some(room) = room else { return found };
    let there: Vec<RecordId> = found
        .iter()
        .copied()
        .filter(|position| held.value(*position, "position", "room") == Some(Value::Record(room)))
        .collect();
    if there.is_empty() { found } else { there }
}

fn conditions(held: &Held<'_>, text: &str, beside: &Beside<'_>) -> Vec<RecordId> {
    let of = |test: RecordId, variable: &str| {
        held.matching(
            "condition",
            &[("test", Value::Record(test)), ("variable", Value::Text(variable.to_owned()))],
        )
    };
    let test = beside.record("set").and_then(|set| held.value(set, "set", "test")).and_then(as_record);
    let found = test.map_or_else(Vec::new, |test| of(test, text));
    if !found.is_empty() {
        return found;
    }
    splits(held, text).into_iter().flat_map(|(test, variable)| of(test, variable)).collect()
}

/// Every way to read `test/rest` where the test is known; labels may hold a stroke themselves.
fn splits<'t>(held: &Held<'_>, text: &'t str) -> Vec<(RecordId, &'t str)> {
    let tests = |at: usize| held.labelled("test", text[..at].trim()).into_iter().map(move |test| (test, at));
    let pairs = text.match_indices('/').flat_map(|(at, _)| tests(at));
    pairs.map(|(test, at)| (test, text[at + 1..].trim())).collect()
}

pub(super) fn as_record(value: Value) -> Option<RecordId> {
    if let Value::Record(id) = value { Some(id) } else { None }
}
