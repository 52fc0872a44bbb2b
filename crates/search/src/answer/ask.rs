//! From the parts of a question to what is scanned for and what every record must meet. Leaves out the scan.

use std::sync::LazyLock;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::KindSpec;

use super::Typing;
use crate::SearchError;
use crate::analyse::words;
use crate::near::{completions, near};
use crate::question::{self, Part, Question, Says};
use crate::scan::Wanted;
use crate::view::View;
use crate::vocabulary::{Concept, ConceptClass, Vocabulary};
use crate::wording::Sequence;

/// What a question asks for.
#[derive(Debug, Default)]
pub(super) struct Asked {
    /// Words and phrases: all of them, where a record has all.
    words: Vec<Wanted>,
    /// Words that say nothing of their own; they only help a record that has them.
    little: Vec<Wanted>,
    /// What must not stand there.
    pub(super) unwanted: Vec<Sequence>,
    /// The record whose label was typed alone: it comes first.
    pub(super) exact: Option<RecordId>,
    /// What is marked in titles and snippets.
    pub(super) marked: Vec<Sequence>,
    /// What every record must meet.
    pub(super) demands: Demands,
    /// What is asked about, which decides the order of the kinds.
    pub(super) about: About,
    /// Number of the part that asks for one kind of record.
    pub(super) kind_part: Option<usize>,
    /// How many words stand nowhere.
    missing: usize,
    /// What to know about parts, by number.
    pub(super) part_notes: Vec<(usize, String)>,
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
        let little: &[Wanted] = if self.words.is_empty() { &[] } else { &self.little };
        (self.words.iter().chain(little).cloned().collect(), None)
    }

    /// What is scanned for where half of the words must match, and how many that is; `None` where that asks for no less.
    pub(super) fn of_some(&self) -> Option<(Vec<Wanted>, Option<usize>)> {
        let (count, least) = (self.words.len(), self.words.len().div_ceil(2));
        // Where most of what was said stands nowhere, the rest is about something else.
        let is_about_this = count < 3 || 2 * self.missing < count;
        (is_about_this && least < count).then(|| (self.words.clone(), Some(least)))
    }

    /// Whether there is nothing to look for.
    pub(super) fn is_nothing(&self) -> bool {
        let Demands { quantities, grades, days, sites, unwanted_sites, kind } = &self.demands;
        let demands = quantities.is_empty() && grades.is_empty() && *days == (None, None) && kind.is_none();
        let is_anywhere = sites.is_empty() && unwanted_sites.is_empty();
        self.words.is_empty() && self.unwanted.is_empty() && demands && is_anywhere
    }

    fn takes(&mut self, wanted: Wanted) {
        self.marked.extend(wanted.any_of.iter().map(|(sequence, _)| sequence.clone()));
        self.words.push(wanted);
    }
}

/// How much a word counts that only means the same, or that begins like the one typed (conventions of this project).
const SYNONYM: f32 = 0.9;
const BEGUN: f32 = 0.5;

/// Words that say what a name is the name of, in the form the analyser gives them.
static BESIDE_NAMES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let said = ["fill", "filling", "infill", "insulation", "insulated", "frame", "framing", "stud", "cavity"];
    said.iter().map(|word| words(word).join(" ")).collect()
});

/// Most words that a beginning stands for.
const MOST_BEGUN: usize = 24;

