//! Two sides against each other: the interval of the difference of their averages, and what stands in the way of one.
//!
//! Pure numbers. Jobs share one spread between houses until every side has five, then each side has its own; what differs
//! beside the compared part is taken out where jobs suffice, and is never solved by choosing one answer of many. Leaves out
//! which walls belong to a side, and the words.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_statistics::compare::{self, Estimate};
use storypole_statistics::distributions::t_two_sided_p;
use storypole_statistics::jobs::average::job_average;
use storypole_statistics::jobs::between::Method;
use storypole_statistics::jobs::few::{SOUND_SCALE_DB, few_jobs};
use storypole_statistics::jobs::moderators::{Moderated, ModeratorsError, Regression, regression, subgroups};
use storypole_statistics::jobs::{Jobs, merge_tests};
use storypole_statistics::{Confidence, Dof, distributions};

use super::traits::Trait;
use crate::across::rows::TESTS_CORRELATION;
use crate::budget::Interval;
use crate::rules;

/// From so many jobs on each side on, a side's own spread between houses is used. Convention of this project.
const OWN_SPREAD_JOBS: usize = 5;

/// Chance from which on a side is called probably better. Convention of this project.
pub(super) const PROBABLY: f64 = 0.9;

/// Chance of a false claim among all pairs of one answer.
const FALSE_CLAIM: f64 = 0.05;

/// One job on a side.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entry {
    pub(super) value_db: f64,
    /// dB².
    pub(super) variance: f64,
    /// `None` is without limit.
    pub(super) dof: Option<f64>,
    /// The site, or the job where its site is not known; `None` is a house of its own.
    pub(super) house: Option<RecordId>,
    /// What may differ beside the compared part, one for each thing looked at, in one order.
    pub(super) traits: Vec<Trait>,
}

/// What the difference rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// One wall each, with the uncertainty of their own tests.
    TwoWalls,
    /// One wall each in one house, likewise.
    OneHouse,
    /// Both sides in each of so many houses, house by house.
    Houses(usize),
    /// Rebuilds from the second side to the first, in so many houses, with nothing else changed.
    Rebuilds(usize),
    /// All jobs, with one spread between houses.
    CommonSpread,
    /// All jobs, each side with its own spread between houses.
    OwnSpreads,
    /// All jobs with one spread, and these taken out.
    Adjusted(Vec<&'static str>),
}

/// What keeps a difference from being called one, or what a reader has to know of it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Why {
    /// Measure one.
    #[error("no job with {side} yet")]
    Missing {
        /// The side without a job.
        side: String,
    },
    /// A wall and its house are one.
    #[error("one house each: the difference is of two houses as much as of the two kinds of walls")]
    OneJobEach,
    /// Every job of one side differs from every job of the other in more than is compared.
    #[error(
        "cannot separate {what} from what is compared: no job of one side is like any of the other in it"
    )]
    CannotSeparate {
        /// What else differs.
        what: &'static str,
    },
    /// Some jobs differ in more, and jobs are too few to take it out.
    #[error("{what} differs too between the sides, and jobs are too few to take that out")]
    NotTakenOut {
        /// What else differs.
        what: &'static str,
    },
    /// It could be nothing.
    #[error("the interval of the difference includes zero")]
    IncludesZero,
    /// It is too small to matter.
    #[error("the difference is under {limit_db} dB")]
    TooSmall {
        /// The least that is told apart, dB.
        limit_db: f64,
    },
    /// With so many pairs one of them stands out by chance.
    #[error("with {pairs} pairs compared at once it may be chance")]
    ManyPairs {
        /// Pairs compared.
        pairs: usize,
    },
    /// Bounds on both sides, or a bound on the side that came out worse.
    #[error("a result is a bound, so the difference may be more or less")]
    Bound,
    /// Numbers that give no interval.
    #[error("nothing says how far off the difference is")]
    NoInterval,
}

