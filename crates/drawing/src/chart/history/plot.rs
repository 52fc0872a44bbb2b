//! The plot of a recording: axes, line or band, cut-outs, and what names them.
//!
//! Leaves out the text for who cannot see it.

use super::{History, MINUTES_FROM, stretch};
use crate::canvas::{Canvas, Stroke, Words};
use crate::chart::axis::{Axis, Break, NUMBERS, Scale, ZIGZAG, printed};
use crate::chart::frame::Frame;
use crate::chart::mark::{Entry, KEY_LINE, Key, one_line};
use crate::hatch::Hatch;
use crate::markup::{number, plain};
use crate::picture::Tone;
use crate::text::{Area, SMALL, width, wrapped};

/// Room over the plot for the unit and the numbers of cut-outs.
const STRIP: f64 = 18.0;
/// Lowest plot that gives way to a longer list of cut-outs.
const LOW: f64 = 90.0;

/// What goes where.
pub(super) struct Plan<'a> {
    chart: &'a History,
    key: Key<'static>,
    /// Height of the plot between its lowest and its highest number.
    height: f64,
    levels: Scale,
    /// Lines of the list of cut-outs.
    list: Vec<String>,
}

impl<'a> Plan<'a> {
    pub(super) fn fit(chart: &'a History, frame: &Frame) -> Self {
        let ideal = (frame.width() * 0.55).clamp(190.0, 280.0);
        let cuts = chart.cuts_in_order().len();
        let whole = Self::lay(chart, frame, ideal, cuts, false);
        if whole.total() <= frame.room() {
            return whole;
        }
        let mut rows = cuts;
        loop {
            let least = Self::lay(chart, frame, 0.0, rows, true);
            let left = frame.room() - least.total();
            if left >= LOW || rows <= 1 {
                let high = Self::lay(chart, frame, left.clamp(24.0, ideal), rows, true);
                // The scale for that height may need the room of a zigzag.
                let lower = || Self::lay(chart, frame, (left - ZIGZAG).clamp(24.0, ideal), rows, true);
                return if high.total() <= frame.room() { high } else { lower() };
            }
            rows -= 1;
        }
    }

    fn lay(chart: &'a History, frame: &Frame, height: f64, rows: usize, is_low: bool) -> Self {
        let values = chart.levels.iter().copied().flatten();
        let values = values.chain(chart.average_db).chain(chart.background_db);
        Self {
            chart,
            key: Key::new(key(chart, frame, is_low), frame.width(), is_low.then_some(2)),
            height,
            levels: Scale::upright(values, height.max(24.0)),
            list: list(chart, frame, rows, is_low),
        }
    }

    fn total(&self) -> f64 {
        self.key.height()
            + STRIP
            + 4.0
            + self.height
            + self.gap()
            + NUMBERS
            + self.list.len() as f64 * KEY_LINE
    }

    /// Room of the zigzag between the lowest number and the time.
    fn gap(&self) -> f64 {
        if self.levels.broken == Break::Begins { ZIGZAG } else { 0.0 }
    }

    /// Draws it and returns its lower edge.
    pub(super) fn draw(&self, frame: &mut Frame) -> f64 {
        self.key.draw(&mut frame.canvas, frame.left, frame.top);
        let top = frame.top + self.key.height() + STRIP + 4.0;
        // The last number of the time is half as wide as it reaches over the end.
        let (left, right) = (frame.left + self.levels.widest_label() + 10.0, frame.right - 20.0);
        let axis = Axis { scale: self.levels, from: top + self.height, to: top };
        let time = Axis { scale: self.time_scale(right - left), from: left, to: right };
        let bottom = axis.from + self.gap();
        let plot = Area { left, top, width: right - left, height: bottom - top };

        self.draw_cuts(&mut frame.canvas, &Area { height: self.height, ..plot });
        axis.draw_upright(&mut frame.canvas, left, right);
        self.draw_time(&mut frame.canvas, &time, bottom);
        self.draw_levels(&mut frame.canvas, &axis, &plot);
        self.draw_named(&mut frame.canvas, &axis, &plot);
        self.write_over(&mut frame.canvas, &plot, &axis);
        let mut y = bottom + NUMBERS;
        for line in &self.list {
            frame.canvas.write(Words::small(line), frame.left, y + KEY_LINE / 2.0);
            y += KEY_LINE;
        }
        y
    }

    fn unit(&self) -> (f64, &'static str) {
        if self.chart.total_s() < MINUTES_FROM { (1.0, "s") } else { (60.0, "min") }
    }

    fn time_scale(&self, length: f64) -> Scale {
        let (unit_s, name) = self.unit();
        let high = self.chart.total_s() / unit_s;
        Scale::within(high, length, width(&format!("{} {name}", printed(high, 1)), SMALL))
    }

