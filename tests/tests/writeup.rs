//! Write-ups as people make them: a folder, a zip, a preview, editions, clip marks; and everything that can stand in the way.
//!
//! The demo's numbers are invented; that files hold what findings say is tested in `writeup`, and the data by `tests/reference`.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use storypole_desk::publish::{Photos, Request};
use storypole_desk::{Desk, names};
use storypole_journal::WrittenAt;
use storypole_notebook::Value;
use storypole_tests::{binary, contains, demo, done, json, lacks, refused};
use storypole_writeup::Choices;

/// Every file below a folder, by path.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(place) = waiting.pop() {
        for entry in fs::read_dir(place).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                waiting.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().replace('\\', "/");
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// Width and height of a PNG: W3C PNG third edition, section 11.2.1, big-endian in the first chunk.
fn size(png: &[u8]) -> (u32, u32) {
    assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    let number = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
    (number(16), number(20))
}

#[test]
fn a_write_up_is_a_folder_with_everything() {
    let demo = demo();
    let data = demo.path();
    let blog = data.join("blog");
    let to = blog.to_str().unwrap();
    let said = done(data, &["writeup", "J1", "--date", "2025-05-24", "--out", to]);
    contains(&said, &["wrote", "cards/", "data/", "pictures/"]);
    let folder = blog.join("music-room-the-door-was-the-problem");
    let made = files(&folder);
    for name in [
        "index.md",
        "index.html",
        "post.txt",
        "chapters/four-walls.vtt",
        "chapters/four-walls.txt",
        "data/datapackage.json",
        "SHA256SUMS",
    ] {
        assert!(made.contains_key(name), "{name} is not among {:?}", made.keys());
    }
    // The hashes are those of a tool that is not ours.
    let checked = Command::new("sha256sum")
        .args(["--check", "--quiet", "SHA256SUMS"])
        .current_dir(&folder)
        .status()
        .unwrap();
    assert!(checked.success());
    let listed = String::from_utf8(made["SHA256SUMS"].clone()).unwrap();
    assert_eq!(listed.lines().count(), made.len() - 1, "every file but the list itself");
    for (shape, expected) in [("wide", (1920, 1080)), ("tall", (1080, 1920)), ("small", (1280, 720))] {
        let cards: Vec<_> =
            made.iter().filter(|(name, _)| name.starts_with(&format!("cards/{shape}-"))).collect();
        assert!(cards.len() >= 2, "{shape}: {:?}", made.keys());
        assert!(cards.iter().all(|(_, png)| size(png) == expected), "{shape}");
    }
    let text = String::from_utf8(made["index.md"].clone()).unwrap();
    contains(
        &text,
        &["date: \"2025-05-24\"", "![", "(pictures/", "Own money, no gifts.", "## Cautions", "## Limits"],
    );
    contains(&String::from_utf8(made["post.txt"].clone()).unwrap(), &["Own money, no gifts.", "laboratory"]);
    // Nothing of the place, of persons or of instruments leaves the notebook.
    for (name, bytes) in made.iter().filter(|(name, _)| !name.ends_with(".png")) {
        lacks(&String::from_utf8_lossy(bytes), &["Millrace", "Kestrel", "SN-"]);
        assert!(!name.contains(".."), "{name}");
    }
}

#[test]
fn the_same_notebook_and_choices_give_the_same_bytes() {
    let demo = demo();
    let data = demo.path();
    let words = |to: &str| {
        vec![
            "writeup".to_owned(),
            "J3".into(),
            "--date".into(),
            "2025-05-24".into(),
            "--out".into(),
            to.into(),
        ]
    };
    let run = |to: &str| {
        let words = words(to);
        done(data, &words.iter().map(String::as_str).collect::<Vec<_>>());
        files(&data.join(to))
    };
    let (one, other) = (data.join("one"), data.join("other"));
    let first = run(one.to_str().unwrap());
    let second = run(other.to_str().unwrap());
    assert_eq!(first.keys().collect::<Vec<_>>(), second.keys().collect::<Vec<_>>());
    for (name, bytes) in &first {
        assert!(bytes == &second[name], "{name} differs");
    }
    let zips: Vec<Vec<u8>> = ["a.zip", "b.zip"]
        .iter()
        .map(|zip| {
            let zip = data.join(zip);
            done(
                data,
                &[
                    "writeup",
                    "J3",
                    "--date",
                    "2025-05-24",
                    "--formats",
                    "markdown,data",
                    "--zip",
                    zip.to_str().unwrap(),
                ],
            );
            fs::read(zip).unwrap()
        })
        .collect();
    assert!(zips[0] == zips[1]);
    // Read by a program that is not ours.
    let tested = Command::new("python3")
        .args(["-m", "zipfile", "--test", data.join("a.zip").to_str().unwrap()])
        .output()
        .unwrap();
    contains(&String::from_utf8_lossy(&tested.stdout), &["Done testing"]);
}

