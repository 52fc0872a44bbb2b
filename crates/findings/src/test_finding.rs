//! A test: its sets by direction and weighting, every later set against the first and against the one before it.
//!
//! Bench rigs and tests of other quantities have readings of another kind: see [`mod@crate::bench_rig`] and
//! [`mod@crate::quantity`].

use std::sync::Arc;

use storypole_acoustics::{Sense, confounders};
use storypole_journal::RecordId;
use storypole_notebook::Unit;

use crate::bench_rig::BenchFinding;
use crate::change::{self, Change};
use crate::flags::{Flag, Raised};
use crate::quantity::QuantityFinding;
use crate::set_finding::{Direction, Estimate, SetFinding};
use crate::thermal::ThermalFinding;
use crate::{Findings, print, rules, words};

/// Sets of one direction and weighting, in the order they were taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Which way the sound went.
    pub direction: Direction,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// The sets; those out of results have their reasons.
    pub sets: Vec<Arc<SetFinding>>,
    /// Level differences on the positions all sets in results have, where there is a choice.
    pub on_shared: Option<OnShared>,
    /// Every later set against the first, and against the one before it where that is another.
    pub changes: Vec<Change>,
    /// First against last: the answer of this group.
    pub headline: Option<Change>,
    /// Change seen when the first state was measured again, dB.
    pub drift_db: Option<f64>,
}

/// Level differences on the receive positions all sets have.
#[derive(Debug, Clone, PartialEq)]
pub struct OnShared {
    /// The positions, by label.
    pub positions: Vec<String>,
    /// Set, its label, its level difference on these positions.
    pub values: Vec<(RecordId, String, Estimate)>,
}

/// The same rebuild measured both ways.
#[derive(Debug, Clone, PartialEq)]
pub struct BothWays {
    /// One way.
    pub there: (String, f64),
    /// The other.
    pub back: (String, f64),
    /// How far apart the two changes are, dB.
    pub apart_db: f64,
    /// Whether they agree as they should.
    pub agree: bool,
    /// What belongs to the wall and what to a room that a fill in open studs made softer, where the two ways differ.
    pub parted: Option<confounders::Swap>,
    /// In one sentence.
    pub sentence: String,
}

/// What a test shows.
#[derive(Debug, Clone, PartialEq)]
pub struct TestFinding {
    /// The test.
    pub test: RecordId,
    /// Its label.
    pub label: String,
    /// Its question.
    pub question: String,
    /// Why it was struck; `None` where it was not.
    pub struck: Option<String>,
    /// What it measures.
    pub measures: String,
    /// Sets by direction and weighting.
    pub groups: Vec<Group>,
    /// Sets of untouched walls by direction and weighting: in no sequence, headline or pool.
    pub controls: Vec<Group>,
    /// Changes measured both ways.
    pub both_ways: Vec<BothWays>,
    /// Results of a bench rig.
    pub bench: Option<BenchFinding>,
    /// Results of a test of another quantity than sound.
    pub quantity: Option<QuantityFinding>,
    /// The same states in an older shape: surface temperatures, smoke and moisture.
    pub thermal: Option<ThermalFinding>,
    /// The answer in plain sentences.
    pub sentences: Vec<String>,
}

impl TestFinding {
    /// The change that answers the question: of the group with most sets, A-weighted first.
    pub fn headline(&self) -> Option<&Change> {
        headline_group(&self.groups)?.headline.as_ref()
    }

    /// Sets out of results, with their reasons.
    pub fn out(&self) -> impl Iterator<Item = &SetFinding> {
        self.groups
            .iter()
            .chain(&self.controls)
            .flat_map(|group| &group.sets)
            .map(Arc::as_ref)
            .filter(|set| !set.is_in())
    }
}

/// The group a reader wants first.
pub(crate) fn headline_group(groups: &[Group]) -> Option<&Group> {
    let rank = |group: &&Group| {
        let is_a = group.unit == Some(Unit::DbA);
        (group.headline.is_some(), is_a, group.sets.iter().filter(|set| set.is_in()).count())
    };
    // The first of equals: groups stand in the order their first sets were taken.
    groups.iter().fold(None, |best: Option<&Group>, group| match best {
        Some(best) if rank(&best) >= rank(&group) => Some(best),
        _ => Some(group),
    })
}

