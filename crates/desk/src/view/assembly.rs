//! What was achieved with a wall, and how the sound divides between wall and openings.

use serde_json::{Value, json};
use storypole_findings::assembly_finding::{Achieved, AssemblyFinding};
use storypole_findings::paths::{OpeningPath, PathShares};
use storypole_findings::print;
use storypole_notebook::Book;
use storypole_notebook::kinds::Assembly;

use super::{called, change, day, estimate, number, predicted};
use crate::reasons;

/// The seven parts of a wall as written, with the words they are shown under.
pub fn parts(wall: &Assembly) -> [(&'static str, Option<&str>); 7] {
    [
        ("leaf_a", wall.leaf_a.as_deref()),
        ("frame", wall.frame.as_deref()),
        ("cavity", wall.cavity.as_deref()),
        ("leaf_b", wall.leaf_b.as_deref()),
        ("openings", wall.openings.as_deref()),
        ("seals", wall.seals.as_deref()),
        ("state", wall.state.as_deref()),
    ]
}

/// An assembly's finding as JSON.
pub fn json(book: &Book, finding: &AssemblyFinding) -> Value {
    let wall = book.assemblies.get(finding.assembly);
    let built = wall.map(|wall| {
        let parts = parts(wall).into_iter().map(|(name, words)| (name.to_owned(), json!(words)));
        json!({
            "element": wall.element,
            "job": called::json(book, "job", wall.job),
            "room_a": called::json(book, "room", wall.room_a),
            "room_b": called::json(book, "room", wall.room_b),
            "replaces": called::json(book, "assembly", wall.replaces),
            "since": day(wall.since),
            "length": wall.length.map(|length| length.to_string()),
            "height": wall.height.map(|height| height.to_string()),
            "parts": parts.collect::<serde_json::Map<_, _>>(),
            "note": wall.note,
        })
    });
    json!({
        "id": finding.assembly.to_string(),
        "kind": "assembly",
        "label": finding.label,
        "sentence": finding.sentence,
        "built": built,
        "achieved": finding.achieved.iter().map(|one| achieved(book, one)).collect::<Value>(),
        "changes": finding.changes.iter().map(|one| change::json(book, one)).collect::<Value>(),
        "paths": finding.paths.as_ref().map(paths),
        "predicted": finding.predicted.as_ref().ok().map(predicted::json),
        "not_predicted_because": finding.predicted.as_ref().err().map(|why| reasons::of(why).join(": ")),
    })
}

fn achieved(book: &Book, achieved: &Achieved) -> Value {
    json!({
        "set": called::json(book, "set", Some(achieved.set)),
        "job": called::json(book, "job", achieved.job),
        "direction": achieved.direction.words,
        "unit": achieved.unit.map(|unit| unit.symbol()),
        "level_difference": estimate(&achieved.value, false),
        "is_in_results": achieved.is_in,
        "bench_rig": achieved.bench,
    })
}

/// How the sound divides between wall and openings.
pub fn paths(paths: &PathShares) -> Value {
    let opening = |opening: &OpeningPath| {
        json!({
            "words": opening.words,
            "area_m2": number(opening.area_m2, 2),
            "loss": number(opening.loss.typical_db, 0),
            "loss_source": opening.loss.source,
            "share": opening.share,
            "printed": print::percent(opening.share),
        })
    };
    json!({
        "face_m2": paths.face_m2.map(|area| number(area, 2)),
        "wall": paths.wall.map(|wall| json!({
            "low": number(wall.low_db, 0), "typical": number(wall.typical_db, 0), "high": number(wall.high_db, 0),
            "source": wall.source,
        })),
        "wall_share": paths.wall_share,
        "openings": paths.openings.iter().map(opening).collect::<Value>(),
        "opening_is_the_limit": paths.limiting().is_some(),
        "formula": paths.predicted.map(change::prediction),
        "absent": paths.absent.map(|absent| absent.to_string()),
        "sentence": paths.sentence(),
    })
}
