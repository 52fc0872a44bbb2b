//! Where curves over bands stand, and where their words find room.
//!
//! Leaves out the words themselves.

use super::{BandCurve, Bands, Contour, words};
use crate::canvas::{Canvas, Stroke, Words};
use crate::chart::Bound;
use crate::chart::axis::{Axis, NUMBERS, Scale};
use crate::chart::frame::Frame;
use crate::chart::gains::{axis_title, dashed};
use crate::chart::mark::{ARROW, Entry, Key, Mark, one_line};
use crate::hatch::Hatch;
use crate::picture::Tone;
use crate::text::{Area, LINE, SMALL, width};

/// A line of small text.
const TEXT: f64 = SMALL * LINE;
/// Height of the plot where there is all the room it needs, on a sheet and on a phone.
const HEIGHTS: (f64, f64) = (320.0, 250.0);
/// Below this height words are saved: one line of the key, the name of the frequency axis, the word over the plot.
const LOW: f64 = 200.0;
/// Below this height the key has one line.
const LOWEST: f64 = 125.0;
/// From this width on a sheet.
const SHEET: f64 = 560.0;
/// The lane of deciding bands over the plot.
const LANE: f64 = 18.0;
/// Dots of the rating's curve.
const DOTTED: &str = "2 3.5";
/// Half of a mark's width.
const MARK: f64 = 4.5;
/// Up to so many bands have their numbers beside the marks.
const NUMBERED: usize = 8;

/// The plot.
struct Plot {
    /// Middles of the bands.
    middles: Vec<f64>,
    /// From edge to edge of each band.
    edges: Vec<(f64, f64)>,
    axis: Axis,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

/// Draws everything and returns the lower end.
pub(super) fn draw(bands: &Bands, frame: &mut Frame) -> f64 {
    let low = frame.room() < LOW;
    let most = frame.limit.map(|_| if frame.room() < LOWEST { 1 } else { 2 });
    let mut entries = key(bands, low);
    // A low sheet has no line to spare for what the axis shows.
    let beside = low && frame.width() >= SHEET;
    if beside {
        entries.insert(0, Entry::words(format!("{} over Hz", bands.unit)));
    }
    let key = Key::new(entries, frame.width(), most);
    let lane = match (bands.deciding().is_empty(), low) {
        (true, _) => 0.0,
        (false, true) => LANE / 2.0 + 2.0,
        (false, false) => LANE,
    };
    let above = key.height() + 6.0 + lane + if beside { 0.0 } else { TEXT };
    let below = if low { NUMBERS } else { NUMBERS + TEXT };
    let ideal = if frame.width() >= SHEET { HEIGHTS.0 } else { HEIGHTS.1 };
    let height = (frame.room() - above - below - 0.5).clamp(20.0, ideal);
    let plot = Plot::of(bands, frame, frame.top + above, height);

    let canvas = &mut frame.canvas;
    key.draw(canvas, frame.left, frame.top);
    if !beside {
        let title = axis_title(&bands.quantity, &tail(bands, &plot, low), frame.right - frame.left);
        canvas.write(Words::small(&title), frame.left, frame.top + key.height() + 3.0 + TEXT / 2.0);
    }
    plot.draw_deciding(canvas, bands, !low);
    plot.axis.draw_upright(canvas, plot.left, plot.right);
    plot.draw_frequencies(canvas, bands);
    plot.draw_contour(canvas, bands.contour.as_ref());
    if let Some(before) = &bands.before {
        plot.draw_curve(canvas, before, Mark::Before);
    }
    plot.draw_curve(canvas, &bands.after, Mark::After);
    if let (Some(words), true) = (plot.axis.scale.break_words(), beside) {
        plot.tell_break(canvas, &words);
    }
    plot.name_contour(canvas, bands.contour.as_ref());
    plot.number(canvas, bands);
    let bottom = plot.bottom + NUMBERS;
    if low {
        return bottom;
    }
    canvas.write(Words::small("Frequency, Hz").middle(), (plot.left + plot.right) / 2.0, bottom + TEXT / 2.0);
    bottom + TEXT
}

fn tail(bands: &Bands, plot: &Plot, low: bool) -> String {
    let broken = plot.axis.scale.break_words().map_or(String::new(), |words| format!("; {words}"));
    let over = if low { " over Hz" } else { "" };
    format!(", {}{over}{broken}", bands.unit)
}

fn key(bands: &Bands, low: bool) -> Vec<Entry<'_>> {
    let mut entries = Vec::new();
    if let Some(before) = &bands.before {
        entries.push(Entry::sample(before.label.clone(), |canvas: &mut Canvas, x, y| {
            dashed(canvas, &[(x - 13.0, y), (x + 13.0, y)], (Tone::Before, 2.0), "6 4");
            Mark::Before.draw(canvas, x, y, MARK);
        }));
    }
    entries.push(Entry::sample(bands.after.label.clone(), |canvas: &mut Canvas, x, y| {
        canvas.trace(&[(x - 13.0, y), (x + 13.0, y)], Tone::After, 2.0);
        Mark::After.draw(canvas, x, y, MARK);
    }));
    if let Some(contour) = &bands.contour {
        entries.push(Entry::sample(contour.label.clone(), |canvas: &mut Canvas, x, y| {
            let steps = [(x - 13.0, y + 4.0), (x, y + 4.0), (x, y - 4.0), (x + 13.0, y - 4.0)];
            dashed(canvas, &steps, (Tone::Ink, 2.0), DOTTED);
        }));
    }
    if !bands.deciding().is_empty() {
        entries.push(Entry::sample("decides", |canvas: &mut Canvas, x, y| {
            let area = Area { left: x - 13.0, top: y - 4.0, width: 26.0, height: 8.0 };
            canvas.rect(area, Hatch::Rising, Stroke::Firm);
        }));
    }
    let count = bands.centres_hz.len();
    let least = |curve: &BandCurve| {
        (0..count).any(|index| curve.is_least(index) && Bands::value(&curve.values, index).is_some())
    };
    if bands.before.iter().chain([&bands.after]).any(least) {
        entries.push(Entry::sample("at least", |canvas: &mut Canvas, x, y| {
            canvas.trace(&[(x, y + 7.0), (x, y - 7.0)], Tone::Odd, 2.0);
            canvas.trace(&[(x - 4.5, y - 1.0), (x, y - 7.0), (x + 4.5, y - 1.0)], Tone::Odd, 2.0);
        }));
    }
    let gap = |curve: &BandCurve| (0..count).any(|index| Bands::value(&curve.values, index).is_none());
    if !low && bands.before.iter().chain([&bands.after]).any(gap) {
        entries.push(Entry::words("a gap: not measured"));
    }
    entries
}

