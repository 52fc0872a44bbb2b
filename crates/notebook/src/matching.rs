//! When two assemblies count as alike, either way round. Leaves out what they achieved.
//!
//! Three levels. *Same*: every class and band equal, and the fill's kind. *Near*: coupling, mass bands and
//! filled or not equal; the kind of fill is then what is compared. *Family*: coupling equal. Walls in another
//! state are never alike: bare studs are not a finished wall.
//!
//! The bands are a convention of this project; they are half-open and cover everything.

use crate::assembly::{Cavity, Coupling, Fill, Frame, Leaf, Openings, PartError, Via};
use crate::kinds::Assembly;

/// How alike two assemblies are, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MatchLevel {
    /// All classes, bands and the fill's kind equal.
    Same,
    /// Coupling, mass bands, filled or not equal.
    Near,
    /// Coupling equal.
    Family,
}

/// What an opening does to a wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OpeningClass {
    /// No door, window, grille or crack.
    None,
    /// Heavy and sealed.
    SealedHeavy,
    /// Light or unsealed.
    LightOrUnsealed,
}

/// Upper limits of the bands; a value at a limit belongs to the next band.
const MASS_BANDS_KG_M2: &[f64] = &[6.0, 10.0, 16.0, 26.0];
const CAVITY_BANDS_MM: &[f64] = &[40.0, 70.0, 110.0, 160.0];
const SPACING_BANDS_MM: &[f64] = &[350.0, 430.0, 520.0];

fn band(value: f64, limits: &[f64]) -> usize {
    limits.iter().filter(|limit| value >= **limit).count()
}

/// What assemblies are compared by. `None` in a band is a value nobody wrote down.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct MatchKey {
    /// How the leaves are tied, channel and clips counted.
    pub coupling: Coupling,
    /// Mass band of leaf A.
    pub mass_a: Option<usize>,
    /// Mass band of leaf B.
    pub mass_b: Option<usize>,
    /// Band of the clear depth.
    pub cavity: Option<usize>,
    /// Band of the stud spacing.
    pub spacing: Option<usize>,
    /// Class of the worst opening.
    pub opening: OpeningClass,
    /// Kind of fill; `None` is empty.
    pub fill: Option<String>,
    /// State of the work.
    pub state: String,
}

/// How one assembly matches another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Match {
    /// How alike.
    pub level: MatchLevel,
    /// Whether leaf A of one lies on leaf B of the other.
    pub mirrored: bool,
    /// What differs, in words.
    pub differences: Vec<&'static str>,
}

/// The parts of an assembly as typed values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parts {
    /// Leaf A.
    pub leaf_a: Leaf,
    /// Frame.
    pub frame: Frame,
    /// Cavity.
    pub cavity: Cavity,
    /// Leaf B.
    pub leaf_b: Leaf,
    /// Openings.
    pub openings: Openings,
    /// State of the work, as stored.
    pub state: String,
}

impl Parts {
    /// Reads the parts of a record; what is not written counts as unknown.
    ///
    /// # Errors
    /// [`PartError`] when a stored part cannot be read.
    pub fn of(assembly: &Assembly) -> Result<Self, PartError> {
        let text = |part: &Option<String>| part.clone().unwrap_or_else(|| "unknown".to_owned());
        Ok(Self {
            leaf_a: Leaf::parse(&text(&assembly.leaf_a))?,
            frame: Frame::parse(&text(&assembly.frame))?,
            cavity: Cavity::parse(&text(&assembly.cavity))?,
            leaf_b: Leaf::parse(&text(&assembly.leaf_b))?,
            openings: Openings::parse(&text(&assembly.openings))?,
            state: assembly.state.clone().unwrap_or_else(|| "unknown".to_owned()),
        })
    }

    /// How the leaves are tied, a missing leaf, channel and clips counted.
    pub fn coupling(&self) -> Coupling {
        let vias = [&self.leaf_a, &self.leaf_b].map(via);
        if [&self.leaf_a, &self.leaf_b].iter().any(|leaf| **leaf == Leaf::None) && self.frame != Frame::Solid
        {
            return Coupling::Open;
        }
        let frame = match &self.frame {
            Frame::Solid => return Coupling::Solid,
            Frame::Studs { arrangement, .. } => *arrangement,
            Frame::None | Frame::Unknown => Coupling::SingleWood,
        };
        // Staggered and double frames part the leaves more than channel does, so they keep their class.
        let tied = matches!(
            frame,
            Coupling::SingleWood | Coupling::SingleSteelThin | Coupling::SingleSteelStructural
        );
        if tied && vias.contains(&Some(Via::Clip)) {
            Coupling::Clip
        } else if tied && vias.iter().any(|via| matches!(via, Some(Via::Channel { .. }))) {
            Coupling::Resilient
        } else {
            frame
        }
    }

