//! Payloads: the values of writes, opaque to the log except that they are well-formed and deterministic.

use std::fmt;

use crate::cbor::{CborError, Reader, Writer};
use crate::small::SmallBytes;

/// One CBOR item in core deterministic encoding (RFC 8949 section 4.2.1). Cheap to clone.
///
/// Shortest integers and lengths, floats in the shortest form that keeps the value, the one NaN `f97e00`,
/// definite lengths, map keys sorted bytewise and unique, at most 16 levels deep, at most 1 MiB. Equal
/// values therefore have equal bytes.
#[derive(Clone)]
pub struct Payload(SmallBytes);

impl Payload {
    /// The most bytes a payload may have: 1 MiB. Larger things are attachments.
    pub const MAX_BYTES: usize = 1 << 20;

    /// Checks and wraps encoded bytes.
    ///
    /// # Errors
    /// [`PayloadError`] if they are too long or not exactly one item in deterministic encoding.
    pub fn new(bytes: Vec<u8>) -> Result<Self, PayloadError> {
        Self::from_slice(&bytes)
    }

    /// Checks and copies encoded bytes.
    ///
    /// # Errors
    /// As [`Payload::new`].
    pub fn from_slice(bytes: &[u8]) -> Result<Self, PayloadError> {
        if bytes.len() > Self::MAX_BYTES {
            return Err(PayloadError::TooLong { bytes: bytes.len() });
        }
        let mut reader = Reader::new(bytes);
        reader.item().and_then(|_| reader.end()).map_err(|source| PayloadError::Encoding { source })?;
        Ok(Self(SmallBytes::new(bytes)))
    }

    /// Reads the next item as a payload, checking it once.
    pub(crate) fn read(reader: &mut Reader<'_>) -> Result<Self, PayloadError> {
        let bytes = reader.item().map_err(|source| PayloadError::Encoding { source })?;
        if bytes.len() > Self::MAX_BYTES {
            return Err(PayloadError::TooLong { bytes: bytes.len() });
        }
        Ok(Self(SmallBytes::new(bytes)))
    }

    /// Returns the CBOR null.
    pub fn null() -> Self {
        Self(SmallBytes::new(&[0xF6]))
    }

    /// Encodes a text.
    ///
    /// # Panics
    /// If the text is longer than a payload may be; check long texts at the door.
    pub fn text(text: &str) -> Self {
        Self::written(Writer::with_capacity(text.len() + 5).text(text))
    }

    /// Encodes an integer.
    pub fn int(value: i64) -> Self {
        Self::written(Writer::with_capacity(9).int(value))
    }

    /// Encodes a byte string.
    ///
    /// # Panics
    /// If it is longer than a payload may be.
    pub fn bytes(bytes: &[u8]) -> Self {
        Self::written(Writer::with_capacity(bytes.len() + 5).bytes(bytes))
    }

    /// Returns the encoded bytes.
    pub fn as_bytes(&self) -> &[u8] {
        self.0.as_slice()
    }

    /// Says whether this is the CBOR null.
    pub fn is_null(&self) -> bool {
        self.as_bytes() == [0xF6]
    }

    pub(crate) fn written(writer: &Writer) -> Self {
        Self::from_slice(writer.as_bytes()).expect("the writer appends deterministic items")
    }
}

/// Why bytes are no payload.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PayloadError {
    /// Keep large things as attachments.
    #[error("a value has {bytes} bytes, more than {}", Payload::MAX_BYTES)]
    TooLong {
        /// Bytes given.
        bytes: usize,
    },
    /// Encode it again, deterministically.
    #[error("a value is not one item in deterministic encoding")]
    Encoding {
        /// What is wrong and where.
        source: CborError,
    },
}

impl PartialEq for Payload {
    fn eq(&self, other: &Self) -> bool {
        self.as_bytes() == other.as_bytes()
    }
}

impl Eq for Payload {}

impl PartialOrd for Payload {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Payload {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.as_bytes().cmp(other.as_bytes())
    }
}

impl std::hash::Hash for Payload {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.as_bytes().hash(state);
    }
}

impl fmt::Debug for Payload {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Payload(")?;
        self.as_bytes().iter().take(40).try_for_each(|byte| write!(f, "{byte:02x}"))?;
        if self.as_bytes().len() > 40 {
            write!(f, "… {} bytes", self.as_bytes().len())?;
        }
        f.write_str(")")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn builds_what_rfc_8949_appendix_a_lists() {
        assert_eq!(Payload::text("IETF").as_bytes(), b"\x64IETF");
        assert_eq!(Payload::int(-1000).as_bytes(), [0x39, 0x03, 0xE7]);
        assert_eq!(Payload::int(i64::MIN).as_bytes(), [0x3B, 0x7F, 255, 255, 255, 255, 255, 255, 255]);
        assert_eq!(Payload::bytes(&[1, 2, 3, 4]).as_bytes(), [0x44, 1, 2, 3, 4]);
        assert!(Payload::null().is_null());
        assert!(!Payload::text("").is_null());
    }

    #[test]
    fn is_one_item_of_at_most_a_mebibyte() {
        assert!(Payload::new(vec![0x01]).is_ok());
        assert_eq!(
            Payload::new(vec![0x01, 0x02]),
            Err(PayloadError::Encoding { source: CborError::Trailing { at: 1 } })
        );
        let text = |letters: usize| {
            let mut writer = Writer::default();
            writer.text(&"x".repeat(letters));
            Payload::new(writer.into_bytes())
        };
        assert!(text(Payload::MAX_BYTES - 5).is_ok());
        assert_eq!(
            text(Payload::MAX_BYTES - 4),
            Err(PayloadError::TooLong { bytes: Payload::MAX_BYTES + 1 })
        );
    }

    #[test]
    fn shows_a_long_value_shortened() {
        assert_eq!(format!("{:?}", Payload::int(10)), "Payload(0a)");
        assert!(format!("{:?}", Payload::bytes(&[0; 100])).ends_with("… 102 bytes)"));
    }
}
