//! Plain text inside HTML, so that nothing a person typed becomes a tag, an attribute or an entity.
//!
//! # Source
//! HTML Living Standard, sections 13.1.2.3 (attributes), 13.1.3 (text), 13.3 (what is escaped); Infra, noncharacters.

use crate::markdown::escape::plain_line;

/// One line of text between tags.
pub(super) fn text(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for letter in plain_line(text).chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            _ if is_noncharacter(letter) => (),
            _ => out.push(letter),
        }
    }
    out
}

/// One line of text inside double quotes.
pub(super) fn attribute(value: &str) -> String {
    text(value)
}

/// An element with one line of text, written in the direction of its own letters; nothing where there is no text.
pub(super) fn auto(name: &str, class: &str, words: &str) -> String {
    let words = text(words);
    let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
    if words.is_empty() { String::new() } else { format!("<{name}{class} dir=\"auto\">{words}</{name}>\n") }
}

/// A piece of a line that keeps its own direction and does not turn the words beside it.
pub(super) fn span(words: &str) -> String {
    format!("<bdi>{}</bdi>", text(words))
}

/// What the standard calls noncharacters, errors in a page.
fn is_noncharacter(letter: char) -> bool {
    let code = u32::from(letter);
    (0xFDD0..=0xFDEF).contains(&code) || code & 0xFFFE == 0xFFFE
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn markup_becomes_text() {
        // By hand from the HTML Living Standard, section 13.3.
        let cases = [
            ("plain, 24.9 dB", "plain, 24.9 dB"),
            ("<b onclick='x'>", "&lt;b onclick=&#39;x&#39;&gt;"),
            ("R&amp;D \"x\"", "R&amp;amp;D &quot;x&quot;"),
            ("a\u{FDD0}\u{1FFFE}\u{FFFF}b\n\tc\u{202E}\u{0}d", "ab c d"),
            ("\u{5d0}\u{5d1}", "\u{5d0}\u{5d1}"),
        ];
        for (typed, expected) in cases {
            assert_eq!(text(typed), expected, "{typed:?}");
        }
        assert_eq!(auto("p", "big", "1 < 2"), "<p class=\"big\" dir=\"auto\">1 &lt; 2</p>\n");
        assert_eq!(auto("p", "", " \u{200B}"), "");
    }

    proptest! {
        /// Goal: no text can leave the place it stands in. Method: look for every letter that could open or close one.
        #[test]
        fn no_text_is_markup(typed in prop_oneof![any::<String>(), "[<>&\"'=/! -]{0,20}"]) {
            let written = text(&typed);
            let is_markup = written.contains(['<', '>', '"', '\'', '\n', '\r', '\u{0}']);
            prop_assert!(!is_markup, "{}", written);
            let entities = ["amp;", "lt;", "gt;", "quot;", "#39;"];
            for rest in written.split('&').skip(1) {
                prop_assert!(entities.iter().any(|entity| rest.starts_with(entity)), "{written}");
            }
        }
    }
}