/// Reads the parts of a question.
pub(super) fn read(question: &Question, view: &View, typing: Typing) -> Result<Asked, SearchError> {
    let mut asked = Asked::default();
    let kind = kind_asked(question);
    let is_of_wall = |class| matches!(class, ConceptClass::Fill | ConceptClass::Frame);
    let names_wall = question
        .parts
        .iter()
        .any(|part| matches!(&part.says, Says::Concept { concept, .. } if is_of_wall(concept.class)));
    for (number, part) in question.parts.iter().enumerate() {
        if kind.is_some_and(|(of, _)| of == number) {
            continue;
        }
        if is_walls(part) && asked.about == About::Anything {
            asked.about = About::Walls;
        }
        // "That cellulose fill": what it is a name of need not be written beside the name.
        if let Says::Words { sequence, .. } = &part.says
            && names_wall
            && !part.is_unwanted
            && BESIDE_NAMES.contains(&sequence.join(" "))
        {
            asked.little.push(Wanted { any_of: vec![(sequence.clone(), 1.0)], is_optional: true });
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
        asked.marked =
            asked.words.iter().flat_map(|word| &word.any_of).map(|(word, _)| word.clone()).collect();
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
            if let Says::Concept { concept, .. } = &part.says {
                lean(asked, concept);
            }
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
        Says::Grades { best, worst } => {
            asked.about = About::Walls;
            asked.demands.grades.push((*best, *worst));
        }
        Says::Little(sequence) => {
            asked.little.push(Wanted { any_of: vec![(sequence.clone(), 1.0)], is_optional: true })
        }
    }
    Ok(())
}

/// "Walls over 40 dB" is about walls, while "wall" may stand in any line of the log.
fn is_walls(part: &Part) -> bool {
    let is_word = matches!(part.says, Says::Words { .. }) && !part.is_unwanted;
    is_word && matches!(part.typed.to_lowercase().as_str(), "walls" | "partitions" | "assemblies")
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
    let measured = others.iter().filter_map(|other| match &other[..] {
        [word] => measured_nearly(word),
        _ => None,
    });
    let others = others.iter().cloned().chain(measured.flatten());
    std::iter::once((sequence.to_vec(), 1.0)).chain(others.map(|other| (other, SYNONYM))).collect()
}

/// A length of so many millimetres is also found where it is written a millimetre off, as the trade rounds (common practice, no
/// source), and where it is a spacing of studs: 406 mm is 16 in on centre.
fn measured_nearly(word: &str) -> Option<Vec<Sequence>> {
    const FROM_MM: u64 = 20;
    let mm: u64 = word.strip_prefix("mm:")?.parse().ok()?;
    let off = [mm.saturating_sub(1), mm + 1].map(|mm| vec![format!("mm:{mm}")]);
    let mut nearly = if mm < FROM_MM { Vec::new() } else { off.to_vec() };
    nearly.push(vec![format!("oc:{mm}")]);
    Some(nearly)
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
        asked.missing += 1;
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
    vocabulary: &Vocabulary,
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
        let Some(near) = spelt_alike(view, vocabulary, &word)? else { continue };
        said.push(format!("Nothing written down has \"{word}\"; this is for \"{near}\"."));
        text.push_str(&question.text[at..part.span.end - typed.len()]);
        text.push_str(&near);
        at = part.span.end;
    }
    text.push_str(&question.text[at..]);
    Ok((!said.is_empty()).then_some((text, said)))
}

/// Words shorter than this are left as they are: too many others are near to them (convention of this project).
const LEAST_RESPELT: usize = 5;

/// The word nearest to one that no record has: of the trade's own words before those of the notebook.
fn spelt_alike(view: &View, vocabulary: &Vocabulary, word: &str) -> Result<Option<String>, SearchError> {
    if word.chars().count() < LEAST_RESPELT || vocabulary.has_word(word) {
        return Ok(None);
    }
    let known = vocabulary.nearest(word);
    let there = near(&view.searchers(), view.said_field(), word)?.into_iter().next();
    Ok(match (known, there) {
        (Some((_, distance)), Some(there)) if there.distance < distance => Some(there.word),
        (Some((known, _)), _) => Some(known),
        (None, there) => there.map(|there| there.word),
    })
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

/// The part that asks for one kind of record: "receipts from March", "photos of boxes", "batt receipt". A kind in the middle of
/// other words is a word like any, and so is one that people use for other things: "music room door", "test box".
fn kind_asked(question: &Question) -> Option<(usize, &'static str)> {
    let says = |part: &Part| !matches!(part.says, Says::Little(_));
    let spoken: Vec<usize> =
        question.parts.iter().enumerate().filter(|(_, part)| says(part)).map(|(number, _)| number).collect();
    let ends = [spoken.first(), spoken.last()].into_iter().flatten();
    ends.copied()
        .find_map(|number| Some((number, kind_of(question, number, spoken.first() == Some(&number))?)))
}

fn kind_of(question: &Question, number: usize, is_first: bool) -> Option<&'static str> {
    /// Kinds whose names mean nothing else on site.
    const PLAIN: &[&str] = &["receipt", "photo", "task"];
    let part = &question.parts[number];
    let Says::Concept { concept, .. } = &part.says else { return None };
    if part.is_unwanted || concept.class != ConceptClass::Kind {
        return None;
    }
    let kind = KindSpec::find(&concept.value)?.name;
    if PLAIN.contains(&kind) {
        return Some(kind);
    }
    let typed = question.text[part.span.clone()].to_lowercase();
    let is_many = typed.ends_with('s') && words(&typed) != [typed.as_str()];
    let next = question.parts.get(number + 1).map(|part| &part.says);
    let leads =
        next.is_some_and(|says| !matches!(says, Says::Words { .. } | Says::Phrase(_) | Says::Concept { .. }));
    // "Test Q2", "job J1": a label says which.
    let next = question.parts.get(number + 1).map(|part| part.typed.as_str());
    let names_one =
        next.is_some_and(|typed| typed.chars().any(|letter| letter.is_ascii_digit()) && !typed.contains(' '));
    let is_asked = if is_first { is_many || leads || names_one } else { is_many };
    is_asked.then_some(kind)
}
