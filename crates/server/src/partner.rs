//! Syncing with another device's server: signing in, one conversation, and what came of it.
//!
//! Leaves out when to sync ([`crate::follow`]) and files. Whatever breaks, what was taken stays, and the next time
//! goes on from there; so nothing is tried twice here but what costs nothing: a key that has ended, and a
//! conversation that the other end has forgotten.

use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;

use axum::http::{HeaderName, HeaderValue, Method, Request, StatusCode, header};
use bytes::Bytes;
use http_body_util::Full;
use hyper::Response;
use hyper::body::Incoming;
use storypole_desk::{Desk, DeskError, edge};
use storypole_journal::{DeviceId, Vector};
use storypole_store::Begun;
use storypole_sync::Reason;
use storypole_sync::session::Limits as SessionLimits;

use crate::access::lock;
use crate::conversation::{Conversation, Tally};
use crate::frame::{FRAME_BYTES, Frame, FrameError};
use crate::remote::{AskLimits, Remote, RemoteError};

mod error;
mod sign_in;

pub use error::SyncError;

use sign_in::SignedIn;

/// How long the other end may say nothing. A server that works answers within 20 s that more is to come.
const PATIENCE: Duration = Duration::from_secs(60);

/// Requests in a row that brought nothing but that more is to come, before the other end is given up: half an hour
/// of storing one batch.
const EMPTY_ANSWERS: u32 = 90;

/// What came of a sync.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The device that answered.
    pub device: DeviceId,
    /// What went to and fro.
    pub tally: Tally,
    /// Series that two copies of a data folder went on with, each its own way.
    pub forked: Vec<DeviceId>,
    /// This copy turned out to be a copied folder and went on as a new device.
    pub begun_anew: Option<Begun>,
    /// What both ends hold now.
    pub held: Vector,
    /// By how much the other end's clock is ahead of this one, milliseconds, as of signing in.
    pub clock_ahead_ms: i64,
}

/// One other device, at its address. Its key is kept from one sync to the next.
pub struct Partner {
    desk: Arc<Desk>,
    line: Line,
    signed_in: Option<SignedIn>,
}

/// Syncs once with a server, signing in first.
///
/// # Errors
/// [`SyncError`]; what was taken until then stays.
pub async fn sync_once(
    desk: &Arc<Desk>,
    remote: &Remote,
    progress: impl FnMut(Tally),
) -> Result<Outcome, SyncError> {
    Partner::new(Arc::clone(desk), remote.clone()).sync(progress).await
}

impl Partner {
    /// Another device; nothing is asked yet.
    pub fn new(desk: Arc<Desk>, remote: Remote) -> Self {
        Self { desk, line: Line { remote, patience: PATIENCE }, signed_in: None }
    }

    /// The same, with another patience: how long the other end may say nothing.
    #[must_use]
    pub fn patient(mut self, patience: Duration) -> Self {
        self.line.patience = patience;
        self
    }

    /// Syncs until both ends have all that either had; `progress` hears what went to and fro so far.
    ///
    /// # Errors
    /// [`SyncError`]; what was taken until then stays.
    pub async fn sync(&mut self, mut progress: impl FnMut(Tally)) -> Result<Outcome, SyncError> {
        let synced = match self.try_sync(&mut progress).await {
            Err(error) if error.may_be_tried_again() => {
                self.signed_in = None;
                self.try_sync(&mut progress).await
            }
            synced => synced,
        };
        if synced.is_err() {
            self.signed_in = None;
        }
        synced
    }

