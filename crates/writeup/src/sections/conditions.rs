//! Conditions side by side: what was wanted, and what was found in each set; what did not hold is bold.

use std::sync::Arc;

use storypole_findings::{SetFinding, TestFinding};
use storypole_journal::RecordId;
use storypole_notebook::kinds::{Condition, Found};

use super::numbers::NONE;
use crate::document::{Block, Cell, Table};
use crate::scope::Scope;

/// One table for each test with conditions.
pub(crate) fn conditions(scope: &Scope<'_>) -> Vec<Block> {
    scope.tests.iter().map(|test| of_test(scope, test)).collect()
}

fn of_test(scope: &Scope<'_>, test: &TestFinding) -> Block {
    let conditions: Vec<&Condition> =
        scope.book.conditions.live().filter(|condition| condition.test == Some(test.test)).collect();
    if conditions.is_empty() {
        return Block::Paragraph(format!(
            "{}: no conditions were written down to be held constant.",
            test.label
        ));
    }
    let sets: Vec<&SetFinding> = test.groups.iter().flat_map(|group| &group.sets).map(Arc::as_ref).collect();
    let mut heads = vec!["Condition".to_owned(), "Weight".to_owned(), "Wanted".to_owned()];
    heads.extend(sets.iter().map(|set| set.label.clone()));
    let rows = conditions.iter().map(|condition| {
        let text = |text: &Option<String>| text.clone().unwrap_or_else(|| NONE.to_owned());
        let mut row = [&condition.variable, &condition.class, &condition.wanted]
            .map(|field| Cell::plain(text(field)))
            .to_vec();
        row.extend(sets.iter().map(|set| cell(found(scope, condition, set.set))));
        row
    });
    let caption = format!(
        "Conditions of {} as found in each set; bold is what did not hold or is not known.",
        test.label
    );
    Block::Table(Table { caption, heads, rows: rows.collect() })
}

/// The youngest note of a condition in a set.
pub(crate) fn found<'a>(scope: &Scope<'a>, condition: &Condition, set: RecordId) -> Option<&'a Found> {
    let is_it = |found: &&Found| found.condition == Some(condition.id) && found.set == Some(set);
    scope.book.founds.live().filter(is_it).last()
}

/// Whether a condition held in a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Held<'a> {
    /// As wanted.
    Same,
    /// Not as wanted, in a word: changed, corrected, in conflict.
    Otherwise(&'a str),
    /// Nobody knows, in a word.
    Unknown(&'a str),
}

/// The one rule for tables and cards. What was corrected did not hold by itself, and of two notes in conflict neither is believed.
pub(crate) fn held(found: Option<&Found>) -> Held<'_> {
    let Some(found) = found else { return Held::Unknown("not noted") };
    if found.meta.conflict.iter().any(|field| matches!(*field, "value" | "status")) {
        return Held::Otherwise("in conflict");
    }
    match found.status.as_deref() {
        Some("same") => Held::Same,
        Some("unknown") => Held::Unknown("unknown"),
        Some(status) => Held::Otherwise(status),
        None => Held::Unknown("not known"),
    }
}

fn cell(found: Option<&Found>) -> Cell {
    let value = found.and_then(|found| found.value.clone()).unwrap_or_default();
    let with =
        |status: &str| if value.is_empty() { status.to_owned() } else { format!("{value} ({status})") };
    match held(found) {
        Held::Same if value.is_empty() => Cell::plain("same"),
        Held::Same => Cell::plain(value),
        Held::Otherwise(status) | Held::Unknown(status) => Cell::bold(with(status)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{demo, small};
    use crate::subject::Subject;

    fn table(all: &crate::fixture::Fixture, test: &str) -> Table {
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
        match conditions(&scope).remove(0) {
            Block::Table(table) => table,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn what_changed_is_bold_and_what_held_is_not() {
        // Demo scenario, invented: the window of unit B was ajar in T12 only.
        let table = table(&demo(), "Q2");
        let row = table.rows.iter().find(|row| row[0].text == "doors and windows").unwrap();
        let bold: Vec<(&str, &str)> = table
            .heads
            .iter()
            .zip(row)
            .filter(|(_, cell)| cell.is_bold)
            .map(|(head, cell)| (head.as_str(), cell.text.as_str()))
            .collect();
        assert_eq!(bold, [("T12", "window ajar in unit B (changed)")]);
    }

    #[test]
    fn what_nobody_noted_is_said() {
        let mut all = small();
        all.put("condition", "Q1/lamp", &[("test", "Q1"), ("variable", "lamp"), ("class", "minor")]);
        let set_table = table(&all, "Q1");
        let row = set_table.rows.iter().find(|row| row[0].text == "lamp").unwrap();
        assert!(row[3..].iter().all(|cell| *cell == Cell::bold("not noted")), "{row:?}");
    }
}
