//! Four devices write, exchange in any order, repeat, reuse ids, revoke and let in. After every step the tables
//! of each are what a rebuild gives, a book that only follows what changed is what reading all gives, and once all
//! have met they are equal.
//!
//! `SEED=17` replays one seed.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use storypole_journal::membership::{self, Revocation, Role};
use storypole_journal::{Draft, DraftId, NotebookId, RecordId, WriteId, WrittenAt, first_prev};
use storypole_notebook::compose::Composer;
use storypole_notebook::{Book, KindSpec, Value};
use storypole_store::read::Position;
use storypole_store::{Identity, Reader, Store};

mod world;

use world::{AT, device, key, record};

const START_MS: u64 = AT.unix_ms as u64;
const DEVICES: u8 = 4;

/// SplitMix64, as in the testkit, which this crate may not import.
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ (mixed >> 31)) % limit
    }
}

fn numbered(number: u64) -> [u8; 10] {
    let mut bytes = [0; 10];
    bytes[2..].copy_from_slice(&number.to_be_bytes());
    bytes
}

struct World {
    stores: Vec<Store>,
    /// For each store a book that follows it, and what reads it.
    books: Vec<(Reader, Position, Book)>,
    /// How often a book followed without being read anew.
    followed: usize,
    chance: Chance,
    now_ms: u64,
    drafts: u64,
    handed: Vec<Draft>,
    told: Vec<String>,
}

impl World {
    fn new(folder: &std::path::Path, seed: u64) -> Self {
        let notebook = NotebookId::founded_by(device(1));
        let create = |number: u8| {
            let identity = Identity {
                notebook,
                device: device(number),
                founder_key: key(1).public(),
                instance: [number; 16],
                author: record(1),
            };
            Store::create(&folder.join(format!("{number}.db")), key(number), &identity).unwrap()
        };
        let stores: Vec<Store> = (1..=DEVICES).map(create).collect();
        let read = |store: &Store| {
            let reader = store.reader().unwrap();
            let (at, book) = reader.book_and_position().unwrap();
            (reader, at, book)
        };
        let mut world = Self {
            books: stores.iter().map(read).collect(),
            followed: 0,
            stores,
            chance: Chance(seed),
            now_ms: START_MS,
            drafts: 0,
            handed: Vec::new(),
            told: Vec::new(),
        };
        let mut writes = membership::invite(device(1), key(1).public(), Role::Keeper, device(1));
        for number in 2..=DEVICES {
            let role = if number == 2 { Role::Keeper } else { Role::Crew };
            writes.extend(membership::invite(device(number), key(number).public(), role, device(1)));
        }
        let founding = world.draft(writes);
        world.take(0, vec![founding]);
        (1..usize::from(DEVICES)).for_each(|to| world.sync(0, to, usize::MAX));
        world
    }

    fn id(&mut self) -> DraftId {
        self.drafts += 1;
        DraftId::from_parts(START_MS, numbered(self.drafts))
    }

    fn draft(&mut self, writes: Vec<storypole_journal::Write>) -> Draft {
        Draft { id: self.id(), author: record(1), written_at: AT, writes }
    }

    fn site(&mut self) -> RecordId {
        RecordId::from_parts(START_MS, numbered(500 + self.chance.below(8)))
    }

    fn any(&mut self) -> usize {
        self.chance.below(u64::from(DEVICES)) as usize
    }

    fn take(&mut self, at: usize, drafts: Vec<Draft>) {
        // Refusals are fine here (revoked, reused); a failure of the store is not.
        let _ = self.stores[at].take(drafts, self.now_ms).unwrap();
    }

    fn sync(&mut self, from: usize, to: usize, max_bytes: usize) {
        let parcel =
            self.stores[from].reader().unwrap().since(&self.stores[to].vector().unwrap(), max_bytes).unwrap();
        assert_eq!(self.stores[to].receive(&parcel).unwrap().stopped, None, "{}", self.told.join("\n"));
    }

    fn write(&mut self, id: DraftId, at: usize) -> Draft {
        let site = self.site();
        let written_at = WrittenAt { unix_ms: AT.unix_ms + self.chance.below(99) as i64, offset_min: 0 };
        let mut compose = Composer::new(id, record(1), written_at);
        let kind = KindSpec::find("site").unwrap();
        let seen = self.stores[at].reader().unwrap().heads(site, kind, "name").unwrap();
        let seen = if self.chance.below(3) > 0 { seen } else { Vec::new() };
        let name = Value::Text(format!("name {}", self.chance.below(4)));
        let reason = (self.chance.below(2) == 0).then(|| "because".to_owned());
        compose.change(site, "site", "name", Some(&name), seen, reason).unwrap();
        if self.chance.below(3) == 0 {
            let label = Value::Text(format!("label {}", self.drafts));
            let other = self.site();
            compose.change(other, "site", "label", Some(&label), Vec::new(), None).unwrap();
        }
        compose.finish()
    }

