//! Measures against arithmetic with the inch of 25.4 mm, and against what is no measure.

use proptest::prelude::*;

use crate::analyse::{analyser, measures, words};

fn shown(text: &str) -> String {
    measures(text).into_iter().map(|(measure, _)| measure).collect::<Vec<_>>().join(" ")
}

/// One inch is 25.4 mm and one foot twelve of them (international yard and pound agreement of 1959).
#[test]
fn lengths_meet_whatever_they_are_written_in() {
    for (mm, texts) in [
        (
            89,
            &[
                "3.5 in",
                "3-1/2\"",
                "3 1/2 inches",
                "3½ in",
                "3½″",
                "3 ½ inch",
                "89 mm",
                "89mm",
                "8.9 cm",
                "88.9 mm",
                "0.089 m",
                "3.50 in.",
                "3-1/2-inch",
                "3.5''",
                "a 3 1/2” batt",
                "89 millimetres",
                "89 Millimeters",
            ][..],
        ),
        (2438, &["8 ft", "8'", "8 feet", "8′", "96 in", "8 foot", "8-foot", "2438 mm", "2,438 mm"]),
        (
            2515,
            &["8' 3\"", "8'3\"", "8 ft 3 in", "8 ft. 3 in.", "8'-3\"", "8′ 3″", "8’ 3”", "99 in", "8ft3in"],
        ),
        (2527, &["8' 3 1/2\"", "8'-3-1/2\"", "8 ft 3½ in", "8 ft 3.5 inches", "99.5 in"]),
        (2440, &["2.44 m", "244 cm", "2440 mm", "2.44 metres"]),
        (
            16,
            &[
                "5/8 in",
                "5/8\"",
                "⅝ in",
                "15.9 mm",
                "16 mm",
                "5/8 drywall",
                "5/8 type X gypsum",
                "gypsum 15.9 x2",
            ],
        ),
        (
            13,
            &[
                "1/2 in",
                "½\"",
                "12.7 mm",
                "12.5 mm",
                "1/2 gypsum board",
                "drywall 1/2",
                "gypsum type x 12.7 x1",
            ],
        ),
        (12, &["plywood 12 x1, 8 kg/m2, direct"]),
        (6, &["1/4 in", "6.35 mm", "1/4 fibre cement board"]),
    ] {
        for text in texts {
            assert_eq!(shown(text), format!("mm:{mm}"), "{text}");
        }
    }
}

#[test]
fn spacings_meet_whatever_they_are_written_in() {
    for (expected, texts) in [
        (
            "oc:406",
            &[
                "16 o.c.",
                "16 oc",
                "16 OC",
                "16 on centre",
                "16 on centers",
                "406 centres",
                "16 o/c",
                "16 c/c",
            ][..],
        ),
        (
            "mm:406 oc:406",
            &[
                "16 in on center",
                "16\" oc",
                "406 mm centres",
                "16 in. o.c.",
                "16-inch centers",
                "16″ o.c.",
                "406 mm centre to centre",
                "16\" o/c",
            ],
        ),
        (
            "stud:38x89 oc:406",
            &["38x89@406", "2x4@16", "2x4 @ 16", "2x4s at 16 o.c.", "2x4 studs at 16", "2x4 @ 406"],
        ),
        ("stud:38x89 mm:406 oc:406", &["2x4 @ 16\"", "2x4s at 16 in", "38 x 89 studs at 406 mm on centre"]),
        ("oc:610", &["24 o.c.", "610 centres", "609.6 on centre", "24 on center"]),
        ("stud:38x140 oc:610 stud:38x89", &["staggered wood 38x140@610 on 38x89"]),
        ("oc:566", &["channel 13@566"]),
    ] {
        for text in texts {
            assert_eq!(shown(text), *expected, "{text}");
        }
    }
}

/// Dressed dry sizes of the American Softwood Lumber Standard (PS 20), from memory, × 25.4 mm.
#[test]
fn nominal_and_dressed_sections_meet() {
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
        let spaced = metric.replace('x', " x ");
        for text in [
            nominal,
            &nominal.replace('x', " x "),
            &nominal.replace('x', "×"),
            &nominal.replace('x', " by "),
            &nominal.replace('x', "by"),
            &format!("{nominal}s"),
            &format!("{nominal}x8"),
            &metric,
            &spaced,
            &format!("{width_in} x {depth_in}"),
        ] {
            assert_eq!(shown(text), format!("stud:{metric}"), "{text}");
        }
    }
    assert_eq!(shown("1-1/2\" x 3-1/2\""), "mm:38 stud:38x89 mm:89");
    assert_eq!(shown("38 x 89 mm"), "stud:38x89 mm:89");
    assert_eq!(shown("2\" x 4\" stud"), "mm:51 stud:38x89");
}

#[test]
fn labels_of_resistance_meet() {
    for text in ["R-15", "R15", "r 15", "R-value 15", "R value of 15", "R-15.0"] {
        assert_eq!(shown(text), "r:15", "{text}");
    }
    assert_eq!(shown("R-3.5 per inch"), "r:3.5");
}

