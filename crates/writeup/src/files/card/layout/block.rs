//! Paragraphs with their sizes, and paragraphs below each other.
//!
//! Leaves out where they stand.

use storypole_drawing::Tone;

use crate::files::card::fit::Lines;

/// What stands beside a paragraph.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Mark {
    None,
    /// A small square before its first line.
    Point,
    /// A bar along all of it.
    Bar,
}

impl Mark {
    /// How far a marked paragraph is moved in, in ems.
    pub(super) fn indent(self) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Point => 0.7,
            Self::Bar => 0.65,
        }
    }
}

/// A paragraph with its size.
#[derive(Debug, Clone)]
pub(super) struct Block {
    pub(super) lines: Lines,
    pub(super) size: f64,
    pub(super) tone: Tone,
    /// Empty above it, unless it is the first.
    pub(super) gap: f64,
    pub(super) mark: Mark,
}

impl Block {
    /// `None` where there is no line.
    pub(super) fn new(lines: Lines, size: f64, tone: Tone, gap: f64, mark: Mark) -> Option<Self> {
        (!lines.lines.is_empty()).then_some(Self { lines, size, tone, gap, mark })
    }

    pub(super) fn height(&self) -> f64 {
        self.lines.height() * self.size
    }
}

/// Paragraphs below each other.
#[derive(Debug, Clone, Default)]
pub(super) struct Stack {
    pub(super) blocks: Vec<Block>,
}

impl Stack {
    pub(super) fn is_empty(&self) -> bool {
        self.blocks.is_empty()
    }

    pub(super) fn height(&self) -> f64 {
        let gaps: f64 = self.blocks.iter().skip(1).map(|block| block.gap).sum();
        gaps + self.blocks.iter().map(Block::height).sum::<f64>()
    }

    /// What it takes with the gap before it; nothing where it is empty.
    pub(super) fn height_with(&self, gap: f64) -> f64 {
        if self.is_empty() { 0.0 } else { self.height() + gap }
    }

    pub(super) fn is_shortened(&self) -> bool {
        self.blocks.iter().any(|block| block.lines.shortened)
    }
}

/// The height of the highest of some stacks that stand side by side.
pub(super) fn highest(stacks: &[Stack]) -> f64 {
    stacks.iter().map(Stack::height).fold(0.0, f64::max)
}
