//! `/api/session`: handing in the key, who one is, and going out.

use axum::extract::{FromRequest, Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use storypole_desk::view::called;
use storypole_desk::{Desk, edge};
use storypole_journal::RecordId;
use storypole_notebook::value::print_moment;
use tokio::time::timeout;
use utoipa::ToSchema;

use super::{Access, Seat, Who, cookie, ends_ms, secret};
use crate::extract::JsonBody;
use crate::problem::Code;
use crate::wire::called::Called;
use crate::wire::problem::Anywhere;
use crate::wire::word::{Id, Moment};
use crate::{ApiError, App, Limits, shell};

/// What lets a browser in.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KeyBody {
    /// The one-time key, from the address that `storypole serve` printed.
    #[schema(min_length = 1, max_length = 200, examples("q3Yw0vKcT5nXUeB1r8mZLg7JhP2dSaF6oRiCtWEyN9k"))]
    pub key: String,
}

/// The notebook that is served.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ServedNotebook {
    /// Its id, the same at every copy.
    pub id: Id,
    /// Its name.
    #[schema(examples("Quiet rooms"))]
    pub name: String,
    /// Currency of its prices, by its code.
    #[schema(examples("USD"))]
    pub currency: String,
}

/// The device that serves.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ServingDevice {
    /// Its id.
    pub id: Id,
    /// Its short name, where one is written.
    #[schema(required = true, examples("box"))]
    pub label: Option<String>,
}

/// Whom the server takes this browser for, and what it serves.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Session {
    /// The notebook.
    pub notebook: ServedNotebook,
    /// The device.
    pub device: ServingDevice,
    /// The person who writes from this browser, unless a draft names another.
    pub person: Called,
    /// Now, by the server's clock.
    pub server_time: Moment,
    /// Version of the program.
    #[schema(examples("0.1.0"))]
    pub version: String,
    /// Which build of the screens the server carries; `none` without any.
    #[schema(examples("none"))]
    pub build: String,
}

refusals! {
    /// How handing in a key may be refused.
    Opening: 400 401 403 408 413 415 421 429 500 503 507;
    /// How going out may be refused.
    Ending: 401 403 421 429 500 503 507;
}

/// Lets a browser in with the one-time key.
///
/// The only route that needs no session. The answer sets the cookie that every other request carries.
#[utoipa::path(
    post, path = "/api/session", operation_id = "open_session", tag = "access", security(()),
    request_body(content = KeyBody, description = "The key."),
    responses(
        (status = 201, description = "This browser is let in.", body = Session,
            headers(("set-cookie" = String, description = "The session, for 90 days."))),
        Opening,
    )
)]
pub async fn open(State(app): State<App>, request: Request) -> Result<Response, ApiError> {
    let access = app.access();
    let key = read_key(access, request).await?;
    let taken = access.take_key(&key)?;
    let hash = secret::hash(&taken.session);
    let made_ms = edge::now_ms();
    let added = app.write(move |desk| {
        let person = desk.author();
        let answer = session(desk, person)?;
        desk.session_add(hash, person, Some("this computer's browser".to_owned()), made_ms)?;
        Ok((person, answer))
    });
    let (person, answer) = added.await.inspect_err(|_| access.give_back(&taken))?;
    access.opened(&taken);
    let seat = Seat::new(hash, person, made_ms, ends_ms(made_ms), &access.limits);
    let ended = || ApiError::new(Code::WrongKey, "the session that the key opened has ended");
    access.keep_seat(seat).ok_or_else(ended)?;
    let cookie = cookie::set(&access.cookie, &taken.session, over(&app));
    Ok((StatusCode::CREATED, [(header::SET_COOKIE, cookie)], axum::Json(answer)).into_response())
}

/// Largest body with a key, bytes: many times what one takes.
const KEY_BYTES: usize = 4096;

/// Reads the body with the key. Nobody knows yet who sends it, so few are read at once, and none for long.
async fn read_key(access: &Access, mut request: Request) -> Result<String, ApiError> {
    let full = |_| ApiError::new(Code::Busy, "as many keys are coming in as may at once");
    let _turn = access.keys.try_acquire().map_err(full)?;
    let limits = access.limits;
    request.extensions_mut().insert(Limits { json_bytes: limits.json_bytes.min(KEY_BYTES), ..limits });
    let body = JsonBody::<KeyBody>::from_request(request, &());
    let late = |_| {
        let detail = format!("the body with the key was not there within {:?}", limits.key_body);
        ApiError::new(Code::TooSlow, detail)
    };
    let JsonBody(KeyBody { key }) = timeout(limits.key_body, body).await.map_err(late)??;
    Ok(key)
}

/// Tells whom the server takes this browser for, and what it serves.
#[utoipa::path(
    get, path = "/api/session", operation_id = "get_session", tag = "access",
    responses((status = 200, description = "The session.", body = Session), Anywhere)
)]
pub async fn show(State(app): State<App>, Who(seat): Who) -> Result<axum::Json<Value>, ApiError> {
    app.read(move |desk| session(desk, seat.person)).await.map(axum::Json)
}

/// Ends the session; the browser needs a new key to come in again.
#[utoipa::path(
    delete, path = "/api/session", operation_id = "end_session", tag = "access",
    responses(
        (status = 204, description = "The session has ended.",
            headers(("set-cookie" = String, description = "Takes the cookie away."))),
        Ending,
    )
)]
pub async fn end(State(app): State<App>, Who(seat): Who) -> Result<Response, ApiError> {
    let hash = seat.hash;
    app.write(move |desk| Ok(desk.session_end(hash, edge::now_ms())?)).await?;
    app.access().forget(&hash);
    let cookie = cookie::clear(&app.access().cookie, over(&app));
    Ok((StatusCode::NO_CONTENT, [(header::SET_COOKIE, cookie)]).into_response())
}

fn over(app: &App) -> cookie::Over {
    if app.tls().is_some() { cookie::Over::Tls } else { cookie::Over::Any }
}

fn session(desk: &Desk, person: RecordId) -> Result<Value, ApiError> {
    let book = desk.book()?;
    let name = book.notebooks.live().find_map(|settings| settings.name.clone()).unwrap_or_default();
    let own = desk.device().to_string();
    let device = book.devices.live().find(|device| device.device.as_deref() == Some(&own));
    Ok(json!({
        "notebook": { "id": desk.notebook().to_string(), "name": name, "currency": book.currency().code() },
        "device": { "id": own, "label": device.and_then(|device| device.label.clone()) },
        "person": called(&book, "person", person).json(),
        "server_time": now(),
        "version": env!("CARGO_PKG_VERSION"),
        "build": shell::build_id(),
    }))
}

/// Now with this computer's offset.
fn now() -> String {
    let offset = jiff::ZonedDateTime::now().offset().seconds() / 60;
    print_moment(edge::written_now(i16::try_from(offset).unwrap_or(0)))
}
