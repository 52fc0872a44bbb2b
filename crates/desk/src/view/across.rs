//! What kinds of walls gave over several jobs.

use serde_json::{Value, json};
use storypole_findings::across;
use storypole_findings::across::RatioRange;
use storypole_findings::across::{
    Across, Beside, Front, FrontPoint, LeftOut, Measure, NoAverage, Place, Pool, PoolCost, Row, Synthesis,
    Together, Way, Without, level_words,
};
use storypole_notebook::Book;
use storypole_notebook::matching::MatchLevel;
use storypole_units::Currency;

use super::{called, comparison, estimate, interval, number, sense, signed};

/// The word of a measure.
pub fn measure(measure: Measure) -> &'static str {
    match measure {
        Measure::Change => "change",
        Measure::Level => "level-difference",
    }
}

/// A measure by its word.
pub fn measure_of(word: &str) -> Option<Measure> {
    [Measure::Change, Measure::Level].into_iter().find(|one| measure(*one) == word)
}

/// The word of a level of likeness.
pub fn alike(level: MatchLevel) -> &'static str {
    match level {
        MatchLevel::Same => "same",
        MatchLevel::Near => "near",
        MatchLevel::Family => "family",
    }
}

/// A level of likeness by its word.
pub fn alike_of(word: &str) -> Option<MatchLevel> {
    [MatchLevel::Same, MatchLevel::Near, MatchLevel::Family].into_iter().find(|one| alike(*one) == word)
}

/// One table of pools as JSON.
pub fn json(book: &Book, across: &Across) -> Value {
    json!({
        "measure": measure(across.measure),
        "alike": alike(across.level),
        "alike_in": level_words(across.level),
        "pools": across.pools.iter().map(|one| pool(book, one)).collect::<Value>(),
        "left_out": across.left_out.iter().map(|one| left_out(book, one)).collect::<Value>(),
        "tests": {
            "planned": across.tests.planned,
            "finished": across.tests.finished,
            "left_out": across.tests.left_out,
        },
        "by_cost": across.front.iter().map(|one| front(one, &across.pools)).collect::<Value>(),
        "notes": across.notes,
    })
}

fn pool(book: &Book, pool: &Pool) -> Value {
    json!({
        "label": pool.label,
        "unit": pool.key.unit.map(|unit| unit.symbol()),
        "opening_limited": pool.key.apart,
        "jobs": pool.jobs,
        "tests": pool.tests,
        "sentences": pool.sentences,
        "average": together(book, pool.measure, &pool.main),
        "with_grade_c": pool.with_second.as_ref().map(|with| together(book, pool.measure, with)),
        "rows": pool.rows.iter().map(|one| row(book, one)).collect::<Value>(),
        "fills": pool.fills.iter().map(|fill| json!({
            "fill": fill.fill,
            "jobs": fill.together.entries.len(),
            "average": together(book, pool.measure, &fill.together),
            "sentence": fill.sentence,
        })).collect::<Value>(),
        "cost": cost(&pool.cost),
        "elsewhere": elsewhere(&pool.beside),
        "left_out": pool.left_out.iter().map(|one| left_out(book, one)).collect::<Value>(),
    })
}

/// A row of a pool as JSON.
pub fn row(book: &Book, row: &Row) -> Value {
    let wall = |wall: &across::Wall| called::json(book, "assembly", Some(wall.assembly));
    json!({
        "job": called::json(book, "job", row.job),
        "before": row.before.as_ref().map(wall),
        "wall": wall(&row.after),
        "unit": row.unit.map(|unit| unit.symbol()),
        "tests": row.tests,
        "sets": row.sets,
        "value": estimate(&row.value, row.measure == Measure::Change),
        "interval": across::rows::interval_of(row).as_ref().map(interval),
        "grade": row.grade.to_string(),
        "line": comparison::line(row.line),
        "opening_limited": row.apart,
        "parts_changed": row.bundle,
    })
}

