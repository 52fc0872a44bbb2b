//! Results in large print: a few words, how sure, and in short lines what held, what it cost and what it does not show.
//!
//! The words say no more than the numbers bear: a bound is rounded to its own side, and what may not be claimed is not called a
//! change. Leaves out how a card is drawn.

use std::collections::BTreeSet;
use storypole_findings::quantity::{QuantityChange, QuantityClaim, QuantityFinding};

use storypole_findings::bench_rig::{BenchPair, NOT_A_RATING};
use storypole_findings::question::{Pair, Verdict};
use storypole_findings::{BenchFinding, Change, Claim, Interval, Sense, TestFinding, print};
use storypole_journal::RecordId;
use storypole_ledger::chain_money;

use crate::document::Headline;
use crate::figures::{Figures, Of};
use crate::scope::Scope;
use crate::sections::numbers::ends;
use crate::sections::shown_places;
use crate::sections::{house_count, houses, jobs_between};

mod held;

use held::conditions;

/// Most letters of a short line. Convention of this project.
const LINE: usize = 90;
/// Most letters of a title: a question stands whole. Convention of this project.
const TITLE: usize = 240;
/// Most letters of what stands in large print.
const BIG: usize = 40;

/// The words for a result that stands on nothing but itself.
const CANNOT_TELL: &str = "Cannot tell";
const ONE_STATE: &str = "One state so far";
const NO_CLAIM: &str = "No change to claim";
const ONE_POSITION: &str = "One position: there is no telling how far off this is.";

/// Every answer: of a comparison its pairs, then the jobs' own changes, then the tests.
pub(crate) fn headlines(scope: &Scope<'_>, figures: &Figures) -> Vec<Headline> {
    let mut found: Vec<Headline> = Vec::new();
    if let Some(answer) = &scope.answer {
        found.extend(answer.pairs.iter().map(|pair| of_pair(scope, figures, pair)));
    }
    found.extend(scope.headlines().into_iter().map(|change| of_change(scope, figures, change)));
    for test in &scope.tests {
        if let Some(bench) = &test.bench {
            found.push(of_bench(scope, figures, test, bench));
        } else if let Some(quantity) = &test.quantity {
            found.extend(
                quantity.headline().map(|change| of_quantity(scope, figures, test, quantity, change)),
            );
        }
    }
    if found.is_empty() {
        found.push(one_state(scope, figures));
    }
    found
}

