//! Which rows of the notebook stand on which side of a question, and why others do not.
//!
//! States are never mixed, walls limited by an opening stand apart, one job gives one result a side. Leaves out what the sides
//! show: see [`mod@super::answer`].

use std::collections::BTreeMap;

use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::matching::Parts;

use super::parse::{Question, takes};
use super::part::{Axis, Part};
use super::traits::{self, Trait};
use super::weigh::{Entry, merged};
use crate::across::pool::{EARLIER, standing};
use crate::across::{Measure, Row, Wall};
use crate::compare::Line;
use crate::{Findings, print};

/// A result that belongs to the question and is not compared, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Job and walls.
    pub what: String,
    /// Why.
    pub why: String,
}

/// A result of the question's walls in another state, or limited by an opening: shown, not compared with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownApart {
    /// Index of the side.
    pub side: usize,
    /// The result.
    pub row: Row,
    /// Why it stands apart.
    pub why: String,
}

/// A row with its side, found for a question.
pub(super) struct Sided {
    pub(super) side: usize,
    pub(super) row: Row,
    pub(super) traits: Vec<Trait>,
}

/// What one job shows on one side.
pub(super) struct OfJob {
    pub(super) rows: Vec<Row>,
    pub(super) entry: Entry,
    pub(super) line: Line,
    pub(super) bound: Sense,
}

/// What is never compared with another of these: the states before and after, and whether an opening limits the wall.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Stratum {
    pub(super) before: Option<String>,
    pub(super) after: Option<String>,
    pub(super) apart: Option<bool>,
}

/// The rows of a question, sorted.
pub(super) struct Sides {
    pub(super) stratum: Option<Stratum>,
    /// By side, then by job.
    pub(super) jobs: Vec<Vec<OfJob>>,
    pub(super) apart: Vec<ShownApart>,
    pub(super) left_out: Vec<LeftOut>,
}

/// A row in a few words: job, walls, what came out.
pub(super) fn row_words(row: &Row) -> String {
    let walls = match &row.before {
        Some(before) => format!("{} to {}", before.label, row.after.label),
        None => row.after.label.clone(),
    };
    let job = if row.job_label.is_empty() { "no job" } else { &row.job_label };
    let value = match row.measure {
        Measure::Change => print::signed(row.value.value, 1),
        Measure::Level => print::decimals(row.value.value, 1),
    };
    format!("{job}, {walls}: {}{value} dB", bound_words(row.value.bound))
}

pub(super) fn bound_words(bound: Sense) -> &'static str {
    match bound {
        Sense::AtLeast => "at least ",
        Sense::AtMost => "at most ",
        Sense::Exact | Sense::Undetermined => "",
    }
}

/// Sorts the rows of one measure.
pub(super) fn sorted(findings: &Findings<'_>, question: &Question, rows: Vec<Row>) -> Sides {
    let compared = question.compared();
    let mut left_out = Vec::new();
    let mut found: Vec<Sided> = Vec::new();
    for row in rows {
        match sided(findings, question, &compared, row) {
            Verdict::In(sided) => found.push(*sided),
            Verdict::Out(out) => left_out.push(out),
            Verdict::Other => (),
        }
    }
    let stratum = leading(&found, &compared, question.options.len());
    let (mut inside, mut apart) = (Vec::new(), Vec::new());
    for one in found {
        let own = stratum_of(&one.row, &compared);
        match &stratum {
            Some(stratum) if own != *stratum => {
                let why = why_apart(&own, stratum);
                apart.push(ShownApart { side: one.side, row: one.row, why });
            }
            _ => inside.push(one),
        }
    }
    let jobs = by_job(findings, inside, question.options.len(), &mut left_out);
    Sides { stratum, jobs, apart, left_out }
}

/// A rebuild from one side to another with nothing else changed.
pub(super) struct Rebuild {
    /// Index of the side before.
    pub(super) from: usize,
    /// Index of the side after.
    pub(super) to: usize,
    pub(super) bound: Sense,
    pub(super) entry: Entry,
}

/// Rebuilds from side to side: each compares two sides within one house.
///
/// Only those of the best line stand that nothing but the compared part sets apart; of other states, or limited by an opening,
/// they stand only where there are no others.
pub(super) fn rebuilds(findings: &Findings<'_>, question: &Question, changes: &[Row]) -> Vec<Rebuild> {
    let compared = question.compared();
    let one_side = |parts: &Parts| {
        let mut sides = (0..question.options.len()).filter(|side| question.options[*side].takes(parts));
        sides.next().filter(|_| question.shares(parts) && sides.next().is_none())
    };
    let mut strata: BTreeMap<Stratum, Vec<Rebuild>> = BTreeMap::new();
    for row in changes {
        let Some(before) = row.before.as_ref().and_then(|wall| parts_of(findings, wall)) else { continue };
        let Some(after) = parts_of(findings, &row.after) else { continue };
        let (Some(from), Some(to)) = (one_side(&before), one_side(&after)) else { continue };
        let counts = row.unit == Some(question.unit)
            && row.line == Line::Main
            && row.value.bound != Sense::Undetermined
            && traits::also_changed(row, &compared) == traits::NOTHING;
        let Some(variance) = row.variance.filter(|_| counts && from != to) else { continue };
        let entry = Entry {
            value_db: row.value.value,
            variance,
            dof: row.dof,
            house: house_of(findings, row.job),
            traits: Vec::new(),
        };
        let rebuild = Rebuild { from, to, bound: row.value.bound, entry };
        strata.entry(stratum_of(row, &compared)).or_default().push(rebuild);
    }
    let best = strata.into_iter().max_by_key(|(stratum, rows)| (stratum.apart != Some(true), rows.len()));
    best.map(|(_, rows)| rows).unwrap_or_default()
}

