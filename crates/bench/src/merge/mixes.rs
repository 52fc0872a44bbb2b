//! Which registers two devices write while they do not know of each other.

use storypole_journal::{Draft, DraftId, RecordId, WriteId, WrittenAt};
use storypole_notebook::Value;
use storypole_notebook::compose::Composer;
use storypole_store::Store;
use storypole_testkit::Chance;

use crate::sync::write;

/// All is written to tasks.
pub const KIND: &str = "task";
/// Fields that take any text.
const FIELDS: [&str; 4] = ["title", "label", "blocked_by", "state"];
const STATES: &[&str] = &["to-do", "doing", "blocked", "done", "checked"];
/// Writes between two commits of a device.
const GROUP: usize = 50;
const START_MS: u64 = 1_741_100_000_000;

/// One way to write.
pub struct Mix {
    pub name: &'static str,
    /// Plans this many writes of both devices together.
    pub begin: fn(usize) -> Writer,
}

/// The mixes.
pub const ALL: &[Mix] = &[
    Mix { name: "disjoint fields", begin: |count| Writer::new(count, disjoint) },
    Mix { name: "same fields", begin: |count| Writer::new(count, same) },
    Mix { name: "one hot record", begin: |count| Writer::new(count, hot) },
];

/// Which register the write of this number goes to, of this device (0 or 1): record and field.
type Plan = fn(number: usize, device: usize, records: usize) -> (usize, usize);

/// Each device has two fields of every record to itself.
fn disjoint(number: usize, device: usize, records: usize) -> (usize, usize) {
    (number % records, 2 * device + number / records % 2)
}

/// Both write the same two fields of every record.
fn same(number: usize, _: usize, records: usize) -> (usize, usize) {
    (number % records, 2 + number / records % 2)
}

/// A quarter of the writes of both go to one field of one record, 5,000 of 20,000; the rest as in [`disjoint`].
fn hot(number: usize, device: usize, records: usize) -> (usize, usize) {
    if number.is_multiple_of(4) { (0, 2) } else { disjoint(number, device, records) }
}

/// Both devices at work.
pub struct Writer {
    chance: Chance,
    plan: Plan,
    count: usize,
    now_ms: u64,
    records: Vec<RecordId>,
    /// What each device shows in every field: the write it sees.
    seen: [Vec<[WriteId; 4]>; 2],
}

impl Writer {
    fn new(count: usize, plan: Plan) -> Self {
        let mut chance = Chance::new(5);
        let records = (0..(count / 4).max(1)).map(|_| RecordId::from_parts(START_MS, chance.id())).collect();
        Self { chance, plan, count, now_ms: START_MS, records, seen: [Vec::new(), Vec::new()] }
    }

    /// Writes what both start from: every record with every field.
    pub fn base(&mut self, store: &mut Store) {
        let drafts: Vec<Draft> = (0..self.records.len()).map(|at| self.begin_record(at)).collect();
        write(store, &drafts);
        self.seen[1] = self.seen[0].clone();
    }

    fn begin_record(&mut self, at: usize) -> Draft {
        let mut compose = self.compose();
        let record = self.records[at];
        for field in FIELDS {
            compose.set(record, KIND, field, &self.value(field)).expect("a legal value");
        }
        let job = Value::Record(self.records[0]);
        compose.set(record, KIND, "job", &job).expect("a legal value");
        let draft = compose.finish();
        self.seen[0].push(std::array::from_fn(|index| WriteId { draft: draft.id, index: index as u32 }));
        draft
    }

    /// Both write, by turns, and hear nothing of each other.
    pub fn apart(&mut self, one: &mut Store, two: &mut Store) {
        for start in (0..self.count / 2).step_by(GROUP) {
            let numbers = start..(start + GROUP).min(self.count / 2);
            for (device, store) in [&mut *one, &mut *two].into_iter().enumerate() {
                let drafts: Vec<Draft> = numbers.clone().map(|number| self.change(number, device)).collect();
                write(store, &drafts);
            }
        }
    }

    fn change(&mut self, number: usize, device: usize) -> Draft {
        let (record, field) = (self.plan)(number, device, self.records.len());
        let value = self.value(FIELDS[field]);
        let mut compose = self.compose();
        let seen = &mut self.seen[device][record][field];
        compose
            .change(self.records[record], KIND, FIELDS[field], Some(&value), vec![*seen], None)
            .expect("a legal value");
        let draft = compose.finish();
        *seen = WriteId { draft: draft.id, index: 0 };
        draft
    }

    fn compose(&mut self) -> Composer {
        self.now_ms += 1_000;
        let unix_ms = i64::try_from(self.now_ms).expect("a time of our age");
        let id = DraftId::from_parts(self.now_ms, self.chance.id());
        Composer::new(id, self.records[0], WrittenAt { unix_ms, offset_min: -300 })
    }

    fn value(&mut self, field: &str) -> Value {
        Value::Text(match field {
            "state" => (*self.chance.pick(STATES)).to_owned(),
            "label" => format!("T{}", self.chance.below(100_000)),
            _ => format!("close the wall on side {}", self.chance.below(100_000)),
        })
    }
}
