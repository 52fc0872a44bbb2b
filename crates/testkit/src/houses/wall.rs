//! A generated wall: its parts in the notebook's notation, and about how much sound it keeps back.
//!
//! The gains are rounded from published ranges for whole walls (lightweight partitions with and without fill, channel,
//! second boards) and from memory; they only have to give plausible numbers. What a wall *measured* is told by its readings.

use crate::Chance;

/// A wall at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// What fills it, as stored; `None` is empty.
    pub fill: Option<Fill>,
    /// What stands between the leaves.
    pub framing: &'static Framing,
    /// Studs, centre to centre, mm.
    pub spacing_mm: u32,
    /// Boards on side A, at least one.
    pub boards_a: u8,
    /// Boards on side B; none where the studs show.
    pub boards_b: u8,
    /// Thickness of a board, tenths of a millimetre: 127 or 159.
    pub board_tenths_mm: u32,
    /// Damping compound between the boards of side B.
    pub is_damped: bool,
    /// What is in the wall that is not wall.
    pub opening: &'static OpeningKind,
    /// Beads of sealant on either side.
    pub beads: u8,
    /// State of the work, as stored.
    pub state: &'static str,
}

/// What fills a cavity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// Its name, as stored.
    pub name: &'static str,
    /// How thick it is, mm.
    pub thickness_mm: u32,
    /// How dense it is, kg/m³.
    pub density_kg_m3: u32,
}

/// A way to frame a wall.
#[derive(Debug, PartialEq)]
pub struct Framing {
    /// Coupling class, in the notebook's words.
    pub class: &'static str,
    arrangement: &'static str,
    /// Depth of the studs, mm.
    pub depth_mm: u32,
    tail: &'static str,
    via: &'static str,
    /// Clear depth of the cavity, mm.
    pub clear_mm: u32,
    spacings_mm: &'static [u32],
    tenths_db: i64,
    weight: u64,
}

/// A door, a window, boxes.
#[derive(Debug, PartialEq)]
pub struct OpeningKind {
    /// `none`, `boxes`, `door` or `window`.
    pub class: &'static str,
    /// In the notebook's notation.
    pub notation: &'static str,
    /// A wall with it keeps back no more than this, tenths of dB.
    limit_tenths_db: i64,
    weight: u64,
}

const fn framing(
    class: &'static str,
    arrangement: &'static str,
    (depth_mm, clear_mm): (u32, u32),
    (tail, via): (&'static str, &'static str),
    spacings_mm: &'static [u32],
    (tenths_db, weight): (i64, u64),
) -> Framing {
    Framing { class, arrangement, depth_mm, tail, via, clear_mm, spacings_mm, tenths_db, weight }
}

const CHANNEL: &str = "channel 13@610";

/// Framings; the first is what most old walls have.
pub(super) static FRAMINGS: &[Framing] = &[
    framing("single-wood", "single wood 38x89", (89, 89), ("", "direct"), &[406, 406, 610], (310, 34)),
    framing("single-wood", "single wood 38x140", (140, 140), ("", "direct"), &[406, 610], (320, 8)),
    framing("single-steel-thin", "single thin steel 41x92", (92, 92), ("", "direct"), &[406, 610], (345, 10)),
    framing("resilient", "single wood 38x89", (89, 102), ("", CHANNEL), &[406, 406, 610], (400, 20)),
    framing("clip", "single wood 38x89", (89, 130), ("", "clip"), &[406, 610], (440, 8)),
    framing("staggered", "staggered wood 38x89", (89, 140), (" on 38x140", "direct"), &[610], (415, 12)),
    framing("double", "double wood 38x89", (89, 203), (", gap 25", "direct"), &[406, 610], (470, 8)),
];

/// Fills: name as stored, density in kg/m³, gain in tenths of dB, weight.
const FILLS: &[(&str, u32, i64, u64)] = &[
    ("glass fibre", 12, 35, 30),
    ("stone wool", 40, 40, 22),
    ("cellulose", 56, 45, 18),
    ("cotton", 24, 35, 7),
    ("open-cell foam", 8, 15, 5),
];
/// Walls left empty, beside the weights of [`FILLS`].
const EMPTY_WEIGHT: u64 = 18;

const NO_LIMIT: i64 = 9_999;

