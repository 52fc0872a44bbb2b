//! How it was measured: the planned method, instruments without serials, sounds, averaging, and the rules of reckoning.

use std::collections::{BTreeMap, BTreeSet};

use storypole_findings::set_finding::rule_words;
use storypole_findings::{SetFinding, rules};
use storypole_notebook::Quantity;
use storypole_notebook::kinds::{Check, Meter, Reading};

use crate::document::Block;
use crate::scope::Scope;

/// Tells how the sets were taken and how numbers were made of them.
pub(crate) fn method(scope: &Scope<'_>) -> Vec<Block> {
    let mut seen = BTreeSet::new();
    let methods = scope.test_records().filter_map(|test| test.method.clone());
    let mut blocks: Vec<Block> =
        methods.filter(|method| seen.insert(method.clone())).map(Block::Paragraph).collect();
    let mut points = Vec::new();
    points.extend(meters(scope));
    points.extend(named(
        "Test sound",
        scope.set_records().filter_map(|set| {
            scope.book.signals.of(set.signal).and_then(|signal| signal.description.clone())
        }),
    ));
    points.extend(averaging(scope));
    points.extend(named(
        "Taken by",
        scope
            .set_records()
            .filter_map(|set| scope.book.people.of(set.operator).and_then(|person| person.role.clone())),
    ));
    points.push(checks(scope));
    points.extend(background_rule(scope));
    blocks.push(Block::List(points));
    blocks.push(Block::Paragraph("How the numbers were made:".to_owned()));
    blocks.push(Block::List(reckoning(scope)));
    blocks
}

/// Each text once, in the order it first appears.
fn named(what: &str, texts: impl Iterator<Item = String>) -> Option<String> {
    let mut seen = BTreeSet::new();
    let once: Vec<String> = texts.filter(|text| seen.insert(text.clone())).collect();
    (!once.is_empty()).then(|| format!("{what}: {}.", once.join("; ")))
}

fn meters(scope: &Scope<'_>) -> Option<String> {
    let words = |meter: &Meter| {
        let kind = meter.meter_kind.clone().unwrap_or_else(|| "an instrument".to_owned());
        match meter.class.as_deref() {
            Some("none") => format!("{kind}, no class"),
            Some(class) => format!("{kind}, class {class}"),
            None => format!("{kind}, class not written down"),
        }
    };
    named("Measured with", scope.set_records().filter_map(|set| scope.book.meters.of(set.meter)).map(words))
}

/// How long and by what response, with how many readings; `leq 30 s (36 readings)`.
fn averaging(scope: &Scope<'_>) -> Option<String> {
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    // A room's decay is not averaged over a time.
    let averages = |reading: &&Reading| {
        reading.meta.struck.is_none() && reading.subject.as_deref() != Some("reverberation")
    };
    for reading in scope.readings().filter(averages) {
        *kinds.entry(averaged(reading)).or_default() += 1;
    }
    let words: Vec<String> =
        kinds.into_iter().map(|(kind, count)| format!("{kind} ({count} readings)")).collect();
    (!words.is_empty()).then(|| format!("Readings: {}.", words.join("; ")))
}

fn averaged(reading: &Reading) -> String {
    let response = match reading.response.as_deref() {
        Some("leq") => "Leq",
        Some(other) => other,
        None => "averaging not written down",
    };
    match reading.duration_s {
        Some(seconds) => format!("{response} over {} s", seconds.normalized()),
        None => response.to_owned(),
    }
}

/// Calibration checks framing these sets.
fn checks(scope: &Scope<'_>) -> String {
    let sets: BTreeSet<_> = scope.sets().map(|set| set.set).collect();
    let of_sets = scope.book.checks.live().filter(|check| check.set.is_some_and(|set| sets.contains(&set)));
    let words: Vec<String> = of_sets.map(|check| checked(scope, check)).collect();
    if words.is_empty() {
        "No calibration check is written down for these sets.".to_owned()
    } else {
        format!("Calibration checks: {}.", words.join("; "))
    }
}

