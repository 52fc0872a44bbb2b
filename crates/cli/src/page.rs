//! A page of text for a terminal: a title, headings, sentences broken into lines, tables.

use std::fmt::Display;
use std::io::{self, ErrorKind, Write};

use crate::print::{Table, plainly};
use crate::refused::{Outcome, Refused};

/// Letters in a line; tables may be wider.
const WIDTH: usize = 100;

/// A page in the making.
#[derive(Debug, Default)]
pub struct Page {
    text: String,
}

impl Page {
    /// Adds a line that is not broken.
    pub fn line(&mut self, words: &str) -> &mut Self {
        self.text.push_str(words.trim_end());
        self.text.push('\n');
        self
    }

    /// Adds a heading under a blank line.
    pub fn heading(&mut self, words: &str) -> &mut Self {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.line(words)
    }

    /// Adds sentences, broken between words. Nothing for nothing.
    pub fn say(&mut self, words: &str) -> &mut Self {
        self.hang("", words)
    }

    /// Adds a point of a list.
    pub fn item(&mut self, words: &str) -> &mut Self {
        self.hang("  - ", words)
    }

    /// Adds points of a list, each once.
    pub fn items(&mut self, points: &[String]) -> &mut Self {
        for (index, point) in points.iter().enumerate() {
            if !points[..index].contains(point) {
                self.item(point);
            }
        }
        self
    }

    /// Adds more under a point of a list. Nothing for nothing.
    pub fn item_more(&mut self, words: &str) -> &mut Self {
        self.hang("    ", words)
    }

    /// Adds a table under its own heads; nothing where it has no rows.
    pub fn table(&mut self, table: &Table) -> &mut Self {
        if !table.is_empty() {
            self.text.push_str(&table.text());
        }
        self
    }

    /// Adds a blank line.
    pub fn blank(&mut self) -> &mut Self {
        self.text.push('\n');
        self
    }

    /// The page.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Prints it to stdout.
    ///
    /// # Errors
    /// As [`result`].
    pub fn print(&self) -> Outcome {
        result(&plainly(&self.text))
    }

    fn hang(&mut self, start: &str, words: &str) -> &mut Self {
        let gap = " ".repeat(start.chars().count());
        for (number, line) in broken(words, WIDTH - gap.len()).iter().enumerate() {
            self.line(&format!("{}{line}", if number == 0 { start } else { &gap }));
        }
        self
    }
}

/// Prints a result to stdout. A reader that stops reading, such as a pager, has all it wanted.
///
/// # Errors
/// Stdout cannot be written to.
pub fn result(text: &str) -> Outcome {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Refused::new(
            format!("the result could not be printed: {error}"),
            "see where the output goes to",
        )),
        _ => Ok(()),
    }
}

/// Prints a JSON value on a line to stdout.
///
/// # Errors
/// As [`result`].
pub fn json(value: &impl Display) -> Outcome {
    result(&plainly(&format!("{value}\n")))
}

/// Breaks text into lines between words; a line break of the text stays.
fn broken(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        if !line.is_empty() {
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_are_broken_between_words() {
        assert_eq!(broken("one two three", 7), ["one two", "three"]);
        assert_eq!(broken("unbreakable", 4), ["unbreakable"], "a word is never cut");
        assert_eq!(broken("a\n\nb", 9), ["a", "b"]);
        assert!(broken("  ", 9).is_empty());
    }

    #[test]
    fn points_hang() {
        let mut page = Page::default();
        page.line("Title").heading("Head").item(&"word ".repeat(24));
        assert!(page.text().starts_with("Title\n\nHead\n  - word word"));
        assert!(page.text().lines().last().unwrap().starts_with("    word"));
    }
}
