//! All third octaves of a recording at once, each at the lowest rate that holds it.

use super::FilterError;
use super::band::BandFilter;
use super::half_band::{HalfBand, REACH};
use super::rack::Rack;
use crate::{Band, Fraction};

/// A band runs at the lowest rate of which its mid-band is at most this part: its upper edge then lies where the
/// half-band filters are flat, and what folds lies where they are closed.
const HIGHEST_SHARE: f64 = 0.21;

/// How often a rate is halved at most: below 50 Hz there is no band.
const MOST_HALVINGS: u32 = 14;

/// Below this a band runs at four times the rate it could: it costs nothing, and the taps of the halving then reach less
/// far beyond the ends of a short recording, where a sudden start or stop sounds in every band.
const LOW_HZ: f64 = 220.0;

/// Upper edge over mid-band of a third octave, `10^(1/20)`.
const THIRD_TO_EDGE: f64 = 1.122_018_454_301_963;

/// Filters side by side. Four measured fastest: two fill a register, and two registers hide each other's delay.
const LANES: usize = 4;

/// Third-octave filters from 10 Hz to 20 kHz and octave filters from 16 Hz to 16 kHz, or as far up as the rate reaches.
///
/// The filters are those of [`BandFilter`]; low bands see the recording at a halved rate, halved again for each octave
/// down. The mask of class 1 holds through the whole chain, for tones that fold as well. Octaves have filters of their
/// own: the sum of three thirds reads up to 0.4 dB high for a tone where two of them meet, past what class 1 allows.
#[derive(Debug, Clone)]
pub struct Bank {
    bands: Vec<Band>,
    /// Where the filter of each band stands: its stage and its place there.
    places: Vec<(usize, usize)>,
    stages: Vec<Stage>,
}

/// What a [`Bank`] gives.
#[derive(Debug, Clone, PartialEq)]
pub struct BandSeconds {
    /// The thirds, lowest first, and then the octaves, lowest first.
    pub bands: Vec<Band>,
    /// For each second of the recording, the last one perhaps shorter, `∫ y² dt` of each band, full scale² · s.
    pub seconds: Vec<Vec<f64>>,
}

impl Bank {
    /// Makes a bank at rest.
    ///
    /// # Errors
    /// [`FilterError::SampleRate`] where the rate holds no band at all.
    pub fn new(sample_rate_hz: u32) -> Result<Self, FilterError> {
        let rate_hz = f64::from(sample_rate_hz);
        let mut stages: Vec<Stage> =
            (0..MOST_HALVINGS).map(|halvings| Stage::new(sample_rate_hz, halvings)).collect();
        let (mut bands, mut places) = (Vec::new(), Vec::new());
        for fraction in [Fraction::Third, Fraction::Octave] {
            for band in Band::all(fraction).filter(|band| 2.0 * band.upper_hz() < rate_hz) {
                let stage = halvings(band, rate_hz) as usize;
                let filter = BandFilter::new(band, stages[stage].rate_hz())?;
                bands.push(band);
                places.push((stage, stages[stage].filters.len()));
                stages[stage].filters.push(filter);
            }
        }
        let deepest = stages.iter().rposition(|stage| !stage.filters.is_empty());
        stages.truncate(deepest.ok_or(FilterError::SampleRate { sample_rate_hz: rate_hz })? + 1);
        stages.iter_mut().for_each(Stage::fill_racks);
        Ok(Self { bands, places, stages })
    }

    /// The thirds, lowest first, and then the octaves, lowest first.
    pub fn bands(&self) -> &[Band] {
        &self.bands
    }

    /// Takes samples in.
    pub fn push(&mut self, samples: &[f64]) {
        feed(&mut self.stages, samples);
    }

    /// Ends the recording and tells the energies.
    ///
    /// Filters start at rest and nothing follows the end: what still rings in a low band is left out.
    pub fn finish(mut self) -> BandSeconds {
        for index in 1..self.stages.len() {
            // The sample in the middle of the last taps is told once silence has come after it.
            let (before, from_here) = self.stages.split_at_mut(index);
            let mut told = Vec::new();
            before[index - 1].half_band.process(&[0.0; REACH], &mut told);
            feed(from_here, &told);
        }
        self.stages.iter_mut().for_each(Stage::close_second);
        let count = self.stages.iter().map(|stage| stage.seconds.len()).max().unwrap_or(0);
        let second = |index: usize| {
            let energy = |(stage, place): &(usize, usize)| self.stages[*stage].energy(index, *place);
            self.places.iter().map(energy).collect()
        };
        BandSeconds { seconds: (0..count).map(second).collect(), bands: self.bands }
    }

