//! Words into lines: broken at spaces, long words inside, and shortened where there is no room for all of them.
//!
//! Leaves out where the lines stand.

use storypole_drawing::plain;

use super::fonts::Cut;
use super::measure::{Asked, Extent, Ruler};

/// Letters of a text that are looked at; more fit on no card.
const MOST_LETTERS: usize = 4000;
/// Least ink above and below the base line that a line is given, in ems: capitals, and tails of letters.
const ABOVE: f64 = 0.76;
const BELOW: f64 = 0.24;
/// Empty between two lines, in ems.
const LEADING: f64 = 0.2;

/// A line of one paragraph, measured in ems of its size.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    pub(crate) text: String,
    /// From the first to the last of its ink.
    pub(crate) width: f64,
    pub(crate) above: f64,
    pub(crate) below: f64,
    /// From the edge of its ink to where its first letter starts; less than nothing where that lies outside.
    pub(crate) before: f64,
    /// How far ink stands out behind its last letter.
    behind: f64,
}

impl Line {
    /// From the highest to the lowest ink.
    pub(crate) fn height(&self) -> f64 {
        self.above + self.below
    }
}

/// A paragraph in lines.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Lines {
    pub(crate) lines: Vec<Line>,
    pub(crate) cut: Cut,
    /// It reads from right to left.
    pub(crate) rtl: bool,
    /// A word was broken inside.
    pub(crate) broken: bool,
    /// Something was left out.
    pub(crate) shortened: bool,
    /// Empty between two lines, in ems.
    pub(crate) leading: f64,
}

impl Lines {
    /// Its height in ems.
    pub(crate) fn height(&self) -> f64 {
        let gaps = self.lines.len().saturating_sub(1) as f64 * self.leading;
        self.lines.iter().map(Line::height).sum::<f64>() + gaps
    }

    /// Base line of each line, in ems under the top of the paragraph.
    pub(crate) fn base_lines(&self) -> Vec<f64> {
        let mut top = 0.0;
        let mut bases = Vec::new();
        for line in &self.lines {
            bases.push(top + line.above);
            top += line.height() + self.leading;
        }
        bases
    }
}

/// Breaks a text into lines `room` ems wide.
pub(crate) fn wrapped(ruler: &mut Ruler, text: &str, bold: bool, room: f64) -> Lines {
    shortened(ruler, text, bold, room, (usize::MAX, ""))
}

/// Breaks a text into at most `most` lines; where it takes more, its end is left out and `…` and `tail` stand for it.
pub(crate) fn shortened(
    ruler: &mut Ruler,
    text: &str,
    bold: bool,
    room: f64,
    (most, tail): (usize, &str),
) -> Lines {
    let asked = Asked { text: text.to_owned(), bold, room: room.to_bits(), most: (most, tail.to_owned()) };
    ruler.known(&asked).unwrap_or_else(|| {
        let whole = broken(ruler, text, bold, room);
        let lines =
            if whole.lines.len() <= most { whole } else { cut(ruler, text, bold, room, (most, tail)) };
        ruler.keep(asked, &lines);
        lines
    })
}

fn broken(ruler: &mut Ruler, text: &str, bold: bool, room: f64) -> Lines {
    let long: String = text.chars().take(MOST_LETTERS).collect();
    let shortened = long.len() < text.len();
    let text = if shortened { format!("{long}…") } else { long };
    let cut = Cut { family: ruler.family(&text), bold };
    let (lines, broken) = lines(ruler, cut, &text, room);
    Lines { lines, cut, rtl: reads_from_right(&text), broken, shortened, leading: LEADING }
}

