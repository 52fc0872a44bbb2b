//! What a person wishes of a write-up, as typed: refusals of words that name nothing, and of addresses. Leaves out how lists are
//! read: see [`storypole_desk::publish::wishes`].

use storypole_desk::publish::wishes::{self, NoSuchWord};
use storypole_writeup::Wanted;
use storypole_writeup::document::Topic;

use crate::refused::Refused;

/// Which files, in which shapes and looks; everything where nothing was said.
pub fn wanted(formats: &[String], shapes: &[String], looks: &[String]) -> Result<Wanted, Refused> {
    wishes::wanted(formats, shapes, looks).map_err(refused)
}

/// Sections in the author's order; `None` where nothing was said.
pub fn order(typed: &[String]) -> Result<Option<Vec<Topic>>, Refused> {
    wishes::order(typed).map_err(refused)
}

fn refused(error: NoSuchWord) -> Refused {
    Refused::new(error.to_string(), error.next_step())
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_whole() {
        assert!(check_address(Some("https://example.org/walls")).is_ok() && check_address(None).is_ok());
        for link in ["javascript:alert(1)", "example.org", "https://", "https://a b"] {
            assert!(check_address(Some(link)).is_err(), "{link}");
        }
    }

    #[test]
    fn a_word_that_is_none_is_refused_with_those_there_are() {
        let refused = wanted(&["pdf".to_owned()], &[], &[]).unwrap_err();
        assert!(refused.reason().contains("no format called \"pdf\""), "{refused:?}");
    }
}
