//! Rows along a level axis: where their words stand, how high they are, and what stands under the axis.
//!
//! Leaves out the marks in them.

use super::axis::{Axis, NUMBERS, ZIGZAG};
use super::frame::Frame;
use super::mark::{Entry, KEY_LINE, Key, Mark, RADIUS, one_line, write_lines};
use crate::canvas::{Canvas, Words};
use crate::markup::plain;
use crate::picture::Tone;
use crate::text::{LINE, SMALL, width, wrapped};

/// How rows are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// Words over the track, for a narrow sheet.
    Stacked,
    /// Words left of the track.
    Beside,
    /// Likewise, each in one line, for a low sheet.
    Compact,
}

/// Words of a row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RowWords<'a> {
    pub(crate) label: &'a str,
    /// Why to look twice.
    pub(crate) note: Option<&'a str>,
    /// It counts more than the others.
    pub(crate) heavy: bool,
    /// It has no number: a hollow mark stands before its label.
    pub(crate) hollow: bool,
}

/// From the words to the track.
const GAP: f64 = 12.0;
/// Height of a track with marks in it.
const TRACK: f64 = 26.0;
/// Height of a row of one line.
const LOW: f64 = 22.0;
/// Least room of a note that is cut.
const NOTE: f64 = 6.0 * SMALL;
/// Room of a hollow mark before a label.
const HOLLOW: f64 = 22.0;

/// From the last row to the axis.
const SILL: f64 = 5.0;
/// From the last row to what stands under the axis.
pub(crate) const AXIS: f64 = SILL + NUMBERS;

/// Where rows stand on the sheet.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rows {
    pub(crate) layout: Layout,
    left: f64,
    right: f64,
    /// Width of the words.
    column: f64,
}

impl Rows {
    /// Lays rows out between the sides of a sheet; the column of words is as wide as they need, within a third of it.
    pub(crate) fn new(frame: &Frame, layout: Layout, words: &[RowWords<'_>]) -> Self {
        let (left, right) = (frame.left, frame.right);
        let most = frame.width() * if frame.width() < 560.0 { 0.3 } else { 0.36 };
        let column = match layout {
            Layout::Stacked => frame.width(),
            Layout::Beside => words.iter().map(RowWords::beside_width).fold(60.0, f64::max).min(most),
            Layout::Compact => words.iter().map(RowWords::compact_width).fold(40.0, f64::max).min(most),
        };
        Self { layout, left, right, column }
    }

    /// The layout for a sheet without a limit: on a narrow one, words longer than a third stand over their tracks.
    pub(crate) fn roomy<'a>(frame: &Frame, mut labels: impl Iterator<Item = &'a str>) -> Layout {
        let is_long = |label: &str| width(label, SMALL) > frame.width() * 0.3;
        if frame.width() < 560.0 && labels.any(is_long) { Layout::Stacked } else { Layout::Beside }
    }

    /// Returns the ends of the track.
    pub(crate) fn track(&self) -> (f64, f64) {
        match self.layout {
            Layout::Stacked => (self.left, self.right),
            Layout::Beside | Layout::Compact => (self.left + self.column + GAP, self.right),
        }
    }

    /// Returns how high a row is.
    pub(crate) fn height(&self, words: &RowWords<'_>) -> f64 {
        let lines = self.lines(words);
        let high = (lines.0.len() + lines.1.len()) as f64 * SMALL * LINE;
        match self.layout {
            // Where there is no number there is no track.
            Layout::Stacked if words.hollow => high + 8.0,
            Layout::Stacked => high + TRACK + 4.0,
            Layout::Beside => (high + 8.0).max(TRACK),
            Layout::Compact => LOW,
        }
    }

    /// Draws the lines of an axis in one track, where they do not run through.
    pub(crate) fn track_grid(&self, canvas: &mut Canvas, axis: &Axis, middle: f64) {
        if self.layout == Layout::Stacked {
            axis.grid(canvas, (middle - TRACK / 2.0, middle + TRACK / 2.0));
        }
    }

