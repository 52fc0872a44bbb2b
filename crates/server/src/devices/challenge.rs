//! Challenges that need no memory until they are answered: each carries when it was made and a seal over it.

use std::collections::HashMap;
use std::sync::Mutex;
use std::time::Duration;

use storypole_desk::edge;
use storypole_journal::DeviceId;
use tokio::time::Instant;

use crate::access::lock;

/// Milliseconds since the server started (8 bytes), random (16), seal (24).
pub const CHALLENGE_BYTES: usize = 48;

const SEAL_BYTES: usize = 24;

/// How long a challenge may be answered (convention of this project).
const OPEN: Duration = Duration::from_secs(60);

pub struct Challenges {
    secret: [u8; 32],
    began: Instant,
    /// Those that were answered rightly within the last minute; only members get here.
    answered: Mutex<HashMap<[u8; CHALLENGE_BYTES], Instant>>,
}

impl Challenges {
    pub fn new(now: Instant) -> Self {
        Self { secret: edge::random(), began: now, answered: Mutex::default() }
    }

    /// One for a device that greets with a nonce.
    pub fn make(&self, device: DeviceId, nonce: &[u8; 32], now: Instant) -> [u8; CHALLENGE_BYTES] {
        let made_ms = u64::try_from(now.duration_since(self.began).as_millis()).unwrap_or(u64::MAX);
        let mut challenge = [0; CHALLENGE_BYTES];
        let (open, seal) = challenge.split_at_mut(CHALLENGE_BYTES - SEAL_BYTES);
        open[..8].copy_from_slice(&made_ms.to_be_bytes());
        open[8..].copy_from_slice(&edge::random::<16>());
        seal.copy_from_slice(&self.seal(open, device, nonce).as_bytes()[..SEAL_BYTES]);
        challenge
    }

    /// Whether a challenge was made here for this device and nonce, within the last minute.
    pub fn is_open(
        &self,
        challenge: &[u8; CHALLENGE_BYTES],
        device: DeviceId,
        nonce: &[u8; 32],
        now: Instant,
    ) -> bool {
        let (open, seal) = challenge.split_at(CHALLENGE_BYTES - SEAL_BYTES);
        let mut expected = [0; 32];
        expected[..SEAL_BYTES].copy_from_slice(&self.seal(open, device, nonce).as_bytes()[..SEAL_BYTES]);
        let mut shown = [0; 32];
        shown[..SEAL_BYTES].copy_from_slice(seal);
        // This comparison takes the same time wherever the two differ.
        if blake3::Hash::from_bytes(expected) != blake3::Hash::from_bytes(shown) {
            return false;
        }
        let made_ms = u64::from_be_bytes(open[..8].try_into().expect("eight bytes are eight bytes"));
        let made = self.began + Duration::from_millis(made_ms);
        now.duration_since(made) < OPEN && !lock(&self.answered).contains_key(challenge)
    }

    /// Notes that it was answered rightly; false when it was before.
    pub fn use_up(&self, challenge: &[u8; CHALLENGE_BYTES], now: Instant) -> bool {
        let mut answered = lock(&self.answered);
        answered.retain(|_, at| now.duration_since(*at) < OPEN);
        answered.insert(*challenge, now).is_none()
    }

    fn seal(&self, open: &[u8], device: DeviceId, nonce: &[u8; 32]) -> blake3::Hash {
        blake3::keyed_hash(&self.secret, &[open, device.as_bytes(), nonce].concat())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEVICE: DeviceId = DeviceId::from_bytes([1; 16]);

    #[test]
    fn a_challenge_is_answered_once_within_a_minute_by_the_one_who_got_it() {
        let start = Instant::now();
        let at = |s: u64| start + Duration::from_secs(s);
        let challenges = Challenges::new(start);
        let challenge = challenges.make(DEVICE, &[2; 32], at(5));
        let is_open = |device, nonce: u8, s: u64| challenges.is_open(&challenge, device, &[nonce; 32], at(s));
        assert!(is_open(DEVICE, 2, 5) && is_open(DEVICE, 2, 64));
        assert!(!is_open(DEVICE, 2, 65), "a minute is over");
        assert!(!is_open(DeviceId::from_bytes([3; 16]), 2, 5) && !is_open(DEVICE, 3, 5));
        assert!(!Challenges::new(start).is_open(&challenge, DEVICE, &[2; 32], at(5)), "of another server");
        for byte in 0..CHALLENGE_BYTES {
            let mut other = challenge;
            other[byte] ^= 1;
            assert!(!challenges.is_open(&other, DEVICE, &[2; 32], at(5)), "{byte}");
        }
        assert!(challenges.use_up(&challenge, at(6)) && !challenges.use_up(&challenge, at(6)));
        assert!(!is_open(DEVICE, 2, 7));
    }

    #[test]
    fn those_that_were_answered_are_forgotten_once_they_are_too_old() {
        let start = Instant::now();
        let challenges = Challenges::new(start);
        for s in 0..200 {
            let now = start + Duration::from_secs(s);
            assert!(challenges.use_up(&challenges.make(DEVICE, &[2; 32], now), now));
        }
        assert_eq!(lock(&challenges.answered).len(), 60);
    }
}
