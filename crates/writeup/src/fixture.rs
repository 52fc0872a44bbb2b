//! Notebooks for tests: a small one, and a part of the demo scenario. Everything in them is invented.
//!
//! Records are written as text and read by the fields themselves, as a person's typing is.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::{Book, FieldType, KindSpec, Row, Value};

/// Records by kind and key, and the book they make.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fixture {
    rows: BTreeMap<(String, String), Row>,
    pub(crate) book: Book,
}

impl Fixture {
    /// Writes a record. Its label is the end of its key; references are keys, or `kind:key` where any kind will do.
    pub(crate) fn put(&mut self, kind: &str, key: &str, fields: &[(&str, &str)]) -> RecordId {
        let spec = KindSpec::find(kind).unwrap();
        let id = RecordId::from_parts(1_000 + self.rows.len() as u64, [0; 10]);
        let row = Row { id, kind: spec, values: vec![None; spec.fields.len()], meta: Default::default() };
        assert!(self.rows.insert((kind.into(), key.into()), row).is_none(), "{kind} {key} twice");
        if spec.field("label").is_some() {
            self.change(kind, key, &[("label", key.rsplit('/').next().unwrap())]);
        }
        self.change(kind, key, fields);
        id
    }

    /// Writes over fields of a record.
    pub(crate) fn change(&mut self, kind: &str, key: &str, fields: &[(&str, &str)]) {
        for (field, text) in fields {
            let value = self.read(kind, field, text);
            self.write(kind, key, field, Some(value));
        }
        let row = self.row(kind, key).clone();
        self.book.insert(row);
    }

    /// Takes a value away.
    pub(crate) fn clear(&mut self, kind: &str, key: &str, field: &str) {
        self.write(kind, key, field, None);
        self.change(kind, key, &[]);
    }

    pub(crate) fn strike(&mut self, kind: &str, key: &str, reason: &str) {
        self.row(kind, key).meta.struck = Some(reason.into());
        self.change(kind, key, &[]);
    }

    /// Marks a field as written differently on two devices.
    pub(crate) fn conflict(&mut self, kind: &str, key: &str, field: &'static str) {
        self.row(kind, key).meta.conflict.push(field);
        self.change(kind, key, &[]);
    }

    fn correct(&mut self, kind: &str, key: &str, field: &'static str) {
        self.row(kind, key).meta.corrected.push(field);
        self.change(kind, key, &[]);
    }

    pub(crate) fn id(&self, kind: &str, key: &str) -> RecordId {
        self.rows.get(&(kind.into(), key.into())).unwrap_or_else(|| panic!("no {kind} {key}")).id
    }

    fn row(&mut self, kind: &str, key: &str) -> &mut Row {
        self.rows.get_mut(&(kind.into(), key.into())).unwrap_or_else(|| panic!("no {kind} {key}"))
    }

    fn write(&mut self, kind: &str, key: &str, field: &str, value: Option<Value>) {
        let row = self.row(kind, key);
        let (index, _) = row.kind.field(field).unwrap();
        row.values[index] = value;
    }

    fn read(&self, kind: &str, field: &str, text: &str) -> Value {
        let (_, spec) =
            KindSpec::find(kind).unwrap().field(field).unwrap_or_else(|| panic!("{kind}.{field}"));
        match (spec.takes, text.split_once(':')) {
            (FieldType::Reference(""), Some((kind, key))) => Value::Record(self.id(kind, key)),
            (FieldType::Reference(to), _) => Value::Record(self.id(to, text)),
            (takes, _) => {
                takes.parse(text, self.book.currency()).unwrap_or_else(|why| panic!("{field} {text}: {why}"))
            }
        }
    }

    fn wall(&mut self, label: &str, fields: &[(&str, &str)], parts: [&str; 7]) {
        self.put("assembly", label, fields);
        let names = ["leaf_a", "frame", "cavity", "leaf_b", "openings", "seals", "state"];
        let parts: Vec<(&str, &str)> = names.into_iter().zip(parts).collect();
        self.change("assembly", label, &parts);
    }

