//! From the parts of an assembly to a wall of the model: which leaves stand, what ties them, how deep the cavity is.

use storypole_acoustics::prediction::{Cavity as ModelCavity, DoubleLeaf, Leaf as ModelLeaf, Tie, Wall};
use storypole_notebook::assembly::{Cavity, Coupling, Fill, Frame, Leaf, Via};
use storypole_notebook::matching::Parts;

use super::NoPrediction;
use super::materials;
use crate::print;

/// Grid of the points that channel, clips and shared plates are taken as, m. Chosen once against published walls on channel;
/// no published value is known here.
const POINT_GRID_M: f64 = 0.6;

/// Compliance of thin steel studs over their length, m²/N. From memory; 5·10⁻⁶ was fitted in one published case.
const THIN_STEEL_M2_N: f64 = 1e-6;

/// Gap between two frames where none is written, mm. Common practice, no source.
const USUAL_GAP_MM: f64 = 25.0;

/// Share of the bays from which a cavity counts as filled. A rule of this project.
const FILLED_BAYS: f64 = 0.5;

/// Share of the depth from which a cavity counts as filled. A rule of this project: a handbook's test with 88 mm in 200 mm shows the
/// whole gain of a filled cavity (Bies, Hansen & Howard, Engineering Noise Control, table 7.6).
const FILLED_DEPTH: f64 = 0.4;

/// The wall without its openings.
pub(super) fn wall(parts: &Parts, assumptions: &mut Vec<String>) -> Result<Wall, NoPrediction> {
    match standing(parts)? {
        Standing::One(side, leaf) => {
            if matches!(parts.frame, Frame::Studs { .. }) {
                assumptions.push(
                    "With studs open on one side the wall is its one leaf; fill in the bays softens the room it faces and \
                     adds nothing here."
                        .to_owned(),
                );
            }
            Ok(Wall::Leaf(model_leaf(side, leaf, assumptions)?))
        }
        Standing::Both => {
            let a = model_leaf("A", &parts.leaf_a, assumptions)?;
            let b = model_leaf("B", &parts.leaf_b, assumptions)?;
            let tie = tie(parts, assumptions)?;
            let cavity = cavity(parts, assumptions)?;
            Ok(Wall::DoubleLeaf(DoubleLeaf::new(a, b, cavity, tie)))
        }
    }
}

/// Which leaves are there.
enum Standing<'a> {
    One(&'static str, &'a Leaf),
    Both,
}

fn standing(parts: &Parts) -> Result<Standing<'_>, NoPrediction> {
    let (a, b) = (&parts.leaf_a, &parts.leaf_b);
    let state = parts.state.as_str();
    let one = match (a, b) {
        // What comes later may be written down already: leaf B does not stand yet.
        (Leaf::Boards { .. }, _) if state == "boarded-a" => Some(("A", a)),
        (Leaf::Unknown, _) => return Err(NoPrediction::Unknown { part: "leaf A" }),
        (_, Leaf::Unknown) => return Err(NoPrediction::Unknown { part: "leaf B" }),
        (Leaf::None, Leaf::None) if parts.frame == Frame::Solid => return Err(NoPrediction::NoMasses),
        (Leaf::None, Leaf::None) => return Err(NoPrediction::NoBoards),
        (Leaf::Boards { .. }, Leaf::None) => Some(("A", a)),
        (Leaf::None, Leaf::Boards { .. }) => Some(("B", b)),
        (Leaf::Boards { .. }, Leaf::Boards { .. }) => None,
    };
    let differs = || NoPrediction::StateDiffers { state: state.to_owned() };
    match one {
        Some(("B", _)) if state == "boarded-a" => Err(differs()),
        Some(_) if state == "boarded-both" => Err(differs()),
        Some((side, leaf)) => Ok(Standing::One(side, leaf)),
        None if state == "bare-studs" => Err(differs()),
        None if parts.frame == Frame::Solid => Err(NoPrediction::NoMasses),
        None => Ok(Standing::Both),
    }
}

fn model_leaf(side: &str, leaf: &Leaf, assumptions: &mut Vec<String>) -> Result<ModelLeaf, NoPrediction> {
    match leaf {
        Leaf::Boards { layers, mass_kg_m2, damping, .. } => {
            materials::leaf(side, layers, *mass_kg_m2, *damping, assumptions)
        }
        Leaf::None | Leaf::Unknown => Err(NoPrediction::NoBoards),
    }
}

