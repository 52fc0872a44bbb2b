//! The words of an answer. Numbers are rounded here and nowhere else.

use storypole_acoustics::Sense;

use super::answer::{Answer, Average, Pair, Side};
use super::beside::{PairCost, Range};
use super::parse::unread_list;
use super::sides::{bound_words, row_words};
use super::weigh::{Basis, Contrast, Verdict, Why};
use crate::across::Measure;
use crate::bench_rig::NOT_A_RATING;
use crate::budget::Interval;
use crate::print;

/// A chance from which on more than nine in ten is said, and the last that is still nine.
const NEARLY_SURE: f64 = 0.95;

/// A range wider than this either way says nothing of walls, dB. Common practice, no source.
const NO_RANGE_DB: f64 = 20.0;

/// Results of a kind that are listed one by one at most.
const LISTED: usize = 5;

/// A side as a thing jobs are with.
pub(super) fn noun(name: &str) -> String {
    match name {
        "empty" => "an empty cavity".to_owned(),
        "filled" => "a filled cavity".to_owned(),
        "finished" => "a finished wall".to_owned(),
        name if name.starts_with("boarded") => format!("a wall {name}"),
        name => name.to_owned(),
    }
}

/// All sentences, most important first.
pub(super) fn sentences(answer: &Answer) -> Vec<String> {
    let mut said = Vec::new();
    if !answer.question.unread.is_empty() {
        said.push(format!("I could not read: {}.", unread_list(&answer.question.unread)));
    }
    // Against the best first, as the sides stand.
    let place = |side: usize| answer.ranking.iter().position(|one| one.side == side).unwrap_or(usize::MAX);
    let ordered = |pairs: &[Pair]| {
        let mut pairs: Vec<Pair> = pairs.to_vec();
        pairs.sort_by_key(|pair| {
            (place(pair.first).min(place(pair.second)), place(pair.first).max(place(pair.second)))
        });
        pairs
    };
    said.extend(ordered(&answer.pairs).into_iter().map(|pair| pair.sentence));
    // Where houses cannot tell, a rig with nothing else changed may tell more.
    said.extend(answer.bench.iter().map(|bench| bench.sentence.clone()));
    said.extend((!answer.bench.is_empty()).then(|| NOT_A_RATING.to_owned()));
    said.push(compared(answer));
    said.extend(answer.sides.iter().map(side));
    let seconds = ordered(&answer.with_grade_c);
    said.extend(seconds.iter().map(|pair| format!("With tests of grade C: {}", pair.sentence)));
    said.extend(answer.next_step.clone());
    said.extend(shown_apart(answer));
    said.extend(left_out(answer));
    said.extend(ordered(&answer.pairs).iter().filter_map(|pair| pair_cost(pair, &answer.sides)));
    if answer.sides.iter().any(|side| side.published.is_some() || side.predicted.is_some()) {
        said.push("Published ranges and the model are of laboratory walls, not of these houses.".to_owned());
    }
    said.push("Walls were not assigned at random: read jobs with, not because of.".to_owned());
    said
}

/// One pair in a sentence or two.
pub(super) fn pair(pair: &Pair, sides: &[Side], compared: &str) -> String {
    let name = |side: usize| noun(&sides[side].name);
    let (first, second) = (name(pair.first), name(pair.second));
    let Some(contrast) = &pair.difference else {
        let missing: Vec<String> = pair
            .why
            .iter()
            .filter_map(|why| if let Why::Missing { side } = why { Some(side.clone()) } else { None })
            .collect();
        let missing = missing.join(" or with ");
        return format!(
            "{} against {second}: no job with {missing} yet, graded A or B, so nothing can be told.",
            print::capital(&first)
        );
    };
    let (came_out, reasons) =
        (difference(pair, contrast, &first, &second), reasons(pair, contrast, compared));
    // A large difference that is not of the compared parts would be read as the answer if it stood first.
    let misleads = pair.verdict == Verdict::CannotTell
        && contrast.interval.is_some_and(|interval| interval.excludes_zero());
    let mut said = if misleads {
        vec![format!("Cannot tell whether {first} or {second} is better.")]
    } else {
        vec![came_out.clone(), verdict(pair, contrast)]
    };
    said.extend(reasons);
    said.extend(misleads.then_some(came_out));
    said.join(" ")
}

