//! `/api/attachments/{hash}/parts`: files that another device brings, part by part, each proved by itself; and which
//! files that device need not bring.
//!
//! A device that is reached by others is asked for files; one that is not brings them. Only files that a record here
//! names are taken, of the size it says, so that nobody fills the disk.

use axum::extract::{Request, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use storypole_desk::Desk;
use storypole_desk::attached::{FileState, FilesPolicy};
use storypole_store::attachments::parts::LIST_BYTES;
use storypole_store::attachments::{Arrived, PART_BYTES, Parts};
use utoipa::ToSchema;

use super::{called, hex, opened_or_asked, parse_hash, refused};
use crate::extract::{JsonBody, Path};
use crate::problem::Code;
use crate::wire::files::{FileStanding, FileStandings};
use crate::wire::word::Hash;
use crate::{ApiError, App, body};

/// Hashes that may be asked for at once.
pub const ASKED_AT_ONCE: usize = 1_000;

/// Files another device has, or misses.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FilesOffered {
    /// Their hashes, at most 1,000.
    #[schema(max_items = 1000)]
    pub hashes: Vec<Hash>,
}

refusals! {
    /// How a list of parts may be refused on its way out.
    NotListed: 400 401 403 404 421 429 500 503;
    /// How a list or a part may be refused on its way in.
    NotTaken: 400 401 403 408 409 413 421 422 429 500 503 507;
    /// How a question for files may be refused.
    NotTold: 400 401 403 408 413 415 421 429 500 503;
}

/// Lists the parts of a file: a version (1 byte), its size (8 bytes, big-endian), the BLAKE3 chaining value of each
/// mebibyte (32 bytes each).
///
/// Merged as BLAKE3 merges them, the values give the file's hash; each part is proved by its own value.
#[utoipa::path(
    get, path = "/api/attachments/{hash}/parts", operation_id = "get_attachment_parts", tag = "writing",
    params(("hash" = Hash, Path, description = "The file.")),
    responses(
        (status = 200, description = "The list.", content_type = "application/octet-stream", body = Vec<u8>),
        NotListed,
    )
)]
pub async fn list(State(app): State<App>, Path(hash): Path<String>) -> Result<Response, ApiError> {
    let hash = called(&hash)?;
    let listed =
        move |desk: &Desk| desk.attachments().parts(&hash).map_err(|error| refused(desk, &hash, error));
    let parts = opened_or_asked(&app, hash, app.read(listed).await)?;
    let octets = [(header::CONTENT_TYPE, HeaderValue::from_static("application/octet-stream"))];
    Ok((octets, parts.encode()).into_response())
}

/// Begins to bring a file, or takes up one that stopped: the answer says how many of its bytes are here.
///
/// The same list again changes nothing.
#[utoipa::path(
    put, path = "/api/attachments/{hash}/parts", operation_id = "put_attachment_parts", tag = "writing",
    params(("hash" = Hash, Path, description = "The file.")),
    request_body(content = Vec<u8>, content_type = "application/octet-stream", description = "The list of its parts."),
    responses((status = 200, description = "How the file stands here.", body = FileStanding), NotTaken)
)]
pub async fn begin(
    State(app): State<App>,
    Path(hash): Path<String>,
    request: Request,
) -> Result<axum::Json<FileStanding>, ApiError> {
    let hash = called(&hash)?;
    let most_bytes = app.limits().file_bytes;
    let _turn = app.upload()?;
    let list = body::whole(request.into_body(), LIST_BYTES).await?;
    let standing = app.write(move |desk| {
        let parts = Parts::decode(&list, &hash)?;
        may_come(desk, &hash, parts.bytes(), most_bytes)?;
        let arrived = desk.attachments().begin(&hash, parts)?;
        Ok(standing(desk, hash, arrived))
    });
    Ok(axum::Json(noted(&app, &hash, standing.await?)))
}

/// Takes one part of a file whose list is here. One that is here already changes nothing.
#[utoipa::path(
    put, path = "/api/attachments/{hash}/parts/{index}", operation_id = "put_attachment_part", tag = "writing",
    params(("hash" = Hash, Path, description = "The file."),
        ("index" = u64, Path, description = "Which of its mebibytes, counted from 0.", example = 0)),
    request_body(content = Vec<u8>, content_type = "application/octet-stream", description = "The part, whole."),
    responses((status = 200, description = "How the file stands here.", body = FileStanding), NotTaken)
)]
pub async fn take(
    State(app): State<App>,
    Path((hash, index)): Path<(String, u64)>,
    request: Request,
) -> Result<axum::Json<FileStanding>, ApiError> {
    let hash = called(&hash)?;
    let _turn = app.upload()?;
    let part = body::whole(request.into_body(), PART_BYTES as usize).await?;
    let standing = app.write(move |desk| {
        let arrived = desk.attachments().arrive(&hash, index, &part)?;
        Ok(standing(desk, hash, arrived))
    });
    Ok(axum::Json(noted(&app, &hash, standing.await?)))
}

