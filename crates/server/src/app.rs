//! What every handler shares: the open notebook, and the way to ask it without holding up the runtime.

use std::any::Any;
use std::collections::HashSet;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};

use storypole_desk::Desk;
use storypole_journal::NotebookId;
use tokio::sync::{Semaphore, SemaphorePermit};

use crate::access::{Access, LOOPBACK};
use crate::backups::Backups;
use crate::devices::Devices;
use crate::events::Hub;
use crate::exchange::Conversations;
use crate::follow::Following;
use crate::measuring::Measuring;
use crate::problem::Code;
use crate::tls::{Ca, Secured};
use crate::{ApiError, Limits};

/// Reads that run at once; more wait their turn without a thread of their own.
const READS_AT_ONCE: usize = 8;

/// Uploads that run at once: each holds a thread as long as it takes.
const UPLOADS_AT_ONCE: usize = 32;

/// The server's state. Cheap to clone.
#[derive(Clone)]
pub struct App {
    inner: Arc<Inner>,
}

/// Tells when the last clone of an app is gone, and with it the last who asks the notebook; keeps none alive.
pub(crate) struct Left(Weak<Inner>);

struct Inner {
    desk: Arc<Desk>,
    limits: Limits,
    access: Access,
    devices: Devices,
    conversations: Conversations,
    following: Following,
    hub: Arc<Hub>,
    backups: Arc<Backups>,
    measuring: Measuring,
    reads: Semaphore,
    uploads: Semaphore,
    /// Files that somebody opened while they were not here.
    asked_files: Mutex<HashSet<[u8; 32]>>,
    secured: Option<Arc<Secured>>,
}

/// Files that are noted as asked for; more are a program's doing, not a person's.
const ASKED_FILES: usize = 1_000;

impl App {
    /// An app over an open notebook, with the usual limits.
    pub fn new(desk: Arc<Desk>) -> Self {
        Self::with(desk, Limits::default())
    }

    /// An app over an open notebook.
    pub fn with(desk: Arc<Desk>, limits: Limits) -> Self {
        Self::secured(desk, limits, None)
    }

    /// An app over an open notebook, asked over TLS where there is something to show.
    pub fn secured(desk: Arc<Desk>, limits: Limits, secured: Option<Arc<Secured>>) -> Self {
        let access = Access::new(desk.notebook(), limits);
        let hub = Hub::new(&desk);
        let (reads, uploads) = (Semaphore::new(READS_AT_ONCE), Semaphore::new(UPLOADS_AT_ONCE));
        let (backups, asked_files) = (Arc::default(), Mutex::default());
        let inner = Inner {
            desk,
            limits,
            access,
            devices: Devices::new(limits),
            conversations: Conversations::default(),
            following: Following::default(),
            hub,
            backups,
            measuring: Measuring::default(),
            reads,
            uploads,
            asked_files,
            secured,
        };
        Self { inner: Arc::new(inner) }
    }

