//! Keys and signatures: a device signs where its series stands, which covers all before it.

use std::fmt;

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};

use crate::cbor::{Reader, Writer};
use crate::change::{ChangeHash, DecodeError, read_opening};
use crate::ids::{DeviceId, NotebookId};
use crate::membership::Role;

pub mod proof;

/// What every signed message starts with, so that a signature never means something else elsewhere.
const DOMAIN: &[u8] = b"storypole journal 1 series signature\0";
/// The same for the word of one device for another.
const VOUCH_DOMAIN: &[u8] = b"storypole journal 1 vouch\0";

/// The secret key of a device (Ed25519, RFC 8032). It never leaves the device and is in no backup.
#[derive(Clone)]
pub struct DeviceKey(SigningKey);

impl DeviceKey {
    /// Makes the key of 32 secret random bytes.
    pub fn from_bytes(secret: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(secret))
    }

    /// Returns the secret bytes, to be kept in the device's key file and nowhere else.
    pub fn to_bytes(&self) -> [u8; 32] {
        self.0.to_bytes()
    }

    /// Returns the key that others verify with.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key().to_bytes())
    }

    /// Signs that the series of `device` has `count` changes, the last of hash `hash`.
    pub fn sign(
        &self,
        notebook: NotebookId,
        device: DeviceId,
        count: u64,
        hash: ChangeHash,
    ) -> SeriesSignature {
        let bytes = self.0.sign(&message(notebook, device, count, hash)).to_bytes();
        SeriesSignature { device, count, hash, bytes }
    }

    /// Signs, as the device `voucher`, that `device` with this key and role belongs to the notebook; see
    /// [`membership::vouch`](crate::membership::vouch).
    pub fn vouch(
        &self,
        notebook: NotebookId,
        voucher: DeviceId,
        device: DeviceId,
        key: PublicKey,
        role: Role,
    ) -> [u8; 64] {
        self.0.sign(&vouch_message(notebook, voucher, device, key, role)).to_bytes()
    }
}

impl fmt::Debug for DeviceKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("DeviceKey(secret)")
    }
}

/// The public key of a device (Ed25519, RFC 8032).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PublicKey(pub [u8; 32]);

impl PublicKey {
    /// Says whether this key, as that of `voucher`, made a signature of [`DeviceKey::vouch`]; verified strictly
    /// (RFC 8032 section 5.1.7, small-order keys refused).
    pub fn vouched(
        &self,
        notebook: NotebookId,
        voucher: DeviceId,
        device: DeviceId,
        key: PublicKey,
        role: Role,
        signature: &[u8; 64],
    ) -> bool {
        let message = vouch_message(notebook, voucher, device, key, role);
        let verifies =
            |own: VerifyingKey| own.verify_strict(&message, &Signature::from_bytes(signature)).is_ok();
        VerifyingKey::from_bytes(&self.0).is_ok_and(verifies)
    }
}

/// A device's word that its series has `count` changes, the last of hash `hash`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeriesSignature {
    /// Whose series.
    pub device: DeviceId,
    /// How many changes it covers: all before this count.
    pub count: u64,
    /// The hash of the last one covered.
    pub hash: ChangeHash,
    /// The Ed25519 signature.
    pub bytes: [u8; 64],
}

impl SeriesSignature {
    /// Verifies the signature strictly (RFC 8032 section 5.1.7, small-order keys refused).
    ///
    /// # Errors
    /// [`SignatureError`] if the key is none or the signature is not by it.
    pub fn verify(&self, notebook: NotebookId, key: &PublicKey) -> Result<(), SignatureError> {
        let key = VerifyingKey::from_bytes(&key.0).map_err(|_| SignatureError::Key)?;
        let message = message(notebook, self.device, self.count, self.hash);
        key.verify_strict(&message, &Signature::from_bytes(&self.bytes))
            .map_err(|_| SignatureError::NotByThisKey { device: self.device, count: self.count })
    }

    /// Encodes deterministically: `[version, device, count, hash, signature]`.
    pub fn encode(&self) -> Vec<u8> {
        let mut writer = Writer::with_capacity(130);
        writer.array(5).uint(crate::change::FORMAT_VERSION).bytes(self.device.as_bytes()).uint(self.count);
        writer.bytes(&self.hash.0).bytes(&self.bytes);
        writer.into_bytes()
    }

    /// Decodes the very bytes that [`SeriesSignature::encode`] makes. Does not verify.
    ///
    /// # Errors
    /// [`DecodeError`] on any other bytes.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut reader = Reader::new(bytes);
        read_opening(&mut reader, 5)?;
        let device = DeviceId::from_bytes(reader.fixed()?);
        let count = reader.uint()?;
        let hash = ChangeHash(reader.fixed()?);
        let signature = Self { device, count, hash, bytes: reader.fixed()? };
        reader.end()?;
        Ok(signature)
    }
}

