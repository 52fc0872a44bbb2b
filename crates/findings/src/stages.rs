//! A rebuild told step by step: studs open, filled, boarded, finished, each against the wall before it and against the first.
//!
//! Leaves out adding steps up: what a step brings depends on what stood before it, so decibels of parts have no sum.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_units::{Currency, Decimal, Money};

use crate::change::{self, BundlePart, Change, Claim};
use crate::set_finding::{Direction, Estimate, SetFinding};
use crate::test_finding::{self, Group};
use crate::{Findings, print};

/// One wall of a rebuild, as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The set that stands for the wall: the latest exact one, of the first wall the first.
    pub set: RecordId,
    /// Its label.
    pub label: String,
    /// Its stage.
    pub stage: Option<String>,
    /// The assembly version.
    pub assembly: Option<RecordId>,
    /// Label of the assembly.
    pub assembly_label: String,
    /// Day of the set.
    pub date: Option<Date>,
    /// Parts that differ from the step before; all of them made the step.
    pub what_changed: Vec<BundlePart>,
    /// Level difference of the set.
    pub level_difference: Option<Estimate>,
    /// Against the first wall; absent for that one itself.
    pub to_first: Option<Change>,
    /// Against the wall before; absent for the first.
    pub to_before: Option<Change>,
    /// What the test's jobs had spent by the end of the set's day; absent where costs or the day are not known.
    pub spent_so_far: Option<Money>,
    /// What of that was spent for this step; absent for the first wall, which was found as it was.
    pub spent_since_before: Option<Money>,
    /// In words.
    pub words: String,
}

/// The steps of one direction and weighting, in the order they were taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Stages {
    /// Which way the sound went.
    pub direction: Direction,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// One step for each wall.
    pub steps: Vec<Step>,
    /// What the steps are and are not.
    pub words: String,
}

/// How money is counted to steps, for people.
const MONEY: &str = "Money counts by the day it was spent: what was bought ahead counts to the step before which it was bought, and \
                     what has no day to the first step of its job.";

impl Findings<'_> {
    /// Tells a test step by step, for each direction and weighting; empty for bench rigs and for other quantities.
    ///
    /// Sets of one wall make one step. A set that shows an earlier wall again is a check for drift and no step. Spending is
    /// that of all jobs of the test's sets up to and including the set's day; what was spent before the first set counts to
    /// the first wall that was rebuilt. Without a day it counts from the first step of its job on.
    ///
    /// # Source
    /// Convention of this project.
    pub fn stages(&self, test: RecordId) -> Vec<Stages> {
        let is_told = self.book.tests.get(test).is_some_and(|record| {
            matches!(record.measures.as_deref(), None | Some("level-difference"))
                && record.bench_rig != Some(true)
        });
        if !is_told {
            return Vec::new();
        }
        let groups = test_finding::groups(self, test);
        let jobs = groups.iter().flat_map(|group| &group.sets).map(|set| set.job).collect();
        let stages = groups.iter().filter_map(|group| of_group(self, group, &jobs));
        stages.collect()
    }
}

fn of_group(joins: &Findings<'_>, group: &Group, jobs: &BTreeSet<Option<RecordId>>) -> Option<Stages> {
    let first = group.first()?;
    let walls = walls(group, first);
    let spent = Spent::of(joins, jobs, &walls);
    let drift_db = group.drift_db(joins);
    let mut steps: Vec<Step> = Vec::new();
    for (index, set) in walls.iter().enumerate() {
        let before = index.checked_sub(1).map(|before| walls[before]);
        let to_first = before.map(|_| change::between(joins, first, set, drift_db));
        let to_before = match before {
            Some(before) if before.set != first.set => Some(change::between(joins, before, set, drift_db)),
            _ => to_first.clone(),
        };
        let spent_so_far = spent.as_ref().and_then(|spent| spent.until(set.date, index));
        let paid_before = match index {
            0 => None,
            1 => spent_so_far.map(|so_far| Money::zero(so_far.currency)),
            _ => steps.last().and_then(|step| step.spent_so_far),
        };
        let mut step = Step {
            set: set.set,
            label: set.label.clone(),
            stage: set.stage.clone(),
            assembly: set.assembly,
            assembly_label: set.assembly_label.clone(),
            date: set.date,
            what_changed: to_before.as_ref().map_or_else(Vec::new, |change| change.bundle.clone()),
            level_difference: set.level_difference,
            to_first,
            to_before,
            spent_so_far,
            spent_since_before: spent_so_far.zip(paid_before).and_then(|(all, before)| less(all, before)),
            words: String::new(),
        };
        step.words = step_words(&step, index);
        steps.push(step);
    }
    let words = stages_words(&steps);
    Some(Stages { direction: group.direction.clone(), unit: group.unit, steps, words })
}

