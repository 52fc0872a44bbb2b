//! Digital filters: weighting filters and octave and third-octave filters, with their own proof against the masks.
//!
//! [`BandFilter`] is one band at the rate of the recording, [`WeightingFilter`] one curve, and [`Bank`] all thirds at
//! once for the [`meter`](crate::meter). All run in double precision: a weighting filter has a double pole at 0.9973.
//! Leaves out levels and time: what comes out are samples or energies.

use crate::Band;

mod band;
mod bank;
pub(crate) mod biquad;
mod half_band;
mod rack;
mod weighting;

pub use band::BandFilter;
pub use bank::{BandSeconds, Bank};
pub use weighting::WeightingFilter;

/// Why there is no filter.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum FilterError {
    /// Record at a usual rate, such as 44.1 or 48 kHz, or convert the file to one.
    #[error(
        "a sample rate of {sample_rate_hz} Hz cannot be filtered: usual rates are 44100, 48000 and 96000 Hz"
    )]
    SampleRate { sample_rate_hz: f64 },
    /// Leave the band out, or record at a higher rate: its upper edge must lie below half the rate.
    #[error(
        "a recording at {} kHz does not hold the whole band at {band}: leave it out or record at more than {:.1} kHz",
        sample_rate_hz / 1000.0,
        2.0 * band.upper_hz() / 1000.0
    )]
    BandAboveHalfRate { band: Band, sample_rate_hz: f64 },
}

/// The attenuation mask of the standard, for tests here and in the parts.
#[cfg(test)]
pub(crate) mod mask {
    use crate::{Band, Fraction};

    /// Breakpoints of class 1: Ω of an octave filter, least attenuation from there up to the next, most attenuation.
    /// IEC 61260-1:2014 Table 1; between breakpoints the limits are straight over lg Ω.
    const INSIDE_POWERS: [f64; 5] = [0.0, 0.125, 0.25, 0.375, 0.5];
    const INSIDE_MOST_DB: [f64; 5] = [0.4, 0.5, 0.7, 1.4, 5.3];
    const OUTSIDE_POWERS: [f64; 5] = [0.5, 1.0, 2.0, 3.0, 4.0];
    const OUTSIDE_LEAST_DB: [f64; 5] = [1.2, 16.6, 40.5, 60.0, 70.0];

    /// Ω for a breakpoint: `G^x` for octaves, formula 9 of the standard for thirds.
    fn omega(fraction: Fraction, power: f64) -> f64 {
        let g = 10f64.powf(0.3);
        let b = f64::from(fraction.per_octave());
        1.0 + (g.powf(0.5 / b) - 1.0) / (g.sqrt() - 1.0) * (g.powf(power) - 1.0)
    }

    fn straight(x: f64, from: (f64, f64), to: (f64, f64)) -> f64 {
        from.1 + (to.1 - from.1) * (x.ln() - from.0.ln()) / (to.0.ln() - from.0.ln())
    }

    /// The least and most attenuation of class 1 at a frequency, dB; the most is infinite outside the band.
    pub(crate) fn class_one(band: Band, hz: f64) -> (f64, f64) {
        let ratio = (hz / band.exact_hz()).max(band.exact_hz() / hz);
        let breaks = |powers: [f64; 5]| powers.map(|power| omega(band.fraction(), power));
        let between = |omegas: [f64; 5], limits_db: [f64; 5]| {
            let place = omegas.windows(2).position(|pair| (pair[0]..=pair[1]).contains(&ratio));
            place.map(|place| {
                let end = |place: usize| (omegas[place], limits_db[place]);
                straight(ratio, end(place), end(place + 1))
            })
        };
        match between(breaks(INSIDE_POWERS), INSIDE_MOST_DB) {
            Some(most_db) => (-0.4, most_db),
            None => (between(breaks(OUTSIDE_POWERS), OUTSIDE_LEAST_DB).unwrap_or(70.0), f64::INFINITY),
        }
    }

