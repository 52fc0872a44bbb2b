//! Tests of acknowledgements: when a caution counts as read, and when it comes back.

use proptest::prelude::*;

use super::*;

/// The noise of the job: who has read it, who had, and whether it came back.
fn noise(all: &Fixture, of: About) -> (Vec<String>, Vec<String>, bool) {
    let shown = cautions(&all.book, of).into_iter().find(|one| one.rule.name == "noise").unwrap();
    assert_eq!(shown.is_read(), !shown.read.is_empty());
    let people = |read: &[Read]| read.iter().map(|one| all.key(one.person.unwrap()).to_owned()).collect();
    (people(&shown.read), people(&shown.read_before), shown.came_back)
}

fn nobody() -> Vec<String> {
    Vec::new()
}

/// A job with loud readings that the lead has read the caution of.
fn loud() -> Fixture {
    let mut all = plain();
    read(&mut all, "source", "91 dBA");
    let (facts, about) = (facts(&all, "noise"), all.id("job", "J1"));
    acknowledge(&mut all, "noise", about, "lead", Some(&facts));
    all
}

#[test]
fn a_caution_is_read_for_its_facts_and_comes_back_with_others() {
    let mut all = plain();
    read(&mut all, "source", "91 dBA");
    assert_eq!(noise(&all, job(&all)), (nobody(), nobody(), false));
    let mut all = loud();
    let lead = vec!["lead".to_owned()];
    assert_eq!(noise(&all, job(&all)), (lead.clone(), nobody(), false));
    read(&mut all, "source", "90 dBA");
    assert_eq!(noise(&all, job(&all)), (lead.clone(), nobody(), false), "a quieter one changes no fact");
    read(&mut all, "source", "94 dBA");
    assert_eq!(noise(&all, job(&all)), (nobody(), lead.clone(), true));
    let shown = cautions(&all.book, job(&all));
    assert!(shown[0].facts.contains("94 dBA"));
    let before = &shown[0].read_before[0];
    assert_eq!(before.note.as_deref(), Some("told the crew"));
    assert!(before.facts_then.as_ref().unwrap().contains("91 dBA"), "what was read is told");
    all.strike("reading", "source 94 dBA");
    assert_eq!(noise(&all, job(&all)), (lead, nobody(), false));
}

#[test]
fn two_people_may_read_each_for_themselves() {
    let mut all = loud();
    read(&mut all, "source", "94 dBA");
    let (facts, about) = (facts(&all, "noise"), all.id("job", "J1"));
    acknowledge(&mut all, "noise", about, "helper", Some(&facts));
    assert_eq!(noise(&all, job(&all)), (vec!["helper".into()], vec!["lead".into()], false));
    all.change("acknowledgement", "noise lead", &[("facts", &facts)]);
    assert_eq!(noise(&all, job(&all)).0, ["lead", "helper"]);
}

#[test]
fn what_was_not_meant_for_it_does_not_count() {
    let mut all = loud();
    all.strike("acknowledgement", "noise lead");
    assert_eq!(noise(&all, job(&all)), (nobody(), nobody(), false), "struck");
    let mut all = loud();
    all.change("acknowledgement", "noise lead", &[("caution", "fibre")]);
    assert_eq!(noise(&all, job(&all)), (nobody(), nobody(), false), "of another caution");
    let mut all = loud();
    let other = all.put("job", "J2", &[("site", "S1"), ("title", "Other")]);
    all.change_value("acknowledgement", "noise lead", "about", Some(Value::Record(other)));
    assert_eq!(noise(&all, job(&all)), (nobody(), nobody(), false), "of another job");
    let mut all = loud();
    all.change_value("acknowledgement", "noise lead", "facts", None);
    assert_eq!(noise(&all, job(&all)), (nobody(), vec!["lead".into()], true), "without facts");
    let mut all = loud();
    all.set_conflict("acknowledgement", "noise lead", "facts");
    assert_eq!(noise(&all, job(&all)), (nobody(), vec!["lead".into()], true), "facts in conflict");
}

#[test]
fn what_was_read_for_a_job_counts_for_its_walls_and_tests() {
    let mut all = loud();
    let lead = vec!["lead".to_owned()];
    let (wall, test) = (about(&all, "assembly", "A02"), about(&all, "test", "Q1"));
    assert_eq!(noise(&all, wall).0, lead);
    assert_eq!(noise(&all, test).0, lead);
    set(&mut all, "T9", "A02");
    all.put("assembly", "A10", &[("element", "wall"), ("job", "J1")]);
    all.change("set", "T9", &[("assembly", "A10")]);
    all.put("reading", "louder", &[("set", "T9"), ("role", "source"), ("value", "94 dBA")]);
    let (facts, about_job) = (facts(&all, "noise"), all.id("job", "J1"));
    assert_eq!(noise(&all, wall).0, lead, "of this wall the facts are those of then");
    all.strike("acknowledgement", "noise lead");
    acknowledge(&mut all, "noise", about_job, "helper", Some(&facts));
    assert_eq!(noise(&all, wall).0, ["helper"], "the job's facts hold what is known of this wall");
    all.put("reading", "loudest", &[("set", "T9"), ("role", "source"), ("value", "97 dBA")]);
    assert_eq!(
        noise(&all, wall),
        (nobody(), vec!["helper".into()], true),
        "nobody read the job's facts as they are"
    );
}

