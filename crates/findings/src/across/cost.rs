//! What a pool cost: per area, per decibel where that can be said, and which rebuilds are worth a look.
//!
//! A level difference has no price; a change has. Costs are those of whole jobs: what a step of a job cost nobody knows.

use storypole_acoustics::Sense;
use storypole_notebook::Unit;
use storypole_statistics::frontier::{self, CostEffect};
use storypole_statistics::ratio::{self, RatioParts, RatioRange};
use storypole_statistics::{Confidence, Dof, sample};
use storypole_units::{Area, Currency};

use super::pool::{Entry, Pool, Together};
use super::rows::{Measure, Row, Span};
use super::synthesis::Headline;
use crate::costs::JobCost;

/// Square metres in a square foot: the international foot is 0.3048 m exactly.
const M2_PER_FT2: f64 = 0.3048 * 0.3048;

/// Why nothing is said of the cost for each decibel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPerDb {
    /// A level difference is not bought.
    #[error("a level difference has no cost: a change has")]
    Level,
    /// No job of the pool has a cost and an area that are known.
    #[error("no job here has both a cost and an area written down")]
    NoCost,
    /// One cost says nothing of how costs differ.
    #[error("only one job here has a cost and an area, which does not show how costs differ")]
    OneCost,
    /// One job has no average.
    #[error("one job so far has no average to weigh")]
    NoAverage,
    /// The interval of the average includes zero.
    #[error("the average could be nothing, so no price for each decibel means anything")]
    CouldBeNothing,
    /// It got louder.
    #[error("it got louder, so there is no price for a decibel of quiet")]
    Louder,
    /// The average is at most what is said.
    #[error("the average is only an upper bound or no bound at all, so the price has no limit")]
    NotALowerBound,
}

/// A cost for each decibel.
#[derive(Debug, Clone, PartialEq)]
pub struct PerDb {
    /// Cost per m² and dB.
    pub per_m2_db: f64,
    /// Fieller's range of it.
    pub range: RatioRange,
    /// Whether number and range are limits from above, because the reduction is at least what is said.
    pub at_most: bool,
}

/// What the jobs of a pool cost.
#[derive(Debug, Clone, PartialEq)]
pub struct PoolCost {
    /// The currency; `None` where nothing is known.
    pub currency: Option<Currency>,
    /// Label, net cost per m² of area treated, of each job whose cost and area are known.
    pub jobs: Vec<(String, f64)>,
    /// Labels of jobs of the main line without a known cost or area.
    pub unknown: Vec<String>,
    /// Mean over the jobs, per m².
    pub per_m2: Option<f64>,
    /// The same per square foot.
    pub per_ft2: Option<f64>,
    /// Standard deviation of the jobs' costs per m²; absent for one job.
    pub sd_per_m2: Option<f64>,
    /// Cost for each decibel of the average, or why nothing is said.
    pub per_db: Result<PerDb, NoPerDb>,
}

/// Net cost of a job per m² treated.
fn per_m2(cost: &JobCost) -> Option<f64> {
    let m2 = cost.area.map(Area::m2).filter(|m2| *m2 > 0.0)?;
    Some(cost.net.amount.to_f64() / m2).filter(|per_m2| per_m2.is_finite())
}

pub(super) fn cost(measure: Measure, rows: &[Row], main: &Together) -> PoolCost {
    let mut found = PoolCost {
        currency: None,
        jobs: Vec::new(),
        unknown: Vec::new(),
        per_m2: None,
        per_ft2: None,
        sd_per_m2: None,
        per_db: Err(NoPerDb::Level),
    };
    if measure == Measure::Level {
        return found;
    }
    for entry in &main.entries {
        match whole_cost(entry, rows).and_then(|cost| Some((cost.net.currency, per_m2(cost)?))) {
            // All costs come in one currency; another one would be no cost that can be added.
            Some((currency, per_m2)) if found.currency.is_none_or(|first| first == currency) => {
                found.currency = Some(currency);
                found.jobs.push((entry.label.clone(), per_m2));
            }
            _ => found.unknown.push(entry.label.clone()),
        }
    }
    let costs: Vec<f64> = found.jobs.iter().map(|(_, per_m2)| *per_m2).collect();
    if let Ok(all) = sample::moments(&costs) {
        found.per_m2 = Some(all.mean);
        found.per_ft2 = Some(all.mean * M2_PER_FT2);
        found.sd_per_m2 = all.sd.ok();
    }
    found.per_db = per_db(&found, main);
    found
}

/// The cost of an entry's job, where the row is about the whole of it.
fn whole_cost<'r>(entry: &Entry, rows: &'r [Row]) -> Option<&'r JobCost> {
    let own: Vec<&Row> = entry.rows.iter().filter_map(|row| rows.get(*row)).collect();
    own.iter().all(|row| row.span == Span::Whole).then(|| own.first()?.cost.as_ref()).flatten()
}

fn per_db(cost: &PoolCost, main: &Together) -> Result<PerDb, NoPerDb> {
    let mean = cost.per_m2.ok_or(NoPerDb::NoCost)?;
    let headline = main.result.as_ref().ok().and_then(|result| result.headline).ok_or(NoPerDb::NoAverage)?;
    if headline.average_db < 0.0 && headline.interval.excludes_zero() {
        return Err(NoPerDb::Louder);
    }
    if !headline.interval.excludes_zero() {
        return Err(NoPerDb::CouldBeNothing);
    }
    if matches!(main.bound, Sense::AtMost | Sense::Undetermined) {
        return Err(NoPerDb::NotALowerBound);
    }
    let sd = cost.sd_per_m2.ok_or(NoPerDb::OneCost)?;
    let variance = sd * sd / cost.jobs.len() as f64;
    weighed(mean, variance, &headline, main.bound)
}

