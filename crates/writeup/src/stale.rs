//! Numbers as editions printed them: which of them are otherwise now, and where the author's own words still hold them.
//!
//! The author's words are never touched: a note behind them says what changed. Leaves out how an edition is stored.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use storypole_findings::bench_rig::BenchRow;
use storypole_findings::quantity::QuantityChange;
use storypole_findings::question::Answer;
use storypole_findings::{Change, Estimate, Interval, Sense, SetFinding, TestFinding, print};
use storypole_ledger::job_money;
use storypole_notebook::Unit;
use storypole_notebook::kinds::Edition;

use crate::document::{Block, Stale, Topic};
use crate::parts::Out;
use crate::scope::Scope;
use crate::sections::numbers::{change, ends, estimate, likely};
use crate::sections::shown_places;

/// Letters an edition's list of numbers may have.
const NUMBERS_LIMIT: usize = 20_000;

/// How the name of a job's cost ends.
const TOTAL_COST: &str = ": total cost";

/// A number with its stable name.
pub(crate) type Named = (String, String);

/// What a change of levels is called behind its sets.
const CHANGE: &str = ": change";
/// What a level difference is called behind its set.
const DIFFERENCE: &str = ": level difference";
/// What a mean on a bench rig is called behind its set.
const MEAN: &str = ": mean, dB";

/// The key numbers of a write-up, each with a name that stays the same as long as records keep their labels: rooms and fills, which
/// may be called otherwise later, are not in it.
pub(crate) fn numbers(scope: &Scope<'_>) -> Vec<Named> {
    let mut found = scope.answer.as_ref().map_or_else(Vec::new, of_answer);
    let headlines = scope.headlines();
    found.extend(headlines.iter().copied().chain(scope.changes()).filter_map(of_change));
    found.extend(scope.tests.iter().flat_map(|test| of_bench(test).into_iter().chain(of_quantity(test))));
    found.extend(scope.sets().filter_map(of_set));
    if scope.has_costs() {
        found.extend(scope.jobs.iter().map(|job| {
            let total = job_money(scope.book, job.id).total;
            (format!("{}{TOTAL_COST}", job.label.as_deref().unwrap_or_default()), total.to_string())
        }));
    }
    once(found)
}

/// A value with its bound and interval: `+11.2, 10.1 to 12.3` or `at least +12.4, over 11.2`.
fn with_ends(value: f64, bound: Sense, interval: Option<&Interval>) -> String {
    let said = change(Estimate { value, bound });
    if interval.is_some() { format!("{said}, {}", ends(interval, bound)) } else { said }
}

/// A value with its interval: `+11.2, 10.1 to 12.3`.
fn with_range(value: f64, interval: Option<&Interval>, places: usize) -> String {
    let range = interval.map(|interval| format!(", {}", print::range(interval, places)));
    format!("{}{}", print::signed(value, places), range.unwrap_or_default())
}

fn of_change(of: &Change) -> Option<Named> {
    let value = of.value.map(change)?;
    let said = if of.interval.is_some() { format!("{value}, {}", likely(of)) } else { value };
    let unit = of_level(of.unit);
    Some((format!("{} to {}{unit}{CHANGE}", of.from.label, of.to.label), said))
}

fn of_set(set: &SetFinding) -> Option<Named> {
    let value = set.level_difference.filter(|_| set.is_in() && set.runs.is_none())?;
    let unit = of_level(set.unit);
    Some((format!("{}{unit}{DIFFERENCE}", set.label), estimate(value)))
}

/// The unit of a level behind a comma.
fn of_level(unit: Option<Unit>) -> String {
    unit.filter(|unit| unit.is_level()).map(|unit| format!(", {unit}")).unwrap_or_default()
}

fn of_bench(test: &TestFinding) -> Vec<Named> {
    let rows = test.bench.iter().flat_map(|bench| &bench.rows);
    let mean =
        |row: &BenchRow| (format!("{}, {}{MEAN}", test.label, row.label), print::decimals(row.mean_db, 1));
    rows.map(mean).collect()
}

