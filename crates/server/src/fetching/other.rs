//! The other end of an exchange of files: anything that answers requests as this program's server does.

use std::error::Error;

use axum::http::{HeaderValue, Method, Request, Response, header};
use bytes::Bytes;
use http_body_util::Full;
use http_body_util::combinators::UnsyncBoxBody;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::{FetchError, FileFault};

/// A body as it comes.
pub type Pieces = UnsyncBoxBody<Bytes, Broken>;

/// The most bytes of an answer of JSON: how 1,000 files stand, with room to spare.
pub const JSON_BYTES: usize = 1 << 20;

/// The connection to the other end did not hold.
#[derive(Debug, thiserror::Error)]
#[error("the other device cannot be reached")]
pub struct Broken(#[source] pub Box<dyn Error + Send + Sync>);

/// A server that may be asked for files, by one whom it lets in. The address in a request is a path alone.
pub trait Other: Send + Sync {
    /// Asks, and takes the whole answer, of at most `answer_bytes`.
    fn ask(
        &self,
        request: Request<Full<Bytes>>,
        answer_bytes: usize,
    ) -> impl Future<Output = Result<Response<Bytes>, Broken>> + Send;

    /// Asks, and gives the answer as it comes.
    fn open(
        &self,
        request: Request<Full<Bytes>>,
    ) -> impl Future<Output = Result<Response<Pieces>, Broken>> + Send;
}

pub(super) fn get(path: &str, range: Option<String>) -> Request<Full<Bytes>> {
    let mut request = request(Method::GET, path, Bytes::new());
    if let Some(range) = range {
        let range = HeaderValue::try_from(range).expect("made of digits");
        request.headers_mut().insert(header::RANGE, range);
    }
    request
}

pub(super) fn put(path: &str, body: Vec<u8>) -> Request<Full<Bytes>> {
    let mut request = request(Method::PUT, path, body.into());
    let octets = HeaderValue::from_static("application/octet-stream");
    request.headers_mut().insert(header::CONTENT_TYPE, octets);
    request
}

pub(super) fn post_json(path: &str, body: Vec<u8>) -> Request<Full<Bytes>> {
    let mut request = request(Method::POST, path, body.into());
    request.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
    request
}

fn request(method: Method, path: &str, body: Bytes) -> Request<Full<Bytes>> {
    let request = Request::builder().method(method).uri(path).body(Full::new(body));
    request.expect("paths are made of letters and digits here")
}

/// What a refusal says, as far as it is read.
#[derive(Deserialize, Default)]
struct Said {
    #[serde(default)]
    code: String,
    #[serde(default)]
    detail: String,
}

fn said(answer: &Response<Bytes>) -> Said {
    let mut said: Said = serde_json::from_slice(answer.body()).unwrap_or_default();
    if said.code.is_empty() {
        said.code = format!("status-{}", answer.status().as_u16());
    }
    said
}

/// A refusal that stops everything.
pub(super) fn refused(answer: &Response<Bytes>) -> FetchError {
    let Said { code, detail } = said(answer);
    FetchError::Refused { status: answer.status().as_u16(), code, detail }
}

/// A refusal that is about one file, or else one that stops everything.
pub(super) fn fault(answer: &Response<Bytes>) -> Result<FileFault, FetchError> {
    if !matches!(answer.status().as_u16(), 404 | 409 | 413 | 416 | 422) {
        return Err(refused(answer));
    }
    let Said { code, detail } = said(answer);
    Ok(FileFault::Refused { code, detail })
}

pub(super) fn json<T: DeserializeOwned>(answer: &Response<Bytes>) -> Result<T, FetchError> {
    serde_json::from_slice(answer.body()).map_err(|_| FetchError::Odd { what: "JSON of another shape" })
}
