//! Who may ask: one-time key and code, sessions, roles, and the checks every request passes before anything else
//! looks at it.
//!
//! Order of the checks: host, origin, pace, session, role. Keyless are the static shell, the page that helps a phone
//! trust the certificate, handing in a key or code, and joining.
//!
//! Keys and sessions are 256 random bits; only their BLAKE3 hashes are kept. A hash is looked up, never compared
//! letter by letter with a secret: what the time of a look-up tells is about the hash, and nobody can choose a key
//! so that its hash comes nearer to another's.

use std::collections::{HashMap, HashSet};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::extract::{FromRequest, FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method};
use axum::middleware::Next;
use axum::response::Response;
use storypole_desk::{Desk, edge};
use storypole_journal::{DeviceId, NotebookId, RecordId, Role};
use storypole_store::SessionHash;
use tokio::sync::Semaphore;
use tokio::time::{Instant, timeout};

use crate::extract::JsonBody;
use crate::join::Answered;
use crate::members::Seen;
use crate::problem::Code;
use crate::{ApiError, App, Limits, devices};

pub mod browsers;
pub mod codes;
mod cookie;
mod hosts;
pub mod invitations;
pub(crate) mod pace;
pub(crate) mod roles;
mod seat;
pub(crate) mod secret;
pub mod session;

pub use hosts::{Hosts, LOOPBACK};
pub use seat::{Seat, StreamSlot};

use codes::{Codes, Grant, Invitation, OneTimeCode};
use pace::{Pace, WrongKeys};
use roles::OwnRole;

/// How long a session lasts, seconds: 90 days (convention of this project).
const SESSION_S: u64 = 90 * 24 * 60 * 60;

/// How often a session is noted as seen, milliseconds.
const SEEN_EVERY_MS: u64 = 60 * 60 * 1000;

/// Exchanges with devices that want to join, a second and at once: each costs some arithmetic and tells nobody anything.
const JOINS_A_SECOND: u32 = 2;
const JOINS_AT_ONCE: u32 = 20;

/// Largest body of one who is not let in yet, bytes: many times what one takes.
const KEYLESS_BYTES: usize = 4096;

/// The one-time key and code, and the sessions seen since the server started.
pub struct Access {
    limits: Limits,
    cookie: String,
    key: Mutex<Option<SessionHash>>,
    codes: Mutex<Codes>,
    /// The device that joined last; held while one joins.
    answered: tokio::sync::Mutex<Option<Answered>>,
    joins: Mutex<Pace>,
    own: OwnRole,
    /// When devices asked last, ms since 1970.
    devices: Mutex<Seen>,
    used: Mutex<Option<Used>>,
    wrong_keys: Mutex<WrongKeys>,
    /// Shared by all whose session is not known, so that looking them up stays cheap.
    strangers: Mutex<Pace>,
    seats: Mutex<Seats>,
    /// Bodies with a key that may be read at once.
    keys: Semaphore,
}

/// The sessions that are known without asking the notebook.
#[derive(Default)]
struct Seats {
    held: HashMap<SessionHash, Arc<Seat>>,
    /// Those that were ended since the server started: whoever found one before it ended must not bring it back.
    ended: HashSet<SessionHash>,
}

/// What lets a browser in.
enum Way {
    /// The key that was printed.
    Key(String),
    /// A code that a keeper was shown.
    Code(OneTimeCode),
}

/// A key or code that was handed in, and what it opens.
struct Used {
    key: SessionHash,
    session: String,
    /// What the code gives; none for the key, which gives everything.
    grant: Option<Grant>,
    at: Instant,
    /// Whether the session is in the notebook.
    is_open: bool,
}

