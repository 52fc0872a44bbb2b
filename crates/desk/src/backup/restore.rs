//! A new copy of the notebook from a backup. It is a device of its own, so that the same backup restored twice gives
//! two devices and no fork; the pass in the backup, where one is and counts, lets it in.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use storypole_journal::membership::Role;
use storypole_journal::{DeviceId, DeviceKey, Draft, NotebookId, RecordId, WrittenAt};
use storypole_notebook::compose::Composer;
use storypole_notebook::{Value, door};
use storypole_store::attachments::{AttachmentError, Attachments};
use storypole_store::{Anew, Reader, Store, StoreError};

use super::manifest::moment;
use super::read::{Reading, check};
use super::{DATABASE, Damage, Heard, Manifest, PASS, Progress, Step, owner_only};
use crate::folder::FolderError;
use crate::{DataFolder, Desk, DeskError, RestorePass, edge, pass};

/// What may lie in a folder that a restore goes into: what an interrupted one left, and the lock.
const LEFT: &[&str] = &[
    "lock",
    "device.key",
    "device.key.new",
    "device.key.next",
    "device.key.next.new",
    "restore.key",
    "restore.key.new",
    "notebook.db.new",
    "notebook.db.new-wal",
    "notebook.db.new-shm",
    "notebook.db.new-journal",
    "attachments",
];

/// How the new copy is to be called, and when that was.
#[derive(Debug, Clone)]
pub struct Naming {
    /// Short name of the device; `restored` and the day where none is given.
    pub label: Option<String>,
    /// Now, by the person's clock.
    pub written_at: WrittenAt,
}

/// A notebook that was restored.
pub struct Restored {
    /// The new copy, open.
    pub desk: Desk,
    /// What was in the backup.
    pub manifest: Manifest,
    /// What the new device is called.
    pub label: String,
    /// Whether it may write.
    pub admitted: Admitted,
}

/// Whether a restored copy may write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Admitted {
    /// The pass in the backup let it in.
    ByPass,
    /// The backup holds no pass: a keeper must invite it.
    NoPass,
    /// Its pass was revoked before the backup was made: a keeper must invite it.
    PassRevoked,
}

/// Why nothing was restored. A folder that was there is as it was, but for what an interrupted restore leaves.
#[derive(Debug, thiserror::Error)]
pub enum RestoreError {
    /// The backup.
    #[error(transparent)]
    Damage(#[from] Damage),
    /// The folder holds something.
    #[error("{folder} is not empty, it holds {what}: name a new folder with --data")]
    NotEmpty { folder: PathBuf, what: String },
    /// What is packed is not a whole notebook.
    #[error("the backup is packed as it was, but {faults} faults are in its database: use another backup")]
    Faulty { faults: usize },
    /// What is packed is not what the manifest tells of.
    #[error("the database in the backup is not the one its manifest tells of: use another backup")]
    OtherContent,
    /// It was asked to stop.
    #[error(
        "restoring was stopped; there is no notebook in the folder yet, and the same command begins again"
    )]
    Stopped,
    /// It could not be written.
    #[error("{path} could not be written: check the disk, its space and its permissions")]
    Write { path: PathBuf, source: io::Error },
    /// The new copy.
    #[error(transparent)]
    Desk(#[from] DeskError),
    /// The database of the new copy.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<FolderError> for RestoreError {
    fn from(error: FolderError) -> Self {
        Self::Desk(error.into())
    }
}

/// Makes a new copy of the notebook in a folder that is new or empty. The whole backup is read first; the notebook
/// is in the folder when all of it is, and not before.
///
/// # Errors
/// [`RestoreError`], with what to do.
pub fn restore(
    file: &Path,
    folder: &Path,
    naming: &Naming,
    heard: &mut Heard<'_>,
) -> Result<Restored, RestoreError> {
    check_empty(folder)?;
    let checking = &mut |done, of| heard(Progress { step: Step::Checking, done, of });
    check(file, checking)?.ok_or(RestoreError::Stopped)?;
    let folder = DataFolder::take(folder)?;
    // Another process may have put a notebook there meanwhile.
    check_empty(folder.path())?;
    let database = folder.clear_new_database()?;
    let (manifest, pass) = unpack(file, &folder, &database, heard)?;
    check_database(&database, &manifest)?;
    if let Some(pass) = &pass {
        folder.write_private(pass::FILE, &pass.to_bytes())?;
    }
    let key = edge::device_key();
    folder.write_key(&key)?;
    let (label, admitted) = begin(&database, key, pass, &manifest, naming)?;
    folder.keep_new_database()?;
    let desk = Desk::open_held(folder)?;
    Ok(Restored { desk, manifest, label, admitted })
}

fn check_empty(folder: &Path) -> Result<(), RestoreError> {
    if folder.join(DATABASE).exists() {
        return Err(FolderError::AlreadyThere(folder.to_owned()).into());
    }
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(_) if folder.is_file() => return Err(FolderError::NotAFolder(folder.to_owned()).into()),
        Err(source) => return Err(FolderError::Io { path: folder.to_owned(), source }.into()),
    };
    for entry in entries {
        let entry = entry.map_err(|source| FolderError::Io { path: folder.to_owned(), source })?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if !LEFT.contains(&name.as_str()) {
            return Err(RestoreError::NotEmpty { folder: folder.to_owned(), what: name });
        }
    }
    Ok(())
}

