//! Test sounds against golden hashes, flat spectra and the published sweep.

use std::f64::consts::PI;

use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

use super::*;
use crate::bands::{Band, Fraction};
use crate::wav::Reader;

const PINK: Pink = Pink {
    sample_rate_hz: 48_000,
    duration_s: 1.0,
    seed: 7,
    from_hz: 40.0,
    to_hz: 18_000.0,
    fade_s: 0.1,
    rms_dbfs: -20.0,
};

const SWEEP: Sweep = Sweep {
    sample_rate_hz: 48_000,
    duration_s: 1.0,
    from_hz: 40.0,
    to_hz: 18_000.0,
    fade_s: 0.02,
    tail_s: 0.25,
    peak_dbfs: -3.0,
};

fn samples_of(file: &[u8]) -> Vec<f64> {
    let mut reader = Reader::open(file).unwrap();
    let mut samples = vec![0.0; file.len() / 3];
    let count = reader.read(0, &mut samples).unwrap();
    samples.truncate(count);
    samples
}

/// Power by frequency of a whole signal, zero-padded to `length`; the second is the width of a step, Hz.
fn spectrum(samples: &[f64], length: usize, sample_rate_hz: f64) -> (Vec<Complex<f64>>, f64) {
    let mut padded = samples.to_vec();
    padded.resize(length, 0.0);
    let transform = RealFftPlanner::new().plan_fft_forward(length);
    let mut bins = transform.make_output_vec();
    transform.process(&mut padded, &mut bins).unwrap();
    (bins, sample_rate_hz / length as f64)
}

/// Level of a third octave, dB re an rms of 1, of a signal of `count` samples by Parseval's theorem.
fn third_db(bins: &[Complex<f64>], step_hz: f64, length: usize, count: usize, band: Band) -> f64 {
    let inside = |hz: f64| (band.lower_hz()..band.upper_hz()).contains(&hz);
    let power: f64 = bins
        .iter()
        .enumerate()
        .filter(|(index, _)| inside(*index as f64 * step_hz))
        .map(|(_, bin)| 2.0 * bin.norm_sqr())
        .sum();
    10.0 * (power / (length as f64 * count as f64)).log10()
}

#[test]
fn golden_files_are_the_same_on_every_platform() {
    // Hashes of what this code wrote first; they change only when the sound does, and then measurements before and
    // after are not of one sound.
    let mut pink = Vec::new();
    let written = PINK.write(&mut pink, |_, _| {}).unwrap();
    assert_eq!(written.hash, blake3::hash(&pink));
    assert_eq!(
        written.hash.to_hex().as_str(),
        "b727b62b4d448430551b1e0bfe35939ebe47f0bc21e84866ca7c2b3f28888ae9"
    );
    let mut sweep = Vec::new();
    let written = SWEEP.write(&mut sweep, |_, _| {}).unwrap();
    assert_eq!(written.hash, blake3::hash(&sweep));
    assert_eq!(
        written.hash.to_hex().as_str(),
        "2338e2a79b32a928344527ff4ad550a5b956f6fa7a58fa2d47816a161b1a83fc"
    );
}

#[test]
fn what_is_told_of_a_file_is_what_it_holds() {
    let mut file = Vec::new();
    let mut steps = Vec::new();
    let written = PINK.write(&mut file, |done, all| steps.push((done, all))).unwrap();
    let samples = samples_of(&file);
    assert_eq!((samples.len() as u64, written.frames), (48_000, 48_000));
    let rms = (samples.iter().map(|x| x * x).sum::<f64>() / 48_000.0).sqrt();
    assert!((20.0 * rms.log10() - written.rms_dbfs).abs() < 1e-9);
    assert!((written.rms_dbfs + 20.0).abs() < 1e-4, "{}", written.rms_dbfs);
    assert_eq!(written.lowered_db, 0.0);
    let mut meter = TruePeak::new();
    meter.push(&samples).unwrap();
    assert_eq!(meter.level_db(), Some(written.true_peak_dbfs));
    assert!(steps.is_sorted() && steps.last() == Some(&(96_000, 96_000)));
    // Faded at both ends, and no constant part.
    assert!(samples[0].abs() < 2e-7 && samples[47_999].abs() < 2e-7);
    assert!((samples.iter().sum::<f64>() / 48_000.0).abs() < 1e-4);
}

