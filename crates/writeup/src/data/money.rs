//! What jobs cost by group, and what is left over. Leaves out receipts, prices and who sold it.

use storypole_ledger::{JobMoney, StockRow, job_money, stock};
use storypole_units::{Decimal, Money};

use super::cell::{count, flag, number, row, text};
use super::{DataTable, From};

/// A group, whether it is a sum of others, and its amount. What moved out is taken off.
type Group = (&'static str, bool, fn(&JobMoney) -> Option<Money>);

const GROUPS: &[Group] = &[
    ("material", false, |money| Some(money.material)),
    ("rental", false, |money| Some(money.rental)),
    ("labour", false, |money| Some(money.labour)),
    ("permit", false, |money| Some(money.permit)),
    ("disposal", false, |money| Some(money.disposal)),
    ("subcontract", false, |money| Some(money.subcontract)),
    ("other", false, |money| Some(money.other)),
    ("moved-in", false, |money| Some(money.moved_in)),
    ("moved-out", false, |money| Some(money.moved_out)),
    ("total", true, |money| Some(money.total)),
    ("left-in-stock", false, |money| Some(money.left_in_stock)),
    ("net", true, |money| Some(money.net)),
    ("estimate", false, |money| money.estimate),
];

pub(super) fn costs(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("job", "The job"),
        text(
            "group",
            "What for, with tax; total is all above less moved-out, net is total less left-in-stock, estimate was expected",
        ),
        number("amount", "", "Amount"),
        text("currency", "ISO 4217"),
        flag("sum", "Whether it is a sum of others"),
    ];
    let rows = from.scope.jobs.iter().flat_map(|job| {
        let money = job_money(from.scope.book, job.id);
        let name = from.names.get(job.id);
        let rows = GROUPS.iter().filter_map(|(group, is_sum, of)| {
            let amount = of(&money)?;
            Some(row![name, *group, amount.amount_text(), amount.currency.to_string(), *is_sum])
        });
        rows.collect::<Vec<_>>()
    });
    DataTable::new("costs", "What jobs cost, one group a row", columns)
        .keyed(&["job", "group"])
        .refers("job", "jobs", "job")
        .rows(rows)
}

pub(super) fn stock_left(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        count("row", "Its number"),
        text("job", "The job it was bought for"),
        text("material", "What it is"),
        number("quantity", "", "How much is left"),
        text("unit", "Unit it is counted in"),
        number("value", "", "What it is worth at cost; empty where it is not valued"),
        text("currency", "ISO 4217"),
    ];
    let book = from.scope.book;
    // What nobody wrote a use of may be built in: it is not told as left over.
    let is_left = |row: &StockRow| row.left > Decimal::ZERO && row.is_followed();
    let left = stock(book).into_iter().filter(|row| is_left(row) && from.names.get(row.job).is_some());
    let rows = left.enumerate().map(|(index, stock)| {
        let material = book.materials.get(stock.material);
        let name = material.and_then(|material| material.name.as_deref().or(material.label.as_deref()));
        row![
            index + 1,
            from.names.get(stock.job),
            name,
            stock.left,
            stock.unit.as_deref(),
            stock.value.map(Money::amount_text),
            stock.value.map(|value| value.currency.to_string()),
        ]
    });
    DataTable::new("stock-left", "What is left over", columns).refers("job", "jobs", "job").rows(rows)
}
