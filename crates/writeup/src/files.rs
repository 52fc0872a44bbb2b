//! Every file a write-up can become, and which of them are wanted.
//!
//! Pure: files are names and bytes, in order of their names; whoever has a disk puts them there. The same document and wishes give
//! the same bytes. Each kind of file has a module of its own; this one gathers them and adds their hashes.

use std::collections::BTreeSet;

use data_encoding::HEXLOWER;
use sha2::{Digest, Sha256};
use storypole_drawing::{ChartError, Look};

use crate::document::Document;

pub mod archive;
pub mod card;
pub mod chapters;
pub mod html;
pub mod package;
pub mod pictures;
pub mod post;
pub mod tables;

pub use archive::archive;

/// One file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Where it lies in the write-up's folder: parts of lower-case letters, digits, hyphens and dots, joined by `/`; only
    /// `SHA256SUMS` is written large, as is the custom.
    pub path: String,
    /// Its media type.
    pub media_type: &'static str,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Format {
    /// The text as Markdown, with its pictures beside it.
    Markdown,
    /// The whole as one page for a browser, nothing else needed.
    Page,
    /// Chapters of each film, as WebVTT and as a list of time marks.
    Chapters,
    /// A short text to post.
    Post,
    /// The data as CSV with a description that programs read.
    Data,
    /// Cards to show in a film.
    Cards,
}

impl Format {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Markdown, Self::Page, Self::Chapters, Self::Post, Self::Data, Self::Cards];

    /// Its word, as typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Markdown => "markdown",
            Self::Page => "page",
            Self::Chapters => "chapters",
            Self::Post => "post",
            Self::Data => "data",
            Self::Cards => "cards",
        }
    }
}

/// The shape of a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CardShape {
    /// 1920 by 1080.
    Wide,
    /// 1080 by 1920.
    Tall,
    /// 1280 by 720, to choose a film by.
    Small,
}

impl CardShape {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Wide, Self::Tall, Self::Small];

    /// Width and height in pixels.
    pub fn size(self) -> (u32, u32) {
        match self {
            Self::Wide => (1920, 1080),
            Self::Tall => (1080, 1920),
            Self::Small => (1280, 720),
        }
    }

    /// Its word, as typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Tall => "tall",
            Self::Small => "small",
        }
    }
}

/// What is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// Which files.
    pub formats: BTreeSet<Format>,
    /// Which shapes of cards.
    pub shapes: BTreeSet<CardShape>,
    /// How cards are painted; several make several sets.
    pub looks: Vec<Look>,
}

impl Wanted {
    /// Everything, cards in all shapes on a dark ground and on none.
    pub fn everything() -> Self {
        Self {
            formats: Format::ALL.into_iter().collect(),
            shapes: CardShape::ALL.into_iter().collect(),
            looks: vec![Look::DARK, Look { clear: true, ..Look::DARK }],
        }
    }
}

/// Why a file could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FileError {
    /// A figure could not be drawn.
    #[error("the figure {name} could not be drawn")]
    Figure {
        /// Its name.
        name: String,
        /// Why.
        source: ChartError,
    },
    /// A card could not be made.
    #[error("the card {name} could not be made: {why}")]
    Card {
        /// Its name.
        name: String,
        /// Why.
        why: String,
    },
}

/// Makes the files that are wanted, in order of their paths, and `SHA256SUMS` with a line for each.
///
/// # Errors
/// [`FileError`] names the figure or card that could not be made; then there are no files at all.
pub fn files(document: &Document, wanted: &Wanted) -> Result<Vec<File>, FileError> {
    let mut all = Vec::new();
    for format in &wanted.formats {
        match format {
            Format::Markdown => all.extend(pictures::markdown(document)?),
            Format::Page => all.push(html::page(document)?),
            Format::Chapters => all.extend(chapters::chapters(document)),
            Format::Post => all.push(post::post(document)),
            Format::Data => all.extend(package::package(document)),
            Format::Cards => all.extend(card::cards(document, &wanted.shapes, &wanted.looks)?),
        }
    }
    all.sort_by(|one, other| one.path.cmp(&other.path));
    if !all.is_empty() {
        all.insert(0, sums(&all));
        all.sort_by(|one, other| one.path.cmp(&other.path));
    }
    Ok(all)
}

/// SHA-256 in hexadecimal digits.
pub fn sha256(bytes: &[u8]) -> String {
    HEXLOWER.encode(&Sha256::digest(bytes))
}

/// Hashes of all files, a line each, as `sha256sum -c` reads them.
fn sums(files: &[File]) -> File {
    let line = |file: &File| format!("{}  {}\n", sha256(&file.bytes), file.path);
    let lines: String = files.iter().map(line).collect();
    File { path: "SHA256SUMS".to_owned(), media_type: "text/plain; charset=utf-8", bytes: lines.into_bytes() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;
    use crate::{Choices, Subject, document};

    fn choices() -> Choices {
        Choices::new("2025-05-24".parse().unwrap(), "0.1.0")
    }

    /// Source: FIPS 180-4, SHA-256 of "abc" (NIST example) and of nothing.
    #[test]
    fn sums_are_the_published_ones() {
        let file = |path: &str, bytes: &[u8]| File {
            path: path.to_owned(),
            media_type: "text/plain",
            bytes: bytes.to_vec(),
        };
        let sums = sums(&[file("a/abc.txt", b"abc"), file("none", b"")]);
        assert_eq!(
            String::from_utf8(sums.bytes).unwrap(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  a/abc.txt\n\
             e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  none\n"
        );
    }

    #[test]
    fn texts_of_the_demo_stand_in_order_with_a_sum_each() {
        let all = demo();
        let document = document(&all.book, Subject::Job(all.id("job", "J1")), &choices()).unwrap();
        let wanted = Wanted {
            formats: [Format::Markdown, Format::Page, Format::Post].into_iter().collect(),
            shapes: BTreeSet::new(),
            looks: Vec::new(),
        };
        let made = files(&document, &wanted).unwrap();
        let paths: Vec<&str> = made.iter().map(|file| file.path.as_str()).collect();
        assert!(
            paths.is_sorted() && paths.contains(&"index.html") && paths.contains(&"post.txt"),
            "{paths:?}"
        );
        let sums = made.iter().find(|file| file.path == "SHA256SUMS").unwrap();
        let lines = String::from_utf8(sums.bytes.clone()).unwrap();
        let named: Vec<&str> = lines.lines().map(|line| line.split_once("  ").unwrap().1).collect();
        let others: Vec<&str> = paths.iter().copied().filter(|path| *path != "SHA256SUMS").collect();
        assert_eq!(named, others);
        assert_eq!(files(&document, &wanted).unwrap(), made);
        let nothing = Wanted { formats: BTreeSet::new(), ..wanted };
        assert_eq!(files(&document, &nothing).unwrap(), []);
    }
}
