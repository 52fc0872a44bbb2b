//! One job with five hundred readings, invented and seeded: a wall rebuilt in five stages, many positions, bands, receipts.

use storypole_journal::RecordId;
use storypole_notebook::{Book, FieldType, KindSpec, Row, Value};
use storypole_testkit::Chance;

/// Positions of a stage in the source room, in the receiving room, and readings of the background.
const OF_STAGE: [(&str, usize); 3] = [("source", 20), ("receive", 78), ("background", 2)];

/// Stages: cavity, leaf B, seals, and how much quieter the receiving room is than at first.
const STAGES: [(&str, &str, &str, &str, f64); 5] = [
    ("before", "89 clear, empty", "gypsum 12.7 x1, 8.1 kg/m2", "none", 0.0),
    ("finished", "89 clear, empty", "gypsum 12.7 x1, 8.1 kg/m2", "A 2", 2.8),
    ("filled", "89 clear, cellulose 89, 56 kg/m3", "gypsum 12.7 x1, 8.1 kg/m2", "A 2", 6.4),
    ("boarded", "89 clear, cellulose 89, 56 kg/m3", "gypsum 15.9 x2, 22 kg/m2", "A 2", 10.1),
    ("after", "89 clear, cellulose 89, 56 kg/m3", "gypsum 15.9 x2, 22 kg/m2, damping", "A 2, B 2", 12.3),
];

/// Receipts of the job, with so many lines each.
const RECEIPTS: (usize, usize) = (6, 5);

/// Centres of thirds of an octave, Hz: IEC 61260-1, rounded as usual.
const THIRDS: [&str; 16] = [
    "100", "125", "160", "200", "250", "315", "400", "500", "630", "800", "1000", "1250", "1600", "2000",
    "2500", "3150",
];

/// The book and the job.
pub struct Invented {
    /// Every record.
    pub book: Book,
    /// The job.
    pub job: RecordId,
    /// How many readings it has.
    pub readings: usize,
}

/// Makes it.
pub fn invented(seed: u64) -> Invented {
    let mut making = Making { book: Book::default(), made: 0, chance: Chance::new(seed) };
    let notebook = [("name", "Bench"), ("currency", "USD"), ("own_labour_counted", "yes")];
    making.put("notebook", &notebook, &[]);
    let site = making.put("site", &[("label", "S1"), ("name", "House"), ("built_year", "1962")], &[]);
    let rooms = ["Practice room", "Hall"]
        .map(|name| making.put("room", &[("label", name), ("name", name)], &[("site", site)]));
    let job = making.put(
        "job",
        &[("label", "J1"), ("title", "Practice room, hall partition rebuilt")],
        &[("site", site)],
    );
    let meter = making.put("meter", &[("label", "M1"), ("meter_kind", "level meter"), ("class", "2")], &[]);
    let question =
        [("label", "Q1"), ("question", "What does each step add?"), ("measures", "level-difference")];
    let test = making.put("test", &question, &[("job", job)]);
    for (variable, class) in
        [("doors and windows", "critical"), ("furniture", "important"), ("people", "minor")]
    {
        making.put(
            "condition",
            &[("variable", variable), ("class", class), ("wanted", "as found")],
            &[("test", test)],
        );
    }
    let walls = making.walls(job, rooms);
    let positions = making.positions(test, rooms);
    let mut readings = 0;
    for (index, stage) in STAGES.iter().enumerate() {
        let day = format!("2025-03-{:02}", 4 + 2 * index);
        let fields = [("label", format!("T{:02}", index + 1)), ("stage", stage.0.to_owned()), ("date", day)];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let of = [
            ("test", test),
            ("job", job),
            ("assembly", walls[index]),
            ("meter", meter),
            ("from_room", rooms[0]),
            ("to_room", rooms[1]),
        ];
        let set = making.put("set", &fields, &of);
        readings += making.readings(set, &positions, stage.4);
    }
    making.receipts(job);
    Invented { book: making.book, job, readings }
}

struct Making {
    book: Book,
    made: u64,
    chance: Chance,
}