/// Order of the stages within one day.
pub(crate) fn stage_rank(stage: Option<&str>) -> usize {
    let order = ["before", "open-studs", "filled", "boarded", "finished", "after", "repeat"];
    order.iter().position(|known| Some(*known) == stage).unwrap_or(order.len())
}

/// Sets of a test by direction and weighting; changes are not worked out yet. Untouched walls are left out.
pub(crate) fn groups(joins: &Findings<'_>, test: RecordId) -> Vec<Group> {
    grouped(joins, joins.sets_of_test(test).filter(|set| !set.control).collect())
}

/// Sets of untouched walls of a test by direction and weighting.
pub(crate) fn control_groups(joins: &Findings<'_>, test: RecordId) -> Vec<Group> {
    grouped(joins, joins.sets_of_test(test).filter(|set| set.control).collect())
}

fn grouped(joins: &Findings<'_>, mut sets: Vec<&Arc<SetFinding>>) -> Vec<Group> {
    let started = |set: &SetFinding| {
        joins.book.sets.get(set.set).and_then(|record| record.started_at).map(|at| at.unix_ms)
    };
    sets.sort_by_cached_key(|set| {
        (set.date, started(set), stage_rank(set.stage.as_deref()), set.label.clone(), set.set)
    });
    let mut groups: Vec<Group> = Vec::new();
    for set in sets {
        let same = |group: &&mut Group| {
            let there = &group.direction;
            (there.from, there.to, group.unit) == (set.direction.from, set.direction.to, set.unit)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.sets.push(Arc::clone(set)),
            None => groups.push(Group {
                direction: set.direction.clone(),
                unit: set.unit,
                sets: vec![Arc::clone(set)],
                on_shared: None,
                changes: Vec::new(),
                headline: None,
                drift_db: None,
            }),
        }
    }
    groups.iter_mut().for_each(Group::flag_against_first);
    groups
}

impl Group {
    /// Sets in results that can be compared.
    pub(crate) fn usable(&self) -> impl Iterator<Item = &SetFinding> {
        let sets = self.sets.iter().map(Arc::as_ref);
        sets.filter(|set| set.is_in() && (set.receive.is_some() || set.runs.is_some()))
    }

    /// A set with another test sound or averaging than the first is out of this group's results.
    fn flag_against_first(&mut self) {
        let signal = self.sets.iter().find_map(|set| set.signal);
        let response = self.sets.iter().find_map(|set| set.response.clone());
        for set in &mut self.sets {
            let mut flags = Vec::new();
            if set.signal.is_some() && set.signal != signal {
                flags.push(Raised::new(Flag::TrackDiffers, "another test sound than in the first set"));
            }
            if let (Some(own), Some(first)) = (&set.response, &response)
                && own != first
            {
                flags.push(Raised::new(
                    Flag::ResponseMixed,
                    format!("averaged by {own}, the first set by {first}"),
                ));
            }
            if flags.is_empty() {
                continue;
            }
            let set = Arc::make_mut(set);
            if !set.included {
                set.excluded.extend(flags.iter().map(|raised| format!("{}: {}", raised.flag, raised.words)));
            }
            set.flags.extend(flags);
            set.sentence = words::set(set);
        }
    }

    /// The set of the wall as it was found: the first exact one taken before anything changed, or else the first.
    pub(crate) fn first(&self) -> Option<&SetFinding> {
        let first = self.usable().next()?;
        let mut of_one_wall = self.usable().take_while(|set| !is_other_wall(first, set));
        Some(of_one_wall.find(|set| is_exact(set)).unwrap_or(first))
    }

    /// What a later exact set of the first wall changed against the first, dB: nothing, where nothing drifted.
    pub(crate) fn drift_db(&self, joins: &Findings<'_>) -> Option<f64> {
        let first = self.first()?;
        let again =
            self.usable().filter(|set| set.set != first.set && !is_other_wall(first, set) && is_exact(set));
        Some(change::between(joins, first, again.last()?, None).value?.value)
    }

