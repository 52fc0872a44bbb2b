//! Parsing and printing the notation of the parts. Printing what was parsed gives the stored form.

use std::fmt;
use std::str::FromStr;

use super::{
    Cavity, Coupling, FILLS, Fill, Frame, Layer, Leaf, Milli, Opening, Openings, Seal, Seals, Studs, Via,
};

/// A part that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("cannot read \"{piece}\" in the {part}: write it like {example}; {sizes}")]
pub struct PartError {
    /// Which part.
    pub part: &'static str,
    /// The piece that cannot be read.
    pub piece: String,
    /// How it is written.
    pub example: &'static str,
    /// How sizes are written.
    pub sizes: &'static str,
}

const LEAF: (&str, &str) = ("leaf", "\"gypsum 12.7 x1, 8.1 kg/m2, direct\" or \"none\"");
const FRAME: (&str, &str) = ("frame", "\"single wood 38x89@406\" or \"solid\"");
const CAVITY: (&str, &str) =
    ("cavity", "\"89 clear, glass fibre 89, 10 kg/m3, 100%\" or \"89 clear, empty\"");
const OPENINGS: (&str, &str) = (
    "openings",
    "\"door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2 tight, offset 610\" or \"none\"",
);
const SEALS: (&str, &str) = ("seals", "\"A 1, B 2\", \"A gasket\" or \"none\"");

pub(super) const PLACES: (&str, &str) = ("lengths", "\"15 1/4 in; 31 in; 47 in\"");
const IN_MILLIMETRES: &str = "sizes are in millimetres, 1/2 in is 12.7 and 5/8 in is 15.9";
const WITH_UNITS: &str = "each with its unit";

pub(super) fn refuse(part: (&'static str, &'static str), piece: &str) -> PartError {
    let sizes = if part == PLACES { WITH_UNITS } else { IN_MILLIMETRES };
    PartError { part: part.0, piece: piece.trim().to_owned(), example: part.1, sizes }
}

impl FromStr for Milli {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
        if !digits(whole) || !digits(part) || whole.len() > 7 || part.len() > 3 {
            return Err(());
        }
        let whole: i64 = whole.parse().map_err(|_| ())?;
        let part: i64 = format!("{part:0<3}").parse().map_err(|_| ())?;
        Ok(Self(whole * 1000 + part))
    }
}

/// `89` or `89 mm` or `89mm`.
fn millimetres(text: &str) -> Option<Milli> {
    text.trim().trim_end_matches("mm").trim_end().parse().ok()
}

/// `38x89` or `38x89 mm`.
fn section(text: &str) -> Option<(Milli, Milli)> {
    let (width, depth) = text.trim().split_once('x')?;
    Some((millimetres(width)?, millimetres(depth)?))
}

fn plain_words(text: &str) -> Option<String> {
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let legal = |letter: char| letter.is_alphanumeric() || matches!(letter, ' ' | '-' | '/' | '.');
    (!words.is_empty() && words.len() <= 60 && words.chars().all(legal)).then_some(words)
}

impl Leaf {
    /// Reads the notation of a leaf.
    ///
    /// # Errors
    /// [`PartError`] names the piece that cannot be read.
    pub fn parse(text: &str) -> Result<Self, PartError> {
        match text.trim() {
            "none" => return Ok(Self::None),
            "unknown" => return Ok(Self::Unknown),
            _ => (),
        }
        let mut pieces = text.split(',');
        let layers = pieces
            .next()
            .unwrap_or_default()
            .split(" + ")
            .map(|piece| parse_layer(piece).ok_or_else(|| refuse(LEAF, piece)))
            .collect::<Result<Vec<_>, _>>()?;
        let (mut mass_kg_m2, mut via, mut damping) = (None, Via::Direct, false);
        for piece in pieces {
            let piece = piece.trim();
            if let Some(mass) = piece.strip_suffix("kg/m2") {
                mass_kg_m2 = Some(mass.trim().parse().map_err(|()| refuse(LEAF, piece))?);
            } else if let Some(channel) = piece.strip_prefix("channel ") {
                via = parse_channel(channel).ok_or_else(|| refuse(LEAF, piece))?;
            } else {
                match piece {
                    "direct" => via = Via::Direct,
                    "clip" => via = Via::Clip,
                    "damping" => damping = true,
                    _ => return Err(refuse(LEAF, piece)),
                }
            }
        }
        Ok(Self::Boards { layers, mass_kg_m2, via, damping })
    }
}

