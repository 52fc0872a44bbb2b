//! A whole replica in memory: takes drafts, receives changes, answers what another one lacks.
//!
//! For tests and simulations, and the plainest statement of what a stored log must do. Registers are
//! folded anew on every call; nothing is indexed.

use std::collections::BTreeMap;

use crate::change::{Change, ChangeHash, first_prev};
use crate::draft::{Draft, DraftError, Write, WriteId};
use crate::ids::{DeviceId, DraftId, NotebookId, RecordId};
use crate::membership::{self, Limit, MembershipWrite, Role, Standing, judge_signed};
use crate::name::Name;
use crate::payload::Payload;
use crate::register::{FieldState, Place, RecordState, merge_equal};
use crate::series::{SeriesError, SeriesHead};
use crate::sign::{DeviceKey, PublicKey, SeriesSignature};
use crate::stamp::Clock;
use crate::vector::{Entry, Vector};

/// The most changes that travel without a signature among them.
pub const SIGNATURE_EVERY: u64 = 1_000;

/// A draft was handed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// It is now the change `seq` of this device.
    New {
        /// Where it stands in this device's series.
        seq: u64,
    },
    /// It is in the log already, here or from another device: nothing was done.
    Held,
}

/// Why a draft was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TakeError {
    /// Mend the draft.
    #[error("the draft is unfit")]
    Draft {
        /// Which rule it breaks.
        #[from]
        source: DraftError,
    },
    /// Give the new content a new id.
    #[error("draft {draft} was handed in before with another content")]
    Reused {
        /// The id in question.
        draft: DraftId,
    },
    /// Sync first: it replaces something that has not arrived here.
    #[error("the draft has seen write {} of draft {}, which is not here yet", .write.index, .write.draft)]
    SeenUnknown {
        /// What is missing.
        write: WriteId,
    },
    /// The series cannot go on; see the clock.
    #[error("the series of this device cannot go on")]
    Series {
        /// Why not.
        #[from]
        source: SeriesError,
    },
}

/// What became of changes that arrived.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Received {
    /// How many are new.
    pub taken: usize,
    /// How many were held already.
    pub repeats: usize,
    /// How many belong to another branch of their series and were put aside.
    pub forked: usize,
    /// The series of which another branch came, whether or not it was aside already.
    pub forked_series: Vec<DeviceId>,
    /// Those that were not kept, and why; a gap is mended by asking again.
    pub refused: Vec<(DeviceId, SeriesError)>,
}

/// Changes that are kept and not projected, because membership does not reach to them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetAside {
    /// Whose series.
    pub device: DeviceId,
    /// The first change set aside.
    pub from: u64,
    /// The one after the last.
    pub to: u64,
    /// Why.
    pub limit: Limit,
}

/// A draft id that came with several contents; the one at the least place counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReusedDraft {
    /// The id.
    pub draft: DraftId,
    /// A change that carries a content which does not count.
    pub at: (DeviceId, u64),
}

/// What is projected: per register the distinct values of its heads, the shown one first.
pub type Registers = BTreeMap<(RecordId, Name), Vec<(Place, Payload)>>;

/// A replica in memory, with the key of the device it belongs to.
#[derive(Debug, Clone)]
pub struct MemoryLog {
    notebook: NotebookId,
    device: DeviceId,
    key: DeviceKey,
    clock: Clock,
    series: BTreeMap<DeviceId, Series>,
    carriers: BTreeMap<DraftId, Vec<(DeviceId, u64)>>,
    memberships: Vec<MembershipWrite>,
    forked: BTreeMap<ChangeHash, Change>,
    standing: Standing,
}

impl MemoryLog {
    /// Founds a notebook: `draft` becomes the first change, with the founder's own invitation before its
    /// writes.
    ///
    /// # Errors
    /// [`TakeError`] if the draft is unfit.
    pub fn found(device: DeviceId, key: DeviceKey, mut draft: Draft, now_ms: u64) -> Result<Self, TakeError> {
        let mut writes = membership::invite(device, key.public(), Role::Keeper, device);
        writes.append(&mut draft.writes);
        let mut log = Self::open(NotebookId::founded_by(device), device, key);
        log.take(Draft { writes, ..draft }, now_ms)?;
        Ok(log)
    }

