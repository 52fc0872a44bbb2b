//! Thermal resistance of a built wall from its heat flux and surface temperatures: the average method and when to stop.
//!
//! Whether the wall is light, the sun shone on it or a stud lay under the plate is for the person who measured.

use crate::absent::{Absent, Known};
use crate::sample::{self, SampleError};

/// A run takes at least this long, h (ISO 9869-1).
const SHORTEST_RUN_H: f64 = 72.0;

/// Two resistances agree within this share (ISO 9869-1).
const AGREEMENT: f64 = 0.05;

/// Readings further apart than this are told, h (ISO 9869-1: half an hour).
pub const LONGEST_INTERVAL_H: f64 = 0.5;

/// With a mean flux below this share of its mean size, heat went to and fro. Convention of this project.
const STEADY_SHARE: f64 = 0.1;

/// Why a run cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RunError {
    /// A list is empty, uneven or not finite.
    #[error(transparent)]
    Sample(#[from] SampleError),
    /// A day holds a whole number of readings.
    #[error("readings every {interval_h} h do not fill a day evenly, average them to hours")]
    Interval { interval_h: f64 },
}

/// A run of readings at one spot, evenly spaced.
#[derive(Debug, Clone, Copy)]
pub struct Run<'a> {
    per_day: usize,
    inside_c: &'a [f64],
    outside_c: &'a [f64],
    flux_w_m2: &'a [f64],
}

impl<'a> Run<'a> {
    /// Takes in readings `interval_h` hours apart.
    ///
    /// # Units and shape
    /// Surface temperatures in °C, heat flux in W/m², positive outward; one of each per reading, in order of time.
    ///
    /// # Errors
    /// [`RunError`].
    pub fn new(
        interval_h: f64,
        inside_c: &'a [f64],
        outside_c: &'a [f64],
        flux_w_m2: &'a [f64],
    ) -> Result<Self, RunError> {
        sample::check_pairs(inside_c, outside_c)?;
        sample::check_pairs(inside_c, flux_w_m2)?;
        let per_day = 24.0 / interval_h;
        let even = interval_h > 0.0
            && (1.0..1e6).contains(&per_day)
            && (per_day - per_day.round()).abs() < 1e-6 * per_day;
        if !even {
            return Err(RunError::Interval { interval_h });
        }
        Ok(Self { per_day: per_day.round() as usize, inside_c, outside_c, flux_w_m2 })
    }

    /// Returns how long the run took, days.
    pub fn duration_days(&self) -> f64 {
        self.flux_w_m2.len() as f64 / self.per_day as f64
    }

    /// R over readings from `start` up to `end`, m²K/W.
    fn resistance(&self, start: usize, end: usize) -> Known<f64> {
        if start >= end {
            return Err(Absent::RunTooShort);
        }
        let flux = &self.flux_w_m2[start..end];
        let drop_k =
            sample::mean_of(&self.inside_c[start..end]) - sample::mean_of(&self.outside_c[start..end]);
        let mean = sample::mean_of(flux);
        let size = flux.iter().map(|flux| flux.abs()).sum::<f64>() / flux.len() as f64;
        let resistance = drop_k / mean;
        let steady = mean.abs() > STEADY_SHARE * size && resistance.is_finite() && resistance > 0.0;
        if steady { Ok(resistance) } else { Err(Absent::NoSteadyHeatFlow) }
    }
}

/// A resistance with what the rules for ending a run look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// Over the whole run, surface to surface, m²K/W.
    pub whole_m2k_w: Known<f64>,
    /// How long the run took, days.
    pub duration_days: f64,
    /// Without the last 24 hours, m²K/W.
    pub day_before_m2k_w: Known<f64>,
    /// INT(2D/3), days.
    pub window_days: usize,
    /// Over the first that many days, m²K/W.
    pub first_m2k_w: Known<f64>,
    /// Over the last that many days, m²K/W.
    pub last_m2k_w: Known<f64>,
}

impl Resistance {
    /// Returns by what share the resistance moved in the last 24 hours.
    pub fn day_deviation(&self) -> Known<f64> {
        Ok(self.whole_m2k_w? / self.day_before_m2k_w? - 1.0)
    }

    /// Returns by what share the first window lies above the last.
    pub fn window_deviation(&self) -> Known<f64> {
        Ok(self.first_m2k_w? / self.last_m2k_w? - 1.0)
    }

    /// Whether the run took at least three days.
    pub fn long_enough(&self) -> bool {
        self.duration_days * 24.0 >= SHORTEST_RUN_H - 1e-9
    }

    /// Whether the run took a whole number of days.
    pub fn whole_days(&self) -> bool {
        self.duration_days >= 1.0 && (self.duration_days - self.duration_days.round()).abs() < 1e-9
    }

    /// Whether the last day moved it by 5 % at most.
    pub fn settled_over_a_day(&self) -> bool {
        self.day_deviation().is_ok_and(agrees)
    }

