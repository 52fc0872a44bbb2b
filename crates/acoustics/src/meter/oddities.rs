//! What is odd about a recording: clipping, silence, a constant offset, peaks close to full scale.

use super::Cut;
use crate::Band;

/// What a reader of the levels should know about the recording they come from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Oddities {
    /// The tops are cut off: true levels are at or above those told.
    pub clipping: Option<Clipping>,
    /// Nothing but the format's own noise: rms below two of its steps. There are no levels then.
    pub is_silent: bool,
    /// A constant offset above a thousandth of full scale, in full scales. It is taken off before anything is measured.
    pub offset: Option<f64>,
    /// The highest sample, dB re full scale; absent where all are zero.
    pub peak_dbfs: Option<f64>,
    /// Samples above -1 dB re full scale.
    pub near_full_scale_count: u64,
    /// Samples that were no numbers, or beyond a million full scales: taken as zero.
    pub not_numbers_count: u64,
    /// Bands for which the recording is shorter than 5/B, so that their filters have hardly risen.
    pub too_short: Vec<Band>,
}

/// Where a recording is clipped.
#[derive(Debug, Clone, PartialEq)]
pub struct Clipping {
    /// How many times samples stood at an extreme; several in a row are one time.
    pub count: u64,
    /// When, s from the start: the first thousand, in order.
    pub times_s: Vec<f64>,
}

impl Clipping {
    /// What is left of it outside of some cuts.
    pub(super) fn without(&self, cuts: &[Cut]) -> Option<Self> {
        let is_kept = |time_s: &f64| cuts.iter().all(|cut| !(cut.from_s..cut.to_s).contains(time_s));
        let times_s: Vec<f64> = self.times_s.iter().copied().filter(is_kept).collect();
        let count = self.count - (self.times_s.len() - times_s.len()) as u64;
        (count > 0).then_some(Self { count, times_s })
    }
}

/// How many times are kept.
const MOST_TIMES: usize = 1000;
/// A full-scale value hit so often is no chance. Common practice, no source.
const MOST_HITS: u64 = 10;
/// Equal samples in a row that make a flat top. Common practice, no source.
const FLAT_COUNT: u64 = 3;
/// Format steps that a wave must fall beside a flat top: a slow wave in coarse steps falls by fewer than three.
const CORNER_STEPS: f64 = 8.0;
/// An offset worth telling, full scales.
const OFFSET: f64 = 0.001;

/// Watches raw samples go by.
#[derive(Debug, Clone)]
pub(crate) struct Watch {
    step: f64,
    high: Rail,
    low: Rail,
    count: u64,
    sum: f64,
    sum_of_squares: f64,
    near_full_scale_count: u64,
    pub(crate) not_numbers_count: u64,
}

impl Watch {
    /// `step`: the least step of the format, full scales.
    pub(crate) fn new(step: f64) -> Self {
        Self {
            step,
            high: Rail::new(1.0),
            low: Rail::new(-1.0),
            count: 0,
            sum: 0.0,
            sum_of_squares: 0.0,
            near_full_scale_count: 0,
            not_numbers_count: 0,
        }
    }

    pub(crate) fn push(&mut self, samples: &[f64]) {
        self.high.push(samples, self.count, self.step);
        self.low.push(samples, self.count, self.step);
        let (mut sum, mut squares) = ([0.0; 4], [0.0; 4]);
        let fours = samples.chunks_exact(4);
        for (lane, sample) in fours.remainder().iter().enumerate() {
            sum[lane] += sample;
            squares[lane] += sample * sample;
        }
        for four in fours {
            for lane in 0..4 {
                sum[lane] += four[lane];
                squares[lane] += four[lane] * four[lane];
            }
        }
        self.sum += sum.iter().sum::<f64>();
        self.sum_of_squares += squares.iter().sum::<f64>();
        self.count += samples.len() as u64;
        let near = 10f64.powf(-1.0 / 20.0);
        if self.high.block_top.max(self.low.block_top) > near {
            self.near_full_scale_count += samples.iter().filter(|sample| sample.abs() > near).count() as u64;
        }
    }

    /// The mean square without the offset.
    pub(crate) fn mean_square(&self) -> f64 {
        let count = self.count.max(1) as f64;
        (self.sum_of_squares / count - (self.sum / count).powi(2)).max(0.0)
    }

    /// Whether nothing was there but the format's own noise.
    pub(crate) fn is_silent(&self) -> bool {
        // What is left of a constant after its mean is taken off is rounding, not sound.
        let rounding = 1e-13 * self.sum_of_squares / self.count.max(1) as f64;
        self.mean_square() <= rounding || self.mean_square().sqrt() < 2.0 * self.step
    }

