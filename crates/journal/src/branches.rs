//! The branches of a series that forked, and which of them counts.
//!
//! A series forks when its data folder was copied and both copies write. The branch that counts follows from the
//! set of changes and signatures alone, so that every device that met the same chooses the same:
//!
//! 1. Only what a signature covers competes; what none covers anyone could have made up.
//! 2. From the beginning of the series on, wherever it forks: a change on the way to a *preferred* one goes first
//!    (where a keeper's limit names the change it was set at, that branch was meant), else the one of least hash.
//!
//! How far a branch goes does not matter: a longer one is no better, and lengths change.

use std::collections::{BTreeMap, BTreeSet};

use crate::change::ChangeHash;
use crate::stamp::Stamp;

/// A change that stands beside the series held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Beside {
    /// Its number.
    pub seq: u64,
    /// Its hash.
    pub hash: ChangeHash,
    /// The hash of the one before it.
    pub prev: ChangeHash,
    /// Its stamp.
    pub stamp: Stamp,
    /// Whether a signature of the device over the series up to this very change holds.
    pub is_signed: bool,
}

/// The series as it is held.
pub trait HeldSeries {
    /// Why it could not be read.
    type Error;

    /// Hash and stamp of the last of the first `count` changes, if so many are held; of none,
    /// [`first_prev`](crate::first_prev) and a stamp of 0.
    fn at(&self, count: u64) -> Result<Option<(ChangeHash, Stamp)>, Self::Error>;

    /// How many changes a signature covers.
    fn covered(&self) -> u64;
}

/// A branch that counts in place of what is held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Branch {
    /// The first change that differs.
    pub from: u64,
    /// The changes from there on, all of them covered.
    pub hashes: Vec<ChangeHash>,
}

impl Branch {
    /// How many changes the series has with this branch.
    pub fn count(&self) -> u64 {
        self.from + self.hashes.len() as u64
    }
}

/// A change that the branch that counts should hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Preferred {
    /// How many changes the series has with it.
    pub count: u64,
    /// Its hash.
    pub hash: ChangeHash,
}

/// All branches of one series that signatures cover.
#[derive(Debug)]
pub struct Branches<S> {
    held: S,
    beside: Vec<Beside>,
    by_hash: BTreeMap<ChangeHash, usize>,
    /// Covered changes by the one before them, where that stands beside the series too.
    following: BTreeMap<ChangeHash, Vec<usize>>,
    /// Covered changes by their number, where the one before them is held.
    leaving: BTreeMap<u64, Vec<usize>>,
}

/// What a preferred change asks for.
struct Way {
    /// Up to this count the series as it is held.
    held_upto: u64,
    beside: BTreeSet<ChangeHash>,
}

impl<S: HeldSeries> Branches<S> {
    /// Sorts the changes that stand beside a series.
    ///
    /// # Errors
    /// The series cannot be read.
    pub fn new(held: S, beside: Vec<Beside>) -> Result<Self, S::Error> {
        let by_hash: BTreeMap<ChangeHash, usize> = (0..).zip(&beside).map(|(at, of)| (of.hash, at)).collect();
        let covered = covered(&beside, &by_hash);
        let mut branches =
            Self { held, beside, by_hash, following: BTreeMap::new(), leaving: BTreeMap::new() };
        for at in covered {
            let Beside { seq, prev, stamp, .. } = branches.beside[at];
            if let Some(before) = branches.by_hash.get(&prev).map(|before| branches.beside[*before]) {
                if before.seq.checked_add(1) == Some(seq) && before.stamp < stamp {
                    branches.following.entry(prev).or_default().push(at);
                }
            } else if branches.held.at(seq)?.is_some_and(|(hash, last)| hash == prev && last < stamp) {
                branches.leaving.entry(seq).or_default().push(at);
            }
        }
        Ok(branches)
    }