fn tie(parts: &Parts, assumptions: &mut Vec<String>) -> Result<Tie, NoPrediction> {
    let Frame::Studs { studs, .. } = &parts.frame else {
        return Err(NoPrediction::Unknown { part: "frame" });
    };
    let spacing_m = studs.spacing_mm.to_f64() / 1000.0;
    let points = |what: &str, assumptions: &mut Vec<String>| {
        assumptions.push(format!("{what} as points 0.6 m apart, a choice of this project."));
        Tie::point(POINT_GRID_M)
    };
    let tie = match parts.coupling() {
        Coupling::SingleWood => {
            if parts.fill().is_some() {
                assumptions.push(
                    "Both leaves stand on the same rigid studs: filled walls of this kind come out 1 to 5 dB better in the \
                     model than in laboratory tests."
                        .to_owned(),
                );
            }
            Tie::line(spacing_m, 0.0)
        }
        Coupling::SingleSteelThin => {
            assumptions.push("Thin steel studs are taken with a springiness from memory.".to_owned());
            Tie::line(spacing_m, THIN_STEEL_M2_N)
        }
        Coupling::SingleSteelStructural => {
            assumptions.push("Structural steel studs are taken as stiff as wood.".to_owned());
            Tie::line(spacing_m, 0.0)
        }
        Coupling::Resilient => points("Channel is taken to hold the leaf", assumptions),
        Coupling::Clip => points("Clips are taken to hold the leaf", assumptions),
        Coupling::Staggered => {
            points("The plates that both rows of studs share are taken to tie the leaves", assumptions)
        }
        Coupling::Double => {
            assumptions.push("The two frames are taken not to touch anywhere.".to_owned());
            Ok(Tie::None)
        }
        Coupling::Open | Coupling::Solid => return Err(NoPrediction::NoBoards),
    };
    Ok(tie?)
}

fn cavity(parts: &Parts, assumptions: &mut Vec<String>) -> Result<ModelCavity, NoPrediction> {
    let (clear_mm, fill) = match &parts.cavity {
        Cavity::None => return Err(NoPrediction::NoCavity),
        Cavity::Unknown => return Err(NoPrediction::Unknown { part: "cavity" }),
        Cavity::Space { clear_mm, fill } => (clear_mm.map(|depth| depth.to_f64()), fill.as_ref()),
    };
    let depth_mm = match clear_mm {
        Some(depth_mm) => depth_mm,
        None => {
            let depth_mm = frame_depth_mm(parts).ok_or(NoPrediction::Unknown { part: "frame" })?;
            assumptions.push(format!(
                "The cavity is taken to be {} mm deep, from the frame.",
                print::decimals(depth_mm, 0)
            ));
            depth_mm
        }
    };
    if is_divided(&parts.frame, depth_mm) {
        return Err(NoPrediction::InnerBoards);
    }
    let absorbed = fill.map(|fill| absorbs(fill, depth_mm, assumptions)).transpose()?.unwrap_or(false);
    Ok(ModelCavity::new(depth_mm / 1000.0, absorbed)?)
}

/// Whether two frames do not fit between the leaves, so that board must lie on their inner faces.
fn is_divided(frame: &Frame, clear_mm: f64) -> bool {
    match frame {
        Frame::Studs { arrangement: Coupling::Double, studs, .. } => {
            // A millimetre for rounded sizes.
            clear_mm + 1.0 < 2.0 * studs.depth_mm.to_f64()
        }
        _ => false,
    }
}

/// Depth from board to board that the frame and its channel tell, mm.
fn frame_depth_mm(parts: &Parts) -> Option<f64> {
    let Frame::Studs { arrangement, studs, plate_mm, gap_mm, .. } = &parts.frame else { return None };
    let depth_mm = studs.depth_mm.to_f64();
    let frame_mm = match arrangement {
        Coupling::Double => 2.0 * depth_mm + gap_mm.map_or(USUAL_GAP_MM, |gap| gap.to_f64()),
        Coupling::Staggered => plate_mm.map_or(depth_mm, |(_, plate)| plate.to_f64()),
        _ => depth_mm,
    };
    let channel_mm = |leaf: &Leaf| match leaf {
        Leaf::Boards { via: Via::Channel { depth_mm, .. }, .. } => depth_mm.to_f64(),
        _ => 0.0,
    };
    Some(frame_mm + channel_mm(&parts.leaf_a) + channel_mm(&parts.leaf_b))
}

/// Whether a fill makes the cavity an absorbed one.
fn absorbs(fill: &Fill, depth_mm: f64, assumptions: &mut Vec<String>) -> Result<bool, NoPrediction> {
    match fill.kind.as_str() {
        "glass fibre" | "stone wool" | "cellulose" | "cotton" => (),
        kind if kind.ends_with("foam") => {
            assumptions.push(format!(
                "The {kind} is counted as an empty cavity: foam hardly absorbs, and can stiffen."
            ));
            return Ok(false);
        }
        kind => return Err(NoPrediction::Fill { kind: kind.to_owned() }),
    }
    let of_bays = fill.coverage_percent.map_or(1.0, |percent| f64::from(percent) / 100.0);
    let of_depth = (fill.thickness_mm.to_f64() / depth_mm).min(1.0);
    let filled = of_bays >= FILLED_BAYS && of_depth >= FILLED_DEPTH;
    if of_bays < 1.0 {
        let counted = if filled { "filled" } else { "empty" };
        assumptions.push(format!(
            "{} of the bays are filled; the wall is counted as {counted}.",
            print::percent(of_bays)
        ));
    }
    if of_depth < 0.9 {
        let counted = if filled { "a full one" } else { "none" };
        assumptions.push(format!(
            "The fill takes up {} of the depth and is counted as {counted}.",
            print::percent(of_depth)
        ));
    }
    Ok(filled)
}