/// The difference of two sides.
#[derive(Debug, Clone, PartialEq)]
pub struct Contrast {
    /// First minus second, dB.
    pub value_db: f64,
    /// Its standard error, dB, widened where jobs differ more than their spread says.
    pub u_db: f64,
    /// Degrees of freedom behind it; `None` is without limit.
    pub dof: Option<f64>,
    /// Where it very likely lies.
    pub interval: Option<Interval>,
    /// For experts: probability of such a difference by chance.
    pub p: Option<f64>,
    /// Chance that the first side is really the better one, by the cautious prior on the spread between houses or by t, whichever
    /// promises less; absent where a house and its wall cannot be told apart.
    pub chance_better: Option<f64>,
    /// Standard deviation between houses that is left, dB.
    pub tau_db: Option<f64>,
    /// What it rests on.
    pub basis: Basis,
}

impl Contrast {
    /// Second less first.
    pub(super) fn turned(self) -> Self {
        Self {
            value_db: -self.value_db,
            interval: self.interval.map(|interval| interval.negated()),
            chance_better: self.chance_better.map(|chance| 1.0 - chance),
            ..self
        }
    }
}

impl Why {
    /// Whether nothing may be told while it stands.
    pub(super) fn bars(&self) -> bool {
        matches!(self, Self::Missing { .. } | Self::OneJobEach | Self::CannotSeparate { .. } | Self::Bound)
    }
}

/// A difference with what stands in its way.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Weighed {
    pub(super) contrast: Option<Contrast>,
    pub(super) why: Vec<Why>,
}

impl Weighed {
    /// Whether several houses tell more of walls in general than a rebuild in one house.
    ///
    /// That house counts with 2 dB for how houses differ, so the width of both means the same.
    pub(super) fn outweighs(&self, rebuild: &Contrast) -> bool {
        let Some(found) = &self.contrast else { return false };
        let is_over_houses = !matches!(found.basis, Basis::TwoWalls | Basis::OneHouse);
        let one_house = distributions::coverage_factor(Confidence::P95, Dof::INFINITE)
            * rebuild.u_db.hypot(SOUND_SCALE_DB);
        rebuild.basis == Basis::Rebuilds(1)
            && is_over_houses
            && !self.why.iter().any(Why::bars)
            && found.interval.is_some_and(|interval| interval.half_width() < one_house)
    }
}

/// Weighs the jobs of two sides, first minus second. Jobs in one house whose walls are alike are one.
///
/// # Source
/// Meta-regression with one column a side and Knapp and Hartung's factor of at least 1; see
/// [`storypole_statistics::jobs::moderators`]. Chances from the half-normal prior of [`storypole_statistics::jobs::few`].
pub(super) fn weigh(first: &[Entry], second: &[Entry]) -> Weighed {
    if first.is_empty() || second.is_empty() {
        return Weighed::default();
    }
    let is_one_each = houses(first) == 1 && houses(second) == 1;
    let (Some(first), Some(second)) = (in_houses(first), in_houses(second)) else {
        return Weighed { contrast: None, why: vec![Why::NoInterval] };
    };
    let (first, second) = (first.as_slice(), second.as_slice());
    let (apart, uneven) = differing(first, second);
    let mut why: Vec<Why> =
        apart.iter().map(|at| Why::CannotSeparate { what: first[0].traits[*at].name }).collect();
    let name = |at: &usize| first[0].traits[*at].name;
    let contrast = if let Some(contrast) = by_house(first, second) {
        why.extend(uneven.iter().map(|at| Why::NotTakenOut { what: name(at) }));
        contrast
    } else if is_one_each {
        why.push(Why::OneJobEach);
        merged(first).zip(merged(second)).and_then(|(one, other)| two_walls(&one, &other, Basis::TwoWalls))
    } else {
        match adjusted(first, second, &uneven) {
            Ok(contrast) => contrast,
            Err(refused) => {
                why.extend(uneven.iter().map(|at| match refused {
                    Some(inseparable) if inseparable == *at => Why::CannotSeparate { what: name(at) },
                    _ => Why::NotTakenOut { what: name(at) },
                }));
                over_jobs(first, second)
            }
        }
    };
    Weighed { contrast, why }
}

/// How many houses these stand in; a house that nobody named is one of its own.
fn houses(entries: &[Entry]) -> usize {
    let named: BTreeSet<RecordId> = entries.iter().filter_map(|entry| entry.house).collect();
    named.len() + entries.iter().filter(|entry| entry.house.is_none()).count()
}

