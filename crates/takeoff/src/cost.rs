//! What a purchase costs: lines, tax, what is left over, and the cost of an area.
//!
//! Leaves out labour, discounts, and receipts as printed, which may round otherwise.

use storypole_units::money::MoneyError;
use storypole_units::{Area, Currency, Decimal, Money};

/// One item bought, or brought back with a negative quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CostLine {
    /// How many units.
    pub quantity: Decimal,
    /// Price of one, without tax.
    pub unit_price: Money,
}

/// What is left of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Leftover {
    /// Index of the line.
    pub line: usize,
    /// How many of its units; a part of a pack is a fraction.
    pub quantity: Decimal,
}

/// A tax on the whole purchase, from none to as much again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TaxRate {
    fraction: Decimal,
}

/// A purchase added up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cost {
    /// Quantity times price, per line, rounded.
    pub extensions: Vec<Money>,
    /// Sum of the extensions.
    pub subtotal: Money,
    /// Tax on the subtotal, rounded once.
    pub tax: Money,
    /// Subtotal and tax.
    pub total: Money,
    /// What the leftovers cost, with tax, each rounded.
    pub leftover_credit: Money,
    /// Total less the leftovers.
    pub net: Money,
}

/// A cost by area, rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub struct CostOfArea {
    pub per_ft2: Money,
    pub per_m2: Money,
}

/// Why a tax rate cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum TaxRateError {
    /// Below zero.
    #[error("a tax of {percent} percent is below zero: write 0 for none")]
    Negative { percent: Decimal },
    /// More than the goods; most likely percent taken for a fraction.
    #[error(
        "a tax of {percent} percent is more than the goods cost: check whether it was written in percent"
    )]
    TooLarge { percent: Decimal },
}

/// Why a purchase does not add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum CostError {
    /// Amounts do not combine.
    #[error(transparent)]
    Money(#[from] MoneyError),
    /// A leftover of nothing that was bought; `line` counts from 0, the message from 1.
    #[error("something is left of line {}, where {lines} lines were bought: check the number of the line", .line + 1)]
    NoSuchLine { line: usize, lines: usize },
    /// A negative leftover.
    #[error("{left} left of line {} is below zero: write it without the minus", .line + 1)]
    NegativeLeftover { line: usize, left: Decimal },
    /// More left than bought, all leftovers of the line together.
    #[error("{left} left of line {} is more than the {bought} bought: count again", .line + 1)]
    MoreLeftThanBought { line: usize, left: Decimal, bought: Decimal },
    /// No area to divide by.
    #[error("a cost by area takes an area: measure the wall, or leave it out")]
    NoArea,
}

impl TaxRate {
    /// Takes a fraction: `0.065` is six and a half percent.
    ///
    /// # Errors
    /// [`TaxRateError`] below 0 or above 1.
    pub fn from_fraction(fraction: Decimal) -> Result<Self, TaxRateError> {
        if !fraction.is_negative() && fraction <= Decimal::from_int(1) {
            return Ok(Self { fraction });
        }
        let percent = fraction.checked_mul(Decimal::from_int(100)).unwrap_or(fraction).normalized();
        Err(if percent.is_negative() {
            TaxRateError::Negative { percent }
        } else {
            TaxRateError::TooLarge { percent }
        })
    }

    /// Takes percent: `6.5`.
    ///
    /// # Errors
    /// [`TaxRateError`] below 0 or above 100.
    pub fn from_percent(percent: Decimal) -> Result<Self, TaxRateError> {
        let fraction = percent.checked_div(Decimal::from_int(100));
        Self::from_fraction(fraction.ok_or(TaxRateError::TooLarge { percent })?)
    }
}

