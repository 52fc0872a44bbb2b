//! The index over a real store: what is found, in which order, and that it is always what the tables say.

// Helpers of tests fail a test by panicking, as the tests themselves do.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use storypole_journal::membership::{self, Role};
use storypole_journal::{DeviceId, DeviceKey, Draft, DraftId, NotebookId, RecordId, WriteId, WrittenAt};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Value};
use storypole_search::{Followed, Hit, Index, IndexState, Matched, Patience, Query};
use storypole_store::{Parcel, Store};
use storypole_units::Currency;

const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 };

/// A store with invented records; each is named by a number and known by kind and label.
struct World {
    folder: tempfile::TempDir,
    store: Store,
    drafts: u8,
}

fn record(number: u8) -> RecordId {
    RecordId::from_parts(1_741_000_000_000 + u64::from(number), [number; 10])
}

fn device(number: u8) -> DeviceId {
    DeviceId::from_parts(1_740_000_000_000, [number; 10])
}

fn key(number: u8) -> DeviceKey {
    DeviceKey::from_bytes(&[number; 32])
}

const SITE: u8 = 10;
const JOB: u8 = 11;
const OTHER_JOB: u8 = 12;
const ROOM: u8 = 13;
const WALL: u8 = 14;
const OTHER_WALL: u8 = 15;
const ENTRY: u8 = 16;
const LATER_ENTRY: u8 = 17;
const TEST: u8 = 18;
const CONDITION: u8 = 19;
const SET: u8 = 20;
const FOUND: u8 = 21;
const RECEIPT: u8 = 22;
const OTHER_RECEIPT: u8 = 23;
const LINE: u8 = 24;
const OTHER_LINE: u8 = 25;
const MATERIAL: u8 = 26;
const TASK: u8 = 27;
const PHOTO: u8 = 28;
const PERSON: u8 = 29;
const METER: u8 = 30;
const SUPPLIER: u8 = 31;

type Fields = &'static [(&'static str, &'static str)];

/// The records, each field as a person would type it; `#14` points to record 14.
const RECORDS: &[(u8, &str, Fields)] = &[
    (PERSON, "person", &[("label", "zebedee"), ("role", "site lead")]),
    (
        SITE,
        "site",
        &[
            ("label", "S1"),
            ("name", "Millrace house"),
            ("address", "7 Hidden Lane"),
            ("description", "detached"),
        ],
    ),
    (
        JOB,
        "job",
        &[("label", "J1"), ("site", "#10"), ("title", "Music room partition"), ("finished", "2025-03-14")],
    ),
    (
        OTHER_JOB,
        "job",
        &[("label", "J2"), ("site", "#10"), ("title", "Nursery ceiling"), ("finished", "2025-06-01")],
    ),
    (ROOM, "room", &[("label", "R1"), ("site", "#10"), ("name", "Practice room")]),
    (
        WALL,
        "assembly",
        &[
            ("label", "A03"),
            ("element", "wall"),
            ("job", "#11"),
            ("room_a", "#13"),
            ("leaf_a", "gypsum 15.9 x2, 22 kg/m2"),
            ("frame", "single wood 38x89@406"),
            ("cavity", "89 clear, glass fibre 89, 10 kg/m3, 100%"),
            ("since", "2025-03-14"),
        ],
    ),
    (
        OTHER_WALL,
        "assembly",
        &[
            ("label", "A04"),
            ("element", "wall"),
            ("job", "#11"),
            ("frame", "staggered wood 38x89@610 on 38x140"),
            ("cavity", "140 clear, stone wool 89, 40 kg/m3, 100%"),
            ("since", "2025-04-01"),
        ],
    ),
    (
        ENTRY,
        "entry",
        &[
            ("site", "#10"),
            ("job", "#11"),
            ("date", "2025-03-04"),
            ("entry_kind", "work"),
            ("text", "Sealed the edges of the hall partition; drywall delivered, café closed."),
        ],
    ),
    (
        LATER_ENTRY,
        "entry",
        &[
            ("site", "#10"),
            ("job", "#11"),
            ("date", "2025-03-06"),
            ("entry_kind", "inspection"),
            ("text", "Boxes moved, hall checked before cover."),
        ],
    ),
    (TEST, "test", &[("label", "Q1"), ("question", "Does sealing alone help?"), ("job", "#11")]),
    (
        CONDITION,
        "condition",
        &[("test", "#18"), ("variable", "window"), ("class", "critical"), ("wanted", "shut tight")],
    ),
    (
        SET,
        "set",
        &[
            ("label", "T01"),
            ("test", "#18"),
            ("job", "#11"),
            ("stage", "before"),
            ("assembly", "#14"),
            ("meter", "#30"),
            ("date", "2025-03-04"),
        ],
    ),
    (
        FOUND,
        "found",
        &[("condition", "#19"), ("set", "#20"), ("value", "ajar on the photo"), ("status", "changed")],
    ),
    (METER, "meter", &[("label", "M1"), ("meter_kind", "sound level meter"), ("serial", "SN99887")]),
    (SUPPLIER, "supplier", &[("label", "quarry"), ("name", "Quarry Lane Lumber")]),
    (
        RECEIPT,
        "receipt",
        &[
            ("label", "P12"),
            ("supplier", "#31"),
            ("date", "2025-05-10"),
            ("job", "#11"),
            ("memo", "box parts"),
        ],
    ),
    (
        OTHER_RECEIPT,
        "receipt",
        &[("label", "P13"), ("supplier", "#31"), ("date", "2025-05-20"), ("job", "#11")],
    ),
    (
        LINE,
        "line",
        &[("receipt", "#22"), ("item", "plywood 3/4 4x8"), ("quantity", "2"), ("unit_price", "58.90")],
    ),
    (
        OTHER_LINE,
        "line",
        &[("receipt", "#22"), ("item", "stud 2x4x8 ft"), ("quantity", "12"), ("unit_price", "4.36")],
    ),
    (MATERIAL, "material", &[("label", "batt"), ("name", "glass-fibre batt R-13"), ("unit", "piece")]),
    (TASK, "task", &[("job", "#11"), ("title", "Order acoustical sealant"), ("state", "to-do")]),
    (
        PHOTO,
        "photo",
        &[("about", "#14"), ("caption", "Cavity before closing"), ("hash", HASH), ("bytes", "5")],
    ),
];

