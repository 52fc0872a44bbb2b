//! Where jobs, the line and names stand in a chart of costs and gains.
//!
//! Leaves out the words themselves.

use super::{Worth, WorthRow, words};
use crate::canvas::{Canvas, Stroke, Words};
use crate::chart::Bound;
use crate::chart::axis::{Axis, NUMBERS, Scale};
use crate::chart::frame::Frame;
use crate::chart::gains::{self, axis_title, range_upright};
use crate::chart::mark::{ARROW, Entry, Key, Mark, RADIUS, write_lines};
use crate::picture::{ChartError, Room, Tone};
use crate::text::{Area, LINE, SMALL, width, wrapped};

/// A line of small text.
const TEXT: f64 = SMALL * LINE;
/// Height of the plot where there is all the room it needs, on a sheet and on a phone.
const HEIGHTS: (f64, f64) = (380.0, 300.0);
/// From this width on a sheet.
const SHEET: f64 = 560.0;
/// Up to so many jobs are all named.
const ALL_NAMED: usize = 24;
/// Of more jobs than that so many on the line are named; if more stand on it they have numbers.
const LINE_NAMED: usize = 12;
/// From number to words in the list.
const INDENT: f64 = 28.0;
/// Below this height words are saved.
const LOW: f64 = 200.0;
/// The list takes at most this part of a limited height.
const LIST: f64 = 0.4;

/// The plot.
struct Plot {
    costs: Axis,
    gains: Axis,
    area: Area,
}

/// A name that found no room at its job, by index of the job; the number stands there instead, if it found room.
struct Unnamed {
    index: usize,
    number: Option<usize>,
}

/// Draws everything and returns the sheet and its lower end.
///
/// # Errors
/// [`ChartError::NoRoom`].
pub(super) fn draw(worth: &Worth, room: Room) -> Result<(Frame, f64), ChartError> {
    let mut frame = Frame::begin(&worth.title, &worth.finding, room)?;
    let (mut unnamed, mut bottom) = draw_plot(worth, &mut frame, 0.0, usize::MAX);
    let wanted = unnamed.len() + usize::from(dots(worth) > 0);
    if frame.limit.is_some() && wanted > 0 {
        // Once more, with room for the list; its last line says what is left out.
        frame = Frame::begin(&worth.title, &worth.finding, room)?;
        let most = if frame.room() < LOW { 1 } else { (frame.room() * LIST / TEXT) as usize };
        let lines = most.min(wanted + 1);
        (unnamed, bottom) = draw_plot(worth, &mut frame, lines as f64 * TEXT + 3.0, lines - 1);
    }
    let bottom = if wanted > 0 { draw_list(worth, &mut frame, &unnamed, bottom + 2.0) } else { bottom };
    Ok((frame, bottom))
}

/// How many jobs are dots without a name.
fn dots(worth: &Worth) -> usize {
    if worth.rows.len() <= ALL_NAMED { 0 } else { worth.rows.iter().filter(|row| !row.on_line).count() }
}

