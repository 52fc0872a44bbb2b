//! Boards by name: what they weigh and where their critical frequency lies.
//!
//! A mass that is written down wins over every table. Leaves out what has no known stiffness: such a layer weighs, but a leaf of
//! nothing else is refused.

use storypole_acoustics::prediction::{Board, Leaf as ModelLeaf};
use storypole_notebook::assembly::{Layer, Milli};

use super::NoPrediction;
use crate::print;

/// What is known of a material.
#[derive(Debug, Clone, Copy)]
struct Material {
    /// kg/m² for each millimetre.
    mass_per_mm: f64,
    /// For its critical frequency; none for limp sheets and for stiffness nobody knows here.
    board: Option<Board>,
}

/// Words that name a material, the first that fits counting; trade tables for the masses.
const MATERIALS: &[(&[&str], Material)] = &[
    // 12.7 mm weighs 12 to 15 kg/m² (from memory); its stiffness is not known here.
    (&["cement"], Material { mass_per_mm: 1.06, board: None }),
    // About 3 mm weighs 4.9 kg/m² (from memory); limp.
    (&["vinyl"], Material { mass_per_mm: 1.63, board: None }),
    // 18 mm weighs 10 to 11 kg/m² (published).
    (&["plywood"], Material { mass_per_mm: 0.58, board: Some(Board::Plywood) }),
    // 11 mm weighs 7 kg/m² (from memory).
    (&["osb", "strand"], Material { mass_per_mm: 0.64, board: Some(Board::StrandBoard) }),
    // 750 kg/m³ (from memory).
    (&["mdf", "medium-density"], Material { mass_per_mm: 0.75, board: Some(Board::Fibreboard) }),
    // 2300 kg/m³ (from memory).
    (&["concrete"], Material { mass_per_mm: 2.3, board: Some(Board::Concrete) }),
    (&["gypsum", "drywall", "plasterboard"], Material { mass_per_mm: 0.66, board: Some(Board::Gypsum) }),
];

/// 6 mm weighs 15 kg/m² (published). Apart from the others, for glass fibre is no glass.
const GLASS: Material = Material { mass_per_mm: 2.5, board: Some(Board::Glass) };

/// Gypsum board by thickness, mm and kg/m²: middles of published ranges.
const GYPSUM_KG_M2: &[(f64, f64)] = &[(6.4, 5.9), (9.5, 6.8), (12.7, 8.05), (15.9, 10.95)];

/// Lightweight gypsum board, kg/m² for each millimetre: 12.7 mm weighs 6.1 to 6.8 kg/m² (published).
const LIGHT_GYPSUM_PER_MM: f64 = 6.45 / 12.7;

/// Words of layers that part boards rather than join them.
const SOFT: &[&str] = &[
    "fibre",
    "fiber",
    "fibreglass",
    "fiberglass",
    "wool",
    "foam",
    "cellulose",
    "air",
    "batten",
    "battens",
    "furring",
    "channel",
];

/// Loss factor of installed board. Handbooks have 0.01 to 0.03 (from memory).
const LOSS_FACTOR: f64 = 0.03;

/// Loss factor with damping compound between boards. A rule of this project.
const DAMPED_LOSS_FACTOR: f64 = 0.1;

