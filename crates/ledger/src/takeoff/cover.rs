//! What covers and seals: boards with their screws, tape and compound, channel, beads of sealant.

use std::collections::BTreeMap;

use storypole_notebook::assembly::{Layer, Milli};
use storypole_notebook::kinds::Material;
use storypole_takeoff::boards::{BoardNeed, Cutout, Layers, boards};
use storypole_takeoff::channel::{ChannelError, ChannelNeed, ChannelRows, DoorCut, channel};
use storypole_takeoff::cuts::Size;
use storypole_takeoff::fasteners::{DAMPING_TUBES_PER_32_FT2, DampingNeed, TapeNeed, damping, tape};
use storypole_takeoff::sealant::{Bead, SealantNeed, sealant};
use storypole_takeoff::{Wall, Waste};
use storypole_units::length::{NM_PER_FOOT, NM_PER_INCH, NM_PER_MM};
use storypole_units::{Area, Decimal, Length};

use super::added::Added;
use super::buy::{Counting, Part, Wanted};
use super::choice::short;
use super::fill::{percent, usual_waste};
use super::layout::{BoardPlan, Laid, plan};

/// Waste of boards, channel and sealant. Common practice, no source.
const COVER_WASTE: &str = "0.10";
/// Openings up to this area are boarded over and cut out: 16 ft². Common practice, no source.
const DEDUCT_OVER_IN2: i128 = 16 * 144;
/// A bead of sealant, round, 1/4 in. Common practice, no source.
const BEAD_NM: i64 = NM_PER_INCH / 4;
/// Cubic inches in a millilitre: 1 in is 25.4 mm.
const IN3_PER_ML: f64 = 1.0 / 16.387_064;
/// The lowest row of channel above the floor, the highest below the ceiling. Common practice, no source; a tested
/// assembly's listing comes first.
const FIRST_ROW_NM: i64 = 2 * NM_PER_INCH;
const LAST_ROW_NM: i64 = 6 * NM_PER_INCH;
/// A spacing written in whole millimetres is rounded: rows may be so much further apart.
const SPACING_ROOM_NM: i64 = NM_PER_MM;
/// A board is of the thickness written where they differ by no more: 1/2 in is written 12.7 and 13.
const SAME_THICKNESS_NM: i64 = 600_000;
/// Screws to a square foot. Common practice, no source.
const SCREWS_PER_FT2: f64 = 1.0;

/// Counts what covers and seals.
pub(super) fn count(counting: &mut Counting<'_>, added: &Added) {
    count_boards(counting, added);
    for &spacing_um in &added.channel_spacing_um {
        count_channel(counting, spacing_um);
    }
    if added.beads > 0 {
        count_sealant(counting, added.beads);
    }
}

fn waste(counting: &Counting<'_>) -> Waste {
    counting.ask.waste.unwrap_or_else(|| usual_waste(COVER_WASTE))
}

/// `1 row`, `2 rows`.
fn many(count: u32, what: &str) -> String {
    crate::words::counted(Decimal::from_int(i64::from(count)), what)
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm).expect("the measures of the trade are lengths")
}

/// Boards of one material and thickness on both sides go into one count: sheets are cut for either.
fn count_boards(counting: &mut Counting<'_>, added: &Added) {
    let mut kinds: BTreeMap<(String, Milli), u32> = BTreeMap::new();
    for layer in added.boards_a.iter().chain(&added.boards_b) {
        *kinds.entry((layer.material.clone(), layer.thickness_mm)).or_default() += u32::from(layer.count);
    }
    for ((material, thickness_mm), layers) in kinds {
        let layer = Layer { material, thickness_mm, count: 1 };
        if let Some(boarded) = boarded(counting, &layer, layers) {
            count_screws(counting, &layer, boarded);
        }
    }
    count_tape(counting);
    if added.damped_sides > 0 {
        count_damping(counting, added.damped_sides);
    }
}

