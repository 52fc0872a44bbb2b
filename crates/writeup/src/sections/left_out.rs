//! What did not count and why: what the author left out, sets out of results, sets let in all the same, positions not taken, struck records, and
//! corrections with the value before.

use std::collections::BTreeSet;

use storypole_findings::flags::Effect;
use storypole_findings::print;
use storypole_journal::RecordId;
use storypole_notebook::Meta;

use crate::document::Block;
use crate::scope::Scope;
use crate::subject::Correction;

/// Lists it all; says so where there is nothing.
pub(crate) fn left_out(scope: &Scope<'_>, corrections: &[Correction]) -> Vec<Block> {
    let mut points = scope.out_words.clone();
    points.extend(out(scope));
    points.extend(
        scope
            .sets()
            .filter(|set| !set.missing.is_empty())
            .map(|set| format!("{}: {} not taken.", set.label, print::list(&set.missing))),
    );
    points.extend(struck(scope));
    points.extend(taken_again(scope));
    points.extend(corrected(scope, corrections));
    if points.is_empty() {
        return vec![Block::Paragraph("Nothing was left out, struck or corrected.".to_owned())];
    }
    vec![Block::List(points)]
}

fn out(scope: &Scope<'_>) -> Vec<String> {
    let mut points = Vec::new();
    for set in scope.sets() {
        if !set.is_in() {
            points.push(format!("{} is out of results: {}.", set.label, set.excluded.join("; ")));
        } else if set.included {
            let flags: Vec<String> = set
                .flagged(Effect::Out)
                .chain(set.flagged(Effect::Check))
                .map(|raised| format!("{} ({})", raised.flag, raised.words))
                .collect();
            if !flags.is_empty() {
                points.push(format!(
                    "{} was let into results by a person, in spite of {}.",
                    set.label,
                    print::list(&flags)
                ));
            }
        }
    }
    points
}

/// Struck tests and sets of the subject and struck readings of its sets, with the reasons.
fn struck(scope: &Scope<'_>) -> Vec<String> {
    let tests: BTreeSet<RecordId> = scope.tests.iter().map(|test| test.test).collect();
    let asked: BTreeSet<RecordId> = scope.subject.records().iter().copied().collect();
    let is_asked = |id: Option<RecordId>| id.is_some_and(|id| asked.contains(&id));
    let mut points = Vec::new();
    let mut tell = |what: String, meta: &Meta| {
        if let Some(reason) = &meta.struck {
            points.push(format!("{what} was struck: {reason}."));
        }
    };
    for test in scope.book.tests.all().filter(|test| is_asked(test.job)) {
        tell(format!("Test {}", test.label.as_deref().unwrap_or_default()), &test.meta);
    }
    for set in scope.book.sets.all() {
        if is_asked(set.job) || set.test.is_some_and(|test| tests.contains(&test)) {
            tell(format!("Set {}", set.label.as_deref().unwrap_or_default()), &set.meta);
        }
    }
    for reading in scope.readings() {
        tell(format!("A reading of {}", reading_words(scope, reading.id)), &reading.meta);
    }
    points
}

/// Readings replaced within their round, in one line: the meter still stood there, so nothing was corrected later.
fn taken_again(scope: &Scope<'_>) -> Option<String> {
    let again = scope.readings().filter(|reading| scope.retaken.contains(&reading.id));
    let again: Vec<String> = again.map(|reading| reading_words(scope, reading.id)).collect();
    let list = again.join("; ");
    (!again.is_empty()).then(|| {
        format!("Taken again at once, in the same round: {list}. The readings before stand in the notebook's history.")
    })
}

