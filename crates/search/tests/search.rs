//! The index over a real store: what is found, in which order, and that it is always what the tables say.

// Helpers of tests fail a test by panicking, as the tests themselves do.
#![allow(clippy::unwrap_used)]

mod engine;
mod world;

use proptest::prelude::*;
use storypole_notebook::Value;
use storypole_search::{Followed, Index, Matched, Patience, Query};
use storypole_store::Parcel;

use world::*;

#[test]
fn finds_each_kind_by_its_words() {
    let world = World::new();
    let index = world.index();
    for (words, expected) in [
        ("millrace detached", vec![SITE]),
        ("nursery", vec![OTHER_JOB]),
        ("cafe", vec![ENTRY]),
        ("CAFÉ", vec![ENTRY]),
        ("inspections", vec![LATER_ENTRY]),
        ("406", vec![WALL]),
        ("window shut", vec![TEST]),
        ("ajar", vec![SET]),
        ("plywood", vec![RECEIPT]),
        ("quarry box", vec![RECEIPT]),
        ("piece", vec![MATERIAL]),
        ("to-do", vec![TASK]),
        ("caption cavity closing", vec![PHOTO, MATERIAL]),
        ("2025-03-06", vec![LATER_ENTRY]),
        ("P13", vec![OTHER_RECEIPT]),
        ("P 13", vec![OTHER_RECEIPT]),
    ] {
        let hits = found(&index, words);
        assert!(hits.starts_with(&expected[..1]), "{words}: {hits:?}");
        if expected.len() == 1 {
            assert_eq!(hits, expected, "{words}");
        }
    }
}

#[test]
fn roles_are_found_but_no_names_of_people_addresses_or_serial_numbers() {
    let world = World::new();
    let index = world.index();
    assert!(found(&index, "\"site lead\"").contains(&ENTRY));
    for private in ["zebedee", "hidden", "SN99887", "99887", "58.90"] {
        assert_eq!(found(&index, private), [0_u8; 0], "{private}");
    }
}

#[test]
fn synonyms_are_found_and_fills_stay_apart() {
    let world = World::new();
    let index = world.index();
    // The entry says drywall, the wall says gypsum.
    let mut boards = found(&index, "plasterboard");
    boards.sort_unstable();
    assert_eq!(boards, [WALL, ENTRY]);
    assert_eq!(found(&index, "gypsum boards 2x4"), [WALL]);
    let mut fibre = found(&index, "fiberglass");
    fibre.sort_unstable();
    assert_eq!(fibre, [JOB, WALL, MATERIAL]);
    assert_eq!(found(&index, "mineral wool"), [OTHER_WALL, JOB]);
    assert_eq!(found(&index, "stone wool"), [OTHER_WALL, JOB]);
    assert_eq!(found(&index, "caulk"), [TASK]);
    // Nominal and dressed sizes are one; the receipt says 2x4x8.
    let mut studs = found(&index, "2x4");
    studs.sort_unstable();
    assert_eq!(studs, [WALL, OTHER_WALL, RECEIPT]);
}

#[test]
fn phrases_and_minus_narrow() {
    let world = World::new();
    let index = world.index();
    let mut hall = found(&index, "hall");
    hall.sort_unstable();
    assert_eq!(hall, [ENTRY, LATER_ENTRY]);
    assert_eq!(found(&index, "hall -inspection"), [ENTRY]);
    assert_eq!(found(&index, "hall -\"before cover\""), [ENTRY]);
    assert_eq!(found(&index, "\"hall partition\""), [ENTRY]);
    assert_eq!(found(&index, "\"partition hall\""), [0_u8; 0]);
    // No phrase reaches from one line of a receipt into the next.
    assert_eq!(found(&index, "\"4x8 stud\""), [0_u8; 0]);
}

