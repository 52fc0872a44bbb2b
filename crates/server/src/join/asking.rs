//! The device's side of joining: it proves that it knows the code, checks that the server does, and makes its copy.
//!
//! Left out: the first sync, which fills the copy, and telling a person how it goes.

use std::path::{Path, PathBuf};

use axum::http::{Request, header};
use bytes::Bytes;
use http_body_util::Full;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use storypole_desk::desk::{Joining, Newcomer};
use storypole_desk::{Desk, DeskError, FolderError, edge};
use storypole_journal::{DeviceId, PublicKey, Role};
use storypole_notebook::value::print_moment;
use tokio::time::Duration;

use super::proof::{Asking, Certificate};
use super::{FinishBody, StartBody, VERSION, said, signed};
use crate::access::codes::{NotACode, OneTimeCode};
use crate::remote::{AskLimits, Remote, RemoteError, Trust};
use crate::wire::device::{JoinStarted, JoinedDevice};
use crate::wire::word::{Hash, Id, Moment};
use crate::{clock, hex, tls};

/// How much of an answer is taken, and how long it is waited for.
const LIMITS: AskLimits = AskLimits { answer_bytes: 256 << 10, patience: Duration::from_secs(20) };

/// How often the last message is sent when its answer gets lost: the server gives the same one again.
const TRIES: usize = 3;

/// What a device wants.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// The server, `https://host:port`.
    pub url: String,
    /// The code, as a person typed it.
    pub code: String,
    /// What people call the device.
    pub label: String,
    /// Where the copy goes.
    pub folder: PathBuf,
}

/// A device that joined.
pub struct Joined {
    /// The copy, still empty.
    pub desk: Desk,
    /// The notebook's name.
    pub name: String,
    /// What the device may do.
    pub role: Role,
    /// What it is called.
    pub label: String,
    /// The device that let it in.
    pub server: DeviceId,
    /// SHA-256 of the certificate to trust there from now on; none where the system's list decides, or over loopback.
    pub pin: Option<[u8; 32]>,
    /// Both clocks, where they are far apart: the server's and this one's.
    pub clocks: Option<(String, String)>,
}

/// Why a device did not join. No notebook was made, and one that was there is as it was.
#[derive(Debug, thiserror::Error)]
pub enum JoinError {
    /// The code cannot be one.
    #[error(transparent)]
    Code(#[from] NotACode),
    /// The server cannot be asked.
    #[error(transparent)]
    Remote(#[from] RemoteError),
    /// The server said no, and what to do.
    #[error("the server refused: {detail}")]
    Refused { code: String, detail: String, next: String },
    /// What answers is no server of this program, or one of another version.
    #[error(
        "{0} did not answer as a server of this program does: check the address, and that both have the same version"
    )]
    Odd(String),
    /// The other end does not know the code.
    #[error(
        "{0} could not prove that it knows the code: someone may stand between, so nothing was taken from it; ask for a new code and check the address"
    )]
    NotProven(String),
    /// The copy that is there is of another notebook.
    #[error(
        "{folder} holds a copy of another notebook: name another folder with --data, and ask for a new code"
    )]
    OtherNotebook { folder: PathBuf },
    /// The folder.
    #[error(transparent)]
    Desk(#[from] DeskError),
}

/// Joins: proves the code to the server, has it proven by the server, and makes the copy; one that is there and only
/// reads, restored or imported, is let in as it is.
///
/// # Errors
/// [`JoinError`]; no notebook was made.
pub async fn join(wanted: &Wanted) -> Result<Joined, JoinError> {
    let code = OneTimeCode::parse(&wanted.code)?;
    let folder = wanted.folder.clone();
    let joiner = off_the_runtime(move || Joiner::of(&folder)).await?;
    let is_secure = wanted.url.trim().starts_with("https:");
    let remote = Remote::new(&wanted.url, if is_secure { Trust::Unproven } else { Trust::Loopback })?;
    // The certificate is part of the proof, so it has to be seen before.
    ask_for_the_page(&remote).await?;
    let seen = remote.seen_certificate();
    let (asking, message) = Asking::begin(&code, seen);
    let body = StartBody { version: VERSION, message: hex::print(&message) };
    let started: JoinStarted = post(&remote, "/api/join/start", &body).await?;
    let odd = || JoinError::Odd(remote.url().to_owned());
    let theirs: [u8; super::MESSAGE] = hex::parse(&started.message).ok_or_else(odd)?;
    let keys = asking.finish(&theirs, seen).map_err(|_| odd())?;
    let (device, key) = joiner.device()?;
    let mut body = FinishBody {
        exchange: started.exchange,
        device: Id(device.to_string()),
        key: Hash(hex::print(&key.0)),
        label: wanted.label.clone(),
        now: Moment(print_moment(clock::written_now())),
        proof: Hash(String::new()),
    };
    body.proof = Hash(keys.of_device(&said(&body).each()).to_hex().to_string());
    let answer = finish(&remote, &body, seen).await?;
    let proof: Option<[u8; 32]> = hex::parse(&answer.proof.0);
    let expected = keys.of_server(&signed(&answer, &body.proof.0).each());
    if proof.is_none_or(|proof| blake3::Hash::from_bytes(proof) != expected) {
        return Err(JoinError::NotProven(remote.url().to_owned()));
    }
    let pin = pin(&remote, &answer, seen).await.ok_or_else(odd)?;
    let (joining, server) = read(&answer).ok_or_else(odd)?;
    let folder = wanted.folder.clone();
    let desk = off_the_runtime(move || joiner.into_desk(&folder, &joining)).await?;
    Ok(Joined {
        desk,
        name: answer.name,
        role: answer.role.into(),
        label: answer.label,
        server,
        pin,
        clocks: answer.clock.map(|clock| (clock.server.0, clock.asking.0)),
    })
}

