//! The chore `test`: all that CI runs, every step even after a failure, with a summary that closes the output.
//!
//! The `bench` crate is linted and documented with the rest, but its tests are not run here.

use std::env;
use std::fmt;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use crate::Stop;
use crate::call::Call;
use crate::chromium;
use crate::python;
use crate::reference;
use crate::release;
use crate::schema;
use crate::screens::{self, npm};
use crate::tally::{Runner, Tally};
use crate::tidy;

/// Folder of the browser tests.
const BROWSER: &str = "web-ui/browser";

/// The variable that tells tests where the program lies.
const BINARY: &str = "STORYPOLE_BINARY";

/// The file of browser tests that measure time.
const TIMED: &str = "/budget.test.mjs";

/// Tells browser tests that the network and the pages are to be slow.
const SLOW: &str = "STORYPOLE_SLOW";

/// Ending of a file of browser tests.
const BROWSER_TEST: &str = ".test.mjs";

const USAGE: &str = "cargo xtask test [--only STEP].. [--without-browser]";

/// One step of the suite.
struct Step {
    name: &'static str,
    /// What has to be built first.
    first: Option<Call>,
    work: Work,
}

enum Work {
    /// Work of this program.
    Here(fn(&Path) -> Result<(), Stop>),
    /// A program whose exit code decides.
    Call(Call),
    /// A test runner, whose tests are counted too.
    Tests(Call, Runner),
    /// The comparison with libraries of Python, which are installed when its turn comes.
    Reference,
    /// The browser tests, whose files are looked for when their turn comes.
    Browser,
    /// Nothing, with what would have to be there.
    LeftOut(&'static str),
}

/// How a step went.
struct Outcome {
    name: &'static str,
    end: End,
    tally: Tally,
    took: Duration,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Passed,
    Failed,
    LeftOut,
}

/// What the machine has, as far as the steps depend on it.
#[derive(Debug, Clone, Copy)]
struct Machine {
    has_nextest: bool,
    /// For the steps `reference` and `schema`.
    has_python: bool,
    /// Where nothing may be left out.
    is_ci: bool,
}

impl Machine {
    fn look(root: &Path) -> Self {
        Self {
            has_nextest: Call::new(&["cargo", "nextest", "--version"]).works(root),
            has_python: python::is_possible(root),
            is_ci: env::var_os("CI").is_some_and(|value| !value.is_empty()),
        }
    }
}

/// Which steps were asked for.
#[derive(Debug, Default, PartialEq, Eq)]
struct Asked {
    /// Empty for all.
    only: Vec<String>,
    without_browser: bool,
}

/// Runs every step, then prints a line per step and, last, `N passed, N failed` for the tests.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    let asked = asked(arguments)?;
    let steps = chosen(steps(Machine::look(root)), &asked)?;
    let outcomes: Vec<Outcome> = steps.iter().map(|step| take(root, step)).collect();
    let failed: Vec<&str> = outcomes.iter().filter(|o| o.end == End::Failed).map(|o| o.name).collect();
    if !failed.is_empty() {
        // Before the summary, so that the summary closes the output even where both streams are merged.
        eprintln!("\nfailed steps: {}", failed.join(", "));
    }
    println!("\n{}", Summary(&outcomes));
    if failed.is_empty() { Ok(()) } else { Err(Stop::Failed) }
}

fn asked(arguments: &[String]) -> Result<Asked, Stop> {
    let mut asked = Asked::default();
    let mut rest = arguments.iter();
    while let Some(argument) = rest.next() {
        match (argument.as_str(), rest.as_slice().first()) {
            ("--without-browser", _) => asked.without_browser = true,
            ("--only", Some(name)) => {
                asked.only.push(name.clone());
                rest.next();
            }
            _ => return Err(Stop::Usage(USAGE.to_owned())),
        }
    }
    Ok(asked)
}

