//! Lists of words as typed: formats, shapes, looks, sections. Leaves out what they mean.

use std::collections::BTreeSet;

use storypole_drawing::{Ground, Look};
use storypole_writeup::document::Topic;
use storypole_writeup::{CardShape, Format, Wanted};

use crate::refused::Refused;

/// Words without white space round them, empty ones left out.
pub fn plain(typed: &[String]) -> Vec<String> {
    typed.iter().map(|word| word.trim().to_owned()).filter(|word| !word.is_empty()).collect()
}

/// Which files, in which shapes and looks; everything where nothing was said.
pub fn wanted(formats: &[String], shapes: &[String], looks: &[String]) -> Result<Wanted, Refused> {
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

/// Refuses what is no address of a page.
pub fn check_address(link: Option<&str>) -> Result<(), Refused> {
    let is_page = |link: &str| {
        let rest = ["https://", "http://"].into_iter().find_map(|start| link.strip_prefix(start));
        rest.is_some_and(|rest| !rest.is_empty() && !rest.contains(char::is_whitespace))
    };
    match link.map(str::trim) {
        Some(link) if !link.is_empty() && !is_page(link) => Err(Refused::new(
            format!("\"{link}\" is no address of a page"),
            "write it whole, like https://example.org/walls",
        )),
        _ => Ok(()),
    }
}

/// Sections in the author's order; `None` where nothing was said.
pub fn order(typed: &[String]) -> Result<Option<Vec<Topic>>, Refused> {
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
fn read<T: Copy + PartialEq>(
    what: &str,
    typed: &[String],
    known: &[T],
    word: impl Fn(T) -> &'static str,
) -> Result<Vec<T>, Refused> {
    let mut found: Vec<T> = Vec::new();
    for typed in plain(typed) {
        let one = known.iter().copied().find(|one| word(*one) == typed.to_lowercase()).ok_or_else(|| {
            let all: Vec<&str> = known.iter().map(|one| word(*one)).collect();
            Refused::new(
                format!("there is no {what} called \"{typed}\""),
                format!("use one of: {}", all.join(", ")),
            )
        })?;
        if !found.contains(&one) {
            found.push(one);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<String> {
        text.split(',').map(str::to_owned).collect()
    }

    #[test]
    fn nothing_said_is_everything() {
        assert_eq!(wanted(&[], &[], &[]).unwrap(), Wanted::everything());
    }

    #[test]
    fn words_are_read_once_each_and_unknown_ones_are_refused() {
        let some = wanted(&words("Data, page,data"), &words("tall"), &words("light-clear")).unwrap();
        assert_eq!(some.formats.into_iter().collect::<Vec<_>>(), [Format::Page, Format::Data]);
        assert_eq!(some.shapes.into_iter().collect::<Vec<_>>(), [CardShape::Tall]);
        assert_eq!(some.looks, [Look { ground: Ground::Light, clear: true }]);
        assert_eq!(order(&words("results,question")).unwrap(), Some(vec![Topic::Results, Topic::Question]));
        assert!(check_address(Some("https://example.org/walls")).is_ok() && check_address(None).is_ok());
        for link in ["javascript:alert(1)", "example.org", "https://", "https://a b"] {
            assert!(check_address(Some(link)).is_err(), "{link}");
        }
        let refused = wanted(&words("pdf"), &[], &[]).unwrap_err();
        assert!(refused.reason().contains("no format called \"pdf\""), "{refused:?}");
    }
}
