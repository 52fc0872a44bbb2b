//! A rebuild step by step, with what had been spent by then.

use storypole_findings::change::Change;
use storypole_findings::print::{decimals, list, range, signed};
use storypole_findings::stages::{Stages, Step};
use storypole_units::Money;

use super::set::bounded;
use crate::page::Page;
use crate::print::Table;

/// Writes the steps of each direction, where there are two or more walls.
pub fn write(page: &mut Page, all: &[Stages]) {
    for stages in all.iter().filter(|stages| stages.steps.len() > 1) {
        let unit = stages.unit.map_or_else(String::new, |unit| format!(", {unit}"));
        page.heading(&format!("Step by step, {}{unit}", stages.direction.words));
        page.table(&table(&stages.steps));
        stages.steps.iter().for_each(|step| {
            page.item(&step.words);
        });
        page.say(&stages.words);
    }
}

fn table(steps: &[Step]) -> Table {
    let with_money = steps.iter().any(|step| step.spent_so_far.is_some());
    let mut heads = vec!["set", "stage", "wall", ">D dB", ">step dB", ">since first", "what changed"];
    if with_money {
        heads.extend([">for it", ">spent so far"]);
    }
    let mut table = Table::new(&heads);
    for step in steps {
        let parts: Vec<&str> = step.what_changed.iter().map(|part| part.part).collect();
        let mut cells = vec![
            step.label.clone(),
            step.stage.clone().unwrap_or_default(),
            step.assembly_label.clone(),
            step.level_difference.map_or_else(dash, |level| bounded(&level, decimals(level.value, 1))),
            step.to_before.as_ref().map_or_else(dash, figure),
            step.to_first.as_ref().map_or_else(dash, figure),
            list(&parts),
        ];
        if with_money {
            let money = |money: Option<Money>| money.map_or_else(dash, Money::amount_text);
            cells.extend([money(step.spent_since_before), money(step.spent_so_far)]);
        }
        table.row(cells);
    }
    table
}

fn dash() -> String {
    "-".to_owned()
}

fn figure(change: &Change) -> String {
    let Some(value) = change.value else { return dash() };
    let interval = change.interval.map_or_else(String::new, |interval| format!(" ({})", range(&interval, 1)));
    format!("{}{interval}", bounded(&value, signed(value.value, 1)))
}
