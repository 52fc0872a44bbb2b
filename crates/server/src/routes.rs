//! Every route, and the layers each request passes on its way to one.

use std::sync::{Arc, LazyLock};

use axum::Router;
use axum::http::{HeaderMap, HeaderValue, StatusCode, Version, header};
use axum::middleware::{from_fn, from_fn_with_state};
use axum::response::IntoResponse;
use axum::routing::get;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{Predicate, SizeAbove};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::access::{Gate, Hosts, browsers, invitations, session};
use crate::wire::problem::Anywhere;
use crate::{
    App, access, backups, devices, drafts, events, example, exchange, files, health, join, members, requests,
    shell, syncing, trust, views, wire,
};

/// Answers shorter than this are sent as they are, bytes.
const PACKED_ABOVE: u64 = 1024;

/// Where the server is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// The port it listens at, which is part of the names it answers to.
    pub port: u16,
}

/// The whole server, without a socket.
pub fn router(app: App, settings: Settings) -> Router {
    let hosts = match app.tls() {
        Some(secured) => Hosts::over_tls(settings.port, Arc::clone(secured)),
        None => Hosts::at(settings.port),
    };
    let gate = Gate { app: app.clone(), hosts };
    let crowd = requests::Crowd::new(*app.limits());
    let (api, _) = core().merge(views::routes()).split_for_parts();
    api.merge(shell_routes())
        .merge(trust::routes())
        .fallback(requests::no_such_route)
        .method_not_allowed_fallback(requests::method_not_allowed)
        .with_state(app)
        .layer(CompressionLayer::new().compress_when(SizeAbove::new(PACKED_ABOVE).and(is_text)))
        .layer(from_fn_with_state(gate, access::guard))
        .layer(from_fn_with_state(crowd, requests::bound))
        .layer(CatchPanicLayer::custom(requests::panicked))
        .layer(from_fn(requests::record))
}

/// The routes that are no views of the notebook.
pub fn core() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(session::open, session::show, session::end))
        .routes(routes!(browsers::list, browsers::end_others))
        .routes(routes!(browsers::end))
        .routes(routes!(invitations::invite, invitations::show, invitations::take_back))
        .routes(routes!(members::list))
        .routes(routes!(members::revoke))
        .routes(routes!(members::let_in))
        .routes(routes!(members::let_in_branch))
        .routes(routes!(members::name))
        .routes(routes!(join::start))
        .routes(routes!(join::finish))
        .routes(routes!(drafts::put))
        .routes(routes!(files::keep))
        .routes(routes!(files::give))
        .routes(routes!(files::parts::list, files::parts::begin))
        .routes(routes!(files::parts::take))
        .routes(routes!(files::parts::wanted))
        .routes(routes!(files::parts::fetch))
        .routes(routes!(files::thumbnail::give))
        .routes(routes!(events::follow))
        .routes(routes!(health::show))
        .routes(routes!(health::problem))
        .routes(routes!(backups::list, backups::make))
        .routes(routes!(example::fill))
        .routes(routes!(devices::greet))
        .routes(routes!(devices::open))
        .routes(routes!(exchange::exchange))
        .routes(routes!(syncing::show))
        .routes(routes!(syncing::now))
        .routes(routes!(syncing::add, syncing::forget))
        .routes(routes!(document))
}

fn shell_routes() -> Router<App> {
    let shell = || get(shell::give);
    Router::new()
        .route("/", shell())
        .route("/index.html", shell())
        .route("/sw.js", shell())
        .route("/manifest.webmanifest", shell())
        .route("/assets/{*path}", shell())
        .route("/icons/{*path}", shell())
}

/// JSON and text are packed; streams, files and the shell are not, or come packed.
fn is_text(_: StatusCode, _: Version, headers: &HeaderMap, _: &axum::http::Extensions) -> bool {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default();
    matches!(kind, "application/json" | "application/problem+json" | "text/markdown")
}

/// Tells what the server answers to, as OpenAPI 3.1.
#[utoipa::path(
    get, path = "/api/openapi.json", operation_id = "get_document", tag = "about",
    responses((status = 200, description = "This document.", body = serde_json::Value), Anywhere)
)]
async fn document() -> impl IntoResponse {
    static DOCUMENT: LazyLock<String> =
        LazyLock::new(|| wire::openapi().to_json().expect("the document is made of text and numbers"));
    ([(header::CONTENT_TYPE, HeaderValue::from_static("application/json"))], DOCUMENT.as_str())
}
