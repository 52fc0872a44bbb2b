//! Figures over several results: jobs below each other, and what was paid against what was gained.

use storypole_drawing::Chart;
use storypole_drawing::chart::Value;
use storypole_drawing::chart::forest::{Forest, ForestRow};
use storypole_drawing::chart::worth::{Worth, WorthRow};
use storypole_findings::across::{Measure, Row, synthesis};
use storypole_findings::compare::Line;
use storypole_findings::question::{Answer, Side};
use storypole_findings::{Change, Interval, print};
use storypole_ledger::chain_money;
use storypole_notebook::Unit;
use storypole_statistics::frontier::{CostEffect, frontier};
use storypole_statistics::{Confidence, Dof, distributions};

use super::{Figures, Of, value};
use crate::document::Topic;
use crate::scope::Scope;
use crate::sections::jobs_between;

const CHANGE: &str = "Change of the level difference";

pub(super) fn add(scope: &Scope<'_>, figures: &mut Figures) {
    if let Some(answer) = &scope.answer {
        for side in &answer.sides {
            if let Some(chart) = of_side(answer, side) {
                let name = format!("forest-{}", side.name);
                let caption = format!("Jobs with {}, one line each.", side.name);
                figures.add(Topic::Results, None, Of::All, &name, Chart::Forest(chart), caption);
            }
        }
    } else if let Some(chart) = of_changes(scope) {
        let caption = "The results side by side, each with where it very likely lies.".to_owned();
        figures.add(Topic::Results, None, Of::All, "forest", Chart::Forest(chart), caption);
    }
    if let Some(chart) = worth(scope) {
        let caption = format!("{}, against the change it brought.", chart.cost);
        figures.add(Topic::Cost, None, Of::All, "worth", Chart::Worth(chart), caption);
    }
}

fn letter(letter: &impl ToString) -> Option<char> {
    letter.to_string().chars().next()
}

/// Changes of one weighting, where there are two or more.
fn of_changes(scope: &Scope<'_>) -> Option<Forest> {
    let headlines = scope.headlines();
    let unit = headlines.first()?.unit;
    let alike: Vec<&Change> = headlines.into_iter().filter(|change| change.unit == unit).collect();
    let rows = alike.iter().filter_map(|change| {
        let parts: Vec<&str> = change.bundle.iter().map(|part| part.part).collect();
        Some(ForestRow {
            label: format!(
                "{}, {} to {}",
                scope.job_label(change.to.job),
                change.from.label,
                change.to.label
            ),
            detail: if parts.is_empty() { change.direction.words.clone() } else { print::list(&parts) },
            value: value(change.value?, change.interval.as_ref())?,
            grade: letter(&change.grade.letter),
            weight: None,
            claimed: change.claim.holds(),
        })
    });
    let rows: Vec<ForestRow> = rows.collect();
    (rows.len() > 1).then(|| Forest {
        title: "Results side by side".to_owned(),
        finding: side_by_side(&rows),
        quantity: CHANGE.to_owned(),
        unit: unit.map_or_else(|| "dB".to_owned(), |unit| unit.to_string()),
        rows,
        average: None,
        next_job: None,
    })
}

fn side_by_side(rows: &[ForestRow]) -> String {
    let claimed = match rows.iter().filter(|row| row.claimed).count() {
        0 => "none of them".to_owned(),
        all if all == rows.len() => "all of them".to_owned(),
        1 => "one of them".to_owned(),
        some => format!("{some} of them"),
    };
    format!(
        "{} results; {claimed} may be claimed. They are of different work and have no average.",
        rows.len()
    )
}

/// Jobs of one side of a comparison, with their average and the next job.
fn of_side(answer: &Answer, side: &Side) -> Option<Forest> {
    let weights = weights(side);
    let rows = side.rows.iter().enumerate().filter_map(|(index, row)| {
        Some(ForestRow {
            label: format!("{} {}", row.job_label, walls(row)).trim().to_owned(),
            detail: row.bundle.join(", "),
            value: value(row.value, row_interval(row).as_ref())?,
            grade: letter(&row.grade),
            weight: weights.get(index).copied().flatten(),
            // A level difference is measured as it stands: there is nothing to claim of it.
            claimed: row.measure == Measure::Level || row.claim.holds(),
        })
    });
    let rows: Vec<ForestRow> = rows.collect();
    let average = side.average.as_ref().filter(|average| average.jobs > 1);
    let ends = |interval: Interval| (interval.low, interval.high);
    (!rows.is_empty()).then(|| Forest {
        title: print::capital(&side.name),
        finding: answer.sentences.first().cloned().unwrap_or_default(),
        quantity: if answer.measure == Measure::Change { CHANGE } else { "Level difference" }.to_owned(),
        unit: Unit::to_string(&answer.question.unit),
        rows,
        average: average.and_then(|average| {
            let estimate = storypole_findings::Estimate { value: average.value_db, bound: average.bound };
            value(estimate, average.interval.as_ref())
        }),
        next_job: average.and_then(|average| average.next_job).map(ends),
    })
}

