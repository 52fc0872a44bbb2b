//! Backups: the whole notebook in one file of an open format, made while work goes on.
//!
//! Reading order: [`manifest`] (what is in it), `tar` (how it is packed and sealed), this file (making one),
//! [`read`] (checking one), [`restore`] (a new copy from one), [`rota`] (which of many are kept).
//!
//! In it are the database, every attached file that is held here, and a pass with which a restored copy lets itself
//! in. Left out on purpose: the key of this device, browsers' sessions, and whom this copy syncs with.

use std::collections::BTreeSet;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

use storypole_journal::{DeviceId, RecordId};
use storypole_notebook::Book;
use storypole_store::attachments::AttachmentError;
use storypole_store::digest::Digest;
use storypole_store::snapshot::Copying;
use storypole_store::{Reader, StoreError};

use crate::folder::sync_folder;
use crate::{Desk, DeskError, edge};

pub mod manifest;
pub mod read;
pub mod restore;
pub mod rota;
pub(crate) mod tar;

pub use manifest::{Manifest, Member};
pub use read::{Damage, check, manifest_of};
pub use tar::ArchiveFault;

use tar::{PackFault, Packing};

pub(crate) const MANIFEST: &str = "manifest.json";
pub(crate) const DATABASE: &str = "notebook.db";
pub(crate) const PASS: &str = "restore.key";
/// What stands before the hash of an attached file.
pub(crate) const ATTACHMENT: &str = "attachments/";

/// How a backup is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// Write over a file of that name.
    pub replace: bool,
}

/// What is being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// The database is copied.
    Database,
    /// Attached files are looked through.
    Files,
    /// The backup is written.
    Writing,
    /// It is read back.
    Checking,
}

/// How far it is: bytes, or pages of the database, or files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What is being done.
    pub step: Step,
    /// How much of it is done.
    pub done: u64,
    /// Of how much.
    pub of: u64,
}

/// Hears how far it is and says whether to go on.
pub type Heard<'a> = dyn FnMut(Progress) -> bool + 'a;

/// A backup that was made and read back whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Where it lies.
    pub path: PathBuf,
    /// Its size.
    pub bytes: u64,
    /// What is in it.
    pub manifest: Manifest,
    /// Why no restore pass is in it, where none is.
    pub no_pass: Option<NoPass>,
}

/// Why a backup holds no restore pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPass {
    /// This device is no keeper, and only keepers make passes.
    NotAKeeper,
    /// There is none yet, and another process holds the notebook.
    HeldElsewhere,
}

/// Why no backup was made. What was there before is as it was.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// A file of that name is there.
    #[error("{0} is there already: name another file, or add --replace")]
    AlreadyThere(PathBuf),
    /// The name is that of a folder.
    #[error("{0} is a folder: name the file in it that is to be written")]
    IsAFolder(PathBuf),
    /// Another process is at it.
    #[error("another backup is being written to {0}: wait until it is done")]
    InUse(PathBuf),
    /// The backup would lie among what it holds.
    #[error("{0} lies in the folder of the notebook itself: name a place on another disk")]
    Inside(PathBuf),
    /// It was asked to stop.
    #[error("the backup was stopped before it was whole; nothing of it is left")]
    Stopped,
    /// The notebook.
    #[error(transparent)]
    Desk(#[from] DeskError),
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An attached file changed between two looks at it.
    #[error("an attached file changed while it was copied: run `storypole verify`, then try again")]
    Changed,
    /// It could not be written.
    #[error("{path} could not be written: check the disk, its space and its permissions")]
    Write { path: PathBuf, source: io::Error },
    /// It was written, but the disk does not give it back whole.
    #[error("the backup was written and could not be read back whole, so it was removed: use another disk")]
    NotWhole { source: Damage },
}

impl BackupError {
    /// Whether nothing but space is missing.
    pub fn is_disk_full(&self) -> bool {
        match self {
            Self::Desk(error) => error.is_disk_full(),
            Self::Store(error) => error.is_disk_full(),
            Self::Write { source, .. } => crate::desk::no_space(source),
            _ => false,
        }
    }
}

