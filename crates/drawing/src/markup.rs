//! Well-formed XML, written piece by piece.
//!
//! Leaves out everything that SVG as drawn here has no use for: namespaces with prefixes, entities, CDATA, comments.

use std::fmt::Write;

use crate::picture::{Ground, Tone};

/// What an attribute holds.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Value<'a> {
    Text(&'a str),
    Number(f64),
    /// An id of this drawing, or a list of ids, written by their own parts: see [`Markup::seal`].
    Id(&'a str),
    Ids(&'a str, &'a str),
    /// A paint that refers to an id of this drawing.
    Paint(&'a str),
    /// A colour by its part, chosen when the text is sealed.
    Tone(Tone),
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(text)
    }
}

impl From<Tone> for Value<'_> {
    fn from(tone: Tone) -> Self {
        Self::Tone(tone)
    }
}

impl From<f64> for Value<'_> {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

/// Attributes of an element, in the order they are written.
pub(crate) type Attributes<'a> = &'a [(&'a str, Value<'a>)];

/// Stands for the drawing's own prefix of ids until the text is complete. No text can hold it: control characters are
/// dropped.
const PREFIX: char = '\u{1}';
/// Stands before the letter of a colour, likewise.
const COLOUR: char = '\u{2}';

/// XML under way.
#[derive(Debug, Default)]
pub(crate) struct Markup {
    out: String,
    open: Vec<&'static str>,
}

impl Markup {
    /// Opens an element.
    pub(crate) fn open(&mut self, name: &'static str, attributes: Attributes<'_>) {
        self.tag(name, attributes);
        self.out.push_str(">\n");
        self.open.push(name);
    }

    /// Closes the element opened last.
    pub(crate) fn close(&mut self) {
        let name = self.open.pop().expect("every close has its open");
        writeln!(self.out, "</{name}>").expect("a string takes all text");
    }

    /// Writes an element without content.
    pub(crate) fn empty(&mut self, name: &'static str, attributes: Attributes<'_>) {
        self.tag(name, attributes);
        self.out.push_str("/>\n");
    }

    /// Writes an element that holds text alone.
    pub(crate) fn words(&mut self, name: &'static str, attributes: Attributes<'_>, text: &str) {
        self.tag(name, attributes);
        writeln!(self.out, ">{}</{name}>", escaped(text)).expect("a string takes all text");
    }

    /// Takes in what was written elsewhere.
    pub(crate) fn take(&mut self, other: Self) {
        assert!(other.open.is_empty(), "what is taken in is closed");
        self.out.push_str(&other.out);
    }

    /// Ends the text, paints it for a ground and gives its ids a prefix made from all of it, so that two drawings on one page
    /// do not mix up theirs.
    pub(crate) fn seal(self, ground: Ground) -> String {
        assert!(self.open.is_empty(), "every open has its close");
        let mut painted = String::with_capacity(self.out.len() + 1024);
        let mut parts = self.out.split(COLOUR);
        painted.push_str(parts.next().unwrap_or_default());
        for part in parts {
            let mut letters = part.chars();
            let tone = letters.next().and_then(Tone::of).expect("a letter of a colour follows its mark");
            painted.push_str(tone.colour(ground));
            painted.push_str(letters.as_str());
        }
        let prefix = format!("d{:016x}", fingerprint(painted.as_bytes()));
        painted.replace(PREFIX, &prefix)
    }

    fn tag(&mut self, name: &str, attributes: Attributes<'_>) {
        self.out.push('<');
        self.out.push_str(name);
        for (key, value) in attributes {
            let out = &mut self.out;
            match value {
                Value::Text(text) => write!(out, " {key}=\"{}\"", escaped(text)),
                Value::Number(value) => write!(out, " {key}=\"{}\"", number(*value)),
                Value::Id(id) => write!(out, " {key}=\"{PREFIX}-{id}\""),
                Value::Ids(one, other) => write!(out, " {key}=\"{PREFIX}-{one} {PREFIX}-{other}\""),
                Value::Paint(id) => write!(out, " {key}=\"url(#{PREFIX}-{id})\""),
                Value::Tone(tone) => write!(out, " {key}=\"{COLOUR}{}\"", tone.letter()),
            }
            .expect("a string takes all text");
        }
    }
}

/// Prints a number to hundredths, without needless zeros.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Returns what a person typed as one line: spaces single, without control characters and marks that turn the reading
/// direction, which could make a drawing read otherwise than it is written.
pub fn plain(text: &str) -> String {
    let kept: String = text
        .chars()
        .map(|letter| if letter.is_whitespace() { ' ' } else { letter })
        .filter(|&letter| !letter.is_control() && !turns_direction(letter) && !is_noncharacter(letter))
        .collect();
    kept.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in plain(text).chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            _ => out.push(letter),
        }
    }
    out
}

fn turns_direction(letter: char) -> bool {
    matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Code points that XML 1.0 forbids beyond control characters.
fn is_noncharacter(letter: char) -> bool {
    matches!(letter, '\u{fffe}' | '\u{ffff}')
}

/// Hashes by FNV-1a, 64 bit: it tells drawings apart and guards nothing.
fn fingerprint(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, &byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: XML 1.0, 2.4 character data and markup; 2.2 characters (from memory).
    #[test]
    fn text_is_escaped() {
        let mut markup = Markup::default();
        markup.words(
            "text",
            &[("a", "\"<'>&\u{7}".into())],
            "a < b & \"c\" \u{0}\u{1b}[31m\u{202e}\u{ffff}'d'>",
        );
        let expected =
            "<text a=\"&quot;&lt;&#39;&gt;&amp;\">a &lt; b &amp; &quot;c&quot; [31m&#39;d&#39;&gt;</text>\n";
        assert_eq!(markup.seal(Ground::Light), expected);
    }

    #[test]
    fn lines_and_tabs_become_spaces() {
        assert_eq!(plain(" one\n\ttwo\u{a0} three "), "one two three");
    }

    #[test]
    fn numbers_are_short() {
        for (value, text) in [(1.0, "1"), (0.5, "0.5"), (-0.001, "0"), (10.006, "10.01"), (100.0, "100")] {
            assert_eq!(number(value), text);
        }
    }

    /// Source: FNV-1a 64 bit of "a" and "foobar", published test values (from memory).
    #[test]
    fn the_fingerprint_is_the_published_one() {
        assert_eq!(fingerprint(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fingerprint(b"foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn ids_differ_between_drawings() {
        let sealed = |text: &str| {
            let mut markup = Markup::default();
            markup.words("title", &[("id", Value::Id("title"))], text);
            markup.seal(Ground::Light)
        };
        assert_eq!(sealed("one"), sealed("one"));
        let id = |text: &str| sealed(text).split('"').nth(1).unwrap().to_owned();
        assert_ne!(id("one"), id("two"));
        assert!(id("one").ends_with("-title"));
    }
}
