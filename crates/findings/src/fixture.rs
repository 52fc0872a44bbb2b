//! Books for tests: a builder in the notation of people, and the demo scenario, which is invented.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::kinds::KindSpec;
use storypole_notebook::{Book, Meta, Row, Value};
use storypole_units::Currency;

/// The id of a record by kind and label; labels with greater numbers are younger.
pub(crate) fn id(kind: &str, label: &str) -> RecordId {
    // FNV-1a (its published offset and prime), twice for ten bytes.
    let hash = |salt: u8| {
        let bytes = std::iter::once(salt).chain(kind.bytes()).chain(label.bytes());
        bytes.fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x100_0000_01b3)
        })
    };
    let mut random = [0; 10];
    random[..8].copy_from_slice(&hash(1).to_be_bytes());
    random[8..].copy_from_slice(&hash(2).to_be_bytes()[..2]);
    let digits: String =
        label.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect();
    RecordId::from_parts(1_700_000_000_000 + digits.parse::<u64>().unwrap_or(0), random)
}

/// Builds a book row by row.
#[derive(Default)]
pub(crate) struct Builder {
    pub(crate) book: Book,
    rows: BTreeMap<RecordId, Row>,
}

impl Builder {
    /// Puts a record in; references are written `kind:label`.
    pub(crate) fn put(&mut self, kind: &str, label: &str, fields: &[(&str, &str)]) -> RecordId {
        self.put_with(kind, label, fields, Meta::default())
    }

    /// Puts a record in with what is known beside its fields.
    pub(crate) fn put_with(
        &mut self,
        kind: &str,
        label: &str,
        fields: &[(&str, &str)],
        meta: Meta,
    ) -> RecordId {
        let spec = KindSpec::find(kind).unwrap();
        let currency = Currency::parse("USD").unwrap();
        let id = id(kind, label);
        let mut values: Vec<Option<Value>> = vec![None; spec.fields.len()];
        if let Some((index, _)) = spec.field("label") {
            values[index] = Some(Value::Text(label.rsplit('/').next().unwrap().to_owned()));
        }
        for (field, text) in fields {
            let (index, field_spec) = spec.field(field).unwrap_or_else(|| panic!("{kind} has no {field}"));
            let reference = text.split_once(':').filter(|(kind, _)| KindSpec::find(kind).is_some());
            values[index] = Some(match reference {
                Some((kind, label)) => Value::Record(self::id(kind, label)),
                None => field_spec
                    .takes
                    .parse(text, currency)
                    .unwrap_or_else(|why| panic!("{field} {text}: {why}")),
            });
        }
        self.insert(Row { id, kind: spec, values, meta });
        id
    }

    fn insert(&mut self, row: Row) {
        self.rows.insert(row.id, row.clone());
        self.book.insert(row);
    }

    pub(crate) fn job(&mut self, label: &str) {
        self.put("job", label, &[("title", label)]);
    }

    pub(crate) fn test(&mut self, label: &str, bench: bool) {
        let bench = if bench { "yes" } else { "no" };
        self.put(
            "test",
            label,
            &[("question", label), ("measures", "level-difference"), ("bench_rig", bench)],
        );
    }

    pub(crate) fn thermal_test(&mut self, label: &str) {
        self.put("test", label, &[("question", label), ("measures", "thermal")]);
    }

    pub(crate) fn assembly(
        &mut self,
        label: &str,
        element: &str,
        parts: [&str; 6],
        state: &str,
        replaces: Option<&str>,
    ) {
        self.wall(label, element, parts, state, replaces, &[]);
    }

    fn wall(
        &mut self,
        label: &str,
        element: &str,
        parts: [&str; 6],
        state: &str,
        replaces: Option<&str>,
        more: &[(&str, &str)],
    ) {
        let [leaf_a, frame, cavity, leaf_b, openings, seals] = parts;
        let replaces = replaces.map(|label| format!("assembly:{label}"));
        let mut fields = vec![
            ("element", element),
            ("leaf_a", leaf_a),
            ("frame", frame),
            ("cavity", cavity),
            ("leaf_b", leaf_b),
            ("openings", openings),
            ("seals", seals),
            ("state", state),
        ];
        fields.extend(replaces.iter().map(|replaces| ("replaces", replaces.as_str())));
        fields.extend_from_slice(more);
        self.put("assembly", label, &fields);
    }