    /// Writes the words of a row and returns the middle of its track.
    pub(crate) fn draw(&self, canvas: &mut Canvas, words: &RowWords<'_>, top: f64) -> f64 {
        let (label, note) = self.lines(words);
        let indent = if words.hollow { HOLLOW } else { 0.0 };
        let style = Words { bold: words.heavy, ..Words::small("") };
        let odd = Words::small("").tone(Tone::Odd);
        let row = self.height(words);
        let high = (label.len() + note.len()) as f64 * SMALL * LINE;
        let first = match self.layout {
            Layout::Stacked => top + 2.0,
            Layout::Beside => top + (row - high) / 2.0,
            Layout::Compact => top + (row - SMALL * LINE) / 2.0,
        };
        if words.hollow {
            Mark::Hollow.draw(canvas, self.left + 9.0, first + SMALL * LINE / 2.0, RADIUS);
        }
        let after = write_lines(canvas, &label, style, self.left + indent, first);
        if self.layout == Layout::Compact {
            let taken = label.first().map_or(0.0, |line| width(line, SMALL) + 8.0);
            write_lines(canvas, &note, odd, self.left + indent + taken, first);
        } else {
            write_lines(canvas, &note, odd, self.left + indent, after);
        }
        match self.layout {
            Layout::Stacked => top + 2.0 + high + TRACK / 2.0,
            Layout::Beside | Layout::Compact => top + row / 2.0,
        }
    }

    /// The lines of a label and of its note.
    fn lines(&self, words: &RowWords<'_>) -> (Vec<String>, Vec<String>) {
        let room = self.column - if words.hollow { HOLLOW } else { 0.0 };
        let note = words.note.unwrap_or_default();
        let filled = |text: &str, room: f64, most: usize| {
            let lines = wrapped(text, SMALL, room, most);
            lines.into_iter().filter(|line| !line.is_empty()).collect::<Vec<_>>()
        };
        if self.layout != Layout::Compact {
            return (filled(words.label, room, 2), filled(note, room, 2));
        }
        // A label that has room stays whole; one that is cut anyway leaves some of it to the note. What is left of a note must tell something.
        let is_whole = note.is_empty() || width(words.label, SMALL) <= room;
        let label = one_line(words.label, SMALL, if is_whole { room } else { room * 0.55 });
        let left = room - width(&label, SMALL) - 8.0;
        let is_told = width(note, SMALL) <= left || left >= NOTE;
        let note = if is_told { filled(note, left, 1) } else { Vec::new() };
        (if label.is_empty() { Vec::new() } else { vec![label] }, note)
    }
}

impl RowWords<'_> {
    fn beside_width(&self) -> f64 {
        let indent = if self.hollow { HOLLOW } else { 0.0 };
        indent + width(self.label, SMALL).max(self.note.map_or(0.0, |note| width(note, SMALL)))
    }

    fn compact_width(&self) -> f64 {
        let indent = if self.hollow { HOLLOW } else { 0.0 };
        indent + width(self.label, SMALL) + self.note.map_or(0.0, |note| width(note, SMALL) + 8.0)
    }
}

/// What stands under a level axis, such as `axis begins at 20`, `Level difference, dBA`, `quieter →`.
pub(crate) struct Foot {
    key: Key<'static>,
    /// Which way is better, under the right end of the axis.
    right: Option<&'static str>,
}

impl Foot {
    /// Lays it out: the words of a broken axis first, beside the zigzag.
    pub(crate) fn new(
        axis: &Axis,
        name: &str,
        way: Option<&'static str>,
        frame: &Frame,
        is_low: bool,
    ) -> Self {
        let (right, left) = way.map_or((None, None), |way| {
            if way.ends_with('→') { (Some(way), None) } else { (None, Some(way)) }
        });
        let broken = axis.scale.break_words().map(|words| Entry::words(words).tone(Tone::Odd));
        let entries = broken.into_iter().chain(left.map(Entry::words)).chain([Entry::words(plain(name))]);
        let room = frame.width() - right.map_or(0.0, |right| width(right, SMALL) + 18.0);
        Self { key: Key::new(entries.collect(), room, is_low.then_some(2)), right }
    }

    /// Returns how high it is.
    pub(crate) fn height(&self) -> f64 {
        self.key.height()
    }
}

/// Draws a level axis from the upper to the lower end of its rows, before the rows themselves, and what stands below it; returns
/// the lower edge.
pub(crate) fn draw_axis(
    frame: &mut Frame,
    layout: Layout,
    axis: &Axis,
    foot: &Foot,
    rows: (f64, f64),
) -> f64 {
    // Words over a track are not crossed by lines: there each track has its own.
    let top = if layout == Layout::Stacked { rows.1 + SILL } else { rows.0 };
    axis.draw_level(&mut frame.canvas, rows.1 + SILL, top);
    let top = rows.1 + AXIS;
    let taken = foot.right.map_or(0.0, |right| width(right, SMALL) + 18.0);
    let left = (axis.from - ZIGZAG).min(frame.right - taken - foot.key.width()).max(frame.left);
    foot.key.draw(&mut frame.canvas, left, top);
    if let Some(right) = foot.right {
        frame.canvas.write(
            Words::small(right).end(),
            (axis.to + 12.0).min(frame.right).max(left + foot.key.width() + taken),
            top + KEY_LINE / 2.0,
        );
    }
    top + foot.height()
}
