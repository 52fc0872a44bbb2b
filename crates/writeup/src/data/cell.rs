//! Cells and columns written down shortly. Leaves out CSV.

use jiff::civil::Date;
use storypole_findings::Sense;
use storypole_journal::RecordId;
use storypole_units::Decimal;

use super::names::Names;
use super::{Column, ColumnKind, DataTable};

/// The value of one cell; `None` where nothing is known.
pub(super) trait Cell {
    /// As written.
    fn cell(self) -> Option<String>;
}

impl Cell for &str {
    fn cell(self) -> Option<String> {
        (!self.is_empty()).then(|| self.to_owned())
    }
}

impl Cell for &String {
    fn cell(self) -> Option<String> {
        self.as_str().cell()
    }
}

impl Cell for String {
    fn cell(self) -> Option<String> {
        Some(self).filter(|text| !text.is_empty())
    }
}

/// The shortest decimal that reads back as the same number. Zero has no sign, and what is no number is not known.
impl Cell for f64 {
    fn cell(self) -> Option<String> {
        self.is_finite().then(|| if self == 0.0 { "0".to_owned() } else { self.to_string() })
    }
}

impl Cell for Sense {
    fn cell(self) -> Option<String> {
        Some(sense(self).to_owned())
    }
}

macro_rules! as_printed {
    ($($type:ty),*) => {$(
        impl Cell for $type {
            fn cell(self) -> Option<String> {
                Some(self.to_string())
            }
        }
    )*};
}

// A typed number keeps its last zeros: they tell the step of the meter. A day is printed by ISO 8601.
as_printed!(bool, usize, i64, i32, char, Decimal, Date);

impl<T: Cell> Cell for Option<T> {
    fn cell(self) -> Option<String> {
        self.and_then(Cell::cell)
    }
}

/// A row of cells of differing types.
macro_rules! row {
    ($($value:expr),* $(,)?) => {
        vec![$(crate::data::cell::Cell::cell($value)),*]
    };
}
pub(super) use row;

/// How the true value stands to a number, as in the package.
pub(super) fn sense(sense: Sense) -> &'static str {
    match sense {
        Sense::Exact => "exact",
        Sense::AtLeast => "at-least",
        Sense::AtMost => "at-most",
        Sense::Undetermined => "undetermined",
    }
}

/// What each bound means, for columns of them.
pub(super) const BOUND: &str = "How the true value stands to the number: exact, at-least, at-most, or undetermined where it is bounded from both sides";

/// Names of records, for a column that names several.
pub(super) fn several(names: &Names, records: &[RecordId]) -> Option<String> {
    let names: Vec<&str> = records.iter().filter_map(|record| names.get(*record)).collect();
    names.join("; ").cell()
}

pub(super) const fn text(name: &'static str, about: &'static str) -> Column {
    Column { name, kind: ColumnKind::Text, unit: None, about }
}

pub(super) const fn number(name: &'static str, unit: &'static str, about: &'static str) -> Column {
    let unit = if unit.is_empty() { None } else { Some(unit) };
    Column { name, kind: ColumnKind::Number, unit, about }
}

pub(super) const fn count(name: &'static str, about: &'static str) -> Column {
    Column { name, kind: ColumnKind::Integer, unit: None, about }
}

pub(super) const fn day(name: &'static str, about: &'static str) -> Column {
    Column { name, kind: ColumnKind::Day, unit: None, about }
}

pub(super) const fn flag(name: &'static str, about: &'static str) -> Column {
    Column { name, kind: ColumnKind::Flag, unit: None, about }
}

impl DataTable {
    /// A table without rows, with its first column as its key.
    pub(super) fn new(name: &'static str, about: &'static str, columns: Vec<Column>) -> Self {
        let key = columns.first().map(|column| column.name).into_iter().collect();
        Self { name, about, columns, key, refers: Vec::new(), rows: Vec::new() }
    }

    /// With several columns as its key.
    pub(super) fn keyed(mut self, key: &[&'static str]) -> Self {
        self.key = key.to_vec();
        self
    }

    /// With a column that names a row of another table by that table's key.
    pub(super) fn refers(mut self, own: &'static str, table: &'static str, its: &'static str) -> Self {
        self.refers.push((own, table, its));
        self
    }

    /// With its rows.
    pub(super) fn rows(mut self, rows: impl IntoIterator<Item = Vec<Option<String>>>) -> Self {
        self.rows.extend(rows);
        debug_assert!(
            self.rows.iter().all(|row| row.len() == self.columns.len()),
            "{}: rows have as many cells as columns",
            self.name
        );
        self
    }
}
