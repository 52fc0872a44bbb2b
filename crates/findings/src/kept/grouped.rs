//! Records by what they belong to, both ways, so that a record that moves is found where it was.

use std::collections::BTreeMap;

use storypole_journal::RecordId;

/// Records grouped by a key; each record has at most one.
#[derive(Debug, Clone)]
pub(super) struct Grouped<K> {
    key_of: BTreeMap<RecordId, K>,
    /// In the order of their ids, as a book lists them. No group is empty.
    members: BTreeMap<K, Vec<RecordId>>,
}

impl<K: Ord + Copy> Grouped<K> {
    /// Groups records that come in the order of their ids.
    pub(super) fn of(records: impl Iterator<Item = (RecordId, K)>) -> Self {
        let pairs: Vec<(RecordId, K)> = records.collect();
        let mut groups: Vec<(K, Vec<RecordId>)> = Vec::new();
        let mut place: BTreeMap<K, usize> = BTreeMap::new();
        for (record, key) in &pairs {
            // Records of one group were mostly written one after another.
            let at = match groups.last() {
                Some((last, _)) if last == key => groups.len() - 1,
                _ => *place.entry(*key).or_insert(groups.len()),
            };
            match groups.get_mut(at) {
                Some((_, members)) => members.push(*record),
                None => groups.push((*key, vec![*record])),
            }
        }
        Self { key_of: pairs.into_iter().collect(), members: groups.into_iter().collect() }
    }

    /// The records of a group, in the order of their ids.
    pub(super) fn members(&self, key: K) -> &[RecordId] {
        self.members.get(&key).map_or(&[], Vec::as_slice)
    }

    /// The records of every group, group by group.
    pub(super) fn all_members(&self) -> impl Iterator<Item = &RecordId> {
        self.members.values().flatten()
    }

    /// The group a record is in.
    pub(super) fn key_of(&self, record: RecordId) -> Option<K> {
        self.key_of.get(&record).copied()
    }

    /// Puts a record into another group, or into none, and tells the one it was in.
    pub(super) fn place(&mut self, record: RecordId, key: Option<K>) -> Option<K> {
        let before = self.key_of(record);
        if before == key {
            return before;
        }
        if let Some(before) = before {
            self.take_out(record, before);
        }
        if let Some(key) = key {
            self.key_of.insert(record, key);
            let members = self.members.entry(key).or_default();
            if let Err(at) = members.binary_search(&record) {
                members.insert(at, record);
            }
        }
        before
    }

    fn take_out(&mut self, record: RecordId, key: K) {
        self.key_of.remove(&record);
        let Some(members) = self.members.get_mut(&key) else { return };
        members.retain(|member| *member != record);
        if members.is_empty() {
            self.members.remove(&key);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(number: u8) -> RecordId {
        RecordId::from_bytes([number; 16])
    }

    #[test]
    fn records_move_and_stand_in_order() {
        let mut grouped =
            Grouped::of([(1, 'a'), (2, 'b'), (3, 'a'), (5, 'a')].map(|(r, k)| (record(r), k)).into_iter());
        assert_eq!(grouped.members('a'), [record(1), record(3), record(5)]);
        assert_eq!(grouped.place(record(2), Some('a')), Some('b'));
        assert_eq!(grouped.members('a'), [record(1), record(2), record(3), record(5)]);
        assert_eq!((grouped.members('b'), grouped.key_of(record(2))), (&[][..], Some('a')));
        assert_eq!(grouped.place(record(4), Some('c')), None, "a new one was nowhere");
        assert_eq!(grouped.place(record(5), None), Some('a'));
        assert_eq!((grouped.members('a').len(), grouped.members('c')), (3, &[record(4)][..]));
        assert_eq!(grouped.place(record(9), None), None);
    }
}
