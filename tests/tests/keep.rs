//! The real program: backup, restore, verify of both, backups made while it serves, everything out as text and in again.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use storypole_tests::{Client, Notebook, Said, Served, run};

/// Far more than a backup of the demo takes on a slow computer.
const PATIENCE: Duration = Duration::from_secs(120);

fn said(data: &Path, words: &[&str]) -> Said {
    Said::of(&run(data, words))
}

fn parsed(said: Said) -> Value {
    serde_json::from_str(&said.done().out).unwrap()
}

#[test]
fn a_backup_is_made_looked_through_and_restored_twice() {
    let notebook = Notebook::demo();
    let picture = notebook.file("before.txt", "the wall before the board went on");
    notebook.run(&["attach", &picture, "--to", "A03"]).done();
    let file = notebook.folder.path().join("backup.tar");
    let backup = file.to_str().unwrap();
    notebook.run(&["backup", backup]).done().prints("may write at once");
    let before = notebook.json(&["digest"]);
    notebook.run(&["backup", backup]).refused("is there already").says("--replace");
    notebook.run(&["backup", backup, "--replace"]).done();
    notebook.run(&["verify", backup]).done().prints("nothing is wrong").prints("1 attached file");
    let found = notebook.json(&["verify", backup]);
    assert_eq!(found["changes"], before["changes"]);
    assert_eq!((&found["log_agrees"], &found["tables_agree"]), (&json!(true), &json!(true)));

    let mut devices = vec![notebook.json(&["digest"])["log"].clone()];
    for copy in ["one", "two"] {
        let data = notebook.folder.path().join(copy);
        let restored = parsed(said(&data, &["restore", backup, "--json", "--label", copy]));
        assert_eq!((&restored["may_write"], &restored["label"]), (&json!(true), &json!(copy)));
        devices.push(restored["device"].clone());
        said(&data, &["verify"]).done().prints("nothing is wrong").prints("1 of 1 held");
        said(&data, &["finding", "J1"]).done();
        said(&data, &["log", "swept up", "--job", "J1", "--date", "2025-03-15"]).done();
        said(&data, &["restore", backup]).refused("already a notebook");
    }
    devices.sort_by_key(Value::to_string);
    devices.dedup();
    assert_eq!(devices.len(), 3);
}

/// Another program for such files takes the backup apart: the `tarfile` module of Python's standard library.
#[test]
fn other_programs_can_take_a_backup_apart() {
    let notebook = Notebook::demo();
    let picture = notebook.file("before.txt", "the wall before the board went on");
    notebook.run(&["attach", &picture, "--to", "A03"]).done();
    let file = notebook.folder.path().join("backup.tar");
    notebook.run(&["backup", file.to_str().unwrap()]).done();
    let script = "import json, sqlite3, sys, tarfile\n\
        with tarfile.open(sys.argv[1]) as archive:\n    \
            manifest = json.load(archive.extractfile('manifest.json'))\n    \
            archive.extract('notebook.db', sys.argv[2])\n    \
            print(json.dumps([archive.getnames(), [m.size for m in archive.getmembers()], manifest['name']]))\n\
        database = sqlite3.connect(sys.argv[2] + '/notebook.db')\n\
        print(database.execute('select count(*) from changes').fetchone()[0])\n\
        print([database.execute('select count(*) from ' + t).fetchone()[0] for t in ('sessions', 'partners', 'settings')])\n";
    let out = notebook.folder.path().join("out");
    fs::create_dir(&out).unwrap();
    let ran = Command::new("python3").args(["-c", script]).arg(&file).arg(&out).output().unwrap();
    let text = String::from_utf8(ran.stdout).unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let lines: Vec<&str> = text.lines().collect();
    let listed: Value = serde_json::from_str(lines[0]).unwrap();
    let hash = "attachments/";
    let names: Vec<&str> = listed[0].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    assert_eq!(
        (names.len(), names[0], names[1], names[2]),
        (5, "manifest.json", "notebook.db", "restore.key")
    );
    assert!(names[3].starts_with(hash) && names[3].len() == hash.len() + 64 && names[4] == "seal");
    assert_eq!(listed[1][3], "the wall before the board went on".len());
    assert_eq!(lines[1].parse::<u64>().unwrap(), notebook.changes());
    assert_eq!(lines[2], "[0, 0, 0]");
}

#[test]
fn a_damaged_backup_is_refused_with_what_and_where() {
    let notebook = Notebook::demo();
    let file = notebook.folder.path().join("backup.tar");
    let backup = file.to_str().unwrap();
    notebook.run(&["backup", backup]).done();
    let mut bytes = fs::read(&file).unwrap();
    let half = bytes.len() / 2;
    bytes[half] ^= 1;
    fs::write(&file, &bytes).unwrap();
    let target = notebook.folder.path().join("target");
    for words in [["verify", backup], ["restore", backup]] {
        said(&target, &words).refused("notebook.db").says("is not what was backed up: use another backup");
    }
    fs::write(&file, &bytes[..half]).unwrap();
    for words in [["verify", backup], ["restore", backup]] {
        said(&target, &words).refused("cut short at byte").says("use another backup");
    }
    assert!(!target.exists());
    notebook.run(&["verify", "nowhere.tar"]).refused("cannot be opened");
}

