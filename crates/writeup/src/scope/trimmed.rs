//! Findings without what the author left out, and a line for each thing that is gone.
//!
//! Numbers are not worked out anew: what is left shows what it showed before. Leaves out sections and figures.

use std::collections::BTreeSet;
use std::sync::Arc;

use storypole_findings::bench_rig::{BenchPair, BenchRow};
use storypole_findings::stages::Stages;
use storypole_findings::test_finding::Group;
use storypole_findings::{BenchFinding, Change, Findings, SetFinding, TestFinding};
use storypole_journal::RecordId;
use storypole_notebook::Book;

use crate::document::Part;
use crate::parts::{Held, Out};

/// A test without what was left out of it; `None` where nothing is left.
pub(super) fn test(test: Arc<TestFinding>, out: &Out) -> Option<Arc<TestFinding>> {
    if out.has_test(test.test) {
        return None;
    }
    if !is_touched(&test, out) {
        return Some(test);
    }
    let gone: BTreeSet<String> =
        all_sets(&test).filter(|set| out.has_set(set.set)).map(|set| set.label.clone()).collect();
    let mut test = Arc::unwrap_or_clone(test);
    test.groups.iter_mut().chain(&mut test.controls).for_each(|group| trim_group(group, out));
    test.groups.retain(|group| !group.sets.is_empty());
    test.controls.retain(|group| !group.sets.is_empty());
    if test.groups.iter().any(|group| group.headline.is_none()) {
        test.both_ways.clear();
    }
    if let Some(bench) = &mut test.bench {
        trim_bench(bench, out, &gone);
    }
    let tells = |words: &String| !gone.iter().any(|label| words.contains(label.as_str()));
    if let Some(quantity) = &mut test.quantity {
        quantity.states.retain(|state| !state.sets.iter().any(|set| out.has_set(*set)));
        quantity.changes.retain(|change| !out.has_change(change.from.set, change.to.set));
        quantity.sentences.retain(tells);
        if quantity.headline().is_none() {
            quantity.sentences.clear();
        }
    }
    if let Some(thermal) = &mut test.thermal {
        thermal.states.retain(|state| !out.has_set(state.set));
    }
    (!test.groups.is_empty()).then(|| Arc::new(test))
}

fn all_sets(test: &TestFinding) -> impl Iterator<Item = &SetFinding> {
    test.groups.iter().chain(&test.controls).flat_map(|group| &group.sets).map(Arc::as_ref)
}

fn is_touched(test: &TestFinding, out: &Out) -> bool {
    all_sets(test).any(|set| {
        out.has_set(set.set) || out.changes.iter().any(|(from, to)| *from == set.set || *to == set.set)
    })
}

fn trim_group(group: &mut Group, out: &Out) {
    group.sets.retain(|set| !out.has_set(set.set));
    group.changes.retain(|change| !out.has_change(change.from.set, change.to.set));
    if let Some(headline) = &group.headline
        && out.has_change(headline.from.set, headline.to.set)
    {
        group.headline = None;
    }
    if let Some(shared) = &mut group.on_shared {
        shared.values.retain(|(set, ..)| !out.has_set(*set));
    }
}

/// Every result that can be left out, with what it is.
pub(super) fn results(held: &Held, tests: &[Arc<TestFinding>], out: &Out) -> Vec<Part> {
    let of_test = |id| tests.iter().find(|test| test.test == id).map(|test| test.question.clone());
    let of_set = |id| tests.iter().flat_map(|test| all_sets(test)).find(|set| set.set == id).map(about);
    held.results(out, |id| of_test(id).unwrap_or_default(), |id| of_set(id).unwrap_or_default())
}

/// A set in words: its stage, direction and unit.
fn about(set: &SetFinding) -> String {
    let stage = set.stage.as_deref().unwrap_or("no stage");
    let mut about = vec![stage.to_owned(), set.direction.words.clone()];
    about.extend(set.unit.map(|unit| unit.to_string()));
    about.retain(|words| !words.is_empty());
    about.join(", ")
}