    /// A test with conditions of each class.
    fn test(&mut self, label: &str, fields: &[(&str, &str)]) {
        self.put("test", label, fields);
        for (variable, class, wanted) in [
            ("doors and windows", "critical", "closed"),
            ("furniture", "important", "as found"),
            ("people", "minor", "operator only"),
        ] {
            let fields = [("test", label), ("variable", variable), ("class", class), ("wanted", wanted)];
            self.put("condition", &format!("{label}/{variable}"), &fields);
        }
    }

    /// A set of levels, source and receive apart by a bar, with every condition found the same.
    fn levels(
        &mut self,
        test: &str,
        label: &str,
        fields: &[(&str, &str)],
        rooms: (&str, &str),
        unit: &str,
        levels: &str,
    ) {
        let common = [
            ("test", test),
            ("from_room", rooms.0),
            ("to_room", rooms.1),
            ("meter", "M1"),
            ("signal", "pink"),
            ("operator", "lead"),
        ];
        self.put("set", label, &common);
        self.change("set", label, fields);
        let sides: Vec<&str> = levels.split('|').collect();
        for (side, role, room, levels) in
            [("S", "source", rooms.0, sides[0]), ("R", "receive", rooms.1, sides[1])]
        {
            for (index, level) in levels.split_whitespace().enumerate() {
                let name = format!("{side}{}", index + 1);
                let position = format!("{test}/{room}/{name}");
                if !self.rows.contains_key(&("position".into(), position.clone())) {
                    self.put("position", &position, &[("test", test), ("room", room), ("side", role)]);
                }
                let value = format!("{level} {unit}");
                self.reading(label, &name, &[("role", role), ("position", &position), ("value", &value)]);
            }
        }
        self.reading(
            label,
            "background",
            &[("role", "background"), ("value", &format!("{} {unit}", sides[2].trim()))],
        );
        for variable in ["doors and windows", "furniture", "people"] {
            let condition = format!("{test}/{variable}");
            let fields = [
                ("condition", condition.as_str()),
                ("set", label),
                ("value", "as wanted"),
                ("status", "same"),
            ];
            self.put("found", &format!("{label}/{variable}"), &fields);
        }
    }

    fn reading(&mut self, set: &str, name: &str, fields: &[(&str, &str)]) {
        let key = format!("{set}/{name}");
        let common = [
            ("set", set),
            ("subject", "level"),
            ("response", "leq"),
            ("duration_s", "30"),
            ("replicate", "1"),
        ];
        self.put("reading", &key, &common);
        self.change("reading", &key, fields);
    }

    fn runs(&mut self, test: &str, label: &str, fields: &[(&str, &str)], runs: &[&str]) {
        self.put("set", label, &[("test", test), ("date", "2025-05-18")]);
        self.change("set", label, fields);
        for (index, run) in runs.iter().enumerate() {
            let (value, replicate) = (format!("{run} dB"), (index + 1).to_string());
            let fields = [
                ("role", "direct"),
                ("subject", "level-difference"),
                ("value", value.as_str()),
                ("replicate", &replicate),
            ];
            self.reading(label, &format!("run{replicate}"), &fields);
        }
    }

    fn spots(&mut self, label: &str, fields: &[(&str, &str)], spots: &[(&str, &str)]) {
        self.put("set", label, &[("test", "Q7"), ("job", "J8")]);
        self.change("set", label, fields);
        for (index, (subject, value)) in spots.iter().enumerate() {
            self.reading(
                label,
                &index.to_string(),
                &[("role", "direct"), ("subject", subject), ("value", value)],
            );
        }
    }

    /// A purchase: material, quantity, unit, price of one.
    fn receipt(&mut self, key: &str, fields: &[(&str, &str)], lines: &[(&str, &str, &str, &str)]) {
        self.put("receipt", key, fields);
        for (material, quantity, unit, price) in lines {
            let fields = [
                ("receipt", key),
                ("material", *material),
                ("item", *material),
                ("quantity", *quantity),
                ("unit", *unit),
                ("unit_price", *price),
                ("cost_group", "material"),
                ("taxed", "yes"),
            ];
            self.put("line", &format!("{key}/{material}"), &fields);
        }
    }
}

const THIN: &str = "gypsum 12.7 x1, 8.1 kg/m2";
const STUDS: &str = "single wood 38x89@406";
const EMPTY: &str = "89 clear, empty";

