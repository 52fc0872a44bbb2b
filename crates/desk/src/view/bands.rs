//! What a set or a change shows by frequency band: tables, and series a chart can draw.

use serde_json::{Value, json};
use storypole_acoustics::Spectrum;
use storypole_acoustics::bands::{Band, Fraction};
use storypole_findings::bands::{BandChange, BandChangeRow, BandRating, BandRow, RatingChange, SetBands};

use super::set::regime;
use super::{estimate, number, signed};

/// A set by band as JSON.
pub fn of_set(bands: &SetBands) -> Value {
    json!({
        "width": width(bands.fraction),
        "source_positions": bands.source.iter().map(|place| place.label.as_str()).collect::<Vec<_>>(),
        "receive_positions": bands.receive.iter().map(|place| place.label.as_str()).collect::<Vec<_>>(),
        "rows": bands.rows.iter().map(|one| row(one, bands.decay_s.as_ref())).collect::<Value>(),
        "ratings": bands.ratings.iter().map(rating).collect::<Value>(),
        "no_rating_because": bands.unrated,
        "a_weighted": estimate(&bands.a_weighted, false),
    })
}

/// A change by band as JSON.
pub fn of_change(change: &BandChange) -> Value {
    json!({
        "width": width(change.fraction),
        "compared_on": change.compared_on,
        "rows": change.rows.iter().map(change_row).collect::<Value>(),
        "ratings": change.ratings.iter().map(rating_change).collect::<Value>(),
    })
}

fn width(fraction: Fraction) -> &'static str {
    match fraction {
        Fraction::Octave => "octave",
        Fraction::Third => "third",
    }
}

fn hz(band: Band) -> Value {
    json!(band.nominal_hz())
}

fn row(row: &BandRow, decay_s: Option<&Spectrum>) -> Value {
    json!({
        "band": hz(row.band),
        "label": row.band.to_string(),
        "source": number(row.source_db, 1),
        "receive": number(row.receive_db, 1),
        "background": row.background_db.map(|level| number(level, 1)),
        "background_effect": row.background.map(|background| regime(background.regime)),
        "level_difference": estimate(&row.difference, false),
        "reverberation": decay_s.and_then(|decay| decay.get(row.band)).map(|time| number(time, 2)),
        "standardised": row.standardised.as_ref().map(|standardised| estimate(standardised, false)),
    })
}

/// A single number with the curve that a chart lays over the bands.
fn rating(rating: &BandRating) -> Value {
    let series = rating.curve_db.iter().zip(&rating.short_db).map(|((band, curve_db), (_, short_db))| {
        json!({ "band": hz(*band), "curve": number(*curve_db, 0), "short": number(*short_db, 1) })
    });
    json!({
        "name": rating.name,
        "by": rating.by,
        "value": rating.value_db,
        "bound": super::sense(rating.bound),
        "c": rating.terms_db.map(|(c, _)| c),
        "ctr": rating.terms_db.map(|(_, ctr)| ctr),
        "stated": rating.stated(),
        "curve": series.collect::<Value>(),
        "decided_by": rating.deciding.iter().map(|band| hz(*band)).collect::<Value>(),
        "one_band_decides": rating.one_band,
    })
}

fn change_row(row: &BandChangeRow) -> Value {
    json!({
        "band": hz(row.band),
        "label": row.band.to_string(),
        "before": estimate(&row.before, false),
        "after": estimate(&row.after, false),
        "change": estimate(&row.change, true),
        "standardised": row.standardised.as_ref().map(|change| estimate(change, true)),
        "least_that_shows": row.least_db.map(|least| number(least, 1)),
        "is_clear": row.is_clear(),
    })
}

fn rating_change(change: &RatingChange) -> Value {
    json!({
        "name": change.name,
        "before": rating(&change.before),
        "after": rating(&change.after),
        "change": signed(change.change.value, 1),
        "bound": super::sense(change.change.bound),
    })
}
