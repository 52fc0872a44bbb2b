//! A test: its sets by direction and weighting, bench rigs, thermal tests.

use serde_json::{Value, json};
use storypole_findings::Findings;
use storypole_findings::bench_rig::{BenchFinding, BenchRow};
use storypole_findings::change::Apart;
use storypole_findings::test_finding::{BothWays, Group, TestFinding};
use storypole_findings::thermal::{ThermalFinding, ThermalState};
use storypole_journal::RecordId;
use storypole_notebook::Book;

use super::{called, change, day, estimate, interval, number, quantity, set, signed, stages};

/// A test's finding as JSON.
pub fn json(book: &Book, findings: &Findings<'_>, test: &TestFinding) -> Value {
    json!({
        "id": test.test.to_string(),
        "kind": "test",
        "label": test.label,
        "question": test.question,
        "measures": test.measures,
        "struck": test.struck,
        "sentences": test.sentences,
        "headline": test.headline().map(|headline| change::headline(book, headline)),
        "groups": test.groups.iter().map(|one| group(book, one)).collect::<Value>(),
        "stages": stages::json(book, findings, test.test),
        "untouched": test.controls.iter().map(|one| group(book, one)).collect::<Value>(),
        "both_ways": test.both_ways.iter().map(both_ways).collect::<Value>(),
        "bench_rig": test.bench.as_ref().map(|found| bench(book, found)),
        "quantity": test.quantity.as_ref().map(|found| quantity::json(book, found)),
        "thermal": test.thermal.as_ref().map(|found| thermal(book, found)),
        "out": test.out().map(|set| json!({ "set": set.label, "because": set.excluded })).collect::<Value>(),
        "struck_sets": struck_sets(book, test.test)
            .into_iter()
            .map(|(set, reason)| json!({ "set": set, "because": [reason] }))
            .collect::<Value>(),
    })
}

/// Struck sets of a test, each with its reason.
pub fn struck_sets(book: &Book, test: RecordId) -> Vec<(String, String)> {
    let of_test = book.sets.all().filter(|set| set.test == Some(test));
    let mut struck: Vec<(String, String)> = of_test
        .filter_map(|set| Some((set.label.clone().unwrap_or_default(), set.meta.struck.clone()?)))
        .collect();
    struck.sort_by_cached_key(|(label, _)| called::in_order(label));
    struck
}

fn group(book: &Book, group: &Group) -> Value {
    let shared = group.on_shared.as_ref().map(|shared| {
        let values = shared.values.iter().map(|(id, label, value)| {
            json!({ "set": id.to_string(), "label": label, "level_difference": estimate(value, false) })
        });
        json!({ "positions": shared.positions, "sets": values.collect::<Value>() })
    });
    json!({
        "direction": group.direction.words,
        "unit": group.unit.map(|unit| unit.symbol()),
        "sets": group.sets.iter().map(|one| set::json(book, one)).collect::<Value>(),
        "on_shared_positions": shared,
        "changes": group.changes.iter().map(|one| change::json(book, one)).collect::<Value>(),
        "headline": group.headline.as_ref().map(|one| change::headline(book, one)),
        "drift": group.drift_db.map(|drift| signed(drift, 1)),
    })
}

/// A rebuild measured both ways.
pub fn both_ways(both: &BothWays) -> Value {
    let way = |(words, change): &(String, f64)| json!({ "direction": words, "change": signed(*change, 1) });
    json!({
        "there": way(&both.there),
        "back": way(&both.back),
        "apart": number(both.apart_db, 1),
        "agree": both.agree,
        "parted": both.parted.map(|swap| json!({
            "wall": signed(swap.wall_db, 1),
            "wall_within": number(swap.wall_u95_db, 1),
            "room": signed(swap.artefact_db, 1),
            "room_within": number(swap.artefact_u95_db, 1),
        })),
        "sentence": both.sentence,
    })
}

/// A bench rig's finding.
pub fn bench(book: &Book, bench: &BenchFinding) -> Value {
    let row = |row: &BenchRow| {
        json!({
            "set": called::json(book, "set", Some(row.set)),
            "assembly": called::json(book, "assembly", row.assembly),
            "fill": row.fill,
            "runs": row.n,
            "mean": number(row.mean_db, 1),
            "spread": row.sd_db.map(|sd| number(sd, 2)),
            "to_first": row.to_first.as_ref().map(apart),
        })
    };
    let label = |index: usize| bench.rows.get(index).map(|row| row.label.clone());
    json!({
        "test": called::json(book, "test", Some(bench.test)),
        "rows": bench.rows.iter().map(row).collect::<Value>(),
        "pairs": bench.pairs.iter().map(|pair| json!({
            "first": label(pair.first), "second": label(pair.second), "difference": apart(&pair.apart),
        })).collect::<Value>(),
        "pooled_spread": bench.pooled_sd_db.map(|sd| number(sd, 2)),
        "first_state_again": bench.drift.as_ref().map(|drift| json!({
            "first": drift.first, "again": drift.again, "difference": signed(drift.difference_db, 1), "held": drift.held,
        })),
        "sentences": bench.sentences,
    })
}

/// Two results side by side.
pub fn apart(apart: &Apart) -> Value {
    json!({
        "value": apart.difference_db,
        "printed": storypole_findings::print::signed(apart.difference_db, 1),
        "interval": apart.interval.as_ref().map(interval),
        "least_told_apart": number(apart.limit_db, 1),
        "told_apart": apart.told_apart,
    })
}

/// A thermal test's finding; temperatures in °C.
pub fn thermal(book: &Book, thermal: &ThermalFinding) -> Value {
    let state = |state: &ThermalState| {
        json!({
            "set": called::json(book, "set", Some(state.set)),
            "date": day(state.date),
            "assembly": state.assembly_label,
            "inside_c": state.inside_c.map(|value| number(value, 1)),
            "outside_c": state.outside_c.map(|value| number(value, 1)),
            "surface_c": state.surface_c.map(|value| number(value, 1)),
            "spots": state.spots,
            "surface_factor": state.factor.map(|value| number(value, 3)),
            "absent": state.absent.map(|absent| absent.to_string()),
            "smoke_paths": state.smoke_paths.map(|value| number(value, 0)),
            "moisture_percent": state.moisture_percent.map(|value| number(value, 1)),
        })
    };
    json!({
        "test": called::json(book, "test", Some(thermal.test)),
        "states": thermal.states.iter().map(state).collect::<Value>(),
        "surface_factor_change": thermal.factor_change.map(|value| signed(value, 3)),
        "outside_difference_k": thermal.outside_difference_k.map(|value| signed(value, 1)),
        "sentence": thermal.sentence,
    })
}
