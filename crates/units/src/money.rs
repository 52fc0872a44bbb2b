//! Amounts of money: an exact decimal and an ISO 4217 currency. Currencies never mix and never convert.
//!
//! Left out: exchange rates, currency symbols (several currencies share `$`), and when to round: receipts
//! round tax once, and the code that adds them up decides where.

use std::cmp::Ordering;
use std::fmt;

use crate::decimal::{Decimal, DecimalParseError};
use crate::quoted::Quoted;

mod currency;

pub use currency::{Currency, CurrencyError};

/// An amount in one currency, positive or negative (a return).
///
/// More places than the currency's minor unit are kept, because unit prices have them (`0.0475 USD` a
/// screw); [`rounded`](Self::rounded) brings an amount to what can be paid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Money {
    /// How much.
    pub amount: Decimal,
    /// Of which currency.
    pub currency: Currency,
}

/// Why two amounts do not combine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// Two currencies in one sum.
    #[error("{left} and {right} do not add up: convert one amount and enter it in {left}")]
    MixedCurrencies {
        /// The currency of the first amount.
        left: Currency,
        /// The currency of the second amount.
        right: Currency,
    },
    /// The result needs more than 28 whole digits.
    #[error("the amount in {currency} passes 28 digits: check the numbers")]
    TooLarge {
        /// The currency.
        currency: Currency,
    },
    /// A division by zero.
    #[error("an amount in {currency} cannot be divided by zero: give a number other than zero")]
    DividedByZero {
        /// The currency.
        currency: Currency,
    },
}

/// Why a text is no amount of money.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MoneyParseError {
    /// Nothing was written.
    #[error("the amount is missing: write digits, such as 48.20")]
    Empty,
    /// The number itself cannot be read.
    #[error(transparent)]
    Number(#[from] DecimalParseError),
    /// The code behind the number is no currency.
    #[error(transparent)]
    Currency(#[from] CurrencyError),
    /// A currency symbol, or another character that amounts do not have.
    #[error("\"{text}\" has the symbol '{symbol}': write 48.20, or 48.20 USD with the code of the currency")]
    Symbol {
        /// What was written.
        text: Quoted,
        /// The symbol.
        symbol: char,
    },
    /// Letters in front.
    #[error("\"{text}\" does not start with a number: write the amount first, such as 48.20 USD")]
    NoNumber {
        /// What was written.
        text: Quoted,
    },
    /// No code where no currency is given otherwise.
    #[error("\"{text}\" has no currency: write its code behind the amount, such as 48.20 USD")]
    NoCurrency {
        /// What was written.
        text: Quoted,
    },
    /// A code that differs from the currency given.
    #[error("\"{text}\" is in {written}, where {expected} is kept: write the amount in {expected}")]
    OtherCurrency {
        /// What was written.
        text: Quoted,
        /// The currency written.
        written: Currency,
        /// The currency given.
        expected: Currency,
    },
}

impl Money {
    /// Takes any amount.
    pub fn new(amount: Decimal, currency: Currency) -> Self {
        Self { amount, currency }
    }

    /// Returns no money.
    pub fn zero(currency: Currency) -> Self {
        Self { amount: Decimal::ZERO, currency }
    }

    /// Reads an amount with the code of its currency: `48.20 USD`.
    ///
    /// # Errors
    /// [`MoneyParseError`] says what cannot be read; symbols and commas are refused, not guessed.
    pub fn parse(text: &str) -> Result<Self, MoneyParseError> {
        match read(text)? {
            (amount, Some(currency)) => Ok(Self { amount, currency }),
            (_, None) => Err(MoneyParseError::NoCurrency { text: Quoted::new(text.trim()) }),
        }
    }

    /// Reads an amount where the currency is known: `48.20`, or `48.20 USD` if that is the one.
    ///
    /// # Errors
    /// As [`parse`](Self::parse), and [`MoneyParseError::OtherCurrency`].
    pub fn parse_in(text: &str, currency: Currency) -> Result<Self, MoneyParseError> {
        match read(text)? {
            (_, Some(written)) if written != currency => Err(MoneyParseError::OtherCurrency {
                text: Quoted::new(text.trim()),
                written,
                expected: currency,
            }),
            (amount, _) => Ok(Self { amount, currency }),
        }
    }

    /// Adds.
    ///
    /// # Errors
    /// [`MoneyError::MixedCurrencies`], or [`MoneyError::TooLarge`].
    pub fn checked_add(self, other: Self) -> Result<Self, MoneyError> {
        self.same_currency(other)?;
        self.with(self.amount.checked_add(other.amount))
    }

    /// Subtracts.
    ///
    /// # Errors
    /// As [`checked_add`](Self::checked_add).
    pub fn checked_sub(self, other: Self) -> Result<Self, MoneyError> {
        self.same_currency(other)?;
        self.with(self.amount.checked_sub(other.amount))
    }

    /// Multiplies by a quantity or a rate, without rounding to the minor unit.
    ///
    /// # Errors
    /// [`MoneyError::TooLarge`].
    pub fn times(self, factor: Decimal) -> Result<Self, MoneyError> {
        self.with(self.amount.checked_mul(factor))
    }

    /// Divides, as a cost by an area, to at most 28 digits.
    ///
    /// # Errors
    /// [`MoneyError::DividedByZero`], or [`MoneyError::TooLarge`].
    pub fn divided_by(self, divisor: Decimal) -> Result<Self, MoneyError> {
        if divisor.is_zero() {
            return Err(MoneyError::DividedByZero { currency: self.currency });
        }
        self.with(self.amount.checked_div(divisor))
    }

    /// Rounds to the currency's minor unit, half away from zero.
    pub fn rounded(self) -> Self {
        Self { amount: self.amount.round_half_away(self.currency.minor_digits()), ..self }
    }

    /// Prints the amount alone, with at least the places of the minor unit: `48.20`, `480` in JPY, `0.0475`.
    pub fn amount_text(self) -> String {
        let places = self.currency.minor_digits();
        match self.amount.padded(places) {
            Some(padded) => padded.to_string(),
            // 28 digits and no room for a zero: the value matters more than the look.
            None => self.amount.to_string(),
        }
    }

    fn same_currency(self, other: Self) -> Result<(), MoneyError> {
        if self.currency == other.currency {
            return Ok(());
        }
        Err(MoneyError::MixedCurrencies { left: self.currency, right: other.currency })
    }

    fn with(self, amount: Option<Decimal>) -> Result<Self, MoneyError> {
        let amount = amount.ok_or(MoneyError::TooLarge { currency: self.currency })?;
        Ok(Self { amount, ..self })
    }
}

/// Reads an amount and the code behind it, if there is one.
fn read(text: &str) -> Result<(Decimal, Option<Currency>), MoneyParseError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(MoneyParseError::Empty);
    }
    let quoted = || Quoted::new(text);
    let is_symbol = |character: &char| {
        !character.is_alphanumeric() && !character.is_whitespace() && !".,-+−".contains(*character)
    };
    if let Some(symbol) = text.chars().find(is_symbol) {
        return Err(MoneyParseError::Symbol { text: quoted(), symbol });
    }
    let end = text.find(char::is_alphabetic).unwrap_or(text.len());
    let (number, code) = text.split_at(end);
    if number.is_empty() {
        return Err(MoneyParseError::NoNumber { text: quoted() });
    }
    let amount = Decimal::parse(number)?;
    let currency = if code.is_empty() { None } else { Some(Currency::parse(code)?) };
    Ok((amount, currency))
}