/// Joins walls alike in one house: they share what houses differ by, so they are no jobs of their own.
fn in_houses(entries: &[Entry]) -> Option<Vec<Entry>> {
    let class = |entry: &Entry| entry.traits.iter().map(|own| own.class.clone()).collect::<Vec<String>>();
    let mut joined: Vec<Vec<Entry>> = Vec::new();
    let mut place: BTreeMap<(RecordId, Vec<String>), usize> = BTreeMap::new();
    for entry in entries {
        let known = entry.house.map(|house| (house, class(entry)));
        let at = known.map_or(joined.len(), |key| *place.entry(key).or_insert(joined.len()));
        match joined.get_mut(at) {
            Some(alike) => alike.push(entry.clone()),
            None => joined.push(vec![entry.clone()]),
        }
    }
    joined
        .iter()
        .map(|alike| if let [one] = alike.as_slice() { Some(one.clone()) } else { merged(alike) })
        .collect()
}

/// Indexes of what no job of one side shares with any of the other, and of what the sides merely have in other shares.
///
/// A trait is asked for in the order of its list, the same for every entry.
fn differing(first: &[Entry], second: &[Entry]) -> (Vec<usize>, Vec<usize>) {
    let (mut apart, mut uneven) = (Vec::new(), Vec::new());
    for at in 0..first[0].traits.len() {
        let shares = |entries: &[Entry]| -> BTreeMap<String, usize> {
            let mut shares = BTreeMap::new();
            for entry in entries {
                *shares.entry(entry.traits[at].class.clone()).or_insert(0) += 1;
            }
            shares
        };
        let (one, other) = (shares(first), shares(second));
        if one.keys().all(|class| !other.contains_key(class)) {
            apart.push(at);
        } else if one.keys().chain(other.keys()).any(|class| {
            let count = |shares: &BTreeMap<String, usize>| shares.get(class).copied().unwrap_or(0);
            count(&one) * second.len() != count(&other) * first.len()
        }) {
            uneven.push(at);
        }
    }
    (apart, uneven)
}

/// Compares within houses, where both sides were measured in every house.
fn by_house(first: &[Entry], second: &[Entry]) -> Option<Option<Contrast>> {
    let houses =
        |entries: &[Entry]| entries.iter().map(|entry| entry.house).collect::<Option<BTreeSet<RecordId>>>();
    let common = houses(first)?;
    if common != houses(second)? {
        return None;
    }
    let in_houses = |entries: &[Entry]| -> Option<Vec<Entry>> {
        let mut houses: BTreeMap<Option<RecordId>, Vec<Entry>> = BTreeMap::new();
        entries.iter().for_each(|entry| houses.entry(entry.house).or_default().push(entry.clone()));
        houses.values().map(|own| merged(own)).collect()
    };
    let pairs: Vec<(Entry, Entry)> = in_houses(first)?.into_iter().zip(in_houses(second)?).collect();
    if let [(one, other)] = pairs.as_slice() {
        return Some(two_walls(one, other, Basis::OneHouse));
    }
    let values: Vec<f64> = pairs.iter().map(|(one, other)| one.value_db - other.value_db).collect();
    let variances: Vec<f64> = pairs.iter().map(|(one, other)| one.variance + other.variance).collect();
    Some(over_differences(&values, &variances, Basis::Houses(pairs.len())))
}

/// The mean of differences that were each taken in a house of its own, two or more.
fn over_differences(values: &[f64], variances: &[f64], basis: Basis) -> Option<Contrast> {
    let jobs = Jobs::new(values, variances).ok()?;
    let average = job_average(&jobs, Method::Reml, Confidence::P95).ok()?;
    let dof = Dof::new((values.len() - 1) as f64).ok()?;
    let u_db = average.modified_se();
    let p = t_two_sided_p(average.mean / u_db, dof);
    let few = few_jobs(&jobs, SOUND_SCALE_DB).ok().map(|few| few.chance_average_above(0.0));
    Some(Contrast {
        value_db: average.mean,
        u_db,
        dof: dof.finite(),
        interval: Some(average.modified.into()),
        p: Some(p),
        chance_better: few.map(|few| cautious(few, one_sided(p, average.mean))),
        tau_db: Some(average.tau2.sqrt()),
        basis,
    })
}

