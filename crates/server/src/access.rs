//! Who may ask: one-time key, sessions, and the checks every request passes before anything else looks at it.
//!
//! Order of the checks: host, origin, pace, session. Keyless are the static shell and handing in a key.
//!
//! Keys and sessions are 256 random bits; only their BLAKE3 hashes are kept. A hash is looked up, never compared
//! letter by letter with a secret: what the time of a look-up tells is about the hash, and nobody can choose a key
//! so that its hash comes nearer to another's.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method};
use axum::middleware::Next;
use axum::response::Response;
use storypole_desk::{Desk, edge};
use storypole_journal::NotebookId;
use storypole_store::SessionHash;
use tokio::time::Instant;

use crate::problem::Code;
use crate::{ApiError, App, Limits};

mod cookie;
mod hosts;
mod pace;
mod seat;
mod secret;
pub mod session;

pub use hosts::Hosts;
pub use seat::{Seat, StreamSlot};

use pace::{Pace, WrongKeys};

/// How long a session lasts, seconds: 90 days (convention of this project).
const SESSION_S: u64 = 90 * 24 * 60 * 60;

/// How often a session is noted as seen, milliseconds.
const SEEN_EVERY_MS: u64 = 60 * 60 * 1000;

/// The one-time key, and the sessions seen since the server started.
pub struct Access {
    limits: Limits,
    cookie: String,
    key: Mutex<Option<SessionHash>>,
    used: Mutex<Option<Used>>,
    wrong_keys: Mutex<WrongKeys>,
    /// Shared by all whose session is not known, so that looking them up stays cheap.
    strangers: Mutex<Pace>,
    seats: Mutex<HashMap<SessionHash, Arc<Seat>>>,
}

/// A key that was handed in, and what it opened.
struct Used {
    key: SessionHash,
    session: String,
    at: Instant,
}

/// A cookie that opens a session of this notebook, as `name=value`, and the hash to be kept of it.
pub fn cookie_for(notebook: NotebookId) -> (String, SessionHash) {
    let value = secret::new();
    let hash = secret::hash(&value);
    (format!("{}={value}", cookie::name(notebook)), hash)
}

impl Access {
    /// Nobody is let in yet.
    pub fn new(notebook: NotebookId, limits: Limits) -> Self {
        Self {
            limits,
            cookie: cookie::name(notebook),
            key: Mutex::default(),
            used: Mutex::default(),
            wrong_keys: Mutex::new(WrongKeys::new(limits.wrong_keys_a_minute)),
            strangers: Mutex::new(Pace::new(limits.requests_a_second, limits.burst)),
            seats: Mutex::default(),
        }
    }

    /// Makes the key that lets one browser in; the one before it is void.
    pub fn issue_key(&self) -> String {
        let key = secret::new();
        *lock(&self.key) = Some(secret::hash(&key));
        key
    }

    /// Takes a key and gives the session it opens: right once, and for a moment again for the same session.
    ///
    /// # Errors
    /// The key is wrong, was used, or too many wrong ones came before it.
    fn take_key(&self, key: &str) -> Result<String, ApiError> {
        let mut wrong = lock(&self.wrong_keys);
        let now = Instant::now();
        if let Some(wait) = wrong.wait(now) {
            let detail = "too many wrong keys came within a minute";
            return Err(ApiError::new(Code::SlowDown, detail).retry_after(whole_seconds(wait)));
        }
        let given = secret::hash(key);
        let mut used = lock(&self.used);
        if lock(&self.key).take_if(|held| *held == given).is_some() {
            let session = secret::new();
            *used = Some(Used { key: given, session: session.clone(), at: now });
            return Ok(session);
        }
        let is_again =
            |used: &&Used| used.key == given && now.duration_since(used.at) < self.limits.key_again;
        if let Some(used) = used.as_ref().filter(is_again) {
            return Ok(used.session.clone());
        }
        wrong.note(now);
        Err(ApiError::new(Code::WrongKey, "the key is not the one that was printed last, or was used"))
    }

    /// Makes a key that could not be used good again, unless another was issued since.
    fn give_back(&self, key: &str) {
        lock(&self.used).take_if(|used| used.key == secret::hash(key));
        lock(&self.key).get_or_insert(secret::hash(key));
    }

    /// Whom a request comes from, as far as this process knows without asking the notebook.
    fn seat(&self, hash: &SessionHash) -> Option<Arc<Seat>> {
        lock(&self.seats).get(hash).cloned()
    }

    fn keep_seat(&self, seat: Seat) -> Arc<Seat> {
        Arc::clone(lock(&self.seats).entry(seat.hash).or_insert_with(|| Arc::new(seat)))
    }

