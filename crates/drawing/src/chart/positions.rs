//! What each position, or each wall, showed before and after, side by side on one scale.
//!
//! Leaves out why a position is odd: the word for it is given.

use super::Bound;
use super::axis::{Axis, Scale, ZIGZAG, printed};
use super::frame::{Frame, counted, finite, short, told};
use super::mark::{ARROW, Entry, Key, LARGE, Mark, RADIUS, write_lines};
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
    /// What one row is.
    pub each: Each,
    /// The positions, in the order they stand in the room.
    pub rows: Vec<PositionRow>,
    /// The averages over the rows that have both states, where there are any, in a row of their own.
    pub average: (Option<f64>, Option<f64>),
    /// How the true averages stand to them.
    pub average_bounds: (Bound, Bound),
    /// More is better, as with a level difference; otherwise less is.
    pub more_is_better: bool,
}

/// What a row is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Each {
    /// A position in a room.
    #[default]
    Position,
    /// A wall.
    Wall,
}

impl Each {
    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Position => ("position", "positions"),
            Self::Wall => ("wall", "walls"),
        }
    }
}

/// One position.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PositionRow {
    /// Its label.
    pub label: String,
    /// What was read before; `None` where it was not taken.
    pub before: Option<f64>,
    /// What was read after.
    pub after: Option<f64>,
    /// How the true numbers stand to those before and after.
    pub bounds: (Bound, Bound),
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
        let shared = (self.shared() < self.rows.len()).then(|| format!("of the {} in both", self.shared()));
        let plan = Plan::fit(self, &frame, shared.as_deref());
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
        let (one, many) = self.each.words();
        let count = counted(self.rows.len(), one, many);
        let positions = if self.rows.len() <= MOST_TOLD {
            self.rows.iter().map(PositionRow::told).collect::<Vec<_>>().join(", ")
        } else {
            let bounds = |of: fn(&PositionRow) -> Bound| bounds_words(self.rows.iter().map(of));
            let befores = range("before", self.rows.iter().filter_map(|row| row.before));
            let afters = range("after", self.rows.iter().filter_map(|row| row.after));
            let befores = befores.map(|words| words + bounds(|row| row.bounds.0));
            let afters = afters.map(|words| words + bounds(|row| row.bounds.1));
            befores.into_iter().chain(afters).collect::<Vec<_>>().join(", ")
        };
        let average = match self.average {
            (None, None) => String::new(),
            (before, after) => {
                let of = self.shared_words().map_or_else(String::new, |words| format!(" {words}"));
                format!("; average{of} {}", pair((before, after), self.average_bounds))
            }
        };
        let at = if self.each == Each::Wall { "of" } else { "at" };
        format!("{}{states} {at} {count}, {}: {positions}{average}.", self.quantity, self.unit)
    }

    /// How many rows have both states: those the averages count.
    fn shared(&self) -> usize {
        self.rows.iter().filter(|row| row.before.is_some() && row.after.is_some()).count()
    }

    /// Which rows the averages count, where it is not all of them: `of the 3 positions both have`.
    fn shared_words(&self) -> Option<String> {
        let shared = self.shared();
        let (one, many) = self.each.words();
        let what = if shared == 1 { one } else { many };
        (shared < self.rows.len()).then(|| format!("of the {shared} {what} both have"))
    }
}

/// So many positions are told one by one.
const MOST_TOLD: usize = 8;