    /// Chooses the branch that counts; `None` where that is the series as it is held. Of the preferred changes the
    /// first one that is known goes first.
    ///
    /// # Errors
    /// The series cannot be read.
    pub fn choose(&self, preferred: &[Preferred]) -> Result<Option<Branch>, S::Error> {
        let ways: Vec<Way> = preferred
            .iter()
            .filter_map(|preferred| self.way(preferred).transpose())
            .collect::<Result<_, _>>()?;
        for (from, leaving) in &self.leaving {
            let next = from.saturating_add(1);
            let staying = self.held.at(next)?.filter(|_| *from < self.held.covered()).map(|(hash, _)| hash);
            let hashes = leaving.iter().map(|at| self.beside[*at].hash);
            let is_on = |way: &Way, hash: &ChangeHash| {
                if staying == Some(*hash) { next <= way.held_upto } else { way.beside.contains(hash) }
            };
            let Some(first) = pick(hashes.chain(staying), &ways, is_on) else { continue };
            if staying != Some(first) {
                return Ok(Some(Branch { from: *from, hashes: self.follow(first, &ways) }));
            }
        }
        Ok(None)
    }

    /// The branch from one change on.
    fn follow(&self, first: ChangeHash, ways: &[Way]) -> Vec<ChangeHash> {
        let mut hashes = vec![first];
        while let Some(following) = hashes.last().and_then(|last| self.following.get(last)) {
            let candidates = following.iter().map(|at| self.beside[*at].hash);
            hashes.extend(pick(candidates, ways, |way, hash| way.beside.contains(hash)));
        }
        hashes
    }

    /// The way to a preferred change, if it is known and covered.
    fn way(&self, preferred: &Preferred) -> Result<Option<Way>, S::Error> {
        let held = self.held.at(preferred.count)?.is_some_and(|(hash, _)| hash == preferred.hash);
        if held && preferred.count <= self.held.covered() {
            return Ok(Some(Way { held_upto: preferred.count, beside: BTreeSet::new() }));
        }
        let mut beside = BTreeSet::new();
        let mut hash = preferred.hash;
        while let Some(at) = self.by_hash.get(&hash) {
            let change = &self.beside[*at];
            beside.insert(hash);
            let is_among = |of: Option<&Vec<usize>>| of.is_some_and(|of| of.contains(at));
            if is_among(self.leaving.get(&change.seq)) {
                return Ok(Some(Way { held_upto: change.seq, beside }));
            }
            if !is_among(self.following.get(&change.prev)) {
                break;
            }
            hash = change.prev;
        }
        Ok(None)
    }
}

/// The first on a way, else the least.
fn pick(
    hashes: impl Iterator<Item = ChangeHash> + Clone,
    ways: &[Way],
    is_on: impl Fn(&Way, &ChangeHash) -> bool,
) -> Option<ChangeHash> {
    let wanted = ways.iter().find_map(|way| hashes.clone().find(|hash| is_on(way, hash)));
    wanted.or_else(|| hashes.min())
}

