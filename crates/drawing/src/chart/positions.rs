//! What each position showed before and after, side by side on one scale.
//!
//! Leaves out why a position is odd: the word for it is given.

use super::axis::{Axis, Scale, ZIGZAG, printed};
use super::frame::{Frame, counted, finite, short, told};
use super::mark::{Entry, Key, LARGE, Mark, RADIUS, write_lines};
use super::rows::{AXIS, Foot, Layout, RowWords, Rows, draw_axis};
use crate::canvas::{Canvas, Words};
use crate::markup::plain;
use crate::picture::{ChartError, Look, Picture, Room, Tone};
use crate::text::{LINE, SMALL, width, wrapped};

/// Levels or level differences by position, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Positions {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence: stands under the title and in the text for those who cannot see.
    pub finding: String,
    /// What the axis shows, such as `Level difference`.
    pub quantity: String,
    /// Its unit, such as `dBA`.
    pub unit: String,
    /// What the two states are called, such as `T01, before` and `T05, after`.
    pub states: (String, String),
    /// The positions, in the order they stand in the room.
    pub rows: Vec<PositionRow>,
    /// The averages, where there are any, in a row of their own.
    pub average: (Option<f64>, Option<f64>),
    /// More is better, as with a level difference; otherwise less is.
    pub more_is_better: bool,
}

/// One position.
#[derive(Debug, Clone, PartialEq)]
pub struct PositionRow {
    /// Its label.
    pub label: String,
    /// What was read before; `None` where it was not taken.
    pub before: Option<f64>,
    /// What was read after.
    pub after: Option<f64>,
    /// Why to look twice: far from the others, corrected, not taken.
    pub note: Option<String>,
}

impl Positions {
    /// Draws it. On a low sheet the positions that changed most and least are shown, and a line says so.
    ///
    /// # Errors
    /// [`ChartError`]: no position with a number, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        self.check()?;
        let mut frame = Frame::begin(&self.title, &self.finding, room)?;
        let plan = Plan::fit(self, &frame);
        let key_top = frame.top;
        plan.key.draw(&mut frame.canvas, frame.left, key_top);
        let top = key_top + plan.key.height() + 4.0;
        let rows = (top, top + plan.rows_height());
        let mut bottom = draw_axis(&mut frame, plan.rows.layout, &plan.axis, &plan.foot, rows);
        plan.draw_rows(&mut frame.canvas, top);
        if let Some(note) = &plan.cut {
            bottom =
                write_lines(&mut frame.canvas, note, Words::small("").tone(Tone::Odd), frame.left, bottom);
        }
        Ok(frame.finish(&self.title, &told(&self.finding, &self.numbers()), bottom, look))
    }

    fn check(&self) -> Result<(), ChartError> {
        for row in &self.rows {
            for (value, state) in [(row.before, "before"), (row.after, "after")] {
                finite(value.unwrap_or(0.0), || format!("{}, {state},", short(&row.label)))?;
            }
        }
        for (value, state) in [(self.average.0, "before"), (self.average.1, "after")] {
            finite(value.unwrap_or(0.0), || format!("the average {state}"))?;
        }
        let is_measured = |row: &PositionRow| row.before.is_some() || row.after.is_some();
        if self.rows.iter().any(is_measured) { Ok(()) } else { Err(ChartError::Nothing) }
    }

    fn values(&self) -> impl Iterator<Item = f64> {
        let rows = self.rows.iter().flat_map(|row| [row.before, row.after]);
        rows.chain([self.average.0, self.average.1]).flatten()
    }

    fn has_average(&self) -> bool {
        self.average.0.is_some() || self.average.1.is_some()
    }

    /// The numbers in words: each position where they are few, else their ranges.
    fn numbers(&self) -> String {
        let states = match (
            self.rows.iter().any(|row| row.before.is_some()),
            self.rows.iter().any(|row| row.after.is_some()),
        ) {
            (true, true) => " before and after",
            (true, false) => " before",
            _ => " after",
        };
        let count = counted(self.rows.len(), "position", "positions");
        let positions = if self.rows.len() <= MOST_TOLD {
            self.rows.iter().map(PositionRow::told).collect::<Vec<_>>().join(", ")
        } else {
            let befores = range("before", self.rows.iter().filter_map(|row| row.before));
            let afters = range("after", self.rows.iter().filter_map(|row| row.after));
            befores.into_iter().chain(afters).collect::<Vec<_>>().join(", ")
        };
        let average = match self.average {
            (None, None) => String::new(),
            (before, after) => format!("; average {}", pair(before, after)),
        };
        format!("{}{states} at {count}, {}: {positions}{average}.", self.quantity, self.unit)
    }
}

/// So many positions are told one by one.
const MOST_TOLD: usize = 8;

impl PositionRow {
    fn told(&self) -> String {
        let numbers = pair(self.before, self.after);
        match &self.note {
            Some(note) => format!("{} {numbers} ({})", short(&self.label), short(note)),
            None => format!("{} {numbers}", short(&self.label)),
        }
    }

