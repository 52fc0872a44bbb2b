//! One band of a recording of a decay, filtered so that the filter's own ringing stays out of the decay.
//!
//! A filter decays by itself, by about 60 dB in 5/B seconds. Run backwards in time it does so before the decay and not in
//! it. Leaves out which bands to take.

use super::quality::Direction;
use crate::Band;
use crate::filters::{BandFilter, FilterError};

/// A filter has settled after this many of its time constants 1/B. From memory.
const SETTLING: f64 = 5.0;

/// Returns one band of `samples`, or all of them without their offset where `band` is none.
///
/// Backwards, the filter is first run over a mirror image of the end: otherwise its start from rest would quieten the
/// end of the recording, which is where the noise is looked at.
///
/// # Units and shape
/// As many samples as came in, in their order.
///
/// # Errors
/// [`FilterError`].
pub fn filtered(
    samples: &[f64],
    sample_rate_hz: f64,
    band: Option<Band>,
    direction: Direction,
) -> Result<Vec<f64>, FilterError> {
    let Some(band) = band else {
        return Ok(without_offset(samples));
    };
    let mut filter = BandFilter::new(band, sample_rate_hz)?;
    let mut output = samples.to_vec();
    match direction {
        Direction::Forward => filter.process(&mut output),
        Direction::Reversed => {
            let settling = (SETTLING / band.width_hz() * sample_rate_hz) as usize;
            let mut mirror = samples[samples.len() - settling.min(samples.len())..].to_vec();
            filter.process(&mut mirror);
            output.reverse();
            filter.process(&mut output);
            output.reverse();
        }
    }
    Ok(output)
}

/// Takes off the median, which a short loud part does not move: the mean of a clap would be louder than a quiet room.
pub(super) fn without_offset(samples: &[f64]) -> Vec<f64> {
    let mut sorted = samples.to_vec();
    if sorted.is_empty() {
        return sorted;
    }
    let middle = sorted.len() / 2;
    let offset = *sorted.select_nth_unstable_by(middle, f64::total_cmp).1;
    samples.iter().map(|sample| sample - offset).collect()
}

#[cfg(test)]
mod tests {
    use super::super::curve::DecayTimes;
    use super::super::impulse::{Lead, decay_curve};
    use super::*;
    use crate::Fraction;

    const RATE_HZ: f64 = 16_000.0;
    const LEAD: usize = 6400;

    /// Times of an ideal decay after filtering, the decay time before it, and where it is looked at from.
    ///
    /// White noise that decays has, after a filter, the mean energy of the filter's squared response convolved with the decay.
    fn ideal(
        fraction: Fraction,
        product: f64,
        direction: Direction,
        start: Option<usize>,
    ) -> (DecayTimes, f64) {
        let band = Band::nominal(fraction, 1000.0).unwrap();
        let time_s = product / band.width_hz();
        let mut click = vec![0.0; LEAD + (RATE_HZ * (2.5 * time_s + 0.4)) as usize];
        click[LEAD] = 1.0;
        let response = filtered(&click, RATE_HZ, Some(band), direction).unwrap();
        let left = 10f64.powf(-6.0 / RATE_HZ / time_s);
        let energy = response.iter().scan(0.0, |energy, sample| {
            *energy = sample * sample + left * *energy;
            Some(*energy)
        });
        let pressure: Vec<f64> = energy.map(f64::sqrt).collect();
        (decay_curve(&pressure, RATE_HZ, Lead::Blank, start).unwrap().times().unwrap(), time_s)
    }

    #[test]
    fn ringing_lengthens_short_decays_as_computed_elsewhere() {
        // Error of T20, percent: computed independently with scipy 1.17 (butter of four pole pairs, sosfilt, lfilter) and numpy.
        use Direction::{Forward, Reversed};
        use Fraction::{Octave, Third};
        let rows = [
            (Third, 2.0, Forward, 160.79),
            (Third, 4.0, Forward, 39.99),
            (Third, 8.0, Forward, 4.89),
            (Third, 16.0, Forward, 0.18),
            (Third, 1.0, Reversed, 71.73),
            (Third, 2.0, Reversed, 11.95),
            (Third, 4.0, Reversed, 0.51),
            (Third, 8.0, Reversed, 0.0),
            (Octave, 4.0, Forward, 73.24),
            (Octave, 8.0, Forward, 11.83),
            (Octave, 16.0, Forward, 0.73),
            (Octave, 2.0, Reversed, 14.84),
            (Octave, 4.0, Reversed, 0.78),
            (Octave, 8.0, Reversed, 0.0),
        ];
        for (fraction, product, direction, percent) in rows {
            let (times, time_s) = ideal(fraction, product, direction, None);
            let got = 100.0 * (times.t20.unwrap().time_s / time_s - 1.0);
            let tolerance = 0.05 + 0.003 * percent;
            assert!(
                (got - percent).abs() < tolerance,
                "{fraction} {product} {direction:?}: {got}, not {percent}"
            );
        }
    }

    #[test]
    fn backwards_and_from_the_arrival_on_no_time_is_touched() {
        // From its own rise on, the early decay time of B·T = 4 reads 330 % long; from the arrival on, nothing is: computed
        // independently with scipy 1.17.
        for (fraction, product) in [(Fraction::Third, 1.0), (Fraction::Third, 4.0), (Fraction::Octave, 16.0)]
        {
            let (times, time_s) = ideal(fraction, product, Direction::Reversed, Some(LEAD));
            for fit in [times.edt, times.t20, times.t30] {
                assert!((fit.unwrap().time_s / time_s - 1.0).abs() < 0.002, "{fraction} {product}: {fit:?}");
            }
        }
        let (times, time_s) = ideal(Fraction::Third, 4.0, Direction::Reversed, None);
        assert!((times.edt.unwrap().time_s / time_s - 4.296).abs() < 0.02, "{times:?}");
    }

    #[test]
    fn the_end_is_as_loud_as_the_rest() {
        use super::super::synthetic::Noise;
        let samples = Noise(3).samples(64_000);
        let band = Band::nominal(Fraction::Third, 100.0).unwrap();
        let power = |samples: &[f64]| samples.iter().map(|s| s * s).sum::<f64>() / samples.len() as f64;
        let ends: f64 = (0..12)
            .map(|piece| {
                let piece = &samples[piece * 5000..(piece + 1) * 5000];
                power(&filtered(piece, RATE_HZ, Some(band), Direction::Reversed).unwrap()[4200..])
            })
            .sum::<f64>()
            / 12.0;
        // White noise of mean square 1: a band holds B/(fs/2) of it. Twelve looks at 50 ms of 23 Hz scatter by 1.2 dB; from
        // rest the last 50 ms would be 8 dB too quiet.
        let expected = band.width_hz() / (RATE_HZ / 2.0);
        assert!((10.0 * (ends / expected).log10()).abs() < 2.5, "{} dB", 10.0 * (ends / expected).log10());
    }

    #[test]
    fn a_broadband_decay_only_loses_its_offset() {
        let broadband = filtered(&[2.0, 90.0, 1.0, 3.0, 2.0], RATE_HZ, None, Direction::Reversed);
        assert_eq!(broadband, Ok(vec![0.0, 88.0, -1.0, 1.0, 0.0]));
        assert_eq!(filtered(&[], RATE_HZ, None, Direction::Reversed), Ok(vec![]));
        let high = Band::nominal(Fraction::Third, 8000.0).unwrap();
        assert!(filtered(&[0.0; 10], RATE_HZ, Some(high), Direction::Reversed).is_err());
    }
}
