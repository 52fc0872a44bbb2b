//! Tables of the demo, its numbers held against those it was made with. Leaves out how they are written.

use std::collections::BTreeSet;

use super::*;
use crate::fixture::{Fixture, demo, small};
use crate::subject::Subject;

fn data(all: &Fixture, kind: &str, label: &str) -> Data {
    let id = all.id(kind, label);
    let subject = if kind == "job" { Subject::Job(id) } else { Subject::Test(id) };
    of(&Scope::of(&all.book, subject).unwrap())
}

/// Cells of the row whose first cell is given, by the names of columns.
fn cells(data: &Data, table: &str, first: &str, columns: &[&str]) -> Vec<String> {
    let table = data.table(table).unwrap();
    let row =
        table.rows.iter().find(|row| row[0].as_deref() == Some(first)).unwrap_or_else(|| panic!("{first}"));
    columns
        .iter()
        .map(|name| {
            let index = table.columns.iter().position(|column| column.name == *name).unwrap();
            row[index].clone().unwrap_or_default()
        })
        .collect()
}

fn close(text: &str, expected: f64) {
    let got: f64 = text.parse().unwrap();
    assert!((got - expected).abs() < 0.05 + 1e-9, "{got} instead of {expected}");
}

/// Names are names, rows are whole, keys name one row, and what is referred to is there.
#[test]
fn tables_hold_together() {
    let all = demo();
    for (kind, label) in
        [("job", "J1"), ("job", "J2"), ("job", "J5"), ("test", "Q2"), ("test", "Q5"), ("test", "Q7")]
    {
        let data = data(&all, kind, label);
        let names: BTreeSet<&str> = data.tables.iter().map(|table| table.name).collect();
        assert_eq!(names.len(), data.tables.len());
        for table in &data.tables {
            let is_plain = |name: &str, mark| {
                name.chars()
                    .all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == mark)
            };
            assert!(is_plain(table.name, '-') && !table.rows.is_empty(), "{}", table.name);
            assert!(
                table.columns.iter().all(|column| is_plain(column.name, '_') && !column.about.is_empty())
            );
            let place = |table: &DataTable, name: &str| {
                table.columns.iter().position(|column| column.name == name).unwrap()
            };
            let key: Vec<usize> = table.key.iter().map(|name| place(table, name)).collect();
            let keys: BTreeSet<Vec<&String>> = table
                .rows
                .iter()
                .map(|row| key.iter().map(|index| row[*index].as_ref().unwrap()).collect())
                .collect();
            assert_eq!(keys.len(), table.rows.len(), "{}: {:?}", table.name, table.key);
            for (own, other, its) in &table.refers {
                // Into a table that was left out nothing points.
                let other = if other.is_empty() { Some(table) } else { data.table(other) };
                let known = other.into_iter().flat_map(|other| {
                    let index = place(other, its);
                    other.rows.iter().filter_map(move |row| row[index].as_deref())
                });
                let known: BTreeSet<&str> = known.collect();
                for row in &table.rows {
                    let named = row[place(table, own)].as_deref();
                    assert!(
                        named.is_none_or(|named| known.contains(named)),
                        "{}.{own}: {named:?}",
                        table.name
                    );
                }
            }
            for row in &table.rows {
                assert_eq!(row.len(), table.columns.len());
                for (cell, column) in row.iter().zip(&table.columns) {
                    let Some(cell) = cell else { continue };
                    let fits = match column.kind {
                        ColumnKind::Text => !cell.is_empty(),
                        ColumnKind::Number => cell.parse::<f64>().is_ok_and(f64::is_finite),
                        ColumnKind::Integer => cell.parse::<i64>().is_ok(),
                        ColumnKind::Day => cell.parse::<jiff::civil::Date>().is_ok(),
                        ColumnKind::Flag => cell == "true" || cell == "false",
                    };
                    assert!(fits, "{}.{}: {cell}", table.name, column.name);
                }
            }
        }
    }
}

