//! Plain text inside Markdown, so that nothing a person typed becomes markup, HTML, a table edge or a template.
//!
//! # Source
//! CommonMark 0.31.2: section 2.4 (any ASCII punctuation may be escaped by a backslash), 2.5 (entities), 4 and 5 (what opens
//! a block stands at the start of a line).

/// Characters that may open or close something anywhere in a line. Braces and the dollar sign are for templates and formulas
/// that site builders know; the pipe is the edge of a table cell.
const ANYWHERE: &[char] = &['\\', '`', '*', '_', '[', ']', '{', '}', '#', '|', '~', '$', '^'];

/// One line of text: white space of any kind becomes one space, control and direction characters go.
pub fn inline(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for (index, word) in words(text).enumerate() {
        if index == 0 {
            push_opening(&mut out, &word);
        } else {
            out.push(' ');
            word.chars().for_each(|letter| push_escaped(&mut out, letter));
        }
    }
    out
}

/// Paragraphs of a text, parted by blank lines; each is one line.
pub fn paragraphs(text: &str) -> Vec<String> {
    plain_paragraphs(text).iter().map(|paragraph| inline(paragraph)).collect()
}

/// The same line as [`inline`] without its escapes, for files that have others.
pub(crate) fn plain_line(text: &str) -> String {
    words(text).collect::<Vec<_>>().join(" ")
}

/// The same paragraphs as [`paragraphs`] without their escapes.
pub(crate) fn plain_paragraphs(text: &str) -> Vec<String> {
    let mut found: Vec<String> = vec![String::new()];
    for line in text.lines() {
        match found.last_mut() {
            Some(last) if !line.trim().is_empty() => {
                last.push(' ');
                last.push_str(line);
            }
            _ => found.push(String::new()),
        }
    }
    found.iter().map(|paragraph| plain_line(paragraph)).filter(|paragraph| !paragraph.is_empty()).collect()
}

fn words(text: &str) -> impl Iterator<Item = String> {
    let visible = text.split(|letter: char| letter.is_whitespace() || letter.is_control());
    visible.map(plain).filter(|word| !word.is_empty())
}

/// A word without characters that turn the direction of writing, join nothing, or mark the start of a file: what is read is
/// what is there.
fn plain(word: &str) -> String {
    let is_hidden = |letter: char| matches!(letter, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}');
    word.chars().filter(|letter| !is_hidden(*letter)).collect()
}

fn push_escaped(out: &mut String, letter: char) {
    match letter {
        '<' => out.push_str("&lt;"),
        '>' => out.push_str("&gt;"),
        '&' => out.push_str("&amp;"),
        // Site builders look for `{%` before anyone reads Markdown, so the brace's own escape does not part the two.
        '%' if out.ends_with('{') => out.push_str("\\%"),
        _ if ANYWHERE.contains(&letter) => out.extend(['\\', letter]),
        _ => out.push(letter),
    }
}

/// The first word of a line, where lists, rules and underlines of headings begin.
fn push_opening(out: &mut String, word: &str) {
    let is_bullet = word == "+" || word.chars().all(|letter| matches!(letter, '-' | '='));
    let digits = word.chars().take_while(char::is_ascii_digit).count();
    let is_number = digits > 0 && matches!(&word[digits..], "." | ")");
    for (index, letter) in word.chars().enumerate() {
        if (is_bullet && index == 0) || (is_number && index == digits) {
            out.extend(['\\', letter]);
        } else {
            push_escaped(out, letter);
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Undoes the escapes as CommonMark 0.31.2 reads them; `None` where something is left that could be markup.
    fn read_back(line: &str) -> Option<String> {
        let mut out = String::new();
        let mut letters = line.chars();
        while let Some(letter) = letters.next() {
            match letter {
                '\\' => out.push(letters.next().filter(char::is_ascii_punctuation)?),
                '&' => {
                    let name: String = letters.by_ref().take_while(|letter| *letter != ';').collect();
                    out.push(match name.as_str() {
                        "lt" => '<',
                        "gt" => '>',
                        "amp" => '&',
                        _ => return None,
                    });
                }
                '<' | '>' => return None,
                _ if ANYWHERE.contains(&letter) => return None,
                _ => out.push(letter),
            }
        }
        Some(out)
    }

    #[test]
    fn markup_becomes_text() {
        // By hand from CommonMark 0.31.2.
        let cases = [
            ("plain words, 24.9 dB", "plain words, 24.9 dB"),
            ("<script>alert(1)</script>", "&lt;script&gt;alert(1)&lt;/script&gt;"),
            ("```\ncode\n```", "\\`\\`\\` code \\`\\`\\`"),
            ("~~~ fence", "\\~\\~\\~ fence"),
            ("# heading", "\\# heading"),
            ("- bullet", "\\- bullet"),
            ("---", "\\---"),
            ("===", "\\==="),
            ("+ bullet", "\\+ bullet"),
            ("+11.2 dB and -0.4", "+11.2 dB and -0.4"),
            ("1. first", "1\\. first"),
            ("12) first", "12\\) first"),
            ("1.5 in", "1.5 in"),
            ("> quote", "&gt; quote"),
            ("a | b", "a \\| b"),
            ("[x](javascript:y)", "\\[x\\](javascript:y)"),
            ("{{ site }} {% raw %}", "\\{\\{ site \\}\\} \\{\\% raw %\\}"),
            ("R&amp;D", "R&amp;amp;D"),
            ("    indented\tcode", "indented code"),
            ("a\u{202E}b\u{0}c", "ab c"),
            ("", ""),
        ];
        for (text, expected) in cases {
            assert_eq!(inline(text), expected, "{text:?}");
        }
    }

    #[test]
    fn blank_lines_part_paragraphs() {
        assert_eq!(paragraphs("one\ntwo\r\n\r\n \n- three"), ["one two", "\\- three"]);
        assert_eq!(paragraphs(" \n"), [] as [&str; 0]);
    }

    proptest! {
        /// Goal: no text becomes markup, and none is lost. Method: undo the escapes and compare words.
        #[test]
        fn any_text_reads_back_as_text(text in any::<String>()) {
            let line = inline(&text);
            prop_assert!(!line.contains(['<', '>', '\n', '\r', '\t']));
            let words: Vec<String> = text
                .split(|letter: char| letter.is_whitespace() || letter.is_control())
                .map(plain)
                .filter(|word| !word.is_empty())
                .collect();
            prop_assert_eq!(read_back(&line), Some(words.join(" ")));
        }

        /// Goal: no line opens a block. Method: texts made of what opens blocks in CommonMark 0.31.2, sections 4 and 5.
        #[test]
        fn no_line_opens_a_block(text in "[-+*=#>~`0-9.) \t|<_:]{0,12}") {
            let line = inline(&text);
            let first = line.split(' ').next().unwrap_or_default();
            let digits = first.trim_start_matches(|letter: char| letter.is_ascii_digit());
            prop_assert!(!matches!(first, "-" | "+" | "*"), "a bullet: {line}");
            prop_assert!(digits.len() == first.len() || !matches!(digits, "." | ")"), "a number: {line}");
            prop_assert!(!line.starts_with(['#', '>', '`', '~', ' ', '\t', '*', '_', '<', '|']), "{line}");
            let is_rule = |of: char| line.chars().all(|letter| letter == of || letter == ' ');
            prop_assert!(line.is_empty() || !(is_rule('-') || is_rule('=')), "a rule: {line}");
        }
    }
}
