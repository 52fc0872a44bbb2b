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
const VERSION: u32 = 2;

/// Above so many new changes, writing everything is faster than looking up what they touch (common practice, no source).
pub(crate) const MOST_CHANGES: usize = 5_000;

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
    let new = usize::try_from(now.position.last.saturating_sub(mark.last));
    let Some(new) = new.ok().filter(|new| *new <= MOST_CHANGES) else { return Ok(None) };
    if mark.instance != now.position.instance || mark.generation != now.position.generation {
        return Ok(None);
    }
    let mut touched = BTreeSet::new();
    let mut aside = now.aside.clone();
    for (_, change) in reader.changes_after(mark.last, new)? {
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

    /// Whether it shows all that stood at `position`.
    pub(crate) fn reaches(&self, position: &Position) -> bool {
        let Self { instance, last, generation, .. } = *self;
        Position { instance, last, generation }.reaches(position)
    }

    /// Number of the last change it knows of.
    pub(crate) fn last(&self) -> i64 {
        self.last
    }

    /// Whether this is a later state than `earlier` of the same tables, with nothing between but new changes.
    pub(crate) fn continues(&self, earlier: &Self) -> bool {
        self.instance == earlier.instance && self.generation == earlier.generation && self.last > earlier.last
    }

    fn print(&self) -> String {
        let (instance, aside) = (hex(&self.instance), hex(&self.aside));
        format!("{instance} {} {} {aside}", self.last, self.generation)
    }

    fn parse(words: &mut std::str::Split<'_, char>) -> Option<Self> {
        Some(Self {
            instance: unhex(words.next()?)?,
            last: words.next()?.parse().ok()?,
            generation: words.next()?.parse().ok()?,
            aside: unhex(words.next()?)?,
        })
    }
}

/// What a commit carries beside its documents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Payload {
    /// Where the log stood.
    pub(crate) mark: Mark,
    /// How many documents there are, so that a lost list of deleted ones is noticed.
    pub(crate) count: u64,
    /// The sites that the documents name by number.
    pub(crate) sites: Vec<RecordId>,
}

impl Payload {
    /// One line: version, mark, count, sites, and a check over all of it.
    pub(crate) fn print(&self) -> String {
        let sites: String = self.sites.iter().map(|site| hex(site.as_bytes())).collect();
        let text = format!("{VERSION} {} {} {sites}", self.mark.print(), self.count);
        format!("{text} {}", check(&text))
    }

    /// Reads the printed form; `None` when it is damaged.
    pub(crate) fn read(text: &str) -> Option<Version> {
        let (text, sum) = text.rsplit_once(' ')?;
        if check(text) != sum {
            return None;
        }
        let mut words = text.split(' ');
        if words.next()?.parse() != Ok(VERSION) {
            return Some(Version::Other);
        }
        let mark = Mark::parse(&mut words)?;
        let count = words.next()?.parse().ok()?;
        let sites = sites(words.next()?)?;
        words.next().is_none().then_some(Version::This(Self { mark, count, sites }))
    }
}

/// A payload of this version, or that there is one of another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Version {
    /// Of this one.
    This(Payload),
    /// Of another: what it says is not known.
    Other,
}

fn sites(text: &str) -> Option<Vec<RecordId>> {
    let (letters, rest) = text.as_bytes().as_chunks::<SITE_LETTERS>();
    let site = |letters: &[u8]| Some(RecordId::from_bytes(unhex(str::from_utf8(letters).ok()?)?));
    if rest.is_empty() { letters.iter().map(|letters| site(letters)).collect() } else { None }
}

/// An id of 16 bytes, two letters each.
const SITE_LETTERS: usize = 32;

fn check(text: &str) -> String {
    let [check @ .., _, _, _, _, _, _, _, _] = ChangeHash::of(text.as_bytes()).0;
    hex(&check)
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
    fn another_version_is_told_from_damage() {
        let text = "99 in whatever form";
        assert_eq!(Payload::read(&format!("{text} {}", check(text))), Some(Version::Other));
        assert_eq!(Payload::read(&format!("{text}, {}", check(text))), None);
    }

    #[test]
    fn payloads_round_trip_and_other_texts_are_none() {
        let mark = Mark { instance: [0xab; 16], last: 17, generation: 3, aside: [1; 32] };
        for sites in [vec![], vec![RecordId::from_bytes([7; 16]), RecordId::from_bytes([0xc9; 16])]] {
            let payload = Payload { mark, count: 40, sites };
            let printed = payload.print();
            assert_eq!(Payload::read(&printed), Some(Version::This(payload)));
            for text in ["", "2", "2 ab 17 3 01", &format!("{printed} more")] {
                assert_eq!(Payload::read(text), None, "{text}");
            }
            for at in 0..printed.len() {
                let mut bytes = printed.clone().into_bytes();
                bytes[at] ^= 1;
                assert_eq!(Payload::read(&String::from_utf8(bytes).unwrap()), None, "letter {at} flipped");
            }
        }
    }
}
