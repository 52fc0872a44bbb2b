//! The records behind a write-up as plain tables with described columns, so that anyone can recompute its results.
//!
//! Leaves out how they are written: `tables` makes CSV of them, `package` describes them.

/// Every table, in reading order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Data {
    /// The tables.
    pub tables: Vec<DataTable>,
}

/// One table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DataTable {
    /// Its name: lower-case letters and hyphens, unique.
    pub name: &'static str,
    /// What one row is.
    pub about: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Columns that together name a row.
    pub key: Vec<&'static str>,
    /// Columns that name a row of another table: own column, table, its column.
    pub refers: Vec<(&'static str, &'static str, &'static str)>,
    /// Rows, as many cells each as there are columns; `None` where nothing is known.
    pub rows: Vec<Vec<Option<String>>>,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name: lower-case letters, digits and underscores.
    pub name: &'static str,
    /// What its values are.
    pub kind: ColumnKind,
    /// Unit of its numbers, where all rows have the same.
    pub unit: Option<&'static str>,
    /// What it means.
    pub about: &'static str,
}

/// What the values of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ColumnKind {
    /// Text.
    Text,
    /// A decimal number.
    Number,
    /// A whole number.
    Integer,
    /// A day, ISO 8601.
    Day,
    /// `true` or `false`.
    Flag,
}