/// Corrections as the log tells them, then those of which only the table knows.
fn corrected(scope: &Scope<'_>, corrections: &[Correction]) -> Vec<String> {
    let records = records(scope);
    let mut told = BTreeSet::new();
    let mut points = Vec::new();
    for correction in corrections {
        if let Some(of) = records.iter().find(|of| of.id == correction.record) {
            told.insert((correction.record, correction.field.clone()));
            points.push(format!(
                "{}: {} was {}, corrected to {}. Reason: {}.",
                of.words,
                correction.field.replace('_', " "),
                correction.old,
                correction.new,
                correction.reason.trim_end_matches('.')
            ));
        }
    }
    for of in &records {
        let fields = of.meta.corrected.iter().filter(|field| !told.contains(&(of.id, (**field).to_owned())));
        let fields: Vec<String> = fields.map(|field| field.replace('_', " ")).collect();
        if !fields.is_empty() {
            points.push(format!(
                "{}: {} corrected with a reason; the value before and the reason stand in the notebook's history.",
                of.words,
                print::list(&fields)
            ));
        }
    }
    points
}

/// A record a correction may be of.
struct Corrected<'a> {
    id: RecordId,
    words: String,
    meta: &'a Meta,
}

/// Records the results and the cost rest on.
fn records<'a>(scope: &Scope<'a>) -> Vec<Corrected<'a>> {
    let jobs: BTreeSet<RecordId> = scope.jobs.iter().map(|job| job.id).collect();
    let sets: BTreeSet<RecordId> = scope.sets().map(|set| set.set).collect();
    let tests: BTreeSet<RecordId> = scope.tests.iter().map(|test| test.test).collect();
    let has = |ids: &BTreeSet<RecordId>, id: Option<RecordId>| id.is_some_and(|id| ids.contains(&id));
    let label = |label: &Option<String>| label.clone().unwrap_or_else(|| "one without a label".to_owned());
    let book = scope.book;
    let mut records = Vec::new();
    let mut add = |id, words, meta| records.push(Corrected { id, words, meta });
    for test in scope.test_records() {
        add(test.id, format!("Test {}", label(&test.label)), &test.meta);
    }
    for set in scope.set_records() {
        add(set.id, format!("Set {}", label(&set.label)), &set.meta);
    }
    for reading in scope.readings().filter(|reading| !scope.retaken.contains(&reading.id)) {
        add(reading.id, reading_words(scope, reading.id), &reading.meta);
    }
    for condition in book.conditions.live().filter(|condition| has(&tests, condition.test)) {
        add(condition.id, format!("Condition {}", label(&condition.variable)), &condition.meta);
    }
    for found in book.founds.live().filter(|found| has(&sets, found.set)) {
        let variable = book.conditions.of(found.condition).and_then(|condition| condition.variable.clone());
        let set = book.sets.of(found.set).map(|set| label(&set.label)).unwrap_or_default();
        add(found.id, format!("{set}, {}", label(&variable)), &found.meta);
    }
    for assembly in &scope.assemblies {
        add(assembly.id, format!("Assembly {}", label(&assembly.label)), &assembly.meta);
    }
    if !scope.has_costs() {
        return records;
    }
    for line in book.lines.live() {
        let receipt = book.receipts.of(line.receipt);
        if has(&jobs, line.job.or(receipt.and_then(|receipt| receipt.job))) {
            let receipt = receipt.map(|receipt| label(&receipt.label)).unwrap_or_default();
            add(line.id, format!("Receipt {receipt}, {}", label(&line.item)), &line.meta);
        }
    }
    for moved in book.moves.live().filter(|moved| has(&jobs, moved.from_job) || has(&jobs, moved.to_job)) {
        add(moved.id, format!("Move {}", label(&moved.label)), &moved.meta);
    }
    for hours in book.hours.live().filter(|hours| has(&jobs, hours.job)) {
        let day = hours.date.map_or_else(String::new, |day| format!(" on {day}"));
        add(hours.id, format!("Hours{day}"), &hours.meta);
    }
    records
}

