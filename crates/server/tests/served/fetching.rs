//! Files between two devices: fetched and brought, cut off anywhere, altered on the way, by two at once.

use std::collections::HashSet;
use std::pin::Pin;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::task::{Context, Poll};

use axum::Router;
use axum::body::Body;
use axum::http::{Method, Request, Response, header};
use bytes::Bytes;
use http_body_util::{BodyExt, Full};
use hyper::body::Frame;
use storypole_desk::Desk;
use storypole_desk::attached::{FileState, FilesPolicy};
use storypole_server::fetching::{
    Broken, Exchanged, FetchError, FileFault, Moved, Other, Outcome, Pieces, Way, exchange, fetch_one,
};
use tower::ServiceExt;

use crate::asked::{PORT, Served};
use crate::parts::{content, hex, pin};

const PART: usize = 1 << 20;

/// How what goes over the line is altered: path and body of an answer.
type Bend = Box<dyn Fn(&str, Vec<u8>) -> Vec<u8> + Send + Sync>;

/// A line to another device within this process, which counts, cuts and alters.
struct Line {
    router: Router,
    cookie: String,
    /// Content that went over it in either direction, bytes.
    moved: AtomicU64,
    /// After how many bytes of content it breaks; none holds.
    holds_for: Mutex<Option<u64>>,
    bend: Option<Bend>,
}

impl Line {
    fn to(served: &Served) -> Self {
        let (router, cookie) = (served.router.clone(), served.cookie.clone());
        Self { router, cookie, moved: AtomicU64::new(0), holds_for: Mutex::default(), bend: None }
    }

    fn bent(served: &Served, bend: impl Fn(&str, Vec<u8>) -> Vec<u8> + Send + Sync + 'static) -> Self {
        Self { bend: Some(Box::new(bend)), ..Self::to(served) }
    }

    fn breaks_after(&self, bytes: u64) {
        *self.holds_for.lock().unwrap() = Some(bytes);
    }

    fn holds(&self) {
        *self.holds_for.lock().unwrap() = None;
    }

    fn moved(&self) -> u64 {
        self.moved.swap(0, Ordering::Relaxed)
    }

    /// Lets as many bytes pass as the line still holds for.
    fn pass(&self, bytes: usize) -> usize {
        let mut holds_for = self.holds_for.lock().unwrap();
        let passed = holds_for.map_or(bytes as u64, |left| left.min(bytes as u64));
        if let Some(left) = holds_for.as_mut() {
            *left -= passed;
        }
        self.moved.fetch_add(passed, Ordering::Relaxed);
        passed as usize
    }

    async fn answer(&self, request: Request<Full<Bytes>>) -> (String, axum::http::response::Parts, Vec<u8>) {
        let path = request.uri().path().to_owned();
        let (mut parts, body) = request.into_parts();
        parts.headers.insert(header::HOST, format!("localhost:{PORT}").parse().unwrap());
        parts.headers.insert(header::COOKIE, self.cookie.parse().unwrap());
        let response =
            self.router.clone().oneshot(Request::from_parts(parts, Body::new(body))).await.unwrap();
        let (parts, body) = response.into_parts();
        let body = body.collect().await.unwrap().to_bytes().to_vec();
        let body = if parts.status.is_success() { self.bend(&path, body) } else { body };
        (path, parts, body)
    }

    fn bend(&self, path: &str, body: Vec<u8>) -> Vec<u8> {
        self.bend.as_ref().map_or(body.clone(), |bend| bend(path, body))
    }
}

fn broken() -> Broken {
    Broken("the cable was pulled".into())
}

impl Other for Line {
    async fn ask(
        &self,
        request: Request<Full<Bytes>>,
        answer_bytes: usize,
    ) -> Result<Response<Bytes>, Broken> {
        let sent = request.body().clone().collect().await.unwrap().to_bytes().len();
        let is_part = request.method() == Method::PUT && !request.uri().path().ends_with("/parts");
        if is_part && self.pass(sent) < sent {
            return Err(broken());
        }
        let (_, parts, body) = self.answer(request).await;
        assert!(body.len() <= answer_bytes);
        Ok(Response::from_parts(parts, body.into()))
    }

