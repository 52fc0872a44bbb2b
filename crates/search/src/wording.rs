//! Reading what a person typed into the search box. Total: any text is read as something.
//!
//! Plain words must all match; `"a phrase"` must stand as it is written; `-word` must not be there. What
//! cannot be read as such (a lone quote, a lone minus) is read as words. Leaves out fields and operators.

use crate::analyse::words;
use crate::vocabulary::Vocabulary;

/// Adjacent words, as the analyser reads them.
pub(crate) type Sequence = Vec<String>;

/// What was asked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Wording {
    /// What must match.
    pub(crate) wanted: Vec<Clause>,
    /// What must not match.
    pub(crate) unwanted: Vec<Sequence>,
}

/// One thing that must match.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Clause {
    /// These, anywhere in the document, all of them.
    pub(crate) all_of: Vec<Sequence>,
    /// Or any of these in their place: synonyms.
    pub(crate) or_any: Vec<Sequence>,
    /// A little word like `the`, that may be missing.
    pub(crate) is_little: bool,
}

impl Clause {
    fn phrase(sequence: Sequence) -> Self {
        Self { all_of: vec![sequence], or_any: Vec::new(), is_little: false }
    }

    /// Its words and synonyms, each to match on its own.
    pub(crate) fn parts(&self) -> impl Iterator<Item = Self> {
        self.all_of.iter().chain(&self.or_any).cloned().map(Self::phrase)
    }
}

/// How many words of a long text count; the rest is left out (convention of this project).
const MOST_UNITS: usize = 64;

/// Words that carry no meaning of their own, in the form the analyser gives them.
const LITTLE: &[&str] = &[
    "a", "an", "and", "at", "by", "for", "from", "i", "in", "is", "it", "of", "on", "or", "the", "to", "wa",
    "with",
];

/// Reads what was typed.
pub(crate) fn read(text: &str) -> Wording {
    let mut wording = Wording::default();
    let mut plain: Vec<Sequence> = Vec::new();
    for unit in units(text) {
        let sequence = words(unit.text);
        if sequence.is_empty() {
            continue;
        }
        match unit {
            Unit { is_unwanted: true, .. } => wording.unwanted.push(sequence),
            Unit { is_phrase: true, .. } => {
                close(&mut plain, &mut wording.wanted);
                wording.wanted.push(Clause::phrase(sequence));
            }
            Unit { .. } => plain.push(sequence),
        }
        if wording.wanted.len() + wording.unwanted.len() + plain.len() >= MOST_UNITS {
            break;
        }
    }
    close(&mut plain, &mut wording.wanted);
    // One that is asked twice counts once.
    let mut kept: Vec<Clause> = Vec::new();
    for clause in wording.wanted {
        if !kept.contains(&clause) {
            kept.push(clause);
        }
    }
    wording.wanted = kept;
    wording
}

/// Turns plain words that stand together into clauses, the longest known synonyms first.
fn close(plain: &mut Vec<Sequence>, clauses: &mut Vec<Clause>) {
    let units = std::mem::take(plain);
    let mut at = 0;
    while at < units.len() {
        let (count, or_any) = known(&units[at..]).unwrap_or((1, Vec::new()));
        let all_of = units[at..at + count].to_vec();
        let is_little = or_any.is_empty() && all_of[0].len() == 1 && LITTLE.contains(&all_of[0][0].as_str());
        clauses.push(Clause { all_of, or_any, is_little });
        at += count;
    }
}

/// How many units the vocabulary knows together, and what else they mean. No unit is cut in two.
fn known(units: &[Sequence]) -> Option<(usize, Vec<Sequence>)> {
    // A member has at most eight words, and a unit at least one.
    (1..=units.len().min(8)).rev().find_map(|count| {
        let run = units[..count].concat();
        let meaning = Vocabulary::built_in().longest(&run).filter(|meaning| meaning.count == run.len())?;
        (!meaning.others.is_empty()).then(|| (count, meaning.others.to_vec()))
    })
}

struct Unit<'t> {
    text: &'t str,
    is_phrase: bool,
    is_unwanted: bool,
}

/// Cuts at white space, keeping quoted phrases whole.
fn units(text: &str) -> Vec<Unit<'_>> {
    let mut found = Vec::new();
    let mut rest = text.trim_start();
    while !rest.is_empty() {
        let is_unwanted = rest.starts_with('-');
        let body = if is_unwanted { &rest[1..] } else { rest };
        let quoted = body.strip_prefix(is_quote).and_then(|inner| Some((inner, inner.find(is_quote)?)));
        if let Some((inner, end)) = quoted {
            found.push(Unit { text: &inner[..end], is_phrase: true, is_unwanted });
            rest = inner[end..].trim_start_matches(is_quote).trim_start();
        } else {
            // A quote inside a word begins a phrase only after white space, so 5/8" board stays two words.
            let end = body.find(char::is_whitespace).unwrap_or(body.len());
            found.push(Unit { text: &body[..end], is_phrase: false, is_unwanted });
            rest = body[end..].trim_start();
        }
    }
    found
}

fn is_quote(letter: char) -> bool {
    matches!(letter, '"' | '\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{ab}' | '\u{bb}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> String {
        let wording = read(text);
        let join = |sequences: &[Sequence]| {
            sequences.iter().map(|sequence| sequence.join("_")).collect::<Vec<_>>().join("+")
        };
        let wanted = wording.wanted.iter().map(|clause| {
            let little = if clause.is_little { "?" } else { "" };
            let others = if clause.or_any.is_empty() { "" } else { "|" };
            format!("{}{little}{others}", join(&clause.all_of))
        });
        let unwanted = wording.unwanted.iter().map(|sequence| format!("-{}", sequence.join("_")));
        wanted.chain(unwanted).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn words_phrases_and_minus_are_told_apart() {
        for (text, expected) in [
            ("Party walls", "parti+wall|"),
            ("38x89 stud", "38_x_89| stud"),
            ("\"glass fibre\" hall", "glass_fibr hall|"),
            ("\u{201c}drop seal\u{201d}", "drop_seal"),
            ("glass fibre hall", "glass+fibr| hall|"),
            ("hall -door -\"drop seal\"", "hall| -door -drop_seal"),
            ("5/8 in\" board", "5/8+in| board"),
            ("the wall in the hall", "the? wall in? hall|"),
            ("wall wall", "wall"),
            ("drill-and-fill", "drill_and_fill"),
        ] {
            assert_eq!(shown(text), expected, "{text}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_read_as_words() {
        for (text, expected) in [
            ("", ""),
            (" \t\n", ""),
            ("-", ""),
            ("--", ""),
            ("\"", ""),
            ("\"\"", ""),
            ("\"open wall", "open wall"),
            ("- wall", "wall"),
            ("-door", "-door"),
            ("title:wall AND (x", "titl_wall and? x"),
            ("\u{0}\u{7}🙂", ""),
            ("wall^2~ [a TO b]", "wall_2 a? to? b"),
        ] {
            assert_eq!(shown(text), expected, "{text:?}");
        }
        assert_eq!(read(&"w1 w2 w3 ".repeat(2_000)).wanted.len(), 3);
    }
}
