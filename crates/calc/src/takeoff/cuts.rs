//! How batts, boards and lengths are cut out of what is bought: a framed wall's batts, and bare rectangles.
//!
//! Leaves out packs, waste beyond the plan, and other ways of cutting than across, along and across again.

use serde_json::{Map, Value, json};
use storypole_takeoff::batts::batts;
use storypole_takeoff::cuts::{self, CutError, CutPiece, CutPlan, MOST_PARTS, Size, Source, Stock};
use storypole_takeoff::fit::{Fit, FitError, Fitted, Part, fit};
use storypole_units::Length;

use super::measures::{UNIT, Unit, count_or, each, joined, out_of_range, tell_unknown, unit};
use super::wall::{BATT, FRAME, INSIDE, read_batt, read_frame, refused_batts, usual_fit};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

const SIZE_NAMES: &[&str] = &["width", "length"];
const PART_NAMES: &[&str] = &["width", "length", "count"];
const STOCK_NAMES: &[&str] = &["width", "length", "kerf"];

const AT_HAND: Field = Field {
    name: "at_hand",
    about: "width and length of each piece that lies there already and is cut first; may be left out",
};

/// What a plan gives.
pub(super) const PLAN: [Field; 6] = [
    Field { name: "bought", about: "pieces to buy" },
    Field { name: "bound", about: "the fewest that any way of cutting could do with" },
    Field { name: "proven", about: "no plan with these cuts buys fewer" },
    Field { name: "first_fit", about: "what plain first-fit decreasing would buy" },
    Field { name: "method", about: "how the plan was found" },
    Field {
        name: "layouts",
        about: "from (hand, stock), hand (an index where from hand), width, length, placed (part, left, bottom, width, length), left_over (left, bottom, width, length) of each piece that is cut",
    },
];

/// What the cavities of a frame take beside the frame and the batt.
const FITTING: [Field; 4] = [
    Field {
        name: "oversize",
        about: "added for friction to the width of a bay where a batt is ripped; 1/2 in or 12 mm when left out",
    },
    Field {
        name: "oversize_length",
        about: "added to the height where a batt is cut to length; 0 when left out, up to 1/2 in or 12 mm for stiff ones",
    },
    Field {
        name: "uncut_up_to",
        about: "a batt wider or longer than its cavity by no more stays uncut; 3/4 in or 20 mm when left out",
    },
    AT_HAND,
];

const FITTED: [Field; 5] = [
    Field {
        name: "parts",
        about: "frame, cell (as takeoff.framed_wall lists them), width, length, whole of each piece to put in",
    },
    Field { name: "slivers", about: "cell and why of those narrower than min_bay_width, which get no piece" },
    Field {
        name: "end_to_end",
        about: "batts that stand end to end in the tallest cell; null where some cell is no longer than a batt",
    },
    Field { name: "notes", about: "what to know, in words" },
    Field {
        name: "without_reuse",
        about: "batts of all frames, each cell from whole ones and nothing at hand",
    },
];

const BATT_CUTS_TAKES: [Field; 20] = joined(joined::<13, 3, 16>(FRAME, BATT), FITTING);
const BATT_CUTS_GIVES: [Field; 11] = joined(FITTED, PLAN);

pub(super) const BATT_CUTS: Calc = Calc {
    name: "takeoff.batt_cuts",
    about: "Batts cut to the cavities of a framed wall, out of as few as are found: friction fit, common practice, no source.",
    takes: &BATT_CUTS_TAKES,
    gives: &BATT_CUTS_GIVES,
    example: r#"{"unit": "in", "stud_thickness": 1.5, "plates": 3, "length": 150, "height": 97.125, "spacing": 16, "batt_width": 15.25, "batt_length": 47, "oversize": 0.5, "uncut_up_to": 0.75, "min_bay_width": 3, "at_hand": [{"width": 15.25, "length": 46}]}"#,
    run: batt_cuts,
};

pub(super) const CUT_PLAN: Calc = Calc {
    name: "takeoff.cut_plan",
    about: "Rectangles, or lengths as wide as the stock, cut out of as few equal pieces as are found; nothing is turned.",
    takes: &[
        UNIT,
        Field {
            name: "parts",
            about: "width, length and count (1) of each; length is the way fibre or paper runs",
        },
        Field {
            name: "stock",
            about: "width and length of a piece that is bought; kerf, what a cut takes, 0 when left out, about 1/8 in or 3 mm for a saw",
        },
        AT_HAND,
    ],
    gives: &PLAN,
    example: r#"{"unit": "in", "parts": [{"width": 3.5, "length": 92.625, "count": 4}, {"width": 3.5, "length": 51.25, "count": 5}], "stock": {"width": 3.5, "length": 144, "kerf": 0.125}, "at_hand": [{"width": 3.5, "length": 60}]}"#,
    run: cut_plan,
};

/// Fields that refusals of a plan are about.
pub(super) struct About {
    pub(super) stock: &'static str,
    pub(super) kerf: &'static str,
    pub(super) parts: &'static str,
}