/// Leaves out as little of the end as it takes.
fn cut(ruler: &mut Ruler, text: &str, bold: bool, room: f64, (most, tail): (usize, &str)) -> Lines {
    let letters: Vec<char> = text.chars().take(MOST_LETTERS).collect();
    let cut_at = |count: usize| {
        let mut kept: String = letters[..count].iter().collect();
        // Whole words, where that does not cost much.
        if let Some(space) = kept.rfind(' ')
            && kept[space..].chars().count() < 20
        {
            kept.truncate(space);
        }
        format!("{}…{tail}", kept.trim_end_matches([' ', ',', '.', ';', ':']))
    };
    let (mut fits, mut too_many) = (0, letters.len());
    while too_many - fits > 1 {
        let middle = usize::midpoint(fits, too_many);
        if broken(ruler, &cut_at(middle), bold, room).lines.len() <= most {
            fits = middle;
        } else {
            too_many = middle;
        }
    }
    let mut short = broken(ruler, &cut_at(fits), bold, room);
    short.lines.truncate(most);
    short.shortened = true;
    short
}

/// Composes lines, and measures those whole whose letters may stand otherwise together than word by word.
fn lines(ruler: &mut Ruler, cut: Cut, text: &str, room: f64) -> (Vec<Line>, bool) {
    let from_right = reads_from_right(text);
    let mut narrowed = room;
    for _ in 0..6 {
        let (mut lines, broken) = composed(ruler, cut, text, narrowed);
        let mut widest: f64 = 0.0;
        for line in &mut lines {
            if line.text.chars().all(|letter| letter < '\u{300}') {
                continue;
            }
            let whole = ruler.word(cut, &directed(&line.text, from_right));
            line.before = line.before.max(whole.before);
            line.width = line.width.max(line.before + whole.advance + whole.behind);
            line.above = line.above.max(whole.above);
            line.below = line.below.max(whole.below);
            widest = widest.max(line.width);
        }
        if widest <= room {
            return (lines, broken);
        }
        narrowed *= 0.98 * room / widest;
    }
    composed(ruler, cut, text, narrowed)
}

/// A line with the marks that turn it to be read from the right where its paragraph does.
pub(crate) fn directed(line: &str, from_right: bool) -> String {
    if from_right { format!("\u{202b}{line}\u{202c}") } else { line.to_owned() }
}

fn composed(ruler: &mut Ruler, cut: Cut, text: &str, room: f64) -> (Vec<Line>, bool) {
    let words: Vec<String> = words(text);
    ruler.learn(cut, words.iter().map(String::as_str));
    let space = ruler.space(cut);
    let (mut lines, mut broken): (Vec<Line>, bool) = (Vec::new(), false);
    for word in words {
        let extent = ruler.word(cut, &word);
        if extent.width() <= room {
            push(&mut lines, &word, extent, space, room);
            continue;
        }
        // A number that is kept with its unit is parted from it before a word is broken.
        for part in word.split(' ') {
            let extent = ruler.word(cut, part);
            if extent.width() <= room {
                push(&mut lines, part, extent, space, room);
                continue;
            }
            broken = true;
            for piece in pieces(ruler, cut, part, room) {
                let extent = ruler.word(cut, &piece);
                push(&mut lines, &piece, extent, space, room);
            }
        }
    }
    (lines, broken)
}

/// Adds a word to the last line, or begins a line with it.
fn push(lines: &mut Vec<Line>, word: &str, extent: Extent, space: f64, room: f64) {
    // Words that read from the right may stand at either end of their line.
    let turned = word.chars().any(is_from_right);
    let before = if turned { extent.before.max(0.0) } else { extent.before };
    if let Some(line) = lines.last_mut() {
        let turned = turned || line.text.chars().any(is_from_right);
        let ends = if turned {
            (line.before.max(before).max(0.0), line.behind.max(extent.behind))
        } else {
            (line.before, extent.behind)
        };
        let width = line.width - line.before - line.behind + space + extent.advance + ends.0 + ends.1;
        if width <= room {
            line.text.push(' ');
            line.text.push_str(word);
            line.width = width;
            (line.before, line.behind) = ends;
            line.above = line.above.max(extent.above);
            line.below = line.below.max(extent.below);
            return;
        }
    }
    lines.push(Line {
        text: word.to_owned(),
        width: extent.advance + before + extent.behind,
        above: extent.above.max(ABOVE),
        below: extent.below.max(BELOW),
        before,
        behind: extent.behind,
    });
}