fn of_quantity(test: &TestFinding) -> Vec<Named> {
    let changes = test.quantity.iter().flat_map(|quantity| &quantity.changes);
    let named = |of: &QuantityChange| {
        let places = shown_places(of.interval.as_ref(), of.unit);
        let unit = if of.unit.is_empty() { String::new() } else { format!(", {}", of.unit) };
        let name = format!("{}, {} to {}: {}{unit}", test.label, of.from.label, of.to.label, of.name);
        Some((name, with_range(of.value?, of.interval.as_ref(), places)))
    };
    changes.filter_map(named).collect()
}

/// Differences of a comparison's pairs and averages of its sides.
fn of_answer(answer: &Answer) -> Vec<Named> {
    let name = |side: usize| answer.sides.get(side).map(|side| side.name.as_str()).unwrap_or_default();
    let pairs = answer.pairs.iter().filter_map(|pair| {
        let difference = pair.difference.as_ref()?;
        let what = format!("{} less {}, dB", name(pair.first), name(pair.second));
        Some((what, with_ends(difference.value_db, pair.bound, difference.interval.as_ref())))
    });
    let averages = answer.sides.iter().filter_map(|side| {
        let average = side.average.as_ref()?;
        let what = format!("{}: average over jobs, dB", side.name);
        Some((what, with_ends(average.value_db, average.bound, average.interval.as_ref())))
    });
    pairs.chain(averages).collect()
}

/// Each name once and in one line: the first number of a name stands.
fn once(found: Vec<Named>) -> Vec<Named> {
    let line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut seen = BTreeSet::new();
    let lines = found.into_iter().map(|(name, value)| (line(&name), line(&value)));
    lines.filter(|(name, value)| !value.is_empty() && seen.insert(name.clone())).collect()
}

/// The numbers as an edition keeps them: lines of `name = value`, as many whole ones as it has room for.
pub fn numbers_text(numbers: &[(String, String)]) -> String {
    let mut text = String::new();
    let mut letters = 0;
    for (name, value) in numbers {
        let line = format!("{name} = {value}\n");
        letters += line.chars().count();
        if letters > NUMBERS_LIMIT {
            break;
        }
        text.push_str(&line);
    }
    text.trim_end().to_owned()
}

/// Reads the numbers of an edition; a line without a value is passed over. A name may hold an equals sign, a value does not.
pub fn numbers_of(text: &str) -> Vec<(String, String)> {
    let read = |line: &str| {
        let (name, value) = line.rsplit_once(" = ")?;
        let (name, value) = (name.trim(), value.trim());
        (!name.is_empty() && !value.is_empty()).then(|| (name.to_owned(), value.to_owned()))
    };
    text.lines().filter_map(read).collect()
}

/// The name a number has today. Earlier editions named rooms and fills with it.
fn named_today(name: &str) -> String {
    let middle_gone = |parts: &str, end: &str| {
        let (first, rest) = parts.split_once(", ").unwrap_or((parts, ""));
        let last = rest.rsplit(", ").next().and_then(|last| last.parse::<Unit>().ok());
        format!("{first}{}{end}", of_level(last))
    };
    let fill_gone = |parts: &str| {
        let (test, row) = parts.split_once(", ")?;
        Some(format!("{test}, {}{MEAN}", row.split_whitespace().next()?))
    };
    let change = name.strip_suffix(CHANGE).map(|parts| middle_gone(parts, CHANGE));
    let difference = || name.strip_suffix(DIFFERENCE).map(|parts| middle_gone(parts, DIFFERENCE));
    let mean = || name.strip_suffix(MEAN).and_then(fill_gone);
    change.or_else(difference).or_else(mean).unwrap_or_else(|| name.to_owned())
}

/// The numbers of an edition under the names they have today.
fn printed_in(edition: &Edition) -> Option<(Date, Vec<Named>)> {
    let numbers = numbers_of(edition.numbers.as_deref()?).into_iter();
    Some((edition.date?, numbers.map(|(name, value)| (named_today(&name), value)).collect()))
}

/// Editions without what the author leaves out of this write-up: an amount that was printed once is not printed again to say so.
pub(crate) fn kept(editions: &[&Edition], out: &Out) -> Vec<Edition> {
    let has_costs = !out.topics.contains(&Topic::Cost);
    let stays = |(name, _): &Named| has_costs || !name.ends_with(TOTAL_COST);
    let kept = editions.iter().map(|edition| {
        let numbers = edition
            .numbers
            .as_deref()
            .map(|text| numbers_text(&numbers_of(text).into_iter().filter(stays).collect::<Vec<_>>()));
        Edition { numbers, ..(*edition).clone() }
    });
    kept.collect()
}

