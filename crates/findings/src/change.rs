//! Two sets against each other: what changed, how sure that is, whether it may be claimed, and what it belongs to.
//!
//! Leaves out which sets are compared: see [`mod@crate::test_finding`].

#[cfg(test)]
mod edges;
pub(crate) mod graded;
mod positions;

use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::assembly::Leaf;
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::Parts;

use crate::bands::{self, BandChange};
use crate::budget::{Around, Budget, Interval, Pooled, Scatter};
use crate::compared::Compared;
use crate::control::{self, Controlled, Tested};
use crate::flags::{self, Effect, Flag, Raised};
use crate::grade::{Cover, Drift, Grade};
use crate::paths::{self, Prediction};
use crate::set_finding::{Absent, Direction, Estimate, SetFinding};
use crate::spreads::Spreads;
use crate::{Findings, print, rules, words};

pub use positions::{Dominant, OddPosition, PositionChange};

/// A set named in a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetRef {
    /// The set.
    pub set: RecordId,
    /// Its label.
    pub label: String,
    /// Its assembly version.
    pub assembly: Option<RecordId>,
    /// Label of the assembly.
    pub assembly_label: String,
    /// The job it was taken in.
    pub job: Option<RecordId>,
}

/// One part of the wall that differs between the two versions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundlePart {
    /// Which part.
    pub part: &'static str,
    /// As it was, in notation.
    pub before: String,
    /// As it is.
    pub after: String,
}

/// Why a change is not claimed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoClaim {
    /// It is too small.
    #[error("under {limit_db} dB")]
    TooSmall {
        /// The least that is claimed, dB.
        limit_db: f64,
    },
    /// It could be nothing.
    #[error("the interval includes zero")]
    IncludesZero,
    /// Nothing says how far off it is.
    #[error("there is no interval")]
    NoInterval,
    /// A slip of one reading would make or hide the change.
    #[error("a position is far from the others: check it")]
    PositionFarOff,
    /// An untouched wall beside it changed too.
    #[error("the untouched wall beside it changed too: find out why")]
    ControlMoved,
    /// The days and the stages of the sets say opposite things.
    #[error("the set called before is dated after the other: correct the date or the stage")]
    StagesOutOfOrder,
}

/// Whether a change may be claimed.
#[derive(Debug, Clone, PartialEq)]
pub enum Claim {
    /// It may.
    Claimed,
    /// It is at least as large as stated, and that may be claimed.
    AtLeast,
    /// It is at most as large as stated.
    AtMost,
    /// It may not.
    NoClaim(Vec<NoClaim>),
    /// Both results are bounds, or there is no number.
    Undetermined,
}

impl Claim {
    /// Whether a number may be claimed.
    pub fn holds(&self) -> bool {
        matches!(self, Self::Claimed | Self::AtLeast)
    }

    /// The verdict in a word, for tables.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Claimed => "claimed",
            Self::AtLeast => "at least",
            Self::AtMost => "at most",
            Self::NoClaim(_) => "no claim",
            Self::Undetermined => "undetermined",
        }
    }
}

/// What lies between two sets.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The first set.
    pub from: SetRef,
    /// The second set.
    pub to: SetRef,
    /// Which way the sound went.
    pub direction: Direction,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// Level difference of the first set on the compared positions.
    pub before: Option<Estimate>,
    /// Level difference of the second set on the compared positions.
    pub after: Option<Estimate>,
    /// After minus before, by energy; positive is quieter in the receiving room.
    pub value: Option<Estimate>,
    /// Why there is no number.
    pub absent: Option<Absent>,
    /// Mean of the differences by position, dB.
    pub position_mean_db: Option<f64>,
    /// What each position changed.
    pub by_position: Vec<PositionChange>,
    /// A position that changed unlike the others, with both lines.
    pub odd: Option<OddPosition>,
    /// A position that holds nearly all the sound.
    pub dominant: Option<Dominant>,
    /// Positions compared, by label.
    pub compared_on: Vec<String>,
    /// Positions only one of the sets has, by label.
    pub left_off: Vec<String>,
    /// Runs before and after, on a bench rig.
    pub runs: Option<(usize, usize)>,
    /// Loudest minus quietest receive position of the first and of the second set, dB.
    pub spreads_db: (f64, f64),
    /// Standard deviation of the positions' influences on the change, dB.
    pub scatter_db: Option<f64>,
    /// The interval from the scatter of these positions alone: how well this one comparison is known.
    pub position_interval: Option<Interval>,
    /// By frequency band, where both sets have bands.
    pub bands: Option<BandChange>,
    /// What makes it uncertain.
    pub budget: Budget,
    /// The interval of the full budget.
    pub interval: Option<Interval>,
    /// Share of that interval which two more positions would leave, where there are only two.
    pub two_more_leave: Option<f64>,
    /// What an untouched wall changed over the same time, and the change less that.
    pub control: Option<Controlled>,
    /// Least change that is claimed, dB.
    pub limit_db: f64,
    /// Whether it may be claimed.
    pub claim: Claim,
    /// The source room was not measured in both sets.
    pub receive_only: bool,
    /// Studs were showing in one of the sets, or in both.
    pub open_studs: bool,
    /// Parts of the wall that differ: the change belongs to all of them together.
    pub bundle: Vec<BundlePart>,
    /// What the formula for wall and openings gives before and after.
    pub predicted: (Option<Prediction>, Option<Prediction>),
    /// Whether most of the sound came through an opening, before and after.
    pub opening_limits: [bool; 2],
    /// Flags of both sets and of the comparison.
    pub flags: Vec<Raised>,
    /// How good the comparison was.
    pub grade: Grade,
    /// The headline, in plain words.
    pub sentence: String,
    /// The numbers in one line.
    pub numbers: String,
    /// What to know beside it.
    pub beside: String,
}

