//! Quantities with a comparison: "over 6 dB", "at least 3.5 in deep", "under $5 a square foot", "R-13 or better".
//!
//! Convention of this project: "about" is within 1 dB of a level and within 10 % of anything else. A level that
//! a word like "quieter by" names needs no comparison and is meant about so. "Better" is more, of money less.
//! A number of studs "on centre" may lack its unit. Leaves out quantities without any comparison: they are words.

use storypole_units::{Currency, Decimal, Length, Money, Quoted};

use super::amount::{Amount, Unit, Value, amount, is_unit};
use super::text::Text;
use super::{Asked, End, Within};

/// How an amount bounds what is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bound {
    Over,
    AtLeast,
    Under,
    AtMost,
    Exactly,
    About,
    /// More, of money less; the amount itself does not count.
    Better,
    BetterOrSo,
    Worse,
    WorseOrSo,
}

/// What words beside an amount say it is of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Side {
    Reduction,
    /// A reduction below zero.
    Louder,
    Difference,
    Depth,
    Spacing,
    Cost,
    Density,
    LabelR,
}

const BEFORE: &[(&str, Bound)] = &[
    ("over", Bound::Over),
    ("above", Bound::Over),
    ("more than", Bound::Over),
    ("greater than", Bound::Over),
    ("bigger than", Bound::Over),
    ("larger than", Bound::Over),
    ("higher than", Bound::Over),
    ("thicker than", Bound::Over),
    ("deeper than", Bound::Over),
    ("wider than", Bound::Over),
    ("denser than", Bound::Over),
    ("better than", Bound::Better),
    (">", Bound::Over),
    ("at least", Bound::AtLeast),
    ("no less than", Bound::AtLeast),
    ("not less than", Bound::AtLeast),
    ("not under", Bound::AtLeast),
    ("not below", Bound::AtLeast),
    ("from", Bound::AtLeast),
    ("minimum", Bound::AtLeast),
    ("> =", Bound::AtLeast),
    ("≥", Bound::AtLeast),
    ("under", Bound::Under),
    ("below", Bound::Under),
    ("less than", Bound::Under),
    ("lower than", Bound::Under),
    ("smaller than", Bound::Under),
    ("thinner than", Bound::Under),
    ("shallower than", Bound::Under),
    ("narrower than", Bound::Under),
    ("cheaper than", Bound::Under),
    ("worse than", Bound::Worse),
    ("<", Bound::Under),
    ("at most", Bound::AtMost),
    ("up to", Bound::AtMost),
    ("no more than", Bound::AtMost),
    ("not more than", Bound::AtMost),
    ("not over", Bound::AtMost),
    ("not above", Bound::AtMost),
    ("maximum", Bound::AtMost),
    ("< =", Bound::AtMost),
    ("≤", Bound::AtMost),
    ("exactly", Bound::Exactly),
    ("=", Bound::Exactly),
    ("about", Bound::About),
    ("around", Bound::About),
    ("roughly", Bound::About),
    ("approximately", Bound::About),
    ("~", Bound::About),
    ("≈", Bound::About),
];

const BEHIND: &[(&str, Bound)] = &[
    ("or more", Bound::AtLeast),
    ("and more", Bound::AtLeast),
    ("or over", Bound::AtLeast),
    ("or above", Bound::AtLeast),
    ("and above", Bound::AtLeast),
    ("and up", Bound::AtLeast),
    ("or up", Bound::AtLeast),
    ("or greater", Bound::AtLeast),
    ("or higher", Bound::AtLeast),
    ("or deeper", Bound::AtLeast),
    ("or thicker", Bound::AtLeast),
    ("or better", Bound::BetterOrSo),
    ("and better", Bound::BetterOrSo),
    ("at least", Bound::AtLeast),
    ("or less", Bound::AtMost),
    ("or under", Bound::AtMost),
    ("or below", Bound::AtMost),
    ("or lower", Bound::AtMost),
    ("or fewer", Bound::AtMost),
    ("or thinner", Bound::AtMost),
    ("or cheaper", Bound::AtMost),
    ("or worse", Bound::WorseOrSo),
    ("at most", Bound::AtMost),
];