fn checked(scope: &Scope<'_>, check: &Check) -> String {
    let set = scope.book.sets.of(check.set).and_then(|set| set.label.clone()).unwrap_or_default();
    let read =
        |value: Option<Quantity>| value.map_or_else(|| "not read".to_owned(), |value| value.to_string());
    format!("{set} {} before, {} after", read(check.before), read(check.after))
}

fn background_rule(scope: &Scope<'_>) -> Option<String> {
    let is_level = |set: &&SetFinding| set.receive.is_some();
    let rule = scope.sets().find(is_level)?.rule;
    let corrected =
        scope.sets().filter(|set| set.background.is_some_and(|one| one.correction_db > 0.0)).count();
    let words = match corrected {
        0 => "no set was corrected".to_owned(),
        1 => "one set was corrected".to_owned(),
        more => format!("{more} sets were corrected"),
    };
    Some(format!("Background rule: {}; {words}.", rule_words(rule)))
}

/// Conventions that made the numbers of this write-up.
fn reckoning(scope: &Scope<'_>) -> Vec<String> {
    let mut names: Vec<&str> = Vec::new();
    if scope.tests.iter().any(|test| test.bench.is_none() && test.thermal.is_none()) {
        names.extend(["level difference", "change", "background", "bounds", "uncertainty", "claim", "grade"]);
    }
    if scope.tests.iter().any(|test| test.bench.is_some()) {
        names.extend(["bench rig", "cannot be told apart"]);
    }
    let mut words: Vec<String> = rules()
        .iter()
        .filter(|rule| names.contains(&rule.name))
        .map(|rule| format!("{}: {}", storypole_findings::print::capital(rule.name), rule.words))
        .collect();
    let notes = scope.tests.iter().filter_map(|test| test.quantity.as_ref());
    words.extend(notes.flat_map(|quantity| quantity.notes.iter().cloned()));
    if scope.tests.iter().any(|test| test.measures == "thermal") {
        words.push(
            "Surface factor: (surface - outside) / (inside - outside), so that 1 is as warm as the room and 0 as cold as outside \
             (temperature factor of ISO 13788)."
                .to_owned(),
        );
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{demo, small};
    use crate::subject::Subject;

    fn points(all: &crate::fixture::Fixture, test: &str) -> String {
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
        let lists = method(&scope).into_iter().filter_map(|block| match block {
            Block::List(points) => Some(points.join("\n")),
            _ => None,
        });
        lists.collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn instruments_and_checks_are_told() {
        let mut all = small();
        let said = points(&all, "Q1");
        assert!(said.contains("No calibration check"), "{said}");
        all.put(
            "check",
            "C1",
            &[("meter", "M1"), ("set", "T01"), ("before", "94.0 dBA"), ("after", "94.1 dBA")],
        );
        let said = points(&all, "Q1");
        assert!(said.contains("Calibration checks: T01 94.0 dBA before, 94.1 dBA after."), "{said}");
        assert!(said.contains("sound level meter, class 2"), "{said}");
    }

    #[test]
    fn each_kind_of_test_names_its_own_rules() {
        let all = demo();
        assert!(
            points(&small(), "Q1").contains("Background rule: ASTM E336 before 19a; no set was corrected.")
        );
        assert!(points(&all, "Q1").contains("one set was corrected"), "T06, with a margin of 3.7 dB");
        assert!(points(&all, "Q2").contains("one set was corrected"), "T12, with a margin of 7.8 dB");
        let bench = points(&all, "Q5");
        assert!(bench.contains("Bench rig:") && !bench.contains("Background rule"), "{bench}");
        let heat = points(&all, "Q7");
        assert!(heat.contains("Surface factor") && !heat.contains("Level difference"), "{heat}");
    }
}
