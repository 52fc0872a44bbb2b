//! Two sets put side by side, position by position or run by run: the numbers behind a change.
//!
//! Leaves out what the numbers mean: budget, claim and grade are made in [`crate::change`].

use storypole_acoustics::{Regime, Sense, levels};
use storypole_statistics::{Confidence, compare, decibels, repeatability, sample};

use crate::budget::Interval;
use crate::set_finding::{Absent, Estimate, PositionLevel, SetFinding, corrected_receive};

/// What positions or runs of two sets give together.
#[derive(Debug, Clone, Default)]
pub(crate) struct Compared {
    pub(crate) before: Option<Estimate>,
    pub(crate) after: Option<Estimate>,
    pub(crate) difference_db: Option<f64>,
    pub(crate) position_mean_db: Option<f64>,
    pub(crate) scatter_db: Option<f64>,
    pub(crate) u_db: Option<(f64, f64)>,
    pub(crate) interval: Option<Interval>,
    pub(crate) labels: Vec<String>,
    /// Levels at the positions of both sets, less the set's own source level, dB.
    pub(crate) normal_db: (Vec<f64>, Vec<f64>),
    pub(crate) runs: Option<(usize, usize)>,
    pub(crate) replicates: usize,
    pub(crate) repeats_sd_db: Option<f64>,
    pub(crate) margin_db: Option<f64>,
    pub(crate) receive_only: bool,
    pub(crate) bound: Option<Sense>,
    pub(crate) absent: Option<Absent>,
}

impl Compared {
    fn none(absent: Absent) -> Self {
        Self { absent: Some(absent), ..Self::default() }
    }

    pub(crate) fn of_runs(before: &[f64], after: &[f64]) -> Self {
        let Ok(welch) = compare::welch(after, before, Confidence::P95) else {
            return Self::none(Absent::NoReadings);
        };
        let mean = |runs: &[f64]| {
            sample::moments(runs).ok().map(|runs| Estimate { value: runs.mean, bound: Sense::Exact })
        };
        let u_db = welch.u.ok().zip(welch.dof.ok().map(|dof| dof.finite().unwrap_or(f64::INFINITY)));
        let pooled = repeatability::pooled(&[before, after]).ok().and_then(Result::ok);
        Self {
            before: mean(before),
            after: mean(after),
            difference_db: Some(welch.value),
            u_db,
            interval: welch.interval.ok().map(Interval::from),
            runs: Some((before.len(), after.len())),
            replicates: before.len().min(after.len()),
            repeats_sd_db: pooled.map(|pooled| pooled.sd),
            bound: Some(Sense::Exact),
            ..Self::default()
        }
    }

    pub(crate) fn of_positions(first: &SetFinding, second: &SetFinding) -> Self {
        let (Some(receive_a), Some(receive_b)) = (&first.receive, &second.receive) else {
            return Self::none(first.absent.or(second.absent).unwrap_or(Absent::NoReceive));
        };
        let mixed = [first, second].iter().any(|set| set.absent == Some(Absent::MixedUnits));
        if mixed || first.unit != second.unit {
            return Self::none(Absent::MixedUnits);
        }
        let shared = shared_places(&receive_a.positions, &receive_b.positions);
        if shared.is_empty() {
            return Self::none(Absent::NoSharedPosition);
        }
        let receive_only = first.source.is_none() || second.source.is_none();
        let source =
            |set: &SetFinding| set.source.as_ref().filter(|_| !receive_only).map_or(0.0, |side| side.mean_db);
        let before_db: Vec<f64> = shared.iter().map(|(before, _)| before.level_db).collect();
        let after_db: Vec<f64> = shared.iter().map(|(_, after)| after.level_db).collect();
        let (before_db, before_sense, before_margin) = corrected_places(first, &before_db);
        let (after_db, after_sense, after_margin) = corrected_places(second, &after_db);
        let less = |levels: &[f64], by: f64| levels.iter().map(|level| level - by).collect::<Vec<f64>>();
        let (normal_before, normal_after) =
            (less(&before_db, source(first)), less(&after_db, source(second)));
        let Ok(paired) = decibels::paired_energy_difference(&normal_before, &normal_after, Confidence::P95)
        else {
            return Self::none(Absent::NoSharedPosition);
        };
        // Without a source level there is no level difference, only a change of the receive level.
        let estimate = |levels: &[f64], sense: Sense| {
            let mean = levels::energy_mean(levels).ok().filter(|_| !receive_only);
            mean.map(|mean| Estimate { value: -mean, bound: sense.negated() })
        };
        let n = shared.len();
        Self {
            before: estimate(&normal_before, before_sense),
            after: estimate(&normal_after, after_sense),
            normal_db: (normal_before, normal_after),
            difference_db: Some(paired.difference_db),
            position_mean_db: Some(paired.arithmetic_difference_db),
            scatter_db: paired.u_db.ok().map(|u_db| u_db * (n as f64).sqrt()),
            u_db: paired.u_db.ok().zip(n.checked_sub(1).map(|dof| dof as f64)),
            interval: paired.interval_db.ok().map(Interval::from),
            labels: shared.iter().map(|(place, _)| place.label.clone()).collect(),
            replicates: shared
                .iter()
                .map(|(before, after)| before.counted.min(after.counted))
                .min()
                .unwrap_or(0),
            margin_db: before_margin.zip(after_margin).map(|(before, after)| before.min(after)),
            receive_only,
            bound: Some(before_sense.minus(after_sense)),
            ..Self::default()
        }
    }

    /// Before minus after at each position, dB.
    pub(crate) fn differences_db(&self) -> Vec<f64> {
        self.normal_db.0.iter().zip(&self.normal_db.1).map(|(before, after)| before - after).collect()
    }

    pub(crate) fn value(&self) -> Option<Estimate> {
        Some(Estimate { value: self.difference_db?, bound: self.bound? })
    }
}

fn shared_places<'a>(
    before: &'a [PositionLevel],
    after: &'a [PositionLevel],
) -> Vec<(&'a PositionLevel, &'a PositionLevel)> {
    let same = |one: &PositionLevel| {
        after.iter().find(|other| one.position.is_some() && other.position == one.position)
    };
    before.iter().filter_map(|one| Some((one, same(one)?))).collect()
}

/// Levels at positions so that their energy mean is the corrected mean of the set, how it stands, and the margin.
///
/// Subtracting the background's energy at each position gives the same mean as correcting the mean, and widens the scatter as
/// the correction does. A position that does not rise above the background is shifted with the rest instead.
fn corrected_places(set: &SetFinding, levels_db: &[f64]) -> (Vec<f64>, Sense, Option<f64>) {
    let Ok(mean_db) = levels::energy_mean(levels_db) else { return (levels_db.to_vec(), Sense::Exact, None) };
    let (_, Some(background)) = corrected_receive(set, mean_db) else {
        return (levels_db.to_vec(), Sense::Exact, None);
    };
    let noise_db = set.background_db.unwrap_or(f64::NEG_INFINITY);
    let shifted = || levels_db.iter().map(|level| level - background.correction_db).collect();
    let levels = match background.regime {
        Regime::Clear => levels_db.to_vec(),
        Regime::Corrected => {
            let left: Result<Vec<f64>, _> =
                levels_db.iter().map(|level| levels::energy_remainder(*level, noise_db)).collect();
            left.unwrap_or_else(|_| shifted())
        }
        Regime::Limit => shifted(),
    };
    (levels, background.sense(), Some(background.margin_db))
}
