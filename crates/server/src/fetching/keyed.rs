//! Another device's server over the network, asked with the key that it gave this device.

use std::sync::Arc;
use std::time::Duration;

use axum::http::{HeaderValue, Request, Response, header};
use bytes::Bytes;
use http_body_util::{BodyExt, Full};
use storypole_desk::Desk;

use super::other::{Broken, Other, Pieces};
use super::{FetchError, on_desk};
use crate::follow::trust;
use crate::partner::{Partner, SyncError};
use crate::remote::{AskLimits, Remote};

/// How long nothing may move: the other end may have to read a long video before it lists it.
const PATIENCE: Duration = Duration::from_secs(120);

/// A server that lets this device in.
#[derive(Clone)]
pub struct Keyed {
    remote: Remote,
    bearer: HeaderValue,
}

/// An address that could not be reached, and why.
pub type Unreached = (String, SyncError);

impl Keyed {
    /// The server at an address, and the key it gave.
    pub fn new(remote: Remote, key: &str) -> Self {
        let bearer = HeaderValue::try_from(format!("Bearer {key}")).expect("a key is made of letters");
        Self { remote, bearer }
    }

    fn let_in(&self, mut request: Request<Full<Bytes>>) -> Request<Full<Bytes>> {
        request.headers_mut().insert(header::AUTHORIZATION, self.bearer.clone());
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
        self.remote.ask(self.let_in(request), limits).await.map_err(|error| Broken(Box::new(error)))
    }

    async fn open(&self, request: Request<Full<Bytes>>) -> Result<Response<Pieces>, Broken> {
        let response = self.remote.stream(self.let_in(request)).await;
        let response = response.map_err(|error| Broken(Box::new(error)))?;
        Ok(response.map(|body| body.map_err(|error| Broken(Box::new(error))).boxed_unsync()))
    }
}

/// Signs in at every address this device syncs with: those that let it in, and those that cannot be asked.
///
/// # Errors
/// The addresses cannot be read.
pub async fn reach_all(desk: &Arc<Desk>) -> Result<(Vec<Keyed>, Vec<Unreached>), FetchError> {
    let (mut reached, mut unreached) = (Vec::new(), Vec::new());
    for address in on_desk(desk, |desk| Ok(desk.partners()?)).await? {
        match reach(desk, &address.url, address.pin).await {
            Ok(keyed) => reached.push(keyed),
            Err(error) => unreached.push((address.url, error)),
        }
    }
    Ok((reached, unreached))
}

async fn reach(desk: &Arc<Desk>, url: &str, pin: Option<[u8; 32]>) -> Result<Keyed, SyncError> {
    let remote = Remote::new(url, trust(url, pin))?;
    let (remote, key) = Partner::new(Arc::clone(desk), remote).key().await?;
    Ok(Keyed::new(remote, &key))
}