#[test]
fn all_words_match_or_it_says_that_only_some_do() {
    let world = World::new();
    let index = world.index();
    let hits = index.find(&ask("hall the boxes")).unwrap();
    assert_eq!(
        hits.iter().map(|hit| (number_of(hit), hit.matched)).collect::<Vec<_>>(),
        [(LATER_ENTRY, Matched::All)]
    );
    let hits = index.find(&ask("boxes rhubarb plywood")).unwrap();
    assert!(hits.len() >= 2 && hits.iter().all(|hit| hit.matched == Matched::Any));
    // Two words that have a synonym together still count one by one.
    let hits = index.find(&ask("drop seal")).unwrap();
    assert!(
        found(&index, "drop seal").contains(&ENTRY) && hits.iter().all(|hit| hit.matched == Matched::Any)
    );
    assert_eq!(index.find(&ask("rhubarb custard")).unwrap(), []);
}

#[test]
fn kinds_and_limit_are_kept() {
    let world = World::new();
    let index = world.index();
    let ask = |kinds: &[&str], limit| Query {
        words: "music".into(),
        kinds: Some(kinds.iter().map(|kind| (*kind).to_owned()).collect()),
        limit,
    };
    let kinds =
        |query: &Query| index.find(query).unwrap().into_iter().map(|hit| hit.kind).collect::<Vec<_>>();
    assert_eq!(kinds(&ask(&["entry"], 9)), ["entry", "entry"]);
    assert_eq!(kinds(&ask(&["entry", "job"], 9)), ["job", "entry", "entry"]);
    assert_eq!(kinds(&ask(&["entry", "job"], 1)), ["job"]);
    assert_eq!(kinds(&ask(&["nonsense"], 9)), [""; 0]);
    assert_eq!(kinds(&ask(&[], 9)), [""; 0]);
    assert_eq!(kinds(&ask(&["entry"], 0)), [""; 0]);
    assert_eq!(kinds(&ask(&["entry"], usize::MAX)).len(), 2);
}

#[test]
fn jobs_and_walls_come_first_and_of_equals_the_newer() {
    let mut world = World::new();
    world.compose(|composer| {
        for (number, day) in [(40, "2025-01-05"), (42, "2025-02-05"), (41, "2025-01-25")] {
            for (field, text) in
                [("site", "#10"), ("date", day), ("entry_kind", "note"), ("text", "Gooseneck fitted")]
            {
                composer.set(record(number), "entry", field, &value("entry", field, text)).unwrap();
            }
        }
        for (kind, number) in [("assembly", 43), ("material", 44)] {
            composer.set(record(number), kind, "label", &value(kind, "label", "treadle")).unwrap();
        }
    });
    let index = world.index();
    assert_eq!(found(&index, "gooseneck"), [42, 41, 40]);
    assert_eq!(found(&index, "treadle"), [43, 44]);
}

#[test]
fn snippets_mark_what_matched() {
    let world = World::new();
    let hits = world.index().find(&ask("seal drywall")).unwrap();
    let pieces = hits[0].snippet.clone().unwrap();
    let marked: Vec<&str> =
        pieces.iter().filter(|piece| piece.is_match).map(|piece| piece.text.as_str()).collect();
    assert_eq!((number_of(&hits[0]), marked), (ENTRY, vec!["Sealed", "drywall"]));
    let whole: String = pieces.iter().map(|piece| piece.text.as_str()).collect();
    assert!(
        whole.contains("Sealed the edges of the hall partition; drywall delivered, café closed."),
        "{whole}"
    );
    assert_eq!((hits[0].site.as_deref(), hits[0].job.as_deref()), (Some("S1"), Some("J1")));
    assert_eq!(hits[0].date.as_deref(), Some("2025-03-04"));
    assert_eq!(hits[0].title, "work Sealed the edges of the hall partition; drywall delivered, café closed.");
}

