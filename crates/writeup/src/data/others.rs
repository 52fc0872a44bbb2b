//! Results of a bench rig, and of tests of other quantities than sound.

use storypole_findings::bench_rig::BenchFinding;
use storypole_findings::quantity::{Doubt, QuantityChange, QuantityClaim, QuantityFinding};

use super::cell::{Cell, count, day, flag, number, row, several, text};
use super::{DataTable, From};

fn benches<'a>(from: &From<'a, '_>) -> impl Iterator<Item = &'a BenchFinding> {
    from.scope.tests.iter().filter_map(|test| test.bench.as_ref())
}

pub(super) fn bench_results(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "The set; its runs stand in readings"),
        text("test", "The test"),
        text("fill", "What the panel was filled with"),
        count("n", "Runs"),
        number("mean_db", "dB", "Mean of the runs"),
        number("sd_db", "dB", "Their standard deviation"),
        number("pooled_sd_db", "dB", "Standard deviation of the runs of all states and repeats of the test"),
        text("repeats", "The set it repeats, to see whether the rig drifted"),
        number("drift_db", "dB", "This mean less that of the set it repeats"),
        flag("held", "Whether the rig held still"),
        number("crack_formula_db", "dB", "What a formula gives for the panel with its crack"),
    ];
    let rows = benches(from).flat_map(|bench| {
        let test = from.names.get(bench.test);
        let states = bench.rows.iter().map(move |state| {
            let name = from.names.get(state.set);
            let fill = state.fill.as_str();
            row![
                name,
                test,
                fill,
                state.n,
                state.mean_db,
                state.sd_db,
                bench.pooled_sd_db,
                None::<&str>,
                None::<f64>,
                None::<bool>,
                state.crack_formula_db,
            ]
        });
        let again = bench.drift.iter().filter_map(move |drift| {
            let first = bench.rows.first()?;
            let set =
                from.sets.iter().rfind(|set| set.test == Some(bench.test) && set.label == drift.again)?;
            let runs = set.runs.as_ref()?;
            Some(row![
                from.names.get(set.set),
                test,
                first.fill.as_str(),
                runs.values_db.len(),
                runs.mean_db,
                runs.sd_db,
                bench.pooled_sd_db,
                from.names.get(first.set),
                drift.difference_db,
                drift.held,
                None::<f64>,
            ])
        });
        states.chain(again)
    });
    DataTable::new("bench-results", "States of a small panel on a bench: never a rating of a wall", columns)
        .refers("set", "sets", "set")
        .refers("test", "tests", "test")
        .refers("repeats", "", "set")
        .rows(rows.collect::<Vec<_>>())
}

pub(super) fn bench_pairs(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("first", "The first state"),
        text("second", "The second state"),
        number("difference_db", "dB", "Mean of the second less mean of the first"),
        number("low_db", "dB", "Lower end of the interval, at 95 %, spreads not taken to be equal"),
        number("high_db", "dB", "Upper end of the interval"),
        number("limit_db", "dB", "The least difference that tells two states apart"),
        flag("told_apart", "Whether they can be told apart"),
    ];
    let rows = benches(from).flat_map(|bench| {
        bench.pairs.iter().filter_map(|pair| {
            let state = |index: usize| from.names.get(bench.rows.get(index)?.set);
            let interval = pair.apart.interval;
            Some(row![
                state(pair.first)?,
                state(pair.second)?,
                pair.apart.difference_db,
                interval.map(|interval| interval.low),
                interval.map(|interval| interval.high),
                pair.apart.limit_db,
                pair.apart.told_apart,
            ])
        })
    });
    DataTable::new("bench-pairs", "States of a small panel, each against each", columns)
        .keyed(&["first", "second"])
        .refers("first", "bench-results", "set")
        .refers("second", "bench-results", "set")
        .rows(rows)
}

pub(super) fn thermal(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "The set"),
        text("test", "The test"),
        number("inside_c", "degC", "Mean air temperature inside"),
        number("outside_c", "degC", "Mean air temperature outside"),
        number("surface_c", "degC", "Mean surface temperature"),
        count("spots", "Readings of the surface"),
        number(
            "factor",
            "",
            "Surface less outside, over inside less outside: 1 is as warm as the room, 0 as cold as outside",
        ),
        number("smoke_paths", "", "Spots where smoke moved, mean of the readings"),
        number("moisture_percent", "%", "Moisture of the wood, mean of the readings"),
    ];
    let thermals = from.scope.tests.iter().filter_map(|test| test.thermal.as_ref());
    let rows = thermals.flat_map(|thermal| {
        let states = thermal.states.iter().filter(|state| {
            let numbers =
                [state.inside_c, state.outside_c, state.surface_c, state.smoke_paths, state.moisture_percent];
            numbers.iter().any(Option::is_some)
        });
        states.map(|state| {
            row![
                from.names.get(state.set),
                from.names.get(thermal.test),
                state.inside_c,
                state.outside_c,
                state.surface_c,
                state.spots,
                state.factor,
                state.smoke_paths,
                state.moisture_percent,
            ]
        })
    });
    DataTable::new("thermal", "Surface temperatures freed of the weather, one set a row", columns)
        .refers("set", "sets", "set")
        .refers("test", "tests", "test")
        .rows(rows)
}

fn quantities<'a>(from: &From<'a, '_>) -> impl Iterator<Item = &'a QuantityFinding> {
    from.scope.tests.iter().filter_map(|test| test.quantity.as_ref())
}

