//! How much room words take, asked of the same library that paints them.
//!
//! Each word is laid out once in a large size; a typeface here has no hints and no optical sizes, so all its measures grow with
//! its size. Leaves out lines and paragraphs.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use resvg::usvg::{GlyphId, Group, Node, Options, Text, Tree};

use super::fit::Lines;
use super::fonts::{Cut, Family, Missing, options};
use super::paint::escaped;

/// Size words are measured in.
const MEASURED: f64 = 200.0;

/// What a word takes, in ems of its size.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Extent {
    /// From its start to the start of what follows.
    pub(crate) advance: f64,
    /// How high its ink stands over the base line.
    pub(crate) above: f64,
    /// How deep its ink hangs under the base line.
    pub(crate) below: f64,
    /// How far its ink stands out before its start; less than nothing where it begins behind it.
    pub(crate) before: f64,
    /// How far its ink stands out behind its advance, or nothing.
    pub(crate) behind: f64,
}

impl Extent {
    /// Its ink and its advance, wherever it stands in a line.
    pub(crate) fn width(&self) -> f64 {
        self.advance + self.before.max(0.0) + self.behind
    }
}

/// Measures words, and keeps what it has measured.
pub(crate) struct Ruler {
    options: Options<'static>,
    boxes: Options<'static>,
    extents: BTreeMap<Cut, BTreeMap<String, Extent>>,
    lacking: BTreeMap<(Family, char), bool>,
    composed: BTreeMap<Asked, Lines>,
}

/// A text to break into lines: the same is asked again for each try to lay a card out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Asked {
    pub(crate) text: String,
    pub(crate) bold: bool,
    /// Bits of the width in ems.
    pub(crate) room: u64,
    /// Lines at most, and what stands for the rest.
    pub(crate) most: (usize, String),
}

/// So many texts in lines are kept at most.
const MOST_COMPOSED: usize = 8000;

impl Ruler {
    /// One that has measured nothing yet.
    pub(crate) fn new() -> Self {
        Self {
            options: options(Missing::FromOther),
            boxes: options(Missing::Box),
            extents: BTreeMap::new(),
            lacking: BTreeMap::new(),
            composed: BTreeMap::new(),
        }
    }

    /// The options its measures hold for.
    pub(crate) fn options(&self) -> &Options<'static> {
        &self.options
    }

    /// Lines that were asked for before.
    pub(crate) fn known(&self, asked: &Asked) -> Option<Lines> {
        self.composed.get(asked).cloned()
    }

    /// Keeps lines for when they are asked for again.
    pub(crate) fn keep(&mut self, asked: Asked, lines: &Lines) {
        if self.composed.len() >= MOST_COMPOSED {
            self.composed.clear();
        }
        self.composed.insert(asked, lines.clone());
    }

    /// Measures many words at once, which is faster than one after the other.
    pub(crate) fn learn<'a>(&mut self, cut: Cut, words: impl IntoIterator<Item = &'a str>) {
        let known = self.extents.entry(cut).or_default();
        let new: BTreeSet<&str> = words.into_iter().filter(|word| !known.contains_key(*word)).collect();
        if new.is_empty() {
            return;
        }
        let new: Vec<&str> = new.into_iter().collect();
        let tree = laid_out(&new, cut, &self.options);
        let mut found = vec![Extent::default(); new.len()];
        for text in texts(tree.root()) {
            if let Some(at) = text.id().strip_prefix('w').and_then(|at| at.parse::<usize>().ok()) {
                found[at] = extent(text);
            }
        }
        known.extend(new.into_iter().map(str::to_owned).zip(found));
    }

    /// What a word takes.
    pub(crate) fn word(&mut self, cut: Cut, word: &str) -> Extent {
        self.learn(cut, [word]);
        self.extents[&cut][word]
    }

    /// How wide a space between words is, in ems.
    pub(crate) fn space(&mut self, cut: Cut) -> f64 {
        self.learn(cut, ["n", "n n"]);
        let known = &self.extents[&cut];
        known["n n"].advance - 2.0 * known["n"].advance
    }

    /// Whether a typeface lacks a letter.
    pub(crate) fn lacks(&mut self, family: Family, letter: char) -> bool {
        // Both have these: a test looks.
        if matches!(letter, ' '..='~' | '\u{a1}'..='\u{ff}') {
            return false;
        }
        *self.lacking.entry((family, letter)).or_insert_with(|| {
            let tree = laid_out(&[letter.to_string().as_str()], Cut { family, bold: false }, &self.boxes);
            texts(tree.root()).into_iter().any(has_box)
        })
    }

    /// The typeface to set a text in: Noto Sans, unless DejaVu Sans has more of its letters.
    pub(crate) fn family(&mut self, text: &str) -> Family {
        let mut lacked = |family| text.chars().filter(|&letter| self.lacks(family, letter)).count();
        let by_noto = lacked(Family::Noto);
        if by_noto > 0 && lacked(Family::Dejavu) < by_noto { Family::Dejavu } else { Family::Noto }
    }
}

fn laid_out(words: &[&str], cut: Cut, options: &Options<'_>) -> Tree {
    let weight = if cut.bold { "bold" } else { "normal" };
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"9\" height=\"9\" font-family=\"{}\" font-weight=\"{weight}\" \
         font-size=\"{MEASURED}\">",
        cut.family.name()
    );
    for (at, word) in words.iter().enumerate() {
        write!(svg, "<text id=\"w{at}\" x=\"0\" y=\"0\">{}</text>", escaped(word))
            .expect("a string takes all text");
    }
    svg.push_str("</svg>");
    Tree::from_str(&svg, options).expect("what is written here is well-formed")
}

fn extent(text: &Text) -> Extent {
    let (advance, ink) = (text.bounding_box(), text.stroke_bounding_box());
    let ems = |pixels: f32| f64::from(pixels) / MEASURED;
    Extent {
        advance: ems(advance.right()),
        above: ems(-ink.top()).max(0.0),
        below: ems(ink.bottom()).max(0.0),
        before: ems(-ink.left()),
        behind: ems(ink.right() - advance.right()).max(0.0),
    }
}

/// All lines of text in a group, those of groups inside it too.
pub(crate) fn texts(group: &Group) -> Vec<&Text> {
    let mut found = Vec::new();
    for node in group.children() {
        match node {
            Node::Group(inner) => found.extend(texts(inner)),
            Node::Text(text) => found.push(&**text),
            _ => (),
        }
    }
    found
}

/// Whether a line holds a letter that is painted as an empty box.
pub(crate) fn has_box(text: &Text) -> bool {
    text.layouted().iter().flat_map(|span| &span.positioned_glyphs).any(|glyph| glyph.id == GlyphId(0))
}