#[test]
fn following_writes_only_what_shows_a_change() {
    let mut world = World::new();
    let index = Index::open(&world.folder()).unwrap();
    let first = world.follow(&index);
    // Twenty-two records, seven of which (person, condition, found, meter, supplier, two lines) are parts of others.
    assert_eq!((first.written, first.whole), (RECORDS.len() - 7, true));
    assert_eq!(world.follow(&index), Followed { written: 0, whole: false, ..first });
    world.change(LINE, "line", "item", "birch panel");
    let followed = world.follow(&index);
    assert_eq!((followed.written, followed.whole, followed.last), (1, false, first.last + 1));
    assert_eq!(found(&index, "birch"), [RECEIPT]);
    assert_eq!(found(&index, "plywood"), [0_u8; 0]);
    // Another process opens it where it was put on disk.
    index.settle().unwrap();
    let reopened = Index::open(&world.folder()).unwrap();
    assert_eq!(world.follow(&reopened).written, 0);
    assert_eq!(found(&reopened, "birch"), [RECEIPT]);
}

/// Each change in turn, followed one by one, gives what an index made afterwards gives.
#[test]
fn following_step_by_step_equals_a_fresh_index() {
    let mut world = World::empty(1);
    let index = world.index();
    world.fill();
    assert!(!world.follow(&index).whole);
    world.assert_like_fresh(&index);
    let changes: &[(u8, &str, &str, &str)] = &[
        (LINE, "line", "receipt", "#23"),
        (OTHER_LINE, "line", "item", "office lining"),
        (CONDITION, "condition", "wanted", "open"),
        (FOUND, "found", "value", "lobby door shut"),
        (WALL, "assembly", "label", "A99"),
        (WALL, "assembly", "job", "#12"),
        (ROOM, "room", "name", "Home office"),
        (JOB, "job", "title", "Lobby wall"),
        (SITE, "site", "label", "S2"),
        (PERSON, "person", "role", "helper"),
        (SUPPLIER, "supplier", "name", "Tin Heron Building Supply"),
        (TEST, "test", "question", "Does lumber ring?"),
        (METER, "meter", "meter_kind", "box"),
        (PHOTO, "photo", "about", "#16"),
        (ENTRY, "entry", "job", "#12"),
    ];
    for (number, kind, field, text) in changes {
        world.change(*number, kind, field, text);
        assert!(!world.follow(&index).whole);
        world.assert_like_fresh(&index);
    }
    // A record that names others before they are written.
    world.compose(|composer| {
        composer.set(record(60), "photo", "about", &Value::Record(record(61))).unwrap();
        composer.set(record(60), "photo", "caption", &Value::Text("early".into())).unwrap();
    });
    world.follow(&index);
    world.compose(|composer| {
        composer.set(record(61), "task", "title", &Value::Text("late".into())).unwrap();
        composer.set(record(61), "task", "job", &Value::Record(record(JOB))).unwrap();
    });
    world.follow(&index);
    world.assert_like_fresh(&index);
    assert_eq!(found(&index, "early lobby"), [60]);
    for (number, kind) in [(LINE, "line"), (FOUND, "found"), (JOB, "job"), (ENTRY, "entry"), (PHOTO, "photo")]
    {
        world.strike(number, kind);
        world.follow(&index);
        world.assert_like_fresh(&index);
    }
}

#[test]
fn struck_records_are_not_found() {
    let mut world = World::new();
    let index = world.index();
    assert_eq!(found(&index, "cafe"), [ENTRY]);
    world.strike(ENTRY, "entry");
    world.strike(LINE, "line");
    world.follow(&index);
    assert_eq!(found(&index, "cafe"), [0_u8; 0]);
    assert_eq!(found(&index, "plywood"), [0_u8; 0]);
    assert!(found(&index, "box").contains(&RECEIPT));
}

/// A writer may commit between reading the records and following the log.
#[test]
fn a_book_that_is_behind_the_log_is_read_again() {
    let mut world = World::new();
    let index = world.index();
    let reader = world.store.reader().unwrap();
    let old = reader.book().unwrap();
    world.change(ENTRY, "entry", "text", "Rhubarb planted");
    assert_eq!(index.follow(&reader, &old, Patience::Wait).unwrap().written, 1);
    assert_eq!(found(&index, "rhubarb"), [ENTRY]);
    let (folder, old) = (tempfile::tempdir().unwrap(), old);
    let other = Index::open(folder.path()).unwrap();
    assert!(other.follow(&reader, &old, Patience::Wait).unwrap().whole);
    assert_eq!(found(&other, "rhubarb"), [ENTRY]);
}

