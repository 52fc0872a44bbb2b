//! Settings of this copy by name: beside the log, never handed on. Leaves out which there are and what they mean.

use rusqlite::{OptionalExtension, params};

use crate::{Reader, Store, StoreError};

impl Store {
    /// Sets a setting: on disk when this returns.
    ///
    /// # Errors
    /// Fails when SQLite does, as every method here.
    pub fn setting_set(&mut self, name: &str, value: &str) -> Result<(), StoreError> {
        self.connection()
            .prepare_cached(
                "INSERT INTO settings (name, value) VALUES (?1, ?2)
                 ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            )?
            .execute(params![name, value])?;
        Ok(())
    }
}

impl Reader {
    /// A setting; `None` where it was never set.
    pub fn setting(&self, name: &str) -> Result<Option<String>, StoreError> {
        // A database that an older version wrote last, and that is only looked at, has no such table yet.
        let is_there: bool = self
            .connection()
            .prepare_cached(
                "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'settings')",
            )?
            .query_row([], |row| row.get(0))?;
        if !is_there {
            return Ok(None);
        }
        Ok(self
            .connection()
            .prepare_cached("SELECT value FROM settings WHERE name = ?1")?
            .query_row([name], |row| row.get(0))
            .optional()?)
    }
}
