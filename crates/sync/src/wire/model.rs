//! What is expected of numbers: how large they are, and what they are near to.

use super::BatchError;
use super::coder::Chance;
use super::lane::Lane;

/// Bits below the leading one that are learned; the others are noise.
const LEARNED: u32 = 3;
/// Chances for the learned bits of numbers of one size.
const FINE: usize = 1 << LEARNED;

/// Numbers of one kind. The common ones cost little, whichever they are; small ones cost less than large.
#[derive(Debug, Clone)]
pub(super) struct Number {
    sizes: Box<[Chance; 128]>,
    fine: Vec<[Chance; FINE]>,
}

impl Number {
    /// About what it takes in memory.
    pub(super) const BYTES: usize = 1_024;

    /// Passes a number.
    pub(super) fn pass(&mut self, lane: &mut impl Lane, given: Option<u64>) -> Result<u64, BatchError> {
        let size = self.size(lane, given.map(|given| 64 - given.leading_zeros()))?;
        if size < 2 {
            return Ok(u64::from(size));
        }
        let at = size as usize - 2;
        if self.fine.len() <= at {
            lane.spend(size_of::<[Chance; FINE]>() * (at + 1 - self.fine.len()))?;
            self.fine.resize(at + 1, [Chance::EVEN; FINE]);
        }
        let below = size - 1;
        let learned = below.min(LEARNED);
        let rest = below - learned;
        let (mut node, mut value) = (1, 1);
        for left in (0..learned).rev() {
            let bit =
                lane.bit(&mut self.fine[at][node], given.map(|given| given >> (rest + left) & 1 == 1))?;
            node = 2 * node + usize::from(bit);
            value = value << 1 | u64::from(bit);
        }
        if rest == 0 {
            return Ok(value);
        }
        let mask = (1 << rest) - 1;
        Ok(value << rest | lane.raw(rest, given.map(|given| given & mask))?)
    }

    /// Passes how many bits a number has, 0 to 64.
    fn size(&mut self, lane: &mut impl Lane, given: Option<u32>) -> Result<u32, BatchError> {
        let mut node = 1;
        for at in (0..7).rev() {
            let bit = lane.bit(&mut self.sizes[node], given.map(|size| size >> at & 1 == 1))?;
            node = 2 * node + usize::from(bit);
        }
        let size = node as u32 - 128;
        if size <= 64 { Ok(size) } else { Err(BatchError::Illegal { what: "a number" }) }
    }
}

impl Default for Number {
    fn default() -> Self {
        let mut sizes = [Chance::EVEN; 128];
        // Sizes of 64, 32 and 16 bits and more are rare until the contrary is seen.
        sizes[1] = Chance::of(600);
        sizes[2] = Chance::of(4_000);
        sizes[4] = Chance::of(12_000);
        Self { sizes: Box::new(sizes), fine: Vec::new() }
    }
}

/// Numbers of one kind, apart by what came before.
#[derive(Debug, Clone, Default)]
pub(super) struct Numbers(Vec<Option<Number>>);

impl Numbers {
    /// The most contexts told apart.
    pub(super) const MOST: usize = 256;

    /// Passes a number in a context.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        context: usize,
        given: Option<u64>,
    ) -> Result<u64, BatchError> {
        let context = context.min(Self::MOST - 1);
        if self.0.len() <= context {
            self.0.resize(context + 1, None);
        }
        if self.0[context].is_none() {
            lane.spend(Number::BYTES)?;
        }
        self.0[context].get_or_insert_with(Number::default).pass(lane, given)
    }
}

/// Numbers that lie near others: near 0, near the last, or near a hint, whichever did best of late.
#[derive(Debug, Clone, Default)]
pub(super) struct Near {
    last: i64,
    /// Bits that each guess cost of late, in 1/16.
    cost: [u32; 3],
    residuals: [Number; 3],
}

impl Near {
    pub(super) const BYTES: usize = 3 * Number::BYTES;

    /// Passes a number that may lie near `hint`.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        hint: i64,
        given: Option<i64>,
    ) -> Result<i64, BatchError> {
        let guesses = [hint, self.last, 0];
        let best = (0..guesses.len()).min_by_key(|at| self.cost[*at]).expect("there are guesses");
        let residual = given.map(|given| zigzag(given.wrapping_sub(guesses[best])));
        let residual = self.residuals[best].pass(lane, residual)?;
        let value = guesses[best].wrapping_add(unzigzag(residual));
        for (cost, guess) in self.cost.iter_mut().zip(guesses) {
            let bits = 64 - zigzag(value.wrapping_sub(guess)).leading_zeros();
            *cost = *cost - *cost / 16 + bits;
        }
        self.last = value;
        Ok(value)
    }
}

/// Numbers as naturals, those near 0 first: 0, -1, 1, -2, ...
pub(super) fn zigzag(value: i64) -> u64 {
    (value << 1 ^ value >> 63) as u64
}

/// The inverse of [`zigzag`].
pub(super) fn unzigzag(value: u64) -> i64 {
    (value >> 1) as i64 ^ -((value & 1) as i64)
}
