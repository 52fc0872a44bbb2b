//! `/api/session`: handing in the key or a code, who one is, and going out.

use axum::extract::{Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use storypole_desk::view::called;
use storypole_desk::{Desk, edge};
use storypole_journal::{RecordId, Role};
use storypole_notebook::field::FieldType;
use storypole_store::Reader;
use utoipa::ToSchema;

use super::codes::OneTimeCode;
use super::{Seat, Way, Who, cookie, ends_ms, secret};
use crate::problem::Code;
use crate::wire::called::Called;
use crate::wire::device::RoleName;
use crate::wire::problem::Anywhere;
use crate::wire::word::{Id, Moment};
use crate::{ApiError, App, clock, shell};

/// What lets a browser in: a key or a code.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KeyBody {
    /// The one-time key, from the address that `storypole serve` printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(
        nullable = false,
        min_length = 1,
        max_length = 200,
        examples("q3Yw0vKcT5nXUeB1r8mZLg7JhP2dSaF6oRiCtWEyN9k")
    )]
    pub key: Option<String>,
    /// The one-time code that a keeper was shown; case, dash and blanks do not matter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, min_length = 1, max_length = 40, examples("7KQ2-M9XD"))]
    pub code: Option<String>,
    /// What people call this browser; without it, what the one who invited said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, max_length = 80, examples("helper's phone"))]
    pub label: Option<String>,
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
    /// What this browser may do.
    pub role: RoleName,
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
    Opening: 400 401 403 408 413 415 421 422 429 500 503 507;
    /// How going out may be refused.
    Ending: 401 403 421 429 500 503 507;
}

/// Lets a browser in with the one-time key, or with a code.
///
/// Needs no session. The answer sets the cookie that every other request carries.
#[utoipa::path(
    post, path = "/api/session", operation_id = "open_session", tag = "access", security(()),
    request_body(content = KeyBody, description = "The key or the code, one of them."),
    responses(
        (status = 201, description = "This browser is let in.", body = Session,
            headers(("set-cookie" = String, description = "The session, for 90 days."))),
        Opening,
    )
)]
pub async fn open(State(app): State<App>, request: Request) -> Result<Response, ApiError> {
    let access = app.access();
    let body: KeyBody = access.keyless_body(request).await?;
    let label = body.label.as_deref().map(check_label).transpose()?;
    let made_ms = edge::now_ms();
    let taken = access.take(&way(body.key, body.code)?, made_ms)?;
    let (hash, grant) = (secret::hash(&taken.session), taken.grant.clone());
    let added = app.write(move |desk| {
        let usual = grant.as_ref().map_or("this computer's browser", |_| "a browser with a code");
        let (person, role, said) = match grant {
            Some(grant) => (grant.person, grant.role, grant.label),
            None => (desk.author(), Role::Keeper, None),
        };
        let answer = session(desk, person, role)?;
        let label = label.or(said).unwrap_or_else(|| usual.to_owned());
        desk.session_add(hash, person, role, Some(label), made_ms)?;
        Ok((person, role, answer))
    });
    let (person, role, answer) = match added.await {
        Ok(added) => added,
        Err(error) => {
            access.give_back(taken);
            return Err(error);
        }
    };
    access.opened(&taken, made_ms);
    let seat = Seat::new(hash, person, role, made_ms, ends_ms(made_ms), &access.limits);
    let ended = || ApiError::new(Code::WrongKey, "the session that the key opened has ended");
    access.keep_seat(seat).ok_or_else(ended)?;
    let cookie = cookie::set(&access.cookie, &taken.session, over(&app));
    Ok((StatusCode::CREATED, [(header::SET_COOKIE, cookie)], axum::Json(answer)).into_response())
}

fn way(key: Option<String>, code: Option<String>) -> Result<Way, ApiError> {
    match (key, code) {
        (Some(key), None) => Ok(Way::Key(key)),
        (None, Some(code)) => match OneTimeCode::parse(&code) {
            Ok(code) => Ok(Way::Code(code)),
            // A slip of the finger is no guess.
            Err(error) => {
                Err(ApiError::because(Code::WrongCode, &error).next("type the code as it was shown"))
            }
        },
        _ => Err(ApiError::new(Code::BadBody, "one of key and code has to be there, and not both")),
    }
}

/// Most letters of what a browser is called.
const LABEL_LETTERS: usize = 80;

/// What a browser is called, as it is kept.
pub(super) fn check_label(label: &str) -> Result<String, ApiError> {
    let text = storypole_notebook::Value::Text(label.trim().to_owned());
    let refused =
        |error| ApiError::because(Code::ValueRefused, &error).next("call the browser by a short name");
    FieldType::Text(LABEL_LETTERS).check(&text).map_err(refused)?;
    Ok(label.trim().to_owned())
}

/// Tells whom the server takes this browser for, and what it serves.
#[utoipa::path(
    get, path = "/api/session", operation_id = "get_session", tag = "access",
    responses((status = 200, description = "The session.", body = Session), Anywhere)
)]
pub async fn show(State(app): State<App>, Who(seat): Who) -> Result<axum::Json<Value>, ApiError> {
    app.read(move |desk| session(desk, seat.person, seat.role)).await.map(axum::Json)
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

fn session(desk: &Desk, person: RecordId, role: Role) -> Result<Value, ApiError> {
    // No browser may do more than the device it comes to. Roles are ordered from the one that may do everything.
    let role = role.max(desk.read(Reader::own_role)?);
    let book = desk.book()?;
    let name = book.notebooks.live().find_map(|settings| settings.name.clone()).unwrap_or_default();
    let own = desk.device().to_string();
    let device = book.devices.live().find(|device| device.device.as_deref() == Some(&own));
    Ok(json!({
        "notebook": { "id": desk.notebook().to_string(), "name": name, "currency": book.currency().code() },
        "device": { "id": own, "label": device.and_then(|device| device.label.clone()) },
        "person": called(&book, "person", person).json(),
        "role": role.as_str(),
        "server_time": clock::moment(edge::now_ms()).0,
        "version": env!("CARGO_PKG_VERSION"),
        "build": shell::build_id(),
    }))
}
