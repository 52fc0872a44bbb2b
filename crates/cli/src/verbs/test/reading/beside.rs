//! A reading beside the rest of its set: what is odd about it, and where a position that is not found stands.

use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::{Quantity, Value};

use super::Planned;
use crate::called;
use crate::refused::Refused;
use crate::verbs::test_set::check;

/// Says at once what is odd about a level that was just written; it is kept all the same.
pub fn look(desk: &Desk, id: RecordId, planned: &Planned, set: &str, place: &str) {
    if planned.subject.as_deref() != Some("level") {
        return;
    }
    let others = levels(desk, planned.set, id);
    let background = others.iter().find(|other| other.role == "background");
    let mut odd = Vec::new();
    match planned.role.as_str() {
        "background" => {
            let receive = others.iter().filter(|other| other.role == "receive");
            for one in receive.filter(|one| one.value.unit() == planned.value.unit()) {
                let near = check::odd_db(one.value.to_f64(), &[], Some(planned.value.to_f64()));
                odd.extend(near.into_iter().map(|words| format!("{} is {words}", one.place)));
            }
        }
        role => {
            let alike: Vec<f64> = others
                .iter()
                .filter(|other| other.role == role && other.value.unit() == planned.value.unit())
                .map(|other| other.value.to_f64())
                .collect();
            let background_db = background
                .filter(|other| role == "receive" && other.value.unit() == planned.value.unit())
                .map(|other| other.value.to_f64());
            odd.extend(check::odd_db(planned.value.to_f64(), &alike, background_db));
        }
    }
    if !others.is_empty() && others.iter().all(|other| other.value.unit() != planned.value.unit()) {
        odd.push(format!(
            "in {}, the others of the set are in {}",
            planned.value.unit(),
            others[0].value.unit()
        ));
    }
    if odd.is_empty() {
        return;
    }
    eprintln!("look: {place} {}: {}", planned.value, odd.join("; "));
    eprintln!(
        "      read it again now; if it was wrong: storypole test correct {set} {place} \"... {}\" --reason ...",
        planned.value.unit()
    );
}

/// A level of the set.
struct Level {
    role: String,
    place: String,
    value: Quantity,
}

/// Levels of a set beside one of them.
fn levels(desk: &Desk, set: RecordId, except: RecordId) -> Vec<Level> {
    let fields = [("set", Value::Record(set)), ("subject", Value::Text("level".to_owned()))];
    let of = |id: RecordId| {
        let Some(Value::Quantity(value)) = desk.value(id, "reading", "value") else { return None };
        let position = called::reference(desk, "reading", id, "position");
        let place = position.and_then(|position| called::text(desk, "position", position, "label"));
        Some(Level {
            role: called::text(desk, "reading", id, "role")?,
            place: place.unwrap_or_else(|| "the reading".to_owned()),
            value,
        })
    };
    desk.matching("reading", &fields).into_iter().filter(|id| *id != except).filter_map(of).collect()
}

/// Why a set has no position of a label: it stands in another room, or nowhere; the next step names side and room.
pub fn unknown_position(desk: &Desk, set: RecordId, test: &str, label: &str, role: Option<&str>) -> Refused {
    let own_test = called::reference(desk, "set", set, "test");
    if own_test.is_some_and(|test| !called::is_of_sound(desk, test)) {
        let next = format!(
            "name it with `storypole test position {test} {label}`, or write - for no spot of its own"
        );
        return Refused::new(format!("{test} has no position {label}"), next);
    }
    let named = own_test.map(|test| {
        desk.matching("position", &[("test", Value::Record(test)), ("label", Value::Text(label.to_owned()))])
    });
    let elsewhere = named.unwrap_or_default().first().copied();
    let held = elsewhere.and_then(|position| called::text(desk, "position", position, "side"));
    let side = match role {
        Some(role @ ("source" | "receive")) => role.to_owned(),
        _ => held.unwrap_or_else(|| side_by_habit(label).to_owned()),
    };
    let field = if side == "source" { "from_room" } else { "to_room" };
    let room_name = |room| called::name(desk, "room", room);
    let room = called::reference(desk, "set", set, field).map(room_name);
    let in_room = room.as_ref().map_or_else(String::new, |room| format!(" --room {room}"));
    let next = format!(
        "name it with `storypole test position {test} {label} --side {side}{in_room}`, or write background"
    );
    let stands_in = elsewhere.and_then(|position| called::reference(desk, "position", position, "room"));
    let reason = match (stands_in.map(room_name), room) {
        (Some(there), Some(room)) => {
            format!("{label} stands in room {there}; the {side} room of this set is {room}")
        }
        _ => format!("{test} has no position {label} for this set"),
    };
    Refused::new(reason, next)
}

/// Where positions of this name mostly stand: S for the source, all others for the meter.
fn side_by_habit(label: &str) -> &'static str {
    if label.starts_with(['S', 's']) { "source" } else { "receive" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_position_is_not_sent_to_the_wrong_side() {
        assert_eq!(side_by_habit("S1"), "source");
        assert_eq!(side_by_habit("R4"), "receive");
    }
}
