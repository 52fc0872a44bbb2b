//! What texts speak of: whole words, small letters, one sentence at a time.
//!
//! English and Spanish; accents make no difference. A word after "no", "not", "without", "never", "sin", "nunca" or
//! "no hay" does not count. Leaves out every other way of saying that something is not there, and spelling mistakes.

use std::collections::{BTreeMap, BTreeSet};

/// Words before a word that take it back.
const NEGATIONS: &[&str] = &["no", "not", "without", "never", "sin", "nunca"];

/// Words looked for, found by their first word.
#[derive(Debug, Clone, Default)]
pub(super) struct Vocabulary {
    by_first: BTreeMap<&'static str, BTreeSet<&'static str>>,
}

impl Vocabulary {
    /// Takes in one word or several words that stand together, in small letters without accents.
    pub(super) fn of(phrases: impl IntoIterator<Item = &'static str>) -> Self {
        let mut all = Self::default();
        for phrase in phrases {
            if let Some(first) = phrase.split(' ').next() {
                all.by_first.entry(first).or_default().insert(phrase);
            }
        }
        all
    }

    /// Which of the words stand in each sentence; sentences without any are left out. The last word may stand in the plural.
    pub(super) fn find(&self, text: &str) -> Vec<BTreeSet<&'static str>> {
        let found = sentences(text).into_iter().map(|sentence| self.find_in(&sentence));
        found.filter(|phrases| !phrases.is_empty()).collect()
    }

    fn find_in(&self, sentence: &[String]) -> BTreeSet<&'static str> {
        let mut found = BTreeSet::new();
        for (at, word) in sentence.iter().enumerate() {
            let is_taken_back = is_taken_back(&sentence[..at]);
            let firsts = [Some(word.as_str()), word.strip_suffix('s')].into_iter().flatten();
            let phrases = firsts.filter_map(|first| self.by_first.get(first)).flatten();
            if !is_taken_back {
                found.extend(phrases.filter(|phrase| stands(phrase, &sentence[at..])));
            }
        }
        // "asbestos" is a word of its own, and not the plural of the Spanish "asbesto".
        let plural = |phrase: &str| found.iter().any(|other| other.strip_suffix('s') == Some(phrase));
        found.iter().filter(|phrase| !plural(phrase)).copied().collect()
    }
}

/// Whether what stands before a word says that it is not there.
fn is_taken_back(before: &[String]) -> bool {
    match before {
        [.., no, hay] if no == "no" && hay == "hay" => true,
        [.., last] => NEGATIONS.contains(&last.as_str()),
        [] => false,
    }
}

fn stands(phrase: &str, words: &[String]) -> bool {
    let phrase: Vec<&str> = phrase.split(' ').collect();
    let Some((last, before)) = phrase.split_last() else { return false };
    let Some(found) = words.get(before.len()) else { return false };
    let is_last = found == last || found.strip_suffix('s') == Some(*last);
    is_last && before.iter().zip(words).all(|(wanted, word)| wanted == word)
}

/// The words of each sentence. A full stop within a number ends none.
fn sentences(text: &str) -> Vec<Vec<String>> {
    let mut sentences = vec![Vec::new()];
    let mut word = String::new();
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        if letter.is_alphanumeric() {
            word.extend(letter.to_lowercase().map(without_accent));
            continue;
        }
        let words = sentences.last_mut().expect("the list begins with one sentence and only grows");
        if !word.is_empty() {
            words.push(std::mem::take(&mut word));
        }
        let is_in_number = letter == '.' && letters.peek().is_some_and(char::is_ascii_digit);
        if matches!(letter, '.' | ';' | '!' | '?' | '\n') && !is_in_number {
            sentences.push(Vec::new());
        }
    }
    if !word.is_empty() {
        sentences.last_mut().expect("the list begins with one sentence and only grows").push(word);
    }
    sentences
}

/// The letter as it is written in haste: `é` as `e`, `ñ` as `n`.
fn without_accent(letter: char) -> char {
    match letter {
        'á' => 'a',
        'é' => 'e',
        'í' => 'i',
        'ó' => 'o',
        'ú' | 'ü' => 'u',
        'ñ' => 'n',
        other => other,
    }
}

/// Names as a person lists them: `A`, `A and B`, `A, B and C`.
pub(super) fn listed<Name: AsRef<str>>(names: &[Name]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [before @ .., last] => {
            let before: Vec<&str> = before.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", before.join(", "), last.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_words_count_in_any_case_and_in_the_plural() {
        let all = Vocabulary::of(["ladder", "water heater", "mould", "joist", "cut"]);
        let found = |text: &str| -> Vec<Vec<&str>> {
            all.find(text).into_iter().map(|phrases| phrases.into_iter().collect()).collect()
        };
        assert_eq!(found("Step-ladder moved."), [["ladder"]]);
        assert_eq!(found("two LADDERS"), [["ladder"]]);
        assert_eq!(found("a gas water heater"), [["water heater"]]);
        assert_eq!(found("gas water heaters; a heater for water"), [["water heater"]]);
        assert_eq!(found("bladder, laddered, moulding"), [] as [Vec<&str>; 0]);
        assert_eq!(found("joist cut 2.5 in deep. Board cut."), [vec!["cut", "joist"], vec!["cut"]]);
        assert_eq!(found("a joist. Cut"), [["joist"], ["cut"]]);
    }

    #[test]
    fn spanish_words_count_with_and_without_accents() {
        let all = Vocabulary::of(["escalera", "caldera", "demolicion", "estufa de lena"]);
        assert_eq!(all.find("Subí a la ESCALERA")[0].iter().collect::<Vec<_>>(), [&"escalera"]);
        assert_eq!(all.find("demolición, estufa de leña")[0].len(), 2);
        assert_eq!(
            all.find("Demolicion; estufas de lena").len(),
            1,
            "only the last word may stand in the plural"
        );
        assert_eq!(Vocabulary::of(["asbestos", "asbesto"]).find("Asbestos tile")[0].len(), 1);
        assert_eq!(all.find("sin caldera, nunca calderas. Aquí no hay escalera"), []);
    }

    #[test]
    fn what_is_not_there_does_not_count() {
        let all = Vocabulary::of(["mould", "ladder"]);
        for text in ["No mould", "no mould found", "without ladders", "never mould", "not mould", ""] {
            assert_eq!(all.find(text), [], "{text}");
        }
        assert_eq!(all.find("No. Mould found").len(), 1);
        assert_eq!(all.find("no mould in the bays, mould on the plate").len(), 1);
    }

    #[test]
    fn names_are_listed_as_people_do() {
        assert_eq!(listed::<&str>(&[]), "");
        assert_eq!(listed(&["A"]), "A");
        assert_eq!(listed(&["A", "B", "C"]), "A, B and C");
    }
}