/// What earlier editions printed otherwise, each once, by the latest edition that printed it. `now` is every number there is, also
/// what the author leaves out now.
pub(crate) fn stale(editions: &[&Edition], now: &[Named]) -> Vec<Stale> {
    let now: BTreeMap<&str, &str> = now.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for edition in editions.iter().rev() {
        let Some((day, numbers)) = printed_in(edition) else { continue };
        for (what, was) in numbers {
            let current = now.get(what.as_str()).copied();
            if current != Some(was.as_str()) && seen.insert((what.clone(), was.clone())) {
                found.push(Stale { what, printed_on: day, was, now: current.map(str::to_owned) });
            }
        }
    }
    found.sort_by_key(|one| one.printed_on);
    found
}

/// The day the numbers last became others, where they are not those of the first edition.
pub(crate) fn updated(editions: &[&Edition], now: &[Named], today: Date) -> Option<Date> {
    let mut all: Vec<(Date, Vec<Named>)> =
        editions.iter().filter_map(|edition| printed_in(edition)).collect();
    let first = all.first()?.1.clone();
    let still: BTreeSet<&String> = now.iter().map(|(name, _)| name).collect();
    if !is_other(&first, now, &still) {
        return None;
    }
    all.push((today, now.to_vec()));
    let became = all.windows(2).rfind(|pair| is_other(&pair[0].1, &pair[1].1, &still));
    became.map(|pair| pair[1].0)
}

/// Whether a number of the first is otherwise in the second, or gone. One that is still there was only left out.
fn is_other(first: &[Named], second: &[Named], still: &BTreeSet<&String>) -> bool {
    let second: BTreeMap<&String, &String> = second.iter().map(|(name, value)| (name, value)).collect();
    first.iter().any(|(name, value)| match second.get(name) {
        Some(other) => *other != value,
        None => !still.contains(name),
    })
}

/// What changed since earlier editions, for the top of the results.
pub(crate) fn changed(stale: &[Stale]) -> Option<Block> {
    let point = |one: &Stale| {
        let now = one
            .now
            .as_ref()
            .map_or_else(|| "now there is no such number".to_owned(), |now| format!("now {now}"));
        format!("Changed since the edition of {}: {} was {}, {now}.", one.printed_on, one.what, one.was)
    };
    (!stale.is_empty()).then(|| Block::List(stale.iter().map(point).collect()))
}

/// The author's own text, paragraph by paragraph, with a note behind each that holds a stale number.
pub(crate) fn paragraphs(text: &str, stale: &[Stale]) -> Vec<Block> {
    let notes_of = |part: &str| notes(part, stale);
    if notes_of(text).is_empty() {
        return vec![Block::Paragraph(text.to_owned())];
    }
    let normal = text.replace("\r\n", "\n");
    let parts = normal.split("\n\n").filter(|part| !part.trim().is_empty());
    parts.flat_map(|part| [vec![Block::Paragraph(part.trim().to_owned())], notes_of(part)].concat()).collect()
}

/// Notes on stale numbers that stand in the author's own words.
pub(crate) fn notes(text: &str, stale: &[Stale]) -> Vec<Block> {
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for one in stale {
        let was = first_part(&one.was);
        if !number_in(was).is_some_and(|number| stands_in(number, text) || stands_rounded(number, text)) {
            continue;
        }
        let now = one.now.as_deref().map(first_part);
        // In whole decibels nothing that is said has changed.
        let is_same_said = |now: &str| {
            let said =
                |value: &str| number_in(value).and_then(|number| number.parse::<f64>().ok()).map(f64::round);
            !number_in(was).is_some_and(|number| stands_in(number, text)) && said(now) == said(was)
        };
        if now == Some(was) || now.is_some_and(is_same_said) || !seen.insert((one.what.as_str(), was)) {
            continue;
        }
        let now =
            now.map_or_else(|| "there is no such number now".to_owned(), |now| format!("it is now {now}"));
        found.push(Block::Note(format!("Written when {} was {was}; {now}.", one.what)));
    }
    found
}