/// The steps that were asked for, in their own order.
fn chosen(steps: Vec<Step>, asked: &Asked) -> Result<Vec<Step>, Stop> {
    let names: Vec<&str> = steps.iter().map(|step| step.name).collect();
    if let Some(unknown) = asked.only.iter().find(|name| !names.contains(&name.as_str())) {
        return Err(Stop::Usage(format!("there is no step `{unknown}`, but: {}", names.join(", "))));
    }
    let is_asked = |step: &Step| {
        let is_left_out = asked.without_browser && matches!(step.name, "browser set-up" | "browser");
        !is_left_out && (asked.only.is_empty() || asked.only.iter().any(|name| name == step.name))
    };
    Ok(steps.into_iter().filter(is_asked).collect())
}

/// The steps in the order they run.
fn steps(machine: Machine) -> Vec<Step> {
    let clippy = ["cargo", "clippy", "--workspace", "--all-targets", "--", "-D", "warnings"];
    // Without the benchmarks, as everything here that is run: with them, libraries are built with other features, once more.
    let doc_tests =
        ["cargo", "test", "--doc", "--workspace", "--exclude", "storypole-bench", "--no-fail-fast"];
    let docs = Call::new(&["cargo", "doc", "--no-deps", "--workspace"]).with("RUSTDOCFLAGS", "-D warnings");
    let step = |name, work| Step { name, first: None, work };
    vec![
        step("tidy", Work::Here(|root| tidy::run(root, &[]))),
        step("format", Work::Call(Call::new(&["cargo", "fmt", "--all", "--check"]))),
        // Before anything that compiles the server, which takes the screens in.
        step("web install", Work::Here(screens::install)),
        step("web types", Work::Call(npm(&["run", "types:check"]))),
        step("web check", Work::Call(npm(&["run", "check"]))),
        step("web unit", Work::Tests(npm(&["run", "unit"]), Runner::Vitest)),
        step("web build", Work::Here(screens::build)),
        step("web budget", Work::Call(npm(&["run", "budget"]))),
        step("clippy", Work::Call(Call::new(&clippy))),
        Step { name: "tests", first: Some(schema::program()), work: tests(machine.has_nextest) },
        step("doc tests", Work::Tests(Call::new(&doc_tests), Runner::Libtest)),
        step("docs", Work::Call(docs)),
        step("browser set-up", Work::Here(chromium::set_up)),
        Step { name: "browser", first: Some(schema::program()), work: Work::Browser },
        Step {
            name: "reference",
            first: Some(schema::program()),
            work: with_python(machine, Work::Reference),
        },
        Step {
            name: "schema",
            first: Some(schema::program()),
            work: with_python(machine, Work::Here(schema::short)),
        },
    ]
}

fn tests(has_nextest: bool) -> Work {
    if has_nextest {
        let words =
            ["cargo", "nextest", "run", "--workspace", "--exclude", "storypole-bench", "--no-fail-fast"];
        return Work::Tests(Call::new(&words), Runner::Nextest);
    }
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
}

/// A developer may lack Python; CI may not.
fn with_python(machine: Machine, work: Work) -> Work {
    if machine.has_python || machine.is_ci { work } else { Work::LeftOut(python::BY_HAND) }
}

/// The calls that run the browser tests against the program of this target folder: two files at a time, then those that measure time, alone.
fn browser(root: &Path) -> Result<Vec<Call>, Stop> {
    let (timed, others) = browser_tests(root)?;
    let calls = [("--test-concurrency=2", others), ("--test-concurrency=1", timed)];
    // Without a file the runner would look for some itself.
    let calls = calls.iter().filter(|(_, files)| !files.is_empty());
    calls.map(|(at_once, files)| browser_call(at_once, files)).collect()
}

/// Runs all browser tests but those that measure time so often, on a network and on devices that are made slow.
///
/// # Errors
/// A test failed in one of the rounds, or none ran.
pub fn browser_slowly(root: &Path, rounds: usize) -> Result<(), Stop> {
    let (_timed, others) = browser_tests(root)?;
    let call = browser_call("--test-concurrency=2", &others)?.with(SLOW, "1");
    let (end, tally) = every(vec![call; rounds], |call| call.run_counted(root, Runner::Node).map(judge))?;
    println!("{} passed, {} failed in {rounds} rounds", tally.passed, tally.failed);
    if matches!(end, End::Passed) { Ok(()) } else { Err(Stop::Failed) }
}