#[test]
fn everything_goes_out_as_text_and_comes_in_again() {
    let notebook = Notebook::demo();
    let file = notebook.folder.path().join("all.jsonl");
    let path = file.to_str().unwrap();
    notebook.run(&["export", "--all", path]).done();
    notebook.run(&["export", "--all", path]).refused("is there already");
    assert_eq!(notebook.run(&["export", path]).code, 2);
    let copy = notebook.folder.path().join("copy");
    said(&copy, &["import", path]).done().prints("exactly what was exported").prints("lets it write");
    assert_eq!(parsed(said(&copy, &["digest", "--json"])), notebook.json(&["digest"]));
    said(&copy, &["log", "swept up", "--job", "J1"]).refused("may not write");
    said(&copy, &["import", path]).done().prints("0 changes new");
    said(&copy, &["import", path, "--dry-run"]).refused("by itself");

    // Another notebook refuses it, and a file of rows is still one.
    let other = Notebook::none();
    other.run(&["init"]).done();
    let rows = other.file("rows.jsonl", "{\"kind\":\"site\",\"label\":\"S9\",\"name\":\"Millrace house\"}\n");
    other.run(&["import", path]).refused("another one");
    other.run(&["import", &rows]).done().prints("1 new");
    other.run(&["import", &rows, "--restore-pass", path]).refused("--restore-pass");

    // With a keeper's pass the copy may write.
    let backup = notebook.folder.path().join("backup.tar");
    notebook.run(&["backup", backup.to_str().unwrap()]).done();
    let folder = notebook.folder.path().join("all");
    notebook.run(&["export", "--all", folder.to_str().unwrap()]).done().prints("0 attached files");
    let pass = notebook.data().join("restore.key");
    let second = notebook.folder.path().join("second");
    let words = ["import", folder.to_str().unwrap(), "--restore-pass", pass.to_str().unwrap()];
    said(&second, &words).done();
    said(&second, &["log", "swept up", "--job", "J1", "--date", "2025-03-15"]).done();
}

/// Waits until `is` holds of the answer.
fn wait(client: &Client, is: impl Fn(&Value) -> bool) -> Value {
    let until = Instant::now() + PATIENCE;
    loop {
        let answer = client.get("/api/backups");
        assert_eq!(answer.status, 200, "{answer:?}");
        let view = answer.json();
        if is(&view) {
            return view;
        }
        assert!(Instant::now() < until, "{view}");
        // Nobody may ask without pause.
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
}

#[test]
fn backups_are_made_while_it_serves() {
    let notebook = Notebook::demo();
    let kept = notebook.folder.path().join("kept");
    fs::create_dir(&kept).unwrap();
    let served = Served::start_with(&notebook.data(), &["--backup-to", kept.to_str().unwrap()]);
    let client = served.join();
    let view = wait(&client, |view| view["last_good"].is_object() && view["at_work"] == false);
    assert_eq!((&view["plan"]["every_s"], &view["plan"]["keep"]), (&json!(86_400), &json!(14)));
    let made = client.ask("POST", "/api/backups", Some(&json!({})));
    assert_eq!(made.status, 201, "{made:?}");
    let file = kept.join(made.json()["file"].as_str().unwrap());
    // Beside the server, both can be looked through, and a backup be made by hand.
    notebook.run(&["verify"]).done().prints("nothing is wrong");
    notebook.run(&["verify", file.to_str().unwrap()]).done().prints("may write at once");
    let own = notebook.folder.path().join("own.tar");
    notebook.run(&["backup", own.to_str().unwrap()]).done().prints("may write at once");
    assert_eq!(served.stop("TERM").code, 0);
    assert_eq!(fs::read_dir(&kept).unwrap().count(), 2);
    let again = notebook.folder.path().join("again");
    said(&again, &["restore", file.to_str().unwrap()]).done().prints("it may write");
}

#[test]
fn a_folder_for_backups_that_is_not_there_is_told() {
    let notebook = Notebook::demo();
    let served = Served::start_with(&notebook.data(), &["--backup-to", "/nowhere/at/all"]);
    let client = served.join();
    let view = wait(&client, |view| view["last_failure"].is_object());
    assert!(view["last_failure"]["reason"].as_str().unwrap().contains("plug its disk in"), "{view}");
    let made = client.ask("POST", "/api/backups", Some(&json!({})));
    assert_eq!((made.status, made.code().as_str()), (500, "backup-failed"));
    assert_eq!(served.stop("TERM").code, 0);
    let mut command = notebook.command(&["serve", "--backup-to", "x", "--backup-every", "24"]);
    let output = command.stdin(Stdio::null()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}
