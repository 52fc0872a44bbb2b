//! `POST /api/sync/exchange`: sync conversations with devices, a frame of messages in and one out.
//!
//! A conversation is kept between requests by a task of its own, which ends when nothing is heard for a while, when
//! its device is revoked and when the server closes. The same request again gets the same answer again. Storing a
//! batch may take longer than whatever stands between waits; the answer is then that more is to come.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use axum::body::Body;
use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use hyper::body::Body as _;
use storypole_journal::DeviceId;
use storypole_sync::session::Limits as SessionLimits;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, mpsc, oneshot};
use tokio::task::JoinHandle;
use tokio::time::{Instant, sleep, timeout, timeout_at};

use crate::access::lock;
use crate::body;
use crate::conversation::Conversation;
use crate::devices::{DeviceSeat, in_good_standing};
use crate::frame::{FRAME_BYTES, Frame};
use crate::problem::{Code, chain};
use crate::{ApiError, App};

/// Conversations kept at once, and of one device. Two folders may hold the key of one device, where one is a copy.
const AT_ONCE: usize = 32;
const OF_ONE: usize = 2;

/// Bytes of requests that are in memory at once, over all conversations.
const MEMORY_BYTES: usize = 96 << 20;

/// How long a request waits for memory.
const MEMORY_WAIT: Duration = Duration::from_secs(10);

/// How long a conversation is kept in which nothing is heard.
const IDLE: Duration = Duration::from_secs(120);

/// How long an answer is worked on before it says that more is to come. Proxies commonly wait 30 to 60 s (common
/// practice, no source).
const WORK: Duration = Duration::from_secs(20);

/// A frame that is waited for.
struct Asked {
    frame: Frame,
    memory: OwnedSemaphorePermit,
    answer: oneshot::Sender<Result<Frame, ApiError>>,
}

/// What devices are saying.
pub struct Conversations {
    kept: Mutex<HashMap<(DeviceId, [u8; 16]), Kept>>,
    /// Kibibytes.
    memory: Arc<Semaphore>,
}

struct Kept {
    began: Instant,
    asked: mpsc::Sender<Asked>,
}

impl Default for Conversations {
    fn default() -> Self {
        Self { kept: Mutex::default(), memory: Arc::new(Semaphore::new(MEMORY_BYTES >> 10)) }
    }
}

impl Conversations {
    /// The way to a conversation; the first request of one begins it.
    fn enter(
        &self,
        app: &App,
        seat: &Arc<DeviceSeat>,
        frame: &Frame,
    ) -> Result<mpsc::Sender<Asked>, ApiError> {
        let mut kept = lock(&self.kept);
        let name = (seat.device, frame.conversation);
        if let Some(held) = kept.get(&name) {
            return Ok(held.asked.clone());
        }
        if frame.number != 0 {
            return Err(over("it ended, or the server was started again"));
        }
        let of_device = kept.iter().filter(|((device, _), _)| *device == seat.device);
        let oldest = of_device.clone().min_by_key(|(_, held)| held.began).map(|(name, _)| *name);
        if let Some(oldest) = oldest.filter(|_| of_device.count() >= OF_ONE) {
            // Its task ends when nobody can ask it any more.
            kept.remove(&oldest);
        }
        if kept.len() >= AT_ONCE {
            return Err(ApiError::new(Code::Busy, "as many devices are syncing as may at once"));
        }
        let (asked, waiting) = mpsc::channel(1);
        kept.insert(name, Kept { began: Instant::now(), asked: asked.clone() });
        let task = Task::new(app.clone(), Arc::clone(seat), frame.conversation);
        tokio::spawn(task.run(waiting));
        Ok(asked)
    }

    /// Forgets a conversation, unless another of the same name took its place.
    fn forget(&self, name: (DeviceId, [u8; 16])) {
        lock(&self.kept).retain(|held, kept| *held != name || !kept.asked.is_closed());
    }
}

fn over(why: &str) -> ApiError {
    ApiError::new(Code::ConversationOver, why)
}

refusals! {
    /// How a frame may be refused.
    Refusals: 400 401 403 408 409 413 421 429 500 503;
}

/// The device that asks, for handlers.
pub struct Device(pub Arc<DeviceSeat>);

impl<S: Send + Sync> FromRequestParts<S> for Device {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, ApiError> {
        let seat = parts.extensions.get::<Arc<DeviceSeat>>().cloned();
        seat.map(Self)
            .ok_or_else(|| ApiError::new(Code::NoDeviceKey, "no key of a device came with the request"))
    }
}

/// Takes part in a sync conversation: some messages in, some messages out.
///
/// Both bodies are frames: version, conversation, number of the request, flags, messages. Opened by a device's key.
#[utoipa::path(
    post, path = "/api/sync/exchange", operation_id = "post_exchange", tag = "sync", security(("device" = [])),
    request_body(content = Vec<u8>, content_type = "application/octet-stream", description = "A frame."),
    responses(
        (status = 200, description = "A frame.", body = Vec<u8>, content_type = "application/octet-stream"),
        Refusals,
    )
)]
pub async fn exchange(
    State(app): State<App>,
    Device(seat): Device,
    request: Request,
) -> Result<Response, ApiError> {
    in_good_standing(&app, seat.device, seat.word).await?;
    let (frame, memory) = read(&app, request.into_body()).await?;
    let asked = app.conversations().enter(&app, &seat, &frame)?;
    let (answer, answered) = oneshot::channel();
    let gone = || if app.hub().is_closing() { ApiError::closing() } else { over("it ended meanwhile") };
    asked.send(Asked { frame, memory, answer }).await.map_err(|_| gone())?;
    let frame = answered.await.map_err(|_| gone())??;
    let kind = HeaderValue::from_static("application/octet-stream");
    Ok(([(header::CONTENT_TYPE, kind)], Body::from(frame.encode())).into_response())
}

