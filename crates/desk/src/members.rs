//! Who belongs to the notebook, and what a keeper decides about them.
//!
//! What counts follows from the log ([`storypole_journal::standing`]); here is what is refused at the door, so that
//! nobody writes a decision that would not count, or takes one that cannot be meant.

use storypole_journal::membership::{self, Role};
use storypole_journal::{
    DeviceId, Draft, Limit, PublicKey, RecordId, Revocation, Standing, Write, WriteId, WrittenAt, first_prev,
};
use storypole_notebook::{KindSpec, Value};
pub use storypole_store::aside::AsideSpan;
use storypole_store::{Reader, StoreError, Taken};

use crate::{Desk, DeskError, edge};

/// How the label of a restore pass begins; what follows is the label of the device that made it.
pub const RESTORE_PASS: &str = "restore pass of ";

/// One device of the notebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Membership {
    /// The device.
    pub device: DeviceId,
    /// What it may do.
    pub role: Role,
    /// Who invited it or vouched for it; the founder itself.
    pub invited_by: DeviceId,
    /// Its public key.
    pub key: PublicKey,
    /// What people call it.
    pub label: Option<String>,
    /// Who carries it.
    pub person: Option<RecordId>,
    /// Whether it is this very device.
    pub is_this: bool,
    /// Whether it is no device, but a pass that lets a restored backup in.
    pub is_pass: bool,
    /// How many of its changes are held here.
    pub held: u64,
    /// How many of them count.
    pub counted: u64,
    /// Its limit, when it was revoked.
    pub revoked: Option<Revocation>,
    /// When its last change held here was written, by its own clock.
    pub last_written: Option<WrittenAt>,
}

/// What became of a branch that was let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BranchLetIn {
    /// Drafts that count now.
    pub taken: usize,
    /// Drafts that counted already.
    pub held_elsewhere: usize,
    /// Drafts that say who belongs to the notebook: what their device decided is not this one's decision.
    pub left_out: usize,
}

/// Why a decision about a device is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MembersError {
    /// Only keepers decide.
    #[error("this device is no keeper of the notebook, or was revoked: ask a keeper to do it on theirs")]
    NotKeeper,
    /// Nobody knows the device.
    #[error("device {0} is no member of this notebook: see `storypole devices` for those that are")]
    NoMember(DeviceId),
    /// It is revoked.
    #[error(
        "device {device} is revoked already, beyond its first {count} changes: let it in first if the limit is wrong"
    )]
    AlreadyRevoked { device: DeviceId, count: u64 },
    /// It is not revoked.
    #[error("device {0} is not revoked: there is nothing to let in")]
    NotRevoked(DeviceId),
    /// The last keeper would shut itself out for good.
    #[error(
        "this device is the only keeper, and without one nobody could invite or revoke any more: invite another keeper first"
    )]
    OnlyKeeper,
    /// There is no branch aside.
    #[error("no signed branch of device {0} is kept aside: see what is set aside with `storypole devices`")]
    NoBranch(DeviceId),
    /// A reason is missing.
    #[error("a reason is missing: say why, for those who read it later")]
    NoReason,
}

impl Desk {
    /// The devices of the notebook, each before those it invited. Revoked ones stay listed.
    ///
    /// # Errors
    /// The database failed.
    pub fn members(&self) -> Result<Vec<Membership>, DeskError> {
        let this = self.device();
        self.read(|reader| {
            let (standing, vector) = (reader.standing()?, reader.vector()?);
            let members = standing.members().into_iter().map(|member| {
                let device = member.device;
                let (label, person) = named(reader, device)?;
                let held = vector.count(device);
                let is_pass =
                    held == 0 && label.as_ref().is_some_and(|label| label.starts_with(RESTORE_PASS));
                Ok(Membership {
                    device,
                    role: member.role,
                    invited_by: member.invited_by,
                    key: member.key,
                    label,
                    person,
                    is_this: device == this,
                    is_pass,
                    held,
                    counted: standing.limit(device).effective(standing.covered(device)),
                    revoked: standing.revocation(device),
                    last_written: reader.last_written(device)?,
                })
            });
            members.collect()
        })
    }

