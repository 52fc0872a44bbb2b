//! Parts of a wall as a question names them: each a set of alternatives, so that "boarded" can mean two states and "filled" any fill.
//!
//! Leaves out the words they are recognised by: see [`mod@super::parse`].

use storypole_notebook::assembly::{Coupling, FILLS, Frame, Leaf, Milli, Opening, Openings};
use storypole_notebook::matching::Parts;

use crate::print;

/// What of a wall a part speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Axis {
    /// What is in the cavity.
    Fill,
    /// The section of the studs.
    Studs,
    /// How the leaves are tied.
    Coupling,
    /// How many boards lie on one another.
    Boards,
    /// How far the work is.
    State,
    /// Doors, windows and other holes.
    Openings,
}

impl Axis {
    /// The axis in words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Fill => "fill",
            Self::Studs => "studs",
            Self::Coupling => "coupling",
            Self::Boards => "boards",
            Self::State => "state",
            Self::Openings => "openings",
        }
    }

    /// Parts of the record of a wall that a change on this axis writes anew.
    pub(super) fn bundle_parts(self) -> &'static [&'static str] {
        match self {
            Self::Fill => &["cavity"],
            Self::Studs => &["frame", "cavity"],
            // Channel and clips hold a leaf, and make the cavity deeper.
            Self::Coupling => &["frame", "leaf A", "leaf B", "cavity"],
            Self::Boards | Self::State => &["leaf A", "leaf B"],
            Self::Openings => &["openings"],
        }
    }
}