#[test]
fn what_is_there_is_not_written_over() {
    let demo = demo();
    let data = demo.path();
    let blog = data.join("blog");
    let to = blog.to_str().unwrap();
    let words = ["writeup", "Q4", "--formats", "markdown", "--out", to];
    done(data, &[&words[..], &["--date", "2025-05-24"]].concat());
    let folder = fs::read_dir(&blog).unwrap().next().unwrap().unwrap().path();
    let before = files(&folder);
    contains(&refused(data, &words), &["is there already", "--force"]);
    assert_eq!(files(&folder), before, "it is as it was");
    fs::write(folder.join("notes.txt"), "mine").unwrap();
    contains(&refused(data, &[&words[..], &["--force"]].concat()), &["notes.txt", "move that file away"]);
    fs::remove_file(folder.join("notes.txt")).unwrap();
    done(data, &[&words[..], &["--force", "--date", "2025-05-25"]].concat());
    contains(&fs::read_to_string(folder.join("index.md")).unwrap(), &["2025-05-25"]);
    assert_eq!(fs::read_dir(&blog).unwrap().count(), 1, "nothing half written is left");
    let zip = data.join("walls.zip");
    let words = ["writeup", "Q4", "--formats", "post", "--zip", zip.to_str().unwrap()];
    done(data, &words);
    contains(&refused(data, &words), &["is there already", "--force"]);
    let file = data.join("a-file");
    fs::write(&file, "mine").unwrap();
    contains(&refused(data, &["writeup", "Q4", "--out", file.to_str().unwrap()]), &["next:"]);
    assert_eq!(fs::read(&file).unwrap(), b"mine");
}

#[test]
fn what_cannot_be_written_up_is_refused_with_a_next_step() {
    let demo = demo();
    let data = demo.path();
    contains(&refused(data, &["writeup", "S1"]), &["cannot be written up", "jobs --all"]);
    contains(&refused(data, &["writeup", "J1", "--date", "soon"]), &["is not a date"]);
    contains(&refused(data, &["writeup", "J99"]), &["J99"]);
    contains(&refused(data, &["writeup"]), &["nothing to write about", "--question"]);
    contains(
        &refused(data, &["writeup", "J1", "--formats", "pdf"]),
        &["no format called \"pdf\"", "markdown, page"],
    );
    contains(
        &refused(data, &["writeup", "J1", "--question", "cellulose or glass fibre"]),
        &["a question stands for itself"],
    );
    for part in ["limits", "cautions", "method", "left-out", "disclosure"] {
        contains(&refused(data, &["writeup", "J1", "--leave-out", part]), &["cannot be left out"]);
    }
    contains(&refused(data, &["writeup", "J1", "--leave-out", "weather"]), &["no part called weather"]);
    contains(
        &refused(data, &["writeup", "J1", "--order", "weather"]),
        &["no section called \"weather\"", "results"],
    );
    contains(
        &refused(data, &["writeup", "J1", "--link", "javascript:alert(1)"]),
        &["no address of a page", "https://"],
    );
    contains(&refused(data, &["writeup", "J1", "--formats", "post"]), &["not where", "--out DIR"]);
    contains(
        &refused(data, &["writeup", "J3", "--keep", "W1"]),
        &["W1 is about something else", "another label"],
    );
    contains(&refused(data, &["writeup", "J3", "--keep", "J5"]), &["J5 is the label of a job already"]);
    done(data, &["add", "job", "J9", "site=S1", "title=Nothing yet"]);
    contains(&refused(data, &["writeup", "J9"]), &["nothing was measured in J9 yet", "plan a test"]);
    done(data, &["strike", "test", "Q4", "--reason", "wrong room", "--even-so"]);
    contains(&refused(data, &["writeup", "Q4"]), &["is struck: wrong room", "reinstate"]);
    contains(&refused(data, &["writeup", "J1", "Q4"]), &["Q4 is struck: wrong room"]);
}