impl Plot {
    fn of(bands: &Bands, frame: &Frame, top: f64, height: f64) -> Self {
        let bottom = top + height;
        let contour = bands.contour.iter().flat_map(|contour| &contour.values);
        let curves = bands.before.iter().chain([&bands.after]);
        let values = curves.flat_map(|curve| &curve.values).chain(contour).copied().flatten();
        let least = bands.before.iter().chain([&bands.after]).any(|curve| curve.at_least.contains(&true));
        let highest = top + if least { (ARROW + 2.0).min(height / 5.0) } else { MARK + 2.0 };
        let scale = Scale::upright(values, bottom - highest);
        let left = frame.left + scale.widest_label() + 12.0;
        let right = frame.right;
        let (middles, edges) = places(&bands.centres_hz, (left, right));
        Self { middles, edges, axis: Axis { scale, from: bottom, to: highest }, left, right, top, bottom }
    }

    /// Draws what makes deciding bands stand out: a shade down the plot, a hatched block over it, and the word.
    fn draw_deciding(&self, canvas: &mut Canvas, bands: &Bands, named: bool) {
        let deciding = bands.deciding();
        let mut ends: Option<(f64, f64)> = None;
        for run in deciding.chunk_by(|one, next| next - one == 1) {
            let (Some(&first), Some(&last)) = (run.first(), run.last()) else { continue };
            let (from, to) = (self.edges[first].0, self.edges[last].1);
            let (left, wide) = (from.min(to) + 1.0, (to - from).abs() - 2.0);
            canvas.patch(
                Area { left, top: self.top, width: wide, height: self.bottom - self.top },
                Hatch::Grey,
            );
            let block = Area { left, top: self.top - 12.0, width: wide, height: 8.0 };
            canvas.rect(block, Hatch::Rising, Stroke::Firm);
            canvas.keep(block);
            ends = Some(
                ends.map_or((left, left + wide), |(start, end)| (start.min(left), end.max(left + wide))),
            );
        }
        let Some((start, end)) = ends.filter(|_| named) else { return };
        let (word, y) = (Words::small("decides").bold(), self.top - 8.0);
        let room = width("decides", SMALL) * 1.05;
        let mut places = Vec::new();
        if end + 6.0 + room <= self.right {
            places.push((word, end + 6.0, y));
        }
        if start - 6.0 - room >= 2.0 {
            places.push((word.end(), start - 6.0, y));
        }
        // Between two runs.
        let gaps = deciding.windows(2).filter(|pair| pair[1] - pair[0] > 1);
        places.extend(gaps.map(|pair| {
            let middle = (self.edges[pair[0]].1 + self.edges[pair[1]].0) / 2.0;
            (word.middle(), middle, y)
        }));
        canvas.write_where_free(&places);
    }

