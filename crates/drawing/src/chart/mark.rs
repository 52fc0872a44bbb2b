//! Marks of measured numbers: shapes that are told apart without colour, intervals, arrows of bounds, and the key that names them.
//!
//! Leaves out where they stand: axes say that.

use super::Bound;
use crate::canvas::{Canvas, Words};
use crate::picture::Tone;
use crate::text::{Area, LINE, SMALL, width, wrapped};

/// A shape that stands for a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// Measured before: a hollow square.
    Before,
    /// Measured after, or the only state: a filled dot.
    After,
    /// Not claimed, or out of results: a hollow diamond.
    Hollow,
    /// An average of several results: a filled diamond.
    Average,
}

/// Half of a mark's width.
pub(crate) const RADIUS: f64 = 5.0;
/// Half of a mark's width in a row that counts more than others.
pub(crate) const LARGE: f64 = 7.0;
/// How far the arrow of a bound reaches from the middle of its mark.
pub(crate) const ARROW: f64 = 24.0;

impl Mark {
    /// Draws it and keeps words away from it.
    pub(crate) fn draw(self, canvas: &mut Canvas, x: f64, y: f64, radius: f64) {
        let side = radius * 0.88;
        match self {
            Self::Before => {
                let corners =
                    [(x - side, y - side), (x + side, y - side), (x + side, y + side), (x - side, y + side)];
                canvas.closed(&corners, Tone::Paper, Tone::Before, 2.0);
            }
            Self::After => canvas.shape(
                "circle",
                &[("cx", x.into()), ("cy", y.into()), ("r", radius.into()), ("fill", Tone::After.into())],
            ),
            Self::Hollow | Self::Average => {
                let reach = radius * 1.25;
                let corners = [(x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y)];
                let (fill, outline) = match self {
                    Self::Average => (Tone::After, Tone::After),
                    _ => (Tone::Paper, Tone::Odd),
                };
                canvas.closed(&corners, fill, outline, 2.0);
            }
        }
        let reach = radius + 2.0;
        canvas.keep(Area { left: x - reach, top: y - reach, width: 2.0 * reach, height: 2.0 * reach });
    }
}

impl Bound {
    /// Returns the words that stand before its number, with a space; nothing where it is exact.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Exact => "",
            Self::AtLeast => "at least ",
            Self::AtMost => "at most ",
        }
    }

    /// Draws its arrow along a level axis, from the middle of a mark at `x`.
    pub(crate) fn draw_level(self, canvas: &mut Canvas, x: f64, y: f64) {
        let Some(way) = self.way() else { return };
        let (end, head) = (x + way * ARROW, x + way * (ARROW - 7.0));
        canvas.trace(&[(x, y), (end, y)], Tone::Odd, 2.0);
        canvas.trace(&[(head, y - 4.5), (end, y), (head, y + 4.5)], Tone::Odd, 2.0);
        canvas.keep(Area { left: x.min(end), top: y - 5.0, width: ARROW, height: 10.0 });
    }

    /// Draws its arrow along an upright axis, whose numbers rise upward.
    pub(crate) fn draw_upright(self, canvas: &mut Canvas, x: f64, y: f64) {
        let Some(way) = self.way() else { return };
        let (end, head) = (y - way * ARROW, y - way * (ARROW - 7.0));
        canvas.trace(&[(x, y), (x, end)], Tone::Odd, 2.0);
        canvas.trace(&[(x - 4.5, head), (x, end), (x + 4.5, head)], Tone::Odd, 2.0);
        canvas.keep(Area { left: x - 5.0, top: y.min(end), width: 10.0, height: ARROW });
    }

    fn way(self) -> Option<f64> {
        match self {
            Self::Exact => None,
            Self::AtLeast => Some(1.0),
            Self::AtMost => Some(-1.0),
        }
    }
}

/// Draws an interval level, with a cap at each end.
pub(crate) fn interval_level(canvas: &mut Canvas, (from, to): (f64, f64), y: f64, tone: Tone) {
    canvas.trace(&[(from, y), (to, y)], tone, 1.8);
    for x in [from, to] {
        canvas.trace(&[(x, y - 5.0), (x, y + 5.0)], tone, 1.8);
    }
    canvas.keep(Area {
        left: from.min(to) - 1.0,
        top: y - 5.0,
        width: (to - from).abs() + 2.0,
        height: 10.0,
    });
}

/// Draws an interval upright, with a cap at each end.
pub(crate) fn interval_upright(canvas: &mut Canvas, x: f64, (from, to): (f64, f64), tone: Tone) {
    canvas.trace(&[(x, from), (x, to)], tone, 1.8);
    for y in [from, to] {
        canvas.trace(&[(x - 5.0, y), (x + 5.0, y)], tone, 1.8);
    }
    canvas.keep(Area {
        left: x - 5.0,
        top: from.min(to) - 1.0,
        width: 10.0,
        height: (to - from).abs() + 2.0,
    });
}

/// Draws a shape of a key with its middle at a point, within 26 by 14 units.
pub(crate) type Sample<'a> = Box<dyn Fn(&mut Canvas, f64, f64) + 'a>;

/// A shape and what it stands for, or words alone.
pub(crate) struct Entry<'a> {
    sample: Option<Sample<'a>>,
    text: String,
    tone: Tone,
}

