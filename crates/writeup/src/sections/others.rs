//! What others got: published ranges for such walls, what the formula and the model give, and how far the measurement lies off.
//!
//! Nothing of it enters a result. Leaves out what the model takes for granted in detail: the notebook tells that wall by wall.

use storypole_findings::paths::path_shares;
use storypole_findings::prediction::predict;
use storypole_findings::question::Range;
use storypole_findings::{Estimate, Sense, SetFinding, print};
use storypole_notebook::Unit;
use storypole_notebook::kinds::Assembly;

use super::numbers::{NONE, estimate};
use super::results::table;
use crate::document::{Block, Cell};
use crate::scope::Scope;

/// One row for each wall of a level test, then what is published for the sides of a comparison.
pub(crate) fn others(scope: &Scope<'_>) -> Vec<Block> {
    let walls: Vec<&Assembly> =
        scope.assemblies.iter().copied().filter(|wall| measured(scope, wall).is_some()).collect();
    let mut blocks = Vec::new();
    let known: Vec<Vec<Cell>> = walls.iter().filter_map(|wall| row(scope, wall)).collect();
    if !known.is_empty() {
        let heads = [
            "Assembly",
            "Published for the wall, laboratory, dB",
            "Source",
            "Formula for wall and openings, dB",
            "Model, dB",
            "Measured here, dB",
            "Measured less formula, dB",
        ];
        let caption = "What others publish for such walls, and what is reckoned for these.".to_owned();
        blocks.push(table(caption, &heads, known));
        let beware = "A laboratory measures the wall alone and without leaks; a house does worse, and a level difference is also of \
                      its rooms. The model gives what pink noise, A-weighted, loses through the wall with its openings; it lies off \
                      by a few dB either way.";
        blocks.push(Block::Paragraph(beware.to_owned()));
    }
    let mut points: Vec<String> = walls.iter().filter_map(|wall| nothing_published(wall)).collect();
    points.extend(of_sides(scope));
    if scope.tests.iter().any(|test| test.bench.is_some()) {
        points.push(
            "For small panels on a bench nothing is published that could stand beside them.".to_owned(),
        );
    }
    if scope.tests.iter().any(|test| test.quantity.is_some()) {
        points.push(
            "No published numbers are kept here to stand beside what is not a level difference.".to_owned(),
        );
    }
    blocks.extend((!points.is_empty()).then_some(Block::List(points)));
    blocks
}

/// The set that stands for a wall: one that an answer rests on, or else its last in results with a level difference, A-weighted
/// first.
fn measured<'s>(scope: &'s Scope<'_>, wall: &Assembly) -> Option<&'s SetFinding> {
    let of_wall = || {
        scope.sets().filter(|set| {
            set.assembly == Some(wall.id)
                && set.is_in()
                && set.runs.is_none()
                && set.level_difference.is_some()
        })
    };
    let by_a = || of_wall().filter(|set| set.unit == Some(Unit::DbA));
    let exact = |set: &&SetFinding| set.level_difference.is_some_and(|value| value.bound == Sense::Exact);
    let answers: Vec<_> =
        scope.headlines().iter().flat_map(|change| [change.from.set, change.to.set]).collect();
    let answering = of_wall().find(|set| answers.contains(&set.set));
    answering.or_else(|| by_a().filter(exact).last()).or_else(|| by_a().last()).or_else(|| of_wall().last())
}

fn range(low_db: f64, high_db: f64) -> String {
    let (low, high) = (print::decimals(low_db, 1), print::decimals(high_db, 1));
    if low == high { low } else { format!("{low} to {high}") }
}

