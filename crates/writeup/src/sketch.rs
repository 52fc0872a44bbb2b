//! Drawings of recorded walls: the framing with its bays, and a section through an assembly.
//!
//! Records and take-offs go in, SVG text comes out. What a record does not say is not drawn, or drawn as `unknown`; nothing
//! is guessed beyond how deep a clip usually is. Leaves out photographs and charts.

use storypole_drawing::{
    CellBox, CellPlace, ChartError, Elevation, ElevationError, FillBox, FillKind, FrameBox, LayerBox,
    LayerKind, LeafBox, LengthStyle, OpeningBox, PlateBox, Seal, Section, SectionError, StudKind, StudRow,
    Via, WoodBox, WoodKind,
};
use storypole_journal::RecordId;
use storypole_ledger::takeoff::{Run, Sheet, framed_by};
use storypole_notebook::Book;
use storypole_notebook::assembly::{self, Cavity, Coupling, Fill, Frame, Leaf, Milli, Seals, Studs};
use storypole_notebook::kinds::Assembly;
use storypole_takeoff::wall::{CellKind, WoodRole};
use storypole_units::Length;

/// Depth of channel on clips where nobody wrote it: 1 5/8 in. Common practice, no source; the maker's size comes first.
const CLIP_UM: i64 = 41_275;

