//! What fills the cavities: batts with their cuts, or loose fill by weight; and what they resist as built.

use storypole_journal::RecordId;
use storypole_notebook::assembly::{Cavity, Fill, Milli};
use storypole_notebook::kinds::Material;
use storypole_takeoff::Waste;
use storypole_takeoff::batts::{Batt, batts};
use storypole_takeoff::cuts::{self, CutPlan, Size, Stock};
use storypole_takeoff::fit::{DepthFit, Fit, Fitted, depth_fit, fit};
use storypole_takeoff::loose_fill::{FillNeed, KG_PER_LB, loose_fill};
use storypole_takeoff::thermal::whole_wall::{WallPaths, WholeWall, softwood_r, whole_wall};
use storypole_takeoff::thermal::{CavityR, Fibre, LabelledBatt, RValue, cavity_r};
use storypole_takeoff::wall::Cell;
use storypole_units::density::DensityUnit;
use storypole_units::{Decimal, Density, Length};

use super::added::Added;
use super::buy::{Counting, Part, Wanted};
use super::choice::short;

/// Waste of batts and of loose fill in an open wall. Common practice, no source.
const FILL_WASTE: &str = "0.05";

/// Depths are written in whole millimetres: a gap up to this is rounding.
const SMALL_GAP_NM: i64 = 2_000_000;

/// How batts are cut for an assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct BattPlan {
    /// The batt.
    pub material: RecordId,
    /// Its face.
    pub batt: Batt,
    /// Every cell of every wall, in the order of walls; a part's cell is an index into these.
    pub cells: Vec<PlannedCell>,
    /// Pieces to cut, one for each filling of a cell.
    pub fitted: Fitted,
    /// How the depth is filled.
    pub depth: Option<DepthFit>,
    /// The cuts.
    pub cuts: CutPlan,
    /// Batts where every cell is filled from whole ones.
    pub without_reuse: u32,
}

/// One cell with its number on the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedCell {
    /// The wall, from 0.
    pub run: usize,
    /// The cell.
    pub cell: Cell,
    /// Batts it takes from whole ones.
    pub pieces: u32,
}

/// What the filled cavities resist.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// In the cavity as built.
    pub cavity: CavityR,
    /// Of the wall with its studs, without boards and air films; `None` where the cavity's is not known.
    pub wall: Option<WholeWall>,
}

/// Counts what fills the cavities.
pub(super) fn count(counting: &mut Counting<'_>, added: &Added) {
    let named = counting.book.materials.live().find(|material| {
        counting.ask.materials.contains(&material.id)
            && matches!(material.form.as_deref(), Some("batt" | "loose-fill"))
    });
    let Some(fill) = &added.fill else {
        // A fill that was named is counted whether the assembly has it written or not.
        if let Some(material) = named {
            fill_with(counting, material, None);
        }
        return;
    };
    let is_fill = |material: &Material| {
        material.made_of.as_deref() == Some(fill.kind.as_str())
            && matches!(material.form.as_deref(), Some("batt" | "loose-fill"))
    };
    let material = match named {
        Some(material) => Some(material),
        None => counting.material(&format!("{} in batts or loose", fill.kind), is_fill),
    };
    if let Some(material) = material {
        fill_with(counting, material, Some(fill));
    }
}

fn fill_with(counting: &mut Counting<'_>, material: &Material, fill: Option<&Fill>) {
    if material.form.as_deref() == Some("loose-fill") {
        loose(counting, material, fill);
    } else {
        in_batts(counting, material);
    }
}

/// Clear depth of the cavity: of the frame as measured, else as the cavity says.
fn depth(counting: &Counting<'_>) -> Option<Length> {
    use storypole_notebook::assembly::{Frame, Studs};
    let frame = counting.one.frame.as_deref().and_then(|text| Frame::parse(text).ok());
    let studs = match frame {
        Some(Frame::Studs { studs: Studs { depth_mm, .. }, .. }) => Some(depth_mm),
        _ => None,
    };
    let cavity = counting.one.cavity.as_deref().and_then(|text| Cavity::parse(text).ok());
    let clear = match cavity {
        Some(Cavity::Space { clear_mm, .. }) => clear_mm,
        _ => None,
    };
    let Milli(um) = studs.or(clear)?;
    Length::from_nm(um * 1_000).ok()
}

