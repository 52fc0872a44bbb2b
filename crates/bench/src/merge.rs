//! How fast the writes of two devices that did not know of each other are merged, durably, beside plain SQLite where
//! the last writer wins.
//!
//! A third device holds what both started from and takes in what both wrote, in the order of stamps, in parcels of
//! about a thousand writes. The peer gets the same writes ready made, as many in a transaction: one row per record and
//! field with value, stamp and device, replaced when stamp and device are greater. It keeps no history, notices no
//! conflict, checks nothing. Both are WAL with `synchronous=FULL`.

mod last_writer;
mod mixes;

use storypole_journal::{Change, ChangeHash, Entry, Vector};
use storypole_store::{Parcel, Store};

use mixes::Mix;

use crate::sync::{Leg, founded};

/// Bytes of encoded changes in a parcel, about a thousand of one write each.
const PARCEL_BYTES: usize = 180_000;
/// Every mix is merged this often; the fastest counts, for both.
const ROUNDS: usize = 3;

/// Runs every mix on both sides and prints the ratios.
pub fn run(count: usize) {
    println!("merge: {count} writes of two devices, durable at a third; best of {ROUNDS}");
    for mix in mixes::ALL {
        let rounds: Vec<Round> = (0..ROUNDS).map(|_| round(mix, count)).collect();
        let least = |time: fn(&Round) -> f64| rounds.iter().map(time).fold(f64::INFINITY, f64::min);
        let (product_s, peer_s) = (least(|round| round.product.time_s), least(|round| round.peer.time_s));
        let (product_cpu_s, peer_cpu_s) =
            (least(|round| round.product.cpu_s), least(|round| round.peer.cpu_s));
        let ratio = product_s / peer_s;
        println!(
            "{:<16} {} parcels, {:>5} conflicts: storypole {product_s:>7.3} s ({product_cpu_s:.3} on a core), \
             last writer wins {peer_s:>7.3} s ({peer_cpu_s:.3})",
            mix.name, rounds[0].parcels, rounds[0].conflicts
        );
        println!(
            "{:<16} ratio {ratio:.2} (aim: at most 1.50) {}, on a core {:.2}",
            "",
            if ratio <= 1.5 { "met" } else { "NOT met" },
            product_cpu_s / peer_cpu_s
        );
    }
}

struct Round {
    parcels: usize,
    conflicts: usize,
    product: Leg,
    peer: Leg,
}

fn round(mix: &Mix, count: usize) -> Round {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let [mut one, mut two, mut third] = founded::<3>(folder.path());
    let mut writer = (mix.begin)(count);
    writer.base(&mut one);
    let base = parcels(&one, &Vector::new());
    for parcel in &base {
        receive(&mut two, parcel);
        receive(&mut third, parcel);
    }
    let begun = third.vector().expect("a vector");
    writer.apart(&mut one, &mut two);
    // Both ends' writes come as one stream, as from a device that has both.
    let mut theirs = parcels(&two, &begun);
    theirs.drain(..).for_each(|parcel| receive(&mut one, &parcel));
    let stream = parcels(&one, &begun);

    let peer = last_writer::Peer::new(&folder.path().join("peer.db"), &base);
    let batches: Vec<Vec<last_writer::Row>> = stream.iter().map(last_writer::rows).collect();
    let peer_leg = Leg::measure(|| {
        batches.iter().for_each(|batch| peer.merge(batch));
        0
    });
    let product = Leg::measure(|| {
        stream.iter().for_each(|parcel| receive(&mut third, parcel));
        0
    });
    let digest = |store: &Store| store.reader().expect("a reader").digest().expect("a digest");
    assert_eq!(digest(&one), digest(&third), "both orders of arrival give the same tables");
    check(&third, &peer);
    let conflicts = third.reader().expect("a reader").conflicts().expect("a list").len();
    Round { parcels: stream.len(), conflicts, product, peer: peer_leg }
}

/// Looks whether both show the same value of every register that the peer holds.
fn check(store: &Store, peer: &last_writer::Peer) {
    let reader = store.reader().expect("a reader");
    let kind = storypole_notebook::KindSpec::find(mixes::KIND).expect("a kind of this version");
    for (record, field, value) in peer.values() {
        let row = reader.row(kind, record).expect("a table").expect("the record is there");
        assert_eq!(row.value(&field).map(ToString::to_string), Some(value));
    }
}

fn receive(store: &mut Store, parcel: &Parcel) {
    let received = store.receive(parcel).expect("the database takes them");
    assert_eq!(received.stopped, None);
}

/// All that a store holds beyond a vector, in parcels.
fn parcels(store: &Store, beyond: &Vector) -> Vec<Parcel> {
    let reader = store.reader().expect("a reader");
    let mut beyond = beyond.clone();
    let mut parcels = Vec::new();
    loop {
        let parcel = reader.since(&beyond, PARCEL_BYTES).expect("a parcel");
        if parcel.changes.is_empty() {
            return parcels;
        }
        for bytes in &parcel.changes {
            let change = Change::decode(bytes).expect("a change");
            beyond.set(change.device, Entry { count: change.seq + 1, hash: ChangeHash::of(bytes) });
        }
        parcels.push(parcel);
    }
}
