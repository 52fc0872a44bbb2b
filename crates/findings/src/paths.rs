//! Wall against opening: how the sound divides between the paths, and whether one of them limits the whole.
//!
//! The losses are typical single numbers of laboratory walls and doors, good to a few dB, for telling which path matters.
//! They say nothing about what a house will rate. Flanking round the wall is left out.

use storypole_acoustics::{Part, composite};
use storypole_journal::RecordId;
use storypole_notebook::assembly::{Coupling, Leaf, Opening, Openings};
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::Parts;
use storypole_units::{Area, Length};

use crate::print;
use crate::rules::LIMITING_SHARE;

/// A range of transmission losses, dB, with where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LossRange {
    /// Least.
    pub low_db: f64,
    /// Most common.
    pub typical_db: f64,
    /// Greatest.
    pub high_db: f64,
    /// Where the range comes from.
    pub source: &'static str,
}

/// One opening as a path.
#[derive(Debug, Clone, PartialEq)]
pub struct OpeningPath {
    /// What it is, in words.
    pub words: String,
    /// Its area, m².
    pub area_m2: f64,
    /// Its loss.
    pub loss: LossRange,
    /// Its share of the sound with the wall at its typical loss.
    pub share: f64,
}

/// What the formula gives for wall and openings together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// With the wall at its least, dB.
    pub low_db: f64,
    /// With the wall at its most common, dB.
    pub typical_db: f64,
    /// With the wall at its greatest, dB.
    pub high_db: f64,
}

/// Why the paths of an assembly are not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPaths {
    /// A part of the assembly is not written down or cannot be read.
    #[error("a part of the assembly cannot be read")]
    Unreadable,
    /// Length or height is missing.
    #[error("length and height of the wall are not written down")]
    NoArea,
    /// No published range for a wall like this is known here.
    #[error("no published range is known for a wall like this")]
    NoWallRange,
    /// An opening's area is missing.
    #[error("the area of an opening is not written down")]
    NoOpeningArea,
    /// No typical loss for such an opening is known here.
    #[error("no typical loss is known for such an opening")]
    NoOpeningLoss,
    /// Openings are larger than the wall.
    #[error("the openings are larger than the wall")]
    OpeningsTooLarge,
    /// A small panel is not a wall.
    #[error("a small panel has no laboratory range")]
    Panel,
}

/// How the sound divides between wall and openings.
#[derive(Debug, Clone, PartialEq)]
pub struct PathShares {
    /// The assembly.
    pub assembly: RecordId,
    /// Its label.
    pub label: String,
    /// Area of the face the sound meets, openings counted, m².
    pub face_m2: Option<f64>,
    /// Range of the wall without its openings.
    pub wall: Option<LossRange>,
    /// Share of the sound through the wall, at its typical loss.
    pub wall_share: Option<f64>,
    /// The openings.
    pub openings: Vec<OpeningPath>,
    /// What the formula gives.
    pub predicted: Option<Prediction>,
    /// Why the formula gives nothing.
    pub absent: Option<NoPaths>,
}

impl PathShares {
    /// Share of the sound through all openings.
    pub fn opening_share(&self) -> f64 {
        self.openings.iter().map(|opening| opening.share).sum()
    }

    /// The opening that lets over half of the sound through.
    pub fn limiting(&self) -> Option<&OpeningPath> {
        self.openings.iter().find(|opening| opening.share > LIMITING_SHARE)
    }

    /// The finding in plain sentences; empty where the formula gives nothing.
    pub fn sentence(&self) -> String {
        let (Some(predicted), Some(wall)) = (self.predicted, self.wall) else { return String::new() };
        let together = print::decimals(predicted.low_db, 1) != print::decimals(predicted.high_db, 1);
        let range = if together {
            format!("{} to {}", print::decimals(predicted.low_db, 1), print::decimals(predicted.high_db, 1))
        } else {
            print::decimals(predicted.low_db, 1)
        };
        let walls = format!("{} to {}", print::decimals(wall.low_db, 0), print::decimals(wall.high_db, 0));
        let Some(opening) = self.limiting() else {
            return match self.openings.len() {
                0 => format!(
                    "Published walls of this kind lie at {walls} in the laboratory; a house does worse."
                ),
                _ => format!(
                    "The formula gives {range} dB for a wall of {walls}; no opening has half of the sound that gets through."
                ),
            };
        };
        let mut words = format!(
            "Of the sound that gets through, {} comes by the {}. The formula gives {range} dB for a wall of {walls} with an opening of {}: \
             the opening is the limit, and a better wall would hardly be heard.",
            print::percent(opening.share),
            opening.words,
            print::decimals(opening.loss.typical_db, 0),
        );
        if opening.words.contains("louv") || opening.words.contains("grille") {
            words.push(' ');
            words.push_str(KEEP_OPEN);
        }
        words
    }
}

