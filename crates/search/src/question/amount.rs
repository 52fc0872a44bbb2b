//! Amounts as people type them: a number and a unit, in front or behind. Leaves out how amounts are compared.

use storypole_units::density::{Density, DensityUnit};
use storypole_units::{Currency, Decimal, Length, Money};

use super::text::Text;

/// A number as it was typed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Number {
    /// Digits, with a point perhaps; `0` when there is only a fraction.
    whole: String,
    /// Above and below the bar.
    fraction: Option<(String, String)>,
    is_negative: bool,
}

/// What a number counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unit {
    /// dB, whatever the weighting.
    Decibel,
    /// `in`, `ft`, `mm`, `cm` or `m`.
    Length(&'static str),
    /// Money, the number in this many-th parts: 100 for cents.
    Money(Currency, i64),
    /// Mass of a volume.
    Density(DensityUnit),
    /// Thermal resistance as on a label.
    LabelR,
}

/// A number with its unit, if it has one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount {
    number: Number,
    /// Inches behind feet.
    inches: Option<Number>,
    /// How many times: 1000 for `$5k`.
    times: i64,
    /// Its unit.
    pub(super) unit: Option<Unit>,
    /// Whether a plus follows: `6+ dB`.
    pub(super) has_plus: bool,
}

/// An amount of one of the kinds that can be asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Value {
    /// dB.
    Level(f64),
    /// A length.
    Length(Length),
    /// Money.
    Money(Money),
    /// kg/m³.
    Density(f64),
    /// ft²·°F·h/Btu.
    LabelR(Decimal),
}

/// The longest number that is kept; what is longer than this no quantity of the trade needs.
const MOST_DIGITS: usize = 15;

impl Number {
    /// Whether it has more digits than any quantity needs.
    pub(super) fn is_too_long(&self) -> bool {
        let bar = self.fraction.as_ref().map_or(0, |(over, under)| over.len().max(under.len()));
        self.whole.len().max(bar) > MOST_DIGITS
    }

    fn decimal(&self) -> Option<Decimal> {
        if self.is_too_long() {
            return None;
        }
        let mut value = Decimal::parse(&self.whole).ok()?;
        if let Some((over, under)) = &self.fraction {
            let part = Decimal::parse(over).ok()?.checked_div(Decimal::parse(under).ok()?)?;
            value = value.checked_add(part)?;
        }
        Some(if self.is_negative { -value } else { value })
    }

    /// As a length is written, without its unit.
    fn length_text(&self) -> Option<String> {
        if self.is_negative || self.is_too_long() {
            return None;
        }
        Some(match &self.fraction {
            Some((over, under)) => format!("{} {over}/{under}", self.whole),
            None => self.whole.clone(),
        })
    }
}

impl Amount {
    /// Whether its number has more digits than any quantity needs.
    pub(super) fn is_too_long(&self) -> bool {
        self.number.is_too_long()
    }

    /// The unit of a bare number of studs' spacing: inches up to 48, millimetres above (convention of this project: no
    /// frame has studs 49 in apart, none has them 48 mm apart).
    pub(super) fn spacing_unit(&self) -> Option<Unit> {
        let is_inches = self.number.decimal()? <= Decimal::from_int(48);
        Some(Unit::Length(if is_inches { "in" } else { "mm" }))
    }

    /// Its value in a unit; `None` when there is none such: below zero, finer than a nanometre, too large.
    pub(super) fn value(&self, unit: Unit) -> Option<Value> {
        let positive = || self.number.decimal().filter(|number| !number.is_negative());
        Some(match unit {
            Unit::Decibel => Value::Level(self.number.decimal()?.to_f64()),
            Unit::Length(unit) => Value::Length(self.length(unit)?),
            Unit::Money(currency, parts) => {
                let times = positive()?.checked_mul(Decimal::from_int(self.times))?;
                Value::Money(Money::new(times.checked_div(Decimal::from_int(parts))?, currency))
            }
            Unit::Density(unit) => Value::Density(Density::new(positive()?, unit).ok()?.kg_m3()),
            Unit::LabelR => Value::LabelR(positive()?),
        })
    }

    fn length(&self, unit: &str) -> Option<Length> {
        let number = self.number.length_text()?;
        match &self.inches {
            Some(inches) => Length::parse(&format!("{number} ft {} in", inches.length_text()?)).ok(),
            None => Length::parse(&format!("{number} {unit}")).ok(),
        }
    }
}

