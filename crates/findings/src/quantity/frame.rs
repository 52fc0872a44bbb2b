//! The frame every quantity is worked out in: sets to states, states to changes, changes to claims.
//!
//! Leaves out how a number comes from readings: each quantity is a [`Method`] in a file of its own.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::kinds::{Set, Site, Test};
use storypole_statistics::repeatability;

use super::readings::Readings;
use super::scatter::{Joined, Part};
use super::verdict::{self, Around};
use super::{
    Input, Kept, Measured, Missing, Odd, Oddity, QuantityChange, QuantityFinding, QuantityKind, State, beside,
};
use crate::Findings;
use crate::budget::Interval;
use crate::set_finding::SetFinding;
use crate::test_finding::{is_other_wall, stage_rank};

/// What a method gets to see of one state.
pub(super) struct At<'a, 'b> {
    pub(super) joins: &'b Findings<'a>,
    pub(super) sets: Vec<&'b SetFinding>,
    pub(super) readings: Readings<'a>,
    /// The site of the job.
    pub(super) site: Option<&'a Site>,
    /// The meter, where all sets of the state name one and the same.
    pub(super) meter: Option<RecordId>,
}

impl<'a> At<'a, '_> {
    pub(super) fn first(&self) -> &SetFinding {
        self.sets[0]
    }

    pub(super) fn records(&self) -> impl Iterator<Item = &'a Set> {
        self.sets.iter().filter_map(|set| self.joins.book.sets.get(set.set))
    }
}

/// What a method makes of one state.
#[derive(Debug, Default)]
pub(super) struct Worked {
    pub(super) inputs: Vec<Input>,
    pub(super) values: Vec<Measured>,
    pub(super) rules: Vec<Kept>,
    pub(super) flags: Vec<Odd>,
    pub(super) notes: Vec<String>,
}

/// Words of a change: what it is called in either direction and how finely it prints.
#[derive(Debug, Clone, Copy)]
pub(super) struct Manner {
    pub(super) more: &'static str,
    pub(super) less: &'static str,
    /// What it was read at: `spot`, `point`, `day`.
    pub(super) of: &'static str,
    /// Decimals where no interval tells them.
    pub(super) places: usize,
    /// Whether the verdict is on the ratio.
    pub(super) in_percent: bool,
}

/// Two states subtracted, before claims and grades.
pub(super) struct Difference {
    pub(super) name: String,
    pub(super) unit: &'static str,
    pub(super) before: Option<f64>,
    pub(super) after: Option<f64>,
    pub(super) value: Option<f64>,
    /// Terms of its uncertainty; `None` where nothing tells the scatter.
    pub(super) parts: Option<Vec<Part>>,
    /// Logarithm of after over before, with its terms.
    pub(super) ln_ratio: Option<(f64, Option<Vec<Part>>)>,
    pub(super) absent: Option<Missing>,
    pub(super) count: usize,
    /// Fewest readings at a spot in a state; `None` where repeats at a spot mean nothing.
    pub(super) replicates: Option<usize>,
    pub(super) paired: bool,
    pub(super) shared: Vec<String>,
    pub(super) left_off: Vec<String>,
    pub(super) notes: Vec<String>,
    /// The numbers of both states, as a sentence without its end.
    pub(super) lead: String,
    pub(super) manner: Manner,
}

impl Difference {
    /// One without a number.
    pub(super) fn absent(
        name: impl Into<String>,
        unit: &'static str,
        absent: Missing,
        manner: Manner,
    ) -> Self {
        Self {
            name: name.into(),
            unit,
            before: None,
            after: None,
            value: None,
            parts: None,
            ln_ratio: None,
            absent: Some(absent),
            count: 0,
            replicates: None,
            paired: false,
            shared: Vec::new(),
            left_off: Vec::new(),
            notes: Vec::new(),
            lead: String::new(),
            manner,
        }
    }
}

/// How one quantity is worked out.
pub(super) trait Method {
    /// What a state keeps for comparing.
    type Raw;

    /// Whether sets of one wall and stage make one state, as days do.
    fn joins_sets(&self) -> bool {
        false
    }

    /// Whether a second set of the same wall and stage is a repeat, and not a later moment of something that moves.
    fn repeats(&self) -> bool {
        true
    }

    /// Subjects it works with; the others stand beside.
    fn subjects(&self) -> &'static [&'static str];

    /// Works out one state.
    fn state(&self, at: &At<'_, '_>) -> (Worked, Self::Raw);

    /// Subtracts an earlier state from a later one.
    fn differ(&self, before: (&At<'_, '_>, &Self::Raw), after: (&At<'_, '_>, &Self::Raw)) -> Vec<Difference>;

    /// What only all states together tell, in sentences.
    fn over_all(&self, states: &[(&At<'_, '_>, &Self::Raw)]) -> Vec<String> {
        let _ = states;
        Vec::new()
    }

    /// What a reader should not take from it.
    fn cautions(&self) -> &'static [&'static str];
}

