//! What texts are understood as. Leaves out the vocabulary's own words: a small one stands in for it here.

use std::sync::LazyLock;

use jiff::civil::date;
use proptest::prelude::*;
use storypole_units::density::{Density, DensityUnit};

use super::*;
use crate::vocabulary::{ConceptClass, Meaning};

/// What the vocabulary of these tests knows: class, value, names.
const NAMES: &[(Option<ConceptClass>, &str, &[&str])] = &[
    (Some(ConceptClass::Fill), "cellulose", &["cellulose", "cellulose fibre"]),
    (Some(ConceptClass::Fill), "glass fibre", &["glass fibre", "fiberglass"]),
    (Some(ConceptClass::Fill), "stone wool", &["stone wool", "mineral wool"]),
    (Some(ConceptClass::Fill), "empty", &["no fill", "unfilled"]),
    (Some(ConceptClass::Frame), "resilient", &["resilient channel"]),
    (Some(ConceptClass::Frame), "double", &["double studs"]),
    (Some(ConceptClass::State), "bare-studs", &["bare studs"]),
    (Some(ConceptClass::Kind), "receipt", &["receipt", "invoice"]),
    (None, "", &["drywall", "plasterboard", "gypsum board"]),
];

type Known = (Vec<String>, Vec<Vec<String>>, Option<Concept>);

static KNOWN: LazyLock<Vec<Known>> = LazyLock::new(|| {
    let mut known = Vec::new();
    for (class, value, names) in NAMES {
        let runs: Vec<Vec<String>> = names.iter().map(|name| analyse::words(name)).collect();
        for run in &runs {
            let others = runs.iter().filter(|other| *other != run).cloned().collect();
            let concept = class.map(|class| Concept { class, value: (*value).to_owned() });
            known.push((run.clone(), others, concept));
        }
    }
    known
});

fn longest(words: &[String]) -> Option<Meaning<'static>> {
    let found = KNOWN.iter().filter(|(run, ..)| words.starts_with(run)).max_by_key(|(run, ..)| run.len())?;
    Some(Meaning { count: found.0.len(), others: &found.1, concept: found.2.as_ref() })
}

fn names() -> Names {
    let site = |number: u128, label: &str, name: &str| {
        let id = RecordId::from_bytes(number.to_be_bytes());
        (id, Some(label.to_owned()), Some(name.to_owned()))
    };
    Names {
        sites: vec![
            site(1, "S1", "Alder cottage"),
            site(2, "S2", "Kestrel duplex"),
            site(3, "S3", "Alder workshop"),
            site(4, "S4", "Quarry road 12"),
        ],
    }
}

fn read(text: &str) -> Question {
    let (longest, names) = (|words: &[String]| longest(words), names());
    let knows = Knows { longest: &longest, measures: &analyse::measures };
    let dollar = Currency::parse("USD").unwrap();
    // A Wednesday.
    Question::read_knowing(text, knows, &names, date(2025, 7, 9), dollar)
}

fn understood(text: &str) -> String {
    let question = read(text);
    let shown = question.parts.iter().map(|part| match part.says {
        Says::Little(_) => format!("({})", part.words(&names())),
        _ => part.words(&names()),
    });
    shown.collect::<Vec<_>>().join(" | ")
}

#[track_caller]
fn check(rows: &[(&str, &str)]) {
    for (text, expected) in rows {
        assert_eq!(understood(text), *expected, "{text:?}");
    }
}