/// The house of a job: its site, or the job itself where no site is written down.
fn house_of(findings: &Findings<'_>, job: Option<RecordId>) -> Option<RecordId> {
    job.and_then(|job| findings.book.jobs.get(job)?.site).or(job)
}

enum Verdict {
    In(Box<Sided>),
    Out(LeftOut),
    Other,
}

fn parts_of(findings: &Findings<'_>, wall: &Wall) -> Option<Parts> {
    Parts::of(findings.book.assemblies.get(wall.assembly)?).ok()
}

fn sided(findings: &Findings<'_>, question: &Question, compared: &[Axis], row: Row) -> Verdict {
    let Some(after) = parts_of(findings, &row.after) else { return Verdict::Other };
    if !question.shares(&after) {
        return Verdict::Other;
    }
    let sides: Vec<usize> =
        (0..question.options.len()).filter(|side| question.options[*side].takes(&after)).collect();
    let out = |row: &Row, why: String| Verdict::Out(LeftOut { what: row_words(row), why });
    let side = match sides.as_slice() {
        [] => return Verdict::Other,
        [one] => *one,
        _ => return out(&row, "it belongs to more than one side".to_owned()),
    };
    let option = &question.options[side];
    if let Some(before) = &row.before {
        let Some(parts) = parts_of(findings, before) else {
            return out(&row, "the wall before cannot be read".to_owned());
        };
        if was_there(&option.parts, &parts) {
            return out(&row, format!("{} was there before, so this is no change to it", option.name));
        }
    }
    let why = if row.unit != Some(question.unit) {
        let unit = row.unit.map_or_else(|| "without a weighting".to_owned(), |unit| format!("in {unit}"));
        Some(format!("measured {unit}, not in {}", question.unit))
    } else if row.line == Line::Never {
        Some("grade D".to_owned())
    } else if row.value.bound == Sense::Undetermined {
        Some("bounds on both sides, so there is no number".to_owned())
    } else if row.variance.is_none() {
        Some("nothing says how far off it is".to_owned())
    } else {
        None
    };
    match why {
        Some(why) => out(&row, why),
        None => {
            let traits = traits::of_row(&row, &after, compared);
            Verdict::In(Box::new(Sided { side, row, traits }))
        }
    }
}

/// Whether the wall before a change had what the side asks for already, of the parts a rebuild puts in.
fn was_there(parts: &[Part], before: &Parts) -> bool {
    let put_in: Vec<Part> = parts
        .iter()
        .filter(|part| matches!(part.axis(), Axis::Fill | Axis::Coupling | Axis::Boards))
        .cloned()
        .collect();
    !put_in.is_empty() && takes(&put_in, before)
}

fn stratum_of(row: &Row, compared: &[Axis]) -> Stratum {
    Stratum {
        before: row.before.as_ref().map(|wall| wall.state.clone()),
        // Where states or openings are what is compared, they may differ.
        after: (!compared.contains(&Axis::State)).then(|| row.after.state.clone()),
        apart: (!compared.contains(&Axis::Openings)).then_some(row.apart),
    }
}

/// The stratum that answers: most sides with a good test, most sides, not limited by an opening, most jobs.
fn leading(found: &[Sided], compared: &[Axis], sides: usize) -> Option<Stratum> {
    let mut strata: BTreeMap<Stratum, Vec<&Sided>> = BTreeMap::new();
    for one in found {
        strata.entry(stratum_of(&one.row, compared)).or_default().push(one);
    }
    let held = |rows: &[&Sided], main: bool| {
        let has =
            |side: &usize| rows.iter().any(|one| one.side == *side && (!main || one.row.line == Line::Main));
        (0..sides).filter(has).count()
    };
    strata
        .into_iter()
        .max_by_key(|(stratum, rows)| {
            (held(rows, true), held(rows, false), stratum.apart != Some(true), rows.len())
        })
        .map(|(stratum, _)| stratum)
}

