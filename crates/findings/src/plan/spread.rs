//! What a planned test is reckoned with: how positions scatter, how readings repeat, what setting up again adds.
//!
//! The crew's own spreads where there are enough of them, else a stated convention; for other quantities than sound there is no
//! convention, and what is missing is said.

use std::collections::BTreeMap;
use std::sync::Arc;

use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_statistics::{Confidence, Dof, distributions, repeatability, resolution, sample};

use crate::budget::{Around, Budget, Pooled, Scatter};
use crate::joins::is_level;
use crate::set_finding::{SetFinding, in_conflict};
use crate::test_finding::is_other_wall;
use crate::{Findings, rules};

/// Standard deviation of the change between positions, one average at each, dB. Convention of this project until three tests
/// of the crew have a scatter of their own.
pub const SCATTER_DB: f64 = 1.2;
/// Standard deviation of single readings at one spot beside that scatter, dB. Convention of this project until the crew has
/// repeats of its own; a scatter of the crew's own is split in the same ratio.
pub const REPEAT_DB: f64 = 0.5;
/// Step of a meter, dB: equal readings are known no better. Common practice, no source.
const STEP_DB: f64 = 0.1;
/// Repeats at one spot from this many on stand for themselves.
const OWN_READINGS: f64 = 3.0;

/// What a planned test is reckoned with.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Unit of all of these.
    pub unit: String,
    /// Standard deviation of the change between positions as they are usually read.
    pub scatter: f64,
    /// Its degrees of freedom where it is the crew's own; `None` where the test has to find its own.
    pub scatter_dof: Option<f64>,
    /// Standard deviation of single readings at one spot; `None` where nobody repeated one.
    pub repeat: Option<f64>,
    /// Whether that is the crew's own.
    pub own_repeat: bool,
    /// What is left of the scatter without the repeats in it: how positions truly differ.
    pub position: f64,
    /// What more positions do not make smaller; `None` where nothing is known of it.
    pub around: Option<Around>,
    /// Least change that is claimed; `None` where there is no such rule.
    pub limit: Option<f64>,
}

/// Why a test cannot be planned in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Missing {
    /// Only sound has a convention to begin with.
    #[error(
        "no test of this kind has two sets, of two states, that read the same thing in the same unit at two or more named positions: \
         take one, and the next can be planned"
    )]
    Scatter,
    /// Equal differences everywhere.
    #[error("every position changed by the same so far: read a finer scale, or at more positions")]
    NoSpread,
    /// Runs are compared as two groups.
    #[error(
        "runs on a bench rig are no positions: take three or more of each filling and the same empty panel again at the end"
    )]
    BenchRig,
}

/// Rows by what was read and its unit.
type BySubject<T> = BTreeMap<(String, Unit), Vec<T>>;

impl Spread {
    /// Splits a scatter into positions and the readings behind it, `σ_pos² = s² - 2σ_rep²·mean(1/r)`.
    ///
    /// # Units and shape
    /// `per_reading`: mean of 1/r over the positions behind the scatter, r the readings at each, 0 to 1.
    ///
    /// # Source
    /// Propagation of independent terms, JCGM 100:2008 (GUM) clause 5.1.2; not below zero.
    pub fn position_of(scatter: f64, repeat: Option<f64>, per_reading: f64) -> f64 {
        let readings = repeat.map_or(0.0, |repeat| 2.0 * repeat * repeat * per_reading);
        (scatter * scatter - readings).max(0.0).sqrt()
    }

    /// Standard deviation of the change at one position that is read so often in each state, `√(σ_pos² + 2σ_rep²/r)`.
    pub fn at(&self, repeats: u32) -> f64 {
        let repeat = self.repeat.unwrap_or(0.0);
        (self.position * self.position + 2.0 * repeat * repeat / f64::from(repeats.max(1))).sqrt()
    }

    /// The budget such a test would have; scatter known from earlier tests keeps their degrees of freedom.
    pub fn budget(&self, positions: usize, repeats: u32) -> Option<Budget> {
        let own = positions.checked_sub(1).filter(|dof| *dof > 0)? as f64;
        let scatter = Scatter {
            u_db: self.at(repeats) / (positions as f64).sqrt(),
            dof: self.scatter_dof.unwrap_or(own),
            step_db: None,
            pooled: self.scatter_dof.is_some(),
            of: "positions",
        };
        Some(Budget::of(Some(scatter), self.around?))
    }