/// Which holes a wall has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Holes {
    /// At least one: of this kind, `door` or `window`, or of any.
    Some(Option<&'static str>),
    /// None: of this kind, or of any.
    None(Option<&'static str>),
}

/// One part of a wall, as a question names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// One of these fills, named as the notebook stores them; `empty` among them is no fill.
    Fill(Vec<&'static str>),
    /// Studs of this depth, mm.
    Studs(u16),
    /// One of these ties.
    Coupling(Vec<Coupling>),
    /// So many boards on one another: on at least one side, or on both.
    Boards {
        /// How many.
        count: u32,
        /// Whether both sides have to.
        both: bool,
    },
    /// One of these states, as the notebook stores them.
    State(Vec<&'static str>),
    /// Doors, windows and the like.
    Openings(Holes),
}

/// Word for a cavity without fill.
pub(super) const EMPTY: &str = "empty";

/// A stud as cut may be off the written section by this much, mm: 1 1/2 in is 38.1.
const SECTION_TOLERANCE_MM: f64 = 1.5;

impl Part {
    /// What it speaks of.
    pub fn axis(&self) -> Axis {
        match self {
            Self::Fill(_) => Axis::Fill,
            Self::Studs(_) => Axis::Studs,
            Self::Coupling(_) => Axis::Coupling,
            Self::Boards { .. } => Axis::Boards,
            Self::State(_) => Axis::State,
            Self::Openings(_) => Axis::Openings,
        }
    }

    /// Whether a wall has it. What nobody wrote down, no part takes.
    pub fn takes(&self, wall: &Parts) -> bool {
        match self {
            Self::Fill(kinds) => fill(wall).is_some_and(|fill| kinds.contains(&fill)),
            Self::Studs(depth_mm) => has_studs(wall, *depth_mm),
            Self::Coupling(ties) => {
                let known = wall.frame != Frame::Unknown && wall.frame != Frame::None;
                known && ties.contains(&wall.coupling())
            }
            Self::Boards { count, both } => has_boards(wall, *count, *both),
            Self::State(states) => states.contains(&wall.state.as_str()),
            Self::Openings(holes) => has_holes(wall, *holes),
        }
    }

    /// Whether every wall that `other` takes is one this part takes, and more of them.
    pub(super) fn is_wider_than(&self, other: &Self) -> bool {
        fn covers<T: PartialEq>(wide: &[T], narrow: &[T]) -> bool {
            wide.len() > narrow.len() && narrow.iter().all(|one| wide.contains(one))
        }
        match (self, other) {
            (Self::Fill(wide), Self::Fill(narrow)) => covers(wide, narrow),
            (Self::Coupling(wide), Self::Coupling(narrow)) => covers(wide, narrow),
            (Self::State(wide), Self::State(narrow)) => covers(wide, narrow),
            (Self::Boards { count, both: false }, Self::Boards { count: narrow, both: true }) => {
                count == narrow
            }
            (Self::Openings(Holes::Some(None)), Self::Openings(Holes::Some(Some(_))))
            | (Self::Openings(Holes::None(Some(_))), Self::Openings(Holes::None(None))) => true,
            _ => false,
        }
    }

    /// This part without what `other` takes, where both are sets.
    pub(super) fn without(&self, other: &Self) -> Self {
        fn less<T: PartialEq + Copy>(from: &[T], other: &[T]) -> Vec<T> {
            from.iter().filter(|one| !other.contains(one)).copied().collect()
        }
        match (self, other) {
            (Self::Fill(from), Self::Fill(other)) => Self::Fill(less(from, other)),
            (Self::Coupling(from), Self::Coupling(other)) => Self::Coupling(less(from, other)),
            (Self::State(from), Self::State(other)) => Self::State(less(from, other)),
            _ => self.clone(),
        }
    }

    /// The part in words, as a side is called.
    pub fn words(&self) -> String {
        match self {
            Self::Fill(kinds) => fill_words(kinds),
            Self::Studs(depth_mm) => studs_words(*depth_mm),
            Self::Coupling(ties) => or(ties.iter().map(|tie| coupling_words(*tie))),
            Self::Boards { count, both } => {
                let boards = match count {
                    1 => "one board".to_owned(),
                    2 => "two boards".to_owned(),
                    more => format!("{more} boards"),
                };
                let sides = match (count, both) {
                    (1, _) => "a side",
                    (_, true) => "on both sides",
                    (_, false) => "on a side",
                };
                format!("{boards} {sides}")
            }
            Self::State(states) => or(states.iter().map(|state| state_words(state))),
            Self::Openings(holes) => {
                let kind = |kind: Option<&'static str>| kind.unwrap_or("opening");
                match holes {
                    Holes::Some(None) => "an opening".to_owned(),
                    Holes::Some(some) => format!("a {}", kind(*some)),
                    Holes::None(none) => format!("no {}", kind(*none)),
                }
            }
        }
    }
}

fn or(words: impl Iterator<Item = &'static str>) -> String {
    let words: Vec<&str> = words.collect();
    match words.as_slice() {
        [most @ .., last] if !most.is_empty() => format!("{} or {last}", most.join(", ")),
        words => print::list(words),
    }
}

fn fill_words(kinds: &[&'static str]) -> String {
    let filled = FILLS.iter().filter(|fill| kinds.contains(fill)).count();
    if filled == FILLS.len() {
        return "filled".to_owned();
    }
    // Most fills but some: what is missing says it shorter.
    if filled > FILLS.len() / 2 {
        let other: Vec<&str> = FILLS.iter().filter(|fill| !kinds.contains(fill)).copied().collect();
        return format!("other fills than {}", print::list(&other));
    }
    or(kinds.iter().copied())
}

fn studs_words(depth_mm: u16) -> String {
    SECTIONS
        .iter()
        .find(|(_, depth)| *depth == depth_mm)
        .map_or_else(|| format!("{depth_mm} mm studs"), |(name, _)| format!("{name} studs"))
}

/// Studs by the name they are sold under and their true depth, mm. Softwood sizes of ALS and PS 20, 38 mm wide.
pub(super) const SECTIONS: &[(&str, u16)] = &[("2x3", 64), ("2x4", 89), ("2x6", 140), ("2x8", 184)];

fn coupling_words(tie: Coupling) -> &'static str {
    match tie {
        Coupling::Open => "a missing leaf",
        Coupling::SingleWood => "wood studs",
        Coupling::SingleSteelThin => "thin steel studs",
        Coupling::SingleSteelStructural => "structural steel studs",
        Coupling::Resilient => "resilient channel",
        Coupling::Clip => "clips",
        Coupling::Staggered => "staggered studs",
        Coupling::Double => "double studs",
        Coupling::Solid => "a solid wall",
    }
}

fn state_words(state: &str) -> &'static str {
    match state {
        "bare-studs" => "bare studs",
        "boarded-a" => "boarded on one side",
        "boarded-both" => "boarded on both sides",
        _ => "finished",
    }
}

/// The fill of a wall, `empty`, or `None` where nobody looked.
fn fill(wall: &Parts) -> Option<&str> {
    use storypole_notebook::assembly::Cavity;
    match &wall.cavity {
        Cavity::Unknown => None,
        Cavity::None | Cavity::Space { fill: None, .. } => Some(EMPTY),
        Cavity::Space { fill: Some(fill), .. } => Some(&fill.kind),
    }
}

fn has_studs(wall: &Parts, depth_mm: u16) -> bool {
    let Frame::Studs { studs, .. } = &wall.frame else { return false };
    let near = |side: Milli, mm: f64| (side.to_f64() - mm).abs() <= SECTION_TOLERANCE_MM;
    near(studs.depth_mm, f64::from(depth_mm))
}

fn has_boards(wall: &Parts, count: u32, both: bool) -> bool {
    let boards = |leaf: &Leaf| match leaf {
        Leaf::Boards { layers, .. } => layers.iter().map(|layer| u32::from(layer.count)).sum(),
        Leaf::None | Leaf::Unknown => 0,
    };
    let (a, b) = (boards(&wall.leaf_a), boards(&wall.leaf_b));
    // One board a side is said of a wall; more boards may lie on the side that was worked on.
    if both || count == 1 { a == count && b == count } else { a.max(b) == count }
}

fn has_holes(wall: &Parts, holes: Holes) -> bool {
    let list = match &wall.openings {
        Openings::Unknown => return false,
        Openings::None => &[][..],
        Openings::List(list) => list.as_slice(),
    };
    let has = |wanted: Option<&str>| {
        let is = |kind: &str| wanted.is_none_or(|wanted| wanted == kind);
        list.iter().any(|opening| matches!(opening, Opening::Hole { kind, .. } if is(kind)))
    };
    match holes {
        Holes::Some(kind) => has(kind),
        Holes::None(kind) => !has(kind),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use storypole_notebook::assembly::Cavity;

    fn wall(leaf_a: &str, frame: &str, cavity: &str, openings: &str, state: &str) -> Parts {
        Parts {
            leaf_a: Leaf::parse(leaf_a).unwrap(),
            frame: Frame::parse(frame).unwrap(),
            cavity: Cavity::parse(cavity).unwrap(),
            leaf_b: Leaf::parse("gypsum 12.7 x1").unwrap(),
            openings: Openings::parse(openings).unwrap(),
            state: state.to_owned(),
        }
    }

    #[test]
    fn parts_take_what_they_name() {
        let one = wall(
            "gypsum 15.9 x2",
            "single wood 38x89@406",
            "89 clear, cellulose 89",
            "door hollow-core 1.65 m2, unsealed",
            "finished",
        );
        let taken = [
            Part::Fill(vec!["cellulose"]),
            Part::Fill(FILLS.to_vec()),
            Part::Studs(89),
            Part::Coupling(vec![Coupling::SingleWood]),
            Part::Boards { count: 2, both: false },
            Part::State(vec!["boarded-both", "finished"]),
            Part::Openings(Holes::Some(Some("door"))),
            Part::Openings(Holes::Some(None)),
            Part::Openings(Holes::None(Some("window"))),
        ];
        assert_eq!(taken.iter().filter(|part| !part.takes(&one)).collect::<Vec<_>>(), Vec::<&Part>::new());
        let not = [
            Part::Fill(vec!["stone wool", EMPTY]),
            Part::Studs(140),
            Part::Coupling(vec![Coupling::Staggered]),
            Part::Boards { count: 2, both: true },
            Part::Boards { count: 1, both: false },
            Part::State(vec!["bare-studs"]),
            Part::Openings(Holes::None(Some("door"))),
            Part::Openings(Holes::Some(Some("window"))),
        ];
        assert_eq!(not.iter().filter(|part| part.takes(&one)).collect::<Vec<_>>(), Vec::<&Part>::new());
    }

    #[test]
    fn what_nobody_wrote_down_is_not_taken() {
        let unknown = wall("unknown", "unknown", "unknown", "unknown", "unknown");
        for part in [
            Part::Fill(vec![EMPTY]),
            Part::Fill(FILLS.to_vec()),
            Part::Studs(89),
            Part::Coupling(vec![Coupling::SingleWood]),
            Part::Boards { count: 1, both: true },
            Part::State(vec!["finished"]),
            Part::Openings(Holes::Some(None)),
            Part::Openings(Holes::None(None)),
        ] {
            assert!(!part.takes(&unknown), "{part:?}");
        }
    }

    #[test]
    fn parts_are_named() {
        for (part, words) in [
            (Part::Fill(vec!["cellulose"]), "cellulose"),
            (Part::Fill(vec!["glass fibre", "stone wool"]), "glass fibre or stone wool"),
            (Part::Fill(FILLS.to_vec()), "filled"),
            (
                Part::Fill(FILLS.to_vec()).without(&Part::Fill(vec!["cellulose"])),
                "other fills than cellulose",
            ),
            (Part::Studs(89), "2x4 studs"),
            (Part::Studs(100), "100 mm studs"),
            (Part::Boards { count: 1, both: true }, "one board a side"),
            (Part::Boards { count: 2, both: false }, "two boards on a side"),
            (Part::State(vec!["boarded-both", "finished"]), "boarded on both sides or finished"),
            (Part::Openings(Holes::None(Some("door"))), "no door"),
            (Part::Openings(Holes::Some(None)), "an opening"),
        ] {
            assert_eq!(part.words(), words);
        }
    }
}
