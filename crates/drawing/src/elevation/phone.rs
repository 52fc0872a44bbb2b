//! A wall from one side in a narrow room: the face across the width, its cells in a list below it.
//!
//! Leaves out what the face holds: it is the sheet's. Where the height is short the face shrinks, then notes, list and scale
//! go; letters keep their size.

use super::labels::Labels;
use super::{CellBox, Elevation, Face, draw_face, finding, listing};
use crate::canvas::{Canvas, MARGIN};
use crate::dimension::{self, BARS};
use crate::phone::{self, Entry, NO_LIST, Shown};
use crate::picture::{Look, Picture, Room};
use crate::text::{LINE, SMALL, width};

/// Where the face begins: left of it stands its height.
const FACE_LEFT: f64 = 60.0;
/// The tallest face.
const TALLEST: f64 = 360.0;
/// A face is not made lower than this for the sake of words.
const LOWEST: f64 = 110.0;
/// The lowest face there is.
const LEAST: f64 = 24.0;
/// Shrinking may move numbers out of the face, which takes height again.
const TRIES: usize = 4;

pub(super) fn draw(wall: &Elevation, room: Room, look: Look) -> Picture {
    let (sheet, bottom) = match room.height {
        None => lay(wall, room, Shown::All, TALLEST),
        Some(height) => fitted(wall, room, height),
    };
    sheet.finish(&wall.title, &finding::words(wall), bottom, look)
}

/// Shows as much as a height has room for.
fn fitted(wall: &Elevation, room: Room, height: f64) -> (Canvas, f64) {
    let natural = Face::fit_in(wall, (FACE_LEFT, room.width - MARGIN), TALLEST).area.height;
    for shown in Shown::DOWN {
        let least = if shown == Shown::Alone { LEAST.min(natural) } else { LOWEST.min(natural) };
        let mut tallest = natural;
        for _ in 0..TRIES {
            let (sheet, bottom) = lay(wall, room, shown, tallest);
            let over = (bottom + MARGIN).ceil() - height;
            if over <= 0.0 {
                return (sheet, bottom);
            }
            tallest = (tallest - over - 1.0).max(least);
        }
    }
    lay(wall, room, Shown::Alone, LEAST.min(natural))
}

/// Lays everything out and returns it with its lower end.
fn lay(wall: &Elevation, room: Room, shown: Shown, tallest: f64) -> (Canvas, f64) {
    let mut canvas = Canvas::new(room.width);
    let top = phone::heading(&mut canvas, &wall.title, shown.heading_lines());
    let mut face = Face::fit_in(wall, (FACE_LEFT, room.width - MARGIN), tallest);
    let mut labels = Labels::plan(wall, &face);
    if shown == Shown::Alone {
        labels = labels.without_leaders();
    }
    let (long, high) = (wall.style.first(wall.length), wall.style.first(wall.height));
    // The height is written beside the wall and may be longer than a low wall is high.
    let written = if shown.list() { width(&high, SMALL) } else { 0.0 };
    let beside = (written - face.area.height).max(0.0) / 2.0;
    face.area.top = top + labels.above().max(beside);
    draw_face(&mut canvas, wall, &face);
    labels.draw(&mut canvas, &face);
    let area = face.area;
    let mut y = area.bottom() + labels.below().max(beside);
    if shown.list() {
        dimension::upright(&mut canvas, area.left - 22.0, (area.top, area.bottom()), &high);
        dimension::level(&mut canvas, (area.left, area.right()), y + 16.0, &long);
        y += 46.0;
    } else {
        let (long, high) = (wall.style.whole(wall.length), wall.style.whole(wall.height));
        y = canvas.paragraph(&format!("{long} long, {high} high."), y + 14.0);
    }
    if shown.scale() {
        dimension::scale_bars(&mut canvas, MARGIN, y, face.units_per_nm);
        y += BARS + 12.0;
    }
    if shown.list() {
        y = list(&mut canvas, wall, y);
    } else {
        y = canvas.paragraph(NO_LIST, y);
    }
    if shown.notes() {
        for note in listing::notes(wall, &labels) {
            y = canvas.paragraph(&note, y + 3.0);
        }
    }
    (canvas, y - SMALL * LINE / 2.0)
}

/// Writes what the patterns stand for, the openings and the cells.
fn list(canvas: &mut Canvas, wall: &Elevation, y: f64) -> f64 {
    let y = listing::key(canvas, wall, y + 4.0);
    let y = listing::openings(canvas, wall, y);
    let mut cells: Vec<&CellBox> = wall.cells.iter().collect();
    cells.sort_by_key(|cell| cell.number);
    let wide = canvas.width;
    let entries = cells.into_iter().map(|cell| Entry::new(cell.number.to_string(), &words(wall, cell), wide));
    phone::list(canvas, &entries.collect::<Vec<_>>(), y + 3.0)
}

fn words(wall: &Elevation, cell: &CellBox) -> String {
    let part = |length| wall.style.part(length);
    let mut words = format!("{} x {}, {}", part(cell.width), part(cell.height), cell.place.words());
    match cell.pieces {
        Some(1) => words.push_str(", 1 piece"),
        Some(pieces) => words.push_str(&format!(", {pieces} pieces")),
        None => (),
    }
    if let Some(note) = &cell.note {
        words.push_str("; ");
        words.push_str(note);
    }
    words
}
