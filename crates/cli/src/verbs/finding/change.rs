//! What changed between two sets: in sentences, and several of them as a table.

use storypole_findings::change::Change;
use storypole_findings::control::Controlled;
use storypole_findings::print::{decimals, list, percent, range, signed};
use storypole_findings::{Budget, Interval};

use super::Detail;
use super::set::bounded;
use crate::page::Page;
use crate::print::Table;

/// Writes what stands beside a change: what it belongs to, its grade, what makes it uncertain.
pub fn beside(page: &mut Page, change: &Change, detail: Detail) {
    if change.value.is_none() {
        return;
    }
    page.say(&change.beside);
    page.say(&how_sure(change));
    if let Some(change) = &change.bands {
        super::bands::of_change(page, change);
    }
    if detail == Detail::Expert {
        expert(page, change);
    }
}

/// What makes a change uncertain, largest first, in one sentence.
fn how_sure(change: &Change) -> String {
    if change.budget.u_db.is_none() {
        return "How sure: not known, because one spot or run has no spread.".to_owned();
    }
    let mut shares: Vec<_> = change.budget.shares.iter().collect();
    shares.sort_by(|one, other| other.share.total_cmp(&one.share));
    let shares: Vec<String> =
        shares.iter().map(|share| format!("{} {}", share.name, percent(share.share))).collect();
    format!("What makes it uncertain: {}.", list(&shares))
}

fn expert(page: &mut Page, change: &Change) {
    let mut table = Table::new(&["", ">dB", ""]);
    let mut row = |name: &str, value: String, note: String| {
        table.row([name.to_owned(), value, note]);
    };
    let compared = match change.runs {
        Some((before, after)) => format!("{before} and {after} runs"),
        None => format!("on {}", list(&change.compared_on)),
    };
    if let Some(value) = &change.value {
        row("change by energy", signed(value.value, 2), compared);
    }
    if let Some(mean) = change.position_mean_db {
        row("mean of position differences", signed(mean, 2), String::new());
    }
    if let Some(scatter) = change.scatter_db {
        row("scatter of the positions", decimals(scatter, 2), "standard deviation".to_owned());
    }
    if let Some(interval) = &change.position_interval {
        row("interval, positions alone", range(interval, 2), "95 %".to_owned());
    }
    budget(&mut row, &change.budget, change.interval.as_ref());
    if let Some(left) = change.two_more_leave {
        row("two more spots would leave", percent(left), "of that interval".to_owned());
    }
    row("least that is claimed", decimals(change.limit_db, 2), String::new());
    page.blank().table(&table);
    positions(page, change);
    if let Some(one) = &change.control {
        control(page, one);
    }
    let mut grade = Table::new(&["grade", "", "why"]);
    for criterion in &change.grade.criteria {
        grade.row([criterion.name.to_owned(), criterion.letter.to_string(), criterion.why.clone()]);
    }
    page.blank().table(&grade);
}

/// What the positions say one by one, and by resampling.
fn positions(page: &mut Page, change: &Change) {
    if change.by_position.len() > 1 {
        let places: Vec<String> = change
            .by_position
            .iter()
            .map(|place| format!("{} {}", place.label, signed(place.change_db, 1)))
            .collect();
        page.blank().say(&format!("By position: {} dB.", list(&places)));
    }
    page.say(&change.bootstrap_words().unwrap_or_default());
    if let Some(odd) = &change.odd {
        let mut table = Table::new(&["", ">change dB", "positions alone, 95 %"]);
        for (name, (value, interval)) in [("with", odd.with_it), ("without", odd.without_it)] {
            let around = interval.map_or_else(|| "-".to_owned(), |interval| range(&interval, 2));
            table.row([format!("{name} {}", odd.label), signed(value, 2), around]);
        }
        page.blank().table(&table);
    }
    if let Some(one) = &change.dominant {
        page.say(&one.sentence());
    }
}

