//! The table of all cells under an elevation.
//!
//! Leaves out totals. Columns are as wide as what they hold, so no text meets another.

use super::{CellBox, Elevation};
use crate::canvas::{Canvas, MARGIN, Stroke, WIDTH, Words};
use crate::text::{LINE, SMALL, width, wrapped};

/// From row to row.
const ROW: f64 = 18.0;
/// Between columns.
const GAP: f64 = 12.0;
/// Between the two halves of a long table.
const MIDDLE: f64 = 16.0;
/// Cells up to this count stand in one half.
const ONE_HALF: usize = 4;
/// A note takes at most so many lines.
const NOTE_LINES: usize = 4;

/// A column: its name, its texts from the first cell on, and where it starts within a half.
struct Column {
    name: &'static str,
    texts: Vec<String>,
    left: f64,
}

/// Writes the table, in two halves side by side where it is long and fits, and returns where the sheet goes on.
pub(super) fn write(canvas: &mut Canvas, wall: &Elevation, top: f64) -> f64 {
    let mut cells: Vec<&CellBox> = wall.cells.iter().collect();
    cells.sort_by_key(|cell| cell.number);
    let (columns, end) = columns(wall, &cells);
    let noted = cells.iter().any(|cell| cell.note.is_some());
    let half = (WIDTH - 2.0 * MARGIN - MIDDLE) / 2.0;
    let one_half = noted || cells.len() <= ONE_HALF || end > half;
    let rows = if one_half { cells.len() } else { cells.len().div_ceil(2) };
    let wide = if noted { WIDTH - 2.0 * MARGIN } else { end.max(half) };

    let mut bottom = top;
    for (index, first) in (0..cells.len()).step_by(rows).enumerate() {
        let left = MARGIN + (half + MIDDLE) * index as f64;
        head(canvas, &columns, (left, wide), top, noted.then_some(end));
        let mut y = top + ROW + 4.0;
        for (row, cell) in cells.iter().enumerate().skip(first).take(rows) {
            for column in &columns {
                canvas.write(Words::small(&column.texts[row]), left + column.left, y);
            }
            y += ROW + note(canvas, cell, left + end, y);
        }
        bottom = bottom.max(y);
    }
    bottom
}

/// Returns the columns and where they end.
fn columns(wall: &Elevation, cells: &[&CellBox]) -> (Vec<Column>, f64) {
    let texts = |text: &dyn Fn(&CellBox) -> String| cells.iter().map(|cell| text(cell)).collect::<Vec<_>>();
    let mut named = vec![
        ("Cell", texts(&|cell| cell.number.to_string())),
        ("Where", texts(&|cell| cell.place.words().to_owned())),
        ("Width", texts(&|cell| wall.style.part(cell.width))),
        ("Height", texts(&|cell| wall.style.part(cell.height))),
    ];
    if cells.iter().any(|cell| cell.pieces.is_some()) {
        let pieces = |cell: &CellBox| cell.pieces.map_or("-".to_owned(), |pieces| pieces.to_string());
        named.push(("Pieces", texts(&pieces)));
    }
    let mut left = 0.0;
    let mut columns = Vec::new();
    for (name, texts) in named {
        let widest = texts.iter().map(|text| width(text, SMALL)).fold(width(name, SMALL), f64::max);
        columns.push(Column { name, texts, left });
        left += widest + GAP;
    }
    (columns, left)
}

fn head(canvas: &mut Canvas, columns: &[Column], (left, wide): (f64, f64), y: f64, note: Option<f64>) {
    let note = note.map(|at| ("Note", at));
    for (name, at) in columns.iter().map(|column| (column.name, column.left)).chain(note) {
        canvas.write(Words::small(name).bold(), left + at, y);
    }
    canvas.line(&[(left, y + 11.0), (left + wide, y + 11.0)], Stroke::Firm);
}

/// Writes a cell's note and returns the height of its lines beyond the first.
fn note(canvas: &mut Canvas, cell: &CellBox, left: f64, y: f64) -> f64 {
    let room = (WIDTH - MARGIN - left).max(2.0 * SMALL);
    let lines = wrapped(cell.note.as_deref().unwrap_or_default(), SMALL, room, NOTE_LINES);
    for (index, line) in lines.iter().enumerate() {
        canvas.write(Words::small(line), left, y + index as f64 * SMALL * LINE);
    }
    lines.len().saturating_sub(1) as f64 * SMALL * LINE
}
