//! An endless stream of notes with words as often as people use them: a few very often, most hardly ever.
//!
//! Cheap on purpose, no floating point and no tables of weights, so that a million notes take seconds.

use jiff::civil::{Date, date};
use storypole_journal::{Draft, RecordId};
use storypole_notebook::Value;

use super::names::capital;
use super::pen::{Pen, later, text};
use crate::Chance;

/// Octaves of ranks: 2^15 - 1 words.
const OCTAVES: u64 = 15;
/// Words of the vocabulary.
pub const WORDS: usize = (1 << OCTAVES) - 1;
/// First day of the stream.
const FIRST_DAY: Date = date(2016, 1, 4);
/// Days of the stream: to the end of 2026.
const DAYS: u64 = 4_010;

/// Words of the trade and of every day, the most frequent first; the rest of the vocabulary is invented.
const COMMON: &str = "the and of to in on for with one two side wall board up at from out before after all \
    door room drywall studs bay bays cut filled batt batts screws sealed tape old new both top bottom left right \
    insulation seam wire box boxes pipe channel resilient sealant caulk gap plate header stud sheet sheets layer second \
    first delivered ordered waiting inspector owner passed checked measured reading readings meter background quiet loud \
    kitchen bedroom hall bathroom basement attic nursery office garage cellulose fiberglass stone wool mineral glass fibre \
    cotton foam plasterboard gypsum wood steel clips double staggered empty open closed finished bare primer paint coat \
    sanded mud joint corner bead beads gasket sweep drop seal hinge jamb casing trim baseboard skirting floor ceiling joist \
    rim beam post window sill flashing leak damp dry moisture fan vent duct grille outlet switch breaker panel cable conduit \
    electrician plumber helper tenant neighbour permit rain snow cold hot dust mask gloves ladder saw drill driver laser level \
    square chalk line nails staples glue shims plywood strapping furring lath plaster crack patch hole fixed loose tight \
    straight crooked plumb crown warped split knot short long wide narrow thick thin heavy light morning noon evening late \
    early today tomorrow week hour hours half quarter done started stopped again still more less same different better worse \
    good bad right wrong truck trailer store returned receipt price cost budget extra change decision agreed refused asked \
    called told showed photo photos before cover cavity depth inches feet marks plan sketch drawing model number label";

/// The stream.
#[derive(Debug, Clone)]
pub struct Notes {
    chance: Chance,
    words: Vec<String>,
    left: usize,
    author: RecordId,
    site: RecordId,
}

/// One note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// What it says.
    pub text: String,
    /// Its day.
    pub date: Date,
}

impl Notes {
    /// So many notes; the same seed gives the same ones.
    pub(super) fn new(seed: u64, count: usize) -> Self {
        let mut chance = Chance::new(seed ^ 0x6E6F_7465);
        let author = RecordId::from_parts(1, chance.id());
        let site = RecordId::from_parts(1, chance.id());
        Self { chance, words: vocabulary(), left: count, author, site }
    }

    /// The vocabulary, the most frequent first.
    pub fn words(&self) -> &[String] {
        &self.words
    }

    /// The same notes as entries of the day log of one site, so many to a draft; the first draft holds the site too.
    ///
    /// # Panics
    /// If `per_draft` is not 1 to 2,000: a draft holds 10,000 writes at most.
    pub fn drafts(self, per_draft: usize) -> impl Iterator<Item = Draft> {
        assert!((1..=2_000).contains(&per_draft), "1 to 2,000 notes fit a draft");
        let mut notes = self;
        let mut is_first = true;
        std::iter::from_fn(move || {
            let drawn: Vec<Note> = notes.by_ref().take(per_draft).collect();
            let day = drawn.first()?.date;
            let (author, site) = (notes.author, notes.site);
            let mut pen = Pen::new(&mut notes.chance, author, day);
            if std::mem::take(&mut is_first) {
                pen.write_as(site, "site", &[("label", text("NOTES")), ("name", text("Notebook of notes"))]);
            }
            for note in &drawn {
                pen.write(
                    "entry",
                    &[
                        ("site", Value::Record(site)),
                        ("date", Value::Date(note.date)),
                        ("entry_kind", text("note")),
                        ("text", text(&note.text)),
                    ],
                );
            }
            Some(pen.finish())
        })
    }

