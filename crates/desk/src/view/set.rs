//! One round of readings.

use serde_json::{Value, json};
use storypole_findings::set_finding::{PositionLevel, Side, rule_words};
use storypole_findings::{BackgroundRule, Regime, SetFinding};
use storypole_notebook::Book;

use super::{bands, called, day, estimate, flags, number};

/// A set's finding as JSON.
pub fn json(book: &Book, set: &SetFinding) -> Value {
    json!({
        "id": set.set.to_string(),
        "kind": "set",
        "label": set.label,
        "test": called::json(book, "test", set.test),
        "job": called::json(book, "job", set.job),
        "assembly": called::json(book, "assembly", set.assembly),
        "stage": set.stage,
        "date": day(set.date),
        "direction": set.direction.words,
        "from_room": called::json(book, "room", set.direction.from),
        "to_room": called::json(book, "room", set.direction.to),
        "unit": set.unit.map(|unit| unit.symbol()),
        "response": set.response,
        "source": set.source.as_ref().map(side),
        "receive": set.receive.as_ref().map(side),
        "background": set.background_db.map(|level| number(level, 1)),
        "margin": set.margin_db().map(|margin| number(margin, 1)),
        "background_rule": rule_name(set.rule),
        "background_rule_words": rule_words(set.rule),
        "background_effect": set.background.map(|background| regime(background.regime)),
        "receive_corrected": set.background.map(|background| number(background.corrected_db, 1)),
        "level_difference": set.level_difference.as_ref().map(|difference| estimate(difference, false)),
        "absent": set.absent.map(|absent| absent.to_string()),
        "runs": set.runs.as_ref().map(|runs| json!({
            "values": runs.values_db,
            "mean": number(runs.mean_db, 1),
            "spread": runs.sd_db.map(|sd| number(sd, 2)),
        })),
        "bands": set.bands.as_ref().map(bands::of_set),
        "hearing": set.hearing.as_ref().map(|hearing| json!({
            "level": number(hearing.level_dba, 1),
            "niosh_hours": number(hearing.niosh_hours, 2),
            "osha_hours": hearing.osha_hours.map(|hours| number(hours, 2)),
            "words": hearing.sentence(),
        })),
        "missing_positions": set.missing,
        "corrected_readings": set.corrected.iter().map(|one| json!({
            "id": one.reading.to_string(),
            "position": one.position,
            "fields": one.fields,
        })).collect::<Value>(),
        "flags": flags(&set.flags),
        "included_by_a_person": set.included,
        "included_because": set.included_because,
        "untouched": set.control,
        "is_in_results": set.is_in(),
        "out_because": set.excluded,
        "sentence": set.sentence,
    })
}

fn side(side: &Side) -> Value {
    let place = |place: &PositionLevel| {
        json!({
            "id": place.position.map(|id| id.to_string()),
            "label": place.label,
            "level": number(place.level_db, 1),
            "readings": place.readings,
        })
    };
    json!({
        "mean": number(side.mean_db, 1),
        "loudest_less_quietest": number(side.spread_db, 1),
        "positions": side.positions.iter().map(place).collect::<Value>(),
    })
}

/// A rule by its word in the notebook.
pub fn rule_name(rule: BackgroundRule) -> &'static str {
    match rule {
        BackgroundRule::AstmE336 => "astm_e336",
        BackgroundRule::Iso16283 => "iso16283",
        BackgroundRule::AstmE336_19a => "astm_e336_19a",
    }
}

/// What the rule did, in a word.
pub fn regime(regime: Regime) -> &'static str {
    match regime {
        Regime::Clear => "none",
        Regime::Corrected => "subtracted",
        Regime::Limit => "limit",
    }
}