const SIDES_BEFORE: &[(&str, Side)] = &[
    ("level difference", Side::Difference),
    ("difference", Side::Difference),
    ("d", Side::Difference),
    ("keeps back", Side::Difference),
    ("kept back", Side::Difference),
    ("keeping back", Side::Difference),
    ("gives", Side::Difference),
    ("gave", Side::Difference),
    ("giving", Side::Difference),
    ("keeps out", Side::Difference),
    ("kept out", Side::Difference),
    ("keeping out", Side::Difference),
    ("isolation", Side::Difference),
    ("quieter", Side::Reduction),
    ("reduction", Side::Reduction),
    ("reduced", Side::Reduction),
    ("improved", Side::Reduction),
    ("improvement", Side::Reduction),
    ("gained", Side::Reduction),
    ("gain", Side::Reduction),
    ("changed", Side::Reduction),
    ("change", Side::Reduction),
    ("dropped", Side::Reduction),
    ("achieved", Side::Reduction),
    ("better by", Side::Reduction),
    ("louder", Side::Louder),
    ("worse by", Side::Louder),
    ("cavity", Side::Depth),
    ("cavities", Side::Depth),
    ("depth", Side::Depth),
    ("deep", Side::Depth),
    ("thick", Side::Depth),
    ("thickness", Side::Depth),
    ("spacing", Side::Spacing),
    ("spaced", Side::Spacing),
    ("cost", Side::Cost),
    ("costs", Side::Cost),
    ("costing", Side::Cost),
    ("price", Side::Cost),
    ("priced", Side::Cost),
    ("spent", Side::Cost),
    ("density", Side::Density),
    ("dense", Side::Density),
    ("r value", Side::LabelR),
    ("r - value", Side::LabelR),
];

const SIDES_BEHIND: &[(&str, Side)] = &[
    ("level difference", Side::Difference),
    ("difference", Side::Difference),
    ("isolation", Side::Difference),
    ("reduction", Side::Reduction),
    ("quieter", Side::Reduction),
    ("better", Side::Reduction),
    ("improvement", Side::Reduction),
    ("gain", Side::Reduction),
    ("change", Side::Reduction),
    ("louder", Side::Louder),
    ("worse", Side::Louder),
    ("deep", Side::Depth),
    ("depth", Side::Depth),
    ("cavity", Side::Depth),
    ("cavities", Side::Depth),
    ("thick", Side::Depth),
    ("thickness", Side::Depth),
    ("o . c .", Side::Spacing),
    ("o . c", Side::Spacing),
    ("o / c", Side::Spacing),
    ("oc", Side::Spacing),
    ("o c", Side::Spacing),
    ("on centre", Side::Spacing),
    ("on center", Side::Spacing),
    ("on centres", Side::Spacing),
    ("on centers", Side::Spacing),
    ("centre to centre", Side::Spacing),
    ("center to center", Side::Spacing),
    ("centres", Side::Spacing),
    ("centers", Side::Spacing),
    ("apart", Side::Spacing),
    ("spacing", Side::Spacing),
    ("in all", Side::Cost),
    ("total", Side::Cost),
    ("density", Side::Density),
    ("dense", Side::Density),
];

/// An area that money is for, in square feet.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Per {
    SquareFoot,
    SquareMetre,
}

const PER: &[(&str, ())] =
    &[("per", ()), ("a", ()), ("an", ()), ("each", ()), ("the", ()), ("for each", ()), ("/", ())];

const AREAS: &[(&str, Per)] = &[
    ("square foot", Per::SquareFoot),
    ("square feet", Per::SquareFoot),
    ("sq ft", Per::SquareFoot),
    ("sq . ft .", Per::SquareFoot),
    ("sq . ft", Per::SquareFoot),
    ("sqft", Per::SquareFoot),
    ("sf", Per::SquareFoot),
    ("ft 2", Per::SquareFoot),
    ("ft ²", Per::SquareFoot),
    ("square metre", Per::SquareMetre),
    ("square meter", Per::SquareMetre),
    ("sq m", Per::SquareMetre),
    ("sqm", Per::SquareMetre),
    ("m 2", Per::SquareMetre),
    ("m ²", Per::SquareMetre),
];

/// One square foot in square metres, as a mantissa of eight places: 0.3048² exactly.
///
/// # Source
/// International foot of 1959, 0.3048 m.
const FT2_M2: (i128, u32) = (9_290_304, 8);

/// A quantity that was read, the piece behind it, and what the reader should know.
pub(super) type Found = (Asked, usize, Vec<String>);

