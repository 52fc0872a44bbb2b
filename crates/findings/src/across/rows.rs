//! What one job showed of one wall or of one rebuild: the rows that pools are made of.
//!
//! Several tests and directions of one wall are merged first, because two tests of one wall are not two jobs. Bench rigs and
//! tests of other quantities never come in. Leaves out which rows may meet: see [`crate::across`].

use std::collections::BTreeMap;

use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::assembly::{Cavity, Frame, Leaf};
use storypole_notebook::kinds::{Assembly, Test};
use storypole_notebook::matching::{MatchKey, Parts};
use storypole_statistics::budget::{Term, combine};
use storypole_statistics::jobs::{self, Jobs};
use storypole_statistics::{Confidence, Dof, decibels, sample};

use crate::change::{self, Change, Claim, NoClaim};
use crate::compare::{Axis, Line, family_of, fill_of};
use crate::costs::JobCost;
use crate::flags::{self, Flag};
use crate::grade::Letter;
use crate::set_finding::{Estimate, SetFinding};
use crate::test_finding::{self, Group, TestFinding};
use crate::{Findings, Interval, job_finding, rules};

/// Correlation between the errors of two tests of one wall: they share room, crew and wall. Convention of this project.
pub const TESTS_CORRELATION: f64 = 0.5;

/// Which of the two tables a row stands in; the two are never mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Change of the level difference by a rebuild.
    Change,
    /// Level difference of a wall.
    Level,
}

/// Which part of a job a row is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Span {
    /// From how the job found the wall to how it left it, or the level difference of a wall.
    Whole,
    /// One of several steps of a job from wall to wall; the whole stands in a row of its own.
    Step,
}

/// One wall as it enters a pool.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// The assembly version.
    pub assembly: RecordId,
    /// Its label.
    pub label: String,
    /// What it is matched by; `None` where frame, cavity or a leaf is unreadable or not written down.
    pub key: Option<MatchKey>,
    /// How its leaves are tied, in words.
    pub family: String,
    /// Kind of fill, `empty` or `unknown`.
    pub fill: String,
    /// State of the work.
    pub state: String,
}

/// A test that does not count in a row, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// Label of the test.
    pub test: String,
    /// Its sets.
    pub sets: Vec<RecordId>,
    /// Why, in words.
    pub why: &'static str,
}

/// What one job showed of one wall, or of one rebuild: all its tests, both directions, merged.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The table.
    pub measure: Measure,
    /// The whole job or a step of it.
    pub span: Span,
    /// The job; `None` where the sets name none.
    pub job: Option<RecordId>,
    /// Its label.
    pub job_label: String,
    /// The wall before; `None` for a level difference.
    pub before: Option<Wall>,
    /// The wall, or the wall after.
    pub after: Wall,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// Labels of the tests behind it.
    pub tests: Vec<String>,
    /// Labels of the sets behind it.
    pub sets: Vec<String>,
    /// The tests behind it.
    pub test_ids: Vec<RecordId>,
    /// The sets behind it.
    pub set_ids: Vec<RecordId>,
    /// The number, dB; positive changes are quieter.
    pub value: Estimate,
    /// Square of its standard uncertainty, dB²; `None` where nothing says how far off it is.
    pub variance: Option<f64>,
    /// Degrees of freedom of that uncertainty; `None` is without limit.
    pub dof: Option<f64>,
    /// Values and variances of the tests merged, for a look at other correlations.
    pub merged: Vec<(f64, f64)>,
    /// How good its worst comparison was.
    pub grade: Letter,
    /// The line it stands in.
    pub line: Line,
    /// Whether an opening limits a wall.
    pub apart: bool,
    /// Whether this change may be claimed by itself; a level difference claims nothing.
    pub claim: Claim,
    /// Parts of the wall that changed together.
    pub bundle: Vec<&'static str>,
    /// What the job cost; `None` where unknown.
    pub cost: Option<JobCost>,
    /// Tests of the same wall and job that do not count, with the reason.
    pub aside: Vec<Aside>,
}

/// A row of one test and direction, with what its claim was made from.
struct Single {
    row: Row,
    limit_db: f64,
    far_off: bool,
}