/// Works out a test by a method.
pub(super) fn work_out<M: Method>(
    joins: &Findings<'_>,
    test: &Test,
    kind: QuantityKind,
    method: &M,
) -> QuantityFinding {
    let (sets, mut notes) = ordered(joins, test);
    let ats: Vec<At<'_, '_>> =
        rows(&sets, method.joins_sets()).into_iter().map(|sets| at(joins, test, sets)).collect();
    let mut states = Vec::new();
    let mut raws = Vec::new();
    for at in &ats {
        let (worked, raw) = method.state(at);
        notes.extend(worked.notes.iter().cloned());
        states.push(state(at, worked));
        raws.push(raw);
    }
    dates_odd(&mut states);
    let changes = changes(joins, method, &ats, &raws, &states);
    let all: Vec<(&At<'_, '_>, &M::Raw)> = ats.iter().zip(&raws).collect();
    let mut flags: Vec<Odd> = states.iter().flat_map(|state| named(state, &state.flags)).collect();
    flags.sort();
    flags.dedup();
    notes.extend(changes.iter().flat_map(|change| change.notes.iter().cloned()));
    let mut seen = std::collections::BTreeSet::new();
    notes.retain(|note| seen.insert(note.clone()));
    let mut finding = QuantityFinding {
        test: test.id,
        quantity: kind,
        beside: beside::of(&ats, method.subjects()),
        states,
        changes,
        flags,
        cautions: method.cautions().iter().map(|text| (*text).to_owned()).collect(),
        notes,
        sentences: Vec::new(),
    };
    finding.sentences = verdict::sentences(&finding, method.over_all(&all));
    finding
}

/// Every later state against the first, and against the one before it where that is another.
fn changes<M: Method>(
    joins: &Findings<'_>,
    method: &M,
    ats: &[At<'_, '_>],
    raws: &[M::Raw],
    states: &[State],
) -> Vec<QuantityChange> {
    let repeats = Repeats::of(ats, states, method.repeats());
    let mut changes = Vec::new();
    for second in 1..ats.len() {
        let earlier = if second == 1 { vec![0] } else { vec![0, second - 1] };
        for first in earlier {
            let differences = method.differ((&ats[first], &raws[first]), (&ats[second], &raws[second]));
            changes.extend(differences.into_iter().map(|difference| {
                let around = repeats.of_pair(joins, ats, (first, second), &difference.name);
                verdict::change(difference, (&states[first], &states[second]), &around)
            }));
        }
    }
    changes
}

fn named<'a>(state: &'a State, flags: &'a [Odd]) -> impl Iterator<Item = Odd> + 'a {
    flags.iter().map(|odd| Odd::new(odd.flag, format!("{}: {}", state.label, odd.words)))
}

/// Sets in results in the order they were taken, and what is said of those aside.
fn ordered<'b>(joins: &'b Findings<'_>, test: &Test) -> (Vec<&'b SetFinding>, Vec<String>) {
    let record = |set: &SetFinding| joins.book.sets.get(set.set);
    let (control, mut sets): (Vec<&SetFinding>, Vec<&SetFinding>) = joins
        .sets_of_test(test.id)
        .map(AsRef::as_ref)
        .filter(|set: &&SetFinding| set.is_in())
        .partition(|set| record(set).is_some_and(|set| set.control == Some(true)));
    sets.sort_by_cached_key(|set| {
        let started = record(set).and_then(|set| set.started_at).map(|at| at.unix_ms);
        (set.date, started, stage_rank(set.stage.as_deref()), set.label.clone(), set.set)
    });
    let aside = |set: &&SetFinding| format!("{} is of an untouched place and stands aside.", set.label);
    (sets, control.iter().map(aside).collect())
}

/// Sets that make one state each; sets of one wall and stage together where days are what counts.
fn rows<'b>(sets: &[&'b SetFinding], joined: bool) -> Vec<Vec<&'b SetFinding>> {
    let mut rows: Vec<Vec<&SetFinding>> = Vec::new();
    for set in sets {
        match rows.last_mut().filter(|row| joined && !is_other_wall(row[0], set)) {
            Some(row) => row.push(set),
            None => rows.push(vec![set]),
        }
    }
    rows
}

fn at<'a, 'b>(joins: &'b Findings<'a>, test: &Test, sets: Vec<&'b SetFinding>) -> At<'a, 'b> {
    let book = joins.book;
    let job = book.jobs.of(sets[0].job).or_else(|| book.jobs.of(test.job));
    let mut meters = sets.iter().map(|set| book.sets.get(set.set).and_then(|set| set.meter));
    let meter = meters.next().flatten();
    At {
        joins,
        readings: Readings::of(joins, &sets),
        site: job.and_then(|job| book.sites.of(job.site)),
        meter: meter.filter(|first| meters.all(|meter| meter == Some(*first))),
        sets,
    }
}

