//! Spreads pooled over the whole notebook: how positions scatter, and how well the crew repeats itself.
//!
//! With three to six positions a test's own spread is mostly chance, so tests of a kind share theirs.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_statistics::{repeatability, sample};

use crate::budget::Pooled;
use crate::compared::Compared;
use crate::set_finding::SetFinding;
use crate::{Findings, rules};

/// Spreads pooled over the whole notebook.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Spreads {
    /// Position scatter of changes by weighting, where three or more tests have one.
    pub scatter: BTreeMap<Unit, Pooled>,
    /// The crew's own repeats of whole sets by weighting, where there are three or more.
    pub repeats: BTreeMap<Unit, Pooled>,
}

/// What one test gives to the pooled spreads.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Share {
    /// Weighting, positions compared and their scatter, for each group.
    scatter: Vec<(Unit, usize, f64)>,
    /// Weighting and level differences of sets that repeat each other.
    repeats: Vec<(Unit, Vec<f64>)>,
}

impl Share {
    /// The share of a test; nothing where it is struck or gone.
    pub(crate) fn of(joins: &Findings<'_>, test: RecordId) -> Self {
        let mut share = Self::default();
        if joins.book.tests.get(test).is_none_or(|test| test.meta.struck.is_some()) {
            return share;
        }
        for group in crate::test_finding::groups(joins, test) {
            let Some(unit) = group.unit.filter(|_| group.sets.iter().all(|set| set.runs.is_none())) else {
                continue;
            };
            if let Some((first, last)) = group.first_and_last() {
                let compared = Compared::of_positions(first, last);
                share.scatter.extend(compared.scatter_db.map(|sd_db| (unit, compared.labels.len(), sd_db)));
            }
            share.repeats.extend(group.repeats().into_iter().map(|values| (unit, values)));
        }
        share
    }
}

/// What one test gives to the spreads that are pooled over the notebook.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The test.
    pub test: RecordId,
    /// Weighting, positions compared and their standard deviation, dB, for each group.
    pub scatter: Vec<(Unit, usize, f64)>,
    /// Weighting and level differences, dB, of sets that repeat each other.
    pub repeats: Vec<(Unit, Vec<f64>)>,
}

/// One change, or one wall measured again, that a pooled spread is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct PooledFrom {
    /// Whether it is of the crew's own repeats of whole sets, or else of the scatter of positions.
    pub is_repeats: bool,
    /// Weighting.
    pub unit: Unit,
    /// Label of its test.
    pub test: String,
    /// Labels of its sets: the two of a change, or all that repeat each other.
    pub sets: Vec<String>,
    /// Positions compared, or sets that repeat each other.
    pub n: usize,
    /// Standard deviation, dB, with n - 1 degrees of freedom.
    pub sd_db: f64,
}

impl Findings<'_> {
    /// What the pooled spreads are made from, test by test: `√(Σ(n-1)·s² / Σ(n-1))` over the rows of one weighting is the pooled
    /// one. Rows of a spread that is not used, for want of enough of them, are left out.
    pub fn pooled_from(&self) -> Vec<PooledFrom> {
        let spreads = self.spreads();
        let mut found = Vec::new();
        for test in self.book.tests.live() {
            let label = test.label.clone().unwrap_or_default();
            let groups = crate::test_finding::groups(self, test.id);
            for (unit, group) in groups.iter().filter_map(|group| Some((group.unit?, group))) {
                if group.sets.iter().any(|set| set.runs.is_some()) {
                    continue;
                }
                let row = |is_repeats, sets: &[&SetFinding], n, sd_db| PooledFrom {
                    is_repeats,
                    unit,
                    test: label.clone(),
                    sets: sets.iter().map(|set| set.label.clone()).collect(),
                    n,
                    sd_db,
                };
                let ends = group.first_and_last().filter(|_| spreads.scatter.contains_key(&unit));
                found.extend(ends.and_then(|(first, last)| {
                    let compared = Compared::of_positions(first, last);
                    Some(row(false, &[first, last], compared.labels.len(), compared.scatter_db?))
                }));
                let repeated =
                    if spreads.repeats.contains_key(&unit) { group.repeated() } else { Vec::new() };
                found.extend(repeated.into_iter().filter_map(|sets| {
                    let values: Vec<f64> =
                        sets.iter().filter_map(|set| Some(set.level_difference?.value)).collect();
                    Some(row(true, &sets, values.len(), sample::moments(&values).ok()?.sd.ok()?))
                }));
            }
        }
        found
    }

    pub(crate) fn spreads(&self) -> &Spreads {
        self.kept().spreads(|| pooled(self.kept().shares(self).map(|(_, share)| share)))
    }

    /// What each test gives to the pooled spreads, used yet or not: a device without the notebook pools them again with a test of
    /// its own. Tests that give nothing are left out.
    pub fn contributions(&self) -> Vec<Contribution> {
        let of = |(test, share): (RecordId, &Share)| Contribution {
            test,
            scatter: share.scatter.clone(),
            repeats: share.repeats.clone(),
        };
        let all = self.kept().shares(self).map(of);
        all.filter(|one| !(one.scatter.is_empty() && one.repeats.is_empty())).collect()
    }

    /// The coarsest step the readings of two sets were written in, dB.
    pub(crate) fn step_db(&self, first: &SetFinding, second: &SetFinding) -> f64 {
        let readings = self.readings_of(first.set).into_iter().chain(self.readings_of(second.set));
        // `81` typed for 81.0 looks coarser than it is, so the finest of a pair of sets is the meter's.
        let finest = readings
            .filter_map(|reading| reading.value)
            .map(|value| value.number().scale())
            .max()
            .unwrap_or(0);
        10f64.powi(-i32::try_from(finest).unwrap_or(6))
    }
}