const LOWER_GRADE: &str = "a better graded test of the same wall in this job stands for it";
const NO_SPREAD: &str = "nothing says how far off it is, and another test of the same wall stands for it";

impl Findings<'_> {
    /// One row for each job and wall, or for each job and rebuild, in the order of the records.
    ///
    /// A wall has one set in each test, direction and weighting: the latest exact one, or the latest where all are bounds. Tests and
    /// directions of one wall in one job are then averaged, their errors correlated by [`TESTS_CORRELATION`]; only those of the
    /// best line count, so that a weak test never spoils a good one. A job of several steps has a row for each and one for the
    /// whole, marked by [`Span`].
    ///
    /// # Units and shape
    /// Values dB, variances dB². The variance of a change is that of its full [`crate::Budget`]. A level difference of one set has
    /// `u² = s²/2n + (setup² + day²)/2`, or the square of the crew's own repeats of whole sets in place of the second part: a
    /// change is the difference of two sets, so one carries half of its variance. s is the pooled scatter of changes by position
    /// where three tests have one, else the set's own receive levels stand in (`s²/n`). How rooms differ, and where in them the
    /// positions lie, is not in it: that is part of how jobs differ.
    ///
    /// # Source
    /// One row for each job and wall, and the halves, are conventions of this project.
    pub fn rows(&self, measure: Measure) -> Vec<Row> {
        self.rows_of(measure, wall_tests(self), |_| true)
    }

    /// The rows of [`Self::rows`] of one job, or of the sets that name none, in the same order.
    ///
    /// Only tests with sets of that job are worked out.
    pub fn rows_of_job(&self, measure: Measure, job: Option<RecordId>) -> Vec<Row> {
        let tests = match job {
            Some(job) => wall_tests_of(self, self.sets_of_job(job)),
            None => wall_tests_of(self, self.sets().filter(|set| set.job.is_none())),
        };
        self.rows_of(measure, tests.into_iter(), |row| row.job == job)
    }

    /// The rows of [`Self::rows`] that show this wall, or what it became, in the same order; of every job.
    pub fn rows_of_assembly(&self, measure: Measure, assembly: RecordId) -> Vec<Row> {
        let tests = wall_tests_of(self, self.sets_of_assembly(assembly));
        self.rows_of(measure, tests.into_iter(), |row| row.after.assembly == assembly)
    }

    /// The level difference of one set as a row of its own, an untouched wall's too.
    ///
    /// `None` where the set is out of results, or stands in a test of a bench rig, of another quantity or one that was struck.
    pub fn row_of_set(&self, set: RecordId) -> Option<Row> {
        let test = self.book.tests.of(self.set(set)?.test).filter(|test| is_wall_test(test))?;
        let tested = self.test(test.id)?;
        let groups = || tested.groups.iter().chain(&tested.controls);
        let found = groups().flat_map(Group::usable).find(|one| one.set == set)?;
        Some(self.level_row(&tested, found)?.row)
    }

    fn rows_of<'t>(
        &self,
        measure: Measure,
        tests: impl Iterator<Item = &'t Test>,
        is_asked: impl Fn(&Row) -> bool,
    ) -> Vec<Row> {
        type Key = (Option<RecordId>, Option<RecordId>, RecordId, Option<Unit>, Span);
        let mut alike: BTreeMap<Key, Vec<Single>> = BTreeMap::new();
        let mut order: Vec<Key> = Vec::new();
        for test in tests {
            let Some(tested) = self.test(test.id) else { continue };
            let singles = match measure {
                Measure::Change => self.changes_of(&tested),
                Measure::Level => self.levels_of(&tested),
            };
            for single in singles.into_iter().filter(|single| is_asked(&single.row)) {
                let row = &single.row;
                let before = row.before.as_ref().map(|wall| wall.assembly);
                let key = (row.job, before, row.after.assembly, row.unit, row.span);
                let group = alike.entry(key).or_default();
                if group.is_empty() {
                    order.push(key);
                }
                group.push(single);
            }
        }
        order.into_iter().filter_map(|key| alike.remove(&key)).map(merge).collect()
    }

    fn wall(&self, assembly: Option<RecordId>) -> Option<Wall> {
        let record = self.book.assemblies.of(assembly)?;
        Some(Wall {
            assembly: record.id,
            label: record.label.clone().unwrap_or_default(),
            key: key_of(record),
            family: family_of(Some(record), Axis::Coupling),
            fill: fill_of(Some(record)),
            state: record.state.clone().unwrap_or_else(|| "unknown".to_owned()),
        })
    }

    fn changes_of(&self, tested: &TestFinding) -> Vec<Single> {
        let mut singles = Vec::new();
        for group in &tested.groups {
            // A control wall was not rebuilt.
            let rebuilt: Vec<&SetFinding> = group.usable().filter(|set| !self.is_control(set)).collect();
            let rebuilt = without_returns(&rebuilt);
            for job in jobs_of(&rebuilt) {
                let Some(first_own) = rebuilt.iter().position(|set| set.job == job) else { continue };
                let (_, _, steps) = job_finding::changes(self, job, group, &rebuilt, first_own);
                match steps.as_slice() {
                    [] => (),
                    [only] => singles.extend(self.change_row(tested, job, only, Span::Whole)),
                    [first, .., last] => {
                        // The same sets stand for the walls as in the steps.
                        let ends = self.set(first.from.set).zip(self.set(last.to.set));
                        let whole = ends.map(|(from, to)| change::between(self, from, to, group.drift_db));
                        let whole = whole.and_then(|whole| self.change_row(tested, job, &whole, Span::Whole));
                        singles.extend(whole);
                        let step = |step| self.change_row(tested, job, step, Span::Step);
                        singles.extend(steps.iter().filter_map(step));
                    }
                }
            }
        }
        singles
    }

    fn change_row(
        &self,
        tested: &TestFinding,
        job: Option<RecordId>,
        change: &Change,
        span: Span,
    ) -> Option<Single> {
        let value = change.value?;
        let variance = change.budget.u_db.map(|u_db| u_db * u_db);
        let row = Row {
            span,
            before: Some(self.wall(change.from.assembly)?),
            sets: vec![change.from.label.clone(), change.to.label.clone()],
            set_ids: vec![change.from.set, change.to.set],
            dof: change.budget.dof,
            grade: change.grade.letter,
            line: Line::of(change.grade.letter),
            apart: change.is_apart(),
            claim: change.claim.clone(),
            bundle: change.bundle.iter().map(|part| part.part).collect(),
            ..self.blank(
                Measure::Change,
                tested,
                job,
                self.wall(change.to.assembly)?,
                change.unit,
                value,
                variance,
            )
        };
        let far_off =
            matches!(&change.claim, Claim::NoClaim(reasons) if reasons.contains(&NoClaim::PositionFarOff));
        Some(Single { row, limit_db: change.limit_db, far_off })
    }

    fn levels_of(&self, tested: &TestFinding) -> Vec<Single> {
        let mut singles = Vec::new();
        for group in &tested.groups {
            let mut place: BTreeMap<(Option<RecordId>, RecordId), usize> = BTreeMap::new();
            let mut standing: Vec<&SetFinding> = Vec::new();
            for set in group.usable().filter(|set| set.level_difference.is_some()) {
                let Some(assembly) = set.assembly else { continue };
                let at = *place.entry((set.job, assembly)).or_insert(standing.len());
                match standing.get(at) {
                    None => standing.push(set),
                    Some(earlier) if test_finding::is_exact(set) || !test_finding::is_exact(earlier) => {
                        standing[at] = set;
                    }
                    Some(_) => (),
                }
            }
            singles.extend(standing.into_iter().filter_map(|set| self.level_row(tested, set)));
        }
        singles
    }

    fn level_row(&self, tested: &TestFinding, set: &SetFinding) -> Option<Single> {
        let (u_db, dof) = self.level_u_db(set).map_or((None, None), |(u_db, dof)| (Some(u_db), dof));
        // Compared with itself, so that positions, background and conditions are judged as in a change.
        let grade = change::between(self, set, set, None).grade.letter;
        let value = set.level_difference?;
        let variance = u_db.map(|u_db| u_db * u_db);
        let row = Row {
            sets: vec![set.label.clone()],
            set_ids: vec![set.set],
            dof,
            grade,
            line: Line::of(grade),
            apart: flags::has(&set.flags, Flag::OpeningLimited),
            ..self.blank(Measure::Level, tested, set.job, self.wall(set.assembly)?, set.unit, value, variance)
        };
        Some(Single { row, limit_db: rules::SMALLEST_CLAIM_DB, far_off: false })
    }

    /// Standard uncertainty of the level difference of one set, dB, and its degrees of freedom; see [`Self::rows`].
    fn level_u_db(&self, set: &SetFinding) -> Option<(f64, Option<f64>)> {
        let receive = set.receive.as_ref()?;
        let (spreads, unit) = (self.spreads(), set.unit?);
        let scatter = match spreads.scatter.get(&unit) {
            Some(pooled) => {
                let n = receive.positions.len() as f64;
                Term::new(pooled.sd_db / (2.0 * n).sqrt(), dof(pooled.dof))
            }
            None => {
                let levels_db: Vec<f64> = receive.positions.iter().map(|place| place.level_db).collect();
                let mean = decibels::energy_mean(&levels_db).ok()?.estimate().ok()?;
                Term::new(mean.u(), mean.dof())
            }
        };
        let around = spreads.repeats.get(&unit).map_or_else(
            || Term::new((rules::SETUP_U_DB.hypot(rules::DAY_U_DB)) / 2f64.sqrt(), Dof::INFINITE),
            |repeats| Term::new(repeats.sd_db, dof(repeats.dof)),
        );
        let combined = combine(&[scatter, around]).ok()?;
        Some((combined.u, combined.dof.ok().and_then(Dof::finite)))
    }

    /// What every row has, from one test.
    #[expect(clippy::too_many_arguments, reason = "one for each field that both tables fill")]
    fn blank(
        &self,
        measure: Measure,
        tested: &TestFinding,
        job: Option<RecordId>,
        after: Wall,
        unit: Option<Unit>,
        value: Estimate,
        variance: Option<f64>,
    ) -> Row {
        let variance = variance.filter(|variance| variance.is_finite() && *variance > 0.0);
        Row {
            measure,
            span: Span::Whole,
            job,
            job_label: self.job_label(job),
            before: None,
            after,
            unit,
            tests: vec![tested.label.clone()],
            sets: Vec::new(),
            test_ids: vec![tested.test],
            set_ids: Vec::new(),
            value,
            variance,
            dof: None,
            merged: variance.map(|variance| (value.value, variance)).into_iter().collect(),
            grade: Letter::D,
            line: Line::Never,
            apart: false,
            claim: Claim::Undetermined,
            bundle: Vec::new(),
            cost: job.and_then(|job| self.costs.jobs.get(&job)).cloned(),
            aside: Vec::new(),
        }
    }

    pub(super) fn is_control(&self, set: &SetFinding) -> bool {
        self.book.sets.get(set.set).is_some_and(|set| set.control == Some(true))
    }
}