fn batt_cuts(fields: &Fields<'_>) -> Answer {
    let unit = unit(fields)?;
    let frame = read_frame(fields, unit)?;
    let (batt, rules) = (read_batt(fields, unit)?, read_fit(fields, unit)?);
    let at_hand = read_at_hand(fields, unit)?;
    let whole = batts(&frame, batt, rules.min_bay_width).map_err(|error| refused_batts(&error))?;
    let fitted = fit(&frame.cells, batt, rules).map_err(|error| refused_fit(&error))?;
    let parts = fitted
        .repeated(frame.frames)
        .map_err(|error| Refused::from_error("out_of_range", "frames", &error))?;
    let sizes: Vec<Size> = parts.iter().map(|part| part.size()).collect();
    let stock = Stock { width: batt.width, length: batt.length, kerf: Length::ZERO };
    let about = About { stock: "batt_length", kerf: "batt_length", parts: "batt_length" };
    let plan = cuts::plan(&sizes, stock, &at_hand).map_err(|error| refused_cuts(&error, stock, &about))?;
    let mut given = Answering::default();
    give_fitted(&mut given, unit, &fitted, &parts);
    give_end_to_end(&mut given, &fitted);
    given.give("without_reuse", whole.pieces_all_frames);
    give_plan(&mut given, unit, &plan, |part| part);
    let [openings, blocking] = INSIDE;
    tell_unknown(&mut given, fields, &[openings, blocking, (AT_HAND.name, SIZE_NAMES)])?;
    given.done()
}

fn cut_plan(fields: &Fields<'_>) -> Answer {
    let unit = unit(fields)?;
    let stock = read_stock(fields, unit)?;
    let (parts, entries) = read_parts(fields, unit)?;
    let at_hand = read_at_hand(fields, unit)?;
    let about = About { stock: "stock", kerf: "stock", parts: "parts" };
    let plan = cuts::plan(&parts, stock, &at_hand)
        .map_err(|error| refused_cuts(&by_entry(error, &entries), stock, &about))?;
    let mut given = Answering::default();
    give_plan(&mut given, unit, &plan, |part| entries[part]);
    let known = [("parts", PART_NAMES), ("stock", STOCK_NAMES), (AT_HAND.name, SIZE_NAMES)];
    tell_unknown(&mut given, fields, &known)?;
    given.done()
}

fn read_fit(fields: &Fields<'_>, unit: Unit) -> Result<Fit, Refused> {
    let usual = usual_fit(unit);
    let or = |name: &str, otherwise| Ok(unit.length_or_none(fields, name)?.unwrap_or(otherwise));
    Ok(Fit {
        oversize_width: or("oversize", usual.oversize_width)?,
        oversize_length: or("oversize_length", usual.oversize_length)?,
        uncut_up_to: or("uncut_up_to", usual.uncut_up_to)?,
        min_bay_width: or("min_bay_width", usual.min_bay_width)?,
    })
}

fn read_size(fields: &Fields<'_>, unit: Unit) -> Result<Size, Refused> {
    Ok(Size { width: unit.length(fields, "width")?, length: unit.length(fields, "length")? })
}

fn read_at_hand(fields: &Fields<'_>, unit: Unit) -> Result<Vec<Size>, Refused> {
    each(fields, AT_HAND.name, "piece at hand", |piece| read_size(piece, unit))
}

fn read_stock(fields: &Fields<'_>, unit: Unit) -> Result<Stock, Refused> {
    let stock = fields
        .object_or_none("stock")?
        .ok_or_else(|| Refused::of("missing", "stock", "stock is missing: give its width and length"))?;
    let Size { width, length } = read_size(&stock, unit)?;
    Ok(Stock { width, length, kerf: unit.length_or_none(&stock, "kerf")?.unwrap_or_default() })
}

/// Reads parts, each as often as its count says, and the entry that each comes from.
fn read_parts(fields: &Fields<'_>, unit: Unit) -> Result<(Vec<Size>, Vec<usize>), Refused> {
    // A list that is left out is a slip here, unlike one that is empty.
    fields.objects("parts")?;
    let entries = each(fields, "parts", "part", |part| {
        let times = count_or(part, "count", 1)?;
        // A count of thousand millions is refused before it takes room.
        let times = usize::try_from(times).ok().filter(|times| *times <= MOST_PARTS);
        let times = times.ok_or_else(|| {
            out_of_range("count", format!("count is more than {MOST_PARTS}: check how many there are"))
        })?;
        Ok((read_size(part, unit)?, times))
    })?;
    let all: usize = entries.iter().map(|(_, times)| times).sum();
    if all > MOST_PARTS {
        return Err(Refused::from_error("out_of_range", "parts", &CutError::TooManyParts { count: all }));
    }
    let repeated = entries
        .iter()
        .enumerate()
        .flat_map(|(entry, (size, times))| std::iter::repeat_n((*size, entry), *times));
    Ok(repeated.unzip())
}

