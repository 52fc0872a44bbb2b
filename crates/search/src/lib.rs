//! Finding past work by words: a tantivy index over the store's views. The only crate that knows tantivy.
//!
//! Reading order: [`index`] (opening the folder, following the log), `mark` (where the log stood, what changed
//! since), `document` (what is searchable of each kind of record), `analyse` and `stem` (how text becomes words), [`vocabulary`] and the file `words.txt` (words
//! that mean the same), `wording` (reading what a person typed), [`find`] (matching and ranking), `snippet`.
//!
//! The index is disposable: whatever is wrong with it, it is deleted and made anew from the tables. Addresses,
//! serial numbers and prices of single lines are not in it; of people only the role is.
//!
//! Left out on purpose: any answer for the log. A hit names a record; what the record says is read from the store.

mod analyse;
mod document;
mod error;
pub mod facts;
pub mod like;
mod mark;
mod near;
pub mod question;
mod snippet;
mod stem;
pub mod vocabulary;
mod wording;

pub mod find;
pub mod index;

pub use error::SearchError;
pub use find::{Hit, Matched, Piece, Query};
pub use index::{Followed, Index, IndexState};