impl Change {
    /// Whether the two averages differ enough that both are shown.
    pub fn averages_differ(&self) -> bool {
        match (self.value, self.position_mean_db) {
            (Some(value), Some(mean)) => (value.value - mean).abs() > rules::AVERAGES_DIFFER_DB,
            _ => false,
        }
    }

    /// Whether it is kept apart from walls without a weak opening.
    pub fn is_apart(&self) -> bool {
        self.flags.iter().any(|raised| raised.flag.effect() == Effect::Apart)
    }

    /// What the formula gives over both states, dB, where an opening limits them.
    pub fn formula(&self) -> Option<(f64, f64)> {
        let (before, after) = (self.predicted.0?, self.predicted.1?);
        self.is_apart().then(|| (before.low_db.min(after.low_db), before.high_db.max(after.high_db)))
    }
}

/// Compares two sets of one direction and weighting.
///
/// `drift_db` is the change seen when the first state was measured again, where that was done.
pub(crate) fn between(
    joins: &Findings<'_>,
    first: &SetFinding,
    second: &SetFinding,
    drift_db: Option<f64>,
) -> Change {
    let compared = match (&first.runs, &second.runs) {
        (Some(before), Some(after)) => Compared::of_runs(&before.values_db, &after.values_db),
        _ => Compared::of_positions(first, second),
    };
    let value = compared.value();
    let Judged { unit, budget, control, interval, two_more_leave, limit_db } =
        judged(joins, first, second, &compared);
    let assemblies = [first.assembly, second.assembly].map(|assembly| joins.book.assemblies.of(assembly));
    let checked = control.as_ref().and_then(Controlled::drift_db).map(Drift::ControlWall);
    let drift = drift_db.map(Drift::FirstAgain).or(checked);
    let doubts = doubts(joins, first, second, control.as_ref());
    let odd = positions::odd(&compared);
    let mut change = Change {
        from: SetRef::of(first),
        to: SetRef::of(second),
        direction: second.direction.clone(),
        unit,
        before: compared.before,
        after: compared.after,
        value,
        absent: compared.absent,
        position_mean_db: compared.position_mean_db,
        by_position: positions::by_position(&compared),
        dominant: positions::dominant(&compared, [&first.label, &second.label]),
        left_off: left_off(first, second, &compared.labels),
        compared_on: compared.labels.clone(),
        runs: compared.runs,
        spreads_db: (spread_db(first), spread_db(second)),
        scatter_db: compared.scatter_db,
        position_interval: compared.interval,
        bands: first
            .bands
            .as_ref()
            .zip(second.bands.as_ref())
            .and_then(|(one, two)| bands::between(one, two)),
        limit_db,
        claim: unless_doubted(claim(value, interval.as_ref(), limit_db), doubts),
        interval,
        two_more_leave,
        budget,
        control,
        receive_only: compared.receive_only,
        open_studs: assemblies.iter().any(|assembly| cover(*assembly) == Cover::Open)
            && compared.runs.is_none(),
        bundle: bundle(assemblies[0], assemblies[1]),
        predicted: (predicted(assemblies[0]), predicted(assemblies[1])),
        opening_limits: [first, second].map(|set| flags::has(&set.flags, Flag::OpeningLimited)),
        flags: all_flags(first, second, odd.as_ref()),
        odd,
        grade: graded::graded(joins, first, second, &compared, drift),
        sentence: String::new(),
        numbers: String::new(),
        beside: String::new(),
    };
    graded::cap_by_flags(&mut change);
    change.sentence = words::headline(&change);
    change.numbers = words::numbers(&change);
    change.beside = words::beside(&change);
    change
}

