//! The walk over the changes of a batch, the same for writing and reading.
//!
//! What can be told from what came before is not sent: number and predecessor of a change, its kinds and
//! fields where the draft has the shape of an earlier one, what a write has seen where that is the last write
//! on its register.

use storypole_journal::{
    Change, ChangeHash, DeviceId, Draft, DraftId, Entry, RecordId, SeriesSignature, Stamp, Write, WriteId,
    WrittenAt,
};

use super::coder::Chance;
use super::ids::{Fresh, IdColumn, Ids, Neighbour};
use super::lane::Lane;
use super::model::{Near, Number, Numbers, unzigzag, zigzag};
use super::seen::Seen;
use super::shapes::{Columns, Shapes};
use super::texts::{Names, Texts};
use super::value::{Around, NewForms};
use super::{BatchError, Known};

/// All that the changes so far have taught.
pub(super) struct Walk {
    devices: Vec<Device>,
    device_codes: Numbers,
    last_device: usize,
    fresh_device: Fresh,
    seqs: Number,
    stamps: Stamps,
    is_whole: Chance,
    wholes: Texts,
    ids: Ids,
    offsets: Number,
    fresh_draft: Fresh,
    names: Names,
    shapes: Shapes,
    columns: Columns,
    new_forms: NewForms,
    reasons: Texts,
    seen: Seen,
    signed: Number,
}

/// One series within a batch.
struct Device {
    id: DeviceId,
    /// How much of it both ends know before the batch, or before the last change that did not follow.
    start: Entry,
    /// The hashes of the changes since.
    hashes: Vec<ChangeHash>,
    follows: Chance,
    authors: IdColumn,
    written: Near,
    offset_min: i16,
}

impl Device {
    const BYTES: usize = IdColumn::BYTES + Near::BYTES + 128;

    fn new(id: DeviceId, start: Entry) -> Self {
        Self {
            id,
            start,
            hashes: Vec::new(),
            follows: Chance::of(65_000),
            authors: IdColumn::new(),
            written: Near::default(),
            offset_min: 0,
        }
    }

    fn end(&self) -> Entry {
        let count = self.start.count.saturating_add(self.hashes.len() as u64);
        Entry { count, hash: self.hashes.last().copied().unwrap_or(self.start.hash) }
    }

    /// The hash after `count` changes, if both ends know it.
    fn hash_at(&self, count: u64) -> Option<ChangeHash> {
        match usize::try_from(count.checked_sub(self.start.count)?).ok()? {
            0 => Some(self.start.hash),
            at => self.hashes.get(at - 1).copied(),
        }
    }
}

impl Walk {
    pub(super) fn new(known: &Known) -> Self {
        Self {
            devices: known.vector().iter().map(|(id, entry)| Device::new(id, entry)).collect(),
            device_codes: Numbers::default(),
            last_device: 0,
            fresh_device: Fresh::new(),
            seqs: Number::default(),
            stamps: Stamps::default(),
            is_whole: Chance::of(64),
            wholes: Texts::new(),
            ids: Ids::default(),
            offsets: Number::default(),
            fresh_draft: Fresh::new(),
            names: Names::new(),
            shapes: Shapes::default(),
            columns: Columns::default(),
            new_forms: NewForms::default(),
            reasons: Texts::new(),
            seen: Seen::new(),
            signed: Number::default(),
        }
    }

    /// Passes whether the next change travels whole.
    pub(super) fn is_whole(&mut self, lane: &mut impl Lane, given: Option<bool>) -> Result<bool, BatchError> {
        lane.bit(&mut self.is_whole, given)
    }

    /// Passes the bytes of such a change.
    pub(super) fn whole(
        &mut self,
        lane: &mut impl Lane,
        known: &Known,
        given: Option<&[u8]>,
    ) -> Result<Vec<u8>, BatchError> {
        lane.spend(64)?;
        let bytes = self.wholes.pass(lane, given)?.to_vec();
        if let Ok(change) = Change::decode(&bytes) {
            // It can be read, but not be sent otherwise: the next one of its series follows it.
            let place = self.devices.iter().position(|device| device.id == change.device);
            let place = match place {
                Some(place) => place,
                None => self.open(lane, known, change.device)?,
            };
            let device = &mut self.devices[place];
            device.start = Entry { count: change.seq.saturating_add(1), hash: ChangeHash::of(&bytes) };
            device.hashes.clear();
            self.stamps.last = change.stamp;
        }
        Ok(bytes)
    }

