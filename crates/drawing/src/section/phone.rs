//! A cut in a narrow room: across the width with a number for each part, and the parts named in a list below it.
//!
//! Leaves out the words themselves: `captions` has them. Where the height is short the cut shrinks, then notes, list and
//! scale go; letters keep their size.

use super::Section;
use super::captions::{self, Captions};
use super::layers::Depths;
use super::picture::{self, Cut, MEETS};
use crate::canvas::{Canvas, MARGIN, Stroke, Words};
use crate::dimension::{self, BARS};
use crate::phone::{self, Entry, NO_LIST, Shown};
use crate::picture::{Look, Picture, Room};
use crate::text::{LINE, SMALL};

/// The tallest cut.
const TALLEST: f64 = 300.0;
/// A cut is not made lower than this for the sake of words.
const LOWEST: f64 = 90.0;
/// From number to number.
const STEP: f64 = 16.0;
/// For the numbers, right of the cut.
const NUMBERS: f64 = 34.0;
/// For the name of a side.
const SIDE: f64 = SMALL * LINE + 6.0;

pub(super) fn draw(assembly: &Section, room: Room, look: Look) -> Picture {
    let depths = Depths::of(assembly);
    let laid = |shown, tallest| lay(assembly, &depths, room, shown, tallest);
    let (mut sheet, mut bottom, finding) = laid(Shown::All, TALLEST);
    if let Some(height) = room.height {
        for shown in Shown::DOWN {
            (sheet, bottom, _) = laid(shown, TALLEST);
            let over = (bottom + MARGIN).ceil() - height;
            if over > 0.0 {
                let cut = Cut::fit_in(assembly, &depths, span(room), TALLEST).height;
                let least = if shown == Shown::Alone { 24.0 } else { LOWEST.min(cut) };
                (sheet, bottom, _) = laid(shown, (cut - over - 1.0).max(least));
            }
            if (bottom + MARGIN).ceil() <= height {
                break;
            }
        }
    }
    sheet.finish(&assembly.title, &finding, bottom, look)
}

/// From where to where the cut goes.
fn span(room: Room) -> (f64, f64) {
    (MARGIN + MEETS, room.width - MARGIN - NUMBERS)
}

/// Lays everything out and returns it with its lower end and the finding.
fn lay(assembly: &Section, depths: &Depths, room: Room, shown: Shown, tallest: f64) -> (Canvas, f64, String) {
    let mut cut = Cut::fit_in(assembly, depths, span(room), tallest);
    let captions = captions::captions(assembly, depths, &cut);
    let mut canvas = Canvas::new(room.width);
    let top = phone::heading(&mut canvas, &assembly.title, shown.heading_lines());
    let numbers = if shown.list() { captions.all.len() as f64 * STEP } else { 0.0 };
    let block = cut.height.max(numbers);
    cut.top = top + SIDE + (block - cut.height) / 2.0;
    picture::draw(&mut canvas, assembly, depths, &cut);
    picture::name_sides(&mut canvas, assembly, &cut);
    if shown.list() {
        number(&mut canvas, &captions, &cut);
    }
    let mut y = top + block + 2.0 * SIDE;
    if shown.scale() {
        dimension::scale_bars(&mut canvas, MARGIN, y, cut.units_per_nm);
        y += BARS;
    }
    let overall = assembly.style.whole(depths.overall());
    y = canvas.paragraph(&format!("Over all: {overall}."), y + 10.0) + 3.0;
    if shown.list() {
        let entries = captions.all.iter().enumerate();
        let entries: Vec<Entry> = entries
            .map(|(index, caption)| Entry::new((index + 1).to_string(), &caption.text, room.width))
            .collect();
        y = phone::list(&mut canvas, &entries, y);
    } else {
        y = canvas.paragraph(NO_LIST, y);
    }
    if shown.notes() {
        for note in captions::notes(assembly, depths) {
            y = canvas.paragraph(&note, y + 3.0);
        }
    }
    (canvas, y - SMALL * LINE / 2.0, captions.finding(assembly, &overall))
}

/// Writes a number for each part beside the cut, with a line to the part.
fn number(canvas: &mut Canvas, captions: &Captions, cut: &Cut) {
    let all = &captions.all;
    let targets: Vec<f64> = all.iter().map(|caption| cut.at(caption.depth_nm)).collect();
    let middle = cut.top + cut.height / 2.0;
    let half = (cut.height.max(all.len() as f64 * STEP)) / 2.0;
    let places = spread(&targets, STEP, (middle - half, middle + half));
    for (index, (caption, (&target, &y))) in all.iter().zip(targets.iter().zip(&places)).enumerate() {
        if caption.x < cut.right {
            canvas.dot(caption.x, target, 2.0);
        }
        let way = [(caption.x, target), (cut.right + 7.0, target), (cut.right + 15.0, y)];
        canvas.line(&way, Stroke::Thin);
        canvas.write(Words::small(&(index + 1).to_string()).bold(), cut.right + 18.0, y);
    }
}

/// Moves places apart, in order and within a range that has room for all.
fn spread(targets: &[f64], step: f64, (from, to): (f64, f64)) -> Vec<f64> {
    let mut places = targets.to_vec();
    let mut free = from;
    for place in &mut places {
        *place = place.max(free + step / 2.0);
        free = *place + step / 2.0;
    }
    let mut free = to;
    for place in places.iter_mut().rev() {
        *place = place.min(free - step / 2.0);
        free = *place - step / 2.0;
    }
    places
}