    /// Ends the watch.
    pub(crate) fn oddities(mut self, sample_rate_hz: f64) -> Oddities {
        self.high.close(None, self.step);
        self.low.close(None, self.step);
        let offset = self.sum / self.count.max(1) as f64;
        let peak = self.high.top.max(self.low.top);
        Oddities {
            clipping: clipping([&self.high, &self.low], sample_rate_hz),
            is_silent: self.is_silent(),
            offset: (offset.abs() > OFFSET).then_some(offset),
            peak_dbfs: (peak > 0.0).then(|| 20.0 * peak.log10()),
            near_full_scale_count: self.near_full_scale_count,
            not_numbers_count: self.not_numbers_count,
            too_short: Vec::new(),
        }
    }
}

fn clipping(rails: [&Rail; 2], sample_rate_hz: f64) -> Option<Clipping> {
    let clipped: Vec<&&Rail> = rails.iter().filter(|rail| rail.is_clipped()).collect();
    let mut times_s: Vec<f64> =
        clipped.iter().flat_map(|rail| &rail.starts).map(|start| *start as f64 / sample_rate_hz).collect();
    times_s.sort_by(f64::total_cmp);
    times_s.truncate(MOST_TIMES);
    let count = clipped.iter().map(|rail| rail.times).sum();
    (count > 0).then_some(Clipping { count, times_s })
}

/// One side of the wave and its extreme value.
///
/// At the end of the format every hit is kept. Below it a recording may have been clipped before it was stored or turned
/// down: there only flat tops with a corner beside them count, for a slow or faint wave in coarse steps has flat tops too
/// and a steady tone hits one value again and again.
#[derive(Debug, Clone)]
struct Rail {
    sign: f64,
    /// The highest sample, unchanged.
    top: f64,
    /// The highest sample of the last block.
    block_top: f64,
    /// The extreme value so far; all that lie at the end of the format count as 1.
    extreme: f64,
    previous: Option<f64>,
    run: Option<Run>,
    times: u64,
    hits: u64,
    flat_times: u64,
    starts: Vec<u64>,
}

/// Samples at the extreme, one after the other.
#[derive(Debug, Clone, Copy)]
struct Run {
    start: u64,
    count: u64,
    before: Option<f64>,
}

impl Rail {
    fn new(sign: f64) -> Self {
        Self {
            sign,
            top: f64::NEG_INFINITY,
            block_top: f64::NEG_INFINITY,
            extreme: f64::NEG_INFINITY,
            previous: None,
            run: None,
            times: 0,
            hits: 0,
            flat_times: 0,
            starts: Vec::new(),
        }
    }

    fn push(&mut self, samples: &[f64], first_index: u64, step: f64) {
        let sign = self.sign;
        self.block_top = highest(samples, sign);
        self.top = self.top.max(self.block_top);
        // Both ends of a whole-number format: 32767 of 32768, and programs that stop one step earlier.
        let end = 1.0 - 1.5 * step;
        let value = |sample: f64| if sign * sample >= end { 1.0 } else { sign * sample };
        if self.run.is_none() && value(sign * self.block_top) < self.extreme {
            self.previous = samples.last().map(|sample| value(*sample)).or(self.previous);
            return;
        }
        for (index, sample) in (first_index..).zip(samples) {
            self.see(value(*sample), index, step);
        }
    }

    fn see(&mut self, value: f64, index: u64, step: f64) {
        if value > self.extreme {
            // What stood at a lower value was no extreme.
            self.extreme = value;
            (self.times, self.hits, self.flat_times) = (0, 0, 0);
            self.starts.clear();
            self.run = Some(Run { start: index, count: 1, before: self.previous });
        } else if value == self.extreme {
            let before = self.previous;
            self.run.get_or_insert(Run { start: index, count: 0, before }).count += 1;
        } else if self.run.is_some() {
            self.close(Some(value), step);
        }
        self.previous = Some(value);
    }

    /// Ends a run and keeps it if it looks like clipping.
    fn close(&mut self, after: Option<f64>, step: f64) {
        let Some(run) = self.run.take() else {
            return;
        };
        let falls = |side: Option<f64>| side.is_some_and(|side| self.extreme - side > CORNER_STEPS * step);
        let is_flat = run.count >= FLAT_COUNT && (falls(run.before) || falls(after));
        if self.extreme >= 1.0 || is_flat {
            self.times += 1;
            self.hits += run.count;
            self.flat_times += u64::from(is_flat || run.count >= FLAT_COUNT);
            if self.starts.len() < MOST_TIMES {
                self.starts.push(run.start);
            }
        }
    }

