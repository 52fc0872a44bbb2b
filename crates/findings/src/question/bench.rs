//! The same question asked of bench rigs: small panels, in a part of their own.

use storypole_notebook::matching::{OpeningClass, Parts};

use super::parse::{Question, takes};
use super::part::{Axis, Part};
use crate::bench_rig::{BenchFinding, BenchRow};
use crate::budget::Interval;
use crate::{Findings, print};

/// Two sides of a question on one bench rig.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchVerdict {
    /// Label of the test.
    pub test_label: String,
    /// Index of the side that did better, or of the one named first where they did alike.
    pub first: usize,
    /// Index of the other.
    pub second: usize,
    /// First minus second, dB.
    pub difference_db: f64,
    /// Its interval from the runs of both.
    pub interval: Option<Interval>,
    /// Whether the two can be told apart at all.
    pub told_apart: bool,
    /// In a sentence.
    pub sentence: String,
}

/// What bench rigs show of the sides.
pub(super) fn verdicts(findings: &Findings<'_>, question: &Question) -> Vec<BenchVerdict> {
    let benches = findings.book.tests.live().filter(|test| test.bench_rig == Some(true));
    let tested = benches.filter_map(|test| findings.test(test.id));
    tested
        .filter_map(|test| Some((test.label.clone(), test.bench.clone()?)))
        .flat_map(|(label, bench)| of_bench(findings, question, &label, &bench))
        .collect()
}

fn of_bench(
    findings: &Findings<'_>,
    question: &Question,
    label: &str,
    bench: &BenchFinding,
) -> Vec<BenchVerdict> {
    // A panel is never finished and has no door, whatever is asked of walls.
    let shared: Vec<Part> = question
        .shared
        .iter()
        .filter(|part| !matches!(part.axis(), Axis::State | Axis::Openings))
        .cloned()
        .collect();
    let side = |row: &BenchRow| {
        let panel = Parts::of(findings.book.assemblies.of(row.assembly)?).ok()?;
        if panel.opening_class() != OpeningClass::None || !takes(&shared, &panel) {
            return None;
        }
        let mut sides = (0..question.options.len()).filter(|side| question.options[*side].takes(&panel));
        sides.next().filter(|_| sides.next().is_none())
    };
    let sides: Vec<Option<usize>> = bench.rows.iter().map(side).collect();
    let mut found = Vec::new();
    for pair in &bench.pairs {
        // The rig's difference is second minus first.
        let at = |row: usize| sides.get(row).copied().flatten();
        let (Some(first), Some(second)) = (at(pair.second), at(pair.first)) else { continue };
        if first != second {
            found.push(verdict(question, label, (first, second), &pair.apart));
        }
    }
    found.sort_by_key(|verdict| (verdict.first.min(verdict.second), verdict.first.max(verdict.second)));
    found
}

fn verdict(
    question: &Question,
    label: &str,
    sides: (usize, usize),
    apart: &crate::change::Apart,
) -> BenchVerdict {
    let turned = apart.difference_db < 0.0;
    let (first, second) = if turned { (sides.1, sides.0) } else { sides };
    let difference_db = apart.difference_db.abs();
    let interval = apart.interval.map(|interval| if turned { interval.negated() } else { interval });
    let name = |side: usize| super::words::noun(&question.options[side].name);
    let range = interval.map_or_else(|| "no interval".to_owned(), |interval| print::range(&interval, 1));
    let numbers = format!("{} dB apart ({range})", print::decimals(difference_db, 1));
    let sentence = if apart.told_apart {
        format!(
            "On the bench, a small panel ({label}): {} did better than {}, {numbers}.",
            name(first),
            name(second)
        )
    } else {
        format!(
            "On the bench, a small panel ({label}): {} and {} cannot be told apart, {numbers}.",
            name(first),
            name(second)
        )
    };
    BenchVerdict {
        test_label: label.to_owned(),
        first,
        second,
        difference_db,
        interval,
        told_apart: apart.told_apart,
        sentence,
    }
}
