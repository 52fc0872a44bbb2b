//! What records are called on the command line: from a name to the record, from the record to a name that leads
//! back to it, and the next free label. Leaves out writing.
//!
//! Labels are unique within a kind; what has none, or one of its test only, is told by its owner: a position as
//! `Q1/R2` or `Q1/hall/R2` (also `T04/R2`, on the side the set measured), a condition as `Q1/furniture`, as found
//! as `T12/furniture`, a reading as `T18/R2` or `T18/background`, a line of a receipt as `P02/3`.

use storypole_desk::names::{self, NameError};
use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::{FieldType, KindSpec, Row, Value};

use crate::refused::Refused;
use crate::struck;

/// The specification of a kind.
///
/// # Errors
/// There is no such kind; the refusal lists those there are.
pub fn kind(name: &str) -> Result<&'static KindSpec, Refused> {
    let wanted = name.trim().to_lowercase();
    let singular = wanted.strip_suffix('s').unwrap_or(&wanted);
    KindSpec::find(&wanted).or_else(|| KindSpec::find(singular)).ok_or_else(|| {
        let known: Vec<&str> = storypole_notebook::kinds::KINDS.iter().map(|kind| kind.name).collect();
        Refused::new(
            format!("there is no kind of record called \"{name}\""),
            format!("use one of: {}", known.join(", ")),
        )
    })
}

/// The row of a record.
pub fn row(desk: &Desk, kind: &str, id: RecordId) -> Option<Row> {
    let kind = KindSpec::find(kind)?;
    desk.read(|reader| reader.row(kind, id)).ok().flatten()
}

/// A reference a record holds.
pub fn reference(desk: &Desk, kind: &str, id: RecordId, field: &str) -> Option<RecordId> {
    if let Some(Value::Record(to)) = desk.value(id, kind, field) { Some(to) } else { None }
}

/// Words a record holds.
pub fn text(desk: &Desk, kind: &str, id: RecordId, field: &str) -> Option<String> {
    desk.value(id, kind, field).map(|value| value.to_string())
}

/// Finds the one record of a kind that a name means; an empty kind looks through all that have labels.
///
/// # Errors
/// None or several are called that; one that is struck is said to be.
pub fn find(desk: &Desk, kind: &str, name: &str) -> Result<RecordId, Refused> {
    find_standing(desk, kind, name).map_err(|refused| {
        let spec = KindSpec::find(kind).filter(|_| desk.labelled(kind, name.trim()).is_empty());
        match spec.map(|spec| struck::called_so(desk, spec, name)).unwrap_or_default().first() {
            Some(id) => struck::refusal(desk, kind, *id, name.trim()),
            None => refused,
        }
    })
}

fn find_standing(desk: &Desk, kind: &str, name: &str) -> Result<RecordId, Refused> {
    let name = name.trim();
    if let Ok(id) = name.parse::<RecordId>() {
        return match row(desk, kind, id) {
            Some(_) => Ok(id),
            None => Err(NameError::None { kind: kind.to_owned(), name: name.to_owned() }.into()),
        };
    }
    let found = match (kind, name.split_once('/')) {
        ("position", Some((owner, own))) => positions(desk, owner, own),
        ("condition", Some((owner, own))) => within(desk, kind, "test", owner, "variable", own),
        ("found", Some((set, variable))) => founds(desk, set, variable),
        ("reading", Some((set, place))) => readings(desk, set, place),
        ("line", Some((receipt, number))) => lines(desk, receipt, number),
        _ => return Ok(names::find(desk, kind, name)?),
    };
    match found[..] {
        [id] => Ok(id),
        [] => Err(NameError::None { kind: kind.to_owned(), name: name.to_owned() }.into()),
        _ => {
            let count = found.len();
            Err(NameError::Several { kind: kind.to_owned(), name: name.to_owned(), count }.into())
        }
    }
}

