//! A framed wall: its bays, cells, wood and batts.
//!
//! Leaves out packs, and remainders of one cell used in another, but for full-height bays: [`cuts`](super::cuts) has them.

use serde_json::{Value, json};
use storypole_takeoff::batts::{Batts, BattsError, batts};
use storypole_takeoff::fit::Fit;
use storypole_takeoff::wall::{CellKind, End, WallError, WoodRole, frame};
use storypole_takeoff::{Batt, Blocking, Frame, Opening, Sill, Surface, Wall};
use storypole_units::Length;

use super::measures::{MILLIMETRE, UNIT, Unit, count, count_or, each, joined, tell_unknown, unit, word_or};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

const OPENING_NAMES: &[&str] = &["ro_left", "ro_width", "ro_head", "header_depth", "ro_sill", "sill_plates"];
const BLOCKING_NAMES: &[&str] = &["centre", "depth", "left", "right"];
const SURFACES: [(&str, Surface); 2] = [("wall", Surface::Wall), ("joists", Surface::Joists)];
const ENDS: [(&str, End); 2] = [("left", End::Left), ("right", End::Right)];
/// Names inside the objects that describe a frame.
pub(super) const INSIDE: [(&str, &[&str]); 2] = [("openings", OPENING_NAMES), ("blocking", BLOCKING_NAMES)];

/// What describes the frame, lengths in [`UNIT`].
pub(super) const FRAME: [Field; 13] = [
    UNIT,
    Field { name: "stud_thickness", about: "of studs, plates and jacks, as measured" },
    Field { name: "plates", about: "horizontal plates within the height, mostly 3; rims of joists, 2 or 0" },
    Field { name: "length", about: "of the wall, from end to end" },
    Field { name: "height", about: "of the wall, plates included; the run of joists" },
    Field { name: "spacing", about: "of studs, centre to centre; may be left out with studs_at" },
    Field { name: "frames", about: "equal frames behind another; 1 when left out" },
    Field {
        name: "openings",
        about: "ro_left, ro_width, ro_head, header_depth of each; ro_sill and sill_plates (1) of a window",
    },
    Field { name: "surface", about: "wall or joists; wall when left out" },
    Field { name: "layout_from", about: "left or right, where the layout begins; left when left out" },
    Field {
        name: "first_stud",
        about: "centre of the first layout stud from there; the spacing when left out",
    },
    Field {
        name: "studs_at",
        about: "centres of measured studs from the left end, without the end studs, in place of the spacing",
    },
    Field {
        name: "blocking",
        about: "centre from the floor and depth of each row; left and right, its ends, where it is no whole row",
    },
];

/// The batt that fills it.
pub(super) const BATT: [Field; 3] = [
    Field {
        name: "min_bay_width",
        about: "narrower cells count in area and get no piece; 3 in or 75 mm when left out",
    },
    Field { name: "batt_width", about: "of one batt" },
    Field { name: "batt_length", about: "of one batt" },
];

const TAKES: [Field; 16] = joined(FRAME, BATT);

pub(super) const FRAMED_WALL: Calc = Calc {
    name: "takeoff.framed_wall",
    about: "Bays, cells, wood and batts of a framed wall, ceiling or floor: common practice, no source. Leaves load to local code.",
    takes: &TAKES,
    gives: &[
        Field { name: "cavity_height", about: "between the plates" },
        Field { name: "full_height_bays", about: "clear widths from the left, of bays that nothing divides" },
        Field {
            name: "cells",
            about: "kind (full, part, above, below), left, bottom, width, height, pieces: from the left, then opening by opening",
        },
        Field { name: "net_cavity_area_ft2", about: "of all cells of one frame" },
        Field { name: "net_cavity_area_m2", about: "the same" },
        Field { name: "gross_wall_area_ft2", about: "the face, openings included" },
        Field { name: "gross_wall_area_m2", about: "the same" },
        Field { name: "pieces_no_reuse", about: "batts of one frame, each cell from whole ones" },
        Field { name: "cripple_studs", about: "short studs above and below openings" },
        Field { name: "wood", about: "role, left, bottom, width, height of every piece on the face" },
        Field {
            name: "reuse_full_height_strips",
            about: "strips of batts in full-height bays; left out, as the next three, where no remainder is needed",
        },
        Field { name: "remainder_length", about: "what each strip takes beyond whole batts" },
        Field {
            name: "remainders_per_batt",
            about: "such remainders from one batt; with 1 nothing is gained",
        },
        Field { name: "pieces_full_height_with_length_reuse", about: "batts for these strips" },
        Field { name: "pieces_no_reuse_all_frames", about: "left out, as the next, with one frame" },
        Field { name: "net_cavity_area_ft2_all_frames", about: "of all frames" },
    ],
    example: r#"{"unit": "in", "stud_thickness": 1.5, "plates": 3, "min_bay_width": 3, "length": 144, "height": 97.125, "spacing": 16, "batt_width": 15, "batt_length": 93, "frames": 2, "openings": [{"ro_left": 60, "ro_width": 38.5, "ro_head": 82.5, "header_depth": 5.5}]}"#,
    run: framed_wall,
};

