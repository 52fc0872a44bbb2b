//! Kinds of rebuilds that more houses would settle, and pairs of fills that cannot be told apart.
//!
//! More positions in an old job never get below how jobs differ; another house does. Leaves out bench rigs and single walls.

use std::collections::BTreeMap;

use storypole_acoustics::Sense;
use storypole_notebook::Unit;
use storypole_statistics::jobs::between::{Method, tau_squared};
use storypole_statistics::jobs::few::SOUND_SCALE_DB;
use storypole_statistics::planning::{self, NextTest};
use storypole_statistics::{Confidence, Dof, Estimate, compare};
use storypole_units::Money;

use super::{Candidate, Effort, Expected, Kind, effort, new_variance, words, worth_of};
use crate::Findings;
use crate::across::pool::{entries, pairs};
use crate::across::rows::TESTS_CORRELATION;
use crate::across::synthesis::jobs_of;
use crate::across::{Row, Span, Wall};
use crate::compare::Line;
use crate::plan::numbers::FEWEST_RECEIVE;
use crate::rules;

/// Up to so many jobs their spread says too little, and the scale of the prior stands for it.
const FEW_JOBS: usize = 4;

/// A test worth less for a choice is not worth taking, dB. Convention of this project.
const LEAST_WORTH_DB: f64 = 0.05;

/// How a wall is classed: nearly alike, with the kind of fill as what is compared.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct WallClass {
    /// How its leaves are tied.
    pub(super) family: String,
    /// State of the work.
    pub(super) state: String,
    /// Mass bands of the leaves, the lighter first: a wall is the same from the other room.
    masses: [Option<usize>; 2],
    /// Kind of fill.
    pub(super) fill: String,
}

/// What is averaged: the wall before and after, weighting, limited by an opening or not.
pub(super) type Class = (WallClass, WallClass, Option<Unit>, bool);

/// A class with its exact rows of grade A and B.
#[derive(Default)]
pub(super) struct Pool<'r> {
    pub(super) class: Class,
    pub(super) rows: Vec<&'r Row>,
    /// Value, dB, and variance, dB², of each job behind these; several walls of one job are one.
    pub(super) jobs: Vec<(f64, f64)>,
    /// Rows that do not enter the average: bounds, weak grades, no interval, no job.
    pub(super) others: usize,
    /// The last of all these.
    pub(super) last: Option<&'r Row>,
}

fn wall_class(wall: &Wall) -> WallClass {
    let mut masses = wall.key.as_ref().map_or([None; 2], |key| [key.mass_a, key.mass_b]);
    masses.sort_unstable();
    WallClass { family: wall.family.clone(), state: wall.state.clone(), masses, fill: wall.fill.clone() }
}

pub(super) fn class_of(row: &Row) -> Option<Class> {
    Some((wall_class(row.before.as_ref()?), wall_class(&row.after), row.unit, row.apart))
}

/// Whole jobs by class. Exact rows of grade A or B and known variance enter an average; classes stand in the order of their words.
pub(super) fn pools(rows: &[Row]) -> Vec<Pool<'_>> {
    let mut pools: BTreeMap<Class, Pool<'_>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.span == Span::Whole) {
        let Some(class) = class_of(row) else { continue };
        let counts = row.job.is_some()
            && row.line == Line::Main
            && row.value.bound == Sense::Exact
            && row.variance.is_some_and(|variance| variance.is_finite() && variance > 0.0);
        let pool = pools.entry(class).or_default();
        pool.last = Some(row);
        if counts {
            pool.rows.push(row);
        } else {
            pool.others += 1;
        }
    }
    pools
        .into_iter()
        .map(|(class, pool)| {
            let jobs = entries(pool.rows.iter().copied().enumerate(), TESTS_CORRELATION);
            Pool { class, jobs: pairs(&jobs), ..pool }
        })
        .collect()
}