#[test]
fn seeds_choose_the_noise_and_nothing_else_moves() {
    let write = |seed| {
        let mut file = Vec::new();
        let written = Pink { seed, ..PINK }.write(&mut file, |_, _| {}).unwrap();
        (written.hash, samples_of(&file))
    };
    let (first, second) = (write(1), write(2));
    assert!(first.0 != second.0 && write(1).0 == first.0);
    // Independent noises of 48,000 samples with most power low: correlation within a few hundredths of 0.
    let sum: f64 = first.1.iter().zip(&second.1).map(|(a, b)| a * b).sum();
    assert!((sum / 48_000.0 / 0.01).abs() < 0.2, "{}", sum / 480.0);
}

#[test]
fn a_minute_of_noise_is_flat_in_thirds() {
    // By definition every third octave of pink noise holds the same. Chance: 4.34/sqrt(B·T) dB for the level of a band
    // of width B after time T (Bendat, Piersol, Random Data); three of that and 0.2 dB are let through.
    let frames = 60 * 48_000;
    let pink = Pink { duration_s: 60.0, seed: 1, ..PINK };
    let samples: Vec<f64> = band_limited(&pink).take(frames).collect();
    let (bins, step_hz) = spectrum(&samples, frames, 48_000.0);
    let bands = Band::range(Fraction::Third, 50.0, 16_000.0).unwrap();
    let levels_db: Vec<f64> =
        bands.iter().map(|band| third_db(&bins, step_hz, frames, frames, *band)).collect();
    let mean_db = levels_db.iter().sum::<f64>() / levels_db.len() as f64;
    for (band, level_db) in bands.iter().zip(&levels_db) {
        let gate_db = 0.2 + 3.0 * 4.34 / (band.width_hz() * 60.0).sqrt();
        assert!((level_db - mean_db).abs() <= gate_db, "{band}: {} of {gate_db}", level_db - mean_db);
    }
    // Outside the band there is next to nothing: 25 Hz lies 0.58 of an octave below the corner.
    let below = Band::nominal(Fraction::Third, 20.0).unwrap();
    assert!(third_db(&bins, step_hz, frames, frames, below) < mean_db - 25.0);
}

#[test]
fn peaks_stay_below_the_limit_and_lowering_is_told() {
    let mut file = Vec::new();
    let written = Pink { rms_dbfs: -3.0, ..PINK }.write(&mut file, |_, _| {}).unwrap();
    // Noise with a crest of more than 10 dB cannot have an rms of -3 dB below full scale.
    assert!(written.lowered_db > 5.0);
    assert!((written.rms_dbfs + 3.0 + written.lowered_db).abs() < 1e-3);
    assert!((written.true_peak_dbfs - (TRUE_PEAK_DB_MOST - PEAK_MARGIN_DB)).abs() < 1e-3);
    let written = Sweep { peak_dbfs: 0.0, ..SWEEP }.write(io::sink(), |_, _| {}).unwrap();
    assert!((1.2..1.3).contains(&written.lowered_db), "{}", written.lowered_db);
    assert!(written.true_peak_dbfs < TRUE_PEAK_DB_MOST);
}

