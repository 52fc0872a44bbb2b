//! How a device and a server prove to each other that both know a code, without telling it.
//!
//! SPAKE2 gives both a key that is equal only if their codes are, and whoever guesses has one guess for each exchange.
//! The TLS certificate that each side sees goes into the names of both ends: one who stands between shows another
//! certificate, so the keys differ. Each side then signs what it says with a key of its own direction, which is the
//! confirmation too. Nothing here is secret to the other end of the TLS connection, so it is signed, not encrypted.

use spake2::{Ed25519Group, Identity, Password, Spake2};

use crate::access::codes::OneTimeCode;

/// Length of both messages, bytes: a letter for the side and a point of the curve.
pub const MESSAGE: usize = 33;

/// The SHA-256 of the certificate that is shown; none over plain HTTP, which stays within one computer.
pub type Certificate = Option<[u8; 32]>;

/// The device's half, while the server's message is on its way.
pub struct Asking {
    state: Spake2<Ed25519Group>,
    message: Vec<u8>,
}

/// What both ends hold when the messages are exchanged: good for nothing unless the codes are equal.
#[derive(Clone)]
pub struct Keys {
    asking: [u8; 32],
    answering: [u8; 32],
}

/// It must not get into a log.
impl std::fmt::Debug for Keys {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Keys(..)")
    }
}

/// A message that is none of this protocol.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the message is no half of a proof")]
pub struct NotAMessage;

impl Asking {
    /// Begins; the message goes to the server.
    pub fn begin(code: &OneTimeCode, seen: Certificate) -> (Self, Vec<u8>) {
        let (state, message) = Spake2::<Ed25519Group>::start_a(&password(code), &device(seen), &server(seen));
        (Self { state, message: message.clone() }, message)
    }

    /// Takes the server's message.
    ///
    /// # Errors
    /// [`NotAMessage`].
    pub fn finish(self, theirs: &[u8], seen: Certificate) -> Result<Keys, NotAMessage> {
        let shared = self.state.finish(theirs).map_err(|_| NotAMessage)?;
        Ok(keys(&shared, &self.message, theirs, seen))
    }
}

/// The server's half: its message, and the keys.
///
/// # Errors
/// [`NotAMessage`].
pub fn answer(code: &OneTimeCode, theirs: &[u8], shown: Certificate) -> Result<(Vec<u8>, Keys), NotAMessage> {
    let (state, message) = Spake2::<Ed25519Group>::start_b(&password(code), &device(shown), &server(shown));
    let shared = state.finish(theirs).map_err(|_| NotAMessage)?;
    let keys = keys(&shared, theirs, &message, shown);
    Ok((message, keys))
}

fn password(code: &OneTimeCode) -> Password {
    Password::new(code.as_bytes())
}

fn device(certificate: Certificate) -> Identity {
    Identity::new(&[&b"storypole join 1: device, sees "[..], &certificate.unwrap_or_default()].concat())
}

fn server(certificate: Certificate) -> Identity {
    Identity::new(&[&b"storypole join 1: server, shows "[..], &certificate.unwrap_or_default()].concat())
}

fn keys(shared: &[u8], asked: &[u8], answered: &[u8], certificate: Certificate) -> Keys {
    let certificate = certificate.unwrap_or_default();
    let all = whole(&[shared, asked, answered, &certificate]);
    Keys {
        asking: blake3::derive_key("storypole join 1, what the device signs with", &all),
        answering: blake3::derive_key("storypole join 1, what the server signs with", &all),
    }
}

impl Keys {
    /// Signs what the device says.
    pub fn of_device(&self, parts: &[&[u8]]) -> blake3::Hash {
        blake3::keyed_hash(&self.asking, &whole(parts))
    }

    /// Signs what the server says. Compare hashes with `==`, whose time tells nothing.
    pub fn of_server(&self, parts: &[&[u8]]) -> blake3::Hash {
        blake3::keyed_hash(&self.answering, &whole(parts))
    }
}

/// Parts one after another, each with its length, so that no two lists look alike.
fn whole(parts: &[&[u8]]) -> Vec<u8> {
    let mut all = Vec::new();
    for part in parts {
        all.extend_from_slice(&(part.len() as u64).to_le_bytes());
        all.extend_from_slice(part);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(typed: &str) -> OneTimeCode {
        OneTimeCode::parse(typed).unwrap()
    }

    fn exchange((theirs, seen): (&str, Certificate), (ours, shown): (&str, Certificate)) -> (Keys, Keys) {
        let (asking, message) = Asking::begin(&code(theirs), seen);
        assert_eq!(message.len(), MESSAGE);
        let (answer, server) = answer(&code(ours), &message, shown).unwrap();
        assert_eq!(answer.len(), MESSAGE);
        (asking.finish(&answer, seen).unwrap(), server)
    }

    #[test]
    fn both_prove_the_same_code_over_the_same_connection() {
        let seen = Some([7; 32]);
        let (device, server) = exchange(("7KQ2-M9XD", seen), ("7kq2m9xd", seen));
        let said: &[&[u8]] = &[b"one", b"two"];
        assert_eq!(device.of_device(said), server.of_device(said));
        assert_eq!(device.of_server(said), server.of_server(said));
        assert_ne!(device.of_device(said), device.of_server(said), "an answer is no mirror");
        assert_ne!(device.of_device(said), device.of_device(&[b"onet", b"wo"]));
    }

    #[test]
    fn another_code_or_another_certificate_proves_nothing() {
        let seen = Some([7; 32]);
        for (device, server) in [
            (("7KQ2-M9XD", seen), ("7KQ2-M9XE", seen)),
            (("7KQ2-M9XD", seen), ("7KQ2-M9XD", Some([8; 32]))),
            (("7KQ2-M9XD", None), ("7KQ2-M9XD", seen)),
            (("7KQ2-M9XD", seen), ("7KQ2-M9XD", None)),
        ] {
            let (one, other) = exchange(device, server);
            assert_ne!(one.of_device(&[b"x"]), other.of_device(&[b"x"]));
            assert_ne!(one.of_server(&[b"x"]), other.of_server(&[b"x"]));
        }
    }

    #[test]
    fn two_exchanges_have_nothing_in_common() {
        let (one, _) = exchange(("7KQ2-M9XD", None), ("7KQ2-M9XD", None));
        let (other, _) = exchange(("7KQ2-M9XD", None), ("7KQ2-M9XD", None));
        assert_ne!(
            one.of_device(&[b"x"]),
            other.of_device(&[b"x"]),
            "what was said once cannot be said again"
        );
    }

    #[test]
    fn garbage_is_no_half_of_a_proof() {
        let (_, own) = Asking::begin(&code("7KQ2-M9XD"), None);
        let mut mirrored = own.clone();
        mirrored[0] = b'B';
        // No point of the curve of RFC 8032 has this y: (y^2 - 1) / (d y^2 + 1) is no square (computed by hand).
        let mut no_point = [0; MESSAGE];
        (no_point[0], no_point[1]) = (b'A', 2);
        for message in [&[][..], b"A", &[0; 33], &[b'A'; 34], &mirrored, &no_point] {
            assert!(answer(&code("7KQ2-M9XD"), message, None).is_err(), "{message:?}");
        }
        let (asking, own) = Asking::begin(&code("7KQ2-M9XD"), None);
        assert!(asking.finish(&own, None).is_err(), "its own message sent back");
    }
}