/// Draws key, axes, jobs and names, with at most so many numbers, and leaves `reserve` below.
fn draw_plot(worth: &Worth, frame: &mut Frame, reserve: f64, numbers: usize) -> (Vec<Unnamed>, f64) {
    let low = frame.room() < LOW;
    let most = frame.limit.map(|_| if low { 1 } else { 2 });
    let over = if low { format!(" over {}", worth.currency) } else { String::new() };
    let title = axis_title(&worth.gain, &format!(", {}{over}", worth.unit), frame.width());
    let mut entries = if low { low_key(worth) } else { key(worth, any_cut(worth, frame)) };
    // A low sheet has no line to spare for what the axis shows.
    let beside = low && frame.width() >= SHEET;
    if beside {
        entries.insert(0, Entry::words(format!("{}{over}", worth.unit)));
    }
    let key = Key::new(entries, frame.width(), most);
    let above = key.height() + 6.0 + if beside { 0.0 } else { TEXT };
    let below = if low { NUMBERS } else { NUMBERS + TEXT };
    let ideal = if frame.width() >= SHEET { HEIGHTS.0 } else { HEIGHTS.1 };
    let height = (frame.room() - above - below - reserve - 0.5).clamp(20.0, ideal);
    let plot = Plot::of(worth, frame, frame.top + above, height);

    let right = frame.right;
    let left = frame.left;
    let canvas = &mut frame.canvas;
    key.draw(canvas, left, frame.top);
    if !beside {
        canvas.write(Words::small(&title), left, frame.top + key.height() + 2.0 + TEXT / 2.0);
    }
    plot.gains.draw_upright(canvas, plot.area.left, plot.area.right());
    plot.costs.draw_level(canvas, plot.area.bottom(), plot.area.top);
    plot.draw_line(canvas, worth);
    plot.draw_jobs(canvas, worth);
    plot.name_zero(canvas);
    let zero =
        Area { left: plot.area.left, top: plot.gains.at(0.0) - 1.0, width: plot.area.width, height: 2.0 };
    canvas.keep(zero);
    let unnamed = plot.name_jobs(canvas, worth, numbers);
    let mut bottom = plot.area.bottom() + NUMBERS;
    if !low {
        let lines = if frame.limit.is_some() { 1 } else { 2 };
        let whole = format!("{}, {}", worth.cost, worth.currency);
        let fits = wrapped(&whole, SMALL, right - left, usize::MAX).len() <= lines;
        let cut = axis_title(&worth.cost, &format!(", {}", worth.currency), right - left);
        let title = if fits { wrapped(&whole, SMALL, right - left, lines) } else { vec![cut] };
        bottom = write_lines(canvas, &title, Words::small(""), left, bottom).max(bottom + TEXT);
    }
    (unnamed, bottom)
}

/// Whether a range is cut, whatever the height of the plot.
fn any_cut(worth: &Worth, frame: &Frame) -> bool {
    let plot = Plot::of(worth, frame, 0.0, HEIGHTS.1);
    drawn_ranges(worth).any(|range| gains::leaves(&plot.gains, range))
}

/// Whether ranges and bounds of jobs are drawn: of many jobs those on the line, if they are few.
fn is_drawn(worth: &Worth, on_line: bool) -> bool {
    let many = worth.rows.len() > ALL_NAMED;
    !many || (on_line && worth.rows.iter().filter(|row| row.on_line).count() <= LINE_NAMED)
}

fn drawn_ranges(worth: &Worth) -> impl Iterator<Item = (f64, f64)> {
    let (line, all) = (is_drawn(worth, true), is_drawn(worth, false));
    let rows = worth.rows.iter().filter(move |row| if row.on_line { line } else { all });
    rows.filter_map(|row| row.gain.shown_interval())
}

/// What line and hollow marks are, in few words.
fn low_key(worth: &Worth) -> Vec<Entry<'_>> {
    let mut entries = Vec::new();
    if worth.rows.iter().any(|row| row.on_line) {
        entries.push(line_entry("best for the cost"));
    }
    if worth.rows.iter().any(|row| !row.claimed) {
        entries.push(Entry::mark(Mark::Hollow, "not claimed"));
    }
    entries
}

fn line_entry(text: &str) -> Entry<'static> {
    Entry::sample(text, |canvas: &mut Canvas, x, y| {
        let steps = [(x - 13.0, y + 5.0), (x, y + 5.0), (x, y - 5.0), (x + 13.0, y - 5.0)];
        canvas.trace(&steps, Tone::Ink, 1.6);
    })
}

