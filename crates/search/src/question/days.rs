//! Days and stretches of days as people type them. Leaves out seasons, days of the week and hours.
//!
//! A month or a day without a year is the last one that has begun by today. Weeks begin on Monday (ISO 8601). Of
//! `3/4/2025` the month comes first, as on this trade's receipts (common practice, no source), and a note says so.

use jiff::civil::Date;
use jiff::{Span, ToSpan};
use storypole_units::Quoted;

use super::Says;
use super::text::Text;

/// Days from first to last.
#[derive(Debug, Clone, PartialEq)]
struct Period {
    first: Date,
    last: Date,
    /// Of a day or month: whether its year was typed.
    year: Year,
    note: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Year {
    Typed,
    /// The last one that has begun.
    Latest,
}

/// Days that were read, the piece behind them, and what the reader should know.
pub(super) type Found = (Says, usize, Vec<String>);

#[derive(Clone, Copy)]
enum Edge {
    Since,
    After,
    Before,
    Until,
}

const EDGES: &[(&str, Edge)] = &[
    ("since", Edge::Since),
    ("from", Edge::Since),
    ("starting", Edge::Since),
    ("after", Edge::After),
    ("before", Edge::Before),
    ("until", Edge::Until),
    ("till", Edge::Until),
    ("up to", Edge::Until),
    ("through", Edge::Until),
];

/// Reads days that begin here.
pub(super) fn days(text: &Text<'_>, at: usize, today: Date) -> Option<Found> {
    let edge = text.phrase(at, EDGES);
    range(text, at, today)
        .or_else(|| edge.and_then(|(edge, next)| one_sided(text, next, edge, today)))
        .or_else(|| inside(text, at, today))
}

/// Whether days begin here, whenever today is.
pub(super) fn is_day(text: &Text<'_>, at: usize) -> bool {
    let ends = text.clean_ends(at);
    ends.into_iter()
        .any(|end| days(&text.until(end), at, Date::constant(2000, 1, 1)).is_some_and(|found| found.1 == end))
}

/// Whether a word without a digit may stand for days.
pub(super) fn may_tell(word: &str) -> bool {
    month(word).is_some()
        || matches!(word, "today" | "yesterday" | "last" | "past" | "previous" | "this")
        || COUNTS.contains(&word)
}

/// What is wrong with a day that could not be read, in words.
pub(super) fn no_such_day(text: &Text<'_>, at: usize) -> Option<String> {
    let (year, month, day, next) = iso(text, at).or_else(|| slashed(text, at))?;
    let is_none = Date::new(year, month, day).is_err() && Date::new(year, day, month).is_err();
    let typed = Quoted::new(text.slice(at..next));
    is_none.then(|| format!("There is no day \u{201c}{typed}\u{201d}: it is looked for as words."))
}

fn one_sided(text: &Text<'_>, at: usize, edge: Edge, today: Date) -> Option<Found> {
    let (period, next) = period(text, at, today).or_else(|| year_alone(text, at))?;
    let (from, to) = match edge {
        Edge::Since => (Some(period.first), None),
        Edge::After => (Some(period.last.tomorrow().ok()?), None),
        Edge::Before => (None, Some(period.first.yesterday().ok()?)),
        Edge::Until => (None, Some(period.last)),
    };
    Some((Says::Days { from, to }, next, Vec::from_iter(period.note)))
}

/// `in 2025`, `on 4 March`, `last week`; a month or a year alone is a word.
fn inside(text: &Text<'_>, at: usize, today: Date) -> Option<Found> {
    let leading = text.past_any(at, &["in", "on", "during", "within", "of"]);
    let has_lead = leading > at;
    let start = if has_lead { text.past_any(leading, &["the"]) } else { at };
    let (period, next) = period(text, start, today)
        .filter(|(_, next)| has_lead || *next > start + 1 || !is_month_alone(text, start, *next))
        .or_else(|| if has_lead { year_alone(text, start) } else { None })?;
    let says = Says::Days { from: Some(period.first), to: Some(period.last) };
    Some((says, next, Vec::from_iter(period.note)))
}

fn is_month_alone(text: &Text<'_>, at: usize, next: usize) -> bool {
    next == at + 1 && month(text.word(at)).is_some()
}

/// `between D and D`, `from D to D`, `D to D`.
fn range(text: &Text<'_>, at: usize, today: Date) -> Option<Found> {
    let lead = text.past_any(at, &["between", "from", "in", "during"]);
    let has_lead = lead > at;
    let joins: &[&str] =
        if text.word(at) == "between" { &["and"] } else { &["to", "until", "till", "-", "–"] };
    // The years of both ends depend on each other, so the end behind is read first.
    let any = |at| period(text, at, today).or_else(|| if has_lead { year_alone(text, at) } else { None });
    let (mut low, middle) = any(lead)?;
    let after = text.past_any(middle, joins);
    let (mut high, next) = if after > middle { any(after)? } else { return None };
    if low.year == Year::Latest {
        (low, _) = period(text, lead, high.last)?;
    }
    let mut notes: Vec<String> = low.note.iter().chain(&high.note).cloned().collect();
    if low.first > high.last {
        std::mem::swap(&mut low, &mut high);
        let typed = Quoted::new(text.slice(at..next));
        notes.push(format!("\u{201c}{typed}\u{201d} ends before it begins: it is read the other way round."));
    }
    notes.dedup();
    Some((Says::Days { from: Some(low.first), to: Some(high.last) }, next, notes))
}

/// A day, a month, or a stretch counted from today. `today` bounds what has no year.
fn period(text: &Text<'_>, at: usize, today: Date) -> Option<(Period, usize)> {
    let at = text.past_any(at, &["the"]);
    exact(text, at)
        .or_else(|| named_day(text, at, today))
        .or_else(|| named_month(text, at, today))
        .or_else(|| relative(text, at, today))
        .or_else(|| ago(text, at, today))
}

fn typed(first: Date, last: Date) -> Period {
    Period { first, last, year: Year::Typed, note: None }
}

fn year_number(text: &Text<'_>, at: usize) -> Option<i16> {
    text.small(at).filter(|year| (1900..=2100).contains(year))
}

fn year_alone(text: &Text<'_>, at: usize) -> Option<(Period, usize)> {
    let first = Date::new(year_number(text, at)?, 1, 1).ok()?;
    Some((typed(first, first.last_of_year()), at + 1))
}

/// `2025-03-04`, `2025-03`, `3/4/2025`.
fn exact(text: &Text<'_>, at: usize) -> Option<(Period, usize)> {
    if let Some((year, month, day, next)) = iso(text, at) {
        let date = Date::new(year, month, day).ok()?;
        return Some((typed(date, date), next));
    }
    if let Some((year, month, day, next)) = slashed(text, at) {
        let (date, order) = match Date::new(year, month, day) {
            Ok(date) => (date, "month, day, year"),
            Err(_) => (Date::new(year, day, month).ok()?, "day, month, year"),
        };
        let note = format!("\u{201c}{}\u{201d} is read as {order}.", Quoted::new(text.slice(at..next)));
        return Some((Period { note: Some(note), ..typed(date, date) }, next));
    }
    // Two digits behind the dash: a month, where 2024-2025 is two years.
    let digits = text.digits(at + 2).filter(|digits| digits.len() == 2 && joined(text, at, "-"))?;
    let first = Date::new(year_number(text, at)?, digits.parse().ok()?, 1).ok()?;
    Some((typed(first, first.last_of_month()), at + 3))
}

/// Whether three pieces stand together with this sign in the middle.
fn joined(text: &Text<'_>, at: usize, sign: &str) -> bool {
    text.word(at + 1) == sign && text.is_joined(at + 1) && text.is_joined(at + 2)
}

/// Year, month and day as the text has them, valid or not.
fn iso(text: &Text<'_>, at: usize) -> Option<(i16, i8, i8, usize)> {
    let is_whole = joined(text, at, "-") && joined(text, at + 2, "-");
    let short = |at| text.digits(at).filter(|digits| digits.len() <= 2)?.parse().ok();
    Some((year_number(text, at).filter(|_| is_whole)?, short(at + 2)?, short(at + 4)?, at + 5))
}

fn slashed(text: &Text<'_>, at: usize) -> Option<(i16, i8, i8, usize)> {
    let is_whole = joined(text, at, "/") && joined(text, at + 2, "/");
    let short = |at| text.digits(at).filter(|digits| digits.len() <= 2)?.parse().ok();
    Some((year_number(text, at + 4).filter(|_| is_whole)?, short(at)?, short(at + 2)?, at + 5))
}

/// The number of a month by its English name, whole or short.
fn month(word: &str) -> Option<i8> {
    Some(match word {
        "january" | "jan" => 1,
        "february" | "feb" => 2,
        "march" | "mar" => 3,
        "april" | "apr" => 4,
        "may" => 5,
        "june" | "jun" => 6,
        "july" | "jul" => 7,
        "august" | "aug" => 8,
        "september" | "sept" | "sep" => 9,
        "october" | "oct" => 10,
        "november" | "nov" => 11,
        "december" | "dec" => 12,
        _ => return None,
    })
}

/// `4`, `4th`.
fn day_number(text: &Text<'_>, at: usize) -> Option<(i8, usize)> {
    let day = i8::try_from(text.small(at)?).ok().filter(|day| (1..=31).contains(day))?;
    let is_ordinal = text.is_joined(at + 1) && matches!(text.word(at + 1), "st" | "nd" | "rd" | "th");
    Some((day, at + 1 + usize::from(is_ordinal)))
}

/// `4 March 2025`, `4th of March`, `Mar 4, 2025`.
fn named_day(text: &Text<'_>, at: usize, today: Date) -> Option<(Period, usize)> {
    let (month, day, next) = match month(text.word(at)) {
        Some(month) => {
            let dot = text.past_any(at + 1, &["."]);
            let (day, next) = day_number(text, dot)?;
            (month, day, next)
        }
        None => {
            let (day, next) = day_number(text, at)?;
            let next = text.past_any(next, &["of"]);
            (month(text.word(next))?, day, next + 1)
        }
    };
    let comma = text.past_any(next, &[","]);
    if let Some(year) = year_number(text, comma) {
        let date = Date::new(year, month, day).ok()?;
        return Some((typed(date, date), comma + 1));
    }
    let date = latest(today, |year| Date::new(year, month, day).ok())?;
    Some((Period { year: Year::Latest, ..typed(date, date) }, next))
}

/// `March 2025`, `March`.
fn named_month(text: &Text<'_>, at: usize, today: Date) -> Option<(Period, usize)> {
    let month = month(text.word(at))?;
    if let Some(year) = year_number(text, at + 1) {
        let first = Date::new(year, month, 1).ok()?;
        return Some((typed(first, first.last_of_month()), at + 2));
    }
    let first = latest(today, |year| Date::new(year, month, 1).ok())?;
    Some((Period { year: Year::Latest, ..typed(first, first.last_of_month()) }, at + 1))
}

/// The last of a yearly date that is not after today; 29 February comes every eight years at the rarest.
fn latest(today: Date, of_year: impl Fn(i16) -> Option<Date>) -> Option<Date> {
    (0..=8).filter_map(|back| of_year(today.year().checked_sub(back)?)).find(|date| *date <= today)
}

/// `today`, `this week`, `last month`, `last 30 days`.
fn relative(text: &Text<'_>, at: usize, today: Date) -> Option<(Period, usize)> {
    match text.word(at) {
        "today" => return Some((typed(today, today), at + 1)),
        "yesterday" => {
            let day = today.yesterday().ok()?;
            return Some((typed(day, day), at + 1));
        }
        _ => (),
    }
    let is_last = matches!(text.word(at), "last" | "past" | "previous");
    if is_last && let Some((span, next)) = counted(text, at + 1) {
        return Some((typed(today.checked_sub(span).ok()?, today), next));
    }
    if !is_last && text.word(at) != "this" {
        return None;
    }
    let (first, last) = calendar(text.word(at + 1), today)?;
    let period = if is_last {
        calendar(text.word(at + 1), first.yesterday().ok()?).map(|(first, last)| typed(first, last))?
    } else {
        typed(first, last)
    };
    Some((period, at + 2))
}

/// The week, month or year a day is in.
fn calendar(unit: &str, day: Date) -> Option<(Date, Date)> {
    Some(match unit {
        "week" => {
            let monday = day.checked_sub(i32::from(day.weekday().to_monday_zero_offset()).days()).ok()?;
            (monday, monday.checked_add(6.days()).ok()?)
        }
        "month" => (day.first_of_month(), day.last_of_month()),
        "year" => (day.first_of_year(), day.last_of_year()),
        _ => return None,
    })
}

/// `three weeks ago`: that day.
fn ago(text: &Text<'_>, at: usize, today: Date) -> Option<(Period, usize)> {
    let (span, next) = counted(text, at).filter(|(_, next)| text.word(*next) == "ago")?;
    let day = today.checked_sub(span).ok()?;
    Some((typed(day, day), next + 1))
}

const COUNTS: [&str; 12] =
    ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

/// `30 days`, `two weeks`.
fn counted(text: &Text<'_>, at: usize) -> Option<(Span, usize)> {
    let in_words = || COUNTS.iter().position(|word| *word == text.word(at)).map(|index| index as i64 + 1);
    let count = text.small(at).map(i64::from).or_else(in_words)?;
    let span = match text.word(at + 1) {
        "day" | "days" => Span::new().try_days(count),
        "week" | "weeks" => Span::new().try_weeks(count),
        "month" | "months" => Span::new().try_months(count),
        "year" | "years" => Span::new().try_years(count),
        _ => return None,
    };
    Some((span.ok()?, at + 2))
}
