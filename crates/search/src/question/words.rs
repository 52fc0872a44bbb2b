//! Words, quoted phrases, names of the vocabulary, and what must not be there. Leaves out quantities, days and sites.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::LazyLock;

use super::amount::is_preposition;
use super::text::Text;
use super::{Says, tidied};
use crate::analyse;
use crate::vocabulary::Meaning;

/// Words that carry nothing of their own in a question.
const LITTLE: &str = "a an and at by for from i in is it of on or the to was with what did that where we which how much \
     achieved achieve show me find all past any are were do does have has had our us you when who there this these \
     those be been use used built build got get about";

static LITTLE_WORDS: LazyLock<BTreeSet<String>> =
    LazyLock::new(|| analyse::words(LITTLE).into_iter().collect());

/// The most words that are looked up together in the vocabulary.
const MOST_UNITS: usize = 8;

/// The most words of a measure: "3 1/2 in on center".
const MOST_OF_MEASURE: usize = 5;

/// Phrases that say what follows must not be there.
const WITHOUT: &[(&str, ())] = &[
    ("without", ()),
    ("not", ()),
    ("no", ()),
    ("except", ()),
    ("excluding", ()),
    ("other than", ()),
    ("but not", ()),
    ("but no", ()),
    ("but without", ()),
    ("and not", ()),
    ("and no", ()),
];

/// The shared form of a measure, and the bytes it covers.
pub(super) type Measure = (String, Range<usize>);

/// What is known of words: what else means the same, and what a measure is in every way of writing it.
#[derive(Clone, Copy)]
pub(super) struct Knows<'a> {
    /// The longest known run at the beginning of some analysed words.
    pub(super) longest: &'a dyn Fn(&[String]) -> Option<Meaning<'a>>,
    /// The shared forms of the measures of a text, with their bytes.
    pub(super) measures: &'a dyn Fn(&str) -> Vec<Measure>,
}

/// One thing to look for.
pub(super) struct Found {
    /// What it says.
    pub(super) says: Says,
    /// Its bytes.
    pub(super) span: Range<usize>,
    /// The piece behind it.
    pub(super) next: usize,
}

/// Whether an analysed word carries nothing of its own.
pub(super) fn is_little(word: &str) -> bool {
    LITTLE_WORDS.contains(word)
}

/// The analysed words of a text as it is written.
pub(super) fn plain_words(text: &str) -> Vec<String> {
    analyse::words(text)
}

/// Where the words end that stand together from here on, parted by white space alone: the first, the first two, ...
pub(super) fn unit_run(text: &Text<'_>, at: usize, most: usize) -> Vec<usize> {
    let mut ends = Vec::new();
    let mut start = at;
    while ends.len() < most && text.piece(start).is_some() && !text.is_sign(start) {
        // What is joined to the word before it is parted by a sign.
        if start > at && text.is_joined(start) {
            break;
        }
        start = text.unit_end(start);
        ends.push(start);
    }
    ends
}

/// The quoted phrase that begins here; nothing to look for in it is `Some(None)`.
pub(super) fn phrase(text: &Text<'_>, at: usize) -> Option<(Option<Found>, usize)> {
    if !text.word(at).starts_with(is_quote) {
        return None;
    }
    let close = (at + 1..text.count()).find(|other| text.word(*other).starts_with(is_quote))?;
    let sequence = plain_words(text.slice(at + 1..close.max(at + 2)));
    if close == at + 1 || sequence.is_empty() {
        return Some((None, close + 1));
    }
    let found = Found { says: Says::Phrase(sequence), span: text.span(at..close + 1), next: close + 1 };
    Some((Some(found), close + 1))
}

pub(super) fn is_quote(letter: char) -> bool {
    matches!(letter, '"' | '\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{ab}' | '\u{bb}')
}

/// A reading of the words from one piece up to another.
struct Run {
    says: Says,
    next: usize,
}

/// The longest run the vocabulary knows, else a measure, else the word that begins here.
pub(super) fn known(text: &Text<'_>, at: usize, knows: &Knows<'_>) -> Option<Found> {
    known_of(text, at, MOST_UNITS, knows)
}

/// As [`known`], of the one word that begins here.
pub(super) fn known_word(text: &Text<'_>, at: usize, knows: &Knows<'_>) -> Option<Found> {
    known_of(text, at, 1, knows)
}

fn known_of(text: &Text<'_>, at: usize, most: usize, knows: &Knows<'_>) -> Option<Found> {
    if asks_what_it_cost(text, at) {
        let next = text.unit_end(at);
        let says = Says::Little(plain_words(text.slice(at..next)));
        return Some(Found { says, span: trimmed(text, at..next), next });
    }
    let ends = unit_run(text, at, most);
    let run = match (named(text, at, &ends, knows), measure(text, at, &ends, knows)) {
        (Some(named), Some(measure)) => longer(named, measure),
        (named, measure) => named.or(measure).or_else(|| single(text, at))?,
    };
    let span = trimmed(text, at..run.next);
    Some(Found { says: run.says, span, next: run.next })
}

