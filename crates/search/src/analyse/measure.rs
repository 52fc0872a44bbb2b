//! Measures in running text, each in one form that every way of writing it shares.
//!
//! `3.5 in`, `3-1/2"` and `89 mm` are `mm:89`; `16" o.c.`, `16 in on center` and the `@406` of a frame's notation are
//! `oc:406`; `2x4` and `38x89` are `stud:38x89`; `R-15` is `r:15`. Whole millimetres forgive what the trade rounds:
//! 16 in is 406.4 mm and printed 406, 24 in is 609.6 mm and printed 610. Left out are what is not the same length
//! however it is sold (8 ft is not 2440 mm), areas, rates, and ranges, of which only the end with the unit is read.

use std::ops::Range;

use storypole_units::length::{NM_PER_FOOT, NM_PER_INCH, NM_PER_MM};
use tantivy::tokenizer::Token;

mod section;

/// A measure in its shared form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Measure {
    /// Number of the token it begins with.
    pub(super) first: usize,
    /// Its shared form.
    pub(super) text: String,
    /// The bytes it covers, unit included.
    pub(super) bytes: Range<usize>,
}

/// The measures of a text that was split into these tokens, in order of their first token.
pub(super) fn read(text: &str, tokens: &[Token]) -> Vec<Measure> {
    if !tokens.iter().any(|token| starts_with_digit(&token.text)) {
        return Vec::new();
    }
    let mut reader = Reader { text, tokens, found: Vec::new() };
    let mut at = 0;
    while at < tokens.len() {
        at = reader.step(at).max(at + 1);
    }
    reader.found
}

fn starts_with_digit(word: &str) -> bool {
    word.bytes().next().is_some_and(|byte| byte.is_ascii_digit())
}

/// Millimetres, or anything else that is counted, as a fraction: nothing is rounded before the end.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ratio {
    over: u128,
    under: u128,
}

impl Ratio {
    fn whole(self) -> Option<u128> {
        self.over.is_multiple_of(self.under).then(|| self.over / self.under)
    }

    fn is_within(self, from: u128, to: u128) -> bool {
        self.over >= from * self.under && self.over <= to * self.under
    }

