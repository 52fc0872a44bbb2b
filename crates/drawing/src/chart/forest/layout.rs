//! Where the rows of a forest stand: names, bars and numbers beside each other on a sheet, below each other on a phone.
//!
//! Leaves out the words themselves.

use super::{Forest, ForestRow, next_job, ranges, values, words};
use crate::canvas::{Canvas, Words};
use crate::chart::Bound;
use crate::chart::Value;
use crate::chart::axis::{Axis, NUMBERS, Scale};
use crate::chart::frame::Frame;
use crate::chart::gains::{self, Print, dashed, range_level};
use crate::chart::mark::{ARROW, Entry, Key, LARGE, Mark, RADIUS, one_line, write_lines};
use crate::picture::Tone;
use crate::text::{LINE, SMALL, width, wrapped};

/// From this width on names, bars and numbers stand beside each other.
const BESIDE: f64 = 560.0;
/// A line of small text.
const TEXT: f64 = SMALL * LINE;
/// Height of a bar below its name.
const BAR: f64 = 14.0;
/// Between rows where there is all the room they need.
const AIR: f64 = 6.0;
/// Between columns.
const GAP: f64 = 14.0;

/// What fits.
#[derive(Debug)]
pub(super) struct Plan {
    /// Names with details below them; else names on one line.
    detailed: bool,
    /// Names, bars and numbers beside each other.
    beside: bool,
    /// Average and next job in one row.
    joined: bool,
    key: bool,
    /// Words of all rows, where they are detailed.
    texts: Vec<RowText>,
    /// How many rows are drawn.
    drawn: usize,
    /// Left and right end of the names, and of the bars; numbers take what is right of them.
    names: (f64, f64),
    bars: (f64, f64),
    numbers: f64,
    axis: Axis,
}

/// Numbers and names of one row, in lines.
#[derive(Debug)]
struct RowText {
    name: Vec<String>,
    detail: Vec<String>,
    numbers: String,
}

impl Plan {
    pub(super) fn of(forest: &Forest, frame: &Frame, print: Print) -> Self {
        let beside = frame.width() >= BESIDE;
        let (left, right) = (frame.left, frame.right);
        let mut plan = Self {
            detailed: true,
            beside,
            joined: false,
            key: true,
            texts: Vec::new(),
            drawn: forest.rows.len(),
            names: (left, right),
            bars: (left, right),
            numbers: right - left,
            axis: Axis { scale: Scale::fixed(0.0, 1.0, 1.0), from: left, to: right },
        };
        if beside {
            let numbers = forest.rows.iter().map(|row| words::numbers(row, print));
            let summary = forest.average.map(|average| print.value(average));
            let next = next_job(forest).map(|next| words::next_job(next, print));
            let widest = numbers.chain(summary).chain(next).map(|text| width(&text, SMALL));
            let widest = widest.fold(0.0, f64::max).min(frame.width() * 0.34);
            let names = left + frame.width() * 0.3;
            plan.names = (left, names);
            plan.bars = (names + GAP, right - widest - GAP);
            plan.numbers = widest + 0.1;
        }
        let inset = inset(forest);
        let (from, to) = (plan.bars.0 + inset.0, plan.bars.1 - inset.1);
        let scale = Scale::level(gains::reach(&values(forest), &ranges(forest)), to - from);
        plan.axis = Axis { scale, from, to };
        plan.fit(forest, frame, print);
        plan
    }

    /// Gives up details, the key, and then rows, until the height is enough.
    fn fit(&mut self, forest: &Forest, frame: &Frame, print: Print) {
        let room = frame.room() - 0.5;
        let tries = [(true, true), (false, true), (false, false)];
        for (detailed, key) in tries {
            (self.detailed, self.key) = (detailed, key);
            let texts = forest.rows.iter().filter(|_| detailed).map(|row| self.text(forest, row, print));
            self.texts = texts.collect();
            let rows: f64 = (0..forest.rows.len()).map(|index| self.row_height(index)).sum();
            if self.around(forest, frame) + rows <= room {
                return;
            }
        }
        self.joined = true;
        let (row, around) = (self.least_row(), self.around(forest, frame));
        // One line says how many are not drawn.
        let fitting = ((room - around) / row).floor().max(0.0) as usize;
        let fewer = ((room - around - TEXT) / row).floor().max(0.0) as usize;
        self.drawn = if fitting >= forest.rows.len() { forest.rows.len() } else { fewer };
    }

    fn least_row(&self) -> f64 {
        if self.beside { TEXT + 1.0 } else { TEXT - 2.0 + BAR }
    }

