//! Bodies that do not wait for ever: a request's body that stops arriving is given up.

use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::body::{Body, Bytes};
use http_body_util::BodyExt;
use hyper::body::{Body as _, Frame, SizeHint};
use tokio::time::{Instant, Sleep, sleep};

use crate::ApiError;
use crate::problem::Code;

/// Why a body could not be read to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BodyError {
    /// Nothing came for too long.
    #[error("nothing more of the body came within {0:?}")]
    TooSlow(Duration),
    /// The connection ended first.
    #[error("the connection ended before the body did")]
    CutOff,
    /// It is larger than is taken.
    #[error("the body has more than {0} bytes")]
    TooLarge(usize),
}

impl From<BodyError> for ApiError {
    fn from(error: BodyError) -> Self {
        let code = match error {
            BodyError::TooSlow(_) => Code::TooSlow,
            BodyError::CutOff => Code::CutOff,
            BodyError::TooLarge(_) => Code::BodyTooLarge,
        };
        Self::because(code, &error)
    }
}

/// A body that fails with [`BodyError::TooSlow`] when nothing arrives for a while.
pub struct Patient {
    body: Body,
    patience: Duration,
    // Made when the body is first waited for: most are there at once.
    alarm: Option<Pin<Box<Sleep>>>,
}

impl Patient {
    /// Waits for the next piece of `body` no longer than `patience`.
    pub fn new(body: Body, patience: Duration) -> Self {
        Self { body, patience, alarm: None }
    }
}

impl hyper::body::Body for Patient {
    type Data = Bytes;
    type Error = BodyError;

    fn poll_frame(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, BodyError>>> {
        let this = self.get_mut();
        if let Poll::Ready(frame) = Pin::new(&mut this.body).poll_frame(context) {
            if let Some(alarm) = &mut this.alarm {
                alarm.as_mut().reset(Instant::now() + this.patience);
            }
            return Poll::Ready(frame.map(|frame| frame.map_err(|_| BodyError::CutOff)));
        }
        let patience = this.patience;
        let alarm = this.alarm.get_or_insert_with(|| Box::pin(sleep(patience)));
        alarm.as_mut().poll(context).map(|()| Some(Err(BodyError::TooSlow(patience))))
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}

/// Reads a whole body of at most `limit` bytes.
///
/// # Errors
/// [`BodyError`].
pub async fn whole(mut body: Body, limit: usize) -> Result<Bytes, BodyError> {
    if body.size_hint().lower() > limit as u64 {
        return Err(BodyError::TooLarge(limit));
    }
    let mut bytes = Vec::new();
    while let Some(piece) = next(&mut body).await? {
        if bytes.len() + piece.len() > limit {
            return Err(BodyError::TooLarge(limit));
        }
        bytes.extend_from_slice(&piece);
    }
    Ok(bytes.into())
}

/// The next piece of a body; none at its end.
///
/// # Errors
/// [`BodyError`].
pub async fn next(body: &mut Body) -> Result<Option<Bytes>, BodyError> {
    loop {
        let Some(frame) = body.frame().await else { return Ok(None) };
        // Trailers say nothing to us.
        if let Ok(data) = frame.map_err(|error| found(&error))?.into_data() {
            return Ok(Some(data));
        }
    }
}

/// What went wrong, found within what the layers between wrapped around it.
fn found(error: &axum::Error) -> BodyError {
    let mut link: Option<&(dyn std::error::Error + 'static)> = Some(error);
    while let Some(error) = link {
        if let Some(found) = error.downcast_ref::<BodyError>() {
            return *found;
        }
        link = error.source();
    }
    BodyError::CutOff
}
