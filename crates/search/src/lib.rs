//! Finding past work by words: a tantivy index over the store's views. The only crate that knows tantivy.
//!
//! Reading order: [`index`] (opening the folder, following the log, putting on disk, making anew), `mark` (where the log
//! stood, what changed since), `document` and `built` (what is searchable of each kind of record), `columns` (what
//! every hit tells without being read), `pending` (what waits in memory), [`view`] (one state to be searched), [`scan`]
//! (every document that matches), `statistics`, `analyse` and `stem` (how text becomes words), [`vocabulary`] and the file
//! `words.txt` (words that mean the same), [`question`] (reading what a person typed), `near` (words spelt alike), [`facts`]
//! (what can be asked beside words), [`mod@answer`], `snippet`, [`suggest`], [`like`] (walls built alike).
//!
//! The index is disposable: whatever is wrong with it, it is made anew from the tables. Addresses, serial numbers and
//! prices of single lines are not in it; of people only the role is.
//!
//! Left out on purpose: any answer for the log. A hit names a record; what the record says is read from the store.

mod analyse;
pub mod answer;
mod built;
pub mod columns;
mod document;
mod error;
pub mod facts;
pub mod like;
mod mark;
mod near;
mod pending;
pub mod question;
pub mod scan;
mod snippet;
mod statistics;
mod stem;
pub mod suggest;
pub mod view;
pub mod vocabulary;
mod wording;

pub mod find;
pub mod index;

pub use answer::{Answer, Search, answer};
pub use error::SearchError;
pub use find::{Hit, Matched, Piece, Query};
pub use index::{Followed, Index, IndexState, Patience};
pub use view::View;