#[test]
fn the_sweep_is_the_published_one() {
    let sweep = Sweep { duration_s: 10.0, fade_s: 0.0, ..SWEEP };
    // R, the time an octave takes and how far ahead harmonics arrive: closed forms, computed independently with mpmath 1.4.
    let rate = (18_000.0f64 / 40.0).ln();
    assert!((rate - 6.109_247_582_764).abs() < 1e-11);
    let samples: Vec<f64> = (0..480_000).map(|frame| sweep_sample(&sweep, frame)).collect();
    // The frequency from upward crossings about the time at which theory puts an octave: f doubles in T·ln 2/R = 1.1346 s.
    for octaves in 1..8 {
        let at_s = f64::from(octaves) * 10.0 * 2f64.ln() / rate;
        let hz = 40.0 * 2f64.powi(octaves);
        // Over 10 periods to each side the mean of an exponential rise is its middle to second order.
        let half = (10.0 / hz * 48_000.0) as usize;
        let middle = (at_s * 48_000.0) as usize;
        let part = &samples[middle - half..middle + half];
        let crossings: Vec<f64> = part
            .windows(2)
            .enumerate()
            .filter(|(_, pair)| pair[0] < 0.0 && pair[1] >= 0.0)
            .map(|(index, pair)| index as f64 - pair[0] / (pair[1] - pair[0]))
            .collect();
        let span = crossings[crossings.len() - 1] - crossings[0];
        let got_hz = (crossings.len() - 1) as f64 / span * 48_000.0;
        assert!((got_hz / hz - 1.0).abs() < 0.02, "octave {octaves}: {got_hz} for {hz}");
    }
    let rms = (samples.iter().map(|x| x * x).sum::<f64>() / 480_000.0).sqrt();
    assert!((20.0 * rms.log10() + 3.0103).abs() < 0.01);
    // Equal energy in every third; numpy 2.4 gives -17.245, -17.247 and -17.248 for these. By theory: each lasts T·ln(10^0.1)/R = 0.37690 s of the 10, so 10·lg(0.037690/2) = -17.248 dB.
    let length = 480_000;
    let (bins, step_hz) = spectrum(&samples, length, 48_000.0);
    for hz in [160.0, 1000.0, 6300.0] {
        let band = Band::nominal(Fraction::Third, hz).unwrap();
        let got_db = third_db(&bins, step_hz, length, length, band);
        assert!((got_db + 17.248).abs() < 0.005, "{band}: {got_db}");
    }
}

#[test]
fn sweep_and_inverse_make_an_impulse() {
    let sweep = Sweep { duration_s: 10.0, fade_s: 0.0, ..SWEEP };
    // T/(4·R·f₂) = 2.27342e-5 s²: Farina's inverse by stationary phase, computed independently with mpmath 1.4. A sweep
    // without fades ripples about it: single bins computed independently with numpy 2.4, a transform of the same length.
    let gain = sweep.deconvolution_gain() / (48_000.0 * 48_000.0);
    assert!((gain / 2.273_420_531_862_669e-5 - 1.0).abs() < 1e-12, "{gain}");
    let length = 1 << 20;
    let forward: Vec<f64> = (0..480_000).map(|frame| sweep_sample(&sweep, frame)).collect();
    let inverse: Vec<f64> = (0..480_000).map(|frame| sweep.inverse_sample(frame)).collect();
    // Full amplitude first, on the high end.
    assert!(inverse[..100].iter().any(|x| x.abs() > 0.9));
    let (first, step_hz) = spectrum(&forward, length, 48_000.0);
    let (second, _) = spectrum(&inverse, length, 48_000.0);
    let mut product: Vec<Complex<f64>> = first.iter().zip(&second).map(|(a, b)| a * b).collect();
    for (hz, expected) in [(10_000.0, 2.271_641e-5), (1000.0, 2.281_860e-5), (100.0, 2.250_322e-5)] {
        let bin = (hz / step_hz).round() as usize;
        let got = product[bin].norm() / (48_000.0 * 48_000.0);
        assert!((got / expected - 1.0).abs() < 1e-6, "{hz}: {got}");
    }
    // The impulse stands at the sweep's frames less one.
    let transform = RealFftPlanner::new().plan_fft_inverse(length);
    let mut impulse = transform.make_output_vec();
    product[0].im = 0.0;
    product[length / 2].im = 0.0;
    transform.process(&mut product, &mut impulse).unwrap();
    let highest = (0..length).max_by(|a, b| impulse[*a].abs().total_cmp(&impulse[*b].abs())).unwrap();
    assert_eq!(highest, 479_999);
}

#[test]
fn silence_after_the_sweep_is_silent() {
    let mut file = Vec::new();
    let written = SWEEP.write(&mut file, |_, _| {}).unwrap();
    let samples = samples_of(&file);
    assert_eq!((written.frames, samples.len()), (60_000, 60_000));
    assert!(samples[48_000..].iter().all(|sample| *sample == 0.0));
    // A sine of peak -3 dB has an rms of -6.01; the fades take a little.
    assert!((written.rms_dbfs + 6.0103).abs() < 0.15, "{}", written.rms_dbfs);
    assert_eq!(sweep_sample(&SWEEP, 48_000), 0.0);
    assert_eq!(SWEEP.inverse_sample(48_000), 0.0);
    assert_eq!(SWEEP.inverse_sample(u64::MAX), 0.0);
}

