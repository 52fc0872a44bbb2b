//! Tests as they were planned and carried out: a list with what each shows, and one in full with every reading.
//! What a test shows by itself is in [`mod@super::test`].

use std::cmp::Reverse;

use serde_json::{Value, json};
use storypole_findings::{Contribution, Findings};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{CONDITION_CLASSES, Position, ROLES, Reading, Set, Test};

use super::called::in_order;
use super::record::RecordOf;
use super::{called, day, estimate, set, test as test_view};

/// Every test with its sets and what it shows, the one with the latest day first.
pub fn list(book: &Book, findings: &Findings<'_>) -> Value {
    let mut tests: Vec<(&Test, Vec<&Set>)> =
        book.tests.live().map(|test| (test, sets_of(book, test.id))).collect();
    let latest =
        |test: &Test, sets: &[&Set]| sets.iter().filter_map(|set| set.date).chain(test.planned).max();
    tests.sort_by_key(|(test, sets)| Reverse((latest(test, sets), test.id)));
    json!({
        "tests": tests.iter().map(|(test, sets)| row(book, findings, test, sets)).collect::<Value>(),
        "background_rule": book.background_rule(),
        "spreads": findings.contributions().iter().map(spread).collect::<Value>(),
    })
}

/// What a test gives to the pooled spreads.
fn spread(of: &Contribution) -> Value {
    let scatter = of.scatter.iter().map(
        |(unit, positions, sd_db)| json!({ "unit": unit.symbol(), "positions": positions, "sd_db": sd_db }),
    );
    let repeats =
        of.repeats.iter().map(|(unit, values)| json!({ "unit": unit.symbol(), "values_db": values }));
    json!({
        "test": of.test.to_string(),
        "scatter": scatter.collect::<Value>(),
        "repeats": repeats.collect::<Value>(),
    })
}

/// Sets of a test by date and label, those without a day last; struck ones left out.
fn sets_of(book: &Book, test: RecordId) -> Vec<&Set> {
    let mut sets: Vec<&Set> = book.sets.live().filter(|set| set.test == Some(test)).collect();
    let label = |set: &Set| in_order(set.label.as_deref().unwrap_or_default());
    sets.sort_by_cached_key(|set| (set.date.is_none(), set.date, label(set), set.id));
    sets
}

fn row(book: &Book, findings: &Findings<'_>, test: &Test, sets: &[&Set]) -> Value {
    let found = findings.test(test.id);
    // Bench rigs and thermal tests speak for themselves: their first and last sets are no change of a wall.
    let of_walls = found.as_ref().filter(|found| found.bench.is_none() && found.thermal.is_none());
    let headline = of_walls.and_then(|test| test.headline());
    let unit = headline.and_then(|change| change.unit);
    let unit = unit.or_else(|| found.as_ref()?.groups.iter().find_map(|group| group.unit));
    json!({
        "test": called(book, "test", test.id).json(),
        "measures": test.measures,
        "job": called::json(book, "job", test.job),
        "bench_rig": test.bench_rig == Some(true),
        "planned": day(test.planned),
        "sets": sets.iter().map(|set| set_row(book, findings, set)).collect::<Value>(),
        "sentence": found.as_ref().and_then(|found| found.sentences.first()),
        "claim": headline.map(|change| change.claim.word()),
        "grade": headline.map(|change| change.grade.letter.to_string()),
        "change": headline.and_then(|change| change.value.as_ref()).map(|value| estimate(value, true)),
        "unit": unit.map(|unit| unit.symbol()),
    })
}

fn set_row(book: &Book, findings: &Findings<'_>, set: &Set) -> Value {
    let found = findings.set(set.id);
    let has_rooms = set.from_room.is_some() || set.to_room.is_some();
    json!({
        "set": called(book, "set", set.id).json(),
        "stage": set.stage,
        "date": day(set.date),
        "direction": found.filter(|_| has_rooms).map(|found| &found.direction.words),
        "readings": readings_of(book, set.id).count(),
        "is_in_results": found.is_some_and(|found| found.is_in()),
    })
}

fn readings_of(book: &Book, set: RecordId) -> impl Iterator<Item = &Reading> {
    book.readings.live().filter(move |reading| reading.set == Some(set))
}