impl Desk {
    /// Makes a backup of all that stands in the notebook now, while others may write. It is under its name only when
    /// it was read back whole and is durable.
    ///
    /// # Errors
    /// [`BackupError`]; nothing is left behind, and a file that was there before is as it was.
    pub fn back_up(&self, file: &Path, options: Options, heard: &mut Heard<'_>) -> Result<Made, BackupError> {
        self.check_place(file, options)?;
        let no_pass = self.ready_pass()?;
        let part = Part::begin(file)?;
        let scratch = Scratch::beside(file)?;
        let pages = &mut |copying: Copying| {
            heard(Progress { step: Step::Database, done: copying.done, of: copying.of })
        };
        if !self.reader()?.copy_for_backup(&scratch.0, pages)? {
            return Err(BackupError::Stopped);
        }
        let (contents, manifest) = self.contents(&scratch.0, heard)?;
        let bytes = self.pack(&part, &contents, &manifest, heard)?;
        drop(scratch);
        let whole = check(&part.path, &mut |done, of| heard(Progress { step: Step::Checking, done, of }));
        match whole.map_err(|source| BackupError::NotWhole { source })? {
            Some(read) if read == manifest => (),
            Some(_) => {
                let source = Damage::Member { path: part.path.clone(), name: MANIFEST.to_owned(), at: 0 };
                return Err(BackupError::NotWhole { source });
            }
            None => return Err(BackupError::Stopped),
        }
        part.keep(file)?;
        Ok(Made { path: file.to_owned(), bytes, manifest, no_pass })
    }

    fn check_place(&self, file: &Path, options: Options) -> Result<(), BackupError> {
        if file.is_dir() {
            return Err(BackupError::IsAFolder(file.to_owned()));
        }
        let inside = |folder: &Path| {
            let (Ok(own), Ok(folder)) = (fs::canonicalize(self.path()), fs::canonicalize(folder)) else {
                return false;
            };
            folder.starts_with(own)
        };
        if inside(folder_of(file)) {
            return Err(BackupError::Inside(file.to_owned()));
        }
        if file.exists() && !options.replace {
            return Err(BackupError::AlreadyThere(file.to_owned()));
        }
        Ok(())
    }

    /// Sees to it that there is a pass; says why where there is none.
    fn ready_pass(&self) -> Result<Option<NoPass>, BackupError> {
        match self.restore_pass() {
            Ok(Some(_)) => Ok(None),
            Ok(None) => Ok(Some(NoPass::NotAKeeper)),
            Err(DeskError::OnlyReading { .. }) => Ok(Some(NoPass::HeldElsewhere)),
            Err(error) => Err(error.into()),
        }
    }

    /// What goes in after the manifest, and the manifest.
    fn contents(
        &self,
        scratch: &Path,
        heard: &mut Heard<'_>,
    ) -> Result<(Vec<Content>, Manifest), BackupError> {
        let copy = Reader::open(scratch)?;
        let (digest, book) = (copy.digest()?, copy.book()?);
        let mut contents = vec![Content::Database(scratch.to_owned())];
        // It is left out where the copied state does not know it yet.
        let pass =
            self.held_pass()?.filter(|pass| copy.standing().is_ok_and(|standing| pass.counts(&standing)));
        contents.extend(pass.map(|pass| Content::Pass(pass.to_bytes())));
        let (held, altered) = self.held_files(heard)?;
        let known: BTreeSet<[u8; 32]> = held.iter().chain(&altered).copied().collect();
        let missing = named_files(&book).into_iter().map(|named| named.hash).collect::<BTreeSet<_>>();
        let missing = missing.difference(&known).copied().collect();
        contents.extend(held.into_iter().map(Content::File));
        let mut members = Vec::with_capacity(contents.len());
        for content in &contents {
            members.push(self.member(content)?);
        }
        let manifest = self.manifest(&book, digest, copy.founder_key()?, members);
        Ok((contents, Manifest { missing, altered, ..manifest }))
    }