/// Finds a record whatever its kind, as [`find_any`]; where none that stands is called that, a struck one.
///
/// # Errors
/// None is called that, or several struck ones were.
pub fn find_any_struck_too(desk: &Desk, name: &str) -> Result<(&'static str, RecordId), Refused> {
    match find_any_standing(desk, name) {
        Ok(found) => Ok(found),
        Err(refused) => struck::find_any(desk, name.trim())?.ok_or(refused),
    }
}

/// Finds a record whatever its kind, as `J1`, `job:J1`, `T18/R2` or by its id.
///
/// # Errors
/// None is called that; one that is struck is said to be.
pub fn find_any(desk: &Desk, name: &str) -> Result<(&'static str, RecordId), Refused> {
    find_any_standing(desk, name).or_else(|refused| match struck::find_any(desk, name.trim())? {
        Some((kind, id)) => Err(struck::refusal(desk, kind, id, name.trim())),
        None => Err(refused),
    })
}

fn find_any_standing(desk: &Desk, name: &str) -> Result<(&'static str, RecordId), Refused> {
    let name = name.trim();
    if let Ok(id) = name.parse::<RecordId>() {
        let kind = desk.read(|reader| reader.kind_of(id))?;
        let none = || NameError::None { kind: "record".to_owned(), name: name.to_owned() };
        return Ok((kind.ok_or_else(none)?.name, id));
    }
    if let Some((kind, own)) = name.split_once(':')
        && let Some(kind) = KindSpec::find(kind)
    {
        return find_standing(desk, kind.name, own).map(|id| (kind.name, id));
    }
    let direct = names::find_any(desk, name);
    if direct.is_err() && name.contains('/') {
        for kind in ["reading", "line", "found", "position", "condition"] {
            if let Ok(id) = find(desk, kind, name) {
                if kind == "position" {
                    no_reading_there(desk, name, id)?;
                }
                return Ok((kind, id));
            }
        }
    }
    Ok(direct?)
}

/// A place named by a set means what was read there.
///
/// # Errors
/// The name starts with a set, and nothing was read in it there.
fn no_reading_there(desk: &Desk, named: &str, position: RecordId) -> Result<(), Refused> {
    let Some((set, place)) = named.split_once('/').filter(|(set, _)| !desk.labelled("set", set).is_empty())
    else {
        return Ok(());
    };
    Err(Refused::new(
        format!("{set} has no reading at {place}"),
        format!(
            "write it down with `storypole test reading {set} {place} ...`; the place itself is {}",
            name(desk, "position", position)
        ),
    ))
}

fn within(desk: &Desk, kind: &str, owner_kind: &str, owner: &str, field: &str, own: &str) -> Vec<RecordId> {
    let owners = desk.labelled(owner_kind, owner);
    let of = |owner| {
        desk.matching(kind, &[(owner_kind, Value::Record(owner)), (field, Value::Text(own.to_owned()))])
    };
    owners.into_iter().flat_map(of).collect()
}

fn positions(desk: &Desk, owner: &str, own: &str) -> Vec<RecordId> {
    if let [set] = desk.labelled("set", owner)[..] {
        return positions_of_set(desk, set, own, None);
    }
    let (room, label) = own.split_once('/').map_or((None, own), |(room, label)| (Some(room), label));
    let mut found = within(desk, "position", "test", owner, "label", label);
    if let Some(room) = room {
        let rooms = desk.labelled("room", room);
        found.retain(|id| reference(desk, "position", *id, "room").is_some_and(|room| rooms.contains(&room)));
    }
    found
}

/// Positions of a set by label: where the source stands in the room it plays in, where the meter stands in the
/// other. `role` narrows it to one side.
pub fn positions_of_set(desk: &Desk, set: RecordId, label: &str, role: Option<&str>) -> Vec<RecordId> {
    let Some(test) = reference(desk, "set", set, "test") else { return Vec::new() };
    let mut found =
        desk.matching("position", &[("test", Value::Record(test)), ("label", Value::Text(label.to_owned()))]);
    let side_of = |id: RecordId| match role {
        Some("source") => Some("source".to_owned()),
        Some("receive") => Some("receive".to_owned()),
        _ => text(desk, "position", id, "side"),
    };
    found.retain(|id| {
        let room = reference(desk, "position", *id, "room");
        let of_set = match side_of(*id).as_deref() {
            Some("source") => reference(desk, "set", set, "from_room"),
            Some("receive") => reference(desk, "set", set, "to_room"),
            _ => None,
        };
        room.is_none() || of_set.is_none() || room == of_set
    });
    found
}

