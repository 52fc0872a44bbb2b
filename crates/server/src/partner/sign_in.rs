//! Signing in at another device's server: who it is, who this is, and the key it gives.

use std::sync::Arc;

use axum::http::{Method, StatusCode, header};
use bytes::Bytes;
use http_body_util::Full;
use hyper::Request;
use serde::Serialize;
use serde::de::DeserializeOwned;
use storypole_desk::{Desk, DeskError, edge};
use storypole_journal::DeviceId;
use storypole_journal::sign::proof::{Meeting, Side};
use storypole_notebook::field::parse_moment;
use storypole_store::Reader;

use super::{JSON, Line, SyncError, on_a_thread};
use crate::devices::{DeviceKeyGiven, Greeting, GreetingBody, ProofBody, VouchBody};
use crate::hex;
use crate::wire::word::{Id, Moment};

/// Largest answer of either step, bytes.
const ANSWER_BYTES: usize = 64 << 10;

/// This device, let in.
#[derive(Debug, Clone)]
pub struct SignedIn {
    /// What lets it in.
    pub key: String,
    /// The device that answers.
    pub device: DeviceId,
    /// By how much the clock there is ahead of this one.
    pub clock_ahead_ms: i64,
}

/// Has the other end prove itself, then proves this device to it. The other end may go by the very id of this one:
/// one of two folders is then a copy, and the conversation mends that.
///
/// # Errors
/// [`SyncError`].
pub async fn sign_in(desk: &Arc<Desk>, line: &Line) -> Result<SignedIn, SyncError> {
    let (own, nonce) = (desk.device(), edge::random::<32>());
    let body = GreetingBody {
        notebook: Id(desk.notebook().to_string()),
        device: Id(own.to_string()),
        nonce: hex::print(&nonce),
    };
    let greeting: Greeting = ask(line, "/api/sync/greeting", &body).await?;
    let no_server = || SyncError::NotAServer { url: line.url(), status: 200 };
    let device: DeviceId = greeting.device.0.parse().map_err(|_| no_server())?;
    let challenge: [u8; 48] = hex::parse(&greeting.challenge).ok_or_else(no_server)?;
    let proof: [u8; 64] = hex::parse(&greeting.proof).ok_or_else(no_server)?;
    let (asked, url) = (Arc::clone(desk), line.url());
    let answer = on_a_thread(move || -> Result<ProofBody, SyncError> {
        let meeting = Meeting {
            notebook: asked.notebook(),
            asking: own,
            answering: device,
            nonce,
            challenge: &challenge,
        };
        check(&asked, &meeting, &proof, url)?;
        Ok(prove(&asked, &meeting)?)
    });
    let given: DeviceKeyGiven = ask(line, "/api/sync/key", &answer.await??).await?;
    Ok(SignedIn { key: given.key, device, clock_ahead_ms: ahead_ms(&given.server_time) })
}

/// Checks the other end's proof by what the log here says of it. A device that joined after this copy was synced last
/// is not known here yet; then its certificate alone speaks for it. Where there is none, on this very computer, any
/// program may listen at the port: nothing is handed to one that is not known, unless there is nothing to hand over.
fn check(desk: &Desk, meeting: &Meeting<'_>, proof: &[u8; 64], url: String) -> Result<(), SyncError> {
    let device = meeting.answering;
    let standing = desk.read(Reader::standing)?;
    if standing.revocation(device).is_some() {
        return Err(SyncError::Revoked { url, device });
    }
    match standing.key(device) {
        Some(key) if !meeting.is_proven(Side::Answering, &key, proof) => {
            Err(SyncError::NotProven { url, device })
        }
        None if url.starts_with("http://") && desk.read(Reader::change_count)? > 0 => {
            Err(SyncError::NotProven { url, device })
        }
        _ => Ok(()),
    }
}

fn prove(desk: &Desk, meeting: &Meeting<'_>) -> Result<ProofBody, DeskError> {
    let key = desk.public_key()?;
    let vouch = desk.own_vouch()?.map(|vouch| VouchBody {
        voucher: Id(vouch.voucher.to_string()),
        role: vouch.role.as_str().to_owned(),
        key: hex::print(&key.0),
        signature: hex::print(&vouch.signature),
    });
    Ok(ProofBody {
        device: Id(meeting.asking.to_string()),
        nonce: hex::print(&meeting.nonce),
        challenge: hex::print(meeting.challenge),
        proof: hex::print(&desk.prove(meeting, Side::Asking)?),
        vouch,
    })
}

/// A clock that cannot be read counts as right: it is only a hint for people.
fn ahead_ms(there: &Moment) -> i64 {
    let now_ms = i64::try_from(edge::now_ms()).unwrap_or(i64::MAX);
    parse_moment(&there.0).map_or(0, |there| there.unix_ms.saturating_sub(now_ms))
}

async fn ask<T: DeserializeOwned>(
    line: &Line,
    path: &'static str,
    body: &impl Serialize,
) -> Result<T, SyncError> {
    let body = serde_json::to_vec(body).expect("texts are JSON");
    let mut request = Request::new(Full::new(Bytes::from(body)));
    *request.method_mut() = Method::POST;
    *request.uri_mut() = axum::http::Uri::from_static(path);
    let (name, kind) = JSON;
    request.headers_mut().insert(name, kind);
    request.headers_mut().insert(header::ACCEPT, header::HeaderValue::from_static("application/json"));
    let response = line.ask(request, ANSWER_BYTES).await?;
    if !matches!(response.status(), StatusCode::OK | StatusCode::CREATED) {
        return Err(SyncError::of_refusal(&line.url(), &response));
    }
    let no_server = |_| SyncError::NotAServer { url: line.url(), status: response.status().as_u16() };
    serde_json::from_slice(response.body()).map_err(no_server)
}
