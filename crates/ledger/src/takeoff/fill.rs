//! What fills the cavities: batts with their cuts, or loose fill by weight; and what they resist as built.

use storypole_journal::RecordId;
use storypole_notebook::assembly::{Coupling, Fill, Frame, Milli};
use storypole_notebook::kinds::Material;
use storypole_takeoff::Waste;
use storypole_takeoff::batts::{Batt, batts};
use storypole_takeoff::cuts::{self, CutPlan, Size, Stock};
use storypole_takeoff::fit::{DepthFit, Fit, Fitted, fit};
use storypole_takeoff::loose_fill::{FillNeed, KG_PER_LB, loose_fill};
use storypole_takeoff::thermal::whole_wall::{WallPaths, WholeWall, softwood_r, whole_wall};
use storypole_takeoff::thermal::{CavityR, Fibre, LabelledBatt, RValue, cavity_r};
use storypole_takeoff::wall::{Cell, Wall};
use storypole_units::density::DensityUnit;
use storypole_units::{Decimal, Density, Length};

use super::added::Added;
use super::buy::{Counting, Part, Wanted};
use super::choice::short;
use super::depth::{Depth, SMALL_GAP_NM};
use super::framing::frame_part;

/// Waste of batts and of loose fill in an open wall. Common practice, no source.
const FILL_WASTE: &str = "0.05";

/// How batts are cut for an assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct BattPlan {
    /// The batt.
    pub material: RecordId,
    /// Its face.
    pub batt: Batt,
    /// Every cell of every wall, in the order of walls; a part's cell is an index into these.
    pub cells: Vec<PlannedCell>,
    /// How pieces are cut to their cells: by the inch, or by the millimetre where the studs were set out so.
    pub rules: Fit,
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
    /// Of the wall with its studs, without boards and air films; `None` where the cavity's is not known, or the studs are not
    /// one row of wood.
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
    if let Some(share) = fill.coverage_percent.filter(|share| *share < 100) {
        counting.note(format!("The cavity is written as filled to {share} %; all of it is counted."));
    }
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

fn depth(counting: &Counting<'_>) -> Option<Depth> {
    Depth::of(counting.book, counting.one)
}

/// Notes where the fill is written otherwise than it is counted, all frames together.
fn note_thickness(counting: &mut Counting<'_>, counted_nm: i64, exactly: bool) {
    let written = depth(counting).and_then(|depth| depth.written_otherwise(counted_nm, exactly));
    if let Some((written, counted)) = written.zip(Length::from_nm(counted_nm).ok()) {
        counting.note(format!(
            "The fill is written {} thick, {} of it is counted: correct the cavity or the frame if that is wrong.",
            written.metric(),
            counted.metric()
        ));
    }
}

fn frames(counting: &Counting<'_>) -> u32 {
    counting.sheet.runs.first().map_or(1, |run| run.frame.frames)
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
    let rules = rules(counting.sheet.runs.iter().map(|run| &run.wall));
    let mut cells = Vec::new();
    let mut without_reuse = 0u32;
    let frames = frames(counting);
    for (run, framed) in counting.sheet.runs.iter().enumerate() {
        let counted = batts(&framed.frame, batt, rules.min_bay_width)?;
        without_reuse = without_reuse.saturating_add(counted.pieces);
        let planned = framed.frame.cells.iter().zip(counted.cells);
        cells.extend(planned.map(|(cell, pieces)| PlannedCell { run, cell: *cell, pieces }));
    }
    let plain: Vec<Cell> = cells.iter().map(|planned| planned.cell).collect();
    let fitted = fit(&plain, batt, rules)?;
    let depth = match (depth(counting), material.thickness) {
        (Some(depth), Some(thickness)) => Some(depth.batts(thickness)?),
        _ => None,
    };
    let deep = depth.map_or(1, |depth| depth.batts_deep).saturating_mul(frames);
    let parts = fitted.repeated(deep)?;
    let sizes: Vec<Size> = parts.iter().map(|part| Size { width: part.width, length: part.height }).collect();
    let stock = Stock { width: batt.width, length: batt.length, kerf: Length::ZERO };
    let cuts = cuts::plan(&sizes, stock, &[])?;
    let without_reuse = without_reuse.saturating_mul(deep);
    Ok(BattPlan { material: material.id, batt, cells, rules, fitted, depth, cuts, without_reuse })
}

