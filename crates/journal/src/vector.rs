//! Vectors: how much of every series a copy holds.

use std::collections::BTreeMap;

use crate::cbor::{CborError, Reader, Writer};
use crate::change::{ChangeHash, DecodeError, FORMAT_VERSION, read_items, read_opening};
use crate::ids::DeviceId;

/// How much of one series is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// How many changes; never 0 in a vector.
    pub count: u64,
    /// The hash of the last one.
    pub hash: ChangeHash,
}

/// How much of every series a copy holds; a device that is missing counts as 0.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Vector(BTreeMap<DeviceId, Entry>);

/// Changes `from..to` of a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Whose series.
    pub device: DeviceId,
    /// The first change.
    pub from: u64,
    /// The one after the last.
    pub to: u64,
}

/// Two copies hold different changes at the same place of a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fork {
    /// Whose series.
    pub device: DeviceId,
    /// How many changes the hashes stand for.
    pub count: u64,
    /// The hash held here.
    pub ours: ChangeHash,
    /// The hash held there.
    pub theirs: ChangeHash,
}

impl Vector {
    /// Returns the vector of an empty copy.
    pub fn new() -> Self {
        Self::default()
    }

    /// Notes how much is held of a series; an entry of no changes is forgotten.
    pub fn set(&mut self, device: DeviceId, entry: Entry) {
        if entry.count == 0 {
            self.0.remove(&device);
        } else {
            self.0.insert(device, entry);
        }
    }

    /// Returns the entry of a device, if anything is held.
    pub fn get(&self, device: DeviceId) -> Option<Entry> {
        self.0.get(&device).copied()
    }

    /// Returns how many changes of a device are held.
    pub fn count(&self, device: DeviceId) -> u64 {
        self.0.get(&device).map_or(0, |entry| entry.count)
    }

    /// Returns the entries in the order of device ids.
    pub fn iter(&self) -> impl Iterator<Item = (DeviceId, Entry)> {
        self.0.iter().map(|(device, entry)| (*device, *entry))
    }

    /// Says whether nothing is held.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Returns what is held here and not there, in the order of device ids.
    pub fn beyond(&self, other: &Self) -> Vec<Span> {
        let span =
            |(device, entry): (DeviceId, Entry)| Span { device, from: other.count(device), to: entry.count };
        self.iter().map(span).filter(|span| span.from < span.to).collect()
    }

    /// Returns the series that have as many changes here as there, but not the same.
    ///
    /// Series of different length are compared by [`Vector::forks_by`].
    pub fn forks(&self, other: &Self) -> Vec<Fork> {
        self.forks_by(other, |device, count| {
            self.get(device).filter(|entry| entry.count == count).map(|entry| entry.hash)
        })
    }

    /// Returns the series whose `count`-th change there has another hash than here.
    ///
    /// `hash_at(device, count)` is the hash of the last of the first `count` changes held here, if so many
    /// are held. A fork of a series that is longer there shows when its next change arrives.
    pub fn forks_by(&self, other: &Self, hash_at: impl Fn(DeviceId, u64) -> Option<ChangeHash>) -> Vec<Fork> {
        let fork = |(device, entry): (DeviceId, Entry)| {
            let (count, theirs) = (entry.count, entry.hash);
            let ours = hash_at(device, count)?;
            (ours != theirs).then_some(Fork { device, count, ours, theirs })
        };
        other.iter().filter_map(fork).collect()
    }

    /// Returns one hash over all that is held: equal exactly when the sets of changes are.
    pub fn digest(&self) -> ChangeHash {
        ChangeHash::of(&self.encode())
    }

    /// Encodes deterministically: `[version, entries]`, an entry being `[device, count, hash]`, by device.
    pub fn encode(&self) -> Vec<u8> {
        let mut writer = Writer::with_capacity(16 + 64 * self.0.len());
        writer.array(2).uint(FORMAT_VERSION).array(self.0.len());
        for (device, entry) in &self.0 {
            writer.array(3).bytes(device.as_bytes()).uint(entry.count).bytes(&entry.hash.0);
        }
        writer.into_bytes()
    }

