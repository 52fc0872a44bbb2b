//! Where a decay sinks into the noise: the level of the noise, the moment, and the slope there.
//!
//! Works on energies, that is squared pressures of any unit at equal steps. Leaves out integration and smoothing.

use super::curve::Line;
use crate::levels::power_ratio;

/// The part of a record that is taken for noise at first. Common practice, no source.
const TAIL_SHARE: f64 = 0.1;

/// Two looks at the noise that agree this well are one noise, seen for longer; else the quieter one counts.
const SAME_NOISE_DB: f64 = 3.0;

/// Net blocks must lie this far above the noise to carry the slope.
const CLEAR_OF_NOISE_DB: f64 = 7.0;

/// The slope that counts is the one of the last decibels above the noise: a bent decay ends flatter than it began.
const LATE_PART_DB: f64 = 25.0;

/// From this far below the noise on, the decay no longer raises it: 10 dB are 0.4 dB.
const SUNK_DB: f64 = 10.0;

/// Block widths tried until enough of them lie on the decay, s.
const WIDTHS_S: [f64; 5] = [0.03, 0.01, 0.003, 0.001, 0.0003];

const FEWEST_BLOCKS: usize = 6;

/// A noise this far below the start is the end of the numbers, not a noise.
const NO_NOISE: f64 = 1e-15;

/// Where a decay meets the noise. Energies in the unit that came in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Floor {
    /// Mean energy of the noise; 0 where there is none.
    pub(super) noise: f64,
    /// When the decay is as loud as the noise, s from the start.
    pub(super) crossing_s: f64,
    /// Fall of the last part of the decay, dB/s, above zero.
    pub(super) fall_db_per_s: f64,
    /// The record ends before the noise does begin.
    pub(super) is_cut_short: bool,
}

impl Floor {
    /// How fast energy decays at the end, 1/s: `α = ln(10)/10·fall`.
    pub(super) fn alpha_per_s(&self) -> f64 {
        self.fall_db_per_s * std::f64::consts::LN_10 / 10.0
    }
}

/// Finds the noise of a record that starts with the decay, `None` where no decay stands out of it.
///
/// The noise is first the mean of the last tenth. A line goes through what is left of blocks of energy after taking the
/// noise off; where it meets the noise, the decay ends, and the noise is looked at anew from beyond that moment. The
/// method of Lundeby and others (Acustica 81, 1995), from memory, with the noise taken off each block.
pub(super) fn find(energy: &[f64], dt_s: f64, noise_before: Option<f64>) -> Option<Floor> {
    if energy.is_empty() {
        return None;
    }
    let mut noise = joined(tail(energy, energy.len()), noise_before);
    let mut floor = meet(energy, dt_s, noise)?;
    // Settles within a few rounds or swings about the answer; either way ten are enough.
    for _ in 0..10 {
        let sunk_s = floor.crossing_s + SUNK_DB / floor.fall_db_per_s;
        let anew = joined(tail(energy, (sunk_s / dt_s) as usize), noise_before);
        if anew <= 0.0 || (anew / noise - 1.0).abs() < 0.002 {
            break;
        }
        noise = anew;
        floor = meet(energy, dt_s, noise)?;
    }
    Some(floor)
}

/// Mean energy from an index on, and of the last tenth at least.
fn tail(energy: &[f64], from: usize) -> f64 {
    let latest = energy.len() - ((energy.len() as f64 * TAIL_SHARE) as usize).clamp(1, energy.len());
    mean(&energy[from.min(latest)..])
}

fn joined(after: f64, before: Option<f64>) -> f64 {
    match before {
        Some(before) if before > 0.0 && after > 0.0 => {
            let apart_db = 10.0 * (before / after).log10();
            if apart_db.abs() <= SAME_NOISE_DB { (before + after) / 2.0 } else { before.min(after) }
        }
        Some(before) => before.min(after),
        None => after,
    }
}

/// Lays the line for one guess of the noise.
fn meet(energy: &[f64], dt_s: f64, noise: f64) -> Option<Floor> {
    let record_s = energy.len() as f64 * dt_s;
    let line = WIDTHS_S.iter().find_map(|width_s| {
        let width = ((width_s / dt_s).round() as usize).max(1);
        late_line(energy, width, noise)
    })?;
    let fall_db_per_s = -line.slope / dt_s;
    let loudest = energy.iter().copied().fold(0.0, f64::max);
    let is_silent = noise <= loudest * NO_NOISE;
    let crossing_s =
        if is_silent { record_s } else { (10.0 * noise.log10() - line.intercept) / line.slope * dt_s };
    let is_fit =
        fall_db_per_s > 0.0 && fall_db_per_s.is_finite() && crossing_s.is_finite() && crossing_s > 0.0;
    is_fit.then(|| Floor {
        noise: if is_silent { 0.0 } else { noise },
        crossing_s: crossing_s.min(record_s),
        fall_db_per_s,
        is_cut_short: !is_silent && crossing_s > record_s * (1.0 - TAIL_SHARE),
    })
}

