//! Room for the numbers and sizes of cells and the words of openings, so that no text meets another.
//!
//! A cell takes what fits inside it, from number and size down to the number alone; a cell too small for that gets its
//! number in a row above or below the wall, at the end of a leader. Leaves out the table, which has every cell.

use super::{Elevation, Face};
use crate::canvas::{Canvas, Stroke, Words};
use crate::hatch::Hatch;
use crate::text::{Area, NUMBER, SMALL, width};

/// Free on both sides of a text inside a shape.
const AIR: f64 = 3.0;
/// Height of a row of numbers with its leaders.
const LANE: f64 = 34.0;
/// From the wall's edge to the middle of the numbers.
const LANE_MIDDLE: f64 = 24.0;

/// Where all labels stand, in the coordinates of a face whose top is 0.
#[derive(Debug, Default)]
pub(super) struct Labels {
    inside: Vec<Label>,
    /// Behind the words of an opening, whose diagonals would cross them.
    patches: Vec<Area>,
    upper: Vec<Leader>,
    lower: Vec<Leader>,
    /// Numbers that found no room, as the cells were given.
    pub(super) without: Vec<u32>,
}

/// A line of text in place.
#[derive(Debug, Clone)]
struct Label {
    text: String,
    size: f64,
    bold: bool,
    turned: bool,
    x: f64,
    y: f64,
}

/// A number outside the wall and the line to its cell.
#[derive(Debug, Clone, Copy)]
struct Leader {
    number: u32,
    from: (f64, f64),
    label_x: f64,
}

impl Label {
    fn words(&self) -> Words<'_> {
        let words = Words::small(&self.text).size(self.size).middle();
        let words = if self.bold { words.bold() } else { words };
        if self.turned { words.turned() } else { words }
    }

    fn area(&self) -> Area {
        self.words().area(self.x, self.y)
    }
}

impl Labels {
    pub(super) fn plan(wall: &Elevation, face: &Face) -> Self {
        let mut labels = Self::default();
        for opening in &wall.openings {
            let lines = [
                opening.word.clone(),
                format!("{} wide", wall.style.part(opening.width)),
                format!("{} high", wall.style.part(opening.height)),
            ];
            labels.label_opening(face.opening(opening), lines);
        }
        let mut small = Vec::new();
        for cell in &wall.cells {
            let area = face.cell(cell);
            match inside(area, cell.number, &wall.style.part(cell.width)) {
                Some(lines) => labels.inside.extend(lines),
                None => small.push((cell.number, area)),
            }
        }
        labels.lead(face.area, small);
        labels
    }

    /// Leaves the numbers outside the wall away, for a room that is too low for them.
    pub(super) fn without_leaders(self) -> Self {
        Self { upper: Vec::new(), lower: Vec::new(), ..self }
    }

    /// Height that the upper row takes.
    pub(super) fn above(&self) -> f64 {
        if self.upper.is_empty() { 6.0 } else { LANE }
    }

    /// Height that the lower row takes.
    pub(super) fn below(&self) -> f64 {
        if self.lower.is_empty() { 0.0 } else { LANE }
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, face: &Face) {
        let (top, bottom) = (face.area.top, face.area.bottom());
        for patch in &self.patches {
            canvas.patch(Area { top: patch.top + top, ..*patch }, Hatch::Plain);
        }
        for label in &self.inside {
            canvas.write(label.words(), label.x, label.y + top);
        }
        for (leaders, edge, away) in [(&self.upper, top, -1.0), (&self.lower, bottom, 1.0)] {
            for leader in leaders {
                let (x, y) = (leader.from.0, leader.from.1 + top);
                let knee = edge + 4.0 * away;
                let end = edge + (LANE_MIDDLE - 9.0) * away;
                canvas.line(&[(x, y), (x, knee), (leader.label_x, end)], Stroke::Thin);
                canvas.dot(x, y, 1.8);
                let number = leader.number.to_string();
                canvas.write(
                    Words::small(&number).bold().middle(),
                    leader.label_x,
                    edge + LANE_MIDDLE * away,
                );
            }
        }
    }

    /// Writes word and sizes into an opening, or as much of it as fits.
    fn label_opening(&mut self, area: Area, lines: [String; 3]) {
        let (x, y) = area.middle();
        let line = |index: usize, y, turned| Label {
            text: lines[index].clone(),
            size: if index == 0 { NUMBER } else { SMALL },
            bold: index == 0,
            turned,
            x,
            y,
        };
        let choices = [
            vec![line(0, y - 18.0, false), line(1, y, false), line(2, y + 16.0, false)],
            vec![line(0, y, false)],
            vec![line(0, y, true)],
        ];
        let Some(fitting) = choices.into_iter().find(|choice| all_within(choice, area)) else { return };
        let patch = fitting.iter().map(Label::area).reduce(around).expect("every choice has a line");
        self.patches.push(grown(patch, AIR));
        self.inside.extend(fitting);
    }