    /// The first set and the one that answers: the latest of another assembly, exact before a bound.
    pub(crate) fn first_and_last(&self) -> Option<(&SetFinding, &SetFinding)> {
        let first = self.first()?;
        let last = self.usable().filter(|set| set.set != first.set && is_other_wall(first, set)).last()?;
        Some((first, self.best_of(last)))
    }

    /// Of sets of one assembly taken from this one back: the latest exact one, or this one where all are bounds.
    fn best_of<'a>(&'a self, last: &'a SetFinding) -> &'a SetFinding {
        let same = self.usable().filter(|set| !is_other_wall(last, set));
        same.filter(|set| is_exact(set)).last().unwrap_or(last)
    }

    /// Level differences of sets of one assembly, where there are two or more: repeats of the whole set.
    pub(crate) fn repeats(&self) -> Vec<Vec<f64>> {
        let values = |sets: Vec<&SetFinding>| {
            sets.iter().filter_map(|set| set.level_difference).map(|difference| difference.value).collect()
        };
        self.repeated().into_iter().map(values).collect()
    }

    /// Exact sets of one assembly, where there are two or more.
    pub(crate) fn repeated(&self) -> Vec<Vec<&SetFinding>> {
        let mut groups: Vec<Vec<&SetFinding>> = Vec::new();
        for set in self.usable().filter(|set| is_exact(set)) {
            match groups.iter_mut().find(|group| !is_other_wall(group[0], set)) {
                Some(group) => group.push(set),
                None => groups.push(vec![set]),
            }
        }
        groups.into_iter().filter(|group| group.len() > 1).collect()
    }

    /// Works out the changes.
    pub(crate) fn compare(&mut self, joins: &Findings<'_>) {
        let usable: Vec<&SetFinding> = self.usable().collect();
        let Some(first) = self.first() else { return };
        let drift_db = self.drift_db(joins);
        let mut changes = Vec::new();
        for (index, set) in usable.iter().enumerate().skip(1) {
            if !is_other_wall(first, set) {
                continue;
            }
            changes.push(change::between(joins, first, set, drift_db));
            let before = usable[..index].iter().rev().find(|earlier| is_other_wall(earlier, set));
            if let Some(before) = before.map(|before| best_before(before, &usable[..index]))
                && before.set != first.set
                && is_other_wall(first, before)
            {
                changes.push(change::between(joins, before, set, drift_db));
            }
        }
        let headline = self.first_and_last().map(|(first, last)| {
            let is_it = |change: &&Change| (change.from.set, change.to.set) == (first.set, last.set);
            let known = changes.iter().find(is_it).cloned();
            known.unwrap_or_else(|| change::between(joins, first, last, drift_db))
        });
        let on_shared = on_shared(&usable);
        self.changes = changes;
        self.headline = headline;
        self.on_shared = on_shared;
        self.drift_db = drift_db;
    }
}

