//! The bytes of everything that is stored or sent. They must never change: a difference here means that
//! notebooks written before can no longer be read, or that hashes and signatures no longer hold.

#![allow(clippy::unwrap_used)] // The lint spares test functions, and not their helpers here.

use expect_test::{Expect, expect};
use proptest::prelude::*;
use storypole_journal::change::{decode_draft, encode_draft};
use storypole_journal::*;

fn device(byte: u8) -> DeviceId {
    DeviceId::from_bytes([byte; 16])
}

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

/// Three writes in two groups: one plain, one that has seen two others, one with a reason only.
fn draft() -> Draft {
    let seen = |byte, index| WriteId { draft: DraftId::from_bytes([byte; 16]), index };
    let write = |record, kind, field, value| Write {
        record: RecordId::from_bytes([record; 16]),
        kind: name(kind),
        field: name(field),
        value,
        seen: Vec::new(),
        reason: None,
    };
    Draft {
        id: DraftId::from_parts(1_760_000_000_000, [0x11; 10]),
        author: RecordId::from_bytes([0xA0; 16]),
        written_at: WrittenAt { unix_ms: 1_760_000_000_123, offset_min: -90 },
        writes: vec![
            write(0xB0, "entry", "note", Payload::text("studs open")),
            Write {
                seen: vec![seen(0xC0, 0), seen(0xC1, 300)],
                reason: Some("misread".into()),
                ..write(0xB0, "entry", "hours", Payload::int(-2))
            },
            Write { seen: vec![seen(0xC0, 7)], ..write(0xB1, "task", "state", Payload::null()) },
        ],
    }
}

fn change() -> Change {
    Change {
        device: device(0xD0),
        seq: 258,
        stamp: Stamp::from_parts(1_760_000_000_200, 3),
        prev: first_prev(NotebookId::founded_by(device(0xD0)), device(0xD0)),
        draft: draft(),
    }
}

fn vector() -> Vector {
    let entry = |count, byte| Entry { count, hash: ChangeHash([byte; 32]) };
    [(device(2), entry(70_000, 3)), (device(1), entry(1, 4))].into_iter().collect()
}

/// One plain field, one in conflict and corrected, one with history, one with something missing.
fn state() -> RecordState {
    let place = |stamp: u64, byte| Place { stamp: Stamp(stamp << 16), device: device(byte) };
    let mut state = RecordState::default();
    let mut apply = |draft: u8, index, stamp, field, seen: &[(u8, u32)], reason: bool| {
        let id = |draft: u8, index| WriteId { draft: DraftId::from_bytes([draft; 16]), index };
        let write = Write {
            record: RecordId::from_bytes([0xB0; 16]),
            kind: name("entry"),
            field: name(field),
            value: Payload::null(),
            seen: seen.iter().map(|(draft, index)| id(*draft, *index)).collect(),
            reason: reason.then(|| "misread".to_owned()),
        };
        let written_at = WrittenAt { unix_ms: stamp as i64 - 5, offset_min: 60 };
        let author = RecordId::from_bytes([0xA0; 16]);
        state.apply(id(draft, index), place(stamp, draft), written_at, author, &write);
    };
    apply(1, 0, 1000, "note", &[], false);
    apply(1, 1, 1000, "hours", &[], false);
    apply(1, 2, 1000, "day", &[], false);
    apply(2, 0, 1001, "hours", &[(1, 1)], true);
    apply(3, 0, 1002, "hours", &[(1, 1)], false);
    apply(4, 0, 1003, "day", &[(1, 2)], false);
    apply(4, 1, 1003, "kind", &[(9, 0)], false);
    state
}

fn check(bytes: &[u8], expected: Expect) {
    let lines: Vec<String> =
        bytes.chunks(32).map(|line| line.iter().map(|byte| format!("{byte:02x}")).collect()).collect();
    expected.assert_eq(&lines.join("\n"));
}

