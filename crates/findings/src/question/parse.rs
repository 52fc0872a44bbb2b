//! From the words of a question to sides that can be compared.
//!
//! No formula language: a question is read word by word, what is understood is echoed part by part, and what is not is
//! named. Leaves out the words themselves ([`mod@super::lexicon`]) and the answer.

use storypole_notebook::Unit;
use storypole_notebook::matching::Parts;

use super::lexicon::{LONGEST, SINGLE_OR_DOUBLE, Say, lexicon, plain};
use super::part::{Axis, Part};
use crate::across::Measure;
use crate::print;

/// One side of a comparison: the walls it takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Selection {
    /// What it is called.
    pub name: String,
    /// The parts it asks for; of several on one axis any will do.
    pub parts: Vec<Part>,
}

/// A question, understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The sides, two or more, in the order they were named.
    pub options: Vec<Selection>,
    /// What every side has beside that; of several on one axis any will do.
    pub shared: Vec<Part>,
    /// Changes or level differences; `None` where nothing was said.
    pub measure: Option<Measure>,
    /// Weighting.
    pub unit: Unit,
    /// What was understood, part by part.
    pub understood: Vec<String>,
    /// Words that could not be read.
    pub unread: Vec<String>,
}

/// Why a question cannot be asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuestionError {
    /// There was nothing to read.
    #[error("the question is empty: ask like \"{EXAMPLE}\"")]
    Empty,
    /// No part of a wall was named.
    #[error("no two kinds of walls could be read{}: ask like \"{EXAMPLE}\"", unread_words(unread))]
    NoSides {
        /// Words that could not be read.
        unread: Vec<String>,
    },
    /// One kind of wall was named, or the same twice.
    #[error(
        "only one side could be read, {side}{}: name what to compare it with, like \"{EXAMPLE}\"",
        unread_words(unread)
    )]
    OneSide {
        /// The side that was read.
        side: String,
        /// Words that could not be read.
        unread: Vec<String>,
    },
}

/// A question as it may be asked.
pub const EXAMPLE: &str = "cellulose against glass fibre in 2x4 walls, boarded";

/// Words that could not be read, shown at most.
const UNREAD_SHOWN: usize = 6;

/// Letters of one such word, shown at most.
const UNREAD_LETTERS: usize = 40;

fn unread_words(unread: &[String]) -> String {
    if unread.is_empty() { String::new() } else { format!(" (not understood: {})", unread_list(unread)) }
}

/// The words that could not be read, as many as one can take in.
pub(super) fn unread_list(unread: &[String]) -> String {
    let quoted: Vec<String> = unread.iter().take(UNREAD_SHOWN).map(|words| format!("\"{words}\"")).collect();
    match unread.len().saturating_sub(UNREAD_SHOWN) {
        0 => print::list(&quoted),
        more => format!("{} and {more} more", quoted.join(", ")),
    }
}

impl Selection {
    fn of(parts: Vec<Part>) -> Self {
        let words: Vec<String> = by_axis(&parts).map(|alike| either(&alike)).collect();
        Self { name: words.join(" with "), parts }
    }

    /// Whether a wall belongs to this side.
    pub fn takes(&self, wall: &Parts) -> bool {
        takes(&self.parts, wall)
    }

    /// The axes it speaks of.
    pub fn axes(&self) -> impl Iterator<Item = Axis> {
        by_axis(&self.parts).map(|alike| alike[0].axis())
    }
}

/// Parts grouped by axis, in the order the axes were named.
fn by_axis(parts: &[Part]) -> impl Iterator<Item = Vec<&Part>> {
    let mut axes: Vec<Axis> = Vec::new();
    for part in parts {
        if !axes.contains(&part.axis()) {
            axes.push(part.axis());
        }
    }
    axes.into_iter().map(|axis| parts.iter().filter(|part| part.axis() == axis).collect())
}

fn either(alike: &[&Part]) -> String {
    let words: Vec<String> = alike.iter().map(|part| part.words()).collect();
    words.join(" or ")
}