    /// Passes a change. [`Walk::note`] must follow.
    pub(super) fn change(
        &mut self,
        lane: &mut impl Lane,
        known: &Known,
        given: Option<&Change>,
    ) -> Result<Change, BatchError> {
        lane.spend(160)?;
        let at = self.device(lane, known, given.map(|change| change.device))?;
        let device = &mut self.devices[at];
        let end = device.end();
        let mut entry = end;
        let follows = given.map(|change| change.seq == end.count && change.prev == end.hash);
        if !lane.bit(&mut device.follows, follows)? {
            let seq = given.map(|change| zigzag(change.seq.wrapping_sub(end.count) as i64));
            let seq = end.count.wrapping_add(unzigzag(self.seqs.pass(lane, seq)?) as u64);
            let hash = ChangeHash(lane.noise(given.map(|change| change.prev.0))?);
            entry = Entry { count: seq, hash };
            device.start = entry;
            device.hashes.clear();
        }
        let stamp = self.stamps.pass(lane, given.map(|change| change.stamp))?;
        let draft = self.draft(lane, at, stamp, given.map(|change| &change.draft))?;
        Ok(Change { device: self.devices[at].id, seq: entry.count, stamp, prev: entry.hash, draft })
    }

    /// Takes note of the hash of the change just passed.
    pub(super) fn note(&mut self, hash: ChangeHash) {
        self.devices[self.last_device].hashes.push(hash);
    }

    /// Returns how much of the series in this batch both ends know after it.
    pub(super) fn ends(&self) -> impl Iterator<Item = (DeviceId, Entry)> {
        self.devices.iter().map(|device| (device.id, device.end()))
    }

    /// Passes a signature.
    pub(super) fn signature(
        &mut self,
        lane: &mut impl Lane,
        known: &Known,
        given: Option<&SeriesSignature>,
    ) -> Result<SeriesSignature, BatchError> {
        lane.spend(160)?;
        let at = self.device(lane, known, given.map(|signature| signature.device))?;
        let device = &mut self.devices[at];
        let end = device.end().count;
        let count = given.map(|signature| zigzag(end.wrapping_sub(signature.count) as i64));
        let count = end.wrapping_sub(unzigzag(self.signed.pass(lane, count)?) as u64);
        // Of a series that both ends know to this point, the hash is known.
        let known = device.hash_at(count);
        let is_known = match known {
            Some(known) => lane.bit(&mut device.follows, given.map(|signature| signature.hash == known))?,
            None => false,
        };
        let hash = match known {
            Some(known) if is_known => known,
            _ => ChangeHash(lane.noise(given.map(|signature| signature.hash.0))?),
        };
        let bytes = lane.noise(given.map(|signature| signature.bytes))?;
        Ok(SeriesSignature { device: device.id, count, hash, bytes })
    }

    /// Passes a device and returns its place.
    fn device(
        &mut self,
        lane: &mut impl Lane,
        known: &Known,
        given: Option<DeviceId>,
    ) -> Result<usize, BatchError> {
        // 0 and up: a device met before; the number of devices: a new one.
        let place = given.map(|given| {
            let place = self.devices.iter().position(|device| device.id == given);
            place.unwrap_or(self.devices.len()) as u64
        });
        let place = self.device_codes.pass(lane, self.last_device, place)?;
        self.last_device = usize::try_from(place).unwrap_or(usize::MAX);
        if self.last_device > self.devices.len() {
            return Err(BatchError::Illegal { what: "the place of a device" });
        }
        if self.last_device == self.devices.len() {
            let mut neighbour = Neighbour::at(self.stamps.unix_ms());
            let id = self.fresh_device.pass(lane, &mut neighbour, given.map(|given| *given.as_bytes()))?;
            self.open(lane, known, DeviceId::from_bytes(id))?;
        }
        Ok(self.last_device)
    }

    /// Adds a device and returns its place.
    fn open(&mut self, lane: &mut impl Lane, known: &Known, id: DeviceId) -> Result<usize, BatchError> {
        lane.spend(Device::BYTES)?;
        self.devices.push(Device::new(id, known.entry(id)));
        Ok(self.devices.len() - 1)
    }

