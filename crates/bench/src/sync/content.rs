//! What is carried: generated drafts whose references name the same few things again and again, and their values
//! as a library of documents or a line of JSON holds them.

use std::collections::HashSet;
use std::path::PathBuf;

use storypole_journal::{Draft, Payload, RecordId, Write};
use storypole_notebook::Value;
use storypole_testkit::{Chance, Drafts};

const SITES: usize = 6;
const JOBS: usize = 24;
const POSITIONS: usize = 4;
const READINGS_PER_SET: usize = 24;
/// Four people take turns, as they are known in the notebook.
const PERSONS: usize = 4;
/// Drafts that one person writes before the next does.
const DRAFTS_PER_TURN: usize = 12;
/// Every so many readings, one is looked at where it has arrived.
const PROBE_EVERY: usize = 97;

/// What the far end gets: first all at once, then what was written since.
pub struct Work {
    pub base: Vec<Draft>,
    pub more: Vec<Draft>,
    /// What is looked at when each has arrived.
    pub base_probes: Vec<Probe>,
    pub more_probes: Vec<Probe>,
    /// A folder for this run alone.
    pub folder: PathBuf,
}

/// A value that must be readable at the far end.
pub struct Probe {
    pub record: RecordId,
    pub kind: &'static str,
    pub field: &'static str,
    pub text: String,
}

/// What references name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Content {
    /// The same sites, jobs, sets and positions again and again, as a crew's notes do.
    Crew,
    /// A thing named nowhere else, each time: every reference is 80 random bits that nothing compresses.
    Strangers,
}

impl Work {
    /// Drafts for both legs; the second has a hundredth of the first.
    pub fn new(count: usize, content: Content, folder: PathBuf) -> Self {
        let mut base: Vec<Draft> = Drafts::new(1).take(count + count.div_ceil(100)).collect();
        if content == Content::Crew {
            let mut crew = Crew::new();
            base.iter_mut().for_each(|draft| crew.write(draft));
        }
        let more = base.split_off(count);
        let (base_probes, more_probes) = (probes(&base), probes(&more));
        Self { base, more, base_probes, more_probes, folder }
    }

    /// Bytes of the random digits in ids of both legs, ten of each id that was not sent before: the notebook's ids are
    /// made by whoever writes, and nothing makes these smaller.
    pub fn random_bytes(&self) -> [usize; 2] {
        let mut ids: HashSet<[u8; 16]> = HashSet::new();
        [&self.base, &self.more].map(|drafts| {
            let before = ids.len();
            for draft in drafts {
                ids.extend([*draft.id.as_bytes(), *draft.author.as_bytes()]);
                for write in &draft.writes {
                    ids.insert(*write.record.as_bytes());
                    if let Value::Record(id) = value(&write.value) {
                        ids.insert(*id.as_bytes());
                    }
                }
            }
            10 * (ids.len() - before)
        })
    }
}

/// Values of readings among these drafts; no later draft changes a reading.
fn probes(drafts: &[Draft]) -> Vec<Probe> {
    let writes = drafts.iter().flat_map(|draft| &draft.writes);
    let readings = writes.filter(|write| write.kind == "reading" && write.field == "value");
    let probe = |write: &Write| Probe {
        record: write.record,
        kind: "reading",
        field: "value",
        text: value(&write.value).to_string(),
    };
    let probes: Vec<Probe> = readings.step_by(PROBE_EVERY).map(probe).collect();
    assert!(!probes.is_empty(), "there are readings among the drafts: take more of them");
    probes
}

/// The things that a crew's notes are about.
struct Crew {
    chance: Chance,
    sites: Vec<RecordId>,
    jobs: Vec<RecordId>,
    persons: Vec<RecordId>,
    set: RecordId,
    positions: Vec<RecordId>,
    readings: usize,
    drafts: usize,
}

impl Crew {
    fn new() -> Self {
        let mut chance = Chance::new(2);
        let (sites, jobs) = (records(&mut chance, SITES), records(&mut chance, JOBS));
        let (persons, positions) = (records(&mut chance, PERSONS), records(&mut chance, POSITIONS));
        let set = records(&mut chance, 1)[0];
        Self { chance, sites, jobs, persons, set, positions, readings: 0, drafts: 0 }
    }

    fn write(&mut self, draft: &mut Draft) {
        draft.author = self.persons[self.drafts / DRAFTS_PER_TURN % PERSONS];
        self.drafts += 1;
        for write in &mut draft.writes {
            if let Some(named) = self.named(write) {
                let value = Value::Record(named);
                write.value = value.to_payload();
            }
        }
    }

