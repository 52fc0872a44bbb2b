//! Records that are struck: found by the names they had, and what still points to a record before it is struck.
//! Leaves out striking and restoring.

use storypole_desk::Desk;
use storypole_desk::view::record::linked;
use storypole_journal::RecordId;
use storypole_notebook::kinds::KINDS;
use storypole_notebook::{KindSpec, Row};

use crate::called;
use crate::refused::Refused;

/// Struck records of a kind that were called this.
pub fn called_so(desk: &Desk, kind: &'static KindSpec, name: &str) -> Vec<RecordId> {
    let rows = desk.read(|reader| reader.rows(kind)).unwrap_or_default();
    let struck = rows.into_iter().filter(|row| row.meta.struck.is_some());
    struck.filter(|row| is_called(desk, row, name.trim())).map(|row| row.id).collect()
}

fn is_called(desk: &Desk, row: &Row, name: &str) -> bool {
    let own = |field: &str| row.value(field).is_some_and(|value| same(&value.to_string(), name));
    ["label", "name", "role", "title"].into_iter().any(own)
        || same(&called::name(desk, row.kind.name, row.id), name)
}

fn same(one: &str, other: &str) -> bool {
    one.eq_ignore_ascii_case(other)
}

/// The one struck record of a kind that was called this; `None` where there is none.
///
/// # Errors
/// Several were called that.
pub fn find(desk: &Desk, kind: &'static KindSpec, name: &str) -> Result<Option<RecordId>, Refused> {
    match called_so(desk, kind, name)[..] {
        [] => Ok(None),
        [id] => Ok(Some(id)),
        ref several => {
            let ids: Vec<String> = several.iter().map(ToString::to_string).collect();
            let reason = format!("{} struck records of kind {} were called {name}", ids.len(), kind.name);
            Err(Refused::new(reason, format!("name it by its id: {}", ids.join(", "))))
        }
    }
}

/// The one struck record that was called this, whatever its kind, also as `room:R1`.
///
/// # Errors
/// Several of one kind were called that.
pub fn find_any(desk: &Desk, name: &str) -> Result<Option<(&'static str, RecordId)>, Refused> {
    if let Some((kind, own)) = name.split_once(':')
        && let Some(kind) = KindSpec::find(kind)
    {
        return Ok(find(desk, kind, own)?.map(|id| (kind.name, id)));
    }
    for kind in KINDS {
        if let Some(id) = find(desk, kind, name)? {
            return Ok(Some((kind.name, id)));
        }
    }
    Ok(None)
}

/// Says of a struck record that it is, and how it comes back.
pub fn refusal(desk: &Desk, kind: &str, id: RecordId, name: &str) -> Refused {
    let why = called::row(desk, kind, id).and_then(|row| row.meta.struck).unwrap_or_default();
    let next = format!(
        "bring it back with `storypole reinstate {kind} {name} --reason ...`, or read it with `storypole history {kind}:{name}`"
    );
    Refused::new(format!("{kind} {name} is struck: {why}"), next)
}

/// Parts of a record, which mean nothing without it and are not counted without it.
const PARTS: &[(&str, &str)] = &[
    ("receipt", "line"),
    ("set", "reading"),
    ("set", "found"),
    ("set", "check"),
    ("test", "condition"),
    ("test", "position"),
];

/// Records that point to this one, divided into its own parts and others, in words like `3 sets`.
pub fn parts_and_others(desk: &Desk, kind: &str, id: RecordId) -> (Vec<String>, Vec<String>) {
    let (parts, others): (Vec<_>, Vec<_>) =
        linked(desk, kind, id).into_iter().partition(|(other, _)| PARTS.contains(&(kind, other)));
    let words = |(other, count)| counted(count, other);
    (parts.into_iter().map(words).collect(), others.into_iter().map(words).collect())
}

fn counted(count: usize, kind: &str) -> String {
    let many = match kind {
        "person" => "people".to_owned(),
        "entry" => "entries".to_owned(),
        "assembly" => "assemblies".to_owned(),
        "hours" => "records of hours".to_owned(),
        "found" => "conditions as found".to_owned(),
        "waste" => "records of waste".to_owned(),
        _ => format!("{kind}s"),
    };
    let one = match kind {
        "hours" | "waste" => format!("record of {kind}"),
        "found" => "condition as found".to_owned(),
        _ => kind.to_owned(),
    };
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

#[cfg(test)]
mod tests {
    use storypole_notebook::FieldType;

    use super::*;

    #[test]
    fn what_points_to_a_record_is_counted_in_words() {
        for (count, kind, expected) in [
            (1, "set", "1 set"),
            (4, "assembly", "4 assemblies"),
            (1, "hours", "1 record of hours"),
            (2, "hours", "2 records of hours"),
        ] {
            assert_eq!(counted(count, kind), expected);
        }
        assert!(PARTS.iter().all(|(kind, part)| {
            let part = KindSpec::find(part).expect("parts are kinds");
            part.field(kind).is_some_and(|(_, spec)| spec.takes == FieldType::Reference(kind))
        }));
    }
}
