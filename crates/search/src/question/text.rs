//! A question cut into pieces: runs of letters, numbers, single signs. Leaves out what any of them means.

use std::ops::Range;
use std::rc::Rc;

/// What a piece is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Made {
    /// Letters and the accents on them; a fraction or number in one character that is no plain digit.
    Letters,
    /// Digits, with a point between two of them, or commas that part thousands.
    Digits,
    /// One character that is neither.
    Sign,
}

/// A stretch of the text without white space.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    /// Its bytes.
    pub(super) span: Range<usize>,
    /// In lower case; numbers without commas and with a digit before the point.
    pub(super) word: String,
    /// Made of what.
    pub(super) made: Made,
    /// Whether it follows the one before without white space.
    pub(super) is_joined: bool,
}

/// A question in pieces.
#[derive(Debug, Clone)]
pub(super) struct Text<'t> {
    /// As it was typed.
    pub(super) raw: &'t str,
    pieces: Rc<[Piece]>,
    /// How many of the pieces are seen.
    limit: usize,
}

/// The most pieces of one phrase of ours: "between March 3rd, 2025 and April 4th, 2025" has twelve.
const MOST_PIECES: usize = 24;

/// Signs that part words as white space does.
const PARTING: &str = ",;:!?()[]{}";

impl<'t> Text<'t> {
    /// Cuts a text.
    pub(super) fn new(raw: &'t str) -> Self {
        let mut pieces = Vec::new();
        let mut at = 0;
        let mut is_joined = false;
        while let Some(letter) = raw[at..].chars().next() {
            if letter.is_whitespace() || letter.is_control() {
                is_joined = false;
                at += letter.len_utf8();
                continue;
            }
            let (made, length) = first(&raw[at..], letter);
            let span = at..at + length;
            pieces.push(Piece { word: word(&raw[span.clone()], made), span, made, is_joined });
            at += length;
            is_joined = true;
        }
        Self { raw, limit: pieces.len(), pieces: pieces.into() }
    }

    /// The same text as if it ended before this piece.
    pub(super) fn until(&self, end: usize) -> Self {
        Self { limit: end.min(self.pieces.len()), ..self.clone() }
    }

    /// The whole text again.
    pub(super) fn whole(&self) -> Self {
        self.until(usize::MAX)
    }

    /// How many pieces there are.
    pub(super) fn count(&self) -> usize {
        self.limit
    }

    /// One of them; `None` past the end.
    pub(super) fn piece(&self, at: usize) -> Option<&Piece> {
        self.pieces[..self.limit].get(at)
    }

    /// What it says in lower case; nothing past the end.
    pub(super) fn word(&self, at: usize) -> &str {
        self.piece(at).map_or("", |piece| &piece.word)
    }

    /// Whether it follows the one before without white space.
    pub(super) fn is_joined(&self, at: usize) -> bool {
        self.piece(at).is_some_and(|piece| piece.is_joined)
    }

    /// Whether it is a sign; not past the end.
    pub(super) fn is_sign(&self, at: usize) -> bool {
        self.piece(at).is_some_and(|piece| piece.made == Made::Sign)
    }

    /// The digits here; `None` when it is no number.
    pub(super) fn digits(&self, at: usize) -> Option<&str> {
        self.piece(at).filter(|piece| piece.made == Made::Digits).map(|piece| piece.word.as_str())
    }

    /// A whole number of at most four digits.
    pub(super) fn small(&self, at: usize) -> Option<i16> {
        self.digits(at).filter(|digits| digits.len() <= 4)?.parse().ok()
    }

    /// Behind a phrase that begins here, its pieces parted by spaces.
    pub(super) fn behind(&self, at: usize, phrase: &str) -> Option<usize> {
        let mut next = at;
        for word in phrase.split(' ') {
            if self.word(next) != word {
                return None;
            }
            next += 1;
        }
        Some(next)
    }

    /// The longest phrase of a table that begins here: what it means and the piece behind it.
    pub(super) fn phrase<T: Copy>(&self, at: usize, table: &[(&str, T)]) -> Option<(T, usize)> {
        let found = table.iter().filter_map(|(phrase, means)| Some((*means, self.behind(at, phrase)?)));
        found.max_by_key(|(_, next)| *next)
    }

