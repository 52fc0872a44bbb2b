//! What a receipt's lines add up to, and whether that is what the receipt prints.
//!
//! A return is a receipt with negative lines and is computed in the same way. A receipt is added up in the currency
//! it is printed in (`paper`) and converted once (`tender`). Left out: which lines are stock (see
//! [`crate::movement`]) and what a job pays (see [`crate::job`]).

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Line, Receipt};
use storypole_units::{Currency, Decimal, Money};

use crate::amount::{self, Unread};

mod paper;
mod tender;

pub(crate) use paper::PaperFaults;
use paper::PaperLine;
pub use paper::{PaperSum, TaxClass};
use tender::{Running, Tender};

/// A receipt added up. All amounts are in the notebook's currency, except those of [`PaperSum`] and [`TaxClass`].
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
    /// The taxed lines by their rate, in the currency of the receipt.
    pub by_rate: Vec<TaxClass>,
    /// Rates times the taxable sums, rounded once. `None` where lines are taxed and no rate is written.
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
    /// Whether the lines give what is printed, told in the currency of the receipt. `None` where neither tax nor
    /// total is printed.
    pub adds_up: Option<bool>,
    /// The currency it was paid in.
    pub paid_in: Currency,
    /// What one unit of that currency cost in the notebook's, as the receipt states; `None` where they are one.
    pub exchange_rate: Option<Decimal>,
    /// The same sums in the currency it was paid in.
    pub on_paper: PaperSum,
    pub(crate) faults: PaperFaults,
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
    /// Percent of tax on it, as written or as the printed tax implies; 0 where it is not taxed.
    pub rate_percent: Decimal,
    /// Its share of the receipt's tax; the shares of all lines give the tax exactly.
    pub tax: Money,
    /// The extension in the currency of the receipt. `None` where it is left out.
    pub on_paper: Option<Money>,
    /// Quantity times unit price less discount in the notebook's currency, not rounded.
    pub(crate) exact: Option<Decimal>,
    /// The rounded extension of the paper in the notebook's currency, not rounded again.
    pub(crate) paid: Option<Decimal>,
    /// Why the rate written on the line is left out.
    pub(crate) unread_rate: Option<Unread>,
}

/// Adds up one receipt. A receipt that is not held has no lines and no amounts.
///
/// An extension is quantity x unit price - discount, rounded to the cent. Tax is the sum over the rates of
/// rate x taxable extensions, rounded once; a rate on a line takes the place of the receipt's for that line. The
/// receipt adds up if subtotal and printed tax give the printed total, and the printed tax is within one cent for
/// each taxed line of the computed one, since some tills round by line or by rate. A line that says nothing of tax
/// is taxed, unless it is a permit, disposal or subcontract.
///
/// A receipt in another currency counts if it states its exchange rate, what one unit of its currency cost in the
/// notebook's. It is added up and compared with its print in its own currency. Its subtotal and its total are
/// converted, rounded once each, and the tax is what lies between; lines take what they add to the running sum, so
/// that jobs pay the converted total to the cent.
///
/// # Source
/// Once per receipt and half away from zero, and the conversion: conventions of this project. One cent for each
/// line: common practice, no source.
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

impl LineSum {
    /// The extension; nothing where it cannot be read.
    pub(crate) fn amount(&self) -> Decimal {
        self.extension.map_or(Decimal::ZERO, |money| money.amount)
    }
}

fn add_up(book: &Book, id: RecordId, receipt: Option<&Receipt>, lines: &[&Line]) -> ReceiptSum {
    let kept = book.currency();
    let tender = Tender::of(receipt, lines, kept);
    let (paper, lines, faults) = paper::add_up(receipt, lines, &tender);
    let money = |amount: Decimal| amount::summed(amount, kept);
    let converted = |amount: Money| tender.converted(amount.amount);
    let subtotal = converted(paper.subtotal);
    let total = converted(paper.total);
    // A tax is what lies between the subtotal and the sum of both, each converted once.
    let tax_of = |tax: Money| match tender.rate {
        None => tax.amount,
        Some(_) => tender.converted(paper.subtotal.amount + tax.amount) - subtotal,
    };
    let as_printed = |printed: Money| Money::new(converted(printed), kept);
    ReceiptSum {
        receipt: id,
        lines: converted_lines(lines, &tender, kept),
        subtotal: money(subtotal),
        taxable: money(converted(paper.taxable)),
        by_rate: paper.by_rate.clone(),
        computed_tax: paper.computed_tax.map(|tax| money(tax_of(tax))),
        tax: money(tax_of(paper.tax)),
        total: money(total),
        printed_tax: paper.printed_tax.map(|tax| Money::new(tax_of(tax), kept)),
        printed_total: paper.printed_total.map(as_printed),
        difference: paper.printed_total.map(|printed| money(total - converted(printed))),
        adds_up: paper.adds_up,
        paid_in: tender.currency,
        exchange_rate: tender.rate,
        on_paper: paper,
        faults,
    }
}