/// How sure a change is.
struct Judged {
    unit: Option<Unit>,
    budget: Budget,
    control: Option<Controlled>,
    interval: Option<Interval>,
    two_more_leave: Option<f64>,
    limit_db: f64,
}

fn judged(joins: &Findings<'_>, first: &SetFinding, second: &SetFinding, compared: &Compared) -> Judged {
    let spreads = joins.spreads();
    let unit = second.unit.or(first.unit);
    let same_day = first.date.is_some() && first.date == second.date;
    let around = around(spreads, unit, compared.runs.is_some(), same_day);
    let scatter_of = |compared: &Compared, first: &SetFinding, second: &SetFinding| {
        let pooled = unit.and_then(|unit| spreads.scatter.get(&unit)).filter(|_| compared.runs.is_none());
        scatter(compared, pooled, joins.step_db(first, second))
    };
    let scatter = scatter_of(compared, first, second);
    let budget = Budget::of(scatter, around);
    let interval = compared.value().and_then(|value| budget.interval(value.value));
    let interval = interval.map(|interval| no_narrower(interval, compared, &budget));
    let two_more_leave = interval
        .filter(|_| !budget.pooled)
        .and_then(|interval| two_more_leave(interval, compared, joins.step_db(first, second), around));
    let tested = Tested { first, second, compared, scatter, around };
    Judged {
        unit,
        control: control::beside(joins, &tested, scatter_of),
        limit_db: limit_db(compared, unit, spreads),
        budget,
        interval,
        two_more_leave,
    }
}

/// Widens an interval to that of the positions alone: with two or three of them the joint degrees of freedom make the whole
/// narrower than its part.
pub(crate) fn no_narrower(interval: Interval, compared: &Compared, budget: &Budget) -> Interval {
    compared.interval.filter(|_| !budget.pooled).map_or(interval, |own| interval.around_both(own))
}

/// Share of the interval from two positions that four with the same spread would leave.
fn two_more_leave(interval: Interval, compared: &Compared, step_db: f64, around: Around) -> Option<f64> {
    if compared.labels.len() != 2 {
        return None;
    }
    let scatter = Scatter::own(compared.scatter_db?, 4, step_db)?;
    let joint = Budget::of(Some(scatter), around).interval(0.0)?;
    let alone = scatter.interval(0.0);
    let half_width = alone.map_or(0.0, |alone| alone.half_width()).max(joint.half_width());
    // Where positions do not scatter two more gain nothing, and nothing is said of them.
    Some(half_width / interval.half_width()).filter(|left| *left < 1.0 - 1e-9)
}

impl SetRef {
    /// Names a set.
    pub(crate) fn of(finding: &SetFinding) -> Self {
        Self {
            set: finding.set,
            label: finding.label.clone(),
            assembly: finding.assembly,
            assembly_label: finding.assembly_label.clone(),
            job: finding.job,
        }
    }
}

fn spread_db(finding: &SetFinding) -> f64 {
    finding.receive.as_ref().map_or(0.0, |side| side.spread_db)
}

fn left_off(first: &SetFinding, second: &SetFinding, compared: &[String]) -> Vec<String> {
    let mut labels: Vec<String> = [first, second]
        .into_iter()
        .filter_map(|set| set.receive.as_ref())
        .flat_map(|side| side.positions.iter().map(|place| place.label.clone()))
        .filter(|label| !compared.contains(label))
        .collect();
    labels.sort();
    labels.dedup();
    labels
}

fn scatter(compared: &Compared, pooled: Option<&Pooled>, step_db: f64) -> Option<Scatter> {
    if compared.runs.is_some() {
        let (u_db, dof) = compared.u_db?;
        return Some(Scatter {
            u_db,
            dof,
            step_db: (u_db < step_db).then_some(step_db),
            pooled: false,
            of: "runs",
        });
    }
    let n = compared.labels.len();
    match pooled {
        Some(pooled) if n > 0 => Some(Scatter::from_pooled(*pooled, n, step_db)),
        _ => Scatter::own(compared.scatter_db?, n, step_db),
    }
}

fn around(spreads: &Spreads, unit: Option<Unit>, is_bench: bool, same_day: bool) -> Around {
    // Runs of one panel on one day share the day.
    if is_bench {
        return if same_day { Around::Setup } else { Around::SetupAndDay };
    }
    let repeats = unit.and_then(|unit| spreads.repeats.get(&unit));
    repeats.map_or(Around::SetupAndDay, |repeats| Around::OwnRepeats(*repeats))
}

