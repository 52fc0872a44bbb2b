//! The document between findings and files: typed blocks of plain text. Leaves out how any file format writes them.
//!
//! Every text is plain: whoever writes a file escapes it.

use std::sync::Arc;

use jiff::civil::Date;
use storypole_drawing::Chart;

use crate::data::Data;

/// Licence of data where the author chose none.
pub const LICENCE: &str = "CC-BY-4.0";

/// A whole write-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Its title.
    pub title: String,
    /// A name for files and addresses: lower-case letters, digits and single hyphens, never empty.
    pub slug: String,
    /// The day it was written.
    pub date: Date,
    /// The answer in one or two sentences.
    pub summary: String,
    /// Words to find it by.
    pub tags: Vec<String>,
    /// What the author discloses; `None` where nothing was written.
    pub disclosure: Option<String>,
    /// Labels of the jobs it draws on.
    pub jobs: Vec<String>,
    /// Labels of the tests it draws on.
    pub tests: Vec<String>,
    /// Version of the program that wrote it.
    pub program_version: String,
    /// Its sections, in the order the author chose, or else that of [`Topic`].
    pub sections: Vec<Section>,
    /// Language of its own words, BCP 47.
    pub language: String,
    /// The day its numbers last became others than in its first edition; `None` where they did not.
    pub updated: Option<Date>,
    /// Where it stands on the web, once it does.
    pub link: Option<String>,
    /// Licence of its data, SPDX.
    pub licence: String,
    /// Name of the figure that stands for it.
    pub cover: Option<String>,
    /// Its results in large print, the first one first; never none.
    pub headlines: Vec<Headline>,
    /// Notes for its film, file by file and in order of time.
    pub clips: Vec<ClipMark>,
    /// Photographs the author chose, without what cameras hide in them.
    pub photos: Vec<Photo>,
    /// Numbers an earlier edition printed otherwise, whichever it was: what the document itself tells its readers.
    pub stale: Vec<Stale>,
    /// Those of them that the newest edition printed otherwise; none once today's numbers are published. What is left out now is not
    /// among them.
    pub stale_since_last: Vec<Stale>,
    /// The readings and all that is needed to recompute the results.
    pub data: Data,
    /// What leaves the notebook with it, and what does not.
    pub told: Told,
    /// The key numbers it prints, each with a stable name: what an edition keeps, to tell later what changed.
    pub numbers: Vec<(String, String)>,
    /// Results and figures its author may leave out, also those that are left out.
    pub parts: Vec<Part>,
}

impl Document {
    /// A document of nothing but what every one has; in English, its data under CC BY 4.0.
    pub fn new(
        title: impl Into<String>,
        slug: impl Into<String>,
        date: Date,
        version: impl Into<String>,
    ) -> Self {
        Self {
            title: title.into(),
            slug: slug.into(),
            date,
            summary: String::new(),
            tags: Vec::new(),
            disclosure: None,
            jobs: Vec::new(),
            tests: Vec::new(),
            program_version: version.into(),
            sections: Vec::new(),
            language: "en".to_owned(),
            updated: None,
            link: None,
            licence: LICENCE.to_owned(),
            cover: None,
            headlines: Vec::new(),
            clips: Vec::new(),
            photos: Vec::new(),
            stale: Vec::new(),
            stale_since_last: Vec::new(),
            data: Data::default(),
            told: Told::default(),
            numbers: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// The figures, in the order they stand in.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        self.sections.iter().flat_map(|section| &section.blocks).filter_map(|block| match block {
            Block::Figure(figure) => Some(figure),
            _ => None,
        })
    }

    /// The section on a topic, where there is one.
    pub fn section(&self, topic: Topic) -> Option<&Section> {
        self.sections.iter().find(|section| section.topic == topic)
    }
}

/// What a section is about, in the order in which sections stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Topic {
    /// What was asked, and the answer in short.
    Question,
    /// Each version of each assembly, and what changed.
    Built,
    /// How it was measured.
    Method,
    /// What was held constant, set beside set.
    Conditions,
    /// Numbers, changes and what they mean.
    Results,
    /// What others publish for such walls, and what a formula gives.
    Others,
    /// What did not count, was struck or was corrected.
    LeftOut,
    /// What it cost, and what that includes.
    Cost,
    /// What the author makes of it.
    Conclusion,
    /// What it does not show.
    Limits,
    /// What can hurt someone.
    Cautions,
    /// Gifts and ties.
    Disclosure,
    /// What the numbers were computed with.
    Versions,
    /// Where the readings are, and under which licence.
    Data,
}