    /// Finds a leader for each cell that holds no text.
    fn lead(&mut self, face: Area, small: Vec<(u32, Area)>) {
        let words: Vec<Area> = self.inside.iter().map(Label::area).collect();
        let (mut upper, mut lower) = (Vec::new(), Vec::new());
        for (number, area) in small {
            match clear_way(face, area, &words) {
                Some((x, true)) => upper.push(Leader { number, from: (x, area.middle().1), label_x: x }),
                Some((x, false)) => lower.push(Leader { number, from: (x, area.middle().1), label_x: x }),
                None => self.without.push(number),
            }
        }
        self.upper = self.spread(upper, face);
        self.lower = self.spread(lower, face);
    }

    /// Moves the numbers of a row apart in the order of their cells; those beyond the row's room go without.
    fn spread(&mut self, mut leaders: Vec<Leader>, face: Area) -> Vec<Leader> {
        leaders.sort_by(|one, other| one.from.0.total_cmp(&other.from.0));
        let room = |leader: &Leader| width(&leader.number.to_string(), SMALL) + 5.0;
        let (start, end) = (face.left - 14.0, face.right() + 14.0);
        let mut taken = 0.0;
        let fitting = leaders.iter().take_while(|leader| {
            taken += room(leader);
            taken <= end - start
        });
        let fitting = fitting.count();
        self.without.extend(leaders.drain(fitting..).map(|leader| leader.number));

        let mut free = start;
        for leader in &mut leaders {
            leader.label_x = leader.from.0.max(free + room(leader) / 2.0);
            free = leader.label_x + room(leader) / 2.0;
        }
        let mut free = end;
        for leader in leaders.iter_mut().rev() {
            leader.label_x = leader.label_x.min(free - room(leader) / 2.0);
            free = leader.label_x - room(leader) / 2.0;
        }
        leaders
    }
}

/// Returns the richest label that fits into a cell.
fn inside(area: Area, number: u32, size: &str) -> Option<Vec<Label>> {
    let (x, y) = area.middle();
    let plain = |text: String, y, turned| Label { text, size: SMALL, bold: false, turned, x, y };
    let bold = |y| Label { text: number.to_string(), size: NUMBER, bold: true, turned: false, x, y };
    let half = width(size, SMALL) / 2.0;
    let choices = [
        vec![bold(y - 9.0), plain(size.to_owned(), y + 9.0, false)],
        vec![bold(y - half - 6.0), plain(size.to_owned(), y + 10.0, true)],
        vec![plain(format!("{number}: {size}"), y, false)],
        vec![bold(y)],
    ];
    choices.into_iter().find(|choice| all_within(choice, area))
}

/// Finds a level place in the cell from which a line up (`true`) or down meets no words; the nearer edge first.
fn clear_way(face: Area, cell: Area, words: &[Area]) -> Option<(f64, bool)> {
    let middle = cell.middle().1;
    let up_first = middle - face.top <= face.bottom() - middle;
    for up in [up_first, !up_first] {
        let (top, bottom) = if up { (face.top, middle) } else { (middle, face.bottom()) };
        for share in [0.5, 0.25, 0.75, 0.1, 0.9] {
            let x = cell.left + share * cell.width;
            let way = Area { left: x - 1.0, top, width: 2.0, height: bottom - top };
            if !words.iter().any(|word| word.overlaps(&way)) {
                return Some((x, up));
            }
        }
    }
    None
}

fn all_within(lines: &[Label], area: Area) -> bool {
    lines.iter().map(Label::area).all(|line| {
        area.left + AIR <= line.left
            && line.right() <= area.right() - AIR
            && area.top + 1.0 <= line.top
            && line.bottom() <= area.bottom() - 1.0
    })
}

fn around(one: Area, other: Area) -> Area {
    let (left, top) = (one.left.min(other.left), one.top.min(other.top));
    let (right, bottom) = (one.right().max(other.right()), one.bottom().max(other.bottom()));
    Area { left, top, width: right - left, height: bottom - top }
}

fn grown(area: Area, by: f64) -> Area {
    Area {
        left: area.left - by,
        top: area.top - by,
        width: area.width + 2.0 * by,
        height: area.height + 2.0 * by,
    }
}
