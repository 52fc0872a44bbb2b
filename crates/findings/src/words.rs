//! Findings in plain sentences: what a person without statistics reads.
//!
//! Leaves out tables and charts. Never names a weighted difference like a rating, and never says more than the numbers do.

use storypole_acoustics::Sense;
use storypole_notebook::Unit;

use crate::change::{Change, Claim, Dominant, NoClaim, OddPosition};
use crate::flags::Flag;
use crate::paths::KEEP_OPEN;
use crate::set_finding::{Absent, Estimate, SetFinding};
use crate::{print, rules};

/// What a set shows.
pub(crate) fn set(finding: &SetFinding) -> String {
    let Some(difference) = finding.level_difference else {
        let why = finding.absent.unwrap_or(Absent::NoReadings);
        return match why {
            Absent::OtherQuantity => {
                format!("{}: not a level test; its numbers stand with its test.", finding.label)
            }
            why => format!("{}: no level difference, {why}.", finding.label),
        };
    };
    let value = print::decimals(difference.value, 1);
    let out = if finding.is_in() {
        String::new()
    } else {
        format!(" Out of results: {}.", finding.excluded.join("; "))
    };
    if let Some(runs) = &finding.runs {
        let spread = runs.sd_db.map_or_else(
            || "one run, so there is no telling how far off it is".to_owned(),
            |sd| format!("{} runs, spread {} dB", runs.values_db.len(), print::decimals(sd, 2)),
        );
        return format!(
            "{}: {value} dB on the bench rig ({spread}). A small panel, not a laboratory result.{out}",
            finding.label
        );
    }
    let mut beside: Vec<String> =
        finding.control.then(|| "an untouched wall".to_owned()).into_iter().collect();
    beside.extend(finding.unit.iter().map(ToString::to_string));
    let spots = finding.receive.as_ref().map_or(0, |side| side.positions.len());
    beside.push(if spots == 1 { "1 spot".to_owned() } else { format!("{spots} spots") });
    beside.push(match finding.margin_db() {
        Some(margin_db) => format!("{} dB over the background", print::decimals(margin_db, 1)),
        None => "background not measured".to_owned(),
    });
    let beside = beside.join(", ");
    let at_least = match difference.bound {
        Sense::AtLeast => "at least ",
        Sense::AtMost => "at most ",
        Sense::Exact | Sense::Undetermined => "",
    };
    let direction = if finding.direction.words.is_empty() {
        "between the rooms"
    } else {
        finding.direction.words.as_str()
    };
    let mut said = format!("{}: {at_least}{value} dB, {direction} ({beside}).", finding.label);
    if difference.bound == Sense::AtLeast {
        said.push_str(" The room's own noise hid the rest.");
    }
    if spots == 1 {
        said.push_str(" With one spot there is no telling how far off that is.");
    }
    if difference.value < 0.0 {
        said.push_str(" The receiving room was the louder one: source and receive may be swapped.");
    }
    said + &out
}

/// The headline of a change: no more digits than the interval bears.
pub(crate) fn headline(change: &Change) -> String {
    let Some(value) = change.value else {
        let why = change.absent.unwrap_or(Absent::NoReadings);
        return format!("No comparison of {} and {}: {why}.", change.from.label, change.to.label);
    };
    let places = print::headline_places(change.interval.as_ref());
    let size = print::decimals(value.value.abs(), places);
    let better = if value.value < 0.0 { "worse" } else { "better" };
    let spots = spots(change);
    match &change.claim {
        Claim::Claimed => {
            let range = change.interval.as_ref().map_or_else(String::new, |interval| {
                let interval = if value.value < 0.0 { interval.negated() } else { *interval };
                format!(
                    " The true figure is very likely between {} and {}{}.",
                    print::decimals(interval.low, places),
                    print::decimals(interval.high, places),
                    borrowed(change)
                )
            });
            format!("About {size} dB {better}{spots}.{range}{}", two_more(change))
        }
        Claim::AtLeast => match least(claimed_end(change, value)) {
            Some(least) => format!("At least {least} dB better{spots}. The room's own noise hid the rest."),
            None => format!("Better{spots}, by how much is not told: the room's own noise hid it."),
        },
        Claim::AtMost => at_most(change, value, &spots),
        Claim::Undetermined => "Not determined: both results are bounds.".to_owned(),
        Claim::NoClaim(reasons) => no_claim(change, reasons),
    }
}

