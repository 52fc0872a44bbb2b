//! What makes a measured decay time suspect.
//!
//! A flag never takes a time away: a time that does not exist says so itself, as [`NoFit`](super::NoFit).

use std::fmt;

use super::curve::{DecayCurve, DecayTimes, Range};

/// ξ above this is suspect, ‰. ISO 3382-2 Annex B, from memory.
const STRAIGHT_PERMILLE: f64 = 10.0;

/// C above this is suspect, %. ISO 3382-2 Annex B.
const BENT_PERCENT: f64 = 10.0;

/// A decay that gets faster is told from this C down, %. ISO 3382-2 calls every negative one suspect; chance alone makes many
/// a few percent negative, and a flag on every second good decay is read by nobody. A choice of this project.
const HOLLOW_PERCENT: f64 = -5.0;

/// Fewer decays of interrupted noise than this are a glance. ISO 3382-2, engineering method: from memory.
const FEWEST_DECAYS: usize = 3;

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
    /// ISO 3382-2, 7.3: 16 forward, 4 reversed; clause and second value from memory.
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
    /// The impulse stands out of its band but not of the whole recording, so the filter's own rise may count as decay.
    ArrivalUnsure,
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
            Self::ArrivalUnsure => {
                f.write_str("the arrival of the impulse is not clear: the early decay time may read long")
            }
            Self::FewDecays { decays, needed } => {
                let were = if *decays == 1 { "decay was" } else { "decays were" };
                write!(f, "{decays} {were} averaged (needed {needed})")
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
/// `filter`: bandwidth in Hz and the direction it was run in, or nothing for a broadband decay. `curve`: what the times
/// were fitted to.
///
/// # Source
/// ISO 3382-2, Annex B, and 7.3 from memory; rounding of the curvature is a choice of this project.
pub fn flags(times: &DecayTimes, filter: Option<(f64, Direction)>, curve: &DecayCurve) -> Vec<Flag> {
    let fits = [(Range::Edt, times.edt), (Range::T20, times.t20), (Range::T30, times.t30)];
    let not_straight = fits.iter().filter_map(|(range, fit)| {
        let nonlinearity_permille = fit.ok()?.nonlinearity_permille;
        let flag = Flag::NotStraight { range: *range, nonlinearity_permille };
        (nonlinearity_permille > STRAIGHT_PERMILLE).then_some(flag)
    });
    not_straight.chain(bend(times)).chain(ringing(times, filter)).chain(range_left(times, curve)).collect()
}

fn bend(times: &DecayTimes) -> Option<Flag> {
    let curvature_percent = times.curvature_percent?;
    let whole = (curvature_percent + 0.5 + 1e-9).floor();
    if whole > BENT_PERCENT {
        Some(Flag::Sagging { curvature_percent })
    } else {
        (whole < HOLLOW_PERCENT).then_some(Flag::Hollow { curvature_percent })
    }
}

/// Judged by T20, or T30 where there is no other: the early decay time may be short for reasons of its own.
fn ringing(times: &DecayTimes, filter: Option<(f64, Direction)>) -> Option<Flag> {
    let (bandwidth_hz, direction) = filter?;
    let fit = times.t20.or(times.t30).or(times.edt).ok()?;
    let (product, needed_product) = (bandwidth_hz * fit.time_s, direction.needed_product());
    (product < needed_product).then_some(Flag::Ringing { product, needed_product })
}

fn range_left(times: &DecayTimes, curve: &DecayCurve) -> Option<Flag> {
    if curve.is_cut_short {
        return times.t30.is_err().then_some(Flag::CutShort);
    }
    let needed_db = Range::T20.needed_margin_db();
    let margin_db = curve.margin_db.filter(|margin_db| *margin_db < needed_db && times.t20.is_err())?;
    Some(Flag::LittleRange { margin_db, needed_db })
}

/// Returns a flag where fewer than three decays were averaged.
pub(super) fn few_decays(decays: usize) -> Option<Flag> {
    (decays < FEWEST_DECAYS).then_some(Flag::FewDecays { decays, needed: FEWEST_DECAYS })
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

    fn curve(margin_db: f64) -> DecayCurve {
        DecayCurve { dt_s: 0.01, levels_db: vec![0.0], margin_db: Some(margin_db), is_cut_short: false }
    }

    #[test]
    fn straight_decays_of_wide_bands_are_not_flagged() {
        assert_eq!(flags(&times(0.5, 0.5, 0.0), Some((23.1, Direction::Reversed)), &curve(60.0)), []);
        assert_eq!(
            flags(&times(0.5, 0.55, 10.0), None, &curve(60.0)),
            [],
            "the limits themselves are not over them"
        );
        assert_eq!(flags(&times(0.5, 0.499, 0.0), None, &curve(60.0)), [], "-0.2 % is written as 0");
    }

    #[test]
    fn limits_are_those_of_the_standard() {
        let bent = flags(&times(0.5, 0.56, 0.0), None, &curve(60.0));
        assert!(matches!(bent[..], [Flag::Sagging { .. }]), "{bent:?}");
        let hollow = flags(&times(0.5, 0.47, 0.0), None, &curve(60.0));
        assert!(matches!(hollow[..], [Flag::Hollow { .. }]), "{hollow:?}");
        assert_eq!(flags(&times(0.5, 0.5, 10.1), None, &curve(60.0)).len(), 3);
        // A third at 100 Hz is 23.1 Hz wide: T = 0.5 s is too short forward (16), and long enough reversed (4).
        let forward = flags(&times(0.5, 0.5, 0.0), Some((23.1, Direction::Forward)), &curve(60.0));
        assert!(matches!(forward[..], [Flag::Ringing { needed_product: 16.0, .. }]), "{forward:?}");
        assert_eq!(
            forward[0].to_string(),
            "the filter rings too (bandwidth times decay time 11.6, needed 16)"
        );
        let short = flags(&times(0.17, 0.17, 0.0), Some((23.1, Direction::Reversed)), &curve(60.0));
        assert!(matches!(short[..], [Flag::Ringing { .. }]), "{short:?}");
    }

    #[test]
    fn little_range_and_few_decays_are_flagged() {
        let mut missing = times(0.5, 0.5, 0.0);
        missing.t20 = Err(NoFit::Noise { range: Range::T20, margin_db: 30.0, needed_db: 35.0 });
        let little = Flag::LittleRange { margin_db: 30.0, needed_db: 35.0 };
        assert_eq!(flags(&missing, None, &curve(30.0)), [little]);
        let cut_short = DecayCurve { is_cut_short: true, ..curve(30.0) };
        missing.t30 = missing.t20;
        assert_eq!(flags(&missing, None, &cut_short), [Flag::CutShort]);
        assert_eq!(few_decays(2), Some(Flag::FewDecays { decays: 2, needed: 3 }));
        assert_eq!(few_decays(3), None);
    }
}
