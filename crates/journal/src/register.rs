//! Registers: which writes of a field hold.
//!
//! A register is a field of a record. Its *heads* are the writes that no other write has seen; the one at
//! the greatest place is shown, further ones of another value are a conflict until a person picks. The
//! state of a record is a function of the set of its writes: it is the same in whatever order they arrive,
//! with repeats, and whatever they claim to have seen.
//!
//! **What seeing means.** A write that is on the same register and names another in `seen` takes its
//! place. There is one exception, for writes no honest device can make: those that see each other in a
//! circle do not take each other's place, so that a field never loses its value to them. Places play no
//! part in it: a draft that a device re-issues later under a new id stays seen by those who saw it.
//!
//! Left out: the values. Heads of equal value count as one, see [`merge_equal`].

use std::collections::BTreeMap;
use std::collections::btree_map::Entry as MapEntry;

use crate::circle::circles;
use crate::draft::{Write, WriteId, WrittenAt};
use crate::ids::{DeviceId, DraftId, RecordId};
use crate::name::Name;
use crate::payload::Payload;
use crate::stamp::Stamp;

/// Where a draft stands: the least (stamp, device) among the changes in effect that carry it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The stamp of the change.
    pub stamp: Stamp,
    /// The device it belongs to.
    pub device: DeviceId,
}

/// A write that no other write has seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Head {
    /// Which write.
    pub write: WriteId,
    /// Where it stands.
    pub place: Place,
}

/// Which writes of one field hold.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FieldState {
    /// The writes that no other has seen, the greatest place first: that one is shown.
    pub heads: Vec<Head>,
    /// Whether any write gave a reason for replacing what it had seen.
    pub corrected: bool,
    /// Writes that another has seen, sorted.
    pub(crate) replaced: Vec<WriteId>,
    /// Writes that lead to one that is not here, directly or through others, sorted by write.
    pub(crate) open: Vec<Open>,
}

/// A write that has seen one that is not here, or another open write.
///
/// While what was seen is missing it might, once here, close a circle, so these links are kept. In a sound
/// log a missing one lies in a span that is set aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Open {
    pub(crate) head: Head,
    /// What it has seen that is not here or open itself, sorted and not empty.
    pub(crate) seen: Vec<WriteId>,
}

/// What the application of a write did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Applied {
    /// It was here already: nothing changed.
    Repeat,
    /// It was here already, and now stands at a lesser place.
    Moved,
    /// It is a head now.
    Head,
    /// A write that came before it had seen it: it is history at once.
    Replaced,
}

impl FieldState {
    /// Adds a write with what it has seen.
    pub fn apply(&mut self, head: Head, seen: &[WriteId], has_reason: bool) -> Applied {
        if self.holds(head.write) {
            return if self.move_down(|write| write == head.write, head.place) {
                Applied::Moved
            } else {
                Applied::Repeat
            };
        }
        self.corrected |= has_reason && !seen.is_empty();
        let mut open_seen = Vec::new();
        for write in seen.iter().filter(|write| **write != head.write) {
            if self.holds(*write) {
                self.replace(*write);
            }
            if !self.holds(*write) || self.open_index(*write).is_ok() {
                open_seen.push(*write);
            }
        }
        let was_named = self.open.iter().any(|open| open.seen.binary_search(&head.write).is_ok());
        self.insert_head(head);
        if was_named || !open_seen.is_empty() {
            open_seen.sort_unstable();
            open_seen.dedup();
            let index = self.open_index(head.write).unwrap_or_else(|index| index);
            self.open.insert(index, Open { head, seen: open_seen });
        }
        if was_named {
            // Nothing leads to a write that nobody named, so only here can a circle have closed.
            self.settle_open();
        }
        if self.replaced.binary_search(&head.write).is_ok() { Applied::Replaced } else { Applied::Head }
    }

    /// Says whether the write is here.
    pub fn holds(&self, write: WriteId) -> bool {
        self.heads.iter().any(|head| head.write == write) || self.replaced.binary_search(&write).is_ok()
    }

    /// Returns what was seen of this field and is not here, sorted and unique.
    pub fn unmet(&self) -> Vec<WriteId> {
        let seen = self.open.iter().flat_map(|open| open.seen.iter().copied());
        let mut unmet: Vec<WriteId> = seen.filter(|write| !self.holds(*write)).collect();
        unmet.sort_unstable();
        unmet.dedup();
        unmet
    }

