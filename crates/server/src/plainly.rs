//! What is said to those who speak plain HTTP where TLS is meant: the page that helps a phone trust the certificate, and
//! for all else the address that is meant. Nothing of the notebook, and no cookie.
//!
//! The page may be had this way because a phone that does not trust the certificate yet would show a warning before it,
//! and whoever learns to click warnings away is worse off. What is trusted is compared by its fingerprint either way.
//!
//! No `Strict-Transport-Security` is sent anywhere (RFC 6797): it holds for a host with all its ports and programs, and
//! would lock a computer's owner out of `localhost` and the box when the authority is made anew.

use axum::Router;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use tower_http::catch_panic::CatchPanicLayer;

use crate::access::Hosts;
use crate::{ApiError, App, requests, trust};

/// What answers to plain HTTP at the port of a server that speaks TLS.
pub(crate) fn router(app: App, hosts: Hosts) -> Router {
    let crowd = requests::Crowd::new(*app.limits());
    trust::routes()
        .fallback(to_https)
        .method_not_allowed_fallback(to_https)
        .with_state(app)
        .layer(from_fn_with_state(hosts, guard))
        .layer(from_fn_with_state(crowd, requests::bound))
        .layer(CatchPanicLayer::custom(requests::panicked))
        .layer(from_fn(requests::record))
}

async fn guard(State(hosts): State<Hosts>, request: Request, next: Next) -> Result<Response, ApiError> {
    hosts.check(request.uri(), request.headers())?;
    Ok(next.run(request).await)
}

/// Names the address that is meant; a browser that only looks is sent there.
async fn to_https(request: Request) -> Response {
    let host = request.headers().get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let path = request.uri().path_and_query().map_or("/", |path| path.as_str());
    let address = format!("https://{host}{path}");
    let said = format!("this server speaks https only: {address}\n");
    match HeaderValue::from_str(&address) {
        Ok(location) if matches!(*request.method(), Method::GET | Method::HEAD) => {
            (StatusCode::TEMPORARY_REDIRECT, [(header::LOCATION, location)], said).into_response()
        }
        _ => (StatusCode::BAD_REQUEST, said).into_response(),
    }
}