/// Of the earlier sets that show the same wall as `before`: the latest exact one.
fn best_before<'a>(before: &'a SetFinding, earlier: &[&'a SetFinding]) -> &'a SetFinding {
    let same = earlier.iter().rev().filter(|set| !is_other_wall(before, set));
    same.copied().find(|set| is_exact(set)).unwrap_or(before)
}

pub(crate) fn is_exact(set: &SetFinding) -> bool {
    set.level_difference.is_some_and(|difference| difference.bound == Sense::Exact)
}

/// Whether two sets show different walls.
///
/// A repeat shows the wall it repeats. Two stages of one assembly version are different walls all the same: somebody did not
/// write down a new version, and the change is real.
pub(crate) fn is_other_wall(one: &SetFinding, other: &SetFinding) -> bool {
    let repeats =
        [one, other].iter().any(|set| set.stage.as_deref() == Some("repeat")) || one.stage == other.stage;
    one.assembly.is_none() || one.assembly != other.assembly || !repeats
}

fn on_shared(sets: &[&SetFinding]) -> Option<OnShared> {
    let [first, rest @ ..] = sets else { return None };
    let receive = first.receive.as_ref()?;
    if rest.is_empty() || sets.iter().any(|set| set.source.is_none()) {
        return None;
    }
    let in_all = |position: Option<RecordId>| {
        position.is_some()
            && rest.iter().all(|set| {
                set.receive
                    .as_ref()
                    .is_some_and(|side| side.positions.iter().any(|place| place.position == position))
            })
    };
    let shared: Vec<_> = receive.positions.iter().filter(|place| in_all(place.position)).collect();
    let all_have_all =
        sets.iter().all(|set| set.receive.as_ref().is_some_and(|side| side.positions.len() == shared.len()));
    if shared.is_empty() || all_have_all {
        return None;
    }
    let values = sets.iter().filter_map(|set| {
        let places =
            |position| set.receive.as_ref()?.positions.iter().find(|place| place.position == position);
        let levels: Vec<f64> =
            shared.iter().filter_map(|place| places(place.position)).map(|place| place.level_db).collect();
        let mean_db = storypole_acoustics::levels::energy_mean(&levels).ok()?;
        let (receive_db, background) = crate::set_finding::corrected_receive(set, mean_db);
        let bound = background.map_or(Sense::Exact, |background| background.sense()).negated();
        let value = set.source.as_ref()?.mean_db - receive_db;
        Some((set.set, set.label.clone(), Estimate { value, bound }))
    });
    Some(OnShared {
        positions: shared.iter().map(|place| place.label.clone()).collect(),
        values: values.collect(),
    })
}

/// Changes of the same pair of walls measured both ways.
pub(crate) fn both_ways(groups: &[Group]) -> Vec<BothWays> {
    let mut found = Vec::new();
    for (index, there) in groups.iter().enumerate() {
        for back in &groups[index + 1..] {
            if there.unit != back.unit || !there.direction.is_reverse_of(&back.direction) {
                continue;
            }
            if let (Some(one), Some(other)) = (&there.headline, &back.headline)
                && (one.from.assembly, one.to.assembly) == (other.from.assembly, other.to.assembly)
            {
                found.extend(agreement(one, other));
            }
        }
    }
    found
}

fn agreement(one: &Change, other: &Change) -> Option<BothWays> {
    let exact =
        |change: &Change| change.value.filter(|value| value.bound == Sense::Exact).map(|value| value.value);
    let (there, back) = (exact(one)?, exact(other)?);
    let apart_db = (there - back).abs();
    let agree = apart_db <= rules::BOTH_WAYS_DB;
    let verdict = if agree {
        format!("The two ways agree within {} dB.", print::decimals(apart_db.ceil().max(1.0), 0))
    } else {
        "The two ways do not agree: something other than the wall differs.".to_owned()
    };
    let words = |change: &Change, value| format!("{} {} dB", change.direction.words, print::signed(value, 1));
    let parted = if one.open_studs || other.open_studs { parted(one, other) } else { None };
    let room = parted.filter(|_| !agree).map_or_else(String::new, |swap| {
        let (softer, other) = if there > back { (one, other) } else { (other, one) };
        format!(
            " Studs were open: where the fill faced only the room heard in {}, the wall itself changed by {} dB, as heard {}, and {} dB belong \
             to that room.",
            softer.direction.words,
            print::signed(swap.wall_db, 1),
            other.direction.words,
            print::signed(swap.artefact_db, 1),
        )
    });
    Some(BothWays {
        there: (one.direction.words.clone(), there),
        back: (other.direction.words.clone(), back),
        apart_db,
        agree,
        parted,
        sentence: format!(
            "{}, {}: {} dB apart. {verdict}{room}",
            words(one, there),
            words(other, back),
            print::decimals(apart_db, 1)
        ),
    })
}

/// Parts wall and room of two changes of one wall: the way with the greater change is taken for the one into the softer room.
fn parted(one: &Change, other: &Change) -> Option<confounders::Swap> {
    let exact = |estimate: Option<Estimate>| {
        estimate.filter(|estimate| estimate.bound == Sense::Exact).map(|estimate| estimate.value)
    };
    let ends = |change: &Change| Some((exact(change.before)?, exact(change.after)?));
    let (mut softer, mut harder) = (ends(one)?, ends(other)?);
    if softer.1 - softer.0 < harder.1 - harder.0 {
        std::mem::swap(&mut softer, &mut harder);
    }
    // The standard uncertainty of one level difference: that of a change, over the root of two.
    let u_db = one.budget.u_db?.max(other.budget.u_db?) / std::f64::consts::SQRT_2;
    let way = |d12_db, d21_db| confounders::BothWays { d12_db, d21_db };
    confounders::swap(way(softer.0, harder.0), way(softer.1, harder.1), u_db).ok()
}

impl Findings<'_> {
    /// What a test shows.
    pub fn test(&self, test: RecordId) -> Option<Arc<TestFinding>> {
        self.kept().test(test, || self.work_out_test(test))
    }

    fn work_out_test(&self, test: RecordId) -> Option<TestFinding> {
        let record = self.book.tests.get(test)?;
        let measures = record.measures.clone().unwrap_or_else(|| "level-difference".to_owned());
        let mut groups = groups(self, test);
        let bench = (record.bench_rig == Some(true)).then(|| crate::bench_rig::find(self, record, &groups));
        let is_level = measures == "level-difference";
        let quantity = crate::quantity::find(self, record);
        // One answer, whichever shape a reader takes.
        let said = quantity.as_ref().map(|quantity| quantity.sentences.join(" "));
        let thermal = said.map(|said| crate::thermal::find(self, record, said));
        if is_level {
            groups.iter_mut().for_each(|group| group.compare(self));
        }
        let mut finding = TestFinding {
            test,
            label: record.label.clone().unwrap_or_default(),
            question: record.question.clone().unwrap_or_default(),
            struck: record.meta.struck.as_deref().map(|reason| reason.trim_end_matches('.').to_owned()),
            measures,
            both_ways: both_ways(&groups),
            groups,
            controls: control_groups(self, test),
            bench,
            quantity,
            thermal,
            sentences: Vec::new(),
        };
        finding.sentences = sentences(&finding);
        Some(finding)
    }
}