/// The same refusal with the number of the entry that was given.
fn by_entry(error: CutError, entries: &[usize]) -> CutError {
    match error {
        CutError::EmptyPart { part, width, length } => {
            CutError::EmptyPart { part: entries[part], width, length }
        }
        CutError::TooWide { part, width, stock } => CutError::TooWide { part: entries[part], width, stock },
        CutError::TooLong { part, length, stock } => CutError::TooLong { part: entries[part], length, stock },
        CutError::EmptyStock { .. }
        | CutError::StockTooLarge { .. }
        | CutError::KerfTooLarge { .. }
        | CutError::TooManyParts { .. }
        | CutError::TooManyAtHand { .. } => error,
    }
}

fn give_fitted(given: &mut Answering, unit: Unit, fitted: &Fitted, parts: &[Part]) {
    let per_frame = fitted.parts.len().max(1);
    let number = |length| unit.number(length);
    let shown = parts.iter().enumerate().map(|(index, part)| {
        json!({
            "frame": index / per_frame, "cell": part.cell, "width": number(part.width),
            "length": number(part.height), "whole": !part.cut_width && !part.cut_length,
        })
    });
    let slivers =
        fitted.slivers.iter().map(|sliver| json!({"cell": sliver.cell, "why": sliver.why.to_string()}));
    given.give("parts", Value::Array(shown.collect()));
    given.give("slivers", Value::Array(slivers.collect()));
}

fn give_end_to_end(given: &mut Answering, fitted: &Fitted) {
    let mut notes: Vec<String> = Vec::new();
    match fitted.end_to_end {
        Some(count) => {
            given.give("end_to_end", count);
            notes.push(format!(
                "the batt is shorter than every cavity with a piece: {count} stand end to end in the tallest"
            ));
        }
        None if fitted.parts.is_empty() => {
            given.missing("end_to_end", "no cell gets a piece");
        }
        None => {
            given.missing("end_to_end", "a cell is no higher than a batt is long");
        }
    }
    given.give("notes", notes);
}

/// Gives what [`PLAN`] lists; `entry` is the index that was given for a part.
pub(super) fn give_plan(given: &mut Answering, unit: Unit, plan: &CutPlan, entry: impl Fn(usize) -> usize) {
    given.give("bought", plan.bought);
    given.give("bound", plan.bound);
    given.give("proven", plan.proven);
    given.give("first_fit", plan.first_fit);
    given.give("method", plan.method);
    let layouts = plan.pieces.iter().map(|piece| layout(unit, piece, &entry));
    given.give("layouts", Value::Array(layouts.collect()));
}

fn layout(unit: Unit, piece: &CutPiece, entry: &impl Fn(usize) -> usize) -> Value {
    let number = |length| json!(unit.number(length));
    let placed = piece.placements.iter().map(|placed| {
        json!({
            "part": entry(placed.part), "left": number(placed.left), "bottom": number(placed.bottom),
            "width": number(placed.width), "length": number(placed.height),
        })
    });
    let left_over = piece.offcuts.iter().map(|offcut| {
        json!({
            "left": number(offcut.left), "bottom": number(offcut.bottom),
            "width": number(offcut.width), "length": number(offcut.height),
        })
    });
    let mut shown = Map::new();
    match piece.from {
        Source::Stock => {
            shown.insert("from".to_owned(), json!("stock"));
        }
        Source::Hand { index } => {
            shown.insert("from".to_owned(), json!("hand"));
            shown.insert("hand".to_owned(), json!(index));
        }
    }
    shown.insert("width".to_owned(), number(piece.size.width));
    shown.insert("length".to_owned(), number(piece.size.length));
    shown.insert("placed".to_owned(), Value::Array(placed.collect()));
    shown.insert("left_over".to_owned(), Value::Array(left_over.collect()));
    Value::Object(shown)
}

fn refused_fit(error: &FitError) -> Refused {
    let field = match error {
        FitError::NoWidth => "batt_width",
        FitError::NoLength | FitError::TooManyParts => "batt_length",
        FitError::OversizeTooWide { .. } => "oversize",
        FitError::OversizeTooLong { .. } => "oversize_length",
    };
    Refused::from_error("out_of_range", field, error)
}

pub(super) fn refused_cuts(error: &CutError, stock: Stock, about: &About) -> Refused {
    let field = match *error {
        CutError::StockTooLarge { width, length } if (Size { width, length }) != stock.size() => AT_HAND.name,
        CutError::EmptyStock { .. } | CutError::StockTooLarge { .. } => about.stock,
        CutError::KerfTooLarge { .. } => about.kerf,
        CutError::TooManyAtHand { .. } => AT_HAND.name,
        CutError::EmptyPart { .. }
        | CutError::TooWide { .. }
        | CutError::TooLong { .. }
        | CutError::TooManyParts { .. } => about.parts,
    };
    Refused::from_error("out_of_range", field, error)
}
