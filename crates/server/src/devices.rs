//! Devices that sync over HTTP: signing in with the device's key, and what the key given for it opens.
//!
//! `POST /api/sync/greeting` has the server prove itself and gives a challenge; `POST /api/sync/key` takes the
//! device's proof and gives a key for some hours. Keys are kept hashed and in memory alone, and are void at once when
//! their device is revoked. Nothing is kept of whoever only greets: a challenge carries its own seal.
//!
//! Left out: what is said once a device is in ([`crate::exchange`]), and inviting devices.

use axum::extract::{FromRequest, Request, State};
use axum::http::{HeaderMap, Method, header};
use serde::{Deserialize, Serialize};
use storypole_desk::partners::Vouch;
use storypole_desk::{Desk, edge};
use storypole_journal::sign::proof::{Meeting, Side};
use storypole_journal::{DeviceId, PublicKey, Role};
use tokio::time::{Instant, timeout};
use utoipa::ToSchema;

use crate::access::{lock, secret, too_fast};
use crate::extract::JsonBody;
use crate::problem::Code;
use crate::wire::word::{Id, Moment};
use crate::{ApiError, App, Limits, hex};

mod challenge;
mod keys;
mod standing;

pub use keys::{DeviceSeat, Devices};
pub use standing::Word;
pub(crate) use standing::in_good_standing;

use challenge::CHALLENGE_BYTES;

/// Who a device is, to be answered by a proof of who the server is.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GreetingBody {
    /// The notebook the device keeps.
    pub notebook: Id,
    /// The device.
    pub device: Id,
    /// 32 random bytes, 64 digits: the server's proof holds for them alone.
    #[schema(
        pattern = "^[0-9a-f]{64}$",
        examples("7d5a0c3ef2b94e6b8a1c6f0d93e27b45c8f1a6d20b7e3945f6a8c1d2e3b40596")
    )]
    pub nonce: String,
}

/// Which device serves, and its proof.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Greeting {
    /// The device that serves.
    pub device: Id,
    /// To be signed and handed back within a minute, once: 96 digits.
    #[schema(pattern = "^[0-9a-f]{96}$")]
    pub challenge: String,
    /// Ed25519 signature by the serving device's key, 128 digits.
    #[schema(pattern = "^[0-9a-f]{128}$")]
    pub proof: String,
}

/// A member's word for a device that the server has not met yet, as it stands in the device's own first change.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VouchBody {
    /// The member.
    pub voucher: Id,
    /// What the device may do: `keeper`, `crew` or `viewer`.
    #[schema(examples("crew"))]
    pub role: String,
    /// The public key of the device, 64 digits.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub key: String,
    /// Ed25519 signature by the member's key, 128 digits.
    #[schema(pattern = "^[0-9a-f]{128}$")]
    pub signature: String,
}

/// A device's proof.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProofBody {
    /// The device.
    pub device: Id,
    /// As in the greeting.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub nonce: String,
    /// As it was given.
    #[schema(pattern = "^[0-9a-f]{96}$")]
    pub challenge: String,
    /// Ed25519 signature by the device's key, 128 digits.
    #[schema(pattern = "^[0-9a-f]{128}$")]
    pub proof: String,
    /// Whose word it came in on, where it did: a copy of a folder goes on as a new device by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub vouch: Option<VouchBody>,
}

/// What lets a device in.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DeviceKeyGiven {
    /// To be sent as `Authorization: Bearer`.
    #[schema(pattern = "^[A-Za-z0-9_-]{43}$", examples("q3Yw0vKcT5nXUeB1r8mZLg7JhP2dSaF6oRiCtWEyN9k"))]
    pub key: String,
    /// When it ends, by the server's clock.
    pub ends_at: Moment,
    /// Now, by the server's clock.
    pub server_time: Moment,
}

refusals! {
    /// How a greeting may be refused.
    Greetings: 400 401 403 408 409 413 415 421 429 500 503;
    /// How a proof may be refused.
    Proofs: 400 401 403 408 413 415 421 429 500 503;
}