/// The boards on one side as one leaf of the model.
///
/// Boards laid loose or screwed add their masses and keep their own critical frequency; the lowest of them counts.
pub(super) fn leaf(
    side: &str,
    layers: &[Layer],
    written_kg_m2: Option<Milli>,
    damping: bool,
    assumptions: &mut Vec<String>,
) -> Result<ModelLeaf, NoPrediction> {
    if let Some(between) =
        layers.get(1..layers.len().saturating_sub(1)).unwrap_or_default().iter().find(|layer| is_soft(layer))
    {
        return Err(NoPrediction::TripleLeaf { material: between.material.clone() });
    }
    let known = layers.iter().map(known).collect::<Result<Vec<_>, _>>()?;
    let mass_kg_m2 = mass(side, layers, &known, written_kg_m2, assumptions);
    let critical = known.iter().filter_map(|(_, critical)| *critical).reduce(f64::min);
    let Some(critical_hz) = critical else {
        let names: Vec<&str> = layers.iter().map(|layer| layer.material.as_str()).collect();
        return Err(NoPrediction::UnknownMaterial { material: print::list(&names) });
    };
    let several = known.iter().any(|(_, other)| other.is_none_or(|other| other > critical_hz + 1.0));
    let which = if several { ", that of its stiffest board" } else { "" };
    assumptions.push(format!(
        "Leaf {side} is taken to have its dip near {} Hz{which}.",
        print::decimals((critical_hz / 50.0).round() * 50.0, 0)
    ));
    let boards: u32 = layers.iter().map(|layer| u32::from(layer.count)).sum();
    let damped = damping && boards > 1;
    if damped {
        assumptions.push(format!(
            "The compound in leaf {side} is taken as a loss factor of 0.1, which is a rule of this project: published walls with it gain \
             more than the model says."
        ));
    }
    let loss_factor = if damped { DAMPED_LOSS_FACTOR } else { LOSS_FACTOR };
    Ok(ModelLeaf::new(mass_kg_m2, critical_hz, loss_factor)?)
}

/// Mass of a leaf, kg/m²: as written, or the sum of its boards.
fn mass(
    side: &str,
    layers: &[Layer],
    known: &[(f64, Option<f64>)],
    written_kg_m2: Option<Milli>,
    assumptions: &mut Vec<String>,
) -> f64 {
    if let Some(mass) = written_kg_m2 {
        return mass.to_f64();
    }
    let sum: f64 = known.iter().zip(layers).map(|((mass, _), layer)| mass * f64::from(layer.count)).sum();
    assumptions.push(format!(
        "Leaf {side} is taken to weigh {} kg/m², from tables of its boards.",
        print::decimals(sum, 1)
    ));
    sum
}

/// Mass over area and critical frequency of one board of a layer.
fn known(layer: &Layer) -> Result<(f64, Option<f64>), NoPrediction> {
    let material = find(&layer.material)?;
    let thickness_mm = layer.thickness_mm.to_f64();
    let critical = material.board.map(|board| board.critical_hz(thickness_mm / 1000.0)).transpose()?;
    Ok((weigh(material, layer), critical))
}

/// Mass over area of one board of a layer, kg/m²; `None` of a material that is in no table here.
pub(super) fn board_kg_m2(layer: &Layer) -> Option<f64> {
    find(&layer.material).ok().map(|material| weigh(material, layer))
}

fn weigh(material: Material, layer: &Layer) -> f64 {
    let thickness_mm = layer.thickness_mm.to_f64();
    match material.board {
        Some(Board::Gypsum) => gypsum_kg_m2(&layer.material, thickness_mm, material.mass_per_mm),
        _ => material.mass_per_mm * thickness_mm,
    }
}

fn find(name: &str) -> Result<Material, NoPrediction> {
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    if let Some((_, material)) = MATERIALS.iter().find(|(words, _)| has(words)) {
        return Ok(*material);
    }
    if words(name).any(|word| word == "glass") && !words(name).any(|word| SOFT.contains(&word)) {
        return Ok(GLASS);
    }
    Err(NoPrediction::UnknownMaterial { material: name.to_owned() })
}

fn is_soft(layer: &Layer) -> bool {
    let name = layer.material.as_str();
    let is_board = MATERIALS.iter().any(|(words, _)| words.iter().any(|word| name.contains(word)));
    !is_board && words(name).any(|word| SOFT.contains(&word))
}

/// Whole words: "air" is in "stair" and "fibre" in "fibreboard", which is no soft layer.
fn words(name: &str) -> impl Iterator<Item = &str> {
    name.split([' ', '-', '/'])
}

fn gypsum_kg_m2(name: &str, thickness_mm: f64, mass_per_mm: f64) -> f64 {
    if name.contains("light") {
        return LIGHT_GYPSUM_PER_MM * thickness_mm;
    }
    let row = GYPSUM_KG_M2.iter().find(|(thickness, _)| (thickness - thickness_mm).abs() <= 0.6);
    row.map_or(mass_per_mm * thickness_mm, |(_, mass)| *mass)
}