    pub(crate) fn bench_set(&mut self, test: &str, label: &str, assembly: &str, stage: &str, runs: &[f64]) {
        let (test, assembly) = (format!("test:{test}"), format!("assembly:{assembly}"));
        let fields =
            [("test", test.as_str()), ("assembly", &assembly), ("stage", stage), ("date", "2025-05-18")];
        self.put("set", label, &fields);
        for (index, run) in runs.iter().enumerate() {
            let (value, replicate) = (format!("{run} dB"), (index + 1).to_string());
            let set = format!("set:{label}");
            let fields = [
                ("set", set.as_str()),
                ("role", "direct"),
                ("subject", "level-difference"),
                ("value", &value),
                ("replicate", &replicate),
            ];
            self.put("reading", &format!("{label}/run{replicate}"), &fields);
        }
    }

    pub(crate) fn thermal_set(&mut self, test: &str, label: &str, assembly: &str, readings: &[(&str, &str)]) {
        let date = if label.ends_with("after") { "2025-02-22" } else { "2025-02-08" };
        let (test, assembly) = (format!("test:{test}"), format!("assembly:{assembly}"));
        let fields = [("test", test.as_str()), ("assembly", &assembly), ("stage", "before"), ("date", date)];
        self.put("set", label, &fields);
        for (index, (subject, value)) in readings.iter().enumerate() {
            let set = format!("set:{label}");
            let fields = [("set", set.as_str()), ("role", "direct"), ("subject", subject), ("value", value)];
            self.put("reading", &format!("{label}/{index}"), &fields);
        }
    }

    /// A set with its readings; positions of the test are put in as they are named.
    pub(crate) fn set(&mut self, set: &SetRow) {
        let SetRow { test, label, job, stage, date, assembly, from, to, unit, source, receive, background } =
            *set;
        let reference = |kind: &str, label: &str| format!("{kind}:{label}");
        let (test_ref, job, assembly) =
            (reference("test", test), reference("job", job), reference("assembly", assembly));
        let (from_ref, to_ref) = (reference("room", from), reference("room", to));
        let fields = [
            ("test", test_ref.as_str()),
            ("job", &job),
            ("stage", stage),
            ("date", date),
            ("assembly", &assembly),
            ("from_room", &from_ref),
            ("to_room", &to_ref),
        ];
        self.put("set", label, &fields);
        for (role, side, room, levels) in [("source", "S", from, source), ("receive", "R", to, receive)] {
            for (index, level) in levels.split_whitespace().enumerate() {
                let position = format!("{test}/{room}/{side}{}", index + 1);
                let room_ref = reference("room", room);
                let fields = [("test", test_ref.as_str()), ("room", &room_ref), ("side", role)];
                self.put("position", &position, &fields);
                self.reading(
                    label,
                    &format!("{side}{}", index + 1),
                    role,
                    Some(&position),
                    &format!("{level} {unit}"),
                );
            }
        }
        if !background.is_empty() {
            self.reading(label, "background", "background", None, &format!("{background} {unit}"));
        }
    }

    /// One reading of a set, by a name of its own within the set.
    pub(crate) fn reading(&mut self, set: &str, name: &str, role: &str, position: Option<&str>, value: &str) {
        let set_ref = format!("set:{set}");
        let position = position.map(|label| format!("position:{label}"));
        let mut fields = vec![
            ("set", set_ref.as_str()),
            ("role", role),
            ("subject", "level"),
            ("value", value),
            ("response", "leq"),
            ("duration_s", "30"),
            ("replicate", "1"),
        ];
        fields.extend(position.iter().map(|position| ("position", position.as_str())));
        self.put("reading", &format!("{set}/{name}"), &fields);
    }

