//! Gains with their ranges: how they are printed, and how they are drawn where one range is far wider than the rest.
//!
//! Leaves out where they stand: charts say that.

use super::axis::{Axis, printed};
use super::frame::finite;
use super::mark::{interval_level, interval_upright, one_line};
use super::{Bound, Value};
use crate::canvas::Canvas;
use crate::markup::number;
use crate::picture::{ChartError, Tone};
use crate::text::{Area, SMALL, width};

/// Far beyond any measure; keeps differences of two numbers finite.
const FAR: f64 = 1e150;
/// A range may pass the numbers by so many of the middle range.
const MIDDLE_RANGES: f64 = 3.0;
/// A range may pass the numbers by this part of what they span.
const OF_SPAN: f64 = 0.6;

/// How gains of one chart are printed: all with the same decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Print {
    decimals: usize,
    /// Numbers that are no changes have no plus.
    unsigned: bool,
}

impl Print {
    /// Takes decimals by the largest of the numbers.
    pub(crate) fn of(values: impl IntoIterator<Item = f64>) -> Self {
        let largest = values.into_iter().map(f64::abs).fold(0.0, f64::max);
        let decimals = match largest {
            large if large >= 1000.0 => 0,
            large if large >= 1.0 || large == 0.0 => 1,
            large if large >= 0.1 => 2,
            _ => 3,
        };
        Self { decimals, unsigned: false }
    }

    /// Prints numbers that are no changes: without a plus.
    pub(crate) fn unsigned(self) -> Self {
        Self { unsigned: true, ..self }
    }

    /// Prints a number as it is.
    pub(crate) fn plain(self, value: f64) -> String {
        printed(value, self.decimals)
    }

    /// Prints a gain with its sign.
    pub(crate) fn signed(self, value: f64) -> String {
        let text = self.plain(value);
        let is_zero = !text.contains(|letter: char| ('1'..='9').contains(&letter));
        if self.unsigned || text.starts_with('-') || is_zero { text } else { format!("+{text}") }
    }

    /// Prints a range, `10.1 to 12.3`.
    pub(crate) fn range(self, (from, to): (f64, f64)) -> String {
        format!("{} to {}", self.plain(from), self.plain(to))
    }

    /// Prints what is likely of a number with this bound: `10.1 to 12.3`; of a bound only the end that bounds, `over 10.1`.
    pub(crate) fn likely(self, interval: (f64, f64), bound: Bound) -> String {
        match bound {
            Bound::Exact => self.range(interval),
            Bound::AtLeast => format!("over {}", self.plain(interval.0.min(interval.1))),
            Bound::AtMost => format!("under {}", self.plain(interval.0.max(interval.1))),
        }
    }

    /// Prints a gain with its bound and range, `at least +3.7` or `+11.2, 10.1 to 12.3`.
    pub(crate) fn value(self, value: Value) -> String {
        let gain = format!("{}{}", value.bound.words(), self.signed(value.value));
        match (value.interval, value.bound) {
            (Some(interval), bound) => format!("{gain}, {}", self.likely(interval, bound)),
            (None, Bound::Exact) => format!("{gain}, no range"),
            (None, _) => gain,
        }
    }
}

/// Refuses a value that is none.
///
/// # Errors
/// [`ChartError::NotFinite`], with what it is.
pub(crate) fn check(value: Value, what: &str) -> Result<(), ChartError> {
    finite(value.value, || what.to_owned())?;
    let (from, to) = value.interval.unwrap_or_default();
    finite(from, || format!("the range of {what}"))?;
    finite(to, || format!("the range of {what}"))
}

/// Returns all that an axis has to hold, zero included, for a scale: numbers, and ranges as far as they do not press the rest
/// together.
pub(crate) fn reach(values: &[f64], ranges: &[(f64, f64)]) -> Vec<f64> {
    let values: Vec<f64> = values.iter().chain(&[0.0]).map(|value| value.clamp(-FAR, FAR)).collect();
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut wide: Vec<f64> =
        ranges.iter().map(|range| (range.1.clamp(-FAR, FAR) - range.0.clamp(-FAR, FAR)).abs()).collect();
    wide.sort_by(f64::total_cmp);
    let middle = wide.get(wide.len().saturating_sub(1) / 2).copied().unwrap_or(0.0);
    let beyond = (MIDDLE_RANGES * middle).max(OF_SPAN * (high - low));
    let ends = ranges.iter().flat_map(|range| [range.0, range.1]);
    let ends: Vec<f64> = ends.map(|end| end.clamp(low - beyond, high + beyond)).collect();
    values.into_iter().chain(ends).collect()
}

/// Whether a range leaves an axis.
pub(crate) fn leaves(axis: &Axis, (from, to): (f64, f64)) -> bool {
    let slop = axis.scale.step * 1e-6;
    from.min(to) < axis.scale.low - slop || from.max(to) > axis.scale.high + slop
}