/// What every notebook here has: settings, people, a house, its rooms, a meter, a sound.
pub(crate) fn house() -> Fixture {
    let mut all = Fixture::default();
    all.put("notebook", "N", &[("name", "Tests"), ("currency", "USD"), ("own_labour_counted", "yes")]);
    all.put("person", "lead", &[("role", "site lead"), ("rate", "48.00"), ("crew", "yes")]);
    all.put("person", "helper", &[("role", "helper"), ("rate", "31.00"), ("crew", "yes")]);
    all.put("person", "electrician", &[("role", "licensed electrician"), ("crew", "no")]);
    let site = [("name", "Millrace house"), ("address", "12 Invented Row"), ("built_year", "1994")];
    all.put("site", "S1", &site);
    for (room, name) in [("R1", "music-practice room"), ("R2", "hall")] {
        all.put("room", room, &[("site", "S1"), ("name", name)]);
    }
    all.put("meter", "M1", &[("meter_kind", "sound level meter"), ("class", "2"), ("serial", "SN-00417")]);
    all.put("signal", "pink", &[("description", "pink noise, one minute")]);
    all
}

/// One wall filled with cellulose, measured before and after on four positions.
pub(crate) fn small() -> Fixture {
    let mut all = house();
    all.put("job", "J1", &[("site", "S1"), ("title", "Hall wall filled")]);
    let wall = [
        ("element", "wall"),
        ("job", "J1"),
        ("room_a", "R2"),
        ("room_b", "R1"),
        ("length", "132 in"),
        ("height", "97.125 in"),
    ];
    all.wall("A01", &wall, [THIN, STUDS, EMPTY, THIN, "none", "none", "finished"]);
    all.wall(
        "A02",
        &wall,
        [THIN, STUDS, "89 clear, cellulose 89, 56 kg/m3", THIN, "none", "none", "finished"],
    );
    all.change("assembly", "A02", &[("replaces", "A01")]);
    all.test("Q1", &[("question", "Does fill alone help?"), ("measures", "level-difference"), ("job", "J1")]);
    let rooms = ("R1", "R2");
    let before = [("job", "J1"), ("assembly", "A01"), ("stage", "before"), ("date", "2025-04-15")];
    all.levels("Q1", "T01", &before, rooms, "dBA", "88.4 87.9 88.8 | 57.5 56.8 58.2 57.4 | 29.0");
    let after = [("job", "J1"), ("assembly", "A02"), ("stage", "after"), ("date", "2025-04-17")];
    all.levels("Q1", "T02", &after, rooms, "dBA", "88.3 88.0 88.7 | 53.6 52.9 54.3 53.4 | 28.6");
    all
}

/// A part of the demo scenario: music room and its door, party wall, closet, box of fills, rim joist.
pub(crate) fn demo() -> Fixture {
    let mut all = house();
    all.change("site", "S1", &[("built_year", "1962")]);
    all.put("site", "S2", &[("name", "Kestrel duplex"), ("built_year", "1994")]);
    for (room, name) in [
        ("R4", "unit A living room"),
        ("R5", "unit B living room"),
        ("R8", "unit A utility closet"),
        ("R9", "unit A hall"),
    ] {
        all.put("room", room, &[("site", "S2"), ("name", name)]);
    }
    for (job, site, title) in [
        ("J1", "S1", "Music room, hall partition rebuilt"),
        ("J2", "S1", "Music room door replaced"),
        ("J3", "S2", "Wall of the living rooms, unit A side"),
        ("J5", "S2", "Utility closet boarded and filled"),
        ("J6", "S2", "Test box: compare fills"),
        ("J8", "S1", "Basement rim joist sealed"),
    ] {
        all.put("job", job, &[("site", site), ("title", title)]);
    }
    walls(&mut all);
    level_sets(&mut all);
    other_sets(&mut all);
    money(&mut all);
    let disclosed = [
        ("about", "job:J1"),
        ("title", "Music room: the door was the problem"),
        ("disclosure", "Own money, no gifts."),
    ];
    all.put("writeup", "W1", &disclosed);
    all
}

