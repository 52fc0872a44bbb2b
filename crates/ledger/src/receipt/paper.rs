//! A receipt added up in the currency it is printed in: extensions, tax by rate, and whether print and sum agree.
//!
//! Left out: what that is in the notebook's currency, and who pays it (see [`super`]).

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::kinds::{Line, Receipt};
use storypole_units::{Currency, Decimal, Money};

use super::tender::Tender;
use crate::amount::{self, Unread};

/// Cost groups that carry no sales tax unless a line says so.
const UNTAXED_GROUPS: &[&str] = &["subcontract", "permit", "disposal"];

/// A receipt added up as its paper does. All amounts are in the currency it is printed in.
#[derive(Debug, Clone, PartialEq)]
pub struct PaperSum {
    /// The currency it is printed in.
    pub currency: Currency,
    /// Sum of the extensions that could be read.
    pub subtotal: Money,
    /// Sum of the taxed extensions.
    pub taxable: Money,
    /// The taxed extensions by their rate, lowest rate first; taxed lines without a rate come last.
    pub by_rate: Vec<TaxClass>,
    /// The taxes of all classes together, rounded once. `None` where lines are taxed and no rate is written.
    pub computed_tax: Option<Money>,
    /// The tax that counts.
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
}

/// The taxed lines of one rate. Amounts are in the currency the receipt is printed in.
#[derive(Debug, Clone, PartialEq)]
pub struct TaxClass {
    /// Percent, as written on the lines or on the receipt. `None` where no rate is written.
    pub rate_percent: Option<Decimal>,
    /// Sum of the extensions.
    pub taxable: Money,
    /// Rate times that sum, not rounded: rounding is for the tax of the whole receipt.
    pub tax_unrounded: Option<Money>,
}

/// One line in the currency of its receipt.
#[derive(Debug, Clone)]
pub(super) struct PaperLine {
    pub(super) line: RecordId,
    pub(super) job: Option<RecordId>,
    /// Quantity x unit price - discount, as it is.
    pub(super) exact: Result<Decimal, Unread>,
    /// The same to the minor unit.
    pub(super) extension: Result<Decimal, Unread>,
    pub(super) taxed: bool,
    /// The rate written on the line itself.
    own_rate: Option<Decimal>,
    /// Percent of tax, as written or as the printed tax implies; 0 without tax.
    pub(super) rate_percent: Decimal,
    /// Its share of the tax.
    pub(super) tax: Decimal,
    /// Why the rate on the line is left out.
    pub(super) unread_rate: Option<Unread>,
}

/// What could not be read of a receipt itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct PaperFaults {
    /// Why printed amounts are left out.
    pub(crate) printed: Vec<Unread>,
    /// Why the receipt's tax rate is left out.
    pub(crate) rate: Option<Unread>,
}

impl PaperLine {
    fn read(line: &Line, receipt: Option<&Receipt>, tender: &Tender) -> Self {
        let exact = exact(line, tender);
        let currency = tender.currency;
        let (own_rate, unread_rate) = rate(line.tax_rate);
        let by_group = || line.cost_group.as_deref().is_none_or(|group| !UNTAXED_GROUPS.contains(&group));
        Self {
            line: line.id,
            job: line.job.or(receipt.and_then(|receipt| receipt.job)),
            extension: exact.and_then(|exact| tender.payable(exact, currency)),
            exact,
            // A rate on the line says that the line is taxed as clearly as the word does.
            taxed: line.taxed.unwrap_or_else(|| own_rate.is_some() || by_group()),
            own_rate,
            rate_percent: Decimal::ZERO,
            tax: Decimal::ZERO,
            unread_rate,
        }
    }

    /// The extension; nothing where it cannot be read.
    pub(super) fn amount(&self) -> Decimal {
        self.extension.unwrap_or(Decimal::ZERO)
    }
}

/// Adds up a receipt in its own currency.
pub(super) fn add_up(
    receipt: Option<&Receipt>,
    lines: &[&Line],
    tender: &Tender,
) -> (PaperSum, Vec<PaperLine>, PaperFaults) {
    let currency = tender.currency;
    let mut lines: Vec<PaperLine> = lines.iter().map(|line| PaperLine::read(line, receipt, tender)).collect();
    let mut faults = PaperFaults::default();
    let printed_tax = printed(receipt.and_then(|receipt| receipt.printed_tax), tender, &mut faults);
    let printed_total = printed(receipt.and_then(|receipt| receipt.printed_total), tender, &mut faults);
    let (rate, unread_rate) = rate(receipt.and_then(|receipt| receipt.tax_rate));
    faults.rate = unread_rate;

    let taxes = Taxes::of(&lines, rate, currency);
    let agreeing = printed_tax.filter(|&printed| taxes.agrees_with(printed));
    let tax = agreeing.or(taxes.computed).unwrap_or(taxes.known);
    for line in lines.iter_mut().filter(|line| line.taxed) {
        line.rate_percent = line.own_rate.or(rate).or(taxes.implied(printed_tax)).unwrap_or(Decimal::ZERO);
    }
    share_tax(&mut lines, tax, currency);

    let subtotal: Decimal = lines.iter().map(PaperLine::amount).sum();
    let paid = subtotal + printed_tax.unwrap_or(tax);
    let agrees = lines.iter().all(|line| line.extension.is_ok())
        && (printed_tax.is_none() || agreeing.is_some())
        && printed_total.is_none_or(|printed| printed == paid);
    let money = |amount: Decimal| amount::summed(amount, currency);
    let total = subtotal + tax;
    let sum = PaperSum {
        currency,
        subtotal: money(subtotal),
        taxable: money(taxes.taxable),
        by_rate: taxes.classes.into_iter().map(|class| class.told(currency)).collect(),
        computed_tax: taxes.computed.map(money),
        tax: money(tax),
        total: money(total),
        printed_tax: printed_tax.map(|printed| Money::new(printed, currency)),
        printed_total: printed_total.map(|printed| Money::new(printed, currency)),
        difference: printed_total.map(|printed| money(total - printed)),
        adds_up: (printed_tax.is_some() || printed_total.is_some()).then_some(agrees),
    };
    (sum, lines, faults)
}

