//! Fetching one file: its list, then its content from where an earlier try stopped, to the byte.

use std::sync::Arc;
use std::time::Duration;

use axum::http::{Response, StatusCode, header};
use bytes::Bytes;
use http_body_util::BodyExt;
use storypole_desk::Desk;
use storypole_store::attachments::parts::LIST_BYTES;
use storypole_store::attachments::{ArriveError, Arrived, PART_BYTES, Parts};
use tokio::time::timeout;

use super::other::{self, Other, Pieces};
use super::{FetchError, FileFault, Moved, OnMove, Outcome, Way, hex, on_desk};

/// How long nothing may come before a line is given up.
const PATIENCE: Duration = Duration::from_secs(30);

/// How one answer of content ended.
enum Streamed {
    Whole,
    /// The beginning that an earlier try left did not lead to the part: ask for the part whole.
    TailDidNotFit,
    Ended(Outcome),
}

/// Fetches one file of which a record says the size.
pub(super) async fn fetch(
    desk: &Arc<Desk>,
    other: &impl Other,
    (hash, said): ([u8; 32], Option<u64>),
    on_move: OnMove<'_>,
    came_bytes: &mut u64,
) -> Result<Outcome, FetchError> {
    let Some(_claim) = desk.attachments().claim(&hash) else { return Ok(Outcome::OnItsWay) };
    let request = other::get(&format!("/api/attachments/{}/parts", hex(&hash)), None);
    let answer = other.ask(request, LIST_BYTES).await?;
    match answer.status() {
        StatusCode::OK => (),
        StatusCode::NOT_FOUND => return Ok(Outcome::NotThere),
        _ => return other::fault(&answer).map(Outcome::Wrong),
    }
    let parts = match Parts::decode(answer.body(), &hash) {
        Ok(parts) => parts,
        Err(error) => return Ok(Outcome::Wrong(FileFault::FalseList(error))),
    };
    if let Some(said) = said.filter(|said| *said != parts.bytes()) {
        return Ok(Outcome::Wrong(FileFault::OtherSize { said, listed: parts.bytes() }));
    }
    let list = parts.clone();
    let begun = on_desk(desk, move |desk| match desk.attachments().begin(&hash, list) {
        Err(ArriveError::OtherList) => Ok(None),
        begun => Ok(Some(begun?)),
    });
    let Some(mut arrived) = begun.await? else { return Ok(Outcome::Wrong(FileFault::OtherList)) };
    let mut stream = Stream { desk, hash, parts: &parts, on_move, came_bytes };
    while let Arrived::Lacks { held_bytes, .. } = arrived {
        match stream.go_on(other, held_bytes / PART_BYTES).await? {
            Streamed::Whole => break,
            Streamed::Ended(outcome) => return Ok(outcome),
            Streamed::TailDidNotFit => arrived = Arrived::Lacks { held_bytes, bytes: parts.bytes() },
        }
    }
    Ok(Outcome::Done)
}

/// What stays the same while content comes.
struct Stream<'a> {
    desk: &'a Arc<Desk>,
    hash: [u8; 32],
    parts: &'a Parts,
    on_move: OnMove<'a>,
    came_bytes: &'a mut u64,
}

