//! Tables of data as CSV.
//!
//! Cells are written as they are. Text that a spreadsheet could take for a formula is quoted, and no more: a mark put before it
//! would be another text. Leaves out what the columns mean: see `package`.
//!
//! # Source
//! RFC 4180: lines end with CR and LF, quotes inside quotes are doubled. UTF-8 without a byte order mark.

use crate::data::DataTable;

/// What ends a line.
pub const LINE_END: &str = "\r\n";

/// One table with a line of heads.
pub fn csv(table: &DataTable) -> Vec<u8> {
    let heads: Vec<Option<&str>> = table.columns.iter().map(|column| Some(column.name)).collect();
    let mut out = line(&heads);
    for row in &table.rows {
        let cells: Vec<Option<&str>> = row.iter().map(Option::as_deref).collect();
        out.push_str(&line(&cells));
    }
    out.into_bytes()
}

fn line(cells: &[Option<&str>]) -> String {
    // A line of one empty cell would be no line at all.
    let is_bare = cells.len() > 1;
    let written = cells.iter().map(|cell| match cell {
        None if is_bare => String::new(),
        None => "\"\"".to_owned(),
        Some(text) if is_quoted(text) => format!("\"{}\"", text.replace('"', "\"\"")),
        Some(text) => (*text).to_owned(),
    });
    let mut line = written.collect::<Vec<_>>().join(",");
    line.push_str(LINE_END);
    line
}

/// Whether a cell needs quotes, or is clearer with them.
fn is_quoted(text: &str) -> bool {
    let is_at_edge = |letter: char| letter.is_whitespace() || letter == '\u{feff}';
    let could_run = text.starts_with(['=', '+', '-', '@']) && text.parse::<f64>().is_err();
    text.is_empty()
        || could_run
        || text.contains([',', '"', '\r', '\n'])
        || text.starts_with(is_at_edge)
        || text.ends_with(is_at_edge)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::data::{Column, ColumnKind};

    fn table(rows: Vec<Vec<Option<String>>>) -> DataTable {
        let column = |name| Column { name, kind: ColumnKind::Text, unit: None, about: "" };
        let names = ["one", "two", "three"];
        let width = rows.first().map_or(3, Vec::len);
        DataTable {
            name: "cells",
            about: "",
            columns: names.into_iter().take(width).map(column).collect(),
            key: Vec::new(),
            refers: Vec::new(),
            rows,
        }
    }

    fn row(cells: &[&str]) -> Vec<Option<String>> {
        cells.iter().map(|cell| Some((*cell).to_owned())).collect()
    }

    /// RFC 4180, section 2: rules 5 to 7 with the examples there, and what the project adds.
    #[test]
    fn cells_are_quoted_where_they_must_be() {
        let rows = vec![
            row(&["aaa", "b\r\nbb", "ccc"]),
            row(&["aaa", "b\"bb", "ccc"]),
            vec![Some("a,b".to_owned()), None, Some(String::new())],
            row(&["=1+1", "-3.2", "- a point"]),
            row(&["+11.2", "@home", " edge"]),
        ];
        let expected = "one,two,three\r\naaa,\"b\r\nbb\",ccc\r\naaa,\"b\"\"bb\",ccc\r\n\"a,b\",,\"\"\r\n\
                        \"=1+1\",-3.2,\"- a point\"\r\n+11.2,\"@home\",\" edge\"\r\n";
        assert_eq!(String::from_utf8(csv(&table(rows))).unwrap(), expected);
        assert_eq!(csv(&table(vec![vec![None]])), b"one\r\n\"\"\r\n");
    }

    proptest! {
        /// A reader of another hand, the `csv` crate, finds the very cells.
        #[test]
        fn any_cells_are_read_back(
            rows in (1usize..4).prop_flat_map(|width| {
                let cell = proptest::option::of(prop_oneof!["[\"',\r\n=+@; a-c-]{0,6}", any::<String>()]);
                proptest::collection::vec(proptest::collection::vec(cell, width), 1..8)
            }),
        ) {
            let bytes = csv(&table(rows.clone()));
            let mut reader = ::csv::ReaderBuilder::new().flexible(false).from_reader(bytes.as_slice());
            let read: Vec<Vec<String>> = reader
                .records()
                .map(|record| record.unwrap().iter().map(str::to_owned).collect())
                .collect();
            let wanted: Vec<Vec<String>> =
                rows.into_iter().map(|row| row.into_iter().map(Option::unwrap_or_default).collect()).collect();
            prop_assert_eq!(read, wanted);
        }
    }
}