const OPEN_LEAF: LossRange = LossRange {
    low_db: 26.0,
    typical_db: 28.0,
    high_db: 30.0,
    source: "field mass law for one 8.5 kg/m² board (28), ± 2; Bies, Engineering Noise Control",
};
const WOOD_EMPTY: LossRange = LossRange {
    low_db: 33.0,
    typical_db: 33.0,
    high_db: 34.0,
    source: "published laboratory range, second hand",
};
const WOOD_FILLED: LossRange = LossRange {
    low_db: 36.0,
    typical_db: 37.0,
    high_db: 39.0,
    source: "published laboratory range, second hand",
};
const WOOD_FILLED_EXTRA_BOARD: LossRange = LossRange {
    low_db: 39.0,
    typical_db: 41.0,
    high_db: 43.0,
    source: "between the published ranges of one and two boards",
};
const WOOD_FILLED_TWO_BOARDS: LossRange = LossRange {
    low_db: 42.0,
    typical_db: 43.0,
    high_db: 45.0,
    source: "published laboratory range, second hand",
};
const WOOD_FILLED_DAMPED: LossRange = LossRange {
    low_db: 50.0,
    typical_db: 52.0,
    high_db: 54.0,
    source: "published laboratory range, second hand",
};
const STEEL_EMPTY: LossRange =
    LossRange { low_db: 33.0, typical_db: 35.0, high_db: 37.0, source: "published value, about 35" };
const STEEL_FILLED: LossRange =
    LossRange { low_db: 39.0, typical_db: 42.0, high_db: 47.0, source: "published laboratory values" };
const RESILIENT_FILLED: LossRange = LossRange {
    low_db: 47.0,
    typical_db: 48.0,
    high_db: 52.0,
    source: "published laboratory range, second hand",
};
const CLIP_FILLED: LossRange = LossRange {
    low_db: 56.0,
    typical_db: 58.0,
    high_db: 60.0,
    source: "published laboratory range, two boards each side",
};
const STAGGERED_FILLED: LossRange = LossRange {
    low_db: 45.0,
    typical_db: 48.0,
    high_db: 50.0,
    source: "published values, partly filled walls counted",
};
const STAGGERED_FILLED_EXTRA_BOARD: LossRange =
    LossRange { low_db: 50.0, typical_db: 52.0, high_db: 55.0, source: "published laboratory values" };
const DOUBLE_FILLED: LossRange = LossRange {
    low_db: 55.0,
    typical_db: 58.0,
    high_db: 63.0,
    source: "published laboratory range, second hand",
};

const HOLLOW_DOOR: LossRange = LossRange {
    low_db: 17.0,
    typical_db: 18.0,
    high_db: 19.0,
    source: "handbook octave table, hollow-core door with usual cracks (17); published value (19)",
};
const SOLID_DOOR_SEALED: LossRange = LossRange {
    low_db: 28.0,
    typical_db: 30.0,
    high_db: 33.0,
    source: "solid-core door with gaskets and drop seal, common range from memory",
};
const SOLID_DOOR_UNSEALED: LossRange = LossRange {
    low_db: 24.0,
    typical_db: 27.0,
    high_db: 29.0,
    source: "handbook octave table, solid door with usual cracks (29), lower for an undercut",
};
const LOUVRED: LossRange = LossRange {
    low_db: 8.0,
    typical_db: 10.0,
    high_db: 12.0,
    source: "louvred door or grille, common practice, no source",
};
const WINDOW: LossRange = LossRange {
    low_db: 24.0,
    typical_db: 26.0,
    high_db: 28.0,
    source: "published value for an ordinary window (26)",
};
const CRACK: LossRange =
    LossRange { low_db: 0.0, typical_db: 0.0, high_db: 0.0, source: "an open gap lets everything through" };

