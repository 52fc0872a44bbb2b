//! Tests of cautions: what each rule is met by and what it is not, who has read it, and what the demo scenario shows.

use storypole_journal::RecordId;
use storypole_notebook::Value;
use storypole_notebook::kinds::HAZARDS;

use super::*;
use crate::fixture::Fixture;

mod demo;
mod reading;
mod screens;

type Change = fn(&mut Fixture);

const THIN: &str = "gypsum 12.7 x1, 8.1 kg/m2";
const THICK: &str = "gypsum 15.9 x1, 11 kg/m2";

/// A house that is not old, with one job, two rooms, one wall in two versions of the same make, and one set.
fn plain() -> Fixture {
    let mut all = Fixture::default();
    all.put("notebook", "N", &[("name", "Tests"), ("currency", "USD")]);
    all.put("site", "S1", &[("name", "House"), ("built_year", "1994")]);
    all.put("room", "R1", &[("site", "S1"), ("name", "study")]);
    all.put("room", "R2", &[("site", "S1"), ("name", "hall")]);
    all.put("job", "J1", &[("site", "S1"), ("title", "Wall")]);
    all.put("person", "lead", &[("role", "site lead")]);
    all.put("person", "helper", &[("role", "helper")]);
    let openings = "door solid-core 1.65 m2, gasket; boxes 2, offset 610";
    for (label, state) in [("A01", "finished"), ("A02", "finished")] {
        let fields =
            [("element", "wall"), ("job", "J1"), ("room_a", "R1"), ("room_b", "R2"), ("state", state)];
        all.put("assembly", label, &fields);
        let parts =
            [("leaf_a", THIN), ("leaf_b", THIN), ("cavity", "89 clear, empty"), ("openings", openings)];
        all.change("assembly", label, &parts);
    }
    all.change("assembly", "A02", &[("replaces", "A01"), ("between", "rooms")]);
    all.put("test", "Q1", &[("question", "Is it quieter?"), ("job", "J1")]);
    set(&mut all, "T1", "A02");
    all
}

fn set(all: &mut Fixture, label: &str, assembly: &str) {
    let fields =
        [("test", "Q1"), ("job", "J1"), ("stage", "after"), ("assembly", assembly), ("date", "2025-03-04")];
    all.put("set", label, &fields);
}

fn read(all: &mut Fixture, role: &str, value: &str) {
    all.put("reading", &format!("{role} {value}"), &[("set", "T1"), ("role", role), ("value", value)]);
}

fn hazard(all: &mut Fixture, hazard: &str) {
    all.put("hazard", hazard, &[("job", "J1"), ("hazard", hazard), ("date", "2025-03-05")]);
}

fn log(all: &mut Fixture, text: &str) {
    let fields =
        [("site", "S1"), ("job", "J1"), ("date", "2025-03-05"), ("entry_kind", "work"), ("text", text)];
    all.put("entry", "E", &fields);
    all.change_value("entry", "E", "label", None);
}

fn task(all: &mut Fixture, title: &str) {
    all.put("task", "K1", &[("job", "J1"), ("title", title), ("state", "to-do")]);
}

fn use_of(all: &mut Fixture, label: &str, name: &str, fields: &[(&str, &str)]) {
    all.put("material", label, &[("name", name), ("unit", "sheet")]);
    all.change("material", label, fields);
    all.used(label, "S1", "J1", "3", "2025-03-05");
}

fn bought(all: &mut Fixture, item: &str, group: &str) {
    all.put("receipt", "P1", &[("date", "2025-03-04"), ("job", "J1")]);
    crate::fixture::other_line(all, "P1", item, "12.00", group);
}

fn wall(all: &mut Fixture, field: &str, text: &str) {
    all.change("assembly", "A02", &[(field, text)]);
}

fn names_of(all: &Fixture, of: About) -> Vec<&'static str> {
    cautions(&all.book, of).iter().map(|one| one.rule.name).collect()
}

fn job(all: &Fixture) -> About {
    About::Job(all.id("job", "J1"))
}

/// The facts of one caution of the job.
fn facts(all: &Fixture, name: &str) -> String {
    let shown = cautions(&all.book, job(all));
    shown.into_iter().find(|one| one.rule.name == name).map(|one| one.facts).unwrap_or_default()
}

