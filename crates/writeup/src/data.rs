//! The records behind a write-up as plain tables with described columns, so that anyone can recompute its results.
//!
//! Numbers that were typed stand as typed, computed ones unrounded. What a write-up may not tell is not in it: names of sites,
//! addresses, serial numbers, names of people, notes. Leaves out how tables are written: `tables` makes CSV of them, `package`
//! describes them.

mod bands;
mod cell;
mod changes;
mod money;
mod names;
mod others;
mod records;
mod sets;

use storypole_findings::SetFinding;

use crate::scope::Scope;
use names::Names;

/// Every table, in reading order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Data {
    /// The tables.
    pub tables: Vec<DataTable>,
}

impl Data {
    /// The table of a name, where there is one.
    pub fn table(&self, name: &str) -> Option<&DataTable> {
        self.tables.iter().find(|table| table.name == name)
    }
}

/// Everything the results of a write-up rest on, and the results. Tables without a row are left out.
pub(crate) fn of(scope: &Scope<'_>) -> Data {
    let from = &From { scope, names: Names::of(scope), sets: sets_of(scope) };
    let tables = [
        records::jobs(from),
        records::assemblies(from),
        records::tests(from),
        records::sets(from),
        records::positions(from),
        records::readings(from),
        records::bands(from),
        records::conditions(from),
        sets::results(from),
        changes::changes(from),
        changes::budget(from),
        changes::pooled(from),
        bands::results(from),
        bands::ratings(from),
        bands::changes(from),
        others::bench_results(from),
        others::bench_pairs(from),
        others::thermal(from),
        others::quantity_results(from),
        others::quantity_changes(from),
        others::quantity_budget(from),
        money::costs(from),
        money::stock_left(from),
    ];
    Data { tables: tables.into_iter().filter(|table| !table.rows.is_empty()).collect() }
}

/// What tables are made from.
struct From<'a, 'b> {
    scope: &'a Scope<'b>,
    names: Names,
    /// Every set, those of untouched walls last within their test.
    sets: Vec<&'a SetFinding>,
}

/// Every set of the tests, those of untouched walls too.
fn sets_of<'a>(scope: &'a Scope<'_>) -> Vec<&'a SetFinding> {
    let of_test = scope.tests.iter().flat_map(|test| test.groups.iter().chain(&test.controls));
    of_test.flat_map(|group| &group.sets).map(AsRef::as_ref).collect()
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

#[cfg(test)]
mod tests;