/// Said wherever a louvre or grille limits a wall.
pub const KEEP_OPEN: &str =
    "Louvres and grilles may feed air to a burner: do not close them to gain quiet; ask a licensed trade.";

/// How sound divides between the wall and the openings of an assembly; `None` only when it makes no sense to ask.
pub fn path_shares(assembly: &Assembly) -> Option<PathShares> {
    let mut shares = PathShares {
        assembly: assembly.id,
        label: assembly.label.clone().unwrap_or_default(),
        face_m2: None,
        wall: None,
        wall_share: None,
        openings: Vec::new(),
        predicted: None,
        absent: None,
    };
    shares.absent = fill_in(&mut shares, assembly).err();
    Some(shares)
}

fn fill_in(shares: &mut PathShares, assembly: &Assembly) -> Result<(), NoPaths> {
    if assembly.element.as_deref() == Some("panel") {
        return Err(NoPaths::Panel);
    }
    let parts = Parts::of(assembly).map_err(|_| NoPaths::Unreadable)?;
    let wall = wall_range(&parts).ok_or(NoPaths::NoWallRange)?;
    shares.wall = Some(wall);
    let face_m2 = face_m2(assembly).ok_or(NoPaths::NoArea)?;
    shares.face_m2 = Some(face_m2);
    let openings = openings(&parts.openings)?;
    let net_m2 = face_m2 - openings.iter().map(|opening| opening.area_m2).sum::<f64>();
    if net_m2 <= 0.0 {
        return Err(NoPaths::OpeningsTooLarge);
    }
    let whole = |wall_db: f64| {
        let mut paths = vec![Part { area_m2: net_m2, loss_db: wall_db }];
        paths.extend(
            openings.iter().map(|path| Part { area_m2: path.area_m2, loss_db: path.loss.typical_db }),
        );
        composite::composite(&paths).map_err(|_| NoPaths::Unreadable)
    };
    let typical = whole(wall.typical_db)?;
    shares.predicted = Some(Prediction {
        low_db: whole(wall.low_db)?.loss_db,
        typical_db: typical.loss_db,
        high_db: whole(wall.high_db)?.loss_db,
    });
    shares.wall_share = typical.shares.first().copied();
    let opening_shares = typical.shares.iter().skip(1);
    shares.openings = openings
        .into_iter()
        .zip(opening_shares)
        .map(|(path, share)| OpeningPath { share: *share, ..path })
        .collect();
    Ok(())
}

/// The area the sound meets, openings counted: as written, or length times height.
///
/// An L-shaped wall has less face to one room than board on it.
pub(crate) fn face_m2(assembly: &Assembly) -> Option<f64> {
    let written = assembly.face_m2.map(|m2| m2.to_f64());
    let area = written.or_else(|| Some(Area::of(assembly.length?, assembly.height?).m2()))?;
    Some(area).filter(|m2| *m2 > 0.0)
}

/// The published range for the wall without its openings.
pub fn wall_range(parts: &Parts) -> Option<LossRange> {
    let filled = parts.fill().is_some();
    let boards = boards(&parts.leaf_a).min(boards(&parts.leaf_b));
    let most = boards_most(parts);
    let damped =
        [&parts.leaf_a, &parts.leaf_b].iter().any(|leaf| matches!(leaf, Leaf::Boards { damping: true, .. }));
    match parts.coupling() {
        Coupling::Open => Some(OPEN_LEAF),
        Coupling::SingleWood => Some(match (filled, boards, most) {
            (false, ..) => WOOD_EMPTY,
            (true, 2.., _) if damped => WOOD_FILLED_DAMPED,
            (true, 2.., _) => WOOD_FILLED_TWO_BOARDS,
            (true, _, 2..) => WOOD_FILLED_EXTRA_BOARD,
            (true, ..) => WOOD_FILLED,
        }),
        Coupling::SingleSteelThin | Coupling::SingleSteelStructural => {
            Some(if filled { STEEL_FILLED } else { STEEL_EMPTY })
        }
        Coupling::Resilient => filled.then_some(RESILIENT_FILLED),
        Coupling::Clip => filled.then_some(CLIP_FILLED),
        Coupling::Staggered => {
            filled.then_some(if most > 1 { STAGGERED_FILLED_EXTRA_BOARD } else { STAGGERED_FILLED })
        }
        Coupling::Double => filled.then_some(DOUBLE_FILLED),
        Coupling::Solid => None,
    }
}