/// Rule, what meets it with the facts told, and what comes near and does not.
///
/// Source of the conditions: common practice, no source; limits of levels NIOSH publication 98-126, of years 40 CFR 745.103.
#[rustfmt::skip]
const CASES: &[(&str, Change, &str, &str, Change)] = &[
    ("noise", |all| read(all, "source", "85.0 dBA"),
     "The source room was read at up to 85.0 dBA, where the recommended daily limit is reached after about 480 minutes.",
     "a level just below", |all| read(all, "source", "84.9 dBA")),
    ("noise", |all| read(all, "direct", "103 dBA"),
     "A reading elsewhere, as beside a tool, shows up to 103 dBA, where the recommended daily limit is reached after about 7 minutes.",
     "a C-weighted level, which the limit is not for", |all| read(all, "source", "95 dBC")),
    ("combustion-air", |all| wall(all, "openings", "door louvred 1.6 m2"), "Louvres or a grille in A02.",
     "a solid door", |all| wall(all, "openings", "door solid-core 1.6 m2, unsealed")),
    ("combustion-air", |all| all.change("room", "R1", &[("fuel_appliance", "gas water heater")]),
     "What burns fuel in R1: gas water heater.",
     "an appliance in a room of another job", |all| {
         all.put("room", "R9", &[("site", "S1"), ("name", "shed"), ("fuel_appliance", "wood stove")]);
     }),
    ("combustion-air", |all| task(all, "Measure beside the boiler"), "\"boiler\" is written in task K1.",
     "none there", |all| task(all, "There is no boiler")),
    ("structure", |all| log(all, "One joist notched for a pipe."),
     "\"joist\" and \"notched\" are written in the log of 2025-03-05.",
     "a joist left alone, and a board cut", |all| log(all, "Joists measured. Board cut.")),
    ("structure", |all| wall(all, "leaf_a", "gypsum 15.9 x1 + gypsum 12.7 x1, 16.1 kg/m2"),
     "The boards of A02 weigh 8 kg/m2 more than those of A01.",
     "a little heavier board", |all| wall(all, "leaf_a", "gypsum 15.9 x1, 16 kg/m2")),
    ("structure", |all| wall(all, "leaf_b", "gypsum 12.7 x2"), "A02 has 1 layer of board more than A01.",
     "another board in its place, its mass unknown", |all| wall(all, "leaf_b", "gypsum 15.9 x1")),
    ("dwellings", |all| {
         all.change("room", "R1", &[("name", "unit A study")]);
         all.change("room", "R2", &[("name", "unit B hall")]);
     }, "A01 and A02 stand between unit a and unit b.",
     "two rooms of one unit", |all| {
         all.change("room", "R1", &[("name", "unit A study")]);
         all.change("room", "R2", &[("name", "unit A hall")]);
     }),
    ("dwellings", |all| wall(all, "between", "dwellings"), "A02 stands between dwellings.",
     "a wall to the garage", |all| wall(all, "between", "garage")),
    ("fire", |all| wall(all, "between", "garage"), "Beside a garage: A02.",
     "a wall between rooms", |all| wall(all, "between", "rooms")),
    ("fire", |all| wall(all, "fire_rated", "yes"), "Noted as holding back fire: A02.",
     "one noted as not", |all| wall(all, "fire_rated", "no")),
    ("fire", |all| wall(all, "between", "shaft"), "Beside a shaft: A02.",
     "an outside wall", |all| wall(all, "between", "outside")),
    ("structure", |all| log(all, "Corté un montante para la puerta."),
     "\"montante\" and \"corte\" are written in the log of 2025-03-05.",
     "a stud that was only painted", |all| log(all, "Pinté un montante. Corte de lana.")),
    ("fire", |all| log(all, "Wire pulled through the plates."),
     "\"wire\" and \"through the plate\" are written in the log of 2025-03-05.",
     "a wire on its own", |all| log(all, "Wire pulled. Plates nailed.")),
    ("fire", |all| log(all, "Rated wall: listed parts only."),
     "A wall that has to hold back fire is spoken of in the log of 2025-03-05.",
     "another wall", |all| log(all, "Long wall: listed parts only.")),
    ("boxes", |all| wall(all, "openings", "door solid-core 1.65 m2, gasket; boxes 2 tight, offset 610"),
     "The boxes of A02 are not those of A01.",
     "another door, the same boxes", |all| wall(all, "openings", "door hollow-core 1.65 m2; boxes 2, offset 610")),
    ("boxes", |all| log(all, "Electrician here, two boxes moved."),
     "\"boxes\" and \"moved\" are written in the log of 2025-03-05.",
     "boxes that nobody looked at", |all| wall(all, "openings", "unknown")),
    ("hot-lights", |all| {
         wall(all, "cavity", "89 clear, cellulose 89");
         log(all, "Two recessed lights in the ceiling.");
     }, "\"recessed light\" is written in the log of 2025-03-05. Insulation: A02.",
     "recessed lights without insulation", |all| log(all, "Two recessed lights in the ceiling.")),
    ("hot-lights", |all| {
         use_of(all, "foam", "rigid foam board", &[]);
         task(all, "Foam up to the flue");
     }, "\"flue\" is written in task K1. Insulation: foam.",
     "insulation and no flue", |all| {
         use_of(all, "foam", "rigid foam board", &[]);
         task(all, "Foam up to the fluted trim");
     }),
    ("ladders", |all| log(all, "Near miss: ladder foot on plastic sheet."), "\"ladder\" is written in the log of 2025-03-05.",
     "another word", |all| log(all, "A bladder of water for the roller.")),
    ("ladders", |all| bought(all, "stepladder, 1 day", "rental"), "\"stepladder\" is written in receipt P1.",
     "none used", |all| log(all, "Reached without ladder.")),
    ("lead", |all| all.change("site", "S1", &[("built_year", "1977")]), "The house was built in 1977.",
     "built in the first year that does not count", |all| all.change("site", "S1", &[("built_year", "1978")])),
    ("lead", |all| {
         all.change_value("site", "S1", "built_year", None);
         all.change("job", "J1", &[("paid", "yes")]);
     }, "The year the house was built is not written down. J1 is done for pay.",
     "paid work in a newer house", |all| all.change("job", "J1", &[("paid", "yes")])),
    ("asbestos", |all| all.change("site", "S1", &[("built_year", "1962")]), "The house was built in 1962.",
     "a bench with a panel, its house unknown", |all| {
         all.change_value("site", "S1", "built_year", None);
         all.change("test", "Q1", &[("bench_rig", "yes")]);
         for label in ["A01", "A02"] {
             all.change("assembly", label, &[("element", "panel")]);
         }
     }),
    ("asbestos", |all| log(all, "Vermiculite in the attic."), "\"vermiculite\" is written in the log of 2025-03-05.",
     "none found", |all| log(all, "No vermiculite in the attic.")),
    ("silica", |all| use_of(all, "backer", "cement board 1/2 in 3x5", &[]), "Cement, stone or tile was used on J1: backer.",
     "gypsum board", |all| use_of(all, "board", "gypsum board 1/2 in 3x5", &[])),
    ("silica", |all| log(all, "Slots cut in the concrete."), "\"concrete\" and \"cut\" are written in the log of 2025-03-05.",
     "concrete that was left alone", |all| log(all, "Concrete swept. Batts cut.")),
    ("ladders", |all| log(all, "Pinté el techo con la escalera."), "\"escalera\" is written in the log of 2025-03-05.",
     "none used", |all| log(all, "Pinté el techo sin escalera.")),
    ("silica", |all| log(all, "Cortado el hormigón del piso."), "\"hormigon\" and \"cortado\" are written in the log of 2025-03-05.",
     "concrete that was left alone", |all| log(all, "Hormigón barrido. Lana cortada.")),
    ("mould", |all| log(all, "Moho detrás del zócalo."), "\"moho\" is written in the log of 2025-03-05.",
     "none found", |all| log(all, "No hay moho detrás del zócalo.")),
    ("mould", |all| log(all, "Mold behind the trim, left alone."), "\"mold\" is written in the log of 2025-03-05.",
     "none found", |all| log(all, "No mould behind the trim.")),
    ("mould", |all| task(all, "Ask about the knob-and-tube wiring"), "\"knob and tube\" is written in task K1.",
     "a door knob and a tube of sealant", |all| task(all, "Door knob and a tube of sealant")),
    ("lifting", |all| {
         let fields = [("width", "48 in"), ("length", "96 in"), ("thickness", "5/8 in"), ("form", "sheet")];
         use_of(all, "board-58x", "type X board", &fields);
     }, "Large heavy sheets were used on J1: board-58x.",
     "thinner board", |all| {
         let fields = [("width", "48 in"), ("length", "96 in"), ("thickness", "1/2 in"), ("form", "sheet")];
         use_of(all, "board-12", "board", &fields);
     }),
    ("lifting", |all| use_of(all, "ply", "plywood 3/4 4x8", &[]), "Large heavy sheets were used on J1: ply.",
     "foam board, which is light", |all| use_of(all, "foam", "rigid foam board 2 in, 4x8", &[("thickness", "2 in")])),
    ("fibre", |all| use_of(all, "batt-r13", "glass-fibre batt R-13", &[]), "Glass fibre was used on J1: batt-r13.",
     "a batt of cotton", |all| use_of(all, "batt-c", "batt R-13", &[("made_of", "cotton")])),
    ("fibre", |all| wall(all, "cavity", "89 clear, stone wool 89, 40 kg/m3"), "Glass fibre or stone wool is in A02.",
     "cellulose", |all| wall(all, "cavity", "89 clear, cellulose 89, 56 kg/m3")),
    ("dust", |all| log(all, "Extra board cut and hung."), "\"board\" and \"cut\" are written in the log of 2025-03-05.",
     "board that was only carried", |all| log(all, "Extra board brought. Batts cut.")),
    ("vapour-retarder", |all| wall(all, "between", "outside"),
     "A02 faces the outside and was rebuilt from A01. The climate zone is not written down.",
     "an outside door", |all| {
         wall(all, "between", "outside");
         wall(all, "element", "door");
     }),
    ("vapour-retarder", |all| {
         all.change("assembly", "A01", &[("between", "outside"), ("state", "bare-studs")]);
         all.change("site", "S1", &[("climate_zone", "6A")]);
     }, "A01 faces the outside and stands open. The climate zone is 6A.",
     "an outside wall that stays closed", |all| all.change("assembly", "A01", &[("between", "outside")])),
    ("permits", |all| bought(all, "permit", "permit"), "A permit is on receipt P1.",
     "a fee for disposal", |all| bought(all, "tipping fee", "disposal")),
    ("permits", |all| {
         log(all, "Seen before cover.");
         all.change("entry", "E", &[("entry_kind", "inspection"), ("outcome", "passed")]);
     }, "The log has an inspection of 2025-03-05.",
     "a visitor", |all| {
         log(all, "Seen before cover.");
         all.change("entry", "E", &[("entry_kind", "visitor")]);
     }),
];

