//! The built-in words against what the notebook can hold, and own lines, good and bad.

use proptest::prelude::*;

use storypole_notebook::assembly::FILLS;
use storypole_notebook::kinds::WALL_STATES;

use super::*;
use crate::facts::names::FRAMES;

fn others<'v>(vocabulary: &'v Vocabulary, text: &str) -> &'v [Vec<String>] {
    let words = words(text);
    match vocabulary.longest(&words) {
        Some(meaning) if meaning.count == words.len() => meaning.others,
        _ => &[],
    }
}

fn same(one: &str, other: &str) -> bool {
    others(Vocabulary::built_in(), one).contains(&words(other))
}

fn named(vocabulary: &Vocabulary, text: &str) -> Option<(ConceptClass, String)> {
    let words = words(text);
    let meaning = vocabulary.longest(&words).filter(|meaning| meaning.count == words.len())?;
    meaning.concept.map(|concept| (concept.class, concept.value.clone()))
}

#[test]
fn every_built_in_line_is_read() {
    let mut vocabulary = Vocabulary::default();
    assert_eq!(vocabulary.add(include_str!("../../words.txt"), Origin::BuiltIn), []);
    assert!(vocabulary.groups.len() > 200);
    // Members that differ only in an ending are the same, and the second is one too many.
    let repeats = include_str!("../../words.txt").lines().filter(|line| {
        let members = line.split_once(':').map_or(*line, |(_, rest)| rest).split('=').map(words);
        let mut members: Vec<_> = members.collect();
        let written = members.len();
        members.sort();
        members.dedup();
        !line.starts_with('#') && members.len() < written
    });
    assert_eq!(repeats.collect::<Vec<_>>(), [""; 0]);
}

#[test]
fn every_fill_frame_and_state_has_a_name() {
    let vocabulary = Vocabulary::built_in();
    let has = |class, value: &str| {
        vocabulary.groups.iter().any(|group| {
            group.concept.as_ref().is_some_and(|concept| concept.class == class && concept.value == value)
        })
    };
    // What is called "other" is no name.
    for fill in FILLS.iter().filter(|fill| **fill != "other").chain(&["empty"]) {
        assert!(has(ConceptClass::Fill, fill), "{fill}");
        assert_eq!(named(vocabulary, fill), Some((ConceptClass::Fill, (*fill).to_owned())));
    }
    for frame in FRAMES {
        assert!(has(ConceptClass::Frame, frame.words()), "{frame:?}");
    }
    for state in WALL_STATES {
        assert_eq!(named(vocabulary, state), Some((ConceptClass::State, (*state).to_owned())));
    }
    for kind in
        ["job", "assembly", "receipt", "photo", "test", "set", "room", "entry", "task", "material", "site"]
    {
        assert_eq!(named(vocabulary, kind), Some((ConceptClass::Kind, kind.to_owned())));
    }
}

#[test]
fn names_are_known_in_the_words_of_the_trade() {
    use ConceptClass::{Fill, Frame, Kind, State};
    for (text, expected) in [
        ("mineral wool", Some((Fill, "stone wool"))),
        ("Fiberglass", Some((Fill, "glass fibre"))),
        ("glass fibres", Some((Fill, "glass fibre"))),
        ("EPS", Some((Fill, "polystyrene foam"))),
        ("xps", Some((Fill, "polystyrene foam"))),
        ("no fill", Some((Fill, "empty"))),
        ("nothing in it", Some((Fill, "empty"))),
        ("open-cell spray foam", Some((Fill, "open-cell foam"))),
        ("resilient channels", Some((Frame, "resilient"))),
        ("staggered studs", Some((Frame, "staggered"))),
        ("wood studs", Some((Frame, "single-wood"))),
        ("double stud wall", Some((Frame, "double"))),
        ("open studs", Some((State, "bare-studs"))),
        ("boarded on one side", Some((State, "boarded-a"))),
        ("pictures", Some((Kind, "photo"))),
        ("invoice", Some((Kind, "receipt"))),
        ("day log", Some((Kind, "entry"))),
        ("lana mineral", Some((Fill, "stone wool"))),
        ("Fibra de vidrio", Some((Fill, "glass fibre"))),
        ("vacío", Some((Fill, "empty"))),
        ("montantes alternados", Some((Frame, "staggered"))),
        ("recibos", Some((Kind, "receipt"))),
        ("wall", None),
        ("walls", None),
        ("glass", None),
        ("foam", None),
        ("open", None),
        ("double", None),
        ("solid", None),
        ("clip", None),
        ("channel", None),
        ("boarded", None),
    ] {
        let expected = expected.map(|(class, value)| (class, value.to_owned()));
        assert_eq!(named(Vocabulary::built_in(), text), expected, "{text}");
    }
}