#[test]
fn words_phrases_and_minus() {
    check(&[
        ("", ""),
        (" \t\n", ""),
        ("Party walls", "Party | walls"),
        ("38x89 stud", "38x89 | stud"),
        ("\"party wall\" hall", "the words \"party wall\" | hall"),
        ("\u{201c}drop seal\u{201d}", "the words \"drop seal\""),
        ("hall -door -\"drop seal\"", "hall | not: door | not: the words \"drop seal\""),
        ("hall,door (attic)", "hall | door | attic"),
        ("drill-and-fill", "drill-and-fill"),
        ("5/8\" board", "5/8\" | board"),
        (
            "what did cellulose achieve at the duplex",
            "(what did) | fill cellulose | (achieve) | site S2 Kestrel duplex",
        ),
        (
            "what did stone wool achieve and what did it cost",
            "(what did) | fill stone wool | (achieve and what did it cost)",
        ),
        ("cost of cellulose", "cost | (of) | fill cellulose"),
        ("where did we use resilient channel", "(where did we use) | frame on resilient channel"),
        ("show me all bare studs", "(show me all) | state bare studs"),
        ("invoice drywall", "records of kind receipt | drywall"),
        ("walls", "walls"),
        ("mineral wool", "fill stone wool"),
        ("mineral, wool", "mineral | wool"),
    ]);
}

#[test]
fn what_must_not_be_there() {
    check(&[
        ("without a door", "not: door"),
        ("hall without doors", "hall | not: doors"),
        ("not cellulose", "not: fill cellulose"),
        ("no door", "not: door"),
        ("no fill", "no fill"),
        ("no claim", "no | claim"),
        ("except glass fibre", "not: fill glass fibre"),
        ("studs but not double studs", "studs | not: frame of double studs"),
        ("without \"drop seal\"", "not: the words \"drop seal\""),
        ("not at the duplex", "not: site S2 Kestrel duplex"),
        ("cellulose except Kestrel duplex", "fill cellulose | not: site S2 Kestrel duplex"),
        ("-S2", "not: site S2 Kestrel duplex"),
        ("-cellulose", "not: fill cellulose"),
        ("-the", "not: the"),
        ("without", "without"),
        ("not the", "not | (the)"),
        ("walls not with cellulose", "walls | not: fill cellulose"),
        ("not since March", "not | since 1 March 2025"),
        ("-fiberglass hall", "not: fill glass fibre | hall"),
    ]);
}

#[test]
fn levels_are_changes_or_differences() {
    check(&[
        ("over 6 dB", "changed by more than 6 dB"),
        ("above 6dB", "changed by more than 6 dB"),
        ("more than 6 dBA", "changed by more than 6 dB"),
        ("greater than 6 decibels", "changed by more than 6 dB"),
        ("better than 6 dB", "changed by more than 6 dB"),
        ("> 6 dB", "changed by more than 6 dB"),
        (">6dB", "changed by more than 6 dB"),
        ("at least 6 dB", "changed by at least 6 dB"),
        ("from 6 dB", "changed by at least 6 dB"),
        ("6 dB or more", "changed by at least 6 dB"),
        ("6 dB or better", "changed by at least 6 dB"),
        ("6+ dB", "changed by at least 6 dB"),
        ("6 dB+", "changed by at least 6 dB"),
        (">= 6.5 dB(A)", "changed by at least 6.5 dB"),
        ("≥6 dB", "changed by at least 6 dB"),
        ("no less than 6 dB", "changed by at least 6 dB"),
        ("under 3 dB", "changed by less than 3 dB"),
        ("below 3 dB", "changed by less than 3 dB"),
        ("less than 3 dB", "changed by less than 3 dB"),
        ("< 3 dB", "changed by less than 3 dB"),
        ("at most 3 dB", "changed by at most 3 dB"),
        ("up to 3 dB", "changed by at most 3 dB"),
        ("no more than 3 dB", "changed by at most 3 dB"),
        ("3 dB or less", "changed by at most 3 dB"),
        ("<= 3 dB", "changed by at most 3 dB"),
        ("≤ 3 dB", "changed by at most 3 dB"),
        ("between 3 and 5 dB", "changed by 3 dB to 5 dB"),
        ("from 3 to 5 dB", "changed by 3 dB to 5 dB"),
        ("3 to 5 dB", "changed by 3 dB to 5 dB"),
        ("3-5 dB", "changed by 3 dB to 5 dB"),
        ("3 dB – 5 dB", "changed by 3 dB to 5 dB"),
        ("between 9 and 3 dB", "changed by 3 dB to 9 dB"),
        ("about 6 dB", "changed by 5 dB to 7 dB"),
        ("around 6 dB", "changed by 5 dB to 7 dB"),
        ("exactly 6 dB", "changed by exactly 6 dB"),
        ("below -2 dB", "changed by less than -2 dB"),
        ("changed by more than 6 dB", "changed by more than 6 dB"),
        ("quieter by at least 6 dB", "changed by at least 6 dB"),
        ("at least 6 dB quieter", "changed by at least 6 dB"),
        ("gained 6 dB", "changed by 5 dB to 7 dB"),
        ("at least 2 dB louder", "changed by at most -2 dB"),
        ("reduction over 6 dB", "changed by more than 6 dB"),
        ("over 6 dB of reduction", "changed by more than 6 dB"),
        ("level difference over 40 dB", "level difference more than 40 dB"),
        ("a difference of at least 40 dB", "(a) | level difference at least 40 dB"),
        ("keeps back under 40 dB", "level difference less than 40 dB"),
        ("wall gives over 40 dB", "wall | level difference more than 40 dB"),
        ("D of at least 45 dB", "level difference at least 45 dB"),
        ("keeps out 45 dB or more", "level difference at least 45 dB"),
        ("over 40 dB isolation", "level difference more than 40 dB"),
        ("6 dB", "6 | dB"),
        (
            "cellulose over 6 dB at the duplex",
            "fill cellulose | changed by more than 6 dB | site S2 Kestrel duplex",
        ),
    ]);
}

