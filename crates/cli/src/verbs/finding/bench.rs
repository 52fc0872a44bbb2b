//! A bench rig: its states, every pair, and what a small panel cannot show.

use storypole_findings::bench_rig::BenchFinding;
use storypole_findings::change::Apart;
use storypole_findings::print::{decimals, range, signed};

use super::Detail;
use crate::page::Page;
use crate::print::Table;

/// Writes a bench rig's states and pairs.
pub fn write(page: &mut Page, bench: &BenchFinding, detail: Detail) {
    page.table(&states(bench));
    pairs(page, bench, |_| true);
    if let Some(sd) = bench.pooled_sd_db.filter(|_| detail == Detail::Expert) {
        page.blank().say(&format!("Spread of runs, pooled over all states: {} dB.", decimals(sd, 2)));
    }
}

/// The states with their runs.
pub fn states(bench: &BenchFinding) -> Table {
    let mut table =
        Table::new(&["set", "panel", "fill", ">runs", ">mean dB", ">spread", ">to the first", "very likely"]);
    for row in &bench.rows {
        let to_first = row.to_first.as_ref();
        table.row([
            row.label.clone(),
            row.assembly_label.clone(),
            row.fill.clone(),
            row.n.to_string(),
            decimals(row.mean_db, 1),
            row.sd_db.map_or_else(|| "-".to_owned(), |sd| decimals(sd, 2)),
            to_first.map_or_else(|| "-".to_owned(), |lift| signed(lift.difference_db, 1)),
            to_first
                .and_then(|lift| lift.interval)
                .map_or_else(|| "-".to_owned(), |interval| range(&interval, 1)),
        ]);
    }
    table
}

/// Writes the verdict on every pair whose two sets are wanted.
pub fn pairs(page: &mut Page, bench: &BenchFinding, is_wanted: impl Fn(&str) -> bool) {
    let name = |index: usize| bench.rows.get(index);
    let wanted = bench.pairs.iter().filter_map(|pair| {
        let (first, second) = (name(pair.first)?, name(pair.second)?);
        (is_wanted(&first.label) && is_wanted(&second.label)).then_some((first, second, &pair.apart))
    });
    let verdicts: Vec<String> = wanted
        .map(|(first, second, apart)| {
            let named =
                |row: &storypole_findings::bench_rig::BenchRow| format!("{} ({})", row.fill, row.label);
            verdict(&named(first), &named(second), apart)
        })
        .collect();
    if verdicts.is_empty() {
        return;
    }
    page.heading("Pair by pair");
    verdicts.iter().for_each(|verdict| {
        page.item(verdict);
    });
}

fn verdict(first: &str, second: &str, apart: &Apart) -> String {
    let likely =
        apart.interval.map_or_else(String::new, |interval| format!(", very likely {}", range(&interval, 1)));
    let difference = format!("{} dB{likely}", signed(apart.difference_db, 1));
    if apart.told_apart {
        format!("{second} against {first}: {difference}.")
    } else {
        let limit = decimals(apart.limit_db, 1);
        format!(
            "{second} against {first}: {difference}; cannot be told apart (takes {limit} dB and an interval without zero)."
        )
    }
}
