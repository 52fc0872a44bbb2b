//! The files of one disk under their names, what goes wrong with them and when.
//!
//! Every operation is a step, counted from 1. An operation that finds trouble planned for its step fails, or the
//! power goes: then whoever had a file open has nothing any more.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Weak;

use super::file::{Cut, File};
use super::lock::FileLock;
use super::shared::Shared;
use crate::Chance;

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// The disk answers with an error.
    Error,
    /// There is no room for what is written; reading goes on.
    Full,
    /// The power goes.
    PowerCut,
}

/// What went wrong so far, by kind.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct DiskTally {
    /// Reads that failed.
    pub read_errors: u64,
    /// Writes, truncations, deletions that failed.
    pub write_errors: u64,
    /// Syncs that failed.
    pub sync_errors: u64,
    /// Writes that found no room.
    pub full: u64,
    /// Times the power went.
    pub power_cuts: u64,
    /// Files of which a power cut left all, none, a beginning, or scattered parts of what was not synced.
    pub kept: u64,
    /// See `kept`.
    pub lost: u64,
    /// See `kept`.
    pub torn: u64,
    /// See `kept`.
    pub scattered: u64,
    /// Names that a power cut brought back or took away.
    pub names_lost: u64,
    /// Syncs that a lying disk only claimed to have done.
    pub lies: u64,
}

/// Why an operation fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refused {
    /// The disk is at fault, or off, or the file was open before the power went.
    Broken,
    /// No room.
    Full,
    /// There is no such file.
    Missing,
}

/// What an operation does, for what may go wrong with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Doing {
    Reading,
    Writing,
    Syncing,
}

/// A file with what hangs on it while it is open.
#[derive(Debug, Clone, Default)]
pub(super) struct Node {
    pub(super) file: File,
    pub(super) lock: FileLock,
    pub(super) shared: Weak<Shared>,
    pub(super) open_count: u32,
}

/// A name given or taken away that may not survive a power cut.
#[derive(Debug, Clone)]
struct Renaming {
    name: String,
    node: Option<u64>,
}

/// One disk.
#[derive(Debug, Clone)]
pub(super) struct State {
    chance: Chance,
    nodes: BTreeMap<u64, Node>,
    next_node: u64,
    names: BTreeMap<String, u64>,
    durable_names: BTreeMap<String, u64>,
    renamings: Vec<Renaming>,
    /// Counts power cuts: what was opened in another life is dead.
    pub(super) life: u64,
    pub(super) is_off: bool,
    pub(super) steps: u64,
    pub(super) plan: Option<(Range<u64>, Trouble)>,
    pub(super) room_bytes: Option<usize>,
    /// Syncs are claimed and not done.
    pub(super) lies: bool,
    pub(super) tally: DiskTally,
}

