//! One file of a simulated disk: what programs see, what is safely on the disk, and what lies between.
//!
//! Knows nothing of names, locks or SQLite.

use crate::Chance;

/// What a disk writes whole or not at all, bytes.
pub(super) const SECTOR_BYTES: usize = 512;

/// Something done to a file that no sync has made durable yet.
#[derive(Debug, Clone)]
enum Pending {
    Write { offset: usize, bytes: Vec<u8> },
    Length(usize),
}

/// A file.
#[derive(Debug, Clone, Default)]
pub(super) struct File {
    now: Vec<u8>,
    durable: Vec<u8>,
    pending: Vec<Pending>,
}

/// What a power cut did to the unsynced part of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cut {
    /// There was nothing unsynced.
    Clean,
    /// All of it is gone.
    Lost,
    /// All of it is there.
    Kept,
    /// What came first is there, the last of it in part.
    Torn,
    /// Some of it is there, later parts without earlier ones.
    Scattered,
}

impl File {
    pub(super) fn len(&self) -> usize {
        self.now.len()
    }

    /// Copies from `offset` on into `into`; returns how many bytes there were.
    pub(super) fn read(&self, offset: usize, into: &mut [u8]) -> usize {
        let from = offset.min(self.now.len());
        let count = into.len().min(self.now.len() - from);
        into[..count].copy_from_slice(&self.now[from..from + count]);
        into[count..].fill(0);
        count
    }

    pub(super) fn write(&mut self, offset: usize, bytes: &[u8]) {
        put(&mut self.now, offset, bytes);
        self.pending.push(Pending::Write { offset, bytes: bytes.to_vec() });
    }

    pub(super) fn set_len(&mut self, len: usize) {
        self.now.resize(len, 0);
        self.pending.push(Pending::Length(len));
    }

    pub(super) fn sync(&mut self) {
        for pending in self.pending.drain(..) {
            match pending {
                Pending::Write { offset, bytes } => put(&mut self.durable, offset, &bytes),
                Pending::Length(len) => self.durable.resize(len, 0),
            }
        }
    }

    /// A sync failed, and the system takes what it could not write for written: programs still see it, later syncs
    /// do not write it again.
    pub(super) fn forget_unsynced(&mut self) {
        self.pending.clear();
    }

    /// Returns the file as it is found after a power cut.
    pub(super) fn after_cut(&self, chance: &mut Chance) -> (Self, Cut) {
        let (found, cut) = match chance.below(5) {
            _ if self.pending.is_empty() => (self.durable.clone(), Cut::Clean),
            0 => (self.durable.clone(), Cut::Lost),
            1 => (self.now.clone(), Cut::Kept),
            2 => (self.torn(chance), Cut::Torn),
            3 => (self.scattered(chance, usize::MAX), Cut::Scattered),
            _ => (self.scattered(chance, SECTOR_BYTES), Cut::Scattered),
        };
        (Self { now: found.clone(), durable: found, pending: Vec::new() }, cut)
    }

    /// A prefix of what was done, and of the last of it a prefix of its sectors.
    fn torn(&self, chance: &mut Chance) -> Vec<u8> {
        let mut found = self.durable.clone();
        let whole = index(chance, self.pending.len());
        for pending in &self.pending[..whole] {
            match pending {
                Pending::Write { offset, bytes } => put(&mut found, *offset, bytes),
                Pending::Length(len) => found.resize(*len, 0),
            }
        }
        if let Pending::Write { offset, bytes } = &self.pending[whole] {
            let sectors = pieces(*offset, bytes, SECTOR_BYTES);
            let kept = index(chance, sectors.len() + 1);
            sectors[..kept].iter().for_each(|(offset, bytes)| put(&mut found, *offset, bytes));
        }
        found
    }