/// Pools what the tests give, each time afresh and in one order: a running sum would drift from it in its last digits.
fn pooled<'s>(shares: impl Iterator<Item = &'s Share>) -> Spreads {
    let mut spreads = Spreads::default();
    // Summaries by weighting, and how many tests have one.
    let mut scatter: BTreeMap<Unit, (usize, Vec<(usize, f64)>)> = BTreeMap::new();
    let mut repeats: BTreeMap<Unit, Vec<&[f64]>> = BTreeMap::new();
    for share in shares {
        let units: BTreeSet<Unit> = share.scatter.iter().map(|(unit, ..)| *unit).collect();
        for unit in units {
            scatter.entry(unit).or_default().0 += 1;
        }
        for (unit, positions, sd_db) in &share.scatter {
            scatter.entry(*unit).or_default().1.push((*positions, *sd_db));
        }
        for (unit, values) in &share.repeats {
            repeats.entry(*unit).or_default().push(values);
        }
    }
    for (unit, (tests, rows)) in scatter {
        if tests >= rules::POOLED_TESTS
            && let Ok(Ok(pooled)) = repeatability::pooled_from_summaries(&rows)
        {
            spreads.scatter.insert(unit, Pooled::from(pooled));
        }
    }
    for (unit, groups) in repeats {
        let count: usize = groups.iter().map(|group| group.len()).sum();
        if count >= rules::OWN_REPEATS
            && let Ok(Ok(pooled)) = repeatability::pooled(&groups)
            && pooled.sd > 0.0
        {
            spreads.repeats.insert(unit, Pooled::from(pooled));
        }
    }
    spreads
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    /// Source: ISO 5725-2, pooled by degrees of freedom, `√(Σ(n-1)·s² / Σ(n-1))`, written out here a second time.
    #[test]
    fn rows_of_a_pooled_spread_give_it() {
        let book = fixture::demo();
        let findings = Findings::new(&book);
        let rows = findings.pooled_from();
        for (is_repeats, spreads) in
            [(false, &findings.spreads().scatter), (true, &findings.spreads().repeats)]
        {
            for (unit, pooled) in spreads {
                let rows: Vec<&PooledFrom> =
                    rows.iter().filter(|row| row.is_repeats == is_repeats && row.unit == *unit).collect();
                let dof: f64 = rows.iter().map(|row| (row.n - 1) as f64).sum();
                let squares: f64 = rows.iter().map(|row| (row.n - 1) as f64 * row.sd_db * row.sd_db).sum();
                assert!((pooled.dof - dof).abs() < 1e-12 && rows.iter().all(|row| row.sets.len() >= 2));
                assert!((pooled.sd_db - (squares / dof).sqrt()).abs() < 1e-12, "{unit}: {rows:?}");
            }
        }
        let units: BTreeSet<(bool, Unit)> = rows.iter().map(|row| (row.is_repeats, row.unit)).collect();
        assert!(units.contains(&(false, Unit::DbA)), "the demo pools the scatter of its A-weighted tests");
        let held = findings.spreads().scatter.len() + findings.spreads().repeats.len();
        assert_eq!(units.len(), held, "a spread that is not used has no rows");
    }
}