fn limit_db(compared: &Compared, unit: Option<Unit>, spreads: &Spreads) -> f64 {
    let own = unit.and_then(|unit| spreads.repeats.get(&unit)).map(|repeats| repeats.sd_db);
    let repeats_db = compared.repeats_sd_db.or(own.filter(|_| compared.runs.is_none())).unwrap_or(0.0);
    rules::SMALLEST_CLAIM_DB.max(rules::REPEAT_FACTOR * repeats_db)
}

/// Decides whether a change may be claimed.
pub(crate) fn claim(value: Option<Estimate>, interval: Option<&Interval>, limit_db: f64) -> Claim {
    let Some(value) = value else { return Claim::Undetermined };
    match value.bound {
        Sense::Undetermined => return Claim::Undetermined,
        Sense::AtMost => return Claim::AtMost,
        Sense::Exact | Sense::AtLeast => (),
    }
    // A lower bound below zero shows nothing, however far below.
    let size_db = if value.bound == Sense::AtLeast { value.value } else { value.value.abs() };
    let mut reasons = Vec::new();
    if size_db < limit_db {
        reasons.push(NoClaim::TooSmall { limit_db });
    }
    match interval {
        None => reasons.push(NoClaim::NoInterval),
        Some(interval) if !interval.excludes_zero() => reasons.push(NoClaim::IncludesZero),
        Some(_) => (),
    }
    match (reasons.is_empty(), value.bound) {
        (false, _) => Claim::NoClaim(reasons),
        (true, Sense::AtLeast) => Claim::AtLeast,
        (true, _) => Claim::Claimed,
    }
}

/// Why nothing may be claimed whatever the numbers say, until a person has looked.
fn doubts(
    joins: &Findings<'_>,
    first: &SetFinding,
    second: &SetFinding,
    control: Option<&Controlled>,
) -> Vec<NoClaim> {
    let is_off = |set: &SetFinding| !set.included && flags::has(&set.flags, Flag::PositionOutlier);
    let mut doubts = Vec::new();
    // An odd difference alone is often the finding itself, a leak at one spot: it lowers the grade, no more.
    if is_off(first) || is_off(second) {
        doubts.push(NoClaim::PositionFarOff);
    }
    if control.is_some_and(Controlled::stops_claim) {
        doubts.push(NoClaim::ControlMoved);
    }
    if is_out_of_order(joins, first, second) {
        doubts.push(NoClaim::StagesOutOfOrder);
    }
    doubts
}

/// Whether a set called before is dated after a later stage of the same job, though its wall did not replace that one.
fn is_out_of_order(joins: &Findings<'_>, first: &SetFinding, second: &SetFinding) -> bool {
    let is_later =
        matches!(first.stage.as_deref(), Some("open-studs" | "filled" | "boarded" | "finished" | "after"));
    let replaces = joins.book.assemblies.of(second.assembly).and_then(|wall| wall.replaces);
    let follows =
        second.assembly.is_some() && (replaces == first.assembly || second.assembly == first.assembly);
    second.stage.as_deref() == Some("before")
        && is_later
        && first.job == second.job
        && first.date.is_some()
        && first.date < second.date
        && !(follows && first.assembly.is_some())
}

/// Takes a claim back while there are doubts.
fn unless_doubted(claim: Claim, doubts: Vec<NoClaim>) -> Claim {
    if doubts.is_empty() {
        return claim;
    }
    match claim {
        Claim::Undetermined => claim,
        Claim::Claimed | Claim::AtLeast | Claim::AtMost => Claim::NoClaim(doubts),
        Claim::NoClaim(reasons) => Claim::NoClaim(reasons.into_iter().chain(doubts).collect()),
    }
}