/// Room that a shape of a key takes, the gap to its words included.
const SAMPLE: f64 = 32.0;
/// Between entries.
const GAP: f64 = 18.0;
/// From line to line of a key.
pub(crate) const KEY_LINE: f64 = 18.0;

impl<'a> Entry<'a> {
    /// A mark by its name.
    pub(crate) fn mark(mark: Mark, text: impl Into<String>) -> Self {
        Self::sample(text, move |canvas, x, y| mark.draw(canvas, x, y, RADIUS))
    }

    /// Any shape by its name.
    pub(crate) fn sample(text: impl Into<String>, draw: impl Fn(&mut Canvas, f64, f64) + 'a) -> Self {
        Self { sample: Some(Box::new(draw)), text: text.into(), tone: Tone::Ink }
    }

    /// The interval.
    pub(crate) fn interval(text: impl Into<String>) -> Self {
        Self::sample(text, |canvas, x, y| interval_level(canvas, (x - 12.0, x + 12.0), y, Tone::After))
    }

    /// Words alone.
    pub(crate) fn words(text: impl Into<String>) -> Self {
        Self { sample: None, text: text.into(), tone: Tone::Ink }
    }

    /// In another tone.
    pub(crate) fn tone(self, tone: Tone) -> Self {
        Self { tone, ..self }
    }

    fn width(&self) -> f64 {
        self.shape_width() + width(&self.text, SMALL)
    }

    fn shape_width(&self) -> f64 {
        if self.sample.is_some() { SAMPLE } else { 0.0 }
    }
}

/// Entries laid out in lines.
pub(crate) struct Key<'a> {
    lines: Vec<Vec<Entry<'a>>>,
}

impl<'a> Key<'a> {
    /// Lays entries out in a width: as many lines as they need, or at most so many, where words are cut.
    pub(crate) fn new(entries: Vec<Entry<'a>>, room: f64, most: Option<usize>) -> Self {
        let entries: Vec<_> = entries.into_iter().map(|entry| cut(entry, room)).collect();
        let lines = Self::flow(entries, room);
        match most {
            Some(most) if lines.len() > most => {
                let entries: Vec<_> = lines.into_iter().flatten().collect();
                let each = entries.len().div_ceil(most.max(1)) as f64;
                let share = ((room + GAP) / each - GAP).max(SAMPLE + 2.0 * SMALL);
                let mut lines =
                    Self::flow(entries.into_iter().map(|entry| cut(entry, share)).collect(), room);
                lines.truncate(most);
                Self { lines }
            }
            _ => Self { lines },
        }
    }

    fn flow(entries: Vec<Entry<'a>>, room: f64) -> Vec<Vec<Entry<'a>>> {
        let mut lines: Vec<Vec<Entry<'a>>> = Vec::new();
        let mut taken = f64::INFINITY;
        for entry in entries {
            let wide = entry.width();
            match lines.last_mut() {
                Some(line) if taken + GAP + wide <= room + 1e-6 => {
                    taken += GAP + wide;
                    line.push(entry);
                }
                _ => {
                    taken = wide;
                    lines.push(vec![entry]);
                }
            }
        }
        lines
    }

    /// Returns how high it is.
    pub(crate) fn height(&self) -> f64 {
        self.lines.len() as f64 * KEY_LINE
    }

    /// Returns how wide its widest line is.
    pub(crate) fn width(&self) -> f64 {
        let wide = |line: &Vec<Entry<'_>>| line.iter().map(|entry| entry.width() + GAP).sum::<f64>() - GAP;
        self.lines.iter().map(wide).fold(0.0, f64::max)
    }

    /// Draws it from its upper left corner.
    pub(crate) fn draw(&self, canvas: &mut Canvas, left: f64, top: f64) {
        for (line, y) in self.lines.iter().zip((0..).map(|index| top + (f64::from(index) + 0.5) * KEY_LINE)) {
            let mut x = left;
            for entry in line {
                if let Some(sample) = &entry.sample {
                    sample(canvas, x + 13.0, y);
                }
                canvas.write(Words::small(&entry.text).tone(entry.tone), x + entry.shape_width(), y);
                x += entry.width() + GAP;
            }
        }
    }
}

fn cut(entry: Entry<'_>, room: f64) -> Entry<'_> {
    let text = one_line(&entry.text, SMALL, room - entry.shape_width());
    Entry { text, ..entry }
}

/// Returns a text as one line, cut with "…" where it is too long.
pub(crate) fn one_line(text: &str, size: f64, room: f64) -> String {
    wrapped(text, size, room, 1).into_iter().next().unwrap_or_default()
}

/// Writes a paragraph in lines no wider than `room` from its upper left corner, and returns its lower edge.
pub(crate) fn write_lines(
    canvas: &mut Canvas,
    lines: &[String],
    words: Words<'_>,
    left: f64,
    top: f64,
) -> f64 {
    let high = words.size * LINE;
    for (line, y) in lines.iter().zip((0..).map(|index| top + (f64::from(index) + 0.5) * high)) {
        canvas.write(Words { text: line, ..words }, left, y);
    }
    top + lines.len() as f64 * high
}