/// Walls that were shown, so that one shown again is known.
#[derive(Debug, Default)]
pub(crate) struct Seen<'a> {
    stages: BTreeMap<RecordId, BTreeSet<Option<&'a str>>>,
}

impl<'a> Seen<'a> {
    /// Notes the wall of a set, and tells whether it was shown before.
    pub(crate) fn note(&mut self, set: &'a SetFinding) -> bool {
        let Some(assembly) = set.assembly else { return false };
        let stages = self.stages.entry(assembly).or_default();
        let stage = set.stage.as_deref();
        let is_known = !stages.is_empty()
            && (stage == Some("repeat") || stages.contains(&stage) || stages.contains(&Some("repeat")));
        stages.insert(stage);
        is_known
    }
}

/// One set for each wall, in the order they were taken; sets that show an earlier wall again are left out.
fn walls<'a>(group: &'a Group, first: &'a SetFinding) -> Vec<&'a SetFinding> {
    let mut walls = vec![first];
    let mut seen = Seen::default();
    seen.note(first);
    for set in group.usable().filter(|set| set.set != first.set) {
        let is_known = seen.note(set);
        match walls.last_mut() {
            Some(last) if !test_finding::is_other_wall(last, set) => {
                let is_better = test_finding::is_exact(set) || !test_finding::is_exact(last);
                if is_better && last.set != first.set {
                    *last = set;
                }
            }
            _ if is_known => (),
            _ => walls.push(set),
        }
    }
    walls
}

/// What the jobs of a test spent, added up day by day.
struct Spent {
    currency: Currency,
    /// Days in order, with what was spent up to and including each.
    by_day: Vec<(Date, Decimal)>,
    /// What has no day, by the step from which it counts.
    undated: BTreeMap<usize, Decimal>,
}

impl Spent {
    /// `None` unless the cost of every job is known, in one currency.
    fn of(joins: &Findings<'_>, jobs: &BTreeSet<Option<RecordId>>, walls: &[&SetFinding]) -> Option<Self> {
        let mut first_step: BTreeMap<Option<RecordId>, usize> = BTreeMap::new();
        for (index, set) in walls.iter().enumerate() {
            first_step.entry(set.job).or_insert(index);
        }
        let mut currency = None;
        let mut days: BTreeMap<Date, Decimal> = BTreeMap::new();
        let mut undated: BTreeMap<usize, Decimal> = BTreeMap::new();
        for job in jobs {
            let cost = joins.costs.jobs.get(job.as_ref()?)?;
            let from = first_step.get(job).copied().unwrap_or(0);
            for (day, money) in &cost.spent {
                if *currency.get_or_insert(money.currency) != money.currency {
                    return None;
                }
                let sum = match day {
                    Some(day) => days.entry(*day).or_default(),
                    None => undated.entry(from).or_default(),
                };
                *sum = sum.checked_add(money.amount)?;
            }
            currency.get_or_insert(cost.net.currency);
        }
        let mut total = Decimal::ZERO;
        let mut by_day = Vec::with_capacity(days.len());
        for (day, amount) in days {
            total = total.checked_add(amount)?;
            by_day.push((day, total));
        }
        Some(Self { currency: currency?, by_day, undated })
    }

    /// What was spent by the end of a day, for the step of this index.
    fn until(&self, day: Option<Date>, step: usize) -> Option<Money> {
        let day = day?;
        let dated = self.by_day.partition_point(|(spent, _)| *spent <= day).checked_sub(1);
        let mut sum = dated.map_or(Decimal::ZERO, |index| self.by_day[index].1);
        for amount in self.undated.range(..=step).map(|(_, amount)| *amount) {
            sum = sum.checked_add(amount)?;
        }
        Some(Money::new(sum, self.currency))
    }
}

