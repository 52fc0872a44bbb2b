//! What stands beside a measured side: published walls of its kind, what the model gives, and what its jobs cost.
//!
//! None of it enters the comparison. Leaves out the ledger: costs come in from outside.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::matching::Parts;
use storypole_statistics::frontier::{Increment, NetBenefit, net_benefit};
use storypole_statistics::sample;
use storypole_units::Currency;

use super::weigh::Contrast;
use crate::across::Row;
use crate::{Findings, paths, prediction};

/// From the least to the most over several walls, dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Least.
    pub low_db: f64,
    /// Most.
    pub high_db: f64,
    /// Walls behind it.
    pub walls: usize,
}

impl Range {
    fn over(ends: impl Iterator<Item = (f64, f64)>) -> Option<Self> {
        ends.fold(None, |range: Option<Self>, (low_db, high_db)| {
            let wider = range.map_or(Self { low_db, high_db, walls: 1 }, |range| Self {
                low_db: range.low_db.min(low_db),
                high_db: range.high_db.max(high_db),
                walls: range.walls + 1,
            });
            Some(wider)
        })
    }
}

/// What the jobs of one side cost by area treated: everything of the job, not the compared part alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideCost {
    /// Jobs whose cost and area are known.
    pub jobs: usize,
    /// Mean over these jobs, money per m².
    pub per_m2: f64,
    /// Its standard error, where two jobs or more tell one.
    pub u_per_m2: Option<f64>,
    /// Mean area treated, m².
    pub area_m2: f64,
    /// The currency.
    pub currency: Currency,
}

/// What the better side of a pair costs more, and whether that is worth it to the user.
#[derive(Debug, Clone, PartialEq)]
pub struct PairCost {
    /// First less second, money per m².
    pub more_per_m2: f64,
    /// Its standard error; absent where one side's cost rests on a single job and is taken as known.
    pub u_per_m2: Option<f64>,
    /// The area it is weighed for, m².
    pub area_m2: f64,
    /// The currency.
    pub currency: Currency,
    /// Weighed with what the notebook says a decibel is worth on a job.
    pub net: Option<NetBenefit>,
}

fn walls(rows: &[&Row]) -> BTreeSet<RecordId> {
    rows.iter().map(|row| row.after.assembly).collect()
}

/// The published laboratory range of walls like these.
pub(super) fn published(findings: &Findings<'_>, rows: &[&Row]) -> Option<Range> {
    let parts = |wall: RecordId| Parts::of(findings.book.assemblies.get(wall)?).ok();
    let ranges = walls(rows).into_iter().filter_map(|wall| paths::wall_range(&parts(wall)?));
    Range::over(ranges.map(|range| (range.low_db, range.high_db)))
}

/// What the model gives for these walls, A-weighted pink noise, openings counted: of a rebuild the change.
pub(super) fn predicted(findings: &Findings<'_>, rows: &[&Row]) -> Option<Range> {
    let pink_db = |wall: RecordId| {
        let wall = findings.book.assemblies.get(wall)?;
        prediction::predict(wall).ok().map(|predicted| predicted.pink_db)
    };
    let pairs: BTreeSet<(Option<RecordId>, RecordId)> =
        rows.iter().map(|row| (row.before.as_ref().map(|wall| wall.assembly), row.after.assembly)).collect();
    let values = pairs.into_iter().filter_map(|(before, after)| match before {
        None => pink_db(after),
        Some(before) => Some(pink_db(after)? - pink_db(before)?),
    });
    Range::over(values.map(|value| (value, value)))
}

/// What the jobs of a side cost, each job once.
pub(super) fn cost(rows: &[&Row]) -> Option<SideCost> {
    let mut jobs: BTreeMap<RecordId, (f64, f64)> = BTreeMap::new();
    let mut currency = None;
    for row in rows {
        let (Some(job), Some(cost)) = (row.job, &row.cost) else { continue };
        let Some(area_m2) = cost.area.map(|area| area.m2()).filter(|area| *area > 0.0) else { continue };
        if *currency.get_or_insert(cost.net.currency) != cost.net.currency {
            return None;
        }
        jobs.insert(job, (cost.net.amount.to_f64() / area_m2, area_m2));
    }
    let of =
        |which: fn(&(f64, f64)) -> f64| sample::moments(&jobs.values().map(which).collect::<Vec<_>>()).ok();
    let (per_m2, area) = (of(|job| job.0)?, of(|job| job.1)?);
    let count = jobs.len();
    let u_per_m2 = per_m2.sd.ok().map(|sd| sd / (count as f64).sqrt());
    Some(SideCost { jobs: count, per_m2: per_m2.mean, u_per_m2, area_m2: area.mean, currency: currency? })
}

/// Weighs what a pair's first side costs more against what it does more.
///
/// The notebook says what a decibel is worth on a job, so cost by area is taken times the mean area of both sides' jobs.
pub(super) fn pair_cost(
    findings: &Findings<'_>,
    first: Option<&SideCost>,
    second: Option<&SideCost>,
    contrast: Option<&Contrast>,
) -> Option<PairCost> {
    let (first, second) = (first?, second?);
    if first.currency != second.currency {
        return None;
    }
    let jobs = (first.jobs + second.jobs) as f64;
    let area_m2 = (first.area_m2 * first.jobs as f64 + second.area_m2 * second.jobs as f64) / jobs;
    let more_per_m2 = first.per_m2 - second.per_m2;
    let u_per_m2 = first.u_per_m2.zip(second.u_per_m2).map(|(one, other)| one.hypot(other));
    let worth = findings.book.notebooks.live().find_map(|notebook| notebook.worth_of_db);
    let worth = worth.filter(|worth| worth.currency == first.currency).map(|worth| worth.amount.to_f64());
    let net = contrast.zip(worth).and_then(|(contrast, worth)| {
        let increment = Increment {
            cost: more_per_m2 * area_m2,
            sd_cost: u_per_m2.unwrap_or(0.0) * area_m2,
            effect: contrast.value_db,
            sd_effect: contrast.u_db,
        };
        net_benefit(&increment, worth).ok()
    });
    Some(PairCost { more_per_m2, u_per_m2, area_m2, currency: first.currency, net })
}