#[test]
fn what_only_resembles_stays_apart() {
    assert!(same("drywall", "gypsum board") && same("Plasterboards", "drywall"));
    assert!(same("mineral wool", "stone wool") && same("fiberglass", "glass fibre"));
    assert!(same("caulk", "sealant") && same("o.c.", "on center") && same("grey", "gray"));
    for (one, other) in [
        ("stone wool", "glass fibre"),
        ("mineral wool", "glass fiber"),
        ("eps", "xps"),
        ("eps", "polystyrene"),
        ("cellulose", "cotton"),
        ("open-cell foam", "closed-cell foam"),
        ("resilient channel", "hat channel"),
        ("resilient channel", "isolation clip"),
        ("staggered stud", "double stud"),
        ("fibre cement", "cement board"),
        ("fibreboard", "hardboard"),
        ("type x", "green board"),
        ("acoustic sealant", "sealant"),
        ("hollow core", "solid core"),
        ("mould", "moulding"),
        ("bathroom", "toilet"),
        ("transmission loss", "sound transmission class"),
        ("transmission loss", "level difference"),
        ("impact noise", "airborne noise"),
        ("r value", "u value"),
        ("wood stud", "steel stud"),
        ("2x4", "2x6"),
    ] {
        assert!(!same(one, other), "{one}, {other}");
        let known = |text| !others(Vocabulary::built_in(), text).is_empty();
        assert!(known(one) && known(other), "{one}, {other}");
    }
}

#[test]
fn the_longest_run_counts() {
    let run = words("mineral wool batts in 2x4 studs");
    let vocabulary = Vocabulary::built_in();
    let counts = |at: usize| vocabulary.longest(&run[at..]).map(|meaning| meaning.count);
    assert_eq!((counts(0), counts(2), counts(4)), (Some(2), Some(1), Some(3)));
    assert_eq!(counts(3), None, "a little word has no meaning of its own");
    assert!(vocabulary.longest(&[]).is_none());
    let one_by_one = words("sound level meters");
    assert_eq!(vocabulary.longest(&one_by_one).map(|meaning| meaning.count), Some(3));
}

/// Dressed dry sizes in inches of the American Softwood Lumber Standard (PS 20), from memory, × 25.4 mm.
#[test]
fn nominal_sections_are_the_dressed_millimetres() {
    for (nominal, width_in, depth_in) in [
        ("1x4", 0.75, 3.5),
        ("2x2", 1.5, 1.5),
        ("2x3", 1.5, 2.5),
        ("2x4", 1.5, 3.5),
        ("2x6", 1.5, 5.5),
        ("2x8", 1.5, 7.25),
        ("2x10", 1.5, 9.25),
        ("2x12", 1.5, 11.25),
        ("4x4", 3.5, 3.5),
    ] {
        let mm = |inches: f64| (inches * 25.4).round();
        let metric = format!("{}x{}", mm(width_in), mm(depth_in));
        assert!(same(nominal, &metric), "{nominal} {metric}");
    }
}

/// 25.4 mm to the inch, exactly; board thicknesses are printed to a tenth of a millimetre.
#[test]
fn board_thicknesses_are_the_same_length() {
    for (inches, fraction, mm) in [
        ("1/4 in", 0.25, "6.4"),
        ("3/8 in", 0.375, "9.5"),
        ("1/2 in", 0.5, "12.7"),
        ("5/8 in", 0.625, "15.9"),
        ("3/4 in", 0.75, "19.1"),
    ] {
        assert!((mm.parse::<f64>().unwrap() - fraction * 25.4).abs() < 0.051, "{inches}");
        assert!(same(inches, mm) && same(inches, &format!("{mm} mm")), "{inches}");
    }
}