/// Adds up a purchase.
///
/// Every line is rounded to the minor unit of the currency, tax is taken once on their sum and rounded, and all
/// rounding is half away from zero. What is left counts at its purchase price with tax, each leftover rounded, so that
/// printed leftovers add up.
///
/// # Errors
/// [`CostError`].
///
/// # Source
/// Tax once per receipt and the rounding: conventions of this project.
pub fn cost(
    currency: Currency,
    lines: &[CostLine],
    tax: TaxRate,
    left: &[Leftover],
) -> Result<Cost, CostError> {
    check_leftovers(lines, left)?;
    let extend = |line: &CostLine| Ok(line.unit_price.times(line.quantity)?.rounded());
    let extensions = lines.iter().map(extend).collect::<Result<Vec<Money>, CostError>>()?;
    let subtotal = sum(currency, extensions.iter().copied())?;
    let tax_amount = subtotal.times(tax.fraction)?.rounded();
    let total = subtotal.checked_add(tax_amount)?;
    let mut credits = Vec::with_capacity(left.len());
    for leftover in left {
        let price = lines[leftover.line].unit_price.times(leftover.quantity)?;
        credits.push(price.checked_add(price.times(tax.fraction)?)?.rounded());
    }
    let leftover_credit = sum(currency, credits)?;
    let net = total.checked_sub(leftover_credit)?;
    Ok(Cost { extensions, subtotal, tax: tax_amount, total, leftover_credit, net })
}

/// Divides a cost by an area, rounded to the minor unit, half away from zero.
///
/// # Errors
/// [`CostError::NoArea`], or [`CostError::Money`] past 28 digits.
///
/// # Source
/// A square foot is 0.09290304 m² exactly, because the foot is 0.3048 m exactly (agreement of 1959).
pub fn cost_of_area(cost: Money, area: Area) -> Result<CostOfArea, CostError> {
    if area == Area::ZERO {
        return Err(CostError::NoArea);
    }
    let too_large = MoneyError::TooLarge { currency: cost.currency };
    let area_m2 = Decimal::from_parts(area.nm2(), 18).map_err(|_| too_large)?;
    let m2_per_ft2 = Decimal::from_parts(9_290_304, 8).expect("seven digits fit");
    Ok(CostOfArea {
        per_ft2: cost.times(m2_per_ft2)?.divided_by(area_m2)?.rounded(),
        per_m2: cost.divided_by(area_m2)?.rounded(),
    })
}

fn check_leftovers(lines: &[CostLine], left: &[Leftover]) -> Result<(), CostError> {
    for &Leftover { line, quantity } in left {
        let bought = lines.get(line).ok_or(CostError::NoSuchLine { line, lines: lines.len() })?.quantity;
        if quantity.is_negative() {
            return Err(CostError::NegativeLeftover { line, left: quantity });
        }
        let mut room = bought;
        for same in left.iter().filter(|leftover| leftover.line == line) {
            // A quantity of 28 whole digits leaves no room either.
            let less = room.checked_sub(same.quantity);
            let left = same.quantity;
            room = less.ok_or(CostError::MoreLeftThanBought { line, left, bought })?;
        }
        if room.is_negative() {
            let left = bought.checked_sub(room).unwrap_or(quantity);
            return Err(CostError::MoreLeftThanBought { line, left, bought });
        }
    }
    Ok(())
}

