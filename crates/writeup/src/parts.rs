//! The author's choice of parts: the order of sections, and what is left out.
//!
//! What a reader has to see stays: how it was measured, what went wrong, limits, cautions, and a disclosure that was made. Leaves
//! out what sections hold.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::Book;

use crate::document::{Part, Topic};
use crate::stored::{is_named, names, one};
use crate::subject::WriteUpError;

impl Topic {
    /// Every topic, in the usual order.
    pub const ALL: [Self; 14] = [
        Self::Question,
        Self::Built,
        Self::Method,
        Self::Conditions,
        Self::Results,
        Self::Others,
        Self::LeftOut,
        Self::Cost,
        Self::Conclusion,
        Self::Limits,
        Self::Cautions,
        Self::Disclosure,
        Self::Versions,
        Self::Data,
    ];

    /// Its word, as typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Question => "question",
            Self::Built => "built",
            Self::Method => "method",
            Self::Conditions => "conditions",
            Self::Results => "results",
            Self::Others => "others",
            Self::LeftOut => "left-out",
            Self::Cost => "cost",
            Self::Conclusion => "conclusion",
            Self::Limits => "limits",
            Self::Cautions => "cautions",
            Self::Disclosure => "disclosure",
            Self::Versions => "versions",
            Self::Data => "data",
        }
    }

    /// The topic of a word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|topic| topic.word().eq_ignore_ascii_case(word))
    }

    /// Reads a list of topics in the author's order.
    ///
    /// # Errors
    /// [`WriteUpError::NoSuchPart`] for a word that is none.
    pub fn list(text: &str) -> Result<Vec<Self>, WriteUpError> {
        let topic = |word: &str| Self::of_word(word).ok_or_else(|| no_such(word, Vec::new()));
        names(text).into_iter().map(topic).collect()
    }

    /// Why it cannot be left out; `None` where it can.
    pub fn stays(self, is_disclosed: bool) -> Option<&'static str> {
        match self {
            Self::Method => Some("nobody could check the results"),
            Self::LeftOut => Some("what went wrong belongs to what was found"),
            Self::Limits => Some("the results would seem to show more than they do"),
            Self::Cautions => Some("the work can hurt someone"),
            Self::Disclosure if is_disclosed => Some("something was disclosed"),
            _ => None,
        }
    }
}

fn no_such(name: &str, more: Vec<String>) -> WriteUpError {
    let topics = Topic::ALL.iter().map(|topic| topic.word().to_owned());
    WriteUpError::NoSuchPart { name: name.to_owned(), known: topics.chain(more).collect() }
}

/// Every topic, those the author named first.
pub(crate) fn in_order(chosen: &[Topic]) -> Vec<Topic> {
    let mut seen = BTreeSet::new();
    chosen.iter().copied().chain(Topic::ALL).filter(|topic| seen.insert(*topic)).collect()
}

/// What an author leaves out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Out {
    pub(crate) topics: Vec<Topic>,
    pub(crate) sets: Vec<RecordId>,
    pub(crate) tests: Vec<RecordId>,
    /// Sets before and after.
    pub(crate) changes: Vec<(RecordId, RecordId)>,
    /// Names of figures.
    pub(crate) figures: Vec<String>,
    /// Results as they were typed: by their sets, or twice by their one record.
    typed: BTreeMap<(RecordId, RecordId), String>,
}

/// What a write-up holds that can be left out by name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Held {
    /// Tests with their labels.
    pub(crate) tests: Vec<(RecordId, String)>,
    /// Sets with their labels.
    sets: Vec<(RecordId, String)>,
    /// Sets before and after.
    pub(crate) changes: Vec<(RecordId, RecordId)>,
}

impl Held {
    pub(crate) fn set(&mut self, set: RecordId, label: &str) {
        if self.label(set).is_none() {
            self.sets.push((set, label.to_owned()));
        }
    }

    pub(crate) fn change(&mut self, from: RecordId, to: RecordId) {
        if !self.changes.contains(&(from, to)) {
            self.changes.push((from, to));
        }
    }

    fn label(&self, set: RecordId) -> Option<&str> {
        self.sets.iter().find(|(own, _)| *own == set).map(|(_, label)| label.as_str())
    }

