//! What holds for every request, whatever it asks: an id, a line in the log, headers, and how many run at once.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use storypole_desk::edge;
use tokio::sync::Semaphore;
use tokio::time::Instant;

use crate::body::Patient;
use crate::problem::Code;
use crate::{ApiError, Limits};

/// What a page of ours may load: nothing from elsewhere.
const POLICY: &str = "default-src 'self'; img-src 'self' blob: data:; style-src 'self'; object-src 'none'; \
                      base-uri 'none'; frame-ancestors 'none'";

/// What a page of ours may use of a phone.
const PERMISSIONS: &str = "microphone=(self), camera=(self), geolocation=()";

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");
const PERMISSIONS_POLICY: HeaderName = HeaderName::from_static("permissions-policy");

/// Names a request, logs it, and gives its answer the headers that all have. The outermost of all layers.
pub(crate) async fn record(request: Request, next: Next) -> Response {
    // A record's id is a UUIDv7 as any other.
    let id = edge::record_id().to_string();
    let (method, path) = (request.method().clone(), request.uri().path().to_owned());
    let begun = Instant::now();
    let mut response = next.run(request).await;
    let refused = ApiError::fill(&mut response, &id);
    let (status, ms) = (response.status().as_u16(), begun.elapsed().as_millis());
    if let Some(refused) = refused.filter(|_| status >= 500) {
        let code = refused.code().problem().code;
        tracing::error!(%id, code, cause = refused.logged(), "a request failed");
    }
    tracing::info!(%id, %method, path, status, ms, "answered");
    let id = HeaderValue::try_from(id).expect("an id is made of digits");
    dress(&mut response, id);
    response
}

fn dress(response: &mut Response, id: HeaderValue) {
    let headers = response.headers_mut();
    headers.insert(REQUEST_ID, id);
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(PERMISSIONS_POLICY, HeaderValue::from_static(PERMISSIONS));
    // Files have a stricter one of their own, and what may be kept says so itself.
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(POLICY));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}

/// How many requests run at once, and how long their bodies are waited for.
#[derive(Clone)]
pub(crate) struct Crowd {
    limits: Limits,
    places: Arc<Semaphore>,
}

impl Crowd {
    pub(crate) fn new(limits: Limits) -> Self {
        Self { limits, places: Arc::new(Semaphore::new(limits.in_flight)) }
    }
}

/// Lets a request in while there is a place, and has its body watched.
///
/// # Errors
/// As many requests run as may.
pub(crate) async fn bound(
    State(crowd): State<Crowd>,
    request: Request,
    next: Next,
) -> Result<Response, ApiError> {
    let full = |_| ApiError::new(Code::Busy, "as many requests run as may at once");
    let _place = crowd.places.try_acquire().map_err(full)?;
    let (mut parts, body) = request.into_parts();
    parts.extensions.insert(crowd.limits);
    let body = Body::new(Patient::new(body, crowd.limits.body_idle));
    Ok(next.run(Request::from_parts(parts, body)).await)
}

/// Nothing is at this address.
pub(crate) async fn no_such_route(request: Request) -> ApiError {
    ApiError::new(Code::NoSuchRoute, format!("there is nothing at {}", request.uri().path()))
}

/// The address is there, but not for this method.
pub(crate) async fn method_not_allowed(request: Request) -> ApiError {
    let (method, path) = (request.method(), request.uri().path());
    ApiError::new(Code::MethodNotAllowed, format!("{path} does not answer to {method}"))
}

/// What a handler that panicked answers.
pub(crate) fn panicked(said: Box<dyn std::any::Any + Send>) -> Response {
    crate::app::panicked(said.as_ref()).into_response()
}

#[cfg(test)]
mod tests {
    use axum::Router;
    use axum::http::StatusCode;
    use axum::middleware::from_fn;
    use axum::routing::get;
    use http_body_util::BodyExt;
    use tower::ServiceExt;
    use tower_http::catch_panic::CatchPanicLayer;

    use super::*;

    #[tokio::test]
    async fn a_handler_that_panics_answers_without_its_cause() {
        async fn broken() -> &'static str {
            panic!("the secret of the house")
        }
        let router = Router::new()
            .route("/", get(broken))
            .layer(CatchPanicLayer::custom(panicked))
            .layer(from_fn(record));
        let response = router.oneshot(Request::new(Body::empty())).await.unwrap();
        assert_eq!(response.status(), StatusCode::INTERNAL_SERVER_ERROR);
        let id = response.headers()[REQUEST_ID].to_str().unwrap().to_owned();
        let body = response.into_body().collect().await.unwrap().to_bytes();
        let problem: serde_json::Value = serde_json::from_slice(&body).unwrap();
        assert_eq!(
            (&problem["code"], &problem["instance"]),
            (&"internal".into(), &format!("urn:uuid:{id}").into())
        );
        assert!(!problem.to_string().contains("secret"), "{problem}");
    }

    #[test]
    fn the_cause_is_kept_for_the_log() {
        let said: Box<dyn std::any::Any + Send> = Box::new("the secret of the house");
        let refused = crate::app::panicked(said.as_ref());
        assert!(refused.logged().contains("the secret of the house"));
    }
}