fn less(all: Money, before: Money) -> Option<Money> {
    let amount = all.amount.checked_add(-before.amount).filter(|_| all.currency == before.currency)?;
    Some(Money::new(amount, all.currency))
}

fn step_words(step: &Step, index: usize) -> String {
    let Some(change) = &step.to_before else {
        let level = step.level_difference.map_or_else(
            || "no level difference".to_owned(),
            |level| format!("{}{} dB", bound(level.bound), print::decimals(level.value, 1)),
        );
        let found = if step.stage.as_deref() == Some("before") { "As found" } else { "First measured" };
        return format!("{found} ({}): {level}.", step.label);
    };
    let money = step.spent_since_before.map_or_else(String::new, |money| {
        let since = if index == 1 { "until then".to_owned() } else { format!("since {}", change.from.label) };
        format!(" for {money} spent {since}")
    });
    let mut said = format!("{}: {}{money}.", named(step, change), figure(change));
    if change.open_studs {
        said.push_str(" Studs were showing, so this belongs to wall and room together.");
    }
    said
}

fn bound(sense: Sense) -> &'static str {
    match sense {
        Sense::AtLeast => "at least ",
        Sense::AtMost => "at most ",
        Sense::Exact | Sense::Undetermined => "",
    }
}

/// What a step brought, with its interval and without more than may be claimed.
fn figure(change: &Change) -> String {
    let Some(value) = change.value else {
        let why = change.absent.map_or_else(|| "no readings".to_owned(), |absent| absent.to_string());
        return format!("no comparison, {why}");
    };
    if value.bound == Sense::Undetermined {
        return "not determined, since both results are bounds".to_owned();
    }
    let range = change
        .interval
        .as_ref()
        .map_or_else(|| "no interval".to_owned(), |interval| print::range(interval, 1));
    let claim = if matches!(change.claim, Claim::NoClaim(_)) { ", which is not claimed" } else { "" };
    format!("{}{} dB ({range}){claim}", bound(value.bound), print::signed(value.value, 1))
}

/// What was done in a step: one part alone, or several together.
fn named(step: &Step, change: &Change) -> String {
    let parts: Vec<&str> = step.what_changed.iter().map(|part| part.part).collect();
    match parts.as_slice() {
        [] if step.assembly.is_some() && step.assembly == change.from.assembly => {
            format!("{} to {}, with nothing written down that changed", change.from.label, step.label)
        }
        [] => format!("{} to {}", change.from.label, step.label),
        ["seals"] => "Sealing alone".to_owned(),
        [leaf @ ("leaf A" | "leaf B")] => format!("{} alone", print::capital(leaf)),
        [one] => format!("The {one} alone"),
        _ => format!("{} together", print::capital(&print::list(&parts))),
    }
}

fn stages_words(steps: &[Step]) -> String {
    let [_, .., last] = steps else {
        return "One wall measured so far: there is no step yet.".to_owned();
    };
    let mut said = if steps.len() == 2 {
        "One step so far: what it brought belongs to the wall it was built on."
    } else {
        "Steps of one wall, in the order they were built: another order would have given other steps, and their decibels do not add up."
    }
    .to_owned();
    if let Some(change) = last.to_first.as_ref().filter(|_| steps.len() > 2) {
        let money = last.spent_so_far.map_or_else(String::new, |money| format!(" for {money} in all"));
        said.push_str(&format!(
            " From {} to {}: {}{money}.",
            change.from.label,
            change.to.label,
            figure(change)
        ));
    }
    if steps.iter().any(|step| step.spent_since_before.is_some()) {
        said.push(' ');
        said.push_str(MONEY);
    }
    said
}

#[cfg(test)]
mod tests {
    use storypole_notebook::Book;

    use super::*;
    use crate::costs::{Costs, JobCost};
    use crate::fixture::{self, SetRow};

