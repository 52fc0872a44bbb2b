//! What a receipt's lines add up to, and whether that is what the receipt prints.
//!
//! A return is a receipt with negative lines and is computed in the same way. Left out: which lines are stock
//! (see [`crate::movement`]) and what a job pays (see [`crate::job`]).

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Line, Receipt};
use storypole_units::{Currency, Decimal, Money};

use crate::amount::{self, Unread};

/// Cost groups that carry no sales tax unless a line says so.
const UNTAXED_GROUPS: &[&str] = &["subcontract", "permit", "disposal"];

/// A receipt added up. All amounts are in the notebook's currency.
#[derive(Debug, Clone, PartialEq)]
pub struct ReceiptSum {
    /// The receipt.
    pub receipt: RecordId,
    /// Its lines in the order of the paper; struck ones are left out.
    pub lines: Vec<LineSum>,
    /// Sum of the extensions that could be read.
    pub subtotal: Money,
    /// Sum of the taxed extensions.
    pub taxable: Money,
    /// Rate times the taxable subtotal, rounded once. `None` where lines are taxed and no rate is written.
    pub computed_tax: Option<Money>,
    /// The tax that counts: as printed where it agrees with the computed one, else computed; as printed where
    /// no rate is written.
    pub tax: Money,
    /// Subtotal and tax.
    pub total: Money,
    /// Tax as printed.
    pub printed_tax: Option<Money>,
    /// Total as printed.
    pub printed_total: Option<Money>,
    /// Total less the printed total.
    pub difference: Option<Money>,
    /// Whether the lines give what is printed. `None` where neither tax nor total is printed.
    pub adds_up: Option<bool>,
    /// Percent of tax on a taxed line, as written or as the printed tax implies.
    pub(crate) rate_percent: Decimal,
}

/// One line of a receipt.
#[derive(Debug, Clone, PartialEq)]
pub struct LineSum {
    /// The line.
    pub line: RecordId,
    /// The job it is booked to: its own, else the receipt's.
    pub job: Option<RecordId>,
    /// Quantity times unit price less discount, rounded to the minor unit, or why it is left out.
    pub extension: Result<Money, Unread>,
    /// Whether it is taxed.
    pub taxed: bool,
    /// Its share of the receipt's tax; the shares of all lines give the tax exactly.
    pub tax: Money,
}

/// Adds up one receipt. A receipt that is not held has no lines and no amounts.
///
/// An extension is quantity x unit price - discount, rounded to the cent. Tax is the rate on the taxable
/// subtotal, rounded once. The receipt adds up if subtotal and printed tax give the printed total, and the
/// printed tax is within one cent for each taxed line of the computed one, since some tills round by line.
/// A line that says nothing of tax is taxed, unless it is a permit, disposal or subcontract.
///
/// # Source
/// Once per receipt and half away from zero: conventions of this project. One cent for each line: common
/// practice, no source.
pub fn receipt_sum(book: &Book, receipt: RecordId) -> ReceiptSum {
    let mut lines: Vec<&Line> = book.lines.live().filter(|line| line.receipt == Some(receipt)).collect();
    lines.sort_by_key(|line| line.order());
    add_up(book, receipt, book.receipts.get(receipt), &lines)
}

/// Adds up every receipt that is not struck, oldest first. See [`receipt_sum`].
pub fn receipt_sums(book: &Book) -> Vec<ReceiptSum> {
    let mut lines: BTreeMap<RecordId, Vec<&Line>> = BTreeMap::new();
    for line in book.lines.live() {
        if let Some(receipt) = line.receipt {
            lines.entry(receipt).or_default().push(line);
        }
    }
    for lines in lines.values_mut() {
        lines.sort_by_key(|line| line.order());
    }
    let none = Vec::new();
    let lines_of = |receipt: &Receipt| lines.get(&receipt.id).unwrap_or(&none);
    book.receipts.live().map(|receipt| add_up(book, receipt.id, Some(receipt), lines_of(receipt))).collect()
}

