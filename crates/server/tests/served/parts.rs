//! Files that another device brings part by part, small copies of pictures, and what is said of a file that is missed.

use axum::body::Body;
use axum::http::{Method, header};
use serde_json::{Value, json};
use storypole_desk::Desk;
use storypole_desk::attached::FilesPolicy;
use storypole_server::Limits;
use storypole_server::files::parts::ASKED_AT_ONCE;

use crate::asked::{Answer, Served, draft, write};

const PART: usize = 1 << 20;

pub fn content(bytes: usize) -> Vec<u8> {
    (0..bytes).map(|at| (at * 7 % 251) as u8).collect()
}

pub fn hex(hash: &[u8; 32]) -> String {
    blake3::Hash::from_bytes(*hash).to_hex().to_string()
}

/// Pins a file to a site, whether or not it is here.
pub async fn pin(served: &Served, hash: &[u8; 32], bytes: usize) {
    let site = served.site(&format!("S{}", &hex(hash)[..6])).await;
    let photo = storypole_desk::edge::record_id();
    let writes = [
        write(photo, "photo", "about", &site.to_string()),
        write(photo, "photo", "hash", &hex(hash)),
        write(photo, "photo", "bytes", &bytes.to_string()),
    ];
    let answer = served.put(storypole_desk::edge::draft_id(), &draft(&writes)).await;
    assert_eq!(answer.status, 201, "{}", answer.text());
}

/// A file on a device of its own, with its list of parts.
fn elsewhere(content: &[u8]) -> (Served, [u8; 32], Vec<u8>) {
    let other = Served::new();
    let hash = other.desk.keep_file(&mut &content[..]).unwrap().hash;
    let list = other.desk.attachments().parts(&hash).unwrap().encode();
    (other, hash, list)
}

async fn send(served: &Served, path: &str, body: &[u8]) -> Answer {
    let request = served.request(Method::PUT, path).body(Body::from(body.to_vec()));
    served.answer(request.unwrap()).await
}

async fn wanted(served: &Served, hashes: &[String]) -> Answer {
    served.send(Method::POST, "/api/attachments/wanted", &json!({ "hashes": hashes })).await
}

fn given(desk: &Desk, hash: &[u8; 32]) -> Vec<u8> {
    let mut given = Vec::new();
    desk.attachments().give(hash, &mut given).unwrap();
    given
}

#[tokio::test]
async fn a_file_is_brought_part_by_part() {
    let content = content(2 * PART + 7);
    let (other, hash, list) = elsewhere(&content);
    let served = Served::new();
    pin(&served, &hash, content.len()).await;
    let path = format!("/api/attachments/{}/parts", hex(&hash));

    let offered = wanted(&served, &[hex(&hash), "0".repeat(64)]).await.json();
    let missing = json!({ "hash": hex(&hash), "state": "missing", "held_bytes": 0, "bytes": content.len(), "wanted": true });
    assert_eq!(offered, json!({ "files": [missing] }), "what no record names is not spoken of");

    send(&served, &format!("{path}/0"), &content[..PART]).await.is_refused(409, "part-too-early");
    let begun = send(&served, &path, &list).await;
    assert_eq!((begun.status.as_u16(), &begun.json()["state"]), (200, &json!("arriving")));
    send(&served, &format!("{path}/1"), &content[PART..2 * PART]).await.is_refused(409, "part-too-early");
    let mut altered = content[..PART].to_vec();
    altered[99] ^= 1;
    send(&served, &format!("{path}/0"), &altered).await.is_refused(422, "part-refused");
    for again in 0..2 {
        let first = send(&served, &format!("{path}/0"), &content[..PART]).await.json();
        assert_eq!(first["held_bytes"], PART, "{again}");
    }
    let problem =
        served.get(&format!("/api/attachments/{}", hex(&hash))).await.is_refused(404, "not-here-yet");
    assert!(problem["detail"].as_str().unwrap().contains("1048576 bytes of it are here"), "{problem}");
    assert!(problem["detail"].as_str().unwrap().contains("pinned on box"), "{problem}");
    let standing = &wanted(&served, &[hex(&hash)]).await.json()["files"][0];
    assert_eq!((&standing["state"], &standing["held_bytes"]), (&json!("arriving"), &json!(PART)));

    send(&served, &format!("{path}/1"), &content[PART..2 * PART]).await;
    let last = send(&served, &format!("{path}/2"), &content[2 * PART..]).await.json();
    let here = json!({ "hash": hex(&hash), "state": "here", "held_bytes": content.len(), "bytes": content.len(), "wanted": false });
    assert_eq!(last, here);
    assert_eq!(send(&served, &path, &list).await.json(), here, "the same again");
    assert_eq!(given(&served.desk, &hash), content);

    let listed = other.get(&path).await;
    assert_eq!((listed.status.as_u16(), &listed.body), (200, &list));
    assert_eq!(listed.header(header::CONTENT_TYPE), "application/octet-stream");
}

