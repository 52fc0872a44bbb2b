//! Walls of several results before and after, one row each on one scale.
//!
//! Leaves out the positions behind each row: every result has a figure of its own for them.

use storypole_drawing::Chart;
use storypole_drawing::chart::Bound;
use storypole_drawing::chart::positions::{Each, PositionRow, Positions};
use storypole_findings::{Change, Estimate, Sense};

use super::{OPENING, alike, jobs_words, not_drawn};
use crate::document::Topic;
use crate::figures::{Figures, Of};
use crate::headline::short;
use crate::scope::Scope;
use crate::sections::jobs_between;
use crate::sections::numbers::{change as change_words, level_difference};

/// Most letters of a job's title beside its wall. Convention of this project.
const TITLE: usize = 44;
/// So many positions and more go without saying. Convention of this project.
const USUAL_POSITIONS: usize = 4;

/// Its name, for whoever looks for it.
pub(crate) const NAME: &str = "walls";

pub(super) fn add(scope: &Scope<'_>, figures: &mut Figures) {
    if let Some(chart) = walls(scope) {
        let caption = format!(
            "Each wall before and after, on the positions both of its sets have.{}",
            not_drawn(scope)
        );
        figures.add(Topic::Results, None, Of::All, NAME, Chart::Positions(chart), caption);
    }
}

/// Where two walls or more have a level difference before and after.
fn walls(scope: &Scope<'_>) -> Option<Positions> {
    let changes = alike(scope);
    let unit = changes.first()?.unit;
    let mut shown: Vec<(&Change, PositionRow)> =
        changes.into_iter().filter_map(|change| Some((change, row(scope, change)?))).collect();
    let labels: Vec<String> = shown.iter().map(|(_, row)| row.label.clone()).collect();
    for (change, row) in &mut shown {
        if labels.iter().filter(|label| **label == row.label).count() > 1 {
            row.label = format!("{}, {} to {}", row.label, change.from.label, change.to.label);
        }
    }
    (shown.len() > 1).then(|| Positions {
        title: "Walls before and after".to_owned(),
        finding: finding(scope, &shown),
        quantity: level_difference(unit),
        unit: "dB".to_owned(),
        states: ("before".to_owned(), "after".to_owned()),
        each: Each::Wall,
        rows: shown.into_iter().map(|(_, row)| row).collect(),
        average: (None, None),
        average_bounds: (Bound::Exact, Bound::Exact),
        more_is_better: true,
    })
}

fn row(scope: &Scope<'_>, change: &Change) -> Option<PositionRow> {
    let (before, after) = (change.before?, change.after?);
    let notes: Vec<String> =
        change.is_apart().then(|| OPENING.to_owned()).into_iter().chain(few_positions(change)).collect();
    Some(PositionRow {
        label: label(scope, change),
        before: Some(before.value),
        after: Some(after.value),
        bounds: (bound(before)?, bound(after)?),
        note: (!notes.is_empty()).then(|| notes.join("; ")),
    })
}

fn bound(estimate: Estimate) -> Option<Bound> {
    match estimate.bound {
        Sense::Exact => Some(Bound::Exact),
        Sense::AtLeast => Some(Bound::AtLeast),
        Sense::AtMost => Some(Bound::AtMost),
        Sense::Undetermined => None,
    }
}

/// The jobs, and what the first of them was: `J1 + J2, music room`.
fn label(scope: &Scope<'_>, change: &Change) -> String {
    let jobs = jobs_between(scope, change);
    let title = jobs.first().and_then(|job| scope.book.jobs.get(*job)?.title.as_deref());
    let title = title.map(|title| short(title, TITLE)).filter(|title| !title.is_empty());
    let names = jobs_words(scope, change);
    title.map_or_else(|| names.clone(), |title| format!("{names}, {title}"))
}

fn few_positions(change: &Change) -> Option<String> {
    let count = change.compared_on.len();
    (count < USUAL_POSITIONS || !change.left_off.is_empty()).then(|| match count {
        1 => "on one position".to_owned(),
        count => format!("on {count} positions"),
    })
}

fn finding(scope: &Scope<'_>, shown: &[(&Change, PositionRow)]) -> String {
    let claimed: Vec<&Change> =
        shown.iter().map(|(change, _)| *change).filter(|change| change.claim.holds()).collect();
    let gain = |change: &&Change| change.value.map_or(f64::NEG_INFINITY, |value| value.value);
    let most = claimed.iter().copied().filter(|change| gain(change) > 0.0);
    let most = most.max_by(|one, other| gain(one).total_cmp(&gain(other)));
    let said = match (claimed.len(), shown.len()) {
        (0, _) => "none of the changes may be claimed".to_owned(),
        (some, all) if some == all => "all changes may be claimed".to_owned(),
        (1, _) => "one of the changes may be claimed".to_owned(),
        (some, _) => format!("{some} of the changes may be claimed"),
    };
    let most = most.and_then(|change| {
        Some(format!(" The greatest is {} dB ({}).", change_words(change.value?), jobs_words(scope, change)))
    });
    format!("{} walls; {said}.{}", shown.len(), most.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use storypole_findings::print;

    use super::*;
    use crate::figures::tests::figures;
    use crate::fixture::demo;
    use crate::subject::Subject;

    fn chart(all: &crate::fixture::Fixture, subject: Subject) -> Positions {
        let found = figures(all, subject).into_iter().find(|placed| placed.figure.name == NAME);
        match found.map(|placed| placed.figure.chart) {
            Some(Chart::Positions(chart)) => chart,
            other => panic!("{other:?}"),
        }
    }

    /// Source: the demo scenario, invented: music room 24.9 to 36.1, party wall 41.6 to 47.5, closet 14.4 to 14.5.
    #[test]
    fn chosen_walls_stand_on_one_scale() {
        let all = demo();
        let chosen = ["Q1", "Q2", "Q4", "Q5"].map(|test| all.id("test", test)).to_vec();
        let chart = chart(&all, Subject::Chosen(chosen));
        let rows: Vec<(String, String)> = chart
            .rows
            .iter()
            .map(|row| {
                let number = |value: Option<f64>| print::decimals(value.unwrap(), 1);
                (row.label.clone(), format!("{} then {}", number(row.before), number(row.after)))
            })
            .collect();
        let expected = [
            ("J1 + J2, Music room, hall partition rebuilt", "24.9 then 36.1"),
            ("J3, Wall of the living rooms, unit A side", "41.6 then 47.5"),
            ("J5, Utility closet boarded and filled", "14.4 then 14.5"),
        ];
        assert_eq!(rows, expected.map(|(label, numbers)| (label.to_owned(), numbers.to_owned())));
        assert!(chart.more_is_better && chart.each == Each::Wall && chart.average == (None, None));
        assert_eq!(chart.rows[2].note.as_deref(), Some(OPENING));
        assert!(chart.finding.ends_with("The greatest is +11.2 dB (J1 + J2)."), "{}", chart.finding);
    }

    #[test]
    fn few_positions_are_noted_and_one_wall_is_no_figure() {
        let mut all = demo();
        all.strike("reading", "T13/R4", "a truck passed");
        let chosen = ["Q1", "Q2"].map(|test| all.id("test", test)).to_vec();
        assert_eq!(chart(&all, Subject::Chosen(chosen)).rows[1].note.as_deref(), Some("on 3 positions"));
        let one = figures(&all, Subject::Chosen(vec![all.id("test", "Q1")]));
        assert!(one.iter().all(|placed| placed.figure.name != NAME));
    }
}