#[test]
fn what_was_read_for_a_wall_does_not_count_for_the_job() {
    let mut all = loud();
    let wall = all.id("assembly", "A02");
    all.change_value("acknowledgement", "noise lead", "about", Some(Value::Record(wall)));
    assert_eq!(noise(&all, job(&all)), (nobody(), nobody(), false));
    assert_eq!(noise(&all, About::Assembly(wall)).0, ["lead"]);
}

#[test]
fn a_caution_of_two_jobs_has_to_be_read_for_each() {
    let mut all = loud();
    all.put("job", "J2", &[("site", "S1"), ("title", "Other")]);
    set(&mut all, "T2", "A02");
    all.change("set", "T2", &[("job", "J2")]);
    all.put("reading", "other", &[("set", "T2"), ("role", "source"), ("value", "95 dBA")]);
    let (first, second) = (all.id("job", "J1"), all.id("job", "J2"));
    let both = [About::Job(first), About::Job(second), about(&all, "test", "Q1")];
    let read_by = |all: &Fixture| -> Vec<String> {
        let shown = cautions_together(&all.book, &both);
        assert_eq!(shown.iter().filter(|one| one.rule.name == "noise").count(), 1);
        shown[0].read.iter().map(|one| all.key(one.person.unwrap()).to_owned()).collect()
    };
    assert_eq!(read_by(&all), nobody());
    let of_second = cautions(&all.book, About::Job(second))[0].facts.clone();
    assert!(of_second.contains("95 dBA"));
    acknowledge(&mut all, "noise", second, "helper", Some(&of_second));
    assert_eq!(read_by(&all), ["lead", "helper"]);
    all.put("reading", "more", &[("set", "T2"), ("role", "source"), ("value", "96 dBA")]);
    assert_eq!(read_by(&all), nobody());
    assert!(cautions_together(&all.book, &both)[0].came_back);
    assert_eq!(cautions_together(&all.book, &[]), []);
}

/// Facts longer than the field that keeps them are compared as far as it keeps them.
#[test]
fn long_facts_are_cut_before_they_are_compared() {
    let mut all = plain();
    for count in 0..8 {
        let fields = [("job", "J1"), ("hazard", "mould"), ("date", "2025-03-05")];
        let key = format!("M{count}");
        all.put("hazard", &key, &fields);
        all.change("hazard", &key, &[("note", &"grey spots ".repeat(40))]);
    }
    let shown = cautions(&all.book, job(&all)).remove(0);
    assert!(shown.facts.chars().count() > FACTS_LIMIT);
    let (kept, about) = (shown.facts_to_keep(), shown.about);
    assert!(kept.chars().count() <= FACTS_LIMIT);
    acknowledge(&mut all, "mould", about, "lead", Some(&kept));
    assert!(cautions(&all.book, job(&all))[0].is_read());
}

/// Facts longer than an acknowledgement keeps: what changes behind its end brings the caution back too.
#[test]
fn long_facts_come_back_when_their_end_changes() {
    let mut all = plain();
    for index in 0..60 {
        let fields =
            [("job", "J1"), ("hazard", "loud-work"), ("date", "2025-03-05"), ("note", "beside the stairs")];
        all.put("hazard", &format!("H{index}"), &fields);
    }
    let shown = |all: &Fixture| {
        cautions(&all.book, job(all)).into_iter().find(|one| one.rule.name == "noise").unwrap()
    };
    let kept = shown(&all).facts_to_keep();
    assert!(shown(&all).facts.chars().count() > 2_000 && kept.chars().count() == 2_000);
    let about = all.id("job", "J1");
    acknowledge(&mut all, "noise", about, "lead", Some(&kept));
    assert_eq!(noise(&all, job(&all)), (vec!["lead".to_owned()], nobody(), false));
    all.change("hazard", "H59", &[("note", "beside the crib..")]);
    assert_eq!(
        noise(&all, job(&all)),
        (nobody(), vec!["lead".to_owned()], true),
        "as long, with another end"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever is written, short or long: what was read stays read while the facts stay, and no longer.
    #[test]
    fn a_caution_is_read_just_as_long_as_its_facts_stay(
        notes in proptest::collection::vec("\\PC{0,200}", 1..20),
        at in any::<proptest::sample::Index>(),
        other in "\\PC{0,200}",
        is_struck in any::<bool>(),
    ) {
        let mut all = plain();
        let key = |index: usize| format!("H{index}");
        let text = |note: &str| Some(Value::Text(note.to_owned()));
        for (index, note) in notes.iter().enumerate() {
            all.put("hazard", &key(index), &[("job", "J1"), ("hazard", "loud-work")]);
            all.change_value("hazard", &key(index), "note", text(note));
        }
        let shown = |all: &Fixture| {
            cautions(&all.book, job(all)).into_iter().find(|one| one.rule.name == "noise")
        };
        let before = shown(&all).unwrap();
        let about = all.id("job", "J1");
        acknowledge(&mut all, "noise", about, "lead", None);
        all.change_value("acknowledgement", "noise lead", "facts", text(&before.facts_to_keep()));
        prop_assert!(shown(&all).unwrap().is_read());
        let changed = key(at.index(notes.len()));
        all.change_value("hazard", &changed, "note", text(&other));
        if is_struck {
            all.strike("hazard", &changed);
        }
        if let Some(after) = shown(&all) {
            prop_assert_eq!(after.is_read(), after.facts == before.facts);
            prop_assert_eq!(after.came_back, !after.is_read());
        }
    }
}
