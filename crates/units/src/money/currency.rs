//! Currencies by their ISO 4217 code, with the count of digits of the minor unit.
//!
//! Left out: names, symbols, precious metals, accounting units and funds; withdrawn currencies.

use std::fmt;

use crate::quoted::Quoted;

/// A currency in use, by its ISO 4217 code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency {
    code: &'static str,
    minor_digits: u32,
}

/// Why a text is no currency.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CurrencyError {
    /// No code on the list.
    #[error("\"{code}\" is no currency in use: write its ISO 4217 code in capitals, such as USD")]
    Unknown {
        /// What was written.
        code: Quoted,
    },
}

impl Currency {
    /// Reads a code of three capital letters; spaces around it are dropped.
    ///
    /// # Errors
    /// [`CurrencyError::Unknown`] for any code not on the list.
    pub fn parse(code: &str) -> Result<Self, CurrencyError> {
        static BY_CODE: std::sync::LazyLock<Vec<Currency>> = std::sync::LazyLock::new(|| {
            let mut all: Vec<Currency> = Currency::all().collect();
            all.sort_unstable();
            all
        });
        let code = code.trim();
        BY_CODE
            .binary_search_by(|currency| currency.code.cmp(code))
            .map(|index| BY_CODE[index])
            .map_err(|_| CurrencyError::Unknown { code: Quoted::new(code) })
    }

    /// Lists every currency, by count of minor digits and then by code.
    pub fn all() -> impl Iterator<Item = Self> {
        CODES.into_iter().flat_map(|(minor_digits, codes)| {
            codes.split_ascii_whitespace().map(move |code| Self { code, minor_digits })
        })
    }

    /// Returns the code: `USD`.
    pub fn code(self) -> &'static str {
        self.code
    }

    /// Returns the count of digits of the minor unit: 2 for USD, 0 for JPY, 3 for KWD.
    pub fn minor_digits(self) -> u32 {
        self.minor_digits
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code)
    }
}

/// Codes of the currencies in use by digits of the minor unit.
///
/// # Source
/// ISO 4217, list one as published 2026-01-01, all codes compared; without funds (BOV, CHE, CLF, ...), precious
/// metals, accounting units and test codes.
const CODES: [(u32, &str); 3] = [
    (0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"),
    (
        2,
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP \
         CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR \
         ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR \
         MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK \
         SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST \
         XCD XCG YER ZAR ZMW ZWG",
    ),
    (3, "BHD IQD JOD KWD LYD OMR TND"),
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// Source: ISO 4217, list one, column of minor units.
    #[test]
    fn minor_units_are_those_of_the_standard() {
        let cases = [
            ("USD", 2),
            ("EUR", 2),
            ("GBP", 2),
            ("CAD", 2),
            ("CHF", 2),
            ("HUF", 2),
            ("MGA", 2),
            ("JPY", 0),
            ("KRW", 0),
            ("ISK", 0),
            ("CLP", 0),
            ("VND", 0),
            ("KWD", 3),
            ("BHD", 3),
            ("TND", 3),
        ];
        for (code, digits) in cases {
            let currency = Currency::parse(code).unwrap();
            assert_eq!((currency.code(), currency.minor_digits()), (code, digits));
        }
    }

    #[test]
    fn codes_are_three_capitals_and_listed_once() {
        let codes: BTreeSet<&str> = Currency::all().map(Currency::code).collect();
        // The list of 2026-01-01 has 178 codes, 23 of them funds, metals, accounting units and test codes.
        assert_eq!(codes.len(), 155);
        assert_eq!(codes.len(), Currency::all().count());
        assert!(
            codes.iter().all(|code| code.len() == 3 && code.bytes().all(|byte| byte.is_ascii_uppercase()))
        );
        for currency in Currency::all() {
            assert_eq!(Currency::parse(currency.code()), Ok(currency));
        }
    }

    #[test]
    fn refuses_what_is_not_in_use() {
        for code in ["", "usd", "US", "USDX", "DEM", "BGN", "XAU", "XXX", "CLF", "$"] {
            assert_eq!(Currency::parse(code), Err(CurrencyError::Unknown { code: Quoted::new(code) }));
        }
    }
}
