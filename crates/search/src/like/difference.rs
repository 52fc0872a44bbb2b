//! What differs between two walls, with the values of both in words.

use storypole_notebook::assembly::{Cavity, Fill, Frame, Layer, Leaf, Milli, Openings, Via};
use storypole_notebook::matching::Parts;

use crate::facts::walls::Wall;

/// Whether a difference counts when walls are matched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// It lies in another class or band.
    Counts,
    /// The sizes differ and lie within the same band.
    SameBand,
    /// Walls are not matched by it.
    Beside,
}

/// One thing that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// What.
    pub what: &'static str,
    /// Whether it counts.
    pub weight: Weight,
    /// As it is in the wall that was asked about.
    pub here: String,
    /// As it is in the other one, turned where it lies the other way round.
    pub there: String,
}

impl Difference {
    /// In words: `kind of fill: cellulose here, glass fibre there`.
    pub fn words(&self) -> String {
        let band = if self.weight == Weight::SameBand { " (within the same band)" } else { "" };
        format!("{}: {} here, {} there{band}", self.what, self.here, self.there)
    }
}

/// Whether the other wall is better laid the other way round, and what differs then, what counts first.
pub(super) fn named(here: (&Wall, &Parts), there: (&Wall, &Parts)) -> (bool, Vec<Difference>) {
    let counted =
        |list: &[Difference]| (list.iter().filter(|one| one.weight == Weight::Counts).count(), list.len());
    let mut differences = leaves(here, there, Way::Straight);
    let mut mirrored = false;
    if !differences.is_empty() {
        let turned = leaves(here, there, Way::Turned);
        mirrored = counted(&turned) < counted(&differences);
        if mirrored {
            differences = turned;
        }
    }
    between_leaves(here, there, &mut differences);
    // Stable, so that what counts stands first and else the order is that of the wall.
    differences.sort_by_key(|one| one.weight);
    (mirrored, differences)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Straight,
    Turned,
}

/// What is said of the first leaf that differs, and of the second.
const SIDES: [[&str; 4]; 2] = [
    ["board on one side", "layers on one side", "how the board on one side is held", "damping on one side"],
    [
        "board on the other side",
        "layers on the other side",
        "how the board on the other side is held",
        "damping on the other side",
    ],
];

fn leaves(here: (&Wall, &Parts), there: (&Wall, &Parts), way: Way) -> Vec<Difference> {
    let own = [(&here.1.leaf_a, band(here.0, Side::A)), (&here.1.leaf_b, band(here.0, Side::B))];
    let mut other = [(&there.1.leaf_a, band(there.0, Side::A)), (&there.1.leaf_b, band(there.0, Side::B))];
    if way == Way::Turned {
        other.reverse();
    }
    let mut differences = Vec::new();
    for ((own, own_band), (other, other_band)) in own.into_iter().zip(other) {
        let [mass, layers, held, damping] = SIDES[usize::from(!differences.is_empty())];
        let mut add =
            |what, weight, (here, there)| differences.push(Difference { what, weight, here, there });
        if own_band != other_band {
            add(mass, Weight::Counts, (mass_words(own), mass_words(other)));
        } else if mass_of(own) != mass_of(other) {
            add(mass, Weight::SameBand, (mass_words(own), mass_words(other)));
        } else if layers_of(own) != layers_of(other) {
            add(layers, Weight::Beside, (layer_words(own), layer_words(other)));
        }
        if let (Leaf::Boards { via: one, damping: a, .. }, Leaf::Boards { via: two, damping: b, .. }) =
            (own, other)
        {
            if one != two {
                add(held, Weight::Beside, (via_words(*one), via_words(*two)));
            }
            if a != b {
                add(damping, Weight::Beside, (damping_words(*a), damping_words(*b)));
            }
        }
    }
    differences
}

enum Side {
    A,
    B,
}

fn band(wall: &Wall, side: Side) -> Option<usize> {
    let key = wall.key.as_ref()?;
    match side {
        Side::A => key.mass_a,
        Side::B => key.mass_b,
    }
}

fn mass_of(leaf: &Leaf) -> Option<Milli> {
    if let Leaf::Boards { mass_kg_m2, .. } = leaf { *mass_kg_m2 } else { None }
}

fn layers_of(leaf: &Leaf) -> Option<&[Layer]> {
    if let Leaf::Boards { layers, .. } = leaf { Some(layers) } else { None }
}

/// The mass; the layers where nobody wrote it down.
fn mass_words(leaf: &Leaf) -> String {
    match mass_of(leaf) {
        Some(mass) => format!("{mass} kg/m²"),
        None if layers_of(leaf).is_some() => format!("{}, its mass not written down,", layer_words(leaf)),
        None => "none".to_owned(),
    }
}

fn layer_words(leaf: &Leaf) -> String {
    let Some(layers) = layers_of(leaf) else { return "none".to_owned() };
    let layer = |layer: &Layer| match layer.count {
        1 => format!("{} mm {}", layer.thickness_mm, layer.material),
        count => format!("{count} layers of {} mm {}", layer.thickness_mm, layer.material),
    };
    layers.iter().map(layer).collect::<Vec<_>>().join(" and ")
}

