//! Ids: the noise in them travels once per batch, after that a small number names them.
//!
//! An id is mostly 74 random bits, which nothing compresses. Its time lies near the draft it came with, and a
//! maker of ids that counts within the millisecond is noticed (RFC 9562 sections 5.7 and 6.2).

use std::collections::HashMap;

use super::BatchError;
use super::coder::Chance;
use super::lane::Lane;
use super::model::{Near, Number, Numbers};

/// A UUID in network order.
pub(super) type Id = [u8; 16];

/// All record ids of a batch in the order in which they first came.
#[derive(Debug, Default)]
pub(super) struct Ids {
    list: Vec<Id>,
    places: HashMap<Id, u32>,
}

/// Time and counter of the id before: what the next one is likely near to.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Neighbour {
    /// Unix milliseconds.
    pub(super) unix_ms: i64,
    /// The twelve bits that some makers count in.
    counter: Option<u16>,
}

impl Neighbour {
    /// No id, but a time.
    pub(super) fn at(unix_ms: i64) -> Self {
        Self { unix_ms, counter: None }
    }
}

/// Ids that are new to a batch.
#[derive(Debug)]
pub(super) struct Fresh {
    is_timed: Chance,
    counts_on: Chance,
    times: Near,
}

impl Fresh {
    pub(super) const BYTES: usize = Near::BYTES;

    pub(super) fn new() -> Self {
        Self { is_timed: Chance::of(65_000), counts_on: Chance::of(20_000), times: Near::default() }
    }

    /// Passes an id that may have been made next after a neighbour, which it replaces.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        neighbour: &mut Neighbour,
        given: Option<Id>,
    ) -> Result<Id, BatchError> {
        let parts = given.map(Parts::of);
        if !lane.bit(&mut self.is_timed, parts.map(|parts| parts.is_some()))? {
            return lane.noise(given);
        }
        let parts = parts.flatten();
        let unix_ms = self.times.pass(lane, neighbour.unix_ms, parts.map(|parts| parts.unix_ms))?;
        let next = neighbour.counter.filter(|_| unix_ms == neighbour.unix_ms).map(|last| (last + 1) & 0xFFF);
        let counts_on = match next {
            Some(next) => lane.bit(&mut self.counts_on, parts.map(|parts| parts.counter == next))?,
            None => false,
        };
        let counter = match next {
            Some(next) if counts_on => next,
            _ => lane.raw(12, parts.map(|parts| u64::from(parts.counter)))? as u16,
        };
        let random = lane.raw(62, parts.map(|parts| parts.random))?;
        *neighbour = Neighbour { unix_ms, counter: Some(counter) };
        Parts { unix_ms, counter, random }.id()
    }
}

/// A UUIDv7 apart.
#[derive(Debug, Clone, Copy)]
struct Parts {
    unix_ms: i64,
    counter: u16,
    random: u64,
}

impl Parts {
    /// Returns `None` for an id of another version.
    fn of(id: Id) -> Option<Self> {
        let number = u128::from_be_bytes(id);
        let is_timed = number >> 76 & 0xF == 7 && number >> 62 & 0b11 == 0b10;
        is_timed.then_some(Self {
            unix_ms: (number >> 80) as i64,
            counter: (number >> 64) as u16 & 0xFFF,
            random: number as u64 & ((1 << 62) - 1),
        })
    }

    fn id(self) -> Result<Id, BatchError> {
        if !(0..1 << 48).contains(&self.unix_ms) {
            return Err(BatchError::Illegal { what: "the time of an id" });
        }
        let high = (self.unix_ms as u64) << 16 | 7 << 12 | u64::from(self.counter);
        let low = 0b10 << 62 | self.random;
        Ok((u128::from(high) << 64 | u128::from(low)).to_be_bytes())
    }
}

/// Ids of one kind: those of a field, those of the records of a kind.
#[derive(Debug)]
pub(super) struct IdColumn {
    /// The last ones of this column, the latest first.
    recent: Vec<u32>,
    /// 0: from elsewhere; else 1 + the place in `recent`.
    codes: Numbers,
    last: usize,
    /// 0: new; else how long ago it first came, from 1.
    ages: Number,
    fresh: Fresh,
}

impl IdColumn {
    pub(super) const BYTES: usize = 2 * Number::BYTES + Fresh::BYTES;

    /// How many ids a column remembers by their place; the others are named by their age in the batch.
    const RECENT: usize = 64;

    pub(super) fn new() -> Self {
        Self {
            recent: Vec::new(),
            codes: Numbers::default(),
            last: 0,
            ages: Number::default(),
            fresh: Fresh::new(),
        }
    }

    /// Passes an id; returns it with its place in the batch.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        ids: &mut Ids,
        neighbour: &mut Neighbour,
        given: Option<Id>,
    ) -> Result<(Id, u32), BatchError> {
        let known = given.map(|given| ids.places.get(&given).copied());
        let recent = known.map(|known| self.recent.iter().position(|place| Some(*place) == known));
        let code =
            self.codes.pass(lane, self.last.min(3), recent.map(|at| at.map_or(0, |at| at as u64 + 1)))?;
        self.last = code.min(3) as usize;
        let place = match usize::try_from(code).unwrap_or(usize::MAX) {
            0 => self.pass_elsewhere(lane, ids, neighbour, given, known)?,
            code if code <= self.recent.len() => self.recent.remove(code - 1),
            _ => return Err(BatchError::Illegal { what: "the place of an id" }),
        };
        self.recent.truncate(Self::RECENT - 1);
        self.recent.insert(0, place);
        Ok((ids.list[place as usize], place))
    }

    fn pass_elsewhere(
        &mut self,
        lane: &mut impl Lane,
        ids: &mut Ids,
        neighbour: &mut Neighbour,
        given: Option<Id>,
        known: Option<Option<u32>>,
    ) -> Result<u32, BatchError> {
        let count = ids.list.len() as u64;
        let age =
            self.ages.pass(lane, known.map(|known| known.map_or(0, |place| count - u64::from(place))))?;
        if age == 0 {
            lane.spend(80)?;
            let id = self.fresh.pass(lane, neighbour, given)?;
            ids.places.insert(id, count as u32);
            ids.list.push(id);
            return Ok(count as u32);
        }
        let place = count.checked_sub(age).ok_or(BatchError::Illegal { what: "the age of an id" })?;
        // A reader may be told that an id is new which is not: the older place is then forgotten, no more.
        Ok(place as u32)
    }
}