    /// A word by a law like Zipf's: each octave of ranks is drawn as often as any other, and within it each word alike, so
    /// that a word at twice the rank comes about half as often.
    fn word(&mut self) -> &str {
        let octave = self.chance.below(OCTAVES);
        let rank = (1 << octave) + self.chance.below(1 << octave);
        &self.words[usize::try_from(rank - 1).expect("ranks fit")]
    }
}

impl Iterator for Notes {
    type Item = Note;

    fn next(&mut self) -> Option<Note> {
        self.left = self.left.checked_sub(1)?;
        let count = 5 + self.chance.below(6) + self.chance.below(6);
        let mut sentence = String::with_capacity(96);
        for index in 0..count {
            if index > 0 {
                sentence.push(' ');
            }
            let word = self.word();
            sentence.push_str(word);
        }
        sentence.push('.');
        let date = later(FIRST_DAY, self.chance.below(DAYS));
        Some(Note { text: capital(&sentence), date })
    }
}

/// Common words first, then invented ones; no word twice.
fn vocabulary() -> Vec<String> {
    let mut seen = std::collections::BTreeSet::new();
    let common = COMMON.split_whitespace().map(str::to_owned);
    let all = common.chain((0..).map(invented));
    all.filter(|word| seen.insert(word.clone())).take(WORDS).collect()
}

/// A word of three or four syllables nobody uses; differs for each number below 70³.
fn invented(number: usize) -> String {
    const BEGINNINGS: &[&str] = &["b", "d", "f", "g", "k", "l", "m", "n", "p", "r", "s", "t", "v", "z"];
    const ENDINGS: &[&str] = &["a", "e", "i", "o", "u"];
    let count = BEGINNINGS.len() * ENDINGS.len();
    // The step shares no factor with 70³, so neighbours in rank look nothing like each other.
    let mut place = (number * 7_919) % count.pow(3);
    let mut word = String::new();
    for _ in 0..3 {
        word.push_str(BEGINNINGS[place % count / ENDINGS.len()]);
        word.push_str(ENDINGS[place % ENDINGS.len()]);
        place /= count;
    }
    word + ["n", "r", "l", "s", "t"][number % 5]
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    #[test]
    fn words_come_by_rank_as_zipf_says() {
        let mut notes = Notes::new(3, 0);
        let mut counts: BTreeMap<String, u64> = BTreeMap::new();
        for _ in 0..300_000 {
            let word = notes.word().to_owned();
            *counts.entry(word).or_default() += 1;
        }
        let count_of = |rank: usize| counts.get(&notes.words[rank - 1]).copied().unwrap_or(0) as f64;
        // Zipf (1935): frequency falls as one over rank. Each factor of four in rank must cost about that in frequency.
        for (near, far) in [(1, 4), (4, 16), (16, 64), (64, 256)] {
            let ratio = count_of(near) / count_of(far);
            assert!((3.0..5.4).contains(&ratio), "rank {near} to {far}: {ratio}");
        }
        assert!(counts.len() > 20_000, "{} words in use", counts.len());
    }

    #[test]
    fn notes_are_the_same_for_the_same_seed_and_legal() {
        let notes: Vec<Note> = Notes::new(5, 500).collect();
        assert_eq!(notes, Notes::new(5, 500).collect::<Vec<_>>());
        assert_ne!(notes, Notes::new(6, 500).collect::<Vec<_>>());
        assert_eq!(notes.len(), 500);
        let drafts: Vec<Draft> = Notes::new(5, 500).drafts(200).collect();
        assert_eq!(drafts.len(), 3);
        for draft in &drafts {
            draft.check().unwrap();
            storypole_notebook::door::check(draft).unwrap();
        }
        let unique: std::collections::BTreeSet<String> = vocabulary().into_iter().collect();
        assert_eq!(unique.len(), WORDS);
    }
}
