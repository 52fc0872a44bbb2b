//! What goes with boards: screws and how long they are, tape, damping compound.
//!
//! Leaves out joint compound and every listed assembly: a wall that has to hold back fire is screwed as its listing says.

use serde_json::{Value, json};
use storypole_takeoff::fasteners::{
    DAMPING_TUBES_PER_32_FT2, DampingError, DampingNeed, Onto, Pattern, ScrewLength, ScrewLengthError,
    ScrewNeed, ScrewsError, TapeError, TapeNeed, damping, screw_length, screws, tape,
};
use storypole_units::Length;

use super::measures::{
    FOOT, INCH, METRE, MILLIMETRE, NEEDED, UNIT, Unit, WASTE, area_ft2, count, count_or, unit, waste, word_or,
};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

/// Words for what a board is screwed to.
#[derive(Debug, Clone, Copy)]
enum Under {
    Studs,
    Boards,
    Channel,
}

const UNDER: [(&str, Under); 3] =
    [("studs", Under::Studs), ("boards", Under::Boards), ("channel", Under::Channel)];
const TAPE_UNITS: [(&str, Unit); 4] = [("in", INCH), ("ft", FOOT), ("mm", MILLIMETRE), ("m", METRE)];

pub(super) const SCREWS: Calc = Calc {
    name: "takeoff.screws",
    about: "Screws for sheets of board, and how long they are: common practice, no source. Local code and a listing come first.",
    takes: &[
        UNIT,
        Field { name: "sheets", about: "of all layers" },
        Field { name: "sheet_width", about: "the side that spans the studs" },
        Field { name: "sheet_length", about: "the side along the studs" },
        Field {
            name: "stud_spacing",
            about: "centre to centre; without it and screw_spacing, one screw to a square foot is counted",
        },
        Field { name: "screw_spacing", about: "the most between two screws of a row, from local code" },
        WASTE,
        Field { name: "per_box", about: "screws in a box, from its label" },
        Field { name: "board_thickness", about: "for the length of the screw; may be left out" },
        Field { name: "onto", about: "studs, boards (a second layer) or channel; studs when left out" },
        Field { name: "boards_below", about: "thickness of boards on the channel already; 0 when left out" },
        Field { name: "channel_depth", about: "from the stud to the face of the channel; for channel only" },
    ],
    gives: &[
        Field { name: "per_sheet", about: "in one sheet" },
        NEEDED,
        Field { name: "screws", about: "in all sheets, with waste" },
        Field { name: "boxes", about: "whole boxes" },
        Field {
            name: "screw_length",
            about: "kind customary or at_least with length; between with more_than and less_than, so that it misses the stud; null without board_thickness",
        },
    ],
    example: r#"{"unit": "in", "sheets": 10, "sheet_width": 48, "sheet_length": 96, "stud_spacing": 16, "screw_spacing": 12, "waste_fraction": 0.10, "per_box": 250, "board_thickness": 0.625, "onto": "channel", "boards_below": 0.625, "channel_depth": 0.5}"#,
    run: boxes_of_screws,
};

pub(super) const TAPE: Calc = Calc {
    name: "takeoff.tape",
    about: "Rolls of tape for the joints between boards: common practice, no source.",
    takes: &[
        Field { name: "unit", about: "in, ft, mm or m, of both lengths" },
        Field { name: "joint_length", about: "of all joints, and of the corners that are taped too" },
        Field { name: "roll_length", about: "on one roll, from its label" },
        WASTE,
    ],
    gives: &[NEEDED, Field { name: "rolls", about: "whole rolls, with waste" }],
    example: r#"{"unit": "ft", "joint_length": 120, "roll_length": 75, "waste_fraction": 0.10}"#,
    run: rolls_of_tape,
};

pub(super) const DAMPING: Calc = Calc {
    name: "takeoff.damping",
    about: "Tubes of damping compound between two layers of board: common practice, no source; the label decides.",
    takes: &[
        Field { name: "area_ft2", about: "of one layer of it" },
        Field {
            name: "tubes_per_32_ft2",
            about: "of 28 or 29 fl oz to a sheet of 4 by 8 ft; 2 when left out",
        },
        WASTE,
    ],
    gives: &[NEEDED, Field { name: "tubes", about: "whole tubes, with waste" }],
    example: r#"{"area_ft2": 192, "waste_fraction": 0.10}"#,
    run: tubes_of_damping,
};

