//! What is round every chart: how much room there is, the heading with the finding below it, and the end of the sheet.
//!
//! Leaves out the chart itself.

use super::mark::write_lines;
use crate::canvas::{Canvas, MARGIN, Words};
use crate::markup::plain;
use crate::picture::{ChartError, Look, Picture, Room};
use crate::text::{HEADING, LINE, SMALL, wrapped};

/// A sheet with its heading.
#[derive(Debug)]
pub(crate) struct Frame {
    pub(crate) canvas: Canvas,
    /// Left end of what may be drawn on.
    pub(crate) left: f64,
    /// Right end of it.
    pub(crate) right: f64,
    /// Where the chart begins, below the heading.
    pub(crate) top: f64,
    /// Where it has to end; `None` where there is all the room it needs.
    pub(crate) limit: Option<f64>,
    margin: f64,
}

impl Frame {
    /// Lays a sheet out and writes the heading; an empty text takes no room.
    ///
    /// # Errors
    /// [`ChartError::NoRoom`].
    pub(crate) fn begin(title: &str, finding: &str, room: Room) -> Result<Self, ChartError> {
        let wide_enough = room.width.is_finite() && room.width >= Room::LEAST_WIDTH;
        let high_enough = room.height.is_none_or(|height| height >= Room::LEAST_HEIGHT);
        if !wide_enough || !high_enough {
            return Err(ChartError::NoRoom);
        }
        let is_low = room.height.is_some_and(|height| height < 320.0);
        let margin = if room.width < 600.0 || is_low { 12.0 } else { MARGIN };
        let mut canvas = Canvas::new(room.width);
        let (left, right) = (margin, room.width - margin);
        // A sixth of a low sheet for the title, an eighth for the finding: the chart keeps most of it.
        let part = |share: f64, line: f64, most: usize| {
            room.height.map_or(most, |height| ((height * share / line) as usize).clamp(1, most))
        };
        let mut top = margin;
        if !plain(title).is_empty() {
            let lines = wrapped(title, HEADING, right - left, part(1.0 / 6.0, HEADING * LINE, 3));
            top = write_lines(&mut canvas, &lines, Words::small("").size(HEADING).bold(), left, top);
        }
        if !plain(finding).is_empty() {
            let lines = wrapped(finding, SMALL, right - left, part(1.0 / 8.0, SMALL * LINE, 8));
            top = write_lines(&mut canvas, &lines, Words::small(""), left, top + 2.0);
        }
        if top > margin {
            top += 8.0;
        }
        // Sheets end on whole units.
        let limit = room.height.map(|height| height.floor() - margin);
        Ok(Self { canvas, left, right, top, limit, margin })
    }

    /// Returns how wide the chart may be.
    pub(crate) fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Returns how high it may be.
    pub(crate) fn room(&self) -> f64 {
        self.limit.map_or(f64::INFINITY, |limit| limit - self.top)
    }

    /// Ends the sheet below `bottom`.
    pub(crate) fn finish(self, title: &str, alt: &str, bottom: f64, look: Look) -> Picture {
        // The canvas adds the margin of a sheet.
        self.canvas.finish(title, alt, bottom + self.margin - MARGIN, look)
    }
}

/// Refuses a number that is none.
///
/// # Errors
/// [`ChartError::NotFinite`], with what it is.
pub(crate) fn finite(value: f64, what: impl FnOnce() -> String) -> Result<(), ChartError> {
    if value.is_finite() { Ok(()) } else { Err(ChartError::NotFinite { what: what() }) }
}

/// Joins the finding and the numbers of a chart for whoever cannot see it.
pub(crate) fn told(finding: &str, numbers: &str) -> String {
    let finding = plain(finding);
    let end = if finding.is_empty() || finding.ends_with(['.', '!', '?']) { "" } else { "." };
    plain(&format!("{finding}{end} {numbers}"))
}

/// Writes a small count as a word.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    let words = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    let noun = if count == 1 { one } else { many };
    words.get(count).map_or_else(|| format!("{count} {noun}"), |word| format!("{word} {noun}"))
}

/// Cuts a name for a list read aloud.
pub(crate) fn short(name: &str) -> String {
    let name = plain(name);
    if name.chars().count() <= 60 {
        return name;
    }
    let cut: String = name.chars().take(59).collect();
    format!("{}…", cut.trim_end())
}
