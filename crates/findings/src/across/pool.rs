//! One pool: rows that may meet, what of them counts, and what they give together.
//!
//! Leaves out how rows are made (see [`rows`](super::rows)), money and words.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::matching::{Class, MatchLevel};
use storypole_statistics::Confidence;
use storypole_statistics::jobs::average::job_average;
use storypole_statistics::jobs::between::Method;
use storypole_statistics::sample;

use super::beside::Beside;
use super::cost::PoolCost;
use super::rows::{Measure, Row, Span, TESTS_CORRELATION, merged_variance};
use super::synthesis::{Few, Synthesis, SynthesisError, Way, few, jobs_of, synthesis};
use crate::compare::Line;
use crate::set_finding::Estimate;
use crate::{Findings, Interval};

/// Scales of the prior shown beside the one that leads, dB.
const OTHER_SCALES_DB: [f64; 2] = [1.0, 4.0];
/// Correlations between tests of one wall shown beside the one used; for experts.
const OTHER_CORRELATIONS: [f64; 2] = [0.0, 0.8];

/// What rows of one pool have in common.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PoolKey {
    /// Class of the wall before; `None` for level differences.
    pub before: Option<Class>,
    /// Class of the wall, or of the wall after.
    pub after: Class,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// Whether an opening limits these walls.
    pub apart: bool,
}

impl PoolKey {
    /// The key of a row; `None` where a wall cannot be matched.
    pub(super) fn of(row: &Row, level: MatchLevel) -> Option<Self> {
        let before = match &row.before {
            Some(wall) => Some(wall.key.as_ref()?.class(level)),
            None => None,
        };
        let after = row.after.key.as_ref()?.class(level);
        Some(Self { before, after, unit: row.unit, apart: row.apart })
    }

    /// The pool in words: what it was, what it became, in which state.
    pub fn words(&self) -> String {
        let after = self.after.words();
        let mut words = match &self.before {
            None => format!("{after} ({})", self.after.state),
            Some(before) if before.state == self.after.state => {
                format!("{} to {after} ({})", before.words(), self.after.state)
            }
            Some(before) => {
                format!("{} ({}) to {after} ({})", before.words(), before.state, self.after.state)
            }
        };
        if self.apart {
            words.push_str(", limited by an opening");
        }
        if let Some(unit) = self.unit {
            words.push_str(&format!(", {unit}"));
        }
        words
    }
}

/// Something that does not count, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Its job, where it names one.
    pub job: Option<RecordId>,
    /// Label of the job.
    pub job_label: String,
    /// Its sets.
    pub sets: Vec<RecordId>,
    /// Labels of the sets.
    pub set_labels: Vec<String>,
    /// Why, in words.
    pub why: String,
}

impl LeftOut {
    fn of(row: &Row, why: impl Into<String>) -> Self {
        Self {
            job: row.job,
            job_label: row.job_label.clone(),
            sets: row.set_ids.clone(),
            set_labels: row.sets.clone(),
            why: why.into(),
        }
    }
}

/// One job as it enters the average.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The job.
    pub job: RecordId,
    /// Its label.
    pub label: String,
    /// Mean of its rows in this pool, dB.
    pub value: Estimate,
    /// Its variance, dB².
    pub variance: f64,
    /// Indexes of its rows.
    pub rows: Vec<usize>,
}

/// Several jobs together, and how each is meant.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// One entry for each job, in the order of the synthesis.
    pub entries: Vec<Entry>,
    /// Whether the average is exact, or at least or at most what is said.
    pub bound: Sense,
    /// What they give; or why nothing: no job, or only bounds.
    pub result: Result<Synthesis, NoAverage>,
}

/// Why there is no average.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoAverage {
    /// No job stands in this line.
    #[error("no job graded well enough yet")]
    NoJobs,
    /// With nothing but bounds only the bound is known.
    #[error("all results are bounds, so only the bound is known")]
    OnlyBounds {
        /// Mean of the bounds, dB.
        mean_db: f64,
    },
    /// The jobs cannot be averaged.
    #[error(transparent)]
    Synthesis(#[from] SynthesisError),
}

/// The average under another assumption.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OtherCorrelation {
    /// Correlation between the errors of tests of one wall.
    pub correlation: f64,
    /// The average, dB.
    pub mean_db: f64,
    /// Its interval.
    pub interval: Interval,
}

/// Rows of one kind of fill within a pool.
#[derive(Debug, Clone, PartialEq)]
pub struct FillPool {
    /// The fill, or what it was and became where these differ.
    pub fill: String,
    /// Its rows, main line. A wall that was filled later stands here as it was, too.
    pub rows: Vec<Row>,
    /// Its jobs together.
    pub together: Together,
    /// In one sentence.
    pub sentence: String,
}

