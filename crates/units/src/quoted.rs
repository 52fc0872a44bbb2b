//! What somebody typed, as an error message quotes it: shortened, without control characters.

use std::fmt;

/// The longest quotation, in characters. Convention of this project: enough to recognise what was typed.
const LONGEST_CHARS: usize = 48;

/// A piece of input kept for an error message. Prints without quotation marks, the message adds them.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Quoted(String);

impl Quoted {
    /// Keeps the beginning of `text`; control characters become spaces, a cut is shown as `...`.
    pub fn new(text: &str) -> Self {
        let mut kept: String = text
            .chars()
            .take(LONGEST_CHARS)
            .map(|character| if character.is_control() { ' ' } else { character })
            .collect();
        if text.chars().nth(LONGEST_CHARS).is_some() {
            kept.push_str("...");
        }
        Self(kept)
    }

    /// Returns the quotation.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Quoted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quotation_is_short_and_printable() {
        assert_eq!(Quoted::new("8' 13\"").as_str(), "8' 13\"");
        assert_eq!(Quoted::new("8\n9\u{7}").as_str(), "8 9 ");
        assert_eq!(Quoted::new(&"é".repeat(49)).as_str(), format!("{}...", "é".repeat(48)));
        assert_eq!(Quoted::new(&"é".repeat(48)).as_str(), "é".repeat(48));
    }
}
