//! The whole log as text that people and other programs can read, and a copy of the notebook made from it.
//!
//! Reading order: [`value`] (a stored value as JSON that gives the same bytes back), [`mod@line`] (what stands in a
//! line), [`write`](mod@write), [`read`].
//!
//! JSON Lines: the first line is the header, then every change in the order in which it came to this device, each
//! signature behind the change it ends with, then branches that do not count, then the attached files if they are
//! asked for, then the end with what was counted. Left out on purpose: keys of devices, sessions, partners.

pub mod line;
pub mod read;
pub mod value;
pub mod write;

pub use read::{ImportError, Imported, Problem, Replica, header_of, make_replica};
pub use write::{ExportError, Exported, Place};

/// What the header calls the format.
pub const FORMAT: &str = "storypole-export";

/// The form that is written and the last that is read.
pub const VERSION: u64 = 1;

/// Name of the lines in a folder.
pub const LINES: &str = "log.jsonl";

/// Folder of the attached files beside the lines.
pub const FILES: &str = "files";