    /// Height of everything but the rows.
    fn around(&self, forest: &Forest, frame: &Frame) -> f64 {
        let summary =
            self.summaries(forest) as f64 * (self.least_row() + if self.detailed { AIR } else { 0.0 });
        let rule = if summary > 0.0 { 4.0 } else { 0.0 };
        let key = if self.key { self.key(forest, frame).height() + 4.0 } else { 0.0 };
        // The name of zero, the axis, and what it shows.
        key + TEXT + summary + rule + NUMBERS + TEXT
    }

    /// Rows below the rule.
    fn summaries(&self, forest: &Forest) -> usize {
        let all = usize::from(forest.average.is_some()) + usize::from(forest.next_job.is_some());
        if self.joined { all.min(1) } else { all }
    }

    fn row_height(&self, index: usize) -> f64 {
        let Some(text) = self.texts.get(index) else { return self.least_row() };
        let lines = (text.name.len() + text.detail.len()) as f64 * TEXT;
        if self.beside { lines.max(TEXT) + AIR } else { lines.max(TEXT) + BAR + AIR }
    }

    fn text(&self, forest: &Forest, row: &ForestRow, print: Print) -> RowText {
        let numbers = words::numbers(row, print);
        let (left, right) = self.names;
        let (room, numbers) = if self.beside {
            (right - left, one_line(&numbers, SMALL, self.numbers))
        } else {
            let numbers = one_line(&numbers, SMALL, (right - left) * 0.7);
            (right - left - width(&numbers, SMALL) - GAP, numbers)
        };
        let name = words::label(forest, row);
        let (name, detail) = if self.detailed {
            (wrapped(&name, SMALL, room, 2), wrapped(&row.detail, SMALL, right - left, 2))
        } else {
            let why = words::uncounted(forest, row);
            let short = one_line(&row.label, SMALL, (room - width(why, SMALL)).max(3.0 * SMALL));
            (vec![one_line(&format!("{short}{why}"), SMALL, room)], Vec::new())
        };
        RowText { name, detail, numbers }
    }

    fn key<'a>(&self, forest: &Forest, frame: &Frame) -> Key<'a> {
        let rows = &forest.rows;
        let mut entries = Vec::new();
        let weights = || rows.iter().filter_map(|row| row.weight);
        let weighed = weights().zip(weights().skip(1)).any(|(one, next)| one != next);
        if rows.iter().any(|row| row.claimed) {
            let text = if weighed { "result; a larger dot counts more" } else { "result" };
            entries.push(Entry::mark(Mark::After, text));
        }
        if rows.iter().any(|row| !row.claimed) {
            entries.push(Entry::mark(Mark::Hollow, "not claimed"));
        }
        if rows.iter().any(|row| row.value.interval.is_some()) {
            entries.push(Entry::interval("likely range"));
        }
        if rows.iter().any(|row| row.value.bound != Bound::Exact) {
            entries.push(Entry::sample("only a bound", |canvas: &mut Canvas, x, y| {
                Bound::AtLeast.draw_level(canvas, x - 12.0, y);
            }));
        }
        if ranges(forest).iter().any(|&range| gains::leaves(&self.axis, range)) {
            entries.push(Entry::words("arrow at an end: the range goes on"));
        }
        Key::new(entries, frame.width(), None)
    }

    /// Draws everything and returns the lower end.
    pub(super) fn draw(&self, forest: &Forest, frame: &mut Frame, print: Print) -> f64 {
        let mut top = frame.top;
        if self.key {
            let key = self.key(forest, frame);
            key.draw(&mut frame.canvas, frame.left, top);
            top += key.height() + 4.0;
        }
        let canvas = &mut frame.canvas;
        if forest.is_change {
            self.name_zero(canvas, top);
        }
        top += TEXT;
        let begin = top;
        // Lines behind the bars come first, so their length is worked out before.
        let heights: Vec<f64> = (0..self.drawn).map(|index| self.row_height(index)).collect();
        let left_out = forest.rows.len() - self.drawn;
        let more = if left_out > 0 { TEXT } else { 0.0 };
        let summary = self.least_row() + if self.detailed { AIR } else { 0.0 };
        let summaries = self.summaries(forest) as f64;
        let rule = if summaries > 0.0 { 4.0 } else { 0.0 };
        let bottom = begin + heights.iter().sum::<f64>() + more + rule + summaries * summary;
        self.draw_axis(canvas, bottom, begin);
        for (index, height) in heights.into_iter().enumerate() {
            self.draw_row(canvas, forest, index, (top, height), print);
            top += height;
        }
        if left_out > 0 {
            let text = left_out_words(forest, left_out);
            let text = one_line(&text, SMALL, frame.right - frame.left);
            self.clear(canvas, (frame.left, top + TEXT / 2.0), &text);
            canvas.write(Words::small(&text).tone(Tone::Odd), frame.left, top + TEXT / 2.0);
            top += TEXT;
        }
        if rule > 0.0 {
            canvas.trace(&[(frame.left, top + 1.0), (frame.right, top + 1.0)], Tone::Ink, 1.2);
            top += rule;
        }
        self.draw_summaries(canvas, forest, (top, summary), print);
        let left = if self.beside { self.bars.0 } else { frame.left };
        let title = gains::axis_title(&forest.quantity, &format!(", {}", forest.unit), frame.right - left);
        write_lines(canvas, &[title], Words::small(""), left, bottom + NUMBERS)
    }

