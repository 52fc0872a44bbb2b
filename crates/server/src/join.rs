//! `/api/join/`: a device joins the notebook by proving that it knows the code a keeper was shown.
//!
//! [`proof`] is the proof, [`asking`] the device's side. Neither side says anything of the notebook, and nothing is
//! written, before the other has proven itself. Left out: the code itself and who may make one, see
//! [`crate::access::codes`].

use axum::extract::{Request, State};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use storypole_desk::{Desk, DeskError, Known, edge};
use storypole_journal::{DeviceId, PublicKey, RecordId, Role, WrittenAt};
use storypole_notebook::Value;
use storypole_notebook::field::{check_label, parse_moment};
use storypole_store::Reader;
use tokio::sync::MutexGuard;
use tokio::time::{Duration, Instant};
use utoipa::ToSchema;

use crate::access::codes::{CodeError, For, Grant};
use crate::access::roles::{self, OwnRole};
use crate::app::panicked;
use crate::problem::Code;
use crate::wire::device::{JoinStarted, JoinedDevice};
use crate::wire::word::{Hash, Id, Moment};
use crate::{ApiError, App, clock, hex};

pub mod asking;
pub mod proof;

use proof::{Keys, MESSAGE};

/// The way of joining that this version speaks.
pub const VERSION: u32 = 1;

/// How long a proof that was begun may be finished.
const PENDING: Duration = Duration::from_secs(60);

/// How long the same finish has the same answer: its first one may have been lost.
const AGAIN: Duration = Duration::from_secs(60);

/// A proof under way.
pub struct Pending {
    /// Its name.
    pub exchange: String,
    keys: Keys,
    begun: Instant,
}

/// The last device that joined, and what it was answered.
pub struct Answered {
    body: FinishBody,
    answer: JoinedDevice,
    at: Instant,
}

/// How a device begins.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StartBody {
    /// The way of joining it speaks.
    #[schema(minimum = 1, examples(1))]
    pub version: u32,
    /// Its half of the proof, hexadecimal.
    #[schema(pattern = "^[0-9a-f]{66}$")]
    pub message: String,
}

/// How a device goes on.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FinishBody {
    /// The exchange that was begun.
    #[schema(pattern = "^[0-9a-f]{32}$")]
    pub exchange: String,
    /// The id it made for itself.
    pub device: Id,
    /// Its public key, hexadecimal.
    pub key: Hash,
    /// What people call it; another where one is called that already.
    #[schema(max_length = 32, examples("tablet"))]
    pub label: String,
    /// Now, by its own clock.
    pub now: Moment,
    /// Proves that it knows the code, hexadecimal.
    pub proof: Hash,
}

refusals! {
    /// How beginning may be refused.
    Starting: 400 401 403 408 413 415 421 429 500 503;
    /// How going on may be refused.
    Finishing: 400 401 403 408 409 413 415 421 422 429 500 503 507;
}

/// Begins to join: the device sends its half of the proof and gets the server's.
///
/// Needs no session. Neither half tells the code, or whether the other's was right.
#[utoipa::path(
    post, path = "/api/join/start", operation_id = "start_join", tag = "access", security(()),
    request_body(content = StartBody, description = "The device's half of the proof."),
    responses((status = 200, description = "The server's half.", body = JoinStarted), Starting)
)]
pub async fn start(State(app): State<App>, request: Request) -> Result<Response, ApiError> {
    app.access().step_join()?;
    let body: StartBody = app.access().keyless_body(request).await?;
    if body.version != VERSION {
        let detail = format!("the device joins in way {}, this server in way {VERSION}", body.version);
        return Err(
            ApiError::new(Code::BadBody, detail).next("bring both to the same version of the program")
        );
    }
    let not_a_message = || ApiError::because(Code::BadBody, &proof::NotAMessage);
    let message: [u8; MESSAGE] = hex::parse(&body.message).ok_or_else(not_a_message)?;
    let now = Instant::now();
    let certificate = app.certificate();
    let mut codes = app.access().codes();
    let is_for_device = |grant: &Grant| grant.who == For::Device;
    let out = codes.out(now, edge::now_ms()).filter(|out| is_for_device(&out.grant));
    // Where none is out the answer is the same as after a wrong proof.
    let out = out.ok_or_else(|| refused(CodeError::Wrong))?;
    let (answer, keys) = proof::answer(out.code(), &message, certificate).map_err(|_| not_a_message())?;
    let exchange = hex::print(&edge::random::<16>());
    out.begin(Pending { exchange: exchange.clone(), keys, begun: now });
    Ok(axum::Json(JoinStarted { exchange, message: hex::print(&answer) }).into_response())
}