    /// The fill, when there is one.
    pub fn fill(&self) -> Option<&Fill> {
        if let Cavity::Space { fill, .. } = &self.cavity { fill.as_ref() } else { None }
    }

    /// The worst opening. A slab counts as heavy when it is called solid; boxes are not openings here.
    pub fn opening_class(&self) -> OpeningClass {
        use crate::assembly::Opening;
        let Openings::List(list) = &self.openings else { return OpeningClass::None };
        list.iter()
            .filter_map(|opening| match opening {
                Opening::Hole { slab, .. } if slab.contains("solid") && !opening.is_unsealed() => {
                    Some(OpeningClass::SealedHeavy)
                }
                Opening::Hole { .. } => Some(OpeningClass::LightOrUnsealed),
                Opening::Boxes { .. } => None,
            })
            .max()
            .unwrap_or(OpeningClass::None)
    }

    /// The key these parts are compared by.
    pub fn key(&self) -> MatchKey {
        let cavity = match &self.cavity {
            Cavity::Space { clear_mm, .. } => clear_mm.map(|depth| band(depth.to_f64(), CAVITY_BANDS_MM)),
            Cavity::None | Cavity::Unknown => None,
        };
        let spacing = match &self.frame {
            Frame::Studs { studs, .. } => Some(band(studs.spacing_mm.to_f64(), SPACING_BANDS_MM)),
            _ => None,
        };
        MatchKey {
            coupling: self.coupling(),
            mass_a: mass_band(&self.leaf_a),
            mass_b: mass_band(&self.leaf_b),
            cavity,
            spacing,
            opening: self.opening_class(),
            fill: self.fill().map(|fill| fill.kind.clone()),
            state: self.state.clone(),
        }
    }
}

fn via(leaf: &Leaf) -> Option<Via> {
    if let Leaf::Boards { via, .. } = leaf { Some(*via) } else { None }
}

fn mass_band(leaf: &Leaf) -> Option<usize> {
    match leaf {
        Leaf::Boards { mass_kg_m2, .. } => mass_kg_m2.map(|mass| band(mass.to_f64(), MASS_BANDS_KG_M2)),
        Leaf::None | Leaf::Unknown => None,
    }
}

/// What all walls that match at a level have in common, either way round: equal for two keys exactly where
/// [`MatchKey::compare`] finds that level or a better one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class {
    /// The level.
    pub level: MatchLevel,
    /// How the leaves are tied.
    pub coupling: Coupling,
    /// State of the work.
    pub state: String,
    /// Mass bands of the leaves, the lighter first, from *near* on. `None` in a band is a mass nobody wrote down.
    pub masses: Option<[Option<usize>; 2]>,
    /// Whether the cavity is filled, from *near* on.
    pub filled: Option<bool>,
    /// What only *same* asks for.
    pub rest: Option<ClassRest>,
}

/// What a class of the level *same* has beside.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ClassRest {
    /// Kind of fill; `None` is empty.
    pub fill: Option<String>,
    /// Band of the clear depth.
    pub cavity: Option<usize>,
    /// Band of the stud spacing.
    pub spacing: Option<usize>,
    /// Class of the worst opening.
    pub opening: OpeningClass,
}

impl Class {
    /// The class in words, its state left out.
    pub fn words(&self) -> String {
        let mut words = vec![self.coupling.words().to_owned()];
        words.extend(self.masses.map(|masses| match masses.map(mass_words) {
            [one, other] if one == other => format!("both leaves {one}"),
            [one, other] => format!("leaves {one} and {other}"),
        }));
        match &self.rest {
            None => {
                words.extend(self.filled.map(|filled| if filled { "filled" } else { "empty" }.to_owned()))
            }
            Some(rest) => {
                words.push(rest.fill.clone().unwrap_or_else(|| "empty".to_owned()));
                words.push(format!("cavity {}", band_words(rest.cavity, CAVITY_BANDS_MM, "mm")));
                words.push(format!("studs {}", band_words(rest.spacing, SPACING_BANDS_MM, "mm apart")));
                words.push(
                    match rest.opening {
                        OpeningClass::None => "no opening",
                        OpeningClass::SealedHeavy => "heavy sealed opening",
                        OpeningClass::LightOrUnsealed => "light or unsealed opening",
                    }
                    .to_owned(),
                );
            }
        }
        words.join(", ")
    }
}

