//! One walk over a batch, two directions: a [`Lane`] writes what it is given, or reads it back.
//!
//! Whoever walks hands every value to the lane and goes on with what the lane returns, so what is written and
//! what is read cannot drift apart. Texts lie on shelves, one per column, that are compressed by themselves;
//! all else goes through the arithmetic coder. A lane also keeps the budget: see [`Lane::spend`].

use super::coder::{Chance, Decoder, Encoder};
use super::{BatchError, MAX_UNPACKED};

/// Bits, numbers and texts, in one of two directions. Values are given to write and `None` to read.
pub(super) trait Lane {
    /// Passes a bit and learns from it.
    fn bit(&mut self, chance: &mut Chance, given: Option<bool>) -> Result<bool, BatchError>;

    /// Passes the low `count` bits of a value that nothing is known of.
    fn raw(&mut self, count: u32, given: Option<u64>) -> Result<u64, BatchError>;

    /// Opens the next shelf.
    fn open_shelf(&mut self) -> Shelf;

    /// Passes `length` bytes of a shelf.
    fn text(&mut self, shelf: Shelf, length: usize, given: Option<&[u8]>) -> Result<Vec<u8>, BatchError>;

    /// Counts what is built from the batch, about in bytes of memory, so that a small message never fills
    /// the memory. Both directions count alike: what can be written can be read.
    fn spend(&mut self, bytes: usize) -> Result<(), BatchError>;

    /// Passes bytes that nothing is known of; their number is even.
    fn noise<const N: usize>(&mut self, given: Option<[u8; N]>) -> Result<[u8; N], BatchError> {
        let mut bytes = [0; N];
        for at in (0..N).step_by(2) {
            let pair = given.map(|given| u64::from(u16::from_be_bytes([given[at], given[at + 1]])));
            let pair = self.raw(16, pair)? as u16;
            bytes[at..at + 2].copy_from_slice(&pair.to_be_bytes());
        }
        Ok(bytes)
    }
}

/// Where the texts of one column lie.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shelf(usize);

/// Bytes still to be spent.
#[derive(Debug)]
struct Budget(usize);

impl Budget {
    fn spend(&mut self, bytes: usize) -> Result<(), BatchError> {
        self.0 = self.0.checked_sub(bytes).ok_or(BatchError::TooLarge)?;
        Ok(())
    }
}

/// Writes.
#[derive(Debug)]
pub(super) struct Writer {
    coder: Encoder,
    shelves: Vec<Vec<u8>>,
    budget: Budget,
}

impl Writer {
    pub(super) fn new() -> Self {
        Self { coder: Encoder::new(), shelves: Vec::new(), budget: Budget(MAX_UNPACKED) }
    }

    /// A writer that packs more than any reader unpacks.
    #[cfg(test)]
    pub(super) fn unbounded() -> Self {
        Self { budget: Budget(usize::MAX), ..Self::new() }
    }

    /// Returns the shelves, still to be compressed, and the coded bits.
    pub(super) fn finish(self) -> (Vec<u8>, Vec<u8>) {
        let mut shelves = Vec::new();
        if !self.shelves.is_empty() {
            push_number(&mut shelves, self.shelves.len() as u64);
            self.shelves.iter().for_each(|shelf| push_number(&mut shelves, shelf.len() as u64));
            self.shelves.iter().for_each(|shelf| shelves.extend(shelf));
        }
        (shelves, self.coder.finish())
    }
}

/// What a writer passes on is never missing.
const GIVEN: &str = "a walk that writes gives every value";

impl Lane for Writer {
    fn bit(&mut self, chance: &mut Chance, given: Option<bool>) -> Result<bool, BatchError> {
        let bit = given.expect(GIVEN);
        self.coder.bit(chance, bit);
        Ok(bit)
    }

    fn raw(&mut self, count: u32, given: Option<u64>) -> Result<u64, BatchError> {
        let value = given.expect(GIVEN);
        self.coder.raw(count, value);
        Ok(value)
    }

    fn open_shelf(&mut self) -> Shelf {
        self.shelves.push(Vec::new());
        Shelf(self.shelves.len() - 1)
    }

