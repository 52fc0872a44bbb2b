//! What is kept equals what is worked out from nothing, whatever was changed; and no more is worked out than must be.

use proptest::prelude::*;
use storypole_notebook::matching::MatchLevel;
use storypole_notebook::{Meta, Row, Value};
use storypole_units::{Currency, Money};

use super::*;
use crate::across::Measure;
use crate::costs::{Costs, JobCost};
use crate::fixture::{self, Builder, id};

/// The demo scenario with what else a set can rest on: meters and their checks, test sounds, recordings, a house, settings.
fn builder() -> Builder {
    let mut builder = fixture::builder();
    builder.put("notebook", "N1", &[("name", "N1")]);
    builder.put("site", "H1", &[("name", "H1"), ("volume_m3", "300")]);
    builder.put("meter", "M1", &[]);
    builder.put("meter", "M2", &[]);
    for (label, meter, more, after) in [
        ("C1", "meter:M1", ("set", "set:T01"), "94.1 dBA"),
        ("C2", "meter:M1", ("date", "2025-04-04"), "95.2 dBA"),
        ("C3", "meter:M2", ("date", "2025-03-19"), "93.1 dBA"),
    ] {
        builder.put("check", label, &[("meter", meter), more, ("before", "94.0 dBA"), ("after", after)]);
    }
    for (set, meter) in [("T01", "meter:M1"), ("T05", "meter:M2"), ("T11", "meter:M1"), ("T15", "meter:M1")] {
        builder.amend("set", set, "meter", meter);
    }
    for (signal, hash) in [("W1", 1), ("W2", 2)] {
        builder.put("signal", signal, &[("description", "noise")]);
        builder.store("signal", signal, "hash", Value::Hash([hash; 32]));
    }
    for (set, signal) in
        [("T01", "signal:W1"), ("T05", "signal:W1"), ("T10", "signal:W2"), ("T13", "signal:W2")]
    {
        builder.amend("set", set, "signal", signal);
    }
    for (photo, hash) in [("P1", 1), ("P2", 3), ("P3", 3), ("P4", 4), ("P5", 5), ("P6", 5)] {
        builder.put("photo", photo, &[]);
        builder.store("photo", photo, "hash", Value::Hash([hash; 32]));
    }
    for (reading, photo) in [
        ("T01/R1", "P1"),
        ("T01/S1", "P3"),
        ("T02/R1", "P4"),
        ("T05/R1", "P2"),
        ("T10/R1", "P1"),
        ("T11/R2", "P3"),
        ("T13/R2", "P2"),
        ("T14/S2", "P4"),
        ("T16/R1", "P4"),
        ("T17/R2", "P5"),
        ("T18/R3", "P6"),
    ] {
        builder.amend("reading", reading, "recording", &format!("photo:{photo}"));
    }
    builder.amend("job", "J1", "site", "site:H1");
    beside_sound(&mut builder);
    builder
}

/// A test, what it measures, and what is read in both of its states.
type QuantityRow = (&'static str, &'static str, Vec<(&'static str, &'static str)>);

