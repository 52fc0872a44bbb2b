//! A small simulated crew: a seeded stream of changes as its devices might write them.

#![allow(dead_code, clippy::unwrap_used)] // Each user needs a part; the lint spares test functions only.

use storypole_journal::cbor::Writer;
use storypole_journal::{
    Change, Clock, DeviceId, DeviceKey, Draft, DraftId, Name, NotebookId, Payload, RecordId, Role,
    SeriesHead, SeriesSignature, Write, WriteId, WrittenAt, membership,
};
use storypole_sync::Parcel;

/// 2025-03-03T12:00Z.
const START_MS: u64 = 1_741_003_200_000;

/// Words of the trade, the common ones first.
const WORDS: &[&str] = &[
    "the",
    "and",
    "of",
    "to",
    "in",
    "a",
    "on",
    "wall",
    "with",
    "board",
    "side",
    "for",
    "is",
    "from",
    "at",
    "joints",
    "second",
    "studs",
    "bays",
    "cut",
    "left",
    "right",
    "sealed",
    "room",
    "door",
    "floor",
    "ceiling",
    "office",
    "after",
    "before",
    "not",
    "screws",
    "taped",
    "batts",
    "filled",
    "opened",
    "closed",
    "office",
    "frame",
    "track",
    "layer",
    "pieces",
    "dust",
    "hall",
    "paint",
    "old",
    "new",
    "two",
    "three",
    "beads",
    "perimeter",
    "boxes",
    "wiring",
    "moved",
    "measured",
    "again",
    "meter",
    "quiet",
    "noise",
    "street",
    "rain",
    "delivery",
    "late",
    "short",
    "sheets",
    "returned",
    "plaster",
    "lath",
    "nails",
    "removed",
    "insulation",
    "channel",
    "clips",
    "spacing",
    "checked",
    "lamp",
    "gap",
    "under",
    "threshold",
    "sweep",
    "hinge",
    "primer",
    "coat",
    "sanded",
    "dry",
    "overnight",
    "client",
    "asked",
    "agreed",
    "change",
    "order",
    "inspector",
    "passed",
    "notes",
    "photo",
    "taken",
    "cover",
    "outlet",
    "putty",
    "pads",
    "backer",
    "mineral",
    "wool",
    "glass",
    "fibre",
    "blocking",
    "header",
    "sill",
    "plate",
    "anchor",
    "bolt",
    "shim",
    "level",
    "plumb",
    "crown",
    "bowed",
    "replaced",
    "twisted",
    "stacked",
    "garage",
    "protected",
    "sheeting",
    "vacuum",
    "filter",
    "mask",
    "lead",
    "test",
    "kit",
    "negative",
    "waste",
    "bags",
    "skip",
    "full",
    "collected",
    "parking",
    "stairs",
    "carried",
    "helper",
    "absent",
    "sick",
    "hours",
    "overtime",
    "tool",
    "broken",
    "borrowed",
    "ladder",
    "scaffold",
    "tomorrow",
    "finish",
    "corner",
    "bead",
    "mud",
    "texture",
    "match",
    "colour",
];
const ITEMS: &[&str] = &[
    "board 5/8 4x8",
    "board 1/2 4x8",
    "stud 2x4 8 ft",
    "stud 3-5/8 steel",
    "track 3-5/8",
    "mineral wool 3 in",
    "glass fibre 3-1/2 in",
    "screws 1-1/4 coarse",
    "screws 1-5/8 fine",
    "acoustic sealant 29 oz",
    "tape paper",
    "joint compound",
    "putty pad",
    "resilient channel 12 ft",
    "door sweep",
    "backer rod",
    "primer 1 gal",
    "plastic sheeting",
    "dust bags",
    "corner bead 8 ft",
];
const REASONS: &[&str] = &["misread the meter", "wrong room", "typing error", "hours of the day before"];

/// Seeded chance (xorshift64*, Marsaglia 2003 and Vigna 2016). Not for secrets.
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    pub fn below(&mut self, limit: u64) -> u64 {
        (self.bits() >> 16) % limit
    }

    /// Smaller ones are likelier: the lesser of two, twice.
    fn skewed(&mut self, limit: u64) -> u64 {
        let mut least = || (0..3).map(|_| self.below(limit)).min().unwrap();
        least()
    }

    fn pick<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.skewed(list.len() as u64) as usize]
    }

    fn random(&mut self) -> [u8; 10] {
        let mut random = [0; 10];
        random.iter_mut().for_each(|byte| *byte = (self.bits() >> 32) as u8);
        random
    }

    fn sentence(&mut self) -> String {
        let words: Vec<&str> = (0..5 + self.below(14)).map(|_| *self.pick(WORDS)).collect();
        words.join(" ")
    }
}

