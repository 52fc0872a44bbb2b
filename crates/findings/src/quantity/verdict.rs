//! A difference of two states made a change: how sure, whether it may be claimed, how good the comparison was, and in words.

use super::frame::{Difference, Manner};
use super::scatter::Joined;
use super::{Doubt, Odd, Oddity, QuantityChange, QuantityClaim, QuantityFinding, State};
use crate::budget::Interval;
use crate::change::SetRef;
use crate::flags::Effect;
use crate::grade::{self, ConditionProblems, Cover, Criterion, Design, Grade, Letter};
use crate::set_finding::SetFinding;
use crate::{print, rules};

/// What is known of a pair of states beside their numbers.
pub(super) struct Around {
    pub(super) from: SetRef,
    pub(super) to: SetRef,
    pub(super) again: bool,
    pub(super) repeats_sd: Option<f64>,
    pub(super) drift: Option<f64>,
    /// Whether measuring the first state again would be a check.
    pub(super) drift_counts: bool,
    pub(super) problems: ConditionProblems,
    /// Whether any condition was noted.
    pub(super) noted: bool,
}

pub(super) fn set_ref(set: &SetFinding) -> SetRef {
    SetRef {
        set: set.set,
        label: set.label.clone(),
        assembly: set.assembly,
        assembly_label: set.assembly_label.clone(),
        job: set.job,
    }
}

/// Joins the terms, decides the claim, grades and words a change.
pub(super) fn change(difference: Difference, states: (&State, &State), around: &Around) -> QuantityChange {
    let joined = difference.parts.as_deref().and_then(Joined::of);
    let interval = joined.as_ref().zip(difference.value).and_then(|(joined, value)| joined.interval(value));
    let ln = difference.ln_ratio.as_ref();
    let ln_joined = ln.and_then(|(_, parts)| Joined::of(parts.as_deref()?));
    let relative_interval = ln.zip(ln_joined.as_ref()).and_then(|((ln, _), joined)| {
        let ends = joined.interval(*ln)?;
        Some(Interval { low: percent(ends.low)?, high: percent(ends.high)? })
    });
    let limit = around.repeats_sd.map(|sd| rules::REPEAT_FACTOR * sd).filter(|_| !around.again);
    let in_percent = difference.manner.in_percent;
    let deciding = if in_percent { relative_interval } else { interval };
    let mut change = QuantityChange {
        unit: difference.unit,
        from: around.from.clone(),
        to: around.to.clone(),
        again: around.again,
        before: difference.before,
        after: difference.after,
        value: difference.value,
        absent: difference.absent,
        u: joined.as_ref().map(|joined| joined.u),
        dof: joined.as_ref().and_then(|joined| joined.dof),
        interval,
        relative_percent: ln.and_then(|(ln, _)| percent(*ln)),
        relative_interval,
        shares: if in_percent { ln_joined } else { joined }.map_or_else(Vec::new, |joined| joined.shares),
        count: difference.count,
        paired: difference.paired,
        shared: difference.shared.clone(),
        left_off: difference.left_off.clone(),
        limit,
        claim: claim(&difference, deciding.as_ref(), limit, states),
        grade: graded(&difference, states, around, interval.as_ref()),
        notes: notes(&difference),
        name: difference.name,
        sentence: String::new(),
    };
    change.sentence = match change.value {
        Some(value) => sentence(&change, value, &difference.lead, difference.manner),
        None => no_number(&change, states),
    };
    change
}

/// A logarithm of a ratio as percent of change; `None` where it is too large to be written.
fn percent(ln: f64) -> Option<f64> {
    Some(100.0 * ln.exp_m1()).filter(|percent| percent.is_finite())
}

fn flags_of<'a>(states: (&'a State, &'a State)) -> impl Iterator<Item = &'a Odd> {
    states.0.flags.iter().chain(&states.1.flags)
}

