//! From the parts of a question to what is scanned for and what every record must meet. Leaves out the scan.

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::KindSpec;

use super::Typing;
use crate::SearchError;
use crate::analyse::words;
use crate::near::{completions, near};
use crate::question::{self, Part, Question, Says};
use crate::scan::Wanted;
use crate::wording::Sequence;
use crate::view::View;
use crate::vocabulary::{Concept, ConceptClass};

/// What a question asks for.
#[derive(Debug, Default)]
pub(super) struct Asked {
    /// Words and phrases: all of them, where a record has all.
    words: Vec<Wanted>,
    /// Words that say nothing of their own; they only help a record that has them.
    little: Vec<Wanted>,
    /// What must not stand there.
    pub(super) unwanted: Vec<Sequence>,
    /// What is marked in titles and snippets.
    pub(super) marked: Vec<Sequence>,
    /// What every record must meet.
    pub(super) demands: Demands,
    /// What is asked about, which decides the order of the kinds.
    pub(super) about: About,
    /// Number of the part that asks for one kind of record.
    pub(super) kind_part: Option<usize>,
    /// What to know about parts, by number.
    pub(super) part_notes: Vec<(usize, String)>,
    /// What to know about the answer.
    pub(super) notes: Vec<String>,
}

/// What every record of an answer meets, whatever its words.
#[derive(Debug, Default, Clone)]
pub(super) struct Demands {
    pub(super) quantities: Vec<question::Asked>,
    /// Best and worst grade that counts.
    pub(super) grades: Vec<(char, char)>,
    /// First and last day that counts.
    pub(super) days: (Option<Date>, Option<Date>),
    /// One of these sites; none is any.
    pub(super) sites: Vec<RecordId>,
    pub(super) unwanted_sites: Vec<RecordId>,
    /// The one kind that is asked for.
    pub(super) kind: Option<&'static str>,
}

/// What a question is about.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub(super) enum About {
    /// Whatever has the words.
    #[default]
    Anything,
    /// How walls are built and what they gave.
    Walls,
    /// What was paid.
    Money,
}

impl Asked {
    /// What is scanned for where every word must match.
    pub(super) fn of_all(&self) -> (Vec<Wanted>, Option<usize>) {
        (self.words.iter().chain(&self.little).cloned().collect(), None)
    }

    /// What is scanned for where half of the words must match, and how many that is; `None` where that asks for no less.
    pub(super) fn of_some(&self) -> Option<(Vec<Wanted>, Option<usize>)> {
        let least = self.words.len().div_ceil(2);
        (least < self.words.len()).then(|| (self.words.clone(), Some(least)))
    }

    /// Whether there is nothing to look for.
    pub(super) fn is_nothing(&self) -> bool {
        let Demands { quantities, grades, days, sites, unwanted_sites: _, kind } = &self.demands;
        let demands = quantities.is_empty() && grades.is_empty() && *days == (None, None) && sites.is_empty();
        self.words.is_empty() && demands && kind.is_none()
    }

    fn takes(&mut self, wanted: Wanted) {
        self.marked.extend(wanted.any_of.iter().map(|(sequence, _)| sequence.clone()));
        self.words.push(wanted);
    }
}

/// How much a word counts that only means the same, or that begins like the one typed (conventions of this project).
const SYNONYM: f32 = 0.9;
const BEGUN: f32 = 0.5;

/// Most words that a beginning stands for.
const MOST_BEGUN: usize = 24;

/// Reads the parts of a question.
pub(super) fn read(question: &Question, view: &View, typing: Typing) -> Result<Asked, SearchError> {
    let mut asked = Asked::default();
    let kind = kind_asked(question);
    for (number, part) in question.parts.iter().enumerate() {
        if kind.is_some_and(|(of, _)| of == number) {
            continue;
        }
        take(&mut asked, view, typing, (number, &question.text[part.span.clone()], part))?;
    }
    asked.kind_part = kind.map(|(part, _)| part);
    asked.demands.kind = kind.map(|(_, kind)| kind);
    if asked.words.is_empty() && asked.is_nothing() {
        // Nothing but little words: then they are what is looked for.
        asked.words = std::mem::take(&mut asked.little);
        asked.words.iter_mut().for_each(|word| word.is_optional = false);
        asked.marked = asked.words.iter().flat_map(|word| &word.any_of).map(|(word, _)| word.clone()).collect();
    }
    asked.marked.sort();
    asked.marked.dedup();
    Ok(asked)
}

