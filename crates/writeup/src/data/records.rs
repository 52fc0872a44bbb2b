//! What was written down: jobs, walls, tests, sets, positions, readings, conditions.

use std::collections::BTreeMap;

use storypole_findings::SetFinding;
use storypole_findings::set_finding::rule_words;
use storypole_journal::RecordId;
use storypole_ledger::job_money;
use storypole_notebook::bands::Bands;
use storypole_notebook::kinds::{Found, Reading};
use storypole_units::Area;

use super::cell::{count, day, flag, number, row, text};
use super::{DataTable, From};

/// Fields of a reading that no number is made from, so that a conflict in them leaves it in results.
const BESIDE: &[&str] = &["note", "photo", "taken_at"];

pub(super) fn jobs(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("job", "Its label"),
        text("site", "The site, by number: its name is not told"),
        day("started", "First day"),
        day("finished", "Last day"),
        number("treated_area_m2", "m2", "Area treated, each surface once"),
    ];
    DataTable::new("jobs", "Pieces of work on a house", columns).rows(from.scope.jobs.iter().map(|job| {
        let area = job_money(from.scope.book, job.id).area;
        row![from.names.get(job.id), from.names.get(job.site), job.started, job.finished, area.map(Area::m2),]
    }))
}

pub(super) fn assemblies(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("assembly", "Its label; a rebuild is a new version"),
        text("replaces", "The version it replaces, where that is in the package"),
        text("job", "The job that built or found it"),
        text("element", "What it is"),
        day("since", "Day it was built or found"),
        text("leaf_a", "Leaf A, from its room inward"),
        text("frame", "Frame"),
        text("cavity", "Cavity and fill"),
        text("leaf_b", "Leaf B, from its room inward"),
        text("openings", "Doors, windows, boxes"),
        text("seals", "Seals at the edges"),
        text("state", "State of the work"),
        number("length_mm", "mm", "Length"),
        number("height_mm", "mm", "Height"),
        number("area_m2", "m2", "Length times height, openings counted"),
        number("face_m2", "m2", "Face that the sound meets, where length and height do not tell it"),
    ];
    DataTable::new("assemblies", "Versions of walls, ceilings, floors, doors and panels", columns)
        .refers("replaces", "", "assembly")
        .refers("job", "jobs", "job")
        .rows(from.scope.assemblies.iter().map(|wall| {
            let area = wall.length.zip(wall.height).map(|(length, height)| Area::of(length, height).m2());
            row![
                from.names.get(wall.id),
                from.names.get(wall.replaces),
                from.names.get(wall.job),
                wall.element.as_deref(),
                wall.since,
                wall.leaf_a.as_deref(),
                wall.frame.as_deref(),
                wall.cavity.as_deref(),
                wall.leaf_b.as_deref(),
                wall.openings.as_deref(),
                wall.seals.as_deref(),
                wall.state.as_deref(),
                wall.length.map(|length| length.to_mm_f64()),
                wall.height.map(|height| height.to_mm_f64()),
                area,
                wall.face_m2,
            ]
        }))
}

pub(super) fn tests(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("test", "Its label"),
        text("question", "What was asked"),
        text("measures", "What was measured"),
        flag("bench_rig", "A small panel on a bench: repeated runs in place of positions"),
        text(
            "background_rule",
            "How the room's own noise is taken off: iso16283, astm_e336 or astm_e336_19a",
        ),
        text("background_rule_name", "The standard and its edition"),
    ];
    let rule = from.scope.book.background_rule();
    let name = from.sets.first().map_or("", |set| rule_words(set.rule));
    DataTable::new("tests", "Questions asked of walls", columns).rows(from.scope.tests.iter().map(|test| {
        let record = from.scope.book.tests.get(test.test);
        let question = record.and_then(|record| record.question.as_deref());
        row![from.names.get(test.test), question, &test.measures, test.bench.is_some(), rule, name]
    }))
}