impl Pool<'_> {
    fn variances(&self) -> Vec<f64> {
        self.jobs.iter().map(|(_, variance)| *variance).collect()
    }

    /// Variance between jobs: of this pool where it has jobs enough, else the square of the prior's scale.
    pub(super) fn tau2(&self) -> f64 {
        if self.jobs.len() <= FEW_JOBS {
            return SOUND_SCALE_DB * SOUND_SCALE_DB;
        }
        let own = jobs_of(&self.jobs).ok().and_then(|jobs| tau_squared(&jobs, Method::Reml).ok());
        own.unwrap_or(SOUND_SCALE_DB * SOUND_SCALE_DB)
    }

    /// What one more house would do for the average.
    pub(super) fn next(&self, v_new: f64) -> Option<NextTest> {
        let (found, _) = planning::next_test(&[self.variances()], self.tau2(), v_new).ok()?;
        found.first().copied()
    }

    /// The average with the variance it has between houses.
    fn average(&self) -> Option<(f64, f64)> {
        let tau2 = self.tau2();
        let weights: Vec<f64> = self.jobs.iter().map(|(_, variance)| 1.0 / (variance + tau2)).collect();
        let total: f64 = weights.iter().sum();
        let sum: f64 = weights.iter().zip(&self.jobs).map(|(weight, (value, _))| weight * value).sum();
        (total > 0.0).then(|| (sum / total, 1.0 / total))
    }

    /// Weighting, A where none is named.
    pub(super) fn unit(&self) -> Unit {
        self.class.2.filter(|unit| unit.is_level()).unwrap_or(Unit::DbA)
    }

    /// The effort of a whole test in a new house: before, before again, after.
    fn effort(&self) -> Effort {
        let wall: Option<Money> =
            self.rows.iter().rev().find_map(|row| row.cost.as_ref()).map(|cost| cost.net);
        Effort { wall, ..effort(3, FEWEST_RECEIVE) }
    }
}

impl Findings<'_> {
    pub(super) fn next_of_classes(&self, rows: &[Row]) -> Vec<Candidate> {
        let pools = pools(rows);
        let mut variances: BTreeMap<Unit, Option<f64>> = BTreeMap::new();
        let mut candidates = Vec::new();
        for pool in &pools {
            let unit = pool.unit();
            let v_new = *variances.entry(unit).or_insert_with(|| new_variance(&self.sound_spread(unit)));
            candidates.extend(v_new.and_then(|v_new| another_house(pool, v_new)));
        }
        candidates.extend(self.fill_pairs(&pools, &variances));
        candidates
    }

    /// Pairs of fills that share everything else: told apart, or worth another test. One candidate for each family.
    fn fill_pairs(&self, pools: &[Pool<'_>], variances: &BTreeMap<Unit, Option<f64>>) -> Vec<Candidate> {
        let mut families: BTreeMap<Class, Vec<&Pool<'_>>> = BTreeMap::new();
        for pool in pools.iter().filter(|pool| !pool.rows.is_empty()) {
            let (before, mut after, unit, apart) = pool.class.clone();
            // An empty wall against a filled one is no choice between fills.
            if !matches!(after.fill.as_str(), "unknown" | "empty") {
                after.fill.clear();
                families.entry((before, after, unit, apart)).or_default().push(pool);
            }
        }
        let worth_of_db = self.book.notebooks.live().find_map(|settings| settings.worth_of_db);
        let mut found = Vec::new();
        for pools in families.into_values() {
            let unit = pools[0].unit();
            let Some(v_new) = variances.get(&unit).copied().flatten() else { continue };
            let choices = pools.iter().enumerate().flat_map(|(index, one)| {
                pools[index + 1..].iter().filter_map(move |other| pair(one, other, v_new, worth_of_db))
            });
            let gain = |one: &Candidate| one.expected.worth_db.unwrap_or(0.0);
            found.extend(choices.reduce(|best, next| if gain(&next) > gain(&best) { next } else { best }));
        }
        found
    }
}

fn another_house(pool: &Pool<'_>, v_new: f64) -> Option<Candidate> {
    // With studs showing in one of the sets no design lifts the grade to A or B.
    let is_covered = |class: &WallClass| matches!(class.state.as_str(), "boarded-both" | "finished");
    if !(is_covered(&pool.class.0) && is_covered(&pool.class.1)) {
        return None;
    }
    let next = pool.next(v_new)?;
    // An average known to within what tells two results apart is known well enough.
    if next.variance_now.is_some_and(|variance| super::half_width_db(variance) < rules::SMALLEST_APART_DB) {
        return None;
    }
    let effort = pool.effort();
    let average = pool.average().map(|(average, _)| average);
    let expected = Expected {
        variance_now: next.variance_now,
        variance_after: Some(next.variance_after),
        worth_db: None,
        worth: None,
    };
    Some(Candidate {
        kind: Kind::AnotherHouse,
        what: words::once_more(pool),
        job: None,
        job_label: String::new(),
        site: String::new(),
        assembly: None,
        test: None,
        limited: pool.class.3,
        sentence: words::another_house(pool, average, &expected, &effort),
        expected,
        effort,
    })
}