/// Tests of other quantities, whose answers rest on a house, and an untouched wall beside a rebuilt one.
fn beside_sound(builder: &mut Builder) {
    builder.put("job", "J20", &[("title", "J20"), ("site", "site:H1")]);
    let states = [("1", "before", "2025-02-08", "A15"), ("2", "after", "2025-02-22", "A16")];
    let readings: [QuantityRow; 4] = [
        (
            "Q20",
            "air-leakage",
            vec![("pressure", "50 Pa"), ("flow", "1200 cfm"), ("resting-pressure", "1 Pa")],
        ),
        ("Q21", "moisture", vec![("moisture", "12 %"), ("inside-air", "70 °F"), ("humidity", "40 %")]),
        ("Q22", "light", vec![("light", "120 lx"), ("light", "80 lx")]),
        ("Q23", "temperature", vec![("inside-air", "20 °C"), ("outside-air", "5 °C")]),
    ];
    for (test, measures, rows) in readings {
        let test_ref = format!("test:{test}");
        builder.put("test", test, &[("question", test), ("measures", measures), ("job", "job:J20")]);
        builder.put("position", &format!("{test}/P1"), &[("test", &test_ref)]);
        builder.put(
            "condition",
            &format!("{test}/sky"),
            &[("test", &test_ref), ("variable", "sky"), ("class", "important")],
        );
        for (number, stage, date, wall) in states {
            let (set, wall) = (format!("{test}-{number}"), format!("assembly:{wall}"));
            let fields = [
                ("test", test_ref.as_str()),
                ("job", "job:J20"),
                ("stage", stage),
                ("date", date),
                ("assembly", &wall),
            ];
            builder.put("set", &set, &fields);
            builder.amend("set", &set, "meter", "meter:M2");
            for (index, (subject, value)) in rows.iter().enumerate() {
                let (set_ref, place) = (format!("set:{set}"), format!("position:{test}/P1"));
                let mut fields = vec![
                    ("set", set_ref.as_str()),
                    ("role", "direct"),
                    ("subject", subject),
                    ("value", value),
                    ("replicate", "1"),
                ];
                if matches!(*subject, "moisture" | "light") {
                    fields.push(("position", &place));
                }
                builder.put("reading", &format!("{set}/{index}"), &fields);
            }
        }
    }
    let beside = |label, stage, date, receive| fixture::SetRow {
        test: "Q2",
        label,
        job: "J3",
        stage,
        date,
        assembly: "A05",
        from: "R4",
        to: "R6",
        unit: "dBA",
        source: "90.0 90.0",
        receive,
        background: "20.0",
    };
    builder.set(&beside("C1", "before", "2025-04-01", "60.6 60.2 60.4"));
    builder.set(&beside("C2", "after", "2025-04-09", "60.0 60.2 60.1"));
    for label in ["C1", "C2"] {
        builder.amend("set", label, "control", "yes");
    }
}

/// What some jobs spent, for steps told with their money.
fn costs() -> Costs {
    let money = |text: &str| Money::parse_in(text, Currency::parse("USD").unwrap()).unwrap();
    let spent = vec![("2025-04-01".parse().ok(), money("410.93")), (None, money("1044.00"))];
    let cost = JobCost { net: money("1454.93"), area: None, spent };
    Costs { jobs: ["J3", "J4"].map(|job| (id("job", job), cost.clone())).into() }
}

/// Everything a book's findings answer must be the same, to the last bit.
fn assert_same(book: &Book, kept: &Kept, told: &Told, after: &str) {
    let fresh = Kept::new(book, told.clone());
    let (found, expected) = (Findings::of(book, kept), Findings::of(book, &fresh));
    assert_eq!(kept.sets, fresh.sets, "sets after {after}");
    assert_eq!(found.spreads(), expected.spreads(), "spreads after {after}");
    let listed = |findings: &Findings<'_>| findings.sets().map(|set| set.set).collect::<Vec<_>>();
    assert_eq!(listed(&found), listed(&expected), "listed sets after {after}");
    for test in book.tests.all() {
        assert_eq!(found.test(test.id), expected.test(test.id), "a test after {after}");
    }
    let (found, expected) = (found.costed(costs()), expected.costed(costs()));
    for test in book.tests.all() {
        assert_eq!(found.stages(test.id), expected.stages(test.id), "steps of a test after {after}");
    }
}

/// What is made of sets and tests must be the same too.
fn assert_same_beyond(book: &Book, kept: &Kept, told: &Told) {
    let fresh = Kept::new(book, told.clone());
    let (found, expected) = (Findings::of(book, kept), Findings::of(book, &fresh));
    for job in book.jobs.all() {
        assert_eq!(found.job(job.id), expected.job(job.id), "a job");
    }
    for wall in book.assemblies.all() {
        assert_eq!(found.assembly(wall.id), expected.assembly(wall.id), "a wall");
    }
    assert_eq!(
        found.across(Measure::Change, MatchLevel::Near),
        expected.across(Measure::Change, MatchLevel::Near)
    );
    assert_eq!(found.next(), expected.next());
}