#[test]
fn own_lines_add_to_the_built_in_ones() {
    let text = "\u{feff}# ours\n\nthe annex = the back house\nrock wool = grey stuff\nFILL  Glass Fibre: pink stuff\nstud = studs = ourstick\nkind receipt: chit\n";
    let (vocabulary, problems) = Vocabulary::with_own(text);
    assert_eq!(problems, []);
    assert_eq!(others(&vocabulary, "the annex"), [words("the back house")]);
    assert_eq!(named(&vocabulary, "grey stuff"), Some((ConceptClass::Fill, "stone wool".to_owned())));
    assert!(others(&vocabulary, "mineral wool").contains(&words("grey stuff")));
    assert_eq!(named(&vocabulary, "pink stuff"), Some((ConceptClass::Fill, "glass fibre".to_owned())));
    assert_eq!(others(&vocabulary, "ourstick"), [words("stud")]);
    assert_eq!(named(&vocabulary, "chits"), Some((ConceptClass::Kind, "receipt".to_owned())));
    // The built-in vocabulary is as it was.
    assert_eq!(named(Vocabulary::built_in(), "grey stuff"), None);
    assert!(others(Vocabulary::built_in(), "ourstick").is_empty());
}

#[test]
fn the_word_spelt_nearest_is_one_of_the_trade() {
    let vocabulary = Vocabulary::built_in();
    let nearest = |word: &str| vocabulary.nearest(word).map(|(word, _)| word);
    for (typed, meant) in
        [("minerl", "mineral"), ("fibreglas", "fibreglass"), ("celulose", "cellulose"), ("gaskte", "gasket")]
    {
        assert_eq!(nearest(typed).as_deref(), Some(meant), "{typed}");
    }
    assert_eq!(nearest("lighthouse"), None);
    assert!(vocabulary.has_word("cellulose") && !vocabulary.has_word("celulose"));
    // The worked example of the restricted edit distance: two neighbours swapped count once (from memory).
    assert_eq!((letters_apart("ca", "ac"), letters_apart("kitten", "sitting")), (1, 3));
}

#[test]
fn bad_lines_are_left_out_with_their_number() {
    let text = "alone\none = two\none = three\nfour == five\n= six\nstone wool = glass fibre\nfill candyfloss: pink\nstud = Studs\n\
                a b c d e f g h i = long\nfill stone wool: cellulose\ncolour: red = crimson\nsix = seven\nfill other: hemp";
    let (vocabulary, problems) = Vocabulary::with_own(text);
    let shown: Vec<(usize, WhyLeftOut)> =
        problems.into_iter().map(|problem| (problem.line, problem.why)).collect();
    let elsewhere = |member: &str| WhyLeftOut::ElsewhereAlready { member: member.to_owned() };
    let unknown = |name: &str| WhyLeftOut::UnknownName { name: name.to_owned() };
    assert_eq!(
        shown,
        [
            (1, WhyLeftOut::OneMember),
            (3, elsewhere("one")),
            (4, WhyLeftOut::EmptyMember),
            (5, WhyLeftOut::EmptyMember),
            (6, elsewhere("glass fibre")),
            (7, unknown("fill candyfloss")),
            (8, WhyLeftOut::OneMember),
            (9, WhyLeftOut::TooLong { member: "a b c d e f g h i".to_owned() }),
            (10, elsewhere("cellulose")),
            (11, unknown("colour")),
        ]
    );
    assert_eq!(others(&vocabulary, "one"), [words("two")]);
    assert_eq!(others(&vocabulary, "six"), [words("seven")]);
    assert_eq!(named(&vocabulary, "hemp"), Some((ConceptClass::Fill, "other".to_owned())));
}

#[test]
fn a_file_beyond_all_measure_is_cut() {
    let text = (0..6_000).map(|number| format!("worda {number} = wordb {number}\n")).collect::<String>();
    let (vocabulary, problems) = Vocabulary::with_own(&text);
    assert_eq!(problems, [LineProblem { line: MOST_LINES + 1, why: WhyLeftOut::TooManyLines }]);
    assert_eq!(others(&vocabulary, "worda 4999"), [words("wordb 4999")]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    /// Any file is read: what it adds is in one group only, and a meaning covers what it was asked for.
    #[test]
    fn any_file_is_read(text in prop_oneof!["\\PC{0,60}", "((fill|stone wool|drywall|x|=|:|\n| |\u{0}|🙂|א|1/2 in|#){1,4}\n){0,8}"]) {
        let (vocabulary, problems) = Vocabulary::with_own(&text);
        prop_assert!(problems.len() <= text.lines().count());
        for (member, known) in &vocabulary.members {
            let meaning = vocabulary.longest(member);
            prop_assert_eq!(meaning.map(|meaning| meaning.count), Some(member.len()));
            prop_assert!(!known.others.contains(member));
            prop_assert_eq!(known.others.len() + 1, vocabulary.groups[known.group].members.len());
        }
    }
}