/// Tests of level differences of walls, oldest first.
pub(super) fn wall_tests<'f>(joins: &'f Findings<'_>) -> impl Iterator<Item = &'f Test> {
    joins.book.tests.live().filter(|test| is_wall_test(test))
}

/// The tests of level differences of walls that sets stand in, oldest first.
fn wall_tests_of<'f>(joins: &'f Findings<'_>, sets: impl Iterator<Item = &'f SetFinding>) -> Vec<&'f Test> {
    let mut tests: Vec<RecordId> = sets.filter_map(|set| set.test).collect();
    tests.sort_unstable();
    tests.dedup();
    tests
        .into_iter()
        .filter_map(|test| joins.book.tests.get(test))
        .filter(|test| is_wall_test(test))
        .collect()
}

/// Whether a test is of level differences of walls and was not struck.
fn is_wall_test(test: &Test) -> bool {
    let is_level = matches!(test.measures.as_deref(), None | Some("level-difference"));
    is_level && test.bench_rig != Some(true) && test.meta.struck.is_none()
}

/// What a wall is matched by; a part nobody wrote down would be taken for none.
fn key_of(assembly: &Assembly) -> Option<MatchKey> {
    let parts = Parts::of(assembly).ok()?;
    let unknown = matches!(parts.frame, Frame::Unknown | Frame::None)
        || parts.cavity == Cavity::Unknown
        || parts.leaf_a == Leaf::Unknown
        || parts.leaf_b == Leaf::Unknown;
    (!unknown && assembly.element.as_deref() != Some("panel")).then(|| parts.key())
}