/// `None` where neither a range nor a model is known.
fn row(scope: &Scope<'_>, wall: &Assembly) -> Option<Vec<Cell>> {
    let none = || NONE.to_owned();
    let shares = path_shares(wall);
    let published = shares.as_ref().and_then(|shares| shares.wall);
    let formula = shares.as_ref().and_then(|shares| shares.predicted);
    let model = predict(wall).ok().map(|predicted| predicted.pink_db);
    if published.is_none() && model.is_none() {
        return None;
    }
    let set = measured(scope, wall)?;
    let value = set.level_difference?;
    let off = formula.map(|formula| off(value, formula.low_db, formula.high_db));
    let texts = [
        wall.label.clone().unwrap_or_else(none),
        published.map_or_else(none, |range| {
            format!("{} to {}", print::decimals(range.low_db, 0), print::decimals(range.high_db, 0))
        }),
        published.map_or_else(none, |range| range.source.to_owned()),
        formula.map_or_else(none, |formula| range(formula.low_db, formula.high_db)),
        model.map_or_else(none, |model| print::decimals(model, 1)),
        format!("{} ({})", estimate(value), set.label),
        off.unwrap_or_else(none),
    ];
    Some(texts.into_iter().map(Cell::plain).collect())
}

/// How far a measured number lies off a range: nothing inside it.
fn off(value: Estimate, low_db: f64, high_db: f64) -> String {
    let difference = if value.value < low_db {
        value.value - low_db
    } else if value.value > high_db {
        value.value - high_db
    } else {
        return "within it".to_owned();
    };
    super::numbers::change(Estimate { value: difference, bound: value.bound })
}

fn nothing_published(wall: &Assembly) -> Option<String> {
    let shares = path_shares(wall);
    if shares.as_ref().is_some_and(|shares| shares.wall.is_some()) {
        return None;
    }
    let label = wall.label.as_deref().unwrap_or("one wall");
    let why = shares.and_then(|shares| shares.absent).map_or_else(String::new, |why| format!(": {why}"));
    Some(format!("{label}: nothing published can stand beside it{why}."))
}

fn of_sides(scope: &Scope<'_>) -> Vec<String> {
    let Some(answer) = &scope.answer else { return Vec::new() };
    let words = |range: &Range| {
        let walls = if range.walls == 1 { "one wall".to_owned() } else { format!("{} walls", range.walls) };
        format!(
            "{} to {} dB over {walls}",
            print::decimals(range.low_db, 1),
            print::decimals(range.high_db, 1)
        )
    };
    let mut points = Vec::new();
    for side in &answer.sides {
        points.push(match &side.published {
            Some(range) => {
                format!("{}: published for such walls in the laboratory, {}.", side.name, words(range))
            }
            None => format!("{}: nothing published is known here for such walls.", side.name),
        });
        points.extend(
            side.predicted.iter().map(|range| format!("{}: the model gives {}.", side.name, words(range))),
        );
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;
    use crate::subject::Subject;

    /// Source: published ranges named beside each, and the area-weighted mean transmission: 25.0 and 37.2 dB for the demo's wall with
    /// either door, computed independently; measured 24.9 and 36.1 in the demo scenario, invented.
    #[test]
    fn published_formula_and_measured_stand_beside_each_other() {
        let all = demo();
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", "Q1"))).unwrap();
        let blocks = others(&scope);
        let Block::Table(table) = &blocks[0] else { panic!("{blocks:?}") };
        let text = |wall: &str, column: usize| {
            table.rows.iter().find(|row| row[0].text == wall).unwrap()[column].text.clone()
        };
        assert_eq!(text("A01", 1), "33 to 34");
        assert!(text("A01", 3).starts_with("25.0"));
        assert_eq!((text("A01", 5), text("A01", 6)), ("24.9 (T01)".to_owned(), "-0.1".to_owned()));
        assert!(text("A04", 3).starts_with("37.2") && text("A04", 6).starts_with('-'), "{table:?}");
    }

    #[test]
    fn where_nothing_is_published_that_is_said() {
        let all = demo();
        for (test, wanted) in [("Q5", "small panels"), ("Q7", "No published numbers")] {
            let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
            let blocks = others(&scope);
            assert!(matches!(&blocks[0], Block::List(said) if said[0].contains(wanted)), "{blocks:?}");
        }
    }
}
