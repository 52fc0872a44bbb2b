//! What is said when something is refused: RFC 9457 problem details with a stable code and a next step.
//!
//! Every code stands in one table, [`PROBLEMS`]. Internal causes are logged with the request and never sent.

use std::error::Error;
use std::fmt;

use axum::body::Body;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

mod codes;
mod reasons;

pub use codes::{Code, PROBLEMS, Problem};

/// A refusal on its way out.
#[derive(Debug, Clone)]
pub struct ApiError(Box<Facts>);

#[derive(Debug, Clone)]
struct Facts {
    code: Code,
    detail: String,
    next: Option<String>,
    field: Option<FieldAt>,
    retry_after_s: Option<u64>,
    /// For the log only.
    cause: Option<String>,
}

/// The field of a draft that is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldAt {
    /// Which write of the draft, counted from 0; none where that is not known.
    pub write: Option<usize>,
    /// The kind of record, as it was sent.
    pub kind: String,
    /// The field, as it was sent.
    pub field: String,
}

impl ApiError {
    /// A refusal of this code; `detail` says in one line why.
    pub fn new(code: Code, detail: impl Into<String>) -> Self {
        Self(Box::new(Facts {
            code,
            detail: detail.into(),
            next: None,
            field: None,
            retry_after_s: code.problem().retry_after_s,
            cause: None,
        }))
    }

    /// A refusal whose detail is the whole chain of an error's reasons, which may be sent.
    pub fn because(code: Code, error: &dyn Error) -> Self {
        Self::new(code, chain(error))
    }

    /// The same refusal with another next step than its code's.
    #[must_use]
    pub fn next(mut self, next: impl Into<String>) -> Self {
        self.0.next = Some(next.into());
        self
    }

    /// The same refusal, pointing at a field of the draft.
    #[must_use]
    pub fn field(mut self, write: Option<usize>, kind: &str, field: &str) -> Self {
        self.0.field = Some(FieldAt { write, kind: kind.to_owned(), field: field.to_owned() });
        self
    }

    /// The same refusal, with when to try again.
    #[must_use]
    pub fn retry_after(mut self, seconds: u64) -> Self {
        self.0.retry_after_s = Some(seconds);
        self
    }

    /// The same refusal with a cause for the log, never sent.
    #[must_use]
    pub fn cause(mut self, cause: impl Into<String>) -> Self {
        self.0.cause = Some(cause.into());
        self
    }

    /// The server is closing.
    pub fn closing() -> Self {
        Self::new(Code::Closing, "the server is closing")
    }

    /// Something failed that the client cannot mend.
    pub fn internal() -> Self {
        Self::new(Code::Internal, "the cause is in the server's log, under the id of this request")
    }

    /// Something failed that the client cannot mend; `error` is logged, never sent.
    pub fn failed(error: &dyn Error) -> Self {
        Self::internal().cause(chain(error))
    }

    /// Nothing is called that: `kind` and `name` as asked.
    pub fn no_such_record(kind: &str, name: &str) -> Self {
        Self::new(Code::NoSuchRecord, format!("there is no {kind} called \"{name}\""))
    }

    /// Its code.
    pub fn code(&self) -> Code {
        self.0.code
    }

    /// What to do next.
    pub fn next_step(&self) -> &str {
        self.0.next.as_deref().unwrap_or(self.0.code.problem().next)
    }

    /// What is logged: the cause where there is one, else the detail.
    pub fn logged(&self) -> &str {
        self.0.cause.as_deref().unwrap_or(&self.0.detail)
    }

    /// The problem details, for the request named by `request_id`.
    pub fn json(&self, request_id: &str) -> Value {
        let facts = &self.0;
        let problem = facts.code.problem();
        let mut json = json!({
            "type": format!("/api/problems/{}", problem.code),
            "title": problem.title,
            "status": problem.status,
            "detail": facts.detail,
            "instance": format!("urn:uuid:{request_id}"),
            "code": problem.code,
            "next": self.next_step(),
        });
        if let Some(FieldAt { write, kind, field }) = &facts.field {
            json["field"] = json!({ "write": write, "kind": kind, "field": field });
        }
        json
    }

    /// Puts the problem details into a response that carries a refusal, once the id of its request is known.
    pub fn fill(response: &mut Response, request_id: &str) -> Option<Self> {
        let refused = response.extensions_mut().remove::<Self>()?;
        let body = refused.json(request_id).to_string();
        response.headers_mut().insert(header::CONTENT_LENGTH, HeaderValue::from(body.len()));
        *response.body_mut() = Body::from(body);
        Some(refused)
    }
}

impl fmt::Display for ApiError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.0.code.problem().code, self.0.detail)
    }
}

impl Error for ApiError {}

/// The body follows when the id of the request is known: [`ApiError::fill`].
impl IntoResponse for ApiError {
    fn into_response(self) -> Response {
        let problem = self.0.code.problem();
        let mut response = Response::new(Body::empty());
        *response.status_mut() =
            StatusCode::from_u16(problem.status).expect("the table holds statuses of HTTP");
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
        if let Some(seconds) = self.0.retry_after_s {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        if self.0.code.ends_connection() {
            headers.insert(header::CONNECTION, HeaderValue::from_static("close"));
        }
        response.extensions_mut().insert(self);
        response
    }
}

/// The chain of an error's reasons in one line.
pub fn chain(error: &dyn Error) -> String {
    storypole_desk::reasons::of(error).join(": ").replace(['\n', '\r'], " ")
}
