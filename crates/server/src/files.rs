//! `/api/attachments`: files in and out by their content, streamed both ways, never held whole.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::pin::Pin;
use std::task::{Context, Poll};

use axum::body::{Body, Bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use hyper::body::{Body as _, Frame, SizeHint};
use serde::{Deserialize, Serialize};
use storypole_desk::Desk;
use storypole_desk::attached::FileState;
use storypole_store::attachments::AttachmentError;
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use utoipa::{IntoParams, ToSchema};

use crate::body::{self, BodyError};
use crate::extract::{Path, Query};
use crate::problem::Code;
use crate::wire::word::Hash;
use crate::{ApiError, App, answer};

mod kind;
mod name;
pub mod parts;
mod range;
pub mod thumbnail;

use range::Part;

/// Pieces of an upload that wait for the disk.
const WAITING: usize = 8;

/// Bytes read from the disk at once.
const PIECE: usize = 256 << 10;

/// A file that was kept.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FileKept {
    /// Its content's hash, by which it is called from now on.
    pub hash: Hash,
    /// Its size, bytes.
    #[schema(minimum = 1)]
    pub bytes: u64,
}

/// What may be said when a file is asked for.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FileAsked {
    /// The name under which a browser saves it.
    #[param(example = "boxes.jpg")]
    name: Option<String>,
}

refusals! {
    /// How a file may be refused on its way in.
    Refusals: 400 401 403 408 413 421 422 429 500 503 507;
    /// How a file may be refused on its way out.
    NotGiven: 400 401 403 404 416 421 429 500 503;
}

/// Keeps a file, up to 4 GiB; pinning it to a record is a draft of its own.
///
/// The same content again changes nothing and answers 200. Of an upload that was cut off nothing is kept.
#[utoipa::path(
    post, path = "/api/attachments", operation_id = "post_attachment", tag = "writing",
    request_body(content = Vec<u8>, content_type = "application/octet-stream", description = "The bytes of the file, as they are."),
    responses(
        (status = 201, description = "The file is kept.", body = FileKept),
        (status = 200, description = "A file of the same content was here already.", body = FileKept),
        Refusals,
    )
)]
pub async fn keep(State(app): State<App>, request: Request) -> Result<Response, ApiError> {
    let most = app.limits().file_bytes;
    let body = request.into_body();
    if body.size_hint().lower() > most {
        return Err(ApiError::new(Code::FileTooLarge, format!("the file has more than {most} bytes")));
    }
    let _turn = app.upload()?;
    let (pieces, waiting) = mpsc::channel(WAITING);
    let keeping =
        app.write(move |desk| Ok(desk.attachments().keep_at_most(&mut Upload::new(waiting), most)?));
    let (sent, kept) = tokio::join!(send(body, pieces), keeping);
    // What cut the upload off says more than what became of its beginning.
    sent?;
    let kept = kept?;
    let status = if kept.new { StatusCode::CREATED } else { StatusCode::OK };
    let kept = FileKept { hash: Hash(hex(&kept.hash)), bytes: kept.bytes };
    Ok((status, axum::Json(kept)).into_response())
}

/// Hands a body on, piece by piece, until its end or until nobody wants more.
async fn send(mut body: Body, pieces: mpsc::Sender<io::Result<Bytes>>) -> Result<(), BodyError> {
    loop {
        match body::next(&mut body).await {
            Ok(Some(piece)) => {
                if pieces.send(Ok(piece)).await.is_err() {
                    return Ok(());
                }
            }
            Ok(None) => {
                // Only this makes the end an end: a sender that is dropped earlier was cut off.
                let _ = pieces.send(Ok(Bytes::new())).await;
                return Ok(());
            }
            Err(error) => {
                let _ = pieces.send(Err(io::Error::other(error))).await;
                return Err(error);
            }
        }
    }
}

/// The reading end of an upload, for a thread that may wait.
struct Upload {
    pieces: mpsc::Receiver<io::Result<Bytes>>,
    piece: Bytes,
    is_over: bool,
}

impl Upload {
    fn new(pieces: mpsc::Receiver<io::Result<Bytes>>) -> Self {
        Self { pieces, piece: Bytes::new(), is_over: false }
    }
}

impl Read for Upload {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.piece.is_empty() && !self.is_over {
            let cut_off = || Err(io::Error::from(io::ErrorKind::UnexpectedEof));
            self.piece = self.pieces.blocking_recv().unwrap_or_else(cut_off)?;
            self.is_over = self.piece.is_empty();
        }
        let piece = self.piece.split_to(into.len().min(self.piece.len()));
        into[..piece.len()].copy_from_slice(&piece);
        Ok(piece.len())
    }
}