/// Whether this is the "cost" of "what did it cost": answers tell it anyway, and it need not be written anywhere.
fn asks_what_it_cost(text: &Text<'_>, at: usize) -> bool {
    let is_asked = |at: usize| matches!(text.word(at), "did" | "does" | "do");
    matches!(text.word(at), "cost" | "costs") && (0..at).any(is_asked)
}

/// The longest run from here that the vocabulary knows whole.
fn named(text: &Text<'_>, at: usize, ends: &[usize], knows: &Knows<'_>) -> Option<Run> {
    ends.iter().rev().find_map(|next| {
        let sequence = plain_words(text.slice(at..*next));
        let meaning = (knows.longest)(&sequence).filter(|meaning| meaning.count == sequence.len())?;
        let others = meaning.others.to_vec();
        let says = match meaning.concept {
            Some(concept) => Says::Concept { concept: concept.clone(), sequence, others },
            None => Says::Words { sequence, others, is_open: false },
        };
        Some(Run { says, next: *next })
    })
}

/// The longer of two readings; of two of one length both meanings.
fn longer(mut named: Run, measure: Run) -> Run {
    if measure.next != named.next {
        return if measure.next > named.next { measure } else { named };
    }
    if let (Says::Words { others, .. } | Says::Concept { others, .. }, Says::Words { others: forms, .. }) =
        (&mut named.says, measure.says)
    {
        others.extend(forms);
    }
    named
}

/// The longest measure that begins here and ends where a word ends: its words, with the form all ways of writing share.
fn measure(text: &Text<'_>, at: usize, ends: &[usize], knows: &Knows<'_>) -> Option<Run> {
    // Of letters only a label of resistance begins a measure, as in R-15.
    let may_begin = text.word(at) == "r" || text.word(at).starts_with(char::is_numeric);
    let ends = &ends[..ends.len().min(if may_begin { MOST_OF_MEASURE } else { 0 })];
    let alone = ends.iter().rev().find_map(|next| {
        let is_measure = !is_preposition(text, next - 1);
        let others = forms(text, at..*next, *next, knows);
        (is_measure && !others.is_empty()).then_some((others, *next))
    });
    let beside_board = || {
        let [first, second, ..] = ends else { return None };
        Some((forms(text, at..*second, *first, knows), *first)).filter(|(others, _)| !others.is_empty())
    };
    let (others, next) = alone.or_else(beside_board)?;
    let says = Says::Words { sequence: plain_words(text.slice(at..next)), others, is_open: false };
    Some(Run { says, next })
}

/// The measures that some pieces begin with and that end before `end`. White space counts once, however much there is.
fn forms(text: &Text<'_>, pieces: Range<usize>, end: usize, knows: &Knows<'_>) -> Vec<Vec<String>> {
    let slice = |end| tidied(&text.raw[trimmed(text, pieces.start..end)]);
    let bytes = slice(end).len();
    let found = (knows.measures)(&slice(pieces.end)).into_iter();
    let exact = found.filter(|(_, covered)| covered.start == 0 && covered.end == bytes);
    exact.map(|(form, _)| vec![form]).collect()
}

/// One word as it stands.
fn single(text: &Text<'_>, at: usize) -> Option<Run> {
    let next = text.unit_end(at);
    let sequence = plain_words(text.slice(at..next));
    let says = match &sequence[..] {
        [] => return None,
        [word] if is_little(word) => Says::Little(sequence),
        _ => Says::Words { sequence, others: Vec::new(), is_open: false },
    };
    Some(Run { says, next })
}

/// The bytes of whole words, without the full stop of a sentence. All else stays, so that they read the same alone.
fn trimmed(text: &Text<'_>, pieces: Range<usize>) -> Range<usize> {
    let last = pieces.end - 1;
    let ends_sentence = last > pieces.start && text.word(last) == "." && !text.is_sign(last - 1);
    text.span(pieces.start..if ends_sentence { last } else { pieces.end })
}

/// Behind "without a", "not", "except", "but no" and their like, with the word it begins with; `None` when none stands here.
pub(super) fn without(text: &Text<'_>, at: usize) -> Option<usize> {
    let ((), next) = text.phrase(at, WITHOUT)?;
    if text.is_joined(next) {
        return None;
    }
    // "No claim" is a finding's own wording.
    if text.word(at) == "no" && matches!(text.word(next), "claim" | "claims") {
        return None;
    }
    Some(next)
}

/// Behind the little words that may stand between "without" and what it is said of.
pub(super) fn past_little(text: &Text<'_>, mut at: usize) -> usize {
    while matches!(text.word(at), "a" | "an" | "the" | "any" | "with" | "of" | "for")
        && !text.is_joined(at + 1)
    {
        at += 1;
    }
    at
}