/// Numbers that pick what is edited and how; any numbers make an edit.
type Pick = (u16, prop::sample::Index, prop::sample::Index, prop::sample::Index);

/// Readings that were taken from a recording, few of all.
const RECORDED: &str = "recorded";

/// Kinds that findings rest on, those with most to go wrong more than once.
const EDITED: &[&str] = &[
    "reading",
    "reading",
    RECORDED,
    RECORDED,
    "set",
    "set",
    "set",
    "position",
    "found",
    "condition",
    "check",
    "photo",
    "signal",
    "meter",
    "room",
    "assembly",
    "test",
    "job",
    "site",
    "notebook",
];

/// Does one random edit and tells what it touched.
fn edit(
    builder: &mut Builder,
    told: &mut Told,
    (how, kind, row, other): &Pick,
) -> Option<(&'static str, RecordId)> {
    let picked = *kind.get(EDITED);
    let kind = if picked == RECORDED { "reading" } else { picked };
    let is_picked =
        |row: &&Row| row.kind.name == kind && (picked == kind || row.value("recording").is_some());
    let rows: Vec<Row> = builder.rows().filter(is_picked).cloned().collect();
    if rows.is_empty() {
        return None;
    }
    let (mut edited, donor) = (row.get(&rows).clone(), other.get(&rows));
    // A field in which the two differ, where there is one.
    let differ: Vec<usize> =
        (0..edited.values.len()).filter(|field| edited.values[*field] != donor.values[*field]).collect();
    let any = usize::from(how / 16);
    let field = differ.get(any % differ.len().max(1)).copied().unwrap_or(any % edited.values.len());
    match how % 16 {
        // Gets what another record of the kind has in a field: another set, another value, another room.
        0..=7 => edited.values[field] = donor.values[field].clone(),
        8 => edited.values[field] = None,
        9 => {
            edited.meta.struck =
                if edited.meta.struck.is_some() { None } else { Some("typed twice".to_owned()) }
        }
        10 => {
            let name = edited.kind.fields[field].name;
            edited.meta = Meta { conflict: vec![name], corrected: vec![name], ..edited.meta };
        }
        11 => {
            builder.take_out(kind, edited.id);
            return Some((edited.kind.name, edited.id));
        }
        12 => {
            let reasons = if field % 2 == 0 { &mut told.left_out } else { &mut told.included };
            reasons.insert(edited.id, format!("reason {field}"));
        }
        13 => {
            if !told.retaken.remove(&edited.id) {
                told.retaken.insert(edited.id);
            }
        }
        14 if kind == "notebook" => {
            let rule = storypole_notebook::kinds::BACKGROUND_RULES[field % 3];
            edited.values[edited.kind.field("background_rule").unwrap().0] =
                Some(Value::Text(rule.to_owned()));
        }
        // A new record that is like another.
        _ => {
            edited.id = RecordId::from_parts(1_700_000_000_000 + u64::from(*how), [how.to_le_bytes()[0]; 10])
        }
    }
    builder.put_row(edited.clone());
    Some((edited.kind.name, edited.id))
}

fn picks() -> impl Strategy<Value = Vec<Vec<Pick>>> {
    let pick = any::<Pick>();
    prop::collection::vec(prop::collection::vec(pick, 1..4), 1..6)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, max_shrink_iters: 64, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_edited_what_is_kept_equals_what_is_worked_out_from_nothing(edits in picks()) {
        let mut builder = builder();
        let mut told = Told::default();
        let mut kept = Kept::new(&builder.book, told.clone());
        // Everything was asked for, so that there are answers that may be wrong afterwards.
        assert_same(&builder.book, &kept, &told, "nothing");
        for batch in edits {
            let touched: Vec<_> = batch.iter().filter_map(|pick| edit(&mut builder, &mut told, pick)).collect();
            kept.update(&builder.book, touched.iter().copied(), &told);
            let names: Vec<&str> = touched.iter().map(|(kind, _)| *kind).collect();
            assert_same(&builder.book, &kept, &told, &format!("{names:?} {batch:?}"));
        }
        assert_same_beyond(&builder.book, &kept, &told);
    }
}