#[test]
fn lengths_are_depths_or_spacings() {
    check(&[
        ("at least 3.5 in", "cavity at least 3.5 in (89 mm) deep"),
        ("at least 3-1/2\"", "cavity at least 3.5 in (89 mm) deep"),
        ("at least 3½ in deep", "cavity at least 3.5 in (89 mm) deep"),
        ("at least 3 1/2 inches of cavity", "cavity at least 3.5 in (89 mm) deep"),
        ("over 89 mm", "cavity more than 3.504 in (89 mm) deep"),
        ("over 8.9 cm thick", "cavity more than 3.504 in (89 mm) deep"),
        ("cavity over 4 in", "cavity more than 4 in (102 mm) deep"),
        ("cavity is at least 3.5 in deep", "cavity at least 3.5 in (89 mm) deep"),
        ("deeper than 4 in", "cavity more than 4 in (102 mm) deep"),
        ("over 8' 3\"", "cavity more than 99 in (2515 mm) deep"),
        ("over 8 ft 3 in", "cavity more than 99 in (2515 mm) deep"),
        ("about 100 mm", "cavity 3.543 in (90 mm) to 4.331 in (110 mm) deep"),
        ("2 to 3 1/2 in deep", "cavity 2 in (51 mm) to 3.5 in (89 mm) deep"),
        ("at most 5/8 in", "cavity at most 0.625 in (15.9 mm) deep"),
        ("studs at most 16 o.c.", "studs | studs at most 16 in (406 mm) on centre"),
        ("at least 24 in on center", "studs at least 24 in (610 mm) on centre"),
        ("over 406 mm centres", "studs more than 15.984 in (406 mm) on centre"),
        ("more than 16 in apart", "studs more than 16 in (406 mm) on centre"),
        ("spacing over 400 mm", "studs more than 15.748 in (400 mm) on centre"),
        ("at least 406 oc", "studs at least 15.984 in (406 mm) on centre"),
        ("over 6 in 2025", "over | 6 | in 2025"),
        ("over 10 m2", "over | 10 | m2"),
        ("under 8 ft²", "under | 8 | ft²"),
        ("3.5 in", "3.5 in"),
        ("2x4 wall", "2x4 | wall"),
        ("16 o.c.", "16 o.c"),
        ("over 3\" \"party wall\"", "cavity more than 3 in (76 mm) deep | the words \"party wall\""),
    ]);
}

