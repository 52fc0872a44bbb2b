//! What happened in simulated worlds, counted: the sum shows that faults of every kind were met.

use std::fmt;

use crate::disk::DiskTally;
use crate::network::NetworkTally;

/// What happened.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[allow(missing_docs, reason = "the lines that are printed say what each is")]
pub struct Tally {
    pub worlds: u64,
    pub disk: DiskTally,
    pub network: NetworkTally,
    pub drafts_acknowledged: u64,
    pub drafts_refused: u64,
    pub handed_in_again: u64,
    pub conversations: u64,
    pub closed_for_a_reason: u64,
    pub boots: u64,
    pub clocks_set: u64,
    pub partitions: u64,
    pub invitations: u64,
    pub revocations: u64,
    pub let_in: u64,
    pub copied: u64,
    pub mended: u64,
    pub restored: u64,
    pub stranded: u64,
    pub conflicts: u64,
    pub set_aside: u64,
}

/// Adds every field of one to the other.
macro_rules! add {
    ($to:expr, $from:expr, $($field:ident),+ $(,)?) => { $($to.$field += $from.$field;)+ };
}

impl Tally {
    /// Adds another world's.
    pub fn add(&mut self, other: &Self) {
        self.add_disk(&other.disk);
        add!(self.network, other.network, sent, lost, cut, repeated, reordered, garbled, stalled);
        add!(
            self,
            other,
            worlds,
            drafts_acknowledged,
            drafts_refused,
            handed_in_again,
            conversations,
            closed_for_a_reason,
            boots,
            clocks_set,
            partitions,
            invitations,
            revocations,
            let_in,
            copied,
            mended,
            restored,
            stranded,
            conflicts,
            set_aside,
        );
    }

    pub(super) fn add_disk(&mut self, other: &DiskTally) {
        add!(
            self.disk,
            other,
            read_errors,
            write_errors,
            sync_errors,
            full,
            power_cuts,
            kept,
            lost,
            torn,
            scattered,
            names_lost,
            lies
        );
    }

    /// Every kind of fault with how often it was met.
    pub fn faults(&self) -> Vec<(&'static str, u64)> {
        let Self { disk, network, .. } = self;
        vec![
            ("power cuts", disk.power_cuts),
            ("files that lost all unsynced", disk.lost),
            ("files that kept all unsynced", disk.kept),
            ("files torn", disk.torn),
            ("files scattered", disk.scattered),
            ("names lost or come back", disk.names_lost),
            ("reads failed", disk.read_errors),
            ("writes failed", disk.write_errors),
            ("syncs failed", disk.sync_errors),
            ("writes without room", disk.full),
            ("messages lost", network.lost),
            ("messages cut", network.cut),
            ("messages repeated", network.repeated),
            ("messages reordered", network.reordered),
            ("messages garbled", network.garbled),
            ("messages stalled", network.stalled),
            ("networks parted", self.partitions),
            ("clocks set", self.clocks_set),
            ("devices revoked", self.revocations),
            ("folders copied", self.copied),
            ("backups restored", self.restored),
        ]
    }

    /// What the crew did meanwhile.
    pub fn work(&self) -> Vec<(&'static str, u64)> {
        vec![
            ("drafts acknowledged", self.drafts_acknowledged),
            ("drafts refused", self.drafts_refused),
            ("drafts handed in again", self.handed_in_again),
            ("conversations", self.conversations),
            ("of them closed for a reason", self.closed_for_a_reason),
            ("messages sent", self.network.sent),
            ("boots", self.boots),
            ("devices invited", self.invitations),
            ("devices let in again", self.let_in),
            ("copies that went on as a new device", self.mended),
            ("revoked copies left with a branch of their own", self.stranded),
            ("conflicts in the end", self.conflicts),
            ("changes set aside in the end", self.set_aside),
        ]
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{:>12}  worlds", self.worlds)?;
        for (what, count) in self.work().into_iter().chain(self.faults()) {
            writeln!(f, "{count:>12}  {what}")?;
        }
        Ok(())
    }
}
