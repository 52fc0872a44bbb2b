//! What people do: write, correct, strike, hand in again, invite, revoke, let in.

use storypole_journal::membership::{self, Revocation, Role};
use storypole_journal::{
    DeviceId, DeviceKey, Draft, DraftId, NotebookId, PublicKey, RecordId, Write, WriteId, WrittenAt,
    first_prev,
};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Value};
use storypole_store::{Identity, StoreError, Taken};

use super::machine::Program;
use super::sabotage::Sabotage;
use super::{Phase, START_MS, World};

/// Ids count up, so that a replay has the same.
pub(super) fn numbered(number: u64) -> [u8; 10] {
    let mut bytes = [0; 10];
    bytes[2..].copy_from_slice(&number.to_be_bytes());
    bytes
}

/// The same person everywhere; who wrote what is of no concern here.
pub(super) fn author() -> RecordId {
    RecordId::from_parts(START_MS, numbered(1))
}

/// Few records, so that many meet at the same register.
const RECORDS: u64 = 3;

/// Records and their fields that are written.
const FIELDS: &[(&str, &str)] = &[("site", "name"), ("site", "label"), ("entry", "text"), ("task", "title")];

impl World {
    pub(super) fn draft(&mut self, writes: Vec<Write>) -> Draft {
        Draft { id: self.draft_id(), author: author(), written_at: self.written_at(), writes }
    }

    fn draft_id(&mut self) -> DraftId {
        self.drafts_made += 1;
        // Browsers make ids by their own clocks: order of ids is not order of writing.
        DraftId::from_parts(START_MS + self.chance.below(1_000), numbered(self.drafts_made))
    }

    fn written_at(&self) -> WrittenAt {
        WrittenAt { unix_ms: self.now_ms as i64, offset_min: -300 }
    }

    /// Someone writes at a machine what comes to mind.
    pub(super) fn write(&mut self, machine: usize) {
        let id = self.draft_id();
        let mut compose = Composer::new(id, author(), self.written_at());
        for nth in 0..1 + self.chance.below(3) {
            if let Err(error) = self.compose(machine, &mut compose, nth) {
                return self.failed(machine, &error);
            }
        }
        let draft = compose.finish();
        // Two writes of one draft may have met at one register; the log refuses such a draft before anyone sees it.
        if draft.check().is_ok() {
            self.hand_in(machine, draft);
        }
    }

    fn compose(&mut self, machine: usize, compose: &mut Composer, nth: u64) -> Result<(), StoreError> {
        let (kind, field) = *self.chance.pick(FIELDS);
        let spec = KindSpec::find(kind).expect("the table names kinds");
        let place = FIELDS.iter().position(|(named, _)| *named == kind).expect("it was picked from there");
        let record =
            RecordId::from_parts(START_MS, numbered(1_000 * place as u64 + self.chance.below(RECORDS)));
        let Some(program) = &self.machines[machine].program else { return Ok(()) };
        let strikes = nth == 0 && self.chance.below(8) == 0;
        let field = if strikes { "struck" } else { field };
        let mut seen = program.reader.heads(record, spec, field)?;
        // One form in four was opened before the newest arrived, or by someone who saw nothing.
        if self.chance.below(4) == 0 {
            seen.truncate(self.chance.below(seen.len() as u64 + 1) as usize);
        }
        if strikes {
            compose.strike(record, kind, seen, "written twice".to_owned());
            return Ok(());
        }
        let value = Value::Text(format!("{field} {}", self.chance.below(20)));
        let reason = (!seen.is_empty()).then(|| "misread".to_owned());
        compose.change(record, kind, field, Some(&value), seen, reason).expect("a short text is legal");
        Ok(())
    }

    /// Hands a draft in at a machine; it waits where that fails.
    pub(super) fn hand_in(&mut self, machine: usize, draft: Draft) {
        let now_ms = self.machines[machine].clock.shows_ms(self.now_ms);
        let Some(program) = &mut self.machines[machine].program else {
            return self.outbox.push((machine, draft));
        };
        let id = draft.id;
        if self.sabotage == Some(Sabotage::AcknowledgesUnwritten) && self.chance.below(10) == 0 {
            self.machines[machine].promised.drafts.insert(id);
            return;
        }
        let taken = program.store.take(vec![draft.clone()], now_ms).map(|mut outcomes| outcomes.pop());
        match taken {
            Ok(Some(Ok(taken))) => {
                self.tell(|| format!("{machine} takes draft {id}: {taken:?}"));
                self.tally.drafts_acknowledged += 1;
                self.machines[machine].promised.drafts.insert(id);
                self.handed.push(draft);
                if matches!(taken, Taken::New { .. }) {
                    self.learn(machine);
                    self.tell_of_change(machine, None);
                }
            }
            Ok(Some(Err(refused))) => {
                self.tell(|| format!("{machine} refuses draft {id}: {refused}"));
                self.tally.drafts_refused += 1;
            }
            Ok(None) => {}
            Err(error) => {
                self.outbox.push((machine, draft));
                self.failed(machine, &error);
            }
        }
    }

    /// Notes which draft the last change of a machine carries.
    pub(super) fn learn(&mut self, machine: usize) {
        let Some(Program { reader, .. }) = &self.machines[machine].program else { return };
        let last = reader.position().and_then(|position| reader.changes_after(position.last - 1, 1));
        match last {
            Ok(changes) => {
                self.draft_of.extend(changes.iter().map(|(_, change)| (change.hash(), change.draft.id)));
            }
            // The draft was acknowledged all the same; only this look at it failed.
            Err(error) => self.failed(machine, &error),
        }
    }