fn boards(leaf: &Leaf) -> u32 {
    match leaf {
        Leaf::Boards { layers, .. } => layers.iter().map(|layer| u32::from(layer.count)).sum(),
        Leaf::None | Leaf::Unknown => 0,
    }
}

fn boards_most(parts: &Parts) -> u32 {
    boards(&parts.leaf_a).max(boards(&parts.leaf_b))
}

fn openings(openings: &Openings) -> Result<Vec<OpeningPath>, NoPaths> {
    let list = match openings {
        Openings::None => return Ok(Vec::new()),
        Openings::Unknown => return Err(NoPaths::Unreadable),
        Openings::List(list) => list,
    };
    // Boxes are small and mostly covered; they are recorded but are no path of their own here.
    let holes = list.iter().filter(|opening| matches!(opening, Opening::Hole { .. }));
    holes.map(path).collect()
}

fn path(opening: &Opening) -> Result<OpeningPath, NoPaths> {
    let Opening::Hole { kind, slab, area_m2, .. } = opening else { return Err(NoPaths::Unreadable) };
    let area_m2 = area_m2.map(|area| area.to_f64()).or_else(|| slit_m2(slab)).filter(|area| *area > 0.0);
    let loss = opening_loss(opening).ok_or(NoPaths::NoOpeningLoss)?;
    let words = if kind == "crack" || slab.is_empty() { kind.clone() } else { format!("{slab} {kind}") };
    Ok(OpeningPath { words, area_m2: area_m2.ok_or(NoPaths::NoOpeningArea)?, loss, share: 0.0 })
}

/// Area of the cracks of an assembly, m²; `None` where it has none or their size is not written down.
pub fn cracks_m2(assembly: &Assembly) -> Option<f64> {
    let Openings::List(list) = Openings::parse(assembly.openings.as_deref()?).ok()? else { return None };
    let cracks =
        list.iter().filter(|opening| matches!(opening, Opening::Hole { kind, .. } if kind == "crack"));
    let areas: Vec<f64> =
        cracks.map(|crack| path(crack).map(|path| path.area_m2)).collect::<Result<_, _>>().ok()?;
    (!areas.is_empty()).then(|| areas.iter().sum())
}

/// Area of a slit written as width times length in millimetres, like `3.175x609.6`.
fn slit_m2(slab: &str) -> Option<f64> {
    let (width, length) = slab.split_once('x')?;
    let side = |text: &str| Length::parse(&format!("{} mm", text.trim())).ok();
    Some(Area::of(side(width)?, side(length)?).m2())
}

/// The typical loss of an opening.
pub fn opening_loss(opening: &Opening) -> Option<LossRange> {
    let Opening::Hole { kind, slab, .. } = opening else { return None };
    if slab.contains("louv") {
        return Some(LOUVRED);
    }
    match kind.as_str() {
        "crack" => Some(CRACK),
        "grille" => Some(LOUVRED),
        "window" => Some(WINDOW),
        "door" if slab.contains("hollow") => Some(HOLLOW_DOOR),
        "door" if slab.contains("solid") && opening.is_unsealed() => Some(SOLID_DOOR_UNSEALED),
        "door" if slab.contains("solid") => Some(SOLID_DOOR_SEALED),
        _ => None,
    }
}

