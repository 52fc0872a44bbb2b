//! Asking the server that holds a data folder, from a command of the same person on the same computer.
//!
//! A file that a crashed server left leads nowhere, and so does one whose port another program took since: both count
//! as no server. Left out: what to ask.

use std::io;
use std::path::Path;
use std::time::Duration;

use axum::http::{Method, Request, StatusCode, header};
use bytes::Bytes;
use http_body_util::Full;
use serde_json::Value;

use crate::hex;
use crate::remote::{AskLimits, Remote, RemoteError, Trust};
use crate::serving::Serving;

/// A server that answered.
pub struct Running {
    remote: Remote,
    key: String,
}

/// Why it did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum RunningError {
    /// The file that tells where it is.
    #[error("serving.json cannot be read: check who owns it")]
    File(#[source] io::Error),
    /// It cannot be asked.
    #[error(transparent)]
    Remote(#[from] RemoteError),
    /// It said no, and what to do.
    #[error("{detail}")]
    Refused { code: String, detail: String, next: String },
    /// Its answer makes no sense.
    #[error("the server that holds this folder is of another version: stop it and start it anew")]
    Odd,
}

/// How much of an answer is taken, and how long it is waited for: a backup or a large notebook takes its time.
const LIMITS: AskLimits = AskLimits { answer_bytes: 64 << 20, patience: Duration::from_secs(120) };

/// How long it may take to say that it is there.
const GREETING: AskLimits = AskLimits { answer_bytes: 64 << 10, patience: Duration::from_secs(10) };

impl Running {
    /// The server that holds a folder; none where none does that tells.
    ///
    /// # Errors
    /// One is there and does not answer.
    pub async fn find(folder: &Path) -> Result<Option<Self>, RunningError> {
        let Some(serving) = Serving::read(folder).map_err(RunningError::File)? else { return Ok(None) };
        let trust = match serving.pin.as_deref().map(hex::parse) {
            None => Trust::Loopback,
            Some(Some(pin)) => Trust::Pinned(pin),
            Some(None) => return Err(RunningError::Odd),
        };
        let running = Self { remote: Remote::new(&serving.url, trust)?, key: serving.key };
        match running.send(&Method::GET, "/api/session", None, GREETING).await {
            Ok((StatusCode::OK, _)) => Ok(Some(running)),
            // Another program, or another notebook's server, is there by now.
            Ok(_) => Ok(None),
            Err(
                RemoteError::NotReached { .. }
                | RemoteError::NotTls(_)
                | RemoteError::NotHttp { .. }
                | RemoteError::CutOff { .. }
                | RemoteError::OtherCertificate { .. }
                | RemoteError::Handshake { .. },
            ) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Asks for a path, with a body where there is one; null where the answer has none.
    ///
    /// # Errors
    /// [`RunningError`], with what the server said.
    pub async fn ask(&self, asked: &Asked<'_>) -> Result<Value, RunningError> {
        let (method, path, body) = match asked {
            Asked::Get(path) => (Method::GET, path, None),
            Asked::Delete(path) => (Method::DELETE, path, None),
            Asked::Post(path, body) => (Method::POST, path, Some(*body)),
            Asked::Put(path, body) => (Method::PUT, path, Some(*body)),
        };
        let (status, bytes) = self.send(&method, path, body, LIMITS).await?;
        if bytes.is_empty() && status.is_success() {
            return Ok(Value::Null);
        }
        let json: Value = serde_json::from_slice(&bytes).map_err(|_| RunningError::Odd)?;
        if status.is_success() {
            return Ok(json);
        }
        let text = |name: &str| json[name].as_str().map(str::to_owned).ok_or(RunningError::Odd);
        Err(RunningError::Refused { code: text("code")?, detail: text("detail")?, next: text("next")? })
    }

    async fn send(
        &self,
        method: &Method,
        path: &str,
        body: Option<&Value>,
        limits: AskLimits,
    ) -> Result<(StatusCode, Bytes), RemoteError> {
        let mut request = Request::builder().method(method).uri(path).header(header::COOKIE, &self.key);
        let body = match body {
            Some(body) => {
                request = request.header(header::CONTENT_TYPE, "application/json");
                Full::new(Bytes::from(body.to_string()))
            }
            None => Full::default(),
        };
        let request = request.body(body).map_err(|_| RemoteError::BadPath)?;
        let answer = self.remote.ask(request, limits).await?;
        Ok((answer.status(), answer.into_body()))
    }
}

/// What a command asks.
#[derive(Debug, Clone, Copy)]
pub enum Asked<'a> {
    /// To see something.
    Get(&'a str),
    /// To take something away.
    Delete(&'a str),
    /// To have something done.
    Post(&'a str, &'a Value),
    /// To set something.
    Put(&'a str, &'a Value),
}