    /// How far it went; `None` where a state is missing.
    fn change(&self) -> Option<f64> {
        Some((self.after? - self.before?).abs())
    }
}

fn pair(before: Option<f64>, after: Option<f64>) -> String {
    match (before, after) {
        (Some(before), Some(after)) => format!("{} then {}", printed(before, 1), printed(after, 1)),
        (Some(before), None) => format!("{} before, after not taken", printed(before, 1)),
        (None, Some(after)) => format!("before not taken, {} after", printed(after, 1)),
        (None, None) => "not taken".to_owned(),
    }
}

fn range(state: &str, values: impl Iterator<Item = f64> + Clone) -> Option<String> {
    let (low, high) = (values.clone().reduce(f64::min)?, values.reduce(f64::max)?);
    Some(format!("{state} {} to {}", printed(low, 1), printed(high, 1)))
}

/// A row with the numbers to draw in it.
#[derive(Debug, Clone, Copy)]
struct Pair<'a> {
    words: RowWords<'a>,
    before: Option<f64>,
    after: Option<f64>,
}

/// What goes where.
struct Plan<'a> {
    key: Key<'a>,
    rows: Rows,
    pairs: Vec<Pair<'a>>,
    axis: Axis,
    foot: Foot,
    /// Says which positions are shown, where it is not all.
    cut: Option<Vec<String>>,
}

impl<'a> Plan<'a> {
    fn fit(chart: &'a Positions, frame: &Frame) -> Self {
        let all: Vec<usize> = (0..chart.rows.len()).collect();
        let labels = chart.rows.iter().map(|row| row.label.as_str());
        let roomy = Self::lay(chart, frame, Rows::roomy(frame, labels), &all);
        if roomy.height() <= frame.room() {
            return roomy;
        }
        let mut shown = chart.rows.len();
        loop {
            let compact = Self::lay(chart, frame, Layout::Compact, &telling(&chart.rows, shown));
            let over = compact.height() - frame.room();
            let least = usize::from(!chart.has_average());
            if over <= 0.0 || shown <= least {
                return compact;
            }
            let rows = (over / compact.rows.height(&compact.pairs[0].words)).ceil() as usize;
            shown = shown.saturating_sub(rows.max(1)).max(least);
        }
    }

    fn lay(chart: &'a Positions, frame: &Frame, layout: Layout, shown: &[usize]) -> Self {
        let is_low = layout == Layout::Compact;
        let mut pairs: Vec<Pair<'_>> = shown.iter().map(|&index| chart.rows[index].as_pair()).collect();
        if chart.has_average() {
            let words = RowWords { label: "Average", note: None, heavy: true, hollow: false };
            pairs.push(Pair { words, before: chart.average.0, after: chart.average.1 });
        }
        let words: Vec<_> = pairs.iter().map(|pair| pair.words).collect();
        let rows = Rows::new(frame, layout, &words);
        let (left, right) = rows.track();
        let widest = chart.values().map(|value| width(&printed(value, 1), SMALL)).fold(0.0, f64::max);
        let inset = widest + LARGE + 8.0;
        let (from, to) = (left + inset.max(ZIGZAG + 4.0), right - inset);
        let axis = Axis { scale: Scale::level(chart.values(), to - from), from, to };
        let way = if chart.more_is_better { "quieter →" } else { "← quieter" };
        let name = format!("{}, {}", chart.quantity, chart.unit);
        let mut states = Vec::new();
        if pairs.iter().any(|pair| pair.before.is_some()) {
            states.push(Entry::mark(Mark::Before, plain(&chart.states.0)));
        }
        if pairs.iter().any(|pair| pair.after.is_some()) {
            states.push(Entry::mark(Mark::After, plain(&chart.states.1)));
        }
        let cut = (shown.len() < chart.rows.len()).then(|| chart.cut_words(shown.len(), frame));
        Self {
            key: Key::new(states, frame.width(), is_low.then_some(1)),
            rows,
            pairs,
            axis,
            foot: Foot::new(&axis, &name, Some(way), frame, is_low),
            cut,
        }
    }

    fn height(&self) -> f64 {
        let cut = self.cut.as_ref().map_or(0.0, |lines| lines.len() as f64 * SMALL * LINE);
        self.key.height() + 4.0 + self.rows_height() + AXIS + self.foot.height() + cut
    }

    fn rows_height(&self) -> f64 {
        self.pairs.iter().map(|pair| self.rows.height(&pair.words)).sum()
    }

    fn draw_rows(&self, canvas: &mut Canvas, top: f64) {
        let mut y = top;
        for pair in &self.pairs {
            let middle = self.rows.draw(canvas, &pair.words, y);
            self.rows.track_grid(canvas, &self.axis, middle);
            pair.draw(canvas, &self.axis, middle);
            y += self.rows.height(&pair.words);
        }
    }
}