/// Greets a device and proves which device serves.
///
/// The first step of letting a device in; needs no session.
#[utoipa::path(
    post, path = "/api/sync/greeting", operation_id = "greet_device", tag = "sync", security(()),
    request_body(content = GreetingBody, description = "Who asks."),
    responses((status = 200, description = "Who serves.", body = Greeting), Greetings)
)]
pub async fn greet(State(app): State<App>, request: Request) -> Result<axum::Json<Greeting>, ApiError> {
    let body: GreetingBody = read_body(app.devices(), request).await?;
    let (notebook, asking) = (parsed_id(&body.notebook, "notebook")?, parsed_id(&body.device, "device")?);
    let nonce = parsed(&body.nonce, "nonce")?;
    if app.notebook() != notebook {
        return Err(ApiError::new(
            Code::OtherNotebook,
            format!("this server does not keep notebook {notebook}"),
        )
        .next("check the address, or join the notebook that is served there in a new folder"));
    }
    let challenge = app.devices().challenges.make(asking, &nonce, Instant::now());
    let (answering, proof) = app
        .read(move |desk| {
            let answering = desk.device();
            let meeting = Meeting { notebook, asking, answering, nonce, challenge: &challenge };
            Ok((answering, desk.prove(&meeting, Side::Answering)?))
        })
        .await?;
    let device = Id(answering.to_string());
    Ok(axum::Json(Greeting { device, challenge: hex::print(&challenge), proof: hex::print(&proof) }))
}

/// Lets a device in that proves itself.
///
/// The second step; needs no session. The key opens `/api/sync/exchange`, `/api/events` and the files under `/api/attachments/`.
#[utoipa::path(
    post, path = "/api/sync/key", operation_id = "open_device", tag = "sync", security(()),
    request_body(content = ProofBody, description = "The proof."),
    responses((status = 201, description = "The device is let in.", body = DeviceKeyGiven), Proofs)
)]
pub async fn open(
    State(app): State<App>,
    request: Request,
) -> Result<(axum::http::StatusCode, axum::Json<DeviceKeyGiven>), ApiError> {
    let body: ProofBody = read_body(app.devices(), request).await?;
    let asking: DeviceId = parsed_id(&body.device, "device")?;
    let nonce: [u8; 32] = parsed(&body.nonce, "nonce")?;
    let challenge: [u8; CHALLENGE_BYTES] = parsed(&body.challenge, "challenge")?;
    let proof: [u8; 64] = parsed(&body.proof, "proof")?;
    if !app.devices().challenges.is_open(&challenge, asking, &nonce, Instant::now()) {
        let detail =
            "the challenge is not one of this server, is older than a minute, or was answered already";
        return Err(ApiError::new(Code::WrongProof, detail).next("greet the server again"));
    }
    let word = body.vouch.as_ref().map(word).transpose()?;
    let admitted = in_good_standing(&app, asking, word).await?;
    let key = admitted.key;
    let proven = app.read(move |desk| Ok(is_proven(desk, asking, nonce, &challenge, &key, &proof))).await?;
    if !proven {
        return Err(ApiError::new(
            Code::WrongProof,
            format!("the proof is not by the key of device {asking}"),
        ));
    }
    // Answered once: of two that come at the same time one is refused here.
    if !app.devices().challenges.use_up(&challenge, Instant::now()) {
        return Err(ApiError::new(Code::WrongProof, "the challenge was answered already")
            .next("greet the server again"));
    }
    let person = app.read(move |desk| Ok(person_at(desk, asking)?)).await?;
    let (key, ends_ms) = app.devices().give_key(asking, admitted.role, word, person);
    keys::watch(&app);
    let given = DeviceKeyGiven { key, ends_at: moment(ends_ms), server_time: moment(edge::now_ms()) };
    Ok((axum::http::StatusCode::CREATED, axum::Json(given)))
}

fn word(body: &VouchBody) -> Result<Word, ApiError> {
    let bad_role = || ApiError::new(Code::BadBody, "role is none of keeper, crew and viewer");
    let vouch = Vouch {
        voucher: parsed_id(&body.voucher, "voucher")?,
        role: Role::parse(&body.role).ok_or_else(bad_role)?,
        signature: parsed(&body.signature, "signature")?,
    };
    Ok(Word { key: PublicKey(parsed(&body.key, "key")?), vouch })
}

fn is_proven(
    desk: &Desk,
    asking: DeviceId,
    nonce: [u8; 32],
    challenge: &[u8],
    key: &PublicKey,
    proof: &[u8; 64],
) -> bool {
    let meeting = Meeting { notebook: desk.notebook(), asking, answering: desk.device(), nonce, challenge };
    meeting.is_proven(Side::Asking, key, proof)
}

