//! A purchase with its lines.

use super::called::Called;
use super::mark::Mark;
use super::number::Amount;
use super::record::Record;
use super::word::Cursor;

answers! {
    /// One line of a receipt.
    struct ReceiptLine {
        /// The line.
        line: Record,
        /// Quantity by price less discount; null where one of them is missing.
        amount: Option<Amount>,
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