    /// Paints over grid lines behind words that cross the bars.
    fn clear(&self, canvas: &mut Canvas, (x, y): (f64, f64), text: &str) {
        let area = Words::small(text).area(x, y);
        canvas.patch(area, crate::hatch::Hatch::Plain);
    }

    fn name_zero(&self, canvas: &mut Canvas, top: f64) {
        let text = "no change";
        let half = width(text, SMALL) / 2.0;
        let x = self.axis.at(0.0).clamp(self.bars.0 + half, (self.bars.1 - half).max(self.bars.0 + half));
        canvas.write(Words::small(text).middle().tone(Tone::Soft), x, top + TEXT / 2.0);
    }

    /// Draws the axis below everything; grid lines go up between columns, or only show at the axis where words are in between.
    fn draw_axis(&self, canvas: &mut Canvas, bottom: f64, begin: f64) {
        let top = if self.beside { begin } else { bottom };
        self.axis.draw_level(canvas, bottom, top);
    }

    fn draw_row(
        &self,
        canvas: &mut Canvas,
        forest: &Forest,
        index: usize,
        (top, height): (f64, f64),
        print: Print,
    ) {
        let row = &forest.rows[index];
        let compact;
        let text = match self.texts.get(index) {
            Some(text) => text,
            None => {
                compact = self.text(forest, row, print);
                &compact
            }
        };
        let pad = if self.detailed { AIR / 2.0 } else { 0.0 };
        let first = top + pad + TEXT / 2.0;
        let below = write_lines(
            canvas,
            &text.name,
            Words { bold: self.detailed, ..Words::small("") },
            self.names.0,
            top + pad,
        );
        write_lines(canvas, &text.detail, Words::small("").tone(Tone::Soft), self.names.0, below);
        let (x, y) =
            if self.beside { (self.bars.1 + GAP, top + height / 2.0) } else { (self.names.1, first) };
        let numbers = Words::small(&text.numbers);
        canvas.write(if self.beside { numbers } else { numbers.end() }, x, y);
        let bar = if self.beside { top + height / 2.0 } else { top + height - pad - BAR / 2.0 };
        self.zero_behind(canvas, bar);
        self.draw_value(canvas, forest, row, bar);
    }

    /// Zero behind a bar of its own.
    fn zero_behind(&self, canvas: &mut Canvas, y: f64) {
        if !self.beside {
            let zero = self.axis.at(0.0);
            canvas.trace(&[(zero, y - 5.0), (zero, y + 6.0)], Tone::Soft, 1.2);
            canvas.trace(&[(self.axis.from, y), (self.axis.to, y)], Tone::Pale, 1.0);
        }
    }

    fn draw_value(&self, canvas: &mut Canvas, forest: &Forest, row: &ForestRow, y: f64) {
        let tone = if row.claimed { Tone::After } else { Tone::Odd };
        if let Some(range) = row.value.shown_interval() {
            range_level(canvas, &self.axis, range, y, tone);
        }
        let x = self.axis.at(row.value.value);
        row.value.bound.draw_level(canvas, x, y);
        let mark = if row.claimed { Mark::After } else { Mark::Hollow };
        mark.draw(canvas, x, y, radius(forest, row));
    }

    /// Average and next job below the rule.
    fn draw_summaries(
        &self,
        canvas: &mut Canvas,
        forest: &Forest,
        (mut top, height): (f64, f64),
        print: Print,
    ) {
        if self.joined && forest.average.is_some() && forest.next_job.is_some() {
            let average = forest.average.map_or(String::new(), |value| {
                format!("{}{}", value.bound.words(), print.signed(value.value))
            });
            let next = next_job(forest).map_or(String::new(), |next| words::next_job(next, print));
            let (name, numbers) = if self.beside {
                ("Average; dashed: next job".to_owned(), format!("{average}; {next}"))
            } else {
                (format!("Average {average}; next job {next}"), String::new())
            };
            let y = self.summary(canvas, &name, &numbers, (top, height));
            self.draw_next(canvas, next_job(forest), y);
            self.draw_average(canvas, forest.average, y);
            return;
        }
        if let Some(value) = forest.average {
            let y = self.summary(canvas, &words::average(forest), &print.value(value), (top, height));
            self.draw_average(canvas, Some(value), y);
            top += height;
        }
        if let Some(next) = next_job(forest) {
            let numbers = words::next_job(next, print);
            let y = self.summary(canvas, "Expect of the next job", &numbers, (top, height));
            self.draw_next(canvas, Some(next), y);
        }
    }