    /// Returns the writes that another has seen, sorted.
    pub fn replaced(&self) -> &[WriteId] {
        &self.replaced
    }

    fn open_index(&self, write: WriteId) -> Result<usize, usize> {
        self.open.binary_search_by_key(&write, |open| open.head.write)
    }

    fn insert_head(&mut self, head: Head) {
        let index = self.heads.partition_point(|other| shown_first(other) < shown_first(&head));
        self.heads.insert(index, head);
    }

    fn replace(&mut self, write: WriteId) {
        self.heads.retain(|head| head.write != write);
        if let Err(index) = self.replaced.binary_search(&write) {
            self.replaced.insert(index, write);
        }
    }

    /// Moves the chosen writes to `place` where it is less; says whether any was moved.
    fn move_down(&mut self, chosen: impl Fn(WriteId) -> bool, place: Place) -> bool {
        let heads = self.heads.iter_mut().chain(self.open.iter_mut().map(|open| &mut open.head));
        let mut moved = false;
        for head in heads.filter(|head| chosen(head.write) && place < head.place) {
            head.place = place;
            moved = true;
        }
        self.heads.sort_unstable_by_key(shown_first);
        moved
    }

    /// Decides anew which open writes are heads, then forgets those that lead to nothing missing.
    ///
    /// Whoever has seen an open write is open itself, so the open writes alone decide. One that leads to
    /// nothing missing can never become part of a circle: what was decided about it is final.
    fn settle_open(&mut self) {
        let next: Vec<Vec<usize>> = self
            .open
            .iter()
            .map(|open| open.seen.iter().filter_map(|write| self.open_index(*write).ok()).collect())
            .collect();
        let circle = circles(&next);
        let mut is_replaced = vec![false; next.len()];
        for (seer, targets) in next.iter().enumerate() {
            for target in targets.iter().filter(|target| circle[seer] != circle[**target]) {
                is_replaced[*target] = true;
            }
        }
        for (index, is_replaced) in is_replaced.into_iter().enumerate() {
            let head = self.open[index].head;
            if is_replaced {
                self.replace(head.write);
            } else if let Ok(at) = self.replaced.binary_search(&head.write) {
                self.replaced.remove(at);
                self.insert_head(head);
            }
        }
        self.close(&next);
    }

    fn close(&mut self, next: &[Vec<usize>]) {
        let mut back = vec![Vec::new(); next.len()];
        for (seer, targets) in next.iter().enumerate() {
            targets.iter().for_each(|target| back[*target].push(seer));
        }
        // What was seen is open or missing; fewer open targets than names means that something is missing.
        let mut waiting: Vec<usize> =
            (0..next.len()).filter(|index| next[*index].len() < self.open[*index].seen.len()).collect();
        let mut stays = vec![false; next.len()];
        while let Some(index) = waiting.pop() {
            if !std::mem::replace(&mut stays[index], true) {
                waiting.extend(&back[index]);
            }
        }
        let closed: Vec<WriteId> =
            (0..next.len()).filter(|index| !stays[*index]).map(|index| self.open[index].head.write).collect();
        self.open.retain(|open| closed.binary_search(&open.head.write).is_err());
        for open in &mut self.open {
            open.seen.retain(|write| closed.binary_search(write).is_err());
        }
    }

    /// Says whether all lists are sorted, unique and apart, as every operation here leaves them.
    pub(crate) fn is_sound(&self) -> bool {
        self.heads.is_sorted_by(|a, b| shown_first(a) < shown_first(b))
            && self.replaced.is_sorted_by(|a, b| a < b)
            && self.open.is_sorted_by(|a, b| a.head.write < b.head.write)
            && self.open.iter().all(|open| !open.seen.is_empty() && open.seen.is_sorted_by(|a, b| a < b))
            && self.open.iter().all(|open| self.holds(open.head.write))
            && self.heads.iter().all(|head| self.replaced.binary_search(&head.write).is_err())
    }
}

/// The order of heads: the greatest place first; equal places happen within one draft only.
fn shown_first(head: &Head) -> (std::cmp::Reverse<Place>, WriteId) {
    (std::cmp::Reverse(head.place), head.write)
}

/// Which writes of a record hold, field by field.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RecordState {
    /// The fields that were ever written.
    pub fields: BTreeMap<Name, FieldState>,
    /// Place, time and author of the draft at the least place: who began the record, and when.
    pub first: Option<(Place, WrittenAt, RecordId)>,
}

