//! Keys and sessions: 256 random bits as 43 letters, and the hash that is kept of them.

use storypole_desk::edge;
use storypole_store::SessionHash;

/// Letters of base64url (RFC 4648 section 5).
const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

/// Letters of 32 bytes without padding.
const LENGTH: usize = 43;

/// A new secret.
pub fn new() -> String {
    base64url(&edge::random::<32>())
}

/// What is kept of a secret.
pub fn hash(secret: &str) -> SessionHash {
    SessionHash::of(secret.as_bytes())
}

/// Whether a text has the form of a secret.
pub fn is_formed(text: &str) -> bool {
    text.len() == LENGTH && text.bytes().all(|letter| LETTERS.contains(&letter))
}

/// Base64url without padding (RFC 4648 section 5).
fn base64url(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let bits =
            group.iter().enumerate().fold(0u32, |bits, (at, byte)| bits | u32::from(*byte) << (16 - 8 * at));
        for place in 0..=group.len() {
            text.push(char::from(LETTERS[(bits >> (18 - 6 * place)) as usize & 63]));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648 section 10 without its padding; the last two rows, of letters 62 and 63, by hand.
    #[test]
    fn base64url_as_published() {
        for (bytes, expected) in [
            (&b""[..], ""),
            (b"f", "Zg"),
            (b"fo", "Zm8"),
            (b"foo", "Zm9v"),
            (b"foob", "Zm9vYg"),
            (b"fooba", "Zm9vYmE"),
            (b"foobar", "Zm9vYmFy"),
            (&[0xfb, 0xef, 0xbe], "----"),
            (&[0xff, 0xff, 0xff], "____"),
        ] {
            assert_eq!(base64url(bytes), expected);
        }
    }

    #[test]
    fn secrets_have_their_form_and_differ() {
        let (one, other) = (new(), new());
        assert!(is_formed(&one) && is_formed(&other));
        assert_ne!(one, other);
        assert!(!is_formed(&one[1..]) && !is_formed(&format!("{}=", &one[1..])));
    }
}
