//! Names of kinds and fields.
//!
//! Which names mean something is not decided here: unknown ones are kept and passed on.

use std::borrow::Borrow;
use std::fmt;
use std::hash::{Hash, Hasher};

use crate::small::SmallBytes;

/// The name of a kind or field: 1 to 64 letters `a`-`z`, digits and `_`. Cheap to clone.
#[derive(Clone)]
pub struct Name(SmallBytes);

impl Name {
    /// The most letters a name may have.
    pub const MAX_LETTERS: usize = 64;

    /// Checks and wraps `text`.
    ///
    /// # Errors
    /// [`NameError`] if the length is not 1 to 64 or another character occurs.
    pub fn new(text: &str) -> Result<Self, NameError> {
        if text.is_empty() || text.len() > Self::MAX_LETTERS {
            return Err(NameError::Length { count: text.len() });
        }
        match text.bytes().position(|byte| !matches!(byte, b'a'..=b'z' | b'0'..=b'9' | b'_')) {
            None => Ok(Self(SmallBytes::new(text.as_bytes()))),
            Some(index) => Err(NameError::Letter { index }),
        }
    }

    /// Returns the name as text.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(self.0.as_slice()).expect("a name holds checked ASCII")
    }
}

/// Why a text is no name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Shorten it, or write something.
    #[error("a name has 1 to 64 letters, not {count}")]
    Length {
        /// Bytes given.
        count: usize,
    },
    /// Use only a-z, 0-9 and _.
    #[error("a name is made of a-z, 0-9 and _; byte {index} is something else")]
    Letter {
        /// Where the first wrong byte stands.
        index: usize,
    },
}

impl Borrow<str> for Name {
    fn borrow(&self) -> &str {
        self.as_str()
    }
}

impl AsRef<str> for Name {
    fn as_ref(&self) -> &str {
        self.as_str()
    }
}

impl PartialEq for Name {
    fn eq(&self, other: &Self) -> bool {
        self.0.as_slice() == other.0.as_slice()
    }
}

impl Eq for Name {}

impl PartialEq<str> for Name {
    fn eq(&self, other: &str) -> bool {
        self.0.as_slice() == other.as_bytes()
    }
}

impl PartialEq<&str> for Name {
    fn eq(&self, other: &&str) -> bool {
        self == *other
    }
}

// Order and hash are those of the text, as `Borrow<str>` demands.
impl Ord for Name {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.as_slice().cmp(other.0.as_slice())
    }
}

impl PartialOrd for Name {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Hash for Name {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.as_str().hash(state);
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_str(), f)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, HashMap};

    use super::*;

    #[test]
    fn checks_length_and_letters() {
        for (text, expected) in [
            ("a", Ok(())),
            ("written_at_2", Ok(())),
            ("", Err(NameError::Length { count: 0 })),
            ("Kind", Err(NameError::Letter { index: 0 })),
            ("two words", Err(NameError::Letter { index: 3 })),
            ("größe", Err(NameError::Letter { index: 2 })),
        ] {
            assert_eq!(Name::new(text).map(|_| ()), expected, "{text}");
        }
        assert!(Name::new(&"x".repeat(64)).is_ok());
        assert_eq!(Name::new(&"x".repeat(65)), Err(NameError::Length { count: 65 }));
    }

    #[test]
    fn maps_are_searched_by_text() {
        for text in ["note", "a_name_too_long_to_be_kept_inline"] {
            let name = Name::new(text).unwrap();
            assert_eq!(HashMap::from([(name.clone(), 1)]).get(text), Some(&1));
            assert_eq!(BTreeMap::from([(name, 1)]).get(text), Some(&1));
        }
    }
}
