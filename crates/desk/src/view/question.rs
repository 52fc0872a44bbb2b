//! The answer to a question about two kinds of walls.

use serde_json::{Value, json};
use storypole_findings::across::Measure;
use storypole_findings::question::{
    Answer, Basis, BenchVerdict, Contrast, Pair, PairCost, Range, Side, SideCost, Verdict,
};
use storypole_notebook::Book;

use super::{across, interval, number, sense, signed};

/// An answer as JSON.
pub fn json(book: &Book, answer: &Answer) -> Value {
    let is_change = answer.measure == Measure::Change;
    json!({
        "understood": answer.question.understood,
        "not_understood": answer.question.unread,
        "measure": across::measure(answer.measure),
        "states": [answer.states.0, answer.states.1],
        "opening_limited": answer.opening_limited,
        "sentences": answer.sentences,
        "sides": answer.sides.iter().map(|one| side(book, is_change, one)).collect::<Value>(),
        "ranking": answer.ranking.iter().map(|one| json!({
            "side": one.side, "against_the_best": one.to_best.map(verdict),
        })).collect::<Value>(),
        "pairs": answer.pairs.iter().map(pair).collect::<Value>(),
        "with_grade_c": answer.with_grade_c.iter().map(pair).collect::<Value>(),
        "bench_rig": answer.bench.iter().map(bench).collect::<Value>(),
        "shown_apart": answer.shown_apart.iter().map(|one| json!({
            "side": one.side, "row": across::row(book, &one.row), "because": one.why,
        })).collect::<Value>(),
        "left_out": answer.left_out.iter().map(|one| json!({ "what": one.what, "because": one.why })).collect::<Value>(),
        "next_step": answer.next_step,
    })
}

fn side(book: &Book, is_change: bool, side: &Side) -> Value {
    let value = |value: f64| if is_change { signed(value, 1) } else { number(value, 1) };
    let range = |range: &Range| json!({ "low": number(range.low_db, 0), "high": number(range.high_db, 0), "walls": range.walls });
    json!({
        "name": side.name,
        "rows": side.rows.iter().map(|one| across::row(book, one)).collect::<Value>(),
        "jobs_of_grade_c": side.jobs_of_grade_c,
        "average": side.average.as_ref().map(|average| json!({
            "jobs": average.jobs,
            "value": value(average.value_db),
            "bound": sense(average.bound),
            "interval": average.interval.as_ref().map(interval),
            "next_job": average.next_job.as_ref().map(interval),
        })),
        "published": side.published.as_ref().map(range),
        "model": side.predicted.as_ref().map(range),
        "cost": side.cost.as_ref().map(side_cost),
    })
}

fn side_cost(cost: &SideCost) -> Value {
    json!({
        "jobs": cost.jobs,
        "per_m2": number(cost.per_m2, 2),
        "u_per_m2": cost.u_per_m2.map(|u| number(u, 2)),
        "currency": cost.currency.code(),
    })
}

/// The word of a verdict.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::ClearlyBetter => "clearly better",
        Verdict::ProbablyBetter => "probably better",
        Verdict::CannotTell => "cannot tell",
    }
}

fn pair(pair: &Pair) -> Value {
    json!({
        "first": pair.first,
        "second": pair.second,
        "difference": pair.difference.as_ref().map(contrast),
        "bound": sense(pair.bound),
        "verdict": verdict(pair.verdict),
        "because": pair.why.iter().map(ToString::to_string).collect::<Value>(),
        "cost": pair.cost.as_ref().map(pair_cost),
        "sentence": pair.sentence,
    })
}

fn contrast(contrast: &Contrast) -> Value {
    json!({
        "value": signed(contrast.value_db, 1),
        "interval": contrast.interval.as_ref().map(interval),
        "u": number(contrast.u_db, 2),
        "degrees_of_freedom": contrast.dof.map(|dof| number(dof, 1)),
        "chance_better": contrast.chance_better,
        "spread_between_houses": contrast.tau_db.map(|tau| number(tau, 1)),
        "rests_on": basis(&contrast.basis),
    })
}

/// What a difference rests on, in words.
pub fn basis(basis: &Basis) -> String {
    match basis {
        Basis::TwoWalls => "one wall each, in two houses".to_owned(),
        Basis::OneHouse => "one wall each, in one house".to_owned(),
        Basis::Houses(1) => "both sides in one house".to_owned(),
        Basis::Houses(houses) => format!("both sides in each of {houses} houses"),
        Basis::Rebuilds(1) => "one rebuild from one side to the other".to_owned(),
        Basis::Rebuilds(houses) => format!("rebuilds from one side to the other in {houses} houses"),
        Basis::CommonSpread => "all jobs, with one spread between houses".to_owned(),
        Basis::OwnSpreads => "all jobs, each side with its own spread between houses".to_owned(),
        Basis::Adjusted(what) => {
            format!("all jobs, with {} taken out", storypole_findings::print::list(what))
        }
    }
}

fn pair_cost(cost: &PairCost) -> Value {
    json!({
        "more_per_m2": signed(cost.more_per_m2, 2),
        "u_per_m2": cost.u_per_m2.map(|u| number(u, 2)),
        "area_m2": number(cost.area_m2, 1),
        "currency": cost.currency.code(),
        "worth_less_cost": cost.net.as_ref().map(|net| signed(net.value, 2)),
        "chance_worth_it": cost.net.as_ref().and_then(|net| net.chance_worth_it.ok()),
    })
}

fn bench(bench: &BenchVerdict) -> Value {
    json!({
        "test": bench.test_label,
        "first": bench.first,
        "second": bench.second,
        "difference": signed(bench.difference_db, 1),
        "interval": bench.interval.as_ref().map(interval),
        "told_apart": bench.told_apart,
        "sentence": bench.sentence,
    })
}
