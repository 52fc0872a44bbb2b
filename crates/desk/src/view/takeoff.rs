//! What an assembly takes: bays, cuts, materials, less what lies in stock.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::takeoff::{BattPlan, BoardPlan, Need, Resistance, Run, Sheet};
use storypole_notebook::Book;
use storypole_takeoff::cuts::{CutPiece, Source};
use storypole_takeoff::sheets::BoardPiece;
use storypole_takeoff::thermal::CavityR;
use storypole_takeoff::thermal::compression::{TABLE_NOTE, TABLE_SOURCE};
use storypole_takeoff::wall::CellKind;
use storypole_units::{Area, Length};

use super::{amount, called, number};

/// A take-off in full.
pub fn json(book: &Book, sheet: &Sheet) -> Value {
    json!({
        "assembly": called::json(book, "assembly", Some(sheet.assembly)),
        "framed_by": called::json(book, "assembly", Some(sheet.framed_by)),
        "against": called::json(book, "assembly", sheet.against),
        "walls": sheet.runs.iter().map(wall).collect::<Value>(),
        "cells": cells(sheet).iter().map(Bay::json).collect::<Value>(),
        "net_cavity": area(sheet.net_area),
        "gross_wall": area(sheet.gross_area),
        "framed_percent": sheet.framed.map(|share| number(share * 100.0, 1)),
        "cuts": sheet.batts.as_ref().map(|plan| cuts(book, plan)),
        "boards": sheet.boards.iter().map(|plan| boards(book, plan)).collect::<Value>(),
        "resistance": sheet.resistance.as_ref().map(resistance),
        "needs": sheet.needs.iter().map(|one| need(book, one)).collect::<Value>(),
        "notes": sheet.notes,
    })
}

fn length(length: Length) -> Value {
    json!({ "mm": number(length.to_mm_f64(), 1), "printed": printed(length) })
}

/// A length as it is called out on site: inches alone where they are on a tape, else millimetres.
pub fn printed(length: Length) -> String {
    length.inches().unwrap_or_else(|| length.metric())
}

fn area(area: Area) -> Value {
    json!({ "ft2": number(area.ft2(), 2), "m2": number(area.m2(), 3) })
}

fn wall(run: &Run) -> Value {
    json!({
        "length": length(run.wall.length),
        "height": length(run.wall.height),
        "cavity_height": length(run.frame.cavity_height),
        "frames": run.frame.frames,
        "full_height_bays": run.frame.full_height_bays().count(),
        "openings": run.wall.openings.len(),
        "cripple_studs": run.frame.cripple_studs,
    })
}

/// One cell with its number on the drawing and in the cut list.
#[derive(Debug, Clone, PartialEq)]
pub struct Bay {
    /// From 1, through all walls.
    pub number: usize,
    /// The wall, from 1.
    pub wall: usize,
    /// `full`, `part`, `above` or `below`.
    pub place: &'static str,
    /// Clear width.
    pub width: Length,
    /// Clear height.
    pub height: Length,
    /// Batts where every cell is filled from whole ones; `None` where no batt is chosen.
    pub pieces: Option<u32>,
}

impl Bay {
    fn json(&self) -> Value {
        json!({
            "number": self.number,
            "wall": self.wall,
            "place": self.place,
            "width": length(self.width),
            "height": length(self.height),
            "pieces": self.pieces,
        })
    }
}

/// Every cell of every wall, in the order of the drawing.
pub fn cells(sheet: &Sheet) -> Vec<Bay> {
    let mut bays = Vec::new();
    for (wall, run) in sheet.runs.iter().enumerate() {
        for cell in &run.frame.cells {
            let place = match cell.kind {
                CellKind::Full => "full",
                CellKind::Part => "part",
                CellKind::Above { .. } => "above",
                CellKind::Below { .. } => "below",
            };
            let planned = sheet.batts.as_ref().and_then(|plan| plan.cells.get(bays.len()));
            bays.push(Bay {
                number: bays.len() + 1,
                wall: wall + 1,
                place,
                width: cell.width,
                height: cell.height,
                pieces: planned.map(|planned| planned.pieces),
            });
        }
    }
    bays
}

/// One size to cut, with the cells it goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Across.
    pub width: Length,
    /// Along.
    pub height: Length,
    /// How many.
    pub count: usize,
    /// Neither ripped nor cut across.
    pub is_whole: bool,
    /// Numbers of the cells.
    pub cells: Vec<usize>,
}

/// The cut list, largest first.
pub fn cut_list(plan: &BattPlan) -> Vec<Cut> {
    let mut list: Vec<Cut> = Vec::new();
    for part in &plan.fitted.parts {
        let is_whole = !part.cut_width && !part.cut_length;
        match list.iter_mut().find(|cut| (cut.width, cut.height) == (part.width, part.height)) {
            Some(cut) => {
                cut.count += 1;
                if cut.cells.last() != Some(&(part.cell + 1)) {
                    cut.cells.push(part.cell + 1);
                }
            }
            None => list.push(Cut {
                width: part.width,
                height: part.height,
                count: 1,
                is_whole,
                cells: vec![part.cell + 1],
            }),
        }
    }
    list.sort_by_key(|cut| std::cmp::Reverse((Area::of(cut.width, cut.height).nm2(), cut.width)));
    list
}