    /// Each piece of what was done by the toss of a coin. What a longer file has between may be anything.
    fn scattered(&self, chance: &mut Chance, piece_bytes: usize) -> Vec<u8> {
        let mut found = self.durable.clone();
        let filler = if chance.below(2) == 0 { 0 } else { chance.bits() as u8 };
        for pending in &self.pending {
            match pending {
                Pending::Length(len) => {
                    if chance.below(2) == 0 {
                        found.resize(*len, filler);
                    }
                }
                Pending::Write { offset, bytes } => {
                    for (offset, bytes) in pieces(*offset, bytes, piece_bytes) {
                        if chance.below(2) == 0 {
                            if found.len() < offset {
                                found.resize(offset, filler);
                            }
                            put(&mut found, offset, bytes);
                        }
                    }
                }
            }
        }
        found
    }
}

fn index(chance: &mut Chance, limit: usize) -> usize {
    chance.below(limit as u64) as usize
}

fn put(file: &mut Vec<u8>, offset: usize, bytes: &[u8]) {
    let end = offset + bytes.len();
    if file.len() == offset {
        return file.extend_from_slice(bytes);
    }
    if file.len() < end {
        file.resize(end, 0);
    }
    file[offset..end].copy_from_slice(bytes);
}

/// Splits a write at the boundaries of pieces of the disk.
fn pieces(offset: usize, bytes: &[u8], piece_bytes: usize) -> Vec<(usize, &[u8])> {
    let mut pieces = Vec::new();
    let (mut at, mut rest) = (offset, bytes);
    while !rest.is_empty() {
        let count = (piece_bytes - at % piece_bytes).min(rest.len());
        let (piece, after) = rest.split_at(count);
        pieces.push((at, piece));
        (at, rest) = (at + count, after);
    }
    pieces
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
mod tests {
    use super::*;

    fn written() -> File {
        let mut file = File::default();
        file.write(0, &[1; 2_000]);
        file.sync();
        file.write(100, &[2; 1_500]);
        file.write(1_800, &[3; 700]);
        file
    }

    #[test]
    fn what_was_synced_is_there_after_any_cut() {
        let file = written();
        for seed in 0..200 {
            let (found, _) = file.after_cut(&mut Chance::new(seed));
            let mut read = [0; 100];
            assert_eq!(found.read(0, &mut read), 100);
            assert_eq!(read, [1; 100]);
            assert!(found.len() >= 2_000);
        }
    }

    #[test]
    fn the_unsynced_part_is_met_in_every_state() {
        let file = written();
        let cuts: Vec<Cut> = (0..200).map(|seed| file.after_cut(&mut Chance::new(seed)).1).collect();
        for cut in [Cut::Lost, Cut::Kept, Cut::Torn, Cut::Scattered] {
            assert!(cuts.contains(&cut), "{cut:?}");
        }
        let lens: Vec<usize> = (0..200).map(|seed| file.after_cut(&mut Chance::new(seed)).0.len()).collect();
        // The second write ends within a sector: it may end at the boundary before, at 2,048.
        assert!(lens.contains(&2_000) && lens.contains(&2_048) && lens.contains(&2_500));
    }

    #[test]
    fn a_later_write_may_survive_an_earlier_one() {
        let file = written();
        let is_late_only = |seed: u64| {
            let (found, _) = file.after_cut(&mut Chance::new(seed));
            let mut read = [0; 1];
            let early = (found.read(600, &mut read), read[0]).1;
            let late = (found.read(1_900, &mut read), read[0]).1;
            (early, late) == (1, 3)
        };
        assert!((0..200).any(is_late_only));
    }

    #[test]
    fn what_a_failed_sync_forgot_is_seen_and_yet_not_on_disk() {
        let mut file = written();
        file.forget_unsynced();
        file.sync();
        let mut read = [0; 1];
        file.read(2_400, &mut read);
        assert_eq!(read, [3]);
        assert_eq!(file.after_cut(&mut Chance::new(1)).0.len(), 2_000);
    }
}