    /// Draws the frequency axis: octaves are named first, then what fits between.
    fn draw_frequencies(&self, canvas: &mut Canvas, bands: &Bands) {
        canvas.trace(&[(self.left, self.bottom), (self.right, self.bottom)], Tone::Ink, 1.2);
        let (octaves, between): (Vec<usize>, Vec<usize>) =
            (0..bands.centres_hz.len()).partition(|&index| is_octave(bands.centres_hz[index]));
        for index in octaves.into_iter().chain(between) {
            let x = self.middles[index];
            canvas.trace(&[(x, self.bottom), (x, self.bottom + 5.0)], Tone::Soft, 1.0);
            let name = words::band(bands.centres_hz[index]);
            let half = width(&name, SMALL) / 2.0;
            let middle = x.clamp(half, canvas.width - half);
            let words = Words::small(&name).middle();
            let area = words.area(middle, self.bottom + 15.0);
            let with_air = Area { left: area.left - 3.0, width: area.width + 6.0, ..area };
            let clear = !canvas.words.iter().any(|taken| taken.overlaps(&with_air));
            if clear {
                canvas.write(words, middle, self.bottom + 15.0);
            }
        }
    }

    /// Draws the rating's curve in dotted steps, broken where it does not look.
    fn draw_contour(&self, canvas: &mut Canvas, contour: Option<&Contour>) {
        let Some(contour) = contour else { return };
        for run in runs(&contour.values, self.middles.len()) {
            let mut points = Vec::new();
            for (index, value) in run {
                let y = self.axis.at(value);
                let (from, to) = self.edges[index];
                points.extend([(from, y), (to, y)]);
            }
            dashed(canvas, &points, (Tone::Ink, 2.0), DOTTED);
            keep_along(canvas, &points);
        }
    }

    /// Says in the plot that the axis is broken; no other words stand there yet.
    fn tell_break(&self, canvas: &mut Canvas, words: &str) {
        let half = width(words, SMALL) / 2.0;
        let middles =
            (0..8).map(|part| self.left + half + 8.0 + f64::from(part) * (self.right - self.left) / 8.0);
        let middles: Vec<f64> = middles.filter(|x| x + half <= self.right).collect();
        let words = Words::small(words).middle().tone(Tone::Odd);
        let place = |y: f64| middles.iter().map(move |&x| (words, x, y)).collect::<Vec<_>>();
        let places = [place(self.bottom - 8.0), place(self.top + 8.0)].concat();
        if !canvas.write_where_free(&places) {
            canvas.write(words, self.left + half + 8.0, self.bottom - 8.0);
        }
    }

    /// Names the rating's curve at the line, wherever there is room.
    fn name_contour(&self, canvas: &mut Canvas, contour: Option<&Contour>) {
        let Some(contour) = contour else { return };
        let name = one_line(&contour.label, SMALL, (self.right - self.left) / 2.0);
        let half = width(&name, SMALL) / 2.0;
        let words = Words::small(&name).bold().middle();
        let mut places = Vec::new();
        let steps: Vec<(usize, f64)> =
            runs(&contour.values, self.middles.len()).into_iter().flatten().collect();
        for away in [12.0, 20.0, 30.0] {
            for &(index, value) in steps.iter().rev() {
                let (from, to) = self.edges[index];
                for x in [self.middles[index], to, from, to + half + 5.0] {
                    let x = x.clamp(self.left + half + 2.0, (self.right - half).max(self.left + half + 2.0));
                    for y in [self.axis.at(value) + away, self.axis.at(value) - away] {
                        if y - 8.0 > self.top && y + 8.0 < self.bottom {
                            places.push((words, x, y));
                        }
                    }
                }
            }
        }
        canvas.write_where_free(&places);
    }

