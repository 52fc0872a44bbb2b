//! Results of other quantities than sound: states with their intervals, changes with verdicts, and the answer in sentences.
//!
//! Numbers stand in the units they are worked out in. Leaves out sound, and what each quantity means: its notes say that.

use std::collections::BTreeSet;

use storypole_findings::quantity::{Measured, QuantityChange, QuantityClaim, QuantityFinding, places};
use storypole_findings::{Interval, TestFinding, print};

use super::numbers::NONE;
use super::results::table;
use crate::document::{Block, Cell};

/// Decimals of a number that nothing tells the uncertainty of. Convention of this project.
fn usual_places(unit: &str) -> usize {
    match unit {
        "m3/h" | "lx" | "cm2" | "count" => 0,
        "m2K/W" | "s" => 2,
        "" => 3,
        _ => 1,
    }
}

/// Digits that an interval bears.
pub(crate) fn shown_places(interval: Option<&Interval>, unit: &str) -> usize {
    places(interval.map(Interval::half_width), usual_places(unit))
}

/// States, changes and sentences.
pub(super) fn of_test(test: &TestFinding, quantity: &QuantityFinding) -> Vec<Block> {
    let mut blocks = vec![states(test, quantity)];
    blocks.extend(changes(test, quantity));
    blocks
}

fn head(name: &str, unit: &str) -> String {
    let name = print::capital(name);
    if unit.is_empty() { name } else { format!("{name}, {unit}") }
}

fn states(test: &TestFinding, quantity: &QuantityFinding) -> Block {
    let mut seen = BTreeSet::new();
    let columns: Vec<(&str, &str)> = quantity
        .states
        .iter()
        .flat_map(|state| &state.values)
        .map(|value| (value.name.as_str(), value.unit))
        .filter(|column| seen.insert(*column))
        .collect();
    let mut heads = ["Set", "Day", "Stage", "Assembly"].map(str::to_owned).to_vec();
    heads.extend(columns.iter().map(|(name, unit)| head(name, unit)));
    let text = |text: &Option<String>| text.clone().unwrap_or_else(|| NONE.to_owned());
    let rows = quantity.states.iter().map(|state| {
        let day = state.date.map_or_else(|| NONE.to_owned(), |day| day.to_string());
        let mut row = vec![state.label.clone(), day, text(&state.stage), state.assembly_label.clone()];
        row.extend(columns.iter().map(|(name, unit)| {
            let of = state.values.iter().find(|value| (value.name.as_str(), value.unit) == (*name, *unit));
            of.map_or_else(|| NONE.to_owned(), measured)
        }));
        row.into_iter().map(Cell::plain).collect()
    });
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    table(format!("{}: states in the order they were taken.", test.label), &heads, rows.collect())
}

/// A number with its interval, or why there is none.
fn measured(of: &Measured) -> String {
    let Some(value) = of.value else {
        return of.absent.map_or_else(|| NONE.to_owned(), |why| format!("none: {why}"));
    };
    let places = shown_places(of.interval.as_ref(), of.unit);
    let range = of.interval.as_ref().map(|interval| format!(" ({})", print::range(interval, places)));
    format!("{}{}", print::decimals(value, places), range.unwrap_or_default())
}

/// Changes with their verdicts, then the answer and what was read along with it.
pub(super) fn changes(test: &TestFinding, quantity: &QuantityFinding) -> Vec<Block> {
    let mut blocks = Vec::new();
    if quantity.changes.is_empty() {
        let words = format!("{}: one state only, nothing to compare with yet.", test.label);
        blocks.push(Block::Paragraph(words));
    } else {
        let heads =
            ["Change", "What", "Before", "After", "Change of it", "Very likely between", "Verdict", "Grade"];
        let rows = quantity.changes.iter().map(row).collect();
        blocks.push(table(format!("{}: what changed.", test.label), &heads, rows));
    }
    let beside = quantity.beside.iter().map(|beside| beside.sentence.clone());
    let said: Vec<String> = quantity
        .sentences
        .iter()
        .cloned()
        .chain(beside)
        .chain(doubts(quantity))
        .filter(|said| !said.is_empty())
        .collect();
    let mut seen = BTreeSet::new();
    let said: Vec<String> = said.into_iter().filter(|words| seen.insert(words.clone())).collect();
    blocks.extend((!said.is_empty()).then_some(Block::List(said)));
    blocks
}

