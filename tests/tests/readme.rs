//! The commands in README.md work as they stand there.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::process::Command;

use storypole_acoustics::wav::{WriteCoding, WriteFormat, Writer};

/// The commands of a section: its indented lines.
fn commands(heading: &str) -> Vec<String> {
    let readme = include_str!("../../README.md");
    let begin = readme.find(heading).unwrap_or_else(|| panic!("README.md has a section {heading}"));
    let body = &readme[begin + heading.len()..];
    let end = body.find("\n## ").unwrap_or(body.len());
    let lines = body[..end].lines().filter_map(|line| line.strip_prefix("    "));
    lines.map(str::to_owned).collect()
}

fn run(heading: &str, leave_out: &str, least: usize) -> String {
    run_beside(heading, leave_out, least, "", &[])
}

/// Runs a section behind a first line, where recordings lie about, 48 kHz and 24 bits.
fn run_beside(
    heading: &str,
    leave_out: &str,
    least: usize,
    first: &str,
    recordings: &[(&str, Vec<f64>)],
) -> String {
    let folder = tempfile::tempdir().unwrap();
    for (name, samples) in recordings {
        let file = std::io::BufWriter::new(std::fs::File::create(folder.path().join(name)).unwrap());
        let format = WriteFormat {
            sample_rate_hz: 48_000,
            coding: WriteCoding::Signed24,
            frames: samples.len() as u64,
        };
        let mut writer = Writer::new(file, format).unwrap();
        writer.write(samples).unwrap();
        writer.finish().unwrap();
    }
    let commands = commands(heading);
    assert!(commands.iter().filter(|line| line.starts_with("storypole")).count() >= least, "{commands:?}");
    let script = commands.into_iter().filter(|line| !line.contains(leave_out)).collect::<Vec<_>>().join("\n");
    let ran = Command::new("sh")
        .args(["-e", "-c", &format!("storypole() {{ \"$STORYPOLE\" \"$@\"; }}\n{first}\n{script}")])
        .current_dir(folder.path())
        .env("STORYPOLE", storypole_tests::binary())
        .env("XDG_DATA_HOME", folder.path().join("data"))
        .env("HOME", folder.path())
        .env_remove("STORYPOLE_DATA")
        .output()
        .unwrap();
    let (out, err) = (String::from_utf8_lossy(&ran.stdout), String::from_utf8_lossy(&ran.stderr));
    assert!(ran.status.success(), "{heading} stops: {out}\n{err}");
    out.into_owned()
}

#[test]
fn ten_minutes_with_the_example() {
    let said = run("## Ten minutes with the example", "(nothing)", 7);
    for expected in ["the opening is the limit", "at least 36.2", "cannot be told apart", "34.8 dB"] {
        assert!(said.contains(expected), "{expected} is missing in {said}");
    }
}

/// What the section on recordings speaks of: a calibrator whose tone has an rms of 0.05, two rooms, one of them quiet, and a clap in a
/// room that rings for 0.5 s.
fn recordings() -> Vec<(&'static str, Vec<f64>)> {
    let tone = |n: u32| 0.05 * 2f64.sqrt() * (2.0 * std::f64::consts::PI * f64::from(n) / 48.0).sin();
    let mut state = 1_u32;
    let mut noise = |seconds: u32, level: f64, decay_s: f64| -> Vec<f64> {
        let sample = |n: u32| {
            // Numerical Recipes' quick generator: any noise will do here.
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let falls = 10f64.powf(-3.0 * f64::from(n) / 48_000.0 / decay_s);
            level * falls * (f64::from(state) / f64::from(u32::MAX) - 0.5)
        };
        (0..seconds * 48_000).map(sample).collect()
    };
    let clap = [noise(1, 1e-5, f64::INFINITY), noise(2, 1.0, 0.5)].concat();
    vec![
        ("calibrator.wav", (0..6 * 48_000).map(tone).collect()),
        ("music-room.wav", noise(20, 0.4, f64::INFINITY)),
        ("hall.wav", noise(20, 0.02, f64::INFINITY)),
        ("hall-quiet.wav", noise(10, 0.0005, f64::INFINITY)),
        ("clap.wav", clap),
    ]
}

#[test]
fn a_notebook_and_a_test_of_ones_own() {
    // The files of the import line are the reader's own.
    let said = run_beside("## Your own notebook", "storypole import", 12, "", &recordings());
    assert!(said.contains("a full-scale sine in its recordings is 117.0"), "{said}");
    assert!(
        said.contains("12 to 15 s: a truck passed") && said.contains("reverberation at R1 0.5"),
        "{said}"
    );
    assert!(said.contains("132.91") && said.contains("corrected from 69.1 dBA to 61.9 dBA"), "{said}");
}

#[test]
fn from_notebook_to_video_and_blog() {
    let said = run_beside("## From notebook to video and blog", "(nothing)", 8, "storypole init --demo", &[]);
    for expected in
        ["walls.mp4", "Leaves the notebook", "music-room-the-door-was-the-problem", "wrote walls.zip"]
    {
        assert!(said.contains(expected), "{expected} is missing in {said}");
    }
}