fn take(
    asked: &mut Asked,
    view: &View,
    typing: Typing,
    (number, typed, part): (usize, &str, &Part),
) -> Result<(), SearchError> {
    match &part.says {
        Says::Words { sequence, others, .. } | Says::Concept { sequence, others, .. } if part.is_unwanted => {
            asked.unwanted.push(sequence.clone());
            asked.unwanted.extend(others.iter().cloned());
        }
        Says::Phrase(sequence) if part.is_unwanted => asked.unwanted.push(sequence.clone()),
        Says::Phrase(sequence) => asked.takes(must(vec![(sequence.clone(), 1.0)])),
        Says::Words { sequence, others, is_open } => {
            let is_open = *is_open && typing == Typing::Open;
            let wanted = worded(asked, view, (number, sequence, others, typed, is_open))?;
            asked.takes(wanted);
        }
        Says::Concept { concept, sequence, others } => {
            lean(asked, concept);
            let wanted = alternatives(sequence, others);
            asked.takes(must(wanted));
        }
        Says::Site(site) if part.is_unwanted => asked.demands.unwanted_sites.push(*site),
        Says::Site(site) => asked.demands.sites.push(*site),
        Says::Quantity(quantity) => {
            let is_money = matches!(quantity, question::Asked::Cost(_));
            if asked.about == About::Anything {
                asked.about = if is_money { About::Money } else { About::Walls };
            }
            asked.demands.quantities.push(*quantity);
        }
        Says::Days { from, to } => {
            let (first, last) = &mut asked.demands.days;
            *first = (*first).max(*from);
            *last = [*last, *to].into_iter().flatten().min();
        }
        Says::Grades { best, worst } => asked.demands.grades.push((*best, *worst)),
        Says::Little(sequence) => asked.little.push(Wanted { any_of: vec![(sequence.clone(), 1.0)], is_optional: true }),
    }
    Ok(())
}

fn lean(asked: &mut Asked, concept: &Concept) {
    if matches!(concept.class, ConceptClass::Fill | ConceptClass::Frame | ConceptClass::State) {
        asked.about = About::Walls;
    }
}

fn must(any_of: Vec<(Sequence, f32)>) -> Wanted {
    Wanted { any_of, is_optional: false }
}

fn alternatives(sequence: &[String], others: &[Sequence]) -> Vec<(Sequence, f32)> {
    let others = others.iter().map(|other| (other.clone(), SYNONYM));
    std::iter::once((sequence.to_vec(), 1.0)).chain(others).collect()
}

/// A word with what means the same, and where nothing has it with what is spelt like it.
fn worded(
    asked: &mut Asked,
    view: &View,
    (number, sequence, others, typed, is_open): (usize, &[String], &[Sequence], &str, bool),
) -> Result<Wanted, SearchError> {
    let mut any_of = alternatives(sequence, others);
    let [_] = sequence else { return Ok(must(any_of)) };
    let typed = typed.to_lowercase();
    if is_open {
        let begun = completions(&view.searchers(), view.said_field(), &typed, MOST_BEGUN)?;
        add(&mut any_of, begun.iter().map(|near| near.word.as_str()), BEGUN);
    }
    if !is_there(view, any_of.iter().map(|(sequence, _)| sequence))? {
        asked.part_notes.push((number, "nothing written down has this word".to_owned()));
    }
    Ok(must(any_of))
}

fn is_there<'s>(view: &View, mut any_of: impl Iterator<Item = &'s Sequence>) -> Result<bool, SearchError> {
    any_of.try_fold(false, |is_there, sequence| Ok(is_there || view.has(sequence)?))
}

/// The question with words that no record has as they are spelt nearest to them, and a sentence for each; `None` where there are
/// none, or nothing is spelt like them.
pub(super) fn respelt(
    question: &Question,
    view: &View,
    typing: Typing,
) -> Result<Option<(String, Vec<String>)>, SearchError> {
    let (mut text, mut said) = (String::new(), Vec::new());
    let mut at = 0;
    for part in &question.parts {
        let Says::Words { sequence, others, is_open } = &part.says else { continue };
        let is_growing = *is_open && typing == Typing::Open;
        if is_growing || sequence.len() != 1 || is_there(view, std::iter::once(sequence).chain(others))? {
            continue;
        }
        // A minus stays where it is.
        let typed = question.text[part.span.clone()].trim_start_matches('-');
        let word = typed.to_lowercase();
        let Some(near) = near(&view.searchers(), view.said_field(), &word)?.into_iter().next() else { continue };
        said.push(format!("Nothing written down has \"{word}\"; this is for \"{}\".", near.word));
        text.push_str(&question.text[at..part.span.end - typed.len()]);
        text.push_str(&near.word);
        at = part.span.end;
    }
    text.push_str(&question.text[at..]);
    Ok((!said.is_empty()).then_some((text, said)))
}

/// Adds words by their spelling, as the analyser reads them.
fn add<'w>(any_of: &mut Vec<(Sequence, f32)>, spelt: impl Iterator<Item = &'w str>, weight: f32) {
    for word in spelt {
        let sequence = words(word);
        if !sequence.is_empty() && !any_of.iter().any(|(known, _)| *known == sequence) {
            any_of.push((sequence, weight));
        }
    }
}

/// The part that asks for one kind of record: "receipts from March", "photos of boxes". A kind in the middle of other
/// words is a word like any: "music room door".
fn kind_asked(question: &Question) -> Option<(usize, &'static str)> {
    let is_little = |part: &Part| matches!(part.says, Says::Little(_));
    let (number, part) = question.parts.iter().enumerate().find(|(_, part)| !is_little(part))?;
    let Says::Concept { concept, .. } = &part.says else { return None };
    if part.is_unwanted || concept.class != ConceptClass::Kind {
        return None;
    }
    let kind = KindSpec::find(&concept.value)?.name;
    let typed = question.text[part.span.clone()].to_lowercase();
    let is_many = typed.ends_with('s') && words(&typed) != [typed.as_str()];
    let next = question.parts.get(number + 1).map(|part| &part.says);
    let leads = next.is_some_and(|says| !matches!(says, Says::Words { .. } | Says::Phrase(_) | Says::Concept { .. }));
    (is_many || leads).then_some((number, kind))
}