#[test]
fn a_draft_keeps_its_bytes() {
    check(
        &encode_draft(&draft()),
        expect![[r#"
        8601500199c82cc0007111911111111111111150a0a0a0a0a0a0a0a0a0a0a0a0
        a0a0a0a01b00000199c82cc07b3859828350b0b0b0b0b0b0b0b0b0b0b0b0b0b0
        b0b065656e7472798282646e6f74656a7374756473206f70656e8465686f7572
        73218450c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c00050c1c1c1c1c1c1c1c1c1c1
        c1c1c1c1c1c119012c676d6973726561648350b1b1b1b1b1b1b1b1b1b1b1b1b1
        b1b1b1647461736b8183657374617465f68250c0c0c0c0c0c0c0c0c0c0c0c0c0
        c0c0c007"#]],
    );
    check(
        draft().content_hash().as_bytes(),
        expect!["bb7db9226b12d5c5c7c336b458ad552e830305c6ef8b357b84e2d2182273a5ee"],
    );
    assert_eq!(decode_draft(&encode_draft(&draft())), Ok(draft()));
}

#[test]
fn a_change_keeps_its_bytes() {
    check(
        &change().encode(),
        expect![[r#"
        860150d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d01901021b0199c82cc0c8000358
        203f138e474c9f93a9ea1f073774c0a24e2b19e6afabd81ec6de7fd7d0ef5d20
        788601500199c82cc0007111911111111111111150a0a0a0a0a0a0a0a0a0a0a0
        a0a0a0a0a01b00000199c82cc07b3859828350b0b0b0b0b0b0b0b0b0b0b0b0b0
        b0b0b065656e7472798282646e6f74656a7374756473206f70656e8465686f75
        7273218450c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c00050c1c1c1c1c1c1c1c1c1
        c1c1c1c1c1c1c119012c676d6973726561648350b1b1b1b1b1b1b1b1b1b1b1b1
        b1b1b1b1647461736b8183657374617465f68250c0c0c0c0c0c0c0c0c0c0c0c0
        c0c0c0c007"#]],
    );
    check(
        change().hash().as_bytes(),
        expect!["eeced17c4fc5ac9ed2ec011c3480752607e1660815e9434b0626fe5d4c70e664"],
    );
    assert_eq!(Change::decode(&change().encode()), Ok(change()));
}

#[test]
fn a_signature_keeps_its_bytes() {
    let key = DeviceKey::from_bytes(&[0x5E; 32]);
    let notebook = NotebookId::founded_by(device(0xD0));
    let signature = key.sign(notebook, device(0xD1), 259, ChangeHash([0xE0; 32]));
    check(
        &signature.encode(),
        expect![[r#"
        850150d1d1d1d1d1d1d1d1d1d1d1d1d1d1d1d11901035820e0e0e0e0e0e0e0e0
        e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e058409ee96c2c53f2
        43b52d318e32f8e2e4b4670bef37b1a215038933da3cb64f10a132f129a56305
        d70f0c586f2ae98c464680d6f6d233bb0e68adb371564fbced03"#]],
    );
    assert_eq!(SeriesSignature::decode(&signature.encode()), Ok(signature));
}

#[test]
fn a_vector_keeps_its_bytes() {
    check(
        &vector().encode(),
        expect![[r#"
        8201828350010101010101010101010101010101010158200404040404040404
        0404040404040404040404040404040404040404040404048350020202020202
        020202020202020202021a000111705820030303030303030303030303030303
        0303030303030303030303030303030303"#]],
    );
    assert_eq!(Vector::decode(&vector().encode()), Ok(vector()));
}

#[test]
fn a_state_keeps_its_bytes() {
    check(
        &state().encode(),
        expect![[r#"
        0104010101010101010101010101010101010000000003e80000010101010101
        01010101010101010101020202020202020202020202020202020000000003e9
        0000020202020202020202020202020202020303030303030303030303030303
        03030000000003ea000003030303030303030303030303030303040404040404
        040404040404040404040000000003eb00000404040404040404040404040404
        0404010909090909090909090909090909090901a0a0a0a0a0a0a0a0a0a0a0a0
        a0a0a0a0097804026461790103010a0044686f757273020201010500036b696e
        6401080001080104836e6f746500"#]],
    );
    assert_eq!(RecordState::decode(&state().encode()), Ok(state()));
}

/// An independent reader, minicbor, finds in the bytes what the format's description says.
#[test]
fn another_reader_finds_the_described_format() {
    let bytes = change().encode();
    let mut reader = minicbor::Decoder::new(&bytes);
    assert_eq!((reader.array().unwrap(), reader.u64().unwrap()), (Some(6), 1));
    assert_eq!(reader.bytes().unwrap(), [0xD0; 16]);
    assert_eq!((reader.u64().unwrap(), reader.u64().unwrap()), (258, 1_760_000_000_200 << 16 | 3));
    assert_eq!(reader.bytes().unwrap(), change().prev.0);
    let draft_at = reader.position();
    assert_eq!((reader.array().unwrap(), reader.u64().unwrap()), (Some(6), 1));
    assert_eq!(reader.bytes().unwrap(), draft().id.as_bytes());
    assert_eq!(reader.bytes().unwrap(), [0xA0; 16]);
    assert_eq!((reader.i64().unwrap(), reader.i64().unwrap()), (1_760_000_000_123, -90));
    assert_eq!(reader.array().unwrap(), Some(2));
    assert_eq!(reader.array().unwrap(), Some(3));
    assert_eq!((reader.bytes().unwrap(), reader.str().unwrap()), (&[0xB0; 16][..], "entry"));
    assert_eq!(reader.array().unwrap(), Some(2));
    assert_eq!(reader.array().unwrap(), Some(2));
    assert_eq!((reader.str().unwrap(), reader.str().unwrap()), ("note", "studs open"));
    assert_eq!(reader.array().unwrap(), Some(4));
    assert_eq!((reader.str().unwrap(), reader.i64().unwrap()), ("hours", -2));
    assert_eq!(reader.array().unwrap(), Some(4));
    assert_eq!((reader.bytes().unwrap(), reader.u64().unwrap()), (&[0xC0; 16][..], 0));
    assert_eq!((reader.bytes().unwrap(), reader.u64().unwrap()), (&[0xC1; 16][..], 300));
    assert_eq!(reader.str().unwrap(), "misread");
    assert_eq!(reader.array().unwrap(), Some(3));
    assert_eq!((reader.bytes().unwrap(), reader.str().unwrap()), (&[0xB1; 16][..], "task"));
    assert_eq!(reader.array().unwrap(), Some(1));
    assert_eq!(reader.array().unwrap(), Some(3));
    assert_eq!(reader.str().unwrap(), "state");
    reader.null().unwrap();
    assert_eq!(reader.array().unwrap(), Some(2));
    assert_eq!((reader.bytes().unwrap(), reader.u64().unwrap()), (&[0xC0; 16][..], 7));
    assert_eq!(reader.position(), bytes.len());
    // The draft inside is the draft as it travels alone.
    assert_eq!(bytes[draft_at..], encode_draft(&draft()));
}

fn any_draft() -> impl Strategy<Value = Draft> {
    let id = || any::<[u8; 16]>();
    let value = prop_oneof![
        any::<i64>().prop_map(Payload::int),
        ".{0,40}".prop_map(|text| Payload::text(&text)),
        proptest::collection::vec(any::<u8>(), 0..60).prop_map(|bytes| Payload::bytes(&bytes)),
        Just(Payload::null()),
    ];
    let seen = proptest::collection::btree_set((id(), any::<u32>()), 0..3);
    let write = (0..4u8, "[a-z0-9_]{1,30}", "[a-z0-9_]{1,64}", value, seen, proptest::option::of(".{1,30}"));
    let writes = proptest::collection::vec(write, 1..12);
    (id(), id(), any::<i64>(), any::<i16>(), writes).prop_map(
        |(draft, author, unix_ms, offset_min, writes)| {
            let write = |(record, kind, field, value, seen, reason): (_, String, String, _, _, _)| {
                let seen: std::collections::BTreeSet<([u8; 16], u32)> = seen;
                let id = |(draft, index)| WriteId { draft: DraftId::from_bytes(draft), index };
                Write {
                    record: RecordId::from_bytes([record; 16]),
                    kind: name(if record < 2 { "entry" } else { &kind }),
                    field: name(&field),
                    value,
                    seen: seen.into_iter().map(id).collect(),
                    reason,
                }
            };
            Draft {
                id: DraftId::from_bytes(draft),
                author: RecordId::from_bytes(author),
                written_at: WrittenAt { unix_ms, offset_min },
                writes: writes.into_iter().map(write).collect(),
            }
        },
    )
}

proptest! {
    #[test]
    fn drafts_and_changes_round_trip(draft in any_draft(), seq: u64, stamp in 0..=Stamp::MAX.0) {
        prop_assume!(draft.check().is_ok());
        let bytes = draft.encode();
        prop_assert_eq!(decode_draft(&bytes), Ok(draft.clone()));
        let change = Change { device: device(1), seq, stamp: Stamp(stamp), prev: ChangeHash([2; 32]), draft };
        prop_assert_eq!(Change::decode(&change.encode()), Ok(change.clone()));
        // It is one item of deterministic CBOR, as the strict reader sees it.
        let bytes = change.encode();
        let mut reader = cbor::Reader::new(&bytes);
        prop_assert!(reader.item().is_ok() && reader.end().is_ok());
    }

    #[test]
    fn any_bytes_are_read_without_panic(bytes: Vec<u8>) {
        check_canonical(&bytes)?;
    }

    /// One byte changed, dropped or added: refused, or the one encoding of something else.
    #[test]
    fn damage_is_refused_or_canonical(which in 0..4usize, at: prop::sample::Index, with: u8, how in 0..3u8) {
        let signature = DeviceKey::from_bytes(&[1; 32]).sign(
            NotebookId::founded_by(device(1)), device(2), 300, ChangeHash([3; 32]),
        );
        let forms = [change().encode(), draft().encode(), signature.encode(), vector().encode()];
        let mut bytes = forms[which].clone();
        let at = at.index(bytes.len());
        match how {
            0 => bytes[at] = with,
            1 => { bytes.remove(at); }
            _ => bytes.insert(at, with),
        }
        check_canonical(&bytes)?;
    }
}

fn check_canonical(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Ok(change) = Change::decode(bytes) {
        prop_assert_eq!(change.encode(), bytes);
    }
    if let Ok(draft) = decode_draft(bytes) {
        prop_assert_eq!(draft.encode(), bytes);
    }
    if let Ok(signature) = SeriesSignature::decode(bytes) {
        prop_assert_eq!(signature.encode(), bytes);
    }
    if let Ok(vector) = Vector::decode(bytes) {
        prop_assert_eq!(vector.encode(), bytes);
    }
    if let Ok(state) = RecordState::decode(bytes) {
        prop_assert_eq!(state.encode(), bytes);
    }
    Ok(())
}

/// A vouch signed by the secret key of RFC 8032 section 7.1, test 1. OpenSSL 3 (`openssl pkeyutl -sign -rawin`) makes
/// the same signature over the message written out by hand: domain, notebook, voucher, device, key, role.
#[test]
fn the_bytes_of_a_vouch_stay() {
    let secret = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
    let bytes: [u8; 32] =
        std::array::from_fn(|at| u8::from_str_radix(&secret[2 * at..2 * at + 2], 16).unwrap());
    let key = DeviceKey::from_bytes(&bytes);
    let notebook = NotebookId::founded_by(device(0xD0));
    let signature = key.vouch(notebook, device(0xD0), device(0xD1), PublicKey([0xAA; 32]), Role::Crew);
    let shown: String = signature.iter().map(|byte| format!("{byte:02x}")).collect();
    expect!["1fd2ca56a0ed9cb9ec5354af0aebf01dda712654027773ee49a067171fbbdae89d6a469471aefae676acf98d79d5349feda4e575ed755365a1fd5dcf3e196707"].assert_eq(&shown);
}
