//! A test of another quantity than sound: state by state, what changed, the rules kept, what is odd.
//!
//! The answer in sentences stands above it, on the page of the test or the job.

use storypole_desk::view::quantity::{Typed, counted, doubts, percent};
use storypole_findings::print::{decimals, list};
use storypole_findings::quantity::{Odd, QuantityChange, QuantityFinding, State};
use storypole_notebook::Book;

use super::Detail;
use crate::page::Page;
use crate::print::Table;

/// Writes a finding of another quantity, but for its sentences.
pub fn write(page: &mut Page, book: &Book, finding: &QuantityFinding, detail: Detail) {
    let typed = Typed::of(book, finding);
    if finding.states.is_empty() {
        return;
    }
    page.heading("State by state").table(&states(finding, typed));
    inputs(page, finding, typed);
    if !finding.changes.is_empty() {
        page.heading("What changed").table(&changes(finding, typed));
        not_claimed(page, finding);
    }
    rules(page, finding);
    flags(page, &finding.flags);
    let beside: Vec<&String> = finding.notes.iter().chain(&finding.cautions).collect();
    if !beside.is_empty() {
        page.heading("Beside it");
        beside.into_iter().for_each(|words| {
            page.item(words);
        });
    }
    if detail == Detail::Expert {
        answering(finding).for_each(|change| expert(page, finding, change, typed));
    }
}

fn dash() -> String {
    "-".to_owned()
}

/// A row for each number of each state; what names the state stands in its first row.
fn states(finding: &QuantityFinding, typed: Typed) -> Table {
    let of = counted(finding.quantity);
    let mut table =
        Table::new(&["set", "stage", "where", "date", "what", ">number", "very likely", &format!(">{of}")]);
    for state in &finding.states {
        for (index, one) in state.values.iter().enumerate() {
            let named = if index == 0 { of_state(state) } else { Default::default() };
            let shown = typed.measured(one);
            let number = shown.as_ref().map_or_else(dash, |shown| shown.text());
            let likely = match (&shown, one.absent) {
                (Some(shown), _) => shown.range().unwrap_or_else(dash),
                (None, Some(why)) => why.to_string(),
                (None, None) => dash(),
            };
            let [set, stage, wall, date] = named;
            let count = if shown.is_some() { one.count.to_string() } else { dash() };
            table.row([set, stage, wall, date, one.name.clone(), number, likely, count]);
        }
    }
    table
}

fn of_state(state: &State) -> [String; 4] {
    [
        state.label.clone(),
        state.stage.clone().unwrap_or_default(),
        state.assembly_label.clone(),
        state.date.map_or_else(String::new, |date| date.to_string()),
    ]
}

/// What the states were worked out from, where they tell it.
fn inputs(page: &mut Page, finding: &QuantityFinding, typed: Typed) {
    let mut names: Vec<&str> = Vec::new();
    for input in finding.states.iter().flat_map(|state| &state.inputs) {
        if !names.contains(&input.name.as_str()) {
            names.push(&input.name);
        }
    }
    if names.is_empty() {
        return;
    }
    let heads: Vec<String> = names.iter().map(|name| format!(">{name}")).collect();
    let heads: Vec<&str> = std::iter::once("set").chain(heads.iter().map(String::as_str)).collect();
    let mut table = Table::new(&heads);
    for state in &finding.states {
        let mut cells = vec![state.label.clone()];
        cells.extend(names.iter().map(|name| {
            let input = state.inputs.iter().find(|input| input.name == **name);
            input.map_or_else(dash, |input| typed.input(input).text())
        }));
        table.row(cells);
    }
    page.blank().line("Worked out from").table(&table);
}

fn changes(finding: &QuantityFinding, typed: Typed) -> Table {
    let in_percent = finding.changes.iter().any(|change| change.relative_percent.is_some());
    let mut heads = vec!["from", "to", "where", "what", ">before", ">after", ">change", "very likely"];
    if in_percent {
        heads.extend([">in percent", "very likely"]);
    }
    heads.extend(["verdict", "grade"]);
    let mut table = Table::new(&heads);
    for change in &finding.changes {
        let end = |value| typed.end(change, value).map_or_else(dash, |shown| shown.text());
        let shown = typed.change(change);
        let mut cells = vec![
            change.from.label.clone(),
            change.to.label.clone(),
            walls(change),
            change.name.clone(),
            end(change.before),
            end(change.after),
            shown.map_or_else(dash, |shown| shown.signed()),
            shown.and_then(|shown| shown.range()).unwrap_or_else(dash),
        ];
        if in_percent {
            let percent = percent(change);
            cells.push(percent.map_or_else(dash, |shown| shown.signed()));
            cells.push(percent.and_then(|shown| shown.range()).unwrap_or_else(dash));
        }
        cells.extend([change.claim.word().to_owned(), change.grade.letter.to_string()]);
        table.row(cells);
    }
    table
}

