//! Notebooks of several jobs for tests, all invented: each job fills an empty wall with cellulose, measured before and after.

use crate::fixture::{Builder, id};
use storypole_journal::RecordId;

pub(super) const THIN: &str = "gypsum 12.7 x1, 8.1 kg/m2";
pub(super) const THICK: &str = "gypsum 15.9 x2, 22 kg/m2";
pub(super) const STUDS: &str = "single wood 38x89@406";
pub(super) const EMPTY: &str = "89 clear, empty";
pub(super) const FILLED: &str = "89 clear, cellulose 89";

/// Receive levels before the work, at four positions.
pub(super) const BEFORE: [&str; 4] = ["60.0", "60.4", "59.8", "60.2"];
/// Receive levels after it, for five jobs.
pub(super) const AFTER: [[&str; 4]; 5] = [
    ["54.1", "54.9", "53.8", "54.4"],
    ["52.9", "53.3", "52.6", "53.5"],
    ["56.0", "55.7", "55.9", "56.3"],
    ["53.2", "53.4", "52.8", "53.1"],
    ["55.0", "55.2", "54.4", "55.1"],
];

/// Jobs J1, J2, ... with tests Q1, ..., walls A1a (before) and A1b (after), and sets S1before and S1after without receive levels.
pub(super) fn notebook(jobs: usize) -> Builder {
    let mut builder = Builder::default();
    for (room, name) in [("R1", "study"), ("R2", "hall")] {
        builder.put("room", room, &[("name", name)]);
    }
    for job in 1..=jobs {
        builder.job(&format!("J{job}"));
        builder.test(&format!("Q{job}"), false);
        walls(&mut builder, job, [THIN, STUDS, EMPTY, THIN], [THIN, STUDS, FILLED, THIN]);
        let (test, condition) = (format!("test:Q{job}"), format!("Q{job}/doors"));
        builder.put(
            "condition",
            &condition,
            &[("test", &test), ("variable", "doors"), ("class", "critical")],
        );
        set(&mut builder, job, "before", "a", "2025-03-04");
        set(&mut builder, job, "after", "b", "2025-03-14");
    }
    builder
}

/// The walls of a job: leaf A, frame, cavity, leaf B, before and after.
pub(super) fn walls(builder: &mut Builder, job: usize, before: [&str; 4], after: [&str; 4]) {
    let (label, replaced) = (format!("A{job}b"), format!("A{job}a"));
    let [leaf_a, frame, cavity, leaf_b] = before;
    builder.assembly(&replaced, "wall", [leaf_a, frame, cavity, leaf_b, "none", "none"], "finished", None);
    let [leaf_a, frame, cavity, leaf_b] = after;
    let parts = [leaf_a, frame, cavity, leaf_b, "none", "none"];
    builder.assembly(&label, "wall", parts, "finished", Some(&replaced));
}

/// A set of a job with its source and background, found as wanted.
pub(super) fn set(builder: &mut Builder, job: usize, stage: &str, wall: &str, date: &str) {
    let label = format!("S{job}{stage}");
    let (test, job_ref, assembly) =
        (format!("test:Q{job}"), format!("job:J{job}"), format!("assembly:A{job}{wall}"));
    let fields = [
        ("test", test.as_str()),
        ("job", &job_ref),
        ("stage", stage),
        ("date", date),
        ("assembly", &assembly),
        ("from_room", "room:R1"),
        ("to_room", "room:R2"),
    ];
    builder.put("set", &label, &fields);
    let (condition, set) = (format!("condition:Q{job}/doors"), format!("set:{label}"));
    let found = [("condition", condition.as_str()), ("set", &set), ("status", "same")];
    builder.put("found", &format!("{label}/doors"), &found);
    builder.reading(&label, "S1", "source", None, "90.0 dBA");
    builder.reading(&label, "background", "background", None, "20.0 dBA");
}

/// Receive levels of a set, one for each position.
pub(super) fn receive<S: AsRef<str>>(builder: &mut Builder, job: usize, stage: &str, levels: &[S]) {
    let test = format!("test:Q{job}");
    for (place, level) in levels.iter().enumerate() {
        let position = format!("Q{job}/R{place}");
        builder.put("position", &position, &[("test", &test), ("room", "room:R2"), ("side", "receive")]);
        let value = format!("{} dBA", level.as_ref());
        builder.reading(&format!("S{job}{stage}"), &format!("R{place}"), "receive", Some(&position), &value);
    }
}

/// The first so many of the five jobs.
pub(super) fn jobs(count: usize) -> Builder {
    let mut builder = notebook(count);
    for job in 1..=count {
        receive(&mut builder, job, "before", &BEFORE);
        receive(&mut builder, job, "after", &AFTER[job - 1]);
    }
    builder
}

/// The id of a job by number.
pub(super) fn job(number: usize) -> RecordId {
    id("job", &format!("J{number}"))
}