fn key(worth: &Worth, cut: bool) -> Vec<Entry<'_>> {
    let rows = &worth.rows;
    let mut entries = Vec::new();
    if rows.iter().any(|row| row.on_line) {
        entries.push(line_entry("nothing cheaper gained as much"));
    }
    if rows.iter().any(|row| !row.claimed) {
        entries.push(Entry::mark(Mark::Hollow, "not claimed"));
    }
    if rows.iter().any(|row| row.gain.bound != Bound::Exact) {
        entries.push(Entry::sample("only a bound", |canvas: &mut Canvas, x, y| {
            canvas.trace(&[(x, y + 7.0), (x, y - 7.0)], Tone::Odd, 2.0);
            canvas.trace(&[(x - 4.5, y - 1.0), (x, y - 7.0), (x + 4.5, y - 1.0)], Tone::Odd, 2.0);
        }));
    }
    if drawn_ranges(worth).next().is_some() {
        entries.push(Entry::sample("likely range", |canvas: &mut Canvas, x, y| {
            canvas.trace(&[(x, y - 7.0), (x, y + 7.0)], Tone::After, 1.8);
            canvas.trace(&[(x - 5.0, y - 7.0), (x + 5.0, y - 7.0)], Tone::After, 1.8);
            canvas.trace(&[(x - 5.0, y + 7.0), (x + 5.0, y + 7.0)], Tone::After, 1.8);
        }));
    }
    if cut {
        entries.push(Entry::words("arrow at an end: the range goes on"));
    }
    entries
}

impl Plot {
    fn of(worth: &Worth, frame: &Frame, top: f64, height: f64) -> Self {
        let rows = &worth.rows;
        let any = |bound| rows.iter().any(|row| row.gain.bound == bound);
        let air = (ARROW + 2.0).min(height / 8.0);
        let side = |bound| if any(bound) { air } else { (RADIUS + 4.0).min(height / 8.0) };
        let (to, from) = (top + side(Bound::AtLeast), top + height - side(Bound::AtMost) / 2.0);
        let values: Vec<f64> = rows.iter().map(|row| row.gain.value).collect();
        let ranges: Vec<(f64, f64)> = drawn_ranges(worth).collect();
        let gains = Axis { scale: Scale::upright(gains::reach(&values, &ranges), from - to), from, to };
        let costs = || rows.iter().map(|row| row.cost).chain([0.0]);
        let left = frame.left + gains.scale.widest_label() + 12.0;
        let guess = Scale::level(costs(), frame.right - left).widest_label() / 2.0;
        let left = left.max(frame.left + guess);
        let right = frame.right - guess.max(RADIUS + 2.0);
        let costs = Axis { scale: Scale::level(costs(), right - left), from: left, to: right };
        let area = Area { left, top, width: frame.right - left, height };
        Self { costs, gains, area }
    }

    fn place(&self, row: &WorthRow) -> (f64, f64) {
        (self.costs.at(row.cost), self.gains.at(row.gain.value))
    }

    /// Draws the line in steps, from cheapest to dearest.
    fn draw_line(&self, canvas: &mut Canvas, worth: &Worth) {
        let mut points: Vec<(f64, f64)> = Vec::new();
        for index in worth.line() {
            let (x, y) = self.place(&worth.rows[index]);
            if let Some(&(_, before)) = points.last() {
                points.push((x, before));
            }
            points.push((x, y));
        }
        if points.len() < 2 {
            return;
        }
        canvas.trace(&points, Tone::Ink, 1.6);
        for pair in points.windows(2) {
            let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
            let (left, top) = (x.min(to_x) - 1.0, y.min(to_y) - 1.0);
            canvas.keep(Area { left, top, width: (x - to_x).abs() + 2.0, height: (y - to_y).abs() + 2.0 });
        }
    }