/// The numbers of an untouched wall.
fn control(page: &mut Page, control: &Controlled) {
    let around =
        |interval: &Option<Interval>| interval.map_or_else(|| "-".to_owned(), |interval| range(&interval, 2));
    let mut table = Table::new(&["the untouched wall", ">dB", "95 %", ""]);
    let moved = bounded(&control.control_change, signed(control.control_change.value, 2));
    let sets = format!("{} to {}, {}", control.from.label, control.to.label, control.direction.words);
    table.row(["it changed".to_owned(), moved, around(&control.control_interval), sets]);
    let effect = bounded(&control.effect, signed(control.effect.value, 2));
    table.row(["the change less that".to_owned(), effect, around(&control.interval), shared(control)]);
    if let Some(by_position) = &control.by_position {
        let u = by_position.u_db.zip(by_position.dof).map_or_else(String::new, |(u, dof)| {
            format!("u {}, {} degrees of freedom", decimals(u, 2), decimals(dof, 1))
        });
        let value = signed(by_position.effect_db, 2);
        table.row(["the same by positions alone".to_owned(), value, around(&by_position.interval), u]);
    }
    for share in &control.budget.shares {
        let part = format!("standard uncertainty, {}", percent(share.share));
        table.row([share.name.to_owned(), decimals(share.u_db, 2), String::new(), part]);
    }
    page.blank().table(&table);
}

/// What both walls have in common, so that it drops out.
fn shared(control: &Controlled) -> String {
    match (control.shared.days, control.shared.setup) {
        (true, true) => "same days and same source, which drop out",
        (true, false) => "same days, which drop out",
        (false, _) => "measured on other days, so nothing drops out",
    }
    .to_owned()
}

fn budget(row: &mut impl FnMut(&str, String, String), budget: &Budget, interval: Option<&Interval>) {
    for share in &budget.shares {
        let pooled =
            if share.name.starts_with("scatter") && budget.pooled { ", pooled over tests" } else { "" };
        row(
            share.name,
            decimals(share.u_db, 2),
            format!("standard uncertainty, {}{pooled}", percent(share.share)),
        );
    }
    if let Some(u) = budget.u_db {
        let dof = budget.dof.map_or_else(|| "no limit of".to_owned(), |dof| decimals(dof, 1));
        row("together", decimals(u, 2), format!("standard uncertainty, {dof} degrees of freedom"));
    }
    if let Some(interval) = interval {
        row("interval, full budget", range(interval, 2), "95 %".to_owned());
    }
}

/// Said once under tables of changes.
pub const ROUNDING: &str = "Changes are computed before rounding and may differ by 0.1.";

/// Changes side by side.
pub fn table<'a>(changes: impl IntoIterator<Item = &'a Change>) -> Table {
    let heads = [
        "from",
        "to",
        "walls",
        ">before",
        ">after",
        ">change dB",
        "very likely",
        "verdict",
        "grade",
        "what changed",
    ];
    let mut table = Table::new(&heads);
    for change in changes {
        let level = |estimate: &Option<storypole_findings::Estimate>| {
            estimate.as_ref().map_or_else(|| "-".to_owned(), |one| bounded(one, decimals(one.value, 1)))
        };
        let parts: Vec<&str> = change.bundle.iter().map(|part| part.part).collect();
        table.row([
            change.from.label.clone(),
            change.to.label.clone(),
            walls(change),
            level(&change.before),
            level(&change.after),
            change
                .value
                .as_ref()
                .map_or_else(|| "-".to_owned(), |value| bounded(value, signed(value.value, 1))),
            change.interval.as_ref().map_or_else(|| "-".to_owned(), |interval| range(interval, 1)),
            change.claim.word().to_owned(),
            change.grade.letter.to_string(),
            if parts.is_empty() { "nothing noted".to_owned() } else { list(&parts) },
        ]);
    }
    table
}

fn walls(change: &Change) -> String {
    let (from, to) = (&change.from.assembly_label, &change.to.assembly_label);
    if from == to { from.clone() } else { format!("{from} to {to}") }
}

/// Writes what differs between the walls, part by part.
pub fn parts(page: &mut Page, change: &Change) {
    for part in &change.bundle {
        page.item(&format!("{}: {} -> {}", part.part, part.before, part.after));
    }
}