    /// The conditions of a test, found the same in all of its sets so far.
    pub(crate) fn conditions(&mut self, test: &str, sets: &[&str]) {
        for (variable, class) in [
            ("source and its setting", "critical"),
            ("source position", "critical"),
            ("microphone positions", "critical"),
            ("meter and weighting", "critical"),
            ("doors and windows", "critical"),
            ("furniture", "important"),
            ("heating and fans", "important"),
            ("people in the room", "minor"),
        ] {
            let fields =
                [("test", format!("test:{test}")), ("variable", variable.into()), ("class", class.into())];
            let fields: Vec<(&str, &str)> =
                fields.iter().map(|(field, text)| (*field, text.as_str())).collect();
            self.put("condition", &format!("{test}/{variable}"), &fields);
            for set in sets {
                self.found(test, set, variable, "as wanted", "same");
            }
        }
    }

    pub(crate) fn found(&mut self, test: &str, set: &str, variable: &str, value: &str, status: &str) {
        let (condition, set_ref) = (format!("condition:{test}/{variable}"), format!("set:{set}"));
        let fields =
            [("condition", condition.as_str()), ("set", &set_ref), ("value", value), ("status", status)];
        self.put("found", &format!("{set}/{variable}"), &fields);
    }
}

/// One set of levels as a line of a table; levels separated by blanks.
#[derive(Clone, Copy)]
pub(crate) struct SetRow {
    pub(crate) test: &'static str,
    pub(crate) label: &'static str,
    pub(crate) job: &'static str,
    pub(crate) stage: &'static str,
    pub(crate) date: &'static str,
    pub(crate) assembly: &'static str,
    pub(crate) from: &'static str,
    pub(crate) to: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) source: &'static str,
    pub(crate) receive: &'static str,
    pub(crate) background: &'static str,
}

macro_rules! sets {
    ($($test:literal $label:literal $job:literal $stage:literal $date:literal $assembly:literal
       $from:literal $to:literal $unit:literal | $source:literal | $receive:literal | $background:literal;)*) => {
        &[$(SetRow {
            test: $test, label: $label, job: $job, stage: $stage, date: $date, assembly: $assembly, from: $from,
            to: $to, unit: $unit, source: $source, receive: $receive, background: $background,
        }),*]
    };
}