    /// What jobs spent: job, day or nothing, amount.
    fn costs(spent: &[(&str, &str, &str)]) -> Costs {
        let currency = Currency::parse("USD").unwrap();
        let money = |text: &str| Money::parse_in(text, currency).unwrap();
        let mut costs = Costs::default();
        for (job, day, amount) in spent {
            let none = JobCost { net: Money::zero(currency), area: None, spent: Vec::new() };
            let cost = costs.jobs.entry(fixture::id("job", job)).or_insert(none);
            cost.spent.push((day.parse().ok(), money(amount)));
        }
        costs
    }

    fn told(book: &Book, test: &str, costs: Costs) -> Vec<Stages> {
        Findings::new(book).costed(costs).stages(fixture::id("test", test))
    }

    fn steps(stages: &Stages) -> Vec<String> {
        let money = |money: Option<Money>| money.map_or_else(|| "-".to_owned(), Money::amount_text);
        let change = |change: &Option<Change>| {
            let value = change.as_ref().and_then(|change| change.value);
            value.map_or_else(|| "-".to_owned(), |value| print::signed(value.value, 1))
        };
        let line = |step: &Step| {
            format!(
                "{} {} {} | {} {}",
                step.label,
                change(&step.to_first),
                change(&step.to_before),
                money(step.spent_so_far),
                money(step.spent_since_before)
            )
        };
        stages.steps.iter().map(line).collect()
    }

    #[test]
    fn a_rebuild_is_told_step_by_step_with_its_money() {
        // Demo scenario, invented; money by hand from its receipts: 410.93 on the day of the first set, a permit of 145.00, 19.01
        // given back, hours of both people on the last day (14 at 48.00 and 12 at 31.00).
        let book = fixture::demo();
        let spent = [
            ("J3", "2025-04-01", "410.93"),
            ("J3", "2025-04-02", "145.00"),
            ("J3", "2025-04-03", "-19.01"),
            ("J3", "2025-04-09", "1044.00"),
        ];
        let party = told(&book, "Q2", costs(&spent));
        assert_eq!(
            steps(&party[0]),
            ["T10 - - | 410.93 -", "T11 +3.2 +3.2 | 536.92 536.92", "T13 +5.9 +2.7 | 1580.92 1044.00",],
            "the set that is out is no step"
        );
        let words: Vec<&str> = party[0].steps.iter().map(|step| step.words.as_str()).collect();
        assert_eq!(words[0], "As found (T10): 41.6 dB.");
        assert!(words[1].starts_with("Sealing alone: +3.2 dB ("), "{}", words[1]);
        assert!(words[1].ends_with(") for 536.92 USD spent until then."), "{}", words[1]);
        assert!(words[2].starts_with("Leaf A alone: +2.7 dB ("), "{}", words[2]);
        assert!(words[2].ends_with("for 1044.00 USD spent since T11."), "{}", words[2]);
        assert!(party[0].words.contains("decibels do not add up"), "{}", party[0].words);
        assert!(party[0].words.contains("From T10 to T13: +5.9 dB ("), "{}", party[0].words);
        assert!(party[0].words.contains("for 1580.92 USD in all"), "{}", party[0].words);
    }

    #[test]
    fn walls_of_two_jobs_make_one_chain() {
        // Demo scenario, invented.
        let book = fixture::demo();
        let music = told(&book, "Q1", Costs::default());
        assert_eq!(music.len(), 3, "one for each direction and weighting");
        assert_eq!(
            steps(&music[0]),
            ["T01 - - | - -", "T03 -2.2 -2.2 | - -", "T04 +0.8 +3.1 | - -", "T05 +11.2 +10.4 | - -"]
        );
        let words: Vec<&str> = music[0].steps.iter().map(|step| step.words.as_str()).collect();
        assert!(words[1].starts_with("Leaf B alone: -2.2 dB ("), "{}", words[1]);
        assert!(words[1].ends_with("belongs to wall and room together."), "{}", words[1]);
        assert!(words[2].contains(" together: +3.1 dB ("), "{}", words[2]);
        assert!(words[3].starts_with("The openings alone: +10.4 dB ("), "{}", words[3]);
        assert!(!music[0].words.contains("Money"), "{}", music[0].words);
        // The exact repeat stands for its wall.
        assert_eq!(steps(&music[1]), ["T02 - - | - -", "T07 +11.8 +11.8 | - -"]);
    }

