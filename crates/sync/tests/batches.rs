//! Batches: what is packed comes out byte for byte, and no bytes whatever do harm.

#![allow(clippy::unwrap_used)] // The lint spares test functions, and not their helpers here.

mod world;

use std::collections::BTreeSet;

use expect_test::{Expect, expect};
use proptest::prelude::*;
use storypole_journal::cbor::Writer;
use storypole_journal::{
    Change, ChangeHash, DeviceId, DeviceKey, Draft, DraftId, Entry, Name, NotebookId, Payload, RecordId,
    Stamp, Vector, Write, WriteId, WrittenAt, first_prev,
};
use storypole_sync::{BatchError, Known, MAX_UNPACKED, Parcel, ParcelError, decode_batch, encode_batch};

use world::{World, values};

fn notebook() -> NotebookId {
    NotebookId::founded_by(DeviceId::from_bytes([0xD0; 16]))
}

fn empty() -> Known {
    Known::new(notebook(), Vector::new())
}

fn draft(writes: Vec<Write>) -> Draft {
    Draft {
        id: DraftId::from_parts(1_760_000_000_000, [0x11; 10]),
        author: RecordId::from_parts(1_750_000_000_000, [0x22; 10]),
        written_at: WrittenAt { unix_ms: 1_760_000_000_000, offset_min: -90 },
        writes,
    }
}

fn change(seq: u64, prev: ChangeHash, draft: Draft) -> Change {
    let device = DeviceId::from_bytes([0xD0; 16]);
    Change { device, seq, stamp: Stamp::from_parts(1_760_000_000_200 + seq, 0), prev, draft }
}

fn first(draft: Draft) -> Change {
    change(0, first_prev(notebook(), DeviceId::from_bytes([0xD0; 16])), draft)
}

fn write(record: u8, field: &str, value: Payload) -> Write {
    world::write(RecordId::from_parts(1_760_000_000_000, [record; 10]), "entry", field, value)
}

fn parcel_of(changes: &[Change]) -> Parcel {
    Parcel { changes: changes.iter().map(Change::encode).collect(), signatures: Vec::new() }
}

/// Packs and unpacks; both ends then know the same.
#[track_caller]
fn check_round_trip(parcel: &Parcel, known: &Known) -> Vec<u8> {
    let (mut ours, mut theirs) = (known.clone(), known.clone());
    let bytes = encode_batch(parcel, &mut ours).unwrap();
    assert_eq!(decode_batch(&bytes, &mut theirs).as_ref(), Ok(parcel));
    assert_eq!(ours, theirs);
    bytes
}

#[test]
fn worlds_come_back_byte_for_byte() {
    for seed in 1..=12 {
        let mut world = World::new(seed, 1 + seed % 5);
        let mut known = Known::new(world.notebook, Vector::new());
        for size in [1, 2, 40, 1, 0, 150] {
            let parcel = world.parcel(size);
            check_round_trip(&parcel, &known);
            let mut ours = known.clone();
            encode_batch(&parcel, &mut ours).unwrap();
            known = ours;
        }
        // What is known is what the changes make: the signatures tell the same counts and hashes.
        let signed = world.signatures().into_iter();
        let expected: Vector = signed.map(|s| (s.device, Entry { count: s.count, hash: s.hash })).collect();
        assert_eq!(known.vector(), &expected);
    }
}

/// The noise alone, 74 bits for the id of each draft and each of 1.24 new records, takes 20.7 bytes; the bound
/// was measured here.
#[test]
fn a_change_of_a_crew_takes_few_bytes() {
    let mut world = World::new(1, 5);
    let parcel = world.parcel(1_500);
    let bytes = encode_batch(&parcel, &mut Known::new(world.notebook, Vector::new())).unwrap();
    let each = bytes.len() as f64 / 1_500.0;
    assert!((20.7..36.5).contains(&each), "{each}");
}

