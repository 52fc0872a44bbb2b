//! `/api/sync`: how syncing with other devices goes, and having it done now.

use axum::extract::State;
use axum::http::StatusCode;
use storypole_journal::Vector;
use storypole_store::Reader;

use crate::devices::moment;
use crate::follow::Followed;
use crate::wire::problem::Anywhere;
use crate::wire::sync::{SyncPartner, SyncState, Syncing};
use crate::wire::word::Id;
use crate::{ApiError, App};

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
        waiting: followed.held.as_ref().map(waiting),
    }
}