fn add_up(book: &Book, id: RecordId, receipt: Option<&Receipt>, lines: &[&Line]) -> ReceiptSum {
    let currency = book.currency();
    let mut lines: Vec<LineSum> = lines.iter().map(|line| extend(line, receipt, currency)).collect();
    let subtotal = lines.iter().map(LineSum::amount).sum();
    let taxable = lines.iter().map(LineSum::taxable).sum();
    let taxed_count = lines.iter().filter(|line| line.taxed).count();

    let printed = |money: Option<Money>| money.filter(|&money| amount::amount(Some(money), currency).is_ok());
    let printed_tax = printed(receipt.and_then(|receipt| receipt.printed_tax));
    let printed_total = printed(receipt.and_then(|receipt| receipt.printed_total));

    let written_rate = receipt.and_then(|receipt| amount::quantity(receipt.tax_rate).ok());
    let rate_percent = written_rate.or_else(|| implied_rate(printed_tax, taxable)).unwrap_or(Decimal::ZERO);
    let computed_tax = match written_rate {
        Some(rate) => Some(tax_on(taxable, rate, currency)),
        None if taxed_count == 0 => Some(Decimal::ZERO),
        None => None,
    };
    let agreeing =
        printed_tax.map(|tax| tax.amount).filter(|&tax| agrees(tax, computed_tax, taxed_count, currency));
    let tax = agreeing.or(computed_tax).unwrap_or(Decimal::ZERO);
    share_tax(&mut lines, tax, rate_percent, currency);

    let total = subtotal + tax;
    let tax_agrees = printed_tax.is_none() || agreeing.is_some();
    let paid = subtotal + printed_tax.map_or(tax, |tax| tax.amount);
    let total_agrees = printed_total.is_none_or(|printed| printed.amount == paid);
    let all_read = lines.iter().all(|line| line.extension.is_ok());
    ReceiptSum {
        receipt: id,
        subtotal: amount::summed(subtotal, currency),
        taxable: amount::summed(taxable, currency),
        computed_tax: computed_tax.map(|tax| amount::summed(tax, currency)),
        tax: amount::summed(tax, currency),
        total: amount::summed(total, currency),
        printed_tax,
        printed_total,
        difference: printed_total.map(|printed| amount::summed(total - printed.amount, currency)),
        adds_up: (printed_tax.is_some() || printed_total.is_some())
            .then_some(all_read && tax_agrees && total_agrees),
        lines,
        rate_percent,
    }
}

fn extend(line: &Line, receipt: Option<&Receipt>, currency: Currency) -> LineSum {
    let taxed_by_group = || line.cost_group.as_deref().is_none_or(|group| !UNTAXED_GROUPS.contains(&group));
    LineSum {
        line: line.id,
        job: line.job.or(receipt.and_then(|receipt| receipt.job)),
        extension: extension(line, currency),
        taxed: line.taxed.unwrap_or_else(taxed_by_group),
        tax: Money::zero(currency),
    }
}

fn extension(line: &Line, currency: Currency) -> Result<Money, Unread> {
    let quantity = amount::quantity(line.quantity)?;
    let price = amount::amount(line.unit_price, currency)?;
    let discount = match line.discount {
        Some(_) => amount::amount(line.discount, currency)?,
        None => Decimal::ZERO,
    };
    let gross = quantity.checked_mul(price);
    amount::to_money(gross.and_then(|gross| gross.checked_sub(discount)), currency)
}

impl LineSum {
    /// The extension; nothing where it cannot be read.
    pub(crate) fn amount(&self) -> Decimal {
        self.extension.map_or(Decimal::ZERO, |money| money.amount)
    }

    fn taxable(&self) -> Decimal {
        if self.taxed { self.amount() } else { Decimal::ZERO }
    }
}

/// Tax on an amount, rounded to the minor unit.
fn tax_on(taxable: Decimal, rate_percent: Decimal, currency: Currency) -> Decimal {
    let tax = taxable.checked_mul(rate_percent).and_then(|tax| tax.checked_div(Decimal::from_int(100)));
    amount::to_money(tax, currency).map_or(Decimal::ZERO, |tax| tax.amount)
}

fn implied_rate(printed_tax: Option<Money>, taxable: Decimal) -> Option<Decimal> {
    printed_tax?.amount.checked_mul(Decimal::from_int(100))?.checked_div(taxable)
}

/// Whether a printed tax may stand: there is nothing to compare it with, or rounding by line explains it.
fn agrees(printed: Decimal, computed: Option<Decimal>, taxed_count: usize, currency: Currency) -> bool {
    let Some(computed) = computed else { return true };
    let lines = Decimal::from_int(i64::try_from(taxed_count).unwrap_or(i64::MAX));
    let room = amount::minor_unit(currency).checked_mul(lines).unwrap_or(Decimal::ZERO);
    (printed - computed).abs() <= room
}

