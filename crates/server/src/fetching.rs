//! Files between two devices, from the side that asks: fetches what is missing here, brings what is lacking there.
//!
//! [`exchange`] follows each sync of the log; [`fetch_one`] is for a file that somebody opened. Both go on where an
//! earlier try stopped, prove every part by the file's hash, and say which device gave a false one, so that the file
//! is asked for elsewhere. Reading order: [`other`] (the other end), `keyed` (one that is
//! reached over the network), `pull`, `push`.
//!
//! Left out on purpose: when to ask whom.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use storypole_desk::attached::{Attached, FileState, FilesPolicy};
use storypole_desk::{Desk, DeskError};
use storypole_store::attachments::{ArriveError, AttachmentError, ListError};

use crate::files::parts::{ASKED_AT_ONCE, FilesOffered};
use crate::wire::files::{FileStanding, FileStandings};
use crate::wire::word::Hash;

mod keyed;
pub mod other;
mod pull;
mod push;

pub use keyed::{Keyed, Unreached, reach_all};
pub use other::{Broken, Other, Pieces};

/// Says how an exchange goes on.
pub type OnMove<'a> = &'a (dyn Fn(Moved) + Send + Sync);

/// Bytes of one file that went over the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moved {
    /// Which file.
    pub hash: [u8; 32],
    /// Which way.
    pub way: Way,
    /// How many of its bytes are at their goal, those of earlier tries too.
    pub done_bytes: u64,
    /// Its size.
    pub bytes: u64,
}

/// Which way a file goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// To this device.
    In,
    /// To the other device.
    Out,
}

/// What an exchange did.
#[derive(Debug, Default)]
pub struct Exchanged {
    /// Files that are here now.
    pub fetched: Vec<[u8; 32]>,
    /// Files that are there now.
    pub brought: Vec<[u8; 32]>,
    /// Files that are missing here, and there as well.
    pub missing: Vec<[u8; 32]>,
    /// Files that did not go well: ask another device for them.
    pub wrong: Vec<([u8; 32], FileFault)>,
    /// Content that came over the line, bytes.
    pub in_bytes: u64,
    /// Content that went over the line, bytes.
    pub out_bytes: u64,
    /// Why it stopped before its end; the next one goes on from there.
    pub stopped: Option<FetchError>,
}

/// How one file went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It is at its goal, whole.
    Done,
    /// Somebody else is fetching it.
    OnItsWay,
    /// The other device does not have it.
    NotThere,
    /// It did not go well; other files may.
    Wrong(FileFault),
}

/// Why one file did not go well with one device.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FileFault {
    /// Its list of parts is false.
    #[error("the other device gave a false list of parts")]
    FalseList(#[source] ListError),
    /// Its list of parts is not the one under which parts came from others.
    #[error("the other device gave another list of parts than the one before it: one of them is false")]
    OtherList,
    /// A part is false.
    #[error("the other device gave a false part {index}: its copy has changed on the disk")]
    FalsePart { index: u64 },
    /// It does not have the size that the record says.
    #[error("the record says {said} bytes, the other device {listed}: the record's size or hash is wrong")]
    OtherSize { said: u64, listed: u64 },
    /// The copy here changed on the disk, and was moved aside.
    #[error(
        "the copy on this device has changed on the disk and was moved aside: fetch it from another device"
    )]
    DamagedHere,
    /// The other device refused it.
    #[error("the other device refused it ({code}): {detail}")]
    Refused { code: String, detail: String },
}