    fn draw_jobs(&self, canvas: &mut Canvas, worth: &Worth) {
        let few = worth.rows.len() <= ALL_NAMED;
        for on_line in [false, true] {
            let whole = is_drawn(worth, on_line);
            for row in worth.rows.iter().filter(|row| row.on_line == on_line) {
                let (x, y) = self.place(row);
                let tone = if row.claimed { Tone::After } else { Tone::Odd };
                if let (Some(range), true) = (row.gain.shown_interval(), whole) {
                    range_upright(canvas, &self.gains, x, range, tone);
                }
                if whole {
                    row.gain.bound.draw_upright(canvas, x, y);
                }
                let mark = if row.claimed { Mark::After } else { Mark::Hollow };
                let radius = match (on_line, few) {
                    (true, _) if whole => RADIUS + 0.5,
                    (false, false) => 2.5,
                    _ => RADIUS - 1.0,
                };
                mark.draw(canvas, x, y, radius);
            }
        }
    }

    /// Names zero at its line; no other words stand in the plot yet.
    fn name_zero(&self, canvas: &mut Canvas) {
        let words = Words::small("no change").tone(Tone::Soft);
        let (y, right) = (self.gains.at(0.0), self.area.right());
        let half = width("no change", SMALL) / 2.0;
        let (left, middle) = (self.area.left + 4.0, self.area.left + self.area.width / 2.0);
        let ends = [
            (words.end(), right),
            (words.middle(), middle + half),
            (words.middle(), middle - half),
            (words, left),
        ];
        let places = ends.map(|(words, x)| [(words, x, y - 9.0), (words, x, y + 9.0)]).concat();
        let inside = |&(_, _, y): &(Words<'_>, f64, f64)| self.holds(y);
        let places: Vec<_> = places.into_iter().filter(inside).collect();
        if !canvas.write_where_free(&places) {
            let y = if self.holds(y - 9.0) { y - 9.0 } else { self.area.top + 8.0 };
            canvas.write(words.end(), right, y);
        }
    }

    /// Whether a line of words at this height is over the axis and below the top.
    fn holds(&self, y: f64) -> bool {
        y - 7.5 >= self.area.top && y + 7.5 <= self.area.bottom()
    }

    /// Writes names at the jobs, or numbers where a name finds no room, and returns those.
    fn name_jobs(&self, canvas: &mut Canvas, worth: &Worth, numbers: usize) -> Vec<Unnamed> {
        let mut order = worth.line();
        if worth.rows.len() <= ALL_NAMED {
            order.extend((0..worth.rows.len()).filter(|&index| !worth.rows[index].on_line));
        }
        let named = order.len() <= ALL_NAMED && is_drawn(worth, true);
        let mut unnamed = Vec::new();
        let mut number = 0;
        for index in order {
            let row = &worth.rows[index];
            // A range that is cut has its numbers with the name.
            let cut = row.gain.shown_interval().filter(|&range| gains::leaves(&self.gains, range));
            let tail = cut.map_or(String::new(), |range| {
                format!(", {}", words::print(worth).likely(range, row.gain.bound))
            });
            let name =
                axis_title(&row.label, &tail, self.area.width * if cut.is_some() { 0.6 } else { 0.45 });
            if named && !name.is_empty() && self.write_near(canvas, Words::small(&name), self.place(row)) {
                continue;
            }
            let text = (number + 1).to_string();
            let written =
                number < numbers && self.write_near(canvas, Words::small(&text).bold(), self.place(row));
            if written {
                number += 1;
            }
            unnamed.push(Unnamed { index, number: written.then_some(number) });
        }
        unnamed
    }

    /// Writes words beside a job, or farther off with a leader.
    fn write_near(&self, canvas: &mut Canvas, words: Words<'_>, (x, y): (f64, f64)) -> bool {
        let free = |canvas: &Canvas, words: Words<'_>, x, y| {
            let area = words.area(x, y);
            let within = area.left >= self.area.left + 2.0 && area.right() <= self.area.right();
            within && self.holds(y) && canvas.is_free(&area)
        };
        let beside = [
            (words, x + 10.0, y),
            (words.end(), x - 10.0, y),
            (words, x + 8.0, y - 11.0),
            (words.end(), x - 8.0, y - 11.0),
            (words, x + 8.0, y + 11.0),
            (words.end(), x - 8.0, y + 11.0),
            (words.middle(), x, y - 16.0),
            (words.middle(), x, y + 16.0),
        ];
        if let Some(&(words, at_x, at_y)) = beside.iter().find(|(words, x, y)| free(canvas, *words, *x, *y)) {
            canvas.write(words, at_x, at_y);
            return true;
        }
        // Long leaders in a narrow plot cross each other.
        let longest = self.area.width / 4.0;
        for away in [26.0, 40.0, 56.0, 80.0, 110.0, 140.0].into_iter().filter(|&away| away <= longest) {
            for (across, up) in [
                (0.5, -1.0),
                (-0.5, -1.0),
                (0.5, 1.0),
                (-0.5, 1.0),
                (1.0, -0.4),
                (1.0, 0.4),
                (-1.0, -0.4),
                (-1.0, 0.4),
            ] {
                let (at_x, at_y) = (x + across * away, y + up * away);
                let words = if across > 0.0 { words } else { words.end() };
                if !free(canvas, words, at_x, at_y) {
                    continue;
                }
                let end = (at_x - across.signum() * 2.0, at_y);
                let long = (end.0 - x).hypot(end.1 - y);
                let start = (x + (end.0 - x) / long * 7.0, y + (end.1 - y) / long * 7.0);
                let way = way(start, end);
                if way.iter().any(|part| canvas.words.iter().any(|taken| taken.overlaps(part))) {
                    continue;
                }
                canvas.line(&[start, end], Stroke::Thin);
                way.into_iter().for_each(|part| canvas.keep(part));
                canvas.write(words, at_x, at_y);
                return true;
            }
        }
        false
    }
}

