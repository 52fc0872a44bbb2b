//! The product: two stores on disk and the conversation between them, all bytes of both directions counted.

use std::path::Path;

use storypole_journal::membership::{self, Role};
use storypole_journal::{DeviceId, DeviceKey, Draft, DraftId, NotebookId, RecordId, WrittenAt};
use storypole_notebook::KindSpec;
use storypole_store::{Identity, Parcel, Store};
use storypole_sync::session::{Action, Event, Here, Limits, Stored, SyncSession};

use super::content::{Probe, Work};
use super::leg::Leg;

/// Drafts that are taken in at once where they are written.
const GROUP: usize = 1_000;
const START_MS: u64 = 1_741_000_000_000;
const AT: WrittenAt = WrittenAt { unix_ms: 1_741_000_000_000, offset_min: -300 };

/// From an empty copy to a full one, then what was written since.
pub fn run(work: &Work) -> [Leg; 2] {
    let [mut here, mut there] = founded(&work.folder);
    write(&mut here, &work.base);
    let full = Leg::measure(|| carry(&here, &mut there, &work.base_probes));
    write(&mut here, &work.more);
    let more = Leg::measure(|| carry(&here, &mut there, &work.more_probes));
    let digest = |store: &Store| store.reader().expect("a reader").digest().expect("a digest");
    assert_eq!(digest(&here), digest(&there), "both have the same log and the same tables");
    [full, more]
}

/// A notebook on the device that founded it, and empty copies on those that it has invited.
pub fn founded<const COUNT: usize>(folder: &Path) -> [Store; COUNT] {
    let device = |number: u8| DeviceId::from_parts(START_MS, [number; 10]);
    let key = |number: u8| DeviceKey::from_bytes(&[number; 32]);
    let author = RecordId::from_parts(START_MS, [9; 10]);
    let numbers: [u8; COUNT] = std::array::from_fn(|at| u8::try_from(at).expect("few devices"));
    let mut stores = numbers.map(|number| {
        let identity = Identity {
            notebook: NotebookId::founded_by(device(0)),
            device: device(number),
            founder_key: key(0).public(),
            instance: [number; 16],
            author,
        };
        Store::create(&folder.join(format!("{number}.db")), key(number), &identity).expect("a new store")
    });
    for number in numbers {
        let role = if number == 0 { Role::Keeper } else { Role::Crew };
        let writes = membership::invite(device(number), key(number).public(), role, device(0));
        let id = DraftId::from_parts(START_MS, [number; 10]);
        write(&mut stores[0], &[Draft { id, author, written_at: AT, writes }]);
    }
    stores
}

/// Takes drafts into a store as they come from people, by and by.
pub fn write(store: &mut Store, drafts: &[Draft]) {
    for group in drafts.chunks(GROUP) {
        let now_ms = group.last().map_or(0, |draft| draft.written_at.unix_ms);
        let now_ms = u64::try_from(now_ms).expect("a time after 1970");
        let outcomes = store.take(group.to_vec(), now_ms).expect("the database takes them");
        assert!(outcomes.iter().all(Result::is_ok), "every generated draft is legal");
    }
}

fn carry(here: &Store, there: &mut Store, probes: &[Probe]) -> usize {
    let sent = converse(here, there);
    check(there, probes);
    sent
}

/// Brings all that `here` holds to `there` by one conversation; gives the bytes sent in both directions.
fn converse(here: &Store, there: &mut Store) -> usize {
    let reader = here.reader().expect("a reader");
    let mut ends = [session(here), session(there)];
    let mut sent = 0;
    loop {
        let mut is_quiet = true;
        for at in 0..2 {
            while let Some(action) = ends[at].poll() {
                is_quiet = false;
                match action {
                    Action::Send(bytes) => {
                        sent += bytes.len();
                        ends[1 - at].handle(Event::Received(bytes), 0);
                    }
                    Action::Read { beyond, max_bytes } if at == 0 => {
                        let parcel = reader.since(&beyond, max_bytes).expect("a parcel");
                        let Parcel { changes, signatures, .. } = parcel;
                        ends[at].handle(Event::Read(storypole_sync::Parcel { changes, signatures }), 0);
                    }
                    Action::Read { .. } => {
                        ends[at].handle(Event::Read(storypole_sync::Parcel::default()), 0);
                    }
                    Action::Store(parcel) => {
                        let stored = store(there, parcel);
                        ends[at].handle(Event::Stored(stored), 0);
                    }
                    Action::Forked(_) | Action::Close(_) => panic!("the conversation failed: {action:?}"),
                }
            }
        }
        if is_quiet {
            assert!(ends.iter().all(SyncSession::is_settled), "both ends have said all");
            return sent;
        }
    }
}

fn session(store: &Store) -> SyncSession {
    let held = store.vector().expect("a vector");
    let limits = Limits::default();
    SyncSession::new(Here { notebook: store.notebook(), device: store.device(), held, limits }, 0)
}

fn store(there: &mut Store, parcel: storypole_sync::Parcel) -> Stored {
    let storypole_sync::Parcel { changes, signatures } = parcel;
    let received = there.receive(&Parcel { changes, signatures }).expect("the database takes them");
    assert_eq!(received.stopped, None);
    Stored { new: received.new, held: there.vector().expect("a vector"), ..Stored::default() }
}

fn check(there: &Store, probes: &[Probe]) {
    let reader = there.reader().expect("a reader");
    for probe in probes {
        let kind = KindSpec::find(probe.kind).expect("a kind of this version");
        let row = reader.row(kind, probe.record).expect("a table").expect("the record is there");
        assert_eq!(row.value(probe.field).map(ToString::to_string).as_deref(), Some(probe.text.as_str()));
    }
}
