//! A disk that fills: the reason and a next step, nothing lost, and on it goes once there is space.
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

#[test]
fn a_full_disk_is_said_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let (disk, out) = (folder.path().join("disk"), folder.path().join("out"));
    std::fs::create_dir_all(&disk).unwrap();
    std::fs::create_dir_all(&out).unwrap();
    std::fs::write(out.join("readings.csv"), storypole_tests::readings_csv(12_000)).unwrap();
    let ran = Command::new("unshare")
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", SCRIPT])
        .env("DISK", &disk)
        .env("OUT", &out)
        .env("STORYPOLE", storypole_tests::binary())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ran.stderr);
    assert!(ran.status.success(), "the script itself failed: {said}");
    let read = |name: &str| std::fs::read_to_string(out.join(name)).unwrap_or_default();
    assert_eq!(read("import.code").trim(), "1", "{} {}", read("import.out"), read("import.err"));
    assert!(read("import.err").contains("disk is full"), "{}", read("import.err"));
    assert!(read("import.err").contains("free some space"), "{}", read("import.err"));
    assert_eq!(read("verify.code").trim(), "0", "{}", read("verify"));
    assert_eq!(read("log.code").trim(), "0", "{}", read("log"));
}
