//! An untouched wall measured beside the rebuilt one: what it changed over the same time, and the change less that.
//!
//! Source, meter and weather move both walls alike, so they drop out of the difference. Leaves out pools: sets of an
//! untouched wall stand in none.

use jiff::civil::Date;
use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_statistics::{Confidence, compare, paired};

use crate::budget::{Around, Budget, Interval, Scatter, Shared};
use crate::change::{self, SetRef};
use crate::compared::Compared;
use crate::set_finding::{Direction, Estimate, SetFinding};
use crate::{Findings, print, rules, test_finding};

/// What an untouched wall says of a change.
#[derive(Debug, Clone, PartialEq)]
pub struct Controlled {
    /// The set of the untouched wall nearest to the first set.
    pub from: SetRef,
    /// The one nearest to the second.
    pub to: SetRef,
    /// Which way the sound went through the untouched wall.
    pub direction: Direction,
    /// What the untouched wall changed, by energy.
    pub control_change: Estimate,
    /// Its interval with the full budget of a change.
    pub control_interval: Option<Interval>,
    /// What both walls share, so that it drops out.
    pub shared: Shared,
    /// The change less what the untouched wall changed, by energy.
    pub effect: Estimate,
    /// What makes the effect uncertain.
    pub budget: Budget,
    /// Interval of the effect with that budget.
    pub interval: Option<Interval>,
    /// The same from the position differences of both walls alone.
    pub by_position: Option<ByPosition>,
    /// The untouched wall moved by more than it may: find out why before anything is believed.
    pub investigate: bool,
    /// A person has looked and included its set with a reason.
    pub looked_at: bool,
    /// In words.
    pub sentence: String,
}

/// Difference of the mean position differences of two walls: how well the positions alone know it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByPosition {
    /// Mean of the wall under test less mean of the untouched one, dB.
    pub effect_db: f64,
    /// Standard uncertainty, dB; absent with a single position on either side.
    pub u_db: Option<f64>,
    /// Welch's degrees of freedom.
    pub dof: Option<f64>,
    /// Its interval.
    pub interval: Option<Interval>,
}

impl Controlled {
    /// Whether nothing may be claimed until a person has looked.
    pub fn stops_claim(&self) -> bool {
        self.investigate && !self.looked_at
    }

    /// The drift it shows, dB; `None` where it is only a bound.
    pub fn drift_db(&self) -> Option<f64> {
        (self.control_change.bound == Sense::Exact).then_some(self.control_change.value)
    }
}

/// Sets of untouched walls of one direction and weighting of a test, in the order they were taken.
#[derive(Debug, Clone)]
struct Line {
    direction: Direction,
    unit: Option<Unit>,
    sets: Vec<SetFinding>,
}

/// Lines of the untouched walls of a test.
fn lines(joins: &Findings<'_>, test: RecordId) -> Vec<Line> {
    let groups = test_finding::control_groups(joins, test).into_iter();
    let lines = groups.map(|group| {
        let sets = group.usable().cloned().collect();
        Line { direction: group.direction, unit: group.unit, sets }
    });
    lines.collect()
}

impl Line {
    /// The sets nearest to two days, where these are two sets in the right order.
    fn nearest(&self, first: Option<Date>, second: Option<Date>) -> Option<(&SetFinding, &SetFinding)> {
        let last = self.sets.len().checked_sub(1)?;
        let from = first.map_or(0, |day| self.near(day, false));
        let to = second.map_or(last, |day| self.near(day, true));
        (from < to).then(|| (&self.sets[from], &self.sets[to]))
    }

    /// Index of the set nearest to a day: of several on one day the first, or the last.
    fn near(&self, day: Date, last: bool) -> usize {
        let until = |day: Date| self.sets.partition_point(|set| set.date < Some(day));
        let through = |day: Date| self.sets.partition_point(|set| set.date <= Some(day));
        let days_off = |index: usize| {
            let date = self.sets.get(index)?.date?;
            Some((date - day).get_days().unsigned_abs())
        };
        let after = until(day);
        let before = after.checked_sub(1);
        let is_before = match (before.and_then(days_off), days_off(after)) {
            (Some(before), Some(after)) => before < after,
            (_, None) => true,
            (None, Some(_)) => false,
        };
        let index = if is_before { before.unwrap_or(0) } else { after };
        match self.sets.get(index).and_then(|set| set.date) {
            Some(date) if last => through(date).saturating_sub(1),
            Some(date) => until(date),
            None => index,
        }
    }
}