    /// Whether this device may invite and revoke: a keeper in good standing.
    pub fn may_invite(&self) -> bool {
        let is_keeper = self.read(|reader| Ok(is_keeper(&reader.standing()?, self.device())));
        !self.only_reads() && is_keeper.unwrap_or(false)
    }

    /// Invites a device into the notebook, or anew.
    ///
    /// # Errors
    /// This device is no keeper, or may not write.
    pub fn invite(
        &self,
        device: DeviceId,
        key: PublicKey,
        role: Role,
        written_at: WrittenAt,
    ) -> Result<Taken, DeskError> {
        self.keeper()?;
        self.decide(membership::invite(device, key, role, self.device()), written_at)
    }

    /// Revokes a device: what it has written up to now, as it is held here, still counts; nothing after it does.
    ///
    /// # Errors
    /// [`MembersError`], or the database failed.
    pub fn revoke(
        &self,
        device: DeviceId,
        reason: &str,
        written_at: WrittenAt,
    ) -> Result<Revocation, DeskError> {
        let reason = given(reason)?;
        let standing = self.keeper()?;
        if standing.member(device).is_none() {
            return Err(MembersError::NoMember(device).into());
        }
        if let Some(Revocation { count, .. }) = standing.revocation(device) {
            return Err(MembersError::AlreadyRevoked { device, count }.into());
        }
        let is_other_keeper = |of: &Membership| {
            of.role == Role::Keeper && of.device != device && of.revoked.is_none() && !of.is_pass
        };
        if device == self.device() && !self.members()?.iter().any(is_other_keeper) {
            return Err(MembersError::OnlyKeeper.into());
        }
        let none = || (0, first_prev(self.notebook(), device));
        let held = self.read(Reader::vector)?.get(device).map(|entry| (entry.count, entry.hash));
        let (count, hash) = held.unwrap_or_else(none);
        let revocation = Revocation { count, hash };
        let seen = self.membership_heads(device, membership::REVOKED)?;
        self.decide(membership::revoke(device, revocation, seen, reason), written_at)?;
        Ok(revocation)
    }

    /// Lets all of a revoked device in again.
    ///
    /// # Errors
    /// [`MembersError`], or the database failed.
    pub fn let_in(&self, device: DeviceId, reason: &str, written_at: WrittenAt) -> Result<Taken, DeskError> {
        let reason = given(reason)?;
        let standing = self.keeper()?;
        if standing.revocation(device).is_none() {
            let is_member = standing.member(device).is_some();
            let refused = if is_member { MembersError::NotRevoked } else { MembersError::NoMember };
            return Err(refused(device).into());
        }
        let seen = self.membership_heads(device, membership::REVOKED)?;
        self.decide(membership::let_in(device, seen, reason), written_at)
    }

    /// What is kept here and does not count.
    ///
    /// # Errors
    /// The database failed.
    pub fn set_aside(&self) -> Result<Vec<AsideSpan>, DeskError> {
        self.read(Reader::aside_spans)
    }

    /// Takes the drafts of the branches of a device that lost into this device's own series, ids unchanged. Only
    /// what the device signed is taken, and nothing that says who belongs to the notebook.
    ///
    /// # Errors
    /// [`MembersError`], a draft that cannot be taken, or the database failed; what was taken before stays.
    pub fn let_in_branch(
        &self,
        device: DeviceId,
        reason: &str,
        written_at: WrittenAt,
    ) -> Result<BranchLetIn, DeskError> {
        let reason = given(reason)?;
        self.keeper()?;
        let branch = self.read(|reader| reader.branch_drafts(device))?;
        let (first, drafts) = branch.ok_or(MembersError::NoBranch(device))?;
        let seen = self.membership_heads(device, membership::BRANCH)?;
        self.decide(membership::let_in_branch(device, first, seen, reason), written_at)?;
        let is_plain =
            |draft: &Draft| draft.writes.iter().all(|write| write.kind.as_str() != membership::KIND);
        let (plain, decisions): (Vec<Draft>, Vec<Draft>) = drafts.into_iter().partition(is_plain);
        let mut done = BranchLetIn { taken: 0, held_elsewhere: 0, left_out: decisions.len() };
        for outcome in self.writer()?.take(plain)? {
            match outcome? {
                Taken::New { .. } => done.taken += 1,
                Taken::AlreadyHeld => done.held_elsewhere += 1,
            }
        }
        Ok(done)
    }

