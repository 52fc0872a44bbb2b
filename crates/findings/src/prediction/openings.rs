//! Doors, windows, grilles and cracks as paths with a loss in third octaves.
//!
//! Boxes are small and mostly covered; they are no path of their own here.

use storypole_acoustics::prediction::{PredictionError, slit::SlitPlace, slit::slit_db};
use storypole_acoustics::{Band, Fraction, Spectrum};
use storypole_notebook::assembly::{Cavity, Leaf, Opening, Openings};
use storypole_notebook::matching::Parts;

use super::NoPrediction;
use crate::paths::opening_loss;

/// An opening with its loss.
#[derive(Debug, Clone)]
pub(super) struct Hole {
    /// What it is, in words.
    pub words: String,
    /// Its area, m², above zero.
    pub area_m2: f64,
    /// Its loss, third octaves 50 to 5000 Hz, dB.
    pub loss: Spectrum,
    /// Where the loss comes from.
    pub source: &'static str,
}

/// Octaves of the doors below, Hz.
const OCTAVES_HZ: [f64; 6] = [125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0];

/// A hollow-core door of 43 mm and 9 kg/m² with usual cracks, dB. Bies, Hansen & Howard, Engineering Noise Control, table of
/// transmission losses.
const HOLLOW_DOOR_DB: [f64; 6] = [12.0, 13.0, 14.0, 16.0, 18.0, 24.0];

/// A solid hardwood door of 43 mm and 28 kg/m² with usual cracks, dB. The same table.
const SOLID_DOOR_DB: [f64; 6] = [17.0, 21.0, 26.0, 29.0, 31.0, 34.0];

const DOOR_SOURCE: &str = "handbook octaves of a door with usual cracks, between them straight in lg f";
const GAP_SOURCE: &str = "an open gap lets everything through";
const SLIT_SOURCE: &str = "Gomperts, as in Hopkins, Sound Insulation, in mid wall";

/// Height of a door leaf where only its area is written, m: 80 in. Common practice, no source.
const DOOR_HEIGHT_M: f64 = 2.032;

/// The openings of an assembly, gaps under doors as paths of their own.
pub(super) fn holes(parts: &Parts, assumptions: &mut Vec<String>) -> Result<Vec<Hole>, NoPrediction> {
    let list = match &parts.openings {
        Openings::None => return Ok(Vec::new()),
        Openings::Unknown => return Err(NoPrediction::Unknown { part: "openings" }),
        Openings::List(list) => list,
    };
    let mut holes = Vec::new();
    for opening in list {
        let Opening::Hole { kind, slab, area_m2, undercut_mm, .. } = opening else { continue };
        let area_m2 = area_m2.map(|area| area.to_f64());
        if kind == "crack" {
            holes.push(crack(slab, area_m2, parts, assumptions)?);
            continue;
        }
        let words = if slab.is_empty() { kind.clone() } else { format!("{slab} {kind}") };
        let area_m2 = area_m2.filter(|area| *area > 0.0).ok_or(NoPrediction::NoOpeningArea)?;
        let (loss, source) = leaf_loss(opening, &words, assumptions)?;
        holes.push(Hole { words: words.clone(), area_m2, loss, source });
        if let Some(gap_mm) = undercut_mm.map(|gap| gap.to_f64()).filter(|gap| *gap > 0.0) {
            holes.push(gap_under(&words, area_m2, gap_mm, assumptions));
        }
    }
    Ok(holes)
}

/// Loss of a door, window or grille.
fn leaf_loss(
    opening: &Opening,
    words: &str,
    assumptions: &mut Vec<String>,
) -> Result<(Spectrum, &'static str), NoPrediction> {
    let Opening::Hole { kind, slab, .. } = opening else {
        return Err(NoPrediction::NoOpeningLoss { words: words.to_owned() });
    };
    let is_door = kind == "door" && !slab.contains("louv");
    if is_door && slab.contains("hollow") {
        return Ok((from_octaves(HOLLOW_DOOR_DB), DOOR_SOURCE));
    }
    if is_door && slab.contains("solid") && opening.is_unsealed() {
        return Ok((from_octaves(SOLID_DOOR_DB), DOOR_SOURCE));
    }
    let range =
        opening_loss(opening).ok_or_else(|| NoPrediction::NoOpeningLoss { words: words.to_owned() })?;
    assumptions.push(format!(
        "The {words} is taken with {} dB in every band, a single number; bass gets through better.",
        crate::print::decimals(range.typical_db, 0)
    ));
    Ok((flat(range.typical_db), range.source))
}