    async fn open(&self, request: Request<Full<Bytes>>) -> Result<Response<Pieces>, Broken> {
        let (_, parts, body) = self.answer(request).await;
        let passed = self.pass(body.len());
        let pieces = body[..passed].chunks(70_001).map(Bytes::copy_from_slice).collect();
        let pieces = Cut { pieces, breaks: passed < body.len() };
        Ok(Response::from_parts(parts, pieces.boxed_unsync()))
    }
}

/// A body in pieces that may break off.
struct Cut {
    pieces: std::collections::VecDeque<Bytes>,
    breaks: bool,
}

impl hyper::body::Body for Cut {
    type Data = Bytes;
    type Error = Broken;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        _: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Broken>>> {
        match self.pieces.pop_front() {
            Some(piece) => Poll::Ready(Some(Ok(Frame::data(piece)))),
            None => Poll::Ready(std::mem::take(&mut self.breaks).then(|| Err(broken()))),
        }
    }
}

/// Two devices whose records name the same file, which the first one has.
async fn two(content: &[u8]) -> (Served, Served, [u8; 32]) {
    let (has, lacks) = (Served::new(), Served::new());
    let hash = has.desk.keep_file(&mut &content[..]).unwrap().hash;
    for served in [&has, &lacks] {
        pin(served, &hash, content.len()).await;
    }
    (has, lacks, hash)
}

fn given(desk: &Desk, hash: &[u8; 32]) -> Vec<u8> {
    let mut given = Vec::new();
    desk.attachments().give(hash, &mut given).unwrap();
    given
}

async fn quiet(served: &Served, line: &Line) -> Exchanged {
    exchange(&served.desk, line, &HashSet::new(), &|_| ()).await
}

#[tokio::test]
async fn files_go_both_ways() {
    let (one, other, first) = two(&content(2 * PART + 9)).await;
    let back = content(PART + 5).into_iter().rev().collect::<Vec<u8>>();
    let second = other.desk.keep_file(&mut &back[..]).unwrap().hash;
    for served in [&one, &other] {
        pin(served, &second, back.len()).await;
    }
    let line = Line::to(&one);
    let heard = Mutex::new(Vec::new());
    let done =
        exchange(&other.desk, &line, &HashSet::new(), &|moved| heard.lock().unwrap().push(moved)).await;
    assert!(done.stopped.is_none() && done.wrong.is_empty() && done.missing.is_empty(), "{done:?}");
    assert_eq!((&done.fetched[..], &done.brought[..]), (&[first][..], &[second][..]));
    assert_eq!((done.in_bytes, done.out_bytes), (2 * PART as u64 + 9, PART as u64 + 5));
    assert_eq!(given(&other.desk, &first), given(&one.desk, &first));
    assert_eq!(given(&one.desk, &second), back);
    let heard = heard.into_inner().unwrap();
    let of = |hash| heard.iter().filter(move |moved: &&Moved| moved.hash == hash);
    assert!(of(first).all(|moved| moved.way == Way::In) && of(second).all(|moved| moved.way == Way::Out));
    assert_eq!(
        of(first).map(|moved| moved.done_bytes).collect::<Vec<_>>(),
        [PART as u64, 2 * PART as u64, 2 * PART as u64 + 9]
    );
    line.moved();
    let again = quiet(&other, &line).await;
    assert!(again.fetched.is_empty() && again.brought.is_empty() && line.moved() == 0, "{again:?}");
}

