//! Results side by side.

use serde_json::{Value, json};
use storypole_findings::compare::{AcrossRow, ChangeRow, Comparison, FamilyPool, LevelRow, Line, PairPool};
use storypole_notebook::Book;

use super::{estimate, interval, test};

/// A comparison as JSON.
pub fn json(book: &Book, comparison: &Comparison) -> Value {
    json!({
        "axis": comparison.axis.word(),
        "bench_rig": comparison.bench.iter().map(|one| test::bench(book, &one.finding)).collect::<Value>(),
        "changes": comparison.changes.iter().map(pair).collect::<Value>(),
        "level_differences": comparison.levels.iter().map(family).collect::<Value>(),
        "notes": comparison.notes,
    })
}

fn pair(pool: &PairPool) -> Value {
    json!({
        "before": pool.before,
        "after": pool.after,
        "states": [pool.states.0, pool.states.1],
        "unit": pool.unit.map(|unit| unit.symbol()),
        "opening_limited": pool.apart,
        "jobs": pool.jobs,
        "words": pool.words,
        "rows": pool.rows.iter().map(row).collect::<Value>(),
    })
}

fn row(row: &ChangeRow) -> Value {
    json!({
        "job": row.job_label,
        "assemblies": [row.assemblies.0, row.assemblies.1],
        "sets": [row.sets.0, row.sets.1],
        "direction": row.direction,
        "unit": row.unit.map(|unit| unit.symbol()),
        "change": estimate(&row.value, true),
        "interval": row.interval.as_ref().map(interval),
        "claim": row.claim.word(),
        "grade": row.grade.to_string(),
        "line": line(row.line),
        "parts_changed": row.bundle,
    })
}

/// The line of a table a result stands in.
pub fn line(line: Line) -> &'static str {
    match line {
        Line::Main => "main",
        Line::Second => "second",
        Line::Never => "never pooled",
    }
}

fn family(pool: &FamilyPool) -> Value {
    let level = |row: &LevelRow| {
        json!({
            "job": row.job_label,
            "assembly": row.assembly,
            "set": row.set,
            "direction": row.direction,
            "level_difference": estimate(&row.value, false),
        })
    };
    json!({
        "family": pool.family,
        "state": pool.state,
        "unit": pool.unit.map(|unit| unit.symbol()),
        "opening_limited": pool.apart,
        "jobs": pool.jobs,
        "words": pool.words,
        "rows": pool.rows.iter().map(level).collect::<Value>(),
    })
}

/// One row for each job and assembly.
pub fn across(rows: &[AcrossRow]) -> Value {
    let one = |across: &AcrossRow| {
        json!({
            "design": across.design,
            "opening_limited": across.apart,
            "jobs": across.jobs,
            "words": across.words,
            "row": row(&across.row),
        })
    };
    rows.iter().map(one).collect()
}
