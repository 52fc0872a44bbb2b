//! Membership records: what is written about the devices of a notebook.
//!
//! The only kind of record that the journal itself reads. A device's membership record has the same id as
//! the device. What follows from the records is judged in [`crate::standing`].

use crate::cbor::{CborError, Reader, Writer};
use crate::change::ChangeHash;
use crate::draft::{Write, WriteId};
use crate::ids::DeviceId;
use crate::name::Name;
use crate::payload::Payload;
use crate::register::Place;
use crate::sign::PublicKey;
pub use crate::standing::{Limit, Member, Standing, judge, judge_signed};

/// The kind of membership records.
pub const KIND: &str = "membership";
/// The field with the device's public key: 32 bytes.
pub const KEY: &str = "key";
/// The field with the role: a text.
pub const ROLE: &str = "role";
/// The field with the inviting device: 16 bytes.
pub const INVITED_BY: &str = "invited_by";
/// The field with the limit: `[count, hash]` or null.
pub const REVOKED: &str = "revoked";
/// The field with another device's word for this one: `[voucher, signature]`.
pub const VOUCHED: &str = "vouched";
/// The field that says why changes of another branch of the device's series were written again: the hash of the
/// first of them. It is for people; nothing follows from it.
pub const BRANCH: &str = "branch";

/// What a device may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Writes, invites and revokes.
    Keeper,
    /// Writes.
    Crew,
    /// Reads.
    Viewer,
}

impl Role {
    /// Returns the word that is stored.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Keeper => "keeper",
            Self::Crew => "crew",
            Self::Viewer => "viewer",
        }
    }

    /// Reads the word that is stored.
    pub fn parse(word: &str) -> Option<Self> {
        [Self::Keeper, Self::Crew, Self::Viewer].into_iter().find(|role| role.as_str() == word)
    }
}

/// How much of a series a revocation leaves in effect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Revocation {
    /// How many changes stay.
    pub count: u64,
    /// The hash of the last of them, as the revoking device held it; of none,
    /// [`first_prev`](crate::first_prev).
    pub hash: ChangeHash,
}

/// What a membership write says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Statement {
    /// The device's public key.
    Key(PublicKey),
    /// The device's role.
    Role(Role),
    /// The device that invited it.
    InvitedBy(DeviceId),
    /// Its limit; `None` lets it in again.
    Revoked(Option<Revocation>),
    /// Another device's word for it.
    Vouched {
        /// The device that vouches.
        voucher: DeviceId,
        /// Its signature; see [`DeviceKey::vouch`](crate::DeviceKey::vouch).
        signature: [u8; 64],
    },
}

/// Why a write says nothing about membership.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MembershipError {
    /// Another kind of record.
    #[error("not a write on a membership record")]
    OtherKind,
    /// A field of a later version; it is kept.
    #[error("an unknown field of membership")]
    UnknownField,
    /// A role of a later version.
    #[error("an unknown role")]
    UnknownRole,
    /// Not the encoding this field has.
    #[error("the value cannot be read")]
    Value {
        /// What is wrong and where.
        #[from]
        source: CborError,
    },
}

/// Returns the writes that invite `device`; the founder invites itself.
pub fn invite(device: DeviceId, key: PublicKey, role: Role, invited_by: DeviceId) -> Vec<Write> {
    vec![
        write(device, KEY, Payload::bytes(&key.0)),
        write(device, ROLE, Payload::text(role.as_str())),
        write(device, INVITED_BY, Payload::bytes(invited_by.as_bytes())),
    ]
}

/// Returns the writes by which `device` itself enters a notebook on the word of a member, `voucher`: they count in
/// the first change of its series. See [`DeviceKey::vouch`](crate::DeviceKey::vouch) for the signature.
pub fn vouch(
    device: DeviceId,
    key: PublicKey,
    role: Role,
    voucher: DeviceId,
    signature: [u8; 64],
) -> Vec<Write> {
    let mut writer = Writer::default();
    writer.array(2).bytes(voucher.as_bytes()).bytes(&signature);
    let mut writes = invite(device, key, role, voucher);
    writes.push(write(device, VOUCHED, Payload::written(&writer)));
    writes
}