fn framed_wall(fields: &Fields<'_>) -> Answer {
    let unit = unit(fields)?;
    let frame = read_frame(fields, unit)?;
    let (batt, min_bay_width) = (read_batt(fields, unit)?, min_bay_width(fields, unit)?);
    let pieces = batts(&frame, batt, min_bay_width).map_err(|error| refused_batts(&error))?;
    let mut given = Answering::default();
    give_frame(&mut given, unit, &frame, &pieces);
    give_pieces(&mut given, unit, &frame, &pieces);
    tell_unknown(&mut given, fields, &INSIDE)?;
    given.done()
}

/// Reads the fields of [`FRAME`] and frames the wall.
pub(super) fn read_frame(fields: &Fields<'_>, unit: Unit) -> Result<Frame, Refused> {
    frame(&read_wall(fields, unit)?).map_err(|error| refused_wall(&error))
}

pub(super) fn read_batt(fields: &Fields<'_>, unit: Unit) -> Result<Batt, Refused> {
    Ok(Batt { width: unit.length(fields, "batt_width")?, length: unit.length(fields, "batt_length")? })
}

/// How batts are cut where nothing else is said.
pub(super) fn usual_fit(unit: Unit) -> Fit {
    if unit.nm() == MILLIMETRE.nm() { Fit::millimetres() } else { Fit::inches() }
}

pub(super) fn min_bay_width(fields: &Fields<'_>, unit: Unit) -> Result<Length, Refused> {
    Ok(unit.length_or_none(fields, "min_bay_width")?.unwrap_or(usual_fit(unit).min_bay_width))
}

fn read_wall(fields: &Fields<'_>, unit: Unit) -> Result<Wall, Refused> {
    let studs_at = unit.lengths(fields, "studs_at")?;
    let spacing = if studs_at.is_empty() {
        unit.length(fields, "spacing")?
    } else {
        unit.length_or_none(fields, "spacing")?.unwrap_or_default()
    };
    Ok(Wall {
        surface: word_or(fields, "surface", &SURFACES, Surface::default())?,
        length: unit.length(fields, "length")?,
        height: unit.length(fields, "height")?,
        stud: unit.length(fields, "stud_thickness")?,
        plates: count(fields, "plates")?,
        spacing,
        layout_from: word_or(fields, "layout_from", &ENDS, End::default())?,
        first: unit.length_or_none(fields, "first_stud")?,
        studs_at,
        frames: count_or(fields, "frames", 1)?,
        openings: each(fields, "openings", "opening", |opening| read_opening(opening, unit))?,
        blocking: each(fields, "blocking", "blocking row", |row| read_row(row, unit))?,
    })
}

fn read_opening(opening: &Fields<'_>, unit: Unit) -> Result<Opening, Refused> {
    let sill = unit.length_or_none(opening, "ro_sill")?;
    let plates = count_or(opening, "sill_plates", 1)?;
    Ok(Opening {
        left: unit.length(opening, "ro_left")?,
        width: unit.length(opening, "ro_width")?,
        head: unit.length(opening, "ro_head")?,
        header_depth: unit.length(opening, "header_depth")?,
        sill: sill.map(|height| Sill { height, plates }),
    })
}

fn read_row(row: &Fields<'_>, unit: Unit) -> Result<Blocking, Refused> {
    Ok(Blocking {
        centre: unit.length(row, "centre")?,
        depth: unit.length(row, "depth")?,
        left: unit.length_or_none(row, "left")?,
        right: unit.length_or_none(row, "right")?,
    })
}