/// The level sets of the demo scenario, invented.
#[rustfmt::skip]
pub(crate) const SETS: &[SetRow] = sets! {
    "Q1" "T01" "J1" "before"     "2025-03-04" "A01" "R1" "R2" "dBA" | "94.2 93.6 94.9" | "69.1 68.4 70.2 69.6" | "33.5";
    "Q1" "T02" "J1" "before"     "2025-03-04" "A01" "R2" "R1" "dBA" | "93.1 92.7 93.6" | "68.8 67.9 69.5 68.3" | "31.2";
    "Q1" "T03" "J1" "open-studs" "2025-03-07" "A02" "R1" "R2" "dBA" | "94.3 93.8 94.6" | "71.6 70.9 72.3 71.5" | "33.1";
    "Q1" "T04" "J1" "finished"   "2025-03-14" "A03" "R1" "R2" "dBA" | "94.4 93.7 94.8" | "68.6 67.9 69.2 68.7" | "33.4";
    "Q1" "T05" "J2" "after"      "2025-03-19" "A04" "R1" "R2" "dBA" | "94.3 93.5 94.7" | "58.2 57.5 58.9 57.7" | "33.0";
    "Q1" "T06" "J2" "after"      "2025-03-19" "A04" "R2" "R1" "dBA" | "93.0 92.6 93.5" | "58.9 58.2 59.4 58.7" | "55.1";
    "Q1" "T07" "J2" "repeat"     "2025-03-20" "A04" "R2" "R1" "dBA" | "93.1 92.6 93.6" | "56.9 56.2 57.6 56.6" | "30.9";
    "Q1" "T08" "J1" "before"     "2025-03-04" "A01" "R1" "R2" "dBC" | "96.8 97.5 96.1" | "80.2 82.9 79.4 81.6" | "47.0";
    "Q1" "T09" "J2" "after"      "2025-03-19" "A04" "R1" "R2" "dBC" | "97.0 97.4 96.3" | "75.6 78.8 74.9 77.3" | "46.6";
    "Q2" "T10" "J3" "before"     "2025-04-01" "A05" "R4" "R5" "dBA" | "95.2 94.6 95.5" | "53.4 52.7 54.2 53.5" | "31.2";
    "Q2" "T11" "J3" "after"      "2025-04-04" "A06" "R4" "R5" "dBA" | "95.0 94.7 95.6" | "50.2 49.6 51.0 50.4" | "31.0";
    "Q2" "T12" "J3" "after"      "2025-04-08" "A07" "R4" "R5" "dBA" | "95.1 94.5 95.4" | "48.9 48.2 49.6 48.4" | "41.0";
    "Q2" "T13" "J3" "repeat"     "2025-04-09" "A07" "R4" "R5" "dBA" | "95.1 94.6 95.5" | "47.6 46.8 48.2 47.5" | "31.4";
    "Q3" "T14" "J4" "before"     "2025-04-15" "A08" "R6" "R7" "dBA" | "88.4 87.9 88.8" | "57.5 56.8 58.2 57.4" | "29.0";
    "Q3" "T15" "J4" "filled"     "2025-04-17" "A09" "R6" "R7" "dBA" | "88.3 88.0 88.7" | "53.6 52.9 54.3 53.4" | "28.6";
    "Q3" "T16" "J4" "after"      "2025-04-18" "A10" "R6" "R7" "dBA" | "88.5 87.8 88.9" | "50.9 50.2 51.5"      | "29.3";
    "Q4" "T17" "J5" "before"     "2025-05-02" "A11" "R8" "R9" "dBA" | "92.1 91.6 92.5" | "77.5 76.9 78.3 77.8" | "35.2";
    "Q4" "T18" "J5" "after"      "2025-05-05" "A12" "R8" "R9" "dBA" | "92.0 91.7 92.4" | "77.0 78.3 77.9 76.6" | "35.0";
};

const THIN: &str = "gypsum 12.7 x1, 8.1 kg/m2";
const STUDS: &str = "single wood 38x89@406";
const STAGGERED: &str = "staggered wood 38x89@610 on 38x140";
const HOLLOW: &str = "door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2, back to back";

/// The assemblies of the demo scenario, invented: label, parts, state, version replaced, width, and the face in m² where it is another.
#[rustfmt::skip]
#[allow(clippy::type_complexity)]
const WALLS: &[(&str, [&str; 6], &str, Option<&str>, &str, &str)] = &[
    ("A01", [THIN, STUDS, "89 clear, empty", THIN, HOLLOW, "none"], "finished", None, "150 in", ""),
    ("A02", [THIN, STUDS, "89 clear, empty", "none", HOLLOW, "none"], "bare-studs", None, "150 in", ""),
    ("A03", [THIN, STUDS, "102 clear, glass fibre 89, 10 kg/m3", "gypsum 15.9 x2, 22 kg/m2, channel 13@566",
        "door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2 tight, offset 610", "A 1, B 2"], "finished", Some("A01"), "150 in", ""),
    ("A04", [THIN, STUDS, "102 clear, glass fibre 89, 10 kg/m3", "gypsum 15.9 x2, 22 kg/m2, channel 13@566",
        "door solid-core 1.65 m2, gasket and drop seal, undercut 0; boxes 2 tight, offset 610", "A 1, B 2"], "finished", Some("A03"), "150 in", ""),
    ("A05", ["gypsum 15.9 x1, 11 kg/m2", STAGGERED, "glass fibre 89, 60%", "gypsum 15.9 x1, 11 kg/m2", "none", "none"], "finished", None, "236 in", ""),
    ("A06", ["gypsum 15.9 x1, 11 kg/m2", STAGGERED, "glass fibre 89, 60%", "gypsum 15.9 x1, 11 kg/m2", "none", "A 2, top 2, bottom 2"], "finished", Some("A05"), "236 in", ""),
    ("A07", ["gypsum 15.9 x2, 22 kg/m2, damping", STAGGERED, "glass fibre 89, 60%", "gypsum 15.9 x1, 11 kg/m2", "none", "A 2, top 2, bottom 2"], "finished", Some("A06"), "236 in", ""),
    ("A08", [THIN, STUDS, "89 clear, empty", THIN, "none", "none"], "finished", None, "132 in", ""),
    ("A09", [THIN, STUDS, "89 clear, cellulose 89, 56 kg/m3", THIN, "none", "none"], "finished", Some("A08"), "132 in", ""),
    ("A10", ["gypsum 12.7 x1 + gypsum 15.9 x1, 19.1 kg/m2", STUDS, "89 clear, cellulose 89, 56 kg/m3", THIN, "none", "A 2"], "finished", Some("A09"), "132 in", ""),
    ("A11", [THIN, STUDS, "89 clear, empty", "none", "door louvred 1.67 m2", "none"], "bare-studs", None, "100 in", "5.574182"),
    ("A12", [THIN, STUDS, "89 clear, glass fibre 89", "gypsum type x 15.9 x1", "door louvred 1.67 m2", "none"], "boarded-both", Some("A11"), "100 in", "5.574182"),
];

