//! Bringing one file to a device that cannot ask for it: its list, then each part that is lacking there.

use std::sync::Arc;

use storypole_desk::Desk;
use storypole_store::attachments::{AttachmentError, PART_BYTES, Parts};

use super::other::{self, Other};
use super::{FetchError, FileFault, Moved, OnMove, Outcome, Way, hex, on_desk};
use crate::wire::files::FileStanding;

/// What is here of a file that is to be brought.
enum Here {
    Listed(Parts),
    Gone,
    Damaged,
}

/// Brings one file.
pub(super) async fn bring(
    desk: &Arc<Desk>,
    other: &impl Other,
    hash: [u8; 32],
    on_move: OnMove<'_>,
    went_bytes: &mut u64,
) -> Result<Outcome, FetchError> {
    let parts = match on_desk(desk, move |desk| listed(desk, &hash)).await? {
        Here::Listed(parts) => parts,
        Here::Gone => return Ok(Outcome::NotThere),
        Here::Damaged => return Ok(Outcome::Wrong(FileFault::DamagedHere)),
    };
    let address = format!("/api/attachments/{}/parts", hex(&hash));
    let mut standing = match put(other, &address, parts.encode()).await? {
        Ok(standing) => standing,
        Err(fault) => return Ok(Outcome::Wrong(fault)),
    };
    while standing.wanted {
        let index = standing.held_bytes / PART_BYTES;
        if index >= parts.count() {
            return Err(FetchError::Odd { what: "more bytes are there than the file has" });
        }
        let part = on_desk(desk, move |desk| Ok(desk.attachments().part(&hash, index)?)).await?;
        let sent_bytes = part.len() as u64;
        let before = standing.held_bytes;
        standing = match put(other, &format!("{address}/{index}"), part).await? {
            Ok(standing) => standing,
            Err(fault) => return Ok(Outcome::Wrong(fault)),
        };
        *went_bytes += sent_bytes;
        if standing.wanted && standing.held_bytes <= before {
            return Err(FetchError::Odd { what: "a part was taken and nothing is held of it" });
        }
        on_move(Moved { hash, way: Way::Out, done_bytes: standing.held_bytes, bytes: parts.bytes() });
    }
    Ok(Outcome::Done)
}

/// Lists the parts of a file; one that is not what was kept is moved aside.
fn listed(desk: &Desk, hash: &[u8; 32]) -> Result<Here, FetchError> {
    match desk.attachments().parts(hash) {
        Ok(parts) => Ok(Here::Listed(parts)),
        Err(AttachmentError::Missing) => Ok(Here::Gone),
        Err(AttachmentError::Altered) => {
            desk.attachments().check(hash)?;
            Ok(Here::Damaged)
        }
        Err(error) => Err(error.into()),
    }
}

async fn put(
    other: &impl Other,
    path: &str,
    body: Vec<u8>,
) -> Result<Result<FileStanding, FileFault>, FetchError> {
    let answer = other.ask(other::put(path, body), other::JSON_BYTES).await?;
    if answer.status().is_success() {
        return other::json(&answer).map(Ok);
    }
    other::fault(&answer).map(Err)
}
