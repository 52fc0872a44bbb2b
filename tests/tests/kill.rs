//! The program is killed at random moments of an import. What it had acknowledged is there afterwards.
//!
//! `cargo xtask soak kill` runs the same 200 times; `STORYPOLE_KILLS` and `SEED` set number and seed.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use storypole_testkit::Chance;

/// Readings in the file: enough that an import takes longer than the longest wait before the kill.
const READINGS: usize = 6_000;

fn storypole(folder: &Path) -> Command {
    let mut command = Command::new(storypole_tests::binary());
    command.args(["--json", "--data", folder.to_str().unwrap()]);
    command
}

fn run(folder: &Path, arguments: &[&str]) -> String {
    let output = storypole(folder).args(arguments).output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Imports, kills at a random moment, and gives how many drafts had been acknowledged by then.
fn import_and_kill(folder: &Path, file: &Path, chance: &mut Chance) -> u64 {
    let mut import = storypole(folder)
        .args(["import", file.to_str().unwrap()])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let stdout = BufReader::new(import.stdout.take().unwrap());
    let pid = import.id();
    // Half of the kills wait for the first acknowledgement, so that they hit an import that is writing.
    let (begun, first) = std::sync::mpsc::channel();
    let (in_the_middle, wait) = (chance.below(2) == 0, Duration::from_millis(chance.below(500)));
    let killer = std::thread::spawn(move || {
        if in_the_middle {
            // The import may also end without one; then there is nothing to kill any more.
            let _ = first.recv();
        }
        std::thread::sleep(wait);
        // SIGKILL: the process gets no chance to tidy up.
        Command::new("kill").args(["-KILL", &pid.to_string()]).stderr(Stdio::null()).status().unwrap();
    });
    let mut acknowledged = 0;
    for line in stdout.lines() {
        let Ok(line) = line else { break };
        let Ok(said) = serde_json::from_str::<serde_json::Value>(&line) else { continue };
        if let Some(count) = said["acknowledged"].as_u64() {
            acknowledged = count;
            let _ = begun.send(());
        }
    }
    drop(begun);
    killer.join().unwrap();
    import.wait().unwrap();
    acknowledged
}

fn changes(folder: &Path) -> u64 {
    let digest: serde_json::Value = serde_json::from_str(&run(folder, &["digest"])).unwrap();
    digest["changes"].as_u64().unwrap()
}

#[test]
fn no_acknowledged_change_is_lost() {
    let number = |name: &str, default: u64| {
        std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(default)
    };
    let (kills, seed) = (number("STORYPOLE_KILLS", 20), number("SEED", 1));
    let mut chance = Chance::new(seed);
    let folder = tempfile::tempdir().unwrap();
    let template = folder.path().join("template");
    run(&template, &["init", "--demo"]);
    let file = folder.path().join("readings.csv");
    std::fs::write(&file, storypole_tests::readings_csv(READINGS)).unwrap();
    let base = changes(&template);
    let mut interrupted = 0;
    for kill in 0..kills {
        let notebook = folder.path().join(format!("notebook-{kill}"));
        let copied = Command::new("cp").arg("-r").args([&template, &notebook]).status().unwrap();
        assert!(copied.success());
        let acknowledged = import_and_kill(&notebook, &file, &mut chance);
        let held = changes(&notebook) - base;
        assert!(held >= acknowledged, "kill {kill}, SEED={seed}: {held} held of {acknowledged} acknowledged");
        interrupted += u64::from(held < READINGS as u64 && acknowledged > 0);
        run(&notebook, &["verify"]);
        if kill % 5 == 0 {
            // The same file again brings the rest and nothing twice.
            run(&notebook, &["import", file.to_str().unwrap()]);
            assert_eq!(changes(&notebook) - base, READINGS as u64);
            run(&notebook, &["verify"]);
        }
        std::fs::remove_dir_all(&notebook).unwrap();
    }
    println!("{kills} kills, {interrupted} in the middle of an import that had acknowledged something");
    assert!(interrupted > 0 || kills < 10, "the kills must hit imports that are under way");
}