/// A printed amount, where there is one that counts.
fn printed(money: Option<Money>, tender: &Tender, faults: &mut PaperFaults) -> Option<Decimal> {
    match tender.read(money) {
        Ok(amount) => Some(amount),
        Err(Unread::Missing) => None,
        Err(reason) => {
            faults.printed.push(reason);
            None
        }
    }
}

fn exact(line: &Line, tender: &Tender) -> Result<Decimal, Unread> {
    let quantity = amount::quantity(line.quantity)?;
    let price = tender.read(line.unit_price)?;
    let discount = match line.discount {
        Some(_) => tender.read(line.discount)?,
        None => Decimal::ZERO,
    };
    let gross = quantity.checked_mul(price);
    gross.and_then(|gross| gross.checked_sub(discount)).ok_or(Unread::TooLarge)
}

/// A rate as written, or why it is left out.
fn rate(percent: Option<Decimal>) -> (Option<Decimal>, Option<Unread>) {
    match percent.map(amount::tax_rate) {
        None => (None, None),
        Some(Ok(rate)) => (Some(rate), None),
        Some(Err(reason)) => (None, Some(reason)),
    }
}

/// The taxes of a receipt by rate.
struct Taxes {
    classes: Vec<Class>,
    taxable: Decimal,
    /// Of the classes whose rate is written, rounded once.
    known: Decimal,
    /// The same where every taxed line has a rate.
    computed: Option<Decimal>,
    /// What rounding line by line may move the tax by.
    room: Decimal,
}

struct Class {
    rate_percent: Option<Decimal>,
    taxable: Decimal,
}

impl Taxes {
    fn of(lines: &[PaperLine], rate: Option<Decimal>, currency: Currency) -> Self {
        let mut by_rate: BTreeMap<(bool, Option<Decimal>), Decimal> = BTreeMap::new();
        let mut rounded_lines = 0;
        for line in lines.iter().filter(|line| line.taxed) {
            let rate = line.own_rate.or(rate);
            let sum = by_rate.entry((rate.is_none(), rate)).or_default();
            *sum = *sum + line.amount();
            rounded_lines += i64::from(rate.is_none_or(|rate| !rate.is_zero()));
        }
        let classes: Vec<Class> =
            by_rate.into_iter().map(|((_, rate_percent), taxable)| Class { rate_percent, taxable }).collect();
        let known = classes.iter().filter_map(Class::hundredfold).sum();
        let known = tax_of(known, currency);
        let all_known = classes.iter().all(|class| class.rate_percent.is_some());
        Self {
            taxable: classes.iter().map(|class| class.taxable).sum(),
            classes,
            known,
            computed: all_known.then_some(known),
            room: amount::minor_unit(currency)
                .checked_mul(Decimal::from_int(rounded_lines))
                .unwrap_or(Decimal::ZERO),
        }
    }

    /// Whether a printed tax may stand: there is nothing to compare it with, or rounding by line explains it.
    fn agrees_with(&self, printed: Decimal) -> bool {
        self.computed.is_none_or(|computed| (printed - computed).abs() <= self.room)
    }

    /// The rate that a printed tax means for lines without one: what known rates leave of it, on their sum.
    fn implied(&self, printed_tax: Option<Decimal>) -> Option<Decimal> {
        let class = self.classes.iter().find(|class| class.rate_percent.is_none())?;
        (printed_tax? - self.known).checked_mul(Decimal::from_int(100))?.checked_div(class.taxable)
    }
}

impl Class {
    /// A hundred times the tax, so that a percentage is exact until it is divided once.
    fn hundredfold(&self) -> Option<Decimal> {
        self.taxable.checked_mul(self.rate_percent?)
    }

    fn told(self, currency: Currency) -> TaxClass {
        let tax = self.hundredfold().and_then(|tax| tax.checked_div(Decimal::from_int(100)));
        TaxClass {
            rate_percent: self.rate_percent,
            taxable: amount::summed(self.taxable, currency),
            tax_unrounded: tax.map(|tax| Money::new(tax, currency)),
        }
    }
}

/// Tax to the minor unit, from a hundred times as much; nothing past any amount that counts.
fn tax_of(hundredfold: Decimal, currency: Currency) -> Decimal {
    let tax = hundredfold.checked_div(Decimal::from_int(100));
    amount::to_money(tax, currency).map_or(Decimal::ZERO, |tax| tax.amount)
}

/// Gives every taxed line its share, so that jobs that share a receipt pay its tax exactly.
///
/// The share of a line is the rounded tax on all lines up to it less that on the lines before it; the last
/// taxed line takes what a printed tax differs by.
fn share_tax(lines: &mut [PaperLine], tax: Decimal, currency: Currency) {
    let last = lines.iter().rposition(|line| line.taxed);
    let (mut hundredfold, mut shared) = (Decimal::ZERO, Decimal::ZERO);
    for (index, line) in lines.iter_mut().enumerate().filter(|(_, line)| line.taxed) {
        let more = line.amount().checked_mul(line.rate_percent);
        hundredfold = more.and_then(|more| hundredfold.checked_add(more)).unwrap_or(hundredfold);
        let upto = if Some(index) == last { tax } else { tax_of(hundredfold, currency) };
        line.tax = upto - shared;
        shared = upto;
    }
}
