//! What the tests of backups and exports share: a notebook with a few records and a file. All of it is invented.
#![allow(dead_code, clippy::unwrap_used, reason = "no test uses all of it; a test that cannot go on fails")]

use std::collections::BTreeMap;
use std::path::Path;

use storypole_desk::{Desk, Founding, edge};
use storypole_journal::{RecordId, WrittenAt};
use storypole_notebook::Value;
use storypole_units::Currency;

pub const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 };

pub fn founded(folder: &Path) -> Desk {
    let founding = Founding {
        name: "Millrace house".to_owned(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".to_owned(),
        label: "lead".to_owned(),
        device_label: "box".to_owned(),
        written_at: AT,
    };
    Desk::found(folder, &founding).unwrap()
}

pub fn site(desk: &Desk, label: &str) -> RecordId {
    let mut compose = desk.compose(AT);
    let site = edge::record_id();
    compose.set(site, "site", "label", &Value::Text(label.to_owned())).unwrap();
    compose.set(site, "site", "name", &Value::Text(format!("Site {label}"))).unwrap();
    desk.take(compose.finish()).unwrap();
    site
}

/// Keeps a file and pins it to a record.
pub fn photo(desk: &Desk, about: RecordId, content: &[u8]) -> [u8; 32] {
    let kept = desk.keep_file(&mut { content }).unwrap();
    pin(desk, about, kept.hash);
    kept.hash
}

/// Pins a file, whether or not it is here.
pub fn pin(desk: &Desk, about: RecordId, hash: [u8; 32]) {
    let mut compose = desk.compose(AT);
    let photo = edge::record_id();
    compose.set(photo, "photo", "about", &Value::Record(about)).unwrap();
    compose.set(photo, "photo", "hash", &Value::Hash(hash)).unwrap();
    desk.take(compose.finish()).unwrap();
}

/// Two sites and two files.
pub fn filled(folder: &Path) -> Desk {
    let desk = founded(folder);
    let one = site(&desk, "S1");
    photo(&desk, one, b"the wall before the board went on");
    photo(&desk, one, &[7; 70_000]);
    site(&desk, "S2");
    desk
}

/// What `from` has and `to` lacks.
pub fn carry(from: &Desk, to: &Desk) {
    let theirs = to.read(|reader| reader.vector()).unwrap();
    let parcel = from.since(&theirs, usize::MAX).unwrap();
    assert_eq!(to.receive(parcel).unwrap().stopped, None);
}

pub fn meet(one: &Desk, other: &Desk) {
    carry(one, other);
    carry(other, one);
}

/// Every file below a folder, with its content.
pub fn content_of(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(folder) = waiting.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                waiting.push(path);
            } else {
                found.insert(path.display().to_string(), std::fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// Numbers by chance that are the same for the same seed (xorshift64*, Marsaglia 2003 and Vigna 2016).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 32) % limit
    }
}