/// Amounts compared, before it is settled what they are of.
struct Compared {
    bound: Option<Bound>,
    first: Amount,
    /// The other end of a range.
    second: Option<Amount>,
    sides: Vec<Side>,
    per: Option<Per>,
}

/// Reads a quantity with a comparison that begins here.
pub(super) fn quantity(text: &Text<'_>, at: usize, dollar: Currency) -> Option<Found> {
    let beside = text.phrase(at, SIDES_BEFORE).and_then(|(side, next)| {
        let is_bound = text.phrase(next, BEFORE).is_some();
        let next = if is_bound {
            next
        } else {
            text.past_any(next, &["of", "by", "is", "was", "are", "were", "at", "with", "for"])
        };
        settled(text, at, next, Some(side), dollar)
    });
    beside.or_else(|| settled(text, at, at, None, dollar))
}

fn settled(text: &Text<'_>, start: usize, at: usize, side: Option<Side>, dollar: Currency) -> Option<Found> {
    let (mut compared, next) = range(text, at, dollar).or_else(|| bounded(text, at, dollar))?;
    compared.sides.extend(side);
    let next = tail(text, next, &mut compared);
    let (asked, is_turned) = compared.asked()?;
    let typed = Quoted::new(text.slice(start..next));
    let turned =
        format!("\u{201c}{typed}\u{201d} begins with the larger number: it is read the other way round.");
    Some((asked, next, if is_turned { vec![turned] } else { Vec::new() }))
}

/// `between A and B`, `from A to B`, `A to B`, `A-B`.
fn range(text: &Text<'_>, at: usize, dollar: Currency) -> Option<(Compared, usize)> {
    let lead = text.past_any(at, &["between", "from"]);
    let joins: &[&str] = if text.word(at) == "between" { &["and", "-", "–"] } else { &["to", "-", "–"] };
    let (first, middle) = amount(text, lead, dollar)?;
    let after = text.past_any(middle, joins);
    let (second, next) = if after > middle { amount(text, after, dollar)? } else { return None };
    Some((Compared { bound: None, first, second: Some(second), sides: Vec::new(), per: None }, next))
}

fn bounded(text: &Text<'_>, at: usize, dollar: Currency) -> Option<(Compared, usize)> {
    let (bound, next) = match text.phrase(at, BEFORE) {
        Some((bound, next)) => (Some(bound), next),
        None => (None, at),
    };
    let (first, next) = amount(text, next, dollar)?;
    let bound = bound.or(first.has_plus.then_some(Bound::AtLeast));
    Some((Compared { bound, first, second: None, sides: Vec::new(), per: None }, next))
}

/// Reads what follows the amounts: an area, "or more", what they are of; each once, in any order.
fn tail(text: &Text<'_>, mut next: usize, compared: &mut Compared) -> usize {
    loop {
        let before = next;
        if compared.per.is_none()
            && compared.is_money()
            && let Some((per, behind)) = per_area(text, next)
        {
            (compared.per, next) = (Some(per), behind);
        }
        if compared.bound.is_none()
            && compared.second.is_none()
            && let Some((bound, behind)) = text.phrase(next, BEHIND)
            && !goes_on(text, behind)
        {
            (compared.bound, next) = (Some(bound), behind);
        }
        let of = text.past_any(next, &["of"]);
        if let Some((side, behind)) = text.phrase(of, SIDES_BEHIND)
            && compared.takes(side)
        {
            compared.sides.push(side);
            next = behind;
        }
        if next == before {
            return next;
        }
    }
}

/// Whether the comparison that ends here begins what follows: "and up to", "and better than". "At least" and "at most" end by themselves.
pub(super) fn goes_on(text: &Text<'_>, end: usize) -> bool {
    let text = text.whole();
    matches!(text.word(end), "to" | "than") && !matches!(text.word(end - 1), "least" | "most")
}

fn per_area(text: &Text<'_>, at: usize) -> Option<(Per, usize)> {
    let ((), next) = text.phrase(at, PER)?;
    text.phrase(next, AREAS)
}

impl Compared {
    fn unit(&self) -> Option<Unit> {
        let second = self.second.as_ref().and_then(|second| second.unit);
        let typed = self.first.unit.or(second);
        let bare = || match self.sides.first()? {
            Side::Spacing => self.first.spacing_unit(),
            Side::LabelR => Some(Unit::LabelR),
            _ => None,
        };
        typed.or_else(bare)
    }