pub(super) fn sets(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "Its label"),
        text("test", "Its test"),
        text("job", "The job it was taken in"),
        text("stage", "Stage of the work"),
        text("assembly", "The version under test"),
        flag("control", "Of an untouched wall beside the rebuilt one, to see what else changed"),
        text("from_room", "Room of the source"),
        text("to_room", "Room of the receiver"),
        text("direction", "Which way the sound went, in words"),
        day("day", "Day"),
        text("weighting", "Unit of its levels"),
        text("meter_kind", "What the meter is"),
        text("meter_class", "Class of the meter"),
        text("signal", "The test sound"),
        text("operator_role", "Role of who took it"),
        flag("in_results", "Whether results are made from it"),
        text("why_not", "Why it is out of results"),
        flag("included", "A person included it in spite of what is odd about it"),
        text("flags", "What is odd about it"),
        text("missing_positions", "Planned positions without a reading, by label"),
    ];
    DataTable::new("sets", "Rounds of readings", columns)
        .refers("test", "tests", "test")
        .refers("job", "jobs", "job")
        .refers("assembly", "assemblies", "assembly")
        .rows(from.sets.iter().map(|set| set_row(from, set)))
}

fn set_row(from: &From<'_, '_>, set: &SetFinding) -> Vec<Option<String>> {
    let book = from.scope.book;
    let record = book.sets.get(set.set);
    let meter = book.meters.of(record.and_then(|record| record.meter));
    let signal = book.signals.of(set.signal).and_then(|signal| signal.description.as_deref());
    let operator = book.people.of(record.and_then(|record| record.operator));
    let mut flags: Vec<&str> = set.flags.iter().map(|raised| raised.flag.name()).collect();
    flags.dedup();
    row![
        from.names.get(set.set),
        from.names.get(set.test),
        from.names.get(set.job),
        set.stage.as_deref(),
        from.names.get(set.assembly),
        set.control,
        from.scope.room_name(set.direction.from),
        from.scope.room_name(set.direction.to),
        &set.direction.words,
        set.date,
        set.unit.map(|unit| unit.symbol()),
        meter.and_then(|meter| meter.meter_kind.as_deref()),
        meter.and_then(|meter| meter.class.as_deref()),
        signal,
        operator.and_then(|person| person.role.as_deref()),
        set.is_in(),
        set.excluded.join("; "),
        set.included,
        flags.join("; "),
        set.missing.join("; "),
    ]
}

pub(super) fn positions(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("position", "Its number in the package"),
        text("label", "Its label, met again in other rooms and tests"),
        text("test", "Its test"),
        text("room", "Its room"),
        text("side", "source or receive: what stands there"),
        number("x_mm", "mm", "From the left wall"),
        number("y_mm", "mm", "From the tested wall"),
        number("z_mm", "mm", "Above the floor"),
    ];
    let held = from.scope.book.positions.all().filter(|position| from.names.get(position.id).is_some());
    DataTable::new("positions", "Where source or meter stood", columns).refers("test", "tests", "test").rows(
        held.map(|position| {
            row![
                from.names.get(position.id),
                position.label.as_deref(),
                from.names.get(position.test),
                from.scope.room_name(position.room),
                position.side.as_deref(),
                position.x.map(|length| length.to_mm_f64()),
                position.y.map(|length| length.to_mm_f64()),
                position.z.map(|length| length.to_mm_f64()),
            ]
        }),
    )
}

/// Every reading with its name in the package, struck ones too: the set's, and its place in the set.
fn named_readings<'a>(from: &From<'a, '_>) -> Vec<(String, &'a Reading)> {
    let mut by_set: BTreeMap<RecordId, Vec<&Reading>> = BTreeMap::new();
    for reading in from.scope.book.readings.all() {
        if let Some(set) = reading.set {
            by_set.entry(set).or_default().push(reading);
        }
    }
    let mut named = Vec::new();
    for set in &from.sets {
        let name = from.names.get(set.set).unwrap_or_default();
        let readings = by_set.remove(&set.set).unwrap_or_default();
        named.extend(
            readings
                .into_iter()
                .enumerate()
                .map(|(index, reading)| (format!("{name}/{}", index + 1), reading)),
        );
    }
    named
}

