//! Which way the sound goes: each path's share of it.
//!
//! Leaves out how shares are worked out.

use super::axis::{Axis, NUMBERS, Scale, printed};
use super::frame::{Frame, counted, finite, short, told};
use super::mark::{KEY_LINE, one_line, write_lines};
use crate::canvas::{Canvas, Stroke, Words};
use crate::hatch::Hatch;
use crate::picture::{ChartError, Look, Picture, Room};
use crate::text::{Area, LINE, SMALL, width, wrapped};

mod part;
#[cfg(test)]
mod tests;

use part::{Part, parts};

/// Shares of the sound, of one wall or of the same wall before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Paths {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// One or two states, each with its paths.
    pub walls: Vec<WallPaths>,
}

/// Paths of one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct WallPaths {
    /// What it is called, such as `A03, before`.
    pub label: String,
    /// What the formula gives for all paths together, dB: least and most.
    pub together_db: Option<(f64, f64)>,
    /// The paths; their shares add up to 1.
    pub paths: Vec<PathShare>,
}

/// One path.
#[derive(Debug, Clone, PartialEq)]
pub struct PathShare {
    /// What it is, such as `hollow-core door, 1.65 m2`.
    pub label: String,
    /// Its share of the sound, 0 to 1.
    pub share: f64,
    /// What it loses by itself, dB.
    pub loss_db: Option<f64>,
}

impl Paths {
    /// Draws it. Of more than two states the first and the last are drawn. Shares of less than a hundredth are listed together;
    /// on a low sheet the greatest shares are listed, and a line counts the others.
    ///
    /// # Errors
    /// [`ChartError`]: no path, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        self.check()?;
        let mut frame = Frame::begin(&self.title, &self.finding, room)?;
        let states: Vec<State<'_>> = self.drawn().into_iter().zip(parts(&self.drawn())).collect();
        let layout = Layout::fit(&states, &frame);
        let bottom = layout.draw(&mut frame, &states);
        Ok(frame.finish(&self.title, &told(&self.finding, &self.numbers()), bottom, look))
    }

    fn check(&self) -> Result<(), ChartError> {
        for wall in &self.walls {
            let (low, high) = wall.together_db.unwrap_or_default();
            finite(low + high, || format!("{}, all paths together,", short(&wall.label)))?;
            for path in &wall.paths {
                let what =
                    |number: &str| format!("{number} of {} ({})", short(&path.label), short(&wall.label));
                finite(path.share, || what("the share"))?;
                finite(path.loss_db.unwrap_or(0.0), || what("the loss"))?;
            }
        }
        if self.walls.iter().any(|wall| !wall.paths.is_empty()) { Ok(()) } else { Err(ChartError::Nothing) }
    }

    /// The states that are drawn.
    fn drawn(&self) -> Vec<&WallPaths> {
        match self.walls.as_slice() {
            [first, .., last] => vec![first, last],
            walls => walls.iter().collect(),
        }
    }

    /// The shares in words.
    fn numbers(&self) -> String {
        let walls = self.drawn().into_iter().zip(parts(&self.drawn())).map(|(wall, parts)| {
            let told = |part: &Part| format!("{} {}", short(&part.words), percent(part.share));
            let paths: Vec<String> = sorted(&parts).into_iter().map(told).collect();
            let paths = paths.join(", ");
            let paths = if paths.is_empty() { "no paths".to_owned() } else { paths };
            let together = together(wall).map_or(String::new(), |words| format!("; {words}"));
            format!("{}: {paths}{together}.", short(&wall.label))
        });
        format!("Share of the sound by path. {}", walls.collect::<Vec<_>>().join(" "))
    }
}

/// A wall with the parts of its bar.
type State<'a> = (&'a WallPaths, Vec<Part>);

/// Parts from the greatest share down; what is listed together stands last.
fn sorted(parts: &[Part]) -> Vec<&Part> {
    let mut sorted: Vec<&Part> = parts.iter().collect();
    sorted.sort_by(|one, other| one.is_rest().cmp(&other.is_rest()).then(other.share.total_cmp(&one.share)));
    sorted
}

/// Prints a share; never a whole where something is left.
fn percent(share: f64) -> String {
    let value = share * 100.0;
    let nearly_all = (99.5..100.0).contains(&value);
    match value {
        _ if nearly_all => format!("{} %", printed(value.min(99.9), 1)),
        _ if value >= 9.95 || value <= 0.0 => format!("{} %", printed(value, 0)),
        _ if value < 0.05 => "under 0.1 %".to_owned(),
        _ => format!("{} %", printed(value, 1)),
    }
}

