//! Write-ups: what a job or a test showed, as a document that others can check, and as Markdown.
//!
//! Reading order: [`subject`] (what a write-up is about and what the author adds), `privacy` (what never leaves the
//! notebook), `scope` (the records it rests on), `sections` (one function for each part, in a fixed order),
//! [`mod@document`] (the parts as typed blocks of plain text), `cautions` (what a reader is warned of), [`mod@markdown`]
//! (the document as a file).
//!
//! Pure: the same notebook and choices give the same document, byte by byte. Left out: pictures, HTML, captions and
//! the data package, and where a file is put.

mod cautions;
mod compose;
pub mod document;
pub mod markdown;
mod privacy;
mod scope;
mod sections;
pub mod sketch;
pub mod subject;

#[cfg(test)]
mod fixture;

pub use compose::document;
pub use document::{Block, Caution, Cell, Document, Section, Table, Topic};
pub use markdown::markdown;
pub use subject::{Choices, Correction, NextStep, Subject, WriteUpError};