/// Takes everything out; the key of the pass stays in memory.
fn unpack(
    file: &Path,
    folder: &DataFolder,
    database: &Path,
    heard: &mut Heard<'_>,
) -> Result<(Manifest, Option<RestorePass>), RestoreError> {
    let attachments = Attachments::open(&folder.attachments()).map_err(DeskError::from)?;
    let reading = Reading::open(file)?;
    let (mut done, of) = (0, reading.manifest.bytes());
    let mut pass = None;
    let manifest = reading.each::<RestoreError>(&mut |member, content| {
        match member.name.as_str() {
            DATABASE => write_out(database, content)?,
            PASS => {
                let mut bytes = Vec::new();
                let read = content.read_to_end(&mut bytes);
                read.map_err(|source| RestoreError::Write { path: file.to_owned(), source })?;
                pass = RestorePass::from_bytes(&bytes);
            }
            _ => keep(&attachments, content)?,
        }
        done += member.bytes;
        if heard(Progress { step: Step::Writing, done, of }) { Ok(()) } else { Err(RestoreError::Stopped) }
    })?;
    Ok((manifest, pass))
}

fn write_out(path: &Path, content: &mut dyn Read) -> Result<(), RestoreError> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    owner_only(&mut options);
    let written = options.open(path).and_then(|mut file| {
        io::copy(content, &mut file)?;
        file.sync_all()
    });
    written.map_err(|source| RestoreError::Write { path: path.to_owned(), source })
}

/// Its hash is compared with the manifest by the reading, which comes to this file's name.
fn keep(attachments: &Attachments, content: &mut dyn Read) -> Result<(), RestoreError> {
    match attachments.keep(content) {
        // An empty member is no attached file; the reading says so if it should have been one.
        Ok(_) | Err(AttachmentError::Empty) => Ok(()),
        Err(error) => Err(DeskError::from(error).into()),
    }
}

/// What is packed must be a notebook in which nothing was altered, and the one the manifest tells of.
fn check_database(database: &Path, manifest: &Manifest) -> Result<(), RestoreError> {
    let reader = Reader::open(database)?;
    let faults = reader.verify()?.faults.len();
    if faults > 0 {
        return Err(RestoreError::Faulty { faults });
    }
    let (notebook, _) = reader.identity()?;
    if notebook != manifest.notebook || reader.log_digest()? != manifest.log {
        return Err(RestoreError::OtherContent);
    }
    Ok(())
}

/// Makes the unpacked database that of a new device.
fn begin(
    database: &Path,
    key: DeviceKey,
    pass: Option<RestorePass>,
    manifest: &Manifest,
    naming: &Naming,
) -> Result<(String, Admitted), RestoreError> {
    let mut store = Store::open(database, key.clone())?;
    let reader = store.reader()?;
    let (author, standing) = (reader.author()?, reader.standing()?);
    drop(reader);
    let admitted = match &pass {
        None => Admitted::NoPass,
        Some(pass) if pass.counts(&standing) => Admitted::ByPass,
        Some(_) => Admitted::PassRevoked,
    };
    let label = naming.label.clone().unwrap_or_else(|| format!("restored {}", day(naming.written_at)));
    let device = edge::device_id();
    let voucher = pass.filter(|_| admitted == Admitted::ByPass);
    let voucher = voucher.map(|pass| vouched(&pass, manifest.notebook, device, &key));
    let note = voucher.is_some().then(|| name(author, device, &label, naming.written_at)).transpose()?;
    let anew = Anew { device, key, instance: edge::random(), voucher, note };
    store.begin_anew(anew, edge::now_ms())?;
    Ok((label, admitted))
}

/// What the pass signs for the new device.
pub(crate) fn vouched(
    pass: &RestorePass,
    notebook: NotebookId,
    device: DeviceId,
    key: &DeviceKey,
) -> (DeviceId, [u8; 64], Role) {
    let signature = pass.key().vouch(notebook, pass.device, device, key.public(), Role::Keeper);
    (pass.device, signature, Role::Keeper)
}

/// The draft that gives the new device a name.
pub(crate) fn name(
    author: RecordId,
    device: DeviceId,
    label: &str,
    written_at: WrittenAt,
) -> Result<Draft, DeskError> {
    let mut compose = Composer::new(edge::draft_id(), author, written_at);
    let record = edge::record_id();
    compose.set(record, "device", "label", &Value::Text(label.to_owned()))?;
    compose.set(record, "device", "device", &Value::Text(device.to_string()))?;
    compose.set(record, "device", "person", &Value::Record(author))?;
    let draft = compose.finish();
    door::check(&draft).map_err(|source| DeskError::Door { draft: draft.id, source })?;
    Ok(draft)
}

/// The day of the person who restores.
fn day(at: WrittenAt) -> String {
    let local_ms = at.unix_ms.saturating_add(i64::from(at.offset_min) * 60_000);
    moment(u64::try_from(local_ms).unwrap_or(0)).chars().take(10).collect()
}