    /// The attenuation of a band at a frequency through the whole chain, dB, folding included.
    #[cfg(test)]
    fn response(&self, band: Band, hz: f64) -> f64 {
        let (mut hz, mut lost_db) = (hz, 0.0);
        for stage in &self.stages {
            if let Some(filter) = stage.filters.iter().find(|filter| filter.band() == band) {
                return lost_db + filter.response(hz);
            }
            lost_db -= 20.0 * stage.half_band.gain(hz, stage.rate_hz()).abs().max(1e-15).log10();
            hz = hz.min((stage.rate_hz() / 2.0 - hz).abs());
        }
        unreachable!("every band has a stage")
    }
}

/// How often the rate is halved for a band: an octave goes with its highest third, whose upper edge it shares.
fn halvings(band: Band, rate_hz: f64) -> u32 {
    let third_hz = band.upper_hz() / THIRD_TO_EDGE;
    // A hair of room, for the edge of an octave is computed by another way than that of its third.
    let share = if third_hz < LOW_HZ { HIGHEST_SHARE / 4.0 } else { HIGHEST_SHARE };
    let fits = |halvings: &u32| third_hz <= (share + 1e-9) * rate_hz / f64::from(1u32 << halvings);
    (0..MOST_HALVINGS).rev().find(fits).unwrap_or(0)
}

/// Runs samples through the first stage and what it halves through the next.
fn feed(stages: &mut [Stage], samples: &[f64]) {
    let Some((stage, rest)) = stages.split_first_mut() else {
        return;
    };
    stage.measure(samples);
    if !rest.is_empty() {
        let mut halved = std::mem::take(&mut stage.halved);
        halved.clear();
        stage.half_band.process(samples, &mut halved);
        feed(rest, &halved);
        stage.halved = halved;
    }
}

/// The bands that run at one rate.
#[derive(Debug, Clone)]
struct Stage {
    full_rate_hz: u32,
    halvings: u32,
    filters: Vec<BandFilter>,
    racks: Vec<Rack<LANES>>,
    half_band: HalfBand,
    /// Room for what is halved, kept to spare allocations.
    halved: Vec<f64>,
    /// Samples taken in.
    count: u64,
    /// Sums of squares of the running second.
    running: Vec<[f64; LANES]>,
    /// The same for every second that is over.
    seconds: Vec<Vec<[f64; LANES]>>,
    has_open_second: bool,
}

impl Stage {
    fn new(full_rate_hz: u32, halvings: u32) -> Self {
        Self {
            full_rate_hz,
            halvings,
            filters: Vec::new(),
            racks: Vec::new(),
            half_band: HalfBand::new(),
            halved: Vec::new(),
            count: 0,
            running: Vec::new(),
            seconds: Vec::new(),
            has_open_second: false,
        }
    }

    fn rate_hz(&self) -> f64 {
        f64::from(self.full_rate_hz) / f64::from(1u32 << self.halvings)
    }

    fn fill_racks(&mut self) {
        let filters: Vec<&BandFilter> = self.filters.iter().collect();
        self.racks = filters.chunks(LANES).map(Rack::new).collect();
        self.running = vec![[0.0; LANES]; self.racks.len()];
    }

    /// Filters samples and books their energy to the second they lie in.
    fn measure(&mut self, mut samples: &[f64]) {
        while !samples.is_empty() {
            // The first sample of this rate at or after the next full second.
            let second = (self.count << self.halvings) / u64::from(self.full_rate_hz) + 1;
            let end = (second * u64::from(self.full_rate_hz)).div_ceil(1 << self.halvings);
            let count =
                usize::try_from(end - self.count).map_or(samples.len(), |left| left.min(samples.len()));
            let (now, later) = samples.split_at(count);
            for (rack, energy) in self.racks.iter_mut().zip(&mut self.running) {
                rack.process(now, energy);
            }
            self.count += count as u64;
            self.has_open_second = true;
            if self.count == end {
                self.close_second();
            }
            samples = later;
        }
    }

    fn close_second(&mut self) {
        if std::mem::take(&mut self.has_open_second) {
            self.seconds.push(self.running.clone());
            self.running.fill([0.0; LANES]);
        }
    }

    /// The energy of one filter in one second; a last sliver of a second may hold no sample of a slow stage.
    fn energy(&self, second: usize, place: usize) -> f64 {
        self.seconds.get(second).map_or(0.0, |racks| racks[place / LANES][place % LANES] / self.rate_hz())
    }
}

#[cfg(test)]
mod tests {
    use super::super::mask;
    use super::*;
    use std::f64::consts::PI;

    fn third(hz: f64) -> Band {
        Band::nominal(Fraction::Third, hz).unwrap()
    }

