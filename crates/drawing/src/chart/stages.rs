//! A wall step by step: what it gave at each stage, and what each step added.
//!
//! Leaves out whether a step may be claimed: its words are given.

use super::axis::{Axis, Scale, ZIGZAG, printed};
use super::frame::{Frame, counted, finite, short, told};
use super::mark::{ARROW, Entry, Key, Mark, RADIUS, interval_level, write_lines};
use super::rows::{AXIS, Foot, Layout, RowWords, Rows, draw_axis};
use super::{Bound, Value};
use crate::canvas::{Canvas, Stroke, Words};
use crate::hatch::Hatch;
use crate::markup::plain;
use crate::picture::{ChartError, Look, Picture, Room, Tone};
use crate::text::{Area, LINE, SMALL, width, wrapped};

mod step;
#[cfg(test)]
mod tests;

use step::Step;

/// Stages of one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Stages {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// What the axis shows, such as `Level difference`.
    pub quantity: String,
    /// Its unit, such as `dBA`.
    pub unit: String,
    /// The stages, in the order they were built.
    pub rows: Vec<StageRow>,
    /// What others publish for such a wall, with where that comes from: `(low, high, words)`.
    pub published: Option<(f64, f64, String)>,
}

/// One stage.
#[derive(Debug, Clone, PartialEq)]
pub struct StageRow {
    /// What it is called, such as `A06, sealed`.
    pub label: String,
    /// What it gave; `None` where the set is out of results.
    pub value: Option<Value>,
    /// What the step added, in words, such as `+3.2 from sealing`.
    pub step: Option<String>,
    /// Why it is out of results, or what to look at twice.
    pub note: Option<String>,
}

impl Stages {
    /// Draws it. On a low sheet the first stage, the last one and those with the greatest steps are shown, and a line says so.
    ///
    /// # Errors
    /// [`ChartError`]: no stage with a number, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        self.check()?;
        let mut frame = Frame::begin(&self.title, &self.finding, room)?;
        let plan = Plan::fit(self, &frame);
        plan.key.draw(&mut frame.canvas, frame.left, frame.top);
        let top = frame.top + plan.key.height() + 4.0;
        let rows = (top, top + plan.rows_height());
        let mut bottom = draw_axis(&mut frame, plan.rows.layout, &plan.axis, &plan.foot, rows);
        plan.draw_rows(&mut frame.canvas, top);
        if let Some(cut) = &plan.cut {
            bottom =
                write_lines(&mut frame.canvas, cut, Words::small("").tone(Tone::Odd), frame.left, bottom);
        }
        Ok(frame.finish(&self.title, &told(&self.finding, &self.numbers()), bottom, look))
    }

    fn check(&self) -> Result<(), ChartError> {
        for row in &self.rows {
            let Some(value) = row.value else { continue };
            finite(value.value, || short(&row.label))?;
            let (low, high) = value.interval.unwrap_or_default();
            finite(low + high, || format!("the interval of {}", short(&row.label)))?;
        }
        if let Some((low, high, words)) = &self.published {
            finite(low + high, || format!("the published range ({})", short(words)))?;
        }
        if self.rows.iter().any(|row| row.value.is_some()) { Ok(()) } else { Err(ChartError::Nothing) }
    }

    /// Everything that has to lie on the axis beside what others publish.
    fn extent(&self) -> impl Iterator<Item = f64> {
        let rows = self.rows.iter().filter_map(|row| row.value);
        rows.flat_map(|value| {
            let (low, high) = value.shown_interval().unwrap_or((value.value, value.value));
            [value.value, low, high]
        })
    }

    /// The numbers in words: each stage where they are few, else the ends.
    fn numbers(&self) -> String {
        let published = self.published.as_ref().map_or(String::new(), |(low, high, words)| {
            format!(" Published ({}): {}.", short(words), range(*low, *high))
        });
        let stages = if self.rows.len() <= MOST_TOLD {
            self.rows.iter().map(StageRow::told).collect::<Vec<_>>().join("; ")
        } else {
            let valued: Vec<_> = self.rows.iter().filter(|row| row.value.is_some()).collect();
            let ends = valued.first().into_iter().chain(valued.last());
            let ends = ends.map(|row| row.told()).collect::<Vec<_>>().join("; last ");
            let values = || valued.iter().filter_map(|row| Some(row.value?.value));
            let (low, high) =
                (values().reduce(f64::min).unwrap_or(0.0), values().reduce(f64::max).unwrap_or(0.0));
            format!(
                "{} with numbers from {}; first {ends}",
                counted(valued.len(), "stage", "stages"),
                range(low, high)
            )
        };
        format!("{} by stage, {}: {stages}.{published}", self.quantity, self.unit)
    }
}

