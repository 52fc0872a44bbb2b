//! What lies between two sets.

use serde_json::{Value, json};
use storypole_findings::change::{BundlePart, Change, Claim, Dominant, OddPosition, PositionChange, SetRef};
use storypole_findings::grade::Grade;
use storypole_findings::paths::Prediction;
use storypole_findings::{Budget, Interval, Sense, budget, words};
use storypole_notebook::{Book, Unit};

use super::{bands, called, estimate, flags, interval, number, signed, stages};

/// A change as JSON.
pub fn json(book: &Book, change: &Change) -> Value {
    json!({
        "from": set_ref(book, &change.from),
        "to": set_ref(book, &change.to),
        "direction": change.direction.words,
        "unit": change.unit.map(|unit| unit.symbol()),
        "before": change.before.as_ref().map(|before| estimate(before, false)),
        "after": change.after.as_ref().map(|after| estimate(after, false)),
        "change": change.value.as_ref().map(|value| estimate(value, true)),
        "absent": change.absent.map(|absent| absent.to_string()),
        "mean_of_position_differences": change.position_mean_db.map(|mean| signed(mean, 1)),
        "averages_differ": change.averages_differ(),
        "by_position": change.by_position.iter().map(by_position).collect::<Value>(),
        "odd_position": change.odd.as_ref().map(odd_position),
        "one_position_dominates": change.dominant.as_ref().map(dominant),
        "compared_on": change.compared_on,
        "left_off": change.left_off,
        "runs": change.runs.map(|(before, after)| json!({ "before": before, "after": after })),
        "scatter": change.scatter_db.map(|scatter| number(scatter, 2)),
        "interval_of_positions_alone": change.position_interval.as_ref().map(interval),
        "interval": change.interval.as_ref().map(interval),
        "bands": change.bands.as_ref().map(bands::of_change),
        "two_more_positions_leave": change.two_more_leave,
        "uncertainty": uncertainty(&change.budget),
        "least_claimed": number(change.limit_db, 1),
        "claim": change.claim.word(),
        "no_claim_because": reasons(&change.claim),
        "receive_level_only": change.receive_only,
        "open_studs": change.open_studs,
        "parts_changed": parts(&change.bundle),
        "control": change.control.as_ref().map(|one| stages::control(book, one)),
        "formula": { "before": change.predicted.0.map(prediction), "after": change.predicted.1.map(prediction) },
        "opening_limited": change.is_apart(),
        "flags": flags(&change.flags),
        "grade": grade(&change.grade),
        "sentence": change.sentence,
        "numbers": change.numbers,
        "beside": change.beside,
        "heard": heard(change),
        "resampled": Value::Null,
    })
}

/// The change that answers a test or a job: as any other, with its positions resampled, which takes a while.
pub fn headline(book: &Book, change: &Change) -> Value {
    let mut json = json(book, change);
    json["resampled"] =
        change.bootstrap().zip(change.bootstrap_words()).map_or(Value::Null, |(found, words)| {
            json!({
                "mean": signed(found.mean, 1),
                "interval": interval(&Interval::from(found.interval)),
                "sentence": words,
            })
        });
    json
}

/// What so many decibels are to the ear, where the readings are weighted like the ear.
pub fn heard(change: &Change) -> Option<&'static str> {
    let value = change.value.filter(|value| value.bound != Sense::Undetermined)?;
    (change.unit == Some(Unit::DbA)).then(|| words::heard(value.value))
}

fn by_position(place: &PositionChange) -> Value {
    json!({ "position": place.label, "change": signed(place.change_db, 1) })
}

fn odd_position(odd: &OddPosition) -> Value {
    let line = |(value, around): (f64, Option<Interval>)| json!({ "change": signed(value, 1), "interval": around.as_ref().map(interval) });
    json!({
        "position": odd.label,
        "change": signed(odd.change_db, 1),
        "off_the_others": signed(odd.off_db, 1),
        "with_it": line(odd.with_it),
        "without_it": line(odd.without_it),
        "sentence": odd.sentence(),
    })
}

fn dominant(one: &Dominant) -> Value {
    json!({ "position": one.label, "set": one.set, "share": one.share, "sentence": one.sentence() })
}

/// One end of a change.
pub fn set_ref(book: &Book, set: &SetRef) -> Value {
    json!({
        "set": called::json(book, "set", Some(set.set)),
        "assembly": called::json(book, "assembly", set.assembly),
        "job": called::json(book, "job", set.job),
    })
}

/// Parts of a wall that differ.
pub fn parts(bundle: &[BundlePart]) -> Value {
    let part = |part: &BundlePart| json!({ "part": part.part, "before": part.before, "after": part.after });
    bundle.iter().map(part).collect()
}

fn uncertainty(budget: &Budget) -> Value {
    let share = |share: &budget::Share| json!({ "name": share.name, "u": number(share.u_db, 2), "share": share.share });
    json!({
        "u": budget.u_db.map(|u| number(u, 2)),
        "degrees_of_freedom": budget.dof.map(|dof| number(dof, 1)),
        "scatter_is_pooled": budget.pooled,
        "own_repeats": budget.own_repeats,
        "advice": budget.advice(),
        "shares": budget.shares.iter().map(share).collect::<Value>(),
    })
}

fn reasons(claim: &Claim) -> Vec<String> {
    match claim {
        Claim::NoClaim(reasons) => reasons.iter().map(ToString::to_string).collect(),
        _ => Vec::new(),
    }
}

/// What the formula for wall and openings gives.
pub fn prediction(predicted: Prediction) -> Value {
    json!({
        "low": number(predicted.low_db, 1),
        "typical": number(predicted.typical_db, 1),
        "high": number(predicted.high_db, 1),
    })
}

/// A grade with every row it was made from.
pub fn grade(grade: &Grade) -> Value {
    let rows = grade
        .criteria
        .iter()
        .map(|row| json!({ "name": row.name, "letter": row.letter.to_string(), "why": row.why }));
    json!({ "letter": grade.letter.to_string(), "reasons": grade.reasons(), "rows": rows.collect::<Value>() })
}