/// What came out, with its interval, no more digits than that bears.
fn difference(pair: &Pair, contrast: &Contrast, first: &str, second: &str) -> String {
    let places = print::headline_places(contrast.interval.as_ref());
    let size = bounded(contrast.value_db, pair.bound, places);
    let of = match contrast.basis {
        Basis::TwoWalls => format!("Of two walls in two houses, the one with {first}"),
        Basis::OneHouse => format!("Of these two walls in one house, the one with {first}"),
        Basis::Houses(houses) => format!("In {houses} houses that have both, on average walls with {first}"),
        Basis::Rebuilds(1) => {
            format!("In one house that was rebuilt from one to the other, the wall with {first}")
        }
        Basis::Rebuilds(houses) => {
            format!("In {houses} houses rebuilt from one to the other, on average walls with {first}")
        }
        _ => format!("On average jobs with {first}"),
    };
    let other = match contrast.basis {
        Basis::TwoWalls | Basis::OneHouse => format!("the one with {second}"),
        Basis::Rebuilds(1) => format!("the one with {second}"),
        Basis::Houses(_) | Basis::Rebuilds(_) => format!("walls with {second}"),
        _ => format!("jobs with {second}"),
    };
    let taken_out = match &contrast.basis {
        Basis::Adjusted(names) => format!(", {} taken out,", print::list(names)),
        _ => String::new(),
    };
    let bound = bound_words(pair.bound);
    let did = if size.bytes().all(|byte| matches!(byte, b'0' | b'.')) && pair.bound == Sense::Exact {
        format!("did about as well as {other}")
    } else {
        format!("did {bound}{size} dB better than {other}")
    };
    let range = contrast
        .interval
        .as_ref()
        .filter(|_| pair.bound != Sense::AtMost)
        .map_or_else(String::new, |interval| could_be(interval, pair.bound, places));
    format!("{of}{taken_out} {did}{range}.")
}

/// A number, or a bound rounded to its own side.
fn bounded(value_db: f64, bound: Sense, places: usize) -> String {
    match bound {
        Sense::AtLeast if places == 0 => print::rounded_down(value_db),
        Sense::AtMost if places == 0 => print::rounded_up(value_db),
        _ => print::decimals(value_db, places),
    }
}

fn could_be(interval: &Interval, bound: Sense, places: usize) -> String {
    if interval.half_width() > NO_RANGE_DB {
        return ", but so few jobs leave that wide open".to_owned();
    }
    let (low, high) = (print::decimals(interval.low.abs(), places), print::decimals(interval.high, places));
    match (interval.excludes_zero(), bound == Sense::AtLeast) {
        (true, false) => format!("; the true figure is very likely between {low} and {high}"),
        (false, false) => format!(", but it could be {low} worse to {high} better"),
        // Of a bound only the lower end means something, and no more than it is may be claimed.
        (true, true) => format!("; very likely at least {}", bounded(interval.low, Sense::AtLeast, places)),
        (false, true) => format!(", but it could be {low} worse"),
    }
}

fn verdict(pair: &Pair, contrast: &Contrast) -> String {
    let chance = contrast.chance_better.map(|chance| {
        if chance >= NEARLY_SURE {
            "over 19 chances in 20".to_owned()
        } else {
            format!("about {} chances in 10", print::decimals((chance * 10.0).floor(), 0))
        }
    });
    match pair.verdict {
        Verdict::ClearlyBetter if matches!(contrast.basis, Basis::OneHouse | Basis::Rebuilds(1)) => {
            "Clearly better, in this house.".to_owned()
        }
        Verdict::ClearlyBetter => "Clearly better.".to_owned(),
        Verdict::ProbablyBetter => {
            let chance = chance.map_or_else(String::new, |chance| format!(": {chance}"));
            format!("Probably better, not settled{chance}.")
        }
        Verdict::CannotTell => "Cannot tell.".to_owned(),
    }
}

