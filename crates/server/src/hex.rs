//! Bytes as small hexadecimal digits, in one form only.

use std::fmt::Write as _;

/// Bytes as digits.
pub fn print(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// The bytes of so many digits; none where they are not of that form.
pub fn read<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digits = text.as_bytes();
    if digits.len() != N * 2 {
        return None;
    }
    let mut bytes = [0; N];
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = digit(pair[0])? << 4 | digit(pair[1])?;
    }
    Some(bytes)
}

fn digit(letter: u8) -> Option<u8> {
    match letter {
        b'0'..=b'9' => Some(letter - b'0'),
        b'a'..=b'f' => Some(letter - b'a' + 10),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bytes of RFC 4648 section 10, "foobar", in small digits.
    #[test]
    fn bytes_have_one_form() {
        assert_eq!(print(b"foobar"), "666f6f626172");
        assert_eq!(read(&print(b"foobar")), Some(*b"foobar"));
        for text in ["", "666f6f6261", "666F6F626172", "666f6f62617g", "+66f6f626172", "\u{e9}66f6f62617"] {
            assert_eq!(read::<6>(text), None, "{text}");
        }
    }
}