#[test]
fn words_for_glass_stone_and_cement_are_parted_where_they_should_be() {
    let of = |kind: &str| goods::NAMED.iter().find(|(name, _)| *name == kind).unwrap().1;
    assert_eq!(
        (of("glass fibre").first(), of("glass fibre").last()),
        (Some(&"glass fibre"), Some(&"lana de vidrio"))
    );
    assert_eq!(
        (of("stone wool").first(), of("stone wool").last()),
        (Some(&"stone wool"), Some(&"fibra mineral"))
    );
    assert_eq!((of("cement").first(), of("cement").last()), (Some(&"concrete"), Some(&"estuco")));
}

#[test]
fn each_rule_is_met_by_its_facts_and_not_by_what_comes_near() {
    assert_eq!(names_of(&plain(), job(&plain())), [] as [&str; 0], "the plain house shows nothing");
    for (name, meets, words, near, misses) in CASES {
        let mut all = plain();
        meets(&mut all);
        assert_eq!(facts(&all, name), *words);
        let mut all = plain();
        misses(&mut all);
        assert_eq!(facts(&all, name), "", "{name}: {near}");
    }
    for rule in caution_rules() {
        assert!(CASES.iter().any(|case| case.0 == rule.name), "{} has no case", rule.name);
    }
}