impl State {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            chance: Chance::new(seed),
            nodes: BTreeMap::new(),
            next_node: 1,
            names: BTreeMap::new(),
            durable_names: BTreeMap::new(),
            renamings: Vec::new(),
            life: 0,
            is_off: false,
            steps: 0,
            plan: None,
            room_bytes: None,
            lies: false,
            tally: DiskTally::default(),
        }
    }

    /// The same files on another disk, all of them durable, none of them open.
    pub(super) fn copied(&self, seed: u64) -> Self {
        let mut copy = Self::new(seed);
        for (name, node) in &self.names {
            let mut file = self.nodes[node].file.clone();
            file.sync();
            copy.nodes.insert(*node, Node { file, ..Node::default() });
            copy.names.insert(name.clone(), *node);
        }
        copy.durable_names = copy.names.clone();
        copy.next_node = self.next_node;
        copy
    }

    /// Counts a step of an operation on something opened in `life`, and fails it where trouble is planned.
    pub(super) fn step(&mut self, life: u64, doing: Doing) -> Result<(), Refused> {
        if self.is_off || life != self.life {
            return Err(Refused::Broken);
        }
        self.steps += 1;
        let steps = self.steps;
        match self.plan.as_ref().filter(|(span, _)| span.contains(&steps)).map(|(_, trouble)| *trouble) {
            None => Ok(()),
            Some(Trouble::PowerCut) => {
                self.cut_power();
                Err(Refused::Broken)
            }
            Some(Trouble::Full) if doing == Doing::Writing => {
                self.tally.full += 1;
                Err(Refused::Full)
            }
            Some(Trouble::Full) => Ok(()),
            Some(Trouble::Error) => {
                match doing {
                    Doing::Reading => self.tally.read_errors += 1,
                    Doing::Writing => self.tally.write_errors += 1,
                    Doing::Syncing => self.tally.sync_errors += 1,
                }
                Err(Refused::Broken)
            }
        }
    }

    /// The power goes: what was not synced is lost, kept or in between, and all that is open is dead.
    pub(super) fn cut_power(&mut self) {
        self.tally.power_cuts += 1;
        self.life += 1;
        self.is_off = true;
        self.settle_names();
        self.sweep();
        for node in self.nodes.values_mut() {
            let (file, cut) = node.file.after_cut(&mut self.chance);
            *node = Node { file, ..Node::default() };
            match cut {
                Cut::Clean => {}
                Cut::Lost => self.tally.lost += 1,
                Cut::Kept => self.tally.kept += 1,
                Cut::Torn => self.tally.torn += 1,
                Cut::Scattered => self.tally.scattered += 1,
            }
        }
    }

    fn settle_names(&mut self) {
        for Renaming { name, node } in std::mem::take(&mut self.renamings) {
            if self.chance.below(2) == 0 {
                self.tally.names_lost += 1;
                continue;
            }
            set_name(&mut self.durable_names, &name, node);
        }
        self.names = self.durable_names.clone();
        for node in self.nodes.values_mut() {
            node.open_count = 0;
        }
    }

    /// Forgets files that have no name any more, nor may get one back, nor are open.
    fn sweep(&mut self) {
        let Self { nodes, names, durable_names, renamings, .. } = self;
        nodes.retain(|number, node| {
            let is_named = |names: &BTreeMap<String, u64>| names.values().any(|named| named == number);
            let may_be_named = renamings.iter().any(|renaming| renaming.node == Some(*number));
            node.open_count > 0 || is_named(names) || is_named(durable_names) || may_be_named
        });
    }

    pub(super) fn find(&self, name: &str) -> Option<u64> {
        self.names.get(name).copied()
    }

    pub(super) fn create(&mut self, name: Option<&str>) -> u64 {
        let number = self.next_node;
        self.next_node += 1;
        self.nodes.insert(number, Node::default());
        if let Some(name) = name {
            self.rename(name, Some(number));
        }
        number
    }

    pub(super) fn delete(&mut self, name: &str, durably: bool) -> Result<(), Refused> {
        if self.find(name).is_none() {
            return Err(Refused::Missing);
        }
        self.rename(name, None);
        if durably {
            self.sync_names();
        }
        self.sweep();
        Ok(())
    }

    fn rename(&mut self, name: &str, node: Option<u64>) {
        set_name(&mut self.names, name, node);
        self.renamings.push(Renaming { name: name.to_owned(), node });
    }

    /// Makes all names durable, as a sync of the folder does.
    pub(super) fn sync_names(&mut self) {
        if self.lies {
            return;
        }
        for Renaming { name, node } in std::mem::take(&mut self.renamings) {
            set_name(&mut self.durable_names, &name, node);
        }
    }

    pub(super) fn node(&mut self, number: u64) -> Result<&mut Node, Refused> {
        self.nodes.get_mut(&number).ok_or(Refused::Broken)
    }

    pub(super) fn taken_bytes(&self) -> usize {
        self.nodes.values().map(|node| node.file.len()).sum()
    }

    /// Writes, unless that would take more room than there is.
    pub(super) fn write(&mut self, number: u64, offset: usize, bytes: &[u8]) -> Result<(), Refused> {
        let taken = self.taken_bytes();
        let room_bytes = self.room_bytes;
        let node = self.node(number)?;
        let grows_by = (offset + bytes.len()).saturating_sub(node.file.len());
        if grows_by > 0 && room_bytes.is_some_and(|room| taken + grows_by > room) {
            self.tally.full += 1;
            return Err(Refused::Full);
        }
        node.file.write(offset, bytes);
        Ok(())
    }

    /// Makes a file durable; with its folder where `with_names` says so.
    pub(super) fn sync(&mut self, number: u64, with_names: bool) -> Result<(), Refused> {
        if self.lies {
            self.tally.lies += 1;
            return Ok(());
        }
        self.node(number)?.file.sync();
        if with_names {
            self.sync_names();
        }
        Ok(())
    }

    /// A sync failed; by the toss of a coin the system takes what was to be written for written.
    pub(super) fn sync_failed(&mut self, number: u64) {
        if self.chance.below(2) == 0
            && let Ok(node) = self.node(number)
        {
            node.file.forget_unsynced();
        }
    }

    pub(super) fn close(&mut self, life: u64, number: u64) {
        if life == self.life
            && let Ok(node) = self.node(number)
        {
            node.open_count -= 1;
            self.sweep();
        }
    }
}