/// Whole texts, each in one line: a limit is never cut.
fn whole(texts: Vec<String>) -> Vec<String> {
    texts.into_iter().map(|text| text.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

/// A text cut at a word, so that it fits a short line.
pub(crate) fn short(text: &str, most: usize) -> String {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.chars().count() <= most {
        return text;
    }
    let cut: String = text.chars().take(most.saturating_sub(1)).collect();
    let whole = cut.rsplit_once(' ').map_or(cut.as_str(), |(whole, _)| whole);
    format!("{}…", whole.trim_end_matches([',', ';', ':', '.']))
}

fn lines(lines: Vec<String>) -> Vec<String> {
    lines.into_iter().map(|line| short(&line, LINE)).collect()
}

fn of_change(scope: &Scope<'_>, figures: &Figures, change: &Change) -> Headline {
    let test = scope.test_of(change.to.set);
    let (big, range) = change_words(change);
    let is_single = change.runs.is_none() && change.compared_on.len() == 1;
    let mut sentence = change.sentence.clone();
    if is_single && !sentence.contains("no telling") {
        sentence = format!("{sentence} {ONE_POSITION}");
    }
    Headline {
        label: of_sets(change),
        title: done(scope, change),
        big,
        range,
        sentence,
        grade: change.grade.letter.to_string().chars().next(),
        claimed: change.claim.holds(),
        figure: figures.name_of(Of::Change(change.from.set, change.to.set), test.map(|test| test.test)),
        conditions: lines(conditions(scope, test.map(|test| test.test), &[change.from.set, change.to.set])),
        cost: lines(cost(scope, &jobs_between(scope, change))),
        limits: whole(limits(scope, change, is_single)),
    }
}

fn title(question: Option<&str>, otherwise: &str) -> String {
    let question = question.map(str::trim).filter(|question| !question.is_empty());
    short(question.unwrap_or(otherwise), TITLE)
}

/// The sets and which way the sound went: `T01 to T05, music-practice room to hall`.
fn of_sets(change: &Change) -> String {
    let sets = format!("{} to {}", change.from.label, change.to.label);
    let way = &change.direction.words;
    if way.is_empty() { sets } else { short(&format!("{sets}, {way}"), LINE) }
}

/// The parts that changed, in words that need no drawing.
pub(crate) fn changed_parts(change: &Change) -> Vec<&str> {
    let mut parts: Vec<&str> = Vec::new();
    for part in &change.bundle {
        let word = match part.part {
            "leaf A" | "leaf B" => "boards",
            "cavity" => "fill",
            other => other,
        };
        if !parts.contains(&word) {
            parts.push(word);
        }
    }
    parts
}

/// What was done, in a short line: the titles of the jobs between the two sets, or else the parts that changed.
fn done(scope: &Scope<'_>, change: &Change) -> String {
    let titles =
        jobs_between(scope, change).into_iter().filter_map(|job| scope.book.jobs.get(job)?.title.clone());
    let titles: Vec<String> = titles.filter(|title| !title.trim().is_empty()).collect();
    if titles.is_empty() { changed(change) } else { short(&titles.join("; "), TITLE) }
}

/// The parts that changed, in a short line.
fn changed(change: &Change) -> String {
    let parts = changed_parts(change);
    if parts.is_empty() {
        return "Nothing changed that is written down".to_owned();
    }
    short(&format!("{} changed", print::capital(&print::list(&parts))), LINE)
}

/// What stands large, and how sure it is.
fn change_words(change: &Change) -> (String, Option<String>) {
    let Some(value) = change.value else { return (CANNOT_TELL.to_owned(), None) };
    let interval = change.interval.as_ref();
    let places = print::headline_places(interval);
    let range = |interval: &Interval, places| format!("{} dB", print::range(interval, places));
    match &change.claim {
        Claim::Claimed => {
            let (side, turned) = if value.value < 0.0 {
                ("louder", interval.map(|interval| interval.negated()))
            } else {
                ("quieter", interval.copied())
            };
            let big = format!("{} dB {side}", print::decimals(value.value.abs(), places));
            (big, turned.map(|interval| range(&interval, places)))
        }
        Claim::AtLeast => {
            let end = interval.map_or(value.value, |interval| interval.low);
            let big = match least(end) {
                Some(size) => format!("At least {size} dB quieter"),
                None => "Quieter, how much is hidden".to_owned(),
            };
            (big, interval.map(|interval| format!("over {} dB", print::decimals(interval.low, 1))))
        }
        Claim::AtMost => {
            let end = interval.map_or(value.value, |interval| interval.high);
            let big = match least(-end) {
                Some(size) if value.value <= -change.limit_db => format!("At least {size} dB louder"),
                _ if end <= 0.0 => "No quieter".to_owned(),
                _ => format!("At most {} dB quieter", print::rounded_up(end)),
            };
            (big, interval.map(|interval| format!("under {} dB", print::decimals(interval.high, 1))))
        }
        Claim::NoClaim(_) => {
            let range = interval.filter(|_| value.bound == Sense::Exact).map(|interval| range(interval, 1));
            (NO_CLAIM.to_owned(), range)
        }
        Claim::Undetermined => (CANNOT_TELL.to_owned(), None),
    }
}

/// A size that is surely reached, rounded down; `None` where nothing is left of it.
fn least(size_db: f64) -> Option<String> {
    match size_db {
        size_db if size_db < 0.1 - 1e-9 => None,
        size_db if size_db < 1.0 => Some(print::decimals(((size_db + 1e-9) * 10.0).floor() / 10.0, 1)),
        _ => Some(print::rounded_down(size_db)),
    }
}

/// What a change does not show, the weightiest first.
fn limits(scope: &Scope<'_>, change: &Change, is_single: bool) -> Vec<String> {
    let mut limits = Vec::new();
    let mut add = |applies: bool, text: &str| limits.extend(applies.then(|| text.to_owned()));
    add(is_single, ONE_POSITION);
    add(
        true,
        if scope.answer.is_some() && house_count(scope) != Some(1) {
            "One house of several, informal, not a laboratory rating."
        } else {
            "One house, informal, not a laboratory rating."
        },
    );
    add(matches!(change.claim, Claim::AtLeast), "The room's own noise hid the rest.");
    add(change.receive_only, "Change of the receive level only: the source was not measured each time.");
    add(change.is_apart(), "An opening lets most of the sound through: not comparable with closed walls.");
    add(change.bundle.len() > 1, "Several parts changed together: the result is of all of them.");
    add(change.open_studs, "Studs were showing: the result is of wall and room together.");
    if let Claim::NoClaim(reasons) = &change.claim {
        limits.extend(reasons.iter().map(|reason| format!("No claim: {reason}.")));
    }
    limits.push("It is of these two rooms and this test sound, not of the wall alone.".to_owned());
    limits
}

/// What jobs cost together, and what that includes.
fn cost(scope: &Scope<'_>, jobs: &[RecordId]) -> Vec<String> {
    if !scope.has_costs() {
        return Vec::new();
    }
    let total = chain_money(scope.book, jobs).total;
    if jobs.is_empty() || total.amount.is_zero() {
        return vec!["No cost is written down.".to_owned()];
    }
    let names: Vec<String> = jobs.iter().map(|job| scope.job_label(Some(*job))).collect();
    let counted = scope.book.notebooks.live().find_map(|settings| settings.own_labour_counted) != Some(false);
    let labour = if counted {
        "In: goods with tax, fees, hours written down."
    } else {
        "In: goods with tax and fees; own hours not counted."
    };
    vec![
        format!("{}: {total}", names.join(" + ")),
        labour.to_owned(),
        "Out: markup, and tools already owned.".to_owned(),
    ]
}

fn of_bench(scope: &Scope<'_>, figures: &Figures, test: &TestFinding, bench: &BenchFinding) -> Headline {
    let (big, range, claimed) = bench_words(bench);
    let is_of_states = |sentence: &&String| sentence.as_str() != NOT_A_RATING;
    let said: Vec<&str> = bench.sentences.iter().filter(is_of_states).map(String::as_str).collect();
    let sets: Vec<RecordId> = bench.rows.iter().map(|row| row.set).collect();
    let jobs: BTreeSet<RecordId> =
        scope.sets().filter(|set| sets.contains(&set.set)).filter_map(|set| set.job).collect();
    let jobs: Vec<RecordId> = jobs.into_iter().collect();
    Headline {
        label: test.label.clone(),
        title: title(Some(&test.question), &test.label),
        big,
        range,
        sentence: if said.is_empty() { test.question.clone() } else { said.join(" ") },
        grade: None,
        claimed,
        figure: figures.name_of(Of::Test(test.test), None),
        conditions: lines(conditions(scope, Some(test.test), &sets)),
        cost: lines(cost(scope, &jobs)),
        limits: whole(vec![
            "A small panel on a bench: not a laboratory result.".to_owned(),
            "It says nothing of what a wall in a house will do.".to_owned(),
        ]),
    }
}

/// What stands large for a bench rig, how far its furthest states lie apart, and whether any can be told apart: of fills, where
/// there are two or more, else of all states.
fn bench_words(bench: &BenchFinding) -> (String, Option<String>, bool) {
    let fill = |index: usize| bench.rows.get(index).map(|row| row.fill.as_str());
    let is_fill = |index: usize| !matches!(fill(index), None | Some("empty" | "unknown"));
    let are_fills = |pair: &&BenchPair| {
        is_fill(pair.first) && is_fill(pair.second) && fill(pair.first) != fill(pair.second)
    };
    let of_fills: Vec<&BenchPair> = bench.pairs.iter().filter(are_fills).collect();
    let (what, pairs) =
        if of_fills.is_empty() { ("States", bench.pairs.iter().collect()) } else { ("Fills", of_fills) };
    let apart = pairs.iter().filter(|pair| pair.apart.told_apart).count();
    let big = match (pairs.len(), apart) {
        (0, _) => ONE_STATE.to_owned(),
        (_, 0) => format!("{what} cannot be told apart"),
        (1, _) => format!("{what} can be told apart"),
        (all, apart) => format!("{apart} of {all} pairs told apart"),
    };
    let size = |pair: &BenchPair| pair.apart.difference_db.abs();
    let furthest = pairs.into_iter().max_by(|one, other| size(one).total_cmp(&size(other)));
    let range = furthest.and_then(|pair| {
        let interval = pair.apart.interval?;
        let interval = if pair.apart.difference_db < 0.0 { interval.negated() } else { interval };
        Some(format!("{} dB between the furthest two", print::range(&interval, 1)))
    });
    (big, range, apart > 0)
}

fn of_quantity(
    scope: &Scope<'_>,
    figures: &Figures,
    test: &TestFinding,
    quantity: &QuantityFinding,
    change: &QuantityChange,
) -> Headline {
    let places = shown_places(change.interval.as_ref(), change.unit);
    let unit = if change.unit.is_empty() { String::new() } else { format!(" {}", change.unit) };
    let (big, range) = match (&change.claim, change.value) {
        (QuantityClaim::Undetermined, _) | (_, None) => (CANNOT_TELL.to_owned(), None),
        (QuantityClaim::Claimed, Some(value)) => {
            (format!("{} {}{unit}", print::capital(&change.name), print::signed(value, places)), Some(()))
        }
        (QuantityClaim::NoClaim(_), Some(_)) => (NO_CLAIM.to_owned(), Some(())),
    };
    let range = range
        .and(change.interval.as_ref())
        .map(|interval| format!("{}{unit}", print::range(interval, places)));
    let mut limits = vec!["One house, informal: moments, not a season.".to_owned()];
    limits.extend(match &change.claim {
        QuantityClaim::NoClaim(doubts) => doubts.iter().map(|doubt| format!("No claim: {doubt}.")).collect(),
        QuantityClaim::Claimed | QuantityClaim::Undetermined => Vec::new(),
    });
    limits.extend(quantity.cautions.iter().cloned());
    let jobs: Vec<RecordId> = change.to.job.into_iter().collect();
    Headline {
        label: format!("{} to {}", change.from.label, change.to.label),
        title: title(Some(&test.question), &test.label),
        big: short(&big, BIG),
        range,
        sentence: quantity.sentences.first().cloned().unwrap_or_else(|| change.sentence.clone()),
        grade: change.grade.letter.to_string().chars().next(),
        claimed: change.claim == QuantityClaim::Claimed,
        figure: figures.name_of(Of::Test(test.test), None),
        conditions: lines(conditions(scope, Some(test.test), &[change.from.set, change.to.set])),
        cost: lines(cost(scope, &jobs)),
        limits: whole(limits),
    }
}

fn of_pair(scope: &Scope<'_>, figures: &Figures, pair: &Pair) -> Headline {
    let sides = scope.answer.iter().flat_map(|answer| &answer.sides);
    let names: Vec<String> = sides.map(|side| side.name.clone()).collect();
    let name = |side: usize| names.get(side).cloned().unwrap_or_default();
    let big = match pair.verdict {
        Verdict::ClearlyBetter => format!("{}: clearly better", print::capital(&name(pair.first))),
        Verdict::ProbablyBetter => format!("{}: probably better", print::capital(&name(pair.first))),
        Verdict::CannotTell => CANNOT_TELL.to_owned(),
    };
    let mut limits: Vec<String> =
        pair.why.iter().map(|why| format!("{}.", print::capital(&why.to_string()))).collect();
    limits.push("Jobs with one set beside jobs with the other: with, not because of.".to_owned());
    limits.push(houses(scope));
    let cost = pair.cost.as_ref().map(|cost| {
        format!(
            "{} {} more for each m2 than {}",
            print::decimals(cost.more_per_m2, 2),
            cost.currency.code(),
            name(pair.second)
        )
    });
    Headline {
        label: format!("{} and {}", name(pair.first), name(pair.second)),
        title: short(&scope.label, LINE),
        big: short(&big, BIG),
        range: pair
            .interval()
            .filter(|_| pair.bound != Sense::Undetermined)
            // What cannot be told for another reason than its spread has a range that would say the contrary.
            .filter(|interval| {
                pair.verdict != Verdict::CannotTell || (interval.low <= 0.0 && interval.high >= 0.0)
            })
            .map(|interval| format!("{} dB", ends(Some(&interval), pair.bound))),
        sentence: pair.sentence.clone(),
        grade: None,
        claimed: pair.verdict != Verdict::CannotTell,
        figure: figures.name_of(Of::All, None),
        conditions: Vec::new(),
        cost: lines(cost.into_iter().collect()),
        limits: whole(limits),
    }
}

/// Nothing to compare with yet: the first set's level difference, or that there is one state.
fn one_state(scope: &Scope<'_>, figures: &Figures) -> Headline {
    let set = scope.sets().find(|set| set.is_in() && set.level_difference.is_some());
    let test = scope.tests.first();
    let mut conditions_of = Vec::new();
    if let Some(set) = set {
        conditions_of = lines(conditions(scope, set.test, &[set.set]));
    }
    Headline {
        label: set.map_or_else(|| scope.label.clone(), |set| set.label.clone()),
        title: title(test.map(|test| test.question.as_str()), &scope.label),
        big: ONE_STATE.to_owned(),
        range: None,
        sentence: set.map_or_else(
            || "Measured in one state only so far: there is nothing to compare with yet.".to_owned(),
            |set| set.sentence.clone(),
        ),
        grade: None,
        claimed: false,
        figure: figures.name_of(Of::All, test.map(|test| test.test)),
        conditions: conditions_of,
        cost: Vec::new(),
        limits: whole(vec![
            "There is nothing to compare with yet.".to_owned(),
            "One house, informal, not a laboratory rating.".to_owned(),
        ]),
    }
}

#[cfg(test)]
mod tests;
