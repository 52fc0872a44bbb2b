//! Random numbers from a seed, and a drawn order: the same seed gives the same on every device.
//!
//! For resampling and for the order of readings, never for secrets. Leaves out distributions: nothing here needs one.

/// Random numbers from a seed, the generator SplitMix64.
///
/// # Source
/// Steele, Lea and Flood 2014, fast splittable pseudorandom number generators.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SplitMix64 {
    state: u64,
}

impl SplitMix64 {
    /// Starts at a seed; every seed is as good as another.
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// Draws the next 64 bits.
    pub fn draw(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.state;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    /// Draws an index below `count`, 0 where there is none; the bias of the high word is below count/2⁶⁴.
    pub fn index(&mut self, count: usize) -> usize {
        ((u128::from(self.draw()) * count as u128) >> 64) as usize
    }

    /// Puts items into a drawn order, every order as likely as another.
    ///
    /// # Source
    /// Fisher and Yates 1938 in the form of Durstenfeld 1964: each place from the last takes one of those left.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for place in (1..items.len()).rev() {
            items.swap(place, self.index(place + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_those_of_the_published_generator() {
        // The first numbers from this seed, computed independently with Python's integers from the authors' formula.
        let mut numbers = SplitMix64::new(1_234_567);
        let expected = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        assert_eq!(expected.map(|_| numbers.draw()), expected);
        assert!((0..1000).all(|_| numbers.index(7) < 7));
        assert_eq!(numbers.index(0), 0);
    }

    #[test]
    fn every_order_is_as_likely_as_another() {
        // Chi-square over the 24 orders of four, 23 degrees of freedom: 49.73 is passed one time in a thousand (NIST/SEMATECH
        // handbook of statistical methods, table 1.3.6.7.4).
        let mut counts = std::collections::BTreeMap::new();
        let rounds = 24_000;
        for seed in 0..rounds {
            let mut items = [0, 1, 2, 3];
            SplitMix64::new(seed).shuffle(&mut items);
            *counts.entry(items).or_insert(0.0) += 1.0;
        }
        let expected = rounds as f64 / 24.0;
        let chi2: f64 = counts.values().map(|count: &f64| (count - expected).powi(2) / expected).sum();
        assert!(counts.len() == 24 && chi2 < 49.73, "{chi2}");
    }

    proptest! {
        #[test]
        fn a_shuffle_keeps_every_item(seed: u64, count in 0usize..40) {
            let mut items: Vec<usize> = (0..count).collect();
            SplitMix64::new(seed).shuffle(&mut items);
            let mut again: Vec<usize> = (0..count).collect();
            SplitMix64::new(seed).shuffle(&mut again);
            prop_assert_eq!(&items, &again);
            items.sort_unstable();
            prop_assert_eq!(items, (0..count).collect::<Vec<_>>());
        }
    }
}