    /// Behind any one of these words, or here when none of them stands here.
    pub(super) fn past_any(&self, at: usize, words: &[&str]) -> usize {
        if words.contains(&self.word(at)) { at + 1 } else { at }
    }

    /// Where a phrase of ours that begins here may end, the farthest first.
    pub(super) fn clean_ends(&self, at: usize) -> Vec<usize> {
        let farthest = self.count().min(at + MOST_PIECES);
        (at + 1..=farthest).rev().filter(|end| self.is_clean(*end)).collect()
    }

    /// Whether a phrase may end before this piece: nothing of a longer word is left behind.
    fn is_clean(&self, at: usize) -> bool {
        let parts = |at| !self.is_joined(at) || PARTING.contains(self.word(at));
        parts(at) || (self.word(at) == "." && parts(at + 1))
    }

    /// Behind the word that begins here: up to white space or a sign that parts.
    pub(super) fn unit_end(&self, at: usize) -> usize {
        let goes_on = |next: usize| self.is_joined(next) && !PARTING.contains(self.word(next));
        (at + 1..).find(|next| !goes_on(*next)).unwrap_or(self.count())
    }

    /// The bytes of some pieces, at least one.
    pub(super) fn span(&self, pieces: Range<usize>) -> Range<usize> {
        let from = self.piece(pieces.start).map_or(self.raw.len(), |piece| piece.span.start);
        let to = pieces.end.checked_sub(1).and_then(|last| self.piece(last));
        from..to.map_or(from, |piece| piece.span.end.max(from))
    }

    /// The text of some pieces.
    pub(super) fn slice(&self, pieces: Range<usize>) -> &'t str {
        &self.raw[self.span(pieces)]
    }
}

fn is_letter(letter: char) -> bool {
    letter.is_alphabetic() || matches!(letter, '\u{300}'..='\u{36f}')
}

/// What the first piece of a text is made of, and its bytes.
fn first(text: &str, letter: char) -> (Made, usize) {
    let begins_number = letter.is_ascii_digit()
        || (letter == '.' && text[1..].starts_with(|next: char| next.is_ascii_digit()));
    if begins_number {
        return (Made::Digits, number_bytes(text.as_bytes()));
    }
    if letter.is_alphabetic() {
        return (Made::Letters, text.find(|next| !is_letter(next)).unwrap_or(text.len()));
    }
    let made = if letter.is_numeric() { Made::Letters } else { Made::Sign };
    (made, letter.len_utf8())
}

/// The bytes of the number that a text begins with: `12`, `12.7`, `.5`, `1,250.50`.
fn number_bytes(text: &[u8]) -> usize {
    let digits = |from: usize| text[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let mut end = digits(0);
    while (1..=3).contains(&end.min(4)) || text[..end].contains(&b',') {
        // A comma parts thousands only where three digits follow it, no more.
        if text.get(end) != Some(&b',') || digits(end + 1) != 3 {
            break;
        }
        end += 4;
    }
    let places = if text.get(end) == Some(&b'.') { digits(end + 1) } else { 0 };
    if places > 0 { end + 1 + places } else { end }
}

fn word(raw: &str, made: Made) -> String {
    match made {
        Made::Digits => {
            let plain: String = raw.chars().filter(|letter| *letter != ',').collect();
            if plain.starts_with('.') { format!("0{plain}") } else { plain }
        }
        Made::Letters | Made::Sign => raw.to_lowercase(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_letters_numbers_and_signs() {
        for (raw, expected) in [
            ("Over 6dB, please", "over 6~db~, please"),
            ("$1,250.50/ft2", "$~1250.50~/~ft~2"),
            ("1,25 12,3456 .5 5.", "1~,~25 12~,~3456 0.5 5~."),
            ("3-1/2\" 3½", "3~-~1~/~2~\" 3~½"),
            ("a\u{0}b e\u{301}🙂", "a b e\u{301}~🙂"),
            ("", ""),
        ] {
            let text = Text::new(raw);
            let mut shown = String::new();
            for at in 0..text.count() {
                let gap = if at == 0 {
                    ""
                } else if text.is_joined(at) {
                    "~"
                } else {
                    " "
                };
                shown = format!("{shown}{gap}{}", text.word(at));
            }
            assert_eq!(shown, expected, "{raw:?}");
        }
    }
}