impl Making {
    fn put(&mut self, kind: &str, fields: &[(&str, &str)], references: &[(&str, RecordId)]) -> RecordId {
        let spec = KindSpec::find(kind).expect("a kind of the notebook");
        self.made += 1;
        let id = RecordId::from_parts(1_741_089_600_000 + self.made, [0; 10]);
        let mut values = vec![None; spec.fields.len()];
        for (name, text) in fields {
            let (at, field) = spec.field(name).unwrap_or_else(|| panic!("{kind}.{name}"));
            let value = match field.takes {
                FieldType::Reference(_) => panic!("{kind}.{name} refers to a record"),
                takes => takes
                    .parse(text, self.book.currency())
                    .unwrap_or_else(|why| panic!("{kind}.{name} {text}: {why}")),
            };
            values[at] = Some(value);
        }
        for (name, to) in references {
            let (at, _) = spec.field(name).unwrap_or_else(|| panic!("{kind}.{name}"));
            values[at] = Some(Value::Record(*to));
        }
        self.book.insert(Row { id, kind: spec, values, meta: Default::default() });
        id
    }

    fn walls(&mut self, job: RecordId, rooms: [RecordId; 2]) -> Vec<RecordId> {
        let mut walls: Vec<RecordId> = Vec::new();
        for (index, (_, cavity, leaf_b, seals, _)) in STAGES.iter().enumerate() {
            let label = format!("A{:02}", index + 1);
            let fields = [
                ("label", label.as_str()),
                ("element", "wall"),
                ("leaf_a", "gypsum 12.7 x1, 8.1 kg/m2"),
                ("frame", "single wood 38x89@406"),
                ("cavity", cavity),
                ("leaf_b", leaf_b),
                ("openings", "none"),
                ("seals", seals),
                ("state", "finished"),
                ("length", "150 in"),
                ("height", "97 1/8 in"),
            ];
            let mut of = vec![("job", job), ("room_a", rooms[0]), ("room_b", rooms[1])];
            of.extend(walls.last().map(|before| ("replaces", *before)));
            walls.push(self.put("assembly", &fields, &of));
        }
        walls
    }

    fn positions(&mut self, test: RecordId, rooms: [RecordId; 2]) -> Vec<(&'static str, Option<RecordId>)> {
        let mut positions = Vec::new();
        for (role, count) in OF_STAGE {
            for number in 1..=count {
                let (letter, room) = if role == "source" { ("S", rooms[0]) } else { ("R", rooms[1]) };
                let label = format!("{letter}{number}");
                let position = (role != "background").then(|| {
                    self.put(
                        "position",
                        &[("label", &label), ("side", role)],
                        &[("test", test), ("room", room)],
                    )
                });
                positions.push((role, position));
            }
        }
        positions
    }

    fn readings(
        &mut self,
        set: RecordId,
        positions: &[(&'static str, Option<RecordId>)],
        quieter_db: f64,
    ) -> usize {
        for (role, position) in positions {
            let level = match *role {
                "source" => 94.0,
                "receive" => 66.0 - quieter_db,
                _ => 30.0,
            };
            let value = format!("{:.1} dBA", level + self.spread());
            let bands: Vec<String> = THIRDS
                .iter()
                .enumerate()
                .map(|(index, hz)| format!("{hz} {:.1}", level - 12.0 - 0.6 * index as f64 + self.spread()))
                .collect();
            let bands = format!("third dBZ: {}", bands.join(", "));
            let fields = [
                ("role", *role),
                ("subject", "level"),
                ("value", &value),
                ("response", "leq"),
                ("duration_s", "30"),
                ("bands", &bands),
            ];
            let mut of = vec![("set", set)];
            of.extend(position.map(|position| ("position", position)));
            self.put("reading", &fields, &of);
        }
        positions.len()
    }

    /// Up to 1.2 dB either way.
    fn spread(&mut self) -> f64 {
        (self.chance.below(2401) as f64 - 1200.0) / 1000.0
    }

    fn receipts(&mut self, job: RecordId) {
        for receipt in 0..RECEIPTS.0 {
            let label = format!("P{:02}", receipt + 1);
            let receipt = self.put("receipt", &[("label", &label), ("date", "2025-03-04")], &[("job", job)]);
            for line in 0..RECEIPTS.1 {
                let price = format!("{}.40", 11 + 7 * line);
                let fields = [("item", "board 5/8 4x8"), ("quantity", "3"), ("unit_price", price.as_str())];
                self.put("line", &fields, &[("receipt", receipt), ("job", job)]);
            }
        }
    }
}
