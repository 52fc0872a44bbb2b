//! Tests of other quantities than sound, written down on the command line and asked for; untouched walls beside the rebuilt one.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use storypole_tests::{Notebook, contains, done, lacks};

/// A house with a wall before and after, and a test of what is measured.
fn house(measures: &str) -> Notebook {
    let notebook = Notebook::none();
    for line in [
        &["init"][..],
        &["add", "site", "H1", "name=Mill", "volume_m3=300", "envelope_m2=250"],
        &["add", "room", "R1", "site=H1", "name=kitchen"],
        &["add", "room", "R2", "site=H1", "name=hall"],
        &["add", "room", "R3", "site=H1", "name=den"],
        &["add", "job", "J1", "site=H1", "title=Tighten"],
        &["assembly", "add", "A1", "--job", "J1", "--room-a", "R1"],
        &["assembly", "add", "A2", "--job", "J1", "--room-a", "R1"],
        &["test", "plan", "Q1", "--question", "Is it better?", "--measures", measures, "--job", "J1"],
    ] {
        notebook.run(line).done();
    }
    for (set, stage, wall, day) in [("S1", "before", "A1", "2025-02-08"), ("S2", "after", "A2", "2025-02-22")]
    {
        let line = ["test", "set", set, "--test", "Q1", "--stage", stage, "--assembly", wall, "--date", day];
        notebook.run(&line).done();
    }
    notebook
}

fn read(notebook: &Notebook, set: &str, place: &str, value: &str, more: &[&str]) {
    notebook.run(&[&["test", "reading", set, place, value][..], more].concat()).done();
}

/// Flow at 50 Pa by least squares through the logarithms, computed independently by a script of its own: 389.4985 cfm before
/// and 271.5717 cfm after. NIST SP 811: 1 ft3/min is 4.719474E-04 m3/s.
#[test]
fn a_fan_test_is_typed_in_cfm_and_told_in_cfm() {
    let notebook = house("air-leakage");
    let pressures = ["10", "20", "30", "40", "50", "60"];
    for (set, flows) in [
        ("S1", ["139.5", "214.2", "261.3", "367.9", "404.9", "414.4"]),
        ("S2", ["100.1", "150.1", "194.2", "247.2", "276.6", "294.3"]),
    ] {
        for (pressure, flow) in pressures.iter().zip(flows) {
            read(&notebook, set, "-", &format!("{pressure} Pa"), &[]);
            read(&notebook, set, "-", &format!("{flow} cfm"), &[]);
        }
        read(&notebook, set, "-", "3 m/s", &[]);
        read(&notebook, set, "-", "0 Pa", &["--subject", "resting-pressure"]);
    }
    let data = notebook.data();
    let said = done(&data, &["finding", "Q1"]);
    contains(
        &said,
        &[
            "air changes at 50 Pa",
            "strongest wind",
            "3.0 m/s",
            " cfm ",
            "in2",
            "% tighter",
            "no conditions were noted",
        ],
    );
    lacks(&said, &["m3/(h m2)", "The wind was not noted", "cm2"]);
    contains(&done(&data, &["finding", "J1"]), &["Q1: Is it better?", "State by state"]);
    let json = notebook.json(&["finding", "Q1"]);
    for (state, expected_cfm) in [(0, 389.498_537_463_107_6), (1, 271.571_748_713_646_3)] {
        let flow = &json["quantity"]["states"][state]["values"][0];
        let m3_h = flow["value"]["value"].as_f64().unwrap();
        let cfm = flow["as_typed"]["value"]["value"].as_f64().unwrap();
        assert!((cfm - expected_cfm).abs() < 1e-6 * expected_cfm, "{cfm}");
        assert!((m3_h / cfm - 4.719_474e-4 * 3_600.0).abs() < 1e-6, "{m3_h} {cfm}");
    }
}

#[test]
fn a_spot_that_is_not_of_sound_needs_no_side() {
    let notebook = house("moisture");
    notebook
        .run(&["test", "reading", "S1", "P1", "12.6 %", "--subject", "moisture"])
        .refused("Q1 has no position P1")
        .says("storypole test position Q1 P1`, or write -");
    for place in ["P1", "P2", "P3"] {
        notebook.run(&["test", "position", "Q1", place]).done();
    }
    for (set, values) in [("S1", ["12.6 %", "13.1 %", "12.2 %"]), ("S2", ["8.9 %", "9.2 %", "8.6 %"])] {
        for (place, value) in ["P1", "P2", "P3"].into_iter().zip(values) {
            read(&notebook, set, place, value, &["--subject", "moisture"]);
        }
    }
    // A second number at a named spot is no silent repeat.
    notebook
        .run(&["test", "reading", "S2", "P3", "8.7 %", "--subject", "moisture"])
        .refused("stands already with 8.6 %");
    notebook
        .run(&["test", "correct", "S2", "P3", "8.7 %", "--subject", "moisture", "--reason", "misread"])
        .done();
    contains(&done(&notebook.data(), &["finding", "Q1"]), &["drier", "claimed", "-3.7 points", "A1 to A2"]);
    let sound = ["test", "plan", "Q2", "--question", "Quieter?"];
    notebook.run(&sound).done();
    notebook.run(&["test", "position", "Q2", "P1"]).refused("whether source or meter").says("--side receive");
}

