//! The compact form of a [`RecordState`], to be kept beside the row of a record.
//!
//! It never travels: it can be made anew from the log, and a reader that finds another version does so.
//! Not CBOR, to save bytes where there is one per record. In this order, numbers being LEB128 unless said
//! otherwise:
//!
//! - the version, one byte;
//! - drafts with a place: count, then draft id (16 bytes), stamp (8, big-endian), device id (16), sorted;
//! - drafts without: count, then draft id, sorted;
//! - the first draft: 0 for none, else 1 + the index of the draft with the same place, or 1 + their count
//!   and a place; then the author (16 bytes), written at minus stamp in ms, and offset in min (zigzag);
//! - fields: count, then per field a byte (length of the name - 1, +128 if plain, +64 if corrected), the
//!   name, and writes, each as its index in the draft times the count of drafts plus the index of the draft.
//!   A plain field has one head and no more; another has counted lists of heads, of replaced writes, and of
//!   open writes, each of these followed by the list of what it has seen.

use std::collections::BTreeSet;

use crate::draft::{Draft, Write, WriteId, WrittenAt};
use crate::ids::{DeviceId, DraftId, RecordId};
use crate::name::Name;
use crate::register::{FieldState, Head, Open, Place, RecordState};
use crate::stamp::Stamp;

const VERSION: u8 = 1;
const PLAIN: u8 = 0x80;
const CORRECTED: u8 = 0x40;

/// The bytes are no state of this version: make it anew from the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not the state of a record in this version's form")]
pub struct StateError;

impl RecordState {
    /// Encodes the state; equal states have equal bytes.
    pub fn encode(&self) -> Vec<u8> {
        let drafts = Drafts::of(self);
        let mut bytes = Vec::with_capacity(96 + 40 * drafts.placed.len() + 16 * self.fields.len());
        bytes.push(VERSION);
        drafts.encode(&mut bytes);
        drafts.encode_first(self.first, &mut bytes);
        push_number(&mut bytes, self.fields.len() as u64);
        for (name, field) in &self.fields {
            drafts.encode_field(name, field, &mut bytes);
        }
        bytes
    }

    /// Encodes the state of a record that one draft begins: the same bytes as a fold of these writes gives.
    ///
    /// `writes` have the indexes from `first_index` on. Returns `None` if that takes a fold: a write has seen
    /// another, or two write one field.
    pub fn encode_begun(draft: &Draft, place: Place, first_index: u32, writes: &[Write]) -> Option<Vec<u8>> {
        let mut fields: Vec<(&Name, u32)> =
            writes.iter().map(|write| &write.field).zip(first_index..).collect();
        fields.sort_unstable();
        let repeats = fields.windows(2).any(|pair| pair[0].0 == pair[1].0);
        if repeats || writes.is_empty() || writes.iter().any(|write| !write.seen.is_empty()) {
            return None;
        }
        let drafts = Drafts { placed: vec![(draft.id, place)], bare: Vec::new() };
        let mut bytes = Vec::with_capacity(96 + 16 * fields.len());
        bytes.push(VERSION);
        drafts.encode(&mut bytes);
        drafts.encode_first(Some((place, draft.written_at, draft.author)), &mut bytes);
        push_number(&mut bytes, fields.len() as u64);
        for (name, index) in fields {
            bytes.push(PLAIN | (name.as_str().len() - 1) as u8);
            bytes.extend(name.as_str().as_bytes());
            drafts.push_reference(&mut bytes, 0, index);
        }
        Some(bytes)
    }

    /// Decodes what [`RecordState::encode`] made, and no other bytes. Total on any input.
    ///
    /// # Errors
    /// [`StateError`] if the bytes are anything else.
    pub fn decode(bytes: &[u8]) -> Result<Self, StateError> {
        let state = Input(bytes).state().ok_or(StateError)?;
        // What a lenient reader lets pass (order, unused drafts, long numbers) does not come out again.
        if state.encode() == bytes { Ok(state) } else { Err(StateError) }
    }
}

/// The drafts that a state mentions; writes refer to them by index, placed ones first.
struct Drafts {
    placed: Vec<(DraftId, Place)>,
    bare: Vec<DraftId>,
}

