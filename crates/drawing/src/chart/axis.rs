//! Scales and axes: round numbers, an honest beginning, and the mark where an axis is broken.
//!
//! A scale begins at zero. Where zero would press what matters into less than a third of the axis, it begins elsewhere, and the
//! axis says so by a zigzag and in words. Leaves out what is drawn along an axis.

use crate::canvas::{Canvas, Words};
use crate::picture::Tone;
use crate::text::{Area, SMALL, width};

/// What is pressed into less than this part of an axis is drawn on a broken one.
const SQUEEZED: f64 = 1.0 / 3.0;
/// A broken axis spans at least this part of its greatest number, so that next to nothing does not look like much.
const LEAST_SPAN: f64 = 1.0 / 8.0;
/// How far the zigzag reaches from the end of an axis.
pub(crate) const ZIGZAG: f64 = 16.0;
/// From a level axis down to the lower edge of its numbers.
pub(crate) const NUMBERS: f64 = 24.0;

/// Where a scale stands to zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Break {
    /// Zero is on it.
    None,
    /// It begins over zero.
    Begins,
    /// It ends under zero.
    Ends,
}

/// A run of round numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    /// The least number.
    pub(crate) low: f64,
    /// The greatest number.
    pub(crate) high: f64,
    /// From number to number.
    pub(crate) step: f64,
    /// Where it stands to zero.
    pub(crate) broken: Break,
}

impl Scale {
    /// Scales a level axis of a length so that its numbers do not meet.
    pub(crate) fn level(values: impl IntoIterator<Item = f64>, length: f64) -> Self {
        let range = Range::of(values);
        Self::fitting(length, 56.0, |scale, step| scale.widest_label() + 12.0 <= step, range)
    }

    /// Scales an upright axis of a length likewise.
    pub(crate) fn upright(values: impl IntoIterator<Item = f64>, length: f64) -> Self {
        Self::fitting(length, 36.0, |_, step| step >= SMALL * 1.5, Range::of(values))
    }

    fn fitting(length: f64, ideal: f64, fits: impl Fn(&Self, f64) -> bool, range: Range) -> Self {
        let mut most = (length / ideal).clamp(1.0, 10.0).floor();
        loop {
            let scale = Self::honest(range, most);
            if most <= 1.0 || fits(&scale, length * scale.step / (scale.high - scale.low)) {
                return scale;
            }
            most -= 1.0;
        }
    }

    fn honest(range: Range, most: f64) -> Self {
        let Range { low, high } = range;
        let whole = Self::nice(low.min(0.0), high.max(0.0), most);
        let over_zero = low > 0.0 || high < 0.0;
        let squeezed = high - low < (whole.high - whole.low) * SQUEEZED;
        if !over_zero || !squeezed || low >= high {
            return whole;
        }
        let far = low.abs().max(high.abs());
        let more = ((far * LEAST_SPAN - (high - low)) / 2.0).max(0.0);
        // Few steps: what is least then seldom stands at the very break.
        let part = Self::nice(low - more, high + more, most.min(5.0));
        let broken = if low > 0.0 { Break::Begins } else { Break::Ends };
        let reaches_zero = part.low <= 0.0 && part.high >= 0.0;
        if reaches_zero { whole } else { Self { broken, ..part } }
    }