    #[test]
    fn spending_without_a_day_counts_from_its_job_on() {
        let book = fixture::demo();
        let spent = [
            ("J1", "", "10.00"),
            ("J1", "2025-03-06", "5.00"),
            ("J2", "", "7.00"),
            ("J2", "2025-03-20", "99.00"),
        ];
        let music = told(&book, "Q1", costs(&spent));
        let money = |index: usize| {
            let steps = &music[0].steps;
            [steps[index].spent_so_far, steps[index].spent_since_before]
                .map(|money| money.map_or_else(|| "-".to_owned(), Money::amount_text))
        };
        // By hand: 10 from the start, 5 by the second step, 7 with the first step of its job, 99 after the last.
        assert_eq!(money(0), ["10.00", "-"]);
        assert_eq!(money(1), ["15.00", "15.00"]);
        assert_eq!(money(2), ["15.00", "0.00"]);
        assert_eq!(money(3), ["22.00", "7.00"]);
    }

    #[test]
    fn money_is_absent_where_a_job_or_a_day_has_none() {
        let mut builder = fixture::builder();
        let of_one = [("J1", "2025-03-06", "5.00")];
        let music = told(&builder.book, "Q1", costs(&of_one));
        assert!(music[0].steps.iter().all(|step| step.spent_so_far.is_none()), "J2 cost nobody knows what");
        builder.store_none("set", "T11", "date");
        let party = told(&builder.book, "Q2", costs(&[("J3", "2025-04-01", "410.93")]));
        let undated = party[0].steps.iter().find(|step| step.label == "T11").unwrap();
        assert_eq!((undated.spent_so_far, undated.spent_since_before), (None, None));
        let mut mixed = costs(&[("J3", "2025-04-01", "410.93"), ("J3", "2025-04-02", "1.00")]);
        let euros = Money::parse("1.00 EUR").unwrap();
        mixed.jobs.get_mut(&fixture::id("job", "J3")).unwrap().spent[1].1 = euros;
        assert!(
            told(&fixture::demo(), "Q2", mixed)[0].steps[0].spent_so_far.is_none(),
            "two currencies have no sum"
        );
    }

    #[test]
    fn a_wall_shown_again_is_no_step() {
        let mut builder = fixture::builder();
        builder.test("X1", false);
        let set = SetRow {
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
            receive: "60.0 60.4 59.8",
            background: "20.0",
        };
        let filled = SetRow {
            label: "S2",
            stage: "filled",
            date: "2025-03-05",
            assembly: "A09",
            receive: "57.0 57.4 56.8",
            ..set
        };
        for row in [
            set,
            filled,
            SetRow { label: "S3", stage: "repeat", date: "2025-03-06", ..filled },
            SetRow { label: "S4", stage: "after", date: "2025-03-07", assembly: "A10", ..filled },
            SetRow { label: "S5", stage: "repeat", date: "2025-03-08", ..set },
            SetRow { label: "S6", stage: "repeat", date: "2025-03-09", ..filled },
        ] {
            builder.set(&row);
        }
        let stages = told(&builder.book, "X1", Costs::default());
        let labels: Vec<&str> = stages[0].steps.iter().map(|step| step.label.as_str()).collect();
        assert_eq!(labels, ["S1", "S3", "S4"], "walls that stand again later are checks for drift");
    }

    #[test]
    fn where_there_are_no_steps_it_is_said() {
        let book = fixture::demo();
        assert_eq!(told(&book, "Q5", Costs::default()), [], "fills on a bench are no rebuild");
        assert_eq!(told(&book, "Q7", Costs::default()), [], "another quantity");
        assert_eq!(told(&book, "none", Costs::default()), []);
        let mut builder = fixture::builder();
        builder.amend("set", "T18", "left_out", "yes");
        let one = told(&builder.book, "Q4", Costs::default());
        assert_eq!(one[0].words, "One wall measured so far: there is no step yet.");
        let all = told(&fixture::demo(), "Q4", Costs::default());
        assert!(all[0].words.starts_with("One step so far"), "{}", all[0].words);
        assert!(all[0].steps[1].words.contains("which is not claimed"), "{}", all[0].steps[1].words);
    }
}