fn mass_words(band: Option<usize>) -> String {
    match band {
        None => "of unknown mass".to_owned(),
        band => band_words(band, MASS_BANDS_KG_M2, "kg/m²"),
    }
}

/// A band in words; bands are half-open.
fn band_words(band: Option<usize>, limits: &[f64], unit: &str) -> String {
    let Some(band) = band else { return "unknown".to_owned() };
    match (band.checked_sub(1).and_then(|below| limits.get(below)), limits.get(band)) {
        (None, Some(high)) => format!("under {high} {unit}"),
        (Some(low), Some(high)) => format!("{low} to {high} {unit}"),
        (Some(low), None) => format!("{low} {unit} and over"),
        (None, None) => "unknown".to_owned(),
    }
}

impl MatchKey {
    /// What this wall has in common with every wall that matches it at `level`.
    pub fn class(&self, level: MatchLevel) -> Class {
        let is_near = level <= MatchLevel::Near;
        Class {
            level,
            coupling: self.coupling,
            state: self.state.clone(),
            masses: is_near.then(|| [self.mass_a.min(self.mass_b), self.mass_a.max(self.mass_b)]),
            filled: is_near.then_some(self.fill.is_some()),
            rest: (level == MatchLevel::Same).then(|| ClassRest {
                fill: self.fill.clone(),
                cavity: self.cavity,
                spacing: self.spacing,
                opening: self.opening,
            }),
        }
    }

    fn turned(&self) -> Self {
        Self { mass_a: self.mass_b, mass_b: self.mass_a, ..self.clone() }
    }

    /// How alike two assemblies are, either way round; `None` when not even of one family or in another state.
    pub fn compare(&self, other: &Self) -> Option<Match> {
        if self.coupling != other.coupling || self.state != other.state {
            return None;
        }
        let straight = self.differences(other);
        let turned = self.turned().differences(other);
        let mirrored = turned.len() < straight.len();
        let differences = if mirrored { turned } else { straight };
        let near =
            !differences.iter().any(|what| matches!(*what, "leaf A mass" | "leaf B mass" | "filled or not"));
        let level = match (differences.is_empty(), near) {
            (true, _) => MatchLevel::Same,
            (false, true) => MatchLevel::Near,
            (false, false) => MatchLevel::Family,
        };
        Some(Match { level, mirrored, differences })
    }

    fn differences(&self, other: &Self) -> Vec<&'static str> {
        let mut differences = Vec::new();
        let mut note = |differs: bool, what| {
            if differs {
                differences.push(what);
            }
        };
        note(self.mass_a != other.mass_a, "leaf A mass");
        note(self.mass_b != other.mass_b, "leaf B mass");
        note(self.fill.is_some() != other.fill.is_some(), "filled or not");
        note(self.fill.is_some() && other.fill.is_some() && self.fill != other.fill, "kind of fill");
        note(self.cavity != other.cavity, "cavity depth");
        note(self.spacing != other.spacing, "stud spacing");
        note(self.opening != other.opening, "openings");
        differences
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(leaf_a: &str, frame: &str, cavity: &str, leaf_b: &str, openings: &str, state: &str) -> Parts {
        Parts {
            leaf_a: Leaf::parse(leaf_a).unwrap(),
            frame: Frame::parse(frame).unwrap(),
            cavity: Cavity::parse(cavity).unwrap(),
            leaf_b: Leaf::parse(leaf_b).unwrap(),
            openings: Openings::parse(openings).unwrap(),
            state: state.to_owned(),
        }
    }

    const THIN: &str = "gypsum 12.7 x1, 8.1 kg/m2";
    const THICK: &str = "gypsum 15.9 x2, 22 kg/m2";
    const STUDS: &str = "single wood 38x89@406";

    #[test]
    fn the_same_wall_seen_from_the_other_room_is_the_same() {
        let one = parts(THIN, STUDS, "89 clear, cellulose 89", THICK, "none", "finished").key();
        let other = parts(THICK, STUDS, "89 clear, cellulose 89", THIN, "none", "finished").key();
        let found = one.compare(&other).unwrap();
        assert_eq!((found.level, found.mirrored), (MatchLevel::Same, true));
    }