/// Returns the write that says why the drafts of another branch of `device`, from the change `first` on, were
/// written again; `seen` are the heads of its `branch` register.
pub fn let_in_branch(device: DeviceId, first: ChangeHash, seen: Vec<WriteId>, reason: String) -> Vec<Write> {
    vec![Write { seen, reason: Some(reason), ..write(device, BRANCH, Payload::bytes(&first.0)) }]
}

/// Returns the write that limits `device`; `seen` are the heads of its `revoked` register.
///
/// To leave, a device revokes itself at the count and hash before this very change.
pub fn revoke(device: DeviceId, revocation: Revocation, seen: Vec<WriteId>, reason: String) -> Vec<Write> {
    let mut writer = Writer::default();
    writer.array(2).uint(revocation.count).bytes(&revocation.hash.0);
    vec![Write { seen, reason: Some(reason), ..write(device, REVOKED, Payload::written(&writer)) }]
}

/// Returns the write that lets all of `device` in again; `seen` are the heads of its `revoked` register.
///
/// To let in a part, [`revoke`] at a greater count.
pub fn let_in(device: DeviceId, seen: Vec<WriteId>, reason: String) -> Vec<Write> {
    vec![Write { seen, reason: Some(reason), ..write(device, REVOKED, Payload::null()) }]
}

/// Reads what a write says about membership.
///
/// # Errors
/// [`MembershipError`] if it says nothing that this version understands; the write is kept all the same.
pub fn parse(write: &Write) -> Result<Statement, MembershipError> {
    if write.kind != KIND {
        return Err(MembershipError::OtherKind);
    }
    let mut reader = Reader::new(write.value.as_bytes());
    let statement = match write.field.as_str() {
        KEY => Statement::Key(PublicKey(reader.fixed()?)),
        ROLE => Statement::Role(Role::parse(reader.text()?).ok_or(MembershipError::UnknownRole)?),
        INVITED_BY => Statement::InvitedBy(DeviceId::from_bytes(reader.fixed()?)),
        REVOKED if write.value.is_null() => return Ok(Statement::Revoked(None)),
        REVOKED => {
            crate::change::read_items(&mut reader, 2)?;
            let revocation = Revocation { count: reader.uint()?, hash: ChangeHash(reader.fixed()?) };
            Statement::Revoked(Some(revocation))
        }
        VOUCHED => {
            crate::change::read_items(&mut reader, 2)?;
            let voucher = DeviceId::from_bytes(reader.fixed()?);
            Statement::Vouched { voucher, signature: reader.fixed()? }
        }
        _ => return Err(MembershipError::UnknownField),
    };
    reader.end()?;
    Ok(statement)
}

/// A membership write as a change carries it; a draft carried by two changes makes two.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MembershipWrite {
    /// The change: device and seq.
    pub at: (DeviceId, u64),
    /// The place of this very change, not of the draft.
    pub place: Place,
    /// Which write.
    pub write_id: WriteId,
    /// The write.
    pub write: Write,
}

fn write(device: DeviceId, field: &str, value: Payload) -> Write {
    let name = |text| Name::new(text).expect("the names above are names");
    Write {
        record: device.membership_record(),
        kind: name(KIND),
        field: name(field),
        value,
        seen: Vec::new(),
        reason: None,
    }
}

#[cfg(test)]
mod tests {
    use expect_test::{Expect, expect};

    use super::*;

    const DEVICE: DeviceId = DeviceId::from_bytes([0xD1; 16]);

