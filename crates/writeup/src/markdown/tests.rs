//! Whole files: a small one letter by letter, the demo's numbers, and what a hostile notebook cannot do.

use expect_test::expect;
use proptest::prelude::*;

use super::front_matter::tests::read;
use super::*;
use crate::files::html::tests::full;
use crate::fixture::{Fixture, demo, small};
use crate::{Choices, Subject, document};

fn choices() -> Choices {
    Choices::new("2025-05-24".parse().unwrap(), "0.1.0")
}

fn written(all: &Fixture, subject: Subject) -> String {
    markdown(&document(&all.book, subject, &choices()).unwrap())
}

#[test]
fn a_small_write_up_letter_by_letter() {
    let all = small();
    expect![[r#"
        ---
        title: "Does fill alone help?"
        slug: "does-fill-alone-help"
        date: "2025-05-24"
        summary: "T01 to T02, music-practice room to hall, dBA: About 3.9 dB better, measured at 4 spots. The true figure is very likely between 2.9 and 4.9."
        tags: ["cellulose", "sound", "wall"]
        cover: "pictures/positions-t01-t02.svg"
        cover_alt: "About 3.9 dB better, measured at 4 spots. The true figure is very likely between 2.9 and 4.9. A-weighted level difference before and after at four positions, dB: R1 30.9 then 34.7, R2 31.6 then 35.4, R3 30.2 then 34.0, R4 31.0 then 34.9; average 30.9 then 34.8."
        language: "en"
        disclosure: false
        jobs: ["J1"]
        tests: ["Q1"]
        data_licence: "CC-BY-4.0"
        tool: "storypole 0.1.0"
        ---

        # Does fill alone help?

        ## Question

        Q1: Does fill alone help?

        - T01 to T02, music-practice room to hall, dBA: About 3.9 dB better, measured at 4 spots. The true figure is very likely between 2.9 and 4.9.

        ## What was built

        Assembly versions, millimetres and kilograms unless said; bold is what a version changed.

        | Part | A01 | A02 |
        | --- | --- | --- |
        | What | wall | wall |
        | Side A | hall | hall |
        | Leaf A | gypsum 12.7 x1, 8.1 kg/m2, direct | gypsum 12.7 x1, 8.1 kg/m2, direct |
        | Frame | single wood 38x89@406 | single wood 38x89@406 |
        | Cavity | 89 clear, empty | **89 clear, cellulose 89, 56 kg/m3** |
        | Leaf B | gypsum 12.7 x1, 8.1 kg/m2, direct | gypsum 12.7 x1, 8.1 kg/m2, direct |
        | Side B | music-practice room | music-practice room |
        | Openings | none | none |
        | Seals | none | none |
        | State | finished | finished |
        | Length | 11' (3353 mm) | 11' (3353 mm) |
        | Height | 8' 1 1/8" (2467 mm) | 8' 1 1/8" (2467 mm) |
        | Area | 89.03 ft2 (8.271 m2) | 89.03 ft2 (8.271 m2) |

        - A02 replaces A01. Changed: cavity.

        ![Level cut seen from above, 4 1/2" (114.4 mm) thick, from side A (hall) to side B (music-practice room): gypsum board, 1/2"; wood studs 1 1/2" x 3 1/2", every 16"; empty cavity; gypsum board, 1/2". Seal round the edge: side A none, side B none.](pictures/section-a01.svg)

        *A01: a cut through it, from hall to music-practice room.*

        ![Level cut seen from above, 4 1/2" (114.4 mm) thick, from side A (hall) to side B (music-practice room): gypsum board, 1/2"; wood studs 1 1/2" x 3 1/2", every 16"; cellulose, 3 1/2"; gypsum board, 1/2". Seal round the edge: side A none, side B none.](pictures/section-a02.svg)

        *A02: a cut through it, from hall to music-practice room.*

        ## Method

        - Measured with: sound level meter, class 2.
        - Test sound: pink noise, one minute.
        - Readings: Leq over 30 s (16 readings).
        - Taken by: site lead.
        - No calibration check is written down for these sets.
        - Background rule: ASTM E336 before 19a; no set was corrected.

        How the numbers were made:

        - Level difference: Energy mean of the source readings minus the background-corrected energy mean of the receive readings.
        - Background: Rule of the notebook, stored with each result: astm\_e336 (editions before 2019a) unless another is set. A background at or above the signal leaves only the bound.
        - Change: Level difference after minus before, each set normalised by its own source level, on the receive positions both sets have. The energy difference leads; the mean of the position differences is shown too where it differs by over 0.5 dB.
        - Uncertainty: \"Very likely\" is 95 of 100, by Student's t. Position scatter (pooled over tests of the kind from three on), 0.4 dB for setting up again and 0.3 dB for another day, until three or more repeats of the crew's own replace these two. Shares are shown. Where the scatter is not pooled, the interval is never narrower than the test's own positions make it. A scatter below the step of the meter is held up by that step.
        - Claim: A change is claimed if it reaches 2 dB and three standard deviations of repeats, and the interval of the full budget excludes zero. While a position lies far from the others nothing is claimed until a person has corrected it or let the set in with a reason.
        - Bounds: At least and at most are carried to the change and never dropped. Between two bounds nothing is determined. A bound is as uncertain as any number, so a headline says at least the lower end of its interval, and at most the upper one.
        - Grade: A to D for the design of a comparison, never for the size of its result. The worst row wins.

        ## Conditions

        Conditions of Q1 as found in each set; bold is what did not hold or is not known.

        | Condition | Weight | Wanted | T01 | T02 |
        | --- | --- | --- | --- | --- |
        | doors and windows | critical | closed | as wanted | as wanted |
        | furniture | important | as found | as wanted | as wanted |
        | people | minor | operator only | as wanted | as wanted |

        ## Results

        Q1: music-practice room to hall, levels in dBA.

        | Set | Job | Stage | Assembly | Positions, source and receive | Source mean | Receive mean | Spread of receive, dB | Background | Margin, dB | Level difference, dB | Flags |
        | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |
        | T01 | J1 | before | A01 | 3 and 4 | 88.4 | 57.5 | 1.4 | 29.0 | 28.5 | 30.9 | – |
        | T02 | J1 | after | A02 | 3 and 4 | 88.3 | 53.6 | 1.4 | 28.6 | 25.0 | 34.8 | – |

        Q1: changes of the level difference, more is quieter; bold is what the answer rests on.

        | Change | Jobs | Before, dB | After, dB | Change, dB | Very likely between | Verdict | Compared on | Grade |
        | --- | --- | --- | --- | --- | --- | --- | --- | --- |
        | **T01 to T02, music-practice room to hall, dBA** | **J1** | **30.9** | **34.8** | **+3.9** | **2.9 to 4.9** | **claimed** | **R1, R2, R3 and R4** | **B** |

        - T01 to T02, music-practice room to hall, dBA: About 3.9 dB better, measured at 4 spots. The true figure is very likely between 2.9 and 4.9. Only the cavity changed. To the ear 3 dB is just clear. Grade B: only 4 positions; 2 readings at each position; the first state was not measured again. Its uncertainty comes from setting up again 63 % and another day 36 %.

        ![About 3.9 dB better, measured at 4 spots. The true figure is very likely between 2.9 and 4.9. A-weighted level difference before and after at four positions, dB: R1 30.9 then 34.7, R2 31.6 then 35.4, R3 30.2 then 34.0, R4 31.0 then 34.9; average 30.9 then 34.8.](pictures/positions-t01-t02.svg)

        *Level difference at each position, before and after: T01 to T02, music-practice room to hall, dBA.*

        ## What others got

        What others publish for such walls, and what is reckoned for these.

        | Assembly | Published for the wall, laboratory, dB | Source | Formula for wall and openings, dB | Model, dB | Measured here, dB | Measured less formula, dB |
        | --- | --- | --- | --- | --- | --- | --- |
        | A01 | 33 to 34 | published laboratory range, second hand | 33.0 to 34.0 | 31.7 | 30.9 (T01) | -2.1 |
        | A02 | 36 to 39 | published laboratory range, second hand | 36.0 to 39.0 | 35.7 | 34.8 (T02) | -1.2 |

        A laboratory measures the wall alone and without leaks; a house does worse, and a level difference is also of its rooms. The model gives what pink noise, A-weighted, loses through the wall with its openings; it lies off by a few dB either way.

        ## What was left out, and why

        Nothing was left out, struck or corrected.

        ## Cost

        What each job cost; a surface that jobs share counts once in the area together.

        | Cost, USD | J1 |
        | --- | --- |
        | Material with tax | 0.00 |
        | Labour | 0.00 |
        | **Total** | **0.00** |

        - Own labour counted: yes, hours written down times the hourly rate.
        - In: goods and rental with their tax, fees and subcontracts, goods moved from or to other jobs at cost.
        - Out: markup, tools already owned, and hours nobody wrote down.
        - Area of J1: 89.03 ft2 (8.271 m2).

        ## Limits

        - One house, informal, not a laboratory rating.
        - Differences of A- or C-weighted levels depend on the test sound. They are no laboratory or field ratings and cannot be set beside such.
        - Sound also goes round a wall, through floor, ceiling, ducts and side walls: the numbers are of these two rooms, not of the wall alone.
        - This is a record of what was done and found, not advice. Local code and licensed trades decide what may be built.

        ## Cautions

        > **Caution: Loud test sound.** The source room was read at up to 88.8 dBA, where the recommended daily limit is reached after about 199 minutes.
        >
        > Sound this loud wears hearing down. The recommended limit is 85 dBA over 8 hours in a day, and every 3 dB more halves the time: 94 dBA for 1 hour, 100 dBA for 15 minutes. Wear hearing protection, keep everyone else out, and warn neighbours first. Ask your local building department or a licensed trade.
        >
        > Source: NIOSH publication 98-126, 1998.

        ## Disclosure

        Not written: the author has not said whether anything was paid for, given or discounted.

        ## Versions

        - Written on 2025-05-24 by storypole 0.1.0.
        - Amounts in USD.
        - Computed from the records as they stood on that day: a later correction may change a number here.
        - Background rule of the notebook: ASTM E336 before 19a.

        ## Data

        The records behind this write-up go with it as tables, under the licence CC-BY-4.0.

        - jobs: Pieces of work on a house
        - assemblies: Versions of walls, ceilings, floors, doors and panels
        - tests: Questions asked of walls
        - sets: Rounds of readings
        - positions: Where source or meter stood
        - readings: Numbers as read, one a row
        - conditions: What was to be held constant, as found in each set
        - set-results: Level differences, one set a row
        - changes: What changed from one set to another
        - budget: What makes changes uncertain, one term a row
        - costs: What jobs cost, one group a row

        To recompute a result, average the readings of each set by energy, take the receiving side from the source side by the background rule named under Method, and compare the sets on the positions they share.
    "#]].assert_eq(&written(&all, Subject::Test(all.id("test", "Q1"))));
}

/// Source: the demo scenario, invented; its numbers were worked out outside of this program.
#[test]
fn the_numbers_of_the_demo_appear() {
    let all = demo();
    let cases: [(Subject, &[&str]); 6] = [
        (
            Subject::Job(all.id("job", "J1")),
            &[
                "24.9",
                "25.7",
                "36.1",
                "+11.2",
                "+0.8",
                "no claim",
                "at least 36.2",
                "+4.4",
                "About 4 dB",
                "25.0 to 25.5",
                "Own money, no gifts.",
            ],
        ),
        (Subject::Test(all.id("test", "Q1")), &["+11.8", "agree within 1 dB", "37.2", "opening-limited"]),
        (
            Subject::Test(all.id("test", "Q2")),
            &["41.6", "44.8", "47.5", "+3.2", "+2.7", "+5.9", "**window ajar in unit B (changed)**"],
        ),
        (
            Subject::Job(all.id("job", "J5")),
            &["14.4", "14.5", "15.0 to 15.2", "carbon monoxide", "T18, R2: value corrected"],
        ),
        (
            Subject::Test(all.id("test", "Q5")),
            &["29.0", "32.2", "32.6", "33.0", "cannot be told apart", "small panel"],
        ),
        (Subject::Job(all.id("job", "J8")), &["0.543", "0.752", "17.5 %", "14.0 %"]),
    ];
    for (subject, wanted) in cases {
        let file = written(&all, subject);
        for words in wanted {
            assert!(file.contains(words), "{words} is not in\n{file}");
        }
    }
}

/// What only some write-ups have, and figures and photographs in the text.
#[test]
fn a_full_document_letter_by_letter() {
    let file = markdown(&full());
    let (matter, body) = file.split_once("\n---\n").unwrap();
    for line in [
        "updated: \"2025-06-01\"",
        "cover: \"pictures/section.svg\"",
        "canonical: \"https://example.org/walls/\"",
        "language: \"en\"",
        "disclosure_text: \"Own money, no gifts.\"",
    ] {
        assert!(matter.lines().any(|other| other == line), "{line} is not in\n{matter}");
    }
    let alt = matter.lines().find_map(|line| line.strip_prefix("cover_alt: ")).unwrap();
    assert!(alt.contains("gypsum") && alt.ends_with('"'), "{alt}");
    assert!(body.contains("\n> Note of the program: \"11\" is now 11.2.\n"), "{body}");
    assert!(body.contains("](pictures/section.svg)\n\n*Section of A03 \\[cut\\], to scale*\n"), "{body}");
    assert!(
        body.contains("\n![Two boxes, moved apart](photos/boxes.png)\n\n*Two boxes, moved apart*\n"),
        "{body}"
    );
}

#[test]
fn brackets_in_the_words_for_a_picture_do_not_end_them() {
    let mut document = full();
    document.photos[0].caption = "box](x) ![y](javascript:z) *".to_owned();
    let file = markdown(&document);
    let line = "![box\\](x) !\\[y\\](javascript:z) \\*](photos/boxes.png)\n";
    assert!(file.contains(line), "{file}");
    document.photos[0].name = "a b)(c.png".to_owned();
    assert!(markdown(&document).contains("](photos/a%20b%29%28c.png)"));
}

#[test]
fn no_write_up_rates_a_wall_or_promises() {
    let all = demo();
    let jobs = all.book.jobs.all().map(|job| Subject::Job(job.id));
    let tests = all.book.tests.all().map(|test| Subject::Test(test.id));
    for subject in jobs.chain(tests) {
        let file = written(&all, subject);
        for word in file.split(|letter: char| !letter.is_alphanumeric()) {
            assert!(!matches!(word, "STC" | "Rw" | "NIC" | "ASTC" | "significant"), "{word}");
            let lower = word.to_lowercase();
            assert!(!matches!(lower.as_str(), "safe" | "compliant" | "rated"), "{word}");
        }
    }
}

#[test]
fn nothing_private_is_in_a_file() {
    let mut all = demo();
    all.put("person", "zz-nick", &[("role", "owner A"), ("crew", "no")]);
    all.change("set", "T05", &[("operator", "zz-nick")]);
    all.change("test", "Q1", &[("method", "Asked Zz-Nick at 12 Invented Row; meter sn-00417.")]);
    all.change("room", "R1", &[("fuel_appliance", "stove that zz-nick keeps")]);
    let hazard = [("job", "J1"), ("hazard", "mould"), ("date", "2025-03-04"), ("note", "told ZZ-Nick")];
    all.put("hazard", "H1", &hazard);
    let read =
        [("caution", "asbestos"), ("about", "job:J1"), ("person", "zz-nick"), ("note", "by telephone")];
    all.put("acknowledgement", "K1", &read);
    all.change("acknowledgement", "K1", &[("facts", "The house was built in 1962.")]);
    let other = [("caution", "asbestos"), ("about", "job:J2"), ("person", "zz-nick")];
    all.put("acknowledgement", "K2", &other);
    all.change("acknowledgement", "K2", &[("facts", "The house was built in 1962.")]);
    let file = written(&all, Subject::Job(all.id("job", "J1"))).to_lowercase();
    for secret in ["invented row", "sn-00417", "nick", "millrace", "kestrel"] {
        assert!(!file.contains(secret), "{secret}");
    }
    assert!(file.contains("asked owner a at (left out); meter (left out)."));
    assert!(file.contains("taken by: site lead; owner a."));
    assert!(file.contains("stove that owner a keeps.") && file.contains("told owner a"));
    assert!(file.contains("> read by: owner a.\n") && !file.contains("by telephone"), "{file}");
}

/// Every place where a person's words reach a file.
fn hostile(text: &str) -> Fixture {
    let mut all = small();
    let text: String = text.chars().filter(|letter| !letter.is_control()).take(60).collect();
    let text = if text.trim().is_empty() { "x".to_owned() } else { text };
    for (kind, key, field) in [
        ("test", "Q1", "question"),
        ("test", "Q1", "method"),
        ("job", "J1", "title"),
        ("job", "J1", "goal"),
        ("room", "R1", "name"),
        ("condition", "Q1/furniture", "variable"),
        ("condition", "Q1/furniture", "wanted"),
        ("found", "T01/furniture", "value"),
        ("meter", "M1", "meter_kind"),
        ("signal", "pink", "description"),
        ("person", "lead", "role"),
    ] {
        all.change(kind, key, &[(field, &text)]);
    }
    all.change("room", "R1", &[("fuel_appliance", &text)]);
    let hazard = [("job", "J1"), ("hazard", "mould"), ("date", "2025-04-15"), ("note", text.as_str())];
    all.put("hazard", "H1", &hazard);
    all.strike("reading", "T02/R4", &text);
    all
}

/// Lines of a table that stand together have the same number of bare pipes.
fn has_whole_tables(file: &str) -> bool {
    let pipes = |line: &str| line.replace("\\\\", "").replace("\\|", "").matches('|').count();
    let mut width = None;
    file.lines().all(|line| {
        if !line.starts_with('|') {
            width = None;
            return true;
        }
        *width.get_or_insert(pipes(line)) == pipes(line) && line.ends_with(" |")
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Goal: whatever a notebook says, the file has no tag, whole tables, its own headings and readable front matter.
    #[test]
    fn a_hostile_notebook_breaks_nothing(text in prop_oneof![any::<String>(), "[<>|`#*_~\\[\\](){}&\\\\\"' a-]{1,20}"]) {
        let all = hostile(&text);
        let given = Choices {
            title: Some(text.clone()), intro: Some(format!("{text}\n\n# {text}\n---\n{text}")), conclusion: Some(text.clone()),
            disclosure: Some(text.clone()), ..choices()
        };
        let document = document(&all.book, Subject::Job(all.id("job", "J1")), &given).unwrap();
        let file = markdown(&document);
        prop_assert!(!file.contains(['<', '\r']));
        prop_assert!(has_whole_tables(&file));
        let lines = read(&file).expect("front matter reads back");
        prop_assert_eq!(&lines[0], &("title".to_owned(), vec![document.title.clone()]));
        let body = file.split_once("\n---\n").unwrap().1;
        let opens = ["```", "~~~", "{{", "{%"].iter().any(|opening| body.contains(opening));
        prop_assert!(!opens);
        prop_assert_eq!(body.lines().filter(|line| line.starts_with('#')).count(), 1 + document.sections.len());
        prop_assert!(!body.lines().any(|line| line == "---" || line.starts_with("===")));
        prop_assert_eq!(markdown(&document), file);
    }
}
