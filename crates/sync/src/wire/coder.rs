//! Binary arithmetic coding with chances that are learned on the way: what was foreseen costs next to nothing.
//!
//! The method is that of Rissanen and Langdon (1979), in whole numbers only, so that both ends compute the
//! same. Leaves out what the bits mean: see [`super::lane`].

/// How likely a bit is set, learned from the bits of its kind before it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Chance {
    /// Chance of a set bit, in 1/65,536.
    set: u16,
    /// How many bits were seen, up to [`Chance::MEMORY`].
    seen: u16,
}

impl Chance {
    /// Bits after which the past counts no more than the present.
    const MEMORY: u16 = 160;
    /// Least and greatest chance, so that neither bit is ever impossible.
    const LEAST: u32 = 24;
    const GREATEST: u32 = 65_536 - Self::LEAST;

    /// A bit that is set this often, in 1/65,536, as far as known.
    pub(super) const fn of(set: u16) -> Self {
        Self { set, seen: 0 }
    }

    /// A bit of which nothing is known.
    pub(super) const EVEN: Self = Self::of(32_768);

    fn learn(&mut self, bit: bool) {
        // Moves 1/(n + 1.5) of the way, which is near the mean of what was seen, with a little doubt.
        let target = if bit { 65_535 } else { 0 };
        let step = (target - i32::from(self.set)) * 2 / (2 * i32::from(self.seen) + 3);
        self.set = (i32::from(self.set) + step) as u16;
        self.seen = (self.seen + 1).min(Self::MEMORY);
    }

    fn share(self) -> u64 {
        u64::from(u32::from(self.set).clamp(Self::LEAST, Self::GREATEST))
    }
}

/// The interval that all bits so far have left, of the numbers of 64 bits.
#[derive(Debug, Clone, Copy)]
struct Interval {
    low: u64,
    high: u64,
}

impl Interval {
    const WHOLE: Self = Self { low: 0, high: u64::MAX };
    /// Where an interval becomes too narrow to be cut finely.
    const NARROW: u64 = 1 << 32;

    /// The last number of the part that stands for a set bit; above it lies the other part.
    fn cut(self, share: u64) -> u64 {
        // (high - low) >> 16 times at most 65,535/65,536 of it stays below high.
        self.low + ((self.high - self.low) >> 16) * share
    }

    fn narrow(&mut self, cut: u64, bit: bool) {
        if bit {
            self.high = cut;
        } else {
            self.low = cut + 1;
        }
    }

    /// The width of each part, of 2 to the power of `count`, at most 16; the little that is left stays unused.
    fn part(self, count: u32) -> u64 {
        (self.high - self.low) >> count
    }

    fn narrow_to_part(&mut self, width: u64, part: u64) {
        self.low += width * part;
        self.high = self.low + (width - 1);
    }

    /// Moves on by a byte if the first one is settled.
    fn shift(&mut self) -> Option<u8> {
        let first = (self.low >> 56) as u8;
        if first != (self.high >> 56) as u8 {
            if self.high - self.low >= Self::NARROW {
                return None;
            }
            // Almost nothing is left, on both sides of a border between bytes: give up what lies beyond.
            self.high = self.low | (Self::NARROW - 1);
        }
        self.low <<= 8;
        self.high = self.high << 8 | 0xFF;
        Some(first)
    }
}

/// Writes bits.
#[derive(Debug)]
pub(super) struct Encoder {
    interval: Interval,
    bytes: Vec<u8>,
}

impl Encoder {
    pub(super) fn new() -> Self {
        Self { interval: Interval::WHOLE, bytes: Vec::new() }
    }

    /// Writes a bit and learns from it.
    pub(super) fn bit(&mut self, chance: &mut Chance, bit: bool) {
        self.interval.narrow(self.interval.cut(chance.share()), bit);
        self.settle();
        chance.learn(bit);
    }

    /// Writes the low `count` bits of `value`, at most 64, that nothing is known of.
    pub(super) fn raw(&mut self, count: u32, value: u64) {
        for (from, count) in pieces(count) {
            let width = self.interval.part(count);
            self.interval.narrow_to_part(width, (value >> from) & ((1 << count) - 1));
            self.settle();
        }
    }

    /// Returns the bytes; the reader takes what is missing for zeros.
    pub(super) fn finish(mut self) -> Vec<u8> {
        // The shortest start of a number within the interval that zeros may follow.
        let Interval { low, high } = self.interval;
        if low > 0 {
            let kept = (1..=8).map(|count| 64 - 8 * count).find(|drop| {
                let value = (high >> drop) << drop;
                value >= low
            });
            let drop = kept.unwrap_or(0);
            self.bytes.extend(((high >> drop) << drop).to_be_bytes().iter().take((64 - drop) / 8));
        }
        self.bytes
    }

    fn settle(&mut self) {
        while let Some(byte) = self.interval.shift() {
            self.bytes.push(byte);
        }
    }
}

/// Reads bits.
#[derive(Debug)]
pub(super) struct Decoder<'a> {
    interval: Interval,
    code: u64,
    bytes: &'a [u8],
    /// How many bytes were taken, the zeros after the end included.
    taken: usize,
}

