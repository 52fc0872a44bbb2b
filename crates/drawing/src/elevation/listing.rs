//! Under an elevation: what the patterns stand for, the openings, and a table with every cell.
//!
//! Leaves out totals and purchases.

use storypole_units::Length;

use super::labels::Labels;
use super::{Elevation, WoodKind, table};
use crate::canvas::{Canvas, MARGIN, Stroke, Words};
use crate::text::{Area, LINE, SMALL, width};

/// Writes everything below `top` and returns where the sheet ends.
pub(super) fn write(canvas: &mut Canvas, wall: &Elevation, labels: &Labels, top: f64) -> f64 {
    let mut y = key(canvas, wall, top + 8.0);
    y = openings(canvas, wall, y);
    if !wall.cells.is_empty() {
        y = table::write(canvas, wall, y + 8.0);
    }
    for note in notes(wall, labels) {
        y = canvas.paragraph(&note, y + 4.0);
    }
    y - SMALL * LINE / 2.0
}

/// Writes a swatch, the word and the count for each kind of wood.
pub(super) fn key(canvas: &mut Canvas, wall: &Elevation, mut y: f64) -> f64 {
    let mut kinds: Vec<WoodKind> = wall.wood.iter().map(|wood| wood.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    if kinds.is_empty() {
        return y;
    }
    let mut x = MARGIN;
    for kind in kinds {
        let count = wall.wood.iter().filter(|wood| wood.kind == kind).count();
        let text = format!("{} ({count})", kind.word());
        let room = 34.0 + width(&text, SMALL) + 18.0;
        if x > MARGIN && x + room > canvas.width - MARGIN {
            (x, y) = (MARGIN, y + 22.0);
        }
        canvas.rect(Area { left: x, top: y - 7.0, width: 26.0, height: 14.0 }, kind.hatch(), Stroke::Firm);
        canvas.write(Words::small(&text), x + 34.0, y);
        x += room;
    }
    y + 24.0
}

pub(super) fn openings(canvas: &mut Canvas, wall: &Elevation, mut y: f64) -> f64 {
    let mut sorted: Vec<_> = wall.openings.iter().collect();
    sorted.sort_by_key(|opening| (opening.left, opening.bottom));
    for opening in sorted {
        let part = |length| wall.style.part(length);
        let over_floor = match opening.bottom {
            Length::ZERO => "standing on the floor".to_owned(),
            bottom => format!("its lower edge {} over the floor", part(bottom)),
        };
        let text = format!(
            "{}: {} wide, {} high, {} from the left end, {over_floor}.",
            opening.word,
            part(opening.width),
            part(opening.height),
            part(opening.left)
        );
        y = canvas.paragraph(&text, y);
    }
    y
}

pub(super) fn notes(wall: &Elevation, labels: &Labels) -> Vec<String> {
    let mut notes = Vec::new();
    if !labels.without.is_empty() {
        let numbers = runs(labels.without.clone());
        notes.push(format!(
            "Too small to be numbered in the drawing; their sizes are in the table: {numbers}."
        ));
    }
    if sizes(wall).any(|length| wall.style.rounds(length)) {
        notes.push(wall.style.rounding_note().to_owned());
    }
    notes.push(
        "Sizes in the table and in the cells are clear of wood. Drawn as measured; what carries load is for local code and a licensed trade.".to_owned(),
    );
    notes
}

/// Joins numbers, `3 to 9, 12`.
fn runs(mut numbers: Vec<u32>) -> String {
    numbers.sort_unstable();
    let follows = |one: &u32, next: &u32| *next - *one == 1;
    let runs = numbers.chunk_by(follows).map(|run| match run {
        [only] => only.to_string(),
        [first, .., last] => format!("{first} to {last}"),
        [] => unreachable!("a chunk has a member"),
    });
    runs.collect::<Vec<_>>().join(", ")
}

/// Every length that is printed.
fn sizes(wall: &Elevation) -> impl Iterator<Item = Length> {
    let cells = wall.cells.iter().flat_map(|cell| [cell.width, cell.height]);
    let openings = wall.openings.iter().flat_map(|it| [it.left, it.bottom, it.width, it.height]);
    [wall.length, wall.height].into_iter().chain(cells).chain(openings)
}
