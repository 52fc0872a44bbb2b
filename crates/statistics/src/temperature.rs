//! Indoor temperatures made comparable: by what it was like outside.
//!
//! Hourly readings hang together; daily means are what these take.

use crate::absent::{Absent, Known};
use crate::distributions::coverage_factor;
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// Returns the temperature factor of an inner surface, `(T_si - T_e)/(T_i - T_e)`; absent where inside is as warm as outside.
///
/// # Units and shape
/// All in °C; 1 for a surface as warm as the room, 0 for one as cold as outside.
///
/// # Errors
/// [`SampleError::NotFinite`] with the index among inside air, surface, outside.
///
/// # Source
/// f_Rsi of ISO 13788 (from memory).
pub fn surface_factor(inside_c: f64, surface_c: f64, outside_c: f64) -> Result<Known<f64>, SampleError> {
    sample::check(&[inside_c, surface_c, outside_c])?;
    let factor = (surface_c - outside_c) / (inside_c - outside_c);
    Ok(if factor.is_finite() { Ok(factor) } else { Err(Absent::CannotSeparate) })
}

/// A change with the weather's part taken out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdjustedChange {
    /// c, after less before at the same temperature outside, K.
    pub change_k: f64,
    /// Its standard uncertainty, K.
    pub change_u_k: Known<f64>,
    /// N - 3.
    pub dof: Known<Dof>,
    /// Its interval, K; absent without scatter.
    pub interval_k: Known<Interval>,
    /// b, degrees inside per degree outside.
    pub outdoor_slope: f64,
}

/// One day's means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// Mean outside, °C.
    pub outdoor_c: f64,
    /// Mean inside, °C.
    pub indoor_c: f64,
    /// Whether the work was done by then.
    pub after: bool,
}

/// Regresses inside on outside with a step for the work, `T_in = a + b·T_out + c·after`.
///
/// # Units and shape
/// `days`: daily means in °C. The change is absent without days of both kinds, or with the same temperature outside on all
/// days of each kind; its uncertainty is absent with three days.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Analysis of covariance with one slope, ordinary least squares.
pub fn adjusted_change(days: &[Day], confidence: Confidence) -> Result<Known<AdjustedChange>, SampleError> {
    sample::check(&days.iter().map(|day| day.outdoor_c).collect::<Vec<_>>())?;
    sample::check(&days.iter().map(|day| day.indoor_c).collect::<Vec<_>>())?;
    let (Some(before), Some(after)) = (Side::of(days, false), Side::of(days, true)) else {
        return Ok(Err(Absent::CannotSeparate));
    };
    let sxx = before.sxx + after.sxx;
    if sxx == 0.0 {
        return Ok(Err(Absent::CannotSeparate));
    }
    let outdoor_slope = (before.sxy + after.sxy) / sxx;
    let apart_k = after.outdoor_mean - before.outdoor_mean;
    let change_k = after.indoor_mean - before.indoor_mean - outdoor_slope * apart_k;
    let dof = days.len().checked_sub(3).and_then(|dof| Dof::new(dof as f64).ok());
    let dof = dof.ok_or(Absent::TooFewPoints { found: days.len(), needed: 4 });
    let change_u_k = dof.map(|dof| {
        let rss = before.rss(days, outdoor_slope) + after.rss(days, outdoor_slope);
        let leverage = 1.0 / before.count + 1.0 / after.count + apart_k * apart_k / sxx;
        (rss / dof.raw() * leverage).sqrt()
    });
    let interval_k = change_u_k.and_then(|u| match u {
        0.0 => Err(Absent::ZeroSpread),
        _ => Ok(Interval::around(change_k, coverage_factor(confidence, dof?) * u)),
    });
    Ok(Ok(AdjustedChange { change_k, change_u_k, dof, interval_k, outdoor_slope }))
}

/// Sums over the days before, or those after.
struct Side {
    is_after: bool,
    count: f64,
    outdoor_mean: f64,
    indoor_mean: f64,
    sxx: f64,
    sxy: f64,
    size: f64,
}

