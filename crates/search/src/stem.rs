//! English word endings: plurals, `-ed`, `-ing`, `-ation`, `-ment`, final `y` and `e`.
//!
//! Steps 1 and 5 of M. F. Porter, "An algorithm for suffix stripping", Program 14(3), 1980, with the later
//! corrections by the same author for short words (`ties`, `dry`), and of steps 2 and 4 the two endings that name what a verb
//! of the trade does: `insulation` is found by `insulated`, `measurement` by `measured`. The other endings of steps 2 to
//! 4 are left out: they join words of different meaning too often for the short texts of a job diary.

/// Words that the rules would join with another of different meaning, or keep from their own forms, by their stems.
///
/// Sorted by word. A word whose stem is itself is kept apart: `siding` is no `side`, `moulding` no mould.
const IRREGULAR: &[(&str, &str)] = &[
    ("apartment", "apartment"),
    ("bought", "buy"),
    ("broken", "break"),
    ("built", "build"),
    ("buses", "bus"),
    ("casing", "casing"),
    ("compartment", "compartment"),
    ("deeper", "deep"),
    ("department", "department"),
    ("drafty", "draft"),
    ("draughty", "draught"),
    ("dusty", "dust"),
    ("embed", "embed"),
    ("emptied", "emptied"),
    ("emptying", "emptied"),
    ("exceed", "exceed"),
    ("feet", "foot"),
    ("gas", "gas"),
    ("gases", "gas"),
    ("glued", "glue"),
    ("gluing", "glue"),
    ("halves", "half"),
    ("heavier", "heavi"),
    ("hung", "hang"),
    ("installation", "instal"),
    ("knives", "knife"),
    ("laid", "lay"),
    ("lathe", "lathe"),
    ("leakage", "leak"),
    ("leaky", "leak"),
    ("leaves", "leaf"),
    ("lens", "lens"),
    ("lining", "lining"),
    ("louder", "loud"),
    ("loudest", "loud"),
    ("molding", "molding"),
    ("moulding", "moulding"),
    ("noisier", "nois"),
    ("noisy", "nois"),
    ("opening", "opening"),
    ("plumbing", "plumbing"),
    ("preparation", "prepar"),
    ("proceed", "proceed"),
    ("quieter", "quiet"),
    ("quietest", "quiet"),
    ("sanded", "sanding"),
    ("sanding", "sanding"),
    ("shelves", "shelf"),
    ("siding", "siding"),
    ("succeed", "succeed"),
    ("thicker", "thick"),
    ("thinner", "thin"),
    ("wooden", "wood"),
];

/// The stem of a lower-case word of ASCII letters; any other word, and one of two letters or fewer, as it is.
pub(crate) fn stem(word: &str) -> String {
    if word.len() <= 2 || !word.bytes().all(|byte| byte.is_ascii_lowercase()) {
        return word.to_owned();
    }
    if let Some(known) = irregular(word) {
        return known.to_owned();
    }
    let singular = plural(word);
    if let Some(known) = irregular(&singular) {
        return known.to_owned();
    }
    final_e(&noun_of_verb(final_y(past_and_participle(singular))))
}

fn irregular(word: &str) -> Option<&'static str> {
    IRREGULAR.iter().find(|(known, _)| *known == word).map(|(_, stem)| *stem)
}

/// Step 1a. Of one letter before `ies` the `e` stays: `ties` are more than one `tie`. Few plurals end in `us`
/// or `is`, and many other words do.
fn plural(word: &str) -> String {
    if let Some(rest) = word.strip_suffix("ies") {
        return format!("{rest}{}", if rest.len() == 1 { "ie" } else { "i" });
    }
    let is_plural = word.ends_with('s') && !["ss", "us", "is"].iter().any(|ending| word.ends_with(ending));
    let cut = if word.ends_with("sses") { 2 } else { usize::from(is_plural) };
    word[..word.len() - cut].to_owned()
}

/// Step 1b.
fn past_and_participle(word: String) -> String {
    if let Some(rest) = word.strip_suffix("ied") {
        return format!("{rest}{}", if rest.len() == 1 { "ie" } else { "i" });
    }
    if let Some(rest) = word.strip_suffix("eed") {
        return if measure(rest) > 0 { format!("{rest}ee") } else { word };
    }
    let rest = word.strip_suffix("ed").or_else(|| word.strip_suffix("ing"));
    match rest.filter(|rest| has_vowel(rest)) {
        Some(rest) => restored(rest),
        None => word,
    }
}