impl Drafts {
    fn of(state: &RecordState) -> Self {
        let fields = || state.fields.values();
        // Most records are written once, by one draft: no sorting then.
        let only = fields().next().and_then(|field| field.plain_head()).map(key);
        if only.is_some() && fields().all(|field| field.plain_head().map(key) == only) {
            return Self { placed: only.into_iter().collect(), bare: Vec::new() };
        }
        let heads = fields().flat_map(|field| field.heads.iter());
        let open = fields().flat_map(|field| field.open.iter());
        let placed = sorted(heads.chain(open.clone().map(|open| &open.head)).map(key));
        let replaced = fields().flat_map(|field| field.replaced.iter());
        let mentioned = replaced.chain(open.flat_map(|open| open.seen.iter())).map(|write| write.draft);
        let has_place = |draft| {
            let index = placed.partition_point(|(other, _)| *other < draft);
            placed.get(index).is_some_and(|(other, _)| *other == draft)
        };
        let bare = sorted(mentioned.filter(|draft| !has_place(*draft)));
        Self { placed, bare }
    }

    fn encode(&self, bytes: &mut Vec<u8>) {
        push_number(bytes, self.placed.len() as u64);
        for (draft, place) in &self.placed {
            bytes.extend(draft.as_bytes());
            push_place(bytes, place);
        }
        push_number(bytes, self.bare.len() as u64);
        self.bare.iter().for_each(|draft| bytes.extend(draft.as_bytes()));
    }

    fn encode_first(&self, first: Option<(Place, WrittenAt, RecordId)>, bytes: &mut Vec<u8>) {
        let Some((place, written_at, author)) = first else {
            return push_number(bytes, 0);
        };
        let index = self.placed.iter().position(|(_, other)| *other == place);
        push_number(bytes, 1 + index.unwrap_or(self.placed.len()) as u64);
        if index.is_none() {
            push_place(bytes, &place);
        }
        bytes.extend(author.as_bytes());
        push_signed(bytes, written_at.unix_ms.wrapping_sub(place.stamp.unix_ms() as i64));
        push_signed(bytes, i64::from(written_at.offset_min));
    }

    fn encode_field(&self, name: &Name, field: &FieldState, bytes: &mut Vec<u8>) {
        let is_plain = field.plain_head().is_some();
        let flags = if is_plain { PLAIN } else { 0 } | if field.corrected { CORRECTED } else { 0 };
        bytes.push(flags | (name.as_str().len() - 1) as u8);
        bytes.extend(name.as_str().as_bytes());
        if is_plain {
            return self.push_head(bytes, &field.heads[0]);
        }
        push_number(bytes, field.heads.len() as u64);
        field.heads.iter().for_each(|head| self.push_head(bytes, head));
        self.push_writes(bytes, &field.replaced);
        push_number(bytes, field.open.len() as u64);
        for open in &field.open {
            self.push_head(bytes, &open.head);
            self.push_writes(bytes, &open.seen);
        }
    }

    fn push_head(&self, bytes: &mut Vec<u8>, head: &Head) {
        let index = self.placed.binary_search(&key(head)).expect("every head is in the table");
        self.push_reference(bytes, index, head.write.index);
    }

    fn push_writes(&self, bytes: &mut Vec<u8>, writes: &[WriteId]) {
        push_number(bytes, writes.len() as u64);
        for write in writes {
            let placed = self.placed.partition_point(|(draft, _)| *draft < write.draft);
            let index = match self.placed.get(placed) {
                Some((draft, _)) if *draft == write.draft => placed,
                _ => {
                    let bare = self.bare.binary_search(&write.draft).expect("every draft is in a table");
                    self.placed.len() + bare
                }
            };
            self.push_reference(bytes, index, write.index);
        }
    }

    /// One number for both: with a single draft, as most records have, the draft takes no room.
    fn push_reference(&self, bytes: &mut Vec<u8>, draft: usize, index: u32) {
        push_number(bytes, u64::from(index) * self.count() + draft as u64);
    }

    fn reference(&self, input: &mut Input<'_>) -> Option<(usize, u32)> {
        let number = input.number()?;
        let index = u32::try_from(number.checked_div(self.count())?).ok()?;
        Some(((number % self.count()) as usize, index))
    }

    fn count(&self) -> u64 {
        (self.placed.len() + self.bare.len()) as u64
    }

    fn head(&self, input: &mut Input<'_>) -> Option<Head> {
        let (draft, index) = self.reference(input)?;
        let (draft, place) = *self.placed.get(draft)?;
        Some(Head { write: WriteId { draft, index }, place })
    }

    fn write(&self, input: &mut Input<'_>) -> Option<WriteId> {
        let (at, index) = self.reference(input)?;
        let placed = self.placed.get(at).map(|(draft, _)| *draft);
        let draft = placed.or_else(|| self.bare.get(at.checked_sub(self.placed.len())?).copied())?;
        Some(WriteId { draft, index })
    }
}

fn key(head: &Head) -> (DraftId, Place) {
    (head.write.draft, head.place)
}