    fn is_money(&self) -> bool {
        matches!(self.unit(), Some(Unit::Money(..)))
    }

    /// Whether a word behind the amount may say what it is of.
    fn takes(&self, side: Side) -> bool {
        let agrees = self.sides.iter().all(|other| *other == side);
        let fits = self.unit().map_or(side == Side::Spacing, |unit| fits(unit, side));
        agrees && fits && self.sides.len() < 3
    }

    /// What is asked, and whether the ends of the range were turned round; `None` when it does not hold together.
    fn asked(self) -> Option<(Asked, bool)> {
        let unit = self.unit()?;
        if !self.sides.iter().all(|side| fits(unit, *side) && *side == self.sides[0]) {
            return None;
        }
        let side = self.sides.first().copied();
        let low = self.first.value(self.first.unit.unwrap_or(unit))?;
        let Some(second) = &self.second else {
            let bound = self.bound.or_else(|| named_level(unit, side))?;
            return Some((made(low, low, End2::of(bound, unit), side, self.per)?, false));
        };
        let high = second.value(second.unit.unwrap_or(unit))?;
        let is_turned = low.is_over(&high)?;
        let (low, high) = if is_turned { (high, low) } else { (low, high) };
        Some((made(low, high, End2::BOTH, side, self.per)?, is_turned))
    }
}

/// A level that a word names is meant about so, with no comparison: "quieter by 6 dB".
fn named_level(unit: Unit, side: Option<Side>) -> Option<Bound> {
    (unit == Unit::Decibel && side.is_some()).then_some(Bound::About)
}

fn fits(unit: Unit, side: Side) -> bool {
    match unit {
        Unit::Decibel => matches!(side, Side::Reduction | Side::Louder | Side::Difference),
        Unit::Length(_) => matches!(side, Side::Depth | Side::Spacing),
        Unit::Money(..) => side == Side::Cost,
        Unit::Density(_) => side == Side::Density,
        Unit::LabelR => side == Side::LabelR,
    }
}

/// Which ends a range has: an open one, one with its value, one without.
#[derive(Debug, Clone, Copy)]
enum End2 {
    Ends { low: Option<bool>, high: Option<bool> },
    About,
}

impl End2 {
    const BOTH: Self = Self::Ends { low: Some(true), high: Some(true) };

    fn of(bound: Bound, unit: Unit) -> Self {
        let low = |is_in| Self::Ends { low: Some(is_in), high: None };
        let high = |is_in| Self::Ends { low: None, high: Some(is_in) };
        let is_money = matches!(unit, Unit::Money(..));
        match bound {
            Bound::Over => low(false),
            Bound::AtLeast => low(true),
            Bound::Under => high(false),
            Bound::AtMost => high(true),
            Bound::Exactly => Self::BOTH,
            Bound::About => Self::About,
            Bound::Better => {
                if is_money {
                    high(false)
                } else {
                    low(false)
                }
            }
            Bound::Worse => {
                if is_money {
                    low(false)
                } else {
                    high(false)
                }
            }
            Bound::BetterOrSo => {
                if is_money {
                    high(true)
                } else {
                    low(true)
                }
            }
            Bound::WorseOrSo => {
                if is_money {
                    low(true)
                } else {
                    high(true)
                }
            }
        }
    }

    /// The range from `low` to `high`; `spread` gives the two ends about a value.
    fn within<T: Copy>(self, low: T, high: T, spread: impl Fn(T) -> Option<(T, T)>) -> Option<Within<T>> {
        let end = |value, is_in: bool| End { value, is_in };
        Some(match self {
            Self::Ends { low: from, high: to } => {
                Within { low: from.map(|is_in| end(low, is_in)), high: to.map(|is_in| end(high, is_in)) }
            }
            Self::About => {
                let (low, high) = spread(low)?;
                Within { low: Some(end(low, true)), high: Some(end(high, true)) }
            }
        })
    }
}

impl Value {
    /// Whether it is more than another; `None` when they do not compare.
    fn is_over(&self, other: &Self) -> Option<bool> {
        match (self, other) {
            (Self::Level(one), Self::Level(other)) | (Self::Density(one), Self::Density(other)) => {
                Some(one > other)
            }
            (Self::Length(one), Self::Length(other)) => Some(one > other),
            (Self::LabelR(one), Self::LabelR(other)) => Some(one > other),
            (Self::Money(one), Self::Money(other)) => Some(one.partial_cmp(other)?.is_gt()),
            _ => None,
        }
    }
}