/// What a reader has to know beside the verdict; the interval says by itself whether it includes zero.
fn reasons(pair: &Pair, contrast: &Contrast, compared: &str) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    let of = |picks: fn(&Why) -> Option<&'static str>| pair.why.iter().filter_map(picks).collect::<Vec<_>>();
    let inseparable = of(|why| if let Why::CannotSeparate { what } = why { Some(*what) } else { None });
    if !inseparable.is_empty() {
        said.push(format!(
            "Cannot separate {} from {compared}: no job of one side is like any of the other in {}.",
            print::list(&inseparable),
            if inseparable.len() == 1 { "it" } else { "these" }
        ));
    }
    let left_in = of(|why| if let Why::NotTakenOut { what } = why { Some(*what) } else { None });
    if !left_in.is_empty() {
        let differs = if left_in.len() == 1 { "differs" } else { "differ" };
        said.push(format!(
            "{} {differs} too between the sides, and jobs are too few to take that out.",
            print::capital(&print::list(&left_in))
        ));
    }
    for why in &pair.why {
        match why {
            Why::OneJobEach | Why::Bound | Why::NoInterval => {
                said.push(format!("{}.", print::capital(&why.to_string())))
            }
            Why::ManyPairs { .. } => said.push(format!("{}.", print::capital(&why.to_string()))),
            Why::TooSmall { limit_db }
                if contrast.interval.is_some_and(|interval| interval.excludes_zero()) =>
            {
                said.push(format!(
                    "A difference under {} dB is not told apart.",
                    print::decimals(*limit_db, 1)
                ))
            }
            _ => (),
        }
    }
    if contrast.basis == Basis::OneHouse {
        said.push("It is of these two walls, not of all such walls.".to_owned());
    }
    if contrast.basis == Basis::Rebuilds(1) {
        said.push("One job so far. It shows what can happen, not what usually happens.".to_owned());
    }
    said
}

fn compared(answer: &Answer) -> String {
    let what = match answer.measure {
        Measure::Change => "Compared are changes by a rebuild",
        Measure::Level => "Compared are level differences of walls as they stand",
    };
    let chosen = match (answer.question.measure, answer.measure) {
        (Some(_), _) => "",
        (None, Measure::Change) => ", as nothing else was asked for",
        (None, Measure::Level) => ", because more sides have one than have a change",
    };
    let states = match &answer.states {
        (Some(before), Some(after)) => format!(", from {before} to {after}"),
        (Some(before), None) => format!(", {before} before"),
        (None, Some(after)) => format!(", {after}"),
        (None, None) => String::new(),
    };
    let limited = if answer.opening_limited { ", limited by an opening" } else { "" };
    format!("{what} in {}{chosen}{states}{limited}.", answer.question.unit)
}

fn side(side: &Side) -> String {
    let mut said =
        format!("{}: {}", print::capital(&side.name), side.average.as_ref().map_or_else(no_average, average));
    if side.jobs_of_grade_c > 0 {
        said.push_str(&format!("; {} of grade C apart from that", jobs(side.jobs_of_grade_c)));
    }
    let range = |range: &Range| {
        let (low, high) = (print::decimals(range.low_db, 0), print::decimals(range.high_db, 0));
        if low == high { low } else { format!("{low} to {high}") }
    };
    if let Some(published) = &side.published {
        said.push_str(&format!("; published walls like these rate {}", range(published)));
    }
    if let Some(predicted) = &side.predicted {
        said.push_str(&format!("; the model gives {} dB", range(predicted)));
    }
    if let Some(cost) = &side.cost {
        said.push_str(&format!(
            "; {} cost {} {} a square metre, everything of the job counted",
            jobs(cost.jobs),
            print::decimals(cost.per_m2, 2),
            cost.currency
        ));
    }
    said.push('.');
    said
}

