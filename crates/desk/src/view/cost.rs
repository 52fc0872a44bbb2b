//! What jobs cost by group and division, against their estimate, and what a material cost where and when.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{
    JobMoney, PricePoint, PriceSummary, UnitCost, by_division, by_group, chain_money, job_money,
    price_history, price_summary,
};
use storypole_notebook::Book;

use super::{amount, called, money};

/// One job, or several as one: its money, by group of cost and by division.
pub fn of(book: &Book, jobs: &[RecordId]) -> Value {
    let money = of_jobs(book, jobs);
    json!({
        "jobs": jobs.iter().map(|job| called::json(book, "job", Some(*job))).collect::<Value>(),
        "money": money::job(book, &money),
        "over_estimate": money.over_estimate.map(amount),
        "over_estimate_percent": money.over_estimate_percent().map(|percent| percent.to_string()),
        "groups": by_group(book, jobs).iter().map(|sum| json!({
            "group": sum.group, "amount": amount(sum.amount),
        })).collect::<Value>(),
        "divisions": by_division(book, jobs).iter().map(|sum| json!({
            "division": sum.division, "title": sum.title, "amount": amount(sum.amount),
        })).collect::<Value>(),
    })
}

/// The money of one job, or of several as one.
pub fn of_jobs(book: &Book, jobs: &[RecordId]) -> JobMoney {
    match jobs {
        [one] => job_money(book, *one),
        _ => chain_money(book, jobs),
    }
}

/// Every price paid for a material, and a summary for each supplier.
pub fn prices(book: &Book, material: RecordId) -> Value {
    json!({
        "material": called::json(book, "material", Some(material)),
        "unit": book.materials.get(material).and_then(|material| material.unit.clone()),
        "currency": book.currency().code(),
        "prices": price_history(book, material).iter().map(|point| price(book, point)).collect::<Value>(),
        "suppliers": price_summary(book, material).iter().map(|one| supplier(book, one)).collect::<Value>(),
    })
}

fn price(book: &Book, point: &PricePoint) -> Value {
    json!({
        "receipt": called::json(book, "receipt", Some(point.receipt)),
        "day": point.day.map(|day| day.to_string()),
        "supplier": called::json(book, "supplier", point.supplier),
        "quantity": point.quantity.to_string(),
        "unit": point.unit,
        "unit_price": amount(point.unit_price),
        "per_unit": per_unit(point.per_unit),
        "per_unit_with_tax": per_unit(point.with_tax),
    })
}

fn supplier(book: &Book, summary: &PriceSummary) -> Value {
    json!({
        "supplier": called::json(book, "supplier", summary.supplier),
        "purchases": summary.count,
        "lowest": per_unit(summary.lowest.per_unit),
        "lowest_day": summary.lowest.day.map(|day| day.to_string()),
        "latest": per_unit(summary.latest.per_unit),
        "latest_day": summary.latest.day.map(|day| day.to_string()),
        "change_percent": summary.change_percent.map(|percent| percent.to_string()),
    })
}

/// A price of one unit, to four places.
pub fn per_unit(cost: UnitCost) -> Option<String> {
    cost.to_four_places().map(|price| price.to_string())
}