/// Joins: the device proves that it knows the code and says who it is; the server invites it and proves itself.
///
/// Needs no session. The same again within a minute has the same answer. A wrong proof counts as a wrong code.
#[utoipa::path(
    post, path = "/api/join/finish", operation_id = "finish_join", tag = "access", security(()),
    request_body(content = FinishBody, description = "Who the device is, with its proof."),
    responses((status = 200, description = "The device is invited.", body = JoinedDevice), Finishing)
)]
pub async fn finish(State(app): State<App>, request: Request) -> Result<Response, ApiError> {
    app.access().step_join()?;
    let body: FinishBody = app.access().keyless_body(request).await?;
    // Whoever asks may be cut off in the middle: what was begun is finished, and the same again has its answer.
    match tokio::spawn(finish_joining(app, body)).await {
        Ok(answer) => answer,
        Err(error) if error.is_panic() => Err(panicked(error.into_panic().as_ref())),
        Err(_) => Err(ApiError::closing()),
    }
}

async fn finish_joining(app: App, body: FinishBody) -> Result<Response, ApiError> {
    // One at a time: whoever sends the same again waits for its answer.
    let mut answered = app.access().answered().lock().await;
    if let Some(answer) = again(&mut answered, &body) {
        return Ok(axum::Json(answer).into_response());
    }
    let (keys, grant, id) = proven(&app, &body)?;
    let newcomer = Newcomer::read(&body, &grant)?;
    if !roles::may(OwnRole::get(&app).await?, Role::Keeper) {
        let detail = "this device may not invite any more";
        return Err(ApiError::new(Code::RoleTooLow, detail).next("ask for a code on a keeper's device"));
    }
    let device = newcomer.device;
    let ca = app.ca().map(|ca| ca.pem.clone());
    let clock = clock::differs(clock::written_now(), newcomer.now);
    let person = grant.person;
    let role = grant.role;
    let proof = body.proof.0.clone();
    let answer = app.write(move |desk| {
        let label = invite(desk, &newcomer, role, person)?;
        let mut answer = welcome(desk, label, role, person, ca)?;
        answer.clock = clock;
        answer.proof = Hash(keys.of_server(&signed(&answer, &proof).each()).to_hex().to_string());
        Ok(answer)
    });
    let answer = answer.await?;
    app.access().device_seen(device, edge::now_ms());
    app.access().codes().joined(&id, body.device.0.clone(), edge::now_ms());
    *answered = Some(Answered { body, answer: answer.clone(), at: Instant::now() });
    Ok(axum::Json(answer).into_response())
}

fn again(answered: &mut MutexGuard<'_, Option<Answered>>, body: &FinishBody) -> Option<JoinedDevice> {
    let now = Instant::now();
    answered.take_if(|last| now.duration_since(last.at) >= AGAIN);
    answered.as_ref().filter(|last| last.body == *body).map(|last| last.answer.clone())
}

/// Looks at a proof, once. A wrong one counts as a wrong code.
fn proven(app: &App, body: &FinishBody) -> Result<(Keys, Grant, String), ApiError> {
    let now = Instant::now();
    let mut codes = app.access().codes();
    let out = codes.out(now, edge::now_ms()).ok_or_else(|| refused(CodeError::Wrong))?;
    let pending = out.finish(&body.exchange).filter(|begun| now.duration_since(begun.begun) < PENDING);
    let keys = pending.ok_or_else(|| refused(CodeError::Wrong))?.keys;
    let given: Option<[u8; 32]> = hex::parse(&body.proof.0);
    let signed = keys.of_device(&said(body).each());
    if given.is_none_or(|given| blake3::Hash::from_bytes(given) != signed) {
        return Err(refused(codes.wrong(edge::now_ms())));
    }
    Ok((keys, out.grant.clone(), out.id.clone()))
}

/// The parts that a side signs.
pub struct Said(Vec<Vec<u8>>);

impl Said {
    /// Part by part.
    pub fn each(&self) -> Vec<&[u8]> {
        self.0.iter().map(Vec::as_slice).collect()
    }
}

