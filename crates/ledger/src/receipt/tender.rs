//! In which currency a receipt was paid, and what that is in the notebook's.
//!
//! A receipt is in one currency. Where that is not the notebook's, it counts only with the rate that was paid,
//! as the receipt states it. Left out: looking a rate up, or guessing it from another receipt.

use storypole_notebook::kinds::{Line, Receipt};
use storypole_units::{Currency, Decimal, Money};

use crate::amount::{self, Unread};

/// The currency of one receipt.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tender {
    /// The currency its amounts are read in.
    pub(crate) currency: Currency,
    /// What one unit of it cost in the notebook's currency, where they differ.
    pub(crate) rate: Option<Decimal>,
    kept: Currency,
    /// Two currencies of a receipt that has several.
    mixed: Option<[Currency; 2]>,
}

impl Tender {
    /// Looks at every amount of a receipt.
    pub(crate) fn of(receipt: Option<&Receipt>, lines: &[&Line], kept: Currency) -> Self {
        let printed =
            receipt.into_iter().flat_map(|receipt| [receipt.printed_tax, receipt.printed_total]).flatten();
        let of_lines = lines.iter().flat_map(|line| [line.unit_price, line.discount]).flatten();
        let mut written = of_lines.chain(printed).map(|money| money.currency);
        let own = Self { currency: kept, rate: None, kept, mixed: None };
        let Some(first) = written.next() else { return own };
        if let Some(other) = written.find(|&other| other != first) {
            return Self { mixed: Some([first, other]), ..own };
        }
        let stated = receipt.and_then(|receipt| amount::quantity(receipt.exchange_rate).ok());
        match stated.filter(|&rate| rate > Decimal::ZERO) {
            Some(rate) if first != kept => Self { currency: first, rate: Some(rate), ..own },
            _ => own,
        }
    }

    /// Takes an amount of the receipt, exactly as written.
    pub(crate) fn read(&self, money: Option<Money>) -> Result<Decimal, Unread> {
        let money = money.ok_or(Unread::Missing)?;
        if money.currency == self.currency {
            return amount::amount(Some(money), self.currency);
        }
        let (written, kept) = (money.currency, self.kept);
        Err(match self.mixed {
            Some([first, other]) => {
                Unread::MixedCurrencies { written, beside: if first == written { other } else { first } }
            }
            None => Unread::NoRate { written, kept },
        })
    }

    /// Rounds an amount to what can be paid, if it counts in both currencies.
    pub(crate) fn payable(&self, exact: Decimal, currency: Currency) -> Result<Decimal, Unread> {
        if let Some(rate) = self.rate {
            amount::to_money(exact.checked_mul(rate), self.kept)?;
        }
        Ok(amount::to_money(Some(exact), currency)?.amount)
    }

    /// An amount in the notebook's currency, rounded; as it is where the receipt is in that currency.
    pub(crate) fn converted(&self, paid: Decimal) -> Decimal {
        match self.rate {
            None => paid,
            Some(rate) => {
                let exact = paid.checked_mul(rate).unwrap_or(Decimal::ZERO);
                Money::new(exact, self.kept).rounded().amount
            }
        }
    }

    /// An amount in the notebook's currency, not rounded.
    pub(crate) fn exactly(&self, paid: Decimal) -> Option<Decimal> {
        self.rate.map_or(Some(paid), |rate| paid.checked_mul(rate))
    }
}

/// Converts amounts one after another, so that together they give their sum converted once.
#[derive(Debug)]
pub(crate) struct Running<'a> {
    tender: &'a Tender,
    paid: Decimal,
    converted: Decimal,
}

impl<'a> Running<'a> {
    pub(crate) fn new(tender: &'a Tender) -> Self {
        Self { tender, paid: Decimal::ZERO, converted: Decimal::ZERO }
    }

    /// What this amount adds to the converted sum.
    pub(crate) fn next(&mut self, paid: Decimal) -> Decimal {
        if self.tender.rate.is_none() {
            return paid;
        }
        self.paid = self.paid + paid;
        let before = std::mem::replace(&mut self.converted, self.tender.converted(self.paid));
        self.converted - before
    }
}
