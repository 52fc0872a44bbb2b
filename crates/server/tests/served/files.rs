//! Files in and out: by content, in parts, under clean names.

use std::fs;
use std::path::{Path, PathBuf};

use axum::body::Body;
use axum::http::{HeaderName, Method, header};
use storypole_server::Limits;

use crate::asked::{Answer, Served};

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR and so on";

async fn post(served: &Served, bytes: &[u8]) -> Answer {
    let request = served.request(Method::POST, "/api/attachments");
    served.answer(request.body(Body::from(bytes.to_vec())).unwrap()).await
}

async fn kept(served: &Served, bytes: &[u8]) -> String {
    let answer = post(served, bytes).await;
    assert_eq!(answer.status, 201, "{}", answer.text());
    answer.json()["hash"].as_str().unwrap().to_owned()
}

async fn get(served: &Served, path: &str, head: &[(HeaderName, &str)]) -> Answer {
    let mut request = served.request(Method::GET, path);
    for (name, value) in head {
        request = request.header(name, *value);
    }
    served.answer(request.body(Body::empty()).unwrap()).await
}

/// Every file in the folder of attachments.
pub fn held(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { held(&path) } else { vec![path] }).collect()
}

#[tokio::test]
async fn a_file_is_kept_by_its_content() {
    let served = Served::new();
    // BLAKE3 of "abc", from the algorithm's published test vectors as other implementations list it.
    let hash = "6437b3ac38465133ffb63b75273a8db548c558465d79db03fd359c6cd5bd9d85";
    let first = post(&served, b"abc").await;
    assert_eq!(first.status, 201);
    assert_eq!(first.json(), serde_json::json!({ "hash": hash, "bytes": 3 }));
    let again = post(&served, b"abc").await;
    assert_eq!((again.status, again.json()), (axum::http::StatusCode::OK, first.json()));
    let given = get(&served, &format!("/api/attachments/{hash}"), &[]).await;
    assert_eq!((given.status.as_u16(), given.body.as_slice()), (200, &b"abc"[..]));
    assert_eq!(given.header(header::ETAG), format!("\"{hash}\""));
    assert_eq!(given.header(header::CONTENT_TYPE), "application/octet-stream");
    assert_eq!(given.header(header::CONTENT_DISPOSITION), "attachment; filename=\"6437b3ac.bin\"");
    assert_eq!(given.header(header::CONTENT_SECURITY_POLICY), "sandbox; default-src 'none'");
    assert_eq!(given.header(header::CACHE_CONTROL), "private, max-age=31536000, immutable");
    assert_eq!(given.header(header::ACCEPT_RANGES), "bytes");
    assert_eq!(given.header(header::CONTENT_LENGTH), "3");
}

#[tokio::test]
async fn a_long_file_comes_back_as_it_went() {
    let served = Served::new();
    // Longer than what is read at once, and not a multiple of it.
    let bytes: Vec<u8> = (0..700_001u32).map(|number| (number * 7 % 251) as u8).collect();
    let hash = kept(&served, &bytes).await;
    let path = format!("/api/attachments/{hash}");
    assert_eq!(get(&served, &path, &[]).await.body, bytes);
    let part = get(&served, &path, &[(header::RANGE, "bytes=300000-699999")]).await;
    assert_eq!(part.status, 206);
    assert_eq!(part.body, bytes[300_000..700_000]);
}

#[tokio::test]
async fn what_cannot_be_kept_leaves_nothing() {
    let served = Served::with(Limits { file_bytes: 1_000, ..Limits::default() });
    let log = served.log();
    post(&served, b"").await.is_refused(422, "file-empty");
    post(&served, &[7; 1_001]).await.is_refused(413, "file-too-large");
    // Without a length that tells beforehand.
    let pieces = Body::new(Endless);
    let request = served.request(Method::POST, "/api/attachments").body(pieces).unwrap();
    served.answer(request).await.is_refused(413, "file-too-large");
    assert_eq!(held(&served.desk.path().join("attachments")), Vec::<PathBuf>::new());
    assert_eq!(post(&served, &[7; 1_000]).await.status, 201);
    assert_eq!(served.log(), log, "files alone write nothing");
}

/// A body that never ends.
struct Endless;

impl hyper::body::Body for Endless {
    type Data = axum::body::Bytes;
    type Error = std::convert::Infallible;

    fn poll_frame(
        self: std::pin::Pin<&mut Self>,
        _: &mut std::task::Context<'_>,
    ) -> std::task::Poll<Option<Result<hyper::body::Frame<Self::Data>, Self::Error>>> {
        let piece = axum::body::Bytes::from_static(&[7; 100]);
        std::task::Poll::Ready(Some(Ok(hyper::body::Frame::data(piece))))
    }
}

