//! A store with invented records, an index that follows it, and what is to be found in it.

use std::path::PathBuf;

use storypole_journal::membership::{self, Role};
use storypole_journal::{DeviceId, DeviceKey, Draft, DraftId, NotebookId, RecordId, WriteId, WrittenAt};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Value};
use storypole_search::{Followed, Hit, Index, Patience, Query};
use storypole_store::{Identity, Store};
use storypole_units::Currency;

pub const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 };

/// A store with invented records; each is named by a number and known by kind and label.
pub struct World {
    pub folder: tempfile::TempDir,
    pub store: Store,
    drafts: u8,
}

pub fn record(number: u8) -> RecordId {
    RecordId::from_parts(1_741_000_000_000 + u64::from(number), [number; 10])
}

pub fn device(number: u8) -> DeviceId {
    DeviceId::from_parts(1_740_000_000_000, [number; 10])
}

pub fn key(number: u8) -> DeviceKey {
    DeviceKey::from_bytes(&[number; 32])
}

pub const SITE: u8 = 10;
pub const JOB: u8 = 11;
pub const OTHER_JOB: u8 = 12;
pub const ROOM: u8 = 13;
pub const WALL: u8 = 14;
pub const OTHER_WALL: u8 = 15;
pub const ENTRY: u8 = 16;
pub const LATER_ENTRY: u8 = 17;
pub const TEST: u8 = 18;
pub const CONDITION: u8 = 19;
pub const SET: u8 = 20;
pub const FOUND: u8 = 21;
pub const RECEIPT: u8 = 22;
pub const OTHER_RECEIPT: u8 = 23;
pub const LINE: u8 = 24;
pub const OTHER_LINE: u8 = 25;
pub const MATERIAL: u8 = 26;
pub const TASK: u8 = 27;
pub const PHOTO: u8 = 28;
pub const PERSON: u8 = 29;
pub const METER: u8 = 30;
pub const SUPPLIER: u8 = 31;

pub type Fields = &'static [(&'static str, &'static str)];

/// The records, each field as a person would type it; `#14` points to record 14.
pub const RECORDS: &[(u8, &str, Fields)] = &[
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

pub const HASH: &str = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";

impl World {
    pub fn new() -> Self {
        let mut world = Self::empty(1);
        world.fill();
        world
    }

    pub fn empty(number: u8) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let notebook = NotebookId::founded_by(device(1));
        let path = folder.path().join("notebook.db");
        let store = Store::create(
            &path,
            key(number),
            &Identity {
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

    pub fn invite(&mut self, number: u8) {
        let role = if number == 1 { Role::Keeper } else { Role::Crew };
        let writes = membership::invite(device(number), key(number).public(), role, device(1));
        let draft = Draft { id: self.draft(), author: record(PERSON), written_at: AT, writes };
        self.take(draft);
    }

    pub fn draft(&mut self) -> DraftId {
        self.drafts += 1;
        DraftId::from_parts(1_741_000_000_000, [self.drafts; 10])
    }

    pub fn take(&mut self, draft: Draft) {
        self.store.take(vec![draft], AT.unix_ms as u64).unwrap().remove(0).unwrap();
    }

    pub fn compose(&mut self, write: impl FnOnce(&mut Composer)) {
        let mut composer = Composer::new(self.draft(), record(PERSON), AT);
        write(&mut composer);
        self.take(composer.finish());
    }

    pub fn fill(&mut self) {
        self.compose(|composer| {
            for (number, kind, fields) in RECORDS {
                for (field, text) in *fields {
                    composer.set(record(*number), kind, field, &value(kind, field, text)).unwrap();
                }
            }
        });
    }

    pub fn heads(&self, number: u8, kind: &str, field: &str) -> Vec<WriteId> {
        let reader = self.store.reader().unwrap();
        let mut heads = reader.heads(record(number), KindSpec::find(kind).unwrap(), field).unwrap();
        heads.sort();
        heads
    }

    pub fn change(&mut self, number: u8, kind: &str, field: &str, text: &str) {
        let seen = self.heads(number, kind, field);
        let value = value(kind, field, text);
        self.compose(|composer| {
            composer
                .change(record(number), kind, field, Some(&value), seen, Some("corrected".into()))
                .unwrap();
        });
    }

    pub fn strike(&mut self, number: u8, kind: &str) {
        let seen = self.heads(number, kind, "struck");
        self.compose(|composer| {
            composer.strike(record(number), kind, seen, "written twice".into());
        });
    }

    pub fn restore(&mut self, number: u8, kind: &str) {
        let seen = self.heads(number, kind, "struck");
        self.compose(|composer| {
            composer.restore(record(number), kind, seen, "was right".into());
        });
    }

    /// A line of the day log that names nothing but its site.
    pub fn note(&mut self, number: u8, day: &str, text: &str) {
        self.compose(|composer| {
            for (field, text) in [("site", "#10"), ("date", day), ("entry_kind", "note"), ("text", text)] {
                composer.set(record(number), "entry", field, &value("entry", field, text)).unwrap();
            }
        });
    }

    pub fn folder(&self) -> PathBuf {
        self.folder.path().join("index")
    }

    pub fn follow(&self, index: &Index) -> Followed {
        let reader = self.store.reader().unwrap();
        index.follow(&reader, &reader.book().unwrap(), Patience::Wait).unwrap()
    }

    pub fn index(&self) -> Index {
        let index = Index::open(&self.folder()).unwrap();
        self.follow(&index);
        index
    }

    /// The same records in an index that never saw an older state.
    pub fn fresh(&self) -> (tempfile::TempDir, Index) {
        let folder = tempfile::tempdir().unwrap();
        let index = Index::open(folder.path()).unwrap();
        assert!(self.follow(&index).whole);
        (folder, index)
    }

    /// Asserts that an index finds what a fresh one finds, word by word.
    pub fn assert_like_fresh(&self, index: &Index) {
        let (_folder, fresh) = self.fresh();
        let mut words: Vec<&str> =
            RECORDS.iter().flat_map(|(_, _, fields)| fields.iter().map(|(_, text)| *text)).collect();
        words.extend(["office", "lobby", "site lead", "window ajar", "S2", "lumber", "built", "notebook"]);
        for text in words.iter().flat_map(|text| text.split_whitespace()) {
            assert_eq!(all_of(index, text), all_of(&fresh, text), "{text}");
        }
    }
}

pub fn value(kind: &str, field: &str, text: &str) -> Value {
    if let Some(number) = text.strip_prefix('#') {
        return Value::Record(record(number.parse().unwrap()));
    }
    let (_, spec) = KindSpec::find(kind).unwrap().field(field).unwrap();
    spec.takes.parse(text, Currency::parse("USD").unwrap()).unwrap()
}

pub fn ask(words: &str) -> Query {
    Query { words: words.to_owned(), kinds: None, limit: 50 }
}

/// Numbers of the records found, best first.
pub fn found(index: &Index, words: &str) -> Vec<u8> {
    index.find(&ask(words)).unwrap().iter().map(number_of).collect()
}

pub fn number_of(hit: &Hit) -> u8 {
    hit.record.as_bytes()[15]
}

/// What is found, without scores and order: they depend on replaced documents until tantivy merges them away.
pub fn all_of(index: &Index, words: &str) -> Vec<Hit> {
    let mut hits = index.find(&ask(words)).unwrap();
    hits.iter_mut().for_each(|hit| hit.score = 0.0);
    hits.sort_by_key(number_of);
    hits
}