fn together(wall: &WallPaths) -> Option<String> {
    let (low, high) = wall.together_db?;
    let (low, high) = (printed(low.min(high), 1), printed(low.max(high), 1));
    Some(if low == high {
        format!("all paths together {low} dB")
    } else {
        format!("all paths together {low} to {high} dB")
    })
}

fn heading(wall: &WallPaths) -> String {
    together(wall).map_or_else(|| wall.label.clone(), |words| format!("{}: {words}", wall.label))
}

/// Room of a swatch in a list, its gap included.
const SWATCH: f64 = 34.0;
/// Between a share and its words in a list.
const GAP: f64 = 10.0;
/// Between the columns of a list.
const COLUMNS: f64 = 24.0;

/// How the bars and their lists are laid out.
#[derive(Debug)]
struct Layout {
    bar: f64,
    /// Lines of a heading over a bar at most.
    heading_lines: usize,
    /// Rows of each wall's list at most; `None` for all of them, wrapped.
    rows: Option<usize>,
    /// Lists stand side by side.
    beside: bool,
    /// The axis has its name below it.
    named: bool,
}

impl Layout {
    fn fit(states: &[State<'_>], frame: &Frame) -> Self {
        let beside = frame.width() >= 600.0 && states.len() > 1;
        let roomy = Self { bar: 28.0, heading_lines: 2, rows: None, beside, named: true };
        if roomy.height(states, frame) <= frame.room() {
            return roomy;
        }
        let most = states.iter().map(|(_, parts)| parts.len()).max().unwrap_or(1);
        let low = |rows: usize, bar: f64, named: bool| Self {
            bar,
            heading_lines: 1,
            rows: Some(rows),
            beside,
            named,
        };
        let choices = (1..=most).rev().map(|rows| low(rows, 22.0, true)).chain([low(1, 18.0, false)]);
        let mut last = roomy;
        for choice in choices {
            let fits = choice.height(states, frame) <= frame.room();
            last = choice;
            if fits {
                break;
            }
        }
        last
    }

    fn height(&self, states: &[State<'_>], frame: &Frame) -> f64 {
        let bars: f64 = states.iter().map(|(wall, _)| self.bar_height(wall, frame)).sum();
        let lists = states.iter().map(|state| self.list_height(state, frame));
        let lists = if self.beside { lists.fold(0.0, f64::max) } else { lists.sum() };
        bars + NUMBERS + self.name_height() + lists
    }

    fn name_height(&self) -> f64 {
        if self.named { SMALL * LINE + 6.0 } else { 2.0 }
    }

    fn headings(&self, wall: &WallPaths, frame: &Frame) -> Vec<String> {
        wrapped(&heading(wall), SMALL, frame.width(), self.heading_lines)
    }

    fn bar_height(&self, wall: &WallPaths, frame: &Frame) -> f64 {
        self.headings(wall, frame).len() as f64 * SMALL * LINE + self.bar + 5.0
    }

    fn list_width(&self, frame: &Frame) -> f64 {
        if self.beside { (frame.width() - COLUMNS) / 2.0 } else { frame.width() }
    }

    /// What a wall's list says: its name, where there is more than one wall and room, then its rows.
    fn list(&self, (wall, parts): &State<'_>, frame: &Frame) -> List {
        let room = self.list_width(frame);
        let mut rows: Vec<(Part, Vec<String>)> = Vec::new();
        let sorted = sorted(parts);
        let shown = self.rows.unwrap_or(sorted.len()).min(sorted.len());
        let left_out = sorted.len() - shown;
        let widest = sorted.iter().map(|part| width(&percent(part.share), SMALL)).fold(0.0, f64::max);
        let indent = SWATCH + widest + GAP;
        for (index, part) in sorted.iter().take(shown).enumerate() {
            let lines = if self.rows.is_none() { 6 } else { 1 };
            let more = (left_out > 0 && index + 1 == shown).then(|| format!("; {left_out} more"));
            let more = more.unwrap_or_default();
            let words = part.long_words();
            let free = (room - indent - width(&more, SMALL)).max(SMALL * 3.0);
            let mut wrapped = wrapped(&words, SMALL, free, lines);
            if let Some(last) = wrapped.last_mut() {
                last.push_str(&more);
            }
            rows.push(((*part).clone(), wrapped));
        }
        List { name: self.rows.is_none().then(|| one_line(&wall.label, SMALL, room)), indent, rows }
    }

    fn list_height(&self, state: &State<'_>, frame: &Frame) -> f64 {
        self.list(state, frame).height()
    }

    fn draw(&self, frame: &mut Frame, states: &[State<'_>]) -> f64 {
        let mut y = frame.top;
        // The numbers at both ends of the axis reach over it.
        let (from, to) = (frame.left + 8.0, frame.right - 14.0);
        let axis = Axis { scale: Scale::fixed(0.0, 100.0, 25.0), from, to };
        for (wall, parts) in states {
            let headings = self.headings(wall, frame);
            y = write_lines(&mut frame.canvas, &headings, Words::small("").bold(), frame.left, y);
            draw_bar(&mut frame.canvas, &axis, parts, (y + 1.0, self.bar));
            y += self.bar + 5.0;
        }
        axis.draw_level(&mut frame.canvas, y, y);
        y += NUMBERS;
        if self.named {
            frame.canvas.write(Words::small("Share of the sound, %"), frame.left, y + SMALL * LINE / 2.0);
        }
        y += self.name_height();
        let (mut left, mut bottom) = (frame.left, y);
        for state in states {
            let end = self.list(state, frame).draw(&mut frame.canvas, left, y);
            bottom = bottom.max(end);
            if self.beside {
                left += self.list_width(frame) + COLUMNS;
            } else {
                y = end;
            }
        }
        bottom
    }
}

/// What stands under the bars for one wall.
struct List {
    name: Option<String>,
    /// Where words begin, from the left.
    indent: f64,
    rows: Vec<(Part, Vec<String>)>,
}

impl List {
    fn height(&self) -> f64 {
        let name = if self.name.is_some() { KEY_LINE + 4.0 } else { 0.0 };
        name + self.rows.iter().map(|(_, lines)| row_height(lines)).sum::<f64>()
    }

    fn draw(&self, canvas: &mut Canvas, left: f64, top: f64) -> f64 {
        let mut y = top;
        if let Some(name) = &self.name {
            canvas.write(Words::small(name).bold(), left, y + 4.0 + KEY_LINE / 2.0);
            y += KEY_LINE + 4.0;
        }
        for (part, lines) in &self.rows {
            let first = y + KEY_LINE / 2.0;
            let swatch = Area { left, top: first - 7.0, width: 26.0, height: 14.0 };
            canvas.rect(swatch, part.hatch, Stroke::Firm);
            canvas.write(Words::small(&percent(part.share)).bold(), left + SWATCH, first);
            let words = Words::small("");
            write_lines(canvas, lines, words, left + self.indent, first - SMALL * LINE / 2.0);
            y += row_height(lines);
        }
        y
    }
}

fn row_height(lines: &[String]) -> f64 {
    KEY_LINE + lines.len().saturating_sub(1) as f64 * SMALL * LINE
}

/// Draws one stacked bar; what a part is stands in it where it fits.
fn draw_bar(canvas: &mut Canvas, axis: &Axis, parts: &[Part], (top, height): (f64, f64)) {
    // Shares that add up to more than all are drawn in proportion.
    let whole = parts.iter().map(|part| part.share).sum::<f64>().max(1.0);
    let mut before = 0.0;
    for part in parts {
        let (from, to) = (axis.at(before / whole * 100.0), axis.at((before + part.share) / whole * 100.0));
        before += part.share;
        if to - from < 0.05 {
            continue;
        }
        let area = Area { left: from, top, width: to - from, height };
        canvas.rect(area, part.hatch, Stroke::Firm);
        label_part(canvas, part, &area);
    }
    canvas.frame(Area { left: axis.from, top, width: axis.to - axis.from, height }, Stroke::Firm);
}

/// Writes what a part is and its share into it, or its share alone, where that fits.
fn label_part(canvas: &mut Canvas, part: &Part, area: &Area) {
    let share = percent(part.share);
    let long = format!("{}: {share}", part.words);
    for text in [&long, &share] {
        let words = Words::small(text).bold().middle();
        let (x, y) = area.middle();
        let mut chip = words.area(x, y);
        chip.left -= 3.0;
        chip.width += 6.0;
        if chip.width + 6.0 <= area.width {
            canvas.patch(chip, Hatch::Plain);
            canvas.write(words, x, y);
            return;
        }
    }
}

fn rest_words(labels: &[&str]) -> String {
    if let [only] = labels {
        return short(only);
    }
    let names = labels.iter().map(|label| short(label)).collect::<Vec<_>>().join("; ");
    format!("{} together: {names}", counted(labels.len(), "other", "others"))
}