fn boxes_of_screws(fields: &Fields<'_>) -> Answer {
    let unit = unit(fields)?;
    let need = ScrewNeed {
        sheets: count(fields, "sheets")?,
        sheet_width: unit.length(fields, "sheet_width")?,
        sheet_length: unit.length(fields, "sheet_length")?,
        pattern: pattern(fields, unit)?,
        waste: waste(fields)?,
        per_box: count(fields, "per_box")?,
    };
    let got = screws(&need).map_err(|error| refused_screws(&error, &need))?;
    let mut given = Answering::default();
    given.give("per_sheet", got.per_sheet);
    given.give(NEEDED.name, got.needed);
    given.give("screws", got.screws);
    given.give("boxes", got.boxes);
    match length_of_screw(fields, unit)? {
        Some(length) => given.give("screw_length", length_shown(unit, length)),
        None => given.missing("screw_length", "no board_thickness was given"),
    };
    given.done()
}

/// Rows where both spacings are given; one alone is a slip.
fn pattern(fields: &Fields<'_>, unit: Unit) -> Result<Pattern, Refused> {
    let is_given = |name| fields.some(name).is_some();
    if !is_given("stud_spacing") && !is_given("screw_spacing") {
        return Ok(Pattern::OnePerFt2);
    }
    Ok(Pattern::Rows {
        studs: unit.length(fields, "stud_spacing")?,
        screws: unit.length(fields, "screw_spacing")?,
    })
}

fn length_of_screw(fields: &Fields<'_>, unit: Unit) -> Result<Option<ScrewLength>, Refused> {
    let Some(board) = unit.length_or_none(fields, "board_thickness")? else { return Ok(None) };
    let onto = match word_or(fields, "onto", &UNDER, Under::Studs)? {
        Under::Studs => Onto::Studs,
        Under::Boards => Onto::BoardsOnStuds,
        Under::Channel => Onto::Channel {
            boards_below: unit.length_or_none(fields, "boards_below")?.unwrap_or_default(),
            channel_depth: unit.length(fields, "channel_depth")?,
        },
    };
    let length = screw_length(board, onto).map_err(|error| {
        let field = match error {
            ScrewLengthError::NoChannel => "channel_depth",
            ScrewLengthError::NoBoard | ScrewLengthError::NoCustom { .. } | ScrewLengthError::TooThick => {
                "board_thickness"
            }
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    Ok(Some(length))
}

fn length_shown(unit: Unit, length: ScrewLength) -> Value {
    match length {
        ScrewLength::Customary { length } => json!({"kind": "customary", "length": unit.number(length)}),
        ScrewLength::AtLeast { length } => json!({"kind": "at_least", "length": unit.number(length)}),
        ScrewLength::Between { more_than, less_than } => {
            json!({"kind": "between", "more_than": unit.number(more_than), "less_than": unit.number(less_than)})
        }
    }
}

fn rolls_of_tape(fields: &Fields<'_>) -> Answer {
    let unit = fields.choice("unit", &TAPE_UNITS)?;
    let need = TapeNeed {
        joints: unit.length(fields, "joint_length")?,
        roll: unit.length(fields, "roll_length")?,
        waste: waste(fields)?,
    };
    let got = tape(&need).map_err(|error| {
        let field = match error {
            TapeError::NoRoll => "roll_length",
            TapeError::TooMany => "joint_length",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    given.give(NEEDED.name, got.needed);
    given.give("rolls", got.rolls);
    given.done()
}

fn tubes_of_damping(fields: &Fields<'_>) -> Answer {
    let per_sheet = "tubes_per_32_ft2";
    let need = DampingNeed {
        area: area_ft2(fields, "area_ft2")?,
        tubes_per_32_ft2: count_or(fields, per_sheet, DAMPING_TUBES_PER_32_FT2)?,
        waste: waste(fields)?,
    };
    let got = damping(&need).map_err(|error| {
        let field = match error {
            DampingError::NoTubes => per_sheet,
            DampingError::TooMany => "area_ft2",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    given.give(NEEDED.name, got.needed);
    given.give("tubes", got.tubes);
    given.done()
}

fn refused_screws(error: &ScrewsError, need: &ScrewNeed) -> Refused {
    let field = match (error, need.pattern) {
        (ScrewsError::NoSheet { .. }, _) if need.sheet_width == Length::ZERO => "sheet_width",
        (ScrewsError::NoSheet { .. }, _) => "sheet_length",
        (ScrewsError::NoSpacing, Pattern::Rows { studs: Length::ZERO, .. }) => "stud_spacing",
        (ScrewsError::NoSpacing, _) => "screw_spacing",
        (ScrewsError::EmptyBox, _) => "per_box",
        (ScrewsError::TooMany, _) => "sheets",
    };
    Refused::from_error("out_of_range", field, error)
}
