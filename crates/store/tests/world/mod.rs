//! What the tests of the store share: devices by number, drafts by number, carrying from one to another.
#![allow(dead_code, reason = "no test uses all of it")]

use std::path::Path;

use storypole_journal::membership::{self, Role};
use storypole_journal::{
    DeviceId, DeviceKey, Draft, DraftId, NotebookId, RecordId, Write, WriteId, WrittenAt,
};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Value};
use storypole_store::{Identity, Parcel, Store, Taken};

pub const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 };

pub fn id(number: u8) -> [u8; 10] {
    [number; 10]
}

pub fn record(number: u8) -> RecordId {
    RecordId::from_parts(1_741_000_000_000, id(number))
}

pub fn draft_id(number: u8) -> DraftId {
    DraftId::from_parts(1_741_000_000_000, id(number))
}

pub fn device(number: u8) -> DeviceId {
    DeviceId::from_parts(1_740_000_000_000, id(number))
}

pub fn key(number: u8) -> DeviceKey {
    DeviceKey::from_bytes(&[number; 32])
}

/// A store of device `number` in the notebook that device 1 founded.
pub fn store(folder: &Path, number: u8) -> Store {
    let notebook = NotebookId::founded_by(device(1));
    let path = folder.join(format!("{number}.db"));
    let identity = Identity {
        notebook,
        device: device(number),
        founder_key: key(1).public(),
        instance: [number; 16],
        author: record(1),
    };
    let mut store = Store::create(&path, key(number), &identity).unwrap();
    if number == 1 {
        let writes = membership::invite(device(1), key(1).public(), Role::Keeper, device(1));
        take(&mut store, Draft { id: draft_id(255), author: record(1), written_at: AT, writes });
    }
    store
}

pub fn invite(keeper: &mut Store, number: u8) {
    let writes = membership::invite(device(number), key(number).public(), Role::Crew, keeper.device());
    take(keeper, Draft { id: draft_id(200 + number), author: record(1), written_at: AT, writes });
}

pub fn take(store: &mut Store, draft: Draft) -> Taken {
    store.take(vec![draft], AT.unix_ms as u64).unwrap().remove(0).unwrap()
}

pub fn everything(from: &Store, to: &Store) -> Parcel {
    from.reader().unwrap().since(&to.vector().unwrap(), usize::MAX).unwrap()
}

pub fn carry(from: &Store, to: &mut Store) {
    let parcel = everything(from, to);
    let received = to.receive(&parcel).unwrap();
    assert_eq!(received.stopped, None);
}

pub fn site(number: u8, name: &str) -> Draft {
    let mut compose = Composer::new(draft_id(number), record(1), AT);
    compose.set(record(number), "site", "label", &Value::Text(format!("S{number}"))).unwrap();
    compose.set(record(number), "site", "name", &Value::Text(name.to_owned())).unwrap();
    compose.finish()
}

pub fn rename(draft: u8, site: u8, name: &str, seen: &[WriteId]) -> Draft {
    let mut compose = Composer::new(draft_id(draft), record(1), AT);
    compose
        .change(record(site), "site", "name", Some(&Value::Text(name.to_owned())), seen.to_vec(), None)
        .unwrap();
    compose.finish()
}

pub fn name_heads(store: &Store, site: u8) -> Vec<WriteId> {
    store.reader().unwrap().heads(record(site), KindSpec::find("site").unwrap(), "name").unwrap()
}

pub fn shown_name(store: &Store, site: u8) -> Option<String> {
    let row = store.reader().unwrap().row(KindSpec::find("site").unwrap(), record(site)).unwrap()?;
    row.value("name").map(ToString::to_string)
}

/// A draft of these writes.
pub fn draft(number: u8, writes: Vec<Write>) -> Draft {
    Draft { id: draft_id(number), author: record(1), written_at: AT, writes }
}

/// A site of its own number under any draft number.
pub fn site_by(draft: u8, number: u8, name: &str) -> Draft {
    Draft { id: draft_id(draft), ..site(number, name) }
}

/// Two devices that named site 10 without sight of each other; neither has the other's name yet.
pub fn named_apart(folder: &Path, names: [&str; 2]) -> (Store, Store) {
    let (mut one, mut two) = (store(folder, 1), store(folder, 2));
    invite(&mut one, 2);
    take(&mut one, site(10, "old"));
    carry(&one, &mut two);
    let seen = name_heads(&one, 10);
    take(&mut one, rename(11, 10, names[0], &seen));
    take(&mut two, rename(12, 10, names[1], &seen));
    (one, two)
}
