//! The grade of a change: what its design was, from the records of both sets.
//!
//! Leaves out the limits and their words: see [`mod@crate::grade`].

use std::collections::BTreeMap;

use storypole_journal::RecordId;

use super::{Change, cover};
use crate::Findings;
use crate::compared::Compared;
use crate::flags::{Flag, Raised};
use crate::grade::{self, ConditionProblems, Cover, Design, Drift, Grade, Letter};
use crate::set_finding::SetFinding;

/// Grades the comparison of two sets.
pub(super) fn graded(
    joins: &Findings<'_>,
    first: &SetFinding,
    second: &SetFinding,
    compared: &Compared,
    drift: Option<Drift>,
) -> Grade {
    let is_bench = compared.runs.is_some();
    let cover_of = |set: &SetFinding| {
        if is_bench { Cover::Covered } else { cover(joins.book.assemblies.of(set.assembly)) }
    };
    let design = Design {
        // On a bench rig runs take the place of positions, and a run is its own repeat and needs no background.
        positions: if is_bench { compared.replicates } else { compared.labels.len() },
        replicates: if is_bench { 2 } else { compared.replicates },
        margin_db: if is_bench { Some(10.0) } else { compared.margin_db },
        conditions: problems(joins, first, second),
        cover: (cover_of(first), cover_of(second)),
        drift,
    };
    let mut graded = grade::grade(&design);
    if is_bench {
        graded.criteria.retain(|row| !matches!(row.name, "replicates" | "background" | "wall"));
        if let Some(row) = graded.criteria.iter_mut().find(|row| row.name == "positions") {
            row.name = "runs";
            row.why = row.why.replace("position", "run");
        }
        graded.letter = graded.criteria.iter().map(|row| row.letter).max().unwrap_or(Letter::D);
    }
    let noted = [first, second]
        .iter()
        .any(|set| joins.book.sets.get(set.set).is_some_and(|set| !joins.conditions_of(set).is_empty()));
    if let Some(row) = graded.criteria.iter_mut().find(|row| row.name == "conditions" && !noted) {
        "no conditions were noted".clone_into(&mut row.why);
    }
    if compared.absent.is_some() {
        graded.cap("result", Letter::D, "no comparison");
    }
    if compared.receive_only {
        graded.cap("source", Letter::C, "source room not measured");
    }
    graded
}

/// Conditions that differ over two sets; one without a note in a set is unknown.
pub(crate) fn problems(joins: &Findings<'_>, first: &SetFinding, second: &SetFinding) -> ConditionProblems {
    let mut worst: BTreeMap<RecordId, (Option<&str>, Option<bool>)> = BTreeMap::new();
    for set in [first, second] {
        let Some(record) = joins.book.sets.get(set.set) else { continue };
        for (condition, found) in joins.conditions_of(record) {
            let changed = match found.and_then(|found| found.status.as_deref()) {
                Some("same" | "corrected") => Some(false),
                Some("changed") => Some(true),
                _ => None,
            };
            let entry = worst.entry(condition.id).or_insert((condition.class.as_deref(), Some(false)));
            entry.1 = match (entry.1, changed) {
                (Some(true), _) | (_, Some(true)) => Some(true),
                (None, _) | (_, None) => None,
                _ => Some(false),
            };
        }
    }
    let mut problems = ConditionProblems::default();
    if worst.is_empty() {
        problems.critical.unknown = 1;
    }
    for (class, changed) in worst.into_values() {
        let of_class = match class {
            Some("important") => &mut problems.important,
            Some("minor") => &mut problems.minor,
            _ => &mut problems.critical,
        };
        match changed {
            Some(true) => of_class.changed += 1,
            None => of_class.unknown += 1,
            Some(false) => (),
        }
    }
    problems
}

/// Flags that lower the grade by themselves; conditions, positions and background have rows of their own.
pub(super) fn cap_by_flags(change: &mut Change) {
    let caps: Vec<(Letter, &Raised)> = change
        .flags
        .iter()
        .filter_map(|raised| match raised.flag {
            Flag::PositionOutlier | Flag::BackgroundNotMeasured => Some((Letter::C, raised)),
            Flag::MissingPosition | Flag::FurnitureDiffers => Some((Letter::B, raised)),
            _ => None,
        })
        .collect();
    let caps: Vec<(&'static str, Letter, String)> =
        caps.into_iter().map(|(letter, raised)| (raised.flag.name(), letter, raised.words.clone())).collect();
    for (name, letter, words) in caps {
        change.grade.cap(name, letter, words);
    }
}