/// Whether a number stands in a text as people say it, in whole decibels: `6 dB` of 5.9.
fn stands_rounded(number: &str, text: &str) -> bool {
    let whole =
        number.parse::<f64>().ok().filter(|_| number.contains('.')).map(|value| format!("{value:.0}"));
    whole.is_some_and(|whole| {
        let said = ["dB", "decibel"].map(|unit| format!("{whole} {unit}"));
        said.iter().any(|said| {
            text.match_indices(said.as_str()).any(|(at, _)| {
                let before = text[..at].chars().next_back();
                !before.is_some_and(|letter| letter.is_ascii_digit() || matches!(letter, '.' | ','))
            })
        })
    })
}

/// A value without its interval.
fn first_part(value: &str) -> &str {
    value.split_once(", ").map_or(value, |(first, _)| first)
}

fn is_of_number(letter: char) -> bool {
    letter.is_ascii_digit() || letter == '.'
}

/// The digits of the first number of a value, without sign.
fn number_in(value: &str) -> Option<&str> {
    let start = value.find(|letter: char| letter.is_ascii_digit())?;
    let rest = &value[start..];
    let end = rest.find(|letter: char| !is_of_number(letter)).unwrap_or(rest.len());
    Some(rest[..end].trim_end_matches('.'))
}

