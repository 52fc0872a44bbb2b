//! A notebook for tests: the demo scenario's purchases, moves, uses and hours, all invented.
//!
//! Records are written as text and read by the fields themselves, as a person's typing is.

use std::collections::BTreeMap;

use proptest::prelude::*;
use storypole_journal::RecordId;
use storypole_notebook::{Book, FieldType, KindSpec, Row, Value};
use storypole_units::Decimal;

/// Records by kind and key, and the book they make.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fixture {
    rows: BTreeMap<(String, String), Row>,
    pub(crate) book: Book,
}

impl Fixture {
    /// Writes a record; its key is also its label where the kind has one. References are keys.
    pub(crate) fn put(&mut self, kind: &str, key: &str, fields: &[(&str, &str)]) -> RecordId {
        let spec = KindSpec::find(kind).unwrap();
        let id = RecordId::from_parts(1_000 + self.rows.len() as u64, [0; 10]);
        let row = Row { id, kind: spec, values: vec![None; spec.fields.len()], meta: Default::default() };
        assert!(self.rows.insert((kind.into(), key.into()), row).is_none(), "{kind} {key} twice");
        if spec.field("label").is_some() {
            self.change(kind, key, &[("label", key)]);
        }
        self.change(kind, key, fields);
        id
    }

    /// Writes over fields of a record.
    pub(crate) fn change(&mut self, kind: &str, key: &str, fields: &[(&str, &str)]) {
        for (field, text) in fields {
            let value = self.read(kind, field, text);
            self.change_value(kind, key, field, Some(value));
        }
        let row = self.row(kind, key).clone();
        self.book.insert(row);
    }

    /// Writes a value as it might come from another device, past every refusal.
    pub(crate) fn change_value(&mut self, kind: &str, key: &str, field: &str, value: Option<Value>) {
        let row = self.row(kind, key);
        let (index, _) = row.kind.field(field).unwrap();
        row.values[index] = value;
        let row = row.clone();
        self.book.insert(row);
    }

    pub(crate) fn strike(&mut self, kind: &str, key: &str) {
        let row = self.row(kind, key);
        row.meta.struck = Some("written twice".into());
        let row = row.clone();
        self.book.insert(row);
    }

    pub(crate) fn set_conflict(&mut self, kind: &str, key: &str, field: &'static str) {
        let row = self.row(kind, key);
        row.meta.conflict.push(field);
        let row = row.clone();
        self.book.insert(row);
    }

    pub(crate) fn id(&self, kind: &str, key: &str) -> RecordId {
        self.rows.get(&(kind.into(), key.into())).unwrap_or_else(|| panic!("no {kind} {key}")).id
    }

    /// The key of a record.
    pub(crate) fn key(&self, id: RecordId) -> &str {
        &self.rows.iter().find(|(_, row)| row.id == id).unwrap().0.1
    }

    fn row(&mut self, kind: &str, key: &str) -> &mut Row {
        self.rows.get_mut(&(kind.into(), key.into())).unwrap_or_else(|| panic!("no {kind} {key}"))
    }

    fn read(&self, kind: &str, field: &str, text: &str) -> Value {
        let (_, spec) =
            KindSpec::find(kind).unwrap().field(field).unwrap_or_else(|| panic!("{kind}.{field}"));
        match spec.takes {
            FieldType::Reference(to) => Value::Record(self.id(to, text)),
            takes => takes.parse(text, self.book.currency()).unwrap(),
        }
    }

    /// Writes a receipt and its lines: material, quantity, unit, unit price. A line's key is `P02/batt`.
    pub(crate) fn receipt(&mut self, key: &str, fields: &[(&str, &str)], lines: &[(&str, &str, &str, &str)]) {
        self.put("receipt", key, fields);
        for (material, quantity, unit, price) in lines {
            let line = format!("{key}/{material}");
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
            self.put("line", &line, &fields);
        }
    }

    /// Writes a use at the site of a job.
    pub(crate) fn used(&mut self, material: &str, site: &str, job: &str, quantity: &str, date: &str) {
        let fields =
            [("material", material), ("site", site), ("job", job), ("quantity", quantity), ("date", date)];
        self.put("use", &format!("{job} {material}"), &fields);
    }
}