fn walls(all: &mut Fixture) {
    let music = [
        ("element", "wall"),
        ("room_a", "R2"),
        ("room_b", "R1"),
        ("length", "150 in"),
        ("height", "97.125 in"),
    ];
    let hollow = "door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2, back to back";
    let (filled, channel) =
        ("102 clear, glass fibre 89, 10 kg/m3", "gypsum 15.9 x2, 22 kg/m2, channel 13@566");
    all.wall("A01", &music, [THIN, STUDS, EMPTY, THIN, hollow, "none", "finished"]);
    all.wall("A02", &music, [THIN, STUDS, EMPTY, "none", hollow, "none", "bare-studs"]);
    let old_door = "door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2 tight, offset 610";
    all.wall("A03", &music, [THIN, STUDS, filled, channel, old_door, "A 1, B 2", "finished"]);
    let new_door = "door solid-core 1.65 m2, gasket and drop seal, undercut 0; boxes 2 tight, offset 610";
    all.wall("A04", &music, [THIN, STUDS, filled, channel, new_door, "A 1, B 2", "finished"]);
    let party = [
        ("element", "wall"),
        ("room_a", "R4"),
        ("room_b", "R5"),
        ("length", "236 in"),
        ("height", "97.125 in"),
    ];
    let (board, studs, some) =
        ("gypsum 15.9 x1, 11 kg/m2", "staggered wood 38x89@610 on 38x140", "glass fibre 89, 60%");
    all.wall("A05", &party, [board, studs, some, board, "none", "none", "finished"]);
    all.wall("A06", &party, [board, studs, some, board, "none", "A 2, top 2, bottom 2", "finished"]);
    let damped = "gypsum 15.9 x2, 22 kg/m2, damping";
    all.wall("A07", &party, [damped, studs, some, board, "none", "A 2, top 2, bottom 2", "finished"]);
    let closet = [
        ("element", "wall"),
        ("room_a", "R9"),
        ("room_b", "R8"),
        ("length", "100 in"),
        ("height", "97.125 in"),
        ("face_m2", "5.574182"),
    ];
    all.wall("A11", &closet, [THIN, STUDS, EMPTY, "none", "door louvred 1.67 m2", "none", "bare-studs"]);
    let louvred = "door louvred 1.67 m2";
    all.wall(
        "A12",
        &closet,
        [THIN, STUDS, "89 clear, glass fibre 89", "gypsum type x 15.9 x1", louvred, "none", "boarded-both"],
    );
    let panel = [("element", "panel"), ("length", "24 in"), ("height", "24 in")];
    for (label, cavity) in [
        ("A13", EMPTY),
        ("A14g", "89 clear, glass fibre 89, 10 kg/m3"),
        ("A14s", "89 clear, stone wool 89, 40 kg/m3"),
        ("A14c", "89 clear, cellulose 89, 56 kg/m3"),
    ] {
        all.wall(label, &panel, [THIN, STUDS, cavity, THIN, "none", "A gasket, B gasket", "boarded-both"]);
    }
    for label in ["A15", "A16"] {
        all.wall(
            label,
            &[("element", "rim")],
            ["unknown", "unknown", "unknown", "unknown", "unknown", "unknown", "finished"],
        );
    }
    for (label, job, replaces) in [
        ("A01", "J1", ""),
        ("A02", "J1", "A01"),
        ("A03", "J1", "A01"),
        ("A04", "J2", "A03"),
        ("A05", "J3", ""),
        ("A06", "J3", "A05"),
        ("A07", "J3", "A06"),
        ("A11", "J5", ""),
        ("A12", "J5", "A11"),
        ("A16", "J8", "A15"),
    ] {
        all.change("assembly", label, &[("job", job)]);
        if !replaces.is_empty() {
            all.change("assembly", label, &[("replaces", replaces)]);
        }
    }
}

