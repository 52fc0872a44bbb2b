//! Figures of what was built: a section of each version, the framed wall, and which way the sound goes.

use std::collections::BTreeSet;

use storypole_drawing::chart::paths::{PathShare, Paths, WallPaths};
use storypole_drawing::{Chart, Look};
use storypole_findings::paths::path_shares;
use storypole_findings::{PathShares, print};
use storypole_journal::RecordId;
use storypole_ledger::takeoff::{Ask, takeoff};

use super::{Figures, Of};
use crate::document::Topic;
use crate::scope::Scope;
use crate::sketch;

pub(super) fn add(scope: &Scope<'_>, figures: &mut Figures) {
    add_built(scope, figures);
    add_paths(scope, figures);
}

/// A section of each version, and each framing once.
fn add_built(scope: &Scope<'_>, figures: &mut Figures) {
    let mut framed = BTreeSet::new();
    for assembly in &scope.assemblies {
        let label = assembly.label.as_deref().unwrap_or("a wall");
        let section = sketch::section_of(scope.book, assembly.id).ok();
        // What cannot be drawn is known only to whoever draws it.
        if let Some(section) = section.filter(|section| section.draw(Look::default()).is_ok()) {
            let caption =
                format!("{label}: a cut through it, from {} to {}.", section.side_a, section.side_b);
            figures.add(
                Topic::Built,
                None,
                Of::All,
                &format!("section-{label}"),
                Chart::Section(section),
                caption,
            );
        }
        let Ok(sheet) = takeoff(scope.book, assembly.id, &Ask::default()) else { continue };
        if !framed.insert(sheet.framed_by) {
            continue;
        }
        for index in 0..sheet.runs.len() {
            let Ok(wall) = sketch::elevation_of(scope.book, &sheet, index) else { continue };
            if wall.draw(Look::default()).is_ok() {
                let caption = format!("{label}: the framing with its bays, seen from the side of leaf A.");
                figures.add(
                    Topic::Built,
                    None,
                    Of::All,
                    &format!("wall-{label}"),
                    Chart::Elevation(wall),
                    caption,
                );
            }
        }
    }
}

/// Shares of the sound before and after each answer.
fn add_paths(scope: &Scope<'_>, figures: &mut Figures) {
    let mut shown = BTreeSet::new();
    for change in scope.headlines() {
        let pair = (change.from.assembly, change.to.assembly);
        if pair.0 == pair.1 || !shown.insert(pair) {
            continue;
        }
        if let Some(chart) = paths(scope, pair, &change.from.assembly_label, &change.to.assembly_label) {
            let labels = (&change.from.assembly_label, &change.to.assembly_label);
            let caption = format!(
                "Which way the sound goes by the formula, {} before and {} after.",
                labels.0, labels.1
            );
            let name = format!("paths-{}-{}", labels.0, labels.1);
            figures.add(Topic::Others, None, Of::All, &name, Chart::Paths(chart), caption);
        }
    }
}

/// Shares before and after, where they are known and an opening takes one.
fn paths(
    scope: &Scope<'_>,
    (before, after): (Option<RecordId>, Option<RecordId>),
    first: &str,
    second: &str,
) -> Option<Paths> {
    let shares = |wall| path_shares(scope.book.assemblies.of(wall)?).filter(|one| one.wall_share.is_some());
    let (before, after) = (shares(before), shares(after));
    let has_opening = [&before, &after].into_iter().flatten().any(|one| !one.openings.is_empty());
    let finding = after.as_ref().or(before.as_ref())?.sentence();
    let walls = [(before, format!("{first}, before")), (after, format!("{second}, after"))];
    let walls: Vec<WallPaths> =
        walls.into_iter().filter_map(|(shares, label)| wall_paths(&shares?, label)).collect();
    has_opening.then(|| Paths {
        title: format!("Which way the sound goes, {first} and {second}"),
        finding,
        walls,
    })
}

fn wall_paths(shares: &PathShares, label: String) -> Option<WallPaths> {
    let wall = shares.wall?;
    let of_wall = PathShare {
        label: "the wall itself".to_owned(),
        share: shares.wall_share?,
        loss_db: Some(wall.typical_db),
    };
    let openings = shares.openings.iter().map(|opening| PathShare {
        label: format!("{}, {} m2", opening.words, print::decimals(opening.area_m2, 2)),
        share: opening.share,
        loss_db: Some(opening.loss.typical_db),
    });
    let together_db = shares.predicted.map(|range| (range.low_db, range.high_db));
    Some(WallPaths { label, together_db, paths: std::iter::once(of_wall).chain(openings).collect() })
}

#[cfg(test)]
mod tests {
    use super::super::tests::figures;
    use super::*;
    use crate::fixture::demo;
    use crate::subject::Subject;

    /// Source: shares add up to one by definition; the formula gives 25.0 and 37.2 for the demo's wall, computed independently.
    #[test]
    fn the_door_takes_most_of_the_sound() {
        let all = demo();
        let found = figures(&all, Subject::Test(all.id("test", "Q1")));
        let paths = found.iter().find_map(|placed| match &placed.figure.chart {
            Chart::Paths(paths) => Some(paths),
            _ => None,
        });
        let walls = &paths.unwrap().walls;
        assert_eq!(walls.len(), 2);
        for (wall, low) in walls.iter().zip(["25.0", "37.2"]) {
            let sum: f64 = wall.paths.iter().map(|path| path.share).sum();
            assert!((sum - 1.0).abs() < 1e-9);
            assert!(wall.paths[1].share > 0.5, "{wall:?}");
            assert_eq!(print::decimals(wall.together_db.unwrap().0, 1), low);
        }
    }

    #[test]
    fn an_unknown_rim_has_no_figure_and_no_error() {
        let all = demo();
        let found = figures(&all, Subject::Test(all.id("test", "Q7")));
        assert!(found.iter().all(|placed| placed.topic == Topic::Results), "{found:?}");
    }

    #[test]
    fn a_framed_wall_is_drawn_once() {
        let mut all = demo();
        for wall in ["A05", "A06"] {
            all.change("assembly", wall, &[("stud_face", "1 1/2 in"), ("stud_spacing", "24 in")]);
        }
        let found = figures(&all, Subject::Test(all.id("test", "Q2")));
        let walls = found.iter().filter(|placed| matches!(placed.figure.chart, Chart::Elevation(_))).count();
        assert!((1..=2).contains(&walls), "{walls}");
    }
}