impl Topic {
    /// Its heading.
    pub fn heading(self) -> &'static str {
        match self {
            Self::Question => "Question",
            Self::Built => "What was built",
            Self::Method => "Method",
            Self::Conditions => "Conditions",
            Self::Results => "Results",
            Self::Others => "What others got",
            Self::LeftOut => "What was left out, and why",
            Self::Cost => "Cost",
            Self::Conclusion => "Conclusion",
            Self::Limits => "Limits",
            Self::Cautions => "Cautions",
            Self::Disclosure => "Disclosure",
            Self::Versions => "Versions",
            Self::Data => "Data",
        }
    }
}

/// One section.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// What it is about.
    pub topic: Topic,
    /// Its blocks; never none.
    pub blocks: Vec<Block>,
}

/// One block of a section.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::large_enum_variant,
    reason = "a document has few blocks, and figures are read as often as texts"
)]
pub enum Block {
    /// Running text; a blank line parts paragraphs.
    Paragraph(String),
    /// A table.
    Table(Table),
    /// Points, each one paragraph.
    List(Vec<String>),
    /// A caution.
    Caution(Caution),
    /// A picture, drawn by whoever writes a file in the room that file has.
    Figure(Figure),
    /// A photograph, by its place in [`Document::photos`].
    Photo(usize),
    /// Something the program has to say about the author's own words: a number in them is stale.
    Note(String),
}

/// A picture with its place in the text.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Name for its files, unique in the document: lower-case letters, digits, single hyphens.
    pub name: String,
    /// What is drawn.
    pub chart: Chart,
    /// The line below it.
    pub caption: String,
}

/// A result in large print: for cards, posts and the top of a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Headline {
    /// What it is of, such as `T01 to T05` or `J6 test box`.
    pub label: String,
    /// What was asked or done, in a short line.
    pub title: String,
    /// The answer in a few words: `11 dB quieter`, `At least 12 dB quieter`, `No change to claim`.
    pub big: String,
    /// How sure: `10 to 12 dB`, `over 10.6 dB`; `None` where there is no interval.
    pub range: Option<String>,
    /// The answer in a plain sentence.
    pub sentence: String,
    /// Grade of the comparison.
    pub grade: Option<char>,
    /// Whether it may be claimed.
    pub claimed: bool,
    /// Name of the figure to show with it.
    pub figure: Option<String>,
    /// What was held constant and what was not, in short lines, what did not hold first.
    pub conditions: Vec<String>,
    /// What it cost and what that includes, in short lines.
    pub cost: Vec<String>,
    /// What it does not show, in short lines; never none.
    pub limits: Vec<String>,
}

/// A place in a film.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClipMark {
    /// The film's file name.
    pub file: String,
    /// Milliseconds from its start.
    pub at_ms: u64,
    /// What is shown.
    pub subject: String,
}

/// A photograph.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// File name with its ending, unique in the document.
    pub name: String,
    /// What it shows, in words.
    pub caption: String,
    /// `image/jpeg` or `image/png`.
    pub media_type: &'static str,
    /// Its content without place, device, time and other notes of the camera.
    pub bytes: Arc<[u8]>,
    /// How many bytes of such notes were taken out.
    pub stripped: usize,
}

/// A number an earlier edition printed otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stale {
    /// What it is of, by labels: `T01 to T05, dBA: change`.
    pub what: String,
    /// The day of the edition.
    pub printed_on: Date,
    /// As printed.
    pub was: String,
    /// As it is now; `None` where there is no such number any more.
    pub now: Option<String>,
}

/// What leaves the notebook with a write-up, and what does not, for its author to look over.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Told {
    /// What is told, by kind: roles of people, names of rooms, texts the crew wrote.
    pub told: Vec<(&'static str, Vec<String>)>,
    /// What was kept back, by kind, with how many there are.
    pub kept_back: Vec<(&'static str, usize)>,
}

/// A result or figure that its author may leave out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The name that leaves it out: `test:Q2`, `set:T08`, `change:T01-T04`, `figure:forest`.
    pub name: String,
    /// What it is, in words.
    pub words: String,
    /// Whether it is left out.
    pub is_out: bool,
}

/// A table with real heads; every row has as many cells as there are heads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Heads of its columns.
    pub heads: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<Cell>>,
}

/// One cell of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// Its text.
    pub text: String,
    /// Whether it stands out, such as a condition that did not hold.
    pub is_bold: bool,
}

impl Cell {
    /// A cell like the others.
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), is_bold: false }
    }

    /// A cell that stands out.
    pub fn bold(text: impl Into<String>) -> Self {
        Self { text: text.into(), is_bold: true }
    }
}

/// A caution as shown: why, what to do, who says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Its name, the one an acknowledgement gives.
    pub name: &'static str,
    /// What it is about.
    pub subject: &'static str,
    /// The facts it is shown for.
    pub facts: String,
    /// What to mind, with whom to ask.
    pub text: String,
    /// Who says so, with edition or year.
    pub source: &'static str,
    /// Roles of those who have read it for these facts.
    pub read_by: Vec<String>,
}