/// The person who works at a device, as its record says; else the one at this.
fn person_at(
    desk: &Desk,
    device: DeviceId,
) -> Result<storypole_journal::RecordId, storypole_desk::DeskError> {
    let (book, id) = (desk.book()?, device.to_string());
    let record = book.devices.live().find(|record| record.device.as_deref() == Some(&id));
    Ok(record.and_then(|record| record.person).unwrap_or_else(|| desk.author()))
}

/// Largest body of either step, bytes: many times what one takes.
const BODY_BYTES: usize = 4096;

/// Reads a body of somebody nobody knows yet: few at once, none for long, and not too many a second.
async fn read_body<T: serde::de::DeserializeOwned + Send>(
    devices: &Devices,
    mut request: Request,
) -> Result<T, ApiError> {
    lock(&devices.strangers).step(Instant::now()).map_err(too_fast)?;
    let full = |_| ApiError::new(Code::Busy, "as many devices are signing in as may at once");
    let _turn = devices.bodies.try_acquire().map_err(full)?;
    let limits = devices.limits;
    request.extensions_mut().insert(Limits { json_bytes: limits.json_bytes.min(BODY_BYTES), ..limits });
    let late =
        |_| ApiError::new(Code::TooSlow, format!("the body was not there within {:?}", limits.key_body));
    let body = JsonBody::<T>::from_request(request, &());
    Ok(timeout(limits.key_body, body).await.map_err(late)??.0)
}

fn parsed<const N: usize>(text: &str, name: &str) -> Result<[u8; N], ApiError> {
    let bad = || ApiError::new(Code::BadBody, format!("{name} is not {} digits of 0 to 9 and a to f", 2 * N));
    hex::parse(text).ok_or_else(bad)
}

fn parsed_id<T: std::str::FromStr<Err: std::fmt::Display>>(id: &Id, name: &str) -> Result<T, ApiError> {
    id.0.parse().map_err(|error| ApiError::new(Code::BadBody, format!("{name}: {error}")))
}

/// A moment by this computer's clock.
pub(crate) fn moment(unix_ms: u64) -> Moment {
    let offset_min = i16::try_from(jiff::ZonedDateTime::now().offset().seconds() / 60).unwrap_or(0);
    let unix_ms = i64::try_from(unix_ms).unwrap_or(i64::MAX);
    Moment(storypole_notebook::value::print_moment(storypole_journal::WrittenAt { unix_ms, offset_min }))
}

/// What a device's key opens: of files, handing over those that a record names, not keeping any others.
fn is_for_devices(path: &str) -> bool {
    let is_of_files = path.strip_prefix("/api/attachments/").is_some_and(|rest| rest != "fetch");
    is_for_devices_alone(path) || is_of_files || path == "/api/events"
}

/// What no browser's session opens.
fn is_for_devices_alone(path: &str) -> bool {
    path == "/api/sync/exchange"
}

/// Whether this is one of the two steps that let a device in, which need no key.
pub(crate) fn is_sign_in(method: &Method, path: &str) -> bool {
    *method == Method::POST && matches!(path, "/api/sync/greeting" | "/api/sync/key")
}

/// Which device a request comes from; none where it shows no key of a device.
///
/// # Errors
/// The key is none, or does not open what is asked for; or no key came and only a device's opens it.
pub(crate) fn seat_of(
    app: &App,
    headers: &HeaderMap,
    path: &str,
) -> Result<Option<std::sync::Arc<DeviceSeat>>, ApiError> {
    let not_for_this = |who: &str| ApiError::new(Code::NotForThisKey, format!("{path} is not for {who}"));
    let Some(shown) = headers.get(header::AUTHORIZATION) else {
        // Those who show nothing at all are told so first.
        let is_browser = headers.contains_key(header::COOKIE) && is_for_devices_alone(path);
        return if is_browser { Err(not_for_this("a browser's session")) } else { Ok(None) };
    };
    let none = || ApiError::new(Code::NoDeviceKey, "the key that came is not one of a device that is let in");
    // RFC 9110 section 11.1: the name of the scheme is read in either case.
    let (scheme, key) = shown.to_str().ok().and_then(|shown| shown.split_once(' ')).ok_or_else(none)?;
    if !scheme.eq_ignore_ascii_case("bearer") || !secret::is_formed(key) {
        return Err(none());
    }
    let seat = app.devices().seat(&secret::hash(key), edge::now_ms()).ok_or_else(none)?;
    seat.seat.step(Instant::now()).map_err(too_fast)?;
    if is_for_devices(path) { Ok(Some(seat)) } else { Err(not_for_this("a device's key")) }
}
