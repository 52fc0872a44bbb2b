//! Receipts with their lines, added up. Leaves out what jobs pay: see [`super::money`].

use std::cmp::Reverse;

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{Mark, receipt_sum};
use storypole_notebook::Book;

use super::record::RecordOf;
use super::{amount, called, marks};

/// One receipt in full; `None` where there is no such receipt. `all` is everything to look at in the notebook, found
/// once for many receipts; `record` gives the JSON of a whole record.
///
/// # Errors
/// Whatever `record` fails with.
pub fn sheet<E>(
    book: &Book,
    all: &[Mark],
    receipt: RecordId,
    record: &mut RecordOf<'_, E>,
) -> Result<Option<Value>, E> {
    let Some(paper) = book.receipts.get(receipt) else { return Ok(None) };
    let sum = receipt_sum(book, receipt);
    let mut lines = Vec::new();
    for line in &sum.lines {
        lines.push(json!({
            "line": record("line", line.line)?,
            "amount": line.extension.ok().map(amount),
        }));
    }
    let is_here =
        |mark: &&Mark| mark.about == receipt || sum.lines.iter().any(|line| line.line == mark.about);
    Ok(Some(json!({
        "receipt": record("receipt", receipt)?,
        "lines": lines,
        "subtotal": amount(sum.subtotal),
        "tax": amount(sum.tax),
        "total": amount(sum.total),
        "adds_up": sum.adds_up,
        "tax_classes": sum.by_rate.iter().map(|class| json!({
            "rate_percent": class.rate_percent.map(|rate| rate.normalized().to_string()),
            "taxable": amount(class.taxable),
        })).collect::<Value>(),
        "paid_in": sum.paid_in.code(),
        "exchange_rate": sum.exchange_rate.map(|rate| rate.to_string()),
        "total_on_paper": amount(sum.on_paper.total),
        "job": called::json(book, "job", paper.job),
        "supplier": called::json(book, "supplier", paper.supplier),
        "marks": marks::list(book, all.iter().filter(is_here)),
    })))
}

/// Receipts, newest first; of one job where it is named, with those that have a line booked to it. Struck ones left
/// out, those without a day last.
pub fn order(book: &Book, job: Option<RecordId>) -> Vec<RecordId> {
    let has_line =
        |receipt: RecordId| book.lines.live().any(|line| line.receipt == Some(receipt) && line.job == job);
    let mut receipts: Vec<_> = book
        .receipts
        .live()
        .filter(|receipt| job.is_none() || receipt.job == job || has_line(receipt.id))
        .collect();
    receipts.sort_by_key(|receipt| Reverse((receipt.date, receipt.id)));
    receipts.into_iter().map(|receipt| receipt.id).collect()
}