/// Why a signature does not cover what it claims.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SignatureError {
    /// The member's key is no point of the curve.
    #[error("the public key is not valid")]
    Key,
    /// Forged, damaged, or of another notebook.
    #[error("the signature over {count} changes of device {device} is not by its key")]
    NotByThisKey {
        /// Whose series.
        device: DeviceId,
        /// The count it claims to cover.
        count: u64,
    },
}

fn message(notebook: NotebookId, device: DeviceId, count: u64, hash: ChangeHash) -> Vec<u8> {
    [DOMAIN, notebook.as_bytes(), device.as_bytes(), &count.to_be_bytes(), &hash.0].concat()
}

fn vouch_message(
    notebook: NotebookId,
    voucher: DeviceId,
    device: DeviceId,
    key: PublicKey,
    role: Role,
) -> Vec<u8> {
    // Only the role has no fixed length, and it comes last.
    let ids: [&[u8]; 3] = [notebook.as_bytes(), voucher.as_bytes(), device.as_bytes()];
    [VOUCH_DOMAIN, &ids.concat(), &key.0, role.as_str().as_bytes()].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Secret and public key of RFC 8032 section 7.1, test 1.
    const SECRET: &str = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
    const PUBLIC: &str = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";

    fn bytes<const N: usize>(hex: &str) -> [u8; N] {
        std::array::from_fn(|at| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16).unwrap())
    }

    fn device(byte: u8) -> DeviceId {
        DeviceId::from_bytes([byte; 16])
    }

    #[test]
    fn derives_the_public_key_of_rfc_8032() {
        assert_eq!(DeviceKey::from_bytes(&bytes(SECRET)).public(), PublicKey(bytes(PUBLIC)));
    }

    /// RFC 8032 section 7.1, test 1: the empty message.
    #[test]
    fn signs_as_rfc_8032() {
        let expected: [u8; 64] = bytes(
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b\
             d25bf5f0595bbe24655141438e7a100b",
        );
        assert_eq!(DeviceKey::from_bytes(&bytes(SECRET)).0.sign(b"").to_bytes(), expected);
    }

    #[test]
    fn a_signature_holds_for_one_notebook_device_count_and_hash() {
        let key = DeviceKey::from_bytes(&[7; 32]);
        let notebook = NotebookId::founded_by(device(1));
        let good = key.sign(notebook, device(2), 5, ChangeHash([3; 32]));
        assert_eq!(good.verify(notebook, &key.public()), Ok(()));
        let elsewhere = NotebookId::founded_by(device(9));
        assert!(good.verify(elsewhere, &key.public()).is_err());
        let another = DeviceKey::from_bytes(&[8; 32]).public();
        assert!(good.verify(notebook, &another).is_err());
        let mut damaged = good;
        damaged.bytes[0] ^= 1;
        for bad in [
            SeriesSignature { device: device(3), ..good },
            SeriesSignature { count: 6, ..good },
            SeriesSignature { hash: ChangeHash([4; 32]), ..good },
            damaged,
        ] {
            assert!(bad.verify(notebook, &key.public()).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn a_vouch_holds_for_one_notebook_voucher_device_key_and_role() {
        let (key, new) = (DeviceKey::from_bytes(&[7; 32]), DeviceKey::from_bytes(&[8; 32]).public());
        let (here, elsewhere) = (NotebookId::founded_by(device(1)), NotebookId::founded_by(device(9)));
        let signature = key.vouch(here, device(2), device(3), new, Role::Crew);
        let holds = |notebook, voucher, whom, new, role, signature: &[u8; 64]| {
            key.public().vouched(notebook, device(voucher), device(whom), new, role, signature)
        };
        assert!(holds(here, 2, 3, new, Role::Crew, &signature));
        assert!(!holds(elsewhere, 2, 3, new, Role::Crew, &signature));
        assert!(!holds(here, 4, 3, new, Role::Crew, &signature));
        assert!(!holds(here, 2, 4, new, Role::Crew, &signature));
        assert!(!holds(here, 2, 3, key.public(), Role::Crew, &signature));
        assert!(!holds(here, 2, 3, new, Role::Keeper, &signature));
        let mut damaged = signature;
        damaged[0] ^= 1;
        assert!(!holds(here, 2, 3, new, Role::Crew, &damaged));
        assert!(
            !new.vouched(here, device(2), device(3), new, Role::Crew, &signature),
            "its own word is none"
        );
    }

    /// The neutral element is a key under which some signatures hold for every message.
    #[test]
    fn a_weak_key_verifies_nothing() {
        let mut neutral = [0; 32];
        neutral[0] = 1;
        let mut bytes = [0; 64];
        bytes[0] = 1;
        let forged = SeriesSignature { device: device(1), count: 1, hash: ChangeHash([0; 32]), bytes };
        assert!(forged.verify(NotebookId::founded_by(device(1)), &PublicKey(neutral)).is_err());
    }

    #[test]
    fn the_secret_is_not_printed() {
        let shown = format!("{:?}", DeviceKey::from_bytes(&[0xAB; 32]));
        assert_eq!(shown, "DeviceKey(secret)");
    }
}