/// The end of a bound that may be claimed: the number itself is as uncertain as any other.
///
/// A lower bound less what makes it uncertain, `L_before - z·u_before - L_u`, is the lower end of the interval; an upper one the
/// upper end. Without an interval it is the number itself.
fn claimed_end(change: &Change, value: Estimate) -> f64 {
    change.interval.map_or(value.value, |interval| match value.bound {
        Sense::AtMost => interval.high,
        _ => interval.low,
    })
}

/// A size that is surely reached, rounded down; below one with a decimal, and `None` where nothing is left of it.
fn least(size_db: f64) -> Option<String> {
    let tenths = ((size_db + 1e-9) * 10.0).floor();
    match tenths {
        ..1.0 => None,
        ..10.0 => Some(print::decimals(tenths / 10.0, 1)),
        _ => Some(print::rounded_down(size_db)),
    }
}

fn at_most(change: &Change, value: Estimate, spots: &str) -> String {
    let end = claimed_end(change, value);
    let one = match change.interval {
        None if change.compared_on.len() == 1 => " With one spot there is no telling how far off that is.",
        _ => "",
    };
    match least(-end) {
        // As for what is better: below the least that is claimed it is no claim.
        Some(least) if value.value <= -change.limit_db => {
            return format!("At least {least} dB worse{spots}: the first result is a bound.{one}");
        }
        _ if end <= 0.0 => return format!("No better{spots}: the first result is a bound.{one}"),
        _ => (),
    }
    format!("At most {} dB better{spots}: the first result is a bound.{one}", print::rounded_up(end))
}

fn spots(change: &Change) -> String {
    if let Some((before, after)) = change.runs {
        return format!(", {before} and {after} runs on the bench rig");
    }
    match change.compared_on.len() {
        1 => ", measured at 1 spot".to_owned(),
        n => format!(", measured at {n} spots"),
    }
}

/// Where the range of a single spot comes from: the spot itself has none.
fn borrowed(change: &Change) -> &'static str {
    let is_one = change.runs.is_none() && change.compared_on.len() == 1;
    if is_one && change.budget.pooled { ", going by the spread of earlier tests" } else { "" }
}

/// What two more spots would do for a range from two.
fn two_more(change: &Change) -> String {
    let Some(left) = change.two_more_leave else { return String::new() };
    let part = match left {
        ..0.225 => "to about a fifth",
        ..0.29 => "to about a quarter",
        ..0.415 => "to about a third",
        ..0.58 => "to about half",
        ..0.8 => "to about two thirds",
        _ => "a little",
    };
    format!(" Two spots cannot do better: two more would cut that range {part}.")
}

/// What a change of so many decibels is to the ear.
///
/// # Source
/// 1, 3 and 10 dB as in textbooks of acoustics (from memory).
pub fn heard(change_db: f64) -> &'static str {
    match change_db.abs() {
        ..2.0 => "A change of 1 dB is hardly heard.",
        ..5.0 => "To the ear 3 dB is just clear.",
        ..8.0 => "To the ear 3 dB is just clear, and 10 dB about half or twice as loud.",
        _ if change_db < 0.0 => "To the ear 10 dB more is about twice as loud.",
        _ => "To the ear 10 dB less is about half as loud.",
    }
}

