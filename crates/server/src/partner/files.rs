//! Files to and from another server, by the key of this device. Leaves out which files, and how
//! ([`crate::fetching`]).

use std::sync::Arc;
use std::time::Duration;

use axum::http::{HeaderValue, Request, Response, header};
use bytes::Bytes;
use http_body_util::{BodyExt, Full};
use storypole_desk::Desk;

use super::{Partner, SyncError};
use crate::fetching::{self, Broken, Exchanged, OnMove, Other, Pieces};
use crate::follow::trust;
use crate::problem::chain;
use crate::remote::{AskLimits, Remote};

/// How long one answer about files may take to come whole.
const PATIENCE: Duration = Duration::from_secs(120);

/// A server that has let this device in.
#[derive(Clone)]
pub struct Keyed {
    remote: Remote,
    key: HeaderValue,
}

impl Keyed {
    fn new(remote: Remote, key: &str) -> Self {
        let key = HeaderValue::try_from(format!("Bearer {key}")).expect("a key is made of letters");
        Self { remote, key }
    }

    fn with_key(&self, mut request: Request<Full<Bytes>>) -> Request<Full<Bytes>> {
        request.headers_mut().insert(header::AUTHORIZATION, self.key.clone());
        request
    }
}

impl Other for Keyed {
    async fn ask(
        &self,
        request: Request<Full<Bytes>>,
        answer_bytes: usize,
    ) -> Result<Response<Bytes>, Broken> {
        let limits = AskLimits { answer_bytes, patience: PATIENCE };
        self.remote.ask(self.with_key(request), limits).await.map_err(|error| Broken(error.into()))
    }

    async fn open(&self, request: Request<Full<Bytes>>) -> Result<Response<Pieces>, Broken> {
        let response = self.remote.stream(self.with_key(request)).await;
        let response = response.map_err(|error| Broken(error.into()))?;
        Ok(response.map(|body| body.map_err(|error| Broken(error.into())).boxed_unsync()))
    }
}

impl Partner {
    /// The other end as one that may be asked for files.
    ///
    /// # Errors
    /// [`SyncError`]: it does not let this device in.
    pub async fn keyed(&mut self) -> Result<Keyed, SyncError> {
        let (remote, key) = self.key().await?;
        Ok(Keyed::new(remote, &key))
    }

    /// Hands files to and fro, as far as this device fetches by itself. What broke off goes on the next time.
    ///
    /// # Errors
    /// [`SyncError`]: it does not let this device in.
    pub async fn files(&mut self, on_move: OnMove<'_>) -> Result<Exchanged, SyncError> {
        let keyed = self.keyed().await?;
        Ok(fetching::exchange(&self.desk, &keyed, on_move).await)
    }
}

/// Fetches one file that somebody opened from the first address that gives it whole.
pub(crate) async fn fetch_from_any(desk: Arc<Desk>, hash: [u8; 32]) {
    let asked = Arc::clone(&desk);
    let addresses = match tokio::task::spawn_blocking(move || asked.partners()).await {
        Ok(Ok(addresses)) => addresses,
        // Who opens the file again asks again.
        Ok(Err(error)) => return tracing::warn!(cause = chain(&error), "a file cannot be fetched"),
        Err(_) => return,
    };
    let mut others = Vec::new();
    for address in addresses {
        let Ok(remote) = Remote::new(&address.url, trust(&address.url, address.pin)) else { continue };
        match Partner::new(Arc::clone(&desk), remote).keyed().await {
            Ok(keyed) => others.push(keyed),
            Err(error) => tracing::debug!(url = address.url, why = chain(&error), "no file is fetched there"),
        }
    }
    match fetching::fetch_one(&desk, &others, hash, &|_| ()).await {
        Ok(outcome) => tracing::debug!(?outcome, "a file that was opened was asked for"),
        Err(error) => tracing::info!(why = chain(&error), "a file that was opened is not here yet"),
    }
}

/// Tells the log what an exchange came to, where there is something to tell.
pub(crate) fn note(url: &str, done: &Exchanged) {
    if !done.fetched.is_empty() || !done.brought.is_empty() {
        tracing::info!(
            url,
            fetched = done.fetched.len(),
            brought = done.brought.len(),
            "files were handed over"
        );
    }
    for (_, fault) in &done.wrong {
        tracing::warn!(url, why = chain(fault), "a file was not handed over");
    }
    if let Some(stopped) = &done.stopped {
        tracing::warn!(
            url,
            why = chain(stopped),
            "handing files over stopped; it goes on with the next sync"
        );
    }
}