    /// Lays round numbers around a range, with at most `most` steps unless one round step cannot hold it.
    ///
    /// # Source
    /// Steps of 1, 2 and 5 times a power of ten, ends on whole steps: P. S. Heckbert, "Nice Numbers for Graph Labels", Graphics
    /// Gems, 1990 (from memory).
    fn nice(low: f64, high: f64, most: f64) -> Self {
        let high = if high - low < 1e-6 { low + 1.0 } else { high };
        let rough = (high - low) / most.max(1.0);
        let mut power = 10f64.powf(rough.log10().floor());
        let fraction = rough / power;
        let steps = [1.0, 2.0, 5.0];
        let mut at = [1.5, 3.0, 7.0].iter().position(|&edge| fraction < edge).unwrap_or(3);
        loop {
            if at == steps.len() {
                (at, power) = (0, power * 10.0);
            }
            let step = steps[at] * power;
            let (first, last) = ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil());
            // Two steps always hold a range across a round number; larger ones would not make them fewer.
            if last - first <= most.max(2.0) {
                return Self { low: first * step, high: last * step, step, broken: Break::None };
            }
            at += 1;
        }
    }

    /// Scales an axis that ends where its numbers end, such as time, with round numbers on it.
    pub(crate) fn within(high: f64, length: f64, widest: f64) -> Self {
        let mut most = (length / 56.0).clamp(1.0, 10.0).floor();
        loop {
            let scale = Self { high, ..Self::nice(0.0, high, most) };
            if most <= 1.0 || length * scale.step / high >= widest + 12.0 {
                return scale;
            }
            most -= 1.0;
        }
    }

    /// A scale with given ends.
    pub(crate) fn fixed(low: f64, high: f64, step: f64) -> Self {
        Self { low, high, step, broken: Break::None }
    }

    /// Returns its numbers, rising.
    pub(crate) fn ticks(&self) -> Vec<f64> {
        let count = ((self.high - self.low) / self.step + 1e-6).floor().clamp(0.0, 100.0) as u32;
        let first = (self.low / self.step).round();
        (0..=count).map(|index| (first + f64::from(index)) * self.step).collect()
    }

    /// Prints one of its numbers.
    pub(crate) fn label(&self, value: f64) -> String {
        printed(value, (-(self.step * 1.000_001).log10().floor()).clamp(0.0, 6.0) as usize)
    }

    /// Says that it is broken, `axis begins at 40`.
    pub(crate) fn break_words(&self) -> Option<String> {
        match self.broken {
            Break::None => None,
            Break::Begins => Some(format!("axis begins at {}", self.label(self.low))),
            Break::Ends => Some(format!("axis ends at {}", self.label(self.high))),
        }
    }

    /// Returns how wide its widest number is.
    pub(crate) fn widest_label(&self) -> f64 {
        self.ticks().iter().map(|&tick| width(&self.label(tick), SMALL)).fold(0.0, f64::max)
    }
}

#[derive(Debug, Clone, Copy)]
struct Range {
    low: f64,
    high: f64,
}

impl Range {
    /// The range of finite numbers; 0 to 1 where there are none.
    fn of(values: impl IntoIterator<Item = f64>) -> Self {
        // Far beyond any measure; keeps differences of two numbers finite.
        let values = values.into_iter().map(|value| value.clamp(-1e300, 1e300));
        let range = values
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
        if range.0 <= range.1 { Self { low: range.0, high: range.1 } } else { Self { low: 0.0, high: 1.0 } }
    }
}

/// Prints a number with so many decimals and no minus before zero; very large ones by powers of ten.
pub(crate) fn printed(value: f64, decimals: usize) -> String {
    if value.abs() >= 1e7 {
        return format!("{value:.1e}");
    }
    let text = format!("{:.decimals$}", value.abs());
    let is_zero = text.chars().all(|letter| matches!(letter, '0' | '.'));
    if value < 0.0 && !is_zero { format!("-{text}") } else { text }
}

/// A scale laid along a line of the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Axis {
    pub(crate) scale: Scale,
    /// Where the least number stands: the left end, or the lower end.
    pub(crate) from: f64,
    /// Where the greatest number stands.
    pub(crate) to: f64,
}

impl Axis {
    /// Returns where a number stands; what is beyond an end stands at that end.
    pub(crate) fn at(&self, value: f64) -> f64 {
        let Scale { low, high, .. } = self.scale;
        self.from + (value.clamp(low, high) - low) / (high - low) * (self.to - self.from)
    }