/// So many stages are told one by one.
const MOST_TOLD: usize = 8;

impl StageRow {
    fn told(&self) -> String {
        let label = short(&self.label);
        let step = self.step.as_deref().map_or(String::new(), |step| format!(", {}", short(step)));
        let note = self.note.as_deref().map(short);
        match (self.value, note) {
            (Some(value), Some(note)) => format!("{label} {}{step} ({note})", value.long()),
            (Some(value), None) => format!("{label} {}{step}", value.long()),
            (None, Some(note)) if note.starts_with("out of results") => format!("{label} {note}"),
            (None, Some(note)) => format!("{label} out of results: {note}"),
            (None, None) => format!("{label} out of results"),
        }
    }

    fn words(&self) -> RowWords<'_> {
        let out = self.value.is_none().then_some("out of results");
        RowWords {
            label: &self.label,
            note: self.note.as_deref().or(out),
            heavy: false,
            hollow: self.value.is_none(),
        }
    }
}

impl Value {
    /// The number with its bound, `at least 36.2`.
    pub(crate) fn brief(&self) -> String {
        format!("{}{}", self.bound.words(), printed(self.value, 1))
    }

    /// The number with its bound and its interval, `44.8 (43.9 to 45.7)`; of a bound only the end that bounds.
    pub(crate) fn long(&self) -> String {
        let Some((low, high)) = self.interval else { return self.brief() };
        let likely = match self.bound {
            Bound::Exact => format!("{} to {}", printed(low, 1), printed(high, 1)),
            Bound::AtLeast => format!("over {}", printed(low.min(high), 1)),
            Bound::AtMost => format!("under {}", printed(low.max(high), 1)),
        };
        format!("{} ({likely})", self.brief())
    }
}

/// A range without needless decimals.
fn range(low: f64, high: f64) -> String {
    let decimals = if low.fract() == 0.0 && high.fract() == 0.0 { 0 } else { 1 };
    format!("{} to {}", printed(low, decimals), printed(high, decimals))
}

/// What goes where.
struct Plan<'a> {
    chart: &'a Stages,
    /// What others publish, where there is room for it.
    published: Option<&'a (f64, f64, String)>,
    /// Indices of the stages that are shown.
    shown: Vec<usize>,
    key: Key<'a>,
    rows: Rows,
    /// What stands over each of them.
    steps: Vec<Step>,
    axis: Axis,
    foot: Foot,
    cut: Option<Vec<String>>,
}

impl<'a> Plan<'a> {
    fn fit(chart: &'a Stages, frame: &Frame) -> Self {
        let labels = chart.rows.iter().map(|row| row.label.as_str());
        let labels = labels.chain(chart.published.iter().map(|(_, _, words)| words.as_str()));
        let layout = Rows::roomy(frame, labels);
        let published = chart.published.as_ref();
        for (layout, published) in [(layout, published), (Layout::Compact, published)] {
            let whole = Self::lay(chart, frame, layout, (0..chart.rows.len()).collect(), published);
            if whole.height() <= frame.room() {
                return whole;
            }
        }
        let mut count = chart.rows.len();
        loop {
            // The wall's own stages come before what others publish.
            let part = Self::lay(chart, frame, Layout::Compact, telling(&chart.rows, count), None);
            if part.height() <= frame.room() || count <= 1 {
                return part;
            }
            let over = (part.height() - frame.room()) / part.rows.height(&chart.rows[0].words());
            count = count.saturating_sub((over.ceil() as usize).max(1)).max(1);
        }
    }