fn parse_layer(text: &str) -> Option<Layer> {
    let (rest, count) = text.trim().rsplit_once(" x")?;
    let count = count.parse().ok().filter(|count| (1..=9).contains(count))?;
    let rest = rest.trim_end().trim_end_matches("mm").trim_end();
    let (material, thickness) = rest.rsplit_once(' ')?;
    Some(Layer { material: plain_words(material)?, thickness_mm: millimetres(thickness)?, count })
}

fn parse_channel(text: &str) -> Option<Via> {
    let (depth, spacing) = text.split_once('@')?;
    Some(Via::Channel { depth_mm: millimetres(depth)?, spacing_mm: millimetres(spacing)? })
}

impl fmt::Display for Leaf {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Boards { layers, mass_kg_m2, via, damping } = self else {
            return f.write_str(if *self == Self::None { "none" } else { "unknown" });
        };
        for (index, layer) in layers.iter().enumerate() {
            let join = if index == 0 { "" } else { " + " };
            write!(f, "{join}{} {} x{}", layer.material, layer.thickness_mm, layer.count)?;
        }
        if let Some(mass) = mass_kg_m2 {
            write!(f, ", {mass} kg/m2")?;
        }
        match via {
            Via::Direct => f.write_str(", direct")?,
            Via::Clip => f.write_str(", clip")?,
            Via::Channel { depth_mm, spacing_mm } => write!(f, ", channel {depth_mm}@{spacing_mm}")?,
        }
        f.write_str(if *damping { ", damping" } else { "" })
    }
}

const ARRANGEMENTS: &[(&str, Coupling)] = &[
    ("single wood", Coupling::SingleWood),
    ("single thin steel", Coupling::SingleSteelThin),
    ("single structural steel", Coupling::SingleSteelStructural),
    ("staggered wood", Coupling::Staggered),
    ("staggered steel", Coupling::Staggered),
    ("double wood", Coupling::Double),
    ("double steel", Coupling::Double),
];

impl Frame {
    /// Reads the notation of a frame.
    ///
    /// # Errors
    /// [`PartError`] names the piece that cannot be read.
    pub fn parse(text: &str) -> Result<Self, PartError> {
        match text.trim() {
            "none" => return Ok(Self::None),
            "unknown" => return Ok(Self::Unknown),
            "solid" => return Ok(Self::Solid),
            _ => (),
        }
        let mut pieces = text.split(',');
        let first = pieces.next().unwrap_or_default().trim();
        let (name, arrangement) = ARRANGEMENTS
            .iter()
            .find(|(name, _)| first.starts_with(name))
            .copied()
            .ok_or_else(|| refuse(FRAME, first))?;
        let (studs, plate) = match first[name.len()..].split_once(" on ") {
            Some((studs, plate)) => (studs, Some(plate)),
            None => (&first[name.len()..], None),
        };
        let studs = parse_studs(studs, is_steel(name)).ok_or_else(|| refuse(FRAME, first))?;
        let plate_mm = plate.map(|plate| section(plate).ok_or_else(|| refuse(FRAME, plate))).transpose()?;
        let (mut gap_mm, mut plates) = (None, None);
        for piece in pieces {
            let piece = piece.trim();
            if let Some(gap) = piece.strip_prefix("gap ") {
                gap_mm = Some(millimetres(gap).ok_or_else(|| refuse(FRAME, piece))?);
            } else if let Some(count) = piece.strip_prefix("plates ") {
                plates = Some(count.trim().parse().map_err(|_| refuse(FRAME, piece))?);
            } else {
                return Err(refuse(FRAME, piece));
            }
        }
        Ok(Self::Studs { arrangement, studs, plate_mm, gap_mm, plates })
    }
}

/// Whether an arrangement by that name stands on steel.
fn is_steel(name: &str) -> bool {
    name.ends_with("steel")
}

fn parse_studs(text: &str, is_steel: bool) -> Option<Studs> {
    let (size, spacing) = text.split_once('@')?;
    let (width_mm, depth_mm) = section(size)?;
    Some(Studs { width_mm, depth_mm, spacing_mm: millimetres(spacing)?, is_steel })
}