#[test]
fn every_hazard_shows_a_caution_until_it_is_struck() {
    for (hazard_kind, rules) in [
        ("mineral-fibre", &["fibre"][..]),
        ("silica-dust", &["silica"]),
        ("old-paint", &["lead"]),
        ("suspect-material", &["asbestos"]),
        ("loud-work", &["noise"]),
        ("box-work", &["boxes", "permits"]),
        ("hot-light-or-flue", &["hot-lights"]),
        ("fuel-appliance", &["combustion-air"]),
        ("rated-wall", &["fire", "permits"]),
        ("hole-through-plates", &["fire", "permits"]),
        ("open-outside-wall", &["vapour-retarder"]),
        ("cut-framing", &["structure", "permits"]),
        ("heavy-board", &["structure"]),
        ("ladder", &["ladders"]),
        ("permit-work", &["permits"]),
        ("dust-indoors", &["dust"]),
        ("heavy-lifting", &["lifting"]),
        ("mould", &["mould"]),
        ("animals", &["mould"]),
        ("old-wiring", &["mould"]),
    ] {
        assert!(HAZARDS.contains(&hazard_kind));
        let mut all = plain();
        hazard(&mut all, hazard_kind);
        assert_eq!(names_of(&all, job(&all)), rules, "{hazard_kind}");
        all.strike("hazard", hazard_kind);
        assert_eq!(names_of(&all, job(&all)), [] as [&str; 0], "{hazard_kind}");
    }
    for hazard in HAZARDS {
        assert!(caution_rules().iter().any(|rule| rule.hazards.contains(hazard)), "{hazard} shows nothing");
        assert!(
            scope::hazard_words(hazard).contains(' ') || matches!(*hazard, "mould" | "animals"),
            "{hazard}"
        );
    }
}

