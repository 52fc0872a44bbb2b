//! The series of one device: which change may come next.

use crate::change::{Change, ChangeHash, first_prev};
use crate::ids::{DeviceId, NotebookId};
use crate::stamp::Stamp;

/// Where a series ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeriesHead {
    /// How many changes it has; the next one's `seq`.
    pub count: u64,
    /// The hash of the last change, or [`first_prev`] when there is none.
    pub hash: ChangeHash,
    /// The stamp of the last change, or 0.
    pub stamp: Stamp,
}

impl SeriesHead {
    /// Returns the head of a series without changes.
    pub fn empty(notebook: NotebookId, device: DeviceId) -> Self {
        Self { count: 0, hash: first_prev(notebook, device), stamp: Stamp(0) }
    }

    /// Returns the head after `change`, whose hash is `hash`.
    ///
    /// The caller picks the series by `change.device`.
    ///
    /// # Errors
    /// [`SeriesError`] if the change is not the next one.
    pub fn extend(&self, change: &Change, hash: ChangeHash) -> Result<Self, SeriesError> {
        if change.seq > self.count {
            return Err(SeriesError::Gap { expected: self.count, got: change.seq });
        }
        if change.seq < self.count {
            return Err(SeriesError::AlreadyHeld { count: self.count, got: change.seq });
        }
        if change.prev != self.hash {
            return Err(SeriesError::WrongPrev { seq: change.seq, held: self.hash, named: change.prev });
        }
        if change.stamp <= self.stamp {
            return Err(SeriesError::StampNotAfter { seq: change.seq, last: self.stamp, got: change.stamp });
        }
        Ok(Self { count: self.count + 1, hash, stamp: change.stamp })
    }
}

/// Why a change does not come next in its series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs)] // The messages name the fields.
pub enum SeriesError {
    /// Changes were skipped; ask again from `expected`.
    #[error("change {got} arrived before change {expected}")]
    Gap { expected: u64, got: u64 },
    /// There is a change at this place: a repeat if its hash is the same, else a fork.
    #[error("change {got} is held already, the series has {count}")]
    AlreadyHeld { count: u64, got: u64 },
    /// The chain breaks here: the series forked before, or belongs to another notebook.
    #[error("change {seq} names {named} as the one before it, held is {held}")]
    WrongPrev { seq: u64, held: ChangeHash, named: ChangeHash },
    /// The device's clock ran backwards, which no sound device lets happen.
    #[error("the stamp {} of change {seq} is not after {}", .got.0, .last.0)]
    StampNotAfter { seq: u64, last: Stamp, got: Stamp },
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Draft, WrittenAt};
    use crate::ids::{DraftId, RecordId};

    fn next(head: &SeriesHead, device: DeviceId, stamp: u64) -> Change {
        let id = DraftId::from_bytes([head.count as u8; 16]);
        let written_at = WrittenAt { unix_ms: 0, offset_min: 0 };
        let draft = Draft { id, author: RecordId::from_bytes([0; 16]), written_at, writes: Vec::new() };
        Change { device, seq: head.count, stamp: Stamp(stamp), prev: head.hash, draft }
    }

    #[test]
    fn only_the_next_change_extends() {
        let device = DeviceId::from_bytes([1; 16]);
        let notebook = NotebookId::founded_by(device);
        let empty = SeriesHead::empty(notebook, device);
        let first = next(&empty, device, 10);
        let head = empty.extend(&first, first.hash()).unwrap();
        assert_eq!(head, SeriesHead { count: 1, hash: first.hash(), stamp: Stamp(10) });

        let second = next(&head, device, 11);
        assert!(head.extend(&second, second.hash()).is_ok());
        let refused = |change: &Change| head.extend(change, change.hash()).unwrap_err();
        assert_eq!(refused(&first), SeriesError::AlreadyHeld { count: 1, got: 0 });
        let gap = Change { seq: 3, ..second.clone() };
        assert_eq!(refused(&gap), SeriesError::Gap { expected: 1, got: 3 });
        let backwards = Change { stamp: Stamp(10), ..second.clone() };
        let expected = SeriesError::StampNotAfter { seq: 1, last: Stamp(10), got: Stamp(10) };
        assert_eq!(refused(&backwards), expected);
        let broken = Change { prev: ChangeHash([9; 32]), ..second };
        assert!(matches!(refused(&broken), SeriesError::WrongPrev { seq: 1, .. }));
    }

    #[test]
    fn a_series_of_another_notebook_does_not_start_here() {
        let (device, other) = (DeviceId::from_bytes([1; 16]), DeviceId::from_bytes([2; 16]));
        let there = SeriesHead::empty(NotebookId::founded_by(other), device);
        let change = next(&there, device, 1);
        let here = SeriesHead::empty(NotebookId::founded_by(device), device);
        assert!(matches!(here.extend(&change, change.hash()), Err(SeriesError::WrongPrev { .. })));
    }
}