/// What [`RecordState::replace_place`] did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replaced {
    /// The draft has no write here that the place matters for, or stands no higher than that already.
    Unchanged,
    /// The state is now that of a fold.
    Done,
    /// The draft may now be the first of the record: fold again, or apply its writes again at the new
    /// place, which needs no other writes.
    NeedsRefold,
}

impl RecordState {
    /// Folds a set of writes of one record, in any order.
    pub fn fold<'a>(
        writes: impl IntoIterator<Item = (WriteId, Place, WrittenAt, RecordId, &'a Write)>,
    ) -> Self {
        let mut state = Self::default();
        for (write_id, place, written_at, author, write) in writes {
            state.apply(write_id, place, written_at, author, write);
        }
        state
    }

    /// Adds one write. The result does not depend on what came before or after it.
    ///
    /// A repeat changes nothing; one at a lesser place moves the write there. Two carriers of one draft id
    /// with different contents must not both be applied: the log picks the one at the least place.
    pub fn apply(
        &mut self,
        write_id: WriteId,
        place: Place,
        written_at: WrittenAt,
        author: RecordId,
        write: &Write,
    ) -> Applied {
        if self.first.is_none_or(|(first, _, _)| place < first) {
            self.first = Some((place, written_at, author));
        }
        let field = match self.fields.entry(write.field.clone()) {
            MapEntry::Occupied(entry) => entry.into_mut(),
            MapEntry::Vacant(entry) => entry.insert(FieldState::default()),
        };
        field.apply(Head { write: write_id, place }, &write.seen, write.reason.is_some())
    }

    /// Moves a draft to a lesser place, because another change in effect carries it too.
    ///
    /// A greater place (its first carrier was set aside) needs a fold.
    pub fn replace_place(&mut self, draft: DraftId, place: Place) -> Replaced {
        let is_here = self.fields.values().any(|field| field.mentions(draft));
        let was_first = self
            .first
            .is_some_and(|(first, _, _)| self.fields.values().any(|field| field.stands_at(draft, first)));
        let mut moved = false;
        for field in self.fields.values_mut() {
            moved |= field.move_down(|write| write.draft == draft, place);
        }
        match &mut self.first {
            Some((first, _, _)) if is_here && place < *first => {
                if !was_first {
                    return Replaced::NeedsRefold;
                }
                *first = place;
                Replaced::Done
            }
            _ if moved => Replaced::Done,
            _ => Replaced::Unchanged,
        }
    }

    /// Returns the drafts that wrote to the record, and no others, sorted: enough to find its whole history.
    pub fn drafts(&self) -> std::collections::BTreeSet<DraftId> {
        self.fields
            .values()
            .flat_map(|field| field.heads.iter().map(|head| head.write).chain(field.replaced.iter().copied()))
            .map(|write| write.draft)
            .collect()
    }

    /// Returns the state of a field, if it was ever written.
    pub fn field(&self, name: &str) -> Option<&FieldState> {
        self.fields.get(name)
    }
}

impl FieldState {
    /// The one head of a field that nothing else was ever written to.
    pub(crate) fn plain_head(&self) -> Option<&Head> {
        match self.heads.as_slice() {
            [head] if self.replaced.is_empty() && self.open.is_empty() => Some(head),
            _ => None,
        }
    }

    fn mentions(&self, draft: DraftId) -> bool {
        let heads = self.heads.iter().map(|head| head.write);
        heads.chain(self.replaced.iter().copied()).any(|write| write.draft == draft)
    }

    fn stands_at(&self, draft: DraftId, place: Place) -> bool {
        let open = self.open.iter().map(|open| &open.head);
        self.heads.iter().chain(open).any(|head| head.write.draft == draft && head.place == place)
    }
}

/// Heads with their values, equal ones folded into one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// The head that is shown: the one at the greatest place.
    pub shown: (Head, Payload),
    /// Heads of other values, each value once at its greatest place, the greatest first. If there is any,
    /// the field is in conflict.
    pub others: Vec<(Head, Payload)>,
}