#[test]
fn several_jobs_and_a_question_are_written_up_too() {
    let demo = demo();
    let data = demo.path();
    let several = done(data, &["writeup", "J2", "J3", "J4", "J5", "--title", "Four walls"]);
    contains(&several, &["# Four walls", "J2", "J3", "J4", "J5", "+11.2", "+5.9", "+6.7"]);
    let once = done(data, &["writeup", "J3", "J3"]);
    contains(&once, &["jobs: [\"J3\"]"]);
    let asked = done(data, &["writeup", "--question", "cellulose or glass fibre"]);
    contains(&asked, &["cellulose", "glass fibre", "## Limits", "## Results"]);
    contains(&refused(data, &["writeup", "--question", "xyzzy"]), &["not understood: \"xyzzy\"", "ask like"]);
}

#[test]
fn an_author_leaves_out_and_reorders_and_it_is_said() {
    let demo = demo();
    let data = demo.path();
    let text = done(data, &["writeup", "J2", "--leave-out", "cost,set:T08", "--order", "results,question"]);
    lacks(&text, &["## Cost"]);
    contains(&text, &["Left out of this write-up by its author: set T08"]);
    assert!(text.find("## Results").unwrap() < text.find("## Question").unwrap());
    done(
        data,
        &[
            "writeup",
            "J2",
            "--title",
            "Door first",
            "--leave-out",
            "cost",
            "--keep",
            "W7",
            "--formats",
            "post",
        ],
    );
    let kept = done(data, &["writeup", "W7"]);
    contains(&kept, &["# Door first"]);
    lacks(&kept, &["## Cost"]);
}

#[test]
fn a_number_that_changes_later_marks_what_was_printed() {
    let demo = demo();
    let data = demo.path();
    let blog = data.join("blog");
    let out = |day: &str| {
        let to = blog.join(day);
        let words = [
            "writeup",
            "J3",
            "--date",
            day,
            "--formats",
            "markdown",
            "--conclusion",
            "Sealing alone gave 3.2 dB.",
            "--out",
            to.to_str().unwrap(),
        ];
        done(data, &words);
        let folder = fs::read_dir(&to).unwrap().next().unwrap().unwrap().path();
        fs::read_to_string(folder.join("index.md")).unwrap()
    };
    lacks(&out("2025-05-24"), &["Changed since", "Written when"]);
    done(data, &["test", "correct", "T11", "R1", "53.2 dBA", "--reason", "read the wrong line"]);
    contains(
        &done(data, &["writeup", "J3", "--preview"]),
        &["Changed since an edition", "printed on 2025-05-24"],
    );
    contains(&done(data, &["today", "--marks"]), &["write-up"]);
    let later = out("2025-06-01");
    contains(
        &later,
        &["Changed since the edition of 2025-05-24", "Sealing alone gave 3.2 dB.", "updated: \"2025-06-01\""],
    );
    contains(&later, &["Written when"]);
    lacks(&done(data, &["writeup", "J3", "--preview"]), &["Changed since an edition"]);
    lacks(&done(data, &["today", "--marks"]), &["a write-up of"]);
}

#[test]
fn a_preview_shows_what_leaves_and_writes_nothing() {
    let demo = demo();
    let data = demo.path();
    let before = done(data, &["digest"]);
    let text = done(data, &["writeup", "J1", "--preview", "--shapes", "wide"]);
    contains(
        &text,
        &[
            "Leaves the notebook",
            "Stays in the notebook",
            "site lead",
            "cards/wide-dark-1.png",
            "data/readings.csv",
            "disclosure: Own money, no gifts.",
        ],
    );
    assert_eq!(done(data, &["digest"]), before);
    let json = json(data, &["writeup", "J1", "--preview", "--formats", "post"]);
    assert_eq!(json["files"][0]["path"], "SHA256SUMS");
    assert_eq!(json["files"][1]["path"], "post.txt");
    assert!(json["headlines"][0]["limits"].as_array().is_some_and(|limits| !limits.is_empty()));
}

