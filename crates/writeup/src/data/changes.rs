//! What changed between sets, what makes it uncertain, and the pooled spreads behind that.

use std::collections::BTreeSet;

use storypole_findings::{Change, Claim, Interval, NoClaim};

use super::cell::{BOUND, count, flag, number, row, sense, text};
use super::{DataTable, From};

/// Every change with its name, each pair of sets once: those of the tests, then those of the job.
fn named<'a>(from: &From<'a, '_>) -> Vec<(String, &'a Change, bool)> {
    let scope = from.scope;
    let of_tests = scope.tests.iter().flat_map(|test| &test.groups);
    let of_tests = of_tests.flat_map(|group| group.changes.iter().chain(&group.headline));
    let of_job = scope.job_findings.iter().flat_map(|job| &job.groups);
    let of_job = of_job.flat_map(|group| group.own.iter().chain(&group.chain).chain(&group.steps));
    let answers: BTreeSet<_> =
        scope.headlines().iter().map(|change| (change.from.set, change.to.set)).collect();
    let mut seen = BTreeSet::new();
    let mut named = Vec::new();
    for change in of_tests.chain(of_job) {
        let ends = (change.from.set, change.to.set);
        if let (Some(first), Some(second)) = (from.names.get(ends.0), from.names.get(ends.1))
            && !scope.out.has_change(ends.0, ends.1)
            && seen.insert(ends)
        {
            named.push((format!("{first} to {second}"), change, answers.contains(&ends)));
        }
    }
    named
}

pub(super) fn changes(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("change", "Its name: the two sets"),
        text("from", "The first set"),
        text("to", "The second set"),
        flag("answers", "Whether it is one of the answers of the write-up"),
        text("direction", "Which way the sound went, in words"),
        text("weighting", "Unit of the levels"),
        text("of", "positions or runs: what was compared"),
        number("before_db", "dB", "Level difference of the first set on what was compared"),
        number("after_db", "dB", "Level difference of the second set on what was compared"),
        number("change_db", "dB", "After less before; positive is quieter in the receiving room"),
        text("bound", BOUND),
        text("absent", "Why there is no change"),
        text("positions", "Receive positions compared, by label"),
        text("positions_left_off", "Receive positions that only one of the sets has, by label"),
        count("compared", "Positions compared; with runs, those of the first set"),
        count("compared_after", "With runs, those of the second set"),
        number("position_mean_db", "dB", "Mean of the differences by position"),
        number("scatter_db", "dB", "Standard deviation of what the positions add to the change"),
        flag("pooled", "Whether the scatter of the budget is pooled over tests of the kind"),
        flag("receive_only", "The source room was not measured in both sets"),
        number("u_db", "dB", "Combined standard uncertainty"),
        number("dof", "", "Effective degrees of freedom; empty is without limit"),
        number("low_db", "dB", "Lower end of the interval"),
        number("high_db", "dB", "Upper end of the interval"),
        number("coverage", "", "How often such intervals hold the true value"),
        number("limit_db", "dB", "The least change that is claimed"),
        text("claim", "Whether it may be claimed"),
        text("why_not", "Why it may not"),
        text("grade", "How good the comparison was, A to D"),
        text("control_from", "Set of an untouched wall nearest to the first set"),
        text("control_to", "Set of that wall nearest to the second set"),
        number("control_change_db", "dB", "What the untouched wall changed"),
        number("effect_db", "dB", "The change less that"),
        text("effect_bound", BOUND),
        number("effect_u_db", "dB", "Combined standard uncertainty of the effect"),
        number("effect_dof", "", "Its effective degrees of freedom; empty is without limit"),
        number("effect_low_db", "dB", "Lower end of its interval"),
        number("effect_high_db", "dB", "Upper end of its interval"),
    ];
    DataTable::new("changes", "What changed from one set to another", columns)
        .refers("from", "sets", "set")
        .refers("to", "sets", "set")
        .refers("control_from", "sets", "set")
        .refers("control_to", "sets", "set")
        .rows(named(from).into_iter().map(|(name, change, answers)| change_row(from, name, change, answers)))
}