/// Why an exchange stopped.
#[derive(Debug, thiserror::Error)]
pub enum FetchError {
    /// The line broke.
    #[error("the connection broke: what came so far is kept, try again")]
    Broken(#[from] Broken),
    /// Nothing came for too long.
    #[error("nothing came for {seconds} s: what came so far is kept, try again")]
    Silent { seconds: u64 },
    /// The answer ended early.
    #[error("the answer ended before the file did: what came so far is kept, try again")]
    CutOff,
    /// The other device does not answer such questions now.
    #[error("the other device refused ({code}, status {status}): {detail}")]
    Refused { status: u16, code: String, detail: String },
    /// An answer makes no sense.
    #[error(
        "the other device gave an answer that makes no sense ({what}): see that both run the same version"
    )]
    Odd { what: &'static str },
    /// No record here names the file.
    #[error("no record here names the file: sync first")]
    NotNamed,
    /// A file could not be kept or read here.
    #[error(transparent)]
    Arrive(#[from] ArriveError),
    /// The notebook.
    #[error(transparent)]
    Desk(#[from] DeskError),
    /// The program is closing.
    #[error("the program is closing: start it again")]
    Closing,
}

impl From<AttachmentError> for FetchError {
    fn from(error: AttachmentError) -> Self {
        Self::Arrive(error.into())
    }
}

impl FetchError {
    /// Whether nothing but space on this device is missing.
    pub fn is_disk_full(&self) -> bool {
        match self {
            Self::Arrive(ArriveError::Attachment(error)) => error.is_disk_full(),
            Self::Desk(error) => error.is_disk_full(),
            _ => false,
        }
    }
}

/// Fetches what is missing here, as far as this device fetches by itself, with what is `asked` for; and brings what is
/// lacking there.
///
/// Never fails as a whole: what was done is told, beside what stopped it.
pub async fn exchange(
    desk: &Arc<Desk>,
    other: &impl Other,
    asked: &HashSet<[u8; 32]>,
    on_move: OnMove<'_>,
) -> Exchanged {
    let mut done = Exchanged::default();
    done.stopped = all_files(desk, other, asked, on_move, &mut done).await.err();
    done
}

async fn all_files(
    desk: &Arc<Desk>,
    other: &impl Other,
    asked: &HashSet<[u8; 32]>,
    on_move: OnMove<'_>,
    done: &mut Exchanged,
) -> Result<(), FetchError> {
    let (attached, policy) = on_desk(desk, |desk| Ok((desk.attached()?, desk.files_policy()?))).await?;
    for files in attached.chunks(ASKED_AT_ONCE) {
        let there = standings(other, files).await?;
        for file in files {
            let Some(there) = there.get(&file.hash) else { continue };
            // What began to arrive was asked for once.
            let is_due = policy == FilesPolicy::All
                || matches!(file.state, FileState::Arriving { .. })
                || asked.contains(&file.hash);
            one_file(desk, other, on_move, done, (file, is_due), there).await?;
        }
    }
    Ok(())
}

async fn one_file(
    desk: &Arc<Desk>,
    other: &impl Other,
    on_move: OnMove<'_>,
    done: &mut Exchanged,
    (file, is_due): (&Attached, bool),
    there: &FileStanding,
) -> Result<(), FetchError> {
    let is_there = there.state == crate::wire::files::FileState::Here;
    let outcome = match file.state {
        FileState::Here if there.wanted => {
            let outcome = push::bring(desk, other, file.hash, on_move, &mut done.out_bytes).await?;
            if outcome == Outcome::Done {
                done.brought.push(file.hash);
            }
            outcome
        }
        FileState::Here => return Ok(()),
        _ if !is_due => return Ok(()),
        _ if !is_there => Outcome::NotThere,
        _ => {
            let outcome =
                pull::fetch(desk, other, (file.hash, file.bytes), on_move, &mut done.in_bytes).await?;
            if outcome == Outcome::Done {
                done.fetched.push(file.hash);
            }
            outcome
        }
    };
    match outcome {
        Outcome::Done | Outcome::OnItsWay => (),
        Outcome::NotThere => done.missing.push(file.hash),
        Outcome::Wrong(fault) => done.wrong.push((file.hash, fault)),
    }
    Ok(())
}

/// Fetches one file that somebody asked for, from the first of several devices that gives it whole.
///
/// # Errors
/// Nobody gave it: what the last one said.
pub async fn fetch_one(
    desk: &Arc<Desk>,
    others: &[impl Other],
    hash: [u8; 32],
    on_move: OnMove<'_>,
) -> Result<Outcome, FetchError> {
    let named = on_desk(desk, move |desk| Ok(desk.named_files(&[hash])?)).await?;
    let (_, said) = named.first().copied().ok_or(FetchError::NotNamed)?;
    let mut last = Ok(Outcome::NotThere);
    for other in others {
        last = pull::fetch(desk, other, (hash, said), on_move, &mut 0).await;
        match &last {
            Ok(Outcome::Done | Outcome::OnItsWay) => return last,
            Err(error) if error.is_disk_full() => return last,
            // The next one may give it, from where this one stopped.
            Ok(Outcome::NotThere | Outcome::Wrong(_)) | Err(_) => (),
        }
    }
    last
}

/// Asks how files stand at the other device.
async fn standings(
    other: &impl Other,
    files: &[Attached],
) -> Result<HashMap<[u8; 32], FileStanding>, FetchError> {
    let offered = FilesOffered { hashes: files.iter().map(|file| Hash(hex(&file.hash))).collect() };
    let body = serde_json::to_vec(&offered).expect("hashes are texts");
    let request = other::post_json("/api/attachments/wanted", body);
    let answer = other.ask(request, other::JSON_BYTES).await?;
    if !answer.status().is_success() {
        return Err(other::refused(&answer));
    }
    let standings: FileStandings = other::json(&answer)?;
    let asked: HashMap<String, [u8; 32]> = files.iter().map(|file| (hex(&file.hash), file.hash)).collect();
    // What was not asked for is not listened to.
    let known = standings.files.into_iter().filter_map(|file| Some((*asked.get(&file.hash.0)?, file)));
    Ok(known.collect())
}

/// Asks the notebook on a thread that may wait.
async fn on_desk<T: Send + 'static>(
    desk: &Arc<Desk>,
    ask: impl FnOnce(&Desk) -> Result<T, FetchError> + Send + 'static,
) -> Result<T, FetchError> {
    let desk = Arc::clone(desk);
    tokio::task::spawn_blocking(move || ask(&desk)).await.unwrap_or(Err(FetchError::Closing))
}

fn hex(hash: &[u8; 32]) -> String {
    blake3::Hash::from_bytes(*hash).to_hex().to_string()
}