    #[test]
    fn levels_follow_what_differs() {
        let base = parts(THIN, STUDS, "89 clear, cellulose 89", THIN, "none", "finished").key();
        let level = |other: Parts| base.compare(&other.key()).map(|found| found.level);
        let wool = parts(THIN, STUDS, "89 clear, stone wool 89", THIN, "none", "finished");
        assert_eq!(level(wool), Some(MatchLevel::Near), "fill kind is the axis of comparison");
        let empty = parts(THIN, STUDS, "89 clear, empty", THIN, "none", "finished");
        assert_eq!(level(empty), Some(MatchLevel::Family));
        let heavy = parts(THIN, STUDS, "89 clear, cellulose 89", THICK, "none", "finished");
        assert_eq!(level(heavy), Some(MatchLevel::Family));
        let bare = parts(THIN, STUDS, "89 clear, cellulose 89", THIN, "none", "boarded-both");
        assert_eq!(level(bare), None, "states are never mixed");
        let channel = parts(
            THIN,
            STUDS,
            "89 clear, cellulose 89",
            "gypsum 12.7 x1, 8.1 kg/m2, channel 13@566",
            "none",
            "finished",
        );
        assert_eq!(level(channel), None, "another coupling is another family");
        let door = parts(
            THIN,
            STUDS,
            "89 clear, cellulose 89",
            THIN,
            "door hollow-core 1.65 m2, unsealed",
            "finished",
        );
        assert_eq!(level(door), Some(MatchLevel::Near));
    }

    #[test]
    fn classes_are_equal_exactly_where_walls_match() {
        let leaves = [THIN, THICK, "gypsum 12.7 x1"];
        let cavities = [
            "89 clear, empty",
            "89 clear, cellulose 89",
            "89 clear, stone wool 89",
            "140 clear, cellulose 89",
        ];
        let frames = [STUDS, "single wood 38x89@610", "staggered wood 38x89@610 on 38x140"];
        let mut keys = Vec::new();
        for leaf_a in leaves {
            for leaf_b in leaves {
                for (cavity, frame) in cavities.iter().flat_map(|cavity| frames.map(|frame| (cavity, frame)))
                {
                    for (openings, state) in [
                        ("none", "finished"),
                        ("door hollow-core 1.65 m2, unsealed", "finished"),
                        ("none", "boarded-both"),
                    ] {
                        keys.push(parts(leaf_a, frame, cavity, leaf_b, openings, state).key());
                    }
                }
            }
        }
        for one in &keys {
            for other in &keys {
                let found = one.compare(other).map(|found| found.level);
                for level in [MatchLevel::Same, MatchLevel::Near, MatchLevel::Family] {
                    let alike = one.class(level) == other.class(level);
                    assert_eq!(
                        alike,
                        found.is_some_and(|found| found <= level),
                        "{level:?}: {one:?} {other:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn classes_say_what_they_ask_for() {
        let wall = parts(THICK, STUDS, "89 clear, cellulose 89", THIN, "none", "finished").key();
        let words = |level| wall.class(level).words();
        assert_eq!(words(MatchLevel::Family), "single-wood");
        assert_eq!(words(MatchLevel::Near), "single-wood, leaves 6 to 10 kg/m² and 16 to 26 kg/m², filled");
        assert_eq!(
            words(MatchLevel::Same),
            "single-wood, leaves 6 to 10 kg/m² and 16 to 26 kg/m², cellulose, cavity 70 to 110 mm, studs 350 to 430 mm apart, \
             no opening"
        );
        let unknown =
            parts("gypsum 12.7 x1", STUDS, "89 clear, empty", "gypsum 12.7 x1", "none", "finished").key();
        assert_eq!(
            unknown.class(MatchLevel::Near).words(),
            "single-wood, both leaves of unknown mass, empty"
        );
    }

    #[test]
    fn coupling_counts_channel_clips_and_missing_leaves() {
        let of = |a: &str, frame: &str, b: &str| {
            parts(a, frame, "89 clear, empty", b, "none", "finished").coupling()
        };
        assert_eq!(of(THIN, STUDS, THIN), Coupling::SingleWood);
        assert_eq!(of(THIN, STUDS, "none"), Coupling::Open);
        assert_eq!(of(THIN, STUDS, "gypsum 15.9 x2, channel 13@566"), Coupling::Resilient);
        assert_eq!(of("gypsum 15.9 x1, clip", STUDS, THIN), Coupling::Clip);
        assert_eq!(of(THIN, "staggered wood 38x89@610 on 38x140", THIN), Coupling::Staggered);
        assert_eq!(of("none", "solid", "none"), Coupling::Solid);
    }

    #[test]
    fn bands_are_half_open_and_cover_everything() {
        let bands =
            [0.0, 5.99, 6.0, 9.99, 10.0, 16.0, 25.9, 26.0, 400.0].map(|mass| band(mass, MASS_BANDS_KG_M2));
        assert_eq!(bands, [0, 0, 1, 1, 2, 3, 3, 4, 4]);
        assert_eq!([406.0, 430.0, 610.0].map(|spacing| band(spacing, SPACING_BANDS_MM)), [1, 2, 3]);
    }
}