/// Reads an amount that begins here. `dollar` is the currency of `$`.
pub(super) fn amount(text: &Text<'_>, at: usize, dollar: Currency) -> Option<(Amount, usize)> {
    let (mut unit, next) = match unit_in_front(text, at, dollar) {
        Some((unit, next)) => (Some(unit), next),
        None => (None, at),
    };
    let (number, mut next) = number(text, next)?;
    let mut has_plus = plus(text, &mut next);
    let is_thousands = text.word(next) == "k" && text.is_joined(next);
    let mut times = 1;
    if is_thousands && matches!(unit, Some(Unit::Money(..))) {
        (times, next) = (1000, next + 1);
    }
    if matches!(unit, None | Some(Unit::Money(..))) {
        let behind = unit_behind(text, next, dollar);
        // `$5 USD` is one amount; `$5 mm` is none.
        if let Some((found, behind)) =
            behind.filter(|(found, _)| unit.is_none() || matches!(found, Unit::Money(_, 1)))
        {
            (unit, next) = (Some(found), behind);
        }
    }
    let mut inches = None;
    if unit == Some(Unit::Length("ft"))
        && let Some((more, behind)) = inches_behind(text, next)
    {
        (inches, next) = (Some(more), behind);
    }
    has_plus |= plus(text, &mut next);
    Some((Amount { number, inches, times, unit, has_plus }, next))
}

fn plus(text: &Text<'_>, next: &mut usize) -> bool {
    let is_here = text.word(*next) == "+" && text.is_joined(*next);
    *next += usize::from(is_here);
    is_here
}

/// `6`, `-3.5`, `3 1/2`, `3-1/2`, `3½`, `1/2`.
fn number(text: &Text<'_>, at: usize) -> Option<(Number, usize)> {
    let is_negative = matches!(text.word(at), "-" | "−") && text.is_joined(at + 1);
    let at = if is_negative { at + 1 } else { at };
    if let Some((fraction, next)) = fraction(text, at) {
        return Some((Number { whole: "0".to_owned(), fraction: Some(fraction), is_negative }, next));
    }
    let whole = text.digits(at)?.to_owned();
    let behind = at + 1;
    let part = if text.word(behind) == "-" && text.is_joined(behind) && text.is_joined(behind + 1) {
        fraction(text, behind + 1)
    } else {
        fraction(text, behind)
    };
    match part.filter(|_| !whole.contains('.')) {
        Some((part, next)) => Some((Number { whole, fraction: Some(part), is_negative }, next)),
        None => Some((Number { whole, fraction: None, is_negative }, behind)),
    }
}

fn fraction(text: &Text<'_>, at: usize) -> Option<((String, String), usize)> {
    let pair = |over: &str, under: &str| (over.to_owned(), under.to_owned());
    let written = match text.word(at) {
        "⅛" => Some(pair("1", "8")),
        "¼" => Some(pair("1", "4")),
        "⅜" => Some(pair("3", "8")),
        "½" => Some(pair("1", "2")),
        "⅝" => Some(pair("5", "8")),
        "¾" => Some(pair("3", "4")),
        "⅞" => Some(pair("7", "8")),
        _ => None,
    };
    if let Some(written) = written {
        return Some((written, at + 1));
    }
    let (over, under) = (text.digits(at)?, text.digits(at + 2)?);
    let is_bar = text.word(at + 1) == "/" && text.is_joined(at + 1) && text.is_joined(at + 2);
    // A second bar makes a day of it, `3/4/2025`; a fraction of one or more is none.
    let is_day = text.word(at + 3) == "/" && text.is_joined(at + 3);
    let is_below_one = over.len() < under.len() || (over.len() == under.len() && over < under);
    (is_bar && !is_day && is_below_one && under != "0").then(|| (pair(over, under), at + 3))
}

fn inches_behind(text: &Text<'_>, at: usize) -> Option<(Number, usize)> {
    let at = if text.word(at) == "-" && text.is_joined(at) { at + 1 } else { at };
    let (number, next) = number(text, at)?;
    match length_unit(text, next)? {
        ("in", next) => Some((number, next)),
        _ => None,
    }
}

fn unit_in_front(text: &Text<'_>, at: usize, dollar: Currency) -> Option<(Unit, usize)> {
    match text.word(at) {
        "$" => return Some((Unit::Money(dollar, 1), at + 1)),
        "€" => return Some((Unit::Money(Currency::parse("EUR").ok()?, 1), at + 1)),
        "£" => return Some((Unit::Money(Currency::parse("GBP").ok()?, 1), at + 1)),
        "r" => {
            let is_dash = text.word(at + 1) == "-" && text.is_joined(at + 1) && text.is_joined(at + 2);
            return Some((Unit::LabelR, if is_dash { at + 2 } else { at + 1 }));
        }
        _ => (),
    }
    Some((Unit::Money(code(text, at)?, 1), at + 1))
}