fn give_frame(given: &mut Answering, unit: Unit, frame: &Frame, pieces: &Batts) {
    let number = |length| unit.number(length);
    let bays: Vec<f64> = frame.full_height_bays().map(|cell| number(cell.width)).collect();
    let cells = frame.cells.iter().zip(&pieces.cells).map(|(cell, pieces)| {
        json!({
            "kind": kind_word(cell.kind), "left": number(cell.left), "bottom": number(cell.bottom),
            "width": number(cell.width), "height": number(cell.height), "pieces": pieces,
        })
    });
    let wood = frame.wood.iter().map(|wood| {
        json!({
            "role": role_word(wood.role), "left": number(wood.left), "bottom": number(wood.bottom),
            "width": number(wood.width), "height": number(wood.height),
        })
    });
    given.give("cavity_height", number(frame.cavity_height));
    given.give("full_height_bays", json!(bays));
    given.give("cells", Value::Array(cells.collect()));
    given.give("net_cavity_area_ft2", frame.net_area.ft2());
    given.give("net_cavity_area_m2", frame.net_area.m2());
    given.give("gross_wall_area_ft2", frame.gross_area.ft2());
    given.give("gross_wall_area_m2", frame.gross_area.m2());
    given.give("cripple_studs", frame.cripple_studs);
    given.give("wood", Value::Array(wood.collect()));
}

fn give_pieces(given: &mut Answering, unit: Unit, frame: &Frame, pieces: &Batts) {
    given.give("pieces_no_reuse", pieces.pieces);
    if let Some(reuse) = pieces.length_reuse {
        given.give("reuse_full_height_strips", reuse.strips);
        given.give("remainder_length", unit.number(reuse.remainder));
        given.give("remainders_per_batt", reuse.remainders_per_batt);
        given.give("pieces_full_height_with_length_reuse", reuse.pieces);
    }
    if frame.frames > 1 {
        given.give("pieces_no_reuse_all_frames", pieces.pieces_all_frames);
        given.give("net_cavity_area_ft2_all_frames", frame.net_area_all_frames.ft2());
    }
}

fn kind_word(kind: CellKind) -> &'static str {
    match kind {
        CellKind::Full => "full",
        CellKind::Part => "part",
        CellKind::Above { .. } => "above",
        CellKind::Below { .. } => "below",
    }
}

fn role_word(role: WoodRole) -> &'static str {
    match role {
        WoodRole::BottomPlate => "bottom_plate",
        WoodRole::TopPlate => "top_plate",
        WoodRole::End => "end",
        WoodRole::Layout => "layout",
        WoodRole::King => "king",
        WoodRole::Jack => "jack",
        WoodRole::Filler => "filler",
        WoodRole::Header => "header",
        WoodRole::Sill => "sill",
        WoodRole::Cripple => "cripple",
        WoodRole::Block => "block",
    }
}

fn refused_wall(error: &WallError) -> Refused {
    let field = match error {
        WallError::NoStud { .. } => "stud_thickness",
        WallError::TooFewPlates { .. } | WallError::Rims { .. } | WallError::TooManyPlates { .. } => "plates",
        WallError::LowerThanPlates { .. } | WallError::ShorterThanRims { .. } => "height",
        WallError::NoLongerThanStuds { .. } => "length",
        WallError::Spacing { .. } | WallError::TooManyBays { .. } => "spacing",
        WallError::FirstOutside { .. } => "first_stud",
        WallError::TooManyStuds { .. }
        | WallError::StudOutside { .. }
        | WallError::StudAtEnd { .. }
        | WallError::StudsOverlap { .. } => "studs_at",
        WallError::NoFrames { .. } | WallError::TooManyFrames { .. } => "frames",
        WallError::Opening { .. } | WallError::Overlap { .. } | WallError::TooClose { .. } => "openings",
        WallError::Blocking { .. } | WallError::BlockingOverlap { .. } | WallError::TooManyRows { .. } => {
            "blocking"
        }
    };
    Refused::from_error("out_of_range", field, error)
}

pub(super) fn refused_batts(error: &BattsError) -> Refused {
    let field = match error {
        BattsError::NoWidth => "batt_width",
        BattsError::NoLength | BattsError::TooManyPieces => "batt_length",
    };
    Refused::from_error("out_of_range", field, error)
}