/// Why nothing is claimed until a person has looked, the gravest first.
fn doubted(change: &Change, reasons: &[NoClaim]) -> Option<String> {
    if reasons.contains(&NoClaim::StagesOutOfOrder) {
        return Some(format!(
            "No claim: {} is called before and dated after {}, a later stage of the same job. Correct the date or the stage.",
            change.to.label, change.from.label
        ));
    }
    if reasons.contains(&NoClaim::PositionFarOff) {
        let far = change.flags.iter().filter(|raised| raised.flag == Flag::PositionOutlier);
        let far: Vec<&str> = far.map(|raised| raised.words.as_str()).collect();
        return Some(format!(
            "No claim while a position is far from the others: {}. Correct the reading, or include the set with a reason.",
            far.join("; ")
        ));
    }
    let control = change.control.as_ref().filter(|_| reasons.contains(&NoClaim::ControlMoved))?;
    Some(format!(
        "No claim: the untouched wall beside it changed by {} dB too, {} to {}. Find out what else changed, then include its set \
         with the reason.",
        print::signed(control.control_change.value, 1),
        control.from.label,
        control.to.label
    ))
}

fn no_claim(change: &Change, reasons: &[NoClaim]) -> String {
    let Some(value) = change.value else { return String::new() };
    if let Some(doubted) = doubted(change, reasons) {
        return doubted;
    }
    if reasons.contains(&NoClaim::NoInterval) && change.compared_on.len() == 1 {
        return format!(
            "{} dB at the one spot measured. With one spot there is no telling how far off that is: no claim.",
            print::decimals(value.value, 0)
        );
    }
    if let (true, Some((before, after))) = (reasons.contains(&NoClaim::NoInterval), change.runs) {
        return format!(
            "{} dB over {before} and {after} runs on the bench rig. With so few there is no telling how far off that is: no claim.",
            print::signed(value.value, 1)
        );
    }
    if value.bound == Sense::AtLeast {
        let end = change.interval.and_then(|_| least(claimed_end(change, value)));
        let known = end.map_or_else(String::new, |end| format!(" beyond {end} dB"));
        return format!("No change that can be claimed: the room's own noise hid how large it is{known}.");
    }
    let missed = change
        .interval
        .map_or(rules::SMALLEST_CLAIM_DB, |interval| interval.low.abs().max(interval.high.abs()));
    format!(
        "No change that can be claimed; one up to about {} dB could have been missed{}.{}",
        print::decimals(missed, 0),
        borrowed(change),
        two_more(change)
    )
}

/// The numbers of a change, for whoever wants them: digits of the table, not of the headline.
pub(crate) fn numbers(change: &Change) -> String {
    let Some(value) = change.value else { return String::new() };
    let mark = |sense| match sense {
        Sense::AtLeast => "at least ",
        Sense::AtMost => "at most ",
        Sense::Exact => "",
        Sense::Undetermined => "undetermined, ",
    };
    let interval = change
        .interval
        .as_ref()
        .map_or_else(|| "no interval".to_owned(), |interval| print::range(interval, 1));
    let ends = match (change.before, change.after) {
        (Some(before), Some(after)) => {
            let one = |end: Estimate| format!("{}{}", mark(end.bound), print::decimals(end.value, 1));
            format!("{} to {} dB", one(before), one(after))
        }
        _ => "receive level only".to_owned(),
    };
    let mut text = format!(
        "{} to {}: {ends}, {}{} dB ({interval})",
        change.from.label,
        change.to.label,
        mark(value.bound),
        print::signed(value.value, 1),
    );
    if let Claim::NoClaim(reasons) = &change.claim {
        let reasons: Vec<String> = reasons.iter().map(ToString::to_string).collect();
        text.push_str(&format!("; no claim: {}", print::list(&reasons)));
    }
    if change.averages_differ()
        && let Some(mean) = change.position_mean_db
    {
        text.push_str(&format!("; mean of the position differences {} dB", print::signed(mean, 1)));
        let is_outside = change.interval.is_some_and(|interval| mean < interval.low || mean > interval.high);
        if is_outside {
            text.push_str(", outside that interval: the loudest positions rule the energy average");
        }
    }
    text.push('.');
    text
}

