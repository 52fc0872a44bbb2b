//! The words beside a cut: one for each part, in the order they are met from side A, each at the end of a leader.
//!
//! Leaves out the picture. The same words, read in order, are what the drawing says to those who do not see it.

use storypole_units::Length;

use super::layers::{Depths, Span};
use super::picture::Cut;
use super::{FillBox, LayerBox, LeafBox, Seal, Section, StudKind, StudRow, Via};
use crate::canvas::{Canvas, MARGIN, Stroke, WIDTH, Words};
use crate::text::{LINE, SMALL, wrapped};

/// Where the words begin.
const LEFT: f64 = 540.0;
/// Between two captions.
const GAP: f64 = 5.0;
/// The most lines of one caption.
const LINES: usize = 4;

/// All captions, from side A on.
#[derive(Debug)]
pub(super) struct Captions {
    pub(super) all: Vec<Caption>,
}

/// What is said of one part.
#[derive(Debug)]
pub(super) struct Caption {
    pub(super) text: String,
    lines: Vec<String>,
    /// Where the leader begins: along the wall, and in depth.
    pub(super) x: f64,
    pub(super) depth_nm: i64,
}

pub(super) fn captions(assembly: &Section, depths: &Depths, cut: &Cut) -> Captions {
    let mut all = Vec::new();
    leaf(&mut all, assembly, (&assembly.leaf_a, "A"), (&depths.leaf_a, depths.channels[0]), false, cut);
    let mut inside = Vec::new();
    rows(&mut inside, assembly, depths, cut);
    fills(&mut inside, assembly, depths, cut);
    for gap in depths.gaps() {
        let between = format!("gap of {} between the frames", part(assembly, length(gap)));
        inside.push(Caption::new(between, cut.right, middle(gap)));
    }
    if let Some(empty) = empty_cavity(assembly, depths, cut) {
        inside.push(empty);
    }
    inside.sort_by_key(|caption| caption.depth_nm);
    all.extend(inside);
    leaf(&mut all, assembly, (&assembly.leaf_b, "B"), (&depths.leaf_b, depths.channels[1]), true, cut);
    Captions { all }
}

impl Captions {
    pub(super) fn height(&self) -> f64 {
        self.all.iter().map(Caption::height).sum()
    }

    /// Writes the captions beside the middle of the cut.
    pub(super) fn draw(&self, canvas: &mut Canvas, cut: &Cut) {
        let mut y = cut.top + (cut.height - self.height()) / 2.0;
        for caption in &self.all {
            let first = y + SMALL * LINE / 2.0;
            let target = cut.at(caption.depth_nm);
            if caption.x < cut.right {
                canvas.dot(caption.x, target, 2.0);
            }
            let knee = cut.right + 8.0;
            canvas.line(
                &[(caption.x, target), (knee, target), (LEFT - 14.0, first), (LEFT - 5.0, first)],
                Stroke::Thin,
            );
            for (index, line) in caption.lines.iter().enumerate() {
                canvas.write(Words::small(line), LEFT, first + index as f64 * SMALL * LINE);
            }
            y += caption.height();
        }
    }

    /// Says the whole drawing in words.
    pub(super) fn finding(&self, assembly: &Section, overall: &str) -> String {
        let parts: Vec<&str> = self.all.iter().map(|caption| caption.text.as_str()).collect();
        let (a, b) = (&assembly.side_a, &assembly.side_b);
        let parts = parts.join("; ");
        let seals = seals(assembly);
        format!(
            "Level cut seen from above, {overall} thick, from side A ({a}) to side B ({b}): {parts}. {seals}"
        )
    }
}