/// One test in full: conditions as found in each set, positions, sets with their readings, findings. `None` where
/// there is no such test. `record` gives the JSON of a whole record.
///
/// # Errors
/// Whatever `record` fails with.
pub fn sheet<E>(
    book: &Book,
    findings: &Findings<'_>,
    test: RecordId,
    record: &mut RecordOf<'_, E>,
) -> Result<Option<Value>, E> {
    let Some(planned) = book.tests.get(test) else { return Ok(None) };
    let sets = sets_of(book, test);
    Ok(Some(json!({
        "test": record("test", test)?,
        "job": called::json(book, "job", planned.job),
        "conditions": conditions(book, test, &sets, record)?,
        "positions": positions(book, test, record)?,
        "sets": sets.iter().map(|one| set_sheet(book, findings, one, record)).collect::<Result<Value, E>>()?,
        "finding": findings.test(test).map(|found| test_view::json(book, findings, &found)),
    })))
}

/// Each condition with how it was found in each set, what weighs most first; where it was written down twice, the
/// later counts.
fn conditions<E>(
    book: &Book,
    test: RecordId,
    sets: &[&Set],
    record: &mut RecordOf<'_, E>,
) -> Result<Value, E> {
    let mut of_test: Vec<_> =
        book.conditions.live().filter(|condition| condition.test == Some(test)).collect();
    let weight = |class: Option<&str>| CONDITION_CLASSES.iter().position(|known| Some(*known) == class);
    of_test.sort_by_key(|condition| {
        (weight(condition.class.as_deref()).unwrap_or(CONDITION_CLASSES.len()), condition.id)
    });
    let mut conditions = Vec::new();
    for condition in of_test {
        let mut found = Vec::new();
        for set in sets {
            let is_here = |condition_of: Option<RecordId>, set_of: Option<RecordId>| {
                condition_of == Some(condition.id) && set_of == Some(set.id)
            };
            let here = book.founds.live().filter(|found| is_here(found.condition, found.set)).last();
            found.push(json!({
                "set": called(book, "set", set.id).json(),
                "found": here.map(|found| record("found", found.id)).transpose()?,
            }));
        }
        conditions.push(json!({ "condition": record("condition", condition.id)?, "found": found }));
    }
    Ok(Value::Array(conditions))
}

/// Where the source stands first, then the meter, by label.
fn positions<E>(book: &Book, test: RecordId, record: &mut RecordOf<'_, E>) -> Result<Value, E> {
    let mut positions: Vec<&Position> =
        book.positions.live().filter(|position| position.test == Some(test)).collect();
    positions.sort_by_cached_key(|position| {
        let side = match position.side.as_deref() {
            Some("source") => 0,
            Some("receive") => 1,
            _ => 2,
        };
        (side, in_order(position.label.as_deref().unwrap_or_default()), position.room, position.id)
    });
    positions.into_iter().map(|position| record("position", position.id)).collect()
}

fn set_sheet<E>(
    book: &Book,
    findings: &Findings<'_>,
    one: &Set,
    record: &mut RecordOf<'_, E>,
) -> Result<Value, E> {
    let mut readings: Vec<&Reading> = readings_of(book, one.id).collect();
    readings.sort_by_cached_key(|reading| order(book, reading));
    let mut shown = Vec::new();
    for reading in readings {
        let mut json = record("reading", reading.id)?;
        json["position"] = called::json(book, "position", reading.position);
        shown.push(json);
    }
    Ok(json!({
        "set": record("set", one.id)?,
        "assembly": called::json(book, "assembly", one.assembly),
        "readings": shown,
        "finding": findings.set(one.id).map(|found| set::json(book, found)),
    }))
}

/// Source, receiver, background; then by place, then as they were repeated.
fn order(book: &Book, reading: &Reading) -> (usize, Vec<(String, u64)>, Option<i64>, RecordId) {
    let role = ROLES.iter().position(|role| Some(*role) == reading.role.as_deref()).unwrap_or(ROLES.len());
    let place = book.positions.of(reading.position).and_then(|position| position.label.as_deref());
    (role, in_order(place.unwrap_or_default()), reading.replicate, reading.id)
}