    /// Opens an empty copy of a notebook, to be filled by [`MemoryLog::receive`].
    pub fn open(notebook: NotebookId, device: DeviceId, key: DeviceKey) -> Self {
        Self {
            notebook,
            device,
            key,
            clock: Clock::default(),
            series: BTreeMap::new(),
            carriers: BTreeMap::new(),
            memberships: Vec::new(),
            forked: BTreeMap::new(),
            standing: Standing::default(),
        }
    }

    /// Takes a draft into this device's series and signs it.
    ///
    /// # Errors
    /// [`TakeError`]; nothing is changed then.
    pub fn take(&mut self, draft: Draft, now_ms: u64) -> Result<Taken, TakeError> {
        draft.check()?;
        if let Some(carriers) = self.carriers.get(&draft.id) {
            let is_held = carriers.iter().any(|at| self.change(*at).draft == draft);
            return if is_held { Ok(Taken::Held) } else { Err(TakeError::Reused { draft: draft.id }) };
        }
        let seen = draft.writes.iter().flat_map(|write| &write.seen);
        if let Some(write) = seen.copied().find(|write| !self.holds(*write)) {
            return Err(TakeError::SeenUnknown { write });
        }
        let seq = self.append(draft, now_ms)?;
        self.sign();
        self.judge();
        Ok(Taken::New { seq })
    }

    /// Takes in what another replica sent, in the order in which it arrived.
    pub fn receive(
        &mut self,
        changes: impl IntoIterator<Item = Change>,
        signatures: impl IntoIterator<Item = SeriesSignature>,
    ) -> Received {
        let mut received = Received::default();
        for change in changes {
            self.receive_change(change, &mut received);
        }
        for signature in signatures {
            self.series_mut(signature.device).add_signature(signature);
        }
        self.judge();
        received
    }

    /// Returns what a replica at `vector` lacks: covered changes in stamp order, and signatures over them.
    ///
    /// A series of which the replica holds another branch comes from its beginning. The last signature of every
    /// series is always among them: a broken connection may have delivered the changes without it.
    pub fn since(&self, vector: &Vector) -> (Vec<Change>, Vec<SeriesSignature>) {
        let mut changes = Vec::new();
        let mut signatures = Vec::new();
        for (device, series) in &self.series {
            let covered = series.covered;
            let is_other_branch = |entry: &Entry| match self.hash_at(*device, entry.count) {
                Some(held) => held != entry.hash,
                None => self.forked.contains_key(&entry.hash),
            };
            let theirs = vector.get(*device).filter(|entry| !is_other_branch(entry));
            let from = theirs.map_or(0, |entry| entry.count).min(covered);
            changes.extend(series.changes[from as usize..covered as usize].iter().map(|held| &held.change));
            signatures.extend(series.signatures_beyond(from));
        }
        changes.sort_by_key(|change| (change.stamp, change.device));
        (changes.into_iter().cloned().collect(), signatures)
    }

    /// Returns how much is held of every series, whether covered or not.
    pub fn vector(&self) -> Vector {
        let entry = |series: &Series| Entry { count: series.head.count, hash: series.head.hash };
        self.series.iter().map(|(device, series)| (*device, entry(series))).collect()
    }

    /// Returns the hash of the last of the first `count` changes of a device, if so many are held; of none,
    /// what its first change names as its predecessor.
    pub fn hash_at(&self, device: DeviceId, count: u64) -> Option<ChangeHash> {
        if count == 0 {
            return Some(first_prev(self.notebook, device));
        }
        self.series.get(&device)?.hash_at(count)
    }

    /// Folds all changes in effect; per register the distinct values of its heads, the shown one first.
    pub fn registers(&self) -> Registers {
        let mut registers = BTreeMap::new();
        for (record, state) in self.records() {
            for (name, field) in state.fields {
                registers.insert((record, name), self.values(&field));
            }
        }
        registers
    }

    /// Folds all changes in effect into the states of their records.
    pub fn records(&self) -> BTreeMap<RecordId, RecordState> {
        let mut records: BTreeMap<RecordId, RecordState> = BTreeMap::new();
        for (draft, place) in self.drafts_in_effect() {
            for (write_id, write) in draft.numbered() {
                let state = records.entry(write.record).or_default();
                state.apply(write_id, place, draft.written_at, draft.author, write);
            }
        }
        records
    }