/// Sets of a test in the order they were taken: by day, then by label.
pub fn sets_of(desk: &Desk, test: RecordId) -> Vec<RecordId> {
    let mut sets = desk.matching("set", &[("test", Value::Record(test))]);
    sets.sort_by_cached_key(|set| (text(desk, "set", *set, "date"), text(desk, "set", *set, "label"), *set));
    sets
}

/// Whether a test measures sound.
pub fn is_of_sound(desk: &Desk, test: RecordId) -> bool {
    matches!(text(desk, "test", test, "measures").as_deref(), None | Some("level-difference"))
}

fn founds(desk: &Desk, set: &str, variable: &str) -> Vec<RecordId> {
    let sets = desk.labelled("set", set);
    let mut found: Vec<RecordId> =
        sets.into_iter().flat_map(|set| desk.matching("found", &[("set", Value::Record(set))])).collect();
    found.retain(|id| {
        let condition = reference(desk, "found", *id, "condition");
        condition.and_then(|id| text(desk, "condition", id, "variable")).as_deref() == Some(variable)
    });
    found
}

fn readings(desk: &Desk, set: &str, place: &str) -> Vec<RecordId> {
    let [set] = desk.labelled("set", set)[..] else { return Vec::new() };
    let of_set = ("set", Value::Record(set));
    if place == "background" {
        return desk.matching("reading", &[of_set, ("role", Value::Text(place.to_owned()))]);
    }
    let positions = positions_of_set(desk, set, place, None);
    let at = |position| desk.matching("reading", &[of_set.clone(), ("position", Value::Record(position))]);
    let mut found: Vec<RecordId> = positions.into_iter().flat_map(at).collect();
    // A room's decay may stand at the same spot as a level, which is what the spot is named for.
    let is_decay =
        |reading: &RecordId| text(desk, "reading", *reading, "subject").as_deref() == Some("reverberation");
    if !found.iter().all(is_decay) {
        found.retain(|reading| !is_decay(reading));
    }
    found
}

/// A line by its number in the order of the receipt, from 1; struck lines keep their number.
fn lines(desk: &Desk, receipt: &str, number: &str) -> Vec<RecordId> {
    let [receipt] = desk.labelled("receipt", receipt)[..] else { return Vec::new() };
    let number: Option<usize> = number.parse().ok().and_then(|number: usize| number.checked_sub(1));
    number.and_then(|index| lines_of(desk, receipt).get(index).copied()).into_iter().collect()
}

/// Every line of a receipt in its order, struck ones too.
pub fn lines_of(desk: &Desk, receipt: RecordId) -> Vec<RecordId> {
    let Ok(book) = desk.book() else { return Vec::new() };
    let mut lines: Vec<_> = book.lines.all().filter(|line| line.receipt == Some(receipt)).collect();
    lines.sort_by_key(|line| line.order());
    lines.into_iter().map(|line| line.id).collect()
}