/// Sets without those that come back to an earlier wall: these check for drift and show no rebuild.
fn without_returns<'s>(sets: &[&'s SetFinding]) -> Vec<&'s SetFinding> {
    let mut walls: Vec<&SetFinding> = Vec::new();
    let mut kept = Vec::new();
    for set in sets {
        match walls.iter().position(|wall| !test_finding::is_other_wall(wall, set)) {
            None => walls.push(set),
            Some(place) if place + 1 == walls.len() => (),
            Some(_) => continue,
        }
        kept.push(*set);
    }
    kept
}

/// The jobs of sets, in the order they come.
fn jobs_of(sets: &[&SetFinding]) -> Vec<Option<RecordId>> {
    let mut jobs: Vec<Option<RecordId>> = Vec::new();
    for set in sets {
        if !jobs.contains(&set.job) {
            jobs.push(set.job);
        }
    }
    jobs
}

fn dof(value: f64) -> Dof {
    Dof::new(value).unwrap_or(Dof::INFINITE)
}

/// Joins what one job's tests and directions showed of one wall or rebuild; at least one.
fn merge(singles: Vec<Single>) -> Row {
    let best = singles.iter().map(|single| single.row.line).min();
    let some_known =
        singles.iter().any(|single| Some(single.row.line) == best && single.row.variance.is_some());
    let mut aside = Vec::new();
    let mut standing: Vec<Single> = Vec::new();
    for single in singles {
        let why = if Some(single.row.line) != best {
            Some(LOWER_GRADE)
        } else if some_known && single.row.variance.is_none() {
            Some(NO_SPREAD)
        } else {
            None
        };
        match why {
            Some(why) => {
                let test = single.row.tests.join(", ");
                aside.push(Aside { test, sets: single.row.set_ids, why });
            }
            None => standing.push(single),
        }
    }
    let limit_db = standing.iter().map(|single| single.limit_db).fold(0.0, f64::max);
    let far_off = standing.iter().any(|single| single.far_off);
    let mut rows = standing.into_iter().map(|single| single.row);
    let first = rows.next().expect("a group holds at least one row, and the best of it stands");
    let rest: Vec<Row> = rows.collect();
    let mut row = if rest.is_empty() { first } else { joined(first, rest, limit_db, far_off) };
    row.aside = aside;
    row
}

