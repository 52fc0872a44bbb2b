//! Which stored numbers count in a sum, and how a sum is rounded. Leaves out what is summed.
//!
//! A record may hold anything a device ever wrote: no number, another currency, a price with twenty digits.
//! Such a value is left out of sums with a reason, so that no combination of records overflows.

use storypole_units::{Currency, Decimal, Money};

/// Largest price of one unit, hourly rate, discount or printed amount that counts.
const AMOUNT_LIMIT: i64 = 1_000_000_000;
/// Largest quantity or pack size that counts; the same limit as at the door.
const QUANTITY_LIMIT: i64 = 1_000_000;
/// Largest computed amount that counts: a price at its limit times a quantity at its limit, with room to sum.
const COMPUTED_LIMIT: i64 = 1_000_000_000_000_000_000;

/// Why a stored number is left out of a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// Nothing is written, or it cannot be read.
    #[error("a number is missing: write it")]
    Missing,
    /// An amount in another currency than the notebook's.
    #[error("an amount is in {written}, the notebook is in {kept}: convert it and write it in {kept}")]
    OtherCurrency {
        /// The currency written.
        written: Currency,
        /// The notebook's currency.
        kept: Currency,
    },
    /// An amount in another currency on a receipt that does not state the rate paid.
    #[error(
        "an amount is in {written}, the notebook is in {kept}, and the receipt states no exchange rate above 0: \
         state the rate paid in its exchange_rate"
    )]
    NoRate {
        /// The currency written.
        written: Currency,
        /// The notebook's currency.
        kept: Currency,
    },
    /// An amount in another currency than others of its receipt.
    #[error(
        "an amount is in {written}, others of its receipt are in {beside}: write all amounts of the receipt in the \
         one currency it is printed in"
    )]
    MixedCurrencies {
        /// The currency written.
        written: Currency,
        /// Another currency on the receipt.
        beside: Currency,
    },
    /// A tax rate that no door lets in.
    #[error("a tax rate of {percent} % is outside 0 to 100 %: write the percent as printed, like 6.5")]
    TaxRate {
        /// The rate written.
        percent: Decimal,
    },
    /// A number beyond any job.
    #[error("a number is too large to be real: check its digits")]
    TooLarge,
    /// A quantity in a unit that is neither the material's unit nor its pack.
    #[error("the unit is neither the material's unit nor its pack: write one of the two")]
    UnknownUnit,
    /// A quantity in packs of a material that does not say how many units a pack holds.
    #[error("the material does not say how many units a pack holds: write its pack size")]
    NoPackSize,
    /// A use, waste or move below zero.
    #[error("the quantity is below zero: write it without the minus")]
    BelowZero,
}

/// Takes an amount in the notebook's currency, exactly as written.
pub(crate) fn amount(money: Option<Money>, kept: Currency) -> Result<Decimal, Unread> {
    let money = money.ok_or(Unread::Missing)?;
    if money.currency != kept {
        return Err(Unread::OtherCurrency { written: money.currency, kept });
    }
    within(money.amount, AMOUNT_LIMIT)
}

/// Takes a quantity, a pack size or hours.
pub(crate) fn quantity(number: Option<Decimal>) -> Result<Decimal, Unread> {
    within(number.ok_or(Unread::Missing)?, QUANTITY_LIMIT)
}

/// Takes a tax rate in percent, within the same limits as at the door.
pub(crate) fn tax_rate(percent: Decimal) -> Result<Decimal, Unread> {
    let is_rate = !percent.is_negative() && percent <= Decimal::from_int(100);
    is_rate.then_some(percent).ok_or(Unread::TaxRate { percent })
}

/// Takes a computed amount and rounds it to the currency's minor unit, half away from zero.
///
/// # Source
/// Half away from zero is a convention of this project; the places are the minor unit of ISO 4217.
pub(crate) fn to_money(computed: Option<Decimal>, currency: Currency) -> Result<Money, Unread> {
    let amount = within(computed.ok_or(Unread::TooLarge)?, COMPUTED_LIMIT)?;
    Ok(Money::new(amount, currency).rounded())
}

/// Turns a sum of rounded amounts into money, with at least the places of the minor unit.
pub(crate) fn summed(amount: Decimal, currency: Currency) -> Money {
    Money::new(amount.padded(currency.minor_digits()).unwrap_or(amount), currency)
}

/// The smallest amount that can be paid: one cent for a currency with two places.
pub(crate) fn minor_unit(currency: Currency) -> Decimal {
    Decimal::from_parts(1, currency.minor_digits()).expect("a minor unit has a few places")
}

fn within(number: Decimal, limit: i64) -> Result<Decimal, Unread> {
    if number.abs() > Decimal::from_int(limit) { Err(Unread::TooLarge) } else { Ok(number) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn currency(code: &str) -> Currency {
        Currency::parse(code).unwrap()
    }

    #[test]
    fn amounts_that_do_not_count_say_why() {
        let usd = currency("USD");
        let read = |text: &str| amount(Some(Money::parse(text).unwrap()), usd);
        assert_eq!(amount(None, usd), Err(Unread::Missing));
        assert_eq!(read("5.00 EUR"), Err(Unread::OtherCurrency { written: currency("EUR"), kept: usd }));
        assert_eq!(read("1000000000.01 USD"), Err(Unread::TooLarge));
        assert_eq!(read("0.0475 USD").unwrap().to_string(), "0.0475");
        assert_eq!(quantity(Some(Decimal::from_int(-1_000_001))), Err(Unread::TooLarge));
    }

    /// Places: minor units of ISO 4217 (USD 2, JPY 0, KWD 3). Ties go away from zero, by hand.
    #[test]
    fn rounds_half_away_to_the_minor_unit() {
        let cases = [
            ("2.675", "USD", "2.68 USD"),
            ("-1.16025", "USD", "-1.16 USD"),
            ("-2.675", "USD", "-2.68 USD"),
            ("2.5", "JPY", "3 JPY"),
            ("1.0005", "KWD", "1.001 KWD"),
        ];
        for (number, code, expected) in cases {
            let money = to_money(Some(Decimal::parse(number).unwrap()), currency(code)).unwrap();
            assert_eq!(money.to_string(), expected, "{number}");
        }
        assert_eq!(minor_unit(currency("JPY")), Decimal::from_int(1));
    }
}