#[test]
fn money_density_and_label() {
    check(&[
        ("under $5 a square foot", "less than 5.00 USD per ft²"),
        ("at most $5 per sq ft", "at most 5.00 USD per ft²"),
        ("$5/ft2 or less", "at most 5.00 USD per ft²"),
        ("under 5 dollars per ft²", "less than 5.00 USD per ft²"),
        ("$5 or less a square foot", "at most 5.00 USD per ft²"),
        ("under €50 per m2", "less than 4.6452 EUR per ft²"),
        ("under 50 EUR a square metre", "less than 4.6452 EUR per ft²"),
        ("$3 to $5 a square foot", "3.00 USD to 5.00 USD per ft²"),
        ("between $3 and 5", "cost 3.00 USD to 5.00 USD"),
        ("between 3 USD and 5 EUR", "cost 3.00 USD to 5.00 USD | EUR"),
        ("under $600", "cost less than 600.00 USD"),
        ("cost over $1,250.50", "cost more than 1250.50 USD"),
        ("under $2k", "cost less than 2000.00 USD"),
        ("over 600 bucks", "cost more than 600.00 USD"),
        ("under 75 cents per sq ft", "less than 0.75 USD per ft²"),
        ("$5 a square foot or better", "at most 5.00 USD per ft²"),
        ("about $100", "cost 90.00 USD to 110.00 USD"),
        ("under 600", "under | 600"),
        ("$5", "5"),
        ("at least 48 kg/m3", "density at least 48 kg/m³"),
        ("denser than 3 lb/ft3", "density more than 48.1 kg/m³"),
        ("over 3 pcf", "density more than 48.1 kg/m³"),
        ("density over 40 kg per cubic metre", "density more than 40 kg/m³"),
        ("R-13 or better", "at least R-13 as labelled"),
        ("at least R-15", "at least R-15 as labelled"),
        ("over R 20", "more than R-20 as labelled"),
        ("R13+", "at least R-13 as labelled"),
        ("R-13 to R-21", "R-13 to R-21 as labelled"),
        ("R-15 batts", "R-15 | batts"),
        ("r value of at least 13", "at least R-13 as labelled"),
    ]);
}

