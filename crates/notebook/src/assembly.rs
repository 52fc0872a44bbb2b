//! A wall, ceiling, floor or door in seven parts, each in a short notation a person can type and read.
//!
//! `leaf A | frame | cavity | leaf B | openings | seals | state`, in that order; a part that is not there says
//! `none`, one nobody looked at says `unknown`. Sizes are millimetres, masses kg/m². The state is a plain
//! choice and has no notation here. Leaves out when two walls count as alike: see [`crate::matching`].
//!
//! | part | notation |
//! |---|---|
//! | leaf | `gypsum 15.9 x2, 22 kg/m2, channel 13@566, damping` |
//! | frame | `single wood 38x89@406, plates 3`, `staggered wood 38x89@610 on 38x140`, `double wood 38x89@406, gap 25` |
//! | cavity | `89 clear, glass fibre 89, 10 kg/m3, 100%`, `89 clear, empty` |
//! | openings | `door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2 tight, offset 610` |
//! | seals | `A 1, B 2, top 2, bottom 2` (beads) or `A gasket` |

use std::fmt;

mod notation;
mod places;

pub use notation::PartError;
pub use places::Places;

/// Which of the parts that have a notation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// The boards on one side.
    Leaf,
    /// What stands between the leaves.
    Frame,
    /// The space between the leaves and its fill.
    Cavity,
    /// Doors, windows, boxes.
    Openings,
    /// Perimeter seals.
    Seals,
    /// Lengths along the wall, one behind another.
    Places,
}

impl PartKind {
    /// The notation as it is stored: parsed and printed again.
    ///
    /// # Errors
    /// [`PartError`], with an example of the notation.
    pub fn canonical(self, text: &str) -> Result<String, PartError> {
        Ok(match self {
            Self::Leaf => Leaf::parse(text)?.to_string(),
            Self::Frame => Frame::parse(text)?.to_string(),
            Self::Cavity => Cavity::parse(text)?.to_string(),
            Self::Openings => Openings::parse(text)?.to_string(),
            Self::Seals => Seals::parse(text)?.to_string(),
            Self::Places => Places::parse(text)?.to_string(),
        })
    }
}

/// Thousandths of a unit (mm, kg/m², kg/m³, m²): exact, so notation round-trips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Milli(pub i64);

impl Milli {
    /// As floating point, in whole units.
    pub fn to_f64(self) -> f64 {
        self.0 as f64 / 1000.0
    }
}

impl fmt::Display for Milli {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (self.0 / 1000, self.0 % 1000);
        if part == 0 {
            return write!(f, "{whole}");
        }
        let digits = format!("{part:03}");
        write!(f, "{whole}.{}", digits.trim_end_matches('0'))
    }
}

/// One layer of a leaf: a board material, its thickness, how many.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layer {
    /// Material in plain words, like `gypsum` or `gypsum type X`.
    pub material: String,
    /// Thickness of one, mm.
    pub thickness_mm: Milli,
    /// How many.
    pub count: u8,
}

/// How a leaf is held to the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Via {
    /// Screwed to the studs.
    Direct,
    /// On resilient channel of this depth and spacing, mm.
    Channel { depth_mm: Milli, spacing_mm: Milli },
    /// On channel held by isolation clips.
    Clip,
}

/// The boards on one side of the frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Leaf {
    /// No board: studs showing.
    None,
    /// Nobody looked.
    Unknown,
    /// Boards.
    Boards {
        /// From the room inward.
        layers: Vec<Layer>,
        /// Mass of all layers, kg/m², when known.
        mass_kg_m2: Option<Milli>,
        /// How it is held.
        via: Via,
        /// Damping compound between the layers.
        damping: bool,
    },
}

/// How the leaves are tied, in the order of importance for sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Coupling {
    /// One leaf missing.
    Open,
    /// Both leaves on the same wooden studs.
    SingleWood,
    /// Both leaves on the same thin steel studs.
    SingleSteelThin,
    /// Both leaves on the same structural steel studs.
    SingleSteelStructural,
    /// A leaf on resilient channel.
    Resilient,
    /// A leaf on isolation clips.
    Clip,
    /// Two rows of studs on one plate.
    Staggered,
    /// Two frames.
    Double,
    /// Masonry, slab, solid board.
    Solid,
}