    /// Notes which draft every change of a machine carries.
    pub(super) fn learn_all(&mut self, machine: usize) {
        let Some(Program { reader, .. }) = &self.machines[machine].program else { return };
        match reader.changes_after(0, usize::MAX) {
            Ok(changes) => {
                self.draft_of.extend(changes.iter().map(|(_, change)| (change.hash(), change.draft.id)));
            }
            Err(error) => self.failed(machine, &error),
        }
    }

    /// A browser sends again what it sent before, to the same machine or another; now and then with other content.
    pub(super) fn hand_in_again(&mut self, machine: usize) {
        if let Some((at, draft)) = self.outbox.pop() {
            self.tally.handed_in_again += 1;
            let machine = if self.chance.below(2) == 0 { at } else { machine };
            return self.hand_in(machine, draft);
        }
        if self.handed.is_empty() {
            return;
        }
        let nth = self.chance.below(self.handed.len() as u64) as usize;
        self.tally.handed_in_again += 1;
        self.hand_in(machine, self.handed[nth].clone());
    }

    /// All that waits is handed in where it was written.
    pub(super) fn empty_outbox(&mut self) {
        for (machine, draft) in std::mem::take(&mut self.outbox) {
            self.hand_in(machine, draft);
        }
    }

    /// The founding machine, and those it invites at once.
    pub(super) fn found(&mut self, machines: usize) {
        let (founder, key) = self.next_device();
        let public = key.public();
        self.add_machine(founder, key, (NotebookId::founded_by(founder), public));
        let draft = self.draft(membership::invite(founder, public, Role::Keeper, founder));
        self.hand_in(0, draft);
        self.make_pass();
        for _ in 1..machines {
            self.invite(0);
        }
        for machine in 1..machines {
            self.talk_through(0, machine);
        }
    }

    pub(super) fn notebook(&self) -> NotebookId {
        NotebookId::founded_by(DeviceId::from_parts(START_MS, numbered(1)))
    }

    /// A keeper invites a new machine.
    pub(super) fn invite(&mut self, keeper: usize) {
        let Some(Program { store, reader }) = &self.machines[keeper].program else { return };
        let (notebook, inviter) = (store.notebook(), store.device());
        let Ok(founder_key) = reader.founder_key() else { return };
        let role = *self.chance.pick(&[Role::Keeper, Role::Crew, Role::Crew, Role::Crew, Role::Viewer]);
        let (device, key) = self.next_device();
        let public = key.public();
        self.add_machine(device, key, (notebook, founder_key));
        self.tally.invitations += 1;
        self.tell(|| format!("{keeper} invites {device} as {}", role.as_str()));
        let draft = self.draft(membership::invite(device, public, role, inviter));
        self.hand_in(keeper, draft);
    }

    /// A device that never was, and its key.
    pub(super) fn next_device(&mut self) -> (DeviceId, DeviceKey) {
        self.devices_made += 1;
        let mut secret = [0; 32];
        secret[..8].copy_from_slice(&self.devices_made.to_be_bytes());
        secret[8..16].copy_from_slice(&self.seed.to_be_bytes());
        (DeviceId::from_parts(START_MS, numbered(self.devices_made)), DeviceKey::from_bytes(&secret))
    }

    pub(super) fn identity(
        &self,
        device: DeviceId,
        (notebook, founder_key): (NotebookId, PublicKey),
    ) -> Identity {
        let instance = *device.as_bytes();
        Identity { notebook, device, founder_key, instance, author: author() }
    }

    /// Someone at a machine revokes a device as it is known there. It counts if a keeper does.
    pub(super) fn revoke(&mut self, machine: usize) {
        let Some(target) = self.any_other_device(machine) else { return };
        let Some(Program { store, .. }) = &self.machines[machine].program else { return };
        let none = (0, first_prev(store.notebook(), target));
        let known = match store.vector() {
            Ok(vector) => vector.get(target),
            Err(error) => return self.failed(machine, &error),
        };
        let (count, hash) = known.map_or(none, |entry| (entry.count, entry.hash));
        self.tally.revocations += 1;
        self.tell(|| format!("{machine} revokes {target} at {count}"));
        let writes = membership::revoke(target, Revocation { count, hash }, Vec::new(), "lost".to_owned());
        let draft = self.draft(writes);
        self.hand_in(machine, draft);
    }

    /// Someone at a machine lets a device in again.
    pub(super) fn let_in(&mut self, machine: usize) {
        let Some(target) = self.any_other_device(machine) else { return };
        let Some(Program { reader, .. }) = &self.machines[machine].program else { return };
        let history = match reader.history(target.membership_record()) {
            Ok(history) => history,
            Err(error) => return self.failed(machine, &error),
        };
        let heads = history.iter().filter(|item| item.field == membership::REVOKED && item.is_head);
        let mut seen: Vec<WriteId> = heads.map(|item| item.id).collect();
        seen.sort_unstable();
        self.tally.let_in += 1;
        self.tell(|| format!("{machine} lets {target} in over {} heads", seen.len()));
        let draft = self.draft(membership::let_in(target, seen, "found".to_owned()));
        self.hand_in(machine, draft);
    }

    /// The device of another machine, but not the founder: without it nobody may do anything.
    fn any_other_device(&mut self, machine: usize) -> Option<DeviceId> {
        let other = 1 + self.chance.below(self.machines.len() as u64 - 1) as usize;
        let program = self.machines[other].program.as_ref().filter(|_| other != machine)?;
        (self.phase == Phase::Trouble).then(|| program.store.device())
    }
}