    async fn try_sync(&mut self, progress: &mut impl FnMut(Tally)) -> Result<Outcome, SyncError> {
        let signed_in = self.sign_in().await?;
        let (was, anew) = (self.desk.device(), self.desk.last_anew());
        let mut talk = Talk::begin(&self.desk, self.line.clone(), &signed_in.key).await?;
        talk.run(progress).await?;
        if self.desk.device() != was {
            // The key is that of the device this one was.
            self.signed_in = None;
        }
        let begun_anew = self.desk.last_anew().filter(|begun| Some(*begun) != anew);
        let conversation = talk.talk();
        Ok(Outcome {
            device: signed_in.device,
            tally: conversation.tally(),
            forked: conversation.forked().collect(),
            begun_anew,
            held: conversation.held().clone(),
            clock_ahead_ms: signed_in.clock_ahead_ms,
        })
    }

    /// The other end's stream of events, opened by the key of this device.
    ///
    /// # Errors
    /// [`SyncError`].
    pub async fn events(&mut self) -> Result<Response<Incoming>, SyncError> {
        let signed_in = self.sign_in().await?;
        let request = request(Method::GET, "/api/events", &signed_in.key, Bytes::new());
        let response = self.line.remote.stream(request).await?;
        if response.status() == StatusCode::OK {
            return Ok(response);
        }
        self.signed_in = None;
        Err(SyncError::Refused {
            url: self.line.url(),
            code: response.status().as_str().to_owned(),
            detail: "no events are given".to_owned(),
            next: "sync again".to_owned(),
        })
    }

    /// The other end's address, and the key to it once signed in, for what else is asked there.
    ///
    /// # Errors
    /// [`SyncError`].
    pub async fn key(&mut self) -> Result<(Remote, String), SyncError> {
        let signed_in = self.sign_in().await?;
        Ok((self.line.remote.clone(), signed_in.key))
    }

    async fn sign_in(&mut self) -> Result<SignedIn, SyncError> {
        if let Some(signed_in) = self.signed_in.clone() {
            return Ok(signed_in);
        }
        let signed_in = sign_in::sign_in(&self.desk, &self.line).await?;
        self.signed_in = Some(signed_in.clone());
        Ok(signed_in)
    }
}

/// The way to the other end.
#[derive(Clone)]
struct Line {
    remote: Remote,
    patience: Duration,
}

impl Line {
    fn url(&self) -> String {
        self.remote.url().to_owned()
    }

    async fn ask(
        &self,
        request: Request<Full<Bytes>>,
        answer_bytes: usize,
    ) -> Result<Response<Bytes>, RemoteError> {
        self.remote.ask(request, AskLimits { answer_bytes, patience: self.patience }).await
    }
}

/// A request of a device that is signed in.
fn request(method: Method, path: &str, key: &str, body: Bytes) -> Request<Full<Bytes>> {
    let bearer = HeaderValue::try_from(format!("Bearer {key}")).expect("a key is made of letters");
    let mut request = Request::new(Full::new(body));
    *request.method_mut() = method;
    *request.uri_mut() = path.parse().expect("the paths of this program are paths");
    request.headers_mut().insert(header::AUTHORIZATION, bearer);
    request
}

/// One conversation on its way.
struct Talk {
    desk: Arc<Desk>,
    line: Line,
    key: String,
    name: [u8; 16],
    number: u64,
    conversation: Arc<Mutex<Conversation>>,
}

impl Talk {
    async fn begin(desk: &Arc<Desk>, line: Line, key: &str) -> Result<Self, SyncError> {
        let own = Arc::clone(desk);
        let begin = move || Conversation::begin(&own, SessionLimits::default());
        let conversation = on_a_thread(begin).await??;
        let (desk, key) = (Arc::clone(desk), key.to_owned());
        let conversation = Arc::new(Mutex::new(conversation));
        Ok(Self { desk, line, key, name: edge::random(), number: 0, conversation })
    }