/// Gives a file, or a part of it.
///
/// Its content is checked against its hash first. Pictures and sound are shown in place, anything else is saved.
#[utoipa::path(
    get, path = "/api/attachments/{hash}", operation_id = "get_attachment", tag = "writing",
    params(
        ("hash" = String, Path, description = "BLAKE3 hash of its content, 64 digits.", pattern = "^[0-9a-f]{64}$",
            example = "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262"),
        FileAsked,
        ("Range" = Option<String>, Header, description = "One part of the file, in bytes.", example = "bytes=0-1023"),
    ),
    responses(
        (status = 200, description = "The file.", content(
            ("application/octet-stream"), ("image/png"), ("image/jpeg"), ("image/webp"), ("image/gif"), ("audio/wav")),
            headers(("etag" = String, description = "The hash."), ("accept-ranges" = String, description = "Always `bytes`."))),
        (status = 206, description = "The part that was asked for.", content(
            ("application/octet-stream"), ("image/png"), ("image/jpeg"), ("image/webp"), ("image/gif"), ("audio/wav")),
            headers(("content-range" = String, description = "Which part of how much."))),
        (status = 304, description = "The client has it already."),
        NotGiven,
    )
)]
pub async fn give(
    State(app): State<App>,
    method: Method,
    Path(hash): Path<String>,
    Query(asked): Query<FileAsked>,
    headers: HeaderMap,
) -> Result<Response, ApiError> {
    let hash = called(&hash)?;
    let tag = format!("\"{}\"", hex(&hash));
    let opened = move |desk: &Desk| {
        desk.attachments().open_verified(&hash).map_err(|error| refused(desk, &hash, error))
    };
    let (file, size) = opened_or_asked(&app, hash, app.read(opened).await)?;
    if answer::is_held(&headers, &tag) {
        return Ok((StatusCode::NOT_MODIFIED, kept_for_ever(&tag)).into_response());
    }
    // A part is asked for by GET only (RFC 9110 section 14.2), and only of the file that If-Range names.
    let of_this = headers.get(header::IF_RANGE).is_none_or(|named| named.as_bytes() == tag.as_bytes());
    let range = headers.get(header::RANGE).filter(|_| method == Method::GET && of_this);
    let part = range::asked(range.and_then(|range| range.to_str().ok()), size);
    let (status, start, length) = match part {
        Part::Whole => (StatusCode::OK, 0, size),
        Part::Of { first, last } => (StatusCode::PARTIAL_CONTENT, first, last - first + 1),
        Part::Outside => {
            let mut refused =
                ApiError::new(Code::BadRange, format!("the file has {size} bytes")).into_response();
            refused.headers_mut().insert(header::CONTENT_RANGE, text(format!("bytes */{size}")));
            return Ok(refused);
        }
    };
    let (first, file) =
        app.read(move |_| begin(file, start).map_err(|error| ApiError::failed(&error))).await?;
    let kind = kind::of(&first);
    let mut response = Response::new(Body::new(FilePieces { step: Step::At(file), left: length }));
    *response.status_mut() = status;
    let answer = response.headers_mut();
    answer.extend(kept_for_ever(&tag));
    answer.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind.media_type()));
    answer.insert(header::CONTENT_LENGTH, HeaderValue::from(length));
    answer.insert(header::ACCEPT_RANGES, HeaderValue::from_static("bytes"));
    answer.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static("sandbox; default-src 'none'"));
    let name = asked.name.unwrap_or_else(|| format!("{}.{}", &hex(&hash)[..8], kind.ending()));
    answer.insert(header::CONTENT_DISPOSITION, text(name::disposition(kind.is_shown(), &name)));
    if status == StatusCode::PARTIAL_CONTENT {
        let range = format!("bytes {start}-{}/{size}", start + length - 1);
        answer.insert(header::CONTENT_RANGE, text(range));
    }
    Ok(response)
}

/// A file never changes under its hash.
fn kept_for_ever(tag: &str) -> HeaderMap {
    let cache = HeaderValue::from_static("private, max-age=31536000, immutable");
    [(header::ETAG, text(tag.to_owned())), (header::CACHE_CONTROL, cache)].into_iter().collect()
}

