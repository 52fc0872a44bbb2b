//! The replicated log, pure: what is written, how it is ordered, who may write, which value holds.
//!
//! Reading order: a [`Draft`] of writes becomes a [`Change`] in a device's series ([`series`]), which the
//! device signs ([`sign`]); a [`Vector`] says how much of every series a copy holds; [`membership`] says
//! which of it counts, and [`branches`] which branch of a series that forked; [`register`] says which values
//! hold; [`MemoryLog`] puts it all together in memory.
//!
//! Left out: files, sockets, clocks and random numbers (the caller brings times and ids), and the meaning
//! of any payload but that of membership.

pub mod branches;
pub mod cbor;
pub mod change;
mod circle;
pub mod draft;
pub mod ids;
pub mod log;
pub mod membership;
pub mod name;
pub mod payload;
pub mod register;
pub mod series;
pub mod sign;
mod small;
pub mod stamp;
pub mod standing;
pub mod state;
pub mod vector;

pub use change::{Change, ChangeHash, DecodeError, first_prev};
pub use draft::{Draft, DraftError, Write, WriteId, WrittenAt};
pub use ids::{DeviceId, DraftId, IdError, NotebookId, RecordId};
pub use log::{MemoryLog, Received, TakeError, Taken};
pub use membership::{MembershipWrite, Revocation, Role};
pub use name::{Name, NameError};
pub use payload::{Payload, PayloadError};
pub use register::{Applied, FieldState, Head, Merged, Place, RecordState, Replaced, merge_equal};
pub use series::{SeriesError, SeriesHead};
pub use sign::{DeviceKey, PublicKey, SeriesSignature, SignatureError};
pub use stamp::{Clock, Stamp};
pub use standing::{Limit, Member, Standing};
pub use vector::{Entry, Fork, Span, Vector};