/// Why an assembly cannot be drawn.
#[derive(Debug, thiserror::Error)]
pub enum SketchError {
    /// It is not held.
    #[error("there is no such assembly: look at the list with `storypole jobs --all`")]
    NotHeld,
    /// It has no such wall.
    #[error("there is no such wall: the assembly has {walls}, counted from 1")]
    NoSuchWall {
        /// How many it has.
        walls: usize,
    },
    /// A part cannot be read.
    #[error("{label} has a part that cannot be read: correct it with storypole change assembly {label}")]
    Part {
        /// Its short name.
        label: String,
        /// Which.
        source: assembly::PartError,
    },
    /// The wall cannot be drawn.
    #[error("the wall cannot be drawn")]
    Elevation(#[from] ElevationError),
    /// The section cannot be drawn.
    #[error("the section cannot be drawn")]
    Section(#[from] SectionError),
    /// A picture cannot be drawn in the room there is.
    #[error(transparent)]
    Picture(#[from] ChartError),
}

/// Draws one wall of a take-off, counted from 0, and returns the SVG.
///
/// Cells have the numbers of the take-off's cut list.
///
/// # Errors
/// [`SketchError`] where there is no such wall or it is too much to draw.
pub fn wall(book: &Book, sheet: &Sheet, index: usize) -> Result<String, SketchError> {
    Ok(storypole_drawing::elevation(&elevation_of(book, sheet, index)?)?)
}

/// One wall of a take-off, counted from 0, with the plain sizes a drawing wants.
///
/// # Errors
/// [`SketchError::NoSuchWall`].
pub fn elevation_of(book: &Book, sheet: &Sheet, index: usize) -> Result<Elevation, SketchError> {
    let walls = sheet.runs.len();
    let run = sheet.runs.get(index).ok_or(SketchError::NoSuchWall { walls })?;
    let first = sheet.runs.iter().take(index).map(|run| run.frame.cells.len()).sum::<usize>();
    let label = label_of(book.assemblies.get(sheet.assembly));
    let title = if walls > 1 { format!("{label}, wall {} of {walls}", index + 1) } else { label };
    let pieces = |cell: usize| Some(sheet.batts.as_ref()?.cells.get(first + cell)?.pieces);
    let cells = run.frame.cells.iter().enumerate().map(|(cell, one)| CellBox {
        left: one.left,
        bottom: one.bottom,
        width: one.width,
        height: one.height,
        number: u32::try_from(first + cell + 1).unwrap_or(u32::MAX),
        place: place(one.kind),
        pieces: pieces(cell),
        note: None,
    });
    let words = opening_words(book, sheet.framed_by);
    let begins_nm = sheet.runs.iter().take(index).map(|run| run.wall.length.nm()).sum();
    Ok(Elevation {
        title: format!("{title}: framing and bays"),
        length: run.wall.length,
        height: run.wall.height,
        wood: wood(run),
        cells: cells.collect(),
        openings: openings(run, begins_nm, &words),
        style: style(run),
    })
}

/// Inches where the spacing is on a tape, else millimetres.
fn style(run: &Run) -> LengthStyle {
    if run.wall.spacing.inches().is_some() { LengthStyle::FeetInches } else { LengthStyle::Metric }
}

fn place(kind: CellKind) -> CellPlace {
    match kind {
        CellKind::Full => CellPlace::Full,
        CellKind::Part => CellPlace::Part,
        CellKind::Above { .. } => CellPlace::Above,
        CellKind::Below { .. } => CellPlace::Below,
    }
}

fn wood(run: &Run) -> Vec<WoodBox> {
    let kind = |role| match role {
        WoodRole::BottomPlate | WoodRole::TopPlate => WoodKind::Plate,
        WoodRole::End => WoodKind::EndStud,
        WoodRole::Layout => WoodKind::Stud,
        WoodRole::King => WoodKind::King,
        WoodRole::Jack => WoodKind::Jack,
        WoodRole::Filler => WoodKind::Filler,
        WoodRole::Header => WoodKind::Header,
        WoodRole::Sill => WoodKind::Sill,
        WoodRole::Cripple => WoodKind::Cripple,
        WoodRole::Block => WoodKind::Blocking,
    };
    let one = |wood: &storypole_takeoff::wall::Wood| WoodBox {
        left: wood.left,
        bottom: wood.bottom,
        width: wood.width,
        height: wood.height,
        kind: kind(wood.role),
    };
    run.frame.wood.iter().map(one).collect()
}

/// What each opening is called, by its place and size: records are not kept beside the frame.
fn opening_words(book: &Book, framed_by: RecordId) -> Vec<((i64, Length, Length), String)> {
    let of_wall = book.openings.live().filter(|one| one.assembly == Some(framed_by));
    of_wall
        .filter_map(|one| Some(((one.left?.nm(), one.head?, one.width?), one.opening_kind.clone()?)))
        .collect()
}

/// Openings of a wall that begins so far from the left end of its assembly.
fn openings(run: &Run, begins_nm: i64, words: &[((i64, Length, Length), String)]) -> Vec<OpeningBox> {
    let one = |opening: &storypole_takeoff::Opening| {
        let at = (opening.left.nm() + begins_nm, opening.head, opening.width);
        let named = words.iter().find(|(place, _)| *place == at);
        let plain = if opening.sill.is_some() { "window" } else { "door" };
        OpeningBox {
            left: opening.left,
            bottom: opening.bottom(),
            width: opening.width,
            height: opening.height(),
            word: named.map_or(plain, |(_, word)| word.as_str()).to_owned(),
        }
    };
    run.wall.openings.iter().map(one).collect()
}

fn label_of(one: Option<&Assembly>) -> String {
    one.and_then(|one| one.label.clone()).unwrap_or_else(|| "Assembly".to_owned())
}

/// Draws a section through an assembly and returns the SVG.
///
/// # Errors
/// [`SketchError`] where the assembly is not held, a part cannot be read, or it cannot be drawn.
pub fn section(book: &Book, assembly: RecordId) -> Result<String, SketchError> {
    Ok(storypole_drawing::section(&section_of(book, assembly)?)?)
}

/// A section through an assembly with the plain sizes a drawing wants.
///
/// # Errors
/// [`SketchError`] where the assembly is not held or a part cannot be read.
pub fn section_of(book: &Book, assembly: RecordId) -> Result<Section, SketchError> {
    let one = book.assemblies.get(assembly).ok_or(SketchError::NotHeld)?;
    let label = label_of(Some(one));
    let unread = |source| SketchError::Part { label: label.clone(), source };
    let text = |part: &Option<String>| part.clone().unwrap_or_else(|| "unknown".to_owned());
    let leaf_a = Leaf::parse(&text(&one.leaf_a)).map_err(unread)?;
    let leaf_b = Leaf::parse(&text(&one.leaf_b)).map_err(unread)?;
    let frame = Frame::parse(&text(&one.frame)).map_err(unread)?;
    let cavity = Cavity::parse(&text(&one.cavity)).map_err(unread)?;
    let seals = Seals::parse(&text(&one.seals)).map_err(unread)?;
    let (before_a, before_b) = (stand_off(&leaf_a), stand_off(&leaf_b));
    // A rebuild keeps the studs that were measured on the version it replaces.
    let measured = framed_by(book, one.id).unwrap_or(one);
    let (frame, deep) = frame_box(&frame, measured.stud_face, before_a);
    let has_frame = deep > 0;
    let cavity_depth = if has_frame { um(before_a + deep + before_b) } else { Length::ZERO };
    let side = |room| {
        let name = book.rooms.of(room).and_then(|room| room.name.clone());
        name.unwrap_or_else(|| "room not written".to_owned())
    };
    Ok(Section {
        title: format!("{label}: section"),
        side_a: side(one.room_a),
        side_b: side(one.room_b),
        leaf_a: leaf_box(&leaf_a, seal(&seals, "A")),
        frame,
        cavity_depth,
        fills: if has_frame { fills(&cavity, before_a, before_a + deep + before_b) } else { Vec::new() },
        leaf_b: leaf_box(&leaf_b, seal(&seals, "B")),
        style: if measured.stud_spacing.is_some_and(|spacing| spacing.inches().is_none()) {
            LengthStyle::Metric
        } else {
            LengthStyle::FeetInches
        },
    })
}

/// A length from thousandths of a millimetre.
fn um(um: i64) -> Length {
    Length::from_nm(um.max(0).saturating_mul(1_000)).unwrap_or(Length::ZERO)
}

/// How far boards stand off the studs, in thousandths of a millimetre.
fn stand_off(leaf: &Leaf) -> i64 {
    match leaf {
        Leaf::Boards { via: assembly::Via::Channel { depth_mm, .. }, .. } => depth_mm.0,
        Leaf::Boards { via: assembly::Via::Clip, .. } => CLIP_UM,
        _ => 0,
    }
}

fn leaf_box(leaf: &Leaf, seal: Option<Seal>) -> LeafBox {
    let Leaf::Boards { layers, via, damping, .. } = leaf else {
        return LeafBox { layers: Vec::new(), between: None, via: Via::Direct, seal };
    };
    let layer = |layer: &assembly::Layer| {
        let one = LayerBox {
            word: board_word(&layer.material),
            thickness: um(layer.thickness_mm.0),
            kind: layer_kind(&layer.material),
        };
        vec![one; usize::from(layer.count)]
    };
    LeafBox {
        layers: layers.iter().flat_map(layer).collect(),
        between: damping.then(|| "damping compound".to_owned()),
        via: match via {
            assembly::Via::Direct => Via::Direct,
            assembly::Via::Channel { depth_mm, spacing_mm } => {
                Via::Channel { depth: um(depth_mm.0), spacing: Some(um(spacing_mm.0)) }
            }
            assembly::Via::Clip => Via::Clips { depth: um(CLIP_UM), spacing: None },
        },
        seal,
    }
}

/// `gypsum type x` is a `gypsum board, type X`.
fn board_word(material: &str) -> String {
    match material.strip_prefix("gypsum") {
        Some("") => "gypsum board".to_owned(),
        Some(" type x") => "gypsum board, type X".to_owned(),
        Some(more) => format!("gypsum board,{more}"),
        None => material.to_owned(),
    }
}

fn layer_kind(material: &str) -> LayerKind {
    let has = |words: &[&str]| words.iter().any(|word| material.contains(word));
    if has(&["gypsum", "plaster"]) {
        LayerKind::Gypsum
    } else if has(&["plywood", "osb", "wood", "fibreboard", "chipboard"]) {
        LayerKind::Wood
    } else if has(&["cement", "brick", "block", "concrete", "tile", "stone"]) {
        LayerKind::Masonry
    } else {
        LayerKind::Other
    }
}

fn seal(seals: &Seals, side: &str) -> Option<Seal> {
    match seals {
        Seals::None => Some(Seal::None),
        Seals::Unknown => None,
        Seals::Sides(sides) => sides.iter().find(|(name, _)| name == side).map(|(_, seal)| match seal {
            assembly::Seal::None => Seal::None,
            assembly::Seal::Beads(count) => Seal::Beads(*count),
            assembly::Seal::Gasket => Seal::Gasket,
        }),
    }
}

/// Studs to draw, and how deep they are together in thousandths of a millimetre; none for a solid wall.
fn frame_box(frame: &Frame, measured_face: Option<Length>, from_a: i64) -> (FrameBox, i64) {
    let Frame::Studs { arrangement, studs, plate_mm, gap_mm, .. } = frame else {
        return (FrameBox::default(), 0);
    };
    let Studs { width_mm, depth_mm: Milli(deep), spacing_mm, is_steel } = *studs;
    let kind = if is_steel { StudKind::Steel } else { StudKind::Wood };
    let row = |from_a: i64, offset_um: i64| StudRow {
        kind,
        face: measured_face.unwrap_or_else(|| um(width_mm.0)),
        depth: um(deep),
        spacing: um(spacing_mm.0),
        offset: um(offset_um),
        from_a: um(from_a),
    };
    let (near, far) = (spacing_mm.0 / 4, spacing_mm.0 * 3 / 4);
    match arrangement {
        Coupling::Staggered => {
            let wide = plate_mm.map_or(deep, |(_, depth)| depth.0).max(deep);
            let rows = vec![row(from_a, near), row(from_a + wide - deep, far)];
            (FrameBox { rows, plates: vec![PlateBox { from_a: um(from_a), depth: um(wide) }] }, wide)
        }
        Coupling::Double => {
            let second = deep + gap_mm.map_or(0, |gap| gap.0);
            let rows = vec![row(from_a, near), row(from_a + second, near)];
            (FrameBox { rows, plates: Vec::new() }, second + deep)
        }
        _ => (FrameBox { rows: vec![row(from_a, near)], plates: Vec::new() }, deep),
    }
}

fn fills(cavity: &Cavity, from_a: i64, depth: i64) -> Vec<FillBox> {
    let Cavity::Space { fill: Some(fill), .. } = cavity else { return Vec::new() };
    let Fill { kind, thickness_mm, coverage_percent, .. } = fill;
    // A fill thicker than its cavity is squeezed into it.
    let (from_a, thickness) = if thickness_mm.0 <= depth - from_a {
        (from_a, thickness_mm.0)
    } else {
        (0, thickness_mm.0.min(depth))
    };
    vec![FillBox {
        word: kind.clone(),
        kind: match kind.as_str() {
            "glass fibre" => FillKind::GlassFibre,
            "stone wool" => FillKind::StoneWool,
            "cellulose" => FillKind::Cellulose,
            "cotton" => FillKind::Cotton,
            "sand" => FillKind::Sand,
            foam if foam.ends_with("foam") => FillKind::Foam,
            _ => FillKind::Other,
        },
        from_a: um(from_a),
        thickness: um(thickness),
        coverage_percent: *coverage_percent,
    }]
}

#[cfg(test)]
mod tests {
    use storypole_ledger::takeoff::{Ask, takeoff};

    use super::*;
    use crate::fixture::{Fixture, demo};

    /// A wall with a door, rebuilt, and a staggered one. Invented.
    fn walls() -> Fixture {
        let mut all = demo();
        let size = [("length", "150 in"), ("height", "97.125 in")];
        let found = [
            ("stud_face", "1 1/2 in"),
            ("stud_spacing", "16 in"),
            ("leaf_a", "gypsum 12.7 x1, 8.1 kg/m2, direct"),
            ("leaf_b", "none"),
            ("frame", "single wood 38x89@406"),
            ("cavity", "89 clear, empty"),
        ];
        all.put("assembly", "W1", &[&size[..], &found[..]].concat());
        let door = [
            ("assembly", "W1"),
            ("opening_kind", "door"),
            ("left", "104 in"),
            ("width", "32 1/2 in"),
            ("head", "82 1/2 in"),
        ];
        all.put("opening", "door", &door);
        let after = [
            ("replaces", "W1"),
            ("leaf_a", "gypsum 12.7 x1, 8.1 kg/m2, direct"),
            ("leaf_b", "gypsum type x 15.9 x2, 22 kg/m2, channel 13@566, damping"),
            ("frame", "single wood 38x89@406"),
            ("cavity", "102 clear, glass fibre 89, 10 kg/m3, 100%"),
            ("seals", "A 1, B 2"),
        ];
        all.put("assembly", "W2", &[&size[..], &after[..]].concat());
        let staggered = [
            ("leaf_a", "gypsum 15.9 x1, 11 kg/m2, direct"),
            ("leaf_b", "gypsum 15.9 x1, 11 kg/m2, direct"),
            ("frame", "staggered wood 38x89@610 on 38x140"),
            ("cavity", "140 clear, glass fibre 89, 60%"),
            ("seals", "none"),
        ];
        all.put("assembly", "W3", &[&size[..], &staggered[..]].concat());
        all
    }

    #[test]
    fn every_assembly_is_drawn_or_says_why_not() {
        let all = walls();
        let mut drawn = 0;
        for one in all.book.assemblies.live() {
            match section(&all.book, one.id) {
                Ok(svg) => {
                    assert!(svg.starts_with("<svg") && svg.contains("<title"), "{svg}");
                    drawn += 1;
                }
                Err(SketchError::Section(why)) => {
                    assert!(why.to_string().contains("without boards and studs"), "{:?}: {why}", one.label)
                }
                Err(other) => panic!("{:?}: {other}", one.label),
            }
        }
        assert!(drawn >= 3, "{drawn}");
    }

    #[test]
    fn cells_have_the_numbers_of_the_cut_list() {
        let all = walls();
        let sheet = takeoff(&all.book, all.id("assembly", "W2"), &Ask::default()).unwrap();
        let svg = wall(&all.book, &sheet, 0).unwrap();
        for words in ["W2: framing and bays", "door", "92 5/8", "13 3/4"] {
            assert!(svg.contains(words), "{words}");
        }
        let wrong = wall(&all.book, &sheet, 1).unwrap_err().to_string();
        assert_eq!(wrong, "there is no such wall: the assembly has 1, counted from 1");
    }

    #[test]
    fn the_rebuild_of_a_metric_wall_is_drawn_in_millimetres() {
        let mut all = walls();
        all.change("assembly", "W1", &[("stud_spacing", "400 mm")]);
        assert_eq!(section_of(&all.book, all.id("assembly", "W2")).unwrap().style, LengthStyle::Metric);
    }

    /// A second opening of the same size in the second of two walls.
    #[test]
    fn openings_of_one_size_keep_their_own_names() {
        let mut all = walls();
        let hole = [
            ("assembly", "W1"),
            ("opening_kind", "pass-through"),
            ("left", "20 in"),
            ("width", "32 1/2 in"),
            ("head", "82 1/2 in"),
        ];
        all.put("opening", "hole", &hole);
        all.change("assembly", "W1", &[("runs", "80 in; 70 in")]);
        let sheet = takeoff(&all.book, all.id("assembly", "W2"), &Ask::default()).unwrap();
        let names = |wall: usize| {
            let words = opening_words(&all.book, sheet.framed_by);
            let begins_nm = if wall == 0 { 0 } else { sheet.runs[0].wall.length.nm() };
            openings(&sheet.runs[wall], begins_nm, &words)[0].word.clone()
        };
        assert_eq!((names(0).as_str(), names(1).as_str()), ("pass-through", "door"));
        assert!(wall(&all.book, &sheet, 1).unwrap().contains("door"));
    }

    #[test]
    fn sections_follow_the_parts() {
        let all = walls();
        let of = |label| section_of(&all.book, all.id("assembly", label)).unwrap();
        let rebuilt = of("W2");
        assert_eq!(rebuilt.cavity_depth, um(102_000), "89 and 13 of channel, as written");
        assert_eq!((rebuilt.leaf_a.layers.len(), rebuilt.leaf_b.layers.len()), (1, 2));
        assert_eq!(rebuilt.leaf_b.layers[0].word, "gypsum board, type X");
        assert_eq!(rebuilt.leaf_b.between.as_deref(), Some("damping compound"));
        assert_eq!(rebuilt.leaf_b.seal, Some(Seal::Beads(2)));
        assert_eq!((rebuilt.fills[0].from_a, rebuilt.fills[0].thickness), (Length::ZERO, um(89_000)));
        assert_eq!(rebuilt.frame.rows[0].face, um(38_100), "as measured on the wall before");
        let staggered = of("W3");
        assert_eq!((staggered.frame.rows.len(), staggered.cavity_depth), (2, um(140_000)));
        assert_eq!(staggered.frame.rows[1].from_a, um(51_000), "140 less 89");
        assert_eq!(of("W1").leaf_b.layers.len(), 0);
    }
}