/// Two pools that differ by the fill: nothing where the interval of their difference tells them apart.
fn pair(one: &Pool<'_>, other: &Pool<'_>, v_new: f64, worth_of_db: Option<Money>) -> Option<Candidate> {
    let ((mean, v), (other_mean, other_v)) = (one.average()?, other.average()?);
    let estimate = |mean: f64, variance: f64| Estimate::new(mean, variance.sqrt(), Dof::INFINITE).ok();
    let difference =
        compare::difference(&estimate(mean, v)?, &estimate(other_mean, other_v)?, Confidence::P95);
    let interval = difference.interval.ok()?;
    let is_apart =
        difference.value.abs() >= rules::SMALLEST_APART_DB && (interval.low > 0.0 || interval.high < 0.0);
    if is_apart {
        return None;
    }
    // The one less known gains most from a test.
    let (weak, strong) = if v >= other_v { (one, other) } else { (other, one) };
    let after = weak.next(v_new)?.variance_after + v.min(other_v);
    let now = v + other_v;
    let worth = planning::worth_of_test(difference.value, now, after).ok()?;
    if worth.of_sample < LEAST_WORTH_DB {
        return None;
    }
    let expected = Expected {
        variance_now: Some(now),
        variance_after: Some(after),
        worth_db: Some(worth.of_sample),
        worth: worth_of_db.and_then(|each| worth_of(each, worth.of_sample)),
    };
    let effort = weak.effort();
    Some(Candidate {
        kind: Kind::Pair,
        what: format!("{} in another house, against {}", weak.class.1.fill, strong.class.1.fill),
        job: None,
        job_label: String::new(),
        site: String::new(),
        assembly: None,
        test: None,
        limited: weak.class.3,
        sentence: words::pair(weak, strong, &expected, difference.value.abs(), interval.width() / 2.0),
        expected,
        effort,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::across::Measure;
    use crate::change::Claim;
    use crate::fixture::id;
    use crate::grade::Letter;
    use crate::set_finding::Estimate as Value;
    use crate::{Findings, fixture};
    use storypole_units::Money;

    fn close(got: f64, expected: f64, tolerance: f64) {
        assert!((got - expected).abs() <= tolerance, "{got} instead of {expected}");
    }

    fn row(fill: &str, value: f64, variance: f64) -> Row {
        let wall = |label: &str, fill: &str| Wall {
            assembly: id("assembly", label),
            label: label.to_owned(),
            key: None,
            family: "single-wood".to_owned(),
            fill: fill.to_owned(),
            state: "finished".to_owned(),
        };
        Row {
            measure: Measure::Change,
            span: Span::Whole,
            job: None,
            job_label: String::new(),
            before: Some(wall("A1", "empty")),
            after: wall("A2", fill),
            unit: Some(Unit::DbA),
            tests: Vec::new(),
            sets: Vec::new(),
            test_ids: Vec::new(),
            set_ids: Vec::new(),
            value: Value { value, bound: Sense::Exact },
            variance: Some(variance),
            dof: None,
            merged: vec![(value, variance)],
            grade: Letter::B,
            line: Line::Main,
            apart: false,
            claim: Claim::Claimed,
            bundle: Vec::new(),
            cost: None,
            aside: Vec::new(),
        }
    }

    /// Each row in a job of its own.
    fn in_jobs(rows: impl IntoIterator<Item = Row>) -> Vec<Row> {
        let job = |index: usize| Some(id("job", &format!("J{index}")));
        rows.into_iter().enumerate().map(|(index, row)| Row { job: job(index), ..row }).collect()
    }

    fn wool() -> Vec<Row> {
        let rows = [(5.8, 0.12), (7.1, 0.35), (4.2, 0.20), (6.9, 0.60), (5.1, 0.25)];
        in_jobs(rows.map(|(value, variance)| row("stone wool", value, variance)))
    }

    #[test]
    fn several_walls_of_one_job_are_one_job() {
        let mut rows = wool();
        rows.truncate(2);
        rows[1].job = rows[0].job;
        rows.push(row("stone wool", 9.0, 0.1));
        let pools = pools(&rows);
        // By hand: (5.8 + 7.1)/2, and (0.12 + 0.35 + 2·0.5·√(0.12·0.35))/4; the row that names no job does not enter.
        assert_eq!((pools[0].jobs.len(), pools[0].others), (1, 1));
        close(pools[0].jobs[0].0, 6.45, 1e-12);
        close(pools[0].jobs[0].1, 0.168_734_75, 1e-8);
        let found = another_house(&pools[0], 0.49).unwrap();
        assert!(found.sentence.starts_with("One job so far, +6.5 dB"), "{}", found.sentence);
    }

    #[test]
    fn one_more_house_takes_the_spread_between_jobs_from_the_pool() {
        // Five invented jobs; REML by minimising the likelihood, and the variances, computed independently with scipy 1.17. The new
        // test is given a variance of 0.49.
        let rows = wool();
        let pools = pools(&rows);
        close(pools[0].tau2(), 1.149_464_047, 1e-5);
        let next = pools[0].next(0.49).unwrap();
        close(next.variance_now.unwrap(), 0.287_204_731_6, 1e-6);
        close(next.variance_after, 0.244_391_686_2, 1e-6);
        // Three jobs say too little of their spread: the scale of 2 dB stands for it; by the same script.
        let few = super::pools(&rows[..3]);
        assert_eq!(few[0].tau2(), 4.0);
        let next = few[0].next(0.49).unwrap();
        close(next.variance_now.unwrap(), 1.407_065_948_855_989, 1e-9);
    }

    #[test]
    fn a_pair_that_cannot_be_told_apart_is_worth_a_test() {
        // Expected value of sample information by the unit normal loss and by quadrature of max(0, -d), independently with scipy 1.17.
        let mut rows = wool();
        rows.extend(in_jobs([row("cellulose", 6.3, 0.25)]));
        let pools = pools(&rows);
        let worth_of_db = Money::parse("12.00 USD").ok();
        let found = pair(&pools[0], &pools[1], 0.49, worth_of_db).unwrap();
        close(found.expected.worth_db.unwrap(), 0.338_369_854_4, 1e-5);
        close(found.expected.variance_now.unwrap(), 4.537_204_731_6, 1e-5);
        close(found.expected.variance_after.unwrap(), 2.470_557_134_4, 1e-5);
        assert_eq!(found.expected.worth.map(|worth| worth.to_string()), Some("4.06 USD".to_owned()));
        assert!(found.what.starts_with("cellulose in another house"), "{}", found.what);
        assert!(found.sentence.contains("cannot be told apart yet"), "{}", found.sentence);
        let cost = |net: &str| {
            Some(crate::JobCost { net: Money::parse(net).unwrap(), area: None, spent: Vec::new() })
        };
        let dear = in_jobs([Row { cost: cost("250.00 USD"), ..row("cellulose", 6.3, 0.25) }]);
        let found = another_house(&super::pools(&dear)[0], 0.49).unwrap();
        assert!(
            found.sentence.contains("built anyway; the last such job came to 250.00 USD"),
            "{}",
            found.sentence
        );
        // Far apart and well known: nothing to settle.
        let mut rows = wool();
        rows.extend(in_jobs((0..6).map(|index| row("cellulose", 20.0 + 0.1 * f64::from(index), 0.2))));
        let pools = super::pools(&rows);
        assert_eq!(pair(&pools[0], &pools[1], 0.49, None), None);
    }

    #[test]
    fn what_is_known_well_enough_is_not_tested_again() {
        // Twenty houses that agree: REML finds no spread between them, the average has a variance of 0.25/20 and a range of ±0.22 dB.
        let many = in_jobs((0..20).map(|index| row("cellulose", 6.0 + 0.01 * f64::from(index % 3), 0.25)));
        let known = pools(&many);
        close(known[0].next(0.49).unwrap().variance_now.unwrap(), 0.0125, 1e-12);
        assert_eq!(another_house(&known[0], 0.49), None);
        let mut both = many.clone();
        both.extend(
            many.iter().map(|known| Row { after: row("stone wool", 0.0, 1.0).after, ..known.clone() }),
        );
        let pools = pools(&both);
        assert_eq!(
            pair(&pools[0], &pools[1], 0.49, None),
            None,
            "alike, and more tests would not change the choice"
        );
    }

    #[test]
    fn bounds_weak_rows_and_steps_stay_out_of_averages() {
        let bound = Value { value: 5.0, bound: Sense::AtLeast };
        let rows = in_jobs([
            Row { value: bound, ..row("stone wool", 5.0, 0.2) },
            Row { line: Line::Second, ..row("stone wool", 5.0, 0.2) },
            Row { span: Span::Step, ..row("stone wool", 5.0, 0.2) },
            Row { variance: None, ..row("stone wool", 5.0, 0.2) },
            Row { variance: Some(0.0), ..row("stone wool", 5.0, 0.2) },
        ]);
        let pools = pools(&rows);
        assert_eq!((pools[0].rows.len(), pools[0].others), (0, 4));
        let found = another_house(&pools[0], 0.49).unwrap();
        assert_eq!((found.expected.variance_now, found.nats_per_hour()), (None, None));
        assert!(found.sentence.contains("No exact result of grade A or B yet"), "{}", found.sentence);
        let book = fixture::demo();
        assert!(!Findings::new(&book).next_of_classes(&wool()).is_empty());
    }
}