/// Places along a leader.
fn way(from: (f64, f64), to: (f64, f64)) -> Vec<Area> {
    let parts = ((to.0 - from.0).hypot(to.1 - from.1) / 6.0).ceil().clamp(1.0, 40.0) as u32;
    let part = |part: u32| {
        let share = f64::from(part) / f64::from(parts);
        let (x, y) = (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share);
        Area { left: x - 1.5, top: y - 1.5, width: 3.0, height: 3.0 }
    };
    (0..parts).map(part).collect()
}

/// Writes the list of jobs that are numbers, and what is left out, and returns the lower end.
fn draw_list(worth: &Worth, frame: &mut Frame, unnamed: &[Unnamed], top: f64) -> f64 {
    let (left, right) = (frame.left, frame.right);
    let limited = frame.limit.is_some();
    let lines = if limited { 1 } else { 3 };
    let canvas = &mut frame.canvas;
    let mut y = top;
    // Where lines are few they go to jobs that have their number in the plot.
    let listed: Vec<&Unnamed> = unnamed.iter().filter(|entry| !limited || entry.number.is_some()).collect();
    for entry in &listed {
        let number = entry.number.map_or("-".to_owned(), |number| number.to_string());
        canvas.write(Words::small(&number).bold(), left, y + TEXT / 2.0);
        let text = words::row(worth, &worth.rows[entry.index]);
        let text = wrapped(&text, SMALL, right - left - INDENT, lines);
        y = write_lines(canvas, &text, Words::small(""), left + INDENT, y).max(y + TEXT);
    }
    if let Some(text) = left_out(unnamed.len() - listed.len(), dots(worth)) {
        let text = wrapped(&text, SMALL, right - left, lines);
        y = write_lines(canvas, &text, Words::small("").tone(Tone::Odd), left, y);
    }
    y
}

/// Says what has no name.
fn left_out(unlisted: usize, dots: usize) -> Option<String> {
    match (unlisted, dots) {
        (0, 0) => None,
        (0, dots) => Some(format!("and {dots} more off the line, as dots")),
        (unlisted, 0) => Some(format!("and {unlisted} more without a name")),
        (unlisted, dots) => Some(format!("and {} more without a name", unlisted + dots)),
    }
}