    fn draft(
        &mut self,
        lane: &mut impl Lane,
        device: usize,
        stamp: Stamp,
        given: Option<&Draft>,
    ) -> Result<Draft, BatchError> {
        let device = &mut self.devices[device];
        let written = given.map(|draft| draft.written_at);
        let unix_ms = device.written.pass(lane, stamp.unix_ms() as i64, written.map(|at| at.unix_ms))?;
        let offset = written.map(|at| zigzag(i64::from(at.offset_min) - i64::from(device.offset_min)));
        let offset = i64::from(device.offset_min).wrapping_add(unzigzag(self.offsets.pass(lane, offset)?));
        device.offset_min = i16::try_from(offset).map_err(|_| BatchError::Illegal { what: "an offset" })?;
        let written_at = WrittenAt { unix_ms, offset_min: device.offset_min };
        let mut neighbour = Neighbour::at(unix_ms);
        let id = self.fresh_draft.pass(lane, &mut neighbour, given.map(|draft| *draft.id.as_bytes()))?;
        let author = given.map(|draft| *draft.author.as_bytes());
        // The author was there long before, and nothing is made next after them.
        let (author, _) = device.authors.pass(lane, &mut self.ids, &mut neighbour.clone(), author)?;
        let id = DraftId::from_bytes(id);
        let author = RecordId::from_bytes(author);
        let writes =
            self.writes(lane, id, &mut neighbour, written_at, given.map(|draft| &draft.writes[..]))?;
        self.seen.add(id);
        Ok(Draft { id, author, written_at, writes })
    }

    fn writes(
        &mut self,
        lane: &mut impl Lane,
        draft: DraftId,
        neighbour: &mut Neighbour,
        written_at: WrittenAt,
        given: Option<&[Write]>,
    ) -> Result<Vec<Write>, BatchError> {
        let mut groups = given.map(|writes| writes.chunk_by(|a, b| a.record == b.record && a.kind == b.kind));
        let mut writes = Vec::new();
        self.shapes.begin();
        loop {
            let group = groups.as_mut().map(|groups| groups.next());
            let Some(shape) = self.shapes.pass(lane, &mut self.names, &mut self.columns, group)? else {
                return Ok(writes);
            };
            let group = group.flatten();
            let shape = self.shapes.at(shape);
            if writes.len() + shape.fields.len() > Draft::MAX_WRITES {
                return Err(BatchError::Illegal { what: "the number of writes" });
            }
            let records = &mut self.columns.records[shape.records];
            let record = group.map(|group| *group[0].record.as_bytes());
            let (record, place) = records.pass(lane, &mut self.ids, neighbour, record)?;
            for (at, field) in shape.fields.iter().enumerate() {
                lane.spend(128)?;
                let given = group.map(|group| &group[at]);
                let register = (place, field.name);
                let seen = self.seen.pass(lane, register, given.map(|write| &write.seen[..]), written_at)?;
                let (ids, new_forms) = (&mut self.ids, &mut self.new_forms);
                let mut around = Around { ids, neighbour: *neighbour, written_at, new_forms };
                let column = &mut self.columns.values[field.column];
                let value = column.pass(lane, &mut around, given.map(|write| &write.value))?;
                let reason = match field.has_reason {
                    true => {
                        let given = given.and_then(|write| write.reason.as_deref());
                        Some(pass_reason(lane, &mut self.reasons, given)?)
                    }
                    false => None,
                };
                self.seen.note(register, WriteId { draft, index: writes.len() as u32 });
                writes.push(Write {
                    record: RecordId::from_bytes(record),
                    kind: self.names.at(shape.kind).clone(),
                    field: self.names.at(field.name).clone(),
                    value,
                    seen,
                    reason,
                });
            }
        }
    }
}

fn pass_reason(lane: &mut impl Lane, reasons: &mut Texts, given: Option<&str>) -> Result<String, BatchError> {
    let text = reasons.pass(lane, given.map(str::as_bytes))?;
    lane.spend(text.len())?;
    let text = std::str::from_utf8(&text);
    Ok(text.map_err(|_| BatchError::Illegal { what: "a reason" })?.to_owned())
}

/// Stamps, each after the one before.
#[derive(Default)]
struct Stamps {
    last: Stamp,
    steps: Number,
    counters: Number,
}

impl Stamps {
    fn unix_ms(&self) -> i64 {
        self.last.unix_ms() as i64
    }

    fn pass(&mut self, lane: &mut impl Lane, given: Option<Stamp>) -> Result<Stamp, BatchError> {
        let last = self.last;
        let step = self.steps.pass(lane, given.map(|stamp| stamp.unix_ms().wrapping_sub(last.unix_ms())))?;
        let expected = if step == 0 { last.counter().wrapping_add(1) } else { 0 };
        let counter = given.map(|stamp| u64::from(stamp.counter().wrapping_sub(expected)));
        let counter = self.counters.pass(lane, counter)?;
        let unix_ms = last.unix_ms().checked_add(step).filter(|ms| *ms <= Stamp::MAX.unix_ms());
        let unix_ms = unix_ms.ok_or(BatchError::Illegal { what: "a stamp" })?;
        self.last = Stamp::from_parts(unix_ms, expected.wrapping_add(counter as u16));
        Ok(self.last)
    }
}
