//! Where the log stood when the index was written, and what changed since.
//!
//! Leaves out what is done about it: see [`crate::index`].

use std::collections::BTreeSet;

use storypole_journal::{ChangeHash, DeviceId, RecordId};
use storypole_notebook::KindSpec;
use storypole_store::Reader;
use storypole_store::read::{Position, WhyAside};

use crate::SearchError;

/// Raised whenever documents or the analyser change, so that older indexes are made anew.
const VERSION: u32 = 1;

/// Above so many new changes, writing everything is faster than looking up what they touch (common practice, no source).
const MOST_CHANGES: i64 = 5_000;

/// Where the log stands, and which changes are held without counting.
pub(crate) struct Standing {
    pub(crate) position: Position,
    aside: BTreeSet<(DeviceId, u64)>,
}

impl Standing {
    pub(crate) fn read(reader: &Reader) -> Result<Self, SearchError> {
        // In this order: what begins to count between the two reads is noticed at the next following.
        let aside = reader.set_aside()?.into_iter().filter(|change| change.why != WhyAside::Forked);
        let aside = aside.map(|change| (change.device, change.seq)).collect();
        Ok(Self { position: reader.position()?, aside })
    }
}

/// Kinds and ids of records that changed since, or `None` when everything may have.
pub(crate) fn touched_since(
    mark: &Mark,
    now: &Standing,
    reader: &Reader,
) -> Result<Option<BTreeSet<(&'static str, RecordId)>>, SearchError> {
    let new = now.position.last.saturating_sub(mark.last);
    if mark.instance != now.position.instance
        || mark.generation != now.position.generation
        || !(0..=MOST_CHANGES).contains(&new)
    {
        return Ok(None);
    }
    let mut touched = BTreeSet::new();
    let mut aside = now.aside.clone();
    let most = usize::try_from(new).unwrap_or(0);
    for (_, change) in reader.changes_after(mark.last, most)? {
        aside.remove(&(change.device, change.seq));
        for write in &change.draft.writes {
            // Kinds unknown here have no rows and no documents.
            if let Some(kind) = KindSpec::find(write.kind.as_str()) {
                touched.insert((kind.name, write.record));
            }
        }
    }
    // An older change that was held aside and counts now changes rows without being new.
    Ok((aside_hash(&aside) == mark.aside).then_some(touched))
}

/// What the index keeps of where the log stood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Mark {
    instance: [u8; 16],
    last: i64,
    generation: i64,
    aside: [u8; 32],
}

impl Mark {
    pub(crate) fn new(now: &Standing) -> Self {
        let Position { instance, last, generation } = now.position;
        Self { instance, last, generation, aside: aside_hash(&now.aside) }
    }

    pub(crate) fn print(&self) -> String {
        let (instance, aside) = (hex(&self.instance), hex(&self.aside));
        format!("{VERSION} {instance} {} {} {aside}", self.last, self.generation)
    }

    /// Reads the printed form of this version; any other is none.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let mut words = text.split(' ');
        if words.next()?.parse() != Ok(VERSION) {
            return None;
        }
        let mark = Self {
            instance: unhex(words.next()?)?,
            last: words.next()?.parse().ok()?,
            generation: words.next()?.parse().ok()?,
            aside: unhex(words.next()?)?,
        };
        words.next().is_none().then_some(mark)
    }
}

fn aside_hash(aside: &BTreeSet<(DeviceId, u64)>) -> [u8; 32] {
    let bytes: Vec<u8> = aside
        .iter()
        .flat_map(|(device, seq)| [&device.as_bytes()[..], &seq.to_be_bytes()].concat())
        .collect();
    ChangeHash::of(&bytes).0
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    if text.len() != 2 * N || !text.is_ascii() {
        return None;
    }
    let mut bytes = [0; N];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * at..2 * at + 2], 16).ok()?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_round_trip_and_other_texts_are_none() {
        let mark = Mark { instance: [0xab; 16], last: 17, generation: 3, aside: [1; 32] };
        let printed = mark.print();
        assert_eq!(Mark::parse(&printed), Some(mark));
        let other_version = printed.replacen(&VERSION.to_string(), "99", 1);
        for text in ["", "1", "1 ab 17 3 01", &other_version, &format!("{printed} more")] {
            assert_eq!(Mark::parse(text), None, "{text}");
        }
    }
}
