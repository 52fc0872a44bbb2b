//! Results: a comparison, level tests, bench rigs and other quantities, each in its own kind of table, with its figures.

use storypole_findings::print;
use storypole_findings::quantity::QuantityKind;
use storypole_findings::thermal::ThermalState;
use storypole_findings::{BenchFinding, TestFinding, ThermalFinding};

use super::numbers::{NONE, interval, temperature};
use super::{bands, compared, levels, quantity};
use crate::document::{Block, Cell, Stale, Table, Topic};
use crate::figures::Figures;
use crate::scope::Scope;
use crate::stale;

/// What changed since earlier editions, the comparison, then every test's results.
pub(crate) fn results(scope: &Scope<'_>, figures: &Figures, stale: &[Stale]) -> Vec<Block> {
    let mut blocks: Vec<Block> = stale::changed(stale).into_iter().collect();
    blocks.extend(compared::of_answer(scope));
    blocks.extend(figures.blocks(Topic::Results, None));
    for test in &scope.tests {
        blocks.extend(of_test(scope, test));
        blocks.extend(figures.blocks(Topic::Results, Some(test.test)));
    }
    blocks
}

fn of_test(scope: &Scope<'_>, test: &TestFinding) -> Vec<Block> {
    match (&test.bench, &test.quantity, &test.thermal) {
        (Some(bench), ..) => of_bench(test, bench),
        (None, Some(quantity), Some(thermal)) if quantity.quantity == QuantityKind::SurfaceFactor => {
            let mut blocks = vec![of_thermal(test, thermal)];
            blocks.extend(quantity::changes(test, quantity));
            blocks
        }
        (None, Some(quantity), _) => quantity::of_test(test, quantity),
        (None, None, _) => {
            let mut blocks = levels::of_test(scope, test);
            blocks.extend(bands::of_test(test));
            blocks.extend(steps(scope, test));
            blocks
        }
    }
}

/// The wall step by step in words, from three walls on.
fn steps(scope: &Scope<'_>, test: &TestFinding) -> Vec<Block> {
    let told = scope.stages.iter().filter(|(of, stages)| *of == test.test && stages.steps.len() > 2);
    let blocks = told.flat_map(|(_, stages)| {
        let steps: Vec<String> = stages.steps.iter().map(|step| step.words.clone()).collect();
        [Block::List(steps), Block::Paragraph(stages.words.clone())]
    });
    blocks.collect()
}

fn of_bench(test: &TestFinding, bench: &BenchFinding) -> Vec<Block> {
    let heads = [
        "Set",
        "Assembly",
        "Fill",
        "Runs",
        "Mean, dB",
        "Spread of runs, dB",
        "To the first, dB",
        "Very likely between",
    ];
    let rows = bench.rows.iter().map(|row| {
        let apart = row.to_first.as_ref();
        let texts = [
            row.label.clone(),
            row.assembly_label.clone(),
            row.fill.clone(),
            row.n.to_string(),
            print::decimals(row.mean_db, 1),
            row.sd_db.map_or_else(|| NONE.to_owned(), |sd| print::decimals(sd, 2)),
            apart.map_or_else(|| NONE.to_owned(), |apart| print::signed(apart.difference_db, 1)),
            apart.map_or_else(|| NONE.to_owned(), |apart| interval(apart.interval.as_ref())),
        ];
        texts.into_iter().map(Cell::plain).collect()
    });
    let mut blocks =
        vec![table(format!("{}: level differences on the bench rig.", test.label), &heads, rows.collect())];
    let name = |index: usize| {
        bench.rows.get(index).map_or_else(String::new, |row| format!("{} ({})", row.label, row.fill))
    };
    let pairs: Vec<Vec<Cell>> = bench
        .pairs
        .iter()
        .map(|pair| {
            let verdict = if pair.apart.told_apart { "told apart" } else { "cannot be told apart" };
            let texts = [
                format!("{} and {}", name(pair.first), name(pair.second)),
                print::signed(pair.apart.difference_db, 1),
                interval(pair.apart.interval.as_ref()),
                verdict.to_owned(),
            ];
            texts.into_iter().map(Cell::plain).collect()
        })
        .collect();
    if !pairs.is_empty() {
        let heads = ["Pair", "Second less first, dB", "Very likely between", "Verdict"];
        blocks.push(table(format!("{}: pairs.", test.label), &heads, pairs));
    }
    blocks.push(Block::List(bench.sentences.clone()));
    blocks
}