#[test]
fn days_and_stretches_of_days() {
    check(&[
        ("since March", "since 1 March 2025"),
        ("since August", "since 1 August 2024"),
        ("since 4 March 2025", "since 4 March 2025"),
        ("since last week", "since 30 June 2025"),
        ("after March", "since 1 April 2025"),
        ("after 2024", "since 1 January 2025"),
        ("after 2025-03-04", "since 5 March 2025"),
        ("from 2024", "in 2024"),
        ("from 2024 on", "since 1 January 2024"),
        ("before March 2025", "until 28 February 2025"),
        ("until 4 March", "until 4 March 2025"),
        ("until 2024", "until 31 December 2024"),
        ("up to March 2025", "until 31 March 2025"),
        ("in 2025", "in 2025"),
        ("in March", "in March 2025"),
        ("in December", "in December 2024"),
        ("in July", "in July 2025"),
        ("in March 2024", "in March 2024"),
        ("March 2024", "in March 2024"),
        ("in 2024-05", "in May 2024"),
        ("between 3 March and 4 April", "from 3 March 2025 to 4 April 2025"),
        ("between November and February", "from 1 November 2024 to 28 February 2025"),
        ("from March to May 2024", "from 1 March 2024 to 31 May 2024"),
        ("from 2023 to 2024", "from 1 January 2023 to 31 December 2024"),
        ("between 2024 and 2023", "from 1 January 2023 to 31 December 2024"),
        ("on 4 March", "on 4 March 2025"),
        ("2025-03-04", "on 4 March 2025"),
        ("4 Mar 2025", "on 4 March 2025"),
        ("Mar 4", "on 4 March 2025"),
        ("March 4th, 2025", "on 4 March 2025"),
        ("the 4th of March", "on 4 March 2025"),
        ("29 February", "on 29 February 2024"),
        ("3/4/2025", "on 4 March 2025"),
        ("31/12/2024", "on 31 December 2024"),
        ("today", "on 9 July 2025"),
        ("yesterday", "on 8 July 2025"),
        ("this week", "from 7 July 2025 to 13 July 2025"),
        ("last week", "from 30 June 2025 to 6 July 2025"),
        ("this month", "in July 2025"),
        ("last month", "in June 2025"),
        ("this year", "in 2025"),
        ("last year", "in 2024"),
        ("in the last 30 days", "from 9 June 2025 to 9 July 2025"),
        ("last 2 weeks", "from 25 June 2025 to 9 July 2025"),
        ("past three months", "from 9 April 2025 to 9 July 2025"),
        ("in the last 2 years", "from 9 July 2023 to 9 July 2025"),
        ("since 10 days ago", "since 29 June 2025"),
        ("2025", "2025"),
        ("March", "March"),
        ("cellulose since March at Kestrel", "fill cellulose | since 1 March 2025 | site S2 Kestrel duplex"),
        ("2025-02-30", "2025-02-30"),
    ]);
}

#[test]
fn sites_and_grades() {
    check(&[
        ("at the duplex", "site S2 Kestrel duplex"),
        ("at Kestrel", "site S2 Kestrel duplex"),
        ("in S2", "site S2 Kestrel duplex"),
        ("site s2", "site S2 Kestrel duplex"),
        ("S2 cellulose", "site S2 Kestrel duplex | fill cellulose"),
        ("Kestrel duplex", "site S2 Kestrel duplex"),
        ("at S2 Kestrel duplex", "site S2 Kestrel duplex"),
        ("duplex", "duplex"),
        ("at Alder", "(at) | Alder"),
        ("at the Alder cottage", "site S1 Alder cottage"),
        ("in the workshop", "site S3 Alder workshop"),
        ("at 12", "(at) | 12"),
        ("at Quarry road", "site S4 Quarry road 12"),
        ("in the hall", "(in the) | hall"),
        ("at S9", "(at) | S9"),
        ("grade A", "grade A"),
        ("graded B or better", "grade B or better"),
        ("at least grade B", "grade B or better"),
        ("grade at least C", "grade C or better"),
        ("grade C or worse", "grade C or worse"),
        ("better than grade B", "grade A"),
        ("worse than grade B", "grade C or worse"),
        ("grade B to C", "grade B to C"),
        ("grades b or c", "grade B to C"),
        ("B or better", "grade B or better"),
        ("better than grade A", "better | than | grade A"),
        ("grade beam", "grade | beam"),
        ("a door", "(a) | door"),
        ("at least a door", "(at) | least | (a) | door"),
    ]);
}