    /// Draws upright lines of a level axis, the one at zero heavier. Draw them before what lies on them.
    pub(crate) fn grid(&self, canvas: &mut Canvas, (top, bottom): (f64, f64)) {
        for x in self.scale.ticks().iter().map(|&tick| self.at(tick)) {
            canvas.trace(&[(x, top), (x, bottom)], Tone::Pale, 1.0);
        }
        if self.scale.broken == Break::None {
            let zero = self.at(0.0);
            canvas.trace(&[(zero, top), (zero, bottom)], Tone::Soft, 1.2);
        }
    }

    /// Draws it level at `y` with its numbers below, grid lines up to `top`, and a zigzag where it is broken. Draw it before what
    /// lies on it. It takes [`NUMBERS`] below `y`; the words of [`Scale::break_words`] are for the caller to write beside it.
    pub(crate) fn draw_level(&self, canvas: &mut Canvas, y: f64, top: f64) {
        self.grid(canvas, (top, y));
        for tick in self.scale.ticks() {
            let x = self.at(tick);
            canvas.trace(&[(x, y), (x, y + 5.0)], Tone::Soft, 1.0);
        }
        // Both ends first: on a short axis with long numbers those between them find no room.
        let mut ticks = self.scale.ticks();
        if let Some(last) = ticks.pop() {
            ticks.insert(0, last);
        }
        for tick in ticks {
            canvas.write_where_free(&[(
                Words::small(&self.scale.label(tick)).middle(),
                self.at(tick),
                y + 15.0,
            )]);
        }
        canvas.trace(&[(self.from, y), (self.to, y)], Tone::Ink, 1.2);
        match self.scale.broken {
            Break::None => (),
            Break::Begins => zigzag(canvas, |along, across| (self.from - along, y + across)),
            Break::Ends => zigzag(canvas, |along, across| (self.to + along, y + across)),
        }
    }

    /// Draws it upright at `x` with its numbers left of it, grid lines to `right`, and a zigzag where it is broken.
    pub(crate) fn draw_upright(&self, canvas: &mut Canvas, x: f64, right: f64) {
        for tick in self.scale.ticks() {
            let y = self.at(tick);
            canvas.trace(&[(x, y), (right, y)], Tone::Pale, 1.0);
            canvas.trace(&[(x - 5.0, y), (x, y)], Tone::Soft, 1.0);
            canvas.write_where_free(&[(Words::small(&self.scale.label(tick)).end(), x - 8.0, y)]);
        }
        if self.scale.broken == Break::None {
            let zero = self.at(0.0);
            canvas.trace(&[(x, zero), (right, zero)], Tone::Soft, 1.2);
        }
        canvas.trace(&[(x, self.from), (x, self.to)], Tone::Ink, 1.2);
        match self.scale.broken {
            Break::None => (),
            Break::Begins => zigzag(canvas, |along, across| (x + across, self.from + along)),
            Break::Ends => zigzag(canvas, |along, across| (x + across, self.to - along)),
        }
    }
}