    #[test]
    fn breakpoints_are_the_printed_ones() {
        // IEC 61260-1:2014: Ω of thirds by formula 9, as tabulated to five figures.
        let printed =
            [(0.125, 1.0267), (0.25, 1.0558), (0.375, 1.0875), (0.5, 1.1220), (1.0, 1.2944), (4.0, 5.3919)];
        for (power, expected) in printed {
            assert!((omega(Fraction::Third, power) - expected).abs() < 0.00006, "{power}");
        }
        assert!((omega(Fraction::Octave, 3.0) - 7.9433).abs() < 0.00006);
        let third = Band::nominal(Fraction::Third, 1000.0).unwrap();
        assert_eq!(class_one(third, 1000.0), (-0.4, 0.4));
        assert_eq!(class_one(third, 10_000.0), (70.0, f64::INFINITY));
        let (least_db, _) = class_one(third, 1294.371);
        assert!((least_db - 16.6).abs() < 0.002, "{least_db}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Fraction;
    use crate::weighting::{Class, Curve, limits, weighting_db};

    /// Usual rates of recorders and files.
    const RATES_HZ: [f64; 13] = [
        8000.0, 11_025.0, 16_000.0, 22_050.0, 24_000.0, 32_000.0, 37_800.0, 44_100.0, 48_000.0, 88_200.0,
        96_000.0, 176_400.0, 192_000.0,
    ];

    fn third(hz: f64) -> Band {
        Band::nominal(Fraction::Third, hz).unwrap()
    }

    #[test]
    fn every_band_at_every_rate_lies_within_class_one() {
        let mut count = 0;
        for rate_hz in RATES_HZ {
            for fraction in [Fraction::Octave, Fraction::Third] {
                for band in Band::all(fraction) {
                    let Ok(filter) = BandFilter::new(band, rate_hz) else {
                        assert!(band.upper_hz() >= rate_hz / 2.0);
                        continue;
                    };
                    count += 1;
                    let at_middle_db = filter.response(band.exact_hz());
                    for step in -400..=400 {
                        let hz = band.exact_hz() * 20f64.powf(f64::from(step) / 400.0);
                        if hz >= rate_hz / 2.0 {
                            break;
                        }
                        let relative_db = filter.response(hz) - at_middle_db;
                        let (least_db, most_db) = mask::class_one(band, hz);
                        assert!(
                            (least_db..=most_db).contains(&relative_db),
                            "{fraction} {band} at {rate_hz} Hz: {relative_db} dB at {hz} Hz, not {least_db} to {most_db}"
                        );
                    }
                }
            }
        }
        assert!(count > 450, "{count} filters");
    }

    #[test]
    fn attenuations_match_published_ones() {
        // Third at 1 kHz and 48 kHz, four pole pairs: computed independently with scipy 1.17 (butter, freqz_sos).
        let filter = BandFilter::new(third(1000.0), 48_000.0).unwrap();
        let rows = [
            (1055.8, 0.0104),
            (1087.5, 0.3286),
            (1122.018454, 3.0103),
            (1294.4, 28.3824),
            (1881.7, 61.5024),
            (3053.7, 86.2050),
        ];
        for (hz, expected_db) in rows {
            assert!((filter.response(hz) - expected_db).abs() < 1e-4, "{hz} Hz: {}", filter.response(hz));
        }
        for band in Band::all(Fraction::Third).filter(|band| band.upper_hz() < 24_000.0) {
            // A Butterworth filter is 10 lg 2 down at both edges, wherever they are.
            let filter = BandFilter::new(band, 48_000.0).unwrap();
            for hz in [band.lower_hz(), band.upper_hz()] {
                assert!(
                    (filter.response(hz) - 3.010_299_957).abs() < 1e-4,
                    "{band}: {}",
                    filter.response(hz)
                );
            }
        }
    }

    #[test]
    fn tones_come_through_at_their_level() {
        for hz in [10.0, 25.0, 1000.0, 16_000.0] {
            let band = third(hz);
            let mut filter = BandFilter::new(band, 48_000.0).unwrap();
            let step = 2.0 * std::f64::consts::PI * band.exact_hz() / 48_000.0;
            let settle = (20.0 / band.width_hz() * 48_000.0) as usize;
            // Forty whole periods.
            let count = (40.0 * 48_000.0 / band.exact_hz()).round() as usize;
            let mut samples: Vec<f64> = (0..settle + count).map(|n| (step * n as f64).sin()).collect();
            filter.process(&mut samples);
            let power = samples[settle..].iter().map(|y| y * y).sum::<f64>() / count as f64;
            assert!((10.0 * (2.0 * power).log10()).abs() < 0.003, "{band}: {power}");
        }
    }

    #[test]
    fn pieces_filter_like_the_whole() {
        let mut filter = BandFilter::new(third(125.0), 44_100.0).unwrap();
        let samples: Vec<f64> = (0..5000).map(|n| (f64::from(n) * 0.37).sin()).collect();
        let mut whole = samples.clone();
        filter.process(&mut whole);
        filter.reset();
        let mut pieces = samples;
        for piece in pieces.chunks_mut(77) {
            filter.process(piece);
        }
        assert_eq!(whole, pieces);
    }

    #[test]
    fn a_filter_comes_to_rest() {
        let mut filter = BandFilter::new(third(1000.0), 48_000.0).unwrap();
        filter.process(&mut [1.0]);
        let mut silence = vec![0.0; 480_000];
        filter.process(&mut silence);
        assert!(silence[..1000].iter().any(|y| *y != 0.0));
        assert!(silence[400_000..].iter().all(|y| *y == 0.0));
    }

    #[test]
    fn bands_beyond_the_rate_are_refused() {
        assert!(BandFilter::new(third(20_000.0), 48_000.0).is_ok());
        let refused = BandFilter::new(third(20_000.0), 44_100.0).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "a recording at 44.1 kHz does not hold the whole band at 20 kHz: leave it out or record at more than 44.8 kHz"
        );
        for rate_hz in [0.0, -1.0, f64::NAN, f64::INFINITY, 2e6] {
            assert!(matches!(BandFilter::new(third(100.0), rate_hz), Err(FilterError::SampleRate { .. })));
        }
    }

    #[test]
    fn weighting_filters_lie_within_class_one_and_near_the_curve() {
        let unusual = [4000.0, 6000.0, 12_345.0, 50_000.0, 64_000.0, 352_800.0, 384_000.0, 400_000.0];
        for rate_hz in RATES_HZ.into_iter().chain(unusual) {
            for curve in [Curve::A, Curve::C] {
                let filter = WeightingFilter::new(curve, rate_hz).unwrap();
                for band in Band::all(Fraction::Third).filter(|band| band.exact_hz() < 0.45 * rate_hz) {
                    let hz = band.exact_hz();
                    let error_db = -filter.response(hz) - weighting_db(curve, hz).unwrap();
                    assert!(
                        limits(Class::One, band).allow(error_db),
                        "{curve} at {rate_hz}, {band}: {error_db}"
                    );
                    let near_db = if hz < 10_500.0 { 0.03 } else { 0.1 };
                    assert!(error_db.abs() < near_db, "{curve} at {rate_hz}, {band}: {error_db}");
                }
                assert!(filter.response(1000.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn weighting_filters_work_on_samples() {
        // 100 Hz: A -19.14278, C -0.29964 dB, computed independently with mpmath 1.4.
        for (curve, expected_db) in [(Curve::A, -19.142_777), (Curve::C, -0.299_636), (Curve::Z, 0.0)] {
            let mut filter = WeightingFilter::new(curve, 48_000.0).unwrap();
            let step = 2.0 * std::f64::consts::PI * 100.0 / 48_000.0;
            let mut samples: Vec<f64> = (0..96_000).map(|n| (step * f64::from(n)).sin()).collect();
            filter.process(&mut samples);
            let power = samples[48_000..].iter().map(|y| y * y).sum::<f64>() / 24_000.0;
            assert!((10.0 * power.log10() - expected_db).abs() < 0.01, "{curve}: {}", 10.0 * power.log10());
            filter.reset();
            let mut again = [1.0];
            filter.process(&mut again);
            assert!(again[0].is_finite());
        }
    }

    #[test]
    fn rates_without_a_weighting_are_refused() {
        for rate_hz in [0.0, 3999.0, 400_001.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(WeightingFilter::new(Curve::A, rate_hz), Err(FilterError::SampleRate { .. })));
        }
    }
}