/// Golden bytes: version 1 reads and writes these for ever.
#[test]
fn a_small_batch_keeps_its_bytes() {
    let one = first(draft(vec![
        write(1, "text", Payload::text("studs open")),
        write(1, "hours_lost", values::decimal(15, 1)),
        write(1, "date", values::date("2025-10-09")),
        write(1, "job", values::record(RecordId::from_parts(1_750_000_000_000, [0x33; 10]))),
    ]));
    let seen = vec![WriteId { draft: one.draft.id, index: 1 }];
    let correction =
        Write { seen, reason: Some("misread".into()), ..write(1, "hours_lost", values::decimal(20, 1)) };
    let id = DraftId::from_parts(1_760_000_000_001, [0x44; 10]);
    let two = change(1, one.hash(), Draft { id, ..draft(vec![correction]) });
    let key = DeviceKey::from_bytes(&[0x5E; 32]);
    let mut parcel = parcel_of(&[one, two.clone()]);
    parcel.signatures.push(key.sign(notebook(), two.device, 2, two.hash()));
    let bytes = check_round_trip(&parcel, &empty());
    let check = |bytes: &[u8], expected: Expect| {
        let hex = |line: &[u8]| line.iter().map(|byte| format!("{byte:02x}")).collect::<String>();
        expected.assert_eq(&bytes.chunks(32).map(hex).collect::<Vec<_>>().join("\n"));
    };
    check(
        &bytes,
        expect![[r#"
            01140064088ec63167ead3020a077374756473206f70656e6d697372656164e7
            6408c977fadaeb7f8dbdbcecec1c1b4b4a74dbff968e86bc389350057501d6f4
            3b2bba4433be3d8152a15656d32e0dd8ad148accacc1177c585df88779d768be
            b19a61ab141550ade9bbd19081ea285aa516422542420e72857610df58ec7268
            f60c43104385036635270be9bc5b47aa3f89f3d10cc2ceac70af5c94771ebdde
            7c9ad464879a3a9817b5428983f15f16a6ccb3d36672cf323ed1bbccd97cfafe
            9ecaa4c509503d3e89bd46249522003885110c1b2993b2b3bf81f23c40e8"#]],
    );
}

#[test]
fn changes_of_a_later_format_keep_their_place() {
    let mut world = World::new(7, 2);
    let mut parcel = world.parcel(6);
    let mut later = Writer::default();
    later.array(2).uint(2).text("whatever a later version says");
    parcel.changes.insert(3, later.into_bytes());
    parcel.changes.insert(0, b"no encoding at all".to_vec());
    parcel.changes.push(Vec::new());
    check_round_trip(&parcel, &Known::new(world.notebook, Vector::new()));
}

#[test]
fn a_branch_and_a_gap_are_sent_as_they_are() {
    let one = first(draft(vec![write(1, "text", Payload::null())]));
    let id = DraftId::from_bytes([9; 16]);
    let branch = change(1, ChangeHash([7; 32]), Draft { id, ..one.draft.clone() });
    let gap = change(5, ChangeHash([8; 32]), Draft { id, ..one.draft.clone() });
    let after = change(6, gap.hash(), one.draft.clone());
    let parcel = parcel_of(&[one, branch, gap, after.clone()]);
    let mut known = empty();
    let bytes = check_round_trip(&parcel, &known);
    decode_batch(&bytes, &mut known).unwrap();
    let end = known.vector().get(after.device);
    assert_eq!(end, Some(Entry { count: 7, hash: after.hash() }));
}

#[test]
fn changes_out_of_order_are_refused() {
    let one = first(draft(vec![write(1, "text", Payload::null())]));
    let two = change(1, one.hash(), one.draft.clone());
    let parcel = parcel_of(&[two, one]);
    assert_eq!(encode_batch(&parcel, &mut empty()), Err(ParcelError::NotInOrder { index: 1 }));
}

/// A batch that two ends understand differently is noticed, and does not become another history.
#[test]
fn who_knows_something_else_notices() {
    let mut world = World::new(3, 3);
    let known = Known::new(world.notebook, Vector::new());
    let mut ours = known.clone();
    let earlier = encode_batch(&world.parcel(30), &mut ours).unwrap();
    let later = encode_batch(&world.parcel(30), &mut ours).unwrap();
    let mut theirs = known.clone();
    assert!(decode_batch(&later, &mut theirs).is_err());
    assert_eq!(theirs, known, "nothing is learned from a batch that fails");
    decode_batch(&earlier, &mut theirs).unwrap();
    assert!(decode_batch(&earlier, &mut theirs.clone()).is_err());
    let first: Vec<_> = theirs.vector().iter().collect();
    let forked = first.iter().map(|(device, entry)| (*device, Entry { hash: ChangeHash([1; 32]), ..*entry }));
    let mut forked = Known::new(world.notebook, forked.collect());
    assert_eq!(decode_batch(&later, &mut forked), Err(BatchError::Check));
    assert!(decode_batch(&later, &mut theirs).is_ok());
}

/// The largest draft there may be, in the form that takes the most memory apart.
#[test]
fn the_largest_change_fits_and_the_next_one_follows_it() {
    let seen = |write: u64, count: u64| -> Vec<WriteId> {
        let id = |at| DraftId::from_parts(write * 1_000 + at, [at as u8; 10]);
        (0..count).map(|at| WriteId { draft: id(at), index: 0 }).collect()
    };
    let many = (0..1_000)
        .map(|at: u64| Write { seen: seen(at, 700), ..write(0, &format!("f{at}"), Payload::int(0)) })
        .collect();
    let one = first(draft(many));
    assert!(one.draft.check().is_ok());
    let two = change(1, one.hash(), draft(vec![write(1, "text", Payload::null())]));
    let mut known = empty();
    let bytes = check_round_trip(&parcel_of(std::slice::from_ref(&one)), &known);
    decode_batch(&bytes, &mut known).unwrap();
    assert_eq!(known.vector().get(one.device), Some(Entry { count: 1, hash: one.hash() }));
    assert!(check_round_trip(&parcel_of(&[two]), &known).len() < 100);
}

#[test]
fn more_than_fits_into_memory_is_not_packed() {
    let large = |at: u8| write(at, "text", Payload::bytes(&vec![at; Payload::MAX_BYTES - 5]));
    let one = first(draft((0..15).map(large).collect()));
    let parcel = parcel_of(&vec![one; 5]);
    assert!(parcel.changes.iter().map(Vec::len).sum::<usize>() > MAX_UNPACKED);
    let mut known = empty();
    assert_eq!(encode_batch(&parcel, &mut known), Err(ParcelError::TooLarge));
    assert_eq!(known, empty());
}

#[test]
fn a_declared_length_is_held_to() {
    // Version, length of the texts, packed length, check, frame. A frame of RFC 8878 without magic: no window
    // of its own (single segment), size 4; one last raw block of 4 bytes.
    let frame = [0x20, 4, 0x21, 0, 0, b'a', b'b', b'c', b'd'];
    let batch = |declared: &[u8]| {
        let bytes = [&[1], declared, &[frame.len() as u8], &[0; 8], &frame[..]].concat();
        decode_batch(&bytes, &mut empty())
    };
    // The texts themselves are a shelf count of 97, which is too much.
    assert_eq!(batch(&[4]), Err(BatchError::Short));
    assert_eq!(batch(&[3]), Err(BatchError::Texts));
    assert_eq!(batch(&[5]), Err(BatchError::Texts));
    // 2^26 + 1
    assert_eq!(batch(&[0x81, 0x80, 0x80, 0x20]), Err(BatchError::TooLarge));
    // 2^26 declared, and a frame that asks for a window of 2^27: descriptor 0, window 2^(10 + 17).
    let frame = [0, 17 << 3, 0x21, 0, 0, b'a', b'b', b'c', b'd'];
    let bytes = [&[1, 4][..], &[frame.len() as u8], &[0; 8], &frame[..]].concat();
    assert_eq!(decode_batch(&bytes, &mut empty()), Err(BatchError::Texts));
}

#[test]
fn another_version_is_told() {
    assert_eq!(decode_batch(&[2, 0, 0], &mut empty()), Err(BatchError::Version { version: 2 }));
    assert_eq!(decode_batch(&[], &mut empty()), Err(BatchError::Short));
}

#[test]
fn what_is_cut_off_or_longer_is_refused() {
    let mut world = World::new(5, 3);
    let (parcel, known) = (world.parcel(25), Known::new(world.notebook, Vector::new()));
    let bytes = encode_batch(&parcel, &mut known.clone()).unwrap();
    for length in 0..bytes.len() {
        if let Ok(read) = decode_batch(&bytes[..length], &mut known.clone()) {
            // The last bytes of a signature may be lost unnoticed; the changes are whole.
            assert!(length + 8 >= bytes.len());
            assert_eq!(read.changes, parcel.changes);
        }
    }
    let longer = [&bytes[..], &[0; 9]].concat();
    assert_eq!(decode_batch(&longer, &mut known.clone()), Err(BatchError::Trailing));
}

#[test]
fn no_single_bit_makes_another_history() {
    let mut world = World::new(6, 3);
    let (parcel, known) = (world.parcel(5), Known::new(world.notebook, Vector::new()));
    let bytes = encode_batch(&parcel, &mut known.clone()).unwrap();
    for at in 0..8 * bytes.len() {
        let mut bytes = bytes.clone();
        bytes[at / 8] ^= 1 << (at % 8);
        if let Ok(read) = decode_batch(&bytes, &mut known.clone()) {
            assert_eq!(read.changes, parcel.changes, "bit {at}");
        }
    }
}

fn any_id() -> impl Strategy<Value = [u8; 16]> {
    let timed = (0..1u64 << 48, any::<[u8; 10]>())
        .prop_map(|(unix_ms, random)| *RecordId::from_parts(unix_ms, random).as_bytes());
    let near = (0..40u64, 0..6u8)
        .prop_map(|(step, random)| *RecordId::from_parts(1_760_000_000_000 + step, [random; 10]).as_bytes());
    prop_oneof![any::<[u8; 16]>(), timed, near, (0..4u8).prop_map(|byte| [byte; 16])]
}

fn any_value() -> impl Strategy<Value = Payload> {
    let raw = |bytes: &[u8]| Payload::new(bytes.to_vec()).unwrap();
    let nested = (1..16usize, any::<i64>()).prop_map(|(depth, value)| {
        let mut writer = Writer::default();
        (0..depth).for_each(|_| _ = writer.array(1));
        writer.int(value);
        Payload::new(writer.into_bytes()).unwrap()
    });
    let wide = proptest::collection::vec(any::<i64>(), 0..20).prop_map(|items| {
        let mut writer = Writer::default();
        writer.array(items.len());
        items.iter().for_each(|item| _ = writer.int(*item));
        Payload::new(writer.into_bytes()).unwrap()
    });
    prop_oneof![
        any::<i64>().prop_map(Payload::int),
        (-30..30i64).prop_map(Payload::int),
        ".{0,40}".prop_map(|text| Payload::text(&text)),
        "(oak|ash|elm)".prop_map(|text| Payload::text(&text)),
        (-100..3_000i64, 0..30i64).prop_map(|(mantissa, places)| values::decimal(mantissa, places)),
        any::<i64>().prop_map(values::money),
        (0..1_000i64, "(dBA|dB|s)").prop_map(|(tenths, unit)| values::quantity(tenths, &unit)),
        any::<i64>().prop_map(values::length),
        "(2025-0[1-9]-[0-3][0-9]|[0-9]{4}-[01][0-9]-[0-9]{2}|.{0,10})".prop_map(|text| values::date(&text)),
        (any::<i64>(), any::<i16>()).prop_map(|(ms, offset)| values::moment(ms, i64::from(offset))),
        any_id().prop_map(|id| values::record(RecordId::from_bytes(id))),
        any::<bool>().prop_map(values::flag),
        proptest::collection::vec(any::<u8>(), 0..70).prop_map(|bytes| Payload::bytes(&bytes)),
        any::<[u8; 32]>().prop_map(|hash| Payload::bytes(&hash)),
        nested,
        wide,
        Just(Payload::null()),
        // A float, 2^64 - 1, its complement, a map, a bignum, undefined.
        Just(raw(&[0xFB, 0x40, 0x09, 0x21, 0xFB, 0x54, 0x44, 0x2D, 0x18])),
        Just(raw(&[0x1B, 255, 255, 255, 255, 255, 255, 255, 255])),
        Just(raw(&[0x3B, 255, 255, 255, 255, 255, 255, 255, 255])),
        Just(raw(&[0xA1, 0x01, 0x02])),
        Just(raw(&[0xC2, 0x49, 1, 0, 0, 0, 0, 0, 0, 0, 0])),
        Just(raw(&[0xF7])),
    ]
}

fn any_draft() -> impl Strategy<Value = Draft> {
    let seen = proptest::collection::btree_set((any_id(), 0..4u32), 0..3);
    let reason = proptest::option::weighted(0.2, ".{1,30}");
    let write = (any_id(), "(entry|task|[a-z0-9_]{1,12})", "(text|state|[a-z0-9_]{1,64})", any_value());
    let writes = proptest::collection::vec((write, seen, reason), 1..12);
    let offset = prop_oneof![Just(-300), any::<i16>()];
    let unix_ms = prop_oneof![any::<i64>(), 1_759_999_990_000..1_760_000_010_000i64];
    (any_id(), any_id(), unix_ms, offset, writes).prop_map(|(id, author, unix_ms, offset_min, writes)| {
        let write = |((record, kind, field, value), seen, reason): ((_, String, String, _), _, _)| Write {
            record: RecordId::from_bytes(record),
            kind: Name::new(&kind).unwrap(),
            field: Name::new(&field).unwrap(),
            value,
            seen: BTreeSet::into_iter(seen)
                .map(|(draft, index)| WriteId { draft: DraftId::from_bytes(draft), index })
                .collect(),
            reason,
        };
        Draft {
            id: DraftId::from_bytes(id),
            author: RecordId::from_bytes(author),
            written_at: WrittenAt { unix_ms, offset_min },
            writes: writes.into_iter().map(write).collect(),
        }
    })
}

/// Legal changes in stamp order; most of them follow their series.
fn any_changes() -> impl Strategy<Value = Vec<Change>> {
    let stamp = prop_oneof![any::<u64>(), Just(1 << 16), 0..1u64 << 20];
    let one =
        (0..3u8, stamp, proptest::option::weighted(0.2, (any::<u64>(), any::<[u8; 32]>())), any_draft());
    proptest::collection::vec(one, 0..12).prop_map(|items| {
        let mut known = std::collections::BTreeMap::new();
        let mut stamp = 1_760_000_000_000 << 16;
        let mut changes = Vec::new();
        for (of, step, apart, draft) in items {
            if draft.check().is_err() {
                continue;
            }
            stamp = stamp.max(step & Stamp::MAX.0).max((stamp + (step & 0xFFFFF)).min(Stamp::MAX.0));
            let device = DeviceId::from_bytes([of; 16]);
            let (mut seq, mut prev) =
                known.get(&device).copied().unwrap_or((0, first_prev(notebook(), device)));
            if let Some((other, hash)) = apart {
                (seq, prev) = (other, ChangeHash(hash));
            }
            let change = Change { device, seq, stamp: Stamp(stamp), prev, draft };
            known.insert(device, (seq.saturating_add(1), change.hash()));
            changes.push(change);
        }
        changes
    })
}

proptest! {
    #[test]
    fn any_legal_changes_come_back(changes in any_changes(), cut: prop::sample::Index) {
        let cut = cut.index(changes.len() + 1);
        let (mut ours, mut theirs) = (empty(), empty());
        for part in [&changes[..cut], &changes[cut..]] {
            let mut parcel = parcel_of(part);
            let sign = |change: &Change| {
                DeviceKey::from_bytes(&[1; 32]).sign(notebook(), change.device, change.seq, change.hash())
            };
            parcel.signatures = part.iter().take(2).map(sign).collect();
            let bytes = encode_batch(&parcel, &mut ours).unwrap();
            prop_assert_eq!(decode_batch(&bytes, &mut theirs), Ok(parcel));
            prop_assert_eq!(&ours, &theirs);
        }
    }

    #[test]
    fn any_bytes_are_read_without_harm(mut bytes: Vec<u8>, texts in 0..20u8) {
        _ = decode_batch(&bytes, &mut empty());
        // The same behind a good opening: so many bytes of texts, uncompressed.
        bytes.splice(0..0, [1, texts, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
        _ = decode_batch(&bytes, &mut empty());
    }

    #[test]
    fn damage_is_noticed(changes in any_changes(), at: prop::sample::Index, with: u8, how in 0..3u8) {
        let parcel = parcel_of(&changes);
        let mut bytes = encode_batch(&parcel, &mut empty()).unwrap();
        let at = at.index(bytes.len());
        match how {
            0 => bytes[at] ^= with,
            1 => bytes.truncate(at),
            _ => bytes.insert(at, with),
        }
        if let Ok(read) = decode_batch(&bytes, &mut empty()) {
            prop_assert_eq!(read.changes, parcel.changes);
        }
    }
}