/// Weighs rebuilds from the second side to the first: each is a comparison within its own house.
///
/// # Source
/// As [`weigh`], of one sample.
pub(super) fn weigh_rebuilds(changes: &[Entry]) -> Option<Contrast> {
    let mut houses: BTreeMap<Option<RecordId>, Vec<Entry>> = BTreeMap::new();
    let mut alone = Vec::new();
    for entry in changes {
        match entry.house {
            None => alone.push(entry.clone()),
            house => houses.entry(house).or_default().push(entry.clone()),
        }
    }
    let joined: Option<Vec<Entry>> = houses.values().map(|own| merged(own)).collect();
    let all: Vec<Entry> = joined?.into_iter().chain(alone).collect();
    if let [only] = all.as_slice() {
        let nothing =
            Entry { value_db: 0.0, variance: 0.0, dof: None, house: only.house, traits: Vec::new() };
        let chance = |contrast: &Contrast| contrast.p.map(|p| one_sided(p, contrast.value_db));
        return two_walls(only, &nothing, Basis::Rebuilds(1))
            .map(|contrast| Contrast { chance_better: chance(&contrast), ..contrast });
    }
    let values: Vec<f64> = all.iter().map(|entry| entry.value_db).collect();
    let variances: Vec<f64> = all.iter().map(|entry| entry.variance).collect();
    over_differences(&values, &variances, Basis::Rebuilds(all.len()))
}

/// Joins what one job, or one house, showed more than once: a mean whose parts share errors.
pub(super) fn merged(entries: &[Entry]) -> Option<Entry> {
    let first = entries.first()?;
    let values: Vec<f64> = entries.iter().map(|entry| entry.value_db).collect();
    let variances: Vec<f64> = entries.iter().map(|entry| entry.variance).collect();
    let (value_db, variance) = merge_tests(&Jobs::new(&values, &variances).ok()?, TESTS_CORRELATION).ok()?;
    let dof = entries.iter().filter_map(|entry| entry.dof).reduce(f64::min);
    Some(Entry { value_db, variance, dof, house: first.house, traits: first.traits.clone() })
}

fn two_walls(first: &Entry, second: &Entry, basis: Basis) -> Option<Contrast> {
    let estimate = |entry: &Entry| {
        let dof = entry.dof.and_then(|dof| Dof::new(dof).ok()).unwrap_or(Dof::INFINITE);
        Estimate::new(entry.value_db, entry.variance.sqrt(), dof).ok()
    };
    let found = compare::difference(&estimate(first)?, &estimate(second)?, Confidence::P95);
    let p = found.p_two_sided.ok();
    // Of these two walls only, so the chance is that of their own tests.
    let chance = p.map(|p| one_sided(p, found.value));
    Some(Contrast {
        value_db: found.value,
        u_db: found.u.ok()?,
        dof: found.dof.ok().and_then(Dof::finite),
        interval: found.interval.ok().map(Interval::from),
        p,
        chance_better: chance.filter(|_| basis == Basis::OneHouse),
        tau_db: None,
        basis,
    })
}

/// Of two chances the one that promises less; where they point apart, none.
///
/// The prior on the spread between houses may promise too much where houses differ more than it allows for, and the interval
/// by t does where jobs happen to agree.
fn cautious(one: f64, other: f64) -> f64 {
    let (one, other) = (one - 0.5, other - 0.5);
    if one * other <= 0.0 { 0.5 } else { 0.5 + if one.abs() < other.abs() { one } else { other } }
}

fn one_sided(p: f64, value: f64) -> f64 {
    if value > 0.0 { 1.0 - p / 2.0 } else { p / 2.0 }
}

fn jobs_of(entries: &[Entry]) -> Option<Jobs> {
    let values: Vec<f64> = entries.iter().map(|entry| entry.value_db).collect();
    let variances: Vec<f64> = entries.iter().map(|entry| entry.variance).collect();
    Jobs::new(&values, &variances).ok()
}

