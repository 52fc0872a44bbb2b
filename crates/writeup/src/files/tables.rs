//! Tables of data as CSV.
//!
//! # Source
//! RFC 4180.

use crate::data::DataTable;

/// One table with a line of heads.
pub fn csv(_table: &DataTable) -> Vec<u8> {
    Vec::new()
}