/// The walls of a row: `A05 to A07`.
pub(crate) fn walls(row: &Row) -> String {
    match &row.before {
        Some(before) => format!("{} to {}", before.label, row.after.label),
        None => row.after.label.clone(),
    }
}

/// Where a row very likely lies, from its own uncertainty.
pub(crate) fn row_interval(row: &Row) -> Option<Interval> {
    let u_db = row.variance?.sqrt();
    let dof = row.dof.map_or(Ok(Dof::INFINITE), Dof::new).ok()?;
    let half = distributions::coverage_factor(Confidence::P95, dof) * u_db;
    half.is_finite().then_some(Interval { low: row.value.value - half, high: row.value.value + half })
}

/// Each row's part of the average: `1/(v + τ²)` of the rows of grades A and B, where each is of a job of its own.
fn weights(side: &Side) -> Vec<Option<f64>> {
    let none = || vec![None; side.rows.len()];
    let main: Vec<usize> =
        (0..side.rows.len()).filter(|index| side.rows[*index].line == Line::Main).collect();
    let Some(average) = side.average.as_ref().filter(|average| average.jobs == main.len()) else {
        return none();
    };
    let variances: Option<Vec<(f64, f64)>> =
        main.iter().map(|index| Some((side.rows[*index].value.value, side.rows[*index].variance?))).collect();
    let Some(rows) = variances else { return none() };
    let tau2 = match (average.jobs, synthesis(&rows)) {
        (1, _) => 0.0,
        (_, Ok(found)) => found.by_t.map(|average| average.tau2).unwrap_or(0.0),
        (_, Err(_)) => return none(),
    };
    let parts: Vec<f64> = rows.iter().map(|(_, variance)| 1.0 / (variance + tau2)).collect();
    let sum: f64 = parts.iter().sum();
    let mut weights = none();
    for (index, part) in main.into_iter().zip(parts) {
        weights[index] = Some(part / sum).filter(|weight| weight.is_finite());
    }
    weights
}

/// A job with what it cost and gained.
struct Paid {
    label: String,
    cost: f64,
    /// m²
    area: Option<f64>,
    currency: String,
    gain: Value,
    claimed: bool,
}

fn worth(scope: &Scope<'_>) -> Option<Worth> {
    let paid: Vec<Paid> = match &scope.answer {
        Some(answer) if answer.measure == Measure::Change => of_rows(answer),
        Some(_) => Vec::new(),
        None => of_headlines(scope),
    };
    let currency = paid.first()?.currency.clone();
    let mut paid: Vec<Paid> = paid.into_iter().filter(|one| one.currency == currency).collect();
    let by_area = paid.iter().all(|one| one.area.is_some());
    if by_area {
        for one in &mut paid {
            one.cost /= one.area.unwrap_or(1.0);
        }
    }
    if paid.len() < 2 {
        return None;
    }
    let on_line = on_line(&paid);
    let names: Vec<&str> =
        on_line.iter().filter_map(|index| Some(paid.get(*index)?.label.as_str())).collect();
    let finding = match names.as_slice() {
        [] => "No gain here may be claimed, so nothing was shown to be worth its cost.".to_owned(),
        names => format!("Nothing cheaper is claimed to have gained as much as {}.", print::list(names)),
    };
    let counted = scope.book.notebooks.live().find_map(|settings| settings.own_labour_counted) != Some(false);
    let per = if by_area { "Cost for each m2" } else { "Cost" };
    let labour = if counted { "own labour counted" } else { "own labour not counted" };
    let rows = paid.iter().enumerate().map(|(index, one)| WorthRow {
        label: one.label.clone(),
        cost: one.cost,
        gain: one.gain,
        on_line: on_line.contains(&index),
        claimed: one.claimed,
    });
    Some(Worth {
        title: "What was paid and what it gained".to_owned(),
        finding,
        cost: format!("{per}, {labour}"),
        currency,
        gain: CHANGE.to_owned(),
        unit: "dB".to_owned(),
        rows: rows.collect(),
    })
}

