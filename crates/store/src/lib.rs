//! SQLite: the log, the tables projected from it, and the attachments. The only crate that knows SQL.
//!
//! Reading order: [`schema`] (migrations, and the tables made from the kinds), [`store`] (opening, taking
//! drafts, receiving changes), `project` (how a change becomes rows), `batch` (how many do), `standing` (whose
//! changes count), `forks` (which branch of a series does), [`anew`] (this copy becomes a new device), [`read`] (what
//! readers ask), [`history`] (what was written on a record), [`since`] (what another device lacks), [`aside`] (what is kept and does not count), [`digest`],
//! [`verify`], [`snapshot`] (copies, and everything item by item), [`sessions`] (browsers that were let in),
//! [`partners`] (addresses), [`settings`] (of this copy), `own` (what this device may do), [`attachments`].
//!
//! Left out on purpose: which drafts are refused (`notebook::door`), threads and queues (`desk`).

mod arrive;
mod batch;
mod columns;
mod forks;
mod location;
mod own;
mod project;
mod standing;

pub mod anew;
pub mod aside;
pub mod attachments;
pub mod digest;
pub mod error;
pub mod history;
pub mod partners;
pub mod read;
pub mod schema;
pub mod sessions;
pub mod settings;
pub mod since;
pub mod snapshot;
pub mod store;
pub mod verify;

pub use anew::{Anew, Begun};
pub use error::StoreError;
pub use forks::OwnFork;
pub use location::Location;
pub use own::MembershipMark;
pub use read::Reader;
pub use sessions::{Session, SessionHash};
pub use store::{Identity, Parcel, Received, Store, Taken};
