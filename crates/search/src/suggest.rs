//! How a question that is being typed might go on: sites, fills, frames and states by name, words of the notebook, units after a
//! number. Leaves out answering it.

use std::collections::BTreeSet;

use crate::SearchError;
use crate::answer::{Basis, name_words};
use crate::near::completions;
use crate::vocabulary::ConceptClass;

/// One way to go on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggestion {
    /// The whole question, gone on.
    pub text: String,
    /// What the new part means.
    pub words: String,
    /// What kind of thing it is: `site`, `fill`, `frame`, `state`, `unit`, `job`, `word`.
    pub kind: &'static str,
}

/// The most letters of a question that are gone on with; nobody types a longer one.
const MOST_LETTERS: usize = 500;

/// Most words of the notebook among the ways to go on.
const MOST_WORDS: usize = 5;

/// Ways to go on with what was typed, at most `most`, names before words.
///
/// # Errors
/// [`SearchError`] when the index cannot be read.
pub fn suggest(typed: &str, most: usize, basis: &Basis<'_, '_>) -> Result<Vec<Suggestion>, SearchError> {
    if typed.trim().is_empty() || typed.chars().count() > MOST_LETTERS {
        return Ok(Vec::new());
    }
    let mut found = units(typed);
    found.extend(names(typed, basis));
    found.extend(words(typed, basis)?);
    let mut seen = BTreeSet::new();
    found.retain(|one| one.text.trim() != typed.trim() && seen.insert(one.text.to_lowercase()));
    found.truncate(most);
    Ok(found)
}

/// The ends of a text that are a few whole words, the longest first, with what stands before each.
fn ends(typed: &str) -> impl Iterator<Item = (&str, &str)> {
    const MOST: usize = 3;
    let starts: Vec<usize> = std::iter::once(0)
        .chain(typed.match_indices(char::is_whitespace).map(|(at, space)| at + space.len()))
        .filter(|at| typed[*at..].starts_with(|letter: char| !letter.is_whitespace()))
        .collect();
    let from = starts.len().saturating_sub(MOST);
    starts.into_iter().skip(from).map(|at| typed.split_at(at))
}

/// After a comparison and a number: what it may be a number of.
fn units(typed: &str) -> Vec<Suggestion> {
    const COMPARE: &[&str] = &["over", "under", "above", "below", "least", "most", "than"];
    let words: Vec<&str> = typed.split_whitespace().collect();
    let [.., compare, number] = words.as_slice() else { return Vec::new() };
    let is_number = number.chars().all(|letter| letter.is_ascii_digit() || letter == '.');
    if !is_number || !COMPARE.contains(&compare.to_lowercase().as_str()) {
        return Vec::new();
    }
    let begun = typed.trim_end().strip_suffix(number).unwrap_or_default();
    let one = |text: String, words: &str| Suggestion { text, words: words.to_owned(), kind: "unit" };
    vec![
        one(format!("{begun}{number} dB"), "how much it became quieter"),
        one(format!("{begun}{number} dB level difference"), "how much the wall keeps back"),
        one(format!("{begun}${number} a square foot"), "what the job cost for its wall"),
        one(format!("{begun}{number} in deep"), "depth of the cavity"),
    ]
}

/// Names that begin like the last few words.
fn names(typed: &str, basis: &Basis<'_, '_>) -> Vec<Suggestion> {
    let mut found = Vec::new();
    let known = known(basis);
    for (before, end) in ends(typed) {
        let end = end.trim_end().to_lowercase();
        let begins =
            |name: &str| name.to_lowercase().starts_with(&end) && name.chars().count() > end.chars().count();
        // What goes on with the middle of a longer name is no place of its own: "Kestrel d".
        let is_inside = |said: &str, kind: &str| {
            let whole =
                format!("{} {end}", before.split_whitespace().last().unwrap_or_default()).to_lowercase();
            kind == "site"
                && !said.contains(' ')
                && known.iter().any(|(name, ..)| name.to_lowercase().starts_with(&whole))
        };
        let fitting = known.iter().filter(|(said, _, kind)| begins(said) && !is_inside(said, kind));
        for (said, words, kind) in fitting {
            // "at" belongs to the name of a place, so that it is read as one.
            let at = if *kind == "site" && !is_at(before) { "at " } else { "" };
            found.push(Suggestion { text: format!("{before}{at}{said}"), words: words.clone(), kind });
        }
    }
    found
}