/// What a record is called, in a form that [`find`] leads back from where there is one; else its id.
pub fn name(desk: &Desk, kind: &str, id: RecordId) -> String {
    let Some(row) = row(desk, kind, id) else { return id.to_string() };
    let owner = |field: &str| match (row.value(field), row.kind.field(field)) {
        (Some(Value::Record(to)), Some((_, spec))) => match spec.takes {
            FieldType::Reference(of) => Some(name(desk, of, *to)),
            _ => None,
        },
        _ => None,
    };
    let own = |field: &str| row.value(field).map(ToString::to_string);
    let joined = |parts: [Option<String>; 3]| {
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join("/"))
    };
    let told = match kind {
        "position" => joined([owner("test"), owner("room"), own("label")]),
        "condition" => joined([owner("test"), own("variable"), None]),
        "found" => {
            let variable =
                reference(desk, kind, id, "condition").and_then(|id| text(desk, "condition", id, "variable"));
            joined([owner("set"), variable, None])
        }
        "reading" => {
            let place =
                reference(desk, kind, id, "position").and_then(|id| text(desk, "position", id, "label"));
            joined([owner("set"), place.or_else(|| own("role")), None])
        }
        "line" => line_name(desk, id, owner("receipt")),
        "hours" => joined([owner("person"), own("date"), None]),
        _ => ["label", "name", "title", "subject", "caption", "caution"].into_iter().find_map(own),
    };
    told.unwrap_or_else(|| id.to_string())
}

fn line_name(desk: &Desk, id: RecordId, receipt: Option<String>) -> Option<String> {
    let lines = lines_of(desk, reference(desk, "line", id, "receipt")?);
    let number = lines.iter().position(|line| *line == id)? + 1;
    receipt.map(|receipt| format!("{receipt}/{number}"))
}

/// A record that a field of any kind points to, with its kind, as `job:J1`.
pub fn name_with_kind(desk: &Desk, id: RecordId) -> String {
    match desk.read(|reader| reader.kind_of(id)) {
        Ok(Some(kind)) => format!("{}:{}", kind.name, name(desk, kind.name, id)),
        _ => id.to_string(),
    }
}

/// The letter that labels of a kind start with, where they are numbered.
fn letter(kind: &str) -> Option<char> {
    Some(match kind {
        "site" => 'S',
        "room" => 'R',
        "job" => 'J',
        "task" => 'K',
        "assembly" => 'A',
        "entry" => 'E',
        "receipt" => 'P',
        "use" => 'U',
        "waste" => 'V',
        "count" => 'N',
        "hazard" => 'H',
        "opening" => 'O',
        "blocking" => 'B',
        "move" => 'X',
        "meter" => 'M',
        "test" => 'Q',
        "set" => 'T',
        "writeup" => 'W',
        _ => return None,
    })
}

/// The next free label of a kind, `None` where its labels are words.
pub fn next_label(desk: &Desk, kind: &KindSpec) -> Result<Option<String>, Refused> {
    let Some(letter) = letter(kind.name) else { return Ok(None) };
    let kind = KindSpec::find(kind.name).expect("the kind was found by its name");
    let rows = desk.read(|reader| reader.rows(kind))?;
    let labels = rows.iter().filter_map(|row| row.value("label").map(ToString::to_string));
    Ok(Some(next_after(letter, labels)))
}

/// One more than the greatest number in use, as wide as those in use. Struck records keep theirs.
fn next_after(letter: char, labels: impl Iterator<Item = String>) -> String {
    let mut greatest = (0_u64, 0);
    for label in labels {
        let digits: String =
            label.strip_prefix(letter).unwrap_or_default().chars().take_while(char::is_ascii_digit).collect();
        if let Ok(number) = digits.parse() {
            greatest = (greatest.0.max(number), greatest.1.max(digits.len()));
        }
    }
    let (number, width) = (greatest.0.saturating_add(1), greatest.1);
    format!("{letter}{number:0width$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_next_label_follows_those_in_use() {
        for (letter, labels, expected) in [
            ('J', &[][..], "J1"),
            ('J', &["J1", "J8", "J2"], "J9"),
            ('T', &["T01", "T26", "T26-after", "trial"], "T27"),
            ('P', &["P09"], "P10"),
            ('A', &["A14g", "A16"], "A17"),
            ('T', &["T99"], "T100"),
        ] {
            let labels = labels.iter().map(|label| (*label).to_owned());
            assert_eq!(next_after(letter, labels), expected);
        }
    }

    #[test]
    fn kinds_are_found_in_the_plural_too() {
        assert_eq!(kind("rooms").unwrap().name, "room");
        assert_eq!(kind("hours").unwrap().name, "hours");
        assert!(kind("wall").is_err());
    }
}