fn why_apart(own: &Stratum, leading: &Stratum) -> String {
    let state = |stratum: &Stratum| {
        let after = stratum.after.clone().unwrap_or_default();
        match &stratum.before {
            Some(before) if !after.is_empty() => format!("{before} to {after}"),
            Some(before) => format!("{before} before"),
            None => after,
        }
    };
    let mut why = Vec::new();
    if (&own.before, &own.after) != (&leading.before, &leading.after) {
        why.push(format!("another state ({}, not {})", state(own), state(leading)));
    }
    if own.apart != leading.apart {
        let limits =
            if own.apart == Some(true) { "an opening limits the wall" } else { "no opening limits the wall" };
        why.push(limits.to_owned());
    }
    print::list(&why)
}

/// One result for each job and side: the change with least beside the compared part, of walls like those of the other sides.
fn by_job(
    findings: &Findings<'_>,
    found: Vec<Sided>,
    sides: usize,
    left_out: &mut Vec<LeftOut>,
) -> Vec<Vec<OfJob>> {
    // How many rows of each side have these classes.
    let mut classes: BTreeMap<(usize, Vec<String>), usize> = BTreeMap::new();
    let class = |one: &Sided| one.traits.iter().map(|own| own.class.clone()).collect::<Vec<String>>();
    for one in &found {
        *classes.entry((one.side, class(one))).or_insert(0) += 1;
    }
    let elsewhere = |one: &Sided| -> usize {
        let own = class(one);
        (0..sides).filter(|side| *side != one.side && classes.contains_key(&(*side, own.clone()))).count()
    };
    // Side and job, and the sets where no job is named.
    type Key = (usize, Option<RecordId>, Vec<RecordId>);
    let mut jobs: BTreeMap<Key, Vec<(usize, usize, Sided)>> = BTreeMap::new();
    for (place, one) in found.into_iter().enumerate() {
        let alike = elsewhere(&one);
        // Sets that name no job stand for themselves.
        let alone = if one.row.job.is_none() { one.row.set_ids.clone() } else { Vec::new() };
        jobs.entry((one.side, one.row.job, alone)).or_default().push((alike, place, one));
    }
    let mut by_side: Vec<Vec<OfJob>> = (0..sides).map(|_| Vec::new()).collect();
    for ((side, job, _), mut rows) in jobs {
        // The least changed beside, the better graded, what others have too, the latest.
        rows.sort_by_key(|(alike, place, one)| {
            (one.row.bundle.len(), one.row.line, usize::MAX - alike, usize::MAX - place)
        });
        let house = house_of(findings, job);
        by_side[side].extend(of_job(rows.into_iter().map(|(_, _, one)| one).collect(), house, left_out));
    }
    by_side.into_iter().map(|jobs| one_for_each_wall(findings, jobs, left_out)).collect()
}

/// A wall that several jobs measured is one wall: its latest measurement of the best line stands for it.
fn one_for_each_wall(findings: &Findings<'_>, jobs: Vec<OfJob>, left_out: &mut Vec<LeftOut>) -> Vec<OfJob> {
    let standing = standing(findings, jobs.iter().flat_map(|job| job.rows.first()));
    let mut kept = Vec::new();
    for (index, job) in jobs.into_iter().enumerate() {
        if standing.contains(&index) {
            kept.push(job);
        } else {
            let out = |row: &Row| LeftOut { what: row_words(row), why: EARLIER.to_owned() };
            left_out.extend(job.rows.iter().map(out));
        }
    }
    kept
}

/// Joins the best row of a job with others of the same kind that rest on other sets; the rest is left out.
fn of_job(rows: Vec<Sided>, house: Option<RecordId>, left_out: &mut Vec<LeftOut>) -> Option<OfJob> {
    let mut standing: Vec<Sided> = Vec::new();
    for one in rows {
        let is_first = standing.is_empty();
        let alike = standing.first().is_some_and(|first| {
            let classes = |one: &Sided| one.traits.iter().map(|own| own.class.clone()).collect::<Vec<_>>();
            let shares_set = standing
                .iter()
                .any(|other| other.row.set_ids.iter().any(|set| one.row.set_ids.contains(set)));
            classes(first) == classes(&one)
                && first.row.line == one.row.line
                && first.row.after.assembly != one.row.after.assembly
                && !shares_set
                && one.row.measure == Measure::Change
        });
        if is_first || alike {
            standing.push(one);
        } else {
            left_out.push(LeftOut {
                what: row_words(&one.row),
                why: "another result of the same job stands for it, nearer to what is asked".to_owned(),
            });
        }
    }
    let entries: Vec<Entry> = standing
        .iter()
        .filter_map(|one| {
            Some(Entry {
                value_db: one.row.value.value,
                variance: one.row.variance?,
                dof: one.row.dof,
                house,
                traits: one.traits.clone(),
            })
        })
        .collect();
    let entry = if let [one] = entries.as_slice() { one.clone() } else { merged(&entries)? };
    let bound = standing.iter().map(|one| one.row.value.bound).reduce(Sense::plus).unwrap_or(Sense::Exact);
    let line = standing.iter().map(|one| one.row.line).max().unwrap_or(Line::Never);
    Some(OfJob { rows: standing.into_iter().map(|one| one.row).collect(), entry, line, bound })
}
