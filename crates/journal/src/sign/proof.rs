//! Proofs of being a device: what two devices that meet sign to show each other who they are.
//!
//! A proof holds for one notebook, one pair of devices, one nonce and one challenge, and for one of the two
//! directions, so that it can be neither replayed nor handed back. Leaves out how they travel and how long they hold.

use ed25519_dalek::{Signature, Signer, VerifyingKey};

use super::{DeviceKey, PublicKey};
use crate::ids::{DeviceId, NotebookId};

/// What a proof of the device that was asked starts with, and one of the device that asks: no signature means
/// something else elsewhere.
const ANSWERING: &[u8] = b"storypole journal 1 proof of the answering device\0";
const ASKING: &[u8] = b"storypole journal 1 proof of the asking device\0";

/// Which of the two devices proves itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The one that was called.
    Answering,
    /// The one that called.
    Asking,
}

/// Two devices that meet, and what makes this meeting another one than all others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meeting<'a> {
    /// The notebook both keep.
    pub notebook: NotebookId,
    /// The device that called.
    pub asking: DeviceId,
    /// The device that was called.
    pub answering: DeviceId,
    /// Random, by the one that called.
    pub nonce: [u8; 32],
    /// By the one that was called, never given twice.
    pub challenge: &'a [u8],
}

impl Meeting<'_> {
    fn message(&self, side: Side) -> Vec<u8> {
        let domain = match side {
            Side::Answering => ANSWERING,
            Side::Asking => ASKING,
        };
        // All parts but the last have one length, so that no two meetings give the same bytes.
        [
            domain,
            self.notebook.as_bytes(),
            self.asking.as_bytes(),
            self.answering.as_bytes(),
            &self.nonce,
            self.challenge,
        ]
        .concat()
    }

    /// Proves to be the device on one side.
    pub fn prove(&self, side: Side, key: &DeviceKey) -> [u8; 64] {
        key.0.sign(&self.message(side)).to_bytes()
    }

    /// Says whether a proof is by this key (RFC 8032 section 5.1.7, small-order keys refused).
    pub fn is_proven(&self, side: Side, key: &PublicKey, proof: &[u8; 64]) -> bool {
        let Ok(key) = VerifyingKey::from_bytes(&key.0) else { return false };
        key.verify_strict(&self.message(side), &Signature::from_bytes(proof)).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use super::*;

    fn device(byte: u8) -> DeviceId {
        DeviceId::from_bytes([byte; 16])
    }

    const MEETING: Meeting<'static> = Meeting {
        notebook: NotebookId::from_bytes([1; 16]),
        asking: DeviceId::from_bytes([2; 16]),
        answering: DeviceId::from_bytes([3; 16]),
        nonce: [4; 32],
        challenge: &[5; 48],
    };

    #[test]
    fn a_proof_holds_for_one_side_of_one_meeting() {
        let key = DeviceKey::from_bytes(&[7; 32]);
        let proof = MEETING.prove(Side::Asking, &key);
        let public = key.public();
        assert!(MEETING.is_proven(Side::Asking, &public, &proof));
        assert!(!MEETING.is_proven(Side::Answering, &public, &proof));
        assert!(!MEETING.is_proven(Side::Asking, &DeviceKey::from_bytes(&[8; 32]).public(), &proof));
        let mut damaged = proof;
        damaged[9] ^= 1;
        assert!(!MEETING.is_proven(Side::Asking, &public, &damaged));
        for other in [
            Meeting { notebook: NotebookId::from_bytes([9; 16]), ..MEETING },
            Meeting { asking: device(9), ..MEETING },
            Meeting { answering: device(9), ..MEETING },
            Meeting { asking: MEETING.answering, answering: MEETING.asking, ..MEETING },
            Meeting { nonce: [9; 32], ..MEETING },
            Meeting { challenge: &[5; 47], ..MEETING },
        ] {
            assert!(!other.is_proven(Side::Asking, &public, &proof), "{other:?}");
        }
    }

    /// The neutral element is a key under which some signatures hold for every message.
    #[test]
    fn a_weak_key_proves_nothing() {
        let mut neutral = [0; 32];
        neutral[0] = 1;
        let mut proof = [0; 64];
        proof[0] = 1;
        assert!(!MEETING.is_proven(Side::Asking, &PublicKey(neutral), &proof));
    }

    /// Golden bytes; devices of different versions must understand each other. Ed25519 is deterministic.
    #[test]
    fn proofs_keep_their_bytes() {
        let key = DeviceKey::from_bytes(&[7; 32]);
        let hash = |side| blake3::hash(&MEETING.prove(side, &key)).to_hex();
        expect![[r#"
            49521eba0c38c393
            5d1e318e2b5d2256"#]]
        .assert_eq(&format!("{}\n{}", &hash(Side::Answering)[..16], &hash(Side::Asking)[..16]));
    }
}
