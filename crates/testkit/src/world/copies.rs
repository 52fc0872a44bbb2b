//! Data folders that are copied, and backups that are put back: a copy goes on as another device.
//!
//! What the program does about it when it finds out is done here as `desk` does it, key file included.

use std::collections::BTreeSet;

use storypole_journal::membership::{self, Limit, Role};
use storypole_journal::{DeviceId, DeviceKey};
use storypole_store::{Anew, Begun, Reader, StoreError};

use super::machine::{Machine, Program, Promised, location};
use super::sabotage::Sabotage;
use super::{MOST_MACHINES, World};
use crate::clock::DeviceClock;

/// A device that writes nothing and vouches for what is restored; its key lies with the backups.
pub(super) struct Pass {
    device: DeviceId,
    key: DeviceKey,
}

impl World {
    /// The founder invites a pass for restoring.
    pub(super) fn make_pass(&mut self) {
        let (device, key) = self.next_device();
        let founder = self.notebook().founder();
        let draft = self.draft(membership::invite(device, key.public(), Role::Keeper, founder));
        self.hand_in(0, draft);
        self.pass = Some(Pass { device, key });
    }

    /// Someone copies a data folder to another machine and starts the program there.
    pub(super) fn copy_folder(&mut self, machine: usize) {
        // Where a series is skipped on purpose, a fork would be an excuse: see `check_word`.
        if self.machines.len() >= MOST_MACHINES || self.sabotage == Some(Sabotage::SkipsASeries) {
            return;
        }
        let disk = self.machines[machine].disk.copy(self.chance.bits());
        self.machines[machine].is_copied = true;
        let Machine { key, next_key, promised, .. } = &self.machines[machine];
        let copied = promised.drafts.union(&promised.copied).copied().collect();
        let copy = Machine {
            disk,
            clock: DeviceClock::found(&mut self.chance, self.now_ms),
            key: key.clone(),
            next_key: next_key.clone(),
            backup: None,
            program: None,
            boots_at_ms: None,
            promised: Promised { drafts: BTreeSet::new(), copied, changes: promised.changes.clone() },
            is_copied: true,
        };
        self.machines.push(copy);
        self.tally.copied += 1;
        let at = self.machines.len() - 1;
        self.tell(|| format!("the folder of {machine} is copied to {at}"));
        self.boot(at);
    }

    /// A backup is made of what a machine holds now; it has no key in it.
    pub(super) fn back_up(&mut self, machine: usize) {
        let backup = self.machines[machine].disk.copy(self.chance.bits());
        self.machines[machine].backup = Some(backup);
        self.tell(|| format!("{machine} is backed up"));
    }

    /// One of the machines that have a backup is lost.
    ///
    /// Of a copied folder both copies must live on: where one is lost before they have met, nobody is left who would
    /// write its branch again, and a keeper has to let it in.
    pub(super) fn restore_any(&mut self) {
        let has_backup = |machine: &usize| {
            let Machine { backup, is_copied, .. } = &self.machines[*machine];
            backup.is_some() && !is_copied
        };
        let machines: Vec<usize> = (0..self.machines.len()).filter(has_backup).collect();
        if !machines.is_empty() {
            let machine = *self.chance.pick(&machines);
            self.restore(machine);
        }
    }