/// Values in the encoding that the notebook uses.
pub mod values {
    use super::{Payload, RecordId, Writer};

    fn tagged(tag: u64, rest: impl FnOnce(&mut Writer)) -> Payload {
        let mut head = Writer::default();
        head.uint(tag);
        let mut head = head.into_bytes();
        head[0] |= 0xC0;
        let mut writer = Writer::default();
        writer.raw(&head);
        rest(&mut writer);
        Payload::new(writer.into_bytes()).unwrap()
    }

    fn push_decimal(writer: &mut Writer, mantissa: i64, places: i64) {
        writer.raw(&[0xC4]).array(2).int(-places).int(mantissa);
    }

    pub fn decimal(mantissa: i64, places: i64) -> Payload {
        tagged(4, |writer| {
            writer.array(2).int(-places).int(mantissa);
        })
    }

    pub fn money(cents: i64) -> Payload {
        tagged(60_201, |writer| {
            writer.array(2);
            push_decimal(writer, cents, 2);
            writer.text("USD");
        })
    }

    pub fn quantity(tenths: i64, unit: &str) -> Payload {
        tagged(60_202, |writer| {
            writer.array(2);
            push_decimal(writer, tenths, 1);
            writer.text(unit);
        })
    }

    pub fn length(nm: i64) -> Payload {
        tagged(60_203, |writer| _ = writer.int(nm))
    }

    pub fn date(text: &str) -> Payload {
        tagged(1004, |writer| _ = writer.text(text))
    }

    pub fn moment(unix_ms: i64, offset_min: i64) -> Payload {
        tagged(60_204, |writer| _ = writer.array(2).int(unix_ms).int(offset_min))
    }

    pub fn record(id: RecordId) -> Payload {
        tagged(37, |writer| _ = writer.bytes(id.as_bytes()))
    }

    pub fn flag(value: bool) -> Payload {
        Payload::new(vec![0xF4 + u8::from(value)]).unwrap()
    }
}

/// A test under way: who measures what where.
struct Round {
    set: RecordId,
    positions: Vec<RecordId>,
    next: usize,
    level_tenths: i64,
}

/// A crew at work.
pub struct World {
    pub notebook: NotebookId,
    draws: Draws,
    now_ms: u64,
    clock: Clock,
    devices: Vec<(DeviceId, DeviceKey, SeriesHead)>,
    persons: Vec<RecordId>,
    sites: Vec<RecordId>,
    jobs: Vec<RecordId>,
    rooms: Vec<RecordId>,
    materials: Vec<RecordId>,
    suppliers: Vec<RecordId>,
    round: Round,
    tasks: Vec<(RecordId, WriteId)>,
    readings: Vec<(RecordId, WriteId)>,
    /// Time of the last record id.
    id_ms: u64,
}

impl World {
    pub fn new(seed: u64, devices: u64) -> Self {
        let mut draws = Draws::new(seed);
        let ids: Vec<DeviceId> =
            (0..devices).map(|at| DeviceId::from_parts(START_MS + at * 86_400_000, draws.random())).collect();
        let notebook = NotebookId::founded_by(ids[0]);
        let series = |(at, id): (usize, &DeviceId)| {
            (*id, DeviceKey::from_bytes(&[at as u8 + 1; 32]), SeriesHead::empty(notebook, *id))
        };
        let devices = ids.iter().enumerate().map(series).collect();
        let mut records = |count: u64| -> Vec<RecordId> {
            (0..count).map(|at| RecordId::from_parts(START_MS - 1_000 + at, draws.random())).collect()
        };
        let (persons, sites, jobs) = (records(8), records(12), records(30));
        let (rooms, materials, suppliers, mut set) = (records(60), records(80), records(9), records(5));
        let round = Round { set: set.pop().unwrap(), positions: set, next: 0, level_tenths: 620 };
        Self {
            notebook,
            draws,
            now_ms: START_MS,
            clock: Clock::default(),
            devices,
            persons,
            sites,
            jobs,
            rooms,
            materials,
            suppliers,
            round,
            tasks: Vec::new(),
            readings: Vec::new(),
            id_ms: START_MS,
        }
    }

    /// Writes this many changes, in stamp order, with the last signature of every device.
    pub fn parcel(&mut self, count: usize) -> Parcel {
        let changes: Vec<Vec<u8>> = (0..count).map(|_| self.change().encode()).collect();
        Parcel { changes, signatures: self.signatures() }
    }

    pub fn signatures(&self) -> Vec<SeriesSignature> {
        let signed = self.devices.iter().filter(|(_, _, head)| head.count > 0);
        signed.map(|(id, key, head)| key.sign(self.notebook, *id, head.count, head.hash)).collect()
    }

