//! The document between findings and files: typed blocks of plain text. Leaves out how any file format writes them.
//!
//! Every text is plain: whoever writes a file escapes it.

use jiff::civil::Date;

/// A whole write-up.
#[derive(Debug, Clone, PartialEq, Eq)]
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
    /// Its sections, in the order of [`Topic`].
    pub sections: Vec<Section>,
}

impl Document {
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
            Self::LeftOut => "What was left out, and why",
            Self::Cost => "Cost",
            Self::Conclusion => "Conclusion",
            Self::Limits => "Limits",
            Self::Cautions => "Cautions",
            Self::Disclosure => "Disclosure",
            Self::Versions => "Versions",
        }
    }
}

/// One section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// What it is about.
    pub topic: Topic,
    /// Its blocks; never none.
    pub blocks: Vec<Block>,
}

/// One block of a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// Running text; a blank line parts paragraphs.
    Paragraph(String),
    /// A table.
    Table(Table),
    /// Points, each one paragraph.
    List(Vec<String>),
    /// A caution.
    Caution(Caution),
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