#[test]
fn notes_say_what_was_not_as_it_was_typed() {
    for (text, expected) in [
        ("cellulose over 6 dB", ""),
        ("over dB", "\u{201c}over dB\u{201d} has no number: it is looked for as words."),
        (
            "between 9 and 3 dB",
            "\u{201c}between 9 and 3 dB\u{201d} begins with the larger number: it is read the other way round.",
        ),
        (
            "under 600",
            "\u{201c}under 600\u{201d} has no unit, such as dB, in, mm or $: it is looked for as words.",
        ),
        (
            "between 3 and 5",
            "\u{201c}between 3 and 5\u{201d} has no unit, such as dB, in, mm or $: it is looked for as words.",
        ),
        (
            "over 99999999999999999999999999999999 dB",
            "The number in \u{201c}over 99999999999999999999999999999999 dB\u{201d} is too long: it is looked for as words.",
        ),
        (
            "over 9999999 m",
            "\u{201c}over 9999999 m\u{201d} is no quantity that can be compared: it is looked for as words.",
        ),
        (
            "over -5 mm",
            "\u{201c}over -5 mm\u{201d} is no quantity that can be compared: it is looked for as words.",
        ),
        ("3/4/2025", "\u{201c}3/4/2025\u{201d} is read as month, day, year."),
        ("31/12/2024", "\u{201c}31/12/2024\u{201d} is read as day, month, year."),
        ("2025-02-30", "There is no day \u{201c}2025-02-30\u{201d}: it is looked for as words."),
        (
            "between 2024 and 2023",
            "\u{201c}between 2024 and 2023\u{201d} ends before it begins: it is read the other way round.",
        ),
        (
            "at Alder",
            "Several sites are called \u{201c}Alder\u{201d}: it is looked for as words. Give the label of one.",
        ),
        (
            "not since March",
            "What must not hold can be words, names and sites, not days, quantities or grades.",
        ),
    ] {
        assert_eq!(read(text).notes.join("\n"), expected, "{text:?}");
    }
}

#[test]
fn what_cannot_be_read_is_read_as_words() {
    check(&[
        ("-", ""),
        ("--", ""),
        ("\"", ""),
        ("\"\"", ""),
        ("\"open wall", "open | wall"),
        ("- wall", "wall"),
        ("--door", "not: door"),
        ("title:wall AND (x", "title | wall | (AND) | x"),
        ("\u{0}\u{7}🙂", ""),
        ("over", "over"),
        ("over dB", "over | dB"),
        ("over 1/0 in", "over | 1/0 | (in)"),
        ("over 3 1/3 in", "over | 3 | 1/3 | (in)"),
        ("since", "since"),
        ("between", "between"),
        ("last 99999999 days", "last | 99999999 | days"),
        ("\u{202e}קיר חדש", "קיר | חדש"),
        ("$", ""),
        ("over 6 dB/", "over | 6 | dB/"),
        ("½ drywall ٣", "½ | drywall | ٣"),
        ("\"a\"\"hall\"", "the words \"a\" | the words \"hall\""),
    ]);
}

#[test]
fn long_texts_are_read_as_far_as_the_bounds_go() {
    let many = read(&"hall ".repeat(100));
    assert_eq!(many.parts.len(), 64);
    assert_eq!(many.notes, ["Only the first 64 parts are read; the rest is left out."]);
    let long = read(&format!("{} wall", "x".repeat(10_000)));
    assert_eq!(long.parts.len(), 1);
    assert_eq!(long.parts[0].span, 0..2_000);
    assert_eq!(long.notes, ["Only the first 2000 characters are read; the rest is left out."]);
    assert!(read(&"é -\"".repeat(5_000)).parts.len() <= 64);
}

#[test]
fn the_last_word_is_open_until_white_space_follows() {
    let open = |text: &str| match &read(text).parts.last().unwrap().says {
        Says::Words { is_open, .. } => *is_open,
        _ => false,
    };
    assert!(open("cellul") && open("party wal"));
    assert!(!open("cellul ") && !open("cellul?") && !open("-cellul") && !open("over 6 dB"));
}

#[test]
fn measures_and_synonyms_come_with_the_words() {
    let others = |text: &str| match &read(text).parts[0].says {
        Says::Words { others, .. } => {
            others.iter().map(|other| other.join(" ")).collect::<Vec<_>>().join(", ")
        }
        _ => String::new(),
    };
    assert_eq!(others("plasterboard"), "drywal, gypsum board");
    for text in ["3.5 in", "3-1/2\"", "3½ in", "89 mm"] {
        assert_eq!(others(text), "mm:89", "{text}");
    }
    assert_eq!(others("2x4"), "stud:38x89");
    assert_eq!(others("R-15"), "r:15");
    assert!(others("16 o.c.").contains("oc:406"));
    assert_eq!(others("4 in the hall"), "");
}