    fn draw_time(&self, canvas: &mut Canvas, axis: &Axis, y: f64) {
        canvas.trace(&[(axis.from, y), (axis.to, y)], Tone::Ink, 1.2);
        let ticks = axis.scale.ticks();
        for (index, &tick) in ticks.iter().enumerate().rev() {
            let x = axis.at(tick);
            canvas.trace(&[(x, y), (x, y + 5.0)], Tone::Soft, 1.0);
            let is_last = index + 1 == ticks.len();
            let text =
                axis.scale.label(tick) + &if is_last { format!(" {}", self.unit().1) } else { String::new() };
            let words = Words::small(&text);
            canvas
                .write_where_free(&[(words.middle(), x, y + 15.0), (words.end(), axis.to + 20.0, y + 15.0)]);
        }
    }

    fn x_at(&self, plot: &Area, time_s: f64) -> f64 {
        plot.left + time_s / self.chart.total_s() * plot.width
    }

    fn draw_cuts(&self, canvas: &mut Canvas, plot: &Area) {
        for (from, to, _) in self.chart.cuts_in_order() {
            let (from, to) = (self.x_at(plot, from), self.x_at(plot, to));
            let area = Area { left: from, width: (to - from).max(1.0), ..*plot };
            canvas.patch(area, Hatch::Rising);
        }
    }

    /// Writes the unit over the numbers, and over each cut-out its number in the list.
    fn write_over(&self, canvas: &mut Canvas, plot: &Area, axis: &Axis) {
        // Above the highest number of the axis, which stands half over the plot.
        let y = plot.top - 14.5;
        let unit = one_line(&format!("Level, {}", self.chart.unit), SMALL, plot.width / 2.0);
        canvas.write(Words::small(&unit), plot.left - self.levels.widest_label() - 10.0, y);
        for (index, (from, to, _)) in self.chart.cuts_in_order().into_iter().enumerate() {
            let text = (index + 1).to_string();
            let words = Words::small(&text).bold().middle().tone(Tone::Odd);
            canvas.write_where_free(&[(words, self.x_at(plot, (from + to) / 2.0), y)]);
        }
        let broken = self.levels.break_words().unwrap_or_default();
        let words = Words::small(&broken).tone(Tone::Odd);
        match self.levels.broken {
            Break::None => (),
            Break::Begins => canvas.write(words, plot.left + 12.0, axis.from + ZIGZAG / 2.0),
            Break::Ends => {
                canvas.write_where_free(&[(words, plot.left + 12.0, y), (words.end(), plot.right(), y)]);
            }
        }
    }

    fn draw_levels(&self, canvas: &mut Canvas, axis: &Axis, plot: &Area) {
        if self.is_band(plot) {
            return draw_band(canvas, &self.columns(axis, plot));
        }
        let at = |index: usize| self.x_at(plot, (index as f64 + 0.5) * self.chart.step_s);
        let mut run: Vec<(f64, f64)> = Vec::new();
        for (index, level) in self.chart.levels.iter().enumerate() {
            match level {
                Some(level) => run.push((at(index), axis.at(*level))),
                None => draw_run(canvas, &std::mem::take(&mut run)),
            }
        }
        draw_run(canvas, &run);
    }

    fn is_band(&self, plot: &Area) -> bool {
        self.chart.levels.len() as f64 > plot.width
    }

    /// The highest and the lowest point of the levels in each unit of width.
    fn columns(&self, axis: &Axis, plot: &Area) -> Vec<Option<Column>> {
        let count = plot.width.floor().max(1.0) as usize;
        let mut columns: Vec<Option<(f64, f64)>> = vec![None; count];
        for (index, level) in self.chart.levels.iter().enumerate() {
            let Some(level) = *level else { continue };
            let column = &mut columns[index * count / self.chart.levels.len()];
            let (low, high) = column.unwrap_or((level, level));
            *column = Some((low.min(level), high.max(level)));
        }
        let wide = plot.width / count as f64;
        let placed = columns.into_iter().enumerate().map(|(index, column)| {
            let (low, high) = column?;
            Some(Column {
                x: plot.left + (index as f64 + 0.5) * wide,
                low: axis.at(low),
                high: axis.at(high),
            })
        });
        placed.collect()
    }

    fn draw_named(&self, canvas: &mut Canvas, axis: &Axis, plot: &Area) {
        let ends = (plot.left, plot.right());
        if let Some(background) = self.chart.background_db {
            canvas.line(&[(ends.0, axis.at(background)), (ends.1, axis.at(background))], Stroke::Dashed);
        }
        if let Some(average) = self.chart.average_db {
            let y = axis.at(average);
            if self.is_band(plot) {
                // A band is as dark as the line through it: paper on both sides keeps them apart.
                canvas.trace(&[(ends.0, y), (ends.1, y)], Tone::Paper, 4.0);
            }
            average_line(canvas, ends, y);
        }
    }
}