/// The files of browser tests: those that measure time, and the others.
fn browser_tests(root: &Path) -> Result<(Vec<String>, Vec<String>), Stop> {
    let reading = || Stop::io(format!("look through {BROWSER}"));
    let mut files = Vec::new();
    for entry in fs::read_dir(root.join(BROWSER)).map_err(reading())? {
        let name = entry.map_err(reading())?.file_name().to_string_lossy().into_owned();
        if name.ends_with(BROWSER_TEST) {
            files.push(format!("{BROWSER}/{name}"));
        }
    }
    files.sort();
    if files.is_empty() {
        return Err(Stop::Refused(format!("there is no `*{BROWSER_TEST}` in {BROWSER}")));
    }
    Ok(files.into_iter().partition(|file| file.ends_with(TIMED)))
}

fn browser_call(at_once: &str, files: &[String]) -> Result<Call, Stop> {
    let words = ["node", "--test", at_once, "--test-force-exit", "--test-reporter=spec"];
    let binary = release::debug_binary()?;
    Ok(Call::new(&words).with(BINARY, &binary.to_string_lossy()).and(files))
}

/// Runs one step and says how it went.
fn take(root: &Path, step: &Step) -> Outcome {
    println!("\n== {} ==", step.name);
    let start = Instant::now();
    let (end, tally) = work(root, step).unwrap_or_else(|stop| {
        eprintln!("{stop}");
        (End::Failed, Tally::default())
    });
    let outcome = Outcome { name: step.name, end, tally, took: start.elapsed() };
    println!("{outcome}");
    outcome
}

fn work(root: &Path, step: &Step) -> Result<(End, Tally), Stop> {
    if let (Some(call), false) = (&step.first, matches!(step.work, Work::LeftOut(_))) {
        call.run_or_stop(root)?;
    }
    let counted = |call: &Call, runner| call.run_counted(root, runner).map(judge);
    match &step.work {
        Work::Here(work) => work(root).map(|()| (End::Passed, Tally::default())),
        Work::Call(call) => call.run(root).map(|succeeded| (end(succeeded), Tally::default())),
        // Told where the program lies, tests need not have it built each by itself.
        Work::Tests(call, runner) if step.first.is_some() => {
            let binary = release::debug_binary()?;
            counted(&call.clone().with(BINARY, &binary.to_string_lossy()), *runner)
        }
        Work::Tests(call, runner) => counted(call, *runner),
        Work::Reference => every(reference::calls(root)?, |call| counted(call, Runner::Libtest)),
        Work::Browser => every(browser(root)?, |call| counted(call, Runner::Node)),
        Work::LeftOut(why) => {
            eprintln!("left out: {why}");
            Ok((End::LeftOut, Tally::default()))
        }
    }
}

/// Every call is made, and each has to close with its counts.
fn every(
    calls: Vec<Call>,
    counted: impl Fn(&Call) -> Result<(End, Tally), Stop>,
) -> Result<(End, Tally), Stop> {
    let mut all = (End::Passed, Tally::default());
    for call in calls {
        let (end, tally) = counted(&call)?;
        if !matches!(end, End::Passed) {
            all.0 = end;
        }
        all.1 = all.1 + tally;
    }
    Ok(all)
}

fn end(passed: bool) -> End {
    if passed { End::Passed } else { End::Failed }
}

/// A runner passed if its exit code says so and its closing lines were there and agree.
fn judge((succeeded, tally): (bool, Tally)) -> (End, Tally) {
    if succeeded && tally.summaries == 0 {
        eprintln!("the runner ended without a closing line, so no test is known to have run");
    }
    (end(succeeded && tally.summaries > 0 && tally.failed == 0), tally)
}