fn is_board(layer: &Layer, material: &Material) -> bool {
    let first = layer.material.split_whitespace().next().unwrap_or_default();
    let substance = if first == "plywood" || first == "osb" { "wood" } else { first };
    let is_thick = material
        .thickness
        .is_some_and(|thickness| (thickness.nm() - layer.thickness_mm.0 * 1_000).abs() <= SAME_THICKNESS_NM);
    material.form.as_deref() == Some("sheet") && material.made_of.as_deref() == Some(substance) && is_thick
}

/// What a board is called where no material is meant for sure.
fn plain_name(layer: &Layer) -> String {
    format!("{} {} mm", layer.material, layer.thickness_mm)
}

/// A sheet as its material says; 4 by 8 ft where it does not. Common practice, no source.
fn sheet_size(material: Option<&Material>) -> Size {
    let written =
        material.and_then(|material| Some(Size { width: material.width?, length: material.length? }));
    written.unwrap_or(Size { width: nm(48 * NM_PER_INCH), length: nm(96 * NM_PER_INCH) })
}

/// Compound for damping comes in tubes as sealant does, and only its name tells them apart.
fn is_damping(material: &Material) -> bool {
    let names = [&material.label, &material.name];
    names.into_iter().flatten().any(|name| name.to_lowercase().contains("damping"))
}

/// Counts sheets; returns the area that is boarded, one layer.
fn boarded(counting: &mut Counting<'_>, layer: &Layer, layers: u32) -> Option<Area> {
    let what = format!("a sheet of {} {} mm thick", layer.material, layer.thickness_mm);
    let material = counting.material(&what, |material| is_board(layer, material));
    let size = sheet_size(material);
    let sheet = Area::of(size.width, size.length);
    let thickness = nm((layer.thickness_mm.0 * 1_000).max(0));
    let (length, height) = face(counting)?;
    let need = BoardNeed {
        length,
        height,
        openings: cutouts(counting),
        deduct_over: Area::from_nm2(DEDUCT_OVER_IN2 * i128::from(NM_PER_INCH) * i128::from(NM_PER_INCH))?,
        side_a: Layers { thickness, count: layers },
        side_b: Layers { thickness, count: 0 },
        waste: waste(counting),
        sheet,
    };
    let counted = match boards(&need) {
        Ok(counted) => counted,
        Err(why) => {
            counting.not_counted("Boards", why);
            return None;
        }
    };
    let exact = counted.net_area.ft2() * f64::from(layers) / sheet.ft2();
    let units = Decimal::from_int(i64::from(counted.sheets_a));
    let how = format!(
        "{:.1} ft2 without openings over 16 ft2, {}, {:.0} ft2 a sheet; {} % more for waste{}",
        counted.net_area.ft2(),
        many(layers, "layer"),
        sheet.ft2(),
        percent(need.waste),
        lay_out(counting, layer, (material, size), layers)
    );
    let wanted = Wanted { part: Part::Boards, exact, units, how };
    counting.need_or(material, (&plain_name(layer), "sheet"), wanted);
    Area::from_nm2(counted.net_area.nm2().checked_mul(i128::from(layers))?)
}

/// Plans the cuts of a board and says in words how many sheets they take; nothing where they cannot be planned.
fn lay_out(
    counting: &mut Counting<'_>,
    layer: &Layer,
    (material, sheet): (Option<&Material>, Size),
    layers: u32,
) -> String {
    match plan(&counting.sheet.runs, sheet, layers) {
        Ok(Laid { pieces, cuts, joints }) => {
            let words = format!(
                "; {} when laid out upright, 1/2 in off the floor and below a ceiling of 5/8 in, and cut by plan",
                cuts.bought
            );
            counting.sheet.boards.push(BoardPlan {
                material: material.map(|material| material.id),
                name: material.map_or_else(|| plain_name(layer), short),
                sheet,
                layers,
                pieces,
                cuts,
                joints,
            });
            words
        }
        Err(why) => {
            counting.not_counted("The layout of boards", why);
            String::new()
        }
    }
}