fn asked(text: &str) -> Asked {
    match read(text).parts[..] {
        [Part { says: Says::Quantity(asked), .. }] => asked,
        ref other => panic!("{text}: {other:?}"),
    }
}

/// Source: international yard and pound agreement of 1959: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, both exactly.
#[test]
fn units_convert_by_their_exact_definitions() {
    for (text, nm) in [
        ("exactly 3.5 in", 88_900_000),
        ("exactly 3-1/2\"", 88_900_000),
        ("exactly 1 ft", 304_800_000),
        ("exactly 8' 3\"", 2_514_600_000),
        ("exactly 8.89 cm", 88_900_000),
        ("exactly 2.44 m", 2_440_000_000),
    ] {
        let Asked::Depth(Within { low: Some(low), high: Some(high) }) = asked(text) else { panic!("{text}") };
        assert_eq!((low.value.nm(), high.value.nm(), low.is_in, high.is_in), (nm, nm, true, true), "{text}");
    }
    let Asked::Density(within) = asked("at least 1 pcf") else { panic!() };
    let kg_m3 = 0.453_592_37 / (0.3048 * 0.3048 * 0.3048);
    assert!((within.low.unwrap().value - kg_m3).abs() < 1e-9);
    assert!((kg_m3 - 16.018_463_37).abs() < 1e-8);
    let own = Density::new(Decimal::from_int(1), DensityUnit::LbPerFt3).unwrap().kg_m3();
    assert_eq!(within.low.unwrap().value, own);
    let Asked::CostPerFt2(within) = asked("under $100 a square metre") else { panic!() };
    // 0.3048² m² = 0.09290304 m² to the square foot.
    assert_eq!(within.high.unwrap().value.amount, Decimal::parse("9.290304").unwrap());
}

#[test]
fn ends_count_as_the_words_say() {
    let ends = |text: &str| match asked(text) {
        Asked::Reduction(within) => (within.low, within.high),
        other => panic!("{other:?}"),
    };
    let end = |value, is_in| Some(End { value, is_in });
    assert_eq!(ends("over 6 dB"), (end(6.0, false), None));
    assert_eq!(ends("at least 6 dB"), (end(6.0, true), None));
    assert_eq!(ends("under 6 dB"), (None, end(6.0, false)));
    assert_eq!(ends("up to 6 dB"), (None, end(6.0, true)));
    assert_eq!(ends("between 3 and 6 dB"), (end(3.0, true), end(6.0, true)));
    assert_eq!(ends("more than 2 dB louder"), (None, end(-2.0, false)));
}

#[test]
fn parts_know_their_kind_and_their_text() {
    let text = "what \"drop seal\" Cellulose -door R-13+ over 6 dB on  4 March at the duplex grade A hall";
    let question = read(text);
    let kinds: Vec<&str> = question.parts.iter().map(Part::kind).collect();
    assert_eq!(
        kinds,
        ["little", "phrase", "fill", "word", "label-r", "reduction", "days", "site", "grade", "word"]
    );
    let spans: Vec<&str> = question.parts.iter().map(|part| &text[part.span.clone()]).collect();
    assert_eq!(
        spans,
        [
            "what",
            "\"drop seal\"",
            "Cellulose",
            "-door",
            "R-13+",
            "over 6 dB",
            "on  4 March",
            "at the duplex",
            "grade A",
            "hall"
        ]
    );
    assert_eq!(question.parts[6].typed, "on 4 March");
    assert_eq!(question.parts[3].typed, "door");
    assert_eq!((question.wanted().count(), question.unwanted().count()), (9, 1));
}

