//! Disks that fill or cannot be written: the reason and a next step, nothing lost, reading goes on.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
#![cfg(target_os = "linux")]

use std::process::Command;

/// Everything happens in a mount namespace of its own, so no rights are needed and nothing is left mounted.
const SCRIPT: &str = r#"
set -u
mount -t tmpfs -o size=9m tmpfs "$DISK"
"$STORYPOLE" --data "$DISK/notebook" init --demo >/dev/null || exit 90
"$STORYPOLE" --data "$DISK/notebook" --json digest > "$OUT/before"
head -c 1M /dev/zero > "$DISK/spare"
"$STORYPOLE" --data "$DISK/notebook" import "$OUT/readings.csv" > "$OUT/import.out" 2> "$OUT/import.err"
echo $? > "$OUT/import.code"
rm "$DISK/spare"
rm -rf "$DISK/notebook/index"
"$STORYPOLE" --data "$DISK/notebook" verify > "$OUT/verify" 2>&1
echo $? > "$OUT/verify.code"
"$STORYPOLE" --data "$DISK/notebook" log "swept up" --job J1 --date 2025-03-15 > "$OUT/log" 2>&1
echo $? > "$OUT/log.code"
"#;

/// A disk that turns read-only: what is there can be read, and writing says why not.
const READ_ONLY: &str = r#"
set -u
mount -t tmpfs -o size=40m tmpfs "$DISK"
"$STORYPOLE" --data "$DISK/notebook" init --demo >/dev/null || exit 90
mount -o remount,ro "$DISK"
"$STORYPOLE" --data "$DISK/notebook" finding T06 > "$OUT/finding" 2>&1
echo $? > "$OUT/finding.code"
"$STORYPOLE" --data "$DISK/notebook" log "swept up" --job J1 > "$OUT/log" 2>&1
echo $? > "$OUT/log.code"
"#;

fn run(script: &str) -> impl Fn(&str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let (disk, out) = (folder.path().join("disk"), folder.path().join("out"));
    std::fs::create_dir_all(&disk).unwrap();
    std::fs::create_dir_all(&out).unwrap();
    std::fs::write(out.join("readings.csv"), storypole_tests::readings_csv(12_000)).unwrap();
    let ran = Command::new("unshare")
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", script])
        .env("DISK", &disk)
        .env("OUT", &out)
        .env("STORYPOLE", storypole_tests::binary())
        .output()
        .unwrap();
    assert!(ran.status.success(), "the script itself failed: {}", String::from_utf8_lossy(&ran.stderr));
    move |name| std::fs::read_to_string(folder.path().join("out").join(name)).unwrap_or_default()
}

#[test]
fn a_read_only_disk_can_be_read() {
    let read = run(READ_ONLY);
    assert_eq!(read("finding.code").trim(), "0", "{}", read("finding"));
    assert!(read("finding").contains("at least 36.2"));
    assert_eq!(read("log.code").trim(), "1");
    assert!(read("log").contains("cannot be read or written by you"), "{}", read("log"));
}

#[test]
fn a_full_disk_is_said_and_nothing_is_lost() {
    let read = run(SCRIPT);
    assert_eq!(read("import.code").trim(), "1", "{} {}", read("import.out"), read("import.err"));
    assert!(read("import.err").contains("disk is full"), "{}", read("import.err"));
    assert!(read("import.err").contains("free some space"), "{}", read("import.err"));
    assert_eq!(read("verify.code").trim(), "0", "{}", read("verify"));
    assert_eq!(read("log.code").trim(), "0", "{}", read("log"));
}