fn claim(
    difference: &Difference,
    interval: Option<&Interval>,
    limit: Option<f64>,
    states: (&State, &State),
) -> QuantityClaim {
    let Some(value) = difference.value else { return QuantityClaim::Undetermined };
    let mut doubts = Vec::new();
    match interval {
        None => doubts.push(Doubt::NoInterval),
        Some(interval) if !interval.excludes_zero() => doubts.push(Doubt::IncludesZero),
        Some(_) => (),
    }
    if let Some(limit) = limit.filter(|limit| value.abs() < *limit) {
        doubts.push(Doubt::WithinRepeats { limit, unit: difference.unit });
    }
    // What a person has looked at and let in waits no longer.
    let waiting = [states.0, states.1].into_iter().filter(|state| !state.included);
    let mut checks: Vec<Oddity> = waiting
        .flat_map(|state| state.flags.iter().map(|odd| odd.flag))
        .filter(|flag| flag.effect() == Effect::Check)
        .collect();
    checks.sort();
    checks.dedup();
    doubts.extend(checks.into_iter().filter_map(|flag| match flag {
        Oddity::DatesOdd => Some(Doubt::DatesOdd),
        Oddity::OtherSky => Some(Doubt::OtherSky),
        Oddity::RunNotEnded => Some(Doubt::RunNotEnded),
        _ => None,
    }));
    if doubts.is_empty() { QuantityClaim::Claimed } else { QuantityClaim::NoClaim(doubts) }
}

fn graded(
    difference: &Difference,
    states: (&State, &State),
    around: &Around,
    interval: Option<&Interval>,
) -> Grade {
    let mut graded = Grade { letter: Letter::A, criteria: Vec::new() };
    for row in design_rows(difference, around) {
        graded.cap(row.name, row.letter, row.why);
    }
    if around.drift_counts {
        let row = drift(difference, around.drift, interval);
        graded.cap(row.name, row.letter, row.why);
    }
    let mut names: Vec<(&'static str, &str)> = flags_of(states)
        .filter(|odd| odd.flag.effect() != Effect::Note)
        .map(|odd| (odd.flag.name(), odd.words.as_str()))
        .collect();
    names.dedup();
    for (name, words) in names {
        graded.cap(name, Letter::C, words);
    }
    if difference.value.is_none() {
        graded.cap("result", Letter::D, "no comparison");
    }
    graded
}

/// The rows of a grade that make sense for any quantity: background and cover are about sound, and its limits for drift are
/// decibels.
fn design_rows(difference: &Difference, around: &Around) -> Vec<Criterion> {
    let graded = grade::grade(&Design {
        positions: difference.count,
        replicates: difference.replicates.unwrap_or(1),
        margin_db: None,
        conditions: around.problems,
        cover: (Cover::Covered, Cover::Covered),
        drift: None,
    });
    let mut rows = graded.criteria;
    rows.retain(|row| match row.name {
        "positions" | "conditions" => true,
        "replicates" => difference.replicates.is_some(),
        _ => false,
    });
    for row in &mut rows {
        if row.name != "conditions" {
            row.why = row.why.replace("position", difference.manner.of);
        } else if !around.noted {
            "no conditions were noted".clone_into(&mut row.why);
        }
    }
    rows
}

/// The first state measured again: good where it lies within what the uncertainty allows, bad where it is as large as the change.
/// Convention of this project.
fn drift(difference: &Difference, drift: Option<f64>, interval: Option<&Interval>) -> Criterion {
    let Some(drift) = drift else {
        let why = "the first state was not measured again".to_owned();
        return Criterion { name: "drift", letter: Letter::B, why };
    };
    let allowed = interval.map_or(0.0, Interval::half_width);
    let letter = if drift.abs() <= allowed {
        Letter::A
    } else if difference.value.is_some_and(|value| drift.abs() < value.abs()) {
        Letter::C
    } else {
        Letter::D
    };
    let places = places(Some(drift.abs()), difference.manner.places);
    let why = format!("first state again: {} apart", with_unit(drift.abs(), places, difference.unit));
    Criterion { name: "drift", letter, why }
}

fn notes(difference: &Difference) -> Vec<String> {
    let mut notes = difference.notes.clone();
    if !difference.left_off.is_empty() && difference.value.is_some() {
        notes.push(format!(
            "Compared on {}; {} was not read in both.",
            print::list(&difference.shared),
            print::list(&difference.left_off)
        ));
    }
    if difference.value.is_some()
        && !difference.paired
        && difference.manner.of == "spot"
        && difference.count > 1
    {
        notes.push(
            "The spots were not named alike, so means are compared and not pairs: name them to see smaller changes."
                .to_owned(),
        );
    }
    notes
}

/// Returns the decimals of a number known to ± `half`: one digit of that, two where it starts with a 1.
///
/// # Units and shape
/// `half`: half of its interval, in the unit it is printed in; `otherwise` where there is none. From 0 to 6.
///
/// # Source
/// GUM clause 7.2.6: two digits of an uncertainty at most. One, or two where it starts with a 1, is this project's convention.
pub fn places(half: Option<f64>, otherwise: usize) -> usize {
    let Some(half) = half.filter(|half| half.is_finite() && *half > 0.0) else { return otherwise };
    let exponent = half.log10().floor();
    let leading = half / 10f64.powf(exponent);
    let places = if leading < 2.0 { 1.0 - exponent } else { -exponent };
    places.clamp(0.0, 6.0) as usize
}

pub(super) fn with_unit(value: f64, places: usize, unit: &str) -> String {
    let number = print::decimals(value, places);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// Why two states are not compared: the reason of the state that lacks the number, where one does.
fn no_number(change: &QuantityChange, (before, after): (&State, &State)) -> String {
    let of_states = [before, after]
        .into_iter()
        .filter_map(|state| Some((state.label.as_str(), state.values.first()?.absent?.to_string())));
    let mut reasons = by_words(of_states);
    if reasons.is_empty() {
        reasons.extend(change.absent.map(|absent| absent.to_string()));
    }
    format!(
        "No comparison of {} and {} by {}. {}.",
        change.from.label,
        change.to.label,
        change.name,
        print::capital(&reasons.join("; "))
    )
}

/// What is said of several states alike, said once: `S1 and S2: the wind`.
fn by_words<'a>(said: impl Iterator<Item = (&'a str, String)>) -> Vec<String> {
    let mut labels: Vec<(String, Vec<&str>)> = Vec::new();
    for (label, words) in said {
        match labels.iter_mut().find(|(known, _)| *known == words) {
            Some((_, labels)) => labels.push(label),
            None => labels.push((words, vec![label])),
        }
    }
    labels.into_iter().map(|(words, labels)| format!("{}: {words}", print::list(&labels))).collect()
}