fn text(value: String) -> HeaderValue {
    HeaderValue::try_from(value).expect("made of plain letters")
}

/// The first bytes of a file, which tell what it is, and the file standing at `start`.
fn begin(mut file: File, start: u64) -> io::Result<(Vec<u8>, File)> {
    let mut first = Vec::with_capacity(kind::FIRST);
    file.by_ref().take(kind::FIRST as u64).read_to_end(&mut first)?;
    file.seek(SeekFrom::Start(start))?;
    Ok((first, file))
}

/// A body read from a file when someone takes it; between pieces it holds no thread.
struct FilePieces {
    step: Step,
    left: u64,
}

enum Step {
    At(File),
    Reading(JoinHandle<io::Result<(File, Bytes)>>),
    Over,
}

impl hyper::body::Body for FilePieces {
    type Data = Bytes;
    type Error = io::Error;

    fn poll_frame(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<io::Result<Frame<Bytes>>>> {
        let this = self.get_mut();
        loop {
            match std::mem::replace(&mut this.step, Step::Over) {
                Step::Over => return Poll::Ready(None),
                Step::At(_) if this.left == 0 => return Poll::Ready(None),
                Step::At(file) => {
                    let length = usize::try_from(this.left).unwrap_or(usize::MAX).min(PIECE);
                    this.step = Step::Reading(tokio::task::spawn_blocking(move || read(file, length)));
                }
                Step::Reading(mut reading) => {
                    let Poll::Ready(read) = Pin::new(&mut reading).poll(context) else {
                        this.step = Step::Reading(reading);
                        return Poll::Pending;
                    };
                    let (file, piece) = read.map_err(io::Error::other)??;
                    this.left -= piece.len() as u64;
                    this.step = Step::At(file);
                    return Poll::Ready(Some(Ok(Frame::data(piece))));
                }
            }
        }
    }

    fn is_end_stream(&self) -> bool {
        self.left == 0
    }

    fn size_hint(&self) -> SizeHint {
        SizeHint::with_exact(self.left)
    }
}

fn read(mut file: File, length: usize) -> io::Result<(File, Bytes)> {
    let mut piece = vec![0; length];
    file.read_exact(&mut piece)?;
    Ok((file, piece.into()))
}

fn hex(hash: &[u8; 32]) -> String {
    blake3::Hash::from_bytes(*hash).to_hex().to_string()
}

/// Reads the hash in an address.
pub(crate) fn called(hash: &str) -> Result<[u8; 32], ApiError> {
    let odd = || ApiError::new(Code::BadPath, "a file is called by 64 digits of 0 to 9 and a to f");
    parse_hash(hash).ok_or_else(odd)
}

/// Why a file is not given: one that a record names is missed, not unknown.
pub(crate) fn refused(desk: &Desk, hash: &[u8; 32], error: AttachmentError) -> ApiError {
    if !matches!(error, AttachmentError::Missing) {
        return error.into();
    }
    match desk.named_files(&[*hash]) {
        Ok(named) if named.is_empty() => error.into(),
        Ok(_) => ApiError::new(Code::NotHereYet, missed(desk, hash)),
        Err(error) => error.into(),
    }
}

/// Where the content of a file may be, as far as the log tells.
fn missed(desk: &Desk, hash: &[u8; 32]) -> String {
    let state = match desk.file_state(hash) {
        FileState::Arriving { held_bytes } => format!("it is arriving, {held_bytes} bytes of it are here"),
        FileState::Damaged => "it changed on this device's disk and was moved aside".to_owned(),
        FileState::Here | FileState::Missing => "its content has not come yet".to_owned(),
    };
    match desk.kept_on(hash) {
        Ok(Some(device)) => format!("{state}; it was pinned on {device}"),
        _ => state,
    }
}

/// Has a file fetched that turned out to be missed.
pub(crate) fn opened_or_asked<T>(
    app: &App,
    hash: [u8; 32],
    opened: Result<T, ApiError>,
) -> Result<T, ApiError> {
    if opened.as_ref().is_err_and(|error| error.code() == Code::NotHereYet) {
        app.ask_for_file(hash);
    }
    opened
}

/// Reads a hash in its one form: paths are made of its digits, never of what was sent.
fn parse_hash(text: &str) -> Option<[u8; 32]> {
    let is_formed = text.len() == 64 && text.bytes().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f'));
    let hash = blake3::Hash::from_hex(text).ok().filter(|_| is_formed)?;
    Some(*hash.as_bytes())
}
