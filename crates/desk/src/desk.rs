//! The open notebook: what CLI and server work with.

mod find;

use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use storypole_findings::Findings;
use storypole_journal::membership::{self, Role};
use storypole_journal::{
    DeviceId, DeviceKey, Draft, DraftId, NotebookId, PublicKey, RecordId, Vector, WriteId, WrittenAt,
};
use storypole_notebook::compose::{ComposeError, Composer};
use storypole_notebook::door::{self, DoorError};
use storypole_notebook::{Book, KindSpec, Value};
use storypole_search::SearchError;
use storypole_search::like::LikeError;
use storypole_store::attachments::{AttachmentError, Attachments, Kept};
use storypole_store::digest::Digest;
use storypole_store::error::TakeError;
use storypole_store::read::{Position, Touched};
use storypole_store::verify::Verification;
use storypole_store::{Begun, Identity, Parcel, Reader, Received, Store, StoreError, Taken};
use storypole_units::Currency;

use crate::finder::Finder;
use crate::folder::{DataFolder, FolderError};
use crate::listeners::{Listener, Listeners};
use crate::members::MembersError;
use crate::publish::Press;
use crate::readers::Readers;
use crate::shelf::{self, Shelf};
use crate::writer::Writer;
use crate::{Known, anew, edge, view};

/// An open notebook on this device. Cheap to share behind an [`Arc`].
pub struct Desk {
    notebook: NotebookId,
    /// Another one after a fork was mended.
    pub(crate) device: RwLock<DeviceId>,
    author: RecordId,
    pub(crate) mended: Mutex<Option<Begun>>,
    listeners: Arc<Listeners>,
    readers: Readers,
    attachments: Attachments,
    shelf: Shelf,
    press: Press,
    finder: Finder,
    /// None while only reading. After the readers: the last to close the database brings everything into its one
    /// file, which readers cannot.
    writer: Option<Writer>,
    // Last, so that the lock is held until the writer has ended.
    pub(crate) folder: DataFolder,
}