fn cuts(book: &Book, plan: &BattPlan) -> Value {
    let one = |cut: &Cut| {
        json!({
            "width": length(cut.width), "length": length(cut.height), "count": cut.count, "whole": cut.is_whole,
            "cells": cut.cells,
        })
    };
    json!({
        "material": called::json(book, "material", Some(plan.material)),
        "list": cut_list(plan).iter().map(one).collect::<Value>(),
        "pieces": plan.cuts.bought,
        "fewest_possible": plan.cuts.bound,
        "proven_best": plan.cuts.proven,
        "first_fit": plan.cuts.first_fit,
        "without_reuse": plan.without_reuse,
        "method": plan.cuts.method,
        "slivers": plan.fitted.slivers.iter().map(|sliver| sliver.cell + 1).collect::<Value>(),
        "layouts": plan.cuts.pieces.iter().map(|piece| layout(plan, piece)).collect::<Value>(),
    })
}

fn layout(plan: &BattPlan, piece: &CutPiece) -> Value {
    let parts = plan.fitted.parts.len().max(1);
    let placed = piece.placements.iter().map(|placed| {
        json!({
            "cell": plan.fitted.parts.get(placed.part % parts).map(|part| part.cell + 1),
            "left": length(placed.left), "bottom": length(placed.bottom),
            "width": length(placed.width), "length": length(placed.height),
        })
    });
    let left = piece
        .offcuts
        .iter()
        .map(|left| json!({ "width": length(left.width), "length": length(left.height) }));
    json!({
        "from_hand": piece.from != Source::Stock,
        "placed": placed.collect::<Value>(),
        "left_over": left.collect::<Value>(),
    })
}

fn boards(book: &Book, plan: &BoardPlan) -> Value {
    let size = |width, height| json!({ "width": length(width), "length": length(height) });
    let piece = |(wall, piece): &(usize, BoardPiece)| {
        json!({
            "wall": wall + 1,
            "left": length(piece.left), "bottom": length(piece.bottom),
            "width": length(piece.width), "length": length(piece.height),
        })
    };
    let sheet = |piece: &CutPiece| {
        json!({
            "cut": piece.placements.iter().map(|one| size(one.width, one.height)).collect::<Value>(),
            "left_over": piece.offcuts.iter().map(|one| size(one.width, one.height)).collect::<Value>(),
        })
    };
    json!({
        "material": called::json(book, "material", plan.material),
        "name": plan.name,
        "sheet": size(plan.sheet.width, plan.sheet.length),
        "layers": plan.layers,
        "pieces": plan.pieces.iter().map(piece).collect::<Value>(),
        "sheets": plan.cuts.bought,
        "fewest_possible": plan.cuts.bound,
        "cuts": plan.cuts.pieces.iter().map(sheet).collect::<Value>(),
        "joints": length(plan.joints),
    })
}

fn resistance(resistance: &Resistance) -> Value {
    json!({
        "cavity_r": resistance.cavity.r().map(|r| number(r.us(), 1)),
        "cavity_rsi": resistance.cavity.r().map(|r| number(r.si(), 2)),
        "wall_r": resistance.wall.as_ref().map(|wall| number(wall.mean.us(), 1)),
        "wall_rsi": resistance.wall.as_ref().map(|wall| number(wall.mean.si(), 2)),
        "words": resistance_words(resistance),
    })
}

/// What the cavities resist, in words.
pub fn resistance_words(resistance: &Resistance) -> String {
    let cavity = match resistance.cavity {
        CavityR::Label { r, .. } => {
            format!("R {} in the cavity, as labelled: the batt is not squeezed.", us(r.us()))
        }
        CavityR::Table { r, note } => {
            let note = note
                .map_or_else(String::new, |note| format!(" {}.", storypole_findings::print::capital(note)));
            format!("R {} in the cavity, squeezed; from {TABLE_SOURCE}; {TABLE_NOTE}.{note}", us(r.us()))
        }
        CavityR::NotInTable(why) => format!("R in the cavity is not known: {why}."),
    };
    match &resistance.wall {
        Some(wall) => format!(
            "{cavity} With the studs between, R {} ({} m2K/W), boards and air films left out.",
            us(wall.mean.us()),
            storypole_findings::print::decimals(wall.mean.si(), 2)
        ),
        None => cavity,
    }
}

fn us(r: f64) -> String {
    storypole_findings::print::decimals(r, 1)
}

fn need(book: &Book, need: &Need) -> Value {
    json!({
        "part": need.part.name(),
        "material": called::json(book, "material", need.material),
        "name": need.name,
        "unit": need.unit,
        "how": need.how,
        "exact": number(need.exact, 2),
        "wanted": need.wanted.to_string(),
        "at_hand": need.at_hand.to_string(),
        "to_buy": need.to_buy.to_string(),
        "pack": need.packs.as_ref().map(|(unit, _)| unit),
        "packs": need.packs.as_ref().map(|(_, count)| count),
        "price": need.price.map(amount),
        "elsewhere": need.elsewhere,
    })
}

/// A take-off of an assembly by record, as JSON.
///
/// # Errors
/// Its framing is not measured or cannot stand.
pub fn of(
    book: &Book,
    assembly: RecordId,
    ask: &storypole_ledger::takeoff::Ask,
) -> Result<Value, storypole_ledger::takeoff::FramingError> {
    storypole_ledger::takeoff::takeoff(book, assembly, ask).map(|sheet| json(book, &sheet))
}