    fn step(&mut self) {
        self.now_ms += self.chance.below(3);
        let at = self.any();
        match self.chance.below(12) {
            0..=3 => {
                let id = self.id();
                let draft = self.write(id, at);
                self.told.push(format!("{} taken at {at}, twice in one call", draft.id));
                self.handed.push(draft.clone());
                self.take(at, vec![draft.clone(), draft]);
            }
            4 | 5 if !self.handed.is_empty() => {
                let nth = self.chance.below(self.handed.len() as u64) as usize;
                let mut draft = self.handed[nth].clone();
                if self.chance.below(2) == 0 {
                    draft = self.write(draft.id, at);
                }
                self.told.push(format!("{} again at {at}", draft.id));
                self.take(at, vec![draft]);
            }
            6 => self.revoke(),
            7 => self.let_in(),
            _ => {
                let to = self.any();
                if to != at {
                    let max_bytes = if self.chance.below(2) == 0 { 300 } else { usize::MAX };
                    self.told.push(format!("{at} hands to {to}"));
                    self.sync(at, to, max_bytes);
                }
            }
        }
    }

    /// A keeper (device 1 or 2) revokes one of devices 2 to 4 as it knows it.
    fn revoke(&mut self) {
        let keeper = self.chance.below(2) as usize;
        let target = device(2 + self.chance.below(3) as u8);
        if self.stores[keeper].device() == target {
            return;
        }
        let unknown = (0, first_prev(NotebookId::founded_by(device(1)), target));
        let known = self.stores[keeper].vector().unwrap().get(target);
        let (count, hash) = known.map_or(unknown, |entry| (entry.count, entry.hash));
        self.told.push(format!("{keeper} revokes {target} at {count}"));
        let writes = membership::revoke(target, Revocation { count, hash }, Vec::new(), "lost".to_owned());
        let draft = self.draft(writes);
        self.take(keeper, vec![draft]);
    }

    fn let_in(&mut self) {
        let keeper = self.chance.below(2) as usize;
        let target = device(2 + self.chance.below(3) as u8);
        let history = self.stores[keeper].reader().unwrap().history(target.membership_record()).unwrap();
        let heads = history.iter().filter(|item| item.field == membership::REVOKED && item.is_head);
        let mut seen: Vec<WriteId> = heads.map(|item| item.id).collect();
        seen.sort_unstable();
        self.told.push(format!("{keeper} lets in {target} over {} heads", seen.len()));
        let draft = self.draft(membership::let_in(target, seen, "found".to_owned()));
        self.take(keeper, vec![draft]);
    }

    fn check(&mut self, seed: u64) {
        for store in &mut self.stores {
            let faults = store.verify().unwrap().faults;
            assert!(
                faults.is_empty(),
                "SEED={seed} {}: {faults:?}\n{}",
                store.device(),
                self.told.join("\n")
            );
        }
        self.follow(seed);
    }

    fn follow(&mut self, seed: u64) {
        for (store, (reader, at, book)) in self.stores.iter().zip(&mut self.books) {
            if reader.position().unwrap() == *at {
                continue;
            }
            let (now, whole) = reader.book_and_position().unwrap();
            match reader.rows_after(at, 1_000).unwrap() {
                None => *book = whole.clone(),
                Some(changed) => {
                    self.followed += 1;
                    assert_eq!(changed.position, now);
                    for (kind, id, row) in changed.rows {
                        match row {
                            Some(row) => book.insert(row),
                            None => book.remove(kind.name, id),
                        }
                    }
                }
            }
            *at = now;
            assert_eq!(*book, whole, "SEED={seed} {}\n{}", store.device(), self.told.join("\n"));
        }
    }
}

#[test]
fn tables_follow_the_set_of_changes_whatever_the_order() {
    let chosen: Option<u64> = std::env::var("SEED").ok().and_then(|seed| seed.parse().ok());
    for seed in chosen.map_or(0..25, |seed| seed..seed + 1) {
        let folder = tempfile::tempdir().unwrap();
        let mut world = World::new(folder.path(), seed);
        for _ in 0..50 {
            world.step();
            world.check(seed);
        }
        assert!(world.followed > 5, "SEED={seed}: only {} times a book followed", world.followed);
        for _ in 0..3 {
            for from in 0..usize::from(DEVICES) {
                (0..usize::from(DEVICES))
                    .filter(|to| *to != from)
                    .for_each(|to| world.sync(from, to, usize::MAX));
            }
        }
        let digests: Vec<_> =
            world.stores.iter().map(|store| store.reader().unwrap().digest().unwrap()).collect();
        assert!(digests.iter().all(|digest| *digest == digests[0]), "SEED={seed}\n{}", world.told.join("\n"));
    }
}
