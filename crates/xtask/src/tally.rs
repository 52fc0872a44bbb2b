//! How many tests passed and failed, read from the closing lines of the test runners.
//!
//! Only closing lines count. Single results are left out: a failing test's own output may hold lines that look
//! like them.

use std::ops::Add;

/// Whose closing lines to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Runner {
    /// `cargo test`, one closing line per test binary.
    Libtest,
    /// `cargo nextest run`, one closing line in all.
    Nextest,
    /// `vitest run`, one closing line in all.
    Vitest,
    /// `node --test`, one closing line for each way a test can end.
    Node,
}

/// Counts of tests, and how many closing lines they come from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    pub passed: u64,
    pub failed: u64,
    /// A runner that closed without such a line was not understood, which is no success.
    pub summaries: u64,
}

impl Add for Tally {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            passed: self.passed + other.passed,
            failed: self.failed + other.failed,
            summaries: self.summaries + other.summaries,
        }
    }
}

impl Tally {
    /// Takes in one line of a runner's output.
    ///
    /// Closing lines of libtest add up. Of the others only the last holds, since they also show what a failing
    /// test printed.
    pub fn take(&mut self, runner: Runner, line: &str) {
        let line = without_colour(line);
        match runner {
            Runner::Libtest => {
                if let Some(more) = libtest_summary(&line) {
                    *self = *self + more;
                }
            }
            Runner::Nextest => {
                if let Some(all) = nextest_summary(&line) {
                    *self = all;
                }
            }
            Runner::Vitest => {
                if let Some(all) = vitest_summary(&line) {
                    *self = all;
                }
            }
            Runner::Node => match node_summary(&line) {
                // The first of the closing lines that is counted; the others follow it.
                Some(("pass", passed)) => *self = Self { passed, failed: 0, summaries: 1 },
                Some(("fail" | "cancelled", failed)) => self.failed += failed,
                _ => (),
            },
        }
    }
}

/// `test result: ok. 12 passed; 0 failed; 1 ignored; 0 measured; 3 filtered out; finished in 0.02s`
fn libtest_summary(line: &str) -> Option<Tally> {
    let (_, counts) = line.trim().strip_prefix("test result: ")?.split_once(". ")?;
    let counted = |what: &str| {
        let part = counts.split(';').map(str::trim).find_map(|part| part.strip_suffix(what))?;
        part.trim().parse().ok()
    };
    Some(Tally { passed: counted("passed")?, failed: counted("failed")?, summaries: 1 })
}

/// `Summary [ 0.012s] 5 tests run: 3 passed (1 slow), 1 failed, 1 timed out, 2 skipped`
///
/// Whatever is neither passed nor skipped failed in some way: failed, timed out, could not be executed.
fn nextest_summary(line: &str) -> Option<Tally> {
    let (_, counts) = line.trim().strip_prefix("Summary [")?.split_once(" run: ")?;
    let mut tally = Tally { passed: 0, failed: 0, summaries: 1 };
    for part in without_parentheses(counts).split(',') {
        let (count, what) = part.trim().split_once(' ')?;
        let count: u64 = count.parse().ok()?;
        match what.trim() {
            "passed" => tally.passed += count,
            "skipped" => (),
            _ => tally.failed += count,
        }
    }
    Some(tally)
}

/// `Tests  1 failed | 27 passed | 2 skipped (30)`
///
/// A file that could not be run at all has no line of its own here; the exit code tells.
fn vitest_summary(line: &str) -> Option<Tally> {
    let counts = line.trim().strip_prefix("Tests ")?;
    let mut tally = Tally { passed: 0, failed: 0, summaries: 1 };
    for part in without_parentheses(counts).split('|') {
        let (count, what) = part.trim().split_once(' ')?;
        let count: u64 = count.parse().ok()?;
        match what.trim() {
            "passed" => tally.passed += count,
            "failed" => tally.failed += count,
            _ => (),
        }
    }
    Some(tally)
}

/// `# pass 12` of the TAP reporter, `\u{2139} pass 12` of the one for people.
fn node_summary(line: &str) -> Option<(&str, u64)> {
    let closing = line.strip_prefix("# ").or_else(|| line.strip_prefix("\u{2139} "))?;
    let (what, count) = closing.trim_end().split_once(' ')?;
    Some((what, count.parse().ok()?))
}

fn without_parentheses(text: &str) -> String {
    let mut depth = 0_usize;
    let mut kept = String::new();
    for c in text.chars() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ if depth == 0 => kept.push(c),
            _ => (),
        }
    }
    kept
}