/// The changes at or before a signed one.
fn covered(beside: &[Beside], by_hash: &BTreeMap<ChangeHash, usize>) -> BTreeSet<usize> {
    let mut covered = BTreeSet::new();
    for signed in (0..beside.len()).filter(|at| beside[*at].is_signed) {
        let mut at = Some(signed);
        while let Some(next) = at.filter(|at| covered.insert(*at)) {
            at = by_hash.get(&beside[next].prev).copied();
        }
    }
    covered
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;

    use super::*;

    /// A series whose changes have the hashes given.
    struct Held {
        hashes: Vec<u8>,
        covered: u64,
    }

    fn hash(byte: u8) -> ChangeHash {
        ChangeHash([byte; 32])
    }

    impl HeldSeries for Held {
        type Error = Infallible;

        fn at(&self, count: u64) -> Result<Option<(ChangeHash, Stamp)>, Infallible> {
            let Some(index) = count.checked_sub(1) else { return Ok(Some((hash(0), Stamp(0)))) };
            Ok(self.hashes.get(index as usize).map(|byte| (hash(*byte), Stamp(10 * count))))
        }

        fn covered(&self) -> u64 {
            self.covered
        }
    }

    /// A change `(seq, hash, prev)`; signed where the hash is even.
    fn beside(changes: &[(u64, u8, u8)]) -> Vec<Beside> {
        let change = |(seq, of, prev): &(u64, u8, u8)| Beside {
            seq: *seq,
            hash: hash(*of),
            prev: hash(*prev),
            stamp: Stamp(10 * (seq + 1)),
            is_signed: of % 2 == 0,
        };
        changes.iter().map(change).collect()
    }

    fn chosen(held: &[u8], covered: u64, changes: &[(u64, u8, u8)], preferred: &[(u64, u8)]) -> Vec<u8> {
        let held = Held { hashes: held.to_vec(), covered };
        let mut whole = held.hashes.clone();
        let branches = Branches::new(held, beside(changes)).unwrap();
        let preferred: Vec<_> =
            preferred.iter().map(|(count, of)| Preferred { count: *count, hash: hash(*of) }).collect();
        if let Some(branch) = branches.choose(&preferred).unwrap() {
            assert_eq!(branch.count(), branch.from + branch.hashes.len() as u64);
            whole.truncate(branch.from as usize);
            whole.extend(branch.hashes.iter().map(|hash| hash.0[0]));
        }
        whole
    }

    /// Cases worked out by hand from the two rules.
    #[test]
    fn the_least_hash_at_the_first_difference_counts() {
        // After 10: 20 then 22, or 30 then 12.
        assert_eq!(chosen(&[10, 20, 22], 3, &[(1, 30, 10), (2, 12, 30)], &[]), [10, 20, 22]);
        assert_eq!(chosen(&[10, 30, 12], 3, &[(1, 20, 10), (2, 22, 20)], &[]), [10, 20, 22]);
        // A shorter branch is as good.
        assert_eq!(chosen(&[10, 30, 12], 3, &[(1, 20, 10)], &[]), [10, 20]);
        // A fork deeper inside, and from the very beginning.
        let deeper = [(1, 20, 10), (2, 40, 20), (2, 24, 20), (3, 50, 24)];
        assert_eq!(chosen(&[10, 30, 12], 3, &deeper, &[]), [10, 20, 24, 50]);
        assert_eq!(chosen(&[10, 20], 2, &[(0, 8, 0), (1, 60, 8)], &[]), [8, 60]);
        // What goes on where the series ends.
        assert_eq!(chosen(&[10, 20], 2, &[(2, 30, 20)], &[]), [10, 20, 30]);
    }

    #[test]
    fn what_no_signature_covers_does_not_compete() {
        assert_eq!(chosen(&[10, 30], 2, &[(1, 21, 10)], &[]), [10, 30]);
        assert_eq!(chosen(&[10, 21], 1, &[(1, 30, 10)], &[]), [10, 30]);
        // 21 is covered by the signature over 22, and 23 by none.
        let tail = [(1, 21, 10), (2, 22, 21), (3, 23, 22)];
        assert_eq!(chosen(&[10, 30], 2, &tail, &[]), [10, 21, 22]);
    }

    #[test]
    fn what_does_not_link_is_left_alone() {
        assert_eq!(chosen(&[10, 30], 2, &[(1, 20, 99), (2, 22, 98)], &[]), [10, 30]);
        // A number that does not follow, and a change that names itself.
        assert_eq!(chosen(&[10, 30], 2, &[(1, 20, 10), (3, 12, 20), (5, 14, 14)], &[]), [10, 20]);
        let mut early = beside(&[(1, 20, 10)]);
        early[0].stamp = Stamp(10);
        let held = Held { hashes: vec![10, 30], covered: 2 };
        assert_eq!(Branches::new(held, early).unwrap().choose(&[]), Ok(None));
    }

    #[test]
    fn the_way_to_a_preferred_change_goes_first() {
        let changes = [(1, 20, 10), (2, 22, 20), (2, 24, 20)];
        assert_eq!(chosen(&[10, 30], 2, &changes, &[(2, 30)]), [10, 30]);
        assert_eq!(chosen(&[10, 30], 2, &changes, &[(3, 24)]), [10, 20, 24]);
        // One that both branches share says nothing, one that is unknown neither, and the first known one holds.
        assert_eq!(chosen(&[10, 30], 2, &changes, &[(1, 10)]), [10, 20, 22]);
        assert_eq!(chosen(&[10, 30], 2, &changes, &[(2, 99), (2, 30)]), [10, 30]);
        assert_eq!(chosen(&[10, 30], 2, &changes, &[(3, 24), (2, 30)]), [10, 20, 24]);
    }
}