impl Coupling {
    /// The class in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::SingleWood => "single-wood",
            Self::SingleSteelThin => "single-steel-thin",
            Self::SingleSteelStructural => "single-steel-structural",
            Self::Resilient => "resilient",
            Self::Clip => "clip",
            Self::Staggered => "staggered",
            Self::Double => "double",
            Self::Solid => "solid",
        }
    }
}

/// Studs of a frame: section and spacing, mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Studs {
    /// Width of the face, mm.
    pub width_mm: Milli,
    /// Depth into the wall, mm.
    pub depth_mm: Milli,
    /// Centre to centre, mm.
    pub spacing_mm: Milli,
    /// Whether they are of steel; of a single row the coupling says it too.
    pub is_steel: bool,
}

/// What stands between the leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Frame {
    /// Nothing.
    None,
    /// Nobody looked.
    Unknown,
    /// Masonry, slab or solid board.
    Solid,
    /// Studs.
    Studs {
        /// How the studs tie the leaves, before channel or clips are counted.
        arrangement: Coupling,
        /// The studs.
        studs: Studs,
        /// Section of the plate where it is not the studs', width and depth, mm.
        plate_mm: Option<(Milli, Milli)>,
        /// Gap between two frames, mm.
        gap_mm: Option<Milli>,
        /// Horizontal plates in the height.
        plates: Option<u8>,
    },
}

/// Fills by name, as stored.
pub const FILLS: &[&str] = &[
    "glass fibre",
    "stone wool",
    "cellulose",
    "cotton",
    "polystyrene foam",
    "polyiso foam",
    "open-cell foam",
    "closed-cell foam",
    "sand",
    "other",
];

/// What fills a cavity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fill {
    /// One of [`FILLS`].
    pub kind: String,
    /// Thickness, mm.
    pub thickness_mm: Milli,
    /// Density, kg/m³, when known.
    pub density_kg_m3: Option<Milli>,
    /// Share of the bays filled, percent, when known.
    pub coverage_percent: Option<u8>,
    /// Squeezed below its own thickness.
    pub compressed: bool,
}

/// The space between the leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cavity {
    /// There is none.
    None,
    /// Nobody looked.
    Unknown,
    /// A space.
    Space {
        /// Clear depth, mm, when known.
        clear_mm: Option<Milli>,
        /// Its fill; `None` is empty.
        fill: Option<Fill>,
    },
}

/// What is in the wall that is not wall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opening {
    /// A door, window, pass-through or crack.
    Hole {
        /// `door`, `window`, `grille` or `crack`.
        kind: String,
        /// What it is in plain words, like `hollow-core`.
        slab: String,
        /// Area, m².
        area_m2: Option<Milli>,
        /// How it is sealed, in plain words: `unsealed`, `gasket`, `gasket and drop seal`.
        seal: Option<String>,
        /// Gap below, mm.
        undercut_mm: Option<Milli>,
    },
    /// Outlet and switch boxes.
    Boxes {
        /// How many.
        count: u8,
        /// Air-tight or not, when known.
        tight: Option<bool>,
        /// Distance to the nearest box on the other side, mm; `Some(0)` is back to back.
        offset_mm: Option<Milli>,
    },
}

/// All openings of an assembly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Openings {
    /// None at all.
    None,
    /// Nobody looked.
    Unknown,
    /// These.
    List(Vec<Opening>),
}

/// The seal of one edge or side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seal {
    /// None.
    None,
    /// So many beads.
    Beads(u8),
    /// A gasket.
    Gasket,
}

/// Perimeter seals by side and edge; what is not named is unknown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Seals {
    /// None anywhere.
    None,
    /// Nobody looked.
    Unknown,
    /// These, by name of the side or edge: `A`, `B`, `top`, `bottom`.
    Sides(Vec<(String, Seal)>),
}

impl Opening {
    /// Whether sound leaks round it: unsealed, or an undercut below a door.
    pub fn is_unsealed(&self) -> bool {
        match self {
            Self::Hole { kind, seal, undercut_mm, .. } => {
                kind == "grille"
                    || kind == "crack"
                    || seal.as_deref() == Some("unsealed")
                    || undercut_mm.is_some_and(|gap| gap.0 > 0)
            }
            Self::Boxes { .. } => false,
        }
    }
}