/// The mean of several rows of one wall with the variance of correlated errors.
fn joined(mut row: Row, rest: Vec<Row>, limit_db: f64, far_off: bool) -> Row {
    let values: Vec<f64> = std::iter::once(&row).chain(&rest).map(|row| row.value.value).collect();
    for other in rest {
        row.value.bound = row.value.bound.plus(other.value.bound);
        row.dof = [row.dof, other.dof].into_iter().flatten().reduce(f64::min);
        row.grade = row.grade.max(other.grade);
        row.apart |= other.apart;
        row.merged.extend(other.merged);
        add_new(&mut row.tests, other.tests);
        add_new(&mut row.test_ids, other.test_ids);
        add_new(&mut row.sets, other.sets);
        add_new(&mut row.set_ids, other.set_ids);
        add_new(&mut row.bundle, other.bundle);
    }
    row.value.value = sample::moments(&values).map_or(row.value.value, |moments| moments.mean);
    row.variance =
        merged_variance(&row.merged, TESTS_CORRELATION).filter(|_| row.merged.len() == values.len());
    if row.measure == Measure::Change {
        row.claim = claim_of(&row, limit_db, far_off);
    }
    row
}

/// The variance of the mean of tests whose errors are correlated.
pub(crate) fn merged_variance(tests: &[(f64, f64)], correlation: f64) -> Option<f64> {
    let (values, variances): (Vec<f64>, Vec<f64>) = tests.iter().copied().unzip();
    let tests = Jobs::new(&values, &variances).ok()?;
    jobs::merge_tests(&tests, correlation).ok().map(|(_, variance)| variance)
}

