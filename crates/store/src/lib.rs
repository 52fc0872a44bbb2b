//! SQLite: the log, the tables projected from it, and the attachments. The only crate that knows SQL.
//!
//! Reading order: [`schema`] (migrations, and the tables made from the kinds), [`store`] (opening, taking
//! drafts, receiving changes), `project` (how a change becomes rows), `standing` (whose changes count), `forks`
//! (which branch of a series does), [`anew`] (this copy becomes a new device), [`read`] (what readers ask),
//! [`since`] (what another device lacks), [`aside`] (what is kept and does not count), [`digest`], [`verify`],
//! [`snapshot`] (copies, and everything item by item), [`sessions`] (browsers that were let in), [`attachments`].
//!
//! Left out on purpose: which drafts are refused (`notebook::door`), threads and queues (`desk`).

mod arrive;
mod columns;
mod forks;
mod project;
mod standing;

pub mod anew;
pub mod aside;
pub mod attachments;
pub mod digest;
pub mod error;
pub mod read;
pub mod schema;
pub mod sessions;
pub mod since;
pub mod snapshot;
pub mod store;
pub mod verify;

pub use anew::{Anew, Begun};
pub use error::StoreError;
pub use forks::OwnFork;
pub use read::Reader;
pub use sessions::{Session, SessionHash};
pub use store::{Identity, Parcel, Received, Store, Taken};