/// The whole demo scenario's tests; everything in it is invented.
pub(crate) fn demo() -> Book {
    builder().book
}

/// The same, to be changed further.
pub(crate) fn builder() -> Builder {
    let mut builder = Builder::default();
    for (room, name) in [
        ("R1", "music-practice room"),
        ("R2", "hall"),
        ("R4", "unit A living room"),
        ("R5", "unit B living room"),
        ("R6", "unit A home office"),
        ("R7", "unit A nursery"),
        ("R8", "unit A utility closet"),
        ("R9", "unit A hall"),
    ] {
        builder.put("room", room, &[("name", name)]);
    }
    for job in ["J1", "J2", "J3", "J4", "J5", "J6", "J7", "J8"] {
        builder.job(job);
    }
    for (label, parts, state, replaces, width, face_m2) in WALLS {
        let mut more = vec![("length", *width), ("height", "97.125 in")];
        more.extend((!face_m2.is_empty()).then_some(("face_m2", *face_m2)));
        builder.wall(label, "wall", *parts, state, *replaces, &more);
    }
    for (label, cavity, openings) in [
        ("A13", "89 clear, empty", "none"),
        ("A14g", "89 clear, glass fibre 89, 10 kg/m3", "none"),
        ("A14s", "89 clear, stone wool 89, 40 kg/m3", "none"),
        ("A14s-crack", "89 clear, stone wool 89, 40 kg/m3", "crack 3.175x609.6"),
        ("A14c", "89 clear, cellulose 89, 56 kg/m3", "none"),
    ] {
        let parts = ["gypsum 12.7 x1", STUDS, cavity, "gypsum 12.7 x1", openings, "A gasket, B gasket"];
        let design = if label == "A13" { "A13" } else { "A14" };
        let more = [("design", design), ("length", "24 in"), ("height", "24 in")];
        builder.wall(label, "panel", parts, "boarded-both", None, &more);
    }
    for label in ["A15", "A16"] {
        builder.assembly(label, "rim", ["unknown"; 6], "finished", (label == "A16").then_some("A15"));
    }
    for test in ["Q1", "Q2", "Q3", "Q4"] {
        builder.test(test, false);
    }
    for set in SETS {
        builder.set(set);
    }
    for test in ["Q1", "Q2", "Q3", "Q4"] {
        let sets: Vec<&str> = SETS.iter().filter(|set| set.test == test).map(|set| set.label).collect();
        builder.conditions(test, &sets);
    }
    builder.found("Q2", "T12", "doors and windows", "window ajar in unit B", "changed");
    builder.found("Q1", "T06", "heating and fans", "dehumidifier running", "changed");
    builder.mark("reading", "T18/R2", Meta { corrected: vec!["value"], ..Meta::default() });
    for (test, label, job, assembly, stage, runs) in [
        ("Q5", "T19", "J6", "A13", "before", [29.1, 28.6, 29.3]),
        ("Q5", "T20", "J6", "A14g", "filled", [32.2, 31.8, 32.6]),
        ("Q5", "T21", "J6", "A14s", "filled", [32.7, 32.1, 32.9]),
        ("Q5", "T22", "J6", "A14c", "filled", [32.9, 33.4, 32.6]),
        ("Q5", "T23", "J6", "A13", "repeat", [28.7, 29.2, 28.9]),
        ("Q6", "T24", "J7", "A14s-crack", "before", [23.1, 23.5, 22.9]),
        ("Q6", "T25", "J7", "A14s", "after", [32.4, 32.1, 32.6]),
    ] {
        builder.test(test, true);
        builder.bench_set(test, label, assembly, stage, &runs);
        builder.amend("set", label, "job", &format!("job:{job}"));
    }
    builder.thermal_test("Q7");
    builder.thermal_set(
        "Q7",
        "T26",
        "A15",
        &[
            ("inside-air", "68 °F"),
            ("outside-air", "28 °F"),
            ("surface", "49.8 °F"),
            ("surface", "50.4 °F"),
            ("surface", "49.0 °F"),
            ("smoke-paths", "5 count"),
            ("moisture", "17.5 %"),
        ],
    );
    builder.thermal_set(
        "Q7",
        "T26-after",
        "A16",
        &[
            ("inside-air", "68 °F"),
            ("outside-air", "30 °F"),
            ("surface", "58.6 °F"),
            ("surface", "59.1 °F"),
            ("surface", "58.0 °F"),
            ("smoke-paths", "1 count"),
            ("moisture", "14.0 %"),
        ],
    );
    for label in ["T26", "T26-after"] {
        builder.amend("set", label, "job", "job:J8");
    }
    builder
}