fn change_row(from: &From<'_, '_>, name: String, change: &Change, answers: bool) -> Vec<Option<String>> {
    let (compared, compared_after) = match change.runs {
        Some((before, after)) => (before, Some(after)),
        None => (change.compared_on.len(), None),
    };
    let ends = |interval: Option<Interval>| {
        (interval.map(|interval| interval.low), interval.map(|interval| interval.high))
    };
    let (low_db, high_db) = ends(change.interval);
    let control = change.control.as_ref();
    let (effect_low_db, effect_high_db) = ends(control.and_then(|control| control.interval));
    row![
        name,
        from.names.get(change.from.set),
        from.names.get(change.to.set),
        answers,
        &change.direction.words,
        change.unit.map(|unit| unit.symbol()),
        if change.runs.is_some() { "runs" } else { "positions" },
        change.before.map(|before| before.value),
        change.after.map(|after| after.value),
        change.value.map(|value| value.value),
        change.value.map(|value| value.bound),
        change.absent.map(|absent| absent.to_string()),
        change.compared_on.join("; "),
        change.left_off.join("; "),
        compared,
        compared_after,
        change.position_mean_db,
        change.scatter_db,
        change.budget.pooled,
        change.receive_only,
        change.budget.u_db,
        change.budget.dof.filter(|_| change.budget.u_db.is_some()),
        low_db,
        high_db,
        change.interval.map(|_| 0.95),
        change.limit_db,
        change.claim.word(),
        why_not(&change.claim),
        change.grade.letter.to_string(),
        control.and_then(|control| from.names.get(control.from.set)),
        control.and_then(|control| from.names.get(control.to.set)),
        control.map(|control| control.control_change.value),
        control.map(|control| control.effect.value),
        control.map(|control| sense(control.effect.bound)),
        control.and_then(|control| control.budget.u_db),
        control.and_then(|control| control.budget.dof.filter(|_| control.budget.u_db.is_some())),
        effect_low_db,
        effect_high_db,
    ]
}

/// Why there is no claim; the least change to claim stands unrounded in a column of its own.
fn why_not(claim: &Claim) -> String {
    let Claim::NoClaim(reasons) = claim else { return String::new() };
    let words = reasons.iter().map(|reason| match reason {
        NoClaim::TooSmall { .. } => "under the least change to claim".to_owned(),
        other => other.to_string(),
    });
    words.collect::<Vec<_>>().join("; ")
}

pub(super) fn budget(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("change", "The change"),
        text("of", "change, or effect where an untouched wall is taken off"),
        count("place", "Its place in the budget"),
        text("term", "What makes it uncertain"),
        number("u_db", "dB", "Standard uncertainty"),
        number("dof", "", "Degrees of freedom; empty is without limit"),
        number("share", "", "Share of the combined uncertainty squared"),
        text("from_where", "Where the number comes from"),
    ];
    let rows = named(from).into_iter().flat_map(|(name, change, _)| {
        let effect = change.control.iter().map(|control| ("effect", &control.budget));
        let budgets: Vec<_> = std::iter::once(("change", &change.budget)).chain(effect).collect();
        let rows = budgets.into_iter().flat_map(|(of, budget)| {
            let name = name.as_str();
            budget.shares.iter().enumerate().map(move |(index, share)| {
                let from_where = origin(share.name, budget.pooled);
                row![name, of, index + 1, share.name, share.u_db, share.dof, share.share, from_where]
            })
        });
        rows.collect::<Vec<_>>()
    });
    DataTable::new("budget", "What makes changes uncertain, one term a row", columns)
        .keyed(&["change", "of", "place"])
        .refers("change", "changes", "change")
        .rows(rows)
}

/// Where a term of the budget comes from.
fn origin(term: &str, is_pooled: bool) -> &'static str {
    match term {
        "scatter of the positions" if is_pooled => {
            "pooled-spreads, position scatter of the weighting, over the root of the positions"
        }
        "scatter of the positions" => "scatter_db of the change over the root of the positions",
        "scatter of the control wall" => {
            "scatter of the untouched wall's change over the root of its positions"
        }
        "scatter of the runs" => "standard errors of both means of runs, joined",
        "the crew's own repeats" => "pooled-spreads, own repeats of the weighting, times the root of two",
        "steps of the meter" => "step of the readings over the root of six, where the scatter is below it",
        _ => "convention of the program: a rule, not a measurement",
    }
}

pub(super) fn pooled(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        count("row", "Its number"),
        text("spread", "position scatter, or own repeats of whole sets"),
        text("weighting", "Unit of the levels"),
        text("test", "Label of the test, which may be outside the package"),
        text("sets", "Labels of its sets"),
        count("n", "Positions compared, or sets that repeat each other"),
        number("sd_db", "dB", "Standard deviation, n - 1 degrees of freedom"),
    ];
    let units: BTreeSet<_> = from.sets.iter().filter_map(|set| set.unit).collect();
    let parts = from.scope.pooled_from.iter().filter(|part| units.contains(&part.unit));
    let rows = parts.enumerate().map(|(index, part)| {
        let spread = if part.is_repeats { "own repeats" } else { "position scatter" };
        row![index + 1, spread, part.unit.symbol(), &part.test, part.sets.join("; "), part.n, part.sd_db]
    });
    DataTable::new(
        "pooled-spreads",
        "What pooled spreads are made from: those of one kind and weighting are joined by their degrees of freedom",
        columns,
    )
    .rows(rows)
}