/// Draws the mark of a broken axis away from its end; `place` takes a way along the axis and across it.
fn zigzag(canvas: &mut Canvas, place: impl Fn(f64, f64) -> (f64, f64)) {
    let bends = [(0.0, 0.0), (3.0, -5.0), (7.0, 5.0), (11.0, -5.0), (13.0, 0.0), (ZIGZAG, 0.0)];
    let points: Vec<(f64, f64)> = bends.iter().map(|&(along, across)| place(along, across)).collect();
    canvas.trace(&points, Tone::Odd, 1.6);
    let (from, to) = (place(0.0, -6.0), place(ZIGZAG, 6.0));
    canvas.keep(Area {
        left: from.0.min(to.0),
        top: from.1.min(to.1),
        width: (from.0 - to.0).abs(),
        height: (from.1 - to.1).abs(),
    });
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Source: the worked example of "Nice Numbers for Graph Labels" (105 to 543 in five steps of 100) and steps of 1, 2 and 5
    /// (from memory); the other rows by hand from that rule.
    #[test]
    fn numbers_are_round() {
        let rows = [
            (105.0, 543.0, 5.0, 100.0, 600.0, 100.0),
            (0.0, 36.7, 5.0, 0.0, 40.0, 10.0),
            (24.1, 36.7, 5.0, 20.0, 40.0, 5.0),
            (-0.03, 0.08, 6.0, -0.04, 0.08, 0.02),
            (-3.0, 7.0, 4.0, -5.0, 10.0, 5.0),
        ];
        for (low, high, most, first, last, step) in rows {
            let scale = Scale::nice(low, high, most);
            let close = |one: f64, other: f64| (one - other).abs() < 1e-9;
            assert!(
                close(scale.low, first) && close(scale.high, last) && close(scale.step, step),
                "{low} to {high}: {scale:?}"
            );
        }
    }

    #[test]
    fn an_axis_begins_at_zero_or_says_that_it_does_not() {
        let words = |values: &[f64]| Scale::level(values.iter().copied(), 600.0).break_words();
        assert_eq!(words(&[25.0, 36.0, 40.0]), None, "15 of 40 is over a third");
        assert_eq!(words(&[41.6, 47.5]), Some("axis begins at 40".to_owned()));
        assert_eq!(words(&[-48.0, -41.0]), Some("axis ends at -40".to_owned()));
        assert_eq!(words(&[14.4]), None, "one number is pressed by nothing");
        assert_eq!(words(&[40.0, 40.0]), None);
        assert_eq!(words(&[-1.0, 3.0]), None);
        assert_eq!(words(&[0.0, 0.0]), None);
        assert_eq!(words(&[]), None);
    }

    /// Goal: a tenth of a decibel never fills the axis.
    #[test]
    fn next_to_nothing_stays_small() {
        let scale = Scale::level([94.1, 94.2], 600.0);
        assert!(scale.high - scale.low >= 94.2 / 8.0, "{scale:?}");
    }

    #[test]
    fn numbers_are_printed_plainly() {
        assert_eq!(printed(-3.25, 1), "-3.2");
        assert_eq!(printed(-0.04, 1), "0.0");
        assert_eq!(printed(12.0, 0), "12");
        assert_eq!(printed(-1.5e9, 0), "-1.5e9");
    }

    proptest! {
        /// Goal: whatever is measured lies on the axis, where `left + (v - min) / (max - min) · length` says, and numbers of the
        /// axis do not meet.
        #[test]
        fn what_is_measured_lies_on_the_axis(
            values in prop::collection::vec(prop_oneof![-1e9..1e9, -200.0..200.0f64, 40.0..41.0f64, Just(0.0)], 1..20),
            length in 60.0..700.0f64,
        ) {
            let scale = Scale::level(values.iter().copied(), length);
            let axis = Axis { scale, from: 30.0, to: 30.0 + length };
            for &value in &values {
                let slop = scale.step * 1e-6;
                prop_assert!(value >= scale.low - slop && value <= scale.high + slop, "{value} {scale:?}");
                let by_hand = 30.0 + (value - scale.low) / (scale.high - scale.low) * length;
                prop_assert!((axis.at(value) - by_hand).abs() < 1e-3);
            }
            let ticks = scale.ticks();
            prop_assert!(ticks.len() <= 12 && ticks.len() >= 2);
            prop_assert!(scale.broken != Break::None || (scale.low <= 0.0 && scale.high >= 0.0), "{scale:?}");
            for pair in ticks.windows(2) {
                let room = axis.at(pair[1]) - axis.at(pair[0]);
                prop_assert!(length < 130.0 || ticks.len() == 2 || room > scale.widest_label() * 0.9, "{scale:?}");
            }
        }
    }
}
