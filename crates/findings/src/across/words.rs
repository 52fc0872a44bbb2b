//! What a pool may be said to show, in plain sentences.

use std::collections::BTreeMap;

use storypole_acoustics::Sense;
use storypole_notebook::matching::MatchLevel;
use storypole_statistics::ratio::RatioRange;

use super::account::Counted;
use super::cost::{Front, NoPerDb, Place, PoolCost};
use super::pool::{LeftOut, NoAverage, Pool, Together};
use super::rows::{Measure, Row, interval_of};
use super::synthesis::{Chance, Synthesis, Way};
use crate::compare::jobs_words;
use crate::set_finding::Estimate;
use crate::{Interval, print};

/// Said beside every table of jobs.
pub(super) const NOTES: &[&str] = &[
    "Walls were not assigned at random: read jobs with, not because of.",
    "Decibels of parts measured apart do not add up.",
    "Only grades A and B stand in the main line; grade D never counts.",
    "Walls in other states and walls that an opening limits stand in tables of their own.",
];

/// A number of things, small ones spelled out.
pub(super) fn count(number: usize) -> String {
    const NAMES: [&str; 11] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
    NAMES.get(number).map_or_else(|| number.to_string(), |name| (*name).to_owned())
}

fn jobs(number: usize) -> String {
    if number == 1 { "one job".to_owned() } else { format!("{} jobs", count(number)) }
}