    /// Half width of the interval such a test would have, never under the floor.
    ///
    /// Effective degrees of freedom grow with each term of its own, so that a budget with few repeats behind it can come out narrower
    /// than its floor; that is no gain to plan on.
    pub fn half_width(&self, positions: usize, repeats: u32) -> Option<f64> {
        if let Some(floor) = self.floor() {
            let interval = self.budget(positions, repeats)?.interval(0.0)?;
            return Some(interval.half_width().max(floor));
        }
        let own = positions.checked_sub(1).filter(|dof| *dof > 0)? as f64;
        let dof = Dof::new(self.scatter_dof.unwrap_or(own)).ok()?;
        Some(
            distributions::coverage_factor(Confidence::P95, dof) * self.at(repeats)
                / (positions as f64).sqrt(),
        )
    }

    /// Standard uncertainty that is left with any number of positions.
    pub fn floor_u(&self) -> f64 {
        match self.around {
            Some(Around::SetupAndDay) => rules::SETUP_U_DB.hypot(rules::DAY_U_DB),
            Some(Around::Setup) => rules::SETUP_U_DB,
            Some(Around::OwnRepeats(pooled)) => pooled.sd_db * std::f64::consts::SQRT_2,
            None => 0.0,
        }
    }

    /// Half width that is left with any number of positions; `None` where nothing is known of setups and days.
    pub fn floor(&self) -> Option<f64> {
        let dof = match self.around? {
            Around::OwnRepeats(pooled) => Dof::new(pooled.dof).unwrap_or(Dof::INFINITE),
            _ => Dof::INFINITE,
        };
        Some(distributions::coverage_factor(Confidence::P95, dof) * self.floor_u())
    }

    /// Whether the scatter is the crew's own.
    pub fn own_scatter(&self) -> bool {
        self.scatter_dof.is_some()
    }
}