fn walls(change: &QuantityChange) -> String {
    let (from, to) = (&change.from.assembly_label, &change.to.assembly_label);
    if from == to { from.clone() } else { format!("{from} to {to}") }
}

/// Why changes are not claimed, and why the answer has its grade.
fn not_claimed(page: &mut Page, finding: &QuantityFinding) {
    for change in &finding.changes {
        let why = doubts(&change.claim);
        if !why.is_empty() {
            let (from, to) = (&change.from.label, &change.to.label);
            page.say(&format!("No claim from {from} to {to}, {}: {}.", change.name, list(&why)));
        }
    }
    if let Some(headline) = finding.headline() {
        page.say(&format!("Grade {}: {}.", headline.grade.letter, headline.grade.reasons().join("; ")));
    }
}

/// Rules of the method; a rule that all states kept with the same words is said once.
fn rules(page: &mut Page, finding: &QuantityFinding) {
    if finding.states.iter().all(|state| state.rules.is_empty()) {
        return;
    }
    page.heading("Rules of the method");
    for state in &finding.states {
        for rule in &state.rules {
            let kept = if rule.kept { "kept" } else { "NOT KEPT" };
            page.item(&format!("{}: {kept}, {}", state.label, rule.words));
        }
    }
}

fn flags(page: &mut Page, odd: &[Odd]) {
    if odd.is_empty() {
        return;
    }
    page.heading("What to know about it");
    for one in odd {
        page.item(&format!("{}: {} ({})", one.flag.name(), one.words, one.flag.effect().words()));
    }
}

/// Every change between the two states that answer the question.
fn answering(finding: &QuantityFinding) -> impl Iterator<Item = &QuantityChange> {
    let ends = finding.headline().map(|headline| (headline.from.set, headline.to.set));
    finding.changes.iter().filter(move |change| ends == Some((change.from.set, change.to.set)))
}

fn expert(page: &mut Page, finding: &QuantityFinding, change: &QuantityChange, typed: Typed) {
    let (from, to) = (&change.from.label, &change.to.label);
    page.heading(&format!("How sure, {from} to {to}, {}", change.name));
    let of = counted(finding.quantity);
    let of = if change.count == 1 { of.trim_end_matches('s') } else { of };
    let pairs = if change.paired { ", in pairs" } else { "" };
    page.say(&format!("From {} {of}{pairs}.", change.count));
    let unit = if change.relative_percent.is_some() && change.relative_interval.is_some() {
        "shares of one"
    } else if change.unit.is_empty() {
        "the unit of the number itself"
    } else {
        change.unit
    };
    let mut table = Table::new(&["what makes it uncertain", ">standard uncertainty", ">share"]);
    for share in &change.shares {
        table.row([share.name.to_owned(), figures(share.u), storypole_findings::print::percent(share.share)]);
    }
    page.table(&table);
    if !change.shares.is_empty() {
        page.say(&format!("Standard uncertainties are in {unit}."));
    }
    if let Some(u) = change.u {
        let dof = change.dof.map_or_else(|| "no limit of".to_owned(), |dof| decimals(dof, 1));
        let unit = if change.unit.is_empty() { String::new() } else { format!(" {}", change.unit) };
        page.say(&format!("Of the difference together: {}{unit}, {dof} degrees of freedom.", figures(u)));
    }
    if let Some(limit) = change.limit {
        page.say(&format!("Least that is claimed after repeats: {} {}.", figures(limit), change.unit));
    }
    if typed != Typed::default()
        && let Some((own, turned)) = Typed::default().change(change).zip(typed.change(change))
        && own.unit != turned.unit
    {
        page.say(&format!("{} is {}.", turned.signed(), own.signed()));
    }
    let mut grade = Table::new(&["grade", "", "why"]);
    for criterion in &change.grade.criteria {
        grade.row([criterion.name.to_owned(), criterion.letter.to_string(), criterion.why.clone()]);
    }
    page.blank().table(&grade);
}

/// A number with three figures or more, whatever its size.
fn figures(value: f64) -> String {
    let places = if value.abs() >= 100.0 {
        0
    } else if value.abs() >= 1.0 {
        2
    } else {
        4
    };
    decimals(value, places)
}
