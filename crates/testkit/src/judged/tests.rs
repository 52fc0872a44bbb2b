//! Judged questions: read, held against the demo, and their rules against a plain look over the truth.

use std::collections::BTreeSet;

use super::*;
use crate::houses::{Houses, JUDGED_JOBS, JUDGED_SEED};

const QUESTIONS: &str = include_str!("../../../../tests/find/questions.jsonl");

fn line(grades: &str) -> String {
    format!(r#"{{"id":"x","of":"houses","kind":"words","ask":"x","why":"x","grades":{grades}}}"#)
}

#[test]
fn a_line_that_would_judge_wrongly_is_refused() {
    let rows = [
        ("not json", "expected"),
        (&line(r#"[{"grade":4,"rule":{"kind":"job"}}]"#), "a grade is 1, 2 or 3"),
        (&line(r#"[{"grade":3,"rule":{"kind":"wall"}}]"#), "no kind \"wall\""),
        (&line(r#"[{"grade":3,"rule":{"kind":"job","fil":"cotton"}}]"#), "\"fil\" is nothing known"),
        (&line(r#"[{"grade":3,"rule":{"kind":"job","cost":{"above":3}}}]"#), "\"above\" is nothing known"),
        (&line(r#"[{"grade":3,"rule":{"kind":"job","since":"March"}}]"#), "since is no day"),
        (&line(r#"[{"grade":3,"records":["job:J1"]}]"#), "needs a rule"),
        (&line(r#"[]}"#).replace("houses", "barn"), "trailing"),
    ];
    for (text, reason) in rows {
        let error = read(text).unwrap_err().to_string();
        assert!(error.starts_with("line 1: ") && error.contains(reason), "{error} lacks {reason}");
    }
    assert_eq!(read("\n\n").unwrap(), []);
}

#[test]
fn rules_find_what_a_plain_look_over_the_truth_finds() {
    let truths: Vec<Truth> = Houses::new(2).jobs(400).map(|house| house.truth).collect();
    let found = |rule: &str| -> BTreeSet<RecordId> {
        let judged = read(&line(&format!(r#"[{{"grade":3,"rule":{rule}}}]"#))).unwrap().remove(0);
        judged.grades(&truths).into_keys().collect()
    };
    let fill_is = |truth: &Truth, name: &str| truth.after.wall.fill.is_some_and(|fill| fill.name == name);
    let cellulose: BTreeSet<RecordId> = truths
        .iter()
        .filter(|truth| fill_is(truth, "cellulose"))
        .filter(|truth| truth.reduction().is_some_and(|reached| reached.db > 6.0))
        .map(|truth| truth.after.assembly.record)
        .collect();
    assert!(!cellulose.is_empty());
    let rule = r#"{"kind":"assembly","version":"after","fill":"cellulose","reduction_db":{"over":6}}"#;
    assert_eq!(found(rule), cellulose);
    let delivered: BTreeSet<RecordId> = truths
        .iter()
        .flat_map(|truth| &truth.entries)
        .filter(|entry| entry.kind == "delivery" && entry.text.contains("plasterboard delivered"))
        .map(|entry| entry.record)
        .collect();
    assert!(!delivered.is_empty());
    assert_eq!(found(r#"{"kind":"entry","words":[["plasterboard"],["delivered"]]}"#), delivered);
    let filled = found(r#"{"kind":"job","fill":"any"}"#).len();
    assert_eq!(filled + found(r#"{"kind":"job","fill":"empty"}"#).len(), 400);
    assert_eq!(filled, found(r#"{"kind":"job","not_fill":"empty"}"#).len());
    let staggered: BTreeSet<RecordId> = truths
        .iter()
        .flat_map(|truth| [&truth.before, &truth.after])
        .filter(|built| built.wall.frame().starts_with("staggered wood"))
        .map(|built| built.assembly.record)
        .collect();
    assert_eq!(found(r#"{"kind":"assembly","built_on":"staggered"}"#), staggered);
    let with_both_leaves = found(r#"{"kind":"assembly","frame":"staggered"}"#);
    assert!(!with_both_leaves.is_empty() && with_both_leaves.len() < staggered.len());
    assert!(with_both_leaves.is_subset(&staggered));
}

#[test]
fn a_wall_before_is_graded_only_where_it_is_asked_for() {
    let truths: Vec<Truth> = Houses::new(2).jobs(400).map(|house| house.truth).collect();
    let found = |rule: &str| -> BTreeSet<RecordId> {
        let judged = read(&line(&format!(r#"[{{"grade":3,"rule":{rule}}}]"#))).unwrap().remove(0);
        judged.grades(&truths).into_keys().collect()
    };
    let graded = |built: fn(&Truth) -> RecordId| -> BTreeSet<RecordId> {
        let is_b = |truth: &&Truth| {
            truth.measured.as_ref().is_some_and(|one| one.grade.is_some_and(|grade| grade <= 'B'))
        };
        truths.iter().filter(is_b).map(built).collect()
    };
    let after = graded(|truth| truth.after.assembly.record);
    assert!(!after.is_empty());
    assert_eq!(found(r#"{"kind":"assembly","grade":"B"}"#), after);
    let before = graded(|truth| truth.before.assembly.record);
    assert_eq!(found(r#"{"kind":"assembly","version":"before","grade":"B"}"#), before);
}

#[test]
fn the_better_grade_holds_and_a_bound_is_over_but_never_under() {
    let truths: Vec<Truth> = Houses::new(2).jobs(400).map(|house| house.truth).collect();
    let read_one = |grades: &str| read(&line(grades)).unwrap().remove(0);
    let judged = read_one(
        r#"[{"grade":1,"rule":{"kind":"job"}},{"grade":3,"rule":{"kind":"job","state":"bare-studs"}}]"#,
    );
    let grades = judged.grades(&truths);
    assert_eq!(grades.len(), 400);
    for truth in &truths {
        let expected = if truth.after.wall.state == "bare-studs" { 3 } else { 1 };
        assert_eq!(grades[&truth.job.record], expected);
    }
    let range = |range: &str| {
        let rule = format!(r#"[{{"grade":3,"rule":{{"kind":"job","reduction_db":{range}}}}}]"#);
        read_one(&rule).grades(&truths)
    };
    let is_bound = |truth: &&Truth| {
        truth.reduction().is_some_and(|one| one.sense == crate::houses::sound::Sense::AtLeast && one.db > 3.0)
    };
    let bound = truths.iter().find(is_bound).unwrap();
    assert!(range(r#"{"over":3}"#).contains_key(&bound.job.record));
    assert!(!range(r#"{"over":3,"under":90}"#).contains_key(&bound.job.record));
}

#[test]
fn questions_are_many_of_every_kind_and_named_once() {
    let questions = read(QUESTIONS).unwrap();
    assert!(questions.len() >= 70, "{} questions", questions.len());
    let ids: BTreeSet<&str> = questions.iter().map(|question| question.id.as_str()).collect();
    assert_eq!(ids.len(), questions.len());
    for kind in [
        "words",
        "phrase",
        "misspelt",
        "units",
        "synonym",
        "numbers",
        "negated",
        "comparison",
        "state",
        "kind",
    ]
    .into_iter()
    .chain(["prefix", "nothing", "combo", "place", "grade", "label"])
    {
        assert!(questions.iter().any(|question| question.kind == kind), "no question is {kind}");
    }
    for question in &questions {
        assert_eq!(question.worth.is_empty(), question.kind == "nothing", "{}", question.id);
        let best = question.worth.iter().map(|worth| worth.grade).max();
        assert!(best.is_none_or(|best| best == 3), "{} asks for nothing in particular", question.id);
        assert!(!question.why.is_empty() && !question.ask.is_empty());
    }
}

#[test]
fn every_rule_holds_for_something_in_the_generated_notebook() {
    let truths: Vec<Truth> = Houses::new(JUDGED_SEED).jobs(JUDGED_JOBS).map(|house| house.truth).collect();
    let questions = read(QUESTIONS).unwrap();
    for question in questions.iter().filter(|question| question.of == Notebook::Houses) {
        for worth in &question.worth {
            let Which::Rule(rule) = &worth.which else { panic!("{} names records", question.id) };
            let count = truths.iter().flat_map(|truth| rule.records(truth)).count();
            assert!(count > 0, "{}: nothing has grade {}", question.id, worth.grade);
            // A question that half the notebook answers judges nothing.
            assert!(count < JUDGED_JOBS, "{}: {count} have grade {}", question.id, worth.grade);
        }
    }
}

#[test]
fn every_record_named_of_the_demo_is_in_its_files() {
    let files = ["01-notebook.jsonl", "02-jobs.jsonl", "06-tests.jsonl", "03-receipts.csv", "04-log.csv"]
        .map(|name| {
            let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../seed-data");
            std::fs::read_to_string(folder.join(name)).unwrap()
        });
    let [notebook, jobs, tests, receipts, log] = &files;
    let has = |named: &Pointed| match named.kind.as_str() {
        "receipt" => receipts.lines().any(|line| line.starts_with(&format!("{},", named.name))),
        "entry" => log.lines().filter(|line| line.contains(&named.name)).count() == 1,
        kind => {
            let start = format!(r#"{{"kind": "{kind}", "label": "{}""#, named.name);
            [notebook, jobs, tests].iter().any(|file| file.lines().any(|line| line.starts_with(&start)))
        }
    };
    for question in read(QUESTIONS).unwrap().iter().filter(|question| question.of == Notebook::Demo) {
        for worth in &question.worth {
            let Which::Records(records) = &worth.which else { panic!("{} has a rule", question.id) };
            for named in records {
                assert!(has(named), "{}: no {} {}, or more than one", question.id, named.kind, named.name);
            }
        }
    }
}