    /// Returns the heads of a register, sorted: what a form that shows it has seen.
    pub fn heads(&self, record: RecordId, field: &str) -> Vec<WriteId> {
        let mut state = RecordState::default();
        for (draft, place) in self.drafts_in_effect() {
            let writes = draft.numbered().filter(|(_, write)| write.record == record && write.field == field);
            for (write_id, write) in writes {
                state.apply(write_id, place, draft.written_at, draft.author, write);
            }
        }
        let heads = state.field(field).map(|state| state.heads.as_slice()).unwrap_or_default();
        let mut heads: Vec<WriteId> = heads.iter().map(|head| head.write).collect();
        heads.sort_unstable();
        heads
    }

    /// Returns the write that is projected under an id.
    pub fn write(&self, id: WriteId) -> Option<&Write> {
        self.in_effect(id.draft)?.0.writes.get(id.index as usize)
    }

    /// Returns who belongs to the notebook.
    pub fn standing(&self) -> &Standing {
        &self.standing
    }

    /// Returns the spans of covered changes that membership keeps out of effect.
    pub fn set_aside(&self) -> Vec<SetAside> {
        let span = |(device, series): (&DeviceId, &Series)| {
            let limit = self.standing.limit(*device);
            let from = limit.effective(series.covered);
            SetAside { device: *device, from, to: series.covered, limit }
        };
        self.series.iter().map(span).filter(|span| span.from < span.to).collect()
    }

    /// Returns the devices whose limit names another series than the one held here.
    pub fn mismatched_limits(&self) -> Vec<DeviceId> {
        let is_mismatched =
            |device: &DeviceId| self.standing.limit(*device).mismatches(|count| self.hash_at(*device, count));
        self.series.keys().copied().filter(is_mismatched).collect()
    }

    /// Returns how many changes of each device no signature covers yet, where there are any.
    pub fn unsigned(&self) -> BTreeMap<DeviceId, u64> {
        let tail = |series: &Series| series.head.count - series.covered;
        let tails = self.series.iter().map(|(device, series)| (*device, tail(series)));
        tails.filter(|(_, count)| *count > 0).collect()
    }

    /// Returns the changes that belong to another branch of their series.
    pub fn forked(&self) -> impl Iterator<Item = &Change> {
        self.forked.values()
    }

    /// Returns the draft ids that came with several contents.
    pub fn reused_drafts(&self) -> Vec<ReusedDraft> {
        let mut reused = Vec::new();
        for (id, carriers) in self.carriers.iter().filter(|(_, carriers)| carriers.len() > 1) {
            // Where nothing is in effect yet, the first to arrive stands for the one that will be.
            let first = || &self.change(carriers[0]).draft;
            let counts = self.in_effect(*id).map_or_else(first, |(draft, _)| draft);
            let others = carriers.iter().filter(|at| self.change(**at).draft != *counts);
            reused.extend(others.map(|at| ReusedDraft { draft: *id, at: *at }));
        }
        reused
    }

    /// Goes on as another device: the own changes from `count` on leave the old series and enter the new
    /// one, their drafts unchanged. For a copy that finds its series continued elsewhere.
    ///
    /// # Errors
    /// [`TakeError::Series`] if the clock stands still.
    pub fn reissue(
        &mut self,
        count: u64,
        device: DeviceId,
        key: DeviceKey,
        now_ms: u64,
    ) -> Result<(), TakeError> {
        let old = std::mem::replace(&mut self.device, device);
        self.key = key;
        let withdrawn = self.withdraw(old, count);
        let mut drafts = Vec::new();
        for held in withdrawn {
            drafts.push(held.change.draft.clone());
            self.forked.insert(held.hash, held.change);
        }
        for draft in drafts {
            self.append(draft, now_ms)?;
        }
        self.sign();
        self.judge();
        Ok(())
    }

    /// Returns the notebook.
    pub fn notebook(&self) -> NotebookId {
        self.notebook
    }

    /// Returns the device this copy belongs to.
    pub fn device(&self) -> DeviceId {
        self.device
    }