/// The parts that RFC 9110 section 14 tells, over a file of 10 bytes; the forms are tested beside the reader.
#[tokio::test]
async fn parts_are_given_as_published() {
    let served = Served::new();
    let hash = kept(&served, b"0123456789").await;
    let path = format!("/api/attachments/{hash}");
    let (tag, other) = (format!("\"{hash}\""), format!("\"{}\"", "0".repeat(64)));
    for (range, when, status, body, told) in [
        ("bytes=0-3", None, 206, "0123", Some("bytes 0-3/10")),
        ("bytes=-3", None, 206, "789", Some("bytes 7-9/10")),
        ("bytes=8-", None, 206, "89", Some("bytes 8-9/10")),
        ("bytes=8-100", None, 206, "89", Some("bytes 8-9/10")),
        ("bytes=0-0,-1", None, 200, "0123456789", None),
        ("lines=0-3", None, 200, "0123456789", None),
        ("bytes=3-1", None, 200, "0123456789", None),
        ("bytes=0-3", Some(tag.as_str()), 206, "0123", Some("bytes 0-3/10")),
        ("bytes=0-3", Some(other.as_str()), 200, "0123456789", None),
        ("bytes=10-", Some(other.as_str()), 200, "0123456789", None),
    ] {
        let mut head = vec![(header::RANGE, range)];
        head.extend(when.map(|tag| (header::IF_RANGE, tag)));
        let given = get(&served, &path, &head).await;
        assert_eq!((given.status.as_u16(), given.text().as_str()), (status, body), "{range}");
        assert_eq!(given.header(header::CONTENT_LENGTH), body.len().to_string());
        let range = given.headers.get(header::CONTENT_RANGE).map(|range| range.to_str().unwrap());
        assert_eq!(range, told);
    }
    let outside = get(&served, &path, &[(header::RANGE, "bytes=10-")]).await;
    outside.is_refused(416, "bad-range");
    assert_eq!(outside.header(header::CONTENT_RANGE), "bytes */10");
    let held = get(&served, &path, &[(header::IF_NONE_MATCH, &tag), (header::RANGE, "bytes=0-3")]).await;
    assert_eq!((held.status.as_u16(), held.body.len()), (304, 0));
    assert_eq!(held.header(header::ETAG), tag);

    let head = served.request(Method::HEAD, &path).header(header::RANGE, "bytes=0-3");
    let head = served.answer(head.body(Body::empty()).unwrap()).await;
    assert_eq!((head.status.as_u16(), head.body.len()), (200, 0));
    assert_eq!(head.header(header::CONTENT_LENGTH), "10");
}

#[tokio::test]
async fn a_file_is_shown_only_for_what_it_is() {
    let served = Served::new();
    for (bytes, kind, how) in [
        (PNG, "image/png", "inline; filename=\"photo.png\""),
        (b"RIFF\x24\0\0\0WAVEfmt ", "audio/wav", "inline; filename=\"photo.png\""),
        (b"<script>alert(1)</script>", "application/octet-stream", "attachment; filename=\"photo.png\""),
        (
            b"<svg xmlns='http://www.w3.org/2000/svg'/>",
            "application/octet-stream",
            "attachment; filename=\"photo.png\"",
        ),
    ] {
        let hash = kept(&served, bytes).await;
        let given = get(&served, &format!("/api/attachments/{hash}?name=photo.png"), &[]).await;
        assert_eq!(given.header(header::CONTENT_TYPE), kind);
        assert_eq!(given.header(header::CONTENT_DISPOSITION), how);
        assert_eq!(given.header(header::X_CONTENT_TYPE_OPTIONS), "nosniff");
        // Also from the middle of the file.
        let part = get(&served, &format!("/api/attachments/{hash}"), &[(header::RANGE, "bytes=5-6")]).await;
        assert_eq!((part.header(header::CONTENT_TYPE), &part.body[..]), (kind, &bytes[5..7]));
    }
}

#[tokio::test]
async fn names_and_hashes_lead_nowhere() {
    let served = Served::new();
    let hash = kept(&served, PNG).await;
    for (name, expected) in [
        ("..%2F..%2Fetc%2Fpasswd", "filename=\"_.._etc_passwd\""),
        ("a%0d%0aset-cookie:%20x=y", "filename=\"aset-cookie_ x=y\""),
        ("a%22%3B%20filename%3D%22b.exe", "filename=\"a_; filename=_b.exe\""),
        ("", "filename=\"file\""),
        ("%E2%82%AC", "filename=\"_\"; filename*=UTF-8''%E2%82%AC"),
    ] {
        let given = get(&served, &format!("/api/attachments/{hash}?name={name}"), &[]).await;
        assert_eq!(given.header(header::CONTENT_DISPOSITION), format!("inline; {expected}"), "{name}");
        assert!(!given.headers.contains_key(header::SET_COOKIE));
    }
    let upper = hash.to_uppercase();
    let short = &hash[1..];
    for odd in
        ["..%2f..%2fdevice.key", "%2e%2e", "device.key", &upper, short, &format!("{hash}0"), "%ff", "a%00"]
    {
        let answer = get(&served, &format!("/api/attachments/{odd}"), &[]).await;
        answer.is_refused(400, "bad-path");
    }
    get(&served, &format!("/api/attachments/{}", "0".repeat(64)), &[]).await.is_refused(404, "no-such-file");
    get(&served, &format!("/api/attachments/{hash}/more"), &[]).await.is_refused(404, "no-such-route");
    get(&served, &format!("/api/attachments/{hash}?size=9"), &[]).await.is_refused(400, "bad-query");
}

#[tokio::test]
async fn a_file_that_changed_on_the_disk_is_not_given() {
    let served = Served::new();
    let hash = kept(&served, PNG).await;
    let file = held(&served.desk.path().join("attachments")).pop().unwrap();
    fs::write(&file, b"another").unwrap();
    let answer = get(&served, &format!("/api/attachments/{hash}"), &[]).await;
    let problem = answer.is_refused(500, "file-altered");
    assert!(!problem.to_string().contains(file.file_name().unwrap().to_str().unwrap()), "{problem}");
    assert_eq!(post(&served, PNG).await.status.as_u16() / 100, 2, "the same content again mends it");
    assert_eq!(get(&served, &format!("/api/attachments/{hash}"), &[]).await.body, PNG);
}