/// Length of all walls and their height.
fn face(counting: &mut Counting<'_>) -> Option<(Length, Length)> {
    let lengths = counting.sheet.runs.iter().map(|run| run.wall.length);
    let length = lengths.into_iter().try_fold(Length::ZERO, Length::checked_add)?;
    Some((length, counting.sheet.runs.first()?.wall.height))
}

fn cutouts(counting: &Counting<'_>) -> Vec<Cutout> {
    let openings = counting.sheet.runs.iter().flat_map(|run| &run.wall.openings);
    openings.map(|opening| Cutout { width: opening.width, height: opening.height() }).collect()
}

/// Screws by area: their boxes say how many they hold in words only, so pieces are told.
fn count_screws(counting: &mut Counting<'_>, layer: &Layer, area: Area) {
    let exact = area.ft2() * SCREWS_PER_FT2;
    // A millionth of a screw is rounding noise and takes no further one.
    let with_waste = (exact * waste(counting).factor() - 1e-6).ceil().max(0.0);
    let Some(units) = Decimal::from_f64_rounded(with_waste, 0) else { return };
    let how = format!("about one to a square foot of {} {} mm", layer.material, layer.thickness_mm);
    counting.need_or(None, ("screws", "screw"), Wanted { part: Part::Screws, exact, units, how });
}

/// Tape over the joints of one layer of each kind, by the foot: only the outer one is taped.
fn count_tape(counting: &mut Counting<'_>) {
    let mut joints = counting.sheet.boards.iter().map(|plan| plan.joints);
    let Some(joints) = joints.try_fold(Length::ZERO, Length::checked_add) else { return };
    let waste = waste(counting);
    let feet = match tape(&TapeNeed { joints, roll: nm(NM_PER_FOOT), waste }) {
        Ok(counted) => counted.rolls,
        Err(why) => return counting.not_counted("Joint tape", why),
    };
    if feet == 0 {
        return;
    }
    let (exact, units) = (joints.to_ft_f64(), Decimal::from_int(i64::from(feet)));
    let how = format!(
        "joints between boards of one layer, corners not counted; {} % more for waste",
        percent(waste)
    );
    counting.need_or(None, ("joint tape", "ft"), Wanted { part: Part::Tape, exact, units, how });
}

fn count_damping(counting: &mut Counting<'_>, sides: u32) {
    let Some((length, height)) = face(counting) else { return };
    let openings: i128 = cutouts(counting).iter().map(|one| Area::of(one.width, one.height).nm2()).sum();
    let face = Area::of(length, height).nm2().saturating_sub(openings).saturating_mul(i128::from(sides));
    let Some(area) = Area::from_nm2(face.max(0)) else { return };
    let material = counting.material("a tube of damping compound", |material| {
        material.form.as_deref() == Some("tube") && is_damping(material)
    });
    let need = DampingNeed { area, tubes_per_32_ft2: DAMPING_TUBES_PER_32_FT2, waste: waste(counting) };
    let counted = match damping(&need) {
        Ok(counted) => counted,
        Err(why) => return counting.not_counted("Damping compound", why),
    };
    let exact = counted.needed / need.waste.factor();
    let units = Decimal::from_int(i64::from(counted.tubes));
    let how = format!("two tubes to 32 ft2, {:.1} ft2; {} % more for waste", area.ft2(), percent(need.waste));
    let wanted = Wanted { part: Part::Damping, exact, units, how };
    counting.need_or(material, ("damping compound", "tube"), wanted);
}