    /// Draws a measured curve: dashes and hollow squares before, a firm line and dots after.
    fn draw_curve(&self, canvas: &mut Canvas, curve: &BandCurve, mark: Mark) {
        for run in runs(&curve.values, self.middles.len()) {
            let points: Vec<(f64, f64)> =
                run.iter().map(|&(index, value)| (self.middles[index], self.axis.at(value))).collect();
            match mark {
                Mark::Before => dashed(canvas, &points, (Tone::Before, 2.0), "6 4"),
                _ => canvas.trace(&points, Tone::After, 2.0),
            }
            keep_along(canvas, &points);
            for (&(index, _), &(x, y)) in run.iter().zip(&points) {
                if curve.is_least(index) {
                    Bound::AtLeast.draw_upright(canvas, x, y);
                }
                mark.draw(canvas, x, y, MARK);
            }
        }
    }

    /// Writes the numbers of the state after beside its marks, where there are few and they find room.
    fn number(&self, canvas: &mut Canvas, bands: &Bands) {
        if self.middles.len() > NUMBERED {
            return;
        }
        let print = words::print(bands);
        for (index, &x) in self.middles.iter().enumerate() {
            let Some(value) = Bands::value(&bands.after.values, index) else { continue };
            let text = print.plain(value);
            let (words, y) = (Words::small(&text).tone(Tone::After), self.axis.at(value));
            let places = [
                (words.middle(), x, y - 15.0),
                (words.middle(), x, y + 15.0),
                (words, x + 9.0, y - 11.0),
                (words.end(), x - 9.0, y - 11.0),
                (words, x + 9.0, y + 11.0),
                (words.end(), x - 9.0, y + 11.0),
            ];
            let inside = |&(_, _, y): &(Words<'_>, f64, f64)| y - 8.0 > self.top && y + 8.0 < self.bottom;
            canvas.write_where_free(&places.into_iter().filter(inside).collect::<Vec<_>>());
        }
    }
}

/// Keeps words off a line.
fn keep_along(canvas: &mut Canvas, points: &[(f64, f64)]) {
    for pair in points.windows(2) {
        let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
        let parts = ((to_x - x).abs().max((to_y - y).abs()) / 8.0).ceil().clamp(1.0, 60.0) as u32;
        for part in 0..=parts {
            let share = f64::from(part) / f64::from(parts);
            let (at_x, at_y) = (x + (to_x - x) * share, y + (to_y - y) * share);
            canvas.keep(Area { left: at_x - 2.0, top: at_y - 2.0, width: 4.0, height: 4.0 });
        }
    }
}

/// Runs of bands that have a value, with their indices.
fn runs(values: &[Option<f64>], count: usize) -> Vec<Vec<(usize, f64)>> {
    let mut runs: Vec<Vec<(usize, f64)>> = Vec::new();
    let mut open = false;
    for (index, value) in values.iter().take(count).enumerate() {
        match value {
            Some(value) if open => runs.last_mut().expect("an open run is there").push((index, *value)),
            Some(value) => runs.push(vec![(index, *value)]),
            None => (),
        }
        open = value.is_some();
    }
    runs
}

/// Lays bands along a scale of octaves and returns middles and edges; half a band is free at both ends.
fn places(centres_hz: &[f64], (left, right): (f64, f64)) -> (Vec<f64>, Vec<(f64, f64)>) {
    let octaves: Vec<f64> = centres_hz.iter().map(|centre| centre.log2()).collect();
    let count = octaves.len();
    let between = |index: usize| (octaves[index] + octaves[index + 1]) / 2.0;
    let edge = |index: usize| match (index, count) {
        (_, 1) => octaves[0] - 0.5 + index as f64,
        (0, _) => octaves[0] - (between(0) - octaves[0]),
        (index, count) if index == count => octaves[count - 1] + (octaves[count - 1] - between(count - 2)),
        (index, _) => between(index - 1),
    };
    let edges: Vec<f64> = (0..=count).map(edge).collect();
    let low = edges.iter().chain(&octaves).copied().fold(f64::INFINITY, f64::min);
    let high = edges.iter().chain(&octaves).copied().fold(f64::NEG_INFINITY, f64::max);
    let span = (high - low).max(1e-9);
    let at = |octave: f64| left + (octave - low) / span * (right - left);
    let middles = octaves.iter().map(|&octave| at(octave)).collect();
    (middles, edges.windows(2).map(|pair| (at(pair[0]), at(pair[1]))).collect())
}

/// Whether a centre is of an octave band, by its name.
///
/// # Source
/// Octaves on both sides of 1000 Hz; nominal names 63, 125, 250 lie within 2 % of them.
fn is_octave(centre_hz: f64) -> bool {
    let octave = (centre_hz / 1000.0).log2();
    (octave - octave.round()).abs() < 0.03
}
