//! Words that mean the same, and names of fills, frames, states and kinds, from the file `words.txt`. Applied to what is asked,
//! never to what is indexed.
//!
//! One group to a line, its members parted by `=`; a line may begin with what its members name, as in
//! `fill stone wool: rock wool = mineral wool`. A notebook may have lines of its own beside the built-in ones. Leaves out
//! measures, which the analyser reads, and any weighing of one meaning against another: a run of words is in one group
//! or in none.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use storypole_notebook::KindSpec;

use crate::analyse::words;
use crate::facts::NameSet;

/// Words by what they mean.
#[derive(Debug, Clone, Default)]
pub struct Vocabulary {
    /// What is known of each member, by its analysed words.
    members: BTreeMap<Vec<String>, Member>,
    groups: Vec<Group>,
    /// The most words a member has: how far ahead a reader must look.
    longest: usize,
}

/// Something known by name.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Concept {
    /// What it is a name of.
    pub class: ConceptClass,
    /// The value as stored: `glass fibre`, `resilient`, `bare-studs`, `receipt`; `empty` for no fill.
    pub value: String,
}

/// What a concept is a name of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ConceptClass {
    /// What fills a cavity.
    Fill,
    /// How the leaves are tied, by the words of [`storypole_notebook::assembly::Coupling`].
    Frame,
    /// State of the work.
    State,
    /// Kind of record.
    Kind,
}

/// What the vocabulary knows of a run of words.
#[derive(Debug, Clone, Copy)]
pub struct Meaning<'v> {
    /// How many words of the run it covers.
    pub count: usize,
    /// What else means the same, as analysed words.
    pub others: &'v [Vec<String>],
    /// What it is the name of.
    pub concept: Option<&'v Concept>,
}

/// A line that was left out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line} is left out")]
pub struct LineProblem {
    /// Its number, from 1.
    pub line: usize,
    /// Why.
    #[source]
    pub why: WhyLeftOut,
}

/// Why a line is left out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WhyLeftOut {
    /// Nothing is said to mean the same as something else.
    #[error("it has one member only: write what means the same on one line, with = between")]
    OneMember,
    /// A place between two `=` is empty, or has nothing that is searched for.
    #[error("a member is empty: write words on both sides of each =")]
    EmptyMember,
    /// Too long to be a name.
    #[error("\"{member}\" has more than {MOST_WORDS} words")]
    TooLong {
        /// The member.
        member: String,
    },
    /// A member means something else already.
    #[error("\"{member}\" stands in another group already: take it out of one of them")]
    ElsewhereAlready {
        /// The member.
        member: String,
    },
    /// What stands before the colon is not known.
    #[error(
        "\"{name}\" is not known here: write fill, frame, state or kind and one of their values before the colon"
    )]
    UnknownName {
        /// What stands there.
        name: String,
    },
    /// More lines than are read.
    #[error("the file has more than {MOST_LINES} lines: the rest is left out")]
    TooManyLines,
}

/// The most words of a member.
const MOST_WORDS: usize = 8;
/// The most lines of a notebook's own file: no person writes more (convention of this project).
const MOST_LINES: usize = 5_000;

#[derive(Debug, Clone, Default)]
struct Member {
    group: usize,
    /// As a person wrote it in the file.
    written: String,
    others: Vec<Vec<String>>,
}

#[derive(Debug, Clone)]
struct Group {
    concept: Option<Concept>,
    members: Vec<Vec<String>>,
    origin: Origin,
}

/// Where a group began.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Origin {
    BuiltIn,
    Own,
}

/// What a line says.
struct Line {
    concept: Option<Concept>,
    /// Each as written and as analysed.
    members: Vec<(String, Vec<String>)>,
}