fn together(book: &Book, measure: Measure, together: &Together) -> Value {
    let is_change = measure == Measure::Change;
    let found = together.result.as_ref().ok();
    let headline = found.and_then(|found| found.headline.as_ref());
    let single = found.filter(|found| found.headline.is_none()).and_then(|_| together.entries.first());
    let average_db = match &together.result {
        Err(NoAverage::OnlyBounds { mean_db }) => Some(*mean_db),
        _ => headline.map(|one| one.average_db).or_else(|| single.map(|entry| entry.value.value)),
    };
    let way = |way| match way {
        Way::HalfNormal => "half-normal",
        Way::T => "t",
    };
    json!({
        "jobs": together.entries.len(),
        "bound": sense(together.bound),
        "value": average_db.map(|average_db| value(is_change, average_db)),
        "absent": together.result.as_ref().err().map(ToString::to_string),
        "interval": headline.map(|headline| interval(&headline.interval)),
        "next_job": headline.map(|headline| interval(&headline.next_job)),
        "by": headline.map(|headline| way(headline.way)),
        "prior_scale": found.map(|found| number(found.few.scale_db, 1)),
        "spread_between_jobs": found.and_then(|found| found.tau_db.ok()).map(|tau| number(tau, 1)),
        "spread_between_jobs_interval":
            found.and_then(|found| found.tau_interval_db.ok()).as_ref().map(interval),
        "no_spread_seen": found.is_some_and(|found| found.no_spread_seen),
        "without_one": found.map_or_else(Vec::new, |found| without_one(book, is_change, together, found)),
        "chance": found.and_then(|found| found.chance).map(|chance| json!({
            "above": number(chance.above_db, 0), "chance": chance.chance,
        })),
    })
}

fn without_one(book: &Book, is_change: bool, together: &Together, found: &Synthesis) -> Vec<Value> {
    let one = |without: &Without| {
        let job = called::json(book, "job", Some(together.entries.get(without.job)?.job));
        Some(json!({ "job": job, "value": value(is_change, without.mean_db), "moves": without.moves }))
    };
    found.without.iter().filter_map(one).collect()
}

fn value(is_change: bool, value: f64) -> Value {
    if is_change { signed(value, 1) } else { number(value, 1) }
}

/// What counts nowhere, and why.
fn left_out(book: &Book, left_out: &LeftOut) -> Value {
    json!({
        "job": called::json(book, "job", left_out.job),
        "sets": left_out.set_labels,
        "because": left_out.why,
    })
}

fn money(value: f64, currency: Option<Currency>) -> Value {
    json!({ "value": value, "printed": storypole_findings::print::decimals(value, 2), "currency": currency.map(|one| one.code().to_owned()) })
}

fn cost(cost: &PoolCost) -> Value {
    let range = |range: &RatioRange| match range {
        RatioRange::Bounded(range) => json!({ "from": range.low, "to": range.high }),
        RatioRange::Outside { above, .. } => json!({ "from": above, "to": null }),
        RatioRange::All => json!({ "from": null, "to": null }),
    };
    json!({
        "per_m2": cost.per_m2.map(|value| money(value, cost.currency)),
        "per_ft2": cost.per_ft2.map(|value| money(value, cost.currency)),
        "jobs": cost.jobs.iter().map(|(label, per_m2)| json!({
            "label": label, "per_m2": money(*per_m2, cost.currency),
        })).collect::<Value>(),
        "unknown": cost.unknown,
        "per_m2_and_db": cost.per_db.as_ref().ok().map(|found| json!({
            "value": money(found.per_m2_db, cost.currency),
            "range": range(&found.range),
            "at_most": found.at_most,
        })),
        "no_price_because": cost.per_db.as_ref().err().map(ToString::to_string),
    })
}

fn elsewhere(beside: &Beside) -> Value {
    json!({
        "published_before": beside.published_before.as_ref().map(interval),
        "published": beside.published.as_ref().map(interval),
        "model": beside.model_db.as_ref().map(interval),
        "sentence": beside.sentence,
    })
}

fn front(front: &Front, pools: &[Pool]) -> Value {
    let label = |index: usize| pools.get(index).map(|pool| pool.label.clone());
    let point = |point: &FrontPoint| {
        let (place, further, by) = match &point.place {
            Place::Step { further_per_db } => ("step", *further_per_db, Vec::new()),
            Place::BetterBeyond => ("better-beyond", None, Vec::new()),
            Place::Dominated { by } => ("dominated", None, by.iter().filter_map(|one| label(*one)).collect()),
            Place::Twin => ("twin", None, Vec::new()),
        };
        json!({
            "pool": label(point.pool),
            "per_m2": money(point.per_m2, pools.get(point.pool).and_then(|pool| pool.cost.currency)),
            "average": signed(point.average_db, 1),
            "jobs": point.jobs,
            "place": place,
            "further_per_m2_and_db": further.map(|value| number(value, 2)),
            "by": by,
        })
    };
    json!({
        "unit": front.unit.map(|unit| unit.symbol()),
        "opening_limited": front.apart,
        "states": [front.states.0, front.states.1],
        "points": front.points.iter().map(point).collect::<Value>(),
        "sentence": front.sentence,
    })
}