/// Looks up the values of heads (the greatest place first, as in [`FieldState::heads`]) and folds equal
/// ones. Returns `None` if there are no heads.
pub fn merge_equal(heads: &[Head], mut payload_of: impl FnMut(WriteId) -> Payload) -> Option<Merged> {
    let (first, rest) = heads.split_first()?;
    let mut merged = Merged { shown: (*first, payload_of(first.write)), others: Vec::new() };
    for head in rest {
        let payload = payload_of(head.write);
        let is_known = merged.shown.1 == payload || merged.others.iter().any(|other| other.1 == payload);
        if !is_known {
            merged.others.push((*head, payload));
        }
    }
    Some(merged)
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use proptest::prelude::*;

    use super::*;

    fn id(number: usize) -> WriteId {
        // Two writes per draft, on fields of their own.
        WriteId { draft: DraftId::from_bytes([number as u8 / 2; 16]), index: number as u32 % 2 }
    }

    fn place(stamp: u64) -> Place {
        Place { stamp: Stamp(stamp), device: DeviceId::from_bytes([(stamp % 3) as u8; 16]) }
    }

    fn at(number: usize, stamp: u64) -> Head {
        Head { write: id(number), place: place(stamp) }
    }

    fn shown(field: &FieldState) -> Vec<WriteId> {
        field.heads.iter().map(|head| head.write).collect()
    }

    #[test]
    fn a_write_takes_the_place_of_what_it_has_seen() {
        let mut field = FieldState::default();
        assert_eq!(field.apply(at(0, 10), &[], false), Applied::Head);
        assert_eq!(field.apply(at(2, 20), &[id(0)], false), Applied::Head);
        assert_eq!(shown(&field), [id(2)]);
        assert!(!field.corrected);
        // Two at once: a conflict, the greater place is shown.
        field.apply(at(4, 31), &[id(2)], true);
        field.apply(at(6, 30), &[id(2)], false);
        assert_eq!(shown(&field), [id(4), id(6)]);
        assert!(field.corrected);
        // A person picks.
        field.apply(at(8, 40), &[id(4), id(6)], true);
        assert_eq!(shown(&field), [id(8)]);
        assert_eq!(field.replaced(), [id(0), id(2), id(4), id(6)]);
        assert_eq!(field.apply(at(0, 10), &[], false), Applied::Repeat);
        assert_eq!(field.apply(at(8, 35), &[id(4), id(6)], true), Applied::Moved);
        assert_eq!(field.heads, [at(8, 35)]);
    }

    #[test]
    fn a_reason_on_a_first_value_is_no_correction() {
        let mut field = FieldState::default();
        field.apply(at(0, 10), &[], true);
        assert!(!field.corrected);
    }

    #[test]
    fn what_arrives_after_being_seen_is_history_at_once() {
        let mut field = FieldState::default();
        field.apply(at(2, 20), &[id(0)], false);
        assert_eq!(field.unmet(), [id(0)]);
        assert_eq!(field.apply(at(0, 90), &[], false), Applied::Replaced);
        assert_eq!(shown(&field), [id(2)]);
        assert_eq!(field.unmet(), []);
        assert!(field.open.is_empty());
    }

    #[test]
    fn a_circle_takes_no_ones_place() {
        let mut field = FieldState::default();
        field.apply(at(0, 10), &[id(4)], false);
        field.apply(at(2, 20), &[id(0)], false);
        assert_eq!(shown(&field), [id(2)]);
        // It closes 0 <- 2 <- 4 <- 0.
        field.apply(at(4, 30), &[id(2)], false);
        assert_eq!(shown(&field), [id(4), id(2), id(0)]);
        // A person settles it.
        field.apply(at(6, 40), &[id(0), id(2), id(4)], true);
        assert_eq!(shown(&field), [id(6)]);
    }

    #[test]
    fn a_draft_stays_seen_when_it_comes_again_at_a_greater_place() {
        let mut state = FieldState::default();
        // Seen at a place that is not in effect any more, then re-issued later by another device.
        state.apply(at(2, 50), &[id(0)], false);
        state.apply(at(0, 100), &[], false);
        assert_eq!(shown(&state), [id(2)]);
    }

    #[test]
    fn equal_values_count_as_one() {
        let heads = [at(8, 50), at(6, 40), at(4, 30), at(2, 20), at(0, 10)];
        let value = |write: WriteId| Payload::int([1, 2, 2, 3, 1][write.draft.as_bytes()[0] as usize]);
        let merged = merge_equal(&heads, value).unwrap();
        assert_eq!(merged.shown, (at(8, 50), Payload::int(1)));
        assert_eq!(merged.others, [(at(6, 40), Payload::int(3)), (at(4, 30), Payload::int(2))]);
        assert_eq!(merge_equal(&heads[..1], value).unwrap().others, []);
        assert_eq!(merge_equal(&[], value), None);
    }

    /// One delivery of a write: which, at which place.
    type Delivery = (usize, u64);

    #[derive(Debug, Clone)]
    struct Case {
        /// What each write claims to have seen (any, also of itself, the other field, or never delivered).
        writes: Vec<(BTreeSet<usize>, bool)>,
        /// Deliveries in order, some repeated, some at other places.
        deliveries: Vec<Delivery>,
    }

    const MOST: usize = 16;

    fn case() -> impl Strategy<Value = Case> {
        let write = (proptest::collection::btree_set(0..MOST, 0..4), any::<bool>());
        let writes = proptest::collection::vec(write, MOST);
        let deliveries = proptest::collection::vec((0..MOST - 2, 1..40u64), 1..40);
        (writes, deliveries).prop_map(|(writes, deliveries)| Case { writes, deliveries })
    }

    impl Case {
        fn write(&self, number: usize) -> Write {
            let (seen, has_reason) = &self.writes[number];
            Write {
                record: RecordId::from_bytes([1; 16]),
                kind: Name::new("entry").unwrap(),
                field: field_name(number),
                value: Payload::int(number as i64),
                seen: seen.iter().map(|other| id(*other)).collect(),
                reason: has_reason.then(|| "misread".to_owned()),
            }
        }

        fn apply(&self, state: &mut RecordState, (number, stamp): Delivery) -> Applied {
            let (written_at, author) = written(number);
            state.apply(id(number), place(stamp), written_at, author, &self.write(number))
        }

        fn fold(&self, deliveries: &[Delivery]) -> RecordState {
            let mut state = RecordState::default();
            deliveries.iter().for_each(|delivery| {
                self.apply(&mut state, *delivery);
            });
            state
        }
    }

    fn field_name(number: usize) -> Name {
        Name::new(["a", "b"][number % 2]).unwrap()
    }

    fn written(number: usize) -> (WrittenAt, RecordId) {
        let draft = number as u8 / 2;
        (WrittenAt { unix_ms: i64::from(draft), offset_min: 0 }, RecordId::from_bytes([draft; 16]))
    }

    /// The rule word by word, from the whole set: (heads, replaced, unmet, corrected) of one field.
    fn by_definition(case: &Case, deliveries: &[Delivery], field: usize) -> FieldView {
        let mut places: BTreeMap<usize, Place> = BTreeMap::new();
        for (number, stamp) in deliveries.iter().filter(|(number, _)| number % 2 == field) {
            let least = places.entry(*number).or_insert(place(*stamp));
            *least = (*least).min(place(*stamp));
        }
        let seen =
            |number: usize| case.writes[number].0.iter().copied().filter(move |other| *other != number);
        let leads_to = |from: usize, to: usize| {
            let mut reached = BTreeSet::from([from]);
            let mut waiting = vec![from];
            while let Some(number) = waiting.pop() {
                let next = seen(number).filter(|other| places.contains_key(other));
                waiting.extend(next.filter(|other| reached.insert(*other)));
            }
            reached.contains(&to)
        };
        let is_replaced = |number: usize| {
            places.keys().any(|seer| seen(*seer).any(|other| other == number) && !leads_to(number, *seer))
        };
        let (replaced, heads): (Vec<usize>, Vec<usize>) =
            places.keys().partition(|number| is_replaced(**number));
        let mut heads: Vec<Head> =
            heads.into_iter().map(|number| Head { write: id(number), place: places[&number] }).collect();
        heads.sort_by_key(|head| (std::cmp::Reverse(head.place), head.write));
        let unmet: BTreeSet<WriteId> = places
            .keys()
            .flat_map(|number| seen(*number))
            .filter(|other| !places.contains_key(other))
            .map(id)
            .collect();
        FieldView {
            heads,
            replaced: replaced.into_iter().map(id).collect(),
            unmet: unmet.into_iter().collect(),
            corrected: places
                .keys()
                .any(|number| case.writes[*number].1 && !case.writes[*number].0.is_empty()),
        }
    }

    #[derive(Debug, PartialEq, Default)]
    struct FieldView {
        heads: Vec<Head>,
        replaced: Vec<WriteId>,
        unmet: Vec<WriteId>,
        corrected: bool,
    }

    fn view(state: &RecordState, field: usize) -> FieldView {
        let Some(field) = state.field(["a", "b"][field]) else {
            return FieldView::default();
        };
        FieldView {
            heads: field.heads.clone(),
            replaced: field.replaced.clone(),
            unmet: field.unmet(),
            corrected: field.corrected,
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]

        /// After every delivery, whatever the order and whatever was claimed, the rule holds.
        #[test]
        fn each_step_agrees_with_the_rule(case in case()) {
            let mut state = RecordState::default();
            for (index, delivery) in case.deliveries.iter().enumerate() {
                let before = state.clone();
                let applied = case.apply(&mut state, *delivery);
                let so_far = &case.deliveries[..=index];
                for field in 0..2 {
                    prop_assert_eq!(view(&state, field), by_definition(&case, so_far, field));
                }
                let field = state.field(field_name(delivery.0).as_str()).unwrap();
                prop_assert!(field.is_sound());
                let is_head = field.heads.iter().any(|head| head.write == id(delivery.0));
                match applied {
                    Applied::Repeat => prop_assert_eq!(&before.fields, &state.fields),
                    Applied::Moved => prop_assert_ne!(&before.fields, &state.fields),
                    Applied::Head => prop_assert!(is_head),
                    Applied::Replaced => prop_assert!(!is_head),
                }
                let first = so_far.iter().map(|(number, stamp)| (place(*stamp), *number)).min_by_key(|first| first.0);
                prop_assert_eq!(state.first.unwrap().0, first.unwrap().0);
            }
        }

        /// The whole state, with all that it remembers, is a function of the set.
        #[test]
        fn any_order_gives_the_same_state(case in case(), keys in proptest::collection::vec(any::<u32>(), 60)) {
            // One place names one draft, as one change carries one draft.
            let one_place = |(number, stamp): Delivery| (number, stamp * 100 + number as u64 / 2);
            let mut deliveries: Vec<Delivery> = case.deliveries.iter().copied().map(one_place).collect();
            let state = case.fold(&deliveries);
            deliveries.extend(deliveries.clone().into_iter().take(20));
            let mut order: Vec<usize> = (0..deliveries.len()).collect();
            order.sort_by_key(|index| keys[*index]);
            let shuffled: Vec<Delivery> = order.into_iter().map(|index| deliveries[index]).collect();
            let again = case.fold(&shuffled);
            prop_assert_eq!(&again, &state);
            prop_assert_eq!(again.encode(), state.encode());
            prop_assert_eq!(RecordState::decode(&state.encode()), Ok(state));
        }

        /// Moving a draft equals a fold that knows the lesser place, or says that it does not.
        #[test]
        fn a_moved_draft_equals_a_fold(case in case(), draft in 0..MOST / 2, stamp in 1..40u64) {
            let one_place = |(number, stamp): Delivery| (number, stamp * 100 + number as u64 / 2);
            let mut deliveries: Vec<Delivery> = case.deliveries.iter().copied().map(one_place).collect();
            let mut state = case.fold(&deliveries);
            let before = state.clone();
            let moved = one_place((2 * draft, stamp));
            let replaced = state.replace_place(id(2 * draft).draft, place(moved.1));
            let here: BTreeSet<usize> =
                deliveries.iter().map(|delivery| delivery.0).filter(|number| number / 2 == draft).collect();
            deliveries.extend(here.into_iter().map(|number| (number, moved.1)));
            let expected = case.fold(&deliveries);
            match replaced {
                Replaced::Unchanged => {
                    prop_assert_eq!(&state, &before);
                    prop_assert_eq!(&state, &expected);
                }
                Replaced::Done => prop_assert_eq!(&state, &expected),
                Replaced::NeedsRefold => {
                    prop_assert_ne!(state.first, expected.first);
                    // Applying the draft's own writes again is enough.
                    for number in (2 * draft..2 * draft + 2).filter(|number| before_holds(&before, *number)) {
                        case.apply(&mut state, (number, moved.1));
                    }
                    prop_assert_eq!(&state, &expected);
                }
            }
        }

        /// Writes of honest devices, in any order that keeps causes before effects, leave nothing open.
        #[test]
        fn a_closed_log_leaves_nothing_open(seen in proptest::collection::vec(any::<u16>(), MOST)) {
            let mut field = FieldState::default();
            for (number, bits) in seen.into_iter().enumerate() {
                let seen: Vec<WriteId> =
                    (0..number).filter(|earlier| bits >> earlier & 1 == 1).map(id).collect();
                field.apply(at(number, number as u64), &seen, false);
                prop_assert!(field.open.is_empty());
            }
        }
    }

    fn before_holds(state: &RecordState, number: usize) -> bool {
        state.field(field_name(number).as_str()).is_some_and(|field| field.holds(id(number)))
    }
}