/// Whether a wall has these parts; of several on one axis any will do.
pub(super) fn takes(parts: &[Part], wall: &Parts) -> bool {
    by_axis(parts).all(|alike| alike.iter().any(|part| part.takes(wall)))
}

/// A part and the stretch between strong dividing words it stands in.
#[derive(Debug, Clone)]
struct Placed {
    part: Part,
    segment: usize,
}

#[derive(Debug, Default)]
struct Read {
    placed: Vec<Placed>,
    segments: usize,
    measure: Option<Measure>,
    unit: Option<Unit>,
    unread: Vec<String>,
}

impl Question {
    /// Reads a question in plain words: "cellulose against glass fibre in 2x4 walls, boarded".
    ///
    /// Sides are told apart by "against", "versus", "compared with", "or", "and" or a comma between two things of one kind.
    /// Words that cannot be read are returned, not refused.
    ///
    /// # Errors
    /// [`QuestionError`] where no two sides are found.
    pub fn parse(text: &str) -> Result<Self, QuestionError> {
        if text.trim().is_empty() {
            return Err(QuestionError::Empty);
        }
        let read = read(text);
        let (options, shared) = sides(&read.placed, read.segments);
        let unread = read.unread;
        match options.as_slice() {
            [] if read.placed.is_empty() => return Err(QuestionError::NoSides { unread }),
            [] => {
                let mut parts: Vec<Part> = Vec::new();
                for Placed { part, .. } in read.placed {
                    if !parts.contains(&part) {
                        parts.push(part);
                    }
                }
                return Err(QuestionError::OneSide { side: Selection::of(parts).name, unread });
            }
            _ => (),
        }
        let mut question = Self {
            options: options.into_iter().map(Selection::of).collect(),
            shared,
            measure: read.measure,
            unit: read.unit.unwrap_or(Unit::DbA),
            understood: Vec::new(),
            unread,
        };
        question.understood = understood(&question, read.unit.is_some());
        Ok(question)
    }

    /// Whether a wall has what every side has.
    pub fn shares(&self, wall: &Parts) -> bool {
        takes(&self.shared, wall)
    }

    /// The axes on which the sides differ.
    pub fn compared(&self) -> Vec<Axis> {
        let mut axes: Vec<Axis> = self.options.iter().flat_map(Selection::axes).collect();
        axes.sort_unstable();
        axes.dedup();
        axes
    }
}

fn understood(question: &Question, unit_said: bool) -> Vec<String> {
    let sides =
        question.options.iter().enumerate().map(|(index, side)| format!("side {}: {}", index + 1, side.name));
    let mut echo: Vec<String> = sides.collect();
    for alike in by_axis(&question.shared) {
        let mut line = format!("{}: {}", alike[0].axis().word(), either(&alike));
        if matches!(alike[0], Part::State(states) if states.len() > 1) {
            line.push_str(", each state for itself");
        }
        echo.push(line);
    }
    echo.push(match question.measure {
        Some(Measure::Change) => "measure: changes by a rebuild".to_owned(),
        Some(Measure::Level) => "measure: level differences of walls as they stand".to_owned(),
        None => "measure: not said, so changes by a rebuild where every side has one, else level differences"
            .to_owned(),
    });
    let default = if unit_said { "" } else { ", as nothing else was said" };
    echo.push(format!("weighting: {}{default}", question.unit));
    echo
}

/// A word as it was typed and as the lexicon knows it; a comma is a word of its own.
struct Word {
    plain: String,
    typed: String,
}

const COMMA: &str = ",";

fn words(text: &str) -> Vec<Word> {
    let mut clean = String::with_capacity(text.len());
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    let blank =
        |at: Option<usize>| at.and_then(|at| letters.get(at)).is_none_or(|letter| letter.is_whitespace());
    for (at, letter) in letters.iter().enumerate() {
        let (before, after) = (at.checked_sub(1), Some(at + 1));
        match letter {
            // Apostrophes and the marks of feet: "2x4's".
            '\'' | '\u{2019}' | '\u{2018}' | '\u{2032}' => (),
            '\u{d7}' => clean.push('x'),
            ',' | ';' | '/' => clean.push_str(" , "),
            '-' | '\u{2010}'..='\u{2015}' | '\u{2212}' if blank(before) && blank(after) => {
                clean.push_str(" , ")
            }
            '&' => clean.push_str(" and "),
            '.' if digit(before) && digit(after) => clean.push('.'),
            letter if letter.is_alphanumeric() => clean.extend(letter.to_lowercase()),
            // Everything else parts words: marks that turn the line round, pictures, quotes.
            _ => clean.push(' '),
        }
    }
    let word = |typed: &str| Word { plain: plain(typed), typed: typed.to_owned() };
    clean.split_whitespace().map(word).collect()
}