impl Vocabulary {
    /// The vocabulary of the file `words.txt` that this crate comes with.
    pub fn built_in() -> &'static Self {
        static BUILT_IN: LazyLock<Vocabulary> = LazyLock::new(|| {
            let mut vocabulary = Vocabulary::default();
            let problems = vocabulary.add(include_str!("../words.txt"), Origin::BuiltIn);
            debug_assert_eq!(problems, [], "a test reads every built-in line");
            vocabulary
        });
        &BUILT_IN
    }

    /// The built-in vocabulary with a notebook's own lines, and the lines that were left out.
    ///
    /// A line of its own that names a member of a built-in group, or begins with what a group names, adds to that group.
    pub fn with_own(text: &str) -> (Self, Vec<LineProblem>) {
        let mut vocabulary = Self::built_in().clone();
        let problems = vocabulary.add(text, Origin::Own);
        (vocabulary, problems)
    }

    /// The longest run at the beginning of these analysed words that the vocabulary knows.
    pub fn longest(&self, words: &[String]) -> Option<Meaning<'_>> {
        (1..=self.longest.min(words.len())).rev().find_map(|count| {
            let member = self.members.get(&words[..count])?;
            let concept = self.groups[member.group].concept.as_ref();
            Some(Meaning { count, others: &member.others, concept })
        })
    }

    /// Everything that names a fill, frame, state or kind, as it is written in the file, with what it names.
    pub fn names(&self) -> impl Iterator<Item = (&str, &Concept)> {
        let named = |member: &'_ Member| self.groups[member.group].concept.as_ref();
        self.members.values().filter_map(move |member| Some((member.written.as_str(), named(member)?)))
    }

    /// Whether a word stands in any member, as it is spelt.
    pub(crate) fn has_word(&self, word: &str) -> bool {
        let mut words = self.members.values().flat_map(|member| member.written.split_whitespace());
        words.any(|known| known.to_lowercase() == word)
    }

    /// The word of a member that is spelt nearest to one, and by how many letters it differs: one of five to seven, two of
    /// more; `None` where none is that near.
    pub(crate) fn nearest(&self, word: &str) -> Option<(String, u8)> {
        let most = if word.chars().count() < 8 { 1 } else { 2 };
        let first = word.chars().next()?;
        let words = self.members.values().flat_map(|member| member.written.split_whitespace());
        let near =
            words.filter(|known| known.chars().count() > 3 && known.starts_with(first)).filter_map(|known| {
                let known = known.to_lowercase();
                let distance = letters_apart(&known, word);
                (distance <= most).then_some((distance, known))
            });
        near.min().map(|(distance, known)| (known, distance))
    }

    fn add(&mut self, text: &str, origin: Origin) -> Vec<LineProblem> {
        let mut problems = Vec::new();
        for (index, text) in text.trim_start_matches('\u{feff}').lines().enumerate() {
            let line = index + 1;
            if origin == Origin::Own && line > MOST_LINES {
                problems.push(LineProblem { line, why: WhyLeftOut::TooManyLines });
                break;
            }
            let text = text.trim();
            if text.is_empty() || text.starts_with('#') {
                continue;
            }
            if let Err(why) = parse(text).and_then(|line| self.take(line, origin)) {
                problems.push(LineProblem { line, why });
            }
        }
        self.tell_others();
        problems
    }

    /// Adds a line to the group it belongs to, or as a new group; changes nothing when it is refused.
    fn take(&mut self, line: Line, origin: Origin) -> Result<(), WhyLeftOut> {
        let named =
            line.concept.as_ref().filter(|_| origin == Origin::Own).and_then(|concept| {
                self.groups.iter().position(|group| group.concept.as_ref() == Some(concept))
            });
        let mut joined = named;
        for (written, words) in &line.members {
            let Some(known) = self.members.get(words).map(|member| member.group) else { continue };
            let may_join = origin == Origin::Own && self.groups[known].origin == Origin::BuiltIn;
            // A line that begins with a name may repeat any member of a group of that name.
            if may_join && line.concept.is_some() && self.groups[known].concept == line.concept {
                continue;
            }
            if !may_join || joined.is_some_and(|joined| joined != known) {
                return Err(WhyLeftOut::ElsewhereAlready { member: written.clone() });
            }
            joined = Some(known);
        }
        let group = joined.unwrap_or_else(|| {
            self.groups.push(Group { concept: line.concept, members: Vec::new(), origin });
            self.groups.len() - 1
        });
        for (written, words) in line.members {
            if self.members.contains_key(&words) {
                continue;
            }
            self.longest = self.longest.max(words.len());
            self.groups[group].members.push(words.clone());
            self.members.insert(words, Member { group, written, others: Vec::new() });
        }
        Ok(())
    }

    /// Writes beside each member what else means the same.
    fn tell_others(&mut self) {
        for (words, member) in &mut self.members {
            let group = &self.groups[member.group];
            member.others = group.members.iter().filter(|other| *other != words).cloned().collect();
        }
    }
}

/// By how many letters two words differ: added, missing, other, or two neighbours swapped (optimal string alignment).
fn letters_apart(one: &str, other: &str) -> u8 {
    let (one, other): (Vec<char>, Vec<char>) = (one.chars().collect(), other.chars().collect());
    let mut rows = vec![vec![0usize; other.len() + 1]; one.len() + 1];
    for (at, row) in rows.iter_mut().enumerate() {
        row[0] = at;
    }
    rows[0] = (0..=other.len()).collect();
    for i in 1..=one.len() {
        for j in 1..=other.len() {
            let differs = usize::from(one[i - 1] != other[j - 1]);
            let mut least = (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + differs);
            if i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    u8::try_from(rows[one.len()][other.len()]).unwrap_or(u8::MAX)
}

fn parse(text: &str) -> Result<Line, WhyLeftOut> {
    let (concept, text) = match text.split_once(':') {
        Some((name, rest)) => (Some(concept(name)?), rest),
        None => (None, text),
    };
    let mut members: Vec<(String, Vec<String>)> = Vec::new();
    for written in text.split('=') {
        let words = words(written);
        let member = || written.split_whitespace().collect::<Vec<_>>().join(" ");
        if words.len() > MOST_WORDS {
            return Err(WhyLeftOut::TooLong { member: member() });
        }
        if words.is_empty() {
            return Err(WhyLeftOut::EmptyMember);
        }
        if !members.iter().any(|(_, known)| *known == words) {
            members.push((member(), words));
        }
    }
    // Of what is named by its line, one name is enough.
    if members.len() == 1 && concept.is_none() {
        return Err(WhyLeftOut::OneMember);
    }
    Ok(Line { concept, members })
}

/// `fill stone wool`, in any capitals and spacing.
fn concept(name: &str) -> Result<Concept, WhyLeftOut> {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    let unknown = || WhyLeftOut::UnknownName { name: name.clone() };
    let (class, value) = name.split_once(' ').ok_or_else(unknown)?;
    let class = match class.to_lowercase().as_str() {
        "fill" => ConceptClass::Fill,
        "frame" => ConceptClass::Frame,
        "state" => ConceptClass::State,
        "kind" => ConceptClass::Kind,
        _ => return Err(unknown()),
    };
    let value = value.to_lowercase();
    if !is_value(class, &value) {
        return Err(unknown());
    }
    Ok(Concept { class, value })
}

fn is_value(class: ConceptClass, value: &str) -> bool {
    match class {
        ConceptClass::Kind => KindSpec::find(value).is_some(),
        ConceptClass::Fill | ConceptClass::Frame | ConceptClass::State => {
            !NameSet::of(class, value).is_empty()
        }
    }
}

#[cfg(test)]
mod tests;