/// What a device signs.
pub fn said(body: &FinishBody) -> Said {
    let FinishBody { exchange, device, key, label, now, proof: _ } = body;
    Said([exchange, &device.0, &key.0, label, &now.0].map(|text| text.clone().into_bytes()).to_vec())
}

/// What the server signs; `proof` is the device's, so that the answer belongs to this very exchange.
pub fn signed(answer: &JoinedDevice, proof: &str) -> Said {
    let JoinedDevice { notebook, name, founder_key, person, role, label, device, ca, clock: _, proof: _ } =
        answer;
    let role = Role::from(*role).as_str().to_owned();
    let ca = ca.clone().unwrap_or_default();
    let texts = [proof, &notebook.0, name, &founder_key.0, &person.0, &role, label, &device.0, &ca];
    Said(texts.map(|text| text.as_bytes().to_vec()).to_vec())
}

/// Who wants to join.
struct Newcomer {
    device: DeviceId,
    key: PublicKey,
    label: String,
    now: WrittenAt,
}

impl Newcomer {
    fn read(body: &FinishBody, grant: &Grant) -> Result<Self, ApiError> {
        let bad = |what: &str| ApiError::new(Code::BadBody, format!("{what} cannot be read"));
        let device = body.device.0.parse().map_err(|_| bad("device"))?;
        let key = PublicKey(hex::parse(&body.key.0).ok_or_else(|| bad("key"))?);
        let now = parse_moment(&body.now.0).map_err(|_| bad("now"))?;
        let label = grant.label.as_ref().unwrap_or(&body.label).trim().to_owned();
        let refused = |error: &dyn std::error::Error| ApiError::because(Code::ValueRefused, error);
        check_label(&label).map_err(|error| refused(&error))?;
        Ok(Self { device, key, label, now })
    }
}

/// Most letters of a device's label, as its kind says.
const LABEL_LETTERS: usize = 32;

/// Invites the newcomer, and writes down what it is called; its label, made unlike all others.
fn invite(desk: &Desk, newcomer: &Newcomer, role: Role, person: RecordId) -> Result<String, ApiError> {
    let standing = desk.read(Reader::standing)?;
    if standing.key(newcomer.device).is_some() {
        let detail = format!("device {} was invited before", newcomer.device);
        return Err(ApiError::new(Code::DeviceKnown, detail));
    }
    let at = clock::written_now();
    let (label, record) = (free_label(desk, &newcomer.label), edge::record_id());
    let id = Value::Text(newcomer.device.to_string());
    let fields = [("label", Value::Text(label.clone())), ("device", id), ("person", Value::Record(person))];
    let mut compose = desk.compose(at);
    for (field, value) in fields {
        // A label that is refused is refused before anyone is invited.
        compose.set(record, "device", field, &value).map_err(DeskError::from)?;
    }
    desk.invite(newcomer.device, newcomer.key, role, at)?;
    desk.take(compose.finish())?;
    Ok(label)
}

/// The label, or the label with the first number that makes it unlike all others.
fn free_label(desk: &Desk, wanted: &str) -> String {
    let is_free = |label: &str| desk.labelled("device", label).is_empty();
    let short: String = wanted.chars().take(LABEL_LETTERS - 5).collect();
    let numbered = (2..).map(|number| format!("{short}-{number}"));
    let mut labels = std::iter::once(wanted.to_owned()).chain(numbered.take(9_998));
    labels.find(|label| is_free(label)).unwrap_or_else(|| wanted.to_owned())
}

fn welcome(
    desk: &Desk,
    label: String,
    role: Role,
    person: RecordId,
    ca: Option<String>,
) -> Result<JoinedDevice, ApiError> {
    let book = desk.book()?;
    let name = book.notebooks.live().find_map(|settings| settings.name.clone()).unwrap_or_default();
    let founder_key = desk.read(Reader::founder_key)?;
    Ok(JoinedDevice {
        notebook: Id(desk.notebook().to_string()),
        name,
        founder_key: Hash(hex::print(&founder_key.0)),
        person: Id(person.to_string()),
        role: role.into(),
        label,
        device: Id(desk.device().to_string()),
        ca,
        clock: None,
        proof: Hash(String::new()),
    })
}

/// A refusal of a code, right or wrong ones told apart by nothing.
pub(crate) fn refused(error: CodeError) -> ApiError {
    ApiError::because(Code::WrongCode, &error)
}