#[tokio::test]
async fn a_fetch_that_is_cut_anywhere_transfers_only_the_rest() {
    let content = content(2 * PART + 1000);
    let whole = content.len() as u64;
    for cut in [0, 1, 70_001, PART - 1, PART, PART + 1, 2 * PART, 2 * PART + 999] {
        let (has, lacks, hash) = two(&content).await;
        let line = Line::to(&has);
        line.breaks_after(cut as u64);
        let done = quiet(&lacks, &line).await;
        assert!(matches!(done.stopped, Some(FetchError::Broken(_))), "cut at {cut}: {done:?}");
        assert_eq!(line.moved(), cut as u64);
        line.holds();
        let done = quiet(&lacks, &line).await;
        assert_eq!(
            (&done.fetched[..], line.moved()),
            (&[hash][..], whole - cut as u64),
            "cut at {cut}: {done:?}"
        );
        assert_eq!(given(&lacks.desk, &hash), content);
    }
}

#[tokio::test]
async fn a_file_that_is_being_brought_goes_on_after_its_whole_parts() {
    let content = content(3 * PART + 1000);
    let (has, lacks, hash) = two(&content).await;
    let line = Line::to(&lacks);
    line.breaks_after(PART as u64 + 77);
    let done = quiet(&has, &line).await;
    assert!(matches!(done.stopped, Some(FetchError::Broken(_))), "{done:?}");
    assert_eq!(lacks.desk.file_state(&hash), FileState::Arriving { held_bytes: PART as u64 });
    line.moved();
    line.holds();
    let done = quiet(&has, &line).await;
    assert_eq!((&done.brought[..], line.moved()), (&[hash][..], 2 * PART as u64 + 1000), "{done:?}");
    assert_eq!(given(&lacks.desk, &hash), content);
}

#[tokio::test]
async fn a_part_altered_by_one_bit_is_refused_and_asked_for_elsewhere() {
    let content = content(2 * PART + 50);
    let (has, lacks, hash) = two(&content).await;
    let altering = |at: usize| {
        Line::bent(&has, move |path, mut body| {
            if !path.ends_with("/parts") && body.len() > at {
                body[at] ^= 0x20;
            }
            body
        })
    };
    let done = quiet(&lacks, &altering(PART + 3)).await;
    assert_eq!(done.wrong, [(hash, FileFault::FalsePart { index: 1 })]);
    assert!(done.stopped.is_none(), "other files go on: {done:?}");
    assert_eq!(lacks.desk.file_state(&hash), FileState::Arriving { held_bytes: PART as u64 });
    let honest = Line::to(&has);
    let lines = [altering(0), honest];
    let outcome = fetch_one(&lacks.desk, &lines, hash, &|_| ()).await.unwrap();
    assert_eq!((outcome, lines[1].moved()), (Outcome::Done, PART as u64 + 50), "the first part stays");
    assert_eq!(given(&lacks.desk, &hash), content);
}

#[tokio::test]
async fn the_beginning_of_a_false_part_does_not_stand_in_the_way() {
    let content = content(PART + 50);
    let (has, lacks, hash) = two(&content).await;
    let false_start = Line::bent(&has, |path, mut body| {
        if !path.ends_with("/parts") {
            body[10] ^= 1;
        }
        body
    });
    false_start.breaks_after(5_000);
    quiet(&lacks, &false_start).await;
    let honest = Line::to(&has);
    let done = quiet(&lacks, &honest).await;
    assert_eq!((&done.fetched[..], &done.wrong[..]), (&[hash][..], &[][..]), "the honest one is not blamed");
    assert_eq!(given(&lacks.desk, &hash), content);
}

#[tokio::test]
async fn false_lists_and_false_sizes_are_refused() {
    let content = content(PART + 50);
    let (has, lacks, hash) = two(&content).await;
    let bent = |at: usize| {
        Line::bent(&has, move |path, mut body| {
            if path.ends_with("/parts") {
                body[at] ^= 1;
            }
            body
        })
    };
    let done = quiet(&lacks, &bent(40)).await;
    assert!(matches!(done.wrong[..], [(_, FileFault::FalseList(_))]), "{done:?}");
    let done = quiet(&lacks, &bent(8)).await;
    assert!(matches!(done.wrong[..], [(_, FileFault::OtherSize { .. })]), "{done:?}");
    assert_eq!(lacks.desk.file_state(&hash), FileState::Missing, "nothing began");
    assert_eq!(quiet(&lacks, &Line::to(&has)).await.fetched, [hash]);
}