    /// A machine is lost with its disk; its backup is put back on a new one, as a new device.
    fn restore(&mut self, machine: usize) {
        let Some(backup) = self.machines[machine].backup.take() else { return };
        self.tell(|| format!("{machine} is lost and its backup restored"));
        self.tally.restored += 1;
        self.machines[machine].program = None;
        self.hang_up(machine);
        let (device, key) = self.next_device();
        let at = &mut self.machines[machine];
        self.tally.add_disk(&at.disk.tally());
        (at.disk, at.key, at.next_key, at.boots_at_ms) = (backup, key.clone(), None, None);
        let now_ms = at.clock.shows_ms(self.now_ms);
        let pass = self.pass.as_ref().expect("a pass is made before any backup");
        let program = Program::start(&at.disk, &key);
        let restored = program.and_then(|mut program| {
            let signature =
                pass.key.vouch(program.store.notebook(), pass.device, device, key.public(), Role::Crew);
            let voucher = Some((pass.device, signature, Role::Crew));
            let anew = Anew { device, key, instance: *device.as_bytes(), voucher, note: None };
            program.store.begin_anew(anew, now_ms)?;
            let held = program.held()?;
            // What came after the backup is lost with the disk, unless others have it.
            at.promised.drafts.retain(|draft| held.drafts.contains(draft));
            at.promised.copied.retain(|draft| held.drafts.contains(draft));
            at.promised.changes.retain(|change| held.changes.contains(change));
            at.program = Some(program);
            Ok(())
        });
        match restored {
            Ok(()) => self.learn_all(machine),
            Err(error) => self.failed(machine, &error),
        }
    }

    /// Goes on as a new device where another branch of the own series counts, as `desk` does. A device that was revoked,
    /// or is no member, stays as it is.
    pub(super) fn mend_own_fork(&mut self, machine: usize) {
        match self.begin_anew(machine) {
            Ok(None) => {}
            Ok(Some(begun)) => {
                self.tally.mended += 1;
                self.tell(|| format!("{machine} goes on anew: {begun:?}"));
                self.learn_all(machine);
                self.tell_of_change(machine, None);
            }
            Err(error) => self.failed(machine, &error),
        }
    }

    fn begin_anew(&mut self, machine: usize) -> Result<Option<Begun>, StoreError> {
        let Some(Program { store, reader }) = &self.machines[machine].program else { return Ok(None) };
        if self.sabotage == Some(Sabotage::NeverMends) || store.own_fork()?.is_none() {
            return Ok(None);
        }
        let (was, standing) = (store.device(), reader.standing()?);
        let Some(member) = standing.member(was).filter(|_| standing.limit(was) == Limit::Whole) else {
            return Ok(None);
        };
        let (notebook, role) = (store.notebook(), member.role);
        let (device, key) = self.next_device();
        let at = &mut self.machines[machine];
        let signature = at.key.vouch(notebook, was, device, key.public(), role);
        let voucher = Some((was, signature, role));
        let anew = Anew { device, key: key.clone(), instance: *device.as_bytes(), voucher, note: None };
        let now_ms = at.clock.shows_ms(self.now_ms);
        // The key file is written beside the old one before, and takes its place after.
        at.next_key = Some(key.clone());
        let Some(Program { store, .. }) = &mut at.program else { return Ok(None) };
        match store.begin_anew(anew, now_ms) {
            Ok(begun) => {
                (at.key, at.next_key) = (key, None);
                Ok(Some(begun))
            }
            Err(error) => {
                if !at.disk.is_off() {
                    at.next_key = None;
                }
                Err(error)
            }
        }
    }

    /// Starts the program of a machine with the right one of its two keys, if it has two.
    pub(super) fn start(&mut self, machine: usize) -> Result<(), StoreError> {
        let at = &mut self.machines[machine];
        if let Some(next) = &at.next_key {
            let is_next = Reader::open_at(&location(&at.disk))?.is_own_key(&next.public())?;
            if is_next != Some(false) {
                at.key = next.clone();
            }
            at.next_key = None;
        }
        at.program = Some(Program::start(&at.disk, &at.key)?);
        self.mend_own_fork(machine);
        Ok(())
    }

    /// Whether a machine holds a branch of its own series that does not count, and may not go on anew.
    pub(super) fn is_stranded(&self, machine: usize) -> bool {
        let Some(Program { store, reader }) = &self.machines[machine].program else { return false };
        let may_go_on =
            reader.standing().is_ok_and(|standing| standing.limit(store.device()) == Limit::Whole);
        !may_go_on && store.own_fork().is_ok_and(|fork| fork.is_some())
    }
}