fn sum(currency: Currency, amounts: impl IntoIterator<Item = Money>) -> Result<Money, MoneyError> {
    amounts.into_iter().try_fold(Money::zero(currency), Money::checked_add)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{decimal, inches};

    fn dollars() -> Currency {
        Currency::parse("USD").unwrap()
    }

    fn money(amount: &str) -> Money {
        Money::new(decimal(amount), dollars())
    }

    fn line(quantity: &str, unit_price: &str) -> CostLine {
        CostLine { quantity: decimal(quantity), unit_price: money(unit_price) }
    }

    fn left(line: usize, quantity: &str) -> Leftover {
        Leftover { line, quantity: decimal(quantity) }
    }

    fn tax(percent: &str) -> TaxRate {
        TaxRate::from_percent(decimal(percent)).unwrap()
    }

    fn texts(cost: &Cost) -> [String; 5] {
        [cost.subtotal, cost.tax, cost.total, cost.leftover_credit, cost.net].map(Money::amount_text)
    }

    /// Two packs of batts, boards, channel, sealant, screws.
    fn purchase() -> Vec<CostLine> {
        vec![line("2", "62.40"), line("8", "17.85"), line("6", "6.95"), line("3", "9.25"), line("2", "8.60")]
    }

    /// Source: the demo scenario's receipt, invented, added up by hand; left are
    /// 1 batt of a pack of 11 (6.04) and 1 channel (7.40).
    #[test]
    fn a_receipt_and_its_leftovers_match() {
        let leftovers = [left(0, "0.0909090909"), left(2, "1")];
        let got = cost(dollars(), &purchase(), tax("6.5"), &leftovers).unwrap();
        assert_eq!(texts(&got), ["354.25", "23.03", "377.28", "13.44", "363.84"]);
        let extensions: Vec<String> = got.extensions.iter().map(|money| money.amount_text()).collect();
        assert_eq!(extensions, ["124.80", "142.80", "41.70", "27.75", "17.20"]);
        let returned = cost(dollars(), &[line("-1", "17.85")], tax("6.5"), &[]).unwrap();
        assert_eq!(texts(&returned), ["-17.85", "-1.16", "-19.01", "0.00", "-19.01"]);
    }

    /// Source: long arithmetic by hand. Three lines of 0.335 round to 0.34 each; tax of 5 percent on 0.50 is 0.025.
    #[test]
    fn rounds_each_line_and_tax_once() {
        let got =
            cost(dollars(), &[line("1", "0.335"), line("1", "0.335"), line("1", "0.335")], tax("0"), &[])
                .unwrap();
        assert_eq!(texts(&got)[..3], ["1.02", "0.00", "1.02"]);
        let half = cost(dollars(), &[line("2", "0.25")], tax("5"), &[]).unwrap();
        assert_eq!(half.tax, money("0.03"));
        assert_eq!(cost(dollars(), &[line("-2", "0.25")], tax("5"), &[]).unwrap().tax, money("-0.03"));
        assert_eq!(texts(&cost(dollars(), &[], tax("5"), &[]).unwrap()), ["0.00"; 5]);
    }

    /// Source: computed independently with exact decimals; 150 x 97 1/8 in is 101.171875 ft2, 9.39917475 m2.
    #[test]
    fn cost_of_area_matches() {
        let wall = Area::of(inches("150"), inches("97.125"));
        for (amount, per_ft2, per_m2) in [("363.84", "3.60", "38.71"), ("2705.90", "26.75", "287.89")] {
            let got = cost_of_area(money(amount), wall).unwrap();
            assert_eq!(
                (got.per_ft2.amount_text(), got.per_m2.amount_text()),
                (per_ft2.to_owned(), per_m2.to_owned())
            );
        }
        assert_eq!(cost_of_area(money("1"), Area::ZERO), Err(CostError::NoArea));
    }

    #[test]
    fn refuses_with_the_reason() {
        let refused =
            |left: &[Leftover]| cost(dollars(), &purchase(), tax("6.5"), left).unwrap_err().to_string();
        assert_eq!(
            refused(&[left(5, "1")]),
            "something is left of line 6, where 5 lines were bought: check the number of the line"
        );
        assert_eq!(refused(&[left(0, "-1")]), "-1 left of line 1 is below zero: write it without the minus");
        assert_eq!(refused(&[left(1, "9")]), "9 left of line 2 is more than the 8 bought: count again");
        assert_eq!(
            refused(&[left(1, "5"), left(1, "4")]),
            "9 left of line 2 is more than the 8 bought: count again",
            "two leftovers of one line count together"
        );
        let euros = CostLine { quantity: decimal("1"), unit_price: Money::parse("1 EUR").unwrap() };
        let mixed = cost(dollars(), &[euros], tax("6.5"), &[]).unwrap_err();
        assert!(matches!(mixed, CostError::Money(MoneyError::MixedCurrencies { .. })), "{mixed}");
        let huge = "9999999999999999999999999999";
        let large = cost(dollars(), &[line(huge, huge)], tax("6.5"), &[]).unwrap_err();
        assert_eq!(large, CostError::Money(MoneyError::TooLarge { currency: dollars() }));
    }

    #[test]
    fn tax_is_a_share() {
        assert_eq!(TaxRate::from_fraction(decimal("0.065")), Ok(tax("6.5")));
        let cases = [
            (
                "6.5",
                "a tax of 650 percent is more than the goods cost: check whether it was written in percent",
            ),
            ("-0.01", "a tax of -1 percent is below zero: write 0 for none"),
        ];
        for (fraction, reason) in cases {
            assert_eq!(TaxRate::from_fraction(decimal(fraction)).unwrap_err().to_string(), reason);
        }
    }
}