impl fmt::Display for Frame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::None => f.write_str("none"),
            Self::Unknown => f.write_str("unknown"),
            Self::Solid => f.write_str("solid"),
            Self::Studs { arrangement, studs, plate_mm, gap_mm, plates } => {
                let name = ARRANGEMENTS
                    .iter()
                    .find(|(name, class)| class == arrangement && is_steel(name) == studs.is_steel)
                    .map_or("single wood", |row| row.0);
                write!(f, "{name} {}x{}@{}", studs.width_mm, studs.depth_mm, studs.spacing_mm)?;
                if let Some((width, depth)) = plate_mm {
                    write!(f, " on {width}x{depth}")?;
                }
                if let Some(gap) = gap_mm {
                    write!(f, ", gap {gap}")?;
                }
                plates.map_or(Ok(()), |count| write!(f, ", plates {count}"))
            }
        }
    }
}

impl Cavity {
    /// Reads the notation of a cavity.
    ///
    /// # Errors
    /// [`PartError`] names the piece that cannot be read.
    pub fn parse(text: &str) -> Result<Self, PartError> {
        match text.trim() {
            "none" => return Ok(Self::None),
            "unknown" => return Ok(Self::Unknown),
            _ => (),
        }
        let (mut clear_mm, mut fill) = (None, None::<Fill>);
        for piece in text.split(',') {
            let piece = piece.trim();
            let bad = || refuse(CAVITY, piece);
            if piece == "empty" {
                continue;
            } else if let Some(clear) = piece.strip_suffix(" clear") {
                clear_mm = Some(millimetres(clear).ok_or_else(bad)?);
            } else if let Some(kind) = FILLS.iter().find(|kind| piece.starts_with(**kind)) {
                let thickness_mm = millimetres(&piece[kind.len()..]).ok_or_else(bad)?;
                let kind = (*kind).to_owned();
                fill = Some(Fill {
                    kind,
                    thickness_mm,
                    density_kg_m3: None,
                    coverage_percent: None,
                    compressed: false,
                });
            } else {
                parse_fill_piece(fill.as_mut().ok_or_else(bad)?, piece).ok_or_else(bad)?;
            }
        }
        Ok(Self::Space { clear_mm, fill })
    }
}

fn parse_fill_piece(fill: &mut Fill, piece: &str) -> Option<()> {
    if let Some(density) = piece.strip_suffix("kg/m3") {
        fill.density_kg_m3 = Some(density.trim().parse().ok()?);
    } else if let Some(percent) = piece.strip_suffix('%') {
        fill.coverage_percent = Some(percent.trim().parse().ok().filter(|share| *share <= 100)?);
    } else if piece == "compressed" {
        fill.compressed = true;
    } else {
        return None;
    }
    Some(())
}

impl fmt::Display for Cavity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (clear_mm, fill) = match self {
            Self::None => return f.write_str("none"),
            Self::Unknown => return f.write_str("unknown"),
            Self::Space { clear_mm, fill } => (clear_mm, fill),
        };
        if let Some(clear) = clear_mm {
            write!(f, "{clear} clear, ")?;
        }
        let Some(fill) = fill else { return f.write_str("empty") };
        write!(f, "{} {}", fill.kind, fill.thickness_mm)?;
        if let Some(density) = fill.density_kg_m3 {
            write!(f, ", {density} kg/m3")?;
        }
        if let Some(share) = fill.coverage_percent {
            write!(f, ", {share}%")?;
        }
        f.write_str(if fill.compressed { ", compressed" } else { "" })
    }
}

/// Kinds of holes in a wall.
const HOLES: &[&str] = &["door", "window", "grille", "crack"];

impl Openings {
    /// Reads the notation of the openings.
    ///
    /// # Errors
    /// [`PartError`] names the piece that cannot be read.
    pub fn parse(text: &str) -> Result<Self, PartError> {
        match text.trim() {
            "none" => Ok(Self::None),
            "unknown" => Ok(Self::Unknown),
            _ => text
                .split(';')
                .map(|item| parse_opening(item.trim()).ok_or_else(|| refuse(OPENINGS, item)))
                .collect::<Result<_, _>>()
                .map(Self::List),
        }
    }
}

