//! A test: the answer first, then its sets and changes by direction and weighting.

use std::sync::Arc;

use storypole_desk::view::test::struck_sets;
use storypole_findings::print::{decimals, list};
use storypole_findings::test_finding::{Group, OnShared};
use storypole_findings::{Findings, SetFinding, TestFinding};
use storypole_notebook::Book;

use super::set::bounded;
use super::{Detail, bench, change, quantity, set, stages};
use crate::page::Page;

/// Writes a test.
pub fn write(page: &mut Page, book: &Book, findings: &Findings<'_>, test: &TestFinding, detail: Detail) {
    page.line(&format!("{}: {}", test.label, test.question)).blank();
    page.items(&test.sentences);
    if let Some(found) = &test.bench {
        page.heading("On the bench");
        bench::write(page, found, detail);
        return;
    }
    if let Some(found) = &test.quantity {
        quantity::write(page, book, found, detail);
        included(page, findings.sets_of_test(test.test).map(Arc::as_ref));
        struck(page, book, test);
        if found.states.is_empty() {
            page.blank().line(&format!("next: {}", next_of_quantity(book, test)));
        }
        return;
    }
    for one in &test.groups {
        group(page, one, detail);
    }
    included(page, findings.sets_of_test(test.test).map(Arc::as_ref));
    stages::write(page, &findings.stages(test.test));
    for one in &test.controls {
        page.heading(&format!("An untouched wall beside it, {}", one.direction.words));
        page.table(&set::table(one.sets.iter().map(Arc::as_ref)));
    }
    struck(page, book, test);
    if let Some(step) = next(book, test) {
        page.blank().line(&format!("next: {step}"));
    }
}

/// Sets that a person let in, each with the reason.
fn included<'a>(page: &mut Page, sets: impl Iterator<Item = &'a SetFinding>) {
    let words: Vec<String> = sets.filter(|set| set.included).map(set::included).collect();
    if !words.is_empty() {
        page.heading("Included by a person").items(&words);
    }
}

/// Sets that were struck; those out of results stand among the sentences.
fn struck(page: &mut Page, book: &Book, test: &TestFinding) {
    let sets = struck_sets(book, test.test);
    if sets.is_empty() {
        return;
    }
    page.heading("Struck");
    for (set, reason) in sets {
        page.item(&format!("{set}: {}", reason.trim_end_matches('.')));
    }
}

/// What to type where a test of another quantity has no state yet.
fn next_of_quantity(book: &Book, test: &TestFinding) -> String {
    let mut sets = book.sets.live().filter(|set| set.test == Some(test.test));
    match sets.find_map(|set| set.label.clone()) {
        Some(set) => format!("storypole test reading {set} - \"NUMBER UNIT\" --subject ..."),
        None => format!("storypole test set --test {} --stage before --assembly ...", test.label),
    }
}

/// What to type where there is nothing to compare yet.
fn next(book: &Book, test: &TestFinding) -> Option<String> {
    let label = &test.label;
    let mut sets = test.groups.iter().flat_map(|group| &group.sets).peekable();
    if sets.peek().is_none() {
        let has_places = book.positions.live().any(|position| position.test == Some(test.test));
        return Some(if has_places {
            format!("storypole test set --test {label} --stage before --assembly ... --from ... --to ...")
        } else {
            format!(
                "storypole test position {label} R1 --side receive --room ..., then storypole test set --test {label} --stage before ..."
            )
        });
    }
    if let Some(unread) = sets.find(|set| !set.is_read()) {
        return Some(format!("storypole test set {} --guide", unread.label));
    }
    let is_compared = test.groups.iter().any(|group| group.headline.is_some());
    (!is_compared).then(|| {
        format!("storypole test set --test {label} --stage after --assembly ... --from ... --to ...")
    })
}

fn group(page: &mut Page, group: &Group, detail: Detail) {
    let unit = group.unit.map_or_else(String::new, |unit| format!(", {unit}"));
    page.heading(&format!("{}{unit}", group.direction.words))
        .table(&set::table(group.sets.iter().map(Arc::as_ref)));
    if let Some(shared) = &group.on_shared {
        page.say(&on_shared(shared));
    }
    if !group.changes.is_empty() {
        page.blank().table(&change::table(&group.changes)).say(change::ROUNDING);
    }
    if let Some(headline) = &group.headline {
        page.blank().say(&format!("{} to {}: {}", headline.from.label, headline.to.label, headline.sentence));
        change::beside(page, headline, detail);
        if detail == Detail::Expert {
            change::parts(page, headline);
        }
    }
}

fn on_shared(shared: &OnShared) -> String {
    let values: Vec<String> = shared
        .values
        .iter()
        .map(|(_, label, value)| format!("{label} {}", bounded(value, decimals(value.value, 1))))
        .collect();
    format!("On {}, the positions all sets have: {} dB.", list(&shared.positions), list(&values))
}
