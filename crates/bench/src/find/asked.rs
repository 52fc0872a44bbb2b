//! The questions, as each side is asked them. Leaves out answers.

use jiff::civil::{Date, date};
use storypole_testkit::Chance;

use super::notebook::{Notebook, day_number, words};

const SEED: u64 = 17;
/// Years that all notes fall into.
const YEARS: (i16, u64) = (2016, 10);
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// What a question is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Want {
    /// A word.
    Word,
    /// A word in a year.
    WordInYear,
    /// A month.
    Month,
}

impl Want {
    pub const ALL: [Self; 3] = [Self::Word, Self::WordInYear, Self::Month];

    pub fn words(self) -> &'static str {
        match self {
            Self::Word => "a word",
            Self::WordInYear => "a word in a year",
            Self::Month => "a month",
        }
    }
}

/// A question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// As a person types it.
    pub typed: String,
    /// The word in it.
    pub word: Option<String>,
    /// First and last day, as numbers.
    pub days: Option<(u64, u64)>,
}

/// All of them.
pub struct Questions([Vec<Asked>; 3]);

impl Questions {
    /// So many of each kind. A word comes as often as the notes use it.
    pub fn drawn(notebook: &Notebook, count: usize) -> Self {
        let mut chance = Chance::new(SEED);
        Self(Want::ALL.map(|want| (0..count).map(|_| drawn(&mut chance, notebook, want)).collect()))
    }

    pub fn of(&self, want: Want) -> &[Asked] {
        &self.0[want as usize]
    }
}

fn drawn(chance: &mut Chance, notebook: &Notebook, want: Want) -> Asked {
    match want {
        Want::Word => {
            let word = word(chance, notebook);
            Asked { typed: word.clone(), word: Some(word), days: None }
        }
        Want::WordInYear => {
            let (word, year) = (word(chance, notebook), year(chance));
            let days = days(date(year, 1, 1), date(year + 1, 1, 1));
            Asked { typed: format!("{word} in {year}"), word: Some(word), days: Some(days) }
        }
        Want::Month => {
            let (at, year) = (chance.below(12), year(chance));
            let month = i8::try_from(at + 1).expect("a year has twelve");
            let first = date(year, month, 1);
            let next = if month == 12 { date(year + 1, 1, 1) } else { date(year, month + 1, 1) };
            let name = MONTHS[usize::try_from(at).expect("a year has twelve")];
            Asked { typed: format!("in {name} {year}"), word: None, days: Some(days(first, next)) }
        }
    }
}

fn days(first: Date, next: Date) -> (u64, u64) {
    (day_number(first), day_number(next) - 1)
}

fn year(chance: &mut Chance) -> i16 {
    YEARS.0 + i16::try_from(chance.below(YEARS.1)).expect("few years")
}

fn word(chance: &mut Chance, notebook: &Notebook) -> String {
    let notes = &notebook.texts[..notebook.notes];
    let note = chance.pick(notes);
    let words: Vec<String> = words(&note.words).collect();
    chance.pick(&words).clone()
}

#[cfg(test)]
mod tests {
    use super::super::notebook::Text;
    use super::*;

    #[test]
    fn questions_are_the_same_for_the_same_notes() {
        let text = Text { words: "Sealed the rim.".to_owned(), day: 1 };
        let notebook = Notebook { texts: vec![text], notes: 1 };
        let questions = Questions::drawn(&notebook, 50);
        for want in Want::ALL {
            assert_eq!(questions.of(want), Questions::drawn(&notebook, 50).of(want));
            assert_eq!(questions.of(want).len(), 50);
        }
        let words = questions.of(Want::Word).iter().map(|asked| asked.typed.as_str());
        assert_eq!(words.collect::<std::collections::BTreeSet<_>>(), ["rim", "sealed", "the"].into());
        // A month is 28 to 31 days (Gregorian calendar), a year 365 or 366.
        let length = |asked: &Asked| asked.days.map(|(first, last)| last - first + 1).unwrap();
        assert!(questions.of(Want::Month).iter().all(|asked| (28..=31).contains(&length(asked))));
        assert!(questions.of(Want::WordInYear).iter().all(|asked| (365..=366).contains(&length(asked))));
    }
}