/// Gives every taxed line its share, so that jobs that share a receipt pay its tax exactly.
///
/// The share of a line is the rounded tax on all lines up to it less that on the lines before it; the last
/// taxed line takes what a printed tax differs by.
fn share_tax(lines: &mut [LineSum], tax: Decimal, rate_percent: Decimal, currency: Currency) {
    let last = lines.iter().rposition(|line| line.taxed);
    let (mut taxable, mut shared) = (Decimal::ZERO, Decimal::ZERO);
    for (index, line) in lines.iter_mut().enumerate().filter(|(_, line)| line.taxed) {
        taxable = taxable + line.taxable();
        let upto = if Some(index) == last { tax } else { tax_on(taxable, rate_percent, currency) };
        line.tax = amount::summed(upto - shared, currency);
        shared = upto;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_notebook::Value;

    use super::*;
    use crate::fixture::{Fixture, places, scenario};

    fn sum(all: &Fixture, receipt: &str) -> ReceiptSum {
        receipt_sum(&all.book, all.id("receipt", receipt))
    }

    fn printed(sum: &ReceiptSum) -> String {
        format!("{} + {} = {}", sum.subtotal.amount_text(), sum.tax.amount_text(), sum.total.amount_text())
    }

    /// Source: the demo scenario's receipts, invented; each printed total was added up by hand.
    #[test]
    fn every_receipt_of_the_scenario_adds_up() {
        let all = scenario();
        let cases = [
            ("P01", "144.95 + 9.42 = 154.37"),
            ("P02", "354.25 + 23.03 = 377.28"),
            ("P03", "38.00 + 0.00 = 38.00"),
            ("P04", "320.00 + 0.00 = 320.00"),
            ("P05", "301.50 + 19.60 = 321.10"),
            ("P06", "385.85 + 25.08 = 410.93"),
            ("P07", "145.00 + 0.00 = 145.00"),
            ("P08", "-17.85 + -1.16 = -19.01"),
            ("P09", "109.20 + 7.10 = 116.30"),
            ("P10", "85.00 + 5.53 = 90.53"),
            ("P11", "62.15 + 4.04 = 66.19"),
            ("P12", "332.51 + 21.61 = 354.12"),
            ("P13", "17.05 + 1.11 = 18.16"),
        ];
        assert_eq!(receipt_sums(&all.book).len(), cases.len());
        for (receipt, expected) in cases {
            let sum = sum(&all, receipt);
            assert_eq!(printed(&sum), expected, "{receipt}");
            assert_eq!(sum.computed_tax, Some(sum.tax), "{receipt}");
            assert_eq!(
                (sum.adds_up, sum.difference.unwrap().amount),
                (Some(true), Decimal::ZERO),
                "{receipt}"
            );
        }
    }

    #[test]
    fn one_receipt_and_all_receipts_agree() {
        let all = scenario();
        for sum in receipt_sums(&all.book) {
            assert_eq!(receipt_sum(&all.book, sum.receipt), sum);
        }
    }

    /// Two devices correct one receipt out of reach of each other: one the quantity, one the price. Either edit
    /// alone fails the check; both together, field by field, give what is printed. Amounts by hand.
    #[test]
    fn edits_of_two_devices_add_up_only_together() {
        let cases = [
            ("6", "13.20", "320.57 + 20.84 = 341.41", false),
            ("7", "13.20", "333.77 + 21.70 = 355.47", false),
            ("6", "13.02", "319.49 + 20.77 = 340.26", false),
            ("7", "13.02", "332.51 + 21.61 = 354.12", true),
        ];
        for (quantity, price, expected, adds_up) in cases {
            let mut all = scenario();
            all.change("line", "P12/board 1/2", &[("quantity", quantity), ("unit_price", price)]);
            let sum = sum(&all, "P12");
            assert_eq!(printed(&sum), expected);
            assert_eq!(sum.adds_up, Some(adds_up), "{expected}");
        }
    }

    /// A receipt of one taxed line of 10.00 and one untaxed of 5.00. Amounts by hand.
    #[test]
    fn tax_follows_what_is_written() {
        // Rate, printed tax, printed total; tax that counts, total, adds up.
        let cases = [
            ("6.5", "0.65", "15.65", "0.65", "15.65", Some(true)),
            ("6.5", "", "15.65", "0.65", "15.65", Some(true)),
            ("6.5", "0.65", "", "0.65", "15.65", Some(true)),
            ("6.5", "", "", "0.65", "15.65", None),
            // One cent for the one taxed line: a till that rounds by line. What was paid counts.
            ("6.5", "0.66", "15.66", "0.66", "15.66", Some(true)),
            ("6.5", "0.67", "15.67", "0.65", "15.65", Some(false)),
            ("6.5", "0.66", "15.65", "0.66", "15.66", Some(false)),
            ("6.5", "", "15.66", "0.65", "15.65", Some(false)),
            ("", "0.80", "15.80", "0.80", "15.80", Some(true)),
            ("", "", "15.80", "0.00", "15.00", Some(false)),
            ("0", "", "15.00", "0.00", "15.00", Some(true)),
        ];
        for (rate, tax, total, expected_tax, expected_total, adds_up) in cases {
            let mut all = places();
            all.receipt("P", &[("date", "2025-01-02"), ("job", "J1")], &[("channel", "1", "piece", "10.00")]);
            let line = [
                ("receipt", "P"),
                ("item", "used tape"),
                ("quantity", "1"),
                ("unit_price", "5.00"),
                ("taxed", "no"),
            ];
            all.put("line", "P/untaxed", &line);
            for (field, text) in [("tax_rate", rate), ("printed_tax", tax), ("printed_total", total)] {
                if !text.is_empty() {
                    all.change("receipt", "P", &[(field, text)]);
                }
            }
            let sum = sum(&all, "P");
            assert_eq!(
                (sum.tax.amount_text(), sum.total.amount_text()),
                (expected_tax.into(), expected_total.into())
            );
            assert_eq!(sum.adds_up, adds_up, "{rate} {tax} {total}");
        }
    }

    /// 2.5 x 3.33 = 8.325, less 1.00 is 7.325, half away gives 7.33; a return of it gives -7.33. By hand.
    #[test]
    fn extensions_round_half_away_after_the_discount() {
        for (quantity, discount, expected) in
            [("2.5", "1.00", "7.33"), ("-2.5", "-1.00", "-7.33"), ("2.5", "0.99", "7.34")]
        {
            let mut all = places();
            all.receipt("P", &[("date", "2025-01-02")], &[("channel", quantity, "piece", "3.33")]);
            all.change("line", "P/channel", &[("discount", discount)]);
            assert_eq!(sum(&all, "P").subtotal.amount_text(), expected);
        }
    }

    /// Three lines of 0.10 at 5 % owe 0.015, rounded once to 0.02; by line each would owe 0.01, so 0.03.
    #[test]
    fn tax_is_rounded_once_and_shared_exactly() {
        let mut all = places();
        let lines =
            [("channel", "1", "piece", "0.10"), ("tape", "1", "roll", "0.10"), ("stud", "1", "each", "0.10")];
        all.receipt("P", &[("date", "2025-01-02"), ("tax_rate", "5")], &lines);
        let sum = sum(&all, "P");
        assert_eq!(sum.tax.to_string(), "0.02 USD");
        let shares: Vec<String> = sum.lines.iter().map(|line| line.tax.amount_text()).collect();
        assert_eq!(shares, ["0.01", "0.00", "0.01"]);
    }

    #[test]
    fn a_line_that_cannot_be_read_keeps_the_receipt_from_adding_up() {
        let mut all = scenario();
        all.change_value("line", "P13/tape", "unit_price", None);
        all.change("receipt", "P13", &[("printed_tax", "0.60"), ("printed_total", "9.85")]);
        let sum = sum(&all, "P13");
        assert_eq!(printed(&sum), "9.25 + 0.60 = 9.85");
        assert_eq!(sum.lines[0].extension, Err(Unread::Missing));
        assert_eq!(sum.adds_up, Some(false));
    }

    #[test]
    fn yen_have_no_places() {
        let mut all = places();
        all.change("notebook", "N", &[("currency", "JPY")]);
        all.receipt("P", &[("date", "2025-01-02"), ("tax_rate", "10")], &[("channel", "3", "piece", "45")]);
        // 3 x 45 = 135, 10 % of it is 13.5: 14 by hand. ISO 4217: JPY has no minor unit.
        assert_eq!(printed(&sum(&all, "P")), "135 + 14 = 149");
    }

    proptest! {
        /// Whatever the lines, the shares of tax are the tax, and the total is subtotal and tax.
        #[test]
        fn shares_of_tax_sum_to_the_tax(
            lines in prop::collection::vec((-500i64..500, 0i64..100_000, any::<bool>()), 0..8),
            rate in 0i64..2_000,
            printed_tax in prop::option::of(-5_000i64..5_000),
        ) {
            let mut all = places();
            let decimal = |number, scale| Decimal::from_parts(number, scale).unwrap();
            let money = |cents: i64| Value::Money(Money::new(decimal(cents.into(), 2), Currency::parse("USD").unwrap()));
            all.put("receipt", "P", &[]);
            all.change_value("receipt", "P", "tax_rate", Some(Value::Decimal(decimal(rate.into(), 2))));
            all.change_value("receipt", "P", "printed_tax", printed_tax.map(money));
            for (index, (quantity, price, taxed)) in lines.into_iter().enumerate() {
                let key = index.to_string();
                all.put("line", &key, &[("receipt", "P")]);
                all.change_value("line", &key, "quantity", Some(Value::Decimal(decimal(quantity.into(), 1))));
                all.change_value("line", &key, "unit_price", Some(money(price)));
                all.change_value("line", &key, "taxed", Some(Value::Flag(taxed)));
            }
            let sum = sum(&all, "P");
            let shared: Decimal = sum.lines.iter().map(|line| line.tax.amount).sum();
            prop_assert_eq!(shared, sum.tax.amount);
            prop_assert_eq!(sum.subtotal.amount + sum.tax.amount, sum.total.amount);
        }
    }
}