impl Findings<'_> {
    /// What a test of sound in this weighting is reckoned with.
    pub(crate) fn sound_spread(&self, unit: Unit) -> Spread {
        let least = resolution::difference_u(STEP_DB);
        let spreads = self.spreads();
        let scatter = spreads.scatter.get(&unit);
        let (readings, per_reading) = self.readings_at_one_spot(unit);
        let own = repeatability::pooled(&readings).ok().and_then(Result::ok);
        let own = own.filter(|own| own.dof.finite().is_some_and(|dof| dof >= OWN_READINGS) && own.sd > 0.0);
        let repeats = spreads.repeats.get(&unit);
        let around = repeats.map_or(Around::SetupAndDay, |repeats| Around::OwnRepeats(*repeats));
        let repeats_db = repeats.map_or(0.0, |repeats| repeats.sd_db);
        let scatter_db = scatter.map_or(SCATTER_DB, |scatter| scatter.sd_db).max(least);
        // The convention is that of one average at each position.
        let per_reading = if scatter.is_some() { per_reading.unwrap_or(1.0) } else { 1.0 };
        // Without repeats of its own a scatter is split as the convention is.
        let repeat = own.map_or(scatter_db * REPEAT_DB / SCATTER_DB, |own| own.sd);
        Spread {
            unit: "dB".to_owned(),
            scatter: scatter_db,
            scatter_dof: scatter.map(|Pooled { dof, .. }| *dof),
            repeat: Some(repeat),
            own_repeat: own.is_some(),
            position: Spread::position_of(scatter_db, Some(repeat), per_reading),
            around: Some(around),
            limit: Some(rules::SMALLEST_CLAIM_DB.max(rules::REPEAT_FACTOR * repeats_db)),
        }
    }

    /// Repeats at one spot within one set, and the mean of 1/r over the spots.
    fn readings_at_one_spot(&self, unit: Unit) -> (Vec<Vec<f64>>, Option<f64>) {
        let mut repeats = Vec::new();
        let (mut spots, mut inverse) = (0.0, 0.0);
        for set in self.sets().filter(|set| set.is_in() && set.unit == Some(unit) && set.runs.is_none()) {
            for levels in self.readings_by_spot(set, |role| role == Some("receive")).into_values() {
                spots += 1.0;
                inverse += 1.0 / levels.len() as f64;
                if levels.len() > 1 {
                    repeats.push(levels);
                }
            }
        }
        (repeats, (spots > 0.0).then(|| inverse / spots))
    }

    /// Readings of a set by what they are of, their unit and their named position.
    fn readings_by_spot(
        &self,
        set: &SetFinding,
        is_wanted: impl Fn(Option<&str>) -> bool,
    ) -> BTreeMap<(String, Unit, RecordId), Vec<f64>> {
        let mut spots: BTreeMap<(String, Unit, RecordId), Vec<f64>> = BTreeMap::new();
        for reading in self.readings_of(set.set) {
            let usable = is_level(reading)
                && is_wanted(reading.role.as_deref())
                && in_conflict(&reading.meta).is_none();
            if let (true, Some(value), Some(position)) = (usable, reading.value, reading.position) {
                let subject = reading.subject.clone().unwrap_or_default();
                spots.entry((subject, value.unit(), position)).or_default().push(value.to_f64());
            }
        }
        spots
    }

    /// What a test of another quantity is reckoned with: only the crew's own.
    pub(crate) fn other_spread(&self, measures: &str) -> Result<Spread, Missing> {
        let (pools, mut repeats) = self.spots_of_kind(measures);
        let largest =
            pools.into_iter().max_by_key(|(_, rows)| rows.iter().map(|(n, _)| n - 1).sum::<usize>());
        let ((subject, unit), rows) = largest.ok_or(Missing::Scatter)?;
        let pooled = repeatability::pooled_from_summaries(&rows).ok().and_then(Result::ok);
        let pooled = pooled.filter(|pooled| pooled.sd > 0.0).ok_or(Missing::NoSpread)?;
        let own = repeats.remove(&(subject, unit)).and_then(|own| repeatability::pooled(&own).ok()?.ok());
        let repeat = own.filter(|own| own.dof.finite().is_some_and(|dof| dof >= OWN_READINGS));
        let repeat = repeat.map(|own| own.sd);
        Ok(Spread {
            unit: unit.to_string(),
            scatter: pooled.sd,
            scatter_dof: pooled.dof.finite(),
            repeat,
            own_repeat: repeat.is_some(),
            position: Spread::position_of(pooled.sd, repeat, 1.0),
            around: None,
            limit: None,
        })
    }

    /// Scatter of changes, with how many spots are behind it, and repeats at one spot: of every test of a kind, by what was read.
    fn spots_of_kind(&self, measures: &str) -> (BySubject<(usize, f64)>, BySubject<Vec<f64>>) {
        let mut pools: BySubject<(usize, f64)> = BTreeMap::new();
        let mut repeats: BySubject<Vec<f64>> = BTreeMap::new();
        for test in self.book.tests.live().filter(|test| test.measures.as_deref() == Some(measures)) {
            let sets: Vec<&SetFinding> = self.sets_in_order(test.id).collect();
            for set in &sets {
                for ((subject, unit, _), values) in self.readings_by_spot(set, |_| true) {
                    if values.len() > 1 {
                        repeats.entry((subject, unit)).or_default().push(values);
                    }
                }
            }
            let Some(first) = sets.first() else { continue };
            let Some(last) = sets.iter().rfind(|set| is_other_wall(first, set)) else { continue };
            for (key, differences) in self.spot_differences(first, last) {
                if let Ok(moments) = sample::moments(&differences)
                    && let Ok(sd) = moments.sd
                {
                    pools.entry(key).or_default().push((differences.len(), sd));
                }
            }
        }
        (pools, repeats)
    }

    /// Sets of a test in results, in the order they were taken.
    pub(crate) fn sets_in_order(&self, test: RecordId) -> impl Iterator<Item = &SetFinding> {
        let mut sets: Vec<&SetFinding> =
            self.sets_of_test(test).map(Arc::as_ref).filter(|set| set.is_in()).collect();
        sets.sort_by_key(|set| (set.date, set.set));
        sets.into_iter()
    }

    /// Differences between two sets at every named position both have, by what was read.
    fn spot_differences(&self, first: &SetFinding, last: &SetFinding) -> BTreeMap<(String, Unit), Vec<f64>> {
        let mean = |values: &[f64]| sample::moments(values).ok().map(|moments| moments.mean);
        let after = self.readings_by_spot(last, |_| true);
        let mut differences: BTreeMap<(String, Unit), Vec<f64>> = BTreeMap::new();
        for (key, before) in self.readings_by_spot(first, |_| true) {
            let pair = after.get(&key).and_then(|after| Some((mean(&before)?, mean(after)?)));
            if let Some((before, after)) = pair {
                differences.entry((key.0, key.1)).or_default().push(after - before);
            }
        }
        differences
    }
}