/// Splits at spaces, but keeps a number with the unit behind it: `24.9 dB` is read in one glance.
fn words(text: &str) -> Vec<String> {
    const UNITS: [&str; 14] =
        ["dB", "dBA", "dBC", "mm", "m", "m2", "in", "ft", "ft2", "%", "h", "s", "Hz", "kHz"];
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let unit = UNITS.contains(&word.trim_end_matches([',', '.', ';', ':', ')']));
        match words.last_mut() {
            Some(last) if unit && last.ends_with(|letter: char| letter.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Breaks a word into pieces no wider than `room`, letter by letter where that is needed.
fn pieces(ruler: &mut Ruler, cut: Cut, word: &str, room: f64) -> Vec<String> {
    let letters = letters(word);
    ruler.learn(cut, letters.iter().map(String::as_str));
    let mut pieces = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        let mut taken = 0.0;
        let mut end = at;
        while end < letters.len() {
            let extent = ruler.word(cut, &letters[end]);
            taken += extent.advance;
            if end > at && taken + extent.before.max(0.0) + extent.behind > room {
                break;
            }
            end += 1;
        }
        // Letters that join may take more room together than one by one.
        while end > at + 1 {
            let extent = ruler.word(cut, &letters[at..end].concat());
            if extent.width() <= room {
                break;
            }
            end -= 1;
        }
        let piece = letters[at..end].concat();
        let extent = ruler.word(cut, &piece);
        // One letter may be as wide as a whole sentence: U+FDFD is.
        let too_wide = extent.width() > room;
        pieces.push(if too_wide { "…".to_owned() } else { piece });
        at = end;
    }
    pieces
}

/// What a person typed as one line: without control characters, and with no more than four marks over one letter, because a
/// tower of them would stand in the lines above.
pub(crate) fn cleaned(text: &str) -> String {
    let mut out = String::new();
    let mut marks = 0;
    for letter in plain(text).chars() {
        marks = if is_mark(letter) { marks + 1 } else { 0 };
        if marks <= 4 {
            out.push(letter);
        }
    }
    out
}

/// Letters with the marks that stand over or under them.
fn letters(word: &str) -> Vec<String> {
    let mut letters: Vec<String> = Vec::new();
    for letter in word.chars() {
        match letters.last_mut() {
            Some(last) if is_mark(letter) => last.push(letter),
            _ => letters.push(letter.to_string()),
        }
    }
    letters
}

/// Marks and joiners of the scripts the typefaces have.
fn is_mark(letter: char) -> bool {
    matches!(letter,
        '\u{300}'..='\u{36f}' | '\u{483}'..='\u{489}' | '\u{591}'..='\u{5bd}' | '\u{5bf}' | '\u{5c1}'..='\u{5c2}'
        | '\u{5c4}'..='\u{5c5}' | '\u{610}'..='\u{61a}' | '\u{64b}'..='\u{65f}' | '\u{670}' | '\u{6d6}'..='\u{6dc}'
        | '\u{1dc0}'..='\u{1dff}' | '\u{200c}'..='\u{200d}' | '\u{20d0}'..='\u{20ff}' | '\u{fe00}'..='\u{fe0f}'
        | '\u{fe20}'..='\u{fe2f}')
}

/// Whether the first letter with a direction of its own reads from right to left.
///
/// # Source
/// Unicode Standard Annex 9, rules P2 and P3, by blocks of right-to-left scripts.
pub(crate) fn reads_from_right(text: &str) -> bool {
    text.chars().find(|&letter| letter.is_alphabetic()).is_some_and(is_from_right)
}

fn is_from_right(letter: char) -> bool {
    matches!(letter,
        '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}'
        | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}