/// Tells how files stand here, and which of them to bring.
#[utoipa::path(
    post, path = "/api/attachments/wanted", operation_id = "post_attachments_wanted", tag = "writing",
    request_body(content = FilesOffered, description = "Files that the other device has or misses."),
    responses((status = 200, description = "How they stand here.", body = FileStandings), NotTold)
)]
pub async fn wanted(
    State(app): State<App>,
    JsonBody(offered): JsonBody<FilesOffered>,
) -> Result<axum::Json<FileStandings>, ApiError> {
    standings(&app, hashes_of(&offered)?).await
}

/// Has files fetched that are not here, whether or not this device fetches by itself. The answer comes at once and
/// tells how they stand.
#[utoipa::path(
    post, path = "/api/attachments/fetch", operation_id = "post_attachments_fetch", tag = "writing",
    request_body(content = FilesOffered, description = "The files."),
    responses((status = 200, description = "How they stand here.", body = FileStandings), NotTold)
)]
pub async fn fetch(
    State(app): State<App>,
    JsonBody(asked): JsonBody<FilesOffered>,
) -> Result<axum::Json<FileStandings>, ApiError> {
    let hashes = hashes_of(&asked)?;
    let missing = app.read(move |desk| {
        let named = desk.named_files(&hashes)?.into_iter().map(|(hash, _)| hash);
        let missing: Vec<[u8; 32]> = named.filter(|hash| !desk.attachments().has(hash)).collect();
        Ok((hashes, missing))
    });
    let (hashes, missing) = missing.await?;
    for hash in missing {
        app.ask_for_file(hash);
    }
    standings(&app, hashes).await
}

fn hashes_of(offered: &FilesOffered) -> Result<Vec<[u8; 32]>, ApiError> {
    if offered.hashes.len() > ASKED_AT_ONCE {
        let detail =
            format!("{} hashes were asked for, {ASKED_AT_ONCE} may be at once", offered.hashes.len());
        return Err(ApiError::new(Code::BadBody, detail));
    }
    let read = |hash: &Hash| {
        let odd = || ApiError::new(Code::BadBody, format!("\"{}\" is not the hash of a file", hash.0));
        parse_hash(&hash.0).ok_or_else(odd)
    };
    offered.hashes.iter().map(read).collect()
}

async fn standings(app: &App, hashes: Vec<[u8; 32]>) -> Result<axum::Json<FileStandings>, ApiError> {
    let asked_for = app.files_asked_for();
    let files = app
        .read(move |desk| {
            let fetches_all = desk.files_policy()? == FilesPolicy::All;
            let named = desk.named_files(&hashes)?.into_iter();
            let standing = |(hash, bytes): ([u8; 32], Option<u64>)| {
                let state = desk.file_state(&hash);
                let held_bytes = match state {
                    FileState::Here => desk.attachments().bytes_of(&hash).unwrap_or(0),
                    FileState::Arriving { held_bytes } => held_bytes,
                    FileState::Missing | FileState::Damaged => 0,
                };
                let is_wanted = fetches_all || asked_for.contains(&hash) || held_bytes > 0;
                let wanted = state != FileState::Here && is_wanted;
                FileStanding { hash: Hash(hex(&hash)), state: state.into(), held_bytes, bytes, wanted }
            };
            Ok(named.map(standing).collect())
        })
        .await?;
    Ok(axum::Json(FileStandings { files }))
}

/// Only what a record here names may come, of the size it says.
fn may_come(desk: &Desk, hash: &[u8; 32], bytes: u64, most_bytes: u64) -> Result<(), ApiError> {
    if bytes > most_bytes {
        return Err(ApiError::new(Code::FileTooLarge, format!("the file has more than {most_bytes} bytes")));
    }
    match desk.named_files(&[*hash])?.first() {
        None => Err(ApiError::new(Code::FileNotNamed, "no record here has the hash of this file")),
        Some((_, Some(said))) if *said != bytes => {
            Err(ApiError::new(Code::OtherSize, format!("the record says {said} bytes, the list {bytes}")))
        }
        Some(_) => Ok(()),
    }
}

fn standing(desk: &Desk, hash: [u8; 32], arrived: Arrived) -> FileStanding {
    let (state, held_bytes, bytes) = match arrived {
        Arrived::Here => {
            let bytes = desk.attachments().bytes_of(&hash);
            (FileState::Here, bytes.unwrap_or(0), bytes)
        }
        Arrived::Lacks { held_bytes, bytes } => (FileState::Arriving { held_bytes }, held_bytes, Some(bytes)),
    };
    let wanted = state != FileState::Here;
    FileStanding { hash: Hash(hex(&hash)), state: state.into(), held_bytes, bytes, wanted }
}

/// Nobody waits any longer for a file that is here.
fn noted(app: &App, hash: &[u8; 32], standing: FileStanding) -> FileStanding {
    if !standing.wanted {
        app.file_arrived(hash);
    }
    standing
}