    /// Whether both windows agree within 5 %.
    pub fn windows_agree(&self) -> bool {
        self.window_deviation().is_ok_and(agrees)
    }

    /// Whether the run may end: all four hold. That the wall stores as much heat as at the start is not judged.
    pub fn converged(&self) -> bool {
        self.long_enough() && self.whole_days() && self.settled_over_a_day() && self.windows_agree()
    }
}

fn agrees(deviation: f64) -> bool {
    deviation.abs() <= AGREEMENT + 1e-12
}

/// Averages a run, `R = Σ(T_si - T_se)/Σq`, with the values that tell whether it may end.
///
/// # Units and shape
/// m²K/W. A resistance is absent where the flux nearly cancels or runs against the temperatures, and where the run is too
/// short for it.
///
/// # Source
/// ISO 9869-1:2014, average method.
pub fn average(run: &Run<'_>) -> Resistance {
    let count = run.flux_w_m2.len();
    let duration_days = run.duration_days();
    let window_days = (2.0 * duration_days / 3.0 + 1e-9).floor() as usize;
    let window = window_days * run.per_day;
    Resistance {
        whole_m2k_w: run.resistance(0, count),
        duration_days,
        day_before_m2k_w: run.resistance(0, count.saturating_sub(run.per_day)),
        window_days,
        first_m2k_w: run.resistance(0, window),
        last_m2k_w: run.resistance(count - window, count),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const INSIDE_C: [f64; 12] = [19.8, 19.9, 20.1, 20.0, 19.7, 19.9, 20.0, 20.1, 19.8, 20.0, 20.1, 19.9];
    const OUTSIDE_C: [f64; 12] = [2.1, 3.0, 5.2, 3.4, 1.5, 2.6, 5.0, 3.1, 2.4, 3.3, 5.6, 3.7];
    const FLUX_W_M2: [f64; 12] = [8.9, 8.6, 7.4, 8.1, 9.2, 8.8, 7.6, 8.4, 8.7, 8.5, 7.2, 8.0];

    #[test]
    fn three_days_match() {
        // Computed independently with numpy 2.4.
        let got = average(&Run::new(6.0, &INSIDE_C, &OUTSIDE_C, &FLUX_W_M2).unwrap());
        let values = [
            (got.whole_m2k_w, 1.9959758551307845),
            (got.day_before_m2k_w, 1.9940298507462686),
            (got.day_deviation(), 0.000975915372474212),
            (got.first_m2k_w, 1.9940298507462686),
            (got.last_m2k_w, 1.9924698795180722),
            (got.window_deviation(), 0.0007829334055347026),
        ];
        for (value, expected) in values {
            assert!((value.unwrap() - expected).abs() < 1e-12, "{value:?} instead of {expected}");
        }
        assert_eq!((got.duration_days, got.window_days), (3.0, 2));
        assert!(got.converged());
    }

    #[test]
    fn a_run_ends_when_all_rules_hold() {
        let of = |count: usize, flux: &[f64]| {
            average(&Run::new(6.0, &INSIDE_C[..count], &OUTSIDE_C[..count], &flux[..count]).unwrap())
        };
        let two_days = of(8, &FLUX_W_M2);
        assert!(!two_days.long_enough() && two_days.whole_days() && !two_days.converged());
        let part = of(11, &FLUX_W_M2);
        assert!(!part.whole_days() && part.window_days == 1);
        let short = of(3, &FLUX_W_M2);
        assert_eq!(short.day_before_m2k_w, Err(Absent::RunTooShort));
        assert_eq!(short.window_deviation(), Err(Absent::RunTooShort));
        let mut drifting = FLUX_W_M2;
        drifting[8..].iter_mut().for_each(|flux| *flux *= 1.2);
        let drifting = of(12, &drifting);
        assert!(drifting.long_enough() && drifting.whole_days());
        assert!(!drifting.settled_over_a_day() && !drifting.windows_agree() && !drifting.converged());
    }

    #[test]
    fn no_resistance_from_heat_that_goes_to_and_fro() {
        let flux = [5.0, -5.0, 5.0, -4.9];
        let run = Run::new(6.0, &INSIDE_C[..4], &OUTSIDE_C[..4], &flux).unwrap();
        assert_eq!(average(&run).whole_m2k_w, Err(Absent::NoSteadyHeatFlow));
        let inward = [-5.0; 4];
        let run = Run::new(6.0, &INSIDE_C[..4], &OUTSIDE_C[..4], &inward).unwrap();
        assert_eq!(average(&run).whole_m2k_w, Err(Absent::NoSteadyHeatFlow));
        for interval_h in [0.0, -1.0, 5.0, 48.0, f64::NAN, f64::INFINITY] {
            assert!(Run::new(interval_h, &[20.0], &[2.0], &[8.0]).is_err(), "{interval_h}");
        }
        assert!(Run::new(1.0, &[20.0], &[2.0, 3.0], &[8.0]).is_err());
    }
}