/// The answers known before an update: which of them are the very same afterwards shows what was worked out.
fn answers(book: &Book, kept: &Kept) -> BTreeMap<RecordId, Arc<TestFinding>> {
    let view = Findings::of(book, kept);
    book.tests.all().map(|test| (test.id, view.test(test.id).unwrap())).collect()
}

fn not_the_same<T>(before: &BTreeMap<RecordId, Arc<T>>, after: &BTreeMap<RecordId, Arc<T>>) -> Vec<RecordId> {
    let differs = |id: &RecordId| match (before.get(id), after.get(id)) {
        (Some(one), Some(other)) => !Arc::ptr_eq(one, other),
        (one, other) => one.is_some() != other.is_some(),
    };
    after.keys().filter(|id| differs(id)).copied().collect()
}

#[test]
fn one_new_reading_works_out_one_set_and_its_test() {
    let mut builder = fixture::builder();
    let mut kept = Kept::new(&builder.book, Told::default());
    let known = answers(&builder.book, &kept);
    let sets = kept.sets.clone();
    // A fourth run on the bench: runs are in no pooled spread.
    builder.put(
        "reading",
        "T20/run4",
        &[
            ("set", "set:T20"),
            ("role", "direct"),
            ("subject", "level"),
            ("value", "32.0 dB"),
            ("replicate", "4"),
        ],
    );
    let worked = kept.update(&builder.book, [("reading", id("reading", "T20/run4"))], &Told::default());
    assert_eq!(worked, Worked { sets: 1, tests: 1, by_spreads: 0 });
    assert_eq!(not_the_same(&sets, &kept.sets), [id("set", "T20")]);
    assert_eq!(not_the_same(&known, &answers(&builder.book, &kept)), [id("test", "Q5")]);
}

#[test]
fn tests_that_share_a_spread_are_worked_out_when_asked_and_only_these() {
    let mut builder = fixture::builder();
    let mut kept = Kept::new(&builder.book, Told::default());
    let known = answers(&builder.book, &kept);
    let sets = kept.sets.clone();
    builder.reading("T11", "R4", "receive", Some("Q2/R5/R4"), "50.9 dBA");
    let worked = kept.update(&builder.book, [("reading", id("reading", "T11/R4"))], &Told::default());
    assert_eq!(not_the_same(&sets, &kept.sets), [id("set", "T11")]);
    // T11 lies between first and last and is of a wall of its own, so that no spread moved.
    assert_eq!(worked, Worked { sets: 1, tests: 1, by_spreads: 0 });
    builder.reading("T13", "R4", "receive", Some("Q2/R5/R4"), "47.9 dBA");
    let worked = kept.update(&builder.book, [("reading", id("reading", "T13/R4"))], &Told::default());
    // The music room, the nursery and the closet share the spread of dBA, and the rim joist has no weighting of its own;
    // bench rigs share none.
    assert_eq!(worked, Worked { sets: 1, tests: 1, by_spreads: 4 });
    let again = answers(&builder.book, &kept);
    let shared = ["Q1", "Q2", "Q3", "Q4", "Q7"].map(|test| id("test", test));
    assert_eq!(not_the_same(&known, &again), shared);
}

#[test]
fn a_record_nothing_rests_on_works_out_nothing() {
    let mut builder = fixture::builder();
    let mut kept = Kept::new(&builder.book, Told::default());
    let task = builder.put("task", "K1", &[("title", "sweep")]);
    assert_eq!(kept.update(&builder.book, [("task", task)], &Told::default()), Worked::default());
    let room = builder.put("room", "R99", &[("name", "attic")]);
    assert_eq!(kept.update(&builder.book, [("room", room)], &Told::default()), Worked::default());
}