    /// The change as it is told, whichever way it was typed.
    fn told(&self, (from, to): (RecordId, RecordId)) -> Option<(RecordId, RecordId)> {
        [(from, to), (to, from)].into_iter().find(|pair| self.changes.contains(pair))
    }

    fn names(&self) -> Vec<String> {
        let nothing = |_: RecordId| String::new();
        self.results(&Out::default(), nothing, nothing).into_iter().map(|part| part.name).collect()
    }

    /// Every result by the name that leaves it out; words of tests and sets are given.
    pub(crate) fn results(
        &self,
        out: &Out,
        of_test: impl Fn(RecordId) -> String,
        of_set: impl Fn(RecordId) -> String,
    ) -> Vec<Part> {
        let tests = self.tests.iter().map(|(test, label)| Part {
            name: format!("test:{label}"),
            words: of_test(*test),
            is_out: out.has_test(*test),
        });
        let sets = self.sets.iter().map(|(set, label)| Part {
            name: format!("set:{label}"),
            words: of_set(*set),
            is_out: out.has_set(*set),
        });
        let changes = self.changes.iter().filter_map(|(from, to)| {
            let (first, second) = (self.label(*from)?, self.label(*to)?);
            Some(Part {
                name: format!("change:{first}-{second}"),
                words: format!("from {first} to {second}"),
                is_out: out.changes.contains(&(*from, *to)),
            })
        });
        tests.chain(sets).chain(changes).collect()
    }
}

impl Out {
    /// Refuses what a write-up does not hold; a change typed backwards is the same change.
    pub(crate) fn within(mut self, held: &Held) -> Result<Self, WriteUpError> {
        let unknown = |of: &[(RecordId, String)], wanted: &[RecordId]| {
            wanted.iter().copied().find(|wanted| of.iter().all(|(own, _)| own != wanted))
        };
        let one = unknown(&held.tests, &self.tests).or_else(|| unknown(&held.sets, &self.sets));
        let changes: Vec<_> = self.changes.iter().map(|change| held.told(*change)).collect();
        let name = match (one, changes.iter().position(Option::is_none)) {
            (Some(record), _) => self.typed.get(&(record, record)),
            (None, Some(at)) => self.changes.get(at).and_then(|change| self.typed.get(change)),
            (None, None) => {
                self.changes = changes.into_iter().flatten().collect();
                return Ok(self);
            }
        };
        Err(no_such(name.map_or("this", String::as_str), held.names()))
    }

    /// Figures alone.
    pub(crate) fn of_figures(names: &[String]) -> Self {
        Self { figures: names.to_vec(), ..Self::default() }
    }

    /// Reads names as they were typed.
    pub(crate) fn read(book: &Book, parts: &[String]) -> Result<Self, WriteUpError> {
        let mut out = Self::default();
        for name in parts.iter().flat_map(|part| names(part)) {
            match name.split_once(':') {
                Some(("set", label)) => {
                    let set = set(book, name, label)?;
                    out.sets.push(set);
                    out.typed.insert((set, set), name.to_owned());
                }
                Some(("test", label)) => {
                    let is_it = book.tests.all().filter(|test| is_named(label, test.id, &test.label));
                    let test = one(name, "test", is_it.map(|test| test.id).collect())?;
                    out.tests.push(test);
                    out.typed.insert((test, test), name.to_owned());
                }
                Some(("change", pair)) => {
                    let change = change(book, name, pair)?;
                    out.changes.push(change);
                    out.typed.insert(change, name.to_owned());
                }
                Some(("figure", figure)) => out.figures.push(figure.to_owned()),
                _ => match Topic::of_word(name) {
                    Some(topic) => out.topics.push(topic),
                    None => out.figures.push(name.to_owned()),
                },
            }
        }
        Ok(out)
    }

    /// Refuses to leave out what a reader has to see.
    pub(crate) fn check(&self, is_disclosed: bool) -> Result<(), WriteUpError> {
        let kept = |topic: &Topic| Some((topic.word(), topic.stays(is_disclosed)?));
        match self.topics.iter().find_map(kept) {
            Some((part, because)) => Err(WriteUpError::MustStay { part, because }),
            None => Ok(()),
        }
    }