#[test]
fn the_notation_of_assemblies_is_in_millimetres() {
    for (text, expected) in [
        ("89 clear, glass fibre 89, 10 kg/m3, 100%", "mm:89 mm:89"),
        ("89 clear, empty", "mm:89"),
        ("89 clear, cellulose 89", "mm:89 mm:89"),
        ("gypsum 15.9 x2, 22 kg/m2, channel 13@566, damping", "mm:16 oc:566"),
        ("gypsum type x 15.9 x1 + plywood 12 x1, 22 kg/m2", "mm:16 mm:12"),
        ("double wood 38x89@406, gap 25", "stud:38x89 oc:406 mm:25"),
        ("door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2 tight, offset 610", "mm:15 mm:610"),
        ("A 1, B 2, top 2, bottom 2", ""),
    ] {
        assert_eq!(shown(text), expected, "{text}");
    }
}

#[test]
fn what_is_no_measure_is_none() {
    for text in [
        "",
        "in",
        "89",
        "2025-03-04",
        "3 in the hall",
        "2 in May",
        "4 in 2025",
        "the 80's",
        "1.65 m2",
        "3 m²",
        "3 m/s",
        "120 ft/min",
        "32 sq ft",
        "32 ft2",
        "12 ft3",
        "22 kg/m2",
        "1/3 in",
        "4/4 in",
        "3 1/2 mm",
        "2 walls",
        "x2 boards",
        "drywall 12 sheets",
        "4x8 sheets",
        "room R",
        "R-",
        "R-900",
        "5 @ 3.50",
        "99999999999999 mm",
        "0 mm",
        "1/64 in",
        "0.3 in wc",
        "20 ft lb",
        "T01 before",
        "a 16 centre stud",
        "3 \"drop seal\"",
        "12-14",
    ] {
        assert_eq!(shown(text), "", "{text}");
    }
    // A hole four feet square is no post.
    assert_eq!(shown("4 by 4 feet"), "mm:1219");
}

#[test]
fn measures_cover_their_bytes() {
    let text = "Ein “3½ in” — 8' 3\" hoch, 2x4@16";
    let covered: Vec<&str> = measures(text).into_iter().map(|(_, bytes)| &text[bytes]).collect();
    assert_eq!(covered, ["3½ in", "8' 3\"", "2x4", "16"]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

    /// No text is a panic; bytes are slices of it; positions never go back and plain words stay as they are.
    #[test]
    fn any_text_is_read(pieces in prop::collection::vec(prop_oneof![
        "\\PC{0,8}", "[ \"'x0-9./,@½×-]{0,10}",
        "(in|ft|m|mm|R|o\\.c\\.|x|by| |-|1/2|16|2|channel|@|the|drywall|fibre|clear|\u{0}|\u{202e}|🙂|א){0,8}",
    ], 0..24)) {
        let text = pieces.concat();
        for (measure, bytes) in measures(&text) {
            prop_assert!(text.get(bytes.clone()).is_some_and(|covered| !covered.is_empty()));
            prop_assert!(measure.contains(':'));
        }
        let (mut plain, mut position) = (Vec::new(), 0);
        let mut is_forward = true;
        analyser().token_stream(&text).process(&mut |token| {
            is_forward &= token.position >= position;
            position = token.position;
            if !token.text.contains(':') {
                plain.push(token.text.clone());
            }
        });
        prop_assert!(is_forward);
        prop_assert_eq!(plain, words(&text));
    }

    /// What is so many sixty-fourths of an inch is found by its decimals and by its millimetres, unless it lies between two.
    #[test]
    fn inches_meet_millimetres(sixty_fourths in 64_u32..6_400) {
        let inches = f64::from(sixty_fourths) / 64.0;
        let mm = inches * 25.4;
        prop_assume!((mm.fract() - 0.5).abs() > 1e-9);
        let (whole, part) = (sixty_fourths / 64, sixty_fourths % 64);
        let mut texts = vec![format!("{inches} in"), format!("{:.0} mm", mm.round()), format!("{mm:.4} mm")];
        if part > 0 {
            let shared = 1 << part.trailing_zeros();
            texts.push(format!("{whole}-{}/{}\"", part / shared, 64 / shared));
        }
        for text in texts {
            prop_assert_eq!(shown(&text), format!("mm:{:.0}", mm.round()), "{}", text);
        }
    }
}

/// Ten kilobytes of anything are read in one pass.
#[test]
fn long_texts_are_bounded() {
    for piece in
        ["2x4@16 ", "8' 3\" ", "R-", "1/2 ", "16 o.c. ", "x", "½", "1,", "1.", "'\"", "\u{301}", "🙂"]
    {
        let text = piece.repeat(10_000 / piece.len());
        assert!(measures(&text).len() <= text.len());
    }
}
