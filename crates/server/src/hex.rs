//! Bytes as hexadecimal digits, for JSON and for people. Leaves out upper case, which nobody here writes.

/// The digits of some bytes.
pub fn print(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let digit = |at: u8| char::from(DIGITS[usize::from(at & 15)]);
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(*byte)]).collect()
}

/// The bytes of exactly `N` pairs of digits.
pub fn parse<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digits = text.as_bytes();
    if digits.len() != 2 * N {
        return None;
    }
    let mut bytes = [0; N];
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = value(pair[0])? << 4 | value(pair[1])?;
    }
    Some(bytes)
}

fn value(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648 section 10, in lower case.
    #[test]
    fn digits_as_published() {
        assert_eq!(print(b"foobar"), "666f6f626172");
        assert_eq!(parse::<6>("666f6f626172"), Some(*b"foobar"));
        for bad in ["", "666f6f62617", "666f6f62617g", "666F6F626172", "é66f6f62617", "666f6f62617200"] {
            assert_eq!(parse::<6>(bad), None, "{bad}");
        }
    }
}