/// The demo scenario, as far as money and stock go.
pub(crate) fn scenario() -> Fixture {
    let mut all = places();
    buy(&mut all);
    use_and_move(&mut all);
    work(&mut all);
    build(&mut all);
    all
}

/// Sites, jobs, people, materials.
pub(crate) fn places() -> Fixture {
    let mut all = Fixture::default();
    all.put("notebook", "N", &[("name", "Demo"), ("currency", "USD"), ("own_labour_counted", "yes")]);
    for site in ["S1", "S2", "S3"] {
        all.put("site", site, &[("name", site)]);
    }
    for (job, site) in [
        ("J1", "S1"),
        ("J2", "S1"),
        ("J3", "S2"),
        ("J4", "S2"),
        ("J5", "S2"),
        ("J6", "S3"),
        ("J7", "S3"),
        ("J8", "S1"),
    ] {
        all.put("job", job, &[("site", site), ("title", job)]);
    }
    all.put("person", "lead", &[("role", "site lead"), ("rate", "48.00"), ("crew", "yes")]);
    all.put("person", "helper", &[("role", "helper"), ("rate", "31.00"), ("crew", "yes")]);
    all.put("person", "electrician", &[("role", "licensed electrician"), ("crew", "no")]);
    for (material, unit, pack, division) in [
        ("batt", "piece", "pack of 11", "07"),
        ("stone wool", "piece", "pack of 12", "07"),
        ("cellulose", "lb", "bag of 25", "07"),
        ("board 5/8", "sheet", "", "09"),
        ("board 1/2", "sheet", "", "09"),
        ("plywood", "sheet", "", "06"),
        ("foam board", "sheet", "", "07"),
        ("can foam", "can", "", "07"),
        ("channel", "piece", "", "09"),
        ("sealant", "tube", "", "07"),
        ("damping", "tube", "", "09"),
        ("screws", "box", "", "09"),
        ("slab", "each", "", "08"),
        ("gasket kit", "kit", "", "08"),
        ("door bottom", "each", "", "08"),
        ("stud", "each", "", "06"),
        ("tape", "roll", "", "08"),
    ] {
        let fields = [("name", material), ("unit", unit), ("division", division)];
        all.put("material", material, &fields);
        if let Some((name, size)) = pack.split_once(" of ") {
            all.change("material", material, &[("pack_unit", name), ("pack_size", size)]);
        }
    }
    for (supplier, name) in [
        ("heron", "Tin Heron Building Supply"),
        ("quarry", "Quarry Lane Lumber"),
        ("kettle", "Blue Kettle Rental"),
    ] {
        all.put("supplier", supplier, &[("name", name)]);
    }
    // Part tubes and screws are not valued.
    for material in ["sealant", "damping", "screws"] {
        all.change("material", material, &[("valued", "no")]);
    }
    all
}