/// All jobs of both sides, nothing taken out.
fn over_jobs(first: &[Entry], second: &[Entry]) -> Option<Contrast> {
    let (one, other) = (jobs_of(first)?, jobs_of(second)?);
    let few = |jobs: &Jobs| few_jobs(jobs, SOUND_SCALE_DB).ok();
    let chance = few(&one).zip(few(&other)).and_then(|(one, other)| {
        let p = t_two_sided_p((one.mean() - other.mean()) / one.sd().hypot(other.sd()), Dof::INFINITE);
        Some(one_sided(p, one.mean() - other.mean())).filter(|chance| chance.is_finite())
    });
    if first.len().min(second.len()) >= OWN_SPREAD_JOBS {
        let found = subgroups([&one, &other], Method::Reml, Confidence::P95).ok()?;
        let difference = found.difference;
        let pooled = (found.groups[0].tau2 + found.groups[1].tau2) / 2.0;
        return Some(Contrast {
            value_db: difference.value,
            u_db: difference.u.ok()?,
            dof: difference.dof.ok().and_then(Dof::finite),
            interval: difference.interval.ok().map(Interval::from),
            p: difference.p_two_sided.ok(),
            chance_better: chance
                .zip(difference.p_two_sided.ok())
                .map(|(few, p)| cautious(few, one_sided(p, difference.value))),
            tau_db: Some(pooled.sqrt()),
            basis: Basis::OwnSpreads,
        });
    }
    let all: Vec<Entry> = first.iter().chain(second).cloned().collect();
    let side: Vec<usize> = (0..all.len()).map(|at| usize::from(at >= first.len())).collect();
    let moderated = Moderated::groups(jobs_of(&all)?, &side).ok()?;
    let contrast =
        of_regression(&regression(&moderated, Method::Reml, Confidence::P95), 0, Basis::CommonSpread)?;
    let chance_better = chance.zip(contrast.chance_better).map(|(few, by_t)| cautious(few, by_t));
    Some(Contrast { chance_better, ..contrast })
}

/// All jobs with what differs beside the compared part taken out.
///
/// # Errors
/// The trait that cannot be separated from the sides, or `None` where jobs are too few.
fn adjusted(first: &[Entry], second: &[Entry], uneven: &[usize]) -> Result<Option<Contrast>, Option<usize>> {
    if uneven.is_empty() {
        return Ok(over_jobs(first, second));
    }
    let all: Vec<Entry> = first.iter().chain(second).cloned().collect();
    let side = |index: usize, at: usize| f64::from(u8::from((at >= first.len()) == (index == 1)));
    let mut rows: Vec<Vec<f64>> = (0..all.len()).map(|at| vec![side(0, at), side(1, at)]).collect();
    let mut column_of = vec![None, None];
    for trait_at in uneven {
        for column in columns(&all, *trait_at) {
            rows.iter_mut().zip(column).for_each(|(row, value)| row.push(value));
            column_of.push(Some(*trait_at));
        }
    }
    let extra = column_of.len() - 2;
    let moderated = jobs_of(&all).ok_or(None).and_then(|jobs| {
        Moderated::new(jobs, &rows).map_err(|why| match why {
            ModeratorsError::CannotSeparate { column, .. } => column_of[column],
            _ => None,
        })
    })?;
    let names = uneven.iter().map(|at| all[0].traits[*at].name).collect();
    let fitted = regression(&moderated, Method::Reml, Confidence::P95);
    Ok(of_regression(&fitted, extra, Basis::Adjusted(names)))
}

/// A trait as numbers: its size about the mean where every job has one, else a column for each class but the first.
fn columns(all: &[Entry], at: usize) -> Vec<Vec<f64>> {
    let sizes: Option<Vec<f64>> = all.iter().map(|entry| entry.traits[at].size).collect();
    if let Some(sizes) = sizes {
        let mean = sizes.iter().sum::<f64>() / sizes.len() as f64;
        return vec![sizes.iter().map(|size| size - mean).collect()];
    }
    let classes: BTreeSet<&str> = all.iter().map(|entry| entry.traits[at].class.as_str()).collect();
    let column =
        |class: &str| all.iter().map(|entry| f64::from(u8::from(entry.traits[at].class == class))).collect();
    classes.iter().skip(1).map(|class| column(class)).collect()
}

fn of_regression(fitted: &Regression, extra: usize, basis: Basis) -> Option<Contrast> {
    let mut at = vec![1.0, -1.0];
    at.resize(2 + extra, 0.0);
    let found = fitted.predict(&at).ok()?;
    let u_db = found.se * fitted.hartung_knapp_factor.max(1.0).sqrt();
    let dof = Dof::new(fitted.qe_dof as f64).ok()?;
    let p = t_two_sided_p(found.value / u_db, dof);
    Some(Contrast {
        value_db: found.value,
        u_db,
        dof: dof.finite(),
        interval: Some(found.modified.into()),
        p: Some(p),
        chance_better: Some(one_sided(p, found.value)),
        tau_db: Some(fitted.tau2.sqrt()),
        basis,
    })
}

