//! A notebook of house tests, invented and seeded: as rows, for a book in memory and for tables alike.
//!
//! Each test has seven positions, eight conditions and four rounds (before, filled, after, repeat) of two readings at each
//! position and one of the background: about 116 records, a little over half of them readings. Three tests make a job.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};
use storypole_journal::RecordId;
use storypole_notebook::{KindSpec, Meta, Quantity, Row, Unit, Value};
use storypole_testkit::Chance;
use storypole_units::Decimal;

/// Records of one test.
const OF_TEST: usize = 116;
const STAGES: [&str; 4] = ["before", "filled", "after", "repeat"];
const CONDITIONS: [(&str, &str); 8] = [
    ("source and its setting", "critical"),
    ("source position", "critical"),
    ("microphone positions", "critical"),
    ("meter and weighting", "critical"),
    ("doors and windows", "critical"),
    ("furniture", "important"),
    ("heating and fans", "important"),
    ("people in the room", "minor"),
];
/// Cavity, leaf B and state of the wall as it is found, filled, and after.
const WALLS: [(&str, &str, &str); 3] = [
    ("89 clear, empty", "gypsum 12.7 x1, 8.1 kg/m2", "finished"),
    ("89 clear, cellulose 89, 56 kg/m3", "gypsum 12.7 x1, 8.1 kg/m2", "boarded-both"),
    ("89 clear, cellulose 89, 56 kg/m3", "gypsum 15.9 x2, 22 kg/m2", "finished"),
];

/// Rows in the order they were written, so that their ids rise.
pub struct HouseTests {
    chance: Chance,
    at_ms: u64,
    /// Every row.
    pub rows: Vec<Row>,
    meter: RecordId,
    job: RecordId,
    rooms: [RecordId; 2],
}

/// A reading to come.
pub struct Coming {
    /// Its row.
    pub row: Row,
    /// The test it belongs to.
    pub test: RecordId,
}

impl HouseTests {
    /// At least so many records.
    pub fn new(seed: u64, count: usize) -> Self {
        let nobody = RecordId::from_bytes([0; 16]);
        let mut house = Self {
            chance: Chance::new(seed),
            at_ms: 1_741_089_600_000,
            rows: Vec::with_capacity(count + 2 * OF_TEST),
            meter: nobody,
            job: nobody,
            rooms: [nobody; 2],
        };
        house.meter = house.add("meter", &[("label", text("M1")), ("meter_kind", text("class 2"))]);
        for number in 0.. {
            if house.rows.len() >= count {
                break;
            }
            house.test(number);
        }
        house
    }

    fn id(&mut self) -> RecordId {
        self.at_ms += 1_000;
        RecordId::from_parts(self.at_ms, self.chance.id())
    }

    fn add(&mut self, kind: &str, fields: &[(&str, Value)]) -> RecordId {
        let id = self.id();
        self.rows.push(row(id, kind, fields));
        id
    }

    fn test(&mut self, number: usize) {
        if number.is_multiple_of(3) {
            self.job =
                self.add("job", &[("label", text(&format!("J{number}"))), ("title", text("music room"))]);
            self.rooms = ["music room", "hall"].map(|name| self.add("room", &[("name", text(name))]));
        }
        let label = text(&format!("Q{number}"));
        let measures = text("level-difference");
        let question = text("Does filling it help?");
        let test = self.add("test", &[("label", label), ("question", question), ("measures", measures)]);
        let conditions = CONDITIONS.map(|(variable, class)| {
            let fields =
                [("test", Value::Record(test)), ("variable", text(variable)), ("class", text(class))];
            self.add("condition", &fields)
        });
        let [source, receive] = self.rooms;
        let positions: Vec<RecordId> = (1..=7)
            .map(|place| self.position(test, place, if place < 4 { source } else { receive }))
            .collect();
        let walls = self.walls(number);
        let first = date(2025, 3, 4)
            .saturating_add(jiff::Span::new().days(i64::try_from(number % 2_000).unwrap_or(0)));
        for (round, stage) in STAGES.iter().enumerate() {
            let day = first.saturating_add(jiff::Span::new().days(i64::try_from(round).unwrap_or(0)));
            let set = self.set(test, stage, &format!("T{number}-{round}"), walls[round.min(2)], day);
            for condition in conditions {
                let fields = [
                    ("condition", Value::Record(condition)),
                    ("set", Value::Record(set)),
                    ("value", text("as wanted")),
                    ("status", text("same")),
                ];
                self.add("found", &fields);
            }
            self.readings(set, round, &positions);
        }
    }

