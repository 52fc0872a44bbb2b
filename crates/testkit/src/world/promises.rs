//! What must hold, and what is reported where it does not.

use storypole_journal::{ChangeHash, DraftId, WriteId};
use storypole_store::read::{SetAside, WhyAside};

use super::machine::Program;
use super::{Phase, World};

/// A broken promise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Broken {
    /// A draft was acknowledged and is gone.
    Lost {
        /// At which machine.
        machine: usize,
        /// Which.
        draft: DraftId,
    },
    /// A change was said to be on disk and is not.
    NotDelivered {
        /// At which machine.
        machine: usize,
        /// Which.
        change: ChangeHash,
    },
    /// A write has seen one that is not there.
    NotClosed {
        /// At which machine.
        machine: usize,
        /// What is not there.
        seen: WriteId,
    },
    /// The store finds itself at fault.
    Faults {
        /// At which machine.
        machine: usize,
        /// What `verify` says.
        what: String,
    },
    /// The store failed though its disk is well.
    Failed {
        /// At which machine.
        machine: usize,
        /// Why.
        why: String,
    },
    /// Two machines differ though both have all.
    Differ {
        /// In what.
        what: What,
        /// Which; the first machine and another.
        machines: [usize; 2],
    },
    /// A conversation was closed though the network is fair.
    Closed {
        /// Between which machines.
        between: [usize; 2],
        /// Why.
        why: String,
    },
    /// A conversation found no end.
    Unsettled {
        /// Between which machines.
        between: [usize; 2],
    },
    /// Something new came round after round.
    NeverQuiet,
}

/// What is compared between machines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// The set of changes.
    Log,
    /// The projected tables.
    Tables,
    /// The conflicts.
    Conflicts,
    /// What is set aside by membership.
    SetAside,
}

/// What is compared.
#[derive(PartialEq, Eq)]
struct View {
    log: String,
    tables: String,
    conflicts: String,
    set_aside: String,
}

impl World {
    /// A machine that has just started must hold all that it gave its word for.
    pub(super) fn check_word(&mut self, machine: usize) {
        let Some(program) = &self.machines[machine].program else { return };
        let held = match program.held() {
            Ok(held) => held,
            Err(error) => return self.failed(machine, &error),
        };
        let mut drafts = held.drafts.clone();
        drafts.extend(held.changes.iter().filter_map(|hash| self.draft_of.get(hash)));
        // Of a series that forked a vector cannot say which branch is held: until two copies have noticed, and have
        // met once more, one may hold what has seen the other branch.
        let is_closed = self.phase != Phase::Trouble || self.tally.copied == 0;
        let promised = &self.machines[machine].promised;
        let word = promised.drafts.union(&promised.copied).filter(|draft| !drafts.contains(draft));
        let lost = word.map(|draft| Broken::Lost { machine, draft: *draft });
        let not_delivered = promised
            .changes
            .difference(&held.changes)
            .map(|change| Broken::NotDelivered { machine, change: *change });
        let not_closed = held
            .seen
            .iter()
            .filter(|seen| is_closed && !drafts.contains(&seen.draft))
            .map(|seen| Broken::NotClosed { machine, seen: *seen });
        let found: Vec<Broken> = lost.chain(not_delivered).chain(not_closed).collect();
        self.broken.extend(found);
    }

    /// Once all is quiet: every copy is sound, all are equal, and nothing that anyone acknowledged is lost.
    pub(super) fn check_all(&mut self) {
        for machine in 0..self.machines.len() {
            self.check_word(machine);
            self.check_soundness(machine);
        }
        self.check_acknowledged();
        let views: Vec<Option<View>> = (0..self.machines.len()).map(|machine| self.view(machine)).collect();
        let mut views = (0..).zip(&views).filter_map(|(machine, view)| Some((machine, view.as_ref()?)));
        let Some((one, first)) = views.next() else { return };
        let mut broken = Vec::new();
        for (machine, view) in views {
            for (what, is_equal) in [
                (What::Log, view.log == first.log),
                (What::Tables, view.tables == first.tables),
                (What::Conflicts, view.conflicts == first.conflicts),
                (What::SetAside, view.set_aside == first.set_aside),
            ] {
                if !is_equal {
                    broken.push(Broken::Differ { what, machines: [one, machine] });
                }
            }
        }
        self.broken.extend(broken);
    }

    fn check_soundness(&mut self, machine: usize) {
        let Some(Program { store, .. }) = &mut self.machines[machine].program else { return };
        match store.verify() {
            Ok(found) if found.faults.is_empty() => {}
            Ok(found) => self.broken.push(Broken::Faults { machine, what: format!("{:?}", found.faults) }),
            Err(error) => self.failed(machine, &error),
        }
    }

    /// Every draft that any machine acknowledged is held at every machine.
    fn check_acknowledged(&mut self) {
        let counting = (0..self.machines.len()).filter(|machine| !self.is_stranded(*machine));
        let counting: Vec<usize> = counting.collect();
        let promised = counting.iter().flat_map(|machine| &self.machines[*machine].promised.drafts);
        let all: Vec<DraftId> = promised.copied().collect();
        for machine in counting {
            let Some(program) = &self.machines[machine].program else { continue };
            let Ok(held) = program.held() else { continue };
            let lost = all.iter().filter(|draft| !held.drafts.contains(draft));
            let lost: Vec<Broken> = lost.map(|draft| Broken::Lost { machine, draft: *draft }).collect();
            self.broken.extend(lost);
        }
    }

    /// What is compared; none of a copy that was revoked and keeps a branch of its own, which no other has.
    fn view(&mut self, machine: usize) -> Option<View> {
        if self.is_stranded(machine) {
            self.tally.stranded += 1;
            return None;
        }
        let program = self.machines[machine].program.as_ref()?;
        let view = || {
            let digest = program.reader.digest()?;
            let conflicts = program.reader.conflicts()?;
            let set_aside = program.reader.set_aside()?;
            Ok((digest, conflicts, set_aside))
        };
        match view() {
            Ok((digest, conflicts, set_aside)) => {
                if machine == 0 {
                    self.tally.conflicts += conflicts.len() as u64;
                    self.tally.set_aside += set_aside.len() as u64;
                }
                // Of a fork, a machine lists the branches it has met; the others need not come by.
                let is_told = |aside: &&SetAside| aside.why != WhyAside::Forked;
                let set_aside: Vec<_> = set_aside.iter().filter(is_told).collect();
                Some(View {
                    log: digest.log,
                    tables: digest.tables,
                    conflicts: format!("{conflicts:?}"),
                    set_aside: format!("{set_aside:?}"),
                })
            }
            Err(error) => {
                self.failed(machine, &error);
                None
            }
        }
    }

    /// A store failed: the power is gone, the disk is at fault, or a promise is broken.
    pub(super) fn failed(&mut self, machine: usize, error: &storypole_store::StoreError) {
        if self.machines[machine].disk.is_off() {
            return self.go_down(machine);
        }
        self.tell(|| format!("{machine} failed: {error}"));
        if self.phase == Phase::Healing {
            self.broken.push(Broken::Failed { machine, why: reasons(error) });
        }
    }
}

fn reasons(error: &dyn std::error::Error) -> String {
    let mut told = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        told.push_str(": ");
        told.push_str(&cause.to_string());
        source = cause.source();
    }
    told
}