    fn manifest(
        &self,
        book: &Book,
        digest: Digest,
        founder_key: storypole_journal::PublicKey,
        members: Vec<Member>,
    ) -> Manifest {
        Manifest {
            notebook: self.notebook(),
            name: name_of(book),
            founder_key,
            device: self.device(),
            device_label: label_of(book, self.device()),
            made_ms: edge::now_ms(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            changes: digest.changes,
            log: digest.log,
            projection: digest.projection,
            tables: digest.tables,
            members,
            missing: Vec::new(),
            altered: Vec::new(),
        }
    }

    /// The attached files that are whole, and those that changed on the disk.
    #[allow(clippy::type_complexity, reason = "two lists of hashes, named where they are taken apart")]
    fn held_files(&self, heard: &mut Heard<'_>) -> Result<(Vec<[u8; 32]>, Vec<[u8; 32]>), BackupError> {
        let all = self.attachments().all().map_err(DeskError::from)?;
        let (mut held, mut altered) = (Vec::new(), Vec::new());
        let of = all.len() as u64;
        for (done, hash) in (1..).zip(all) {
            match self.attachments().open_verified(&hash) {
                Ok(_) => held.push(hash),
                Err(AttachmentError::Altered | AttachmentError::Missing) => altered.push(hash),
                Err(error) => return Err(DeskError::from(error).into()),
            }
            if !heard(Progress { step: Step::Files, done, of }) {
                return Err(BackupError::Stopped);
            }
        }
        Ok((held, altered))
    }

    fn member(&self, content: &Content) -> Result<Member, BackupError> {
        let (bytes, blake3) = match content {
            Content::Database(path) => hash_file(path)?,
            Content::Pass(pass) => (pass.len() as u64, *blake3::hash(pass).as_bytes()),
            Content::File(hash) => {
                let (_, bytes) = self.attachments().open_verified(hash).map_err(DeskError::from)?;
                (bytes, *hash)
            }
        };
        Ok(Member { name: content.name(), bytes, blake3 })
    }

    fn pack(
        &self,
        part: &Part,
        contents: &[Content],
        manifest: &Manifest,
        heard: &mut Heard<'_>,
    ) -> Result<u64, BackupError> {
        let failed = |source| BackupError::Write { path: part.path.clone(), source };
        let sink = io::BufWriter::with_capacity(1 << 20, &part.file);
        let mut packing = Packing::new(sink, manifest.made_ms / 1000);
        let text = manifest.print();
        let (mut done, of) = (0, text.len() as u64 + manifest.bytes());
        let mut moved = |bytes: u64| {
            done += bytes;
            heard(Progress { step: Step::Writing, done, of })
        };
        let mut put = |name: &str, bytes: u64, blake3: Option<[u8; 32]>, source: &mut dyn io::Read| {
            let packed = packing.member(name, bytes, source, &mut moved).map_err(|fault| match fault {
                PackFault::Source(source) => BackupError::Write { path: PathBuf::from(name), source },
                PackFault::Sink(source) => failed(source),
                PackFault::Length => BackupError::Changed,
            })?;
            match packed {
                None => Err(BackupError::Stopped),
                Some(hash) if blake3.is_some_and(|expected| expected != hash) => Err(BackupError::Changed),
                Some(_) => Ok(()),
            }
        };
        put(MANIFEST, text.len() as u64, None, &mut text.as_bytes())?;
        for (content, member) in contents.iter().zip(&manifest.members) {
            let mut source = self.open_content(content)?;
            put(&member.name, member.bytes, Some(member.blake3), &mut source)?;
        }
        let (sink, bytes) = packing.seal().map_err(|fault| match fault {
            PackFault::Source(source) | PackFault::Sink(source) => failed(source),
            PackFault::Length => BackupError::Changed,
        })?;
        sink.into_inner().map_err(|error| failed(error.into_error()))?;
        part.file.sync_all().map_err(failed)?;
        Ok(bytes)
    }

    fn open_content(&self, content: &Content) -> Result<Box<dyn io::Read>, BackupError> {
        Ok(match content {
            Content::Database(path) => {
                let opened = File::open(path);
                Box::new(opened.map_err(|source| BackupError::Write { path: path.clone(), source })?)
            }
            Content::Pass(pass) => Box::new(io::Cursor::new(pass.clone())),
            Content::File(hash) => {
                Box::new(self.attachments().open_verified(hash).map_err(DeskError::from)?.0)
            }
        })
    }
}

/// What a member is made of.
enum Content {
    Database(PathBuf),
    Pass(Vec<u8>),
    File([u8; 32]),
}

impl Content {
    fn name(&self) -> String {
        match self {
            Self::Database(_) => DATABASE.to_owned(),
            Self::Pass(_) => PASS.to_owned(),
            Self::File(hash) => format!("{ATTACHMENT}{}", crate::hex::print(hash)),
        }
    }
}

/// A file that a record names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NamedFile {
    /// Kind of the record.
    pub kind: &'static str,
    /// The record.
    pub record: RecordId,
    /// BLAKE3 of the file.
    pub hash: [u8; 32],
}