fn count_channel(counting: &mut Counting<'_>, spacing_um: i64) {
    let material =
        counting.material("resilient channel", |material| material.form.as_deref() == Some("channel"));
    let piece = material.and_then(|material| material.length).unwrap_or_else(|| nm(144 * NM_PER_INCH));
    let waste = waste(counting);
    let most = nm((spacing_um * 1_000 + SPACING_ROOM_NM).max(0));
    let (mut rows, mut crossing, mut total) = (0, 0, Some(Length::ZERO));
    for run in &counting.sheet.runs {
        match channel_on(&run.wall, most, piece) {
            Ok(on) => {
                rows = on.rows;
                crossing += on.rows_crossing_door;
                total = total.and_then(|total| total.checked_add(on.channel));
            }
            Err(why) => return counting.not_counted("Channel", why),
        }
    }
    let counted = total.and_then(|total| Some((total, waste.lengths(total, piece)?)));
    let Some((total, pieces)) = counted else {
        return counting.not_counted("Channel", "it is more than can be counted; check the sizes");
    };
    let exact = total.nm() as f64 / piece.nm().max(1) as f64;
    let at_door =
        if crossing > 0 { format!(", {} cut at a door", many(crossing, "row")) } else { String::new() };
    let how = format!(
        "{}, {:.1} ft{at_door}; {} % more for waste",
        many(rows, "row"),
        total.to_ft_f64(),
        percent(waste)
    );
    let wanted = Wanted { part: Part::Channel, exact, units: Decimal::from_int(i64::from(pieces)), how };
    counting.need_or(material, ("resilient channel", "piece"), wanted);
}

/// Channel on one wall before waste. Every door takes its width out of the rows below its head.
fn channel_on(wall: &Wall, max_spacing: Length, piece: Length) -> Result<ChannelRows, ChannelError> {
    let with = |door: Option<DoorCut>| {
        channel(&ChannelNeed {
            length: wall.length,
            height: wall.height,
            first_above_floor: nm(FIRST_ROW_NM),
            last_below_ceiling: nm(LAST_ROW_NM),
            max_spacing,
            door,
            piece,
            waste: Waste::NONE,
        })
    };
    let plain = with(None)?;
    let mut on = plain;
    for door in wall.openings.iter().filter(|opening| opening.sill.is_none()) {
        let cut = with(Some(DoorCut { width: door.width, head: door.head }))?;
        let lost = plain.channel.nm() - cut.channel.nm();
        on.channel = Length::from_nm(on.channel.nm() - lost).unwrap_or(Length::ZERO);
        on.rows_crossing_door = on.rows_crossing_door.saturating_add(cut.rows_crossing_door);
    }
    Ok(on)
}

fn count_sealant(counting: &mut Counting<'_>, beads: u32) {
    let material = counting.material("a tube of sealant with its content in ml", |material| {
        material.form.as_deref() == Some("tube")
            && material.made_of.as_deref() == Some("sealant")
            && !is_damping(material)
            && material.content_ml.is_some()
    });
    let Some(material) = material else { return };
    let Some((length, height)) = face(counting) else { return };
    // Every wall has two sides of its own height; the crate counts one wall.
    let walls = i64::try_from(counting.sheet.runs.len()).unwrap_or(1);
    let Ok(height) = Length::from_nm(height.nm().saturating_mul(walls)) else { return };
    let need = SealantNeed {
        length,
        height,
        beads,
        bead: Bead::Round { diameter: nm(BEAD_NM) },
        tube_in3: material.content_ml.map_or(0.0, |ml| ml.to_f64() * IN3_PER_ML),
        waste: waste(counting),
    };
    match sealant(&need) {
        Ok(counted) => {
            let how = format!(
                "{} of 1/4 in all round, {:.1} ft, {:.1} ft from a tube of {}; {} % more for waste",
                many(beads, "bead"),
                counted.bead.to_ft_f64(),
                counted.ft_per_tube,
                short(material),
                percent(need.waste)
            );
            let exact = counted.needed / need.waste.factor();
            let units = Decimal::from_int(i64::from(counted.tubes));
            counting.need(material, Wanted { part: Part::Sealant, exact, units, how });
        }
        Err(why) => counting.not_counted("Sealant", why),
    }
}
