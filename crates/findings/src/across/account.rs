//! Where every set of a wall test went: into a pool, or left out for one reason that is said.
//!
//! Tests that are planned and not finished are counted too, so that a good average cannot come from dropping the rest.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use storypole_journal::RecordId;
use storypole_notebook::kinds::Test;

use super::pool::{LeftOut, Pool};
use super::rows::{Measure, Row, wall_tests};
use crate::set_finding::SetFinding;
use crate::{Findings, test_finding};

/// How many tests there are, and how many of them count.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counted {
    /// Tests of walls that were ever planned, struck ones too.
    pub planned: usize,
    /// Of these, finished: with a result, even if it is left out.
    pub finished: usize,
    /// Of the finished ones, those of which nothing stands in a pool.
    pub left_out: usize,
}

/// What became of the sets of every test.
pub(super) struct Account {
    pub(super) tests: Counted,
    pub(super) left_out: Vec<LeftOut>,
}

/// Why rows and sets were left out so far, with the sets that count.
pub(super) struct Standing<'r> {
    pub(super) measure: Measure,
    pub(super) pools: &'r [Pool],
    /// Rows of walls that no class is known of.
    pub(super) unmatched: &'r [Row],
}

const UNMATCHED: &str =
    "a part of the wall is not written down or cannot be read, so nothing says which walls it is like";

/// Finds one reason for each set that counts in no pool.
pub(super) fn account(findings: &Findings<'_>, standing: &Standing<'_>) -> Account {
    let used: BTreeSet<RecordId> = standing
        .pools
        .iter()
        .flat_map(|pool| &pool.rows)
        .flat_map(|row| row.set_ids.iter().copied())
        .collect();
    let reasons = reasons(standing);
    let mut tests = Counted::default();
    let mut left_out: Vec<LeftOut> = Vec::new();
    for test in wall_tests(findings) {
        tests.planned += 1;
        let groups = test_finding::groups(findings, test.id);
        let controls = test_finding::control_groups(findings, test.id);
        let sets = || groups.iter().flat_map(|group| &group.sets).map(Arc::as_ref);
        let counts = sets().any(|set| used.contains(&set.set));
        if counts || is_finished(standing.measure, sets()) {
            tests.finished += 1;
            tests.left_out += usize::from(!counts);
        }
        for group in groups.iter().chain(&controls) {
            let counted: BTreeSet<Option<RecordId>> =
                group.sets.iter().filter(|set| used.contains(&set.set)).map(|set| set.assembly).collect();
            for set in group.sets.iter().filter(|set| !used.contains(&set.set)) {
                let why = match reasons.get(&set.set) {
                    Some(why) if set.is_in() => why.clone(),
                    _ => why_out(findings, standing.measure, set, counted.contains(&set.assembly)),
                };
                add(&mut left_out, findings, set, why);
            }
        }
    }
    tests.planned += struck(findings, &mut left_out);
    Account { tests, left_out }
}

/// Reasons known from rows, by set; the first one found stands.
fn reasons(standing: &Standing<'_>) -> BTreeMap<RecordId, String> {
    let mut reasons = BTreeMap::new();
    let mut note = |sets: &[RecordId], why: &str| {
        for set in sets {
            reasons.entry(*set).or_insert_with(|| why.to_owned());
        }
    };
    for left in standing.pools.iter().flat_map(|pool| &pool.left_out) {
        note(&left.sets, &left.why);
    }
    for row in standing.unmatched {
        note(&row.set_ids, UNMATCHED);
    }
    let rows = standing.pools.iter().flat_map(|pool| &pool.rows).chain(standing.unmatched);
    for aside in rows.flat_map(|row| &row.aside) {
        note(&aside.sets, aside.why);
    }
    reasons
}

/// Whether a test was carried through: a level wants one set that was read, a change two walls.
fn is_finished<'s>(measure: Measure, sets: impl Iterator<Item = &'s SetFinding>) -> bool {
    let mut read = sets.filter(|set| set.receive.is_some());
    match measure {
        Measure::Level => read.next().is_some(),
        Measure::Change => {
            read.next().is_some_and(|first| read.any(|set| test_finding::is_other_wall(first, set)))
        }
    }
}

fn why_out(findings: &Findings<'_>, measure: Measure, set: &SetFinding, another_counts: bool) -> String {
    if !set.is_in() {
        return set.excluded.join("; ");
    }
    if !set.is_read() {
        return "no readings yet".to_owned();
    }
    if set.control {
        return "an untouched wall beside the rebuilt one".to_owned();
    }
    if set.assembly.is_none() || findings.book.assemblies.of(set.assembly).is_none() {
        return "names no wall".to_owned();
    }
    if let Some(absent) = set.absent {
        return absent.to_string();
    }
    if another_counts {
        return "another set of the same wall stands for it".to_owned();
    }
    match measure {
        Measure::Change => "the wall as the job found or left it was not measured this way".to_owned(),
        Measure::Level => "its level difference stands in no row".to_owned(),
    }
}

/// One entry for each job, set of reasons and test is enough: sets of one reason stand together.
fn add(left_out: &mut Vec<LeftOut>, findings: &Findings<'_>, set: &SetFinding, why: String) {
    let joins = |last: &&mut LeftOut| last.job == set.job && last.why == why;
    match left_out.last_mut().filter(|last| joins(last)) {
        Some(last) => {
            last.sets.push(set.set);
            last.set_labels.push(set.label.clone());
        }
        None => left_out.push(LeftOut {
            job: set.job,
            job_label: findings.job_label(set.job),
            sets: vec![set.set],
            set_labels: vec![set.label.clone()],
            why,
        }),
    }
}

/// Struck sets of wall tests, and how many wall tests were struck as a whole.
fn struck(findings: &Findings<'_>, left_out: &mut Vec<LeftOut>) -> usize {
    let is_wall = |test: &Test| {
        matches!(test.measures.as_deref(), None | Some("level-difference")) && test.bench_rig != Some(true)
    };
    let mut of_struck_test: BTreeMap<RecordId, String> = BTreeMap::new();
    for test in findings.book.tests.all().filter(|test| is_wall(test)) {
        if let Some(why) = &test.meta.struck {
            of_struck_test.insert(test.id, format!("its test was struck: {why}"));
        }
    }
    for set in findings.book.sets.all() {
        let Some(test) = set.test else { continue };
        let why = match &set.meta.struck {
            Some(why) if findings.book.tests.get(test).is_some_and(is_wall) => format!("struck: {why}"),
            None => match of_struck_test.get(&test) {
                Some(why) => why.clone(),
                None => continue,
            },
            Some(_) => continue,
        };
        if let Some(found) = findings.set(set.id) {
            add(left_out, findings, found, why);
        }
    }
    of_struck_test.len()
}