impl<'a> Decoder<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let mut decoder = Self { interval: Interval::WHOLE, code: 0, bytes, taken: 0 };
        (0..8).for_each(|_| decoder.take());
        decoder
    }

    /// Reads a bit and learns from it.
    pub(super) fn bit(&mut self, chance: &mut Chance) -> bool {
        let cut = self.interval.cut(chance.share());
        let bit = self.code <= cut;
        self.interval.narrow(cut, bit);
        self.settle();
        chance.learn(bit);
        bit
    }

    /// Reads `count` bits, at most 64, that nothing is known of.
    pub(super) fn raw(&mut self, count: u32) -> u64 {
        let mut value = 0;
        for (from, count) in pieces(count) {
            let width = self.interval.part(count);
            // No writer leaves the code outside of the interval; others get some part.
            let part = (self.code.wrapping_sub(self.interval.low) / width).min((1 << count) - 1);
            self.interval.narrow_to_part(width, part);
            self.settle();
            value |= part << from;
        }
        value
    }

    /// Says whether more was read than was written: the bytes are cut short, or none of ours.
    pub(super) fn is_overrun(&self) -> bool {
        self.taken > self.bytes.len() + 8
    }

    /// Says whether all was read: at the end a writer adds eight bytes at most.
    pub(super) fn is_at_end(&self) -> bool {
        (self.bytes.len()..=self.bytes.len() + 8).contains(&self.taken)
    }

    fn settle(&mut self) {
        while self.interval.shift().is_some() {
            self.take();
        }
    }

    fn take(&mut self) {
        self.code = self.code << 8 | u64::from(self.bytes.get(self.taken).copied().unwrap_or(0));
        self.taken += 1;
    }
}

/// Parts `count` bits into pieces of at most 16, the uppermost first: how many bits lie below, and how many it has.
fn pieces(count: u32) -> impl Iterator<Item = (u32, u32)> {
    let step = move |from: u32| (16 * from, (count - 16 * from).min(16));
    (0..count.div_ceil(16)).rev().map(step)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn foreseen_bits_cost_little_and_even_ones_a_bit_each() {
        let bytes = |bits: &[bool]| {
            let (mut encoder, mut chance) = (Encoder::new(), Chance::EVEN);
            bits.iter().for_each(|bit| encoder.bit(&mut chance, *bit));
            encoder.finish().len()
        };
        assert!(bytes(&[true; 10_000]) < 10);
        // Shannon: 1 in 10 set costs 0.469 bits each, H(0.1) = -0.1 lg 0.1 - 0.9 lg 0.9.
        let tenth: Vec<bool> =
            (0..80_000_u64).map(|at| ((at * 2_654_435_761) >> 7).is_multiple_of(10)).collect();
        let got = bytes(&tenth);
        assert!((4_690..4_690 * 107 / 100).contains(&got), "{got}");
        let mut encoder = Encoder::new();
        encoder.raw(64, u64::MAX / 3);
        assert!(encoder.finish().len() <= 9);
    }

    #[test]
    fn the_end_is_told_from_too_few_and_too_many_bytes() {
        for count in 0..300 {
            let mut encoder = Encoder::new();
            (0..count).for_each(|_| encoder.raw(8, 0xFF));
            (0..count).for_each(|_| encoder.raw(8, 0));
            let bytes = encoder.finish();
            let mut decoder = Decoder::new(&bytes);
            assert!((0..count).all(|_| decoder.raw(8) == 0xFF) && (0..count).all(|_| decoder.raw(8) == 0));
            assert!(decoder.is_at_end() && !decoder.is_overrun());
            // A byte may stay unsettled for as long as the interval is wide, eight bytes; then it shows.
            (0..18).for_each(|_| _ = decoder.raw(8));
            assert!(decoder.is_overrun() && !decoder.is_at_end());
            let longer = [bytes.as_slice(), &[0; 9]].concat();
            let mut decoder = Decoder::new(&longer);
            (0..2 * count).for_each(|_| _ = decoder.raw(8));
            assert!(!decoder.is_at_end());
        }
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(items in proptest::collection::vec((0..4usize, any::<u64>(), 0..=64_u32), 0..200)) {
            let mut encoder = Encoder::new();
            let mut chances = [Chance::EVEN, Chance::of(1), Chance::of(65_535), Chance::of(1_000)];
            for (which, value, count) in &items {
                encoder.bit(&mut chances[*which], *value & 1 == 1);
                encoder.raw(*count, *value);
            }
            let bytes = encoder.finish();
            let mut decoder = Decoder::new(&bytes);
            let mut chances = [Chance::EVEN, Chance::of(1), Chance::of(65_535), Chance::of(1_000)];
            for (which, value, count) in &items {
                prop_assert_eq!(decoder.bit(&mut chances[*which]), *value & 1 == 1);
                let mask = if *count == 64 { u64::MAX } else { (1 << count) - 1 };
                prop_assert_eq!(decoder.raw(*count), value & mask);
            }
        }
    }
}
