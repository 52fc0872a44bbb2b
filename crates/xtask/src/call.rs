//! One call of another program: shown the way a user would type it, run in the workspace's root, its output
//! streamed.
//!
//! Nothing is captured and shown later. Test runners are counted while their output passes through.

use std::env;
use std::fmt;
use std::io::{self, BufRead, BufReader, IsTerminal, Read, Write};
use std::path::Path;
use std::process::{Command, ExitStatus, Stdio};
use std::thread;

use crate::Stop;
use crate::tally::{Runner, Tally};

/// A program, its arguments and the environment variables it gets on top of ours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    variables: Vec<(String, String)>,
    words: Vec<String>,
}

impl Call {
    /// A call of `words`, the program first. A program with a folder in its name is taken from the workspace's root.
    pub fn new(words: &[&str]) -> Self {
        assert!(!words.is_empty(), "a call names a program");
        Self { variables: Vec::new(), words: words.iter().map(|&word| word.to_owned()).collect() }
    }

    /// The same call with one more environment variable.
    pub fn with(mut self, name: &str, value: &str) -> Self {
        self.variables.push((name.to_owned(), value.to_owned()));
        self
    }

    /// The same call with `words` appended.
    pub fn and(mut self, words: &[String]) -> Self {
        self.words.extend_from_slice(words);
        self
    }

    /// Shows the call, then runs it on our own streams. Returns whether it succeeded.
    pub fn run(&self, root: &Path) -> Result<bool, Stop> {
        println!("$ {self}");
        let status = self.command(root).status().map_err(self.unstartable())?;
        Ok(report(status))
    }

    /// Like [`run`](Self::run), for callers that cannot go on after a failure.
    pub fn run_or_stop(&self, root: &Path) -> Result<(), Stop> {
        if self.run(root)? { Ok(()) } else { Err(Stop::Refused(format!("failed: {self}"))) }
    }

    /// Shows the call, then lets it take the place of this program, so that every signal reaches it. Returns only
    /// if that fails.
    #[cfg(unix)]
    pub fn become_it(&self, root: &Path) -> Result<(), Stop> {
        use std::os::unix::process::CommandExt;

        println!("$ {self}");
        Err(self.unstartable()(self.command(root).exec()))
    }

    /// Shows the call and runs it to its end; where programs cannot be replaced, a key press reaches both.
    #[cfg(not(unix))]
    pub fn become_it(&self, root: &Path) -> Result<(), Stop> {
        self.run_or_stop(root)
    }

    /// Runs the call unseen. Returns whether it succeeded; a program that is not there did not.
    pub fn works(&self, root: &Path) -> bool {
        let mut command = self.command(root);
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    }

    /// Shows the call, runs it, passes its output on line by line and counts the tests it reports.
    pub fn run_counted(&self, root: &Path, runner: Runner) -> Result<(bool, Tally), Stop> {
        println!("$ {self}");
        let mut command = self.command(root);
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        if io::stdout().is_terminal() && io::stderr().is_terminal() && env::var_os("NO_COLOR").is_none() {
            command.env("CARGO_TERM_COLOR", "always");
        }
        let mut child = command.spawn().map_err(self.unstartable())?;
        let out = child.stdout.take().expect("stdout was piped above");
        let err = child.stderr.take().expect("stderr was piped above");
        let (seen_out, seen_err) = thread::scope(|scope| {
            let out = scope.spawn(move || relay(out, io::stdout(), runner));
            let seen_err = relay(err, io::stderr(), runner);
            (out.join().expect("relaying returns its errors and does not panic"), seen_err)
        });
        let status = child.wait().map_err(Stop::io(format!("wait for `{self}`")))?;
        let passed_on = || Stop::io(format!("pass on the output of `{self}`"));
        let tally = seen_out.map_err(passed_on())? + seen_err.map_err(passed_on())?;
        Ok((report(status), tally))
    }

    fn command(&self, root: &Path) -> Command {
        let (program, arguments) = self.words.split_first().expect("a call names a program");
        let mut command = match env::var_os("CARGO") {
            // The cargo that runs us, so that one toolchain does everything.
            Some(cargo) if program == "cargo" => Command::new(cargo),
            _ if program.contains(['/', '\\']) => Command::new(root.join(program)),
            _ => Command::new(program),
        };
        let variables = self.variables.iter().map(|(name, value)| (name, value));
        command.args(arguments).envs(variables).current_dir(root);
        command
    }

    fn unstartable(&self) -> impl FnOnce(io::Error) -> Stop {
        Stop::io(format!("start `{}`", self.words[0]))
    }
}

/// The call as a line for a shell in the workspace's root.
impl fmt::Display for Call {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, value) in &self.variables {
            write!(f, "{name}={} ", quoted(value))?;
        }
        let words: Vec<String> = self.words.iter().map(|word| quoted(word)).collect();
        write!(f, "{}", words.join(" "))
    }
}

/// Quotes a word for a POSIX shell, and only where it needs it.
fn quoted(word: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "-_./=:,+@%".contains(c);
    if !word.is_empty() && word.chars().all(is_plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

/// Says how a program ended that was stopped from outside; an exit code of its own needs no words from us.
fn report(status: ExitStatus) -> bool {
    if status.code().is_none() {
        eprintln!("the program was stopped: {status}");
    }
    status.success()
}

/// Copies lines as they come and counts the tests they report.
fn relay(from: impl Read, mut to: impl Write, runner: Runner) -> io::Result<Tally> {
    let mut reader = BufReader::new(from);
    let mut tally = Tally::default();
    let mut line = Vec::new();
    while reader.read_until(b'\n', &mut line)? > 0 {
        to.write_all(&line)?;
        to.flush()?;
        tally.take(runner, &String::from_utf8_lossy(&line));
        line.clear();
    }
    Ok(tally)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn calls_are_shown_as_a_shell_takes_them() {
        let cases = [
            (Call::new(&["cargo", "fmt", "--all"]), "cargo fmt --all"),
            (
                Call::new(&["cargo", "doc"]).with("RUSTDOCFLAGS", "-D warnings"),
                "RUSTDOCFLAGS='-D warnings' cargo doc",
            ),
            (Call::new(&["x"]).and(&["it's".to_owned(), String::new()]), r"x 'it'\''s' ''"),
        ];
        for (call, shown) in cases {
            assert_eq!(call.to_string(), shown);
        }
    }

    #[test]
    fn output_is_passed_on_unchanged_and_counted() {
        let output = b"running 2 tests\n\xff\ntest result: ok. 2 passed; 0 failed; 0 ignored\nno line end";
        let mut copy = Vec::new();
        let tally = relay(&output[..], &mut copy, Runner::Libtest).expect("memory does not fail");
        assert_eq!(copy, output);
        assert_eq!(tally, Tally { passed: 2, failed: 0, summaries: 1 });
    }

    #[test]
    fn a_program_that_is_missing_is_named() {
        let call = Call::new(&["storypole-no-such-program"]);
        let stop = call.run(Path::new(".")).expect_err("there is no such program");
        assert!(!call.works(Path::new(".")));
        assert!(stop.to_string().starts_with("could not start `storypole-no-such-program`"), "{stop}");
    }
}
