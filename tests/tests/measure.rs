//! A recording measured through the command line, from the test sound to the finding.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::Path;

use realfft::RealFftPlanner;
use realfft::num_complex::Complex;
use serde_json::Value;
use storypole_acoustics::wav::{Reader, WriteCoding, WriteFormat, Writer};
use storypole_tests::Notebook;

/// Level difference of the wall that is simulated, dB: 4.5 dB an octave from 20 dB at 125 Hz, with a wave of 0.7 dB on it. Smooth, so
/// that what a filter lets in from beside its band does not move the band's level: the mean over a band is within 0.1 dB of the value at its
/// middle.
fn wall_db(hz: f64) -> f64 {
    let octaves = (hz.max(20.0) / 125.0).log2();
    20.0 + 4.5 * octaves.clamp(-2.0, 5.5) + 0.7 * (octaves * std::f64::consts::PI).sin()
}

fn samples(path: &Path) -> (u32, Vec<f64>) {
    let mut reader = Reader::open(BufReader::new(File::open(path).unwrap())).unwrap();
    let rate_hz = reader.format().sample_rate_hz();
    assert_eq!((reader.format().bits(), reader.format().channels()), (24, 1));
    let (mut all, mut block) = (Vec::new(), [0.0; 4096]);
    loop {
        let count = reader.read(0, &mut block).unwrap();
        if count == 0 {
            return (rate_hz, all);
        }
        all.extend_from_slice(&block[..count]);
    }
}

fn write(path: &Path, rate_hz: u32, samples: &[f64]) {
    let format =
        WriteFormat { sample_rate_hz: rate_hz, coding: WriteCoding::Signed24, frames: samples.len() as u64 };
    let mut writer = Writer::new(BufWriter::new(File::create(path).unwrap()), format).unwrap();
    writer.write(samples).unwrap();
    writer.finish().unwrap();
}

/// What arrives behind the wall: each frequency lowered by what the wall takes, exactly, in one transform of the whole.
fn through_the_wall(rate_hz: u32, samples: &[f64]) -> Vec<f64> {
    let count = samples.len();
    let mut planner = RealFftPlanner::<f64>::new();
    let (forward, back) = (planner.plan_fft_forward(count), planner.plan_fft_inverse(count));
    let mut spectrum: Vec<Complex<f64>> = forward.make_output_vec();
    forward.process(&mut samples.to_vec(), &mut spectrum).unwrap();
    for (index, bin) in spectrum.iter_mut().enumerate() {
        let hz = index as f64 * f64::from(rate_hz) / count as f64;
        *bin *= 10f64.powf(-wall_db(hz) / 20.0) / count as f64;
    }
    // The first and the last bin of a real transform have no phase.
    spectrum[0].im = 0.0;
    if let Some(last) = spectrum.last_mut() {
        last.im = 0.0;
    }
    let mut arrived = back.make_output_vec();
    back.process(&mut spectrum, &mut arrived).unwrap();
    arrived
}