#[test]
fn a_hazard_is_told_with_place_day_and_note() {
    let mut all = plain();
    hazard(&mut all, "old-paint");
    all.change(
        "hazard",
        "old-paint",
        &[("room", "R1"), ("assembly", "A02"), ("note", "flaking on the sill")],
    );
    assert_eq!(
        facts(&all, "lead"),
        "Written down for J1, R1, A02 on 2025-03-05: old paint (\"flaking on the sill\")."
    );
}

#[test]
fn cautions_ask_and_never_promise() {
    let mut names: Vec<&str> = Vec::new();
    for rule in caution_rules() {
        let all = format!("{} {} {}", rule.subject, rule.text, rule.source).to_lowercase();
        for word in all.split(|letter: char| !letter.is_alphabetic()) {
            assert!(
                !matches!(word, "safe" | "safely" | "compliant" | "rated" | "ok"),
                "{}: {word}",
                rule.name
            );
        }
        assert!(!all.contains("certified result") && !rule.source.is_empty(), "{}", rule.name);
        assert!(rule.text.ends_with('.') && rule.words().ends_with(ASK), "{}", rule.name);
        let sentences = rule.text.matches(". ").count() + 1;
        assert!((2..=4).contains(&sentences), "{}: {sentences} sentences", rule.name);
        assert!(!names.contains(&rule.name), "{} twice", rule.name);
        assert_eq!(CautionRule::find(rule.name), Some(rule));
        names.push(rule.name);
    }
    let first_seven = ["noise", "combustion-air", "dwellings", "boxes", "lead", "asbestos", "fibre"];
    names.retain(|name| first_seven.contains(name));
    assert_eq!(names, first_seven);
}

/// Source: NIOSH publication 98-126, table 1-1 (durations for levels from 85 to 100 dBA), from memory.
#[test]
fn exposure_times_are_the_published_ones() {
    for (level_dba, minutes) in
        [(85.0, 480.0), (88.0, 240.0), (91.0, 120.0), (94.0, 60.0), (97.0, 30.0), (100.0, 15.0)]
    {
        assert!((recommended_minutes(level_dba) - minutes).abs() < 1e-9, "{level_dba}");
    }
}

#[test]
fn many_places_are_cut_short() {
    let mut all = plain();
    for day in 1..=7 {
        let key = format!("E{day}");
        let date = format!("2025-03-{day:02}");
        let fields = [
            ("site", "S1"),
            ("job", "J1"),
            ("date", date.as_str()),
            ("entry_kind", "work"),
            ("text", "Ladder up."),
        ];
        all.put("entry", &key, &fields);
    }
    assert_eq!(
        facts(&all, "ladders"),
        "\"ladder\" is written in the log of 2025-03-01 (E1), the log of 2025-03-02 (E2), the log of 2025-03-03 (E3), \
         the log of 2025-03-04 (E4), the log of 2025-03-05 (E5) and 2 more."
    );
}

#[test]
fn studs_that_were_bare_for_a_while_are_no_new_board() {
    let mut all = plain();
    let bare = [
        ("element", "wall"),
        ("job", "J1"),
        ("replaces", "A01"),
        ("state", "bare-studs"),
        ("leaf_b", "none"),
    ];
    all.put("assembly", "A01b", &bare);
    all.change("assembly", "A01b", &[("leaf_a", THIN)]);
    all.change("assembly", "A02", &[("replaces", "A01b")]);
    assert_eq!(facts(&all, "structure"), "");
    all.change("assembly", "A02", &[("leaf_b", THICK)]);
    assert_eq!(facts(&all, "structure"), "", "2.9 kg/m2 more than A01");
    all.change("assembly", "A01", &[("state", "bare-studs"), ("replaces", "A02")]);
    assert_eq!(
        facts(&all, "structure"),
        "The boards of A02 weigh 11 kg/m2 more than those of A01b.",
        "versions that replace each other in a ring come to an end"
    );
}