/// A failure of the desk.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// The data folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The notebook was opened to read only.
    #[error(
        "{path} is open for reading only, because another process holds it or it cannot be written to: try again when it is free"
    )]
    OnlyReading { path: PathBuf },
    /// Its tables are of another version, and only a writer may rebuild them.
    #[error(
        "{path} was last used by another version of the program and cannot be brought up to date while it cannot be written to: open it where it can"
    )]
    OtherVersion { path: PathBuf },
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A draft that is refused for a value.
    #[error("nothing was written: draft {draft} is refused")]
    Door { draft: DraftId, source: DoorError },
    /// A draft that is refused for another reason.
    #[error("nothing was written")]
    Take(#[from] TakeError),
    /// A draft that cannot be composed.
    #[error("nothing was written")]
    Compose(#[from] ComposeError),
    /// Who belongs to the notebook cannot be changed like this.
    #[error(transparent)]
    Members(#[from] MembersError),
    /// A file.
    #[error(transparent)]
    Attachment(#[from] AttachmentError),
    /// The index.
    #[error(transparent)]
    Search(#[from] SearchError),
    /// Nothing can be said of a wall.
    #[error(transparent)]
    Like(#[from] LikeError),
}

impl DeskError {
    /// Whether nothing but space is missing: the same again can be done once some is free.
    pub fn is_disk_full(&self) -> bool {
        match self {
            Self::Store(error) => error.is_disk_full(),
            Self::Attachment(error) => error.is_disk_full(),
            Self::Folder(error) => error.is_disk_full(),
            Self::Search(SearchError::Store { source }) => source.is_disk_full(),
            Self::Search(SearchError::Folder { source, .. }) => no_space(source),
            _ => false,
        }
    }
}

/// What a new notebook starts with.
#[derive(Debug, Clone)]
pub struct Founding {
    /// Its name.
    pub name: String,
    /// Currency of its prices.
    pub currency: Currency,
    /// Role of the person who starts it.
    pub role: String,
    /// Short name of that person.
    pub label: String,
    /// Short name of this device.
    pub device_label: String,
    /// Now, by the person's clock.
    pub written_at: WrittenAt,
}

/// What a copy needs to know of the notebook it joins.
#[derive(Debug, Clone, Copy)]
pub struct Joining {
    /// The notebook.
    pub notebook: NotebookId,
    /// Public key of its founding device.
    pub founder_key: PublicKey,
    /// The person who works at this device.
    pub author: RecordId,
}

/// The id and key that a device made for itself before it had a copy.
pub struct Newcomer {
    /// Its id.
    pub device: DeviceId,
    /// Its key.
    pub key: DeviceKey,
}

impl Newcomer {
    /// A device that was never there.
    fn new() -> Self {
        Self { device: edge::device_id(), key: edge::device_key() }
    }
}

impl Desk {
    /// Starts a new notebook in a folder; this device is its founder and keeper.
    ///
    /// # Errors
    /// [`FolderError::AlreadyThere`] when the folder holds one; nothing of it is touched.
    pub fn found(path: &Path, founding: &Founding) -> Result<Self, DeskError> {
        let newcomer = Newcomer::new();
        let device = newcomer.device;
        let author = edge::record_id();
        let mut compose = Composer::new(edge::draft_id(), author, founding.written_at);
        let settings = edge::record_id();
        let text = |text: &str| Value::Text(text.to_owned());
        compose.set(settings, "notebook", "name", &text(&founding.name))?;
        compose.set(settings, "notebook", "currency", &text(founding.currency.code()))?;
        compose.set(author, "person", "label", &text(&founding.label))?;
        compose.set(author, "person", "role", &text(&founding.role))?;
        compose.set(author, "person", "crew", &Value::Flag(true))?;
        let own = edge::record_id();
        compose.set(own, "device", "label", &text(&founding.device_label))?;
        compose.set(own, "device", "device", &text(&device.to_string()))?;
        compose.set(own, "device", "person", &Value::Record(author))?;
        let draft = compose.finish();
        door::check(&draft).map_err(|source| DeskError::Door { draft: draft.id, source })?;
        Self::make(path, NotebookId::founded_by(device), newcomer, None, author, Some(draft))
    }

    /// Makes an empty copy of a notebook in a folder, to be filled by [`Self::receive`]; a keeper must invite
    /// its device before it can write.
    ///
    /// # Errors
    /// As [`Self::found`].
    pub fn join(path: &Path, joining: &Joining) -> Result<Self, DeskError> {
        Self::join_as(path, joining, Newcomer::new())
    }

    /// The same for a device that a keeper invited already, under the id and key it made for itself.
    ///
    /// # Errors
    /// As [`Self::found`].
    pub fn join_as(path: &Path, joining: &Joining, newcomer: Newcomer) -> Result<Self, DeskError> {
        let founder_key = Some(joining.founder_key);
        Self::make(path, joining.notebook, newcomer, founder_key, joining.author, None)
    }

    /// Makes the database beside its place and moves it there when it is whole, so that a crash leaves either no
    /// notebook or one that was founded.
    fn make(
        path: &Path,
        notebook: NotebookId,
        Newcomer { device, key }: Newcomer,
        founder_key: Option<PublicKey>,
        author: RecordId,
        founding: Option<Draft>,
    ) -> Result<Self, DeskError> {
        let folder = DataFolder::take(path)?;
        if folder.holds_notebook() {
            return Err(FolderError::AlreadyThere(path.to_owned()).into());
        }
        folder.write_key(&key)?;
        let founder_key = founder_key.unwrap_or_else(|| key.public());
        let identity = Identity { notebook, device, founder_key, instance: edge::random(), author };
        let invitation = membership::invite(device, key.public(), Role::Keeper, device);
        let mut store = Store::create(&folder.clear_new_database()?, key, &identity)?;
        if let Some(mut draft) = founding {
            draft.writes.splice(0..0, invitation);
            let outcome = store.take(vec![draft], edge::now_ms())?.into_iter().next();
            outcome.expect("one outcome for one draft")?;
        }
        // Closing the last connection brings everything into the one file.
        drop(store);
        folder.keep_new_database()?;
        Self::open_held(folder)
    }

    /// Opens the notebook in a folder.
    ///
    /// # Errors
    /// No notebook, in use by another process, key missing, database damaged or of a newer version.
    pub fn open(path: &Path) -> Result<Self, DeskError> {
        if !path.join("notebook.db").exists() {
            return Err(FolderError::NoNotebook(path.to_owned()).into());
        }
        Self::open_held(DataFolder::take_patiently(path)?)
    }

    /// Opens the notebook in a folder to look at it: also while another process works with it, and where nothing
    /// can be written.
    ///
    /// # Errors
    /// As [`Self::open`], but never that the folder is in use.
    pub fn open_to_read(path: &Path) -> Result<Self, DeskError> {
        if !path.join("notebook.db").exists() {
            return Err(FolderError::NoNotebook(path.to_owned()).into());
        }
        match DataFolder::take(path) {
            Ok(folder) => Self::open_held(folder),
            Err(FolderError::InUse { .. } | FolderError::NotAllowed { .. }) => Self::look_at(path),
            Err(error) => Err(error.into()),
        }
    }

    pub(crate) fn open_held(folder: DataFolder) -> Result<Self, DeskError> {
        let key = anew::own_key(&folder)?;
        let store = Store::open(&folder.database(), key)?;
        let reader = store.reader()?;
        let (notebook, device, author) = (store.notebook(), store.device(), reader.author()?);
        let attachments = Attachments::open(&folder.attachments())?;
        let listeners = Arc::new(Listeners::default());
        let writer = Some(Writer::start(store, Arc::clone(&listeners)));
        let readers = Readers::new(folder.database(), reader);
        let (shelf, finder) = (Shelf::default(), Finder::new(folder.path().to_owned(), folder.index()));
        let (device, mended) = (RwLock::new(device), Mutex::default());
        let desk = Self {
            notebook,
            device,
            author,
            writer,
            mended,
            listeners,
            readers,
            attachments,
            shelf,
            press: Press::default(),
            finder,
            folder,
        };
        // Where the program ended between what arrived and what follows from it.
        desk.mend_own_fork()?;
        Ok(desk)
    }

    fn look_at(path: &Path) -> Result<Self, DeskError> {
        let folder = DataFolder::look_at(path);
        let reader = Reader::open(&folder.database())?;
        if !reader.is_current()? {
            return Err(DeskError::OtherVersion { path: path.to_owned() });
        }
        let (notebook, device) = reader.identity()?;
        let author = reader.author()?;
        let attachments = Attachments::look_at(&folder.attachments());
        let listeners = Arc::default();
        let readers = Readers::new(folder.database(), reader);
        let (shelf, finder) = (Shelf::default(), Finder::new(folder.path().to_owned(), folder.index()));
        Ok(Self {
            notebook,
            device: RwLock::new(device),
            author,
            writer: None,
            mended: Mutex::default(),
            listeners,
            readers,
            attachments,
            shelf,
            press: Press::default(),
            finder,
            folder,
        })
    }

    /// The notebook.
    pub fn notebook(&self) -> NotebookId {
        self.notebook
    }

    /// This device. It becomes another one when its folder was copied and the other copy's changes count.
    pub fn device(&self) -> DeviceId {
        *self.device.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// The person who works at this device.
    pub fn author(&self) -> RecordId {
        self.author
    }

    /// The data folder.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Whether others than the owner can read the device's key.
    pub fn key_is_open(&self) -> bool {
        self.folder.key_is_open()
    }

    /// This device's public key, for a keeper of another device to invite.
    ///
    /// # Errors
    /// The key file cannot be read.
    pub fn public_key(&self) -> Result<PublicKey, DeskError> {
        Ok(self.key()?.public())
    }

    pub(crate) fn key(&self) -> Result<DeviceKey, DeskError> {
        Ok(self.folder.read_key()?)
    }

    /// Takes a draft: on disk, projected and readable when this returns.
    ///
    /// # Errors
    /// The reason, with a next step; nothing was written.
    pub fn take(&self, draft: Draft) -> Result<Taken, DeskError> {
        door::check(&draft).map_err(|source| DeskError::Door { draft: draft.id, source })?;
        self.take_unchecked(draft)
    }

    pub(crate) fn take_unchecked(&self, draft: Draft) -> Result<Taken, DeskError> {
        let outcome = self.writer()?.take(vec![draft])?.into_iter().next();
        Ok(outcome.expect("one outcome for one draft")?)
    }

    /// Takes many drafts in as few transactions as their number allows; each has its own outcome.
    ///
    /// # Errors
    /// The outer error: the database failed, and what this call had not acknowledged is not written.
    pub fn take_all(&self, drafts: Vec<Draft>) -> Result<Vec<Result<Taken, DeskError>>, DeskError> {
        let mut outcomes: Vec<Option<DeskError>> = Vec::with_capacity(drafts.len());
        let mut legal = Vec::with_capacity(drafts.len());
        for draft in drafts {
            match door::check(&draft) {
                Ok(()) => {
                    outcomes.push(None);
                    legal.push(draft);
                }
                Err(source) => outcomes.push(Some(DeskError::Door { draft: draft.id, source })),
            }
        }
        let mut taken = self.writer()?.take(legal)?.into_iter();
        Ok(outcomes
            .into_iter()
            .map(|refused| match refused {
                Some(error) => Err(error),
                None => Ok(taken.next().expect("one outcome for each legal draft")?),
            })
            .collect())
    }

    pub(crate) fn writer(&self) -> Result<&Writer, DeskError> {
        let path = || self.path().to_owned();
        self.writer.as_ref().ok_or_else(|| DeskError::OnlyReading { path: path() })
    }

    /// Whether this desk can only read.
    pub fn only_reads(&self) -> bool {
        self.writer.is_none()
    }

    /// Receives the changes of another device. Where they show that this folder was copied and the other copy counts,
    /// this one goes on as a new device: see [`Self::last_anew`].
    ///
    /// # Errors
    /// The database failed; nothing of the parcel is written.
    pub fn receive(&self, parcel: Parcel) -> Result<Received, DeskError> {
        let received = self.writer()?.receive(parcel)?;
        // Also without a change of this device: a signature or a limit may have come that decides.
        self.mend_own_fork()?;
        Ok(received)
    }

    /// What another device lacks, up to about `max_bytes`.
    ///
    /// # Errors
    /// The database failed.
    pub fn since(&self, theirs: &Vector, max_bytes: usize) -> Result<Parcel, DeskError> {
        self.read(|reader| reader.since(theirs, max_bytes))
    }

    /// Reads beside other readers of the desk, in turn only when there are many of them. All of one reading sees
    /// one state of the log. A reading inside another may wait for itself.
    ///
    /// # Errors
    /// The database failed.
    pub fn read<T>(&self, read: impl FnOnce(&Reader) -> Result<T, StoreError>) -> Result<T, DeskError> {
        Ok(self.readers.read(read)?)
    }

    /// Reads as [`Self::read`] does, with every record as it stands in the very state that is read.
    ///
    /// # Errors
    /// The database failed.
    pub fn read_with_book<T>(
        &self,
        read: impl FnOnce(&Reader, &Book) -> Result<T, StoreError>,
    ) -> Result<T, DeskError> {
        let (at, mut book) = self.book_and_position()?;
        self.read(|reader| {
            if reader.position()? == at {
                return read(reader, &book);
            }
            // Writes came between.
            match reader.rows_after(&at, shelf::MOST_CHANGED)? {
                Some(changed) => shelf::bring(Arc::make_mut(&mut book), changed),
                None => book = Arc::new(reader.book()?),
            }
            read(reader, &book)
        })
    }

    /// Reads as [`Self::read`] does, with every record and all that is found in them, of the very state that is read.
    ///
    /// Findings are kept: after a few changes only what depends on them is worked out.
    ///
    /// # Errors
    /// The database failed.
    pub fn read_with_findings<T>(
        &self,
        read: impl FnOnce(&Reader, &Book, &Findings<'_>) -> Result<T, StoreError>,
    ) -> Result<T, DeskError> {
        let (at, book, shelf::Worked { kept, .. }) = self.shelf.findings(&self.readers)?;
        self.read(|reader| {
            if reader.position()? == at {
                return read(reader, &book, &Findings::of(&book, &kept).costed(view::money::costs(&book)));
            }
            // Writes came between.
            let book = reader.book()?;
            let told = view::past::told(&book, |record| reader.history(record))?;
            read(reader, &book, &Findings::with(&book, told).costed(view::money::costs(&book)))
        })
    }

    /// Where the log stands.
    ///
    /// # Errors
    /// The database failed.
    pub fn position(&self) -> Result<Position, DeskError> {
        self.read(Reader::position)
    }

    /// Calls `listener` with where the log stands, after each commit of this desk that moved it and before
    /// whoever asked for it has an answer. A desk that only reads never calls.
    ///
    /// It is called by the thread that writes: it must be quick, must not write, must not panic, and must not
    /// hold the desk, which would then never close.
    pub fn on_change(&self, listener: Listener) {
        self.listeners.add(listener);
    }

    /// What the changes after a number of arrival wrote to, at most `limit` records. As long as the instance
    /// and the generation of the position stay the same, nothing else has changed.
    ///
    /// # Errors
    /// The database failed.
    pub fn touched_after(&self, last: i64, limit: usize) -> Result<Touched, DeskError> {
        self.read(|reader| reader.touched_after(last, limit))
    }

    /// A reader of its own, for long reads beside others.
    ///
    /// # Errors
    /// The database cannot be opened again.
    pub fn reader(&self) -> Result<Reader, DeskError> {
        Ok(Reader::open(&self.folder.database())?)
    }

    /// Every record as it stands now. Kept until the log moves; then only what changed is read.
    ///
    /// # Errors
    /// The database failed.
    pub fn book(&self) -> Result<Arc<Book>, DeskError> {
        Ok(self.book_and_position()?.1)
    }

    /// Every record as it stands now, and where the log stood.
    ///
    /// # Errors
    /// The database failed.
    pub fn book_and_position(&self) -> Result<(Position, Arc<Book>), DeskError> {
        Ok(self.shelf.book(&self.readers)?)
    }

    /// Digest of log and tables.
    ///
    /// # Errors
    /// The database failed.
    pub fn digest(&self) -> Result<Digest, DeskError> {
        self.read(Reader::digest)
    }

    /// Makes every projected table anew from the log; `progress` hears how many changes are done.
    ///
    /// # Errors
    /// The database failed; the tables are as before.
    pub fn rebuild(&self, progress: &mut dyn FnMut(u64)) -> Result<(), DeskError> {
        Ok(self.writer()?.rebuild(progress)?)
    }

    /// Checks chain, signatures and tables.
    ///
    /// # Errors
    /// The database failed.
    pub fn verify(&self) -> Result<Verification, DeskError> {
        Ok(self.writer()?.verify()?)
    }

    /// Keeps a file; pinning it to a record is a draft of its own.
    ///
    /// # Errors
    /// [`AttachmentError`]; nothing is left behind.
    pub fn keep_file(&self, source: &mut dyn io::Read) -> Result<Kept, DeskError> {
        Ok(self.attachments.keep(source)?)
    }

    /// Where small copies of pictures lie.
    pub(crate) fn thumbnails(&self) -> PathBuf {
        self.folder.thumbnails()
    }

    /// Write-ups made before.
    pub(crate) fn press(&self) -> &Press {
        &self.press
    }

    /// The files kept here.
    pub fn attachments(&self) -> &Attachments {
        &self.attachments
    }

    /// Where the database lies, for messages.
    pub fn database(&self) -> PathBuf {
        self.folder.database()
    }

    /// Starts a draft by the person at this device.
    pub fn compose(&self, written_at: WrittenAt) -> Composer {
        Composer::new(edge::draft_id(), self.author, written_at)
    }
}

/// Whether a file could not be written because there is no space left, on the disk or for this user.
pub(crate) fn no_space(source: &io::Error) -> bool {
    matches!(source.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded)
}

/// The questions of importer and command line, answered from the tables. A database that fails while it is
/// asked answers as if nothing were held; the draft that follows then fails with the database's own reason.
impl Known for Desk {
    fn labelled(&self, kind: &str, label: &str) -> Vec<RecordId> {
        let Some(kind) = KindSpec::find(kind) else { return Vec::new() };
        for field in ["label", "name", "role", "title"] {
            let found = self.read(|reader| reader.with_text(kind, field, label)).unwrap_or_default();
            if !found.is_empty() {
                return found;
            }
        }
        Vec::new()
    }

    fn matching(&self, kind: &str, fields: &[(&str, Value)]) -> Vec<RecordId> {
        let Some(kind) = KindSpec::find(kind) else { return Vec::new() };
        self.read(|reader| reader.matching(kind, fields)).unwrap_or_default()
    }

    fn value(&self, record: RecordId, kind: &str, field: &str) -> Option<Value> {
        let kind = KindSpec::find(kind)?;
        self.read(|reader| reader.row(kind, record)).ok()??.value(field).cloned()
    }

    fn heads(&self, record: RecordId, kind: &str, field: &str) -> Vec<WriteId> {
        let Some(kind) = KindSpec::find(kind) else { return Vec::new() };
        self.read(|reader| reader.heads(record, kind, field)).unwrap_or_default()
    }

    fn holds(&self, draft: DraftId) -> bool {
        self.read(|reader| reader.holds(draft)).unwrap_or(false)
    }

    fn currency(&self) -> Currency {
        self.book().map_or_else(|_| Book::default().currency(), |book| book.currency())
    }
}

#[cfg(test)]
mod tests {
    use storypole_notebook::Quantity;

    use super::*;

    const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 };

    fn founding() -> Founding {
        Founding {
            name: "Mill house".to_owned(),
            currency: Currency::parse("USD").unwrap(),
            role: "site lead".to_owned(),
            label: "lead".to_owned(),
            device_label: "phone".to_owned(),
            written_at: AT,
        }
    }

    #[test]
    fn what_an_interrupted_start_left_is_no_obstacle() {
        let folder = tempfile::tempdir().unwrap();
        for (name, content) in
            [("device.key", &b""[..]), ("device.key.new", b"x"), ("notebook.db.new", b"half")]
        {
            std::fs::write(folder.path().join(name), content).unwrap();
        }
        let desk = Desk::found(folder.path(), &founding()).unwrap();
        assert_eq!(desk.verify().unwrap().faults, []);
        assert!(!folder.path().join("notebook.db.new").exists());
        drop(desk);
        assert!(matches!(
            Desk::found(folder.path(), &founding()),
            Err(DeskError::Folder(FolderError::AlreadyThere(_)))
        ));
    }

    #[test]
    fn a_joined_desk_knows_its_person_when_it_is_opened_again() {
        let folder = tempfile::tempdir().unwrap();
        let phone = Desk::found(&folder.path().join("phone"), &founding()).unwrap();
        let helper = edge::record_id();
        let founder_key = phone.public_key().unwrap();
        let joining = Joining { notebook: phone.notebook(), founder_key, author: helper };
        let tablet = Desk::join(&folder.path().join("tablet"), &joining).unwrap();
        drop(tablet);
        assert_eq!(Desk::open(&folder.path().join("tablet")).unwrap().author(), helper);
    }

    #[test]
    fn the_book_follows_the_log() {
        let folder = tempfile::tempdir().unwrap();
        let desk = Desk::found(folder.path(), &founding()).unwrap();
        let before = desk.book().unwrap();
        assert!(Arc::ptr_eq(&before, &desk.book().unwrap()), "kept while nothing moves");
        let mut compose = desk.compose(AT);
        compose.set(edge::record_id(), "site", "label", &Value::Text("S1".to_owned())).unwrap();
        desk.take(compose.finish()).unwrap();
        assert_eq!(desk.book().unwrap().sites.len(), 1);
    }

    /// A set with one reading on either side, and the ids of set and readings.
    fn round(compose: &mut Composer, test: RecordId) -> (RecordId, RecordId) {
        let (set, receive) = (edge::record_id(), edge::record_id());
        compose.set(set, "set", "test", &Value::Record(test)).unwrap();
        for (reading, role, level) in
            [(edge::record_id(), "source", "94.0 dBA"), (receive, "receive", "60.0 dBA")]
        {
            let level = Value::Quantity(Quantity::parse(level).unwrap());
            compose.set(reading, "reading", "set", &Value::Record(set)).unwrap();
            compose.set(reading, "reading", "role", &Value::Text(role.to_owned())).unwrap();
            compose.set(reading, "reading", "value", &level).unwrap();
        }
        (set, receive)
    }

    /// Findings as kept must be those of the whole book with all its history.
    fn assert_as_from_nothing(desk: &Desk) {
        desk.read_with_findings(|reader, book, findings| {
            let told = view::past::told(book, |record| reader.history(record))?;
            let fresh = Findings::with(book, told);
            for set in book.sets.all() {
                assert_eq!(findings.set(set.id), fresh.set(set.id));
            }
            for test in book.tests.all() {
                assert_eq!(findings.test(test.id), fresh.test(test.id));
            }
            Ok(())
        })
        .unwrap();
    }

    #[test]
    fn findings_follow_the_log() {
        let folder = tempfile::tempdir().unwrap();
        let desk = Desk::found(folder.path(), &founding()).unwrap();
        let test = edge::record_id();
        let mut compose = desk.compose(AT);
        compose.set(test, "test", "label", &Value::Text("Q1".to_owned())).unwrap();
        let (set, reading) = round(&mut compose, test);
        desk.take(compose.finish()).unwrap();
        let found = |of: RecordId| {
            let look = |_: &Reader, _: &Book, findings: &Findings<'_>| Ok(findings.set(of).unwrap().clone());
            desk.read_with_findings(look).unwrap()
        };
        assert_eq!(found(set).level_difference.map(|difference| difference.value), Some(34.0));
        let kept = || desk.shelf.findings(&desk.readers).unwrap().2.kept;
        let before = kept();
        assert!(Arc::ptr_eq(&before, &kept()), "kept while nothing moves");
        drop(before);

        // Another round, seen through several changes, and a set left out with a reason that only history tells.
        let mut compose = desk.compose(AT);
        let (other, _) = round(&mut compose, test);
        desk.take(compose.finish()).unwrap();
        desk.book().unwrap();
        let mut compose = desk.compose(AT);
        let reason = Some("a truck passed".to_owned());
        compose.change(other, "set", "left_out", Some(&Value::Flag(true)), Vec::new(), reason).unwrap();
        desk.take(compose.finish()).unwrap();
        assert_eq!(found(other).excluded, ["left out by a person: a truck passed"]);
        assert_as_from_nothing(&desk);

        // A reading taken again at once is no correction, and history alone tells that too.
        let seen =
            desk.read(|reader| reader.heads(reading, KindSpec::find("reading").unwrap(), "value")).unwrap();
        let mut compose = desk.compose(AT);
        let (level, reason) =
            (Value::Quantity(Quantity::parse("61.0 dBA").unwrap()), view::past::TAKEN_AGAIN.to_owned());
        compose.change(reading, "reading", "value", Some(&level), seen, Some(reason)).unwrap();
        desk.take(compose.finish()).unwrap();
        assert_eq!(found(set).level_difference.map(|difference| difference.value), Some(33.0));
        assert_eq!(found(set).corrected, []);
        assert_as_from_nothing(&desk);
    }
}
