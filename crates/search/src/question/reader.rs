//! Reads a question from left to right, at each word the first of these that fits: a quoted phrase, a minus, a grade,
//! days, a quantity, a site, "without", and words. Leaves out what each of them looks like.
//!
//! No part reaches over a semicolon, so a part that is taken out can be marked by one and the others stay as they were.

use jiff::civil::Date;
use storypole_units::Currency;

use super::sites::{Found as FoundSite, Sites};
use super::text::{Made, Text};
use super::words::{self, Found, Knows};
use super::{MOST_PARTS, Names, Part, Says};
use super::{days, grades, quantity};

/// Reads one text.
pub(super) struct Reader<'a> {
    text: Text<'a>,
    knows: Knows<'a>,
    sites: Sites<'a>,
    today: Date,
    dollar: Currency,
    notes: Vec<String>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(
        raw: &'a str,
        knows: Knows<'a>,
        names: &'a Names,
        today: Date,
        dollar: Currency,
    ) -> Self {
        Self { text: Text::new(raw), knows, sites: Sites::new(names), today, dollar, notes: Vec::new() }
    }

    /// The parts and the notes.
    pub(super) fn read(mut self) -> (Vec<Part>, Vec<String>) {
        let mut parts: Vec<Part> = Vec::new();
        let mut at = 0;
        while at < self.text.count() {
            let (part, next) = self.part(at);
            at = next.max(at + 1);
            let Some(part) = part.filter(|part| !self.is_merged(&mut parts, part)) else { continue };
            if parts.len() == MOST_PARTS {
                self.notes.push(format!("Only the first {MOST_PARTS} parts are read; the rest is left out."));
                break;
            }
            parts.push(part);
        }
        let mut notes: Vec<String> = Vec::new();
        for note in self.notes {
            if !notes.contains(&note) {
                notes.push(note);
            }
        }
        (parts, notes)
    }

    /// Little words that stand together are one part.
    fn is_merged(&self, parts: &mut [Part], part: &Part) -> bool {
        let Some(last) = parts.last_mut() else { return false };
        let Some(gap) = self.text.raw.get(last.span.end..part.span.start) else { return false };
        let (Says::Little(so_far), Says::Little(more)) = (&mut last.says, &part.says) else { return false };
        if !gap.chars().all(char::is_whitespace) {
            return false;
        }
        so_far.extend(more.iter().cloned());
        last.span.end = part.span.end;
        last.typed = tidied(&self.text.raw[last.span.clone()]);
        true
    }

    /// What stands here, and the piece behind it.
    fn part(&mut self, at: usize) -> (Option<Part>, usize) {
        if let Some((found, next)) = words::phrase(&self.text, at) {
            return (found.map(|found| self.found(found)), next);
        }
        if self.text.is_sign(at)
            && let Some(part) = self.minus(at)
        {
            return part;
        }
        if let Some((says, next, notes)) = self.composite(at) {
            self.notes.extend(notes);
            return (Some(self.whole(says, at, next)), next);
        }
        if let Some(part) = self.site(at).or_else(|| self.without(at)) {
            let next = part.1;
            return (Some(part.0), next);
        }
        self.notes.extend(quantity::why_not(&self.text, at, self.dollar));
        self.notes.extend(days::no_such_day(&self.text, at));
        if self.text.is_sign(at) {
            return (None, at + 1);
        }
        match words::known(&self.text, at, &self.knows) {
            Some(found) => {
                let next = found.next;
                (Some(self.found(found)), next)
            }
            None => (None, self.text.unit_end(at)),
        }
    }

    /// The longest grade, days or quantity that begins here and leaves no word half read.
    ///
    /// Each end is tried in turn, so what follows a phrase and does not belong to it never spoils it.
    fn composite(&self, at: usize) -> Option<(Says, usize, Vec<String>)> {
        let may_begin = !self.text.is_sign(at) || "$€£<>≥≤=~≈-−".contains(self.text.word(at));
        let ends = if may_begin { self.text.clean_ends(at) } else { Vec::new() };
        let tells = (at..*ends.first()?).find(|piece| self.may_tell(*piece))?;
        ends.into_iter()
            .take_while(|end| *end > tells)
            .find_map(|end| self.composite_in(&self.text.until(end), at).filter(|(_, next, _)| *next == end))
    }

    /// Whether a piece may be what a phrase turns on: a number, the letter of a grade, a word for days. Saves trying.
    fn may_tell(&self, at: usize) -> bool {
        let word = self.text.word(at);
        let made = self.text.piece(at).map(|piece| piece.made);
        let is_letter = made == Some(Made::Letters) && word.chars().count() == 1;
        made == Some(Made::Digits) || is_letter || days::may_tell(word)
    }

    fn composite_in(&self, text: &Text<'_>, at: usize) -> Option<(Says, usize, Vec<String>)> {
        grades::grades(text, at)
            .map(|(says, next)| (says, next, Vec::new()))
            .or_else(|| days::days(text, at, self.today))
            .or_else(|| {
                let (asked, next, notes) = quantity::quantity(text, at, self.dollar)?;
                Some((Says::Quantity(asked), next, notes))
            })
    }

    fn site(&mut self, at: usize) -> Option<(Part, usize)> {
        match self.sites.find(&self.text, at)? {
            FoundSite::One(id, next) => Some((self.whole(Says::Site(id), at, next), next)),
            FoundSite::Several(note) => {
                self.notes.push(note);
                None
            }
        }
    }

    /// `-door`, `-"drop seal"`, `-S2`.
    fn minus(&mut self, at: usize) -> Option<(Option<Part>, usize)> {
        let is_minus = self.text.word(at) == "-" && !self.text.is_joined(at) && self.text.is_joined(at + 1);
        if !is_minus {
            return None;
        }
        let mut next = at + 1;
        while self.text.word(next) == "-" && self.text.is_joined(next + 1) {
            next += 1;
        }
        if let Some((found, next)) = words::phrase(&self.text, next) {
            return Some((found.map(|found| self.unwanted(found, at)), next));
        }
        let site = self.sites.find(&self.text, next);
        if let Some(FoundSite::One(id, behind)) = site
            && behind == self.text.unit_end(next)
        {
            let found = Found { says: Says::Site(id), span: self.text.span(next..behind), next: behind };
            return Some((Some(self.unwanted(found, at)), behind));
        }
        // The minus holds for the one word it stands at.
        let found = words::known_word(&self.text, next, &self.knows)?;
        let behind = found.next;
        Some((Some(self.unwanted(said(found), at)), behind))
    }

    /// "Without a door", "not at the duplex", "except cellulose".
    fn without(&mut self, at: usize) -> Option<(Part, usize)> {
        let behind = words::without(&self.text, at)?;
        // "No fill" is a name of its own.
        let here = words::known(&self.text, at, &self.knows);
        if here.is_some_and(|found| matches!(found.says, Says::Concept { .. })) {
            return None;
        }
        let found =
            self.excluded(behind).or_else(|| self.excluded(words::past_little(&self.text, behind)))?;
        let next = found.next;
        Some((self.unwanted(found, at), next))
    }

    /// What "without" may be said of.
    fn excluded(&mut self, at: usize) -> Option<Found> {
        if let Some((found, _)) = words::phrase(&self.text, at) {
            return found;
        }
        if self.composite(at).is_some() {
            let note = "What must not hold can be words, names and sites, not days, quantities or grades.";
            self.notes.push(note.to_owned());
            return None;
        }
        if let Some(FoundSite::One(id, next)) = self.sites.find(&self.text, at) {
            return Some(Found { says: Says::Site(id), span: self.text.span(at..next), next });
        }
        let is_word = self.text.piece(at).is_some() && !self.text.is_sign(at);
        let found = words::known(&self.text, at, &self.knows).filter(|_| is_word)?;
        (!matches!(found.says, Says::Little(_))).then_some(found)
    }

    fn found(&self, found: Found) -> Part {
        self.part_of(found.says, found.span.clone(), found.span, Held::Wanted)
    }

    fn unwanted(&self, found: Found, from: usize) -> Part {
        let span = self.text.span(from..from + 1).start..found.span.end;
        self.part_of(found.says, span, found.span, Held::Unwanted)
    }

    fn whole(&self, says: Says, at: usize, next: usize) -> Part {
        let span = self.text.span(at..next);
        self.part_of(says, span.clone(), span, Held::Wanted)
    }

    fn part_of(
        &self,
        says: Says,
        span: std::ops::Range<usize>,
        own: std::ops::Range<usize>,
        held: Held,
    ) -> Part {
        let typed = tidied(&self.text.raw[own]);
        Part { says, span, typed, is_unwanted: held == Held::Unwanted }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Held {
    Wanted,
    Unwanted,
}

/// A little word that is asked not to be there is a word like any other.
fn said(found: Found) -> Found {
    match found.says {
        Says::Little(sequence) => {
            Found { says: Says::Words { sequence, others: Vec::new(), is_open: false }, ..found }
        }
        _ => found,
    }
}

/// White space and control characters as single spaces.
pub(super) fn tidied(text: &str) -> String {
    let words = text.split(|letter: char| letter.is_whitespace() || letter.is_control());
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}
