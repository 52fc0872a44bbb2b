//! What jobs cost.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{JobMoney, JobTable, PersonHours};
use storypole_notebook::Book;

use super::{amount, called};

pub use storypole_writeup::costs;

/// One job's money.
pub fn job(book: &Book, money: &JobMoney) -> Value {
    let hours = |row: &PersonHours| {
        json!({
            "person": called::json(book, "person", row.person),
            "hours": row.hours.to_string(),
            "cost": row.cost.map(amount),
        })
    };
    json!({
        "job": called::json(book, "job", money.job),
        "material": amount(money.material),
        "rental": amount(money.rental),
        "labour": amount(money.labour),
        "permit": amount(money.permit),
        "disposal": amount(money.disposal),
        "subcontract": amount(money.subcontract),
        "other": amount(money.other),
        "moved_in": amount(money.moved_in),
        "moved_out": amount(money.moved_out),
        "total": amount(money.total),
        "left_in_stock": amount(money.left_in_stock),
        "net": amount(money.net),
        "estimate": money.estimate.map(amount),
        "area_ft2": money.area.map(|area| super::number(area.ft2(), 2)),
        "area_m2": money.area.map(|area| super::number(area.m2(), 2)),
        "per_ft2": money.per_ft2.map(amount),
        "per_m2": money.per_m2.map(amount),
        "hours": money.hours.iter().map(hours).collect::<Value>(),
    })
}

/// Whether a job built or found walls: a cost for each square foot says something about them, and nothing about
/// a small panel on a bench.
pub fn treats_walls(book: &Book, job: Option<RecordId>) -> bool {
    let mut built = book.assemblies.live().filter(|wall| wall.job.is_some() && wall.job == job);
    built.any(|wall| wall.element.as_deref() != Some("panel"))
}

/// Every job's money with the sum.
pub fn table(book: &Book, table: &JobTable) -> Value {
    json!({
        "jobs": table.rows.iter().map(|row| job(book, row)).collect::<Value>(),
        "not_booked": job(book, &table.not_booked),
        "sum": job(book, &table.sum),
    })
}