fn buy(all: &mut Fixture) {
    let goods = |date, job, tax, total| {
        [("date", date), ("job", job), ("tax_rate", "6.5"), ("printed_tax", tax), ("printed_total", total)]
    };
    all.receipt(
        "P01",
        &goods("2025-02-10", "J8", "9.42", "154.37"),
        &[("foam board", "2", "sheet", "44.10"), ("can foam", "5", "can", "11.35")],
    );
    all.receipt(
        "P02",
        &goods("2025-03-04", "J1", "23.03", "377.28"),
        &[
            ("batt", "2", "pack", "62.40"),
            ("board 5/8", "8", "sheet", "17.85"),
            ("channel", "6", "piece", "6.95"),
            ("sealant", "3", "tube", "9.25"),
            ("screws", "2", "box", "8.60"),
        ],
    );
    all.receipt(
        "P05",
        &goods("2025-03-18", "J2", "19.60", "321.10"),
        &[
            ("slab", "1", "each", "189.00"),
            ("gasket kit", "1", "kit", "48.50"),
            ("door bottom", "1", "each", "64.00"),
        ],
    );
    all.receipt(
        "P06",
        &goods("2025-04-01", "J3", "25.08", "410.93"),
        &[
            ("sealant", "6", "tube", "9.25"),
            ("board 5/8", "7", "sheet", "17.85"),
            ("damping", "12", "tube", "16.40"),
            ("screws", "1", "box", "8.60"),
        ],
    );
    all.receipt(
        "P08",
        &goods("2025-04-03", "J3", "-1.16", "-19.01"),
        &[("board 5/8", "-1", "sheet", "17.85")],
    );
    all.change("receipt", "P08", &[("returns", "P06")]);
    all.receipt(
        "P09",
        &goods("2025-04-15", "J4", "7.10", "116.30"),
        &[
            ("cellulose", "4", "bag", "13.75"),
            ("board 5/8", "2", "sheet", "17.85"),
            ("sealant", "2", "tube", "9.25"),
        ],
    );
    all.put("receipt", "P10", &goods("2025-04-16", "J4", "5.53", "90.53"));
    other_line(all, "P10", "insulation blower, 1 day", "85.00", "rental");
    all.change("line", "P10/rental", &[("taxed", "yes"), ("division", "01")]);
    all.receipt(
        "P11",
        &goods("2025-05-02", "J5", "4.04", "66.19"),
        &[("board 5/8", "3", "sheet", "17.85"), ("screws", "1", "box", "8.60")],
    );
    all.receipt(
        "P12",
        &goods("2025-05-10", "J6", "21.61", "354.12"),
        &[
            ("stud", "12", "each", "4.36"),
            ("board 1/2", "7", "sheet", "13.02"),
            ("plywood", "2", "sheet", "58.90"),
            ("stone wool", "1", "pack", "71.25"),
        ],
    );
    all.receipt(
        "P13",
        &goods("2025-05-20", "J7", "1.11", "18.16"),
        &[("tape", "1", "roll", "7.80"), ("sealant", "1", "tube", "9.25")],
    );
    for (supplier, receipts) in [
        ("heron", &["P02", "P06", "P08", "P09", "P11", "P13"][..]),
        ("quarry", &["P01", "P05", "P12"]),
        ("kettle", &["P10"]),
    ] {
        for receipt in receipts {
            all.change("receipt", receipt, &[("supplier", supplier)]);
        }
    }
    for (receipt, date, job, total, group) in [
        ("P03", "2025-03-05", "J1", "38.00", "disposal"),
        ("P04", "2025-03-06", "J1", "320.00", "subcontract"),
        ("P07", "2025-04-02", "J3", "145.00", "permit"),
    ] {
        all.put("receipt", receipt, &[("date", date), ("job", job), ("printed_total", total)]);
        other_line(all, receipt, group, total, group);
    }
}

/// A line that is no goods: its key is `P03/disposal`.
pub(crate) fn other_line(all: &mut Fixture, receipt: &str, item: &str, price: &str, group: &str) {
    let fields = [
        ("receipt", receipt),
        ("item", item),
        ("quantity", "1"),
        ("unit_price", price),
        ("cost_group", group),
    ];
    all.put("line", &format!("{receipt}/{group}"), &fields);
}