    /// Decodes the very bytes that [`Vector::encode`] makes.
    ///
    /// # Errors
    /// [`DecodeError`] on any other bytes.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut reader = Reader::new(bytes);
        read_opening(&mut reader, 2)?;
        let mut vector = Self::new();
        for _ in 0..reader.array()? {
            let at = reader.position();
            read_items(&mut reader, 3)?;
            let device = DeviceId::from_bytes(reader.fixed()?);
            let entry = Entry { count: reader.uint()?, hash: ChangeHash(reader.fixed()?) };
            let follows = vector.0.last_key_value().is_none_or(|(last, _)| *last < device);
            if entry.count == 0 || !follows {
                return Err(CborError::Unexpected { at }.into());
            }
            vector.0.insert(device, entry);
        }
        reader.end()?;
        Ok(vector)
    }
}

impl FromIterator<(DeviceId, Entry)> for Vector {
    fn from_iter<I: IntoIterator<Item = (DeviceId, Entry)>>(entries: I) -> Self {
        let mut vector = Self::new();
        entries.into_iter().for_each(|(device, entry)| vector.set(device, entry));
        vector
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn device(byte: u8) -> DeviceId {
        DeviceId::from_bytes([byte; 16])
    }

    fn vector(entries: &[(u8, u64, u8)]) -> Vector {
        let entry = |(of, count, hash): &(u8, u64, u8)| {
            (device(*of), Entry { count: *count, hash: ChangeHash([*hash; 32]) })
        };
        entries.iter().map(entry).collect()
    }

    #[test]
    fn lists_what_the_other_lacks() {
        let ours = vector(&[(1, 5, 50), (2, 3, 30), (3, 1, 10), (4, 0, 0)]);
        let theirs = vector(&[(1, 5, 50), (2, 1, 11), (5, 9, 90)]);
        let spans = [Span { device: device(2), from: 1, to: 3 }, Span { device: device(3), from: 0, to: 1 }];
        assert_eq!(ours.beyond(&theirs), spans);
        assert_eq!(theirs.beyond(&ours), [Span { device: device(5), from: 0, to: 9 }]);
        assert_eq!(ours.count(device(4)), 0);
        assert_eq!(ours.beyond(&ours), []);
    }

    #[test]
    fn a_fork_shows_at_equal_and_at_shorter_counts() {
        let ours = vector(&[(1, 5, 50), (2, 3, 30)]);
        let (one, three) = (ChangeHash([51; 32]), ChangeHash([31; 32]));
        let fork = Fork { device: device(1), count: 5, ours: ChangeHash([50; 32]), theirs: one };
        assert_eq!(ours.forks(&vector(&[(1, 5, 51), (2, 2, 99)])), [fork]);
        let hash_at =
            |of: DeviceId, count| (of == device(2) && count <= 3).then_some(ChangeHash([count as u8; 32]));
        let fork = Fork { device: device(2), count: 2, ours: ChangeHash([2; 32]), theirs: three };
        assert_eq!(ours.forks_by(&vector(&[(2, 2, 31)]), hash_at), [fork]);
        assert_eq!(ours.forks_by(&vector(&[(2, 2, 2), (2, 7, 1)]), hash_at), []);
    }

    #[test]
    fn decodes_only_sorted_entries_that_hold_something() {
        let good = vector(&[(1, 5, 50), (2, 3, 30)]);
        assert_eq!(Vector::decode(&good.encode()), Ok(good));
        let bytes = |devices: &[(u8, u64)]| {
            let mut writer = Writer::default();
            writer.array(2).uint(1).array(devices.len());
            for (of, count) in devices {
                writer.array(3).bytes(&[*of; 16]).uint(*count).bytes(&[0; 32]);
            }
            writer.into_bytes()
        };
        assert!(Vector::decode(&bytes(&[(1, 1), (2, 1)])).is_ok());
        for bad in [bytes(&[(2, 1), (1, 1)]), bytes(&[(1, 1), (1, 1)]), bytes(&[(1, 0)])] {
            assert!(Vector::decode(&bad).is_err());
        }
    }
}