const HASH: &str = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";

impl World {
    fn new() -> Self {
        let mut world = Self::empty(1);
        world.fill();
        world
    }

    fn empty(number: u8) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let notebook = NotebookId::founded_by(device(1));
        let path = folder.path().join("notebook.db");
        let store = Store::create(
            &path,
            key(number),
            &storypole_store::Identity {
                notebook,
                device: device(number),
                founder_key: key(1).public(),
                instance: [number; 16],
                author: RecordId::from_parts(1, [1; 10]),
            },
        )
        .unwrap();
        let mut world = Self { folder, store, drafts: 50 * (number - 1) };
        if number == 1 {
            world.invite(1);
        }
        world
    }

    fn invite(&mut self, number: u8) {
        let role = if number == 1 { Role::Keeper } else { Role::Crew };
        let writes = membership::invite(device(number), key(number).public(), role, device(1));
        let draft = Draft { id: self.draft(), author: record(PERSON), written_at: AT, writes };
        self.take(draft);
    }

    fn draft(&mut self) -> DraftId {
        self.drafts += 1;
        DraftId::from_parts(1_741_000_000_000, [self.drafts; 10])
    }

    fn take(&mut self, draft: Draft) {
        self.store.take(vec![draft], AT.unix_ms as u64).unwrap().remove(0).unwrap();
    }

    fn compose(&mut self, write: impl FnOnce(&mut Composer)) {
        let mut composer = Composer::new(self.draft(), record(PERSON), AT);
        write(&mut composer);
        self.take(composer.finish());
    }

    fn fill(&mut self) {
        self.compose(|composer| {
            for (number, kind, fields) in RECORDS {
                for (field, text) in *fields {
                    composer.set(record(*number), kind, field, &value(kind, field, text)).unwrap();
                }
            }
        });
    }

    fn heads(&self, number: u8, kind: &str, field: &str) -> Vec<WriteId> {
        self.store.reader().unwrap().heads(record(number), KindSpec::find(kind).unwrap(), field).unwrap()
    }

    fn change(&mut self, number: u8, kind: &str, field: &str, text: &str) {
        let seen = self.heads(number, kind, field);
        let value = value(kind, field, text);
        self.compose(|composer| {
            composer
                .change(record(number), kind, field, Some(&value), seen, Some("corrected".into()))
                .unwrap();
        });
    }

    fn strike(&mut self, number: u8, kind: &str) {
        self.compose(|composer| {
            composer.strike(record(number), kind, Vec::new(), "written twice".into());
        });
    }

    fn folder(&self) -> PathBuf {
        self.folder.path().join("index")
    }

    fn follow(&self, index: &Index) -> Followed {
        let reader = self.store.reader().unwrap();
        index.follow(&reader, &reader.book().unwrap(), Patience::Wait).unwrap()
    }

    fn index(&self) -> Index {
        let index = Index::open(&self.folder()).unwrap();
        self.follow(&index);
        index
    }

    /// The same records in an index that never saw an older state.
    fn fresh(&self) -> (tempfile::TempDir, Index) {
        let folder = tempfile::tempdir().unwrap();
        let index = Index::open(folder.path()).unwrap();
        assert!(self.follow(&index).whole);
        (folder, index)
    }

    /// Asserts that an index finds what a fresh one finds, word by word.
    fn assert_like_fresh(&self, index: &Index) {
        let (_folder, fresh) = self.fresh();
        let mut words: Vec<&str> =
            RECORDS.iter().flat_map(|(_, _, fields)| fields.iter().map(|(_, text)| *text)).collect();
        words.extend(["office", "lobby", "site lead", "window ajar", "S2", "lumber", "built", "notebook"]);
        for text in words.iter().flat_map(|text| text.split_whitespace()) {
            assert_eq!(all_of(index, text), all_of(&fresh, text), "{text}");
        }
    }
}

