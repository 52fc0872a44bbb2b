//! What both drawings of walls share in a narrow room: how much of them fits, the heading, the numbered list below the drawing.
//!
//! Leaves out what is drawn to scale.

use crate::canvas::{Canvas, MARGIN, Words};
use crate::picture::{ChartError, Room};
use crate::text::{HEADING, LINE, SMALL, wrapped};

/// Stands where the list was left out.
pub(crate) const NO_LIST: &str = "The list of sizes stands with the write-up.";
/// The most lines of one entry.
const ENTRY_LINES: usize = 4;
/// From the number to its words.
const INDENT: f64 = 34.0;

/// How much is shown, from everything to the drawing alone: text never shrinks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shown {
    All,
    /// The drawing and its list, without notes.
    List,
    /// The drawing and its scale.
    Scale,
    /// The drawing.
    Alone,
}

impl Shown {
    pub(crate) const DOWN: [Self; 4] = [Self::All, Self::List, Self::Scale, Self::Alone];

    pub(crate) fn list(self) -> bool {
        matches!(self, Self::All | Self::List)
    }

    pub(crate) fn notes(self) -> bool {
        self == Self::All
    }

    pub(crate) fn scale(self) -> bool {
        self != Self::Alone
    }

    /// Lines of the heading.
    pub(crate) fn heading_lines(self) -> usize {
        if self == Self::Alone { 1 } else { 3 }
    }
}

/// An entry of the list below a drawing.
#[derive(Debug, Clone)]
pub(crate) struct Entry {
    number: String,
    lines: Vec<String>,
}

impl Entry {
    pub(crate) fn new(number: String, text: &str, wide: f64) -> Self {
        Self { number, lines: wrapped(text, SMALL, wide - 2.0 * MARGIN - INDENT, ENTRY_LINES) }
    }
}

/// Refuses a room that is too small.
pub(crate) fn check(room: Room) -> Result<(), ChartError> {
    let low = room.height.is_some_and(|height| height.is_nan() || height < Room::LEAST_HEIGHT);
    if room.width.is_nan() || room.width < Room::LEAST_WIDTH || low {
        return Err(ChartError::NoRoom);
    }
    Ok(())
}

/// Writes a heading and returns where the sheet goes on.
pub(crate) fn heading(canvas: &mut Canvas, title: &str, most: usize) -> f64 {
    let mut y = MARGIN + HEADING / 2.0;
    for line in wrapped(title, HEADING, canvas.width - 2.0 * MARGIN, most) {
        canvas.write(Words::small(&line).size(HEADING).bold(), MARGIN, y);
        y += HEADING * LINE;
    }
    y
}

/// Writes a list, its first line at `y`, and returns where the sheet goes on.
pub(crate) fn list(canvas: &mut Canvas, entries: &[Entry], mut y: f64) -> f64 {
    for entry in entries {
        canvas.write(Words::small(&entry.number).bold(), MARGIN, y);
        for line in &entry.lines {
            canvas.write(Words::small(line), MARGIN + INDENT, y);
            y += SMALL * LINE;
        }
        y += 3.0;
    }
    y
}