/// What a change belongs to, and what a reader has to know beside it.
pub(crate) fn beside(change: &Change) -> String {
    let mut words = Vec::new();
    let parts: Vec<&str> = change.bundle.iter().map(|part| part.part).collect();
    match parts.as_slice() {
        [] if change.from.assembly.is_some()
            && change.from.assembly == change.to.assembly
            && change.from.set != change.to.set =>
        {
            words.push(
                "Both sets name the same assembly version: write down what changed between them.".to_owned(),
            );
        }
        [] => (),
        [one @ ("leaf A" | "leaf B")] => words.push(format!("Only {one} changed.")),
        [one] => words.push(format!("Only the {one} changed.")),
        _ => words.push(format!(
            "{} changed together: this is the result of all of them.",
            print::capital(&print::list(&parts))
        )),
    }
    if change.receive_only {
        words.push(
            "The source room was not measured in both sets: this is the change of the receive level."
                .to_owned(),
        );
    }
    if change.open_studs {
        words.push(
            "Studs were showing in one of the sets, so this belongs to wall and room together; a swap of source and meter, \
             or reverberation times, would separate the two."
                .to_owned(),
        );
    }
    if !change.left_off.is_empty() {
        words.push(format!(
            "Compared on {}; {} was not measured in both.",
            print::list(&change.compared_on),
            print::list(&change.left_off)
        ));
    }
    words.extend(change.odd.iter().map(OddPosition::sentence));
    words.extend(change.dominant.iter().map(Dominant::sentence));
    if change.spreads_db.0.max(change.spreads_db.1) > rules::WIDE_SPREAD_DB {
        words.push(format!(
            "The receive positions spread {} and {} dB, so digits behind the point mean nothing.",
            print::decimals(change.spreads_db.0, 1),
            print::decimals(change.spreads_db.1, 1)
        ));
    }
    words.extend(change.control.iter().map(|control| control.sentence.clone()));
    let is_unclear =
        matches!(&change.claim, Claim::NoClaim(reasons) if reasons.contains(&NoClaim::IncludesZero));
    words.extend(change.budget.advice().filter(|_| is_unclear));
    let value =
        change.value.filter(|value| value.bound != Sense::Undetermined && change.unit == Some(Unit::DbA));
    words.extend(value.map(|value| heard(value.value).to_owned()));
    let reasons = change.grade.reasons().join("; ");
    words.push(format!("Grade {}: {reasons}.", change.grade.letter));
    words.join(" ")
}

/// What the formula says where an opening limits the wall.
pub(crate) fn limited(change: &Change) -> Option<String> {
    let (low, high) = change.formula()?;
    let openings_same = change.bundle.iter().all(|part| part.part != "openings");
    let (low, high) = (print::decimals(low, 1), print::decimals(high, 1));
    let range = if low == high { low } else { format!("{low} to {high}") };
    let vents =
        change.flags.iter().any(|raised| raised.words.contains("louv") || raised.words.contains("grille"));
    Some(if openings_same || matches!(change.claim, Claim::NoClaim(_)) {
        let caution = if vents { format!(" {KEEP_OPEN}") } else { String::new() };
        format!("The formula gives {range} dB before and after: the opening is the limit.{caution}")
    } else {
        let (before, after) = (change.predicted.0?.typical_db, change.predicted.1?.typical_db);
        let (before, after) = (print::decimals(before, 1), print::decimals(after, 1));
        if change.opening_limits[1] {
            format!(
                "The formula gives {after} dB with the new opening, by which most of what gets through still comes."
            )
        } else {
            format!(
                "The formula gives {before} dB before, when most of what got through came by the opening, and {after} dB after."
            )
        }
    })
}