    /// The next change of any device.
    pub fn change(&mut self) -> Change {
        // Work comes in bursts: seconds apart while measuring, minutes or hours at other times.
        self.now_ms += match self.draws.below(20) {
            0 => 3_600_000 + self.draws.below(20_000_000),
            1..6 => 30_000 + self.draws.below(900_000),
            _ => 2_000 + self.draws.below(30_000),
        };
        let at = self.draws.skewed(self.devices.len() as u64) as usize;
        let is_first = self.devices[at].2.count == 0;
        let mut draft = self.draft(at);
        if is_first {
            let (id, key, _) = &self.devices[at];
            let role = if at == 0 { Role::Keeper } else { Role::Crew };
            draft.writes.extend(membership::invite(*id, key.public(), role, self.devices[0].0));
        }
        let stamp = self.clock.tick(self.now_ms + self.draws.below(40));
        let (device, _, head) = &mut self.devices[at];
        let change = Change { device: *device, seq: head.count, stamp, prev: head.hash, draft };
        *head = head.extend(&change, change.hash()).unwrap();
        change
    }

    /// A draft that nobody has taken in yet.
    pub fn draft(&mut self, device: usize) -> Draft {
        // One device in three takes in what a phone wrote, perhaps out of reach, a while ago.
        let delay_ms = match device % 3 {
            1 if self.draws.below(4) == 0 => self.draws.below(7_200_000),
            1 => 200 + self.draws.below(900),
            _ => 0,
        };
        let unix_ms = self.now_ms - delay_ms;
        self.id_ms = unix_ms;
        let id = DraftId::from_parts(unix_ms, self.draws.random());
        let author = self.persons[(device + self.draws.skewed(3) as usize) % self.persons.len()];
        let written_at = WrittenAt { unix_ms: unix_ms as i64 + self.draws.below(3) as i64, offset_min: -300 };
        let mut writes = Vec::new();
        match self.draws.below(100) {
            0..48 => self.reading(id, &mut writes),
            48..68 => self.entry(&mut writes),
            68..74 => self.receipt(&mut writes),
            74..86 => self.task(id, &mut writes),
            86..95 => self.hours(&mut writes),
            95..98 => self.correction(&mut writes),
            _ => self.begin_round(&mut writes),
        }
        Draft { id, author, written_at, writes }
    }

    fn record(&mut self) -> RecordId {
        self.id_ms += self.draws.below(2);
        RecordId::from_parts(self.id_ms, self.draws.random())
    }

    fn day(&self) -> Payload {
        let day = (self.now_ms - START_MS) / 86_400_000;
        values::date(&format!("2025-{:02}-{:02}", 3 + day / 28 % 10, 1 + day % 28))
    }

    fn begin_round(&mut self, writes: &mut Vec<Write>) {
        let (set, test) = (self.record(), self.jobs[self.draws.skewed(30) as usize]);
        let stage = *self.draws.pick(&["before", "after", "open", "filled", "boarded"]);
        set_all(
            writes,
            set,
            "set",
            vec![
                ("label", Payload::text(&format!("S{}", self.draws.below(1_000)))),
                ("test", values::record(test)),
                ("stage", Payload::text(stage)),
                ("from_room", values::record(self.rooms[self.draws.skewed(60) as usize])),
                ("to_room", values::record(self.rooms[self.draws.skewed(60) as usize])),
                ("date", self.day()),
                ("started_at", values::moment(self.now_ms as i64, -300)),
            ],
        );
        let mut positions = Vec::new();
        for _ in 0..4 {
            let position = self.record();
            positions.push(position);
            let mut length = || values::length(1_587_500 * (100 + self.draws.below(1_500)) as i64);
            let fields = vec![("test", values::record(test)), ("x", length()), ("y", length())];
            set_all(writes, position, "position", fields);
        }
        self.round = Round { set, positions, next: 0, level_tenths: 350 + self.draws.below(500) as i64 };
    }

    fn reading(&mut self, draft: DraftId, writes: &mut Vec<Write>) {
        let id = self.record();
        let tenths = self.round.level_tenths + self.draws.below(50) as i64 - 25;
        let position = self.round.positions[self.round.next / 3 % 4];
        let replicate = self.round.next % 3 + 1;
        self.round.next += 1;
        let index = writes.len() as u32;
        set_all(
            writes,
            id,
            "reading",
            vec![
                ("value", values::quantity(tenths, "dBA")),
                ("set", values::record(self.round.set)),
                ("position", values::record(position)),
                (
                    "role",
                    Payload::text(if position.as_bytes()[15].is_multiple_of(2) {
                        "source"
                    } else {
                        "receive"
                    }),
                ),
                ("subject", Payload::text("level")),
                ("response", Payload::text("leq")),
                ("duration_s", values::decimal(30, 0)),
                ("replicate", Payload::int(replicate as i64)),
            ],
        );
        self.readings.push((id, WriteId { draft, index }));
    }

