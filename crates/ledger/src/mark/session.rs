//! Marks on tests: a condition that did not hold, a set bound to a wall between other rooms.

use storypole_notebook::Book;
use storypole_notebook::kinds::{Assembly, Found, Set};

use super::{Mark, MarkKind, named};

pub(super) fn marks(book: &Book) -> Vec<Mark> {
    let mut marks: Vec<Mark> = book.founds.live().filter_map(|found| changed(book, found)).collect();
    marks.extend(book.sets.live().filter_map(|set| other_rooms(book, set)));
    marks
}

fn changed(book: &Book, found: &Found) -> Option<Mark> {
    let set = book.sets.of(found.set);
    let set_struck = set.is_some_and(|set| set.meta.struck.is_some());
    if found.status.as_deref() != Some("changed") || set_struck {
        return None;
    }
    let condition = book.conditions.of(found.condition);
    let variable = named(condition.and_then(|condition| condition.variable.as_deref()), "a condition");
    let class = condition.and_then(|condition| condition.class.as_deref()).unwrap_or("unclassed");
    let value = found.value.as_deref().unwrap_or("nothing written");
    Some(Mark {
        kind: MarkKind::ConditionChanged,
        about: found.id,
        about_kind: Found::KIND,
        words: format!(
            "set {}: {variable} ({class}) changed, as found: {value}",
            named(set.and_then(|set| set.label.as_deref()), "without a label")
        ),
        next_step: "repeat the set with the condition as wanted, or say with a reason that it counts"
            .to_owned(),
    })
}

/// The rooms of a set must be the two rooms of its assembly, in either direction. What is not written is not judged.
fn other_rooms(book: &Book, set: &Set) -> Option<Mark> {
    let assembly = book.assemblies.of(set.assembly)?;
    if rooms_match(set, assembly) {
        return None;
    }
    let room = |id| named(book.rooms.of(id).and_then(|room| room.label.as_deref()), "no room");
    Some(Mark {
        kind: MarkKind::SetRoomDiffers,
        about: set.id,
        about_kind: Set::KIND,
        words: format!(
            "set {} goes from {} to {}, assembly {} stands between {} and {}",
            named(set.label.as_deref(), "without a label"),
            room(set.from_room),
            room(set.to_room),
            named(assembly.label.as_deref(), "without a label"),
            room(assembly.room_a),
            room(assembly.room_b)
        ),
        next_step: "correct the set's assembly or its rooms".to_owned(),
    })
}

fn rooms_match(set: &Set, assembly: &Assembly) -> bool {
    let fits = |set_room, room| match (set_room, room) {
        (Some(set_room), Some(room)) => set_room == room,
        // A room that is not written fits any.
        _ => true,
    };
    let either_way = [(assembly.room_a, assembly.room_b), (assembly.room_b, assembly.room_a)];
    either_way.into_iter().any(|(from, to)| fits(set.from_room, from) && fits(set.to_room, to))
}