    /// Asks the notebook on a thread that may wait, so that the runtime never does.
    ///
    /// # Errors
    /// What `ask` says.
    pub async fn read<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Desk) -> Result<T, ApiError> + Send + 'static,
    ) -> Result<T, ApiError> {
        let _turn = self.inner.reads.acquire().await.map_err(|_| ApiError::closing())?;
        self.blocking(ask).await
    }

    /// Writes to the notebook: never kept waiting by readers.
    ///
    /// # Errors
    /// What `ask` says.
    pub async fn write<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Desk) -> Result<T, ApiError> + Send + 'static,
    ) -> Result<T, ApiError> {
        self.blocking(ask).await
    }

    async fn blocking<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Desk) -> Result<T, ApiError> + Send + 'static,
    ) -> Result<T, ApiError> {
        let desk = Arc::clone(&self.inner.desk);
        match tokio::task::spawn_blocking(move || ask(&desk)).await {
            Ok(answer) => answer,
            Err(error) if error.is_panic() => Err(panicked(error.into_panic().as_ref())),
            Err(_) => Err(ApiError::closing()),
        }
    }

    /// Which notebook is served.
    pub fn notebook(&self) -> NotebookId {
        self.inner.desk.notebook()
    }

    /// The address under which others reach it; `host` is how the one who asks did.
    pub(crate) fn reached_at(&self, host: &str) -> String {
        let Some(secured) = self.tls() else { return format!("http://{host}") };
        let (name, port) =
            host.rsplit_once(':').filter(|(_, port)| !port.contains(']')).unwrap_or((host, "443"));
        let is_here_only = LOOPBACK.iter().any(|own| own.eq_ignore_ascii_case(name));
        let name = if is_here_only { secured.far_host() } else { name.to_owned() };
        format!("https://{name}:{port}")
    }

    /// What clients may ask.
    pub fn limits(&self) -> &Limits {
        &self.inner.limits
    }

    /// Who may ask.
    pub fn access(&self) -> &Access {
        &self.inner.access
    }

    /// Which devices are let in.
    pub(crate) fn devices(&self) -> &Devices {
        &self.inner.devices
    }

    /// What devices are saying.
    pub(crate) fn conversations(&self) -> &Conversations {
        &self.inner.conversations
    }

    /// How syncing with other devices goes.
    pub fn following(&self) -> &Following {
        &self.inner.following
    }

    /// What wakes the event streams.
    pub fn hub(&self) -> &Hub {
        &self.inner.hub
    }

    /// Notes that somebody waits for a file, and has every address synced now, with files.
    pub(crate) fn ask_for_file(&self, hash: [u8; 32]) {
        let mut asked = self.asked_files();
        if asked.len() >= ASKED_FILES {
            // Those that have come meanwhile are waited for no longer.
            asked.retain(|hash| !self.inner.desk.attachments().has(hash));
        }
        // Asked for once it comes as soon as it can, however often it is opened until then.
        let is_new = asked.len() < ASKED_FILES && asked.insert(hash);
        drop(asked);
        if is_new {
            self.following().ask();
        }
    }

    /// Every file that somebody waits for.
    pub(crate) fn files_asked_for(&self) -> HashSet<[u8; 32]> {
        self.asked_files().clone()
    }

    /// A file is here now.
    pub(crate) fn file_arrived(&self, hash: &[u8; 32]) {
        self.asked_files().remove(hash);
    }

    fn asked_files(&self) -> MutexGuard<'_, HashSet<[u8; 32]>> {
        self.inner.asked_files.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The backups that are made by themselves.
    pub fn backups(&self) -> &Arc<Backups> {
        &self.inner.backups
    }

    /// Recordings that are being measured, and those that were.
    pub(crate) fn measuring(&self) -> &Measuring {
        &self.inner.measuring
    }

    /// What is shown over TLS, where it is spoken.
    pub fn tls(&self) -> Option<&Arc<Secured>> {
        self.inner.secured.as_ref()
    }

    /// SHA-256 of the certificate the server shows just now.
    pub fn certificate(&self) -> Option<[u8; 32]> {
        self.tls().map(|secured| secured.leaf())
    }

    /// The certificate of the built-in authority, where there is one.
    pub fn ca(&self) -> Option<&Ca> {
        self.tls().and_then(|secured| secured.ca())
    }

    /// The right to one upload.
    ///
    /// # Errors
    /// As many run as may.
    pub(crate) fn upload(&self) -> Result<SemaphorePermit<'_>, ApiError> {
        let full = |_| ApiError::new(Code::Busy, "as many files are coming in as may at once");
        self.inner.uploads.try_acquire().map_err(full)
    }

    pub(crate) fn left(&self) -> Left {
        Left(Arc::downgrade(&self.inner))
    }
}

impl Left {
    /// The app, while somebody else has it.
    pub(crate) fn app(&self) -> Option<App> {
        self.0.upgrade().map(|inner| App { inner })
    }

    pub(crate) fn is_over(&self) -> bool {
        self.0.strong_count() == 0
    }
}

/// A fault of the program itself, told to the log in its own words.
pub(crate) fn panicked(said: &(dyn Any + Send)) -> ApiError {
    let words = said.downcast_ref::<&str>().map(|words| (*words).to_owned());
    let words = words.or_else(|| said.downcast_ref::<String>().cloned());
    ApiError::internal().cause(format!("a handler panicked: {}", words.unwrap_or_default()))
}