    /// Whole millimetres of so many of a unit, half away from zero.
    fn mm(self, unit: Unit) -> u128 {
        let (over, under) = (self.over * unit.nm(), self.under * NM_PER_MM as u128);
        (2 * over + under) / (2 * under)
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Unit {
    Inch,
    Foot,
    Millimetre,
    Centimetre,
    Metre,
}

impl Unit {
    fn nm(self) -> u128 {
        let nm = match self {
            Self::Inch => NM_PER_INCH,
            Self::Foot => NM_PER_FOOT,
            Self::Millimetre => NM_PER_MM,
            Self::Centimetre => 10 * NM_PER_MM,
            Self::Metre => 1_000 * NM_PER_MM,
        };
        nm as u128
    }

    fn from_mark(mark: char) -> Option<Self> {
        match mark {
            '"' | '″' | '“' | '”' => Some(Self::Inch),
            '\'' | '′' | '‘' | '’' => Some(Self::Foot),
            _ => None,
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        let is = |words: &[&str]| words.iter().any(|one| one.eq_ignore_ascii_case(word));
        if is(&["in", "inch", "inches"]) {
            Some(Self::Inch)
        } else if is(&["ft", "foot", "feet"]) {
            Some(Self::Foot)
        } else if is(&["mm", "millimetre", "millimetres", "millimeter", "millimeters"]) {
            Some(Self::Millimetre)
        } else if is(&["cm", "centimetre", "centimetres", "centimeter", "centimeters"]) {
            Some(Self::Centimetre)
        } else if is(&["m", "metre", "metres", "meter", "meters"]) {
            Some(Self::Metre)
        } else {
            None
        }
    }
}

/// A number as it stands in the text.
#[derive(Debug, Clone, Copy)]
struct Number {
    value: Ratio,
    is_fraction: bool,
    /// The token behind it.
    next: usize,
}

/// A unit, and where reading goes on behind it.
#[derive(Debug, Clone, Copy)]
struct Written {
    unit: Unit,
    next: usize,
    end: usize,
}

/// The longest length that is read, mm: a kilometre.
const LONGEST_MM: u128 = 1_000_000;
/// What is sold or written by its thickness alone.
const BOARDS: &[&str] = &[
    "drywall",
    "gypsum",
    "gyp",
    "plasterboard",
    "wallboard",
    "gwb",
    "board",
    "boards",
    "backerboard",
    "plywood",
    "ply",
    "osb",
    "mdf",
    "chipboard",
    "particleboard",
    "hardboard",
    "fibreboard",
    "fiberboard",
    "sheathing",
    "subfloor",
    "cement",
];
/// Last words of the names of fills.
const FILLS: &[&str] = &["fibre", "fiber", "wool", "cellulose", "cotton", "foam", "sand"];
/// Words of the notation of assemblies that a number in millimetres follows.
const SIZED: &[&str] = &["undercut", "gap", "offset"];
/// What makes `in` before it a little word and no unit.
const PLACES: &[&str] = &[
    "the",
    "a",
    "an",
    "my",
    "our",
    "his",
    "her",
    "their",
    "this",
    "that",
    "these",
    "those",
    "each",
    "every",
    "all",
    "both",
    "one",
    "total",
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
    "jan",
    "feb",
    "mar",
    "apr",
    "jun",
    "jul",
    "aug",
    "sep",
    "sept",
    "oct",
    "nov",
    "dec",
    "spring",
    "summer",
    "autumn",
    "winter",
];
/// What makes feet or inches before it part of another unit: pounds, columns of water.
const OTHER_UNITS: &[&str] = &["lb", "lbs", "wc", "wg", "hg", "head"];

struct Reader<'t> {
    text: &'t str,
    tokens: &'t [Token],
    found: Vec<Measure>,
}

impl Reader<'_> {
    /// Reads what begins at a token; returns the token to go on with.
    fn step(&mut self, at: usize) -> usize {
        if self.is(at, &["r"]) {
            return self.resistance(at).unwrap_or(at);
        }
        let Some(number) = self.number(at) else { return at };
        if let Some(next) = self.section(at, number) {
            return next;
        }
        self.size(at, number).unwrap_or(number.next)
    }

    /// A length with its unit, or a bare number whose surroundings tell its unit, and whether it is a spacing.
    fn size(&mut self, at: usize, number: Number) -> Option<usize> {
        if let Some((mm, next, end)) = self.length(number) {
            self.say(at, "mm", mm, end);
            if let Some((last, end)) = self.on_centre(next, end) {
                self.say(at, "oc", mm, end);
                return Some(last);
            }
            return Some(next);
        }
        let end = self.end(number.next - 1);
        if let Some((next, end)) = self.on_centre(number.next, end) {
            self.say(at, "oc", bare_spacing_mm(number.value)?, end);
            return Some(next);
        }
        if self.is_of_channel(at) {
            self.say(at, "oc", bare_spacing_mm(number.value)?, end);
        } else if let Some(mm) = self.bare_thickness_mm(at, number) {
            self.say(at, "mm", mm, end);
        }
        None
    }

    fn say(&mut self, first: usize, what: &str, mm: u128, end: usize) {
        if (1..=LONGEST_MM).contains(&mm) {
            self.push(first, format!("{what}:{mm}"), end);
        }
    }

    fn push(&mut self, first: usize, text: String, end: usize) {
        let bytes = self.tokens[first].offset_from..end;
        self.found.push(Measure { first, text, bytes });
    }

    /// `R-15`, `R15`, `R 15`, `R-value 15`, `R value of 15`.
    fn resistance(&mut self, at: usize) -> Option<usize> {
        let mut number = at + 1;
        if self.is(number, &["value"]) {
            number += 1;
            if self.is(number, &["of"]) {
                number += 1;
            }
        }
        if !(at..number).all(|token| is_short_gap(self.gap(token))) {
            return None;
        }
        let value = plain_number(self.word(number))?;
        // Labels run from about 1 to 60 (common practice, no source).
        if !value.is_within(1, 100) {
            return None;
        }
        let written = self.word(number);
        let text =
            if written.contains('.') { written.trim_end_matches('0').trim_end_matches('.') } else { written };
        let text = format!("r:{}", text.trim_start_matches('0'));
        self.push(at, text, self.end(number));
        Some(number + 1)
    }

    /// A length with its unit: millimetres, the token behind it, where it ends.
    fn length(&self, number: Number) -> Option<(u128, usize, usize)> {
        let Written { unit, next, end } = self.unit(number.next - 1)?;
        if number.is_fraction && !matches!(unit, Unit::Inch | Unit::Foot) {
            return None;
        }
        if unit == Unit::Foot
            && let Some(feet) = number.value.whole()
            && let Some((inches, next, end)) = self.inches_after(next, end)
        {
            let value = Ratio { over: inches.over + 12 * feet * inches.under, under: inches.under };
            return Some((value.mm(Unit::Inch), next, end));
        }
        let begins_power = next < self.tokens.len()
            && self.end(next - 1) == end
            && self.tokens[next].offset_from == end
            && self.word(next).starts_with(['2', '3', '²', '³']);
        let is_rate = self.text[end..].starts_with('/');
        (!begins_power && !is_rate).then(|| (number.value.mm(unit), next, end))
    }

    /// The inches of `8' 3"`, with what is behind them.
    fn inches_after(&self, at: usize, end: usize) -> Option<(Ratio, usize, usize)> {
        let gap = self.text.get(end..self.tokens.get(at)?.offset_from)?;
        let number = self.number(at).filter(|number| number.value.over < 12 * number.value.under)?;
        let inches = self.unit(number.next - 1).filter(|written| written.unit == Unit::Inch)?;
        is_short_gap(gap.trim_start_matches('.')).then_some((number.value, inches.next, inches.end))
    }

    /// The unit behind a number that ends with token `last`.
    fn unit(&self, last: usize) -> Option<Written> {
        let (gap, start) = (self.gap(last), self.end(last));
        if gap.starts_with("''") {
            return Some(Written { unit: Unit::Inch, next: last + 1, end: start + 2 });
        }
        if let Some((mark, unit)) = gap.chars().next().and_then(|mark| Some((mark, Unit::from_mark(mark)?))) {
            let end = start + mark.len_utf8();
            // `the 80's` are no feet.
            let is_owner = unit == Unit::Foot && self.text[end..].starts_with(char::is_alphabetic);
            return (!is_owner).then_some(Written { unit, next: last + 1, end });
        }
        let at = last + 1;
        let unit = Unit::from_word(self.word(at)).filter(|_| is_short_gap(gap))?;
        let is_other = self.is(at + 1, OTHER_UNITS) || (self.is(at, &["in"]) && self.is_place(at + 1));
        (!is_other).then_some(Written { unit, next: at + 1, end: self.end(at) })
    }

    /// Whether `in` before this word says where or when: `2 in the hall`, `3 in May`, `4 in 2025`.
    fn is_place(&self, at: usize) -> bool {
        let word = self.word(at);
        let is_year =
            word.len() == 4 && (word.starts_with("19") || word.starts_with("20")) && starts_with_digit(word);
        is_year || self.is(at, PLACES)
    }

    /// Whether what ends before token `at` is said to be a spacing: the token behind that and where it ends.
    fn on_centre(&self, at: usize, end: usize) -> Option<(usize, usize)> {
        let gap = self.text.get(end..self.tokens.get(at)?.offset_from)?;
        if gap.len() > 4
            || !gap.chars().all(|letter| letter.is_whitespace() || matches!(letter, '.' | ',' | '-'))
        {
            return None;
        }
        let centres = &["centres", "centers"];
        let any_centre = &["centre", "center", "centres", "centers"];
        let between = self.gap(at).trim();
        let count = if self.is(at, &["oc"]) || self.is(at, centres) {
            1
        } else if (self.is(at, &["o"]) && self.is(at + 1, &["c"]) && matches!(between, "." | "/"))
            || (self.is(at, &["c"]) && self.is(at + 1, &["c"]) && between == "/")
            || (self.is(at, &["on"]) && self.is(at + 1, any_centre))
        {
            2
        } else if self.is(at, any_centre) && self.is(at + 1, &["to"]) && self.is(at + 2, any_centre) {
            3
        } else {
            return None;
        };
        Some((at + count, self.end(at + count - 1)))
    }

    /// Whether this is the second number of `channel 13@566`.
    fn is_of_channel(&self, at: usize) -> bool {
        at >= 2 && self.gap(at - 1) == "@" && self.is(at - 2, &["channel", "channels"])
    }

    /// Millimetres of a thickness without a unit, where boards, fills or the notation of assemblies stand by it.
    fn bare_thickness_mm(&self, at: usize, number: Number) -> Option<u128> {
        let after = number.next;
        let stands_free = at > 0 && self.gap(at - 1).trim().is_empty();
        let before = |words: &[&str]| stands_free && self.is(at - 1, words);
        let behind_board = before(BOARDS) || (stands_free && at > 1 && self.is(at - 2, &["type"]));
        if number.is_fraction {
            let before_board = is_short_gap(self.gap(after - 1))
                && (self.is(after, BOARDS) || self.is(after, &["type"]) || self.is_cement_board(after));
            return (behind_board || before_board).then(|| number.value.mm(Unit::Inch));
        }
        let is_whole = number.value.whole().is_some();
        let is_counted = self.gap(after - 1) == " " && self.is(after, &["x"]) && self.gap(after).is_empty();
        let is_board = behind_board && number.value.is_within(2, 100) && (!is_whole || is_counted);
        let rest = self.text[self.end(after - 1)..].trim_start();
        let is_last = rest.is_empty() || rest.starts_with([',', ';', '·']);
        let is_fill = before(FILLS) && is_last && number.value.is_within(10, 600);
        let is_sized = before(SIZED) && is_last && number.value.is_within(3, 5_000);
        let is_clear =
            self.gap(after - 1) == " " && self.is(after, &["clear"]) && number.value.is_within(10, 1_000);
        (is_board || is_fill || is_sized || is_clear).then(|| number.value.mm(Unit::Millimetre))
    }

    fn is_cement_board(&self, at: usize) -> bool {
        self.is(at, &["fibre", "fiber", "cement"]) && self.is(at + 1, &["cement", "board"])
    }

    /// `7`, `3.5`, `3/4`, `7 3/4`, `7-3/4` or `3½`.
    fn number(&self, at: usize) -> Option<Number> {
        if let Some(value) = tape_fraction(self.word(at)) {
            return Some(Number { value, is_fraction: true, next: at + 1 });
        }
        let value = plain_number(self.word(at))?;
        let behind = tape_fraction(self.word(at + 1)).filter(|_| is_short_gap(self.gap(at)));
        // The 2 of `x2 1/2 in` counts boards.
        let is_counter = at > 0 && self.gap(at - 1).is_empty() && !starts_with_digit(self.word(at - 1));
        Some(match (value.whole(), behind) {
            (Some(whole), Some(part)) if !is_counter => {
                let value = Ratio { over: whole * part.under + part.over, under: part.under };
                Number { value, is_fraction: true, next: at + 2 }
            }
            _ => Number { value, is_fraction: false, next: at + 1 },
        })
    }

    fn word(&self, at: usize) -> &str {
        self.tokens.get(at).map_or("", |token| &token.text)
    }

    fn is(&self, at: usize, words: &[&str]) -> bool {
        let word = self.word(at);
        words.iter().any(|one| one.eq_ignore_ascii_case(word))
    }

    /// Where a token ends, bytes.
    fn end(&self, at: usize) -> usize {
        self.tokens[at].offset_to
    }

    /// What stands between a token and the next, or the end of the text.
    fn gap(&self, at: usize) -> &str {
        let Some(token) = self.tokens.get(at) else { return "" };
        let to = self.tokens.get(at + 1).map_or(self.text.len(), |next| next.offset_from);
        &self.text[token.offset_to..to]
    }
}

/// Nothing, a space or two, or one hyphen with or without spaces.
fn is_short_gap(gap: &str) -> bool {
    gap.len() <= 5 && matches!(gap.trim(), "" | "-" | "\u{2010}" | "\u{2011}")
}

/// A number in digits with or without decimals, short enough for exact arithmetic.
fn plain_number(word: &str) -> Option<Ratio> {
    let (whole, part) = word.split_once('.').unwrap_or((word, ""));
    let is_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || whole.len() > 7 || part.len() > 6 || !is_digits(whole) || !is_digits(part) {
        return None;
    }
    let under = 10_u128.pow(part.len() as u32);
    let over = format!("{whole}{part}").parse().ok()?;
    Some(Ratio { over, under })
}

/// A fraction below one that is on a tape.
fn tape_fraction(word: &str) -> Option<Ratio> {
    let (over, under) = word.split_once('/')?;
    let under = ["2", "4", "8", "16", "32", "64"].contains(&under).then(|| under.parse().ok())??;
    let over = over.parse().ok().filter(|over| (1..under).contains(over))?;
    Some(Ratio { over, under })
}

/// Millimetres of a spacing without a unit: nobody frames at more than 60 in, or at less than 100 mm (common practice, no
/// source).
fn bare_spacing_mm(value: Ratio) -> Option<u128> {
    if value.is_within(3, 60) {
        Some(value.mm(Unit::Inch))
    } else {
        value.is_within(100, 5_000).then(|| value.mm(Unit::Millimetre))
    }
}

#[cfg(test)]
mod tests;
