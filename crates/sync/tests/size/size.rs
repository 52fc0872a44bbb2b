//! Prints how large batches are beside compressed JSON Lines of the same changes.

#![allow(clippy::unwrap_used)] // A tool for those who change the format.

#[path = "../world/mod.rs"]
mod world;

use std::fmt::Write as _;
use std::time::Instant;

use storypole_journal::{Change, Payload, Vector};
use storypole_sync::{Known, Parcel, decode_batch, encode_batch};

fn main() {
    let count = std::env::args().nth(1).and_then(|text| text.parse().ok()).unwrap_or(100_000);
    let mut world = world::World::new(1, 5);
    let parcel = world.parcel(count);
    let per_change = |bytes: usize| bytes as f64 / count as f64;
    let canonical: usize = parcel.changes.iter().map(Vec::len).sum();
    println!("{count} changes, canonical {:.1} bytes each", per_change(canonical));
    for (what, with_prev) in [("with the chain", true), ("without the chain", false)] {
        let lines: String = parcel.changes.iter().map(|bytes| json(bytes, with_prev)).collect();
        let packed = zstd::bulk::compress(lines.as_bytes(), 19).unwrap();
        let (plain, packed) = (per_change(lines.len()), per_change(packed.len()));
        println!("JSON Lines {what}: {plain:.1} bytes each, zstd -19 {packed:.2}");
    }
    let packed = zstd::bulk::compress(&parcel.changes.concat(), 19).unwrap();
    println!("canonical, zstd -19: {:.2}", per_change(packed.len()));
    for size in [1, 10, 100, 1_000, 13_000] {
        let started = Instant::now();
        let mut known = Known::new(world.notebook, Vector::new());
        let batches: Vec<Vec<u8>> =
            parts(&parcel, size).map(|part| encode_batch(&part, &mut known).unwrap()).take(1_000).collect();
        let encoded = started.elapsed();
        let bytes: usize = batches.iter().map(Vec::len).sum();
        let sent = count.min(size * batches.len());
        let started = Instant::now();
        let mut known = Known::new(world.notebook, Vector::new());
        for (part, batch) in parts(&parcel, size).zip(&batches) {
            assert_eq!(decode_batch(batch, &mut known).unwrap(), part);
        }
        println!(
            "batches of {size}: {:.2} bytes each, written {:.0} and read {:.0} changes per ms",
            bytes as f64 / sent as f64,
            sent as f64 / encoded.as_secs_f64() / 1e3,
            sent as f64 / started.elapsed().as_secs_f64() / 1e3,
        );
    }
}

/// Parts of a parcel; the signatures go with the last.
fn parts(parcel: &Parcel, size: usize) -> impl Iterator<Item = Parcel> {
    let count = parcel.changes.len().div_ceil(size);
    parcel.changes.chunks(size).enumerate().map(move |(at, changes)| Parcel {
        changes: changes.to_vec(),
        signatures: if at + 1 == count { parcel.signatures.clone() } else { Vec::new() },
    })
}

/// A change as one line of JSON, its writes grouped by record.
fn json(bytes: &[u8], with_prev: bool) -> String {
    let change = Change::decode(bytes).unwrap();
    let draft = &change.draft;
    let mut line =
        format!(r#"{{"device":"{}","seq":{},"stamp":{}"#, change.device, change.seq, change.stamp.0);
    if with_prev {
        write!(line, r#","prev":"{}""#, change.prev).unwrap();
    }
    let at = draft.written_at;
    write!(line, r#","id":"{}","author":"{}","written_ms":{}"#, draft.id, draft.author, at.unix_ms).unwrap();
    write!(line, r#","offset_min":{},"records":["#, at.offset_min).unwrap();
    for (index, group) in draft.writes.chunk_by(|a, b| a.record == b.record && a.kind == b.kind).enumerate() {
        line += if index > 0 { "," } else { "" };
        write!(line, r#"{{"record":"{}","kind":"{}""#, group[0].record, group[0].kind).unwrap();
        for write in group {
            write!(line, r#","{}":{}"#, write.field, json_value(&write.value)).unwrap();
            for seen in &write.seen {
                write!(line, r#","seen":["{}",{}]"#, seen.draft, seen.index).unwrap();
            }
            if let Some(reason) = &write.reason {
                write!(line, r#","reason":"{reason}""#).unwrap();
            }
        }
        line += "}";
    }
    line + "]}\n"
}

fn json_value(value: &Payload) -> String {
    let mut rest = value.as_bytes();
    json_item(&mut rest)
}

/// The item as short as JSON allows: decimals as numbers, pairs as "number unit".
fn json_item(rest: &mut &[u8]) -> String {
    let (first, after) = rest.split_first().unwrap();
    let (major, info) = (first >> 5, usize::from(first & 0x1F));
    let width = if info < 24 { 0 } else { 1 << (info - 24) };
    let value =
        after[..width].iter().fold(if info < 24 { info } else { 0 }, |sum, byte| sum << 8 | *byte as usize);
    *rest = &after[width..];
    let mut take = |count: usize| {
        let (taken, after) = rest.split_at(count);
        *rest = after;
        taken
    };
    match (major, value) {
        (0, value) => value.to_string(),
        (1, value) => format!("-{}", value + 1),
        (2, 16) => format!("\"{}\"", storypole_journal::RecordId::from_bytes(take(16).try_into().unwrap())),
        (2, count) => format!("\"{}\"", take(count).iter().map(|b| format!("{b:02x}")).collect::<String>()),
        (3, count) => format!("\"{}\"", std::str::from_utf8(take(count)).unwrap()),
        (4, count) => {
            let items: Vec<String> = (0..count).map(|_| json_item(rest)).collect();
            format!("\"{}\"", items.join(" ").replace('"', ""))
        }
        (6, 4) => {
            let pair = json_item(rest);
            let (places, mantissa) = pair.trim_matches('"').split_once(' ').unwrap();
            let (places, mantissa): (i32, f64) = (places.parse().unwrap(), mantissa.parse().unwrap());
            format!("{:.*}", (-places) as usize, mantissa * 10f64.powi(places))
        }
        (6, _) => json_item(rest),
        (7, 20) => "false".to_owned(),
        (7, 21) => "true".to_owned(),
        _ => "null".to_owned(),
    }
}