#[tokio::test]
async fn only_what_a_record_names_is_taken() {
    let content = content(3_000);
    let (_other, hash, list) = elsewhere(&content);
    let served = Served::with(Limits { file_bytes: 5_000, ..Limits::default() });
    let path = format!("/api/attachments/{}/parts", hex(&hash));
    send(&served, &path, &list).await.is_refused(409, "file-not-named");
    pin(&served, &hash, 2_999).await;
    let problem = send(&served, &path, &list).await.is_refused(409, "other-size");
    assert!(problem["detail"].as_str().unwrap().contains("2999"), "{problem}");

    let mut altered = list.clone();
    altered[20] ^= 1;
    send(&served, &path, &altered).await.is_refused(422, "list-refused");
    send(&served, &path, b"").await.is_refused(422, "list-refused");
    send(&served, &path, &vec![1; 3 << 20]).await.is_refused(413, "body-too-large");
    send(&served, "/api/attachments/device.key/parts", &list).await.is_refused(400, "bad-path");
    send(&served, &format!("{path}/x"), &content).await.is_refused(400, "bad-path");
    send(&served, &format!("{path}/-1"), &content).await.is_refused(400, "bad-path");

    let (_other, large, list) = elsewhere(&self::content(5_001));
    pin(&served, &large, 5_001).await;
    let path = format!("/api/attachments/{}/parts", hex(&large));
    send(&served, &path, &list).await.is_refused(413, "file-too-large");
    assert_eq!(served.desk.attachments().all_arriving().unwrap(), Vec::<[u8; 32]>::new());
}

#[tokio::test]
async fn an_empty_file_is_brought_by_its_list() {
    let served = Served::new();
    let hash = *blake3::hash(b"").as_bytes();
    pin(&served, &hash, 0).await;
    let list = [&[1u8][..], &[0; 8]].concat();
    let begun = send(&served, &format!("/api/attachments/{}/parts", hex(&hash)), &list).await.json();
    assert_eq!((&begun["state"], &begun["bytes"]), (&json!("here"), &json!(0)));
    assert_eq!(served.get(&format!("/api/attachments/{}", hex(&hash))).await.body, b"");
}

#[tokio::test]
async fn odd_questions_for_files_are_refused() {
    let served = Served::new();
    wanted(&served, &["x".to_owned()]).await.is_refused(400, "bad-body");
    let many = vec!["0".repeat(64); ASKED_AT_ONCE + 1];
    wanted(&served, &many).await.is_refused(400, "bad-body");
    assert_eq!(wanted(&served, &many[1..]).await.json(), json!({ "files": [] }));
    let odd = served.send(Method::POST, "/api/attachments/wanted", &json!({ "files": [] })).await;
    odd.is_refused(400, "bad-body");
}

#[tokio::test]
async fn a_device_that_fetches_on_demand_wants_what_was_opened() {
    let content = content(10);
    let (_other, hash, _) = elsewhere(&content);
    let served = Served::new();
    pin(&served, &hash, content.len()).await;
    served.desk.set_files_policy(FilesPolicy::Asked).unwrap();
    let is_wanted = async || wanted(&served, &[hex(&hash)]).await.json()["files"][0]["wanted"] == json!(true);
    assert!(!is_wanted().await);
    served.get(&format!("/api/attachments/{}", hex(&hash))).await.is_refused(404, "not-here-yet");
    assert!(is_wanted().await);
    served.desk.keep_file(&mut &content[..]).unwrap();
    assert!(!is_wanted().await, "it is here");

    let (_other, second, _) = elsewhere(b"another");
    pin(&served, &second, 7).await;
    let hashes = json!({ "hashes": [hex(&second), hex(&hash), "0".repeat(64)] });
    let asked = served.send(Method::POST, "/api/attachments/fetch", &hashes).await.json();
    let wanted: Vec<bool> =
        asked["files"].as_array().unwrap().iter().map(|file| file["wanted"] == json!(true)).collect();
    assert_eq!(wanted, [true, false], "one is here, and one is named by no record");
}

#[tokio::test]
async fn the_state_of_a_file_is_shown_beside_it() {
    let content = content(10);
    let served = Served::new();
    let hash = *blake3::hash(&content).as_bytes();
    pin(&served, &hash, content.len()).await;
    let path = format!("/api/files?about=site:S{}", &hex(&hash)[..6]);
    let shown = async || served.get(&path).await.json()["files"][0].clone();
    let state = |file: &Value| (file["state"].clone(), file["held"].clone(), file["held_bytes"].clone());
    assert_eq!(state(&shown().await), (json!("missing"), json!(false), json!(0)));
    served.desk.keep_file(&mut &content[..]).unwrap();
    assert_eq!(state(&shown().await), (json!("here"), json!(true), json!(10)));
}

/// A black picture.
fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::DynamicImage::new_rgb8(width, height).write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

#[tokio::test]
async fn a_picture_has_a_small_copy() {
    let served = Served::new();
    let keep = |content: &[u8]| hex(&served.desk.keep_file(&mut &content[..]).unwrap().hash);
    let path = format!("/api/attachments/{}/thumbnail", keep(&png(1000, 500)));
    let small = served.get(&path).await;
    assert_eq!((small.status.as_u16(), small.header(header::CONTENT_TYPE)), (200, "image/jpeg"));
    let picture = image::load_from_memory(&small.body).unwrap();
    assert_eq!((picture.width(), picture.height()), (320, 160));
    let tag = small.header(header::ETAG).to_owned();
    let again = served.request(Method::GET, &path).header(header::IF_NONE_MATCH, tag);
    assert_eq!(served.answer(again.body(Body::empty()).unwrap()).await.status, 304);

    let text = format!("/api/attachments/{}/thumbnail", keep(b"a receipt"));
    served.get(&text).await.is_refused(404, "no-picture");
    served
        .get(&format!("/api/attachments/{}/thumbnail", "0".repeat(64)))
        .await
        .is_refused(404, "no-such-file");
    pin(&served, &[7; 32], 5).await;
    let missed = format!("/api/attachments/{}/thumbnail", hex(&[7; 32]));
    served.get(&missed).await.is_refused(404, "not-here-yet");
    served.get("/api/attachments/x/thumbnail").await.is_refused(400, "bad-path");
}
