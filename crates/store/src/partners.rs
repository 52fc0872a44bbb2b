//! Addresses this copy syncs with: kept beside the log, never part of it.
//!
//! Leaves out what an address may look like, and reaching it.

use rusqlite::{Connection, Row, params};
use storypole_journal::DeviceId;

use crate::store::{from_sql, to_sql};
use crate::{Reader, Store, StoreError};

/// An address this copy syncs with, and how it went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Partner {
    /// Where it is.
    pub url: String,
    /// SHA-256 of the certificate that is trusted there; `None` where the system's own list decides.
    pub pin: Option<[u8; 32]>,
    /// The device that answered there last.
    pub device: Option<DeviceId>,
    /// When it was added, ms since 1970.
    pub added_ms: u64,
    /// When it was tried last, ms since 1970.
    pub tried_ms: Option<u64>,
    /// When it went well last, ms since 1970.
    pub synced_ms: Option<u64>,
    /// Why the last try failed; `None` when it went well.
    pub failed: Option<String>,
}

impl Store {
    /// Adds an address. Of one that is there already only the pin is replaced, where another is given.
    ///
    /// # Errors
    /// Fails when SQLite does, as every method here.
    pub fn partner_add(&mut self, url: &str, pin: Option<[u8; 32]>, now_ms: u64) -> Result<(), StoreError> {
        self.connection()
            .prepare_cached(
                "INSERT INTO partners (url, pin, added_ms) VALUES (?1, ?2, ?3)
                 ON CONFLICT (url) DO UPDATE SET pin = coalesce(excluded.pin, pin)",
            )?
            .execute(params![url, pin, to_sql(now_ms)])?;
        Ok(())
    }

    /// Forgets an address; false when it was not there.
    pub fn partner_forget(&mut self, url: &str) -> Result<bool, StoreError> {
        Ok(self.connection().prepare_cached("DELETE FROM partners WHERE url = ?1")?.execute([url])? > 0)
    }

    /// Notes that it went well, with the device that answered.
    pub fn partner_synced(&mut self, url: &str, device: DeviceId, now_ms: u64) -> Result<(), StoreError> {
        self.connection()
            .prepare_cached(
                "UPDATE partners SET device = ?2, tried_ms = ?3, synced_ms = ?3, failed = NULL WHERE url = ?1",
            )?
            .execute(params![url, device.as_bytes(), to_sql(now_ms)])?;
        Ok(())
    }

    /// Notes that it failed, and why.
    pub fn partner_failed(&mut self, url: &str, why: &str, now_ms: u64) -> Result<(), StoreError> {
        self.connection()
            .prepare_cached("UPDATE partners SET tried_ms = ?2, failed = ?3 WHERE url = ?1")?
            .execute(params![url, to_sql(now_ms), why])?;
        Ok(())
    }
}

impl Reader {
    /// Every address, in the order in which they were added.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn partners(&self) -> Result<Vec<Partner>, StoreError> {
        if !is_there(self.connection())? {
            return Ok(Vec::new());
        }
        let mut statement = self.connection().prepare_cached(
            "SELECT url, pin, device, added_ms, tried_ms, synced_ms, failed FROM partners ORDER BY added_ms, url",
        )?;
        Ok(statement.query_map([], partner)?.collect::<Result<_, _>>()?)
    }
}

/// A database that an older version wrote last, and that is only looked at, has no such table yet.
fn is_there(connection: &Connection) -> Result<bool, StoreError> {
    Ok(connection
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'partners')",
        )?
        .query_row([], |row| row.get(0))?)
}

fn partner(row: &Row<'_>) -> rusqlite::Result<Partner> {
    let (tried_ms, synced_ms): (Option<i64>, Option<i64>) = (row.get(4)?, row.get(5)?);
    Ok(Partner {
        url: row.get(0)?,
        pin: row.get(1)?,
        device: row.get::<_, Option<[u8; 16]>>(2)?.map(DeviceId::from_bytes),
        added_ms: from_sql(row.get(3)?),
        tried_ms: tried_ms.map(from_sql),
        synced_ms: synced_ms.map(from_sql),
        failed: row.get(6)?,
    })
}

#[cfg(test)]
mod tests {
    use storypole_journal::{DeviceKey, NotebookId, RecordId};

    use super::*;
    use crate::Identity;

    const URL: &str = "https://box.example:8417";

    fn store(folder: &tempfile::TempDir) -> Store {
        let (key, device) = (DeviceKey::from_bytes(&[7; 32]), DeviceId::from_bytes([1; 16]));
        let identity = Identity {
            notebook: NotebookId::founded_by(device),
            device,
            founder_key: key.public(),
            instance: [9; 16],
            author: RecordId::from_bytes([2; 16]),
        };
        Store::create(&folder.path().join("notebook.db"), key, &identity).unwrap()
    }

    #[test]
    fn how_it_went_is_kept_with_the_address() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = store(&folder);
        let partners = |store: &Store| store.reader().unwrap().partners().unwrap();
        assert_eq!(partners(&store), []);
        store.partner_add(URL, Some([3; 32]), 10).unwrap();
        store.partner_add("http://localhost:8418", None, 5).unwrap();
        store.partner_failed(URL, "nobody answers", 20).unwrap();
        let [local, there] = &partners(&store)[..] else { panic!("two addresses") };
        assert_eq!((local.url.as_str(), local.pin, local.tried_ms), ("http://localhost:8418", None, None));
        assert_eq!((there.tried_ms, there.synced_ms), (Some(20), None));
        assert_eq!((there.pin, there.failed.as_deref()), (Some([3; 32]), Some("nobody answers")));
        store.partner_synced(URL, DeviceId::from_bytes([4; 16]), 30).unwrap();
        let there = &partners(&store)[1];
        assert_eq!((there.tried_ms, there.synced_ms, there.failed.as_deref()), (Some(30), Some(30), None));
        assert_eq!((there.device, there.added_ms), (Some(DeviceId::from_bytes([4; 16])), 10));
    }

    #[test]
    fn an_address_that_is_added_again_keeps_all_but_a_new_pin() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = store(&folder);
        let pin = |store: &Store| store.reader().unwrap().partners().unwrap()[0].pin;
        store.partner_add(URL, Some([3; 32]), 10).unwrap();
        store.partner_add(URL, None, 11).unwrap();
        assert_eq!(pin(&store), Some([3; 32]));
        store.partner_add(URL, Some([5; 32]), 12).unwrap();
        assert_eq!(pin(&store), Some([5; 32]));
        assert!(store.partner_forget(URL).unwrap() && !store.partner_forget(URL).unwrap());
        store.partner_failed(URL, "gone", 13).unwrap();
        assert_eq!(store.reader().unwrap().partners().unwrap(), []);
    }
}
