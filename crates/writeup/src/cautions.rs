//! Cautions of a write-up: those the ledger shows for its jobs, with all tests it rests on.
//!
//! One that was read is printed all the same, with the role of who read it. Leaves out the rules themselves, and the notes
//! people wrote when they read one: those are for the crew.

use std::collections::BTreeSet;

use storypole_ledger::{About, Shown, cautions_together};
use storypole_notebook::Book;

use crate::document::Caution;
use crate::scope::Scope;

/// Cautions whose condition is met.
pub(crate) fn shown(scope: &Scope<'_>) -> Vec<Caution> {
    let jobs = scope.asked_jobs().map(|job| About::Job(job.id));
    let tests = scope.tests.iter().map(|test| About::Test(test.test));
    let of: Vec<About> = jobs.chain(tests).collect();
    cautions_together(scope.book, &of).into_iter().map(|one| caution(scope.book, one)).collect()
}

fn caution(book: &Book, one: Shown) -> Caution {
    let roles =
        one.read.iter().map(|read| book.people.of(read.person).and_then(|person| person.role.clone()));
    let roles: BTreeSet<String> = roles.map(|role| role.unwrap_or_else(|| "a person".to_owned())).collect();
    Caution {
        name: one.rule.name,
        subject: one.rule.subject,
        facts: one.facts,
        text: one.text,
        source: one.rule.source,
        read_by: roles.into_iter().collect(),
    }
}

#[cfg(test)]
mod tests {
    use storypole_ledger::caution::ASK;

    use super::*;
    use crate::fixture::{Fixture, demo, small};
    use crate::subject::Subject;

    fn of_test(all: &Fixture, test: &str) -> Vec<Caution> {
        shown(&Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap())
    }

    fn names(all: &Fixture, test: &str) -> Vec<&'static str> {
        of_test(all, test).iter().map(|caution| caution.name).collect()
    }

    #[test]
    fn every_caution_ends_with_whom_to_ask() {
        assert!(of_test(&demo(), "Q1").iter().all(|caution| caution.text.ends_with(ASK)));
    }

    /// Source: the demo scenario, invented.
    #[test]
    fn each_test_shows_what_applies() {
        let all = demo();
        // The rebuilt wall of Q1 weighs 13.9 kg/m2 more than the old one, and its boxes were moved.
        assert_eq!(
            names(&all, "Q1"),
            ["noise", "structure", "boxes", "lead", "asbestos", "fibre", "permits"]
        );
        // A second layer of 11 kg/m2 on a wall between units A and B.
        assert_eq!(names(&all, "Q2"), ["noise", "structure", "dwellings", "fire", "fibre"]);
        // One layer more on the closet's wall, which had bare studs there.
        assert_eq!(names(&all, "Q4"), ["noise", "combustion-air", "structure", "fibre"]);
        assert_eq!(names(&all, "Q5"), ["fibre"]);
        assert_eq!(names(&all, "Q7"), ["lead", "asbestos"]);
    }

    /// A write-up of a job rests on its tests, and those on sets of other jobs.
    #[test]
    fn a_job_shows_what_its_tests_show() {
        let all = demo();
        let of_job = |label: &str| shown(&Scope::of(&all.book, Subject::Job(all.id("job", label))).unwrap());
        assert_eq!(of_job("J2"), of_test(&all, "Q1"));
        let names: Vec<&str> = of_job("J8").iter().map(|caution| caution.name).collect();
        assert_eq!(names, ["lead", "asbestos"]);
    }

    #[test]
    fn conditions_turn_on_their_facts() {
        let mut all = small();
        assert_eq!(names(&all, "Q1"), ["noise"]);
        for reading in ["T01/S1", "T01/S2", "T01/S3", "T02/S1", "T02/S2", "T02/S3"] {
            all.change("reading", reading, &[("value", "84.9 dBA")]);
        }
        assert_eq!(names(&all, "Q1"), [] as [&str; 0]);
        all.change("reading", "T01/S1", &[("value", "85.0 dBA")]);
        assert_eq!(names(&all, "Q1"), ["noise"]);
        all.change("site", "S1", &[("built_year", "1977")]);
        assert_eq!(names(&all, "Q1"), ["noise", "lead", "asbestos"]);
        all.clear("site", "S1", "built_year");
        assert_eq!(names(&all, "Q1"), ["noise", "lead", "asbestos"]);
        all.change("site", "S1", &[("built_year", "1978")]);
        all.change("job", "J1", &[("note", "The boiler stays.")]);
        assert_eq!(names(&all, "Q1"), ["noise", "combustion-air"]);
    }

    #[test]
    fn who_has_read_one_is_told_by_role_and_it_is_still_printed() {
        let mut all = small();
        let facts = of_test(&all, "Q1")[0].facts.clone();
        for person in ["lead", "helper"] {
            let fields =
                [("caution", "noise"), ("about", "job:J1"), ("person", person), ("note", "in the van")];
            all.put("acknowledgement", person, &fields);
            all.change("acknowledgement", person, &[("facts", &facts)]);
        }
        let read = of_test(&all, "Q1");
        assert_eq!((read.len(), &read[0].read_by), (1, &vec!["helper".to_owned(), "site lead".to_owned()]));
        all.change("reading", "T01/S1", &[("value", "90.0 dBA")]);
        assert_eq!(of_test(&all, "Q1")[0].read_by, [] as [&str; 0]);
    }

    /// What was read holds the words as they were written; the facts are then cleaned of names, and so is what was read.
    #[test]
    fn names_in_facts_do_not_bring_a_caution_back() {
        let mut all = small();
        all.put("person", "zz-nick", &[("role", "owner A")]);
        let hazard = [("job", "J1"), ("hazard", "mould"), ("date", "2025-04-15"), ("note", "told zz-nick")];
        all.put("hazard", "H1", &hazard);
        let of = About::Job(all.id("job", "J1"));
        let shown_there = storypole_ledger::cautions(&all.book, of);
        let told = shown_there.into_iter().find(|one| one.rule.name == "mould").unwrap();
        assert!(told.facts.contains("zz-nick"));
        let fields = [("caution", "mould"), ("about", "job:J1"), ("person", "lead")];
        all.put("acknowledgement", "K1", &fields);
        all.change("acknowledgement", "K1", &[("facts", &told.facts_to_keep())]);
        let cleaner = crate::privacy::Cleaner::of(&all.book);
        let book = crate::privacy::published(&all.book, &cleaner);
        let scope = Scope::of(&book, Subject::Test(all.id("test", "Q1"))).unwrap();
        let printed = shown(&scope).into_iter().find(|one| one.name == "mould").unwrap();
        assert_eq!(printed.facts, "Written down for J1 on 2025-04-15: mould (\"told owner A\").");
        assert_eq!(printed.read_by, ["site lead"]);
    }
}