/// Whether a number stands in a text as a number of its own, not as part of another or of a label.
fn stands_in(number: &str, text: &str) -> bool {
    text.match_indices(number).any(|(at, _)| {
        let mut before = text[..at].chars().rev();
        let (last, last_but_one) = (before.next(), before.next());
        let mut after = text[at + number.len()..].chars();
        let (next, next_but_one) = (after.next(), after.next());
        let is_digit = |letter: Option<char>| letter.is_some_and(|letter| letter.is_ascii_digit());
        let is_point = |letter: Option<char>| matches!(letter, Some('.' | ','));
        let goes_before =
            last.is_some_and(char::is_alphanumeric) || (is_point(last) && is_digit(last_but_one));
        let goes_on = is_digit(next) || (is_point(next) && is_digit(next_but_one));
        !goes_before && !goes_on
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, demo};
    use crate::subject::Subject;

    fn scope(all: &Fixture) -> Scope<'_> {
        Scope::of(&all.book, Subject::Job(all.id("job", "J1"))).unwrap()
    }

    /// Source: the demo scenario, invented: the numbers of its results and of its money.
    #[test]
    fn key_numbers_have_stable_names() {
        let all = demo();
        let numbers = numbers(&scope(&all));
        let of = |name: &str| numbers.iter().find(|(own, _)| own == name).map(|(_, value)| value.as_str());
        let change = of("T01 to T05, dBA: change").unwrap();
        assert!(change.starts_with("+11.2, ") && change.contains(" to "), "{change}");
        assert_eq!(of("T05, dBA: level difference"), Some("36.1"));
        assert_eq!(of("J1: total cost"), Some("2225.28 USD"));
        let bound = of("T02 to T06, dBA: change").unwrap();
        assert!(bound.starts_with("at least +11.7, over 10."), "{bound}");
        let names: BTreeSet<&String> = numbers.iter().map(|(name, _)| name).collect();
        assert_eq!(names.len(), numbers.len());
    }

    #[test]
    fn names_of_earlier_editions_are_read_without_their_rooms() {
        for (before, today) in [
            ("T01 to T05, music-practice room to hall, dBA: change", "T01 to T05, dBA: change"),
            ("T01 to T05, bath, old to hall, new, dBC: change", "T01 to T05, dBC: change"),
            ("T05, hall to bath, dBA: level difference", "T05, dBA: level difference"),
            ("T05, hall to bath: level difference", "T05: level difference"),
            ("Q5, T20 glass fibre: mean, dB", "Q5, T20: mean, dB"),
            ("J1: total cost", "J1: total cost"),
            ("Q7, T24 to T25: surface factor", "Q7, T24 to T25: surface factor"),
        ] {
            assert_eq!(named_today(before), today);
            assert_eq!(named_today(today), today, "a name of today stays");
        }
        let all = demo();
        for test in ["Q1", "Q2", "Q4", "Q5", "Q7"] {
            let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
            for (name, _) in numbers(&scope) {
                assert_eq!(named_today(&name), name);
                assert!(!name.contains("room") && !name.contains("fibre"), "{name}");
            }
        }
    }

    /// Goal: an exact difference that becomes a bound is another number, and an edition that printed it is told.
    #[test]
    fn an_exact_number_that_becomes_a_bound_is_noticed() {
        let all = demo();
        let asked = Subject::Comparison("one layer against two layers of gypsum".into());
        let scope = Scope::of(&all.book, asked).unwrap();
        let mut answer = scope.answer.clone().unwrap();
        let exact = of_answer(&answer);
        for pair in &mut answer.pairs {
            pair.bound = Sense::AtLeast;
        }
        for average in answer.sides.iter_mut().filter_map(|side| side.average.as_mut()) {
            average.bound = Sense::AtLeast;
        }
        let bounds = of_answer(&answer);
        assert!(!exact.is_empty() && exact.len() == bounds.len());
        for ((name, was), (_, is)) in exact.iter().zip(&bounds) {
            assert!(was != is && is.starts_with("at least +") && !is.contains(" to "), "{name}: {was}, {is}");
        }
    }

    proptest::proptest! {
        #[test]
        fn numbers_survive_an_edition(names in proptest::collection::vec("[a-z =,:]{1,20}", 0..6)) {
            let numbers: Vec<Named> = names.iter().map(|name| (name.clone(), "+1.0, 0.5 to 1.5".to_owned())).collect();
            let numbers = once(numbers);
            let numbers: Vec<Named> = numbers.into_iter().filter(|(name, _)| !name.is_empty()).collect();
            proptest::prop_assert_eq!(numbers_of(&numbers_text(&numbers)), numbers);
        }

        #[test]
        fn any_text_is_read(text in proptest::prelude::any::<String>()) {
            for (name, value) in numbers_of(&text) {
                proptest::prop_assert!(!name.is_empty() && !value.is_empty());
            }
        }
    }

    #[test]
    fn a_long_list_keeps_whole_lines() {
        let many: Vec<Named> = (0..2_000).map(|at| (format!("number {at}"), "1.0".to_owned())).collect();
        let text = numbers_text(&many);
        assert!(text.chars().count() <= NUMBERS_LIMIT);
        let read = numbers_of(&text);
        assert_eq!(read[..], many[..read.len()]);
    }

    #[test]
    fn numbers_are_found_as_people_say_them() {
        for (number, text, expected) in [
            ("5.9", "It got 6 dB quieter.", true),
            ("5.9", "about 6 decibels", true),
            ("5.9", "by 16 dB", false),
            ("5.9", "by 1.6 dB", false),
            ("5.9", "6 sheets", false),
            ("6", "6 dB", false),
        ] {
            assert_eq!(stands_rounded(number, text), expected, "{text}");
        }
        let stale = |now: &str| Stale {
            what: "T10 to T13, dBA: change".into(),
            printed_on: "2025-05-24".parse().unwrap(),
            was: "+5.9, 5.0 to 6.8".into(),
            now: Some(now.into()),
        };
        assert_eq!(notes("It got 6 dB quieter.", &[stale("+4.4, 3.5 to 5.3")]).len(), 1);
        assert_eq!(
            notes("It got 6 dB quieter.", &[stale("+6.1, 5.2 to 7.0")]),
            [],
            "still 6 dB as it is said"
        );
        assert_eq!(notes("It got 5.9 dB quieter.", &[stale("+6.1, 5.2 to 7.0")]).len(), 1);
    }

    #[test]
    fn whole_numbers_are_found_and_no_parts_of_others() {
        for (text, expected) in [
            ("It is 11.2 dB quieter.", true),
            ("by 11.2.", true),
            ("(+11.2)", true),
            ("by 111.2 dB", false),
            ("by 11.25 dB", false),
            ("version 3.11.2", false),
            ("11.2.1", false),
            ("T11.2", false),
            ("11", false),
            ("", false),
        ] {
            assert_eq!(stands_in("11.2", text), expected, "{text}");
        }
        assert_eq!(number_in("at least +11.7"), Some("11.7"));
        assert_eq!(number_in("none"), None);
    }
}