pub(super) fn readings(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("reading", "Its name in the package"),
        text("set", "Its set"),
        text(
            "position",
            "Where it was taken; readings without one count as one position that no other set has",
        ),
        text("role", "source, receive, background, or direct for a number read off as it is"),
        text("subject", "What the number is"),
        number("value", "", "The number as typed; its last digit is the step of the meter"),
        text("unit", "Unit of the number"),
        text("response", "How the meter averaged"),
        number("duration_s", "s", "Averaging time"),
        count("replicate", "Which repeat"),
        flag("counted", "Whether numbers are made from it, where its set is in results"),
        flag("corrected", "Whether it was corrected with a reason after its round"),
        flag("struck", "Whether it was struck"),
        text("why_struck", "Why it was struck"),
        text("in_conflict", "Fields that two devices wrote differently and nobody settled"),
    ];
    DataTable::new("readings", "Numbers as read, one a row", columns)
        .refers("set", "sets", "set")
        .refers("position", "positions", "position")
        .rows(named_readings(from).into_iter().map(|(name, reading)| {
            let conflict: Vec<&str> =
                reading.meta.conflict.iter().filter(|field| !BESIDE.contains(field)).copied().collect();
            let is_read = reading.value.is_some() && reading.role.is_some();
            let is_corrected = reading.meta.corrected.iter().any(|field| !BESIDE.contains(field))
                && !from.scope.retaken.contains(&reading.id);
            row![
                name,
                from.names.get(reading.set),
                from.names.get(reading.position),
                reading.role.as_deref(),
                reading.subject.as_deref(),
                reading.value.map(|value| value.number()),
                reading.value.map(|value| value.unit().symbol()),
                reading.response.as_deref(),
                reading.duration_s,
                reading.replicate,
                reading.meta.struck.is_none() && conflict.is_empty() && is_read,
                is_corrected,
                reading.meta.struck.is_some(),
                reading.meta.struck.as_deref(),
                conflict.join("; "),
            ]
        }))
}

pub(super) fn bands(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("reading", "The reading"),
        number("band_hz", "Hz", "Middle of the band, as bands are named"),
        text("width", "octave or third of one"),
        number("value", "", "Level without weighting, or reverberation time"),
        text("unit", "dBZ or s"),
    ];
    let rows = named_readings(from).into_iter().filter_map(|(name, reading)| {
        let bands = Bands::parse(reading.bands.as_deref()?).ok()?;
        let width = match bands.width {
            storypole_notebook::bands::Width::Octave => "octave",
            storypole_notebook::bands::Width::Third => "third",
        };
        let unit = bands.of.unit();
        let rows = bands.values().iter().map(|(hz, value)| row![name.as_str(), *hz, width, *value, unit]);
        Some(rows.collect::<Vec<_>>())
    });
    DataTable::new("bands", "Readings by frequency band, one number a row", columns)
        .keyed(&["reading", "band_hz"])
        .refers("reading", "readings", "reading")
        .rows(rows.flatten())
}

pub(super) fn conditions(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("condition", "Its number in the package"),
        text("set", "The set"),
        text("test", "The test"),
        text("variable", "What is held"),
        text("class", "How much it weighs: critical, important or minor"),
        text("wanted", "What was wanted"),
        text("found", "As found in this set"),
        text("status", "same, corrected, changed or unknown; empty where nobody noted it"),
    ];
    let book = from.scope.book;
    let mut founds: BTreeMap<(RecordId, RecordId), &Found> = BTreeMap::new();
    for found in book.founds.live() {
        if let Some(key) = found.condition.zip(found.set) {
            // The last one written counts.
            founds.insert(key, found);
        }
    }
    let rows = from.sets.iter().flat_map(|set| {
        let of_test = book.conditions.live().filter(|condition| condition.test == set.test);
        of_test.map(|condition| {
            let found = founds.get(&(condition.id, set.set));
            row![
                from.names.get(condition.id),
                from.names.get(set.set),
                from.names.get(set.test),
                condition.variable.as_deref(),
                condition.class.as_deref(),
                condition.wanted.as_deref(),
                found.and_then(|found| found.value.as_deref()),
                found.and_then(|found| found.status.as_deref()),
            ]
        })
    });
    let rows: Vec<_> = rows.collect();
    DataTable::new("conditions", "What was to be held constant, as found in each set", columns)
        .keyed(&["condition", "set"])
        .refers("set", "sets", "set")
        .refers("test", "tests", "test")
        .rows(rows)
}