impl Builder {
    /// Writes one more field of a record that is there.
    pub(crate) fn amend(&mut self, kind: &str, label: &str, field: &str, text: &str) {
        let mut row = self.row(kind, label);
        let (index, field_spec) = row.kind.field(field).unwrap();
        let reference = text.split_once(':').filter(|(kind, _)| KindSpec::find(kind).is_some());
        let value = match reference {
            Some((kind, label)) => Value::Record(id(kind, label)),
            None => field_spec.takes.parse(text, Currency::parse("USD").unwrap()).unwrap(),
        };
        row.values[index] = Some(value);
        self.insert(row);
    }

    /// Puts a stored value into a field, past the notation of people.
    pub(crate) fn store(&mut self, kind: &str, label: &str, field: &str, value: Value) {
        let mut row = self.row(kind, label);
        let (index, _) = row.kind.field(field).unwrap();
        row.values[index] = Some(value);
        self.insert(row);
    }

    /// Takes the value of a field away, as a record from another device may come.
    pub(crate) fn store_none(&mut self, kind: &str, label: &str, field: &str) {
        let mut row = self.row(kind, label);
        let (index, _) = row.kind.field(field).unwrap();
        row.values[index] = None;
        self.insert(row);
    }

    /// Sets what is known of a record beside its fields.
    pub(crate) fn mark(&mut self, kind: &str, label: &str, meta: Meta) {
        let mut row = self.row(kind, label);
        row.meta = meta;
        self.insert(row);
    }

    /// Every row that was put in and not taken out.
    pub(crate) fn rows(&self) -> impl Iterator<Item = &Row> {
        self.rows.values()
    }

    /// Puts a row in as it is, over an older state of it.
    pub(crate) fn put_row(&mut self, row: Row) {
        self.insert(row);
    }

    /// Takes a row out, as if it had never been there.
    pub(crate) fn take_out(&mut self, kind: &str, id: RecordId) {
        self.rows.remove(&id);
        self.book.remove(kind, id);
    }

    fn row(&self, kind: &str, label: &str) -> Row {
        let id = id(kind, label);
        self.rows.get(&id).cloned().unwrap_or_else(|| panic!("no {kind} {label}"))
    }
}