fn gap_under(words: &str, door_m2: f64, gap_mm: f64, assumptions: &mut Vec<String>) -> Hole {
    let width_m = door_m2 / DOOR_HEIGHT_M;
    assumptions.push(format!(
        "The gap under the {words} is taken as open over a width of {} m; the door's own loss counts usual cracks already.",
        crate::print::decimals(width_m, 2)
    ));
    Hole {
        words: format!("gap under the {words}"),
        area_m2: width_m * gap_mm / 1000.0,
        loss: flat(0.0),
        source: GAP_SOURCE,
    }
}

/// A crack by its size, `3.175x609.6` in millimetres, or by its area alone.
fn crack(
    size: &str,
    area_m2: Option<f64>,
    parts: &Parts,
    assumptions: &mut Vec<String>,
) -> Result<Hole, NoPrediction> {
    let sides = size.split_once('x').and_then(|(width, length)| {
        let side = |text: &str| text.trim().parse::<f64>().ok().filter(|mm| mm.is_finite() && *mm > 0.0);
        Some((side(width)? / 1000.0, side(length)? / 1000.0))
    });
    let hole = |area_m2: f64, loss, source| Hole { words: "crack".to_owned(), area_m2, loss, source };
    let area_m2 = area_m2.or(sides.map(|(width_m, length_m)| width_m * length_m));
    let area_m2 = area_m2.filter(|area| *area > 0.0).ok_or(NoPrediction::NoOpeningArea)?;
    if let (Some((width_m, _)), Some(depth_m)) = (sides, wall_depth_m(parts))
        && let Ok(loss) = slit_bands(width_m, depth_m)
    {
        assumptions.push("The crack is taken as a straight slit through the whole wall.".to_owned());
        return Ok(hole(area_m2, loss, SLIT_SOURCE));
    }
    assumptions.push("The crack is taken as an open hole.".to_owned());
    Ok(hole(area_m2, flat(0.0), GAP_SOURCE))
}

/// Thickness of the wall with its boards, m, where all of it is written.
fn wall_depth_m(parts: &Parts) -> Option<f64> {
    let boards_mm = |leaf: &Leaf| match leaf {
        Leaf::Boards { layers, .. } => {
            Some(layers.iter().map(|layer| layer.thickness_mm.to_f64() * f64::from(layer.count)).sum::<f64>())
        }
        Leaf::None => Some(0.0),
        Leaf::Unknown => None,
    };
    let (a, b) = (boards_mm(&parts.leaf_a)?, boards_mm(&parts.leaf_b)?);
    if a == 0.0 || b == 0.0 {
        return Some((a + b) / 1000.0);
    }
    let Cavity::Space { clear_mm: Some(clear), .. } = &parts.cavity else { return None };
    Some((a + clear.to_f64() + b) / 1000.0)
}

fn slit_bands(width_m: f64, depth_m: f64) -> Result<Spectrum, PredictionError> {
    let loss = |band: Band| Ok((band, slit_db(width_m, depth_m, SlitPlace::MidWall, band.exact_hz())?));
    let values = thirds().into_iter().map(loss).collect::<Result<_, PredictionError>>()?;
    Ok(Spectrum::of(values).expect("the bands ascend, the losses are finite"))
}

fn thirds() -> Vec<Band> {
    Band::range(Fraction::Third, 50.0, 5000.0).expect("both are labels of third octaves")
}

fn flat(loss_db: f64) -> Spectrum {
    Spectrum::of(thirds().into_iter().map(|band| (band, loss_db)).collect()).expect("the bands ascend")
}

/// Octaves to thirds: straight in lg f between the mid-bands, the outermost value beyond them.
fn from_octaves(octaves_db: [f64; 6]) -> Spectrum {
    let at = |band: Band| {
        let octaves = (band.nominal_hz() / OCTAVES_HZ[0]).log2().clamp(0.0, 5.0);
        let below = (octaves.floor() as usize).min(4);
        let (from_db, to_db) = (octaves_db[below], octaves_db[below + 1]);
        (band, from_db + (octaves - below as f64) * (to_db - from_db))
    };
    Spectrum::of(thirds().into_iter().map(at).collect()).expect("the bands ascend, the losses are finite")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn octaves_stand_at_their_own_bands_and_between_are_straight() {
        // The handbook's own values at its mid-bands; between them by hand: 13 + (14 - 13)·lg(400/250)/lg 2 = 13.678.
        let doors = from_octaves(HOLLOW_DOOR_DB);
        let at = |hz: f64| doors.get(Band::nominal(Fraction::Third, hz).unwrap()).unwrap();
        for (hz, expected_db) in OCTAVES_HZ.into_iter().zip(HOLLOW_DOOR_DB) {
            assert!((at(hz) - expected_db).abs() < 1e-9, "{hz}: {}", at(hz));
        }
        assert!((at(400.0) - 13.678_071_905).abs() < 1e-6, "{}", at(400.0));
        assert_eq!((at(50.0), at(100.0), at(5000.0)), (12.0, 12.0, 24.0));
        assert_eq!(doors.values().len(), 21);
    }
}