    fn entry(&mut self, writes: &mut Vec<Write>) {
        let id = self.record();
        let kind = *self.draws.pick(&["work", "delivery", "note", "delay", "decision", "inspection", "snag"]);
        let text = self.draws.sentence();
        let mut fields = vec![
            ("site", values::record(self.sites[self.draws.skewed(12) as usize])),
            ("job", values::record(self.jobs[self.draws.skewed(30) as usize])),
            ("date", self.day()),
            ("entry_kind", Payload::text(kind)),
            ("text", Payload::text(&text)),
        ];
        if kind == "delay" {
            fields.push(("hours_lost", values::decimal(5 * self.draws.below(12) as i64, 1)));
        }
        set_all(writes, id, "entry", fields);
    }

    fn receipt(&mut self, writes: &mut Vec<Write>) {
        let receipt = self.record();
        let label = format!("P{}", self.draws.below(10_000));
        let cents = self.draws.below(90_000) as i64;
        set_all(
            writes,
            receipt,
            "receipt",
            vec![
                ("label", Payload::text(&label)),
                ("supplier", values::record(self.suppliers[self.draws.skewed(9) as usize])),
                ("date", self.day()),
                ("job", values::record(self.jobs[self.draws.skewed(30) as usize])),
                ("tax_rate", values::decimal(650, 2)),
                ("printed_tax", values::money(cents * 65 / 1_000)),
                ("printed_total", values::money(cents + cents * 65 / 1_000)),
            ],
        );
        for place in 0..2 + self.draws.below(6) {
            let line = self.record();
            let item = self.draws.skewed(ITEMS.len() as u64) as usize;
            set_all(
                writes,
                line,
                "line",
                vec![
                    ("receipt", values::record(receipt)),
                    ("place", Payload::int(place as i64 + 1)),
                    ("material", values::record(self.materials[4 * item])),
                    ("item", Payload::text(ITEMS[item])),
                    ("quantity", values::decimal(1 + self.draws.skewed(40) as i64, 0)),
                    ("unit", Payload::text(if item < 2 { "sheet" } else { "each" })),
                    ("unit_price", values::money(199 + 50 * self.draws.skewed(100) as i64)),
                    ("taxed", values::flag(item != 4)),
                ],
            );
        }
    }

    fn task(&mut self, draft: DraftId, writes: &mut Vec<Write>) {
        let state = *self.draws.pick(&["doing", "done", "checked", "blocked", "to-do"]);
        let state = Payload::text(state);
        if !self.tasks.is_empty() && self.draws.below(3) > 0 {
            let recent = self.tasks.len() - 1 - self.draws.skewed(self.tasks.len().min(20) as u64) as usize;
            let (record, seen) = &mut self.tasks[recent];
            writes.push(Write { seen: vec![*seen], ..write(*record, "task", "state", state) });
            *seen = WriteId { draft, index: 0 };
            return;
        }
        let task = self.record();
        let title: String = self.draws.sentence().chars().take(50).collect();
        let job = self.jobs[self.draws.skewed(30) as usize];
        let fields =
            vec![("state", state), ("job", values::record(job)), ("title", Payload::text(title.trim()))];
        set_all(writes, task, "task", fields);
        self.tasks.push((task, WriteId { draft, index: 0 }));
    }

    fn hours(&mut self, writes: &mut Vec<Write>) {
        let id = self.record();
        let fields = vec![
            ("person", values::record(self.persons[self.draws.skewed(8) as usize])),
            ("job", values::record(self.jobs[self.draws.skewed(30) as usize])),
            ("date", self.day()),
            ("hours", values::decimal(25 * (2 + self.draws.skewed(40)) as i64, 2)),
        ];
        set_all(writes, id, "hours", fields);
    }

    fn correction(&mut self, writes: &mut Vec<Write>) {
        let Some((record, seen)) = self.readings.pop() else { return self.hours(writes) };
        let value = values::quantity(self.round.level_tenths + self.draws.below(50) as i64, "dBA");
        let reason = (*self.draws.pick(REASONS)).to_owned();
        let write = write(record, "reading", "value", value);
        writes.push(Write { seen: vec![seen], reason: Some(reason), ..write });
    }
}

fn set_all(writes: &mut Vec<Write>, record: RecordId, kind: &str, fields: Vec<(&str, Payload)>) {
    writes.extend(fields.into_iter().map(|(field, value)| write(record, kind, field, value)));
}

pub fn write(record: RecordId, kind: &str, field: &str, value: Payload) -> Write {
    let (kind, field) = (Name::new(kind).unwrap(), Name::new(field).unwrap());
    Write { record, kind, field, value, seen: Vec::new(), reason: None }
}