/// Cost over reduction by Fieller, the two taken as independent.
fn weighed(mean: f64, variance: f64, headline: &Headline, bound: Sense) -> Result<PerDb, NoPerDb> {
    let parts = RatioParts {
        numerator: mean,
        denominator: headline.average_db,
        var_numerator: variance,
        var_denominator: headline.se_db * headline.se_db,
        covariance: 0.0,
    };
    let dof = headline.dof.and_then(|dof| Dof::new(dof).ok()).unwrap_or(Dof::INFINITE);
    let found = ratio::fieller(&parts, dof, Confidence::P95).map_err(|_| NoPerDb::CouldBeNothing)?;
    let per_m2_db = found.ratio.ok_or(NoPerDb::CouldBeNothing)?;
    Ok(PerDb { per_m2_db, range: found.range, at_most: bound == Sense::AtLeast })
}

/// How a rebuild stands among the others.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// Worth a look: nothing is cheaper and as good. With what one more decibel costs per m² from the step before; `None` for the first.
    Step {
        /// Cost per m² for each further dB.
        further_per_db: Option<f64>,
    },
    /// Not dominated, yet a step beyond has its decibels cheaper.
    BetterBeyond,
    /// Dearer and no better than these pools, by index.
    Dominated {
        /// Indexes of the pools.
        by: Vec<usize>,
    },
    /// As dear and as good as another.
    Twin,
}

/// One pool among those it is weighed against.
#[derive(Debug, Clone, PartialEq)]
pub struct FrontPoint {
    /// Index of the pool.
    pub pool: usize,
    /// Mean cost per m².
    pub per_m2: f64,
    /// Average reduction, dB.
    pub average_db: f64,
    /// Jobs behind it.
    pub jobs: usize,
    /// How it stands.
    pub place: Place,
}

/// Rebuilds of one weighting, state and kind of limit by cost and reduction.
#[derive(Debug, Clone, PartialEq)]
pub struct Front {
    /// Weighting.
    pub unit: Option<Unit>,
    /// Whether an opening limits these walls.
    pub apart: bool,
    /// State before and after.
    pub states: (String, String),
    /// The pools, cheapest first.
    pub points: Vec<FrontPoint>,
    /// In words.
    pub sentence: String,
}

/// Weighs the pools of changes against each other; a pool without a cost or without a gain has no place.
pub(super) fn fronts(pools: &[Pool]) -> Vec<Front> {
    let mut fronts: Vec<Front> = Vec::new();
    for (index, pool) in pools.iter().enumerate() {
        let Some(before) = &pool.key.before else { continue };
        let (Some(per_m2), Some(average_db)) = (pool.cost.per_m2, pool.main.average_db()) else { continue };
        if average_db <= 0.0 || matches!(pool.main.bound, Sense::AtMost | Sense::Undetermined) {
            continue;
        }
        let states = (before.state.clone(), pool.key.after.state.clone());
        let point =
            FrontPoint { pool: index, per_m2, average_db, jobs: pool.jobs, place: Place::BetterBeyond };
        let same = |front: &&mut Front| {
            (front.unit, front.apart, &front.states) == (pool.key.unit, pool.key.apart, &states)
        };
        match fronts.iter_mut().find(same) {
            Some(front) => front.points.push(point),
            None => fronts.push(Front {
                unit: pool.key.unit,
                apart: pool.key.apart,
                states,
                points: vec![point],
                sentence: String::new(),
            }),
        }
    }
    fronts.iter_mut().for_each(Front::place);
    fronts
}

impl Front {
    fn place(&mut self) {
        let options: Vec<CostEffect> = self
            .points
            .iter()
            .map(|point| CostEffect { cost: point.per_m2, effect: point.average_db })
            .collect();
        let Ok(found) = frontier::frontier(&options) else { return };
        let pool_of = |index: usize| self.points[index].pool;
        let no_worse =
            |other: &CostEffect, than: &CostEffect| other.cost <= than.cost && other.effect >= than.effect;
        let mut places = vec![Place::BetterBeyond; options.len()];
        for index in found.dominated {
            let by = found.pareto.iter().filter(|other| no_worse(&options[**other], &options[index]));
            places[index] = Place::Dominated { by: by.map(|other| pool_of(*other)).collect() };
        }
        for index in found.identical {
            places[index] = Place::Twin;
        }
        for step in found.steps {
            places[step.option] = Place::Step { further_per_db: step.cost_per_effect };
        }
        for (point, place) in self.points.iter_mut().zip(places) {
            point.place = place;
        }
        self.points.sort_by(|one, other| one.per_m2.total_cmp(&other.per_m2).then(one.pool.cmp(&other.pool)));
    }
}

impl Together {
    /// The average that leads, dB: of one job its own result, of nothing but bounds their mean.
    pub fn average_db(&self) -> Option<f64> {
        match &self.result {
            Ok(result) => result.headline.map(|headline| headline.average_db).or(Some(result.few.mean_db)),
            Err(super::pool::NoAverage::OnlyBounds { mean_db }) => Some(*mean_db),
            Err(_) => None,
        }
    }
}
