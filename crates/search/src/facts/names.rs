//! Fills, frames and states as sets of names. Leaves out what else a person calls them: that is the vocabulary's.

use storypole_notebook::assembly::{Cavity, Coupling, FILLS, Frame};
use storypole_notebook::kinds::WALL_STATES;
use storypole_notebook::matching::Parts;

use crate::vocabulary::ConceptClass;

/// The name of no fill.
pub const EMPTY: &str = "empty";

/// Every way leaves are tied, in the order of their places.
pub(crate) const FRAMES: [Coupling; 9] = [
    Coupling::Open,
    Coupling::SingleWood,
    Coupling::SingleSteelThin,
    Coupling::SingleSteelStructural,
    Coupling::Resilient,
    Coupling::Clip,
    Coupling::Staggered,
    Coupling::Double,
    Coupling::Solid,
];

/// Names of one class of concepts: of fills, of frames or of states.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub struct NameSet(u16);

impl NameSet {
    /// The set of one name; empty where the class has no such name.
    pub fn of(class: ConceptClass, name: &str) -> Self {
        let place = (0..u16::BITS).find(|place| name_at(class, *place) == Some(name));
        Self(place.map_or(0, |place| 1 << place))
    }

    /// What stands in either.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether any name stands in both.
    pub fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Whether it holds no name.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The places of its names in the list of their class, which [`name_at`] reads.
    pub(crate) fn places(self) -> impl Iterator<Item = usize> {
        (0..16).filter(move |place| self.0 & (1 << place) != 0)
    }

    /// The names as stored, of the class the set was made for.
    pub fn names(self, class: ConceptClass) -> impl Iterator<Item = &'static str> {
        (0..u16::BITS)
            .filter(move |place| self.0 & (1 << place) != 0)
            .filter_map(move |at| name_at(class, at))
    }
}

/// The name at a place in the list of a class.
pub(crate) fn name_at(class: ConceptClass, place: u32) -> Option<&'static str> {
    let place = usize::try_from(place).ok()?;
    match class {
        ConceptClass::Fill if place == FILLS.len() => Some(EMPTY),
        ConceptClass::Fill => FILLS.get(place).copied(),
        ConceptClass::Frame => FRAMES.get(place).map(|frame| frame.words()),
        ConceptClass::State => WALL_STATES.get(place).copied(),
        ConceptClass::Kind => None,
    }
}

/// The fill's name; none where nobody wrote down what the cavity holds.
pub(super) fn fill(parts: &Parts) -> NameSet {
    let name = match &parts.cavity {
        Cavity::Unknown => return NameSet::default(),
        Cavity::None => EMPTY,
        Cavity::Space { fill, .. } => fill.as_ref().map_or(EMPTY, |fill| fill.kind.as_str()),
    };
    NameSet::of(ConceptClass::Fill, name)
}

/// How the leaves are tied; none where nobody wrote down the frame, unless a missing leaf tells it.
pub(super) fn frame(parts: &Parts) -> NameSet {
    let coupling = parts.coupling();
    let is_written = coupling == Coupling::Open || !matches!(parts.frame, Frame::Unknown | Frame::None);
    if is_written { NameSet::of(ConceptClass::Frame, coupling.words()) } else { NameSet::default() }
}