/// Loss of a panel with a crack through it, dB; the crack is open and lets everything through.
///
/// `None` when an area is not above zero or the crack is not smaller than the panel.
pub fn with_crack(panel: Area, panel_db: f64, crack: Area) -> Option<f64> {
    let net = panel.checked_sub(crack)?;
    let parts = [Part { area_m2: net.m2(), loss_db: panel_db }, Part { area_m2: crack.m2(), loss_db: 0.0 }];
    composite::composite(&parts).ok().map(|whole| whole.loss_db)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    fn printed(label: &str) -> (String, String, Option<String>) {
        let book = fixture::demo();
        let shares = crate::paths(&book, fixture::id("assembly", label)).unwrap();
        let predicted = shares.predicted.unwrap_or_else(|| panic!("{label}: {:?}", shares.absent));
        let limiting = shares.limiting().map(|opening| opening.words.clone());
        (print::decimals(predicted.low_db, 1), print::decimals(predicted.high_db, 1), limiting)
    }

    #[test]
    fn the_door_limits_the_music_room() {
        // Demo scenario, invented: 101.17 ft² wall, 1.65 m² door. Wall 33 with a door of 18 gives 25.0, wall 48 gives 25.5,
        // wall 48 with a door of 30 gives 37.2; computed independently from the area-weighted mean transmission.
        let door = Some("hollow-core door".to_owned());
        let (low, _, limiting) = printed("A01");
        assert_eq!((low.as_str(), &limiting), ("25.0", &door));
        assert_eq!(printed("A03"), ("25.5".into(), "25.5".into(), door));
        let book = fixture::demo();
        let shares = crate::paths(&book, fixture::id("assembly", "A04")).unwrap();
        assert_eq!(print::decimals(shares.predicted.unwrap().typical_db, 1), "37.2");
        assert!(shares.limiting().is_some(), "even the heavy door carries most");
        assert!((shares.wall_share.unwrap() + shares.opening_share() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_louvres_limit_the_closet() {
        // Demo scenario, invented: 18 ft² of louvres in a face of 60 ft² at 10 dB: 15.0 before, with one board on the
        // studs, to 15.2 after.
        let door = Some("louvred door".to_owned());
        assert_eq!(printed("A11").0, "15.0");
        assert_eq!(printed("A12"), ("15.2".into(), "15.2".into(), door));
        let book = fixture::demo();
        let words = crate::paths(&book, fixture::id("assembly", "A12")).unwrap().sentence();
        assert!(words.contains("do not close them"), "{words}");
    }

    #[test]
    fn walls_without_openings_keep_their_range() {
        for (label, low, high) in [
            ("A05", "45.0", "50.0"),
            ("A07", "50.0", "55.0"),
            ("A08", "33.0", "34.0"),
            ("A09", "36.0", "39.0"),
            ("A10", "39.0", "43.0"),
        ] {
            // Published laboratory ranges as named in the table above.
            assert_eq!(printed(label), (low.into(), high.into(), None), "{label}");
        }
        let book = fixture::demo();
        let panel = crate::paths(&book, fixture::id("assembly", "A13")).unwrap();
        assert_eq!(panel.absent, Some(NoPaths::Panel));
    }

    #[test]
    fn a_written_face_stands_before_length_and_height() {
        let face_ft2 = |builder: &fixture::Builder| {
            let shares = crate::paths(&builder.book, fixture::id("assembly", "A10")).unwrap();
            print::decimals(shares.face_m2.unwrap() / 0.092_903_04, 1)
        };
        let mut builder = fixture::builder();
        // 132 in by 97.125 in is 89.03 ft².
        assert_eq!(face_ft2(&builder), "89.0");
        builder.amend("assembly", "A10", "face_m2", "5.574182");
        assert_eq!(face_ft2(&builder), "60.0");
    }

    #[test]
    fn a_crack_spoils_a_panel() {
        // Demo scenario, invented: 1/8 in by 24 in in a panel of 4 ft² and 32.5 dB leaves 22.4; computed independently.
        let inches = |text: &str| Length::parse(text).unwrap();
        let panel = Area::of(inches("24 in"), inches("24 in"));
        let crack = Area::of(inches("1/8 in"), inches("24 in"));
        assert_eq!(print::decimals(with_crack(panel, 32.5, crack).unwrap(), 1), "22.4");
        assert_eq!(with_crack(crack, 32.5, panel), None);
        assert!((slit_m2("3.175x609.6").unwrap() - crack.m2()).abs() < 1e-12);
        assert_eq!(slit_m2("solid-core"), None);
    }
}