    fn lay(
        chart: &'a Stages,
        frame: &Frame,
        layout: Layout,
        shown: Vec<usize>,
        published: Option<&'a (f64, f64, String)>,
    ) -> Self {
        let is_low = layout == Layout::Compact;
        let stages = shown.iter().map(|&index| chart.rows[index].words());
        let rows = Rows::new(frame, layout, &stages.chain(published.map(others)).collect::<Vec<_>>());
        let (left, right) = rows.track();
        let values = || chart.rows.iter().filter_map(|row| row.value);
        let widest = values().map(|value| width(&value.brief(), SMALL)).fold(0.0, f64::max);
        let arrow = if values().any(|value| !value.bound.words().is_empty()) { ARROW } else { RADIUS };
        // Long words give way rather than the axis: it keeps half of the track.
        let inset = (widest + arrow + 8.0).max(ZIGZAG + 4.0).min((right - left) / 4.0);
        let (from, to) = (left + inset, right - inset);
        let ends = published.into_iter().flat_map(|&(low, high, _)| [low, high]);
        let axis = Axis { scale: Scale::level(chart.extent().chain(ends), to - from), from, to };
        let steps = shown
            .iter()
            .map(|&index| if is_low { Step::none() } else { Step::plan(chart, index, &axis, (left, right)) });
        let steps = steps.collect();
        let name = format!("{}, {}", chart.quantity, chart.unit);
        Self {
            steps,
            key: Key::new(key(chart, is_low), frame.width(), is_low.then_some(1)),
            foot: Foot::new(&axis, &name, None, frame, is_low),
            cut: cut_words(chart, shown.len(), published.is_some(), frame),
            published,
            chart,
            shown,
            rows,
            axis,
        }
    }

    fn height(&self) -> f64 {
        let cut = self.cut.as_ref().map_or(0.0, |lines| lines.len() as f64 * SMALL * LINE);
        self.key.height() + 4.0 + self.rows_height() + AXIS + self.foot.height() + cut
    }

    fn rows_height(&self) -> f64 {
        let stages = self.shown.iter().map(|&index| self.rows.height(&self.chart.rows[index].words()));
        let published = self.published.map_or(0.0, |published| self.rows.height(&others(published)));
        published + stages.sum::<f64>() + self.steps.iter().map(|step| step.height).sum::<f64>()
    }

    fn draw_rows(&self, canvas: &mut Canvas, top: f64) {
        let mut y = top;
        let mut band = None;
        if let Some(published) = self.published {
            let words = others(published);
            let middle = self.rows.draw(canvas, &words, y);
            self.rows.track_grid(canvas, &self.axis, middle);
            band = Some(draw_published(canvas, &self.axis, published, middle));
            y += self.rows.height(&words);
        }
        for (&index, step) in self.shown.iter().zip(&self.steps) {
            let row = &self.chart.rows[index];
            step.draw(canvas, y);
            y += step.height;
            let words = row.words();
            let middle = self.rows.draw(canvas, &words, y);
            if !words.hollow {
                self.rows.track_grid(canvas, &self.axis, middle);
            }
            let step = row.step.as_deref().filter(|_| self.rows.layout == Layout::Compact);
            if let Some(value) = row.value {
                draw_value(canvas, &self.axis, middle, &value, step);
            } else if self.rows.layout != Layout::Stacked {
                let out = Words::small("out of results").tone(Tone::Soft);
                canvas.write_where_free(&[(out, self.axis.from + 8.0, middle)]);
            }
            y += self.rows.height(&words);
        }
        if let (Some(band), true) = (band, self.rows.layout != Layout::Stacked) {
            draw_edges(canvas, &band, y);
        }
    }
}

/// The words of the row for what others publish.
fn others((_, _, words): &(f64, f64, String)) -> RowWords<'_> {
    RowWords { label: words, note: None, heavy: false, hollow: false }
}

/// Names the shapes; on a low sheet only those that no row names beside them.
fn key<'a>(chart: &Stages, is_low: bool) -> Vec<Entry<'a>> {
    let mut entries = vec![Entry::mark(Mark::After, "measured")];
    let mut values = chart.rows.iter().filter_map(|row| row.value);
    if values.any(|value| value.interval.is_some()) {
        entries.push(Entry::interval("likely range"));
    }
    if is_low {
        return entries;
    }
    if chart.rows.iter().any(|row| row.value.is_none()) {
        entries.push(Entry::mark(Mark::Hollow, "out of results"));
    }
    if chart.published.is_some() {
        entries.push(Entry::sample("published", |canvas, x, y| {
            let area = Area { left: x - 13.0, top: y - 6.0, width: 26.0, height: 12.0 };
            canvas.rect(area, Hatch::Rising, Stroke::Thin);
        }));
    }
    entries
}

/// Draws what others publish as a hatched bar and returns where it stands.
fn draw_published(canvas: &mut Canvas, axis: &Axis, published: &(f64, f64, String), y: f64) -> Area {
    let (low, high) = (published.0.min(published.1), published.0.max(published.1));
    let (from, to) = (axis.at(low), axis.at(high));
    let area = Area { left: from, top: y - 8.0, width: (to - from).max(2.0), height: 16.0 };
    canvas.rect(area, Hatch::Rising, Stroke::Thin);
    canvas.keep(area);
    let text = range(low, high);
    let words = Words::small(&text).tone(Tone::Soft);
    canvas.write_where_free(&[(words, area.right() + 6.0, y), (words.end(), from - 6.0, y)]);
    area
}

