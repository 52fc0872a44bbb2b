//! `/api/invitations`: a keeper makes the code that lets one more device or browser in, sees what became of it, and
//! takes it back.

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use storypole_desk::{Desk, edge};
use storypole_journal::{RecordId, Role};
use storypole_notebook::Book;
use storypole_notebook::field::check_label;
use tokio::time::Instant;
use utoipa::ToSchema;

use super::browsers::person;
use super::codes::{End, Ended, For, Grant, Invitation, MOST_WRONG};
use super::{Who, session};
use crate::extract::JsonBody;
use crate::problem::Code;
use crate::views::look;
use crate::wire::device::{EndName, EndedInvitation, ForName, Invitations, Invited, Outstanding, RoleName};
use crate::wire::problem::Anywhere;
use crate::wire::word::Id;
use crate::{ApiError, App, clock, qr};

/// Whom to let in.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InviteBody {
    /// Whom the code lets in.
    pub r#for: ForName,
    /// What they may do.
    pub role: RoleName,
    /// The person who works there, by label or id; without it, the person who invites.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, max_length = 120, examples("helper"))]
    pub person: Option<String>,
    /// What it will be called; without it, what it calls itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, max_length = 80, examples("tablet"))]
    pub label: Option<String>,
}

refusals! {
    /// How inviting may be refused.
    Inviting: 400 401 403 404 408 409 413 415 421 422 429 500 503;
}

/// Makes a one-time code, good for ten minutes; one that was out is void.
///
/// Five wrong codes void it too. The code is in this answer and nowhere else.
#[utoipa::path(
    post, path = "/api/invitations", operation_id = "invite", tag = "access",
    request_body(content = InviteBody, description = "Whom to let in."),
    responses((status = 201, description = "The code.", body = Invited), Inviting)
)]
pub async fn invite(
    State(app): State<App>,
    Who(seat): Who,
    headers: HeaderMap,
    JsonBody(body): JsonBody<InviteBody>,
) -> Result<Response, ApiError> {
    let own = seat.person;
    let grant = app.read(move |desk| grant(desk, own, &body)).await?;
    let url =
        app.reached_at(headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default());
    let mut codes = app.access().codes();
    let (code, out) = codes.issue(grant, seat.hash, Instant::now(), edge::now_ms());
    Ok((StatusCode::CREATED, axum::Json(invited(out, &code.shown(), &url))).into_response())
}

fn grant(desk: &Desk, own: RecordId, body: &InviteBody) -> Result<Grant, ApiError> {
    let who = match body.r#for {
        ForName::Device => For::Device,
        ForName::Browser => For::Browser,
    };
    let person = look::maybe_named(desk, "person", body.person.as_deref())?.unwrap_or(own);
    let label = body.label.as_deref().map(|label| named(who, label)).transpose()?;
    Ok(Grant { who, role: Role::from(body.role), person, label })
}

fn named(who: For, label: &str) -> Result<String, ApiError> {
    if who == For::Device {
        check_label(label).map_err(|error| ApiError::because(Code::ValueRefused, &error))?;
    }
    session::check_label(label)
}

/// An invitation with its code, for whoever made it.
fn invited(out: &Invitation, code: &str, url: &str) -> Invited {
    let grant = &out.grant;
    let is_browser = grant.who == For::Browser;
    let address = if is_browser { format!("{url}/#code={code}") } else { url.to_owned() };
    Invited {
        id: Id(out.id.clone()),
        code: code.to_owned(),
        r#for: for_name(grant.who),
        role: grant.role.into(),
        ends_at: clock::moment(out.ends_ms),
        qr: if is_browser { qr::svg(&address) } else { None },
        command: (!is_browser).then(|| format!("storypole join {url} {code}")),
        warning: is_here_only(url).then(|| HERE_ONLY.to_owned()),
        url: address,
    }
}

const HERE_ONLY: &str = "only this computer reaches this address: to let others in, start `storypole serve` with \
                         --address and an address of the network";

fn is_here_only(url: &str) -> bool {
    let host = url.split("//").nth(1).unwrap_or_default();
    ["localhost", "127.", "[::1]"].iter().any(|own| host.starts_with(own))
}

/// What is out, and what became of the one before. The code itself is not told again.
#[utoipa::path(
    get, path = "/api/invitations", operation_id = "get_invitations", tag = "access",
    responses((status = 200, description = "What is out.", body = Invitations), Anywhere)
)]
pub async fn show(State(app): State<App>) -> Result<axum::Json<Invitations>, ApiError> {
    let book = app.read(|desk| Ok(desk.book()?)).await?;
    let mut codes = app.access().codes();
    let out = codes.out(Instant::now(), edge::now_ms()).map(|out| outstanding(&book, out));
    let last = codes.last().map(ended);
    Ok(axum::Json(Invitations { out, last }))
}

/// Takes the code back that is out.
#[utoipa::path(
    delete, path = "/api/invitations", operation_id = "end_invitation", tag = "access",
    responses((status = 204, description = "None is out any more."), Anywhere)
)]
pub async fn take_back(State(app): State<App>) -> StatusCode {
    app.access().codes().end(End::TakenBack, None, edge::now_ms());
    StatusCode::NO_CONTENT
}

fn outstanding(book: &Book, out: &Invitation) -> Outstanding {
    let grant = &out.grant;
    Outstanding {
        id: Id(out.id.clone()),
        r#for: for_name(grant.who),
        role: grant.role.into(),
        person: person(book, grant.person),
        label: grant.label.clone(),
        ends_at: clock::moment(out.ends_ms),
        wrong_tries: out.wrong.into(),
        most_wrong_tries: MOST_WRONG.into(),
    }
}

fn ended(last: &Ended) -> EndedInvitation {
    EndedInvitation {
        id: Id(last.id.clone()),
        r#for: for_name(last.grant.who),
        role: last.grant.role.into(),
        end: match last.end {
            End::Used => EndName::Used,
            End::Voided => EndName::Voided,
            End::RanOut => EndName::RanOut,
            End::TakenBack => EndName::TakenBack,
        },
        at: clock::moment(last.at_ms),
        device: last.device.clone().map(Id),
    }
}

fn for_name(who: For) -> ForName {
    match who {
        For::Device => ForName::Device,
        For::Browser => ForName::Browser,
    }
}