/// What the rest of a change brings along.
pub(crate) struct Tested<'a> {
    pub(crate) first: &'a SetFinding,
    pub(crate) second: &'a SetFinding,
    pub(crate) compared: &'a Compared,
    pub(crate) scatter: Option<Scatter>,
    pub(crate) around: Around,
}

/// What an untouched wall says of a change, where one was measured around both sets.
///
/// Taken is the line of the same direction, or else of the same receiving room, or else any, in the same weighting.
pub(crate) fn beside(
    joins: &Findings<'_>,
    tested: &Tested<'_>,
    scatter_of: impl Fn(&Compared, &SetFinding, &SetFinding) -> Option<Scatter>,
) -> Option<Controlled> {
    let value = tested.compared.value().filter(|_| tested.compared.runs.is_none())?;
    let (first, second) = (tested.first, tested.second);
    let mut lines = lines(joins, second.test?);
    lines.retain(|line| line.unit == second.unit);
    let same_way = |line: &Line| {
        (line.direction.from, line.direction.to) == (second.direction.from, second.direction.to)
    };
    lines.sort_by_key(|line| (!same_way(line), line.direction.to != second.direction.to));
    lines.iter().find_map(|line| {
        let (from, to) = line.nearest(first.date, second.date)?;
        let compared = Compared::of_positions(from, to);
        let control_change = compared.value()?;
        let days = [(first, from), (second, to)]
            .iter()
            .all(|(own, other)| own.date.is_some() && own.date == other.date);
        let same_source = line.direction.from.is_some() && line.direction.from == second.direction.from;
        let shared = Shared { days, setup: days && same_source };
        let scatter = scatter_of(&compared, from, to);
        let effect = Estimate {
            value: value.value - control_change.value,
            bound: value.bound.minus(control_change.bound),
        };
        let budget = Budget::less_control(tested.scatter, scatter, tested.around, shared);
        let own_budget = Budget::of(scatter, tested.around);
        let own_interval = own_budget.interval(control_change.value);
        // As for a change itself: with few positions the whole must not come out narrower than its part.
        let positions = Shared { days: true, setup: true };
        let positions = Budget::less_control(tested.scatter, scatter, tested.around, positions);
        let interval = budget.interval(effect.value).zip(positions.interval(effect.value));
        let mut controlled = Controlled {
            from: SetRef::of(from),
            to: SetRef::of(to),
            direction: line.direction.clone(),
            control_change,
            control_interval: own_interval
                .map(|interval| change::no_narrower(interval, &compared, &own_budget)),
            shared,
            effect,
            interval: interval.map(|(whole, part)| whole.around_both(part)),
            budget,
            by_position: by_position(tested.compared, &compared),
            investigate: moved(control_change),
            looked_at: from.included || to.included,
            sentence: String::new(),
        };
        controlled.sentence = sentence(&controlled);
        Some(controlled)
    })
}

/// Whether an untouched wall surely changed by more than it may.
fn moved(change: Estimate) -> bool {
    // A hair of binary rounding is no movement.
    let limit_db = rules::CONTROL_MOVED_DB + 1e-6;
    match change.bound {
        Sense::Exact => change.value.abs() > limit_db,
        Sense::AtLeast => change.value > limit_db,
        Sense::AtMost => change.value < -limit_db,
        Sense::Undetermined => false,
    }
}

/// Differences in differences of the positions of two walls.
fn by_position(test: &Compared, control: &Compared) -> Option<ByPosition> {
    let direct = |compared: &Compared| paired::direct(&compared.differences_db(), Confidence::P95).ok();
    let found = compare::difference_in_differences(&direct(test)?, &direct(control)?, Confidence::P95);
    Some(ByPosition {
        effect_db: found.value,
        u_db: found.u.ok(),
        dof: found.dof.ok().and_then(storypole_statistics::Dof::finite),
        interval: found.interval.ok().map(Interval::from),
    })
}

