//! Write-ups: what a job or a test showed, as a document that others can check, and as Markdown.
//!
//! Reading order: [`subject`] (what a write-up is about and what the author adds), `privacy` (what never leaves the
//! notebook), `scope` (the records it rests on), `sections` (one function for each part, in a fixed order),
//! [`mod@document`] (the parts as typed blocks of plain text), `cautions` (what a reader is warned of), [`mod@data`] (the
//! readings behind it), [`mod@photo`] (photographs without what cameras hide in them), [`mod@markdown`] (the document as text) and
//! [`mod@files`] (everything it can become: pages, cards, chapters, data).
//!
//! Pure: the same notebook and choices give the same files, byte by byte. Left out: where a file is put.

mod cautions;
mod compose;
pub mod data;
pub mod document;
pub mod files;
pub mod markdown;
pub mod photo;
mod privacy;
mod scope;
mod sections;
pub mod sketch;
pub mod subject;

#[cfg(test)]
mod fixture;

pub use compose::document;
pub use document::{Block, Caution, Cell, Document, Figure, Headline, Section, Table, Topic};
pub use files::{CardShape, File, FileError, Format, Wanted, files};
pub use markdown::markdown;
pub use subject::{Choices, Correction, NextStep, Subject, WriteUpError};
