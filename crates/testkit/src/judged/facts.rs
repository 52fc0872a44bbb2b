//! The records of a generated job with what a rule may ask of each.

use jiff::civil::Date;
use storypole_journal::RecordId;

use crate::houses::Truth;
use crate::houses::wall::Wall;

/// Kinds that rules know.
pub(super) const KINDS: &[&str] =
    &["assembly", "job", "test", "set", "entry", "receipt", "task", "photo", "site", "room"];

/// A record and what may be asked of it.
pub(super) struct Facts<'t> {
    pub(super) record: RecordId,
    /// `before` or `after`, where the record is of one of the two walls.
    pub(super) version: Option<&'static str>,
    /// The wall it is of; the wall as rebuilt for the job as a whole.
    pub(super) wall: Option<&'t Wall>,
    pub(super) date: Date,
    /// What it cost, $.
    pub(super) cost: Option<f64>,
    pub(super) entry_kind: Option<&'static str>,
    /// What it says itself.
    pub(super) says: String,
}

/// The records of one kind.
pub(super) fn of_kind<'t>(kind: &str, truth: &'t Truth) -> Vec<Facts<'t>> {
    match kind {
        "assembly" => assemblies(truth),
        "set" => sets(truth),
        "entry" => entries(truth),
        "receipt" => receipts(truth),
        "test" => tests(truth),
        "task" => said(truth, &truth.tasks),
        "photo" => said(truth, &truth.photos),
        "site" => vec![whole(truth, truth.site.record, truth.site_name.clone())],
        "room" => {
            let rooms = truth.room_records.iter().zip(&truth.rooms);
            rooms.map(|(room, name)| whole(truth, room.record, name.clone())).collect()
        }
        _ => vec![job(truth)],
    }
}

/// A record that stands for the job as it was finished.
fn whole(truth: &Truth, record: RecordId, says: String) -> Facts<'_> {
    Facts {
        record,
        version: None,
        wall: Some(&truth.after.wall),
        date: truth.days.1,
        cost: None,
        entry_kind: None,
        says,
    }
}

fn job(truth: &Truth) -> Facts<'_> {
    let says = format!("{} {}", truth.title, truth.goal);
    Facts { cost: Some(truth.cost_cents as f64 / 100.0), ..whole(truth, truth.job.record, says) }
}

fn assemblies(truth: &Truth) -> Vec<Facts<'_>> {
    let versions = [("before", &truth.before), ("after", &truth.after)];
    versions
        .into_iter()
        .map(|(version, built)| Facts {
            version: Some(version),
            wall: Some(&built.wall),
            date: built.since,
            ..whole(
                truth,
                built.assembly.record,
                [
                    built.wall.leaf_a(),
                    built.wall.frame(),
                    built.wall.cavity(),
                    built.wall.leaf_b(),
                    built.wall.opening.notation.to_owned(),
                    built.wall.seals(),
                    built.wall.state.to_owned(),
                ]
                .join(", "),
            )
        })
        .collect()
}

fn sets(truth: &Truth) -> Vec<Facts<'_>> {
    let Some(measured) = &truth.measured else { return Vec::new() };
    let versions = [("before", &truth.before), ("after", &truth.after)];
    versions
        .into_iter()
        .zip(&measured.sets)
        .map(|((version, built), set)| Facts {
            version: Some(version),
            wall: Some(&built.wall),
            date: built.since,
            ..whole(truth, set.record, measured.question.clone())
        })
        .collect()
}

fn tests(truth: &Truth) -> Vec<Facts<'_>> {
    let measured = truth.measured.iter();
    measured
        .map(|measured| {
            let rig = if measured.is_bench_rig { " bench rig" } else { "" };
            let says = format!("{}{rig}", measured.question);
            Facts { date: truth.days.0, ..whole(truth, measured.test.record, says) }
        })
        .collect()
}

fn entries(truth: &Truth) -> Vec<Facts<'_>> {
    let entries = truth.entries.iter();
    entries
        .map(|entry| Facts {
            date: entry.date,
            entry_kind: Some(entry.kind),
            ..whole(truth, entry.record, entry.text.clone())
        })
        .collect()
}

fn receipts(truth: &Truth) -> Vec<Facts<'_>> {
    let receipts = truth.receipts.iter();
    receipts
        .map(|bought| Facts {
            date: bought.date,
            cost: Some(bought.total_cents as f64 / 100.0),
            ..whole(truth, bought.receipt.record, format!("{} {}", bought.supplier, bought.items.join(" ")))
        })
        .collect()
}

fn said<'t>(truth: &'t Truth, list: &[(RecordId, String)]) -> Vec<Facts<'t>> {
    list.iter().map(|(record, words)| whole(truth, *record, words.clone())).collect()
}