fn sentence(change: &QuantityChange, value: f64, lead: &str, manner: Manner) -> String {
    let (size, interval, unit) = match (manner.in_percent, change.relative_percent) {
        (true, Some(percent)) => (percent, change.relative_interval, "%"),
        _ => (value, change.interval, change.unit),
    };
    let places = places(interval.as_ref().map(Interval::half_width), manner.places);
    let verdict = match &change.claim {
        QuantityClaim::Claimed => {
            let word = if size < 0.0 { manner.less } else { manner.more };
            let range = interval.map_or_else(String::new, |interval| {
                let interval = if size < 0.0 { interval.negated() } else { interval };
                format!(", very likely between {}", between(&interval, places, unit))
            });
            format!(": about {} {word}{range}.", with_unit(size.abs(), places, unit))
        }
        QuantityClaim::NoClaim(doubts) => no_claim(change, doubts, manner, interval.as_ref(), unit),
        QuantityClaim::Undetermined => ".".to_owned(),
    };
    // With nothing but their scatter, t(0.975; 3)/√4 by t(0.975; 1)/√2 is 0.177; what else counts is not cut by spots.
    let two = match change.shares.len() {
        _ if !change.paired || change.count != 2 || interval.is_none() => "",
        1 => " Two spots cannot do better; two more would cut that range to about a fifth.",
        _ => " Two spots cannot do better; two more would cut that range.",
    };
    let again = if change.again { "Measured again. " } else { "" };
    format!("{again}{lead}{verdict}{two}")
}

