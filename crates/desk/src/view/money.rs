//! What jobs cost, what is left over, and what a person should look at.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{JobMoney, JobTable, Mark, PersonHours, StockRow};
use storypole_notebook::Book;

use super::{amount, called};

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

/// What is left of one material at one place.
pub fn stock(book: &Book, row: &StockRow) -> Value {
    json!({
        "site": called::json(book, "site", row.site),
        "job": called::json(book, "job", row.job),
        "material": called::json(book, "material", Some(row.material)),
        "unit": row.unit,
        "bought": row.bought.to_string(),
        "returned": row.returned.to_string(),
        "used": row.used.to_string(),
        "wasted": row.wasted.to_string(),
        "moved_in": row.moved_in.to_string(),
        "moved_out": row.moved_out.to_string(),
        "left": row.left.to_string(),
        "value": row.value.map(amount),
    })
}

/// One thing to look at.
pub fn mark(book: &Book, mark: &Mark) -> Value {
    json!({
        "mark": mark.kind.name(),
        "about": called(book, mark.about_kind, mark.about).json(),
        "words": mark.words,
        "next_step": mark.next_step,
    })
}
