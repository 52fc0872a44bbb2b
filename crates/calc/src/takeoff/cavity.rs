//! The depth of a cavity: how batts fill it, what a batt resists in it, and what the wall with its wood resists.
//!
//! Leaves out moisture, air leakage, steel studs and what a code asks for. Nothing is interpolated.

use storypole_takeoff::fit::{DepthError, depth_fit};
use storypole_takeoff::thermal::compression::{CavityRError, TABLE_NOTE, TABLE_SOURCE};
use storypole_takeoff::thermal::whole_wall::{WallPaths, WholeWallError, whole_wall};
use storypole_takeoff::thermal::{CavityR, Fibre, LabelledBatt, RValue, cavity_r};

use super::measures::{INCH, UNIT, out_of_range, unit};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

const FIBRES: [(&str, Fibre); 3] =
    [("glass", Fibre::Glass), ("stone", Fibre::Stone), ("other", Fibre::Other)];

pub(super) const DEPTH_FIT: Calc = Calc {
    name: "takeoff.depth_fit",
    about: "How many batts, or slices of one, stand one behind another in a cavity: common practice, no source.",
    takes: &[
        UNIT,
        Field { name: "cavity_depth", about: "of the studs, from face to face" },
        Field { name: "batt_thickness", about: "of one batt, from its label" },
    ],
    gives: &[
        Field { name: "batts_deep", about: "batts, or slices of them, one behind another" },
        Field { name: "slices_per_batt", about: "that one batt is split into; 1 where it stays whole" },
        Field {
            name: "squeezed_from",
            about: "what they measure together before the cavity squeezes them; null where nothing is squeezed",
        },
        Field { name: "gap", about: "what stays open in the depth" },
    ],
    example: r#"{"unit": "in", "cavity_depth": 5.5, "batt_thickness": 6.25}"#,
    run: depth_of_cavity,
};

pub(super) const R_IN_CAVITY: Calc = Calc {
    name: "takeoff.r_in_cavity",
    about: "What a labelled batt resists in the depth it got: its label, a published table of squeezed glass fibre, or not known.",
    takes: &[
        Field { name: "label_r", about: "R on the label, h ft2 F/Btu" },
        Field { name: "batt_thickness_in", about: "thickness on the label, in" },
        Field { name: "fibre", about: "glass, stone or other" },
        Field { name: "cavity_depth_in", about: "of the cavity, in" },
    ],
    gives: &[
        Field { name: "r", about: "h ft2 F/Btu; null where squeezed and not published" },
        Field { name: "rsi", about: "the same, m2K/W" },
        Field {
            name: "how",
            about: "label (not squeezed), table (squeezed and published) or not_in_table (nothing is interpolated)",
        },
        Field { name: "note", about: "what to know about it, or why there is none" },
        Field { name: "source", about: "where the figure comes from; null where there is none" },
        Field { name: "gap_in", about: "depth that stays empty, which adds nothing here, in" },
    ],
    example: r#"{"label_r": 19, "batt_thickness_in": 6.25, "fibre": "glass", "cavity_depth_in": 5.5}"#,
    run: r_in_cavity,
};

pub(super) const WHOLE_WALL_R: Calc = Calc {
    name: "takeoff.whole_wall_r",
    about: "A wall of wood and cavity: upper and lower limit and their mean, ISO 6946 combined method (from memory). No steel studs.",
    takes: &[
        Field { name: "framing_fraction", about: "share of the wall's face that is wood, 0 to 1" },
        Field {
            name: "r_frame",
            about: "through the wood, h ft2 F/Btu; about 1.25 an inch of softwood (handbooks, from memory)",
        },
        Field { name: "r_cavity", about: "through the filled cavity, h ft2 F/Btu" },
        Field {
            name: "series_r",
            about: "boards and air films before both, h ft2 F/Btu; none when 0 or left out",
        },
    ],
    gives: &[
        Field { name: "lower", about: "the frame's faces at one temperature each, h ft2 F/Btu" },
        Field { name: "upper", about: "no heat crosses between wood and cavity, h ft2 F/Btu" },
        Field { name: "mean", about: "of both, h ft2 F/Btu" },
        Field { name: "lower_rsi", about: "m2K/W" },
        Field { name: "upper_rsi", about: "m2K/W" },
        Field { name: "mean_rsi", about: "m2K/W" },
        Field {
            name: "u_si",
            about: "of the mean, W/(m2K); a U-value only where series_r has all layers and films",
        },
    ],
    example: r#"{"framing_fraction": 0.25, "r_frame": 4.375, "r_cavity": 13, "series_r": 1.8}"#,
    run: whole_wall_r,
};