pub(super) fn quantity_results(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "The set, or the first of several that make the state"),
        count("place", "Its place among the numbers of the state"),
        text("test", "The test"),
        text("sets", "Every set of the state"),
        day("day", "Day of the first set"),
        text("quantity", "What it is"),
        number("value", "", "The number"),
        text("unit", "Its unit; empty for a plain number"),
        number("u", "", "Standard uncertainty, in the same unit"),
        number("dof", "", "Degrees of freedom; empty is without limit"),
        number("low", "", "Lower end of the interval, at 95 %"),
        number("high", "", "Upper end of the interval"),
        count("n", "Spots, points or days behind it"),
        text("absent", "Why there is no number"),
    ];
    let rows = quantities(from).flat_map(|finding| {
        finding.states.iter().flat_map(move |state| {
            state.values.iter().enumerate().map(move |(index, value)| {
                row![
                    from.names.get(state.set),
                    index + 1,
                    from.names.get(finding.test),
                    several(&from.names, &state.sets),
                    state.date,
                    &value.name,
                    value.value,
                    value.unit,
                    value.u,
                    value.dof,
                    value.interval.map(|interval| interval.low),
                    value.interval.map(|interval| interval.high),
                    value.count,
                    value.absent.map(|absent| absent.to_string()),
                ]
            })
        })
    });
    DataTable::new(
        "quantity-results",
        "What states of other tests than sound show, one number a row",
        columns,
    )
    .keyed(&["set", "place"])
    .refers("set", "sets", "set")
    .refers("test", "tests", "test")
    .rows(rows)
}

pub(super) fn quantity_changes(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("from", "The first state"),
        text("to", "The second state"),
        count("place", "Its place among the changes between the two"),
        text("test", "The test"),
        text("quantity", "What changed"),
        text("unit", "Its unit; empty for a plain number"),
        number("before", "", "Before, on what was compared"),
        number("after", "", "After, on what was compared"),
        number("change", "", "After less before"),
        number("u", "", "Standard uncertainty"),
        number("dof", "", "Degrees of freedom; empty is without limit"),
        number("low", "", "Lower end of the interval, at 95 %"),
        number("high", "", "Upper end of the interval"),
        number("relative_percent", "%", "As percent of before"),
        count("n", "Spots, points or days behind it, the fewer of both"),
        flag("paired", "Whether it is made from pairs at the same spots"),
        number("limit", "", "The least change that repeats allow to claim"),
        text("claim", "Whether it may be claimed"),
        text("why_not", "Why it may not"),
        text("grade", "How good the comparison was, A to D"),
        text("absent", "Why there is no number"),
    ];
    let rows = placed_changes(from).map(|(finding, place, change)| {
        let interval = change.interval;
        row![
            from.names.get(change.from.set),
            from.names.get(change.to.set),
            place,
            from.names.get(finding.test),
            &change.name,
            change.unit,
            change.before,
            change.after,
            change.value,
            change.u,
            change.dof,
            interval.map(|interval| interval.low),
            interval.map(|interval| interval.high),
            change.relative_percent,
            change.count,
            change.paired,
            change.limit,
            change.claim.word(),
            why_not(&change.claim),
            change.grade.letter.to_string(),
            change.absent.map(|absent| absent.to_string()),
        ]
    });
    DataTable::new("quantity-changes", "What changed in tests of other quantities than sound", columns)
        .keyed(&["from", "to", "place"])
        .refers("from", "sets", "set")
        .refers("to", "sets", "set")
        .refers("test", "tests", "test")
        .rows(rows)
}

pub(super) fn quantity_budget(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("from", "The first state"),
        text("to", "The second state"),
        count("change", "Place of the change between the two, as in quantity-changes"),
        count("place", "Its place in the budget"),
        text("term", "What makes it uncertain"),
        number("u", "", "Standard uncertainty in the unit of the change; of a ratio, as a share of one"),
        number("share", "", "Share of the combined uncertainty squared"),
    ];
    let rows = placed_changes(from).flat_map(|(_, place, change)| {
        let ends = (from.names.get(change.from.set), from.names.get(change.to.set));
        change.shares.iter().enumerate().map(move |(index, share)| {
            row![ends.0, ends.1, place, index + 1, share.name, share.u, share.share]
        })
    });
    DataTable::new(
        "quantity-budget",
        "What makes changes of other quantities than sound uncertain, one term a row",
        columns,
    )
    .keyed(&["from", "to", "change", "place"])
    .refers("from", "sets", "set")
    .refers("to", "sets", "set")
    .rows(rows)
}

/// Every change with its test, and its place among those between the same two states.
fn placed_changes<'a>(
    from: &From<'a, '_>,
) -> impl Iterator<Item = (&'a QuantityFinding, usize, &'a QuantityChange)> {
    quantities(from).flat_map(|finding| {
        finding.changes.iter().enumerate().map(move |(index, change)| {
            let same =
                |other: &&QuantityChange| (other.from.set, other.to.set) == (change.from.set, change.to.set);
            (finding, finding.changes[..index].iter().filter(same).count() + 1, change)
        })
    })
}

/// Why there is no claim; the least change that repeats allow to claim stands unrounded in a column of its own.
fn why_not(claim: &QuantityClaim) -> Option<String> {
    let QuantityClaim::NoClaim(reasons) = claim else { return None };
    let words = reasons.iter().map(|reason| match reason {
        Doubt::WithinRepeats { .. } => "under the least change that repeats allow to claim".to_owned(),
        other => other.to_string(),
    });
    words.collect::<Vec<_>>().join("; ").cell()
}