    fn is_clipped(&self) -> bool {
        self.flat_times > 0 || self.hits >= MOST_HITS
    }
}

fn highest(samples: &[f64], sign: f64) -> f64 {
    let mut tops = [f64::NEG_INFINITY; 4];
    let fours = samples.chunks_exact(4);
    let higher = |top: &mut f64, sample: f64| *top = if sign * sample > *top { sign * sample } else { *top };
    fours.remainder().iter().for_each(|sample| higher(&mut tops[0], *sample));
    for four in fours {
        for lane in 0..4 {
            higher(&mut tops[lane], four[lane]);
        }
    }
    tops.into_iter().fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP: f64 = 1.0 / 32_768.0;

    fn watch(samples: &[f64]) -> Oddities {
        let mut watch = Watch::new(STEP);
        for piece in samples.chunks(1024) {
            watch.push(piece);
        }
        watch.oddities(48_000.0)
    }

    /// A tone in 16 bits, cut off at `limit`, then scaled.
    fn tone(hz: f64, amplitude: f64, limit: f64, scale: f64) -> Vec<f64> {
        let wave = |n: u32| amplitude * (2.0 * std::f64::consts::PI * hz * f64::from(n) / 48_000.0).sin();
        let cut = |y: f64| y.clamp(-limit, limit) * scale;
        (0..48_000).map(|n| ((cut(wave(n)) / STEP).round() * STEP).clamp(-1.0, 1.0 - STEP)).collect()
    }

    #[test]
    fn clipped_tones_are_found_and_clean_ones_are_not() {
        let rows = [
            (tone(440.0, 1.4, 2.0, 1.0), true, "driven over the end of the format"),
            (tone(440.0, 1.4, 1.0, 0.5), true, "clipped, then turned down"),
            (tone(9000.0, 1.4, 2.0, 1.0), true, "so high that few samples in a row are equal"),
            (tone(440.0, 0.9, 2.0, 1.0), false, "loud and clean"),
            (tone(20.0, 0.5, 2.0, 1.0), false, "slow: equal samples at every top"),
            (tone(100.0, 0.001, 2.0, 1.0), false, "faint: few steps high"),
            (tone(1000.0, 0.5, 2.0, 1.0), false, "every period hits the same values"),
            (tone(12_000.0, 0.5, 2.0, 1.0), false, "a quarter of the rate"),
            (vec![0.25; 48_000], false, "a constant"),
            (vec![0.0; 48_000], false, "nothing"),
        ];
        for (samples, expected, why) in rows {
            assert_eq!(watch(&samples).clipping.is_some(), expected, "{why}");
        }
    }

    #[test]
    fn clipping_is_counted_and_timed() {
        let mut samples = tone(440.0, 0.5, 2.0, 1.0);
        samples[10_000..10_005].fill(1.0 - STEP);
        samples[20_000..20_004].fill(-1.0);
        let clipping = watch(&samples).clipping.unwrap();
        assert_eq!(clipping.count, 2);
        assert!((clipping.times_s[0] - 10_000.0 / 48_000.0).abs() < 1e-12);
        assert!((clipping.times_s[1] - 20_000.0 / 48_000.0).abs() < 1e-12);
        let left = clipping.without(&[Cut { from_s: 0.2, to_s: 0.3 }]).unwrap();
        assert_eq!((left.count, left.times_s.len()), (1, 1));
        assert_eq!(left.without(&[Cut { from_s: 0.0, to_s: 1.0 }]), None);
    }

    #[test]
    fn one_touch_of_full_scale_is_no_clipping_but_is_told() {
        let mut samples = tone(440.0, 0.5, 2.0, 1.0);
        samples[100] = 1.0 - STEP;
        let oddities = watch(&samples);
        assert_eq!(oddities.clipping, None);
        assert_eq!(oddities.near_full_scale_count, 1);
        assert!(oddities.peak_dbfs.unwrap().abs() < 0.001);
    }

    #[test]
    fn silence_and_offset_are_told() {
        assert!(watch(&[0.0; 5000]).is_silent);
        assert!(watch(&[]).is_silent);
        let offset = watch(&[0.1; 5000]);
        assert!(offset.is_silent && (offset.offset.unwrap() - 0.1).abs() < 1e-12);
        let dithered: Vec<f64> = (0..5000).map(|n| f64::from(n % 3 - 1) * STEP).collect();
        assert!(watch(&dithered).is_silent, "one step up and down");
        let faint: Vec<f64> = (0..5000).map(|n| f64::from(n % 3 - 1) * 4.0 * STEP).collect();
        assert!(!watch(&faint).is_silent);
    }
}