pub(super) static OPENINGS: &[OpeningKind] = &[
    OpeningKind { class: "none", notation: "none", limit_tenths_db: NO_LIMIT, weight: 46 },
    OpeningKind {
        class: "boxes",
        notation: "boxes 2 tight, offset 610",
        limit_tenths_db: NO_LIMIT,
        weight: 16,
    },
    OpeningKind { class: "boxes", notation: "boxes 2, back to back", limit_tenths_db: 400, weight: 8 },
    OpeningKind {
        class: "door",
        notation: "door hollow-core 1.65 m2, unsealed, undercut 15",
        limit_tenths_db: 255,
        weight: 14,
    },
    OpeningKind {
        class: "door",
        notation: "door solid-core 1.65 m2, gasket and drop seal, undercut 0",
        limit_tenths_db: 375,
        weight: 11,
    },
    OpeningKind {
        class: "window",
        notation: "window double glass 1.2 m2, gasket",
        limit_tenths_db: 345,
        weight: 5,
    },
];

impl Wall {
    /// A wall as it is found: mostly single wood, mostly empty, with whatever is in it.
    pub(super) fn found(chance: &mut Chance) -> Self {
        let framing = if chance.below(5) > 0 { &FRAMINGS[0] } else { pick_framing(chance) };
        let framing = if framing.via == "direct" { framing } else { &FRAMINGS[0] };
        let fill = if chance.below(6) == 0 { pick_fill(chance, framing) } else { None };
        Self {
            fill,
            framing,
            spacing_mm: *chance.pick(framing.spacings_mm),
            boards_a: 1,
            boards_b: u8::from(chance.below(7) > 0),
            board_tenths_mm: if chance.below(3) == 0 { 159 } else { 127 },
            is_damped: false,
            opening: pick_opening(chance),
            beads: 0,
            state: "finished",
        }
        .in_its_state("finished")
    }

    /// The wall after the job: framed, filled and boarded anew to some extent.
    pub(super) fn rebuilt(&self, chance: &mut Chance) -> Self {
        let framing = if chance.below(3) == 0 { self.framing } else { pick_framing(chance) };
        let is_same_frame = framing == self.framing;
        let fill = if chance.below(10) == 0 { self.fill } else { pick_fill(chance, framing) };
        let state = match chance.below(20) {
            0 => "bare-studs",
            1 => "boarded-a",
            2..=4 => "boarded-both",
            _ => "finished",
        };
        // A door is changed for a better one; nobody pays for a worse.
        let other = if chance.below(3) == 0 { pick_opening(chance) } else { self.opening };
        let is_worse = other.limit_tenths_db < self.opening.limit_tenths_db;
        let opening = if is_worse { self.opening } else { other };
        let boards_b = 1 + u8::from(chance.below(5) < 2);
        Self {
            fill,
            framing,
            spacing_mm: if is_same_frame { self.spacing_mm } else { *chance.pick(framing.spacings_mm) },
            boards_a: 1 + u8::from(chance.below(8) == 0),
            boards_b,
            board_tenths_mm: if chance.below(3) == 0 { 127 } else { 159 },
            is_damped: boards_b == 2 && chance.below(4) == 0,
            opening,
            beads: u8::try_from(chance.below(3)).unwrap_or(0),
            state,
        }
        .in_its_state(state)
    }

    /// A small panel of a bench rig with this fill.
    pub(super) fn panel(fill: Option<Fill>) -> Self {
        Self {
            fill,
            framing: &FRAMINGS[0],
            spacing_mm: 406,
            boards_a: 1,
            boards_b: 1,
            board_tenths_mm: 127,
            is_damped: false,
            opening: &OPENINGS[0],
            beads: 1,
            state: "boarded-both",
        }
    }

    /// One board missing is a state, and the state says so.
    fn in_its_state(self, closed: &'static str) -> Self {
        match closed {
            "bare-studs" | "boarded-a" => Self { boards_b: 0, is_damped: false, ..self },
            _ if self.boards_b == 0 => Self { state: "boarded-a", ..self },
            _ => self,
        }
    }

    /// Whether both leaves are there.
    pub fn is_covered(&self) -> bool {
        self.boards_b > 0
    }

