//! The parts of a bar: which paths stand by themselves, which together, and the pattern of each.
//!
//! Leaves out where they are drawn.

use super::{WallPaths, rest_words};
use crate::chart::axis::printed;
use crate::hatch::Hatch;
use crate::markup::plain;

/// Patterns of paths that stand by themselves, those most unlike each other first.
const HATCHES: [Hatch; 8] = [
    Hatch::Rising,
    Hatch::Dots,
    Hatch::Crossed,
    Hatch::Level,
    Hatch::Rings,
    Hatch::Upright,
    Hatch::Teeth,
    Hatch::Falling,
];
/// A share under this is listed with others like it.
const TINY: f64 = 0.01;

/// A part of a bar.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Part {
    pub(super) words: String,
    pub(super) share: f64,
    pub(super) loss_db: Option<f64>,
    pub(super) hatch: Hatch,
}

impl Part {
    /// Whether it stands for several paths.
    pub(super) fn is_rest(&self) -> bool {
        self.hatch == Hatch::Grey
    }

    /// What it is, and what it loses by itself.
    pub(super) fn long_words(&self) -> String {
        let loss = self.loss_db.map_or(String::new(), |loss| format!(" ({} dB by itself)", printed(loss, 0)));
        format!("{}{loss}", self.words)
    }
}

/// Returns the parts of each wall's bar. A path of the same name has the same pattern and the same place in every bar.
pub(super) fn parts(walls: &[&WallPaths]) -> Vec<Vec<Part>> {
    let names = names(walls);
    walls.iter().map(|wall| parts_of(wall, &names)).collect()
}

/// Names that stand by themselves in any wall, from the greatest share down.
fn names(walls: &[&WallPaths]) -> Vec<String> {
    let mut all: Vec<(String, f64)> = Vec::new();
    for path in walls.iter().flat_map(|wall| &wall.paths) {
        let name = plain(&path.label);
        match all.iter_mut().find(|(known, _)| *known == name) {
            Some((_, share)) => *share = share.max(path.share),
            None => all.push((name, path.share)),
        }
    }
    all.sort_by(|one, other| other.1.total_cmp(&one.1));
    all.into_iter().take(HATCHES.len()).map(|(name, _)| name).collect()
}

fn parts_of(wall: &WallPaths, names: &[String]) -> Vec<Part> {
    let mut own: Vec<(usize, Part)> = Vec::new();
    let mut rest = Vec::new();
    // One alone keeps its pattern, however small.
    let is_alone = wall.paths.iter().filter(|path| path.share < TINY).count() == 1;
    for path in &wall.paths {
        let name = plain(&path.label);
        let share = path.share.max(0.0);
        let place = names.iter().position(|known| *known == name);
        let is_twice = own.iter().any(|(at, _)| Some(*at) == place);
        match place {
            Some(at) if !is_twice && (share >= TINY || is_alone) => {
                own.push((at, Part { words: name, share, loss_db: path.loss_db, hatch: HATCHES[at] }));
            }
            _ => rest.push((path, share)),
        }
    }
    own.sort_by_key(|(at, _)| *at);
    let mut parts: Vec<Part> = own.into_iter().map(|(_, part)| part).collect();
    if !rest.is_empty() {
        let labels: Vec<&str> = rest.iter().map(|(path, _)| path.label.as_str()).collect();
        let share = rest.iter().map(|(_, share)| share).sum();
        parts.push(Part { words: rest_words(&labels), share, loss_db: None, hatch: Hatch::Grey });
    }
    parts
}
