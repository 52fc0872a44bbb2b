//! Random numbers from a seed, so that a plan is the same on every device. Not for secrets.

/// The generator SplitMix64.
///
/// # Source
/// Steele, Lea and Flood 2014, fast splittable pseudorandom number generators.
pub(super) struct Draws {
    state: u64,
}

impl Draws {
    pub(super) fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// Draws the next 64 bits.
    pub(super) fn draw(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed(self.state)
    }

    /// Draws an index below `count`, 0 where there is none.
    pub(super) fn index(&mut self, count: usize) -> usize {
        ((u128::from(self.draw()) * count as u128) >> 64) as usize
    }
}

/// Spreads every bit over all of them; no two numbers give the same.
pub(super) fn mixed(mut bits: u64) -> u64 {
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: first outputs for seed 1234567, as the algorithm's reference implementation prints them.
    #[test]
    fn follows_the_published_sequence() {
        let mut draws = Draws::new(1_234_567);
        assert_eq!(
            [draws.draw(), draws.draw(), draws.draw()],
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]
        );
        assert_eq!(draws.index(0), 0);
    }
}