/// What a key or code that was taken opens.
struct Taken {
    key: SessionHash,
    session: String,
    grant: Option<Grant>,
    /// Whether this was the first to hand it in.
    is_first: bool,
    /// The code to be given back where it was used up for nothing.
    invitation: Option<Invitation>,
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
            codes: Mutex::default(),
            answered: tokio::sync::Mutex::default(),
            joins: Mutex::new(Pace::new(JOINS_A_SECOND, JOINS_AT_ONCE)),
            own: OwnRole::default(),
            devices: Mutex::default(),
            used: Mutex::default(),
            wrong_keys: Mutex::new(WrongKeys::new(limits.wrong_keys_a_minute)),
            strangers: Mutex::new(Pace::new(limits.requests_a_second, limits.burst)),
            seats: Mutex::default(),
            keys: Semaphore::new(limits.keys_at_once),
        }
    }

    /// Makes the key that lets one browser in; the one before it is void.
    pub fn issue_key(&self) -> String {
        let key = secret::new();
        *lock(&self.key) = Some(secret::hash(&key));
        key
    }

    /// Lets in the commands of whoever runs the server, as a keeper and for as long as it runs: nothing of it is kept.
    /// What they show is given, as `name=value`.
    pub(crate) fn let_commands_in(&self, person: RecordId) -> String {
        let value = secret::new();
        // It never ends by itself, and is never due to be noted as seen.
        let seat = Seat::new(secret::hash(&value), person, Role::Keeper, u64::MAX, u64::MAX, &self.limits);
        self.keep_seat(seat);
        format!("{}={value}", self.cookie)
    }

    /// The codes that let one more in.
    pub(crate) fn codes(&self) -> MutexGuard<'_, Codes> {
        lock(&self.codes)
    }

    /// The device that joined last.
    pub(crate) fn answered(&self) -> &tokio::sync::Mutex<Option<Answered>> {
        &self.answered
    }

    /// When devices asked this server last.
    pub(crate) fn devices_seen(&self) -> Seen {
        lock(&self.devices).clone()
    }

    /// Notes that a device asked.
    pub(crate) fn device_seen(&self, device: DeviceId, now_ms: u64) {
        lock(&self.devices).insert(device, now_ms);
    }

    /// One more exchange with a device that wants to join.
    ///
    /// # Errors
    /// Too many came in a short time.
    pub(crate) fn step_join(&self) -> Result<(), ApiError> {
        lock(&self.joins).step(Instant::now()).map_err(too_fast)
    }

    /// Reads the body of one whom nobody knows yet: few are read at once, and none for long.
    ///
    /// # Errors
    /// As any body, [`Code::Busy`], [`Code::TooSlow`].
    pub(crate) async fn keyless_body<T>(&self, mut request: Request) -> Result<T, ApiError>
    where
        T: serde::de::DeserializeOwned,
    {
        let full = |_| ApiError::new(Code::Busy, "as many keys are coming in as may at once");
        let _turn = self.keys.try_acquire().map_err(full)?;
        let limits = self.limits;
        request
            .extensions_mut()
            .insert(Limits { json_bytes: limits.json_bytes.min(KEYLESS_BYTES), ..limits });
        let body = JsonBody::<T>::from_request(request, &());
        let late = |_| {
            let detail = format!("the body with the key was not there within {:?}", limits.key_body);
            ApiError::new(Code::TooSlow, detail)
        };
        let JsonBody(body) = timeout(limits.key_body, body).await.map_err(late)??;
        Ok(body)
    }

    /// Takes a key or code and gives the session it opens: right once, and for a moment again for the same session.
    ///
    /// # Errors
    /// It is wrong, was used, or too many wrong ones came before it.
    fn take(&self, way: &Way, now_ms: u64) -> Result<Taken, ApiError> {
        let mut wrong = lock(&self.wrong_keys);
        let now = Instant::now();
        if let Some(wait) = wrong.wait(now) {
            let detail = "too many wrong keys came within a minute";
            return Err(ApiError::new(Code::SlowDown, detail).retry_after(whole_seconds(wait)));
        }
        let given = match way {
            Way::Key(key) => secret::hash(key),
            Way::Code(code) => code.hash(),
        };
        let mut used = lock(&self.used);
        let is_again =
            |used: &&Used| used.key == given && now.duration_since(used.at) < self.limits.key_again;
        if let Some(used) = used.as_ref().filter(is_again) {
            let (session, grant) = (used.session.clone(), used.grant.clone());
            return Ok(Taken { key: given, session, grant, is_first: false, invitation: None });
        }
        let taken = match way {
            Way::Key(_) => lock(&self.key).take_if(|held| *held == given).map(|_| None).ok_or_else(wrong_key),
            Way::Code(code) => self.codes().take(code, now, now_ms).map(Some).map_err(crate::join::refused),
        };
        let invitation = taken.inspect_err(|_| wrong.note(now))?;
        let (session, grant) =
            (secret::new(), invitation.as_ref().map(|invitation| invitation.grant.clone()));
        *used = Some(Used {
            key: given,
            session: session.clone(),
            grant: grant.clone(),
            at: now,
            is_open: false,
        });
        Ok(Taken { key: given, session, grant, is_first: true, invitation })
    }

    /// Notes that what a key opens is in the notebook: from now on the key is used.
    fn opened(&self, taken: &Taken, now_ms: u64) {
        let mut used = lock(&self.used);
        if let Some(used) = used.as_mut().filter(|used| used.session == taken.session) {
            used.is_open = true;
            return;
        }
        // It was given back meanwhile by the first who handed it in.
        match &taken.grant {
            None => drop(lock(&self.key).take_if(|held| *held == taken.key)),
            Some(_) => self.codes().use_up(&taken.key, now_ms),
        }
    }

    /// Makes a key good again that this taking used up for nothing, unless another was issued since.
    fn give_back(&self, taken: Taken) {
        let mut used = lock(&self.used);
        let is_own = |used: &mut Used| taken.is_first && used.session == taken.session && !used.is_open;
        if used.take_if(is_own).is_none() {
            return;
        }
        match taken.invitation {
            None => drop(lock(&self.key).get_or_insert(taken.key)),
            Some(invitation) => self.codes().give_back(invitation),
        }
    }

    /// Whom a request comes from, as far as this process knows without asking the notebook.
    fn seat(&self, hash: &SessionHash, now_ms: u64) -> Option<Arc<Seat>> {
        let mut seats = lock(&self.seats);
        let seat = seats.held.get(hash)?;
        if !seat.is_over(now_ms) {
            return Some(Arc::clone(seat));
        }
        seat.end();
        seats.held.remove(hash);
        None
    }

    /// Keeps a session that the notebook knows; none where it was ended since it was looked up.
    fn keep_seat(&self, seat: Seat) -> Option<Arc<Seat>> {
        let mut seats = lock(&self.seats);
        if seats.ended.contains(&seat.hash) {
            return None;
        }
        Some(Arc::clone(seats.held.entry(seat.hash).or_insert_with(|| Arc::new(seat))))
    }

    fn forget(&self, hash: &SessionHash) {
        lock(&self.used).take_if(|used| secret::hash(&used.session) == *hash);
        let mut seats = lock(&self.seats);
        seats.ended.insert(*hash);
        if let Some(seat) = seats.held.remove(hash) {
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
        match devices::seat_of(&gate.app, request.headers(), request.uri().path())? {
            Some(device) => {
                // What a viewer writes into the log is set aside by membership; files are not in the log.
                if *request.method() == Method::PUT && !roles::may(device.role, Role::Crew) {
                    return Err(ApiError::new(Code::RoleTooLow, "this device was let in to read only"));
                }
                gate.app.access().device_seen(device.device, edge::now_ms());
                request.extensions_mut().insert(Arc::clone(&device.seat));
                request.extensions_mut().insert(device);
            }
            None => {
                let seat = seat_of(&gate.app, request.headers()).await?;
                roles::check(&gate.app, &seat, request.method(), request.uri().path()).await?;
                request.extensions_mut().insert(seat);
            }
        }
    }
    Ok(next.run(request).await)
}