    fn position(&mut self, test: RecordId, place: usize, room: RecordId) -> RecordId {
        let (side, label) =
            if place < 4 { ("source", format!("S{place}")) } else { ("receive", format!("R{}", place - 3)) };
        let fields = [
            ("test", Value::Record(test)),
            ("label", text(&label)),
            ("room", Value::Record(room)),
            ("side", text(side)),
        ];
        self.add("position", &fields)
    }

    fn walls(&mut self, number: usize) -> [RecordId; 3] {
        let mut replaces = None;
        WALLS.map(|(cavity, leaf_b, state)| {
            let mut fields = vec![
                ("label", text(&format!("A{number}"))),
                ("element", text("wall")),
                ("leaf_a", text("gypsum 12.7 x1, 8.1 kg/m2")),
                ("frame", text("single wood 38x89@406")),
                ("cavity", text(cavity)),
                ("leaf_b", text(leaf_b)),
                ("openings", text("none")),
                ("seals", text("none")),
                ("state", text(state)),
            ];
            fields.extend(replaces.map(|before| ("replaces", Value::Record(before))));
            let wall = self.add("assembly", &fields);
            replaces = Some(wall);
            wall
        })
    }

    fn set(&mut self, test: RecordId, stage: &str, label: &str, wall: RecordId, day: Date) -> RecordId {
        let [from, to] = self.rooms;
        let fields = [
            ("label", text(label)),
            ("test", Value::Record(test)),
            ("job", Value::Record(self.job)),
            ("stage", text(stage)),
            ("assembly", Value::Record(wall)),
            ("from_room", Value::Record(from)),
            ("to_room", Value::Record(to)),
            ("meter", Value::Record(self.meter)),
            ("date", Value::Date(day)),
        ];
        self.add("set", &fields)
    }

    fn readings(&mut self, set: RecordId, round: usize, positions: &[RecordId]) {
        // Tenths of a decibel: source, then receive, quieter with each rebuild.
        let receive = [560, 530, 490, 490][round];
        for (place, position) in positions.iter().enumerate() {
            for replicate in 1..=2 {
                let (role, tenths) = if place < 3 { ("source", 900) } else { ("receive", receive) };
                let tenths = tenths + i128::from(self.chance.below(25));
                let fields = reading(set, Some(*position), role, tenths, replicate);
                self.add("reading", &fields);
            }
        }
        let fields = reading(set, None, "background", 280 + i128::from(self.chance.below(40)), 1);
        self.add("reading", &fields);
    }

    /// New readings, each a third one at a receive position of some set.
    pub fn coming(&mut self, count: usize) -> Vec<Coming> {
        let test_of: BTreeMap<RecordId, RecordId> = self
            .rows
            .iter()
            .filter(|row| row.kind.name == "set")
            .filter_map(|row| Some((row.id, record(row, "test")?)))
            .collect();
        let is_received = |row: &&Row| row.value("role") == Some(&text("receive"));
        let old: Vec<(RecordId, RecordId)> = self
            .rows
            .iter()
            .filter(is_received)
            .filter_map(|row| Some((record(row, "set")?, record(row, "position")?)))
            .collect();
        (0..count)
            .map(|_| {
                let (set, position) = *self.chance.pick(&old);
                let fields =
                    reading(set, Some(position), "receive", 480 + i128::from(self.chance.below(90)), 3);
                Coming { row: row(self.id(), "reading", &fields), test: test_of[&set] }
            })
            .collect()
    }
}

fn reading(
    set: RecordId,
    position: Option<RecordId>,
    role: &str,
    tenths: i128,
    replicate: i64,
) -> Vec<(&'static str, Value)> {
    let number = Decimal::from_parts(tenths, 1).expect("a level with one decimal");
    let mut fields = vec![
        ("set", Value::Record(set)),
        ("role", text(role)),
        ("subject", text("level")),
        ("value", Value::Quantity(Quantity::new(number, Unit::DbA).expect("between 28 and 93 dBA"))),
        ("response", text("leq")),
        ("duration_s", Value::Decimal(Decimal::from_int(30))),
        ("replicate", Value::Integer(replicate)),
    ];
    fields.extend(position.map(|position| ("position", Value::Record(position))));
    fields
}

fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

fn record(row: &Row, field: &str) -> Option<RecordId> {
    match row.value(field) {
        Some(Value::Record(id)) => Some(*id),
        _ => None,
    }
}

fn row(id: RecordId, kind: &str, fields: &[(&str, Value)]) -> Row {
    let kind = KindSpec::find(kind).expect("a kind of this version");
    let mut values = vec![None; kind.fields.len()];
    for (field, value) in fields {
        let (index, _) = kind.field(field).expect("a field of this version");
        values[index] = Some(value.clone());
    }
    Row { id, kind, values, meta: Meta::default() }
}
