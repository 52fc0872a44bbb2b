//! One decay time for a room from those of several positions, and how well it is known.
//!
//! One band at a time. Leaves out levels: [`energy_mean`](crate::levels::energy_mean) has those.

/// A room's decay time from several positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomTime {
    /// The mean, s.
    pub time_s: f64,
    /// How many positions it comes from.
    pub positions: usize,
    /// Standard uncertainty of the mean, s: s/√n with n - 1 degrees of freedom; absent for one position.
    pub uncertainty_s: Option<f64>,
}

impl RoomTime {
    /// Returns the standard uncertainty of 10·lg T, dB: what it does to a normalised level difference.
    pub fn uncertainty_db(&self) -> Option<f64> {
        self.uncertainty_s.map(|uncertainty_s| uncertainty_of_level_db(self.time_s, uncertainty_s))
    }
}

/// Why times have no mean.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum PositionsError {
    /// Measure at one position at least.
    #[error("no decay times were given")]
    Empty,
    /// A decay time is above zero and under an hour: correct or leave out the one at `index`.
    #[error("decay time {index} is {time_s} s, not a time above zero")]
    Time { index: usize, time_s: f64 },
}

/// Averages decay times over positions, `(1/n)·Σ Tᵢ`.
///
/// The mean of T itself, not of 10·lg T, which reads lower the more the positions differ.
///
/// # Units and shape
/// `times_s`: n ≥ 1 times of one band in one room in one state, s. Returns s, within their range.
///
/// # Errors
/// [`PositionsError`].
///
/// # Source
/// ISO 3382-2, spatial averaging: arithmetic mean of the reverberation times.
pub fn mean(times_s: &[f64]) -> Result<RoomTime, PositionsError> {
    if let Some(index) = times_s.iter().position(|time_s| !(*time_s > 0.0 && *time_s < 3600.0)) {
        return Err(PositionsError::Time { index, time_s: times_s[index] });
    }
    if times_s.is_empty() {
        return Err(PositionsError::Empty);
    }
    let positions = times_s.len();
    let time_s = times_s.iter().sum::<f64>() / positions as f64;
    let uncertainty_s = (positions > 1).then(|| {
        let squares: f64 = times_s.iter().map(|time| (time - time_s).powi(2)).sum();
        (squares / (positions * (positions - 1)) as f64).sqrt()
    });
    Ok(RoomTime { time_s, positions, uncertainty_s })
}

/// Returns u(10·lg T) = (10/ln 10)·u(T)/T, dB: the first-order propagation of an uncertainty of T, both in s.
///
/// # Source
/// Guide to the expression of uncertainty in measurement (JCGM 100), law of propagation.
pub fn uncertainty_of_level_db(time_s: f64, uncertainty_s: f64) -> f64 {
    10.0 / std::f64::consts::LN_10 * uncertainty_s / time_s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_and_uncertainties_match() {
        // Invented times; mean and standard error computed independently with numpy 2.4 (mean, std with ddof 1) and scipy 1.17 (sem).
        let room = mean(&[0.52, 0.61, 0.48, 0.55, 0.59, 0.50]).unwrap();
        assert!((room.time_s - 0.541666666667).abs() < 1e-9);
        assert!((room.uncertainty_s.unwrap() - 0.020883273477).abs() < 1e-9, "{room:?}");
        assert!((room.uncertainty_db().unwrap() - 0.167436746494).abs() < 1e-9, "{room:?}");
        assert_eq!(room.positions, 6);
        // By arithmetic: the mean of 0.2 and 0.8 is 0.5, while 10 lg T would average to 0.4.
        assert_eq!(mean(&[0.2, 0.8]).unwrap().time_s, 0.5);
        assert_eq!(mean(&[0.7]).unwrap(), RoomTime { time_s: 0.7, positions: 1, uncertainty_s: None });
    }

    #[test]
    fn what_is_no_time_is_refused() {
        assert_eq!(mean(&[]), Err(PositionsError::Empty));
        assert_eq!(mean(&[0.5, 0.0]), Err(PositionsError::Time { index: 1, time_s: 0.0 }));
        assert!(mean(&[f64::NAN]).is_err());
        assert!(mean(&[f64::INFINITY]).is_err());
    }
}
