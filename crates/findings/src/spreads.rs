//! Spreads pooled over the whole notebook: how positions scatter, and how well the crew repeats itself.
//!
//! With three to six positions a test's own spread is mostly chance, so tests of a kind share theirs.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_statistics::repeatability;

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

impl Findings<'_> {
    pub(crate) fn spreads(&self) -> &Spreads {
        self.spreads.get_or_init(|| pooled_spreads(self))
    }

    /// The coarsest step the readings of two sets were written in, dB.
    pub(crate) fn step_db(&self, first: &SetFinding, second: &SetFinding) -> f64 {
        let readings = self.readings_of(first.set).iter().chain(self.readings_of(second.set));
        // `81` typed for 81.0 looks coarser than it is, so the finest of a pair of sets is the meter's.
        let finest = readings
            .filter_map(|reading| reading.value)
            .map(|value| value.number().scale())
            .max()
            .unwrap_or(0);
        10f64.powi(-i32::try_from(finest).unwrap_or(6))
    }
}

fn pooled_spreads(joins: &Findings<'_>) -> Spreads {
    let mut spreads = Spreads::default();
    let mut scatter: BTreeMap<Unit, BTreeMap<RecordId, Vec<(usize, f64)>>> = BTreeMap::new();
    let mut repeats: BTreeMap<Unit, Vec<Vec<f64>>> = BTreeMap::new();
    for test in joins.book.tests.live() {
        for group in crate::test_finding::groups(joins, test.id) {
            let Some(unit) = group.unit.filter(|_| group.sets.iter().all(|set| set.runs.is_none())) else {
                continue;
            };
            if let Some((first, last)) = group.first_and_last() {
                let compared = Compared::of_positions(first, last);
                let row = compared.scatter_db.map(|sd_db| (compared.labels.len(), sd_db));
                scatter.entry(unit).or_default().entry(test.id).or_default().extend(row);
            }
            repeats.entry(unit).or_default().extend(group.repeats());
        }
    }
    for (unit, tests) in scatter {
        let rows: Vec<(usize, f64)> = tests.values().flatten().copied().collect();
        let counted = tests.values().filter(|rows| !rows.is_empty()).count();
        if counted >= rules::POOLED_TESTS
            && let Ok(Ok(pooled)) = repeatability::pooled_from_summaries(&rows)
        {
            spreads.scatter.insert(unit, Pooled::from(pooled));
        }
    }
    for (unit, groups) in repeats {
        let count: usize = groups.iter().map(Vec::len).sum();
        if count >= rules::OWN_REPEATS
            && let Ok(Ok(pooled)) = repeatability::pooled(&groups)
            && pooled.sd > 0.0
        {
            spreads.repeats.insert(unit, Pooled::from(pooled));
        }
    }
    spreads
}
