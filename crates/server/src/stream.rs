//! Bodies of answers that come piece by piece.

use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll};

use axum::body::Bytes;
use hyper::body::{Body, Frame};
use tokio::sync::mpsc;

/// A body whose pieces come through a channel; it ends when the sender is gone.
pub struct Pieces(pub mpsc::Receiver<Bytes>);

impl Body for Pieces {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        self.0.poll_recv(context).map(|piece| piece.map(|piece| Ok(Frame::data(piece))))
    }
}