fn made(low: Value, high: Value, ends: End2, side: Option<Side>, per: Option<Per>) -> Option<Asked> {
    Some(match (low, high) {
        (Value::Level(low), Value::Level(high)) => {
            let within = ends.within(low, high, |value| Some((value - 1.0, value + 1.0)))?;
            match side {
                Some(Side::Difference) => Asked::Difference(within),
                Some(Side::Louder) => Asked::Reduction(negated(within)),
                _ => Asked::Reduction(within),
            }
        }
        (Value::Length(low), Value::Length(high)) => {
            let within = ends.within(low, high, tenth_of_length)?;
            if side == Some(Side::Spacing) { Asked::Spacing(within) } else { Asked::Depth(within) }
        }
        (Value::Money(low), Value::Money(high)) => {
            let (low, high) = (per_ft2(low, per)?, per_ft2(high, per)?);
            let within = ends.within(low, high, tenth_of_money)?;
            if per.is_some() { Asked::CostPerFt2(within) } else { Asked::Cost(within) }
        }
        (Value::Density(low), Value::Density(high)) => {
            Asked::Density(ends.within(low, high, |value| Some((value * 0.9, value * 1.1)))?)
        }
        (Value::LabelR(low), Value::LabelR(high)) => Asked::LabelR(ends.within(low, high, tenth)?),
        _ => return None,
    })
}

/// "At least 2 dB louder" is a reduction of -2 dB or below.
fn negated(within: Within<f64>) -> Within<f64> {
    let turn = |end: End<f64>| End { value: -end.value, ..end };
    Within { low: within.high.map(turn), high: within.low.map(turn) }
}

fn tenth_of_length(value: Length) -> Option<(Length, Length)> {
    let nm = value.nm();
    Some((Length::from_nm(nm - nm / 10).ok()?, Length::from_nm(nm + nm / 10).ok()?))
}

fn tenth(value: Decimal) -> Option<(Decimal, Decimal)> {
    let part = value.checked_mul(Decimal::from_parts(1, 1).ok()?)?;
    Some((value.checked_sub(part)?, value.checked_add(part)?))
}

fn tenth_of_money(value: Money) -> Option<(Money, Money)> {
    let (low, high) = tenth(value.amount)?;
    Some((Money::new(low, value.currency), Money::new(high, value.currency)))
}

fn per_ft2(value: Money, per: Option<Per>) -> Option<Money> {
    match per {
        None | Some(Per::SquareFoot) => Some(value),
        Some(Per::SquareMetre) => value.times(Decimal::from_parts(FT2_M2.0, FT2_M2.1).ok()?).ok(),
    }
}

/// Why a comparison that begins here is no quantity, in words; `None` when nothing here looks like one.
pub(super) fn why_not(text: &Text<'_>, at: usize, dollar: Currency) -> Option<String> {
    let is_between = text.word(at) == "between";
    let next = if is_between { at + 1 } else { text.phrase(at, BEFORE)?.1 };
    let quoted = |end| Quoted::new(text.slice(at..end));
    let as_words = "it is looked for as words.";
    if is_unit(text, next, dollar) && amount(text, next, dollar).is_none() {
        return Some(format!("\u{201c}{}\u{201d} has no number: {as_words}", quoted(next + 1)));
    }
    let (first, end) = amount(text, next, dollar)?;
    if first.is_too_long() {
        return Some(format!("The number in \u{201c}{}\u{201d} is too long: {as_words}", quoted(end)));
    }
    if first.unit.is_some() {
        let why = "is no quantity that can be compared";
        return Some(format!("\u{201c}{}\u{201d} {why}: {as_words}", quoted(end)));
    }
    let end = if is_between && text.word(end) == "and" { amount(text, end + 1, dollar)?.1 } else { end };
    // "From 5" and "between 5" are said of much that is no quantity.
    let is_plain = text.word(at) == "from" || (is_between && text.word(end) == "and");
    let why = "has no unit, such as dB, in, mm or $";
    (!is_plain).then(|| format!("\u{201c}{}\u{201d} {why}: {as_words}", quoted(end)))
}
