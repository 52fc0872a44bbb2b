//! The records of a notebook: which kinds there are, their fields, how a value is parsed, stored and refused.
//!
//! Reading order: [`quantity`] (a number with its unit), [`bands`] (a number for each frequency band), [`value`] (one stored value and its encoding),
//! [`field`] (what a field takes and why it refuses), [`kinds`] (every record kind, as a table and as typed
//! structs), [`assembly`] and [`matching`] (a wall in seven parts, and when two walls count as alike),
//! [`book`] (records read together), [`cuts`] (what was cut out of a recording), [`compose`] (building drafts), [`door`] (what a draft is refused for).
//!
//! Left out on purpose: where records are stored, how heads are found (`journal`), and every rule over more
//! than one value; those are marks, computed by `ledger` and `findings`.

pub mod assembly;
pub mod bands;
pub mod book;
pub mod compose;
pub mod cuts;
pub mod door;
pub mod field;
pub mod kinds;
pub mod matching;
pub mod quantity;
pub mod value;

pub use bands::Bands;
pub use book::{Book, Meta, Row, Table};
pub use field::{FieldSpec, FieldType, Refusal};
pub use kinds::KindSpec;
pub use quantity::{Quantity, Unit};
pub use value::Value;