/// What the levels in one unit of width span, on the sheet.
#[derive(Debug, Clone, Copy)]
struct Column {
    x: f64,
    low: f64,
    high: f64,
}

fn draw_run(canvas: &mut Canvas, run: &[(f64, f64)]) {
    match run {
        [] => (),
        [(x, y)] => canvas.shape(
            "circle",
            &[("cx", (*x).into()), ("cy", (*y).into()), ("r", 2.0.into()), ("fill", Tone::After.into())],
        ),
        run => canvas.trace(run, Tone::After, 1.6),
    }
}

/// Draws upright strokes from the least to the most, joined so that neighbours never fall apart.
fn draw_band(canvas: &mut Canvas, columns: &[Option<Column>]) {
    for run in columns.split(Option::is_none) {
        let run: Vec<Column> = run.iter().copied().flatten().collect();
        let mut d = String::new();
        for (index, column) in run.iter().enumerate() {
            d.push_str(if index == 0 { "M" } else { "L" });
            d.push_str(&format!("{} {}V{}", number(column.x), number(column.high), number(column.low)));
        }
        if !d.is_empty() {
            canvas.shape(
                "path",
                &[
                    ("d", d.as_str().into()),
                    ("fill", "none".into()),
                    ("stroke", Tone::After.into()),
                    ("stroke-width", 1.2.into()),
                    ("stroke-linecap", "square".into()),
                ],
            );
        }
    }
}

/// Draws dashes and dots, so that levels close to the average are seen between them.
fn average_line(canvas: &mut Canvas, (from, to): (f64, f64), y: f64) {
    let d = format!("M{} {}H{}", number(from), number(y), number(to));
    canvas.shape(
        "path",
        &[
            ("d", d.as_str().into()),
            ("fill", "none".into()),
            ("stroke", Tone::Odd.into()),
            ("stroke-width", 1.8.into()),
            ("stroke-dasharray", "12 5 2 5".into()),
        ],
    );
}

/// Names the lines; on a low sheet the levels, which the axis names, go without.
fn key(chart: &History, frame: &Frame, is_low: bool) -> Vec<Entry<'static>> {
    let mut entries = Vec::new();
    if !is_low {
        let is_band = chart.levels.len() as f64 > frame.width() - 60.0;
        let words = if is_band { "level, least to most" } else { "level" };
        entries.push(Entry::sample(words, |canvas, x, y| {
            let bends = [(-13.0, 3.0), (-7.0, -4.0), (-2.0, 2.0), (4.0, -3.0), (8.0, 4.0), (13.0, -2.0)];
            canvas.trace(&bends.map(|(along, up)| (x + along, y + up)), Tone::After, 1.4);
        }));
    }
    let unit = plain(&chart.unit);
    if let Some(average) = chart.average_db {
        let words = format!("average {} {unit}", printed(average, 1));
        entries.push(Entry::sample(words, |canvas, x, y| average_line(canvas, (x - 13.0, x + 13.0), y)));
    }
    if let Some(background) = chart.background_db {
        let words = format!("background {} {unit}", printed(background, 1));
        entries.push(Entry::sample(words, |canvas, x, y| {
            canvas.line(&[(x - 13.0, y), (x + 13.0, y)], Stroke::Dashed);
        }));
    }
    if !chart.cuts_in_order().is_empty() {
        entries.push(Entry::sample("cut out", |canvas, x, y| {
            canvas.patch(Area { left: x - 13.0, top: y - 6.0, width: 26.0, height: 12.0 }, Hatch::Rising);
        }));
    }
    entries
}

/// Names cut-outs: so many of them, the longest, in the order of time; on a low sheet each in one line.
fn list(chart: &History, frame: &Frame, rows: usize, is_low: bool) -> Vec<String> {
    let cuts = chart.cuts_in_order();
    let mut longest: Vec<usize> = (0..cuts.len()).collect();
    longest.sort_by(|&one, &other| (cuts[other].1 - cuts[other].0).total_cmp(&(cuts[one].1 - cuts[one].0)));
    longest.truncate(rows);
    longest.sort_unstable();
    let (count, left_out) = (longest.len(), cuts.len() - longest.len());
    let lines = longest.into_iter().enumerate().flat_map(|(row, index)| {
        let (from, to, reason) = cuts[index];
        let text = format!("{}: {}, {}", index + 1, stretch(from, to), plain(reason));
        if !is_low {
            return wrapped(&text, SMALL, frame.width(), 3);
        }
        let more =
            if left_out > 0 && row + 1 == count { format!("; {left_out} more") } else { String::new() };
        vec![one_line(&text, SMALL, frame.width() - width(&more, SMALL)) + &more]
    });
    lines.collect()
}