impl Stream<'_> {
    /// Asks for the content from a part on, less what an earlier try left of it, and takes what comes.
    async fn go_on(&mut self, other: &impl Other, index: u64) -> Result<Streamed, FetchError> {
        let hash = self.hash;
        let tail = on_desk(self.desk, move |desk| Ok(desk.attachments().tail(&hash, index))).await?;
        let start = index * PART_BYTES + tail.len() as u64;
        let range = format!("bytes={start}-");
        let request = other::get(&format!("/api/attachments/{}", hex(&hash)), Some(range));
        let response = other.open(request).await?;
        if response.status() == StatusCode::NOT_FOUND {
            return Ok(Streamed::Ended(Outcome::NotThere));
        }
        if !matches!(response.status(), StatusCode::OK | StatusCode::PARTIAL_CONTENT) {
            let fault = other::fault(&whole(response).await?)?;
            return Ok(Streamed::Ended(Outcome::Wrong(fault)));
        }
        if !starts_at(&response, start) {
            return Err(FetchError::Odd { what: "another part of the file than asked for" });
        }
        self.take(response.into_body(), index, tail).await
    }

    /// Takes content as it comes, part by part; what is left of a part when the line breaks is kept.
    async fn take(
        &mut self,
        mut body: Pieces,
        mut index: u64,
        tail: Vec<u8>,
    ) -> Result<Streamed, FetchError> {
        let mut is_of_earlier = !tail.is_empty();
        let mut part = tail;
        loop {
            let due = usize::try_from(self.parts.bytes_of(index)).unwrap_or(usize::MAX);
            if due == 0 {
                return Err(FetchError::Odd { what: "more content than listed" });
            }
            if part.len() < due {
                match next(&mut body).await {
                    Ok(piece) => {
                        *self.came_bytes += piece.len() as u64;
                        part.extend_from_slice(&piece);
                    }
                    Err(error) => {
                        self.keep_tail(index, part).await?;
                        return Err(error);
                    }
                }
                continue;
            }
            let rest = part.split_off(due);
            match self.arrive(index, std::mem::replace(&mut part, rest)).await {
                Ok(Arrived::Here) => return Ok(Streamed::Whole),
                Ok(Arrived::Lacks { .. }) => index += 1,
                Err(FetchError::Arrive(ArriveError::FalsePart { .. })) if is_of_earlier => {
                    let hash = self.hash;
                    on_desk(self.desk, move |desk| Ok(desk.attachments().drop_tail(&hash)?)).await?;
                    return Ok(Streamed::TailDidNotFit);
                }
                Err(FetchError::Arrive(ArriveError::FalsePart { index })) => {
                    return Ok(Streamed::Ended(Outcome::Wrong(FileFault::FalsePart { index })));
                }
                Err(error) => return Err(error),
            }
            is_of_earlier = false;
        }
    }

    async fn arrive(&self, index: u64, part: Vec<u8>) -> Result<Arrived, FetchError> {
        let hash = self.hash;
        let arrive = move |desk: &Desk| Ok(desk.attachments().arrive(&hash, index, &part)?);
        let arrived = on_desk(self.desk, arrive).await?;
        let bytes = self.parts.bytes();
        let done_bytes = match arrived {
            Arrived::Here => bytes,
            Arrived::Lacks { held_bytes, .. } => held_bytes,
        };
        (self.on_move)(Moved { hash, way: Way::In, done_bytes, bytes });
        Ok(arrived)
    }

    async fn keep_tail(&self, index: u64, begun: Vec<u8>) -> Result<(), FetchError> {
        let hash = self.hash;
        on_desk(self.desk, move |desk| Ok(desk.attachments().keep_tail(&hash, index, &begun)?)).await
    }
}

/// The next piece of content; that there is none is an end before the end.
async fn next(body: &mut Pieces) -> Result<Bytes, FetchError> {
    loop {
        let silent = |_| FetchError::Silent { seconds: PATIENCE.as_secs() };
        let frame = timeout(PATIENCE, body.frame()).await.map_err(silent)?;
        if let Ok(piece) = frame.ok_or(FetchError::CutOff)??.into_data() {
            return Ok(piece);
        }
    }
}

/// A refusal, read to its end.
async fn whole(response: Response<Pieces>) -> Result<Response<Bytes>, FetchError> {
    let (parts, mut body) = response.into_parts();
    let mut whole = Vec::new();
    while whole.len() < other::JSON_BYTES {
        match next(&mut body).await {
            Ok(piece) => whole.extend_from_slice(&piece),
            Err(FetchError::CutOff) => break,
            Err(error) => return Err(error),
        }
    }
    Ok(Response::from_parts(parts, whole.into()))
}

/// Whether what comes is what was asked for (RFC 9110 section 15.3.7): a server may also give all from the first on.
fn starts_at(response: &Response<Pieces>, start: u64) -> bool {
    if response.status() == StatusCode::OK {
        return start == 0;
    }
    let range = response.headers().get(header::CONTENT_RANGE).and_then(|range| range.to_str().ok());
    range.is_some_and(|range| range.starts_with(&format!("bytes {start}-")))
}