/// Words a finding never uses of a weighted difference or outside an expert's page.
pub const NEVER: &[&str] = &["significant", "confidence interval", "STC", "Rw", "NIC", "safe", "compliant"];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::across::Measure;
    use crate::plan::Ask;
    use crate::question::Question;
    use crate::{Axis, Findings, fixture};
    use storypole_notebook::matching::MatchLevel;

    /// Words of the statistician's page, which stand in other words too.
    const EXPERT: &[&str] = &["p", "p-value", "I2", "I²"];

    /// The demo scenario with an untouched wall that moved, so that all kinds of sentences are said.
    fn spoken() -> storypole_notebook::Book {
        let mut builder = fixture::builder();
        let beside = |label, stage, date, receive| fixture::SetRow {
            test: "Q2",
            label,
            job: "J3",
            stage,
            date,
            assembly: "A05",
            from: "R4",
            to: "R6",
            unit: "dBA",
            source: "90.0 90.0 90.0",
            receive,
            background: "20.0",
        };
        builder.set(&beside("C1", "before", "2025-04-01", "60.6 60.2 60.4"));
        builder.set(&beside("C2", "after", "2025-04-09", "58.0 58.2 58.1"));
        for label in ["C1", "C2"] {
            builder.amend("set", label, "control", "yes");
        }
        builder.book
    }

    /// Everything the demo scenario makes findings say.
    fn all_words() -> Vec<String> {
        let book = spoken();
        let findings = Findings::new(&book);
        let mut said: Vec<String> = findings.sets().map(|set| set.sentence.clone()).collect();
        for test in book.tests.live().filter_map(|test| findings.test(test.id)) {
            let changes = test.groups.iter().flat_map(|group| &group.changes);
            said.extend(
                changes.flat_map(|change| {
                    [change.sentence.clone(), change.numbers.clone(), change.beside.clone()]
                }),
            );
            said.extend(test.sentences.iter().cloned());
            said.extend(test.quantity.iter().flat_map(|quantity| {
                let changes = quantity.changes.iter().flat_map(|change| {
                    let why = change.grade.criteria.iter().map(|row| row.why.clone());
                    why.chain([change.sentence.clone()]).chain(change.notes.clone())
                });
                let beside = quantity.beside.iter().map(|beside| beside.sentence.clone());
                let odd = quantity.flags.iter().map(|odd| odd.words.clone());
                let said = changes.chain(beside).chain(odd).chain(quantity.sentences.clone());
                said.chain(quantity.notes.clone()).chain(quantity.cautions.clone()).collect::<Vec<_>>()
            }));
            for seed in [1, 2] {
                let plan = findings.plan(test.test, &Ask::new(2.0, seed)).unwrap();
                said.extend(plan.sentences);
                said.extend(plan.sheet.cautions);
            }
            said.extend(findings.stages(test.test).into_iter().flat_map(|stages| {
                let steps = stages.steps.into_iter().map(|step| step.words);
                steps.chain([stages.words]).collect::<Vec<_>>()
            }));
        }
        said.extend(book.jobs.live().filter_map(|job| findings.job(job.id)).flat_map(|job| job.sentences));
        let walls = book.assemblies.live().filter_map(|wall| findings.assembly(wall.id));
        said.extend(
            walls.flat_map(|wall| {
                [wall.paths.map_or_else(String::new, |paths| paths.sentence()), wall.sentence]
            }),
        );
        let comparison = findings.compare(Axis::Fill);
        said.extend(comparison.changes.iter().map(crate::compare::pool_line));
        said.extend(comparison.notes);
        let next = findings.next();
        said.extend(next.candidates.into_iter().map(|candidate| candidate.sentence).chain([next.sentence]));
        for level in [MatchLevel::Same, MatchLevel::Near, MatchLevel::Family] {
            for measure in [Measure::Change, Measure::Level] {
                let across = findings.across(measure, level);
                said.extend(across.pools.into_iter().flat_map(|pool| pool.sentences));
                said.extend(across.front.into_iter().map(|front| front.sentence).chain(across.notes));
            }
        }
        for text in ["cellulose against glass fibre", "with a door or without door", "filled or empty"] {
            said.extend(findings.ask(&Question::parse(text).unwrap()).sentences);
        }
        said.extend(crate::rules().iter().map(|rule| rule.words.to_owned()));
        said
    }

    #[test]
    fn no_sentence_promises_or_names_a_rating() {
        let said = all_words();
        assert!(said.len() > 300, "{}", said.len());
        assert!(said.iter().any(|sentence| sentence.contains("untouched wall beside it changed")));
        for sentence in said {
            for never in NEVER {
                assert!(!sentence.contains(never), "\"{never}\" in: {sentence}");
            }
            let words = || sentence.split(|letter: char| letter.is_whitespace() || "(),;:=".contains(letter));
            assert!(words().all(|word| !EXPERT.contains(&word)), "{sentence}");
            assert!(words().all(|word| word != "NaN" && word != "inf" && word != "-inf"), "{sentence}");
        }
    }

    #[test]
    fn headlines_say_no_more_than_the_interval_bears() {
        let book = fixture::demo();
        let test = crate::test_finding(&book, fixture::id("test", "Q1")).unwrap();
        let headline = test.headline().unwrap();
        assert!(headline.interval.unwrap().half_width() > 1.0);
        let expected =
            "About 11 dB better, measured at 4 spots. The true figure is very likely between 10 and 12.";
        assert_eq!(headline.sentence, expected);
        assert_eq!(headline.numbers, "T01 to T05: 24.9 to 36.1 dB, +11.2 dB (10.1 to 12.3).");
        let bound = test
            .groups
            .iter()
            .flat_map(|group| &group.changes)
            .find(|change| change.to.label == "T06")
            .unwrap();
        assert_eq!(
            bound.sentence,
            "At least 10 dB better, measured at 4 spots. The room's own noise hid the rest."
        );
        // Not 11: the bound itself, 11.7, may be over a decibel off.
        assert!(bound.value.unwrap().value > 11.0 && (10.0..11.0).contains(&bound.interval.unwrap().low));
        let bass = test
            .groups
            .iter()
            .flat_map(|group| &group.changes)
            .find(|change| change.to.label == "T09")
            .unwrap();
        assert!(bass.sentence.starts_with("About 4 dB better"), "{}", bass.sentence);
        assert!(bass.beside.contains("spread 3.5 and 3.9 dB"), "{}", bass.beside);
    }

    #[test]
    fn the_ear_is_told_beside_the_number() {
        // 1 dB hardly heard, 3 dB just clear, 10 dB half as loud: from memory.
        for (change_db, expected) in [
            (0.8, "hardly"),
            (-1.9, "hardly"),
            (3.2, "just clear."),
            (-3.0, "just clear."),
            (6.7, "half or twice"),
            (11.2, "half as loud"),
            (-11.2, "twice as loud"),
        ] {
            assert!(heard(change_db).contains(expected), "{change_db}: {}", heard(change_db));
        }
        let book = fixture::demo();
        let test = crate::test_finding(&book, fixture::id("test", "Q1")).unwrap();
        let beside = |index: usize| test.groups[index].headline.as_ref().unwrap().beside.as_str();
        assert!(beside(0).contains("half as loud"), "{}", beside(0));
        assert!(!beside(2).contains("loud"), "C-weighted levels are not what an ear hears: {}", beside(2));
    }

    #[test]
    fn a_change_names_its_bundle() {
        let book = fixture::demo();
        let test = crate::test_finding(&book, fixture::id("test", "Q3")).unwrap();
        let beside: Vec<&str> = test.groups[0].changes.iter().map(|change| change.beside.as_str()).collect();
        assert!(beside[0].starts_with("Only the cavity changed."), "{}", beside[0]);
        assert!(
            beside[1]
                .starts_with("Leaf A, cavity and seals changed together: this is the result of all of them.")
        );
        assert!(
            beside[1].contains("Compared on R1, R2 and R3; R4 was not measured in both."),
            "{}",
            beside[1]
        );
    }
}
