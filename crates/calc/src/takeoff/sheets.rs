//! One layer of board on one side of a wall: where the sheets break, and which sheet gives which piece.
//!
//! Leaves out further layers, staggered joints, and what goes with boards.

use serde_json::{Value, json};
use storypole_takeoff::boards::BoardsError;
use storypole_takeoff::cuts::{Size, Stock};
use storypole_takeoff::sheets::{BoardOpening, SheetError, SheetNeed, Sheets, Way, sheets};

use super::cuts::{About, PLAN, give_plan, refused_cuts};
use super::measures::{UNIT, Unit, WASTE, each, joined, tell_unknown, unit, waste, word_or};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

const OPENING_NAMES: &[&str] = &["left", "width", "bottom", "top"];
const WAYS: [(&str, Way); 2] = [("upright", Way::Upright), ("sideways", Way::Sideways)];

const LAID_OUT: [Field; 5] = [
    Field {
        name: "pieces",
        about: "left, bottom, width, height of each piece on the wall; a placement's part is an index into these",
    },
    Field { name: "cut_outs", about: "openings, counted from 0, that are cut out of a board running past" },
    Field {
        name: "joint_length",
        about: "where pieces meet, to be taped; corners and edges at openings are not in it",
    },
    Field { name: "left_over", about: "layout (its index), width, length of what is left of each sheet" },
    Field { name: "by_area", about: "sheets by area with waste, for comparison" },
];
const GIVES: [Field; 11] = joined(LAID_OUT, PLAN);

pub(super) const SHEETS: Calc = Calc {
    name: "takeoff.sheets",
    about: "One layer of board sheet by sheet round openings, and how it is cut: common practice, no source.",
    takes: &[
        UNIT,
        Field { name: "length", about: "of the wall, from end to end" },
        Field { name: "board_height", about: "from the lower edge of the board to the upper" },
        Field {
            name: "openings",
            about: "left, width, bottom (0) and top of each, from the left end and the lower edge of the board",
        },
        Field { name: "sheet_width", about: "of one sheet" },
        Field { name: "sheet_length", about: "of one sheet, the way its paper runs" },
        Field { name: "way", about: "upright, its length up the wall, or sideways; upright when left out" },
        Field { name: "kerf", about: "what a cut takes; 0, as for board that is snapped, when left out" },
        Field {
            name: "deduct_openings",
            about: "whether openings over 16 ft2 split the board, or all are cut out of it; true when left out",
        },
        WASTE,
    ],
    gives: &GIVES,
    example: r#"{"unit": "in", "length": 144, "board_height": 96, "openings": [{"left": 10, "width": 24, "bottom": 40, "top": 76}, {"left": 60, "width": 38.5, "top": 82.5}], "sheet_width": 48, "sheet_length": 96, "way": "upright", "waste_fraction": 0.10}"#,
    run: layer_of_sheets,
};

fn layer_of_sheets(fields: &Fields<'_>) -> Answer {
    let unit = unit(fields)?;
    let need = sheet_need(fields, unit)?;
    let got = sheets(&need).map_err(|error| refused_sheets(&error, &need))?;
    let mut given = Answering::default();
    give_layer(&mut given, unit, &got);
    give_plan(&mut given, unit, &got.plan, |part| part);
    tell_unknown(&mut given, fields, &[("openings", OPENING_NAMES)])?;
    given.done()
}

fn sheet_need(fields: &Fields<'_>, unit: Unit) -> Result<SheetNeed, Refused> {
    let opening = |opening: &Fields<'_>| -> Result<BoardOpening, Refused> {
        Ok(BoardOpening {
            left: unit.length(opening, "left")?,
            width: unit.length(opening, "width")?,
            bottom: unit.length_or_none(opening, "bottom")?.unwrap_or_default(),
            top: unit.length(opening, "top")?,
        })
    };
    let deduct = "deduct_openings";
    Ok(SheetNeed {
        length: unit.length(fields, "length")?,
        board_height: unit.length(fields, "board_height")?,
        openings: each(fields, "openings", "opening", opening)?,
        sheet: Size {
            width: unit.length(fields, "sheet_width")?,
            length: unit.length(fields, "sheet_length")?,
        },
        way: word_or(fields, "way", &WAYS, Way::Upright)?,
        kerf: unit.length_or_none(fields, "kerf")?.unwrap_or_default(),
        deduct_openings: fields.some(deduct).is_none() || fields.flag(deduct)?,
        waste: waste(fields)?,
    })
}

fn give_layer(given: &mut Answering, unit: Unit, got: &Sheets) {
    let number = |length| unit.number(length);
    let pieces = got.pieces.iter().map(|piece| {
        json!({
            "left": number(piece.left), "bottom": number(piece.bottom),
            "width": number(piece.width), "height": number(piece.height),
        })
    });
    let left_over = got.plan.pieces.iter().enumerate().flat_map(|(layout, piece)| {
        piece.offcuts.iter().map(move |offcut| {
            json!({"layout": layout, "width": number(offcut.width), "length": number(offcut.height)})
        })
    });
    given.give("pieces", Value::Array(pieces.collect()));
    given.give("cut_outs", json!(got.cut_outs));
    given.give("joint_length", number(got.joint_length));
    given.give("left_over", Value::Array(left_over.collect()));
    given.give("by_area", got.by_area);
}

fn refused_sheets(error: &SheetError, need: &SheetNeed) -> Refused {
    let field = match error {
        SheetError::NoSheet { .. } => "sheet_width",
        SheetError::EmptyOpening { .. }
        | SheetError::OpeningOutside { .. }
        | SheetError::OpeningsOverlap { .. }
        | SheetError::Area(BoardsError::OpeningTooLarge { .. } | BoardsError::OpeningsTooLarge) => "openings",
        SheetError::TooManyPieces | SheetError::Area(BoardsError::NoSheet | BoardsError::TooMany) => {
            "sheet_length"
        }
        SheetError::Area(BoardsError::NoWall { .. }) => "length",
        SheetError::Cuts(error) => {
            let Size { width, length } = need.sheet;
            let about = About { stock: "sheet_length", kerf: "kerf", parts: "sheet_length" };
            return refused_cuts(error, Stock { width, length, kerf: need.kerf }, &about);
        }
    };
    Refused::from_error("out_of_range", field, error)
}