    /// Golden bytes of the payloads; they must never change.
    #[test]
    fn payloads_keep_their_bytes() {
        let check = |writes: Vec<Write>, expected: Expect| {
            let shown = |write: &Write| format!("{} {:?}\n", write.field, write.value);
            expected.assert_eq(&writes.iter().map(shown).collect::<String>());
        };
        let inviter = DeviceId::from_bytes([0xD0; 16]);
        check(
            invite(DEVICE, PublicKey([0xAA; 32]), Role::Crew, inviter),
            expect![[r#"
            key Payload(5820aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa)
            role Payload(6463726577)
            invited_by Payload(50d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0)
        "#]],
        );
        let revocation = Revocation { count: 1000, hash: ChangeHash([0xBB; 32]) };
        check(
            revoke(DEVICE, revocation, vec![], "lost".into()),
            expect![[r#"
            revoked Payload(821903e85820bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb)
        "#]],
        );
        check(
            let_in(DEVICE, vec![], "found".into()),
            expect![[r#"
            revoked Payload(f6)
        "#]],
        );
        check(
            vouch(DEVICE, PublicKey([0xAA; 32]), Role::Viewer, inviter, [0xCC; 64]),
            expect![[r#"
                key Payload(5820aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa)
                role Payload(66766965776572)
                invited_by Payload(50d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0)
                vouched Payload(8250d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d05840cccccccccccccccccccccccccccccccccccccccc… 84 bytes)
            "#]],
        );
        check(
            let_in_branch(DEVICE, ChangeHash([0xEE; 32]), vec![], "found".into()),
            expect![[r#"
            branch Payload(5820eeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeee)
        "#]],
        );
    }

    #[test]
    fn what_is_built_is_read() {
        let inviter = DeviceId::from_bytes([0xD0; 16]);
        let revocation = Revocation { count: 3, hash: ChangeHash([1; 32]) };
        for role in [Role::Keeper, Role::Crew, Role::Viewer] {
            let read: Vec<_> = invite(DEVICE, PublicKey([2; 32]), role, inviter)
                .iter()
                .map(|write| parse(write).unwrap())
                .collect();
            let key = Statement::Key(PublicKey([2; 32]));
            assert_eq!(read, [key, Statement::Role(role), Statement::InvitedBy(inviter)]);
        }
        let vouched = vouch(DEVICE, PublicKey([2; 32]), Role::Crew, inviter, [9; 64]);
        let expected = Statement::Vouched { voucher: inviter, signature: [9; 64] };
        assert_eq!(vouched.last().map(parse), Some(Ok(expected)));
        let read = |writes: Vec<Write>| parse(&writes[0]);
        let why = || "because".to_owned();
        assert_eq!(read(revoke(DEVICE, revocation, vec![], why())), Ok(Statement::Revoked(Some(revocation))));
        assert_eq!(read(let_in(DEVICE, vec![], why())), Ok(Statement::Revoked(None)));
    }

    #[test]
    fn what_cannot_be_read_is_told_apart() {
        let other = Write { kind: Name::new("entry").unwrap(), ..write(DEVICE, KEY, Payload::null()) };
        assert_eq!(parse(&other), Err(MembershipError::OtherKind));
        assert_eq!(parse(&write(DEVICE, "colour", Payload::null())), Err(MembershipError::UnknownField));
        let owner = write(DEVICE, ROLE, Payload::text("owner"));
        assert_eq!(parse(&owner), Err(MembershipError::UnknownRole));
        for (field, value) in [
            (KEY, Payload::bytes(&[0; 31])),
            (KEY, Payload::null()),
            (INVITED_BY, Payload::bytes(&[0; 17])),
            (VOUCHED, Payload::bytes(&[0; 64])),
            (REVOKED, Payload::int(3)),
            (REVOKED, Payload::new(vec![0x82, 0x03, 0x40]).unwrap()),
        ] {
            assert!(
                matches!(parse(&write(DEVICE, field, value)), Err(MembershipError::Value { .. })),
                "{field}"
            );
        }
    }
}