/// The second half of step 1b: what a removed ending had changed.
fn restored(rest: &str) -> String {
    if ["at", "bl", "iz"].iter().any(|ending| rest.ends_with(ending)) {
        return format!("{rest}e");
    }
    if ends_double(rest) && !rest.ends_with(['l', 's', 'z']) {
        return rest[..rest.len() - 1].to_owned();
    }
    if measure(rest) == 1 && ends_short(rest) { format!("{rest}e") } else { rest.to_owned() }
}

/// Step 1c, after a consonant that does not begin the word: `dry` and `dried` meet, `by` and `bay` stay.
fn final_y(word: String) -> String {
    match word.strip_suffix('y') {
        Some(rest) if rest.len() > 1 && vowels(&word)[rest.len() - 1..] == [false, true] => {
            format!("{rest}i")
        }
        _ => word,
    }
}

/// Of step 2 `-ation`, of step 4 `-ment`.
fn noun_of_verb(word: String) -> String {
    if let Some(rest) = word.strip_suffix("ation").filter(|rest| measure(rest) > 0) {
        return format!("{rest}ate");
    }
    match word.strip_suffix("ment").filter(|rest| measure(rest) > 1) {
        Some(rest) => rest.to_owned(),
        None => word,
    }
}

/// Step 5.
fn final_e(word: &str) -> String {
    let word = match word.strip_suffix('e') {
        Some(rest) if measure(rest) > 1 || (measure(rest) == 1 && !ends_short(rest)) => rest,
        _ => word,
    };
    if word.ends_with("ll") && measure(word) > 1 {
        word[..word.len() - 1].to_owned()
    } else {
        word.to_owned()
    }
}

/// Whether each letter is a vowel; `y` is one after a consonant.
fn vowels(word: &str) -> Vec<bool> {
    let mut kinds: Vec<bool> = Vec::with_capacity(word.len());
    for byte in word.bytes() {
        let vowel = match byte {
            b'a' | b'e' | b'i' | b'o' | b'u' => true,
            b'y' => kinds.last().is_some_and(|before| !before),
            _ => false,
        };
        kinds.push(vowel);
    }
    kinds
}

/// How often a consonant follows a vowel: Porter's m.
fn measure(word: &str) -> usize {
    vowels(word).windows(2).filter(|pair| pair[0] && !pair[1]).count()
}

fn has_vowel(word: &str) -> bool {
    vowels(word).contains(&true)
}

fn ends_double(word: &str) -> bool {
    let bytes = word.as_bytes();
    bytes.len() >= 2
        && bytes[bytes.len() - 1] == bytes[bytes.len() - 2]
        && vowels(word).last() == Some(&false)
}

