//! The conversation between two devices, without IO: what they say, and as few bytes as we know how.
//!
//! Reading order: [`session`] decides what to do next, given what happened, and is the same at both ends; it
//! speaks in [`message`]s; what a message carries of the log is packed by [`wire`]. A session that breaks is
//! simply begun anew: both ends tell what they hold and go on from there. [`reason`] says why one ended.
//!
//! What must hold:
//!
//! - The receiver rebuilds the very bytes of every change. What both ends can compute is not sent, and a check
//!   over the hashes of all changes makes sure that both computed the same.
//! - Nothing is trusted. Any bytes lead to changes, or to a reason to close; memory stays bounded by
//!   [`MAX_UNPACKED`] for the one batch that is unpacked, and by the limits of a session for those that wait.
//! - Nothing is judged. Chains, signatures, forks and membership are the store's; the meaning of any value is
//!   the notebook's.
//! - A batch counts as delivered when the other end has it on disk, and not before.
//!
//! Left out: sockets, disks, clocks and randomness, and who may talk to whom.

pub mod message;
pub mod reason;
pub mod session;
mod signatures;
pub mod wire;

pub use message::{Farewell, Hello, MAX_MESSAGE_BYTES, Message, MessageError};
pub use reason::Reason;
pub use session::{Action, Event, Here, Limits, Stored, SyncSession};
pub use wire::{
    BATCH_VERSION, BatchError, Known, MAX_UNPACKED, Parcel, ParcelError, decode_batch, encode_batch,
};