/// Rows that may meet, and what they give.
#[derive(Debug, Clone, PartialEq)]
pub struct Pool {
    /// Which of the two tables.
    pub measure: Measure,
    /// What the rows have in common.
    pub key: PoolKey,
    /// The same in words.
    pub label: String,
    /// The rows that count in the main or the second line, in the order of the records.
    pub rows: Vec<Row>,
    /// Grades A and B.
    pub main: Together,
    /// Grades A to C, where there is a C.
    pub with_second: Option<Together>,
    /// How many jobs stand in the main line.
    pub jobs: usize,
    /// How many tests stand behind it.
    pub tests: usize,
    /// Rows of this kind of wall that do not count, and why.
    pub left_out: Vec<LeftOut>,
    /// The half-normal way at other scales, where that way leads.
    pub scales: Vec<Few>,
    /// The average at other correlations between tests of one wall, where any were merged; for experts.
    pub correlations: Vec<OtherCorrelation>,
    /// By kind of fill; empty where the level asks for one kind anyway.
    pub fills: Vec<FillPool>,
    /// What it cost.
    pub cost: PoolCost,
    /// What laboratories and the model say of such walls.
    pub beside: Beside,
    /// What may be said, headline first.
    pub sentences: Vec<String>,
}

/// Rows of one key, sorted into those that count and those that do not.
pub(super) struct Sorted {
    pub(super) rows: Vec<Row>,
    /// The main line by kind of fill.
    pub(super) by_fill: BTreeMap<String, Vec<Row>>,
    pub(super) left_out: Vec<LeftOut>,
}

/// Sorts out what cannot count beside the others.
pub(super) fn sort_out(findings: &Findings<'_>, rows: Vec<Row>) -> Sorted {
    let mut left_out = Vec::new();
    let mut rows = keep(rows, &mut left_out, |row| match row {
        row if row.line == Line::Never => Some("grade D"),
        row if row.job.is_none() => Some("names no job, and an average runs over jobs"),
        row if row.value.bound == Sense::Undetermined => Some("bounds on both sides: nothing is determined"),
        row if row.variance.is_none() => {
            Some("nothing says how far off it is: one position, and no spread of other tests")
        }
        _ => None,
    });
    // A job may rebuild several walls, one in steps and another at once.
    let wall = |row: &Row| (row.job, first_version(findings, row.after.assembly));
    let whole: BTreeSet<(Option<RecordId>, RecordId)> =
        rows.iter().filter(|row| row.span == Span::Whole).map(wall).collect();
    rows = keep(rows, &mut left_out, |row| {
        let is_part = row.measure == Measure::Change && row.span == Span::Step && whole.contains(&wall(row));
        is_part.then_some("a step of a rebuild that counts here as a whole")
    });
    let mut by_fill: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.line == Line::Main) {
        by_fill.entry(fill_words(row)).or_default().push(row.clone());
    }
    // Of one fill, too, a wall stands once.
    let by_fill = by_fill
        .into_iter()
        .map(|(fill, rows)| (fill, latest_of_wall(findings, rows, &mut Vec::new())))
        .collect();
    rows = latest_of_wall(findings, rows, &mut left_out);
    Sorted { rows, by_fill, left_out }
}

fn keep(rows: Vec<Row>, left_out: &mut Vec<LeftOut>, why: impl Fn(&Row) -> Option<&'static str>) -> Vec<Row> {
    let mut kept = Vec::new();
    for row in rows {
        match why(&row) {
            Some(why) => left_out.push(LeftOut::of(&row, why)),
            None => kept.push(row),
        }
    }
    kept
}

/// A wall is one wall however often it is rebuilt or measured: its latest version of the best line stands for it.
fn latest_of_wall(findings: &Findings<'_>, rows: Vec<Row>, left_out: &mut Vec<LeftOut>) -> Vec<Row> {
    let standing = standing(findings, rows.iter());
    let mut kept = Vec::new();
    for (index, row) in rows.into_iter().enumerate() {
        if standing.contains(&index) {
            kept.push(row);
        } else {
            left_out.push(LeftOut::of(&row, EARLIER));
        }
    }
    kept
}

/// Why a level difference of a wall does not stand beside another one of it.
pub(crate) const EARLIER: &str =
    "an earlier version or measurement of a wall that stands here with its latest";

/// Indexes of the rows that stand: every change, and of level differences one for each wall.
pub(crate) fn standing<'r>(findings: &Findings<'_>, rows: impl Iterator<Item = &'r Row>) -> BTreeSet<usize> {
    let mut standing = BTreeSet::new();
    // Better lines and later days rank higher.
    type Rank = (std::cmp::Reverse<Line>, Option<Date>);
    let mut of_wall: BTreeMap<RecordId, (usize, Rank)> = BTreeMap::new();
    for (index, row) in rows.enumerate() {
        if row.measure == Measure::Change {
            standing.insert(index);
            continue;
        }
        let date = row.set_ids.iter().filter_map(|set| findings.set(*set)?.date).max();
        let rank = (std::cmp::Reverse(row.line), date);
        let best = of_wall.entry(first_version(findings, row.after.assembly)).or_insert((index, rank));
        if rank >= best.1 {
            *best = (index, rank);
        }
    }
    standing.extend(of_wall.into_values().map(|(index, _)| index));
    standing
}

