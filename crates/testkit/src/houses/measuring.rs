//! One test of a generated wall: question, condition, positions, a set before and a set after, their readings.

use storypole_journal::RecordId;
use storypole_notebook::{Quantity, Unit, Value};
use storypole_units::Decimal;

use super::pen::{Pen, text};
use super::sound::{self, Noise, Round};
use super::truth::{Built, Measured, Named, Truth};
use super::{Counted, Crew, label};

/// Whether the condition held in the set after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Held {
    Same,
    Changed,
    Unknown,
}

/// Where source and meter stand.
struct Places {
    source: RecordId,
    receive: Vec<RecordId>,
}

/// Writes a test with all that belongs to it; returns what it comes to.
pub(super) fn write(
    pen: &mut Pen<'_>,
    counted: &mut Counted,
    crew: &Crew,
    truth: &Truth,
    is_bench_rig: bool,
) -> Measured {
    let test = Named { label: label("Q", &mut counted.tests), record: pen.id() };
    let question = question(truth, is_bench_rig);
    let mut fields = vec![
        ("label", text(&test.label)),
        ("question", text(&question)),
        ("measures", text("level-difference")),
        ("job", Value::Record(truth.job.record)),
        ("planned", Value::Date(truth.days.0)),
    ];
    if is_bench_rig {
        fields.push(("bench_rig", Value::Flag(true)));
    }
    pen.write_as(test.record, "test", &fields);
    let held = match pen.chance.below(30) {
        0 => Held::Changed,
        1 => Held::Unknown,
        _ => Held::Same,
    };
    let rounds = rounds(pen, truth, is_bench_rig);
    let places = (!is_bench_rig).then(|| write_places(pen, test.record, truth, rounds[0].places()));
    let condition = write_condition(pen, test.record);
    let sets =
        [("before", &truth.before, Held::Same), ("after", &truth.after, held)].map(|(stage, built, held)| {
            let set = Named { label: label("T", &mut counted.sets), record: pen.id() };
            write_set(pen, crew, truth, &set, (test.record, stage, built));
            write_found(pen, condition, set.record, held);
            set
        });
    for (set, round) in sets.iter().zip(&rounds) {
        write_readings(pen, set.record, places.as_ref(), round);
    }
    let differences = [rounds[0].level_difference(), rounds[1].level_difference()];
    let is_out = held == Held::Changed;
    Measured {
        test,
        question,
        sets,
        differences,
        reduction: sound::change(differences[0], differences[1]).filter(|_| !is_out),
        grade: (!is_out).then(|| grade(truth, &rounds, held, is_bench_rig)),
        rounds,
        is_bench_rig,
    }
}

fn question(truth: &Truth, is_bench_rig: bool) -> String {
    let fill = truth.after.wall.fill.map_or("nothing", |fill| fill.name);
    if is_bench_rig {
        return format!("What does {fill} do in a small panel?");
    }
    let [a, b] = &truth.rooms;
    match truth.after.wall.fill {
        Some(_) => format!("Does the wall with {fill} keep the {a} out of the {b}?"),
        None => format!("Does the new wall keep the {a} out of the {b}?"),
    }
}

/// Readings that follow from both walls, from how well this house was built, and from the noise of the day.
fn rounds(pen: &mut Pen<'_>, truth: &Truth, is_bench_rig: bool) -> [Round; 2] {
    let house = sound::about(pen.chance, 15);
    let places = *pen.chance.pick(&[2, 3, 4, 4, 4, 4, 4, 5]);
    let noise = if pen.chance.below(14) == 0 { Noise::Loud } else { Noise::Quiet };
    [(&truth.before, Noise::Quiet), (&truth.after, noise)].map(|(built, noise)| {
        let difference = built.wall.tenths_db() + house + sound::about(pen.chance, 9);
        if is_bench_rig {
            sound::runs(pen.chance, difference)
        } else {
            sound::rooms(pen.chance, difference, places, noise)
        }
    })
}

fn write_places(pen: &mut Pen<'_>, test: RecordId, truth: &Truth, count: usize) -> Places {
    let mut place = |label: &str, side: &str, room: &Named| {
        let fields = [
            ("test", Value::Record(test)),
            ("room", Value::Record(room.record)),
            ("label", text(label)),
            ("side", text(side)),
        ];
        pen.write("position", &fields)
    };
    let source = place("S1", "source", &truth.room_records[0]);
    let receive =
        (1..=count).map(|number| place(&format!("R{number}"), "receive", &truth.room_records[1])).collect();
    Places { source, receive }
}