#[test]
fn a_part_can_be_dropped() {
    for (text, part, expected) in [
        ("cellulose over 6 dB", 0, "over 6 dB"),
        ("cellulose over 6 dB", 1, "cellulose"),
        ("cellulose  over 6 dB  at the duplex", 1, "cellulose; at the duplex"),
        ("over -door 6 dB", 1, "over; 6 dB"),
        ("party wall", 1, "party "),
        ("party wall", 7, "party wall"),
        ("hall", 0, ""),
    ] {
        assert_eq!(read(text).without(part), expected, "{text}");
    }
}

/// Each of these texts was once read otherwise without one of its parts: what follows a phrase had spoilt it, or a sign that
/// a word begins or ends with had been left out of its part.
#[test]
fn dropping_a_part_leaves_no_other_reading_behind() {
    for text in [
        "since March 8' ",
        "8' cellulose ",
        ".3/4/2025 hall",
        "over 6 dB/ hall",
        "3.5 in the8' ",
        "not8' hall",
        "over 6 dB., hall",
        "6in 2025 ",
    ] {
        drops_alone(&read(text)).unwrap();
    }
}

const SNIPPETS: &[&str] = &[
    "cellulose",
    "glass",
    "fibre",
    "wool",
    "mineral",
    "hall",
    "door",
    "-door",
    "-\"drop seal\"",
    "\"party wall\"",
    "\"",
    "over",
    "6",
    "dB",
    "over 6 dB",
    "or more",
    "between",
    "and",
    "3",
    "in",
    "3.5 in",
    "deep",
    "cavity",
    "a square foot",
    "$5",
    "under",
    "2025",
    "March",
    "4",
    "since March",
    "last",
    "week",
    "30 days",
    "at",
    "the",
    "duplex",
    "Kestrel",
    "S2",
    "grade",
    "A",
    "B",
    "or better",
    "R-13",
    "not",
    "without",
    "no",
    "fill",
    "claim",
    "-",
    ",",
    ";",
    ".",
    "(",
    "16",
    "o.c.",
    "quieter",
    "by",
    "8'",
    "3\"",
    "to",
    "up to",
    "1/2",
    "3/4/2025",
    "🙂",
    "studs",
    "bare",
    "resilient",
    "channel",
    "+",
    "at least",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, ..ProptestConfig::default() })]

    /// Any text is read, and the parts lie in it in order.
    #[test]
    fn any_text_is_read(text in "\\PC{0,60}|(.|\n){0,40}") {
        in_order(&read(&text));
        drops_alone(&read(&text))?;
    }

    #[test]
    fn any_words_of_ours_are_read(picks in proptest::collection::vec((0..SNIPPETS.len(), "( |  |)"), 0..14)) {
        let text: String = picks.iter().map(|(pick, gap)| format!("{}{gap}", SNIPPETS[*pick])).collect();
        let question = read(&text);
        in_order(&question);
        drops_alone(&question)?;
    }
}

fn in_order(question: &Question) {
    let mut end = 0;
    for part in &question.parts {
        assert!(part.span.start >= end && part.span.start < part.span.end, "{question:?}");
        assert!(question.text.get(part.span.clone()).is_some(), "{question:?}");
        assert!(!part.words(&names()).is_empty() && !part.typed.is_empty());
        end = part.span.end;
    }
}

/// Whatever part is dropped, the others are read again as they were.
fn drops_alone(question: &Question) -> Result<(), TestCaseError> {
    let said = |part: &Part| (part.says.clone(), part.is_unwanted);
    for dropped in 0..question.parts.len() {
        let rest = question.without(dropped);
        let again: Vec<_> = read(&rest).parts.iter().map(said).collect();
        let others = question.parts.iter().enumerate().filter(|(index, _)| *index != dropped);
        let expected: Vec<_> = others.map(|(_, part)| said(part)).collect();
        prop_assert_eq!(again, expected, "{:?} without {} is {:?}", question.text, dropped, rest);
    }
    Ok(())
}