fn state(at: &At<'_, '_>, worked: Worked) -> State {
    let first = at.first();
    let label = match at.sets.as_slice() {
        [.., last] if at.sets.len() > 1 => format!("{} to {}", first.label, last.label),
        _ => first.label.clone(),
    };
    let mut flags = worked.flags;
    flags.extend(at.readings.left_out.iter().map(|words| Odd::new(Oddity::ReadingLeftOut, words.clone())));
    State {
        set: first.set,
        sets: at.sets.iter().map(|set| set.set).collect(),
        label,
        date: first.date,
        stage: first.stage.clone(),
        assembly: first.assembly,
        assembly_label: first.assembly_label.clone(),
        included: at.sets.iter().all(|set| set.included),
        inputs: worked.inputs,
        values: worked.values,
        rules: worked.rules,
        flags,
    }
}

/// Flags a state called before that is dated after one in which work had been done.
fn dates_odd(states: &mut [State]) {
    let mut worked_on: Option<(String, Option<jiff::civil::Date>)> = None;
    for state in states {
        let stage = state.stage.as_deref();
        match &worked_on {
            Some((label, date)) if stage == Some("before") && *date < state.date => {
                let words = format!("called before, and dated after {label}: check the dates");
                state.flags.push(Odd::new(Oddity::DatesOdd, words));
            }
            Some(_) => (),
            None if stage_rank(stage) > 0 && stage != Some("repeat") && stage.is_some() => {
                worked_on = Some((state.label.clone(), state.date));
            }
            None => (),
        }
    }
}

/// How far repeats of one state lie apart, by what was measured.
struct Repeats {
    sd: BTreeMap<String, f64>,
    /// The first state measured again less the first, by what was measured.
    drift: BTreeMap<String, f64>,
    count: bool,
}

impl Repeats {
    fn of(ats: &[At<'_, '_>], states: &[State], count: bool) -> Self {
        let mut found = Self { sd: BTreeMap::new(), drift: BTreeMap::new(), count };
        if !count {
            return found;
        }
        let mut groups: BTreeMap<&str, Vec<(usize, Vec<f64>)>> = BTreeMap::new();
        for (index, state) in states.iter().enumerate() {
            for (name, value) in state.values.iter().filter_map(|one| Some((one.name.as_str(), one.value?))) {
                let walls = groups.entry(name).or_default();
                let same =
                    |wall: &&mut (usize, Vec<f64>)| !is_other_wall(ats[wall.0].first(), ats[index].first());
                match walls.iter_mut().find(same) {
                    Some(wall) => wall.1.push(value),
                    None => walls.push((index, vec![value])),
                }
            }
        }
        for (name, walls) in groups {
            if let Some((0, values)) = walls.first()
                && let [first, .., again] = values.as_slice()
            {
                found.drift.insert(name.to_owned(), again - first);
            }
            let values: Vec<Vec<f64>> = walls.into_iter().map(|wall| wall.1).collect();
            if let Ok(Ok(pooled)) = repeatability::pooled(&values) {
                found.sd.insert(name.to_owned(), pooled.sd);
            }
        }
        found
    }

    fn of_pair(
        &self,
        joins: &Findings<'_>,
        ats: &[At<'_, '_>],
        (first, second): (usize, usize),
        name: &str,
    ) -> Around {
        let (from, to) = (ats[first].first(), ats[second].first());
        Around {
            from: verdict::set_ref(from),
            to: verdict::set_ref(to),
            again: self.count && !is_other_wall(from, to),
            repeats_sd: self.sd.get(name).copied(),
            drift: self.drift.get(name).copied(),
            drift_counts: self.count,
            problems: crate::change::graded::problems(joins, from, to),
            noted: ats[first]
                .records()
                .chain(ats[second].records())
                .any(|set| !joins.conditions_of(set).is_empty()),
        }
    }
}

/// A number of a state with its terms.
pub(super) fn measured(
    name: impl Into<String>,
    unit: &'static str,
    value: f64,
    parts: Option<&[Part]>,
    count: usize,
) -> Measured {
    let joined = parts.and_then(Joined::of);
    Measured {
        name: name.into(),
        unit,
        value: Some(value),
        u: joined.as_ref().map(|joined| joined.u),
        dof: joined.as_ref().and_then(|joined| joined.dof),
        interval: joined.as_ref().and_then(|joined| joined.interval(value)),
        count,
        absent: None,
    }
}

/// A number above zero with terms of its logarithm: the interval is one of ratios.
pub(super) fn measured_by_ln(
    name: impl Into<String>,
    unit: &'static str,
    value: f64,
    parts: Option<&[Part]>,
    count: usize,
) -> Measured {
    let joined = parts.and_then(Joined::of);
    let interval = joined
        .as_ref()
        .and_then(|joined| joined.interval(0.0))
        .map(|ln| Interval { low: value * ln.low.exp(), high: value * ln.high.exp() });
    Measured {
        name: name.into(),
        unit,
        value: Some(value),
        u: joined.as_ref().map(|joined| joined.u * value),
        dof: joined.as_ref().and_then(|joined| joined.dof),
        interval: interval.filter(|interval| interval.high.is_finite()),
        count,
        absent: None,
    }
}