#[rustfmt::skip]
fn level_sets(all: &mut Fixture) {
    for (test, question) in [
        ("Q1", "Did the rebuilt partition, and then the new door, keep the music room's sound out of the hall?"),
        ("Q2", "Does sealing come first?"),
        ("Q4", "Do board and fill help behind a louvred door?"),
    ] {
        all.test(test, &[("question", question), ("measures", "level-difference")]);
    }
    for (test, label, job, stage, date, assembly, from, to, unit, levels) in [
        ("Q1", "T01", "J1", "before",     "2025-03-04", "A01", "R1", "R2", "dBA", "94.2 93.6 94.9 | 69.1 68.4 70.2 69.6 | 33.5"),
        ("Q1", "T02", "J1", "before",     "2025-03-04", "A01", "R2", "R1", "dBA", "93.1 92.7 93.6 | 68.8 67.9 69.5 68.3 | 31.2"),
        ("Q1", "T03", "J1", "open-studs", "2025-03-07", "A02", "R1", "R2", "dBA", "94.3 93.8 94.6 | 71.6 70.9 72.3 71.5 | 33.1"),
        ("Q1", "T04", "J1", "finished",   "2025-03-14", "A03", "R1", "R2", "dBA", "94.4 93.7 94.8 | 68.6 67.9 69.2 68.7 | 33.4"),
        ("Q1", "T05", "J2", "after",      "2025-03-19", "A04", "R1", "R2", "dBA", "94.3 93.5 94.7 | 58.2 57.5 58.9 57.7 | 33.0"),
        ("Q1", "T06", "J2", "after",      "2025-03-19", "A04", "R2", "R1", "dBA", "93.0 92.6 93.5 | 58.9 58.2 59.4 58.7 | 55.1"),
        ("Q1", "T07", "J2", "repeat",     "2025-03-20", "A04", "R2", "R1", "dBA", "93.1 92.6 93.6 | 56.9 56.2 57.6 56.6 | 30.9"),
        ("Q1", "T08", "J1", "before",     "2025-03-04", "A01", "R1", "R2", "dBC", "96.8 97.5 96.1 | 80.2 82.9 79.4 81.6 | 47.0"),
        ("Q1", "T09", "J2", "after",      "2025-03-19", "A04", "R1", "R2", "dBC", "97.0 97.4 96.3 | 75.6 78.8 74.9 77.3 | 46.6"),
        ("Q2", "T10", "J3", "before",     "2025-04-01", "A05", "R4", "R5", "dBA", "95.2 94.6 95.5 | 53.4 52.7 54.2 53.5 | 31.2"),
        ("Q2", "T11", "J3", "after",      "2025-04-04", "A06", "R4", "R5", "dBA", "95.0 94.7 95.6 | 50.2 49.6 51.0 50.4 | 31.0"),
        ("Q2", "T12", "J3", "after",      "2025-04-08", "A07", "R4", "R5", "dBA", "95.1 94.5 95.4 | 48.9 48.2 49.6 48.4 | 41.0"),
        ("Q2", "T13", "J3", "repeat",     "2025-04-09", "A07", "R4", "R5", "dBA", "95.1 94.6 95.5 | 47.6 46.8 48.2 47.5 | 31.4"),
        ("Q4", "T17", "J5", "before",     "2025-05-02", "A11", "R8", "R9", "dBA", "92.1 91.6 92.5 | 77.5 76.9 78.3 77.8 | 35.2"),
        ("Q4", "T18", "J5", "after",      "2025-05-05", "A12", "R8", "R9", "dBA", "92.0 91.7 92.4 | 77.0 78.3 77.9 76.6 | 35.0"),
    ] {
        let fields = [("job", job), ("stage", stage), ("date", date), ("assembly", assembly)];
        all.levels(test, label, &fields, (from, to), unit, levels);
    }
    all.change("found", "T12/doors and windows", &[("value", "window ajar in unit B"), ("status", "changed")]);
    all.correct("reading", "T18/R2", "value");
}

