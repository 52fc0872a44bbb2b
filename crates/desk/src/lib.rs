//! One open notebook on this device: taking drafts, receiving changes, reading, attachments, the index.
//!
//! Reading order: [`folder`] (the data folder, its lock, the device's key), [`desk`] (the open notebook),
//! `writer` (the one thread that writes), [`listeners`] (who hears of it), `readers`, `shelf` and `finder` (what
//! is kept open for the next question), [`members`] (who belongs to the notebook), `anew` (this copy becomes a new
//! device), `sessions` (browsers that were let in), [`partners`] (addresses), [`edge`] (the clock and random numbers,
//! which nothing below sees), [`attached`] (files that records name, and which of them are here), [`thumbnails`] (small
//! copies of pictures), [`known`] and [`names`] (finding records by what people call them), [`intake`] (files users
//! wrote), [`example`] (an invented one), [`view`] (what the notebook shows, as JSON), [`pass`] and [`backup`] (the whole notebook in one file, and a
//! new copy from it), [`export`] (the whole log as text, and back), [`publish`] and [`handout`] (write-ups and their files),
//! [`checkup`] (whether all that is stored is whole).
//!
//! Left out on purpose: HTTP, printing, and every rule of the trade.

mod anew;
pub mod attached;
pub mod backup;
pub mod checkup;
pub mod desk;
pub mod edge;
pub mod example;
pub mod export;
mod finder;
pub mod folder;
pub mod handout;
mod hex;
pub mod intake;
pub mod known;
pub mod listeners;
pub mod members;
pub mod names;
pub mod partners;
pub mod pass;
pub mod publish;
mod readers;
pub mod reasons;
pub mod recording;
mod sessions;
mod shelf;
pub mod thumbnails;
pub mod view;
mod writer;

pub use desk::{Desk, DeskError, Founding};
pub use folder::{DataFolder, FolderError};
pub use known::Known;
pub use members::{MembersError, Membership};
pub use pass::RestorePass;