/// Which parts differ between two versions of a wall.
pub fn bundle(before: Option<&Assembly>, after: Option<&Assembly>) -> Vec<BundlePart> {
    let (Some(before), Some(after)) = (before, after) else { return Vec::new() };
    let parts = |assembly: &Assembly| -> [(&'static str, Option<String>); 6] {
        [
            ("leaf A", assembly.leaf_a.clone()),
            ("frame", assembly.frame.clone()),
            ("cavity", assembly.cavity.clone()),
            ("leaf B", assembly.leaf_b.clone()),
            ("openings", assembly.openings.clone()),
            ("seals", assembly.seals.clone()),
        ]
    };
    let words = |part: Option<String>| part.unwrap_or_else(|| "unknown".to_owned());
    let pairs = parts(before).into_iter().zip(parts(after));
    pairs
        .filter(|((_, before), (_, after))| before != after)
        .map(|((part, before), (_, after))| BundlePart { part, before: words(before), after: words(after) })
        .collect()
}

/// Whether the studs of a wall were covered.
pub fn cover(assembly: Option<&Assembly>) -> Cover {
    let Some(assembly) = assembly else { return Cover::Unknown };
    // All parts are read only where a leaf is written to be none: most walls have both, and this is asked often.
    let is_none = |leaf: &Option<String>| leaf.as_deref().is_some_and(|leaf| leaf.trim() == "none");
    let is_bare = || {
        [&assembly.leaf_a, &assembly.leaf_b].into_iter().any(is_none)
            && Parts::of(assembly).is_ok_and(|parts| parts.leaf_a == Leaf::None || parts.leaf_b == Leaf::None)
    };
    match assembly.state.as_deref() {
        Some("bare-studs" | "boarded-a") => Cover::Open,
        Some(_) if is_bare() => Cover::Open,
        Some("boarded-both" | "finished") => Cover::Covered,
        _ => Cover::Unknown,
    }
}

fn predicted(assembly: Option<&Assembly>) -> Option<Prediction> {
    paths::path_shares(assembly?)?.predicted
}

fn all_flags(first: &SetFinding, second: &SetFinding, odd: Option<&OddPosition>) -> Vec<Raised> {
    let named = |set: &SetFinding| {
        let label = set.label.clone();
        set.flags
            .iter()
            .map(move |raised| Raised::new(raised.flag, format!("{label}: {}", raised.words)))
            .collect::<Vec<_>>()
    };
    let mut flags: Vec<Raised> = named(first);
    if second.set != first.set {
        flags.extend(named(second));
    }
    flags.extend(odd.map(|odd| {
        let off = print::decimals(odd.off_db.abs(), 1);
        let words = format!("{} changed {off} dB unlike the others: door, gap, outlet?", odd.label);
        Raised::new(Flag::PositionOutlier, words)
    }));
    flags.sort();
    flags.dedup();
    flags
}

/// Two results side by side: whether they can be told apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// Second minus first, dB.
    pub difference_db: f64,
    /// Its interval.
    pub interval: Option<Interval>,
    /// Least difference that tells apart, dB.
    pub limit_db: f64,
    /// Whether they can be told apart.
    pub told_apart: bool,
}

