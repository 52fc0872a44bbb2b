//! Write-ups: what a job or a test showed, as a document that others can check, and as Markdown.
//!
//! Reading order: [`subject`] (what a write-up is about and what the author adds), `stored`, `words` and `parts` (the same from
//! records: texts, order, what is left out), `privacy` (what never leaves the notebook), `scope` (the records it rests on),
//! `sections` (one function for each part), `figures`, `headline` (results in large print), `clips`, `stale` (numbers that earlier
//! editions printed otherwise), `telling` (what leaves the notebook), `compose` (all of it put together),
//! [`mod@document`] (the parts as typed blocks of plain text), `cautions` (what a reader is warned of), [`mod@data`] (the
//! readings behind it), [`mod@photo`] (photographs without what cameras hide in them), [`mod@markdown`] (the document as text) and
//! [`mod@files`] (everything it can become: pages, cards, chapters, data).
//!
//! Pure: the same notebook and choices give the same files, byte by byte. Left out: where a file is put.

mod cautions;
mod clips;
mod compose;
pub mod data;
pub mod document;
mod figures;
pub mod files;
mod headline;
pub mod markdown;
mod parts;
pub mod photo;
mod privacy;
mod scope;
mod sections;
pub mod sketch;
mod stale;
mod stored;
pub mod subject;
mod telling;
mod words;

#[cfg(test)]
mod fixture;

pub use compose::{document, stale_write_ups};
pub use document::{Block, Caution, Cell, Document, Figure, Headline, Part, Section, Table, Topic};
pub use files::{CardShape, File, FileError, Format, Wanted, files};
pub use markdown::markdown;
pub use scope::costs;
pub use stale::{numbers_of, numbers_text};
pub use stored::{stored_photos, stored_words};
pub use subject::{Choices, ChosenPhoto, Correction, NextStep, ReadingHistory, Subject, WriteUpError};
