//! The stretch of a document that shows why it was found. Leaves out how a mark looks: who prints it decides.

use std::ops::Range;

use tantivy::tokenizer::Token;

use crate::analyse::tokens;
use crate::find::Piece;
use crate::wording::Sequence;

/// Most bytes of a snippet; it ends between words.
const MOST_BYTES: usize = 160;

/// The stretch of `text` with most of the wanted sequences, or `None` where none of them stands in it.
pub(crate) fn snippet(text: &str, wanted: &[Sequence]) -> Option<Vec<Piece>> {
    let tokens = tokens(text);
    let found = matches(&tokens, wanted);
    let window = best_window(&tokens, &found)?;
    let (from, to) = (tokens[window.start].offset_from, tokens[window.end - 1].offset_to);
    let mut pieces = Vec::new();
    if from > 0 {
        pieces.push(plain("… "));
    }
    let mut at = from;
    for (place, _) in found.iter().filter(|(place, _)| place.start >= window.start && place.end <= window.end)
    {
        let marked = tokens[place.start].offset_from..tokens[place.end - 1].offset_to;
        if marked.start < at {
            continue;
        }
        if marked.start > at {
            pieces.push(plain(&text[at..marked.start]));
        }
        pieces.push(Piece { text: text[marked.clone()].to_owned(), is_match: true });
        at = marked.end;
    }
    // What follows the last word belongs to it: a full stop, a closing bracket.
    let tail_end = if window.end == tokens.len() { text.len() } else { to };
    if tail_end > at {
        pieces.push(plain(&text[at..tail_end]));
    }
    if window.end < tokens.len() {
        pieces.push(plain(" …"));
    }
    Some(pieces)
}

/// The whole of a text with the wanted sequences told apart.
pub(crate) fn marked(text: &str, wanted: &[Sequence]) -> Vec<Piece> {
    let tokens = tokens(text);
    let (mut pieces, mut at) = (Vec::new(), 0);
    for (place, _) in matches(&tokens, wanted) {
        let found = tokens[place.start].offset_from..tokens[place.end - 1].offset_to;
        if found.start < at {
            continue;
        }
        if found.start > at {
            pieces.push(plain(&text[at..found.start]));
        }
        pieces.push(Piece { text: text[found.clone()].to_owned(), is_match: true });
        at = found.end;
    }
    if at < text.len() {
        pieces.push(plain(&text[at..]));
    }
    pieces
}

fn plain(text: &str) -> Piece {
    Piece { text: text.to_owned(), is_match: false }
}

/// Where wanted sequences stand, in order, longest first at one place, with the number of the sequence.
fn matches(tokens: &[Token], wanted: &[Sequence]) -> Vec<(Range<usize>, usize)> {
    let mut found = Vec::new();
    for start in 0..tokens.len() {
        for (number, sequence) in wanted.iter().enumerate() {
            let here = tokens[start..].iter().map(|token| &token.text);
            if tokens.len() - start >= sequence.len() && here.take(sequence.len()).eq(sequence) {
                found.push((start..start + sequence.len(), number));
            }
        }
    }
    found.sort_by_key(|(place, _)| (place.start, std::cmp::Reverse(place.end)));
    found
}

/// The tokens of the window with most different sequences; the first of equal ones.
fn best_window(tokens: &[Token], found: &[(Range<usize>, usize)]) -> Option<Range<usize>> {
    let mut best: Option<(usize, Range<usize>)> = None;
    for (first, _) in found {
        let window = window(tokens, first);
        let within = found.iter().filter(|(place, _)| place.start >= first.start && place.end <= window.end);
        let mut numbers: Vec<usize> = within.map(|(_, number)| *number).collect();
        numbers.sort_unstable();
        numbers.dedup();
        if best.as_ref().is_none_or(|(count, _)| numbers.len() > *count) {
            best = Some((numbers.len(), window));
        }
    }
    best.map(|(_, window)| window)
}

/// A window with a few words before a match and as many after it as fit.
fn window(tokens: &[Token], first: &Range<usize>) -> Range<usize> {
    const BEFORE: usize = 5;
    let start =
        if tokens[tokens.len() - 1].offset_to <= MOST_BYTES { 0 } else { first.start.saturating_sub(BEFORE) };
    let begin = tokens[start].offset_from;
    let fitting = tokens[start..].iter().take_while(|token| token.offset_to - begin <= MOST_BYTES).count();
    // A match that is longer than a snippet is shown whole.
    start..(start + fitting).max(first.end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analyse::words;

    fn check(text: &str, wanted: &[&str], expected: Option<&str>) {
        let wanted: Vec<Sequence> = wanted.iter().map(|wanted| words(wanted)).collect();
        let shown = snippet(text, &wanted).map(|pieces| {
            pieces
                .iter()
                .map(|p| if p.is_match { format!("[{}]", p.text) } else { p.text.clone() })
                .collect::<String>()
        });
        assert_eq!(shown.as_deref(), expected);
    }

    #[test]
    fn marks_words_and_phrases_but_not_their_parts() {
        check("Sealed the walls.", &["wall", "seal"], Some("[Sealed] the [walls]."));
        check("stud 38x89, x2 and 38 more", &["38x89"], Some("stud [38x89], x2 and 38 more"));
        check("glass fibre and glass", &["glass", "glass fibre"], Some("[glass fibre] and [glass]"));
        check("nothing here", &["wall"], None);
        check("", &["wall"], None);
    }

    #[test]
    fn long_texts_are_cut_between_words() {
        let text = format!(
            "{}the party wall was sealed{}",
            "many words before ".repeat(20),
            " and after".repeat(40)
        );
        let shown = snippet(&text, &[words("wall"), words("sealed")]).unwrap();
        let whole: String = shown.iter().map(|piece| piece.text.as_str()).collect();
        assert!(whole.starts_with("… ") && whole.ends_with(" …"), "{whole}");
        assert!(whole.len() <= MOST_BYTES + "… ".len() + " …".len());
        assert_eq!(shown.iter().filter(|piece| piece.is_match).count(), 2);
    }
}
