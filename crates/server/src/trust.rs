//! `/trust`: the page that helps a phone or another computer trust the built-in certificate authority.
//!
//! Keyless, and without a word of the notebook: what it shows is in every handshake already. It needs no script.

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use crate::problem::Code;
use crate::tls::{Ca, Name, Secured, fingerprint};
use crate::{ApiError, App, qr};

mod page;

/// Where the page lies.
const PAGE: &str = "/trust";

const STYLE: &str = include_str!("trust/style.css");

/// The page and what belongs to it.
pub fn routes() -> Router<App> {
    Router::new()
        .route(PAGE, get(show))
        .route("/trust/style.css", get(style))
        .route("/trust/ca.pem", get(pem))
        .route("/trust/ca.der", get(der))
        .route("/trust/qr.svg", get(code))
}

/// Whether an address belongs to the page.
pub fn is_of_trust(path: &str) -> bool {
    matches!(path, PAGE | "/trust/style.css" | "/trust/ca.pem" | "/trust/ca.der" | "/trust/qr.svg")
}

/// The page's address for other devices. Plain on purpose: nothing secret is asked or told there, and a device that
/// does not trust the certificate yet would show a warning before it.
pub fn url(secured: &Secured, port: u16) -> String {
    format!("http://{}:{port}{PAGE}", secured.far_host())
}

async fn show(State(app): State<App>, headers: HeaderMap) -> Response {
    let port = port(&headers);
    let html = match (app.tls(), app.ca()) {
        (Some(secured), Some(ca)) => {
            let shown = secured.shown();
            let names: Vec<&Name> = shown.names.iter().filter(|name| !name.is_loopback()).collect();
            page::for_authority(&fingerprint(&ca.hash), &names, port)
        }
        (Some(_), None) => page::nothing_to_do("it is signed by an authority that its owner chose"),
        (None, _) => page::nothing_to_do("it serves its own computer only, without a certificate"),
    };
    typed("text/html; charset=utf-8", html)
}

async fn style() -> Response {
    typed("text/css; charset=utf-8", STYLE)
}

/// For programs: RFC 8555 section 9.1.
async fn pem(State(app): State<App>) -> Result<Response, ApiError> {
    Ok(download("application/pem-certificate-chain", "storypole-ca.pem", authority(&app)?.pem.clone()))
}

/// For phones: RFC 2585 section 4.1.
async fn der(State(app): State<App>) -> Result<Response, ApiError> {
    Ok(download("application/pkix-cert", "storypole-ca.cer", authority(&app)?.der.clone()))
}

async fn code(State(app): State<App>, headers: HeaderMap) -> Result<Response, ApiError> {
    authority(&app)?;
    let secured = app.tls().ok_or_else(none)?;
    let drawn = qr::svg(&url(secured, port(&headers))).ok_or_else(none)?;
    Ok(typed("image/svg+xml", drawn))
}

fn authority(app: &App) -> Result<&Ca, ApiError> {
    app.ca().ok_or_else(none)
}

fn none() -> ApiError {
    ApiError::new(Code::NoSuchRoute, "this server has no certificate authority of its own")
}

/// The port that was asked; Host was checked at the door.
fn port(headers: &HeaderMap) -> u16 {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    host.rsplit_once(':').and_then(|(_, port)| port.parse().ok()).unwrap_or(443)
}

fn typed(kind: &'static str, body: impl IntoResponse) -> Response {
    ([(header::CONTENT_TYPE, HeaderValue::from_static(kind))], body).into_response()
}

fn download(kind: &'static str, name: &'static str, body: impl IntoResponse) -> Response {
    let manner = HeaderValue::try_from(format!("attachment; filename=\"{name}\"")).expect("plain letters");
    let head: [(HeaderName, HeaderValue); 1] = [(header::CONTENT_DISPOSITION, manner)];
    (head, typed(kind, body)).into_response()
}
