//! The cut itself: boards, channel, studs, fills and seals in their places.
//!
//! Leaves out the words beside it.

use storypole_units::Length;
use storypole_units::length::NM_PER_MM;

use super::layers::{Depths, Span};
use super::{LeafBox, Seal, Section, StudKind, StudRow, Via};
use crate::canvas::{Anchor, Canvas, MARGIN, Stroke, Words};
use crate::hatch::Hatch;
use crate::text::{Area, SMALL, wrapped};

/// The line of the overall size.
pub(super) const DIMENSION: f64 = 62.0;
/// On a sheet: where the boards begin, left of it the wall that this one meets; and where the cut breaks off.
const SHEET: (f64, f64) = (102.0, 500.0);
/// The tallest cut on a sheet.
const TALLEST: f64 = 440.0;
/// How much of the widest spacing is shown: one stud of each row at least, two where the first is near the left edge.
const SPACINGS_SHOWN: f64 = 1.45;
/// Shown of an assembly without studs.
const SHOWN_NM: i64 = 600 * NM_PER_MM;
/// Width of the strip for the wall that this one meets.
pub(super) const MEETS: f64 = 14.0;
/// From that wall to the ends of the boards, where the seal is.
const JOINT: f64 = 7.0;

/// The cut on the sheet.
#[derive(Debug)]
pub(super) struct Cut {
    /// Where the boards begin.
    pub(super) left: f64,
    /// Where the cut breaks off.
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) height: f64,
    pub(super) units_per_nm: f64,
}

impl Cut {
    /// Fits an assembly into its place on a sheet, its top at 0 for now.
    pub(super) fn fit(assembly: &Section, depths: &Depths) -> Self {
        Self::fit_in(assembly, depths, SHEET, TALLEST)
    }

    /// Fits an assembly between two points along the wall, no taller than `tallest`, its top at 0 for now.
    pub(super) fn fit_in(
        assembly: &Section,
        depths: &Depths,
        (left, right): (f64, f64),
        tallest: f64,
    ) -> Self {
        let widest = assembly.frame.rows.iter().map(|row| row.spacing.nm()).max();
        let shown = widest.map_or(SHOWN_NM as f64, |spacing| spacing as f64 * SPACINGS_SHOWN);
        let overall = depths.overall().nm() as f64;
        let units_per_nm = ((right - left) / shown).min(tallest / overall);
        Self { left, right, top: 0.0, height: overall * units_per_nm, units_per_nm }
    }

    /// Places a span of depth between two points along the wall.
    fn strip(&self, (from, to): Span, (left, right): (f64, f64)) -> Area {
        let top = self.top + from as f64 * self.units_per_nm;
        Area { left, top, width: right - left, height: (to - from) as f64 * self.units_per_nm }
    }

    pub(super) fn at(&self, nm: i64) -> f64 {
        self.top + nm as f64 * self.units_per_nm
    }

    /// Lists the studs of a row, left and right edge, cut off where the drawing ends.
    pub(super) fn studs(&self, row: &StudRow) -> Vec<(f64, f64)> {
        let units = |length: Length| length.nm() as f64 * self.units_per_nm;
        let (spacing, face) = (units(row.spacing), units(row.face));
        let first = units(Length::from_nm(row.offset.nm() % row.spacing.nm()).expect("less than a spacing"));
        let count = ((self.right - self.left) / spacing).ceil() as i32 + 1;
        let studs = (-1..=count).map(|index| {
            let centre = self.left + first + f64::from(index) * spacing;
            ((centre - face / 2.0).max(self.left), (centre + face / 2.0).min(self.right))
        });
        studs.filter(|(left, right)| right - left > 0.5).collect()
    }

    /// Returns where a fill ends on the right.
    pub(super) fn fill_end(&self, coverage_percent: Option<u8>) -> f64 {
        self.left + (self.right - self.left) * f64::from(coverage_percent.unwrap_or(100)) / 100.0
    }
}

pub(super) fn draw(canvas: &mut Canvas, assembly: &Section, depths: &Depths, cut: &Cut) {
    if depths.cavity.0 < depths.cavity.1 {
        canvas.patch(cut.strip(depths.cavity, (cut.left, cut.right)), Hatch::Plain);
    }
    for (fill, &span) in assembly.fills.iter().zip(&depths.fills) {
        let area = cut.strip(span, (cut.left, cut.fill_end(fill.coverage_percent)));
        canvas.patch(area, fill.kind.hatch());
        canvas.frame(area, Stroke::Thin);
    }
    for &plate in &depths.plates {
        canvas.frame(cut.strip(plate, (cut.left, cut.right)), Stroke::Dashed);
    }
    for (row, &span) in assembly.frame.rows.iter().zip(&depths.rows) {
        for (left, right) in cut.studs(row) {
            draw_stud(canvas, row.kind, cut.strip(span, (left, right)));
        }
    }
    for (leaf, channel) in [&assembly.leaf_a, &assembly.leaf_b].into_iter().zip(depths.channels) {
        if let Some(channel) = channel {
            draw_channel(canvas, assembly, leaf.via, channel, (depths, cut));
        }
    }
    let layers_b = assembly.leaf_b.layers.iter().rev().zip(&depths.leaf_b);
    for (layer, &span) in assembly.leaf_a.layers.iter().zip(&depths.leaf_a).chain(layers_b) {
        canvas.rect(cut.strip(span, (cut.left + JOINT, cut.right)), layer.kind.hatch(), Stroke::Firm);
    }
    draw_between(canvas, &assembly.leaf_a, &depths.leaf_a, cut);
    draw_between(canvas, &assembly.leaf_b, &depths.leaf_b, cut);
    draw_edges(canvas, assembly, depths, cut);
}