/// `clippy          ok         12.3 s`
impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.end {
            End::Passed => "ok",
            End::Failed => "FAILED",
            End::LeftOut => "left out",
        };
        write!(f, "{:<14} {word:<8} {:>7.1} s", self.name, self.took.as_secs_f64())
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

    const MACHINE: Machine = Machine { has_nextest: true, has_python: true, is_ci: false };

    fn shown(machine: Machine) -> Vec<String> {
        let line = |step: Step| match step.work {
            Work::Call(call) | Work::Tests(call, _) => call.to_string(),
            Work::Here(_) | Work::Reference | Work::Browser => step.name.to_owned(),
            Work::LeftOut(_) => format!("{} left out", step.name),
        };
        steps(machine).into_iter().map(line).collect()
    }

    fn words(text: &str) -> Vec<String> {
        text.split_whitespace().map(str::to_owned).collect()
    }

    #[test]
    fn steps_run_in_order() {
        let nextest = shown(MACHINE);
        assert_eq!(
            nextest,
            [
                "tidy",
                "cargo fmt --all --check",
                "web install",
                "npm --prefix web-ui run types:check",
                "npm --prefix web-ui run check",
                "npm --prefix web-ui run unit",
                "web build",
                "npm --prefix web-ui run budget",
                "cargo clippy --workspace --all-targets -- -D warnings",
                "cargo nextest run --workspace --exclude storypole-bench --no-fail-fast",
                "cargo test --doc --workspace --exclude storypole-bench --no-fail-fast",
                "RUSTDOCFLAGS='-D warnings' cargo doc --no-deps --workspace",
                "browser set-up",
                "browser",
                "reference",
                "schema",
            ]
        );
        let plain = shown(Machine { has_nextest: false, ..MACHINE });
        assert_eq!(plain.len(), nextest.len());
        let tests = "cargo test --workspace --exclude storypole-bench --lib --bins --tests --no-fail-fast";
        assert_eq!(plain[9], tests);
    }

    #[test]
    fn only_a_developer_may_lack_python() {
        let last = |is_ci| shown(Machine { has_python: false, is_ci, ..MACHINE }).pop();
        assert_eq!(last(false).as_deref(), Some("schema left out"));
        assert_eq!(last(true).as_deref(), Some("schema"));
    }

    #[test]
    fn single_steps_can_be_asked_for() {
        let names = |text: &str| -> Result<Vec<&str>, Stop> {
            let steps = chosen(steps(MACHINE), &asked(&words(text))?)?;
            Ok(steps.iter().map(|step| step.name).collect())
        };
        assert_eq!(names("--only schema --only tidy").expect("both exist"), ["tidy", "schema"]);
        let without = names("--without-browser").expect("it is an option");
        assert_eq!(without.len(), steps(MACHINE).len() - 2);
        assert!(without.iter().all(|name| !name.starts_with("browser")));
        for wrong in ["--only", "--only paint", "tidy", "--without-schema"] {
            assert!(matches!(names(wrong), Err(Stop::Usage(_))), "{wrong}");
        }
    }

    #[test]
    fn the_summary_closes_with_the_sum_alone_on_its_line() {
        let outcome = |name, end, tally| Outcome { name, end, tally, took: Duration::from_millis(1300) };
        let outcomes = [
            outcome("clippy", End::Passed, Tally::default()),
            outcome("tests", End::Failed, tally(40, 2, 1)),
            outcome("doc tests", End::Passed, tally(3, 0, 2)),
            outcome("schema", End::LeftOut, Tally::default()),
        ];
        let text = Summary(&outcomes).to_string();
        assert_eq!(text.lines().last(), Some("43 passed, 2 failed"));
        assert_eq!(text.lines().next(), Some("clippy         ok           1.3 s"));
        assert!(text.contains("tests          FAILED"), "{text}");
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
            assert_eq!(judge(input).0, end(expected), "{input:?}");
        }
    }
}
