//! Words of the index near to a word that is not in it, and words that begin like one that is still typed.
//!
//! Both give words as the index holds them, endings cut. Measures (`mm:89`) are no words and left out, and so is
//! any judgement whether the person meant another word: who asks decides.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use levenshtein_automata::{Distance, LevenshteinAutomatonBuilder};
use tantivy::query::FuzzyTermQuery;
use tantivy::schema::Field;
use tantivy::{Searcher, Term};

/// A word of the index.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Near {
    /// The word, as the analyser gives it.
    pub(crate) word: String,
    /// How many letters are added, missing, other or swapped with their neighbour; 0 for completions.
    pub(crate) distance: u8,
    /// In how many documents it stands. Documents that were replaced and not yet merged away count too.
    pub(crate) documents: u64,
}

/// Most words near to another (convention of this project).
const MOST_NEAR: usize = 5;
/// Most words of one dictionary that are looked at (convention of this project): what is typed next waits no longer.
const MOST_TERMS: usize = 5_000;
/// Longer words are no slips of the hand, and their automata grow (convention of this project).
const MOST_LETTERS: usize = 40;

// Making one takes longer than a search.
static ONE: LazyLock<LevenshteinAutomatonBuilder> =
    LazyLock::new(|| LevenshteinAutomatonBuilder::new(1, true));
static TWO: LazyLock<LevenshteinAutomatonBuilder> =
    LazyLock::new(|| LevenshteinAutomatonBuilder::new(2, true));

/// Words near to an analysed word that no document has, the nearest first, of equals the commonest.
///
/// Empty when a document has the word, and when it has digits or is too short or too long to tell. A distance is the
/// least number of letters added, left out, changed or swapped with their neighbour: one for words of 4 to 7
/// letters, two for longer ones. The first letters must agree, unless they were swapped.
///
/// # Errors
/// A dictionary cannot be read.
pub(crate) fn near(searchers: &[&Searcher], field: Field, word: &str) -> tantivy::Result<Vec<Near>> {
    let Some(most) = most_distance(word) else { return Ok(Vec::new()) };
    let automaton = if most == 1 { &ONE } else { &TWO }.build_dfa(word);
    let mut found: BTreeMap<String, Near> = BTreeMap::new();
    let query = FuzzyTermQuery::new(Term::from_field_text(field, word), most, true);
    for searcher in searchers {
        for segment in searcher.segment_readers() {
            let inverted = segment.inverted_index(field)?;
            let mut terms = inverted.terms().search(query.automaton()?).into_stream()?;
            let mut looked_at = 0;
            while looked_at < MOST_TERMS && terms.advance() {
                looked_at += 1;
                let documents = u64::from(terms.value().doc_freq);
                let Ok(term) = std::str::from_utf8(terms.key()) else { continue };
                let Distance::Exact(distance) = automaton.eval(term) else { continue };
                if term == word && documents > 0 {
                    return Ok(Vec::new());
                }
                if is_word(term) && begin_alike(word, term) {
                    count(&mut found, term, distance, documents);
                }
            }
        }
    }
    let mut found: Vec<Near> = found.into_values().collect();
    found.sort_by(|one, other| {
        (one.distance, other.documents, &one.word).cmp(&(other.distance, one.documents, &other.word))
    });
    found.truncate(MOST_NEAR);
    Ok(found)
}

/// Words that begin with these letters, the commonest first, at most `most`.
///
/// Of each dictionary only the first 5,000 such words are looked at, so of very short beginnings some are missed.
///
/// # Errors
/// A dictionary cannot be read.
pub(crate) fn completions(
    searchers: &[&Searcher],
    field: Field,
    prefix: &str,
    most: usize,
) -> tantivy::Result<Vec<Near>> {
    let mut found: BTreeMap<String, Near> = BTreeMap::new();
    if prefix.is_empty() {
        return Ok(Vec::new());
    }
    for searcher in searchers {
        for segment in searcher.segment_readers() {
            let inverted = segment.inverted_index(field)?;
            let mut terms = inverted.terms().range().ge(prefix.as_bytes()).into_stream()?;
            let mut looked_at = 0;
            while looked_at < MOST_TERMS && terms.advance() && terms.key().starts_with(prefix.as_bytes()) {
                looked_at += 1;
                let documents = u64::from(terms.value().doc_freq);
                if let Some(term) = std::str::from_utf8(terms.key()).ok().filter(|term| !term.contains(':')) {
                    count(&mut found, term, 0, documents);
                }
            }
        }
    }
    let mut found: Vec<Near> = found.into_values().collect();
    found.sort_by(|one, other| (other.documents, &one.word).cmp(&(one.documents, &other.word)));
    found.truncate(most);
    Ok(found)
}

fn count(found: &mut BTreeMap<String, Near>, term: &str, distance: u8, documents: u64) {
    if let Some(near) = found.get_mut(term) {
        near.documents += documents;
    } else {
        found.insert(term.to_owned(), Near { word: term.to_owned(), distance, documents });
    }
}

/// How far away a word may be; `None` when nothing is near to it.
fn most_distance(word: &str) -> Option<u8> {
    if !is_word(word) {
        return None;
    }
    match word.chars().count() {
        4..=7 => Some(1),
        8..=MOST_LETTERS => Some(2),
        _ => None,
    }
}

