//! What is left of materials, by place.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{StockRow, stock};
use storypole_notebook::Book;

use super::{amount, called};

/// What is left of one material at one place.
pub fn json(book: &Book, row: &StockRow) -> Value {
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

/// Every material that came to a place, used up or not; of one site or job, where these are named.
pub fn rows(book: &Book, site: Option<RecordId>, job: Option<RecordId>) -> Value {
    let of = |row: &StockRow| (site.is_none() || row.site == site) && (job.is_none() || row.job == job);
    let rows = stock(book).into_iter().filter(of).map(|row| json(book, &row));
    json!({ "rows": rows.collect::<Value>() })
}

/// What a job has left over, or is short of.
pub fn left_over(book: &Book, job: RecordId) -> Vec<StockRow> {
    stock(book).into_iter().filter(|row| row.job == Some(job) && !row.left.is_zero()).collect()
}