    fn receive_change(&mut self, change: Change, received: &mut Received) {
        let (device, hash) = (change.device, change.hash());
        let head = self.series_mut(device).head;
        match head.extend(&change, hash) {
            Ok(head) => {
                self.hold(change, hash, head);
                received.taken += 1;
            }
            Err(_) if self.hash_at(device, change.seq.saturating_add(1)) == Some(hash) => {
                received.repeats += 1;
            }
            // Another change at this place, or the next one of a branch that is aside already.
            Err(SeriesError::AlreadyHeld { .. } | SeriesError::WrongPrev { .. }) => {
                self.put_aside(change, hash, received);
            }
            Err(SeriesError::Gap { .. }) if self.forked.contains_key(&change.prev) => {
                self.put_aside(change, hash, received);
            }
            Err(error) => received.refused.push((device, error)),
        }
    }

    fn put_aside(&mut self, change: Change, hash: ChangeHash, received: &mut Received) {
        if !received.forked_series.contains(&change.device) {
            received.forked_series.push(change.device);
        }
        match self.forked.insert(hash, change) {
            None => received.forked += 1,
            Some(_) => received.repeats += 1,
        }
    }

    fn append(&mut self, draft: Draft, now_ms: u64) -> Result<u64, SeriesError> {
        let head = self.series_mut(self.device).head;
        let mut clock = self.clock;
        let stamp = clock.tick(now_ms);
        let change = Change { device: self.device, seq: head.count, stamp, prev: head.hash, draft };
        let hash = change.hash();
        let next = head.extend(&change, hash)?;
        self.hold(change, hash, next);
        Ok(head.count)
    }

    fn hold(&mut self, change: Change, hash: ChangeHash, head: SeriesHead) {
        let at = (change.device, change.seq);
        self.clock.observe(change.stamp);
        self.carriers.entry(change.draft.id).or_default().push(at);
        let place = place_of(&change);
        let carried = |(write_id, write): (WriteId, &Write)| MembershipWrite {
            at,
            place,
            write_id,
            write: write.clone(),
        };
        let writes = change.draft.numbered().filter(|(_, write)| write.kind == membership::KIND);
        self.memberships.extend(writes.map(carried));
        let series = self.series_mut(change.device);
        series.head = head;
        series.changes.push(Held { hash, change });
    }

    /// Removes the changes of a series from `count` on, and returns them.
    fn withdraw(&mut self, device: DeviceId, count: u64) -> Vec<Held> {
        let empty = SeriesHead::empty(self.notebook, device);
        let series = self.series_mut(device);
        let kept = series.changes.len().min(usize::try_from(count).unwrap_or(usize::MAX));
        let withdrawn = series.changes.split_off(kept);
        series.head = series.changes.last().map_or(empty, |held| SeriesHead {
            count: kept as u64,
            hash: held.hash,
            stamp: held.change.stamp,
        });
        series.good.retain(|count, _| *count <= kept as u64);
        series.waiting.clear();
        let is_gone = |at: (DeviceId, u64)| at.0 == device && at.1 >= kept as u64;
        self.memberships.retain(|carried| !is_gone(carried.at));
        self.carriers.values_mut().for_each(|carriers| carriers.retain(|at| !is_gone(*at)));
        self.carriers.retain(|_, carriers| !carriers.is_empty());
        withdrawn
    }

    fn sign(&mut self) {
        let (notebook, device) = (self.notebook, self.device);
        let SeriesHead { count, hash, .. } = self.series_mut(device).head;
        let signature = self.key.sign(notebook, device, count, hash);
        self.series_mut(device).add_signature(signature);
    }

    /// Finds out anew who belongs to the notebook and what is covered.
    fn judge(&mut self) {
        let (notebook, series) = (self.notebook, &mut self.series);
        self.standing = judge_signed(notebook, &self.memberships, |device, key| {
            series.get_mut(&device).map_or(0, |series| series.verify(notebook, key))
        });
        for (device, series) in series {
            series.covered = self.standing.covered(*device);
        }
    }

    fn series_mut(&mut self, device: DeviceId) -> &mut Series {
        let empty = || Series::new(SeriesHead::empty(self.notebook, device));
        self.series.entry(device).or_insert_with(empty)
    }