    /// Writes a row below the rule and returns the height of its bar.
    fn summary(&self, canvas: &mut Canvas, name: &str, numbers: &str, (top, height): (f64, f64)) -> f64 {
        let (left, right) = self.names;
        let pad = if self.detailed { AIR / 2.0 } else { 0.0 };
        let middle = top + height / 2.0;
        let first = if self.beside { middle } else { top + pad + TEXT / 2.0 };
        let taken = if self.beside || numbers.is_empty() { 0.0 } else { width(numbers, SMALL) + GAP };
        let fits = width(name, SMALL) <= right - left - taken;
        let name =
            if fits { name.to_owned() } else { one_line(name, SMALL, (right - left - taken).max(SMALL)) };
        canvas.write(Words::small(&name).bold(), left, first);
        let numbers = one_line(numbers, SMALL, if self.beside { self.numbers } else { right - left });
        if self.beside {
            canvas.write(Words::small(&numbers).bold(), self.bars.1 + GAP, middle);
        } else if !numbers.is_empty() {
            canvas.write(Words::small(&numbers).bold().end(), right, first);
        }
        let bar = if self.beside { middle } else { top + height - pad - BAR / 2.0 };
        self.zero_behind(canvas, bar);
        bar
    }

    /// A diamond as wide as its range.
    fn draw_average(&self, canvas: &mut Canvas, average: Option<Value>, y: f64) {
        let Some(average) = average else { return };
        let x = self.axis.at(average.value);
        average.bound.draw_level(canvas, x, y);
        match average.shown_interval() {
            Some((from, to)) => {
                let (from, to) = (self.axis.at(from), self.axis.at(to));
                let diamond = [(from, y), (x, y - LARGE + 1.0), (to, y), (x, y + LARGE - 1.0)];
                canvas.closed(&diamond, Tone::After, Tone::After, 1.2);
            }
            None => Mark::Average.draw(canvas, x, y, RADIUS),
        }
    }

    /// A dashed bar; of a bound with its arrow where it goes on.
    fn draw_next(&self, canvas: &mut Canvas, next: Option<Value>, y: f64) {
        let Some((next, range)) = next.and_then(|next| Some((next, next.shown_interval()?))) else { return };
        let (from, to) = (self.axis.at(range.0), self.axis.at(range.1));
        dashed(canvas, &[(from, y), (to, y)], (Tone::Ink, 3.0), "6 4");
        let ends = match next.bound {
            Bound::Exact => vec![from, to],
            Bound::AtLeast => vec![from],
            Bound::AtMost => vec![to],
        };
        next.bound.draw_level(canvas, self.axis.at(next.value), y);
        for x in ends {
            canvas.trace(&[(x, y - 5.0), (x, y + 5.0)], Tone::Ink, 1.8);
        }
    }
}

/// Room that arrows take left and right of the axis.
fn inset(forest: &Forest) -> (f64, f64) {
    let any =
        |bound| forest.rows.iter().map(|row| row.value).chain(forest.average).any(|it| it.bound == bound);
    let least = LARGE + 5.0;
    let side = |bound| if any(bound) { ARROW + 2.0 } else { least };
    (side(Bound::AtMost), side(Bound::AtLeast))
}

/// Half of a mark's width: its area follows the weight.
fn radius(forest: &Forest, row: &ForestRow) -> f64 {
    let most = forest.rows.iter().filter_map(|row| row.weight).fold(0.0, f64::max);
    match row.weight {
        Some(weight) if most > 0.0 => (LARGE * (weight.max(0.0) / most).sqrt()).max(2.5),
        _ => RADIUS - 1.0,
    }
}

fn left_out_words(forest: &Forest, count: usize) -> String {
    let averaged = match (forest.average.is_some(), words::counted(forest)) {
        (false, _) | (true, 0) => String::new(),
        (true, all) if all == forest.rows.len() => "; the average counts all".to_owned(),
        (true, some) => format!("; the average counts {some} of {}", forest.rows.len()),
    };
    format!("and {count} more, not drawn{averaged}")
}