/// Consonant, vowel, consonant, the last not `w`, `x` or `y`: Porter's *o.
fn ends_short(word: &str) -> bool {
    let kinds = vowels(word);
    matches!(kinds[..], [.., false, true, false]) && !word.ends_with(['w', 'x', 'y'])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples printed with each step in Porter's paper, written down from memory.
    #[test]
    fn steps_agree_with_the_published_examples() {
        for (word, expected) in [
            ("caresses", "caress"),
            ("ponies", "poni"),
            // The paper gives "ti"; the author's later description of the English stemmer gives this, from memory.
            ("ties", "tie"),
            ("cries", "cri"),
            ("gus", "gus"),
            ("caress", "caress"),
            ("cats", "cat"),
        ] {
            assert_eq!(plural(word), expected, "step 1a");
        }
        for (word, expected) in [
            ("feed", "feed"),
            ("agreed", "agree"),
            ("plastered", "plaster"),
            ("bled", "bled"),
            ("motoring", "motor"),
            ("sing", "sing"),
            ("conflated", "conflate"),
            ("troubled", "trouble"),
            ("sized", "size"),
            ("hopping", "hop"),
            ("tanned", "tan"),
            ("falling", "fall"),
            ("hissing", "hiss"),
            ("fizzed", "fizz"),
            ("failing", "fail"),
            ("filing", "file"),
        ] {
            assert_eq!(past_and_participle(word.to_owned()), expected, "step 1b");
        }
        // By the later description again.
        for (word, expected) in [("happy", "happi"), ("cry", "cri"), ("by", "by"), ("say", "say")] {
            assert_eq!(final_y(word.to_owned()), expected, "step 1c");
        }
        for (word, expected) in [
            ("probate", "probat"),
            ("rate", "rate"),
            ("cease", "ceas"),
            ("controll", "control"),
            ("roll", "roll"),
        ] {
            assert_eq!(final_e(word), expected, "step 5");
        }
    }

    #[test]
    fn measures_agree_with_the_published_examples() {
        for (m, words) in [
            (0, &["tr", "ee", "tree", "y", "by"][..]),
            (1, &["trouble", "oats", "trees", "ivy"]),
            (2, &["troubles", "private", "oaten", "orrery"]),
        ] {
            for word in words {
                assert_eq!(measure(word), m, "{word}");
            }
        }
    }

    #[test]
    fn words_of_the_trade_meet_their_forms() {
        for forms in [
            "seal sealed sealing seals",
            "board boards boarded boarding",
            "batt batts",
            "box boxes boxed",
            "joist joists joisted",
            "stud studs studded",
            "louvre louvres louvred",
            "louver louvers louvered",
            "fibre fibres",
            "measure measures measured measuring measurement measurements",
            "insulate insulated insulates insulating insulation insulations",
            "isolate isolated isolating isolation",
            "ventilate ventilated ventilation",
            "install installed installing installs installation",
            "calibrate calibrated calibration calibrations",
            "penetrate penetrated penetration",
            "vibrate vibration",
            "prepare prepared preparation",
            "replace replaced replacing replacement",
            "improve improved improvement",
            "cavity cavities",
            "assembly assemblies",
            "noise noises noisy noisier",
            "leak leaks leaking leaked leaky leakage",
            "quiet quieter quietest",
            "dry dried drying dries",
            "tie tied ties",
            "glue glued gluing glues",
            "mass masses",
            "glass glasses",
            "process processes processed",
            "gas gases",
            "drywall drywalled drywalling",
            "fill fills filled filling",
            "frame frames framed framing",
            "tape taped taping",
            "plane planed planing",
            "hang hung hanging",
            "build built building",
            "foot feet",
            "leaf leaves",
            "shelf shelves",
            "truss trusses",
            "opening openings",
            "wood woods wooden",
            "caulk caulked caulking",
            "screw screws screwed",
            "exceed exceeds exceeded exceeding",
        ] {
            let mut stems: Vec<String> = forms.split(' ').map(stem).collect();
            stems.dedup();
            assert_eq!(stems.len(), 1, "{forms}: {stems:?}");
        }
    }

    #[test]
    fn words_that_only_look_alike_stay_apart() {
        for apart in [
            "side siding",
            "sand sanding",
            "empty emptied",
            "line lining",
            "case casing",
            "mould moulding",
            "mold molding",
            "open opening",
            "plumb plumbing",
            "plan plane",
            "tap tape",
            "bar bare",
            "gap gape",
            "scrap scrape",
            "lath lathe",
            "apart apartment",
            "base basement",
            "state station",
            "found foundation",
            "seal sealant",
            "wall wallboard",
            "mass mask",
            "gas gasket",
            "gypsum gyps",
            "batt bat",
            "stud study",
            "form foam",
            "ceil cell",
            "process procedure",
        ] {
            let stems: Vec<String> = apart.split(' ').map(stem).collect();
            assert_ne!(stems[0], stems[1], "{apart}");
        }
    }

    #[test]
    fn short_and_foreign_words_stay() {
        for word in [
            "x", "gé", "12.7", "kg", "glass", "gypsum", "mass", "gas", "process", "red", "bed", "ring",
            "mm:89",
        ] {
            assert_eq!(stem(word), word);
        }
    }

    #[test]
    fn irregular_words_are_sorted_and_no_stem_is_cut_again() {
        assert!(IRREGULAR.is_sorted_by_key(|(word, _)| *word));
        for (word, known) in IRREGULAR {
            assert!(stem(known) == *known || known.ends_with('i'), "{word}: {known} {}", stem(known));
        }
    }
}
