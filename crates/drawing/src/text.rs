//! The room that words take, with widths on the wide side, because the reader's typeface is unknown.
//!
//! Leaves out shaping and scripts that join letters: a letter outside the Latin range counts as a square.

use crate::markup::plain;

/// Height of small text, the least that is read at 800 units across a screen.
pub(crate) const SMALL: f64 = 12.0;
/// Height of numbers in the drawing.
pub(crate) const NUMBER: f64 = 14.0;
/// Height of a heading.
pub(crate) const HEADING: f64 = 18.0;
/// From line to line, as a multiple of the text's height.
pub(crate) const LINE: f64 = 1.3;

/// A rectangle on the drawing, in its units, y down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

impl Area {
    pub(crate) fn right(&self) -> f64 {
        self.left + self.width
    }

    pub(crate) fn bottom(&self) -> f64 {
        self.top + self.height
    }

    pub(crate) fn middle(&self) -> (f64, f64) {
        (self.left + self.width / 2.0, self.top + self.height / 2.0)
    }

    /// Whether two rectangles share more than an edge.
    pub(crate) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }
}

/// Returns how wide a line is at most, in units of the drawing.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size
}

/// Widths of a plain sans serif in ems, rounded up to the wider kinds.
fn advance(letter: char) -> f64 {
    match letter {
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 1.0,
        'A'..='Z' | '&' => 0.78,
        ' '..='~' | '\u{a0}'..='\u{17f}' | '–' | '’' | '“' | '”' => 0.62,
        _ => 1.05,
    }
}

/// Breaks a text into lines no wider than `room`, at spaces where it can; what is beyond `most` lines is cut with "…".
pub(crate) fn wrapped(text: &str, size: f64, room: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words(&plain(text)).iter().flat_map(|word| broken(word, size, room)) {
        match lines.last_mut() {
            Some(line) if width(line, size) + width(" ", size) + width(&word, size) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            while !last.is_empty() && width(last, size) + width("…", size) > room {
                last.pop();
            }
            last.push('…');
        }
    }
    lines
}

/// Splits at spaces, but keeps a number with its fraction or its unit: `1 5/8"` and `13 mm` are read in one glance.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let unit = ["mm", "m", "m2", "%", "in", "ft", "dB", "dBA"]
            .contains(&word.trim_end_matches([',', '.', ';', ')']));
        let fraction = word.starts_with(|letter: char| letter.is_ascii_digit()) && word.contains('/');
        match words.last_mut() {
            Some(last) if (unit || fraction) && last.ends_with(|letter: char| letter.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Breaks a word that is wider than a line.
fn broken(word: &str, size: f64, room: f64) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut taken = 0.0;
    for letter in word.chars() {
        let wide = advance(letter) * size;
        if taken + wide > room {
            parts.push(String::new());
            taken = 0.0;
        }
        parts.last_mut().expect("there is always a part").push(letter);
        taken += wide;
    }
    parts
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn lines_break_at_spaces() {
        let room = 10.0 * 0.62 * SMALL;
        assert_eq!(wrapped("one two three four", SMALL, room, 9), ["one two", "three four"]);
        assert_eq!(wrapped("one two three four", SMALL, room, 1), ["one two…"]);
        assert_eq!(wrapped("abcdefghijklm", SMALL, room, 9), ["abcdefghij", "klm"]);
    }

    #[test]
    fn a_number_stays_with_its_fraction_and_unit() {
        let room = 10.0 * 0.62 * SMALL;
        assert_eq!(wrapped("deep 1 5/8\" a", SMALL, room, 9), ["deep", "1 5/8\" a"]);
        assert_eq!(wrapped("in all 13 %, or", SMALL, room, 9), ["in all", "13 %, or"]);
        assert_eq!(wrapped("a 12345 in a row", SMALL, room, 9), ["a 12345 in", "a row"]);
    }

    proptest! {
        /// Goal: no line is wider than its room, whatever is typed, and nothing is lost while lines remain.
        #[test]
        fn lines_stay_in_their_room(text in ".{0,200}", room in 30.0f64..300.0, most in 1usize..5) {
            for line in wrapped(&text, SMALL, room, most) {
                prop_assert!(width(&line, SMALL) <= room + 1e-9, "{line}");
            }
            let all = wrapped(&text, SMALL, room, usize::MAX).concat();
            prop_assert_eq!(all.replace(' ', ""), plain(&text).replace(' ', ""));
        }
    }
}
