//! `/api/sessions`: which browsers may come in, and shutting them out.

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use storypole_desk::view::called;
use storypole_desk::{Desk, edge};
use storypole_notebook::Book;
use storypole_store::{Session, SessionHash};

use super::{Who, ends_ms};
use crate::extract::Path;
use crate::problem::Code;
use crate::wire::called::Called;
use crate::wire::device::{Browser, Browsers, ShutOut};
use crate::wire::problem::Anywhere;
use crate::wire::word::Id;
use crate::{ApiError, App, clock, hex};

/// Bytes of a session's hash that name it: enough to tell a crew's browsers apart, too few to be looked for.
const NAMED_BY: usize = 8;

refusals! {
    /// How shutting out may be refused.
    Ending: 400 401 403 404 421 429 500 503 507;
    /// How shutting all others out may be refused.
    EndingAll: 401 403 421 429 500 503 507;
}

/// The browsers that may come in.
#[utoipa::path(
    get, path = "/api/sessions", operation_id = "get_sessions", tag = "access",
    responses((status = 200, description = "The browsers.", body = Browsers), Anywhere)
)]
pub async fn list(State(app): State<App>, Who(seat): Who) -> Result<axum::Json<Browsers>, ApiError> {
    app.read(move |desk| browsers(desk, Some(seat.hash))).await.map(axum::Json)
}

/// Shuts a browser out; it needs a new code to come in again.
#[utoipa::path(
    delete, path = "/api/sessions/{session}", operation_id = "end_other_session", tag = "access",
    params(("session" = String, Path, description = "The browser, by its id.", example = "5f0c9a1e22d4b871")),
    responses((status = 204, description = "It is shut out."), Ending)
)]
pub async fn end(State(app): State<App>, Path(id): Path<String>) -> Result<StatusCode, ApiError> {
    let ended = app.write(move |desk| shut_out(desk, &id));
    app.access().forget(&ended.await?);
    Ok(StatusCode::NO_CONTENT)
}

/// Shuts every browser out but the one that asks.
#[utoipa::path(
    delete, path = "/api/sessions", operation_id = "end_other_sessions", tag = "access",
    responses((status = 200, description = "They are shut out.", body = ShutOut), EndingAll)
)]
pub async fn end_others(State(app): State<App>, Who(seat): Who) -> Result<Response, ApiError> {
    let own = seat.hash;
    let ended = app.write(move |desk| {
        let others = open(desk, edge::now_ms())?.into_iter().map(|session| session.hash);
        let others: Vec<SessionHash> = others.filter(|hash| *hash != own).collect();
        desk.sessions_end_others(own, edge::now_ms())?;
        Ok(others)
    });
    let ended = ended.await?;
    ended.iter().for_each(|hash| app.access().forget(hash));
    Ok(axum::Json(ShutOut { count: ended.len() as u64 }).into_response())
}

/// The browsers that may come in, as they travel; `own` is the one that asks.
///
/// # Errors
/// The notebook cannot be asked.
pub fn browsers(desk: &Desk, own: Option<SessionHash>) -> Result<Browsers, ApiError> {
    let book = desk.book()?;
    let sessions = open(desk, edge::now_ms())?;
    Ok(Browsers { sessions: sessions.into_iter().map(|session| browser(&book, session, own)).collect() })
}

/// Shuts a browser out; what it held.
///
/// # Errors
/// No browser that may come in has this id.
pub fn shut_out(desk: &Desk, id: &str) -> Result<SessionHash, ApiError> {
    let now_ms = edge::now_ms();
    let sessions = open(desk, now_ms)?;
    let none =
        || ApiError::new(Code::NoSuchSession, format!("no browser that may come in has the id \"{id}\""));
    let hash = sessions.iter().find(|session| name(&session.hash) == id).ok_or_else(none)?.hash;
    desk.session_end(hash, now_ms)?;
    Ok(hash)
}

fn open(desk: &Desk, now_ms: u64) -> Result<Vec<Session>, ApiError> {
    Ok(desk.sessions_list()?.into_iter().filter(|session| is_open(session, now_ms)).collect())
}

fn is_open(session: &Session, now_ms: u64) -> bool {
    session.ended_ms.is_none() && now_ms < ends_ms(session.made_ms)
}

fn browser(book: &Book, session: Session, own: Option<SessionHash>) -> Browser {
    Browser {
        id: name(&session.hash),
        person: person(book, session.person),
        role: session.role.into(),
        made_at: clock::moment(session.made_ms),
        seen_at: clock::moment(session.seen_ms),
        ends_at: clock::moment(ends_ms(session.made_ms)),
        is_this: own == Some(session.hash),
        label: session.label,
    }
}

/// A person, as records are called.
pub(crate) fn person(book: &Book, id: storypole_journal::RecordId) -> Called {
    let called = called(book, "person", id);
    Called { id: Id(id.to_string()), kind: called.kind.to_owned(), label: called.label, name: called.words }
}

fn name(hash: &SessionHash) -> String {
    hex::print(&hash.0[..NAMED_BY])
}