fn depth_of_cavity(fields: &Fields<'_>) -> Answer {
    let unit = unit(fields)?;
    let (depth, thickness) = (unit.length(fields, "cavity_depth")?, unit.length(fields, "batt_thickness")?);
    let got = depth_fit(depth, thickness).map_err(|error| {
        let field = match error {
            DepthError::NoDepth => "cavity_depth",
            DepthError::NoThickness | DepthError::TooMany => "batt_thickness",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    given.give("batts_deep", got.batts_deep);
    given.give("slices_per_batt", got.slices_per_batt);
    match got.squeezed_from {
        Some(together) => given.give("squeezed_from", unit.number(together)),
        None => given.missing("squeezed_from", "nothing is squeezed"),
    };
    given.give("gap", unit.number(got.gap));
    given.done()
}

fn r_in_cavity(fields: &Fields<'_>) -> Answer {
    let batt = LabelledBatt {
        r: resistance(fields, "label_r")?,
        thickness: INCH.length(fields, "batt_thickness_in")?,
        fibre: fields.choice("fibre", &FIBRES)?,
    };
    let got = cavity_r(batt, INCH.length(fields, "cavity_depth_in")?).map_err(|error| {
        let field = match error {
            CavityRError::NoThickness => "batt_thickness_in",
            CavityRError::NoDepth => "cavity_depth_in",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    give_cavity(&mut given, got);
    given.done()
}

fn give_cavity(given: &mut Answering, got: CavityR) {
    // What is squeezed leaves no gap.
    given.give("gap_in", 0.0);
    match got {
        CavityR::Label { gap, .. } => {
            given.give("how", "label");
            given.give("note", "the batt is not squeezed, so its label holds");
            given.give("source", "the label");
            given.give("gap_in", INCH.number(gap));
        }
        CavityR::Table { note, .. } => {
            let note = note.map_or_else(|| TABLE_NOTE.to_owned(), |note| format!("{TABLE_NOTE}; {note}"));
            given.give("how", "table");
            given.give("note", note);
            given.give("source", TABLE_SOURCE);
        }
        CavityR::NotInTable(why) => {
            given.give("how", "not_in_table");
            given.give("note", why.to_string());
            for name in ["r", "rsi", "source"] {
                given.missing(name, why);
            }
        }
    }
    if let Some(r) = got.r() {
        given.give("r", r.us());
        given.give("rsi", r.si());
    }
}

fn whole_wall_r(fields: &Fields<'_>) -> Answer {
    let series = match fields.number_or_none("series_r")? {
        None | Some(0.0) => None,
        Some(_) => Some(resistance(fields, "series_r")?),
    };
    let paths = WallPaths {
        framing_fraction: fields.number("framing_fraction")?,
        r_frame: resistance(fields, "r_frame")?,
        r_cavity: resistance(fields, "r_cavity")?,
        series,
    };
    let got = whole_wall(&paths).map_err(|error| match error {
        WholeWallError::Fraction { .. } => Refused::from_error("out_of_range", "framing_fraction", &error),
        WholeWallError::R(_) => {
            let message =
                "these resistances together leave what a number holds: read them from labels and tables";
            out_of_range("r_cavity", message.to_owned())
        }
    })?;
    let mut given = Answering::default();
    for (name, name_rsi, r) in
        [("lower", "lower_rsi", got.lower), ("upper", "upper_rsi", got.upper), ("mean", "mean_rsi", got.mean)]
    {
        given.give(name, r.us());
        given.give(name_rsi, r.si());
    }
    given.give("u_si", got.u_si());
    given.done()
}

fn resistance(fields: &Fields<'_>, name: &str) -> Result<RValue, Refused> {
    RValue::from_us(fields.number(name)?).map_err(|error| Refused::from_error("out_of_range", name, &error))
}