/// The line, in dB over samples, through the last decibels of the decay above the noise.
fn late_line(energy: &[f64], width: usize, noise: f64) -> Option<Line> {
    let blocks: Vec<f64> = energy.chunks_exact(width).map(|block| mean(block) - noise).collect();
    let loudest = blocks.iter().copied().fold(0.0, f64::max);
    let first = blocks.iter().position(|net| *net >= loudest)?;
    let lowest = (noise * power_ratio(CLEAR_OF_NOISE_DB)).max(loudest * NO_NOISE);
    if loudest <= lowest {
        return None;
    }
    // One quiet block is a beat of a narrow band; three together are the end.
    let sunk = blocks[first..].windows(3).position(|three| mean(three) < lowest);
    let end = sunk.map_or(blocks.len(), |index| first + index);
    let line = |highest: f64| {
        let points = blocks[..end].iter().enumerate().skip(first);
        let points = points.filter(move |(_, net)| **net > lowest && **net <= highest);
        let count = points.clone().count();
        let centre = |index: usize| (index as f64 + 0.5) * width as f64 - 0.5;
        let line = Line::through(points.map(|(index, net)| (centre(index), 10.0 * net.log10())));
        line.filter(|_| count >= FEWEST_BLOCKS).map(|line| at_centres(line, width))
    };
    line(lowest * power_ratio(LATE_PART_DB)).or_else(|| line(loudest))
}

/// Takes off what the mean of a falling block lies above its centre: `10·lg(sinh(x)/x)`, x half the fall in nepers of power.
fn at_centres(line: Line, width: usize) -> Line {
    let x = line.slope * width as f64 * std::f64::consts::LN_10 / 20.0;
    let excess_db = if x.abs() > 1e-6 { 10.0 * (x.sinh() / x).log10() } else { 0.0 };
    Line { intercept: line.intercept - excess_db, ..line }
}

pub(super) fn mean(energy: &[f64]) -> f64 {
    energy.iter().sum::<f64>() / energy.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exact_decay_meets_its_noise_where_arithmetic_says() {
        // 10^(-6t/T) + N meets N at t = T·margin/60; slope -60/T.
        for (time_s, margin_db) in [(0.1, 45.0), (0.5, 25.0), (0.5, 45.0), (0.5, 60.0), (2.0, 45.0)] {
            let (dt_s, noise) = (1.0 / 8000.0, 10f64.powf(-margin_db / 10.0));
            let count = (2.0 * time_s / dt_s) as usize;
            let energy: Vec<f64> =
                (0..count).map(|index| 10f64.powf(-6.0 * index as f64 * dt_s / time_s) + noise).collect();
            let floor = find(&energy, dt_s, None).unwrap();
            assert!((10.0 * (floor.noise / noise).log10()).abs() < 0.05, "{time_s} {margin_db}: {floor:?}");
            assert!((floor.crossing_s / (time_s * margin_db / 60.0) - 1.0).abs() < 0.01, "{floor:?}");
            assert!((floor.fall_db_per_s / (60.0 / time_s) - 1.0).abs() < 0.01, "{floor:?}");
            assert!(!floor.is_cut_short);
        }
    }

    #[test]
    fn a_bent_decay_meets_the_noise_with_its_late_slope() {
        // Two slopes, 0.3 s and 1.2 s, the second 15 dB lower: at 50 dB only the second is left.
        let (dt_s, noise) = (1.0 / 8000.0, 1e-5);
        let at = |t: f64| 10f64.powf(-6.0 * t / 0.3) + 10f64.powf(-1.5 - 6.0 * t / 1.2);
        let energy: Vec<f64> = (0..24_000).map(|index| at(f64::from(index) * dt_s) + noise).collect();
        let floor = find(&energy, dt_s, None).unwrap();
        assert!((floor.fall_db_per_s / 50.0 - 1.0).abs() < 0.05, "{floor:?}");
        assert!((floor.crossing_s / 0.7 - 1.0).abs() < 0.03, "35 dB at 50 dB/s: {floor:?}");
    }

    #[test]
    fn the_quieter_look_at_the_noise_counts_unless_both_agree() {
        assert_eq!(joined(1.0, None), 1.0);
        assert_eq!(joined(1.0, Some(1.5)), 1.25);
        assert_eq!(joined(1.0, Some(0.1)), 0.1);
        assert_eq!(joined(0.1, Some(1.0)), 0.1);
        assert_eq!(joined(0.0, Some(1.0)), 0.0);
    }

    #[test]
    fn records_without_a_decay_have_none() {
        assert_eq!(find(&[1.0; 8000], 0.001, None), None);
        assert_eq!(find(&[0.0; 8000], 0.001, None), None);
        let rising: Vec<f64> = (0..8000).map(|index| 10f64.powf(f64::from(index) / 1000.0)).collect();
        assert_eq!(find(&rising, 0.001, None), None);
        assert_eq!(find(&[1.0], 0.001, None), None);
    }

    #[test]
    fn a_record_that_ends_too_soon_says_so() {
        let energy: Vec<f64> =
            (0..2000).map(|index| 10f64.powf(-6.0 * f64::from(index) * 1e-3 / 4.0)).collect();
        let floor = find(&energy, 1e-3, None).unwrap();
        assert!(floor.is_cut_short, "{floor:?}");
        assert!((floor.fall_db_per_s / 15.0 - 1.0).abs() < 0.2, "{floor:?}");
    }
}