fn set_name(names: &mut BTreeMap<String, u64>, name: &str, node: Option<u64>) {
    match node {
        Some(node) => _ = names.insert(name.to_owned(), node),
        None => _ = names.remove(name),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_durable_once_its_folder_is_synced() {
        let survives = |seed: u64, sync_names: bool| {
            let mut state = State::new(seed);
            let number = state.create(Some("a"));
            state.write(number, 0, b"some").unwrap();
            state.sync(number, sync_names).unwrap();
            state.cut_power();
            state.find("a").is_some()
        };
        assert!((0..50).all(|seed| survives(seed, true)));
        assert!((0..50).any(|seed| survives(seed, false)) && !(0..50).all(|seed| survives(seed, false)));
    }

    #[test]
    fn a_deleted_file_may_come_back() {
        let comes_back = |seed: u64, durably: bool| {
            let mut state = State::new(seed);
            let number = state.create(Some("a"));
            state.write(number, 0, b"some").unwrap();
            state.sync(number, true).unwrap();
            state.delete("a", durably).unwrap();
            state.cut_power();
            state.find("a").is_some_and(|number| state.node(number).unwrap().file.len() == 4)
        };
        assert!((0..50).any(|seed| comes_back(seed, false)));
        assert!(!(0..50).any(|seed| comes_back(seed, true)));
    }

    #[test]
    fn trouble_comes_at_its_step_and_at_no_other() {
        let mut state = State::new(1);
        state.plan = Some((2..3, Trouble::Error));
        let mut step = |doing| state.step(0, doing).is_ok();
        assert_eq!([step(Doing::Reading), step(Doing::Syncing), step(Doing::Writing)], [true, false, true]);
        assert_eq!(state.tally, DiskTally { sync_errors: 1, ..DiskTally::default() });
        state.plan = Some((4..5, Trouble::PowerCut));
        assert_eq!(state.step(0, Doing::Reading), Err(Refused::Broken));
        assert_eq!((state.is_off, state.step(1, Doing::Reading)), (true, Err(Refused::Broken)));
        state.is_off = false;
        assert_eq!(state.step(0, Doing::Reading), Err(Refused::Broken), "opened before the power went");
        assert_eq!(state.step(1, Doing::Reading), Ok(()));
    }

    #[test]
    fn a_full_disk_refuses_to_grow_and_lets_overwrite() {
        let mut state = State::new(1);
        state.room_bytes = Some(10);
        let number = state.create(Some("a"));
        assert_eq!(state.write(number, 0, &[1; 10]), Ok(()));
        assert_eq!(state.write(number, 1, &[2; 10]), Err(Refused::Full));
        assert_eq!(state.write(number, 0, &[2; 10]), Ok(()));
    }
}