    /// Asks and answers until both ends are settled, and says good-bye.
    async fn run(&mut self, progress: &mut impl FnMut(Tally)) -> Result<(), SyncError> {
        let mut empty_answers = 0;
        self.work().await?;
        loop {
            let messages = self.talk().take_outbox();
            let has_said = !messages.is_empty();
            let answer = self.ask(messages).await?;
            empty_answers = if has_said || !answer.messages.is_empty() { 0 } else { empty_answers + 1 };
            self.talk().hear(answer.messages);
            self.work().await?;
            progress(self.talk().tally());
            match self.stands(answer.settled, answer.more) {
                Stands::GoesOn if answer.closed || empty_answers > EMPTY_ANSWERS => {
                    return Err(SyncError::Stuck { url: self.url() });
                }
                Stands::GoesOn => (),
                Stands::Done => {
                    self.talk().leave();
                    self.work().await?;
                    self.say_bye().await;
                    return Ok(());
                }
                Stands::Over(reason) => {
                    self.say_bye().await;
                    return Err(SyncError::Ended { url: self.url(), reason });
                }
                // One of the two does not keep to its part.
                Stands::Stuck => return Err(SyncError::Stuck { url: self.url() }),
            }
        }
    }

    fn stands(&self, is_settled_there: bool, more: bool) -> Stands {
        let talk = self.talk();
        if let Some(reason) = talk.closed() {
            return Stands::Over(reason.clone());
        }
        match (more || talk.has_something_to_say(), is_settled_there && talk.is_settled()) {
            (true, _) => Stands::GoesOn,
            (false, true) => Stands::Done,
            (false, false) => Stands::Stuck,
        }
    }

    fn talk(&self) -> MutexGuard<'_, Conversation> {
        lock(&self.conversation)
    }

    fn url(&self) -> String {
        self.line.url()
    }

    /// Does what the conversation wants, where waiting for the disk holds up nobody.
    async fn work(&mut self) -> Result<(), SyncError> {
        let (desk, conversation) = (Arc::clone(&self.desk), Arc::clone(&self.conversation));
        on_a_thread(move || lock(&conversation).work(&desk)).await?;
        let failed = self.talk().take_failure();
        if let Some(error) = failed {
            // The other end is told before it waits for nothing.
            self.say_bye().await;
            return Err(error.into());
        }
        Ok(())
    }

    /// Sends what is left to say; whether it is heard makes no difference any more.
    async fn say_bye(&mut self) {
        let messages = self.talk().take_outbox();
        if !messages.is_empty() {
            let _ = self.ask(messages).await;
        }
    }

    async fn ask(&mut self, messages: Vec<Vec<u8>>) -> Result<Frame, SyncError> {
        let frame = Frame { conversation: self.name, number: self.number, messages, ..Frame::default() };
        let mut request = request(Method::POST, "/api/sync/exchange", &self.key, frame.encode());
        let kind = HeaderValue::from_static("application/octet-stream");
        request.headers_mut().insert(header::CONTENT_TYPE, kind);
        let response = match self.line.ask(request.clone(), FRAME_BYTES).await {
            // The same request again gets the same answer again; a connection may well break once.
            Err(error) if error::is_cut_off(&error) => self.line.ask(request, FRAME_BYTES).await?,
            asked => asked?,
        };
        if response.status() != StatusCode::OK {
            return Err(SyncError::of_refusal(&self.url(), &response));
        }
        let answer = Frame::decode(response.body()).map_err(|source| self.garbage(source))?;
        if answer.conversation != self.name || answer.number != self.number {
            return Err(SyncError::OtherAnswer { url: self.url() });
        }
        self.number += 1;
        Ok(answer)
    }

    fn garbage(&self, source: FrameError) -> SyncError {
        SyncError::Garbage { url: self.url(), source }
    }
}

/// Where a conversation stands after an answer.
enum Stands {
    GoesOn,
    Done,
    Over(Reason),
    Stuck,
}

/// Runs what waits for the disk on a thread that may.
async fn on_a_thread<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, SyncError> {
    tokio::task::spawn_blocking(work).await.map_err(|_| SyncError::Fault)
}

impl From<DeskError> for SyncError {
    fn from(source: DeskError) -> Self {
        Self::Desk(Box::new(source))
    }
}

/// What a body of JSON is said to be.
const JSON: (HeaderName, HeaderValue) = (header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
