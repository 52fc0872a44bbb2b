//! What a step added: an arrow from stage to stage with its words.
//!
//! Leaves out the stages themselves.

use super::Stages;
use crate::canvas::{Canvas, Words};
use crate::chart::axis::Axis;
use crate::markup::plain;
use crate::picture::Tone;
use crate::text::{Area, LINE, SMALL, width, wrapped};

/// Height of the arrow's line.
const ARROW_LINE: f64 = 20.0;

/// What stands between two stages.
#[derive(Debug)]
pub(super) struct Step {
    pub(super) height: f64,
    /// From the number before to the number after.
    arrow: Option<(f64, f64)>,
    lines: Vec<String>,
    left: f64,
    /// The words stand below the arrow, not beside it.
    below: bool,
}

impl Step {
    /// Nothing between two stages.
    pub(super) fn none() -> Self {
        Self { height: 0.0, arrow: None, lines: Vec::new(), left: 0.0, below: false }
    }

    /// Plans what stands over a stage, within the sides of the track: words right of the arrow, left of it, or below it.
    pub(super) fn plan(chart: &Stages, index: usize, axis: &Axis, (left, right): (f64, f64)) -> Self {
        let row = &chart.rows[index];
        let text = row.step.as_deref().map(plain).unwrap_or_default();
        if text.is_empty() {
            return Self::none();
        }
        let before = chart.rows[..index].iter().rev().find_map(|row| row.value);
        let arrow = before.zip(row.value).map(|(from, to)| (axis.at(from.value), axis.at(to.value)));
        let long = width(&text, SMALL);
        let (low, high) = arrow.map_or((axis.from, axis.from), |(from, to)| (from.min(to), from.max(to)));
        let beside =
            |at: f64| Self { height: ARROW_LINE, arrow, lines: vec![text.clone()], left: at, below: false };
        if high + 10.0 + long <= right {
            return beside(high + 10.0);
        }
        if low - 10.0 - long >= left {
            return beside(low - 10.0 - long);
        }
        let lines = wrapped(&text, SMALL, right - left, 3);
        let widest = lines.iter().map(|line| width(line, SMALL)).fold(0.0, f64::max);
        let height = ARROW_LINE + lines.len() as f64 * SMALL * LINE;
        Self { height, arrow, lines, left: low.min(right - widest).max(left), below: true }
    }

    /// Draws it below `top`.
    pub(super) fn draw(&self, canvas: &mut Canvas, top: f64) {
        let y = top + ARROW_LINE / 2.0;
        if let Some((from, to)) = self.arrow {
            let way = if to >= from { 1.0 } else { -1.0 };
            canvas.trace(&[(from, y - 7.0), (from, y), (to, y)], Tone::Soft, 1.4);
            let head = to - way * 6.0;
            if (to - from).abs() > 6.0 {
                canvas.trace(&[(head, y - 4.0), (to, y), (head, y + 4.0)], Tone::Soft, 1.4);
            }
            canvas.keep(Area { left: from.min(to), top: y - 6.0, width: (to - from).abs(), height: 12.0 });
        }
        let first = if self.below { top + ARROW_LINE + SMALL * LINE / 2.0 } else { y };
        for (line, y) in self.lines.iter().zip((0..).map(|index| first + f64::from(index) * SMALL * LINE)) {
            canvas.write(Words::small(line).bold(), self.left, y);
        }
    }
}