    fn forget(&self, hash: &SessionHash) {
        lock(&self.used).take_if(|used| secret::hash(&used.session) == *hash);
        if let Some(seat) = lock(&self.seats).remove(hash) {
            seat.end();
        }
    }

    fn shown(&self, headers: &HeaderMap) -> Option<SessionHash> {
        cookie::find(headers, &self.cookie).map(|value| secret::hash(&value))
    }
}

/// What the checks need.
#[derive(Clone)]
pub(crate) struct Gate {
    pub app: App,
    pub hosts: Hosts,
}

/// Checks host, origin, pace and session; who asks goes along with the request as a [`Seat`].
///
/// # Errors
/// The first check that fails.
pub(crate) async fn guard(
    State(gate): State<Gate>,
    mut request: Request,
    next: Next,
) -> Result<Response, ApiError> {
    gate.hosts.check(request.uri(), request.headers())?;
    if !is_keyless(request.method(), request.uri().path()) {
        let seat = seat_of(&gate.app, request.headers()).await?;
        request.extensions_mut().insert(seat);
    }
    Ok(next.run(request).await)
}

/// The static shell, which holds nothing of a notebook, and handing in a key. All else needs a session.
fn is_keyless(method: &Method, path: &str) -> bool {
    match *method {
        Method::GET | Method::HEAD => crate::shell::is_of_shell(path),
        Method::POST => path == "/api/session",
        _ => false,
    }
}

/// Finds the session of a request.
async fn seat_of(app: &App, headers: &HeaderMap) -> Result<Arc<Seat>, ApiError> {
    let access = app.access();
    let no_session = || ApiError::new(Code::NoSession, "no session of this notebook came with the request");
    let hash = access.shown(headers).ok_or_else(no_session)?;
    let seat = match access.seat(&hash) {
        Some(seat) => seat,
        None => {
            lock(&access.strangers).step(Instant::now()).map_err(too_fast)?;
            let limits = access.limits;
            let seat = app.read(move |desk| find(desk, hash, &limits)).await?.ok_or_else(no_session)?;
            access.keep_seat(seat)
        }
    };
    seat.step(Instant::now()).map_err(too_fast)?;
    if seat.is_due(edge::now_ms(), SEEN_EVERY_MS) {
        let app = app.clone();
        // That it was seen is a courtesy to whoever lists sessions; the request does not wait for it.
        tokio::spawn(async move {
            let noted = app.write(move |desk| Ok(desk.session_seen(hash, edge::now_ms())?)).await;
            if let Err(error) = noted {
                tracing::warn!(cause = error.logged(), "a session could not be noted as seen");
            }
        });
    }
    Ok(seat)
}

fn find(desk: &Desk, hash: SessionHash, limits: &Limits) -> Result<Option<Seat>, ApiError> {
    let Some(found) = desk.session_find(hash)? else { return Ok(None) };
    let ends_ms = found.made_ms.saturating_add(SESSION_S * 1000);
    Ok((edge::now_ms() < ends_ms).then(|| Seat::new(hash, found.person, found.seen_ms, limits)))
}

fn too_fast(wait: Duration) -> ApiError {
    ApiError::new(Code::SlowDown, "too many requests came in a short time").retry_after(whole_seconds(wait))
}

fn whole_seconds(wait: Duration) -> u64 {
    wait.as_secs() + u64::from(wait.subsec_nanos() > 0)
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Who asks, for handlers.
pub struct Who(pub Arc<Seat>);

impl<S: Send + Sync> FromRequestParts<S> for Who {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, ApiError> {
        let seat = parts.extensions.get::<Arc<Seat>>().cloned();
        seat.map(Self).ok_or_else(|| ApiError::new(Code::NoSession, "the request did not pass the door"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_shell_and_handing_in_a_key_are_keyless() {
        for (method, path, keyless) in [
            (Method::GET, "/", true),
            (Method::HEAD, "/index.html", true),
            (Method::GET, "/sw.js", true),
            (Method::GET, "/manifest.webmanifest", true),
            (Method::GET, "/icons/any.svg", true),
            (Method::GET, "/assets/any.js", true),
            (Method::POST, "/api/session", true),
            (Method::GET, "/api/session", false),
            (Method::DELETE, "/api/session", false),
            (Method::POST, "/api/session/", false),
            (Method::GET, "/api/health", false),
            (Method::GET, "/api/openapi.json", false),
            (Method::POST, "/", false),
            (Method::PUT, "/assets/any.js", false),
            (Method::GET, "/assetsx", false),
            (Method::GET, "//", false),
        ] {
            assert_eq!(is_keyless(&method, path), keyless, "{method} {path}");
        }
    }
}
