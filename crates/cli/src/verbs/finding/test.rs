//! A test: the answer first, then its sets and changes by direction and weighting.

use storypole_findings::TestFinding;
use storypole_findings::print::{decimals, list};
use storypole_findings::test_finding::{Group, OnShared};
use storypole_notebook::Book;

use super::set::bounded;
use super::{Detail, bench, change, set, thermal};
use crate::page::Page;

/// Writes a test.
pub fn write(page: &mut Page, book: &Book, test: &TestFinding, detail: Detail) {
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
}

fn group(page: &mut Page, group: &Group, detail: Detail) {
    let unit = group.unit.map_or_else(String::new, |unit| format!(", {unit}"));
    page.heading(&format!("{}{unit}", group.direction.words)).table(&set::table(&group.sets));
    if let Some(shared) = &group.on_shared {
        page.say(&on_shared(shared));
    }
    if !group.changes.is_empty() {
        page.blank().table(&change::table(&group.changes));
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