    fn text(&mut self, shelf: Shelf, _: usize, given: Option<&[u8]>) -> Result<Vec<u8>, BatchError> {
        let text = given.expect(GIVEN);
        self.shelves[shelf.0].extend(text);
        Ok(text.to_vec())
    }

    fn spend(&mut self, bytes: usize) -> Result<(), BatchError> {
        self.budget.spend(bytes)
    }
}

/// Reads.
#[derive(Debug)]
pub(super) struct Reader<'a> {
    coder: Decoder<'a>,
    shelves: Vec<&'a [u8]>,
    opened: usize,
    budget: Budget,
}

impl<'a> Reader<'a> {
    pub(super) fn new(mut shelves: &'a [u8], coded: &'a [u8]) -> Result<Self, BatchError> {
        let mut lengths = Vec::new();
        if !shelves.is_empty() {
            let count = take_number(&mut shelves)?;
            // A shelf has a length of at least a byte: no more room is made than there are bytes.
            if count > shelves.len() as u64 {
                return Err(BatchError::Short);
            }
            for _ in 0..count {
                lengths.push(take_number(&mut shelves)?);
            }
        }
        let mut parts = Vec::with_capacity(lengths.len());
        for length in lengths {
            parts.push(take_bytes(&mut shelves, length)?);
        }
        if !shelves.is_empty() {
            return Err(BatchError::Trailing);
        }
        let budget = Budget(MAX_UNPACKED);
        Ok(Self { coder: Decoder::new(coded), shelves: parts, opened: 0, budget })
    }

    /// Succeeds if all was read.
    pub(super) fn finish(self) -> Result<(), BatchError> {
        let is_done = self.coder.is_at_end()
            && self.opened >= self.shelves.len()
            && self.shelves.iter().all(|shelf| shelf.is_empty());
        if is_done { Ok(()) } else { Err(BatchError::Trailing) }
    }

    fn checked<T>(&self, value: T) -> Result<T, BatchError> {
        if self.coder.is_overrun() { Err(BatchError::Short) } else { Ok(value) }
    }
}

impl Lane for Reader<'_> {
    fn bit(&mut self, chance: &mut Chance, _: Option<bool>) -> Result<bool, BatchError> {
        let bit = self.coder.bit(chance);
        self.checked(bit)
    }

    fn raw(&mut self, count: u32, _: Option<u64>) -> Result<u64, BatchError> {
        let value = self.coder.raw(count);
        self.checked(value)
    }

    fn open_shelf(&mut self) -> Shelf {
        self.opened += 1;
        Shelf(self.opened - 1)
    }

    fn text(&mut self, shelf: Shelf, length: usize, _: Option<&[u8]>) -> Result<Vec<u8>, BatchError> {
        let left = self.shelves.get_mut(shelf.0).ok_or(BatchError::Short)?;
        Ok(take_bytes(left, length as u64)?.to_vec())
    }

    fn spend(&mut self, bytes: usize) -> Result<(), BatchError> {
        self.budget.spend(bytes)
    }
}

/// Appends a number in groups of seven bits, the least first (LEB128).
pub(super) fn push_number(bytes: &mut Vec<u8>, mut number: u64) {
    while number > 0x7F {
        bytes.push(number as u8 | 0x80);
        number >>= 7;
    }
    bytes.push(number as u8);
}

/// Takes a number off the front.
pub(super) fn take_number(bytes: &mut &[u8]) -> Result<u64, BatchError> {
    let mut number = 0;
    for shift in (0..64).step_by(7) {
        let (first, rest) = bytes.split_first().ok_or(BatchError::Short)?;
        *bytes = rest;
        number |= u64::from(first & 0x7F) << shift;
        if *first <= 0x7F {
            return Ok(number);
        }
    }
    Err(BatchError::Illegal { what: "a number" })
}

/// Takes bytes off the front.
pub(super) fn take_bytes<'a>(bytes: &mut &'a [u8], length: u64) -> Result<&'a [u8], BatchError> {
    let (taken, rest) = usize::try_from(length)
        .ok()
        .and_then(|length| bytes.split_at_checked(length))
        .ok_or(BatchError::Short)?;
    *bytes = rest;
    Ok(taken)
}