#[test]
fn goods_of_a_struck_or_returned_line_do_not_count() {
    let mut all = plain();
    all.put("material", "batt", &[("name", "batt"), ("unit", "piece"), ("made_of", "glass fibre")]);
    all.receipt("P1", &[("date", "2025-03-04"), ("job", "J1")], &[("batt", "2", "piece", "5.00")]);
    assert_eq!(facts(&all, "fibre"), "Glass fibre was bought on J1: batt.");
    all.change("line", "P1/batt", &[("quantity", "-2")]);
    assert_eq!(facts(&all, "fibre"), "");
    all.change("line", "P1/batt", &[("quantity", "2")]);
    all.strike("receipt", "P1");
    assert_eq!(facts(&all, "fibre"), "");
}

#[test]
fn what_is_asked_for_bounds_what_is_looked_at() {
    let mut all = plain();
    all.put("site", "S2", &[("name", "Other house"), ("built_year", "1994")]);
    all.put("job", "J2", &[("site", "S2"), ("title", "Other")]);
    all.put("assembly", "A10", &[("element", "wall"), ("job", "J1"), ("between", "garage")]);
    all.put(
        "assembly",
        "A03",
        &[("element", "wall"), ("job", "J2"), ("replaces", "A02"), ("between", "shaft")],
    );
    log(&mut all, "Ladder beside the other wall.");
    all.change("entry", "E", &[("assembly", "A10")]);
    read(&mut all, "source", "90 dBA");
    let of = |kind: &str, label: &str| names_of(&all, about(&all, kind, label));
    assert_eq!(of("job", "J1"), ["noise", "fire", "ladders"]);
    assert_eq!(of("job", "J2"), ["fire"]);
    assert_eq!(of("assembly", "A01"), ["noise", "fire"], "newer versions of other jobs too");
    assert_eq!(of("assembly", "A10"), ["fire", "ladders"]);
    assert_eq!(of("test", "Q1"), ["noise", "ladders"], "the job's log, not its other walls");
    assert_eq!(of("site", "S1"), of("job", "J1"));
    assert_eq!(of("site", "S2"), ["fire"]);
    assert_eq!(names_of(&all, About::Notebook), ["noise", "fire", "ladders", "fire"]);
    assert_eq!(names_of(&all, About::Job(RecordId::from_parts(1, [9; 10]))), [] as [&str; 0]);
}

#[test]
fn what_has_no_job_is_told_of_the_site_or_the_test() {
    let mut all = plain();
    let fields = [("site", "S1"), ("date", "2025-03-05"), ("entry_kind", "safety"), ("text", "Ladder up.")];
    all.put("entry", "E1", &fields);
    all.put("test", "Q2", &[("question", "How loud is it?")]);
    all.put("set", "T2", &[("test", "Q2"), ("stage", "before"), ("date", "2025-03-04")]);
    all.put("reading", "loud", &[("set", "T2"), ("role", "source"), ("value", "90 dBA")]);
    let shown = cautions(&all.book, About::Notebook);
    let told: Vec<(&str, &str, RecordId)> =
        shown.iter().map(|one| (one.rule.name, one.about_kind, one.about)).collect();
    let (site, test) = (all.id("site", "S1"), all.id("test", "Q2"));
    assert_eq!(told, [("ladders", "site", site), ("noise", "test", test)]);
    assert_eq!(names_of(&all, About::Site(site)), ["ladders"]);
    all.strike("test", "Q2");
    assert_eq!(names_of(&all, About::Test(test)), [] as [&str; 0]);
    assert_eq!(names_of(&all, About::Notebook), ["ladders"]);
}

fn about(all: &Fixture, kind: &str, label: &str) -> About {
    let id = all.id(kind, label);
    match kind {
        "site" => About::Site(id),
        "job" => About::Job(id),
        "assembly" => About::Assembly(id),
        _ => About::Test(id),
    }
}

/// Writes an acknowledgement: its key is the caution's name and the person's.
fn acknowledge(all: &mut Fixture, name: &str, about: RecordId, person: &str, facts: Option<&str>) {
    let key = format!("{name} {person}");
    all.put("acknowledgement", &key, &[("caution", name), ("person", person), ("note", "told the crew")]);
    all.change_value("acknowledgement", &key, "about", Some(Value::Record(about)));
    if let Some(facts) = facts {
        all.change("acknowledgement", &key, &[("facts", facts)]);
    }
}
