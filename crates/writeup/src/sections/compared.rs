//! A comparison: what each side rests on, every pair with its verdict, what cannot be separated, and what to measure next.
//!
//! Leaves out its sentences, which stand under the question, and the tests behind it: they follow with all their sets.

use storypole_findings::across::Measure;
use storypole_findings::question::{Answer, Pair};
use storypole_findings::{Estimate, print};

use super::numbers::{NONE, change, ends, estimate};
use super::results::table;
use crate::document::{Block, Cell};
use crate::figures::{row_interval, row_walls};
use crate::scope::Scope;

/// Everything a comparison shows; nothing for other subjects.
pub(super) fn of_answer(scope: &Scope<'_>) -> Vec<Block> {
    let Some(answer) = &scope.answer else { return Vec::new() };
    let mut blocks = Vec::new();
    if answer.sides.iter().any(|side| !side.rows.is_empty()) {
        blocks.push(jobs(scope, answer));
        blocks.push(pairs(answer));
    }
    let benches: Vec<String> =
        answer.bench.iter().map(|bench| format!("{}: {}", bench.test_label, bench.sentence)).collect();
    let mut points: Vec<String> = answer.pairs.iter().flat_map(|pair| hindered(answer, pair)).collect();
    points.extend(benches);
    points.extend(answer.shown_apart.iter().map(|one| {
        format!(
            "Shown apart, {} {}: {}.",
            one.row.job_label,
            row_walls(&one.row),
            one.why.trim_end_matches('.')
        )
    }));
    points.extend(
        answer
            .left_out
            .iter()
            .map(|one| format!("Counts nowhere, {}: {}.", one.what, one.why.trim_end_matches('.'))),
    );
    points.extend(
        answer.next_step.iter().map(|next| format!("What would tell most: {}.", next.trim_end_matches('.'))),
    );
    blocks.extend((!points.is_empty()).then_some(Block::List(points)));
    blocks
}

fn jobs(scope: &Scope<'_>, answer: &Answer) -> Block {
    let is_change = answer.measure == Measure::Change;
    let what = if is_change { "Change, dB" } else { "Level difference, dB" };
    let mut heads = vec!["Side", "Job", "Walls", what, "Very likely between", "Grade", "Tests"];
    heads.extend(scope.has_costs().then_some("Net cost for each m2"));
    let width = heads.len();
    let cells =
        |texts: [String; 8], cell: fn(String) -> Cell| texts.into_iter().take(width).map(cell).collect();
    let mut rows = Vec::new();
    for side in &answer.sides {
        for row in &side.rows {
            let per_m2 = row.cost.as_ref().and_then(|cost| {
                let m2 = cost.area.map(|area| area.m2()).filter(|m2| *m2 > 0.0)?;
                Some(format!(
                    "{} {}",
                    print::decimals(cost.net.amount.to_f64() / m2, 2),
                    cost.net.currency.code()
                ))
            });
            let texts = [
                side.name.clone(),
                scope.job_label(row.job),
                row_walls(row),
                if is_change { change(row.value) } else { estimate(row.value) },
                ends(row_interval(row).as_ref(), row.value.bound),
                row.grade.to_string(),
                row.tests.join(", "),
                per_m2.unwrap_or_else(|| NONE.to_owned()),
            ];
            rows.push(cells(texts, Cell::plain));
        }
        if let Some(average) = side.average.as_ref().filter(|average| average.jobs > 1) {
            let next =
                average.next_job.map(|next| format!("; the next job {}", ends(Some(&next), average.bound)));
            let value = Estimate { value: average.value_db, bound: average.bound };
            let texts = [
                side.name.clone(),
                format!("average of {} jobs", average.jobs),
                NONE.to_owned(),
                if is_change { change(value) } else { estimate(value) },
                ends(average.interval.as_ref(), average.bound) + &next.unwrap_or_default(),
                NONE.to_owned(),
                NONE.to_owned(),
                NONE.to_owned(),
            ];
            rows.push(cells(texts, Cell::bold));
        }
    }
    table("The jobs on each side.".to_owned(), &heads, rows)
}

fn pairs(answer: &Answer) -> Block {
    let name = |side: usize| answer.sides.get(side).map(|side| side.name.clone()).unwrap_or_default();
    let rows = answer.pairs.iter().map(|pair| {
        let difference =
            pair.difference.as_ref().map(|one| Estimate { value: one.value_db, bound: pair.bound });
        let texts = [
            format!("{} less {}", name(pair.first), name(pair.second)),
            difference.map_or_else(|| NONE.to_owned(), change),
            ends(pair.interval().as_ref(), pair.bound),
            pair.verdict.words().to_owned(),
        ];
        texts.into_iter().map(Cell::plain).collect()
    });
    let heads = ["Pair", "Difference, dB", "Very likely between", "Verdict on the first"];
    table("Every pair of sides, grades A and B.".to_owned(), &heads, rows.collect())
}

/// What stands in the way of a verdict, or is to be known of it.
fn hindered(answer: &Answer, pair: &Pair) -> Vec<String> {
    let name = |side: usize| answer.sides.get(side).map(|side| side.name.as_str()).unwrap_or_default();
    let of = |why: &storypole_findings::question::Why| {
        format!("{} and {}: {why}.", name(pair.first), name(pair.second))
    };
    pair.why.iter().map(of).collect()
}