#[tokio::test]
async fn what_nobody_has_is_told_and_what_rotted_is_moved_aside() {
    let content = content(1000);
    let (has, lacks, hash) = two(&content).await;
    let place = crate::files::held(&has.desk.path().join("attachments")).pop().unwrap();
    std::fs::write(&place, &content[..999]).unwrap();
    // The one that has it only finds out when it reads it.
    let done = quiet(&has, &Line::to(&lacks)).await;
    assert_eq!(done.wrong, [(hash, FileFault::DamagedHere)]);
    assert_eq!(has.desk.file_state(&hash), FileState::Damaged);
    let done = quiet(&lacks, &Line::to(&has)).await;
    assert_eq!((&done.missing[..], done.stopped.is_none()), (&[hash][..], true));
    assert!(matches!(fetch_one(&lacks.desk, &[Line::to(&has)], hash, &|_| ()).await, Ok(Outcome::NotThere)));
    assert!(matches!(
        fetch_one(&lacks.desk, &[Line::to(&has)], [9; 32], &|_| ()).await,
        Err(FetchError::NotNamed)
    ));
}

#[tokio::test]
async fn two_fetch_at_once_and_each_byte_comes_once() {
    let content = content(3 * PART);
    let (has, lacks, hash) = two(&content).await;
    let lines = [Line::to(&has), Line::to(&has)];
    let (on_move, asked) = (|_| (), HashSet::new());
    let (one, two) = tokio::join!(
        exchange(&lacks.desk, &lines[0], &asked, &on_move),
        exchange(&lacks.desk, &lines[1], &asked, &on_move)
    );
    assert!(one.stopped.is_none() && two.stopped.is_none(), "{one:?} {two:?}");
    assert_eq!(one.fetched.len() + two.fetched.len(), 1);
    assert_eq!(lines[0].moved() + lines[1].moved(), content.len() as u64);
    assert_eq!(given(&lacks.desk, &hash), content);
}

#[tokio::test]
async fn a_device_that_fetches_on_demand_fetches_nothing_by_itself() {
    let (has, lacks, hash) = two(&content(100)).await;
    lacks.desk.set_files_policy(FilesPolicy::Asked).unwrap();
    assert!(quiet(&lacks, &Line::to(&has)).await.fetched.is_empty());
    assert!(quiet(&has, &Line::to(&lacks)).await.brought.is_empty(), "nor is it brought unasked");
    let done = exchange(&lacks.desk, &Line::to(&has), &HashSet::from([hash]), &|_| ()).await;
    assert_eq!((&done.fetched[..], lacks.desk.file_state(&hash)), (&[hash][..], FileState::Here));
}

#[tokio::test]
async fn who_is_not_let_in_hears_why() {
    let (has, lacks, _) = two(&content(100)).await;
    let mut line = Line::to(&has);
    line.cookie = "x=y".to_owned();
    let done = exchange(&lacks.desk, &line, &HashSet::new(), &|_| ()).await;
    let Some(FetchError::Refused { status, code, .. }) = &done.stopped else { panic!("{done:?}") };
    assert_eq!((*status, code.as_str()), (401, "no-session"));
}

#[tokio::test]
async fn answers_that_make_no_sense_stop_the_exchange() {
    let (has, lacks, hash) = two(&content(100)).await;
    let done = quiet(&lacks, &Line::bent(&has, |_, _| b"<html>".to_vec())).await;
    assert!(matches!(done.stopped, Some(FetchError::Odd { .. })), "{done:?}");
    // Of another file than asked for.
    let swapped = hex(&hash).replace(['a', 'b'], "c");
    let other = Line::bent(&has, move |path, body| {
        if path.ends_with("/wanted") {
            return String::from_utf8(body).unwrap().replace(&hex(&hash), &swapped).into_bytes();
        }
        body
    });
    let done = quiet(&lacks, &other).await;
    assert!(done.fetched.is_empty() && done.stopped.is_none(), "{done:?}");
}