/// A JPEG of one colour with what cameras hide: place, serial number, comment.
fn photo(path: &Path) {
    let mut plain = Vec::new();
    let pixels = image::RgbImage::from_pixel(64, 48, image::Rgb([120, 90, 60]));
    image::codecs::jpeg::JpegEncoder::new(&mut plain).encode_image(&pixels).unwrap();
    let hidden = b"Exif\0\0GPS 12 Invented Row, serial SN-77123";
    let mut bytes = plain[..2].to_vec();
    bytes.extend([0xff, 0xe1]);
    bytes.extend(u16::try_from(hidden.len() + 2).unwrap().to_be_bytes());
    bytes.extend(hidden);
    bytes.extend(&plain[2..]);
    fs::write(path, bytes).unwrap();
}

#[test]
fn photographs_go_without_what_cameras_hide() {
    let demo = demo();
    let data = demo.path();
    let (good, bad) = (data.join("boxes.jpg"), data.join("broken.jpg"));
    photo(&good);
    done(data, &["attach", good.to_str().unwrap(), "--to", "A03", "--caption", "boxes offset, tight"]);
    let blog = data.join("blog");
    let words =
        ["writeup", "J1", "--photos", "all", "--formats", "markdown,page", "--out", blog.to_str().unwrap()];
    done(data, &words);
    let folder = fs::read_dir(&blog).unwrap().next().unwrap().unwrap().path();
    let made = files(&folder);
    let photo = &made["photos/boxes.jpg"];
    assert!(!photo.windows(8).any(|part| part == b"SN-77123"));
    assert_eq!(image::load_from_memory(photo).unwrap().width(), 64);
    contains(&String::from_utf8_lossy(&made["index.md"]), &["boxes offset, tight"]);
    contains(
        &done(data, &["writeup", "J1", "--photos", "all", "--preview"]),
        &["boxes.jpg", "notes of the camera taken out"],
    );

    fs::write(&bad, &fs::read(&good).unwrap()[..200]).unwrap();
    done(data, &["attach", bad.to_str().unwrap(), "--to", "A03"]);
    let again = data.join("again");
    let words = ["writeup", "J1", "--photos", "all", "--out", again.to_str().unwrap()];
    contains(&refused(data, &words), &["broken.jpg", "cannot go along", "leave it out"]);
    assert!(!again.exists(), "nothing was begun");
    contains(&done(data, &["writeup", "J1", "--photos", "none"]), &["## Results"]);
}

#[test]
fn places_in_a_film_are_noted_in_one_short_command() {
    let demo = demo();
    let data = demo.path();
    contains(
        &done(data, &["clip"]),
        &["four-walls.mp4", "3:30", "Music room: the door was the problem", "12:50"],
    );
    contains(
        &done(data, &["clip", "13:40", "What", "comes", "next"]),
        &["four-walls.mp4 at 13:40, What comes next"],
    );
    contains(&done(data, &["clip", "rim.mp4", "0:00", "Question", "--about", "Q7"]), &["rim.mp4 at 0:00"]);
    contains(&done(data, &["clip", "1:02:03.5", "Foam in"]), &["rim.mp4 at 1:02:03.5"]);
    contains(&done(data, &["clip", "films/RIM.mp4", "2", "s", "Cut"]), &["rim.mp4 at 0:02, Cut"]);
    contains(&done(data, &["clip", "--strike", "rim.mp4", "0:02"]), &["struck: rim.mp4 at 0:02"]);
    contains(&refused(data, &["clip", "--strike", "rim.mp4", "0:02"]), &["nothing is noted at 0:02"]);
    contains(&refused(data, &["clip", "rim.mp4", "Foam"]), &["no time behind", "3:30"]);
    contains(&refused(data, &["clip", "rim.mp4", "0:10"]), &["what is shown there was not said"]);
    let blog = data.join("blog");
    done(data, &["writeup", "Q7", "--formats", "chapters", "--out", blog.to_str().unwrap()]);
    let folder = fs::read_dir(&blog).unwrap().next().unwrap().unwrap().path();
    let chapters = fs::read_to_string(folder.join("chapters/rim.vtt")).unwrap();
    contains(&chapters, &["WEBVTT", "01:02:03.500 -->", "Foam in"]);
    contains(
        &fs::read_to_string(folder.join("chapters/rim.txt")).unwrap(),
        &["0:00 Question", "1:02:03 Foam in"],
    );
}