fn read(text: &str) -> Read {
    let words = words(text);
    let lexicon = lexicon();
    let mut sequence: Vec<Heard> = Vec::new();
    let mut at = 0;
    while at < words.len() {
        if words[at].plain == COMMA {
            sequence.push(Heard::Say(Say::Or));
            at += 1;
            continue;
        }
        let longest = LONGEST.min(words.len() - at);
        let found = (1..=longest).rev().find_map(|count| {
            let phrase: Vec<&str> = words[at..at + count].iter().map(|word| word.plain.as_str()).collect();
            lexicon.get(&phrase.join(" ")).map(|say| (*say, count))
        });
        match found {
            Some((say, count)) => {
                sequence.push(Heard::Say(say));
                at += count;
            }
            None => {
                sequence.push(Heard::Unread(words[at].typed.clone()));
                at += 1;
            }
        }
    }
    put_together(&with_counts(sequence))
}

#[derive(Debug, Clone)]
enum Heard {
    Say(Say),
    Unread(String),
}

/// Decides whether `single` and `double` are of boards or of studs: as the next thing of either kind is, else the one before.
fn with_counts(sequence: Vec<Heard>) -> Vec<Heard> {
    let is_either = |heard: &Heard| match heard {
        Heard::Say(Say::Boards(_)) => Some(true),
        Heard::Say(Say::Tied(_)) => Some(false),
        _ => None,
    };
    let ahead: Vec<Option<bool>> = {
        let mut next = None;
        let mut ahead: Vec<Option<bool>> = sequence
            .iter()
            .rev()
            .map(|heard| {
                next = is_either(heard).or(next);
                next
            })
            .collect();
        ahead.reverse();
        ahead
    };
    let mut last = None;
    let mut decided = Vec::with_capacity(sequence.len());
    let before_or: Vec<bool> =
        (1..=sequence.len()).map(|next| matches!(sequence.get(next), Some(Heard::Say(Say::Or)))).collect();
    for ((heard, ahead), before_or) in sequence.into_iter().zip(ahead).zip(before_or) {
        last = is_either(&heard).or(last);
        decided.push(match heard {
            Heard::Say(Say::Count(count)) => match ahead.or(last) {
                Some(true) => Heard::Say(Say::Boards(count)),
                Some(false) => Heard::Say(Say::Tied(SINGLE_OR_DOUBLE[usize::from(count == 2)])),
                None => Heard::Unread(if count == 1 { "single" } else { "double" }.to_owned()),
            },
            Heard::Say(Say::Number(count)) if ahead == Some(true) && before_or => {
                Heard::Say(Say::Boards(count))
            }
            Heard::Say(Say::Number(_)) => Heard::Say(Say::Nothing),
            heard => heard,
        });
    }
    decided
}

fn put_together(sequence: &[Heard]) -> Read {
    let mut read = Read { segments: 1, ..Read::default() };
    let mut not_finished = false;
    // Whether a dividing word stood since the last part.
    let mut divided = true;
    let mut unread_run = false;
    for heard in sequence {
        let Heard::Say(say) = heard else {
            if let Heard::Unread(word) = heard {
                note_unread(&mut read.unread, word, unread_run);
            }
            unread_run = true;
            continue;
        };
        unread_run = false;
        match say {
            Say::Against => {
                read.segments += 1;
                divided = true;
            }
            Say::Or => divided = true,
            Say::Measure(measure) => read.measure = Some(*measure),
            Say::Unit(unit) => read.unit = Some(*unit),
            Say::NotFinished => not_finished = true,
            Say::BothSides if both_sides(&mut read.placed) => (),
            Say::BothSides => read.unread.push("both sides".to_owned()),
            say => {
                if let Some(part) = say.part() {
                    place(&mut read, part, divided);
                    divided = false;
                }
            }
        }
    }
    read.unread.iter_mut().for_each(shorten);
    let mut known = std::collections::HashSet::new();
    read.unread.retain(|words| known.insert(words.clone()));
    if not_finished {
        leave_out_finished(&mut read);
    }
    read
}