fn row(of: &QuantityChange) -> Vec<Cell> {
    let places = shown_places(of.interval.as_ref(), of.unit);
    let number =
        |value: Option<f64>| value.map_or_else(|| NONE.to_owned(), |value| print::decimals(value, places));
    let mut changed = of.value.map_or_else(|| NONE.to_owned(), |value| print::signed(value, places));
    if let Some(percent) = of.relative_percent {
        changed.push_str(&format!(" ({} %)", print::signed(percent, 0)));
    }
    let range =
        of.interval.as_ref().map_or_else(|| NONE.to_owned(), |interval| print::range(interval, places));
    let texts = [
        format!("{} to {}", of.from.label, of.to.label),
        head(&of.name, of.unit),
        number(of.before),
        number(of.after),
        changed,
        range,
        of.claim.word().to_owned(),
        of.grade.letter.to_string(),
    ];
    texts.into_iter().map(Cell::plain).collect()
}

/// Why a change is not claimed.
fn doubts(quantity: &QuantityFinding) -> Vec<String> {
    let of = |change: &QuantityChange| match &change.claim {
        QuantityClaim::NoClaim(doubts) => {
            let doubts: Vec<String> = doubts.iter().map(ToString::to_string).collect();
            Some(format!("{} to {}: no claim: {}.", change.from.label, change.to.label, print::list(&doubts)))
        }
        QuantityClaim::Claimed | QuantityClaim::Undetermined => None,
    };
    quantity.changes.iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::house;
    use crate::scope::Scope;
    use crate::subject::Subject;

    /// A light test on four spots, invented: 100 lx before, 150 lx after at every spot.
    #[test]
    fn light_has_states_a_change_and_a_sentence() {
        let mut all = house();
        all.put("job", "J1", &[("site", "S1"), ("title", "Window enlarged")]);
        all.put("assembly", "A01", &[("element", "wall"), ("job", "J1")]);
        all.put("assembly", "A02", &[("element", "wall"), ("job", "J1"), ("replaces", "A01")]);
        all.put("test", "Q1", &[("question", "Is it lighter?"), ("measures", "light"), ("job", "J1")]);
        for (set, assembly, stage, day, lux) in
            [("T01", "A01", "before", "2025-04-15", "100"), ("T02", "A02", "after", "2025-04-16", "150")]
        {
            let fields =
                [("test", "Q1"), ("job", "J1"), ("assembly", assembly), ("stage", stage), ("date", day)];
            all.put("set", set, &fields);
            for spot in 1..=4 {
                let value = format!("{lux} lx");
                let fields =
                    [("set", set), ("role", "direct"), ("subject", "light"), ("value", value.as_str())];
                all.put("reading", &format!("{set}/{spot}"), &fields);
            }
        }
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", "Q1"))).unwrap();
        let test = &scope.tests[0];
        let blocks = of_test(test, test.quantity.as_ref().unwrap());
        let Block::Table(states) = &blocks[0] else { panic!("{blocks:?}") };
        assert_eq!(states.rows.len(), 2);
        assert!(states.rows[1].iter().any(|cell| cell.text.starts_with("150")), "{states:?}");
        let Block::Table(changes) = &blocks[1] else { panic!("{blocks:?}") };
        assert!(changes.rows[0][4].text.starts_with("+50"), "{changes:?}");
        assert!(matches!(blocks.last(), Some(Block::List(said)) if !said.is_empty()));
    }
}