    /// Says what people call a device, and who carries it.
    ///
    /// # Errors
    /// The label is refused, or this device may not write.
    pub fn name_device(
        &self,
        device: DeviceId,
        label: &str,
        person: Option<RecordId>,
        written_at: WrittenAt,
    ) -> Result<Taken, DeskError> {
        let kind = KindSpec::find("device").expect("the kind is there");
        let known = self.read(|reader| device_record(reader, device))?;
        let record = known.unwrap_or_else(edge::record_id);
        let heads = |field: &str| self.read(|reader| reader.heads(record, kind, field));
        let mut compose = self.compose(written_at);
        let label = Value::Text(label.to_owned());
        compose.change(record, "device", "label", Some(&label), heads("label")?, None)?;
        if known.is_none() {
            compose.set(record, "device", "device", &Value::Text(device.to_string()))?;
        }
        if let Some(person) = person {
            let person = Value::Record(person);
            compose.change(record, "device", "person", Some(&person), heads("person")?, None)?;
        }
        self.take(compose.finish())
    }

    /// Membership as it stands, for a keeper only.
    fn keeper(&self) -> Result<Standing, DeskError> {
        self.writer()?;
        let standing = self.read(Reader::standing)?;
        if is_keeper(&standing, self.device()) { Ok(standing) } else { Err(MembersError::NotKeeper.into()) }
    }

    fn decide(&self, writes: Vec<Write>, written_at: WrittenAt) -> Result<Taken, DeskError> {
        self.take_unchecked(Draft { id: edge::draft_id(), author: self.author(), written_at, writes })
    }

    fn membership_heads(&self, device: DeviceId, field: &str) -> Result<Vec<WriteId>, DeskError> {
        let history = self.read(|reader| reader.history(device.membership_record()))?;
        let heads = history
            .into_iter()
            .filter(|item| item.kind == membership::KIND && item.field == field && item.is_head);
        let mut heads: Vec<WriteId> = heads.map(|item| item.id).collect();
        heads.sort_unstable();
        Ok(heads)
    }
}

fn is_keeper(standing: &Standing, device: DeviceId) -> bool {
    standing.role(device) == Some(Role::Keeper) && standing.limit(device) == Limit::Whole
}

fn given(reason: &str) -> Result<String, MembersError> {
    let reason = reason.trim();
    if reason.is_empty() { Err(MembersError::NoReason) } else { Ok(reason.to_owned()) }
}

/// The record that people keep of a device: the oldest, where there are several.
pub(crate) fn device_record(reader: &Reader, device: DeviceId) -> Result<Option<RecordId>, StoreError> {
    let kind = KindSpec::find("device").expect("the kind is there");
    let id = Value::Text(device.to_string());
    Ok(reader.matching(kind, &[("device", id)])?.into_iter().next())
}

fn named(reader: &Reader, device: DeviceId) -> Result<(Option<String>, Option<RecordId>), StoreError> {
    let kind = KindSpec::find("device").expect("the kind is there");
    let record = device_record(reader, device)?;
    let row = record.map(|record| reader.row(kind, record)).transpose()?.flatten();
    let value = |field: &str| row.as_ref().and_then(|row| row.value(field).cloned());
    let person = value("person").and_then(|value| match value {
        Value::Record(person) => Some(person),
        _ => None,
    });
    Ok((value("label").map(|label| label.to_string()), person))
}
