//! Lists of words as typed, on the command line and in addresses alike: formats, shapes, looks, sections, names. Leaves out what
//! they mean.

use std::collections::BTreeSet;

use storypole_drawing::{Ground, Look};
use storypole_writeup::document::Topic;
use storypole_writeup::{CardShape, Format, Wanted};

/// A word that names nothing of its kind.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no {what} called \"{typed}\"")]
pub struct NoSuchWord {
    /// What was looked for.
    pub what: &'static str,
    /// The word.
    pub typed: String,
    /// Words there are.
    pub known: Vec<&'static str>,
}

impl NoSuchWord {
    /// What to do about it.
    pub fn next_step(&self) -> String {
        format!("use one of: {}", self.known.join(", "))
    }
}

/// Words without white space round them, empty ones left out; commas part them too.
pub fn plain<S: AsRef<str>>(typed: &[S]) -> Vec<String> {
    let words = typed.iter().flat_map(|typed| typed.as_ref().split(','));
    words.map(|word| word.trim().to_owned()).filter(|word| !word.is_empty()).collect()
}

/// Which files, in which shapes and looks; everything where nothing was said.
///
/// # Errors
/// A word that is none of those.
pub fn wanted<S: AsRef<str>>(formats: &[S], shapes: &[S], looks: &[S]) -> Result<Wanted, NoSuchWord> {
    let all = Wanted::everything();
    let formats: BTreeSet<Format> =
        read("format", formats, &Format::ALL, Format::word)?.into_iter().collect();
    let shapes: BTreeSet<CardShape> =
        read("shape", shapes, &CardShape::ALL, CardShape::word)?.into_iter().collect();
    let looks = read("look", looks, &LOOKS, word_of_look)?;
    Ok(Wanted {
        formats: if formats.is_empty() { all.formats } else { formats },
        shapes: if shapes.is_empty() { all.shapes } else { shapes },
        looks: if looks.is_empty() { all.looks } else { looks },
    })
}

/// Sections in the author's order; `None` where nothing was said.
///
/// # Errors
/// A word that is no section.
pub fn order<S: AsRef<str>>(typed: &[S]) -> Result<Option<Vec<Topic>>, NoSuchWord> {
    let topics = read("section", typed, &Topic::ALL, Topic::word)?;
    Ok((!topics.is_empty()).then_some(topics))
}

const LOOKS: [Look; 4] = [
    Look::LIGHT,
    Look::DARK,
    Look { ground: Ground::Light, clear: true },
    Look { ground: Ground::Dark, clear: true },
];

fn word_of_look(look: Look) -> &'static str {
    match (look.ground, look.clear) {
        (Ground::Light, false) => "light",
        (Ground::Dark, false) => "dark",
        (Ground::Light, true) => "light-clear",
        (Ground::Dark, true) => "dark-clear",
    }
}

/// Each word as what it names, once, in the order typed.
fn read<T: Copy + PartialEq, S: AsRef<str>>(
    what: &'static str,
    typed: &[S],
    known: &[T],
    word: impl Fn(T) -> &'static str,
) -> Result<Vec<T>, NoSuchWord> {
    let mut found: Vec<T> = Vec::new();
    for typed in plain(typed) {
        let is_it = |one: &T| word(*one).eq_ignore_ascii_case(&typed);
        let Some(one) = known.iter().copied().find(is_it) else {
            let known = known.iter().map(|one| word(*one)).collect();
            return Err(NoSuchWord { what, typed, known });
        };
        if !found.contains(&one) {
            found.push(one);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_said_is_everything() {
        assert_eq!(wanted::<&str>(&[], &[], &[]).unwrap(), Wanted::everything());
        assert_eq!(wanted(&[" , "], &[""], &[]).unwrap(), Wanted::everything());
    }

    #[test]
    fn words_are_read_once_each_and_unknown_ones_are_refused() {
        let some = wanted(&["Data, page", "data"], &["tall"], &["light-clear"]).unwrap();
        assert_eq!(some.formats.into_iter().collect::<Vec<_>>(), [Format::Page, Format::Data]);
        assert_eq!(some.shapes.into_iter().collect::<Vec<_>>(), [CardShape::Tall]);
        assert_eq!(some.looks, [Look { ground: Ground::Light, clear: true }]);
        assert_eq!(order(&["results,question"]).unwrap(), Some(vec![Topic::Results, Topic::Question]));
        assert_eq!(order::<&str>(&[]).unwrap(), None);
        let refused = wanted(&["pdf"], &[], &[]).unwrap_err();
        assert_eq!(refused.to_string(), "there is no format called \"pdf\"");
        assert!(refused.next_step().starts_with("use one of: markdown, page"), "{}", refused.next_step());
    }
}
