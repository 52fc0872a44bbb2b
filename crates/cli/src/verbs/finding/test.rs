//! A test: the answer first, then its sets and changes by direction and weighting.

use std::sync::Arc;

use storypole_findings::print::{decimals, list};
use storypole_findings::test_finding::{Group, OnShared};
use storypole_findings::{Findings, TestFinding};
use storypole_notebook::Book;

use super::set::bounded;
use super::{Detail, bench, change, set, stages, thermal};
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
    if let Some(found) = &test.thermal {
        page.heading("State by state");
        thermal::write(page, book, found);
        return;
    }
    for one in &test.groups {
        group(page, one, detail);
    }
    stages::write(page, &findings.stages(test.test));
    for one in &test.controls {
        page.heading(&format!("An untouched wall beside it, {}", one.direction.words));
        page.table(&set::table(one.sets.iter().map(Arc::as_ref)));
    }
    if let Some(step) = next(book, test) {
        page.blank().line(&format!("next: {step}"));
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