fn parse_opening(item: &str) -> Option<Opening> {
    let mut pieces = item.split(',').map(str::trim);
    let first = pieces.next()?;
    if let Some(boxes) = first.strip_prefix("boxes ") {
        return parse_boxes(boxes, pieces);
    }
    let (kind, rest) = first.split_once(' ').unwrap_or((first, ""));
    if !HOLES.contains(&kind) {
        return None;
    }
    let (slab, area_m2) = match rest.strip_suffix("m2").map(str::trim_end) {
        Some(sized) => {
            let (slab, area) = sized.rsplit_once(' ').unwrap_or(("", sized));
            (slab, Some(area.parse().ok()?))
        }
        None => (rest, None),
    };
    let slab = if slab.trim().is_empty() { String::new() } else { plain_words(slab)? };
    let (mut seal, mut undercut_mm) = (None, None);
    for piece in pieces {
        if let Some(gap) = piece.strip_prefix("undercut ") {
            undercut_mm = Some(millimetres(gap)?);
        } else {
            seal = Some(plain_words(piece)?);
        }
    }
    Some(Opening::Hole { kind: kind.to_owned(), slab, area_m2, seal, undercut_mm })
}

fn parse_boxes<'a>(first: &'a str, pieces: impl Iterator<Item = &'a str>) -> Option<Opening> {
    let (count, how) = first.split_once(' ').unwrap_or((first, ""));
    let count = count.parse().ok()?;
    let (mut tight, mut offset_mm) = (None, None);
    for piece in std::iter::once(how).chain(pieces) {
        match piece.trim() {
            "" => (),
            "tight" => tight = Some(true),
            "open" => tight = Some(false),
            "back to back" => offset_mm = Some(Milli(0)),
            other => offset_mm = Some(millimetres(other.strip_prefix("offset ")?)?),
        }
    }
    Some(Opening::Boxes { count, tight, offset_mm })
}

impl fmt::Display for Openings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let list = match self {
            Self::None => return f.write_str("none"),
            Self::Unknown => return f.write_str("unknown"),
            Self::List(list) => list,
        };
        for (index, opening) in list.iter().enumerate() {
            f.write_str(if index == 0 { "" } else { "; " })?;
            write!(f, "{opening}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Opening {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Hole { kind, slab, area_m2, seal, undercut_mm } => {
                f.write_str(kind)?;
                if !slab.is_empty() {
                    write!(f, " {slab}")?;
                }
                if let Some(area) = area_m2 {
                    write!(f, " {area} m2")?;
                }
                if let Some(seal) = seal {
                    write!(f, ", {seal}")?;
                }
                undercut_mm.map_or(Ok(()), |gap| write!(f, ", undercut {gap}"))
            }
            Self::Boxes { count, tight, offset_mm } => {
                write!(f, "boxes {count}")?;
                match tight {
                    Some(true) => f.write_str(" tight")?,
                    Some(false) => f.write_str(" open")?,
                    None => (),
                }
                match offset_mm {
                    Some(Milli(0)) => f.write_str(", back to back"),
                    Some(offset) => write!(f, ", offset {offset}"),
                    None => Ok(()),
                }
            }
        }
    }
}

const SIDES: &[&str] = &["A", "B", "top", "bottom"];

impl Seals {
    /// Reads the notation of the seals.
    ///
    /// # Errors
    /// [`PartError`] names the piece that cannot be read.
    pub fn parse(text: &str) -> Result<Self, PartError> {
        match text.trim() {
            "none" => return Ok(Self::None),
            "unknown" => return Ok(Self::Unknown),
            _ => (),
        }
        let mut sides: Vec<(String, Seal)> = Vec::new();
        for piece in text.split(',') {
            let (side, seal) = parse_seal(piece.trim()).ok_or_else(|| refuse(SEALS, piece))?;
            if sides.iter().any(|(named, _)| *named == side) {
                return Err(refuse(SEALS, piece));
            }
            sides.push((side, seal));
        }
        sides.sort_by_key(|(side, _)| SIDES.iter().position(|known| known == side));
        Ok(Self::Sides(sides))
    }
}

fn parse_seal(piece: &str) -> Option<(String, Seal)> {
    let (side, seal) = piece.split_once(' ')?;
    if !SIDES.contains(&side) {
        return None;
    }
    let seal = match seal.trim() {
        "none" => Seal::None,
        "gasket" => Seal::Gasket,
        beads => Seal::Beads(beads.parse().ok().filter(|count| (1..=9).contains(count))?),
    };
    Some((side.to_owned(), seal))
}