/// What may be asked with a body by one who is not let in, all of it bounded by pace and size.
const KEYLESS: &[&str] = &["/api/session", "/api/join/start", "/api/join/finish"];

/// The static shell and the page about the certificate, which hold nothing of a notebook, and what lets one in. All
/// else needs a session, or the key of a device.
fn is_keyless(method: &Method, path: &str) -> bool {
    match *method {
        Method::GET | Method::HEAD => crate::shell::is_of_shell(path) || crate::trust::is_of_trust(path),
        Method::POST => KEYLESS.contains(&path) || devices::is_sign_in(method, path),
        _ => false,
    }
}

fn wrong_key() -> ApiError {
    ApiError::new(Code::WrongKey, "the key is not the one that was printed last, or was used")
}

/// Finds the session of a request.
async fn seat_of(app: &App, headers: &HeaderMap) -> Result<Arc<Seat>, ApiError> {
    let access = app.access();
    let no_session = || ApiError::new(Code::NoSession, "no session of this notebook came with the request");
    let hash = access.shown(headers).ok_or_else(no_session)?;
    let seat = match access.seat(&hash, edge::now_ms()) {
        Some(seat) => seat,
        None => {
            lock(&access.strangers).step(Instant::now()).map_err(too_fast)?;
            let limits = access.limits;
            let seat = app.read(move |desk| find(desk, hash, &limits)).await?.ok_or_else(no_session)?;
            access.keep_seat(seat).ok_or_else(no_session)?
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
    let seat = Seat::new(hash, found.person, found.role, found.seen_ms, ends_ms(found.made_ms), limits);
    Ok(Some(seat).filter(|seat| !seat.is_over(edge::now_ms())))
}

/// When a session ends that began at a time.
fn ends_ms(made_ms: u64) -> u64 {
    made_ms.saturating_add(SESSION_S * 1000)
}

pub(crate) fn too_fast(wait: Duration) -> ApiError {
    ApiError::new(Code::SlowDown, "too many requests came in a short time").retry_after(whole_seconds(wait))
}

fn whole_seconds(wait: Duration) -> u64 {
    wait.as_secs() + u64::from(wait.subsec_nanos() > 0)
}

pub(crate) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
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

    fn access() -> Access {
        Access::new(NotebookId::from_bytes([7; 16]), Limits::default())
    }

    fn seat(hash: SessionHash, ends_ms: u64) -> Seat {
        Seat::new(hash, RecordId::from_bytes([1; 16]), Role::Keeper, 0, ends_ms, &Limits::default())
    }

    #[test]
    fn a_session_that_was_ended_after_it_was_found_does_not_come_back() {
        let (access, hash) = (access(), SessionHash([1; 32]));
        let found = seat(hash, 10);
        access.forget(&hash);
        assert!(access.keep_seat(found).is_none());
        assert!(access.seat(&hash, 0).is_none());
        assert!(access.keep_seat(seat(SessionHash([2; 32]), 10)).is_some(), "others stay in");
    }

    #[tokio::test]
    async fn a_session_that_is_known_ends_in_its_time() {
        let (access, hash) = (access(), SessionHash([1; 32]));
        let mut stream = access.keep_seat(seat(hash, 10)).unwrap().stream().unwrap();
        assert!(access.seat(&hash, 9).is_some());
        assert!(access.seat(&hash, 10).is_none());
        stream.ended().await;
        assert!(lock(&access.seats).held.is_empty());
        assert_eq!(ends_ms(5), 5 + 90 * 24 * 60 * 60 * 1000);
    }

    fn issue_code(access: &Access) -> OneTimeCode {
        let person = RecordId::from_bytes([1; 16]);
        let grant = Grant { who: codes::For::Browser, role: Role::Crew, person, label: None };
        access.codes().issue(grant, SessionHash([1; 32]), Instant::now(), 0).0
    }

    /// Takes a key or code twice, then ends both in this order.
    fn end(access: &Access, way: &Way, ends: &[(usize, bool)]) {
        let mut taken = [0, 1].map(|_| Some(access.take(way, 0).unwrap()));
        for (which, went_well) in ends {
            let taken = taken[*which].take().unwrap();
            if *went_well { access.opened(&taken, 0) } else { access.give_back(taken) }
        }
    }

    #[test]
    fn a_key_is_given_back_only_by_who_used_it_up_for_nothing() {
        // In which order who handed in the same key twice hear how it went, and whether the key is good again.
        for (ends, is_good) in [
            (&[(0, false)][..], true),
            (&[(0, true)], false),
            (&[(1, false)], false),
            (&[(0, true), (1, false)], false),
            (&[(1, true), (0, false)], false),
            (&[(0, false), (1, true)], false),
            (&[(1, false), (0, false)], true),
            (&[(0, false), (1, false)], true),
        ] {
            let access = access();
            let key = access.issue_key();
            end(&access, &Way::Key(key), ends);
            assert_eq!(lock(&access.key).is_some(), is_good, "a key, {ends:?}");
            let access = self::access();
            let code = issue_code(&access);
            end(&access, &Way::Code(code), ends);
            assert_eq!(access.codes().out(Instant::now(), 0).is_some(), is_good, "a code, {ends:?}");
        }
        let access = access();
        let first = Way::Key(access.issue_key());
        let taken = access.take(&first, 0).unwrap();
        let second = Way::Key(access.issue_key());
        access.give_back(taken);
        assert!(access.take(&first, 0).is_err() && access.take(&second, 0).is_ok());
    }

    #[test]
    fn only_the_shell_and_what_lets_one_in_are_keyless() {
        for (method, path, keyless) in [
            (Method::GET, "/", true),
            (Method::HEAD, "/index.html", true),
            (Method::GET, "/sw.js", true),
            (Method::GET, "/manifest.webmanifest", true),
            (Method::GET, "/icons/any.svg", true),
            (Method::GET, "/assets/any.js", true),
            (Method::GET, "/trust", true),
            (Method::GET, "/trust/style.css", true),
            (Method::GET, "/trust/ca.pem", true),
            (Method::HEAD, "/trust/ca.der", true),
            (Method::GET, "/trust/qr.svg", true),
            (Method::GET, "/trust/", false),
            (Method::GET, "/trust/ca.key", false),
            (Method::POST, "/trust", false),
            (Method::POST, "/api/session", true),
            (Method::POST, "/api/join/start", true),
            (Method::POST, "/api/join/finish", true),
            (Method::GET, "/api/join/start", false),
            (Method::POST, "/api/join", false),
            (Method::POST, "/api/invitations", false),
            (Method::POST, "/api/sync/greeting", true),
            (Method::POST, "/api/sync/key", true),
            (Method::GET, "/api/sync/key", false),
            (Method::POST, "/api/sync/exchange", false),
            (Method::POST, "/api/sync/now", false),
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