fn sentence(found: &Controlled) -> String {
    let range = |interval: Option<Interval>| {
        interval.map_or_else(|| "no interval".to_owned(), |interval| print::range(&interval, 1))
    };
    let figure = |estimate: Estimate, interval| {
        let bound = match estimate.bound {
            Sense::Exact => "",
            Sense::AtLeast => "at least ",
            Sense::AtMost => "at most ",
            Sense::Undetermined => return "not determined, since bounds stand on both sides".to_owned(),
        };
        format!("{bound}{} dB ({})", print::signed(estimate.value, 1), range(interval))
    };
    let days = if found.shared.days { "" } else { ", not on the same days" };
    let moved = match (found.investigate, found.looked_at) {
        (false, _) => "",
        (true, true) => {
            " That is more than an untouched wall should change; somebody has looked and included its set."
        }
        (true, false) => {
            " That is more than an untouched wall should change: something else changed too. Find out what, then include its \
             set with the reason; until then nothing is claimed."
        }
    };
    format!(
        "Control wall, {} to {}{days}: {}. The change less that: {}.{moved}",
        found.from.label,
        found.to.label,
        figure(found.control_change, found.control_interval),
        figure(found.effect, found.interval)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::change::{Claim, NoClaim};
    use crate::fixture::{self, Builder, SetRow};
    use crate::{Letter, TestFinding};

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
        date: "2025-03-10",
        assembly: "A10",
        receive: "58.9 57.0 60.1 57.9 58.2",
        ..BEFORE
    };
    /// The wall to another room, untouched.
    const BESIDE: SetRow =
        SetRow { label: "C1", assembly: "A05", to: "R4", receive: "60.6 60.2 60.4", ..BEFORE };
    const BESIDE_AFTER: SetRow =
        SetRow { label: "C2", stage: "after", date: "2025-03-10", receive: "60.0 60.0 60.0", ..BESIDE };

    /// With the demo's walls, and its tests to pool the scatter from.
    fn test_of(sets: &[SetRow], more: impl FnOnce(&mut Builder)) -> TestFinding {
        test_in(fixture::builder(), sets, more)
    }

    /// With no other test, so that every wall has its own scatter.
    fn test_alone(sets: &[SetRow]) -> TestFinding {
        test_in(Builder::default(), sets, |_| ())
    }

    fn test_in(mut builder: Builder, sets: &[SetRow], more: impl FnOnce(&mut Builder)) -> TestFinding {
        builder.test("X1", false);
        for set in sets {
            builder.set(set);
            if set.label.starts_with('C') {
                builder.amend("set", set.label, "control", "yes");
            }
        }
        more(&mut builder);
        crate::test_finding(&builder.book, fixture::id("test", "X1")).unwrap()
    }

    fn close(got: f64, expected: f64, within: f64) {
        assert!((got - expected).abs() < within, "{got} instead of {expected}");
    }

    fn controlled(test: &TestFinding) -> &Controlled {
        test.headline().unwrap().control.as_ref().unwrap()
    }

    #[test]
    fn positions_of_both_walls_give_welchs_difference() {
        // Computed independently with scipy 1.17 (ttest_ind, unequal spreads, 5.3 6.1 4.9 4.9 6.3 and 0.6 0.2 0.4): 5.1,
        // u 0.318329, 5.07112 degrees of freedom, half-width 0.814851.
        let test = test_of(&[BEFORE, AFTER, BESIDE, BESIDE_AFTER], |_| ());
        let found = controlled(&test);
        let by_position = found.by_position.unwrap();
        close(by_position.effect_db, 5.1, 1e-9);
        close(by_position.u_db.unwrap(), 0.318_329, 1e-6);
        close(by_position.dof.unwrap(), 5.071_115, 1e-5);
        close(by_position.interval.unwrap().half_width(), 0.814_851, 1e-6);
    }

    #[test]
    fn the_effect_has_the_budget_that_is_left() {
        // By energy 5.452826 less 0.403070; uncertainties by the delta method and Welch-Satterthwaite, computed independently
        // with numpy 2.4 and scipy 1.17: half-widths 0.815383 (all shared), 1.290230 (days shared), 1.530404 (nothing shared);
        // of the control's own change 1.007323.
        let test = test_alone(&[BEFORE, AFTER, BESIDE, BESIDE_AFTER]);
        let found = controlled(&test);
        assert_eq!(found.shared, Shared { days: true, setup: true });
        close(found.control_change.value, 0.403_070, 1e-5);
        close(found.control_interval.unwrap().half_width(), 1.007_323, 1e-5);
        close(found.effect.value, 5.049_757, 1e-5);
        close(found.interval.unwrap().half_width(), 0.815_383, 1e-5);
        assert!(!found.investigate);
        let raw = test.headline().unwrap();
        assert_eq!(raw.claim, Claim::Claimed, "the claim stands on the change itself");
        close(raw.value.unwrap().value, 5.452_826, 1e-5);
        // From another room the source stands anew.
        let other = |row: SetRow| SetRow { from: "R6", ..row };
        let test = test_alone(&[BEFORE, AFTER, other(BESIDE), other(BESIDE_AFTER)]);
        assert_eq!(controlled(&test).shared, Shared { days: true, setup: false });
        close(controlled(&test).interval.unwrap().half_width(), 1.290_230, 1e-5);
        let late = SetRow { date: "2025-03-11", ..BESIDE_AFTER };
        let test = test_alone(&[BEFORE, AFTER, BESIDE, late]);
        assert_eq!(controlled(&test).shared, Shared { days: false, setup: false });
        close(controlled(&test).interval.unwrap().half_width(), 1.530_404, 1e-5);
        assert!(
            controlled(&test).sentence.contains("not on the same days"),
            "{}",
            controlled(&test).sentence
        );
    }

    #[test]
    fn two_positions_of_the_untouched_wall_keep_their_doubt() {
        // By energy 5.452826 less 0.604604 (60.8 60.4 to 60.0 60.0), u 0.296849 (4 degrees) and 0.199859 (1): positions alone give
        // u 0.357859 and 4.6371 degrees, half-width 0.941989; of the control alone t(0.975; 1) times 0.199859, 2.539446. Computed
        // independently with numpy 2.4 and scipy 1.17.
        let two = |row: SetRow, receive| SetRow { receive, ..row };
        let test = test_alone(&[BEFORE, AFTER, two(BESIDE, "60.8 60.4"), two(BESIDE_AFTER, "60.0 60.0")]);
        let found = controlled(&test);
        close(found.control_interval.unwrap().half_width(), 2.539_446, 1e-5);
        close(found.interval.unwrap().half_width(), 0.941_989, 1e-5);
    }

    #[test]
    fn an_untouched_wall_stands_in_no_sequence_pool_or_headline() {
        let test = test_of(&[BEFORE, AFTER, BESIDE, BESIDE_AFTER], |_| ());
        assert_eq!((test.groups.len(), test.controls.len()), (1, 1));
        let labels: Vec<&str> = test.groups[0].sets.iter().map(|set| set.label.as_str()).collect();
        assert_eq!(labels, ["S1", "S2"]);
        let said = &test.controls[0].sets[0].sentence;
        assert!(said.contains("(an untouched wall, dBA, 3 spots"), "{said}");
        // Even of the same direction it is no step of the rebuilt wall.
        let same = |row: SetRow| SetRow { to: "R2", ..row };
        let test = test_of(&[BEFORE, AFTER, same(BESIDE), same(BESIDE_AFTER)], |_| ());
        assert_eq!(test.groups[0].sets.len(), 2);
        assert_eq!(test.groups[0].changes.len(), 1);
    }

    #[test]
    fn it_stands_for_the_first_state_measured_again() {
        let drift = |test: &TestFinding| {
            let rows = &test.headline().unwrap().grade.criteria;
            let row = rows.iter().find(|row| row.name == "drift").unwrap();
            (row.letter, row.why.clone())
        };
        let test = test_of(&[BEFORE, AFTER, BESIDE, BESIDE_AFTER], |_| ());
        assert_eq!(drift(&test), (Letter::A, "the untouched wall beside changed by +0.4 dB".to_owned()));
        let again = SetRow {
            label: "S3",
            stage: "repeat",
            date: "2025-03-12",
            receive: "63.7 62.6 64.5 62.3 64.0",
            ..BEFORE
        };
        let test = test_of(&[BEFORE, AFTER, again, BESIDE, BESIDE_AFTER], |_| ());
        assert_eq!(drift(&test), (Letter::A, "first state again: 0.5 dB apart".to_owned()));
        let test = test_of(&[BEFORE, AFTER, BESIDE], |_| ());
        assert_eq!(drift(&test).0, Letter::B);
        assert!(test.sentences.iter().any(|said| said.contains("measure it again")), "{:?}", test.sentences);
    }

    #[test]
    fn nothing_is_claimed_while_the_untouched_wall_moved() {
        let quieter = SetRow { receive: "59.0 58.8 58.9", ..BESIDE_AFTER };
        let test = test_of(&[BEFORE, AFTER, BESIDE, quieter], |_| ());
        let change = test.headline().unwrap();
        assert!(controlled(&test).investigate);
        assert_eq!(change.claim, Claim::NoClaim(vec![NoClaim::ControlMoved]));
        assert!(
            change
                .sentence
                .starts_with("No claim: the untouched wall beside it changed by +1.5 dB too, C1 to C2."),
            "{}",
            change.sentence
        );
        assert_eq!(change.grade.letter, Letter::C, "1 to 3 dB of drift");
        let looked = test_of(&[BEFORE, AFTER, BESIDE, quieter], |builder| {
            builder.amend("set", "C2", "included", "yes");
        });
        assert_eq!(looked.headline().unwrap().claim, Claim::Claimed);
        assert!(controlled(&looked).sentence.contains("somebody has looked"));
    }

    #[test]
    fn bounds_single_positions_and_other_weightings_are_no_figures() {
        let loud = SetRow { background: "58.0", ..BESIDE_AFTER };
        let test = test_of(&[BEFORE, AFTER, BESIDE, loud], |_| ());
        let found = controlled(&test);
        assert_eq!((found.control_change.bound, found.effect.bound), (Sense::AtLeast, Sense::AtMost));
        assert_eq!(found.drift_db(), None, "a bound is no check");
        let one = |row: SetRow, receive| SetRow { receive, ..row };
        let test = test_alone(&[BEFORE, AFTER, one(BESIDE, "60.5"), one(BESIDE_AFTER, "60.0")]);
        let found = controlled(&test);
        assert_eq!((found.control_interval, found.interval, found.budget.u_db), (None, None, None));
        assert_eq!(found.by_position.unwrap().interval, None);
        assert!(found.sentence.contains("+0.5 dB (no interval)"), "{}", found.sentence);
        let bass = |row: SetRow| SetRow { unit: "dBC", ..row };
        let test = test_of(&[BEFORE, AFTER, bass(BESIDE), bass(BESIDE_AFTER)], |_| ());
        assert_eq!(test.headline().unwrap().control, None);
    }

    #[test]
    fn the_sets_nearest_in_time_are_taken() {
        let on = |label, date| SetRow { label, date, receive: "60.1 60.1 60.1", ..BESIDE };
        let sets = [
            BEFORE,
            AFTER,
            on("C3", "2025-02-01"),
            BESIDE,
            on("C4", "2025-03-07"),
            BESIDE_AFTER,
            on("C5", "2025-05-01"),
        ];
        let test = test_of(&sets, |_| ());
        let found = controlled(&test);
        assert_eq!((found.from.label.as_str(), found.to.label.as_str()), ("C1", "C2"));
        let test = test_of(&[BEFORE, AFTER, on("C4", "2025-03-07")], |_| ());
        assert_eq!(test.headline().unwrap().control, None, "one set is no change");
        let out = test_of(&[BEFORE, AFTER, BESIDE, BESIDE_AFTER], |builder| {
            builder.amend("set", "C2", "left_out", "yes");
        });
        assert_eq!(out.headline().unwrap().control, None);
        assert!(out.sentences.iter().any(|said| said.starts_with("C2 is out")), "{:?}", out.sentences);
    }
}
