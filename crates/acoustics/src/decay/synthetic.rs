//! Noise and rooms made from a seed, for the tests of decays alone.

/// White noise of mean square 1: twelve uniform numbers, less six. The generator is SplitMix64 (Steele and others, 2014).
pub(super) struct Noise(pub(super) u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(super) fn sample(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    pub(super) fn samples(&mut self, count: usize) -> Vec<f64> {
        (0..count).map(|_| self.sample()).collect()
    }

    /// Noise that decays by 60 dB in `time_s`, starting at rms 1.
    pub(super) fn decaying(&mut self, count: usize, sample_rate_hz: f64, time_s: f64) -> Vec<f64> {
        let at = |index: usize| 10f64.powf(-3.0 * index as f64 / sample_rate_hz / time_s);
        (0..count).map(|index| at(index) * self.sample()).collect()
    }
}