impl fmt::Display for Seals {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sides = match self {
            Self::None => return f.write_str("none"),
            Self::Unknown => return f.write_str("unknown"),
            Self::Sides(sides) => sides,
        };
        for (index, (side, seal)) in sides.iter().enumerate() {
            let join = if index == 0 { "" } else { ", " };
            match seal {
                Seal::None => write!(f, "{join}{side} none")?,
                Seal::Gasket => write!(f, "{join}{side} gasket")?,
                Seal::Beads(count) => write!(f, "{join}{side} {count}")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::PartKind;

    /// What a frame is made of is kept, whichever way its studs stand.
    #[test]
    fn every_arrangement_of_studs_is_stored_as_it_was_written() {
        for (name, _) in super::ARRANGEMENTS {
            let text = format!("{name} 41x64@610");
            assert_eq!(PartKind::Frame.canonical(&text).unwrap(), text);
        }
    }

    #[test]
    fn notation_prints_as_it_is_stored() {
        for (part, input, stored) in [
            (PartKind::Leaf, "none", "none"),
            (PartKind::Leaf, "gypsum 12.7 x1", "gypsum 12.7 x1, direct"),
            (
                PartKind::Leaf,
                "Gypsum type X 15.9 mm x2, 22.0 kg/m2, channel 13@566",
                "gypsum type x 15.9 x2, 22 kg/m2, channel 13@566",
            ),
            (
                PartKind::Leaf,
                "gypsum 15.9 x1 + gypsum 15.9 x1, 22 kg/m2, damping",
                "gypsum 15.9 x1 + gypsum 15.9 x1, 22 kg/m2, direct, damping",
            ),
            (PartKind::Frame, "single wood 38x89@406", "single wood 38x89@406"),
            (
                PartKind::Frame,
                "staggered wood 38x89@610 on 38x140, plates 3",
                "staggered wood 38x89@610 on 38x140, plates 3",
            ),
            (PartKind::Frame, "double wood 38x89@406, gap 25", "double wood 38x89@406, gap 25"),
            (PartKind::Cavity, "89 clear, empty", "89 clear, empty"),
            (
                PartKind::Cavity,
                "102 clear, glass fibre 89, 10 kg/m3, 100%",
                "102 clear, glass fibre 89, 10 kg/m3, 100%",
            ),
            (
                PartKind::Openings,
                "door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2, back to back",
                "door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2, back to back",
            ),
            (PartKind::Openings, "boxes 2 tight, offset 610", "boxes 2 tight, offset 610"),
            (PartKind::Seals, "B 2, A 1", "A 1, B 2"),
            (PartKind::Seals, "A gasket", "A gasket"),
        ] {
            let canonical = part.canonical(input).unwrap();
            assert_eq!(canonical, stored);
            assert_eq!(part.canonical(&canonical).unwrap(), canonical, "stored form reads as itself");
        }
    }

    #[test]
    fn what_cannot_be_read_is_named_with_an_example() {
        for (part, input, piece) in [
            (PartKind::Leaf, "gypsum", "gypsum"),
            (PartKind::Leaf, "gypsum 12.7 x1, glued", "glued"),
            (PartKind::Frame, "bamboo 38x89@406", "bamboo"),
            (PartKind::Frame, "single wood 38x89", "single wood 38x89"),
            (PartKind::Cavity, "89 clear, feathers 89", "feathers 89"),
            (PartKind::Cavity, "10 kg/m3", "10 kg/m3"),
            (PartKind::Cavity, "cellulose 89, 120%", "120%"),
            (PartKind::Openings, "hatch 1 m2", "hatch"),
            (PartKind::Seals, "A 1, A 2", "A 2"),
            (PartKind::Seals, "left 1", "left 1"),
        ] {
            let error = part.canonical(input).unwrap_err().to_string();
            assert!(error.contains(piece) && error.contains("write it like"), "{error}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC{0,60}") {
            for part in [PartKind::Leaf, PartKind::Frame, PartKind::Cavity, PartKind::Openings, PartKind::Seals] {
                if let Ok(stored) = part.canonical(&text) {
                    proptest::prop_assert_eq!(part.canonical(&stored).unwrap(), stored);
                }
            }
        }
    }
}
