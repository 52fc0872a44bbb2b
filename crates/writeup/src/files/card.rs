//! Cards to show in a film, as PNG: a result in large print with its range, its conditions, its cost, its limits and the
//! disclosure.
//!
//! Reading order: [`mod@fonts`] (the typefaces), `content` (what a card has to say), `measure` (how much room words take), `fit`
//! (words into lines), `layout` (where they stand), `paint` (SVG, then PNG). Leaves out how numbers come about: a card shows the
//! words a headline has.

use std::collections::BTreeSet;

use resvg::usvg::Tree;
use storypole_drawing::{Ground, Look, Room};

use super::{CardShape, File, FileError};
use crate::document::Document;

mod content;
mod fit;
pub mod fonts;
mod layout;
mod measure;
mod paint;
#[cfg(test)]
mod tests;

use content::Content;
use fonts::Family;
use measure::{Ruler, has_box, texts};

/// One card for each headline, shape and look, at `cards/`, such as `cards/wide-dark-1.png` or `cards/tall-light-clear-2.png`.
///
/// A card without its own figure, or whose figure cannot be drawn or read in its room, is made without one.
///
/// # Errors
/// [`FileError::Card`] where the document has no headline.
pub fn cards(
    document: &Document,
    shapes: &BTreeSet<CardShape>,
    looks: &[Look],
) -> Result<Vec<File>, FileError> {
    let mut ruler = Ruler::new();
    let mut files: Vec<File> = Vec::new();
    for &shape in shapes {
        for &look in looks {
            if document.headlines.is_empty() {
                let why = "nothing to put on a card: the document has no result".to_owned();
                return Err(FileError::Card { name: name(shape, look, 1), why });
            }
            for (at, headline) in document.headlines.iter().enumerate() {
                let name = name(shape, look, at + 1);
                let path = format!("cards/{name}.png");
                if files.iter().any(|file| file.path == path) {
                    continue;
                }
                let content = Content::of(document, headline);
                let bytes =
                    card(&mut ruler, &content, shape, look).map_err(|why| FileError::Card { name, why })?;
                files.push(File { path, media_type: "image/png", bytes });
            }
        }
    }
    Ok(files)
}

/// One card: that of the headline at `index`.
///
/// # Errors
/// [`FileError::Card`] where the document has no such headline.
pub fn one(document: &Document, index: usize, shape: CardShape, look: Look) -> Result<File, FileError> {
    let name = name(shape, look, index + 1);
    let failed = |why: String| FileError::Card { name: name.clone(), why };
    let headline =
        document.headlines.get(index).ok_or_else(|| failed("there is no such result".to_owned()))?;
    let content = Content::of(document, headline);
    let bytes = card(&mut Ruler::new(), &content, shape, look).map_err(failed)?;
    Ok(File { path: format!("cards/{name}.png"), media_type: "image/png", bytes })
}

fn card(ruler: &mut Ruler, content: &Content<'_>, shape: CardShape, look: Look) -> Result<Vec<u8>, String> {
    let layout = layout::layout(ruler, content, shape, look)
        .ok_or("its words do not fit: shorten the title or the label")?;
    let svg = paint::svg(&layout, shape, look);
    paint::png(&svg, shape, look, ruler.options())
}

fn name(shape: CardShape, look: Look, number: usize) -> String {
    let ground = match look.ground {
        Ground::Light => "light",
        Ground::Dark => "dark",
    };
    let clear = if look.clear { "-clear" } else { "" };
    format!("{}-{ground}{clear}-{number}", shape.word())
}

/// The letters of a text that the cards' typefaces lack, each once, in the order they stand.
pub fn uncovered(text: &str) -> Vec<char> {
    lacking(&mut Ruler::new(), text)
}

fn lacking(ruler: &mut Ruler, text: &str) -> Vec<char> {
    let mut found = Vec::new();
    for letter in fit::cleaned(text).chars() {
        let is_new = !found.contains(&letter);
        if is_new && ruler.lacks(Family::Noto, letter) && ruler.lacks(Family::Dejavu, letter) {
            found.push(letter);
        }
    }
    found
}

/// What whoever orders cards should know before they are shown: letters that become empty boxes.
pub fn card_warnings(document: &Document) -> Vec<String> {
    let mut ruler = Ruler::new();
    let mut warnings = Vec::new();
    for headline in &document.headlines {
        let content = Content::of(document, headline);
        for (what, text) in content.texts() {
            let lacking: String = lacking(&mut ruler, text).into_iter().collect();
            if !lacking.is_empty() {
                warnings.push(format!(
                    "{what} has letters the cards' typeface lacks: {lacking}; they show as empty boxes"
                ));
            }
        }
        warnings.extend(chart_warning(&ruler, &content));
    }
    let mut seen = BTreeSet::new();
    warnings.retain(|warning| seen.insert(warning.clone()));
    warnings
}

fn chart_warning(ruler: &Ruler, content: &Content<'_>) -> Option<String> {
    let picture = content.chart?.without_heading().draw(Room::PHONE, Look::LIGHT).ok()?;
    let tree = Tree::from_str(&picture.svg, ruler.options()).ok()?;
    texts(tree.root())
        .into_iter()
        .any(has_box)
        .then(|| "the chart has letters the cards' typeface lacks; they show as empty boxes".to_owned())
}