/// Disks that fill, and folders that may not be written: a reason, a next step, and nothing half written.
#[cfg(target_os = "linux")]
#[test]
fn a_full_or_closed_disk_leaves_nothing_half_written() {
    const SCRIPT: &str = r#"
set -u
mount -t tmpfs -o size=300k tmpfs "$DISK"
"$STORYPOLE" --data "$DATA" writeup J1 --unrecorded --out "$DISK/blog" > "$OUT/full" 2>&1
echo $? > "$OUT/full.code"
find "$DISK" -mindepth 1 > "$OUT/full.left"
"$STORYPOLE" --data "$DATA" writeup J1 --unrecorded --zip "$DISK/walls.zip" > "$OUT/zip" 2>&1
echo $? > "$OUT/zip.code"
find "$DISK" -type f > "$OUT/zip.left"
mount -o remount,ro "$DISK"
"$STORYPOLE" --data "$DATA" writeup J1 --unrecorded --formats post --out "$DISK/blog" > "$OUT/closed" 2>&1
echo $? > "$OUT/closed.code"
"#;
    let demo = demo();
    let place = tempfile::tempdir().unwrap();
    let (disk, out) = (place.path().join("disk"), place.path().join("out"));
    fs::create_dir_all(&disk).unwrap();
    fs::create_dir_all(&out).unwrap();
    let ran = Command::new("unshare")
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", SCRIPT])
        .envs([("DISK", disk.as_path()), ("OUT", &out), ("DATA", demo.path()), ("STORYPOLE", binary())])
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let read = |name: &str| fs::read_to_string(out.join(name)).unwrap_or_default();
    for name in ["full", "zip"] {
        assert_eq!(read(&format!("{name}.code")).trim(), "1", "{}", read(name));
        contains(&read(name), &["is full", "free some space"]);
    }
    assert_eq!(
        read("full.left").lines().filter(|line| !line.ends_with("/blog")).count(),
        0,
        "{}",
        read("full.left")
    );
    assert_eq!(read("zip.left"), "");
    assert_eq!(read("closed.code").trim(), "1");
    contains(&read("closed"), &["may not be written by you", "choose another folder"]);
}

/// What a browser asks for one by one is made once; what is written meanwhile shows at once.
#[test]
fn a_write_up_is_kept_until_the_log_moves() {
    let demo = demo();
    let desk = Desk::open(demo.path()).unwrap();
    let ask = |name: &str| {
        let about = vec![names::find_any(&desk, name).unwrap()];
        let choices = Choices::new("2025-05-24".parse().unwrap(), "0.1.0");
        desk.kept_write_up(&Request { about, question: None, photos: Photos::Stored, choices }).unwrap()
    };
    let first = ask("J1");
    assert!(Arc::ptr_eq(&first, &ask("J1")), "the second asks for the same document");
    let other = ask("Q2");
    assert!(Arc::ptr_eq(&first, &ask("J1")) && Arc::ptr_eq(&other, &ask("Q2")), "both are kept");
    let (_, writeup) = names::find_any(&desk, "W1").unwrap();
    let mut compose = desk.compose(WrittenAt { unix_ms: 1_748_000_000_000, offset_min: 0 });
    compose.set(writeup, "writeup", "licence", &Value::Text("CC0-1.0".to_owned())).unwrap();
    desk.take(compose.finish()).unwrap();
    let now = ask("J1");
    assert_eq!((first.document.licence.as_str(), now.document.licence.as_str()), ("CC-BY-4.0", "CC0-1.0"));
    assert!(!Arc::ptr_eq(&first, &now) && Arc::ptr_eq(&now, &ask("J1")));
    assert!(!Arc::ptr_eq(&other, &ask("Q2")), "what was kept of the state before is gone");
}