/// Judges the difference of two results.
pub(crate) fn apart(difference_db: f64, interval: Option<Interval>, repeats_sd_db: Option<f64>) -> Apart {
    let limit_db = rules::SMALLEST_APART_DB.max(rules::REPEAT_FACTOR * repeats_sd_db.unwrap_or(0.0));
    let told_apart =
        difference_db.abs() >= limit_db && interval.is_some_and(|interval| interval.excludes_zero());
    Apart { difference_db, interval, limit_db, told_apart }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{self, Builder, SetRow};
    use crate::grade::Letter;

    fn exact(value: f64) -> Option<Estimate> {
        Some(Estimate { value, bound: Sense::Exact })
    }

    #[test]
    fn claims_follow_the_rule() {
        let around = |value: f64, half: f64| Some(Interval { low: value - half, high: value + half });
        let small = NoClaim::TooSmall { limit_db: 2.0 };
        let bound = |value, bound| Some(Estimate { value, bound });
        // Convention of this project: at least max(2 dB, 3 s) and the interval excludes zero.
        let rows = [
            (exact(3.0), around(3.0, 1.0), 2.0, Claim::Claimed),
            (exact(-3.0), around(-3.0, 1.0), 2.0, Claim::Claimed),
            (exact(2.0), around(2.0, 1.0), 2.0, Claim::Claimed),
            (exact(1.9), around(1.9, 1.0), 2.0, Claim::NoClaim(vec![small])),
            (exact(0.8), around(0.8, 1.1), 2.0, Claim::NoClaim(vec![small, NoClaim::IncludesZero])),
            (exact(3.0), around(3.0, 4.0), 2.0, Claim::NoClaim(vec![NoClaim::IncludesZero])),
            (exact(3.0), None, 2.0, Claim::NoClaim(vec![NoClaim::NoInterval])),
            (exact(3.0), around(3.0, 1.0), 3.3, Claim::NoClaim(vec![NoClaim::TooSmall { limit_db: 3.3 }])),
            (bound(11.7, Sense::AtLeast), around(11.7, 1.1), 2.0, Claim::AtLeast),
            (bound(-4.0, Sense::AtLeast), around(-4.0, 1.1), 2.0, Claim::NoClaim(vec![small])),
            (bound(4.0, Sense::AtMost), around(4.0, 1.1), 2.0, Claim::AtMost),
            (bound(4.0, Sense::Undetermined), None, 2.0, Claim::Undetermined),
            (None, None, 2.0, Claim::Undetermined),
        ];
        for (value, interval, limit_db, expected) in rows {
            assert_eq!(claim(value, interval.as_ref(), limit_db), expected, "{value:?}");
        }
    }

    #[test]
    fn results_are_told_apart_by_size_and_interval() {
        let wide = Some(Interval { low: -0.1, high: 3.0 });
        let narrow = Some(Interval { low: 0.9, high: 2.1 });
        for (difference, interval, sd, expected) in [
            (1.5, narrow, None, true),
            (1.5, wide, None, false),
            (0.9, narrow, None, false),
            (1.5, narrow, Some(0.6), false),
            (1.5, None, None, false),
        ] {
            assert_eq!(
                apart(difference, interval, sd).told_apart,
                expected,
                "{difference} {interval:?} {sd:?}"
            );
        }
    }

    const BEFORE: SetRow = SetRow {
        test: "X1",
        label: "S1",
        job: "J1",
        stage: "before",
        date: "2025-03-04",
        assembly: "A08",
        from: "R1",
        to: "R2",
        unit: "dBA",
        source: "90.0 90.0 90.0",
        receive: "64.2 63.1 65.0 62.8 64.5",
        background: "20.0",
    };
    const AFTER: SetRow = SetRow {
        label: "S2",
        stage: "after",
        assembly: "A10",
        receive: "58.9 57.0 60.1 57.9 58.2",
        ..BEFORE
    };

    fn change_of(before: &SetRow, after: &SetRow, more: impl FnOnce(&mut Builder)) -> Change {
        let mut builder = Builder::default();
        builder.test("X1", false);
        builder.set(before);
        builder.set(after);
        more(&mut builder);
        let findings = Findings::new(&builder.book);
        let set = |label: &str| findings.set(fixture::id("set", label)).unwrap();
        between(&findings, set(before.label), set(after.label), None)
    }

    #[test]
    fn position_scatter_matches_an_independent_computation() {
        // Energy difference 5.453, u 0.297, interval 4.63 to 6.28, mean of differences 5.50: computed by two independent
        // routes (mpmath at 40 digits and numeric derivatives of the energy means).
        let change = change_of(&BEFORE, &AFTER, |_| ());
        let interval = change.position_interval.unwrap();
        assert_eq!(print::decimals(change.value.unwrap().value, 3), "5.453");
        assert_eq!(
            (print::decimals(interval.low, 2), print::decimals(interval.high, 2)),
            ("4.63".into(), "6.28".into())
        );
        assert_eq!(print::decimals(change.position_mean_db.unwrap(), 2), "5.50");
        assert!(!change.averages_differ());
        assert!(!change.budget.pooled, "one test is not enough to pool");
        assert_eq!(change.claim, Claim::Claimed);
        let full = change.interval.unwrap();
        assert!(full.low < interval.low && interval.high < full.high, "setup and day widen it");
    }

    #[test]
    fn the_source_level_is_taken_off_each_set() {
        let louder = SetRow { source: "93.0 93.0 93.0", receive: "61.9 60.0 63.1 60.9 61.2", ..AFTER };
        let change = change_of(&BEFORE, &louder, |_| ());
        assert_eq!(print::decimals(change.value.unwrap().value, 3), "5.453");
    }

    #[test]
    fn without_a_source_level_only_the_receive_level_is_compared() {
        let change = change_of(&BEFORE, &SetRow { source: "", ..AFTER }, |_| ());
        assert!(change.receive_only && change.before.is_none());
        assert_eq!(print::decimals(change.value.unwrap().value, 3), "5.453");
        assert!(change.grade.letter >= Letter::C);
        assert!(change.beside.contains("change of the receive level"), "{}", change.beside);
        assert!(change.numbers.contains("receive level only"), "{}", change.numbers);
    }

    #[test]
    fn bounds_are_carried() {
        let loud = |row: SetRow| SetRow { background: "62.0", ..row };
        let rows = [
            (BEFORE, loud(AFTER), Sense::AtLeast, Claim::AtLeast),
            (loud(BEFORE), AFTER, Sense::AtMost, Claim::AtMost),
            (loud(BEFORE), loud(AFTER), Sense::Undetermined, Claim::Undetermined),
        ];
        for (before, after, bound, claim) in rows {
            let change = change_of(&before, &after, |_| ());
            assert_eq!((change.value.unwrap().bound, &change.claim), (bound, &claim), "{}", change.numbers);
            assert!(change.grade.letter >= Letter::C, "a bound has a small margin");
            let said = match bound {
                Sense::AtLeast => "At least ",
                Sense::AtMost => "At most ",
                _ => "Not determined",
            };
            assert!(change.sentence.starts_with(said), "{}", change.sentence);
        }
    }

    #[test]
    fn bounds_that_show_nothing_are_worded_so() {
        let loud = |row: SetRow| SetRow { background: "62.0", ..row };
        let higher = SetRow { receive: "65.2 64.1 66.0 63.8 65.5", ..AFTER };
        let hidden = change_of(&BEFORE, &loud(higher), |_| ());
        assert_eq!(
            hidden.sentence,
            "No change that can be claimed: the room's own noise hid how large it is."
        );
        let worse = SetRow { receive: "70.2 69.1 71.0 68.8 70.5", ..AFTER };
        let capped = change_of(&loud(BEFORE), &worse, |_| ());
        let high = capped.interval.unwrap().high;
        assert_eq!(print::decimals(capped.value.unwrap().value, 1), "-8.0");
        assert!((-8.0..-7.0).contains(&high), "{:?}", capped.interval);
        assert_eq!(capped.sentence, "At least 7 dB worse, measured at 5 spots: the first result is a bound.");
        // A bound may be off as far as any number, and what is under 2 dB is not claimed of it either.
        for (receive, value_db, said) in [
            (
                "63.7 62.6 64.5 62.3 64.0",
                "-1.5",
                "No better, measured at 5 spots: the first result is a bound.",
            ),
            (
                "62.7 61.6 63.5 61.3 63.0",
                "-0.5",
                "At most 1 dB better, measured at 5 spots: the first result is a bound.",
            ),
        ] {
            let capped = change_of(&loud(BEFORE), &SetRow { receive, ..AFTER }, |_| ());
            assert_eq!(print::decimals(capped.value.unwrap().value, 1), value_db, "{:?}", capped.interval);
            assert_eq!(capped.sentence, said);
        }
    }

    #[test]
    fn one_run_each_is_no_number_that_could_have_been_missed() {
        let mut builder = fixture::builder();
        builder.test("X1", true);
        builder.bench_set("X1", "S1", "A11", "before", &[29.0]);
        builder.bench_set("X1", "S2", "A12", "after", &[37.5]);
        let test = crate::test_finding(&builder.book, fixture::id("test", "X1")).unwrap();
        let change = test.headline().unwrap();
        assert_eq!((change.value, change.interval), (exact(8.5), None));
        assert_eq!(
            change.sentence,
            "+8.5 dB over 1 and 1 runs on the bench rig. With so few there is no telling how far off that is: no claim."
        );
    }

    #[test]
    fn one_position_has_no_interval_and_no_claim() {
        let change =
            change_of(&SetRow { receive: "64.2", ..BEFORE }, &SetRow { receive: "58.0", ..AFTER }, |_| ());
        assert_eq!(print::decimals(change.value.unwrap().value, 1), "6.2");
        assert_eq!(
            (change.interval, change.claim.clone()),
            (None, Claim::NoClaim(vec![NoClaim::NoInterval]))
        );
        assert_eq!(change.grade.letter, Letter::D);
        assert!(change.sentence.contains("no telling how far off"), "{}", change.sentence);
    }

    #[test]
    fn nothing_shared_is_nothing_compared() {
        let change = change_of(&BEFORE, &SetRow { test: "X2", ..AFTER }, |builder| builder.test("X2", false));
        assert_eq!((change.value, change.absent), (None, Some(Absent::NoSharedPosition)));
        assert_eq!(change.grade.letter, Letter::D);
        assert!(change.sentence.contains("no receive position was measured in both"), "{}", change.sentence);
        let other_unit = change_of(&BEFORE, &SetRow { unit: "dBC", ..AFTER }, |_| ());
        assert_eq!(other_unit.absent, Some(Absent::MixedUnits));
    }

    #[test]
    fn a_position_that_changed_unlike_the_others_is_flagged() {
        // Differences 5.3 6.1 4.9 4.9 6.3 1.2: G = 1.934 over 1.887 (Grubbs, n = 6, two-sided 5 %), published critical value.
        let before = SetRow { receive: "64.2 63.1 65.0 62.8 64.5 63.0", ..BEFORE };
        let change =
            change_of(&before, &SetRow { receive: "58.9 57.0 60.1 57.9 58.2 61.8", ..AFTER }, |_| ());
        let outlier = change.flags.iter().find(|raised| raised.flag == Flag::PositionOutlier).unwrap();
        assert!(outlier.words.starts_with("R6"), "{}", outlier.words);
        assert!(change.grade.letter >= Letter::C);
    }

    #[test]
    fn nothing_is_claimed_while_a_position_is_far_off() {
        let before = SetRow { receive: "95.0 34.0 60.0 62.0", ..BEFORE };
        let after = SetRow { receive: "30.0 41.0 58.0 91.0", ..AFTER };
        let far = change_of(&before, &after, |_| ());
        let Claim::NoClaim(reasons) = &far.claim else { panic!("{:?}", far.claim) };
        assert!(reasons.contains(&NoClaim::PositionFarOff), "{reasons:?}");
        assert!(far.sentence.starts_with("No claim while a position is far from the others: S1: R"));
        // One slip on one side is enough, and a person who looked may let the set in.
        let slip = SetRow { receive: "58.9 57.0 70.1 57.9 58.2", ..AFTER };
        let seen = |set: &'static str| {
            change_of(&BEFORE, &SetRow { receive: "48.9 47.0 60.1 47.9 48.2", ..slip }, |builder| {
                if !set.is_empty() {
                    builder.amend("set", set, "included", "yes");
                }
            })
        };
        assert_eq!(seen("").claim, Claim::NoClaim(vec![NoClaim::PositionFarOff]));
        assert_eq!(seen("S1").claim, seen("").claim, "the other set is not the odd one");
        assert_eq!(seen("S2").claim, Claim::Claimed);
        assert!(seen("S2").grade.letter >= Letter::C, "it stays flagged");
    }

    #[test]
    fn an_average_outside_the_interval_says_why() {
        let before = SetRow { receive: "75.0 60.0 60.0 60.0", ..BEFORE };
        let mut change = change_of(&before, &SetRow { receive: "65.0 58.0 58.0 58.0", ..AFTER }, |_| ());
        for (low, high, is_outside) in [(6.0, 10.0, true), (3.0, 10.0, false), (-9.0, 3.0, true)] {
            change.interval = Some(Interval { low, high });
            let numbers = words::numbers(&change);
            assert!(numbers.contains("mean of the position differences +4.0 dB"), "{numbers}");
            assert_eq!(numbers.contains("outside that interval"), is_outside, "{numbers}");
        }
    }

    #[test]
    fn a_hot_spot_shows_both_averages() {
        let before = SetRow { receive: "75.0 60.0 60.0 60.0", ..BEFORE };
        let change = change_of(&before, &SetRow { receive: "65.0 58.0 58.0 58.0", ..AFTER }, |_| ());
        assert!(change.averages_differ(), "{:?} {:?}", change.value, change.position_mean_db);
        assert!(change.numbers.contains("mean of the position differences +4.0 dB"), "{}", change.numbers);
    }

    #[test]
    fn scatter_is_pooled_over_three_tests_and_repeats_replace_setup_and_day() {
        let book = fixture::demo();
        let findings = Findings::new(&book);
        let pooled = findings.spreads().scatter[&Unit::DbA];
        // Demo scenario, invented: five groups in four tests with standard deviations 0.451, 0.114, 0.098, 0.062 (three
        // positions) and 1.091; computed independently.
        assert_eq!((print::decimals(pooled.sd_db, 2), pooled.dof), ("0.55".into(), 14.0));
        assert!(!findings.spreads().scatter.contains_key(&Unit::DbC), "one test of its kind is not pooled");
        assert!(findings.spreads().repeats.is_empty(), "a bound and a set that is out are no repeats");
        let again = |label, receive| SetRow { label, stage: "repeat", receive, ..AFTER };
        let change = change_of(&BEFORE, &AFTER, |builder| {
            builder.set(&again("S3", "59.4 57.5 60.6 58.4 58.7"));
            builder.set(&again("S4", "58.4 56.5 59.6 57.4 57.7"));
        });
        assert!(change.budget.own_repeats);
        let repeats =
            change.budget.shares.iter().find(|share| share.name == "the crew's own repeats").unwrap();
        // Three level differences half a decibel apart: standard deviation 0.5, of a difference of two 0.707.
        assert_eq!(print::decimals(repeats.u_db, 3), "0.707");
        assert_eq!(print::decimals(change.limit_db, 1), "2.0");
    }

    proptest::proptest! {
        #[test]
        fn turning_the_meter_up_changes_nothing(by in -20.0..20.0f64) {
            let text = |levels: &str| {
                let louder = |level: &str| format!("{:.2}", level.parse::<f64>().unwrap() + by);
                levels.split_whitespace().map(louder).collect::<Vec<_>>().join(" ")
            };
            let (source, receive): (&'static str, &'static str) = (text(AFTER.source).leak(), text(AFTER.receive).leak());
            let change = change_of(&BEFORE, &SetRow { source, receive, background: "", ..AFTER }, |_| ());
            proptest::prop_assert!((change.value.unwrap().value - 5.453).abs() < 0.01);
        }
    }
}