impl Positions {
    fn cut_words(&self, shown: usize, frame: &Frame) -> Vec<String> {
        let all = self.rows.len();
        let average = if self.has_average() { "; the average counts all" } else { "" };
        let long = match shown {
            0 => format!("None of {all} positions has room here{average}."),
            1 => format!("1 of {all} positions, the one that changed most{average}."),
            _ => format!("{shown} of {all} positions, those that changed most and least{average}."),
        };
        let lines = wrapped(&long, SMALL, frame.width(), 2);
        if lines.len() == 1 || frame.room() > 180.0 {
            return lines;
        }
        let which = if shown > 1 { "most and least" } else { "most" };
        let short = format!("{shown} of {all} shown: {which} changed");
        wrapped(&short, SMALL, frame.width(), 1)
    }
}

impl PositionRow {
    fn as_pair(&self) -> Pair<'_> {
        let words = RowWords { label: &self.label, note: self.note.as_deref(), heavy: false, hollow: false };
        Pair { words, before: self.before, after: self.after }
    }
}

/// Chooses positions: half of them those that changed most, half those that changed least, in the order of the room.
fn telling(rows: &[PositionRow], count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    if count >= rows.len() {
        return order;
    }
    // A position without a change tells less than any other, and stands between the two halves.
    let changes = |&index: &usize| rows[index].change();
    let (mut known, mut unknown): (Vec<usize>, Vec<usize>) =
        order.drain(..).partition(|index| changes(index).is_some());
    known.sort_by(|one, other| changes(other).unwrap_or(0.0).total_cmp(&changes(one).unwrap_or(0.0)));
    let least = known.split_off(known.len().div_ceil(2));
    let mut chosen: Vec<usize> = Vec::new();
    let (mut most, mut least) = (known.into_iter(), least.into_iter().rev());
    while chosen.len() < count {
        let next = if chosen.len().is_multiple_of(2) {
            most.next().or_else(|| least.next())
        } else {
            least.next().or_else(|| most.next())
        };
        match next.or_else(|| unknown.pop()) {
            Some(index) => chosen.push(index),
            None => break,
        }
    }
    chosen.sort_unstable();
    chosen
}

impl Pair<'_> {
    fn draw(&self, canvas: &mut Canvas, axis: &Axis, y: f64) {
        let heavy = self.words.heavy;
        let radius = if heavy { LARGE } else { RADIUS };
        let (before, after) =
            (self.before.map(|value| axis.at(value)), self.after.map(|value| axis.at(value)));
        let (mut square, mut dot) = (radius, radius);
        if let (Some(from), Some(to)) = (before, after) {
            let (tone, wide) = if heavy { (Tone::Ink, 3.5) } else { (Tone::Soft, 1.4) };
            canvas.trace(&[(from, y), (to, y)], tone, wide);
            if (from - to).abs() < 2.0 * radius {
                // The dot stands in the square, and both are seen.
                (square, dot) = (radius + 3.0, radius - 1.5);
            }
        }
        if let Some(x) = before {
            Mark::Before.draw(canvas, x, y, square);
        }
        if let Some(x) = after {
            Mark::After.draw(canvas, x, y, dot);
        }
        self.write_numbers(canvas, axis, y, square.max(dot) + 4.0);
    }

    /// Writes the numbers outward of the marks, so that they cannot meet.
    fn write_numbers(&self, canvas: &mut Canvas, axis: &Axis, y: f64, away: f64) {
        let words = |text: &'static str| Words::small(text).tone(Tone::Soft);
        match (self.before, self.after) {
            (Some(before), Some(after)) => {
                let after_is_right = after >= before;
                number_beside(
                    canvas,
                    (axis.at(before), y),
                    before,
                    (Tone::Before, self.words.heavy),
                    (away, !after_is_right),
                );
                number_beside(
                    canvas,
                    (axis.at(after), y),
                    after,
                    (Tone::After, self.words.heavy),
                    (away, after_is_right),
                );
            }
            (Some(value), None) | (None, Some(value)) => {
                let (tone, missing) = if self.before.is_some() {
                    (Tone::Before, "after not taken")
                } else {
                    (Tone::After, "before not taken")
                };
                let x = axis.at(value);
                number_beside(canvas, (x, y), value, (tone, self.words.heavy), (away, self.after.is_some()));
                let far = away + width(&printed(value, 1), SMALL) + 10.0;
                canvas.write_where_free(&[
                    (words(missing).end(), x - away, y),
                    (words(missing), x + away, y),
                    (words(missing), x + far, y),
                    (words(missing).end(), x - far, y),
                ]);
            }
            (None, None) => {
                canvas.write_where_free(&[(words("not taken"), axis.from + 8.0, y)]);
            }
        }
    }
}

fn number_beside(
    canvas: &mut Canvas,
    (x, y): (f64, f64),
    value: f64,
    (tone, bold): (Tone, bool),
    (away, is_right): (f64, bool),
) {
    let text = printed(value, 1);
    let words = Words { bold, ..Words::small(&text).tone(tone) };
    let place = if is_right { (words, x + away, y) } else { (words.end(), x - away, y) };
    canvas.write_where_free(&[place]);
}

#[cfg(test)]
mod tests;
