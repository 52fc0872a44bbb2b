//! The chore `test`: all that CI runs, every step even after a failure, with a summary that closes the output.
//!
//! The `bench` crate is linted and documented with the rest, but its tests are not run here.

use std::fmt;
use std::path::Path;
use std::time::{Duration, Instant};

use crate::Stop;
use crate::call::Call;
use crate::tally::{Runner, Tally};
use crate::tidy;

/// One step of the suite.
struct Step {
    name: &'static str,
    work: Work,
}

enum Work {
    /// Our own checks, in this process.
    Tidy,
    /// A program whose exit code decides.
    Call(Call),
    /// A test runner, whose tests are counted too.
    Tests(Call, Runner),
}

/// How a step went.
struct Outcome {
    name: &'static str,
    passed: bool,
    tally: Tally,
    took: Duration,
}

/// Runs every step, then prints a line per step and, last, `N passed, N failed` for the tests.
pub fn run(root: &Path, _arguments: &[String]) -> Result<(), Stop> {
    let has_nextest = Call::new(&["cargo", "nextest", "--version"]).works(root);
    let outcomes: Vec<Outcome> = steps(has_nextest).iter().map(|step| take(root, step)).collect();
    let failed: Vec<&str> = outcomes.iter().filter(|o| !o.passed).map(|o| o.name).collect();
    if !failed.is_empty() {
        // Before the summary, so that the summary closes the output even where both streams are merged.
        eprintln!("\nfailed steps: {}", failed.join(", "));
    }
    println!("\n{}", Summary(&outcomes));
    if failed.is_empty() { Ok(()) } else { Err(Stop::Failed) }
}

/// The steps in the order they run.
fn steps(has_nextest: bool) -> Vec<Step> {
    let tests = if has_nextest {
        let words =
            ["cargo", "nextest", "run", "--workspace", "--exclude", "storypole-bench", "--no-fail-fast"];
        Work::Tests(Call::new(&words), Runner::Nextest)
    } else {
        // Naming the kinds of target keeps doc tests out, which have a step of their own.
        let words = [
            "cargo",
            "test",
            "--workspace",
            "--exclude",
            "storypole-bench",
            "--lib",
            "--bins",
            "--tests",
            "--no-fail-fast",
        ];
        Work::Tests(Call::new(&words), Runner::Libtest)
    };
    let clippy = ["cargo", "clippy", "--workspace", "--all-targets", "--", "-D", "warnings"];
    let doc_tests = ["cargo", "test", "--doc", "--workspace", "--no-fail-fast"];
    let docs = Call::new(&["cargo", "doc", "--no-deps", "--workspace"]).with("RUSTDOCFLAGS", "-D warnings");
    vec![
        Step { name: "tidy", work: Work::Tidy },
        Step { name: "format", work: Work::Call(Call::new(&["cargo", "fmt", "--all", "--check"])) },
        Step { name: "clippy", work: Work::Call(Call::new(&clippy)) },
        Step { name: "tests", work: tests },
        Step { name: "doc tests", work: Work::Tests(Call::new(&doc_tests), Runner::Libtest) },
        Step { name: "docs", work: Work::Call(docs) },
    ]
}

/// Runs one step and says how it went.
fn take(root: &Path, step: &Step) -> Outcome {
    println!("\n== {} ==", step.name);
    let start = Instant::now();
    let done = match &step.work {
        Work::Tidy => tidy::run(root, &[]).map(|()| (true, Tally::default())),
        Work::Call(call) => call.run(root).map(|succeeded| (succeeded, Tally::default())),
        Work::Tests(call, runner) => call.run_counted(root, *runner).map(judge),
    };
    let took = start.elapsed();
    let (passed, tally) = done.unwrap_or_else(|stop| {
        eprintln!("{stop}");
        (false, Tally::default())
    });
    let outcome = Outcome { name: step.name, passed, tally, took };
    println!("{outcome}");
    outcome
}

/// A runner passed if its exit code says so and its closing lines were there and agree.
fn judge((succeeded, tally): (bool, Tally)) -> (bool, Tally) {
    if succeeded && tally.summaries == 0 {
        eprintln!("the runner ended without a closing line, so no test is known to have run");
    }
    (succeeded && tally.summaries > 0 && tally.failed == 0, tally)
}

/// `clippy     ok      12.3 s`
impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = if self.passed { "ok" } else { "FAILED" };
        write!(f, "{:<10} {word:<6} {:>7.1} s", self.name, self.took.as_secs_f64())
    }
}

/// A line per step, and the sum of the tests alone on the last line.
struct Summary<'a>(&'a [Outcome]);

impl fmt::Display for Summary<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for outcome in self.0 {
            writeln!(f, "{outcome}")?;
        }
        let sum = self.0.iter().fold(Tally::default(), |sum, outcome| sum + outcome.tally);
        write!(f, "{} passed, {} failed", sum.passed, sum.failed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(passed: u64, failed: u64, summaries: u64) -> Tally {
        Tally { passed, failed, summaries }
    }

    fn shown(has_nextest: bool) -> Vec<String> {
        let line = |step: Step| match step.work {
            Work::Tidy => step.name.to_owned(),
            Work::Call(call) | Work::Tests(call, _) => call.to_string(),
        };
        steps(has_nextest).into_iter().map(line).collect()
    }

    #[test]
    fn steps_run_in_order() {
        let nextest = shown(true);
        assert_eq!(
            nextest,
            [
                "tidy",
                "cargo fmt --all --check",
                "cargo clippy --workspace --all-targets -- -D warnings",
                "cargo nextest run --workspace --exclude storypole-bench --no-fail-fast",
                "cargo test --doc --workspace --no-fail-fast",
                "RUSTDOCFLAGS='-D warnings' cargo doc --no-deps --workspace",
            ]
        );
        let plain = shown(false);
        assert_eq!(plain.len(), nextest.len());
        let tests = "cargo test --workspace --exclude storypole-bench --lib --bins --tests --no-fail-fast";
        assert_eq!(plain[3], tests);
    }

    #[test]
    fn the_summary_closes_with_the_sum_alone_on_its_line() {
        let outcome =
            |name, passed, tally| Outcome { name, passed, tally, took: Duration::from_millis(1300) };
        let outcomes = [
            outcome("clippy", true, Tally::default()),
            outcome("tests", false, tally(40, 2, 1)),
            outcome("doc tests", true, tally(3, 0, 2)),
        ];
        let text = Summary(&outcomes).to_string();
        assert_eq!(text.lines().last(), Some("43 passed, 2 failed"));
        assert_eq!(text.lines().next(), Some("clippy     ok         1.3 s"));
        assert!(text.contains("tests      FAILED"), "{text}");
    }

    #[test]
    fn a_runner_passes_only_with_exit_code_and_closing_line() {
        let cases = [
            ((true, tally(5, 0, 1)), true),
            ((true, tally(0, 0, 3)), true), // doc tests of crates that have none
            ((false, tally(5, 0, 1)), false),
            ((true, tally(5, 1, 1)), false),
            ((true, tally(0, 0, 0)), false),
        ];
        for (input, expected) in cases {
            assert_eq!(judge(input).0, expected, "{input:?}");
        }
    }
}