fn write_condition(pen: &mut Pen<'_>, test: RecordId) -> RecordId {
    pen.write(
        "condition",
        &[
            ("test", Value::Record(test)),
            ("variable", text("doors and windows")),
            ("class", text("critical")),
            ("wanted", text("closed on both sides")),
        ],
    )
}

fn write_set(
    pen: &mut Pen<'_>,
    crew: &Crew,
    truth: &Truth,
    set: &Named,
    (test, stage, built): (RecordId, &str, &Built),
) {
    pen.write_as(
        set.record,
        "set",
        &[
            ("label", text(&set.label)),
            ("test", Value::Record(test)),
            ("job", Value::Record(truth.job.record)),
            ("stage", text(stage)),
            ("assembly", Value::Record(built.assembly.record)),
            ("from_room", Value::Record(truth.room_records[0].record)),
            ("to_room", Value::Record(truth.room_records[1].record)),
            ("meter", Value::Record(crew.meter)),
            ("signal", Value::Record(crew.signal)),
            ("date", Value::Date(built.since)),
        ],
    );
}

fn write_found(pen: &mut Pen<'_>, condition: RecordId, set: RecordId, held: Held) {
    let (value, status) = match held {
        Held::Same => ("closed", "same"),
        Held::Changed => ("a window stood ajar", "changed"),
        Held::Unknown => ("nobody looked", "unknown"),
    };
    pen.write(
        "found",
        &[
            ("condition", Value::Record(condition)),
            ("set", Value::Record(set)),
            ("value", text(value)),
            ("status", text(status)),
        ],
    );
}

fn write_readings(pen: &mut Pen<'_>, set: RecordId, places: Option<&Places>, round: &Round) {
    match (round, places) {
        (Round::Runs(runs), _) => {
            for (index, run) in runs.iter().enumerate() {
                let replicate = i64::try_from(index + 1).unwrap_or(1);
                let fields = [
                    ("set", Value::Record(set)),
                    ("role", text("direct")),
                    ("subject", text("level-difference")),
                    ("value", tenths(*run, Unit::Db)),
                    ("replicate", Value::Integer(replicate)),
                ];
                pen.write("reading", &fields);
            }
        }
        (Round::Rooms { source, receive, background }, Some(places)) => {
            reading(pen, set, ("source", Some(places.source)), *source);
            for (place, level) in places.receive.iter().zip(receive) {
                reading(pen, set, ("receive", Some(*place)), *level);
            }
            reading(pen, set, ("background", None), *background);
        }
        (Round::Rooms { .. }, None) => unreachable!("rooms are measured at positions"),
    }
}

fn reading(pen: &mut Pen<'_>, set: RecordId, (role, place): (&str, Option<RecordId>), level: i64) {
    let mut fields = vec![("set", Value::Record(set))];
    fields.extend(place.map(|place| ("position", Value::Record(place))));
    fields.extend([
        ("role", text(role)),
        ("subject", text("level")),
        ("value", tenths(level, Unit::DbA)),
        ("response", text("leq")),
        ("duration_s", Value::Decimal(Decimal::from_int(30))),
    ]);
    pen.write("reading", &fields);
}

fn tenths(value: i64, unit: Unit) -> Value {
    let number = Decimal::from_parts(i128::from(value), 1).expect("a level with one decimal");
    Value::Quantity(Quantity::new(number, unit).expect("levels here are within a meter's range"))
}

/// Grade of the comparison: B at best, as nothing here is measured a third time to see drift. The limits are this project's
/// own convention: five positions A, three B, two C; 10 dB over the noise A, 6 B, 3 C; a leaf missing in both rounds C, in one D.
fn grade(truth: &Truth, rounds: &[Round; 2], held: Held, is_bench_rig: bool) -> char {
    let condition = if held == Held::Unknown { 'C' } else { 'A' };
    if is_bench_rig {
        return condition.max('B');
    }
    let places = if rounds[0].places() < 3 { 'C' } else { 'B' };
    let margin_db = rounds.iter().filter_map(Round::margin_db).fold(f64::INFINITY, f64::min);
    let noise = match margin_db {
        10.0.. => 'A',
        6.0.. => 'B',
        3.0.. => 'C',
        _ => 'D',
    };
    let cover = match [&truth.before, &truth.after].map(|built| built.wall.is_covered()) {
        [true, true] => 'A',
        [false, false] => 'C',
        _ => 'D',
    };
    condition.max(places).max(noise).max(cover)
}