impl PartialOrd for Money {
    /// Compares amounts of one currency; amounts of two currencies have no order.
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        (self.currency == other.currency).then(|| self.amount.cmp(&other.amount))
    }
}

impl fmt::Display for Money {
    /// Prints [`Money::amount_text`] and the code: `48.20 USD`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.amount_text(), self.currency)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn currency(code: &str) -> Currency {
        Currency::parse(code).unwrap()
    }

    fn money(text: &str) -> Money {
        Money::parse(text).unwrap()
    }

    fn decimal(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    #[test]
    fn reads_and_prints() {
        let cases = [
            ("48.20 USD", "48.20 USD"),
            ("48.2 USD", "48.20 USD"),
            ("48 USD", "48.00 USD"),
            ("-12.5 EUR", "-12.50 EUR"),
            ("0.0475 USD", "0.0475 USD"),
            ("480 JPY", "480 JPY"),
            ("1.5 KWD", "1.500 KWD"),
            ("48.20USD", "48.20 USD"),
            ("9999999999999999999999999999 USD", "9999999999999999999999999999 USD"),
        ];
        for (text, printed) in cases {
            assert_eq!(money(text).to_string(), printed, "{text}");
        }
        assert_eq!(Money::parse_in("48.20", currency("USD")), Ok(money("48.20 USD")));
        assert_eq!(Money::parse_in("48.20 USD", currency("USD")), Ok(money("48.20 USD")));
        assert_eq!(Money::zero(currency("USD")).to_string(), "0.00 USD");
    }

    #[test]
    fn refuses_with_the_reason() {
        let symbol = "write 48.20, or 48.20 USD with the code of the currency";
        let cases = [
            ("", "the amount is missing: write digits, such as 48.20".to_owned()),
            ("4 8", "\"4 8\" has a space inside the number: write the digits together, such as 48.20".to_owned()),
            (
                "48,20",
                "\"48,20\" has a comma: write a point before decimals and nothing between thousands, such as 1250.50"
                    .to_owned(),
            ),
            ("$48", format!("\"$48\" has the symbol '$': {symbol}")),
            ("48 €", format!("\"48 €\" has the symbol '€': {symbol}")),
            (
                "USD 48",
                "\"USD 48\" does not start with a number: write the amount first, such as 48.20 USD".to_owned(),
            ),
            (
                "48 usd",
                "\"usd\" is no currency in use: write its ISO 4217 code in capitals, such as USD".to_owned(),
            ),
            (
                "48 USD EUR",
                "\"USD EUR\" is no currency in use: write its ISO 4217 code in capitals, such as USD".to_owned(),
            ),
            (
                "48.20 EUR",
                "\"48.20 EUR\" is in EUR, where USD is kept: write the amount in USD".to_owned(),
            ),
        ];
        for (text, reason) in cases {
            assert_eq!(Money::parse_in(text, currency("USD")).unwrap_err().to_string(), reason, "{text}");
        }
        assert_eq!(
            Money::parse("48.20").unwrap_err().to_string(),
            "\"48.20\" has no currency: write its code behind the amount, such as 48.20 USD"
        );
    }

    /// Expected: long arithmetic by hand; 8.25 % of 19.99 is 1.649175.
    #[test]
    fn calculates_within_a_currency() {
        assert_eq!(money("19.99 USD").times(decimal("0.0825")).unwrap().rounded().to_string(), "1.65 USD");
        assert_eq!(money("2.345 USD").rounded().to_string(), "2.35 USD");
        assert_eq!(money("-2.345 USD").rounded().to_string(), "-2.35 USD");
        assert_eq!(money("479.5 JPY").rounded().to_string(), "480 JPY");
        assert_eq!(money("1.2345 KWD").rounded().to_string(), "1.235 KWD");
        assert_eq!(money("48.20 USD").checked_add(money("-8.20 USD")).unwrap().to_string(), "40.00 USD");
        assert_eq!(money("48.20 USD").checked_sub(money("50 USD")).unwrap().to_string(), "-1.80 USD");
        assert_eq!(money("100 USD").divided_by(decimal("8")).unwrap().to_string(), "12.50 USD");
        assert!(money("2 USD") < money("10 USD"));
    }

    #[test]
    fn currencies_do_not_mix() {
        let (dollars, yen) = (money("1 USD"), money("1 JPY"));
        let mixed = MoneyError::MixedCurrencies { left: currency("USD"), right: currency("JPY") };
        assert_eq!(dollars.checked_add(yen), Err(mixed));
        assert_eq!(dollars.checked_sub(yen), Err(mixed));
        assert_eq!(dollars.partial_cmp(&yen), None);
        assert_eq!(mixed.to_string(), "USD and JPY do not add up: convert one amount and enter it in USD");
        let zero = MoneyError::DividedByZero { currency: currency("USD") };
        assert_eq!(dollars.divided_by(decimal("0.00")), Err(zero));
        let large = money("9999999999999999999999999999 USD");
        assert_eq!(large.checked_add(dollars), Err(MoneyError::TooLarge { currency: currency("USD") }));
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".*", near in "[-0-9., $]{0,32}(USD|JPY|KWD|EU|eur)?") {
            let dollar = currency("USD");
            for text in [text, near] {
                for read in [Money::parse(&text), Money::parse_in(&text, dollar)].into_iter().flatten() {
                    prop_assert_eq!(Money::parse(&read.to_string()), Ok(read), "{}", text);
                    prop_assert_eq!(Money::parse_in(&read.amount_text(), read.currency), Ok(read), "{}", text);
                }
            }
        }

        /// Goal: rounding moves an amount by at most half a minor unit and leaves nothing finer behind.
        #[test]
        fn rounding_is_close(mantissa in -1_000_000_000_000i128..1_000_000_000_000, scale in 0u32..=8) {
            for code in ["JPY", "USD", "KWD"] {
                let amount = Money::new(Decimal::from_parts(mantissa, scale).unwrap(), currency(code));
                let rounded = amount.rounded();
                let moved = (rounded.amount - amount.amount).abs();
                let half_unit = Decimal::from_parts(5, rounded.currency.minor_digits() + 1).unwrap();
                prop_assert!(moved <= half_unit);
                prop_assert!(rounded.amount.scale() <= rounded.currency.minor_digits());
                prop_assert_eq!(rounded.rounded(), rounded);
            }
        }
    }
}