impl Side {
    fn of(days: &[Day], is_after: bool) -> Option<Self> {
        let (outdoor, indoor): (Vec<f64>, Vec<f64>) =
            days.iter().filter(|day| day.after == is_after).map(|day| (day.outdoor_c, day.indoor_c)).unzip();
        if outdoor.is_empty() {
            return None;
        }
        let (outdoor_mean, indoor_mean) = (sample::mean_of(&outdoor), sample::mean_of(&indoor));
        let farthest = outdoor.iter().map(|outdoor| (outdoor - outdoor_mean).abs()).fold(0.0, f64::max);
        let varies = !sample::is_rounding(farthest, sample::largest(&outdoor));
        let sxy = outdoor.iter().zip(&indoor).map(|(x, y)| (x - outdoor_mean) * (y - indoor_mean)).sum();
        Some(Self {
            is_after,
            count: outdoor.len() as f64,
            outdoor_mean,
            indoor_mean,
            sxx: if varies { sample::sum_of_squares(&outdoor, outdoor_mean) } else { 0.0 },
            sxy: if varies { sxy } else { 0.0 },
            size: sample::largest(&outdoor).max(sample::largest(&indoor)),
        })
    }

    /// Squares left over, 0 where they are but rounding.
    fn rss(&self, days: &[Day], slope: f64) -> f64 {
        let left = days
            .iter()
            .filter(|day| day.after == self.is_after)
            .map(|day| (day.indoor_c - self.indoor_mean) - slope * (day.outdoor_c - self.outdoor_mean));
        left.filter(|left| !sample::is_rounding(left.abs(), self.size)).map(|left| left * left).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(outdoor: &[f64], indoor: &[f64], before: usize) -> Vec<Day> {
        let day = |(index, (outdoor_c, indoor_c)): (usize, (&f64, &f64))| Day {
            outdoor_c: *outdoor_c,
            indoor_c: *indoor_c,
            after: index >= before,
        };
        outdoor.iter().zip(indoor).enumerate().map(day).collect()
    }

    #[test]
    fn the_adjusted_change_matches() {
        // Computed independently with numpy 2.4 (lstsq with three columns) and scipy 1.17.
        let days = days(
            &[2.1, 4.0, 6.3, 1.2, 3.3, 0.8, 5.1, 2.9, -1.0],
            &[17.9, 18.3, 19.0, 17.6, 18.2, 18.7, 19.8, 19.3, 18.4],
            5,
        );
        let got = adjusted_change(&days, Confidence::P95).unwrap().unwrap();
        let interval = got.interval_k.unwrap();
        let values = [got.change_k, got.change_u_k.unwrap(), interval.low, interval.high, got.outdoor_slope];
        let expected = [
            1.206333314895734,
            0.04580457234481051,
            1.0942535639885898,
            1.3184130658028783,
            0.2491841362907229,
        ];
        for (got, expected) in values.iter().zip(expected) {
            assert!((got - expected).abs() < 1e-10, "{got} instead of {expected}");
        }
        assert_eq!(got.dof.unwrap().finite(), Some(6.0));
    }

    #[test]
    fn what_cannot_be_told_apart_is_absent() {
        let of = |outdoor: &[f64], indoor: &[f64], before| {
            adjusted_change(&days(outdoor, indoor, before), Confidence::P95).unwrap()
        };
        assert_eq!(of(&[1.0, 2.0, 3.0], &[18.0, 18.5, 19.0], 3), Err(Absent::CannotSeparate));
        assert_eq!(of(&[1.0, 1.0, 3.0, 3.0], &[18.0, 18.5, 19.0, 19.2], 2), Err(Absent::CannotSeparate));
        let three = of(&[1.0, 2.0, 3.0], &[18.0, 18.5, 20.0], 2).unwrap();
        assert_eq!(three.change_u_k, Err(Absent::TooFewPoints { found: 3, needed: 4 }));
        let exact = of(&[0.1, 0.2, 0.3, 0.4], &[18.01, 18.02, 19.03, 19.04], 2).unwrap();
        assert!((exact.change_k - 1.0).abs() < 1e-9);
        assert_eq!(exact.interval_k, Err(Absent::ZeroSpread), "{exact:?}");
    }

    #[test]
    fn factors_match() {
        // 22.2/25.5 by hand.
        assert!((surface_factor(20.5, 17.2, -5.0).unwrap().unwrap() - 0.870588235294).abs() < 1e-11);
        assert_eq!(surface_factor(20.0, 17.0, 20.0), Ok(Err(Absent::CannotSeparate)));
        assert!(surface_factor(20.0, f64::NAN, 0.0).is_err());
    }
}
