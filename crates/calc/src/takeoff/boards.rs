//! Boards for both sides of a wall, by area.
//!
//! Leaves out where sheets break, which [`sheets`](super::sheets) lays out, and what goes with boards.

use serde_json::{Value, json};
use storypole_takeoff::boards::{BoardNeed, BoardsError, Cutout, Layers, boards};
use storypole_units::{Area, Length};

use super::measures::{INCH, NM2_PER_FT2, WASTE, area_ft2, count, each, tell_unknown, waste};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

/// Smaller openings are not deducted: the piece cut out of a sheet is waste. Common practice, no source.
const DEDUCT_OVER_FT2: i128 = 16;

const SIDE_NAMES: &[&str] = &["thickness_in", "layers"];
const OPENING_NAMES: &[&str] = &["width_in", "height_in"];

pub(super) const BOARDS: Calc = Calc {
    name: "takeoff.boards",
    about: "Sheets of board for both sides of a wall, by area: common practice, no source.",
    takes: &[
        Field { name: "length_in", about: "of the wall, in" },
        Field { name: "height_in", about: "of the wall, in" },
        Field { name: "openings", about: "width_in and height_in of each" },
        Field {
            name: "deduct_openings_over_ft2",
            about: "only larger openings are deducted; 16 when left out",
        },
        Field { name: "side_a", about: "thickness_in and layers; null or left out where nothing is boarded" },
        Field { name: "side_b", about: "the same" },
        WASTE,
        Field { name: "sheet_ft2", about: "face of one sheet, such as 32 for 4 by 8 ft" },
    ],
    gives: &[
        Field { name: "gross_area_ft2", about: "one side, openings included" },
        Field { name: "opening_area_ft2", about: "openings that are deducted" },
        Field { name: "net_area_ft2", about: "one side without these" },
        Field { name: "sheets_a", about: "whole sheets for one side, rounded up on its own" },
        Field { name: "sheets_b", about: "the same for the other" },
        Field {
            name: "by_type",
            about: "thickness_in, needed, sheets: rounded up once for each thickness of both sides together",
        },
    ],
    example: r#"{"length_in": 144, "height_in": 97.125, "openings": [{"width_in": 38.5, "height_in": 82.5}], "deduct_openings_over_ft2": 16, "side_a": {"thickness_in": 0.5, "layers": 1}, "side_b": {"thickness_in": 0.5, "layers": 1}, "waste_fraction": 0.10, "sheet_ft2": 32}"#,
    run: sheets_of_board,
};

fn sheets_of_board(fields: &Fields<'_>) -> Answer {
    let got = boards(&board_need(fields)?).map_err(|error| refused_boards(&error))?;
    let types = got.by_type.iter().map(|board| {
        json!({"thickness_in": INCH.number(board.thickness), "needed": board.needed, "sheets": board.sheets})
    });
    let mut given = Answering::default();
    given.give("gross_area_ft2", got.gross_area.ft2());
    given.give("opening_area_ft2", got.deducted_area.ft2());
    given.give("net_area_ft2", got.net_area.ft2());
    given.give("sheets_a", got.sheets_a);
    given.give("sheets_b", got.sheets_b);
    given.give("by_type", Value::Array(types.collect()));
    let known = [("openings", OPENING_NAMES), ("side_a", SIDE_NAMES), ("side_b", SIDE_NAMES)];
    tell_unknown(&mut given, fields, &known)?;
    given.done()
}

fn board_need(fields: &Fields<'_>) -> Result<BoardNeed, Refused> {
    let deduct_over = if fields.some("deduct_openings_over_ft2").is_some() {
        area_ft2(fields, "deduct_openings_over_ft2")?
    } else {
        Area::from_nm2(DEDUCT_OVER_FT2 * NM2_PER_FT2).expect("some square feet are an area")
    };
    let cutout = |opening: &Fields<'_>| -> Result<Cutout, Refused> {
        Ok(Cutout { width: INCH.length(opening, "width_in")?, height: INCH.length(opening, "height_in")? })
    };
    Ok(BoardNeed {
        length: INCH.length(fields, "length_in")?,
        height: INCH.length(fields, "height_in")?,
        openings: each(fields, "openings", "opening", cutout)?,
        deduct_over,
        side_a: side(fields, "side_a")?,
        side_b: side(fields, "side_b")?,
        waste: waste(fields)?,
        sheet: area_ft2(fields, "sheet_ft2")?,
    })
}

fn side(fields: &Fields<'_>, name: &str) -> Result<Layers, Refused> {
    let Some(side) = fields.object_or_none(name)? else {
        return Ok(Layers { thickness: Length::ZERO, count: 0 });
    };
    Ok(Layers { thickness: INCH.length(&side, "thickness_in")?, count: count(&side, "layers")? })
}

fn refused_boards(error: &BoardsError) -> Refused {
    let field = match error {
        BoardsError::NoWall { .. } => "length_in",
        BoardsError::NoSheet | BoardsError::TooMany => "sheet_ft2",
        BoardsError::OpeningTooLarge { .. } | BoardsError::OpeningsTooLarge => "openings",
    };
    Refused::from_error("out_of_range", field, error)
}