fn unit_behind(text: &Text<'_>, at: usize, dollar: Currency) -> Option<(Unit, usize)> {
    const LEVELS: &[(&str, ())] =
        &[("db ( a )", ()), ("db", ()), ("dba", ()), ("dbs", ()), ("decibel", ()), ("decibels", ())];
    if let Some(((), next)) = text.phrase(at, LEVELS) {
        return Some((Unit::Decibel, next));
    }
    if let Some((unit, next)) = text.phrase(at, DENSITIES) {
        return Some((Unit::Density(unit), next));
    }
    if let Some((unit, next)) = length_unit(text, at) {
        return Some((Unit::Length(unit), next));
    }
    let money = match text.word(at) {
        "$" if text.is_joined(at) => Unit::Money(dollar, 1),
        "dollar" | "dollars" | "bucks" => Unit::Money(dollar, 1),
        "cent" | "cents" => Unit::Money(dollar, 100),
        "€" | "euro" | "euros" => Unit::Money(Currency::parse("EUR").ok()?, 1),
        _ => Unit::Money(code(text, at)?, 1),
    };
    Some((money, at + 1))
}

const DENSITIES: &[(&str, DensityUnit)] = &[
    ("kg / m 3", DensityUnit::KgPerM3),
    ("kg / m ³", DensityUnit::KgPerM3),
    ("kg per m 3", DensityUnit::KgPerM3),
    ("kg per m ³", DensityUnit::KgPerM3),
    ("kg per cubic metre", DensityUnit::KgPerM3),
    ("kg per cubic meter", DensityUnit::KgPerM3),
    ("pcf", DensityUnit::LbPerFt3),
    ("lb / ft 3", DensityUnit::LbPerFt3),
    ("lb / ft ³", DensityUnit::LbPerFt3),
    ("lbs / ft 3", DensityUnit::LbPerFt3),
    ("lb per ft 3", DensityUnit::LbPerFt3),
    ("lb per cubic foot", DensityUnit::LbPerFt3),
    ("lbs per cubic foot", DensityUnit::LbPerFt3),
    ("pounds per cubic foot", DensityUnit::LbPerFt3),
    ("pounds a cubic foot", DensityUnit::LbPerFt3),
];

/// A code of ISO 4217 as it stands there, in capitals; in small letters only the few that are no words.
fn code(text: &Text<'_>, at: usize) -> Option<Currency> {
    let is_few = matches!(text.word(at), "usd" | "eur" | "gbp" | "cad" | "aud" | "nzd" | "chf");
    let written = text.piece(at).map_or("", |piece| &text.raw[piece.span.clone()]);
    if is_few { Currency::parse(&text.word(at).to_uppercase()).ok() } else { Currency::parse(written).ok() }
}

/// A unit of length behind a number.
fn length_unit(text: &Text<'_>, at: usize) -> Option<(&'static str, usize)> {
    let unit = match text.word(at) {
        // A quotation mark that stands alone may begin a phrase.
        "\"" | "″" | "“" | "”" if text.is_joined(at) => return Some(("in", at + 1)),
        "'" | "′" | "‘" | "’" if text.is_joined(at) => return Some(("ft", at + 1)),
        _ if is_preposition(text, at) => return None,
        "in" | "inch" | "inches" => "in",
        "ft" | "foot" | "feet" => "ft",
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => "mm",
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => "cm",
        "m" | "metre" | "metres" | "meter" | "meters" => "m",
        _ => return None,
    };
    let is_power = text.is_joined(at + 1) && matches!(text.word(at + 1), "2" | "3" | "²" | "³");
    (!is_power).then_some((unit, at + 1))
}

/// Whether `in` leads on to a time or a place and is no inch: `over 6 in 2025`, `over 6 in the hall`.
pub(super) fn is_preposition(text: &Text<'_>, at: usize) -> bool {
    let text = text.whole();
    let is_the = text.word(at + 1) == "the" && text.unit_end(at + 1) == at + 2;
    // Joined to its number it is an inch whatever follows.
    let is_apart = text.word(at) == "in" && !text.is_joined(at);
    is_apart && (is_the || super::days::is_day(&text, at))
}

/// Whether a unit stands here with no number to it, as in "over dB".
pub(super) fn is_unit(text: &Text<'_>, at: usize, dollar: Currency) -> bool {
    text.word(at) != "in" && unit_behind(text, at, dollar).is_some() || text.word(at) == "$"
}
