//! What makes a measured decay time suspect.
//!
//! A flag never takes a time away: a time that does not exist says so itself, as [`NoFit`](super::NoFit).

use std::fmt;

use super::curve::{DecayTimes, Range};

/// ξ above this is suspect, ‰. ISO 3382-2 Annex B, from memory.
const STRAIGHT_PERMILLE: f64 = 10.0;

/// C above this is suspect, %, and so is a negative one. ISO 3382-2 Annex B.
const BENT_PERCENT: f64 = 10.0;

/// Which way in time a filter was run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// As it was recorded: the filter's own decay adds to the room's.
    Forward,
    /// From the end to the beginning: the filter rings into the time before the decay.
    Reversed,
}

impl Direction {
    /// The product of bandwidth and decay time above which the filter leaves T20 alone.
    ///
    /// # Source
    /// ISO 3382-2, 7.3: 16 forward, 4 reversed (the second from memory).
    pub fn needed_product(self) -> f64 {
        match self {
            Self::Forward => 16.0,
            Self::Reversed => 4.0,
        }
    }
}

/// A reason to distrust a time, for people to judge.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "the fields are named in the words")]
pub enum Flag {
    /// The points scatter or bend about the line.
    NotStraight { range: Range, nonlinearity_permille: f64 },
    /// The decay is slower late than early: two rooms or a bare corner; one time does not describe it.
    Sagging { curvature_percent: f64 },
    /// The decay is faster late than early: noise taken off that was none, or a phone that closes its microphone.
    Hollow { curvature_percent: f64 },
    /// The filter rings about as long as the room.
    Ringing { product: f64, needed_product: f64 },
    /// The noise is so near that T20 is missing.
    LittleRange { margin_db: f64, needed_db: f64 },
    /// The recording ends before the decay does.
    CutShort,
    /// Chance has a large part in so few.
    FewDecays { decays: usize, needed: usize },
}

impl fmt::Display for Flag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotStraight { range, nonlinearity_permille } => {
                write!(
                    f,
                    "{range}: the decay is no straight line (non-linearity {nonlinearity_permille:.0} ‰)"
                )
            }
            Self::Sagging { curvature_percent } => {
                write!(f, "the decay gets slower as it falls (curvature {curvature_percent:.0} %)")
            }
            Self::Hollow { curvature_percent } => {
                write!(f, "the decay gets faster as it falls (curvature {curvature_percent:.0} %)")
            }
            Self::Ringing { product, needed_product } => {
                write!(
                    f,
                    "the filter rings too (bandwidth times decay time {product:.1}, needed {needed_product})"
                )
            }
            Self::LittleRange { margin_db, needed_db } => {
                write!(f, "the decay starts only {margin_db:.1} dB above the noise (needed {needed_db})")
            }
            Self::CutShort => f.write_str("the recording ends before the decay does"),
            Self::FewDecays { decays, needed } => {
                write!(f, "{decays} decays were averaged (needed {needed})")
            }
        }
    }
}

/// Returns what is suspect about times, in the order of [`Flag`].
///
/// The curvature is judged as it is written, in whole percent: otherwise chance alone would flag every second straight
/// decay as negative.
///
/// # Units and shape
/// `bandwidth_hz` and the direction of its filter, or nothing for a broadband decay. `margin_db`: start above noise, dB.
///
/// # Source
/// ISO 3382-2, Annex B and 7.3; rounding of the curvature is a choice of this project.
pub fn flags(times: &DecayTimes, filter: Option<(f64, Direction)>, margin_db: Option<f64>) -> Vec<Flag> {
    let mut flags = Vec::new();
    for (range, fit) in [(Range::Edt, times.edt), (Range::T20, times.t20), (Range::T30, times.t30)] {
        if let Ok(fit) = fit
            && fit.nonlinearity_permille > STRAIGHT_PERMILLE
        {
            flags.push(Flag::NotStraight { range, nonlinearity_permille: fit.nonlinearity_permille });
        }
    }
    if let Some(curvature_percent) = times.curvature_percent {
        let whole = (curvature_percent + 0.5 + 1e-9).floor();
        if whole > BENT_PERCENT {
            flags.push(Flag::Sagging { curvature_percent });
        } else if whole < 0.0 {
            flags.push(Flag::Hollow { curvature_percent });
        }
    }
    let shortest_s = [times.edt, times.t20, times.t30].into_iter().flatten().map(|fit| fit.time_s);
    if let (Some((bandwidth_hz, direction)), Some(time_s)) = (filter, shortest_s.reduce(f64::min)) {
        let (product, needed_product) = (bandwidth_hz * time_s, direction.needed_product());
        if product < needed_product {
            flags.push(Flag::Ringing { product, needed_product });
        }
    }
    let needed_db = Range::T20.needed_margin_db();
    if let Some(margin_db) = margin_db.filter(|margin_db| *margin_db < needed_db)
        && times.t20.is_err()
    {
        flags.push(Flag::LittleRange { margin_db, needed_db });
    }
    flags
}

#[cfg(test)]
mod tests {
    use super::super::curve::{Fit, NoFit};
    use super::*;

    fn times(t20_s: f64, t30_s: f64, nonlinearity_permille: f64) -> DecayTimes {
        let fit = |time_s| Ok(Fit { time_s, nonlinearity_permille, points: 100 });
        let curvature_percent = Some(100.0 * (t30_s / t20_s - 1.0));
        DecayTimes { edt: fit(t20_s), t20: fit(t20_s), t30: fit(t30_s), curvature_percent }
    }

    #[test]
    fn straight_decays_of_wide_bands_are_not_flagged() {
        assert_eq!(flags(&times(0.5, 0.5, 0.0), Some((23.1, Direction::Reversed)), Some(60.0)), []);
        assert_eq!(flags(&times(0.5, 0.55, 10.0), None, None), [], "the limits themselves are not over them");
        assert_eq!(flags(&times(0.5, 0.499, 0.0), None, None), [], "-0.2 % is written as 0");
    }

    #[test]
    fn limits_are_those_of_the_standard() {
        let bent = flags(&times(0.5, 0.56, 0.0), None, None);
        assert!(matches!(bent[..], [Flag::Sagging { .. }]), "{bent:?}");
        let hollow = flags(&times(0.5, 0.47, 0.0), None, None);
        assert!(matches!(hollow[..], [Flag::Hollow { .. }]), "{hollow:?}");
        assert_eq!(flags(&times(0.5, 0.5, 10.1), None, None).len(), 3);
        // A third at 100 Hz is 23.1 Hz wide: T = 0.5 s is too short forward (16), and long enough reversed (4).
        let forward = flags(&times(0.5, 0.5, 0.0), Some((23.1, Direction::Forward)), None);
        assert!(matches!(forward[..], [Flag::Ringing { needed_product: 16.0, .. }]), "{forward:?}");
        assert_eq!(
            forward[0].to_string(),
            "the filter rings too (bandwidth times decay time 11.6, needed 16)"
        );
        let short = flags(&times(0.17, 0.17, 0.0), Some((23.1, Direction::Reversed)), None);
        assert!(matches!(short[..], [Flag::Ringing { .. }]), "{short:?}");
    }

    #[test]
    fn little_range_and_few_decays_are_flagged() {
        let mut missing = times(0.5, 0.5, 0.0);
        missing.t20 = Err(NoFit::Noise { range: Range::T20, margin_db: 30.0, needed_db: 35.0 });
        let little = Flag::LittleRange { margin_db: 30.0, needed_db: 35.0 };
        assert_eq!(flags(&missing, None, Some(30.0)), [little]);
    }
}