#[test]
fn a_known_wall_is_measured_from_the_test_sound_to_the_finding() {
    let notebook = Notebook::demo();
    let folder = notebook.data();
    let at = |name: &str| folder.join("..").join(name);
    let text = |name: &str| at(name).to_str().unwrap().to_owned();
    notebook
        .run(&["signal", &text("pink.wav"), "--label", "pink-20s", "--seconds", "20", "--seed", "7"])
        .done();
    let (rate_hz, played) = samples(&at("pink.wav"));
    assert_eq!(rate_hz, 48_000);
    // The room has the sound a little quieter than the file, and each spot hears it at another moment.
    let in_the_room: Vec<f64> = played.iter().map(|sample| 0.8 * sample).collect();
    let mut behind = through_the_wall(rate_hz, &in_the_room);
    write(&at("room.wav"), rate_hz, &in_the_room);
    write(&at("behind-1.wav"), rate_hz, &behind);
    behind.rotate_left(48_000);
    write(&at("behind-2.wav"), rate_hz, &behind);
    notebook
        .run(&[
            "test",
            "set",
            "T30",
            "--test",
            "Q1",
            "--stage",
            "after",
            "--assembly",
            "A04",
            "--from",
            "R1",
            "--to",
            "R2",
            "--signal",
            "pink-20s",
            "--meter",
            "M1",
            "--no-guide",
        ])
        .done();
    for (file, place) in [("room.wav", "S1"), ("behind-1.wav", "R1"), ("behind-2.wav", "R2")] {
        let said = notebook
            .run(&["measure", &text(file), "--set", "T30", "--position", place, "--full-scale", "117"])
            .done();
        assert!(said.out.contains("T30"), "{}", said.out);
    }
    let finding = notebook.json(&["finding", "T30"]);
    let rows = finding["bands"]["rows"].as_array().unwrap();
    let mut compared = 0;
    for row in rows {
        let label_hz = row["band"].as_f64().unwrap();
        if !(100.0..=5000.0).contains(&label_hz) {
            continue;
        }
        // Mid-bands are exact powers of ten (IEC 61260-1): the label 160 stands for 158.49 Hz.
        let exact_hz = 1000.0 * 10f64.powf((10.0 * (label_hz / 1000.0).log10()).round() / 10.0);
        let got_db = row["level_difference"]["value"].as_f64().unwrap();
        assert!(
            (got_db - wall_db(exact_hz)).abs() < 0.2,
            "{label_hz} Hz: {got_db}, not {}",
            wall_db(exact_hz)
        );
        compared += 1;
    }
    assert_eq!(compared, 18, "every third octave from 100 to 5000 Hz");
    let names: Vec<&str> = finding["bands"]["ratings"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|rating| rating["name"].as_str())
        .collect();
    assert_eq!(names, ["NIC", "Dw"]);
    let said = notebook.run(&["finding", "T30"]).done();
    assert!(said.out.contains("By third octave") && said.out.contains("3.15 kHz"), "{}", said.out);
    assert!(!said.out.contains("STC") && !said.out.contains("Rw"), "{}", said.out);
    let flags = finding["flags"].to_string();
    assert!(!flags.contains("recording-reused") && !flags.contains("calibration-drift"), "{flags}");
    // The same file again, and on another full scale: neither counts.
    let again = ["measure", &text("behind-1.wav"), "--set", "T30", "--position", "R3", "--full-scale", "120"];
    notebook.run(&again).done();
    let flags = notebook.json(&["finding", "T30"])["flags"].to_string();
    assert!(
        flags.contains("recording-reused") && flags.contains("full scale for 117.0 to 120.0 dB"),
        "{flags}"
    );
    // The recording is kept by its content, and the reading says where it is from.
    let reading = notebook.json(&["show", "T30/R1"]);
    assert!(reading["bands"].as_str().unwrap().starts_with("third dBZ:"), "{reading}");
    assert!(reading["recording"].is_string() && reading["calibration"].is_string(), "{reading}");
    let kept = std::fs::read_dir(folder.join("attachments")).unwrap().count();
    assert!(kept > 0);
}

#[test]
fn what_no_level_can_be_made_of_is_refused_in_plain_words() {
    let notebook = Notebook::demo();
    let at = |name: &str| notebook.data().join("..").join(name);
    let text = |name: &str| at(name).to_str().unwrap().to_owned();
    let second = vec![0.0; 48_000];
    write(&at("silent.wav"), 48_000, &second);
    write(&at("dc.wav"), 48_000, &vec![0.25; 48_000]);
    let tone: Vec<f64> = (0..48_000).map(|n| 0.2 * (f64::from(n) * 0.13).sin()).collect();
    write(&at("tone.wav"), 48_000, &tone);
    let loud: Vec<f64> = tone.iter().map(|sample| (sample * 20.0).clamp(-1.0, 1.0)).collect();
    write(&at("loud.wav"), 48_000, &loud);
    write(&at("telephone.wav"), 8_000, &tone[..16_000]);
    std::fs::write(at("empty.wav"), b"").unwrap();
    std::fs::write(at("words.wav"), b"this is no sound").unwrap();
    let before = notebook.changes();
    for (file, why) in [
        ("silent.wav", "silen"),
        ("dc.wav", "silen"),
        ("empty.wav", "empty"),
        ("words.wav", "no recording in a known format"),
        ("nowhere.wav", "there is no such file"),
    ] {
        let said = notebook.run(&["measure", &text(file), "--full-scale", "117"]);
        assert_eq!(said.code, 1, "{file}: {}", said.out);
        assert!(said.err.contains(why) && said.err.contains("next:"), "{file}: {}", said.err);
    }
    // A level needs to know what full scale is, and a place to stand at.
    let said =
        notebook.run(&["measure", &text("tone.wav"), "--set", "T16", "--position", "R1", "--replicate", "5"]);
    assert!(said.code == 1 && said.err.contains("full scale"), "{}", said.err);
    let said = notebook.run(&["measure", &text("tone.wav"), "--set", "T16", "--full-scale", "117"]);
    assert!(said.code == 1 && said.err.contains("--position"), "{}", said.err);
    assert_eq!(notebook.changes(), before, "nothing of it was written down");
    // What can be measured with a reservation says it.
    let clipped = notebook.json(&["measure", &text("loud.wav"), "--full-scale", "117"]);
    assert!(clipped["oddities"].to_string().contains("clipped"), "{clipped}");
    let narrow: Value = notebook.json(&["measure", &text("telephone.wav"), "--full-scale", "117"]);
    let missing = narrow["missing_bands"].as_array().unwrap();
    assert!(
        missing.iter().any(|band| band == 16_000.0) && !missing.iter().any(|band| band == 3150.0),
        "{narrow}"
    );
}