    /// Coupling class in the notebook's words; `open` while a leaf is missing.
    pub fn frame_class(&self) -> &'static str {
        if self.is_covered() { self.framing.class } else { "open" }
    }

    /// Leaf A in notation.
    pub fn leaf_a(&self) -> String {
        self.leaf(self.boards_a, "direct")
    }

    /// Leaf B in notation.
    pub fn leaf_b(&self) -> String {
        let damping = if self.is_damped { ", damping" } else { "" };
        match self.boards_b {
            0 => "none".to_owned(),
            boards => self.leaf(boards, self.framing.via) + damping,
        }
    }

    fn leaf(&self, boards: u8, via: &str) -> String {
        // 8.1 and 11 kg/m² a board: makers' usual figures for 1/2 in and for 5/8 in type X, from memory.
        let (thick, tenths_kg) = if self.board_tenths_mm == 127 { ("12.7", 81) } else { ("15.9", 110) };
        let mass = plain_tenths(i64::from(boards) * tenths_kg);
        format!("gypsum {thick} x{boards}, {mass} kg/m2, {via}")
    }

    /// Frame in notation.
    pub fn frame(&self) -> String {
        format!("{}@{}{}", self.framing.arrangement, self.spacing_mm, self.framing.tail)
    }

    /// Cavity in notation.
    pub fn cavity(&self) -> String {
        let clear = self.framing.clear_mm;
        match &self.fill {
            None => format!("{clear} clear, empty"),
            Some(fill) => format!(
                "{clear} clear, {} {}, {} kg/m3, 100%",
                fill.name, fill.thickness_mm, fill.density_kg_m3
            ),
        }
    }

    /// Seals in notation.
    pub fn seals(&self) -> String {
        match self.beads {
            0 => "none".to_owned(),
            beads => format!("A {beads}, B {beads}"),
        }
    }

    /// About how much sound it keeps back, tenths of dB.
    pub(super) fn tenths_db(&self) -> i64 {
        let fill = self.fill.and_then(|fill| FILLS.iter().find(|row| row.0 == fill.name));
        let gain = fill.map_or(0, |row| row.2);
        if !self.is_covered() {
            return 220 + gain / 3;
        }
        let boards = i64::from(self.boards_a + self.boards_b) - 2;
        let thick = if self.board_tenths_mm == 159 { 15 } else { 0 };
        let damping = if self.is_damped { 30 } else { 0 };
        let sealing = [0, 15, 20].get(usize::from(self.beads)).copied().unwrap_or(20);
        let wall = self.framing.tenths_db + gain + 22 * boards + thick + damping + sealing;
        wall.min(self.opening.limit_tenths_db)
    }
}

/// Tenths without needless digits: `8.1`, `11`.
fn plain_tenths(tenths: i64) -> String {
    match (tenths / 10, tenths % 10) {
        (whole, 0) => whole.to_string(),
        (whole, part) => format!("{whole}.{part}"),
    }
}

fn pick_framing(chance: &mut Chance) -> &'static Framing {
    weighted(chance, FRAMINGS, |framing| framing.weight)
}

fn pick_opening(chance: &mut Chance) -> &'static OpeningKind {
    weighted(chance, OPENINGS, |opening| opening.weight)
}

pub(super) fn pick_fill(chance: &mut Chance, framing: &Framing) -> Option<Fill> {
    let filled: u64 = FILLS.iter().map(|row| row.3).sum();
    if chance.below(filled + EMPTY_WEIGHT) >= filled {
        return None;
    }
    let (name, density_kg_m3, ..) = *weighted(chance, FILLS, |row| row.3);
    let full_mm = if framing.depth_mm == 92 { 89 } else { framing.depth_mm };
    let is_thin = matches!(name, "glass fibre" | "cotton") && chance.below(8) == 0;
    Some(Fill { name, thickness_mm: if is_thin { 64 } else { full_mm }, density_kg_m3 })
}

/// One of a list, each as often as its weight says.
pub(super) fn weighted<'a, T>(chance: &mut Chance, list: &'a [T], weight: impl Fn(&T) -> u64) -> &'a T {
    let mut left = chance.below(list.iter().map(&weight).sum());
    for one in list {
        match left.checked_sub(weight(one)) {
            Some(rest) => left = rest,
            None => return one,
        }
    }
    list.last().expect("a list to pick from is not empty")
}
