//! What can be wrong, where, and the sentence that says so with a next step.

use std::fmt;

/// One broken rule in one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// From the workspace's root, with `/`.
    pub path: String,
    /// From 1; none where the whole file is meant.
    pub line: Option<usize>,
    pub kind: Kind,
}

impl Fault {
    /// A fault in one line of a file, counted from 1.
    pub fn in_line(path: &str, line: usize, kind: Kind) -> Self {
        Self { path: path.to_owned(), line: Some(line), kind }
    }

    /// A fault of a file as a whole.
    pub fn of_file(path: &str, kind: Kind) -> Self {
        Self { path: path.to_owned(), line: None, kind }
    }
}

/// Which rule is broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// A source file does not say what it is for.
    NoHeader,
    /// More lines before the tests than anybody reads.
    TooLong { lines: usize, most: usize },
    /// Output written past the one place that writes it.
    Prints { word: &'static str },
    /// A pure layer that sees the outside world.
    Reaches { word: &'static str, layer: u8 },
    /// A path that exists on one machine only.
    MachinePath { start: String },
    /// A crate folder that the layer table lacks.
    UnknownCrate { folder: String },
    /// A package whose name does not follow from its folder.
    PackageName { got: String, expected: String },
    /// A crate that imports one it must not see.
    Arrow { from: String, to: String },
    /// An outside library in a crate that must not know it.
    Library { name: String, allowed: &'static [&'static str] },
    /// A line of the checksum list that cannot be read.
    ChecksumLine,
    /// A migration without a recorded checksum.
    MigrationUnknown { file: String },
    /// A recorded migration whose text changed.
    MigrationChanged,
    /// A recorded migration that is gone.
    MigrationMissing { file: String },
    /// A migration that is recorded more than once.
    MigrationTwice { file: String },
    /// A template that puts a text into the page unread.
    RawMarkup,
    /// A style that the content security policy forbids.
    StaticStyle,
    /// A package bound to one place on the network.
    Download,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}:{line}: {}", self.path, self.kind),
            None => write!(f, "{}: {}", self.path, self.kind),
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoHeader => {
                write!(f, "a source file starts with `//!`: what it is for, what it leaves out")
            }
            Self::TooLong { lines, most } => {
                write!(f, "{lines} lines before the tests, at most {most}: look for the second idea inside")
            }
            Self::Prints { word } => {
                write!(f, "`{word}` prints here; only `cli`, `xtask`, `bench` and tests do")
            }
            Self::Reaches { word, layer } => {
                write!(f, "`{word}` in layer {layer}: layers 0 to 2 take such things as arguments")
            }
            Self::MachinePath { start } => {
                write!(f, "`{start}` starts a path of one machine: write it from the project's root")
            }
            Self::UnknownCrate { folder } => {
                write!(f, "`{folder}` has no layer: add it to the table in crates/xtask/src/tidy/layers.rs")
            }
            Self::PackageName { got, expected } => {
                write!(f, "the package is `{got}`, its folder asks for `{expected}`")
            }
            Self::Arrow { from, to } => {
                write!(f, "`{from}` must not import `{to}`: only lower layers are imported")
            }
            Self::Library { name, allowed } => {
                write!(f, "`{name}` is known only to {}", allowed.join(", "))
            }
            Self::ChecksumLine => write!(f, "this is not `<32 hex digits>  <file>`"),
            Self::MigrationUnknown { file } => {
                write!(f, "no checksum yet: `cargo xtask tidy --bless-migration {file}` records it")
            }
            Self::MigrationChanged => {
                write!(f, "differs from its recorded checksum: migrations never change, write a new one")
            }
            Self::MigrationMissing { file } => write!(f, "`{file}` is recorded but gone: migrations stay"),
            Self::MigrationTwice { file } => write!(f, "`{file}` is recorded twice: keep the first line"),
            Self::RawMarkup => write!(f, "a text becomes markup here: show it as text"),
            Self::StaticStyle => {
                write!(f, "the content security policy forbids this attribute: use a class or `style:name`")
            }
            Self::Download => {
                write!(
                    f,
                    "a download address: install with `omit-lockfile-registry-resolved` and from registries only"
                )
            }
        }
    }
}
