//! The checkup of a backup, without restoring it: packed as it was, and what is packed is a whole notebook.

use std::collections::BTreeSet;
use std::fs::OpenOptions;
use std::io;
use std::path::{Path, PathBuf};

use storypole_store::verify::Verification;
use storypole_store::{Reader, StoreError};

use super::{Scratch, named_files};
use crate::RestorePass;
use crate::backup::read::Reading;
use crate::backup::{ATTACHMENT, DATABASE, Damage, Manifest, PASS};
use crate::hex;

/// What was found in a backup that is whole.
#[derive(Debug, Clone, PartialEq)]
pub struct PackedCheckup {
    /// What it says to hold.
    pub manifest: Manifest,
    /// The database: chain, signatures, tables.
    pub database: Verification,
    /// Whether log and tables give the digests of the manifest; the tables only where they are of this version.
    pub log_agrees: bool,
    /// As above.
    pub tables_agree: Option<bool>,
    /// Whether its pass may let a restored copy in; none where there is no pass.
    pub pass_counts: Option<bool>,
    /// Files that its records name and that are not in it.
    pub missing: Vec<[u8; 32]>,
}

/// Why a backup could not be looked at.
#[derive(Debug, thiserror::Error)]
pub enum PackedError {
    /// It is not whole.
    #[error(transparent)]
    Damage(#[from] Damage),
    /// The database in it.
    #[error("the database in the backup cannot be read: use another backup")]
    Database(#[from] StoreError),
    /// It has no database.
    #[error("there is no database in the backup: use another one")]
    NoDatabase,
    /// The database could not be taken out to be looked at.
    #[error("{path} could not be written, which is needed to look into the backup: free some space there")]
    Scratch { path: PathBuf, source: io::Error },
}

impl PackedCheckup {
    /// Whether something in it is not what was backed up.
    pub fn is_damaged(&self) -> bool {
        !self.database.faults.is_empty() || !self.log_agrees || self.tables_agree == Some(false)
    }
}

/// Looks through a whole backup; `moved` hears how many bytes of how many were read.
///
/// # Errors
/// [`PackedError`]: it is damaged, with what and where, or could not be looked at.
pub fn check_up(file: &Path, moved: &mut dyn FnMut(u64, u64)) -> Result<PackedCheckup, PackedError> {
    let name = format!("storypole-{}.db", hex::print(&crate::edge::random::<8>()));
    let scratch = Scratch::at(std::env::temp_dir().join(name));
    let failed = |source| PackedError::Scratch { path: scratch.path().to_owned(), source };
    let reading = Reading::open(file)?;
    let (mut done, of) = (0, reading.of);
    let (mut pass, mut has_database) = (None, false);
    let manifest = reading.each::<PackedError>(&mut |member, content| {
        match member.name.as_str() {
            DATABASE => {
                let mut options = OpenOptions::new();
                options.write(true).create_new(true);
                crate::backup::owner_only(&mut options);
                let mut sink = options.open(scratch.path()).map_err(failed)?;
                io::copy(content, &mut sink).map_err(failed)?;
                has_database = true;
            }
            PASS => {
                let mut bytes = Vec::new();
                content.read_to_end(&mut bytes).map_err(failed)?;
                pass = RestorePass::from_bytes(&bytes);
            }
            // What is read to its end is hashed by the reading.
            _ => {
                io::copy(content, &mut io::sink()).map_err(failed)?;
            }
        }
        done += member.bytes;
        moved(done, of);
        Ok(())
    })?;
    if !has_database {
        return Err(PackedError::NoDatabase);
    }
    look(scratch.path(), manifest, pass)
}

fn look(
    database: &Path,
    manifest: Manifest,
    pass: Option<RestorePass>,
) -> Result<PackedCheckup, PackedError> {
    let reader = Reader::open(database)?;
    let verification = reader.verify()?;
    let is_current = reader.is_current()?;
    let (mut log_agrees, mut tables_agree) = (reader.log_digest()? == manifest.log, None);
    log_agrees &= reader.identity()?.0 == manifest.notebook;
    let packed: BTreeSet<[u8; 32]> = manifest
        .members
        .iter()
        .filter_map(|member| hex::parse(member.name.strip_prefix(ATTACHMENT)?))
        .collect();
    let mut missing = manifest.missing.clone();
    if is_current {
        tables_agree = Some(reader.digest()?.tables == manifest.tables);
        let named: BTreeSet<[u8; 32]> =
            named_files(&reader.book()?).into_iter().map(|named| named.hash).collect();
        missing = named.difference(&packed).copied().collect();
    }
    let standing = reader.standing()?;
    let pass_counts = manifest.has_pass().then(|| pass.is_some_and(|pass| pass.counts(&standing)));
    Ok(PackedCheckup { manifest, database: verification, log_agrees, tables_agree, pass_counts, missing })
}