/// Demo scenario, invented; level differences and changes computed independently from its readings.
#[test]
fn results_are_those_of_the_scenario() {
    let data = data(&demo(), "job", "J1");
    for (set, expected) in [("T01", 24.9), ("T05", 36.1), ("T06", 36.2), ("T09", 20.0)] {
        close(&cells(&data, "set-results", set, &["level_difference_db"])[0], expected);
    }
    assert_eq!(cells(&data, "set-results", "T06", &["regime", "bound"]), ["limit", "at-least"]);
    close(&cells(&data, "changes", "T01 to T05", &["change_db"])[0], 11.2);
    let said = cells(&data, "changes", "T01 to T04", &["claim", "why_not", "answers", "compared"]);
    assert_eq!(
        said,
        ["no claim", "under the least change to claim; the interval includes zero", "true", "4"]
    );
    let terms: Vec<Option<String>> =
        data.table("budget").unwrap().rows.iter().map(|row| row[3].clone()).collect();
    assert!(terms.contains(&Some("scatter of the positions".to_owned())));
}

/// Demo scenario, invented; added up by hand.
#[test]
fn money_and_leftovers_are_those_of_the_scenario() {
    let data = data(&demo(), "job", "J1");
    let costs = data.table("costs").unwrap();
    let amount = |job: &str, group: &str| {
        let row =
            costs.rows.iter().find(|row| row[0].as_deref() == Some(job) && row[1].as_deref() == Some(group));
        row.unwrap()[2].clone().unwrap()
    };
    assert_eq!((amount("J1", "material"), amount("J2", "total")), ("377.28".to_owned(), "585.10".to_owned()));
    let left = data.table("stock-left").unwrap();
    let channel = left.rows.iter().find(|row| row[2].as_deref() == Some("resilient channel")).unwrap();
    assert_eq!((channel[3].as_deref(), channel[5].as_deref()), (Some("1"), Some("7.40")));
}

#[test]
fn typed_numbers_stand_as_typed_and_struck_readings_stay() {
    let mut all = small();
    all.change("reading", "T02/R2", &[("value", "52.90 dBA")]);
    all.strike("reading", "T01/R4", "the meter was moved");
    let data = data(&all, "job", "J1");
    let readings = data.table("readings").unwrap();
    let values: Vec<Option<&str>> = readings.rows.iter().map(|row| row[5].as_deref()).collect();
    assert!(values.contains(&Some("52.90")), "{values:?}");
    let struck = readings.rows.iter().find(|row| row[12].as_deref() == Some("true")).unwrap();
    assert_eq!((struck[10].as_deref(), struck[13].as_deref()), (Some("false"), Some("the meter was moved")));
    assert_eq!(cells(&data, "changes", "T01 to T02", &["compared", "positions_left_off"]), ["3", "R4"]);
}

#[test]
fn nothing_private_is_told() {
    let mut all = demo();
    all.change("set", "T01", &[("operator", "lead")]);
    all.put("person", "Nobody Inparticular", &[("role", "helper")]);
    all.change("test", "Q1", &[("question", "Did Nobody Inparticular hear it at 12 Invented Row?")]);
    let crate::Document { data, .. } = crate::document(
        &all.book,
        Subject::Job(all.id("job", "J1")),
        &crate::Choices::new("2025-05-24".parse().unwrap(), "0.1.0"),
    )
    .unwrap();
    let cells: Vec<&str> =
        data.tables.iter().flat_map(|table| &table.rows).flatten().filter_map(Option::as_deref).collect();
    for secret in ["Millrace", "Invented Row", "SN-00417", "Inparticular"] {
        assert!(!cells.iter().any(|cell| cell.contains(secret)), "{secret}");
    }
    assert!(cells.contains(&"site lead") && cells.contains(&"site-1"));
    assert!(cells.contains(&"Did helper hear it at (left out)?"), "{cells:?}");
}

#[test]
fn labels_met_twice_and_none_are_told_apart() {
    let mut all = small();
    all.change("set", "T02", &[("label", "T01")]);
    let data = data(&all, "job", "J1");
    let sets: Vec<Option<&str>> =
        data.table("sets").unwrap().rows.iter().map(|row| row[0].as_deref()).collect();
    assert_eq!(sets, [Some("T01"), Some("T01-2")]);
    assert_eq!(data.table("changes").unwrap().rows[0][0].as_deref(), Some("T01 to T01-2"));
}
