//! Copies of the database: one for a backup, one to check what another process writes to, and the log item by item.
//!
//! Leaves out where a copy is kept and what travels with it: see `desk::backup` and `desk::export`.

use std::path::Path;

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};
use storypole_journal::{ChangeHash, SeriesSignature};

use crate::store::{configure, decode};
use crate::{Reader, StoreError};

/// Pages copied at once: few enough that progress is seen, about a megabyte.
const PAGES: i32 = 256;

/// Tables that are the affair of one copy alone: they go into no backup.
const OWN_AFFAIRS: &[&str] = &["sessions", "partners", "settings"];

/// How far copying is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Copying {
    /// Pages copied.
    pub done: u64,
    /// Pages in all.
    pub of: u64,
}

/// One item of the log as it is held.
#[derive(Debug, Clone)]
pub enum Item {
    /// An encoded change, in the order of arrival.
    Change(Vec<u8>),
    /// A signature; it comes after the changes it covers, unless those are not held.
    Signature(SeriesSignature),
    /// An encoded change of a branch that does not count.
    Forked(Vec<u8>),
}

impl Reader {
    /// Copies the database as it stands into a new file, while others may write. Sessions, partners and settings
    /// are left out, and nothing of them remains in unused pages.
    ///
    /// `progress` says whether to go on.
    ///
    /// # Errors
    /// Fails when SQLite does, and when a check finds the copy damaged. A file that is not whole may be left.
    pub fn copy_for_backup(
        &self,
        path: &Path,
        progress: &mut dyn FnMut(Copying) -> bool,
    ) -> Result<bool, StoreError> {
        let mut copy = Connection::open(path)?;
        if !self.copy_pages(&mut copy, progress)? {
            return Ok(false);
        }
        configure(&copy)?;
        // One file without a companion: it is read where nothing can be written beside it.
        copy.pragma_update(None, "journal_mode", "DELETE")?;
        for table in OWN_AFFAIRS {
            let sql = "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?1)";
            if copy.query_row(sql, [table], |row| row.get::<_, bool>(0))? {
                copy.execute(&format!("DELETE FROM \"{table}\""), [])?;
            }
        }
        // Rows that were deleted stay in the pages until all of them are written anew.
        copy.execute_batch("VACUUM")?;
        let check: String = copy.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
        if check != "ok" {
            return Err(StoreError::Undecodable { what: "a page" });
        }
        Ok(true)
    }

    /// A copy in a temporary file that only this connection sees.
    pub(crate) fn private_copy(&self) -> Result<Connection, StoreError> {
        let mut copy = Connection::open("")?;
        self.copy_pages(&mut copy, &mut |_| true)?;
        configure(&copy)?;
        Ok(copy)
    }

    fn copy_pages(
        &self,
        copy: &mut Connection,
        progress: &mut dyn FnMut(Copying) -> bool,
    ) -> Result<bool, StoreError> {
        let _one_state = self.one_state()?;
        // The first read settles which state is copied; without it each commit meanwhile would start it over.
        self.position()?;
        let backup = Backup::new(self.connection(), copy)?;
        loop {
            let step = backup.step(PAGES)?;
            let pages = backup.progress();
            let of = u64::try_from(pages.pagecount).unwrap_or(0);
            let done = of - u64::try_from(pages.remaining).unwrap_or(0).min(of);
            match step {
                StepResult::Done => {
                    progress(Copying { done: of, of });
                    return Ok(true);
                }
                _ if !progress(Copying { done, of }) => return Ok(false),
                StepResult::More => (),
                // Readers of a database in WAL mode are never locked out; a disk that says so is asked again.
                _ => std::thread::yield_now(),
            }
        }
    }

    /// Hands over everything the log holds, in one state: changes in the order of arrival, each signature after
    /// the change it ends with, then branches that do not count, then signatures of those and of what is not held.
    ///
    /// # Errors
    /// What `each` says, or that SQLite failed.
    pub fn everything<E: From<StoreError>>(
        &self,
        each: &mut dyn FnMut(Item) -> Result<(), E>,
    ) -> Result<(), E> {
        let _one_state = self.one_state()?;
        self.position()?;
        let connection = self.connection();
        let db = |error: rusqlite::Error| E::from(StoreError::from(error));
        let mut changes =
            connection.prepare("SELECT series, seq, body FROM changes ORDER BY no").map_err(db)?;
        let mut signatures = connection
            .prepare("SELECT bytes FROM signatures WHERE series = ?1 AND count = ?2 ORDER BY bytes")
            .map_err(db)?;
        let mut rows = changes.query([]).map_err(db)?;
        while let Some(row) = rows.next().map_err(db)? {
            let (series, seq): (i64, i64) = (row.get(0).map_err(db)?, row.get(1).map_err(db)?);
            let body: Vec<u8> = row.get(2).map_err(db)?;
            decode(&body)?;
            let hash = ChangeHash::of(&body);
            each(Item::Change(body))?;
            let ending_here = signatures
                .query_map([series, seq + 1], |row| row.get::<_, Vec<u8>>(0))
                .and_then(Iterator::collect::<Result<Vec<_>, _>>)
                .map_err(db)?;
            for bytes in ending_here {
                let signature = signature(&bytes)?;
                if signature.hash == hash {
                    each(Item::Signature(signature))?;
                }
            }
        }
        self.beside_what_counts(each)
    }

    fn beside_what_counts<E: From<StoreError>>(
        &self,
        each: &mut dyn FnMut(Item) -> Result<(), E>,
    ) -> Result<(), E> {
        for (body, _) in self.bodies("SELECT body, hash FROM forked_changes ORDER BY device, seq, hash")? {
            decode(&body)?;
            each(Item::Forked(body))?;
        }
        let signatures = "SELECT g.bytes, c.hash FROM signatures g JOIN series d ON d.no = g.series
                          LEFT JOIN changes c ON c.series = g.series AND c.seq = g.count - 1
                          ORDER BY d.device, g.count, g.bytes";
        for (bytes, held) in self.bodies(signatures)? {
            let signature = signature(&bytes)?;
            if held.as_deref() != Some(&signature.hash.0[..]) {
                each(Item::Signature(signature))?;
            }
        }
        Ok(())
    }

    /// Bytes, and a hash where there is one.
    #[allow(clippy::type_complexity, reason = "pairs, named where they are taken apart")]
    fn bodies(&self, sql: &str) -> Result<Vec<(Vec<u8>, Option<Vec<u8>>)>, StoreError> {
        let mut statement = self.connection().prepare(sql)?;
        let bodies = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(bodies.collect::<Result<_, _>>()?)
    }
}

fn signature(bytes: &[u8]) -> Result<SeriesSignature, StoreError> {
    SeriesSignature::decode(bytes).map_err(|_| StoreError::Undecodable { what: "a signature" })
}