fn waste(counting: &Counting<'_>) -> Waste {
    counting.ask.waste.unwrap_or_else(|| usual_waste(FILL_WASTE))
}

pub(super) fn usual_waste(fraction: &str) -> Waste {
    let fraction = Decimal::parse(fraction).expect("the usual wastes are decimals");
    Waste::from_fraction(fraction).expect("the usual wastes are fractions")
}

fn in_batts(counting: &mut Counting<'_>, material: &Material) {
    let name = short(material);
    let (Some(width), Some(length)) = (material.width, material.length) else {
        let missing =
            format!("{name} has no width or length; storypole change material {name} width=... length=...");
        return counting.not_counted("Batts", missing);
    };
    match plan(counting, material, Batt { width, length }) {
        Ok(plan) => {
            need_batts(counting, material, &plan);
            counting.sheet.batts = Some(plan);
        }
        Err(why) => counting.not_counted("Batts", why),
    }
    counting.sheet.resistance = resistance(counting, material);
}

/// Why batts cannot be planned.
type Why = Box<dyn std::error::Error>;

fn plan(counting: &mut Counting<'_>, material: &Material, batt: Batt) -> Result<BattPlan, Why> {
    let rules = Fit::inches();
    let mut cells = Vec::new();
    let mut without_reuse = 0u32;
    let frames = counting.sheet.runs.first().map_or(1, |run| run.frame.frames);
    for (run, framed) in counting.sheet.runs.iter().enumerate() {
        let counted = batts(&framed.frame, batt, rules.min_bay_width)?;
        without_reuse = without_reuse.saturating_add(counted.pieces);
        let planned = framed.frame.cells.iter().zip(counted.cells);
        cells.extend(planned.map(|(cell, pieces)| PlannedCell { run, cell: *cell, pieces }));
    }
    let plain: Vec<Cell> = cells.iter().map(|planned| planned.cell).collect();
    let fitted = fit(&plain, batt, rules)?;
    let depth = match (depth(counting), material.thickness) {
        (Some(depth), Some(thickness)) => Some(depth_fit(depth, thickness)?),
        _ => None,
    };
    let deep = depth.map_or(1, |depth| depth.batts_deep).saturating_mul(frames);
    let parts = fitted.repeated(deep)?;
    let sizes: Vec<Size> = parts.iter().map(|part| Size { width: part.width, length: part.height }).collect();
    let stock = Stock { width: batt.width, length: batt.length, kerf: Length::ZERO };
    let cuts = cuts::plan(&sizes, stock, &[])?;
    let without_reuse = without_reuse.saturating_mul(deep);
    Ok(BattPlan { material: material.id, batt, cells, fitted, depth, cuts, without_reuse })
}

fn need_batts(counting: &mut Counting<'_>, material: &Material, plan: &BattPlan) {
    let in_batts = |pieces: u32| plan.depth.map_or(pieces, |depth| depth.batts(pieces));
    let (rule, planned) = (in_batts(plan.without_reuse), in_batts(plan.cuts.bought));
    let pieces = if counting.ask.by_plan { planned } else { rule };
    let waste = waste(counting);
    let Some((exact, units)) = with_waste(pieces, waste) else {
        return counting.not_counted("Batts", "they are more than can be counted; check the sizes");
    };
    let split = match plan.depth {
        Some(DepthFit { slices_per_batt, .. }) if slices_per_batt > 1 => {
            format!(", each split into {slices_per_batt}")
        }
        Some(DepthFit { batts_deep, .. }) if batts_deep > 1 => format!(", {batts_deep} one behind another"),
        _ => String::new(),
    };
    let how = format!(
        "{rule} where every cavity is cut from whole batts, {planned} by the cut plan{split}; {} % more for waste",
        percent(waste)
    );
    counting.need(material, Wanted { part: Part::Batts, exact, units, how });
    if let Some(end_to_end) = plan.fitted.end_to_end {
        counting.note(format!(
            "The batt is shorter than every cavity: {end_to_end} stand end to end in the tallest."
        ));
    }
    if let Some(gap) = plan.depth.map(|depth| depth.gap).filter(|gap| gap.nm() > SMALL_GAP_NM) {
        counting.note(format!("{gap} of the depth stays open: a batt fills the whole depth, or it leaks."));
    }
}