/// Words that stand together are named together.
fn note_unread(unread: &mut Vec<String>, word: &str, continues: bool) {
    match unread.last_mut().filter(|last| continues && last.len() < UNREAD_LETTERS) {
        Some(last) => {
            last.push(' ');
            last.push_str(word);
        }
        None => unread.push(word.to_owned()),
    }
}

fn shorten(words: &mut String) {
    if words.chars().count() > UNREAD_LETTERS {
        *words = words.chars().take(UNREAD_LETTERS).chain("...".chars()).collect();
    }
}

/// Adds a part; said again at once and more closely, as in "filled with cellulose", it takes the place of the wider one.
fn place(read: &mut Read, part: Part, divided: bool) {
    let segment = read.segments - 1;
    if !divided
        && let Some(last) = read.placed.last_mut()
        && last.segment == segment
    {
        if last.part.is_wider_than(&part) {
            last.part = part;
            return;
        }
        if part.is_wider_than(&last.part) {
            return;
        }
    }
    read.placed.push(Placed { part, segment });
}

/// Makes what was named last be so on both sides; whether anything was.
fn both_sides(placed: &mut [Placed]) -> bool {
    match placed.last_mut().map(|placed| &mut placed.part) {
        Some(Part::Boards { both, .. }) => *both = true,
        Some(Part::State(states)) if states.contains(&"boarded-both") => *states = vec!["boarded-both"],
        _ => return false,
    }
    true
}

fn leave_out_finished(read: &mut Read) {
    let mut said = false;
    for placed in &mut read.placed {
        if let Part::State(states) = &mut placed.part
            && states.len() > 1
        {
            states.retain(|state| *state != "finished");
            said = true;
        }
    }
    if !said {
        let part = Part::State(vec!["bare-studs", "boarded-a", "boarded-both"]);
        read.placed.push(Placed { part, segment: read.segments - 1 });
    }
}

type Sides = (Vec<Vec<Part>>, Vec<Part>);

/// Decides which parts are the sides and which all sides share.
///
/// An axis that is named in two ways is compared. Where several are, the first of them that every stretch between dividing words
/// names leads, and others go with it where every stretch names them: "cellulose in 2x4 against glass fibre in 2x6".
fn sides(placed: &[Placed], segments: usize) -> Sides {
    let mut axes: Vec<Axis> = Vec::new();
    for one in placed {
        if !axes.contains(&one.part.axis()) {
            axes.push(one.part.axis());
        }
    }
    let of = |axis: Axis, segment: Option<usize>| distinct(placed, axis, segment);
    let named: Vec<usize> =
        (0..segments).filter(|segment| placed.iter().any(|one| one.segment == *segment)).collect();
    let differs = |axis: Axis| of(axis, None).len() > 1;
    let everywhere =
        |axis: Axis| named.len() > 1 && named.iter().all(|segment| !of(axis, Some(*segment)).is_empty());
    let varies =
        |axis: Axis| named.iter().any(|segment| of(axis, Some(*segment)) != of(axis, Some(named[0])));
    let compared: Vec<Axis> = axes.iter().copied().filter(|axis| differs(*axis)).collect();
    if compared.is_empty() {
        return unlike_sides(placed, &named);
    }
    let together: Vec<Axis> =
        compared.iter().copied().filter(|axis| everywhere(*axis) && varies(*axis)).collect();
    let options: Vec<Vec<Part>> = match together.as_slice() {
        [first, others @ ..] if !others.is_empty() => named
            .iter()
            .flat_map(|segment| {
                let beside: Vec<Part> = others.iter().flat_map(|axis| of(*axis, Some(*segment))).collect();
                of(*first, Some(*segment))
                    .into_iter()
                    .map(move |part| std::iter::once(part).chain(beside.iter().cloned()).collect())
                    .collect::<Vec<Vec<Part>>>()
            })
            .collect(),
        [leading] => of(*leading, None).into_iter().map(|part| vec![part]).collect(),
        _ => of(compared[0], None).into_iter().map(|part| vec![part]).collect(),
    };
    let used: Vec<Axis> = options.iter().flatten().map(Part::axis).collect();
    let shared = axes.iter().filter(|axis| !used.contains(axis)).flat_map(|axis| of(*axis, None)).collect();
    (apart(options), shared)
}