/// Converts lines so that extensions give the subtotal and shares of tax give the tax: the running sum goes
/// through all extensions first, then through all shares.
fn converted_lines(lines: Vec<PaperLine>, tender: &Tender, kept: Currency) -> Vec<LineSum> {
    let mut running = Running::new(tender);
    let mut converted = |amount| amount::summed(running.next(amount), kept);
    let extensions: Vec<Money> = lines.iter().map(|line| converted(line.amount())).collect();
    let taxes: Vec<Money> = lines.iter().map(|line| converted(line.tax)).collect();
    let amounts = extensions.into_iter().zip(taxes);
    lines
        .into_iter()
        .zip(amounts)
        .map(|(line, (extension, tax))| LineSum {
            line: line.line,
            job: line.job,
            extension: line.extension.map(|_| extension),
            taxed: line.taxed,
            rate_percent: line.rate_percent,
            tax,
            on_paper: line.extension.ok().map(|paid| amount::summed(paid, tender.currency)),
            exact: line.exact.ok().and_then(|exact| tender.exactly(exact)),
            paid: line.extension.ok().and_then(|paid| tender.exactly(paid)),
            unread_rate: line.unread_rate,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_notebook::Value;

    use super::*;
    use crate::fixture::{Fixture, other_line, places, scenario};

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

    /// Boards at 20 %, sealant at 10 %, a permit without tax. By hand: 29.97 x 0.20 = 5.994 and 8.90 x 0.10 = 0.89 are
    /// 6.884, rounded once to 6.88; rounded by rate it would be 5.99 + 0.89, here the same.
    fn two_rates() -> Fixture {
        let mut all = places();
        let lines = [("board 1/2", "3", "sheet", "9.99"), ("sealant", "2", "tube", "4.45")];
        all.receipt("P", &[("date", "2025-01-02"), ("job", "J1"), ("tax_rate", "20")], &lines);
        all.change("line", "P/sealant", &[("tax_rate", "10")]);
        other_line(&mut all, "P", "permit", "12.00", "permit");
        all
    }

    #[test]
    fn a_rate_on_a_line_takes_the_place_of_the_receipts() {
        let mut all = two_rates();
        all.change("receipt", "P", &[("printed_tax", "6.88"), ("printed_total", "57.75")]);
        let sum = sum(&all, "P");
        assert_eq!((printed(&sum).as_str(), sum.adds_up), ("50.87 + 6.88 = 57.75", Some(true)));
        let class = |class: &TaxClass| {
            let rate = class.rate_percent.map_or("none".to_owned(), |rate| rate.to_string());
            let tax =
                class.tax_unrounded.map_or("none".to_owned(), |tax| tax.amount.normalized().to_string());
            format!("{rate} {} {tax}", class.taxable)
        };
        let classes: Vec<String> = sum.by_rate.iter().map(class).collect();
        assert_eq!(classes, ["10 8.90 USD 0.89", "20 29.97 USD 5.994"]);
        let shares: Vec<String> = sum.lines.iter().map(|line| line.tax.amount_text()).collect();
        assert_eq!(shares, ["5.99", "0.89", "0.00"]);
    }

    /// Four classes of 0.10 at 5, 15, 25 and 35 %: 0.08 rounded once; by rate it would be 0.01 + 0.02 + 0.03 + 0.04.
    /// By hand.
    #[test]
    fn classes_are_rounded_once_together() {
        let mut all = places();
        let lines = [
            ("channel", "1", "piece", "0.10"),
            ("tape", "1", "roll", "0.10"),
            ("stud", "1", "each", "0.10"),
            ("slab", "1", "each", "0.10"),
        ];
        all.receipt("P", &[("date", "2025-01-02")], &lines);
        for (material, rate) in [("channel", "5"), ("tape", "15"), ("stud", "25"), ("slab", "35")] {
            all.change("line", &format!("P/{material}"), &[("tax_rate", rate)]);
        }
        assert_eq!(sum(&all, "P").tax.amount_text(), "0.08");
        all.change("receipt", "P", &[("printed_tax", "0.10")]);
        assert_eq!(sum(&all, "P").adds_up, Some(true), "a till that rounds by rate");
        all.change("receipt", "P", &[("printed_tax", "0.13")]);
        assert_eq!(sum(&all, "P").adds_up, Some(false), "more than a cent for each line");
    }

    /// What a line says of tax stands above its rate, and its rate above its group. By hand.
    #[test]
    fn a_line_without_tax_has_none_at_any_rate() {
        let tax_with = |fields: &[(&str, &str)]| {
            let mut all = two_rates();
            all.change("line", "P/permit", fields);
            sum(&all, "P").tax.amount_text()
        };
        assert_eq!(tax_with(&[("tax_rate", "10"), ("taxed", "no")]), "6.88");
        assert_eq!(tax_with(&[("tax_rate", "10")]), "8.08");
        assert_eq!(tax_with(&[("taxed", "yes")]), "9.28");
        assert_eq!(tax_with(&[("tax_rate", "0")]), "6.88");
    }

    /// Only the sealant's rate is known. By hand: 0.89 without a print; printed 6.88 leaves 5.99 for 29.97 of boards.
    #[test]
    fn a_printed_tax_tells_the_rate_of_lines_without_one() {
        let mut all = two_rates();
        all.change_value("receipt", "P", "tax_rate", None);
        let known = sum(&all, "P");
        assert_eq!((known.tax.amount_text().as_str(), known.computed_tax), ("0.89", None));
        all.change("receipt", "P", &[("printed_tax", "6.88")]);
        let told = sum(&all, "P");
        let shares: Vec<String> = told.lines.iter().map(|line| line.tax.amount_text()).collect();
        assert_eq!(shares, ["5.99", "0.89", "0.00"]);
        assert_eq!(told.by_rate.last().unwrap().rate_percent, None);
        assert_eq!(told.adds_up, Some(true));
    }

    /// The door refuses a rate over 100 %, another device may send it: it is left out, and what else is written counts.
    #[test]
    fn a_tax_over_100_percent_is_left_out() {
        let absurd = |text: &str| Some(Value::Decimal(Decimal::parse(text).unwrap()));
        for percent in ["100.5", "650", "-6.5"] {
            let mut all = two_rates();
            all.change_value("line", "P/sealant", "tax_rate", absurd(percent));
            let of_line = sum(&all, "P");
            let reason = Unread::TaxRate { percent: Decimal::parse(percent).unwrap() };
            // 20 % of 38.87 is 7.774.
            assert_eq!(of_line.tax.amount_text(), "7.77", "the receipt's rate counts");
            assert_eq!(of_line.lines[1].unread_rate, Some(reason));
            all.change_value("receipt", "P", "tax_rate", absurd(percent));
            all.change("receipt", "P", &[("printed_tax", "6.88")]);
            let of_receipt = sum(&all, "P");
            assert_eq!(of_receipt.tax.amount_text(), "6.88", "the print counts");
            assert_eq!(of_receipt.faults.rate, Some(reason));
        }
    }

    /// The receipt of two rates in euros at 1.08 dollars. By hand: 57.75 x 1.08 = 62.37, 50.87 x 1.08 = 54.9396; the
    /// running sums 29.97, 38.87, 50.87, 56.86, 57.75 give 32.37, 41.98, 54.94, 61.41, 62.37.
    #[test]
    fn a_receipt_in_another_currency_is_converted_once() {
        let mut all = two_rates();
        for (line, price) in [("board 1/2", "9.99 EUR"), ("sealant", "4.45 EUR"), ("permit", "12.00 EUR")] {
            all.change("line", &format!("P/{line}"), &[("unit_price", price)]);
        }
        let print = [("printed_tax", "6.88 EUR"), ("printed_total", "57.75 EUR"), ("exchange_rate", "1.08")];
        all.change("receipt", "P", &print);
        let sum = sum(&all, "P");
        let paper = &sum.on_paper;
        let told = [paper.subtotal, paper.tax, paper.total].map(|money| money.to_string());
        assert_eq!(told, ["50.87 EUR", "6.88 EUR", "57.75 EUR"]);
        assert_eq!((sum.paid_in.to_string().as_str(), sum.adds_up), ("EUR", Some(true)));
        assert_eq!(printed(&sum), "54.94 + 7.43 = 62.37");
        assert_eq!(sum.total.currency, all.book.currency());
        let lines: Vec<String> = sum
            .lines
            .iter()
            .map(|line| format!("{} {}", line.extension.unwrap().amount_text(), line.tax.amount_text()))
            .collect();
        assert_eq!(lines, ["32.37 6.47", "9.61 0.96", "12.96 0.00"]);
        assert_eq!(sum.printed_total, Some(sum.total));
        assert_eq!(sum.difference.unwrap().amount, Decimal::ZERO);
        // A cent on the paper is found although both round to the same sum.
        all.change("receipt", "P", &[("printed_total", "57.76 EUR")]);
        assert_eq!(super::receipt_sum(&all.book, all.id("receipt", "P")).adds_up, Some(false));
    }

    /// Source: fixed rates of the euro, 1 EUR = 1.95583 BAM and 655.957 XOF, from memory; minor units of ISO 4217 (2 and
    /// none); 10.00 EUR by hand.
    #[test]
    fn conversion_rounds_to_the_minor_unit_of_the_notebook() {
        for (kept, rate, expected) in [("BAM", "1.95583", "19.56 BAM"), ("XOF", "655.957", "6560 XOF")] {
            let mut all = places();
            all.change("notebook", "N", &[("currency", kept)]);
            all.receipt("P", &[("exchange_rate", rate)], &[("channel", "4", "piece", "2.50 EUR")]);
            all.change("line", "P/channel", &[("taxed", "no")]);
            assert_eq!(sum(&all, "P").total.to_string(), expected);
        }
    }

    /// Without a rate, or with 0, euros are left out and dollars are not; beside dollars no rate helps.
    #[test]
    fn another_currency_counts_only_with_a_rate_and_alone() {
        let (usd, eur) = (Currency::parse("USD").unwrap(), Currency::parse("EUR").unwrap());
        let no_rate = Err(Unread::NoRate { written: eur, kept: usd });
        let mixed = Err(Unread::MixedCurrencies { written: eur, beside: usd });
        for rate in ["", "0"] {
            let mut all = places();
            all.receipt("P", &[("date", "2025-01-02")], &[("tape", "1", "roll", "7.80 EUR")]);
            if !rate.is_empty() {
                all.change("receipt", "P", &[("exchange_rate", rate)]);
            }
            let sum = sum(&all, "P");
            assert_eq!((sum.lines[0].extension, sum.total.amount), (no_rate, Decimal::ZERO), "{rate}");
        }
        let mut own = scenario();
        own.change("receipt", "P13", &[("exchange_rate", "1.08")]);
        let dollars = sum(&own, "P13");
        assert_eq!((dollars.total.amount_text().as_str(), dollars.exchange_rate), ("18.16", None));
        for rate in ["", "1.08"] {
            let mut all = scenario();
            all.change("line", "P13/tape", &[("unit_price", "7.80 EUR")]);
            if !rate.is_empty() {
                all.change("receipt", "P13", &[("exchange_rate", rate)]);
            }
            let sum = sum(&all, "P13");
            assert_eq!(sum.lines[0].extension, mixed, "{rate}");
            assert_eq!((sum.subtotal.amount_text().as_str(), sum.adds_up), ("9.25", Some(false)));
        }
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
        /// Whatever the lines, rates and currency, the shares of tax are the tax, extensions and shares are the total, and
        /// the total is what the paper says, converted once.
        #[test]
        fn shares_of_tax_sum_to_the_tax(
            lines in prop::collection::vec(
                (-500i64..500, 0i64..100_000, any::<bool>(), prop::option::of(0i64..3_000)),
                0..8,
            ),
            rate in prop::option::of(0i64..2_000),
            printed_tax in prop::option::of(-5_000i64..5_000),
            exchange in prop::option::of(1i64..3_000_000),
        ) {
            let mut all = places();
            let decimal = |number: i64, scale| Decimal::from_parts(number.into(), scale).unwrap();
            let paid_in = Currency::parse(if exchange.is_some() { "EUR" } else { "USD" }).unwrap();
            let money = |cents: i64| Value::Money(Money::new(decimal(cents, 2), paid_in));
            all.put("receipt", "P", &[]);
            let percent = |rate: i64| Value::Decimal(decimal(rate, 2));
            all.change_value("receipt", "P", "tax_rate", rate.map(percent));
            all.change_value("receipt", "P", "printed_tax", printed_tax.map(money));
            let exchange = exchange.map(|rate| decimal(rate, 4));
            all.change_value("receipt", "P", "exchange_rate", exchange.map(Value::Decimal));
            for (index, (quantity, price, taxed, own_rate)) in lines.into_iter().enumerate() {
                let key = index.to_string();
                all.put("line", &key, &[("receipt", "P")]);
                all.change_value("line", &key, "quantity", Some(Value::Decimal(decimal(quantity, 1))));
                all.change_value("line", &key, "unit_price", Some(money(price)));
                all.change_value("line", &key, "taxed", Some(Value::Flag(taxed)));
                all.change_value("line", &key, "tax_rate", own_rate.map(percent));
            }
            let sum = sum(&all, "P");
            let shared: Decimal = sum.lines.iter().map(|line| line.tax.amount).sum();
            prop_assert_eq!(shared, sum.tax.amount);
            let extended: Decimal = sum.lines.iter().map(LineSum::amount).sum();
            prop_assert_eq!(extended, sum.subtotal.amount);
            prop_assert_eq!(sum.subtotal.amount + sum.tax.amount, sum.total.amount);
            let rate = exchange.unwrap_or(Decimal::from_int(1));
            let once = sum.on_paper.total.times(rate).unwrap().amount.round_half_away(2);
            prop_assert_eq!(sum.total.amount, once);
            let classes: Decimal = sum.by_rate.iter().map(|class| class.taxable.amount).sum();
            prop_assert_eq!(classes, sum.on_paper.taxable.amount);
        }
    }
}