    fn named(&mut self, write: &Write) -> Option<RecordId> {
        match (write.kind.as_str(), write.field.as_str()) {
            (_, "site") => Some(*self.chance.pick(&self.sites)),
            (_, "job") => Some(*self.chance.pick(&self.jobs)),
            ("reading", "set") => {
                if self.readings.is_multiple_of(READINGS_PER_SET) {
                    self.set = records(&mut self.chance, 1)[0];
                    self.positions = records(&mut self.chance, POSITIONS);
                }
                self.readings += 1;
                Some(self.set)
            }
            ("reading", "position") => Some(self.positions[self.readings / 3 % POSITIONS]),
            _ => None,
        }
    }
}

fn records(chance: &mut Chance, count: usize) -> Vec<RecordId> {
    (0..count).map(|_| RecordId::from_parts(1_741_000_000_000, chance.id())).collect()
}

/// A value as a library of documents holds it.
pub enum Scalar {
    Text(String),
    Integer(i64),
    /// The id of a record.
    Id([u8; 16]),
}

/// The value of a generated write.
pub fn value(payload: &Payload) -> Value {
    Value::from_payload(payload).expect("generated values are legal").expect("and none is empty")
}

/// Numbers with a unit stay text, as a person types them: none of the libraries has exact decimals.
pub fn scalar(payload: &Payload) -> Scalar {
    match value(payload) {
        Value::Integer(number) => Scalar::Integer(number),
        Value::Record(id) => Scalar::Id(*id.as_bytes()),
        other => Scalar::Text(other.to_string()),
    }
}

/// The key of a record in a library's map, which takes text: 22 letters of base64url (RFC 4648 section 5), the
/// shortest common form.
pub fn key(record: RecordId) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut key = String::with_capacity(22);
    for chunk in record.as_bytes().chunks(3) {
        let bits = chunk.iter().fold(0_usize, |bits, byte| bits << 8 | usize::from(*byte))
            << (8 * (3 - chunk.len()));
        for place in 0..=chunk.len() {
            key.push(char::from(LETTERS[bits >> (18 - 6 * place) & 63]));
        }
    }
    key
}

/// What a library is told of a draft beside its time and values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    Author,
    /// Its id too, by which the same draft is known when it comes again.
    AuthorAndDraft,
}

/// What a library keeps of each draft as text: the number of the person who wrote it is the shortest name there is.
pub struct Notes {
    told: Told,
    authors: Vec<RecordId>,
}

impl Notes {
    pub fn new(told: Told) -> Self {
        Self { told, authors: Vec::new() }
    }

    pub fn of(&mut self, draft: &Draft) -> String {
        let known = self.authors.iter().position(|author| *author == draft.author);
        let author = known.unwrap_or_else(|| {
            self.authors.push(draft.author);
            self.authors.len() - 1
        });
        match self.told {
            Told::Author => author.to_string(),
            Told::AuthorAndDraft => format!("{author} {}", key(RecordId::from_bytes(*draft.id.as_bytes()))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_base64url() {
        // RFC 4648 section 10: "foobar" is Zm9vYmFy; the rest by hand.
        let mut bytes = *b"foobarfoobarfoob";
        assert_eq!(key(RecordId::from_bytes(bytes)), "Zm9vYmFyZm9vYmFyZm9vYg");
        bytes[..3].copy_from_slice(&[0xFB, 0xFF, 0xFE]);
        assert!(key(RecordId::from_bytes(bytes)).starts_with("-__-"));
    }

    #[test]
    fn a_crew_names_few_things_and_its_drafts_stay_legal() {
        let references = |content| {
            let work = Work::new(1_000, content, PathBuf::new());
            assert_eq!((work.base.len(), work.more.len()), (1_000, 10));
            for draft in work.base.iter().chain(&work.more) {
                draft.check().expect("a legal draft");
                storypole_notebook::door::check(draft).expect("legal values");
            }
            let writes = work.base.iter().flat_map(|draft| &draft.writes);
            let jobs = writes.filter(|write| write.field == "job").map(|write| write.value.clone());
            jobs.collect::<std::collections::BTreeSet<_>>().len()
        };
        assert!(references(Content::Crew) <= JOBS);
        assert!(references(Content::Strangers) > JOBS);
    }
}