#[test]
fn tables_made_anew_and_another_database_are_noticed() {
    let mut world = World::new();
    let index = world.index();
    world.store.rebuild(&mut |_| ()).unwrap();
    assert!(world.follow(&index).whole);
    assert!(!world.follow(&index).whole);
    let other = World::empty(2);
    assert!(other.follow(&index).whole);
    assert_eq!(found(&index, "hall"), [0_u8; 0]);
}

/// Changes that came before their signature, or are let in late, change the tables without being new.
#[test]
fn changes_that_begin_to_count_late_are_found() {
    let mut world = World::empty(1);
    world.invite(2);
    let mut other = World::empty(2);
    let parcel = |from: &World, to: &World| {
        from.store.reader().unwrap().since(&to.store.vector().unwrap(), usize::MAX).unwrap()
    };
    let invitation = parcel(&world, &other);
    other.store.receive(&invitation).unwrap();
    other.fill();
    let index = world.index();
    let whole = parcel(&other, &world);
    world.store.receive(&Parcel { changes: whole.changes, signatures: Vec::new() }).unwrap();
    world.follow(&index);
    assert_eq!(found(&index, "hall"), [0_u8; 0]);
    world.store.receive(&Parcel { changes: Vec::new(), signatures: whole.signatures }).unwrap();
    world.follow(&index);
    assert_eq!(found(&index, "hall").len(), 2);
    world.assert_like_fresh(&index);
}

#[test]
fn any_text_is_read_as_something() {
    let world = World::new();
    let index = world.index();
    for nothing in [
        "",
        " ",
        "-",
        "--",
        "-hall",
        "\"",
        "\"\"",
        "\u{0}",
        "🙂🙂",
        "( ) [ ] { } ^ ~ * ?",
        "\u{202e}\u{200f}",
    ] {
        assert_eq!(found(&index, nothing), [0_u8; 0], "{nothing:?}");
    }
    for some in [
        "cafe\u{0}",
        "\"cafe",
        "cafe AND",
        "(cafe",
        "cafe*",
        "cafe~",
        "\u{202e}cafe",
        "cafe 🙂",
        "+cafe",
        "cafe:",
    ] {
        assert_eq!(found(&index, some), [ENTRY], "{some:?}");
    }
    for long in [
        "hall ".repeat(2_000),
        "x".repeat(10_000),
        "38x89@".repeat(2_000),
        "\"hall ".repeat(1_700),
        "é".repeat(5_000),
    ] {
        found(&index, &long);
    }
    let strange = (0..3_000).map(|number| format!("w{number} ")).collect::<String>() + "קיר חדש 壁 стена";
    assert_eq!(found(&index, &strange), [0_u8; 0]);
}

/// An index written in several steps, with documents that were replaced.
fn several_segments() -> (World, Index) {
    let mut world = World::new();
    let index = world.index();
    for text in ["glass fibre in the hall", "hall wall with glass", "wall of 2x4 glass fibre"] {
        world.change(ENTRY, "entry", "text", text);
        world.follow(&index);
        world.change(TEST, "test", "question", text);
        world.follow(&index);
    }
    (world, index)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    /// Whatever is typed is searched; hits are within the limit and never twice.
    #[test]
    fn no_text_is_an_error(texts in prop::collection::vec(prop_oneof!["\\PC{0,12}", "[ \"x0-9./@-]{0,12}", "(hall|glass|fibre|2x4|38x89|the|wall|-| -\"|\"| ){0,6}"], 1..12)) {
        thread_local! {
            static WORLD: (World, Index) = several_segments();
        }
        let text = texts.concat();
        let hits = WORLD.with(|(_, index)| index.find(&Query { words: text, kinds: None, limit: 5 }).unwrap());
        prop_assert!(hits.len() <= 5);
        let mut ids: Vec<_> = hits.iter().map(|hit| hit.record).collect();
        ids.sort();
        ids.dedup();
        prop_assert_eq!(ids.len(), hits.len());
    }
}
