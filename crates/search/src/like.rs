//! Walls built like another one, either way round, with the differences named.
//!
//! Which walls count as alike is the notebook's: [`storypole_notebook::matching`]. Here every difference gets its values, also
//! one that lies within a band and so does not count. Leaves out what was achieved with the walls.

mod difference;
#[cfg(test)]
mod tests;

use std::cmp::Reverse;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::assembly::{Cavity, Frame, Leaf, PartError};
use storypole_notebook::matching::{MatchLevel, Parts};

use crate::facts::Walls;
use crate::facts::walls::Wall;
pub use difference::{Difference, Weight};

/// The walls that are like one.
#[derive(Debug, Clone, PartialEq)]
pub struct BuiltLike {
    /// Best level first, then those with fewest differences, then the newest.
    pub alike: Vec<Alike>,
    /// What nobody wrote down of the wall that was asked about, though walls are matched by it: it is like none but walls where it
    /// is not written down either.
    pub not_written: Vec<&'static str>,
    /// Other walls that were not compared, because a part of them is not written down or cannot be read.
    pub not_compared: usize,
}

/// A wall that is like the one asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike {
    /// The wall.
    pub assembly: RecordId,
    /// How alike.
    pub level: MatchLevel,
    /// Whether leaf A of one lies on leaf B of the other.
    pub mirrored: bool,
    /// Whether it is another version of the very wall that was asked about.
    pub is_same_wall: bool,
    /// What differs, what counts first.
    pub differences: Vec<Difference>,
}

/// Why there is nothing to compare.
#[derive(Debug, thiserror::Error)]
pub enum LikeError {
    /// There is no such assembly.
    #[error("there is no such assembly: look it up by its label")]
    Missing,
    /// It was struck.
    #[error(
        "the assembly was struck ({why}): reinstate it first, or ask about the version that stands for it"
    )]
    Struck {
        /// The reason that was given.
        why: String,
    },
    /// One of its parts cannot be read.
    #[error("a part of the assembly cannot be read: correct it")]
    Unreadable {
        /// Which, with an example of the notation.
        source: PartError,
    },
    /// Parts that walls are matched by are not written down.
    #[error("nobody wrote down {}: write it down, and walls like it can be found", .parts.join(", "))]
    NotWritten {
        /// The parts.
        parts: Vec<&'static str>,
    },
}

/// Finds every other assembly that is like one, at a level or better.
///
/// Struck ones are left out. Panels for a bench rig are compared with panels only. Versions of the very same wall are among them,
/// marked.
///
/// # Errors
/// [`LikeError`] where the assembly is not there, was struck, cannot be read, or lacks a part without which nothing can be said.
pub fn built_like(
    book: &Book,
    walls: &Walls,
    assembly: RecordId,
    level: MatchLevel,
) -> Result<BuiltLike, LikeError> {
    let asked = book.assemblies.get(assembly).ok_or(LikeError::Missing)?;
    if let Some(why) = &asked.meta.struck {
        return Err(LikeError::Struck { why: why.clone() });
    }
    let asked = walls.of(asked);
    let parts = asked.parts.as_ref().map_err(|why| LikeError::Unreadable { source: why.clone() })?;
    let missing = missing_parts(parts);
    if !missing.is_empty() {
        return Err(LikeError::NotWritten { parts: missing });
    }
    let root = root(book, assembly);
    let mut found = BuiltLike { alike: Vec::new(), not_written: missing_sizes(parts), not_compared: 0 };
    let mut alike: Vec<(Alike, _)> = Vec::new();
    for other in book.assemblies.live().filter(|other| other.id != assembly) {
        let wall = walls.of(other);
        let Some(there) = wall.parts.as_ref().ok().filter(|parts| missing_parts(parts).is_empty()) else {
            found.not_compared += 1;
            continue;
        };
        let Some(level) = matches(&asked, &wall).filter(|one| *one <= level) else { continue };
        let (mirrored, differences) = difference::named((&asked, parts), (&wall, there));
        let is_same_wall = self::root(book, wall.id) == root;
        alike.push((Alike { assembly: wall.id, level, mirrored, is_same_wall, differences }, other.since));
    }
    alike.sort_by_key(|(one, since)| (one.level, one.counted(), Reverse((*since, one.assembly))));
    found.alike = alike.into_iter().map(|(one, _)| one).collect();
    Ok(found)
}

fn matches(asked: &Wall, other: &Wall) -> Option<MatchLevel> {
    if asked.is_panel() != other.is_panel() {
        return None;
    }
    let found = asked.key.as_ref()?.compare(other.key.as_ref()?)?;
    Some(found.level)
}

impl Alike {
    /// How many differences count, and how many there are.
    fn counted(&self) -> (usize, usize) {
        let counted = self.differences.iter().filter(|one| one.weight == Weight::Counts).count();
        (counted, self.differences.len())
    }

    /// In one sentence.
    pub fn words(&self) -> String {
        let mut said = match self.level {
            MatchLevel::Same => "The same build",
            MatchLevel::Near => "Built nearly the same",
            MatchLevel::Family => "Of the same family",
        }
        .to_owned();
        if self.mirrored {
            said.push_str(", the other way round");
        }
        if self.is_same_wall {
            said.push_str(", another version of this very wall");
        }
        let differences: Vec<String> = self.differences.iter().map(Difference::words).collect();
        match differences.as_slice() {
            [] => said.push_str(": nothing written down differs."),
            some => said.push_str(&format!(": {}.", some.join("; "))),
        }
        said
    }
}

/// Parts without which nothing can be said of a wall: taken for none, they would make it like walls it has nothing in common with.
fn missing_parts(parts: &Parts) -> Vec<&'static str> {
    let mut missing = Vec::new();
    let mut note = |is_missing: bool, part| missing.extend(is_missing.then_some(part));
    note(parts.leaf_a == Leaf::Unknown, "leaf A");
    note(matches!(parts.frame, Frame::Unknown | Frame::None), "the frame");
    note(parts.cavity == Cavity::Unknown, "the cavity");
    note(parts.leaf_b == Leaf::Unknown, "leaf B");
    missing
}

/// Sizes that walls are matched by and that are not written down.
fn missing_sizes(parts: &Parts) -> Vec<&'static str> {
    let no_mass = |leaf: &Leaf| matches!(leaf, Leaf::Boards { mass_kg_m2: None, .. });
    let mut missing = Vec::new();
    let mut note = |is_missing: bool, size| missing.extend(is_missing.then_some(size));
    note(no_mass(&parts.leaf_a), "the mass of leaf A");
    note(matches!(parts.cavity, Cavity::Space { clear_mm: None, .. }), "the clear depth of the cavity");
    note(no_mass(&parts.leaf_b), "the mass of leaf B");
    note(parts.openings == storypole_notebook::assembly::Openings::Unknown, "the openings");
    note(parts.state == "unknown", "the state of the work");
    missing
}

/// The oldest version of a wall that is known. Versions that replace each other in a ring have the least of the ring.
fn root(book: &Book, assembly: RecordId) -> RecordId {
    let replaced = |wall| book.assemblies.get(wall).and_then(|wall| wall.replaces);
    // One goes half as fast: in a ring the other comes round to it.
    let (mut at, mut slow, mut is_even) = (assembly, assembly, true);
    while let Some(older) = replaced(at) {
        at = older;
        is_even = !is_even;
        if is_even {
            slow = replaced(slow).expect("the faster one went this way");
        }
        if at == slow {
            let ring = std::iter::successors(replaced(at), |wall| replaced(*wall).filter(|_| *wall != at));
            return ring.min().unwrap_or(at);
        }
    }
    at
}