/// Takes rows out and counts the pairs of the others anew.
fn trim_bench(bench: &mut BenchFinding, out: &Out, gone: &BTreeSet<String>) {
    let stays: Vec<bool> = bench.rows.iter().map(|row| !out.has_set(row.set)).collect();
    let place = |index: usize| {
        let stays_here = stays.get(index).copied().unwrap_or(false);
        stays_here.then(|| stays.iter().take(index).filter(|stays| **stays).count())
    };
    let is_out = |pair: &BenchPair| match (bench.rows.get(pair.first), bench.rows.get(pair.second)) {
        (Some(first), Some(second)) => out.has_change(first.set, second.set),
        _ => true,
    };
    let pairs = bench.pairs.iter().filter(|pair| !is_out(pair)).filter_map(|pair| {
        Some(BenchPair { first: place(pair.first)?, second: place(pair.second)?, apart: pair.apart.clone() })
    });
    let pairs: Vec<BenchPair> = pairs.collect();
    let fills: BTreeSet<&str> =
        bench.rows.iter().filter(|row| out.has_set(row.set)).map(|row| row.fill.as_str()).collect();
    let tells = |words: &String| {
        !gone.iter().any(|label| words.contains(label.as_str()))
            && !fills.iter().any(|fill| words.contains(fill))
    };
    let sentences: Vec<String> = bench.sentences.iter().filter(|words| tells(words)).cloned().collect();
    let of_states = bench.of_states();
    let first = bench.rows.first().map(|row| (row.set, row.label.clone()));
    let is_cut = |row: &BenchRow| first.as_ref().is_some_and(|(first, _)| out.has_change(*first, row.set));
    let mut cut_to_first = false;
    for row in bench.rows.iter_mut().filter(|row| row.to_first.is_some() && is_cut(row)) {
        (row.to_first, cut_to_first) = (None, true);
    }
    if bench.drift.as_ref().is_some_and(|drift| gone.contains(&drift.first) || gone.contains(&drift.again)) {
        bench.drift = None;
    }
    bench.rows.retain(|row| !out.has_set(row.set));
    (bench.pairs, bench.sentences) = (pairs, sentences);
    // What was said of the states stays only where it says the same without what is out, and rests on nothing of that.
    let same = bench.of_states();
    let rests = |words: &String| {
        cut_to_first && first.as_ref().is_some_and(|(_, label)| words.contains(label.as_str()))
    };
    bench.sentences.retain(|words| !of_states.contains(words) || (same.contains(words) && !rests(words)));
}

/// The tests step by step; one of which a step was left out is not told so any more, because each step rests on the one before.
pub(super) fn stages(
    findings: &Findings<'_>,
    tests: &[Arc<TestFinding>],
    out: &Out,
) -> Vec<(RecordId, Stages)> {
    let all =
        tests.iter().flat_map(|test| findings.stages(test.test).into_iter().map(|one| (test.test, one)));
    let is_out = |change: &Change| out.has_change(change.from.set, change.to.set);
    let is_whole = |stages: &Stages| {
        stages.steps.iter().all(|step| {
            !out.has_set(step.set) && ![&step.to_first, &step.to_before].into_iter().flatten().any(is_out)
        })
    };
    all.filter(|(_, stages)| is_whole(stages)).collect()
}

/// One line for each section and result that was left out.
pub(super) fn words(book: &Book, tests: &[Arc<TestFinding>], out: &Out) -> Vec<String> {
    let label = |set: RecordId| {
        book.sets
            .get(set)
            .and_then(|set| set.label.clone())
            .unwrap_or_else(|| "one without a label".to_owned())
    };
    let held = |set: RecordId| tests.iter().flat_map(|test| all_sets(test)).find(|one| one.set == set);
    let mut lines: Vec<String> =
        out.topics.iter().map(|topic| format!("the section {}", topic.heading())).collect();
    for test in tests.iter().filter(|test| out.has_test(test.test)) {
        lines.push(format!("test {} ({}), with all its sets", test.label, test.question));
    }
    for set in out.sets.iter().filter_map(|set| held(*set)) {
        lines.push(format!("set {} ({}), with every change it is part of", set.label, about(set)));
    }
    for (from, to) in out.changes.iter().filter(|(from, to)| held(*from).is_some() && held(*to).is_some()) {
        lines.push(format!("the change from {} to {}", label(*from), label(*to)));
    }
    lines.into_iter().map(|what| format!("Left out of this write-up by its author: {what}.")).collect()
}
