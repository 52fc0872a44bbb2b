//! Sizes beside a drawing, and bars that show its scale in both systems.
//!
//! Leaves out rounding: see [`crate::LengthStyle`].

use storypole_units::length::{NM_PER_FOOT, NM_PER_INCH, NM_PER_MM};

use crate::canvas::{Canvas, MARGIN, Stroke, WIDTH, Words};
use crate::hatch::Hatch;
use crate::text::{Area, SMALL, width};

/// How far the slanting end marks of a dimension reach.
const TICK: f64 = 4.0;
/// The longest scale bar on a sheet.
const LONGEST_BAR: f64 = 170.0;
/// How high a scale bar is.
const BAR: f64 = 7.0;
/// Height of the strip that scale bars take.
pub(crate) const BARS: f64 = 22.0;

/// Draws a level dimension from `left` to `right` at `y`, its size below the line.
pub(crate) fn level(canvas: &mut Canvas, (left, right): (f64, f64), y: f64, size: &str) {
    canvas.line(&[(left, y), (right, y)], Stroke::Thin);
    for x in [left, right] {
        canvas.line(&[(x, y - 6.0), (x, y + 6.0)], Stroke::Thin);
        canvas.line(&[(x - TICK, y + TICK), (x + TICK, y - TICK)], Stroke::Firm);
    }
    let half = width(size, SMALL) / 2.0;
    let middle =
        ((left + right) / 2.0).clamp(MARGIN + half, (canvas.width - MARGIN - half).max(MARGIN + half));
    canvas.write(Words::small(size).middle(), middle, y + 15.0);
}

/// Draws an upright dimension from `top` to `bottom` at `x`, its size turned and left of the line.
pub(crate) fn upright(canvas: &mut Canvas, x: f64, (top, bottom): (f64, f64), size: &str) {
    canvas.line(&[(x, top), (x, bottom)], Stroke::Thin);
    for y in [top, bottom] {
        canvas.line(&[(x - 6.0, y), (x + 6.0, y)], Stroke::Thin);
        canvas.line(&[(x - TICK, y + TICK), (x + TICK, y - TICK)], Stroke::Firm);
    }
    canvas.write(Words::small(size).turned(), x - 14.0, (top + bottom) / 2.0);
}

/// Draws two scale bars in a row, feet and inches first, in the strip below `top`.
pub(crate) fn scale_bars(canvas: &mut Canvas, left: f64, top: f64, units_per_nm: f64) {
    let y = top + BARS / 2.0;
    let mut x = left;
    let longest = LONGEST_BAR.min((canvas.width - 2.0 * MARGIN) / 2.0 - 80.0);
    let gap = if canvas.width < WIDTH { 20.0 } else { 40.0 };
    let bars = [customary(units_per_nm, longest), metric(units_per_nm, longest)];
    for (nm, label) in bars.into_iter().flatten() {
        let long = nm as f64 * units_per_nm;
        let half = |left| Area { left, top: y - BAR / 2.0, width: long / 2.0, height: BAR };
        canvas.rect(half(x), Hatch::Plain, Stroke::Firm);
        canvas.block(half(x + long / 2.0));
        canvas.write(Words::small(&label), x + long + 8.0, y);
        x += long + 8.0 + width(&label, SMALL) + gap;
    }
}

/// Returns the longest handy length of inches or feet that fits, with its name.
fn customary(units_per_nm: f64, most: f64) -> Option<(i64, String)> {
    let below = [
        (1, "1/16 in"),
        (2, "1/8 in"),
        (4, "1/4 in"),
        (8, "1/2 in"),
        (16, "1 in"),
        (48, "3 in"),
        (96, "6 in"),
    ];
    let below = below.map(|(sixteenths, name)| (sixteenths * NM_PER_INCH / 16, name.to_owned()));
    let feet = handy(1_000_000).map(|feet| (feet * NM_PER_FOOT, format!("{feet} ft")));
    longest(below.into_iter().chain(feet), units_per_nm, most)
}

/// Returns the longest handy length of millimetres or metres that fits, with its name.
fn metric(units_per_nm: f64, most: f64) -> Option<(i64, String)> {
    let all = handy(1_000_000_000).map(|mm| {
        let name = if mm < 1000 { format!("{mm} mm") } else { format!("{} m", mm / 1000) };
        (mm * NM_PER_MM, name)
    });
    longest(all, units_per_nm, most)
}

fn longest(all: impl Iterator<Item = (i64, String)>, units_per_nm: f64, most: f64) -> Option<(i64, String)> {
    all.take_while(|&(nm, _)| nm as f64 * units_per_nm <= most).last()
}

/// 1, 2, 5, 10, 20, 50 ... up to `most`.
fn handy(most: i64) -> impl Iterator<Item = i64> {
    let tens = std::iter::successors(Some(1i64), |ten| Some(ten * 10));
    tens.flat_map(|ten| [ten, 2 * ten, 5 * ten]).take_while(move |&count| count <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: at 4 units an inch (0.1575 a millimetre) 2 ft are 96 and 5 ft 240 units; 1 m is 157 and 2 m 315.
    #[test]
    fn bars_are_the_longest_that_fit() {
        let scale = 4.0 / NM_PER_INCH as f64;
        assert_eq!(customary(scale, LONGEST_BAR), Some((2 * NM_PER_FOOT, "2 ft".to_owned())));
        assert_eq!(metric(scale, LONGEST_BAR), Some((1000 * NM_PER_MM, "1 m".to_owned())));
        let close = 300.0 / NM_PER_INCH as f64;
        assert_eq!(customary(close, LONGEST_BAR), Some((NM_PER_INCH / 2, "1/2 in".to_owned())));
        assert_eq!(metric(close, LONGEST_BAR), Some((10 * NM_PER_MM, "10 mm".to_owned())));
    }
}