fn claim_of(row: &Row, limit_db: f64, far_off: bool) -> Claim {
    let value = Some(row.value).filter(|value| value.bound != Sense::Undetermined);
    let claim = change::claim(value, interval_of(row).as_ref(), limit_db);
    match claim {
        Claim::Undetermined => claim,
        Claim::NoClaim(reasons) if far_off => {
            Claim::NoClaim(reasons.into_iter().chain([NoClaim::PositionFarOff]).collect())
        }
        _ if far_off => Claim::NoClaim(vec![NoClaim::PositionFarOff]),
        claim => claim,
    }
}

/// The interval of a row by itself, at 95 %; `None` where nothing says how far off it is.
pub fn interval_of(row: &Row) -> Option<Interval> {
    let u_db = row.variance?.sqrt();
    let combined = combine(&[Term::new(u_db, dof(row.dof.unwrap_or(f64::INFINITY)))]).ok()?;
    combined.interval(row.value.value, Confidence::P95).ok().map(Interval::from)
}

fn add_new<T: PartialEq>(to: &mut Vec<T>, from: Vec<T>) {
    for one in from {
        if !to.contains(&one) {
            to.push(one);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use crate::print;

    fn lines(rows: &[Row]) -> Vec<String> {
        rows.iter()
            .map(|row| {
                let sign = match row.measure {
                    Measure::Change => print::signed(row.value.value, 1),
                    Measure::Level => print::decimals(row.value.value, 1),
                };
                let before = row.before.as_ref().map_or(String::new(), |wall| format!("{} ", wall.label));
                let sets = row.sets.join(" ");
                format!(
                    "{} {before}{} [{sets}] {sign} {} {:?}",
                    row.job_label, row.after.label, row.grade, row.span
                )
            })
            .collect()
    }

    #[test]
    fn changes_of_the_demo_are_one_row_for_each_job_and_rebuild() {
        let book = fixture::demo();
        let rows = Findings::new(&book).rows(Measure::Change);
        // Demo scenario, invented. A02 stands between A01 and A03 with studs showing; the reverse way of J2 starts from a
        // wall the job did not find, so it is no change of J2 alone.
        let expected = [
            "J1 A01 A03 [T01 T04] +0.8 B Whole",
            "J1 A01 A02 [T01 T03] -2.2 D Step",
            "J1 A02 A03 [T03 T04] +3.1 D Step",
            "J2 A03 A04 [T04 T05] +10.4 B Whole",
            "J3 A05 A07 [T10 T13] +5.9 B Whole",
            "J3 A05 A06 [T10 T11] +3.2 B Step",
            "J3 A06 A07 [T11 T13] +2.7 B Step",
            "J4 A08 A10 [T14 T16] +6.7 B Whole",
            "J4 A08 A09 [T14 T15] +3.9 B Step",
            "J4 A09 A10 [T15 T16] +2.8 B Step",
            "J5 A11 A12 [T17 T18] +0.1 D Whole",
        ];
        assert_eq!(lines(&rows), expected);
    }

    #[test]
    fn levels_of_the_demo_are_one_row_for_each_job_and_wall() {
        let book = fixture::demo();
        let rows = Findings::new(&book).rows(Measure::Level);
        // Demo scenario, invented. Both ways of one wall are one row; T07 stands for T06, which is only a bound.
        let expected = [
            "J1 A01 [T01 T02] 24.7 B Whole",
            "J1 A02 [T03] 22.6 C Whole",
            "J1 A03 [T04] 25.7 B Whole",
            "J2 A04 [T05 T07] 36.2 B Whole",
            "J1 A01 [T08] 15.6 B Whole",
            "J2 A04 [T09] 20.0 B Whole",
            "J3 A05 [T10] 41.6 B Whole",
            "J3 A06 [T11] 44.8 B Whole",
            "J3 A07 [T13] 47.5 B Whole",
            "J4 A08 [T14] 30.9 B Whole",
            "J4 A09 [T15] 34.8 B Whole",
            "J4 A10 [T16] 37.5 B Whole",
            "J5 A11 [T17] 14.4 C Whole",
            "J5 A12 [T18] 14.5 B Whole",
        ];
        assert_eq!(lines(&rows), expected);
    }

    /// Jobs of the book and none.
    fn jobs(book: &storypole_notebook::Book) -> Vec<Option<RecordId>> {
        book.jobs.all().map(|job| Some(job.id)).chain([None]).collect()
    }

    fn assert_jobs_make_the_table(book: &storypole_notebook::Book, least: usize) {
        for measure in [Measure::Change, Measure::Level] {
            let all = Findings::new(book).rows(measure);
            assert!(all.len() >= least, "{} rows", all.len());
            let mut count = 0;
            for job in jobs(book) {
                let of_job = Findings::new(book).rows_of_job(measure, job);
                let expected: Vec<Row> = all.iter().filter(|row| row.job == job).cloned().collect();
                assert_eq!(of_job, expected, "{measure:?} of {job:?}");
                count += of_job.len();
            }
            for wall in book.assemblies.all() {
                let of_wall = Findings::new(book).rows_of_assembly(measure, wall.id);
                let expected: Vec<Row> =
                    all.iter().filter(|row| row.after.assembly == wall.id).cloned().collect();
                assert_eq!(of_wall, expected, "{measure:?} of {:?}", wall.label);
            }
            assert_eq!(count, all.len(), "every row belongs to one job or to none");
        }
    }

    #[test]
    fn rows_of_every_job_together_are_all_rows() {
        let mut builder = fixture::builder();
        // Sets that name no job, beside others of their test that do.
        for set in ["T17", "T08"] {
            builder.store_none("set", set, "job");
        }
        assert_jobs_make_the_table(&fixture::demo(), 11);
        assert_jobs_make_the_table(&builder.book, 9);
        assert_jobs_make_the_table(&super::super::invented::jobs(5).book, 5);
        let struck = storypole_notebook::Meta { struck: Some("wrong wall".into()), ..Default::default() };
        builder.mark("test", "Q2", struck);
        assert_jobs_make_the_table(&builder.book, 7);
    }

    #[test]
    fn other_jobs_are_not_worked_out_for_the_rows_of_one() {
        let book = super::super::invented::jobs(5).book;
        let kept = crate::Kept::new(&book, crate::Told::default());
        let findings = Findings::of(&book, &kept);
        assert_eq!(findings.rows_of_job(Measure::Level, Some(super::super::invented::job(2))).len(), 2);
        assert_eq!(kept.worked_out(), 1, "one test has sets of that job");
    }

    #[test]
    fn a_set_in_results_has_a_row_of_its_own() {
        let book = fixture::demo();
        let findings = Findings::new(&book);
        let value =
            |set| findings.row_of_set(fixture::id("set", set)).map(|row| print::decimals(row.value.value, 1));
        // Demo scenario, invented: T12 is out because a window stood ajar, T20 was taken on a bench rig, T26 is of temperatures.
        assert_eq!(value("T13").as_deref(), Some("47.5"));
        assert_eq!(value("T06").as_deref(), Some("36.2"));
        for out in ["T12", "T20", "T26"] {
            assert_eq!(value(out), None, "{out}");
        }
        let alone = findings.rows(Measure::Level).into_iter().find(|row| row.sets == ["T13"]).unwrap();
        assert_eq!(findings.row_of_set(fixture::id("set", "T13")), Some(alone));
    }

    #[test]
    fn one_set_carries_half_the_variance_of_a_change() {
        let builder = super::super::invented::jobs(3);
        let findings = Findings::new(&builder.book);
        let variance = |measure| findings.rows(measure)[0].variance.unwrap();
        assert!((2.0 * variance(Measure::Level) - variance(Measure::Change)).abs() < 1e-12);
        // One job alone: the set's own four levels, 60.0, 60.4, 59.8 and 60.2, with half of 0.4 and 0.3 dB squared. Computed
        // independently with numpy 2.4: u = (10/ln 10)·s/(2·mean) of their powers, degrees of freedom by Welch and Satterthwaite.
        let builder = super::super::invented::jobs(1);
        let row = &Findings::new(&builder.book).rows(Measure::Level)[0];
        assert!((row.variance.unwrap() - 0.141_653_716_98).abs() < 1e-9, "{row:?}");
        assert!((row.dof.unwrap() - 217.047_528_49).abs() < 1e-5, "{row:?}");
    }
}