/// Draws the ends of that bar down through the stages, except where words stand.
fn draw_edges(canvas: &mut Canvas, band: &Area, bottom: f64) {
    for x in [band.left, band.right()] {
        let line = Area { left: x - 2.0, top: band.bottom(), width: 4.0, height: bottom - band.bottom() };
        let mut met: Vec<(f64, f64)> = canvas
            .words
            .iter()
            .filter(|words| words.overlaps(&line))
            .map(|words| (words.top - 1.0, words.bottom() + 1.0))
            .collect();
        met.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut y = line.top;
        for (top, below) in met.into_iter().chain([(bottom, bottom)]) {
            if top - y > 2.0 {
                canvas.line(&[(x, y), (x, top)], Stroke::Dashed);
            }
            y = y.max(below);
        }
    }
}

/// Draws a number with its interval and its bound, and writes it beside them.
fn draw_value(canvas: &mut Canvas, axis: &Axis, y: f64, value: &Value, step: Option<&str>) {
    let x = axis.at(value.value);
    let (mut left, mut right) = (x - RADIUS, x + RADIUS);
    if let Some((low, high)) = value.shown_interval() {
        let ends = (axis.at(low.min(high)), axis.at(low.max(high)));
        interval_level(canvas, ends, y, Tone::After);
        (left, right) = (left.min(ends.0), right.max(ends.1));
    }
    value.bound.draw_level(canvas, x, y);
    Mark::After.draw(canvas, x, y, RADIUS);
    match value.bound {
        Bound::Exact => (),
        Bound::AtLeast => right = right.max(x + ARROW),
        Bound::AtMost => left = left.min(x - ARROW),
    }
    let (left, right) = (left - 6.0, right + 6.0);
    let (long, brief) = (value.long(), value.brief());
    let [long, brief] = [&long, &brief].map(|text| Words::small(text).tone(Tone::After));
    let step = step.map(plain).unwrap_or_default();
    if !step.is_empty() {
        let text = format!("{}, {step}", brief.text);
        let whole = Words::small(&text).tone(Tone::After);
        if canvas.write_where_free(&[(whole, right, y), (whole.end(), left, y)]) {
            return;
        }
    }
    canvas.write_where_free(&[
        (long, right, y),
        (long.end(), left, y),
        (brief, right, y),
        (brief.end(), left, y),
    ]);
}

/// Chooses stages: the first, the last, then those after the greatest steps, in the order they were built.
fn telling(rows: &[StageRow], count: usize) -> Vec<usize> {
    if count >= rows.len() {
        return (0..rows.len()).collect();
    }
    let mut before: Option<f64> = None;
    let mut order: Vec<(usize, f64)> = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        let value = row.value.map(|value| value.value);
        let step = before.zip(value).map_or(-1.0, |(before, value)| (value - before).abs());
        order.push((index, step));
        before = value.or(before);
    }
    let is_valued = |&index: &usize| rows[index].value.is_some();
    let last = (0..rows.len()).rev().find(is_valued);
    let first = (0..rows.len()).find(is_valued);
    for end in [first, last].into_iter().flatten() {
        order[end].1 = f64::INFINITY;
    }
    // Where there is room for one alone it is the last: what the wall gives now.
    order.reverse();
    order.sort_by(|one, other| other.1.total_cmp(&one.1));
    let mut chosen: Vec<usize> = order.into_iter().take(count).map(|(index, _)| index).collect();
    chosen.sort_unstable();
    chosen
}

/// Says what is left out on a low sheet.
fn cut_words(chart: &Stages, shown: usize, with_published: bool, frame: &Frame) -> Option<Vec<String>> {
    let all = chart.rows.len();
    let unsaid = if chart.published.is_some() && !with_published { "; published range left out" } else { "" };
    let text = match shown {
        _ if shown == all && unsaid.is_empty() => return None,
        _ if shown == all => "Published range left out.".to_owned(),
        1 => format!("1 of {all} stages, the last{unsaid}."),
        2 => format!("2 of {all} stages, first and last{unsaid}."),
        _ => format!("{shown} of {all} stages: first, last, greatest steps{unsaid}."),
    };
    let lines = wrapped(&text, SMALL, frame.width(), 2);
    if lines.len() == 1 || frame.room() > 180.0 {
        return Some(lines);
    }
    Some(wrapped(&format!("{shown} of {all} stages{unsaid}"), SMALL, frame.width(), 1))
}