fn no_claim(
    change: &QuantityChange,
    doubts: &[Doubt],
    manner: Manner,
    interval: Option<&Interval>,
    unit: &str,
) -> String {
    let others: Vec<String> = doubts
        .iter()
        .filter(|doubt| !matches!(doubt, Doubt::IncludesZero | Doubt::NoInterval))
        .map(doubt_words)
        .collect();
    let why = if others.is_empty() { String::new() } else { format!(" ({})", print::list(&others)) };
    match interval {
        None if change.count == 1 => {
            format!(". With one {} there is no telling how far off that is: no claim{why}.", manner.of)
        }
        None => format!(". No claim{why}: nothing tells how far off that is."),
        Some(interval) if doubts.contains(&Doubt::IncludesZero) => {
            let missed = interval.low.abs().max(interval.high.abs());
            let missed = with_unit(missed, places(Some(interval.half_width()), manner.places), unit);
            format!(": no change that can be claimed{why}; one up to about {missed} could have been missed.")
        }
        Some(interval) => {
            let places = places(Some(interval.half_width()), manner.places);
            format!(": the change lies between {}, and is not claimed{why}.", between(interval, places, unit))
        }
    }
}

fn doubt_words(doubt: &Doubt) -> String {
    match doubt {
        Doubt::WithinRepeats { limit, unit } => {
            let limit = with_unit(*limit, places(Some(*limit), 1), unit);
            format!("under three times the spread of repeats, {limit}")
        }
        doubt => doubt.to_string(),
    }
}

fn between(interval: &Interval, places: usize, unit: &str) -> String {
    let high = with_unit(interval.high, places, unit);
    format!("{} and {high}", print::decimals(interval.low, places))
}

/// The answer of a test in sentences.
pub(super) fn sentences(finding: &QuantityFinding, over_all: Vec<String>) -> Vec<String> {
    let [first, rest @ ..] = finding.states.as_slice() else {
        return vec!["No readings in results.".to_owned()];
    };
    let mut said = Vec::new();
    match finding.headline() {
        Some(headline) => {
            let answers = finding
                .changes
                .iter()
                .filter(|change| change.from.set == headline.from.set && change.to.set == headline.to.set);
            said.extend(answers.map(|change| change.sentence.clone()));
        }
        None if rest.is_empty() => {
            said.push("One state only: nothing to compare with yet.".to_owned());
            said.extend(first.values.iter().map(one_state));
        }
        None if finding.beside.iter().all(|beside| beside.after.is_none()) => {
            said.push("The two states have no quantity in common.".to_owned());
        }
        None => (),
    }
    said.extend(over_all);
    said.extend(finding.beside.iter().map(|beside| beside.sentence.clone()));
    let odd =
        finding.states.iter().flat_map(|state| state.flags.iter().map(|odd| (state.label.as_str(), odd)));
    let odd = odd.filter(|(_, odd)| odd.flag.effect() != Effect::Note);
    let odd = by_words(odd.map(|(label, odd)| (label, odd.words.clone())));
    if !odd.is_empty() {
        said.push(format!("Look at: {}.", odd.join("; ")));
    }
    said
}

fn one_state(value: &super::Measured) -> String {
    let Some(number) = value.value else {
        let why = value.absent.map_or_else(|| "no number".to_owned(), |absent| absent.to_string());
        return format!("No {}: {why}.", value.name);
    };
    let places = places(value.interval.as_ref().map(Interval::half_width), 2);
    let range = value.interval.as_ref().map_or_else(String::new, |interval| {
        format!(", very likely between {}", between(interval, places, value.unit))
    });
    format!("{}: {}{range}.", print::capital(&value.name), with_unit(number, places, value.unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_follow_the_uncertainty() {
        // GUM clause 7.2.6 asks for two digits at most; one, or two where it starts with a 1, is this project's convention.
        for (half, expected) in [
            (Some(0.054), 2),
            (Some(0.15), 2),
            (Some(0.2), 1),
            (Some(1.5), 1),
            (Some(2.5), 0),
            (Some(25.0), 0),
            (Some(0.0), 3),
            (None, 3),
        ] {
            assert_eq!(places(half, 3), expected, "{half:?}");
        }
    }
}