/// A reading by set, place and what it is of: `T18, R2, receive`.
fn reading_words(scope: &Scope<'_>, reading: RecordId) -> String {
    let Some(reading) = scope.book.readings.get(reading) else { return String::new() };
    let set = scope.book.sets.of(reading.set).and_then(|set| set.label.clone());
    let place = scope.book.positions.of(reading.position).and_then(|position| position.label.clone());
    let role = reading.role.clone().filter(|role| place.is_none() || role == "background");
    [set, place, role].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{demo, small};
    use crate::parts::Out;
    use crate::subject::Subject;

    fn points(all: &crate::fixture::Fixture, test: &str, corrections: &[Correction]) -> Vec<String> {
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
        match left_out(&scope, corrections).remove(0) {
            Block::List(points) => points,
            Block::Paragraph(said) => vec![said],
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn sets_out_of_results_have_their_reasons() {
        let points = points(&demo(), "Q2", &[]);
        assert!(points[0].starts_with("T12 is out of results: condition-drift"), "{points:?}");
        assert!(points[0].contains("window ajar in unit B"), "{points:?}");
    }

    #[test]
    fn corrections_tell_both_values_and_the_reason() {
        let all = demo();
        let of_table = points(&all, "Q4", &[]);
        assert_eq!(
            of_table,
            [
                "T18, R2: value corrected with a reason; the value before and the reason stand in the notebook's history."
            ]
        );
        let correction = Correction {
            record: all.id("reading", "T18/R2"),
            field: "value".into(),
            old: "87.3 dBA".into(),
            new: "78.3 dBA".into(),
            reason: "digits swapped, the meter photo shows 78.3.".into(),
        };
        let elsewhere = Correction { record: all.id("reading", "T01/R2"), ..correction.clone() };
        let of_log = points(&all, "Q4", &[elsewhere, correction]);
        let expected = "T18, R2: value was 87.3 dBA, corrected to 78.3 dBA. Reason: digits swapped, the meter photo shows 78.3.";
        assert_eq!(of_log, [expected]);
    }

    #[test]
    fn readings_taken_again_at_once_are_one_line_and_no_corrections() {
        let all = demo();
        let told = |scope: &Scope<'_>| match left_out(scope, &[]).remove(0) {
            Block::List(points) => points,
            other => panic!("{other:?}"),
        };
        let retaken = [all.id("reading", "T18/R2"), all.id("reading", "T18/R1")].into();
        let told_of = storypole_findings::Told { retaken, ..Default::default() };
        let scope =
            Scope::with(&all.book, Subject::Test(all.id("test", "Q4")), told_of, Out::default()).unwrap();
        let points = told(&scope);
        assert_eq!(points.len(), 1, "{points:?}");
        assert!(
            points[0].starts_with("Taken again at once, in the same round: T18, R1; T18, R2."),
            "{points:?}"
        );
        let left_out = [(all.id("set", "T10"), "dogs barked".to_owned())].into();
        let mut out = demo();
        out.change("set", "T10", &[("left_out", "yes")]);
        let told_of = storypole_findings::Told { left_out, ..Default::default() };
        let scope =
            Scope::with(&out.book, Subject::Test(out.id("test", "Q2")), told_of, Out::default()).unwrap();
        assert!(told(&scope)[0].contains("T10 is out of results: left out by a person: dogs barked"));
    }

    #[test]
    fn struck_records_missing_positions_and_nothing() {
        let mut all = small();
        assert_eq!(points(&all, "Q1", &[]), ["Nothing was left out, struck or corrected."]);
        all.put("set", "T03", &[("test", "Q1"), ("job", "J1"), ("stage", "after")]);
        all.strike("set", "T03", "a truck passed");
        all.strike("reading", "T02/R4", "read twice");
        let said = points(&all, "Q1", &[]);
        let expected = [
            "T02: R4 not taken.",
            "Set T03 was struck: a truck passed.",
            "A reading of T02, R4 was struck: read twice.",
        ];
        assert_eq!(said, expected);
    }
}