fn sorted<T: Ord>(items: impl Iterator<Item = T>) -> Vec<T> {
    items.collect::<BTreeSet<T>>().into_iter().collect()
}

fn push_place(bytes: &mut Vec<u8>, place: &Place) {
    bytes.extend(place.stamp.0.to_be_bytes());
    bytes.extend(place.device.as_bytes());
}

fn push_number(bytes: &mut Vec<u8>, mut value: u64) {
    while value > 0x7F {
        bytes.push(value as u8 | 0x80);
        value >>= 7;
    }
    bytes.push(value as u8);
}

fn push_signed(bytes: &mut Vec<u8>, value: i64) {
    push_number(bytes, ((value << 1) ^ (value >> 63)) as u64);
}

/// What is left to read; `None` anywhere means the bytes are unfit.
struct Input<'a>(&'a [u8]);

impl Input<'_> {
    fn state(mut self) -> Option<RecordState> {
        if self.array::<1>()? != [VERSION] {
            return None;
        }
        let drafts = Drafts {
            placed: self.list(|input| Some((DraftId::from_bytes(input.array()?), input.place()?)))?,
            bare: self.list(|input| input.array().map(DraftId::from_bytes))?,
        };
        let first = self.first(&drafts)?;
        let fields = self.list(|input| input.field(&drafts))?;
        let is_sorted = fields.is_sorted_by(|a, b| a.0 < b.0);
        (is_sorted && self.0.is_empty()).then(|| RecordState { fields: fields.into_iter().collect(), first })
    }

    fn first(&mut self, drafts: &Drafts) -> Option<Option<(Place, WrittenAt, RecordId)>> {
        let place = match usize::try_from(self.number()?).ok()? {
            0 => return Some(None),
            number if number - 1 == drafts.placed.len() => self.place()?,
            number => drafts.placed.get(number - 1)?.1,
        };
        let author = RecordId::from_bytes(self.array()?);
        let unix_ms = self.signed()?.wrapping_add(place.stamp.unix_ms() as i64);
        let offset_min = i16::try_from(self.signed()?).ok()?;
        Some(Some((place, WrittenAt { unix_ms, offset_min }, author)))
    }

    fn field(&mut self, drafts: &Drafts) -> Option<(Name, FieldState)> {
        let flags = self.array::<1>()?[0];
        let name = self.take(usize::from(flags & 0x3F) + 1)?;
        let name = Name::new(std::str::from_utf8(name).ok()?).ok()?;
        let mut field = FieldState { corrected: flags & CORRECTED != 0, ..FieldState::default() };
        if flags & PLAIN != 0 {
            field.heads.push(drafts.head(self)?);
            return Some((name, field));
        }
        field.heads = self.list(|input| drafts.head(input))?;
        field.replaced = self.list(|input| drafts.write(input))?;
        field.open = self.list(|input| {
            Some(Open { head: drafts.head(input)?, seen: input.list(|input| drafts.write(input))? })
        })?;
        field.is_sound().then_some((name, field))
    }

    fn list<T>(&mut self, mut item: impl FnMut(&mut Self) -> Option<T>) -> Option<Vec<T>> {
        let count = self.number()?;
        // Nothing is reserved by a count that might be a lie; every item takes at least a byte.
        (0..count).map(|_| item(self)).collect()
    }

    fn place(&mut self) -> Option<Place> {
        let stamp = Stamp(u64::from_be_bytes(self.array()?));
        Some(Place { stamp, device: DeviceId::from_bytes(self.array()?) })
    }

    fn number(&mut self) -> Option<u64> {
        let mut value = 0u64;
        for shift in (0..64).step_by(7) {
            let byte = self.array::<1>()?[0];
            value |= u64::from(byte & 0x7F).checked_shl(shift)?;
            if byte & 0x80 == 0 {
                return Some(value);
            }
        }
        None
    }

    fn signed(&mut self) -> Option<i64> {
        let value = self.number()?;
        Some((value >> 1) as i64 ^ -((value & 1) as i64))
    }

    fn array<const N: usize>(&mut self) -> Option<[u8; N]> {
        self.take(N)?.try_into().ok()
    }

    fn take(&mut self, count: usize) -> Option<&[u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::draft::Write;
    use crate::payload::Payload;

    /// Names as the fields of a record have them, all written by one draft.
    fn typical() -> RecordState {
        let names =
            ["value", "unit", "kind", "set", "position", "replicate", "meter", "source", "note", "at"];
        let draft = DraftId::from_bytes([1; 16]);
        let place =
            Place { stamp: Stamp::from_parts(1_760_000_000_000, 0), device: DeviceId::from_bytes([2; 16]) };
        let written_at = WrittenAt { unix_ms: 1_759_999_998_500, offset_min: 120 };
        let mut state = RecordState::default();
        for (index, name) in (0..).zip(names) {
            let write = Write {
                record: RecordId::from_bytes([3; 16]),
                kind: Name::new("reading").unwrap(),
                field: Name::new(name).unwrap(),
                value: Payload::null(),
                seen: Vec::new(),
                reason: None,
            };
            let author = RecordId::from_bytes([4; 16]);
            state.apply(WriteId { draft, index }, place, written_at, author, &write);
        }
        state
    }

    /// 65 bytes for the record, two and the name for a field: within ten times eight and sixty.
    #[test]
    fn a_record_of_one_draft_is_small() {
        let state = typical();
        let letters: usize = state.fields.keys().map(|name| name.as_str().len()).sum();
        let bytes = state.encode();
        assert_eq!(bytes.len(), 65 + 10 * 2 + letters);
        assert!(bytes.len() < 10 * 8 + 60, "{}", bytes.len());
        assert_eq!(RecordState::decode(&bytes), Ok(state));
    }

    #[test]
    fn nothing_has_a_form() {
        let state = RecordState::default();
        assert_eq!(state.encode(), [1, 0, 0, 0, 0]);
        assert_eq!(RecordState::decode(&[1, 0, 0, 0, 0]), Ok(state));
        for bad in [&[][..], &[2, 0, 0, 0, 0], &[1, 0, 0, 0], &[1, 0, 0, 0, 0, 0], &[1, 0x80, 0, 0, 0, 0]] {
            assert_eq!(RecordState::decode(bad), Err(StateError), "{bad:?}");
        }
    }

    #[test]
    fn extreme_times_round_trip() {
        for (unix_ms, stamp) in [(i64::MIN, Stamp::MAX), (i64::MAX, Stamp(0)), (-1, Stamp(0))] {
            let place = Place { stamp, device: DeviceId::from_bytes([2; 16]) };
            let written_at = WrittenAt { unix_ms, offset_min: i16::MIN };
            let first = Some((place, written_at, RecordId::from_bytes([4; 16])));
            let state = RecordState { first, ..RecordState::default() };
            assert_eq!(RecordState::decode(&state.encode()), Ok(state));
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_read_without_panic(bytes: Vec<u8>) {
            if let Ok(state) = RecordState::decode(&bytes) {
                prop_assert_eq!(state.encode(), bytes);
            }
        }

        /// The short way to the state of a record that one draft begins is the long way.
        #[test]
        fn a_record_begun_by_one_draft_encodes_as_its_fold(
            names in prop::collection::vec("[a-z_]{1,20}", 1..20), first in 0_u32..40, seen: bool,
        ) {
            let place = Place { stamp: Stamp(77 << 16), device: DeviceId::from_parts(5, [5; 10]) };
            let id = DraftId::from_parts(9, [9; 10]);
            let other = WriteId { draft: DraftId::from_parts(3, [3; 10]), index: 1 };
            let write = |(index, name): (usize, &String)| Write {
                record: RecordId::from_parts(1, [1; 10]),
                kind: Name::new("site").unwrap(),
                field: Name::new(name).unwrap(),
                value: crate::payload::Payload::int(index as i64),
                seen: if seen && index == 0 { vec![other] } else { Vec::new() },
                reason: None,
            };
            let writes: Vec<Write> = names.iter().enumerate().map(write).collect();
            let draft = Draft {
                id,
                author: RecordId::from_parts(2, [2; 10]),
                written_at: WrittenAt { unix_ms: 70, offset_min: -300 },
                writes: Vec::new(),
            };
            let repeats = names.iter().collect::<BTreeSet<_>>().len() < names.len();
            let begun = RecordState::encode_begun(&draft, place, first, &writes);
            let numbered = (first..).zip(&writes);
            let fold = RecordState::fold(numbered.map(|(index, write)| {
                (WriteId { draft: id, index }, place, draft.written_at, draft.author, write)
            }));
            if repeats || seen { prop_assert_eq!(begun, None) } else { prop_assert_eq!(begun, Some(fold.encode())) }
        }

        /// A damaged state is refused, or is another state in its one form.
        #[test]
        fn damage_is_refused_or_canonical(at: prop::sample::Index, with: u8, cut: bool) {
            let mut bytes = typical().encode();
            let at = at.index(bytes.len());
            if cut { bytes.truncate(at) } else { bytes[at] = with }
            if let Ok(state) = RecordState::decode(&bytes) {
                prop_assert_eq!(state.encode(), bytes);
            }
        }
    }
}