fn of_thermal(test: &TestFinding, thermal: &ThermalFinding) -> Block {
    let number = |value: Option<f64>, places| {
        value.map_or_else(|| NONE.to_owned(), |value| print::decimals(value, places))
    };
    let mut heads: Vec<String> = [
        "Set",
        "Day",
        "Assembly",
        "Inside",
        "Outside",
        "Surface",
        "Spots",
        "Surface factor",
        "Spots where smoke moved",
        "Wood moisture, %",
    ]
    .map(str::to_owned)
    .to_vec();
    let others: std::collections::BTreeSet<_> =
        thermal.states.iter().flat_map(|state| state.others.keys()).collect();
    heads.extend(others.iter().map(|(subject, unit)| format!("{subject}, {unit}")));
    let row = |state: &ThermalState| {
        let mut texts = vec![
            state.label.clone(),
            state.date.map_or_else(|| NONE.to_owned(), |day| day.to_string()),
            state.assembly_label.clone(),
            temperature(state.inside_c),
            temperature(state.outside_c),
            temperature(state.surface_c),
            state.spots.to_string(),
            number(state.factor, 3),
            number(state.smoke_paths, 0),
            number(state.moisture_percent, 1),
        ];
        texts.extend(others.iter().map(|key| number(state.others.get(*key).copied(), 1)));
        texts.into_iter().map(Cell::plain).collect()
    };
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    table(
        format!("{}: states in the order they were taken.", test.label),
        &heads,
        thermal.states.iter().map(row).collect(),
    )
}

pub(super) fn table(caption: String, heads: &[&str], rows: Vec<Vec<Cell>>) -> Block {
    Block::Table(Table { caption, heads: heads.iter().map(|head| (*head).to_owned()).collect(), rows })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;
    use crate::subject::Subject;

    fn tables(test: &str) -> Vec<Table> {
        let all = demo();
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
        let tables = results(&scope, &Figures::default(), &[]).into_iter().filter_map(|block| match block {
            Block::Table(table) => Some(table),
            _ => None,
        });
        tables.collect()
    }

    /// Columns of the rows whose first cell is `label`, as texts.
    fn row(tables: &[Table], label: &str) -> String {
        let rows = tables.iter().flat_map(|table| &table.rows);
        let texts = rows.filter(|row| row[0].text == label).flatten().map(|cell| cell.text.as_str());
        texts.collect::<Vec<_>>().join(" | ")
    }

    /// Source: the demo scenario, invented; its level differences, margins and means were worked out outside of this
    /// program.
    #[test]
    fn sets_stand_with_their_numbers() {
        let music = tables("Q1");
        for (label, numbers) in [
            ("T01", "94.3 | 69.4 | 1.8 | 33.5 | 35.9 | 24.9"),
            ("T04", "94.3 | 68.6 | 1.3 | 33.4 | 35.2 | 25.7"),
            ("T05", "94.2 | 58.1 | 1.4 | 33.0 | 25.1 | 36.1"),
            ("T06", "93.0 | 58.8 | 1.2 | 55.1 | 3.7 | at least 36.2"),
            ("T08", "96.8 | 81.2 | 3.5 | 47.0 | 34.2 | 15.6"),
        ] {
            assert!(row(&music, label).contains(numbers), "{}", row(&music, label));
        }
        let change = row(&music, "T01 to T05, music-practice room to hall, dBA");
        assert!(
            change.contains("J1 to J2 | 24.9 | 36.1 | +11.2 |") && change.contains("| claimed |"),
            "{change}"
        );
        let bound = row(&music, "T02 to T06, hall to music-practice room, dBA");
        assert!(bound.contains("at least +11.7 | over 10.6 | at least"), "{bound}");
        let wall = row(&music, "T01 to T04, music-practice room to hall, dBA");
        assert!(wall.contains("+0.8 |") && wall.contains("| no claim |"), "{wall}");
        let party = tables("Q2");
        assert!(
            row(&party, "T12").contains("47.0 | condition-drift, background subtracted, out of results"),
            "{}",
            row(&party, "T12")
        );
    }

    /// Source: the demo scenario, invented.
    #[test]
    fn bench_and_thermal_tests_have_their_own_tables() {
        let bench = tables("Q5");
        assert!(row(&bench, "T19").contains("empty | 3 | 29.0 | 0.36 | –"), "{}", row(&bench, "T19"));
        assert!(row(&bench, "T22").contains("cellulose | 3 | 33.0 | 0.40 | +4.0"), "{}", row(&bench, "T22"));
        assert!(row(&bench, "T20 (glass fibre) and T22 (cellulose)").ends_with("cannot be told apart"));
        let heat = tables("Q7");
        let before = "68.0 °F (20.0 °C) | 28.0 °F (-2.2 °C) | 49.7 °F (9.9 °C) | 3 | 0.543 | 5 | 17.5";
        assert!(row(&heat, "T26").ends_with(before), "{}", row(&heat, "T26"));
        assert!(row(&heat, "T26-after").contains("0.752 | 1 | 14.0"), "{}", row(&heat, "T26-after"));
    }
}
