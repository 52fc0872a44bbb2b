//! Why a session ends, in words that say what to do next.

use storypole_journal::NotebookId;

use crate::message::{Farewell, MessageError};
use crate::wire::{BatchError, ParcelError};

/// Why a session ended. Whatever the reason, what was taken stays, and another session goes on from there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// This end was told to leave.
    #[error("the session was ended here")]
    Done,
    /// The other end left.
    #[error("the other end left: {}", .farewell.note)]
    Left {
        /// What it said.
        farewell: Farewell,
    },
    /// The two do not keep the same notebook.
    #[error(
        "the other end keeps notebook {theirs}: check its address, or join that notebook in a new folder"
    )]
    OtherNotebook {
        /// What it keeps.
        theirs: NotebookId,
    },
    /// The other end speaks later versions only.
    #[error("the other end speaks version {theirs} and no earlier one: update this program")]
    TooOld {
        /// The greatest version it named.
        theirs: u64,
    },
    /// The other end speaks earlier versions only.
    #[error("the other end speaks no version later than {theirs}: update the program there")]
    TooNew {
        /// The greatest version it named.
        theirs: u64,
    },
    /// A message makes no sense.
    #[error("the other end sent a message that cannot be read: check what answers at its address")]
    Message {
        /// What is wrong with it.
        #[source]
        source: MessageError,
    },
    /// A batch makes no sense.
    #[error(
        "the other end sent changes that cannot be unpacked: sync again, and update the older program if it recurs"
    )]
    Batch {
        /// What is wrong with it.
        #[source]
        source: BatchError,
    },
    /// A message that does not belong at this point.
    #[error("the other end sent {what} out of turn: sync again, and update the older program if it recurs")]
    OutOfTurn {
        /// What came.
        what: &'static str,
    },
    /// More batches than may be on their way at once.
    #[error("the other end sent more at once than agreed: update the program there")]
    Flood,
    /// Messages without end that bring nothing.
    #[error("the other end keeps sending what brings nothing new: check that device")]
    Restless,
    /// Nothing came for too long.
    #[error("the other end has fallen silent: sync again when the network is back")]
    Silent,
    /// The other end is there and does not take in what was sent.
    #[error("the other end takes in nothing any more: check its disk")]
    Stalled,
    /// The store here stopped.
    #[error("what the other end sent was not taken in: {what}")]
    Store {
        /// The store's own words.
        what: String,
    },
    /// The store here hands out what cannot be sent.
    #[error("what this device holds cannot be sent: verify the notebook here")]
    Parcel {
        /// What is wrong with it.
        #[source]
        source: ParcelError,
    },
    /// The store here hands out changes of a form that this version cannot number.
    #[error("this device holds changes of a later version: update this program")]
    Later,
}

impl Reason {
    /// Returns the number sent for it; 0 is a good end. Numbers are never used again for something else.
    pub fn code(&self) -> u64 {
        match self {
            Self::Done | Self::Left { .. } => 0,
            Self::OtherNotebook { .. } => 1,
            Self::TooOld { .. } => 2,
            Self::TooNew { .. } => 3,
            Self::Message { source: MessageError::Long { .. } } => 4,
            Self::Message { .. } => 5,
            Self::Batch { .. } => 6,
            Self::OutOfTurn { .. } => 7,
            Self::Flood => 8,
            Self::Restless => 9,
            Self::Silent => 10,
            Self::Stalled => 11,
            Self::Store { .. } => 12,
            Self::Parcel { .. } => 13,
            Self::Later => 14,
        }
    }

    /// Returns what the other end is told.
    pub fn farewell(&self) -> Farewell {
        Farewell { code: self.code(), note: self.to_string() }
    }
}