fn use_and_move(all: &mut Fixture) {
    for (material, site, job, quantity, date) in [
        ("foam board", "S1", "J8", "2", "2025-02-10"),
        ("can foam", "S1", "J8", "5", "2025-02-10"),
        ("batt", "S1", "J1", "10", "2025-03-07"),
        ("channel", "S1", "J1", "5", "2025-03-08"),
        ("board 5/8", "S1", "J1", "6", "2025-03-10"),
        ("slab", "S1", "J2", "1", "2025-03-18"),
        ("gasket kit", "S1", "J2", "1", "2025-03-19"),
        ("door bottom", "S1", "J2", "1", "2025-03-19"),
        ("board 5/8", "S2", "J3", "6", "2025-04-07"),
        ("cellulose", "S2", "J4", "77.5", "2025-04-16"),
        ("board 5/8", "S2", "J4", "4", "2025-04-18"),
        ("batt", "S2", "J5", "6", "2025-05-03"),
        ("board 5/8", "S2", "J5", "3", "2025-05-04"),
        ("stud", "S3", "J6", "12", "2025-05-10"),
        ("board 1/2", "S3", "J6", "7", "2025-05-10"),
        ("plywood", "S3", "J6", "2", "2025-05-10"),
        ("batt", "S3", "J6", "1", "2025-05-12"),
        ("stone wool", "S3", "J6", "1", "2025-05-13"),
        ("cellulose", "S3", "J6", "3.1", "2025-05-14"),
        ("tape", "S3", "J7", "1", "2025-05-20"),
    ] {
        all.used(material, site, job, quantity, date);
    }
    for (label, date, material, quantity, unit, from, to) in [
        ("X1", "2025-04-15", "board 5/8", "2", "sheets", ("S1", "J1"), ("S2", "J4")),
        ("X2", "2025-05-02", "batt", "1", "pack", ("S1", "J1"), ("S2", "J5")),
        ("X3", "2025-05-10", "batt", "5", "piece", ("S2", "J5"), ("S3", "J6")),
        ("X4", "2025-05-10", "cellulose", "0.9", "bag", ("S2", "J4"), ("S3", "J6")),
    ] {
        let fields = [
            ("date", date),
            ("material", material),
            ("quantity", quantity),
            ("unit", unit),
            ("from_site", from.0),
            ("from_job", from.1),
            ("to_site", to.0),
            ("to_job", to.1),
        ];
        all.put("move", label, &fields);
    }
}

fn work(all: &mut Fixture) {
    for (job, date, lead, helper) in [
        ("J1", "2025-03-04", "22", "14"),
        ("J2", "2025-03-18", "5.5", "0"),
        ("J3", "2025-04-01", "14", "12"),
        ("J4", "2025-04-15", "9", "7"),
        ("J5", "2025-05-02", "6.5", "3"),
        ("J6", "2025-05-11", "11", "0"),
        ("J7", "2025-05-20", "2", "0"),
        ("J8", "2025-02-08", "6", "4"),
    ] {
        for (person, hours) in [("lead", lead), ("helper", helper)] {
            let fields = [("job", job), ("person", person), ("date", date), ("hours", hours)];
            all.put("hours", &format!("{job} {person}"), &fields);
        }
    }
    let sub = [("job", "J1"), ("person", "electrician"), ("date", "2025-03-06"), ("hours", "2.5")];
    all.put("hours", "J1 electrician", &sub);
}

fn build(all: &mut Fixture) {
    for (room, site) in [
        ("R1", "S1"),
        ("R2", "S1"),
        ("R4", "S2"),
        ("R5", "S2"),
        ("R6", "S2"),
        ("R7", "S2"),
        ("R8", "S2"),
        ("R9", "S2"),
        ("R10", "S3"),
        ("R11", "S3"),
    ] {
        all.put("room", room, &[("site", site), ("name", room)]);
    }
    for (label, job, rooms, length, height, replaces) in [
        ("A01", "J1", ("R2", "R1"), "150 in", "97.125 in", ""),
        ("A02", "J1", ("R2", "R1"), "150 in", "97.125 in", ""),
        ("A03", "J1", ("R2", "R1"), "150 in", "97.125 in", "A01"),
        ("A04", "J2", ("R2", "R1"), "150 in", "97.125 in", "A03"),
        ("A05", "J3", ("R4", "R5"), "236 in", "97.125 in", ""),
        ("A06", "J3", ("R4", "R5"), "236 in", "97.125 in", "A05"),
        ("A07", "J3", ("R4", "R5"), "236 in", "97.125 in", "A06"),
        ("A08", "J4", ("R6", "R7"), "132 in", "97.125 in", ""),
        ("A09", "J4", ("R6", "R7"), "132 in", "97.125 in", "A08"),
        ("A10", "J4", ("R6", "R7"), "132 in", "97.125 in", "A09"),
        ("A11", "J5", ("R9", "R8"), "100 in", "97.125 in", ""),
        ("A12", "J5", ("R9", "R8"), "100 in", "97.125 in", "A11"),
        ("A13", "J6", ("R10", "R11"), "24 in", "24 in", ""),
        ("A14g", "J6", ("R10", "R11"), "24 in", "24 in", "A13"),
        ("A14s", "J6", ("R10", "R11"), "24 in", "24 in", "A13"),
        ("A14c", "J6", ("R10", "R11"), "24 in", "24 in", "A13"),
    ] {
        let fields = [
            ("job", job),
            ("element", if job == "J6" { "panel" } else { "wall" }),
            ("room_a", rooms.0),
            ("room_b", rooms.1),
            ("length", length),
            ("height", height),
        ];
        all.put("assembly", label, &fields);
        if !replaces.is_empty() {
            all.change("assembly", label, &[("replaces", replaces)]);
        }
    }
}