/// Sides of different kinds, "cellulose against a second board": the first part of each stretch.
fn unlike_sides(placed: &[Placed], named: &[usize]) -> Sides {
    let first = |segment: &usize| placed.iter().position(|one| one.segment == *segment);
    let firsts: Vec<usize> = named.iter().filter_map(first).collect();
    let parts: Vec<Part> = firsts.iter().map(|at| placed[*at].part.clone()).collect();
    let alike = parts.iter().any(|part| parts.iter().filter(|other| other.axis() == part.axis()).count() > 1);
    if firsts.len() < 2 || alike {
        return (Vec::new(), Vec::new());
    }
    let rest = placed.iter().enumerate().filter(|(at, _)| !firsts.contains(at)).map(|(_, one)| &one.part);
    let shared = rest.filter(|part| !parts.contains(part)).cloned().collect();
    (parts.into_iter().map(|part| vec![part]).collect(), shared)
}

fn distinct(placed: &[Placed], axis: Axis, segment: Option<usize>) -> Vec<Part> {
    let mut found: Vec<Part> = Vec::new();
    for one in placed.iter().filter(|one| segment.is_none_or(|segment| one.segment == segment)) {
        if one.part.axis() == axis && !found.contains(&one.part) {
            found.push(one.part.clone());
        }
    }
    found
}

