//! What walls may differ in beside the part that is compared.
//!
//! Classes and bands are those by which walls count as alike, so that a few millimetres make no difference. Leaves out what
//! is done about a difference: see [`mod@super::weigh`].

use storypole_notebook::assembly::{Cavity, Frame, Leaf};
use storypole_notebook::matching::{MatchKey, Parts};

use super::part::Axis;
use crate::across::{Row, Wall};
use crate::print;

/// One thing walls may differ in.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Trait {
    /// What it is.
    pub(super) name: &'static str,
    /// Its class or band; `unknown` where nobody wrote it down.
    pub(super) class: String,
    /// Its size, where it has one.
    pub(super) size: Option<f64>,
}

const UNKNOWN: &str = "unknown";

/// Class of a change of the compared part alone.
pub(super) const NOTHING: &str = "nothing";

/// What of a row may differ from other rows, those left out that are compared.
pub(super) fn of_row(row: &Row, after: &Parts, compared: &[Axis]) -> Vec<Trait> {
    let asks = |axis: Axis| compared.contains(&axis);
    let key = row.after.key.as_ref();
    let mut traits = Vec::new();
    let mut add = |name, class: String, size: Option<f64>| traits.push(Trait { name, class, size });
    // Channel and staggered studs make a wall deeper by themselves, and an open wall has no tie and one leaf less.
    if !asks(Axis::Coupling) && !asks(Axis::State) {
        add("how the leaves are tied", key.map_or(UNKNOWN.into(), |key| key.coupling.words().into()), None);
    }
    if !asks(Axis::Studs) && !asks(Axis::Coupling) {
        add("depth", band(key.and_then(|key| key.cavity)), depth_mm(after));
    }
    if !asks(Axis::Boards) && !asks(Axis::State) {
        add("mass of the boards", key.map_or(UNKNOWN.into(), masses), mass_kg_m2(after));
    }
    add("stud spacing", band(key.and_then(|key| key.spacing)), spacing_mm(after));
    if !asks(Axis::Fill) {
        let fill = key.map_or(UNKNOWN, |key| key.fill.as_deref().unwrap_or("empty"));
        add("the fill", fill.into(), None);
    }
    if !asks(Axis::Openings) {
        add("openings", key.map_or(UNKNOWN.into(), |key| format!("{:?}", key.opening)), None);
    }
    if let Some(before) = &row.before {
        add("the wall before", before_class(before, compared), None);
        add("what else was changed", also_changed(row, compared), None);
    }
    traits
}

fn band(band: Option<usize>) -> String {
    band.map_or(UNKNOWN.to_owned(), |band| band.to_string())
}

/// Either way round: the lighter leaf first.
fn masses(key: &MatchKey) -> String {
    let mut bands = [key.mass_a, key.mass_b].map(band);
    bands.sort();
    bands.join(" and ")
}

fn depth_mm(wall: &Parts) -> Option<f64> {
    if let Cavity::Space { clear_mm, .. } = &wall.cavity { clear_mm.map(|mm| mm.to_f64()) } else { None }
}

fn mass_kg_m2(wall: &Parts) -> Option<f64> {
    let mass = |leaf: &Leaf| match leaf {
        Leaf::Boards { mass_kg_m2, .. } => mass_kg_m2.map(|mass| mass.to_f64()),
        Leaf::None => Some(0.0),
        Leaf::Unknown => None,
    };
    Some(mass(&wall.leaf_a)? + mass(&wall.leaf_b)?)
}

fn spacing_mm(wall: &Parts) -> Option<f64> {
    if let Frame::Studs { studs, .. } = &wall.frame { Some(studs.spacing_mm.to_f64()) } else { None }
}

/// The wall a change started from: its ties and fill. A wall that was gutted for new ties or boards differs in these by itself.
fn before_class(before: &Wall, compared: &[Axis]) -> String {
    let mut words = vec![before.fill.as_str()];
    if !compared.contains(&Axis::Coupling) && !compared.contains(&Axis::State) {
        words.push(&before.family);
    }
    words.join(", ")
}

/// Parts that changed with the compared ones.
pub(super) fn also_changed(row: &Row, compared: &[Axis]) -> String {
    let own: Vec<&str> = compared.iter().flat_map(|axis| axis.bundle_parts()).copied().collect();
    let mut also: Vec<&str> = row.bundle.iter().filter(|part| !own.contains(part)).copied().collect();
    // The wall may be written down from either side.
    for part in &mut also {
        if part.starts_with("leaf") {
            *part = "a leaf";
        }
    }
    also.sort_unstable();
    if also.is_empty() { NOTHING.to_owned() } else { print::list(&also) }
}
