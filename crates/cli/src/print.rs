//! Plain tables for a terminal: columns as wide as their content, numbers to the right.

use std::borrow::Cow;
use std::fmt::Write as _;

/// Prints a line to stdout. A reader that has seen enough, as `head` has, is no fault; the work goes on.
macro_rules! say {
    () => { $crate::print::line(format_args!("")) };
    ($($words:tt)*) => { $crate::print::line(format_args!($($words)*)) };
}
pub(crate) use say;

/// What [`say`] does.
pub fn line(words: std::fmt::Arguments<'_>) {
    use std::io::Write as _;
    if let Err(error) = writeln!(std::io::stdout(), "{}", plainly(&words.to_string()))
        && error.kind() != std::io::ErrorKind::BrokenPipe
    {
        eprintln!("the result could not be printed: {error}");
    }
}

/// Text with every letter that shows nothing, or turns the direction of others, spelt out as in `\u202e`. Such
/// letters make one label look like another. The spelling is the one of JSON, so JSON stays what it was.
pub fn plainly(text: &str) -> Cow<'_, str> {
    let is_hidden = |letter: char| matches!(letter, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{061c}' | '\u{00ad}');
    if !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut plain = String::new();
    for letter in text.chars() {
        if is_hidden(letter) {
            // Writing to a string cannot fail.
            let _ = write!(plain, "\\u{:04x}", u32::from(letter));
        } else {
            plain.push(letter);
        }
    }
    Cow::Owned(plain)
}

/// A table in the making.
#[derive(Debug, Default)]
pub struct Table {
    head: Vec<String>,
    right: Vec<bool>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with these column heads; one that starts with `>` is set to the right.
    pub fn new(heads: &[&str]) -> Self {
        Self {
            head: heads.iter().map(|head| head.trim_start_matches('>').to_owned()).collect(),
            right: heads.iter().map(|head| head.starts_with('>')).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row; missing cells are empty.
    pub fn row(&mut self, cells: impl IntoIterator<Item = impl Into<String>>) -> &mut Self {
        let cells = cells.into_iter().map(|cell| plainly(&cell.into()).into_owned());
        self.rows.push(cells.collect());
        self
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, a line each, without trailing blanks.
    pub fn text(&self) -> String {
        let widths: Vec<usize> = (0..self.head.len())
            .map(|column| {
                let cells = self.rows.iter().filter_map(|row| row.get(column));
                cells.chain([&self.head[column]]).map(|cell| cell.chars().count()).max().unwrap_or(0)
            })
            .collect();
        let mut text = String::new();
        let rule: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
        for row in [&self.head, &rule].into_iter().chain(&self.rows) {
            let mut line = String::new();
            for (column, width) in widths.iter().enumerate() {
                let cell = row.get(column).map_or("", String::as_str);
                let gap = " ".repeat(width - cell.chars().count().min(*width));
                let gutter = if column == 0 { "" } else { "  " };
                let placed = if self.right[column] { format!("{gap}{cell}") } else { format!("{cell}{gap}") };
                // Writing to a string cannot fail.
                let _ = write!(line, "{gutter}{placed}");
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_hide_are_spelt_out() {
        assert_eq!(plainly("J1\u{202e}2\u{200b}"), "J1\\u202e2\\u200b");
        assert_eq!(plainly("café 北"), "café 北");
        let json = plainly(&serde_json::json!({ "text": "a\u{202e}b" }).to_string()).into_owned();
        let read: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(read["text"], "a\u{202e}b", "programs read what was written");
        let mut table = Table::new(&["what"]);
        table.row(["a\u{202e}b"]);
        assert!(table.text().contains("a\\u202eb"));
    }

    #[test]
    fn columns_are_as_wide_as_their_content() {
        let mut table = Table::new(&["set", ">D dB"]);
        table.row(["T01", "24.9"]).row(["T26-after", ""]);
        assert_eq!(table.text(), "set        D dB\n---------  ----\nT01        24.9\nT26-after\n");
    }
}
