//! Bytes as digits of base 16 in small letters. Leaves out every other spelling.

/// The digits.
pub(crate) fn print(bytes: &[u8]) -> String {
    data_encoding::HEXLOWER.encode(bytes)
}

/// Exactly `N` bytes; none where the text is another.
pub(crate) fn parse<const N: usize>(text: &str) -> Option<[u8; N]> {
    parse_any(text)?.try_into().ok()
}

/// Any number of bytes.
pub(crate) fn parse_any(text: &str) -> Option<Vec<u8>> {
    data_encoding::HEXLOWER.decode(text.as_bytes()).ok()
}