#[test]
fn a_run_of_days_is_typed_with_its_times() {
    let notebook = house("thermal-resistance");
    for (subject, value) in [("surface", "19 C"), ("outside-surface", "2 C"), ("heat-flow", "8.5 W/m2")] {
        let at = ["--subject", subject, "--at", "2025-02-08T06:30:00-05:00"];
        read(&notebook, "S1", "-", value, &at);
    }
    contains(&done(&notebook.data(), &["finding", "Q1"]), &["19.0 °C", "8.5 W/m2", "the run is too short"]);
    let json = notebook.json(&["finding", "Q1"]);
    let state = &json["quantity"]["states"][0];
    assert_eq!(
        (&state["inputs"][2]["name"], &state["values"][0]["value"]),
        (&"heat flow".into(), &serde_json::Value::Null)
    );
    notebook.run(&["test", "reading", "S1", "-", "20 C"]).refused("a number in °C alone does not say");
}

#[test]
fn every_quantity_is_named_where_a_test_is_planned() {
    let notebook = Notebook::none();
    let help = notebook.run(&["test", "plan", "--help"]).done();
    for word in ["thermal-resistance", "temperature", "air-leakage"] {
        assert!(help.out.contains(word), "{word}: {}", help.out);
    }
}

/// A wall changed by 6.3 and 5.7 dB at two spots while an untouched one beside it stayed as it was: by hand.
#[test]
fn an_untouched_wall_is_measured_beside_the_rebuilt_one() {
    let notebook = house("level-difference");
    for (place, side, room) in [
        ("S1", "source", "R1"),
        ("P1", "receive", "R2"),
        ("P2", "receive", "R2"),
        ("P1", "receive", "R3"),
        ("P2", "receive", "R3"),
    ] {
        notebook.run(&["test", "position", "Q1", place, "--side", side, "--room", room]).done();
    }
    notebook.run(&["assembly", "add", "A9", "--job", "J1"]).done();
    let set = |label: &str, stage: &str, wall: &str, day: &str, to: &str, more: &[&str]| {
        let line =
            ["test", "set", label, "--test", "Q1", "--stage", stage, "--assembly", wall, "--date", day];
        notebook.run(&[&line[..], &["--from", "R1", "--to", to], more].concat()).done()
    };
    for (label, stage, wall, day, to, levels) in [
        ("T1", "before", "A1", "2025-02-08", "R2", ["60.0", "60.4"]),
        ("C1", "before", "A9", "2025-02-08", "R3", ["58.0", "58.4"]),
        ("T2", "after", "A2", "2025-02-22", "R2", ["53.7", "54.7"]),
        ("C2", "after", "A9", "2025-02-22", "R3", ["58.0", "58.4"]),
    ] {
        let control: &[&str] = if label.starts_with('C') { &["--control"] } else { &[] };
        let said = set(label, stage, wall, day, to, control);
        assert_eq!(said.out.contains("untouched"), !control.is_empty(), "{}", said.out);
        let long = ["--response", "leq", "--seconds", "30"];
        read(&notebook, label, "S1", "94.0 dBA", &long);
        read(&notebook, label, "P1", &format!("{} dBA", levels[0]), &long);
        read(&notebook, label, "P2", &format!("{} dBA", levels[1]), &long);
        read(&notebook, label, "background", "20 dBA", &long);
    }
    let data = notebook.data();
    contains(&done(&data, &["finding", "Q1"]), &["An untouched wall beside it", "C1", "About 6"]);
    contains(
        &done(&data, &["finding", "Q1", "--expert"]),
        &["the untouched wall", "the change less that", "two more spots would leave"],
    );
    let json = notebook.json(&["finding", "Q1"]);
    assert_eq!(json["headline"]["control"]["moved"]["printed"], "0.0");
    assert!(json["headline"]["two_more_positions_leave"].as_f64().unwrap() < 1.0);
}
