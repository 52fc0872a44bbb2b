//! How far long work is, on one line of a terminal. Anywhere else it says nothing.

use std::io::{self, IsTerminal, Write as _};

/// A line that is written over as work goes on.
pub struct Bar {
    shown: bool,
    last: String,
}

impl Bar {
    /// Shows itself where messages go to a terminal.
    pub fn new() -> Self {
        Self { shown: io::stderr().is_terminal(), last: String::new() }
    }

    /// Says how much of how much is done.
    pub fn show(&mut self, what: &str, done: u64, of: u64) {
        if !self.shown {
            return;
        }
        let percent = (done.min(of) * 100).checked_div(of).unwrap_or(100);
        let line = format!("{what} {percent} %");
        if line != self.last {
            eprint!("\r{line:<30}");
            // A terminal that cannot be written to shows nothing; the work goes on.
            let _ = io::stderr().flush();
            self.last = line;
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        if !self.last.is_empty() {
            eprint!("\r{:<30}\r", "");
        }
    }
}

/// Bytes as people read them.
pub fn bytes(count: u64) -> String {
    const UNITS: &[&str] = &["kB", "MB", "GB", "TB"];
    if count < 1000 {
        return format!("{count} bytes");
    }
    let mut tenths = count / 100;
    let mut unit = 0;
    while tenths >= 10_000 && unit + 1 < UNITS.len() {
        tenths /= 1000;
        unit += 1;
    }
    format!("{}.{} {}", tenths / 10, tenths % 10, UNITS[unit])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_told_in_steps_of_a_thousand() {
        for (count, expected) in [
            (0, "0 bytes"),
            (999, "999 bytes"),
            (1_000, "1.0 kB"),
            (999_999, "999.9 kB"),
            (1_500_000, "1.5 MB"),
            (u64::MAX, "18446744.0 TB"),
        ] {
            assert_eq!(bytes(count), expected);
        }
    }
}
