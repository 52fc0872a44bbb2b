//! What a material was bought for over time, by supplier, and how its price changed.
//!
//! A pack and a piece of it are made comparable: every price is also told for one unit of the material. Left out: returns,
//! which are no new price, and prices in another currency without the rate paid.

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Line, Material};
use storypole_units::{Decimal, Money};

use crate::movement::{Read, UnitCost, is_goods, with_tax};
use crate::receipt::{LineSum, ReceiptSum, receipt_sums};

/// What one line of a receipt asked for a material.
#[derive(Debug, Clone, PartialEq)]
pub struct PricePoint {
    /// The line.
    pub line: RecordId,
    /// Its receipt.
    pub receipt: RecordId,
    /// Day of the receipt.
    pub day: Option<Date>,
    /// Who sold it.
    pub supplier: Option<RecordId>,
    /// How many, as printed.
    pub quantity: Decimal,
    /// Of what, as printed; `None` means the material's unit.
    pub unit: Option<String>,
    /// Price of one of these, as printed, in the currency of the receipt.
    pub unit_price: Money,
    /// Cost of the material's units before tax, discount taken off, in the notebook's currency.
    pub per_unit: UnitCost,
    /// The same with tax.
    pub with_tax: UnitCost,
}

/// The prices of one supplier for one material. All are for one unit of it before tax, in the notebook's currency.
#[derive(Debug, Clone, PartialEq)]
pub struct PriceSummary {
    /// The supplier. `None` for receipts that name none.
    pub supplier: Option<RecordId>,
    /// How many lines.
    pub count: usize,
    /// The lowest price; of equal ones the latest.
    pub lowest: PricePoint,
    /// The latest price.
    pub latest: PricePoint,
    /// Percent by which the latest price differs from the one before, rounded to one place. `None` for a first price, or
    /// where the one before was nothing.
    pub change_percent: Option<Decimal>,
}

/// Lists what a material was bought for, by day; lines without a day stand in front.
///
/// A price is (quantity x unit price - discount) / units, kept as a fraction, since a piece of a pack of 11 has no finite
/// price. It is converted where the receipt states its exchange rate, and left out where it is in another currency without
/// one. Returns, struck lines and lines that are no goods are left out.
///
/// # Source
/// Common practice, no source.
pub fn price_history(book: &Book, material: RecordId) -> Vec<PricePoint> {
    price_points(book, material, &receipt_sums(book))
}

/// The same from receipts that are added up already.
pub(crate) fn price_points(book: &Book, material: RecordId, sums: &[ReceiptSum]) -> Vec<PricePoint> {
    let Some(material) = book.materials.get(material) else { return Vec::new() };
    let mut points = Vec::new();
    for sum in sums {
        let priced = sum.lines.iter().filter_map(|line_sum| {
            let line = book.lines.get(line_sum.line)?;
            point(book, material, line, line_sum)
        });
        points.extend(priced);
    }
    points.sort_by_key(|point: &PricePoint| (point.day, point.line));
    points
}

/// Sums up the prices of a material for each supplier, ordered by supplier.
pub fn price_summary(book: &Book, material: RecordId) -> Vec<PriceSummary> {
    let mut by_supplier: BTreeMap<Option<RecordId>, Vec<PricePoint>> = BTreeMap::new();
    for point in price_history(book, material) {
        by_supplier.entry(point.supplier).or_default().push(point);
    }
    by_supplier.into_iter().filter_map(|(supplier, points)| summed_up(supplier, &points)).collect()
}

fn point(book: &Book, material: &Material, line: &Line, sum: &LineSum) -> Option<PricePoint> {
    if line.material != Some(material.id) || !is_goods(line) {
        return None;
    }
    let units = Read::of(material, line.unit.as_deref(), line.quantity).ok()?.units;
    if units <= Decimal::ZERO {
        return None;
    }
    let receipt = book.receipts.of(line.receipt)?;
    let amount = sum.exact?;
    Some(PricePoint {
        line: line.id,
        receipt: receipt.id,
        day: receipt.date,
        supplier: receipt.supplier,
        quantity: line.quantity?,
        unit: line.unit.clone(),
        unit_price: line.unit_price?,
        per_unit: UnitCost { amount, units },
        with_tax: UnitCost { amount: with_tax(amount, sum)?, units },
    })
}

fn summed_up(supplier: Option<RecordId>, points: &[PricePoint]) -> Option<PriceSummary> {
    let latest = points.last()?;
    let before = points.len().checked_sub(2).map(|index| &points[index]);
    // Read from behind, so that of equal prices the latest is met first.
    let priced = points.iter().rev().filter_map(|point| Some((point.per_unit.per_unit()?, point)));
    let (_, lowest) = priced.min_by_key(|(price, _)| *price)?;
    Some(PriceSummary {
        supplier,
        count: points.len(),
        lowest: lowest.clone(),
        latest: latest.clone(),
        change_percent: before.and_then(|before| change_percent(before.per_unit, latest.per_unit)),
    })
}

