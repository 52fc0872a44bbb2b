//! The answer to a question about two kinds of walls.

use storypole_desk::view::question::{basis, verdict};
use storypole_findings::across::{Measure, Row};
use storypole_findings::print::{decimals, list, range, signed};
use storypole_findings::question::{Answer, Pair, Side};

use super::walls;
use crate::page::Page;
use crate::print::Table;

/// Writes an answer: sentences first, then what it rests on.
pub fn write(page: &mut Page, answer: &Answer) {
    page.items(&answer.sentences);
    page.heading("Understood as").say(&format!("{}.", answer.question.understood.join("; ")));
    if !answer.question.unread.is_empty() {
        page.say(&format!("Not understood, and left aside: {}.", list(&answer.question.unread)));
    }
    sides(page, answer);
    if !answer.pairs.is_empty() {
        page.heading("Pair by pair").table(&pairs(answer, &answer.pairs));
    }
    if !answer.with_grade_c.is_empty() {
        page.heading("With grade C counted too").table(&pairs(answer, &answer.with_grade_c));
    }
    let rows: Vec<Row> = answer.sides.iter().flat_map(|side| side.rows.iter().cloned()).collect();
    if !rows.is_empty() {
        page.heading("Job by job").table(&walls::rows(&rows));
    }
}

fn sides(page: &mut Page, answer: &Answer) {
    let what = match answer.measure {
        Measure::Change => ">change dB",
        Measure::Level => ">D dB",
    };
    let mut table =
        Table::new(&["", ">jobs", what, "very likely", "next job", "laboratories", "model", ">cost per m2"]);
    for side in &answer.sides {
        table.row(cells(answer.measure, side));
    }
    page.heading("Side by side").table(&table);
    page.say("Laboratories: published ratings of such walls. Model: what A-weighted pink noise would lose. Neither is of a house.");
}

fn cells(measure: Measure, side: &Side) -> [String; 8] {
    let dash = || "-".to_owned();
    let average = side.average.as_ref();
    let bare = |value: f64| match measure {
        Measure::Change => signed(value, 1),
        Measure::Level => decimals(value, 1),
    };
    let wide = |range: &storypole_findings::question::Range| {
        let (low, high) = (decimals(range.low_db, 0), decimals(range.high_db, 0));
        if low == high { low } else { format!("{low} to {high}") }
    };
    [
        side.name.clone(),
        average.map_or(0, |average| average.jobs).to_string(),
        average.map_or_else(dash, |average| bare(average.value_db)),
        average.and_then(|average| average.interval).map_or_else(dash, |interval| range(&interval, 1)),
        average.and_then(|average| average.next_job).map_or_else(dash, |next| range(&next, 1)),
        side.published.as_ref().map_or_else(dash, wide),
        side.predicted.as_ref().map_or_else(dash, wide),
        side.cost
            .as_ref()
            .map_or_else(dash, |cost| format!("{} {}", decimals(cost.per_m2, 2), cost.currency.code())),
    ]
}

fn pairs(answer: &Answer, pairs: &[Pair]) -> Table {
    let mut table = Table::new(&["", "against", ">dB", "very likely", "verdict", "rests on"]);
    let name = |index: usize| answer.sides.get(index).map_or_else(String::new, |side| side.name.clone());
    for pair in pairs {
        let difference = pair.difference.as_ref();
        table.row([
            name(pair.first),
            name(pair.second),
            difference.map_or_else(|| "-".to_owned(), |difference| signed(difference.value_db, 1)),
            pair.interval().map_or_else(|| "-".to_owned(), |interval| range(&interval, 1)),
            verdict(pair.verdict).to_owned(),
            difference.map_or_else(|| "-".to_owned(), |difference| basis(&difference.basis)),
        ]);
    }
    table
}