/// Indices of those that nothing cheaper beats, among those whose gain may be claimed.
fn on_line(paid: &[Paid]) -> Vec<usize> {
    let claimed: Vec<usize> = (0..paid.len()).filter(|index| paid[*index].claimed).collect();
    let options: Vec<CostEffect> = claimed
        .iter()
        .map(|index| CostEffect { cost: paid[*index].cost, effect: paid[*index].gain.value })
        .collect();
    let Ok(found) = frontier(&options) else { return Vec::new() };
    let best = found.pareto.iter().chain(&found.identical);
    let mut best: Vec<usize> = best.filter_map(|index| claimed.get(*index).copied()).collect();
    best.sort_unstable();
    best
}

/// Changes of one weighting whose jobs have a cost.
fn of_headlines(scope: &Scope<'_>) -> Vec<Paid> {
    let headlines = scope.headlines();
    let unit = headlines.first().and_then(|change| change.unit);
    let paid = headlines.into_iter().filter(|change| change.unit == unit).filter_map(|change| {
        let jobs = jobs_between(scope, change);
        let money = chain_money(scope.book, &jobs);
        if jobs.is_empty() || money.net.amount.is_zero() {
            return None;
        }
        let names: Vec<String> = jobs.iter().map(|job| scope.job_label(Some(*job))).collect();
        Some(Paid {
            label: format!("{}, {} to {}", names.join(" + "), change.from.label, change.to.label),
            cost: money.net.amount.to_f64(),
            area: money.area.map(|area| area.m2()).filter(|m2| *m2 > 0.0),
            currency: money.net.currency.code().to_owned(),
            gain: value(change.value?, change.interval.as_ref())?,
            claimed: change.claim.holds(),
        })
    });
    paid.collect()
}

fn of_rows(answer: &Answer) -> Vec<Paid> {
    let rows = answer.sides.iter().flat_map(|side| side.rows.iter().map(move |row| (side, row)));
    let paid = rows.filter_map(|(side, row)| {
        let cost = row.cost.as_ref().filter(|cost| !cost.net.amount.is_zero())?;
        Some(Paid {
            label: format!("{} {}, {}", row.job_label, walls(row), side.name),
            cost: cost.net.amount.to_f64(),
            area: cost.area.map(|area| area.m2()).filter(|m2| *m2 > 0.0),
            currency: cost.net.currency.code().to_owned(),
            gain: value(row.value, row_interval(row).as_ref())?,
            claimed: row.claim.holds(),
        })
    });
    paid.collect()
}

#[cfg(test)]
mod tests {
    use super::super::tests::figures;
    use super::*;
    use crate::fixture::demo;
    use crate::subject::Subject;

    /// Source: the demo scenario, invented: 585.10 USD less nothing in stock for +10.4 dB, 2810.38 less 13.44 for +11.2 dB; the
    /// dearer one gained more, so both stand on the line.
    #[test]
    fn what_was_paid_stands_against_what_it_gained() {
        let all = demo();
        let found = figures(&all, Subject::Job(all.id("job", "J2")));
        let worth = found.iter().find_map(|placed| match &placed.figure.chart {
            Chart::Worth(worth) => Some(worth),
            _ => None,
        });
        let worth = worth.unwrap();
        let rows: Vec<(String, bool)> =
            worth.rows.iter().map(|row| (print::decimals(row.gain.value, 1), row.on_line)).collect();
        assert_eq!(rows, [("10.4".to_owned(), true), ("11.2".to_owned(), true)]);
        assert!(worth.cost.contains("own labour counted") && worth.currency == "USD");
        assert!(worth.rows[0].cost < worth.rows[1].cost);
    }

    /// Source: the demo scenario, invented: +0.8 dB for the wall alone is not claimed.
    #[test]
    fn what_may_not_be_claimed_is_not_on_the_line() {
        let all = demo();
        let found = figures(&all, Subject::Job(all.id("job", "J1")));
        let worth = found.iter().find_map(|placed| match &placed.figure.chart {
            Chart::Worth(worth) => Some(worth),
            _ => None,
        });
        let rows: Vec<(&str, bool)> =
            worth.unwrap().rows.iter().map(|row| (row.label.as_str(), row.on_line)).collect();
        assert_eq!(rows, [("J1, T01 to T04", false), ("J1 + J2, T01 to T05", true)]);
    }

    #[test]
    fn several_results_stand_below_each_other() {
        let all = demo();
        let found = figures(&all, Subject::Chosen(vec![all.id("job", "J3"), all.id("test", "Q4")]));
        let forest = found.iter().find_map(|placed| match &placed.figure.chart {
            Chart::Forest(forest) => Some(forest),
            _ => None,
        });
        let rows: Vec<(&str, bool)> =
            forest.unwrap().rows.iter().map(|row| (row.label.as_str(), row.claimed)).collect();
        assert_eq!(rows, [("J3, T10 to T13", true), ("J5, T17 to T18", false)]);
        assert!(forest.unwrap().average.is_none(), "walls that are only shown have no average");
    }
}
