//! English word endings: plurals, `-ed`, `-ing`, final `y` and `e`.
//!
//! Steps 1 and 5 of M. F. Porter, "An algorithm for suffix stripping", Program 14(3), 1980. Left out are steps 2
//! to 4, which also fold `insulation` into `insulate`: they join words of different meaning too often for the
//! short texts of a job diary.

/// The stem of a lower-case word of ASCII letters; any other word, and one of two letters or fewer, as it is.
pub(crate) fn stem(word: &str) -> String {
    if word.len() <= 2 || !word.bytes().all(|byte| byte.is_ascii_lowercase()) {
        return word.to_owned();
    }
    final_e(&final_y(past_and_participle(plural(word).to_owned())))
}

/// Step 1a.
fn plural(word: &str) -> &str {
    if word.ends_with("sses") || word.ends_with("ies") {
        &word[..word.len() - 2]
    } else if word.ends_with('s') && !word.ends_with("ss") {
        &word[..word.len() - 1]
    } else {
        word
    }
}

/// Step 1b.
fn past_and_participle(word: String) -> String {
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

/// Step 1c.
fn final_y(word: String) -> String {
    match word.strip_suffix('y') {
        Some(rest) if has_vowel(rest) => format!("{rest}i"),
        _ => word,
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
            ("ties", "ti"),
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
        for (word, expected) in [("happy", "happi"), ("sky", "sky")] {
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
        for (one, other) in [
            ("sealed", "sealing"),
            ("boards", "boarded"),
            ("batt", "batts"),
            ("fibres", "fibre"),
            ("measured", "measures"),
            ("studs", "stud"),
            ("cavity", "cavities"),
        ] {
            assert_eq!(stem(one), stem(other));
        }
        for other in ["x", "gé", "12.7", "kg"] {
            assert_eq!(stem(other), other);
        }
    }
}