/// Writes what holds for the whole drawing.
pub(super) fn notes(assembly: &Section, depths: &Depths) -> Vec<String> {
    let mut notes = vec![seals(assembly)];
    if depths.cavity.0 < depths.cavity.1 {
        notes.push(format!("Cavity {} deep.", part(assembly, assembly.cavity_depth)));
    }
    if let Some(plates) = plates(assembly) {
        notes.push(plates);
    }
    let partly = assembly.fills.iter().any(|fill| fill.coverage_percent.is_some_and(|percent| percent < 100));
    if partly {
        notes.push("A fill in a part of the bays is drawn over that share of the width.".to_owned());
    }
    notes.push(
        "Hatched on the left: the wall that this one meets. Thicknesses, studs and spacing are to scale; seals and what holds a channel are signs.".to_owned(),
    );
    if sizes(assembly).any(|length| assembly.style.rounds(length)) {
        notes.push(assembly.style.rounding_note().to_owned());
    }
    notes
}

impl Caption {
    fn new(text: String, x: f64, depth_nm: i64) -> Self {
        let lines = wrapped(&text, SMALL, WIDTH - MARGIN - LEFT, LINES);
        Self { text, lines, x, depth_nm }
    }

    fn height(&self) -> f64 {
        self.lines.len() as f64 * SMALL * LINE + GAP
    }
}

/// Captions of a side, from side A on: boards first on side A, channel first on side B.
fn leaf(
    all: &mut Vec<Caption>,
    assembly: &Section,
    (leaf, side): (&LeafBox, &str),
    (spans, channel): (&[Span], Option<Span>),
    reversed: bool,
    cut: &Cut,
) {
    let mut captions = Vec::new();
    let mut layers: Vec<&LayerBox> = leaf.layers.iter().collect();
    if reversed {
        layers.reverse();
    }
    for (index, (layer, &span)) in layers.iter().zip(spans).enumerate() {
        let text = format!("{}, {}", layer.word, part(assembly, layer.thickness));
        captions.push(Caption::new(text, cut.right, middle(span)));
        if let (Some(between), true) = (&leaf.between, index + 1 < layers.len()) {
            captions.push(Caption::new(format!("{between} between the boards"), cut.right, span.1));
        }
    }
    if let Some(channel) = channel {
        let place = if reversed { 0 } else { captions.len() };
        captions.insert(place, Caption::new(via(assembly, leaf.via), cut.right, middle(channel)));
    }
    if layers.is_empty() {
        let edge = spans.first().map(|span| span.0);
        let edge = edge.unwrap_or(if reversed { end(assembly) } else { 0 });
        captions.push(Caption::new(format!("no boards on side {side}"), cut.right, edge));
    }
    all.extend(captions);
}

/// Where an assembly without boards on side B ends.
fn end(assembly: &Section) -> i64 {
    Depths::of(assembly).cavity.1
}

fn rows(inside: &mut Vec<Caption>, assembly: &Section, depths: &Depths, cut: &Cut) {
    for (row, &span) in assembly.frame.rows.iter().zip(&depths.rows) {
        // Not in the middle, where a fill of the same depth has its own.
        let depth = span.0 + (span.1 - span.0) * 3 / 10;
        let studs = cut.studs(row);
        let x = studs.last().map_or(cut.right, |(left, right)| (left + right) / 2.0);
        inside.push(Caption::new(stud_words(assembly, row), x, depth));
    }
}

fn stud_words(assembly: &Section, row: &StudRow) -> String {
    let kind = match row.kind {
        StudKind::Wood => "wood studs",
        StudKind::Steel => "steel studs",
    };
    let [face, depth, spacing] = [row.face, row.depth, row.spacing].map(|length| part(assembly, length));
    format!("{kind} {face} x {depth}, every {spacing}")
}

fn fills(inside: &mut Vec<Caption>, assembly: &Section, depths: &Depths, cut: &Cut) {
    for (fill, &span) in assembly.fills.iter().zip(&depths.fills) {
        let depth = span.0 + (span.1 - span.0) * 7 / 10;
        let x = clear_of_studs(assembly, depths, cut, depth, cut.fill_end(fill.coverage_percent) - 10.0);
        inside.push(Caption::new(fill_words(assembly, fill), x, depth));
    }
}

fn fill_words(assembly: &Section, fill: &FillBox) -> String {
    let thickness = part(assembly, fill.thickness);
    match fill.coverage_percent {
        Some(percent) if percent < 100 => format!("{}, {thickness}, in {percent} % of the bays", fill.word),
        _ => format!("{}, {thickness}", fill.word),
    }
}