    /// Refuses a name that is neither a section nor one of these figures.
    pub(crate) fn check_figures(&self, figures: &[String]) -> Result<(), WriteUpError> {
        match self.figures.iter().find(|name| !figures.contains(name)) {
            Some(name) => {
                let more = ["set:LABEL", "test:LABEL", "change:LABEL-LABEL"].map(str::to_owned).into_iter();
                Err(no_such(name, more.chain(figures.iter().cloned()).collect()))
            }
            None => Ok(()),
        }
    }

    pub(crate) fn has_set(&self, set: RecordId) -> bool {
        self.sets.contains(&set)
    }

    pub(crate) fn has_test(&self, test: RecordId) -> bool {
        self.tests.contains(&test)
    }

    /// Whether a change is left out: by itself, or with one of its sets.
    pub(crate) fn has_change(&self, from: RecordId, to: RecordId) -> bool {
        let is_this = |pair: &(RecordId, RecordId)| [(from, to), (to, from)].contains(pair);
        self.changes.iter().any(is_this) || self.has_set(from) || self.has_set(to)
    }
}

fn set(book: &Book, name: &str, label: &str) -> Result<RecordId, WriteUpError> {
    let is_it = book.sets.all().filter(|set| is_named(label, set.id, &set.label));
    one(name, "set", is_it.map(|set| set.id).collect())
}

/// Two sets with a hyphen between: labels may have hyphens of their own.
fn change(book: &Book, name: &str, pair: &str) -> Result<(RecordId, RecordId), WriteUpError> {
    let mut found = Vec::new();
    for (at, _) in pair.match_indices('-') {
        let (from, to) = (&pair[..at], &pair[at + 1..]);
        if let (Ok(from), Ok(to)) = (set(book, name, from), set(book, name, to)) {
            found.push((from, to));
        }
    }
    one(name, "change from one set to another", found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;

    #[test]
    fn sections_not_named_follow() {
        let order = in_order(&Topic::list("cost, Results cost").unwrap());
        assert_eq!(order[..4], [Topic::Cost, Topic::Results, Topic::Question, Topic::Built]);
        assert_eq!(order.len(), Topic::ALL.len());
        assert!(Topic::ALL.is_sorted());
        assert!(Topic::ALL.iter().all(|topic| Topic::of_word(topic.word()) == Some(*topic)));
        let unknown = Topic::list("cost price").unwrap_err();
        assert!(
            unknown.to_string().starts_with("there is no part called price; known here: question, built")
        );
    }

    #[test]
    fn parts_are_read_by_name() {
        let all = demo();
        let read = |parts: &str| Out::read(&all.book, &[parts.to_owned()]);
        let out = read("cost set:T08, change:T26-T26-after\nfigure:forest test:Q2 positions").unwrap();
        assert_eq!((&out.topics[..], &out.sets[..]), (&[Topic::Cost][..], &[all.id("set", "T08")][..]));
        assert_eq!(out.changes, [(all.id("set", "T26"), all.id("set", "T26-after"))]);
        assert_eq!(out.figures, ["forest", "positions"]);
        assert!(out.has_change(all.id("set", "T08"), all.id("set", "T09")));
        assert_eq!(read("set:T99"), Err(WriteUpError::UnknownLabel { name: "set:T99".into(), kind: "set" }));
        let none = out.check_figures(&["forest".to_owned()]).unwrap_err();
        assert!(none.to_string().contains("no part called positions") && none.to_string().contains("forest"));
    }

    #[test]
    fn what_a_reader_has_to_see_stays() {
        let out = |topic| Out { topics: vec![topic], ..Out::default() };
        for topic in [Topic::Limits, Topic::Cautions, Topic::LeftOut, Topic::Method, Topic::Disclosure] {
            assert!(matches!(out(topic).check(true), Err(WriteUpError::MustStay { .. })), "{topic:?}");
        }
        assert_eq!(out(Topic::Disclosure).check(false), Ok(()));
        assert_eq!(out(Topic::Cost).check(true), Ok(()));
        let said = out(Topic::Limits).check(true).unwrap_err().to_string();
        assert!(said.starts_with("limits cannot be left out") && said.ends_with("left out"), "{said}");
    }
}