/// Draws a range level; an end beyond the axis is an arrow at its end.
pub(crate) fn range_level(canvas: &mut Canvas, axis: &Axis, range: (f64, f64), y: f64, tone: Tone) {
    let (from, to) = (axis.at(range.0), axis.at(range.1));
    if !leaves(axis, range) {
        return interval_level(canvas, (from, to), y, tone);
    }
    canvas.trace(&[(from, y), (to, y)], tone, 1.8);
    for (end, x) in [(range.0, from), (range.1, to)] {
        match beyond(axis, end) {
            None => canvas.trace(&[(x, y - 5.0), (x, y + 5.0)], tone, 1.8),
            Some(way) => {
                let tip = x + 6.0 * way;
                canvas.trace(&[(tip - 7.0 * way, y - 4.5), (tip, y), (tip - 7.0 * way, y + 4.5)], tone, 1.8);
                canvas.trace(&[(x, y), (tip, y)], tone, 1.8);
            }
        }
    }
    let left = from.min(to) - 6.0;
    canvas.keep(Area { left, top: y - 5.0, width: (from - to).abs() + 12.0, height: 10.0 });
}

/// Draws a range upright; an end beyond the axis is an arrow at its end.
pub(crate) fn range_upright(canvas: &mut Canvas, axis: &Axis, x: f64, range: (f64, f64), tone: Tone) {
    let (from, to) = (axis.at(range.0), axis.at(range.1));
    if !leaves(axis, range) {
        return interval_upright(canvas, x, (from, to), tone);
    }
    canvas.trace(&[(x, from), (x, to)], tone, 1.8);
    for (end, y) in [(range.0, from), (range.1, to)] {
        match beyond(axis, end) {
            None => canvas.trace(&[(x - 5.0, y), (x + 5.0, y)], tone, 1.8),
            Some(way) => {
                let tip = y - 6.0 * way;
                canvas.trace(&[(x - 4.5, tip + 7.0 * way), (x, tip), (x + 4.5, tip + 7.0 * way)], tone, 1.8);
                canvas.trace(&[(x, y), (x, tip)], tone, 1.8);
            }
        }
    }
    let top = from.min(to) - 6.0;
    canvas.keep(Area { left: x - 5.0, top, width: 10.0, height: (from - to).abs() + 12.0 });
}

/// Which way an end is beyond the axis.
fn beyond(axis: &Axis, end: f64) -> Option<f64> {
    let slop = axis.scale.step * 1e-6;
    match end {
        end if end > axis.scale.high + slop => Some(1.0),
        end if end < axis.scale.low - slop => Some(-1.0),
        _ => None,
    }
}

/// Names what an axis shows in one line: what it is gives way before its unit and what follows.
pub(crate) fn axis_title(quantity: &str, tail: &str, room: f64) -> String {
    let rest = room - width(tail, SMALL);
    if rest < 4.0 * SMALL {
        return one_line(tail.trim_start_matches([',', ' ']), SMALL, room);
    }
    format!("{}{tail}", one_line(quantity, SMALL, rest))
}

/// Draws a line in dashes.
pub(crate) fn dashed(canvas: &mut Canvas, points: &[(f64, f64)], (tone, wide): (Tone, f64), dashes: &str) {
    let place = |(index, &(x, y)): (usize, &(f64, f64))| {
        format!("{}{} {}", if index == 0 { 'M' } else { 'L' }, number(x), number(y))
    };
    let d: String = points.iter().enumerate().map(place).collect();
    canvas.shape(
        "path",
        &[
            ("d", d.as_str().into()),
            ("fill", "none".into()),
            ("stroke", tone.into()),
            ("stroke-width", wide.into()),
            ("stroke-dasharray", dashes.into()),
        ],
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gains_are_printed_with_sign_and_range() {
        let print = Print::of([11.2, -3.0]);
        let value = |value, interval, bound| print.value(Value { value, interval, bound });
        assert_eq!(value(11.2, Some((10.1, 12.3)), Bound::Exact), "+11.2, 10.1 to 12.3");
        assert_eq!(value(-1.0, None, Bound::Exact), "-1.0, no range");
        assert_eq!(value(3.7, None, Bound::AtLeast), "at least +3.7");
        assert_eq!(value(12.4, Some((11.2, 13.6)), Bound::AtLeast), "at least +12.4, over 11.2");
        assert_eq!(value(-2.0, Some((-3.1, -0.9)), Bound::AtMost), "at most -2.0, under -0.9");
        assert_eq!(print.signed(0.04), "0.0");
        assert_eq!(Print::of([0.25]).signed(0.25), "+0.25");
        assert_eq!(Print::of([2500.0]).plain(2500.0), "2500");
    }

    #[test]
    fn a_unit_stays_when_words_are_cut() {
        assert_eq!(axis_title("Level difference", ", dB", 400.0), "Level difference, dB");
        assert_eq!(axis_title("Level difference", ", dB", 100.0), "Level…, dB");
        assert_eq!(axis_title("Level difference", ", dB", 50.0), "dB");
    }

    /// By hand: the middle range is 2 wide, so ends may pass 0 to 10 by 6.
    #[test]
    fn one_wide_range_does_not_press_the_rest_together() {
        let ends = reach(&[5.0, 6.0, 10.0], &[(4.0, 6.0), (5.0, 7.0), (-500.0, 520.0)]);
        assert_eq!(ends.iter().copied().fold(0.0, f64::min), -6.0);
        assert_eq!(ends.iter().copied().fold(0.0, f64::max), 16.0);
        let alone = reach(&[5.0], &[(-500.0, 520.0)]);
        assert_eq!(alone.iter().copied().fold(0.0, f64::max), 520.0);
    }
}
