//! Sites by their label, their name, or a word of it that no other site has. Leaves out rooms and jobs: they are words.

use std::cell::OnceCell;

use storypole_journal::RecordId;
use storypole_units::Quoted;

use super::Names;
use super::text::Text;
use super::words::{is_little, plain_words, unit_run};
use crate::analyse::words;

/// The most words of a site's name that are compared.
const MOST_UNITS: usize = 6;

/// Sites with their names as analysed words.
#[derive(Debug)]
pub(super) struct Sites<'a> {
    names: &'a Names,
    /// Made when first needed: most questions of a large notebook name no site.
    analysed: OnceCell<Vec<Named>>,
}

#[derive(Debug)]
struct Named {
    id: RecordId,
    label: Vec<String>,
    name: Vec<String>,
}

/// What a run of words may be of the sites.
enum Fit {
    None,
    One(RecordId),
    Several,
}

/// A site that was found, the piece behind it; or a note that several are called so.
pub(super) enum Found {
    One(RecordId, usize),
    Several(String),
}

impl<'a> Sites<'a> {
    pub(super) fn new(names: &'a Names) -> Self {
        Self { names, analysed: OnceCell::new() }
    }

    fn all(&self) -> &[Named] {
        self.analysed.get_or_init(|| {
            let analysed = |text: &Option<String>| text.as_deref().map(words).unwrap_or_default();
            let sites = self.names.sites.iter();
            sites
                .map(|(id, label, name)| Named { id: *id, label: analysed(label), name: analysed(name) })
                .collect()
        })
    }

    /// The site that is named here: "at the duplex", "in S2", "site S2", "S2", "Kestrel duplex".
    pub(super) fn find(&self, text: &Text<'_>, at: usize) -> Option<Found> {
        if self.names.sites.is_empty() {
            return None;
        }
        let led = text.past_any(at, &["at", "in", "on", "site"]);
        if led == at {
            return self.longest(text, at, |run| self.bare(run));
        }
        let start = text.past_any(text.past_any(led, &["the", "our"]), &["site"]);
        if text.is_joined(led) || text.is_joined(start) {
            return None;
        }
        self.longest(text, start, |run| match self.whole(run) {
            Fit::None => self.part(run),
            fit => fit,
        })
    }

    fn longest(&self, text: &Text<'_>, start: usize, fit: impl Fn(&[String]) -> Fit) -> Option<Found> {
        let ends = unit_run(text, start, MOST_UNITS);
        let mut several = None;
        for end in ends.into_iter().rev() {
            match fit(&plain_words(text.slice(start..end))) {
                Fit::None => (),
                Fit::One(id) => return Some(Found::One(id, end)),
                Fit::Several => several = several.or(Some(end)),
            }
        }
        let typed = Quoted::new(text.slice(start..several?));
        Some(Found::Several(format!(
            "Several sites are called \u{201c}{typed}\u{201d}: it is looked for as words. Give the label of one."
        )))
    }

    /// A label with a digit, or a name of several words: what needs no "at" before it.
    fn bare(&self, run: &[String]) -> Fit {
        let has_digit = run.iter().any(|word| word.starts_with(|letter: char| letter.is_ascii_digit()));
        let has_letter = run.iter().any(|word| word.starts_with(char::is_alphabetic));
        if run.len() > 1 && has_letter {
            return only(self.all().iter().filter(|site| {
                (has_digit && site.label == run) || site.name == run || is_label_and_name(site, run)
            }));
        }
        Fit::None
    }

    fn whole(&self, run: &[String]) -> Fit {
        if run.is_empty() {
            return Fit::None;
        }
        let same = |site: &&Named| site.label == run || site.name == run || is_label_and_name(site, run);
        only(self.all().iter().filter(same))
    }

    /// Words that stand together in the name of a site.
    fn part(&self, run: &[String]) -> Fit {
        let tells =
            |word: &String| word.len() > 1 && word.starts_with(char::is_alphabetic) && !is_little(word);
        if !run.iter().any(tells) {
            return Fit::None;
        }
        only(self.all().iter().filter(|site| site.name.windows(run.len()).any(|part| part == run)))
    }
}

fn is_label_and_name(site: &Named, run: &[String]) -> bool {
    let count = site.label.len();
    count > 0 && count < run.len() && run[..count] == site.label && run[count..] == site.name
}

fn only<'s>(mut sites: impl Iterator<Item = &'s Named>) -> Fit {
    match (sites.next(), sites.next()) {
        (None, _) => Fit::None,
        (Some(site), None) => Fit::One(site.id),
        (Some(_), Some(_)) => Fit::Several,
    }
}