/// Names the rooms above and below the cut.
pub(super) fn name_sides(canvas: &mut Canvas, assembly: &Section, cut: &Cut) {
    let names =
        [("A", &assembly.side_a, cut.top - 14.0), ("B", &assembly.side_b, cut.top + cut.height + 15.0)];
    for (side, name, y) in names {
        for line in wrapped(&format!("Side {side}: {name}"), SMALL, cut.right - cut.left, 1) {
            canvas.write(Words { anchor: Anchor::Start, ..Words::small(&line).bold() }, cut.left, y);
        }
    }
}

/// Wood as cut across the grain, with its diagonals; steel as an open profile.
fn draw_stud(canvas: &mut Canvas, kind: StudKind, area: Area) {
    let (left, top, right, bottom) = (area.left, area.top, area.right(), area.bottom());
    match kind {
        StudKind::Wood => {
            canvas.rect(area, Hatch::Grey, Stroke::Firm);
            canvas.line(&[(left, top), (right, bottom)], Stroke::Thin);
            canvas.line(&[(left, bottom), (right, top)], Stroke::Thin);
        }
        StudKind::Steel => {
            canvas.patch(area, Hatch::Plain);
            let lip = (area.height / 6.0).min(6.0);
            let profile = [
                (right, top + lip),
                (right, top),
                (left, top),
                (left, bottom),
                (right, bottom),
                (right, bottom - lip),
            ];
            canvas.line(&profile, Stroke::Firm);
        }
    }
}

/// Channel runs along the wall; a block of ink on each stud of the nearest row holds it, with a clip two.
fn draw_channel(
    canvas: &mut Canvas,
    assembly: &Section,
    via: Via,
    span: Span,
    (depths, cut): (&Depths, &Cut),
) {
    let strip = cut.strip(span, (cut.left + JOINT, cut.right));
    let near_a = span.0 == depths.cavity.0;
    let distance = |row: &Span| if near_a { row.0 } else { -row.1 };
    let nearest = assembly.frame.rows.iter().zip(&depths.rows).min_by_key(|(_, row)| distance(row));
    // The channel itself takes the half next to the boards, what holds it the half next to the studs.
    let half = strip.height / 2.0;
    let at_boards = Area { height: half, top: if near_a { strip.top } else { strip.top + half }, ..strip };
    let at_studs = Area { height: half, top: if near_a { strip.top + half } else { strip.top }, ..strip };
    canvas.rect(at_boards, Hatch::Upright, Stroke::Firm);
    let Some((row, _)) = nearest else { return };
    for (left, right) in cut.studs(row) {
        let middle = (left + right) / 2.0;
        let places = match via {
            Via::Clips { .. } => vec![middle - 5.0, middle + 5.0],
            Via::Channel { .. } | Via::Direct => vec![middle],
        };
        for x in places {
            canvas.block(Area { left: x - 3.0, width: 6.0, ..at_studs });
        }
    }
}

/// A zigzag on each joint between boards that something is spread in.
fn draw_between(canvas: &mut Canvas, leaf: &LeafBox, spans: &[Span], cut: &Cut) {
    if leaf.between.is_none() {
        return;
    }
    for joint in spans.windows(2) {
        let y = cut.at(joint[0].1);
        let steps = ((cut.right - cut.left - JOINT) / 6.0) as usize;
        let zigzag = (0..=steps).map(|step| {
            let swing = if step % 2 == 0 { -1.8 } else { 1.8 };
            (cut.left + JOINT + 6.0 * step as f64, y + swing)
        });
        canvas.line(&zigzag.collect::<Vec<_>>(), Stroke::Firm);
    }
}

/// The wall that this one meets, the seals against it, and the break on the right.
fn draw_edges(canvas: &mut Canvas, assembly: &Section, depths: &Depths, cut: &Cut) {
    let (top, bottom) = (cut.top - 6.0, cut.top + cut.height + 6.0);
    let meets = Area { left: cut.left - MEETS, top, width: MEETS, height: bottom - top };
    canvas.rect(meets, Hatch::Falling, Stroke::Firm);
    for (leaf, spans) in [(&assembly.leaf_a, &depths.leaf_a), (&assembly.leaf_b, &depths.leaf_b)] {
        if let (Some(first), Some(last)) = (spans.first(), spans.last()) {
            draw_seal(canvas, leaf.seal, cut.strip((first.0, last.1), (cut.left, cut.left + JOINT)));
        }
    }
    let middle = cut.top + cut.height / 2.0;
    let break_line = [
        (cut.right, top),
        (cut.right, middle - 8.0),
        (cut.right - 5.0, middle - 3.0),
        (cut.right + 5.0, middle + 3.0),
        (cut.right, middle + 8.0),
        (cut.right, bottom),
    ];
    canvas.line(&break_line, Stroke::Firm);
}

fn draw_seal(canvas: &mut Canvas, seal: Option<Seal>, joint: Area) {
    match seal {
        None | Some(Seal::None) => (),
        Some(Seal::Gasket) => canvas.block(joint),
        Some(Seal::Beads(count)) => {
            let drawn = f64::from(count.min(4));
            let pitch = joint.height / drawn.max(1.0);
            for index in 0..count.min(4) {
                let y = joint.top + (f64::from(index) + 0.5) * pitch;
                canvas.dot(joint.left + JOINT / 2.0, y, (pitch / 2.0).min(JOINT / 2.0));
            }
        }
    }
}

/// The sheet's left margin is free for the overall size.
const _: () = assert!(DIMENSION < SHEET.0 - MEETS && DIMENSION > MARGIN);