impl PositionRow {
    fn told(&self) -> String {
        let numbers = pair((self.before, self.after), self.bounds);
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

/// Numbers before and after with their bounds: `30.9 then at least 34.7`.
fn pair((before, after): (Option<f64>, Option<f64>), bounds: (Bound, Bound)) -> String {
    let number = |value: f64, bound: Bound| format!("{}{}", bound.words(), printed(value, 1));
    match (before, after) {
        (Some(before), Some(after)) => {
            format!("{} then {}", number(before, bounds.0), number(after, bounds.1))
        }
        (Some(before), None) => format!("{} before, after not taken", number(before, bounds.0)),
        (None, Some(after)) => format!("before not taken, {} after", number(after, bounds.1)),
        (None, None) => "not taken".to_owned(),
    }
}

/// Says of many rows told together that their numbers are bounds.
fn bounds_words(mut bounds: impl Iterator<Item = Bound>) -> &'static str {
    match bounds.find(|bound| *bound != Bound::Exact) {
        None | Some(Bound::Exact) => "",
        Some(Bound::AtLeast) => " (some are at least that)",
        Some(Bound::AtMost) => " (some are at most that)",
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
    bounds: (Bound, Bound),
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
    fn fit(chart: &'a Positions, frame: &Frame, shared: Option<&'a str>) -> Self {
        let all: Vec<usize> = (0..chart.rows.len()).collect();
        let labels = chart.rows.iter().map(|row| row.label.as_str());
        let roomy = Self::lay(chart, frame, Rows::roomy(frame, labels), &all, shared);
        if roomy.height() <= frame.room() {
            return roomy;
        }
        let mut shown = chart.rows.len();
        loop {
            let compact = Self::lay(chart, frame, Layout::Compact, &telling(&chart.rows, shown), shared);
            let over = compact.height() - frame.room();
            let least = usize::from(!chart.has_average());
            if over <= 0.0 || shown <= least {
                return compact;
            }
            let rows = (over / compact.rows.height(&compact.pairs[0].words)).ceil() as usize;
            shown = shown.saturating_sub(rows.max(1)).max(least);
        }
    }

    fn lay(
        chart: &'a Positions,
        frame: &Frame,
        layout: Layout,
        shown: &[usize],
        shared: Option<&'a str>,
    ) -> Self {
        let is_low = layout == Layout::Compact;
        let mut pairs: Vec<Pair<'_>> = shown.iter().map(|&index| chart.rows[index].as_pair()).collect();
        if chart.has_average() {
            let words = RowWords { label: "Average", note: shared, heavy: true, hollow: false };
            let (before, after) = chart.average;
            pairs.push(Pair { words, before, after, bounds: chart.average_bounds });
        }
        let words: Vec<_> = pairs.iter().map(|pair| pair.words).collect();
        let rows = Rows::new(frame, layout, &words);
        let (left, right) = rows.track();
        let texts = pairs.iter().flat_map(Pair::texts);
        let widest = texts.map(|text| width(&text, SMALL)).fold(0.0, f64::max);
        let reach = if pairs.iter().any(Pair::is_bound) { ARROW } else { LARGE };
        // Long words give way rather than the axis: it keeps half of the track.
        let inset = (widest + reach + 8.0).min((right - left) / 4.0);
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
        // On a low sheet the names of the states come first.
        if !is_low && pairs.iter().any(Pair::is_bound) {
            states.push(Entry::sample("only a bound", |canvas, x, y| {
                Bound::AtLeast.draw_level(canvas, x - 12.0, y);
            }));
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
        let (all, many) = (self.rows.len(), self.each.words().1);
        let average = match (self.has_average(), self.shared()) {
            (false, _) => String::new(),
            (true, shared) if shared == all => "; the average counts all".to_owned(),
            (true, shared) => format!("; the average counts the {shared} {many} both have"),
        };
        let long = match shown {
            0 => format!("None of {all} {many} has room here{average}."),
            1 => format!("1 of {all} {many}, the one that changed most{average}."),
            _ => format!("{shown} of {all} {many}, those that changed most and least{average}."),
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
        Pair { words, before: self.before, after: self.after, bounds: self.bounds }
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

/// A number as it stands in a chart: `at least 34.7`.
fn number_words(value: f64, bound: Bound) -> String {
    format!("{}{}", bound.words(), printed(value, 1))
}

impl Pair<'_> {
    fn texts(&self) -> impl Iterator<Item = String> {
        let of = |value: Option<f64>, bound| value.map(|value| number_words(value, bound));
        [of(self.before, self.bounds.0), of(self.after, self.bounds.1)].into_iter().flatten()
    }

    fn is_bound(&self) -> bool {
        let is = |value: Option<f64>, bound| value.is_some() && bound != Bound::Exact;
        is(self.before, self.bounds.0) || is(self.after, self.bounds.1)
    }

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
            self.bounds.0.draw_level(canvas, x, y);
            Mark::Before.draw(canvas, x, y, square);
        }
        if let Some(x) = after {
            self.bounds.1.draw_level(canvas, x, y);
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
                    (before, self.bounds.0),
                    (Tone::Before, self.words.heavy),
                    (away, !after_is_right),
                );
                number_beside(
                    canvas,
                    (axis.at(after), y),
                    (after, self.bounds.1),
                    (Tone::After, self.words.heavy),
                    (away, after_is_right),
                );
            }
            (Some(value), None) | (None, Some(value)) => {
                let (tone, missing, bound) = if self.before.is_some() {
                    (Tone::Before, "after not taken", self.bounds.0)
                } else {
                    (Tone::After, "before not taken", self.bounds.1)
                };
                let x = axis.at(value);
                let side = (away, self.after.is_some());
                number_beside(canvas, (x, y), (value, bound), (tone, self.words.heavy), side);
                let away = if bound == Bound::Exact { away } else { away.max(ARROW + 4.0) };
                let far = away + width(&number_words(value, bound), SMALL) + 10.0;
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

/// Writes a number on one side of its mark, beyond the arrow of its bound; without the words of the bound where they find no room.
fn number_beside(
    canvas: &mut Canvas,
    (x, y): (f64, f64),
    (value, bound): (f64, Bound),
    (tone, bold): (Tone, bool),
    (away, is_right): (f64, bool),
) {
    let is_beyond = bound == if is_right { Bound::AtLeast } else { Bound::AtMost };
    let away = if is_beyond { away.max(ARROW + 4.0) } else { away };
    let (long, brief) = (number_words(value, bound), printed(value, 1));
    let place = |text| {
        let words = Words { bold, ..Words::small(text).tone(tone) };
        if is_right { (words, x + away, y) } else { (words.end(), x - away, y) }
    };
    canvas.write_where_free(&[place(&long), place(&brief)]);
}

#[cfg(test)]
mod tests;
