//! The look around before a round: what is to be held constant, and how it is found.

use storypole_desk::{Desk, Known, edge};
use storypole_journal::RecordId;
use storypole_notebook::Value;
use storypole_notebook::kinds::FOUND_STATES;

use super::guide::Stopped;
use crate::ask;
use crate::called;
use crate::context::Context;
use crate::draft::{Writing, warn};
use crate::refused::Refused;

/// Asks for every condition of the set's test that is not noted yet; each answer is kept at once.
///
/// # Errors
/// [`Stopped`] at the end of input, or a refusal of the desk.
pub fn ask_all(context: &Context, desk: &Desk, set: RecordId, by: Option<&str>) -> Result<(), Stopped> {
    let open = open(desk, set);
    if open.is_empty() {
        return Ok(());
    }
    eprintln!(
        "First a look around. Blank: as wanted. ?: nobody could look. skip: leave it open. stop: go on another time."
    );
    for condition in open {
        let of = |field: &str| called::text(desk, "condition", condition, field);
        let wanted = of("wanted").unwrap_or_else(|| "nothing was written down".to_owned());
        eprintln!(
            "\n{} ({}), wanted: {wanted}",
            of("variable").unwrap_or_default(),
            of("class").unwrap_or_default()
        );
        if let Some(before) = before(desk, set, condition) {
            eprintln!("  in the set before: {before}");
        }
        let (value, status) = match ask::line("  as found:").ok_or(Stopped::ByPerson)?.as_str() {
            "stop" => return Err(Stopped::ByPerson),
            "skip" => continue,
            "" => ("as wanted".to_owned(), "same".to_owned()),
            "?" => ("nobody could look".to_owned(), "unknown".to_owned()),
            found => (found.to_owned(), ask_status()?),
        };
        keep(context, desk, set, condition, by, &value, &status)?;
    }
    Ok(())
}

/// Conditions of the set's test without a note in this set, the weightiest first.
fn open(desk: &Desk, set: RecordId) -> Vec<RecordId> {
    let Some(test) = called::reference(desk, "set", set, "test") else { return Vec::new() };
    let mut open = desk.matching("condition", &[("test", Value::Record(test))]);
    let noted = |condition| {
        desk.matching("found", &[("condition", Value::Record(condition)), ("set", Value::Record(set))])
    };
    open.retain(|condition| noted(*condition).is_empty());
    let weight = |id: &RecordId| match called::text(desk, "condition", *id, "class").as_deref() {
        Some("critical") => 0,
        Some("important") => 1,
        _ => 2,
    };
    open.sort_by_cached_key(|id| (weight(id), called::text(desk, "condition", *id, "variable")));
    open
}

/// How the condition was found in the latest other set of the test. A first set has nothing to go by.
fn before(desk: &Desk, set: RecordId, condition: RecordId) -> Option<String> {
    if called::text(desk, "set", set, "stage").as_deref() == Some("before") {
        return None;
    }
    let sets = called::sets_of(desk, called::reference(desk, "set", set, "test")?);
    let (other, found) = sets.into_iter().rev().filter(|other| *other != set).find_map(|other| {
        let fields = [("condition", Value::Record(condition)), ("set", Value::Record(other))];
        Some((other, *desk.matching("found", &fields).first()?))
    })?;
    Some(format!("{} ({})", called::text(desk, "found", found, "value")?, called::name(desk, "set", other)))
}

fn ask_status() -> Result<String, Stopped> {
    loop {
        let answer =
            ask::line("  same as wanted, corrected now, changed, or unknown?").ok_or(Stopped::ByPerson)?;
        if answer == "stop" {
            return Err(Stopped::ByPerson);
        }
        if let Some(state) = state(&answer) {
            return Ok(state.to_owned());
        }
        eprintln!("  one of: {}", FOUND_STATES.join(", "));
    }
}

/// The one state that starts with what was typed.
fn state(typed: &str) -> Option<&'static str> {
    let typed = typed.to_lowercase();
    let mut fitting = FOUND_STATES.iter().filter(|state| !typed.is_empty() && state.starts_with(&typed));
    let first = fitting.next()?;
    fitting.next().is_none().then_some(*first)
}

fn keep(
    context: &Context,
    desk: &Desk,
    set: RecordId,
    condition: RecordId,
    by: Option<&str>,
    value: &str,
    status: &str,
) -> Result<(), Refused> {
    let mut writing = Writing::start(context, desk, by)?;
    let id = edge::record_id();
    writing.set_value(id, "found", "condition", &Value::Record(condition))?;
    writing.set_value(id, "found", "set", &Value::Record(set))?;
    writing.set(id, "found", "value", value)?;
    writing.set(id, "found", "status", status)?;
    warn(&writing.take()?);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_may_be_shortened_as_long_as_they_are_one() {
        for (typed, expected) in [
            ("s", Some("same")),
            ("Same", Some("same")),
            ("cor", Some("corrected")),
            ("ch", Some("changed")),
            ("c", None),
            ("u", Some("unknown")),
            ("", None),
            ("open", None),
        ] {
            assert_eq!(state(typed), expected, "{typed}");
        }
    }
}