fn sentences(finding: &TestFinding) -> Vec<String> {
    let mut said: Vec<String> =
        finding.struck.iter().map(|reason| format!("This test was struck: {reason}.")).collect();
    if let Some(bench) = &finding.bench {
        said.extend(bench.sentences.iter().cloned());
    } else if let Some(quantity) = &finding.quantity {
        said.extend(quantity.sentences.iter().cloned());
    } else {
        for group in &finding.groups {
            let unread: Vec<&str> =
                group.sets.iter().filter(|set| !set.is_read()).map(|set| set.label.as_str()).collect();
            if !unread.is_empty() {
                said.push(no_readings(&unread));
            }
            if unread.len() == group.sets.len() {
                continue;
            }
            let of = match group.unit {
                Some(unit) => format!("{} ({unit})", group.direction.words),
                None => group.direction.words.clone(),
            };
            match &group.headline {
                Some(change) => {
                    said.push(format!("{of}: {} {}", change.sentence, change.numbers));
                    said.extend(words::limited(change));
                    said.extend(change.control.iter().map(|control| control.sentence.clone()));
                }
                None if group.usable().count() == 0 => said.push(format!("{of}: no set in results.")),
                None => said.push(format!("{of}: {}", unanswered(group))),
            }
        }
        said.extend(finding.controls.iter().filter_map(|group| uncontrolled(finding, group)));
        said.extend(finding.both_ways.iter().map(|both| both.sentence.clone()));
        if finding.groups.is_empty() {
            said.push("No set of readings yet: take one while the wall stands as it was.".to_owned());
        }
    }
    said.extend(finding.out().map(|set| format!("{} is out: {}.", set.label, set.excluded.join("; "))));
    said
}