/// Percent from one price to another, `100 x (after / before - 1)`, as one fraction that is divided once.
fn change_percent(before: UnitCost, after: UnitCost) -> Option<Decimal> {
    let was = before.amount.checked_mul(after.units)?;
    let is = after.amount.checked_mul(before.units)?;
    let change = is.checked_sub(was)?.checked_mul(Decimal::from_int(100))?;
    Some(change.checked_div(was)?.round_half_away(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, places, scenario};

    fn told(all: &Fixture, material: &str) -> Vec<String> {
        let point = |point: PricePoint| {
            let day = point.day.map_or_else(|| "no day".to_owned(), |day| day.to_string());
            let four = |cost: UnitCost| cost.to_four_places().unwrap();
            let supplier = point.supplier.map_or("nobody", |supplier| all.key(supplier));
            let printed =
                format!("{} {} @ {}", point.quantity, point.unit.unwrap_or_default(), point.unit_price);
            format!("{day} {supplier}: {printed} = {} {}", four(point.per_unit), four(point.with_tax))
        };
        price_history(&all.book, all.id("material", material)).into_iter().map(point).collect()
    }

    /// Source: the demo scenario's purchases, invented. By hand: 62.40 / 11 = 5.67272..., x 1.065 = 6.04145...;
    /// 17.85 x 1.065 = 19.01025; 71.25 / 12 = 5.9375, x 1.065 = 6.3234...; 13.75 / 25 = 0.55, x 1.065 = 0.58575.
    #[test]
    fn prices_of_the_scenario_for_one_unit() {
        let all = scenario();
        assert_eq!(told(&all, "batt"), ["2025-03-04 heron: 2 pack @ 62.40 USD = 5.6727 6.0415"]);
        assert_eq!(told(&all, "stone wool"), ["2025-05-10 quarry: 1 pack @ 71.25 USD = 5.9375 6.3234"]);
        assert_eq!(told(&all, "cellulose"), ["2025-04-15 heron: 4 bag @ 13.75 USD = 0.5500 0.5858"]);
        // The return of one sheet is no price.
        assert_eq!(
            told(&all, "board 5/8"),
            [
                "2025-03-04 heron: 8 sheet @ 17.85 USD = 17.8500 19.0103",
                "2025-04-01 heron: 7 sheet @ 17.85 USD = 17.8500 19.0103",
                "2025-04-15 heron: 2 sheet @ 17.85 USD = 17.8500 19.0103",
                "2025-05-02 heron: 3 sheet @ 17.85 USD = 17.8500 19.0103",
            ]
        );
    }

    fn batts(all: &mut Fixture, key: &str, day: &str, supplier: &str, line: (&str, &str, &str)) {
        let fields = [("date", day), ("supplier", supplier), ("job", "J1"), ("tax_rate", "6.5")];
        all.receipt(key, &fields, &[("batt", line.0, line.1, line.2)]);
    }

    /// By hand: packs of 11 at 62.40 are 5.6727 a piece, at 59.40 are 5.40, 4.8 % less; 6.00 a piece is 11.1 % more than
    /// that. Another supplier has one price.
    #[test]
    fn a_summary_for_each_supplier() {
        let mut all = places();
        batts(&mut all, "P3", "2025-03-01", "heron", ("5", "piece", "6.00"));
        batts(&mut all, "P1", "2025-01-02", "heron", ("2", "pack", "62.40"));
        batts(&mut all, "P2", "2025-02-01", "heron", ("1", "pack", "59.40"));
        batts(&mut all, "P4", "2025-02-15", "quarry", ("1", "pack", "60.50"));
        let told = |all: &Fixture| -> Vec<String> {
            let summary = |sum: PriceSummary| {
                let four = |point: &PricePoint| point.per_unit.to_four_places().unwrap();
                let change = sum.change_percent.map_or("first".to_owned(), |percent| percent.to_string());
                let supplier = all.key(sum.supplier.unwrap());
                format!("{supplier} {}: {} {} {change}", sum.count, four(&sum.lowest), four(&sum.latest))
            };
            price_summary(&all.book, all.id("material", "batt")).into_iter().map(summary).collect()
        };
        assert_eq!(told(&all), ["heron 3: 5.4000 6.0000 11.1", "quarry 1: 5.5000 5.5000 first"]);
        all.strike("receipt", "P3");
        assert_eq!(told(&all)[0], "heron 2: 5.4000 5.4000 -4.8");
        all.strike("line", "P4/batt");
        assert_eq!(told(&all).len(), 1);
        assert_eq!(price_summary(&all.book, all.id("job", "J1")), [], "not a material");
    }

    /// 2 packs at 50.00 EUR less 10.00 are 90.00 EUR, at 1.10 dollars 99.00: 4.50 a piece, with 6.5 % tax 4.7925. By hand.
    #[test]
    fn another_currency_is_converted_at_the_rate_stated() {
        let mut all = places();
        batts(&mut all, "P1", "2025-01-02", "heron", ("2", "pack", "50.00 EUR"));
        all.change("line", "P1/batt", &[("discount", "10.00 EUR")]);
        assert_eq!(told(&all, "batt"), [""; 0]);
        all.change("receipt", "P1", &[("exchange_rate", "1.10")]);
        assert_eq!(told(&all, "batt"), ["2025-01-02 heron: 2 pack @ 50.00 EUR = 4.5000 4.7925"]);
    }

    /// A unit nobody knows, something rented, a return and nothing at all have no price for a unit.
    #[test]
    fn lines_that_tell_no_price_are_left_out() {
        for (field, text) in
            [("unit", "handful"), ("cost_group", "rental"), ("quantity", "-2"), ("quantity", "0")]
        {
            let mut all = places();
            batts(&mut all, "P1", "2025-01-02", "heron", ("2", "pack", "50.00"));
            assert_eq!(told(&all, "batt").len(), 1);
            all.change("line", "P1/batt", &[(field, text)]);
            assert_eq!(told(&all, "batt"), [""; 0], "{field} {text}");
        }
    }
}