/// Every file that a record which stands names.
pub fn named_files(book: &Book) -> Vec<NamedFile> {
    let photos = book.photos.live().filter_map(|photo| Some(("photo", photo.id, photo.hash?)));
    let signals = book.signals.live().filter_map(|signal| Some(("signal", signal.id, signal.hash?)));
    photos.chain(signals).map(|(kind, record, hash)| NamedFile { kind, record, hash }).collect()
}

/// The name of the notebook, or what stands for one.
pub(crate) fn name_of(book: &Book) -> String {
    let name = book.notebooks.live().next().and_then(|notebook| notebook.name.clone());
    name.unwrap_or_else(|| "notebook".to_owned())
}

/// What people call a device.
pub(crate) fn label_of(book: &Book, device: DeviceId) -> Option<String> {
    let id = device.to_string();
    let record = book.devices.live().find(|record| record.device.as_deref() == Some(&id))?;
    record.label.clone()
}

/// The folder a file lies in.
pub(crate) fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

fn beside(file: &Path, ending: &str) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn hash_file(path: &Path) -> Result<(u64, [u8; 32]), BackupError> {
    let failed = |source| BackupError::Write { path: path.to_owned(), source };
    let mut hasher = blake3::Hasher::new();
    let mut file = File::open(path).map_err(failed)?;
    let bytes = io::copy(&mut file, &mut hasher).map_err(failed)?;
    Ok((bytes, *hasher.finalize().as_bytes()))
}

/// The backup while it is made; gone when it is dropped before it was kept.
struct Part {
    path: PathBuf,
    file: File,
    kept: std::cell::Cell<bool>,
}

impl Part {
    /// Begins anew over what a crash may have left.
    fn begin(file: &Path) -> Result<Self, BackupError> {
        let path = beside(file, ".part");
        let failed = |source| BackupError::Write { path: path.clone(), source };
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        owner_only(&mut options);
        let open = options.open(&path).map_err(failed)?;
        match open.try_lock() {
            Ok(()) => (),
            Err(TryLockError::WouldBlock) => return Err(BackupError::InUse(file.to_owned())),
            Err(TryLockError::Error(source)) => return Err(failed(source)),
        }
        open.set_len(0).map_err(failed)?;
        Ok(Self { path, file: open, kept: std::cell::Cell::new(false) })
    }

    /// Gives it its name, durably.
    fn keep(self, file: &Path) -> Result<(), BackupError> {
        fs::rename(&self.path, file)
            .map_err(|source| BackupError::Write { path: file.to_owned(), source })?;
        self.kept.set(true);
        sync_folder(folder_of(file)).map_err(|source| BackupError::Write { path: file.to_owned(), source })
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        if !self.kept.get() {
            // What cannot be removed is written over by the next backup of that name.
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// A database for a moment; gone when it is dropped, with what SQLite puts beside it.
pub(crate) struct Scratch(PathBuf);

impl Scratch {
    /// Beside a backup while it is made, empty, for its owner only.
    fn beside(file: &Path) -> Result<Self, BackupError> {
        let scratch = Self::at(beside(file, ".part.db"));
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        owner_only(&mut options);
        match options.open(&scratch.0) {
            Ok(_) => Ok(scratch),
            Err(source) => Err(BackupError::Write { path: scratch.0.clone(), source }),
        }
    }

    /// At a place where nothing is that anyone wants.
    pub(crate) fn at(path: PathBuf) -> Self {
        let scratch = Self(path);
        scratch.remove();
        scratch
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    fn remove(&self) {
        for ending in ["", "-journal", "-wal", "-shm"] {
            // One that is not there is what is wanted.
            let _ = fs::remove_file(beside(&self.0, ending));
        }
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        self.remove();
    }
}

/// A backup holds a pass and everything a crew wrote: others on the computer may not read it.
pub(crate) fn owner_only(options: &mut OpenOptions) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    #[cfg(not(unix))]
    let _ = options;
}