fn via_words(via: Via) -> String {
    match via {
        Via::Direct => "screwed to the frame".to_owned(),
        Via::Channel { depth_mm, spacing_mm } => format!("on {depth_mm} mm channel every {spacing_mm} mm"),
        Via::Clip => "on clips".to_owned(),
    }
}

fn damping_words(damping: bool) -> String {
    if damping { "damping compound" } else { "none" }.to_owned()
}

/// What differs beside the leaves. Words are made only where something does: most walls of a notebook are much alike.
fn between_leaves(here: (&Wall, &Parts), there: (&Wall, &Parts), differences: &mut Vec<Difference>) {
    let (Some(own), Some(other)) = (&here.0.key, &there.0.key) else { return };
    let mut add = |what, weight, here: String, there: String| {
        if here != there {
            differences.push(Difference { what, weight, here, there });
        }
    };
    let banded = |same: bool| if same { Weight::SameBand } else { Weight::Counts };
    let parts = [here.1, there.1];
    let [one, two] = parts.map(Parts::fill);
    let what = if one.is_some() && two.is_some() { "kind of fill" } else { "fill" };
    add(what, Weight::Counts, fill_words(one), fill_words(two));
    let [one, two] = parts.map(clear);
    if one != two {
        add("cavity", banded(own.cavity == other.cavity), size(one), size(two));
    }
    let [one, two] = parts.map(spacing);
    if one != two {
        add("stud spacing", banded(own.spacing == other.spacing), size(one), size(two));
    }
    if here.1.openings != there.1.openings {
        let weight = if own.opening == other.opening { Weight::Beside } else { Weight::Counts };
        let [one, two] = parts.map(|parts| opening_words(&parts.openings));
        add("openings", weight, one, two);
    }
    beside(here, there, &mut add);
}

/// What walls are not matched by.
fn beside(
    here: (&Wall, &Parts),
    there: (&Wall, &Parts),
    add: &mut impl FnMut(&'static str, Weight, String, String),
) {
    if let (Some(one), Some(two)) = (here.1.fill(), there.1.fill())
        && one != two
    {
        for (what, words) in FILL_SIZES {
            add(what, Weight::Beside, words(one), words(two));
        }
    }
    if here.1.frame != there.1.frame {
        add("frame", Weight::Beside, frame_words(&here.1.frame), frame_words(&there.1.frame));
    }
    for (what, one, two) in
        [("seals", here.0.seals(), there.0.seals()), ("what it is", here.0.element(), there.0.element())]
    {
        if one != two {
            add(what, Weight::Beside, one.to_owned(), two.to_owned());
        }
    }
}

type FillSize = (&'static str, fn(&Fill) -> String);

const FILL_SIZES: [FillSize; 4] = [
    ("thickness of the fill", |fill| format!("{} mm", fill.thickness_mm)),
    ("density of the fill", |fill| {
        fill.density_kg_m3.map_or(NOT_WRITTEN.to_owned(), |density| format!("{density} kg/m³"))
    }),
    ("share of the bays filled", |fill| {
        fill.coverage_percent.map_or(NOT_WRITTEN.to_owned(), |share| format!("{share} %"))
    }),
    ("how the fill sits", |fill| if fill.compressed { "squeezed" } else { "not squeezed" }.to_owned()),
];

const NOT_WRITTEN: &str = "not written down";

fn fill_words(fill: Option<&Fill>) -> String {
    fill.map_or("empty".to_owned(), |fill| fill.kind.clone())
}

fn clear(parts: &Parts) -> Option<Milli> {
    if let Cavity::Space { clear_mm, .. } = &parts.cavity { *clear_mm } else { None }
}

fn spacing(parts: &Parts) -> Option<Milli> {
    if let Frame::Studs { studs, .. } = &parts.frame { Some(studs.spacing_mm) } else { None }
}

fn size(size_mm: Option<Milli>) -> String {
    size_mm.map_or(NOT_WRITTEN.to_owned(), |mm| format!("{mm} mm"))
}

fn opening_words(openings: &Openings) -> String {
    match openings {
        Openings::Unknown => NOT_WRITTEN.to_owned(),
        openings => openings.to_string(),
    }
}

/// The frame without the spacing, which is told by itself.
fn frame_words(frame: &Frame) -> String {
    let Frame::Studs { arrangement, studs, plate_mm, gap_mm, plates } = frame else {
        return frame.to_string();
    };
    let mut said = format!("{} {}x{} mm", arrangement.words(), studs.width_mm, studs.depth_mm);
    if let Some((width, depth)) = plate_mm {
        said.push_str(&format!(" on {width}x{depth} mm plates"));
    }
    if let Some(gap) = gap_mm {
        said.push_str(&format!(" with a gap of {gap} mm"));
    }
    if let Some(plates) = plates {
        said.push_str(&format!(" with {plates} plates"));
    }
    said
}