/// Reads a frame once there is room for it.
async fn read(app: &App, body: Body) -> Result<(Frame, OwnedSemaphorePermit), ApiError> {
    let bytes = body.size_hint().upper().and_then(|bytes| usize::try_from(bytes).ok());
    let bytes = bytes.unwrap_or(FRAME_BYTES).min(FRAME_BYTES);
    let kib = u32::try_from(bytes.div_ceil(1 << 10)).expect("a frame is smaller than 4 TiB");
    let room = Arc::clone(&app.conversations().memory).acquire_many_owned(kib);
    let memory = match timeout(MEMORY_WAIT, room).await {
        Ok(Ok(memory)) => memory,
        _ => return Err(ApiError::new(Code::Busy, "other devices are sending as much as may come at once")),
    };
    let bytes = body::whole(body, FRAME_BYTES).await?;
    let frame = Frame::decode(&bytes).map_err(|error| ApiError::because(Code::BadBody, &error))?;
    Ok((frame, memory))
}

/// One conversation, kept between requests.
struct Task {
    app: App,
    seat: Arc<DeviceSeat>,
    name: [u8; 16],
    /// None while it is worked on, and before it began.
    conversation: Option<Conversation>,
    working: Option<JoinHandle<Result<Conversation, ApiError>>>,
    /// What came while it was worked on.
    inbox: Vec<Vec<u8>>,
    /// Memory of what is being worked on.
    memory: Vec<OwnedSemaphorePermit>,
    next_number: u64,
    /// The last answer, should its request come again.
    last: Option<Frame>,
}

impl Task {
    fn new(app: App, seat: Arc<DeviceSeat>, name: [u8; 16]) -> Self {
        Self {
            app,
            seat,
            name,
            conversation: None,
            working: None,
            inbox: Vec::new(),
            memory: Vec::new(),
            next_number: 0,
            last: None,
        }
    }

    async fn run(mut self, mut waiting: mpsc::Receiver<Asked>) {
        loop {
            let seat = Arc::clone(&self.seat);
            let app = self.app.clone();
            let asked = tokio::select! {
                biased;
                () = app.hub().closed() => break,
                () = seat.seat.ended() => break,
                asked = waiting.recv() => asked,
                () = sleep(IDLE) => None,
            };
            let Some(Asked { frame, memory, answer }) = asked else { break };
            let answered = tokio::select! {
                biased;
                () = app.hub().closed() => break,
                () = seat.seat.ended() => break,
                answered = self.answer(frame, memory) => answered,
            };
            let is_over = answered.as_ref().map_or(true, |frame| frame.closed);
            // Whoever asked may have gone; the same request again gets the same answer.
            let _ = answer.send(answered);
            if is_over {
                break;
            }
        }
        waiting.close();
        self.app.conversations().forget((self.seat.device, self.name));
    }

    async fn answer(&mut self, frame: Frame, memory: OwnedSemaphorePermit) -> Result<Frame, ApiError> {
        if let Some(last) = self.last.as_ref().filter(|last| last.number == frame.number) {
            return Ok(last.clone());
        }
        if frame.number != self.next_number {
            let detail = format!("request {} came where {} was next", frame.number, self.next_number);
            return Err(over(&detail));
        }
        self.inbox.extend(frame.messages);
        self.memory.push(memory);
        let is_done = self.work(Instant::now() + WORK).await?;
        let answer = self.say(frame.number, is_done);
        self.next_number += 1;
        self.last = Some(answer.clone());
        Ok(answer)
    }

    /// Works until there is nothing to do without hearing more, or until then; false when it goes on.
    async fn work(&mut self, until: Instant) -> Result<bool, ApiError> {
        loop {
            if let Some(working) = &mut self.working {
                let Ok(worked) = timeout_at(until, working).await else { return Ok(false) };
                self.working = None;
                self.memory.clear();
                let mut worked = worked.map_err(|_| ApiError::closing())??;
                if let Some(error) = worked.take_failure() {
                    tracing::error!(cause = chain(&error), "a sync conversation failed");
                }
                self.conversation = Some(worked);
                if self.inbox.is_empty() {
                    return Ok(true);
                }
            }
            let messages = std::mem::take(&mut self.inbox);
            let conversation = self.conversation.take();
            let app = self.app.clone();
            let work = move |desk: &storypole_desk::Desk| {
                let mut conversation = match conversation {
                    Some(conversation) => conversation,
                    None => Conversation::begin(desk, SessionLimits::default())?,
                };
                conversation.hear(messages);
                conversation.work(desk);
                Ok(conversation)
            };
            // On a task of its own: given up half-way, what came would be lost.
            self.working = Some(tokio::spawn(async move { app.write(work).await }));
        }
    }

    fn say(&mut self, number: u64, is_done: bool) -> Frame {
        let frame = Frame { conversation: self.name, number, more: !is_done, ..Frame::default() };
        match &mut self.conversation {
            Some(conversation) if is_done => Frame {
                more: conversation.is_held_up(),
                messages: conversation.take_outbox(),
                settled: conversation.is_settled(),
                closed: conversation.closed().is_some() && !conversation.is_held_up(),
                ..frame
            },
            _ => frame,
        }
    }
}