/// Materials of a random book.
pub(crate) const MATERIALS: [&str; 4] = ["batt", "cellulose", "channel", "sealant"];
const UNITS: [[&str; 2]; 4] = [["piece", "pack"], ["lb", "bags"], ["piece", "pieces"], ["tube", "tubes"]];
/// Sites and jobs of a random book.
pub(crate) const JOBS: [(&str, &str); 4] = [("S1", "J1"), ("S2", "J3"), ("S2", "J4"), ("S3", "J6")];

fn number(value: i64, scale: u32) -> Option<Value> {
    Some(Value::Decimal(Decimal::from_parts(value.into(), scale).unwrap()))
}

/// A book of random purchases, some of them abroad, moves, uses and wastes; tenths of a unit or pack where goods move, of a unit where they are used.
pub(crate) fn random_book(bought: &[Step], moved: &[Step], used: &[Step]) -> Fixture {
    let mut all = places();
    for (index, &(material, job, other, day, quantity, cents)) in bought.iter().enumerate() {
        let (receipt, date) = (format!("P{index}"), format!("2025-01-{day:02}"));
        let (quantity, price) = (quantity.to_string(), format!("{}.{:02}", cents / 100, cents % 100));
        let (material, unit) = (MATERIALS[material], UNITS[material][other % 2]);
        let fields = [("date", date.as_str()), ("job", JOBS[job].1), ("tax_rate", "6.5")];
        let abroad = cents % 5 == 0;
        let price = if abroad { format!("{price} EUR") } else { price };
        all.receipt(&receipt, &fields, &[(material, &quantity, unit, &price)]);
        all.change("line", &format!("{receipt}/{material}"), &[("job", JOBS[other].1)]);
        if abroad {
            all.change("receipt", &receipt, &[("exchange_rate", "1.0837")]);
        }
    }
    for (index, &(material, from, to, day, quantity, cents)) in moved.iter().enumerate() {
        let fields = [
            ("material", MATERIALS[material]),
            ("unit", UNITS[material][usize::from(cents % 2 == 1)]),
            ("from_site", JOBS[from].0),
            ("from_job", JOBS[from].1),
            ("to_site", JOBS[to].0),
            ("to_job", JOBS[to].1),
            ("date", &format!("2025-01-{day:02}")),
        ];
        let key = format!("X{index}");
        all.put("move", &key, &fields);
        all.change_value("move", &key, "quantity", number(quantity, 1));
    }
    for (index, &(material, job, other, day, quantity, _)) in used.iter().enumerate() {
        let fields = [
            ("material", MATERIALS[material]),
            ("site", JOBS[job].0),
            ("job", JOBS[job].1),
            ("date", &format!("2025-01-{day:02}")),
        ];
        let key = format!("U{index}");
        let kind = if other == 0 { "waste" } else { "use" };
        all.put(kind, &key, &fields);
        all.change_value(kind, &key, "quantity", number(quantity, 1));
        all.put("hours", &key, &[("job", JOBS[job].1), ("person", "helper")]);
        all.change_value("hours", &key, "hours", number(quantity % 240, 1));
    }
    all
}

/// Material, job, other job, day, quantity, cents.
pub(crate) type Step = (usize, usize, usize, i64, i64, i64);

/// Up to nine steps.
pub(crate) fn steps(quantity: std::ops::Range<i64>) -> impl Strategy<Value = Vec<Step>> {
    prop::collection::vec((0usize..4, 0usize..4, 0usize..4, 1i64..28, quantity, 0i64..20_000), 0..10)
}