/// Whether it is letters only: a digit more or less is another size, never a slip.
fn is_word(term: &str) -> bool {
    !term.chars().any(|letter| letter.is_numeric() || letter == ':')
}

/// People seldom miss the first letter, and a word with another one is seldom meant.
fn begin_alike(word: &str, term: &str) -> bool {
    let first_two = |text: &str| {
        let mut letters = text.chars();
        (letters.next(), letters.next())
    };
    let ((a, b), (c, d)) = (first_two(word), first_two(term));
    a == c || (a == d && b == c)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use tantivy::schema::{IndexRecordOption, Schema, TextFieldIndexing, TextOptions};
    use tantivy::{Index, TantivyDocument};

    use super::*;
    use crate::analyse::{NAME, analyser};

    fn index(segments: &[&[&str]]) -> (Searcher, Field) {
        let mut schema = Schema::builder();
        let indexing = TextFieldIndexing::default()
            .set_tokenizer(NAME)
            .set_index_option(IndexRecordOption::WithFreqsAndPositions);
        let field = schema.add_text_field("words", TextOptions::default().set_indexing_options(indexing));
        let index = Index::create_in_ram(schema.build());
        index.tokenizers().register(NAME, analyser());
        let mut writer = index.writer_with_num_threads(1, 15_000_000).unwrap();
        for segment in segments {
            for text in *segment {
                let mut document = TantivyDocument::new();
                document.add_text(field, text);
                writer.add_document(document).unwrap();
            }
            writer.commit().unwrap();
        }
        (index.reader().unwrap().searcher(), field)
    }

    fn shown(found: Vec<Near>) -> Vec<String> {
        found.iter().map(|near| format!("{} {} {}", near.word, near.distance, near.documents)).collect()
    }

    const DIARY: &[&[&str]] = &[
        &["cellulose in the wall, 3.5 in", "plasterboard hung", "wall of plaster", "party walls"],
        &["cellulose again", "hall and well", "sealant, sealed", "insulation", "stud 2x4@16 R-15"],
    ];

    #[test]
    fn misspelt_words_find_what_was_meant() {
        let (searcher, field) = index(DIARY);
        for (word, expected) in [
            ("celulose", &["cellulos 2 2"][..]),
            ("cellolos", &["cellulos 1 2"]),
            ("celllulso", &["cellulos 2 2"]),
            ("ecllulos", &["cellulos 1 2"]),
            ("plastreboard", &["plasterboard 1 1"]),
            ("plaste", &["plaster 1 1"]),
            ("isnulat", &["insulat 1 1"]),
            ("wlal", &["wall 1 3"]),
            ("wall", &[]),
            ("ball", &[]),
            ("wal", &[]),
            ("2x44", &[]),
            ("", &[]),
            ("🙂🙂🙂🙂", &[]),
        ] {
            assert_eq!(shown(near(&[&searcher], field, word).unwrap()), expected, "{word}");
        }
    }

    #[test]
    fn nearest_come_first_then_the_commonest_over_all_indexes() {
        let (one, field) =
            index(&[&["sealer", "sealed", "seals", "sealx", "sealy", "sealz", "sealv", "sealw"]]);
        let (other, _) = index(&[&["sealx", "sealx too", "sealz"]]);
        let found = shown(near(&[&one, &other], field, "sealq").unwrap());
        // `sealw` is one too many; `sealer` is two letters away.
        assert_eq!(found, ["sealx 1 3", "seal 1 2", "sealz 1 2", "seali 1 1", "sealv 1 1"]);
    }

    #[test]
    fn completions_are_the_commonest_words_that_begin_so() {
        let (searcher, field) = index(DIARY);
        let complete = |prefix, most| shown(completions(&[&searcher], field, prefix, most).unwrap());
        assert_eq!(complete("wa", 9), ["wall 0 3"]);
        assert_eq!(complete("plaster", 9), ["plaster 0 1", "plasterboard 0 1"]);
        assert_eq!(complete("plaster", 1), ["plaster 0 1"]);
        assert_eq!(complete("se", 9), ["seal 0 1", "sealant 0 1"]);
        // A measure is no word.
        assert_eq!(complete("mm", 9), [""; 0]);
        assert_eq!(complete("stud", 9), ["stud 0 1"]);
        assert_eq!(complete("", 9), [""; 0]);
        assert_eq!(complete("zz", 9), [""; 0]);
    }

    thread_local! {
        static SMALL: (Searcher, Field) = index(DIARY);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(128) })]

        /// Whatever is typed, what is near is a word of the index within the distance, and the word itself never.
        #[test]
        fn any_word_is_looked_up(word in prop_oneof!["\\PC{0,50}", "[a-z]{1,12}", "(cel|lu|los|wal|l|plaster|board|\u{0}|é|🙂){0,6}"]) {
            SMALL.with(|(searcher, field)| {
                for near in near(&[searcher], *field, &word).unwrap() {
                    prop_assert!((1..=2).contains(&near.distance) && near.word != word && near.documents > 0);
                }
                for near in completions(&[searcher], *field, &word, 3).unwrap() {
                    prop_assert!(near.word.starts_with(&word));
                }
                Ok(())
            })?;
        }
    }
}
