//! Front matter: what a site builder reads of a write-up, as YAML of one key a line.
//!
//! # Source
//! YAML 1.2.2, section 7.3.1 (double-quoted style) with the escapes of section 5.7. Every string is quoted, on one line.

use storypole_drawing::{Look, Room};

use super::picture_path;
use crate::document::Document;

/// Writes the front matter with the lines that fence it. What is not known has no line.
pub fn write(document: &Document) -> String {
    let mut lines = vec![
        line("title", &document.title),
        line("slug", &document.slug),
        line("date", &document.date.to_string()),
    ];
    lines.extend(document.updated.map(|day| line("updated", &day.to_string())));
    lines.push(line("summary", &document.summary));
    lines.push(format!("tags: {}", list(&document.tags)));
    lines.extend(cover(document).into_iter().flatten());
    lines.extend(document.link.iter().map(|link| line("canonical", link)));
    lines.push(line("language", &document.language));
    lines.push(format!("disclosure: {}", document.disclosure.is_some()));
    lines.extend(document.disclosure.iter().map(|text| line("disclosure_text", text)));
    lines.push(format!("jobs: {}", list(&document.jobs)));
    lines.push(format!("tests: {}", list(&document.tests)));
    lines.push(line("data_licence", &document.licence));
    lines.push(line("tool", &format!("storypole {}", document.program_version)));
    format!("---\n{}\n---\n", lines.join("\n"))
}

fn line(key: &str, text: &str) -> String {
    format!("{key}: {}", quoted(text))
}

/// The figure that stands for the whole, with what it shows in words; none where it cannot be drawn.
fn cover(document: &Document) -> Option<[String; 2]> {
    let name = document.cover.as_deref()?;
    let figure = document.figures().find(|figure| figure.name == name)?;
    let picture = figure.chart.draw(Room::SHEET, Look::LIGHT).ok()?;
    Some([line("cover", &picture_path(name)), line("cover_alt", &picture.alt)])
}

fn list(texts: &[String]) -> String {
    let texts: Vec<String> = texts.iter().map(|text| quoted(text)).collect();
    format!("[{}]", texts.join(", "))
}

/// A text in double quotes; what YAML does not count as printable is escaped, and so are angle brackets, so that a page
/// that pastes the front matter into HTML gets no tag.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            _ if is_bare(letter) => out.push(letter),
            _ => match u32::from(letter) {
                code @ 0..=0xFF => out.push_str(&format!("\\x{code:02X}")),
                code @ 0x100..=0xFFFF => out.push_str(&format!("\\u{code:04X}")),
                code => out.push_str(&format!("\\U{code:08X}")),
            },
        }
    }
    out.push('"');
    out
}

/// Printable by YAML 1.2.2 section 5.1, no line break of any kind, no bracket of a tag, no change of direction.
fn is_bare(letter: char) -> bool {
    !letter.is_control()
        && !matches!(
            letter,
            '<' | '>' | '\u{2028}' | '\u{2029}' | '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}'
                | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}'
        )
}

#[cfg(test)]
pub(crate) mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Reads one double-quoted string back by the escapes of YAML 1.2.2 section 5.7; gives the rest of the line too.
    fn read_quoted(text: &str) -> Option<(String, &str)> {
        let mut letters = text.strip_prefix('"')?.chars();
        let mut out = String::new();
        loop {
            match letters.next()? {
                '"' => return Some((out, letters.as_str())),
                '\\' => {
                    let kind = letters.next()?;
                    let digits = match kind {
                        'x' => 2,
                        'u' => 4,
                        'U' => 8,
                        _ => 0,
                    };
                    let code: String = letters.by_ref().take(digits).collect();
                    out.push(match kind {
                        'n' => '\n',
                        'r' => '\r',
                        't' => '\t',
                        '"' | '\\' => kind,
                        _ => char::from_u32(u32::from_str_radix(&code, 16).ok()?)?,
                    });
                }
                letter => out.push(letter),
            }
        }
    }

    /// Reads front matter back: keys with their texts; a bare word is one text.
    pub(crate) fn read(file: &str) -> Option<Vec<(String, Vec<String>)>> {
        let (matter, _) = file.strip_prefix("---\n")?.split_once("\n---\n")?;
        matter.split('\n').map(read_line).collect()
    }

    fn read_line(line: &str) -> Option<(String, Vec<String>)> {
        let (key, value) = line.split_once(": ")?;
        let mut texts = Vec::new();
        let mut rest = value.strip_prefix('[').unwrap_or(value);
        while rest.starts_with('"') {
            let (text, behind) = read_quoted(rest)?;
            texts.push(text);
            rest = behind.strip_prefix(", ").unwrap_or(behind);
        }
        match rest {
            "" if !value.starts_with('[') => (),
            "]" if value.starts_with('[') => (),
            "true" | "false" => texts.push(rest.to_owned()),
            _ => return None,
        }
        Some((key.to_owned(), texts))
    }

    fn document(title: String, tags: Vec<String>, disclosure: Option<String>) -> Document {
        Document {
            summary: "s".into(),
            tags,
            disclosure,
            jobs: vec!["J1".into()],
            ..Document::new(title, "a-slug", "2025-05-24".parse().unwrap(), "0.1.0")
        }
    }

    #[test]
    fn strings_are_quoted_and_escaped() {
        // By hand from YAML 1.2.2 section 5.7.
        let cases = [
            ("yes: no", "\"yes: no\""),
            ("say \"hi\" \\ #1", "\"say \\\"hi\\\" \\\\ #1\""),
            ("a\n---\nb", "\"a\\n---\\nb\""),
            ("\u{85}\u{2028}\u{7}", "\"\\x85\\u2028\\x07\""),
            ("<b>", "\"\\x3Cb\\x3E\""),
            ("3.5 µ", "\"3.5 µ\""),
        ];
        for (text, expected) in cases {
            assert_eq!(quoted(text), expected);
        }
    }

    proptest! {
        /// Goal: no text breaks the front matter. Method: read every line back and compare.
        #[test]
        fn any_text_reads_back(title in any::<String>(), tags in prop::collection::vec(any::<String>(), 0..4), disclosure in any::<Option<String>>()) {
            let written = write(&document(title.clone(), tags.clone(), disclosure.clone()));
            prop_assert!(!written.contains(['<', '>']));
            let lines = read(&written).expect("front matter reads back");
            let of = |key: &str| lines.iter().find(|(name, _)| name == key).map(|(_, texts)| texts.clone());
            prop_assert_eq!(of("title"), Some(vec![title]));
            prop_assert_eq!(of("tags"), Some(tags));
            prop_assert_eq!(of("disclosure"), Some(vec![disclosure.is_some().to_string()]));
            prop_assert_eq!(of("disclosure_text"), disclosure.map(|text| vec![text]));
            prop_assert_eq!(of("tool"), Some(vec!["storypole 0.1.0".to_owned()]));
            prop_assert_eq!(lines.len(), written.lines().count() - 2);
        }
    }
}