fn small(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// A size as the two tables say it: `5.7 dB better`, or `35 dB`.
fn size(measure: Measure, value_db: f64, places: usize) -> String {
    let text = print::decimals(value_db.abs(), places);
    match measure {
        Measure::Level => format!("{} dB", print::decimals(value_db, places)),
        Measure::Change if value_db < 0.0 => format!("{text} dB worse"),
        Measure::Change => format!("{text} dB better"),
    }
}

/// Decimals a range may show: none where it is wider than 1 dB either way.
fn range(interval: &Interval) -> String {
    print::range(interval, print::headline_places(Some(interval)))
}

/// What to expect of the next job; of a change that may get louder, both sides named.
fn next_words(measure: Measure, interval: &Interval) -> String {
    let size = |value_db: f64| print::decimals(value_db.abs(), print::headline_places(Some(interval)));
    let (low, high) = (size(interval.low), size(interval.high));
    match measure {
        Measure::Change if interval.high <= 0.0 => format!("{high} to {low} dB worse"),
        Measure::Change if interval.low < 0.0 => format!("{low} dB worse to {high} dB better"),
        _ => range(interval),
    }
}

/// The sentences of a pool, headline first.
pub(super) fn sentences(pool: &Pool) -> Vec<String> {
    let mut said = vec![headline(pool.measure, &pool.main, &pool.rows)];
    if let Ok(result) = &pool.main.result
        && result.jobs > 1
    {
        said.push(numbers(pool, result));
        said.extend(result.chance.filter(|_| pool.main.bound == Sense::Exact).map(chance));
        said.extend(without(&pool.main, result));
    }
    said.extend(second(pool));
    said.extend(bundles(pool));
    said.extend(masses_unknown(pool));
    said.push(cost(&pool.cost));
    said.push(pool.beside.sentence.clone());
    said.retain(|sentence| !sentence.is_empty());
    said
}

/// The headline of jobs together.
pub(super) fn headline(measure: Measure, together: &Together, rows: &[Row]) -> String {
    let result = match &together.result {
        Ok(result) => result,
        Err(NoAverage::OnlyBounds { mean_db }) => return only_bounds(measure, together, *mean_db),
        Err(NoAverage::NoJobs) => return jobs_words(0),
        Err(NoAverage::Synthesis(_)) => return "These jobs cannot be averaged: see the table.".to_owned(),
    };
    let Some(headline) = result.headline else { return one_job(measure, together, rows) };
    let on = jobs(result.jobs);
    if together.bound == Sense::Undetermined {
        return format!(
            "On {on} some results are bounds from below and some from above: the average of {} dB may lie on either side of \
             the truth.",
            print::decimals(headline.average_db, 0)
        );
    }
    let average = match together.bound {
        Sense::Exact => size(measure, headline.average_db, print::headline_places(Some(&headline.interval))),
        bound => bounded(measure, bound, headline.average_db),
    };
    let differ = if result.no_spread_seen {
        "but there are not enough jobs to see how much they differ"
    } else {
        "but jobs differ"
    };
    // More is better; beside what may be worse only that is clear.
    let may_be_worse = measure == Measure::Change && headline.next_job.low < 0.0;
    let (open, why) = match together.bound {
        Sense::AtLeast => (
            if may_be_worse { " or better" } else { " or more" },
            " In some the room's own noise hid the rest.",
        ),
        Sense::AtMost => {
            (if may_be_worse { " or worse" } else { " or less" }, " In some the first result is a bound.")
        }
        Sense::Exact | Sense::Undetermined => ("", ""),
    };
    let next = next_words(measure, &headline.next_job);
    format!("On {on} the average was {average}, {differ}: expect {next}{open} on the next one.{why}")
}

fn one_job(measure: Measure, together: &Together, rows: &[Row]) -> String {
    let Some(entry) = together.entries.first() else { return jobs_words(0) };
    let interval = match entry.rows.as_slice() {
        [only] => rows.get(*only).and_then(interval_of),
        _ => None,
    };
    let places = print::headline_places(interval.as_ref());
    let is_worse = measure == Measure::Change && entry.value.value < 0.0;
    let around = interval.map_or_else(String::new, |interval| {
        let interval = if is_worse { interval.negated() } else { interval };
        format!(" ({})", print::range(&interval, places))
    });
    format!("{} In {}: {}{around}.", jobs_words(1), entry.label, size(measure, entry.value.value, places))
}

fn only_bounds(measure: Measure, together: &Together, mean_db: f64) -> String {
    if together.bound == Sense::Undetermined {
        let on = jobs(together.entries.len());
        return format!("On {on} there are only bounds, from both sides: nothing is determined.");
    }
    let bound = bounded(measure, together.bound, mean_db);
    let why = if together.bound == Sense::AtLeast { " The room's own noise hid the rest." } else { "" };
    match together.entries.as_slice() {
        [only] => format!("{} In {}: {bound}.{why}", jobs_words(1), only.label),
        entries => format!("On {} there are only bounds, on average {bound}.{why}", jobs(entries.len())),
    }
}

/// A bound, rounded to its own side; at least -4 dB better is at most 4 dB worse.
fn bounded(measure: Measure, bound: Sense, value_db: f64) -> String {
    let is_worse = measure == Measure::Change && value_db < 0.0;
    let rounded = match bound {
        Sense::AtLeast => print::rounded_down(value_db),
        _ => print::rounded_up(value_db),
    };
    let side = match (bound == Sense::AtLeast, is_worse) {
        (true, false) | (false, true) => "at least",
        (true, true) | (false, false) => "at most",
    };
    match measure {
        Measure::Level => format!("{side} {rounded} dB"),
        Measure::Change if is_worse => format!("{side} {} dB worse", rounded.trim_start_matches('-')),
        Measure::Change => format!("{side} {rounded} dB better"),
    }
}

/// The numbers in one line, for whoever wants them.
fn numbers(pool: &Pool, result: &Synthesis) -> String {
    let Some(headline) = result.headline else { return String::new() };
    let one = |interval: &Interval| print::range(interval, 1);
    let mut text = format!(
        "Average {} dB ({}); next job {}",
        print::decimals(headline.average_db, 1),
        one(&headline.interval),
        one(&headline.next_job)
    );
    if headline.way == Way::HalfNormal {
        text.push_str(&cautious(pool, result));
    }
    if let Ok(tau_db) = result.tau_db {
        text.push_str(&format!("; jobs differ by {} dB", print::decimals(tau_db, 1)));
        if let Ok(interval) = &result.tau_interval_db {
            text.push_str(&format!(" ({})", one(interval)));
        }
        text.push_str(" beyond their measurement");
    }
    text.push('.');
    text
}

/// What was believed beforehand, what another belief gives, and what none gives.
fn cautious(pool: &Pool, result: &Synthesis) -> String {
    let one = |interval: &Interval| print::range(interval, 1);
    let decibels = |scale_db: f64| print::decimals(scale_db, 0);
    let others: Vec<String> = pool
        .scales
        .iter()
        .map(|few| format!("with {} dB {}", decibels(few.scale_db), one(&few.next_job)))
        .collect();
    let mut text = format!(
        "; beforehand jobs of one kind were taken to differ by up to about {} dB (next job {})",
        decibels(result.few.scale_db),
        others.join(", ")
    );
    if let Ok(by_t) = &result.by_t {
        let (average, next) = (one(&by_t.modified.into()), one(&by_t.next_job.into()));
        text.push_str(&format!("; without that the average {average}, next job {next}"));
    }
    text
}

/// A chance, only from the half-normal way.
fn chance(chance: Chance) -> String {
    let above = print::decimals(chance.above_db, 0);
    let tenths = (chance.chance * 10.0).round();
    let chances = match chance.chance {
        chance if chance >= 0.95 => "More than 19 chances in 20".to_owned(),
        chance if chance < 0.05 => "Less than 1 chance in 20".to_owned(),
        _ if tenths < 1.5 => "About 1 chance in 10".to_owned(),
        _ => format!("About {} chances in 10", print::decimals(tenths, 0)),
    };
    format!("{chances} that the average is above {above} dB.")
}

fn without(together: &Together, result: &Synthesis) -> Vec<String> {
    let Some(headline) = result.headline else { return Vec::new() };
    let moving = result.without.iter().filter(|one| one.moves);
    let said = moving.filter_map(|one| {
        let label = &together.entries.get(one.job)?.label;
        Some(format!(
            "Without {label} the average would be {} instead of {} dB: look at that job.",
            print::decimals(one.mean_db, 1),
            print::decimals(headline.average_db, 1)
        ))
    });
    said.collect()
}

/// The second line, grades A to C.
fn second(pool: &Pool) -> Option<String> {
    let with = pool.with_second.as_ref()?;
    Some(format!("With grade C too: {}", small(&headline(pool.measure, with, &pool.rows))))
}

/// Rebuilds of one class before and after that changed other parts.
fn bundles(pool: &Pool) -> Option<String> {
    let differ = pool.rows.windows(2).any(|pair| pair[0].bundle != pair[1].bundle);
    let one = |row: &Row| {
        let parts =
            if row.bundle.is_empty() { "nothing written down".to_owned() } else { print::list(&row.bundle) };
        format!("{} ({parts})", row.job_label)
    };
    let said: Vec<String> = pool.rows.iter().map(one).collect();
    differ.then(|| format!("These jobs did not change the same parts: {}.", listed(&said, "jobs")))
}

fn masses_unknown(pool: &Pool) -> Option<String> {
    let classes = pool.key.before.iter().chain([&pool.key.after]);
    let unknown = classes.filter_map(|class| class.masses).flatten().any(|mass| mass.is_none());
    unknown.then(|| "The mass of a leaf is not written down: these walls may differ in it.".to_owned())
}

pub(super) fn cost(cost: &PoolCost) -> String {
    let (Some(currency), Some(per_m2), Some(per_ft2)) = (cost.currency, cost.per_m2, cost.per_ft2) else {
        return String::new();
    };
    let money = |value: f64| print::decimals(value, 2);
    let unknown = if cost.unknown.is_empty() {
        String::new()
    } else {
        format!(" (cost or area of {} not known)", listed(&cost.unknown, "jobs"))
    };
    let area = format!(
        "Cost: {} {currency} per m² treated, {} per ft², on {}{unknown}.",
        money(per_m2),
        money(per_ft2),
        jobs(cost.jobs.len())
    );
    let per_db = match &cost.per_db {
        Ok(per_db) => match per_db.range {
            // The dearest that the numbers allow: the bound itself is known no better than its range.
            RatioRange::Bounded(range) if per_db.at_most => format!(
                " Very likely at most {} per m² for each dB, as the reduction is at least what is said.",
                money(range.high)
            ),
            RatioRange::Outside { .. } if per_db.at_most => {
                " What a decibel cost cannot be said: the reduction is too uncertain.".to_owned()
            }
            RatioRange::Bounded(range) => format!(
                " About {} per m² for each dB, likely {} to {}.",
                money(per_db.per_m2_db),
                money(range.low),
                money(range.high)
            ),
            RatioRange::Outside { above: Some(above), .. } => {
                format!(
                    " At least {} per m² for each dB; the reduction is too uncertain for an upper figure.",
                    money(above)
                )
            }
            RatioRange::Outside { .. } | RatioRange::All => {
                " What a decibel cost cannot be said: the reduction is too uncertain.".to_owned()
            }
        },
        Err(NoPerDb::Level) => String::new(),
        Err(why) => format!(" No cost for each dB: {why}."),
    };
    area + &per_db
}

/// Labels or reasons listed before the rest is only counted.
const LISTED: usize = 8;

/// Words joined, the rest of a long list counted.
fn listed(words: &[String], what: &str) -> String {
    if words.len() <= LISTED {
        return print::list(words);
    }
    let more = format!("{} more {what}", words.len() - LISTED);
    let shown: Vec<String> = words.iter().take(LISTED).cloned().chain([more]).collect();
    print::list(&shown)
}

/// How the tests stand, with what was left out and why.
pub(super) fn counted(tests: &Counted, left_out: &[LeftOut]) -> String {
    let mut words = format!(
        "{} of {} planned tests finished, {} left out",
        tests.finished, tests.planned, tests.left_out
    );
    let mut by_reason: Vec<(&str, Vec<String>)> = Vec::new();
    let mut place: BTreeMap<&str, usize> = BTreeMap::new();
    for left in left_out {
        let at = *place.entry(&left.why).or_insert(by_reason.len());
        if at == by_reason.len() {
            by_reason.push((&left.why, Vec::new()));
        }
        by_reason[at].1.extend(left.set_labels.iter().cloned());
    }
    let reasons: Vec<String> =
        by_reason.iter().take(LISTED).map(|(why, sets)| format!("{}: {why}", listed(sets, "sets"))).collect();
    if !reasons.is_empty() {
        words.push_str(&format!(". Sets that do not count: {}", reasons.join("; ")));
    }
    if let Some(more) = by_reason.len().checked_sub(LISTED).filter(|more| *more > 0) {
        words.push_str(&format!("; and others for {more} more reasons"));
    }
    words.push('.');
    words
}

/// What the front says.
pub(super) fn front(front: &Front, pools: &[Pool]) -> String {
    let label = |pool: usize| pools.get(pool).map_or("", |pool| pool.label.as_str());
    let said: Vec<String> = front
        .points
        .iter()
        .map(|point| {
            let (cost, gain) = (print::decimals(point.per_m2, 2), print::decimals(point.average_db, 1));
            let place = match &point.place {
                Place::Step { further_per_db: None } => "the cheapest".to_owned(),
                Place::Step { further_per_db: Some(price) } => {
                    format!("each further dB {} per m²", print::decimals(*price, 2))
                }
                Place::BetterBeyond => "the next step has its decibels cheaper".to_owned(),
                Place::Dominated { by } => {
                    let by: Vec<&str> = by.iter().map(|pool| label(*pool)).collect();
                    format!("dearer and no better than {}", print::list(&by))
                }
                Place::Twin => "as dear and as good as another".to_owned(),
            };
            format!("{}: {cost} per m², {gain} dB on {}, {place}", label(point.pool), jobs(point.jobs))
        })
        .collect();
    format!("{}. Decibels of parts measured apart do not add up.", said.join("; "))
}

/// The level of likeness in words.
pub fn level_words(level: MatchLevel) -> &'static str {
    match level {
        MatchLevel::Same => "all classes, bands and the kind of fill equal",
        MatchLevel::Near => "coupling, masses, filled or not equal; the kind of fill may differ",
        MatchLevel::Family => "coupling equal",
    }
}