/// Goes left from `x` until no stud is there at this depth.
fn clear_of_studs(assembly: &Section, depths: &Depths, cut: &Cut, depth_nm: i64, mut x: f64) -> f64 {
    let studs = assembly.frame.rows.iter().zip(&depths.rows);
    let studs = studs.filter(|(_, span)| span.0 <= depth_nm && depth_nm <= span.1);
    let mut studs: Vec<(f64, f64)> = studs.flat_map(|(row, _)| cut.studs(row)).collect();
    studs.sort_by(|one, other| other.1.total_cmp(&one.1));
    for (left, right) in studs {
        if left - 4.0 < x && x < right + 4.0 {
            x = left - 6.0;
        }
    }
    x
}

/// Says that a cavity without a fill is empty; a cavity that has only studs is empty too.
fn empty_cavity(assembly: &Section, depths: &Depths, cut: &Cut) -> Option<Caption> {
    let (from, to) = depths.cavity;
    let empty = assembly.fills.is_empty() && from < to;
    empty.then(|| Caption::new("empty cavity".to_owned(), cut.right, from + (to - from) * 7 / 10))
}

fn via(assembly: &Section, via: Via) -> String {
    let (name, depth, spacing) = match via {
        Via::Direct => unreachable!("no caption is written for boards without channel"),
        Via::Channel { depth, spacing } => ("resilient channel", depth, spacing),
        Via::Clips { depth, spacing } => ("channel on isolation clips", depth, spacing),
    };
    let depth = part(assembly, depth);
    match spacing {
        Some(spacing) => format!("{name}, {depth} deep, every {}", part(assembly, spacing)),
        None => format!("{name}, {depth} deep"),
    }
}

/// Names the plates, each depth once; their edges mostly lie behind boards and fills.
fn plates(assembly: &Section) -> Option<String> {
    let mut depths: Vec<Length> = assembly.frame.plates.iter().map(|plate| plate.depth).collect();
    depths.sort_unstable();
    depths.dedup();
    let depths: Vec<String> = depths.into_iter().map(|depth| part(assembly, depth)).collect();
    (!depths.is_empty())
        .then(|| format!("Plates below the cut: {} deep, dashed where they show.", depths.join(" and ")))
}

fn seals(assembly: &Section) -> String {
    let words = |leaf: &LeafBox| match leaf.seal {
        _ if leaf.layers.is_empty() => "no boards".to_owned(),
        None => "not known".to_owned(),
        Some(Seal::None | Seal::Beads(0)) => "none".to_owned(),
        Some(Seal::Gasket) => "a gasket".to_owned(),
        Some(Seal::Beads(1)) => "1 bead".to_owned(),
        Some(Seal::Beads(count)) => format!("{count} beads"),
    };
    format!("Seal round the edge: side A {}, side B {}.", words(&assembly.leaf_a), words(&assembly.leaf_b))
}

/// Every length that is printed.
fn sizes(assembly: &Section) -> impl Iterator<Item = Length> {
    let leaves = [&assembly.leaf_a, &assembly.leaf_b].into_iter();
    let leaves =
        leaves.flat_map(|leaf| leaf.layers.iter().map(|layer| layer.thickness).chain([leaf.via.depth()]));
    let rows = assembly.frame.rows.iter().flat_map(|row| [row.face, row.depth, row.spacing]);
    let fills = assembly.fills.iter().map(|fill| fill.thickness);
    let plates = assembly.frame.plates.iter().map(|plate| plate.depth);
    leaves.chain(rows).chain(fills).chain(plates).chain([assembly.cavity_depth])
}

fn part(assembly: &Section, length: Length) -> String {
    assembly.style.part(length)
}

fn length((from, to): Span) -> Length {
    Length::from_nm(to - from).expect("a span of depth is a length")
}

fn middle((from, to): Span) -> i64 {
    from + (to - from) / 2
}