/// Whether a place follows: "at", "in", "on the".
fn is_at(before: &str) -> bool {
    let words: Vec<String> = before.split_whitespace().map(str::to_lowercase).collect();
    let leads = |word: &String| matches!(word.as_str(), "at" | "in" | "on" | "from");
    match words.as_slice() {
        [.., lead, the] if the == "the" => leads(lead),
        [.., lead] => leads(lead),
        [] => false,
    }
}

/// What can be said by name, with what it means and its kind.
fn known(basis: &Basis<'_, '_>) -> Vec<(String, String, &'static str)> {
    let mut known = Vec::new();
    for site in basis.book.sites.live() {
        let label = site.label.clone().unwrap_or_default();
        if let Some(name) = &site.name {
            // "duplex" is how people call the Kestrel duplex, where no other site is one.
            let tail = name.split_once(' ').map(|(_, tail)| tail.to_owned());
            let is_only = |tail: &String| {
                let ends = |other: &str| other.to_lowercase().ends_with(&tail.to_lowercase());
                basis.book.sites.live().filter(|other| other.name.as_deref().is_some_and(ends)).count() == 1
            };
            for said in [Some(name.clone()), tail.filter(is_only)].into_iter().flatten() {
                known.push((said, format!("site {label} {name}"), "site"));
            }
        }
    }
    for (said, concept) in basis.vocabulary.names() {
        let kind = match concept.class {
            ConceptClass::Fill => "fill",
            ConceptClass::Frame => "frame",
            ConceptClass::State => "state",
            ConceptClass::Kind => continue,
        };
        known.push((said.to_owned(), format!("{kind}: {}", name_words(concept.class, &concept.value)), kind));
    }
    for job in basis.book.jobs.live() {
        if let (Some(label), Some(title)) = (&job.label, &job.title) {
            known.push((title.clone(), format!("job {label}"), "job"));
        }
    }
    known
}

/// Words of the notebook that begin like the last one.
fn words(typed: &str, basis: &Basis<'_, '_>) -> Result<Vec<Suggestion>, SearchError> {
    let Some((before, last)) = ends(typed).last() else { return Ok(Vec::new()) };
    // A word that is complete is not gone on with.
    if last.ends_with(char::is_whitespace) || last.chars().count() < 2 {
        return Ok(Vec::new());
    }
    let lower = last.to_lowercase();
    let view = basis.view;
    let begun = completions(&view.searchers(), view.said_field(), &lower, MOST_WORDS)?;
    let one = |word: crate::near::Near| Suggestion {
        text: format!("{before}{}", word.word),
        words: format!("in {} records", word.documents),
        kind: "word",
    };
    Ok(begun.into_iter().map(one).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_ends_with_its_last_few_words() {
        let shown: Vec<(&str, &str)> = ends("walls at the du").collect();
        assert_eq!(shown, [("walls ", "at the du"), ("walls at ", "the du"), ("walls at the ", "du")]);
        assert_eq!(ends("  ").count(), 0);
        assert_eq!(ends("é").collect::<Vec<_>>(), [("", "é")]);
    }

    #[test]
    fn a_place_follows_whole_words_only() {
        for (before, expected) in
            [("at ", true), ("walls in the ", true), ("that ", false), ("", false), ("the ", false)]
        {
            assert_eq!(is_at(before), expected, "{before}");
        }
    }

    #[test]
    fn a_number_after_a_comparison_may_be_of_several_things() {
        let texts: Vec<String> = units("cellulose over 6").into_iter().map(|one| one.text).collect();
        assert!(texts.contains(&"cellulose over 6 dB".to_owned()), "{texts:?}");
        assert!(texts.contains(&"cellulose over $6 a square foot".to_owned()), "{texts:?}");
        for typed in ["6", "over", "batts 6", "over six", ""] {
            assert!(units(typed).is_empty(), "{typed}");
        }
    }
}