/// What is missing where a group has sets in results and no change.
fn unanswered(group: &Group) -> String {
    let stages: Vec<&str> = group.usable().filter_map(|set| set.stage.as_deref()).collect();
    if !stages.is_empty() && stages.iter().all(|stage| *stage == "after" || *stage == "finished") {
        return "measured after the work only, so there is nothing to compare with: the wall as it was is not in results."
            .to_owned();
    }
    "no second wall to compare with yet.".to_owned()
}

/// What an untouched wall lacks to say anything.
fn uncontrolled(finding: &TestFinding, group: &Group) -> Option<String> {
    let usable: Vec<&SetFinding> = group.usable().collect();
    let [only] = usable.as_slice() else { return None };
    let changes = finding.groups.iter().flat_map(|group| &group.changes);
    let is_used = |change: &Change| {
        change.control.as_ref().is_some_and(|control| [control.from.set, control.to.set].contains(&only.set))
    };
    (!changes.into_iter().any(is_used)).then(|| {
        format!(
            "{}, the untouched wall: measured once ({}); measure it again with the rebuilt one, to see what else changed.",
            group.direction.words, only.label
        )
    })
}

/// That sets were begun and nothing was read in them.
pub(crate) fn no_readings(labels: &[&str]) -> String {
    let has = if labels.len() == 1 { "has" } else { "have" };
    format!("{} {has} no readings yet.", print::list(labels))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::change::Claim;
    use crate::fixture::{self, Builder, SetRow};

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
        receive: "60.0 60.4 59.8",
        background: "20.0",
    };

    fn test_of(sets: &[SetRow], more: impl FnOnce(&mut Builder)) -> TestFinding {
        let mut builder = fixture::builder();
        builder.test("X1", false);
        sets.iter().for_each(|set| builder.set(set));
        more(&mut builder);
        crate::test_finding(&builder.book, fixture::id("test", "X1")).unwrap()
    }

    fn lines(group: &Group) -> Vec<String> {
        let line = |change: &Change| {
            let value = change.value.map_or("-".into(), |value| print::signed(value.value, 1));
            format!("{} {} {value} {}", change.from.label, change.to.label, change.claim.word())
        };
        group.changes.iter().map(line).collect()
    }

    #[test]
    fn every_change_of_the_demo_matches() {
        // Demo scenario, invented; computed independently from its readings.
        let book = fixture::demo();
        let of = |label: &str| crate::test_finding(&book, fixture::id("test", label)).unwrap();
        let music = of("Q1");
        let words: Vec<String> = music
            .groups
            .iter()
            .map(|group| format!("{} {}", group.direction.words, group.unit.unwrap()))
            .collect();
        assert_eq!(
            words,
            [
                "music-practice room to hall dBA",
                "hall to music-practice room dBA",
                "music-practice room to hall dBC"
            ]
        );
        assert_eq!(
            lines(&music.groups[0]),
            [
                "T01 T03 -2.2 claimed",
                "T01 T04 +0.8 no claim",
                "T03 T04 +3.1 claimed",
                "T01 T05 +11.2 claimed",
                "T04 T05 +10.4 claimed",
            ]
        );
        assert_eq!(lines(&music.groups[1]), ["T02 T06 +11.7 at least", "T02 T07 +11.8 claimed"]);
        assert_eq!(lines(&music.groups[2]), ["T08 T09 +4.4 claimed"]);
        assert_eq!(music.headline().unwrap().to.label, "T05");
        assert_eq!(music.groups[1].headline.as_ref().unwrap().to.label, "T07", "the exact repeat leads");
        assert_eq!(
            (print::decimals(music.both_ways[0].apart_db, 1), music.both_ways[0].agree),
            ("0.6".into(), true)
        );
        let party = of("Q2");
        assert_eq!(
            lines(&party.groups[0]),
            ["T10 T11 +3.2 claimed", "T10 T13 +5.9 claimed", "T11 T13 +2.7 claimed"]
        );
        assert_eq!(party.out().map(|set| set.label.as_str()).collect::<Vec<_>>(), ["T12"]);
        assert!(
            party.sentences.iter().any(|said| said.contains("T12 is out") && said.contains("window ajar"))
        );
        let nursery = of("Q3");
        assert_eq!(
            lines(&nursery.groups[0]),
            ["T14 T15 +3.9 claimed", "T14 T16 +6.7 claimed", "T15 T16 +2.8 claimed"]
        );
        assert_eq!(nursery.groups[0].on_shared.as_ref().unwrap().positions, ["R1", "R2", "R3"]);
        assert_eq!(lines(&of("Q4").groups[0]), ["T17 T18 +0.1 no claim"]);
    }

    #[test]
    fn grades_of_the_demo_name_their_reasons() {
        let book = fixture::demo();
        let grade = |test: &str, from: &str, to: &str| {
            let test = crate::test_finding(&book, fixture::id("test", test)).unwrap();
            let changes = test.groups.iter().flat_map(|group| &group.changes);
            let change = changes
                .clone()
                .find(|change| (change.from.label.as_str(), change.to.label.as_str()) == (from, to))
                .unwrap();
            format!("{}: {}", change.grade.letter, change.grade.reasons().join("; "))
        };
        let usual =
            "B: only 4 positions; 2 readings at each position; the first state was not measured again";
        assert_eq!(grade("Q1", "T01", "T05"), usual);
        assert_eq!(grade("Q1", "T02", "T06"), "C: 3.7 dB over the background");
        assert!(grade("Q3", "T14", "T16").starts_with("B: only 3 positions"));
        assert!(grade("Q4", "T17", "T18").starts_with("D: studs showing in one"));
    }

    #[test]
    fn the_first_state_measured_again_checks_for_drift() {
        let after = SetRow {
            label: "S2",
            stage: "after",
            assembly: "A10",
            date: "2025-03-05",
            receive: "55.0 55.4 54.8",
            ..BEFORE
        };
        let again =
            SetRow { label: "S3", stage: "repeat", date: "2025-03-06", receive: "59.5 59.9 59.3", ..BEFORE };
        let test = test_of(&[BEFORE, after, again], |_| ());
        let group = &test.groups[0];
        assert_eq!(print::signed(group.drift_db.unwrap(), 1), "+0.5");
        assert_eq!(lines(group), ["S1 S2 +5.0 claimed"]);
        let drift = group.changes[0].grade.criteria.iter().find(|row| row.name == "drift").unwrap();
        assert_eq!(drift.letter, crate::Letter::A);
    }

    #[test]
    fn a_first_set_drowned_in_noise_gives_way_to_its_repeat() {
        let drowned = SetRow { background: "58.0", ..BEFORE };
        let again = SetRow { label: "S2", stage: "repeat", date: "2025-03-05", ..BEFORE };
        let after = SetRow {
            label: "S3",
            stage: "after",
            assembly: "A10",
            date: "2025-03-06",
            receive: "55.0 55.4 54.8",
            ..BEFORE
        };
        let test = test_of(&[drowned, again, after], |_| ());
        assert_eq!(lines(&test.groups[0]), ["S2 S3 +5.0 claimed"]);
        assert_eq!(test.headline().unwrap().from.label, "S2");
        assert_eq!(test.groups[0].drift_db, None, "a bound is no check for drift");
        let test = test_of(&[drowned, after], |_| ());
        assert_eq!(test.headline().unwrap().claim.word(), "at most", "with no repeat the bound has to do");
    }

    #[test]
    fn two_stages_of_one_version_are_compared_and_said() {
        let after =
            SetRow { label: "S2", stage: "after", date: "2025-03-05", receive: "55.0 55.4 54.8", ..BEFORE };
        let test = test_of(&[BEFORE, after], |_| ());
        assert_eq!(lines(&test.groups[0]), ["S1 S2 +5.0 claimed"]);
        assert!(
            test.groups[0].changes[0].beside.contains("write down what changed"),
            "{}",
            test.groups[0].changes[0].beside
        );
    }

    #[test]
    fn another_test_sound_or_averaging_is_out() {
        let after = SetRow { label: "S2", stage: "after", assembly: "A10", date: "2025-03-05", ..BEFORE };
        let test = test_of(&[BEFORE, after], |builder| {
            builder.amend("set", "S1", "signal", "signal:pink");
            builder.amend("set", "S2", "signal", "signal:music");
        });
        assert!(test.groups[0].sets[1].excluded[0].starts_with("track-differs"));
        assert!(test.headline().is_none());
        let test = test_of(&[BEFORE, after], |builder| {
            for name in ["R1", "R2", "R3", "S1", "S2", "S3"] {
                builder.amend("reading", &format!("S2/{name}"), "response", "fast-max");
            }
        });
        assert!(test.groups[0].sets[1].excluded[0].starts_with("response-mixed"));
    }

    #[test]
    fn sets_without_an_answer_say_why() {
        let test = test_of(&[], |_| ());
        assert!(test.groups.is_empty() && test.headline().is_none());
        assert_eq!(test.sentences, ["No set of readings yet: take one while the wall stands as it was."]);
        let test = test_of(&[BEFORE], |_| ());
        assert_eq!(
            test.sentences,
            ["music-practice room to hall (dBA): no second wall to compare with yet."]
        );
        let empty = SetRow { label: "S2", source: "", receive: "", background: "", ..BEFORE };
        let test = test_of(&[empty], |_| ());
        assert_eq!(
            test.sentences,
            ["S2 has no readings yet."],
            "a set without readings is not out of results"
        );
        let test = test_of(&[BEFORE], |builder| builder.amend("set", "S1", "left_out", "yes"));
        assert!(test.sentences[0].ends_with("no set in results."), "{:?}", test.sentences);
        let unknown = crate::test_finding(&fixture::demo(), fixture::id("test", "none"));
        assert!(unknown.is_none());
    }

    #[test]
    fn two_ways_that_disagree_are_said_to() {
        let back = |row: SetRow, label| SetRow { label, from: "R2", to: "R1", ..row };
        let after = SetRow {
            label: "S2",
            stage: "after",
            assembly: "A10",
            date: "2025-03-05",
            receive: "50.0 50.4 49.8",
            ..BEFORE
        };
        let sets =
            [BEFORE, after, back(BEFORE, "S3"), back(SetRow { receive: "55.0 55.4 54.8", ..after }, "S4")];
        let test = test_of(&sets, |_| ());
        assert!(
            !test.both_ways[0].agree && test.both_ways[0].sentence.contains("do not agree"),
            "{:?}",
            test.both_ways
        );
        assert!(matches!(test.headline().unwrap().claim, Claim::Claimed));
    }

    #[test]
    fn fill_in_open_studs_is_parted_from_the_room_it_faces() {
        // Worked with diffuse-field theory: the way into the room with the fill gains 2.9 dB, the way back 0.6 dB, so 0.6 dB are the
        // wall's and 2.3 dB the room's (10 lg of its absorption after to before).
        let one = |row: SetRow, label, receive| SetRow { label, receive, assembly: "A02", ..row };
        let filled = SetRow { stage: "filled", date: "2025-03-05", ..BEFORE };
        let back = |row: SetRow| SetRow { from: "R2", to: "R1", ..row };
        let sets = [
            one(BEFORE, "S1", "57.0 57.0 57.0"),
            one(filled, "S2", "54.1 54.1 54.1"),
            back(one(BEFORE, "S3", "56.6 56.6 56.6")),
            back(one(filled, "S4", "56.0 56.0 56.0")),
        ];
        let test = test_of(&sets, |_| ());
        let both = &test.both_ways[0];
        let swap = both.parted.expect("studs were open");
        assert!((swap.wall_db - 0.6).abs() < 1e-9 && (swap.artefact_db - 2.3).abs() < 1e-9, "{swap:?}");
        assert!(both.sentence.contains("the wall itself changed by +0.6 dB"), "{}", both.sentence);
        assert!(both.sentence.contains("+2.3 dB belong to that room"), "{}", both.sentence);
    }
}