/// A count before and after waste.
pub(super) fn with_waste(pieces: u32, waste: Waste) -> Option<(f64, Decimal)> {
    let counted = waste.pieces(pieces)?;
    Some((f64::from(pieces), Decimal::from_int(i64::from(counted))))
}

/// A waste in percent, for words.
pub(super) fn percent(waste: Waste) -> String {
    let percent = (waste.factor() - 1.0) * 100.0;
    Decimal::from_f64_rounded(percent, 2).map_or_else(String::new, |percent| percent.normalized().to_string())
}

fn loose(counting: &mut Counting<'_>, material: &Material, fill: Option<&Fill>) {
    let name = short(material);
    let per_unit_kg = match material.unit.as_deref() {
        Some("lb") => KG_PER_LB,
        Some("kg") => 1.0,
        _ => return counting.not_counted("Loose fill", format!("{name} is not counted in lb or kg")),
    };
    let Some(Milli(grams)) = fill.and_then(|fill| fill.density_kg_m3) else {
        let why = "the cavity says no density; write it like \"89 clear, cellulose 89, 56 kg/m3, 100%\"";
        return counting.not_counted("Loose fill", why);
    };
    let Some(depth) = depth(counting) else {
        return counting.not_counted("Loose fill", "the frame says no depth");
    };
    let density = Decimal::from_parts(i128::from(grams), 3).ok();
    let density = density.and_then(|density| Density::new(density, DensityUnit::KgPerM3).ok());
    let waste = waste(counting);
    let need = density.map(|density| FillNeed {
        net_area: counting.sheet.net_area,
        depth,
        density,
        bag_kg: per_unit_kg,
        waste,
    });
    let fill = match need.as_ref().map(loose_fill) {
        Some(Ok(fill)) => fill,
        Some(Err(why)) => return counting.not_counted("Loose fill", why),
        None => return counting.not_counted("Loose fill", "its density cannot be read"),
    };
    let exact = fill.weight_kg / per_unit_kg;
    let Some(units) = Decimal::from_f64_rounded(fill.needed, 1) else {
        return counting.not_counted("Loose fill", "it is more than can be counted; check the sizes");
    };
    let unit = material.unit.as_deref().unwrap_or_default();
    let how = format!(
        "{:.1} ft3 of cavity at {} kg/m3 hold {exact:.1} {unit}; {} % more for waste",
        fill.volume_ft3(),
        Decimal::from_parts(i128::from(grams), 3).unwrap_or_default().normalized(),
        percent(waste)
    );
    counting.need(material, Wanted { part: Part::LooseFill, exact, units, how });
}

fn resistance(counting: &Counting<'_>, material: &Material) -> Option<Resistance> {
    let r = RValue::from_us(material.label_r?.to_f64()).ok()?;
    let fibre = match material.made_of.as_deref() {
        Some("glass fibre") => Fibre::Glass,
        Some("stone wool") => Fibre::Stone,
        _ => Fibre::Other,
    };
    let depth = depth(counting)?;
    let cavity = cavity_r(LabelledBatt { r, thickness: material.thickness?, fibre }, depth).ok()?;
    let paths = cavity.r().zip(softwood_r(depth).ok()).zip(counting.sheet.framed);
    let wall = paths.and_then(|((r_cavity, r_frame), framing_fraction)| {
        whole_wall(&WallPaths { framing_fraction, r_frame, r_cavity, series: None }).ok()
    });
    Some(Resistance { cavity, wall })
}