#[test]
fn fades_are_half_a_cosine() {
    // By definition: 0 at the edge, a half in the middle of the fade, 1 from its end on.
    let fade = Fade::new(0.5, 100, 1000);
    assert_eq!((fade.gain(0), fade.gain(999), fade.gain(50), fade.gain(500)), (0.0, 0.0, 1.0, 1.0));
    assert!((fade.gain(25) - 0.5).abs() < 1e-12 && (fade.gain(974) - 0.5).abs() < 1e-12);
    assert!((fade.gain(10) - (0.5 - 0.5 * (PI / 5.0).cos())).abs() < 1e-12);
    assert_eq!(Fade::new(0.0, 100, 1000).gain(0), 1.0);
}

#[test]
fn dither_is_triangular() {
    // Difference of two uniforms: variance 2/12 by definition, and less than a step.
    let mut dither = Dither::new(5);
    let values: Vec<f64> = (0..100_000).map(|_| dither.next_steps()).collect();
    let mean = values.iter().sum::<f64>() / 1e5;
    let variance = values.iter().map(|x| x * x).sum::<f64>() / 1e5;
    assert!(mean.abs() < 0.006 && (variance - 1.0 / 6.0).abs() < 0.003, "{mean} {variance}");
    assert!(values.iter().all(|x| x.abs() < 1.0));
}

#[test]
fn impossible_sounds_are_refused_in_words() {
    let pink = |pink: Pink| pink.write(io::sink(), |_, _| {}).unwrap_err().to_string();
    let sweep = |sweep: Sweep| sweep.write(io::sink(), |_, _| {}).unwrap_err().to_string();
    for (said, expected) in [
        (pink(Pink { sample_rate_hz: 0, ..PINK }), "0 Hz is not"),
        (pink(Pink { duration_s: 0.5, ..PINK }), "0.5 s is not"),
        (pink(Pink { duration_s: f64::NAN, ..PINK }), "NaN s is not"),
        (pink(Pink { from_hz: 5.0, ..PINK }), "band from 5"),
        (pink(Pink { to_hz: 70.0, ..PINK }), "to 70 Hz"),
        (pink(Pink { to_hz: 20_161.0, ..PINK }), "and 20160 Hz"),
        (pink(Pink { from_hz: f64::NAN, ..PINK }), "band from NaN"),
        (pink(Pink { fade_s: 0.6, ..PINK }), "fades of 0.6"),
        (pink(Pink { fade_s: -0.1, ..PINK }), "fades of -0.1"),
        (pink(Pink { rms_dbfs: 0.1, ..PINK }), "level of 0.1"),
        (sweep(Sweep { peak_dbfs: f64::INFINITY, ..SWEEP }), "level of inf"),
        (sweep(Sweep { tail_s: -1.0, ..SWEEP }), "silence of -1"),
        (sweep(Sweep { to_hz: f64::INFINITY, ..SWEEP }), "to inf Hz"),
        (sweep(Sweep { duration_s: 3601.0, ..SWEEP }), "3601 s is not"),
    ] {
        assert!(said.contains(expected), "{said:?} does not say {expected:?}");
    }
    let strange = Sweep { duration_s: f64::NAN, from_hz: -1.0, ..SWEEP };
    assert_eq!((sweep_sample(&strange, 0), strange.inverse_sample(0)), (0.0, 0.0));
}

#[test]
fn the_caution_warns_and_promises_nothing() {
    assert!(CAUTION.contains("lowest") && CAUTION.contains("protectors") && CAUTION.contains("100 dBA"));
    assert!(CAUTION.contains("ask") && !CAUTION.to_lowercase().contains("safe"));
}

/// Takes a few bytes and then no more.
struct Full(usize);

impl io::Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let count = bytes.len().min(self.0);
        self.0 -= count;
        if count == 0 { Err(io::ErrorKind::StorageFull.into()) } else { Ok(count) }
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_told() {
    for room in [0, 20, 50, 1000] {
        let refused = SWEEP.write(Full(room), |_, _| {}).unwrap_err();
        assert!(matches!(refused, SignalError::Write(WriteError::Write { .. })), "{refused}");
    }
}