fn value(kind: &str, field: &str, text: &str) -> Value {
    if let Some(number) = text.strip_prefix('#') {
        return Value::Record(record(number.parse().unwrap()));
    }
    let (_, spec) = KindSpec::find(kind).unwrap().field(field).unwrap();
    spec.takes.parse(text, Currency::parse("USD").unwrap()).unwrap()
}

fn ask(words: &str) -> Query {
    Query { words: words.to_owned(), kinds: None, limit: 50 }
}

/// Numbers of the records found, best first.
fn found(index: &Index, words: &str) -> Vec<u8> {
    index.find(&ask(words)).unwrap().iter().map(number_of).collect()
}

fn number_of(hit: &Hit) -> u8 {
    hit.record.as_bytes()[15]
}

/// What is found, without scores and order: they depend on replaced documents until tantivy merges them away.
fn all_of(index: &Index, words: &str) -> Vec<Hit> {
    let mut hits = index.find(&ask(words)).unwrap();
    hits.iter_mut().for_each(|hit| hit.score = 0.0);
    hits.sort_by_key(number_of);
    hits
}

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
    assert_eq!(fibre, [WALL, MATERIAL]);
    assert_eq!(found(&index, "mineral wool"), [OTHER_WALL]);
    assert_eq!(found(&index, "stone wool"), [OTHER_WALL]);
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
fn a_damaged_or_foreign_index_is_made_anew() {
    let world = World::new();
    let documents = world.folder().join("documents-1");
    let first_file = |ending: &str| -> PathBuf {
        let mut files: Vec<PathBuf> =
            fs::read_dir(&documents).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.sort();
        files.into_iter().find(|path| path.to_string_lossy().ends_with(ending)).unwrap()
    };
    let halve = |path: &Path| {
        let bytes = fs::read(path).unwrap();
        fs::write(path, &bytes[..bytes.len() / 2]).unwrap();
    };
    let damages: [(&str, &dyn Fn()); 7] = [
        ("half of the description", &|| halve(&documents.join("meta.json"))),
        ("no description", &|| fs::remove_file(documents.join("meta.json")).unwrap()),
        ("an empty description", &|| fs::write(documents.join("meta.json"), "").unwrap()),
        ("half of the words", &|| halve(&first_file(".term"))),
        ("no words", &|| fs::remove_file(first_file(".idx")).unwrap()),
        ("another version", &|| {
            let text = fs::read_to_string(documents.join("meta.json")).unwrap();
            let other = text
                .replace("\"payload\": \"1 ", "\"payload\": \"0 ")
                .replace("\"payload\":\"1 ", "\"payload\":\"0 ");
            assert_ne!(text, other);
            fs::write(documents.join("meta.json"), other).unwrap();
        }),
        ("a file in its place", &|| {
            fs::remove_dir_all(&documents).unwrap();
            fs::write(&documents, "not a folder").unwrap();
        }),
    ];
    for (what, damage) in damages {
        assert_eq!(found(&world.index(), "cafe"), [ENTRY]);
        damage();
        let index = Index::open(&world.folder()).unwrap();
        assert!(world.follow(&index).whole, "{what}");
        assert_eq!(found(&index, "cafe"), [ENTRY], "{what}");
    }
}

#[test]
fn a_folder_that_cannot_be_made_is_an_error_that_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("index");
    fs::write(&path, "a file").unwrap();
    let error = Index::open(&path).err().unwrap();
    assert!(error.to_string().contains("could not be read or written"), "{error}");
}

#[test]
fn followers_take_turns() {
    let world = World::new();
    let (folder, database) = (world.folder(), world.store.path().to_owned());
    std::thread::scope(|scope| {
        let ask = || {
            let index = Index::open(&folder).unwrap();
            let reader = storypole_store::Reader::open(&database).unwrap();
            index.follow(&reader, &reader.book().unwrap(), Patience::Wait).unwrap();
            found(&index, "cafe")
        };
        let (one, other) = (scope.spawn(ask), scope.spawn(ask));
        assert_eq!((one.join().unwrap(), other.join().unwrap()), (vec![ENTRY], vec![ENTRY]));
    });
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