/// Opening and making a copy wait for the disk.
async fn off_the_runtime<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> T {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|panicked| std::panic::resume_unwind(panicked.into_panic()))
}

/// Who joins: a copy to be made, or one that is there and only reads yet.
#[expect(clippy::large_enum_variant, reason = "there is one of it, for a moment")]
enum Joiner {
    New(Newcomer),
    There(Box<Desk>),
}

impl Joiner {
    /// A code is not spent on a folder that has no use for it.
    fn of(folder: &Path) -> Result<Self, JoinError> {
        if !folder.join("notebook.db").exists() {
            return Ok(Self::New(Newcomer { device: edge::device_id(), key: edge::device_key() }));
        }
        let desk = Desk::open(folder)?;
        let own = desk.device();
        if desk.members()?.iter().any(|member| member.device == own && member.revoked.is_none()) {
            return Err(DeskError::from(FolderError::AlreadyThere(folder.to_owned())).into());
        }
        Ok(Self::There(Box::new(desk)))
    }

    fn device(&self) -> Result<(DeviceId, PublicKey), JoinError> {
        Ok(match self {
            Self::New(newcomer) => (newcomer.device, newcomer.key.public()),
            Self::There(desk) => (desk.device(), desk.public_key()?),
        })
    }

    fn into_desk(self, folder: &Path, joining: &Joining) -> Result<Desk, JoinError> {
        match self {
            Self::New(newcomer) => Ok(Desk::join_as(folder, joining, newcomer)?),
            Self::There(desk) if desk.notebook() == joining.notebook => Ok(*desk),
            Self::There(_) => Err(JoinError::OtherNotebook { folder: folder.to_owned() }),
        }
    }
}

async fn ask_for_the_page(remote: &Remote) -> Result<(), JoinError> {
    let request = Request::get("/").body(Full::default()).expect("a plain request is well formed");
    remote.ask(request, LIMITS).await?;
    Ok(())
}

async fn finish(remote: &Remote, body: &FinishBody, seen: Certificate) -> Result<JoinedDevice, JoinError> {
    let mut tries = 1;
    loop {
        let answer = post(remote, "/api/join/finish", body).await;
        // Another certificate in the middle of it is another server.
        if remote.seen_certificate() != seen {
            return Err(JoinError::NotProven(remote.url().to_owned()));
        }
        match answer {
            Err(JoinError::Remote(RemoteError::CutOff { .. } | RemoteError::Silent { .. }))
                if tries < TRIES =>
            {
                tries += 1
            }
            answer => return answer,
        }
    }
}

async fn post<T: DeserializeOwned>(
    remote: &Remote,
    path: &str,
    body: &impl Serialize,
) -> Result<T, JoinError> {
    let odd = || JoinError::Odd(remote.url().to_owned());
    let body = serde_json::to_vec(body).expect("text and numbers are JSON");
    let request = Request::post(path).header(header::CONTENT_TYPE, "application/json");
    let request = request.body(Full::new(Bytes::from(body))).expect("paths of this file are well formed");
    let answer = remote.ask(request, LIMITS).await?;
    if answer.status().is_success() {
        return serde_json::from_slice(answer.body()).map_err(|_| odd());
    }
    let problem: Value = serde_json::from_slice(answer.body()).map_err(|_| odd())?;
    let text = |name: &str| problem[name].as_str().map(str::to_owned).ok_or_else(odd);
    Err(JoinError::Refused { code: text("code")?, detail: text("detail")?, next: text("next")? })
}

/// What to trust there from now on: the server's authority, else whatever the system trusts, else this very certificate.
async fn pin(remote: &Remote, answer: &JoinedDevice, seen: Certificate) -> Option<Option<[u8; 32]>> {
    let Some(seen) = seen else { return Some(None) };
    if let Some(ca) = &answer.ca {
        let ca = CertificateDer::from_pem_slice(ca.as_bytes()).ok()?;
        return Some(Some(tls::sha256(&ca)));
    }
    let is_trusted = match Remote::new(remote.url(), Trust::System) {
        Ok(remote) => ask_for_the_page(&remote).await.is_ok(),
        Err(_) => false,
    };
    Some((!is_trusted).then_some(seen))
}

fn read(answer: &JoinedDevice) -> Option<(Joining, DeviceId)> {
    let joining = Joining {
        notebook: answer.notebook.0.parse().ok()?,
        founder_key: PublicKey(hex::parse(&answer.founder_key.0)?),
        author: answer.person.0.parse().ok()?,
    };
    Some((joining, answer.device.0.parse().ok()?))
}