/// Drops the escape sequences that colour a terminal (ECMA-48 control sequences).
fn without_colour(line: &str) -> String {
    let mut kept = String::new();
    let mut chars = line.chars();
    while let Some(c) = chars.next() {
        if c != '\u{1b}' {
            kept.push(c);
        } else if chars.next() == Some('[') {
            chars.by_ref().find(|end| ('@'..='~').contains(end));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(passed: u64, failed: u64, summaries: u64) -> Tally {
        Tally { passed, failed, summaries }
    }

    /// Lines printed by `cargo test` of rust 1.95, cargo-nextest 0.9.143, vitest 4.1 and node 20.20, or built after
    /// them.
    #[test]
    fn closing_lines_are_read() {
        use Runner::{Libtest, Nextest, Node, Vitest};
        let cases = [
            (
                Libtest,
                "test result: ok. 12 passed; 0 failed; 1 ignored; 0 measured; 3 filtered out; finished in 0.02s",
                tally(12, 0, 1),
            ),
            (
                Libtest,
                "test result: FAILED. 1 passed; 2 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s\n",
                tally(1, 2, 1),
            ),
            (Libtest, "test result: \u{1b}[32mok\u{1b}[m. 7 passed; 0 failed; 0 ignored", tally(7, 0, 1)),
            (Libtest, "test tally::tests::closing_lines_are_read ... ok", tally(0, 0, 0)),
            (Libtest, "     Summary [   0.012s] 5 tests run: 5 passed, 0 skipped", tally(0, 0, 0)),
            (Nextest, "     Summary [   0.012s] 5 tests run: 5 passed, 0 skipped", tally(5, 0, 1)),
            (Nextest, "     Summary [   0.012s] 1 test run: 1 passed, 0 skipped", tally(1, 0, 1)),
            (
                Nextest,
                "     Summary [   1.250s] 9 tests run: 6 passed (2 slow, 1 leaky), 2 failed, 1 timed out, 4 skipped",
                tally(6, 3, 1),
            ),
            (
                Nextest,
                "     Summary [   0.004s] 2/5 tests run: 1 passed, 1 exec failed, 0 skipped",
                tally(1, 1, 1),
            ),
            (
                Nextest,
                "\u{1b}[31;1m     Summary\u{1b}[0m [   0.004s] \u{1b}[1m2\u{1b}[0m tests run: \u{1b}[1m1\u{1b}[0m \u{1b}[32;1mpassed\u{1b}[0m, \u{1b}[1m1\u{1b}[0m \u{1b}[31;1mfailed\u{1b}[0m, \u{1b}[1m0\u{1b}[0m \u{1b}[33;1mskipped\u{1b}[0m",
                tally(1, 1, 1),
            ),
            (
                Nextest,
                "    test result: FAILED. 0 passed; 1 failed; 0 ignored; 0 measured; 4 filtered out",
                tally(0, 0, 0),
            ),
            (Vitest, "      Tests  31 passed (31)", tally(31, 0, 1)),
            (Vitest, "      Tests  2 failed | 27 passed | 1 skipped (30)", tally(27, 2, 1)),
            (
                Vitest,
                "\u{1b}[2m      Tests \u{1b}[22m \u{1b}[1m\u{1b}[32m3 passed\u{1b}[39m\u{1b}[22m\u{1b}[90m (3)\u{1b}[39m",
                tally(3, 0, 1),
            ),
            (Vitest, " Test Files  1 failed | 3 passed (4)", tally(0, 0, 0)),
            (Vitest, "      Tests  no tests", tally(0, 0, 0)),
            (Node, "# pass 12", tally(12, 0, 1)),
            (Node, "\u{2139} pass 12\n", tally(12, 0, 1)),
            (Node, "# tests 12", tally(0, 0, 0)),
            (Node, "# Subtest: pass 12", tally(0, 0, 0)),
            (Node, "ok 1 - pass 12", tally(0, 0, 0)),
        ];
        for (runner, line, expected) in cases {
            let mut seen = Tally::default();
            seen.take(runner, line);
            assert_eq!(seen, expected, "{runner:?}: {line}");
        }
    }

    #[test]
    fn libtest_adds_up_and_nextest_keeps_the_last() {
        let mut libtest = Tally::default();
        libtest.take(Runner::Libtest, "test result: ok. 2 passed; 0 failed; 0 ignored");
        libtest.take(Runner::Libtest, "test result: FAILED. 1 passed; 1 failed; 0 ignored");
        assert_eq!(libtest, tally(3, 1, 2));

        let mut nextest = Tally::default();
        nextest.take(Runner::Nextest, "Summary [ 0.1s] 9 tests run: 9 passed, 0 skipped");
        nextest.take(Runner::Nextest, "Summary [ 0.2s] 3 tests run: 2 passed, 1 failed, 0 skipped");
        assert_eq!(nextest, tally(2, 1, 1));
    }

    #[test]
    fn what_a_test_prints_does_not_count_and_cancelled_tests_failed() {
        let mut node = Tally::default();
        for line in
            ["# pass 99", "# fail 9", "# tests 6", "# pass 3", "# fail 1", "# cancelled 2", "# todo 0"]
        {
            node.take(Runner::Node, line);
        }
        assert_eq!(node, tally(3, 3, 1));
    }
}