/// Whether one side is better than the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// The interval excludes zero, and the difference is large enough to matter.
    ClearlyBetter,
    /// Not settled, but nine chances in ten or more.
    ProbablyBetter,
    /// Anything else.
    CannotTell,
}

impl Verdict {
    /// The verdict in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::ClearlyBetter => "clearly better",
            Self::ProbablyBetter => "probably better",
            Self::CannotTell => "cannot tell",
        }
    }
}

/// Decides for a difference that is not below zero, and says what kept it from more.
///
/// `adjusted_p` is the probability after all pairs of the answer were counted; `pairs` how many there are.
pub(super) fn verdict(
    contrast: &Contrast,
    why: &[Why],
    adjusted_p: Option<f64>,
    pairs: usize,
    repeats_sd_db: Option<f64>,
) -> (Verdict, Vec<Why>) {
    let mut reasons = Vec::new();
    let limit_db = rules::SMALLEST_APART_DB.max(rules::REPEAT_FACTOR * repeats_sd_db.unwrap_or(0.0));
    let large = contrast.value_db.abs() >= limit_db;
    if !large {
        reasons.push(Why::TooSmall { limit_db });
    }
    let excludes = match contrast.interval {
        None => {
            reasons.push(Why::NoInterval);
            false
        }
        Some(interval) if !interval.excludes_zero() => {
            reasons.push(Why::IncludesZero);
            false
        }
        Some(_) if adjusted_p.is_some_and(|p| p >= FALSE_CLAIM) => {
            reasons.push(Why::ManyPairs { pairs });
            false
        }
        Some(_) => true,
    };
    let likely = contrast.chance_better.is_some_and(|chance| chance >= PROBABLY);
    let verdict = if why.iter().any(Why::bars) || !large {
        Verdict::CannotTell
    } else if excludes && !why.iter().any(|why| matches!(why, Why::NotTakenOut { .. })) {
        Verdict::ClearlyBetter
    } else if excludes || likely {
        Verdict::ProbablyBetter
    } else {
        Verdict::CannotTell
    };
    (verdict, why.iter().cloned().chain(reasons).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(value_db: f64, variance: f64) -> Entry {
        Entry { value_db, variance, dof: None, house: None, traits: Vec::new() }
    }

    /// Log relative risks of thirteen trials of BCG vaccine with their variances, and whether patients were assigned at random:
    /// Colditz and others 1994.
    const VACCINE: [([f64; 4], bool); 13] = [
        ([4.0, 119.0, 11.0, 128.0], true),
        ([6.0, 300.0, 29.0, 274.0], true),
        ([3.0, 228.0, 11.0, 209.0], true),
        ([62.0, 13536.0, 248.0, 12619.0], true),
        ([33.0, 5036.0, 47.0, 5761.0], false),
        ([180.0, 1361.0, 372.0, 1079.0], false),
        ([8.0, 2537.0, 10.0, 619.0], true),
        ([505.0, 87886.0, 499.0, 87892.0], true),
        ([29.0, 7470.0, 45.0, 7232.0], true),
        ([17.0, 1699.0, 65.0, 1600.0], false),
        ([186.0, 50448.0, 141.0, 27197.0], false),
        ([5.0, 2493.0, 3.0, 2338.0], false),
        ([27.0, 16886.0, 29.0, 17825.0], false),
    ];

    fn trials(at_random: bool) -> Vec<Entry> {
        let of = |([a, b, c, d], _): &([f64; 4], bool)| {
            let value = (a / (a + b) / (c / (c + d))).ln();
            entry(value, 1.0 / a - 1.0 / (a + b) + 1.0 / c - 1.0 / (c + d))
        };
        VACCINE.iter().filter(|(_, random)| *random == at_random).map(of).collect()
    }

    #[test]
    fn published_groups_of_trials_match() {
        let weighed = weigh(&trials(true), &trials(false));
        let contrast = weighed.contrast.unwrap();
        // The R package metafor publishes -0.9710 and -0.4813 for the two groups (from memory), and so -0.4897; modified errors,
        // Welch's degrees of freedom and interval computed independently with scipy 1.17.
        assert!((contrast.value_db + 0.4897).abs() < 6e-5, "{contrast:?}");
        assert!((contrast.u_db - 0.357_424_8).abs() < 1e-5, "{contrast:?}");
        let interval = contrast.interval.unwrap();
        assert!((contrast.dof.unwrap() - 10.887_417).abs() < 1e-3, "{contrast:?}");
        assert!(
            (interval.low + 1.277_374_3).abs() < 1e-4 && (interval.high - 0.297_986_5).abs() < 1e-4,
            "{interval:?}"
        );
        assert_eq!((contrast.basis, weighed.why), (Basis::OwnSpreads, Vec::new()));
    }

    #[test]
    fn the_depth_example_matches_with_depth_as_the_side() {
        // Six invented jobs, shallow against deep: 51 mm times the slope 0.034446 dB/mm of the regression on depth, which with two
        // depths is the same model; its ends 0.008393 and 0.060499 computed independently with scipy 1.17.
        let deep = [entry(7.1, 0.25), entry(6.2, 0.50), entry(7.4, 0.30)];
        let shallow = [entry(5.2, 0.30), entry(4.6, 0.40), entry(5.9, 0.35)];
        let contrast = weigh(&deep, &shallow).contrast.unwrap();
        let interval = contrast.interval.unwrap();
        assert!((contrast.value_db - 51.0 * 0.034_446_107).abs() < 1e-5, "{contrast:?}");
        assert!((interval.low - 51.0 * 0.008_392_919).abs() < 1e-4, "{interval:?}");
        assert!((interval.high - 51.0 * 0.060_499_295).abs() < 1e-4, "{interval:?}");
        assert_eq!((contrast.tau_db, contrast.basis), (Some(0.0), Basis::CommonSpread));
    }

    #[test]
    fn verdicts_follow_size_interval_and_chance() {
        use Verdict::{CannotTell, ClearlyBetter, ProbablyBetter};
        let of = |value_db: f64, half: f64, chance: f64| Contrast {
            value_db,
            u_db: half / 2.0,
            dof: None,
            interval: Some(Interval { low: value_db - half, high: value_db + half }),
            p: None,
            chance_better: Some(chance),
            tau_db: None,
            basis: Basis::CommonSpread,
        };
        let separate = Why::CannotSeparate { what: "depth" };
        let left_in = Why::NotTakenOut { what: "depth" };
        // Conventions of this project: at least 1 dB and three standard deviations of repeats; nine chances in ten.
        let rows = [
            (of(1.0, 0.9, 0.99), None, None, None, ClearlyBetter),
            (of(0.9, 0.5, 0.99), None, None, None, CannotTell),
            (of(2.0, 1.0, 0.99), None, None, Some(0.7), CannotTell),
            (of(2.0, 2.5, 0.9), None, None, None, ProbablyBetter),
            (of(2.0, 2.5, 0.89), None, None, None, CannotTell),
            (of(2.0, 1.0, 0.99), None, Some(0.05), None, ProbablyBetter),
            (of(2.0, 1.0, 0.99), None, Some(0.049), None, ClearlyBetter),
            (of(2.0, 1.0, 0.99), Some(separate), None, None, CannotTell),
            (of(2.0, 1.0, 0.99), Some(Why::OneJobEach), None, None, CannotTell),
            (of(2.0, 1.0, 0.99), Some(left_in), None, None, ProbablyBetter),
        ];
        for (contrast, why, adjusted_p, repeats, expected) in rows {
            let why: Vec<Why> = why.into_iter().collect();
            let (got, reasons) = verdict(&contrast, &why, adjusted_p, 3, repeats);
            assert_eq!(got, expected, "{contrast:?} {why:?}");
            assert!(got == ClearlyBetter || !reasons.is_empty(), "what kept it is said");
        }
    }

    #[test]
    fn the_more_cautious_chance_is_told() {
        for (one, other, expected) in [(0.99, 0.92, 0.92), (0.02, 0.2, 0.2), (0.9, 0.4, 0.5), (0.5, 0.9, 0.5)]
        {
            assert!((cautious(one, other) - expected).abs() < 1e-12, "{one} {other}");
        }
    }

    #[test]
    fn jobs_in_one_house_are_no_houses_of_their_own() {
        let house = |number: u64| Some(storypole_journal::RecordId::from_parts(number, [0; 10]));
        let of = |value_db: f64, number: u64| Entry { house: house(number), ..entry(value_db, 0.3) };
        // Three jobs in one house against three in another: two houses, however precise.
        let (first, second) = ([of(7.0, 1), of(7.2, 1), of(7.1, 1)], [of(4.0, 2), of(4.1, 2), of(4.2, 2)]);
        let weighed = weigh(&first, &second);
        assert_eq!(weighed.why, [Why::OneJobEach]);
        let contrast = weighed.contrast.unwrap();
        assert_eq!((contrast.basis.clone(), contrast.chance_better), (Basis::TwoWalls, None));
        // By hand: three of variance 0.3 with a correlation of 0.5 have (3·0.3 + 6·0.5·0.3)/9 = 0.2, and the two sides 0.4.
        assert!(
            (contrast.value_db - 3.0).abs() < 1e-12 && (contrast.u_db - 0.4f64.sqrt()).abs() < 1e-12,
            "{contrast:?}"
        );
        // Three jobs in one house and one in another weigh as two houses do.
        let two = [of(7.0, 1), of(7.2, 1), of(7.1, 1), of(5.0, 3)];
        let other = [of(4.0, 2), of(4.6, 4), of(4.1, 5)];
        let got = weigh(&two, &other).contrast.unwrap();
        let joined = [Entry { house: house(1), ..entry(7.1, 0.2) }, of(5.0, 3)];
        let expected = weigh(&joined, &other).contrast.unwrap();
        assert!((got.u_db - expected.u_db).abs() < 1e-9 && got.dof == Some(3.0), "{got:?} {expected:?}");
    }

    #[test]
    fn nothing_is_weighed_against_nothing() {
        assert_eq!(weigh(&[], &[entry(1.0, 0.1)]), Weighed::default());
        assert_eq!(weigh_rebuilds(&[]), None);
    }

    /// Normal numbers from a seed, by Box and Muller from a linear congruential generator (constants of Knuth's MMIX).
    struct Chance(u64);

    impl Chance {
        fn uniform(&mut self) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((self.0 >> 11) as f64 + 0.5) / 2f64.powi(53)
        }

        fn normal(&mut self) -> f64 {
            let (one, other) = (self.uniform(), self.uniform());
            (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
        }
    }

    /// Goal: intervals hold what they promise and kinds of walls that are alike are seldom called different. Method: seeded jobs of
    /// two sides without a difference, houses that differ by τ, tests of differing precision.
    #[test]
    fn intervals_cover_and_alike_walls_are_seldom_told_apart() {
        const RUNS: u32 = 300;
        let mut chance = Chance(20_261_129);
        for (first, second, tau_db) in [(2, 2, 1.0), (3, 3, 2.0), (5, 3, 2.0), (6, 6, 1.0)] {
            let (mut covered, mut clearly, mut probably) = (0, 0, 0);
            for _ in 0..RUNS {
                let mut side = |jobs: usize| -> Vec<Entry> {
                    (0..jobs)
                        .map(|_| {
                            let variance = 0.15 + 0.5 * chance.uniform();
                            let value_db = 5.0 + tau_db * chance.normal() + variance.sqrt() * chance.normal();
                            entry(value_db, variance)
                        })
                        .collect()
                };
                let (one, other) = (side(first), side(second));
                let contrast = weigh(&one, &other).contrast.unwrap();
                let interval = contrast.interval.unwrap();
                covered += u32::from(interval.low <= 0.0 && interval.high >= 0.0);
                let better = if contrast.value_db < 0.0 { contrast.turned() } else { contrast };
                match verdict(&better, &[], None, 1, None).0 {
                    Verdict::ClearlyBetter => clearly += 1,
                    Verdict::ProbablyBetter => probably += 1,
                    Verdict::CannotTell => (),
                }
            }
            let share = |count: u32| f64::from(count) / f64::from(RUNS);
            // 300 runs tell a share of 0.95 within 0.025.
            assert!(share(covered) >= 0.925, "{first} and {second} jobs, tau {tau_db}");
            assert!(share(clearly) <= 0.075, "{first} and {second} jobs, tau {tau_db}");
            assert!(
                share(clearly) + share(probably) <= 0.24,
                "two tails of one in ten, and what 300 runs can be off"
            );
        }
    }
}
