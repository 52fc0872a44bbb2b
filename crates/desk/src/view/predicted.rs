//! What a model says a wall should give.

use serde_json::{Value, json};
use storypole_acoustics::Band;
use storypole_findings::prediction::{Path, Prediction};
use storypole_findings::print;

use super::number;

/// A prediction as JSON.
pub fn json(prediction: &Prediction) -> Value {
    let bands = prediction.without_openings.values().iter().zip(prediction.spectrum.values());
    let row = |((band, alone_db), (_, whole_db)): (&(Band, f64), &(Band, f64))| {
        json!({
            "band": band.nominal_hz(),
            "label": band.to_string(),
            "wall_alone": number(*alone_db, 0),
            "with_openings": number(*whole_db, 0),
        })
    };
    json!({
        "sentence": prediction.sentence(),
        "laboratory_class": prediction.wall_class_db,
        "class_spread": prediction.rating_spread_db,
        "band_spread": prediction.band_spread_db,
        "house_cap": prediction.cap_db,
        "pink_wall_alone": number(prediction.wall_pink_db, 0),
        "pink_with_openings": number(prediction.pink_db, 0),
        "published": prediction.published.map(|range| json!({
            "low": number(range.low_db, 0), "typical": number(range.typical_db, 0), "high": number(range.high_db, 0),
            "source": range.source,
        })),
        "bands": bands.map(row).collect::<Value>(),
        "paths": prediction.paths.iter().map(path).collect::<Value>(),
        "assumptions": prediction.assumptions,
    })
}

fn path(path: &Path) -> Value {
    json!({
        "words": path.words,
        "area_m2": path.area_m2.map(|area| number(area, 2)),
        "source": path.source,
        "share": path.pink_share,
        "printed": print::percent(path.pink_share),
    })
}