/// A value with its bound, for tables.
pub fn value_words(measure: Measure, value: Estimate) -> String {
    let number = match measure {
        Measure::Change => print::signed(value.value, 1),
        Measure::Level => print::decimals(value.value, 1),
    };
    match value.bound {
        Sense::Exact => format!("{number} dB"),
        Sense::AtLeast => format!("at least {number} dB"),
        Sense::AtMost => format!("at most {number} dB"),
        Sense::Undetermined => "not determined".to_owned(),
    }
}

pub(super) fn fill_sentence(measure: Measure, fill: &str, together: &Together, rows: &[Row]) -> String {
    format!("{}: {}", print::capital(fill), headline(measure, together, rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_chances_are_not_made_larger() {
        let said = [0.001, 0.049, 0.05, 0.16, 0.885, 0.949, 0.951].map(|share| {
            let said = chance(Chance { above_db: 0.0, chance: share });
            said.strip_suffix(" that the average is above 0 dB.").unwrap().to_owned()
        });
        let expected = [
            "Less than 1 chance in 20",
            "Less than 1 chance in 20",
            "About 1 chance in 10",
            "About 2 chances in 10",
            "About 9 chances in 10",
            "About 9 chances in 10",
            "More than 19 chances in 20",
        ];
        assert_eq!(said, expected);
    }

    #[test]
    fn a_next_job_that_may_be_worse_is_said_to_be() {
        let said = |low, high| next_words(Measure::Change, &Interval { low, high });
        assert_eq!(said(2.4, 9.1), "2 to 9");
        assert_eq!(said(-5.2, 1.3), "5 dB worse to 1 dB better");
        assert_eq!(said(-5.2, -0.6), "1 to 5 dB worse");
        assert_eq!(next_words(Measure::Level, &Interval { low: -1.0, high: 9.0 }), "-1 to 9");
    }
}