#[test]
fn another_background_rule_works_out_everything() {
    let mut builder = builder();
    let mut kept = Kept::new(&builder.book, Told::default());
    builder.store("notebook", "N1", "background_rule", Value::Text("iso16283".to_owned()));
    let worked = kept.update(&builder.book, [("notebook", id("notebook", "N1"))], &Told::default());
    assert_eq!(worked.sets, builder.book.sets.len());
    assert_same(&builder.book, &kept, &Told::default(), "another rule");
    assert_same_beyond(&builder.book, &kept, &Told::default());
}

#[test]
fn a_check_of_a_day_touches_the_sets_of_that_day_and_meter() {
    let mut builder = builder();
    let mut kept = Kept::new(&builder.book, Told::default());
    builder.put(
        "check",
        "C9",
        &[("meter", "meter:M1"), ("date", "2025-04-17"), ("before", "94.0 dBA"), ("after", "96 dBA")],
    );
    let worked = kept.update(&builder.book, [("check", id("check", "C9"))], &Told::default());
    assert_eq!(worked.sets, 1, "T15 is the one set that M1 took on that day");
    let set = kept.set(id("set", "T15")).unwrap();
    assert!(set.excluded[0].starts_with("calibration-drift"), "{:?}", set.excluded);
}

#[test]
fn stale_answers_are_let_go_in_the_end() {
    let mut builder = fixture::builder();
    let mut kept = Kept::new(&builder.book, Told::default());
    for tenth in 0..40 {
        answers(&builder.book, &kept);
        builder.reading(
            "T13",
            "R4",
            "receive",
            Some("Q2/R5/R4"),
            &format!("{}.{} dBA", 46 + tenth / 10, tenth % 10),
        );
        kept.update(&builder.book, [("reading", id("reading", "T13/R4"))], &Told::default());
        assert!(kept.stale.len() <= builder.book.tests.len(), "{}", kept.stale.len());
    }
}

#[test]
fn what_lies_farther_off_reaches_the_set_it_touches() {
    /// What is touched, the set that must change, and the edit.
    type Reach = (&'static str, &'static str, &'static str, fn(&mut Builder, &mut Told));
    let reaches: [Reach; 6] = [
        // The recording of a reading in T18 is that of one in T17 too, and its flag says so.
        ("reading", "T17/R2", "T18", |builder, _| {
            builder.mark(
                "reading",
                "T17/R2",
                Meta { struck: Some("typed twice".to_owned()), ..Meta::default() },
            );
        }),
        ("set", "T17", "T18", |builder, _| builder.amend("set", "T17", "label", "T17 bis")),
        ("photo", "P5", "T18", |builder, _| builder.store("photo", "P5", "hash", Value::Hash([9; 32]))),
        // A reading that names a position of another test.
        ("position", "Q4/R9/R1", "T15", |builder, _| builder.amend("position", "Q4/R9/R1", "label", "R8")),
        ("reading", "T18/R2", "T18", |_, told| told.retaken = [id("reading", "T18/R2")].into()),
        ("set", "T12", "T12", |_, told| {
            drop(told.left_out.insert(id("set", "T12"), "a truck passed".to_owned()))
        }),
    ];
    for (kind, label, set, edit) in reaches {
        let mut builder = builder();
        builder.amend("reading", "T15/R1", "position", "position:Q4/R9/R1");
        builder.amend("set", "T12", "left_out", "yes");
        let mut told = Told::default();
        let mut kept = Kept::new(&builder.book, told.clone());
        let before = Arc::clone(kept.set(id("set", set)).unwrap());
        edit(&mut builder, &mut told);
        kept.update(&builder.book, [(kind, id(kind, label))], &told);
        assert_ne!(kept.set(id("set", set)), Some(&before), "{kind} {label} changes {set}");
        assert_same(&builder.book, &kept, &told, label);
    }
}
