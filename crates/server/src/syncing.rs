//! `/api/sync`: with which addresses this device syncs, how that goes, and having it done now.

use axum::extract::State;
use axum::http::StatusCode;
use serde::{Deserialize, Serialize};
use storypole_journal::Vector;
use storypole_store::Reader;
use utoipa::{IntoParams, ToSchema};

use crate::devices::moment;
use crate::extract::{JsonBody, Query};
use crate::follow::{Followed, trust};
use crate::hex;
use crate::problem::Code;
use crate::remote::Remote;
use crate::wire::problem::Anywhere;
use crate::wire::sync::{SyncPartner, SyncState, Syncing};
use crate::wire::word::Id;
use crate::{ApiError, App};

/// An address to sync with.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartnerBody {
    /// `https://host[:port]`; `http://` only within this computer.
    #[schema(examples("https://box.example:8417"))]
    pub url: String,
    /// SHA-256 of the certificate to trust there, 64 digits; left out, the system's list decides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, pattern = "^[0-9a-f]{64}$")]
    pub pin: Option<String>,
}

/// Which address.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PartnerNamed {
    /// As the list shows it.
    #[param(example = "https://box.example:8417")]
    url: String,
}

refusals! {
    /// How adding may be refused.
    Adding: 400 401 403 408 413 415 421 429 500 503 507;
    /// How forgetting may be refused.
    Forgetting: 400 401 403 404 421 429 500 503 507;
}

/// Tells with which addresses this device syncs, and how it goes.
#[utoipa::path(
    get, path = "/api/sync", operation_id = "get_sync", tag = "sync",
    responses((status = 200, description = "Address by address.", body = Syncing), Anywhere)
)]
pub async fn show(State(app): State<App>) -> Result<axum::Json<Syncing>, ApiError> {
    syncing(&app).await.map(axum::Json)
}

/// Syncs with every address now, without waiting for the next time.
///
/// The answer comes at once and tells how it went before; ask `GET /api/sync` how it goes.
#[utoipa::path(
    post, path = "/api/sync/now", operation_id = "sync_now", tag = "sync",
    responses((status = 202, description = "It is being done.", body = Syncing), Anywhere)
)]
pub async fn now(State(app): State<App>) -> Result<(StatusCode, axum::Json<Syncing>), ApiError> {
    app.following().ask();
    Ok((StatusCode::ACCEPTED, axum::Json(syncing(&app).await?)))
}

/// Adds an address to sync with, or gives it another pin.
#[utoipa::path(
    put, path = "/api/sync/partners", operation_id = "put_sync_partner", tag = "sync",
    request_body(content = PartnerBody, description = "The address."),
    responses((status = 200, description = "It is followed from now on.", body = Syncing), Adding)
)]
pub async fn add(
    State(app): State<App>,
    JsonBody(body): JsonBody<PartnerBody>,
) -> Result<axum::Json<Syncing>, ApiError> {
    let bad_pin = || ApiError::new(Code::BadBody, "pin is not 64 digits of 0 to 9 and a to f");
    let pin = body.pin.as_deref().map(|pin| hex::parse::<32>(pin).ok_or_else(bad_pin)).transpose()?;
    let bad = |error| ApiError::because(Code::BadBody, &error);
    let url = Remote::new(&body.url, trust(&body.url, pin)).map_err(bad)?.url().to_owned();
    app.write(move |desk| Ok(desk.partner_add(&url, pin)?)).await?;
    app.following().list_anew();
    app.following().ask();
    syncing(&app).await.map(axum::Json)
}

/// Forgets an address.
#[utoipa::path(
    delete, path = "/api/sync/partners", operation_id = "delete_sync_partner", tag = "sync",
    params(PartnerNamed),
    responses(
        (status = 200, description = "It is not followed any more.", body = Syncing),
        Forgetting,
    )
)]
pub async fn forget(
    State(app): State<App>,
    Query(PartnerNamed { url }): Query<PartnerNamed>,
) -> Result<axum::Json<Syncing>, ApiError> {
    let named = url.clone();
    if !app.write(move |desk| Ok(desk.partner_forget(&named)?)).await? {
        return Err(ApiError::new(
            Code::NoSuchRecord,
            format!("{url} is not an address this device syncs with"),
        )
        .next("see those that are with `storypole sync --list`"));
    }
    app.following().list_anew();
    app.following().drop(&url);
    syncing(&app).await.map(axum::Json)
}

async fn syncing(app: &App) -> Result<Syncing, ApiError> {
    let held = app.read(|desk| Ok(desk.read(Reader::vector)?)).await?;
    let all = app.following().all().into_iter();
    Ok(Syncing { partners: all.map(|(url, followed)| partner(url, followed, &held)).collect() })
}

fn partner(url: String, followed: Followed, held: &Vector) -> SyncPartner {
    let state = match &followed {
        Followed { is_syncing: true, .. } => SyncState::Syncing,
        Followed { failed: Some(_), .. } => SyncState::Failing,
        Followed { synced_ms: None, .. } => SyncState::NotYet,
        _ => SyncState::Synced,
    };
    let waiting = |there: &Vector| held.beyond(there).iter().map(|span| span.to - span.from).sum();
    SyncPartner {
        url,
        device: followed.device.map(|device| Id(device.to_string())),
        state,
        synced_at: followed.synced_ms.map(moment),
        tried_at: followed.tried_ms.map(moment),
        failed: followed.failed,
        tries: followed.tries,
        taken: followed.moved.map(|(taken, _)| taken),
        sent: followed.moved.map(|(_, sent)| sent),
        waiting: followed.held.as_ref().map(waiting),
    }
}