    fn change(&self, (device, seq): (DeviceId, u64)) -> &Change {
        &self.series[&device].changes[seq as usize].change
    }

    fn holds(&self, write: WriteId) -> bool {
        let carriers = self.carriers.get(&write.draft).into_iter().flatten();
        carriers.into_iter().any(|at| self.change(*at).draft.writes.len() > write.index as usize)
    }

    /// Returns what a draft id stands for: the draft of its carrier in effect at the least place.
    fn in_effect(&self, draft: DraftId) -> Option<(&Draft, Place)> {
        let counts =
            |at: &&(DeviceId, u64)| at.1 < self.standing.limit(at.0).effective(self.series[&at.0].covered);
        let carriers = self.carriers.get(&draft)?.iter().filter(counts);
        let least = carriers.map(|at| self.change(*at)).min_by_key(|change| place_of(change))?;
        Some((&least.draft, place_of(least)))
    }

    fn drafts_in_effect(&self) -> impl Iterator<Item = (&Draft, Place)> {
        self.carriers.keys().filter_map(|draft| self.in_effect(*draft))
    }

    fn values(&self, field: &FieldState) -> Vec<(Place, Payload)> {
        let payload = |id| self.write(id).expect("heads are in effect").value.clone();
        let merged = merge_equal(&field.heads, payload).expect("a written field has a head");
        let heads = std::iter::once(merged.shown).chain(merged.others);
        heads.map(|(head, payload)| (head.place, payload)).collect()
    }
}

fn place_of(change: &Change) -> Place {
    Place { stamp: change.stamp, device: change.device }
}

#[derive(Debug, Clone)]
struct Held {
    hash: ChangeHash,
    change: Change,
}

#[derive(Debug, Clone)]
struct Series {
    changes: Vec<Held>,
    head: SeriesHead,
    /// The key that `good` signatures were verified by.
    key: Option<PublicKey>,
    good: BTreeMap<u64, SeriesSignature>,
    /// Signatures over more than is held, or by another key than the one that counts now.
    waiting: Vec<SeriesSignature>,
    covered: u64,
}

impl Series {
    fn new(head: SeriesHead) -> Self {
        Self { changes: Vec::new(), head, key: None, good: BTreeMap::new(), waiting: Vec::new(), covered: 0 }
    }

    fn hash_at(&self, count: u64) -> Option<ChangeHash> {
        let index = usize::try_from(count.checked_sub(1)?).ok()?;
        self.changes.get(index).map(|held| held.hash)
    }

    fn add_signature(&mut self, signature: SeriesSignature) {
        let is_known = self.good.get(&signature.count) == Some(&signature);
        if !is_known && !self.waiting.contains(&signature) {
            self.waiting.push(signature);
        }
    }

    /// Verifies what waits and returns how many changes are covered.
    fn verify(&mut self, notebook: NotebookId, key: PublicKey) -> u64 {
        if self.key.replace(key) != Some(key) {
            self.waiting.extend(std::mem::take(&mut self.good).into_values());
        }
        for signature in std::mem::take(&mut self.waiting) {
            let is_early = signature.count > self.head.count;
            if !is_early && self.hash_at(signature.count) != Some(signature.hash) {
                // Over another branch: it says nothing about what is held here.
                continue;
            }
            if !is_early && signature.verify(notebook, &key).is_ok() {
                self.good.insert(signature.count, signature);
            } else {
                self.waiting.push(signature);
            }
        }
        self.good.last_key_value().map_or(0, |(count, _)| *count)
    }

    /// Returns signatures over what follows `from`: one within every [`SIGNATURE_EVERY`] changes where
    /// there is one, and the last.
    fn signatures_beyond(&self, from: u64) -> Vec<SeriesSignature> {
        let mut chosen = Vec::new();
        let mut at = from;
        while at < self.covered {
            let near = self.good.range(at + 1..=at.saturating_add(SIGNATURE_EVERY)).next_back();
            let Some((count, signature)) = near.or_else(|| self.good.range(at + 1..).next()) else {
                break;
            };
            chosen.push(*signature);
            at = *count;
        }
        if chosen.is_empty() {
            chosen.extend(self.good.last_key_value().map(|(_, signature)| *signature));
        }
        chosen
    }
}
