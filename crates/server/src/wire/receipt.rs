//! A purchase with its lines.

use super::called::Called;
use super::mark::Mark;
use super::number::Amount;
use super::record::Record;
use super::word::{Cursor, Decimal};

answers! {
    /// One line of a receipt.
    struct ReceiptLine {
        /// The line.
        line: Record,
        /// Quantity by price less discount; null where one of them is missing.
        amount: Option<Amount>,
    }
    /// The lines of one tax rate.
    struct TaxClass {
        /// The rate, percent; null where none is written.
        rate_percent: Option<Decimal>,
        /// Sum of its lines, in the currency of the receipt.
        taxable: Amount,
    }
    /// A purchase with its lines, added up.
    struct Receipt {
        /// The receipt.
        receipt: Record,
        /// Its lines, by their place on it.
        lines: Vec<ReceiptLine>,
        /// Sum of the lines.
        subtotal: Amount,
        /// Tax, once for the receipt.
        tax: Amount,
        /// Subtotal and tax.
        total: Amount,
        /// Whether that is what is printed on it; null where nothing is printed.
        adds_up: Option<bool>,
        /// Taxed lines by their rate.
        tax_classes: Vec<TaxClass>,
        /// Currency it was paid in.
        paid_in: String,
        /// What one unit of that currency cost in the notebook's; null where they are one.
        exchange_rate: Option<Decimal>,
        /// Total in the currency it was paid in.
        total_on_paper: Amount,
        /// The job its lines are booked to unless they say otherwise.
        job: Option<Called>,
        /// Who sold it.
        supplier: Option<Called>,
        /// What to look at.
        marks: Vec<Mark>,
    }
    /// A page of receipts, newest first.
    struct ReceiptPage {
        /// Receipt by receipt.
        items: Vec<Receipt>,
        /// Where the next page begins; null on the last.
        next: Option<Cursor>,
        /// How many there are on all pages.
        total: u64,
    }
}