/// The usual way to cut in the unit in which studs were set out: in millimetres where a spacing, or the place of a stud that
/// was measured, is no mark of an inch tape.
fn rules<'a>(mut walls: impl Iterator<Item = &'a Wall>) -> Fit {
    let is_marked = |place: &Length| place.inches().is_some();
    // Places that were measured count instead of a spacing.
    let is_in_inches = |wall: &Wall| match &wall.studs_at[..] {
        [] => is_marked(&wall.spacing),
        places => places.iter().all(is_marked),
    };
    if walls.all(is_in_inches) { Fit::inches() } else { Fit::millimetres() }
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
    if let (Some(fitted), Some(depth)) = (plan.depth, depth(counting)) {
        let one_nm = depth.clear.nm() - fitted.gap.nm();
        note_thickness(counting, one_nm * i64::from(frames(counting)), false);
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
    let weighed = match weigh(counting, grams, per_unit_kg) {
        Ok(weighed) => weighed,
        Err(why) => return counting.not_counted("Loose fill", why),
    };
    let Some(units) = Decimal::from_f64_rounded(weighed.needed, 1) else {
        return counting.not_counted("Loose fill", "it is more than can be counted; check the sizes");
    };
    let unit = material.unit.as_deref().unwrap_or_default();
    if let Some(depth) = depth(counting) {
        let frames_nm = depth.loose().nm() * i64::from(frames(counting));
        note_thickness(counting, frames_nm + depth.loose_in_gap().nm(), true);
    }
    let exact = weighed.exact;
    let how = format!(
        "{:.1} ft3 of cavity at {} kg/m3 hold {exact:.1} {unit}; {} % more for waste",
        weighed.volume_ft3,
        Decimal::from_parts(i128::from(grams), 3).unwrap_or_default().normalized(),
        percent(waste(counting))
    );
    counting.need(material, Wanted { part: Part::LooseFill, exact, units, how });
}

/// Loose fill in the units of its material.
#[derive(Default)]
struct Weighed {
    volume_ft3: f64,
    exact: f64,
    needed: f64,
}

/// Weighs the fill of all cavities, and of the gap between two frames.
fn weigh(counting: &Counting<'_>, grams: i64, per_unit_kg: f64) -> Result<Weighed, Why> {
    let depth = depth(counting).ok_or("the frame says no depth")?;
    let density = Density::new(Decimal::from_parts(i128::from(grams), 3)?, DensityUnit::KgPerM3)?;
    let mut spaces = vec![(counting.sheet.net_area, depth.loose())];
    let gap = depth.loose_in_gap();
    if gap > Length::ZERO {
        spaces.extend(counting.sheet.runs.iter().map(|run| (run.closed_area(), gap)));
    }
    let mut all = Weighed::default();
    for (net_area, depth) in spaces {
        let need = FillNeed { net_area, depth, density, bag_kg: per_unit_kg, waste: waste(counting) };
        let one = loose_fill(&need)?;
        all.volume_ft3 += one.volume_ft3();
        all.exact += one.weight_kg / per_unit_kg;
        all.needed += one.needed;
    }
    Ok(all)
}

fn resistance(counting: &Counting<'_>, material: &Material) -> Option<Resistance> {
    let r = RValue::from_us(material.label_r?.to_f64()).ok()?;
    let fibre = match material.made_of.as_deref() {
        Some("glass fibre") => Fibre::Glass,
        Some("stone wool") => Fibre::Stone,
        _ => Fibre::Other,
    };
    let depth = depth(counting)?;
    let cavity = in_cavity(LabelledBatt { r, thickness: material.thickness?, fibre }, depth)?;
    let frame = frame_part(counting.book, counting.one.id);
    // Steel carries heat otherwise, and two rows of studs do not reach from face to face.
    let is_wood = matches!(frame, Some(Frame::Studs { arrangement: Coupling::SingleWood, .. }));
    let paths = cavity.r().zip(softwood_r(depth.clear).ok()).zip(counting.sheet.framed).filter(|_| is_wood);
    let wall = paths.and_then(|((r_cavity, r_frame), framing_fraction)| {
        whole_wall(&WallPaths { framing_fraction, r_frame, r_cavity, series: None }).ok()
    });
    Some(Resistance { cavity, wall })
}

/// What one batt resists in its cavity, or several one behind another that nothing squeezes: then they add up. `None` for
/// slices, and for several that are squeezed, of which no label tells.
fn in_cavity(batt: LabelledBatt, depth: Depth) -> Option<CavityR> {
    let fitted = depth.batts(batt.thickness).ok()?;
    if (fitted.batts_deep, fitted.slices_per_batt) == (1, 1) {
        return cavity_r(batt, depth.clear).ok();
    }
    let is_plain = fitted.slices_per_batt == 1 && fitted.squeezed_from.is_none();
    let r = RValue::from_us(batt.r.us() * f64::from(fitted.batts_deep)).ok().filter(|_| is_plain)?;
    Some(CavityR::Label { r, gap: fitted.gap })
}