/// The version of a wall that every later one replaces, directly or by others.
fn first_version(findings: &Findings<'_>, assembly: RecordId) -> RecordId {
    let mut seen = BTreeSet::from([assembly]);
    let mut first = assembly;
    // Records may replace each other in a ring; then the wall is any of them, the same for all.
    while let Some(before) = findings.book.assemblies.get(first).and_then(|wall| wall.replaces) {
        if !seen.insert(before) {
            return seen.into_iter().next().unwrap_or(first);
        }
        first = before;
    }
    first
}

/// Draws rows together, one entry for each job; several rows of one job are averaged first.
///
/// Two walls of one kind in one job share house and crew, so they count as two tests of one wall do.
pub(super) fn together<'r>(rows: impl Iterator<Item = (usize, &'r Row)>) -> Together {
    let entries = entries(rows, TESTS_CORRELATION);
    let bound = entries.iter().fold(Sense::Exact, |bound, entry| bound.plus(entry.value.bound));
    let values: Vec<f64> = entries.iter().map(|entry| entry.value.value).collect();
    let result = match sample::moments(&values) {
        Err(_) => Err(NoAverage::NoJobs),
        Ok(all) if entries.iter().all(|entry| entry.value.bound != Sense::Exact) => {
            Err(NoAverage::OnlyBounds { mean_db: all.mean })
        }
        Ok(_) => synthesis(&pairs(&entries)).map_err(NoAverage::from),
    };
    Together { entries, bound, result }
}

/// Values and variances of entries, as a synthesis takes them.
pub(crate) fn pairs(entries: &[Entry]) -> Vec<(f64, f64)> {
    entries.iter().map(|entry| (entry.value.value, entry.variance)).collect()
}

/// One entry for each job that has a name and known errors.
pub(crate) fn entries<'r>(rows: impl Iterator<Item = (usize, &'r Row)>, correlation: f64) -> Vec<Entry> {
    let mut order: Vec<RecordId> = Vec::new();
    let mut of_job: BTreeMap<RecordId, Vec<(usize, &Row)>> = BTreeMap::new();
    for (index, row) in rows {
        let Some(job) = row.job else { continue };
        let rows = of_job.entry(job).or_default();
        if rows.is_empty() {
            order.push(job);
        }
        rows.push((index, row));
    }
    order.into_iter().filter_map(|job| entry(job, of_job.get(&job)?, correlation)).collect()
}

fn entry(job: RecordId, rows: &[(usize, &Row)], correlation: f64) -> Option<Entry> {
    let each: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|(_, row)| Some((row.value.value, merged_variance(&row.merged, correlation)?)))
        .collect();
    let values: Vec<f64> = rows.iter().map(|(_, row)| row.value.value).collect();
    let bound = rows.iter().fold(Sense::Exact, |bound, (_, row)| bound.plus(row.value.bound));
    Some(Entry {
        job,
        label: rows.first()?.1.job_label.clone(),
        value: Estimate { value: sample::moments(&values).ok()?.mean, bound },
        variance: merged_variance(&each, correlation)?,
        rows: rows.iter().map(|(index, _)| *index).collect(),
    })
}

fn of_line(rows: &[Row], worst: Line) -> impl Iterator<Item = (usize, &Row)> {
    rows.iter().enumerate().filter(move |(_, row)| row.line <= worst)
}

/// The numbers of a pool that need no book.
pub(super) struct Numbers {
    pub(super) main: Together,
    pub(super) with_second: Option<Together>,
    pub(super) scales: Vec<Few>,
    pub(super) correlations: Vec<OtherCorrelation>,
}

pub(super) fn numbers(rows: &[Row]) -> Numbers {
    let main = together(of_line(rows, Line::Main));
    let has_second = rows.iter().any(|row| row.line == Line::Second);
    let scales = match &main.result {
        Ok(result) if result.headline.is_some_and(|headline| headline.way == Way::HalfNormal) => {
            let pairs = pairs(&main.entries);
            OTHER_SCALES_DB.iter().filter_map(|scale| few(&pairs, *scale).ok()).collect()
        }
        _ => Vec::new(),
    };
    Numbers {
        with_second: has_second.then(|| together(of_line(rows, Line::Second))),
        scales,
        correlations: correlations(rows, &main),
        main,
    }
}

fn correlations(rows: &[Row], main: &Together) -> Vec<OtherCorrelation> {
    let was_merged = main
        .entries
        .iter()
        .any(|entry| entry.rows.len() > 1 || entry.rows.iter().any(|row| rows[*row].merged.len() > 1));
    if !was_merged || main.result.is_err() {
        return Vec::new();
    }
    let at = |correlation: f64| {
        let jobs = jobs_of(&pairs(&entries(of_line(rows, Line::Main), correlation))).ok()?;
        let average = job_average(&jobs, Method::Reml, Confidence::P95).ok()?;
        Some(OtherCorrelation { correlation, mean_db: average.mean, interval: average.modified.into() })
    };
    OTHER_CORRELATIONS.into_iter().filter_map(at).collect()
}

fn fill_words(row: &Row) -> String {
    match &row.before {
        Some(before) if before.fill != row.after.fill => format!("{} to {}", before.fill, row.after.fill),
        _ => row.after.fill.clone(),
    }
}