/// Takes out of a wide side what a narrower one names: "filled against cellulose" is other fills against cellulose.
fn apart(mut options: Vec<Vec<Part>>) -> Vec<Vec<Part>> {
    let given = options.clone();
    for (index, parts) in options.iter_mut().enumerate() {
        let [part] = parts.as_mut_slice() else { continue };
        for (other, narrow) in given.iter().enumerate() {
            if let [narrow] = narrow.as_slice()
                && other != index
                && part.is_wider_than(narrow)
            {
                *part = part.without(narrow);
            }
        }
    }
    options
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn names(question: &Question) -> Vec<&str> {
        question.options.iter().map(|side| side.name.as_str()).collect()
    }

    fn shared(question: &Question) -> Vec<String> {
        by_axis(&question.shared).map(|alike| either(&alike)).collect()
    }

    #[test]
    fn questions_are_understood() {
        type Row = (&'static str, &'static [&'static str], &'static [&'static str], &'static [&'static str]);
        const COVERED: &str = "boarded on both sides or finished";
        // Text; sides; what they share; what could not be read.
        #[rustfmt::skip]
        let rows: &[Row] = &[
            ("cellulose against glass fibre in 2x4 walls, boarded", &["cellulose", "glass fibre"], &["2x4 studs", COVERED], &[]),
            ("Is cellulose better than fiberglass in 2x4 walls?", &["cellulose", "glass fibre"], &["2x4 studs"], &[]),
            ("CELLULOSE VS. FIBREGLASS", &["cellulose", "glass fibre"], &[], &[]),
            ("cellulose, glass fibre or stone wool in 2x4 walls", &["cellulose", "glass fibre", "stone wool"], &["2x4 studs"], &[]),
            ("difference between glass wool and mineral wool", &["glass fibre", "stone wool"], &[], &[]),
            ("rock wool \u{2013} glass\u{2010}fiber", &["stone wool", "glass fibre"], &[], &[]),
            ("wool against cellulose", &["glass fibre or stone wool", "cellulose"], &[], &[]),
            ("filled vs empty in 2\u{d7}6\u{2019}s", &["filled", "empty"], &["2x6 studs"], &[]),
            ("filled with cellulose against nothing", &["cellulose", "empty"], &[], &[]),
            ("filled against cellulose", &["other fills than cellulose", "cellulose"], &[], &[]),
            ("no insulation compared with insulated", &["empty", "filled"], &[], &[]),
            ("2x4 or 2 by 6, with cellulose", &["2x4 studs", "2x6 studs"], &["cellulose"], &[]),
            ("two by four against 38x140", &["2x4 studs", "2x6 studs"], &[], &[]),
            ("single, staggered or double studs", &["wood studs, thin steel studs or structural steel studs", "staggered studs", "double studs"], &[], &[]),
            ("resilient channels versus wood studs, finished", &["resilient channel", "wood studs"], &["finished"], &[]),
            ("clips against resilient channel with two layers", &["clips", "resilient channel"], &["two boards on a side"], &[]),
            ("steel studs and wood studs filled with glass fibre", &["thin steel studs or structural steel studs", "wood studs"], &["glass fibre"], &[]),
            ("single or double board", &["one board a side", "two boards on a side"], &[], &[]),
            ("one or two layers on each side, staggered studs", &["one board a side", "two boards on both sides"], &["staggered studs"], &[]),
            ("one layer against double drywall with cellulose", &["one board a side", "two boards on a side"], &["cellulose"], &[]),
            ("bare studs against boarded both", &["bare studs", "boarded on both sides"], &[], &[]),
            ("cellulose against wool, boarded, not finished", &["cellulose", "glass fibre or stone wool"], &["boarded on both sides"], &[]),
            ("cellulose or cotton, boarded both sides", &["cellulose", "cotton"], &["boarded on both sides"], &[]),
            ("with a door against without door", &["a door", "no door"], &[], &[]),
            ("cellulose with a door against cellulose without a door", &["a door", "no door"], &["cellulose"], &[]),
            ("cellulose in 2x4 against glass fibre in 2x6", &["cellulose with 2x4 studs", "glass fibre with 2x6 studs"], &[], &[]),
            ("cellulose against glass fibre in 2x4 or 2x6 walls", &["cellulose", "glass fibre"], &["2x4 studs or 2x6 studs"], &[]),
            ("cellulose in 2x4 or 2x6 against glass fibre in 2x4 or 2x6", &["cellulose", "glass fibre"], &["2x4 studs or 2x6 studs"], &[]),
            ("cellulose against a second board in 2x4 walls", &["cellulose", "two boards on a side"], &["2x4 studs"], &[]),
            ("cellulose against hemp or glass fibre", &["cellulose", "glass fibre"], &[], &["hemp"]),
            ("the purple stuff: cellulose or sand", &["cellulose", "sand"], &[], &["purple stuff"]),
            ("closed-cell foam rather than open-cell foam", &["closed-cell foam", "open-cell foam"], &[], &[]),
            ("foam versus closed cell foam", &["polystyrene foam, polyiso foam or open-cell foam", "closed-cell foam"], &[], &[]),
            ("cellulose\u{202e} against \u{1f600}\u{1f3e0} glass fibre \u{0627}\u{0644}\u{062c}\u{062f}\u{0627}\u{0631}", &["cellulose", "glass fibre"], &[], &["\u{0627}\u{0644}\u{062c}\u{062f}\u{0627}\u{0631}"]),
        ];
        for (text, sides, same, unread) in rows {
            let question = Question::parse(text).unwrap_or_else(|why| panic!("{text}: {why}"));
            assert_eq!(names(&question), *sides, "{text}");
            assert_eq!(shared(&question), *same, "{text}");
            assert_eq!(question.unread, *unread, "{text}");
        }
    }

    #[test]
    fn measure_and_weighting_are_understood() {
        for (text, measure, unit) in [
            ("cellulose or cotton", None, Unit::DbA),
            ("improvement by cellulose or cotton, dB(C)", Some(Measure::Change), Unit::DbC),
            ("what cellulose or cotton let through, C-weighted", Some(Measure::Level), Unit::DbC),
            ("level difference of cellulose or cotton", Some(Measure::Level), Unit::DbA),
            ("reduction in dBZ: cellulose or cotton", Some(Measure::Change), Unit::DbZ),
        ] {
            let question = Question::parse(text).unwrap();
            assert_eq!((question.measure, question.unit), (measure, unit), "{text}: {question:?}");
        }
    }

    #[test]
    fn what_was_understood_is_echoed() {
        let question = Question::parse("cellulose against glass fibre in 2x4 walls, boarded").unwrap();
        let expected = [
            "side 1: cellulose",
            "side 2: glass fibre",
            "studs: 2x4 studs",
            "state: boarded on both sides or finished, each state for itself",
            "measure: not said, so changes by a rebuild where every side has one, else level differences",
            "weighting: dBA, as nothing else was said",
        ];
        assert_eq!(question.understood, expected);
    }

    #[test]
    fn what_is_no_question_says_how_to_ask() {
        let one = |side: &str, unread: &[&str]| QuestionError::OneSide {
            side: side.to_owned(),
            unread: unread.iter().map(|word| (*word).to_owned()).collect(),
        };
        let none = |unread: &[&str]| QuestionError::NoSides {
            unread: unread.iter().map(|word| (*word).to_owned()).collect(),
        };
        for (text, expected) in [
            ("", QuestionError::Empty),
            (" \n\t", QuestionError::Empty),
            ("against", none(&[])),
            ("against against, or and vs", none(&[])),
            ("\u{1f600}\u{1f600}", none(&[])),
            ("good morning", none(&["morning"])),
            ("cellulose", one("cellulose", &[])),
            ("cellulose against", one("cellulose", &[])),
            ("cellulose against cellulose", one("cellulose", &[])),
            ("cellulose against hemp", one("cellulose", &["hemp"])),
            ("cellulose in 2x4 walls", one("cellulose with 2x4 studs", &[])),
        ] {
            let got = Question::parse(text).unwrap_err();
            assert_eq!(got, expected, "{text}");
            assert!(got.to_string().contains(EXAMPLE), "{got}");
        }
        assert!(Question::parse(EXAMPLE).is_ok(), "the example is a question");
    }

    #[test]
    fn long_texts_are_read_in_one_pass_and_said_in_short() {
        let long = format!("cellulose against glass fibre {}", "blorb wall ".repeat(1000));
        let question = Question::parse(&long).unwrap();
        assert_eq!((question.options.len(), question.unread.as_slice()), (2, &["blorb".to_owned()][..]));
        let word = format!("cellulose or cotton {}", "z".repeat(10_000));
        assert!(Question::parse(&word).unwrap().unread[0].len() < 50);
        let many: Vec<String> = (0..2000).map(|at| format!("q{at} wall")).collect();
        let why = Question::parse(&many.join(" ")).unwrap_err().to_string();
        assert!(why.len() < 300 && why.contains("and 1994 more"), "{why}");
    }

    proptest! {
        #[test]
        fn any_text_is_read_without_panic(text in ".{0,200}") {
            if let Ok(question) = Question::parse(&text) {
                prop_assert!(question.options.len() > 1);
            }
        }

        #[test]
        fn any_words_of_the_lexicon_are_read_without_panic(
            words in prop::collection::vec(
                prop::sample::select(vec![
                    "cellulose", "wool", "glass", "filled", "empty", "2x4", "2x6", "single", "double", "one", "two", "layers",
                    "staggered", "or", "and", "against", ",", "boarded", "both sides", "not finished", "door", "no door", "blorb",
                ]),
                0..14,
            )
        ) {
            if let Ok(question) = Question::parse(&words.join(" ")) {
                prop_assert!(question.options.len() > 1);
                let different = question.options.iter().enumerate().all(|(at, side)| {
                    question.options[at + 1..].iter().all(|other| other.parts != side.parts)
                });
                prop_assert!(different, "{:?}", question.options);
                let compared = question.compared();
                prop_assert!(question.shared.iter().all(|part| !compared.contains(&part.axis())));
            }
        }
    }
}