fn no_average() -> String {
    "no job graded A or B".to_owned()
}

fn jobs(count: usize) -> String {
    if count == 1 { "one job".to_owned() } else { format!("{count} jobs") }
}

fn average(average: &Average) -> String {
    let places = print::headline_places(average.interval.as_ref());
    let size = bounded(average.value_db, average.bound, places);
    let value = format!("{}{size} dB", bound_words(average.bound));
    if average.bound != Sense::Exact {
        // Above a bound there is no saying how far.
        return format!("{value} over {}, some of them bounds", jobs(average.jobs));
    }
    let range = average
        .interval
        .as_ref()
        .map_or_else(String::new, |interval| format!(" ({})", print::range(interval, places)));
    match average.next_job {
        None => format!("{value}{range} on one job, which shows what can happen, not what usually happens"),
        Some(next) => {
            let next = print::range(&next, print::headline_places(Some(&next)));
            format!("{value}{range} on average over {} jobs; expect {next} on the next one", average.jobs)
        }
    }
}

fn listed(lines: &[String]) -> String {
    match lines.len().saturating_sub(LISTED) {
        0 => lines.join("; "),
        more => format!("{}; and {more} more", lines[..LISTED].join("; ")),
    }
}

fn shown_apart(answer: &Answer) -> Option<String> {
    let lines: Vec<String> =
        answer.shown_apart.iter().map(|shown| format!("{} ({})", row_words(&shown.row), shown.why)).collect();
    (!lines.is_empty()).then(|| format!("Apart from these, not compared: {}.", listed(&lines)))
}

fn left_out(answer: &Answer) -> Option<String> {
    let lines: Vec<String> =
        answer.left_out.iter().map(|out| format!("{} ({})", out.what, out.why)).collect();
    (!lines.is_empty()).then(|| format!("Left out: {}.", listed(&lines)))
}

fn pair_cost(pair: &Pair, sides: &[Side]) -> Option<String> {
    let PairCost { more_per_m2, area_m2, currency, net, u_per_m2 } = pair.cost.as_ref()?;
    let (first, second) = (noun(&sides[pair.first].name), noun(&sides[pair.second].name));
    let more = if *more_per_m2 < 0.0 { "less" } else { "more" };
    let mut said = format!(
        "Jobs with {first} cost {} {currency} a square metre {more} than jobs with {second}.",
        print::decimals(more_per_m2.abs(), 2)
    );
    if let Some(net) = net
        && let Ok(chance) = net.chance_worth_it
    {
        let known = if u_per_m2.is_none() { ", the cost taken as known" } else { "" };
        said.push_str(&format!(
            " For a job of {} m2, by what the notebook says a decibel is worth: about {} chances in 10 that {first} is worth it{known}.",
            print::decimals(*area_m2, 0),
            print::decimals((chance * 10.0).round(), 0),
        ));
    }
    Some(said)
}

pub(super) fn next_missing(sides: &[&str]) -> String {
    let sides: Vec<String> = sides.iter().map(|side| noun(side)).collect();
    let each = if sides.len() > 1 { "each of " } else { "" };
    format!(
        "A job with {each}{}, measured before and after in such a wall, would start the answer.",
        print::list(&sides)
    )
}

/// Where both sides were one wall before and after.
pub(super) const NEXT_REBUILD: &str = "One more such rebuild in another house would tell most.";

pub(super) fn next_separating(first: &str, second: &str, what: &[&str]) -> String {
    format!(
        "One job with {} that is like those with {} in {}, or the other way round, would tell most.",
        noun(first),
        noun(second),
        print::list(what)
    )
}

pub(super) fn next_each(sides: &[&str]) -> String {
    let sides: Vec<String> = sides.iter().map(|side| noun(side)).collect();
    format!("One more job with each of {}, in other houses, would tell most.", print::list(&sides))
}

pub(super) fn next_job(side: &str) -> String {
    format!("One more job with {} in another house would tell most.", noun(side))
}