    /// Levels over a whole recording, dB re rms 1.
    fn levels_db(samples: &[f64], rate_hz: u32) -> Vec<(Band, f64)> {
        let mut bank = Bank::new(rate_hz).unwrap();
        bank.push(samples);
        let BandSeconds { bands, seconds } = bank.finish();
        let duration_s = samples.len() as f64 / f64::from(rate_hz);
        let energy = |index: usize| seconds.iter().map(|second| second[index]).sum::<f64>();
        bands
            .iter()
            .enumerate()
            .map(|(index, band)| (*band, 10.0 * (energy(index) / duration_s).log10()))
            .collect()
    }

    fn tone(hz: f64, rate_hz: u32, duration_s: f64) -> Vec<f64> {
        let step = 2.0 * PI * hz / f64::from(rate_hz);
        (0..(duration_s * f64::from(rate_hz)) as usize)
            .map(|n| (step * n as f64).sin() * 2f64.sqrt())
            .collect()
    }

    #[test]
    fn tones_come_through_at_their_level_and_edges_split() {
        for hz in [25.0, 100.0, 1000.0, 5000.0, 6300.0, 16_000.0] {
            let found =
                levels_db(&tone(third(hz).exact_hz(), 48_000, 40.0 / third(hz).width_hz() + 1.0), 48_000);
            let level_db = found.iter().find(|(band, _)| *band == third(hz)).unwrap().1;
            // What is lost while the filter rises is a part of the whole: 0.6/B of 40/B + 1 s at most.
            assert!(level_db.abs() < 0.1, "{hz}: {level_db}");
        }
        let found = levels_db(&tone(third(1000.0).upper_hz(), 48_000, 5.0), 48_000);
        for hz in [1000.0, 1250.0] {
            let level_db = found.iter().find(|(band, _)| *band == third(hz)).unwrap().1;
            assert!((level_db + 3.01).abs() < 0.03, "half of the power to each neighbour: {level_db}");
        }
    }

    #[test]
    fn folded_tones_stay_out_of_low_bands() {
        // Faded in and out over a second each, for a sudden start sounds in every band.
        for hz in [11_500.0, 13_000.0, 19_000.0, 23_000.0] {
            let mut samples = tone(hz, 48_000, 4.0);
            let count = samples.len();
            for (n, sample) in samples.iter_mut().enumerate() {
                let part = (n.min(count - n) as f64 / 48_000.0).min(1.0);
                *sample *= (PI / 2.0 * part).sin().powi(2);
            }
            for (band, level_db) in
                levels_db(&samples, 48_000).iter().filter(|(band, _)| band.upper_hz() < hz / 6.0)
            {
                assert!(*level_db < -70.0, "{hz} Hz in {} {band}: {level_db}", band.fraction());
            }
        }
    }

    #[test]
    fn energies_lie_in_their_second() {
        let mut samples = vec![0.0; 96_000];
        samples.extend(tone(1000.0, 48_000, 1.0));
        samples.extend(vec![0.0; 60_000]);
        let mut bank = Bank::new(48_000).unwrap();
        samples.chunks(1000).for_each(|piece| bank.push(piece));
        let BandSeconds { bands, seconds } = bank.finish();
        assert_eq!(seconds.len(), 5);
        let place = bands.iter().position(|band| *band == third(1000.0)).unwrap();
        let energies: Vec<f64> = seconds.iter().map(|second| second[place]).collect();
        assert!((energies[2] - 1.0).abs() < 0.01, "{energies:?}");
        assert!(
            energies[0] + energies[1] < 1e-6 && energies[3] < 0.01 && energies[4] < 1e-12,
            "{energies:?}"
        );
        assert!(seconds.iter().all(|second| second.len() == bands.len()));
    }

    #[test]
    fn a_rate_without_any_band_is_refused() {
        assert!(matches!(Bank::new(10), Err(FilterError::SampleRate { .. })));
        assert!(matches!(Bank::new(0), Err(FilterError::SampleRate { .. })));
        let empty = Bank::new(48_000).unwrap().finish();
        assert!(empty.seconds.is_empty());
        assert_eq!(empty.bands.len(), 34 + 11);
    }

    #[test]
    fn the_whole_chain_lies_within_class_one() {
        for rate_hz in
            [8000, 11_025, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000]
        {
            let bank = Bank::new(rate_hz).unwrap();
            for band in bank.bands() {
                let middle_db = bank.response(*band, band.exact_hz());
                for step in 1..1500 {
                    // Every frequency of the recording, in equal ratios from 1 Hz up: folded tones as well.
                    let hz = (f64::from(rate_hz) / 2.0).powf(f64::from(step) / 1500.0);
                    let relative_db = bank.response(*band, hz) - middle_db;
                    let (least_db, most_db) = mask::class_one(*band, hz);
                    assert!(
                        (least_db..=most_db).contains(&relative_db),
                        "{band} at {rate_hz} Hz: {relative_db} at {hz} Hz, not {least_db} to {most_db}"
                    );
                }
            }
        }
    }
}