fn other_sets(all: &mut Fixture) {
    let box_test = [
        ("question", "Can the box tell three fills apart?"),
        ("measures", "level-difference"),
        ("bench_rig", "yes"),
    ];
    all.put("test", "Q5", &box_test);
    for (label, assembly, stage, runs) in [
        ("T19", "A13", "before", ["29.1", "28.6", "29.3"]),
        ("T20", "A14g", "filled", ["32.2", "31.8", "32.6"]),
        ("T21", "A14s", "filled", ["32.7", "32.1", "32.9"]),
        ("T22", "A14c", "filled", ["32.9", "33.4", "32.6"]),
        ("T23", "A13", "repeat", ["28.7", "29.2", "28.9"]),
    ] {
        all.runs("Q5", label, &[("job", "J6"), ("assembly", assembly), ("stage", stage)], &runs);
    }
    all.put(
        "test",
        "Q7",
        &[("question", "Did foam and sealed edges warm the rim joist?"), ("measures", "thermal")],
    );
    let before = [("assembly", "A15"), ("stage", "before"), ("date", "2025-02-08")];
    let spots = [
        ("inside-air", "68 °F"),
        ("outside-air", "28 °F"),
        ("surface", "49.8 °F"),
        ("surface", "50.4 °F"),
        ("surface", "49.0 °F"),
        ("smoke-paths", "5 count"),
        ("moisture", "17.5 %"),
    ];
    all.spots("T26", &before, &spots);
    let after = [("assembly", "A16"), ("stage", "after"), ("date", "2025-02-22")];
    let spots = [
        ("inside-air", "68 °F"),
        ("outside-air", "30 °F"),
        ("surface", "58.6 °F"),
        ("surface", "59.1 °F"),
        ("surface", "58.0 °F"),
        ("smoke-paths", "1 count"),
        ("moisture", "14.0 %"),
    ];
    all.spots("T26-after", &after, &spots);
}

fn money(all: &mut Fixture) {
    for (material, name, unit) in [
        ("batt", "glass-fibre batt", "piece"),
        ("board", "board 5/8", "sheet"),
        ("channel", "resilient channel", "piece"),
        ("sealant", "acoustical sealant", "tube"),
        ("screws", "drywall screws", "box"),
        ("slab", "solid-core door slab", "each"),
        ("gasket kit", "perimeter gasket kit", "kit"),
        ("door bottom", "automatic door bottom", "each"),
    ] {
        all.put("material", material, &[("name", name), ("unit", unit)]);
    }
    all.change("material", "batt", &[("pack_unit", "pack"), ("pack_size", "11")]);
    for material in ["sealant", "screws"] {
        all.change("material", material, &[("valued", "no")]);
    }
    let goods = |date, job, tax, total| {
        [("date", date), ("job", job), ("tax_rate", "6.5"), ("printed_tax", tax), ("printed_total", total)]
    };
    let lines = [
        ("batt", "2", "pack", "62.40"),
        ("board", "8", "sheet", "17.85"),
        ("channel", "6", "piece", "6.95"),
        ("sealant", "3", "tube", "9.25"),
        ("screws", "2", "box", "8.60"),
    ];
    all.receipt("P02", &goods("2025-03-04", "J1", "23.03", "377.28"), &lines);
    let lines = [
        ("slab", "1", "each", "189.00"),
        ("gasket kit", "1", "kit", "48.50"),
        ("door bottom", "1", "each", "64.00"),
    ];
    all.receipt("P05", &goods("2025-03-18", "J2", "19.60", "321.10"), &lines);
    for (receipt, group, total) in [("P03", "disposal", "38.00"), ("P04", "subcontract", "320.00")] {
        all.put("receipt", receipt, &[("date", "2025-03-05"), ("job", "J1"), ("printed_total", total)]);
        let line = [
            ("receipt", receipt),
            ("item", group),
            ("quantity", "1"),
            ("unit_price", total),
            ("cost_group", group),
        ];
        all.put("line", &format!("{receipt}/{group}"), &line);
    }
    for (material, job, quantity) in [
        ("batt", "J1", "21"),
        ("channel", "J1", "5"),
        ("board", "J1", "8"),
        ("slab", "J2", "1"),
        ("gasket kit", "J2", "1"),
        ("door bottom", "J2", "1"),
    ] {
        let fields = [
            ("material", material),
            ("site", "S1"),
            ("job", job),
            ("quantity", quantity),
            ("date", "2025-03-18"),
        ];
        all.put("use", &format!("{job} {material}"), &fields);
    }
    for (job, person, hours) in
        [("J1", "lead", "22"), ("J1", "helper", "14"), ("J1", "electrician", "2.5"), ("J2", "lead", "5.5")]
    {
        let fields = [("job", job), ("person", person), ("date", "2025-03-10"), ("hours", hours)];
        all.put("hours", &format!("{job} {person}"), &fields);
    }
}
